//! From a scene to a thermogram.

mod clutter;

use ndarray::Array2;

use crate::band::{DirectionalEmissivity, apparent_c, radiance_w_m2sr};
use crate::conduct::{Solution, conduct};
use crate::dress::{Backdrop, Bar, bars, surface_change};
use crate::film::surroundings_c;
use crate::lens::{Aim, blur, spoil};
use crate::scene::{Layer, Posture, Scene};
use crate::shape::{Eye, Shape, SurfacePoint};
use crate::truth::{PatchTruth, Truth};
use crate::wetness::{Wetness, through_ratio};

/// Lines of sight a side of a pixel.
const SUB: usize = 2;
/// Difference across a pixel below which it counts as even, W/(m² sr): about 20 mK.
const EVEN_W_M2SR: f64 = 0.015;

/// A simulated thermogram and its truth.
#[derive(Debug, Clone)]
pub struct Rendered {
    /// Apparent temperatures, °C, rows × columns.
    pub apparent_c: Array2<f32>,
    /// What is really there.
    pub truth: Truth,
}

/// Everything a line of sight needs.
struct Stage<'a> {
    scene: &'a Scene,
    shape: Shape,
    aim: Aim,
    eye: Eye,
    behind: Vec<Bar>,
    front: Vec<Bar>,
    backdrop: Backdrop,
    emissivity: DirectionalEmissivity,
    jacket: Solution,
    baseline: Solution,
    wetness: Wetness,
}

/// A point of the axis plane, (axial, across) m, and the point of the asset seen through it.
struct Sight {
    plane_m: (f64, f64),
    point: SurfacePoint,
}

/// Renders a scene; everything random comes from `seed`.
pub fn render(scene: &Scene, seed: u64) -> Rendered {
    let stage = Stage::set(scene, seed);
    let exact_c = stage.expose();
    let mut truth = stage.record_truth();
    truth.sound_surface_c = truth.measure_sound_c();
    truth.patches = scene
        .patches
        .iter()
        .zip(truth.patches.clone())
        .map(|(_, patch)| truth.measure_patch(patch))
        .collect();
    Rendered {
        apparent_c: spoil(&exact_c, &scene.camera, seed),
        truth,
    }
}

impl<'a> Stage<'a> {
    fn set(scene: &'a Scene, seed: u64) -> Self {
        let shape = Shape::of(&scene.vessel);
        let sound = scene.without_patches();
        let wetness = Wetness::of(scene, &shape, seed);
        let baseline = conduct(&sound, &shape, &Wetness::of(&sound, &shape, seed), None);
        let jacket = if scene.patches.is_empty() {
            baseline.clone()
        } else {
            conduct(scene, &shape, &wetness, Some(&baseline))
        };
        let (behind, front) = bars(scene, &shape, seed)
            .into_iter()
            .partition(|bar| bar.layer == Layer::Behind);
        Self {
            scene,
            aim: Aim::of(&scene.camera, scene.vessel.posture),
            eye: Eye {
                aim_m: scene.camera.aim_m,
                distance_m: scene.camera.perspective_m,
            },
            behind,
            front,
            backdrop: Backdrop::of(scene, seed),
            emissivity: DirectionalEmissivity::from_normal(scene.vessel.jacket.emissivity),
            jacket,
            baseline,
            wetness,
            shape,
        }
    }

    /// Radiance along one line of sight, W/(m² sr).
    fn look(&self, x: f64, y: f64) -> f64 {
        let plane_m = self.aim.plane_m(x, y);
        let wall_c = self.scene.background.wall_c;
        let hit = |bars: &[Bar]| {
            let mut found = None;
            for bar in bars {
                found = bar.at(plane_m.0, plane_m.1, wall_c).or(found);
            }
            found
        };
        if let Some(front_c) = hit(&self.front) {
            return radiance_w_m2sr(front_c);
        }
        if let Some(point) = self.shape.see(plane_m.0, plane_m.1, &self.eye) {
            return self.jacket_radiance(&point);
        }
        let seen_c =
            hit(&self.behind).unwrap_or_else(|| self.backdrop.at(self.scene, plane_m, self.aim.picture_m(x, y)));
        radiance_w_m2sr(seen_c)
    }

    fn jacket_radiance(&self, point: &SurfacePoint) -> f64 {
        let (emissivity, mirrored_c) = surface_change(self.scene, &self.shape, point);
        let emissivity = match emissivity {
            Some(other) => DirectionalEmissivity::from_normal(other).at(point.cos_view),
            None => self.emissivity.at(point.cos_view),
        };
        let upward = match self.scene.vessel.posture {
            Posture::HorizontalCylinder => -point.normal[1],
            Posture::VerticalCylinder => point.normal[0],
            Posture::Flat => 0.0,
        };
        // A mirror-like jacket reflects from twice the tilt of its normal.
        let steep = if self.scene.vessel.jacket.emissivity < 0.5 {
            2.0 * upward * point.cos_view
        } else {
            upward
        };
        let reflected_c = mirrored_c.unwrap_or_else(|| surroundings_c(&self.scene.conditions, steep));
        let surface_c = self.jacket.jacket_c(point.run_m, point.round);
        emissivity * radiance_w_m2sr(surface_c) + (1.0 - emissivity) * radiance_w_m2sr(reflected_c)
    }

    /// The picture before the camera's faults: mean radiance of each pixel, blurred, as apparent temperature.
    fn expose(&self) -> Array2<f64> {
        let camera = &self.scene.camera;
        let mut radiance = Array2::zeros((camera.height, camera.width));
        let shift = |k: usize| (k as f64 + 0.5) / SUB as f64 - 0.5;
        for ((row, column), value) in radiance.indexed_iter_mut() {
            let sight = |part: usize| {
                let x = column as f64 + shift(part % SUB);
                let y = row as f64 + shift(part / SUB);
                self.look(x, y)
            };
            let (first, last) = (sight(0), sight(3));
            // Only where the diagonal shows an edge are the other two lines of sight worth their time.
            *value = if (first - last).abs() < EVEN_W_M2SR {
                0.5 * (first + last)
            } else {
                0.25 * (first + last + sight(1) + sight(2))
            };
        }
        blur(&radiance, camera.blur_px).mapv(apparent_c)
    }

    fn record_truth(&self) -> Truth {
        let camera = &self.scene.camera;
        let size = (camera.height, camera.width);
        let blank = || Array2::from_elem(size, f32::NAN);
        let scale = camera
            .perspective_m
            .map_or(1.0, |d| 1.0 / (1.0 - (self.shape.radius_m / d).powi(2)).sqrt());
        let outline = self.shape.outline_m();
        let widen = |c: f64| if self.shape.is_flat() { c } else { c * scale };
        let mut truth = Truth {
            vessel: Array2::from_elem(size, false),
            visible: Array2::from_elem(size, false),
            axial_m: blank(),
            round: blank(),
            cos_view: blank(),
            area_m2: blank(),
            surface_c: blank(),
            baseline_c: blank(),
            outline_px: outline.iter().map(|(a, c)| self.aim.pixel(*a, widen(*c))).collect(),
            pixels_per_metre: camera.pixels_per_metre,
            patches: self.blank_patches(size),
            clutter: Vec::new(),
            sound_surface_c: f64::NAN,
            heat_gain_w: self.jacket.inner_w,
            sound_heat_gain_w: self.baseline.inner_w,
        };
        let sights = self.sights();
        for (at, sight) in sights.indexed_iter() {
            if let Some(sight) = sight {
                self.record_pixel(&mut truth, at, sight);
            }
        }
        truth.clutter = self.record_clutter(&sights);
        truth
    }

    /// Where the middle of each pixel meets the asset, if it does.
    fn sights(&self) -> Array2<Option<Sight>> {
        let camera = &self.scene.camera;
        Array2::from_shape_fn((camera.height, camera.width), |(row, column)| {
            let plane_m = self.aim.plane_m(column as f64, row as f64);
            let point = self.shape.see(plane_m.0, plane_m.1, &self.eye)?;
            Some(Sight { plane_m, point })
        })
    }

    fn record_pixel(&self, truth: &mut Truth, at: (usize, usize), sight: &Sight) {
        let Sight { plane_m, point } = sight;
        let wall_c = self.scene.background.wall_c;
        let hidden = self
            .front
            .iter()
            .any(|bar| bar.at(plane_m.0, plane_m.1, wall_c).is_some());
        truth.vessel[at] = true;
        truth.visible[at] = !hidden;
        truth.axial_m[at] = point.axial_m as f32;
        truth.round[at] = if self.shape.is_flat() {
            point.round as f32
        } else {
            point.round.to_degrees() as f32
        };
        truth.cos_view[at] = point.cos_view as f32;
        let pixel_m2 = self.scene.camera.pixels_per_metre.powi(-2);
        truth.area_m2[at] = (point.area_scale * pixel_m2) as f32;
        truth.surface_c[at] = self.jacket.jacket_c(point.run_m, point.round) as f32;
        truth.baseline_c[at] = self.baseline.jacket_c(point.run_m, point.round) as f32;
        for (patch, known) in self.scene.patches.iter().zip(&mut truth.patches) {
            let share = self.wetness.share(patch, point.run_m, point.round);
            known.pixels[at] = !hidden && share >= 0.5;
        }
    }

    fn blank_patches(&self, size: (usize, usize)) -> Vec<PatchTruth> {
        self.scene
            .patches
            .iter()
            .map(|patch| PatchTruth {
                pixels: Array2::from_elem(size, false),
                area_m2: self.wetness.area_m2(patch),
                visible_area_m2: 0.0,
                axial_m: patch.axial_m,
                angle_deg: patch.angle_deg,
                height_m: patch.height_m,
                ratio: through_ratio(patch),
                contrast_mean_k: 0.0,
                contrast_peak_k: 0.0,
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::{Fixture, Patch};

    #[test]
    fn a_wet_patch_is_colder_where_the_truth_says() {
        let mut scene = Scene::plain_horizontal();
        scene.camera.dead_share = 0.0;
        scene.patches = vec![Patch::ellipse(1.0, 20.0, (0.3, 0.25), 5.0)];
        scene.fixtures = vec![Fixture::Pipe {
            from_m: (2.5, -3.0),
            to_m: (2.5, 3.0),
            diameter_m: 0.1,
            apparent_c: 21.0,
            layer: Layer::Front,
        }];
        let rendered = render(&scene, 4);
        let truth = &rendered.truth;
        let patch = &truth.patches[0];
        assert!(patch.contrast_mean_k < -2.0, "{}", patch.contrast_mean_k);
        assert!((patch.visible_area_m2 / patch.area_m2 - 1.0).abs() < 0.05);
        let mean_c = |mask: &Array2<bool>| {
            let picked: Vec<f32> = rendered
                .apparent_c
                .iter()
                .zip(mask)
                .filter(|(_, m)| **m)
                .map(|(v, _)| *v)
                .collect();
            picked.iter().sum::<f32>() / picked.len() as f32
        };
        assert!(f64::from(mean_c(&patch.pixels)) < truth.sound_surface_c - 1.5);
        scene.camera.perspective_m = Some(5.0);
        let near = &render(&scene, 4).truth.patches[0];
        assert!((near.visible_area_m2 / near.area_m2 - 1.0).abs() < 0.05);
        let hidden = truth
            .vessel
            .iter()
            .zip(&truth.visible)
            .filter(|(v, s)| **v && !**s)
            .count();
        let expected = 0.1 * 60.0 * 1.6 * 60.0;
        assert!((hidden as f64 / expected - 1.0).abs() < 0.1, "{hidden} hidden pixels");
        assert!(truth.heat_gain_w > truth.sound_heat_gain_w + 1.0);
    }

    #[test]
    fn equal_seeds_give_equal_pictures() {
        let scene = Scene::plain_vertical();
        let (first, second) = (render(&scene, 9), render(&scene, 9));
        assert_eq!(first.apparent_c, second.apparent_c);
        assert_ne!(first.apparent_c, render(&scene, 10).apparent_c);
    }
}
