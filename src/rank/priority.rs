//! Follow-up priority, 0 to 100: a sum of named parts, each of which only rises with what it stands for.
//!
//! The weights are this project's (engineering judgement, no standard's numbers); the corroding range of carbon steel is
//! API RP 581's (3rd ed. add. 2, part 2, 16.2: −12 to 175 °C).

use crate::assess::{Extent, Finding};
use crate::heat::corrosion;
use crate::register::{Asset, Coating, Cycling, ShellMaterial};

/// The parts of a priority, each with its greatest value in brackets.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Parts {
    /// How wet: ratio and its lower bound (40).
    pub wetness: f64,
    /// How large (12).
    pub size: f64,
    /// Whether the metal passes through the corroding range, and through 0 °C (18).
    pub metal: f64,
    /// Age of the insulation (5).
    pub age: f64,
    /// Coating under the insulation (5).
    pub coating: f64,
    /// Openings of the jacket seen on the walk (6).
    pub openings: f64,
    /// Growth since the last survey (6).
    pub growth: f64,
    /// Consequence of a leak here (8).
    pub consequence: f64,
}

impl Parts {
    /// The parts for a finding.
    #[must_use]
    pub fn of(asset: &Asset, finding: &Finding, survey_year: Option<i32>) -> Self {
        Self {
            wetness: wetness(finding),
            size: 12.0 * rising(finding.zone.area_m2 / if finding.extent == Extent::General { 2.0 } else { 0.5 }),
            metal: metal(asset),
            age: age(asset, survey_year),
            coating: coating(asset.coating),
            openings: 0.0,
            growth: 0.0,
            consequence: f64::from(asset.consequence.unwrap_or(3).clamp(1, 5) - 1) / 4.0 * 8.0,
        }
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
            openings,
            growth,
            consequence,
        } = self;
        Self {
            wetness: round(wetness),
            size: round(size),
            metal: round(metal),
            age: round(age),
            coating: round(coating),
            openings: round(openings),
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
            openings,
            growth,
            consequence,
        } = *self;
        (wetness + size + metal + age + coating + openings + growth + consequence).clamp(0.0, 100.0)
    }
}

/// 0 at 0, towards 1: `1 − e^(−x)`.
fn rising(x: f64) -> f64 {
    1.0 - (-x.max(0.0)).exp()
}

fn wetness(finding: &Finding) -> f64 {
    25.0 * rising((finding.ratio - 1.0) / 2.0) + 15.0 * rising((finding.ratio_interval[0] - 1.0) / 1.5)
}

/// Wet steel that is always frozen corrodes slowly; in the corroding range it corrodes; thawing and freezing is worst.
fn metal(asset: &Asset) -> f64 {
    let (coldest, warmest) = (asset.coldest_metal_c, asset.warmest_metal_c);
    let passes = corrosion::passes_corroding_range(coldest, warmest);
    let cycles = corrosion::cycles_through_freezing(coldest, warmest) || asset.cycling == Some(Cycling::Cycles);
    let full = match (passes, cycles) {
        (true, true) => 18.0,
        (true, false) => 13.0,
        (false, true) => 9.0,
        (false, false) => 4.0,
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
        (Some(then), Some(now)) => 5.0 * (f64::from((now - then).max(0)) / 30.0).min(1.0),
        // Unknown age counts as fifteen years.
        _ => 2.5,
    }
}

fn coating(coating: Option<Coating>) -> f64 {
    match coating {
        Some(Coating::Failed | Coating::None) => 5.0,
        Some(Coating::Unknown) | None => 3.0,
        Some(Coating::Sound) => 0.0,
    }
}
