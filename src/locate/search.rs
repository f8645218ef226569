//! Coarse search: which of all places, scales and tilts of the known figure have edges along their outline.
//!
//! The two long edges are found first, as pairs of parallel lines; each pair fixes the scale (the width is known), which
//! leaves one number, the place along the axis. A candidate's score is Σ over pieces of its outline of
//! length · (|mean saturated slope| − [`GIVE`]): pieces with an edge add, pieces without take away, so that the longest
//! well-supported outline wins over any small one.

use super::evidence::{Evidence, TiltedSums};
use super::figure::{Figure, Size, Surface};

/// Support below which a piece of outline speaks against a candidate.
const GIVE: f32 = 0.4;
/// Tilts tried: ±7° in steps that move the ends of a long edge by about one reduced pixel and a half.
const TILT_STEPS: i32 = 5;
const TILT_STEP_RAD: f64 = 0.0244;
/// Parallel lines kept for each tilt.
const LINES: usize = 18;
/// Pieces into which a long edge is cut.
const PIECES: usize = 8;
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
    let mut best = Vec::new();
    for step in -TILT_STEPS..=TILT_STEPS {
        let sums = TiltedSums::new(evidence, f64::from(step) * TILT_STEP_RAD);
        let peaks = strongest_lines(&sums);
        for (index, &near) in peaks.iter().enumerate() {
            for &far in peaks.get(index + 1..).unwrap_or(&[]) {
                let pair = Pair { evidence, sums: &sums, near: near.min(far), far: near.max(far), size };
                pair.candidates(along, &mut best);
            }
        }
    }
    best.sort_by(|a: &Candidate, b| b.score.total_cmp(&a.score));
    distinct(best, keep)
}

/// Lines of one tilt with the most edge on them, as local maxima, strongest first.
fn strongest_lines(sums: &TiltedSums) -> Vec<usize> {
    let pieces = 2 * PIECES;
    let strength: Vec<f32> = (0..sums.lines())
        .map(|line| {
            let cut = |i: usize| i * sums.columns() / pieces;
            let mut parts: Vec<f32> = (0..pieces).map(|i| sums.between(line, cut(i), cut(i + 1)).abs()).collect();
            // The better half only: a vessel may fill half the picture, and a seam of the wall all of it.
            parts.sort_by(|a, b| b.total_cmp(a));
            parts.iter().take(PIECES).sum()
        })
        .collect();
    let mut peaks: Vec<usize> = (1..strength.len().saturating_sub(1))
        .filter(|&i| strength[i] >= strength[i - 1] && strength[i] > strength[i + 1])
        .collect();
    peaks.sort_by(|&a, &b| strength[b].total_cmp(&strength[a]));
    peaks.truncate(LINES);
    peaks
}

/// Two parallel lines taken as the long edges.
struct Pair<'a> {
    evidence: &'a Evidence,
    sums: &'a TiltedSums,
    near: usize,
    far: usize,
    size: Size,
}

impl Pair<'_> {
    /// Reduced pixels a metre, if these lines are the long edges.
    fn scale(&self) -> f64 {
        (self.far - self.near) as f64 * self.sums.tilt_rad.cos() / (2.0 * self.size.half_width_m)
    }

    fn candidates(&self, along: Along, best: &mut Vec<Candidate>) {
        let scale = self.scale();
        if ((self.far - self.near) as f64) < LEAST_SHARE * self.sums.lines() as f64 {
            return;
        }
        let columns = self.sums.columns() as f64;
        let length = self.size.length_m * scale * self.sums.tilt_rad.cos();
        match along {
            Along::StartsAt(start_m) => {
                let start = -0.5 / self.evidence.factor as f64 - start_m * scale;
                self.consider(start, start + length, best);
            }
            Along::Whole if length > columns + 2.0 => {}
            Along::Whole => {
                let head = self.usual_head_m() * scale;
                let slack = (head / 2.0).min(columns * 0.02);
                let (first, last) = (head - slack, columns - length - head + slack);
                let mut places: Vec<(f32, f64)> = Vec::new();
                let mut start = first;
                while start <= last {
                    places.push((self.sides(start, start + length), start));
                    start += 2.0;
                }
                places.sort_by(|a, b| b.0.total_cmp(&a.0));
                // Ends decide among the places that the long edges like best.
                for &(_, start) in places.iter().take(12) {
                    self.consider(start, start + length, best);
                }
            }
        }
    }

    fn usual_head_m(&self) -> f64 {
        match self.size.surface {
            Surface::Round => USUAL_HEAD * 2.0 * self.size.half_width_m,
            Surface::Plane => 0.0,
        }
    }

    fn consider(&self, start: f64, end: f64, best: &mut Vec<Candidate>) {
        let mut score = self.sides(start, end);
        if score <= 0.0 {
            return;
        }
        score += self.end(start, -1.0) + self.end(end, 1.0);
        if score > 0.0 {
            best.push(Candidate { score, figure: self.figure(start) });
        }
    }

    /// Support of both long edges between two columns, less half of what goes on beyond the ends.
    fn sides(&self, start: f64, end: f64) -> f32 {
        let columns = self.sums.columns() as f64;
        let (from, to) = (start.clamp(0.0, columns), end.clamp(0.0, columns));
        if to - from < 8.0 {
            return f32::MIN;
        }
        let mut score = 0.0;
        for line in [self.near, self.far] {
            let cut = |i: usize| (from + (to - from) * i as f64 / PIECES as f64).round() as usize;
            for i in 0..PIECES {
                let length = (cut(i + 1) - cut(i)) as f32;
                score += self.sums.between(line, cut(i), cut(i + 1)).abs() - GIVE * length;
            }
            let beyond = ((end - start) * 0.15).min(columns);
            let before = self.sums.between(line, (from - beyond).max(0.0) as usize, from as usize);
            let after = self.sums.between(line, to as usize, (to + beyond) as usize);
            score -= 0.5 * (before.abs() + after.abs());
        }
        score
    }

    /// Support of one end; 0 where it lies outside the picture.
    fn end(&self, tangent: f64, sign: f64) -> f32 {
        const SAMPLES: usize = 30;
        const PIECE: usize = 5;
        let (rows, cols) = self.evidence.dim();
        let half = (self.far - self.near) as f64 / 2.0;
        let middle = (self.far + self.near) as f64 / 2.0;
        let depth = self.usual_head_m() * self.scale();
        let tan = self.sums.tilt_rad.tan();
        let mut score = 0.0;
        let (mut sum, mut count) = (0.0f32, 0usize);
        for i in 0..SAMPLES {
            let t = ((i as f64 + 0.5) / SAMPLES as f64 - 0.5) * std::f64::consts::PI;
            let (across, normal) = if depth > 0.0 {
                let (nu, nv) = (sign * t.cos() * half, t.sin() * depth);
                (half * t.sin(), (nu / nu.hypot(nv), nv / nu.hypot(nv)))
            } else {
                (half * t / std::f64::consts::FRAC_PI_2, (sign, 0.0))
            };
            let u = tangent + sign * depth * t.cos() - across * tan;
            let v = middle + across + (u - (cols as f64 - 1.0) / 2.0) * tan;
            if u >= 0.0 && v >= 0.0 && (u as usize) < cols && (v as usize) < rows {
                let at = [v.round() as usize % rows, u.round() as usize % cols];
                sum += self.evidence.along[at] * normal.0 as f32 + self.evidence.across[at] * normal.1 as f32;
                count += 1;
            }
            if i % PIECE == PIECE - 1 {
                if count > 0 {
                    let arc = (2.0 * half / SAMPLES as f64 * count as f64) as f32;
                    score += (sum.abs() / count as f32 - GIVE) * arc;
                }
                (sum, count) = (0.0, 0);
            }
        }
        score
    }

    fn figure(&self, start: f64) -> Figure {
        let factor = self.evidence.factor as f64;
        let full = |reduced: f64| (reduced + 0.5) * factor - 0.5;
        let middle = (self.sums.columns() as f64 - 1.0) / 2.0;
        let axis = (self.near + self.far) as f64 / 2.0 + (start - middle) * self.sums.tilt_rad.tan();
        Figure {
            size: self.size,
            head_depth_m: self.usual_head_m(),
            stretch: 1.0,
            anchor_u: full(start),
            anchor_v: full(axis),
            anchor_axial_m: 0.0,
            tilt_rad: self.sums.tilt_rad,
            scale_px_m: self.scale() * factor,
        }
    }
}

/// The first `keep` candidates (best first) that are not near a better one.
fn distinct(sorted: Vec<Candidate>, keep: usize) -> Vec<Candidate> {
    let mut kept: Vec<Candidate> = Vec::with_capacity(keep);
    for candidate in sorted {
        let near = |other: &Candidate| {
            let (a, b) = (&candidate.figure, &other.figure);
            let half_px = b.size.half_width_m * b.scale_px_m;
            let middle = |f: &Figure| f.pixel(f.size.length_m / 2.0, 0.0);
            let ((au, av), (bu, bv)) = (middle(a), middle(b));
            (a.scale_px_m / b.scale_px_m - 1.0).abs() < 0.06
                && (au - bu).abs() < 0.15 * half_px
                && (av - bv).abs() < 0.10 * half_px
        };
        if !kept.iter().any(near) {
            kept.push(candidate);
            if kept.len() == keep {
                break;
            }
        }
    }
    kept
}
