//! wall.csv: ultrasonic thickness of the wall under the insulation.

use std::collections::HashMap;
use std::path::Path;

use super::super::assets::Assets;
use super::super::cell::DATE_ACCEPTED;
use super::super::faults::{Fault, Log};
use super::super::row::{Layout, Row};
use super::super::sheet::{Presence, Sheet};
use super::super::units::{Range, Unit, short};
use super::super::words::Word;
use super::spot::{self, Need, Point};
use crate::heat::wall::{Design, Part, required_m};

const LAYOUT: Layout = Layout {
    stem: "wall",
    noun: "a list of wall readings",
    presence: Presence::Optional,
    known: &[
        "asset",
        "point",
        "axial_m",
        "clock",
        "bearing_deg",
        "height_m",
        "measured_on",
        "thickness_mm",
        "nominal_thickness_mm",
        "required_thickness_mm",
        "design_pressure_kpa",
        "allowable_stress_mpa",
        "joint_efficiency",
        "inside_diameter_mm",
        "part",
        "crown_radius_mm",
        "note",
    ],
    required: &["asset", "point", "measured_on", "thickness_mm"],
};

/// Half a millimetre is a hole's edge; no ammonia vessel's wall is as thick as 150 mm. In m.
const THICKNESS: Range = Range::between(0.0005, 0.15);
const PRESSURE_KPA: Range = Range::above(0.0, 20_000.0);
const STRESS_MPA: Range = Range::between(40.0, 400.0);
const EFFICIENCY: Range = Range::between(0.35, 1.0);
const DIAMETER: Range = Range::between(0.01, 30.0);

/// A reading of the wall.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Where: the asset, and the place on it as far as it is given.
    pub at: Point,
    /// Name of the point, the same at every measurement.
    pub point: String,
    /// ISO 8601 date, as written.
    pub measured_on: String,
    /// Thickness in m.
    pub thickness_m: f64,
    /// Nominal thickness in m, where stated.
    pub nominal_m: Option<f64>,
    /// Required thickness in m, where stated or derivable.
    pub required: Option<Required>,
    /// Free words.
    pub note: Option<String>,
    /// Row of the sheet, counted as a spreadsheet counts (heading = 1).
    pub row: usize,
}

/// A required thickness and where it comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Required {
    /// In m.
    pub thickness_m: f64,
    /// Who says so.
    pub by: RequiredBy,
    /// What the design columns would give beside a stated one, m.
    pub derived_m: Option<f64>,
}

/// Where a required thickness comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RequiredBy {
    /// The sheet states it.
    Stated,
    /// Derived for this part.
    Derived(Part),
}

impl Word for Part {
    const NOUN: &'static str = "a part of a vessel";

    fn words() -> Vec<(&'static str, Self)> {
        vec![
            ("shell", Self::Shell),
            ("ellipsoidal-head", Self::EllipsoidalHead),
            ("hemispherical-head", Self::HemisphericalHead),
            ("torispherical-head", Self::TorisphericalHead),
        ]
    }
}

/// Reads the sheet; rows at fault are left out.
pub(super) fn read(folder: &Path, assets: Option<&Assets>, log: &mut Log) -> Vec<Reading> {
    let Some(sheet) = Sheet::read(folder, &LAYOUT, None, log) else {
        return Vec::new();
    };
    let mut readings: Vec<Reading> = Vec::new();
    let mut unit = None;
    let mut first_rows: HashMap<(usize, String, String), usize> = HashMap::new();
    for index in 0..sheet.len() {
        let Some(mut row) = sheet.row(index, None, log) else {
            break;
        };
        unit = Some(row.unit("thickness_mm"));
        let Some(reading) = reading(&mut row, assets) else {
            continue;
        };
        let key = (reading.at.asset, reading.point.clone(), reading.measured_on.clone());
        if let Some(first) = first_rows.get(&key) {
            let fault = row.fault(
                "point",
                format!("has a reading of the same date already in row {first}"),
            );
            row.refuse(fault.hint("take one of the two away, or give the points two names".to_owned()));
        } else {
            first_rows.insert(key, reading.row);
        }
        readings.push(reading);
    }
    if let Some(unit) = unit {
        ask_about_units(&sheet.name, &readings, unit, log);
    }
    readings
}

fn reading(row: &mut Row<'_>, assets: Option<&Assets>) -> Option<Reading> {
    let at = spot::read(row, assets, Need::Any);
    let point = row.needed_text("point", "every reading");
    let measured_on = row
        .is_filled_for("measured_on", "every reading", DATE_ACCEPTED)
        .then(|| row.date("measured_on"))
        .flatten();
    let thickness_m = row.required_number("thickness_mm", THICKNESS);
    let nominal_m = row.number("nominal_thickness_mm", THICKNESS);
    let required = required(row);
    Some(Reading {
        at: at?,
        point: point?,
        measured_on: measured_on?,
        thickness_m: thickness_m?,
        nominal_m,
        required,
        note: row.text("note"),
        row: row.number_in_sheet(),
    })
}

/// The stated thickness, else what the design columns give.
fn required(row: &mut Row<'_>) -> Option<Required> {
    let stated_m = row.number("required_thickness_mm", THICKNESS);
    let derived = derived(row, stated_m.is_some());
    if let (Some(stated_m), Some((derived_m, _))) = (stated_m, derived)
        && stated_m < 0.99 * derived_m
    {
        let unit = row.unit("required_thickness_mm");
        row.warn(&format!(
            "required_thickness_mm states {}, but the design columns give {}: the stated one is used; ask the responsible \
             engineer",
            unit.told(stated_m),
            unit.told(derived_m)
        ));
    }
    let derived_m = derived.map(|(thickness_m, _)| thickness_m);
    match (stated_m, derived) {
        (Some(thickness_m), _) => Some(Required {
            thickness_m,
            by: RequiredBy::Stated,
            derived_m,
        }),
        (None, Some((thickness_m, part))) => Some(Required {
            thickness_m,
            by: RequiredBy::Derived(part),
            derived_m,
        }),
        (None, None) => None,
    }
}

fn derived(row: &mut Row<'_>, is_stated: bool) -> Option<(f64, Part)> {
    const KEYS: [&str; 4] = [
        "design_pressure_kpa",
        "allowable_stress_mpa",
        "joint_efficiency",
        "inside_diameter_mm",
    ];
    let part = row.word::<Part>("part");
    let crown_radius_m = row.number("crown_radius_mm", DIAMETER);
    let filled = KEYS.iter().filter(|key| !row.is_blank(key)).count();
    if filled == 0 {
        return None;
    }
    if filled < KEYS.len() && is_stated {
        row.warn_unused(&KEYS, "required_thickness_mm is stated and not all design columns are");
        return None;
    }
    let by = "a required thickness that is to be derived";
    let pressure_kpa = row.needed_number(KEYS[0], PRESSURE_KPA, by);
    let stress_mpa = row.needed_number(KEYS[1], STRESS_MPA, by);
    let joint_efficiency = row.needed_number(KEYS[2], EFFICIENCY, by);
    let inside_diameter_m = row.needed_number(KEYS[3], DIAMETER, by);
    let part = part.unwrap_or(Part::Shell);
    if part != Part::TorisphericalHead {
        row.warn_unused(&["crown_radius_mm"], "only a torispherical head has one");
    } else if crown_radius_m.is_none() {
        row.warn("crown_radius_mm is blank: the inside diameter is taken for it, which asks for more wall than a smaller one");
    }
    let design = Design {
        pressure_kpa: pressure_kpa?,
        stress_mpa: stress_mpa?,
        joint_efficiency: joint_efficiency?,
        inside_diameter_m: inside_diameter_m?,
        crown_radius_m,
    };
    match required_m(part, &design) {
        Ok(thickness_m) => Some((thickness_m, part)),
        Err(_) => {
            let fault = row.fault(
                KEYS[0],
                "is too high for the formula of a thin wall with this stress and joint efficiency",
            );
            let hint = "state required_thickness_mm as the responsible engineer gives it".to_owned();
            row.refuse(fault.accepted("up to 0.385 × stress × joint efficiency").hint(hint));
            None
        }
    }
}

/// How many times the one unit is of the other, and the slack about it: walls thin by less than that.
const INCH_MM: f64 = 25.4;
const SLACK: f64 = 1.8;

/// A thickness that is some 25 times another of its point is an inch in a column of millimetres, or the other way round:
/// that is asked, not mended, for nobody here can see the wall.
fn ask_about_units(sheet: &str, readings: &[Reading], unit: Unit, log: &mut Log) {
    for reading in readings {
        let others = readings.iter().filter(|other| {
            other.at.asset == reading.at.asset && other.point == reading.point && other.row != reading.row
        });
        let mut others_m: Vec<f64> = others.map(|other| other.thickness_m).collect();
        let stated = [
            (reading.nominal_m, "nominal_thickness_mm"),
            (reading.required.map(|r| r.thickness_m), "the required thickness"),
            (
                crate::statistic::median(&mut others_m),
                "the other readings of the point",
            ),
        ];
        let odd = stated.into_iter().find_map(|(other_m, what)| {
            let times = other_m? / reading.thickness_m;
            let is_off = |times: f64| (INCH_MM / SLACK..=INCH_MM * SLACK).contains(&times);
            (is_off(times) || is_off(1.0 / times)).then_some((other_m?, what, times))
        });
        let Some((other_m, what, times)) = odd else { continue };
        log.refuse(asked(sheet, reading, unit, (other_m, what, times)));
    }
}

fn asked(sheet: &str, reading: &Reading, unit: Unit, (other_m, what, times): (f64, &str, f64)) -> Fault {
    let written = unit.written(reading.thickness_m);
    let (is, other_unit, would_m) = if times > 1.0 {
        ("thinner", "inches", reading.thickness_m * INCH_MM)
    } else {
        ("thicker", "millimetres", reading.thickness_m / INCH_MM)
    };
    let factor = times.max(1.0 / times);
    let problem = format!("is {factor:.0} times {is} than {what}, {}", unit.told(other_m));
    Fault::new(sheet, problem)
        .row(reading.row)
        .column("thickness_mm")
        .found(short(written))
        .accepted("every thickness of a point in the unit that its column's name ends in")
        .hint(format!(
            "is it in {other_unit}? It would then be {}. Write it in the column's unit, or name the column thickness_mm or \
             thickness_in as it is measured",
            unit.told(would_m)
        ))
}
