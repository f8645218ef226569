//! Deflated strips of 16-bit counts, which is how most surveys come: the `tiff` crate's undoing of the predictor takes
//! longer than the unpacking itself.
//!
//! Only what is in order is read here; all else is left to [`super::compressed`], and so is saying what is wrong with it.

use flate2::{Decompress, FlushDecompress, Status};

use super::layout::{Encoding, Layout};

/// Deflate by its two numbers: as registered, and as first used.
const DEFLATE: [u64; 2] = [8, 32_946];
/// Predictors: none, or each count less the one to its left.
const NONE: u64 = 1;
const FROM_LEFT: u64 = 2;

/// The counts row by row; None where the file is of another sort, or anything is amiss.
pub(super) fn counts16(layout: &Layout, bytes: &[u8]) -> Option<Vec<u16>> {
    let chunks = &layout.chunks;
    let fits = layout.encoding == Encoding::Unsigned { bits: 16 }
        && DEFLATE.contains(&layout.compression)
        && matches!(layout.predictor, NONE | FROM_LEFT)
        && chunks.columns == layout.size.columns;
    if !fits {
        return None;
    }
    let mut counts = vec![0_u16; layout.size.pixels()];
    let strips = counts.chunks_mut(chunks.rows.checked_mul(chunks.columns)?);
    let mut unpacked = Vec::new();
    for ((strip, offset), length) in strips.zip(&chunks.offsets).zip(&chunks.bytes) {
        let from = usize::try_from(*offset).ok()?;
        let to = from.checked_add(usize::try_from(*length).ok()?)?;
        unpacked.resize(2 * strip.len(), 0);
        unpack(bytes.get(from..to)?, &mut unpacked)?;
        let (samples, _) = unpacked.as_chunks::<2>();
        let rows = strip.chunks_mut(chunks.columns).zip(samples.chunks(chunks.columns));
        for (row, samples) in rows {
            let mut before = 0_u16;
            for (count, sample) in row.iter_mut().zip(samples) {
                *count = layout.header.u16_of(*sample).wrapping_add(before);
                before = if layout.predictor == FROM_LEFT { *count } else { 0 };
            }
        }
    }
    Some(counts)
}

/// Unpacks one whole zlib stream into exactly this room.
fn unpack(packed: &[u8], room: &mut [u8]) -> Option<()> {
    let mut stream = Decompress::new(true);
    let status = stream.decompress(packed, room, FlushDecompress::Finish).ok()?;
    (status == Status::StreamEnd && stream.total_out() == room.len() as u64).then_some(())
}
