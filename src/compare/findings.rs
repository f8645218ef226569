//! What a comparison needs of a `findings.json`, whichever version of the program wrote it.

use jiff::civil::{Date, DateTime};
use serde::Deserialize;

use super::Error;

/// The schema that is read.
pub const SCHEMA: &str = "coldjacket.findings/1";

/// A survey's findings.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Findings {
    /// What the file calls itself.
    pub schema: String,
    /// Title, plant and date.
    pub survey: Head,
    /// The frames.
    #[serde(default)]
    pub frames: Vec<Frame>,
    /// Zones on the list.
    pub zones: Vec<Zone>,
    /// Zones set aside.
    #[serde(default)]
    pub set_aside: Vec<Zone>,
    /// Assets.
    #[serde(default)]
    pub assets: Vec<Asset>,
}

/// Whose findings they are.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Head {
    /// Title of the survey.
    #[serde(default)]
    pub title: String,
    /// The plant.
    #[serde(default)]
    pub plant: String,
    /// ISO 8601 date.
    pub date: String,
}

/// A frame, as far as it tells what could have been seen.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Frame {
    /// Its asset.
    pub asset: String,
    /// `good`, `limited` or `unusable`.
    pub usability: String,
    /// Side of the smallest zone it could show, mm.
    #[serde(default)]
    pub smallest_zone_mm: Option<f64>,
    /// Least contrast it could show, K.
    #[serde(default)]
    pub least_contrast_k: Option<f64>,
    /// Sound jacket, °C.
    #[serde(default)]
    pub sound_surface_c: Option<f64>,
    /// Air, °C; findings before 0.2 do not tell it.
    #[serde(default)]
    pub air_temperature_c: Option<f64>,
}

/// A zone.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Zone {
    /// Its name.
    pub id: String,
    /// Its asset.
    pub asset: String,
    /// `colder` or `warmer`.
    pub departure: String,
    /// `local` or `general`.
    pub extent: String,
    /// Centroid from the datum, m.
    pub axial_m: f64,
    /// Centroid above the bottom edge of a wall, m.
    #[serde(default)]
    pub height_m: Option<f64>,
    /// Clock position, hours.
    #[serde(default)]
    pub clock: Option<f64>,
    /// Compass bearing, degrees.
    #[serde(default)]
    pub bearing_deg: Option<f64>,
    /// Angle from the line facing the camera, degrees.
    #[serde(default)]
    pub angle_deg: Option<f64>,
    /// Length along, m.
    pub length_m: f64,
    /// Length round, or up a wall, m.
    pub arc_m: f64,
    /// Area, m².
    pub area_m2: f64,
    /// Contrast, K: how strong a sign it gave then, never compared between surveys.
    #[serde(default)]
    pub contrast_k: f64,
    /// Conductivity over dry.
    pub conductivity_ratio: f64,
    /// Its 95 % interval.
    pub conductivity_ratio_interval: [f64; 2],
    /// Whether the ratio is a least one, read off the end of a colour bar.
    #[serde(default)]
    pub at_least: bool,
    /// Likely cause.
    pub likely_cause: String,
    /// What to do.
    #[serde(default)]
    pub action: String,
    /// Priority, 0 to 100.
    #[serde(default)]
    pub priority: f64,
}

impl Zone {
    /// Whether it is the whole jacket.
    #[must_use]
    pub fn is_general(&self) -> bool {
        self.extent == "general"
    }
}

/// An asset, and what was seen of it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Asset {
    /// Its tag.
    pub asset: String,
    /// Jacket between the tangent lines, m².
    #[serde(default)]
    pub total_m2: f64,
    /// Usefully seen, m².
    #[serde(default)]
    pub usable_m2: f64,
    /// Word of the sheet for its shape.
    #[serde(default)]
    pub shape: Option<String>,
    /// Over the jacket, m.
    #[serde(default)]
    pub outside_diameter_m: Option<f64>,
    /// Tangent line to tangent line, or width, m.
    #[serde(default)]
    pub length_m: Option<f64>,
    /// Height of a wall, m.
    #[serde(default)]
    pub height_m: Option<f64>,
    /// Year in which the insulation was put on.
    #[serde(default)]
    pub insulated_year: Option<i32>,
    /// Its tag before.
    #[serde(default)]
    pub former_tag: Option<String>,
    /// Date since which the datum is the other end.
    #[serde(default)]
    pub datum_swapped_on: Option<String>,
    /// What was seen, cell by cell.
    #[serde(default)]
    pub seen: Option<SeenMap>,
}

/// What was seen of an asset, as findings.json has it.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct SeenMap {
    /// Cells along.
    pub along: usize,
    /// `asset`, `facing` or `wall`.
    pub round: String,
    /// A run-length code a row.
    pub rows: Vec<String>,
}

/// Reads a `findings.json`.
///
/// # Errors
/// What is no findings.json of the schema that is known, or holds what cannot be.
pub fn parse(bytes: &[u8], path: &str) -> Result<Findings, Error> {
    let wrong = |problem: String| Error::NotFindings {
        path: path.to_owned(),
        problem,
    };
    let found: Findings =
        serde_json::from_slice(bytes).map_err(|error| wrong(format!("is no findings.json: {error}")))?;
    if found.schema != SCHEMA {
        return Err(wrong(format!("is of schema {:?}", found.schema)));
    }
    if day(&found.survey.date).is_none() {
        return Err(wrong(format!("has the date {:?}, which is none", found.survey.date)));
    }
    for zone in found.zones.iter().chain(&found.set_aside) {
        let [low, high] = zone.conductivity_ratio_interval;
        let is_sane = zone.length_m >= 0.0 && zone.arc_m >= 0.0 && zone.area_m2 >= 0.0 && low <= high;
        if !is_sane {
            return Err(wrong(format!("has a zone {} of impossible size or interval", zone.id)));
        }
    }
    Ok(found)
}

/// The day of an ISO 8601 date or time.
#[must_use]
pub fn day(date: &str) -> Option<Date> {
    date.parse::<DateTime>()
        .map(|moment| moment.date())
        .or_else(|_| date.get(..10).unwrap_or_default().parse::<Date>())
        .ok()
}

/// Years from one day to another, 365.25 days each.
#[must_use]
pub fn years_between(from: Date, to: Date) -> f64 {
    f64::from((to - from).get_days()) / 365.25
}

impl Findings {
    /// The survey's day; the parser has seen that there is one.
    #[must_use]
    pub fn day(&self) -> Date {
        day(&self.survey.date).unwrap_or(Date::ZERO)
    }

    /// An asset by its tag. Where nothing is told of it but a zone or frame names it, it is not found.
    #[must_use]
    pub fn asset(&self, tag: &str) -> Option<&Asset> {
        self.assets.iter().find(|asset| asset.asset == tag)
    }

    /// Frames of an asset that were used.
    pub fn used<'a>(&'a self, tag: &'a str) -> impl Iterator<Item = &'a Frame> {
        self.frames
            .iter()
            .filter(move |frame| frame.asset == tag && frame.usability != "unusable")
    }

    /// Side of the smallest zone that every used frame of an asset could show, m.
    #[must_use]
    pub fn smallest_zone_m(&self, tag: &str) -> Option<f64> {
        self.used(tag)
            .filter_map(|frame| frame.smallest_zone_mm)
            .reduce(f64::max)
            .map(|mm| mm / 1000.0)
    }
}
