//! TIFF: every layout claimed reads exactly; the rest is refused by name.

use std::io::Cursor;

use coldjacket::read::{Limits, Stored, StoredKind, Warning, decode};
use ndarray::array;
use tiff::encoder::{Compression, Predictor, TiffEncoder, colortype};

use super::tiff_writer::{Held, Packing, Page, Tiling};
use super::{decoded, picture_row, refusal, survives_damage, values};

const COLUMNS: usize = 37;
const ROWS: usize = 21;

/// A sample type: bits, sample format, the value of pixel `i`, and its bytes big end first.
type Kind = (u16, u16, StoredKind, fn(usize) -> (f32, Vec<u8>));

fn kinds() -> Vec<Kind> {
    vec![
        (8, 1, StoredKind::Counts8, |i| {
            let v = (i * 31 % 256) as u8;
            (f32::from(v), v.to_be_bytes().to_vec())
        }),
        (16, 1, StoredKind::Counts16, |i| {
            let v = (i * 7919 % 65_536) as u16;
            (f32::from(v), v.to_be_bytes().to_vec())
        }),
        (32, 1, StoredKind::Counts32, |i| {
            let v = (i * 19_997) as u32;
            (v as f32, v.to_be_bytes().to_vec())
        }),
        (8, 2, StoredKind::Signed16, |i| {
            let v = (i * 31 % 256) as u8 as i8;
            (f32::from(v), v.to_be_bytes().to_vec())
        }),
        (16, 2, StoredKind::Signed16, |i| {
            let v = (i * 7919 % 65_536) as u16 as i16;
            (f32::from(v), v.to_be_bytes().to_vec())
        }),
        (32, 2, StoredKind::Counts32, |i| {
            let v = i as i32 * 19_997 - 5_000_000;
            (v as f32, v.to_be_bytes().to_vec())
        }),
        (16, 3, StoredKind::Float16, |i| {
            // 1024 + i % 1024 in half precision: exponent 25, fraction i.
            let v = (i % 1024) as u16;
            (1024.0 + f32::from(v), (0x6400 | v).to_be_bytes().to_vec())
        }),
        (32, 3, StoredKind::Float32, |i| {
            let v = i as f32 * 0.37 - 40.0;
            (v, v.to_be_bytes().to_vec())
        }),
        (64, 3, StoredKind::Float64, |i| {
            let v = i as f64 * 0.37 - 40.0;
            (v as f32, v.to_be_bytes().to_vec())
        }),
    ]
}

fn page(kind: &Kind) -> (Page, Vec<f32>) {
    let (bits, format, _, sample) = *kind;
    let pixels: Vec<(f32, Vec<u8>)> = (0..COLUMNS * ROWS).map(sample).collect();
    let bytes = pixels.iter().flat_map(|(_, bytes)| bytes.clone()).collect();
    let expected = pixels.iter().map(|(value, _)| *value).collect();
    (Page::plain(COLUMNS, bits, format, bytes), expected)
}

/// Writes the page in both byte orders and widths, in strips and tiles, with and without a photometric tag, and
/// asks for the same values each time.
fn reads_in_every_layout(page: &Page, kind: &Kind, expected: &[f32]) {
    for tiling in [
        Tiling::Strips { rows: 4 },
        Tiling::Strips { rows: ROWS },
        Tiling::Tiles { side: 16 },
    ] {
        for (little_endian, wide) in [(true, false), (false, false), (true, true), (false, true)] {
            for photometric in [None, Some(0), Some(1)] {
                let mut page = Page {
                    tiling,
                    little_endian,
                    wide,
                    ..page.clone()
                };
                if let Some(code) = photometric {
                    page = page.tag(262, Held::Short(vec![code]));
                }
                let told = format!(
                    "{kind:?} {tiling:?} {:?} predictor {} little {little_endian} wide {wide} photometric {photometric:?}",
                    page.packing, page.predictor
                );
                let frame = decoded(&page.write()).unwrap_or_else(|e| panic!("{told}: {e}"));
                assert_eq!(frame.kind(), kind.2, "{told}");
                assert_eq!((frame.columns(), frame.rows()), (COLUMNS, ROWS), "{told}");
                assert_eq!(values(&frame), expected, "{told}");
                let kept = frame.warnings().contains(&Warning::WhiteIsZeroKept);
                assert_eq!(kept, photometric == Some(0), "{told}");
            }
        }
    }
}

#[test]
fn every_sample_type_reads_in_every_layout() {
    for kind in kinds() {
        let (page, expected) = page(&kind);
        reads_in_every_layout(&page, &kind, &expected);
    }
}

#[test]
fn every_packing_and_predictor_reads_in_every_layout() {
    for kind in kinds() {
        let (page, expected) = page(&kind);
        for packing in [Packing::PackBits, Packing::Deflate] {
            let last = if kind.1 == 3 { 3 } else { 2 };
            for predictor in 1..=last {
                let page = Page {
                    packing,
                    predictor,
                    ..page.clone()
                };
                reads_in_every_layout(&page, &kind, &expected);
            }
        }
    }
}

#[test]
fn lzw_reads() {
    let counts: Vec<u16> = (0..COLUMNS * ROWS).map(|i| (i / 5) as u16).collect();
    for predictor in [Predictor::None, Predictor::Horizontal] {
        let mut file = Cursor::new(Vec::new());
        TiffEncoder::new(&mut file)
            .unwrap()
            .with_compression(Compression::Lzw)
            .with_predictor(predictor)
            .write_image::<colortype::Gray16>(COLUMNS as u32, ROWS as u32, &counts)
            .unwrap();
        let frame = decoded(file.get_ref()).unwrap();
        let Stored::U16(read) = frame.stored() else {
            panic!("{:?}", frame.kind());
        };
        assert_eq!(read.as_slice().unwrap(), counts);
        survives_damage(file.get_ref(), 3);
    }
}

#[test]
fn odd_bit_depths_read_as_stored() {
    let page = Page {
        columns: 3,
        rows: 2,
        ..Page::plain(
            5,
            8,
            1,
            vec![0xAB, 0xCD, 0xEF, 0x12, 0x30, 0x00, 0x10, 0x02, 0x00, 0x30],
        )
    };
    // Ten bytes as two rows of three 12-bit samples, each row filled up to a whole byte.
    let mut page = Page { columns: 5, ..page }
        .tag(256, Held::Long(vec![3]))
        .tag(262, Held::Short(vec![0]));
    page.tags[0] = (258, Held::Short(vec![12]));
    let frame = decoded(&page.write()).unwrap();
    assert_eq!(frame.kind(), StoredKind::Counts16);
    assert_eq!(
        values(&frame),
        [0xABC, 0xDEF, 0x123, 1, 2, 3].map(|v: u16| f32::from(v))
    );
}

#[test]
fn colours_and_colour_maps_read_as_pictures() {
    let mut rgb = Page::plain(6, 8, 1, vec![1, 2, 3, 4, 5, 6]);
    rgb = rgb.tag(256, Held::Long(vec![2])).tag(262, Held::Short(vec![2]));
    rgb = rgb.tag(277, Held::Short(vec![3]));
    let frame = decoded(&rgb.write()).unwrap();
    assert_eq!(frame.stored(), &picture_row(&[[1, 2, 3], [4, 5, 6]]));
    assert!(frame.values().is_none());

    let map: Vec<u16> = (0..768)
        .map(|i| if i < 256 { i * 256 } else { (i / 256) * 0x1000 })
        .collect();
    for packing in [Packing::None, Packing::PackBits] {
        let page = Page {
            packing,
            ..Page::plain(2, 8, 1, vec![7, 200])
        };
        let page = page.tag(262, Held::Short(vec![3])).tag(320, Held::Short(map.clone()));
        let frame = decoded(&page.write()).unwrap();
        assert_eq!(frame.stored(), &picture_row(&[[7, 0x10, 0x20], [200, 0x10, 0x20]]));
    }
}

#[test]
fn deep_and_transparent_colours_keep_their_three_highest_bytes() {
    // Two pixels of 16-bit red, green, blue and a fourth sample.
    let four = vec![1, 9, 2, 9, 3, 9, 7, 7, 4, 9, 5, 9, 6, 9, 7, 7];
    for packing in [Packing::None, Packing::Deflate] {
        let page = Page {
            packing,
            ..Page::plain(8, 16, 1, four.clone())
        };
        let page = page.tag(256, Held::Long(vec![2])).tag(262, Held::Short(vec![2]));
        let page = page.tag(277, Held::Short(vec![4])).tag(338, Held::Short(vec![2]));
        let frame = decoded(&page.write()).unwrap();
        assert_eq!(frame.stored(), &picture_row(&[[1, 2, 3], [4, 5, 6]]), "{packing:?}");
        assert_eq!(frame.warnings(), [Warning::ColoursNarrowed]);
    }
    let eight = Page::plain(8, 8, 1, vec![1, 2, 3, 255, 4, 5, 6, 0]);
    let eight = eight.tag(256, Held::Long(vec![2])).tag(262, Held::Short(vec![2]));
    let eight = eight.tag(277, Held::Short(vec![4]));
    assert_eq!(
        decoded(&eight.write()).unwrap().stored(),
        &picture_row(&[[1, 2, 3], [4, 5, 6]])
    );
}

#[test]
fn orientation_no_data_and_time_are_honoured() {
    let page = Page::plain(3, 16, 1, vec![0, 1, 0, 2, 0, 3, 0, 4, 0, 5, 0, 6])
        .tag(274, Held::Short(vec![6]))
        .tag(306, Held::Text("2026:03:14 09:05:00"))
        .tag(42113, Held::Text("5"));
    let frame = decoded(&page.write()).unwrap();
    assert_eq!(frame.stored(), &Stored::U16(array![[4, 1], [5, 2], [6, 3]]));
    assert_eq!(
        frame.no_reading(),
        Some(&array![[false, false], [true, false], [false, false]])
    );
    assert!(frame.values().unwrap()[[1, 0]].is_nan());
    assert_eq!(frame.captured_at(), Some("2026-03-14T09:05:00"));
    let told: Vec<String> = frame.warnings().iter().map(ToString::to_string).collect();
    assert!(
        told.iter()
            .any(|w| w.contains("declares 5 to mean no reading; 1 pixels")),
        "{told:?}"
    );
    assert!(told.iter().any(|w| w.contains("quarter clockwise")), "{told:?}");
}

#[test]
fn zeros_and_infinities_among_fractions_are_reported() {
    let mut numbers = vec![21.5_f32; 400];
    numbers[..12].fill(0.0);
    numbers[20] = f32::INFINITY;
    numbers[21] = f32::NAN;
    let bytes = numbers.iter().flat_map(|v| v.to_be_bytes()).collect();
    let frame = decoded(&Page::plain(20, 32, 3, bytes).write()).unwrap();
    let read = values(&frame);
    assert!(read[20].is_nan() && read[21].is_nan() && read[0] == 0.0);
    assert!(frame.warnings().contains(&Warning::NotFinite { pixels: 1 }));
    assert!(frame.warnings().contains(&Warning::ManyZeros { share: 0.03 }));
}

#[test]
fn the_first_of_several_pages_is_read_even_if_the_chain_loops() {
    let mut file = Page::plain(2, 8, 1, vec![1, 2, 3, 4]).write();
    let at = file.len() - 4;
    let first = u32::from_le_bytes(file[4..8].try_into().unwrap());
    let second = file.len() as u32;
    let directory = file[first as usize..].to_vec();
    file.extend(directory);
    file[at..at + 4].copy_from_slice(&second.to_le_bytes());
    let frame = decoded(&file).unwrap();
    assert_eq!(values(&frame), [1.0, 2.0, 3.0, 4.0]);
    assert_eq!(frame.warnings(), [Warning::FirstOfPages { pages: 2 }]);
    // The second page now points back to the first.
    let end = file.len() - 4;
    file[end..].copy_from_slice(&first.to_le_bytes());
    assert_eq!(decoded(&file).unwrap().warnings(), [Warning::FirstOfPages { pages: 2 }]);
}

#[test]
fn what_is_not_read_is_refused_by_name() {
    let page = || Page::plain(2, 16, 1, vec![0; 8]);
    let short = |n: u16| Held::Short(vec![n]);
    for (page, words) in [
        (page().tag(277, short(2)), "2 samples a pixel"),
        (page().tag(262, short(5)), "CMYK"),
        (page().tag(262, short(6)), "YCbCr"),
        (page().tag(266, short(2)), "fill order 2"),
        (page().tag(317, short(2)), "predictor 2 but no compression"),
        (page().tag(259, short(4)), "fax compression"),
        (page().tag(259, short(34887)), "LERC"),
        (Page::plain(1, 32, 5, vec![0; 8]), "complex numbers"),
        (Page::plain(1, 24, 1, vec![0; 6]), "24-bit unsigned"),
        (Page::plain(1, 64, 1, vec![0; 16]), "64-bit unsigned"),
        (Page::plain(1, 32, 1, vec![0xFF; 8]), "32-bit counts beyond"),
    ] {
        let text = refusal(&page.write());
        assert!(text.contains(words) && text.contains("is not read; hint: "), "{text}");
    }
}

#[test]
fn a_hostile_header_is_refused_before_it_costs_anything() {
    let page = || Page::plain(2, 16, 1, vec![0; 8]);
    let long = |n: u32| Held::Long(vec![n]);
    let wide = page().tag(256, long(30_000)).tag(257, long(30_000));
    assert!(refusal(&wide.write()).contains("more than the limit of 20000000 pixels"));
    let beyond = page().tag(256, long(4000)).tag(257, long(4000)).tag(278, long(4000));
    assert!(refusal(&beyond.write()).contains("strip or tile 1 holds 8 bytes where 32000000 are due"));
    let unstated = page()
        .tag(256, long(4000))
        .tag(257, long(4000))
        .tag(278, long(4000))
        .tag(279, Held::Long(vec![]));
    assert!(refusal(&unstated.write()).contains("cut short"));
    let bomb = Page {
        packing: Packing::Deflate,
        ..page()
    };
    let bomb = bomb.tag(256, long(4000)).tag(257, long(4000)).tag(278, long(4000));
    assert!(refusal(&bomb.write()).contains("cannot hold 32000000"));
    let none = page().tag(256, long(0));
    assert!(refusal(&none.write()).contains("nothing to read"));
}

#[test]
fn limits_hold_to_the_pixel() {
    let file = Page::plain(5, 8, 1, vec![7; 20]).write();
    let at_most = |max_pixels| Limits {
        max_pixels,
        ..Limits::default()
    };
    assert!(decode(&file, &at_most(20)).is_ok());
    assert!(decode(&file, &at_most(19)).is_err());
}

#[test]
fn a_file_cut_anywhere_is_refused_and_damage_never_panics() {
    for kind in kinds() {
        let (page, _) = page(&kind);
        for (packing, tiling) in [
            (Packing::None, Tiling::Strips { rows: 4 }),
            (Packing::None, Tiling::Tiles { side: 16 }),
            (Packing::Deflate, Tiling::Tiles { side: 16 }),
            (Packing::PackBits, Tiling::Strips { rows: 4 }),
        ] {
            let predictor = if packing == Packing::Deflate { 2 } else { 1 };
            let file = Page {
                packing,
                tiling,
                predictor,
                ..page.clone()
            }
            .write();
            survives_damage(&file, 17);
            // The directory stands last, its pointer to a next page being 4 bytes that may lack.
            for end in (0..file.len() - 4).step_by(11) {
                assert!(decoded(&file[..end]).is_err(), "{kind:?} {packing:?} cut at {end}");
            }
        }
    }
}
