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

#[cfg(test)]
mod tests {
    use crate::picture::render;
    use crate::scene::{Fixture, Layer, LiquidLevel, Scene};

    #[test]
    fn the_truth_names_what_stands_there_and_where() {
        let mut scene = Scene::plain_vertical();
        scene.grid.along = 60;
        scene.grid.round = 60;
        scene.fixtures = vec![
            Fixture::Pipe {
                from_m: (-3.0, 0.3),
                to_m: (6.0, 0.3),
                diameter_m: 0.1,
                apparent_c: 21.0,
                layer: Layer::Front,
            },
            Fixture::InspectionPort {
                axial_m: 1.0,
                angle_deg: -20.0,
                diameter_m: 0.1,
            },
        ];
        scene.liquid_level = Some(LiquidLevel {
            axial_m: 1.5,
            vapour_warmer_k: 10.0,
        });
        scene.camera.vignetting_k = 0.2;
        let truth = render(&scene, 3).truth;
        let kinds: Vec<&str> = truth.clutter.iter().map(|thing| thing.kind).collect();
        assert_eq!(
            kinds,
            ["pipe-in-front", "inspection-port", "liquid-level", "vignetting"]
        );
        assert!(truth.clutter[3].pixels.is_none(), "all over the picture");
        let [pipe, port, level] = [0, 1, 2].map(|k| truth.clutter[k].pixels.as_ref().unwrap());
        // The pipe is just what hides the vessel.
        for (at, on_pipe) in pipe.indexed_iter() {
            assert_eq!(*on_pipe, truth.vessel[at] && !truth.visible[at], "{at:?}");
        }
        for (at, _) in port.indexed_iter().filter(|(_, inside)| **inside) {
            let away_m = (truth.axial_m[at] - 1.0).hypot(0.8 * (truth.round[at] + 20.0).to_radians());
            assert!(away_m < 0.1, "{away_m} m from the port's middle");
        }
        assert!(port.iter().filter(|inside| **inside).count() > 20);
        for (at, _) in level.indexed_iter().filter(|(_, inside)| **inside) {
            assert!((truth.axial_m[at] - 1.5).abs() < 0.121);
        }
    }
}
