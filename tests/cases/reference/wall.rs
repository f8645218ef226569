//! Required thickness, rates, remaining life and interval.

use super::Table;
use coldjacket::heat::wall::{Design, Part, interval_y, rate_m_per_year, remaining_life_y, required_m};
use serde::Deserialize;

const FILE: &str = include_str!("../../reference/wall.json");
const INCH_M: f64 = 0.0254;
const PSI_KPA: f64 = 6.894_757_293_168;

fn part(word: &str) -> Part {
    match word {
        "shell" => Part::Shell,
        "ellipsoidal" => Part::EllipsoidalHead,
        "hemispherical" => Part::HemisphericalHead,
        "torispherical" => Part::TorisphericalHead,
        other => panic!("{other}"),
    }
}

#[test]
fn required_thickness() {
    #[derive(Debug, Deserialize)]
    struct Row {
        part: String,
        pressure_mpa: f64,
        diameter_mm: f64,
        stress_mpa: f64,
        efficiency: f64,
        mm: f64,
    }
    let table = Table::<Row>::read(FILE, "required");
    let mut gauge = table.gauge("required thickness");
    for row in &table.rows {
        let design = Design {
            pressure_kpa: 1000.0 * row.pressure_mpa,
            stress_mpa: row.stress_mpa,
            joint_efficiency: row.efficiency,
            inside_diameter_m: row.diameter_mm / 1000.0,
            crown_radius_m: None,
        };
        gauge.note(1000.0 * required_m(part(&row.part), &design).unwrap() - row.mm, row);
    }
    gauge.judge();
}

#[test]
fn required_thickness_in_inches() {
    #[derive(Debug, Deserialize)]
    struct Row {
        part: String,
        diameter_in: f64,
        crown_in: Option<f64>,
        inches: f64,
    }
    let table = Table::<Row>::read(FILE, "required_us");
    let mut gauge = table.gauge("required thickness in inches");
    for row in &table.rows {
        let design = Design {
            pressure_kpa: 250.0 * PSI_KPA,
            stress_mpa: 20.0 * PSI_KPA,
            joint_efficiency: 0.85,
            inside_diameter_m: row.diameter_in * INCH_M,
            crown_radius_m: row.crown_in.map(|inches| inches * INCH_M),
        };
        gauge.note(required_m(part(&row.part), &design).unwrap() / INCH_M - row.inches, row);
    }
    gauge.judge();
}

#[test]
fn rate_life_and_interval() {
    #[derive(Debug, Deserialize)]
    struct Row {
        then: f64,
        now: f64,
        years: f64,
        required: Option<f64>,
        rate: f64,
        life: Option<f64>,
        interval: Option<f64>,
    }
    let table = Table::<Row>::read(FILE, "life");
    let mut gauge = table.gauge("rate, life and interval");
    for row in &table.rows {
        let rate = rate_m_per_year(row.then, row.now, row.years).unwrap();
        gauge.note(rate - row.rate, row);
        if let (Some(required), Some(wanted), Some(interval)) = (row.required, row.life, row.interval) {
            let life = remaining_life_y(row.now, required, rate);
            gauge.note(life.unwrap() - wanted, row);
            gauge.note(interval_y(life) - interval, row);
        }
    }
    gauge.judge();
}

#[test]
fn a_thick_wall_and_no_time_are_refused() {
    let design = Design {
        pressure_kpa: 60_000.0,
        stress_mpa: 138.0,
        joint_efficiency: 1.0,
        inside_diameter_m: 1.0,
        crown_radius_m: None,
    };
    assert!(required_m(Part::Shell, &design).is_err());
    assert!(
        required_m(
            Part::Shell,
            &Design {
                pressure_kpa: f64::NAN,
                ..design
            }
        )
        .is_err()
    );
    assert_eq!(rate_m_per_year(0.01, 0.009, 0.0), None);
    assert_eq!(remaining_life_y(0.0095, 0.006, 0.0), None);
    assert_eq!(interval_y(None), 10.0);
    // What is used up has no life left, whatever the rate.
    assert_eq!(remaining_life_y(0.006, 0.006, -1.0), Some(0.0));
}
