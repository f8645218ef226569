//! A frame as its row states it, in SI units.

use std::sync::Arc;

use super::SignalLaw;

/// One row of frames.csv. What it has in common with many others stands in memory once for all of them.
#[derive(Debug, Clone, PartialEq)]
pub struct FrameRow {
    /// Path from the survey folder, with forward slashes, as written.
    pub file: String,
    /// Index into [`super::Register::assets`].
    pub asset: usize,
    /// What its stored values mean.
    pub stored: Arc<Stored>,
    /// Conditions when the frame was taken.
    pub conditions: Arc<Conditions>,
    /// How the asset lies in the picture.
    pub view: Arc<ViewHint>,
    /// ISO 8601 time of capture, as written.
    pub captured_at: Option<String>,
    /// A visible-light photograph of the same view.
    pub visible_file: Option<String>,
    /// Free words.
    pub note: Option<String>,
    /// Row of the sheet, counted as a spreadsheet counts (heading = 1).
    pub row: usize,
}

/// What the values of a file mean.
#[derive(Debug, Clone, PartialEq)]
pub struct Stored {
    /// How stored values become temperatures.
    pub scale: TemperatureScale,
    /// A stored value that means no reading.
    pub no_data: Option<f64>,
    /// Whether the file's temperatures are apparent or already corrected.
    pub correction: Correction,
    /// Key into [`super::Register::cameras`].
    pub camera: Option<String>,
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
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
