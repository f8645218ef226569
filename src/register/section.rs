//! One table of a `.toml` file, its keys read as a sheet's columns are.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::faults::{Fault, Log};
use super::nearest::did_you_mean;
use super::row::{Cells, Column, Decimal, Row};
use super::texts::Texts;
use super::units::{resolve, spellings};

/// A `.toml` file's name and text, to find lines in.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Document<'a> {
    /// File name.
    pub(crate) name: &'a str,
    /// The whole text.
    pub(crate) text: &'a str,
}

impl Document<'_> {
    /// Line of a place in the text, counted from 1.
    pub(crate) fn line(self, offset: usize) -> usize {
        self.before(offset).matches('\n').count() + 1
    }

    /// Column of a place in the text, counted from 1 in characters.
    pub(crate) fn column(self, offset: usize) -> usize {
        self.before(offset)
            .rsplit('\n')
            .next()
            .unwrap_or_default()
            .chars()
            .count()
            + 1
    }

    fn before(&self, offset: usize) -> &str {
        self.text.get(..offset).unwrap_or(self.text)
    }
}

/// The known keys of one table, and their values as text.
#[derive(Debug, Default)]
pub(crate) struct Section {
    sheet: String,
    prefix: String,
    columns: Vec<Column>,
    texts: Texts,
    state: State,
}

#[derive(Debug, Default, PartialEq, Eq)]
enum State {
    #[default]
    Read,
    Unreadable,
}

impl Section {
    /// A table that is there but cannot be read: nobody knows what it would have filled in.
    pub(crate) fn unreadable() -> Self {
        Self {
            state: State::Unreadable,
            ..Self::default()
        }
    }

    /// Whether the table could not be read.
    pub(crate) fn is_unreadable(&self) -> bool {
        self.state == State::Unreadable
    }

    /// An empty table under `prefix` (`energy.`, or nothing for the document's head).
    pub(crate) fn empty(document: Document<'_>, prefix: &str) -> Self {
        Self {
            sheet: document.name.to_owned(),
            prefix: prefix.to_owned(),
            ..Self::default()
        }
    }

    /// Reads the keys of a table that `known` names (twins among them); others are a warning.
    pub(crate) fn read<'t>(
        mut self,
        document: Document<'_>,
        entries: impl IntoIterator<Item = Entry<'t>>,
        known: &[&'static str],
        log: &mut Log,
    ) -> Self {
        for (key, value) in entries {
            let (name, line) = (
                format!("{}{}", self.prefix, key.get_ref()),
                document.line(key.span().start),
            );
            let Some((first_name, unit)) = resolve(key.get_ref(), known) else {
                log.warn(unknown(document.name, &name, key.get_ref(), known));
                continue;
            };
            let fault = Fault::new(document.name, "").row(line).column(&name);
            if let Some(other) = self.columns.iter().find(|column| column.key == first_name) {
                let problem = format!("says again what {} says in another unit", other.name);
                log.refuse(Fault { problem, ..fault }.hint("keep one of the two".to_owned()));
                continue;
            }
            let Some(text) = text_of(value.get_ref()) else {
                let problem = "is a table or a list of tables, where a value belongs".to_owned();
                log.refuse(Fault { problem, ..fault }.accepted("a text, a number, true, false or a list of numbers"));
                continue;
            };
            self.columns.push(Column {
                name,
                key: first_name,
                unit,
                index: self.texts.len(),
                line: Some(line),
            });
            self.texts.push(text.trim());
        }
        self
    }

    /// The keys and their texts.
    pub(crate) fn cells(&self) -> Cells<'_> {
        Cells {
            sheet: &self.sheet,
            prefix: &self.prefix,
            columns: &self.columns,
            texts: self.texts.whole(),
            decimal: Decimal::Point,
            reported: &[],
        }
    }

    /// The table as a row to be read.
    pub(crate) fn row<'a>(&'a self, log: &'a mut Log) -> Row<'a> {
        Row::new(self.cells(), None, None, log)
    }

    /// Whether the table fills a column in.
    pub(crate) fn fills(&self, key: &str) -> bool {
        let text = |column: &Column| {
            self.texts
                .whole()
                .get(column.index)
                .is_some_and(|text| !text.is_empty())
        };
        self.columns.iter().any(|column| column.key == key && text(column))
    }
}

/// A key and its value, with their places.
pub(crate) type Entry<'t> = (&'t Spanned<std::borrow::Cow<'t, str>>, &'t Spanned<DeValue<'t>>);

/// The warning about an unknown key or column.
pub(crate) fn unknown(sheet: &str, shown: &str, name: &str, known: &[&'static str]) -> String {
    let spellings = spellings(known);
    let hint =
        did_you_mean(name, spellings.iter().map(String::as_str)).map_or(String::new(), |hint| format!("; {hint}"));
    let kind = if sheet.ends_with(".toml") { "key" } else { "column" };
    format!("{sheet}: {kind} {shown:?} is not known and is not read{hint}")
}

/// A value as a sheet's cell would hold it; None for a table.
fn text_of(value: &DeValue<'_>) -> Option<String> {
    match value {
        DeValue::String(text) => Some(text.to_string()),
        DeValue::Integer(number) => Some(number.to_string()),
        DeValue::Float(number) => Some(number.to_string()),
        DeValue::Boolean(true) => Some("yes".to_owned()),
        DeValue::Boolean(false) => Some("no".to_owned()),
        DeValue::Datetime(moment) => Some(moment.to_string()),
        DeValue::Array(values) => {
            let texts: Option<Vec<String>> = values.iter().map(|value| text_of(value.get_ref())).collect();
            texts.map(|texts| texts.join(" "))
        }
        DeValue::Table(_) => None,
    }
}

/// The table under a key, where it is one.
pub(crate) fn table_of<'t>(value: &'t Spanned<DeValue<'t>>) -> Option<&'t DeTable<'t>> {
    value.get_ref().as_table()
}
