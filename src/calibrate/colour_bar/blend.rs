//! Pixels blended of two readings: compression and enlarging mix the colours on both sides of an edge.

use ndarray::Array2;

use super::matching::Matched;
use crate::read::Picture;

/// Distances at which the two sides are looked for, px.
const SIDES_PX: [i64; 3] = [2, 3, 4];
/// The same for an edge that is only told from what is drawn, and the share of the bar by which its sides differ.
const EDGE_PX: [i64; 3] = [3, 5, 7];
const EDGE_SHARE: f32 = 0.08;
/// Ways that are tried: across, down and the two diagonals.
const WAYS: [(i64, i64); 4] = [(0, 1), (1, 0), (1, 1), (1, -1)];
/// Distance from the straight way between the two sides, in 8-bit levels.
const OFF_THE_WAY_LEVELS: f32 = 14.0;

/// Puts every pixel that lies off the curve, but on the straight way between the colours of two readings on both sides of
/// it, at its share of that way. What is left off the curve between two readings that differ is marked: an edge smeared by
/// compression, not something drawn, for what is drawn has the same scene on both sides.
pub(super) fn resolve(matched: &mut Matched, picture: &Picture, too_far: f32) -> Array2<bool> {
    let (rows, columns) = picture.dim();
    let mut smeared = Array2::from_elem(picture.dim(), false);
    let resolved: Vec<([usize; 2], f32)> = matched
        .distance
        .indexed_iter()
        .filter(|(_, d)| **d > too_far)
        .filter_map(|((y, x), _)| {
            let look = |dy: i64, dx: i64| {
                let y = usize::try_from(y as i64 + dy).ok().filter(|&y| y < rows)?;
                let x = usize::try_from(x as i64 + dx).ok().filter(|&x| x < columns)?;
                (matched.distance[[y, x]] <= too_far).then_some([y, x])
            };
            let share = WAYS.iter().find_map(|&(dy, dx)| {
                SIDES_PX.iter().find_map(|&k| {
                    let (a, b) = (look(-k * dy, -k * dx)?, look(k * dy, k * dx)?);
                    between(matched, picture, [y, x], (a, b))
                })
            });
            smeared[[y, x]] = share.is_none()
                && WAYS.iter().any(|&(dy, dx)| {
                    EDGE_PX.iter().any(|&k| {
                        let sides = look(-k * dy, -k * dx).zip(look(k * dy, k * dx));
                        sides.is_some_and(|(a, b)| (matched.share[a] - matched.share[b]).abs() > EDGE_SHARE)
                    })
                });
            Some(([y, x], share?))
        })
        .collect();
    for (at, share) in resolved {
        matched.share[at] = share;
        matched.distance[at] = 0.0;
    }
    smeared
}

/// Share of the bar of a colour on the straight way between two readings; colours are blended as they are stored.
fn between(matched: &Matched, picture: &Picture, at: [usize; 2], (a, b): ([usize; 2], [usize; 2])) -> Option<f32> {
    const LEAST_STEP: f32 = 0.03;
    let (share_a, share_b) = (matched.share[a], matched.share[b]);
    if (share_a - share_b).abs() < LEAST_STEP {
        return None;
    }
    let [from, to, here] = [a, b, at].map(|at| picture[at].map(f32::from));
    let minus = |p: [f32; 3], q: [f32; 3]| [0, 1, 2].map(|c| p[c] - q[c]);
    let dot = |p: [f32; 3], q: [f32; 3]| p.iter().zip(q).map(|(p, q)| p * q).sum::<f32>();
    let (way, moved) = (minus(to, from), minus(here, from));
    let part = dot(moved, way) / dot(way, way).max(1.0);
    let off = minus(moved, way.map(|c| part * c));
    let near = (0.0..=1.0).contains(&part) && dot(off, off).sqrt() < OFF_THE_WAY_LEVELS;
    near.then_some(share_a + part * (share_b - share_a))
}

#[cfg(test)]
mod tests {
    use super::super::curve::Curve;
    use super::super::matching::Matcher;
    use super::super::space::Space;
    use super::*;
    use crate::read::Packing;

    #[test]
    fn an_edge_blended_by_enlarging_is_read_and_a_white_line_is_not() {
        let space = Space::new();
        let rows: Vec<[u8; 3]> = (0..256)
            .map(|i| colorous::TURBO.eval_rational(i, 256).into_array())
            .collect();
        let curve = Curve::new(&rows, &space, Packing::Lossless).unwrap();
        let (cold, warm) = (rows[30], rows[200]);
        let mixed = [0, 1, 2].map(|c| u8::midpoint(cold[c], warm[c]));
        let picture = Array2::from_shape_fn((20, 20), |(y, x)| match x {
            _ if y == 15 => [255; 3],
            0..=9 => cold,
            10 => mixed,
            _ => warm,
        });
        let mut matcher = Matcher::new(&curve, &space);
        let mut matched = matcher.picture(&picture);
        assert!(matched.distance[[5, 10]] > 0.05, "the mixture is no colour of the bar");
        resolve(&mut matched, &picture, 0.03);
        let share = matched.share[[5, 10]] * 255.0;
        assert!(
            (60.0..170.0).contains(&share) && matched.distance[[5, 10]] < 0.03,
            "{share}"
        );
        assert!(matched.distance[[15, 4]] > 0.05 && matched.distance[[15, 16]] > 0.05);
    }
}
