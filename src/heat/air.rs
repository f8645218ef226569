//! Humid air: vapour pressure, dew and frost point, transport properties, barometer.

use super::{HeatError, Quantity, STANDARD_BAROMETER_KPA, ZERO_C_K};

/// Triple point of water, °C. The branches over ice and over liquid meet here, not at 0 °C:
/// switching at 0 °C leaves a step that Newton's inversion can fall into.
pub const TRIPLE_POINT_C: f64 = 0.01;

/// Gas constant of dry air, J/(kg K).
pub const GAS_CONSTANT_AIR_J_KGK: f64 = 287.05;

/// Gas constant of water vapour, J/(kg K).
pub const GAS_CONSTANT_VAPOUR_J_KGK: f64 = 461.5;

/// Isobaric heat capacity of air, J/(kg K); within 0.1 % from −60 to +60 °C.
pub const HEAT_CAPACITY_AIR_J_KGK: f64 = 1006.0;

const AIR_TEMPERATURE: Quantity = Quantity {
    what: "air temperature",
    unit: "°C",
};
const HUMIDITY: Quantity = Quantity {
    what: "relative humidity",
    unit: "%",
};
const VAPOUR_PRESSURE: Quantity = Quantity {
    what: "vapour pressure",
    unit: "Pa",
};
const ALTITUDE: Quantity = Quantity {
    what: "altitude",
    unit: "m",
};

/// Which phase of water the vapour is in balance with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Phase {
    Liquid,
    Ice,
}

/// Saturation vapour pressure over liquid water, Pa.
///
/// Source: Hyland & Wexler (1983) as printed in ASHRAE Fundamentals 2017 ch. 1 eq. 6; coefficients read in a
/// public implementation that cites it. Stated for 0.01 to 200 °C; used below 0 °C for supercooled water, where
/// humidity sensors are scaled to it (against IAPWS within 0.04 % from 0 to 50 °C).
pub fn saturation_pressure_liquid_pa(t_c: f64) -> f64 {
    ln_saturation(t_c + ZERO_C_K, Phase::Liquid).0.exp()
}

/// Saturation vapour pressure over ice, Pa, −100 to 0.01 °C.
///
/// Source: Hyland & Wexler (1983), ASHRAE Fundamentals 2017 ch. 1 eq. 5 (within 0.04 % of IAPWS from −60 °C up).
pub fn saturation_pressure_ice_pa(t_c: f64) -> f64 {
    ln_saturation(t_c + ZERO_C_K, Phase::Ice).0.exp()
}

/// Saturation vapour pressure over what forms on a surface at `t_c`, Pa: ice below the triple point, else liquid.
pub fn saturation_pressure_over_deposit_pa(t_c: f64) -> f64 {
    if t_c < TRIPLE_POINT_C {
        saturation_pressure_ice_pa(t_c)
    } else {
        saturation_pressure_liquid_pa(t_c)
    }
}

/// ln p and its slope d(ln p)/dT at `t_k`, p in Pa.
fn ln_saturation(t_k: f64, phase: Phase) -> (f64, f64) {
    let (t, ln_t) = (t_k, t_k.ln());
    match phase {
        // ln p = −5800.2206/T + 1.3914993 − 4.8640239e-2 T + 4.1764768e-5 T² − 1.4452093e-8 T³ + 6.5459673 ln T
        Phase::Liquid => (
            -5.800_220_6e3 / t
                + 1.391_499_3
                + t * (-4.864_023_9e-2 + t * (4.176_476_8e-5 - t * 1.445_209_3e-8))
                + 6.545_967_3 * ln_t,
            5.800_220_6e3 / (t * t) - 4.864_023_9e-2
                + t * (2.0 * 4.176_476_8e-5 - t * 3.0 * 1.445_209_3e-8)
                + 6.545_967_3 / t,
        ),
        // ln p = −5674.5359/T + 6.3925247 − 9.677843e-3 T + 6.2215701e-7 T² + 2.0747825e-9 T³ − 9.484024e-13 T⁴
        //        + 4.1635019 ln T
        Phase::Ice => (
            -5.674_535_9e3 / t
                + 6.392_524_7
                + t * (-9.677_843e-3 + t * (6.221_570_1e-7 + t * (2.074_782_5e-9 - t * 9.484_024e-13)))
                + 4.163_501_9 * ln_t,
            5.674_535_9e3 / (t * t) - 9.677_843e-3
                + t * (2.0 * 6.221_570_1e-7 + t * (3.0 * 2.074_782_5e-9 - t * 4.0 * 9.484_024e-13))
                + 4.163_501_9 / t,
        ),
    }
}

/// Vapour pressure of air at `air_c` and `rh_pct` relative humidity, Pa.
///
/// Relative humidity counts from saturation over *liquid* water at every temperature, as sensors are scaled
/// (WMO practice), also below 0 °C. Errors: air outside −60 to 60 °C, humidity outside 0 to 100 %.
pub fn vapour_pressure_pa(air_c: f64, rh_pct: f64) -> Result<f64, HeatError> {
    AIR_TEMPERATURE.within(air_c, -60.0..=60.0)?;
    HUMIDITY.within(rh_pct, 0.0..=100.0)?;
    Ok(saturation_pressure_liquid_pa(air_c) * rh_pct / 100.0)
}

/// Temperature at which a surface starts to collect water from air of vapour pressure `e_pa`, °C: the dew point
/// above 0.01 °C, the frost point below it.
///
/// Errors: `e_pa` outside 0.002 to 100 000 Pa (about −98 to +99 °C).
pub fn dew_point_c(e_pa: f64) -> Result<f64, HeatError> {
    VAPOUR_PRESSURE.within(e_pa, 0.002..=1.0e5)?;
    let phase = if e_pa < saturation_pressure_ice_pa(TRIPLE_POINT_C) {
        Phase::Ice
    } else {
        Phase::Liquid
    };
    Ok(saturation_temperature_c(e_pa, phase))
}

/// Dew point over liquid water at every temperature, °C: what meteorological stations report below 0 °C.
///
/// Errors: `e_pa` outside 0.2 to 100 000 Pa (about −78 to +99 °C).
pub fn dew_point_over_liquid_c(e_pa: f64) -> Result<f64, HeatError> {
    VAPOUR_PRESSURE.within(e_pa, 0.2..=1.0e5)?;
    Ok(saturation_temperature_c(e_pa, Phase::Liquid))
}

/// Newton on ln p, which is nearly straight in 1/T: from 0 °C six steps reach 1e-10 K over the accepted range.
fn saturation_temperature_c(e_pa: f64, phase: Phase) -> f64 {
    let target = e_pa.ln();
    let mut t_k = ZERO_C_K;
    for _ in 0..30 {
        let (ln_p, slope) = ln_saturation(t_k, phase);
        // T ← T / (1 − (ln e − ln p)/(T d ln p/dT)): Newton in 1/T, which cannot overshoot below 0 K.
        let next_k = t_k / (1.0 - (target - ln_p) / (t_k * slope));
        let step_k = next_k - t_k;
        t_k = next_k;
        if step_k.abs() < 1.0e-10 {
            break;
        }
    }
    t_k - ZERO_C_K
}

/// Transport properties of air at one film temperature and barometer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirProperties {
    /// Thermal conductivity, W/(m K).
    pub conductivity_w_mk: f64,
    /// Kinematic viscosity, m²/s.
    pub kinematic_viscosity_m2_s: f64,
    /// Prandtl number.
    pub prandtl: f64,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
}

impl AirProperties {
    /// Properties at `film_c` and `barometer_kpa`.
    ///
    /// Polynomials fitted to a reference equation of state for air from −60 to +50 °C at 101.325 kPa: conductivity
    /// within 0.02 %, viscosity 0.06 %, Prandtl number 0.16 %. Outside −90 to +90 °C the nearest end is used, so
    /// that a root finder's wander stays finite.
    pub fn at(film_c: f64, barometer_kpa: f64) -> Self {
        let t = film_c.clamp(-90.0, 90.0);
        let pressure_ratio = barometer_kpa / STANDARD_BAROMETER_KPA;
        Self {
            // k = 2.4361041e-2 + 7.662998e-5 t − 4.520223e-8 t², W/(m K)
            conductivity_w_mk: 2.436_104_08e-2 + t * (7.662_998_35e-5 - t * 4.520_223_13e-8),
            // ν = (1.331523e-5 + 8.753561e-8 t + 1.140910e-10 t²) · 101.325/p, m²/s
            kinematic_viscosity_m2_s: (1.331_523_02e-5 + t * (8.753_560_84e-8 + t * 1.140_909_51e-10)) / pressure_ratio,
            // Pr = 0.711405 − 1.616964e-4 t
            prandtl: 0.711_405_004 - 1.616_963_68e-4 * t,
            // ρ = p/(R T), kg/m³ (ideal gas: 0.05 % at 20 °C)
            density_kg_m3: barometer_kpa * 1000.0 / (GAS_CONSTANT_AIR_J_KGK * (t + ZERO_C_K)),
        }
    }
}

/// Barometric pressure of the standard atmosphere at `altitude_m`, kPa.
///
/// Form from memory of ASHRAE Fundamentals ch. 1 eq. 3, not confirmed in print; public implementations agree.
/// Errors: altitude outside −500 to 9000 m.
pub fn barometer_kpa(altitude_m: f64) -> Result<f64, HeatError> {
    ALTITUDE.within(altitude_m, -500.0..=9000.0)?;
    // p = 101.325 (1 − 2.25577e-5 Z)^5.2559 kPa
    Ok(STANDARD_BAROMETER_KPA * (1.0 - 2.255_77e-5 * altitude_m).powf(5.2559))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn branches_meet_at_the_triple_point() {
        let liquid_pa = saturation_pressure_liquid_pa(TRIPLE_POINT_C);
        let ice_pa = saturation_pressure_ice_pa(TRIPLE_POINT_C);
        assert!((liquid_pa - ice_pa).abs() < 0.001, "{liquid_pa} {ice_pa}");
    }

    #[test]
    fn dew_point_undoes_saturation_on_both_branches() {
        for t_c in [-95.0, -60.0, -25.0, -0.5, 0.009, 0.011, 0.5, 26.0, 60.0, 98.0] {
            let e_pa = saturation_pressure_over_deposit_pa(t_c);
            let back_c = dew_point_c(e_pa).unwrap();
            assert!((back_c - t_c).abs() < 1.0e-5, "{t_c} came back as {back_c}");
        }
    }

    #[test]
    fn impossible_air_is_refused() {
        assert!(vapour_pressure_pa(20.0, 101.0).is_err());
        assert!(vapour_pressure_pa(f64::NAN, 50.0).is_err());
        assert!(dew_point_c(0.0).is_err());
        let message = vapour_pressure_pa(200.0, 50.0).unwrap_err().to_string();
        assert!(
            message.contains("air temperature 200 °C (accepted: -60 to 60 °C)"),
            "{message}"
        );
    }

    #[test]
    fn thin_air_is_more_viscous_in_proportion() {
        let sea = AirProperties::at(10.0, 101.325);
        let high = AirProperties::at(10.0, 101.325 / 2.0);
        let ratio = high.kinematic_viscosity_m2_s / sea.kinematic_viscosity_m2_s;
        assert!((ratio - 2.0).abs() < 1.0e-12);
        assert!((high.density_kg_m3 * 2.0 - sea.density_kg_m3).abs() < 1.0e-12);
    }
}
