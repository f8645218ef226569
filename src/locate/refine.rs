//! Fine fit: the figure is pulled onto the edges of the full-size picture by robust least squares.
//!
//! Each piece of outline (about 14 px) looks along its normal for the offset at which the mean temperature steps most; the
//! offsets δᵢ, weighted by step size and by Tukey's biweight, give the change of the free parameters p by
//! `Σ wᵢ (δᵢ − Jᵢ·Δp)² + Δpᵀ·Λ·Δp → min`, Jᵢ being the outward motion of the piece for a unit change of each parameter.

use nalgebra::{SMatrix, SVector};
use ndarray::Array2;

use super::figure::{Figure, OutlinePoint, Part};
use super::search::Along;

/// Free parameters: anchor u, anchor v, tilt, log scale, head depth (m).
const FREE: usize = 6;
/// Length of outline that decides together, px.
const PIECE_PX: f64 = 14.0;
/// Spacing of outline points, px.
const STEP_PX: f64 = 1.6;
/// Half widths of the search along the normal, px, for one pass each.
const WINDOWS: [i32; 6] = [8, 6, 5, 4, 3, 3];
/// Step that counts half, in multiples of the noise of a piece's step and at least in K.
const HALF_STEP_NOISE: f32 = 3.0;
const HALF_STEP_K: f32 = 0.05;
/// Distance in px at which an edge's step is compared with the slope about it.
const APART: i32 = 4;
/// Support below which a piece of outline speaks against a figure: it weighs a missing edge (likely where the figure is
/// wrong) against a chance edge.
const GIVE: f64 = 0.55;
/// Spread of the stretch of the width about 1 (a camera three radii away sees 6 %, eight radii away 1 %).
const STRETCH_SPREAD: f64 = 0.02;

/// A fitted figure and how well its outline is supported.
#[derive(Debug, Clone, Copy)]
pub struct Fit {
    /// The figure.
    pub figure: Figure,
    /// Share of the outline in view that has a step within 1.5 px of the fitted place, 0..1.
    pub support: f64,
    /// Supported less unsupported outline in px, for comparing candidates.
    pub score: f64,
    /// Median distance of the supported pieces from the fitted outline in px.
    pub misfit_px: f64,
    /// Outline in view in px.
    pub in_view_px: f64,
    /// Support of the least supported of the sides in view, 0..1.
    pub weakest_side: f64,
    /// Share of neighbouring pieces whose steps have the same sign, 0..1.
    pub coherence: f64,
    /// Support of the long edges' lines beyond the ends, 0..1: a wall's seam or a pipe goes on, a vessel stops.
    pub beyond: f64,
}

/// What a piece of outline found.
struct Piece {
    jacobian: SVector<f64, FREE>,
    part: Part,
    offset_px: f64,
    /// Signed: positive where the outside is warmer.
    strength: f64,
    length_px: f64,
}

/// Fits the figure to the picture (oriented, °C, NaN = no reading) whose noise in K is stated.
#[must_use]
pub fn refine(map: &Array2<f32>, noise_k: f64, start: Figure, along: Along) -> Fit {
    let mut figure = start;
    for (pass, &window) in WINDOWS.iter().enumerate() {
        let pieces = look(map, noise_k, &figure, window);
        let clip_px = if pass < 2 { f64::from(window) } else { 2.5 };
        let change = solve(&pieces, &figure, along, clip_px);
        figure = moved(figure, &change);
    }
    judge(map, noise_k, figure)
}

/// Support of a figure where it stands.
fn judge(map: &Array2<f32>, noise_k: f64, figure: Figure) -> Fit {
    let pieces = look(map, noise_k, &figure, 4);
    let in_view_px: f64 = pieces.iter().map(|p| p.length_px).sum();
    let held = |p: &&Piece| p.offset_px.abs() <= 1.5;
    let supported: f64 = pieces.iter().filter(held).map(|p| p.length_px * p.strength.abs()).sum();
    let mut offsets: Vec<f64> = pieces.iter().filter(held).map(|p| p.offset_px.abs()).collect();
    Fit {
        figure,
        support: supported / in_view_px.max(1.0),
        score: supported - GIVE * in_view_px,
        misfit_px: crate::statistic::median(&mut offsets).unwrap_or(f64::INFINITY),
        in_view_px,
        weakest_side: weakest_side(&pieces),
        coherence: coherence(&pieces),
        beyond: beyond(map, noise_k, &figure),
    }
}

fn weakest_side(pieces: &[Piece]) -> f64 {
    [Part::NearSide, Part::FarSide, Part::DatumEnd, Part::OtherEnd]
        .into_iter()
        .filter_map(|part| {
            let here: Vec<&Piece> = pieces.iter().filter(|p| p.part == part).collect();
            let held = here.iter().filter(|p| p.offset_px.abs() <= 1.5).map(|p| p.strength.abs()).sum::<f64>();
            (!here.is_empty()).then(|| held / here.len() as f64)
        })
        .fold(1.0, f64::min)
}

fn coherence(pieces: &[Piece]) -> f64 {
    let pairs = pieces.windows(2).filter(|w| w[0].part == w[1].part);
    let (mut same, mut all) = (0.0, 0.0);
    for pair in pairs {
        let weight = pair[0].strength.abs().min(pair[1].strength.abs());
        all += weight;
        if pair[0].strength * pair[1].strength > 0.0 && (pair[0].offset_px - pair[1].offset_px).abs() <= 2.0 {
            same += weight;
        }
    }
    if all > 0.0 { same / all } else { 0.0 }
}

/// Support of the lines of both long edges over a quarter of the length beyond each head.
fn beyond(map: &Array2<f32>, noise_k: f64, figure: &Figure) -> f64 {
    let length = figure.size.length_m;
    let gap = 0.5 * figure.size.half_width_m;
    let mut longer = *figure;
    longer.size.length_m = 0.25 * length;
    longer.head_depth_m = 0.0;
    let (mut sum, mut count) = (0.0, 0usize);
    for start in [-gap - 0.25 * length, length + gap] {
        longer.anchor_axial_m = figure.anchor_axial_m - start;
        for piece in look(map, noise_k, &longer, 3) {
            if matches!(piece.part, Part::NearSide | Part::FarSide) {
                count += 1;
                if piece.offset_px.abs() <= 1.5 {
                    sum += piece.strength.abs();
                }
            }
        }
    }
    if count > 0 { sum / count as f64 } else { 0.35 }
}

/// Measures every piece of the outline that lies in the picture.
fn look(map: &Array2<f32>, noise_k: f64, figure: &Figure, window: i32) -> Vec<Piece> {
    let outline = figure.outline(STEP_PX);
    let per_piece = (PIECE_PX / STEP_PX).round() as usize;
    let half_step = HALF_STEP_K.max(HALF_STEP_NOISE * (noise_k / (per_piece as f64).sqrt()) as f32);
    let mut pieces = Vec::with_capacity(outline.len() / per_piece + 4);
    let mut from = 0;
    while from < outline.len() {
        let part = outline[from].part;
        let to = (from + per_piece).min(outline.len());
        let to = from + outline[from..to].iter().take_while(|p| p.part == part).count();
        if let Some(piece) = look_at(map, figure, &outline[from..to], window, half_step) {
            pieces.push(piece);
        }
        from = to;
    }
    pieces
}

fn look_at(map: &Array2<f32>, figure: &Figure, points: &[OutlinePoint], window: i32, half_step: f32) -> Option<Piece> {
    let steps = sharp_steps(&profile(map, points, window + 2 + APART)?);
    let mut best: Option<(f32, f32, i32)> = None;
    for (at, &step) in (-window..=window).zip(&steps) {
        // Nearer offsets win ties.
        let far = at as f32 / window as f32;
        let merit = step.abs() * (1.0 - 0.35 * far * far);
        if merit.is_finite() && best.is_none_or(|(m, ..)| merit > m) {
            best = Some((merit, step, at));
        }
    }
    let (_, step, at) = best?;
    let centre = points.get(points.len() / 2)?;
    Some(Piece {
        jacobian: jacobian(figure, centre),
        part: centre.part,
        offset_px: f64::from(at) + shift(&steps, (at + window) as usize, step),
        strength: f64::from(step / step.hypot(half_step)),
        length_px: points.len() as f64 * STEP_PX,
    })
}

/// How much more the profile steps at each offset than it does `APART` px before and behind: an edge steps once, the
/// slow texture of a wall slopes all along.
fn sharp_steps(means: &[f32]) -> Vec<f32> {
    // Mean of two pixels outside less two inside.
    let steps: Vec<f32> = means.windows(5).map(|w| (w[3] + w[4] - w[0] - w[1]) / 2.0).collect();
    let apart = APART as usize;
    steps.windows(2 * apart + 1).map(|w| w[apart] - (w[0] + w[2 * apart]) / 2.0).collect()
}

/// Sub-pixel shift of the step's place from the steps beside its peak (vertex of a parabola), −0.5..0.5 px.
fn shift(steps: &[f32], index: usize, peak: f32) -> f64 {
    let step = |i: usize| steps.get(i).map(|s| s * peak.signum());
    let (Some(before), Some(here), Some(after)) = (index.checked_sub(1).and_then(step), step(index), step(index + 1))
    else {
        return 0.0;
    };
    let curve = before - 2.0 * here + after;
    if curve < 0.0 { f64::from((0.5 * (before - after) / curve).clamp(-0.5, 0.5)) } else { 0.0 }
}

/// Mean temperature over the points at each offset −reach..=reach along the normal; None where half of them lie outside.
fn profile(map: &Array2<f32>, points: &[OutlinePoint], reach: i32) -> Option<Vec<f32>> {
    let (rows, cols) = map.dim();
    let mut means = Vec::with_capacity((2 * reach + 1) as usize);
    for offset in -reach..=reach {
        let offset = f64::from(offset);
        let (mut sum, mut count) = (0.0f32, 0usize);
        for point in points {
            let u = (point.u + offset * point.normal_u).round();
            let v = (point.v + offset * point.normal_v).round();
            if u >= 0.0 && v >= 0.0 && u < cols as f64 && v < rows as f64 {
                let value = map[[v as usize, u as usize]];
                if value.is_finite() {
                    sum += value;
                    count += 1;
                }
            }
        }
        if 2 * count < points.len() {
            return None;
        }
        means.push(sum / count as f32);
    }
    Some(means)
}

/// Outward motion of a point for a unit change of (anchor u, anchor v, tilt, ln scale, head depth, ln stretch).
fn jacobian(figure: &Figure, point: &OutlinePoint) -> SVector<f64, FREE> {
    let (du, dv) = (point.u - figure.anchor_u, point.v - figure.anchor_v);
    let (sin, cos) = figure.tilt_rad.sin_cos();
    let across_px = point.across_m * figure.scale_px_m * figure.stretch;
    SVector::from([
        point.normal_u,
        point.normal_v,
        point.normal_v * du - point.normal_u * dv,
        point.normal_u * du + point.normal_v * dv,
        if matches!(point.part, Part::DatumEnd | Part::OtherEnd) { point.head_lever } else { 0.0 },
        across_px * (point.normal_v * cos - point.normal_u * sin),
    ])
}

fn solve(pieces: &[Piece], figure: &Figure, along: Along, clip_px: f64) -> SVector<f64, FREE> {
    let mut normal = SMatrix::<f64, FREE, FREE>::zeros();
    let mut right = SVector::<f64, FREE>::zeros();
    for piece in pieces {
        let ratio = piece.offset_px / (clip_px * 1.5);
        // Tukey's biweight: pieces that found another edge far away lose their say.
        let tukey = if ratio.abs() < 1.0 { (1.0 - ratio * ratio).powi(2) } else { 0.0 };
        let weight = piece.strength * piece.strength * tukey * piece.length_px;
        normal += piece.jacobian * piece.jacobian.transpose() * weight;
        right += piece.jacobian * (weight * piece.offset_px);
    }
    let size_px = figure.size.half_width_m * figure.scale_px_m;
    // Weak ties, so that a parameter without evidence stays where the register and the search put it.
    let ties = [0.5, 0.5, 0.5 * size_px * size_px, 0.5 * size_px * size_px, 4.0 * figure.scale_px_m.powi(2)];
    for (i, tie) in ties.into_iter().enumerate() {
        normal[(i, i)] += tie;
    }
    // The stretch is tied to 1 by what a distance of a few radii can do, against a place on the edge good to 0.7 px.
    let tie = (0.7 / STRETCH_SPREAD).powi(2);
    normal[(5, 5)] += tie;
    right[5] -= tie * figure.stretch.ln();
    let hold = |index: usize, normal: &mut SMatrix<f64, FREE, FREE>| normal[(index, index)] += 1e12;
    if matches!(along, Along::StartsAt(_)) {
        hold(0, &mut normal);
    }
    if figure.size.surface == super::figure::Surface::Plane {
        hold(4, &mut normal);
    }
    normal.cholesky().map_or_else(SVector::zeros, |c| c.solve(&right))
}

fn moved(mut figure: Figure, change: &SVector<f64, FREE>) -> Figure {
    let half = figure.size.half_width_m;
    figure.anchor_u += change[0].clamp(-12.0, 12.0);
    figure.anchor_v += change[1].clamp(-12.0, 12.0);
    figure.tilt_rad = (figure.tilt_rad + change[2].clamp(-0.05, 0.05)).clamp(-0.25, 0.25);
    figure.scale_px_m *= change[3].clamp(-0.1, 0.1).exp();
    figure.stretch = (figure.stretch * change[5].clamp(-0.03, 0.03).exp()).clamp(0.97, 1.08);
    figure.head_depth_m = (figure.head_depth_m + change[4].clamp(-0.3 * half, 0.3 * half)).clamp(0.0, 1.05 * half);
    figure
}
