//! Random scenes of stated difficulty, and scenes that cannot answer.

mod clutter;
mod geometry;
mod kinds;
mod refusal;

pub use geometry::Geometry;
pub use kinds::{ClutterKind, add_kind};
pub use refusal::{Refusal, refusal_scene};

use std::f64::consts::TAU;

use crate::dress::estimate_jacket_c;
use crate::random::Prng;
use crate::scene::*;

/// How crowded a random scene is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Difficulty {
    /// Supports, a frosted nozzle or two, perhaps a pipe in front, an even room.
    Plain,
    /// All of that, and everything else that looks like moisture.
    Clutter,
}

/// What a random scene shall hold.
#[derive(Debug, Clone, Copy)]
pub struct Wish {
    /// How crowded.
    pub difficulty: Difficulty,
    /// Number of wet patches; `None` draws 0 to 3.
    pub patches: Option<usize>,
    /// Conductivity of the whole insulation over dry (1 = dry).
    pub overall_ratio: f64,
    /// Whether the asset may be only partly in view.
    pub may_be_partial: bool,
    /// What is shown; `None` draws a level or an upright vessel.
    pub geometry: Option<Geometry>,
}

impl Default for Wish {
    fn default() -> Self {
        Self {
            difficulty: Difficulty::Plain,
            patches: None,
            overall_ratio: 1.0,
            may_be_partial: true,
            geometry: None,
        }
    }
}

/// Draws a scene: a cylinder of 1.0–2.4 m either way up, 320×240 to 640×512 pixels, 50 mK noise, wall within 1 K of the
/// jacket, patches of 0.1–0.45 m half-width and ratio 1.6–6.
pub fn random_scene(prng: &mut Prng, wish: &Wish) -> Scene {
    let geometry = wish.geometry.unwrap_or_else(|| match prng.chance(0.5) {
        true => Geometry::Horizontal,
        false => Geometry::Vertical,
    });
    let mut scene = geometry.plain();
    draw_vessel(&mut scene, prng);
    geometry::resize(&mut scene, prng, geometry);
    scene.vessel.overall_ratio = wish.overall_ratio;
    draw_conditions(&mut scene, prng);
    match geometry {
        Geometry::Horizontal | Geometry::Vertical => draw_camera(&mut scene, prng, wish.may_be_partial),
        Geometry::Flat | Geometry::PipeRun => geometry::aim(&mut scene, prng, geometry),
    }
    draw_background(&mut scene, prng);
    match geometry {
        Geometry::Horizontal | Geometry::Vertical => draw_usual_fixtures(&mut scene, prng),
        Geometry::PipeRun => geometry::hang(&mut scene),
        Geometry::Flat => {}
    }
    let count = wish.patches.unwrap_or_else(|| prng.index(4));
    draw_patches(&mut scene, prng, count);
    if wish.difficulty == Difficulty::Clutter {
        clutter::add_clutter(&mut scene, prng);
    }
    scene
}

fn upright(scene: &Scene) -> bool {
    scene.vessel.posture == Posture::VerticalCylinder
}

fn draw_vessel(scene: &mut Scene, prng: &mut Prng) {
    let heads = [
        Head::Elliptical,
        Head::Elliptical,
        Head::Torispherical,
        Head::Hemispherical,
    ];
    let vessel = &mut scene.vessel;
    vessel.diameter_m = prng.between(1.0, 2.4);
    let slenderness = prng.between(1.3, 2.6);
    vessel.length_m = (vessel.diameter_m * slenderness).clamp(1.6, 5.0);
    vessel.head = heads[prng.index(4)];
    vessel.insulation_thickness_m = [0.075, 0.1, 0.125][prng.index(3)];
    vessel.conductivity.at_24c_w_mk = [0.0235, 0.026, 0.0355][prng.index(3)];
    vessel.unevenness = 0.02;
    vessel.jacket = match prng.index(3) {
        0 => Jacket {
            emissivity: prng.between(0.88, 0.95),
            in_plane_w_k: 1e-4,
        },
        1 => Jacket {
            emissivity: prng.between(0.86, 0.93),
            in_plane_w_k: 0.02,
        },
        _ => Jacket {
            emissivity: prng.between(0.88, 0.94),
            in_plane_w_k: 8e-4,
        },
    };
    scene.service_c = prng.between(-42.0, -28.0);
    let along_m = vessel.length_m + vessel.diameter_m;
    scene.grid = Grid {
        radial: 10,
        round: 120,
        along: ((along_m / 0.028) as usize).clamp(100, 220),
    };
}

fn draw_conditions(scene: &mut Scene, prng: &mut Prng) {
    let mut conditions = Conditions::indoor(prng.between(14.0, 28.0), prng.between(35.0, 55.0));
    conditions.reflected_c = conditions.air_c + prng.between(-0.8, 0.8);
    conditions.stratification_k_m = prng.between(0.0, 0.25);
    if prng.chance(0.25) {
        conditions.wind_m_s = prng.between(0.3, 1.8);
    }
    scene.conditions = conditions;
}

fn draw_camera(scene: &mut Scene, prng: &mut Prng, may_be_partial: bool) {
    let (wide, narrow) = [(320, 240), (384, 288), (640, 480), (640, 512)][prng.index(4)];
    let vessel = &scene.vessel;
    let head_m = vessel.diameter_m * 0.5 * vessel.head.depth_to_radius();
    let long_m = vessel.length_m + 2.0 * head_m;
    let stands = upright(scene);
    let (width, height) = if stands && prng.chance(0.7) {
        (narrow, wide)
    } else {
        (wide, narrow)
    };
    let (long_px, across_px) = if stands { (height, width) } else { (width, height) };
    let fill = prng.between(0.72, 0.9);
    let partial = may_be_partial && prng.chance(0.35);
    let in_view_m = if partial {
        long_m * prng.between(0.55, 0.8)
    } else {
        long_m
    };
    let scale_px_m = (fill * long_px as f64 / in_view_m).min(fill.min(0.8) * across_px as f64 / vessel.diameter_m);
    let mut aim_m = (0.5 * vessel.length_m, prng.between(-0.06, 0.06) * vessel.diameter_m);
    if partial {
        // Far enough to one side that the far end leaves the picture.
        let view_m = long_px as f64 / scale_px_m;
        let beyond_m = (0.5 * (long_m - view_m) + prng.between(0.15, 0.4) * vessel.diameter_m).max(0.2);
        aim_m.0 += if prng.chance(0.5) { beyond_m } else { -beyond_m };
    } else {
        aim_m.0 += prng.between(-0.02, 0.02) * vessel.length_m;
    }
    let mut camera = Camera::facing(width, height, scale_px_m, aim_m);
    camera.rotation_deg = prng.between(-1.5, 1.5);
    camera.blur_px = prng.between(0.5, 1.0);
    camera.datum_side = match (stands, prng.chance(0.2)) {
        (true, _) => DatumSide::Bottom,
        (false, true) => DatumSide::Right,
        (false, false) => DatumSide::Left,
    };
    if prng.chance(0.3) {
        camera.perspective_m = Some(prng.between(6.0, 10.0));
    }
    scene.camera = camera;
}

fn draw_background(scene: &mut Scene, prng: &mut Prng) {
    // A wall at the jacket's own temperature is the hard case: it is drawn within 1 K of it on either side.
    let near_c = estimate_jacket_c(scene) + prng.between(-1.0, 1.0);
    let mut background = Background::plain(near_c);
    background.slope_k_m = (prng.between(-0.1, 0.1), scene.conditions.stratification_k_m);
    background.texture_k = prng.between(0.03, 0.1);
    background.clutter = prng.index(3);
    background.clutter_k = 1.0;
    if prng.chance(0.6) {
        let radius_m = 0.5 * scene.vessel.diameter_m;
        let depth_m = if upright(scene) {
            scene.vessel.head.depth_to_radius() * radius_m + 0.45
        } else {
            radius_m + 0.45
        };
        background.floor = Some((depth_m, near_c + prng.between(-1.0, 0.6)));
    }
    scene.background = background;
}

fn draw_usual_fixtures(scene: &mut Scene, prng: &mut Prng) {
    let (length_m, radius_m) = (scene.vessel.length_m, 0.5 * scene.vessel.diameter_m);
    if upright(scene) {
        if prng.chance(0.7) {
            for side in [-0.6, 0.6] {
                let across_m = side * radius_m;
                scene.fixtures.push(Fixture::Leg {
                    across_m,
                    width_m: 0.14,
                });
            }
        } else {
            let height_m = scene.vessel.head.depth_to_radius() * radius_m + 0.4;
            scene.fixtures.push(Fixture::Skirt { height_m });
        }
    } else {
        for share in [0.2, 0.8] {
            let axial_m = share * length_m;
            scene.fixtures.push(Fixture::Saddle { axial_m, width_m: 0.22 });
        }
    }
    for _ in 0..1 + prng.index(2) {
        let angle_deg = if prng.chance(0.7) {
            if upright(scene) && prng.chance(0.5) {
                90.0
            } else {
                -90.0
            }
        } else {
            prng.between(-60.0, 60.0)
        };
        scene.fixtures.push(Fixture::Nozzle {
            axial_m: prng.between(0.12, 0.88) * length_m,
            angle_deg,
            diameter_m: prng.between(0.08, 0.2),
            projection_m: prng.between(0.12, 0.3),
            state: NozzleState::Frosted,
        });
    }
    if prng.chance(0.5) {
        let axial_m = prng.between(0.1, 0.9) * length_m;
        let across_m = prng.between(-0.8, 0.8) * radius_m;
        let (from_m, to_m) = if prng.chance(0.5) {
            ((axial_m, -60.0), (axial_m + 1.0, 60.0))
        } else {
            ((-60.0, across_m), (60.0, across_m))
        };
        scene.fixtures.push(Fixture::Pipe {
            from_m,
            to_m,
            diameter_m: prng.between(0.06, 0.16),
            apparent_c: scene.conditions.air_c + prng.between(-3.0, 2.0),
            layer: Layer::Front,
        });
    }
}

/// Draws patches on the side seen, in view, clear of each other.
pub fn draw_patches(scene: &mut Scene, prng: &mut Prng, count: usize) {
    let (length_m, radius_m) = (scene.vessel.length_m, 0.5 * scene.vessel.diameter_m);
    let flat = scene.vessel.posture == Posture::Flat;
    let camera = &scene.camera;
    let long_px = if upright(scene) { camera.height } else { camera.width };
    let reach_m = 0.5 * long_px as f64 / camera.pixels_per_metre;
    let (low_m, high_m) = (
        (camera.aim_m.0 - reach_m).max(0.0) + 0.1,
        (camera.aim_m.0 + reach_m).min(length_m) - 0.1,
    );
    for _ in 0..60 * count {
        if scene.patches.len() == count {
            return;
        }
        let mut half = || prng.between(0.1, 0.45_f64.min(0.55 * radius_m));
        let half_m = (half(), half());
        let mut patch = Patch {
            axial_m: prng.between(low_m + 0.5 * half_m.0, high_m - 0.5 * half_m.0),
            angle_deg: prng.between(-48.0, 48.0),
            shape: match prng.index(3) {
                0 => PatchShape::Ellipse,
                1 => PatchShape::RoundedRectangle,
                _ => PatchShape::Blob {
                    phase_three: prng.between(0.0, TAU),
                    phase_five: prng.between(0.0, TAU),
                },
            },
            soft_edge_m: prng.between(0.03, 0.08),
            ..Patch::ellipse(0.0, 0.0, half_m, prng.between(1.6, 6.0))
        };
        if flat {
            patch.height_m = prng.between(0.15, 0.85) * scene.vessel.height_m;
        }
        let clear = scene.patches.iter().all(|other| {
            let apart_m = if flat {
                patch.height_m - other.height_m
            } else {
                radius_m * (patch.angle_deg - other.angle_deg).to_radians()
            };
            (patch.axial_m - other.axial_m).abs() > patch.half_length_m + other.half_length_m + 0.2
                || apart_m.abs() > patch.half_arc_m + other.half_arc_m + 0.2
        });
        if clear {
            scene.patches.push(patch);
        }
    }
}
