//! Two parallel lines of the reduced picture taken as the long edges: which places along them have edges where the ends would
//! be.

use super::super::evidence::Evidence;
use super::super::figure::{DatumEnd, Figure, Size, Surface, drawn_in};
use super::super::lines::{GIVE, Line};
use super::super::walk::{fixed, index_of};
use super::{Along, Candidate, SKIRT_LINES};

/// Step along the axis in reduced pixels.
const PLACE_STEP: f64 = 2.0;
/// Head depth that room is kept for and that one has which is not seen, as a share of the diameter (2:1 ellipsoidal, the
/// commonest in the trade).
pub(super) const USUAL_HEAD: f64 = 0.25;
/// The most that an end is taken to be supported by, in widths: slopes are saturated to 1.
const MOST_OF_AN_END: f32 = 1.0 - GIVE;
/// Least width of the figure across, as a share of the picture.
const LEAST_SHARE: f64 = 0.08;

fn usual_head_m(size: Size) -> f64 {
    match size.surface {
        Surface::Round => USUAL_HEAD * 2.0 * size.half_width_m,
        Surface::Plane => 0.0,
    }
}

/// Points of an end in shares of the half width: outward place, place across, normal. The same for every scale.
pub(super) struct Ends {
    /// Depth in half widths.
    depth: f64,
    points: [[f64; 4]; Ends::SAMPLES],
}

impl Ends {
    const SAMPLES: usize = 30;
    /// Points that decide together.
    const PIECE: usize = 5;

    pub(super) fn of(depth: f64) -> Self {
        let points = std::array::from_fn(|i| {
            let share = (i as f64 + 0.5) / Self::SAMPLES as f64 - 0.5;
            let (sin, cos) = (share * std::f64::consts::PI).sin_cos();
            if depth > 0.0 {
                let norm = cos.hypot(sin * depth);
                [depth * cos, sin, cos / norm, sin * depth / norm]
            } else {
                [0.0, 2.0 * share, 1.0, 0.0]
            }
        });
        Self { depth, points }
    }

    /// The line at which a skirt begins, so many half widths below the tangent line, where a head of that depth has drawn in.
    fn skirt(below: f64, depth: f64) -> Self {
        let half = drawn_in(below, depth);
        let straight = Self::of(0.0);
        Self {
            points: straight
                .points
                .map(|[_, across, normal_u, normal_v]| [below, half * across, normal_u, normal_v]),
            ..straight
        }
    }
}

/// A point of an end, about the place of its tangent line on the axis.
#[derive(Clone, Copy)]
struct EndPoint {
    du: i32,
    dv: i32,
    normal_u: f32,
    normal_v: f32,
}

/// A tilt with its tangent and cosine.
pub(super) struct Tilt {
    pub(super) rad: f64,
    pub(super) tan: f64,
    pub(super) cos: f64,
}

/// Two parallel lines taken as the long edges.
pub(super) struct Pair<'a> {
    evidence: &'a Evidence,
    size: Size,
    along: Along,
    tilt_rad: f64,
    tan: f64,
    near: &'a Line,
    far: &'a Line,
    /// Reduced pixels a metre, if these lines are the long edges.
    scale: f64,
    /// Columns from tangent line to tangent line.
    length: f64,
    /// Columns at which the datum tangent line may stand: first, last.
    places: (f64, f64),
    /// What a support is divided by so that small figures compare with large ones.
    yardstick: f32,
    /// The most that the long edges can promise.
    pub(super) bound: f32,
}

impl<'a> Pair<'a> {
    /// None where the figure does not go into the picture.
    pub(super) fn new(
        evidence: &'a Evidence,
        tilt: &Tilt,
        (first, second): (&'a Line, &'a Line),
        (size, along): (Size, Along),
    ) -> Option<Self> {
        let (near, far) = if first.row < second.row {
            (first, second)
        } else {
            (second, first)
        };
        let (rows, cols) = evidence.dim();
        let width = (far.row - near.row) as f64;
        if width < (LEAST_SHARE * rows as f64).max(4.0) {
            return None;
        }
        let scale = width * tilt.cos / (2.0 * size.half_width_m);
        let (length, columns) = (size.length_m * scale * tilt.cos, cols as f64);
        let places = match along {
            Along::StartsAt(start_m) => {
                let start = -0.5 - start_m * scale * tilt.cos;
                (start, start)
            }
            Along::Whole => {
                let head = usual_head_m(size) * scale;
                let slack = (head / 2.0).min(columns * 0.02) + 1.0;
                (head - slack, columns - length - head + slack)
            }
        };
        if along == Along::Whole && (length > columns + 2.0 || places.0 > places.1) {
            return None;
        }
        // Of an asset that goes on beyond the picture, only what is in view can be supported.
        let in_view = length
            .min(columns - places.0.max(0.0))
            .min(length + places.0.min(0.0))
            .max(0.0);
        let yardstick = (in_view + width).powf(0.6) as f32;
        let bound = (near.strength + far.strength) / yardstick;
        let Tilt { rad: tilt_rad, tan, .. } = *tilt;
        Some(Self {
            evidence,
            size,
            along,
            tilt_rad,
            tan,
            near,
            far,
            scale,
            length,
            places,
            yardstick,
            bound,
        })
    }

    fn width(&self) -> f64 {
        (self.far.row - self.near.row) as f64
    }

    /// The best that the long edges promise at any place.
    pub(super) fn promise(&self) -> f32 {
        let steps = ((self.places.1 - self.places.0) / (2.0 * PLACE_STEP)) as usize;
        let place = |i: usize| self.places.0 + i as f64 * 2.0 * PLACE_STEP;
        (0..=steps)
            .map(|i| self.sides(place(i), DatumEnd::Head))
            .fold(0.0, f32::max)
            / self.yardstick
    }

    /// The best places of this pair with their score, where that is above `least`.
    pub(super) fn candidates(
        &self,
        heads: &[Ends],
        datum_end: DatumEnd,
        most_places: usize,
        least: f32,
    ) -> Vec<Candidate> {
        let most_of_an_end = MOST_OF_AN_END * self.width() as f32;
        let due = least * self.yardstick;
        let steps = ((self.places.1 - self.places.0) / PLACE_STEP) as usize;
        let mut places: Vec<(f32, f64)> = (0..=steps)
            .map(|i| self.places.0 + i as f64 * PLACE_STEP)
            .map(|start| (self.sides(start, datum_end), start))
            .filter(|(sides, _)| *sides > (due - 2.0 * most_of_an_end).max(0.0))
            .collect();
        if places.is_empty() {
            return Vec::new();
        }
        places.sort_by(|a, b| b.0.total_cmp(&a.0));
        places.truncate(most_places);
        let mut both = Vec::with_capacity(heads.len() * SKIRT_LINES.len());
        for head in heads {
            let other = self.end_points(head, 1.0);
            let mut with = |skirt: f64, datum: &Ends| {
                both.push((head.depth, skirt, self.end_points(datum, -1.0), other));
            };
            match datum_end {
                DatumEnd::Head => with(0.0, head),
                DatumEnd::Skirt => SKIRT_LINES
                    .iter()
                    .for_each(|&skirt| with(skirt, &Ends::skirt(skirt, head.depth))),
            }
        }
        // Ends decide among the places that the long edges like best.
        let mut found = Vec::with_capacity(places.len());
        for (sides, start) in places {
            let ends = both.iter().filter_map(|(depth, skirt, datum, other)| {
                let support = self.end(datum, start);
                let promising = sides + support + most_of_an_end > due;
                promising.then(|| (support + self.end(other, start + self.length), *depth, *skirt))
            });
            // The usual depth stays where no head is in view.
            let best = ends.reduce(|best, one| if one.0 > best.0 { one } else { best });
            let Some((ends, depth, skirt)) = best else { continue };
            let score = (sides + ends) / self.yardstick;
            if score > least {
                found.push(Candidate {
                    score,
                    figure: Figure {
                        datum_end,
                        head_depth_m: depth * self.size.half_width_m,
                        skirt_m: skirt * self.size.half_width_m,
                        ..self.figure(start)
                    },
                });
            }
        }
        found
    }

    /// Support of both long edges from a column on, less half of what goes on beyond the ends; below the datum end a skirt may.
    fn sides(&self, start: f64, datum_end: DatumEnd) -> f32 {
        let below = if datum_end == DatumEnd::Skirt { 0.0 } else { 1.0 };
        let end = start + self.length;
        let columns = self.evidence.dim().1 as f64;
        let (from, to) = (start.clamp(0.0, columns), end.clamp(0.0, columns));
        if to - from < 8.0 {
            return f32::MIN;
        }
        let beyond = (self.length * 0.15).min(columns);
        let mut score = -2.0 * GIVE * (to - from) as f32;
        // The places are the same on both lines.
        let places = [from - beyond, from, to, to + beyond].map(|u| self.near.place(u));
        for line in [self.near, self.far] {
            let [before, from, to, after] = places.map(|place| line.sum_before(place));
            score += to - from;
            score -= 0.5 * (below * (from - before) + (after - to));
        }
        score
    }

    /// Support of one end whose tangent line stands at a column; 0 where it lies outside the picture.
    fn end(&self, points: &[EndPoint; Ends::SAMPLES], tangent: f64) -> f32 {
        let (rows, cols) = self.evidence.dim();
        let Some(slopes) = self.evidence.slope.as_slice() else {
            return 0.0;
        };
        let centre = (self.far.row + self.near.row) as f64 / 2.0;
        let middle = (cols as f64 - 1.0) / 2.0;
        let (u, v) = (
            fixed(tangent + 0.5),
            fixed(centre + (tangent - middle) * self.tan + 0.5),
        );
        let mut score = 0.0;
        for piece in points.chunks_exact(Ends::PIECE) {
            let (mut sum, mut count) = (0.0f32, 0.0f32);
            for point in piece {
                let at = index_of((u + point.du, v + point.dv), (rows as i32, cols as i32));
                let known = at.and_then(|at| slopes.get(at));
                if let Some(slope) = known.filter(|slope| slope[0].is_finite()) {
                    sum += slope[0] * point.normal_u + slope[1] * point.normal_v;
                    count += 1.0;
                }
            }
            score += sum.abs() - GIVE * count;
        }
        score * (self.width() / Ends::SAMPLES as f64) as f32
    }

    /// The points of an end about the place of its tangent line on the axis.
    fn end_points(&self, ends: &Ends, sign: f64) -> [EndPoint; Ends::SAMPLES] {
        let half = self.width() / 2.0;
        ends.points.map(|[out, across, normal_u, normal_v]| {
            let du = half * (sign * out - across * self.tan);
            EndPoint {
                du: fixed(du),
                dv: fixed(half * across + du * self.tan),
                normal_u: (sign * normal_u) as f32,
                normal_v: normal_v as f32,
            }
        })
    }

    fn figure(&self, start: f64) -> Figure {
        let middle = (self.evidence.dim().1 as f64 - 1.0) / 2.0;
        // What is known stays where it is when the scale changes: the datum end, or the place at the picture's edge.
        let (anchor, anchor_axial_m) = match self.along {
            Along::Whole => (start, 0.0),
            Along::StartsAt(start_m) => (-0.5, start_m),
        };
        let axis = (self.near.row + self.far.row) as f64 / 2.0 + (anchor - middle) * self.tan;
        Figure {
            size: self.size,
            head_depth_m: usual_head_m(self.size),
            datum_end: DatumEnd::Head,
            skirt_m: 0.0,
            stretch: 1.0,
            anchor_u: self.evidence.to_full(anchor),
            anchor_v: self.evidence.to_full(axis),
            anchor_axial_m,
            tilt_rad: self.tilt_rad,
            scale_px_m: self.scale * self.evidence.factor as f64,
            taper_per_m: 0.0,
        }
    }
}
