//! A frame's temperatures in few bytes: blocks of readings, one or two bytes a block.

use ndarray::Array2;
use serde::{Deserialize, Serialize};

use super::{block_side, blocks};
use crate::record::base64;

/// Blocks that a page holds of a frame.
const MOST_BLOCKS: usize = 20_000;
/// Coarsest step in K that one byte may have.
const BYTE_STEP_K: f64 = 0.1;
/// Step in K of two bytes.
const PAIR_STEP_K: f64 = 0.01;

/// Apparent temperatures of a frame: `t = low + step · (n − 1)`, n = 0 where there is no reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Values {
    /// Blocks along and down.
    pub width: usize,
    /// Blocks down.
    pub height: usize,
    /// Image pixels along and down that a block is the mean of.
    pub block_px: usize,
    /// Temperature of n = 1 in °C.
    pub low_c: f64,
    /// Step in K.
    pub step_k: f64,
    /// Bytes a number, 1 or 2 (little-endian).
    pub bytes: usize,
    /// The numbers row by row, base64.
    pub data: String,
}

impl Values {
    /// The temperatures of a map in °C.
    pub(super) fn of(map: &Array2<f32>) -> Self {
        let block_px = block_side(map.len(), MOST_BLOCKS);
        let small = blocks(map, block_px);
        let finite = || small.iter().filter(|value| value.is_finite()).map(|&v| f64::from(v));
        let low = finite().fold(f64::INFINITY, f64::min);
        let high = finite().fold(f64::NEG_INFINITY, f64::max);
        let (low, high) = if low <= high { (low, high) } else { (0.0, 0.0) };
        // Rounded to a hundredth, so that the page says the step as it is.
        let low_c = (low * 100.0).floor() / 100.0;
        let byte_step_k = ((high - low_c) / 254.0 * 1000.0).ceil().max(1.0) / 1000.0;
        let (step_k, bytes, most) = if byte_step_k <= BYTE_STEP_K {
            (byte_step_k, 1, 254.0)
        } else {
            (PAIR_STEP_K, 2, 65_534.0)
        };
        let mut data = Vec::with_capacity(small.len() * bytes);
        for &value in &small {
            let number = if value.is_finite() {
                (((f64::from(value) - low_c) / step_k).round().clamp(0.0, most)) as u16 + 1
            } else {
                0
            };
            data.extend(number.to_le_bytes().into_iter().take(bytes));
        }
        let (height, width) = small.dim();
        Self {
            width,
            height,
            block_px,
            low_c,
            step_k,
            bytes,
            data: base64::encode(&data),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_narrow_map_takes_a_byte_and_a_wide_one_two() {
        let narrow = Values::of(&Array2::from_shape_fn((2, 2), |(y, x)| (y * 2 + x) as f32));
        assert_eq!((narrow.bytes, narrow.width, narrow.height), (1, 2, 2));
        // 3 K over 254 steps of at least that.
        assert!((narrow.step_k - 0.012).abs() < 1e-9);
        let wide = Values::of(&Array2::from_shape_fn((1, 2), |(_, x)| 100.0 * x as f32));
        assert_eq!((wide.bytes, wide.step_k), (2, 0.01));
        // 0 → 1 and 100 / 0.01 → 10001, low byte first.
        assert_eq!(wide.data, base64::encode(&[1, 0, 0x11, 0x27]));
    }

    #[test]
    fn no_reading_is_nought() {
        let none = Values::of(&Array2::from_elem((1, 1), f32::NAN));
        assert_eq!(none.data, base64::encode(&[0]));
    }
}
