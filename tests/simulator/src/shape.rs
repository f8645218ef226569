//! The asset's surface: meridian, normals, curvature, and where a line of sight meets it.

use std::f64::consts::{FRAC_PI_2, TAU};

use crate::scene::{Posture, Vessel};

/// Points of the table of arc length along a head.
const HEAD_TABLE: usize = 400;

/// A place along the meridian of the jacket.
#[derive(Debug, Clone, Copy)]
pub struct Station {
    /// Along the axis from the datum tangent line, m.
    pub axial_m: f64,
    /// Radius of the jacket there, m (1 on a flat).
    pub radius_m: f64,
    /// Axial part of the outward normal.
    pub normal_axial: f64,
    /// Radial part of the outward normal (0 on a flat, whose second coordinate does not spread with depth).
    pub normal_radial: f64,
    /// Curvature of the meridian, 1/m.
    pub curvature_per_m: f64,
}

/// A point of the jacket that a line of sight meets.
#[derive(Debug, Clone, Copy)]
pub struct SurfacePoint {
    /// Along the meridian from the datum tangent line, m (equal to `axial_m` between the tangent lines).
    pub run_m: f64,
    /// Along the axis, m.
    pub axial_m: f64,
    /// Round the axis from the facing line, rad; on a flat the height above its bottom edge, m.
    pub round: f64,
    /// Outward normal: along the axis, across (downwards or right), towards the camera.
    pub normal: [f64; 3],
    /// Cosine between normal and line of sight.
    pub cos_view: f64,
    /// Area seen through a pixel over that of the pixel in the axis plane: foreshortening and nearness undone.
    pub area_scale: f64,
}

/// Where the camera stands.
#[derive(Debug, Clone, Copy)]
pub struct Eye {
    /// Point of the axis plane at the picture's middle, m.
    pub aim_m: (f64, f64),
    /// Distance from the axis plane, m; `None` looks in parallel.
    pub distance_m: Option<f64>,
}

/// The jacket of a vessel as a surface of revolution, or a flat.
#[derive(Debug, Clone)]
pub struct Shape {
    /// How the asset stands.
    pub posture: Posture,
    /// Radius over the jacket, m.
    pub radius_m: f64,
    /// Between the tangent lines, m.
    pub length_m: f64,
    /// Height of a flat, m.
    pub height_m: f64,
    /// Depth of a head, m.
    pub head_depth_m: f64,
    /// Arc length of a head from tangent line to pole, m.
    pub head_arc_m: f64,
    arcs_m: Vec<f64>,
}

impl Shape {
    /// The surface of a vessel.
    pub fn of(vessel: &Vessel) -> Self {
        let radius_m = 0.5 * vessel.diameter_m;
        let flat = vessel.posture == Posture::Flat;
        let head_depth_m = if flat {
            0.0
        } else {
            vessel.head.depth_to_radius() * radius_m
        };
        let arcs_m = head_arcs(radius_m, head_depth_m);
        let head_arc_m = if flat { 0.0 } else { arcs_m[HEAD_TABLE] };
        Self {
            posture: vessel.posture,
            radius_m,
            length_m: vessel.length_m,
            height_m: vessel.height_m,
            head_depth_m,
            head_arc_m,
            arcs_m,
        }
    }

    /// Is it a wall?
    pub fn is_flat(&self) -> bool {
        self.posture == Posture::Flat
    }

    /// First and last meridian coordinate, m.
    pub fn run_span_m(&self) -> (f64, f64) {
        (-self.head_arc_m, self.length_m + self.head_arc_m)
    }

    /// First and last second coordinate: rad, or m on a flat.
    pub fn round_span(&self) -> (f64, f64) {
        if self.is_flat() {
            (0.0, self.height_m)
        } else {
            (-0.5 * TAU, 0.5 * TAU)
        }
    }

    /// The place along the meridian at `run_m`.
    pub fn station(&self, run_m: f64) -> Station {
        let (over_m, sign, tangent_m) = if run_m < 0.0 {
            (-run_m, -1.0, 0.0)
        } else {
            (run_m - self.length_m, 1.0, self.length_m)
        };
        if self.is_flat() || over_m <= 0.0 {
            return Station {
                axial_m: run_m,
                radius_m: if self.is_flat() { 1.0 } else { self.radius_m },
                normal_axial: 0.0,
                normal_radial: if self.is_flat() { 0.0 } else { 1.0 },
                curvature_per_m: 0.0,
            };
        }
        let depth_m = self.head_depth_m;
        if depth_m <= 0.0 {
            return Station {
                axial_m: tangent_m,
                radius_m: (self.radius_m - over_m).max(0.0),
                normal_axial: sign,
                normal_radial: 0.0,
                curvature_per_m: 0.0,
            };
        }
        let (sin, cos) = self.head_parameter(over_m).sin_cos();
        let speed = (self.radius_m * sin).hypot(depth_m * cos);
        Station {
            axial_m: tangent_m + sign * depth_m * sin,
            radius_m: self.radius_m * cos,
            normal_axial: sign * self.radius_m * sin / speed,
            normal_radial: depth_m * cos / speed,
            // κ = a b / (a² sin²t + b² cos²t)^{3/2} for the ellipse (a cos t, b sin t).
            curvature_per_m: self.radius_m * depth_m / speed.powi(3),
        }
    }

    /// Mean curvature of the meridian over a stretch, 1/m: how far the normal turns (a sharp corner counts as none, the
    /// insulation there being mitred).
    pub fn mean_curvature_per_m(&self, run_m: f64, step_m: f64) -> f64 {
        if self.head_depth_m <= 0.0 {
            return 0.0;
        }
        let turn = |at_m: f64| {
            let station = self.station(at_m);
            station.normal_axial.atan2(station.normal_radial)
        };
        let (start_m, end_m) = self.run_span_m();
        let (low_m, high_m) = ((run_m - 0.5 * step_m).max(start_m), (run_m + 0.5 * step_m).min(end_m));
        (turn(high_m) - turn(low_m)) / (high_m - low_m)
    }

    /// Eccentric angle on the head at arc length `over_m` from the tangent line, rad.
    fn head_parameter(&self, over_m: f64) -> f64 {
        let above = self.arcs_m.partition_point(|arc| *arc < over_m);
        let index = above.clamp(1, HEAD_TABLE);
        let (low, high) = (self.arcs_m[index - 1], self.arcs_m[index]);
        let part = ((over_m - low) / (high - low)).clamp(0.0, 1.0);
        (index as f64 - 1.0 + part) / HEAD_TABLE as f64 * FRAC_PI_2
    }

    /// Radius of the silhouette at an axial place, m; `None` beyond the poles.
    pub fn profile_m(&self, axial_m: f64) -> Option<f64> {
        let over_m = (-axial_m).max(axial_m - self.length_m);
        if over_m <= 0.0 {
            return Some(self.radius_m);
        }
        let share = over_m / self.head_depth_m;
        (self.head_depth_m > 0.0 && share <= 1.0).then(|| self.radius_m * (1.0 - share * share).sqrt())
    }

    /// The point a line of sight through (`along_m`, `across_m`) of the axis plane meets first.
    pub fn see(&self, along_m: f64, across_m: f64, eye: &Eye) -> Option<SurfacePoint> {
        if self.is_flat() {
            return self.see_flat(along_m, across_m, eye);
        }
        match eye.distance_m {
            None => {
                let radius_m = self.profile_m(along_m)?;
                (across_m.abs() < radius_m).then(|| self.point((along_m, across_m), radius_m, [0.0, 0.0, 1.0], 1.0))
            }
            Some(distance_m) => self.see_in_perspective(along_m, across_m, eye, distance_m),
        }
    }

    fn see_flat(&self, along_m: f64, across_m: f64, eye: &Eye) -> Option<SurfacePoint> {
        let inside = (0.0..=self.length_m).contains(&along_m) && (0.0..=self.height_m).contains(&across_m);
        let cos_view = eye.distance_m.map_or(1.0, |distance_m| {
            let sideways_m = (along_m - eye.aim_m.0).hypot(across_m - eye.aim_m.1);
            distance_m / distance_m.hypot(sideways_m)
        });
        inside.then_some(SurfacePoint {
            run_m: along_m,
            axial_m: along_m,
            round: across_m,
            normal: [0.0, 0.0, 1.0],
            cos_view,
            // A plane square to the optical axis is seen at one scale all over.
            area_scale: 1.0,
        })
    }

    /// Walks the line of sight inwards and bisects where it enters the body.
    fn see_in_perspective(&self, along_m: f64, across_m: f64, eye: &Eye, distance_m: f64) -> Option<SurfacePoint> {
        let place = |towards_m: f64| {
            let scale = 1.0 - towards_m / distance_m;
            (
                eye.aim_m.0 + (along_m - eye.aim_m.0) * scale,
                eye.aim_m.1 + (across_m - eye.aim_m.1) * scale,
            )
        };
        let inside = |towards_m: f64| {
            let (axial_m, side_m) = place(towards_m);
            self.profile_m(axial_m).is_some_and(|r| side_m.hypot(towards_m) < r)
        };
        let steps = 40;
        let step_m = self.radius_m / f64::from(steps);
        let entry = (1..=steps)
            .map(|k| self.radius_m - f64::from(k) * step_m)
            .find(|w| inside(*w))?;
        let (mut within_m, mut outside_m) = (entry, entry + step_m);
        for _ in 0..24 {
            let middle_m = 0.5 * (within_m + outside_m);
            if inside(middle_m) {
                within_m = middle_m;
            } else {
                outside_m = middle_m;
            }
        }
        let (axial_m, side_m) = place(within_m);
        let ray = [eye.aim_m.0 - along_m, eye.aim_m.1 - across_m, distance_m];
        let norm = (ray[0] * ray[0] + ray[1] * ray[1] + ray[2] * ray[2]).sqrt();
        let radius_m = side_m.hypot(within_m);
        // A pixel takes in the solid angle cos³α of the middle one; the surface lies at D − w instead of D.
        let nearness = 1.0 - within_m / distance_m;
        let scale = nearness * nearness * distance_m / norm;
        let to_eye = ray.map(|part| part / norm);
        Some(self.point((axial_m, side_m), radius_m, to_eye, scale))
    }

    /// The surface point on the camera's side at a place (axial, sideways), seen from a direction.
    fn point(&self, place_m: (f64, f64), radius_m: f64, to_eye: [f64; 3], scale: f64) -> SurfacePoint {
        let (axial_m, side_m) = place_m;
        let round = (side_m / radius_m).clamp(-1.0, 1.0).asin();
        let (run_m, normal_axial, normal_radial) = self.meridian_place(axial_m, radius_m);
        let normal = [normal_axial, normal_radial * round.sin(), normal_radial * round.cos()];
        let cos_view = normal.iter().zip(to_eye).map(|(n, v)| n * v).sum::<f64>();
        SurfacePoint {
            run_m,
            axial_m,
            round,
            normal,
            cos_view: cos_view.max(0.0),
            area_scale: scale / cos_view.max(0.02),
        }
    }

    /// Meridian coordinate and normal (axial, radial) at an axial place.
    fn meridian_place(&self, axial_m: f64, radius_m: f64) -> (f64, f64, f64) {
        let over_m = (-axial_m).max(axial_m - self.length_m);
        if over_m <= 0.0 || self.head_depth_m <= 0.0 {
            return (axial_m.clamp(0.0, self.length_m), 0.0, 1.0);
        }
        let parameter = (over_m / self.head_depth_m).atan2(radius_m / self.radius_m);
        let position = parameter / FRAC_PI_2 * HEAD_TABLE as f64;
        let index = (position as usize).min(HEAD_TABLE - 1);
        let part = position - index as f64;
        let arc_m = self.arcs_m[index] * (1.0 - part) + self.arcs_m[index + 1] * part;
        let (sin, cos) = parameter.sin_cos();
        let speed = (self.radius_m * sin).hypot(self.head_depth_m * cos);
        let sign = if axial_m < 0.0 { -1.0 } else { 1.0 };
        let run_m = if axial_m < 0.0 { -arc_m } else { self.length_m + arc_m };
        (
            run_m,
            sign * self.radius_m * sin / speed,
            self.head_depth_m * cos / speed,
        )
    }

    /// The outline in the axis plane, (along, across) m, closed, for a parallel view.
    pub fn outline_m(&self) -> Vec<(f64, f64)> {
        if self.is_flat() {
            let (width, height) = (self.length_m, self.height_m);
            return vec![(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)];
        }
        let steps = 24;
        let mut outline = Vec::new();
        for k in 0..=steps {
            let t = FRAC_PI_2 * (2.0 * f64::from(k) / f64::from(steps) - 1.0);
            let beyond_m = self.head_depth_m * t.cos();
            outline.push((self.length_m + beyond_m, self.radius_m * t.sin()));
        }
        for k in 0..=steps {
            let t = FRAC_PI_2 * (1.0 - 2.0 * f64::from(k) / f64::from(steps));
            outline.push((-self.head_depth_m * t.cos(), self.radius_m * t.sin()));
        }
        outline
    }
}

/// Arc length of the quarter ellipse at equal steps of the eccentric angle, m.
fn head_arcs(radius_m: f64, depth_m: f64) -> Vec<f64> {
    let step = FRAC_PI_2 / HEAD_TABLE as f64;
    let mut arcs_m = vec![0.0];
    let mut sum_m = 0.0;
    for k in 0..HEAD_TABLE {
        let (sin, cos) = ((k as f64 + 0.5) * step).sin_cos();
        sum_m += step * (radius_m * sin).hypot(depth_m * cos);
        arcs_m.push(sum_m);
    }
    arcs_m
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::Scene;

    #[test]
    fn hemisphere_arc_is_a_quarter_circle() {
        let mut vessel = Scene::plain_horizontal().vessel;
        vessel.head = crate::scene::Head::Hemispherical;
        let shape = Shape::of(&vessel);
        assert!((shape.head_arc_m - FRAC_PI_2 * 0.8).abs() < 1e-6);
        let station = shape.station(-0.5 * shape.head_arc_m);
        assert!((station.curvature_per_m - 1.25).abs() < 1e-6);
        assert!((station.radius_m - 0.8 * 0.5_f64.sqrt()).abs() < 1e-6);
    }

    #[test]
    fn perspective_from_afar_agrees_with_parallel_view() {
        let shape = Shape::of(&Scene::plain_horizontal().vessel);
        let parallel = Eye {
            aim_m: (1.8, 0.0),
            distance_m: None,
        };
        let far = Eye {
            aim_m: (1.8, 0.0),
            distance_m: Some(1e6),
        };
        for (along, across) in [(1.0, 0.3), (-0.2, -0.4), (3.8, 0.1)] {
            let first = shape.see(along, across, &parallel).unwrap();
            let second = shape.see(along, across, &far).unwrap();
            assert!((first.round - second.round).abs() < 1e-4);
            assert!((first.run_m - second.run_m).abs() < 1e-4);
            assert!((first.cos_view - second.cos_view).abs() < 1e-4);
            let back = shape.station(first.run_m);
            assert!((back.axial_m - along).abs() < 1e-3);
        }
        assert!(shape.see(1.0, 0.81, &parallel).is_none());
        assert!(shape.see(-0.41, 0.0, &parallel).is_none());
    }
}
