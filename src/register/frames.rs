//! frames.csv: one row an image and asset; scale, conditions, and how the asset lies in the picture.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::path::Path;

use super::assets::{Assets, EMISSIVITY};
use super::faults::Log;
use super::nearest::did_you_mean;
use super::row::{Layout, Row};
use super::section::Section;
use super::sheet::{Presence, Sheet};
use super::survey::Survey;
use super::units::{Range, unit_of};
use super::words::Answer;
use super::{Asset, Camera, Conditions, Correction, FrameRow, Shape, Source, Stored, ViewHint};

pub(super) mod expected;
mod latest;
mod scale;

use latest::Latest;

/// Every column's first name.
pub(super) const COLUMNS: [&str; 28] = [
    "file",
    "asset",
    "temperature_scale",
    "scale_gain_k",
    "scale_offset_c",
    "bar_low_c",
    "bar_high_c",
    "bar_box_px",
    "no_data",
    "already_corrected",
    "file_emissivity",
    "file_reflected_temperature_c",
    "air_temperature_c",
    "relative_humidity_pct",
    "wind_m_s",
    "reflected_temperature_c",
    "distance_m",
    "transmittance",
    "sun",
    "facing_clock",
    "facing_bearing_deg",
    "datum_side",
    "view_start_mm",
    "vessel_outline_px",
    "camera",
    "captured_at",
    "visible_file",
    "note",
];

const LAYOUT: Layout = Layout {
    stem: "frames",
    noun: "a list of frames",
    presence: Presence::Required,
    known: &COLUMNS,
    required: &["file", "asset", "temperature_scale", "air_temperature_c"],
};

/// Coldest and hottest air on record, with a margin, °C.
pub(super) const AIR: Range = Range::between(-80.0, 60.0);
/// A clear cold sky is colder than any air, °C.
pub(super) const REFLECTED: Range = Range::between(-100.0, 100.0);
pub(super) const HUMIDITY: Range = Range::between(0.0, 100.0);
pub(super) const WIND: Range = Range::between(0.0, 60.0);
pub(super) const DISTANCE: Range = Range::between(0.05, 500.0);
const TRANSMITTANCE: Range = Range::above(0.05, 1.0);
pub(super) const BEARING: Range = Range::between(0.0, 360.0);
/// The asset may start left of the picture or within it, m.
const VIEW_START: Range = Range::between(-200.0, 200.0);
/// Tags among which the one that was meant is looked for.
const MOST_TAGS: usize = 2000;
/// Faults after which no more are guessed at: only the first are shown, and guessing takes time.
const MOST_GUESSES: usize = 500;
const NOT_A_TAG: &str = "is not a tag of the asset register";
const TAG_ACCEPTED: &str = "a tag of the sheet assets";

/// What every frame row is read against; None where the other sheet could not be read.
#[derive(Debug, Clone, Copy)]
pub(super) struct Context<'a> {
    pub(super) survey: Option<&'a Survey>,
    pub(super) assets: Option<&'a Assets>,
}

impl<'a> Context<'a> {
    fn cameras(self) -> Option<&'a BTreeMap<String, Camera>> {
        self.survey.map(|survey| &survey.cameras)
    }
}

/// Reads the sheet; rows at fault are left out, and the log says why.
pub(super) fn read(folder: &Path, context: Context<'_>, log: &mut Log) -> Vec<FrameRow> {
    let unknown = Section::unreadable();
    let defaults = context.survey.map_or(&unknown, |survey| &survey.defaults);
    check_defaults(context, defaults, log);
    let Some(sheet) = Sheet::read(folder, &LAYOUT, Some(defaults), log) else {
        return Vec::new();
    };
    let mut frames = Vec::with_capacity(sheet.len());
    let mut alike = Alike::default();
    let mut first_rows: HashMap<(String, usize), usize> = HashMap::with_capacity(sheet.len());
    let mut warm_assets = HashSet::new();
    for index in 0..sheet.len() {
        let Some(mut row) = sheet.row(index, Some(defaults), log) else {
            break;
        };
        let Some(frame) = frame(&mut row, context, &mut alike) else {
            continue;
        };
        refuse_second(&mut row, &frame, &mut first_rows);
        let asset = context.assets.and_then(|assets| assets.rows.get(frame.asset)?.as_ref());
        let is_new = !warm_assets.contains(&frame.asset);
        if is_new && asset.is_some_and(|asset| tell_warm(&mut row, asset, frame.conditions.air_c)) {
            warm_assets.insert(frame.asset);
        }
        frames.push(frame);
    }
    frames
}

/// Reads the defaults as a row of their own, so that one that no row uses is checked too.
fn check_defaults(context: Context<'_>, defaults: &Section, log: &mut Log) {
    let mut scratch = Log::default();
    let nothing = Section::default();
    let mut row = Row::new(nothing.cells(), None, Some(defaults), &mut scratch);
    let _ = frame(&mut row, context, &mut Alike::default());
    let _ = (correction(&mut row), scale::every_key(&mut row));
    for fault in scratch.only_faults(|fault| fault.sheet == super::survey::NAME) {
        log.refuse(fault);
    }
}

fn refuse_second(row: &mut Row<'_>, frame: &FrameRow, first_rows: &mut HashMap<(String, usize), usize>) {
    match first_rows.get(&(frame.file.clone(), frame.asset)) {
        None => drop(first_rows.insert((frame.file.clone(), frame.asset), frame.row)),
        Some(first) => {
            let fault = row.fault("file", format!("stands already in row {first} for the same asset"));
            row.refuse(fault.hint("take one of the two rows away".to_owned()));
        }
    }
}

/// Says of an asset that it is warmer than the air; whether it was so.
fn tell_warm(row: &mut Row<'_>, asset: &Asset, air_c: f64) -> bool {
    let service_c = asset.service.temperature_c();
    if service_c <= air_c {
        return false;
    }
    let unit = unit_of("air_temperature_c");
    let (service, air) = (unit.told(service_c), unit.told(air_c));
    row.warn(&format!(
        "{} at {service} is warmer than the air at {air}: it is judged as a warm asset",
        asset.tag
    ));
    true
}

/// What the rows before had, so that what is alike is held once.
#[derive(Debug, Default)]
struct Alike {
    stored: Latest<Stored>,
    conditions: Latest<Conditions>,
    views: Latest<ViewHint>,
}

fn frame(row: &mut Row<'_>, context: Context<'_>, alike: &mut Alike) -> Option<FrameRow> {
    let file = row.required_path("file");
    let asset = asset_index(row, context.assets);
    let camera = camera(row, context);
    let scale = scale::read(row, context.cameras());
    let no_data = no_data(row);
    let correction = correction(row);
    let conditions = conditions(row);
    let shape = context
        .assets
        .zip(asset)
        .and_then(|(assets, index)| Some(assets.rows.get(index)?.as_ref()?.shape));
    let view = view(row, shape);
    let captured_at = row.date("captured_at");
    let visible_file = row.path("visible_file");
    Some(FrameRow {
        file: file?,
        asset: asset?,
        stored: alike.stored.shared(Stored {
            scale: scale?,
            no_data,
            correction,
            camera,
        }),
        conditions: alike.conditions.shared(conditions?),
        view: alike.views.shared(view),
        captured_at,
        visible_file,
        note: row.text("note"),
        row: row.number_in_sheet(),
    })
}

/// The asset that the row names; a tag that the register does not hold is a fault.
pub(super) fn asset_index(row: &mut Row<'_>, assets: Option<&Assets>) -> Option<usize> {
    let tag = row.needed_text("asset", "every row")?;
    let assets = assets?;
    if let Some(index) = assets.index.get(&tag) {
        return Some(*index);
    }
    if row.faults_so_far() > MOST_GUESSES {
        row.refuse(row.fault("asset", NOT_A_TAG).accepted(TAG_ACCEPTED));
        return None;
    }
    // Sorted, so that of two tags equally near the same is named on every run.
    let mut tags: Vec<&str> = assets.index.keys().map(String::as_str).collect();
    tags.sort_unstable();
    tags.truncate(MOST_TAGS);
    let fault = row.fault("asset", NOT_A_TAG).accepted(TAG_ACCEPTED);
    row.refuse(fault.hint(did_you_mean(&tag, tags)));
    None
}

fn camera(row: &mut Row<'_>, context: Context<'_>) -> Option<String> {
    let name = row.text("camera")?;
    if context.cameras().is_some_and(|cameras| !cameras.contains_key(&name)) {
        let names: Vec<&str> = context
            .cameras()
            .into_iter()
            .flatten()
            .map(|(name, _)| name.as_str())
            .collect();
        let accepted = if names.is_empty() {
            "none, as survey.toml has no [cameras.NAME]".to_owned()
        } else {
            names.join(", ")
        };
        let fault = row.fault("camera", "is not a camera of survey.toml").accepted(accepted);
        row.refuse(fault.hint(did_you_mean(&name, names)));
    }
    Some(name)
}

/// NaN always means no reading, so that it may be written and says nothing new.
fn no_data(row: &mut Row<'_>) -> Option<f64> {
    let is_nan = row.text("no_data").is_some_and(|text| text.eq_ignore_ascii_case("nan"));
    if is_nan {
        None
    } else {
        row.number("no_data", Range::ANY)
    }
}

fn correction(row: &mut Row<'_>) -> Correction {
    const KEYS: [&str; 2] = ["file_emissivity", "file_reflected_temperature_c"];
    let emissivity = row.number(KEYS[0], EMISSIVITY);
    let reflected_c = row.number(KEYS[1], REFLECTED);
    let answer = row.word::<Answer>("already_corrected");
    if answer == Some(Answer::Yes) {
        return Correction::Corrected {
            emissivity,
            reflected_c,
        };
    }
    let is_answer_readable = answer.is_some() || row.is_blank("already_corrected");
    for key in KEYS {
        if is_answer_readable && row.source(key) == Some(Source::Stated) {
            let fault = row.fault(key, "is given, but already_corrected is not yes");
            row.refuse(fault.hint(format!("write yes under already_corrected, or leave {key} blank")));
        }
    }
    Correction::Apparent
}

fn conditions(row: &mut Row<'_>) -> Option<Conditions> {
    let air_c = row.required_number("air_temperature_c", AIR);
    let relative_humidity_pct = row.number("relative_humidity_pct", HUMIDITY);
    if relative_humidity_pct.is_some_and(|pct| pct > 0.0 && pct <= 1.0) {
        row.warn("relative_humidity_pct is 1 % or less, which looks like a fraction where per cent belong");
    }
    let wind_m_s = row.number("wind_m_s", WIND);
    let reflected_c = row.number("reflected_temperature_c", REFLECTED);
    let distance_m = row.number("distance_m", DISTANCE);
    let transmittance = row.number("transmittance", TRANSMITTANCE);
    let sun = row.word("sun");
    Some(Conditions {
        air_c: air_c?,
        relative_humidity_pct,
        wind_m_s,
        reflected_c,
        distance_m,
        transmittance,
        sun,
    })
}

fn view(row: &mut Row<'_>, shape: Option<Shape>) -> ViewHint {
    match shape {
        Some(Shape::HorizontalCylinder { .. }) => {
            row.warn_unused(
                &["facing_bearing_deg"],
                "the asset is a horizontal cylinder, which faces by facing_clock",
            );
        }
        Some(Shape::VerticalCylinder { .. } | Shape::Flat { .. }) => {
            row.warn_unused(
                &["facing_clock"],
                "the asset is no horizontal cylinder and faces by facing_bearing_deg",
            );
        }
        None => {}
    }
    ViewHint {
        facing_clock: row.clock("facing_clock"),
        // 360° is north, which is 0°.
        facing_bearing_deg: row
            .number("facing_bearing_deg", BEARING)
            .map(|bearing_deg| bearing_deg % 360.0),
        datum_side: row.word("datum_side"),
        view_start_m: row.number("view_start_mm", VIEW_START),
        outline_px: outline(row),
    }
}

/// The hand-drawn outline: at least three points that enclose something.
fn outline(row: &mut Row<'_>) -> Option<Vec<[f64; 2]>> {
    const ACCEPTED: &str = "x1 y1 x2 y2 x3 y3 … in pixels, three points or more";
    let numbers = row.numbers("vessel_outline_px", ACCEPTED)?;
    let points: Vec<[f64; 2]> = numbers.as_chunks::<2>().0.to_vec();
    let problem = if !numbers.len().is_multiple_of(2) {
        format!("has {} numbers, so that one point lacks its y", numbers.len())
    } else if points.len() < 3 {
        format!("has {} points", points.len())
    } else if enclosed_px2(&points) < 1.0 {
        "encloses less than one pixel".to_owned()
    } else {
        return Some(points);
    };
    row.refuse(row.fault("vessel_outline_px", problem).accepted(ACCEPTED));
    None
}

/// Area of a polygon in px².
fn enclosed_px2(points: &[[f64; 2]]) -> f64 {
    // A = ½ |Σ (xᵢ yᵢ₊₁ − xᵢ₊₁ yᵢ)|
    let next = points.iter().cycle().skip(1);
    let twice: f64 = points
        .iter()
        .zip(next)
        .map(|([x, y], [next_x, next_y])| x * next_y - next_x * y)
        .sum();
    twice.abs() / 2.0
}
