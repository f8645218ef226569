//! Straight bands in front of the jacket: a pipe, a ladder's rail, a tray, which cross the outline twice.

use super::{Crossing, Inset, Outside, SAME_K, Scene, blur_px};
use crate::detect::jacket::{Cover, Jacket};

/// Share of the line between two crossings that must have one temperature to be a band (another may cross it).
const LEAST_BAND_SHARE: f64 = 0.82;
/// Share of the line along which the band must stand out from both of its sides.
const LEAST_STANDING_SHARE: f64 = 0.4;
/// Distance in px of its sides from where it ends, and the share of its departure at the outline by which it stands out (set
/// by the repository's simulated scenes, no source).
const ASIDE_PX: f64 = 3.0;
const STANDING_SHARE: f32 = 0.25;

/// A straight band in front of the jacket.
#[derive(Debug, Clone, Copy)]
pub struct Band {
    /// Ends on the outline, oriented pixels.
    pub ends: [(f64, f64); 2],
    /// Half width in px.
    pub half_width_px: f64,
}

impl Scene<'_> {
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
        if line.standing_out(self, (left, right)) < LEAST_STANDING_SHARE {
            return None;
        }
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
}

/// The straight line between two crossings.
struct Line {
    start: (f64, f64),
    along: (f64, f64),
    length: f64,
    levels: (f32, f32),
    bump_k: f32,
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
            bump_k: bump,
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

    /// Share of the line along which it departs from the jacket on both sides the way it does at the outline. A jacket that
    /// is colder towards its top has a level as straight as a pipe between any two places of one height.
    fn standing_out(&self, scene: &Scene, (left, right): (f64, f64)) -> f64 {
        let steps = (self.length / 1.5) as usize;
        let least_k = STANDING_SHARE * self.bump_k.abs();
        let stands = |i: &usize| {
            let t = *i as f64 * 1.5;
            let at = |offset: f64| {
                let (u, v) = self.point(t, offset);
                scene.near(u, v)
            };
            let here = at((right - left) / 2.0);
            let departs = |beside: f32| (here - beside) * self.bump_k.signum() > least_k;
            departs(at(-left - ASIDE_PX)) && departs(at(right + ASIDE_PX))
        };
        (1..steps).filter(stands).count() as f64 / steps.max(1) as f64
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

#[cfg(test)]
mod tests {
    use ndarray::Array2;

    use super::*;
    use crate::detect::fixtures;
    use crate::locate::figure::Part;

    /// Share of the line along row 100 that stands out from both sides, 4 px either way, of a thing that departs by −1 K.
    fn standing_share(reading: impl Fn(usize) -> f32) -> f64 {
        let map = Array2::from_shape_fn((200, 300), |(row, _)| reading(row));
        let figure = fixtures::lying([0.0, 100.0]);
        let scene = Scene {
            map: &map,
            figure: &figure,
            noise_k: 0.05,
            lower: Part::FarSide,
        };
        // Where it crosses the outline does not matter here.
        let outline = figure.outline(1.0);
        let crossing = |u: f64| Crossing {
            point: outline[0],
            ends: [outline[0]; 2],
            inner: (u, 100.0),
            profile: Inset::Near,
            inset_px: 4.0,
            width_px: 8.0,
            apparent_c: reading(100),
            bump_k: -1.0,
            outside: Outside::GoesOn,
        };
        let (a, b) = (crossing(50.0), crossing(250.0));
        Line::new(&a, &b, a.inner, b.inner).standing_out(&scene, (4.0, 4.0))
    }

    #[test]
    fn a_pipe_stands_out_from_both_sides_and_a_jacket_that_cools_upwards_does_not() {
        let pipe = standing_share(|row| if (96..=104).contains(&row) { 9.0 } else { 10.0 });
        let slope = standing_share(|row| 10.0 - 0.3 * (row as f32 - 100.0));
        assert!(pipe > 0.95, "{pipe}");
        assert!(slope < 0.05, "{slope}");
    }
}
