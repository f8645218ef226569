//! Plots as PNG: axes, lines, dots, a legend, and no more.

use std::path::Path;

use ab_glyph::{Font, FontRef, PxScale, ScaleFont, point};
use image::{Rgb, RgbImage};
use imageproc::drawing::{draw_filled_circle_mut, draw_filled_rect_mut, draw_line_segment_mut};
use imageproc::rect::Rect;

use crate::run::Problem;

const FACE: &[u8] = include_bytes!("../../../src/record/face.ttf");
const SIZE_PX: (u32, u32) = (900, 600);
/// Left, top, right, bottom.
const MARGIN_PX: (f32, f32, f32, f32) = (80.0, 50.0, 30.0, 60.0);
const INK: Rgb<u8> = Rgb([40, 40, 40]);
const GRID: Rgb<u8> = Rgb([225, 225, 225]);
/// Six steps through viridis, an open colour map.
const COLOURS: [Rgb<u8>; 6] = [
    Rgb([68, 1, 84]),
    Rgb([65, 68, 135]),
    Rgb([42, 120, 142]),
    Rgb([34, 168, 132]),
    Rgb([122, 209, 81]),
    Rgb([220, 200, 30]),
];

/// An axis.
#[derive(Debug, Clone)]
pub struct Axis {
    /// What it shows, with its unit.
    pub label: String,
    /// Lowest value.
    pub low: f64,
    /// Highest value.
    pub high: f64,
    /// Places of its marks; the values themselves are written there.
    pub marks: Vec<f64>,
    /// Whether equal lengths are equal ratios.
    pub logarithmic: bool,
}

impl Axis {
    fn share(&self, value: f64) -> f64 {
        let scale = |v: f64| if self.logarithmic { v.ln() } else { v };
        (scale(value.clamp(self.low, self.high)) - scale(self.low)) / (scale(self.high) - scale(self.low))
    }
}

/// How a series is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// Joined by lines.
    Line,
    /// Dots.
    Dots,
}

/// Points with a name; series of the same name share a colour and one entry of the legend.
#[derive(Debug, Clone)]
pub struct Series {
    /// What it shows.
    pub name: String,
    /// How.
    pub mark: Mark,
    /// (x, y).
    pub points: Vec<(f64, f64)>,
}

/// A plot.
#[derive(Debug, Clone)]
pub struct Chart {
    /// Title.
    pub title: String,
    /// Horizontal axis.
    pub x: Axis,
    /// Vertical axis.
    pub y: Axis,
    /// What is drawn.
    pub series: Vec<Series>,
}

impl Chart {
    /// Draws it into a PNG file.
    ///
    /// # Errors
    /// Those of writing.
    pub fn write(&self, path: &Path) -> Result<(), Problem> {
        Ok(self.draw()?.save(path)?)
    }

    fn draw(&self) -> Result<RgbImage, Problem> {
        let font = FontRef::try_from_slice(FACE)?;
        let mut page = Page {
            image: RgbImage::from_pixel(SIZE_PX.0, SIZE_PX.1, Rgb([255, 255, 255])),
            font,
        };
        page.axes(self);
        let mut names: Vec<&str> = Vec::new();
        for series in &self.series {
            if !names.contains(&series.name.as_str()) {
                names.push(&series.name);
            }
            let number = names.iter().position(|name| *name == series.name).unwrap_or(0);
            page.series(self, series, COLOURS[number % COLOURS.len()]);
        }
        page.legend(&names);
        Ok(page.image)
    }
}

struct Page {
    image: RgbImage,
    font: FontRef<'static>,
}

impl Page {
    fn place(chart: &Chart, (x, y): (f64, f64)) -> (f32, f32) {
        let (left, top, right, bottom) = MARGIN_PX;
        let (width, height) = (SIZE_PX.0 as f32 - left - right, SIZE_PX.1 as f32 - top - bottom);
        (
            left + width * chart.x.share(x) as f32,
            top + height * (1.0 - chart.y.share(y) as f32),
        )
    }

    /// Width of a line of text, px.
    fn width(&self, words: &str, height_px: f32) -> f32 {
        let font = self.font.as_scaled(PxScale::from(height_px));
        words.chars().map(|c| font.h_advance(font.glyph_id(c))).sum()
    }

    /// Writes a line of text from its left end, its middle at the given height.
    fn text_from(&mut self, words: &str, (left, middle): (f32, f32), height_px: f32) {
        let scale = PxScale::from(height_px);
        let (mut x, base) = (left, middle + 0.33 * height_px);
        for c in words.chars() {
            let id = self.font.glyph_id(c);
            let image = &mut self.image;
            if let Some(outline) = self
                .font
                .outline_glyph(id.with_scale_and_position(scale, point(x, base)))
            {
                let corner = outline.px_bounds().min;
                outline.draw(|column, row, share| {
                    let (px, py) = (corner.x as i64 + i64::from(column), corner.y as i64 + i64::from(row));
                    let inside = (0..i64::from(SIZE_PX.0)).contains(&px) && (0..i64::from(SIZE_PX.1)).contains(&py);
                    if inside {
                        let pixel = image.get_pixel_mut(px as u32, py as u32);
                        for (value, ink) in pixel.0.iter_mut().zip(INK.0) {
                            *value = (f32::from(*value) + share * (f32::from(ink) - f32::from(*value))) as u8;
                        }
                    }
                });
            }
            x += self.font.as_scaled(scale).h_advance(id);
        }
    }

    /// Writes a line of text about its middle.
    fn text(&mut self, words: &str, middle: (f32, f32), height_px: f32) {
        let left = middle.0 - 0.5 * self.width(words, height_px);
        self.text_from(words, (left, middle.1), height_px);
    }

    fn axes(&mut self, chart: &Chart) {
        let (x, y) = (&chart.x, &chart.y);
        let line = |page: &mut Self, from, to, colour| {
            draw_line_segment_mut(
                &mut page.image,
                Self::place(chart, from),
                Self::place(chart, to),
                colour,
            );
        };
        for &mark in &x.marks {
            line(self, (mark, y.low), (mark, y.high), GRID);
            let (px, py) = Self::place(chart, (mark, y.low));
            self.text(&mark.to_string(), (px, py + 14.0), 16.0);
        }
        for &mark in &y.marks {
            line(self, (x.low, mark), (x.high, mark), GRID);
            let (px, py) = Self::place(chart, (x.low, mark));
            self.text(&mark.to_string(), (px - 24.0, py), 16.0);
        }
        line(self, (x.low, y.low), (x.high, y.low), INK);
        line(self, (x.low, y.low), (x.low, y.high), INK);
        let middle = SIZE_PX.0 as f32 / 2.0;
        self.text(&chart.title, (middle, 16.0), 19.0);
        self.text(&x.label, (middle, SIZE_PX.1 as f32 - 18.0), 17.0);
        // Above the axis, for letters that lie on their side are read by nobody.
        self.text_from(&y.label, (8.0, 38.0), 17.0);
    }

    fn series(&mut self, chart: &Chart, series: &Series, colour: Rgb<u8>) {
        match series.mark {
            Mark::Dots => {
                for point in &series.points {
                    let (x, y) = Self::place(chart, *point);
                    draw_filled_circle_mut(&mut self.image, (x as i32, y as i32), 3, colour);
                }
            }
            Mark::Line => {
                for ends in series.points.windows(2) {
                    let (from, to) = (Self::place(chart, ends[0]), Self::place(chart, ends[1]));
                    // Twice, a pixel apart: one pixel is hard to tell by colour.
                    for down in [0.0, 1.0] {
                        let shift = |(x, y): (f32, f32)| (x, y + down);
                        draw_line_segment_mut(&mut self.image, shift(from), shift(to), colour);
                    }
                }
            }
        }
    }

    fn legend(&mut self, names: &[&str]) {
        let widest = names.iter().map(|name| self.width(name, 16.0)).fold(0.0, f32::max);
        let left = SIZE_PX.0 as i32 - widest as i32 - 50;
        let top = SIZE_PX.1 as i32 - 80 - 22 * names.len() as i32;
        for (number, name) in names.iter().enumerate() {
            let y = top + 22 * number as i32;
            let square = Rect::at(left, y).of_size(14, 14);
            draw_filled_rect_mut(&mut self.image, square, COLOURS[number % COLOURS.len()]);
            self.text_from(name, (left as f32 + 20.0, y as f32 + 7.0), 16.0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_drawn_where_the_axes_say() {
        let axis = |logarithmic| Axis {
            label: "a, K".into(),
            low: 0.1,
            high: 10.0,
            marks: vec![1.0],
            logarithmic,
        };
        let chart = Chart {
            title: "t".into(),
            x: axis(true),
            y: axis(false),
            series: vec![Series {
                name: "one".into(),
                mark: Mark::Line,
                points: vec![(0.1, 5.05), (10.0, 5.05)],
            }],
        };
        let image = chart.draw().unwrap();
        let (x, y) = Page::place(&chart, (1.0, 5.05));
        assert!((x - 475.0).abs() < 0.5, "the geometric middle: {x}");
        assert_eq!(image.get_pixel(x as u32, y as u32), &COLOURS[0]);
        assert_eq!(image.get_pixel(x as u32 + 20, y as u32 + 40), &Rgb([255, 255, 255]));
    }
}
