//! The page of an asset.

use serde::Serialize;

use super::frames::{self, FrameView};
use super::names::{self, Names};
use super::zones::{label, standing};
use super::{Book, Entry, FigureView, Material, plain};
use crate::assess::inputs::COVERAGE_95;
use crate::detect::coverage::Coverage;
use crate::inspect::FrameReport;
use crate::rank::place::clock_words;
use crate::record::figures::unrolled::{self, Pin};
use crate::record::figures::{Mark, sound};
use crate::register::around::Observation;
use crate::register::{Asset, Coating, Cycling, Service, Setting, Shape, ShellMaterial, Source};

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

/// Something seen on the walk round.
#[derive(Debug, Clone, Serialize)]
pub struct ObservationView {
    /// Its letter on the developed surface, where it has a place.
    pub label: String,
    /// What was seen.
    pub kind: String,
    /// Where.
    pub place: String,
    /// When.
    pub on: String,
    /// By whom.
    pub by: String,
    /// Free words.
    pub note: String,
    /// File name of the photograph, where it can be shown.
    pub photo: Option<String>,
    /// Path of the photograph in the survey folder.
    pub photo_file: Option<String>,
    /// Why a given photograph is not shown.
    pub photo_missing: Option<String>,
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

fn identification(material: &Material, asset: &Asset) -> Vec<Entry> {
    let units = material.units;
    let shape = match asset.shape {
        Shape::HorizontalCylinder { diameter_m, length_m } => format!(
            "horizontal cylinder, {} over the jacket, {} between tangent lines",
            units.length(diameter_m),
            units.length(length_m)
        ),
        Shape::VerticalCylinder { diameter_m, length_m } => format!(
            "vertical cylinder, {} over the jacket, {} between tangent lines",
            units.length(diameter_m),
            units.length(length_m)
        ),
        Shape::Flat { width_m, height_m } => {
            format!("wall, {} wide, {} high", units.length(width_m), units.length(height_m))
        }
    };
    let service = match asset.service {
        Service::Stated { temperature_c } => units.temperature(temperature_c),
        Service::SaturatedAmmonia {
            absolute_kpa,
            temperature_c,
        } => format!(
            "{}, saturated ammonia at {}",
            units.temperature(temperature_c),
            units.sentence(&format!("{absolute_kpa:.1} kPa absolute"))
        ),
    };
    let told = |source: Source| if source == Source::Assumed { " (taken from the jacket)" } else { "" };
    let mut entries = vec![
        Entry::new("Tag", &asset.tag),
        Entry::new("Shape and size", shape),
        Entry::new("Service", service),
        Entry::new(
            "Insulation",
            format!(
                "{}, {}",
                plain(asset.insulation.key()),
                units.thickness(asset.insulation_thickness_m)
            ),
        ),
        Entry::new(
            "Jacket",
            format!(
                "{}, emissivity {:.2}{}",
                plain(asset.jacket.key()),
                asset.emissivity.value,
                told(asset.emissivity.source)
            ),
        ),
        Entry::new(
            "Setting",
            match asset.setting {
                Setting::Indoor => "indoors",
                Setting::Outdoor => "outdoors",
            },
        ),
        Entry::new(
            "Metal over the year",
            format!(
                "{} to {}",
                units.temperature(asset.coldest_metal_c),
                units.temperature(asset.warmest_metal_c)
            ),
        ),
    ];
    entries.extend(optional(asset));
    entries
}

fn optional(asset: &Asset) -> Vec<Entry> {
    let shell = asset.shell_material.map(|shell| match shell {
        ShellMaterial::CarbonSteel => "carbon steel",
        ShellMaterial::StainlessSteel => "stainless steel",
    });
    let coating = asset.coating.map(|coating| match coating {
        Coating::None => "none",
        Coating::Unknown => "unknown",
        Coating::Sound => "sound when last seen",
        Coating::Failed => "failed when last seen",
    });
    let cycling = asset.cycling.map(|cycling| match cycling {
        Cycling::Cycles => "yes",
        Cycling::Steady => "no",
    });
    let or = |text: Option<String>| text.unwrap_or_else(|| "not stated".to_owned());
    vec![
        Entry::new("Insulated in", or(asset.insulated_year.map(|year| year.to_string()))),
        Entry::new("Shell", or(shell.map(ToOwned::to_owned))),
        Entry::new("Coating under insulation", or(coating.map(ToOwned::to_owned))),
        Entry::new("Cycles in service", or(cycling.map(ToOwned::to_owned))),
        Entry::new(
            "Consequence of a leak",
            or(asset.consequence.map(|c| format!("{c} of 5"))),
        ),
    ]
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

/// The letter of an observation in its table: A to Z, then AA, AB …
fn letter(number: usize) -> String {
    let one = |n: usize| char::from(b'A' + u8::try_from(n % 26).unwrap_or(0));
    if number < 26 {
        one(number).to_string()
    } else {
        format!("{}{}", letter(number / 26 - 1), one(number))
    }
}

fn observation(material: &Material, asset: &Asset, (number, seen): (usize, &Observation)) -> ObservationView {
    let photo = seen.photo_file.as_deref().map(|path| (path, material.photos.get(path)));
    ObservationView {
        label: letter(number),
        kind: plain(seen.kind.key()),
        place: observed_place(material, asset, seen),
        on: seen.observed_on.clone().unwrap_or_else(|| "not stated".to_owned()),
        by: seen.observer.clone().unwrap_or_else(|| "not stated".to_owned()),
        note: seen.note.clone().unwrap_or_default(),
        photo: photo
            .filter(|(_, found)| found.is_ok())
            .map(|(path, _)| names::photo(path)),
        photo_file: seen.photo_file.clone(),
        photo_missing: photo.and_then(|(_, found)| found.err().map(ToOwned::to_owned)),
    }
}

fn observed_place(material: &Material, asset: &Asset, seen: &Observation) -> String {
    let round = match asset.shape {
        Shape::HorizontalCylinder { .. } => seen.clock_h.map(|hours| format!("{} o'clock", clock_words(hours))),
        Shape::VerticalCylinder { .. } | Shape::Flat { .. } => {
            seen.bearing_deg.map(|bearing| format!("bearing {bearing:.0}°"))
        }
    };
    let along = seen
        .axial_m
        .map(|m| format!("{} from datum", material.units.length(m)));
    let parts: Vec<String> = along.into_iter().chain(round).collect();
    if parts.is_empty() {
        "no place given".to_owned()
    } else {
        parts.join(", ")
    }
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
        words: format!("{} unrolled: zones and coverage on the developed jacket, to scale", asset.tag),
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

/// An observation's place on the map; none where it has no place along the asset.
fn pin(asset: &Asset, number: usize, seen: &Observation) -> Option<Pin> {
    let absolute_deg = match asset.shape {
        Shape::HorizontalCylinder { .. } => seen.clock_h.map(|hours| 30.0 * hours),
        Shape::VerticalCylinder { .. } | Shape::Flat { .. } => seen.bearing_deg,
    };
    Some(Pin {
        label: letter(number),
        axial_m: seen.axial_m?,
        absolute_deg,
        words: format!("{}: {}", letter(number), plain(seen.kind.key())),
    })
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
    let nothing = Coverage::nothing(&material.register.assets[index].shape);
    let coverage = material
        .survey
        .coverage
        .get(index)
        .and_then(Option::as_ref)
        .unwrap_or(&nothing);
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
    let seen: Vec<_> = frames::of_asset(material, index).filter_map(|r| r.seen).collect();
    if seen.is_empty() {
        return "No frame of this asset could have shown a zone.".to_owned();
    }
    let worst = |value: fn(&crate::inspect::SeenJacket) -> f64| seen.iter().map(value).fold(0.0, f64::max);
    format!(
        "On jacket usefully seen, a zone at least {} across and {} off the sound jacket would have been called in every \
         frame; smaller or fainter ones may be there unseen.",
        units.length(worst(|s| s.smallest_zone_m)),
        units.difference(worst(|s| s.least_contrast_k))
    )
}
