//! Where the things lie that may look like moisture and are none.

use ndarray::Array2;

use super::{Sight, Stage};
use crate::dress::{Bar, bars_of, covers};
use crate::scene::{Fixture, Layer, Patch, Posture, Scene};
use crate::shape::SurfacePoint;
use crate::truth::ClutterTruth;
use crate::wetness::bridges;

/// Share of a bridge's full effect from which jacket counts as changed by it.
const FELT: f64 = 0.1;
/// Half-height of the strip that a liquid level takes in, m.
const LEVEL_STRIP_M: f64 = 0.12;
/// Upward part of the normal from which jacket counts as lying under sun or sky.
const UNDER_SKY: f64 = 0.5;
/// Rise of the air's temperature with height that makes a room stratified, K/m.
const STRATIFIED_K_M: f64 = 0.25;

/// A fixture with what it hides and bridges.
struct Mark<'a> {
    fixture: &'a Fixture,
    bars: Vec<Bar>,
    bridges: Vec<Patch>,
}

impl Stage<'_> {
    /// Everything that may look like moisture, with its pixels.
    pub(super) fn record_clutter(&self, sights: &Array2<Option<Sight>>) -> Vec<ClutterTruth> {
        let scene = self.scene;
        let mut clutter: Vec<ClutterTruth> = scene.fixtures.iter().map(|f| self.fixture(f, sights)).collect();
        if let Some(level) = scene.liquid_level {
            let strip = |point: &SurfacePoint| (point.axial_m - level.axial_m).abs() < LEVEL_STRIP_M;
            clutter.push(place("liquid-level", sights, strip));
        }
        let upper = |point: &SurfacePoint| match scene.vessel.posture {
            Posture::HorizontalCylinder => -point.normal[1] > UNDER_SKY,
            Posture::VerticalCylinder => point.normal[0] > UNDER_SKY,
            Posture::Flat => false,
        };
        let conditions = &scene.conditions;
        if conditions.sun_w_m2 > 0.0 {
            clutter.push(place("sun-warmed-top", sights, upper));
        }
        if conditions.overhead_offset_k < 0.0 {
            clutter.push(place("cold-sky", sights, upper));
        }
        if conditions.overhead_offset_k > 0.0 {
            clutter.push(place("warm-ceiling", sights, upper));
        }
        clutter.extend(all_over(scene).map(|kind| ClutterTruth { kind, pixels: None }));
        clutter
    }

    fn fixture(&self, fixture: &Fixture, sights: &Array2<Option<Sight>>) -> ClutterTruth {
        let mut bars = bars_of(fixture, self.scene, &self.shape);
        bars.retain(|bar| bar.layer == Layer::Front);
        let mark = Mark {
            fixture,
            bars,
            bridges: bridges(fixture, &self.shape),
        };
        let wall_c = self.scene.background.wall_c;
        let pixels = pixels(sights, |Sight { plane_m, point }| {
            let hides = |bar: &Bar| bar.at(plane_m.0, plane_m.1, wall_c).is_some();
            let felt = |bridge: &Patch| self.wetness.share(bridge, point.run_m, point.round) > FELT;
            mark.bars.iter().any(hides) || covers(mark.fixture, &self.shape, point) || mark.bridges.iter().any(felt)
        });
        ClutterTruth {
            kind: fixture.kind(),
            pixels: Some(pixels),
        }
    }
}

fn place(kind: &'static str, sights: &Array2<Option<Sight>>, inside: impl Fn(&SurfacePoint) -> bool) -> ClutterTruth {
    ClutterTruth {
        kind,
        pixels: Some(pixels(sights, |sight| inside(&sight.point))),
    }
}

/// Pixels of the asset for which something holds.
fn pixels(sights: &Array2<Option<Sight>>, holds: impl Fn(&Sight) -> bool) -> Array2<bool> {
    sights.map(|sight| sight.as_ref().is_some_and(&holds))
}

/// What the room and the camera do all over the picture.
fn all_over(scene: &Scene) -> impl Iterator<Item = &'static str> {
    let camera = &scene.camera;
    [
        (scene.conditions.stratification_k_m > STRATIFIED_K_M, "stratified-room"),
        (camera.vignetting_k > 0.0, "vignetting"),
        (camera.column_noise_k > 0.0, "column-noise"),
    ]
    .into_iter()
    .filter_map(|(on, kind)| on.then_some(kind))
}
