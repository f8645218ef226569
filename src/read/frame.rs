//! One frame as stored: values, which of them are no reading, and what is worth knowing about the file.

use ndarray::Array2;

use super::limits::Size;
use super::orientation::Orientation;
use super::problem::Problem;
use super::warning::Warning;

/// A colour picture: rows × columns of red, green, blue, 8 bits each, as stored (sRGB unless the file says otherwise).
pub type Picture = Array2<[u8; 3]>;

/// Stored values, rows × columns, row-major; row 0 at the top, column 0 at the left of the upright image.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Stored {
    /// Unsigned counts of 8 bits or fewer.
    U8(Array2<u8>),
    /// Unsigned counts of 9 to 16 bits.
    U16(Array2<u16>),
    /// Signed counts of 8 or 16 bits.
    I16(Array2<i16>),
    /// Fractions, text grids and 32-bit counts; NaN is no reading, and nothing is infinite.
    F32(Array2<f32>),
    /// A colour picture, for the false-colour route.
    Rgb(Picture),
}

/// What the file stored, before it was put into a [`Stored`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum StoredKind {
    /// Unsigned counts of so many bits, 1 to 8.
    Counts8,
    /// Unsigned counts of 9 to 16 bits.
    Counts16,
    /// Signed counts of 8 or 16 bits.
    Signed16,
    /// 32-bit counts, all of them exact in a 32-bit float.
    Counts32,
    /// Half-precision floats.
    Float16,
    /// Single-precision floats.
    Float32,
    /// Double-precision floats, narrowed to single.
    Float64,
    /// Numbers in text.
    Grid,
    /// A colour picture.
    Picture,
}

/// Whether a file's packing kept every value as it was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Packing {
    /// It did.
    #[default]
    Lossless,
    /// It did not: JPEG.
    Lossy,
}

/// One frame as stored in a file. Built by reading; every part has the same rows and columns.
#[derive(Debug, Clone, PartialEq)]
pub struct RawFrame {
    stored: Stored,
    kind: StoredKind,
    no_reading: Option<Array2<bool>>,
    warnings: Vec<Warning>,
    captured_at: Option<String>,
    packing: Packing,
}

impl RawFrame {
    /// A frame that did not come from a file, such as a simulated one. Infinite values become no reading, as when read.
    #[must_use]
    pub fn from_stored(stored: Stored, kind: StoredKind) -> Self {
        Found::new(stored, kind).finish()
    }

    /// Stored values.
    #[must_use]
    pub fn stored(&self) -> &Stored {
        &self.stored
    }

    /// Stored values, for whoever wants to own them.
    #[must_use]
    pub fn into_stored(self) -> Stored {
        self.stored
    }

    /// What the file stored.
    #[must_use]
    pub fn kind(&self) -> StoredKind {
        self.kind
    }

    /// Whether the file kept every value as it was.
    #[must_use]
    pub fn packing(&self) -> Packing {
        self.packing
    }

    /// Number of rows.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.stored.dim().0
    }

    /// Number of columns.
    #[must_use]
    pub fn columns(&self) -> usize {
        self.stored.dim().1
    }

    /// Pixels of counts or of a picture that hold no reading (`true`), as the file itself says: a declared
    /// no-data value, or full transparency. `None` when there is no such pixel. Floats say it by NaN instead.
    #[must_use]
    pub fn no_reading(&self) -> Option<&Array2<bool>> {
        self.no_reading.as_ref()
    }

    /// What is worth knowing about the file.
    #[must_use]
    pub fn warnings(&self) -> &[Warning] {
        &self.warnings
    }

    /// When the frame was taken, in ISO 8601 as far as the file states it (local time unless an offset follows).
    #[must_use]
    pub fn captured_at(&self) -> Option<&str> {
        self.captured_at.as_deref()
    }

    /// Stored values as numbers, NaN where there is no reading; `None` for a colour picture.
    #[must_use]
    pub fn values(&self) -> Option<Array2<f32>> {
        let mut values = match &self.stored {
            Stored::U8(counts) => counts.mapv(f32::from),
            Stored::U16(counts) => counts.mapv(f32::from),
            Stored::I16(counts) => counts.mapv(f32::from),
            Stored::F32(values) => values.clone(),
            Stored::Rgb(_) => return None,
        };
        if let Some(mask) = &self.no_reading {
            values.zip_mut_with(mask, |value, unread| {
                if *unread {
                    *value = f32::NAN;
                }
            });
        }
        Some(values)
    }
}

impl Stored {
    /// (rows, columns).
    #[must_use]
    pub fn dim(&self) -> (usize, usize) {
        match self {
            Self::U8(a) => a.dim(),
            Self::U16(a) => a.dim(),
            Self::I16(a) => a.dim(),
            Self::F32(a) => a.dim(),
            Self::Rgb(a) => a.dim(),
        }
    }

    fn turn_upright(self, orientation: Orientation) -> Self {
        match self {
            Self::U8(a) => Self::U8(orientation.turn_upright(a)),
            Self::U16(a) => Self::U16(orientation.turn_upright(a)),
            Self::I16(a) => Self::I16(orientation.turn_upright(a)),
            Self::F32(a) => Self::F32(orientation.turn_upright(a)),
            Self::Rgb(a) => Self::Rgb(orientation.turn_upright(a)),
        }
    }
}

/// Row-major values as a grid of the checked size.
pub(crate) fn shape<T>(size: Size, values: Vec<T>) -> Result<Array2<T>, Problem> {
    let found = values.len();
    Array2::from_shape_vec((size.rows, size.columns), values).map_err(|_| Problem::Damaged {
        format: "image",
        detail: format!("{found} values where {} × {} are declared", size.columns, size.rows),
    })
}

/// What a decoder found, to be finished into a [`RawFrame`] the same way whatever the format.
pub(crate) struct Found {
    pub stored: Stored,
    pub kind: StoredKind,
    pub no_data: Option<f64>,
    pub transparent: Option<Array2<bool>>,
    pub orientation: Option<u64>,
    pub captured_at: Option<String>,
    pub warnings: Vec<Warning>,
    pub packing: Packing,
}

impl Found {
    pub fn new(stored: Stored, kind: StoredKind) -> Self {
        Self {
            stored,
            kind,
            no_data: None,
            transparent: None,
            orientation: None,
            captured_at: None,
            warnings: Vec::new(),
            packing: Packing::Lossless,
        }
    }

    /// Marks what is no reading, turns the frame upright, and says what was done.
    pub fn finish(mut self) -> RawFrame {
        let mut no_reading = self.transparent.take();
        if let Some(mask) = &no_reading {
            let pixels = mask.iter().filter(|unread| **unread).count();
            self.warnings.push(Warning::TransparencyDropped { pixels });
        }
        if let Some(value) = self.no_data {
            let mask = mark_no_data(&mut self.stored, value);
            let pixels = mask.iter().filter(|unread| **unread).count();
            self.warnings.push(Warning::DeclaredNoData { value, pixels });
            no_reading = Some(match no_reading {
                Some(transparent) => transparent | mask,
                None => mask,
            });
        }
        if let Stored::F32(values) = &mut self.stored {
            clean_floats(values, &mut no_reading, &mut self.warnings);
        }
        let no_reading = no_reading.filter(|mask| mask.iter().any(|unread| *unread));
        self.turn(no_reading)
    }

    fn turn(mut self, no_reading: Option<Array2<bool>>) -> RawFrame {
        let orientation = match self.orientation.map(|code| (code, Orientation::from_code(code))) {
            Some((code, None)) => {
                self.warnings.push(Warning::UnknownOrientation { code });
                Orientation::Upright
            }
            Some((_, Some(orientation))) => orientation,
            None => Orientation::Upright,
        };
        if orientation != Orientation::Upright {
            self.warnings.push(Warning::Turned { orientation });
        }
        RawFrame {
            stored: self.stored.turn_upright(orientation),
            kind: self.kind,
            no_reading: no_reading.map(|mask| orientation.turn_upright(mask)),
            warnings: self.warnings,
            captured_at: self.captured_at,
            packing: self.packing,
        }
    }
}

/// Where the stored value is the one that means no reading.
fn mark_no_data(stored: &mut Stored, no_data: f64) -> Array2<bool> {
    match stored {
        Stored::U8(a) => a.mapv(|v| f64::from(v) == no_data),
        Stored::U16(a) => a.mapv(|v| f64::from(v) == no_data),
        Stored::I16(a) => a.mapv(|v| f64::from(v) == no_data),
        // The declared value is written in decimal; it is meant at the precision of the stored one.
        Stored::F32(a) => {
            let no_data = no_data as f32;
            a.mapv(|v| v == no_data || (no_data.is_nan() && v.is_nan()))
        }
        Stored::Rgb(a) => Array2::from_elem(a.dim(), false),
    }
}

/// Floats say "no reading" by NaN alone: the mask is folded in, infinities follow, zeros are only counted.
fn clean_floats(values: &mut Array2<f32>, no_reading: &mut Option<Array2<bool>>, warnings: &mut Vec<Warning>) {
    if let Some(mask) = no_reading.take() {
        values.zip_mut_with(&mask, |value, unread| {
            if *unread {
                *value = f32::NAN;
            }
        });
    }
    let mut infinite = 0_usize;
    let mut zeros = 0_usize;
    for value in values.iter_mut() {
        zeros += usize::from(*value == 0.0);
        if value.is_infinite() {
            infinite += 1;
            *value = f32::NAN;
        }
    }
    if infinite > 0 {
        warnings.push(Warning::NotFinite { pixels: infinite });
    }
    let share = zeros as f64 / values.len().max(1) as f64;
    if share > ZERO_SHARE_WORTH_A_WARNING && zeros >= FEWEST_ZEROS {
        warnings.push(Warning::ManyZeros { share });
    }
}

/// A frame crossing 0 has a few exact zeros; a thousandth of all pixels is more than chance.
const ZERO_SHARE_WORTH_A_WARNING: f64 = 0.001;

/// Fewer are chance even in a small frame.
const FEWEST_ZEROS: usize = 10;
