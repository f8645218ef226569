//! What lies about a region: its blurred edge, or its surroundings.

use super::neighbours;
use crate::detect::jacket::Jacket;

/// Pixels about a region, the nearest first.
pub(super) struct Fringe {
    pub(super) pixels: Vec<usize>,
    /// Where those one step away end, those two steps away, and so on.
    ends: Vec<usize>,
}

impl Fringe {
    /// Leaves those for which `is_its` says no, of a pixel and its steps from the region: a zone that begins within the fringe.
    pub(super) fn leave(&mut self, is_its: impl Fn(usize, usize) -> bool, taken: &mut [bool]) {
        let mut away_px = 1;
        let mut index = 0;
        self.pixels.retain(|&at| {
            while self.ends.get(away_px - 1).is_some_and(|&end| index >= end) {
                away_px += 1;
            }
            index += 1;
            let stays = is_its(at, away_px);
            taken[at] = stays;
            stays
        });
    }
}

/// Takes the pixels within `width` (at least 1) of a region, so that its blurred edge starts no region of its own; returns
/// those that nobody had taken before.
pub(super) fn take_fringe(jacket: &Jacket, pixels: &[usize], width: usize, taken: &mut [bool]) -> Fringe {
    let mut fringe = Vec::new();
    for &at in pixels {
        neighbours(jacket, at, |near| {
            if !taken[near] {
                taken[near] = true;
                fringe.push(near);
            }
        });
    }
    // Each step looks about what the one before has added.
    let mut ends = vec![fringe.len()];
    let mut from = 0;
    for _ in 1..width {
        let to = fringe.len();
        for index in from..to {
            neighbours(jacket, fringe[index], |near| {
                if !taken[near] {
                    taken[near] = true;
                    fringe.push(near);
                }
            });
        }
        ends.push(fringe.len());
        from = to;
    }
    Fringe { pixels: fringe, ends }
}

/// The pixels of a region and those within `width` of it, in no certain order; `scratch` is false for every pixel, before and
/// after.
#[must_use]
pub fn with_fringe(jacket: &Jacket, pixels: &[usize], width: usize, scratch: &mut [bool]) -> Vec<usize> {
    for &at in pixels {
        scratch[at] = true;
    }
    let mut all = take_fringe(jacket, pixels, width, scratch).pixels;
    all.extend_from_slice(pixels);
    for &at in &all {
        scratch[at] = false;
    }
    all
}
