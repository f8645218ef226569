//! The part of the sound jacket that is the same at one height, of whatever form: the sky mirrored along the top, warmth left
//! by the sun, air in layers, the level of the liquid inside. Zones are short along what is level, and have no say.

use super::Baseline;
use crate::detect::jacket::{Cover, Jacket};
use crate::locate::figure::Stance;
use crate::statistic;

/// Steps over the height (these numbers are engineering judgement, no source).
const STEPS: usize = 48;
/// Pixels read of a step at most, about, and at least.
const READ: usize = 400;
const LEAST_READ: usize = 24;
/// Steps up to which what is colder than on both sides of it is a row of wet places that leave too little sound jacket between
/// them, not layered air nor a liquid; and by how many K it must be. Set by the repository's simulated scenes, no source.
const PIT: usize = 16;
const PIT_K: f32 = 0.3;
/// Share of a step's readings of which the closest stretch is the sound jacket's.
const SOUND_SHARE: f64 = 0.5;

/// Departure in K over the height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct HeightProfile {
    stance: Stance,
    departures_k: [f32; STEPS],
}

impl HeightProfile {
    /// The profile in K of what a baseline leaves of the readings; None where hardly any step holds enough of them.
    pub(super) fn of(jacket: &Jacket, stance: Stance, baseline: &Baseline) -> Option<Self> {
        let usable = jacket.usable_px();
        let every = (usable / (READ * STEPS)).max(1);
        let mut steps = vec![Vec::new(); STEPS];
        let usable = (0..jacket.cover.len()).filter(|&at| jacket.cover[at] == Cover::Usable);
        for at in usable.step_by(every) {
            let (axial_m, share) = (jacket.axial_m[at], jacket.share[at]);
            let height = height(stance, baseline.along(f64::from(axial_m)), f64::from(share));
            if let Some(step) = steps.get_mut(((height + 1.0) / 2.0 * STEPS as f64) as usize) {
                step.push(f64::from(jacket.surface_c[at]) - baseline.at(axial_m, share));
            }
        }
        let mut known = Vec::with_capacity(STEPS);
        for (place, mut values) in steps.into_iter().enumerate() {
            if values.len() >= LEAST_READ {
                known.push((place, statistic::shortest_part(&mut values, SOUND_SHARE)? as f32));
            }
        }
        if known.len() < STEPS / 3 {
            return None;
        }
        let departures_k = without_pits(std::array::from_fn(|place| between(&known, place)));
        Some(Self { stance, departures_k })
    }

    /// Departure in K at a place (along the axis and across, each scaled to −1..1 over what is in view).
    pub(super) fn at(&self, along: f64, share: f64) -> f64 {
        let place =
            ((height(self.stance, along, share) + 1.0) / 2.0 * STEPS as f64 - 0.5).clamp(0.0, STEPS as f64 - 1.0);
        let from = (place as usize).min(STEPS - 2);
        let part = place - from as f64;
        f64::from(self.departures_k[from]) * (1.0 - part) + f64::from(self.departures_k[from + 1]) * part
    }

    /// The sum of two.
    pub(super) fn plus(&self, other: &Self) -> Self {
        Self {
            stance: self.stance,
            departures_k: std::array::from_fn(|place| self.departures_k[place] + other.departures_k[place]),
        }
    }
}

/// The profile with its pits filled up to the lower of their sides: the closing of the curve by a stretch of [`PIT`] steps. What
/// is coldest at an end, as the mirrored sky is, has one side only and stays.
fn without_pits(departures_k: [f32; STEPS]) -> [f32; STEPS] {
    let at = |values: &[f32; STEPS], place: isize| values[place.clamp(0, STEPS as isize - 1) as usize];
    let stretch = || 0..=PIT as isize;
    // Beyond the ends the curve goes on as it is there.
    let highest = |from: isize| stretch().map(|i| at(&departures_k, from + i)).fold(f32::MIN, f32::max);
    let closed = |place: usize| stretch().map(|i| highest(place as isize - i)).fold(f32::MAX, f32::min);
    std::array::from_fn(|place| {
        let filled_k = closed(place);
        if filled_k - departures_k[place] > PIT_K {
            filled_k
        } else {
            departures_k[place]
        }
    })
}

/// Place over the height, −1..1.
fn height(stance: Stance, along: f64, share: f64) -> f64 {
    match stance {
        Stance::OnEnd => along,
        Stance::OnSide => share,
    }
}

/// The value at a place, straight between the known ones about it, and that of the last one beyond.
fn between(known: &[(usize, f32)], place: usize) -> f32 {
    let next = known.partition_point(|(at, _)| *at < place);
    match (
        next.checked_sub(1).and_then(|before| known.get(before)),
        known.get(next),
    ) {
        (Some(&(from, a)), Some(&(to, b))) => a + (b - a) * (place - from) as f32 / (to - from) as f32,
        (Some(&(_, only)), None) | (None, Some(&(_, only))) => only,
        (None, None) => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::SVector;

    use super::*;
    use crate::detect::fixtures;

    #[test]
    fn a_row_of_wet_places_is_no_height_and_a_cold_top_is_one() {
        let profile = |k: fn(usize) -> f32| without_pits(std::array::from_fn(k));
        let pit = |place: usize| {
            if (20..30).contains(&place) {
                -4.5
            } else {
                0.01 * place as f32
            }
        };
        for (place, k) in profile(pit).iter().enumerate() {
            assert!((-0.01..0.5).contains(k), "{place}: {k}");
        }
        // A level, and a mirrored sky at either end.
        let step = |place: usize| if place < 24 { -2.0 } else { 0.0 };
        assert_eq!(profile(step), std::array::from_fn(step));
        let ends = |place: usize| if (4..44).contains(&place) { 0.0 } else { -6.0 };
        assert_eq!(profile(ends), std::array::from_fn(ends));
    }

    #[test]
    fn a_step_at_one_height_is_found_beneath_a_wet_patch() {
        let size = (200, 100);
        let cells = size.0 * size.1;
        let share = |at: usize| ((at / size.0) as f32 - 49.5) / 50.0;
        // Half a kelvin less on the lower half, 4 K less on two fifths of the length of it.
        let patch = |at: usize| (20..100).contains(&(at % size.0)) && (60..90).contains(&(at / size.0));
        let truth = |at: usize| if share(at) > 0.0 { -0.5 } else { 0.0 };
        let even = fixtures::even_jacket(size);
        let jacket = Jacket {
            surface_c: (0..cells)
                .map(|at| truth(at) - if patch(at) { 4.0 } else { 0.0 })
                .collect(),
            share: (0..cells).map(share).collect(),
            ..even
        };
        let nothing = Baseline {
            terms: SVector::zeros(),
            middle_m: 1.0,
            per_reach: 1.0,
            height: None,
            spread_k: 0.0,
        };
        let profile = HeightProfile::of(&jacket, Stance::OnSide, &nothing);
        let profile = profile.expect("enough readings at every height");
        for (share, expected_k) in [(-0.8, 0.0), (-0.2, 0.0), (0.2, -0.5), (0.5, -0.5), (0.9, -0.5)] {
            assert!((profile.at(0.3, share) - expected_k).abs() < 1e-6, "{share}");
        }
    }
}
