//! The bar's colours as a curve: from its low end to its high end.

use super::space::{Lab, Space};
use crate::read::Packing;

/// Points of the curve; finer than the 255 steps of an 8-bit picture.
pub(super) const POINTS: usize = 384;
/// Rows a pixel of reach of the moving mean over a compressed bar.
const COMPRESSED_ROWS: usize = 70;
/// Most of it.
const MOST_REACH: usize = 6;
/// Share of the curve within which two places are neighbours, not a repeated colour.
const NEAR_SHARE: f32 = 0.06;

/// The colours of a bar, low end first, at even steps of temperature.
#[derive(Debug, Clone)]
pub struct Curve {
    /// Points in Oklab.
    pub(super) points: Vec<Lab>,
    /// Distinct steps that the bar shows: its rows, or the colours in them.
    pub steps: usize,
}

impl Curve {
    /// From the colours of the bar's rows, low end first; None where there are fewer than 8.
    ///
    /// Without loss, equal rows are one step and its colour stands at the step's middle. Compression gives each block of rows
    /// an error of its own, which a moving mean evens out.
    #[must_use]
    pub fn new(rows: &[[u8; 3]], space: &Space, packing: Packing) -> Option<Self> {
        if rows.len() < 8 {
            return None;
        }
        let mut distinct: Vec<[u8; 3]> = rows.to_vec();
        distinct.dedup();
        let labs: Vec<Lab> = rows.iter().map(|&rgb| space.lab(rgb)).collect();
        let smooth = match packing {
            Packing::Lossless => at_step_middles(rows, &labs),
            // Only compression rings.
            Packing::Lossy => smoothed((rows.len() / COMPRESSED_ROWS).min(MOST_REACH), &settled(labs)),
        };
        let last = (smooth.len() - 1) as f32;
        let points = (0..POINTS)
            .map(|i| {
                let at = i as f32 / (POINTS - 1) as f32 * last;
                let low = (at as usize).min(smooth.len() - 2);
                smooth[low].towards(smooth[low + 1], at - low as f32)
            })
            .collect();
        Some(Self {
            points,
            steps: distinct.len().min(rows.len()).min(256),
        })
    }

    /// Largest chroma along the curve; a grey bar has next to none.
    #[must_use]
    pub fn chroma(&self) -> f32 {
        self.points.iter().map(|p| p.chroma()).fold(0.0, f32::max)
    }

    /// Distance in colour a whole bar's length would have at each point's pace: d colour / d share.
    #[must_use]
    pub fn pace(&self) -> Vec<f32> {
        const REACH: usize = 8;
        (0..POINTS)
            .map(|i| {
                let (low, high) = (i.saturating_sub(REACH), (i + REACH).min(POINTS - 1));
                let share = (high - low) as f32 / (POINTS - 1) as f32;
                (self.points[low].distance(self.points[high]) / share).max(1e-3)
            })
            .collect()
    }

    /// Which points have, within `reach` in colour, another that is not their neighbour: a colour that stands for two
    /// temperatures.
    #[must_use]
    pub fn repeated(&self, reach: f32) -> Vec<bool> {
        let near = (NEAR_SHARE * POINTS as f32) as usize;
        (0..POINTS)
            .map(|i| {
                let clear = |j: usize| i.abs_diff(j) > near && self.points[i].distance(self.points[j]) < reach;
                // Where the curve hardly moves, neighbours by colour reach further along it.
                (0..POINTS).any(|j| clear(j) && self.leaves(i, j, 2.0 * reach))
            })
            .collect()
    }

    /// Whether the curve goes away from a point by more than `reach` on its way to another.
    fn leaves(&self, from: usize, to: usize, reach: f32) -> bool {
        let (low, high) = (from.min(to), from.max(to));
        (low..=high).any(|k| self.points[from].distance(self.points[k]) > reach)
    }
}

/// Every eighth of a 256th, 33 points, each the mean of what lies about it.
pub(super) fn coarse(points: &[Lab]) -> Vec<Lab> {
    const STEPS: usize = 32;
    let count = points.len();
    let reach = (count / (3 * STEPS)).max(1);
    (0..=STEPS)
        .map(|i| {
            let centre = i * (count - 1) / STEPS;
            // The same reach to both sides, so that the ends stay the ends.
            let reach = reach.min(centre).min(count - 1 - centre);
            mean(&points[centre - reach..=centre + reach])
        })
        .collect()
}

fn mean(points: &[Lab]) -> Lab {
    let share = 1.0 / points.len().max(1) as f32;
    points.iter().fold(Lab { l: 0.0, a: 0.0, b: 0.0 }, |sum, p| Lab {
        l: sum.l + share * p.l,
        a: sum.a + share * p.a,
        b: sum.b + share * p.b,
    })
}

/// Rows next to the frame ring in a compressed picture: an end row that lies off the way its inner neighbours go is put on it.
fn settled(mut rows: Vec<Lab>) -> Vec<Lab> {
    const OUTER: usize = 3;
    const INNER: usize = 5;
    if rows.len() < 6 * INNER {
        return rows;
    }
    for _ in 0..2 {
        let near = mean(&rows[OUTER..OUTER + INNER]);
        let far = mean(&rows[OUTER + INNER..OUTER + 2 * INNER]);
        let step = INNER as f32;
        for (i, row) in rows.iter_mut().take(OUTER).enumerate() {
            // Places in rows from the middle of the nearer five.
            let back = (OUTER + INNER / 2 - i) as f32;
            let expected = near.towards(far, -back / step);
            if row.distance(expected) > 0.02 + 0.6 * near.distance(far) {
                *row = expected;
            }
        }
        rows.reverse();
    }
    rows
}

/// Each run of equal rows as one step at its middle, the rows between two middles on the straight way between them.
fn at_step_middles(rows: &[[u8; 3]], labs: &[Lab]) -> Vec<Lab> {
    let mut middles: Vec<(f32, Lab)> = Vec::with_capacity(labs.len());
    let mut first = 0;
    for run in rows.chunk_by(|a, b| a == b) {
        middles.push((first as f32 + (run.len() - 1) as f32 / 2.0, labs[first]));
        first += run.len();
    }
    let mut at = 0;
    (0..labs.len())
        .map(|row| {
            let row = row as f32;
            while at + 2 < middles.len() && middles[at + 1].0 < row {
                at += 1;
            }
            match middles.get(at..at + 2) {
                Some(&[(from, low), (to, high)]) => low.towards(high, ((row - from) / (to - from)).clamp(0.0, 1.0)),
                _ => labs[0],
            }
        })
        .collect()
}

fn smoothed(reach: usize, rows: &[Lab]) -> Vec<Lab> {
    (0..rows.len())
        .map(|i| {
            let reach = reach.min(i).min(rows.len() - 1 - i);
            mean(&rows[i - reach..=i + reach])
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grey(levels: impl Iterator<Item = u8>) -> Vec<[u8; 3]> {
        levels.map(|v| [v; 3]).collect()
    }

    #[test]
    fn a_bar_that_folds_back_repeats_nearly_all_its_colours_and_a_plain_one_none() {
        let space = Space::new();
        let plain = Curve::new(&grey(0..=255), &space, Packing::Lossless).unwrap();
        assert!(plain.repeated(0.02).iter().all(|&r| !r));
        let folded = Curve::new(
            &grey((0..=255).step_by(2).chain((0..=254).rev().step_by(2))),
            &space,
            Packing::Lossless,
        )
        .unwrap();
        let repeated = folded.repeated(0.02).iter().filter(|&&r| r).count();
        assert!(repeated * 10 > 8 * POINTS, "{repeated} of {POINTS}");
    }

    #[test]
    fn ringing_at_an_end_is_put_right() {
        let space = Space::new();
        let rows = grey((20..=220).map(|v| v as u8));
        let mut rung = rows.clone();
        rung[0] = [70; 3];
        rung[1] = [2; 3];
        let (clean, settled) = (
            Curve::new(&rows, &space, Packing::Lossy).unwrap(),
            Curve::new(&rung, &space, Packing::Lossy).unwrap(),
        );
        let worst = clean
            .points
            .iter()
            .zip(&settled.points)
            .map(|(a, b)| a.distance(*b))
            .fold(0.0, f32::max);
        assert!(worst < 0.02, "{worst}");
    }
}
