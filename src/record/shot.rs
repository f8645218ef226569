//! What the record shows of a frame: its picture without lettering, its temperatures in few bytes, a thumbnail a zone.
//!
//! Taken while the frame's temperatures are in memory. The figure itself is drawn over it later, as vectors, so that HTML
//! and PDF show the same one.

use std::collections::BTreeMap;

use ndarray::Array2;
use serde::{Deserialize, Serialize};

use super::annotate;
use super::base64;
use super::palette::Palette;
use super::picture::Page;
use crate::assess::Extent;

mod thumbnail;
mod values;

pub use values::Values;

/// Readings of the picture that a page shows: more than a page 170 mm wide can print.
const PICTURE_READINGS: usize = 310_000;
/// Side of the blocks in which places not seen are told, as a share of the picture's width.
const BLOCKS: usize = 120;

/// How the record's frames are drawn.
#[derive(Debug, Clone, Copy)]
pub struct Look {
    /// Colour map.
    pub palette: Palette,
}

/// What the record shows of a frame.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Shot {
    /// Index of the frame in the register.
    pub frame: usize,
    /// Columns and rows of the image.
    pub size_px: (usize, usize),
    /// The temperatures as a picture, PNG, without lettering.
    #[serde(with = "base64::as_text")]
    pub png: Vec<u8>,
    /// Temperatures at the ends of its colours, °C.
    pub range_c: (f64, f64),
    /// Colour map it is drawn in.
    pub palette: Palette,
    /// Apparent temperatures at reduced resolution.
    pub values: Values,
    /// Places on the asset that were not usefully seen: runs of blocks, x y w h in image pixels.
    pub unseen_px: Vec<[f64; 4]>,
    /// Metres along the asset's far side: (metres, image pixel).
    pub axis_px: Vec<(f64, [f64; 2])>,
    /// Sound jacket as an apparent temperature in °C.
    pub sound_apparent_c: Option<f64>,
    /// A cut-out a zone whose best sighting is in this frame, PNG, by the zone's name.
    pub thumbnails: BTreeMap<String, Thumbnail>,
}

/// A cut-out of a picture, PNG.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Thumbnail(#[serde(with = "base64::as_text")] pub Vec<u8>);

/// Takes what the record shows of a frame.
///
/// # Errors
/// Why a picture could not be encoded.
pub fn take(page: &Page, look: &Look) -> Result<Shot, String> {
    let map = &page.picture.map_c;
    let report = page.report;
    let range_c = annotate::fitting_range(map, &report.outline_px);
    let mut thumbnails = BTreeMap::new();
    for zone in page.zones {
        let Some(best) = zone.sightings.first().filter(|s| s.frame == report.frame) else {
            continue;
        };
        let outline_px = match zone.finding.extent {
            Extent::General => &report.outline_px,
            Extent::Local => &best.outline_px,
        };
        let cut = thumbnail::Cut {
            map,
            range_c,
            palette: look.palette,
            outline_px,
        };
        thumbnails.insert(zone.id.clone(), Thumbnail(cut.png()?));
    }
    let (rows, columns) = map.dim();
    Ok(Shot {
        frame: report.frame,
        size_px: (columns, rows),
        png: picture(map, range_c, look.palette)?,
        range_c,
        palette: look.palette,
        values: Values::of(map),
        unseen_px: unseen(&page.picture.unseen),
        axis_px: page.picture.axis_px.clone(),
        sound_apparent_c: page.picture.sound_apparent_c,
        thumbnails,
    })
}

/// Side of the blocks that make at most so many of a map.
fn block_side(readings: usize, most: usize) -> usize {
    let mut side = 1;
    while readings / (side * side) > most {
        side += 1;
    }
    side
}

/// The map by blocks of `side` × `side` readings, each the mean of those that are there; NaN where none is.
fn blocks(map: &Array2<f32>, side: usize) -> Array2<f32> {
    let (rows, columns) = map.dim();
    let shape = (rows.div_ceil(side), columns.div_ceil(side));
    Array2::from_shape_fn(shape, |(row, column)| {
        let (mut sum, mut count) = (0.0f64, 0u32);
        for y in row * side..((row + 1) * side).min(rows) {
            for x in column * side..((column + 1) * side).min(columns) {
                let value = map[[y, x]];
                if value.is_finite() {
                    sum += f64::from(value);
                    count += 1;
                }
            }
        }
        if count == 0 {
            f32::NAN
        } else {
            (sum / f64::from(count)) as f32
        }
    })
}

/// Colours of a picture: every palette step, and one for places without a reading.
const STEPS: u8 = 254;
const NOTHING: u8 = 255;
/// Grey of places without a reading.
const NOTHING_RGB: [u8; 3] = [128, 128, 128];

/// The palette step of a temperature.
fn step(value_c: f32, (low_c, high_c): (f64, f64)) -> u8 {
    if !value_c.is_finite() {
        return NOTHING;
    }
    let share = (f64::from(value_c) - low_c) / (high_c - low_c).max(1e-6);
    (share.clamp(0.0, 1.0) * f64::from(STEPS - 1)).round() as u8
}

fn picture(map: &Array2<f32>, range_c: (f64, f64), palette: Palette) -> Result<Vec<u8>, String> {
    let map = blocks(map, block_side(map.len(), PICTURE_READINGS));
    let (rows, columns) = map.dim();
    let indices: Vec<u8> = map.iter().map(|&value| step(value, range_c)).collect();
    let mut colours: Vec<u8> = palette.steps(STEPS).flatten().collect();
    colours.extend([0, 0, 0]);
    colours.extend(NOTHING_RGB);
    encode(&indices, (columns, rows), Some(colours))
}

/// An indexed (with colours) or RGB picture as PNG.
fn encode(bytes: &[u8], (width, height): (usize, usize), colours: Option<Vec<u8>>) -> Result<Vec<u8>, String> {
    let side = |length: usize| u32::try_from(length).map_err(|error| error.to_string());
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, side(width)?, side(height)?);
    encoder.set_depth(png::BitDepth::Eight);
    match colours {
        Some(colours) => {
            encoder.set_color(png::ColorType::Indexed);
            encoder.set_palette(colours);
        }
        None => encoder.set_color(png::ColorType::Rgb),
    }
    let mut writer = encoder.write_header().map_err(|error| error.to_string())?;
    writer.write_image_data(bytes).map_err(|error| error.to_string())?;
    writer.finish().map_err(|error| error.to_string())?;
    Ok(out)
}

/// Runs of blocks of which most was not usefully seen.
fn unseen(mask: &Array2<bool>) -> Vec<[f64; 4]> {
    let (rows, columns) = mask.dim();
    let side = columns.max(rows).div_ceil(BLOCKS).max(1);
    let mut runs = Vec::new();
    for row in 0..rows.div_ceil(side) {
        let mut from = None;
        for column in 0..=columns.div_ceil(side) {
            let hidden = column < columns.div_ceil(side) && mostly(mask, (row * side, column * side), side);
            match (hidden, from) {
                (true, None) => from = Some(column),
                (false, Some(first)) => {
                    let (x, y) = ((first * side) as f64, (row * side) as f64);
                    let right = ((column * side).min(columns)) as f64;
                    let bottom = (((row + 1) * side).min(rows)) as f64;
                    // The first pixel's centre stands at 0, 0.
                    runs.push([x - 0.5, y - 0.5, right - x, bottom - y]);
                    from = None;
                }
                _ => {}
            }
        }
    }
    runs
}

fn mostly(mask: &Array2<bool>, (top, left): (usize, usize), side: usize) -> bool {
    let (rows, columns) = mask.dim();
    let (mut yes, mut all) = (0, 0);
    for y in top..(top + side).min(rows) {
        for x in left..(left + side).min(columns) {
            all += 1;
            yes += usize::from(mask[[y, x]]);
        }
    }
    2 * yes > all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blocks_are_means_of_what_is_there() {
        let map = Array2::from_shape_vec((2, 3), vec![1.0, 3.0, f32::NAN, 5.0, f32::NAN, f32::NAN]).unwrap();
        let small = blocks(&map, 2);
        assert_eq!(small.dim(), (1, 2));
        assert_eq!(small[[0, 0]], 3.0);
        assert!(small[[0, 1]].is_nan());
    }

    #[test]
    fn unseen_places_become_runs() {
        let mut mask = Array2::from_elem((2, 5), false);
        for x in 1..4 {
            mask[[0, x]] = true;
        }
        assert_eq!(unseen(&mask), vec![[0.5, -0.5, 3.0, 1.0]]);
    }

    #[test]
    fn a_picture_has_one_colour_a_step_and_grey_for_nothing() {
        let map = Array2::from_shape_vec((1, 3), vec![0.0, 10.0, f32::NAN]).unwrap();
        let png = picture(&map, (0.0, 10.0), Palette::Grey).unwrap();
        let shown = image::load_from_memory(&png).unwrap().to_rgb8();
        assert_eq!(shown.get_pixel(0, 0).0, Palette::Grey.colour(0.0));
        assert_eq!(shown.get_pixel(1, 0).0, Palette::Grey.colour(1.0));
        assert_eq!(shown.get_pixel(2, 0).0, NOTHING_RGB);
    }
}
