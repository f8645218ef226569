//! One row of a sheet (or one table of a `.toml` file) being read: cells by column name, faults noted as they are met.
//!
//! A reading method returns None where the cell is blank or at fault; a fault goes to the log, so that one pass finds them
//! all. Whoever reads decides with [`Row::is_blank`] which of the two it was.

use super::Source;
use super::cell::{self, Trouble};
use super::faults::{Fault, Log, quoted};
use super::nearest::did_you_mean;
use super::section::Section;
use super::texts::Line;
use super::units::{Range, Unit, looks_like, unit_of};
use super::words::Word;

/// Which decimal signs a number may have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Decimal {
    /// A comma parts cells or cannot occur.
    #[default]
    Point,
    /// The sheet's separator leaves the comma free.
    PointOrComma,
}

/// A column of a sheet or a key of a table.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Column {
    /// As it is written, or would be: `length_in`, `site.altitude_ft`.
    pub(crate) name: String,
    /// Its first name: `length_mm`.
    pub(crate) key: &'static str,
    /// Unit in which it is written.
    pub(crate) unit: Unit,
    /// Where its text lies among the cells.
    pub(crate) index: usize,
    /// Line of the file, for a key.
    pub(crate) line: Option<usize>,
}

/// Columns and the texts that belong to them.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Cells<'a> {
    /// File name.
    pub(crate) sheet: &'a str,
    /// Before every key's name: `energy.`, or nothing.
    pub(crate) prefix: &'a str,
    /// What can be read.
    pub(crate) columns: &'a [Column],
    /// The texts, by [`Column::index`].
    pub(crate) texts: Line<'a>,
    /// How numbers are written.
    pub(crate) decimal: Decimal,
    /// Columns whose absence has been reported for the sheet as a whole.
    pub(crate) reported: &'a [&'static str],
}

/// A cell that holds something.
#[derive(Debug, Clone, Copy)]
struct Found<'a> {
    text: &'a str,
    column: &'a Column,
    sheet: &'a str,
    row: Option<usize>,
    decimal: Decimal,
    source: Source,
}

/// One row being read.
#[derive(Debug)]
pub(crate) struct Row<'a> {
    own: Cells<'a>,
    number: Option<usize>,
    defaults: Option<&'a Section>,
    log: &'a mut Log,
}

impl<'a> Row<'a> {
    /// A row over its own cells; blank ones take what `defaults` says.
    pub(crate) fn new(own: Cells<'a>, number: Option<usize>, defaults: Option<&'a Section>, log: &'a mut Log) -> Self {
        Self {
            own,
            number,
            defaults,
            log,
        }
    }

    /// Row as a spreadsheet counts it; 0 for a table.
    pub(crate) fn number_in_sheet(&self) -> usize {
        self.number.unwrap_or(0)
    }

    /// Who filled the cell in; None where nobody did.
    pub(crate) fn source(&self, key: &str) -> Option<Source> {
        self.find(key).map(|found| found.source)
    }

    /// Whether neither the row nor the defaults fill the cell in.
    pub(crate) fn is_blank(&self, key: &str) -> bool {
        self.find(key).is_none()
    }

    fn find(&self, key: &str) -> Option<Found<'a>> {
        let own = find_in(self.own, key, self.number, Source::Stated);
        own.or_else(|| find_in(self.defaults?.cells(), key, None, Source::Defaulted))
    }

    /// A fault of this row at `key`, with the place and the value found filled in.
    pub(crate) fn fault(&self, key: &str, problem: impl Into<String>) -> Fault {
        match self.find(key) {
            Some(found) => at(found, problem),
            None => {
                let spelt = self.own.columns.iter().find(|column| column.key == key);
                let name = spelt.map_or_else(|| format!("{}{key}", self.own.prefix), |column| column.name.clone());
                let line = spelt.and_then(|column| column.line);
                Fault::new(self.own.sheet, problem)
                    .row(line.or(self.number))
                    .column(name)
            }
        }
    }

    /// A column's name as the sheet spells it.
    pub(crate) fn name(&self, key: &str) -> String {
        self.find(key)
            .map_or_else(|| key.to_owned(), |found| found.column.name.clone())
    }

    /// How many faults are noted so far, in this row or before.
    pub(crate) fn faults_so_far(&self) -> usize {
        self.log.count()
    }

    /// Notes a fault.
    pub(crate) fn refuse(&mut self, fault: Fault) {
        self.log.refuse(fault);
    }

    /// Notes a doubt about this row.
    pub(crate) fn warn(&mut self, doubt: &str) {
        let place = self.number.map_or_else(String::new, |row| format!(" row {row}"));
        self.log.warn(format!("{}{place}: {doubt}", self.own.sheet));
    }

    fn read<T>(&mut self, key: &str, accepted: &str, parse: impl FnOnce(Found<'a>) -> Result<T, Trouble>) -> Option<T> {
        let found = self.find(key)?;
        match parse(found) {
            Ok(value) => Some(value),
            Err(trouble) => {
                self.refuse(at(found, trouble.problem).accepted(accepted).hint(trouble.hint));
                None
            }
        }
    }

    /// Whether the cell is filled in; `by` needs it, and its absence is a fault.
    pub(crate) fn is_filled_for(&mut self, key: &'static str, by: &str, accepted: impl Into<String>) -> bool {
        let is_blank = self.is_blank(key);
        let is_column = self.own.columns.iter().any(|column| column.key == key);
        let is_reported = !is_column && self.own.reported.contains(&key);
        let is_reported = is_reported || self.defaults.is_some_and(Section::is_unreadable);
        if is_blank && !is_reported {
            let is_table = self.number.is_none();
            let problem = format!("is {}, but {by} needs it", if is_table { "missing" } else { "blank" });
            self.refuse(self.fault(key, problem).accepted(accepted));
        }
        !is_blank
    }

    /// The unit in which the cell is (or, where it is blank, would be) written.
    pub(crate) fn unit(&self, key: &str) -> Unit {
        let spelt = || {
            self.own
                .columns
                .iter()
                .find(|column| column.key == key)
                .map(|column| column.unit)
        };
        self.find(key)
            .map(|found| found.column.unit)
            .or_else(spelt)
            .unwrap_or_else(|| unit_of(key))
    }

    /// A number in SI, of whichever unit the column is written in.
    pub(crate) fn number(&mut self, key: &str, range: Range) -> Option<f64> {
        let accepted = range.told(self.unit(key));
        self.read(key, &accepted, |found| {
            let (written, unit) = (cell::number(found.text, found.decimal)?, found.column.unit);
            let si = unit.to_si(written);
            if range.holds(si) {
                return Ok(si);
            }
            Err(Trouble {
                problem: "is not possible".to_owned(),
                hint: looks_like(written, unit, range),
            })
        })
    }

    /// A number that every row needs.
    pub(crate) fn required_number(&mut self, key: &'static str, range: Range) -> Option<f64> {
        self.needed_number(key, range, "every row")
    }

    /// A number that `by` needs.
    pub(crate) fn needed_number(&mut self, key: &'static str, range: Range, by: &str) -> Option<f64> {
        let accepted = range.told(self.unit(key));
        self.is_filled_for(key, by, accepted)
            .then(|| self.number(key, range))
            .flatten()
    }

    /// A whole number from `low` to `high`.
    pub(crate) fn integer(&mut self, key: &str, low: i32, high: i32) -> Option<i32> {
        self.read(key, &format!("{low} to {high}, whole"), |found| {
            let value = cell::number(found.text, found.decimal)?;
            let candidate = (low..=high).find(|whole| f64::from(*whole) == value);
            candidate.ok_or(Trouble {
                problem: "is not possible".to_owned(),
                hint: None,
            })
        })
    }

    /// Numbers with blanks between them.
    pub(crate) fn numbers(&mut self, key: &str, accepted: &str) -> Option<Vec<f64>> {
        self.read(key, accepted, |found| cell::numbers(found.text))
    }

    /// The text as written.
    pub(crate) fn text(&self, key: &str) -> Option<String> {
        self.find(key).map(|found| found.text.to_owned())
    }

    /// A text that `by` needs.
    pub(crate) fn needed_text(&mut self, key: &'static str, by: &str) -> Option<String> {
        self.is_filled_for(key, by, "a text").then(|| self.text(key)).flatten()
    }

    /// A path that stays inside the folder, with forward slashes.
    pub(crate) fn path(&mut self, key: &str) -> Option<String> {
        self.read(key, "a path inside the survey folder", |found| {
            cell::inside_folder(found.text)
        })
    }

    /// A path that every row needs.
    pub(crate) fn required_path(&mut self, key: &'static str) -> Option<String> {
        self.is_filled_for(key, "every row", "a path inside the survey folder")
            .then(|| self.path(key))
            .flatten()
    }

    /// An ISO 8601 date, or date and time, as written.
    pub(crate) fn date(&mut self, key: &str) -> Option<String> {
        self.read(key, cell::DATE_ACCEPTED, |found| {
            cell::iso_year(found.text).map(|_| found.text.to_owned())
        })
    }

    /// A clock position in hours, 0 ≤ h < 12.
    pub(crate) fn clock(&mut self, key: &str) -> Option<f64> {
        let accepted = "hours on a clock face, 0 to 12, such as 3, 9 or 10:30";
        self.read(key, accepted, |found| cell::clock_hours(found.text, found.decimal))
    }

    /// One of an enum's words.
    pub(crate) fn word<W: Word>(&mut self, key: &str) -> Option<W> {
        self.read(key, &accepted_words::<W>(), |found| {
            let hint = || did_you_mean(found.text, W::words().iter().map(|(word, _)| *word));
            W::from_text(found.text).ok_or_else(|| Trouble {
                problem: format!("is not {}", W::NOUN),
                hint: hint(),
            })
        })
    }

    /// A word that every row needs.
    pub(crate) fn required_word<W: Word>(&mut self, key: &'static str) -> Option<W> {
        self.is_filled_for(key, "every row", accepted_words::<W>())
            .then(|| self.word(key))
            .flatten()
    }

    /// Says of columns that the row itself fills in that they have no effect, because of `why`.
    pub(crate) fn warn_unused(&mut self, keys: &[&str], why: &str) {
        for key in keys {
            if let Some(found) = self.find(key).filter(|found| found.source == Source::Stated) {
                let doubt = format!(
                    "{} {} is not used, because {why}",
                    found.column.name,
                    quoted(found.text)
                );
                self.warn(&doubt);
            }
        }
    }
}

fn find_in<'a>(cells: Cells<'a>, key: &str, row: Option<usize>, source: Source) -> Option<Found<'a>> {
    let column = cells.columns.iter().find(|column| column.key == key)?;
    let text = cells.texts.get(column.index).filter(|text| !text.is_empty())?;
    let Cells { sheet, decimal, .. } = cells;
    Some(Found {
        text,
        column,
        sheet,
        row: column.line.or(row),
        decimal,
        source,
    })
}

fn at(found: Found<'_>, problem: impl Into<String>) -> Fault {
    Fault::new(found.sheet, problem)
        .row(found.row)
        .column(&found.column.name)
        .found(found.text)
}

fn accepted_words<W: Word>() -> String {
    W::words().iter().map(|(word, _)| *word).collect::<Vec<_>>().join(", ")
}

/// What a sheet or table may hold.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Layout {
    /// File name without its ending.
    pub(crate) stem: &'static str,
    /// What the sheet is, with its article: `an asset register`.
    pub(crate) noun: &'static str,
    /// Whether the folder must hold it.
    pub(crate) presence: super::sheet::Presence,
    /// Every column's first name.
    pub(crate) known: &'static [&'static str],
    /// Those that every row needs.
    pub(crate) required: &'static [&'static str],
}
