//! The conditions that frames.csv and `[defaults]` state, whatever else of a row is still blank: for the plan of a walk.

use std::path::Path;

use super::{AIR, COLUMNS, Context, DISTANCE, HUMIDITY, REFLECTED, TRANSMITTANCE, WIND, asset_index, camera};
use crate::register::before::Expected;
use crate::register::faults::Log;
use crate::register::row::{Layout, Row};
use crate::register::section::Section;
use crate::register::sheet::{Presence, Sheet};

const LAYOUT: Layout = Layout {
    stem: "frames",
    noun: "a list of frames",
    presence: Presence::MayBeEmpty,
    known: &COLUMNS,
    required: &[],
};

/// What `[defaults]` expects, and what each row of frames.csv does, where that sheet is there at all.
pub(in crate::register) fn read(folder: &Path, context: Context<'_>, log: &mut Log) -> (Expected, Vec<Expected>) {
    let unknown = Section::unreadable();
    let defaults = context.survey.map_or(&unknown, |survey| &survey.defaults);
    let nothing = Section::default();
    let usual = expected(&mut Row::new(nothing.cells(), None, Some(defaults), log), context);
    let Some(sheet) = Sheet::read(folder, &LAYOUT, Some(defaults), log) else {
        return (usual, Vec::new());
    };
    let mut rows = Vec::new();
    for index in 0..sheet.len() {
        let Some(mut row) = sheet.row(index, Some(defaults), log) else {
            break;
        };
        rows.push(expected(&mut row, context));
    }
    (usual, rows)
}

fn expected(row: &mut Row<'_>, context: Context<'_>) -> Expected {
    Expected {
        asset: if row.is_blank("asset") {
            None
        } else {
            asset_index(row, context.assets)
        },
        air_c: row.number("air_temperature_c", AIR),
        relative_humidity_pct: row.number("relative_humidity_pct", HUMIDITY),
        wind_m_s: row.number("wind_m_s", WIND),
        reflected_c: row.number("reflected_temperature_c", REFLECTED),
        distance_m: row.number("distance_m", DISTANCE),
        transmittance: row.number("transmittance", TRANSMITTANCE),
        sun: row.word("sun"),
        camera: camera(row, context),
    }
}
