//! The page of an asset.

use serde::Serialize;

use super::frames::{self, FrameView};
use super::identity::identification;
use super::names::Names;
use super::walk::{ObservationView, observation, pin};
use super::zones::{label, standing};
use super::{Book, Entry, FigureView, Material};
use crate::assess::inputs::COVERAGE_95;
use crate::inspect::FrameReport;
use crate::record::figures::unrolled;
use crate::record::figures::{Mark, sound};
use crate::register::around::Observation;

/// An asset's page.
#[derive(Debug, Clone, Serialize)]
pub struct AssetPage {
    /// Its tag.
    pub tag: String,
    /// Anchor of the page, and stem of its files.
    pub anchor: String,
    /// File name of its PDF.
    pub pdf: String,
    /// What it is.
    pub identification: Vec<Entry>,
    /// What was assumed, each with the frames it concerns.
    pub assumed: Vec<Entry>,
    /// In one sentence.
    pub in_short: String,
    /// The developed surface.
    pub unrolled: FigureView,
    /// Names of its zones, in the order of the book.
    pub zones: Vec<String>,
    /// Zones of earlier surveys that are not on this list: gone, or not seen.
    pub since: Vec<Entry>,
    /// Openings and wall readings.
    pub opened: Vec<Entry>,
    /// What was seen on the walk round.
    pub observations: Vec<ObservationView>,
    /// Its frames.
    pub frames: Vec<FrameView>,
    /// Expected against measured sound jacket, where a frame gave both.
    pub sound: Option<FigureView>,
    /// The same in words.
    pub sound_words: Vec<String>,
    /// What was seen of it.
    pub coverage: Vec<Entry>,
    /// Least detectable zone, in words.
    pub least: String,
}

/// Writes the page; its figures go to the book.
pub(super) fn write(material: &Material, names: &Names, index: usize, book: &mut Book) -> AssetPage {
    let asset = &material.register.assets[index];
    let observations: Vec<&Observation> = material
        .around
        .observations
        .iter()
        .filter(|o| o.asset == index)
        .collect();
    let figure = unrolled_figure(material, names, index, &observations);
    let zones: Vec<String> = book
        .zones
        .iter()
        .filter(|zone| zone.asset_index == index)
        .map(|zone| zone.id.clone())
        .collect();
    let (sound, sound_words) = sound(material, names, index);
    AssetPage {
        tag: asset.tag.clone(),
        anchor: names.asset(index).to_owned(),
        pdf: names.asset_pdf(index, &material.register.survey.date),
        identification: identification(material, asset),
        assumed: assumed(material, index),
        in_short: in_short(material, index, book),
        unrolled: book.keep(figure),
        zones,
        since: super::later::since(material, &asset.tag),
        opened: super::later::openings_and_walls(material, &asset.tag),
        observations: observations
            .iter()
            .enumerate()
            .map(|(number, o)| observation(material, asset, (number, o)))
            .collect(),
        frames: frames::write(material, names, index, book),
        sound: sound.map(|figure| book.keep(figure)),
        sound_words,
        coverage: coverage(material, index),
        least: least(material, index),
    }
}

/// What was assumed, each once, with the files of the frames it concerns.
fn assumed(material: &Material, index: usize) -> Vec<Entry> {
    let mut entries: Vec<Entry> = Vec::new();
    for report in frames::of_asset(material, index) {
        let file = file_name(&material.register.frames[report.frame].file);
        for what in &report.assumed {
            let what = material.units.sentence(what);
            match entries.iter_mut().find(|entry| entry.text == what) {
                Some(entry) => entry.label = format!("{}, {file}", entry.label),
                None => entries.push(Entry::new(file, what)),
            }
        }
    }
    entries
}

fn file_name(path: &str) -> &str {
    path.rsplit('/').next().unwrap_or(path)
}

fn in_short(material: &Material, index: usize, book: &Book) -> String {
    let mine = || book.zones.iter().filter(|zone| zone.asset_index == index);
    let listed = mine().filter(|zone| zone.standing == "listed").count();
    let rejected = mine().filter(|zone| zone.standing == "rejected").count();
    let aside = mine().filter(|zone| zone.standing == "aside").count();
    let used = frames::of_asset(material, index).any(|r| r.usability != crate::assess::usability::Usability::Unusable);
    if !used {
        return "No frame of this asset could be used: nothing is known of its insulation.".to_owned();
    }
    let worst = mine()
        .filter(|zone| zone.standing == "listed")
        .map(|zone| zone.priority)
        .fold(0.0, f64::max);
    let mut text = super::counted(listed, "zone");
    text.push_str(" to follow up");
    if listed > 0 {
        text.push_str(&format!(", highest priority {worst:.0} of 100"));
    }
    text.push_str(&format!("; {aside} set aside"));
    if rejected > 0 {
        text.push_str(&format!("; {rejected} rejected by the inspector"));
    }
    text.push('.');
    text
}

fn unrolled_figure(
    material: &Material,
    names: &Names,
    index: usize,
    observations: &[&Observation],
) -> crate::record::figures::Figure {
    let asset = &material.register.assets[index];
    let zones: Vec<_> = material.survey.zones.iter().filter(|z| z.asset == index).collect();
    let words: Vec<String> = zones.iter().map(|zone| frames::tip(zone)).collect();
    let report = |frame: usize| material.survey.frames.iter().find(|r| r.frame == frame);
    let marks = zones.iter().zip(&words).map(|(zone, words)| {
        let mark = Mark {
            id: &zone.id,
            label: label(&zone.id),
            words,
            standing: standing(material, zone),
        };
        let is_general = zone.finding.extent == crate::assess::Extent::General;
        let outlines = zone.sightings.iter().filter_map(|s| {
            let report: &FrameReport = report(s.frame)?;
            let outline: &[[f64; 2]] = if is_general { &report.outline_px } else { &s.outline_px };
            Some((report, outline))
        });
        (mark, outlines.collect::<Vec<_>>())
    });
    let input = unrolled::Input {
        name: format!("{}-unrolled", names.asset(index)),
        words: format!(
            "{} unrolled: zones and coverage on the developed jacket, to scale",
            asset.tag
        ),
        register: material.register,
        asset: index,
        coverage: material.survey.coverage.get(index).and_then(Option::as_ref),
        frames: frames::of_asset(material, index).collect(),
        zones: marks.collect(),
        observations: observations
            .iter()
            .enumerate()
            .filter_map(|(number, seen)| pin(asset, number, seen))
            .collect(),
        earlier: material
            .around
            .earlier
            .iter()
            .flat_map(|earlier| &earlier.zones)
            .filter(|zone| zone.asset == index)
            .collect(),
        units: material.units,
    };
    unrolled::draw(&input)
}

fn sound(material: &Material, names: &Names, index: usize) -> (Option<crate::record::figures::Figure>, Vec<String>) {
    let (mut rows, mut words) = (Vec::new(), Vec::new());
    for report in frames::of_asset(material, index) {
        let (Some(seen), Some(expected), Some(shortfall)) = (&report.seen, report.expected_sound, &report.shortfall)
        else {
            continue;
        };
        let file = file_name(&material.register.frames[report.frame].file).to_owned();
        let half_k = COVERAGE_95 * shortfall.camera_u_k;
        let both_k = COVERAGE_95 * shortfall.camera_u_k.hypot(shortfall.sheets_u_k);
        words.push(sound_words(material, &file, (seen.sound_c, expected.0), both_k));
        rows.push(sound::Row {
            label: file,
            expected,
            measured: (seen.sound_c, half_k),
            dew_point_c: report.dew_point_c,
        });
    }
    if rows.is_empty() {
        return (None, words);
    }
    let name = format!("{}-sound", names.asset(index));
    let title = "Sound jacket of each frame as measured, against what dry insulation would show";
    (Some(sound::draw(&name, title, &rows, material.units)), words)
}

fn sound_words(material: &Material, file: &str, (measured_c, expected_c): (f64, f64), both_k: f64) -> String {
    let units = material.units;
    let off_k = measured_c - expected_c;
    let verdict = if off_k.abs() <= both_k {
        "which the uncertainty explains"
    } else {
        "which the uncertainty does not explain"
    };
    format!(
        "{file}: sound jacket {} measured, {} expected of dry insulation: {} {}, ±{} (95 %), {verdict}.",
        units.temperature(measured_c),
        units.temperature(expected_c),
        units.difference(off_k.abs()),
        if off_k < 0.0 { "colder" } else { "warmer" },
        units.difference(both_k)
    )
}

fn coverage(material: &Material, index: usize) -> Vec<Entry> {
    let units = material.units;
    let coverage = material.coverage(index);
    let total = coverage.total_m2();
    let told = |m2: f64| format!("{} ({:.0} %)", units.area(m2), 100.0 * m2 / total.max(1e-9));
    vec![
        Entry::new("Jacket between the tangent lines", units.area(total)),
        Entry::new("In view at less than 60°", told(coverage.viewed_m2())),
        Entry::new("Usefully seen", told(coverage.usable_m2())),
        Entry::new("Not usefully seen", told(total - coverage.usable_m2())),
    ]
}

fn least(material: &Material, index: usize) -> String {
    let units = material.units;
    let usable =
        frames::of_asset(material, index).filter(|r| r.usability != crate::assess::usability::Usability::Unusable);
    let seen: Vec<_> = usable.filter_map(|r| r.seen).collect();
    if seen.is_empty() {
        return "No frame of this asset could have shown a zone.".to_owned();
    }
    let worst = |value: fn(&crate::inspect::SeenJacket) -> f64| seen.iter().map(value).fold(0.0, f64::max);
    format!(
        "On jacket usefully seen, a zone at least {} across and {} off the sound jacket would have been seen in every \
         usable frame; smaller or fainter ones may be there unseen. What is less than {} across is set aside: so small a \
         place cannot be told from metal in the insulation.",
        units.length(worst(|s| s.smallest_zone_m)),
        units.difference(worst(|s| s.least_contrast_k)),
        units.length(crate::assess::Settings::default().least_side_m)
    )
}
