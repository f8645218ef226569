//! Screen pictures of simulated frames: temperatures through an open colour map, with bar, captions and cross-hair.

use std::error::Error;
use std::io::Cursor;

use colorous::Gradient;
use image::codecs::jpeg::JpegEncoder;
use image::{ImageFormat, Rgb, RgbImage};
use ndarray::Array2;
use serde::Serialize;

use crate::picture::Rendered;
use crate::truth::Truth;

/// An open scientific colour map.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ColourMap {
    /// Dark violet to yellow.
    Viridis,
    /// Black to white through purple.
    Magma,
    /// Black to pale yellow through red.
    Inferno,
    /// Blue to yellow through magenta.
    Plasma,
    /// Blue to yellow, for every colour vision.
    Cividis,
    /// A rainbow of even brightness.
    Turbo,
    /// White to black.
    Greys,
}

impl ColourMap {
    /// All of them.
    pub const ALL: [Self; 7] = [
        Self::Viridis,
        Self::Magma,
        Self::Inferno,
        Self::Plasma,
        Self::Cividis,
        Self::Turbo,
        Self::Greys,
    ];

    fn gradient(self) -> Gradient {
        match self {
            Self::Viridis => colorous::VIRIDIS,
            Self::Magma => colorous::MAGMA,
            Self::Inferno => colorous::INFERNO,
            Self::Plasma => colorous::PLASMA,
            Self::Cividis => colorous::CIVIDIS,
            Self::Turbo => colorous::TURBO,
            Self::Greys => colorous::GREYS,
        }
    }
}

/// Where the bar stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Place {
    /// Upright, right of the frame.
    RightBeside,
    /// Upright, in the frame.
    LeftInside,
    /// Level, above the frame.
    TopBeside,
    /// Level, in the frame.
    BottomInside,
}

/// All places.
pub const PLACES: [Place; 4] = [
    Place::RightBeside,
    Place::LeftInside,
    Place::TopBeside,
    Place::BottomInside,
];

/// How a picture is stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Form {
    /// PNG.
    Png,
    /// JPEG of a quality, 1 to 100.
    Jpeg(u8),
}

/// How a frame is shown and stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Look {
    /// Colours.
    pub map: ColourMap,
    /// Place of the bar.
    pub place: Place,
    /// File format.
    pub form: Form,
    /// Thousandths of the readings beyond each end of the bar, before the margin.
    pub beyond_permille: u16,
    /// How much wider the bar's span is at each end, in hundredths of K.
    pub margin_ck: u16,
}

impl Look {
    /// The frame on a screen, its bar spanning what this look says.
    #[must_use]
    pub fn show(&self, celsius: &Array2<f32>) -> Screen {
        let mut sorted: Vec<f32> = celsius.iter().copied().filter(|t| t.is_finite()).collect();
        sorted.sort_by(f32::total_cmp);
        let last = sorted.len().saturating_sub(1);
        let beyond = f64::from(self.beyond_permille) / 1000.0;
        let at = |share: f64| {
            sorted
                .get((share * last as f64) as usize)
                .map_or(0.0, |t| f64::from(*t))
        };
        let margin_k = f64::from(self.margin_ck) / 100.0;
        // To a tenth, as such bars are written.
        let tenth = |t: f64| (10.0 * t).round() / 10.0;
        let low_c = tenth(at(beyond) - margin_k);
        let ends_c = [low_c, tenth(at(1.0 - beyond) + margin_k).max(low_c + 1.0)];
        screen(celsius, self.map, self.place, ends_c)
    }
}

/// A drawn screen.
#[derive(Debug, Clone)]
pub struct Screen {
    /// The picture.
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
#[must_use]
pub fn screen(celsius: &Array2<f32>, map: ColourMap, place: Place, ends_c: [f64; 2]) -> Screen {
    let gradient = map.gradient();
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
        image.put_pixel(x as u32 + left, y as u32 + top, colour(gradient, share));
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
    pub fn bar(&mut self, map: ColourMap, [x, y, w, h]: [u32; 4]) {
        let map = map.gradient();
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
    ///
    /// # Errors
    /// Those of the image writers, which for a picture of sane size do not occur.
    pub fn file(&self, form: Form) -> Result<Vec<u8>, Box<dyn Error>> {
        file(&self.image, form)
    }

    /// Cells of the frame's row that tell of the bar: column, value.
    #[must_use]
    pub fn cells(&self) -> Vec<(String, String)> {
        let [low_c, high_c] = self.ends_c.map(|t| format!("{t:.1}"));
        vec![("bar_low_c".into(), low_c), ("bar_high_c".into(), high_c)]
    }

    /// A rendered frame in the coordinates of the screen.
    #[must_use]
    pub fn framed(&self, rendered: Rendered) -> Rendered {
        let size = (self.image.height() as usize, self.image.width() as usize);
        let frame = Frame {
            size,
            origin: (self.origin.1 as usize, self.origin.0 as usize),
        };
        Rendered {
            apparent_c: frame.about(&rendered.apparent_c, f32::NAN),
            truth: frame.truth(rendered.truth),
        }
    }
}

/// Where a frame lies in a larger picture, rows and columns.
struct Frame {
    size: (usize, usize),
    origin: (usize, usize),
}

impl Frame {
    /// The same with what lies about it.
    fn about<T: Copy>(&self, inner: &Array2<T>, outside: T) -> Array2<T> {
        let mut outer = Array2::from_elem(self.size, outside);
        for ((row, column), &value) in inner.indexed_iter() {
            if let Some(cell) = outer.get_mut((row + self.origin.0, column + self.origin.1)) {
                *cell = value;
            }
        }
        outer
    }

    fn truth(&self, mut truth: Truth) -> Truth {
        for mask in [&mut truth.vessel, &mut truth.visible] {
            *mask = self.about(mask, false);
        }
        let maps = [
            &mut truth.axial_m,
            &mut truth.round,
            &mut truth.cos_view,
            &mut truth.area_m2,
            &mut truth.surface_c,
            &mut truth.baseline_c,
        ];
        for map in maps {
            *map = self.about(map, f32::NAN);
        }
        for (x, y) in &mut truth.outline_px {
            (*x, *y) = (*x + self.origin.1 as f64, *y + self.origin.0 as f64);
        }
        for patch in &mut truth.patches {
            patch.pixels = self.about(&patch.pixels, false);
        }
        for thing in &mut truth.clutter {
            thing.pixels = thing.pixels.as_ref().map(|pixels| self.about(pixels, false));
        }
        truth
    }
}

/// A picture as a file.
///
/// # Errors
/// Those of the image writers, which for a picture of sane size do not occur.
pub fn file(image: &RgbImage, form: Form) -> Result<Vec<u8>, Box<dyn Error>> {
    let mut bytes = Cursor::new(Vec::new());
    match form {
        Form::Png => image.write_to(&mut bytes, ImageFormat::Png)?,
        Form::Jpeg(quality) => JpegEncoder::new_with_quality(&mut bytes, quality).encode_image(image)?,
    }
    Ok(bytes.into_inner())
}
