//! The sheets of a survey folder, read whole and checked before any image is touched.
//!
//! What comes in: `survey.toml`, `assets.csv` (or `.xlsx`), `frames.csv` (or `.xlsx`).
//! What is guaranteed out: a [`Register`] in SI units (metres, °C for temperatures, kelvin for differences) in which every
//! frame names a known asset, every word is one of its enum, every number is physically possible, and every value that the
//! inspector did not state says so ([`Known::source`]).
//! What is not handled here: whether an image exists or can be read; that is the room `read`.

use std::collections::BTreeMap;
use std::path::Path;

pub mod around;
mod asset;
mod assets;
pub mod before;
pub(crate) mod cell;
pub mod columns;
pub(crate) mod faults;
mod frame;
mod frames;
pub(crate) mod nearest;
pub(crate) mod row;
pub(crate) mod section;
pub(crate) mod sheet;
mod survey;
pub(crate) mod texts;
pub(crate) mod units;
pub(crate) mod words;

use around::Around;
pub use asset::{Asset, Coating, Cycling, Service, Setting, Shape, ShellMaterial};
use faults::Log;
pub use faults::{Fault, Faults};
pub use frame::{Conditions, Correction, FrameRow, Side, Stored, Sun, TemperatureScale, ViewHint};

/// Whether a text is a date, or date and time, that a sheet accepts.
#[must_use]
pub fn is_date(text: &str) -> bool {
    cell::iso_year(text).is_ok()
}

/// Whether a sheet would read this path within the survey folder as it is written.
#[must_use]
pub fn is_path(text: &str) -> bool {
    let is_kept = cell::inside_folder(text).is_ok_and(|read| read == text);
    is_kept && text.trim() == text && !text.chars().any(char::is_control)
}

/// Names of the sheets that make a folder a survey's.
pub const SHEETS: [&str; 5] = [survey::NAME, "assets.csv", "assets.xlsx", "frames.csv", "frames.xlsx"];

/// Reads and checks the sheets of a survey folder.
///
/// # Errors
/// Every fault of every sheet at once: a sheet that is missing or unreadable, a column or cell that is missing, an unknown
/// word, a number that is none or not possible, a contradiction between cells. Warnings are lost then.
pub fn open(folder: &Path) -> Result<Register, Faults> {
    let mut log = Log::default();
    let read = within(folder, &mut log, |log| gather(folder, Sheets::OfTheSurvey, log));
    let ((register, _), warnings) = log.settle(read)?;
    Ok(Register { warnings, ..register })
}

/// Reads and checks the sheets of a survey folder and the sheets around the survey, which a record holds too.
///
/// # Errors
/// As [`open`]: every fault of every sheet at once, those around the survey among them.
pub fn open_with_around(folder: &Path) -> Result<(Register, Around), Faults> {
    let mut log = Log::default();
    let read = within(folder, &mut log, |log| gather(folder, Sheets::All, log));
    let ((register, around), warnings) = log.settle(read)?;
    Ok((Register { warnings, ..register }, around))
}

/// Which sheets are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sheets {
    /// What the findings are made from.
    OfTheSurvey,
    /// Those, and the walk-round and the verdicts.
    All,
}

/// Reads, where the folder is one.
fn within<T>(folder: &Path, log: &mut Log, read: impl FnOnce(&mut Log) -> Option<T>) -> Option<T> {
    if folder.is_dir() {
        return read(log);
    }
    let problem = if folder.exists() {
        "is not a folder"
    } else {
        "does not exist"
    };
    log.refuse(Fault::new(folder.display().to_string(), problem));
    None
}

/// Reads every sheet, whatever the others are like; None only where the log holds a fault.
fn gather(folder: &Path, sheets: Sheets, log: &mut Log) -> Option<(Register, Around)> {
    let survey = survey::read(folder, log);
    let assets = assets::read(folder, survey.as_ref(), log);
    let around = match sheets {
        Sheets::OfTheSurvey => Around::default(),
        Sheets::All => around::read(folder, assets.as_ref(), log),
    };
    let context = frames::Context {
        survey: survey.as_ref(),
        assets: assets.as_ref(),
    };
    let frames = frames::read(folder, context, log);
    let (survey, assets) = (survey?, assets?);
    let register = Register {
        survey: survey.head?,
        site: survey.site,
        uncertainty: survey.uncertainty,
        energy: survey.energy,
        cameras: survey.cameras,
        assets: assets.rows.into_iter().collect::<Option<Vec<Asset>>>()?,
        frames,
        warnings: Vec::new(),
    };
    Some((register, around))
}

/// A checked survey folder.
#[derive(Debug, Clone)]
pub struct Register {
    /// Title, plant, date and inspector.
    pub survey: SurveyHead,
    /// Barometer at the plant.
    pub site: Site,
    /// 95 % half-widths of what the sheets state.
    pub uncertainty: HalfWidths,
    /// Price of energy, where given.
    pub energy: Option<Energy>,
    /// Instruments by the name that `frames.csv` uses.
    pub cameras: BTreeMap<String, Camera>,
    /// The asset register, in the order of the sheet.
    pub assets: Vec<Asset>,
    /// One row an image and asset, in the order of the sheet.
    pub frames: Vec<FrameRow>,
    /// Doubts that do not stop the run (unknown columns, assumed barometer), each a whole sentence.
    pub warnings: Vec<String>,
}

impl Register {
    /// The instrument of a frame, where the sheets describe it.
    #[must_use]
    pub fn camera_of(&self, row: &FrameRow) -> Option<&Camera> {
        self.cameras.get(row.stored.camera.as_ref()?)
    }
}

/// `title`, `plant`, `date`, `inspector` of survey.toml.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SurveyHead {
    /// Title of the survey.
    pub title: String,
    /// Name of the plant.
    pub plant: String,
    /// ISO 8601 date, as written.
    pub date: String,
    /// Inspector's name, where given.
    pub inspector: Option<String>,
}

impl SurveyHead {
    /// Year of the survey.
    #[must_use]
    pub fn year(&self) -> Option<i32> {
        self.date.get(..4).and_then(|year| year.parse().ok())
    }
}

/// Where the plant stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    /// Local barometer in kPa absolute.
    pub barometer_kpa: Known<f64>,
}

/// `[energy]` of survey.toml.
#[derive(Debug, Clone, PartialEq)]
pub struct Energy {
    /// Price of one kilowatt-hour of electricity in `currency`.
    pub price_per_kwh: f64,
    /// Currency as written.
    pub currency: String,
    /// Coefficient of performance of the refrigeration plant (heat lifted per electrical work).
    pub cop: f64,
}

/// `[uncertainty]` of survey.toml: 95 % half-widths.
#[derive(Debug, Clone, PartialEq)]
pub struct HalfWidths {
    /// Air temperature in K.
    pub air_temperature_k: f64,
    /// Reflected apparent temperature in K.
    pub reflected_temperature_k: f64,
    /// Emissivity, absolute.
    pub emissivity: f64,
    /// Service temperature in K.
    pub service_temperature_k: f64,
    /// Wind in per cent of its value (at least 0.2 m/s).
    pub wind_pct: f64,
    /// Relative humidity in per cent points.
    pub relative_humidity_pct: f64,
    /// Insulation thickness in per cent of its value.
    pub insulation_thickness_pct: f64,
    /// Absolute accuracy of the camera in K, one offset for a whole frame.
    pub camera_accuracy_k: f64,
    /// Dry insulation's tabulated conductivity in per cent (none where the sheet states the value).
    pub conductivity_pct: f64,
}

impl Default for HalfWidths {
    fn default() -> Self {
        Self {
            air_temperature_k: 0.5,
            reflected_temperature_k: 1.0,
            emissivity: 0.02,
            service_temperature_k: 1.0,
            wind_pct: 25.0,
            relative_humidity_pct: 3.0,
            insulation_thickness_pct: 5.0,
            camera_accuracy_k: 2.0,
            conductivity_pct: 10.0,
        }
    }
}

/// `[cameras.NAME]` of survey.toml.
#[derive(Debug, Clone, PartialEq)]
pub struct Camera {
    /// Spectral band, low and high edge in µm.
    pub band_um: (f64, f64),
    /// Noise-equivalent temperature difference in K, where stated.
    pub noise_k: Option<f64>,
    /// Absolute accuracy (95 % half-width) in K, where stated.
    pub accuracy_k: Option<f64>,
    /// Signal law for raw counts, where stated.
    pub signal: Option<SignalLaw>,
    /// Field of view across the picture in degrees, where stated: for the plan, and for where the camera stood.
    pub field_of_view_deg: Option<f64>,
    /// Pixels across the picture, where stated.
    pub width_px: Option<u32>,
    /// Pixels up the picture, where stated.
    pub height_px: Option<u32>,
}

impl Camera {
    /// Focal length in pixels of a frame of so many columns and rows, where the field of view is stated:
    /// `f = (n/2) / tan(FOV/2)`, n the pixels along the side that the field of view is told of. A frame that is upright where
    /// the camera's own is not was taken with the camera turned.
    #[must_use]
    pub fn focal_px(&self, columns: usize, rows: usize) -> Option<f64> {
        let upright = self
            .height_px
            .zip(self.width_px)
            .is_some_and(|(height, width)| height > width);
        let across = if (rows > columns) == upright { columns } else { rows };
        let half_rad = self.field_of_view_deg?.to_radians() / 2.0;
        Some(across as f64 / 2.0 / half_rad.tan())
    }
}

/// Sakuma–Hattori coefficients of an instrument's raw counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SignalLaw {
    /// Coefficient A in µm.
    pub a_um: f64,
    /// Coefficient B in µm K.
    pub b_um_k: f64,
    /// Coefficient C in counts.
    pub c: f64,
}

/// A value and where it came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Known<T> {
    /// The value in force.
    pub value: T,
    /// Who said so.
    pub source: Source,
}

/// Where a value came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// Written in the row itself.
    Stated,
    /// Written under `[defaults]` of survey.toml.
    Defaulted,
    /// Written nowhere: assumed by the program, which the result must say.
    Assumed,
}
