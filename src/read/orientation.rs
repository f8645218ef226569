//! Which way up an image was stored, and turning it upright.

use std::fmt;

use ndarray::{Array2, Axis};

/// Where the first stored row and column lie in the upright image (tag 274 of TIFF 6.0 and Exif).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Orientation {
    /// 1: as stored.
    #[default]
    Upright,
    /// 2: left and right exchanged.
    Mirrored,
    /// 3: upside down.
    HalfTurn,
    /// 4: top and bottom exchanged.
    Flipped,
    /// 5: rows and columns exchanged.
    Transposed,
    /// 6: to be turned a quarter clockwise.
    QuarterClockwise,
    /// 7: rows and columns exchanged about the other diagonal.
    Transversed,
    /// 8: to be turned a quarter anticlockwise.
    QuarterAnticlockwise,
}

impl Orientation {
    /// The orientation of a tag's code, 1 to 8.
    #[must_use]
    pub fn from_code(code: u64) -> Option<Self> {
        Some(match code {
            1 => Self::Upright,
            2 => Self::Mirrored,
            3 => Self::HalfTurn,
            4 => Self::Flipped,
            5 => Self::Transposed,
            6 => Self::QuarterClockwise,
            7 => Self::Transversed,
            8 => Self::QuarterAnticlockwise,
            _ => return None,
        })
    }

    /// The same pixels, upright, in row-major order.
    pub(crate) fn turn_upright<T: Clone>(self, stored: Array2<T>) -> Array2<T> {
        let (transpose, mirror, flip) = match self {
            Self::Upright => return stored,
            Self::Mirrored => (false, true, false),
            Self::HalfTurn => (false, true, true),
            Self::Flipped => (false, false, true),
            Self::Transposed => (true, false, false),
            Self::QuarterClockwise => (true, true, false),
            Self::Transversed => (true, true, true),
            Self::QuarterAnticlockwise => (true, false, true),
        };
        let mut turned = stored;
        if transpose {
            turned.swap_axes(0, 1);
        }
        if mirror {
            turned.invert_axis(Axis(1));
        }
        if flip {
            turned.invert_axis(Axis(0));
        }
        turned.as_standard_layout().into_owned()
    }
}

impl fmt::Display for Orientation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Upright => "stored upright",
            Self::Mirrored => "stored mirrored",
            Self::HalfTurn => "stored upside down",
            Self::Flipped => "stored upside down and mirrored",
            Self::Transposed => "stored with rows and columns exchanged",
            Self::QuarterClockwise => "turned a quarter clockwise",
            Self::Transversed => "stored with rows and columns exchanged about the other diagonal",
            Self::QuarterAnticlockwise => "turned a quarter anticlockwise",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;

    #[test]
    fn each_code_turns_the_same_letter_upright() {
        let stored = array![[1, 2, 3], [4, 5, 6]];
        let expected = [
            array![[1, 2, 3], [4, 5, 6]],
            array![[3, 2, 1], [6, 5, 4]],
            array![[6, 5, 4], [3, 2, 1]],
            array![[4, 5, 6], [1, 2, 3]],
            array![[1, 4], [2, 5], [3, 6]],
            array![[4, 1], [5, 2], [6, 3]],
            array![[6, 3], [5, 2], [4, 1]],
            array![[3, 6], [2, 5], [1, 4]],
        ];
        for (code, upright) in (1..).zip(expected) {
            let orientation = Orientation::from_code(code).unwrap();
            let turned = orientation.turn_upright(stored.clone());
            assert_eq!(turned, upright, "code {code}");
            assert!(turned.is_standard_layout());
        }
        assert_eq!(Orientation::from_code(0), None);
        assert_eq!(Orientation::from_code(9), None);
    }
}
