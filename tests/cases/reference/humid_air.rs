//! Humid air, air properties and ammonia saturation.

use super::{Gauge, Table};
use coldjacket::heat::{air, ammonia};
use serde::Deserialize;

const KPA_PER_PSI: f64 = 6.894_757;
const KPA_PER_INHG: f64 = 3.386_389;
const STANDARD_KPA: f64 = 101.325;

#[test]
fn dew_point() {
    #[derive(Debug, Deserialize)]
    struct Exact {
        air_c: f64,
        rh_pct: f64,
        vapour_pa: f64,
        deposit_c: f64,
        dew_over_liquid_c: f64,
    }
    #[derive(Debug, Deserialize)]
    struct Magnus {
        air_c: f64,
        rh_pct: f64,
        deposit_c: f64,
    }
    #[derive(Debug, Deserialize)]
    struct Refused {
        air_c: f64,
        rh_pct: f64,
        why: String,
    }
    const FILE: &str = include_str!("../../reference/dew_point.json");
    let exact = Table::<Exact>::read(FILE, "hyland_wexler");
    let mut deposit = exact.gauge("dew or frost point");
    let mut over_liquid = exact.gauge("dew point over liquid");
    let mut pressure = Gauge::new("vapour pressure", 1.0e-9, "relative");
    for row in &exact.rows {
        let vapour_pa = air::vapour_pressure_pa(row.air_c, row.rh_pct).unwrap();
        pressure.note_ratio(vapour_pa, row.vapour_pa, row);
        deposit.note(air::dew_point_c(vapour_pa).unwrap() - row.deposit_c, row);
        over_liquid.note(
            air::dew_point_over_liquid_c(vapour_pa).unwrap() - row.dew_over_liquid_c,
            row,
        );
    }
    let magnus = Table::<Magnus>::read(FILE, "magnus");
    let mut cross = magnus.gauge("dew or frost point against Magnus");
    for row in &magnus.rows {
        let vapour_pa = air::vapour_pressure_pa(row.air_c, row.rh_pct).unwrap();
        cross.note(air::dew_point_c(vapour_pa).unwrap() - row.deposit_c, row);
    }
    for row in Table::<Refused>::read(FILE, "refused").rows {
        let answer = air::vapour_pressure_pa(row.air_c, row.rh_pct).and_then(air::dew_point_c);
        assert!(answer.is_err(), "{}: {row:?} gave {answer:?}", row.why);
    }
    pressure.judge();
    deposit.judge();
    over_liquid.judge();
    cross.judge();
}

#[test]
fn saturation() {
    #[derive(Debug, Deserialize)]
    struct Both {
        t_c: f64,
        liquid_pa: f64,
        ice_pa: Option<f64>,
    }
    #[derive(Debug, Deserialize)]
    struct One {
        t_c: f64,
        phase: String,
        pa: f64,
    }
    const FILE: &str = include_str!("../../reference/saturation.json");
    let same = Table::<Both>::read(FILE, "hyland_wexler");
    let mut gauge = same.gauge("saturation pressure");
    for row in &same.rows {
        gauge.note_ratio(air::saturation_pressure_liquid_pa(row.t_c), row.liquid_pa, row);
        if let Some(ice_pa) = row.ice_pa {
            gauge.note_ratio(air::saturation_pressure_ice_pa(row.t_c), ice_pa, row);
        }
    }
    gauge.judge();
    let other = Table::<One>::read(FILE, "iapws");
    let mut gauge = other.gauge("saturation pressure against IAPWS");
    for row in &other.rows {
        let found_pa = match row.phase.as_str() {
            "ice" => air::saturation_pressure_ice_pa(row.t_c),
            "liquid" => air::saturation_pressure_liquid_pa(row.t_c),
            phase => panic!("unknown phase {phase}"),
        };
        gauge.note_ratio(found_pa, row.pa, row);
    }
    gauge.judge();
}

#[test]
fn air_properties() {
    #[derive(Debug, Deserialize)]
    struct Row {
        film_c: f64,
        conductivity_w_mk: f64,
        kinematic_viscosity_m2_s: f64,
        prandtl: f64,
        density_kg_m3: f64,
    }
    let table = Table::<Row>::read(include_str!("../../reference/air_properties.json"), "air");
    let mut conductivity = Gauge::new("air conductivity", 2.0e-4, "relative");
    let mut viscosity = Gauge::new("air viscosity", 6.0e-4, "relative");
    let mut prandtl = table.gauge("air Prandtl number");
    let mut density = table.gauge("air density");
    for row in &table.rows {
        let found = air::AirProperties::at(row.film_c, STANDARD_KPA);
        conductivity.note_ratio(found.conductivity_w_mk, row.conductivity_w_mk, row);
        viscosity.note_ratio(found.kinematic_viscosity_m2_s, row.kinematic_viscosity_m2_s, row);
        prandtl.note_ratio(found.prandtl, row.prandtl, row);
        density.note_ratio(found.density_kg_m3, row.density_kg_m3, row);
    }
    conductivity.judge();
    viscosity.judge();
    prandtl.judge();
    density.judge();
}

#[test]
fn ammonia_saturation() {
    #[derive(Debug, Deserialize)]
    struct Row {
        t_c: f64,
        p_abs_kpa: f64,
    }
    #[derive(Debug, Deserialize)]
    struct Refused {
        t_c: Option<f64>,
        p_abs_kpa: Option<f64>,
        why: String,
    }
    const FILE: &str = include_str!("../../reference/ammonia.json");
    let full = Table::<Row>::read(FILE, "full_equation");
    let mut back = full.gauge("ammonia saturation temperature");
    let mut pressure = Gauge::new("ammonia saturation pressure", 5.0e-4, "relative");
    for row in &full.rows {
        back.note(ammonia::saturation_temperature_c(row.p_abs_kpa).unwrap() - row.t_c, row);
        pressure.note_ratio(ammonia::saturation_pressure_kpa(row.t_c).unwrap(), row.p_abs_kpa, row);
    }
    back.judge();
    pressure.judge();
    let same = Table::<Row>::read(FILE, "ancillary");
    let mut gauge = same.gauge("ammonia vapour-pressure equation");
    for row in &same.rows {
        gauge.note_ratio(ammonia::saturation_pressure_kpa(row.t_c).unwrap(), row.p_abs_kpa, row);
    }
    gauge.judge();
    for row in Table::<Refused>::read(FILE, "refused").rows {
        let by_pressure = row.p_abs_kpa.map(ammonia::saturation_temperature_c);
        let by_temperature = row.t_c.map(ammonia::saturation_pressure_kpa);
        let answer = by_pressure.or(by_temperature).unwrap();
        assert!(answer.is_err(), "{}: {row:?} gave {answer:?}", row.why);
    }
}

#[test]
fn ammonia_chart() {
    #[derive(Debug, Deserialize)]
    struct Row {
        t_f: f64,
        reading: f64,
        unit: String,
    }
    let table = Table::<Row>::read(include_str!("../../reference/ammonia_chart.json"), "chart");
    let mut gauge = table.gauge("printed ammonia chart");
    for row in &table.rows {
        let p_abs_kpa = match row.unit.as_str() {
            "psig" => STANDARD_KPA + row.reading * KPA_PER_PSI,
            "inHg vacuum" => STANDARD_KPA - row.reading * KPA_PER_INHG,
            unit => panic!("unknown unit {unit}"),
        };
        let found_f = ammonia::saturation_temperature_c(p_abs_kpa).unwrap() * 1.8 + 32.0;
        gauge.note(found_f - row.t_f, row);
    }
    gauge.judge();
}

#[test]
fn ammonia_at_altitude() {
    #[derive(Debug, Deserialize)]
    struct Row {
        altitude_m: f64,
        barometer_kpa: f64,
        gauge_kpa: f64,
        t_c: f64,
    }
    #[derive(Debug, Deserialize)]
    struct Refused {
        altitude_m: f64,
        why: String,
    }
    const FILE: &str = include_str!("../../reference/ammonia_altitude.json");
    let table = Table::<Row>::read(FILE, "altitude");
    let mut barometer = Gauge::new("barometer at altitude", 0.001, "kPa");
    let mut temperature = table.gauge("ammonia saturation from a gauge at altitude");
    for row in &table.rows {
        let barometer_kpa = air::barometer_kpa(row.altitude_m).unwrap();
        barometer.note(barometer_kpa - row.barometer_kpa, row);
        let found_c = ammonia::saturation_temperature_c(barometer_kpa + row.gauge_kpa).unwrap();
        temperature.note(found_c - row.t_c, row);
    }
    barometer.judge();
    temperature.judge();
    for row in Table::<Refused>::read(FILE, "refused").rows {
        assert!(air::barometer_kpa(row.altitude_m).is_err(), "{}", row.why);
    }
}
