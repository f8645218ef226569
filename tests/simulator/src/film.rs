//! Heat exchange between jacket and surroundings, by correlations other than those of the program under test.

use crate::scene::{Conditions, Posture, Scene};
use crate::shape::{Shape, Station};

const STEFAN_BOLTZMANN_W_M2K4: f64 = 5.670_374_419e-8;
const GRAVITY_M_S2: f64 = 9.806_65;

/// Convection, radiation and other heat into the jacket, linear about the present surface temperature.
#[derive(Debug, Clone, Copy)]
pub struct Film {
    /// Convective and radiative coefficient together, W/(m² K).
    pub coefficient_w_m2k: f64,
    /// Inflow at a jacket of 0 °C, W/m²: Σ h T plus latent heat and sunshine.
    pub source_w_m2: f64,
}

impl Film {
    /// Heat flux into the jacket at a surface temperature, W/m².
    pub fn flux_w_m2(&self, surface_c: f64) -> f64 {
        self.source_w_m2 - self.coefficient_w_m2k * surface_c
    }
}

/// What a place of the jacket faces.
#[derive(Debug, Clone, Copy)]
pub struct Exposure {
    /// Air there, °C.
    pub air_c: f64,
    /// Upward part of the outward normal.
    pub upward: f64,
    /// Radiant surroundings as seen by a matt surface there, °C.
    pub radiant_c: f64,
}

/// Heights and radiant surroundings of a place; `round` is rad, or m above the bottom of a flat.
pub fn expose(scene: &Scene, shape: &Shape, station: &Station, round: f64) -> Exposure {
    let conditions = &scene.conditions;
    let (rise_m, upward) = match shape.posture {
        Posture::HorizontalCylinder => (-station.radius_m * round.sin(), -station.normal_radial * round.sin()),
        Posture::VerticalCylinder => (station.axial_m - 0.5 * shape.length_m, station.normal_axial),
        Posture::Flat => (round - 0.5 * shape.height_m, 0.0),
    };
    Exposure {
        air_c: conditions.air_c + conditions.stratification_k_m * rise_m,
        upward,
        radiant_c: surroundings_c(conditions, upward),
    }
}

/// Radiant surroundings in a direction with the given upward part, °C: level with the asset, blending to overhead.
pub fn surroundings_c(conditions: &Conditions, upward: f64) -> f64 {
    let share = upward.max(0.0);
    conditions.reflected_c + conditions.overhead_offset_k * share * share
}

/// The film at a place and a surface temperature.
pub fn film(scene: &Scene, shape: &Shape, exposure: &Exposure, surface_c: f64) -> Film {
    let conditions = &scene.conditions;
    let difference_k = exposure.air_c - surface_c;
    let natural = natural_w_m2k(shape, conditions, exposure, surface_c);
    let forced = forced_w_m2k(shape, conditions, 0.5 * (exposure.air_c + surface_c));
    // Joined by the fourth power, as often advised for transverse flow.
    let convective = (natural.powi(4) + forced.powi(4)).powf(0.25);
    // h_r = ε σ (T_s² + T_r²)(T_s + T_r): exact for a grey jacket in large surroundings.
    let (surface_k, radiant_k) = (surface_c + 273.15, exposure.radiant_c + 273.15);
    let radiative = scene.vessel.jacket.emissivity
        * STEFAN_BOLTZMANN_W_M2K4
        * (surface_k * surface_k + radiant_k * radiant_k)
        * (surface_k + radiant_k);
    let mut source = convective * (surface_c + difference_k) + radiative * exposure.radiant_c;
    if conditions.condensing {
        source += latent_w_m2(conditions, exposure.air_c, surface_c, convective);
    }
    source += conditions.sun_w_m2 * exposure.upward.max(0.0);
    Film {
        coefficient_w_m2k: convective + radiative,
        source_w_m2: source,
    }
}

/// Natural convection, W/(m² K). Level cylinders: Morgan 1975, Nu_D = C Raⁿ (constants checked against a heat-transfer
/// library). Upright surfaces: the simplified air forms after McAdams, h = 1.42 (ΔT/L)^¼ or 1.31 ΔT^⅓ (from memory, not
/// confirmed), the larger of the two.
fn natural_w_m2k(shape: &Shape, conditions: &Conditions, exposure: &Exposure, surface_c: f64) -> f64 {
    let difference_k = (exposure.air_c - surface_c).abs().max(0.02);
    if shape.posture != Posture::HorizontalCylinder {
        let length_m = if shape.is_flat() {
            shape.height_m
        } else {
            shape.length_m
        };
        return (1.42 * (difference_k / length_m).powf(0.25)).max(1.31 * difference_k.cbrt());
    }
    let film_k = 0.5 * (exposure.air_c + surface_c) + 273.15;
    let air = air_at_k(film_k);
    let diameter_m = 2.0 * shape.radius_m;
    let rayleigh = GRAVITY_M_S2 * difference_k * diameter_m.powi(3) * air.prandtl
        / (film_k * air.viscosity_m2_s * air.viscosity_m2_s);
    let (factor, power) = match rayleigh {
        ra if ra < 1e2 => (1.02, 0.148),
        ra if ra < 1e4 => (0.850, 0.188),
        ra if ra < 1e7 => (0.480, 0.250),
        _ => (0.125, 0.333),
    };
    // Cold air gathers as it falls round a cold cylinder: the film is thinnest on top.
    let uneven = 1.0 + conditions.film_unevenness * exposure.upward;
    factor * rayleigh.powf(power) * air.conductivity_w_mk / diameter_m * uneven
}

/// Forced convection, W/(m² K). Cylinders: Žukauskas, Nu = C Re^m Pr^0.37 (from memory, not confirmed); flats: fully
/// turbulent plate, Nu = 0.037 Re^0.8 Pr^⅓.
fn forced_w_m2k(shape: &Shape, conditions: &Conditions, film_c: f64) -> f64 {
    if conditions.wind_m_s <= 0.0 {
        return 0.0;
    }
    let air = air_at_k(film_c + 273.15);
    let length_m = if shape.is_flat() {
        shape.length_m
    } else {
        2.0 * shape.radius_m
    };
    let reynolds = conditions.wind_m_s * length_m / air.viscosity_m2_s;
    let nusselt = if shape.is_flat() {
        0.037 * reynolds.powf(0.8) * air.prandtl.cbrt()
    } else {
        let (factor, power) = match reynolds {
            re if re < 40.0 => (0.75, 0.4),
            re if re < 1e3 => (0.51, 0.5),
            re if re < 2e5 => (0.26, 0.6),
            _ => (0.076, 0.7),
        };
        factor * reynolds.powf(power) * air.prandtl.powf(0.37)
    };
    nusselt * air.conductivity_w_mk / length_m
}

/// Latent heat of condensation, W/m², by the analogy of heat and mass transfer with a Lewis number of 0.87:
/// q = h_c / (c_p Le^⅔) · h_fg · (w_air − w_surface).
fn latent_w_m2(conditions: &Conditions, air_c: f64, surface_c: f64, convective: f64) -> f64 {
    let vapour_pa = 0.01 * conditions.relative_humidity_pct * saturation_pa(air_c);
    let excess = mixing_ratio(vapour_pa) - mixing_ratio(saturation_pa(surface_c));
    convective / (1006.0 * 0.87_f64.powf(2.0 / 3.0)) * 2.5e6 * excess.max(0.0)
}

/// Magnus form over water, 6.112 hPa · exp(17.62 t / (243.12 + t)).
fn saturation_pa(temperature_c: f64) -> f64 {
    611.2 * (17.62 * temperature_c / (243.12 + temperature_c)).exp()
}

fn mixing_ratio(vapour_pa: f64) -> f64 {
    0.622 * vapour_pa / (101_325.0 - vapour_pa)
}

struct Air {
    conductivity_w_mk: f64,
    viscosity_m2_s: f64,
    prandtl: f64,
}

/// Dry air at sea level: Sutherland viscosity, ideal-gas density, power-law conductivity.
fn air_at_k(temperature_k: f64) -> Air {
    let dynamic_pa_s = 1.458e-6 * temperature_k.powf(1.5) / (temperature_k + 110.4);
    let density_kg_m3 = 101_325.0 / (287.05 * temperature_k);
    let conductivity_w_mk = 0.024_36 * (temperature_k / 273.15).powf(0.86);
    Air {
        conductivity_w_mk,
        viscosity_m2_s: dynamic_pa_s / density_kg_m3,
        prandtl: dynamic_pa_s * 1006.0 / conductivity_w_mk,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn air_matches_tabulated_values() {
        // Values computed with a reference library at 283.15 K and 303.15 K.
        let cold = air_at_k(283.15);
        assert!((cold.conductivity_w_mk / 0.025_121 - 1.0).abs() < 0.004);
        assert!((cold.viscosity_m2_s / 1.420_38e-5 - 1.0).abs() < 0.008);
        let warm = air_at_k(303.15);
        assert!((warm.conductivity_w_mk / 0.026_618 - 1.0).abs() < 0.004);
        assert!((warm.prandtl / 0.706_67 - 1.0).abs() < 0.01);
    }

    #[test]
    fn still_air_film_is_of_the_usual_size_and_balances_at_air_temperature() {
        let scene = Scene::plain_horizontal();
        let shape = Shape::of(&scene.vessel);
        let exposure = expose(&scene, &shape, &shape.station(1.0), 0.0);
        let film_there = film(&scene, &shape, &exposure, 18.0);
        assert!((6.0..8.5).contains(&film_there.coefficient_w_m2k));
        let balanced = film(&scene, &shape, &exposure, 20.0);
        assert!(balanced.flux_w_m2(20.0).abs() < 1e-9);
    }
}
