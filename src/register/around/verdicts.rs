//! verdicts.csv: the inspector's word on each zone.

use std::collections::HashMap;
use std::path::Path;

use super::super::faults::Log;
use super::super::row::{Layout, Row};
use super::super::sheet::{Presence, Sheet};
use super::super::words;

const LAYOUT: Layout = Layout {
    stem: "verdicts",
    noun: "a list of verdicts",
    presence: Presence::Optional,
    known: &["zone", "verdict", "by", "on", "note"],
    required: &["zone", "verdict", "by", "on"],
};

/// The inspector's word on a zone, signed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// The zone's name.
    pub zone: String,
    /// The word.
    pub word: Word,
    /// Who says so.
    pub by: String,
    /// ISO 8601 date, as written.
    pub on: String,
    /// Free words.
    pub note: Option<String>,
    /// Row of the sheet, counted as a spreadsheet counts (heading = 1).
    pub row: usize,
}

/// What an inspector says of a zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Word {
    /// It is a zone to follow up.
    Confirmed,
    /// It is none.
    Rejected,
    /// It is to be looked at again.
    Watch,
}

impl Word {
    /// The word the sheet uses.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Confirmed => "confirmed",
            Self::Rejected => "rejected",
            Self::Watch => "watch",
        }
    }
}

impl words::Word for Word {
    const NOUN: &'static str = "a verdict";

    fn words() -> Vec<(&'static str, Self)> {
        [Self::Confirmed, Self::Rejected, Self::Watch]
            .into_iter()
            .map(|word| (word.key(), word))
            .collect()
    }
}

/// Reads the sheet and tells its file name; rows at fault are left out.
pub(super) fn read(folder: &Path, log: &mut Log) -> (Vec<Verdict>, Option<String>) {
    let Some(sheet) = Sheet::read(folder, &LAYOUT, None, log) else {
        return (Vec::new(), None);
    };
    let mut verdicts = Vec::new();
    let mut first_rows: HashMap<(String, String), usize> = HashMap::new();
    for index in 0..sheet.len() {
        let Some(mut row) = sheet.row(index, None, log) else {
            break;
        };
        let Some(verdict) = verdict(&mut row) else { continue };
        refuse_second(&mut row, &verdict, &mut first_rows);
        verdicts.push(verdict);
    }
    (verdicts, Some(sheet.name))
}

fn verdict(row: &mut Row<'_>) -> Option<Verdict> {
    let zone = row.needed_text("zone", "every row");
    let word = row.required_word::<Word>("verdict");
    // A verdict that nobody signs is none.
    let by = row.needed_text("by", "every verdict");
    let on = row
        .is_filled_for("on", "every verdict", super::super::cell::DATE_ACCEPTED)
        .then(|| row.date("on"))
        .flatten();
    Some(Verdict {
        zone: zone?,
        word: word?,
        by: by?,
        on: on?,
        note: row.text("note"),
        row: row.number_in_sheet(),
    })
}

/// A later verdict takes an earlier one's place; of two of one day nobody could tell which holds.
fn refuse_second(row: &mut Row<'_>, verdict: &Verdict, first_rows: &mut HashMap<(String, String), usize>) {
    let key = (verdict.zone.clone(), verdict.on.clone());
    match first_rows.get(&key) {
        None => drop(first_rows.insert(key, verdict.row)),
        Some(first) => {
            let fault = row.fault("zone", format!("has a verdict of the same date already in row {first}"));
            row.refuse(fault.hint("take one of the two rows away".to_owned()));
        }
    }
}
