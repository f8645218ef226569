//! The cut-out of a zone for lists: its surroundings enlarged, its outline drawn in.

use ndarray::Array2;

use super::{NOTHING, NOTHING_RGB, STEPS, encode, step};
use crate::record::palette::Palette;

/// Size of a cut-out in pixels.
const WIDTH: usize = 240;
const HEIGHT: usize = 168;
/// Room about the zone as a share of its size.
const ROOM: f64 = 0.6;
/// Least part of the image shown, in image pixels along.
const LEAST_PX: f64 = 48.0;
/// Half-widths of the outline and its casing, px.
const LINE: i32 = 1;
const CASING: i32 = 2;

/// What a cut-out is made from.
pub(super) struct Cut<'a> {
    pub(super) map: &'a Array2<f32>,
    pub(super) range_c: (f64, f64),
    pub(super) palette: Palette,
    pub(super) outline_px: &'a [[f64; 2]],
}

/// The part of the image shown: its corner and image pixels a picture pixel.
struct Window {
    left: f64,
    top: f64,
    scale: f64,
}

impl Cut<'_> {
    /// The cut-out as PNG.
    pub(super) fn png(&self) -> Result<Vec<u8>, String> {
        let window = self.window();
        let mut rgb = self.ground(&window);
        let at = |p: &[f64; 2]| {
            let place = |value: f64, origin: f64| ((value - origin) / window.scale).round().clamp(-1e4, 1e4) as i32;
            (place(p[0], window.left), place(p[1], window.top))
        };
        for (half, colour) in [(CASING, [255, 255, 255]), (LINE, [20, 20, 20])] {
            let next = self.outline_px.iter().cycle().skip(1);
            for (from, to) in self.outline_px.iter().zip(next) {
                line(&mut rgb, (at(from), at(to)), half, colour);
            }
        }
        encode(&rgb, (WIDTH, HEIGHT), None)
    }

    fn window(&self) -> Window {
        let (rows, columns) = self.map.dim();
        let (mut low, mut high) = ([f64::MAX; 2], [f64::MIN; 2]);
        for point in self.outline_px {
            for axis in 0..2 {
                low[axis] = low[axis].min(point[axis]);
                high[axis] = high[axis].max(point[axis]);
            }
        }
        if self.outline_px.is_empty() {
            (low, high) = ([0.0; 2], [columns as f64, rows as f64]);
        }
        let aspect = WIDTH as f64 / HEIGHT as f64;
        let (width, height) = (high[0] - low[0], high[1] - low[1]);
        let wanted = ((1.0 + 2.0 * ROOM) * width.max(height * aspect)).max(LEAST_PX);
        let shown = wanted.min((columns as f64).max(rows as f64 * aspect));
        // Moved so that as little as possible lies beyond the image.
        let place = |middle: f64, size: f64, all: f64| {
            let most = (all - size).max(0.0);
            if size >= all {
                (all - size) / 2.0 - 0.5
            } else {
                (middle - size / 2.0).clamp(-0.5, most - 0.5)
            }
        };
        Window {
            left: place((low[0] + high[0]) / 2.0, shown, columns as f64),
            top: place((low[1] + high[1]) / 2.0, shown / aspect, rows as f64),
            scale: shown / WIDTH as f64,
        }
    }

    fn ground(&self, window: &Window) -> Vec<u8> {
        let colours: Vec<[u8; 3]> = self.palette.steps(STEPS).collect();
        let mut rgb = Vec::with_capacity(3 * WIDTH * HEIGHT);
        for y in 0..HEIGHT {
            for x in 0..WIDTH {
                let column = (window.left + (x as f64 + 0.5) * window.scale).round();
                let row = (window.top + (y as f64 + 0.5) * window.scale).round();
                let inside = column >= 0.0 && row >= 0.0;
                let reading = inside.then(|| self.map.get([row as usize, column as usize])).flatten();
                let colour = match reading.map(|&value| step(value, self.range_c)) {
                    // Beyond the image: paper.
                    None => [255, 255, 255],
                    Some(NOTHING) => NOTHING_RGB,
                    Some(index) => colours.get(usize::from(index)).copied().unwrap_or(NOTHING_RGB),
                };
                rgb.extend(colour);
            }
        }
        rgb
    }
}

/// A line of squares from place to place.
fn line(rgb: &mut [u8], ((x0, y0), (x1, y1)): ((i32, i32), (i32, i32)), half: i32, colour: [u8; 3]) {
    let steps = (x1 - x0).abs().max((y1 - y0).abs()).max(1);
    for i in 0..=steps {
        let x = x0 + (x1 - x0) * i / steps;
        let y = y0 + (y1 - y0) * i / steps;
        for dy in -half..=half {
            for dx in -half..=half {
                dot(rgb, (x + dx, y + dy), colour);
            }
        }
    }
}

fn dot(rgb: &mut [u8], (x, y): (i32, i32), colour: [u8; 3]) {
    let (Ok(x), Ok(y)) = (usize::try_from(x), usize::try_from(y)) else {
        return;
    };
    if x >= WIDTH || y >= HEIGHT {
        return;
    }
    let at = 3 * (y * WIDTH + x);
    if let Some(pixel) = rgb.get_mut(at..at + 3) {
        pixel.copy_from_slice(&colour);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_zone_lies_in_the_middle_with_its_outline() {
        let map = Array2::from_elem((240, 320), 10.0f32);
        let cut = Cut {
            map: &map,
            range_c: (0.0, 20.0),
            palette: Palette::Grey,
            outline_px: &[[150.0, 110.0], [170.0, 110.0], [170.0, 130.0], [150.0, 130.0]],
        };
        let shown = image::load_from_memory(&cut.png().unwrap()).unwrap().to_rgb8();
        assert_eq!((shown.width() as usize, shown.height() as usize), (WIDTH, HEIGHT));
        let middle = shown.get_pixel(120, 84).0;
        assert!(middle[0].abs_diff(Palette::Grey.colour(0.5)[0]) <= 1);
        let dark = shown.pixels().filter(|p| p.0 == [20, 20, 20]).count();
        assert!(dark > 200, "{dark} px of outline");
    }

    #[test]
    fn an_outline_at_the_corner_or_none_is_no_trouble() {
        let map = Array2::from_elem((8, 8), f32::NAN);
        for outline_px in [&[][..], &[[-5.0, -5.0], [3.0, -5.0], [3.0, 90.0]][..]] {
            let cut = Cut {
                map: &map,
                range_c: (0.0, 0.0),
                palette: Palette::Cividis,
                outline_px,
            };
            assert!(cut.png().is_ok());
        }
    }
}
