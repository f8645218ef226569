//! Things in front of the jacket: they cross its outline, so the same temperature stands on both sides of it.
//!
//! Two profiles run along the outline, one a little inside and one a little outside. A bump of the inner profile that meets
//! the same temperature outside, or whose sides go on outside, is a crossing. Two crossings joined by a straight band of
//! one temperature are a pipe, a ladder's rail or a tray. From any other crossing the thing is followed inwards between its
//! two sides for as long as both show a step: a support, a leg, a nozzle.

mod attached;
mod band;
mod path;
mod profile;
mod supports;

use ndarray::Array2;

use crate::locate::figure::{Figure, OutlinePoint, Part};
pub use attached::{Beside, joined};
pub use band::{Band, hide};
use path::Path;
use profile::Profile;
pub use supports::Supports;

/// Least bump of a profile in K.
const LEAST_BUMP_K: f32 = 0.3;
/// Temperatures that count as the same: this much, or this share of the bump.
const SAME_K: f32 = 0.3;
const SAME_SHARE: f32 = 0.3;

/// Share of a run below which the outer profile shows a thing with something else beside it, and how much further than
/// there it may reach on either side.
const NEIGHBOUR_SHARE: f64 = 0.7;
const NEIGHBOUR_PX: usize = 2;

/// Departure over that of a fellow support beyond which a crossing is something else.
const FELLOW_BUMPS: f32 = 2.0;

/// Departure in K of a bare stub beyond the outline, and how many times that of the jacket inside it is where the metal ends at
/// the outline. Set by the repository's simulated scenes, no source.
const STUB_K: f32 = 8.0;
const STUB_SHARE: f32 = 4.0;

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
        let three = |row: usize| {
            let first = row * self.map.ncols() + column - 1;
            let readings = self.map.as_slice()?.get(first..)?;
            readings.first_chunk::<3>().map(|[a, b, c]| a + b + c)
        };
        // The usual case: readings all about.
        if let (Some(above), Some(here), Some(below)) = (three(row - 1), three(row), three(row + 1)) {
            let mean = (above + here + below) * (1.0 / 9.0);
            if mean.is_finite() {
                return mean;
            }
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
                let run = self.without_neighbour(&inner, &outer, run, &outside_runs);
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

    /// A run of the inner profile that takes in one of the outer profile, of its sign and level, with much else beside it: the
    /// thing alone, without the wet patch or the second thing that it touches.
    fn without_neighbour(
        &self,
        inner: &Profile,
        outer: &Profile,
        run: (usize, usize),
        runs: &[(usize, usize)],
    ) -> (usize, usize) {
        let count = inner.values.len();
        let width = run.1 - run.0;
        let mut within = runs.iter().filter_map(|&(from, to)| {
            let start = run.0 + (from + count - run.0 % count) % count;
            let one = (
                start.saturating_sub(NEIGHBOUR_PX).max(run.0),
                (start + to - from + NEIGHBOUR_PX).min(run.1),
            );
            let (index, at) = (outer.strongest((from, to)), inner.strongest(one));
            let departs = outer.departure(index);
            let same = SAME_K.max(SAME_SHARE * departs.abs());
            let alike =
                departs * inner.departure(at) > 0.0 && (outer.values[index] - inner.values[index]).abs() <= same;
            let narrow = to - from >= 3 && ((to - from) as f64) < NEIGHBOUR_SHARE * width as f64;
            (start + to - from <= run.1 + 2 && alike && narrow).then_some(one)
        });
        match (within.next(), within.next()) {
            (Some(alone), None) => alone,
            _ => run,
        }
    }

    /// What the outside shows at a run of the inner profile.
    fn outside(
        &self,
        inner: &Profile,
        outer: &Profile,
        (run, inset_px): ((usize, usize), f64),
        runs: &[(usize, usize)],
    ) -> Outside {
        let middle = inner.strongest(run);
        let (level, bump) = (inner.values[middle], inner.departure(middle));
        // Bare metal that ends at the outline is not what departs but slightly on the jacket beside it.
        let ends = |other: (usize, usize)| {
            let beyond = outer.departure(outer.strongest(other)).abs();
            beyond > STUB_K && beyond > STUB_SHARE * bump.abs()
        };
        if runs.iter().any(|&other| inner.aligned(run, other) && !ends(other)) {
            return Outside::GoesOn;
        }
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
                && crossing.bump_k.abs() < FELLOW_BUMPS * other.bump_k.abs() + LEAST_BUMP_K
                && other.profile == crossing.profile
                && narrow > 0.65 * wide - 1.5
                && wide < 0.6 * self.radius_px()
                && apart > if end { 0.25 } else { 1.0 } * self.radius_px()
        })
    }

    /// Whether a crossing on the deep profile takes in one that the near profile shows to go on outside: the same thing with
    /// something beside it, such as a wet patch, for the near one is followed inwards as far.
    #[must_use]
    pub fn is_met_nearer(&self, crossing: &Crossing, all: &[Crossing]) -> bool {
        let apart = |c: &Crossing| (c.point.u - crossing.point.u).hypot(c.point.v - crossing.point.v);
        crossing.profile == Inset::Deep
            && all.iter().any(|other| {
                other.profile == Inset::Near
                    && other.outside == Outside::GoesOn
                    && other.bump_k * crossing.bump_k > 0.0
                    && apart(other) < 0.5 * (crossing.width_px + other.width_px)
                    && crossing.width_px > 1.3 * other.width_px + 2.0
            })
    }

    /// Follows what crosses the outline inwards and visits oriented places (u, v) that it covers, many in each pixel.
    /// `straight`: only where its sides run straight inwards for a while, as those of a support do.
    pub fn follow(&self, crossing: &Crossing, straight: bool, visit: impl FnMut(f64, f64)) {
        Path::new(self, crossing).cover(straight, visit);
    }
}

/// Width in px of the blurred edge of a thing that departs by `bump_k`, down to a third of a kelvin: the optics blur a
/// step by about σ = 1.2 px, and a Gaussian tail falls to the share x at σ·√(2 ln 1/x).
fn blur_px(bump_k: f32) -> f64 {
    1.0 + 1.2 * (2.0 * f64::from(bump_k.abs() / 0.3).max(1.0).ln()).sqrt()
}
