//! The radiometric measurement equation: from what the camera sees to the surface's own temperature.

use super::planck::{BandRadiance, COLDEST_C, WARMEST_C};
use super::{Quantity, RadiationError};

/// Least emissivity times transmittance at which a temperature counts as measured: below it an error of the
/// measured radiance is more than doubled and the reflection outweighs the surface.
pub const LEAST_QUANTITATIVE_PRODUCT: f64 = 0.5;

const EMISSIVITY: Quantity = Quantity {
    what: "emissivity",
    unit: "(ratio)",
};
const TRANSMITTANCE: Quantity = Quantity {
    what: "transmittance",
    unit: "(ratio)",
};
const REFLECTED: Quantity = Quantity {
    what: "reflected temperature",
    unit: "°C",
};
const PATH_AIR: Quantity = Quantity {
    what: "air temperature",
    unit: "°C",
};
const SURFACE: Quantity = Quantity {
    what: "radiance of the surface",
    unit: "W/(m² sr)",
};

/// What stands between a surface and the camera.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scene {
    /// Emissivity of the surface in the band, grey and diffuse.
    pub emissivity: f64,
    /// Apparent temperature of what the surface reflects, °C.
    pub reflected_c: f64,
    /// Transmittance of the air path, 1 for a short one.
    pub transmittance: f64,
    /// Temperature of the air on the path, °C.
    pub path_air_c: f64,
}

/// The equation for one scene and band, its constant terms worked out once.
///
/// L_measured = τ [ε L(T) + (1 − ε) L(T_reflected)] + (1 − τ) L(T_air); an opaque grey diffuse target in isothermal
/// surroundings.
#[derive(Debug, Clone, Copy)]
pub struct MeasurementEquation<'band> {
    band: &'band BandRadiance,
    scene: Scene,
    product: f64,
    background_w_m2sr: f64,
}

/// How the surface temperature answers to each input, at one reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensitivities {
    /// dT/dε, K per unit emissivity.
    pub per_emissivity_k: f64,
    /// dT/dT_reflected, K/K.
    pub per_reflected_k_k: f64,
    /// dT/dτ, K per unit transmittance.
    pub per_transmittance_k: f64,
    /// dT/dT_air, K/K.
    pub per_path_air_k_k: f64,
    /// dT/dL_measured, K per W/(m² sr).
    pub per_radiance_k: f64,
}

impl<'band> MeasurementEquation<'band> {
    /// The equation of `scene` in `band`.
    ///
    /// Errors: emissivity outside 0.01 to 1, transmittance outside 0.1 to 1, reflected or air temperature outside
    /// −120 to +250 °C (a clear sky reads down to about −80 °C).
    pub fn new(band: &'band BandRadiance, scene: Scene) -> Result<Self, RadiationError> {
        EMISSIVITY.within(scene.emissivity, 0.01..=1.0)?;
        TRANSMITTANCE.within(scene.transmittance, 0.1..=1.0)?;
        REFLECTED.within(scene.reflected_c, COLDEST_C..=WARMEST_C)?;
        PATH_AIR.within(scene.path_air_c, COLDEST_C..=WARMEST_C)?;
        let Scene {
            emissivity,
            reflected_c,
            transmittance,
            path_air_c,
        } = scene;
        let background_w_m2sr = transmittance * (1.0 - emissivity) * band.radiance_w_m2sr(reflected_c)
            + (1.0 - transmittance) * band.radiance_w_m2sr(path_air_c);
        Ok(Self {
            band,
            scene,
            product: transmittance * emissivity,
            background_w_m2sr,
        })
    }

    /// The scene it was built for.
    pub fn scene(&self) -> Scene {
        self.scene
    }

    /// Factor by which an error of the measured radiance grows in the surface's own, 1/(τε).
    pub fn amplification(&self) -> f64 {
        1.0 / self.product
    }

    /// Refuses scenes whose answers would be no measurements: τε below 0.5.
    pub fn require_quantitative(&self) -> Result<(), RadiationError> {
        if self.product < LEAST_QUANTITATIVE_PRODUCT {
            return Err(RadiationError::TooBright { product: self.product });
        }
        Ok(())
    }

    /// Radiance that reaches the camera from a surface at `true_c`, W/(m² sr).
    pub fn measured_radiance_w_m2sr(&self, true_c: f64) -> f64 {
        self.product * self.band.radiance_w_m2sr(true_c) + self.background_w_m2sr
    }

    /// Temperature a blackbody would have to look alike, °C; `None` outside the band's table.
    pub fn apparent_temperature_c(&self, true_c: f64) -> Option<f64> {
        self.band.temperature_c(self.measured_radiance_w_m2sr(true_c))
    }

    /// The surface's own radiance behind a measured one, W/(m² sr); may be negative.
    pub fn surface_radiance_w_m2sr(&self, measured_w_m2sr: f64) -> f64 {
        // L = (L_measured − τ(1 − ε) L(T_reflected) − (1 − τ) L(T_air))/(τε)
        (measured_w_m2sr - self.background_w_m2sr) / self.product
    }

    /// Surface temperature behind a measured radiance, °C.
    ///
    /// Errors: nothing left for the surface (L ≤ 0), or a temperature outside −120 to +250 °C. A bright jacket may
    /// still give a number without meaning: see [`MeasurementEquation::require_quantitative`].
    pub fn surface_temperature_c(&self, measured_w_m2sr: f64) -> Result<f64, RadiationError> {
        let radiance_w_m2sr = self.surface_radiance_w_m2sr(measured_w_m2sr);
        if let Some(surface_c) = self.band.temperature_c(radiance_w_m2sr) {
            return Ok(surface_c);
        }
        if radiance_w_m2sr <= 0.0 {
            return Err(RadiationError::NothingLeft { radiance_w_m2sr });
        }
        Err(RadiationError::OutOfRange {
            what: SURFACE.what,
            value: radiance_w_m2sr,
            unit: SURFACE.unit,
            low: self.band.radiance_w_m2sr(COLDEST_C),
            high: self.band.radiance_w_m2sr(WARMEST_C),
        })
    }

    /// Derivatives of the surface temperature at a measured radiance; errors as
    /// [`MeasurementEquation::surface_temperature_c`].
    pub fn sensitivities(&self, measured_w_m2sr: f64) -> Result<Sensitivities, RadiationError> {
        let surface_c = self.surface_temperature_c(measured_w_m2sr)?;
        let surface_w_m2sr = self.surface_radiance_w_m2sr(measured_w_m2sr);
        let Scene {
            emissivity,
            reflected_c,
            transmittance,
            path_air_c,
        } = self.scene;
        let slope = self.band.slope_w_m2srk(surface_c);
        let reflected_w_m2sr = self.band.radiance_w_m2sr(reflected_c);
        let air_w_m2sr = self.band.radiance_w_m2sr(path_air_c);
        Ok(Sensitivities {
            // ∂L/∂ε = (L(T_reflected) − L)/ε
            per_emissivity_k: (reflected_w_m2sr - surface_w_m2sr) / (emissivity * slope),
            // ∂L/∂T_reflected = −(1 − ε)/ε L′(T_reflected)
            per_reflected_k_k: -(1.0 - emissivity) / emissivity * self.band.slope_w_m2srk(reflected_c) / slope,
            // ∂L/∂τ = (L(T_air) − L_measured)/(τ²ε)
            per_transmittance_k: (air_w_m2sr - measured_w_m2sr) / (transmittance * self.product * slope),
            // ∂L/∂T_air = −(1 − τ)/(τε) L′(T_air)
            per_path_air_k_k: -(1.0 - transmittance) / self.product * self.band.slope_w_m2srk(path_air_c) / slope,
            // ∂L/∂L_measured = 1/(τε)
            per_radiance_k: 1.0 / (self.product * slope),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn long_wave() -> &'static BandRadiance {
        static TABLE: std::sync::LazyLock<BandRadiance> =
            std::sync::LazyLock::new(|| BandRadiance::new(8.0, 14.0).unwrap());
        &TABLE
    }

    prop_compose! {
        fn a_scene()(
            emissivity in 0.5..1.0_f64, reflected_c in -60.0..40.0_f64,
            transmittance in 0.8..1.0_f64, path_air_c in -20.0..40.0_f64,
        ) -> Scene {
            Scene { emissivity, reflected_c, transmittance, path_air_c }
        }
    }

    /// Surface temperature of a changed scene at the same reading.
    fn reading(scene: Scene, measured_w_m2sr: f64) -> f64 {
        MeasurementEquation::new(long_wave(), scene)
            .unwrap()
            .surface_temperature_c(measured_w_m2sr)
            .unwrap()
    }

    proptest! {
        #[test]
        fn surface_comes_back(scene in a_scene(), true_c in -60.0..80.0_f64) {
            let equation = MeasurementEquation::new(long_wave(), scene).unwrap();
            let back_c = equation.surface_temperature_c(equation.measured_radiance_w_m2sr(true_c)).unwrap();
            prop_assert!((back_c - true_c).abs() < 1.0e-4, "{true_c} came back as {back_c}");
        }

        #[test]
        fn sensitivities_are_the_slopes(scene in a_scene(), true_c in -40.0..60.0_f64) {
            let equation = MeasurementEquation::new(long_wave(), scene).unwrap();
            let measured = equation.measured_radiance_w_m2sr(true_c);
            let slopes = equation.sensitivities(measured).unwrap();
            let h = 1.0e-4;
            let up = |changed: Scene| (reading(changed, measured) - true_c) / -h;
            let pairs = [
                (slopes.per_emissivity_k, up(Scene { emissivity: scene.emissivity - h, ..scene })),
                (slopes.per_transmittance_k, up(Scene { transmittance: scene.transmittance - h, ..scene })),
                (slopes.per_reflected_k_k, up(Scene { reflected_c: scene.reflected_c - h, ..scene })),
                (slopes.per_path_air_k_k, up(Scene { path_air_c: scene.path_air_c - h, ..scene })),
                (slopes.per_radiance_k, (reading(scene, measured - h) - true_c) / -h),
            ];
            for (index, (exact, chord)) in pairs.into_iter().enumerate() {
                prop_assert!((exact - chord).abs() < 0.005 * exact.abs() + 0.02, "{index}: {exact} {chord}");
            }
        }
    }

    #[test]
    fn a_reflection_that_explains_everything_leaves_nothing() {
        let bright = Scene {
            emissivity: 0.1,
            reflected_c: 30.0,
            transmittance: 1.0,
            path_air_c: 20.0,
        };
        let equation = MeasurementEquation::new(long_wave(), bright).unwrap();
        let measured = long_wave().radiance_w_m2sr(14.0);
        assert!(matches!(
            equation.surface_temperature_c(measured),
            Err(RadiationError::NothingLeft { .. })
        ));
        assert!(matches!(
            equation.require_quantitative(),
            Err(RadiationError::TooBright { .. })
        ));
        assert!(equation.surface_temperature_c(f64::NAN).is_err());
    }

    #[test]
    fn impossible_scenes_are_refused() {
        let fine = Scene {
            emissivity: 0.9,
            reflected_c: 20.0,
            transmittance: 1.0,
            path_air_c: 20.0,
        };
        for scene in [
            Scene {
                emissivity: 1.2,
                ..fine
            },
            Scene {
                emissivity: f64::NAN,
                ..fine
            },
            Scene {
                transmittance: 0.0,
                ..fine
            },
            Scene {
                reflected_c: -300.0,
                ..fine
            },
            Scene {
                path_air_c: f64::INFINITY,
                ..fine
            },
        ] {
            assert!(MeasurementEquation::new(long_wave(), scene).is_err(), "{scene:?}");
        }
    }
}
