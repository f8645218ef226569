//! What of a frame is kept to draw it.

use ndarray::Array2;

use super::Inspection;
use crate::calibrate::SurfaceMap;
use crate::detect::jacket::{Cover, Jacket};
use crate::locate::View;

/// The material of an annotated picture.
#[derive(Debug)]
pub struct Picture {
    /// Apparent temperature in °C, image orientation.
    pub map_c: Array2<f32>,
    /// Places on the asset that were not usefully seen, image orientation.
    pub unseen: Array2<bool>,
    /// Sound jacket as an apparent temperature in °C, to stand on the picture's scale.
    pub sound_apparent_c: Option<f64>,
    /// Whole metres along the asset's far side: (metres, image pixel).
    pub axis_px: Vec<(f64, [f64; 2])>,
    /// The colour bar that was read, x y w h in image pixels.
    pub bar_px: Option<[f64; 4]>,
}

impl Inspection {
    pub(super) fn with_picture(mut self, map: SurfaceMap, placed: Option<(&View, &Jacket)>) -> Self {
        let mut unseen = Array2::from_elem(map.apparent_c.dim(), false);
        if let Some((view, jacket)) = placed {
            mark_unseen(&mut unseen, view, jacket);
        }
        let axis_px = placed.map(|(view, _)| axis(view)).unwrap_or_default();
        let sound_apparent_c = self
            .report
            .seen
            .zip(placed)
            .and_then(|(seen, (view, jacket))| sound_apparent_c(&map, view, (jacket, seen.sound_c)));
        self.picture = Some(Picture {
            map_c: map.apparent_c,
            unseen,
            sound_apparent_c,
            axis_px,
            bar_px: map.from_bar.map(|from_bar| from_bar.bar.box_px.map(|v| v as f64)),
        });
        self
    }
}

/// Marks every image pixel of the jacket that was not usefully seen.
fn mark_unseen(unseen: &mut Array2<bool>, view: &View, jacket: &Jacket) {
    let (grain, columns) = (view.orientation.grain(), unseen.ncols());
    let Some(cells) = unseen.as_slice_mut() else { return };
    // The way from oriented to image pixels is whole steps along the image's own axes.
    let first = |column: usize, row: usize| {
        let place = ((column + jacket.origin.0) as f64, (row + jacket.origin.1) as f64);
        let corner = 0.5 * (grain as f64 - 1.0);
        let [x, y] = view
            .orientation
            .to_image(place.0, place.1)
            .map(|v| (v - corner) as isize);
        y * columns as isize + x
    };
    let start = first(0, 0);
    let (right, down) = (first(1, 0) - start, first(0, 1) - start);
    for (row, covers) in (0isize..).zip(jacket.cover.chunks(jacket.size.0.max(1))) {
        for (column, cover) in (0isize..).zip(covers) {
            if matches!(cover, Cover::Usable | Cover::Off) {
                continue;
            }
            let corner = start + row * down + column * right;
            for place in (0..grain * grain).map(|i| i / grain * columns + i % grain) {
                if let Some(cell) = usize::try_from(corner).ok().and_then(|at| cells.get_mut(at + place)) {
                    *cell = true;
                }
            }
        }
    }
}

/// Whole metres (every second, fifth or tenth on a long asset) on the far side of the asset, within the picture.
fn axis(view: &View) -> Vec<(f64, [f64; 2])> {
    let size = view.figure.size;
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .find(|step| size.length_m / step <= 12.0)
        .unwrap_or(20.0);
    let (columns, rows) = view.orientation.size();
    let count = (size.length_m / step).floor() as usize;
    (0..=count)
        .map(|i| i as f64 * step)
        .filter_map(|metres| {
            let (u, v) = view.figure.pixel(metres, size.half_width_m);
            let inside = u >= 0.0 && v >= 0.0 && u < columns as f64 && v < rows as f64;
            inside.then(|| (metres, view.orientation.to_image(u, v)))
        })
        .collect()
}

/// Median apparent temperature of usable jacket whose surface stands at the sound jacket's temperature within its spread.
fn sound_apparent_c(map: &SurfaceMap, view: &View, (jacket, sound_c): (&Jacket, f64)) -> Option<f64> {
    let mut values: Vec<f64> = (0..jacket.cover.len())
        .step_by(17)
        .filter(|&at| jacket.cover[at] == Cover::Usable)
        .filter(|&at| (f64::from(jacket.surface_c[at]) - sound_c).abs() < 0.3)
        .filter_map(|at| {
            let (column, row) = (
                at % jacket.size.0 + jacket.origin.0,
                at / jacket.size.0 + jacket.origin.1,
            );
            let [x, y] = view.orientation.to_image(column as f64, row as f64);
            map.apparent_c.get([y as usize, x as usize]).map(|&t| f64::from(t))
        })
        .collect();
    crate::statistic::median(&mut values)
}
