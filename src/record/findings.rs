//! `findings.json`, schema `coldjacket.findings/1`: SI units, names fixed by the project's contract.

use serde::ser::{Error, SerializeSeq};
use serde::{Serialize, Serializer};

use crate::assess::Extent;
use crate::assess::budget::Part;
use crate::assess::cause::{Action, Cause};
use crate::assess::usability::Usability;
use crate::detect::Departure;
use crate::detect::coverage::Coverage;
use crate::inspect::FrameReport;
use crate::rank::priority::Parts;
use crate::rank::{Ranked, Sighting};
use crate::record::ledger::{AssetSums, Ledger};
use crate::register::{Register, Shape};
use crate::settings::Settings;

mod seen;

/// The cautions that every record carries.
pub const CAUTIONS: [&str; 4] = [
    "Thermography screens, it does not prove: confirm moisture by probe or opening, and wall loss by ultrasonic thickness gauging by qualified people.",
    "Never strip, cut, drill or hammer at insulation on a line or vessel in service without the owner's permit and mechanical-integrity review: the wall may be thin and ammonia is toxic.",
    "Local codes and the responsible engineer's judgement rule.",
    "Inspection ports that were opened are sealed again.",
];

/// The document.
#[derive(Debug, Serialize)]
pub struct Document<'a> {
    schema: &'static str,
    made_by: MadeBy,
    survey: Head<'a>,
    cautions: [&'static str; 4],
    warnings: &'a [String],
    frames: List<'a>,
    zones: List<'a>,
    set_aside: List<'a>,
    assets: List<'a>,
}

/// Entries that are read and made as they are written: all of them at once would fill the memory of a large survey.
#[derive(Debug)]
struct List<'a> {
    register: &'a Register,
    ledger: &'a Ledger,
    of: Entries,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Entries {
    Frames,
    Zones,
    SetAside,
    Assets,
}

impl Serialize for List<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let (register, ledger) = (self.register, self.ledger);
        let mut list = serializer.serialize_seq(None)?;
        match self.of {
            Entries::Frames => {
                for report in ledger.reports() {
                    list.serialize_element(&frame(register, &report.map_err(S::Error::custom)?))?;
                }
            }
            Entries::Zones | Entries::SetAside => {
                let findings = ledger.findings();
                let (first, count) = match self.of {
                    Entries::SetAside => (findings, ledger.set_aside()),
                    _ => (0, findings),
                };
                for ranked in ledger.zones().skip(first).take(count) {
                    list.serialize_element(&zone(register, &ranked.map_err(S::Error::custom)?))?;
                }
            }
            Entries::Assets => {
                for index in 0..register.assets.len() {
                    let coverage = ledger.coverage(index).map_err(S::Error::custom)?;
                    list.serialize_element(&asset(register, index, &ledger.assets()[index], coverage))?;
                }
            }
        }
        list.end()
    }
}

#[derive(Debug, Serialize)]
struct MadeBy {
    program: &'static str,
    version: &'static str,
    settings: Thresholds,
}

#[derive(Debug, Serialize)]
struct Thresholds {
    max_file_bytes: u64,
    max_pixels: u64,
    locate: crate::locate::Settings,
    detect: crate::detect::Settings,
    usability: crate::assess::usability::Settings,
    assess: crate::assess::Settings,
    uncertainty: Uncertainty,
}

#[derive(Debug, Serialize)]
struct Uncertainty {
    air_temperature_k: f64,
    reflected_temperature_k: f64,
    emissivity: f64,
    service_temperature_k: f64,
    wind_pct: f64,
    relative_humidity_pct: f64,
    insulation_thickness_pct: f64,
    camera_accuracy_k: f64,
    conductivity_pct: f64,
    barometer_kpa: f64,
}

#[derive(Debug, Serialize)]
struct Head<'a> {
    title: &'a str,
    plant: &'a str,
    date: &'a str,
    inspector: Option<&'a str>,
}

/// What is said of a frame, in the findings and in its line.
#[derive(Debug, Serialize)]
pub struct FrameEntry<'a> {
    file: &'a str,
    asset: &'a str,
    sha256: Option<&'a str>,
    width: Option<usize>,
    height: Option<usize>,
    captured_at: Option<&'a str>,
    air_temperature_c: f64,
    usability: Usability,
    reasons: &'a [String],
    assumed: &'a [String],
    vessel_outline_px: Vec<[f64; 2]>,
    outline_support: Option<f64>,
    pixels_per_metre: Option<f64>,
    smallest_zone_mm: Option<f64>,
    least_contrast_k: Option<f64>,
    noise_k: Option<f64>,
    edge_width_px: Option<f64>,
    sound_spread_k: Option<f64>,
    sound_surface_c: Option<f64>,
    sound_surface_reach_c: Option<[f64; 2]>,
    expected_sound_surface_c: Option<f64>,
    expected_sound_uncertainty_k: Option<f64>,
    dew_point_c: Option<f64>,
    viewed_m2: Option<f64>,
    usable_m2: Option<f64>,
}

#[derive(Debug, Serialize)]
struct Zone<'a> {
    id: &'a str,
    asset: &'a str,
    rank: Option<usize>,
    departure: Departure,
    extent: Extent,
    axial_m: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    height_m: Option<f64>,
    clock: Option<f64>,
    bearing_deg: Option<f64>,
    angle_deg: f64,
    length_m: f64,
    arc_m: f64,
    area_m2: f64,
    surface_c: f64,
    extreme_c: f64,
    sound_surface_c: f64,
    contrast_k: f64,
    peak_contrast_k: f64,
    contrast_to_noise: f64,
    uncertainty_k: f64,
    conductivity_w_mk: f64,
    conductivity_ratio: f64,
    conductivity_ratio_interval: [f64; 2],
    ratio_uncertainty_parts: Vec<Part>,
    moisture_volume_fraction: Option<f64>,
    heat_gain_w: f64,
    extra_heat_gain_w: f64,
    extra_cost_per_year: Option<f64>,
    below_dew_point: bool,
    below_freezing: bool,
    at_least: bool,
    likely_cause: Cause,
    because: &'a [String],
    action: Action,
    priority: f64,
    priority_parts: Parts,
    sightings: Vec<Seen<'a>>,
}

#[derive(Debug, Serialize)]
struct Seen<'a> {
    file: &'a str,
    centroid_px: [f64; 2],
    box_px: [f64; 4],
    outline_px: Vec<[f64; 2]>,
    pixels: usize,
}

#[derive(Debug, Serialize)]
struct Asset<'a> {
    asset: &'a str,
    total_m2: f64,
    viewed_m2: f64,
    usable_m2: f64,
    zone_m2: f64,
    extra_heat_gain_w: f64,
    extra_cost_per_year: Option<f64>,
    worst_priority: f64,
    frames: usize,
    frames_unusable: usize,
    shape: &'static str,
    outside_diameter_m: Option<f64>,
    length_m: f64,
    height_m: Option<f64>,
    insulated_year: Option<i32>,
    former_tag: Option<&'a str>,
    datum_swapped_on: Option<&'a str>,
    seen: seen::Map,
}

/// Digits kept after the point, so that the text does not claim what the method cannot know.
fn round(value: f64, decimals: i32) -> f64 {
    let scale = 10f64.powi(decimals);
    let rounded = (value * scale).round() / scale;
    // −0 reads as a misprint.
    if rounded == 0.0 { 0.0 } else { rounded }
}

/// A ratio to three decimals, and to as many more as a small one needs for two digits: above nought it stays so.
fn round_ratio(ratio: f64) -> f64 {
    let needed = if ratio > 0.0 { 1.0 - ratio.log10().floor() } else { 0.0 };
    round(ratio, needed.clamp(3.0, 12.0) as i32)
}

/// A part of a budget to six digits after the point: beyond them the libraries of two machines differ.
fn rounded(part: &Part) -> Part {
    Part {
        quantity: part.quantity.clone(),
        contribution: round(part.contribution, 6),
    }
}

fn points(outline: &[[f64; 2]]) -> Vec<[f64; 2]> {
    outline.iter().map(|p| [round(p[0], 1), round(p[1], 1)]).collect()
}

/// Hours of a year over a thousand: W → kWh a year.
const KWH_PER_W_YEAR: f64 = 8.766;

/// Cost a year of an extra heat gain, in the survey's currency: `Q·8766 h/1000 / COP · price`.
#[must_use]
pub fn cost_per_year(register: &Register, watts: f64) -> Option<f64> {
    register
        .energy
        .as_ref()
        .map(|energy| watts * KWH_PER_W_YEAR / energy.cop * energy.price_per_kwh)
}

impl<'a> Document<'a> {
    /// The document of a survey.
    #[must_use]
    pub fn new(register: &'a Register, ledger: &'a Ledger, settings: &Settings) -> Self {
        let list = |of| List { register, ledger, of };
        Self {
            schema: "coldjacket.findings/1",
            made_by: MadeBy {
                program: "coldjacket",
                version: env!("CARGO_PKG_VERSION"),
                settings: thresholds(register, settings),
            },
            survey: Head {
                title: &register.survey.title,
                plant: &register.survey.plant,
                date: &register.survey.date,
                inspector: register.survey.inspector.as_deref(),
            },
            cautions: CAUTIONS,
            warnings: &register.warnings,
            frames: list(Entries::Frames),
            zones: list(Entries::Zones),
            set_aside: list(Entries::SetAside),
            assets: list(Entries::Assets),
        }
    }

    /// The thresholds in force, as the document has them.
    ///
    /// # Errors
    /// None that is known: they are numbers.
    pub fn settings(&self) -> Result<serde_json::Value, serde_json::Error> {
        serde_json::to_value(&self.made_by.settings)
    }
}

fn thresholds(register: &Register, settings: &Settings) -> Thresholds {
    let half = &register.uncertainty;
    Thresholds {
        max_file_bytes: settings.limits.max_file_bytes,
        max_pixels: settings.limits.max_pixels,
        locate: settings.locate,
        detect: settings.detect,
        usability: settings.usability,
        assess: settings.assess,
        uncertainty: Uncertainty {
            air_temperature_k: half.air_temperature_k,
            reflected_temperature_k: half.reflected_temperature_k,
            emissivity: half.emissivity,
            service_temperature_k: half.service_temperature_k,
            wind_pct: half.wind_pct,
            relative_humidity_pct: half.relative_humidity_pct,
            insulation_thickness_pct: half.insulation_thickness_pct,
            camera_accuracy_k: half.camera_accuracy_k,
            conductivity_pct: half.conductivity_pct,
            barometer_kpa: round(register.site.barometer_kpa.value, 3),
        },
    }
}

/// What is said of a frame.
#[must_use]
pub fn frame<'a>(register: &'a Register, report: &'a FrameReport) -> FrameEntry<'a> {
    let row = &register.frames[report.frame];
    let seen = report.seen.as_ref();
    FrameEntry {
        file: &row.file,
        asset: &register.assets[row.asset].tag,
        sha256: report.sha256.as_deref(),
        width: report.size_px.map(|s| s.0),
        height: report.size_px.map(|s| s.1),
        captured_at: report.captured_at.as_deref(),
        air_temperature_c: round(row.conditions.air_c, 2),
        usability: report.usability,
        reasons: &report.reasons,
        assumed: &report.assumed,
        vessel_outline_px: points(&report.outline_px),
        outline_support: report.outline_support.map(|s| round(s, 2)),
        pixels_per_metre: report.scale_px_m.map(|s| round(s, 2)),
        smallest_zone_mm: seen.map(|s| round(1000.0 * s.smallest_zone_m, 0)),
        least_contrast_k: seen.map(|s| round(s.least_contrast_k, 2)),
        noise_k: report.noise_k.map(|n| round(n, 4)),
        edge_width_px: report.edge_width_px.map(|w| round(w, 1)),
        sound_spread_k: seen.map(|s| round(s.spread_k, 3)),
        sound_surface_c: seen.map(|s| round(s.sound_c, 2)),
        sound_surface_reach_c: seen.map(|s| s.sound_reach_c.map(|end| round(end, 2))),
        expected_sound_surface_c: report.expected_sound.map(|e| round(e.0, 2)),
        expected_sound_uncertainty_k: report.expected_sound.map(|e| round(e.1, 2)),
        dew_point_c: report.dew_point_c.map(|d| round(d, 2)),
        viewed_m2: seen.map(|s| round(s.viewed_m2, 3)),
        usable_m2: seen.map(|s| round(s.usable_m2, 3)),
    }
}

fn zone<'a>(register: &'a Register, ranked: &'a Ranked) -> Zone<'a> {
    let (finding, place) = (&ranked.finding, &ranked.place);
    let seen = &finding.zone;
    Zone {
        id: &ranked.id,
        asset: &register.assets[ranked.asset].tag,
        rank: ranked.rank,
        departure: seen.departure,
        extent: finding.extent,
        axial_m: round(place.axial_m, 3),
        height_m: place.height_m.map(|h| round(h, 3)),
        clock: place.clock_h.map(|h| round(h, 2)),
        bearing_deg: place.bearing_deg.map(|d| round(d, 1)),
        angle_deg: round(seen.angle_deg, 2),
        length_m: round(seen.length_m, 3),
        arc_m: round(seen.arc_m, 3),
        area_m2: round(seen.area_m2, 4),
        surface_c: round(seen.surface_c, 2),
        extreme_c: round(seen.extreme_c, 2),
        sound_surface_c: round(seen.sound_c, 2),
        contrast_k: round(seen.contrast_k, 3),
        peak_contrast_k: round(seen.peak_contrast_k, 3),
        contrast_to_noise: round(seen.contrast_to_noise, 1),
        uncertainty_k: round(finding.uncertainty_k, 3),
        conductivity_w_mk: round(finding.conductivity_w_mk, 5),
        conductivity_ratio: round_ratio(finding.ratio),
        conductivity_ratio_interval: finding.ratio_interval.map(round_ratio),
        ratio_uncertainty_parts: finding.budget.iter().map(rounded).collect(),
        moisture_volume_fraction: finding.moisture.map(|m| round(m, 4)),
        heat_gain_w: round(finding.heat_gain_w, 2),
        extra_heat_gain_w: round(finding.extra_heat_gain_w, 2),
        extra_cost_per_year: cost_per_year(register, finding.extra_heat_gain_w).map(|c| round(c, 2)),
        below_dew_point: finding.below_dew_point,
        below_freezing: finding.below_freezing,
        at_least: finding.at_least,
        likely_cause: finding.cause,
        because: &finding.because,
        action: finding.action,
        priority: round(ranked.priority, 1),
        priority_parts: ranked.parts.rounded(|part| round(part, 2)),
        sightings: ranked.sightings.iter().map(|s| sighting(register, s)).collect(),
    }
}

fn sighting<'a>(register: &'a Register, sighting: &Sighting) -> Seen<'a> {
    Seen {
        file: &register.frames[sighting.frame].file,
        centroid_px: sighting.centroid_px.map(|c| round(c, 2)),
        box_px: sighting.box_px.map(|c| round(c, 1)),
        outline_px: points(&sighting.outline_px),
        pixels: sighting.pixels,
    }
}

fn asset<'a>(register: &'a Register, index: usize, sums: &AssetSums, coverage: Option<Coverage>) -> Asset<'a> {
    let row = &register.assets[index];
    let coverage = coverage.unwrap_or_else(|| Coverage::nothing(&row.shape));
    let (shape, diameter_m, length_m, height_m) = match row.shape {
        Shape::HorizontalCylinder { diameter_m, length_m } => ("horizontal-cylinder", Some(diameter_m), length_m, None),
        Shape::VerticalCylinder { diameter_m, length_m } => ("vertical-cylinder", Some(diameter_m), length_m, None),
        Shape::Flat { width_m, height_m } => ("flat", None, width_m, Some(height_m)),
    };
    Asset {
        asset: &row.tag,
        total_m2: round(sums.total_m2, 3),
        viewed_m2: round(sums.viewed_m2, 3),
        usable_m2: round(sums.usable_m2, 3),
        zone_m2: round(sums.zone_m2, 4),
        extra_heat_gain_w: round(sums.extra_heat_gain_w, 2),
        extra_cost_per_year: cost_per_year(register, sums.extra_heat_gain_w).map(|c| round(c, 2)),
        worst_priority: round(sums.worst_priority, 1),
        frames: sums.frames,
        frames_unusable: sums.frames_unusable,
        shape,
        outside_diameter_m: diameter_m.map(|d| round(d, 4)),
        length_m: round(length_m, 4),
        height_m: height_m.map(|h| round(h, 4)),
        insulated_year: row.insulated_year,
        former_tag: row.former_tag.as_deref(),
        datum_swapped_on: row.datum_swapped_on.as_deref(),
        seen: seen::Map::of(&coverage, seen::bearing_of(register, index)),
    }
}
