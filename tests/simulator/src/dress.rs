//! Turns fixtures and background into things a picture can be painted with.

mod backdrop;
mod cover;

pub use backdrop::Backdrop;
pub use cover::{covers, surface_change};

use crate::scene::{Fixture, Layer, NozzleState, Posture, Scene};
use crate::shape::Shape;

/// A bar with straight ends in the axis plane, (axial, across) m, with its temperature from end to end.
#[derive(Debug, Clone)]
pub struct Bar {
    from_m: (f64, f64),
    to_m: (f64, f64),
    half_width_m: f64,
    from_c: f64,
    to_c: f64,
    round: bool,
    /// Before or behind the asset.
    pub layer: Layer,
}

impl Bar {
    /// Apparent temperature at a point of the plane, °C, or `None` outside the bar.
    pub fn at(&self, along_m: f64, across_m: f64, ambient_c: f64) -> Option<f64> {
        let axis = (self.to_m.0 - self.from_m.0, self.to_m.1 - self.from_m.1);
        let length_m = axis.0.hypot(axis.1);
        let offset = (along_m - self.from_m.0, across_m - self.from_m.1);
        let (down_m, side_m) = if length_m < 1e-9 {
            (0.0, offset.0.hypot(offset.1))
        } else {
            (
                (offset.0 * axis.0 + offset.1 * axis.1) / length_m,
                ((offset.0 * axis.1 - offset.1 * axis.0) / length_m).abs(),
            )
        };
        if side_m > self.half_width_m || down_m < 0.0 || down_m > length_m {
            return None;
        }
        let part = if length_m > 1e-9 { down_m / length_m } else { 0.0 };
        let plain_c = self.from_c + part * (self.to_c - self.from_c);
        // The limb of a round bar reflects more of the surroundings.
        let limb = if self.round {
            0.35 * (side_m / self.half_width_m).powi(6)
        } else {
            0.0
        };
        Some(plain_c + limb * (ambient_c - plain_c))
    }
}

/// Temperatures the bars are painted with.
struct Tints {
    jacket_c: f64,
    wall_c: f64,
    frosted_c: f64,
    bare_c: f64,
}

impl Tints {
    fn of(scene: &Scene) -> Self {
        let air_c = scene.conditions.air_c;
        Self {
            jacket_c: estimate_jacket_c(scene),
            wall_c: scene.background.wall_c,
            frosted_c: (air_c - 4.0).min((scene.service_c + 2.0).max(-4.0)),
            bare_c: 0.5 * (scene.service_c + air_c).max(air_c - 24.0) + 0.5 * (air_c - 6.0).min(air_c),
        }
    }
    fn nozzle_c(&self, state: NozzleState) -> f64 {
        match state {
            NozzleState::Frosted => self.frosted_c,
            NozzleState::Bare => self.bare_c,
            NozzleState::Insulated => self.jacket_c - 0.4,
        }
    }
}

/// A rough jacket temperature over sound insulation, °C, to choose surroundings by; the picture never uses it.
pub fn estimate_jacket_c(scene: &Scene) -> f64 {
    let vessel = &scene.vessel;
    let air_c = scene.conditions.air_c;
    let through = vessel.overall_ratio * vessel.conductivity.at_c(0.5 * (air_c + scene.service_c))
        / vessel.insulation_thickness_m;
    let film = 7.0 + 3.0 * scene.conditions.wind_m_s.powf(0.7);
    air_c - (air_c - scene.service_c) * through / (through + film)
}

/// Every bar of a scene, in painting order.
pub fn bars(scene: &Scene, shape: &Shape, seed: u64) -> Vec<Bar> {
    let tints = Tints::of(scene);
    let mut bars = backdrop::clutter(scene, seed);
    for fixture in &scene.fixtures {
        bars.extend(fixture_bars(fixture, scene, shape, &tints));
    }
    bars
}

/// The bars of one fixture.
pub fn bars_of(fixture: &Fixture, scene: &Scene, shape: &Shape) -> Vec<Bar> {
    fixture_bars(fixture, scene, shape, &Tints::of(scene))
}

fn bar(from_m: (f64, f64), to_m: (f64, f64), width_m: f64, tint_c: (f64, f64)) -> Bar {
    Bar {
        from_m,
        to_m,
        half_width_m: 0.5 * width_m,
        from_c: tint_c.0,
        to_c: tint_c.1,
        round: true,
        layer: Layer::Front,
    }
}

fn plate(mut bar: Bar) -> Bar {
    bar.round = false;
    bar
}

fn fixture_bars(fixture: &Fixture, scene: &Scene, shape: &Shape, tints: &Tints) -> Vec<Bar> {
    let radius_m = shape.radius_m;
    match *fixture {
        Fixture::Saddle { axial_m, width_m } => saddle(axial_m, width_m, radius_m, tints),
        Fixture::Leg { across_m, width_m } => {
            let tint = (tints.jacket_c - 1.0, tints.wall_c);
            let foot_m = -shape.head_depth_m - 0.5;
            vec![plate(bar((0.3, across_m), (foot_m, across_m), width_m, tint))]
        }
        Fixture::Skirt { height_m } => {
            let tint = (tints.jacket_c - 0.6, tints.wall_c);
            let width_m = 1.96 * radius_m;
            vec![bar((0.0, 0.0), (-height_m, 0.0), width_m, tint)]
        }
        Fixture::Ladder {
            middle_m,
            width_m,
            apparent_c,
        } => ladder(shape, middle_m, width_m, apparent_c),
        Fixture::Hanger { axial_m, width_m } => {
            let strap_c = 0.6 * tints.jacket_c + 0.4 * scene.conditions.air_c - 0.8;
            let (top, rod_end) = ((axial_m, -radius_m), (axial_m, -radius_m - 2.0));
            let rod = bar(top, rod_end, 0.025, (strap_c, tints.wall_c));
            let strap = bar(top, (axial_m, radius_m), width_m, (strap_c, strap_c));
            vec![rod, plate(strap)]
        }
        Fixture::Pipe {
            from_m,
            to_m,
            diameter_m,
            apparent_c,
            layer,
        } => {
            let mut pipe = bar(from_m, to_m, diameter_m, (apparent_c, apparent_c));
            pipe.layer = layer;
            vec![pipe]
        }
        Fixture::SightGlass {
            axial_m,
            angle_deg,
            diameter_m,
        } => {
            let place = (axial_m, radius_m * angle_deg.to_radians().sin());
            let tint_c = 0.7 * tints.bare_c + 0.3 * tints.frosted_c;
            vec![bar(place, place, diameter_m, (tint_c, tint_c))]
        }
        Fixture::Nozzle { .. } => nozzle(fixture, radius_m, tints),
        Fixture::LevelColumn { .. } => level_column(fixture, shape, tints),
        _ => Vec::new(),
    }
}

fn saddle(axial_m: f64, width_m: f64, radius_m: f64, tints: &Tints) -> Vec<Bar> {
    let tint = (tints.jacket_c - 1.2, tints.wall_c);
    let (top, foot) = ((axial_m, 0.55 * radius_m), (axial_m, radius_m + 0.4));
    let base = (axial_m, radius_m + 0.46);
    vec![
        plate(bar(top, foot, width_m, tint)),
        plate(bar(foot, base, 1.3 * width_m, (tint.1, tint.1))),
    ]
}

fn nozzle(fixture: &Fixture, radius_m: f64, tints: &Tints) -> Vec<Bar> {
    let Fixture::Nozzle {
        axial_m,
        angle_deg,
        diameter_m,
        projection_m,
        state,
    } = *fixture
    else {
        return Vec::new();
    };
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    let tint_c = tints.nozzle_c(state);
    // The neck starts a little inside the silhouette, so that no jacket shows between.
    let root = (axial_m, 0.985 * radius_m * sin);
    let tip = (axial_m, (radius_m + projection_m) * sin);
    let rim = (axial_m, (radius_m + projection_m + 0.05) * sin);
    let mut parts = vec![
        bar(root, tip, diameter_m, (tint_c, tint_c)),
        plate(bar(tip, rim, 1.6 * diameter_m, (tint_c, tint_c))),
    ];
    if sin.abs() < 0.5 {
        parts.push(bar(rim, rim, 1.6 * diameter_m, (tint_c, tint_c)));
    }
    if cos < -0.05 {
        for part in &mut parts {
            part.layer = Layer::Behind;
        }
    }
    parts
}

fn ladder(shape: &Shape, middle_m: f64, width_m: f64, apparent_c: f64) -> Vec<Bar> {
    let tint = (apparent_c, apparent_c);
    let upright = shape.posture == Posture::VerticalCylinder;
    let (low_m, high_m) = match shape.posture {
        Posture::VerticalCylinder => (-0.9, shape.length_m + 0.6),
        Posture::HorizontalCylinder => (-shape.radius_m - 0.6, shape.radius_m + 0.5),
        Posture::Flat => (-0.3, shape.height_m + 0.4),
    };
    let place = |up_m: f64, side_m: f64| {
        if upright {
            (up_m, middle_m + side_m)
        } else {
            (middle_m + side_m, up_m)
        }
    };
    let half_m = 0.5 * width_m;
    let mut parts: Vec<Bar> = [-half_m, half_m]
        .iter()
        .map(|side_m| bar(place(low_m, *side_m), place(high_m, *side_m), 0.05, tint))
        .collect();
    let rungs = ((high_m - low_m) / 0.3) as usize;
    for rung in 0..rungs {
        let up_m = low_m + 0.15 + 0.3 * rung as f64;
        parts.push(bar(place(up_m, -half_m), place(up_m, half_m), 0.028, tint));
    }
    parts
}

fn level_column(fixture: &Fixture, shape: &Shape, tints: &Tints) -> Vec<Bar> {
    let Fixture::LevelColumn {
        span_m,
        at_m,
        diameter_m,
        state,
    } = *fixture
    else {
        return Vec::new();
    };
    let tint_c = tints.nozzle_c(state);
    let tint = (tint_c, tint_c);
    if shape.posture == Posture::VerticalCylinder {
        let edge_m = 0.98 * shape.radius_m * at_m.signum();
        let mut parts = vec![bar((span_m.0, at_m), (span_m.1, at_m), diameter_m, tint)];
        if at_m.abs() > shape.radius_m {
            for axial_m in [span_m.0 + 0.5 * diameter_m, span_m.1 - 0.5 * diameter_m] {
                parts.push(bar((axial_m, edge_m), (axial_m, at_m), 0.6 * diameter_m, tint));
            }
        }
        parts
    } else {
        vec![bar((at_m, span_m.0), (at_m, span_m.1), diameter_m, tint)]
    }
}
