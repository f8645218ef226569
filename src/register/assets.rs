//! assets.csv: what stands in the plant, how it is insulated, what is inside.

use std::collections::HashMap;
use std::path::Path;

use super::faults::{Fault, Log};
use super::row::{Layout, Row};
use super::sheet::{Presence, Sheet};
use super::survey::{SEA_LEVEL, Survey};
use super::units::{Range, unit_of};
use super::words::ShapeWord;
use super::{Asset, Known, Service, Shape, Source};
use crate::heat::ammonia::saturation_temperature_c;
use crate::heat::jacket::Jacket;

/// Every column's first name.
pub(super) const COLUMNS: [&str; 25] = [
    "asset",
    "shape",
    "outside_diameter_mm",
    "length_mm",
    "height_mm",
    "insulation",
    "insulation_thickness_mm",
    "insulation_conductivity_w_mk",
    "jacket",
    "emissivity",
    "service_temperature_c",
    "suction_pressure_kpa_gauge",
    "suction_pressure_inhg_vacuum",
    "coldest_metal_c",
    "warmest_metal_c",
    "setting",
    "insulated_year",
    "shell_material",
    "coating",
    "cycling",
    "consequence",
    "former_tag",
    "datum_swapped_on",
    "area",
    "note",
];

const LAYOUT: Layout = Layout {
    stem: "assets",
    noun: "an asset register",
    presence: Presence::Required,
    known: &COLUMNS,
    required: &[
        "asset",
        "shape",
        "length_mm",
        "insulation",
        "insulation_thickness_mm",
        "jacket",
        "setting",
    ],
};

const DIAMETER: Range = Range::between(0.02, 30.0);
const LENGTH: Range = Range::between(0.05, 200.0);
const THICKNESS: Range = Range::between(0.005, 1.0);
const CONDUCTIVITY: Range = Range::between(0.005, 0.5);
/// Emissivity of an opaque surface.
pub(super) const EMISSIVITY: Range = Range::above(0.0, 1.0);
/// What a refrigerating plant holds under cold insulation, °C: colder than ammonia's triple point for other fluids, as
/// warm as a receiver in a hot climate. Hot gas comes and goes, and belongs under `warmest_metal_c`.
const SERVICE: Range = Range::between(-90.0, 60.0);
/// Metal over the year, hot-gas defrost among it, °C.
const METAL: Range = Range::between(-90.0, 150.0);
const GAUGE: Range = Range::between(-110.0, 2600.0);
/// Up to a full vacuum under the highest barometer, kPa.
const VACUUM: Range = Range::between(0.0, 110.0);
const EARLIEST_YEAR: i32 = 1900;
/// Used as the last possible year where the survey's own date cannot be read.
const LATEST_YEAR: i32 = 2200;

/// The register as far as it could be read.
#[derive(Debug)]
pub(super) struct Assets {
    /// One a row; None where the row is at fault.
    pub(super) rows: Vec<Option<Asset>>,
    /// Row index by tag, of rows at fault too.
    pub(super) index: HashMap<String, usize>,
}

/// Reads the sheet; None where it is missing or not an asset register.
///
/// Without a readable survey.toml the barometer is that of sea level and any year up to 2200 is possible.
pub(super) fn read(folder: &Path, survey: Option<&Survey>, log: &mut Log) -> Option<Assets> {
    let barometer_kpa = survey.map_or(SEA_LEVEL, |survey| survey.site.barometer_kpa);
    let latest_year = survey.and_then(Survey::year).unwrap_or(LATEST_YEAR);
    let sheet = Sheet::read(folder, &LAYOUT, None, log)?;
    let mut assets = Assets {
        rows: Vec::with_capacity(sheet.len()),
        index: HashMap::with_capacity(sheet.len()),
    };
    let mut by_lower_case: HashMap<String, usize> = HashMap::new();
    for index in 0..sheet.len() {
        let Some(mut row) = sheet.row(index, None, log) else {
            break;
        };
        if let Some(tag) = row.needed_text("asset", "every row") {
            enter(&mut row, &tag, index, &mut assets, &mut by_lower_case);
        }
        assets.rows.push(asset(&mut row, barometer_kpa.value, latest_year));
    }
    check_former(&sheet.name, &assets, log);
    let is_gauge = |asset: &Asset| matches!(asset.service, Service::SaturatedAmmonia { .. });
    if barometer_kpa.source == Source::Assumed && assets.rows.iter().flatten().any(is_gauge) {
        log.warn(format!(
            "survey.toml: neither site.altitude_m nor site.barometer_kpa is given, so gauge pressures are taken at sea level ({})",
            unit_of("barometer_kpa").told(barometer_kpa.value)
        ));
    }
    Some(assets)
}

/// A former tag must lead to one asset: not to two, and not to one that still has that tag and no former one of its own.
fn check_former(sheet: &str, assets: &Assets, log: &mut Log) {
    let known: Vec<&Asset> = assets.rows.iter().flatten().collect();
    for (index, asset) in known.iter().enumerate() {
        let Some(former) = &asset.former_tag else { continue };
        let taken = known[..index]
            .iter()
            .find(|other| other.former_tag.as_ref() == Some(former));
        let kept = known
            .iter()
            .find(|other| other.tag == *former && other.former_tag.is_none());
        let problem = match (taken, kept) {
            (Some(other), _) => format!("is the former tag of row {} too", other.row),
            (None, Some(other)) => format!("is still the tag of row {}, which states no former one", other.row),
            (None, None) => continue,
        };
        let fault = Fault::new(sheet, problem)
            .row(asset.row)
            .column("former_tag")
            .found(former);
        log.refuse(fault.accepted("the tag that this asset alone had before"));
    }
}

/// Enters a tag; one that stands twice is a fault, one that differs by capitals alone a doubt.
fn enter(row: &mut Row<'_>, tag: &str, index: usize, assets: &mut Assets, by_lower_case: &mut HashMap<String, usize>) {
    let number = row.number_in_sheet();
    if assets.index.contains_key(tag) {
        let first = by_lower_case
            .get(&tag.to_lowercase())
            .map_or_else(String::new, |row| format!(" in row {row}"));
        let fault = row.fault("asset", format!("stands already{first}"));
        row.refuse(fault.accepted("a tag that stands once"));
        return;
    }
    assets.index.insert(tag.to_owned(), index);
    if let Some(first) = by_lower_case.insert(tag.to_lowercase(), number) {
        row.warn(&format!(
            "tag {tag:?} differs from that of row {first} by capitals alone"
        ));
    }
}

fn asset(row: &mut Row<'_>, barometer_kpa: f64, latest_year: i32) -> Option<Asset> {
    let tag = row.text("asset");
    let shape = shape(row);
    let insulation = row.required_word("insulation");
    let insulation_thickness_m = thickness(row, shape);
    let jacket = row.required_word("jacket");
    let emissivity = row.number("emissivity", EMISSIVITY);
    let service = service(row, barometer_kpa);
    let metal = metal_span(row, service);
    let setting = row.required_word("setting");
    let stated_conductivity_w_mk = row.number("insulation_conductivity_w_mk", CONDUCTIVITY);
    let insulated_year = row.integer("insulated_year", EARLIEST_YEAR, latest_year);
    let shell_material = row.word("shell_material");
    let (coating, cycling) = (row.word("coating"), row.word("cycling"));
    let consequence = row
        .integer("consequence", 1, 5)
        .and_then(|value| u8::try_from(value).ok());
    let (coldest_metal_c, warmest_metal_c) = metal?;
    let datum_swapped_on = row.date("datum_swapped_on");
    Some(Asset {
        former_tag: row.text("former_tag").filter(|former| tag.as_ref() != Some(former)),
        datum_swapped_on,
        tag: tag?,
        shape: shape?,
        insulation: insulation?,
        insulation_thickness_m: insulation_thickness_m?,
        stated_conductivity_w_mk,
        jacket: jacket?,
        emissivity: emissivity_of(emissivity, jacket?),
        service: service?,
        coldest_metal_c,
        warmest_metal_c,
        setting: setting?,
        insulated_year,
        shell_material,
        coating,
        cycling,
        consequence,
        area: row.text("area"),
        row: row.number_in_sheet(),
    })
}

fn emissivity_of(stated: Option<f64>, jacket: Jacket) -> Known<f64> {
    match stated {
        Some(value) => Known {
            value,
            source: Source::Stated,
        },
        None => Known {
            value: jacket.emissivity(),
            source: Source::Assumed,
        },
    }
}

fn shape(row: &mut Row<'_>) -> Option<Shape> {
    let word = row.required_word::<ShapeWord>("shape");
    let length_m = row.required_number("length_mm", LENGTH);
    match word? {
        ShapeWord::HorizontalCylinder => {
            let diameter_m = diameter(row)?;
            Some(Shape::HorizontalCylinder {
                diameter_m,
                length_m: length_m?,
            })
        }
        ShapeWord::VerticalCylinder => {
            let diameter_m = diameter(row)?;
            Some(Shape::VerticalCylinder {
                diameter_m,
                length_m: length_m?,
            })
        }
        ShapeWord::Flat => {
            row.warn_unused(&["outside_diameter_mm"], "the asset is flat");
            let height_m = row.needed_number("height_mm", LENGTH, "a flat asset")?;
            Some(Shape::Flat {
                width_m: length_m?,
                height_m,
            })
        }
    }
}

fn diameter(row: &mut Row<'_>) -> Option<f64> {
    row.warn_unused(&["height_mm"], "the asset is a cylinder");
    row.needed_number("outside_diameter_mm", DIAMETER, "a cylinder")
}

/// The insulation of a cylinder lies inside its outside diameter.
fn thickness(row: &mut Row<'_>, shape: Option<Shape>) -> Option<f64> {
    let thickness_m = row.required_number("insulation_thickness_mm", THICKNESS)?;
    let radius_m = match shape {
        Some(Shape::HorizontalCylinder { diameter_m, .. } | Shape::VerticalCylinder { diameter_m, .. }) => {
            diameter_m / 2.0
        }
        Some(Shape::Flat { .. }) | None => return Some(thickness_m),
    };
    if thickness_m < radius_m {
        return Some(thickness_m);
    }
    let most = row.unit("insulation_thickness_mm").told(radius_m);
    let fault = row.fault(
        "insulation_thickness_mm",
        "leaves no room for the vessel inside the outside diameter",
    );
    let hint = "state the diameter over the jacket, not over the bare metal".to_owned();
    row.refuse(fault.accepted(format!("less than the radius, {most}")).hint(hint));
    None
}

/// The fluid's temperature, stated or that of saturated ammonia at the suction pressure.
fn service(row: &mut Row<'_>, barometer_kpa: f64) -> Option<Service> {
    const KEYS: [&str; 3] = [
        "service_temperature_c",
        "suction_pressure_kpa_gauge",
        "suction_pressure_inhg_vacuum",
    ];
    const ACCEPTED: &str = "one of service_temperature_c, suction_pressure_kpa_gauge, suction_pressure_inhg_vacuum";
    let temperature_c = row.number(KEYS[0], SERVICE);
    let gauge_kpa = row.number(KEYS[1], GAUGE);
    let vacuum_kpa = row.number(KEYS[2], VACUUM);
    let filled: Vec<&str> = KEYS.into_iter().filter(|key| !row.is_blank(key)).collect();
    match filled.as_slice() {
        [] => {
            row.refuse(
                row.fault(KEYS[0], "is blank, and no suction pressure is given either")
                    .accepted(ACCEPTED),
            );
            None
        }
        [_] => {
            let temperature = temperature_c.map(|temperature_c| Service::Stated { temperature_c });
            let pressure_kpa = gauge_kpa.or(vacuum_kpa.map(|kpa| -kpa));
            temperature.or_else(|| saturated(row, filled.first()?, barometer_kpa + pressure_kpa?))
        }
        [first, rest @ ..] => {
            for key in rest {
                let problem = format!(
                    "stands beside {}, and either alone states the service temperature",
                    row.name(first)
                );
                row.refuse(row.fault(key, problem).accepted(ACCEPTED));
            }
            None
        }
    }
}

fn saturated(row: &mut Row<'_>, key: &str, absolute_kpa: f64) -> Option<Service> {
    let trouble = match saturation_temperature_c(absolute_kpa) {
        Ok(temperature_c) if SERVICE.holds(temperature_c) => {
            return Some(Service::SaturatedAmmonia {
                absolute_kpa,
                temperature_c,
            });
        }
        Ok(temperature_c) => format!(
            "means ammonia at {}",
            unit_of("service_temperature_c").told(temperature_c)
        ),
        Err(_) if absolute_kpa <= 0.0 => "lies below a full vacuum".to_owned(),
        Err(_) => "is no pressure at which ammonia is saturated under cold insulation".to_owned(),
    };
    let absolute = unit_of("barometer_kpa").told(absolute_kpa);
    let fault = row.fault(key, format!("{trouble}, {absolute} absolute"));
    row.refuse(fault.accepted("about 6 to 2614 kPa absolute, which is −77.6 to 60 °C"));
    None
}

/// Coldest and warmest metal over the year; either is the service temperature where it is not stated.
fn metal_span(row: &mut Row<'_>, service: Option<Service>) -> Option<(f64, f64)> {
    let (coldest_c, warmest_c) = (
        row.number("coldest_metal_c", METAL),
        row.number("warmest_metal_c", METAL),
    );
    let service_c = service?.temperature_c();
    let span = (coldest_c.unwrap_or(service_c), warmest_c.unwrap_or(service_c));
    if span.0 > span.1 {
        let key = if warmest_c.is_some() {
            "warmest_metal_c"
        } else {
            "coldest_metal_c"
        };
        let unit = row.unit(key);
        let (problem, accepted) = if warmest_c.is_some() {
            (
                "is colder than the coldest metal",
                format!("at least {}", unit.told(span.0)),
            )
        } else {
            (
                "is warmer than the service temperature, which is the warmest metal",
                format!("up to {}", unit.told(span.1)),
            )
        };
        row.refuse(row.fault(key, problem).accepted(accepted));
        return None;
    }
    if service_c < span.0 || service_c > span.1 {
        let unit = unit_of("service_temperature_c");
        let (low, high, at) = (unit.told(span.0), unit.told(span.1), unit.told(service_c));
        row.warn(&format!(
            "the metal's span over the year, {low} to {high}, leaves out the service temperature, {at}"
        ));
    }
    Some(span)
}
