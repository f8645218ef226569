//! Rates of loss of a wall point.

use jiff::civil::Date;

use super::{LONGEST_SINGLE_Y, SHORT_Y};
use crate::compare::findings::{day, years_between};
use crate::heat::corrosion::{Exposure, worst_screening_rate_mm_per_year};
use crate::heat::wall::{LONGEST_INTERVAL_Y, rate_m_per_year};
use crate::register::around::Reading;
use crate::register::{Asset, Setting, ShellMaterial};

/// Rates of loss, m a year.
pub(super) struct Rates {
    pub(super) long_m: Option<f64>,
    pub(super) short_m: Option<f64>,
    /// The one that counts, never negative, and where it comes from.
    pub(super) governing: Option<(f64, &'static str)>,
    /// Longest interval that these readings bear, years.
    pub(super) longest_y: f64,
}

impl Rates {
    pub(super) fn of(
        asset: &Asset,
        readings: &[&Reading],
        (actual_m, nominal_m): (f64, Option<f64>),
        told: &mut Vec<String>,
    ) -> Self {
        let (Some(last), Some(first)) = (readings.last(), readings.first()) else {
            return Self::none();
        };
        let years = |from: &Reading| Some(years_between(day(&from.measured_on)?, day(&last.measured_on)?));
        let rate = |from: &Reading| rate_m_per_year(from.thickness_m, actual_m, years(from)?);
        let before = readings.len().checked_sub(2).and_then(|index| readings.get(index));
        let Some(before) = before else {
            return Self::of_one(asset, first, nominal_m, told);
        };
        let (long_m, mut short_m) = (rate(first), rate(before));
        if readings.len() > 2 && years(before).is_some_and(|years| years < SHORT_Y) {
            told.push(format!(
                "less than {SHORT_Y} years lie between the last two readings: no short-term rate is taken from them"
            ));
            short_m = None;
        }
        let all = [long_m.map(|m| (m, "long-term")), short_m.map(|m| (m, "short-term"))];
        // At the same rate the long-term one is named: the last of equal ones is what max_by gives.
        let governing = all.into_iter().rev().flatten().max_by(|a, b| a.0.total_cmp(&b.0));
        let governing = governing.map(|(m, from)| if m < 0.0 { (0.0, from) } else { (m, from) });
        Self {
            long_m,
            short_m,
            governing,
            longest_y: LONGEST_INTERVAL_Y,
        }
    }

    fn none() -> Self {
        Self {
            long_m: None,
            short_m: None,
            governing: None,
            longest_y: LONGEST_SINGLE_Y,
        }
    }

    /// One reading gives no rate of its own: the greater of what the nominal wall has lost since the insulation was put on
    /// and the published screening rate is taken, and a second reading asked for.
    fn of_one(asset: &Asset, only: &Reading, nominal_m: Option<f64>, told: &mut Vec<String>) -> Self {
        let measured = day(&only.measured_on);
        let since = asset
            .insulated_year
            .and_then(|year| Date::new(i16::try_from(year).ok()?, 1, 1).ok());
        let from_nominal = nominal_m
            .zip(measured.zip(since))
            .and_then(|(nominal_m, (measured, since))| {
                let rate = rate_m_per_year(nominal_m, only.thickness_m, years_between(since, measured))?;
                Some((rate.max(0.0), "nominal"))
            });
        let screening = screening_m(asset).map(|m| (m, "screening"));
        let governing = [from_nominal, screening]
            .into_iter()
            .flatten()
            .max_by(|a, b| a.0.total_cmp(&b.0));
        told.push(match governing {
            Some((_, "nominal")) => "a single reading gives no rate: taken as lost from the nominal wall since the insulation \
                                     was put on (insulated_year), as if wall and insulation were of one age; take a second reading within five years"
                .to_owned(),
            Some(_) => "a single reading gives no rate: taken from the screening table of API RP 581, 3rd ed. add. 2, part 2, \
                        table 16.2 (mild exposure indoors, moderate outdoors; bare steel at the worst metal temperature of its \
                        cycle); take a second reading within five years"
                .to_owned(),
            None => "a single reading gives no rate; take a second reading within five years".to_owned(),
        });
        Self {
            governing,
            ..Self::none()
        }
    }
}

/// Published screening rate of bare carbon steel over the asset's cycle, m a year; None for stainless steel, which does not
/// rust under insulation.
fn screening_m(asset: &Asset) -> Option<f64> {
    if asset.shell_material == Some(ShellMaterial::StainlessSteel) {
        return None;
    }
    let exposure = match asset.setting {
        Setting::Indoor => Exposure::Mild,
        Setting::Outdoor => Exposure::Moderate,
    };
    let rate = worst_screening_rate_mm_per_year(asset.coldest_metal_c, asset.warmest_metal_c, exposure);
    rate.ok().map(|mm| mm / 1000.0)
}
