//! Radiance in the camera's band by direct quadrature, and emissivity against angle by Fresnel's equations.

use std::sync::OnceLock;

const PLANCK_J_S: f64 = 6.626_070_15e-34;
const LIGHT_M_S: f64 = 299_792_458.0;
const BOLTZMANN_J_K: f64 = 1.380_649e-23;
/// The simulated camera's band, µm.
pub const BAND_UM: (f64, f64) = (8.0, 14.0);

const TABLE_START_C: f64 = -120.0;
const TABLE_STEP_K: f64 = 0.05;
const TABLE_LENGTH: usize = 8001;

/// Blackbody radiance in 8–14 µm, W/(m² sr): Simpson's rule over ∫ 2hc²/λ⁵ / (exp(hc/λkT) − 1) dλ in 120 steps.
pub fn integrate_radiance_w_m2sr(temperature_c: f64) -> f64 {
    let steps = 120;
    let (low_m, high_m) = (BAND_UM.0 * 1e-6, BAND_UM.1 * 1e-6);
    let step_m = (high_m - low_m) / f64::from(steps);
    let kelvin = temperature_c + 273.15;
    let spectral = |wavelength_m: f64| {
        let exponent = PLANCK_J_S * LIGHT_M_S / (wavelength_m * BOLTZMANN_J_K * kelvin);
        2.0 * PLANCK_J_S * LIGHT_M_S * LIGHT_M_S / wavelength_m.powi(5) / exponent.exp_m1()
    };
    let inner: f64 = (1..steps)
        .map(|k| {
            let weight = if k % 2 == 1 { 4.0 } else { 2.0 };
            weight * spectral(low_m + f64::from(k) * step_m)
        })
        .sum();
    (spectral(low_m) + inner + spectral(high_m)) * step_m / 3.0
}

fn table() -> &'static [f64] {
    static TABLE: OnceLock<Vec<f64>> = OnceLock::new();
    TABLE.get_or_init(|| {
        (0..TABLE_LENGTH)
            .map(|k| integrate_radiance_w_m2sr(TABLE_START_C + k as f64 * TABLE_STEP_K))
            .collect()
    })
}

/// Band radiance from the table, W/(m² sr); −120 to 280 °C, held at the ends.
pub fn radiance_w_m2sr(temperature_c: f64) -> f64 {
    let place = ((temperature_c - TABLE_START_C) / TABLE_STEP_K).clamp(0.0, 7999.999);
    let index = place as usize;
    let part = place - index as f64;
    let table = table();
    table[index] * (1.0 - part) + table[index + 1] * part
}

/// Temperature of the blackbody with a band radiance, °C.
pub fn apparent_c(radiance_w_m2sr: f64) -> f64 {
    let table = table();
    let above = table
        .partition_point(|entry| *entry < radiance_w_m2sr)
        .clamp(1, TABLE_LENGTH - 1);
    let (low, high) = (table[above - 1], table[above]);
    let part = (radiance_w_m2sr - low) / (high - low);
    TABLE_START_C + (above as f64 - 1.0 + part) * TABLE_STEP_K
}

/// Emissivity against the angle to the normal, tabulated over its cosine.
#[derive(Debug, Clone)]
pub struct DirectionalEmissivity {
    table: Vec<f64>,
}

impl DirectionalEmissivity {
    /// From the emissivity along the normal: a clear dielectric from 0.5 up, a metal with equal parts of index below.
    pub fn from_normal(normal: f64) -> Self {
        let index = if normal >= 0.5 {
            // ρ₀ = ((n − 1)/(n + 1))² solved for n.
            let amplitude = (1.0 - normal).max(0.0).sqrt();
            ((1.0 + amplitude) / (1.0 - amplitude), 0.0)
        } else {
            let n = metal_index(normal.max(0.005));
            (n, n)
        };
        let table = (0..=128)
            .map(|k| 1.0 - reflectance(index, f64::from(k) / 128.0))
            .collect();
        Self { table }
    }

    /// Emissivity at the cosine of the angle to the normal.
    pub fn at(&self, cos_view: f64) -> f64 {
        let place = cos_view.clamp(0.0, 1.0) * 127.999;
        let index = place as usize;
        let part = place - index as f64;
        self.table[index] * (1.0 - part) + self.table[index + 1] * part
    }
}

/// n = k of a metal with the given normal emissivity 4n/((n + 1)² + n²), by bisection on its falling side.
fn metal_index(normal: f64) -> f64 {
    let (mut low, mut high) = (0.8_f64, 2000.0_f64);
    for _ in 0..80 {
        let n = (low * high).sqrt();
        if 4.0 * n / ((n + 1.0) * (n + 1.0) + n * n) > normal {
            low = n;
        } else {
            high = n;
        }
    }
    low
}

/// Unpolarised Fresnel reflectance at a cosine of incidence for the complex index n + ik.
fn reflectance(index: (f64, f64), cos_in: f64) -> f64 {
    let (n, k) = index;
    let sin2 = 1.0 - cos_in * cos_in;
    // a² and b²: real and imaginary parts of √(m² − sin²θ).
    let real = n * n - k * k - sin2;
    let size = real.hypot(2.0 * n * k);
    let a = (0.5 * (size + real)).max(0.0).sqrt();
    let b = (0.5 * (size - real)).max(0.0).sqrt();
    let upright = ((a - cos_in).powi(2) + b * b) / ((a + cos_in).powi(2) + b * b);
    if cos_in < 1e-6 {
        return 1.0;
    }
    let tilt = sin2 / cos_in;
    let level = upright * ((a - tilt).powi(2) + b * b) / ((a + tilt).powi(2) + b * b);
    0.5 * (upright + level)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quadrature_matches_reference_radiance() {
        // Adaptive quadrature to 1e-12 by a reference library, 8–14 µm.
        for (celsius, expected) in [(-40.0, 15.189_324_15), (0.0, 35.151_961_97), (25.0, 53.396_538_88)] {
            let found = integrate_radiance_w_m2sr(celsius);
            assert!((found / expected - 1.0).abs() < 1e-7, "{celsius}: {found}");
            assert!((apparent_c(found) - celsius).abs() < 1e-4);
        }
    }

    #[test]
    fn emissivity_starts_at_the_normal_value_and_falls_or_rises_with_angle() {
        let paint = DirectionalEmissivity::from_normal(0.9);
        assert!((paint.at(1.0) - 0.9).abs() < 1e-3);
        // By hand at 60° for n = 1.9250: ρ⊥ = 0.302, ρ∥ = 0.001, so ε = 0.8485.
        assert!((paint.at(0.5) - 0.8485).abs() < 0.001, "{}", paint.at(0.5));
        assert!(paint.at(0.15) < 0.7);
        let metal = DirectionalEmissivity::from_normal(0.1);
        assert!((metal.at(1.0) - 0.1).abs() < 1e-3);
        assert!(metal.at(0.2) > 0.15);
    }
}
