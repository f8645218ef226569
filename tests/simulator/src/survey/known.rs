//! The truth file.

use serde_json::{Value, json};

use super::sheet::Stated;
use super::{Entry, SurveyPlan};
use crate::truth::{Truth, runs};

/// The whole truth file.
pub(super) fn file(plan: &SurveyPlan, frames: Vec<Value>) -> Value {
    json!({
        "schema": "coldjacket-simulator.truth/1",
        "simulated": true,
        "sheet_errors": plan.errors,
        "reading": "masks are runs of pixels in row-major order: start, length, start, length …; contrasts are surface \
                    temperature minus that of the same pixel without patches",
        "frames": frames,
    })
}

/// The truth about one frame.
pub(super) fn frame(entry: &Entry, stated: &Stated, truth: &Truth, path: &str) -> Value {
    let cut = |value: f64| (value * 1000.0).round() / 1000.0;
    let outline: Vec<[f64; 2]> = truth.outline_px.iter().map(|(x, y)| [cut(*x), cut(*y)]).collect();
    let patches: Vec<Value> = truth
        .patches
        .iter()
        .map(|patch| {
            json!({
                "axial_m": cut(patch.axial_m),
                "angle_deg": cut(patch.angle_deg),
                "height_m": cut(patch.height_m),
                "area_m2": cut(patch.area_m2),
                "visible_area_m2": cut(patch.visible_area_m2),
                "conductivity_ratio": cut(patch.ratio),
                "contrast_mean_k": cut(patch.contrast_mean_k),
                "contrast_peak_k": cut(patch.contrast_peak_k),
                "pixel_runs": runs(&patch.pixels),
            })
        })
        .collect();
    let clutter: Vec<Value> = truth
        .clutter
        .iter()
        .map(|thing| json!({"kind": thing.kind, "pixel_runs": thing.pixels.as_ref().map(runs)}))
        .collect();
    let (height, width) = truth.vessel.dim();
    json!({
        "file": path,
        "asset": entry.sheet.asset,
        "seed": entry.seed,
        "width": width,
        "height": height,
        "pixels_per_metre": truth.pixels_per_metre,
        "vessel_outline_px": outline,
        "vessel_runs": runs(&truth.vessel),
        "visible_runs": runs(&truth.visible),
        "sound_surface_c": if truth.sound_surface_c.is_nan() { Value::Null } else { json!(cut(truth.sound_surface_c)) },
        "heat_gain_w": cut(truth.heat_gain_w),
        "sound_heat_gain_w": cut(truth.sound_heat_gain_w),
        "overall_conductivity_ratio": entry.scene.vessel.overall_ratio,
        "patches": patches,
        "clutter": clutter,
        "stated_in_sheets": stated,
        "scene": entry.scene,
    })
}
