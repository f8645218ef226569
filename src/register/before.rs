//! What the sheets say before the walk: the register, and the conditions that are expected.
//!
//! What is guaranteed out: a [`Before`] whose assets are checked as for a survey. The list of frames may be missing, hold
//! no rows, or rows without an asset or a scale: nothing but the conditions is read from it.

use std::collections::BTreeMap;
use std::path::Path;

use super::faults::Log;
use super::units::Range;
use super::{Asset, Camera, Faults, HalfWidths, Site, Sun, SurveyHead};
use super::{assets, frames, survey, within};

/// A survey folder before the walk.
#[derive(Debug, Clone)]
pub struct Before {
    /// Title, plant, date and inspector.
    pub survey: SurveyHead,
    /// Barometer at the plant.
    pub site: Site,
    /// 95 % half-widths of what the sheets state.
    pub uncertainty: HalfWidths,
    /// Instruments by name.
    pub cameras: BTreeMap<String, Camera>,
    /// The asset register, in the order of the sheet.
    pub assets: Vec<Asset>,
    /// What `[defaults]` of survey.toml states.
    pub defaults: Expected,
    /// What each row of frames.csv states, defaults filled in; empty where there is no such sheet.
    pub rows: Vec<Expected>,
    /// Doubts that do not stop the run, each a whole sentence.
    pub warnings: Vec<String>,
}

/// Conditions as far as they are stated; °C, per cent, m/s, m.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Expected {
    /// Index of the asset; None where the row leaves it blank.
    pub asset: Option<usize>,
    /// Air temperature in °C.
    pub air_c: Option<f64>,
    /// Relative humidity in per cent.
    pub relative_humidity_pct: Option<f64>,
    /// Wind in m/s.
    pub wind_m_s: Option<f64>,
    /// Reflected apparent temperature in °C.
    pub reflected_c: Option<f64>,
    /// Distance in m.
    pub distance_m: Option<f64>,
    /// Transmittance of the air path.
    pub transmittance: Option<f64>,
    /// Sun on the jacket.
    pub sun: Option<Sun>,
    /// Key into [`Before::cameras`].
    pub camera: Option<String>,
}

/// Reads and checks the sheets that a plan needs.
///
/// # Errors
/// Every fault of every sheet at once, as [`super::open`].
pub fn open(folder: &Path) -> Result<Before, Faults> {
    let mut log = Log::default();
    let read = within(folder, &mut log, |log| gather(folder, log));
    let (before, warnings) = log.settle(read)?;
    Ok(Before { warnings, ..before })
}

fn gather(folder: &Path, log: &mut Log) -> Option<Before> {
    let survey = survey::read(folder, log);
    let assets = assets::read(folder, survey.as_ref(), log);
    let context = frames::Context {
        survey: survey.as_ref(),
        assets: assets.as_ref(),
    };
    let (defaults, rows) = frames::expected::read(folder, context, log);
    let (survey, assets) = (survey?, assets?);
    Some(Before {
        survey: survey.head?,
        site: survey.site,
        uncertainty: survey.uncertainty,
        cameras: survey.cameras,
        assets: assets.rows.into_iter().collect::<Option<Vec<Asset>>>()?,
        defaults,
        rows,
        warnings: Vec::new(),
    })
}

/// A quantity that a plan may be asked for instead of what the sheets state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stated {
    /// Air temperature, °C.
    Air,
    /// Relative humidity, per cent.
    Humidity,
    /// Wind, m/s.
    Wind,
    /// Reflected apparent temperature, °C.
    Reflected,
    /// Distance, m.
    Distance,
    /// Field of view, degrees.
    FieldOfView,
}

impl Stated {
    fn range(self) -> Range {
        match self {
            Self::Air => frames::AIR,
            Self::Humidity => frames::HUMIDITY,
            Self::Wind => frames::WIND,
            Self::Reflected => frames::REFLECTED,
            Self::Distance => frames::DISTANCE,
            Self::FieldOfView => survey::FIELD_OF_VIEW,
        }
    }

    /// The sheets' own column for it.
    fn key(self) -> &'static str {
        match self {
            Self::Air => "air_temperature_c",
            Self::Humidity => "relative_humidity_pct",
            Self::Wind => "wind_m_s",
            Self::Reflected => "reflected_temperature_c",
            Self::Distance => "distance_m",
            Self::FieldOfView => "field_of_view_deg",
        }
    }

    /// Whether an SI value is possible; else what would be accepted, as the sheets say it.
    ///
    /// # Errors
    /// The range in words.
    pub fn check(self, si: f64) -> Result<f64, String> {
        let range = self.range();
        if range.holds(si) {
            return Ok(si);
        }
        Err(range.told(super::units::unit_of(self.key())))
    }
}

/// Least and most pixels along a side of a detector.
pub const SIDE_PX: (i32, i32) = survey::SIDE_PX;
