//! Where the picture has edges: a reduced picture, its slope, and sums along straight lines in constant time.
//!
//! Slopes are saturated, s = g/√(g² + g₀²), so that a step of 0.3 K between jacket and wall counts nearly as much as a
//! frosted valve 30 K colder; g₀ follows the camera's noise and the picture's own texture.

use ndarray::Array2;

use crate::statistic;

/// Slopes of a reduced picture, saturated to −1..1.
#[derive(Debug, Clone)]
pub struct Evidence {
    /// Block size of the reduction in px.
    pub factor: usize,
    /// The reduced picture in °C; NaN where a block has no reading.
    pub reduced: Array2<f32>,
    /// Saturated slope along u.
    pub along: Array2<f32>,
    /// Saturated slope along v.
    pub across: Array2<f32>,
}

/// Longest side of the reduced picture in px: enough for 1 % of the vessel's length, small enough to search whole.
const REDUCED_SIDE: usize = 160;
/// Least slope that counts half, in K per reduced pixel.
const LEAST_SLOPE_K: f32 = 0.015;

impl Evidence {
    /// Measures a map (rows across, columns along; °C, NaN = no reading) of the stated noise in K.
    #[must_use]
    pub fn measure(map: &Array2<f32>, noise_k: f64) -> Self {
        let (rows, cols) = map.dim();
        let factor = rows.max(cols).div_ceil(REDUCED_SIDE).max(1);
        let reduced = reduce(map, factor);
        let (along, across) = slopes(&reduced);
        let (mut along, mut across) = (sharpened(&along, 0), sharpened(&across, 1));
        // Sobel/8 of white noise σ has standard deviation σ·√12/8.
        let noise_slope = noise_k / factor as f64 * 12f64.sqrt() / 8.0;
        let texture = typical_slope(&along, &across);
        let half = LEAST_SLOPE_K.max((3.0 * noise_slope) as f32).max(1.5 * texture);
        for slope in along.iter_mut().chain(across.iter_mut()) {
            *slope /= (*slope * *slope + half * half).sqrt();
        }
        Self { factor, reduced, along, across }
    }

    /// Rows and columns of the reduced picture.
    #[must_use]
    pub fn dim(&self) -> (usize, usize) {
        self.along.dim()
    }
}

/// Mean of each `factor` × `factor` block of readings; NaN where a block has none.
fn reduce(map: &Array2<f32>, factor: usize) -> Array2<f32> {
    let (rows, cols) = (map.nrows() / factor, map.ncols() / factor);
    let mut sums = Array2::<f32>::zeros((rows, cols));
    let mut counts = Array2::<f32>::zeros((rows, cols));
    for (v, row) in map.outer_iter().enumerate().take(rows * factor) {
        let mut sum_row = sums.row_mut(v / factor);
        let mut count_row = counts.row_mut(v / factor);
        let blocks = row.as_slice().unwrap_or(&[]).chunks_exact(factor);
        for ((block, sum), count) in blocks.zip(sum_row.iter_mut()).zip(count_row.iter_mut()) {
            for &value in block {
                if value.is_finite() {
                    *sum += value;
                    *count += 1.0;
                }
            }
        }
    }
    sums / counts
}

/// Sobel slopes in K/px; zero at the border and beside missing readings.
fn slopes(map: &Array2<f32>) -> (Array2<f32>, Array2<f32>) {
    let (rows, cols) = map.dim();
    let (mut along, mut across) = (Array2::zeros((rows, cols)), Array2::zeros((rows, cols)));
    for v in 1..rows.saturating_sub(1) {
        let (above, here, below) = (map.row(v - 1), map.row(v), map.row(v + 1));
        let (Some(a), Some(h), Some(b)) = (above.as_slice(), here.as_slice(), below.as_slice()) else { continue };
        let mut along_row = along.row_mut(v);
        let mut across_row = across.row_mut(v);
        for (i, ((a, h), b)) in a.windows(3).zip(h.windows(3)).zip(b.windows(3)).enumerate() {
            let gu = (a[2] - a[0] + 2.0 * (h[2] - h[0]) + b[2] - b[0]) / 8.0;
            let gv = (b[0] - a[0] + 2.0 * (b[1] - a[1]) + b[2] - a[2]) / 8.0;
            if gu.is_finite() && gv.is_finite() {
                along_row[i + 1] = gu;
                across_row[i + 1] = gv;
            }
        }
    }
    (along, across)
}

/// The slope less what goes on `APART` pixels before and behind it, along columns (`axis` 0: u) or rows (1: v): an edge
/// slopes once, the slow texture of a wall slopes all along.
fn sharpened(slope: &Array2<f32>, axis: usize) -> Array2<f32> {
    const APART: usize = 3;
    let (rows, cols) = slope.dim();
    let (dv, du) = if axis == 0 { (0, APART) } else { (APART, 0) };
    let mut sharp = slope.clone();
    for v in 0..rows {
        for u in 0..cols {
            let before = v.checked_sub(dv).zip(u.checked_sub(du)).and_then(|(v, u)| slope.get([v, u]));
            let after = slope.get([v + dv, u + du]);
            sharp[[v, u]] -= (before.unwrap_or(&0.0) + after.unwrap_or(&0.0)) / 2.0;
        }
    }
    sharp
}

/// Median slope of the picture in K/px.
fn typical_slope(along: &Array2<f32>, across: &Array2<f32>) -> f32 {
    let mut sizes: Vec<f64> =
        along.iter().zip(across.iter()).step_by(7).map(|(&u, &v)| f64::from(u.hypot(v))).collect();
    statistic::median(&mut sizes).unwrap_or(0.0) as f32
}

/// Sums of the slope across along every line of one tilt.
#[derive(Debug, Clone)]
pub struct TiltedSums {
    /// Tilt of the lines in rad.
    pub tilt_rad: f64,
    sums: Array2<f32>,
}

impl TiltedSums {
    /// Sums for lines that pass row `r` at the middle column and fall by tan θ a column.
    #[must_use]
    pub fn new(evidence: &Evidence, tilt_rad: f64) -> Self {
        let (rows, cols) = evidence.dim();
        let middle = (cols as f64 - 1.0) / 2.0;
        let drops: Vec<i32> =
            (0..cols).map(|u| ((u as f64 - middle) * tilt_rad.tan()).round() as i32).collect();
        let mut sums = Array2::<f32>::zeros((rows, cols + 1));
        for (row, mut line) in sums.outer_iter_mut().enumerate() {
            let mut total = 0.0;
            for (u, &drop) in drops.iter().enumerate() {
                let v = row as i32 + drop;
                if v >= 0 && (v as usize) < rows {
                    total += evidence.across[[v as usize, u]];
                }
                line[u + 1] = total;
            }
        }
        Self { tilt_rad, sums }
    }

    /// Number of lines.
    #[must_use]
    pub fn lines(&self) -> usize {
        self.sums.nrows()
    }

    /// Columns of the picture.
    #[must_use]
    pub fn columns(&self) -> usize {
        self.sums.ncols() - 1
    }

    /// Σ of the slope across over columns `from..to` of a line; 0 outside the picture.
    #[must_use]
    pub fn between(&self, line: usize, from: usize, to: usize) -> f32 {
        let to = to.min(self.columns());
        if from >= to {
            return 0.0;
        }
        match (self.sums.get([line, to]), self.sums.get([line, from])) {
            (Some(end), Some(start)) => end - start,
            _ => 0.0,
        }
    }
}
