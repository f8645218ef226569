//! Coarse search: which of all places, scales and tilts of the known figure have edges along their outline.
//!
//! The two long edges are found first, as pairs of parallel lines; each pair fixes the scale (the width is known), which
//! leaves one number, the place along the axis. A candidate's score is Σ over pieces of its outline of
//! length · (|mean saturated slope| − [`GIVE`]): pieces with an edge add, pieces without take away, so that the longest
//! well-supported outline wins over any small one.

use super::evidence::Evidence;
use super::figure::{Figure, Size, Surface};
use super::lines::{self, Columns, GIVE, Line};

/// Tilts tried: ±7° in steps that move the ends of a long edge by about one reduced pixel and a half.
const TILT_STEPS: i32 = 5;
const TILT_STEP_RAD: f64 = 0.0244;
/// Pairs of lines whose ends are looked for.
const PAIRS: usize = 160;
/// Places along the axis at which the ends of a pair are looked for.
const PLACES: usize = 14;
/// Step along the axis in reduced pixels.
const PLACE_STEP: f64 = 2.0;
/// Head depth assumed while searching, as a share of the diameter (2:1 ellipsoidal, the commonest in the trade).
const USUAL_HEAD: f64 = 0.25;
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

/// The best candidates of a picture, best first, at most `keep`.
#[must_use]
pub fn search(evidence: &Evidence, size: Size, along: Along, keep: usize) -> Vec<Candidate> {
    let columns = Columns::of(evidence);
    let tilts: Vec<(f64, Vec<Line>)> = (-TILT_STEPS..=TILT_STEPS)
        .map(|step| {
            let tilt_rad = f64::from(step) * TILT_STEP_RAD;
            (tilt_rad, lines::strongest(&columns, tilt_rad))
        })
        .collect();
    let mut pairs = Vec::new();
    for (tilt_rad, lines) in &tilts {
        for (index, first) in lines.iter().enumerate() {
            for second in lines.get(index + 1..).unwrap_or(&[]) {
                let (near, far) = if first.row < second.row {
                    (first, second)
                } else {
                    (second, first)
                };
                let pair = Pair {
                    evidence,
                    tilt_rad: *tilt_rad,
                    near,
                    far,
                    size,
                };
                if let Some(bound) = pair.promise(along) {
                    pairs.push((bound, pair));
                }
            }
        }
    }
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0));
    pairs.truncate(PAIRS);
    let ends = Ends::of(size);
    let mut best: Vec<Candidate> = pairs
        .iter()
        .flat_map(|(_, pair)| pair.candidates(along, &ends))
        .collect();
    best.sort_by(|a: &Candidate, b| b.score.total_cmp(&a.score));
    distinct(best, keep)
}

fn usual_head_m(size: Size) -> f64 {
    match size.surface {
        Surface::Round => USUAL_HEAD * 2.0 * size.half_width_m,
        Surface::Plane => 0.0,
    }
}

/// Points of an end in shares of the half width: outward place, place across, normal. The same for every scale.
struct Ends {
    points: [[f64; 4]; Ends::SAMPLES],
}

impl Ends {
    const SAMPLES: usize = 30;
    /// Points that decide together.
    const PIECE: usize = 5;

    fn of(size: Size) -> Self {
        let depth = usual_head_m(size) / size.half_width_m;
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
        Self { points }
    }
}

/// Two parallel lines taken as the long edges.
struct Pair<'a> {
    evidence: &'a Evidence,
    tilt_rad: f64,
    near: &'a Line,
    far: &'a Line,
    size: Size,
}

impl Pair<'_> {
    fn width(&self) -> f64 {
        (self.far.row - self.near.row) as f64
    }

    /// Reduced pixels a metre, if these lines are the long edges.
    fn scale(&self) -> f64 {
        self.width() * self.tilt_rad.cos() / (2.0 * self.size.half_width_m)
    }

    fn length(&self) -> f64 {
        self.size.length_m * self.scale() * self.tilt_rad.cos()
    }

    /// Columns at which the datum tangent line may stand: first, last.
    fn places(&self, along: Along) -> Option<(f64, f64)> {
        let (rows, cols) = self.evidence.dim();
        if self.width() < (LEAST_SHARE * rows as f64).max(4.0) {
            return None;
        }
        match along {
            Along::StartsAt(start_m) => {
                let start = -0.5 - start_m * self.scale() * self.tilt_rad.cos();
                Some((start, start))
            }
            Along::Whole => {
                let (length, columns) = (self.length(), cols as f64);
                let head = usual_head_m(self.size) * self.scale();
                let slack = (head / 2.0).min(columns * 0.02) + 1.0;
                let (first, last) = (head - slack, columns - length - head + slack);
                (length <= columns + 2.0 && first <= last).then_some((first, last))
            }
        }
    }

    /// The best that the long edges can promise; None where the figure does not go into the picture.
    fn promise(&self, along: Along) -> Option<f32> {
        if self.near.strength + self.far.strength <= 0.0 {
            return None;
        }
        let (first, last) = self.places(along)?;
        let (length, mut best) = (self.length(), f32::MIN);
        let mut start = first;
        while start <= last {
            best = best.max(self.sides(start, start + length) / (length as f32).powf(0.6));
            start += 2.0 * PLACE_STEP;
        }
        (best > 0.0).then_some(best)
    }

    /// The best places of this pair with their score.
    fn candidates(&self, along: Along, ends: &Ends) -> Vec<Candidate> {
        let Some((first, last)) = self.places(along) else {
            return Vec::new();
        };
        let length = self.length();
        let steps = ((last - first) / PLACE_STEP) as usize;
        let mut places: Vec<(f32, f64)> = (0..=steps)
            .map(|i| first + i as f64 * PLACE_STEP)
            .map(|start| (self.sides(start, start + length), start))
            .filter(|(sides, _)| *sides > 0.0)
            .collect();
        places.sort_by(|a, b| b.0.total_cmp(&a.0));
        places.truncate(PLACES);
        // Ends decide among the places that the long edges like best.
        places
            .into_iter()
            .map(|(sides, start)| {
                let whole = sides + self.end(ends, start, -1.0) + self.end(ends, start + length, 1.0);
                let score = whole / (length + self.width()).powf(0.6) as f32;
                Candidate {
                    score,
                    figure: self.figure(start),
                }
            })
            .filter(|c| c.score > 0.0)
            .collect()
    }

    /// Support of both long edges between two columns, less half of what goes on beyond the ends.
    fn sides(&self, start: f64, end: f64) -> f32 {
        let columns = self.evidence.dim().1 as f64;
        let (from, to) = (start.clamp(0.0, columns), end.clamp(0.0, columns));
        if to - from < 8.0 {
            return f32::MIN;
        }
        let beyond = ((end - start) * 0.15).min(columns);
        let mut score = -2.0 * GIVE * (to - from) as f32;
        for line in [self.near, self.far] {
            score += line.between(from, to);
            score -= 0.5 * (line.between(from - beyond, from) + line.between(to, to + beyond));
        }
        score
    }

    /// Support of one end; 0 where it lies outside the picture.
    fn end(&self, ends: &Ends, tangent: f64, sign: f64) -> f32 {
        let (rows, cols) = self.evidence.dim();
        let half = self.width() / 2.0;
        let centre = (self.far.row + self.near.row) as f64 / 2.0 + 0.5;
        let middle = (cols as f64 - 1.0) / 2.0;
        let tan = self.tilt_rad.tan();
        let arc_step = (2.0 * half / Ends::SAMPLES as f64) as f32;
        let mut score = 0.0;
        for piece in ends.points.chunks(Ends::PIECE) {
            let (mut sum, mut count) = (0.0f32, 0.0f32);
            for &[out, across, normal_u, normal_v] in piece {
                let u = tangent + half * (sign * out - across * tan);
                let v = centre + half * across + (u - middle) * tan;
                if u >= -0.5 && v >= 0.0 && u + 0.5 < cols as f64 && v < rows as f64 {
                    if let Some(slope) = self.evidence.slope.get([v as usize, (u + 0.5) as usize]) {
                        sum += slope[0] * (sign * normal_u) as f32 + slope[1] * normal_v as f32;
                    }
                    count += 1.0;
                }
            }
            if count > 0.0 {
                score += (sum.abs() - GIVE * count) * arc_step;
            }
        }
        score
    }

    fn figure(&self, start: f64) -> Figure {
        let middle = (self.evidence.dim().1 as f64 - 1.0) / 2.0;
        let axis = (self.near.row + self.far.row) as f64 / 2.0 + (start - middle) * self.tilt_rad.tan();
        Figure {
            size: self.size,
            head_depth_m: usual_head_m(self.size),
            stretch: 1.0,
            anchor_u: self.evidence.to_full(start),
            anchor_v: self.evidence.to_full(axis),
            anchor_axial_m: 0.0,
            tilt_rad: self.tilt_rad,
            scale_px_m: self.scale() * self.evidence.factor as f64,
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
}

impl Mark {
    pub(super) fn of(figure: &Figure) -> Self {
        let middle = figure.pixel(figure.size.length_m / 2.0, 0.0);
        Self {
            middle,
            half_px: figure.size.half_width_m * figure.scale_px_m,
        }
    }

    pub(super) fn near(&self, other: &Self) -> bool {
        (self.half_px / other.half_px - 1.0).abs() < 0.06
            && (self.middle.0 - other.middle.0).abs() < 0.15 * other.half_px
            && (self.middle.1 - other.middle.1).abs() < 0.10 * other.half_px
    }
}
