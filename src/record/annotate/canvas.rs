//! The sheet that is drawn on: one byte a pixel, an index into a small fixed set of colours.
//!
//! The first sixteen are the greys from ink to paper, so that "lighter" and "darker" are comparisons of indices; the rest
//! are steps of the palette.

use crate::record::palette::Palette;

/// Near-black, of text and of the casing round lines.
pub(super) const INK: u8 = 0;
/// White paper.
pub(super) const PAPER: u8 = 15;
/// Index of the coldest step of the palette.
pub(super) const COLDEST: u8 = 16;
/// Steps of the palette.
pub(super) const STEPS: u8 = 224;

/// White and near-black of places without a useful reading: like paper and ink, but ground to the lines drawn over them.
pub(super) const GROUND_LIGHT: u8 = COLDEST + STEPS;
/// The dark one of the two.
pub(super) const GROUND_DARK: u8 = GROUND_LIGHT + 1;

/// A rectangle, far edges left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Area {
    pub(super) left: i32,
    pub(super) top: i32,
    pub(super) right: i32,
    pub(super) bottom: i32,
}

impl Area {
    /// A rectangle by its near corner and size.
    pub(super) const fn at(left: i32, top: i32, width: i32, height: i32) -> Self {
        Self {
            left,
            top,
            right: left + width,
            bottom: top + height,
        }
    }

    pub(super) const fn width(self) -> i32 {
        self.right - self.left
    }

    pub(super) const fn height(self) -> i32 {
        self.bottom - self.top
    }

    /// The part that lies within another.
    pub(super) fn within(self, other: Self) -> Self {
        Self {
            left: self.left.max(other.left),
            top: self.top.max(other.top),
            right: self.right.min(other.right),
            bottom: self.bottom.min(other.bottom),
        }
    }

    /// The rectangle grown on all sides (shrunk where negative).
    pub(super) const fn grown(self, by: i32) -> Self {
        Self {
            left: self.left - by,
            top: self.top - by,
            right: self.right + by,
            bottom: self.bottom + by,
        }
    }
}

/// The sheet.
pub(super) struct Canvas {
    width: usize,
    height: usize,
    indices: Vec<u8>,
}

impl Canvas {
    /// A blank sheet, with room to grow to `likely_height` without moving.
    pub(super) fn blank(width: usize, height: usize, likely_height: usize) -> Self {
        let mut indices = Vec::with_capacity(width * likely_height.max(height));
        indices.resize(width * height, PAPER);
        Self { width, height, indices }
    }

    pub(super) const fn width(&self) -> usize {
        self.width
    }

    pub(super) const fn height(&self) -> usize {
        self.height
    }

    pub(super) fn indices(&self) -> &[u8] {
        &self.indices
    }

    /// The whole sheet.
    #[cfg(test)]
    pub(super) fn area(&self) -> Area {
        Area::at(0, 0, self.width as i32, self.height as i32)
    }

    /// Makes the sheet at least this high, with blank paper.
    pub(super) fn reach(&mut self, height: i32) {
        let height = usize::try_from(height).unwrap_or(0);
        if height > self.height {
            self.indices.resize(self.width * height, PAPER);
            self.height = height;
        }
    }

    /// Pixels `left..right` of a row, clipped to the sheet.
    pub(super) fn span(&mut self, y: i32, left: i32, right: i32) -> &mut [u8] {
        let width = self.width as i32;
        let (left, right) = (left.clamp(0, width), right.clamp(0, width));
        if y < 0 || y >= self.height as i32 || left >= right {
            return &mut [];
        }
        let row = y as usize * self.width;
        self.indices
            .get_mut(row + left as usize..row + right as usize)
            .unwrap_or_default()
    }

    /// Repeats the first row of a band of `rows` rows over the rest of it, as far as `columns` reach.
    pub(super) fn repeat_row(&mut self, top: usize, rows: usize, columns: usize) {
        let from = top * self.width;
        for row in top + 1..(top + rows).min(self.height) {
            self.indices
                .copy_within(from..from + columns.min(self.width), row * self.width);
        }
    }

    /// Fills a rectangle with one colour.
    pub(super) fn fill(&mut self, area: Area, index: u8) {
        for y in area.top.max(0)..area.bottom.min(self.height as i32) {
            self.span(y, area.left, area.right).fill(index);
        }
    }

    /// Draws the border of a rectangle, inwards.
    pub(super) fn border(&mut self, area: Area, thickness: i32, index: u8) {
        let inner = area.grown(-thickness);
        self.fill(
            Area {
                bottom: inner.top,
                ..area
            },
            index,
        );
        self.fill(
            Area {
                top: inner.bottom,
                ..area
            },
            index,
        );
        self.fill(
            Area {
                right: inner.left,
                ..area
            },
            index,
        );
        self.fill(
            Area {
                left: inner.right,
                ..area
            },
            index,
        );
    }
}

/// The colours of all indices, as a PNG's palette: red, green, blue, red …
pub(super) fn colours(palette: Palette) -> Vec<u8> {
    let ink = [18.0, 20.0, 24.0];
    let greys = (0..=PAPER).flat_map(|step| {
        let share = f64::from(step) / f64::from(PAPER);
        ink.map(|v| (v + (255.0 - v) * share).round() as u8)
    });
    let ground = [255.0, 255.0, 255.0].into_iter().chain(ink).map(|v| v as u8);
    greys.chain(palette.steps(STEPS).flatten()).chain(ground).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn drawing_beyond_the_sheet_is_clipped() {
        let mut canvas = Canvas::blank(4, 3, 3);
        canvas.fill(Area::at(-5, -5, 100, 7), INK);
        canvas.border(Area::at(-1, -1, 50, 50), 1, 7);
        assert_eq!(canvas.indices(), [0, 0, 0, 0, 0, 0, 0, 0, 15, 15, 15, 15]);
        assert!(canvas.span(3, 0, 4).is_empty());
        assert!(canvas.span(0, 3, 3).is_empty());
    }

    #[test]
    fn growing_keeps_what_is_drawn() {
        let mut canvas = Canvas::blank(2, 1, 1);
        canvas.fill(canvas.area(), INK);
        canvas.reach(2);
        canvas.reach(1);
        assert_eq!((canvas.height(), canvas.indices()), (2, [0, 0, 15, 15].as_slice()));
    }

    #[test]
    fn colours_run_from_ink_to_paper_and_then_along_the_palette() {
        let all = colours(Palette::Cividis);
        assert_eq!(all.len(), 3 * (usize::from(GROUND_DARK) + 1));
        assert_eq!(
            (&all[..3], &all[45..48]),
            ([18, 20, 24].as_slice(), [255, 255, 255].as_slice())
        );
        assert_eq!(all[48..51], Palette::Cividis.colour(0.0));
        assert_eq!(all[all.len() - 9..][..3], Palette::Cividis.colour(1.0));
        assert_eq!(all[all.len() - 6..], [255, 255, 255, 18, 20, 24]);
    }
}
