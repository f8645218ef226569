//! Straight edges of the reduced picture: how much slope lies along every line of one tilt, and which lines stand out.

use super::evidence::Evidence;

/// Columns summed with their sign before their size counts: long enough to average noise, short enough for ends.
const CHUNK: usize = 4;
/// Support of a stretch of line below which it speaks against an edge.
pub(super) const GIVE: f32 = 0.4;
/// Parallel lines kept for each tilt.
const LINES: usize = 24;

/// The slope across, turned so that a column of the picture is a row of memory.
pub(super) struct Columns {
    rows: usize,
    cols: usize,
    across: Vec<f32>,
}

impl Columns {
    pub(super) fn of(evidence: &Evidence) -> Self {
        let (rows, cols) = evidence.dim();
        let mut across = vec![0.0; rows * cols];
        for (v, line) in evidence.slope.outer_iter().enumerate() {
            for (u, slope) in line.iter().enumerate() {
                across[u * rows + v] = if slope[1].is_finite() { slope[1] } else { 0.0 };
            }
        }
        Self { rows, cols, across }
    }
}

/// A line that stands out.
pub(super) struct Line {
    /// Row at which it passes the middle column.
    pub(super) row: usize,
    /// Best stretch of it: support in reduced pixels.
    pub(super) strength: f32,
    /// Σ |slope| over the columns before each column.
    sums: Vec<f32>,
}

impl Line {
    /// Index of the sum before a column, cut to the picture; the same for all lines of a picture.
    pub(super) fn place(&self, u: f64) -> usize {
        let last = self.sums.len().saturating_sub(1) as f64;
        (u.clamp(0.0, last) + 0.5) as u32 as usize
    }

    /// Σ |slope| before the column of a place.
    pub(super) fn sum_before(&self, place: usize) -> f32 {
        self.sums.get(place).copied().unwrap_or(0.0)
    }
}

/// The lines of tilt `tilt_rad` with the most edge on one stretch, as local maxima, strongest first.
///
/// A line passes row `r` at the middle column and falls by tan θ a column.
pub(super) fn strongest(columns: &Columns, tilt_rad: f64) -> Vec<Line> {
    let (rows, tan) = (columns.rows, tilt_rad.tan());
    let middle = (columns.cols as f64 - 1.0) / 2.0;
    let chunks = columns.cols.div_ceil(CHUNK);
    let mut sums = vec![0.0f32; (chunks + 1) * rows];
    let (mut run, mut best, mut signed) = (vec![0.0f32; rows], vec![0.0f32; rows], vec![0.0f32; rows]);
    for chunk in 0..chunks {
        signed.fill(0.0);
        let from = chunk * CHUNK;
        let to = (from + CHUNK).min(columns.cols);
        for u in from..to {
            let drop = ((u as f64 - middle) * tan).round() as i32;
            let column = &columns.across[u * rows..(u + 1) * rows];
            add_shifted(&mut signed, column, drop);
        }
        let (done, rest) = sums.split_at_mut((chunk + 1) * rows);
        let before = &done[chunk * rows..];
        let give = GIVE * (to - from) as f32;
        let state = run.iter_mut().zip(best.iter_mut());
        for ((((run, best), signed), before), after) in state.zip(&signed).zip(before).zip(rest) {
            let size = signed.abs();
            // The best stretch so far and the one that ends here.
            *run = run.max(0.0) + size - give;
            *best = best.max(*run);
            *after = before + size;
        }
    }
    peaks(&best)
        .into_iter()
        .map(|row| line(row, best[row], &sums, rows))
        .collect()
}

/// `into[row] += column[row + drop]` wherever both exist.
fn add_shifted(into: &mut [f32], column: &[f32], drop: i32) {
    let shift = drop.unsigned_abs() as usize;
    let (into, column) = if drop >= 0 {
        (into, column.get(shift..).unwrap_or(&[]))
    } else {
        (into.get_mut(shift..).unwrap_or(&mut []), column)
    };
    for (into, value) in into.iter_mut().zip(column) {
        *into += value;
    }
}

fn peaks(strength: &[f32]) -> Vec<usize> {
    let mut peaks: Vec<usize> = strength
        .windows(3)
        .enumerate()
        .filter(|(_, w)| w[1] > 0.0 && w[1] >= w[0] && w[1] > w[2])
        .map(|(i, _)| i + 1)
        .collect();
    peaks.sort_by(|&a, &b| strength[b].total_cmp(&strength[a]));
    peaks.truncate(LINES);
    peaks
}

/// The sums of one line at every column, straight between the chunks.
fn line(row: usize, strength: f32, sums: &[f32], rows: usize) -> Line {
    let chunk: Vec<f32> = sums.iter().skip(row).step_by(rows).copied().collect();
    let mut dense = Vec::with_capacity(chunk.len() * CHUNK);
    for pair in chunk.windows(2) {
        let step = (pair[1] - pair[0]) / CHUNK as f32;
        dense.extend((0..CHUNK).map(|i| pair[0] + step * i as f32));
    }
    dense.extend(chunk.last());
    Line {
        row,
        strength,
        sums: dense,
    }
}
