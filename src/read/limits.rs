//! How much one file may ask for.

use super::problem::Problem;

/// The most a single file may hold. A header is only believed within these limits, and checked against them
/// before anything is allocated for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Largest file read, in bytes.
    pub max_file_bytes: u64,
    /// Most pixels (rows × columns) in a frame.
    pub max_pixels: u64,
    /// Most rows, and most columns, in a frame.
    pub max_side_px: u64,
}

impl Default for Limits {
    /// 256 MiB, 20 million pixels, 32 768 pixels a side: well beyond any thermal imager's frame.
    fn default() -> Self {
        Self {
            max_file_bytes: 256 * 1024 * 1024,
            max_pixels: 20_000_000,
            max_side_px: 32_768,
        }
    }
}

/// Rows and columns that were found to be within the limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Size {
    /// Number of rows, at least 1.
    pub rows: usize,
    /// Number of columns, at least 1.
    pub columns: usize,
}

impl Size {
    /// Rows × columns; cannot overflow, for the limits were checked.
    pub fn pixels(self) -> usize {
        self.rows.saturating_mul(self.columns)
    }
}

impl Limits {
    /// Believes a declared size only if it is not empty and within the limits.
    pub(crate) fn check_size(&self, columns: u64, rows: u64) -> Result<Size, Problem> {
        if columns == 0 || rows == 0 {
            return Err(Problem::NoPixels { columns, rows });
        }
        if columns.max(rows) > self.max_side_px {
            return Err(Problem::SideTooLong {
                columns,
                rows,
                limit_px: self.max_side_px,
            });
        }
        if columns.saturating_mul(rows) > self.max_pixels {
            return Err(Problem::TooManyPixels {
                columns,
                rows,
                limit_px: self.max_pixels,
            });
        }
        match (usize::try_from(rows), usize::try_from(columns)) {
            (Ok(rows), Ok(columns)) if rows.checked_mul(columns).is_some() => Ok(Size { rows, columns }),
            _ => Err(Problem::TooManyPixels {
                columns,
                rows,
                limit_px: self.max_pixels,
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thirty_megapixels_are_refused_by_the_named_limit() {
        let error = Limits::default().check_size(6000, 5000).unwrap_err();
        let text = error.to_string();
        assert!(text.contains("6000 × 5000"), "{text}");
        assert!(text.contains("20000000"), "{text}");
    }

    #[test]
    fn a_size_that_overflows_is_refused() {
        let limits = Limits {
            max_file_bytes: u64::MAX,
            max_pixels: u64::MAX - 1,
            max_side_px: u64::MAX,
        };
        assert!(limits.check_size(u64::MAX, u64::MAX).is_err());
        assert!(limits.check_size(0, 5).is_err());
        assert!(limits.check_size(5, 3).is_ok());
    }
}
