//! Raw camera signal against temperature: the Sakuma–Hattori equation in its Planckian form.

use super::planck::SECOND_CONSTANT_UM_K;
use super::{Quantity, RadiationError, ZERO_C_K};

const WAVELENGTH: Quantity = Quantity {
    what: "sakuma-hattori coefficient a_um",
    unit: "µm",
};
const WIDTH: Quantity = Quantity {
    what: "sakuma-hattori coefficient b_um_k",
    unit: "µm K",
};
const GAIN: Quantity = Quantity {
    what: "sakuma-hattori coefficient c",
    unit: "counts",
};

/// A camera's three coefficients.
///
/// S = C/(e^(c₂/(A T + B)) − 1). With coefficients fitted to a flat 8–14 µm band it follows the exact radiance within
/// 6.3 mK from −60 to +60 °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SakumaHattori {
    a_um: f64,
    b_um_k: f64,
    c: f64,
}

impl SakumaHattori {
    /// From coefficients A (µm), B (µm K) and C (the signal's unit).
    ///
    /// Errors: A outside 0.5 to 30 µm, B outside ±5000 µm K, C not positive.
    pub fn new(a_um: f64, b_um_k: f64, c: f64) -> Result<Self, RadiationError> {
        Ok(Self {
            a_um: WAVELENGTH.within(a_um, 0.5..=30.0)?,
            b_um_k: WIDTH.within(b_um_k, -5000.0..=5000.0)?,
            c: GAIN.within(c, f64::MIN_POSITIVE..=1.0e15)?,
        })
    }

    /// Signal of a blackbody at `t_c`, in C's unit; `None` where A T + B is not positive.
    pub fn signal(&self, t_c: f64) -> Option<f64> {
        let effective_um_k = self.a_um * (t_c + ZERO_C_K) + self.b_um_k;
        // S = C/(exp(c₂/(A T + B)) − 1)
        (effective_um_k > 0.0).then(|| self.c / (SECOND_CONSTANT_UM_K / effective_um_k).exp_m1())
    }

    /// Temperature of the blackbody that gives `signal`, °C; `None` where the signal is not positive, or means a
    /// temperature below absolute zero.
    pub fn temperature_c(&self, signal: f64) -> Option<f64> {
        if signal.is_nan() || signal <= 0.0 {
            return None;
        }
        // T = c₂/(A ln(C/S + 1)) − B/A
        let t_k = (SECOND_CONSTANT_UM_K / (self.c / signal).ln_1p() - self.b_um_k) / self.a_um;
        (t_k > 0.0 && t_k.is_finite()).then_some(t_k - ZERO_C_K)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn temperature_undoes_signal() {
        let camera = SakumaHattori::new(9.4, 175.0, 6.0e4).unwrap();
        for t_c in [-60.0, -5.0, 20.0, 120.0] {
            let back_c = camera.temperature_c(camera.signal(t_c).unwrap()).unwrap();
            assert!((back_c - t_c).abs() < 1.0e-9);
        }
    }

    #[test]
    fn dead_signals_have_no_temperature() {
        let camera = SakumaHattori::new(9.4, 175.0, 6.0e4).unwrap();
        for signal in [0.0, -3.0, f64::NAN, f64::INFINITY] {
            assert_eq!(camera.temperature_c(signal), None, "{signal}");
        }
        assert!(SakumaHattori::new(9.4, 175.0, 0.0).is_err());
        assert!(SakumaHattori::new(f64::NAN, 175.0, 1.0).is_err());
    }
}
