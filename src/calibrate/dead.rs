//! Dead pixels: found and marked as no reading, never smoothed into the data.

use ndarray::Array2;

/// Multiples of the noise by which a dead pixel stands clear of all its neighbours.
const CLEAR_NOISE: f64 = 8.0;
/// Least amount in K by which it does.
const CLEAR_K: f64 = 0.6;
/// Spread of the four neighbours, as a share of the jump, beyond which it is an edge and not a dead pixel.
const NEIGHBOUR_SHARE: f32 = 0.35;

/// Marks every pixel that stands clear of all four neighbours, while these agree, as NaN; returns how many.
///
/// The optics blur any real point over several pixels, so a single pixel far from all its neighbours is the detector's.
pub(super) fn mark(map: &mut Array2<f32>, noise_k: f64) -> usize {
    let clear = CLEAR_K.max(CLEAR_NOISE * noise_k) as f32;
    let mut dead = Vec::new();
    let (rows, columns) = map.dim();
    let Some(values) = map.as_slice() else { return 0 };
    for y in 1..rows.saturating_sub(1) {
        let row = |y: usize| values.get(y * columns..(y + 1) * columns).unwrap_or(&[]);
        let (above, here, below) = (row(y - 1), row(y), row(y + 1));
        for x in 1..columns - 1 {
            let value = here[x];
            // Nearly every pixel is settled by its neighbours in the row.
            if (value - here[x - 1]).abs() <= clear || (value - here[x + 1]).abs() <= clear {
                continue;
            }
            let (left, right, up, down) = (here[x - 1], here[x + 1], above[x], below[x]);
            let low = left.min(right).min(up).min(down);
            let high = left.max(right).max(up).max(down);
            let jump = (value - high).max(low - value);
            if jump > clear && high - low < NEIGHBOUR_SHARE * jump {
                dead.push([y, x]);
            }
        }
    }
    for &at in &dead {
        map[at] = f32::NAN;
    }
    dead.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lone_pixel_is_dead_and_an_edge_or_a_spot_is_not() {
        let mut map = Array2::from_shape_fn((30, 30), |(_, x)| if x < 15 { 10.0 } else { 14.0 });
        map[[5, 5]] = 25.0;
        map[[20, 22]] = -30.0;
        // A spot of three by three pixels is something in the scene.
        for (dy, dx) in (0..9).map(|i| (i / 3, i % 3)) {
            map[[10 + dy, 5 + dx]] = 5.0;
        }
        assert_eq!(mark(&mut map, 0.05), 2);
        assert!(map[[5, 5]].is_nan() && map[[20, 22]].is_nan());
        assert!((map[[11, 6]] - 5.0).abs() < 1e-6);
    }
}
