//! TIFF and BigTIFF: counts and fractions as they are stored.

mod compressed;
mod deflated;
pub mod directory;
mod layout;
mod plain;

use std::collections::HashSet;

use ::tiff::decoder::DecodingResult;
use ndarray::Array2;

use self::directory::{Directory, Header};
use self::layout::{Encoding, Layout, Photometric, tag};
use super::exif;
use super::frame::{Found, Picture, RawFrame, Stored, StoredKind, shape};
use super::limits::{Limits, Size};
use super::problem::Problem;
use super::warning::Warning;

pub(super) use self::plain::unpack;

/// Reads the first page of a TIFF.
///
/// # Errors
/// [`Problem`] where the file is damaged, cut short, beyond the limits or of a sort that is not read.
pub fn read_tiff(bytes: &[u8], limits: &Limits) -> Result<RawFrame, Problem> {
    let header = Header::of(bytes)?;
    let directory = Directory::at(bytes, header, header.first_directory)?;
    let layout = Layout::of(&directory, header, limits)?;
    let (stored, kind) = if layout.compression == 1 {
        plain_samples(&layout, &directory, bytes)?
    } else {
        compressed_samples(&layout, &directory, bytes)?
    };
    let mut found = Found::new(stored, kind);
    let pages = count_pages(bytes, header, directory.next);
    if pages > 1 {
        found.warnings.push(Warning::FirstOfPages { pages });
    }
    if layout.photometric == Photometric::WhiteIsZero {
        found.warnings.push(Warning::WhiteIsZeroKept);
    }
    if matches!(layout.encoding, Encoding::Rgb16 { .. }) {
        found.warnings.push(Warning::ColoursNarrowed);
    }
    found.no_data = directory.text(tag::NO_DATA).and_then(|text| text.parse().ok());
    found.orientation = directory.unsigned(tag::ORIENTATION).ok().flatten();
    found.captured_at = exif::captured_at(&directory);
    Ok(found.finish())
}

/// Pages, counting the first. The chain may loop, or lead outside the file: it is followed only while it makes sense.
fn count_pages(bytes: &[u8], header: Header, mut next: u64) -> usize {
    let mut seen = HashSet::from([header.first_directory]);
    while next != 0 && seen.insert(next) {
        match Directory::at(bytes, header, next) {
            Ok(directory) => next = directory.next,
            Err(_) => {
                seen.remove(&next);
                break;
            }
        }
    }
    seen.len()
}

fn plain_samples(layout: &Layout, directory: &Directory, bytes: &[u8]) -> Result<(Stored, StoredKind), Problem> {
    let size = layout.size;
    match layout.encoding {
        Encoding::Palette => {
            let indices = plain::whole(layout, bytes, |[b]| b)?;
            palette_picture(size, directory, &indices)
        }
        Encoding::Rgb8 { .. } | Encoding::Rgb16 { .. } => picture(size, plain_colours(layout, bytes)?),
        Encoding::F16 | Encoding::F32 | Encoding::F64 => plain_floats(layout, bytes),
        _ => plain_counts(layout, bytes),
    }
}

fn plain_counts(layout: &Layout, bytes: &[u8]) -> Result<(Stored, StoredKind), Problem> {
    let size = layout.size;
    let order = layout.header;
    match layout.encoding {
        Encoding::Unsigned { bits: 8 } => counts8(size, plain::whole(layout, bytes, |[b]| b)?),
        Encoding::Unsigned { bits: 16 } => counts16(size, plain::whole(layout, bytes, |b| order.u16_of(b))?),
        Encoding::Unsigned { bits } => counts16(size, plain::packed(layout, bytes, bits)?),
        Encoding::I8 => {
            let widen = |[b]: [u8; 1]| i16::from(b.cast_signed());
            signed16(size, plain::whole(layout, bytes, widen)?)
        }
        Encoding::I16 => {
            let signed = |b| order.u16_of(b).cast_signed();
            signed16(size, plain::whole(layout, bytes, signed)?)
        }
        Encoding::U32 => {
            let widen = |b| i64::from(order.u32_of(b));
            counts32(size, plain::whole(layout, bytes, widen)?)
        }
        Encoding::I32 => {
            let widen = |b| i64::from(order.u32_of(b).cast_signed());
            counts32(size, plain::whole(layout, bytes, widen)?)
        }
        _ => Err(Problem::damaged_tiff("samples that are no counts")),
    }
}

fn plain_floats(layout: &Layout, bytes: &[u8]) -> Result<(Stored, StoredKind), Problem> {
    let order = layout.header;
    let (kind, values) = match layout.encoding {
        Encoding::F16 => (
            StoredKind::Float16,
            plain::whole(layout, bytes, |b| f32_of_f16(order.u16_of(b)))?,
        ),
        Encoding::F64 => (
            StoredKind::Float64,
            plain::whole(layout, bytes, |b| f64::from_bits(order.u64_of(b)) as f32)?,
        ),
        _ => (
            StoredKind::Float32,
            plain::whole(layout, bytes, |b| f32::from_bits(order.u32_of(b)))?,
        ),
    };
    floats(layout.size, kind, values)
}

fn plain_colours(layout: &Layout, bytes: &[u8]) -> Result<Vec<[u8; 3]>, Problem> {
    let order = layout.header;
    let narrow = |colours: [[u8; 2]; 3]| colours.map(|two| high_byte(order.u16_of(two)));
    match layout.encoding {
        Encoding::Rgb8 { samples: 4 } => plain::whole(layout, bytes, |[r, g, b, _]| [r, g, b]),
        Encoding::Rgb16 { samples: 4 } => plain::whole(layout, bytes, |[a, b, c, d, e, f, _, _]: [u8; 8]| {
            narrow([[a, b], [c, d], [e, f]])
        }),
        Encoding::Rgb16 { .. } => plain::whole(layout, bytes, |[a, b, c, d, e, f]: [u8; 6]| {
            narrow([[a, b], [c, d], [e, f]])
        }),
        _ => plain::whole(layout, bytes, |rgb: [u8; 3]| rgb),
    }
}

fn compressed_samples(layout: &Layout, directory: &Directory, bytes: &[u8]) -> Result<(Stored, StoredKind), Problem> {
    if let Encoding::Unsigned { bits } = layout.encoding
        && !matches!(bits, 8 | 16)
    {
        return Err(Problem::unsupported_tiff(format!("{bits}-bit samples, compressed")));
    }
    let size = layout.size;
    if let Some(counts) = deflated::counts16(layout, bytes) {
        return counts16(size, counts);
    }
    let decoded = compressed::decode(layout, directory, bytes)?;
    match (layout.encoding, decoded) {
        (Encoding::Unsigned { .. }, DecodingResult::U8(v)) => counts8(size, v),
        (Encoding::Unsigned { .. }, DecodingResult::U16(v)) => counts16(size, v),
        (Encoding::U32, DecodingResult::U32(v)) => counts32(size, v.into_iter().map(i64::from).collect()),
        (Encoding::I8, DecodingResult::I8(v)) => signed16(size, v.into_iter().map(i16::from).collect()),
        (Encoding::I16, DecodingResult::I16(v)) => signed16(size, v),
        (Encoding::I32, DecodingResult::I32(v)) => counts32(size, v.into_iter().map(i64::from).collect()),
        (Encoding::F16, DecodingResult::F16(v)) => {
            let values = v.into_iter().map(|half| f32_of_f16(half.to_bits()));
            floats(size, StoredKind::Float16, values.collect())
        }
        (Encoding::F32, DecodingResult::F32(v)) => floats(size, StoredKind::Float32, v),
        (Encoding::F64, DecodingResult::F64(v)) => {
            let values = v.into_iter().map(|value| value as f32);
            floats(size, StoredKind::Float64, values.collect())
        }
        (Encoding::Palette, DecodingResult::U8(v)) => palette_picture(size, directory, &v),
        (Encoding::Rgb8 { .. }, DecodingResult::U8(v)) => picture(size, triples(size, &v)),
        (Encoding::Rgb16 { .. }, DecodingResult::U16(v)) => {
            let narrowed: Vec<u8> = v.into_iter().map(high_byte).collect();
            picture(size, triples(size, &narrowed))
        }
        _ => Err(Problem::damaged_tiff("samples other than those declared")),
    }
}

/// Red, green and blue of each pixel, whether or not a fourth sample was kept.
fn triples(size: Size, samples: &[u8]) -> Vec<[u8; 3]> {
    let (fours, threes) = (samples.as_chunks::<4>().0, samples.as_chunks::<3>().0);
    if samples.len() == size.pixels().saturating_mul(4) {
        fours.iter().map(|[r, g, b, _]| [*r, *g, *b]).collect()
    } else {
        threes.to_vec()
    }
}

fn high_byte(colour: u16) -> u8 {
    let [high, _] = colour.to_be_bytes();
    high
}

fn counts8(size: Size, counts: Vec<u8>) -> Result<(Stored, StoredKind), Problem> {
    Ok((Stored::U8(shape(size, counts)?), StoredKind::Counts8))
}

fn counts16(size: Size, counts: Vec<u16>) -> Result<(Stored, StoredKind), Problem> {
    Ok((Stored::U16(shape(size, counts)?), StoredKind::Counts16))
}

fn signed16(size: Size, counts: Vec<i16>) -> Result<(Stored, StoredKind), Problem> {
    Ok((Stored::I16(shape(size, counts)?), StoredKind::Signed16))
}

fn floats(size: Size, kind: StoredKind, values: Vec<f32>) -> Result<(Stored, StoredKind), Problem> {
    Ok((Stored::F32(shape(size, values)?), kind))
}

/// 32-bit counts go into floats, which hold every integer up to 2²⁴; beyond, a count would be changed without a word.
fn counts32(size: Size, counts: Vec<i64>) -> Result<(Stored, StoredKind), Problem> {
    const EXACT: i64 = 1 << 24;
    if let Some(count) = counts.iter().find(|count| count.abs() > EXACT) {
        return Err(Problem::unsupported_tiff(format!(
            "32-bit counts beyond ±{EXACT} (found {count})"
        )));
    }
    let values = counts.into_iter().map(|count| count as f32).collect();
    floats(size, StoredKind::Counts32, values)
}

fn picture(size: Size, pixels: Vec<[u8; 3]>) -> Result<(Stored, StoredKind), Problem> {
    let picture: Picture = shape(size, pixels)?;
    Ok((Stored::Rgb(picture), StoredKind::Picture))
}

/// Colours of the indices: the map holds all reds, then all greens, then all blues, 16 bits each.
fn palette_picture(size: Size, directory: &Directory, indices: &[u8]) -> Result<(Stored, StoredKind), Problem> {
    let map = directory.unsigned_list(tag::COLOUR_MAP)?.unwrap_or_default();
    let map: Vec<u8> = map.into_iter().map(|colour| (colour >> 8) as u8).collect();
    let map =
        Array2::from_shape_vec((3, 256), map).map_err(|_| Problem::damaged_tiff("no colour map of 256 colours"))?;
    let colours: Vec<[u8; 3]> = map
        .columns()
        .into_iter()
        .map(|colour| [0, 1, 2].map(|channel| colour.get(channel).copied().unwrap_or(0)))
        .collect();
    let pixels = indices
        .iter()
        .map(|index| colours.get(usize::from(*index)).copied().unwrap_or([0; 3]));
    picture(size, pixels.collect())
}

/// Half precision (IEEE 754 binary16: sign 1, exponent 5, fraction 10 bits) widened without loss.
fn f32_of_f16(half: u16) -> f32 {
    let sign = if half & 0x8000 == 0 { 1.0 } else { -1.0 };
    let exponent = i32::from((half >> 10) & 0x1F);
    let fraction = f32::from(half & 0x3FF);
    let magnitude = match exponent {
        0 => fraction * 2.0_f32.powi(-24),
        31 if fraction == 0.0 => f32::INFINITY,
        31 => f32::NAN,
        _ => (1024.0 + fraction) * 2.0_f32.powi(exponent - 25),
    };
    sign * magnitude
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_precision_widens_exactly() {
        for (half, single) in [
            (0x3C00, 1.0),
            (0xC000, -2.0),
            (0x7BFF, 65504.0),
            (0x0001, 5.960_464_5e-8),
            (0x3555, 0.333_251_95),
            (0x5CE8, 314.0),
        ] {
            assert_eq!(f32_of_f16(half), single, "{half:#06x}");
        }
        assert!(f32_of_f16(0x7E00).is_nan());
        assert_eq!(f32_of_f16(0xFC00), f32::NEG_INFINITY);
    }
}
