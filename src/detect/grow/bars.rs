//! Where no region may start: regions that were found, and their fringes.

use super::METAL_K;

/// A region that bars others from where it and its fringe lie.
pub(super) struct Bar {
    /// Size of its contrast in K.
    pub(super) contrast_k: f32,
    /// Its pixels, without the fringe.
    pub(super) pixels: usize,
}

impl Bar {
    pub(super) fn is_metal(&self) -> bool {
        self.contrast_k >= METAL_K
    }

    pub(super) fn stronger<'a>(&'a self, other: &'a Self) -> &'a Self {
        if other.contrast_k > self.contrast_k {
            other
        } else {
            self
        }
    }
}

/// Where no region may start: regions and their fringes.
pub(super) struct Barred {
    /// For each pixel the number of who bars it; 0 where nobody does.
    number: Vec<u32>,
    /// Those who bar, nobody first.
    bars: Vec<Bar>,
}

impl Barred {
    pub(super) fn nowhere(cells: usize) -> Self {
        let nobody = Bar {
            contrast_k: 0.0,
            pixels: 0,
        };
        Self {
            number: vec![0; cells],
            bars: vec![nobody],
        }
    }

    /// Who bars where nobody does.
    pub(super) fn nobody(&self) -> &Bar {
        &self.bars[0]
    }

    pub(super) fn is_free(&self, at: usize) -> bool {
        self.number[at] == 0
    }

    pub(super) fn by(&self, at: usize) -> &Bar {
        &self.bars[self.number[at] as usize]
    }

    pub(super) fn bar(&mut self, pixels: impl Iterator<Item = usize>, bar: Bar) {
        let number = self.bars.len() as u32;
        self.bars.push(bar);
        pixels.for_each(|at| self.number[at] = number);
    }
}
