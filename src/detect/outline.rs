//! The outline of a region in image pixels, for pictures and records.

use image::{GrayImage, Luma};
use imageproc::contours::{BorderType, Contour, find_contours};

use super::grow::{bridge_px, line_px};
use super::jacket::Jacket;
use crate::locate::orientation::Orientation;

/// Centroid, box and outline in image pixels.
pub(super) struct Shape {
    pub(super) centroid_px: [f64; 2],
    pub(super) box_px: [f64; 4],
    pub(super) outline_px: Vec<[f64; 2]>,
    /// Pixels between the parts that the outline takes in.
    pub(super) behind_px: usize,
}

/// Traces the outer border of the pixels, taking in `things` that hide the jacket between the parts of a zone; of parts that
/// are still apart, the longest.
pub(super) fn trace((jacket, things): (&Jacket, &[bool]), pixels: &[usize], orientation: &Orientation) -> Shape {
    let columns = jacket.size.0;
    let place = |at: usize| ((at % columns) as u32, (at / columns) as u32);
    let (mut low, mut high) = ((u32::MAX, u32::MAX), (0, 0));
    for &at in pixels {
        let (column, row) = place(at);
        low = (low.0.min(column), low.1.min(row));
        high = (high.0.max(column), high.1.max(row));
    }
    let mut mask = GrayImage::new(high.0 - low.0 + 3, high.1 - low.1 + 3);
    let (mut sum_x, mut sum_y) = (0.0, 0.0);
    let mut corners = ([f64::MAX; 2], [f64::MIN; 2]);
    for &at in pixels {
        let (column, row) = place(at);
        mask.put_pixel(column - low.0 + 1, row - low.1 + 1, Luma([255]));
        let [x, y] = image_px(jacket, orientation, f64::from(column), f64::from(row));
        sum_x += x;
        sum_y += y;
        corners = (
            [corners.0[0].min(x), corners.0[1].min(y)],
            [corners.1[0].max(x), corners.1[1].max(y)],
        );
    }
    let mut borders = outer_borders(&mask);
    let mut behind_px = 0;
    if borders.len() > 1 {
        behind_px = join_through((jacket, things), &mut mask, low);
        borders = outer_borders(&mask);
    }
    let outline_px = borders
        .into_iter()
        .max_by_key(|contour| contour.points.len())
        .map(|contour| {
            let points = contour.points.iter();
            points
                .map(|p| {
                    let (column, row) = (f64::from(p.x + low.0) - 1.0, f64::from(p.y + low.1) - 1.0);
                    image_px(jacket, orientation, column, row)
                })
                .collect()
        })
        .unwrap_or_default();
    let count = pixels.len() as f64;
    let grain = orientation.grain() as f64;
    Shape {
        centroid_px: [sum_x / count, sum_y / count],
        box_px: [
            corners.0[0] - 0.5 * grain,
            corners.0[1] - 0.5 * grain,
            corners.1[0] - corners.0[0] + grain,
            corners.1[1] - corners.0[1] + grain,
        ],
        outline_px,
        behind_px,
    }
}

fn outer_borders(mask: &GrayImage) -> Vec<Contour<u32>> {
    let mut borders = find_contours::<u32>(mask);
    borders.retain(|contour| contour.border_type == BorderType::Outer);
    borders
}

/// Marks things between two marked pixels of a row or a column, and a line between them, and says how many pixels those are;
/// `low` is the jacket's place of the mask's first pixel but one.
fn join_through((jacket, things): (&Jacket, &[bool]), mask: &mut GrayImage, low: (u32, u32)) -> usize {
    let (columns, rows) = (mask.width() - 2, mask.height() - 2);
    let mut between = Vec::new();
    let (line_px, bridge_px) = (line_px(jacket) as u32, bridge_px(jacket) as u32);
    let mut look_along = |count: u32, place: &dyn Fn(u32) -> (u32, u32)| {
        let mut last = None;
        for step in 0..count {
            let (column, row) = place(step);
            let at = jacket.index((low.0 + column) as usize, (low.1 + row) as usize);
            if mask.get_pixel(column + 1, row + 1).0[0] > 0 {
                let gap = last.map_or(0, |last| step - last - 1);
                if (1..=bridge_px).contains(&gap) {
                    between.extend((step - gap..step).map(place));
                }
                last = Some(step);
            } else if !things[at] && last.is_some_and(|last| step - last > line_px) {
                last = None;
            }
        }
    };
    for row in 0..rows {
        look_along(columns, &|step| (step, row));
    }
    for column in 0..columns {
        look_along(rows, &|step| (column, step));
    }
    let mut marked = 0;
    for (column, row) in between {
        let pixel = mask.get_pixel_mut(column + 1, row + 1);
        marked += usize::from(pixel.0[0] == 0);
        *pixel = Luma([255]);
    }
    marked
}

fn image_px(jacket: &Jacket, orientation: &Orientation, column: f64, row: f64) -> [f64; 2] {
    orientation.to_image(column + jacket.origin.0 as f64, row + jacket.origin.1 as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::detect::fixtures;
    use crate::detect::jacket::Cover;
    use crate::register::Shape;

    #[test]
    fn parts_on_either_side_of_something_in_front_have_one_outline() {
        let size = (40, 20);
        let mut jacket = fixtures::even_jacket(size);
        // A patch from column 5 to 34 in rows 5 to 14, a pipe before columns 10 to 17, and jacket that shows between the
        // parts from column 22 to 31, wider than a line.
        let mut pixels = Vec::new();
        for row in 0..size.1 {
            for column in 0..size.0 {
                let at = jacket.index(column, row);
                if (10..18).contains(&column) {
                    jacket.cover[at] = Cover::Hidden;
                } else if (5..15).contains(&row) && (5..35).contains(&column) && !(22..32).contains(&column) {
                    pixels.push(at);
                }
            }
        }
        let wall = Shape::Flat {
            width_m: 0.4,
            height_m: 0.2,
        };
        let orientation = Orientation::new(&wall, None, size.0, size.1);
        let hidden: Vec<bool> = jacket.cover.iter().map(|cover| cover.is_covered()).collect();
        let shape = trace((&jacket, &hidden), &pixels, &orientation);
        let reach = |axis: usize| {
            let values = shape.outline_px.iter().map(|p| p[axis]);
            (values.clone().fold(f64::MAX, f64::min), values.fold(f64::MIN, f64::max))
        };
        assert_eq!((reach(0), reach(1)), ((5.0, 21.0), (5.0, 14.0)));
        assert_eq!(shape.behind_px, 8 * 10);
    }
}
