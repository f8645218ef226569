//! How sharp the picture is: the width over which the asset's outline goes from inside to outside.
//!
//! A round jacket fades towards its limb (emissivity falls with angle), so most of an outline looks softer than the lens
//! made it, and a line that the figure misses by a pixel looks softer still. Neither makes an edge sharper than the lens
//! did: the sharper quarter of the outline's pieces is what the lens can do.

use ndarray::Array2;

use crate::locate::View;
use crate::locate::figure::OutlinePoint;
use crate::statistic;

/// 10–90 % width of an edge over the standard deviation of the Gaussian that blurs it: 2 Φ⁻¹(0.9).
pub const WIDTH_TO_SD: f64 = 2.563_103_131_089_2;
/// Distance between points of the outline, px.
const STEP_PX: f64 = 2.0;
/// Points of a piece: few, so that a curved or misplaced line does not smear, enough to quieten the noise.
const PIECE: usize = 12;
/// Most pieces looked at; more would cost time and tell no more.
const MOST_PIECES: usize = 40;
/// Fewest pieces with a clear edge that a width rests on.
const LEAST_PIECES: usize = 5;
/// Least step of an edge, K and in standard uncertainties of a mean over the piece's points.
const LEAST_STEP: (f64, f64) = (0.3, 10.0);
/// Samples a pixel along a profile.
const SAMPLES_A_PX: usize = 2;
/// Samples in half a pixel.
const SHIFT: usize = SAMPLES_A_PX / 2;
/// Standard deviations tried, px: each a fifth more than the last.
const TRIED: usize = 20;
const FIRST_SD_PX: f64 = 0.35;
const TRIED_RATIO: f64 = 1.2;
/// Percentile of the pieces' widths that is told.
const SHARPER_PCT: f64 = 25.0;

/// Width of the asset's outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgeWidth {
    /// From 10 to 90 % of the step, px.
    pub width_px: f64,
    /// Pieces of outline with a clear edge.
    pub pieces: usize,
}

/// Width of the outline of `view` in an oriented map (°C, NaN = no reading) with `noise_k` a reading; `None` where too
/// little of it shows a clear edge.
#[must_use]
pub fn edge_width(map: &Array2<f32>, noise_k: f64, view: &View) -> Option<EdgeWidth> {
    let figure = &view.figure;
    let reach = (0.4 * figure.size.half_width_m * figure.scale_px_m).clamp(6.0, 24.0) as usize;
    let outline = figure.outline(STEP_PX);
    let pieces: Vec<&[OutlinePoint]> = outline
        .chunk_by(|a, b| a.part == b.part)
        .flat_map(|part| part.chunks(PIECE))
        .collect();
    let stride = pieces.len().div_ceil(MOST_PIECES).max(1);
    let profiles = pieces
        .iter()
        .step_by(stride)
        .filter_map(|piece| profile(map, piece, reach));
    let steps = Steps::new(samples(reach));
    let mut widths: Vec<f64> = profiles
        .filter_map(|(values, count)| {
            let least = LEAST_STEP.0.max(LEAST_STEP.1 * noise_k / (count as f64).sqrt());
            steps.fit(&values, least).map(|sd_px| WIDTH_TO_SD * sd_px)
        })
        .collect();
    let pieces = widths.len();
    (pieces >= LEAST_PIECES).then_some(())?;
    let width_px = statistic::percentile(&mut widths, SHARPER_PCT)?;
    Some(EdgeWidth { width_px, pieces })
}

/// Samples of a profile that reaches so many px to either side.
fn samples(reach: usize) -> usize {
    2 * reach * SAMPLES_A_PX + 1
}

/// Mean profile across a piece of outline, from inside to outside, and the points it rests on; `None` where fewer than
/// half of them have readings all along.
fn profile(map: &Array2<f32>, piece: &[OutlinePoint], reach: usize) -> Option<(Vec<f32>, usize)> {
    let mut line = vec![0.0f32; samples(reach)];
    let (mut sum, mut count) = (vec![0.0f32; line.len()], 0usize);
    for point in piece {
        if read_across(map, point, reach, &mut line) {
            count += 1;
            sum.iter_mut().zip(&line).for_each(|(total, value)| *total += value);
        }
    }
    if 2 * count < PIECE {
        return None;
    }
    let share = 1.0 / count as f32;
    sum.iter_mut().for_each(|total| *total *= share);
    Some((sum, count))
}

/// Reads along the normal of a point, each value between four readings; whether all of them are there.
fn read_across(map: &Array2<f32>, point: &OutlinePoint, reach: usize, line: &mut [f32]) -> bool {
    let Some(values) = map.as_slice() else { return false };
    let (rows, columns) = map.dim();
    let far = reach as f64;
    let start = (point.u - far * point.normal_u, point.v - far * point.normal_v);
    let end = (point.u + far * point.normal_u, point.v + far * point.normal_v);
    // A line between two places within the picture stays within it.
    let within = |(u, v): (f64, f64)| u >= 0.0 && v >= 0.0 && u < columns as f64 - 1.01 && v < rows as f64 - 1.01;
    if !(within(start) && within(end)) {
        return false;
    }
    let (u, v) = (start.0 as f32, start.1 as f32);
    let a_sample = 1.0 / SAMPLES_A_PX as f32;
    let (step_u, step_v) = (point.normal_u as f32 * a_sample, point.normal_v as f32 * a_sample);
    let mut all = 0.0f32;
    for (k, out) in (0u16..).zip(line.iter_mut()) {
        let (u, v) = (u + f32::from(k) * step_u, v + f32::from(k) * step_v);
        let (column, row) = (u.max(0.0) as usize, v.max(0.0) as usize);
        let (pu, pv) = (u - column as f32, v - row as f32);
        let at = row * columns + column;
        let (Some(&[a, b]), Some(&[c, d])) = (
            values.get(at..).and_then(<[f32]>::first_chunk),
            values.get(at + columns..).and_then(<[f32]>::first_chunk),
        ) else {
            return false;
        };
        let (upper, lower) = (a + pu * (b - a), c + pu * (d - c));
        *out = upper + pv * (lower - upper);
        all += *out;
    }
    all.is_finite()
}

/// Steps of each blur that is tried, over the samples either side of the steepest place: the same for every piece.
struct Steps {
    tried: Vec<Step>,
    last: usize,
}

/// A blurred step from 0 to 1.
struct Step {
    sd_px: f64,
    /// Φ at −last..=last samples from the middle of the step.
    rise: Vec<f32>,
    /// Sums of s, s² and n·s over all samples n before each, so that those over any stretch are a difference.
    before: Vec<[f64; 3]>,
}

impl Step {
    fn new(sd_px: f64, last: usize) -> Self {
        let at = |n: usize| rise((n as f64 - last as f64) / SAMPLES_A_PX as f64 / sd_px) as f32;
        let rise: Vec<f32> = (0..=2 * last).map(at).collect();
        let mut sums = [0.0; 3];
        let mut before = vec![sums];
        for (n, s) in rise.iter().map(|s| f64::from(*s)).enumerate() {
            sums = [sums[0] + s, sums[1] + s * s, sums[2] + n as f64 * s];
            before.push(sums);
        }
        Self { sd_px, rise, before }
    }
}

/// A profile about its mean, with what every fit to it needs.
struct Profile {
    /// Values less their mean.
    about_mean: Vec<f32>,
    /// Σ n², n from the middle.
    nn: f64,
    /// Σ n·y.
    ny: f64,
    /// Σ y².
    yy: f64,
}

impl Profile {
    fn new(values: &[f32]) -> Self {
        let count = values.len() as f64;
        let mean = (values.iter().map(|v| f64::from(*v)).sum::<f64>() / count) as f32;
        let about_mean: Vec<f32> = values.iter().map(|v| v - mean).collect();
        let (mut ny, mut yy) = (0.0, 0.0);
        for (n, y) in about_mean.iter().map(|y| f64::from(*y)).enumerate() {
            ny += (n as f64 - (count - 1.0) / 2.0) * y;
            yy += y * y;
        }
        Self {
            about_mean,
            nn: count * (count * count - 1.0) / 12.0,
            ny,
            yy,
        }
    }

    /// Sum of squares left by y = c₀ + c₁ n + A·step with the step's samples from `from` on, and A.
    fn residual(&self, step: &Step, from: usize) -> Option<(f64, f64)> {
        let length = self.about_mean.len();
        let samples = step.rise.get(from..from + length)?;
        let (before, after) = (step.before.get(from)?, step.before.get(from + length)?);
        let [sum, squares, moments] = [0, 1, 2].map(|k| after[k] - before[k]);
        let count = length as f64;
        let ss = squares - sum * sum / count;
        let ns = moments - (from as f64 + (count - 1.0) / 2.0) * sum;
        let sy = f64::from(statistic::dot(samples, &self.about_mean));
        let determinant = self.nn * ss - ns * ns;
        if determinant <= 0.0 {
            return None;
        }
        let slope = (self.ny * ss - sy * ns) / determinant;
        let amplitude = (sy * self.nn - self.ny * ns) / determinant;
        Some((self.yy - slope * self.ny - amplitude * sy, amplitude))
    }
}

impl Steps {
    /// For profiles of `samples` samples.
    fn new(samples: usize) -> Self {
        let last = samples + SHIFT;
        let sd_px = |k: usize| FIRST_SD_PX * TRIED_RATIO.powi(i32::try_from(k).unwrap_or(0));
        Self {
            tried: (0..TRIED).map(|k| Step::new(sd_px(k), last)).collect(),
            last,
        }
    }

    /// Standard deviation (px) of the blurred step that fits a profile best: y = c₀ + c₁ s + A Φ((s − s₀)/σ), with s₀ at the
    /// steepest place or half a pixel to either side; `None` where |A| stays below `least_k`.
    fn fit(&self, values: &[f32], least_k: f64) -> Option<f64> {
        let steepest = steepest(values)?;
        let profile = Profile::new(values);
        let mut best: Option<(f64, f64, f64)> = None;
        for step in &self.tried {
            for place in [steepest - SHIFT, steepest, steepest + SHIFT] {
                let (rest, amplitude) = profile.residual(step, self.last.checked_sub(place)?)?;
                if best.is_none_or(|(least, _, _)| rest < least) {
                    best = Some((rest, amplitude, step.sd_px));
                }
            }
        }
        best.filter(|(_, amplitude, _)| amplitude.abs() >= least_k)
            .map(|(_, _, sd_px)| sd_px)
    }
}

/// Sample of the steepest place, differences taken over two pixels; not within two pixels of either end.
fn steepest(profile: &[f32]) -> Option<usize> {
    let lag = SAMPLES_A_PX;
    (2 * lag..profile.len().checked_sub(2 * lag)?).max_by(|&a, &b| {
        let slope = |n: usize| (profile[n + lag] - profile[n - lag]).abs();
        slope(a).total_cmp(&slope(b))
    })
}

/// Φ to within 1e-3, which is far below what a profile can tell: the logistic curve with its cubic correction.
fn rise(z: f64) -> f64 {
    1.0 / (1.0 + (-(1.5976 * z + 0.070_56 * z * z * z)).exp())
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::locate::figure::{DatumEnd, Figure, Size, Stance, Surface};
    use crate::locate::orientation::Orientation;
    use crate::locate::{AxialFooting, Footing, Trust};
    use crate::register::Shape;

    /// A plane wall 120 × 80 px whose edges are blurred by `sd_px`, 2 K colder than what is behind, with a slope over all.
    pub(in crate::detect) fn wall(sd_px: f64, step_k: f64) -> (Array2<f32>, View) {
        let size = Size {
            length_m: 1.2,
            half_width_m: 0.4,
            surface: Surface::Plane,
            stance: Stance::OnSide,
        };
        let figure = Figure {
            size,
            head_depth_m: 0.0,
            datum_end: DatumEnd::Head,
            skirt_m: 0.0,
            stretch: 1.0,
            anchor_u: 40.3,
            anchor_v: 79.6,
            anchor_axial_m: 0.0,
            tilt_rad: 0.0,
            scale_px_m: 100.0,
            taper_per_m: 0.0,
        };
        let inside = |u: f64, v: f64| {
            let along = rise((u - 40.3) / sd_px) - rise((u - 160.3) / sd_px);
            along * (rise((v - 39.6) / sd_px) - rise((v - 119.6) / sd_px))
        };
        let map = Array2::from_shape_fn((160, 200), |(row, column)| {
            let (u, v) = (column as f64, row as f64);
            (15.0 + 0.004 * u - step_k * inside(u, v)) as f32
        });
        let shape = Shape::Flat {
            width_m: 1.2,
            height_m: 0.8,
        };
        let view = View {
            orientation: Orientation::new(&shape, None, 200, 160),
            figure,
            support: 1.0,
            footing: Footing::Fitted,
            axial_footing: AxialFooting::Known,
            trust: Trust::Sure,
            by_hand_px: None,
            eye: None,
        };
        (map, view)
    }

    #[test]
    fn the_width_of_a_blurred_outline_is_measured() {
        for sd_px in [1.0, 2.0, 4.0, 6.0] {
            let (map, view) = wall(sd_px, 2.0);
            let found = edge_width(&map, 0.05, &view).unwrap();
            let share = found.width_px / (WIDTH_TO_SD * sd_px);
            // Within the steps of a fifth in which widths are tried, and what reading between pixels adds.
            assert!((0.85..1.25).contains(&share), "{sd_px} px: {found:?}");
        }
    }

    #[test]
    fn an_outline_without_a_step_has_no_width() {
        let (map, view) = wall(1.0, 0.1);
        assert_eq!(edge_width(&map, 0.05, &view), None);
        let (map, view) = wall(1.0, 2.0);
        assert_eq!(edge_width(&map.mapv(|_| f32::NAN), 0.05, &view), None);
    }
}
