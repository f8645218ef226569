//! Images that cannot be used: each is listed with its reason, the run goes on, and nothing is called on them.

use std::io::Cursor;
use std::path::Path;

use coldjacket_simulator::draw::{Refusal, refusal_scene};
use coldjacket_simulator::encode::{Format, encode};
use coldjacket_simulator::random::Prng;
use coldjacket_simulator::render;
use image::{ImageBuffer, ImageFormat, Luma};

use super::command::{Trial, findings, samples};

/// The reason for which a file in place of the image is not used.
#[track_caller]
fn reason(bytes: impl AsRef<[u8]>) -> String {
    let trial = Trial::new();
    trial.write("images/a.tif", bytes);
    trial.unusable()
}

/// A 16-bit PNG of hundredths of a kelvin from a function of column and row in °C.
fn picture(celsius: impl Fn(u32, u32) -> f64) -> Vec<u8> {
    let counts = |x, y| Luma([((celsius(x, y) + 273.15) * 100.0).round() as u16]);
    let mut bytes = Cursor::new(Vec::new());
    ImageBuffer::<Luma<u16>, Vec<u16>>::from_fn(320, 240, counts)
        .write_to(&mut bytes, ImageFormat::Png)
        .unwrap();
    bytes.into_inner()
}

/// A little-endian TIFF of one strip whose header claims a size.
fn tiff_of(width: u32, height: u32) -> Vec<u8> {
    let entries: [(u16, u16, u32); 9] = [
        (256, 4, width),
        (257, 4, height),
        (258, 3, 16),
        (259, 3, 1),
        (262, 3, 1),
        (273, 4, 134),
        (277, 3, 1),
        (278, 4, height),
        (279, 4, 0),
    ];
    let mut bytes = b"II*\0\x08\0\0\0\x09\0".to_vec();
    for (tag, kind, value) in entries {
        bytes.extend(tag.to_le_bytes());
        bytes.extend(kind.to_le_bytes());
        bytes.extend(1_u32.to_le_bytes());
        bytes.extend(value.to_le_bytes());
    }
    bytes.extend([0; 64]);
    bytes
}

#[test]
fn a_file_that_is_not_there() {
    let trial = Trial::new();
    trial.remove("images/a.tif");
    assert_eq!(
        trial.unusable(),
        "no such file; hint: check the file column against the folder, capitals included"
    );
    std::fs::create_dir(trial.survey().join("images/a.tif")).unwrap();
    assert_eq!(trial.unusable(), "a folder, not a file; hint: name one image in it");
}

#[test]
fn an_image_cut_short_anywhere() {
    for name in ["sa-101.tif", "sa-101_right.png", "sd-401_near.tif"] {
        let whole = std::fs::read(samples().join("images").join(name)).unwrap();
        for share in [0.001, 0.1, 0.5, 0.9] {
            let kept = (whole.len() as f64 * share) as usize;
            let reason = reason(&whole[..kept]);
            assert!(reason.contains("hint: "), "{name} cut to {kept} bytes: {reason}");
        }
    }
}

#[test]
fn an_image_of_no_size() {
    assert_eq!(reason([]), "empty (0 bytes); hint: copy it from the camera again");
    for (width, height) in [(0, 0), (0, 240), (320, 0)] {
        let reason = reason(tiff_of(width, height));
        assert!(reason.contains("hint: "), "{width} × {height}: {reason}");
    }
}

#[test]
fn what_is_no_image() {
    assert!(reason(b"%PDF-1.7 report").starts_with("a PDF document, not a TIFF, PNG, JPEG or text grid; hint: "));
    assert!(reason(b"Dear colleague,\nsee you on site\n").contains("text without a grid of numbers"));
    assert!(reason([0x7f, b'E', b'L', b'F', 2, 1, 1, 0, 0, 0]).contains("not a TIFF, PNG, JPEG or text grid"));
}

#[test]
fn thirty_megapixels() {
    let corrupt = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corrupt");
    let reason = reason(std::fs::read(corrupt.join("png/thirty-megapixels.png")).unwrap());
    assert!(
        reason.starts_with("6000 × 5000 pixels, more than the limit of 20000000 pixels; hint: "),
        "{reason}"
    );
}

#[test]
fn headers_that_claim_the_world() {
    for (width, height) in [(u32::MAX, u32::MAX), (60_000, 60_000), (1, u32::MAX)] {
        let reason = reason(tiff_of(width, height));
        assert!(
            reason.contains("more than the limit") || reason.contains("longer than the limit"),
            "{reason}"
        );
    }
}

#[test]
fn every_corrupt_file_is_listed_and_the_others_are_used() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corrupt");
    let trial = Trial::new();
    let mut rows = vec!["images/a.tif,SA-101,centikelvin,21.23,51.2,0.0,21.18,3,3".to_owned()];
    for kind in super::command::names(&root) {
        for name in super::command::names(&root.join(&kind)) {
            trial.write(
                &format!("images/{name}"),
                std::fs::read(root.join(&kind).join(&name)).unwrap(),
            );
            rows.push(format!("images/{name},SA-101,centikelvin,21.23,51.2,0.0,21.18,3,3"));
        }
    }
    assert!(rows.len() > 15, "{rows:?}");
    let rows: Vec<&str> = rows.iter().map(String::as_str).collect();
    let told = trial.frames(&rows).run(&["--no-pictures"]);
    assert_eq!(told.status, 1, "{told:?}");
    let found = findings(&trial.out());
    let frames = found["frames"].as_array().unwrap();
    assert_eq!(frames.len(), rows.len());
    assert_eq!(frames[0]["usability"], "good", "{}", frames[0]);
    for frame in &frames[1..] {
        assert_eq!(frame["usability"], "unusable", "{frame}");
        assert!(frame["reasons"][0].as_str().unwrap().contains("hint: "), "{frame}");
    }
    assert_eq!(found["assets"][0]["frames_unusable"], frames.len() - 1);
}

#[test]
fn a_scale_that_cannot_be_right_names_one_that_fits() {
    let trial = Trial::new();
    trial.frames(&["images/a.tif,SA-101,celsius,21.23,51.2,0.0,21.18,3,3"]);
    let reason = trial.unusable();
    assert!(
        reason.contains("−100 to +200 °C") && reason.contains("centikelvin"),
        "{reason}"
    );
}

#[test]
fn an_image_of_one_constant_value() {
    for celsius in [-20.0, 20.0] {
        let reason = reason(picture(|_, _| celsius));
        assert!(!reason.is_empty());
    }
}

/// Slow waves, a slope and a coarse texture: what a wall of a machinery room shows.
fn wall(prng: &mut Prng) -> impl Fn(u32, u32) -> f64 + use<> {
    let (long, short) = (prng.between(40.0, 90.0), prng.between(8.0, 20.0));
    let (phase, turn) = (prng.between(0.0, 6.0), prng.between(0.0, 1.5));
    let slope_k_px = prng.between(-0.01, 0.01);
    let noise: Vec<f64> = (0..320 * 240).map(|_| 0.05 * prng.normal()).collect();
    let blocks: Vec<f64> = (0..40 * 30).map(|_| 0.15 * prng.normal()).collect();
    move |x, y| {
        let along = f64::from(x) * turn.cos() + f64::from(y) * turn.sin();
        let waves = 0.5 * (along / long + phase).sin() + 0.2 * (along / short).cos();
        let (column, row) = (x as usize, y as usize);
        let grain = blocks[row / 8 * 40 + column / 8] + noise[row * 320 + column];
        20.0 + waves + slope_k_px * f64::from(y) + grain
    }
}

#[test]
fn an_image_with_no_vessel_in_it() {
    let mut prng = Prng::new(606);
    let mut called = Vec::new();
    let noise: Vec<f64> = (0..320 * 240).map(|_| 0.05 * prng.normal()).collect();
    let flat = picture(|x, y| 20.0 + noise[y as usize * 320 + x as usize]);
    let mut pictures = vec![("flat noise".to_owned(), flat)];
    for number in 0..4 {
        pictures.push((format!("wall {number}"), picture(wall(&mut prng))));
    }
    for number in 0..3 {
        let scene = refusal_scene(&mut prng, Refusal::NoVessel);
        let rendered = render(&scene, 70 + number);
        pictures.push((
            format!("room {number}"),
            encode(&rendered.apparent_c, Format::TiffCentikelvin).unwrap(),
        ));
    }
    for (name, bytes) in pictures {
        let trial = Trial::new();
        trial.write("images/a.tif", bytes).run(&["--no-pictures"]);
        let found = findings(&trial.out());
        let (frame, zones) = (&found["frames"][0], found["zones"].as_array().unwrap().len());
        println!("{name}: {} {}, {zones} zones", frame["usability"], frame["reasons"]);
        if frame["usability"] != "unusable" || zones > 0 {
            called.push(format!("{name}: {} with {zones} zones", frame["usability"]));
        }
    }
    assert_eq!(called, [""; 0], "taken for the vessel");
}
