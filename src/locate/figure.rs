//! The known figure of an asset in the picture: a cylinder with dished ends, or a rectangle.
//!
//! Side view of a cylinder of radius R whose axis lies in the picture plane (orthographic view, the usual thermographer's
//! "square on" position):
//!
//! ```text
//! axial a (m from the datum tangent line), across q (m from the axis)
//! u = u₀ + s·[(a − a₀)·cos θ − w·q·sin θ]      v = v₀ + s·[(a − a₀)·sin θ + w·q·cos θ]
//! ```
//!
//! with (u₀, v₀) the anchor on the axis, a₀ its axial place, θ the tilt, s the scale in pixels a metre and w the stretch of
//! the width (1 from far away).

use crate::register::Shape;

/// Depth of ends that are flat, at most (set by hand), and of dished ones, at least, in half widths: a torispherical head, the
/// flattest of the usual ones, is 0.39 deep (common practice, no source).
const FLAT_SHARE: f64 = 0.16;
pub(super) const DISHED_SHARE: f64 = 0.39;

/// Size of the registered figure in m.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Size {
    /// Tangent line to tangent line (cylinder) or width (wall).
    pub length_m: f64,
    /// Half the diameter (cylinder) or half the height (wall).
    pub half_width_m: f64,
    /// Whether the surface is round or plane.
    pub surface: Surface,
    /// What it stands on.
    pub stance: Stance,
}

/// Whether an asset stands on its datum end, where a skirt may hide that end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Stance {
    /// On its datum end: a vertical vessel.
    OnEnd,
    /// On its side, or on nothing.
    OnSide,
}

/// What the picture shows of the datum end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum DatumEnd {
    /// The head.
    Head,
    /// A skirt that hides it, from a line at the tangent line or a little below it on: [`Figure::skirt_m`].
    Skirt,
}

/// Whether the surface is round or plane.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Surface {
    /// A cylinder with heads at its ends.
    Round,
    /// A plane wall.
    Plane,
}

impl From<&Shape> for Size {
    fn from(shape: &Shape) -> Self {
        match *shape {
            Shape::HorizontalCylinder { diameter_m, length_m } => Self {
                length_m,
                half_width_m: diameter_m / 2.0,
                surface: Surface::Round,
                stance: Stance::OnSide,
            },
            Shape::VerticalCylinder { diameter_m, length_m } => Self {
                length_m,
                half_width_m: diameter_m / 2.0,
                surface: Surface::Round,
                stance: Stance::OnEnd,
            },
            Shape::Flat { width_m, height_m } => Self {
                length_m: width_m,
                half_width_m: height_m / 2.0,
                surface: Surface::Plane,
                stance: Stance::OnSide,
            },
        }
    }
}

/// The figure at a place, scale and tilt, in oriented coordinates.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Figure {
    /// The registered size.
    pub size: Size,
    /// Depth of the heads beyond the tangent lines in m (0: flat ends).
    pub head_depth_m: f64,
    /// What is seen of the datum end.
    pub datum_end: DatumEnd,
    /// How far below the tangent line a skirt begins, in m: where the head has drawn in to its width.
    pub skirt_m: f64,
    /// Width seen over registered width: a near camera sees the silhouette of a cylinder wider by 1/√(1 − (R/d)²).
    pub stretch: f64,
    /// Anchor on the axis, along, in px.
    pub anchor_u: f64,
    /// Anchor on the axis, across, in px.
    pub anchor_v: f64,
    /// Axial place of the anchor in m.
    pub anchor_axial_m: f64,
    /// Tilt of the axis in rad, positive where the far end lies at larger v.
    pub tilt_rad: f64,
    /// Scale in px/m.
    pub scale_px_m: f64,
}

/// Which part of the outline a point belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// The long edge at negative q.
    NearSide,
    /// The long edge at positive q.
    FarSide,
    /// The end at the datum.
    DatumEnd,
    /// The end away from the datum.
    OtherEnd,
}

/// The form of an end as it is seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum EndForm {
    /// Half an ellipse.
    Dished,
    /// A straight line so far to either side of the axis.
    Line {
        /// Half its length in m.
        half_m: f64,
    },
}

/// A point of the outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutlinePoint {
    /// Along, px.
    pub u: f64,
    /// Across, px.
    pub v: f64,
    /// Outward normal, along.
    pub normal_u: f64,
    /// Outward normal, across.
    pub normal_v: f64,
    /// Axial place in m.
    pub axial_m: f64,
    /// Distance from the axis in m.
    pub across_m: f64,
    /// How far the point moves outward (px) when the heads grow deeper by 1 m.
    pub head_lever: f64,
    /// How far the point moves outward (px) when the skirt begins 1 m lower.
    pub skirt_lever: f64,
    /// How far the point moves outward (px) when the width grows by the factor e.
    pub stretch_lever: f64,
    /// Part of the outline.
    pub part: Part,
}

impl Figure {
    /// (axial m, across m) of an oriented pixel.
    #[must_use]
    pub fn local(&self, u: f64, v: f64) -> (f64, f64) {
        let (sin, cos) = self.tilt_rad.sin_cos();
        let (du, dv) = (u - self.anchor_u, v - self.anchor_v);
        let across_scale = self.scale_px_m * self.stretch;
        (
            (du * cos + dv * sin) / self.scale_px_m + self.anchor_axial_m,
            (dv * cos - du * sin) / across_scale,
        )
    }

    /// The same figure in a picture reduced by blocks of `factor` × `factor` pixels.
    #[must_use]
    pub fn reduced(&self, factor: usize) -> Self {
        let factor = factor as f64;
        let cell = |px: f64| (px + 0.5) / factor - 0.5;
        Self {
            anchor_u: cell(self.anchor_u),
            anchor_v: cell(self.anchor_v),
            scale_px_m: self.scale_px_m / factor,
            ..*self
        }
    }

    /// The inverse of [`Figure::reduced`].
    #[must_use]
    pub fn enlarged(&self, factor: usize) -> Self {
        let factor = factor as f64;
        let full = |px: f64| (px + 0.5) * factor - 0.5;
        Self {
            anchor_u: full(self.anchor_u),
            anchor_v: full(self.anchor_v),
            scale_px_m: self.scale_px_m * factor,
            ..*self
        }
    }

    /// Oriented pixel (u, v) of a place on the figure.
    #[must_use]
    pub fn pixel(&self, axial_m: f64, across_m: f64) -> (f64, f64) {
        let (sin, cos) = self.tilt_rad.sin_cos();
        let (a, q) = (
            (axial_m - self.anchor_axial_m) * self.scale_px_m,
            across_m * self.scale_px_m * self.stretch,
        );
        (self.anchor_u + a * cos - q * sin, self.anchor_v + a * sin + q * cos)
    }

    /// Whether a place (axial m, across m) lies inside the outline.
    #[must_use]
    pub fn covers(&self, axial_m: f64, across_m: f64) -> bool {
        let share = across_m / self.size.half_width_m;
        if share.abs() > 1.0 {
            return false;
        }
        // Head as half an ellipse: |a beyond| ≤ depth·√(1 − (q/R)²)
        let reach = self.head_depth_m * (1.0 - share * share).sqrt();
        let before = match self.datum_end {
            DatumEnd::Head => reach,
            DatumEnd::Skirt => reach.min(self.skirt_m),
        };
        axial_m >= -before && axial_m <= self.size.length_m + reach
    }

    /// The depth of the end at the datum or of the other in m, as far as it is seen.
    #[must_use]
    pub fn depth_m(&self, part: Part) -> f64 {
        match (part, self.datum_end) {
            (Part::DatumEnd, DatumEnd::Skirt) => self.skirt_m.min(self.head_depth_m),
            _ => self.head_depth_m,
        }
    }

    /// The form of an end.
    pub(super) fn end_form(&self, part: Part) -> EndForm {
        let depth_m = self.depth_m(part);
        match (part, self.datum_end) {
            (Part::DatumEnd, DatumEnd::Skirt) => {
                // q = R·√(1 − (a/depth)²), where the head has drawn in
                let share = if self.head_depth_m > 0.0 {
                    depth_m / self.head_depth_m
                } else {
                    0.0
                };
                EndForm::Line {
                    half_m: self.size.half_width_m * (1.0 - share * share).max(0.0).sqrt(),
                }
            }
            _ if depth_m > 0.02 * self.size.half_width_m => EndForm::Dished,
            _ => EndForm::Line {
                half_m: self.size.half_width_m,
            },
        }
    }

    /// How flat the ends of a round figure are: 0 (dished) to 1 (flat); 0 for a plane.
    #[must_use]
    pub(super) fn flatness(&self) -> f64 {
        let share = self.head_depth_m / self.size.half_width_m;
        match self.size.surface {
            Surface::Round => ((DISHED_SHARE - share) / (DISHED_SHARE - FLAT_SHARE)).clamp(0.0, 1.0),
            Surface::Plane => 0.0,
        }
    }

    /// The same with the head that a skirt hides: the asset's own outline.
    #[must_use]
    pub fn whole(&self) -> Self {
        Self {
            datum_end: DatumEnd::Head,
            ..*self
        }
    }

    /// The whole outline as points about `step_px` apart, counter-clockwise from the datum end of the near side.
    #[must_use]
    pub fn outline(&self, step_px: f64) -> Vec<OutlinePoint> {
        let half = self.size.half_width_m;
        let length = self.size.length_m;
        let along = (length * self.scale_px_m / step_px).ceil().clamp(2.0, 20_000.0) as usize;
        let arc_px = std::f64::consts::PI * half.max(self.head_depth_m) * self.scale_px_m;
        let around = (arc_px / step_px).ceil().clamp(8.0, 5_000.0) as usize;
        let pen = Pen {
            figure: self,
            turn: self.tilt_rad.sin_cos(),
        };
        let mut points = Vec::with_capacity(2 * (along + around));
        pen.whole_side(along, Part::NearSide, &mut points);
        pen.end(around, Part::OtherEnd, &mut points);
        pen.whole_side(along, Part::FarSide, &mut points);
        pen.end(around, Part::DatumEnd, &mut points);
        points
    }

    /// One long edge as points about `step_px` apart.
    #[must_use]
    pub fn side(&self, step_px: f64, part: Part) -> Vec<OutlinePoint> {
        let along = (self.size.length_m * self.scale_px_m / step_px)
            .ceil()
            .clamp(2.0, 20_000.0) as usize;
        let mut points = Vec::with_capacity(along);
        Pen {
            figure: self,
            turn: self.tilt_rad.sin_cos(),
        }
        .whole_side(along, part, &mut points);
        points
    }
}

/// Draws the points of an outline; sine and cosine of the tilt at hand.
struct Pen<'a> {
    figure: &'a Figure,
    turn: (f64, f64),
}

impl Pen<'_> {
    /// A long edge, from the datum on the near side and back to it on the far side.
    fn whole_side(&self, along: usize, part: Part, points: &mut Vec<OutlinePoint>) {
        let (sign, half, length) = (
            if part == Part::NearSide { -1.0 } else { 1.0 },
            self.figure.size.half_width_m,
            self.figure.size.length_m,
        );
        points.extend((0..along).map(|i| {
            let share = (i as f64 + 0.5) / along as f64;
            let share = if part == Part::NearSide { share } else { 1.0 - share };
            self.point(length * share, sign * half, (0.0, sign), ((0.0, 0.0), part))
        }));
    }

    /// The points of an end at parameters t: a = depth·cos t, q = R·sin t; from the near side to the far side at the
    /// other end, back at the datum end.
    fn end(&self, around: usize, part: Part, points: &mut Vec<OutlinePoint>) {
        let step = std::f64::consts::PI / around as f64;
        let (turn_sin, turn_cos) = step.sin_cos();
        let first = -std::f64::consts::FRAC_PI_2 + 0.5 * step;
        let (mut sin, mut cos) = first.sin_cos();
        let from = points.len();
        for i in 0..around {
            points.push(self.end_point(first + i as f64 * step, (sin, cos), part));
            // Turned on by one step: cheaper than a sine and a cosine for each point.
            (sin, cos) = (sin * turn_cos + cos * turn_sin, cos * turn_cos - sin * turn_sin);
        }
        if part == Part::DatumEnd {
            points[from..].reverse();
        }
    }

    fn end_point(&self, t: f64, (sin, cos): (f64, f64), part: Part) -> OutlinePoint {
        let (half, depth) = (self.figure.size.half_width_m, self.figure.depth_m(part));
        let (edge, sign) = if part == Part::OtherEnd {
            (self.figure.size.length_m, 1.0)
        } else {
            (0.0, -1.0)
        };
        // A line is walked at equal steps of q, a dished end at equal steps of t.
        match self.figure.end_form(part) {
            EndForm::Dished => {
                // (cos t/depth, sin t/(R·w)), times both depths so that one division does.
                let (nu, nv) = (sign * cos * half * self.figure.stretch, sin * depth);
                let per_norm = 1.0 / (nu * nu + nv * nv).sqrt();
                let normal = (nu * per_norm, nv * per_norm);
                let levers = (sign * normal.0 * cos * self.figure.scale_px_m, 0.0);
                self.point(edge + sign * depth * cos, half * sin, normal, (levers, part))
            }
            EndForm::Line { half_m } => {
                let across = half_m * t / std::f64::consts::FRAC_PI_2;
                let levers = match (part, self.figure.datum_end) {
                    (Part::DatumEnd, DatumEnd::Skirt) => (0.0, self.figure.scale_px_m),
                    _ => (cos * self.figure.scale_px_m, 0.0),
                };
                self.point(edge + sign * depth, across, (sign, 0.0), (levers, part))
            }
        }
    }

    fn point(
        &self,
        axial_m: f64,
        across_m: f64,
        normal: (f64, f64),
        (levers, part): ((f64, f64), Part),
    ) -> OutlinePoint {
        let (figure, (sin, cos)) = (self.figure, self.turn);
        let across_px = across_m * figure.scale_px_m * figure.stretch;
        let along_px = (axial_m - figure.anchor_axial_m) * figure.scale_px_m;
        OutlinePoint {
            u: figure.anchor_u + along_px * cos - across_px * sin,
            v: figure.anchor_v + along_px * sin + across_px * cos,
            normal_u: normal.0 * cos - normal.1 * sin,
            normal_v: normal.0 * sin + normal.1 * cos,
            axial_m,
            across_m,
            head_lever: levers.0,
            skirt_lever: levers.1,
            stretch_lever: across_px * normal.1,
            part,
        }
    }
}

/// An outline cut into pieces of at most `most` points (at least 1), each on one part of it.
pub(super) fn pieces(outline: &[OutlinePoint], most: usize) -> impl Iterator<Item = &[OutlinePoint]> {
    outline
        .chunk_by(|a, b| a.part == b.part)
        .flat_map(move |part| part.chunks(most.max(1)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn figure() -> Figure {
        Figure {
            size: Size {
                length_m: 3.0,
                half_width_m: 0.6,
                surface: Surface::Round,
                stance: Stance::OnEnd,
            },
            head_depth_m: 0.3,
            datum_end: DatumEnd::Head,
            skirt_m: 0.0,
            stretch: 1.02,
            anchor_u: 100.0,
            anchor_v: 80.0,
            anchor_axial_m: 1.5,
            tilt_rad: 0.05,
            scale_px_m: 40.0,
        }
    }

    #[test]
    fn pixel_and_local_are_inverse() {
        let (u, v) = figure().pixel(0.7, -0.4);
        let (axial, across) = figure().local(u, v);
        assert!((axial - 0.7).abs() < 1e-12 && (across + 0.4).abs() < 1e-12);
    }

    #[test]
    fn outline_points_lie_on_the_edge_with_outward_unit_normals() {
        let on_skirt = Figure {
            datum_end: DatumEnd::Skirt,
            ..figure()
        };
        let lower = Figure {
            skirt_m: 0.2,
            ..on_skirt
        };
        for (figure, point) in [figure(), on_skirt, lower]
            .iter()
            .flat_map(|f| f.outline(3.0).into_iter().map(move |p| (f, p)))
        {
            assert!((point.normal_u.hypot(point.normal_v) - 1.0).abs() < 1e-12);
            let inside = figure.local(point.u - 0.5 * point.normal_u, point.v - 0.5 * point.normal_v);
            let outside = figure.local(point.u + 0.5 * point.normal_u, point.v + 0.5 * point.normal_v);
            assert!(figure.covers(inside.0, inside.1), "{point:?}");
            assert!(!figure.covers(outside.0, outside.1), "{point:?}");
        }
    }

    #[test]
    fn a_lower_skirt_moves_its_line_outward_by_its_lever() {
        let on_skirt = |skirt_m: f64| Figure {
            datum_end: DatumEnd::Skirt,
            skirt_m,
            ..figure()
        };
        let (before, after) = (on_skirt(0.1).outline(3.0), on_skirt(0.1 + 1e-6).outline(3.0));
        assert!(before.iter().any(|point| point.skirt_lever > 0.0));
        for (before, after) in before.iter().zip(after) {
            let moved = (after.u - before.u) * before.normal_u + (after.v - before.v) * before.normal_v;
            assert!((moved / 1e-6 - before.skirt_lever).abs() < 1e-3, "{before:?} {moved}");
        }
    }

    #[test]
    fn deeper_heads_move_the_ends_outward_by_their_lever() {
        let mut deeper = figure();
        deeper.head_depth_m += 1e-6;
        for (before, after) in figure().outline(3.0).iter().zip(deeper.outline(3.0)) {
            let moved = (after.u - before.u) * before.normal_u + (after.v - before.v) * before.normal_v;
            assert!((moved / 1e-6 - before.head_lever).abs() < 1e-3, "{before:?} {moved}");
        }
    }
}
