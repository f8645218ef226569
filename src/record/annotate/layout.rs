//! Where things stand on the sheet, and how large.

use super::canvas::Area;

/// Least length of an enlarged frame's longer side on the sheet, in pixels.
const LEAST_SIDE_PX: usize = 900;
/// Longest side of a frame that is shown reading for reading.
const GREATEST_SIDE_PX: usize = 2560;
/// Width of the sheet in units where the frame itself is narrower.
const SHEET_UNITS: f32 = 1130.0;
/// Width of the column that holds the scale, in units.
const SCALE_UNITS: f32 = 170.0;

/// How readings become squares of the sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Zoom {
    /// One reading is a square of this many pixels a side.
    Enlarged(usize),
    /// Only every so-manyth reading is shown, along and across.
    Thinned(usize),
}

/// The sheet's plan. Lengths of text and lines are stated in units of 1/960 of a usual frame's width, so that a sheet
/// looks the same printed whatever the frame's size.
#[derive(Debug, Clone, Copy)]
pub(super) struct Layout {
    pub(super) zoom: Zoom,
    /// Where the frame stands.
    pub(super) frame: Area,
    /// Width of the sheet in pixels.
    pub(super) width: i32,
    /// Pixels a unit.
    unit: f32,
}

impl Layout {
    /// The plan for a frame of `columns` × `rows` readings, both at least 1.
    pub(super) fn of(columns: usize, rows: usize) -> Self {
        let zoom = zoom(columns, rows);
        let (width, height) = match zoom {
            Zoom::Enlarged(factor) => (columns * factor, rows * factor),
            Zoom::Thinned(every) => (columns.div_ceil(every), rows.div_ceil(every)),
        };
        let unit = (width as f32 / 960.0).max(0.84);
        let sheet = (width as f32 + SCALE_UNITS * unit).max(SHEET_UNITS * unit).round() as i32;
        Self {
            zoom,
            frame: Area::at(0, 0, width as i32, height as i32),
            width: sheet,
            unit,
        }
    }

    /// A length in units as whole pixels, at least 1.
    pub(super) fn px(&self, units: f32) -> i32 {
        (units * self.unit).round().max(1.0) as i32
    }

    /// A length in units as pixels.
    pub(super) fn exact_px(&self, units: f32) -> f32 {
        units * self.unit
    }

    /// A place in the image (first pixel's centre at 0, 0) on the sheet; nothing where it is not a finite number.
    pub(super) fn place(&self, [x, y]: [f64; 2]) -> Option<[f32; 2]> {
        let factor = match self.zoom {
            Zoom::Enlarged(factor) => factor as f64,
            Zoom::Thinned(every) => 1.0 / every as f64,
        };
        let on_sheet = |v: f64| v.is_finite().then(|| ((v + 0.5) * factor).clamp(-1e5, 1e5) as f32);
        Some([on_sheet(x)?, on_sheet(y)?])
    }
}

fn zoom(columns: usize, rows: usize) -> Zoom {
    let longest = columns.max(rows);
    if longest > GREATEST_SIDE_PX {
        return Zoom::Thinned(longest.div_ceil(GREATEST_SIDE_PX));
    }
    Zoom::Enlarged(LEAST_SIDE_PX.div_ceil(longest.max(1)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn usual_frames_are_enlarged_to_a_page_width() {
        for (columns, rows, factor) in [(320, 240, 3), (640, 512, 2), (384, 288, 3), (160, 120, 6), (64, 48, 15)] {
            assert_eq!(zoom(columns, rows), Zoom::Enlarged(factor), "{columns} × {rows}");
        }
        assert_eq!(zoom(1280, 1024), Zoom::Enlarged(1));
        assert_eq!(zoom(2000, 1500), Zoom::Enlarged(1));
        assert_eq!(zoom(240, 320), Zoom::Enlarged(3));
        assert_eq!(zoom(512, 640), Zoom::Enlarged(2));
    }

    #[test]
    fn odd_frames_stay_within_bounds() {
        for (columns, rows) in [
            (1, 1),
            (1, 2560),
            (32_768, 600),
            (600, 32_768),
            (5000, 4000),
            (1, 32_768),
        ] {
            let layout = Layout::of(columns, rows);
            assert!(
                layout.frame.width() <= 2560 && layout.frame.height() <= 2560,
                "{columns} × {rows}: {layout:?}"
            );
            assert!(
                layout.width >= layout.frame.width() && layout.width <= 3100,
                "{columns} × {rows}: {layout:?}"
            );
        }
    }

    #[test]
    fn a_place_is_the_middle_of_its_square() {
        assert_eq!(Layout::of(320, 240).place([0.0, 1.0]), Some([1.5, 4.5]));
        assert_eq!(Layout::of(320, 240).place([f64::NAN, 1.0]), None);
        assert_eq!(Layout::of(320, 240).place([1e300, f64::INFINITY]), None);
    }
}
