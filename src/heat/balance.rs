//! Heat balance at the jacket: conduction through the shell meets convection, radiation and latent heat.
//!
//! The form is that of ASTM C680 and ISO 12241. Fluxes are per m² of jacket, positive into the cold surface.

use super::air::{
    GAS_CONSTANT_AIR_J_KGK, GAS_CONSTANT_VAPOUR_J_KGK, HEAT_CAPACITY_AIR_J_KGK, TRIPLE_POINT_C,
    saturation_pressure_over_deposit_pa,
};
use super::film::{Surroundings, convection_w_m2k};
use super::insulation::Conductivity;
use super::section::Section;
use super::{HeatError, Quantity, STEFAN_BOLTZMANN_W_M2K4, ZERO_C_K};

/// Heat of condensation of water near 15 °C, J/kg.
const CONDENSATION_J_KG: f64 = 2.46e6;
/// Heat of fusion of ice, J/kg; added where the deposit freezes.
const FUSION_J_KG: f64 = 3.34e5;
/// Width below the triple point over which the deposit's freezing is spread, K. A step in latent heat there would
/// leave a range of conductivities with one and the same jacket temperature.
const FREEZING_SPREAD_K: f64 = 1.0;
/// Lewis number of water vapour in air, to the power 2/3 of the Chilton–Colburn analogy: 0.865^(2/3).
const LEWIS_FACTOR: f64 = 0.907_842_98;

/// Least difference between jacket and service that a conductivity is inferred from, K.
const LEAST_DIFFERENCE_K: f64 = 0.1;

const CONDUCTIVITY: Quantity = Quantity {
    what: "conductivity",
    unit: "W/(m K)",
};
const SURFACE: Quantity = Quantity {
    what: "surface temperature",
    unit: "°C",
};

/// Heat flux into the jacket by its ways, W/m² of jacket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flux {
    /// From the air by convection.
    pub convection_w_m2: f64,
    /// From the surroundings by radiation.
    pub radiation_w_m2: f64,
    /// From vapour that condenses or freezes on the jacket; 0 above the dew point.
    pub latent_w_m2: f64,
}

impl Flux {
    /// Sum of the three, W/m².
    pub fn total_w_m2(&self) -> f64 {
        self.convection_w_m2 + self.radiation_w_m2 + self.latent_w_m2
    }
}

/// Flux into the jacket of `section` at `surface_c` from its `surroundings`.
///
/// Pure arithmetic over checked types: give it [`Surroundings::checked`] values; others yield numbers without sense.
pub fn jacket_heat_flux(section: &Section, surface_c: f64, surroundings: &Surroundings) -> Flux {
    let coefficient_w_m2k = convection_w_m2k(section.body(), surface_c, surroundings);
    Flux {
        convection_w_m2: coefficient_w_m2k * (surroundings.air_c - surface_c),
        radiation_w_m2: radiation_w_m2k(section.emissivity(), surface_c, surroundings.radiant_c)
            * (surroundings.radiant_c - surface_c),
        latent_w_m2: latent_w_m2(coefficient_w_m2k, surface_c, surroundings),
    }
}

/// Radiation coefficient of a grey jacket in large surroundings, W/(m² K).
pub fn radiation_w_m2k(emissivity: f64, surface_c: f64, radiant_c: f64) -> f64 {
    let (surface_k, radiant_k) = (surface_c + ZERO_C_K, radiant_c + ZERO_C_K);
    // h_r = ε σ (T_r² + T_s²)(T_r + T_s), so that h_r (T_r − T_s) = ε σ (T_r⁴ − T_s⁴) exactly
    emissivity * STEFAN_BOLTZMANN_W_M2K4 * (radiant_k * radiant_k + surface_k * surface_k) * (radiant_k + surface_k)
}

/// Convection and radiation coefficients together at `surface_c`, W/(m² K).
pub fn surface_coefficient_w_m2k(section: &Section, surface_c: f64, surroundings: &Surroundings) -> f64 {
    convection_w_m2k(section.body(), surface_c, surroundings)
        + radiation_w_m2k(section.emissivity(), surface_c, surroundings.radiant_c)
}

/// Latent flux of vapour that settles on a surface below its dew or frost point, W/m²; 0 above it.
///
/// Chilton–Colburn analogy with Le = 0.865, driven by the difference in vapour density; driven by mass fraction it
/// would give up to a sixth more (25 °C at 60 %, jacket at 12 °C). The deposit freezes below 0 °C and gives up its fusion heat too. A
/// wetted jacket above the dew point would lose heat by drying; that is not reckoned, nor is the deposit's own
/// resistance.
pub fn latent_w_m2(convection_w_m2k: f64, surface_c: f64, surroundings: &Surroundings) -> f64 {
    let Some(air_pa) = surroundings.vapour_pressure_pa else {
        return 0.0;
    };
    let surface_pa = saturation_pressure_over_deposit_pa(surface_c);
    if air_pa <= surface_pa {
        return 0.0;
    }
    let (air_k, surface_k) = (surroundings.air_c + ZERO_C_K, surface_c + ZERO_C_K);
    let density_kg_m3 = surroundings.barometer_kpa * 1000.0 / (GAS_CONSTANT_AIR_J_KGK * (air_k + surface_k) / 2.0);
    // h_m = h_c/(ρ c_p Le^(2/3)), m/s
    let transfer_m_s = convection_w_m2k / (density_kg_m3 * HEAT_CAPACITY_AIR_J_KGK * LEWIS_FACTOR);
    let frozen = ((TRIPLE_POINT_C - surface_c) / FREEZING_SPREAD_K).clamp(0.0, 1.0);
    let released_j_kg = CONDENSATION_J_KG + frozen * FUSION_J_KG;
    // q = h_m h_fg (ρ_v,air − ρ_v,surface), never negative: warm air just above its dew point may hold less by
    // volume than a cold surface. A surface warmer than the air counts at the air's temperature, else the flux
    // would step at the dew point.
    let vapour_kg_m3 = (air_pa / air_k - surface_pa / surface_k.min(air_k)) / GAS_CONSTANT_VAPOUR_J_KGK;
    transfer_m_s * released_j_kg * vapour_kg_m3.max(0.0)
}

/// Jacket temperature at which conduction balances the flux into the jacket, °C, to 1e-6 K.
///
/// Errors: surroundings out of range, conductivity outside 1e-4 to 100 W/(m K).
pub fn surface_temperature_c(
    section: &Section,
    conductivity: Conductivity,
    surroundings: &Surroundings,
) -> Result<f64, HeatError> {
    let surroundings = surroundings.checked()?;
    CONDUCTIVITY.within(conductivity.tabulated_w_mk, 1.0e-4..=100.0)?;
    let excess_w_m2 = |surface_c: f64| {
        let conductivity_w_mk = conductivity.at_mean_w_mk((surface_c + section.service_c()) / 2.0);
        jacket_heat_flux(section, surface_c, &surroundings).total_w_m2()
            - section.conduction_w_m2(conductivity_w_mk, surface_c)
    };
    let low_c = section.service_c().min(surroundings.air_c).min(surroundings.radiant_c);
    let mut high_c = section.service_c().max(surroundings.air_c).max(surroundings.radiant_c);
    // Vapour above ice saturation can hold a jacket a little warmer than everything round it.
    let mut lift_k = 1.0;
    while excess_w_m2(high_c) > 0.0 && lift_k < 200.0 {
        high_c += lift_k;
        lift_k *= 2.0;
    }
    Ok(falling_root(low_c, high_c, excess_w_m2))
}

/// Conductivity that explains a jacket at `surface_c`, W/(m K): the inverse of [`surface_temperature_c`].
///
/// It is the effective one at the mean of jacket and service, and comes out negative where the jacket's own error
/// puts it on the wrong side of the air: kept so, since cutting it off would bias an uncertainty drawn around it.
/// Errors: surroundings out of range, jacket outside −150 to 250 °C or within 0.1 K of the service temperature.
pub fn effective_conductivity_w_mk(
    section: &Section,
    surface_c: f64,
    surroundings: &Surroundings,
) -> Result<f64, HeatError> {
    let surroundings = surroundings.checked()?;
    SURFACE.within(surface_c, -150.0..=250.0)?;
    let difference_k = surface_c - section.service_c();
    if difference_k.abs() < LEAST_DIFFERENCE_K {
        return Err(HeatError::NoDifference {
            surface_c,
            service_c: section.service_c(),
        });
    }
    let flux_w_m2 = jacket_heat_flux(section, surface_c, &surroundings).total_w_m2();
    // λ = q ℓ/(T_s − T_c)
    Ok(flux_w_m2 * section.conduction_length_m() / difference_k)
}

/// Root of a falling function between `low` and `high` by the Illinois method: a secant that halves the weight of
/// an end that stays, so the bracket is never lost. About eight evaluations for a jacket.
fn falling_root(mut low: f64, mut high: f64, function: impl Fn(f64) -> f64) -> f64 {
    let (mut at_low, mut at_high) = (function(low), function(high));
    if at_low <= 0.0 {
        return low;
    }
    if at_high >= 0.0 {
        return high;
    }
    let mut stayed = 0_i8;
    for _ in 0..200 {
        let middle = (low * at_high - high * at_low) / (at_high - at_low);
        let at_middle = function(middle);
        // 1e-8 W/m² is under 1e-6 K: the flux changes by more than 0.1 W/m² a kelvin.
        if at_middle.abs() < 1.0e-8 || high - low < 1.0e-7 {
            return middle;
        }
        if at_middle > 0.0 {
            (low, at_low) = (middle, at_middle);
            if stayed > 0 {
                at_high /= 2.0;
            }
            stayed = 1;
        } else {
            (high, at_high) = (middle, at_middle);
            if stayed < 0 {
                at_low /= 2.0;
            }
            stayed = -1;
        }
    }
    (low + high) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::heat::air::vapour_pressure_pa;
    use crate::heat::film::Body;
    use proptest::prelude::*;

    fn a_body() -> impl Strategy<Value = Body> {
        prop_oneof![
            (0.5..4.0_f64).prop_map(|diameter_m| Body::HorizontalCylinder { diameter_m }),
            (0.5..4.0_f64, 0.5..12.0_f64)
                .prop_map(|(diameter_m, height_m)| { Body::VerticalCylinder { diameter_m, height_m } }),
            (0.5..6.0_f64, 0.5..12.0_f64).prop_map(|(height_m, width_m)| Body::Wall { height_m, width_m }),
            (0.5..6.0_f64).prop_map(|diameter_m| Body::Sphere { diameter_m }),
        ]
    }

    prop_compose! {
        fn a_section()(
            body in a_body(), thickness_m in 0.02..0.2_f64, emissivity in 0.1..1.0_f64, service_c in -50.0..-1.0_f64,
        ) -> Section {
            Section::new(body, thickness_m, emissivity, service_c).unwrap()
        }
    }

    prop_compose! {
        fn dry_surroundings()(
            air_c in -25.0..40.0_f64, wind_m_s in prop_oneof![Just(0.0), 0.0..8.0_f64], barometer_kpa in 75.0..104.0_f64,
        ) -> Surroundings {
            Surroundings { wind_m_s, barometer_kpa, ..Surroundings::still(air_c) }
        }
    }

    prop_compose! {
        fn humid_surroundings()(
            dry in dry_surroundings(), radiant_k in -30.0..10.0_f64, rh_pct in 20.0..100.0_f64,
        ) -> Surroundings {
            Surroundings {
                radiant_c: dry.air_c + radiant_k,
                vapour_pressure_pa: Some(vapour_pressure_pa(dry.air_c, rh_pct).unwrap()),
                ..dry
            }
        }
    }

    proptest! {
        #[test]
        fn jacket_lies_between_fluid_and_air(
            section in a_section(), dry in dry_surroundings(), lambda_w_mk in 0.01..1.0_f64,
        ) {
            let surface_c =
                surface_temperature_c(&section, Conductivity::constant(lambda_w_mk), &dry).unwrap();
            let (low_c, high_c) = (section.service_c().min(dry.air_c), section.service_c().max(dry.air_c));
            prop_assert!(surface_c > low_c && surface_c < high_c, "{surface_c}");
        }

        #[test]
        fn wetter_draws_the_jacket_towards_the_service(
            section in a_section(), humid in humid_surroundings(), lambda_w_mk in 0.015..0.5_f64, ratio in 1.01..5.0_f64,
        ) {
            let dry = Conductivity::constant(lambda_w_mk);
            let apart_k = |conductivity| {
                let surface_c = surface_temperature_c(&section, conductivity, &humid).unwrap();
                (surface_c - section.service_c()).abs()
            };
            let (dry_k, wet_k) = (apart_k(dry), apart_k(dry.times(ratio)));
            // Where jacket and service agree from the start, nothing is conducted and nothing can move.
            prop_assert!(wet_k < dry_k || dry_k < 1.0e-4, "{wet_k} {dry_k}");
        }

        #[test]
        fn conductivity_comes_back(
            section in a_section(), humid in humid_surroundings(), lambda_w_mk in 0.015..0.5_f64,
        ) {
            let surface_c =
                surface_temperature_c(&section, Conductivity::constant(lambda_w_mk), &humid).unwrap();
            if (surface_c - section.service_c()).abs() < 1.0 {
                // Too little difference to carry a conductivity to 1e-5; one draw in forty.
                return Ok(());
            }
            let back_w_mk = effective_conductivity_w_mk(&section, surface_c, &humid).unwrap();
            prop_assert!((back_w_mk / lambda_w_mk - 1.0).abs() < 1.0e-5, "{back_w_mk} for {lambda_w_mk}");
        }

        #[test]
        fn flux_falls_as_the_jacket_warms(
            section in a_section(), humid in humid_surroundings(), surface_c in -40.0..40.0_f64, step_k in 0.01..2.0_f64,
        ) {
            let cold_w_m2 = jacket_heat_flux(&section, surface_c, &humid).total_w_m2();
            let warm_w_m2 = jacket_heat_flux(&section, surface_c + step_k, &humid).total_w_m2();
            prop_assert!(warm_w_m2 < cold_w_m2, "{warm_w_m2} {cold_w_m2}");
        }
    }

    fn a_pipe() -> Section {
        Section::new(Body::HorizontalCylinder { diameter_m: 0.2643 }, 0.075, 0.9, -33.0).unwrap()
    }

    #[test]
    fn sweating_makes_a_jacket_warmer_and_hides_wet_insulation_if_left_out() {
        let soaked = Conductivity::constant(0.12);
        let humid = Surroundings {
            vapour_pressure_pa: Some(vapour_pressure_pa(25.0, 90.0).unwrap()),
            ..Surroundings::still(25.0)
        };
        let humid_c = surface_temperature_c(&a_pipe(), soaked, &humid).unwrap();
        let dry_c = surface_temperature_c(&a_pipe(), soaked, &Surroundings::still(25.0)).unwrap();
        assert!(humid_c > dry_c + 0.5, "{humid_c} {dry_c}");
        let blind_w_mk = effective_conductivity_w_mk(&a_pipe(), humid_c, &Surroundings::still(25.0)).unwrap();
        assert!(blind_w_mk < 0.09, "{blind_w_mk}");
    }

    #[test]
    fn the_coefficient_accounts_for_the_sensible_flux() {
        let air = Surroundings::still(25.0);
        let flux = jacket_heat_flux(&a_pipe(), 20.0, &air);
        let coefficient_w_m2k = surface_coefficient_w_m2k(&a_pipe(), 20.0, &air);
        assert!((flux.total_w_m2() - 5.0 * coefficient_w_m2k).abs() < 1.0e-9);
    }

    #[test]
    fn a_material_law_is_taken_at_the_mean_temperature() {
        let law = crate::heat::insulation::Insulation::Xps.conductivity();
        let air = Surroundings::still(25.0);
        let surface_c = surface_temperature_c(&a_pipe(), law, &air).unwrap();
        let back_w_mk = effective_conductivity_w_mk(&a_pipe(), surface_c, &air).unwrap();
        assert!((back_w_mk - law.at_mean_w_mk((surface_c - 33.0) / 2.0)).abs() < 1.0e-8);
    }

    #[test]
    fn impossible_questions_are_refused() {
        assert!(matches!(
            effective_conductivity_w_mk(&a_pipe(), -33.0, &Surroundings::still(25.0)),
            Err(HeatError::NoDifference { .. })
        ));
        let air = Surroundings::still(25.0);
        let unknown = Conductivity::constant(f64::NAN);
        assert!(surface_temperature_c(&a_pipe(), unknown, &air).is_err());
        assert!(effective_conductivity_w_mk(&a_pipe(), f64::NAN, &air).is_err());
    }
}
