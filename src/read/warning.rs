//! What a reader of the result should know about a file that could be read.

use std::fmt;

use super::orientation::Orientation;

/// Something about a file that was read, worth telling whoever relies on it.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Warning {
    /// Several pages; only the first was read.
    FirstOfPages {
        /// Number of pages found.
        pages: usize,
    },
    /// The file declares white as its lowest value; the counts were kept as stored.
    WhiteIsZeroKept,
    /// The file names a value that means no reading; pixels holding it are unread.
    DeclaredNoData {
        /// The stored value.
        value: f64,
        /// Pixels that hold it.
        pixels: usize,
    },
    /// Infinite values, taken as no reading.
    NotFinite {
        /// Pixels concerned.
        pixels: usize,
    },
    /// Fractional values of which many are exactly 0, which often means no reading without saying so.
    ManyZeros {
        /// Share of all pixels, 0 to 1.
        share: f64,
    },
    /// The rows and columns were turned as the file's orientation asks.
    Turned {
        /// The orientation that was undone.
        orientation: Orientation,
    },
    /// An orientation that is not one of the eight; ignored.
    UnknownOrientation {
        /// The code found.
        code: u64,
    },
    /// Transparency was dropped; pixels that were wholly transparent are unread.
    TransparencyDropped {
        /// Pixels that were wholly transparent.
        pixels: usize,
    },
    /// A colour picture of 16 bits a colour, narrowed to 8.
    ColoursNarrowed,
    /// Lines before the grid, skipped.
    HeaderLines {
        /// Number of lines.
        lines: usize,
    },
    /// A first row 0, 1, 2, … taken as column numbers, not values.
    ColumnNumbersSkipped {
        /// Line in the file, from 1.
        line: usize,
    },
    /// A first column 0, 1, 2, … taken as row numbers, not values.
    RowNumbersSkipped,
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::FirstOfPages { pages } => {
                write!(f, "page 1 of {pages} was read, the others were not")
            }
            Self::WhiteIsZeroKept => {
                f.write_str("the file declares white as zero; counts are kept as stored, not inverted")
            }
            Self::DeclaredNoData { value, pixels } => write!(
                f,
                "the file declares {value} to mean no reading; {pixels} pixels hold it"
            ),
            Self::NotFinite { pixels } => {
                write!(f, "{pixels} infinite values are taken as no reading")
            }
            Self::ManyZeros { share } => write!(
                f,
                "{:.1} % of the values are exactly 0; hint: state no_data = 0 if it means no reading",
                share * 100.0
            ),
            Self::Turned { orientation } => write!(
                f,
                "turned upright as the file asks ({orientation}); pixel coordinates are those of the upright image"
            ),
            Self::UnknownOrientation { code } => {
                write!(f, "orientation {code} is not one of 1 to 8 and was ignored")
            }
            Self::TransparencyDropped { pixels } => write!(
                f,
                "transparency was dropped; {pixels} wholly transparent pixels are taken as no reading"
            ),
            Self::ColoursNarrowed => f.write_str("colours of 16 bits were narrowed to 8"),
            Self::HeaderLines { lines: 1 } => f.write_str("1 header line was skipped"),
            Self::HeaderLines { lines } => write!(f, "{lines} header lines were skipped"),
            Self::ColumnNumbersSkipped { line } => {
                write!(f, "line {line} counts the columns and was skipped, not read as values")
            }
            Self::RowNumbersSkipped => {
                f.write_str("the first column counts the rows and was skipped, not read as values")
            }
        }
    }
}
