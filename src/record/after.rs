//! `followup.json` and `followup.csv`: what openings and wall readings say, SI units.

use serde::Serialize;

use super::comparison::exact;
use super::findings::CAUTIONS;
use super::list::plain;
use crate::followup::Followup;
use crate::followup::items::Item;
use crate::followup::wall::WallPoint;
use crate::rank::place::clock_words;

/// What the file calls itself.
pub const SCHEMA: &str = "coldjacket.followup/1";

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    made_by: MadeBy,
    #[serde(flatten)]
    followup: &'a Followup,
    cautions: [&'static str; 4],
}

#[derive(Serialize)]
struct MadeBy {
    program: &'static str,
    version: &'static str,
}

/// The document's bytes.
///
/// # Errors
/// None that a follow-up can cause.
pub fn json(followup: &Followup) -> Result<Vec<u8>, serde_json::Error> {
    let document = Document {
        schema: SCHEMA,
        made_by: MadeBy {
            program: "coldjacket",
            version: env!("CARGO_PKG_VERSION"),
        },
        followup,
        cautions: CAUTIONS,
    };
    exact(&document)
}

const HEADING: [&str; 19] = [
    "kind",
    "asset",
    "zone_or_point",
    "axial_m",
    "clock_or_bearing",
    "height_m",
    "state",
    "since",
    "opened_on",
    "moisture",
    "priority",
    "thickness_mm",
    "required_mm",
    "rate_mm_per_year",
    "remaining_life_years",
    "measured_on",
    "next_on",
    "external_on",
    "told",
];

/// What is open, wall points, and what has been closed, as CSV text.
///
/// # Errors
/// Only if the CSV writer cannot write to memory.
pub fn csv(followup: &Followup, is_level: impl Fn(&str) -> bool) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(HEADING)?;
    for point in &followup.wall {
        writer.write_record(wall(point, is_level(&point.asset)))?;
    }
    for item in followup.open.iter().chain(&followup.closed) {
        writer.write_record(zone(item, is_level(&item.asset)))?;
    }
    writer
        .into_inner()
        .map_err(|error| csv::Error::from(error.into_error()))
}

fn maybe(value: Option<f64>, decimals: usize) -> String {
    value.map(|v| format!("{v:.decimals$}")).unwrap_or_default()
}

/// A clock position or a bearing, in words.
#[must_use]
fn round_words(deg: Option<f64>, is_level: bool) -> String {
    match deg {
        Some(deg) if is_level => clock_words(deg / 30.0),
        Some(deg) => format!("{deg:.0}°"),
        None => String::new(),
    }
}

fn zone(item: &Item, is_level: bool) -> [String; 19] {
    let mut cells = [const { String::new() }; 19];
    let filled = [
        (0, "zone".to_owned()),
        (1, plain(&item.asset)),
        (2, plain(&item.zone)),
        (3, format!("{:.2}", item.axial_m)),
        (4, round_words(item.round_deg, is_level)),
        (5, maybe(item.height_m, 2)),
        (6, item.state.key().to_owned()),
        (7, item.since.clone()),
        (8, item.opened_on.clone().unwrap_or_default()),
        (9, item.moisture.clone().unwrap_or_default()),
        (10, format!("{:.0}", item.priority)),
        (18, plain(&item.told)),
    ];
    for (index, text) in filled {
        cells[index] = text;
    }
    cells
}

fn wall(point: &WallPoint, is_level: bool) -> [String; 19] {
    let mut cells = [const { String::new() }; 19];
    let state = if point.is_below_required { "below-required" } else { "" };
    let filled = [
        (0, "wall".to_owned()),
        (1, plain(&point.asset)),
        (2, plain(&point.point)),
        (3, maybe(point.axial_m, 2)),
        (4, round_words(point.round_deg, is_level)),
        (6, state.to_owned()),
        (11, format!("{:.2}", point.actual_mm)),
        (12, maybe(point.required_mm, 2)),
        (13, maybe(point.rate_mm_per_year, 3)),
        (14, maybe(point.remaining_life_years, 1)),
        (15, point.measured_on.clone()),
        (16, point.next_on.clone().unwrap_or_default()),
        (17, point.external_on.clone().unwrap_or_default()),
        (18, plain(&point.told.join("; "))),
    ];
    for (index, text) in filled {
        cells[index] = text;
    }
    cells
}
