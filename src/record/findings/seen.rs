//! What was seen of an asset, cell by cell, for surveys to come: whether a zone that is not called then has gone, or was
//! not looked at.

use serde::Serialize;

use crate::detect::coverage::{Coverage, Seen};
use crate::rank::place;
use crate::register::{Register, Shape};

/// The developed jacket in cells. A row is a run-length code of what was seen along the axis or wall from the datum:
/// `12n50u6h` is 12 cells not in view, 50 usefully seen, 6 in view but not usefully seen.
#[derive(Debug, Serialize)]
pub(super) struct Map {
    /// Cells along.
    along: usize,
    /// What the rows count by.
    round: Round,
    /// From 0 up by clock angle, bearing or angle from the facing line; of a wall from its top edge down.
    rows: Vec<String>,
}

/// What the rows of a map count by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Round {
    /// Clock angle or compass bearing: the sheet says what faces the camera.
    Asset,
    /// The angle from the line that faces the camera: the sheet does not say.
    Facing,
    /// Distance down a wall.
    Wall,
}

/// What rows of an asset count by.
pub(super) fn bearing_of(register: &Register, asset: usize) -> Round {
    let shape = register.assets.get(asset).map(|asset| asset.shape);
    match shape {
        Some(Shape::Flat { .. }) => Round::Wall,
        Some(shape) => {
            let mut rows = register.frames.iter().filter(|row| row.asset == asset);
            if rows.any(|row| place::facing(&shape, &row.view).is_some()) {
                Round::Asset
            } else {
                Round::Facing
            }
        }
        None => Round::Facing,
    }
}

impl Map {
    /// The map of a coverage.
    pub(super) fn of(coverage: &Coverage, round: Round) -> Self {
        let (along, about) = coverage.cells();
        Self {
            along,
            round,
            rows: (0..about).map(|j| row(coverage, j)).collect(),
        }
    }
}

fn row(coverage: &Coverage, j: usize) -> String {
    let letter = |i: usize| match coverage.seen(i, j) {
        Seen::Usefully => 'u',
        Seen::Hidden => 'h',
        Seen::Not => 'n',
    };
    let mut text = String::new();
    let (mut run, mut last) = (0, None);
    for i in 0..coverage.cells().0 {
        let now = letter(i);
        if last.is_some_and(|before| before != now) {
            text.push_str(&format!("{run}{}", last.unwrap_or(now)));
            run = 0;
        }
        last = Some(now);
        run += 1;
    }
    if let Some(last) = last {
        text.push_str(&format!("{run}{last}"));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_seen_is_one_run_a_row() {
        let shape = Shape::HorizontalCylinder {
            diameter_m: 1.0,
            length_m: 2.0,
        };
        let map = Map::of(&Coverage::nothing(&shape), Round::Asset);
        assert_eq!((map.along, map.rows.len()), (40, 72));
        assert!(map.rows.iter().all(|row| row == "40n"));
    }
}
