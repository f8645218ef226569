//! Pictures enlarged for a screen: how many of their pixels hold what one pixel of the detector saw.
//!
//! Every later step reckons with an optic's blur of about a pixel. A screen that shows each reading as two by two pixels or
//! more has blurs, rims and noise as many times wider, and nothing that the readings themselves did not have.

use ndarray::{Array2, ArrayBase, Data, Ix2};

use crate::statistic;

/// Most pixels a side that one reading is taken to fill.
const MOST: usize = 4;
/// Noise between neighbours over noise between pixels four apart, below which neighbours are not readings of their own:
/// white noise gives 1; doubled by bilinear or bicubic interpolation it gives 0.3 to 0.4; compression lies between.
const KIN: f64 = 0.45;
/// Noise over a step of the bar from which it is seen through the steps.
const SEEN_STEPS: f64 = 1.0;
/// Steepest slope a pixel over the height of the edge: an optic's blur of one pixel gives 0.4 at most, of two 0.2.
const SOFT_EDGE: (f64, f64) = (0.1, 0.26);
/// The same beyond which the edges are a camera's own.
const SHARP_EDGE: f64 = 0.32;
/// Edges that must be in the picture before they are listened to alone, and against the noise.
const LEAST_EDGES: usize = 300;
const FEW_EDGES: usize = 60;
/// Pixels to either side of an edge.
const EDGE_REACH: usize = 4;

/// Pixels a side that one reading fills, 1, 2 or 4, in a map (°C, NaN = no reading) with steps of so many K.
#[must_use]
pub fn of(map: &Array2<f32>, step_k: f64) -> usize {
    let mut grain = 1;
    let mut reduced = None;
    while grain < MOST && enlarged(reduced.as_ref().unwrap_or(map), step_k) {
        grain *= 2;
        reduced = Some(blocks(map, grain, half_of(grain)));
    }
    grain
}

/// Mean of the readings of each block of `side` × `side` pixels; NaN where fewer than `least` (at least 1) are readings.
#[must_use]
pub fn blocks<S: Data<Elem = f32>>(map: &ArrayBase<S, Ix2>, side: usize, least: usize) -> Array2<f32> {
    let (rows, columns) = (map.nrows() / side, map.ncols() / side);
    let share = 1.0 / (side * side) as f32;
    let mut out = Array2::zeros((rows, columns));
    let mut sums = vec![0.0f32; columns * side];
    for (v, mut line) in out.outer_iter_mut().enumerate() {
        sums.fill(0.0);
        for row in map.outer_iter().skip(v * side).take(side) {
            sums.iter_mut().zip(row).for_each(|(sum, &value)| *sum += value);
        }
        for (u, (cell, block)) in line.iter_mut().zip(sums.chunks_exact(side)).enumerate() {
            let sum: f32 = block.iter().sum();
            *cell = if sum.is_finite() {
                sum * share
            } else {
                mean_of_readings(map, (v, u), side, least)
            };
        }
    }
    out
}

/// Half of the pixels of a block.
#[must_use]
pub fn half_of(side: usize) -> usize {
    (side * side).div_ceil(2)
}

/// Mean of the readings of one block that has gaps.
fn mean_of_readings<S: Data<Elem = f32>>(
    map: &ArrayBase<S, Ix2>,
    (v, u): (usize, usize),
    side: usize,
    least: usize,
) -> f32 {
    let (mut sum, mut count) = (0.0f32, 0usize);
    for y in v * side..(v + 1) * side {
        for x in u * side..(u + 1) * side {
            if let Some(t) = map.get([y, x]).filter(|t| t.is_finite()) {
                sum += t;
                count += 1;
            }
        }
    }
    if count >= least.max(1) {
        sum / count as f32
    } else {
        f32::NAN
    }
}

fn enlarged(map: &Array2<f32>, step_k: f64) -> bool {
    let mut slopes = edges(map, (12.0 * step_k).max(0.4));
    let count = slopes.len();
    let steep = statistic::percentile(&mut slopes, 90.0).unwrap_or(0.0);
    let far = noise(map, 4);
    if far > SEEN_STEPS * step_k {
        // Compression smooths noise as enlarging does, but leaves edges sharp.
        let sharp = count >= FEW_EDGES && steep > SHARP_EDGE;
        return noise(map, 1) < KIN * far && !sharp;
    }
    // Where the steps hide the noise, the edges alone must tell.
    count >= LEAST_EDGES && (SOFT_EDGE.0..SOFT_EDGE.1).contains(&steep)
}

/// Median of `|t[x] − (t[x−lag] + t[x+lag])/2|` along rows, in K.
fn noise(map: &Array2<f32>, lag: usize) -> f64 {
    const SAMPLES: usize = 12_000;
    let stride = (map.len() / SAMPLES).max(1) | 1;
    let Some(values) = map.as_slice() else { return 0.0 };
    let mut differences: Vec<f64> = (lag..values.len().saturating_sub(lag))
        .step_by(stride)
        .filter_map(|i| {
            let d = values[i] - 0.5 * (values[i - lag] + values[i + lag]);
            d.is_finite().then(|| f64::from(d.abs()))
        })
        .collect();
    statistic::median(&mut differences).unwrap_or(0.0)
}

/// For every edge of at least so many K along the rows: its steepest slope a pixel over its height.
fn edges(map: &Array2<f32>, least_k: f64) -> Vec<f64> {
    let mut found = Vec::new();
    for row in map.outer_iter() {
        let Some(row) = row.to_slice() else { continue };
        let slope = |x: usize| (row[x + 1] - row[x - 1]).abs() / 2.0;
        for x in EDGE_REACH..row.len().saturating_sub(EDGE_REACH) {
            let height = (row[x + EDGE_REACH] - row[x - EDGE_REACH]).abs();
            let steepest = slope(x) >= slope(x - 1) && slope(x) >= slope(x + 1);
            if f64::from(height) > least_k && steepest {
                found.push(f64::from(slope(x) / height));
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Noise of a fixed seed about a wall with a column in front, blurred as an optic does.
    fn scene() -> Array2<f32> {
        let mut state = 7u32;
        let mut noise = || {
            (0..4)
                .map(|_| {
                    state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    (state >> 8) as f32 / (1u32 << 24) as f32 - 0.5
                })
                .sum::<f32>()
                * 0.09
        };
        scene_without_noise().mapv(|t| t + noise())
    }

    fn scene_without_noise() -> Array2<f32> {
        Array2::from_shape_fn((160, 200), |(_, x)| {
            let edge = |at: f32| 1.0 / (1.0 + (-1.7 * (x as f32 - at)).exp());
            10.0 + 3.0 * (edge(80.0) - edge(120.0))
        })
    }

    /// Twice as large, by bilinear interpolation.
    fn doubled(map: &Array2<f32>) -> Array2<f32> {
        let (rows, columns) = map.dim();
        Array2::from_shape_fn((2 * rows - 2, 2 * columns - 2), |(y, x)| {
            let at = |y: usize, x: usize| map[[y.min(rows - 1), x.min(columns - 1)]];
            let (v, u) = (y / 2, x / 2);
            let (b, a) = ([0.25, 0.75][y % 2], [0.25, 0.75][x % 2]);
            let across = |v: usize| at(v, u) * (1.0 - a) + at(v, u + 1) * a;
            across(v) * (1.0 - b) + across(v + 1) * b
        })
    }

    #[test]
    fn a_doubled_picture_is_known_by_its_noise_and_a_plain_one_is_left() {
        let plain = scene();
        assert_eq!(of(&plain, 0.01), 1);
        assert_eq!(of(&doubled(&plain), 0.01), 2);
        assert_eq!(of(&doubled(&doubled(&plain)), 0.01), 4);
    }

    /// Noise smoothed as compression may, (1 2 1)/4 along the rows, under edges left sharp.
    #[test]
    fn smooth_noise_under_sharp_edges_is_not_an_enlarged_picture() {
        let still = scene_without_noise();
        let noise = &scene() - &still;
        let (rows, columns) = noise.dim();
        let smooth = Array2::from_shape_fn((rows, columns - 2), |(y, x)| {
            0.25 * (noise[[y, x]] + 2.0 * noise[[y, x + 1]] + noise[[y, x + 2]])
        });
        let map = Array2::from_shape_fn(smooth.dim(), |(y, x)| smooth[[y, x]] + still[[y, x + 1]]);
        assert_eq!(of(&smooth, 0.001), 2);
        assert_eq!(of(&map, 0.001), 1);
    }

    #[test]
    fn blocks_take_the_mean_of_what_was_read() {
        let map = ndarray::array![[1.0, 3.0, f32::NAN, f32::NAN], [5.0, 7.0, f32::NAN, 2.0]];
        let reduced = blocks(&map, 2, half_of(2));
        assert_eq!(reduced.dim(), (1, 2));
        assert!((reduced[[0, 0]] - 4.0).abs() < 1e-6 && reduced[[0, 1]].is_nan());
    }
}
