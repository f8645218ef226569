//! The pressure wall under the insulation: the thickness it needs, how fast it thins, how long it lasts.
//!
//! Formulas are in the forms of ASME VIII-1 and API 510, as a pressure-vessel handbook's table and a worked calculation
//! sheet show them: the standards themselves were not seen. Local code and the responsible engineer decide.

use super::{HeatError, Quantity};

/// What of a vessel a reading lies on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Part {
    /// Cylindrical shell, or pipe.
    Shell,
    /// 2:1 ellipsoidal head.
    EllipsoidalHead,
    /// Hemispherical head, or sphere.
    HemisphericalHead,
    /// Torispherical head with a knuckle of 6 % of its crown radius.
    TorisphericalHead,
}

/// What the required thickness is derived from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Design {
    /// Design pressure P above the atmosphere, kPa.
    pub pressure_kpa: f64,
    /// Allowable stress S at design temperature, MPa.
    pub stress_mpa: f64,
    /// Joint efficiency E, 0.35 to 1.
    pub joint_efficiency: f64,
    /// Inside diameter D, m.
    pub inside_diameter_m: f64,
    /// Inside crown radius L of a torispherical head, m; None: the inside diameter.
    pub crown_radius_m: Option<f64>,
}

const PRESSURE: Quantity = Quantity {
    what: "design pressure over stress × joint efficiency",
    unit: "",
};

/// Longest interval between readings, years (form of API 510, 10th ed., 6.5.1.1).
pub const LONGEST_INTERVAL_Y: f64 = 10.0;
/// Longest interval between external inspections, years (form of API 510, 10th ed., 6.4.1).
pub const LONGEST_EXTERNAL_Y: f64 = 5.0;

/// Required thickness in m, corrosion allowance left out.
///
/// Form of ASME VIII-1 UG-27(c)(1), UG-32(d), UG-32(e) and UG-32(f), as a handbook's table quotes them:
/// shell `t = P R/(S E − 0.6 P)`; 2:1 ellipsoidal `P D/(2 S E − 0.2 P)`; hemispherical `P R/(2 S E − 0.2 P)`;
/// torispherical `0.885 P L/(S E − 0.1 P)`. Valid for P ≤ 0.385 S E (shell; read there) and 0.665 S E (hemisphere; from
/// memory, not confirmed); the shell's limit is kept for the other heads.
///
/// # Errors
/// Pressure that is negative, or beyond those limits: the wall is then thick, and other formulas hold.
pub fn required_m(part: Part, design: &Design) -> Result<f64, HeatError> {
    let p_mpa = design.pressure_kpa / 1000.0;
    let se_mpa = design.stress_mpa * design.joint_efficiency;
    let most = if part == Part::HemisphericalHead { 0.665 } else { 0.385 };
    PRESSURE.within(p_mpa / se_mpa, 0.0..=most)?;
    let (d_m, r_m) = (design.inside_diameter_m, design.inside_diameter_m / 2.0);
    let crown_m = design.crown_radius_m.unwrap_or(d_m);
    Ok(match part {
        Part::Shell => p_mpa * r_m / (se_mpa - 0.6 * p_mpa),
        Part::EllipsoidalHead => p_mpa * d_m / (2.0 * se_mpa - 0.2 * p_mpa),
        Part::HemisphericalHead => p_mpa * r_m / (2.0 * se_mpa - 0.2 * p_mpa),
        Part::TorisphericalHead => 0.885 * p_mpa * crown_m / (se_mpa - 0.1 * p_mpa),
    })
}

/// Rate of loss in m a year: `(t_then − t_now)/years`; negative where the later reading is the thicker. None without time
/// between the readings.
///
/// Form of API 510, 10th ed., 7.1.1: the long-term rate from the first reading, the short-term one from the one before.
#[must_use]
pub fn rate_m_per_year(then_m: f64, now_m: f64, years: f64) -> Option<f64> {
    (years > 0.0).then(|| (then_m - now_m) / years)
}

/// Remaining life in years: `(t_actual − t_required)/rate`, 0 where nothing is left. None at a rate of 0 or less, which
/// sets no end.
///
/// Form of API 510, 10th ed., 7.2.1.
#[must_use]
pub fn remaining_life_y(actual_m: f64, required_m: f64, rate_m_per_year: f64) -> Option<f64> {
    let left_m = actual_m - required_m;
    if left_m <= 0.0 {
        return Some(0.0);
    }
    (rate_m_per_year > 0.0).then(|| left_m / rate_m_per_year)
}

/// Years to the next reading: half the remaining life, at most [`LONGEST_INTERVAL_Y`].
#[must_use]
pub fn interval_y(remaining_life_y: Option<f64>) -> f64 {
    remaining_life_y.map_or(LONGEST_INTERVAL_Y, |life| (life / 2.0).min(LONGEST_INTERVAL_Y))
}
