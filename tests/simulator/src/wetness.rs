//! How much better than dry the insulation conducts, place by place.

use std::f64::consts::TAU;

use crate::random::Prng;
use crate::scene::{Depth, Fixture, NozzleState, Patch, PatchShape, Scene};
use crate::shape::Shape;

/// The conductivity of a scene over dry, with slow unevenness, fixtures and patches.
#[derive(Debug, Clone)]
pub struct Wetness {
    patches: Vec<Patch>,
    bridges: Vec<Patch>,
    overall: f64,
    waves: Vec<[f64; 4]>,
    radius_m: f64,
    flat: bool,
}

impl Wetness {
    /// Gathers patches and bridges of a scene; the slow unevenness comes from `seed`.
    pub fn of(scene: &Scene, shape: &Shape, seed: u64) -> Self {
        let mut prng = Prng::new(seed ^ 0x5EED_0F1A_9E5A_11AA);
        let count = if scene.vessel.unevenness > 0.0 { 6 } else { 0 };
        let waves = (0..count)
            .map(|_| {
                let along_per_m = prng.between(0.6, 2.6);
                let turns = (1 + prng.index(3)) as f64;
                let amplitude = scene.vessel.unevenness * 0.6;
                [along_per_m, turns, prng.between(0.0, TAU), amplitude]
            })
            .collect();
        Self {
            patches: scene.patches.clone(),
            bridges: scene.fixtures.iter().flat_map(|f| bridges(f, shape)).collect(),
            overall: scene.vessel.overall_ratio,
            waves,
            radius_m: shape.radius_m,
            flat: shape.is_flat(),
        }
    }

    /// Adds `weight` times the conductivity over dry at a place to a column of cells, metal first, jacket last.
    pub fn add_column(&self, run_m: f64, round: f64, weight: f64, column: &mut [f64]) {
        let mut base = weight * self.overall * self.uneven(run_m, round);
        for bridge in &self.bridges {
            base *= 1.0 + (bridge.ratio - 1.0) * self.share(bridge, run_m, round);
        }
        let wets: Vec<(Depth, f64)> = self
            .patches
            .iter()
            .map(|patch| {
                let share = self.share(patch, run_m, round);
                (patch.depth, 1.0 + (patch.ratio - 1.0) * share)
            })
            .filter(|(_, wet)| *wet > 1.0)
            .collect();
        let count = column.len() as f64;
        for (i, cell) in column.iter_mut().enumerate() {
            let inward = 1.0 - (i as f64 + 0.5) / count;
            let wet = wets
                .iter()
                .filter(|(depth, _)| is_wet_at(*depth, inward))
                .fold(1.0_f64, |most, (_, wet)| most.max(*wet));
            *cell += base * wet;
        }
    }

    fn uneven(&self, run_m: f64, round: f64) -> f64 {
        if self.waves.is_empty() {
            return 1.0;
        }
        let sum: f64 = self
            .waves
            .iter()
            .map(|[along, turns, phase, amplitude]| amplitude * (along * run_m + turns * round + phase).sin())
            .sum();
        1.0 + sum
    }

    /// Share of the full wetness of a patch at a place: 1 inside, 0 outside, ½ on its outline.
    pub fn share(&self, patch: &Patch, run_m: f64, round: f64) -> f64 {
        let along_m = run_m - patch.axial_m;
        let reach_m = 1.4 * patch.half_length_m + patch.soft_edge_m;
        if along_m.abs() > reach_m {
            return 0.0;
        }
        let across_m = if self.flat {
            round - patch.height_m
        } else {
            let turn = round - patch.angle_deg.to_radians();
            self.radius_m * turn.sin().atan2(turn.cos())
        };
        let beyond_m = outside_m(patch, along_m, across_m);
        let step = (0.5 - beyond_m / patch.soft_edge_m.max(1e-6)).clamp(0.0, 1.0);
        step * step * (3.0 - 2.0 * step)
    }

    /// Area of a patch within its outline on the jacket, m², counted on a fine net.
    pub fn area_m2(&self, patch: &Patch) -> f64 {
        let reach = 1.4 + patch.soft_edge_m;
        let steps = 400;
        let cell = 2.0 * reach / f64::from(steps);
        let mut count = 0_u32;
        for row in 0..steps {
            for column in 0..steps {
                let u = (-reach + (f64::from(row) + 0.5) * cell) * patch.half_length_m;
                let v = (-reach + (f64::from(column) + 0.5) * cell) * patch.half_arc_m;
                count += u32::from(outside_m(patch, u, v) < 0.0);
            }
        }
        f64::from(count) * cell * cell * patch.half_length_m * patch.half_arc_m
    }
}

/// Conductivity of the whole thickness over dry in the middle of a patch: layers in series.
pub fn through_ratio(patch: &Patch) -> f64 {
    let share = match patch.depth {
        Depth::Through => 1.0,
        Depth::OuterShare(share) | Depth::InnerShare(share) => share.clamp(0.0, 1.0),
    };
    1.0 / (share / patch.ratio + 1.0 - share)
}

fn is_wet_at(depth: Depth, inward: f64) -> bool {
    match depth {
        Depth::Through => true,
        Depth::OuterShare(share) => inward < share,
        Depth::InnerShare(share) => inward > 1.0 - share,
    }
}

/// About how far outside a patch's outline a place lies, m (negative inside).
fn outside_m(patch: &Patch, along_m: f64, across_m: f64) -> f64 {
    let (half_u, half_v) = (patch.half_length_m, patch.half_arc_m);
    let (u, v) = (along_m / half_u, across_m / half_v);
    match patch.shape {
        PatchShape::Ellipse => (u.hypot(v) - 1.0) * ellipse_scale_m(half_u, half_v, u, v),
        PatchShape::Blob {
            phase_three,
            phase_five,
        } => {
            let bearing = v.atan2(u);
            let edge = 1.0 + 0.14 * (3.0 * bearing + phase_three).sin() + 0.08 * (5.0 * bearing + phase_five).sin();
            (u.hypot(v) - edge) * ellipse_scale_m(half_u, half_v, u, v)
        }
        PatchShape::RoundedRectangle => {
            let corner = 0.35 * half_u.min(half_v);
            let du = along_m.abs() - (half_u - corner);
            let dv = across_m.abs() - (half_v - corner);
            du.max(0.0).hypot(dv.max(0.0)) + du.max(dv).min(0.0) - corner
        }
    }
}

/// Metres per unit of the scaled radius in the direction of (u, v).
fn ellipse_scale_m(half_u: f64, half_v: f64, u: f64, v: f64) -> f64 {
    let length = u.hypot(v);
    if length < 1e-9 {
        return half_u.min(half_v);
    }
    (half_u * u / length).hypot(half_v * v / length)
}

fn nozzle_ratio(state: NozzleState) -> f64 {
    match state {
        NozzleState::Frosted => 5.0,
        NozzleState::Bare => 4.0,
        NozzleState::Insulated => 1.6,
    }
}

/// The bridges a fixture makes through the insulation: metal parts as local rises of conductivity.
pub(crate) fn bridges(fixture: &Fixture, shape: &Shape) -> Vec<Patch> {
    let spot = |axial_m: f64, angle_deg: f64, half_m: (f64, f64), ratio: f64| {
        let mut patch = Patch::ellipse(axial_m, angle_deg, half_m, ratio);
        patch.soft_edge_m = (0.8 * half_m.0.min(half_m.1)).max(0.03);
        patch.height_m = angle_deg;
        patch
    };
    let disc = |place: (f64, f64), radius_m: f64, ratio: f64| vec![spot(place.0, place.1, (radius_m, radius_m), ratio)];
    match *fixture {
        Fixture::Nozzle {
            axial_m,
            angle_deg,
            diameter_m,
            state,
            ..
        } => disc((axial_m, angle_deg), 0.62 * diameter_m, nozzle_ratio(state)),
        Fixture::Saddle { axial_m, width_m } => {
            let arc_m = shape.radius_m * 0.9;
            vec![spot(axial_m, 90.0, (0.6 * width_m, arc_m), 1.5)]
        }
        Fixture::Hanger { axial_m, width_m } => {
            let arc_m = shape.radius_m * 3.0;
            vec![spot(axial_m, -90.0, (0.6 * width_m, arc_m), 1.6)]
        }
        Fixture::Nameplate { axial_m, angle_deg, .. } => vec![spot(axial_m, angle_deg, (0.05, 0.05), 2.5)],
        Fixture::InspectionPort {
            axial_m,
            angle_deg,
            diameter_m,
        } => disc((axial_m, angle_deg), 0.5 * diameter_m, 2.2),
        Fixture::SightGlass {
            axial_m,
            angle_deg,
            diameter_m,
        } => disc((axial_m, angle_deg), 0.6 * diameter_m, 5.0),
        Fixture::FrostPatch {
            axial_m,
            angle_deg,
            radius_m,
        } => disc((axial_m, angle_deg), radius_m, 9.0),
        _ => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn share_and_area_follow_the_outline() {
        let mut scene = Scene::plain_horizontal();
        scene.patches = vec![Patch::ellipse(1.0, 20.0, (0.3, 0.2), 4.0)];
        let shape = Shape::of(&scene.vessel);
        let wetness = Wetness::of(&scene, &shape, 1);
        let patch = &scene.patches[0];
        let centre = 20.0_f64.to_radians();
        let ratio = |run_m: f64| {
            let mut column = [0.0; 3];
            wetness.add_column(run_m, centre, 1.0, &mut column);
            column[1]
        };
        assert!((ratio(1.0) - 4.0).abs() < 1e-12);
        assert!((wetness.share(patch, 1.3, centre) - 0.5).abs() < 1e-9);
        assert!((wetness.share(patch, 1.0, centre + 0.2 / 0.8) - 0.5).abs() < 1e-9);
        assert!((ratio(2.0) - 1.0).abs() < 1e-12);
        let area = wetness.area_m2(patch);
        assert!((area / (std::f64::consts::PI * 0.06) - 1.0).abs() < 0.005);
    }

    #[test]
    fn layers_in_series_lower_the_whole_ratio() {
        let mut patch = Patch::ellipse(1.0, 0.0, (0.2, 0.2), 5.0);
        assert!((through_ratio(&patch) - 5.0).abs() < 1e-12);
        patch.depth = Depth::OuterShare(0.5);
        assert!((through_ratio(&patch) - 1.0 / 0.6).abs() < 1e-12);
    }
}
