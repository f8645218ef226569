//! Coarse search: which of all places, scales and tilts of the known figure have edges along their outline.
//!
//! The two long edges are found first, as pairs of parallel lines; each pair fixes the scale (the width is known), which
//! leaves one number, the place along the axis. A candidate's score is Σ over pieces of its outline of
//! length · (|mean saturated slope| − `GIVE`): pieces with an edge add, pieces without take away, so that the longest
//! well-supported outline wins over any small one.

use super::evidence::Evidence;
use super::figure::{DatumEnd, Figure, Size, Stance, Surface};
use super::lines::{self, Columns, GIVE, Line};
use super::walk::{fixed, index_of};

/// For so many figures that stand on legs or hang, one on a skirt is kept: they are rarer.
const SKIRTS: usize = 4;
/// Tilts tried: ±7° in steps that move the ends of a long edge by about one reduced pixel and a half.
const TILT_STEPS: i32 = 5;
const TILT_STEP_RAD: f64 = 0.0244;
/// Step along the axis in reduced pixels.
const PLACE_STEP: f64 = 2.0;
/// Head depth that room is kept for and that one has which is not seen, as a share of the diameter (2:1 ellipsoidal, the
/// commonest in the trade).
const USUAL_HEAD: f64 = 0.25;
/// Head depths that are looked for, in half widths: 2:1 ellipsoidal, and hemispherical. The pulls find what lies between.
const HEADS: [f64; 2] = [2.0 * USUAL_HEAD, 1.0];
/// Least width of the figure across, as a share of the picture.
const LEAST_SHARE: f64 = 0.08;

/// What is known of the place along the axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Along {
    /// The asset is wholly in view: both ends are looked for.
    Whole,
    /// The datum-side edge of the picture lies at this axial place in m.
    StartsAt(f64),
}

/// A candidate with its score in reduced pixels.
#[derive(Debug, Clone, Copy)]
pub struct Candidate {
    /// Score: supported less unsupported length of outline.
    pub score: f32,
    /// The figure, in full-size oriented pixels.
    pub figure: Figure,
}

/// How widely the search looks.
#[derive(Debug, Clone, Copy)]
pub struct Breadth {
    /// Pairs of lines whose ends are looked for.
    pub pairs: usize,
    /// Places along the axis at which the ends of a pair are looked for.
    pub places: usize,
    /// Most candidates with heads at both ends.
    pub candidates: usize,
}

/// The straight edges of a picture, among which the long edges are looked for.
pub struct Edges<'a> {
    evidence: &'a Evidence,
    tilts: Vec<(Tilt, Vec<Line>)>,
}

impl<'a> Edges<'a> {
    /// Finds them, at all tilts.
    #[must_use]
    pub fn find(evidence: &'a Evidence) -> Self {
        let columns = Columns::of(evidence);
        let tilts = (-TILT_STEPS..=TILT_STEPS)
            .map(|step| {
                let rad = f64::from(step) * TILT_STEP_RAD;
                let tilt = Tilt {
                    rad,
                    tan: rad.tan(),
                    cos: rad.cos(),
                };
                (tilt, lines::strongest(&columns, rad))
            })
            .collect();
        Self { evidence, tilts }
    }

    /// The best candidates of a picture, best first.
    #[must_use]
    pub fn candidates(&self, size: Size, along: Along, breadth: Breadth) -> Vec<Candidate> {
        let mut pairs = Vec::new();
        for (tilt, lines) in &self.tilts {
            for (index, first) in lines.iter().enumerate() {
                for second in lines.get(index + 1..).unwrap_or(&[]) {
                    pairs.extend(Pair::new(self.evidence, tilt, (first, second), (size, along)));
                }
            }
        }
        let heads: Vec<Ends> = head_depths(size).iter().map(|&depth| Ends::of(depth)).collect();
        let pairs = most_promising(pairs, breadth.pairs);
        let best_of = |form: DatumEnd, keep: usize| {
            let mut found: Vec<Candidate> = pairs
                .iter()
                .flat_map(|pair| pair.candidates(&heads, form, breadth.places))
                .collect();
            found.sort_by(|a, b| b.score.total_cmp(&a.score));
            distinct(found, keep)
        };
        let mut best = best_of(DatumEnd::Head, breadth.candidates);
        if size.stance == Stance::OnEnd {
            best.extend(best_of(DatumEnd::Skirt, breadth.candidates / SKIRTS));
        }
        best
    }
}

/// The `most` pairs whose long edges promise most.
fn most_promising(mut pairs: Vec<Pair<'_>>, most: usize) -> Vec<Pair<'_>> {
    // No place can promise more than the best stretches of both lines: most pairs need not be looked at.
    pairs.sort_by(|a, b| b.bound.total_cmp(&a.bound));
    let mut kept: Vec<(f32, Pair)> = Vec::with_capacity(2 * most);
    let mut least = 0.0;
    for pair in pairs {
        if pair.bound <= least {
            break;
        }
        let promise = pair.promise();
        if promise > least {
            kept.push((promise, pair));
        }
        if kept.len() == 2 * most {
            kept.sort_by(|a, b| b.0.total_cmp(&a.0));
            kept.truncate(most);
            least = kept.last().map_or(0.0, |(promise, _)| *promise);
        }
    }
    kept.sort_by(|a, b| b.0.total_cmp(&a.0));
    kept.truncate(most);
    kept.into_iter().map(|(_, pair)| pair).collect()
}

/// Depths of heads that are looked for, in half widths.
fn head_depths(size: Size) -> &'static [f64] {
    match size.surface {
        Surface::Round => &HEADS,
        Surface::Plane => &[0.0],
    }
}

fn usual_head_m(size: Size) -> f64 {
    match size.surface {
        Surface::Round => USUAL_HEAD * 2.0 * size.half_width_m,
        Surface::Plane => 0.0,
    }
}

/// Points of an end in shares of the half width: outward place, place across, normal. The same for every scale.
struct Ends {
    /// Depth in half widths.
    depth: f64,
    points: [[f64; 4]; Ends::SAMPLES],
}

impl Ends {
    const SAMPLES: usize = 30;
    /// Points that decide together.
    const PIECE: usize = 5;

    fn of(depth: f64) -> Self {
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
struct Tilt {
    rad: f64,
    tan: f64,
    cos: f64,
}

/// Two parallel lines taken as the long edges.
struct Pair<'a> {
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
    bound: f32,
}

impl<'a> Pair<'a> {
    /// None where the figure does not go into the picture.
    fn new(
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
    fn promise(&self) -> f32 {
        let steps = ((self.places.1 - self.places.0) / (2.0 * PLACE_STEP)) as usize;
        let place = |i: usize| self.places.0 + i as f64 * 2.0 * PLACE_STEP;
        (0..=steps)
            .map(|i| self.sides(place(i), DatumEnd::Head))
            .fold(0.0, f32::max)
            / self.yardstick
    }

    /// The best places of this pair with their score.
    fn candidates(&self, heads: &[Ends], datum_end: DatumEnd, most_places: usize) -> Vec<Candidate> {
        let steps = ((self.places.1 - self.places.0) / PLACE_STEP) as usize;
        let mut places: Vec<(f32, f64)> = (0..=steps)
            .map(|i| self.places.0 + i as f64 * PLACE_STEP)
            .map(|start| (self.sides(start, datum_end), start))
            .filter(|(sides, _)| *sides > 0.0)
            .collect();
        places.sort_by(|a, b| b.0.total_cmp(&a.0));
        places.truncate(most_places);
        let both: Vec<_> = heads
            .iter()
            .map(|head| {
                let datum = match datum_end {
                    DatumEnd::Head => self.end_points(head, -1.0),
                    DatumEnd::Skirt => self.end_points(&Ends::of(0.0), -1.0),
                };
                (head.depth, datum, self.end_points(head, 1.0))
            })
            .collect();
        // Ends decide among the places that the long edges like best.
        let mut found = Vec::with_capacity(places.len());
        for (sides, start) in places {
            let ends = both.iter().map(|(depth, datum, other)| {
                let support = self.end(datum, start) + self.end(other, start + self.length);
                (support, *depth)
            });
            // The usual depth stays where no head is in view.
            let best = ends.reduce(|best, one| if one.0 > best.0 { one } else { best });
            let Some((ends, depth)) = best else { continue };
            let score = (sides + ends) / self.yardstick;
            if score > 0.0 {
                found.push(Candidate {
                    score,
                    figure: Figure {
                        datum_end,
                        head_depth_m: depth * self.size.half_width_m,
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
                if let Some(slope) = at.and_then(|at| slopes.get(at)) {
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
            stretch: 1.0,
            anchor_u: self.evidence.to_full(anchor),
            anchor_v: self.evidence.to_full(axis),
            anchor_axial_m,
            tilt_rad: self.tilt_rad,
            scale_px_m: self.scale * self.evidence.factor as f64,
        }
    }
}

/// The first `keep` candidates (best first) that are not near a better one.
fn distinct(sorted: Vec<Candidate>, keep: usize) -> Vec<Candidate> {
    let mut kept: Vec<(Candidate, Mark)> = Vec::with_capacity(keep);
    for candidate in sorted {
        let mark = Mark::of(&candidate.figure);
        if !kept.iter().any(|(_, other)| mark.near(other)) {
            kept.push((candidate, mark));
            if kept.len() == keep {
                break;
            }
        }
    }
    kept.into_iter().map(|(candidate, _)| candidate).collect()
}

/// Where a figure lies, for telling whether two are so near that refining both would give the same.
pub(super) struct Mark {
    middle: (f64, f64),
    half_px: f64,
    head_share: f64,
    datum_end: DatumEnd,
}

impl Mark {
    pub(super) fn of(figure: &Figure) -> Self {
        let middle = figure.pixel(figure.size.length_m / 2.0, 0.0);
        Self {
            middle,
            half_px: figure.size.half_width_m * figure.scale_px_m,
            head_share: figure.head_depth_m / figure.size.half_width_m,
            datum_end: figure.datum_end,
        }
    }

    pub(super) fn near(&self, other: &Self) -> bool {
        (self.half_px / other.half_px - 1.0).abs() < 0.06
            && (self.middle.0 - other.middle.0).abs() < 0.15 * other.half_px
            && (self.middle.1 - other.middle.1).abs() < 0.10 * other.half_px
            && (self.head_share - other.head_share).abs() < 0.25
            && self.datum_end == other.datum_end
    }
}
