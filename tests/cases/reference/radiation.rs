//! Planck band radiance, the measurement equation, raw signals, viewing angle.

use super::{Gauge, Table};
use coldjacket::radiation::RadiationError;
use coldjacket::radiation::fresnel::{AngularLaw, emissivity_ratio};
use coldjacket::radiation::measurement::{MeasurementEquation, Scene};
use coldjacket::radiation::planck::{self, BandRadiance};
use coldjacket::radiation::sakuma_hattori::SakumaHattori;
use serde::Deserialize;

#[test]
fn blackbody_fraction() {
    #[derive(Debug, Deserialize)]
    struct Row {
        lambda_t_um_k: f64,
        fraction: f64,
    }
    const FILE: &str = include_str!("../../reference/blackbody_fraction.json");
    for name in ["quadrature", "textbook"] {
        let table = Table::<Row>::read(FILE, name);
        let mut gauge = table.gauge(&format!("blackbody fraction, {name}"));
        for row in &table.rows {
            gauge.note(planck::fraction(row.lambda_t_um_k) - row.fraction, row);
        }
        gauge.judge();
    }
}

#[test]
fn band_radiance() {
    #[derive(Debug, Deserialize)]
    struct Row {
        low_um: f64,
        high_um: f64,
        t_c: f64,
        radiance_w_m2sr: f64,
        slope_w_m2srk: Option<f64>,
    }
    #[derive(Debug, Deserialize)]
    struct Refused {
        low_um: f64,
        high_um: f64,
        why: String,
    }
    const FILE: &str = include_str!("../../reference/band_radiance.json");
    let table = Table::<Row>::read(FILE, "band");
    let mut radiance = table.gauge("band radiance");
    let mut slope = Gauge::new("slope of band radiance", 1.0e-5, "relative");
    let mut back = Gauge::new("temperature from band radiance", 1.0e-4, "K");
    for row in &table.rows {
        let band = BandRadiance::new(row.low_um, row.high_um).unwrap();
        radiance.note_ratio(band.radiance_w_m2sr(row.t_c), row.radiance_w_m2sr, row);
        back.note(band.temperature_c(row.radiance_w_m2sr).unwrap() - row.t_c, row);
        if let Some(wanted) = row.slope_w_m2srk {
            slope.note_ratio(band.slope_w_m2srk(row.t_c), wanted, row);
        }
    }
    radiance.judge();
    slope.judge();
    back.judge();
    for row in Table::<Refused>::read(FILE, "refused").rows {
        assert!(BandRadiance::new(row.low_um, row.high_um).is_err(), "{}", row.why);
    }
}

const EQUATION: &str = include_str!("../../reference/measurement_equation.json");

fn long_wave() -> BandRadiance {
    BandRadiance::new(8.0, 14.0).unwrap()
}

#[test]
fn measurement_equation_forward() {
    #[derive(Debug, Deserialize)]
    struct Row {
        true_c: f64,
        emissivity: f64,
        reflected_c: f64,
        transmittance: f64,
        path_air_c: f64,
        low_um: f64,
        high_um: f64,
        measured_w_m2sr: f64,
        apparent_c: f64,
    }
    let table = Table::<Row>::read(EQUATION, "forward");
    let mut radiance = Gauge::new("measured radiance", 1.0e-6, "relative");
    let mut apparent = table.gauge("apparent temperature");
    let mut back = table.gauge("surface temperature from measured radiance");
    for row in &table.rows {
        let band = BandRadiance::new(row.low_um, row.high_um).unwrap();
        let scene = Scene {
            emissivity: row.emissivity,
            reflected_c: row.reflected_c,
            transmittance: row.transmittance,
            path_air_c: row.path_air_c,
        };
        let equation = MeasurementEquation::new(&band, scene).unwrap();
        radiance.note_ratio(equation.measured_radiance_w_m2sr(row.true_c), row.measured_w_m2sr, row);
        apparent.note(
            equation.apparent_temperature_c(row.true_c).unwrap() - row.apparent_c,
            row,
        );
        back.note(
            equation.surface_temperature_c(row.measured_w_m2sr).unwrap() - row.true_c,
            row,
        );
    }
    radiance.judge();
    apparent.judge();
    back.judge();
}

#[test]
fn measurement_equation_reverse() {
    #[derive(Debug, Deserialize)]
    struct Row {
        apparent_c: f64,
        emissivity: f64,
        reflected_c: f64,
        transmittance: f64,
        path_air_c: f64,
        surface_w_m2sr: f64,
        true_c: f64,
    }
    let band = long_wave();
    let table = Table::<Row>::read(EQUATION, "reverse");
    let mut radiance = Gauge::new("surface radiance", 1.0e-6, "relative");
    let mut surface = table.gauge("surface temperature from apparent");
    for row in &table.rows {
        let scene = Scene {
            emissivity: row.emissivity,
            reflected_c: row.reflected_c,
            transmittance: row.transmittance,
            path_air_c: row.path_air_c,
        };
        let equation = MeasurementEquation::new(&band, scene).unwrap();
        let measured_w_m2sr = band.radiance_w_m2sr(row.apparent_c);
        radiance.note_ratio(
            equation.surface_radiance_w_m2sr(measured_w_m2sr),
            row.surface_w_m2sr,
            row,
        );
        surface.note(
            equation.surface_temperature_c(measured_w_m2sr).unwrap() - row.true_c,
            row,
        );
        assert_eq!(
            equation.require_quantitative().is_err(),
            row.emissivity * row.transmittance < 0.5
        );
    }
    radiance.judge();
    surface.judge();
}

#[test]
fn measurement_equation_sensitivities() {
    #[derive(Debug, Deserialize)]
    struct Row {
        true_c: f64,
        emissivity: f64,
        reflected_c: f64,
        per_hundredth_emissivity_k: f64,
        per_reflected_k_k: f64,
    }
    let band = long_wave();
    let table = Table::<Row>::read(EQUATION, "sensitivities");
    let mut emissivity = table.gauge("sensitivity to emissivity");
    let mut reflected = table.gauge("sensitivity to reflected temperature");
    for row in &table.rows {
        let scene = Scene {
            emissivity: row.emissivity,
            reflected_c: row.reflected_c,
            transmittance: 1.0,
            path_air_c: 20.0,
        };
        let equation = MeasurementEquation::new(&band, scene).unwrap();
        let found = equation
            .sensitivities(equation.measured_radiance_w_m2sr(row.true_c))
            .unwrap();
        emissivity.note_ratio(found.per_emissivity_k / 100.0, row.per_hundredth_emissivity_k, row);
        reflected.note_ratio(found.per_reflected_k_k, row.per_reflected_k_k, row);
    }
    emissivity.judge();
    reflected.judge();
}

#[test]
fn measurement_equation_refusals() {
    #[derive(Debug, Deserialize)]
    struct Row {
        apparent_c: f64,
        emissivity: f64,
        reflected_c: f64,
        refusal: String,
    }
    let band = long_wave();
    for row in Table::<Row>::read(EQUATION, "refused").rows {
        let scene = Scene {
            emissivity: row.emissivity,
            reflected_c: row.reflected_c,
            transmittance: 1.0,
            path_air_c: 20.0,
        };
        let equation = match MeasurementEquation::new(&band, scene) {
            Ok(equation) => equation,
            Err(_) => {
                assert_eq!(row.refusal, "scene", "{row:?}");
                continue;
            }
        };
        let measured_w_m2sr = band.radiance_w_m2sr(row.apparent_c);
        let answer = match row.refusal.as_str() {
            "too-bright" => equation.require_quantitative().map(|()| f64::NAN),
            _ => equation.surface_temperature_c(measured_w_m2sr),
        };
        let found = match answer {
            Ok(_) => "none",
            Err(RadiationError::TooBright { .. }) => "too-bright",
            Err(RadiationError::NothingLeft { .. }) => "nothing-left",
            Err(RadiationError::OutOfRange { .. }) => "out-of-range",
        };
        assert_eq!(found, row.refusal, "{row:?}");
    }
}

#[test]
fn sakuma_hattori() {
    #[derive(Debug, Deserialize)]
    struct Row {
        t_c: f64,
        signal: f64,
        exact_w_m2sr: f64,
        from_exact_c: f64,
    }
    #[derive(Debug, Deserialize)]
    struct Coefficients {
        a_um: f64,
        b_um_k: f64,
        c: f64,
    }
    const FILE: &str = include_str!("../../reference/sakuma_hattori.json");
    let table = Table::<Row>::read(FILE, "fit");
    let file: serde_json::Value = serde_json::from_str(FILE).unwrap();
    let of: Coefficients = serde_json::from_value(file["fit"].clone()).unwrap();
    let camera = SakumaHattori::new(of.a_um, of.b_um_k, of.c).unwrap();
    let mut signal = table.gauge("Sakuma-Hattori signal");
    let mut temperature = Gauge::new("Sakuma-Hattori temperature", 1.0e-4, "K");
    let mut against_planck = Gauge::new("Sakuma-Hattori against the exact band", 0.0063, "K");
    for row in &table.rows {
        signal.note_ratio(camera.signal(row.t_c).unwrap(), row.signal, row);
        let found_c = camera.temperature_c(row.exact_w_m2sr).unwrap();
        temperature.note(found_c - row.from_exact_c, row);
        against_planck.note(found_c - row.t_c, row);
    }
    signal.judge();
    temperature.judge();
    against_planck.judge();
}

#[test]
fn fresnel() {
    #[derive(Debug, Deserialize)]
    struct Row {
        angle_deg: f64,
        ratio: f64,
    }
    let table = Table::<Row>::read(include_str!("../../reference/fresnel.json"), "coating");
    let mut gauge = table.gauge("emissivity ratio against angle");
    for row in &table.rows {
        gauge.note(emissivity_ratio(AngularLaw::Coating, row.angle_deg) - row.ratio, row);
    }
    gauge.judge();
}
