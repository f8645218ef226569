//! Uncompressed samples, taken straight from the file's bytes.
//!
//! This is the common case and the one that must be quick: nothing is copied but the samples themselves, and it
//! needs no photometric tag, which says nothing about a count.

use super::super::problem::Problem;
use super::layout::Layout;

/// One row's stretch within one chunk: where its bytes lie and where its pixels go.
struct Stretch {
    pixels: std::ops::Range<usize>,
    bytes: std::ops::Range<usize>,
}

/// Pixels of a whole number of bytes each, row-major.
pub(super) fn whole<T: Copy + Default, const N: usize>(
    layout: &Layout,
    bytes: &[u8],
    convert: impl Fn([u8; N]) -> T,
) -> Result<Vec<T>, Problem> {
    gather(layout, bytes, |source, target| {
        let (samples, _) = source.as_chunks::<N>();
        for (pixel, sample) in target.iter_mut().zip(samples) {
            *pixel = convert(*sample);
        }
    })
}

/// Pixels of `bits` (1 to 16) each, packed from the most significant bit down; rows start at a byte.
pub(super) fn packed(layout: &Layout, bytes: &[u8], bits: u32) -> Result<Vec<u16>, Problem> {
    gather(layout, bytes, |source, target| unpack(source, bits, target))
}

/// Fills `target` with samples of `bits` (1 to 16) each; TIFF packs them high bit first in either byte order.
pub(crate) fn unpack<T: TryFrom<u32>>(source: &[u8], bits: u32, target: &mut [T]) {
    let mut held = 0_u32;
    let mut held_bits = 0_u32;
    let mut source = source.iter();
    for pixel in target {
        while held_bits < bits {
            held = (held << 8) | u32::from(source.next().copied().unwrap_or(0));
            held_bits += 8;
        }
        held_bits -= bits;
        let sample = (held >> held_bits) & ((1 << bits) - 1);
        if let Ok(sample) = T::try_from(sample) {
            *pixel = sample;
        }
        held &= (1 << held_bits) - 1;
    }
}

/// Checks that every chunk lies within the file, only then allocates, and fills row by row.
fn gather<T: Copy + Default>(layout: &Layout, bytes: &[u8], fill: impl Fn(&[u8], &mut [T])) -> Result<Vec<T>, Problem> {
    check_chunks_lie_within(layout, bytes)?;
    let mut pixels = vec![T::default(); layout.size.pixels()];
    for stretch in stretches(layout) {
        let source = bytes.get(stretch.bytes.clone());
        let target = pixels.get_mut(stretch.pixels.clone());
        let (Some(source), Some(target)) = (source, target) else {
            return Err(cut_short(stretch.bytes.end as u64, bytes));
        };
        fill(source, target);
    }
    Ok(pixels)
}

/// Each row of each chunk, clipped to the image: chunks at the right and bottom edge may reach beyond it.
fn stretches(layout: &Layout) -> impl Iterator<Item = Stretch> + '_ {
    let chunks = &layout.chunks;
    let size = layout.size;
    let row_bytes = layout.chunk_row_bytes();
    chunks.offsets.iter().enumerate().flat_map(move |(index, offset)| {
        let offset = usize::try_from(*offset).unwrap_or(usize::MAX);
        let column = (index % chunks.across) * chunks.columns;
        let columns = chunks.columns.min(size.columns.saturating_sub(column));
        let top = (index / chunks.across) * chunks.rows;
        let rows = chunks.rows.min(size.rows.saturating_sub(top));
        (0..rows).map(move |row| {
            let pixel = (top + row) * size.columns + column;
            let byte = offset.saturating_add(row.saturating_mul(row_bytes));
            Stretch {
                pixels: pixel..pixel + columns,
                bytes: byte..byte.saturating_add(row_bytes),
            }
        })
    })
}

fn check_chunks_lie_within(layout: &Layout, bytes: &[u8]) -> Result<(), Problem> {
    let chunks = &layout.chunks;
    let strips = chunks.columns == layout.size.columns;
    for (index, offset) in chunks.offsets.iter().enumerate() {
        let top = (index / chunks.across) * chunks.rows;
        // The last strip is as short as the image; a tile is always whole.
        let rows = if strips {
            chunks.rows.min(layout.size.rows.saturating_sub(top))
        } else {
            chunks.rows
        };
        let due = (rows as u64).saturating_mul(layout.chunk_row_bytes() as u64);
        let stated = chunks.bytes.get(index).copied().unwrap_or(due);
        if stated < due {
            return Err(Problem::damaged_tiff(format!(
                "strip or tile {} holds {stated} bytes where {due} are due",
                index + 1
            )));
        }
        let end = offset.saturating_add(due);
        if end > bytes.len() as u64 {
            return Err(cut_short(end, bytes));
        }
    }
    Ok(())
}

fn cut_short(needed_bytes: u64, bytes: &[u8]) -> Problem {
    Problem::Truncated {
        what: "the image data".to_owned(),
        needed_bytes,
        file_bytes: bytes.len() as u64,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn twelve_bits_unpack_high_bit_first() {
        let mut samples = [0_u16; 3];
        unpack(&[0xAB, 0xCD, 0xEF, 0x12, 0x30], 12, &mut samples);
        assert_eq!(samples, [0xABC, 0xDEF, 0x123]);
    }

    #[test]
    fn every_width_survives_packing() {
        for bits in 1..=16_u32 {
            let samples: Vec<u16> = (0..40_u32)
                .map(|i| ((i * 40_503 + 7) & ((1 << bits) - 1)) as u16)
                .collect();
            let mut packed = vec![0_u8; (40 * bits as usize).div_ceil(8)];
            for (i, sample) in samples.iter().enumerate() {
                for bit in 0..bits as usize {
                    let at = i * bits as usize + bit;
                    let value = (sample >> (bits as usize - 1 - bit)) & 1;
                    packed[at / 8] |= (value as u8) << (7 - at % 8);
                }
            }
            let mut unpacked = vec![0_u16; 40];
            unpack(&packed, bits, &mut unpacked);
            assert_eq!(unpacked, samples, "{bits} bits");
        }
    }
}
