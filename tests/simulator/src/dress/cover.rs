//! What fixtures lying on the jacket change in how it looks.

use crate::scene::{Fixture, Scene};
use crate::shape::{Shape, SurfacePoint};

/// What a fixture on the jacket changes there: emissivity along the normal, and a reflected temperature, °C.
pub fn surface_change(scene: &Scene, shape: &Shape, point: &SurfacePoint) -> (Option<f64>, Option<f64>) {
    let mut change = (None, None);
    for fixture in &scene.fixtures {
        if let Some(emissivity) = emissivity_on(fixture, shape, point) {
            change.0 = Some(emissivity);
        }
        if let Some(reflected_c) = mirrored_on(fixture, shape, point) {
            change.1 = Some(reflected_c);
        }
    }
    change
}

/// Whether a fixture changes how the jacket looks at a place.
pub fn covers(fixture: &Fixture, shape: &Shape, point: &SurfacePoint) -> bool {
    emissivity_on(fixture, shape, point).is_some() || mirrored_on(fixture, shape, point).is_some()
}

/// Emissivity along the normal where a fixture covers the jacket.
fn emissivity_on(fixture: &Fixture, shape: &Shape, point: &SurfacePoint) -> Option<f64> {
    let along_m = |axial_m: f64| point.run_m - axial_m;
    let arc_m = |angle_deg: f64| {
        if shape.is_flat() {
            point.round - angle_deg
        } else {
            shape.radius_m * (point.round - angle_deg.to_radians())
        }
    };
    let (covered, emissivity) = match *fixture {
        Fixture::Nameplate {
            axial_m,
            angle_deg,
            size_m,
        } => {
            let inside = along_m(axial_m).abs() < 0.5 * size_m.0;
            (inside && arc_m(angle_deg).abs() < 0.5 * size_m.1, 0.3)
        }
        Fixture::Band {
            axial_m,
            width_m,
            emissivity,
        } => (along_m(axial_m).abs() < 0.5 * width_m, emissivity),
        Fixture::Seam {
            angle_deg,
            width_m,
            emissivity,
        } => (arc_m(angle_deg).abs() < 0.5 * width_m, emissivity),
        Fixture::InspectionPort {
            axial_m,
            angle_deg,
            diameter_m,
        } => {
            let away_m = along_m(axial_m).hypot(arc_m(angle_deg));
            (away_m < 0.5 * diameter_m, 0.94)
        }
        Fixture::FrostPatch {
            axial_m,
            angle_deg,
            radius_m,
        } => (along_m(axial_m).hypot(arc_m(angle_deg)) < radius_m, 0.98),
        _ => (false, 0.0),
    };
    covered.then_some(emissivity)
}

/// Temperature of a warm thing mirrored at a place, °C.
fn mirrored_on(fixture: &Fixture, shape: &Shape, point: &SurfacePoint) -> Option<f64> {
    let Fixture::WarmReflection {
        middle_m,
        half_m,
        temperature_c,
    } = *fixture
    else {
        return None;
    };
    let side_m = if shape.is_flat() {
        point.round
    } else {
        shape.radius_m * point.round.sin()
    };
    let u = (point.axial_m - middle_m.0) / half_m.0;
    let v = (side_m - middle_m.1) / half_m.1;
    (u.hypot(v) < 1.0).then_some(temperature_c)
}
