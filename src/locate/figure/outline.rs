//! The outline of a figure as points with their outward normals, and how each moves when the figure changes.

use super::{Figure, Part};

/// The form of an end as it is seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::locate) enum EndForm {
    /// Half an ellipse.
    Dished,
    /// A straight line at or next to the tangent line.
    Flat,
    /// The straight line at which a skirt begins.
    Skirt {
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
    /// How far the point moves outward (px) when the taper grows by 1/m.
    pub taper_lever: f64,
    /// Part of the outline.
    pub part: Part,
}

impl Figure {
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
            self.point(
                length * share,
                sign * half,
                (0.0, sign),
                (Levers { head: 0.0, skirt: 0.0 }, part),
            )
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
        let across = |half_m: f64| half_m * t / std::f64::consts::FRAC_PI_2;
        match self.figure.end_form(part) {
            EndForm::Dished => {
                // (cos t/depth, sin t/R), times both so that no division is needed.
                let normal = (sign * cos * half, sin * depth);
                let levers = Levers {
                    head: sign * cos,
                    skirt: 0.0,
                };
                self.point(edge + sign * depth * cos, half * sin, normal, (levers, part))
            }
            EndForm::Flat => {
                let levers = Levers {
                    head: sign * cos,
                    skirt: 0.0,
                };
                self.point(edge + sign * depth * cos, across(half), (sign, 0.0), (levers, part))
            }
            EndForm::Skirt { half_m } => {
                let levers = Levers { head: 0.0, skirt: sign };
                self.point(edge + sign * depth, across(half_m), (sign, 0.0), (levers, part))
            }
        }
    }

    /// The point at a place whose outward normal on the figure is `normal`, of any length.
    ///
    /// With x = a − a₀ and n = 1 + κ·x the place in the picture, along and across the axis, moves with a and q by
    ///
    /// ```text
    /// ∂/∂a = (s/n², −s·w·q·κ/n²)      ∂/∂q = (0, s·w/n)
    /// ```
    ///
    /// and normals by the inverse of the transpose of that: (w·(nₐ·n + q·κ·n_q), n_q·n), of any length.
    fn point(&self, axial_m: f64, across_m: f64, normal: (f64, f64), (levers, part): (Levers, Part)) -> OutlinePoint {
        let (figure, (sin, cos)) = (self.figure, self.turn);
        let (taper, stretch) = (figure.taper_per_m, figure.stretch);
        let x = axial_m - figure.anchor_axial_m;
        let near = 1.0 / figure.distance(axial_m);
        let scale = figure.scale_px_m * near;
        let (along_px, across_px) = (x * scale, across_m * scale * stretch);
        let (nu, nv) = (stretch * (normal.0 + across_m * taper * near * normal.1), normal.1);
        let per_norm = 1.0 / (nu * nu + nv * nv).sqrt();
        let (nu, nv) = (nu * per_norm, nv * per_norm);
        // How far outward the point moves for a metre along the axis.
        let outward = near * (scale * nu - taper * across_px * nv);
        OutlinePoint {
            u: figure.anchor_u + along_px * cos - across_px * sin,
            v: figure.anchor_v + along_px * sin + across_px * cos,
            normal_u: nu * cos - nv * sin,
            normal_v: nu * sin + nv * cos,
            axial_m,
            across_m,
            head_lever: levers.head * outward,
            skirt_lever: levers.skirt * outward,
            stretch_lever: across_px * nv,
            taper_lever: -x * near * (along_px * nu + across_px * nv),
            part,
        }
    }
}

/// How far a point moves along the axis, m, when the heads grow deeper or the skirt begins lower by 1 m.
#[derive(Clone, Copy)]
struct Levers {
    head: f64,
    skirt: f64,
}

/// An outline cut into pieces of at most `most` points (at least 1), each on one part of it.
pub(in crate::locate) fn pieces(outline: &[OutlinePoint], most: usize) -> impl Iterator<Item = &[OutlinePoint]> {
    outline
        .chunk_by(|a, b| a.part == b.part)
        .flat_map(move |part| part.chunks(most.max(1)))
}

#[cfg(test)]
mod tests {
    use super::super::DatumEnd;
    use super::super::tests::figure;
    use super::*;

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
    fn a_greater_taper_moves_the_outline_by_its_lever() {
        let mut more = figure();
        more.taper_per_m += 1e-6;
        for (before, after) in figure().outline(3.0).iter().zip(more.outline(3.0)) {
            let moved = (after.u - before.u) * before.normal_u + (after.v - before.v) * before.normal_v;
            assert!((moved / 1e-6 - before.taper_lever).abs() < 1e-2, "{before:?} {moved}");
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
