//! The annotated picture of one frame: what was measured, where it departs, what was not seen, and the caution.
//!
//! What comes in: a temperature map and plain lists of what to show on it. What is guaranteed out: a PNG with the same
//! bytes for the same input, made to be printed 170 mm wide and read at arm's length, in colour or in grey. No meaning
//! hangs on colour alone: lines differ in weight and dash, tags in shape, places not seen are hatched. What is not
//! handled: deciding what is worth showing, and the wording of the strip.

mod axis;
mod bar;
mod canvas;
mod deflate;
mod encode;
mod field;
mod layout;
mod marks;
mod rings;
mod scale_bar;
mod strip;
mod stroke;
mod tags;
mod text;

use std::cell::RefCell;

use ndarray::Array2;

use super::palette::Palette;
use canvas::Canvas;
use field::Steps;
use layout::{Layout, Zoom};
use scale_bar::Scale;
use strip::{Sign, Writer};
use tags::Ground;
use text::Face;

/// Most readings of a frame that is drawn.
const MOST_READINGS: usize = 40_000_000;
/// Narrowest range shown, in K: below it the picture would be nothing but the camera's noise.
const NARROWEST_RANGE_K: f64 = 0.5;

/// Everything the picture of one frame shows.
#[derive(Debug, Clone)]
pub struct Annotation<'a> {
    /// Temperatures in °C, rows × columns as the image is seen; NaN where there is no reading.
    pub map_c: &'a Array2<f32>,
    /// What the map holds.
    pub quantity: Quantity,
    /// Coldest and warmest temperature of the colour scale in °C; readings beyond are shown at its ends, and the scale
    /// then says "≤" or "≥". A range narrower than 0.5 K is widened about its middle.
    pub range_c: (f64, f64),
    /// Open colour map of the readings.
    pub palette: Palette,
    /// Temperatures on the scale, and nothing else, are shown in these units; texts come as they are.
    pub units: Units,
    /// Sound jacket in °C, pointed out on the scale where it lies within the range.
    pub sound_c: Option<f64>,
    /// Dew point in °C, pointed out on the scale where it lies within the range.
    pub dew_point_c: Option<f64>,
    /// The asset's outline in image pixels (first pixel's centre at 0, 0); empty where it was not found.
    pub outline_px: &'a [[f64; 2]],
    /// True where the asset was not usefully seen (hidden, too steep, no reading): hatched. Shaped as the map.
    pub unseen: Option<&'a Array2<bool>>,
    /// Zones and what was set aside, in the order in which tags choose their places.
    pub marks: Vec<Mark>,
    /// Metres along the asset: ticks at its edge, in order.
    pub axis: Vec<AxisTick>,
    /// The colour bar that the temperatures were read from, x y w h in image pixels, so that a wrong one is seen at once.
    pub bar_px: Option<[f64; 4]>,
    /// The text below the picture.
    pub strip: Strip,
}

/// What a temperature map holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Temperatures of the surface, corrected for emissivity and reflection.
    Surface,
    /// Temperatures as read, uncorrected.
    Apparent,
}

/// Unit of the temperatures on the scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Units {
    /// °C.
    Si,
    /// °F.
    Us,
}

impl Units {
    const fn sign(self) -> &'static str {
        match self {
            Self::Si => "°C",
            Self::Us => "°F",
        }
    }

    /// t_F = 1.8 t_C + 32
    fn shown(self, temperature_c: f64) -> f64 {
        match self {
            Self::Si => temperature_c,
            Self::Us => 1.8 * temperature_c + 32.0,
        }
    }

    fn celsius(self, shown: f64) -> f64 {
        match self {
            Self::Si => shown,
            Self::Us => (shown - 32.0) / 1.8,
        }
    }
}

/// Something outlined on the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Number or letter of its tag, as in the list; at most eight characters are shown.
    pub label: String,
    /// What it is.
    pub kind: MarkKind,
    /// Its outline in image pixels.
    pub outline_px: Vec<[f64; 2]>,
}

/// What a mark is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MarkKind {
    /// A zone to follow up: heavy line, boxed number.
    Finding,
    /// Something set aside: dashed line, letter in a box with cut corners.
    SetAside,
}

/// A place along the asset's edge.
#[derive(Debug, Clone, PartialEq)]
pub struct AxisTick {
    /// The place in image pixels.
    pub px: [f64; 2],
    /// What it says, such as `1.5` or `2 m`.
    pub label: String,
}

/// The text below the picture, in the words and units it is to be read in.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Strip {
    /// The asset's tag and what it is; two lines at most.
    pub title: String,
    /// Date, conditions, sound jacket, dew point, usability …; at most 16, each wrapped to at most 4 lines.
    pub lines: Vec<String>,
    /// One a zone; up to 6 below each other, more in two columns, beyond 60 only counted.
    pub zone_lines: Vec<ZoneLine>,
    /// What every page says; boxed, at most 8 lines.
    pub caution: String,
}

/// A zone in the list below the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneLine {
    /// The label of its mark.
    pub label: String,
    /// The kind of its mark.
    pub kind: MarkKind,
    /// What is said of it, most important first: at most two lines, one where there are more than 16 zones.
    pub text: String,
}

/// Why there is no picture.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// No readings, or too many.
    #[error(
        "map of {columns} × {rows} readings (1 to 40 million accepted); hint: export the frame at the detector's own size"
    )]
    Size {
        /// Columns of the map.
        columns: usize,
        /// Rows of the map.
        rows: usize,
    },
    /// The mask of places not seen has another shape than the map.
    #[error(
        "mask of {mask_columns} × {mask_rows} places for a map of {columns} × {rows} (the same accepted); hint: build the mask from the map"
    )]
    Mask {
        /// Columns of the mask.
        mask_columns: usize,
        /// Rows of the mask.
        mask_rows: usize,
        /// Columns of the map.
        columns: usize,
        /// Rows of the map.
        rows: usize,
    },
    /// The shown range is no range.
    #[error(
        "shown range {low_c} to {high_c} °C (two finite temperatures within ±10000 °C, lower first, accepted); hint: take it from the map's own readings"
    )]
    Range {
        /// Coldest shown.
        low_c: f64,
        /// Warmest shown.
        high_c: f64,
    },
    /// The embedded face does not read: a fault of the build.
    #[error("the face built into the program cannot be read; hint: install the program again")]
    Face(#[from] ab_glyph::InvalidFont),
    /// The picture could not be packed.
    #[error("the picture cannot be packed as PNG: {0}; hint: check the memory left")]
    Encode(#[from] png::EncodingError),
}

thread_local! {
    // Rasterised glyphs outlive the picture: a survey draws the same few hundred on every frame.
    static FACE: RefCell<Option<Face>> = const { RefCell::new(None) };
}

/// Draws the picture as the bytes of an 8-bit indexed PNG; the same input gives the same bytes.
///
/// # Errors
/// Where the map is empty or beyond 40 million readings, the mask has another shape, or the range is no range.
pub fn draw(annotation: &Annotation) -> Result<Vec<u8>, Error> {
    let canvas = compose(annotation)?;
    Ok(encode::encode(&canvas, annotation.palette)?)
}

fn compose(annotation: &Annotation) -> Result<Canvas, Error> {
    check_shapes(annotation)?;
    let range_c = shown_range(annotation.range_c)?;
    FACE.with_borrow_mut(|kept| {
        let mut face = match kept.take() {
            Some(face) => face,
            None => Face::read()?,
        };
        let canvas = paint(annotation, range_c, &mut face);
        *kept = Some(face);
        Ok(canvas)
    })
}

/// Picture first, then what stands on it, then the text below.
fn paint(annotation: &Annotation, range_c: (f64, f64), face: &mut Face) -> Canvas {
    let (rows, columns) = annotation.map_c.dim();
    let layout = Layout::of(columns, rows);
    let top = layout.frame.bottom.max(scale_bar::bottom(&layout));
    let mut canvas = Canvas::blank(layout.width as usize, top as usize, (top + layout.px(700.0)) as usize);
    field::paint(&mut canvas, annotation.map_c, Steps::over(range_c), &layout);
    if let Some(mask) = annotation.unseen {
        field::hatch(&mut canvas, mask, &layout);
    }
    let mut ground = Ground::clear(&layout);
    let asset = marks::ring(&layout, annotation.outline_px);
    stroke::closed(&mut canvas, &asset, &marks::outline_stroke(&layout), layout.frame);
    ground.avoid_outline(&asset);
    if let Some(bar_px) = annotation.bar_px {
        bar::draw(&mut canvas, face, bar_px, &mut ground);
    }
    axis::draw(&mut canvas, face, &annotation.axis, &mut ground, middle(&asset));
    marks::draw(&mut canvas, face, &annotation.marks, &mut ground);
    let beyond = field::beyond(annotation.map_c, range_c);
    let pointers = [
        ("sound jacket", annotation.sound_c),
        ("dew point", annotation.dew_point_c),
    ];
    let pointers: Vec<_> = pointers
        .into_iter()
        .filter_map(|(name, at_c)| Some((name, at_c?)))
        .collect();
    let (units, quantity) = (annotation.units, annotation.quantity);
    let scale = Scale {
        range_c,
        beyond,
        units,
        quantity,
        pointers: &pointers,
    };
    scale_bar::draw(&mut canvas, face, &layout, &scale);
    let mut writer = Writer {
        canvas: &mut canvas,
        face,
        layout: &layout,
        top,
    };
    writer.key(&signs(annotation, &layout, beyond.missing));
    writer.strip(&annotation.strip);
    canvas
}

/// Signs that occur in the picture, in the key's order.
fn signs(annotation: &Annotation, layout: &Layout, missing: bool) -> Vec<Sign> {
    let marked = |kind| annotation.marks.iter().any(|mark| mark.kind == kind);
    let hatched = annotation.unseen.is_some_and(|mask| mask.iter().any(|&unseen| unseen));
    let occurs = [
        (Sign::Outline, !annotation.outline_px.is_empty()),
        (Sign::Finding, marked(MarkKind::Finding)),
        (Sign::SetAside, marked(MarkKind::SetAside)),
        (Sign::Unseen, hatched),
        (Sign::Missing, missing),
        (Sign::Thinned, matches!(layout.zoom, Zoom::Thinned(_))),
    ];
    occurs
        .into_iter()
        .filter_map(|(sign, occurs)| occurs.then_some(sign))
        .collect()
}

/// A range that shows an asset well: nearly all readings inside its outline (of the whole map where it has none) with a
/// margin, to half a kelvin. Frosted nozzles and a warm wall beside the asset are then shown at the ends of the scale.
///
/// At most some ten thousand readings are looked at. A map without readings gives 0 to 1 °C.
#[must_use]
pub fn fitting_range(map_c: &Array2<f32>, outline_px: &[[f64; 2]]) -> (f64, f64) {
    let mut readings = sampled(map_c, outline_px);
    if readings.is_empty() {
        readings = sampled(map_c, &[]);
    }
    let mut at = |share: f64| {
        let rank = (share * readings.len().saturating_sub(1) as f64).round() as usize;
        (rank < readings.len()).then(|| *readings.select_nth_unstable_by(rank, f32::total_cmp).1)
    };
    let (Some(low), Some(high)) = (at(0.005), at(0.995)) else {
        return (0.0, 1.0);
    };
    let (low, high) = (f64::from(low).max(-1e3), f64::from(high).min(9e3));
    let margin = (0.08 * (high - low)).max(0.25);
    (
        ((low - margin) * 2.0).floor() / 2.0,
        ((high + margin) * 2.0).ceil() / 2.0,
    )
}

/// Readings on a grid, inside the ring where there is one.
fn sampled(map_c: &Array2<f32>, ring: &[[f64; 2]]) -> Vec<f32> {
    let ring: Vec<[f32; 2]> = ring.iter().map(|point| point.map(|v| v as f32)).collect();
    let (rows, columns) = map_c.dim();
    let step = ((rows * columns) as f64 / 20_000.0).sqrt().ceil().max(1.0) as usize;
    let mut readings = Vec::new();
    for row in (0..rows).step_by(step) {
        let whole = [0.0, columns as f32];
        let crossed = if ring.is_empty() {
            whole.to_vec()
        } else {
            tags::crossings(&ring, row as f32)
        };
        for pair in crossed.chunks_exact(2) {
            let (from, to) = (
                pair[0].max(0.0).ceil() as usize,
                pair[1].min(columns as f32 - 1.0).max(-1.0),
            );
            let inside = (from..columns).step_by(step).take_while(|column| *column as f32 <= to);
            readings.extend(
                inside
                    .filter_map(|column| map_c.get((row, column)).copied())
                    .filter(|v| v.is_finite()),
            );
        }
    }
    readings
}

/// Mean of the outline's points.
fn middle(ring: &[[f32; 2]]) -> [f32; 2] {
    let count = ring.len().max(1) as f32;
    [0, 1].map(|axis| ring.iter().map(|point| point[axis]).sum::<f32>() / count)
}

fn check_shapes(annotation: &Annotation) -> Result<(), Error> {
    let (rows, columns) = annotation.map_c.dim();
    if rows == 0 || columns == 0 || rows.saturating_mul(columns) > MOST_READINGS {
        return Err(Error::Size { columns, rows });
    }
    match annotation.unseen.map(Array2::dim) {
        Some((mask_rows, mask_columns)) if (mask_rows, mask_columns) != (rows, columns) => Err(Error::Mask {
            mask_columns,
            mask_rows,
            columns,
            rows,
        }),
        _ => Ok(()),
    }
}

fn shown_range((low_c, high_c): (f64, f64)) -> Result<(f64, f64), Error> {
    // NaN fails each comparison.
    if !(low_c > -1e4 && high_c < 1e4 && low_c <= high_c) {
        return Err(Error::Range { low_c, high_c });
    }
    let lacking = (NARROWEST_RANGE_K - (high_c - low_c)).max(0.0) / 2.0;
    Ok((low_c - lacking, high_c + lacking))
}

#[cfg(test)]
mod tests;
