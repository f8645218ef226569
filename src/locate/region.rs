//! Whether a figure separates jacket from surroundings: inside it the temperature is one slow surface, just outside it is not.
//!
//! A quadratic surface in (axial, across) is fitted robustly to the inside; places outside, a little beyond the outline, that
//! the surface does not explain speak for the figure. A figure that takes in some wall has a rough inside and explains
//! everything; one that lies within the jacket explains its outside too.

use nalgebra::{SMatrix, SVector};
use ndarray::Array2;

use super::figure::Figure;
use crate::statistic;

/// Terms of the surface: 1, a, q, a², a·q, q².
const TERMS: usize = 6;
/// Sampling grid inside, along and across.
const GRID: (usize, usize) = (22, 9);
/// Passes of the robust fit.
const PASSES: usize = 4;
/// Least roughness of a jacket in K.
const LEAST_SPREAD_K: f64 = 0.025;

/// What the inside and the ring outside say of a figure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Separation {
    /// Share of the outline at which the surface explains what lies just inside and not what lies just outside, 0..1.
    pub apart: f64,
    /// The same, with the place outside further off: a pipe seen edge on is left behind, the wall is not.
    pub far_apart: f64,
    /// Share of the inside that its own surface explains, 0..1.
    pub even: f64,
    /// Robust spread of the inside about its surface in K.
    pub spread_k: f64,
}

/// One sample in shares of the figure.
#[derive(Clone, Copy)]
struct Sample {
    terms: SVector<f64, TERMS>,
    value: f64,
}

/// Measures the separation on a reduced picture (block size `factor`).
#[must_use]
pub fn separation(reduced: &Array2<f32>, factor: usize, figure: &Figure) -> Option<Separation> {
    let inside = inside_samples(reduced, factor, figure);
    if inside.len() < 4 * TERMS {
        return None;
    }
    let (surface, spread_k) = fit(&inside)?;
    let explained = |s: &Sample| (s.value - surface.dot(&s.terms)).abs() <= 3.0 * spread_k;
    let out = 1.2 * factor as f64 + 1.5;
    let joint = |out_px: f64| {
        let ring = ring_samples(reduced, factor, figure, out_px);
        let apart = ring
            .iter()
            .filter(|(inner, outer)| explained(inner) && !explained(outer))
            .count();
        apart as f64 / ring.len().max(1) as f64
    };
    let further = out + 0.12 * figure.size.half_width_m * figure.scale_px_m + 3.0;
    let even = inside.iter().filter(|s| explained(s)).count();
    Some(Separation {
        apart: joint(out),
        far_apart: joint(further),
        even: even as f64 / inside.len() as f64,
        spread_k,
    })
}

fn sample(reduced: &Array2<f32>, factor: usize, (u, v): (f64, f64), (along, across): (f64, f64)) -> Option<Sample> {
    let cell = |full: f64| (full + 0.5) / factor as f64 - 0.5;
    let (u, v) = (cell(u).round(), cell(v).round());
    if u < 0.0 || v < 0.0 {
        return None;
    }
    let value = f64::from(*reduced.get([v as usize, u as usize])?);
    let terms = SVector::from([1.0, along, across, along * along, along * across, across * across]);
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

fn inside_samples(reduced: &Array2<f32>, factor: usize, figure: &Figure) -> Vec<Sample> {
    let (first, last) = axial_window(reduced, factor, figure);
    let mut samples = Vec::with_capacity(GRID.0 * GRID.1);
    for i in 0..GRID.0 {
        let along = (i as f64 + 0.5) / GRID.0 as f64 * 2.0 - 1.0;
        let axial = first + (last - first) * (along + 1.0) / 2.0;
        for j in 0..GRID.1 {
            let across = ((j as f64 + 0.5) / GRID.1 as f64 * 2.0 - 1.0) * 0.94;
            let across_m = across * figure.size.half_width_m;
            if figure.covers(axial, across_m) {
                samples.extend(sample(reduced, factor, figure.pixel(axial, across_m), (along, across)));
            }
        }
    }
    samples
}

/// Pairs of places just inside and just outside the outline.
fn ring_samples(reduced: &Array2<f32>, factor: usize, figure: &Figure, out: f64) -> Vec<(Sample, Sample)> {
    let (first, last) = axial_window(reduced, factor, figure);
    let inner = -1.5 * (1.2 * factor as f64 + 1.5);
    let outline = figure.outline(2.0 * factor as f64);
    let places = outline.iter().map(|p| {
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
        Some((at(inner)?, at(out)?))
    });
    places.flatten().collect()
}

/// Robust fit (Tukey's biweight) and the robust spread about it in K.
fn fit(samples: &[Sample]) -> Option<(SVector<f64, TERMS>, f64)> {
    let mut values: Vec<f64> = samples.iter().map(|s| s.value).collect();
    let mut surface = SVector::<f64, TERMS>::zeros();
    surface[0] = statistic::median(&mut values)?;
    let mut spread_k = f64::INFINITY;
    for _ in 0..PASSES {
        let mut sizes: Vec<f64> = samples
            .iter()
            .map(|s| (s.value - surface.dot(&s.terms)).abs())
            .collect();
        spread_k = (1.4826 * statistic::median(&mut sizes)?).max(LEAST_SPREAD_K);
        let mut normal = SMatrix::<f64, TERMS, TERMS>::identity() * 1e-6;
        let mut right = SVector::<f64, TERMS>::zeros();
        for s in samples {
            let ratio = (s.value - surface.dot(&s.terms)) / (4.0 * spread_k);
            let weight = if ratio.abs() < 1.0 {
                (1.0 - ratio * ratio).powi(2)
            } else {
                0.0
            };
            normal += s.terms * s.terms.transpose() * weight;
            right += s.terms * (weight * s.value);
        }
        surface = normal.cholesky()?.solve(&right);
    }
    Some((surface, spread_k))
}
