//! Things in front of the jacket: they cross its outline, so the same temperature stands on both sides of it.
//!
//! Two profiles run along the outline, one a little inside and one a little outside. A bump of the inner profile that meets
//! the same temperature outside is a crossing. Two crossings joined by a straight band of that temperature are a pipe, a
//! ladder's rail or a tray; a crossing alone is a support, a leg or a nozzle.

use ndarray::Array2;

use super::jacket::{Cover, Jacket};
use crate::locate::figure::{Figure, OutlinePoint};

/// Least bump of a profile in K.
const LEAST_BUMP_K: f32 = 0.3;
/// Temperatures that count as the same: this much, or this share of the bump.
const SAME_K: f32 = 0.3;
const SAME_SHARE: f32 = 0.3;

/// A place where something crosses the outline.
#[derive(Debug, Clone, Copy)]
pub struct Crossing {
    /// Oriented pixel of its middle, on the inner profile.
    pub inner: (f64, f64),
    /// Oriented pixel of its middle, just outside.
    pub outer: (f64, f64),
    /// Width along the outline in px.
    pub width_px: f64,
    /// Apparent temperature in °C.
    pub apparent_c: f32,
    /// Departure from the jacket about it in K.
    pub bump_k: f32,
    /// Whether the outside shows a bump of its own there.
    pub seen_outside: bool,
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
}

impl Scene<'_> {
    fn radius_px(&self) -> f64 {
        self.figure.size.half_width_m * self.figure.scale_px_m * self.figure.stretch
    }

    fn inset_px(&self) -> f64 {
        (0.10 * self.radius_px()).max(4.0)
    }

    /// Mean of the 3 × 3 readings about a place; NaN outside the picture.
    fn near(&self, u: f64, v: f64) -> f32 {
        let (column, row) = (u.round(), v.round());
        if column < 1.0 || row < 1.0 {
            return f32::NAN;
        }
        let (column, row) = (column as usize, row as usize);
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

    fn least_bump_k(&self) -> f32 {
        LEAST_BUMP_K.max(2.5 * self.noise_k as f32)
    }

    /// Every crossing of the outline.
    #[must_use]
    pub fn crossings(&self) -> Vec<Crossing> {
        const OUT_PX: f64 = 4.0;
        let outline = self.figure.outline(1.0);
        let profile = |depth: f64| -> Vec<f32> {
            outline.iter().map(|p| self.near(p.u + depth * p.normal_u, p.v + depth * p.normal_v)).collect()
        };
        let (inner, outer) = (profile(-self.inset_px()), profile(OUT_PX));
        let window = self.radius_px().max(12.0) as usize;
        let (inner_usual, outer_usual) = (running_median(&inner, window), running_median(&outer, window));
        let mut found = Vec::new();
        for (from, to) in bumps(&inner, &inner_usual, self.least_bump_k()) {
            let reach = (self.inset_px() + OUT_PX) as usize;
            if let Some(outside) = self.matching(&inner, &inner_usual, (&outer, &outer_usual), (from, to), reach) {
                found.push(self.crossing(&outline, (from, to), outside, (&inner, &inner_usual)));
            }
        }
        found
    }

    /// Where the outer profile, within reach, holds the bump's temperature; (index, seen outside as a bump).
    fn matching(
        &self,
        inner: &[f32],
        inner_usual: &[f32],
        (outer, outer_usual): (&[f32], &[f32]),
        (from, to): (usize, usize),
        reach: usize,
    ) -> Option<(usize, bool)> {
        let middle = strongest(inner, inner_usual, from, to);
        let (level, bump) = (inner[middle], inner[middle] - inner_usual[middle]);
        let same = SAME_K.max(SAME_SHARE * bump.abs());
        let count = outer.len();
        let near = (middle + count - reach..=middle + count + reach).map(|i| i % count);
        let mut best: Option<(bool, f32, usize)> = None;
        for index in near {
            let difference = (outer[index] - level).abs();
            if difference.is_nan() || difference > same {
                continue;
            }
            let own = (outer[index] - outer_usual[index]).abs() > self.least_bump_k();
            let better = best.is_none_or(|(seen, d, _)| (own && !seen) || (own == seen && difference < d));
            if better {
                best = Some((own, difference, index));
            }
        }
        best.map(|(seen, _, index)| (index, seen))
    }

    fn crossing(
        &self,
        outline: &[OutlinePoint],
        (from, to): (usize, usize),
        (outside, seen_outside): (usize, bool),
        (inner, inner_usual): (&[f32], &[f32]),
    ) -> Crossing {
        let middle = strongest(inner, inner_usual, from, to);
        let at = |p: &OutlinePoint, depth: f64| (p.u + depth * p.normal_u, p.v + depth * p.normal_v);
        let centre = &outline[(from + to) / 2 % outline.len()];
        Crossing {
            inner: at(centre, -self.inset_px()),
            outer: at(&outline[outside], 4.0),
            width_px: (to - from) as f64,
            apparent_c: inner[middle],
            bump_k: inner[middle] - inner_usual[middle],
            seen_outside,
        }
    }

    /// Straight bands between two crossings.
    #[must_use]
    pub fn bands(&self, crossings: &[Crossing]) -> Vec<Band> {
        let mut bands = Vec::new();
        for (index, a) in crossings.iter().enumerate() {
            for b in crossings.get(index + 1..).unwrap_or(&[]) {
                bands.extend(self.band(a, b));
            }
        }
        bands
    }

    fn band(&self, a: &Crossing, b: &Crossing) -> Option<Band> {
        let (du, dv) = (b.inner.0 - a.inner.0, b.inner.1 - a.inner.1);
        let length = du.hypot(dv);
        let alike = (a.bump_k - b.bump_k).abs() < 0.5 * a.bump_k.abs().max(b.bump_k.abs()).max(0.6);
        if length < 0.5 * self.radius_px() || a.bump_k * b.bump_k <= 0.0 || !alike {
            return None;
        }
        let (along, across) = ((du / length, dv / length), (-dv / length, du / length));
        let steps = length as usize;
        let point = |t: f64, offset: f64| {
            (a.inner.0 + along.0 * t + across.0 * offset, a.inner.1 + along.1 * t + across.1 * offset)
        };
        let level = |t: f64| a.apparent_c + (b.apparent_c - a.apparent_c) * (t / length) as f32;
        let bump = (a.bump_k + b.bump_k) / 2.0;
        let same = SAME_K.max(0.4 * bump.abs());
        let on = |t: f64, offset: f64| {
            let (u, v) = point(t, offset);
            (self.near(u, v) - level(t)).abs() < same
        };
        let share = |offset: f64| (1..steps).filter(|&t| on(t as f64, offset)).count() as f64 / steps as f64;
        if share(0.0) < 0.82 {
            return None;
        }
        let widest = (0.7 * self.radius_px()).min(length / 2.0);
        let edge = |sign: f64| {
            let mut offset = 0.5;
            while offset <= widest {
                if share(sign * offset) < 0.5 {
                    return Some(offset);
                }
                offset += 0.5;
            }
            None
        };
        let (left, right) = (edge(-1.0)?, edge(1.0)?);
        let shift = (right - left) / 2.0;
        let moved = |(u, v): (f64, f64)| (u + across.0 * shift, v + across.1 * shift);
        Some(Band { ends: [moved(a.inner), moved(b.inner)], half_width_px: (left + right) / 2.0 + 1.5 })
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
    let stride = (half / 24).max(1);
    let mut out = vec![f32::NAN; count];
    let mut window = Vec::new();
    for block in (0..count).step_by(4) {
        window.clear();
        let mut offset = 0;
        while offset <= 2 * half {
            let value = profile[(block + count + offset - half.min(count)) % count];
            if value.is_finite() {
                window.push(f64::from(value));
            }
            offset += stride;
        }
        if let Some(median) = crate::statistic::median(&mut window) {
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
    let Some(start) = (0..count).find(|&i| sign(i) == 0) else { return Vec::new() };
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
            let (u, v) = ((jacket.origin.0 + column) as f64 - au, (jacket.origin.1 + row) as f64 - av);
            let offset = (u * dv - v * du) / length;
            if offset.abs() <= band.half_width_px {
                jacket.cover[at] = Cover::Hidden;
                hidden += 1;
            }
        }
    }
    hidden
}
