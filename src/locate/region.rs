//! Whether a figure separates jacket from surroundings: inside it the temperature is one slow surface, just outside it is not.
//!
//! A quadratic surface in (axial, across) is fitted robustly to the inside; places outside, a little beyond the outline, that
//! the surface does not explain speak for the figure. A figure that takes in some wall has a rough inside and explains
//! everything; one that lies within the jacket explains its outside too.

use nalgebra::{SMatrix, SVector};
use ndarray::Array2;

use super::figure::{Figure, Part};
use crate::statistic;

/// Terms of the surface: 1, a, q, a², a·q, q².
const TERMS: usize = 6;
/// Sampling grid inside, along and across.
const GRID: (usize, usize) = (22, 9);
/// Passes of the robust fit.
const PASSES: usize = 4;
/// Least roughness of a jacket in K.
const LEAST_SPREAD_K: f32 = 0.025;

/// What the inside and the ring outside say of a figure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Separation {
    /// Share of the outline at which the surface explains what lies just inside and not what lies just outside, 0..1.
    pub apart: f64,
    /// The same, with the place outside further off: a pipe seen edge on is left behind, the wall is not.
    pub far_apart: f64,
    /// The same at that place and at one much further off: a row of seams alone is left behind.
    pub wide_apart: f64,
    /// How much rougher the inside is than a jacket is at least: the logarithm of the spread about the surface over
    /// the least that is told apart, 0 for the smoothest.
    pub roughness: f64,
}

/// One sample in shares of the figure.
#[derive(Clone, Copy)]
struct Sample {
    terms: [f32; TERMS],
    value: f32,
}

impl Sample {
    /// Distance from a surface in K.
    fn off(&self, surface: &[f32; TERMS]) -> f32 {
        self.value - self.terms.iter().zip(surface).map(|(t, s)| t * s).sum::<f32>()
    }
}

/// Measures the separation on a reduced picture (block size `factor`).
#[must_use]
pub fn separation(reduced: &Array2<f32>, factor: usize, figure: &Figure) -> Option<Separation> {
    let (first, last) = axial_window(reduced, factor, figure);
    let inside = inside_samples(reduced, factor, figure, (first, last));
    if inside.len() < 4 * TERMS {
        return None;
    }
    let (surface, spread_k) = fit(&inside)?;
    let explained = |s: &Sample| s.off(&surface).abs() <= 3.0 * spread_k;
    let out = 1.2 * factor as f64 + 1.5;
    let further = out + 0.12 * figure.size.half_width_m * figure.scale_px_m + 3.0;
    let (mut near, mut far, mut wide) = (Share::default(), Share::default(), Share::default());
    for p in figure.outline(2.0 * factor as f64) {
        let along = ((p.axial_m - first) / (last - first) * 2.0 - 1.0).clamp(-1.0, 1.0);
        let across = (p.across_m / figure.size.half_width_m).clamp(-0.94, 0.94);
        let at = |d: f64| {
            sample(
                reduced,
                factor,
                (p.u + d * p.normal_u, p.v + d * p.normal_v),
                (along, across),
            )
        };
        let Some(inner) = at(-1.5 * out) else { continue };
        let known = explained(&inner);
        // A head may be warmer or colder than the shell: there, what lies beyond must be unlike the head beside it.
        let head = !known && matches!(p.part, Part::DatumEnd | Part::OtherEnd);
        let off = |distance: f64| {
            at(distance).map(|outer| {
                !explained(&outer) && (known || head && (outer.value - inner.value).abs() > 3.0 * spread_k)
            })
        };
        let (beside, beyond) = (off(further), off(1.7 * further));
        near.count(off(out));
        far.count(beside);
        wide.count(beside.zip(beyond).map(|(a, b)| a && b));
    }
    Some(Separation {
        apart: near.of_all(),
        far_apart: far.of_all(),
        wide_apart: wide.of_all(),
        roughness: f64::from(spread_k / LEAST_SPREAD_K).ln(),
    })
}

/// How many of all.
#[derive(Default)]
struct Share {
    yes: u32,
    all: u32,
}

impl Share {
    /// Counts a place, if it lies in the picture.
    fn count(&mut self, yes: Option<bool>) {
        self.all += u32::from(yes.is_some());
        self.yes += u32::from(yes == Some(true));
    }

    fn of_all(&self) -> f64 {
        f64::from(self.yes) / f64::from(self.all.max(1))
    }
}

fn sample(reduced: &Array2<f32>, factor: usize, (u, v): (f64, f64), (along, across): (f64, f64)) -> Option<Sample> {
    let cell = |full: f64| (full + 0.5) / factor as f64;
    let (u, v) = (cell(u), cell(v));
    if u < 0.0 || v < 0.0 {
        return None;
    }
    let value = *reduced.get([v as usize, u as usize])?;
    let (along, across) = (along as f32, across as f32);
    let terms = [1.0, along, across, along * along, along * across, across * across];
    value.is_finite().then_some(Sample { terms, value })
}

/// Axial shares run from −1 to 1 over the part of the figure that lies in the picture.
fn axial_window(reduced: &Array2<f32>, factor: usize, figure: &Figure) -> (f64, f64) {
    let (cols, middle) = (
        (reduced.ncols() * factor) as f64,
        (reduced.nrows() * factor) as f64 / 2.0,
    );
    let reach = 0.7 * figure.head_depth_m;
    let first = figure.local(0.0, middle).0.max(-reach);
    let last = figure.local(cols - 1.0, middle).0.min(figure.size.length_m + reach);
    (first, last.max(first + 1e-3))
}

fn inside_samples(reduced: &Array2<f32>, factor: usize, figure: &Figure, (first, last): (f64, f64)) -> Vec<Sample> {
    let mut samples = Vec::with_capacity(GRID.0 * GRID.1);
    for i in 0..GRID.0 {
        let share = (i as f64 + 0.5) / GRID.0 as f64;
        let axial = first + (last - first) * share;
        let (middle, side) = (figure.pixel(axial, 0.0), figure.pixel(axial, figure.size.half_width_m));
        for j in 0..GRID.1 {
            let across = ((j as f64 + 0.5) / GRID.1 as f64 * 2.0 - 1.0) * 0.94;
            if figure.covers(axial, across * figure.size.half_width_m) {
                let u = middle.0 + across * (side.0 - middle.0);
                let v = middle.1 + across * (side.1 - middle.1);
                samples.extend(sample(reduced, factor, (u, v), (share * 2.0 - 1.0, across)));
            }
        }
    }
    samples
}

/// Robust fit (Tukey's biweight) and the robust spread about it in K.
fn fit(samples: &[Sample]) -> Option<([f32; TERMS], f32)> {
    let mut sizes: Vec<f32> = samples.iter().map(|s| s.value).collect();
    let mut offs = vec![0.0f32; samples.len()];
    let mut surface = [0.0f32; TERMS];
    surface[0] = statistic::median_of_readings(&mut sizes)? as f32;
    let mut spread_k = f32::INFINITY;
    for _ in 0..PASSES {
        for ((size, off), sample) in sizes.iter_mut().zip(&mut offs).zip(samples) {
            *off = sample.off(&surface);
            *size = off.abs();
        }
        spread_k = ((statistic::MAD_TO_SD * statistic::median_of_readings(&mut sizes)?) as f32).max(LEAST_SPREAD_K);
        let mut normal = [[0.0f32; TERMS]; TERMS];
        let mut right = [0.0f32; TERMS];
        for (sample, &off) in samples.iter().zip(&offs) {
            let ratio = off / (4.0 * spread_k);
            let room = (1.0 - ratio * ratio).max(0.0);
            let weight = room * room;
            for ((row, right), term) in normal.iter_mut().zip(&mut right).zip(sample.terms) {
                let weighted = term * weight;
                *right += weighted * off;
                for (cell, other) in row.iter_mut().zip(sample.terms) {
                    *cell += weighted * other;
                }
            }
        }
        let normal =
            SMatrix::<f64, TERMS, TERMS>::from_fn(|r, c| f64::from(normal[r][c]) + if r == c { 1e-4 } else { 0.0 });
        let change = normal
            .cholesky()?
            .solve(&SVector::<f64, TERMS>::from_fn(|r, _| f64::from(right[r])));
        for (term, change) in surface.iter_mut().zip(change.iter()) {
            *term += *change as f32;
        }
    }
    Some((surface, spread_k))
}
