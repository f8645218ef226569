//! Compressed samples, by the `tiff` crate, from a directory it cannot misread.
//!
//! That decoder inverts WhiteIsZero and refuses a file without a photometric tag. Both are set right beforehand by
//! appending a corrected directory; the data stays where it is.

use std::borrow::Cow;
use std::io::{Cursor, ErrorKind};

use ::tiff::TiffError;
use ::tiff::decoder::{Decoder, DecodingResult, Limits as DecoderLimits};

use super::super::jpeg;
use super::super::problem::Problem;
use super::directory::Directory;
use super::layout::{Layout, Photometric, tag};

/// No compression the decoder knows packs tighter: deflate reaches 1032 : 1, LZW with 12-bit codes about 1300 : 1.
const TIGHTEST_PACKING: u64 = 3000;

/// JPEG compression as TIFF technical note 2 defines it.
const JPEG: u64 = 7;

/// Decodes the first page.
pub(super) fn decode(layout: &Layout, directory: &Directory, bytes: &[u8]) -> Result<DecodingResult, Problem> {
    check_chunks(layout, bytes)?;
    let pixels = layout.size.pixels() as u64;
    let decoded_bytes = pixels.saturating_mul(layout.encoding.pixel_bits()).div_ceil(8);
    let readable = readable(layout, directory, bytes);
    let mut limits = DecoderLimits::default();
    // One pixel's worth of slack: the sizes were checked, the limit only has to hold.
    limits.decoding_buffer_size = usize::try_from(decoded_bytes).unwrap_or(0).saturating_add(64);
    limits.intermediate_buffer_size = readable.len();
    limits.ifd_value_size = readable.len().saturating_mul(8);
    let mut decoder = Decoder::new(Cursor::new(readable.as_ref()))
        .map_err(problem_of)?
        .with_limits(limits);
    decoder.read_image().map_err(problem_of)
}

fn check_chunks(layout: &Layout, bytes: &[u8]) -> Result<(), Problem> {
    let mut packed_bytes = 0_u64;
    for (offset, count) in layout.chunks.offsets.iter().zip(&layout.chunks.bytes) {
        let end = offset.saturating_add(*count);
        packed_bytes = packed_bytes.saturating_add(*count);
        let chunk = usize::try_from(*offset)
            .ok()
            .zip(usize::try_from(end).ok())
            .and_then(|(start, end)| bytes.get(start..end))
            .ok_or(Problem::Truncated {
                what: "the image data".to_owned(),
                needed_bytes: end,
                file_bytes: bytes.len() as u64,
            })?;
        if layout.compression == JPEG {
            check_jpeg(layout, chunk)?;
        }
    }
    let pixels = layout.size.pixels() as u64;
    let due = pixels.saturating_mul(layout.encoding.pixel_bits()) / 8;
    if packed_bytes.saturating_mul(TIGHTEST_PACKING) < due {
        return Err(Problem::damaged_tiff(format!(
            "{packed_bytes} bytes of compressed data cannot hold {due}"
        )));
    }
    Ok(())
}

/// The JPEG decoder fills in what is missing and believes the stream's own size: neither will do.
fn check_jpeg(layout: &Layout, chunk: &[u8]) -> Result<(), Problem> {
    let outline = jpeg::outline(chunk)?;
    let columns = layout.chunks.columns as u64;
    let rows = layout.chunks.rows as u64;
    if u64::from(outline.columns) > columns || u64::from(outline.rows) > rows {
        return Err(Problem::damaged_tiff(format!(
            "a JPEG strip or tile of {} × {} pixels where {columns} × {rows} are due",
            outline.columns, outline.rows
        )));
    }
    Ok(())
}

/// The bytes themselves where the decoder takes them as they are, else a copy with a corrected directory at its end.
fn readable<'a>(layout: &Layout, directory: &Directory, bytes: &'a [u8]) -> Cow<'a, [u8]> {
    match layout.photometric {
        Photometric::BlackIsZero | Photometric::Rgb => Cow::Borrowed(bytes),
        Photometric::Absent | Photometric::WhiteIsZero | Photometric::Palette => {
            Cow::Owned(with_black_is_zero(layout, directory, bytes))
        }
    }
}

fn with_black_is_zero(layout: &Layout, directory: &Directory, bytes: &[u8]) -> Vec<u8> {
    let header = layout.header;
    let (count_width, entry_width, offset_width) = header.widths();
    let number = |value: u64, width: usize| -> Vec<u8> {
        let little = value.to_le_bytes();
        let low = little.iter().take(width).copied();
        if header.little_endian {
            low.collect()
        } else {
            low.rev().collect()
        }
    };
    let mut black_is_zero = number(u64::from(tag::PHOTOMETRIC), 2);
    black_is_zero.extend(number(3, 2));
    black_is_zero.extend(number(1, offset_width));
    black_is_zero.extend(number(1, 2));
    black_is_zero.resize(entry_width, 0);
    let mut entries: Vec<(u16, &[u8])> = directory
        .raw_entries()
        .filter(|(tag, _)| *tag != tag::PHOTOMETRIC)
        .collect();
    entries.push((tag::PHOTOMETRIC, &black_is_zero));
    entries.sort_by_key(|(tag, _)| *tag);

    let mut patched = Vec::with_capacity(bytes.len() + 64 + entries.len() * entry_width);
    patched.extend_from_slice(bytes);
    // Directories begin on a word boundary.
    patched.resize(bytes.len().next_multiple_of(8), 0);
    let new_offset = number(patched.len() as u64, offset_width);
    patched.extend(number(entries.len() as u64, count_width));
    for (_, entry) in &entries {
        patched.extend_from_slice(entry);
    }
    patched.extend(number(0, offset_width));
    let pointer_at = if header.wide { 8 } else { 4 };
    for (target, source) in patched.iter_mut().skip(pointer_at).zip(new_offset) {
        *target = source;
    }
    patched
}

fn problem_of(error: TiffError) -> Problem {
    match error {
        TiffError::IoError(error) if error.kind() == ErrorKind::UnexpectedEof => {
            Problem::damaged_tiff("the compressed data ends too early")
        }
        TiffError::UnsupportedError(what) => Problem::unsupported_tiff(what.to_string()),
        other => Problem::damaged_tiff(other.to_string()),
    }
}
