//! Where the ends of a figure could stand other than where the search left them.
//!
//! The search assumes one usual head depth and two heads. A head warmer than the shell makes the tangent line look like the
//! end, and a skirt ends the jacket at a straight line with the head behind it. So, with the long edges as they are, places
//! of the datum tangent line a (reduced px), head depths h and both forms of the datum end are compared by
//!
//! ```text
//! E(a, h, form) = width·(S_datum + S_other) + Σ over the long edges of (|slope| − give)
//! S = Σ over pieces of |Σ w·slope·normal| / Σ w − give,   w = share of the normal along the axis
//! ```
//!
//! on the saturated slopes of the reduced picture; what lies outside the picture adds nothing.

use super::evidence::Evidence;
use super::figure::{DatumEnd, Figure, Part, Stance, Surface};
use super::lines::GIVE;
use super::search::Along;

/// How far the tangent lines are moved either way, in half widths, and the step in reduced pixels.
const REACH: f64 = 0.6;
const STEP_PX: f64 = 1.0;
/// Head depths tried in half widths: flat to a little beyond hemispherical.
const DEPTHS: [f64; 9] = [0.0, 0.15, 0.25, 0.38, 0.5, 0.63, 0.75, 0.88, 1.0];
/// The depth of a head that is not seen, in half widths (2:1 ellipsoidal, the commonest in the trade).
const USUAL_DEPTH: f64 = 0.5;
/// What a figure must gain over the one at hand to be looked at, in half widths.
const LEAST_GAIN: f64 = 0.1;
/// Points of an end, and of them those that decide together.
const POINTS: usize = 40;
const PIECE: usize = 5;

/// The best other ends of a figure (full-size pixels), best first, at most `keep`; none for a plane.
#[must_use]
pub(super) fn others(evidence: &Evidence, figure: &Figure, along: Along, keep: usize) -> Vec<Figure> {
    if figure.size.surface == Surface::Plane {
        return Vec::new();
    }
    let look = Look {
        evidence,
        figure: figure.reduced(evidence.factor),
    };
    let half_px = look.figure.size.half_width_m * look.figure.scale_px_m;
    let steps = match along {
        Along::Whole => (REACH * half_px / STEP_PX) as i32,
        Along::StartsAt(_) => 0,
    };
    let forms: &[DatumEnd] = match figure.size.stance {
        Stance::OnEnd => &[DatumEnd::Head, DatumEnd::Skirt],
        Stance::OnSide => &[DatumEnd::Head],
    };
    let now = look.case(&look.figure);
    let mut found: Vec<(f64, Figure)> = Vec::new();
    for step in -steps..=steps {
        let sides = look.sides(&look.moved(f64::from(step) * STEP_PX));
        for depth in DEPTHS {
            let placed = Figure {
                head_depth_m: depth * figure.size.half_width_m,
                ..look.moved(f64::from(step) * STEP_PX)
            };
            let other = look.end(&placed, Part::OtherEnd);
            for &datum_end in forms {
                let one = Figure { datum_end, ..placed };
                if datum_end == DatumEnd::Skirt && other == 0.0 && (depth - USUAL_DEPTH).abs() > 1e-9 {
                    continue; // neither head is seen
                }
                let case = sides + other + look.end(&one, Part::DatumEnd);
                if case > now + LEAST_GAIN * half_px {
                    found.push((case, one));
                }
            }
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut kept: Vec<Figure> = Vec::with_capacity(keep);
    for (_, one) in found {
        if kept.len() == keep {
            break;
        }
        if !kept.iter().any(|other| alike(&one, other)) {
            kept.push(one);
        }
    }
    kept.iter().map(|one| one.enlarged(evidence.factor)).collect()
}

/// Whether refining both would give the same.
fn alike(one: &Figure, other: &Figure) -> bool {
    let half = one.size.half_width_m;
    one.datum_end == other.datum_end
        && (one.head_depth_m - other.head_depth_m).abs() < 0.2 * half
        && (one.anchor_u - other.anchor_u).hypot(one.anchor_v - other.anchor_v) < 0.15 * half * one.scale_px_m
}

struct Look<'a> {
    evidence: &'a Evidence,
    /// In reduced pixels.
    figure: Figure,
}

impl Look<'_> {
    /// The figure moved along its axis.
    fn moved(&self, px: f64) -> Figure {
        let (sin, cos) = self.figure.tilt_rad.sin_cos();
        Figure {
            anchor_u: self.figure.anchor_u + px * cos,
            anchor_v: self.figure.anchor_v + px * sin,
            ..self.figure
        }
    }

    fn case(&self, figure: &Figure) -> f64 {
        self.sides(figure) + self.end(figure, Part::DatumEnd) + self.end(figure, Part::OtherEnd)
    }

    fn slope(&self, (u, v): (f64, f64)) -> Option<[f32; 2]> {
        let (u, v) = (u + 0.5, v + 0.5);
        if u < 0.0 || v < 0.0 {
            return None;
        }
        self.evidence.slope.get([v as usize, u as usize]).copied()
    }

    /// Support of both long edges, in reduced pixels.
    fn sides(&self, figure: &Figure) -> f64 {
        let (sin, cos) = figure.tilt_rad.sin_cos();
        let (length, half) = (figure.size.length_m, figure.size.half_width_m);
        let count = (length * figure.scale_px_m).max(1.0) as usize;
        let mut support = 0.0;
        for side in [-half, half] {
            for i in 0..count {
                let axial = (i as f64 + 0.5) / count as f64 * length;
                if let Some([along, across]) = self.slope(figure.pixel(axial, side)) {
                    support += (f64::from(across) * cos - f64::from(along) * sin).abs() - f64::from(GIVE);
                }
            }
        }
        support
    }

    /// Support of one end, in reduced pixels.
    fn end(&self, figure: &Figure, part: Part) -> f64 {
        let (sin, cos) = figure.tilt_rad.sin_cos();
        let (half, depth) = (figure.size.half_width_m, figure.depth_m(part));
        let (tangent, sign) = if part == Part::DatumEnd {
            (0.0, -1.0)
        } else {
            (figure.size.length_m, 1.0)
        };
        let (mut support, mut weights, mut sum) = (0.0, 0.0, 0.0);
        for i in 0..POINTS {
            let t = ((i as f64 + 0.5) / POINTS as f64 - 0.5) * std::f64::consts::PI;
            let (across, normal_along, normal_across) = if depth > 0.02 * half {
                let (a, q) = (t.cos() * half, t.sin() * depth);
                let norm = a.hypot(q);
                (half * t.sin(), sign * a / norm, q / norm)
            } else {
                (half * t * std::f64::consts::FRAC_2_PI, sign, 0.0)
            };
            let weight = normal_along.abs();
            if let Some([u, v]) = self.slope(figure.pixel(tangent + sign * depth * t.cos(), across)) {
                let (along, across) = (
                    f64::from(u) * cos + f64::from(v) * sin,
                    f64::from(v) * cos - f64::from(u) * sin,
                );
                sum += weight * (along * normal_along + across * normal_across);
                weights += weight;
            }
            if (i + 1) % PIECE == 0 {
                support += f64::abs(std::mem::take(&mut sum));
            }
        }
        // An end of which a part is in view counts for that part.
        let width_px = 2.0 * half * figure.scale_px_m;
        (support - f64::from(GIVE) * weights) / (0.7 * POINTS as f64) * width_px
    }
}
