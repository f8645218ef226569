//! The heading of a sheet: which column means what, and whether it is the right sheet at all.

use super::{Grid, Presence, Sheet, is_blank, is_comment};
use crate::register::faults::{Fault, Log, quoted};
use crate::register::nearest::nearest;
use crate::register::row::{Column, Layout};
use crate::register::section::{Section, unknown};
use crate::register::texts::Line;
use crate::register::units::{Unit, resolve, twin_of};

/// The sheet with its headings understood; None where it is not the sheet it should be.
pub(super) fn match_up(
    name: String,
    grid: Grid,
    layout: &Layout,
    defaults: Option<&Section>,
    log: &mut Log,
) -> Option<Sheet> {
    let Grid { texts, mut rows, .. } = grid;
    rows.retain(|row| {
        let cells = texts.line(row.first, row.cells);
        !is_blank(cells) && !is_comment(cells)
    });
    let Some(heading_row) = rows.first().copied() else {
        log.refuse(Fault::new(name, "is empty").accepted(headings(layout)));
        return None;
    };
    rows.remove(0);
    let grid = Grid { texts, rows, ..grid };
    let (heading_row, heading) = grid.line(&heading_row);
    let mut reading = Heading {
        name,
        row: heading_row,
        columns: Vec::new(),
        strangers: Vec::new(),
    };
    for (index, text) in heading.iter().enumerate() {
        reading.take(index, text, layout, log);
    }
    if reading.is_another_sheet(layout, defaults) {
        let problem = format!("is not {}: it lacks most of the headings", layout.noun);
        log.refuse(
            Fault::new(reading.name, problem)
                .row(heading_row)
                .accepted(headings(layout)),
        );
        return None;
    }
    reading.require(layout, defaults, log);
    reading.tell_strangers(layout, log);
    // Before the walk a list of frames may be a heading and nothing else.
    if grid.rows.is_empty() && layout.presence != Presence::MayBeEmpty {
        log.refuse(Fault::new(&reading.name, "has a heading but no rows").row(heading_row));
    }
    reading.check_widths(heading, &grid, log);
    let Heading { name, columns, .. } = reading;
    Some(Sheet {
        name,
        columns,
        grid,
        reported: layout.required,
    })
}

fn headings(layout: &Layout) -> String {
    format!("{} with the headings {}", layout.noun, layout.required.join(", "))
}

/// A heading being read.
struct Heading {
    name: String,
    row: usize,
    columns: Vec<Column>,
    strangers: Vec<String>,
}

impl Heading {
    fn take(&mut self, index: usize, text: &str, layout: &Layout, log: &mut Log) {
        if text.is_empty() {
            return;
        }
        let fault = |name: &str, problem: String| Fault::new(name, problem).row(self.row).column(text);
        let Some((key, unit)) = self.understand(text, layout, log) else {
            if self.strangers.iter().any(|stranger| stranger == text) {
                log.refuse(fault(&self.name, "stands twice in the heading".to_owned()));
            }
            self.strangers.push(text.to_owned());
            return;
        };
        match self.columns.iter().find(|column| column.key == key) {
            None => self.columns.push(Column {
                name: text.to_owned(),
                key,
                unit,
                index,
                line: None,
            }),
            Some(other) if other.unit == unit => {
                log.refuse(fault(&self.name, "stands twice in the heading".to_owned()));
            }
            Some(other) => {
                let problem = format!("stands beside {}, which says the same in another unit", other.name);
                log.refuse(fault(&self.name, problem).hint(format!("keep one of {} and {text}", other.name)));
            }
        }
    }

    /// What a heading means; one that differs in capitals, blanks or hyphens is understood, with a warning.
    fn understand(&self, text: &str, layout: &Layout, log: &mut Log) -> Option<(&'static str, Unit)> {
        if let Some(understood) = resolve(text, layout.known) {
            return Some(understood);
        }
        let plain = text
            .to_lowercase()
            .split([' ', '-', '_', '\n'])
            .filter(|part| !part.is_empty())
            .collect::<Vec<_>>()
            .join("_");
        let understood = resolve(&plain, layout.known)?;
        log.warn(format!("{}: column {} is read as {plain}", self.name, quoted(text)));
        Some(understood)
    }

    fn has(&self, key: &str) -> bool {
        self.columns.iter().any(|column| column.key == key)
    }

    fn missing<'l>(&self, layout: &'l Layout, defaults: Option<&Section>) -> Vec<&'l &'static str> {
        let is_filled = |key: &str| defaults.is_some_and(|defaults| defaults.fills(key) || defaults.is_unreadable());
        layout
            .required
            .iter()
            .filter(|key| !self.has(key) && !is_filled(key))
            .collect()
    }

    /// A sheet that shares next to nothing with what it should be is one fault, not a dozen.
    fn is_another_sheet(&self, layout: &Layout, defaults: Option<&Section>) -> bool {
        let is_strange = self.strangers.len() >= self.columns.len();
        let lacks_most = self.missing(layout, defaults).len() * 2 > layout.required.len();
        self.columns.is_empty() || is_strange && lacks_most
    }

    fn require(&self, layout: &Layout, defaults: Option<&Section>, log: &mut Log) {
        for key in self.missing(layout, defaults) {
            let accepted = twin_of(key).map_or_else(|| (*key).to_owned(), |(twin, _)| format!("{key} or {twin}"));
            let like = nearest(key, self.strangers.iter().map(String::as_str));
            let hint = like.map(|stranger| format!("rename the column {stranger:?}"));
            let fault = Fault::new(&self.name, "is missing from the heading")
                .row(self.row)
                .column(*key);
            log.refuse(fault.accepted(accepted).hint(hint));
        }
    }

    fn tell_strangers(&self, layout: &Layout, log: &mut Log) {
        for stranger in &self.strangers {
            log.warn(unknown(&self.name, stranger, stranger, layout.known));
        }
    }

    /// Cells to the right of the heading are a fault (a comma too many shifts a row); cells under no heading a warning.
    fn check_widths(&self, heading: Line<'_>, grid: &Grid, log: &mut Log) {
        let mut is_told = vec![false; heading.len()];
        for (row, cells) in grid.rows() {
            let filled = cells
                .iter()
                .rposition(|cell| !cell.is_empty())
                .map_or(0, |last| last + 1);
            if filled > heading.len() {
                let problem = format!("has {filled} cells, but the heading has {}", heading.len());
                let hint = "put cells that hold a separator in quotation marks".to_owned();
                log.refuse(Fault::new(&self.name, problem).row(row).hint(hint));
            }
            let nameless = heading.iter().zip(cells.iter()).zip(&mut is_told).enumerate();
            for (index, ((head, cell), is_told)) in nameless {
                if head.is_empty() && !cell.is_empty() && !*is_told {
                    *is_told = true;
                    log.warn(format!(
                        "{}: column {} has no heading and is not read",
                        self.name,
                        index + 1
                    ));
                }
            }
        }
    }
}
