//! JPEG: grey counts or a colour picture.

use std::io::Cursor;

use ::image::codecs::jpeg::JpegDecoder;
use ::image::{ColorType, ImageDecoder};

use super::exif::Exif;
use super::frame::{Found, Packing, RawFrame, Stored, StoredKind, shape};
use super::limits::Limits;
use super::problem::Problem;

/// What a JPEG stream says about itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Outline {
    pub columns: u16,
    pub rows: u16,
    pub bits: u8,
}

/// Reads a JPEG.
///
/// # Errors
/// [`Problem`] where the file is damaged, cut short, beyond the limits or of a sort that is not read.
pub fn read_jpeg(bytes: &[u8], limits: &Limits) -> Result<RawFrame, Problem> {
    // The decoder paints grey over what is missing; a frame must not hold invented pixels.
    let outline = outline(bytes)?;
    let size = limits.check_size(u64::from(outline.columns), u64::from(outline.rows))?;
    if outline.bits != 8 {
        return Err(Problem::Unsupported {
            format: "JPEG",
            feature: format!("{}-bit samples", outline.bits),
        });
    }
    let mut decoder = JpegDecoder::new(Cursor::new(bytes)).map_err(problem_of)?;
    let exif = match decoder.exif_metadata() {
        Ok(Some(block)) => Exif::of(block.strip_prefix(b"Exif\0\0").unwrap_or(&block)),
        _ => Exif::default(),
    };
    let colour = decoder.color_type();
    let samples = match colour {
        ColorType::L8 => 1,
        ColorType::Rgb8 => 3,
        other => {
            return Err(Problem::Unsupported {
                format: "JPEG",
                feature: format!("{other:?} samples"),
            });
        }
    };
    let due = size.pixels().saturating_mul(samples);
    if decoder.total_bytes() != due as u64 {
        return Err(damaged("two sizes that differ"));
    }
    let mut decoded = vec![0_u8; due];
    decoder.read_image(&mut decoded).map_err(problem_of)?;
    let (stored, kind) = if samples == 1 {
        (Stored::U8(shape(size, decoded)?), StoredKind::Counts8)
    } else {
        let pixels = decoded.as_chunks::<3>().0.to_vec();
        (Stored::Rgb(shape(size, pixels)?), StoredKind::Picture)
    };
    let mut found = Found::new(stored, kind);
    found.orientation = exif.orientation;
    found.captured_at = exif.captured_at;
    found.packing = Packing::Lossy;
    Ok(found.finish())
}

/// Walks the markers from the start of the image to its end (ITU-T T.81 annex B), and finds the frame header.
pub(super) fn outline(bytes: &[u8]) -> Result<Outline, Problem> {
    let byte = |at: usize| bytes.get(at).copied().ok_or_else(|| cut_short(bytes));
    if byte(0)? != 0xFF || byte(1)? != 0xD8 {
        return Err(damaged("no start of image"));
    }
    let mut found = None;
    let mut at = 2;
    loop {
        // Markers may be padded with any number of FF bytes.
        if byte(at)? != 0xFF {
            return Err(damaged("no marker where one is due"));
        }
        while byte(at)? == 0xFF {
            at += 1;
        }
        let marker = byte(at)?;
        at += 1;
        match marker {
            0xD9 => break,
            0x01 | 0xD0..=0xD7 => continue,
            _ => {}
        }
        let length = usize::from(u16::from_be_bytes([byte(at)?, byte(at + 1)?]));
        // All frame headers C0 to CF, but for the tables C4 and CC and the reserved C8.
        if matches!(marker, 0xC0..=0xCF) && !matches!(marker, 0xC4 | 0xC8 | 0xCC) {
            found = Some(Outline {
                bits: byte(at + 2)?,
                rows: u16::from_be_bytes([byte(at + 3)?, byte(at + 4)?]),
                columns: u16::from_be_bytes([byte(at + 5)?, byte(at + 6)?]),
            });
        }
        at = at.saturating_add(length.max(2));
        if marker == 0xDA {
            at = end_of_scan(bytes, at).ok_or_else(|| cut_short(bytes))?;
        }
    }
    found.ok_or_else(|| damaged("no frame header"))
}

/// The marker behind the entropy-coded data that starts at `at`: FF followed by neither 00 (stuffing), a restart
/// marker nor padding.
fn end_of_scan(bytes: &[u8], at: usize) -> Option<usize> {
    let data = bytes.get(at..)?;
    let found = data
        .windows(2)
        .position(|pair| matches!(pair, [0xFF, second] if !matches!(second, 0x00 | 0xFF | 0xD0..=0xD7)))?;
    Some(at + found)
}

fn cut_short(bytes: &[u8]) -> Problem {
    Problem::Truncated {
        what: "the JPEG up to its end of image".to_owned(),
        needed_bytes: bytes.len() as u64 + 1,
        file_bytes: bytes.len() as u64,
    }
}

fn damaged(detail: &str) -> Problem {
    Problem::Damaged {
        format: "JPEG",
        detail: detail.to_owned(),
    }
}

fn problem_of(error: ::image::ImageError) -> Problem {
    match error {
        ::image::ImageError::Unsupported(what) => Problem::Unsupported {
            format: "JPEG",
            feature: what.to_string(),
        },
        other => damaged(&other.to_string()),
    }
}
