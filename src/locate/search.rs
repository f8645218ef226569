//! Coarse search: which of all places, scales and tilts of the known figure have edges along their outline.
//!
//! The two long edges are found first, as pairs of parallel lines; each pair fixes the scale (the width is known), which
//! leaves one number, the place along the axis. A candidate's score is Σ over pieces of its outline of
//! length · (|mean saturated slope| − `GIVE`): pieces with an edge add, pieces without take away, so that the longest
//! well-supported outline wins over any small one.

mod pair;

use super::evidence::Evidence;
use super::figure::{DatumEnd, Figure, Size, Stance, Surface};
use super::lines::{self, Columns, Line};
use pair::{Ends, Pair, Tilt, USUAL_HEAD};

/// Candidates that are gathered before the best of them are sorted out: many, for those that are not distinct give way.
const SORTED_AT: usize = 512;
/// For so many figures that stand on legs or hang, one on a skirt is kept: they are rarer.
const SKIRTS: usize = 4;
/// Tilts tried: ±7° in steps that move the ends of a long edge by about one reduced pixel and a half.
const TILT_STEPS: i32 = 5;
const TILT_STEP_RAD: f64 = 0.0244;
/// Head depths that are looked for, in half widths: 2:1 ellipsoidal, and hemispherical. The pulls find what lies between.
const HEADS: [f64; 2] = [2.0 * USUAL_HEAD, 1.0];

/// Where skirts are looked for, in half widths below the tangent line; the fit finds what lies between.
pub(super) const SKIRT_LINES: [f64; 3] = [0.0, 0.17, 0.34];

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
            let mut found: Vec<Candidate> = Vec::new();
            let (mut least, mut full) = (0.0, SORTED_AT);
            for pair in &pairs {
                found.extend(pair.candidates(&heads, form, breadth.places, least));
                // What the worst of those kept is better than need not be looked at.
                if found.len() > full {
                    found = distinct(found, keep);
                    if let Some(last) = found.get(keep - 1) {
                        least = last.score;
                    }
                    full = found.len() + SORTED_AT;
                }
            }
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

/// The best `keep` candidates that are not near a better one, best first.
fn distinct(mut sorted: Vec<Candidate>, keep: usize) -> Vec<Candidate> {
    sorted.sort_by(|a, b| b.score.total_cmp(&a.score));
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
    skirt_share: f64,
}

impl Mark {
    pub(super) fn of(figure: &Figure) -> Self {
        let middle = figure.pixel(figure.size.length_m / 2.0, 0.0);
        Self {
            middle,
            half_px: figure.size.half_width_m * figure.scale_px_m,
            head_share: figure.head_depth_m / figure.size.half_width_m,
            datum_end: figure.datum_end,
            skirt_share: figure.skirt_m / figure.size.half_width_m,
        }
    }

    pub(super) fn near(&self, other: &Self) -> bool {
        (self.half_px / other.half_px - 1.0).abs() < 0.06
            && (self.middle.0 - other.middle.0).abs() < 0.15 * other.half_px
            && (self.middle.1 - other.middle.1).abs() < 0.10 * other.half_px
            && (self.head_share - other.head_share).abs() < 0.25
            && self.datum_end == other.datum_end
            && (self.skirt_share - other.skirt_share).abs() < 0.1
    }
}
