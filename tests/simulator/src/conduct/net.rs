//! The net of heat links between cells, and the passes that relax it.

use super::Cells;
use crate::film::{Exposure, Film, expose, film};
use crate::scene::Scene;
use crate::shape::Shape;

/// Cells round a pole are taken as at least this wide, in steps along: slivers would only stall the solver.
const POLE_WIDTH: f64 = 0.3;

/// Conductances of the net, W/K; entry of a node is towards its next neighbour in that direction.
pub(super) struct Net {
    pub(super) cells: Cells,
    /// Towards the metal: cell i to cell i − 1; the first to the metal itself, the last from the jacket.
    deep: Vec<f64>,
    along: Vec<f64>,
    round: Vec<f64>,
    metal_c: Vec<f64>,
    jacket_area_m2: Vec<f64>,
    exposures: Vec<Exposure>,
}

pub(super) fn lay_net(scene: &Scene, shape: &Shape, cells: Cells) -> Net {
    let columns = cells.along * cells.round;
    let nodes = columns * cells.nodes();
    let mut net = Net {
        deep: vec![0.0; nodes],
        along: vec![0.0; nodes],
        round: vec![0.0; nodes],
        metal_c: Vec::with_capacity(columns),
        jacket_area_m2: Vec::with_capacity(columns),
        exposures: Vec::with_capacity(columns),
        cells,
    };
    for s in 0..net.cells.along {
        let station = shape.station(net.cells.run_m(s));
        let area_m2 = net.cells.run_step_m * net.cells.round_step * station.radius_m.max(1e-3);
        let metal_c = match scene.liquid_level {
            Some(level) if station.axial_m > level.axial_m => scene.service_c + level.vapour_warmer_k,
            _ => scene.service_c,
        };
        for q in 0..net.cells.round {
            net.metal_c.push(metal_c);
            net.jacket_area_m2.push(area_m2);
            let exposure = expose(scene, shape, &station, net.cells.round_at(q));
            net.exposures.push(exposure);
        }
    }
    net
}

/// Stretch of the coordinate lines at a depth below the jacket: along the meridian, and metres per unit round.
fn stretch(shape: &Shape, run_m: f64, step_m: f64, depth_m: f64) -> (f64, f64) {
    let station = shape.station(run_m);
    let along = (1.0 - depth_m * shape.mean_curvature_per_m(run_m, step_m)).max(0.2);
    let round = station.radius_m - depth_m * station.normal_radial;
    (along, round.max(0.15 * station.radius_m).max(1e-3))
}

/// Stretch (along, round) at four places of a layer: a quarter and three quarters up, in the middle, and in the middle of
/// the border to the next cell along.
struct LayerMetric {
    lower: (f64, f64),
    upper: (f64, f64),
    middle: (f64, f64),
    border: (f64, f64),
}

fn layer_metrics(shape: &Shape, cells: &Cells, s: usize, layer_m: f64) -> Vec<LayerMetric> {
    let (run_m, ds) = (cells.run_m(s), cells.run_step_m);
    let at = |layer: f64, shift: f64| {
        let depth_m = layer_m * (cells.radial as f64 - layer);
        stretch(shape, run_m + shift * ds, ds, depth_m)
    };
    (0..cells.radial)
        .map(|i| LayerMetric {
            lower: at(i as f64 + 0.25, 0.0),
            upper: at(i as f64 + 0.75, 0.0),
            middle: at(i as f64 + 0.5, 0.0),
            border: at(i as f64 + 0.5, 0.5),
        })
        .collect()
}

fn area(stretch: (f64, f64)) -> f64 {
    stretch.0 * stretch.1
}

/// Conductivity of every cell at its temperature, W/(m K).
fn conductivities_w_mk(scene: &Scene, cells: &Cells, ratios: &[f64], temperatures_c: &[f64]) -> Vec<f64> {
    ratios
        .chunks_exact(cells.radial)
        .zip(temperatures_c.chunks_exact(cells.nodes()))
        .flat_map(|(ratios, column)| {
            ratios
                .iter()
                .zip(column)
                .map(|(ratio, celsius)| ratio * scene.vessel.conductivity.at_c(*celsius))
        })
        .collect()
}

impl Net {
    /// Recomputes every conductance at the present temperatures.
    pub(super) fn set_conductances(&mut self, scene: &Scene, shape: &Shape, ratios: &[f64], temperatures_c: &[f64]) {
        let cells = self.cells.clone();
        let conductivities = conductivities_w_mk(scene, &cells, ratios, temperatures_c);
        let layer_m = scene.vessel.insulation_thickness_m / cells.radial as f64;
        let (ds, dq) = (cells.run_step_m, cells.round_step);
        for s in 0..cells.along {
            let metrics = layer_metrics(shape, &cells, s, layer_m);
            for q in 0..cells.round {
                let cell = |s: usize, q: usize| (s * cells.round + q) * cells.radial;
                let (own, column) = (cell(s, q), cells.column(s, q));
                let next_s = (s + 1 < cells.along).then(|| cell(s + 1, q));
                let next_q = cells.next_round(q).map(|next| cell(s, next));
                let mut above_k_w = 0.0;
                for (i, metric) in metrics.iter().enumerate() {
                    let (node, here) = (column + i, conductivities[own + i]);
                    // Half-cell resistances δ/2 / (λ A) on either side of the cell's centre.
                    let half = 0.5 * layer_m / (here * ds * dq);
                    self.deep[node] = 1.0 / (above_k_w + half / area(metric.lower));
                    above_k_w = half / area(metric.upper);
                    if let Some(next) = next_s {
                        let mean = harmonic(here, conductivities[next + i]);
                        let (along, round) = metric.border;
                        self.along[node] = mean * layer_m * round * dq / (along * ds);
                    }
                    if let Some(next) = next_q {
                        let mean = harmonic(here, conductivities[next + i]);
                        let (along, round) = metric.middle;
                        let wide_m = (round * dq).max(POLE_WIDTH * ds);
                        self.round[node] = mean * layer_m * along * ds / wide_m;
                    }
                }
                self.deep[column + cells.radial] = 1.0 / above_k_w;
            }
        }
        self.set_sheet(scene, shape);
    }

    /// Conductances within the jacket's sheet.
    fn set_sheet(&mut self, scene: &Scene, shape: &Shape) {
        let cells = &self.cells;
        let sheet_w_k = scene.vessel.jacket.in_plane_w_k;
        let (ds, dq) = (cells.run_step_m, cells.round_step);
        for s in 0..cells.along {
            let run_m = cells.run_m(s);
            let (_, here) = stretch(shape, run_m, ds, 0.0);
            let (_, border) = stretch(shape, run_m + 0.5 * ds, ds, 0.0);
            for q in 0..cells.round {
                let jacket = cells.column(s, q) + cells.radial;
                if s + 1 < cells.along {
                    self.along[jacket] = sheet_w_k * border * dq / ds;
                }
                if cells.next_round(q).is_some() {
                    self.round[jacket] = sheet_w_k * ds / (here * dq).max(POLE_WIDTH * ds);
                }
            }
        }
    }

    pub(super) fn films(&self, scene: &Scene, shape: &Shape, temperatures_c: &[f64]) -> Vec<Film> {
        let nodes = self.cells.nodes();
        self.exposures
            .iter()
            .zip(temperatures_c.chunks_exact(nodes))
            .map(|(exposure, column)| film(scene, shape, exposure, column[nodes - 1]))
            .collect()
    }

    /// Heat links of a column to its four neighbours: (first node of the neighbour, its links, 0 or 1 whether it is there).
    fn neighbours(&self, s: usize, q: usize) -> [(usize, &[f64], f64); 4] {
        let cells = &self.cells;
        let (nodes, here) = (cells.nodes(), cells.column(s, q));
        let before_s = cells.column(s.saturating_sub(1), q);
        let next_s = cells.column((s + 1).min(cells.along - 1), q);
        let before_q = cells.before_round(q).map_or(here, |p| cells.column(s, p));
        let next_q = cells.next_round(q).map_or(here, |p| cells.column(s, p));
        let there = |other: usize| if other == here { 0.0 } else { 1.0 };
        [
            (before_s, &self.along[before_s..before_s + nodes], there(before_s)),
            (next_s, &self.along[here..here + nodes], there(next_s)),
            (before_q, &self.round[before_q..before_q + nodes], there(before_q)),
            (next_q, &self.round[here..here + nodes], there(next_q)),
        ]
    }

    /// Pivots of the tridiagonal system of every column: (1/pivot, upper part over pivot).
    pub(super) fn factor(&self, films: &[Film]) -> Vec<(f64, f64)> {
        let (cells, nodes) = (&self.cells, self.cells.nodes());
        let mut factors = Vec::with_capacity(self.deep.len());
        for s in 0..cells.along {
            for q in 0..cells.round {
                let (index, column) = (s * cells.round + q, cells.column(s, q));
                let film_w_k = films[index].coefficient_w_m2k * self.jacket_area_m2[index];
                let neighbours = self.neighbours(s, q);
                let mut upper = 0.0;
                for i in 0..nodes {
                    let deep = self.deep[column + i];
                    let last = i + 1 == nodes;
                    let shallow = if last { film_w_k } else { self.deep[column + i + 1] };
                    let sideways: f64 = neighbours.iter().map(|(_, link, on)| on * link[i]).sum();
                    let pivot = 1.0 / (deep * (1.0 - upper) + shallow + sideways);
                    upper = shallow * pivot;
                    factors.push((pivot, upper));
                }
            }
        }
        factors
    }

    /// One pass over all columns; the largest change of a node, K.
    pub(super) fn sweep(
        &self,
        films: &[Film],
        factors: &[(f64, f64)],
        temperatures_c: &mut [f64],
        relaxation: f64,
    ) -> f64 {
        let (cells, nodes) = (&self.cells, self.cells.nodes());
        let mut value = vec![0.0; nodes];
        let mut largest_k = 0.0_f64;
        for s in 0..cells.along {
            for q in 0..cells.round {
                let (index, column) = (s * cells.round + q, cells.column(s, q));
                value.fill(0.0);
                value[nodes - 1] = films[index].source_w_m2 * self.jacket_area_m2[index];
                for (other, links, on) in self.neighbours(s, q) {
                    let beside_c = &temperatures_c[other..other + nodes];
                    for ((sum, link), beside) in value.iter_mut().zip(links).zip(beside_c) {
                        *sum += on * link * beside;
                    }
                }
                let deep = &self.deep[column..column + nodes];
                let factor = &factors[column..column + nodes];
                let mut below_c = self.metal_c[index];
                for ((sum, link), (pivot, _)) in value.iter_mut().zip(deep).zip(factor) {
                    below_c = (*sum + link * below_c) * pivot;
                    *sum = below_c;
                }
                let mut solved_c = 0.0;
                let own_c = &mut temperatures_c[column..column + nodes];
                for i in (0..nodes).rev() {
                    let upper = if i + 1 < nodes { factor[i].1 } else { 0.0 };
                    solved_c = value[i] + upper * solved_c;
                    let change_k = solved_c - own_c[i];
                    largest_k = largest_k.max(change_k.abs());
                    own_c[i] += relaxation * change_k;
                }
            }
        }
        largest_k
    }

    /// Heat into the metal and into the jacket, W.
    pub(super) fn heat_w(&self, films: &[Film], temperatures_c: &[f64]) -> (f64, f64) {
        let nodes = self.cells.nodes();
        let mut totals = (0.0, 0.0);
        for (index, column) in temperatures_c.chunks_exact(nodes).enumerate() {
            totals.0 += self.deep[index * nodes] * (column[0] - self.metal_c[index]);
            totals.1 += films[index].flux_w_m2(column[nodes - 1]) * self.jacket_area_m2[index];
        }
        totals
    }
}

fn harmonic(first: f64, second: f64) -> f64 {
    2.0 * first * second / (first + second)
}
