//! Assets other than the two usual vessels: walls and pipe runs.

use crate::random::Prng;
use crate::scene::*;

/// What a random scene shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Geometry {
    /// A level vessel.
    Horizontal,
    /// An upright vessel.
    Vertical,
    /// A cold wall.
    Flat,
    /// A level pipe that leaves the picture on both sides, on hangers.
    PipeRun,
}

impl Geometry {
    /// Every kind.
    pub const ALL: [Self; 4] = [Self::Horizontal, Self::Vertical, Self::Flat, Self::PipeRun];

    /// The plainest scene of the kind.
    pub(super) fn plain(self) -> Scene {
        match self {
            Self::Horizontal | Self::PipeRun => Scene::plain_horizontal(),
            Self::Vertical => Scene::plain_vertical(),
            Self::Flat => Scene::plain_flat(),
        }
    }
}

/// Gives a drawn vessel the size of a wall or pipe.
pub(super) fn resize(scene: &mut Scene, prng: &mut Prng, geometry: Geometry) {
    let vessel = &mut scene.vessel;
    match geometry {
        Geometry::Horizontal | Geometry::Vertical => {}
        Geometry::Flat => {
            vessel.length_m = prng.between(2.5, 4.5);
            vessel.height_m = prng.between(2.0, 3.0);
            scene.grid.along = (vessel.length_m / 0.028) as usize;
            scene.grid.round = (vessel.height_m / 0.028) as usize;
        }
        Geometry::PipeRun => {
            vessel.diameter_m = prng.between(0.35, 0.7);
            vessel.length_m = prng.between(5.0, 6.0);
            vessel.head = Head::Flat;
            scene.grid.round = 96;
            scene.grid.along = 220;
        }
    }
}

/// Points a camera at a wall or pipe.
pub(super) fn aim(scene: &mut Scene, prng: &mut Prng, geometry: Geometry) {
    let (width, height) = [(320, 240), (384, 288), (640, 480), (640, 512)][prng.index(4)];
    let vessel = &scene.vessel;
    let fill = prng.between(0.72, 0.88);
    let (scale_px_m, aim_m) = if geometry == Geometry::Flat {
        let scale = (width as f64 / vessel.length_m).min(height as f64 / vessel.height_m);
        (fill * scale, (0.5 * vessel.length_m, 0.5 * vessel.height_m))
    } else {
        let in_view_m = prng.between(0.4, 0.6) * vessel.length_m;
        (
            width as f64 / in_view_m,
            (prng.between(0.45, 0.55) * vessel.length_m, 0.0),
        )
    };
    let mut camera = Camera::facing(width, height, scale_px_m, aim_m);
    camera.rotation_deg = prng.between(-1.5, 1.5);
    camera.blur_px = prng.between(0.5, 1.0);
    scene.camera = camera;
}

/// Hangs a pipe: a strap and rod every metre and a half.
pub(super) fn hang(scene: &mut Scene) {
    let length_m = scene.vessel.length_m;
    let count = (length_m / 1.5) as usize;
    scene.fixtures.extend((0..count).map(|k| Fixture::Hanger {
        axial_m: (k as f64 + 0.5) / count as f64 * length_m,
        width_m: 0.06,
    }));
}
