//! Where the picture has edges: a reduced picture and its slope.
//!
//! Slopes are saturated, s = g/√(g² + g₀²), so that a step of 0.3 K between jacket and wall counts nearly as much as a
//! frosted valve 30 K colder; g₀ follows the camera's noise and the picture's own texture.

use ndarray::Array2;

use crate::calibrate::grain;
use crate::statistic;

/// Slopes of a reduced picture, saturated to −1..1.
#[derive(Debug, Clone)]
pub struct Evidence {
    /// Block size of the reduction in px.
    pub factor: usize,
    /// The reduced picture in °C; NaN where a block has no reading.
    pub reduced: Array2<f32>,
    /// Block size of the picture between, of 160 to 480 px.
    pub middle_factor: usize,
    /// The picture between, where it is not the picture itself.
    pub middle: Option<Array2<f32>>,
    /// Saturated slopes [along u, along v] of each reduced pixel; NaN at and beside those without a reading.
    pub slope: Array2<[f32; 2]>,
}

/// Longest side of the reduced picture in px: enough for 1 % of the vessel's length, small enough to search whole.
const REDUCED_SIDE: usize = 160;
/// Least slope that counts half, in K per reduced pixel.
const LEAST_SLOPE_K: f32 = 0.015;
/// Distance in reduced pixels at which a slope is compared with the slopes about it.
const APART: usize = 3;

impl Evidence {
    /// Measures a map (rows across, columns along; °C, NaN = no reading) of the stated noise in K.
    #[must_use]
    pub fn measure(map: &Array2<f32>, noise_k: f64) -> Self {
        let (rows, cols) = map.dim();
        let factor = factor((rows, cols));
        let middle_factor = if factor.is_multiple_of(2) { factor / 2 } else { 1 };
        let middle = (middle_factor > 1).then(|| reduce(map, middle_factor));
        let reduced = reduce(middle.as_ref().unwrap_or(map), factor / middle_factor);
        let (along, across) = slopes(&reduced);
        let (along, across) = (sharpened_along(&along), sharpened_across(&across));
        // Sobel/8 of white noise σ has standard deviation σ·√12/8.
        let noise_slope = noise_k / factor as f64 * 12f64.sqrt() / 8.0;
        let texture = typical_slope(&along, &across);
        let half = LEAST_SLOPE_K.max((3.0 * noise_slope) as f32).max(1.5 * texture);
        let saturated = |g: f32| g / (g * g + half * half).sqrt();
        let mut slope = Array2::from_elem(along.dim(), [0.0f32; 2]);
        for ((slope, &u), &v) in slope.iter_mut().zip(&along).zip(&across) {
            *slope = [saturated(u), saturated(v)];
        }
        for ((v, u), _) in reduced.indexed_iter().filter(|(_, reading)| reading.is_nan()) {
            let beside = |at: usize, last: usize| at.saturating_sub(1)..=(at + 1).min(last);
            for v in beside(v, slope.nrows() - 1) {
                beside(u, slope.ncols() - 1).for_each(|u| slope[[v, u]] = [f32::NAN; 2]);
            }
        }
        Self {
            factor,
            reduced,
            middle_factor,
            middle,
            slope,
        }
    }

    /// Rows and columns of the reduced picture.
    #[must_use]
    pub fn dim(&self) -> (usize, usize) {
        self.slope.dim()
    }

    /// Full-size coordinate of a reduced one.
    #[must_use]
    pub fn to_full(&self, reduced_px: f64) -> f64 {
        (reduced_px + 0.5) * self.factor as f64 - 0.5
    }
}

/// Block size of the reduction of a map of so many rows and columns.
fn factor((rows, columns): (usize, usize)) -> usize {
    rows.max(columns).div_ceil(REDUCED_SIDE).max(1)
}

/// The reduced picture by itself, and its block size in px.
#[must_use]
pub(super) fn reduced(map: &Array2<f32>) -> (Array2<f32>, usize) {
    let factor = factor(map.dim());
    (reduce(map, factor), factor)
}

/// Mean of each `factor` × `factor` block of readings; NaN where a block has none.
fn reduce(map: &Array2<f32>, factor: usize) -> Array2<f32> {
    grain::blocks(map, factor, 1)
}

/// Sobel slopes in K/px; zero at the border and beside missing readings.
fn slopes(map: &Array2<f32>) -> (Array2<f32>, Array2<f32>) {
    let (rows, cols) = map.dim();
    let (mut along, mut across) = (Array2::zeros((rows, cols)), Array2::zeros((rows, cols)));
    let known = |g: f32| if g.is_finite() { g } else { 0.0 };
    for v in 1..rows.saturating_sub(1) {
        let (above, here, below) = (map.row(v - 1), map.row(v), map.row(v + 1));
        let (Some(a), Some(h), Some(b)) = (above.as_slice(), here.as_slice(), below.as_slice()) else {
            continue;
        };
        let (mut along_row, mut across_row) = (along.row_mut(v), across.row_mut(v));
        let (Some(gu), Some(gv)) = (along_row.as_slice_mut(), across_row.as_slice_mut()) else {
            continue;
        };
        let outs = gu.iter_mut().skip(1).zip(gv.iter_mut().skip(1));
        for ((((gu, gv), a), h), b) in outs.zip(a.windows(3)).zip(h.windows(3)).zip(b.windows(3)) {
            *gu = known((a[2] - a[0] + 2.0 * (h[2] - h[0]) + b[2] - b[0]) * 0.125);
            *gv = known((b[0] - a[0] + 2.0 * (b[1] - a[1]) + b[2] - a[2]) * 0.125);
        }
    }
    (along, across)
}

/// The slope along less the mean of what goes on [`APART`] pixels before and behind it: an edge slopes once, the slow
/// texture of a wall slopes all along.
fn sharpened_along(slope: &Array2<f32>) -> Array2<f32> {
    let mut sharp = slope.clone();
    for (line, mut out) in slope.outer_iter().zip(sharp.outer_iter_mut()) {
        let (Some(line), Some(out)) = (line.to_slice(), out.as_slice_mut()) else {
            continue;
        };
        let tail = line.get(APART..).unwrap_or(&[]);
        for (out, before) in out.iter_mut().skip(APART).zip(line) {
            *out -= 0.5 * before;
        }
        for (out, after) in out.iter_mut().zip(tail) {
            *out -= 0.5 * after;
        }
    }
    sharp
}

/// The same across.
fn sharpened_across(slope: &Array2<f32>) -> Array2<f32> {
    let mut sharp = slope.clone();
    for (v, mut out) in sharp.outer_iter_mut().enumerate() {
        let near = [v.checked_sub(APART), Some(v + APART)];
        for v in near.into_iter().flatten().filter(|&v| v < slope.nrows()) {
            out.zip_mut_with(&slope.row(v), |out, other| *out -= 0.5 * other);
        }
    }
    sharp
}

/// Median slope of the picture in K/px.
fn typical_slope(along: &Array2<f32>, across: &Array2<f32>) -> f32 {
    let mut sizes: Vec<f64> = along
        .iter()
        .zip(across.iter())
        .step_by(11)
        .map(|(&u, &v)| f64::from((u * u + v * v).sqrt()))
        .collect();
    statistic::median(&mut sizes).unwrap_or(0.0) as f32
}
