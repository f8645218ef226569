//! What each room costs a frame, on the frames of `sample-images` (simulated): `cargo bench`.
//!
//! The bounds to hold the numbers against: a frame's own bytes pass through memory in some 0.02 ms, decoding an
//! uncompressed 16-bit TIFF costs about 0.1 ms, a deflated one about 1 ms. Compare stages as ratios within one run; the
//! machine decides the milliseconds.
//!
//! Where a whole survey's processor time goes (`--timing`, 96 simulated deflated frames of 320 × 240 to 640 × 512, pictures
//! drawn, one thread): detect and locate a quarter each, the picture and its packing a fifth, decoding a sixteenth,
//! calibration a twenty-fifth, the rest findings and files. Decoding, calibration and the picture grow with the frame; of
//! locate, only the turn and the reduction do, and detect grows no more once pixels are taken together. No single loop takes
//! more than an eighteenth.
#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used)]

use std::hint::black_box;
use std::path::Path;

use coldjacket::calibrate::{self, Correct, Reading};
use coldjacket::clock::Clock;
use coldjacket::detect::{self, Look};
use coldjacket::inspect::{self, Task};
use coldjacket::locate;
use coldjacket::radiation::fresnel::AngularLaw;
use coldjacket::radiation::measurement::Scene;
use coldjacket::radiation::planck::BandRadiance;
use coldjacket::read::{self, Limits};
use coldjacket::record::annotate::{self, Annotation, Quantity, Strip};
use coldjacket::record::palette::Palette;
use coldjacket::register::{self, Register};
use coldjacket::settings::Settings;
use criterion::{Criterion, criterion_group, criterion_main};

/// Frames of different size, format and shape.
const FRAMES: [&str; 4] = [
    "images/sa-101.tif",
    "images/va-102_south.tif",
    "images/oa-801_east.tif",
    "images/cw-601.tif",
];

struct Bench {
    register: Register,
    band: std::sync::Arc<BandRadiance>,
    settings: Settings,
}

impl Bench {
    fn new() -> Self {
        Self {
            register: register::open(Path::new("sample-images")).unwrap(),
            band: std::sync::Arc::new(BandRadiance::new(8.0, 14.0).unwrap()),
            settings: Settings::default(),
        }
    }

    fn index(&self, file: &str) -> usize {
        self.register.frames.iter().position(|row| row.file == file).unwrap()
    }
}

fn stages(c: &mut Criterion) {
    let bench = Bench::new();
    for file in FRAMES {
        one_frame(c, &bench, file);
    }
    c.bench_function("register/open", |b| {
        b.iter(|| register::open(black_box(Path::new("sample-images"))).unwrap())
    });
}

fn one_frame(c: &mut Criterion, bench: &Bench, file: &str) {
    let row = &bench.register.frames[bench.index(file)];
    let asset = &bench.register.assets[row.asset];
    let bytes = std::fs::read(Path::new("sample-images").join(file)).unwrap();
    let raw = read::decode(&bytes, &Limits::default()).unwrap();
    let reading = Reading {
        scale: &row.stored.scale,
        no_data: row.stored.no_data,
        correction: &row.stored.correction,
        band: &bench.band,
    };
    let map = calibrate::calibrate(&raw, &reading).unwrap();
    let place = || {
        locate::locate(
            &map.apparent_c,
            map.noise_k,
            (&asset.shape, &row.view),
            &bench.settings.locate,
        )
    };
    let mut group = c.benchmark_group(format!("{file} {}x{}", raw.columns(), raw.rows()));
    group.sample_size(30);
    group.bench_function("read", |b| {
        b.iter(|| read::decode(black_box(&bytes), &Limits::default()).unwrap())
    });
    group.bench_function("calibrate", |b| {
        b.iter(|| calibrate::calibrate(black_box(&raw), &reading).unwrap())
    });
    group.bench_function("locate", |b| b.iter(|| black_box(place()).is_ok()));
    if let Ok(view) = place() {
        let scene = Scene {
            emissivity: asset.emissivity.value,
            reflected_c: row.conditions.reflected_c.unwrap_or(row.conditions.air_c),
            transmittance: 1.0,
            path_air_c: row.conditions.air_c,
        };
        let correct = Correct {
            band: &bench.band,
            scene: Some(scene),
            law: AngularLaw::Coating,
        };
        let times = detect::taken_together(view.figure.scale_px_m, &bench.settings.detect);
        let coarser = view.coarser(times);
        let turned = coarser.orientation.turn(&map.apparent_c);
        let look = Look {
            map: &turned,
            noise_k: map.noise_k / times as f64,
            view: &coarser,
            correct: &correct,
            setting: asset.setting,
            fringe_m: asset.jacket.spread_m(),
        };
        group.bench_function("detect", |b| {
            b.iter(|| detect::detect(black_box(&look), &bench.settings.detect).is_ok())
        });
        let outline = view.outline_px();
        group.bench_function("draw", |b| {
            b.iter(|| {
                let annotation = Annotation {
                    map_c: &map.apparent_c,
                    quantity: Quantity::Apparent,
                    range_c: annotate::fitting_range(&map.apparent_c, &outline),
                    palette: Palette::Cividis,
                    units: annotate::Units::Si,
                    sound_c: None,
                    dew_point_c: None,
                    outline_px: &outline,
                    unseen: None,
                    marks: Vec::new(),
                    axis: Vec::new(),
                    bar_px: None,
                    strip: Strip::default(),
                };
                annotate::draw(black_box(&annotation)).unwrap()
            });
        });
    }
    let clock = Clock::default();
    group.bench_function("whole frame without picture", |b| {
        b.iter(|| {
            inspect::inspect(&Task {
                register: &bench.register,
                index: bench.index(file),
                folder: Path::new("sample-images"),
                settings: &bench.settings,
                band: &bench.band,
                clock: &clock,
            })
        });
    });
    group.finish();
}

criterion_group!(benches, stages);
criterion_main!(benches);
