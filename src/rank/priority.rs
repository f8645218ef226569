//! Follow-up priority, 0 to 100: a sum of named parts, each of which only rises with what it stands for.
//!
//! The weights are this project's (engineering judgement, no standard's numbers); the corroding range of carbon steel is
//! API RP 581's (3rd ed. add. 2, part 2, 16.2: −12 to 175 °C).

use super::history::History;
use crate::assess::{Extent, Finding};
use crate::heat::corrosion;
use crate::register::{Asset, Coating, Cycling, ShellMaterial};

/// The parts of a priority.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Parts {
    /// How wet: ratio and its lower bound.
    pub wetness: f64,
    /// How large.
    pub size: f64,
    /// Whether the metal's cycle passes through the corroding range, and through 0 °C.
    pub metal: f64,
    /// Age of the insulation.
    pub age: f64,
    /// Coating under the insulation.
    pub coating: f64,
    /// What the walk round saw at the same place.
    pub observed: f64,
    /// What openings found at the same place.
    pub openings: f64,
    /// Wall lost at the same place.
    pub wall: f64,
    /// Growth since the survey before.
    pub growth: f64,
    /// Consequence of a leak here.
    pub consequence: f64,
}

/// The greatest value of each part: together 100.
pub const MOST: Parts = Parts {
    wetness: 36.0,
    size: 10.0,
    metal: 15.0,
    age: 4.0,
    coating: 4.0,
    observed: 6.0,
    openings: 6.0,
    wall: 6.0,
    growth: 6.0,
    consequence: 7.0,
};

/// Growth of area × (ratio − 1) in m² at which its part has 63 % of its points: a new patch of 0.5 m × 0.25 m at three
/// times dry (project rule).
const GROWTH_M2: f64 = 0.25;

impl Parts {
    /// The parts for a finding.
    #[must_use]
    pub fn of(asset: &Asset, finding: &Finding, survey_year: Option<i32>) -> Self {
        Self {
            wetness: wetness(finding),
            size: MOST.size * rising(finding.zone.area_m2 / if finding.extent == Extent::General { 2.0 } else { 0.5 }),
            metal: metal(asset),
            age: age(asset, survey_year),
            coating: coating(asset.coating),
            observed: 0.0,
            openings: 0.0,
            wall: 0.0,
            growth: 0.0,
            consequence: f64::from(asset.consequence.unwrap_or(3).clamp(1, 5) - 1) / 4.0 * MOST.consequence,
        }
    }

    /// Takes in what is known of the zone's place beside the frames.
    pub fn take(&mut self, known: &History) {
        self.observed = MOST.observed * known.observed.clamp(0.0, 1.0);
        self.openings = MOST.openings * known.opened.clamp(0.0, 1.0);
        self.wall = MOST.wall * known.wall.clamp(0.0, 1.0);
        self.growth = MOST.growth * rising(known.growth_m2 / GROWTH_M2);
    }

    /// The parts with each value passed through `round`.
    #[must_use]
    pub fn rounded(self, round: impl Fn(f64) -> f64) -> Self {
        let Self {
            wetness,
            size,
            metal,
            age,
            coating,
            observed,
            openings,
            wall,
            growth,
            consequence,
        } = self;
        Self {
            wetness: round(wetness),
            size: round(size),
            metal: round(metal),
            age: round(age),
            coating: round(coating),
            observed: round(observed),
            openings: round(openings),
            wall: round(wall),
            growth: round(growth),
            consequence: round(consequence),
        }
    }

    /// Sum of the parts, 0 to 100.
    #[must_use]
    pub fn total(&self) -> f64 {
        let Self {
            wetness,
            size,
            metal,
            age,
            coating,
            observed,
            openings,
            wall,
            growth,
            consequence,
        } = *self;
        (wetness + size + metal + age + coating + observed + openings + wall + growth + consequence).clamp(0.0, 100.0)
    }
}

/// 0 at 0, towards 1: `1 − e^(−x)`.
fn rising(x: f64) -> f64 {
    1.0 - (-x.max(0.0)).exp()
}

fn wetness(finding: &Finding) -> f64 {
    let share = 0.625 * rising((finding.ratio - 1.0) / 2.0) + 0.375 * rising((finding.ratio_interval[0] - 1.0) / 1.5);
    MOST.wetness * share
}

/// Wet steel that is always frozen corrodes slowly; in the corroding range it corrodes; thawing and freezing is worst.
fn metal(asset: &Asset) -> f64 {
    let (coldest, warmest) = (asset.coldest_metal_c, asset.warmest_metal_c);
    let passes = corrosion::passes_corroding_range(coldest, warmest);
    let cycles = corrosion::cycles_through_freezing(coldest, warmest) || asset.cycling == Some(Cycling::Cycles);
    let full = match (passes, cycles) {
        (true, true) => MOST.metal,
        (true, false) => 0.72 * MOST.metal,
        (false, true) => 0.5 * MOST.metal,
        (false, false) => 0.22 * MOST.metal,
    };
    // Stainless steel does not rust under insulation; at these temperatures chlorides do not crack it either
    // (API RP 581 table 18.2: none below 49 °C).
    if asset.shell_material == Some(ShellMaterial::StainlessSteel) {
        0.3 * full
    } else {
        full
    }
}

fn age(asset: &Asset, survey_year: Option<i32>) -> f64 {
    match (asset.insulated_year, survey_year) {
        (Some(then), Some(now)) => MOST.age * (f64::from((now - then).max(0)) / 30.0).min(1.0),
        // Unknown age counts as fifteen years.
        _ => MOST.age / 2.0,
    }
}

fn coating(coating: Option<Coating>) -> f64 {
    match coating {
        Some(Coating::Failed | Coating::None) => MOST.coating,
        Some(Coating::Unknown) | None => 0.6 * MOST.coating,
        Some(Coating::Sound) => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn none() -> Parts {
        MOST.rounded(|_| 0.0)
    }

    #[test]
    fn the_most_of_all_parts_is_a_hundred() {
        assert_eq!(MOST.total(), 100.0);
    }

    #[test]
    fn what_is_known_only_raises() {
        let total = |known: &History| {
            let mut parts = none();
            parts.take(known);
            parts.total()
        };
        let mut last = 0.0;
        for step in 0..=20 {
            let share = f64::from(step) / 20.0;
            let now = total(&History {
                growth_m2: 2.0 * share,
                observed: share,
                opened: share,
                wall: share,
            });
            assert!(now >= last, "{step}: {now} after {last}");
            last = now;
        }
        assert!(last <= MOST.observed + MOST.openings + MOST.wall + MOST.growth);
        assert_eq!(total(&History::default()), 0.0);
        // A zone that dried does not fall below one of which nothing is known.
        let shrunk = History {
            growth_m2: -1.0,
            ..History::default()
        };
        assert_eq!(total(&shrunk), 0.0);
    }
}
