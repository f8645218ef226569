//! A frame in words, beside its figure and its photograph.

use serde::Serialize;

use super::names::{self, Names};
use super::zones::{label, standing};
use super::{Book, Entry, FigureView, Material};
use crate::assess::Extent;
use crate::assess::usability::Usability;
use crate::inspect::FrameReport;
use crate::rank::Ranked;
use crate::record::figures::{Mark, frame};
use crate::record::shot::{Shot, Values};
use crate::register::{FrameRow, Sun};

/// A frame as the record shows it.
#[derive(Debug, Clone, Serialize)]
pub struct FrameView {
    /// Path of the image in the survey folder.
    pub file: String,
    /// Name of its figure, where it could be read.
    pub figure: Option<FigureView>,
    /// File name of the photograph, where one is given and can be shown.
    pub photo: Option<String>,
    /// Path of the photograph in the survey folder.
    pub photo_file: Option<String>,
    /// Why a given photograph is not shown.
    pub photo_missing: Option<String>,
    /// `good`, `limited` or `unusable`.
    pub usability: &'static str,
    /// Why not fully.
    pub reasons: Vec<String>,
    /// Conditions, as far as stated.
    pub conditions: Vec<Entry>,
    /// What the frame could show.
    pub shown: Vec<Entry>,
    /// Free words of the sheet.
    pub note: Option<String>,
    /// SHA-256 of the image.
    pub sha256: Option<String>,
    /// Names of the zones it shows.
    pub zones: Vec<String>,
    /// Apparent temperatures at reduced resolution.
    pub values: Option<Values>,
    /// Their step and block in words.
    pub values_words: String,
}

/// Frames of an asset, in the order of the sheet.
pub(super) fn write(material: &Material, names: &Names, asset: usize, book: &mut Book) -> Vec<FrameView> {
    let mut views = Vec::new();
    for report in of_asset(material, asset) {
        views.push(one(material, names, report, book));
    }
    views
}

/// Reports of an asset's frames.
pub(super) fn of_asset<'a>(material: &Material<'a>, asset: usize) -> impl Iterator<Item = &'a FrameReport> + use<'a> {
    let (register, survey) = (material.register, material.survey);
    survey
        .frames
        .iter()
        .filter(move |report| register.frames.get(report.frame).is_some_and(|row| row.asset == asset))
}

fn one(material: &Material, names: &Names, report: &FrameReport, book: &mut Book) -> FrameView {
    let row = &material.register.frames[report.frame];
    let shot = material.survey.shots.iter().find(|shot| shot.frame == report.frame);
    let zones: Vec<&Ranked> = material
        .survey
        .zones
        .iter()
        .filter(|zone| zone.sightings.iter().any(|s| s.frame == report.frame))
        .collect();
    let photo = row
        .visible_file
        .as_deref()
        .map(|path| (path, material.photos.get(path)));
    FrameView {
        file: row.file.clone(),
        figure: shot.map(|shot| figure(material, (names, book), (report, shot), &zones)),
        photo: photo
            .filter(|(_, found)| found.is_ok())
            .map(|(path, _)| names::photo(path)),
        photo_file: row.visible_file.clone(),
        photo_missing: photo.and_then(|(_, found)| found.err().map(ToOwned::to_owned)),
        usability: usability(report.usability),
        reasons: report.reasons.iter().map(|why| material.units.sentence(why)).collect(),
        conditions: conditions(material, row, report),
        shown: shown(material, report),
        note: row.note.clone(),
        sha256: report.sha256.clone(),
        zones: zones.iter().map(|zone| zone.id.clone()).collect(),
        values_words: shot.map_or_else(String::new, |shot| values_words(material, &shot.values)),
        values: shot.map(|shot| shot.values.clone()),
    }
}

/// The word for a frame's use.
pub(super) fn usability(usability: Usability) -> &'static str {
    match usability {
        Usability::Good => "good",
        Usability::Limited => "limited",
        Usability::Unusable => "unusable",
    }
}

fn values_words(material: &Material, values: &Values) -> String {
    let (step, unit) = material.units.difference_parts(values.step_k);
    format!(
        "apparent temperatures (as read, emissivity 1), means of {0} × {0} px, in steps of {step:.3} {unit}",
        values.block_px
    )
}

fn figure(
    material: &Material,
    (names, book): (&Names, &mut Book),
    (report, shot): (&FrameReport, &Shot),
    zones: &[&Ranked],
) -> FigureView {
    let row = &material.register.frames[report.frame];
    let words: Vec<String> = zones.iter().map(|zone| tip(zone)).collect();
    let marks = zones.iter().zip(&words).flat_map(|(zone, words)| {
        let mark = Mark {
            id: &zone.id,
            label: label(&zone.id),
            words,
            standing: standing(material, zone),
        };
        let is_general = zone.finding.extent == Extent::General;
        zone.sightings
            .iter()
            .filter(|s| s.frame == report.frame)
            .map(move |sighting| {
                let outline: &[[f64; 2]] = if is_general {
                    &report.outline_px
                } else {
                    &sighting.outline_px
                };
                (mark.clone(), outline)
            })
    });
    let input = frame::Input {
        name: format!("{}-frame-{}", names.asset(row.asset), report.frame + 1),
        words: format!(
            "Frame {} of {}: temperatures with {}",
            row.file,
            material.register.assets[row.asset].tag,
            super::counted(zones.len(), "outlined place")
        ),
        shot,
        report,
        zones: marks.collect(),
        units: material.units,
    };
    book.keep(frame::draw(&input))
}

/// What a pointer at rest on a zone tells.
pub(super) fn tip(zone: &Ranked) -> String {
    format!(
        "{}: {}, {}",
        zone.id,
        super::plain(zone.finding.cause.key()),
        super::plain(zone.finding.action.key())
    )
}

fn conditions(material: &Material, row: &FrameRow, report: &FrameReport) -> Vec<Entry> {
    let (units, conditions) = (material.units, &row.conditions);
    let stated = |text: Option<String>| text.unwrap_or_else(|| "not stated".to_owned());
    vec![
        Entry::new("Taken", stated(report.captured_at.clone())),
        Entry::new("Air", units.temperature(conditions.air_c)),
        Entry::new(
            "Relative humidity",
            stated(conditions.relative_humidity_pct.map(|rh| format!("{rh:.0} %"))),
        ),
        Entry::new("Wind", stated(conditions.wind_m_s.map(|wind| units.speed(wind)))),
        Entry::new(
            "Reflected",
            stated(conditions.reflected_c.map(|t| units.temperature(t))),
        ),
        Entry::new("Distance", stated(conditions.distance_m.map(|d| units.length(d)))),
        Entry::new(
            "Sun",
            match conditions.sun {
                Some(Sun::None) => "none",
                Some(Sun::Overcast) => "overcast",
                Some(Sun::Direct) => "direct",
                None => "not stated",
            },
        ),
        Entry::new("Camera", stated(row.stored.camera.clone())),
    ]
}

fn shown(material: &Material, report: &FrameReport) -> Vec<Entry> {
    let units = material.units;
    let mut entries = Vec::new();
    if let Some(seen) = &report.seen {
        entries.extend([
            Entry::new("Least contrast called", units.difference(seen.least_contrast_k)),
            Entry::new(
                "Smallest zone called",
                format!("{} across", units.length(seen.smallest_zone_m)),
            ),
            Entry::new(
                "Usefully seen",
                format!(
                    "{} of {} in view",
                    units.area(seen.usable_m2),
                    units.area(seen.viewed_m2)
                ),
            ),
            Entry::new("Sound jacket", units.temperature(seen.sound_c)),
        ]);
    }
    entries.extend(
        report
            .dew_point_c
            .map(|dew| Entry::new("Dew point", units.temperature(dew))),
    );
    entries.extend(report.noise_k.map(|noise_k| {
        let (noise, unit) = units.difference_parts(noise_k);
        Entry::new("Noise of a reading", format!("{noise:.2} {unit}"))
    }));
    entries.extend(
        report
            .outline_support
            .map(|share| Entry::new("Outline borne out by edges", format!("{:.0} % of it", 100.0 * share))),
    );
    entries
}
