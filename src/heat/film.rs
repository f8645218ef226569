//! Convection between air and jacket: natural, forced and mixed.

use super::air::AirProperties;
use super::{HeatError, Quantity, ZERO_C_K, nusselt};

/// Standard gravity, m/s².
const GRAVITY_M_S2: f64 = 9.806_65;

/// Body of an insulated asset, sizes over the jacket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Body {
    /// Horizontal pipe or vessel.
    HorizontalCylinder {
        /// Diameter over the jacket, m.
        diameter_m: f64,
    },
    /// Standing vessel.
    VerticalCylinder {
        /// Diameter over the jacket, m.
        diameter_m: f64,
        /// Height of the wall, m.
        height_m: f64,
    },
    /// Flat upright wall.
    Wall {
        /// Height, m.
        height_m: f64,
        /// Width, along which the wind sweeps, m.
        width_m: f64,
    },
    /// Spherical vessel, or a stand-in for a dished head.
    Sphere {
        /// Diameter over the jacket, m.
        diameter_m: f64,
    },
}

/// What surrounds the jacket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surroundings {
    /// Air temperature, °C.
    pub air_c: f64,
    /// Mean radiant temperature the jacket faces, °C.
    pub radiant_c: f64,
    /// Wind speed at the jacket, m/s.
    pub wind_m_s: f64,
    /// Barometric pressure, kPa.
    pub barometer_kpa: f64,
    /// Vapour pressure of the air, Pa; without it no latent heat is reckoned.
    pub vapour_pressure_pa: Option<f64>,
}

const SIZE: Quantity = Quantity {
    what: "body size",
    unit: "m",
};
const AIR: Quantity = Quantity {
    what: "air temperature",
    unit: "°C",
};
const RADIANT: Quantity = Quantity {
    what: "radiant temperature",
    unit: "°C",
};
const WIND: Quantity = Quantity {
    what: "wind speed",
    unit: "m/s",
};
const BAROMETER: Quantity = Quantity {
    what: "barometer",
    unit: "kPa",
};
const VAPOUR: Quantity = Quantity {
    what: "vapour pressure",
    unit: "Pa",
};

impl Body {
    /// The body itself if every size lies between 5 mm and 200 m.
    pub fn checked(self) -> Result<Self, HeatError> {
        let (first_m, second_m) = match self {
            Self::HorizontalCylinder { diameter_m } | Self::Sphere { diameter_m } => (diameter_m, diameter_m),
            Self::VerticalCylinder { diameter_m, height_m } => (diameter_m, height_m),
            Self::Wall { height_m, width_m } => (height_m, width_m),
        };
        SIZE.within(first_m, 0.005..=200.0)?;
        SIZE.within(second_m, 0.005..=200.0)?;
        Ok(self)
    }

    /// Length in the Rayleigh number, m: diameter across, height upright.
    fn natural_length_m(self) -> f64 {
        match self {
            Self::HorizontalCylinder { diameter_m } | Self::Sphere { diameter_m } => diameter_m,
            Self::VerticalCylinder { height_m, .. } | Self::Wall { height_m, .. } => height_m,
        }
    }

    /// Length in the Reynolds number, m: diameter across the wind, width along it.
    fn forced_length_m(self) -> f64 {
        match self {
            Self::HorizontalCylinder { diameter_m }
            | Self::VerticalCylinder { diameter_m, .. }
            | Self::Sphere { diameter_m } => diameter_m,
            Self::Wall { width_m, .. } => width_m,
        }
    }
}

impl Surroundings {
    /// Still air at sea level whose walls are as warm as the air; latent heat left out.
    pub fn still(air_c: f64) -> Self {
        Self {
            air_c,
            radiant_c: air_c,
            wind_m_s: 0.0,
            barometer_kpa: super::STANDARD_BAROMETER_KPA,
            vapour_pressure_pa: None,
        }
    }

    /// The surroundings themselves if every value is one that nature offers outdoors.
    pub fn checked(self) -> Result<Self, HeatError> {
        AIR.within(self.air_c, -60.0..=60.0)?;
        RADIANT.within(self.radiant_c, -120.0..=120.0)?;
        WIND.within(self.wind_m_s, 0.0..=60.0)?;
        BAROMETER.within(self.barometer_kpa, 30.0..=110.0)?;
        if let Some(vapour_pa) = self.vapour_pressure_pa {
            VAPOUR.within(vapour_pa, 0.0..=2.0e4)?;
        }
        Ok(self)
    }
}

/// Convection coefficient of `body` with its jacket at `surface_c`, W/(m² K).
///
/// Air properties at the mean of air and jacket; natural and forced flow joined by Nuⁿ = Nu_natⁿ + Nu_forcedⁿ.
/// n = 3 throughout: a printed table of condensation thicknesses was reproduced with it, and n = 4, recommended by
/// some for cylinders across the wind, moves the jacket by less than 0.001 K at 2 to 5 m/s.
pub fn convection_w_m2k(body: Body, surface_c: f64, surroundings: &Surroundings) -> f64 {
    let air = AirProperties::at((surface_c + surroundings.air_c) / 2.0, surroundings.barometer_kpa);
    let natural = natural_w_m2k(body, surface_c, surroundings, &air);
    if surroundings.wind_m_s <= 0.0 {
        return natural;
    }
    let forced = forced_w_m2k(body, surroundings.wind_m_s, &air);
    (natural * natural * natural + forced * forced * forced).cbrt()
}

/// Natural part of the convection coefficient, W/(m² K).
fn natural_w_m2k(body: Body, surface_c: f64, surroundings: &Surroundings, air: &AirProperties) -> f64 {
    let length_m = body.natural_length_m();
    let film_k = (surface_c + surroundings.air_c) / 2.0 + ZERO_C_K;
    // Gr = g β |ΔT| L³/ν², β = 1/T_film; Ra = Gr Pr
    let grashof = GRAVITY_M_S2 * (surface_c - surroundings.air_c).abs() * length_m * length_m * length_m
        / (film_k * air.kinematic_viscosity_m2_s * air.kinematic_viscosity_m2_s);
    let rayleigh = grashof * air.prandtl;
    let number = match body {
        Body::HorizontalCylinder { .. } => nusselt::horizontal_cylinder(rayleigh, air.prandtl),
        Body::Wall { .. } => nusselt::vertical_plate(rayleigh, air.prandtl),
        Body::Sphere { .. } => nusselt::sphere(rayleigh, air.prandtl),
        Body::VerticalCylinder { diameter_m, height_m } => {
            nusselt::vertical_cylinder(grashof, air.prandtl, height_m / diameter_m)
        }
    };
    number * air.conductivity_w_mk / length_m
}

/// Forced part of the convection coefficient, W/(m² K).
fn forced_w_m2k(body: Body, wind_m_s: f64, air: &AirProperties) -> f64 {
    let length_m = body.forced_length_m();
    let reynolds = wind_m_s * length_m / air.kinematic_viscosity_m2_s;
    let number = match body {
        Body::HorizontalCylinder { .. } | Body::VerticalCylinder { .. } => nusselt::cross_flow(reynolds, air.prandtl),
        Body::Wall { .. } => nusselt::flat_sweep(reynolds, air.prandtl),
        Body::Sphere { .. } => nusselt::sphere_in_wind(reynolds, air.prandtl),
    };
    number * air.conductivity_w_mk / length_m
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wind_only_ever_adds() {
        let body = Body::HorizontalCylinder { diameter_m: 0.4 };
        let mut before_w_m2k = 0.0;
        for tenth in 0..80 {
            let wind = Surroundings {
                wind_m_s: f64::from(tenth) / 10.0,
                ..Surroundings::still(20.0)
            };
            let here_w_m2k = convection_w_m2k(body, 18.0, &wind);
            assert!(here_w_m2k >= before_w_m2k, "{tenth}");
            before_w_m2k = here_w_m2k;
        }
    }

    #[test]
    fn flux_on_a_vertical_cylinder_rises_with_the_difference_across_the_join() {
        let air = Surroundings::still(20.0);
        for diameter_m in [0.1, 0.3, 0.5, 1.0, 2.0] {
            let body = Body::VerticalCylinder {
                diameter_m,
                height_m: 3.0,
            };
            let mut before_w_m2 = -1.0;
            for step in 0..600 {
                let difference_k = 1.0e-4 * 1.022_f64.powi(step);
                let flux_w_m2 = convection_w_m2k(body, 20.0 - difference_k, &air) * difference_k;
                assert!(
                    flux_w_m2 > before_w_m2,
                    "diameter {diameter_m}, difference {difference_k}"
                );
                before_w_m2 = flux_w_m2;
            }
        }
    }

    #[test]
    fn no_difference_still_gives_a_finite_coefficient() {
        for body in [
            Body::HorizontalCylinder { diameter_m: 0.3 },
            Body::VerticalCylinder {
                diameter_m: 0.3,
                height_m: 3.0,
            },
            Body::Wall {
                height_m: 3.0,
                width_m: 4.0,
            },
            Body::Sphere { diameter_m: 2.0 },
        ] {
            let still_w_m2k = convection_w_m2k(body, 20.0, &Surroundings::still(20.0));
            assert!(still_w_m2k.is_finite() && still_w_m2k > 0.0, "{body:?}: {still_w_m2k}");
        }
    }

    #[test]
    fn impossible_bodies_and_surroundings_are_refused() {
        assert!(Body::Sphere { diameter_m: 0.0 }.checked().is_err());
        assert!(
            Body::Wall {
                height_m: 3.0,
                width_m: f64::NAN
            }
            .checked()
            .is_err()
        );
        assert!(
            Surroundings {
                wind_m_s: -1.0,
                ..Surroundings::still(20.0)
            }
            .checked()
            .is_err()
        );
        assert!(Surroundings::still(f64::NAN).checked().is_err());
    }
}
