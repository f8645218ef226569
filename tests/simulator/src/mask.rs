//! A picture's pixels, true where something is.

use ndarray::Array2;

/// Pixels of a picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mask {
    width: usize,
    inside: Vec<bool>,
}

impl Mask {
    /// Of an array, rows × columns.
    pub fn of(array: &Array2<bool>) -> Self {
        Self {
            width: array.ncols(),
            inside: array.iter().copied().collect(),
        }
    }

    /// Of runs in row-major order, start, length, start, length …, in a picture of `height` and `width`: the inverse of
    /// [`crate::truth::runs`].
    ///
    /// # Panics
    /// Where a run goes beyond the picture.
    #[must_use]
    pub fn of_runs(runs: &[usize], (height, width): (usize, usize)) -> Self {
        let mut inside = vec![false; width * height];
        for run in runs.chunks_exact(2) {
            inside[run[0]..run[0] + run[1]].fill(true);
        }
        Self { width, inside }
    }

    /// Pixels whose centre lies within a closed polygon (x right, y down), in a picture of `height` and `width`.
    pub fn of_outline(outline: &[[f64; 2]], (height, width): (usize, usize)) -> Self {
        let mut inside = vec![false; width * height];
        for (row, line) in inside.chunks_exact_mut(width.max(1)).enumerate() {
            let mut crossings = crossings(outline, row as f64);
            crossings.sort_by(f64::total_cmp);
            for span in crossings.chunks_exact(2) {
                let from = span[0].ceil().max(0.0) as usize;
                let end = (span[1].floor() + 1.0).clamp(0.0, width as f64) as usize;
                if from < end {
                    line[from..end].fill(true);
                }
            }
        }
        Self { width, inside }
    }

    /// Pixels of both.
    pub fn and(&self, other: &Self) -> Self {
        let both = |(a, b): (&bool, &bool)| *a && *b;
        Self {
            width: self.width,
            inside: self.inside.iter().zip(&other.inside).map(both).collect(),
        }
    }

    /// Number of pixels.
    pub fn count(&self) -> usize {
        self.inside.iter().filter(|inside| **inside).count()
    }

    /// Number of pixels of both.
    pub fn shared(&self, other: &Self) -> usize {
        let both = |(a, b): &(&bool, &bool)| **a && **b;
        self.inside.iter().zip(&other.inside).filter(both).count()
    }

    /// Intersection over union; 0 where both are empty.
    pub fn likeness(&self, other: &Self) -> f64 {
        let shared = self.shared(other);
        shared as f64 / (self.count() + other.count() - shared).max(1) as f64
    }

    /// Grown by `reach` pixels to every side.
    pub fn grown(&self, reach: usize) -> Self {
        let height = self.inside.len() / self.width.max(1);
        let mut wide = vec![false; self.inside.len()];
        for row in 0..height {
            let line = row * self.width;
            for column in (0..self.width).filter(|c| self.inside[line + c]) {
                let from = column.saturating_sub(reach);
                wide[line + from..line + (column + reach + 1).min(self.width)].fill(true);
            }
        }
        let mut tall = vec![false; self.inside.len()];
        for row in 0..height {
            for near in row.saturating_sub(reach)..(row + reach + 1).min(height) {
                for column in (0..self.width).filter(|c| wide[row * self.width + c]) {
                    tall[near * self.width + column] = true;
                }
            }
        }
        Self {
            width: self.width,
            inside: tall,
        }
    }
}

fn crossings(outline: &[[f64; 2]], y: f64) -> Vec<f64> {
    let next = outline.iter().cycle().skip(1);
    outline
        .iter()
        .zip(next)
        .filter(|(a, b)| (a[1] <= y) != (b[1] <= y))
        .map(|(a, b)| a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outlines_are_filled_and_masks_compared() {
        let square = Mask::of_outline(&[[1.0, 1.0], [3.0, 1.0], [3.0, 3.5], [1.0, 3.5]], (5, 6));
        assert_eq!(square.count(), 9);
        let other = Mask::of(&Array2::from_shape_fn((5, 6), |(r, c)| {
            (1..3).contains(&r) && (1..4).contains(&c)
        }));
        assert_eq!((other.count(), square.shared(&other)), (6, 6));
        assert!((square.likeness(&other) - 6.0 / 9.0).abs() < 1e-12);
        assert_eq!(square.and(&other), other);
        assert_eq!(Mask::of_runs(&[7, 3, 13, 3], (5, 6)), other);
    }

    #[test]
    fn a_grown_point_is_a_square_cut_off_by_the_picture() {
        let point = Mask::of(&Array2::from_shape_fn((5, 6), |at| at == (0, 2)));
        assert_eq!(point.grown(1).count(), 6);
        assert_eq!(point.grown(0), point);
    }
}
