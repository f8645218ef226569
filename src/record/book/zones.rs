//! Zones in words.

use serde::Serialize;

use super::later;
use super::names::Names;
use super::{Material, plain};
use crate::assess::Extent;
use crate::rank::Ranked;
use crate::rank::place::{bearing_words, clock_words};
use crate::rank::priority::{MOST, Parts};
use crate::record::figures::Standing;
use crate::record::findings::cost_per_year;
use crate::record::place;
use crate::register::Shape;
use crate::register::around::{Verdict, Word};

/// A zone as the record shows it.
#[derive(Debug, Clone, Serialize)]
pub struct ZoneView {
    /// Its name.
    pub id: String,
    /// Anchor on a page: letters, digits and hyphens of its own.
    pub anchor: String,
    /// Its number within the asset.
    pub label: String,
    /// The asset's tag.
    pub asset: String,
    /// Index of the asset.
    pub asset_index: usize,
    /// `listed`, `aside` or `rejected`.
    pub standing: &'static str,
    /// Rank in the list of findings.json; rejected zones keep theirs.
    pub rank: Option<usize>,
    /// Where, in one phrase.
    pub place: String,
    /// Metres (feet) from the datum, number.
    pub along: f64,
    /// Height above the asset's lower end, where that is known, number.
    pub height: Option<f64>,
    /// Clock position or compass bearing.
    pub round: String,
    /// Length along by length round.
    pub size: String,
    /// Length along in the chosen unit, number.
    pub length: f64,
    /// Length round, or up a wall, in the chosen unit, number.
    pub arc: f64,
    /// Area in the chosen unit, number.
    pub area: f64,
    /// Area with unit.
    pub area_words: String,
    /// `colder` or `warmer`.
    pub departure: &'static str,
    /// Whole jacket or a zone.
    pub is_general: bool,
    /// Contrast in the chosen unit, number, negative where colder.
    pub contrast: f64,
    /// Contrast with its 95 % half-width and unit.
    pub contrast_words: String,
    /// Conductivity over dry.
    pub ratio: f64,
    /// Its 95 % interval.
    pub ratio_low: f64,
    /// Upper end.
    pub ratio_high: f64,
    /// Both in words.
    pub ratio_words: String,
    /// Least moisture that could explain it, per cent by volume.
    pub moisture_pct: Option<f64>,
    /// In words.
    pub moisture: String,
    /// Extra heat gain in the chosen unit, number.
    pub extra_heat_number: f64,
    /// Extra heat gain with unit.
    pub extra_heat: String,
    /// Cost a year with currency, where a price is given.
    pub cost: Option<String>,
    /// Likely cause.
    pub cause: String,
    /// What to do.
    pub action: String,
    /// Priority, 0 to 100.
    pub priority: f64,
    /// Its parts, largest first.
    pub parts: Vec<PartView>,
    /// Its parts in one sentence.
    pub parts_words: String,
    /// Why, each a clause.
    pub because: Vec<String>,
    /// What became of it since earlier surveys; empty where none was given.
    pub change: String,
    /// What was found where it was opened; empty where it was not.
    pub opened: String,
    /// Whether the surface lies below the dew point or below freezing.
    pub surface_words: String,
    /// The inspector's word, where there is one.
    pub verdict: Option<VerdictView>,
    /// Earlier words of the inspector, oldest first.
    pub earlier_verdicts: Vec<VerdictView>,
    /// Files of the frames that show it.
    pub frames: Vec<String>,
    /// File name of its thumbnail, where there is one.
    pub thumbnail: Option<String>,
}

/// A part of a priority.
#[derive(Debug, Clone, Serialize)]
pub struct PartView {
    /// What it stands for.
    pub name: &'static str,
    /// Its points.
    pub points: f64,
    /// The most it could have.
    pub most: f64,
}

/// The inspector's word.
#[derive(Debug, Clone, Serialize)]
pub struct VerdictView {
    /// `confirmed`, `rejected` or `watch`.
    pub word: &'static str,
    /// Who says so.
    pub by: String,
    /// When.
    pub on: String,
    /// Free words.
    pub note: Option<String>,
}

/// How a zone stands, given what the inspector says last.
pub(super) fn standing(material: &Material, zone: &Ranked) -> Standing {
    let last = verdicts(material, &zone.id).last().map(|verdict| verdict.word);
    match last {
        Some(Word::Rejected) => Standing::Rejected,
        // The inspector's word goes before the program's: what that set aside and a person confirms or wants watched is
        // followed up, after the ranked ones.
        Some(Word::Confirmed | Word::Watch) => Standing::Listed,
        None if zone.finding.cause.is_set_aside() => Standing::SetAside,
        None => Standing::Listed,
    }
}

/// Verdicts on a zone, oldest first.
fn verdicts<'a>(material: &Material<'a>, id: &str) -> Vec<&'a Verdict> {
    let mut all: Vec<&Verdict> = material.around.verdicts.iter().filter(|v| v.zone == id).collect();
    all.sort_by(|a, b| a.on.cmp(&b.on));
    all
}

/// Every zone: listed in rank order, then set aside, then rejected.
pub(super) fn all(material: &Material, names: &Names) -> Vec<ZoneView> {
    let mut views: Vec<(Standing, ZoneView)> = material
        .survey
        .zones
        .iter()
        .map(|zone| (standing(material, zone), view(material, names, zone)))
        .collect();
    // The survey's order is the list's; a stable sort keeps it within each kind.
    views.sort_by_key(|(standing, _)| match standing {
        Standing::Listed => 0,
        Standing::SetAside => 1,
        Standing::Rejected => 2,
    });
    views.into_iter().map(|(_, view)| view).collect()
}

/// The number at the end of a zone's name.
pub(super) fn label(id: &str) -> &str {
    id.rsplit('-').next().unwrap_or(id)
}

fn view(material: &Material, names: &Names, zone: &Ranked) -> ZoneView {
    let (register, units) = (material.register, material.units);
    let (finding, seen) = (&zone.finding, &zone.finding.zone);
    let asset = &register.assets[zone.asset];
    let mut said: Vec<VerdictView> = verdicts(material, &zone.id).into_iter().map(verdict).collect();
    let last = said.pop();
    let parts = parts(&zone.parts);
    ZoneView {
        id: zone.id.clone(),
        anchor: names.zone(&zone.id),
        label: label(&zone.id).to_owned(),
        asset: asset.tag.clone(),
        asset_index: zone.asset,
        standing: key(standing(material, zone)),
        rank: zone.rank,
        place: where_words(material, zone),
        along: units.length_parts(zone.place.axial_m).0,
        height: height_m(zone, &asset.shape).map(|m| units.length_parts(m).0),
        round: round_words(zone),
        size: format!("{} × {}", units.length(seen.length_m), units.length(seen.arc_m)),
        length: units.length_parts(seen.length_m).0,
        arc: units.length_parts(seen.arc_m).0,
        area: units.area_parts(seen.area_m2).0,
        area_words: units.area(seen.area_m2),
        departure: seen.departure.key(),
        is_general: finding.extent == Extent::General,
        contrast: units.difference_parts(seen.contrast_k).0,
        contrast_words: contrast_words(material, zone),
        ratio: finding.ratio,
        ratio_low: finding.ratio_interval[0],
        ratio_high: finding.ratio_interval[1],
        ratio_words: format!(
            "{:.1} ({:.1} to {:.1})",
            finding.ratio, finding.ratio_interval[0], finding.ratio_interval[1]
        ),
        moisture_pct: finding.moisture.map(|share| 100.0 * share),
        moisture: moisture_words(zone),
        extra_heat_number: units.power_parts(finding.extra_heat_gain_w).0,
        extra_heat: units.power(finding.extra_heat_gain_w),
        cost: cost(material, finding.extra_heat_gain_w),
        cause: plain(finding.cause.key()),
        action: plain(finding.action.key()),
        priority: zone.priority,
        parts_words: parts_words(&parts),
        parts,
        because: finding.because.iter().map(|why| units.sentence(why)).collect(),
        change: later::change(material, &zone.id),
        opened: later::opened(material, &zone.id),
        surface_words: surface_words(zone),
        verdict: last,
        earlier_verdicts: said,
        frames: frames(material, zone),
        thumbnail: has_thumbnail(material, zone).then(|| names.thumbnail(&zone.id)),
    }
}

/// The word of the templates for how a zone stands.
fn key(standing: Standing) -> &'static str {
    match standing {
        Standing::Listed => "listed",
        Standing::SetAside => "aside",
        Standing::Rejected => "rejected",
    }
}

fn where_words(material: &Material, zone: &Ranked) -> String {
    match zone.finding.extent {
        Extent::General => "all over the jacket in view".to_owned(),
        Extent::Local => place::words(zone, material.units),
    }
}

fn verdict(verdict: &Verdict) -> VerdictView {
    VerdictView {
        word: verdict.word.key(),
        by: verdict.by.clone(),
        on: verdict.on.clone(),
        note: verdict.note.clone(),
    }
}

fn frames(material: &Material, zone: &Ranked) -> Vec<String> {
    let file = |index: usize| material.register.frames.get(index).map(|row| row.file.clone());
    zone.sightings.iter().filter_map(|s| file(s.frame)).collect()
}

fn has_thumbnail(material: &Material, zone: &Ranked) -> bool {
    let shots = &material.survey.shots;
    shots.iter().any(|shot| shot.thumbnails.contains_key(&zone.id))
}

/// Cost a year of an extra heat gain, where a price is given.
pub(super) fn cost(material: &Material, watts: f64) -> Option<String> {
    let currency = &material.register.energy.as_ref()?.currency;
    cost_per_year(material.register, watts).map(|cost| format!("{cost:.0} {currency} a year"))
}

/// Height above the lower end: up a wall or an upright vessel; a level one's datum says nothing of height.
fn height_m(zone: &Ranked, shape: &Shape) -> Option<f64> {
    match shape {
        Shape::Flat { .. } => zone.place.height_m,
        Shape::VerticalCylinder { .. } => Some(zone.place.axial_m),
        Shape::HorizontalCylinder { .. } => None,
    }
}

fn round_words(zone: &Ranked) -> String {
    if zone.finding.extent == Extent::General {
        return "all over".to_owned();
    }
    if let Some(hours) = zone.place.clock_h {
        return format!("{} o'clock", clock_words(hours));
    }
    if let Some(bearing) = zone.place.bearing_deg {
        return format!("bearing {}", bearing_words(bearing));
    }
    if zone.place.height_m.is_some() {
        return String::new();
    }
    format!("{:+.0}° from facing", zone.finding.zone.angle_deg)
}

fn contrast_words(material: &Material, zone: &Ranked) -> String {
    let (contrast, unit) = material.units.difference_parts(zone.finding.zone.contrast_k);
    let (half, _) = material.units.difference_parts(zone.finding.uncertainty_k);
    let sign = if contrast < 0.0 { "−" } else { "+" };
    format!("{sign}{:.1} ±{half:.1}\u{a0}{unit}", contrast.abs())
}

fn moisture_words(zone: &Ranked) -> String {
    let finding = &zone.finding;
    if finding.cause.is_set_aside() {
        return "–".to_owned();
    }
    match finding.moisture {
        Some(share) if share > 0.0 => format!("{:.1} % by volume", 100.0 * share),
        Some(_) => "none".to_owned(),
        None if finding.ratio > 1.0 => "beyond the moisture law".to_owned(),
        None => "–".to_owned(),
    }
}

fn surface_words(zone: &Ranked) -> String {
    match (zone.finding.below_dew_point, zone.finding.below_freezing) {
        (true, true) => "surface below the dew point and below freezing",
        (true, false) => "surface below the dew point: water gathers on the jacket",
        (false, true) => "surface below freezing",
        (false, false) => "",
    }
    .to_owned()
}

/// The parts with the most points that each could have.
fn parts(parts: &Parts) -> Vec<PartView> {
    let mut views = vec![
        ("how wet", parts.wetness, MOST.wetness),
        ("how large", parts.size, MOST.size),
        (
            "metal in the corroding range or through freezing",
            parts.metal,
            MOST.metal,
        ),
        ("age", parts.age, MOST.age),
        ("coating", parts.coating, MOST.coating),
        ("seen on the walk round", parts.observed, MOST.observed),
        ("found when opened", parts.openings, MOST.openings),
        ("wall lost", parts.wall, MOST.wall),
        ("growth since the survey before", parts.growth, MOST.growth),
        ("consequence of a leak", parts.consequence, MOST.consequence),
    ];
    views.sort_by(|a, b| b.1.total_cmp(&a.1));
    views
        .into_iter()
        .map(|(name, points, most)| PartView { name, points, most })
        .collect()
}

fn parts_words(parts: &[PartView]) -> String {
    let told: Vec<String> = parts
        .iter()
        .filter(|part| part.points >= 0.5)
        .map(|part| format!("{} {:.0} of {:.0}", part.name, part.points, part.most))
        .collect();
    told.join(", ")
}
