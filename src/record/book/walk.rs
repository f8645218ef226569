//! The walk round in words.

use serde::Serialize;

use super::names;
use super::{Material, plain};
use crate::rank::place::{bearing_words, clock_words};
use crate::record::figures::unrolled::Pin;
use crate::register::around::Observation;
use crate::register::{Asset, Shape};

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

/// The letter of an observation in its table: A to Z, then AA, AB …
fn letter(number: usize) -> String {
    let one = |n: usize| char::from(b'A' + u8::try_from(n % 26).unwrap_or(0));
    if number < 26 {
        one(number).to_string()
    } else {
        format!("{}{}", letter(number / 26 - 1), one(number))
    }
}

/// The observation in words.
pub(super) fn observation(
    material: &Material,
    asset: &Asset,
    (number, seen): (usize, &Observation),
) -> ObservationView {
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
        Shape::VerticalCylinder { .. } | Shape::Flat { .. } => seen
            .bearing_deg
            .map(|bearing| format!("bearing {}", bearing_words(bearing))),
    };
    let along = seen.axial_m.map(|m| format!("{} from datum", material.units.length(m)));
    let parts: Vec<String> = along.into_iter().chain(round).collect();
    if parts.is_empty() {
        "no place given".to_owned()
    } else {
        parts.join(", ")
    }
}

/// An observation's place on the map; none where it has no place along the asset.
pub(super) fn pin(asset: &Asset, number: usize, seen: &Observation) -> Option<Pin> {
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
