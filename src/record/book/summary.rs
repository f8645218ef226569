//! The survey in numbers.

use serde::Serialize;

use super::frames::usability;
use super::zones::{cost, standing};
use super::{Entry, Material, counted};
use crate::assess::usability::Usability;
use crate::record::figures::Standing;

/// The survey in numbers and words.
#[derive(Debug, Clone, Serialize)]
pub struct Summary {
    /// Label and number.
    pub entries: Vec<Entry>,
    /// A line an asset: tag, anchor, zones, highest priority, coverage.
    pub assets: Vec<AssetLine>,
    /// Frames that could not be used, or only in part, and why.
    pub frames: Vec<FrameLine>,
    /// What the energy rests on.
    pub energy: String,
    /// What is said where there is nothing on the list.
    pub empty: Option<&'static str>,
    /// Photographs that are named and not shown, and why.
    pub photos: Vec<Entry>,
}

/// An asset in one line.
#[derive(Debug, Clone, Serialize)]
pub struct AssetLine {
    /// Index of the asset.
    pub index: usize,
    /// Its tag.
    pub tag: String,
    /// Zones on the list.
    pub zones: usize,
    /// Highest priority on the list; blank where none.
    pub worst: String,
    /// Area usefully seen of all, with per cent.
    pub seen: String,
    /// Extra heat gain of its zones.
    pub extra_heat: String,
    /// Frames used of all.
    pub frames: String,
}

/// A frame that could not be fully used.
#[derive(Debug, Clone, Serialize)]
pub struct FrameLine {
    /// Its file.
    pub file: String,
    /// Its asset.
    pub asset: String,
    /// `limited` or `unusable`.
    pub usability: &'static str,
    /// Why.
    pub reasons: String,
}

pub(super) fn of(material: &Material) -> Summary {
    let used = material
        .survey
        .frames
        .iter()
        .any(|frame| frame.usability != Usability::Unusable);
    let listed = on_list(material).count();
    let empty = match (used, listed) {
        (false, _) => Some("No frame could be used: nothing is known of the insulation."),
        (true, 0) => Some(
            "No zone is on the list. That is only as good as each frame's least contrast and smallest zone, and says \
             nothing of jacket that was not usefully seen.",
        ),
        (true, _) => None,
    };
    Summary {
        entries: entries(material),
        assets: (0..material.register.assets.len())
            .map(|index| asset(material, index))
            .collect(),
        frames: frames(material),
        energy: energy(material),
        empty,
        photos: material
            .photos
            .missing()
            .map(|(path, why)| Entry::new(path, why))
            .collect(),
    }
}

/// Zones on the list.
fn on_list<'a>(material: &'a Material) -> impl Iterator<Item = &'a crate::rank::Ranked> {
    let zones = material.survey.zones.iter();
    zones.filter(move |zone| standing(material, zone) == Standing::Listed)
}

fn entries(material: &Material) -> Vec<Entry> {
    let (survey, units) = (material.survey, material.units);
    let count = |wanted: Usability| survey.frames.iter().filter(|f| f.usability == wanted).count();
    let standing_count = |wanted: Standing| survey.zones.iter().filter(|z| standing(material, z) == wanted).count();
    let (total, usable) = areas(material);
    let extra: f64 = on_list(material).map(|z| z.finding.extra_heat_gain_w).sum();
    // What cannot wait is the first thing that is read.
    let mut entries = super::later::refer(material);
    entries.extend([
        Entry::new(
            "Zones to follow up",
            format!(
                "{} ({} set aside, {} rejected by the inspector)",
                standing_count(Standing::Listed),
                standing_count(Standing::SetAside),
                standing_count(Standing::Rejected)
            ),
        ),
        Entry::new(
            "Frames",
            format!(
                "{}: {} good, {} limited, {} unusable",
                survey.frames.len(),
                count(Usability::Good),
                count(Usability::Limited),
                count(Usability::Unusable)
            ),
        ),
        Entry::new(
            "Jacket usefully seen",
            format!(
                "{} of {} ({:.0} %); {} not",
                units.area(usable),
                units.area(total),
                100.0 * usable / total.max(1e-9),
                units.area(total - usable)
            ),
        ),
        Entry::new("Extra heat gain of the zones on the list", units.power(extra)),
    ]);
    entries.extend(cost(material, extra).map(|cost| Entry::new("Its cost", cost)));
    entries.extend(super::later::summary(material));
    let walk = material.around.observations.len();
    if walk > 0 {
        entries.push(Entry::new("Walk round", counted(walk, "observation")));
    }
    entries
}

/// Whole and usefully seen jacket in m².
fn areas(material: &Material) -> (f64, f64) {
    let mut sum = (0.0, 0.0);
    for asset in 0..material.register.assets.len() {
        let coverage = material.coverage(asset);
        sum.0 += coverage.total_m2();
        sum.1 += coverage.usable_m2();
    }
    sum
}

fn asset(material: &Material, index: usize) -> AssetLine {
    let (register, units) = (material.register, material.units);
    let zones: Vec<_> = on_list(material).filter(|zone| zone.asset == index).collect();
    let worst = zones.iter().map(|zone| zone.priority).fold(0.0, f64::max);
    let coverage = material.coverage(index);
    let frames: Vec<_> = super::frames::of_asset(material, index).collect();
    let used = frames.iter().filter(|f| f.usability != Usability::Unusable).count();
    AssetLine {
        index,
        tag: register.assets[index].tag.clone(),
        zones: zones.len(),
        worst: if zones.is_empty() {
            "–".to_owned()
        } else {
            format!("{worst:.0}")
        },
        seen: format!(
            "{} of {} ({:.0} %)",
            units.area(coverage.usable_m2()),
            units.area(coverage.total_m2()),
            100.0 * coverage.usable_m2() / coverage.total_m2().max(1e-9)
        ),
        extra_heat: units.power(zones.iter().map(|z| z.finding.extra_heat_gain_w).sum()),
        frames: format!("{used} of {}", frames.len()),
    }
}

fn frames(material: &Material) -> Vec<FrameLine> {
    let (register, units) = (material.register, material.units);
    let not_good = material
        .survey
        .frames
        .iter()
        .filter(|report| report.usability != Usability::Good);
    not_good
        .filter_map(|report| {
            let row = register.frames.get(report.frame)?;
            Some(FrameLine {
                file: row.file.clone(),
                asset: register.assets.get(row.asset)?.tag.clone(),
                usability: usability(report.usability),
                reasons: units.sentence(&report.reasons.join("; ")),
            })
        })
        .collect()
}

fn energy(material: &Material) -> String {
    let basis = "Extra heat gain is what the zones on the list take up beyond dry insulation, at the conditions of the \
                 frames; it is not a yearly mean.";
    match &material.register.energy {
        Some(energy) => format!(
            "{basis} Its cost takes it as the whole year's, {} {} a kWh of electricity and a coefficient of performance of {}.",
            energy.price_per_kwh, energy.currency, energy.cop
        ),
        None => format!("{basis} No price of energy is given ([energy] of survey.toml), so no cost is told."),
    }
}
