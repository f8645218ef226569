//! survey.toml: the survey's head, the site, defaults for frames.csv, half-widths, the price of energy, the cameras.

use std::collections::BTreeMap;
use std::path::Path;

use toml::Spanned;
use toml::de::{DeTable, DeValue, Error as TomlError};

use super::cell;
use super::faults::{Fault, Log};
use super::frames;
use super::row::Row;
use super::section::{Document, Section, table_of};
use super::sheet::read_bytes;
use super::units::Range;
use super::{Camera, Energy, HalfWidths, Known, SignalLaw, Site, Source, SurveyHead};
use crate::heat::STANDARD_BAROMETER_KPA;
use crate::heat::air::barometer_kpa;

/// File name.
pub(super) const NAME: &str = "survey.toml";
/// Bytes of the largest survey.toml.
const LARGEST_BYTES: u64 = 1024 * 1024;
/// Band of a camera that states none, µm: the usual long-wave window.
const BAND_UM: (f64, f64) = (8.0, 14.0);

/// The barometer where nobody states one.
pub(super) const SEA_LEVEL: Known<f64> = Known {
    value: STANDARD_BAROMETER_KPA,
    source: Source::Assumed,
};

/// Dead Sea shore to the highest settlements, m.
const ALTITUDE: Range = Range::between(-430.0, 6000.0);
const BAROMETER: Range = Range::between(45.0, 110.0);
const HALF_WIDTH_K: Range = Range::between(0.0, 20.0);
const HALF_WIDTH_PCT: Range = Range::between(0.0, 100.0);
const WIND_PCT: Range = Range::between(0.0, 200.0);
const HALF_WIDTH_EMISSIVITY: Range = Range::between(0.0, 0.5);
const PRICE: Range = Range::above(0.0, 1e6);
const COP: Range = Range::between(0.3, 20.0);
const NOISE_K: Range = Range::above(0.0, 5.0);
const A_UM: Range = Range::above(0.0, 100.0);
const B_UM_K: Range = Range::between(-1e6, 1e6);
const C_COUNTS: Range = Range::above(0.0, 1e15);
/// Long telephoto to a wide angle that is still flat, degrees.
pub(crate) const FIELD_OF_VIEW: Range = Range::between(0.5, 150.0);
/// Pixels along a side of a detector.
pub(crate) const SIDE_PX: (i32, i32) = (16, 32_768);
const SHORTEST_UM: f64 = 0.7;
const LONGEST_UM: f64 = 30.0;

const HEAD_KEYS: [&str; 4] = ["title", "plant", "date", "inspector"];
const TABLES: [&str; 5] = ["site", "defaults", "uncertainty", "energy", "cameras"];
const SITE_KEYS: [&str; 2] = ["altitude_m", "barometer_kpa"];
const UNCERTAINTY_KEYS: [&str; 9] = [
    "air_temperature_k",
    "reflected_temperature_k",
    "emissivity",
    "service_temperature_k",
    "wind_pct",
    "relative_humidity_pct",
    "insulation_thickness_pct",
    "camera_accuracy_k",
    "conductivity_pct",
];
const ENERGY_KEYS: [&str; 3] = ["price_per_kwh", "currency", "cop"];
const CAMERA_KEYS: [&str; 9] = [
    "band_um",
    "noise_k",
    "accuracy_k",
    "a_um",
    "b_um_k",
    "c",
    "field_of_view_deg",
    "width_px",
    "height_px",
];

/// What survey.toml says.
#[derive(Debug)]
pub(super) struct Survey {
    pub(super) head: Option<SurveyHead>,
    pub(super) site: Site,
    pub(super) uncertainty: HalfWidths,
    pub(super) energy: Option<Energy>,
    pub(super) cameras: BTreeMap<String, Camera>,
    /// Values for the cells of frames.csv that are left blank.
    pub(super) defaults: Section,
}

impl Survey {
    /// Year of the survey, where its date could be read.
    pub(super) fn year(&self) -> Option<i32> {
        self.head.as_ref().and_then(|head| cell::iso_year(&head.date).ok())
    }
}

/// Reads survey.toml; None where it is missing or no TOML, and the log says so.
pub(super) fn read(folder: &Path, log: &mut Log) -> Option<Survey> {
    let path = folder.join(NAME);
    if !path.exists() {
        let hint = "write it with title, plant and date".to_owned();
        log.refuse(Fault::new(NAME, "is missing").hint(hint));
        return None;
    }
    let bytes = read_bytes(&path, NAME, LARGEST_BYTES)
        .map_err(|fault| log.refuse(*fault))
        .ok()?;
    let Ok(text) = String::from_utf8(bytes) else {
        log.refuse(Fault::new(NAME, "is not text in UTF-8").hint("save it in UTF-8".to_owned()));
        return None;
    };
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    let document = Document { name: NAME, text };
    match DeTable::parse(text) {
        Ok(table) => Some(interpret(document, table.get_ref(), log)),
        Err(error) => {
            log.refuse(syntax_fault(document, &error));
            None
        }
    }
}

fn syntax_fault(document: Document<'_>, error: &TomlError) -> Fault {
    let message = error.message().lines().collect::<Vec<_>>().join(", ");
    let fault = Fault::new(NAME, format!("is not TOML: {message}"));
    match error.span() {
        None => fault,
        Some(span) => {
            let (line, column) = (document.line(span.start), document.column(span.start));
            Fault {
                problem: format!("is not TOML at column {column}: {message}"),
                ..fault.row(line)
            }
        }
    }
}

fn interpret(document: Document<'_>, root: &DeTable<'_>, log: &mut Log) -> Survey {
    let mut tables: BTreeMap<&str, (&DeTable<'_>, usize)> = BTreeMap::new();
    let mut head = Vec::new();
    for (key, value) in root {
        match TABLES.iter().find(|name| **name == key.get_ref().as_ref()) {
            None => head.push((key, value)),
            Some(name) => match table_of(value) {
                Some(table) => drop(tables.insert(name, (table, document.line(key.span().start)))),
                None => log.refuse(not_a_table(document, key, name)),
            },
        }
    }
    let known: Vec<&'static str> = HEAD_KEYS.into_iter().chain(TABLES).collect();
    let head = Section::empty(document, "").read(document, head, &known, log);
    let section = |name: &str, known: &[&'static str], log: &mut Log| {
        let table = tables.get(name).map(|(table, _)| *table);
        Section::empty(document, &format!("{name}.")).read(document, table.into_iter().flatten(), known, log)
    };
    let site = section("site", &SITE_KEYS, log);
    let uncertainty = section("uncertainty", &UNCERTAINTY_KEYS, log);
    let energy = section("energy", &ENERGY_KEYS, log);
    let defaults = section("defaults", &frames::COLUMNS, log);
    Survey {
        head: survey_head(&mut head.row(log)),
        site: site_of(&mut site.row(log)),
        uncertainty: half_widths(&mut uncertainty.row(log)),
        energy: tables
            .contains_key("energy")
            .then(|| energy_of(&mut energy.row(log)))
            .flatten(),
        cameras: tables
            .get("cameras")
            .map(|(table, _)| cameras(document, table, log))
            .unwrap_or_default(),
        defaults,
    }
}

fn not_a_table(document: Document<'_>, key: &Spanned<std::borrow::Cow<'_, str>>, name: &str) -> Fault {
    let fault = Fault::new(NAME, "is not a table")
        .row(document.line(key.span().start))
        .column(name);
    fault.accepted(if name == "cameras" {
        "[cameras.NAME]".to_owned()
    } else {
        format!("[{name}]")
    })
}

fn survey_head(row: &mut Row<'_>) -> Option<SurveyHead> {
    let (title, plant) = (
        row.needed_text("title", "the survey"),
        row.needed_text("plant", "the survey"),
    );
    let has_date = row.is_filled_for("date", "the survey", cell::DATE_ACCEPTED);
    let date = has_date.then(|| row.date("date")).flatten();
    Some(SurveyHead {
        title: title?,
        plant: plant?,
        date: date?,
        inspector: row.text("inspector"),
    })
}

/// The barometer: as stated, from the altitude, or that of sea level.
fn site_of(row: &mut Row<'_>) -> Site {
    let (altitude_m, stated_kpa) = (
        row.number("altitude_m", ALTITUDE),
        row.number("barometer_kpa", BAROMETER),
    );
    if !row.is_blank("altitude_m") && !row.is_blank("barometer_kpa") {
        let fault = row.fault(
            "barometer_kpa",
            "stands beside an altitude, which states the barometer too",
        );
        row.refuse(fault.hint("keep barometer_kpa where it was measured, else the altitude".to_owned()));
    }
    let from_altitude_kpa = altitude_m.and_then(|altitude_m| match barometer_kpa(altitude_m) {
        Ok(kpa) => Some(kpa),
        Err(error) => {
            let fault = row.fault("altitude_m", format!("gives no barometer: {error}"));
            row.refuse(fault);
            None
        }
    });
    let stated = stated_kpa.or(from_altitude_kpa).map(|value| Known {
        value,
        source: Source::Stated,
    });
    Site {
        barometer_kpa: stated.unwrap_or(SEA_LEVEL),
    }
}

fn half_widths(row: &mut Row<'_>) -> HalfWidths {
    let usual = HalfWidths::default();
    let mut read = |key: &str, range: Range, usual: f64| row.number(key, range).unwrap_or(usual);
    HalfWidths {
        air_temperature_k: read("air_temperature_k", HALF_WIDTH_K, usual.air_temperature_k),
        reflected_temperature_k: read("reflected_temperature_k", HALF_WIDTH_K, usual.reflected_temperature_k),
        emissivity: read("emissivity", HALF_WIDTH_EMISSIVITY, usual.emissivity),
        service_temperature_k: read("service_temperature_k", HALF_WIDTH_K, usual.service_temperature_k),
        wind_pct: read("wind_pct", WIND_PCT, usual.wind_pct),
        relative_humidity_pct: read("relative_humidity_pct", HALF_WIDTH_PCT, usual.relative_humidity_pct),
        insulation_thickness_pct: read(
            "insulation_thickness_pct",
            HALF_WIDTH_PCT,
            usual.insulation_thickness_pct,
        ),
        camera_accuracy_k: read("camera_accuracy_k", HALF_WIDTH_K, usual.camera_accuracy_k),
        conductivity_pct: read("conductivity_pct", HALF_WIDTH_PCT, usual.conductivity_pct),
    }
}

fn energy_of(row: &mut Row<'_>) -> Option<Energy> {
    let price_per_kwh = row.needed_number("price_per_kwh", PRICE, "[energy]");
    let currency = row.needed_text("currency", "[energy]");
    let cop = row.needed_number("cop", COP, "[energy]");
    Some(Energy {
        price_per_kwh: price_per_kwh?,
        currency: currency?,
        cop: cop?,
    })
}

fn cameras(document: Document<'_>, table: &DeTable<'_>, log: &mut Log) -> BTreeMap<String, Camera> {
    let mut cameras = BTreeMap::new();
    for (name, value) in table {
        let prefix = format!("cameras.{}.", name.get_ref());
        let DeValue::Table(keys) = value.get_ref() else {
            let fault = not_a_table(document, name, "cameras");
            log.refuse(fault.column(format!("cameras.{}", name.get_ref())));
            continue;
        };
        let section = Section::empty(document, &prefix).read(document, keys, &CAMERA_KEYS, log);
        cameras.insert(name.get_ref().trim().to_owned(), camera(&mut section.row(log)));
    }
    cameras
}

fn camera(row: &mut Row<'_>) -> Camera {
    Camera {
        band_um: band(row).unwrap_or(BAND_UM),
        noise_k: row.number("noise_k", NOISE_K),
        accuracy_k: row.number("accuracy_k", HALF_WIDTH_K),
        signal: signal_law(row),
        field_of_view_deg: row.number("field_of_view_deg", FIELD_OF_VIEW),
        width_px: side_px(row, "width_px"),
        height_px: side_px(row, "height_px"),
    }
}

fn side_px(row: &mut Row<'_>, key: &str) -> Option<u32> {
    let side = row.integer(key, SIDE_PX.0, SIDE_PX.1)?;
    u32::try_from(side).ok()
}

fn band(row: &mut Row<'_>) -> Option<(f64, f64)> {
    let accepted = format!("[low, high] in µm, {SHORTEST_UM} to {LONGEST_UM}, such as [8.0, 14.0]");
    match row.numbers("band_um", &accepted)?.as_slice() {
        [low, high] if SHORTEST_UM <= *low && low < high && *high <= LONGEST_UM => Some((*low, *high)),
        _ => {
            row.refuse(row.fault("band_um", "is not a band").accepted(accepted));
            None
        }
    }
}

/// All three coefficients, or none.
fn signal_law(row: &mut Row<'_>) -> Option<SignalLaw> {
    if ["a_um", "b_um_k", "c"].iter().all(|key| row.is_blank(key)) {
        return None;
    }
    let by = "a signal law with a_um, b_um_k and c";
    let a_um = row.needed_number("a_um", A_UM, by);
    let b_um_k = row.needed_number("b_um_k", B_UM_K, by);
    let c = row.needed_number("c", C_COUNTS, by);
    Some(SignalLaw {
        a_um: a_um?,
        b_um_k: b_um_k?,
        c: c?,
    })
}
