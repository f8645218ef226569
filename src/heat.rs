//! Heat physics of an insulated cold surface: pure functions, no input or output.
//!
//! Temperatures are in °C, everything else in SI unless a name's suffix says otherwise.

use std::ops::RangeInclusive;

pub mod air;
pub mod ammonia;
pub mod balance;
pub mod corrosion;
pub mod film;
pub mod insulation;
pub mod jacket;
pub mod moisture;
pub mod nusselt;
pub mod section;
pub mod wall;

/// 0 °C in kelvin.
pub const ZERO_C_K: f64 = 273.15;

/// Stefan–Boltzmann constant, W/(m² K⁴), CODATA 2018 (exact since the 2019 SI).
pub const STEFAN_BOLTZMANN_W_M2K4: f64 = 5.670_374_419_184_431e-8;

/// Standard atmosphere at sea level, kPa.
pub const STANDARD_BAROMETER_KPA: f64 = 101.325;

/// Why a heat calculation refused its input.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum HeatError {
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
    /// The insulation is thicker than the radius over the jacket.
    #[error(
        "insulation thickness {thickness_m} m in an outside diameter of {diameter_m} m (accepted: less than half the diameter)\nhint: state the diameter over the jacket, not over the bare metal"
    )]
    ThickerThanRadius {
        /// Insulation thickness, m.
        thickness_m: f64,
        /// Diameter over the jacket, m.
        diameter_m: f64,
    },
    /// Jacket and service stand so close that no conductivity can be inferred.
    #[error(
        "surface {surface_c} °C and service {service_c} °C (accepted: at least 0.1 K apart)\nhint: survey when the service differs from the air"
    )]
    NoDifference {
        /// Jacket temperature, °C.
        surface_c: f64,
        /// Fluid temperature inside, °C.
        service_c: f64,
    },
}

/// A quantity's name and unit, for error messages.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Quantity {
    pub(crate) what: &'static str,
    pub(crate) unit: &'static str,
}

impl Quantity {
    /// The value itself if it lies in `range`, else [`HeatError::OutOfRange`]. NaN lies in no range.
    pub(crate) fn within(self, value: f64, range: RangeInclusive<f64>) -> Result<f64, HeatError> {
        if range.contains(&value) {
            return Ok(value);
        }
        let Quantity { what, unit } = self;
        Err(HeatError::OutOfRange {
            what,
            value,
            unit,
            low: *range.start(),
            high: *range.end(),
        })
    }
}
