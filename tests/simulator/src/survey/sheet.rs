//! The sheets: what they state, with or without error.

use std::error::Error;

use serde::Serialize;

use super::{Entry, Given, Service, SheetErrors, SurveyPlan};
use crate::lens::Aim;
use crate::random::Prng;
use crate::scene::{DatumSide, Posture};
use crate::truth::Truth;

/// Half-widths of a 95 % interval are this many standard deviations.
const COVERAGE: f64 = 1.96;

/// The values the sheets state.
#[derive(Debug, Clone, Serialize)]
pub(super) struct Stated {
    service_c: f64,
    insulation_thickness_m: f64,
    conductivity_w_mk: f64,
    emissivity: f64,
    air_c: f64,
    reflected_c: f64,
    wind_m_s: f64,
    relative_humidity_pct: f64,
}

/// A small fixed hash (FNV-1a), so that an asset's errors are the same in each of its frames.
fn hash(text: &str) -> u64 {
    text.bytes().fold(0xCBF2_9CE4_8422_2325, |sum, byte| {
        (sum ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01B3)
    })
}

/// What the sheets will say. With errors drawn, the camera's offset, and the true conductivity where the sheet leaves it to
/// a table, err too: those are changed in the entry's scene.
pub(super) fn state(entry: &mut Entry, errors: SheetErrors) -> Stated {
    let scene = &mut entry.scene;
    let mean_c = 0.5 * (scene.service_c + scene.conditions.air_c);
    if let SheetErrors::Drawn(seed) = errors {
        let mut asset = Prng::new(seed ^ hash(&entry.sheet.asset));
        let spread = asset.normal();
        if entry.sheet.conductivity == Given::Tabulated {
            scene.vessel.conductivity.at_24c_w_mk *= 1.0 + 0.10 * spread / COVERAGE;
        }
        let mut frame = Prng::new(seed ^ hash(&entry.sheet.name) ^ 0xF7A3);
        scene.camera.offset_k += 2.0 * frame.normal() / COVERAGE;
    }
    let mut stated = Stated {
        service_c: scene.service_c,
        insulation_thickness_m: scene.vessel.insulation_thickness_m,
        conductivity_w_mk: scene.vessel.conductivity.at_c(mean_c),
        emissivity: scene.vessel.jacket.emissivity,
        air_c: scene.conditions.air_c,
        reflected_c: scene.conditions.reflected_c,
        wind_m_s: scene.conditions.wind_m_s,
        relative_humidity_pct: scene.conditions.relative_humidity_pct,
    };
    if let SheetErrors::Drawn(seed) = errors {
        stated.err(
            &mut Prng::new(seed ^ hash(&entry.sheet.asset) ^ 0xA55E),
            &mut Prng::new(seed ^ hash(&entry.sheet.name) ^ 0xC0DE),
        );
    }
    stated
}

impl Stated {
    /// Adds errors: of the asset's row from the first stream, of the frame's from the second.
    fn err(&mut self, asset: &mut Prng, frame: &mut Prng) {
        self.service_c += 1.0 * asset.normal() / COVERAGE;
        self.insulation_thickness_m *= 1.0 + 0.05 * asset.normal() / COVERAGE;
        self.emissivity = (self.emissivity + 0.02 * asset.normal() / COVERAGE).clamp(0.01, 0.99);
        self.air_c += 0.5 * frame.normal() / COVERAGE;
        self.reflected_c += 1.0 * frame.normal() / COVERAGE;
        let wind_half_m_s = (0.25 * self.wind_m_s).max(0.2);
        self.wind_m_s = (self.wind_m_s + wind_half_m_s * frame.normal() / COVERAGE).max(0.0);
        let humidity = self.relative_humidity_pct + 3.0 * frame.normal() / COVERAGE;
        self.relative_humidity_pct = humidity.clamp(1.0, 100.0);
    }
}

/// Rows whose columns may differ.
pub(super) struct Table {
    rows: Vec<Vec<(String, String)>>,
}

impl Table {
    pub(super) fn new() -> Self {
        Self { rows: Vec::new() }
    }

    pub(super) fn push(&mut self, row: Vec<(String, String)>) {
        self.rows.push(row);
    }

    /// All rows under the union of their columns, in order of first use.
    pub(super) fn to_csv(&self) -> Result<Vec<u8>, Box<dyn Error>> {
        let mut columns: Vec<&str> = Vec::new();
        for (column, _) in self.rows.iter().flatten() {
            if !columns.contains(&column.as_str()) {
                columns.push(column);
            }
        }
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(&columns)?;
        for row in &self.rows {
            let cell = |column: &&str| {
                let found = row.iter().find(|(name, _)| name == column);
                found.map_or("", |(_, value)| value.as_str())
            };
            writer.write_record(columns.iter().map(cell))?;
        }
        Ok(writer.into_inner()?)
    }
}

fn cell(column: &str, value: impl ToString) -> (String, String) {
    (column.into(), value.to_string())
}

/// The asset's row.
pub(super) fn asset_row(entry: &Entry, stated: &Stated, altitude_m: f64) -> Vec<(String, String)> {
    let (vessel, sheet) = (&entry.scene.vessel, &entry.sheet);
    let shape = match vessel.posture {
        Posture::HorizontalCylinder => "horizontal-cylinder",
        Posture::VerticalCylinder => "vertical-cylinder",
        Posture::Flat => "flat",
    };
    let mm = |metres: f64| format!("{:.0}", 1000.0 * metres);
    let mut row = vec![
        cell("asset", &sheet.asset),
        cell("shape", shape),
        cell("length_mm", mm(vessel.length_m)),
        cell("insulation", &sheet.insulation),
        cell(
            "insulation_thickness_mm",
            format!("{:.1}", 1000.0 * stated.insulation_thickness_m),
        ),
        cell("jacket", &sheet.jacket),
    ];
    row.push(match vessel.posture {
        Posture::Flat => cell("height_mm", mm(vessel.height_m)),
        _ => cell("outside_diameter_mm", mm(vessel.diameter_m)),
    });
    if sheet.conductivity == Given::Stated {
        let value = format!("{:.5}", stated.conductivity_w_mk);
        row.push(cell("insulation_conductivity_w_mk", value));
    }
    if sheet.emissivity == Given::Stated {
        row.push(cell("emissivity", format!("{:.3}", stated.emissivity)));
    }
    row.push(match sheet.service {
        Service::Temperature => cell("service_temperature_c", format!("{:.2}", stated.service_c)),
        Service::SuctionPressure => {
            let gauge_kpa = ammonia_kpa(stated.service_c) - barometer_kpa(altitude_m);
            cell("suction_pressure_kpa_gauge", format!("{gauge_kpa:.2}"))
        }
    });
    let setting = match sheet.setting {
        super::Setting::Indoor => "indoor",
        super::Setting::Outdoor => "outdoor",
    };
    row.push(cell("setting", setting));
    row.extend(sheet.asset_cells.iter().cloned());
    row
}

/// The frame's row.
pub(super) fn frame_row(entry: &Entry, stated: &Stated, truth: &Truth, path: &str) -> Vec<(String, String)> {
    let camera = &entry.scene.camera;
    let mut row = vec![
        cell("file", path),
        cell("asset", &entry.sheet.asset),
        cell("temperature_scale", entry.sheet.scale()),
        cell("air_temperature_c", format!("{:.2}", stated.air_c)),
        cell("relative_humidity_pct", format!("{:.1}", stated.relative_humidity_pct)),
        cell("wind_m_s", format!("{:.2}", stated.wind_m_s)),
        cell("reflected_temperature_c", format!("{:.2}", stated.reflected_c)),
    ];
    let side = match camera.datum_side {
        DatumSide::Left => "left",
        DatumSide::Right => "right",
        DatumSide::Bottom => "bottom",
        DatumSide::Top => "top",
    };
    row.push(cell("datum_side", side));
    if let Some(start_m) = view_start_m(entry, truth) {
        row.push(cell("view_start_mm", format!("{:.0}", 1000.0 * start_m)));
    }
    if field_of_view_deg(entry).is_some() {
        row.push(cell("camera", camera_name(entry)));
    }
    row.extend(entry.sheet.frame_cells.iter().cloned());
    row
}

/// The name in survey.toml of the camera of a frame taken from near by.
fn camera_name(entry: &Entry) -> String {
    format!("of-{}", entry.sheet.name)
}

/// Field of view along the longer side of the picture, where the camera stands near and the sheet tells.
fn field_of_view_deg(entry: &Entry) -> Option<f64> {
    let camera = &entry.scene.camera;
    let distance_m = camera
        .perspective_m
        .filter(|_| entry.sheet.field_of_view == Given::Stated)?;
    let half_m = 0.5 * camera.width.max(camera.height) as f64 / camera.pixels_per_metre;
    Some(2.0 * (half_m / distance_m).atan().to_degrees())
}

/// Where the asset is not wholly in view along its axis: axial place of the picture's datum-side edge, m; negative where
/// the edge lies before the datum tangent line.
fn view_start_m(entry: &Entry, truth: &Truth) -> Option<f64> {
    let camera = &entry.scene.camera;
    let (width, height) = (camera.width as f64, camera.height as f64);
    let lengthwise = matches!(camera.datum_side, DatumSide::Left | DatumSide::Right);
    let leaves = truth.outline_px.iter().any(|(x, y)| {
        let (place, end) = if lengthwise { (*x, width) } else { (*y, height) };
        place < -0.5 || place > end - 0.5
    });
    let (x, y) = match camera.datum_side {
        DatumSide::Left => (-0.5, 0.5 * height),
        DatumSide::Right => (width - 0.5, 0.5 * height),
        DatumSide::Bottom => (0.5 * width, height - 0.5),
        DatumSide::Top => (0.5 * width, -0.5),
    };
    leaves.then(|| Aim::of(camera, entry.scene.vessel.posture).plane_m(x, y).0)
}

/// survey.toml.
pub(super) fn survey_toml(plan: &SurveyPlan) -> String {
    let cameras: String = plan
        .entries
        .iter()
        .filter_map(|entry| Some((camera_name(entry), field_of_view_deg(entry)?)))
        .map(|(name, deg)| format!("\n[cameras.{name}]\nfield_of_view_deg = {deg:.2}\n"))
        .collect();
    format!(
        "# Simulated: no real plant, person or instrument.\ntitle = \"{}\"\nplant = \"{}\"\ndate = \"{}\"\ninspector = \
         \"{}\"\n\n[site]\naltitude_m = {:.1}\n{}{cameras}",
        plan.title, plan.plant, plan.date, plan.inspector, plan.altitude_m, plan.further_toml
    )
}

/// Barometer of the standard atmosphere, kPa.
fn barometer_kpa(altitude_m: f64) -> f64 {
    101.325 * (1.0 - 2.255_77e-5 * altitude_m).powf(5.255_88)
}

/// Saturation pressure of ammonia, kPa, −60 to 10 °C: ln p through reference-library values, quadratic in 1/T.
fn ammonia_kpa(temperature_c: f64) -> f64 {
    const KNOWN: [(f64, f64); 8] = [
        (-60.0, 21.8381),
        (-50.0, 40.7760),
        (-40.0, 71.6333),
        (-30.0, 119.3756),
        (-20.0, 190.0261),
        (-10.0, 290.6395),
        (0.0, 429.2478),
        (10.0, 614.7902),
    ];
    let first = KNOWN
        .partition_point(|(celsius, _)| *celsius < temperature_c)
        .clamp(2, KNOWN.len() - 1)
        - 2;
    let points = &KNOWN[first..first + 3];
    let inverse = |celsius: f64| 1.0 / (celsius + 273.15);
    let x = inverse(temperature_c);
    let logarithm: f64 = (0..3)
        .map(|i| {
            let weight: f64 = (0..3)
                .filter(|j| *j != i)
                .map(|j| {
                    let (own, other) = (inverse(points[i].0), inverse(points[j].0));
                    (x - other) / (own - other)
                })
                .product();
            weight * points[i].1.ln()
        })
        .sum();
    logarithm.exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ammonia_pressure_meets_values_between_its_points() {
        for (celsius, kpa) in [
            (-45.0, 54.4292),
            (-35.0, 93.0420),
            (-33.33, 101.2689),
            (-15.0, 236.1076),
        ] {
            assert!((ammonia_kpa(celsius) / kpa - 1.0).abs() < 2e-4, "{celsius}");
        }
    }
}
