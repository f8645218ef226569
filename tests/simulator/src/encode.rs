//! Thermograms as files.

use std::error::Error;
use std::fmt::Write as _;
use std::io::Cursor;

use ndarray::Array2;
use serde::Serialize;
use tiff::encoder::{Compression, DeflateLevel, Predictor, TiffEncoder, colortype};

/// How a frame is stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Format {
    /// 16-bit TIFF, deflate, 0.01 K a count.
    TiffCentikelvin,
    /// 32-bit float TIFF, °C.
    TiffCelsius,
    /// 16-bit PNG, 0.01 K a count.
    PngCentikelvin,
    /// Comma-separated grid, °C with a decimal point.
    CsvComma,
    /// Semicolon-separated grid, °C with a decimal comma.
    CsvSemicolon,
    /// A 16-bit TIFF of which only the first 40 % is there.
    BrokenTiff,
}

impl Format {
    /// The word for its scale in frames.csv.
    pub fn scale(self) -> &'static str {
        match self {
            Self::TiffCentikelvin | Self::PngCentikelvin | Self::BrokenTiff => "centikelvin",
            Self::TiffCelsius | Self::CsvComma | Self::CsvSemicolon => "celsius",
        }
    }

    /// File name ending.
    pub fn ending(self) -> &'static str {
        match self {
            Self::TiffCentikelvin | Self::TiffCelsius | Self::BrokenTiff => "tif",
            Self::PngCentikelvin => "png",
            Self::CsvComma | Self::CsvSemicolon => "csv",
        }
    }
}

/// The bytes of a frame of apparent temperatures, °C.
///
/// # Errors
/// Those of the image writers, which for a picture of sane size do not occur.
pub fn encode(apparent_c: &Array2<f32>, format: Format) -> Result<Vec<u8>, Box<dyn Error>> {
    match format {
        Format::TiffCentikelvin => tiff_centikelvin(apparent_c),
        Format::TiffCelsius => tiff_celsius(apparent_c),
        Format::PngCentikelvin => png_centikelvin(apparent_c),
        Format::CsvComma => Ok(grid(apparent_c, ',', '.')?.into_bytes()),
        Format::CsvSemicolon => Ok(grid(apparent_c, ';', ',')?.into_bytes()),
        Format::BrokenTiff => {
            let mut bytes = tiff_centikelvin(apparent_c)?;
            bytes.truncate(bytes.len() * 2 / 5);
            Ok(bytes)
        }
    }
}

fn size(apparent_c: &Array2<f32>) -> Result<(u32, u32), Box<dyn Error>> {
    let (rows, columns) = apparent_c.dim();
    Ok((u32::try_from(columns)?, u32::try_from(rows)?))
}

fn centikelvin(apparent_c: &Array2<f32>) -> Vec<u16> {
    // `as` saturates at both ends, as a camera does.
    let count = |celsius: &f32| ((celsius + 273.15) * 100.0).round() as u16;
    apparent_c.iter().map(count).collect()
}

fn tiff_centikelvin(apparent_c: &Array2<f32>) -> Result<Vec<u8>, Box<dyn Error>> {
    let (width, height) = size(apparent_c)?;
    let mut bytes = Cursor::new(Vec::new());
    TiffEncoder::new(&mut bytes)?
        .with_compression(Compression::Deflate(DeflateLevel::Best))
        .with_predictor(Predictor::Horizontal)
        .write_image::<colortype::Gray16>(width, height, &centikelvin(apparent_c))?;
    Ok(bytes.into_inner())
}

fn tiff_celsius(apparent_c: &Array2<f32>) -> Result<Vec<u8>, Box<dyn Error>> {
    let (width, height) = size(apparent_c)?;
    let values: Vec<f32> = apparent_c.iter().copied().collect();
    let mut bytes = Cursor::new(Vec::new());
    TiffEncoder::new(&mut bytes)?
        .with_compression(Compression::Deflate(DeflateLevel::Best))
        .write_image::<colortype::Gray32Float>(width, height, &values)?;
    Ok(bytes.into_inner())
}

fn png_centikelvin(apparent_c: &Array2<f32>) -> Result<Vec<u8>, Box<dyn Error>> {
    let (width, height) = size(apparent_c)?;
    let picture = image::ImageBuffer::<image::Luma<u16>, Vec<u16>>::from_raw(width, height, centikelvin(apparent_c))
        .ok_or("picture and size disagree")?;
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Png)?;
    Ok(bytes.into_inner())
}

fn grid(apparent_c: &Array2<f32>, separator: char, point: char) -> Result<String, std::fmt::Error> {
    let mut text = String::new();
    for row in apparent_c.rows() {
        for (column, value) in row.iter().enumerate() {
            if column > 0 {
                text.push(separator);
            }
            write!(text, "{value:.2}")?;
        }
        text.push('\n');
    }
    Ok(if point == '.' { text } else { text.replace('.', ",") })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sixteen_bits_come_back_within_half_a_count() {
        let picture = Array2::from_shape_fn((7, 9), |(r, c)| -20.0 + r as f32 * 1.003 + c as f32 * 0.017);
        let bytes = encode(&picture, Format::PngCentikelvin).unwrap();
        let read = image::load_from_memory(&bytes).unwrap().into_luma16();
        for (pixel, value) in read.pixels().zip(&picture) {
            let celsius = f32::from(pixel.0[0]) / 100.0 - 273.15;
            assert!((celsius - value).abs() < 0.0051);
        }
        let bytes = encode(&picture, Format::TiffCentikelvin).unwrap();
        let mut decoder = tiff::decoder::Decoder::new(Cursor::new(bytes)).unwrap();
        let tiff::decoder::DecodingResult::U16(counts) = decoder.read_image().unwrap() else {
            panic!("not 16-bit");
        };
        assert_eq!(counts, centikelvin(&picture));
        let broken = encode(&picture, Format::BrokenTiff).unwrap();
        let whole = tiff::decoder::Decoder::new(Cursor::new(broken)).and_then(|mut d| d.read_image());
        assert!(whole.is_err());
    }

    #[test]
    fn grid_uses_the_asked_separator_and_point() {
        let picture = Array2::from_shape_vec((2, 2), vec![1.5, -2.25, 0.0, 10.0]).unwrap();
        let bytes = encode(&picture, Format::CsvSemicolon).unwrap();
        assert_eq!(String::from_utf8(bytes).unwrap(), "1,50;-2,25\n0,00;10,00\n");
    }
}
