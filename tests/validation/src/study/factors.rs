//! One circumstance changed at a time, all else drawn as for a plain scene.

use coldjacket_simulator::draw::{Geometry, Wish, random_scene};
use coldjacket_simulator::scene::{Jacket, Scene};
use coldjacket_simulator::survey::Given;

use coldjacket::assess::usability::Usability;

use crate::case::{Case, generator};
use crate::figures::percentile;
use crate::score::FrameScore;
use crate::table::{Table, figure};

/// A circumstance with a value.
#[derive(Debug, Clone, Copy)]
enum Factor {
    /// Noise of a reading, K.
    Noise(f64),
    /// Pixels a metre over those of a vessel that fills the picture.
    Nearness(f64),
    /// Jacket: name, emissivity, conductance in the plane.
    Jacket(&'static str, f64, f64),
    /// Wind, m/s.
    Wind(f64),
    /// Shape and posture.
    Shape(Geometry),
    /// Only partly in view, or all of it.
    InView(bool),
    /// Standard deviation of the blur, px.
    Blur(f64),
    /// Distance of the camera from the axis, m, and whether the sheet says its field of view.
    Camera(f64, Given),
}

const FACTORS: [Factor; 33] = [
    Factor::Noise(0.03),
    Factor::Noise(0.05),
    Factor::Noise(0.1),
    Factor::Noise(0.2),
    Factor::Nearness(1.0),
    Factor::Nearness(0.5),
    Factor::Nearness(0.3),
    Factor::Jacket("plastic", 0.93, 1e-4),
    Factor::Jacket("painted steel", 0.9, 0.02),
    Factor::Jacket("painted aluminium", 0.88, 0.1),
    Factor::Jacket("weathered metal", 0.6, 0.1),
    Factor::Wind(0.0),
    Factor::Wind(1.0),
    Factor::Wind(2.0),
    Factor::Wind(4.0),
    Factor::Wind(6.5),
    Factor::Shape(Geometry::Horizontal),
    Factor::Shape(Geometry::Vertical),
    Factor::Shape(Geometry::Flat),
    Factor::Shape(Geometry::PipeRun),
    Factor::InView(false),
    Factor::InView(true),
    Factor::Blur(0.5),
    Factor::Blur(1.5),
    Factor::Blur(2.5),
    Factor::Blur(3.5),
    Factor::Blur(5.0),
    Factor::Blur(6.5),
    Factor::Blur(9.0),
    Factor::Camera(4.0, Given::Stated),
    Factor::Camera(4.0, Given::Tabulated),
    Factor::Camera(7.0, Given::Stated),
    Factor::Camera(7.0, Given::Tabulated),
];

impl Factor {
    fn name(self) -> String {
        match self {
            Self::Noise(noise_k) => format!("noise {:.0} mK", 1000.0 * noise_k),
            Self::Nearness(share) => format!("{:.0} % of the filling scale", 100.0 * share),
            Self::Jacket(name, emissivity, _) => format!("jacket {name}, emissivity {emissivity}"),
            Self::Wind(wind_m_s) => format!("wind {wind_m_s} m/s"),
            Self::Shape(Geometry::Horizontal) => "level vessel".into(),
            Self::Shape(Geometry::Vertical) => "upright vessel".into(),
            Self::Shape(Geometry::Flat) => "wall".into(),
            Self::Shape(Geometry::PipeRun) => "pipe run".into(),
            Self::InView(true) => "wholly in view".into(),
            Self::InView(false) => "partly in view".into(),
            Self::Camera(distance_m, Given::Stated) => format!("camera {distance_m} m off, field of view stated"),
            Self::Camera(distance_m, Given::Tabulated) => format!("camera {distance_m} m off, not stated"),
            Self::Blur(sd_px) => format!("blur {sd_px} px (10–90 %: {:.1} px)", 2.563 * sd_px),
        }
    }

    fn wish(self) -> Wish {
        Wish {
            geometry: match self {
                Self::Shape(geometry) => Some(geometry),
                _ => None,
            },
            may_be_partial: matches!(self, Self::InView(false)),
            ..Wish::default()
        }
    }

    fn apply(self, scene: &mut Scene) {
        match self {
            Self::Noise(noise_k) => scene.camera.noise_k = noise_k,
            Self::Nearness(share) => scene.camera.pixels_per_metre *= share,
            Self::Jacket(_, emissivity, in_plane_w_k) => {
                scene.vessel.jacket = Jacket {
                    emissivity,
                    in_plane_w_k,
                }
            }
            Self::Wind(wind_m_s) => scene.conditions.wind_m_s = wind_m_s,
            Self::Blur(sd_px) => scene.camera.blur_px = sd_px,
            Self::Camera(distance_m, _) => scene.camera.perspective_m = Some(distance_m),
            Self::Shape(_) | Self::InView(_) => {}
        }
    }
}

/// `count` frames of every circumstance. Within a circumstance each value meets the same scenes where the draw allows it.
pub fn cases(seed: u64, count: usize) -> Vec<Case> {
    FACTORS
        .into_iter()
        .enumerate()
        .flat_map(|(number, factor)| (0..count).map(move |index| case(seed, number, index, factor)))
        .collect()
}

fn case(seed: u64, number: usize, index: usize, factor: Factor) -> Case {
    let mut prng = generator(seed, index);
    let mut scene = random_scene(&mut prng, &factor.wish());
    if let Factor::InView(false) = factor {
        // A third of the plain scenes are partial: draw until one is.
        while !is_partial(&scene) {
            scene = random_scene(&mut prng, &factor.wish());
        }
    }
    factor.apply(&mut scene);
    Case {
        name: format!("f{seed}-{number:02}-{index:03}"),
        row: factor.name(),
        scene,
        seed: prng.bits() >> 16,
        screen: None,
        field_of_view: match factor {
            Factor::Camera(_, given) => given,
            _ => Given::Stated,
        },
    }
}

fn is_partial(scene: &Scene) -> bool {
    let (vessel, camera) = (&scene.vessel, &scene.camera);
    (camera.aim_m.0 - 0.5 * vessel.length_m).abs() > 0.03 * vessel.length_m
}

/// Widths of the outline's edge as measured, and how the frames were used.
pub fn table_edges(sets: &[(String, Vec<&FrameScore>)]) -> Table {
    let mut table = Table::new(
        "edges",
        "Width of the outline's edge as measured (10–90 %, px), by circumstance",
        &[
            "set", "frames", "measured", "5 %", "median", "95 %", "good", "limited", "unusable",
        ],
    );
    for (name, scores) in sets {
        let widths: Vec<f64> = scores.iter().filter_map(|s| s.edge_width_px).collect();
        let used = |usability| scores.iter().filter(|s| s.usability == usability).count().to_string();
        table.push(vec![
            name.clone(),
            scores.len().to_string(),
            widths.len().to_string(),
            figure(percentile(&widths, 5.0), 1),
            figure(percentile(&widths, 50.0), 1),
            figure(percentile(&widths, 95.0), 1),
            used(Usability::Good),
            used(Usability::Limited),
            used(Usability::Unusable),
        ]);
    }
    table
}
