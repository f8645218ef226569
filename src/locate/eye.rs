//! The camera as a point: from near by, the face of a round jacket stands nearer than its limb, and is larger in the picture.
//!
//! In metres, a along the axis and y across it in the picture's plane, z towards the camera, all from the axis; the eye E
//! at (aₑ, yₑ, D) and the place at which a line of sight passes the plane of the axis, (a, y, 0):
//!
//! ```text
//! P(t) = E + t·((a, y, 0) − E)      y(t)² + z(t)² = R², the smaller t
//! share = y(t)/R      axial = aₑ + t·(a − aₑ)      area behind a pixel ∝ t²
//! ```
//!
//! The picture shows the limb where the line of sight touches the jacket. That is beyond R in the plane of the axis:
//!
//! ```text
//! y² (D² − R²) + 2 R² yₑ y − R² (yₑ² + D²) = 0
//! ```
//!
//! Both follow from the geometry of a pinhole and a circular cylinder. The eye is taken to stand before the middle of the
//! picture, at the distance that the field of view gives: `D = (n/2) / tan(FOV/2) / s`, n pixels along the longer side and s
//! pixels a metre in the plane of the axis. That s follows from the width of the figure, which is that of the limb: seen aslant,
//! the ends reach further than they would in that plane, so that a figure fitted to them has another scale.
//!
//! A camera that does not look square at the axis, but at an angle β to that, shows it with the taper κ = sin β/z₀ (see
//! [`super::figure`]), z₀ its distance from the anchor along its line of sight: from where that meets the axis, z off, the eye
//! stands `z·sin β` along it and `z·cos β` off the plane.

use super::figure::{Figure, Surface};
use super::orientation::Orientation;

/// Nearest eye that is reckoned with, in radii from the axis: nearer, no vessel is seen as one figure.
const NEAREST_RADII: f64 = 1.5;
/// Sine of the greatest angle between line of sight and square on that is reckoned with.
const MOST_ASLANT: f64 = 0.5;
/// Times that distance, limb and scale are reckoned, each from the others: they settle within three.
const ROUNDS: usize = 6;

/// Where the camera stands against a round figure.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Eye {
    /// Its axial place in m, and the same by the figure's own measure.
    axial_m: f64,
    figure_axial_m: f64,
    /// Its distance across from the axis in the picture's plane in m, towards larger v.
    across_m: f64,
    /// Its distance from the plane of the axis in m.
    distance_m: f64,
    radius_m: f64,
    /// Middle and half of the figure's width where lines of sight pass the plane of the axis, m.
    middle_m: f64,
    half_m: f64,
    /// Metres in the plane of the axis to one along the figure.
    along: f64,
}

/// What of a figure's axial measure is sure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sure {
    /// Both its ends.
    Ends,
    /// This place, m: where the picture begins.
    At(f64),
}

/// A place on the jacket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnJacket {
    /// Axial place in m.
    pub axial_m: f64,
    /// Distance from the axis in the picture over the radius, −1..1: the sine of the angle from the facing line.
    pub share: f64,
    /// Metres to a pixel there, square to the line of sight, over those of the figure's scale; 1 from far away.
    pub nearness: f64,
}

impl OnJacket {
    /// The place on the jacket that the figure shows at an axial place (m) and a share of its half width; without an eye, seen
    /// from far away.
    #[must_use]
    pub fn seen(eye: Option<&Eye>, axial_m: f64, share: f64) -> Self {
        let from_far_away = Self {
            axial_m,
            share,
            nearness: 1.0,
        };
        eye.map_or(from_far_away, |eye| eye.on_jacket(axial_m, share))
    }
}

/// [`OnJacket::nearness`] by the share of the half width, in the precision of a pixel's place.
#[derive(Debug, Clone, Copy)]
pub struct Nearness {
    /// Where lines of sight pass the plane of the axis, from the eye's own place across it, m.
    middle: f32,
    half: f32,
    across: f32,
    d2: f32,
    c: f32,
    along: f32,
}

impl Nearness {
    /// That of a share, −1..1; the equation is that of [`Eye::on_jacket`].
    #[must_use]
    #[inline]
    pub fn at(&self, share: f32) -> f32 {
        let y = self.middle + share * self.half;
        let a = y * y + self.d2;
        let b = self.across * y - self.d2;
        (-b - (b * b - a * self.c).max(0.0).sqrt()) / a * self.along
    }
}

/// A pinhole camera that looks at the middle of its picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pinhole {
    /// Focal length in pixels of the image.
    pub focal_px: f64,
    /// Middle of the image in pixels.
    pub middle_px: [f64; 2],
}

impl Eye {
    /// The eye of a camera; None for a plane, which is seen at one scale, and where it would stand too near.
    #[must_use]
    pub fn of(camera: &Pinhole, figure: &Figure, orientation: &Orientation, sure: Sure) -> Option<Self> {
        let radius_m = figure.size.half_width_m;
        if figure.size.surface != Surface::Round {
            return None;
        }
        let (u, v) = orientation.from_image(camera.middle_px[0], camera.middle_px[1]);
        let (figure_axial_m, q_m) = figure.local(u, v);
        let far_m = camera.focal_px / (figure.scale_px_m * orientation.grain() as f64);
        // Distance of the middle of the picture over that of the anchor, for which scale, stretch and taper hold.
        let beyond = figure.distance(figure_axial_m);
        let mut eye = Self {
            axial_m: figure_axial_m,
            figure_axial_m,
            across_m: q_m,
            distance_m: far_m,
            radius_m,
            middle_m: 0.0,
            half_m: radius_m,
            along: 1.0,
        };
        let mut aside_m = 0.0;
        for _ in 0..ROUNDS {
            if eye.distance_m < NEAREST_RADII * radius_m {
                return None;
            }
            (eye.middle_m, eye.half_m) = eye.limb();
            eye.across_m = eye.middle_m + q_m / radius_m * eye.half_m;
            let wider = eye.half_m / radius_m / figure.stretch;
            let anchor_m = far_m * wider;
            let sin = (figure.taper_per_m * anchor_m).clamp(-MOST_ASLANT, MOST_ASLANT);
            let cos = (1.0 - sin * sin).sqrt();
            eye.along = wider / cos;
            eye.distance_m = anchor_m * beyond * cos;
            aside_m = anchor_m * beyond * sin;
        }
        eye.figure_axial_m = figure_axial_m - aside_m / eye.along;
        eye.axial_m = eye.figure_axial_m;
        if let Sure::At(sure_m) = sure {
            eye.axial_m = sure_m + eye.along * (eye.figure_axial_m - sure_m);
        }
        eye.half_m.is_finite().then_some(eye)
    }

    /// Middle and half of the width between the two limbs in the plane of the axis, m.
    fn limb(&self) -> (f64, f64) {
        let (d2, r2) = (self.distance_m.powi(2), self.radius_m.powi(2));
        let middle_m = -r2 * self.across_m / (d2 - r2);
        let square = r2 * (self.across_m.powi(2) + d2) / (d2 - r2) + middle_m.powi(2);
        (middle_m, square.sqrt())
    }

    /// The place on the jacket that the figure shows at an axial place (m) and a share of its half width, −1..1.
    #[must_use]
    pub fn on_jacket(&self, axial_m: f64, share: f64) -> OnJacket {
        let y = self.middle_m + share.clamp(-1.0, 1.0) * self.half_m;
        let (d, y_e) = (self.distance_m, self.across_m);
        // |E + t·(P − E)|² = R² across the axis: A t² + 2 B t + C = 0
        let a = (y - y_e).powi(2) + d * d;
        let b = y_e * (y - y_e) - d * d;
        let c = y_e * y_e + d * d - self.radius_m.powi(2);
        // At the limb the line of sight touches: rounding must not make it miss.
        let t = (-b - (b * b - a * c).max(0.0).sqrt()) / a;
        let nearness = t * self.along;
        OnJacket {
            axial_m: self.axial_m + nearness * (axial_m - self.figure_axial_m),
            share: ((y_e + t * (y - y_e)) / self.radius_m).clamp(-1.0, 1.0),
            nearness,
        }
    }

    /// The nearness of places by their share, for many of them.
    #[must_use]
    pub fn nearness(&self) -> Nearness {
        let d2 = self.distance_m.powi(2);
        let [middle, half, across, d2, c, along] = [
            self.middle_m - self.across_m,
            self.half_m,
            self.across_m,
            d2,
            self.across_m.powi(2) + d2 - self.radius_m.powi(2),
            self.along,
        ]
        .map(|v| v as f32);
        Nearness {
            middle,
            half,
            across,
            d2,
            c,
            along,
        }
    }

    /// Where the figure shows a place on the jacket that faces the camera: axial place in m and share of the half width.
    #[must_use]
    pub fn in_figure(&self, axial_m: f64, share: f64) -> (f64, f64) {
        let y = share * self.radius_m;
        let towards_m = self.radius_m * (1.0 - share * share).max(0.0).sqrt();
        let t = 1.0 - towards_m / self.distance_m;
        let across_m = self.across_m + (y - self.across_m) / t;
        (
            self.figure_axial_m + (axial_m - self.axial_m) / (t * self.along),
            (across_m - self.middle_m) / self.half_m,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An eye 4 m from the axis of a vessel of 1 m radius, 2 m along and 0.3 m below.
    fn eye() -> Eye {
        let mut eye = Eye {
            axial_m: 2.0,
            figure_axial_m: 2.1,
            along: 1.03,
            across_m: 0.3,
            distance_m: 4.0,
            radius_m: 1.0,
            middle_m: 0.0,
            half_m: 1.0,
        };
        (eye.middle_m, eye.half_m) = eye.limb();
        eye
    }

    #[test]
    fn the_face_stands_nearer_and_the_limb_is_where_the_line_of_sight_touches() {
        let eye = Eye {
            figure_axial_m: 2.0,
            along: 1.0,
            across_m: 0.0,
            middle_m: 0.0,
            half_m: 4.0 / 15f64.sqrt(),
            ..eye()
        };
        // Straight ahead the jacket stands at 3 m of 4: what is 1 m along in the plane of the axis is 0.75 m along there.
        let ahead = eye.on_jacket(3.0, 0.0);
        assert!((ahead.axial_m - 2.75).abs() < 1e-12 && (ahead.nearness - 0.75).abs() < 1e-12);
        // A tangent from 4 radii touches at sin φ = √(1 − 1/16).
        let limb = eye.on_jacket(2.0, 1.0);
        assert!((limb.share - (15.0f64 / 16.0).sqrt()).abs() < 1e-6, "{limb:?}");
    }

    #[test]
    fn the_nearness_of_many_is_that_of_each() {
        for distance_m in [4.0, 12.0, 60.0] {
            let mut eye = Eye { distance_m, ..eye() };
            (eye.middle_m, eye.half_m) = eye.limb();
            let many = eye.nearness();
            for step in -10i16..=10 {
                let share = f64::from(step) / 10.0;
                let each = eye.on_jacket(1.0, share).nearness;
                let off = f64::from(many.at(share as f32)) / each - 1.0;
                // At the limb the root of a rounding error is left.
                let within = if step.abs() == 10 { 2e-3 } else { 2e-5 };
                assert!(off.abs() < within, "{distance_m} {share}: {off}");
            }
        }
    }

    #[test]
    fn there_and_back_is_the_same_place() {
        for axial_m in [-0.5, 2.0, 5.0] {
            for share in [-0.8, -0.3, 0.0, 0.5, 0.8] {
                let (figure_m, figure_share) = eye().in_figure(axial_m, share);
                let back = eye().on_jacket(figure_m, figure_share);
                assert!((back.axial_m - axial_m).abs() < 1e-9, "{axial_m} {share}: {back:?}");
                assert!((back.share - share).abs() < 1e-9, "{axial_m} {share}: {back:?}");
            }
        }
    }

    #[test]
    fn from_far_away_nothing_moves() {
        let far = Eye {
            distance_m: 1e7,
            figure_axial_m: 2.0,
            along: 1.0,
            middle_m: 0.0,
            half_m: 1.0,
            ..eye()
        };
        let place = far.on_jacket(4.0, 0.4);
        assert!((place.axial_m - 4.0).abs() < 1e-6 && (place.share - 0.4).abs() < 1e-6);
        assert!((place.nearness - 1.0).abs() < 1e-6);
    }
}
