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
use super::figure::{DISHED_SHARE, DatumEnd, EndForm, Figure, Part, Size, Stance, Surface};
use super::lines::GIVE;
use super::pull::LOWEST_IN_HEAD;
use super::search::{Along, SKIRT_LINES};
use super::walk::{fixed, index_of};

/// How far the tangent lines are moved either way, in half widths; a step is a reduced pixel.
const REACH: f64 = 0.6;
/// Head depths tried in half widths: flat to a little beyond hemispherical.
const DEPTHS: [f64; 9] = [0.0, 0.15, 0.25, 0.39, 0.5, 0.63, 0.75, 0.88, 1.0];
/// The depth with which a head that is not seen is looked for, in half widths (2:1 ellipsoidal, the commonest in the trade);
/// how deep such heads are drawn is the choice's.
const USUAL_DEPTH: f64 = 0.5;
/// What a figure must gain over the one at hand to be looked at, in half widths.
const LEAST_GAIN: f64 = 0.1;
/// Share of the support of flat ends that dished ones must reach beside them; set by the repository's simulated scenes, no
/// source.
const FLAT_HELD: f64 = 0.3;
/// Points of an end, and of them those that decide together.
const POINTS: usize = 40;
const PIECE: usize = 5;

/// The best other ends of a figure (full-size pixels), best first, at most `keep`; none for a plane.
#[must_use]
pub(super) fn others(evidence: &Evidence, figure: &Figure, along: Along, keep: usize) -> Vec<Figure> {
    if figure.size.surface == Surface::Plane {
        return Vec::new();
    }
    let look = Look::new(evidence, figure.reduced(evidence.factor));
    let steps = match along {
        Along::Whole => (REACH * look.half_px()) as usize,
        Along::StartsAt(_) => 0,
    };
    let half = figure.size.half_width_m;
    let on_skirt = SKIRT_LINES.map(|share| (DatumEnd::Skirt, share * half));
    let forms: Vec<(DatumEnd, f64)> = match figure.size.stance {
        Stance::OnEnd => std::iter::once((DatumEnd::Head, 0.0)).chain(on_skirt).collect(),
        Stance::OnSide => vec![(DatumEnd::Head, 0.0)],
    };
    let sides = look.sides(steps);
    let own = look.figure;
    let ends = look.end(&look.points(&own, Part::DatumEnd), 0.0) + look.end(&look.points(&own, Part::OtherEnd), 0.0);
    // Where the ends are flat the tangent lines may be the clearer edges, and the heads beyond them need not match those.
    let (held, least_depth) = if figure.flatness() > 0.0 {
        (FLAT_HELD, DISHED_SHARE)
    } else {
        (1.0, 0.0)
    };
    let least = sides[steps] + held * ends + LEAST_GAIN * look.half_px();
    let mut found: Vec<(f64, Figure)> = Vec::new();
    for depth in DEPTHS.into_iter().filter(|&depth| depth >= least_depth) {
        let placed = Figure {
            head_depth_m: depth * figure.size.half_width_m,
            ..look.figure
        };
        let other = look.points(&placed, Part::OtherEnd);
        let datums: Vec<(Figure, Ends)> = forms
            .iter()
            .filter(|(_, skirt_m)| *skirt_m <= LOWEST_IN_HEAD * placed.head_depth_m)
            .map(|&(datum_end, skirt_m)| Figure {
                datum_end,
                skirt_m,
                ..placed
            })
            .map(|one| (one, look.points(&one, Part::DatumEnd)))
            .collect();
        for (step, sides) in sides.iter().enumerate() {
            let shift_px = step as f64 - steps as f64;
            let other = look.end(&other, shift_px);
            for (one, datum) in &datums {
                if one.datum_end == DatumEnd::Skirt && other == 0.0 && (depth - USUAL_DEPTH).abs() > 1e-9 {
                    continue; // neither head is seen
                }
                let case = sides + other + look.end(datum, shift_px);
                if case > least {
                    found.push((case, look.moved(one, shift_px)));
                }
            }
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    let kept = unlike(found.into_iter().map(|(_, one)| one), keep);
    kept.iter().map(|one| one.enlarged(evidence.factor)).collect()
}

/// The first of figures of which refining would give the same, at most `keep`.
pub(super) fn unlike(figures: impl Iterator<Item = Figure>, keep: usize) -> Vec<Figure> {
    let mut kept: Vec<Figure> = Vec::new();
    for one in figures {
        if kept.len() == keep {
            break;
        }
        if !kept.iter().any(|other| alike(&one, other)) {
            kept.push(one);
        }
    }
    kept
}

/// Whether refining both would give the same.
fn alike(one: &Figure, other: &Figure) -> bool {
    let half = one.size.half_width_m;
    one.datum_end == other.datum_end
        && (one.skirt_m - other.skirt_m).abs() < 0.1 * half
        && (one.head_depth_m - other.head_depth_m).abs() < 0.2 * half
        && (one.anchor_u - other.anchor_u).hypot(one.anchor_v - other.anchor_v) < 0.15 * half * one.scale_px_m
}

/// A point of an end: its place in reduced pixels, its normal and its weight.
#[derive(Clone, Copy, Default)]
struct Point {
    u: i32,
    v: i32,
    /// Normal times weight.
    normal_u: f32,
    normal_v: f32,
    weight: f32,
}

type Ends = [Point; POINTS];

struct Look<'a> {
    evidence: &'a Evidence,
    /// In reduced pixels.
    figure: Figure,
    sin: f64,
    cos: f64,
}

impl<'a> Look<'a> {
    fn new(evidence: &'a Evidence, figure: Figure) -> Self {
        let (sin, cos) = figure.tilt_rad.sin_cos();
        Self {
            evidence,
            figure,
            sin,
            cos,
        }
    }

    fn half_px(&self) -> f64 {
        self.figure.size.half_width_m * self.figure.scale_px_m
    }

    /// A figure moved along its axis.
    fn moved(&self, figure: &Figure, px: f64) -> Figure {
        Figure {
            anchor_u: figure.anchor_u + px * self.cos,
            anchor_v: figure.anchor_v + px * self.sin,
            ..*figure
        }
    }

    fn slope(&self, u: i32, v: i32) -> Option<[f32; 2]> {
        let (rows, columns) = self.evidence.dim();
        let at = index_of((u, v), (rows as i32, columns as i32))?;
        let known = self.evidence.slope.as_slice()?.get(at).copied();
        known.filter(|slope| slope[0].is_finite())
    }

    /// Support of both long edges, in reduced pixels, moved by −`steps`..=`steps` reduced pixels along the axis.
    fn sides(&self, steps: usize) -> Vec<f64> {
        let Size {
            length_m,
            half_width_m: half,
            ..
        } = self.figure.size;
        let (sin, cos) = (self.sin as f32, self.cos as f32);
        let length_px = length_m * self.figure.scale_px_m;
        let count = length_px.max(1.0) as usize;
        // The whole pixels of the length, what is over left at either end.
        let first_px = 0.5 * (length_px - count as f64) + 0.5 - steps as f64;
        let places = count + 2 * steps;
        // What lies before each place along the axis, so that any stretch is a difference.
        let mut before = vec![0.0f64; places + 1];
        for side in [-half, half] {
            let mut sum = 0.0f64;
            for (place, before) in before.iter_mut().skip(1).enumerate() {
                let axial = (first_px + place as f64) / self.figure.scale_px_m;
                let (u, v) = self.figure.pixel(axial, side);
                if let Some([along, across]) = self.slope(fixed(u + 0.5), fixed(v + 0.5)) {
                    sum += f64::from((across * cos - along * sin).abs() - GIVE);
                }
                *before += sum;
            }
        }
        before
            .iter()
            .zip(before.iter().skip(count))
            .map(|(from, to)| to - from)
            .collect()
    }

    /// The points of one end of a figure.
    fn points(&self, figure: &Figure, part: Part) -> Ends {
        let (half, depth, form) = (figure.size.half_width_m, figure.depth_m(part), figure.end_form(part));
        let (tangent, sign) = if part == Part::DatumEnd {
            (0.0, -1.0)
        } else {
            (figure.size.length_m, 1.0)
        };
        std::array::from_fn(|i| {
            let t = ((i as f64 + 0.5) / POINTS as f64 - 0.5) * std::f64::consts::PI;
            let (sin_t, cos_t) = t.sin_cos();
            let straight = t * std::f64::consts::FRAC_2_PI;
            let (reach, across, normal_along, normal_across) = match form {
                EndForm::Dished => {
                    let (a, q) = (cos_t * half, sin_t * depth);
                    let norm = a.hypot(q);
                    (depth * cos_t, half * sin_t, sign * a / norm, q / norm)
                }
                EndForm::Flat => (depth * cos_t, half * straight, sign, 0.0),
                EndForm::Skirt { half_m } => (depth, half_m * straight, sign, 0.0),
            };
            let weight = normal_along.abs();
            let (u, v) = figure.pixel(tangent + sign * reach, across);
            Point {
                u: fixed(u + 0.5),
                v: fixed(v + 0.5),
                normal_u: (weight * (self.cos * normal_along - self.sin * normal_across)) as f32,
                normal_v: (weight * (self.sin * normal_along + self.cos * normal_across)) as f32,
                weight: weight as f32,
            }
        })
    }

    /// Support of one end, in reduced pixels, moved so many reduced pixels along the axis.
    fn end(&self, points: &Ends, shift_px: f64) -> f64 {
        let (du, dv) = (fixed(shift_px * self.cos), fixed(shift_px * self.sin));
        let (mut support, mut weights) = (0.0f32, 0.0f32);
        for piece in points.chunks_exact(PIECE) {
            let mut sum = 0.0f32;
            for point in piece {
                if let Some([u, v]) = self.slope(point.u + du, point.v + dv) {
                    sum += u * point.normal_u + v * point.normal_v;
                    weights += point.weight;
                }
            }
            support += sum.abs();
        }
        // An end of which a part is in view counts for that part.
        f64::from(support - GIVE * weights) / (0.7 * POINTS as f64) * 2.0 * self.half_px()
    }
}
