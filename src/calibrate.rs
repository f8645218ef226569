//! From stored values to temperatures: the scale, the readings that are none, the noise, and the way from an apparent
//! temperature to the surface's.
//!
//! What comes in: a [`RawFrame`] and what the sheets say of it. What is guaranteed out: a [`SurfaceMap`] of apparent
//! temperatures in °C with NaN exactly where there is no reading, within −100..+200 °C over most of the frame. Pictures with
//! a colour bar come to the same type by another way, [`colour_bar`].

pub mod colour_bar;
mod correct;
pub mod dead;
pub mod grain;
pub mod scale;

use colour_bar::{Bar, End, Stated};
pub use correct::{AngleRow, Correct, CorrectionTable};
use ndarray::Array2;

use crate::radiation::measurement::Scene;
use crate::radiation::planck::BandRadiance;
use crate::read::{RawFrame, Stored};
use crate::register::{Correction, TemperatureScale};
use crate::statistic;

/// A frame as apparent temperatures.
#[derive(Debug, Clone)]
pub struct SurfaceMap {
    /// Apparent temperature in °C, rows × columns; NaN = no reading.
    pub apparent_c: Array2<f32>,
    /// Noise of one reading in K, measured in the frame itself.
    pub noise_k: f64,
    /// Dead pixels found and marked as no reading.
    pub dead_pixels: usize,
    /// Readings at the very lowest or highest value, whichever are more: many where a frame ran out of range.
    pub at_an_end: usize,
    /// Readings (not NaN).
    pub readings: usize,
    /// Pixels a side that one reading fills: more than 1 where a screen's picture was enlarged.
    pub grain_px: usize,
    /// What the bar allowed, where the temperatures were read through a colour bar.
    pub from_bar: Option<FromBar>,
}

impl SurfaceMap {
    /// Share of the readings that stand at the lowest or the highest value, 0..1.
    #[must_use]
    pub fn clipped_share(&self) -> f64 {
        self.at_an_end as f64 / self.readings.max(1) as f64
    }
}

/// What is known of temperatures that were read through a picture's colour bar.
#[derive(Debug, Clone)]
pub struct FromBar {
    /// The bar.
    pub bar: Bar,
    /// Readings that stand at an end of the bar: bounds, not values. Shaped as the map.
    pub ended: Array2<Option<End>>,
    /// Standard uncertainty of a reading from the bar's steps, 8-bit colours and compression, in K.
    pub reading_u_k: f64,
    /// Share of the readings at the low and at the high end.
    pub ended_shares: [f64; 2],
    /// Share of the picture whose colours stand for two temperatures, and which are no reading.
    pub ambiguous_share: f64,
}

/// What the sheets say of a frame's values.
#[derive(Debug, Clone, Copy)]
pub struct Reading<'a> {
    /// How stored values become temperatures.
    pub scale: &'a TemperatureScale,
    /// A stored value that means no reading.
    pub no_data: Option<f64>,
    /// Whether the values are apparent or already corrected.
    pub correction: &'a Correction,
    /// The camera's band.
    pub band: &'a BandRadiance,
}

/// Why a frame gave no temperatures.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Error {
    /// A colour picture where a radiometric scale was stated, or the reverse.
    #[error(
        "the file is a colour picture, the sheet says {scale} (accepted: a file of counts or temperatures); hint: export the radiometric file, or state temperature_scale = colour-bar"
    )]
    ColourPicture {
        /// The scale stated.
        scale: &'static str,
    },
    /// A picture with a colour bar that could not be read.
    #[error(transparent)]
    ColourBar(#[from] colour_bar::Error),
    /// A colour bar without its limits.
    #[error(
        "the colour bar's limits are not stated, and numerals in the picture are not read (accepted: both bar_low_c and bar_high_c); hint: read them off the picture and state bar_low_c and bar_high_c"
    )]
    NoLimits,
    /// The colour-bar scale for a file that holds no picture.
    #[error(
        "the sheet says colour-bar, the file holds {found} and no colours (accepted: a picture, 8 bits a colour); hint: state the scale of its values, such as centikelvin or celsius"
    )]
    NotAPicture {
        /// What it holds.
        found: &'static str,
    },
    /// Limits that put most of the picture where no plant is.
    #[error(
        "with the limits stated most of the picture lies at {median_c:.0} °C (accepted: −100 to +200 °C); hint: check bar_low_c and bar_high_c, or their °F twins"
    )]
    ImpossibleLimits {
        /// Median temperature with them in °C.
        median_c: f64,
    },
    /// The scale puts most of the frame outside what can be.
    #[error("with {scale} most of the frame lies at {median_c:.0} °C (accepted: −100 to +200 °C); hint: {hint}")]
    ImpossibleScale {
        /// The scale stated.
        scale: &'static str,
        /// Median temperature with it in °C.
        median_c: f64,
        /// The scales that would fit.
        hint: String,
    },
    /// No readings at all.
    #[error("the frame holds no readings (all are NaN or the stated no_data); hint: check no_data")]
    NoReadings,
    /// One constant value.
    #[error("every reading is the same value, {value_c:.2} °C; hint: export the frame again")]
    Constant {
        /// The value in °C.
        value_c: f64,
    },
    /// Too few pixels to judge anything.
    #[error("the frame is {columns} × {rows} px (accepted: at least {least} px a side); hint: export it at full size")]
    TooFewPixels {
        /// Columns.
        columns: usize,
        /// Rows.
        rows: usize,
        /// Least side.
        least: usize,
    },
    /// The undo of the file's own correction has no answer.
    #[error(
        "file_emissivity {emissivity} with file_reflected_temperature_c {reflected_c} cannot be undone; hint: check both"
    )]
    CannotUndo {
        /// Emissivity in the file.
        emissivity: f64,
        /// Reflected temperature in the file in °C.
        reflected_c: f64,
    },
}

/// Least side of a frame in px.
const LEAST_SIDE_PX: usize = 24;

/// Turns stored values into apparent temperatures.
///
/// # Errors
/// [`Error`], one clear sentence each.
pub fn calibrate(raw: &RawFrame, reading: &Reading) -> Result<SurfaceMap, Error> {
    let (rows, columns) = (raw.rows(), raw.columns());
    if rows.min(columns) < LEAST_SIDE_PX {
        return Err(Error::TooFewPixels {
            columns,
            rows,
            least: LEAST_SIDE_PX,
        });
    }
    let (mut apparent_c, from_bar) = match *reading.scale {
        TemperatureScale::ColourBar { ends_c, box_px } => {
            let [low_c, high_c] = ends_c.ok_or(Error::NoLimits)?;
            let stated = Stated { low_c, high_c, box_px };
            let (apparent_c, from_bar) = through_bar(raw, &stated)?;
            (apparent_c, Some(from_bar))
        }
        _ => (scale::apply(raw, reading)?, None),
    };
    undo(&mut apparent_c, reading)?;
    check_range(raw, &apparent_c, reading)?;
    check_spread(&apparent_c)?;
    let Character { noise_k, grain_px } = Character::of(&apparent_c, from_bar.as_ref());
    let dead_pixels = dead::mark(&mut apparent_c, noise_k);
    let finite = apparent_c.iter().map(|t| u32::from(t.is_finite()));
    let readings = finite.sum::<u32>() as usize;
    // What stands at the ends of a bar is told by the bar itself.
    let at_an_end = if from_bar.is_some() { 0 } else { at_an_end(&apparent_c) };
    Ok(SurfaceMap {
        apparent_c,
        noise_k,
        dead_pixels,
        at_an_end,
        readings,
        grain_px,
        from_bar,
    })
}

/// What a map's values are like.
struct Character {
    noise_k: f64,
    grain_px: usize,
}

impl Character {
    fn of(map: &Array2<f32>, from_bar: Option<&FromBar>) -> Self {
        let Some(from_bar) = from_bar else {
            return Self {
                noise_k: noise_k(map),
                grain_px: 1,
            };
        };
        let grain_px = grain::of(map, from_bar.bar.step_k);
        let measured_k = if grain_px > 1 {
            noise_k(&grain::blocks(map, grain_px, grain::half_of(grain_px)))
        } else {
            noise_k(map)
        };
        Self {
            // Steps and compression may leave the picture smoother than it is sure.
            noise_k: measured_k.max(from_bar.reading_u_k),
            grain_px,
        }
    }
}

/// Temperatures of a picture through its own colour bar.
fn through_bar(raw: &RawFrame, stated: &Stated) -> Result<(Array2<f32>, FromBar), Error> {
    let coloured;
    let picture = match raw.stored() {
        Stored::Rgb(picture) => picture,
        // A grey picture is one whose colours are alike.
        Stored::U8(levels) => {
            coloured = levels.mapv(|level| [level; 3]);
            &coloured
        }
        Stored::U16(_) | Stored::I16(_) => return Err(Error::NotAPicture { found: "counts" }),
        Stored::F32(_) => return Err(Error::NotAPicture { found: "numbers" }),
    };
    let mut screen = colour_bar::read((picture, raw.packing()), stated)?;
    if let Some(none) = raw.no_reading() {
        for ((t, ended), _) in screen
            .celsius
            .iter_mut()
            .zip(&mut screen.ended)
            .zip(none)
            .filter(|(_, none)| **none)
        {
            (*t, *ended) = (f32::NAN, None);
        }
    }
    let readings = screen.celsius.iter().filter(|t| t.is_finite()).count().max(1);
    let share = |end| screen.ended.iter().filter(|e| **e == Some(end)).count() as f64 / readings as f64;
    let from_bar = FromBar {
        ended_shares: [share(End::Low), share(End::High)],
        bar: screen.bar,
        ended: screen.ended,
        reading_u_k: screen.reading_u_k,
        ambiguous_share: screen.ambiguous_share,
    };
    Ok((screen.celsius, from_bar))
}

/// Turns values that the file's maker corrected back into apparent ones: the measurement equation forwards, τ = 1.
fn undo(map: &mut Array2<f32>, reading: &Reading) -> Result<(), Error> {
    let Correction::Corrected {
        emissivity: Some(emissivity),
        reflected_c: Some(reflected_c),
    } = *reading.correction
    else {
        return Ok(());
    };
    let scene = Scene {
        emissivity,
        reflected_c,
        transmittance: 1.0,
        path_air_c: reflected_c,
    };
    let equation = crate::radiation::measurement::MeasurementEquation::new(reading.band, scene).map_err(|_| {
        Error::CannotUndo {
            emissivity,
            reflected_c,
        }
    })?;
    map.mapv_inplace(|t| {
        if t.is_finite() {
            equation
                .apparent_temperature_c(f64::from(t))
                .map_or(f32::NAN, |a| a as f32)
        } else {
            t
        }
    });
    Ok(())
}

fn check_range(raw: &RawFrame, map: &Array2<f32>, reading: &Reading) -> Result<(), Error> {
    let mut sample: Vec<f64> = map
        .iter()
        .step_by(11)
        .filter(|t| t.is_finite())
        .map(|&t| f64::from(t))
        .collect();
    if sample.is_empty() {
        sample = map.iter().filter(|t| t.is_finite()).map(|&t| f64::from(t)).collect();
    }
    if sample.is_empty() {
        return Err(Error::NoReadings);
    }
    let outside = sample.iter().filter(|t| !(-100.0..=200.0).contains(*t)).count();
    if 2 * outside <= sample.len() {
        return Ok(());
    }
    let median_c = statistic::median(&mut sample).ok_or(Error::NoReadings)?;
    if matches!(reading.scale, TemperatureScale::ColourBar { .. }) {
        return Err(Error::ImpossibleLimits { median_c });
    }
    let likely = scale::that_would_fit(raw, reading);
    let hint = if likely.is_empty() {
        "state temperature_scale = linear with scale_gain_k and scale_offset_c".to_owned()
    } else {
        format!("temperature_scale = {} would fit", likely.join(" or "))
    };
    Err(Error::ImpossibleScale {
        scale: reading.scale.key(),
        median_c,
        hint,
    })
}

fn check_spread(map: &Array2<f32>) -> Result<(), Error> {
    let mut finite = map.iter().copied().filter(|t| t.is_finite());
    let first = finite.next().ok_or(Error::NoReadings)?;
    if finite.all(|t| (t - first).abs() < 1e-6) {
        return Err(Error::Constant {
            value_c: f64::from(first),
        });
    }
    Ok(())
}

/// Noise of one reading in K: the robust spread of `t[x] − (t[x−1] + t[x+1])/2` over the frame, which has variance 1.5 σ².
fn noise_k(map: &Array2<f32>) -> f64 {
    const SAMPLES: usize = 9000;
    let stride = (map.len() / SAMPLES).max(1);
    let Some(values) = map.as_slice() else { return 0.0 };
    let mut differences: Vec<f32> = (1..values.len().saturating_sub(1))
        .step_by(stride | 1)
        .filter_map(|i| {
            let d = values[i] - 0.5 * (values[i - 1] + values[i + 1]);
            d.is_finite().then_some(d.abs())
        })
        .collect();
    statistic::median_of_readings(&mut differences).map_or(0.0, |m| statistic::MAD_TO_SD * m / 1.5f64.sqrt())
}

/// Readings at the lowest or at the highest value, whichever are more.
fn at_an_end(map: &Array2<f32>) -> usize {
    let Some(values) = map.as_slice() else { return 0 };
    let (low, high) = extremes(values);
    let (mut at_low, mut at_high) = (0_u32, 0_u32);
    for t in values {
        at_low += u32::from((t - low).abs() < 1e-6);
        at_high += u32::from((t - high).abs() < 1e-6);
    }
    at_low.max(at_high) as usize
}

/// Lowest and highest of the finite values; +∞ and −∞ if there are none.
#[must_use]
pub fn extremes(values: &[f32]) -> (f32, f32) {
    // Kept side by side, so that processors compare them at once; a comparison with NaN is never true.
    const LANES: usize = 8;
    let (mut low, mut high) = ([f32::INFINITY; LANES], [f32::NEG_INFINITY; LANES]);
    let (chunks, rest) = values.as_chunks::<LANES>();
    let mut last = [f32::NAN; LANES];
    last.iter_mut().zip(rest).for_each(|(last, t)| *last = *t);
    for chunk in chunks.iter().chain([&last]) {
        for ((low, high), &t) in low.iter_mut().zip(&mut high).zip(chunk) {
            let finite = t.abs() < f32::INFINITY;
            *low = if finite & (t < *low) { t } else { *low };
            *high = if finite & (t > *high) { t } else { *high };
        }
    }
    let lowest = low.into_iter().fold(f32::INFINITY, f32::min);
    (lowest, high.into_iter().fold(f32::NEG_INFINITY, f32::max))
}
