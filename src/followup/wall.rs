//! Wall readings: rates, remaining life and the next date of each point, and why where one cannot be told.

use jiff::ToSpan;
use serde::{Deserialize, Serialize};

use super::Input;
use crate::compare::findings::day;
use crate::heat::wall::{LONGEST_EXTERNAL_Y, Part, interval_y, remaining_life_y};
use crate::register::Asset;
use crate::register::around::{Reading, RequiredBy};
use crate::units::Units;
use rates::Rates;

mod rates;

/// Rule by which the next dates are set.
pub const RULE: &str = "next reading by half the remaining life, at most 10 years; external inspection by the same date, at \
                        most 5 years; remaining life = (actual − required)/rate, the rate being the greater of the long-term \
                        and the short-term one. Form of API 510, 10th ed., 7.1.1, 7.2.1, 6.5.1.1 and 6.4.1, as a worked \
                        calculation sheet shows it; the standard itself was not seen. The responsible engineer decides.";

/// What a gauge may differ by between two readings of one wall, m (common practice, no source).
const GAUGE_M: f64 = 0.00025;
/// Years between readings under which the gauge's own difference makes a rate (project rule).
const SHORT_Y: f64 = 0.25;
/// A reading over the nominal wall by this factor is another wall or an echo counted twice (project rule).
const FAR_ABOVE: f64 = 1.3;

/// Longest interval after a reading that stands alone, and after one that cannot be right, years (project rule).
const LONGEST_SINGLE_Y: f64 = 5.0;
const LONGEST_DOUBTED_Y: f64 = 1.0;

/// Whether the last reading can be right.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Trust {
    Sound,
    Doubted,
}

/// A wall point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WallPoint {
    /// The asset's tag.
    pub asset: String,
    /// The point's name.
    pub point: String,
    /// Metres from the datum, where stated.
    #[serde(default)]
    pub axial_m: Option<f64>,
    /// Clock angle or bearing, degrees, where stated.
    #[serde(default)]
    pub round_deg: Option<f64>,
    /// Readings, oldest first.
    #[serde(default)]
    pub readings: Vec<Measured>,
    /// Thickness that counts, mm.
    pub actual_mm: f64,
    /// Date of the last reading.
    pub measured_on: String,
    /// Nominal thickness, mm.
    #[serde(default)]
    pub nominal_mm: Option<f64>,
    /// Required thickness, mm.
    #[serde(default)]
    pub required_mm: Option<f64>,
    /// Where that comes from.
    #[serde(default)]
    pub required_by: Option<String>,
    /// From the first reading, mm a year; negative where the wall reads thicker.
    #[serde(default)]
    pub long_term_mm_per_year: Option<f64>,
    /// From the reading before, mm a year.
    #[serde(default)]
    pub short_term_mm_per_year: Option<f64>,
    /// The rate that counts, mm a year.
    #[serde(default)]
    pub rate_mm_per_year: Option<f64>,
    /// `long-term`, `short-term`, `nominal`, `screening`.
    #[serde(default)]
    pub rate_from: Option<String>,
    /// Years; None where it cannot be told, or no loss sets an end.
    #[serde(default)]
    pub remaining_life_years: Option<f64>,
    /// Years from the last reading to the next.
    #[serde(default)]
    pub interval_years: Option<f64>,
    /// Date of the next reading at the latest.
    #[serde(default)]
    pub next_on: Option<String>,
    /// Date of the next external inspection at the latest.
    #[serde(default)]
    pub external_on: Option<String>,
    /// Whether the wall is thinner than required.
    #[serde(default)]
    pub is_below_required: bool,
    /// What else is to be known.
    #[serde(default)]
    pub told: Vec<String>,
}

/// A reading in mm.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Measured {
    /// When.
    pub measured_on: String,
    /// Thickness, mm.
    pub thickness_mm: f64,
}

impl WallPoint {
    /// What the responsible engineer must hear now.
    #[must_use]
    pub fn refers(&self, units: Units) -> Option<String> {
        let required_mm = self.required_mm.filter(|_| self.is_below_required)?;
        Some(format!(
            "refer to the responsible engineer now: {} point {}, wall {} on {}, required {}",
            self.asset,
            self.point,
            units.wall(self.actual_mm / 1000.0),
            self.measured_on,
            units.wall(required_mm / 1000.0)
        ))
    }
}

/// Every point of the sheet, and those before that the sheet no longer has; least life first.
pub(super) fn points(input: &Input, warnings: &mut Vec<String>) -> Vec<WallPoint> {
    let mut names: Vec<(usize, &str)> = input
        .around
        .walls
        .iter()
        .map(|reading| (reading.at.asset, reading.point.as_str()))
        .collect();
    names.sort_unstable();
    names.dedup();
    let mut points: Vec<WallPoint> = Vec::new();
    for (asset, name) in names {
        let mut readings: Vec<&Reading> = input
            .around
            .walls
            .iter()
            .filter(|reading| reading.at.asset == asset && reading.point == name)
            .collect();
        readings.sort_by_key(|reading| (day(&reading.measured_on), reading.row));
        let asset = input.register.assets.get(asset);
        points.extend(asset.and_then(|asset| point(asset, &readings)));
    }
    points.extend(carried(input, &points, warnings));
    points.sort_by(|a, b| {
        let life = |point: &WallPoint| {
            let years = point.remaining_life_years.unwrap_or(f64::MAX);
            if point.is_below_required { -1.0 } else { years }
        };
        life(a)
            .total_cmp(&life(b))
            .then_with(|| (&a.next_on, &a.asset, &a.point).cmp(&(&b.next_on, &b.asset, &b.point)))
    });
    points
}

/// Points of the follow-up before that this sheet has no reading of: their dates stand.
fn carried(input: &Input, own: &[WallPoint], warnings: &mut Vec<String>) -> Vec<WallPoint> {
    let mut former: Vec<_> = input.former.iter().collect();
    former.sort_by(|a, b| b.date.cmp(&a.date));
    let mut carried: Vec<WallPoint> = Vec::new();
    for old in former.iter().flat_map(|one| &one.wall) {
        let mut old = old.clone();
        let renamed = input
            .register
            .assets
            .iter()
            .find(|asset| asset.former_tag.as_ref() == Some(&old.asset));
        if let Some(asset) = renamed {
            old.asset.clone_from(&asset.tag);
        }
        let mut known = own.iter().chain(&carried);
        if known.any(|point| point.asset == old.asset && point.point == old.point) {
            continue;
        }
        warnings.push(format!(
            "wall.csv has no reading of {} point {}, which the follow-up before has: its date is carried over",
            old.asset, old.point
        ));
        let words = "carried over: wall.csv has no reading of it".to_owned();
        if !old.told.contains(&words) {
            old.told.push(words);
        }
        carried.push(old);
    }
    carried
}

/// A point's rates, life and dates, from its readings in order of time.
fn point(asset: &Asset, readings: &[&Reading]) -> Option<WallPoint> {
    let last = readings.last()?;
    let mut told = Vec::new();
    let (actual_m, mut trust) = actual(readings, &mut told);
    let nominal_m = readings.iter().rev().find_map(|reading| reading.nominal_m);
    let required = readings.iter().rev().find_map(|reading| reading.required);
    if nominal_m.is_some_and(|nominal_m| above_nominal(last.thickness_m, nominal_m, &mut told) == Trust::Doubted) {
        trust = Trust::Doubted;
    }
    let mut rates = Rates::of(asset, readings, (actual_m, nominal_m), &mut told);
    if trust == Trust::Doubted {
        rates.longest_y = rates.longest_y.min(LONGEST_DOUBTED_Y);
    }
    let mut point = WallPoint {
        asset: asset.tag.clone(),
        point: last.point.clone(),
        axial_m: last.at.axial_m,
        round_deg: last.at.absolute_deg,
        readings: readings
            .iter()
            .map(|reading| Measured {
                measured_on: reading.measured_on.clone(),
                thickness_mm: 1000.0 * reading.thickness_m,
            })
            .collect(),
        actual_mm: 1000.0 * actual_m,
        measured_on: last.measured_on.clone(),
        nominal_mm: nominal_m.map(|m| 1000.0 * m),
        required_mm: required.map(|required| 1000.0 * required.thickness_m),
        required_by: required.map(|required| required_by(required.by).to_owned()),
        long_term_mm_per_year: rates.long_m.map(|m| 1000.0 * m),
        short_term_mm_per_year: rates.short_m.map(|m| 1000.0 * m),
        rate_mm_per_year: rates.governing.map(|(m, _)| 1000.0 * m),
        rate_from: rates.governing.map(|(_, from)| from.to_owned()),
        remaining_life_years: None,
        interval_years: None,
        next_on: None,
        external_on: None,
        is_below_required: false,
        told,
    };
    match required {
        Some(required) => set_life(&mut point, (actual_m, required.thickness_m), &rates),
        None => point.told.push(
            "no required thickness is stated or can be derived: remaining life and next date cannot be told; state \
             required_thickness_mm, or design_pressure_kpa, allowable_stress_mpa, joint_efficiency and inside_diameter_mm"
                .to_owned(),
        ),
    }
    Some(point)
}

/// The thickness that counts: the last reading, or a thinner one before that it cannot have grown from.
fn actual(readings: &[&Reading], told: &mut Vec<String>) -> (f64, Trust) {
    let Some((last, before)) = readings.split_last() else {
        return (0.0, Trust::Doubted);
    };
    let Some(thinnest) = before.iter().min_by(|a, b| a.thickness_m.total_cmp(&b.thickness_m)) else {
        return (last.thickness_m, Trust::Sound);
    };
    let grown_m = last.thickness_m - thinnest.thickness_m;
    if grown_m <= 0.0 {
        return (last.thickness_m, Trust::Sound);
    }
    if grown_m <= GAUGE_M {
        told.push(format!(
            "reads {:.2} mm more than on {}, which the gauge explains: taken as no loss since",
            1000.0 * grown_m,
            thinnest.measured_on
        ));
        return (last.thickness_m, Trust::Sound);
    }
    told.push(format!(
        "reads {:.2} mm more than on {}: a wall does not grow. Another spot, coating or scale under the probe, or a slip of \
         the gauge; the thinner reading counts until it is measured again, within a year",
        1000.0 * grown_m,
        thinnest.measured_on
    ));
    (thinnest.thickness_m, Trust::Doubted)
}

fn above_nominal(last_m: f64, nominal_m: f64, told: &mut Vec<String>) -> Trust {
    if last_m > FAR_ABOVE * nominal_m {
        told.push(format!(
            "reads {:.2} mm, {:.1} times the nominal wall: a doubled wall, an echo counted twice, or another part; measure again within a year",
            1000.0 * last_m,
            last_m / nominal_m
        ));
        return Trust::Doubted;
    }
    if last_m > nominal_m {
        told.push(format!(
            "reads {:.2} mm above the nominal wall: plates come thicker than ordered, so loss is counted from readings, not \
             from nominal",
            1000.0 * (last_m - nominal_m)
        ));
    }
    Trust::Sound
}

fn required_by(by: RequiredBy) -> &'static str {
    match by {
        RequiredBy::Stated => "stated in wall.csv",
        RequiredBy::Derived(Part::Shell) => "derived, form of ASME VIII-1 UG-27(c)(1) for a shell",
        RequiredBy::Derived(Part::EllipsoidalHead) => "derived, form of ASME VIII-1 UG-32 for a 2:1 ellipsoidal head",
        RequiredBy::Derived(Part::HemisphericalHead) => "derived, form of ASME VIII-1 UG-32 for a hemispherical head",
        RequiredBy::Derived(Part::TorisphericalHead) => "derived, form of ASME VIII-1 UG-32 for a torispherical head",
    }
}

fn set_life(point: &mut WallPoint, (actual_m, required_m): (f64, f64), rates: &Rates) {
    // A gauge reads to 0.01 mm; what is equal to that is not below.
    point.is_below_required = actual_m < required_m - 1e-9;
    if point.is_below_required {
        point.told.insert(
            0,
            "below the required thickness: refer to the responsible engineer now; nothing is opened, cut or cleaned there before"
                .to_owned(),
        );
    }
    let rate_m = rates.governing.map(|(rate_m, _)| rate_m);
    let is_screened = rates.governing.is_some_and(|(_, from)| from == "screening");
    let Some(rate_m) = rate_m.or((actual_m <= required_m).then_some(0.0)) else {
        point
            .told
            .push("without a rate neither life nor next date can be told".to_owned());
        return;
    };
    let life_y = remaining_life_y(actual_m, required_m, rate_m);
    let interval = interval_y(life_y).min(rates.longest_y);
    if life_y.is_none() {
        point.told.push(
            if is_screened {
                "the table gives no loss at these metal temperatures: that holds only while the metal stays as cold all year \
                 (coldest_metal_c and warmest_metal_c of assets.csv)"
            } else {
                "no loss between the readings: the rate is 0 and sets no end to the life, so that the longest interval holds; \
                 what wets the insulation next year may start it"
            }
            .to_owned(),
        );
    }
    point.remaining_life_years = life_y;
    point.interval_years = Some(interval);
    let on = |years: f64| {
        let (whole, days) = (years.trunc() as i64, (years.fract() * 365.25).floor() as i64);
        let from = day(&point.measured_on)?;
        from.checked_add(whole.years().days(days))
            .ok()
            .map(|date| date.to_string())
    };
    (point.next_on, point.external_on) = (on(interval), on(interval.min(LONGEST_EXTERNAL_Y)));
}
