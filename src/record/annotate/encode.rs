//! From the sheet to a PNG file.

use png::{BitDepth, ColorType, Encoder, EncodingError, PixelDimensions, Unit};

use super::canvas::{Canvas, colours};
use super::deflate;
use crate::record::palette::Palette;

/// Width of the printed picture in m: an A4 page less its margins.
const PRINTED_WIDTH_M: f64 = 0.170;

/// Writes the sheet as an indexed PNG that prints 170 mm wide.
///
/// The rows are compressed by [`deflate`]: on a 640 × 512 frame the png crate's own fastest way takes half as long again.
pub(super) fn encode(canvas: &Canvas, palette: Palette) -> Result<Vec<u8>, EncodingError> {
    let rows = deflate::compress(canvas.indices(), canvas.width());
    let mut bytes = Vec::with_capacity(rows.len() + 2048);
    let (width, height) = (canvas.width() as u32, canvas.height() as u32);
    let mut encoder = Encoder::new(&mut bytes, width, height);
    encoder.set_color(ColorType::Indexed);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_palette(colours(palette));
    let per_metre = (f64::from(width) / PRINTED_WIDTH_M).round() as u32;
    encoder.set_pixel_dims(Some(PixelDimensions {
        xppu: per_metre,
        yppu: per_metre,
        unit: Unit::Meter,
    }));
    let mut writer = encoder.write_header()?;
    writer.write_chunk(png::chunk::IDAT, &rows)?;
    writer.finish()?;
    Ok(bytes)
}
