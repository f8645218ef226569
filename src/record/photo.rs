//! Photographs for the record: read within limits, turned upright, made small enough to be sent about.

use std::collections::BTreeMap;
use std::io::Cursor;
use std::path::Path;

use image::codecs::jpeg::JpegEncoder;
use image::imageops::FilterType;
use image::metadata::Orientation;
use image::{DynamicImage, ImageDecoder, ImageReader, Limits as ImageLimits};

use crate::digest;
use crate::read::{self, Limits};
use crate::register::Register;
use crate::register::around::Around;

/// Longest side of a photograph in the record, px.
const LONGEST: u32 = 1000;
/// Quality of the JPEG that is kept, per cent.
const QUALITY: u8 = 78;

/// What became of a photograph that the sheets name.
#[derive(Debug, Clone)]
enum Outcome {
    Shown(Vec<u8>),
    Missing(String),
}

/// The photographs that the sheets name.
#[derive(Debug, Clone, Default)]
pub struct Photos {
    photos: BTreeMap<String, (Outcome, Option<String>)>,
}

impl Photos {
    /// Reads every photograph that `frames` and `observations` name. One that is missing or cannot be read is told of in
    /// the record, and stops nothing.
    #[must_use]
    pub fn read(folder: &Path, register: &Register, around: &Around, limits: &Limits) -> Self {
        let frames = register.frames.iter().filter_map(|row| row.visible_file.as_ref());
        let walk = around.observations.iter().filter_map(|o| o.photo_file.as_ref());
        let mut photos = BTreeMap::new();
        for path in frames.chain(walk) {
            photos
                .entry(path.clone())
                .or_insert_with(|| one(&folder.join(path), limits));
        }
        Self { photos }
    }

    /// The photograph as JPEG, or why it is not shown.
    ///
    /// # Errors
    /// Why it is not shown.
    pub fn get(&self, path: &str) -> Result<&[u8], &str> {
        match self.photos.get(path) {
            Some((Outcome::Shown(jpeg), _)) => Ok(jpeg),
            Some((Outcome::Missing(why), _)) => Err(why),
            None => Err("it was not read"),
        }
    }

    /// Photographs that are shown, by path.
    pub fn shown(&self) -> impl Iterator<Item = (&str, &[u8])> {
        self.photos.iter().filter_map(|(path, (outcome, _))| match outcome {
            Outcome::Shown(jpeg) => Some((path.as_str(), jpeg.as_slice())),
            Outcome::Missing(_) => None,
        })
    }

    /// Photographs that are not shown, by path, with the reason.
    pub fn missing(&self) -> impl Iterator<Item = (&str, &str)> {
        self.photos.iter().filter_map(|(path, (outcome, _))| match outcome {
            Outcome::Shown(_) => None,
            Outcome::Missing(why) => Some((path.as_str(), why.as_str())),
        })
    }

    /// Every photograph's path with the SHA-256 of its bytes, where it could be read.
    pub fn hashes(&self) -> impl Iterator<Item = (&str, Option<&str>)> {
        self.photos
            .iter()
            .map(|(path, (_, hash))| (path.as_str(), hash.as_deref()))
    }
}

fn one(path: &Path, limits: &Limits) -> (Outcome, Option<String>) {
    let bytes = match read::read_bytes(path, limits) {
        Ok(bytes) => bytes,
        Err(problem) => return (Outcome::Missing(problem.to_string()), None),
    };
    let hash = Some(digest::sha256(&bytes));
    match shrink(&bytes, limits) {
        Ok(jpeg) => (Outcome::Shown(jpeg), hash),
        Err(problem) => (Outcome::Missing(format!("cannot be shown: {problem}")), hash),
    }
}

/// Upright and small, as JPEG. The same bytes for the same photograph, and nothing of what its file says about the camera
/// or the place.
fn shrink(bytes: &[u8], limits: &Limits) -> Result<Vec<u8>, image::ImageError> {
    let mut reader = ImageReader::new(Cursor::new(bytes)).with_guessed_format()?;
    let mut guard = ImageLimits::default();
    // Four bytes a pixel, and as much again while it is turned.
    guard.max_alloc = Some(limits.max_pixels.saturating_mul(8));
    reader.limits(guard);
    let mut decoder = reader.into_decoder()?;
    let orientation = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let mut image = DynamicImage::from_decoder(decoder)?;
    image.apply_orientation(orientation);
    if image.width().max(image.height()) > LONGEST {
        image = image.resize(LONGEST, LONGEST, FilterType::Triangle);
    }
    let mut jpeg = Vec::new();
    image
        .to_rgb8()
        .write_with_encoder(JpegEncoder::new_with_quality(&mut jpeg, QUALITY))?;
    Ok(jpeg)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_large_photograph_becomes_small_and_what_is_none_is_told() {
        let mut png = Vec::new();
        DynamicImage::new_rgb8(1600, 1200)
            .write_to(&mut Cursor::new(&mut png), image::ImageFormat::Png)
            .unwrap();
        let jpeg = shrink(&png, &Limits::default()).unwrap();
        let shown = image::load_from_memory(&jpeg).unwrap();
        assert_eq!((shown.width(), shown.height()), (1000, 750));
        assert_eq!(jpeg, shrink(&png, &Limits::default()).unwrap());
        assert!(shrink(b"no picture", &Limits::default()).is_err());
    }
}
