//! Which way the asset's axis runs in the image, so that every later step works with one case.
//!
//! Oriented coordinates: `u` grows from the datum end along the axis, `v` across it; pixel centres stand at whole numbers.

use std::borrow::Cow;

use ndarray::{Array2, ArrayView1, ArrayView2, Axis, Slice};

use crate::calibrate::grain;
use crate::register::{Shape, Side};

/// The turn between image coordinates (x right, y down) and oriented coordinates (u along the axis, v across).
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Orientation {
    side: Side,
    left: usize,
    top: usize,
    width: usize,
    height: usize,
    grain: usize,
}

impl Orientation {
    /// The orientation of an asset whose datum end lies at `side` (or at the shape's usual side) of an image of that size.
    #[must_use]
    pub fn new(shape: &Shape, side: Option<Side>, width: usize, height: usize) -> Self {
        let usual = match shape {
            Shape::VerticalCylinder { .. } => Side::Bottom,
            Shape::HorizontalCylinder { .. } | Shape::Flat { .. } => Side::Left,
        };
        Self {
            side: side.unwrap_or(usual),
            left: 0,
            top: 0,
            width,
            height,
            grain: 1,
        }
    }

    /// The same within a part x y w h of the image: what lies about it is not the picture's.
    #[must_use]
    pub fn within(self, [left, top, width, height]: [usize; 4]) -> Self {
        Self {
            left,
            top,
            width,
            height,
            ..self
        }
    }

    /// The same in oriented pixels that each take in `times` × `times` of these.
    #[must_use]
    pub fn coarser(self, times: usize) -> Self {
        let times = times.max(1);
        Self {
            width: self.width / times,
            height: self.height / times,
            grain: self.grain * times,
            ..self
        }
    }

    /// Image pixels along a side of an oriented pixel.
    #[must_use]
    pub fn grain(&self) -> usize {
        self.grain
    }

    /// Pixels along the axis and across it.
    #[must_use]
    pub fn size(&self) -> (usize, usize) {
        match self.side {
            Side::Left | Side::Right => (self.width, self.height),
            Side::Bottom | Side::Top => (self.height, self.width),
        }
    }

    /// Image point (x, y) of an oriented point.
    #[must_use]
    pub fn to_image(&self, u: f64, v: f64) -> [f64; 2] {
        let (last_x, last_y) = (self.width as f64 - 1.0, self.height as f64 - 1.0);
        let [x, y] = match self.side {
            Side::Left => [u, v],
            Side::Right => [last_x - u, v],
            Side::Bottom => [v, last_y - u],
            Side::Top => [v, u],
        };
        let grain = self.grain as f64;
        let full = |v: f64, first: usize| v * grain + 0.5 * (grain - 1.0) + first as f64;
        [full(x, self.left), full(y, self.top)]
    }

    /// Oriented point (u, v) of an image point: the inverse of [`Orientation::to_image`].
    #[must_use]
    pub fn from_image(&self, x: f64, y: f64) -> (f64, f64) {
        let (last_x, last_y) = (self.width as f64 - 1.0, self.height as f64 - 1.0);
        let grain = self.grain as f64;
        let fine = |v: f64, first: usize| (v - first as f64 - 0.5 * (grain - 1.0)) / grain;
        let (x, y) = (fine(x, self.left), fine(y, self.top));
        match self.side {
            Side::Left => (x, y),
            Side::Right => (last_x - x, y),
            Side::Bottom => (last_y - y, x),
            Side::Top => (y, x),
        }
    }

    /// The map turned so that rows run across the axis and columns along it; borrowed where nothing is to turn.
    #[must_use]
    pub fn turn<'a>(&self, map: &'a Array2<f32>) -> Cow<'a, Array2<f32>> {
        let whole = map.dim() == (self.height, self.width);
        let mut view = map.view();
        view.slice_axis_inplace(Axis(0), Slice::from(self.top..self.top + self.grain * self.height));
        view.slice_axis_inplace(Axis(1), Slice::from(self.left..self.left + self.grain * self.width));
        let reduced;
        if self.grain > 1 {
            reduced = grain::blocks(&view, self.grain, grain::half_of(self.grain));
            view = reduced.view();
        }
        let turned = match self.side {
            Side::Left if whole => return Cow::Borrowed(map),
            Side::Left => view.as_standard_layout().into_owned(),
            Side::Right => {
                view.invert_axis(Axis(1));
                view.as_standard_layout().into_owned()
            }
            Side::Bottom => on_its_side(view, true),
            Side::Top => on_its_side(view, false),
        };
        Cow::Owned(turned)
    }
}

/// Rows become columns, from the last row on where `upwards`.
fn on_its_side(map: ArrayView2<f32>, upwards: bool) -> Array2<f32> {
    // A few rows at a time, so that what is written lies together in memory.
    const ROWS: usize = 16;
    let (rows, columns) = map.dim();
    let mut turned = Array2::zeros((columns, rows));
    let Some(out) = turned.as_slice_mut() else {
        return turned;
    };
    for first in (0..rows).step_by(ROWS) {
        let last = (first + ROWS).min(rows);
        let source = |place: usize| if upwards { rows - 1 - place } else { place };
        let lines: Vec<ArrayView1<f32>> = (first..last).map(|place| map.row(source(place))).collect();
        for (u, out) in out.chunks_exact_mut(rows).enumerate() {
            for (cell, line) in out.iter_mut().skip(first).zip(&lines) {
                *cell = line[u];
            }
        }
    }
    turned
}

#[cfg(test)]
mod tests {
    use super::*;

    const WALL: Shape = Shape::Flat {
        width_m: 2.0,
        height_m: 1.0,
    };

    #[test]
    fn turning_agrees_with_the_coordinates_on_every_side() {
        let map = Array2::from_shape_fn((3, 5), |(y, x)| (10 * y + x) as f32);
        for side in [Side::Left, Side::Right, Side::Bottom, Side::Top] {
            let orientation = Orientation::new(&WALL, Some(side), 5, 3);
            let turned = orientation.turn(&map);
            assert_eq!(turned.dim(), (orientation.size().1, orientation.size().0));
            for ((v, u), &value) in turned.indexed_iter() {
                let [x, y] = orientation.to_image(u as f64, v as f64);
                assert_eq!(value, map[[y as usize, x as usize]], "{side:?} {u} {v}");
                assert_eq!(orientation.from_image(x, y), (u as f64, v as f64));
            }
        }
    }

    #[test]
    fn a_part_of_the_image_turns_like_the_whole_and_keeps_the_image_coordinates() {
        let map = Array2::from_shape_fn((6, 9), |(y, x)| (10 * y + x) as f32);
        for side in [Side::Left, Side::Right, Side::Bottom, Side::Top] {
            let orientation = Orientation::new(&WALL, Some(side), 9, 6).within([2, 1, 5, 4]);
            let turned = orientation.turn(&map);
            assert_eq!(turned.dim(), (orientation.size().1, orientation.size().0));
            for ((v, u), &value) in turned.indexed_iter() {
                let [x, y] = orientation.to_image(u as f64, v as f64);
                assert_eq!(value, map[[y as usize, x as usize]], "{side:?} {u} {v}");
                assert_eq!(orientation.from_image(x, y), (u as f64, v as f64));
            }
        }
    }

    #[test]
    fn coarser_pixels_stand_at_the_middle_of_their_block() {
        let map = Array2::from_shape_fn((7, 11), |(y, x)| (100 * y + x) as f32);
        for side in [Side::Left, Side::Right, Side::Bottom, Side::Top] {
            let orientation = Orientation::new(&WALL, Some(side), 11, 7)
                .within([1, 2, 9, 5])
                .coarser(2);
            let turned = orientation.turn(&map);
            assert_eq!(turned.dim(), (orientation.size().1, orientation.size().0));
            for ((v, u), &value) in turned.indexed_iter() {
                let [x, y] = orientation.to_image(u as f64, v as f64);
                assert_eq!(f64::from(value), 100.0 * y + x, "{side:?} {u} {v}");
                assert_eq!(orientation.from_image(x, y), (u as f64, v as f64));
            }
        }
    }

    #[test]
    fn a_vertical_vessel_has_its_datum_at_the_bottom() {
        let shape = Shape::VerticalCylinder {
            diameter_m: 1.0,
            length_m: 3.0,
        };
        let orientation = Orientation::new(&shape, None, 320, 240);
        assert_eq!(orientation.size(), (240, 320));
        assert_eq!(orientation.to_image(0.0, 0.0), [0.0, 239.0]);
    }
}
