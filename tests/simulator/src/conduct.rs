//! Steady conduction in the insulation by finite volumes in depth, round and along, with the jacket as a conducting sheet.
//!
//! Every column of cells from metal to jacket is solved at once (a tridiagonal system), columns in turn with
//! over-relaxation; conductivity and film follow the temperatures between passes.

mod net;

use net::lay_net;

use crate::scene::{Grid, Scene};
use crate::shape::Shape;
use crate::wetness::Wetness;

/// Passes between two updates of conductivity and film.
const SWEEPS_PER_UPDATE: usize = 6;
const MAX_UPDATES: usize = 120;
/// A net is not halved below this many cells a side.
const COARSEST: usize = 24;
/// Largest change of a pass at which the solution is taken, K.
const SETTLED_K: f64 = 4e-5;

/// The solved shell.
#[derive(Debug, Clone)]
pub struct Solution {
    cells: Cells,
    temperatures_c: Vec<f64>,
    jacket_c: Vec<f64>,
    /// Heat into the jacket from outside, W.
    pub outer_w: f64,
    /// Heat into the metal, W.
    pub inner_w: f64,
    /// Passes made.
    pub sweeps: usize,
}

/// Layout and size of the grid.
#[derive(Debug, Clone)]
struct Cells {
    radial: usize,
    round: usize,
    along: usize,
    run_start_m: f64,
    run_step_m: f64,
    round_start: f64,
    round_step: f64,
    closed: bool,
}

impl Cells {
    fn of(shape: &Shape, grid: Grid) -> Self {
        let (run_start_m, run_end_m) = shape.run_span_m();
        let (round_start, round_end) = shape.round_span();
        Self {
            radial: grid.radial,
            round: grid.round,
            along: grid.along,
            run_start_m,
            run_step_m: (run_end_m - run_start_m) / grid.along as f64,
            round_start,
            round_step: (round_end - round_start) / grid.round as f64,
            closed: !shape.is_flat(),
        }
    }
    /// Nodes of a column: the cells and the jacket itself.
    fn nodes(&self) -> usize {
        self.radial + 1
    }
    fn column(&self, s: usize, q: usize) -> usize {
        (s * self.round + q) * self.nodes()
    }
    fn run_m(&self, s: usize) -> f64 {
        self.run_start_m + (s as f64 + 0.5) * self.run_step_m
    }
    fn round_at(&self, q: usize) -> f64 {
        self.round_start + (q as f64 + 0.5) * self.round_step
    }
    fn next_round(&self, q: usize) -> Option<usize> {
        match q + 1 < self.round {
            true => Some(q + 1),
            false => self.closed.then_some(0),
        }
    }
    fn before_round(&self, q: usize) -> Option<usize> {
        match q {
            0 => self.closed.then_some(self.round - 1),
            _ => Some(q - 1),
        }
    }
}

/// Solves a scene. `start` is an earlier solution to begin from; without one, coarser nets are solved first and each
/// hands its temperatures on to the next finer.
pub fn conduct(scene: &Scene, shape: &Shape, wetness: &Wetness, start: Option<&Solution>) -> Solution {
    let grid = scene.grid;
    if start.is_none() && grid.along >= 2 * COARSEST && grid.round >= 2 * COARSEST {
        let mut coarse = scene.clone();
        coarse.grid.along = grid.along / 2;
        coarse.grid.round = grid.round / 2;
        let guide = conduct(&coarse, shape, wetness, None);
        return settle(scene, shape, wetness, Some(&guide));
    }
    settle(scene, shape, wetness, start)
}

/// Solves on one net.
fn settle(scene: &Scene, shape: &Shape, wetness: &Wetness, start: Option<&Solution>) -> Solution {
    let cells = Cells::of(shape, scene.grid);
    let ratios = ratio_map(&cells, wetness);
    let mut temperatures_c = first_guess(scene, &cells, start);
    let mut net = lay_net(scene, shape, cells);
    let relaxation = if scene.vessel.jacket.in_plane_w_k > 0.01 {
        1.7
    } else {
        1.4
    };
    let mut films = Vec::new();
    let mut sweeps = 0;
    for _ in 0..MAX_UPDATES {
        net.set_conductances(scene, shape, &ratios, &temperatures_c);
        films = net.films(scene, shape, &temperatures_c);
        let factors = net.factor(&films);
        let mut first_change_k = 0.0;
        for pass in 0..SWEEPS_PER_UPDATE {
            let change_k = net.sweep(&films, &factors, &mut temperatures_c, relaxation);
            sweeps += 1;
            if pass == 0 {
                first_change_k = change_k;
            }
        }
        if first_change_k < SETTLED_K {
            break;
        }
    }
    let (inner_w, outer_w) = net.heat_w(&films, &temperatures_c);
    let nodes = net.cells.nodes();
    let columns = temperatures_c.chunks_exact(nodes);
    Solution {
        jacket_c: columns.map(|column| column[nodes - 1]).collect(),
        cells: net.cells,
        temperatures_c,
        outer_w,
        inner_w,
        sweeps,
    }
}

impl Solution {
    /// Temperature of the jacket at a place, °C, by cubic convolution between cell centres.
    pub fn jacket_c(&self, run_m: f64, round: f64) -> f64 {
        let cells = &self.cells;
        let s = ((run_m - cells.run_start_m) / cells.run_step_m - 0.5).clamp(0.0, cells.along as f64 - 1.0);
        let q = (round - cells.round_start) / cells.round_step - 0.5;
        let (ws, wq) = (cubic(s - s.floor()), cubic(q - q.floor()));
        let round_count = cells.round as isize;
        let columns = [-1, 0, 1, 2].map(|k| {
            let index = q.floor() as isize + k;
            match cells.closed {
                true => index.rem_euclid(round_count) as usize,
                false => index.clamp(0, round_count - 1) as usize,
            }
        });
        let mut sum_c = 0.0;
        for (k, weight) in ws.iter().enumerate() {
            let row = (s as isize + k as isize - 1).clamp(0, cells.along as isize - 1) as usize;
            let line = &self.jacket_c[row * cells.round..(row + 1) * cells.round];
            let along_c: f64 = columns.iter().zip(wq).map(|(c, w)| w * line[*c]).sum();
            sum_c += weight * along_c;
        }
        sum_c
    }

    /// First nodes of the four columns round a place, and their weights.
    fn corners(&self, run_m: f64, round: f64) -> ([usize; 4], [f64; 4]) {
        let cells = &self.cells;
        let s = ((run_m - cells.run_start_m) / cells.run_step_m - 0.5).clamp(0.0, cells.along as f64 - 1.0);
        let mut q = (round - cells.round_start) / cells.round_step - 0.5;
        if !cells.closed {
            q = q.clamp(0.0, cells.round as f64 - 1.0);
        }
        let (ps, pq) = (s - s.floor(), q - q.floor());
        let s0 = s.floor() as usize;
        let s1 = (s0 + 1).min(cells.along - 1);
        let wrap = |index: f64| index.rem_euclid(cells.round as f64) as usize % cells.round;
        let (q0, q1) = (wrap(q.floor()), wrap(q.floor() + 1.0));
        (
            [
                cells.column(s0, q0),
                cells.column(s0, q1),
                cells.column(s1, q0),
                cells.column(s1, q1),
            ],
            [(1.0 - ps) * (1.0 - pq), (1.0 - ps) * pq, ps * (1.0 - pq), ps * pq],
        )
    }
}

/// Conductivity over dry of every cell: the mean of four places in it, so that patch outlines do not step with the net.
fn ratio_map(cells: &Cells, wetness: &Wetness) -> Vec<f64> {
    let quarters = [(-0.25, -0.25), (-0.25, 0.25), (0.25, -0.25), (0.25, 0.25)];
    let mut ratios = Vec::with_capacity(cells.along * cells.round * cells.radial);
    for s in 0..cells.along {
        for q in 0..cells.round {
            let column_start = ratios.len();
            ratios.resize(column_start + cells.radial, 0.0);
            for (part_s, part_q) in quarters {
                let run_m = cells.run_m(s) + part_s * cells.run_step_m;
                let round = cells.round_at(q) + part_q * cells.round_step;
                wetness.add_column(run_m, round, 0.25, &mut ratios[column_start..]);
            }
        }
    }
    ratios
}

fn first_guess(scene: &Scene, cells: &Cells, start: Option<&Solution>) -> Vec<f64> {
    let jacket_c = scene.conditions.air_c - 2.0;
    let mut guess = Vec::with_capacity(cells.along * cells.round * cells.nodes());
    for s in 0..cells.along {
        for q in 0..cells.round {
            let earlier = start
                .filter(|solution| solution.cells.radial == cells.radial)
                .map(|solution| (solution, solution.corners(cells.run_m(s), cells.round_at(q))));
            for i in 0..cells.nodes() {
                let share = ((i as f64 + 0.5) / cells.radial as f64).min(1.0);
                guess.push(match &earlier {
                    Some((solution, (corners, weights))) => (0..4)
                        .map(|k| weights[k] * solution.temperatures_c[corners[k] + i])
                        .sum(),
                    None => scene.service_c + share * (jacket_c - scene.service_c),
                });
            }
        }
    }
    guess
}

/// Weights of the four neighbours in cubic convolution (Catmull–Rom) at a part of the step.
fn cubic(part: f64) -> [f64; 4] {
    let (p, p2, p3) = (part, part * part, part * part * part);
    [
        0.5 * (2.0 * p2 - p3 - p),
        0.5 * (3.0 * p3 - 5.0 * p2 + 2.0),
        0.5 * (4.0 * p2 - 3.0 * p3 + p),
        0.5 * (p3 - p2),
    ]
}

#[cfg(test)]
mod tests;
