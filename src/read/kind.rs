//! What kind of file it is, by its content.

use super::problem::Problem;

/// The kinds of file that are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileKind {
    /// TIFF or BigTIFF, either byte order.
    Tiff,
    /// PNG.
    Png,
    /// JPEG.
    Jpeg,
    /// Text: rows of numbers.
    Grid,
}

/// First bytes of files people mistake for a frame, with what to call them.
const OTHERS: [(&[u8], &str); 13] = [
    (b"%PDF", "a PDF document"),
    (b"PK\x03\x04", "a zip archive or office document"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"7z\xbc\xaf", "a 7z archive"),
    (b"GIF8", "a GIF image"),
    (b"BM", "a BMP image"),
    (b"RIFF", "a RIFF file (WebP, AVI or WAV)"),
    (b"\x89HDF", "an HDF5 file"),
    (b"CDF", "a NetCDF file"),
    (b"SIMPLE  =", "a FITS file"),
    (b"\x93NUMPY", "a NumPy array file"),
    (b"<?xml", "an XML document"),
    (b"{\\rtf", "an RTF document"),
];

impl FileKind {
    /// The kind of the bytes.
    ///
    /// # Errors
    /// [`Problem::NotAnImage`], naming what the bytes look like.
    pub fn of(bytes: &[u8]) -> Result<Self, Problem> {
        let starts = |magic: &[u8]| bytes.starts_with(magic);
        if starts(b"II*\0") || starts(b"MM\0*") || starts(b"II+\0") || starts(b"MM\0+") {
            return Ok(Self::Tiff);
        }
        if starts(b"\x89PNG\r\n\x1a\n") {
            return Ok(Self::Png);
        }
        if starts(b"\xff\xd8\xff") {
            return Ok(Self::Jpeg);
        }
        // The other marks are letters only in part: a grid whose header starts with "BM" is still text.
        if is_text(bytes) && !starts(b"%PDF") && !starts(b"<?xml") && !starts(b"{\\rtf") {
            return Ok(Self::Grid);
        }
        let found = OTHERS
            .iter()
            .find(|(magic, _)| starts(magic))
            .map_or("binary data of no known kind", |(_, name)| name);
        Err(Problem::NotAnImage { found })
    }
}

/// Text has a byte order mark, or no control characters but white space.
fn is_text(bytes: &[u8]) -> bool {
    if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        return true;
    }
    let head = bytes.get(..4096).unwrap_or(bytes);
    !head.is_empty()
        && head
            .iter()
            .all(|byte| *byte >= b' ' || matches!(byte, b'\t' | b'\n' | b'\r' | 0x0c))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn content_decides() {
        assert_eq!(FileKind::of(b"MM\0+rest").unwrap(), FileKind::Tiff);
        assert_eq!(FileKind::of(b"1;2\r\n").unwrap(), FileKind::Grid);
        assert_eq!(FileKind::of(b"BMW;2\r\n1;2\n").unwrap(), FileKind::Grid);
        let pdf = FileKind::of(b"%PDF-1.7\n").unwrap_err().to_string();
        assert!(pdf.starts_with("a PDF document, not a TIFF"), "{pdf}");
        assert!(FileKind::of(b"\0\x01\x02").is_err());
    }
}
