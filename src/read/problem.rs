//! What can be wrong with a file, said so that someone can do something about it.

use std::path::PathBuf;

/// A file that could not be read, and why.
#[derive(Debug, thiserror::Error)]
#[error("{}: {problem}", path.display())]
pub struct ReadError {
    /// The file, as it was asked for.
    pub path: PathBuf,
    /// What is wrong with it.
    #[source]
    pub problem: Problem,
}

/// What is wrong with a file or its content.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Problem {
    /// Nothing is at the path.
    #[error("no such file; hint: check the file column against the folder, capitals included")]
    Missing,
    /// A folder is at the path.
    #[error("a folder, not a file; hint: name one image in it")]
    Folder,
    /// A pipe, a socket or a device is at the path.
    #[error("not a plain file; hint: copy the image to a plain file first")]
    NotAPlainFile,
    /// The operating system refused.
    #[error("cannot be read: {0}; hint: check that you may read the file and that the disk is sound")]
    Unreadable(#[source] std::io::Error),
    /// 0 bytes.
    #[error("empty (0 bytes); hint: copy it from the camera again")]
    Empty,
    /// More bytes than the limit.
    #[error("{bytes} bytes, more than the limit of {limit_bytes} bytes; hint: export a single frame, not a recording")]
    FileTooLarge {
        /// Size of the file.
        bytes: u64,
        /// The limit in force.
        limit_bytes: u64,
    },
    /// The content is none of the supported kinds.
    #[error("{found}, not a TIFF, PNG, JPEG or text grid; hint: export the frame as 16-bit TIFF or as CSV")]
    NotAnImage {
        /// What the content looks like.
        found: &'static str,
    },
    /// Rows × columns beyond the limit.
    #[error(
        "{columns} × {rows} pixels, more than the limit of {limit_px} pixels; hint: export the frame at the detector's own size"
    )]
    TooManyPixels {
        /// Declared columns.
        columns: u64,
        /// Declared rows.
        rows: u64,
        /// The limit in force.
        limit_px: u64,
    },
    /// A side beyond the limit.
    #[error(
        "{columns} × {rows} pixels, a side longer than the limit of {limit_px} pixels; hint: export the frame at the detector's own size"
    )]
    SideTooLong {
        /// Declared columns.
        columns: u64,
        /// Declared rows.
        rows: u64,
        /// The limit in force.
        limit_px: u64,
    },
    /// No rows or no columns.
    #[error("{columns} × {rows} pixels, nothing to read; hint: export the frame again")]
    NoPixels {
        /// Declared columns.
        columns: u64,
        /// Declared rows.
        rows: u64,
    },
    /// The file ends before what it declares.
    #[error(
        "cut short: {what} needs {needed_bytes} bytes, the file has {file_bytes}; hint: copy it from the camera again"
    )]
    Truncated {
        /// What reaches beyond the end.
        what: String,
        /// Bytes the file would need to have.
        needed_bytes: u64,
        /// Bytes it has.
        file_bytes: u64,
    },
    /// The content contradicts its own format.
    #[error("damaged {format}: {detail}; hint: copy it from the camera again, or export it anew")]
    Damaged {
        /// The format, e.g. `TIFF`.
        format: &'static str,
        /// What contradicts it.
        detail: String,
    },
    /// A sound file of a sort that is not read.
    #[error(
        "{format} with {feature} is not read; hint: export the frame as 16-bit or 32-bit float TIFF, uncompressed, one sample a pixel"
    )]
    Unsupported {
        /// The format, e.g. `TIFF`.
        format: &'static str,
        /// The feature by its name.
        feature: String,
    },
    /// A text file without a grid of numbers.
    #[error(
        "text without a grid of numbers: {detail}; hint: export rows of numbers, separated by comma, semicolon or tab"
    )]
    NotAGrid {
        /// What was looked for and not found.
        detail: String,
    },
    /// A row of a grid that is longer or shorter than the others.
    #[error("line {line}: {found} values where the other rows have {expected}; hint: {hint}")]
    Ragged {
        /// Line in the file, from 1.
        line: usize,
        /// Values found in the line.
        found: usize,
        /// Values in the other rows.
        expected: usize,
        /// What to do about it.
        hint: &'static str,
    },
    /// A cell of a grid that is no number.
    #[error(
        "line {line}, column {column}: '{found}' is not a number (accepted: a number with decimal {decimal}, or blank or nan for no reading); hint: correct the cell or leave it blank"
    )]
    Cell {
        /// Line in the file, from 1.
        line: usize,
        /// Cell in the line, from 1.
        column: usize,
        /// The cell's text, shortened.
        found: String,
        /// The decimal mark the other cells use.
        decimal: &'static str,
    },
    /// The comma seems to be separator and decimal mark at once.
    #[error(
        "line {line}: the comma seems to separate values and to mark decimals at once; hint: export with semicolons or tabs between values, or with decimal points"
    )]
    AmbiguousComma {
        /// Line in the file, from 1.
        line: usize,
    },
}

impl Problem {
    /// A contradiction within a TIFF.
    pub(crate) fn damaged_tiff(detail: impl Into<String>) -> Self {
        Self::Damaged {
            format: "TIFF",
            detail: detail.into(),
        }
    }

    /// A sort of TIFF that is not read.
    pub(crate) fn unsupported_tiff(feature: impl Into<String>) -> Self {
        Self::Unsupported {
            format: "TIFF",
            feature: feature.into(),
        }
    }
}
