//! From the sheet to a PNG file.

use png::{BitDepth, ColorType, Compression, Encoder, EncodingError, Filter, PixelDimensions, Unit};

use super::canvas::{Canvas, colours};
use crate::record::palette::Palette;

/// Width of the printed picture in m: an A4 page less its margins.
const PRINTED_WIDTH_M: f64 = 0.170;

/// Writes the sheet as an indexed PNG that prints 170 mm wide.
///
/// Rows come in repeats of the magnification, so the difference to the row above is nought for all but the first of them:
/// that filter with the fast compressor was the quickest of those tried, and half the size of the same without it.
pub(super) fn encode(canvas: &Canvas, palette: Palette) -> Result<Vec<u8>, EncodingError> {
    let mut bytes = Vec::with_capacity(canvas.indices().len() / 2 + 4096);
    let (width, height) = (canvas.width() as u32, canvas.height() as u32);
    let mut encoder = Encoder::new(&mut bytes, width, height);
    encoder.set_color(ColorType::Indexed);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_palette(colours(palette));
    encoder.set_compression(Compression::Fast);
    encoder.set_filter(Filter::Up);
    let per_metre = (f64::from(width) / PRINTED_WIDTH_M).round() as u32;
    encoder.set_pixel_dims(Some(PixelDimensions { xppu: per_metre, yppu: per_metre, unit: Unit::Meter }));
    let mut writer = encoder.write_header()?;
    writer.write_image_data(canvas.indices())?;
    writer.finish()?;
    Ok(bytes)
}
