//! What Exif data says about a picture: which way up, and when. Exif is laid out as a TIFF directory.

use super::problem::Problem;
use super::tiff::directory::{Directory, Header};

const ORIENTATION: u16 = 274;
const CHANGED_AT: u16 = 306;
const EXIF_DIRECTORY: u16 = 34665;
const TAKEN_AT: u16 = 36867;
const TAKEN_OFFSET: u16 = 36881;

/// Orientation code and time of an Exif block, each where it is stated.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Exif {
    /// Orientation code as stored; 1 to 8 in a sound file.
    pub orientation: Option<u64>,
    /// When the picture was taken, ISO 8601.
    pub captured_at: Option<String>,
}

impl Exif {
    /// Reads a block that starts with its byte order. A damaged block says nothing: it is never vital to the values.
    #[must_use]
    pub fn of(block: &[u8]) -> Self {
        let read = || -> Result<Self, Problem> {
            let header = Header::of(block)?;
            let directory = Directory::at(block, header, header.first_directory)?;
            Ok(Self {
                orientation: directory.unsigned(ORIENTATION).ok().flatten(),
                captured_at: captured_at(&directory),
            })
        };
        read().unwrap_or_default()
    }
}

/// When the picture was taken, else when the file was written, ISO 8601; `None` where neither is stated.
#[must_use]
pub fn captured_at(directory: &Directory) -> Option<String> {
    let child = directory.child(EXIF_DIRECTORY);
    let from_child = |tag| child.as_ref().and_then(|child| child.text(tag));
    let offset = from_child(TAKEN_OFFSET).or_else(|| directory.text(TAKEN_OFFSET));
    let taken = from_child(TAKEN_AT).or_else(|| directory.text(TAKEN_AT));
    if let Some(time) = taken.as_deref().and_then(iso_8601) {
        let offset = offset.filter(|offset| is_offset(offset)).unwrap_or_default();
        return Some(time + &offset);
    }
    directory.text(CHANGED_AT).as_deref().and_then(iso_8601)
}

/// `2026:03:14 09:05:00` as `2026-03-14T09:05:00`; `None` for anything else, such as a clock that was never set.
fn iso_8601(stamp: &str) -> Option<String> {
    const PATTERN: &[u8] = b"dddd:dd:dd dd:dd:dd";
    let fits = stamp.len() == PATTERN.len()
        && stamp.bytes().zip(PATTERN).all(|(byte, pattern)| match pattern {
            b'd' => byte.is_ascii_digit(),
            other => byte == *other,
        });
    if !fits || stamp.starts_with("0000") {
        return None;
    }
    let (day, time) = stamp.split_once(' ')?;
    Some(format!("{}T{time}", day.replace(':', "-")))
}

/// `+01:00` or the like.
fn is_offset(text: &str) -> bool {
    let digits = text.strip_prefix(['+', '-']).unwrap_or("");
    digits.len() == 5
        && digits
            .bytes()
            .enumerate()
            .all(|(at, byte)| if at == 2 { byte == b':' } else { byte.is_ascii_digit() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stamps_become_iso_or_nothing() {
        assert_eq!(iso_8601("2026:03:14 09:05:00").as_deref(), Some("2026-03-14T09:05:00"));
        assert_eq!(iso_8601("    :  :     :  :  "), None);
        assert_eq!(iso_8601("0000:00:00 00:00:00"), None);
        assert_eq!(iso_8601("2026:03:14 09:05:0é"), None);
        assert!(is_offset("+01:00") && is_offset("-05:30"));
        assert!(!is_offset("01:00") && !is_offset("+1:000"));
    }

    #[test]
    fn a_damaged_block_says_nothing() {
        assert_eq!(Exif::of(b""), Exif::default());
        assert_eq!(Exif::of(b"II*\0\xff\xff\xff\xff"), Exif::default());
    }
}
