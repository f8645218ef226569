//! Which zone of one survey is which of another: the assignment that is best over all zones of an asset together.

use pathfinding::kuhn_munkres::kuhn_munkres;
use pathfinding::matrix::Matrix;

use super::Settings;
use super::place::{Body, Spot};

/// What pairing looks at.
#[derive(Debug, Clone, Copy)]
pub(super) struct Candidate {
    /// Where it lies.
    pub(super) spot: Spot,
    /// Colder or warmer, local or general: only the like are one thing.
    pub(super) kind: Kind,
    /// Side of the smallest zone that its survey could show, m.
    pub(super) smallest_zone_m: f64,
    /// How readily it is taken, 1 for a zone on the list: less where it was set aside, or had gone before.
    pub(super) weight: f64,
}

/// What sort of zone it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Kind {
    /// Colder than the sound jacket.
    pub(super) is_colder: bool,
    /// The whole jacket.
    pub(super) is_general: bool,
}

/// Half-widths (95 %) of the distance between two places along and round, m.
///
/// Each survey's place is uncertain by the fit of the outline and the start of the view (measured on simulated frames,
/// see [`Settings`]), and by a part of the smallest zone it could show: u² = Σ (place² + (share · smallest zone)²).
pub(super) fn uncertain_m(smallest_m: [f64; 2], body: &Body, settings: &Settings) -> (f64, f64) {
    let round_place_m = match body {
        Body::Wall { .. } => settings.axial_place_m,
        _ => settings.round_place_deg * body.per_degree_m(),
    };
    let both = |place_m: f64| {
        let parts = smallest_m.map(|zone_m| place_m.hypot(settings.smallest_zone_share * zone_m));
        parts[0].hypot(parts[1])
    };
    (both(settings.axial_place_m), both(round_place_m))
}

/// Pairs (earlier, later) of the assignment with the greatest likeness in total; each zone stands in one pair at most.
///
/// Ties, which need two zones of exactly the same place and size, go to the first in order: callers sort beforehand.
pub(super) fn pairs(
    earlier: &[Candidate],
    later: &[Candidate],
    body: &Body,
    settings: &Settings,
) -> Vec<(usize, usize)> {
    if earlier.is_empty() || later.is_empty() {
        return Vec::new();
    }
    // The algorithm wants at least as many columns as rows; columns beyond the zones are like nothing.
    let columns = later.len().max(earlier.len());
    let weights = Matrix::from_fn(earlier.len(), columns, |(i, j)| {
        let pair = earlier.get(i).zip(later.get(j));
        pair.map_or(0, |(a, b)| (likeness(a, b, body, settings) * 1e9) as i64)
    });
    let (_, columns_of) = kuhn_munkres(&weights);
    columns_of
        .into_iter()
        .enumerate()
        .filter(|&(i, j)| weights.get((i, j)).is_some_and(|weight| *weight > 0))
        .collect()
}

/// How alike two zones are by place, 0 to 1; 0 where they cannot be one thing.
///
/// They can where they share a third of the smaller both ways, given what the places are uncertain by; the likeness falls
/// with the distance d of their middles as exp(−d²/2), d in units of that uncertainty and the zones' own size.
pub(super) fn likeness(a: &Candidate, b: &Candidate, body: &Body, settings: &Settings) -> f64 {
    if a.kind != b.kind {
        return 0.0;
    }
    let (along_m, round_m) = a.spot.apart_m(&b.spot, body);
    let uncertain_m = uncertain_m([a.smallest_zone_m, b.smallest_zone_m], body, settings);
    let mut square = 0.0;
    let ways = [
        (Some(along_m), (a.spot.length_m, b.spot.length_m), uncertain_m.0),
        (round_m, (a.spot.arc_m, b.spot.arc_m), uncertain_m.1),
    ];
    for (apart_m, (one_m, two_m), uncertain_m) in ways {
        let Some(apart_m) = apart_m else { continue };
        let shared_m = (one_m + two_m) / 2.0 - (apart_m.abs() - uncertain_m).max(0.0);
        if shared_m < one_m.min(two_m) / 3.0 {
            return 0.0;
        }
        let spread_m = (uncertain_m / 2.0).hypot((one_m + two_m) / 4.0).max(1e-6);
        square += (apart_m / spread_m).powi(2);
    }
    (-square / 2.0).exp() * a.weight * b.weight
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::place::About;
    use proptest::prelude::*;

    const BODY: Body = Body::Level {
        diameter_m: 1.2,
        length_m: 4.0,
    };

    fn candidates() -> impl Strategy<Value = Vec<Candidate>> {
        let one = (0.5..3.5, 0.0..360.0, 0.1..0.8, 0.1..0.6).prop_map(|(axial_m, deg, length_m, arc_m)| Candidate {
            spot: Spot {
                axial_m,
                about: About::Asset(deg),
                length_m,
                arc_m,
            },
            kind: Kind {
                is_colder: true,
                is_general: false,
            },
            smallest_zone_m: 0.06,
            weight: 1.0,
        });
        prop::collection::vec(one, 0..6)
    }

    /// The greatest total likeness of any assignment, by trying them all.
    fn best(earlier: &[Candidate], later: &[Candidate], taken: &mut Vec<usize>) -> f64 {
        let Some((first, rest)) = earlier.split_first() else {
            return 0.0;
        };
        let mut most = best(rest, later, taken);
        for j in 0..later.len() {
            if taken.contains(&j) {
                continue;
            }
            taken.push(j);
            let with = likeness(first, &later[j], &BODY, &Settings::default()) + best(rest, later, taken);
            taken.pop();
            most = most.max(with);
        }
        most
    }

    proptest! {
        #[test]
        fn no_other_assignment_is_better(earlier in candidates(), later in candidates()) {
            let settings = Settings::default();
            let found = pairs(&earlier, &later, &BODY, &settings);
            let total: f64 = found
                .iter()
                .map(|&(i, j)| likeness(&earlier[i], &later[j], &BODY, &settings))
                .sum();
            prop_assert!((total - best(&earlier, &later, &mut Vec::new())).abs() < 1e-7);
            for column in 0..later.len() {
                prop_assert!(found.iter().filter(|(_, j)| *j == column).count() <= 1);
            }
        }
    }
}
