//! The temperature scales of stored values.

use ndarray::Array2;

use super::{Error, Reading};
use crate::heat::ZERO_C_K;
use crate::radiation::sakuma_hattori::SakumaHattori;
use crate::read::{RawFrame, Stored};
use crate::register::{SignalLaw, TemperatureScale};

/// The stored values as temperatures in °C; NaN where there is no reading.
pub(super) fn apply(raw: &RawFrame, reading: &Reading) -> Result<Array2<f32>, Error> {
    let law = Law::new(reading.scale);
    let mut map = match raw.stored() {
        Stored::U8(counts) => looked_up(counts, reading, &law),
        Stored::U16(counts) => looked_up(counts, reading, &law),
        Stored::I16(counts) => counts.mapv(|c| converted(f64::from(c), reading, &law)),
        Stored::F32(values) => values.mapv(|v| converted(f64::from(v), reading, &law)),
        _ => {
            return Err(Error::ColourPicture {
                scale: reading.scale.key(),
            });
        }
    };
    if let Some(none) = raw.no_reading() {
        ndarray::Zip::from(&mut map).and(none).for_each(|t, &none| {
            if none {
                *t = f32::NAN;
            }
        });
    }
    Ok(map)
}

/// Counts through a table: each count that occurs is computed once.
fn looked_up<C: Copy + Ord + Into<usize>>(counts: &Array2<C>, reading: &Reading, law: &Law) -> Array2<f32> {
    let low = counts.iter().copied().min().map_or(0, C::into);
    let high = counts.iter().copied().max().map_or(0, C::into);
    let table: Vec<f32> = (low..=high)
        .map(|count| converted(count as f64, reading, law))
        .collect();
    counts.mapv(|count| table.get(count.into() - low).copied().unwrap_or(f32::NAN))
}

/// One stored value in °C; NaN for no reading.
fn converted(stored: f64, reading: &Reading, law: &Law) -> f32 {
    // The stated no-data value went through the same storage, hence the comparison as f32.
    if reading
        .no_data
        .is_some_and(|none| (none as f32 - stored as f32).abs() <= f32::EPSILON * none.abs() as f32)
    {
        return f32::NAN;
    }
    law.celsius(stored) as f32
}

/// A scale ready for use.
enum Law {
    /// T = gain · value + offset, in °C.
    Straight { gain_k: f64, offset_c: f64 },
    /// Raw counts.
    Signal(SakumaHattori),
    /// Coefficients that no signal law has.
    Impossible,
}

impl Law {
    fn new(scale: &TemperatureScale) -> Self {
        let straight = |gain_k, offset_c| Self::Straight { gain_k, offset_c };
        match *scale {
            TemperatureScale::Centikelvin => straight(0.01, -ZERO_C_K),
            TemperatureScale::Decikelvin => straight(0.1, -ZERO_C_K),
            TemperatureScale::Kelvin => straight(1.0, -ZERO_C_K),
            TemperatureScale::Celsius => straight(1.0, 0.0),
            TemperatureScale::Fahrenheit => straight(5.0 / 9.0, -160.0 / 9.0),
            TemperatureScale::Linear { gain_k, offset_c } => straight(gain_k, offset_c),
            TemperatureScale::Sensor(SignalLaw { a_um, b_um_k, c }) => {
                SakumaHattori::new(a_um, b_um_k, c).map_or(Self::Impossible, Self::Signal)
            }
            TemperatureScale::ColourBar { .. } => Self::Impossible,
        }
    }

    fn celsius(&self, stored: f64) -> f64 {
        match self {
            Self::Straight { gain_k, offset_c } => gain_k * stored + offset_c,
            Self::Signal(law) => law.temperature_c(stored).unwrap_or(f64::NAN),
            Self::Impossible => f64::NAN,
        }
    }
}

/// The scales with which the median of the frame would be a temperature that a plant has (−60..+80 °C).
pub(super) fn that_would_fit(raw: &RawFrame, reading: &Reading) -> Vec<&'static str> {
    const TRIED: [TemperatureScale; 5] = [
        TemperatureScale::Centikelvin,
        TemperatureScale::Celsius,
        TemperatureScale::Kelvin,
        TemperatureScale::Decikelvin,
        TemperatureScale::Fahrenheit,
    ];
    TRIED
        .iter()
        .filter(|scale| scale.key() != reading.scale.key())
        .filter(|scale| {
            let Ok(map) = apply(raw, &Reading { scale, ..*reading }) else {
                return false;
            };
            let mut sample: Vec<f64> = map
                .iter()
                .step_by(7)
                .filter(|t| t.is_finite())
                .map(|&t| f64::from(t))
                .collect();
            crate::statistic::median(&mut sample).is_some_and(|m| (-60.0..=80.0).contains(&m))
        })
        .map(TemperatureScale::key)
        .collect()
}
