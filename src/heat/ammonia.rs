//! Ammonia (R717) saturation: pressure and temperature of the boiling liquid.

use super::{HeatError, Quantity, ZERO_C_K};

/// Coldest saturation temperature accepted, °C (the triple point lies at about −77.65 °C).
pub const COLDEST_C: f64 = -77.6;
/// Warmest saturation temperature accepted, °C.
pub const WARMEST_C: f64 = 60.0;

const CRITICAL_K: f64 = 405.56;
const CRITICAL_KPA: f64 = 11_365.0;
/// Factors nᵢ and exponents tᵢ of the vapour-pressure equation.
const TERMS: [(f64, f64); 5] = [
    (-7.2257, 1.0),
    (1.4263, 1.5),
    (-0.596_42, 2.0),
    (-2.798, 3.6),
    (-3.7869, 15.5),
];

const TEMPERATURE: Quantity = Quantity {
    what: "ammonia saturation temperature",
    unit: "°C",
};
const PRESSURE: Quantity = Quantity {
    what: "absolute ammonia pressure",
    unit: "kPa",
};

/// Absolute saturation pressure of ammonia at `t_c`, kPa.
///
/// Source: vapour-pressure equation that accompanies the Gao et al. equation of state (J. Phys. Chem. Ref. Data 52,
/// 013102), coefficients read in a public property library; within 0.05 % in pressure and 0.015 K in temperature
/// of the full equation from −60 to +40 °C. Errors: `t_c` outside −77.6 to 60 °C.
pub fn saturation_pressure_kpa(t_c: f64) -> Result<f64, HeatError> {
    TEMPERATURE.within(t_c, COLDEST_C..=WARMEST_C)?;
    Ok(ln_pressure(t_c + ZERO_C_K).0.exp())
}

/// Saturation temperature of ammonia at the absolute pressure `p_abs_kpa`, °C.
///
/// Errors: a pressure outside that of −77.6 to 60 °C (about 6 to 2614 kPa absolute).
pub fn saturation_temperature_c(p_abs_kpa: f64) -> Result<f64, HeatError> {
    let low_kpa = saturation_pressure_kpa(COLDEST_C)?;
    let high_kpa = saturation_pressure_kpa(WARMEST_C)?;
    PRESSURE.within(p_abs_kpa, low_kpa..=high_kpa)?;
    let target = p_abs_kpa.ln();
    let mut t_k = 240.0;
    // Newton in 1/T: ln p is nearly straight in it, so few steps do.
    for _ in 0..30 {
        let (ln_p, slope) = ln_pressure(t_k);
        let next_k = t_k / (1.0 - (target - ln_p) / (t_k * slope));
        let step_k = next_k - t_k;
        t_k = next_k;
        if step_k.abs() < 1.0e-10 {
            break;
        }
    }
    Ok((t_k - ZERO_C_K).clamp(COLDEST_C, WARMEST_C))
}

/// ln p (kPa) and d(ln p)/dT at `t_k`.
fn ln_pressure(t_k: f64) -> (f64, f64) {
    // ln(p/p_c) = (T_c/T) Σ nᵢ θ^tᵢ,  θ = 1 − T/T_c
    let theta = 1.0 - t_k / CRITICAL_K;
    let (mut sum, mut sum_slope) = (0.0, 0.0);
    for (n, exponent) in TERMS {
        let power = theta.powf(exponent - 1.0);
        sum += n * power * theta;
        sum_slope += n * exponent * power;
    }
    let ln_p = CRITICAL_KPA.ln() + CRITICAL_K / t_k * sum;
    // dθ/dT = −1/T_c
    (ln_p, -CRITICAL_K / (t_k * t_k) * sum - sum_slope / t_k)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn temperature_undoes_pressure() {
        for t_c in [COLDEST_C, -60.0, -33.3, 0.0, 35.0, WARMEST_C] {
            let back_c = saturation_temperature_c(saturation_pressure_kpa(t_c).unwrap()).unwrap();
            assert!((back_c - t_c).abs() < 1.0e-8, "{t_c} came back as {back_c}");
        }
    }

    #[test]
    fn outside_the_range_is_refused() {
        for t_c in [-77.7, 60.1, f64::NAN] {
            assert!(saturation_pressure_kpa(t_c).is_err());
        }
        for p_kpa in [-5.0, 0.0, 5.0, 3000.0, f64::INFINITY] {
            assert!(saturation_temperature_c(p_kpa).is_err());
        }
    }
}
