//! The moisture law and the screening rates of corrosion.

use super::Table;
use coldjacket::heat::corrosion::{Exposure, screening_rate_mm_per_year};
use coldjacket::heat::insulation::Insulation;
use coldjacket::heat::moisture::{LeastMoisture, conductivity_ratio, least_moisture};
use serde::Deserialize;

#[test]
fn moisture() {
    #[derive(Debug, Deserialize)]
    struct Row {
        insulation: String,
        psi: f64,
        ratio: f64,
    }
    #[derive(Debug, Deserialize)]
    struct Beyond {
        insulation: String,
        ratio: f64,
    }
    const FILE: &str = include_str!("../../reference/moisture.json");
    for name in ["law", "published"] {
        let table = Table::<Row>::read(FILE, name);
        let mut gauge = table.gauge(&format!("conductivity ratio of moist insulation, {name}"));
        for row in &table.rows {
            let insulation = Insulation::from_key(&row.insulation).unwrap();
            let found = conductivity_ratio(insulation, row.psi).unwrap();
            gauge.note_ratio(found, row.ratio, row);
            let LeastMoisture::Fraction { psi } = least_moisture(insulation, found * (1.0 - 1.0e-12)) else {
                panic!("{row:?} gave no fraction");
            };
            assert!((psi - row.psi).abs() < 1.0e-9, "{row:?} came back as {psi}");
        }
        gauge.judge();
    }
    for row in Table::<Beyond>::read(FILE, "beyond").rows {
        let insulation = Insulation::from_key(&row.insulation).unwrap();
        assert_eq!(
            least_moisture(insulation, row.ratio),
            LeastMoisture::BeyondTheLaw,
            "{row:?}"
        );
    }
}

#[test]
fn corrosion() {
    #[derive(Debug, Deserialize)]
    struct Row {
        t_c: Option<f64>,
        t_f: Option<f64>,
        severe: f64,
        moderate: f64,
        mild: f64,
        dry: f64,
    }
    #[derive(Debug, Deserialize)]
    struct Temperature {
        t_c: f64,
    }
    const FILE: &str = include_str!("../../reference/corrosion.json");
    for (name, per_mm) in [("points", 1.0 / 0.0254), ("interpolated", 1.0)] {
        let table = Table::<Row>::read(FILE, name);
        let mut gauge = table.gauge(&format!("screening corrosion rate, {name}"));
        for row in &table.rows {
            let metal_c = row.t_c.or(row.t_f.map(|f| (f - 32.0) / 1.8)).unwrap();
            for (exposure, wanted) in [
                (Exposure::Severe, row.severe),
                (Exposure::Moderate, row.moderate),
                (Exposure::Mild, row.mild),
                (Exposure::Dry, row.dry),
            ] {
                let found_mm = screening_rate_mm_per_year(metal_c, exposure).unwrap();
                gauge.note(found_mm * per_mm - wanted, (row, exposure));
            }
        }
        gauge.judge();
    }
    for row in Table::<Temperature>::read(FILE, "outside").rows {
        assert_eq!(
            screening_rate_mm_per_year(row.t_c, Exposure::Severe).unwrap(),
            0.0,
            "{row:?}"
        );
    }
    for row in Table::<Temperature>::read(FILE, "refused").rows {
        assert!(
            screening_rate_mm_per_year(row.t_c, Exposure::Severe).is_err(),
            "{row:?}"
        );
    }
}
