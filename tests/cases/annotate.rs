//! The annotated picture against reference pictures in `tests/golden`. All maps are simulated here, by formula.
//!
//! `REGENERATE=1 cargo test annotate` writes the reference pictures anew, and fails so that nobody takes that for a pass.

use std::path::{Path, PathBuf};

use coldjacket::record::annotate::{
    Annotation, AxisTick, Mark, MarkKind, Quantity, Strip, Units, ZoneLine, draw, fitting_range,
};
use coldjacket::record::palette::Palette;
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{Rgb, RgbImage};
use ndarray::Array2;

const CAUTION: &str = "Thermography screens, it does not prove. Confirm moisture by probe or opening, and wall loss by \
    ultrasonic thickness gauging by qualified people. Never strip, cut, drill or hammer at insulation on a line or vessel in \
    service without the owner's permit.";

/// A cylinder lying across the frame, cooler above, with elliptic cold patches `(x, y, half-width, half-height, K)`.
fn simulated(columns: usize, rows: usize, patches: &[(f64, f64, f64, f64, f64)]) -> Array2<f32> {
    let (width, height) = (columns as f64, rows as f64);
    Array2::from_shape_fn((rows, columns), |(row, column)| {
        let (x, y) = (column as f64 / width, row as f64 / height);
        let on_asset = (0.1..=0.9).contains(&x) && (0.3..=0.7).contains(&y);
        let colder = patches.iter().map(|(px, py, a, b, k)| {
            let off = ((x - px) / a).powi(2) + ((y - py) / b).powi(2);
            k / (1.0 + off.powi(6))
        });
        let cold_k: f64 = if on_asset { colder.sum() } else { 0.0 };
        // A fixed pattern of ±0.05 K in place of noise.
        let grain_k = 0.05 * ((row * 7 + column * 13) % 11) as f64 / 5.0 - 0.05;
        let ground_c = if on_asset { 17.4 + 0.8 * y } else { 19.0 - 0.6 * y };
        (ground_c - cold_k + grain_k) as f32
    })
}

fn rectangle(columns: usize, rows: usize) -> Vec<[f64; 2]> {
    let (width, height) = (columns as f64, rows as f64);
    [(0.1, 0.3), (0.9, 0.3), (0.9, 0.7), (0.1, 0.7)]
        .map(|(x, y)| [x * width, y * height])
        .to_vec()
}

/// Pixel by pixel round an ellipse, as a traced border runs.
fn ellipse(x: f64, y: f64, a: f64, b: f64) -> Vec<[f64; 2]> {
    let count = (8.0 * a.max(b)).ceil();
    let turn = |n: f64| n / count * std::f64::consts::TAU;
    (0..count as usize)
        .map(|n| turn(n as f64))
        .map(|t| [(x + a * t.cos()).round(), (y + b * t.sin()).round()])
        .collect()
}

fn mark(label: &str, kind: MarkKind, outline_px: Vec<[f64; 2]>) -> Mark {
    Mark {
        label: label.to_owned(),
        kind,
        outline_px,
    }
}

fn zone(label: &str, kind: MarkKind, text: &str) -> ZoneLine {
    ZoneLine {
        label: label.to_owned(),
        kind,
        text: text.to_owned(),
    }
}

fn annotation<'a>(map_c: &'a Array2<f32>, outline_px: &'a [[f64; 2]]) -> Annotation<'a> {
    let lines = [
        "Simulated store · frame-01.tif · 2026-03-03 09:12",
        "Air 21.2 °C, 51 % relative humidity, wind 0.0 m/s, reflected 21.2 °C, emissivity 0.94",
        "Sound jacket 17.8 °C ± 0.3 K, expected 17.6 °C ± 1.1 K · dew point 10.8 °C",
    ];
    Annotation {
        map_c,
        quantity: Quantity::Surface,
        range_c: fitting_range(map_c, outline_px),
        palette: Palette::Cividis,
        units: Units::Si,
        sound_c: Some(17.8),
        dew_point_c: None,
        outline_px,
        unseen: None,
        marks: Vec::new(),
        axis: Vec::new(),
        bar_px: None,
        strip: Strip {
            title: "SV-1 · horizontal cylinder, 1.2 m × 3.0 m".to_owned(),
            lines: lines.map(str::to_owned).to_vec(),
            zone_lines: Vec::new(),
            caution: CAUTION.to_owned(),
        },
    }
}

fn golden(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden").join(name)
}

fn decoded(bytes: &[u8]) -> RgbImage {
    image::load_from_memory_with_format(bytes, image::ImageFormat::Png)
        .unwrap()
        .to_rgb8()
}

/// Largest difference of any channel of any pixel; 255 where the sizes differ.
fn largest_difference(got: &RgbImage, expected: &RgbImage) -> u8 {
    if got.dimensions() != expected.dimensions() {
        return u8::MAX;
    }
    got.iter()
        .zip(expected.iter())
        .map(|(a, b)| a.abs_diff(*b))
        .max()
        .unwrap_or(0)
}

/// Expected, got and difference (dark on white) side by side.
fn side_by_side(got: &RgbImage, expected: &RgbImage) -> RgbImage {
    let (width, height) = (got.width().max(expected.width()), got.height().max(expected.height()));
    let at = |picture: &RgbImage, x, y| picture.get_pixel_checked(x, y).copied().unwrap_or(Rgb([255; 3]));
    RgbImage::from_fn(3 * width, height, |x, y| match (x / width, x % width) {
        (0, x) => at(expected, x, y),
        (1, x) => at(got, x, y),
        (_, x) => {
            let (a, b) = (at(expected, x, y), at(got, x, y));
            let apart = a.0.iter().zip(b.0).map(|(a, b)| a.abs_diff(b)).max().unwrap_or(0);
            Rgb([255 - apart.saturating_mul(8); 3])
        }
    })
}

/// Compares with the reference picture, or writes it where asked to.
fn check(name: &str, annotation: &Annotation) {
    let got = decoded(&draw(annotation).unwrap());
    let path = golden(name);
    if std::env::var_os("REGENERATE").is_some() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        let file = std::fs::File::create(&path).unwrap();
        // Squares and repeated rows: without a filter they pack smallest.
        let packer = PngEncoder::new_with_quality(file, CompressionType::Best, FilterType::NoFilter);
        got.write_with_encoder(packer).unwrap();
        panic!(
            "{} written anew: look at it, then run without REGENERATE",
            path.display()
        );
    }
    let expected = decoded(&std::fs::read(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display())));
    let apart = largest_difference(&got, &expected);
    if apart > 1 {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/diffs");
        std::fs::create_dir_all(&folder).unwrap();
        side_by_side(&got, &expected).save(folder.join(name)).unwrap();
        panic!(
            "{name} differs by up to {apart} of 255; see {}",
            folder.join(name).display()
        );
    }
}

#[test]
fn two_zones_and_what_was_not_seen() {
    let map = simulated(160, 120, &[(0.35, 0.5, 0.06, 0.07, 3.2), (0.66, 0.42, 0.04, 0.05, 1.6)]);
    let outline_px = rectangle(160, 120);
    let mask = Array2::from_shape_fn((120, 160), |(row, column)| {
        (36..84).contains(&row) && (78..90).contains(&column)
    });
    let places = [0.1, 0.3, 0.5, 0.7, 0.9];
    let labels = ["0", "0.75", "1.5", "2.25", "3 m"];
    let ticks = places.iter().zip(labels).map(|(x, label)| AxisTick {
        px: [x * 160.0, 84.0],
        label: label.to_owned(),
    });
    let mut picture = annotation(&map, &outline_px);
    picture.unseen = Some(&mask);
    picture.axis = ticks.collect();
    picture.dew_point_c = Some(16.9);
    picture.marks = vec![
        mark("1", MarkKind::Finding, ellipse(56.0, 60.0, 9.0, 8.0)),
        mark("2", MarkKind::Finding, ellipse(105.0, 50.0, 6.0, 6.0)),
        mark("a", MarkKind::SetAside, ellipse(128.0, 38.0, 6.0, 5.0)),
    ];
    picture.strip.zone_lines = vec![
        zone(
            "1",
            MarkKind::Finding,
            "SV-1-1 · 0.94 m, 3:40 o'clock, 0.35 × 0.31 m · 3.2 K colder · wet · open and inspect",
        ),
        zone(
            "2",
            MarkKind::Finding,
            "SV-1-2 · 2.1 m, 2:10 o'clock, 0.2 × 0.2 m · 1.6 K colder · watch",
        ),
        zone(
            "a",
            MarkKind::SetAside,
            "SV-1-3 · penetration: a nozzle that touches the outline",
        ),
    ];
    check("two-zones.png", &picture);
}

#[test]
fn thirty_zones_in_us_units() {
    let map = simulated(192, 144, &[(0.5, 0.5, 0.2, 0.1, 2.0)]);
    let outline_px = rectangle(192, 144);
    let mut picture = annotation(&map, &outline_px);
    picture.units = Units::Us;
    picture.quantity = Quantity::Apparent;
    let place = |n: usize| ellipse(26.0 + 28.0 * (n % 6) as f64, 20.0 + 26.0 * (n / 6) as f64, 5.0, 4.0);
    let label = |n: usize| (n + 1).to_string();
    picture.marks = (0..30).map(|n| mark(&label(n), MarkKind::Finding, place(n))).collect();
    let text = |n: usize| {
        format!(
            "SV-1-{} · 1.{n} ft, 0.9 × 0.7 ft · watch, and a text too long for its column",
            n + 1
        )
    };
    picture.strip.zone_lines = (0..30).map(|n| zone(&label(n), MarkKind::Finding, &text(n))).collect();
    check("thirty-zones-us.png", &picture);
}

#[test]
fn readings_missing_in_grey() {
    let mut map = simulated(64, 48, &[(0.4, 0.5, 0.08, 0.08, 2.5)]);
    for ((row, column), reading) in map.indexed_iter_mut() {
        if (row < 8 && column < 20) || ((20..30).contains(&row) && (40..52).contains(&column)) {
            *reading = f32::NAN;
        }
    }
    let mask = map.map(|reading| reading.is_nan());
    let outline_px = rectangle(64, 48);
    let mut picture = annotation(&map, &outline_px);
    picture.unseen = Some(&mask);
    picture.palette = Palette::Grey;
    picture.marks = vec![mark("1", MarkKind::Finding, ellipse(25.0, 24.0, 4.0, 3.0))];
    picture.strip.title = "Żółć-Ω7 · Größe Щит 漢 · ".repeat(8);
    check("missing-grey.png", &picture);
}

#[test]
fn nothing_read_and_nothing_found() {
    let map = Array2::from_elem((120, 90), f32::NAN);
    let mut picture = annotation(&map, &[]);
    picture.range_c = (12.0, 20.0);
    picture.strip.lines = vec!["Unusable: no reading in the whole frame".to_owned()];
    check("nothing-read.png", &picture);
}

#[test]
fn a_picture_with_one_changed_pixel_is_noticed() {
    let one = RgbImage::from_pixel(8, 8, Rgb([100; 3]));
    let mut other = one.clone();
    other.put_pixel(3, 3, Rgb([100, 102, 100]));
    assert_eq!(largest_difference(&one, &other), 2);
    assert_eq!(largest_difference(&one, &RgbImage::new(8, 9)), 255);
    assert_eq!(side_by_side(&one, &other).get_pixel(16 + 3, 3), &Rgb([239; 3]));
}
