//! Screen pictures of simulated frames: temperatures through an open colour map, with bar, captions and cross-hair. No tests.

use std::io::Cursor;

use colorous::Gradient;
use image::codecs::jpeg::JpegEncoder;
use image::{ImageFormat, Rgb, RgbImage};
use ndarray::Array2;

/// Where the bar stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    RightBeside,
    LeftInside,
    TopBeside,
    BottomInside,
}

pub const PLACES: [Place; 4] = [
    Place::RightBeside,
    Place::LeftInside,
    Place::TopBeside,
    Place::BottomInside,
];

/// How a picture is stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    Png,
    Jpeg(u8),
}

/// A drawn screen.
#[derive(Clone)]
pub struct Screen {
    pub image: RgbImage,
    /// Bar, x y w h.
    pub bar_px: [u32; 4],
    /// Where the first pixel of the frame stands.
    pub origin: (u32, u32),
    /// Temperatures at the ends of the bar.
    pub ends_c: [f64; 2],
    /// Pixels of text and cross-hair.
    pub drawn: Vec<(u32, u32)>,
}

const PAPER: Rgb<u8> = Rgb([255; 3]);
const INK: Rgb<u8> = Rgb([0; 3]);
/// Width of a bar on a frame up to so many pixels wide, and on a larger one.
const BAR_PX: (u32, u32, u32) = (12, 400, 22);

/// Draws a frame (°C) over the stated span.
pub fn screen(celsius: &Array2<f32>, map: Gradient, place: Place, ends_c: [f64; 2]) -> Screen {
    let (rows, columns) = celsius.dim();
    let (width, height) = (columns as u32, rows as u32);
    let (left, right, top, bottom) = match place {
        Place::RightBeside => (0, 60, 0, 0),
        Place::TopBeside => (0, 0, 54, 18),
        Place::LeftInside | Place::BottomInside => (0, 0, 0, 0),
    };
    let ground = Rgb([28, 28, 28]);
    let mut image = RgbImage::from_pixel(width + left + right, height + top + bottom, ground);
    for ((y, x), &t) in celsius.indexed_iter() {
        let share = (f64::from(t) - ends_c[0]) / (ends_c[1] - ends_c[0]);
        image.put_pixel(x as u32 + left, y as u32 + top, colour(map, share));
    }
    let thick = if width <= BAR_PX.1 { BAR_PX.0 } else { BAR_PX.2 };
    let (long, across) = (7 * height / 10, 7 * width / 10);
    let bar_px = match place {
        Place::RightBeside => [width + 14, height / 8, thick, long],
        Place::LeftInside => [8, height / 8, thick, long],
        Place::TopBeside => [width / 8, 18, across, thick],
        Place::BottomInside => [width / 8, height - thick - 8, across, thick],
    };
    let mut drawn = Screen {
        image,
        bar_px,
        origin: (left, top),
        ends_c,
        drawn: Vec::new(),
    };
    drawn.bar(map, bar_px);
    drawn.caption((left + 30, top + 6));
    drawn.cross_hair((left + width / 2, top + height / 3));
    drawn
}

/// A colour of a map, to 256 steps as a screen shows it.
fn colour(map: Gradient, share: f64) -> Rgb<u8> {
    let step = (share.clamp(0.0, 1.0) * 255.0).round() as usize;
    Rgb(map.eval_rational(step, 256).into_array())
}

impl Screen {
    /// A framed bar with ticks outside it and one across half of it, and numerals at its ends.
    pub fn bar(&mut self, map: Gradient, [x, y, w, h]: [u32; 4]) {
        let upright = h > w;
        for (dx, dy) in (0..w + 2).flat_map(|dx| (0..h + 2).map(move |dy| (dx, dy))) {
            let inside = (1..=w).contains(&dx) && (1..=h).contains(&dy);
            let share = if upright {
                1.0 - f64::from(dy.saturating_sub(1)) / f64::from(h - 1)
            } else {
                f64::from(dx.saturating_sub(1)) / f64::from(w - 1)
            };
            let shown = if inside { colour(map, share) } else { PAPER };
            self.image.put_pixel(x + dx - 1, y + dy - 1, shown);
        }
        for tick in 1..4 {
            for reach in 0..5 + w.min(h) / 2 * u32::from(tick == 2) {
                let at = if upright {
                    (x + w + 4 - reach, y + tick * h / 4)
                } else {
                    (x + tick * w / 4, y + h + 4 - reach)
                };
                self.image.put_pixel(at.0, at.1, PAPER);
            }
        }
        let numerals = if upright {
            [(x, y - 12), (x, y + h + 5)]
        } else {
            [(x - 26, y + 2), (x + w + 6, y + 2)]
        };
        for at in numerals {
            self.numeral(at);
        }
    }

    /// Something like "18": strokes of white in black.
    fn numeral(&mut self, (x, y): (u32, u32)) {
        const SHAPE: [&str; 7] = [
            "..#...###.",
            ".##..#...#",
            "..#..#...#",
            "..#...###.",
            "..#..#...#",
            "..#..#...#",
            ".###..###.",
        ];
        for (dy, row) in SHAPE.iter().enumerate() {
            for (dx, _) in row.bytes().enumerate().filter(|(_, b)| *b == b'#') {
                self.dot(x + dx as u32, y + dy as u32);
            }
        }
    }

    /// A white pixel with a black rim, where it lies in the picture.
    fn dot(&mut self, x: u32, y: u32) {
        for (nx, ny) in
            (x.saturating_sub(1)..=x + 1).flat_map(|nx| (y.saturating_sub(1)..=y + 1).map(move |ny| (nx, ny)))
        {
            if nx < self.image.width() && ny < self.image.height() && *self.image.get_pixel(nx, ny) != PAPER {
                self.image.put_pixel(nx, ny, INK);
                self.drawn.push((nx, ny));
            }
        }
        if x < self.image.width() && y < self.image.height() {
            self.image.put_pixel(x, y, PAPER);
            self.drawn.push((x, y));
        }
    }

    fn caption(&mut self, (x, y): (u32, u32)) {
        for word in 0..5 {
            self.numeral((x + 13 * word, y));
        }
    }

    fn cross_hair(&mut self, (x, y): (u32, u32)) {
        for reach in 4..12 {
            for (dx, dy) in [(0, reach), (reach, 0)] {
                self.dot(x + dx, y + dy);
                self.dot(x - dx, y - dy);
            }
        }
    }

    /// The picture as a file.
    pub fn file(&self, form: Form) -> Vec<u8> {
        file(&self.image, form)
    }
}

/// A picture as a file.
pub fn file(image: &RgbImage, form: Form) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    match form {
        Form::Png => image.write_to(&mut bytes, ImageFormat::Png).unwrap(),
        Form::Jpeg(quality) => JpegEncoder::new_with_quality(&mut bytes, quality)
            .encode_image(image)
            .unwrap(),
    }
    bytes.into_inner()
}
