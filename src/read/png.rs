//! PNG: grey counts or a colour picture.

use std::io::Cursor;

use ::png::{BitDepth, ColorType, Decoder, DecodingError, Limits as DecoderLimits, Transformations};
use ndarray::Array2;

use super::exif::Exif;
use super::frame::{Found, RawFrame, Stored, StoredKind, shape};
use super::limits::{Limits, Size};
use super::problem::Problem;
use super::tiff::unpack;
use super::warning::Warning;

/// The decoded rows and what they hold.
struct Rows {
    size: Size,
    colour: ColorType,
    depth: BitDepth,
    row_bytes: usize,
    bytes: Vec<u8>,
    /// The grey level that means transparent, where the file names one.
    transparent_grey: Option<u16>,
}

/// Reads a PNG, interlaced or not.
///
/// # Errors
/// [`Problem`] where the file is damaged, cut short, beyond the limits or fails a checksum.
pub fn read_png(bytes: &[u8], limits: &Limits) -> Result<RawFrame, Problem> {
    let size = declared_size(bytes, limits)?;
    let (rows, mut about) = decode(bytes, size)?;
    let mut found = match rows.colour {
        ColorType::Grayscale | ColorType::GrayscaleAlpha => grey(&rows)?,
        ColorType::Rgb | ColorType::Rgba | ColorType::Indexed => colours(&rows)?,
    };
    found.warnings.append(&mut about.warnings);
    found.orientation = about.exif.orientation;
    found.captured_at = about.exif.captured_at;
    Ok(found.finish())
}

/// What the chunks beside the pixels say.
struct About {
    exif: Exif,
    warnings: Vec<Warning>,
}

/// Width and height stand at fixed places of the first chunk: they are checked before the decoder sees them.
fn declared_size(bytes: &[u8], limits: &Limits) -> Result<Size, Problem> {
    let word = |at: usize| {
        bytes
            .get(at..at + 4)
            .and_then(|four| four.try_into().ok())
            .map(u32::from_be_bytes)
            .ok_or(Problem::Truncated {
                what: "the PNG header".to_owned(),
                needed_bytes: 33,
                file_bytes: bytes.len() as u64,
            })
    };
    limits.check_size(u64::from(word(16)?), u64::from(word(20)?))
}

fn decode(bytes: &[u8], size: Size) -> Result<(Rows, About), Problem> {
    // 8 bytes a pixel is the most a PNG holds; a fixed allowance covers text, profiles and other chunks.
    let most = size.pixels().saturating_mul(8).saturating_add(16 << 20);
    let mut decoder = Decoder::new_with_limits(Cursor::new(bytes), DecoderLimits { bytes: most });
    decoder.ignore_checksums(false);
    let header = decoder.read_header_info().map_err(problem_of)?;
    // Grey levels stay as stored; only colours are brought to 8 bits.
    let grey = matches!(header.color_type, ColorType::Grayscale | ColorType::GrayscaleAlpha);
    let narrowed = !grey && header.bit_depth == BitDepth::Sixteen;
    decoder.set_transformations(if grey {
        Transformations::IDENTITY
    } else {
        Transformations::EXPAND | Transformations::STRIP_16
    });
    let mut reader = decoder.read_info().map_err(problem_of)?;
    let due = reader
        .output_buffer_size()
        .filter(|due| *due <= most)
        .ok_or_else(|| damaged("more pixel data than its size allows"))?;
    let mut decoded = vec![0_u8; due];
    let frame = reader.next_frame(&mut decoded).map_err(problem_of)?;
    // The rest is read too: a file that ends before its end chunk was not copied whole.
    reader.finish().map_err(problem_of)?;
    let info = reader.info();
    let mut warnings = Vec::new();
    if let Some(animation) = info.animation_control
        && animation.num_frames > 1
    {
        let pages = usize::try_from(animation.num_frames).unwrap_or(usize::MAX);
        warnings.push(Warning::FirstOfPages { pages });
    }
    if narrowed {
        warnings.push(Warning::ColoursNarrowed);
    }
    let transparent_grey = match info.trns.as_deref() {
        Some([level]) if frame.color_type == ColorType::Grayscale => Some(u16::from(*level)),
        Some([high, low]) if frame.color_type == ColorType::Grayscale => Some(u16::from_be_bytes([*high, *low])),
        _ => None,
    };
    let exif = info.exif_metadata.as_deref().map(Exif::of).unwrap_or_default();
    let rows = Rows {
        size,
        colour: frame.color_type,
        depth: frame.bit_depth,
        row_bytes: frame.line_size,
        bytes: decoded,
        transparent_grey,
    };
    Ok((rows, About { exif, warnings }))
}

fn grey(rows: &Rows) -> Result<Found, Problem> {
    let with_alpha = rows.colour == ColorType::GrayscaleAlpha;
    if rows.depth == BitDepth::Sixteen {
        let samples: Vec<u16> = rows
            .bytes
            .as_chunks::<2>()
            .0
            .iter()
            .map(|two| u16::from_be_bytes(*two))
            .collect();
        let (counts, transparent) = part(samples, with_alpha, rows.transparent_grey);
        return found(rows.size, counts, transparent, Stored::U16, StoredKind::Counts16);
    }
    let samples: Vec<u8> = match rows.depth {
        BitDepth::Eight => rows.bytes.clone(),
        packed => {
            let bits = u32::from(packed as u8);
            let mut samples = vec![0_u8; rows.size.pixels()];
            let targets = samples.chunks_mut(rows.size.columns);
            for (source, target) in rows.bytes.chunks(rows.row_bytes.max(1)).zip(targets) {
                unpack(source, bits, target);
            }
            samples
        }
    };
    let transparent_grey = rows.transparent_grey.and_then(|level| u8::try_from(level).ok());
    let (counts, transparent) = part(samples, with_alpha, transparent_grey);
    found(rows.size, counts, transparent, Stored::U8, StoredKind::Counts8)
}

/// Grey levels, and where they are wholly transparent: by a second sample of 0, or by a named level.
fn part<T: Copy + Default + PartialEq>(
    samples: Vec<T>,
    with_alpha: bool,
    transparent_level: Option<T>,
) -> (Vec<T>, Option<Vec<bool>>) {
    if with_alpha {
        let (pairs, _) = samples.as_chunks::<2>();
        let counts = pairs.iter().map(|[grey, _]| *grey).collect();
        let transparent = pairs.iter().map(|[_, alpha]| *alpha == T::default());
        return (counts, Some(transparent.collect()));
    }
    let transparent = transparent_level.map(|level| samples.iter().map(|sample| *sample == level).collect());
    (samples, transparent)
}

fn found<T>(
    size: Size,
    pixels: Vec<T>,
    transparent: Option<Vec<bool>>,
    stored: impl Fn(Array2<T>) -> Stored,
    kind: StoredKind,
) -> Result<Found, Problem> {
    let mut found = Found::new(stored(shape(size, pixels)?), kind);
    found.transparent = transparent.map(|mask| shape(size, mask)).transpose()?;
    Ok(found)
}

fn colours(rows: &Rows) -> Result<Found, Problem> {
    let (pixels, transparent) = if rows.colour == ColorType::Rgba {
        let (fours, _) = rows.bytes.as_chunks::<4>();
        let pixels = fours.iter().map(|[r, g, b, _]| [*r, *g, *b]).collect();
        let transparent = fours.iter().map(|[.., alpha]| *alpha == 0).collect();
        (pixels, Some(transparent))
    } else {
        (rows.bytes.as_chunks::<3>().0.to_vec(), None)
    };
    found(rows.size, pixels, transparent, Stored::Rgb, StoredKind::Picture)
}

fn damaged(detail: &str) -> Problem {
    Problem::Damaged {
        format: "PNG",
        detail: detail.to_owned(),
    }
}

fn problem_of(error: DecodingError) -> Problem {
    match error {
        DecodingError::IoError(_) => damaged("it ends before its end chunk"),
        DecodingError::LimitsExceeded => damaged("chunks larger than the image warrants"),
        other => damaged(&other.to_string()),
    }
}
