//! What the sound jacket would look like: one slow surface over the asset, fitted so that wet zones do not pull it.
//!
//! ```text
//! T_sound(a, y) = c₀ + c₁a + c₂a² + c₃y + c₄y² + c₅ay + c₆y³ + c₇y⁴      a, y scaled to −1..1
//! ```
//!
//! The terms stand for what varies slowly on a real jacket: air layered over the height, the film growing round the girth,
//! sky above and floor below, a fall of emissivity with angle that the correction did not remove. The last two terms are
//! for the cold sky mirrored along the top of an outdoor vessel, and are held at zero indoors. Blocks of pixels are
//! fitted by iterated least squares with Tukey's biweight; ridge terms keep the slopes to what air and film can do. Where that
//! leaves the jacket uneven and a departure of its own at each height (see `height.rs`) makes it much more even, that is added.

use nalgebra::{SMatrix, SVector};

mod height;

use super::jacket::{Cover, Jacket};
use crate::locate::figure::{Stance, Surface};
use crate::register::Setting;
use crate::statistic;
use height::HeightProfile;

const TERMS: usize = 8;
/// Standard deviation in K of each term that is plausible on a sound jacket (engineering judgement, no source).
const PLAUSIBLE_K: [f64; TERMS] = [50.0, 1.0, 0.5, 0.8, 0.5, 0.3, 0.0, 0.0];
const PLAUSIBLE_OUTDOORS_K: [f64; TERMS] = [50.0, 1.0, 0.5, 1.5, 1.5, 0.3, 1.5, 1.5];
/// Blocks across and along.
const BLOCKS: (usize, usize) = (40, 16);
/// Pixels of a block from which on every second row of it is read.
const ENOUGH: usize = 128;
const PASSES: usize = 9;
/// Spread in K below which the first fit stands.
const EVEN_K: f64 = 0.06;
/// Spread in K beyond which each height may depart by itself, and the share of the spread that this must leave at most: what is
/// adopted for little takes contrast from wide zones. Set by the repository's simulated scenes, no source.
const UNEVEN_K: f64 = 0.1;
const EVENER: f64 = 0.7;
/// Percentiles of the blocks from which fits start.
const STARTS_PCT: [f64; 3] = [50.0, 75.0, 30.0];
/// Residuals beyond this many robust standard deviations have no say.
const CUT: f64 = 4.5;
/// Least spread of a block's mean in K that the fit tells apart.
const LEAST_SPREAD_K: f64 = 0.02;

/// Share of the blocks whose closest stretch of values is the densest one.
const MODE_SHARE: f64 = 0.25;

/// Which residuals have a say in the first passes.
#[derive(Debug, Clone, Copy)]
enum Cut {
    /// Nearly all, so that a poor start does not throw the sound jacket away.
    WideFirst,
    /// Few, so that what is wet has no say.
    NarrowFirst,
}

/// The fitted surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Baseline {
    terms: SVector<f64, TERMS>,
    middle_m: f64,
    /// Reciprocal of half the length in view, 1/m.
    per_reach: f64,
    /// What is the same at one height besides, where the surface alone leaves the jacket uneven.
    height: Option<HeightProfile>,
    /// Robust spread of the blocks about the surface in K.
    pub spread_k: f64,
}

/// Spread in K of the sound jacket from the sizes of residuals, of which up to half may be of wet places: the median says too
/// much where they are many, the 30th percentile too little where the jacket is sound but uneven.
///
/// ```text
/// s = min(median / 0.6745, 1.25 · p₃₀ / 0.3853)      0.3853 = 30th percentile of |z|, z normal
/// ```
///
/// The margin of 1.25 is engineering judgement, no source.
pub(super) fn sound_spread_k(sizes_k: &mut [f64]) -> Option<f64> {
    let median = statistic::MAD_TO_SD * statistic::percentile(sizes_k, 50.0)?;
    let low = 1.25 * statistic::percentile(sizes_k, 30.0)? / 0.3853;
    Some(median.min(low))
}

struct Block {
    terms: SVector<f64, TERMS>,
    value: f64,
    weight: f64,
}

impl Baseline {
    /// Fits the surface to the usable pixels; None where too few are left.
    #[must_use]
    pub fn fit(jacket: &Jacket, setting: Setting, stance: Stance) -> Option<Self> {
        let (first, last) = jacket.usable_reach().axial_m;
        let (first, last) = (f64::from(first), f64::from(last));
        let reach_m = (last - first) / 2.0;
        if reach_m <= 0.0 || !reach_m.is_finite() {
            return None;
        }
        let mut baseline = Self {
            terms: SVector::zeros(),
            middle_m: (first + last) / 2.0,
            per_reach: 1.0 / reach_m,
            height: None,
            spread_k: 0.0,
        };
        let blocks = baseline.blocks(jacket);
        if blocks.len() < 3 * TERMS {
            return None;
        }
        baseline.solve(&blocks, setting)?;
        if baseline.spread_k > UNEVEN_K && jacket.surface == Surface::Round {
            let levelled = baseline.levelled(jacket, blocks, setting, stance);
            baseline = levelled
                .filter(|other| other.spread_k < EVENER * baseline.spread_k)
                .unwrap_or(baseline);
        }
        Some(baseline)
    }

    /// The same with what each height departs by: found from the readings, the surface fitted to what is left, twice round.
    fn levelled(&self, jacket: &Jacket, mut blocks: Vec<Block>, setting: Setting, stance: Stance) -> Option<Self> {
        let mut fitted = Self {
            terms: SVector::zeros(),
            ..*self
        };
        for _ in 0..2 {
            let more = HeightProfile::of(jacket, stance, &fitted)?;
            for block in &mut blocks {
                block.value -= more.at(block.terms[1], block.terms[3]);
            }
            let height = Some(fitted.height.map_or(more, |before| before.plus(&more)));
            fitted = Self { height, ..fitted };
            fitted.solve(&blocks, setting)?;
        }
        Some(fitted)
    }

    /// An axial place in m, scaled to −1..1 over what is in view.
    fn along(&self, axial_m: f64) -> f64 {
        ((axial_m - self.middle_m) * self.per_reach).clamp(-1.2, 1.2)
    }

    /// Temperature of the sound jacket in °C at a place (axial m, share of the half width).
    #[must_use]
    pub fn at(&self, axial_m: f32, share: f32) -> f64 {
        let t = &self.terms;
        let a = self.along(f64::from(axial_m));
        let y = f64::from(share);
        let level = self.height.map_or(0.0, |height| height.at(a, y));
        // The surface above, its powers of y drawn together.
        level + t[0] + a * (t[1] + t[2] * a) + y * (t[3] + t[5] * a + y * (t[4] + y * (t[6] + y * t[7])))
    }

    /// What every pixel departs in K from the sound jacket, its surface temperature less [`Baseline::at`] its place, in single
    /// precision, which is some 10⁻⁵ K.
    pub(super) fn residuals(&self, jacket: &Jacket) -> Vec<f32> {
        let t = self.terms.map(|term| term as f32);
        let (middle_m, per_reach) = (self.middle_m as f32, self.per_reach as f32);
        let places = || jacket.axial_m.iter().zip(&jacket.share);
        // Without branches, which runs many pixels at a time.
        let mut residuals: Vec<f32> = jacket
            .surface_c
            .iter()
            .zip(places())
            .map(|(surface_c, (axial_m, y))| {
                let a = ((axial_m - middle_m) * per_reach).clamp(-1.2, 1.2);
                surface_c - (t[0] + a * (t[1] + t[2] * a) + y * (t[3] + t[5] * a + y * (t[4] + y * (t[6] + y * t[7]))))
            })
            .collect();
        if let Some(height) = self.height {
            for (residual_k, (&axial_m, &share)) in residuals.iter_mut().zip(places()) {
                if residual_k.is_finite() {
                    *residual_k -= height.at(self.along(f64::from(axial_m)), f64::from(share)) as f32;
                }
            }
        }
        residuals
    }

    fn basis(&self, axial_m: f64, share: f64) -> SVector<f64, TERMS> {
        let a = self.along(axial_m);
        SVector::from([
            1.0,
            a,
            a * a,
            share,
            share * share,
            a * share,
            share.powi(3),
            share.powi(4),
        ])
    }

    /// Medians of the blocks that are at least half usable.
    fn blocks(&self, jacket: &Jacket) -> Vec<Block> {
        let (columns, rows) = jacket.size;
        let (wide, high) = ((columns / BLOCKS.0).max(2), (rows / BLOCKS.1).max(2));
        // Of large blocks every second row tells enough: the median of 64 readings is sure to a sixth of their noise (1.25/√64).
        let every = if wide * high >= ENOUGH { 2 } else { 1 };
        let mut blocks = Vec::new();
        let mut values = Vec::with_capacity(wide * high);
        for top in (0..rows).step_by(high) {
            let bottom = (top + high).min(rows);
            for left in (0..columns).step_by(wide) {
                let right = (left + wide).min(columns);
                values.clear();
                let (mut axial_m, mut share) = (0.0, 0.0);
                for row in (top..bottom).step_by(every) {
                    let cells = jacket.index(left, row)..jacket.index(right, row);
                    let places = jacket.axial_m[cells.clone()].iter().zip(&jacket.share[cells.clone()]);
                    let readings = jacket.cover[cells.clone()].iter().zip(&jacket.surface_c[cells]);
                    for ((cover, surface_c), (a, q)) in readings.zip(places) {
                        if *cover == Cover::Usable {
                            values.push(*surface_c);
                            axial_m += a;
                            share += q;
                        }
                    }
                }
                let rows_read = high.div_ceil(every);
                if 2 * values.len() >= wide * rows_read {
                    let count = values.len() as f64;
                    let terms = self.basis(f64::from(axial_m) / count, f64::from(share) / count);
                    let Some(value) = statistic::median_of_readings(&mut values) else {
                        continue;
                    };
                    blocks.push(Block {
                        terms,
                        value,
                        weight: 1.0,
                    });
                }
            }
        }
        blocks
    }

    /// The fit from the start that leaves the least spread: where zones take up much of the jacket, one start alone may
    /// settle between sound and wet.
    fn solve(&mut self, blocks: &[Block], setting: Setting) -> Option<()> {
        let mut values: Vec<f64> = blocks.iter().map(|b| b.value).collect();
        let mut best: Option<Self> = None;
        let mode = statistic::shortest_part(&mut values, MODE_SHARE)?;
        let [middle, above, below] = STARTS_PCT;
        let starts = [
            (statistic::percentile(&mut values, middle)?, Cut::WideFirst),
            (mode, Cut::NarrowFirst),
            (statistic::percentile(&mut values, above)?, Cut::NarrowFirst),
            (statistic::percentile(&mut values, below)?, Cut::NarrowFirst),
        ];
        for (start_c, first) in starts {
            let mut from = *self;
            from.terms = SVector::zeros();
            from.terms[0] = start_c;
            if from.settle(blocks, setting, first).is_some() && best.is_none_or(|b| from.spread_k < 0.97 * b.spread_k) {
                best = Some(from);
            }
            // An even jacket needs no second opinion.
            if best.is_some_and(|b| b.spread_k < EVEN_K) {
                break;
            }
        }
        *self = best?;
        Some(())
    }

    /// Iterated least squares from where it stands.
    fn settle(&mut self, blocks: &[Block], setting: Setting, first: Cut) -> Option<()> {
        let plausible = if setting == Setting::Outdoor {
            PLAUSIBLE_OUTDOORS_K
        } else {
            PLAUSIBLE_K
        };
        for pass in 0..PASSES {
            let mut sizes: Vec<f64> = blocks
                .iter()
                .map(|b| (b.value - self.terms.dot(&b.terms)).abs())
                .collect();
            let before_k = self.spread_k;
            self.spread_k = sound_spread_k(&mut sizes)?.max(LEAST_SPREAD_K);
            if pass > 3 && (self.spread_k - before_k).abs() < 1e-3 * before_k {
                break;
            }
            let widening = match first {
                Cut::WideFirst => 2.0,
                Cut::NarrowFirst => -0.6,
            };
            let cut = CUT * self.spread_k * (1.0 + widening / (1.0 + pass as f64));
            self.terms = self.reweighted(blocks, cut, &plausible)?;
        }
        Some(())
    }

    /// One least-squares solution with the weights of the present residuals.
    fn reweighted(&self, blocks: &[Block], cut: f64, plausible: &[f64; TERMS]) -> Option<SVector<f64, TERMS>> {
        let mut normal = SMatrix::<f64, TERMS, TERMS>::zeros();
        let mut right = SVector::<f64, TERMS>::zeros();
        for block in blocks {
            let ratio = (block.value - self.terms.dot(&block.terms)) / cut;
            if ratio.abs() < 1.0 {
                let weight = block.weight * (1.0 - ratio * ratio).powi(2);
                for (mut column, term) in normal.column_iter_mut().zip(&block.terms) {
                    column.axpy(term * weight, &block.terms, 1.0);
                }
                right += block.terms * (weight * block.value);
            }
        }
        for (i, plausible_k) in plausible.iter().enumerate() {
            normal[(i, i)] += (self.spread_k / plausible_k.max(1e-6)).powi(2);
        }
        Some(normal.cholesky()?.solve(&right))
    }
}
