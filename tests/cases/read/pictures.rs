//! PNG and JPEG: grey levels as stored, colours as pictures.

use std::io::Cursor;

use coldjacket::read::{Stored, StoredKind, Warning};
use image::{ExtendedColorType, ImageEncoder, codecs::jpeg::JpegEncoder};
use ndarray::array;
use png::{BitDepth, ColorType, Encoder};

use super::{decoded, picture_row, refusal, survives_damage, values};

fn png_file(columns: u32, rows: u32, colour: ColorType, depth: BitDepth, data: &[u8]) -> Vec<u8> {
    png_with(columns, rows, (colour, depth), data, |_| {})
}

fn png_with(
    columns: u32,
    rows: u32,
    (colour, depth): (ColorType, BitDepth),
    data: &[u8],
    set: impl Fn(&mut Encoder<'_, &mut Vec<u8>>),
) -> Vec<u8> {
    let mut file = Vec::new();
    let mut encoder = Encoder::new(&mut file, columns, rows);
    encoder.set_color(colour);
    encoder.set_depth(depth);
    set(&mut encoder);
    let mut writer = encoder.write_header().unwrap();
    writer.write_image_data(data).unwrap();
    writer.finish().unwrap();
    file
}

#[test]
fn grey_levels_are_kept_as_stored() {
    let sixteen = png_file(2, 1, ColorType::Grayscale, BitDepth::Sixteen, &[0x74, 0x4B, 0xFF, 0xFE]);
    let frame = decoded(&sixteen).unwrap();
    assert_eq!(frame.kind(), StoredKind::Counts16);
    assert_eq!(frame.stored(), &Stored::U16(array![[0x744B, 0xFFFE]]));
    let eight = png_file(3, 1, ColorType::Grayscale, BitDepth::Eight, &[0, 7, 255]);
    assert_eq!(decoded(&eight).unwrap().stored(), &Stored::U8(array![[0, 7, 255]]));
    // Levels of fewer bits are not stretched to 0 to 255.
    let four = png_file(3, 2, ColorType::Grayscale, BitDepth::Four, &[0x12, 0x30, 0xF0, 0x10]);
    assert_eq!(values(&decoded(&four).unwrap()), [1.0, 2.0, 3.0, 15.0, 0.0, 1.0]);
    let one = png_file(9, 1, ColorType::Grayscale, BitDepth::One, &[0b1010_0000, 0x80]);
    assert_eq!(
        values(&decoded(&one).unwrap()),
        [1.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0]
    );
}

#[test]
fn transparent_pixels_are_no_reading() {
    let alpha = png_file(
        2,
        1,
        ColorType::GrayscaleAlpha,
        BitDepth::Sixteen,
        &[0, 9, 255, 255, 0, 8, 0, 0],
    );
    let frame = decoded(&alpha).unwrap();
    assert_eq!(frame.stored(), &Stored::U16(array![[9, 8]]));
    assert_eq!(frame.no_reading(), Some(&array![[false, true]]));
    assert_eq!(frame.warnings(), [Warning::TransparencyDropped { pixels: 1 }]);
    let level = png_with(2, 1, (ColorType::Grayscale, BitDepth::Eight), &[5, 6], |encoder| {
        encoder.set_trns(vec![0_u8, 6]);
    });
    assert_eq!(decoded(&level).unwrap().no_reading(), Some(&array![[false, true]]));
    let rgba = png_file(2, 1, ColorType::Rgba, BitDepth::Eight, &[1, 2, 3, 0, 4, 5, 6, 9]);
    let frame = decoded(&rgba).unwrap();
    assert_eq!(frame.stored(), &picture_row(&[[1, 2, 3], [4, 5, 6]]));
    assert_eq!(frame.no_reading(), Some(&array![[true, false]]));
}

#[test]
fn colours_are_pictures() {
    let rgb = png_file(1, 1, ColorType::Rgb, BitDepth::Eight, &[1, 2, 3]);
    assert_eq!(decoded(&rgb).unwrap().stored(), &picture_row(&[[1, 2, 3]]));
    let deep = png_file(1, 1, ColorType::Rgb, BitDepth::Sixteen, &[1, 0, 2, 0, 3, 0]);
    let frame = decoded(&deep).unwrap();
    assert_eq!(frame.stored(), &picture_row(&[[1, 2, 3]]));
    assert_eq!(frame.warnings(), [Warning::ColoursNarrowed]);
    let palette = png_with(2, 1, (ColorType::Indexed, BitDepth::Eight), &[1, 0], |encoder| {
        encoder.set_palette(vec![9_u8, 8, 7, 6, 5, 4]);
    });
    assert_eq!(
        decoded(&palette).unwrap().stored(),
        &picture_row(&[[6, 5, 4], [9, 8, 7]])
    );
}

#[test]
fn a_png_cut_anywhere_or_with_a_flipped_bit_is_refused() {
    let data: Vec<u8> = (0..60_u32 * 40 * 2).map(|i| (i * i % 251) as u8).collect();
    let file = png_file(60, 40, ColorType::Grayscale, BitDepth::Sixteen, &data);
    assert!(decoded(&file).is_ok());
    for end in (0..file.len()).step_by(7) {
        assert!(decoded(&file[..end]).is_err(), "cut at {end}");
    }
    for at in (60..file.len() - 12).step_by(97) {
        let mut flipped = file.clone();
        flipped[at] ^= 0x10;
        assert!(refusal(&flipped).contains("damaged PNG"), "flipped at {at}");
    }
    survives_damage(&file, 50);
}

/// A picture whose left half is dark and right half bright.
fn jpeg_file(colour: ExtendedColorType) -> Vec<u8> {
    let samples = if colour == ExtendedColorType::L8 { 1 } else { 3 };
    let data: Vec<u8> = (0..32 * 16)
        .flat_map(|i| vec![if i % 32 < 16 { 20 } else { 220 }; samples])
        .collect();
    let mut file = Cursor::new(Vec::new());
    JpegEncoder::new_with_quality(&mut file, 95)
        .write_image(&data, 32, 16, colour)
        .unwrap();
    file.into_inner()
}

/// The same file with an Exif block right behind its start.
fn with_exif(file: &[u8], orientation: u8) -> Vec<u8> {
    let block = super::tiff_writer::Page::plain(1, 8, 1, vec![0])
        .tag(274, super::tiff_writer::Held::Short(vec![u16::from(orientation)]))
        .tag(36867, super::tiff_writer::Held::Text("2026:03:14 09:05:00"))
        .write();
    let mut out = file[..2].to_vec();
    out.extend([0xFF, 0xE1]);
    out.extend((block.len() as u16 + 8).to_be_bytes());
    out.extend(b"Exif\0\0");
    out.extend(block);
    out.extend(&file[2..]);
    out
}

#[test]
fn jpegs_read_grey_or_colour() {
    let grey = decoded(&jpeg_file(ExtendedColorType::L8)).unwrap();
    assert_eq!(
        (grey.kind(), grey.columns(), grey.rows()),
        (StoredKind::Counts8, 32, 16)
    );
    let read = values(&grey);
    assert!(
        (read[0] - 20.0).abs() <= 3.0 && (read[31] - 220.0).abs() <= 3.0,
        "{read:?}"
    );
    let colour = decoded(&jpeg_file(ExtendedColorType::Rgb8)).unwrap();
    assert_eq!(colour.kind(), StoredKind::Picture);
}

#[test]
fn exif_turns_a_jpeg_upright_and_dates_it() {
    let frame = decoded(&with_exif(&jpeg_file(ExtendedColorType::L8), 6)).unwrap();
    assert_eq!((frame.columns(), frame.rows()), (16, 32));
    let upright = frame.values().unwrap();
    // A quarter clockwise: what was left is now on top.
    assert!(upright[[0, 8]] < 60.0 && upright[[31, 8]] > 180.0);
    assert_eq!(frame.captured_at(), Some("2026-03-14T09:05:00"));
}

#[test]
fn a_jpeg_cut_anywhere_is_refused() {
    let file = with_exif(&jpeg_file(ExtendedColorType::Rgb8), 1);
    assert!(decoded(&file).is_ok());
    for end in 1..file.len() {
        assert!(decoded(&file[..end]).is_err(), "cut at {end}");
    }
    survives_damage(&file, 50);
}
