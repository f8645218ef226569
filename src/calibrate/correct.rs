//! From apparent to surface temperature: the measurement equation at every viewing angle, and as a table for a frame's pixels.

use crate::radiation::fresnel::{self, AngularLaw};
use crate::radiation::measurement::Scene;
use crate::radiation::planck::BandRadiance;

/// From apparent to surface temperature for one frame and jacket.
#[derive(Debug, Clone, Copy)]
pub struct Correct<'a> {
    /// The camera's band.
    pub band: &'a BandRadiance,
    /// Emissivity at normal incidence, reflection and path; None where the file's values are surface temperatures that
    /// nobody can undo.
    pub scene: Option<Scene>,
    /// How the emissivity falls with the viewing angle.
    pub law: AngularLaw,
}

impl Correct<'_> {
    /// A table of surface temperature against apparent temperature and cosine of the viewing angle, for quick use over
    /// many pixels: it holds `T = Tₐ + s(Tₐ, θ)` with s looked up on a grid of 0.25 K and 32 angles.
    #[must_use]
    pub fn table(&self, low_c: f64, high_c: f64) -> CorrectionTable {
        let steps = (((high_c - low_c) / CorrectionTable::STEP_K).ceil().max(1.0) as usize + 2).min(4000);
        let apparent_c = |step: usize| low_c + step as f64 * CorrectionTable::STEP_K;
        let spans = steps - 1;
        let mut shifts_k = vec![[0.0; 2]; spans * CorrectionTable::ANGLES];
        if let Some(scene) = &self.scene {
            let measured: Vec<f64> = (0..steps)
                .map(|step| self.band.radiance_w_m2sr(apparent_c(step)))
                .collect();
            let mut ends_k = vec![0.0; steps];
            for (angle, row) in shifts_k.chunks_exact_mut(spans).enumerate() {
                let seen = Seen::at(self, scene, CorrectionTable::cosine(angle));
                for ((step, end_k), measured) in ends_k.iter_mut().enumerate().zip(&measured) {
                    *end_k = (seen.surface_c(*measured) - apparent_c(step)) as f32;
                }
                for (shift, ends_k) in row.iter_mut().zip(ends_k.windows(2)) {
                    *shift = [ends_k[0], ends_k[1] - ends_k[0]];
                }
            }
        }
        CorrectionTable {
            low_c: low_c as f32,
            spans,
            shifts_k,
        }
    }

    /// Surface temperature in °C of an apparent one seen at the angle whose cosine is stated; NaN where the equation has
    /// no answer.
    #[must_use]
    pub fn surface_c(&self, apparent_c: f64, cosine: f64) -> f64 {
        let Some(scene) = &self.scene else { return apparent_c };
        Seen::at(self, scene, cosine).surface_c(self.band.radiance_w_m2sr(apparent_c))
    }
}

/// The measurement equation for one viewing angle; radiances in W/(m²·sr).
struct Seen<'a> {
    band: &'a BandRadiance,
    emissivity: f64,
    transmittance: f64,
    reflected: f64,
    path: f64,
}

impl<'a> Seen<'a> {
    fn at(correct: &Correct<'a>, scene: &Scene, cosine: f64) -> Self {
        let angle_deg = cosine.clamp(0.0, 1.0).acos().to_degrees();
        Self {
            band: correct.band,
            emissivity: fresnel::emissivity_at_angle(scene.emissivity, correct.law, angle_deg),
            transmittance: scene.transmittance,
            reflected: correct.band.radiance_w_m2sr(scene.reflected_c),
            path: correct.band.radiance_w_m2sr(scene.path_air_c),
        }
    }

    /// `L_obj = (L_meas − τ(1−ε)L(T_refl) − (1−τ)L(T_air)) / (τε)`, as a temperature in °C.
    fn surface_c(&self, measured: f64) -> f64 {
        let (tau, emissivity) = (self.transmittance, self.emissivity);
        let object =
            (measured - tau * (1.0 - emissivity) * self.reflected - (1.0 - tau) * self.path) / (tau * emissivity);
        self.band.temperature_c(object).unwrap_or(f64::NAN)
    }
}

/// See [`Correct::table`].
#[derive(Debug, Clone)]
pub struct CorrectionTable {
    low_c: f32,
    /// Spans of the grid of apparent temperatures.
    spans: usize,
    /// For each angle and span the shift at its beginning and how much it grows to its end, in K.
    shifts_k: Vec<[f32; 2]>,
}

/// An angle of a [`CorrectionTable`].
#[derive(Debug, Clone, Copy)]
pub struct AngleRow {
    first: usize,
}

impl CorrectionTable {
    const STEP_K: f64 = 0.25;
    const ANGLES: usize = 32;
    /// Least cosine in the table (72.5°); steeper places use it.
    const LEAST_COSINE: f64 = 0.3;

    fn cosine(angle: usize) -> f64 {
        Self::LEAST_COSINE + (1.0 - Self::LEAST_COSINE) * angle as f64 / (Self::ANGLES - 1) as f64
    }

    /// The angle of the table that is nearest to one with this cosine.
    #[must_use]
    pub fn row(&self, cosine: f64) -> AngleRow {
        let angle = ((cosine - Self::LEAST_COSINE) / (1.0 - Self::LEAST_COSINE)).clamp(0.0, 1.0);
        AngleRow {
            first: self.spans * (angle * (Self::ANGLES - 1) as f64).round() as usize,
        }
    }

    /// Surface temperature in °C of an apparent one (°C) at an angle; NaN of NaN.
    #[must_use]
    #[inline]
    pub fn surface_c(&self, apparent_c: f32, row: AngleRow) -> f32 {
        let at = ((apparent_c - self.low_c) * (1.0 / Self::STEP_K) as f32).clamp(0.0, (self.spans - 1) as f32);
        // At most 4000 spans: to a short number the way is shorter.
        let span = at as u16;
        match self.shifts_k.get(row.first + usize::from(span)) {
            Some([shift_k, growth_k]) => apparent_c + shift_k + (at - f32::from(span)) * growth_k,
            None => f32::NAN,
        }
    }
}
