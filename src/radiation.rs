//! Thermal radiation: band radiance, the measurement equation, raw signals, emissivity against angle.
//!
//! Pure functions and tables; nothing here reads a file or knows of assets.

use std::ops::RangeInclusive;

pub mod fresnel;
pub mod measurement;
pub mod planck;
pub mod sakuma_hattori;

/// 0 °C in kelvin.
pub(crate) const ZERO_C_K: f64 = 273.15;

/// Why a radiation calculation refused its input.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum RadiationError {
    /// A quantity lies outside the range its formula holds for (NaN included).
    #[error("{what} {value} {unit} (accepted: {low} to {high} {unit})\nhint: check the value and its unit")]
    OutOfRange {
        /// The quantity's name.
        what: &'static str,
        /// The value found.
        value: f64,
        /// The unit of value and limits.
        unit: &'static str,
        /// Least accepted value.
        low: f64,
        /// Greatest accepted value.
        high: f64,
    },
    /// The reflection and the air account for all that was measured.
    #[error(
        "object radiance {radiance_w_m2sr} W/(m² sr) (accepted: above 0)\nhint: check emissivity and reflected temperature, or tape or paint a spot on the jacket"
    )]
    NothingLeft {
        /// What is left for the surface itself, W/(m² sr).
        radiance_w_m2sr: f64,
    },
    /// Errors are magnified so far that a temperature would be no measurement.
    #[error(
        "emissivity times transmittance {product} (accepted: 0.5 or more)\nhint: tape or paint a spot of high emissivity on the jacket"
    )]
    TooBright {
        /// Emissivity times transmittance.
        product: f64,
    },
}

/// A quantity's name and unit, for error messages.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Quantity {
    pub(crate) what: &'static str,
    pub(crate) unit: &'static str,
}

impl Quantity {
    /// The value itself if it lies in `range`, else [`RadiationError::OutOfRange`]. NaN lies in no range.
    pub(crate) fn within(self, value: f64, range: RangeInclusive<f64>) -> Result<f64, RadiationError> {
        if range.contains(&value) {
            return Ok(value);
        }
        let Quantity { what, unit } = self;
        Err(RadiationError::OutOfRange {
            what,
            value,
            unit,
            low: *range.start(),
            high: *range.end(),
        })
    }
}
