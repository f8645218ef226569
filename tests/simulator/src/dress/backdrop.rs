//! Wall, floor and what hangs on the wall.

use std::f64::consts::TAU;

use super::{Bar, bar, plate};
use crate::random::Prng;
use crate::scene::{DatumSide, Layer, Posture, Scene};

/// Random boxes and pipes on the wall behind.
pub(super) fn clutter(scene: &Scene, seed: u64) -> Vec<Bar> {
    let mut prng = Prng::new(seed ^ 0xBAC6_0000_C1A7_7E12);
    let (camera, background) = (&scene.camera, &scene.background);
    let reach_m = 0.6 * camera.width.max(camera.height) as f64 / camera.pixels_per_metre;
    let mut parts = Vec::new();
    for k in 0..background.clutter {
        let middle = (
            camera.aim_m.0 + prng.between(-reach_m, reach_m),
            camera.aim_m.1 + prng.between(-reach_m, reach_m),
        );
        let departure_k = prng.between(-background.clutter_k, background.clutter_k);
        let tint_c = background.wall_c + departure_k;
        let mut part = if k % 2 == 0 {
            let half_m = 0.5 * prng.between(0.2, 0.9);
            let (from, to) = ((middle.0 - half_m, middle.1), (middle.0 + half_m, middle.1));
            plate(bar(from, to, prng.between(0.2, 0.9), (tint_c, tint_c)))
        } else if prng.chance(0.5) {
            let (from, to) = ((middle.0, -60.0), (middle.0, 60.0));
            bar(from, to, prng.between(0.03, 0.12), (tint_c, tint_c))
        } else {
            let (from, to) = ((-60.0, middle.1), (60.0, middle.1));
            bar(from, to, prng.between(0.03, 0.12), (tint_c, tint_c))
        };
        part.layer = Layer::Behind;
        parts.push(part);
    }
    parts
}

/// The wall and floor behind everything.
#[derive(Debug, Clone)]
pub struct Backdrop {
    waves: Vec<[f64; 4]>,
}

impl Backdrop {
    /// Draws the wall's texture.
    pub fn of(scene: &Scene, seed: u64) -> Self {
        let mut prng = Prng::new(seed ^ 0x7E47_0000_0A11_57ED);
        let amplitude_k = scene.background.texture_k * (2.0_f64 / 8.0).sqrt();
        let waves = (0..8)
            .map(|_| {
                let (size, bearing) = (prng.between(1.0, 9.0), prng.between(0.0, TAU));
                let phase = prng.between(0.0, TAU);
                [size * bearing.cos(), size * bearing.sin(), phase, amplitude_k]
            })
            .collect();
        Self { waves }
    }

    /// Apparent temperature of wall or floor, °C: `plane_m` in the axis plane, `picture_m` right and up from the middle.
    pub fn at(&self, scene: &Scene, plane_m: (f64, f64), picture_m: (f64, f64)) -> f64 {
        let background = &scene.background;
        let texture_k: f64 = self
            .waves
            .iter()
            .map(|[kx, ky, phase, size]| size * (kx * picture_m.0 + ky * picture_m.1 + phase).sin())
            .sum();
        let below_m = match (scene.vessel.posture, scene.camera.datum_side) {
            (Posture::HorizontalCylinder, _) => plane_m.1,
            (Posture::VerticalCylinder, DatumSide::Top) => plane_m.0 - scene.vessel.length_m,
            (Posture::VerticalCylinder, _) => -plane_m.0,
            (Posture::Flat, _) => -plane_m.1,
        };
        match background.floor {
            Some((depth_m, floor_c)) if below_m > depth_m => floor_c + 0.5 * texture_k,
            _ => {
                background.wall_c
                    + background.slope_k_m.0 * picture_m.0
                    + background.slope_k_m.1 * picture_m.1
                    + texture_k
            }
        }
    }
}
