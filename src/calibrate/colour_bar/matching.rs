//! From a pixel's colour to its place on the bar's curve.

use ndarray::Array2;

use super::curve::{Curve, POINTS};
use super::space::{Lab, Space};
use crate::read::Picture;

/// Where each pixel lies on the curve.
pub(super) struct Matched {
    /// Share of the bar from its low end, 0..1.
    pub share: Array2<f32>,
    /// Distance from the curve in colour.
    pub distance: Array2<f32>,
}

/// Finds the nearest point of a curve, with interpolation between its points.
pub(super) struct Matcher<'a> {
    space: &'a Space,
    points: &'a [Lab],
    /// Every [`STRIDE`]th point, for a first look.
    rough: Vec<Lab>,
    /// Colours met before: the answers of a picture repeat.
    cache: Vec<Answer>,
}

#[derive(Clone, Copy)]
struct Answer {
    key: u32,
    share: f32,
    distance: f32,
}

const STRIDE: usize = 8;
const CACHE: usize = 1 << 16;
/// A key no colour has.
const EMPTY: u32 = u32::MAX;

impl<'a> Matcher<'a> {
    pub(super) fn new(curve: &'a Curve, space: &'a Space) -> Self {
        Self {
            space,
            points: &curve.points,
            rough: curve.points.iter().copied().step_by(STRIDE).collect(),
            cache: vec![
                Answer {
                    key: EMPTY,
                    share: 0.0,
                    distance: 0.0,
                };
                CACHE
            ],
        }
    }

    /// Every pixel's place on the curve.
    pub(super) fn picture(&mut self, picture: &Picture) -> Matched {
        let mut share = Array2::zeros(picture.dim());
        let mut distance = Array2::zeros(picture.dim());
        for ((&rgb, share), distance) in picture.iter().zip(share.iter_mut()).zip(distance.iter_mut()) {
            (*share, *distance) = self.colour(rgb);
        }
        Matched { share, distance }
    }

    /// Share of the bar and distance from it of one colour.
    pub(super) fn colour(&mut self, rgb: [u8; 3]) -> (f32, f32) {
        let key = u32::from_be_bytes([0, rgb[0], rgb[1], rgb[2]]);
        // Multiplication spreads neighbouring colours over the table.
        let slot = (key.wrapping_mul(0x9E37_79B1) >> 16) as usize;
        let kept = self.cache[slot];
        if kept.key == key {
            return (kept.share, kept.distance);
        }
        let (share, distance) = self.nearest(self.space.lab(rgb));
        self.cache[slot] = Answer { key, share, distance };
        (share, distance)
    }

    /// The two best of the rough points lead to the nearest stretch of the curve.
    fn nearest(&self, lab: Lab) -> (f32, f32) {
        let far = |p: Lab| {
            let d = p.minus(lab);
            d.dot(d)
        };
        let (mut first, mut second) = ((f32::MAX, 0usize), (f32::MAX, 0usize));
        for (i, &point) in self.rough.iter().enumerate() {
            let d = far(point);
            if d < first.0 {
                if i > first.1 + 1 {
                    second = first;
                }
                first = (d, i);
            } else if d < second.0 && i > first.1 + 1 {
                second = (d, i);
            }
        }
        let mut best = (f32::MAX, 0usize);
        for centre in [first.1, second.1] {
            let from = (centre * STRIDE).saturating_sub(STRIDE);
            let to = (centre * STRIDE + STRIDE).min(POINTS - 1);
            for (i, &point) in self.points.iter().enumerate().take(to + 1).skip(from) {
                let d = far(point);
                if d < best.0 {
                    best = (d, i);
                }
            }
        }
        self.between(lab, best.1)
    }

    /// The foot of the perpendicular on the two stretches beside a point.
    fn between(&self, lab: Lab, at: usize) -> (f32, f32) {
        let mut best = (at as f32, self.points[at].distance(lab));
        for low in [at.checked_sub(1), Some(at)].into_iter().flatten() {
            let (Some(&a), Some(&b)) = (self.points.get(low), self.points.get(low + 1)) else {
                continue;
            };
            let way = b.minus(a);
            let share = (lab.minus(a).dot(way) / way.dot(way).max(1e-12)).clamp(0.0, 1.0);
            let distance = a.towards(b, share).distance(lab);
            if distance < best.1 {
                best = (low as f32 + share, distance);
            }
        }
        (best.0 / (POINTS - 1) as f32, best.1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read::Packing;

    #[test]
    fn every_colour_of_a_bar_finds_its_own_place() {
        let space = Space::new();
        for map in [colorous::VIRIDIS, colorous::TURBO, colorous::INFERNO, colorous::GREYS] {
            let rows: Vec<[u8; 3]> = (0..256).map(|i| map.eval_rational(i, 256).into_array()).collect();
            let curve = Curve::new(&rows, &space, Packing::Lossless).unwrap();
            let mut matcher = Matcher::new(&curve, &space);
            for (i, &rgb) in rows.iter().enumerate() {
                let (share, distance) = matcher.colour(rgb);
                assert!((share * 255.0 - i as f32).abs() < 1.2, "step {i}: {}", share * 255.0);
                assert!(distance < 0.01);
                assert_eq!(matcher.colour(rgb), (share, distance), "the second time from the cache");
            }
        }
    }

    #[test]
    fn what_is_not_of_the_bar_lies_far_from_it() {
        let space = Space::new();
        let rows: Vec<[u8; 3]> = (0..200)
            .map(|i| colorous::VIRIDIS.eval_rational(i, 200).into_array())
            .collect();
        let curve = Curve::new(&rows, &space, Packing::Lossless).unwrap();
        let mut matcher = Matcher::new(&curve, &space);
        for rgb in [[255; 3], [0; 3], [255, 0, 0], [128; 3]] {
            assert!(matcher.colour(rgb).1 > 0.08, "{rgb:?}: {:?}", matcher.colour(rgb));
        }
    }
}
