//! What share of a place a survey usefully saw, by the map that its findings carry.

use super::findings::SeenMap;
use super::place::{About, Body, Spot};

/// Share of the place's cells that were usefully seen, 0 to 1; None where the map cannot tell.
pub(super) fn share(spot: &Spot, map: &SeenMap, body: &Body) -> Option<f64> {
    let rows = map.rows.len();
    if rows == 0 || map.along == 0 {
        return None;
    }
    let grid: Vec<Vec<bool>> = map
        .rows
        .iter()
        .map(|row| useful(row, map.along))
        .collect::<Option<_>>()?;
    let along = cells_within(
        spot.axial_m / body.length_m(),
        spot.length_m / body.length_m(),
        map.along,
    );
    let wanted_rows: Vec<usize> = match (spot.about, map.round.as_str()) {
        (About::Asset(deg), "asset") | (About::Facing(deg), "facing") => {
            round_cells(deg.rem_euclid(360.0) / 360.0, spot.arc_m / body.girth_m(), rows)
        }
        (About::Height(up_m), "wall") => cells_within(1.0 - up_m / body.girth_m(), spot.arc_m / body.girth_m(), rows),
        (About::Anywhere, _) => (0..rows).collect(),
        _ => return None,
    };
    let (mut all, mut seen) = (0usize, 0usize);
    for j in wanted_rows {
        let row = grid.get(j)?;
        for &i in &along {
            all += 1;
            seen += usize::from(row.get(i).copied().unwrap_or(false));
        }
    }
    (all > 0).then(|| seen as f64 / all as f64)
}

/// A row's cells, true where usefully seen; None where the code is none, or is not as long as it should be.
fn useful(row: &str, along: usize) -> Option<Vec<bool>> {
    let mut cells = Vec::with_capacity(along.min(4096));
    let mut count = 0usize;
    for letter in row.chars() {
        match letter {
            '0'..='9' => count = count.checked_mul(10)?.checked_add(letter.to_digit(10)? as usize)?,
            'u' | 'h' | 'n' => {
                if count > along.saturating_sub(cells.len()) {
                    return None;
                }
                cells.resize(cells.len() + count, letter == 'u');
                count = 0;
            }
            _ => return None,
        }
    }
    (cells.len() == along && count == 0).then_some(cells)
}

/// Cells whose middle lies within a stretch about `middle` (both as shares of the whole); the nearest where none does.
fn cells_within(middle: f64, length: f64, count: usize) -> Vec<usize> {
    let (low, high) = (middle - length / 2.0, middle + length / 2.0);
    let within: Vec<usize> = (0..count)
        .filter(|&i| (low..=high).contains(&((i as f64 + 0.5) / count as f64)))
        .collect();
    if within.is_empty() {
        let nearest = (middle * count as f64).floor().clamp(0.0, count as f64 - 1.0);
        return vec![nearest as usize];
    }
    within
}

/// As [`cells_within`], round a girth.
fn round_cells(middle: f64, length: f64, count: usize) -> Vec<usize> {
    let within: Vec<usize> = (0..count)
        .filter(|&j| {
            let off = ((j as f64 + 0.5) / count as f64 - middle + 0.5).rem_euclid(1.0) - 0.5;
            off.abs() <= length / 2.0
        })
        .collect();
    if within.is_empty() {
        return vec![((middle * count as f64).floor() as usize).min(count - 1)];
    }
    within
}

#[cfg(test)]
mod tests {
    use super::*;

    const BODY: Body = Body::Level {
        diameter_m: 1.0,
        length_m: 4.0,
    };

    fn map(rows: &[&str]) -> SeenMap {
        SeenMap {
            along: 8,
            round: "asset".to_owned(),
            rows: rows.iter().map(|row| (*row).to_owned()).collect(),
        }
    }

    fn spot(axial_m: f64, deg: f64) -> Spot {
        Spot {
            axial_m,
            about: About::Asset(deg),
            length_m: 1.0,
            arc_m: 0.7,
        }
    }

    #[test]
    fn a_place_across_the_cut_is_counted_whole() {
        let half = map(&["8u", "8n", "8n", "8n"]);
        assert_eq!(share(&spot(2.0, 45.0), &half, &BODY), Some(1.0));
        assert_eq!(share(&spot(2.0, 200.0), &half, &BODY), Some(0.0));
        let ends = map(&["4u4n", "8n", "8n", "4u4h"]);
        let across = Spot {
            arc_m: 1.6,
            ..spot(2.0, 0.0)
        };
        assert_eq!(share(&across, &ends, &BODY), Some(0.5));
    }

    #[test]
    fn what_is_no_map_says_nothing() {
        assert_eq!(useful("3u5n", 8).map(|cells| cells.len()), Some(8));
        for wrong in ["3u", "99999999999999999999u", "9u", "3x5u", "3u5", "8u8u"] {
            assert_eq!(useful(wrong, 8), None, "{wrong}");
        }
        assert_eq!(share(&spot(2.0, 0.0), &map(&["3u"]), &BODY), None);
        let facing = SeenMap {
            round: "facing".to_owned(),
            ..map(&["8u", "8u"])
        };
        assert_eq!(share(&spot(2.0, 0.0), &facing, &BODY), None);
    }
}
