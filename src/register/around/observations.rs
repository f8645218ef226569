//! observations.csv: what was seen on the walk round, which belongs on the same record as the thermal zones.

use std::path::Path;

use super::super::assets::Assets;
use super::super::faults::Log;
use super::super::frames::{BEARING, asset_index};
use super::super::row::{Layout, Row};
use super::super::sheet::{Presence, Sheet};
use super::super::words::Word;
use super::super::{Asset, Shape};
use super::spot;

const LAYOUT: Layout = Layout {
    stem: "observations",
    noun: "a list of observations",
    presence: Presence::Optional,
    known: &[
        "asset",
        "observed_on",
        "observer",
        "kind",
        "axial_m",
        "clock",
        "bearing_deg",
        "note",
        "photo_file",
    ],
    required: &["asset", "kind"],
};

/// Something seen on the walk round.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// Index into [`super::super::Register::assets`].
    pub asset: usize,
    /// ISO 8601 date, as written.
    pub observed_on: Option<String>,
    /// Who saw it.
    pub observer: Option<String>,
    /// What was seen.
    pub kind: Kind,
    /// Metres from the datum.
    pub axial_m: Option<f64>,
    /// Clock position in hours, 0 ≤ h < 12 (horizontal cylinders).
    pub clock_h: Option<f64>,
    /// Compass bearing in degrees (vertical cylinders, walls).
    pub bearing_deg: Option<f64>,
    /// Free words.
    pub note: Option<String>,
    /// A photograph, path from the survey folder.
    pub photo_file: Option<String>,
    /// Row of the sheet, counted as a spreadsheet counts (heading = 1).
    pub row: usize,
}

/// What was seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// The jacket is damp.
    Dampness,
    /// Water drops on the jacket.
    Condensation,
    /// Frost on the jacket.
    Frost,
    /// Ice on the jacket.
    Ice,
    /// A crack in the jacket.
    JacketCrack,
    /// A hole in the jacket.
    JacketHole,
    /// The vapour retarder is open.
    VapourRetarderBreach,
    /// Sealant has failed.
    SealantFailure,
    /// Coating is damaged.
    CoatingDamage,
    /// The nameplate is not there.
    NameplateMissing,
    /// The nameplate cannot be read.
    NameplateIllegible,
    /// Anchorage.
    Anchorage,
    /// A support.
    Support,
    /// An inspection port stands open or unsealed.
    InspectionPortUnsealed,
}

impl Kind {
    /// The word the sheet uses.
    #[must_use]
    pub fn key(self) -> &'static str {
        Self::words()
            .into_iter()
            .find_map(|(word, kind)| (kind == self).then_some(word))
            .unwrap_or_default()
    }
}

impl Word for Kind {
    const NOUN: &'static str = "a kind of observation";

    fn words() -> Vec<(&'static str, Self)> {
        vec![
            ("dampness", Self::Dampness),
            ("condensation", Self::Condensation),
            ("frost", Self::Frost),
            ("ice", Self::Ice),
            ("jacket-crack", Self::JacketCrack),
            ("jacket-hole", Self::JacketHole),
            ("vapour-retarder-breach", Self::VapourRetarderBreach),
            ("sealant-failure", Self::SealantFailure),
            ("coating-damage", Self::CoatingDamage),
            ("nameplate-missing", Self::NameplateMissing),
            ("nameplate-illegible", Self::NameplateIllegible),
            ("anchorage", Self::Anchorage),
            ("support", Self::Support),
            ("inspection-port-unsealed", Self::InspectionPortUnsealed),
        ]
    }
}

/// Reads the sheet; rows at fault are left out.
pub(super) fn read(folder: &Path, assets: Option<&Assets>, log: &mut Log) -> Vec<Observation> {
    let Some(sheet) = Sheet::read(folder, &LAYOUT, None, log) else {
        return Vec::new();
    };
    let mut observations = Vec::new();
    for index in 0..sheet.len() {
        let Some(mut row) = sheet.row(index, None, log) else {
            break;
        };
        observations.extend(observation(&mut row, assets));
    }
    observations
}

fn observation(row: &mut Row<'_>, assets: Option<&Assets>) -> Option<Observation> {
    let index = asset_index(row, assets);
    let kind = row.required_word::<Kind>("kind");
    let observed_on = row.date("observed_on");
    let axial_m = row.number("axial_m", spot::AXIAL);
    let clock_h = row.clock("clock");
    // 360° is north, which is 0°.
    let bearing_deg = row
        .number("bearing_deg", BEARING)
        .map(|bearing_deg| bearing_deg % 360.0);
    let photo_file = row.path("photo_file");
    let asset = assets
        .zip(index)
        .and_then(|(assets, index)| assets.rows.get(index)?.as_ref());
    if let Some(asset) = asset {
        check_place(row, asset, axial_m);
    }
    for (key, what) in [("observed_on", "date"), ("observer", "name")] {
        if row.is_blank(key) {
            row.warn(&format!(
                "{key} is blank: the record will show the observation without a {what}"
            ));
        }
    }
    Some(Observation {
        asset: index?,
        observed_on,
        observer: row.text("observer"),
        kind: kind?,
        axial_m,
        clock_h,
        bearing_deg,
        note: row.text("note"),
        photo_file,
        row: row.number_in_sheet(),
    })
}

/// Doubts about a place that the asset does not have.
fn check_place(row: &mut Row<'_>, asset: &Asset, axial_m: Option<f64>) {
    match asset.shape {
        Shape::HorizontalCylinder { .. } => row.warn_unused(
            &["bearing_deg"],
            "the asset is a horizontal cylinder, on which a place is given by clock",
        ),
        Shape::VerticalCylinder { .. } | Shape::Flat { .. } => row.warn_unused(
            &["clock"],
            "the asset is no horizontal cylinder, and a place on it is given by bearing_deg",
        ),
    }
    spot::warn_beyond(row, asset, axial_m);
}
