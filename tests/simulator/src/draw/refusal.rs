//! Frames that cannot answer.

use super::{Wish, random_scene};
use crate::random::Prng;
use crate::scene::Scene;

/// Why a frame cannot answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Refusal {
    /// Bright metal jacket.
    BrightJacket,
    /// The inside is hardly colder than the air.
    TooLittleDifference,
    /// Sunshine on the jacket.
    Sun,
    /// Wind above 6.7 m/s.
    Wind,
    /// Out of focus.
    Blur,
    /// The vessel fills a few pixels.
    TooSmall,
    /// The reading is clipped over most of the vessel.
    Clipped,
    /// Another view altogether: no vessel.
    NoVessel,
    /// The camera's range lies above all there is: every reading the same.
    Even,
}

impl Refusal {
    /// Every kind.
    pub const ALL: [Self; 9] = [
        Self::BrightJacket,
        Self::TooLittleDifference,
        Self::Sun,
        Self::Wind,
        Self::Blur,
        Self::TooSmall,
        Self::Clipped,
        Self::NoVessel,
        Self::Even,
    ];

    /// Its name in tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::BrightJacket => "bright jacket",
            Self::TooLittleDifference => "too little difference",
            Self::Sun => "sun on the jacket",
            Self::Wind => "wind above 6.7 m/s",
            Self::Blur => "out of focus",
            Self::TooSmall => "vessel too small",
            Self::Clipped => "clipped readings",
            Self::NoVessel => "no vessel in the picture",
            Self::Even => "every reading the same",
        }
    }
}

/// Draws a scene that cannot answer for the given reason.
pub fn refusal_scene(prng: &mut Prng, reason: Refusal) -> Scene {
    let wish = Wish {
        may_be_partial: false,
        ..Wish::default()
    };
    let mut scene = random_scene(prng, &wish);
    match reason {
        Refusal::BrightJacket => {
            scene.vessel.jacket.emissivity = prng.between(0.05, 0.2);
            scene.vessel.jacket.in_plane_w_k = 0.1;
        }
        Refusal::TooLittleDifference => {
            scene.service_c = scene.conditions.air_c - prng.between(0.5, 3.0);
        }
        Refusal::Sun => {
            scene.conditions.sun_w_m2 = prng.between(150.0, 400.0);
        }
        Refusal::Wind => scene.conditions.wind_m_s = prng.between(8.0, 12.0),
        Refusal::Blur => scene.camera.blur_px = prng.between(6.0, 10.0),
        Refusal::TooSmall => scene.camera.pixels_per_metre *= 0.06,
        Refusal::Clipped => {
            let floor_c = scene.conditions.air_c + 0.5;
            scene.camera.range_c = (floor_c, 150.0);
        }
        Refusal::NoVessel => {
            scene.camera.aim_m.1 += 60.0;
            scene.background.floor = None;
        }
        Refusal::Even => {
            scene.camera.dead_share = 0.0;
            scene.camera.range_c = (90.0, 150.0);
        }
    }
    scene
}
