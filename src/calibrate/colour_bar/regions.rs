//! Masks: counts over windows, connected pieces.

use ndarray::Array2;

/// Counts of a mask over any window, from sums over all that lies above and to the left.
pub(super) struct Counts {
    sums: Vec<u32>,
    rows: usize,
    columns: usize,
}

impl Counts {
    pub(super) fn of(mask: &Array2<bool>) -> Self {
        let (rows, columns) = mask.dim();
        let mut sums = vec![0u32; (rows + 1) * (columns + 1)];
        for (y, row) in mask.outer_iter().enumerate() {
            let mut line = 0;
            for (x, &here) in row.iter().enumerate() {
                line += u32::from(here);
                sums[(y + 1) * (columns + 1) + x + 1] = sums[y * (columns + 1) + x + 1] + line;
            }
        }
        Self { sums, rows, columns }
    }

    pub(super) fn all(&self) -> u32 {
        self.sums.last().copied().unwrap_or(0)
    }

    /// Count and size of the window of `half` pixels to every side, cut to the picture.
    pub(super) fn about(&self, [y, x]: [usize; 2], half: usize) -> (u32, usize) {
        let (top, bottom) = (y.saturating_sub(half), (y + half + 1).min(self.rows));
        let (left, right) = (x.saturating_sub(half), (x + half + 1).min(self.columns));
        let at = |y: usize, x: usize| self.sums[y * (self.columns + 1) + x];
        let count = at(bottom, right) + at(top, left) - at(top, right) - at(bottom, left);
        (count, (bottom - top) * (right - left))
    }
}

/// Pixels `from..to` of a row.
#[derive(Debug, Clone, Copy)]
pub(super) struct Run {
    pub row: usize,
    pub from: usize,
    pub to: usize,
}

/// Connected pieces (by sides and corners) of a mask, as runs: most of a picture is one piece, which is not walked pixel
/// by pixel.
pub(super) fn pieces(mask: &Array2<bool>) -> Vec<Vec<Run>> {
    let mut runs: Vec<Run> = Vec::new();
    // Each run points to an earlier one of its piece, or to itself.
    let mut leads: Vec<usize> = Vec::new();
    let mut above = 0..0;
    for (row, line) in mask.outer_iter().enumerate() {
        let first = runs.len();
        let mut candidate = above.start;
        for (from, to) in runs_of(line.to_slice().unwrap_or(&[])) {
            let here = runs.len();
            runs.push(Run { row, from, to });
            leads.push(here);
            while candidate < above.end && runs[candidate].to < from {
                candidate += 1;
            }
            let mut touching = candidate;
            while touching < above.end && runs[touching].from <= to {
                let (a, b) = (root(&leads, touching), root(&leads, here));
                leads[a.max(b)] = a.min(b);
                touching += 1;
            }
        }
        above = first..runs.len();
    }
    let mut pieces: Vec<Vec<Run>> = Vec::new();
    let mut places = vec![usize::MAX; runs.len()];
    for (index, run) in runs.iter().enumerate() {
        let lead = root(&leads, index);
        if places[lead] == usize::MAX {
            places[lead] = pieces.len();
            pieces.push(Vec::new());
        }
        if let Some(piece) = pieces.get_mut(places[lead]) {
            piece.push(*run);
        }
    }
    pieces
}

fn root(leads: &[usize], mut index: usize) -> usize {
    while leads[index] != index {
        index = leads[index];
    }
    index
}

/// Runs of true in a line.
fn runs_of(line: &[bool]) -> impl Iterator<Item = (usize, usize)> {
    let mut at = 0;
    std::iter::from_fn(move || {
        let from = at + line.get(at..)?.iter().position(|&here| here)?;
        let to = line[from..]
            .iter()
            .position(|&here| !here)
            .map_or(line.len(), |length| from + length);
        at = to;
        Some((from, to))
    })
}

pub(super) fn pixels(piece: &[Run]) -> impl Iterator<Item = [usize; 2]> {
    piece.iter().flat_map(|run| (run.from..run.to).map(|x| [run.row, x]))
}

pub(super) fn count(piece: &[Run]) -> usize {
    piece.iter().map(|run| run.to - run.from).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_hang_together_by_corners_and_by_branches_that_meet_below() {
        let drawn = [
            "#.#....#", //
            "#.#...#.", "#.#..#..", "###.....", "......##",
        ];
        let mask = Array2::from_shape_fn((5, 8), |(y, x)| drawn[y].as_bytes()[x] == b'#');
        let mut sizes: Vec<usize> = pieces(&mask).iter().map(|piece| count(piece)).collect();
        sizes.sort_unstable();
        assert_eq!(sizes, [2, 3, 9]);
        assert_eq!(pieces(&mask).iter().flat_map(|piece| pixels(piece)).count(), 14);
    }
}
