//! openings.csv: what was found where insulation was opened.

use std::collections::HashMap;
use std::path::Path;

use super::super::assets::Assets;
use super::super::cell::{DATE_ACCEPTED, iso_year};
use super::super::faults::{Fault, Log};
use super::super::row::{Layout, Row};
use super::super::sheet::{Presence, Sheet};
use super::super::words::{Answer, Word};
use super::spot::{self, Need, Point};

const LAYOUT: Layout = Layout {
    stem: "openings",
    noun: "a list of openings",
    presence: Presence::Optional,
    known: &[
        "zone",
        "asset",
        "axial_m",
        "clock",
        "bearing_deg",
        "height_m",
        "opened_on",
        "moisture",
        "corrosion",
        "resealed",
        "note",
    ],
    required: &["opened_on", "moisture"],
};

/// An opening of the insulation, and what was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Opening {
    /// Where.
    pub at: At,
    /// ISO 8601 date, as written.
    pub opened_on: String,
    /// What the insulation held.
    pub moisture: Moisture,
    /// What the metal showed, where stated.
    pub corrosion: Option<Corrosion>,
    /// Whether the jacket was closed again, where stated.
    pub resealed: Option<Resealed>,
    /// Free words.
    pub note: Option<String>,
    /// Row of the sheet, counted as a spreadsheet counts (heading = 1).
    pub row: usize,
}

/// Where insulation was opened.
#[derive(Debug, Clone, PartialEq)]
pub enum At {
    /// On a zone of this survey, by its name.
    Zone(String),
    /// On a place.
    Point(Point),
}

/// What the insulation held.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Moisture {
    /// Nothing.
    Dry,
    /// Some.
    Damp,
    /// Water.
    Wet,
    /// Ice.
    Frozen,
}

/// What the metal showed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Corrosion {
    /// None.
    None,
    /// A film, no loss that can be felt.
    Light,
    /// Pits.
    Pitting,
    /// Loss over an area.
    Heavy,
}

/// Whether the jacket was closed again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Resealed {
    /// It was.
    Yes,
    /// It stands open.
    No,
}

macro_rules! keyed {
    ($name:ty, $noun:literal, $($word:literal => $meaning:ident),+) => {
        impl Word for $name {
            const NOUN: &'static str = $noun;

            fn words() -> Vec<(&'static str, Self)> {
                vec![$(($word, Self::$meaning)),+]
            }
        }

        impl $name {
            /// The word the sheet uses.
            #[must_use]
            pub fn key(self) -> &'static str {
                match self {
                    $(Self::$meaning => $word),+
                }
            }
        }
    };
}

keyed!(Moisture, "a word for moisture", "dry" => Dry, "damp" => Damp, "wet" => Wet, "frozen" => Frozen);
keyed!(Corrosion, "a word for corrosion", "none" => None, "light" => Light, "pitting" => Pitting, "heavy" => Heavy);

impl Moisture {
    /// Whether the insulation held water in any form.
    #[must_use]
    pub fn is_moist(self) -> bool {
        self != Self::Dry
    }
}

impl Word for Resealed {
    const NOUN: &'static str = "an answer";

    fn words() -> Vec<(&'static str, Self)> {
        vec![("yes", Self::Yes), ("no", Self::No)]
    }

    fn from_text(text: &str) -> Option<Self> {
        Answer::from_text(text).map(|answer| match answer {
            Answer::Yes => Self::Yes,
            Answer::No => Self::No,
        })
    }
}

/// Reads the sheet and tells its file name; rows at fault are left out.
pub(super) fn read(folder: &Path, assets: Option<&Assets>, log: &mut Log) -> (Vec<Opening>, Option<String>) {
    let Some(sheet) = Sheet::read(folder, &LAYOUT, None, log) else {
        return (Vec::new(), None);
    };
    let mut openings = Vec::new();
    let mut first_rows: HashMap<String, usize> = HashMap::new();
    for index in 0..sheet.len() {
        let Some(mut row) = sheet.row(index, None, log) else {
            break;
        };
        let Some(opening) = opening(&mut row, assets) else {
            continue;
        };
        refuse_second(&mut row, &opening, &mut first_rows);
        openings.push(opening);
    }
    (openings, Some(sheet.name))
}

fn opening(row: &mut Row<'_>, assets: Option<&Assets>) -> Option<Opening> {
    let at = at(row, assets);
    let opened_on = row
        .is_filled_for("opened_on", "every opening", DATE_ACCEPTED)
        .then(|| row.date("opened_on"))
        .flatten();
    let moisture = row.required_word("moisture");
    let (corrosion, resealed) = (row.word("corrosion"), row.word("resealed"));
    if let (Some(At::Point(point)), Some(opened_on)) = (&at, &opened_on) {
        refuse_before_insulation(row, assets, point.asset, opened_on);
    }
    if row.is_blank("resealed") {
        row.warn("resealed is blank: the opening counts as not closed again, and stays on the list of what is open");
    }
    Some(Opening {
        at: at?,
        opened_on: opened_on?,
        moisture: moisture?,
        corrosion,
        resealed,
        note: row.text("note"),
        row: row.number_in_sheet(),
    })
}

fn at(row: &mut Row<'_>, assets: Option<&Assets>) -> Option<At> {
    if let Some(zone) = row.text("zone") {
        row.warn_unused(
            &["axial_m", "clock", "bearing_deg", "height_m"],
            "the row names a zone, which has its place",
        );
        return Some(At::Zone(zone));
    }
    if row.is_blank("asset") {
        let fault = row.fault("zone", "is blank, and no asset with a place is given either");
        row.refuse(fault.accepted("a zone of findings.csv, or asset with axial_m and clock, bearing_deg or height_m"));
        return None;
    }
    spot::read(row, assets, Need::Whole("an opening that names no zone")).map(At::Point)
}

fn refuse_before_insulation(row: &mut Row<'_>, assets: Option<&Assets>, asset: usize, opened_on: &str) {
    let known = assets.and_then(|assets| assets.rows.get(asset)?.as_ref());
    let Some((tag, insulated)) = known.and_then(|asset| Some((&asset.tag, asset.insulated_year?))) else {
        return;
    };
    if iso_year(opened_on).is_ok_and(|year| year < insulated) {
        let problem = format!("lies before the insulation of {tag} was put on, {insulated}");
        let fault = row
            .fault("opened_on", problem)
            .accepted(format!("{insulated} or later"));
        row.refuse(fault.hint(HINT_INSULATED.to_owned()));
    }
}

/// What to do about a date before the insulation.
pub(super) const HINT_INSULATED: &str = "correct the date, or insulated_year of assets.csv; what was found under former insulation is not evidence of this one";

/// A zone is opened once: a second row would make one call count twice.
fn refuse_second(row: &mut Row<'_>, opening: &Opening, first_rows: &mut HashMap<String, usize>) {
    let (key, column, same) = match &opening.at {
        At::Zone(zone) => (format!("zone {zone}"), "zone", "is opened"),
        At::Point(point) => (
            format!("{point:?} {}", opening.opened_on),
            "asset",
            "has an opening of the same place and date",
        ),
    };
    match first_rows.get(&key) {
        None => drop(first_rows.insert(key, opening.row)),
        Some(first) => {
            let fault = row.fault(column, format!("{same} already in row {first}"));
            let hint = "keep the row that says what was found first; give a later opening by asset, axial_m and clock or \
                        bearing_deg";
            row.refuse(fault.accepted("one row an opening of a zone").hint(hint.to_owned()));
        }
    }
}

impl Opening {
    /// A fault of this row at the zone it names.
    pub(super) fn zone_fault(&self, sheet: &str, zone: &str, problem: impl Into<String>) -> Fault {
        Fault::new(sheet, problem).row(self.row).column("zone").found(zone)
    }
}
