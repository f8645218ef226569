//! The way inwards from a crossing: where what crosses the outline lies on the jacket.

use super::{Crossing, Scene, blur_px};
use crate::locate::figure::{OutlinePoint, Part};

/// The way inwards from a crossing: square to a long edge, along the axis from an end (legs and nozzles of an end stand
/// along the axis, wherever on the head they start).
pub(super) struct Path<'a> {
    scene: &'a Scene<'a>,
    crossing: &'a Crossing,
    inward: (f64, f64),
}

/// Step at a thing's sides below which it has ended, as a share of the strongest step on the way. Set by the
/// repository's simulated scenes, no source.
const FADED_SHARE: f32 = 0.2;
/// How much more than twice what it departs at the outline the thing may depart further in, K: metal that is colder where it
/// touches the vessel. Set by the repository's simulated scenes, no source: from 0.3 to 1 as many were found when it
/// came.
const FAR_K: f32 = 1.0;
/// Depths without a step that noise alone makes.
const SMALL_GAP_PX: f64 = 3.0;

/// Where the thing lies at one depth.
#[derive(Clone, Copy)]
struct Span {
    depth: f64,
    left: f64,
    right: f64,
    seen: bool,
}

impl<'a> Path<'a> {
    /// Depths in a row without a step on both sides after which the thing has ended: a support that is colder than the
    /// jacket at its top and warmer at its foot shows none where it passes the jacket's own temperature.
    fn gap_px(&self) -> f64 {
        (0.12 * self.scene.radius_px()).max(5.0)
    }

    pub(super) fn new(scene: &'a Scene<'a>, crossing: &'a Crossing) -> Self {
        let p = &crossing.point;
        let (sin, cos) = scene.figure.tilt_rad.sin_cos();
        let inward = match p.part {
            Part::DatumEnd => (cos, sin),
            Part::OtherEnd => (-cos, -sin),
            Part::NearSide | Part::FarSide => (-p.normal_u, -p.normal_v),
        };
        Self {
            scene,
            crossing,
            inward,
        }
    }

    /// Oriented place at a depth and a distance across the way.
    fn place(&self, depth: f64, t: f64) -> (f64, f64) {
        let p = &self.crossing.point;
        (
            p.u + depth * self.inward.0 - t * self.inward.1,
            p.v + depth * self.inward.1 + t * self.inward.0,
        )
    }

    /// Distances across the way of the run's two ends.
    fn sides(&self) -> (f64, f64) {
        let p = &self.crossing.point;
        let across = |e: &OutlinePoint| -(e.u - p.u) * self.inward.1 + (e.v - p.v) * self.inward.0;
        let [a, b] = [across(&self.crossing.ends[0]), across(&self.crossing.ends[1])];
        (a.min(b), a.max(b))
    }

    /// Step at a side: two pixels beyond less two before, over three depths, in the direction of t.
    fn step(&self, depth: f64, t: f64) -> f32 {
        let mut sum = 0.0;
        for d in [-1.0, 0.0, 1.0] {
            for (offset, sign) in [(-2.0, -1.0), (-1.0, -1.0), (1.0, 1.0), (2.0, 1.0)] {
                let (u, v) = self.place(depth + d, t + offset);
                sum += sign * self.scene.at(u, v);
            }
        }
        sum / 6.0
    }

    /// The strongest step of either sign within `reach` px of `t`: (place, step).
    fn side(&self, depth: f64, t: f64, reach: f64) -> (f64, f32) {
        let mut best = (t, 0.0f32);
        let mut offset = 0.0;
        while offset <= reach {
            for at in [t - offset, t + offset] {
                let step = self.step(depth, at);
                if step.abs() > best.1.abs() + 0.02 {
                    best = (at, step);
                }
            }
            offset += 1.0;
        }
        best
    }

    /// Spans from the inner profile inwards (`towards` +1) or outwards (−1), until the thing ends or `last` is passed.
    fn walk(&self, from: (f64, f64, f64), towards: f64, last: f64) -> Vec<Span> {
        let slightest = 0.6 * self.scene.least_bump_k();
        let mut strongest = 0.0f32;
        let (mut depth, mut left, mut right) = from;
        let widest = right - left;
        let (mut spans, mut ended, mut was) = (Vec::new(), 0.0, 0.0f32);
        while (last - depth) * towards >= 0.0 && ended < self.gap_px() {
            let first = spans.is_empty();
            let reach = if first { 3.0 + 0.3 * (right - left) } else { 2.0 };
            let (l, r) = (self.side(depth, left, reach), self.side(depth, right, reach));
            // One thing between two sides: the steps have opposite signs.
            // One that suddenly is much wider has met something else, such as a wet patch above a support.
            let kept = r.0 - l.0 <= 1.5 * widest + 3.0;
            // What departed by tens of kelvin does not go on as a slight thing: that is a wet patch behind its end.
            let least = slightest.max(FADED_SHARE * strongest);
            let seen = l.1.abs() > least && r.1.abs() > least && l.1 * r.1 < 0.0 && r.0 > l.0 + 1.0 && kept;
            if seen && ended > SMALL_GAP_PX && l.1 * was > 0.0 {
                // Through its own change of sign a support goes on; what departs to the same side again is another thing.
                break;
            }
            if seen {
                (left, right) = (l.0, r.0);
                (ended, was) = (0.0, l.1);
                strongest = strongest.max(l.1.abs().min(r.1.abs()));
            } else {
                ended += 1.0;
            }
            spans.push(Span {
                depth,
                left,
                right,
                seen,
            });
            depth += towards;
        }
        while spans.last().is_some_and(|s| !s.seen) {
            spans.pop();
        }
        spans
    }

    /// Visits the oriented places that the thing covers, many in each pixel; none where `straight` sides are asked for and it
    /// has none.
    pub(super) fn cover(&self, straight: bool, mut visit: impl FnMut(f64, f64)) {
        let start = self.crossing.inset_px;
        let (left, right) = self.sides();
        let inwards = self.walk((start, left, right), 1.0, 2.2 * self.scene.radius_px());
        let (near_left, near_right) = inwards.first().map_or((left, right), |s| (s.left, s.right));
        let outwards = self.walk((start - 1.0, near_left, near_right), -1.0, 1.0);
        if straight && !(runs_straight(&inwards) && self.meets_outline(&outwards)) {
            return;
        }
        // From the outline inwards.
        let mut way: Vec<Span> = outwards.iter().rev().chain(&inwards).copied().collect();
        let whole = way.len();
        if let Some(beyond) = self.met_something_else(&way) {
            way.truncate(beyond);
        }
        let is_whole = way.len() == whole;
        let margin = blur_px(self.crossing.bump_k);
        let mut add = |depth: f64, from: f64, to: f64| {
            let mut t = from - margin;
            while t <= to + margin {
                let (u, v) = self.place(depth, t);
                visit(u, v);
                t += 0.7;
            }
        };
        for span in &way {
            add(span.depth, span.left, span.right);
            add(span.depth + 0.5, span.left, span.right);
        }
        // Down to the outline, and past the inner end by the blur.
        let (outer_left, outer_right) = outwards.last().map_or((near_left, near_right), |s| (s.left, s.right));
        let inner_depth = way.last().map_or(1.0, |s| s.depth);
        let foot_px = if is_whole { start } else { start.min(inner_depth) };
        let mut depth = -1.0;
        while depth < foot_px {
            add(depth, outer_left, outer_right);
            depth += 0.7;
        }
        if let Some(end) = inwards.last().filter(|_| is_whole) {
            let mut depth = end.depth;
            while depth < end.depth + margin {
                add(depth, end.left, end.right);
                depth += 0.7;
            }
        }
    }

    /// Mean apparent temperature at a depth: between the sides, and beside them.
    fn levels_c(&self, span: &Span) -> (f32, f32) {
        let beside = blur_px(self.crossing.bump_k) + 1.0;
        let width = span.right - span.left;
        let mean = |places: &[f64]| {
            let readings = places.iter().map(|&t| self.place(span.depth, t));
            readings.map(|(u, v)| self.scene.near(u, v)).sum::<f32>() / places.len() as f32
        };
        let between = mean(&[0.3, 0.5, 0.7].map(|share| span.left + share * width));
        (between, mean(&[span.left - beside, span.right + beside]))
    }

    /// The first span, from the outline inwards, of something else that the way met, such as a wet patch above a support: it
    /// departs far more than what crosses the outline does there, to the same side.
    fn met_something_else(&self, way: &[Span]) -> Option<usize> {
        let (mut levels, mut departures) = (Vec::new(), Vec::new());
        let mut depth = 1.0;
        while depth <= (0.5 * self.crossing.inset_px).max(2.0) {
            // Where no step was seen so far out, between the sides of the nearest place that shows one.
            let apart = |span: &&Span| (span.depth - depth).abs();
            let nearest = way.iter().min_by(|a, b| apart(a).total_cmp(&apart(b)))?;
            let (between, beside) = self.levels_c(&Span { depth, ..*nearest });
            if between.is_finite() && beside.is_finite() {
                levels.push(f64::from(between));
                departures.push(f64::from(between - beside));
            }
            depth += 1.0;
        }
        let level = crate::statistic::median(&mut levels)? as f32;
        let departure = crate::statistic::median(&mut departures)? as f32;
        way.iter().position(|span| {
            // Against itself, not against what is beside it there: a pipe passes before wet places too.
            let here = departure + self.levels_c(span).0 - level;
            here.abs() > 2.0 * departure.abs() + FAR_K && here * self.crossing.bump_k > 0.0
        })
    }

    /// Whether the sides show on most of the way out to the outline: a wet patch ends before it.
    fn meets_outline(&self, outwards: &[Span]) -> bool {
        let depths = (self.crossing.inset_px - 1.0).max(1.0);
        let seen = outwards.iter().filter(|s| s.seen).count() as f64;
        let nearest = outwards
            .iter()
            .filter(|s| s.seen)
            .map(|s| s.depth)
            .fold(f64::MAX, f64::min);
        seen >= 0.4 * depths && nearest <= 3.0 + 0.02 * self.scene.radius_px()
    }
}

/// Whether the sides keep their distance (tapering at most) over a depth worth the name.
fn runs_straight(spans: &[Span]) -> bool {
    let widths: Vec<f64> = spans.iter().map(|s| s.right - s.left).collect();
    let (Some(first), Some(last)) = (widths.first(), widths.last()) else {
        return false;
    };
    let even = widths.windows(2).all(|w| (w[1] - w[0]).abs() <= 3.0);
    widths.len() >= 3 && even && *last > 0.5 * first && *last < 1.4 * first + 2.0
}

#[cfg(test)]
mod tests {
    use ndarray::Array2;

    use crate::detect::fixtures;
    use crate::detect::front::{Outside, Scene};
    use crate::locate::figure::Part;

    /// Rows of what goes through the outline of a lying vessel of 80 px radius about row 150, in a picture all of 10 °C that is
    /// changed here and there.
    fn rows_followed(change: impl Fn(usize, usize) -> f32) -> Vec<f64> {
        let map = Array2::from_shape_fn((300, 400), |(row, column)| 10.0 + change(row, column));
        let figure = fixtures::lying([50.0, 150.0]);
        let scene = Scene {
            map: &map,
            figure: &figure,
            noise_k: 0.05,
            lower: Part::FarSide,
        };
        let crossings = scene.crossings();
        let through = crossings.iter().filter(|c| c.outside == Outside::GoesOn);
        let mut rows = Vec::new();
        for crossing in through {
            scene.follow(crossing, false, |_, v| rows.push(v));
        }
        rows
    }

    #[test]
    fn a_frosted_nozzle_ends_where_a_wet_patch_begins() {
        let nozzle = |row: usize, column: usize| (190..210).contains(&column) && row < 110;
        let patch = |row: usize, column: usize| (190..210).contains(&column) && (110..150).contains(&row);
        let deepest_row =
            |change: &dyn Fn(usize, usize) -> f32| rows_followed(change).into_iter().fold(f64::MIN, f64::max);
        let both = deepest_row(&|row, column| {
            if nozzle(row, column) {
                -25.0
            } else if patch(row, column) {
                -3.0
            } else {
                0.0
            }
        });
        let alone = deepest_row(&|row, column| if nozzle(row, column) { -25.0 } else { 0.0 });
        assert!((105.0..120.0).contains(&alone), "{alone}");
        assert!((both - alone).abs() < 4.0, "{both} against {alone}");
    }

    #[test]
    fn a_support_ends_where_a_far_colder_patch_begins() {
        // The way inwards begins at row 222, on the outline at 230, and goes up.
        let highest_row = |patch_k: f32| {
            let rows = rows_followed(|row, column| {
                let support = (185..215).contains(&column) && row > 200;
                let patch = (184..216).contains(&column) && (150..=200).contains(&row);
                (if patch { patch_k } else { 0.0 }) - if support { 1.0 } else { 0.0 }
            });
            rows.into_iter().fold(f64::MAX, f64::min)
        };
        assert!((190.0..205.0).contains(&highest_row(0.0)), "{}", highest_row(0.0));
        assert!((190.0..205.0).contains(&highest_row(-7.0)), "{}", highest_row(-7.0));
        // No colder than a support may be where it touches the vessel: followed to its end.
        assert!(highest_row(-1.2) < 160.0, "{}", highest_row(-1.2));
    }
}
