//! Things in front of the jacket: they cross its outline, so the same temperature stands on both sides of it.
//!
//! Two profiles run along the outline, one a little inside and one a little outside. A bump of the inner profile that meets
//! the same temperature outside, or whose sides go on outside, is a crossing. Two crossings joined by a straight band of
//! one temperature are a pipe, a ladder's rail or a tray. From any other crossing the thing is followed inwards between its
//! two sides for as long as both show a step: a support, a leg, a nozzle.

use ndarray::Array2;

use super::jacket::{Cover, Jacket};
use crate::locate::figure::{Figure, OutlinePoint, Part};

/// Least bump of a profile in K.
const LEAST_BUMP_K: f32 = 0.3;
/// Temperatures that count as the same: this much, or this share of the bump.
const SAME_K: f32 = 0.3;
const SAME_SHARE: f32 = 0.3;

/// Share of the line between two crossings that must have one temperature to be a band (another may cross it).
const LEAST_BAND_SHARE: f64 = 0.82;
/// Distance in px of the outer profile from the outline.
const OUT_PX: f64 = 4.0;

/// A place where something crosses the outline.
#[derive(Debug, Clone, Copy)]
pub struct Crossing {
    /// Its middle on the outline.
    pub point: OutlinePoint,
    /// Its ends on the outline.
    pub ends: [OutlinePoint; 2],
    /// Oriented pixel of its middle on the inner profile.
    pub inner: (f64, f64),
    /// Which inner profile shows it.
    pub profile: Inset,
    /// Depth of that profile in px.
    pub inset_px: f64,
    /// Width along the outline in px.
    pub width_px: f64,
    /// Apparent temperature in °C.
    pub apparent_c: f32,
    /// Departure from the jacket about it in K.
    pub bump_k: f32,
    /// What the outside shows there.
    pub outside: Outside,
}

/// Which inner profile.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Inset {
    /// Near the outline.
    Near,
    /// Past where a support may have faded into the jacket.
    Deep,
}

/// What stands outside the outline at a bump of the inner profile.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outside {
    /// Nothing of the kind.
    Nothing,
    /// The same temperature, but nothing that stands out from the surroundings.
    SameTemperature,
    /// Something that stands out, of the same temperature, but further along than straight through.
    GoesOnAslant,
    /// Something that stands out, of the same temperature or between the same sides.
    GoesOn,
}

/// A straight band in front of the jacket.
#[derive(Debug, Clone, Copy)]
pub struct Band {
    /// Ends on the outline, oriented pixels.
    pub ends: [(f64, f64); 2],
    /// Half width in px.
    pub half_width_px: f64,
}

/// The picture about the figure.
pub struct Scene<'a> {
    /// Oriented map of apparent temperature, °C.
    pub map: &'a Array2<f32>,
    /// The figure.
    pub figure: &'a Figure,
    /// Noise in K.
    pub noise_k: f64,
    /// The part of the outline on which the asset stands.
    pub lower: Part,
}

impl Scene<'_> {
    fn radius_px(&self) -> f64 {
        self.figure.size.half_width_m * self.figure.scale_px_m * self.figure.stretch
    }

    fn inset_px(&self, inset: Inset) -> f64 {
        match inset {
            Inset::Near => (0.10 * self.radius_px()).max(4.0),
            Inset::Deep => (0.25 * self.radius_px()).max(8.0),
        }
    }

    /// Mean of the 3 × 3 readings about a place; NaN outside the picture.
    fn near(&self, u: f64, v: f64) -> f32 {
        if u < 0.5 || v < 0.5 {
            return f32::NAN;
        }
        let (column, row) = ((u + 0.5) as usize, (v + 0.5) as usize);
        if row + 1 >= self.map.nrows() || column + 1 >= self.map.ncols() {
            return f32::NAN;
        }
        let (mut sum, mut count) = (0.0, 0.0);
        for r in row - 1..=row + 1 {
            for c in column - 1..=column + 1 {
                let value = self.map[[r, c]];
                if value.is_finite() {
                    sum += value;
                    count += 1.0;
                }
            }
        }
        sum / count
    }

    /// The reading nearest to a place; NaN outside the picture.
    fn at(&self, u: f64, v: f64) -> f32 {
        if u < -0.5 || v < -0.5 {
            return f32::NAN;
        }
        self.map
            .get([(v + 0.5) as usize, (u + 0.5) as usize])
            .copied()
            .unwrap_or(f32::NAN)
    }

    fn least_bump_k(&self) -> f32 {
        LEAST_BUMP_K.max(2.5 * self.noise_k as f32)
    }

    /// Every crossing of the outline.
    #[must_use]
    pub fn crossings(&self) -> Vec<Crossing> {
        let outline = self.figure.outline(1.0);
        let profile = |depth: f64| -> Vec<f32> {
            outline
                .iter()
                .map(|p| self.near(p.u + depth * p.normal_u, p.v + depth * p.normal_v))
                .collect()
        };
        let window = self.radius_px().max(12.0) as usize;
        let outer = Profile::new(profile(OUT_PX), window);
        let outside_runs = outer.bumps(self.least_bump_k());
        let mut found = Vec::new();
        for depth in [Inset::Near, Inset::Deep] {
            let inset_px = self.inset_px(depth);
            let inner = Profile::new(profile(-inset_px), window);
            for run in inner.bumps(self.least_bump_k()) {
                let outside = self.outside(&inner, &outer, (run, inset_px), &outside_runs);
                let middle = inner.strongest(run);
                let at = |index: usize| outline[index % outline.len()];
                let point = at((run.0 + run.1) / 2);
                found.push(Crossing {
                    inner: (point.u - inset_px * point.normal_u, point.v - inset_px * point.normal_v),
                    point,
                    ends: [at(run.0), at(run.1.saturating_sub(1))],
                    profile: depth,
                    inset_px,
                    width_px: (run.1 - run.0) as f64,
                    apparent_c: inner.values[middle],
                    bump_k: inner.departure(middle),
                    outside,
                });
            }
        }
        found
    }

    /// What the outside shows at a run of the inner profile.
    fn outside(
        &self,
        inner: &Profile,
        outer: &Profile,
        (run, inset_px): ((usize, usize), f64),
        runs: &[(usize, usize)],
    ) -> Outside {
        if runs.iter().any(|&other| inner.aligned(run, other)) {
            return Outside::GoesOn;
        }
        let middle = inner.strongest(run);
        let (level, bump) = (inner.values[middle], inner.departure(middle));
        let same = SAME_K.max(SAME_SHARE * bump.abs());
        let count = outer.values.len();
        // A pipe that crosses at 25° stands two and a half times the depth further along; what goes straight through
        // stands within the depth.
        let straight = (inset_px + OUT_PX) as usize;
        let reach = ((2.5 * (inset_px + OUT_PX)) as usize).min(count / 4);
        let mut best = Outside::Nothing;
        for offset in 0..=2 * reach {
            let index = (middle + count + offset - reach) % count;
            // The blurred flank of anything passes through every temperature: only a level counts.
            let level_there =
                (outer.values[(index + 2) % count] - outer.values[(index + count - 2) % count]).abs() <= same;
            if !level_there || (outer.values[index] - level).abs() > same {
                continue;
            }
            let own = outer.departure(index).abs() > self.least_bump_k();
            let near = offset.abs_diff(reach) <= straight;
            best = match (own, near) {
                (true, true) => return Outside::GoesOn,
                (true, false) => Outside::GoesOnAslant,
                (false, true) if best == Outside::Nothing => Outside::SameTemperature,
                _ => best,
            };
        }
        best
    }

    /// Whether a crossing that the outside does not show has a fellow that it shows: supports and legs come in twos and
    /// more, of one width, on the side on which the asset stands.
    #[must_use]
    pub fn has_fellow(&self, crossing: &Crossing, all: &[Crossing]) -> bool {
        all.iter().any(|other| {
            let apart = (other.point.u - crossing.point.u).hypot(other.point.v - crossing.point.v);
            let (narrow, wide) = (
                crossing.width_px.min(other.width_px),
                crossing.width_px.max(other.width_px),
            );
            let end = matches!(crossing.point.part, Part::DatumEnd | Part::OtherEnd);
            crossing.point.part == self.lower
                && other.point.part == self.lower
                && other.outside != Outside::Nothing
                && other.bump_k * crossing.bump_k > 0.0
                && other.profile == crossing.profile
                && narrow > 0.65 * wide - 1.5
                && wide < 0.6 * self.radius_px()
                && apart > if end { 0.25 } else { 1.0 } * self.radius_px()
        })
    }

    /// Straight bands between two crossings, and the crossings that no band uses.
    #[must_use]
    pub fn bands(&self, crossings: &[Crossing]) -> (Vec<Band>, Vec<Crossing>) {
        let mut bands = Vec::new();
        let mut used = vec![false; crossings.len()];
        for (i, a) in crossings.iter().enumerate() {
            for (j, b) in crossings.iter().enumerate().skip(i + 1) {
                let shown = a.outside != Outside::Nothing && b.outside != Outside::Nothing;
                let goes_on = |c: &Crossing| matches!(c.outside, Outside::GoesOn | Outside::GoesOnAslant);
                let beyond = goes_on(a) || goes_on(b);
                if !shown || !beyond || a.profile == Inset::Deep || b.profile == Inset::Deep {
                    continue;
                }
                if let Some(band) = self.band(a, b) {
                    bands.push(band);
                    used[i] = true;
                    used[j] = true;
                }
            }
        }
        let alone = crossings
            .iter()
            .zip(&used)
            .filter(|(_, used)| !**used)
            .map(|(c, _)| *c)
            .collect();
        (bands, alone)
    }

    fn band(&self, a: &Crossing, b: &Crossing) -> Option<Band> {
        let length = (b.inner.0 - a.inner.0).hypot(b.inner.1 - a.inner.1);
        let (small, large) = (a.bump_k.abs().min(b.bump_k.abs()), a.bump_k.abs().max(b.bump_k.abs()));
        if length < 0.5 * self.radius_px() || a.bump_k * b.bump_k <= 0.0 || small < 0.3 * large {
            return None;
        }
        let line = self.best_line(a, b);
        if line.share(self, 0.0) < LEAST_BAND_SHARE {
            return None;
        }
        let widest = (0.7 * self.radius_px()).min(line.length / 2.0);
        let (left, right) = (line.edge(self, -1.0, widest)?, line.edge(self, 1.0, widest)?);
        let shift = (right - left) / 2.0;
        let moved = |t: f64| line.point(t, shift);
        let half_width_px = (left + right) / 2.0 + blur_px(large);
        Some(Band {
            ends: [moved(0.0), moved(line.length)],
            half_width_px,
        })
    }

    /// The line between two crossings, their middles shifted along the outline so that most of it has one temperature
    /// (a run may take in something beside the pipe).
    fn best_line(&self, a: &Crossing, b: &Crossing) -> Line {
        let shifted = |c: &Crossing, by: f64| {
            let (tu, tv) = (-c.point.normal_v, c.point.normal_u);
            (c.inner.0 + by * tu, c.inner.1 + by * tv)
        };
        let steps = |c: &Crossing| {
            let reach = (c.width_px / 2.0).min(12.0);
            [0.0, -0.5, 0.5, -1.0, 1.0].map(|share| share * reach)
        };
        let mut best = Line::new(a, b, a.inner, b.inner);
        let mut most = best.share(self, 0.0);
        for by_a in steps(a) {
            for by_b in steps(b) {
                if most > 0.93 {
                    return best;
                }
                let line = Line::new(a, b, shifted(a, by_a), shifted(b, by_b));
                let share = line.share(self, 0.0);
                if share > most {
                    (best, most) = (line, share);
                }
            }
        }
        best
    }

    /// Follows what crosses the outline inwards; oriented places (u, v) that it covers. `straight`: only where its sides
    /// run straight inwards for a while, as those of a support do.
    #[must_use]
    pub fn follow(&self, crossing: &Crossing, straight: bool) -> Vec<(f64, f64)> {
        Path::new(self, crossing).cover(straight)
    }
}

/// Width in px of the blurred edge of a thing that departs by `bump_k`, down to a third of a kelvin: the optics blur a
/// step by about σ = 1.2 px, and a Gaussian tail falls to the share x at σ·√(2 ln 1/x).
fn blur_px(bump_k: f32) -> f64 {
    1.0 + 1.2 * (2.0 * f64::from(bump_k.abs() / 0.3).max(1.0).ln()).sqrt()
}

/// The straight line between two crossings.
struct Line {
    start: (f64, f64),
    along: (f64, f64),
    length: f64,
    levels: (f32, f32),
    same: f32,
}

impl Line {
    fn new(a: &Crossing, b: &Crossing, start: (f64, f64), end: (f64, f64)) -> Self {
        let (du, dv) = (end.0 - start.0, end.1 - start.1);
        let length = du.hypot(dv).max(1.0);
        let bump = (a.bump_k + b.bump_k) / 2.0;
        Self {
            start,
            along: (du / length, dv / length),
            length,
            levels: (a.apparent_c, b.apparent_c),
            same: SAME_K.max(0.4 * bump.abs()),
        }
    }

    fn point(&self, t: f64, offset: f64) -> (f64, f64) {
        let (au, av) = self.along;
        (self.start.0 + au * t - av * offset, self.start.1 + av * t + au * offset)
    }

    /// Share of a parallel line at the band's own temperature.
    fn share(&self, scene: &Scene, offset: f64) -> f64 {
        let steps = (self.length / 1.5) as usize;
        let on = |i: &usize| {
            let t = *i as f64 * 1.5;
            let (u, v) = self.point(t, offset);
            let level = self.levels.0 + (self.levels.1 - self.levels.0) * (t / self.length) as f32;
            (scene.near(u, v) - level).abs() < self.same
        };
        (1..steps).filter(on).count() as f64 / steps.max(1) as f64
    }

    /// Offset at which the band ends on one side.
    fn edge(&self, scene: &Scene, sign: f64, widest: f64) -> Option<f64> {
        let mut offset = 0.5;
        while offset <= widest {
            if self.share(scene, sign * offset) < 0.5 {
                return Some(offset);
            }
            offset += 0.5;
        }
        None
    }
}

/// The way inwards from a crossing: square to a long edge, along the axis from an end (legs and nozzles of an end stand
/// along the axis, wherever on the head they start).
struct Path<'a> {
    scene: &'a Scene<'a>,
    crossing: &'a Crossing,
    inward: (f64, f64),
}

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

    fn new(scene: &'a Scene<'a>, crossing: &'a Crossing) -> Self {
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
        let least = 0.6 * self.scene.least_bump_k();
        let (mut depth, mut left, mut right) = from;
        let widest = right - left;
        let (mut spans, mut ended) = (Vec::new(), 0.0);
        while (last - depth) * towards >= 0.0 && ended < self.gap_px() {
            let first = spans.is_empty();
            let reach = if first { 3.0 + 0.3 * (right - left) } else { 2.0 };
            let (l, r) = (self.side(depth, left, reach), self.side(depth, right, reach));
            // One thing between two sides: the steps have opposite signs.
            // One that suddenly is much wider has met something else, such as a wet patch above a support.
            let kept = r.0 - l.0 <= 1.5 * widest + 3.0;
            let seen = l.1.abs() > least && r.1.abs() > least && l.1 * r.1 < 0.0 && r.0 > l.0 + 1.0 && kept;
            if seen {
                (left, right) = (l.0, r.0);
                ended = 0.0;
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

    /// Oriented places that the thing covers; none where `straight` sides are asked for and it has none.
    fn cover(&self, straight: bool) -> Vec<(f64, f64)> {
        let start = self.crossing.inset_px;
        let (left, right) = self.sides();
        let inwards = self.walk((start, left, right), 1.0, 2.2 * self.scene.radius_px());
        let (near_left, near_right) = inwards.first().map_or((left, right), |s| (s.left, s.right));
        let outwards = self.walk((start - 1.0, near_left, near_right), -1.0, 1.0);
        if straight && !(runs_straight(&inwards) && self.meets_outline(&outwards)) {
            return Vec::new();
        }
        let margin = blur_px(self.crossing.bump_k);
        let mut places = Vec::new();
        let mut add = |depth: f64, from: f64, to: f64| {
            let mut t = from - margin;
            while t <= to + margin {
                places.push(self.place(depth, t));
                t += 0.7;
            }
        };
        for span in outwards.iter().chain(&inwards) {
            add(span.depth, span.left, span.right);
            add(span.depth + 0.5, span.left, span.right);
        }
        // Down to the outline, and past the inner end by the blur.
        let (outer_left, outer_right) = outwards.last().map_or((near_left, near_right), |s| (s.left, s.right));
        let mut depth = -1.0;
        while depth < start {
            add(depth, outer_left, outer_right);
            depth += 0.7;
        }
        if let Some(end) = inwards.last() {
            let mut depth = end.depth;
            while depth < end.depth + margin {
                add(depth, end.left, end.right);
                depth += 0.7;
            }
        }
        places
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

/// A closed profile along the outline with what is usual about each place.
struct Profile {
    values: Vec<f32>,
    usual: Vec<f32>,
}

impl Profile {
    fn new(values: Vec<f32>, window: usize) -> Self {
        let usual = running_median(&values, window);
        Self { values, usual }
    }

    fn departure(&self, index: usize) -> f32 {
        self.values[index] - self.usual[index]
    }

    fn bumps(&self, least: f32) -> Vec<(usize, usize)> {
        bumps(&self.values, &self.usual, least)
    }

    fn strongest(&self, run: (usize, usize)) -> usize {
        strongest(&self.values, &self.usual, run.0, run.1)
    }

    /// Whether two runs have both their sides at the same places.
    fn aligned(&self, a: (usize, usize), b: (usize, usize)) -> bool {
        let count = self.values.len() as f64;
        let width = (a.1 - a.0) as f64;
        let near = |one: usize, two: usize| {
            let apart = (one as f64 - two as f64).rem_euclid(count);
            apart.min(count - apart) <= 2.0 + 0.2 * width
        };
        near(a.0, b.0) && near(a.1, b.1)
    }
}

/// Index of the greatest departure in a bump.
fn strongest(profile: &[f32], usual: &[f32], from: usize, to: usize) -> usize {
    let count = profile.len();
    (from..to)
        .map(|i| i % count)
        .max_by(|&a, &b| (profile[a] - usual[a]).abs().total_cmp(&(profile[b] - usual[b]).abs()))
        .unwrap_or(from % count)
}

/// Median over ± `half` places of a closed profile, every place; NaN where nothing is known.
fn running_median(profile: &[f32], half: usize) -> Vec<f32> {
    let count = profile.len();
    let stride = (half / 24).clamp(1, count.max(1));
    let mut out = vec![f32::NAN; count];
    let mut window = Vec::new();
    for block in (0..count).step_by(4) {
        window.clear();
        let mut at = (block + count - half.min(count)) % count;
        for _ in (0..=2 * half).step_by(stride) {
            window.extend(Some(profile[at]).filter(|value| value.is_finite()));
            at += stride;
            at -= if at >= count { count } else { 0 };
        }
        if let Some(median) = crate::statistic::median_of_readings(&mut window) {
            for value in out.iter_mut().skip(block).take(4) {
                *value = median as f32;
            }
        }
    }
    out
}

/// Runs (from, to) of a closed profile that depart by more than `least` with one sign; `to` may run past the end once.
fn bumps(profile: &[f32], usual: &[f32], least: f32) -> Vec<(usize, usize)> {
    let count = profile.len();
    let sign = |i: usize| {
        let d = profile[i % count] - usual[i % count];
        if d > least {
            1
        } else if d < -least {
            -1
        } else {
            0
        }
    };
    let Some(start) = (0..count).find(|&i| sign(i) == 0) else {
        return Vec::new();
    };
    let mut runs = Vec::new();
    let mut open: Option<(usize, i32)> = None;
    for i in start..=start + count {
        let here = sign(i);
        match open {
            Some((from, was)) if here != was => {
                runs.push((from, i));
                open = (here != 0).then_some((i, here));
            }
            None if here != 0 => open = Some((i, here)),
            _ => {}
        }
    }
    runs
}

/// Marks the pixels of a band as hidden; returns how many.
pub fn hide(jacket: &mut Jacket, band: &Band) -> usize {
    let [(au, av), (bu, bv)] = band.ends;
    let (du, dv) = (bu - au, bv - av);
    let length = du.hypot(dv).max(1e-9);
    let mut hidden = 0;
    for row in 0..jacket.size.1 {
        for column in 0..jacket.size.0 {
            let at = jacket.index(column, row);
            if !matches!(jacket.cover[at], Cover::Usable | Cover::Steep | Cover::Head) {
                continue;
            }
            let (u, v) = (
                (jacket.origin.0 + column) as f64 - au,
                (jacket.origin.1 + row) as f64 - av,
            );
            let offset = (u * dv - v * du) / length;
            if offset.abs() <= band.half_width_px {
                jacket.cover[at] = Cover::Hidden;
                hidden += 1;
            }
        }
    }
    hidden
}

/// The surroundings of what crosses the outline, in which a scrap of a region belongs to it and not to the jacket.
pub struct Beside {
    /// For each pixel within reach of an attached thing, that thing; a number that no thing has elsewhere.
    thing: Vec<u32>,
    sizes: Vec<usize>,
    departures_k: Vec<f64>,
}

/// Reach in px within which a scrap belongs to an attached thing.
const BESIDE_PX: usize = 4;

impl Beside {
    /// Marks what lies beside attached things.
    #[must_use]
    pub fn new(jacket: &Jacket, attached: &[Vec<usize>], departure_k: impl Fn(&[usize]) -> f64) -> Self {
        let cells = if attached.is_empty() { 0 } else { jacket.cover.len() };
        let (mut thing, mut scratch) = (vec![u32::MAX; cells], vec![false; cells]);
        for (index, pixels) in (0..).zip(attached) {
            for at in super::grow::with_fringe(jacket, pixels, BESIDE_PX, &mut scratch) {
                thing[at] = index;
            }
        }
        Self {
            thing,
            sizes: attached.iter().map(Vec::len).collect(),
            departures_k: attached.iter().map(|pixels| departure_k(pixels)).collect(),
        }
    }

    /// The thing that a region is a scrap of: the region small against it, and a good part of it within reach.
    #[must_use]
    pub fn owner(&self, region: &super::grow::Region) -> Option<usize> {
        let mut near = vec![0usize; self.sizes.len()];
        for &at in &region.pixels {
            let thing = self.thing.get(at).copied().unwrap_or(u32::MAX);
            if let Some(count) = near.get_mut(thing as usize) {
                *count += 1;
            }
        }
        let (index, &count) = near.iter().enumerate().max_by_key(|(_, count)| **count)?;
        // What departs far more than the thing itself is a zone that happens to lie beside it.
        let alike = region.peak_k.abs() < 2.0 * self.departures_k[index].abs() + 0.5;
        let scrap = 2 * region.pixels.len() < self.sizes[index] && 4 * count >= region.pixels.len();
        (alike && scrap).then_some(index)
    }
}

/// Joins sets of pixels that lie within reach of each other: one thing met twice.
#[must_use]
pub fn joined(jacket: &Jacket, things: Vec<Vec<usize>>) -> Vec<Vec<usize>> {
    let mut joined: Vec<Vec<usize>> = Vec::with_capacity(things.len());
    let mut scratch = vec![false; jacket.cover.len()];
    for mut pixels in things {
        let near = super::grow::with_fringe(jacket, &pixels, BESIDE_PX, &mut scratch);
        let (touching, apart): (Vec<_>, Vec<_>) = joined
            .into_iter()
            .partition(|other: &Vec<usize>| other.iter().any(|at| near.binary_search(at).is_ok()));
        joined = apart;
        for other in touching {
            pixels.extend(other);
        }
        pixels.sort_unstable();
        pixels.dedup();
        joined.push(pixels);
    }
    joined
}

/// Supports and legs come in twos and more that reach equally far up: what reaches as far as one of them is one too.
pub struct Supports {
    lower: Part,
    /// Level and width in px of each support known.
    known: Vec<(f64, f64)>,
    tolerance_px: f64,
    zone_px: f64,
}

impl Supports {
    /// The supports among attached things.
    #[must_use]
    pub fn new(jacket: &Jacket, scene: &Scene, attached: &[Vec<usize>]) -> Self {
        let head_px = match scene.lower {
            Part::DatumEnd | Part::OtherEnd => scene.figure.head_depth_m * scene.figure.scale_px_m,
            Part::NearSide | Part::FarSide => 0.0,
        };
        let mut supports = Self {
            lower: scene.lower,
            known: Vec::new(),
            tolerance_px: (0.12 * scene.radius_px()).max(3.0),
            zone_px: 0.9 * scene.radius_px() + head_px,
        };
        supports.known = attached
            .iter()
            .filter_map(|pixels| supports.extent(jacket, pixels))
            .filter(|e| e.2)
            .map(|e| (e.0, e.1))
            .collect();
        supports
    }

    /// How far up a set of pixels reaches (px from the foot's side of the part), its width, and whether it lies low.
    fn extent(&self, jacket: &Jacket, pixels: &[usize]) -> Option<(f64, f64, bool)> {
        let columns = jacket.size.0;
        let bounds = |value: &dyn Fn(usize) -> usize| {
            let low = pixels.iter().map(|&at| value(at)).min()?;
            let high = pixels.iter().map(|&at| value(at)).max()?;
            Some((low as f64, high as f64))
        };
        let along = bounds(&|at| at % columns)?;
        let across = bounds(&|at| at / columns)?;
        let (up, width) = match self.lower {
            Part::FarSide => (jacket.size.1 as f64 - across.0, along.1 - along.0),
            Part::NearSide => (across.1, along.1 - along.0),
            Part::DatumEnd => (along.1, across.1 - across.0),
            Part::OtherEnd => (jacket.size.0 as f64 - along.0, across.1 - across.0),
        };
        Some((up, width + 1.0, up < self.zone_px + self.tolerance_px))
    }

    /// Whether a region is a support: narrow, low, and as far up as a support already known or as another narrow low
    /// region of its width.
    #[must_use]
    pub fn holds(&self, jacket: &Jacket, index: usize, regions: &[super::grow::Region]) -> bool {
        let Some((up, width, low)) = regions.get(index).and_then(|r| self.extent(jacket, &r.pixels)) else {
            return false;
        };
        if !low {
            return false;
        }
        let level = |other: f64| (other - up).abs() <= self.tolerance_px;
        let known = self
            .known
            .iter()
            .any(|&(other, wide)| level(other) && width <= 1.15 * wide);
        let narrow = |w: f64| w < 0.35 * self.zone_px;
        let fellow = regions
            .iter()
            .enumerate()
            .filter(|&(i, _)| i != index)
            .any(|(_, region)| {
                self.extent(jacket, &region.pixels).is_some_and(|(other, wide, low)| {
                    low && level(other)
                        && narrow(wide)
                        && narrow(width)
                        && width.min(wide) > 0.5 * width.max(wide) - 1.0
                })
            });
        known || fellow
    }
}
