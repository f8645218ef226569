//! Fine fit: the figure is pulled onto the edges of the full-size picture.
//!
//! Each piece of outline (about 14 px) looks along its normal for the offset at which the mean temperature steps most.

use ndarray::Array2;

use super::figure::{self, Figure, OutlinePoint};
use super::pull::{self, Piece};
use super::search::Along;
use super::walk::Walk;

/// Length of outline that decides together, px.
const PIECE_PX: f64 = 14.0;
/// Spacing of outline points, px.
const STEP_PX: f64 = 1.6;
/// Half widths of the search along the normal, px, for one pass each.
const WINDOWS: [i32; 5] = [8, 6, 4, 3, 3];
/// Most temperatures of a profile.
pub(super) const REACH: usize = 32;
/// Step that counts half, in multiples of the noise of a piece's step and at least in K.
const HALF_STEP_NOISE: f32 = 3.0;
const HALF_STEP_K: f32 = 0.05;
/// Distance in px at which an edge's step is compared with the slope about it.
const APART: i32 = 4;
/// Distance from the outline within which an edge is its own.
const HELD_PX: f64 = 1.5;

/// A fitted figure and how well its outline is supported.
#[derive(Debug, Clone, Copy)]
pub struct Fit {
    /// The figure.
    pub figure: Figure,
    /// Share of the outline in view that has a step within 1.5 px of the fitted place, 0..1.
    pub support: f64,
    /// Support with the sign kept within each side, 0..1.
    pub signed: f64,
    /// Outline in view in px.
    pub in_view_px: f64,
    /// Support of the least supported of the sides in view, 0..1.
    pub weakest_side: f64,
    /// Support of the less supported of the ends in view, 0..1.
    pub weakest_end: f64,
    /// Share of neighbouring pieces whose steps have the same sign, 0..1.
    pub coherence: f64,
}

/// Fits the figure to the picture (oriented, °C, NaN = no reading) whose noise in K is stated.
#[must_use]
pub fn refine(map: &Array2<f32>, noise_k: f64, start: Figure, along: Along) -> Fit {
    let mut figure = start;
    for (pass, window) in WINDOWS.into_iter().enumerate() {
        let pieces = look(map, noise_k, &figure, window);
        let change = pull::solve(&pieces, &figure, along, if pass < 2 { f64::from(window) } else { 2.5 });
        figure = pull::moved(figure, &change);
    }
    let pieces = look(map, noise_k, &figure, 3);
    let in_view_px: f64 = pieces.iter().map(|p| p.length_px).sum();
    let held: f64 = pieces.iter().map(|p| p.length_px * p.held(HELD_PX)).sum();
    Fit {
        figure,
        support: held / in_view_px.max(1.0),
        signed: pull::signed_support(&pieces, HELD_PX),
        in_view_px,
        weakest_side: pull::weakest_side(&pieces, HELD_PX, 1.0),
        weakest_end: pull::weakest_end(&pieces, HELD_PX),
        coherence: pull::coherence(&pieces, 2.0),
    }
}

/// Measures every piece of the outline that lies in the picture.
fn look(map: &Array2<f32>, noise_k: f64, figure: &Figure, window: i32) -> Vec<Piece> {
    let outline = figure.outline(STEP_PX);
    let per_piece = (PIECE_PX / STEP_PX).round() as usize;
    let half_step = HALF_STEP_K.max(HALF_STEP_NOISE * (noise_k / (per_piece as f64).sqrt()) as f32);
    figure::pieces(&outline, per_piece)
        .filter_map(|points| look_at(map, figure, points, (window, half_step)))
        .collect()
}

fn look_at(
    map: &Array2<f32>,
    figure: &Figure,
    points: &[OutlinePoint],
    (window, half_step): (i32, f32),
) -> Option<Piece> {
    let reach = window + 2 + APART;
    let means = profile(map, points, (reach, reach))?;
    let steps = sharp_steps(&means, window);
    let (mut best, mut best_merit) = ((0.0f32, 0i32), -1.0f32);
    for (at, &step) in (-window..=window).zip(&steps) {
        // Nearer offsets win ties.
        let far = at as f32 / window as f32;
        let merit = step.abs() * (1.0 - 0.35 * far * far);
        if merit > best_merit {
            (best, best_merit) = ((step, at), merit);
        }
    }
    let (step, at) = best;
    let centre = points.get(points.len() / 2)?;
    let used = steps.get(..(2 * window + 1) as usize)?;
    Some(Piece {
        jacobian: pull::jacobian(figure, centre),
        part: centre.part,
        offset_px: f64::from(at) + pull::vertex(used, (at + window) as usize, step),
        strength: f64::from(step / (step * step + half_step * half_step).sqrt()),
        length_px: points.len() as f64 * STEP_PX,
        axial_m: centre.axial_m,
    })
}

/// How much more the profile steps at each offset −window..=window than it does [`APART`] px before and behind: an edge
/// steps once, the slow texture of a wall slopes all along.
fn sharp_steps(means: &[f32; REACH], window: i32) -> [f32; REACH] {
    let apart = APART as usize;
    let count = (2 * window + 1) as usize + 2 * apart;
    let mut steps = [0.0f32; REACH];
    // Mean of two pixels outside less two inside.
    for (step, w) in steps.iter_mut().zip(means.windows(5)).take(count) {
        *step = 0.5 * (w[3] + w[4] - w[0] - w[1]);
    }
    let mut sharp = [0.0f32; REACH];
    for (sharp, w) in sharp.iter_mut().zip(steps.windows(2 * apart + 1)) {
        *sharp = w[apart] - 0.5 * (w[0] + w[2 * apart]);
    }
    sharp
}

/// Mean temperature over the points at each offset −inside..=outside along the normal; None where half of them lie outside.
pub(super) fn profile(
    map: &Array2<f32>,
    points: &[OutlinePoint],
    (inside, outside): (i32, i32),
) -> Option<[f32; REACH]> {
    let size = (map.nrows() as i32, map.ncols() as i32);
    let values = map.as_slice()?;
    let used = (inside + outside + 1).min(REACH as i32);
    let mut sums = [0.0f32; REACH];
    let within = |p: &OutlinePoint| Walk::across(p, inside).stays(used - 1, size);
    if points.first().is_some_and(within) && points.last().is_some_and(within) {
        // The usual case: all inside, all readings.
        for point in points {
            let mut walk = Walk::across(point, inside);
            for sum in sums.iter_mut().take(used as usize) {
                let (u, v) = walk.at(0);
                *sum += values.get((v * size.1 + u) as usize).copied().unwrap_or(f32::NAN);
                walk.go_on();
            }
        }
        if sums.iter().all(|s| s.is_finite()) {
            let share = 1.0 / points.len() as f32;
            return Some(sums.map(|s| s * share));
        }
    }
    gappy_profile(values, size, points, (inside, used))
}

/// The same where some points lie outside the picture or have no reading.
fn gappy_profile(
    values: &[f32],
    size: (i32, i32),
    points: &[OutlinePoint],
    (inside, used): (i32, i32),
) -> Option<[f32; REACH]> {
    let (mut sums, mut counts) = ([0.0f32; REACH], [0u32; REACH]);
    for point in points {
        let walk = Walk::across(point, inside);
        for ((sum, count), step) in sums.iter_mut().zip(&mut counts).zip(0..used) {
            let value = walk
                .index(step, size)
                .and_then(|i| values.get(i))
                .filter(|t| t.is_finite());
            if let Some(value) = value {
                *sum += value;
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
