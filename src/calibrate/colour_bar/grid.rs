//! A picture seen so that the bar looked for stands upright.

use std::borrow::Cow;

use crate::read::Picture;

/// Which way a bar lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lie {
    /// Its long side runs up and down: the top is high.
    Upright,
    /// Its long side runs across: the right end is high.
    Level,
}

/// Pixels row by row; rows and columns exchanged for a level bar.
pub(super) struct Grid<'a> {
    pixels: Cow<'a, [[u8; 3]]>,
    pub columns: usize,
    pub rows: usize,
    pub lie: Lie,
}

impl<'a> Grid<'a> {
    pub(super) fn new(picture: &'a Picture, lie: Lie) -> Self {
        let (rows, columns) = picture.dim();
        match lie {
            Lie::Upright => Self {
                pixels: picture
                    .as_slice()
                    .map_or_else(|| picture.iter().copied().collect(), Cow::Borrowed),
                columns,
                rows,
                lie,
            },
            Lie::Level => Self {
                pixels: picture.t().iter().copied().collect(),
                columns: rows,
                rows: columns,
                lie,
            },
        }
    }

    pub(super) fn row(&self, y: usize) -> &[[u8; 3]] {
        self.pixels.get(y * self.columns..(y + 1) * self.columns).unwrap_or(&[])
    }

    pub(super) fn at(&self, x: usize, y: usize) -> [u8; 3] {
        self.row(y).get(x).copied().unwrap_or_default()
    }

    /// A box x y w h of the grid in the picture's own coordinates, and the reverse.
    pub(super) fn swapped(&self, [x, y, w, h]: [usize; 4]) -> [usize; 4] {
        match self.lie {
            Lie::Upright => [x, y, w, h],
            Lie::Level => [y, x, h, w],
        }
    }
}

/// Largest difference of two colours in any channel, in 8-bit levels.
pub(super) fn apart(a: [u8; 3], b: [u8; 3]) -> u8 {
    a[0].abs_diff(b[0]).max(a[1].abs_diff(b[1])).max(a[2].abs_diff(b[2]))
}

/// Median of each channel; black of nothing.
pub(super) fn median(colours: &[[u8; 3]]) -> [u8; 3] {
    [0, 1, 2].map(|channel| {
        let mut levels: [u8; MOST] = [0; MOST];
        let count = colours.len().min(MOST);
        for (level, colour) in levels.iter_mut().zip(colours) {
            *level = colour[channel];
        }
        let used = &mut levels[..count];
        used.sort_unstable();
        used.get(count / 2).copied().unwrap_or(0)
    })
}

/// Most pixels of a row that a median is taken of.
pub(super) const MOST: usize = 15;

/// Most levels between a pixel of a bar and its row's median.
pub(super) const EVEN_LEVELS: u8 = 20;
/// Levels by which a bar stands out from what lies beside it.
pub(super) const BESIDE_LEVELS: u8 = 9;
