//! The camera: where its pixels look, its blur and its faults.

use ndarray::Array2;

use crate::random::Prng;
use crate::scene::{Camera, DatumSide, Posture};

/// Between pixels and the axis plane.
#[derive(Debug, Clone, Copy)]
pub struct Aim {
    middle_px: (f64, f64),
    scale_px_m: f64,
    aim_m: (f64, f64),
    along: (f64, f64),
    across: (f64, f64),
}

impl Aim {
    /// The camera's aim at an asset.
    pub fn of(camera: &Camera, posture: Posture) -> Self {
        let (along, across) = match (camera.datum_side, posture) {
            (DatumSide::Left, Posture::Flat) => ((1.0, 0.0), (0.0, -1.0)),
            (DatumSide::Right, Posture::Flat) => ((-1.0, 0.0), (0.0, -1.0)),
            (DatumSide::Left, _) => ((1.0, 0.0), (0.0, 1.0)),
            (DatumSide::Right, _) => ((-1.0, 0.0), (0.0, 1.0)),
            (DatumSide::Bottom, _) => ((0.0, -1.0), (1.0, 0.0)),
            (DatumSide::Top, _) => ((0.0, 1.0), (1.0, 0.0)),
        };
        let (sin, cos) = camera.rotation_deg.to_radians().sin_cos();
        let turn = |v: (f64, f64)| (cos * v.0 - sin * v.1, sin * v.0 + cos * v.1);
        Self {
            middle_px: (0.5 * (camera.width as f64 - 1.0), 0.5 * (camera.height as f64 - 1.0)),
            scale_px_m: camera.pixels_per_metre,
            aim_m: camera.aim_m,
            along: turn(along),
            across: turn(across),
        }
    }

    /// Metres right and up of the picture's middle.
    pub(crate) fn picture_m(&self, x: f64, y: f64) -> (f64, f64) {
        (
            (x - self.middle_px.0) / self.scale_px_m,
            (self.middle_px.1 - y) / self.scale_px_m,
        )
    }

    /// Point of the axis plane behind a pixel, (axial, across) m.
    pub fn plane_m(&self, x: f64, y: f64) -> (f64, f64) {
        let (right, up) = self.picture_m(x, y);
        (
            self.aim_m.0 + right * self.along.0 - up * self.along.1,
            self.aim_m.1 + right * self.across.0 - up * self.across.1,
        )
    }

    /// Pixel of a point of the axis plane.
    pub fn pixel(&self, along_m: f64, across_m: f64) -> (f64, f64) {
        let (a, c) = (along_m - self.aim_m.0, across_m - self.aim_m.1);
        (
            self.middle_px.0 + self.scale_px_m * (a * self.along.0 + c * self.across.0),
            self.middle_px.1 + self.scale_px_m * (a * self.along.1 + c * self.across.1),
        )
    }
}

/// Gaussian blur with held edges.
pub(crate) fn blur(image: &Array2<f64>, sigma_px: f64) -> Array2<f64> {
    if sigma_px <= 0.0 {
        return image.clone();
    }
    let reach = (3.5 * sigma_px).ceil() as isize;
    let weights: Vec<f64> = (-reach..=reach)
        .map(|k| (-0.5 * (k as f64 / sigma_px).powi(2)).exp())
        .collect();
    let total: f64 = weights.iter().sum();
    let (rows, columns) = image.dim();
    let held = |place: isize, end: usize| place.clamp(0, end as isize - 1) as usize;
    let pass = |source: &Array2<f64>, down: isize, over: isize| {
        Array2::from_shape_fn((rows, columns), |(row, column)| {
            let mut sum = 0.0;
            for (k, weight) in weights.iter().enumerate() {
                let step = k as isize - reach;
                let at = (
                    held(row as isize + down * step, rows),
                    held(column as isize + over * step, columns),
                );
                sum += weight * source[at];
            }
            sum / total
        })
    };
    pass(&pass(image, 1, 0), 0, 1)
}

/// Adds the camera's faults.
pub(crate) fn spoil(exact_c: &Array2<f64>, camera: &Camera, seed: u64) -> Array2<f32> {
    let mut prng = Prng::new(seed ^ 0x0CA3_E2A0_0000_0001);
    let columns_k: Vec<f64> = (0..camera.width)
        .map(|_| camera.column_noise_k * prng.normal())
        .collect();
    let middle = (0.5 * camera.height as f64, 0.5 * camera.width as f64);
    let corner = middle.0.hypot(middle.1);
    Array2::from_shape_fn(exact_c.dim(), |(row, column)| {
        let away = (row as f64 - middle.0).hypot(column as f64 - middle.1) / corner;
        let faults_k = camera.offset_k + columns_k[column] - camera.vignetting_k * away * away;
        let mut value_c = exact_c[(row, column)] + faults_k + camera.noise_k * prng.normal();
        if prng.chance(camera.dead_share) {
            let size_k = prng.between(6.0, 40.0);
            value_c += if prng.chance(0.5) { size_k } else { -size_k };
        }
        value_c.clamp(camera.range_c.0, camera.range_c.1) as f32
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::Scene;

    #[test]
    fn pixels_and_plane_are_inverse_for_every_side_and_turn() {
        for side in [DatumSide::Left, DatumSide::Right, DatumSide::Bottom, DatumSide::Top] {
            let mut camera = Scene::plain_horizontal().camera;
            camera.datum_side = side;
            camera.rotation_deg = 3.0;
            let aim = Aim::of(&camera, Posture::HorizontalCylinder);
            let (along, across) = aim.plane_m(40.0, 170.0);
            let (x, y) = aim.pixel(along, across);
            assert!((x - 40.0).abs() < 1e-9 && (y - 170.0).abs() < 1e-9);
        }
    }
}
