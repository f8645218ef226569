//! The sheets of a survey folder, read whole and checked before any image is touched.
//!
//! What comes in: `survey.toml`, `assets.csv` (or `.xlsx`), `frames.csv` (or `.xlsx`).
//! What is guaranteed out: a [`Register`] in SI units (metres, °C for temperatures, kelvin for differences) in which every
//! frame names a known asset, every word is one of its enum, every number is physically possible, and every value that the
//! inspector did not state says so ([`Known::source`]).
//! What is not handled here: whether an image exists or can be read; that is the room `read`.

use std::collections::BTreeMap;
use std::path::Path;

use crate::heat::insulation::Insulation;
use crate::heat::jacket::Jacket;

pub mod around;
mod assets;
pub mod before;
pub(crate) mod cell;
pub mod columns;
pub(crate) mod faults;
mod frames;
pub(crate) mod nearest;
pub(crate) mod row;
pub(crate) mod section;
pub(crate) mod sheet;
mod survey;
pub(crate) mod units;
pub(crate) mod words;

use around::Around;
use faults::Log;
pub use faults::{Fault, Faults};

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
    /// Field of view across the picture in degrees, where stated; only the plan asks for it.
    pub field_of_view_deg: Option<f64>,
    /// Pixels across the picture, where stated; only the plan asks for it.
    pub width_px: Option<u32>,
    /// Pixels up the picture, where stated; only the plan asks for it.
    pub height_px: Option<u32>,
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

/// One row of the asset register.
#[derive(Debug, Clone, PartialEq)]
pub struct Asset {
    /// Unique tag.
    pub tag: String,
    /// Shape and size over the jacket.
    pub shape: Shape,
    /// Insulation material.
    pub insulation: Insulation,
    /// Insulation thickness in m.
    pub insulation_thickness_m: f64,
    /// Dry conductivity stated by the sheet in W/(m K).
    pub stated_conductivity_w_mk: Option<f64>,
    /// Jacket material.
    pub jacket: Jacket,
    /// Emissivity at normal incidence: stated, or the jacket's own.
    pub emissivity: Known<f64>,
    /// What is inside.
    pub service: Service,
    /// Coldest metal temperature over the year's cycle in °C.
    pub coldest_metal_c: f64,
    /// Warmest metal temperature over the year's cycle in °C.
    pub warmest_metal_c: f64,
    /// Indoors or outdoors.
    pub setting: Setting,
    /// Year in which the insulation was put on.
    pub insulated_year: Option<i32>,
    /// Material of the shell.
    pub shell_material: Option<ShellMaterial>,
    /// State of the coating under the insulation.
    pub coating: Option<Coating>,
    /// Whether the metal cycles through freezing in service.
    pub cycling: Option<Cycling>,
    /// Consequence of a leak here, 1 (least) to 5 (most).
    pub consequence: Option<u8>,
    /// Part of the plant where it stands, by which the walk is ordered.
    pub area: Option<String>,
    /// Its tag in earlier surveys, where it was another.
    pub former_tag: Option<String>,
    /// ISO 8601 date since which the datum is the other end, where it was swapped: places of surveys before count from the
    /// other end.
    pub datum_swapped_on: Option<String>,
    /// Row of the sheet, counted as a spreadsheet counts (heading = 1).
    pub row: usize,
}

/// Shape and size of an asset, over the jacket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// Axis level.
    HorizontalCylinder {
        /// Outside diameter over the jacket in m.
        diameter_m: f64,
        /// Tangent line to tangent line in m.
        length_m: f64,
    },
    /// Axis upright.
    VerticalCylinder {
        /// Outside diameter over the jacket in m.
        diameter_m: f64,
        /// Tangent line to tangent line in m.
        length_m: f64,
    },
    /// A plane wall.
    Flat {
        /// Width along the wall in m.
        width_m: f64,
        /// Height in m.
        height_m: f64,
    },
}

/// What the asset holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Service {
    /// Fluid temperature stated, in °C.
    Stated {
        /// Fluid temperature in °C.
        temperature_c: f64,
    },
    /// Saturated ammonia at a stated suction pressure.
    SaturatedAmmonia {
        /// Absolute pressure in kPa.
        absolute_kpa: f64,
        /// Saturation temperature in °C.
        temperature_c: f64,
    },
}

impl Service {
    /// Fluid temperature in °C.
    #[must_use]
    pub fn temperature_c(&self) -> f64 {
        match *self {
            Self::Stated { temperature_c } | Self::SaturatedAmmonia { temperature_c, .. } => temperature_c,
        }
    }
}

/// Indoors or outdoors.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Setting {
    /// Under a roof, between walls.
    Indoor,
    /// Under the sky.
    Outdoor,
}

/// Material of the shell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShellMaterial {
    /// Carbon or low-alloy steel.
    CarbonSteel,
    /// Austenitic stainless steel.
    StainlessSteel,
}

/// State of the coating under the insulation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Coating {
    /// Bare steel.
    None,
    /// Nobody knows.
    Unknown,
    /// Sound when last seen.
    Sound,
    /// Failed when last seen.
    Failed,
}

/// Whether the metal cycles in service (defrost, pump-out).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cycling {
    /// It does.
    Cycles,
    /// It holds steady.
    Steady,
}

/// One row of frames.csv.
#[derive(Debug, Clone, PartialEq)]
pub struct FrameRow {
    /// Path from the survey folder, with forward slashes, as written.
    pub file: String,
    /// Index into [`Register::assets`].
    pub asset: usize,
    /// How stored values become temperatures.
    pub scale: TemperatureScale,
    /// A stored value that means no reading.
    pub no_data: Option<f64>,
    /// Whether the file's temperatures are apparent or already corrected.
    pub correction: Correction,
    /// Conditions when the frame was taken.
    pub conditions: Conditions,
    /// How the asset lies in the picture.
    pub view: ViewHint,
    /// Key into [`Register::cameras`].
    pub camera: Option<String>,
    /// ISO 8601 time of capture, as written.
    pub captured_at: Option<String>,
    /// A visible-light photograph of the same view.
    pub visible_file: Option<String>,
    /// Free words.
    pub note: Option<String>,
    /// Row of the sheet, counted as a spreadsheet counts (heading = 1).
    pub row: usize,
}

/// How stored values become temperatures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TemperatureScale {
    /// 0.01 K a count.
    Centikelvin,
    /// 0.1 K a unit.
    Decikelvin,
    /// °C.
    Celsius,
    /// K.
    Kelvin,
    /// °F.
    Fahrenheit,
    /// T = gain · count + offset.
    Linear {
        /// Gain in K a count.
        gain_k: f64,
        /// Offset in °C.
        offset_c: f64,
    },
    /// Raw counts through the camera's signal law.
    Sensor(SignalLaw),
    /// A picture with its own colour bar.
    ColourBar {
        /// Temperatures at the bar's low and high end in °C; None where the sheet does not state both.
        ends_c: Option<[f64; 2]>,
        /// Where the bar is, `x y w h` in pixels.
        box_px: Option<[u32; 4]>,
    },
}

impl TemperatureScale {
    /// The word the sheet uses.
    #[must_use]
    pub fn key(&self) -> &'static str {
        match self {
            Self::Centikelvin => "centikelvin",
            Self::Decikelvin => "decikelvin",
            Self::Celsius => "celsius",
            Self::Kelvin => "kelvin",
            Self::Fahrenheit => "fahrenheit",
            Self::Linear { .. } => "linear",
            Self::Sensor(_) => "sensor",
            Self::ColourBar { .. } => "colour-bar",
        }
    }
}

/// Whether the file's temperatures are apparent or already corrected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Correction {
    /// Apparent temperatures (emissivity 1).
    Apparent,
    /// Surface temperatures, with how they were made where known.
    Corrected {
        /// Emissivity used (None: not stated; the values are taken as they are).
        emissivity: Option<f64>,
        /// Reflected apparent temperature used, in °C.
        reflected_c: Option<f64>,
    },
}

/// Conditions when a frame was taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Conditions {
    /// Air temperature in °C.
    pub air_c: f64,
    /// Relative humidity in per cent (relative to liquid water); None where nobody measured it.
    pub relative_humidity_pct: Option<f64>,
    /// Wind at the asset in m/s; None where nobody measured it.
    pub wind_m_s: Option<f64>,
    /// Reflected apparent temperature in °C; None where nobody measured it.
    pub reflected_c: Option<f64>,
    /// Distance in m; None where nobody measured it.
    pub distance_m: Option<f64>,
    /// Transmittance of the air path, 0..1; None where nobody stated it.
    pub transmittance: Option<f64>,
    /// Sun on the jacket; None where nobody said.
    pub sun: Option<Sun>,
}

/// Sun on the jacket.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sun {
    /// Night, or indoors.
    None,
    /// Overcast day.
    Overcast,
    /// Direct sun.
    Direct,
}

impl Sun {
    /// The word the sheet uses.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::Overcast => "overcast",
            Self::Direct => "direct",
        }
    }
}

impl Setting {
    /// The word the sheet uses.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Indoor => "indoor",
            Self::Outdoor => "outdoor",
        }
    }
}

/// How the asset lies in the picture.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ViewHint {
    /// Clock position that faces the camera, seen from the datum end (0 ≤ hours < 12).
    pub facing_clock: Option<f64>,
    /// Compass bearing of the face seen in degrees.
    pub facing_bearing_deg: Option<f64>,
    /// Where the datum end lies in the image; None: the shape's usual side.
    pub datum_side: Option<Side>,
    /// Distance from the datum tangent line to the image's datum-side edge in m.
    pub view_start_m: Option<f64>,
    /// The asset's outline by hand, pixels.
    pub outline_px: Option<Vec<[f64; 2]>>,
}

/// A side of the image.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Left.
    Left,
    /// Right.
    Right,
    /// Bottom.
    Bottom,
    /// Top.
    Top,
}
