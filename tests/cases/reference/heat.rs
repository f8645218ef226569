//! Film coefficients and the jacket's heat balance.

use super::{Gauge, Table};
use coldjacket::heat::air::vapour_pressure_pa;
use coldjacket::heat::balance;
use coldjacket::heat::film::{self, Body, Surroundings};
use coldjacket::heat::insulation::Conductivity;
use coldjacket::heat::nusselt;
use coldjacket::heat::section::Section;
use serde::Deserialize;

#[test]
fn nusselt() {
    #[derive(Debug, Deserialize)]
    struct Row {
        form: String,
        rayleigh: Option<f64>,
        reynolds: Option<f64>,
        slenderness: Option<f64>,
        prandtl: f64,
        nusselt: f64,
    }
    const FILE: &str = include_str!("../../reference/nusselt.json");
    for name in ["natural", "forced", "documented", "textbook"] {
        let table = Table::<Row>::read(FILE, name);
        let mut gauge = table.gauge(&format!("Nusselt number, {name}"));
        for row in &table.rows {
            let (number, prandtl) = (row.rayleigh.or(row.reynolds).unwrap(), row.prandtl);
            let found = match row.form.as_str() {
                "horizontal-cylinder" => nusselt::horizontal_cylinder(number, prandtl),
                "vertical-plate" => nusselt::vertical_plate(number, prandtl),
                "sphere" => nusselt::sphere(number, prandtl),
                "plate-free-face" => nusselt::plate_free_face(number),
                "plate-blocked-face" => nusselt::plate_blocked_face(number),
                "cross-flow" => nusselt::cross_flow(number, prandtl),
                "slender-vertical-cylinder" => {
                    nusselt::slender_vertical_cylinder(number / prandtl, prandtl, row.slenderness.unwrap())
                }
                form => panic!("unknown form {form}"),
            };
            gauge.note_ratio(found, row.nusselt, row);
        }
        gauge.judge();
    }
}

const BALANCE: &str = include_str!("../../reference/heat_balance.json");

/// The body a row names; a wall is as wide as high, which still air does not notice.
fn body_of(name: &str, outside_diameter_m: Option<f64>, height_m: Option<f64>) -> Body {
    let diameter_m = outside_diameter_m.unwrap_or(f64::NAN);
    let height_m = height_m.unwrap_or(3.0);
    match name {
        "horizontal-cylinder" => Body::HorizontalCylinder { diameter_m },
        "vertical-cylinder" => Body::VerticalCylinder { diameter_m, height_m },
        "wall" => Body::Wall {
            height_m,
            width_m: height_m,
        },
        "sphere" => Body::Sphere { diameter_m },
        name => panic!("unknown body {name}"),
    }
}

#[test]
fn heat_balance_examples() {
    #[derive(Debug, Deserialize)]
    struct Row {
        body: String,
        outside_diameter_m: Option<f64>,
        height_m: Option<f64>,
        thickness_m: f64,
        conductivity_w_mk: f64,
        service_c: f64,
        air_c: f64,
        emissivity: f64,
        wind_m_s: f64,
        surface_c: f64,
        flux_w_m2: f64,
        convection_w_m2k: f64,
        radiation_w_m2k: f64,
    }
    let table = Table::<Row>::read(BALANCE, "examples");
    let mut surface = table.gauge("jacket temperature");
    let mut flux = Gauge::new("jacket heat flux", 0.002, "relative");
    let mut coefficient = Gauge::new("film coefficients", 0.003, "relative");
    for row in &table.rows {
        let body = body_of(&row.body, row.outside_diameter_m, row.height_m);
        let section = Section::new(body, row.thickness_m, row.emissivity, row.service_c).unwrap();
        let surroundings = Surroundings {
            wind_m_s: row.wind_m_s,
            ..Surroundings::still(row.air_c)
        };
        let conductivity = Conductivity::constant(row.conductivity_w_mk);
        let found_c = balance::surface_temperature_c(&section, conductivity, &surroundings).unwrap();
        surface.note(found_c - row.surface_c, row);
        let conducted_w_m2 = section.conduction_w_m2(row.conductivity_w_mk, found_c);
        flux.note_ratio(conducted_w_m2, row.flux_w_m2, row);
        // The solver must close its own balance, and the coefficients must be those at the reference's jacket.
        let received = balance::jacket_heat_flux(&section, found_c, &surroundings);
        assert!(
            (received.total_w_m2() - conducted_w_m2).abs() < 1.0e-5,
            "{row:?}: {received:?}"
        );
        let at_reference_w_m2k = film::convection_w_m2k(body, row.surface_c, &surroundings);
        coefficient.note_ratio(at_reference_w_m2k, row.convection_w_m2k, row);
        let radiation_w_m2k = balance::radiation_w_m2k(row.emissivity, row.surface_c, row.air_c);
        coefficient.note_ratio(radiation_w_m2k, row.radiation_w_m2k, row);
    }
    surface.judge();
    flux.judge();
    coefficient.judge();
}

#[test]
fn heat_balance_with_a_fixed_coefficient() {
    #[derive(Debug, Deserialize)]
    struct Row {
        body: String,
        outside_diameter_m: Option<f64>,
        thickness_m: f64,
        conductivity_w_mk: f64,
        coefficient_w_m2k: f64,
        service_c: f64,
        air_c: f64,
        surface_c: f64,
        heat: f64,
        heat_unit: String,
    }
    let table = Table::<Row>::read(BALANCE, "fixed_coefficient");
    let mut surface = table.gauge("jacket temperature with a fixed coefficient");
    let mut heat = Gauge::new("heat with a fixed coefficient", 1.0e-9, "relative");
    for row in &table.rows {
        let body = body_of(&row.body, row.outside_diameter_m, None);
        let section = Section::new(body, row.thickness_m, 0.9, row.service_c).unwrap();
        // h (T_a − T_s) = λ (T_s − T_c)/ℓ, solved for T_s
        let shell_w_m2k = section.conduction_w_m2(row.conductivity_w_mk, row.service_c + 1.0);
        let found_c =
            (row.coefficient_w_m2k * row.air_c + shell_w_m2k * row.service_c) / (row.coefficient_w_m2k + shell_w_m2k);
        surface.note(found_c - row.surface_c, row);
        let diameter_m = row.outside_diameter_m.unwrap_or(f64::NAN);
        let area = match row.heat_unit.as_str() {
            "W/m" => std::f64::consts::PI * diameter_m,
            "W" => std::f64::consts::PI * diameter_m * diameter_m,
            "W/m²" => 1.0,
            unit => panic!("unknown unit {unit}"),
        };
        heat.note_ratio(
            section.conduction_w_m2(row.conductivity_w_mk, found_c) * area,
            row.heat,
            row,
        );
    }
    surface.judge();
    heat.judge();
}

/// The pipe of the inverse and wind cases, whose conditions the data file states.
fn reference_pipe() -> Section {
    let body = Body::HorizontalCylinder {
        diameter_m: 0.1143 + 2.0 * 0.075,
    };
    Section::new(body, 0.075, 0.9, -33.0).unwrap()
}

#[test]
fn heat_balance_inverse() {
    #[derive(Debug, Deserialize)]
    struct Row {
        surface_c: f64,
        flux_w_m2: f64,
        conductivity_w_mk: f64,
    }
    let table = Table::<Row>::read(BALANCE, "inverse");
    let mut conductivity = table.gauge("effective conductivity");
    let mut flux = table.gauge("flux at a measured jacket");
    let air = Surroundings::still(25.0);
    for row in &table.rows {
        let found_w_mk = balance::effective_conductivity_w_mk(&reference_pipe(), row.surface_c, &air).unwrap();
        conductivity.note_ratio(found_w_mk, row.conductivity_w_mk, row);
        let received = balance::jacket_heat_flux(&reference_pipe(), row.surface_c, &air);
        flux.note_ratio(received.total_w_m2(), row.flux_w_m2, row);
        let again = Conductivity::constant(found_w_mk);
        let back_c = balance::surface_temperature_c(&reference_pipe(), again, &air).unwrap();
        assert!((back_c - row.surface_c).abs() < 1.0e-6, "{row:?} came back as {back_c}");
    }
    conductivity.judge();
    flux.judge();
}

#[test]
fn heat_balance_contrast_in_wind() {
    #[derive(Debug, Deserialize)]
    struct Row {
        wind_m_s: f64,
        contrast_k: f64,
    }
    let table = Table::<Row>::read(BALANCE, "wind_contrast");
    let mut gauge = table.gauge("contrast of wet against dry");
    for row in &table.rows {
        let wind = Surroundings {
            wind_m_s: row.wind_m_s,
            ..Surroundings::still(25.0)
        };
        let at = |conductivity_w_mk: f64| {
            balance::surface_temperature_c(&reference_pipe(), Conductivity::constant(conductivity_w_mk), &wind).unwrap()
        };
        gauge.note(at(0.024) - at(0.072) - row.contrast_k, row);
    }
    gauge.judge();
}

#[test]
fn heat_balance_latent() {
    #[derive(Debug, Deserialize)]
    struct Row {
        air_c: f64,
        rh_pct: f64,
        surface_c: f64,
        convection_w_m2k: f64,
        latent_w_m2: f64,
    }
    let table = Table::<Row>::read(BALANCE, "latent");
    let mut gauge = table.gauge("latent heat flux");
    for row in &table.rows {
        let humid = Surroundings {
            vapour_pressure_pa: Some(vapour_pressure_pa(row.air_c, row.rh_pct).unwrap()),
            ..Surroundings::still(row.air_c)
        };
        let found_w_m2 = balance::latent_w_m2(row.convection_w_m2k, row.surface_c, &humid);
        gauge.note_ratio(found_w_m2, row.latent_w_m2, row);
        assert_eq!(balance::latent_w_m2(row.convection_w_m2k, row.air_c, &humid), 0.0);
    }
    gauge.judge();
}

#[test]
fn heat_balance_refusals() {
    #[derive(Debug, Deserialize)]
    struct Row {
        outside_diameter_m: f64,
        thickness_m: f64,
        emissivity: f64,
        service_c: f64,
        surface_c: f64,
        why: String,
    }
    for row in Table::<Row>::read(BALANCE, "refused").rows {
        let body = Body::HorizontalCylinder {
            diameter_m: row.outside_diameter_m,
        };
        let answer = Section::new(body, row.thickness_m, row.emissivity, row.service_c).and_then(|section| {
            balance::effective_conductivity_w_mk(&section, row.surface_c, &Surroundings::still(25.0))
        });
        assert!(answer.is_err(), "{}: {answer:?}", row.why);
    }
}

#[derive(Debug, Deserialize)]
struct Thickness {
    pipe_diameter_in: f64,
    service_f: f64,
    thickness_in: f64,
    other_solver_in: f64,
}

/// Least thickness, in half inches, that keeps the jacket at the dew point and the gain at its limit.
fn least_thickness_in(row: &Thickness) -> f64 {
    let celsius = |f: f64| (f - 32.0) / 1.8;
    let humid_air = Surroundings {
        wind_m_s: 7.5 * 0.447_04,
        ..Surroundings::still(celsius(100.0))
    };
    // 0.200 Btu in/(h ft² °F) at 75 °F, rising 0.1 % per °F; 8 Btu/(h ft²).
    let foam = Conductivity {
        tabulated_w_mk: 0.200 * 0.144_227_9,
        slope_per_k: 0.0018,
        constant_below_c: -100.0,
    };
    let limit_w_m2 = 8.0 * 3.154_591;
    (1..=16)
        .map(|halves| f64::from(halves) / 2.0)
        .find(|thickness_in| {
            let diameter_m = (row.pipe_diameter_in + 2.0 * thickness_in) * 0.0254;
            let body = Body::HorizontalCylinder { diameter_m };
            let section = Section::new(body, thickness_in * 0.0254, 0.4, celsius(row.service_f)).unwrap();
            let surface_c = balance::surface_temperature_c(&section, foam, &humid_air).unwrap();
            let gain_w_m2 = balance::jacket_heat_flux(&section, surface_c, &humid_air).total_w_m2();
            surface_c >= celsius(97.0) && gain_w_m2 <= limit_w_m2
        })
        .unwrap()
}

#[test]
fn condensation_thickness() {
    const FILE: &str = include_str!("../../reference/condensation_thickness.json");
    let table = Table::<Thickness>::read(FILE, "table");
    let file: serde_json::Value = serde_json::from_str(FILE).unwrap();
    let least_exact = file["table"]["least_exact"].as_u64().unwrap();
    let mut gauge = table.gauge("condensation thickness");
    let (mut exact, mut like_the_other) = (0, 0);
    for row in &table.rows {
        let found_in = least_thickness_in(row);
        gauge.note(found_in - row.thickness_in, row);
        exact += u64::from(found_in == row.thickness_in);
        like_the_other += u64::from(found_in == row.other_solver_in);
    }
    println!(
        "condensation thickness: {exact} of {} as printed, {like_the_other} as the independent solver",
        table.rows.len()
    );
    gauge.judge();
    assert!(exact >= least_exact, "{exact} of {} as printed", table.rows.len());
}
