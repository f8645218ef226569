//! Coarse fit: a candidate is pulled onto the saturated slopes of the reduced picture, where one pass costs microseconds.

use super::evidence::Evidence;
use super::figure::{self, DatumEnd, Figure, OutlinePoint, Part};
use super::pull::{self, Piece};
use super::search::Along;
use super::walk::Walk;

/// Length of outline that decides together, in reduced pixels.
const PIECE_PX: f64 = 9.0;
/// Spacing of outline points in reduced pixels.
const STEP_PX: f64 = 1.5;
/// Half widths of the search along the normal in reduced pixels, for one pass each.
const ROUGH_WINDOWS: [i32; 2] = [4, 3];
const FINE_WINDOWS: [i32; 2] = [2, 2];
/// Most offsets of a search.
const OFFSETS: usize = 9;
/// Distance from the outline within which an edge is its own.
pub(super) const HELD_PX: f64 = 1.0;

/// A candidate pulled onto the slopes.
#[derive(Debug, Clone, Copy)]
pub struct Pulled {
    /// The figure in full-size pixels.
    pub figure: Figure,
    /// Share of the outline in view that has an edge, 0..1.
    pub support: f64,
    /// Support with the sign kept within each side: edges that change sign cancel, 0..1.
    pub signed: f64,
    /// Support of the least supported of the sides in view, 0..1.
    pub weakest_side: f64,
    /// Support of the less supported of the ends in view, 0..1.
    pub weakest_end: f64,
    /// Share of neighbouring pieces whose steps have the same sign, 0..1.
    pub coherence: f64,
    /// Support of the long edges' lines beyond the ends, 0..1.
    pub beyond: f64,
    /// Outline in view in reduced pixels.
    pub in_view: f64,
}

/// Pulls a figure (full-size pixels) onto the slopes: the first passes, with the support that these find.
#[must_use]
pub fn pull_roughly(evidence: &Evidence, start: Figure, along: Along) -> (f64, Figure) {
    let mut figure = start.reduced(evidence.factor);
    let mut held = 0.0;
    for window in ROUGH_WINDOWS {
        let pieces = look(evidence, &figure, window);
        held = pull::signed_support(&pieces, HELD_PX) + pull::weakest_side(&pieces, HELD_PX, missing(along));
        figure = changed(&pieces, figure, along, window);
    }
    (held, figure.enlarged(evidence.factor))
}

/// Pulls a figure (full-size pixels) onto the slopes: the last passes, and what the slopes then say of it.
#[must_use]
pub fn pull_finely(evidence: &Evidence, start: Figure, along: Along) -> Pulled {
    let mut figure = start.reduced(evidence.factor);
    for window in FINE_WINDOWS {
        figure = changed(&look(evidence, &figure, window), figure, along, window);
    }
    judge(evidence, figure, along)
}

/// What a side counts that is not in view: nothing where all should be.
fn missing(along: Along) -> f64 {
    if along == Along::Whole { 0.0 } else { 1.0 }
}

fn changed(pieces: &[Piece], figure: Figure, along: Along, window: i32) -> Figure {
    pull::moved(
        figure,
        &pull::solve(pieces, &figure, along, f64::from(window).max(2.0) * 0.8),
    )
}

/// What the slopes say of a figure (full-size pixels) where it stands.
#[must_use]
pub fn appraise(evidence: &Evidence, figure: Figure, along: Along) -> Pulled {
    judge(evidence, figure.reduced(evidence.factor), along)
}

fn judge(evidence: &Evidence, figure: Figure, along: Along) -> Pulled {
    let pieces = look(evidence, &figure, 2);
    let in_view: f64 = pieces.iter().map(|p| p.length_px).sum();
    let held: f64 = pieces.iter().map(|p| p.length_px * p.held(HELD_PX)).sum();
    Pulled {
        figure: figure.enlarged(evidence.factor),
        support: held / in_view.max(1.0),
        signed: pull::signed_support(&pieces, HELD_PX),
        weakest_side: pull::weakest_side(&pieces, HELD_PX, missing(along)),
        weakest_end: pull::weakest_end(&pieces, HELD_PX),
        coherence: pull::coherence(&pieces, 1.5),
        beyond: beyond(evidence, &figure),
        in_view,
    }
}

/// Support of the lines of both long edges over a quarter of the length beyond each head: a wall's seam or a pipe goes on,
/// a vessel stops. 0.35, the usual chance value, where nothing beyond is in view.
fn beyond(evidence: &Evidence, figure: &Figure) -> f64 {
    let length = figure.size.length_m;
    let gap = 0.5 * figure.size.half_width_m;
    let longer = Figure {
        size: super::figure::Size {
            length_m: 0.25 * length,
            ..figure.size
        },
        ..*figure
    };
    let (mut sum, mut count) = (0.0, 0usize);
    // A skirt goes on below, and is no seam.
    let before = (figure.datum_end == DatumEnd::Head).then_some(-gap - 0.25 * length);
    for start in before.into_iter().chain([length + gap]) {
        let beside = Figure {
            anchor_axial_m: figure.anchor_axial_m - start,
            ..longer
        };
        for part in [Part::NearSide, Part::FarSide] {
            for piece in pieces(evidence, &beside, &beside.side(STEP_PX, part), 1) {
                count += 1;
                sum += piece.held(HELD_PX);
            }
        }
    }
    if count > 0 { sum / count as f64 } else { 0.35 }
}

/// Measures every piece of the outline (in reduced pixels) that lies in the picture.
fn look(evidence: &Evidence, figure: &Figure, window: i32) -> Vec<Piece> {
    pieces(evidence, figure, &figure.outline(STEP_PX), window)
}

fn pieces(evidence: &Evidence, figure: &Figure, outline: &[OutlinePoint], window: i32) -> Vec<Piece> {
    let per_piece = (PIECE_PX / STEP_PX).round() as usize;
    figure::pieces(outline, per_piece)
        .filter_map(|points| look_at(evidence, figure, points, window))
        .collect()
}

/// The offset along the normal at which the mean slope of a piece is strongest; None where half of it lies outside.
fn look_at(evidence: &Evidence, figure: &Figure, points: &[OutlinePoint], window: i32) -> Option<Piece> {
    let slopes = mean_slopes(evidence, points, window)?;
    let mut best = (0.0f32, 0i32);
    let mut merit_best = -1.0f32;
    for (at, &slope) in (-window..=window).zip(&slopes) {
        // Nearer offsets win ties.
        let far = at as f32 / (window as f32 + 0.5);
        let merit = slope.abs() * (1.0 - 0.35 * far * far);
        if merit > merit_best {
            (best, merit_best) = ((slope, at), merit);
        }
    }
    let (slope, at) = best;
    let centre = points.get(points.len() / 2)?;
    let used = slopes.get(..(2 * window + 1) as usize)?;
    Some(Piece {
        jacobian: pull::jacobian(figure, centre),
        part: centre.part,
        offset_px: f64::from(at) + pull::vertex(used, (at + window) as usize, slope),
        strength: f64::from(slope),
        length_px: points.len() as f64 * STEP_PX,
        axial_m: centre.axial_m,
    })
}

/// Mean outward slope over the points at each offset −window..=window along the normal.
fn mean_slopes(evidence: &Evidence, points: &[OutlinePoint], window: i32) -> Option<[f32; OFFSETS]> {
    let (rows, cols) = evidence.dim();
    let size = (rows as i32, cols as i32);
    let slopes = evidence.slope.as_slice()?;
    let (mut sums, mut counts) = ([0.0f32; OFFSETS], [0u32; OFFSETS]);
    let used = (2 * window + 1).min(OFFSETS as i32);
    for point in points {
        let (nu, nv) = (point.normal_u as f32, point.normal_v as f32);
        let walk = Walk::across(point, window);
        for ((sum, count), step) in sums.iter_mut().zip(&mut counts).zip(0..used) {
            let known = walk.index(step, size).and_then(|i| slopes.get(i));
            if let Some(slope) = known.filter(|slope| slope[0].is_finite()) {
                *sum += slope[0] * nu + slope[1] * nv;
                *count += 1;
            }
        }
    }
    for (sum, count) in sums.iter_mut().zip(&counts).take(used as usize) {
        if 2 * *count < points.len() as u32 {
            return None;
        }
        *sum /= *count as f32;
    }
    Some(sums)
}
