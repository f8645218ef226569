//! How a TIFF's first page lays its samples out, checked before anything is allocated for it.

use super::super::limits::{Limits, Size};
use super::super::problem::Problem;
use super::directory::{Directory, Header};

/// Tags by their numbers (TIFF 6.0; its technical notes; 42113 as GDAL documents it).
pub(super) mod tag {
    pub const COLUMNS: u16 = 256;
    pub const ROWS: u16 = 257;
    pub const BITS: u16 = 258;
    pub const COMPRESSION: u16 = 259;
    pub const PHOTOMETRIC: u16 = 262;
    pub const FILL_ORDER: u16 = 266;
    pub const STRIP_OFFSETS: u16 = 273;
    pub const ORIENTATION: u16 = 274;
    pub const SAMPLES: u16 = 277;
    pub const ROWS_PER_STRIP: u16 = 278;
    pub const STRIP_BYTES: u16 = 279;
    pub const PLANAR: u16 = 284;
    pub const PREDICTOR: u16 = 317;
    pub const COLOUR_MAP: u16 = 320;
    pub const TILE_COLUMNS: u16 = 322;
    pub const TILE_ROWS: u16 = 323;
    pub const TILE_OFFSETS: u16 = 324;
    pub const TILE_BYTES: u16 = 325;
    pub const EXTRA_SAMPLES: u16 = 338;
    pub const FORMAT: u16 = 339;
    pub const NO_DATA: u16 = 42113;
}

/// What one pixel's samples are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Encoding {
    /// Unsigned, 1 to 16 bits, packed where not 8 or 16.
    Unsigned {
        bits: u32,
    },
    U32,
    I8,
    I16,
    I32,
    F16,
    F32,
    F64,
    /// 8-bit colours, `samples` (3 or 4) of them a pixel.
    Rgb8 {
        samples: usize,
    },
    /// 16-bit colours, `samples` (3 or 4) of them a pixel.
    Rgb16 {
        samples: usize,
    },
    /// 8-bit indices into a colour map.
    Palette,
}

/// What the photometric tag says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Photometric {
    Absent,
    WhiteIsZero,
    BlackIsZero,
    Rgb,
    Palette,
}

/// Strips are tiles as wide as the image.
#[derive(Debug, Clone)]
pub(super) struct Chunks {
    pub rows: usize,
    pub columns: usize,
    pub across: usize,
    pub offsets: Vec<u64>,
    /// Compressed bytes of each; empty where the file does not say, which uncompressed data allows.
    pub bytes: Vec<u64>,
}

/// The first page's layout.
#[derive(Debug, Clone)]
pub(super) struct Layout {
    pub header: Header,
    pub size: Size,
    pub encoding: Encoding,
    pub photometric: Photometric,
    pub compression: u64,
    pub predictor: u64,
    pub chunks: Chunks,
}

impl Encoding {
    /// Bits of one pixel.
    pub fn pixel_bits(self) -> u64 {
        match self {
            Self::Unsigned { bits } => u64::from(bits),
            Self::I8 | Self::Palette => 8,
            Self::I16 | Self::F16 => 16,
            Self::U32 | Self::I32 | Self::F32 => 32,
            Self::F64 => 64,
            Self::Rgb8 { samples } => 8 * samples as u64,
            Self::Rgb16 { samples } => 16 * samples as u64,
        }
    }
}

impl Layout {
    /// Reads and checks the layout of a directory.
    pub fn of(directory: &Directory, header: Header, limits: &Limits) -> Result<Self, Problem> {
        let size = limits.check_size(
            required(directory, tag::COLUMNS, "image width")?,
            required(directory, tag::ROWS, "image length")?,
        )?;
        let photometric = photometric(directory)?;
        let encoding = encoding(directory, photometric)?;
        let compression = directory.unsigned(tag::COMPRESSION)?.unwrap_or(1);
        check_compression(compression)?;
        if directory.unsigned(tag::FILL_ORDER)?.unwrap_or(1) != 1 {
            return Err(Problem::unsupported_tiff("fill order 2 (bits reversed)"));
        }
        let predictor = directory.unsigned(tag::PREDICTOR)?.unwrap_or(1);
        // Readers disagree whether the predictor counts without compression; neither guess is safe.
        if compression == 1 && predictor != 1 {
            return Err(Problem::unsupported_tiff(format!(
                "predictor {predictor} but no compression"
            )));
        }
        Ok(Self {
            header,
            size,
            encoding,
            photometric,
            compression,
            predictor,
            chunks: chunks(directory, size, limits, compression)?,
        })
    }

    /// Bytes of one row of a chunk, uncompressed.
    pub fn chunk_row_bytes(&self) -> usize {
        let bits = (self.chunks.columns as u64).saturating_mul(self.encoding.pixel_bits());
        usize::try_from(bits.div_ceil(8)).unwrap_or(usize::MAX)
    }
}

fn required(directory: &Directory, tag: u16, name: &str) -> Result<u64, Problem> {
    directory
        .unsigned(tag)?
        .ok_or_else(|| Problem::damaged_tiff(format!("no {name} (tag {tag})")))
}

fn photometric(directory: &Directory) -> Result<Photometric, Problem> {
    let name = match directory.unsigned(tag::PHOTOMETRIC)? {
        None => return Ok(Photometric::Absent),
        Some(0) => return Ok(Photometric::WhiteIsZero),
        Some(1) => return Ok(Photometric::BlackIsZero),
        Some(2) => return Ok(Photometric::Rgb),
        Some(3) => return Ok(Photometric::Palette),
        Some(4) => "a transparency mask",
        Some(5) => "CMYK colours",
        Some(6) => "YCbCr colours",
        Some(8..=10) => "Lab colours",
        Some(other) => {
            return Err(Problem::unsupported_tiff(format!("photometric interpretation {other}")));
        }
    };
    Err(Problem::unsupported_tiff(name))
}

fn check_compression(compression: u64) -> Result<(), Problem> {
    let name = match compression {
        2..=4 => "fax compression (black and white only)",
        6 => "old-style JPEG compression",
        34712 => "JPEG 2000 compression",
        34887 => "LERC compression",
        34925 => "LZMA compression",
        _ => return Ok(()),
    };
    Err(Problem::unsupported_tiff(name))
}

/// The one value all samples share; several different ones are refused.
fn shared(directory: &Directory, tag: u16, default: u64, name: &str) -> Result<u64, Problem> {
    let list = directory.unsigned_list(tag)?.unwrap_or_default();
    let first = list.first().copied().unwrap_or(default);
    if list.iter().any(|value| *value != first) {
        return Err(Problem::unsupported_tiff(format!("samples of different {name}")));
    }
    Ok(first)
}

fn encoding(directory: &Directory, photometric: Photometric) -> Result<Encoding, Problem> {
    let samples = directory.unsigned(tag::SAMPLES)?.unwrap_or(1);
    let bits = shared(directory, tag::BITS, 1, "bits")?;
    let format = shared(directory, tag::FORMAT, 1, "formats")?;
    let planar = directory.unsigned(tag::PLANAR)?.unwrap_or(1);
    if samples != 1 && planar != 1 {
        return Err(Problem::unsupported_tiff(format!(
            "{samples} samples a pixel in separate planes"
        )));
    }
    match (photometric, samples, format, bits) {
        (Photometric::Rgb, 3 | 4, 1, 8 | 16) => return rgb(directory, samples, bits),
        (Photometric::Palette, 1, 1, 8) => return Ok(Encoding::Palette),
        (Photometric::Rgb | Photometric::Palette, ..) => {
            return Err(Problem::unsupported_tiff(format!(
                "colours of {samples} samples a pixel, {bits} bits, sample format {format}"
            )));
        }
        (_, 1, ..) => {}
        _ => {
            return Err(Problem::unsupported_tiff(format!("{samples} samples a pixel")));
        }
    }
    match (format, bits) {
        // Format 4 is "undefined": unsigned is how such files are meant in practice.
        (1 | 4, 1..=16) => Ok(Encoding::Unsigned { bits: bits as u32 }),
        (1 | 4, 32) => Ok(Encoding::U32),
        (2, 8) => Ok(Encoding::I8),
        (2, 16) => Ok(Encoding::I16),
        (2, 32) => Ok(Encoding::I32),
        (3, 16) => Ok(Encoding::F16),
        (3, 32) => Ok(Encoding::F32),
        (3, 64) => Ok(Encoding::F64),
        (5 | 6, _) => Err(Problem::unsupported_tiff("complex numbers")),
        (1 | 4, _) => Err(Problem::unsupported_tiff(format!("{bits}-bit unsigned samples"))),
        (2, _) => Err(Problem::unsupported_tiff(format!("{bits}-bit signed samples"))),
        (3, _) => Err(Problem::unsupported_tiff(format!("{bits}-bit float samples"))),
        _ => Err(Problem::unsupported_tiff(format!("sample format {format}"))),
    }
}

fn rgb(directory: &Directory, samples: u64, bits: u64) -> Result<Encoding, Problem> {
    let extra = directory.unsigned_list(tag::EXTRA_SAMPLES)?.unwrap_or_default();
    if extra.len() as u64 > samples - 3 {
        return Err(Problem::damaged_tiff("more extra samples than samples"));
    }
    let samples = if samples == 4 { 4 } else { 3 };
    Ok(if bits == 8 {
        Encoding::Rgb8 { samples }
    } else {
        Encoding::Rgb16 { samples }
    })
}

fn chunks(directory: &Directory, size: Size, limits: &Limits, compression: u64) -> Result<Chunks, Problem> {
    let tiled = directory.has(tag::TILE_OFFSETS);
    if tiled && directory.has(tag::STRIP_OFFSETS) {
        return Err(Problem::damaged_tiff("both strips and tiles"));
    }
    let (columns, rows, offsets_tag, bytes_tag) = if tiled {
        // A tile may reach beyond the image, but is buffered whole: the limits hold for it too.
        let tile = limits.check_size(
            required(directory, tag::TILE_COLUMNS, "tile width")?,
            required(directory, tag::TILE_ROWS, "tile length")?,
        )?;
        (tile.columns, tile.rows, tag::TILE_OFFSETS, tag::TILE_BYTES)
    } else {
        let stated = directory.unsigned(tag::ROWS_PER_STRIP)?;
        let rows = stated.unwrap_or(u64::MAX).min(size.rows as u64);
        if rows == 0 {
            return Err(Problem::damaged_tiff("strips of 0 rows"));
        }
        let rows = usize::try_from(rows).unwrap_or(size.rows);
        (size.columns, rows, tag::STRIP_OFFSETS, tag::STRIP_BYTES)
    };
    let across = size.columns.div_ceil(columns);
    let expected = across.saturating_mul(size.rows.div_ceil(rows));
    let offsets = directory
        .unsigned_list(offsets_tag)?
        .ok_or_else(|| Problem::damaged_tiff("neither strips nor tiles"))?;
    let bytes = directory.unsigned_list(bytes_tag)?.unwrap_or_default();
    let bytes_missing = bytes.len() != expected && !(bytes.is_empty() && compression == 1);
    if offsets.len() != expected || bytes_missing {
        return Err(Problem::damaged_tiff(format!(
            "{} strips or tiles ({} byte counts) where {expected} are due",
            offsets.len(),
            bytes.len()
        )));
    }
    Ok(Chunks {
        rows,
        columns,
        across,
        offsets,
        bytes,
    })
}
