//! How much of the asset itself stands at the end of the camera's range.

use ndarray::Array2;

use crate::calibrate;
use crate::locate::View;

/// Readings at one value below which they are the scene's own extreme.
const FEWEST: usize = 10;

/// Share (0..1) of the readings within the figure of `view` that stand at the lowest or the highest value of the whole
/// oriented map (°C, NaN = no reading), whichever is more; 0 where the figure holds none. `at_an_end` is how many of the
/// whole map stand at one of them.
#[must_use]
pub fn clipped_share(map: &Array2<f32>, at_an_end: usize, view: &View) -> f64 {
    // Nearly every picture is settled here, before any place is worked out.
    if at_an_end < FEWEST {
        return 0.0;
    }
    let Some(values) = map.as_slice() else { return 0.0 };
    let (low, high) = calibrate::extremes(values);
    let (mut at_low, mut at_high) = (0_usize, 0_usize);
    for (row, line) in map.outer_iter().enumerate() {
        for (column, &t) in line.iter().enumerate().filter(|(_, t)| **t == low || **t == high) {
            let (axial_m, across_m) = view.figure.local(column as f64, row as f64);
            if view.figure.covers(axial_m, across_m) {
                at_low += usize::from(t == low);
                at_high += usize::from(t == high);
            }
        }
    }
    let most = at_low.max(at_high);
    // Any picture has a coldest and a warmest reading or two: that is no clipping.
    if most < FEWEST {
        return 0.0;
    }
    most as f64 / readings(map, view).max(1) as f64
}

fn readings(map: &Array2<f32>, view: &View) -> usize {
    let within = |(row, column): (usize, usize)| {
        let (axial_m, across_m) = view.figure.local(column as f64, row as f64);
        view.figure.covers(axial_m, across_m)
    };
    map.indexed_iter()
        .filter(|&(at, t)| t.is_finite() && within(at))
        .count()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::detect::sharpness::tests::wall;

    #[test]
    fn only_the_assets_own_clipped_readings_count() {
        let (mut map, view) = wall(1.0, 2.0);
        // No two readings alike, as under a camera's noise.
        for ((row, _), t) in map.indexed_iter_mut() {
            *t += 0.001 * row as f32;
        }
        assert!(clipped_share(&map, 10_000, &view) < 0.001);
        // A sky at the lowest value beside the asset is no loss.
        let mut sky = map.clone();
        sky.slice_each_axis_mut(|axis| match axis.axis.index() {
            0 => ndarray::Slice::from(0..20),
            _ => ndarray::Slice::from(..),
        })
        .fill(5.0);
        assert!(clipped_share(&sky, 10_000, &view) < 0.001);
        // A quarter of the asset below the range: 40.3..70.3 of 120 columns.
        let clipped = Array2::from_shape_fn(map.dim(), |(row, column)| match column < 70 {
            true => 14.0,
            false => map[(row, column)] + 5.0,
        });
        let share = clipped_share(&clipped, 10_000, &view);
        assert!((0.23..0.27).contains(&share), "{share}");
    }
}
