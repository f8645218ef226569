//! All that the record says, in words and in the units chosen: the pages, the PDFs and the list are filled from it alone.
//!
//! What comes in: a [`Survey`] with its shots, the sheets around it, photographs. What is guaranteed out: plain texts and
//! figures, no markup; every zone of the survey exactly once, as listed, set aside or rejected; nothing that depends on the
//! clock or on the machine. What is not handled: layout, which is the templates'.

use std::borrow::Cow;
use std::collections::BTreeMap;

use serde::Serialize;

use super::Survey;
use super::figures::Figure;
use super::findings::CAUTIONS;
use super::photo::Photos;
use super::provenance::Provenance;
use crate::compare::Comparison;
use crate::detect::coverage::Coverage;
use crate::followup::Followup;
use crate::register::Register;
use crate::register::around::Around;
use crate::units::Units;

mod asset;
mod frames;
mod identity;
mod later;
mod method;
pub mod names;
mod summary;
mod walk;
mod zones;

pub use asset::AssetPage;
pub use frames::FrameView;
pub use summary::Summary;
pub use walk::ObservationView;
pub use zones::{PartView, VerdictView, ZoneView};

/// What a record is made from.
#[derive(Clone, Copy)]
pub struct Material<'a> {
    /// The sheets.
    pub register: &'a Register,
    /// The sheets around the survey.
    pub around: &'a Around,
    /// The survey, with its shots.
    pub survey: &'a Survey,
    /// Photographs by their path in the survey folder.
    pub photos: &'a Photos,
    /// Where everything comes from.
    pub provenance: &'a Provenance,
    /// This survey against earlier ones, where they were given.
    pub compared: Option<&'a Comparison>,
    /// What openings and wall readings say, where there are any.
    pub followed: Option<&'a Followup>,
    /// Units of all that people read.
    pub units: Units,
}

impl Material<'_> {
    /// What the survey saw of an asset of the register; nothing where no frame could be used.
    fn coverage(&self, asset: usize) -> Cow<'_, Coverage> {
        match self.survey.coverage.get(asset) {
            Some(Some(coverage)) => Cow::Borrowed(coverage),
            _ => Cow::Owned(Coverage::nothing(&self.register.assets[asset].shape)),
        }
    }
}

/// A label and what belongs to it.
#[derive(Debug, Clone, Serialize)]
pub struct Entry {
    /// The label.
    pub label: String,
    /// What belongs to it.
    pub text: String,
}

impl Entry {
    fn new(label: &str, text: impl Into<String>) -> Self {
        Self {
            label: label.to_owned(),
            text: text.into(),
        }
    }
}

/// The record.
#[derive(Debug, Serialize)]
pub struct Book {
    /// Title of the survey.
    pub title: String,
    /// The plant.
    pub plant: String,
    /// Date of the survey, as the sheet writes it.
    pub date: String,
    /// The inspector, where given.
    pub inspector: Option<String>,
    /// Program and version.
    pub made_by: String,
    /// `si` or `us`.
    pub units: Units,
    /// Sheet of paper: `a4`, or `us-letter` with US units.
    pub paper: &'static str,
    /// What every page says.
    pub cautions: [&'static str; 4],
    /// The survey in numbers.
    pub summary: Summary,
    /// One page an asset, in the order of the register.
    pub assets: Vec<AssetPage>,
    /// Every zone: listed in rank order, then set aside, then rejected.
    pub zones: Vec<ZoneView>,
    /// How it was done, a paragraph each.
    pub method: Vec<Entry>,
    /// Doubts about the sheets.
    pub warnings: Vec<String>,
    /// Where everything comes from.
    pub provenance: Provenance,
    /// Drawings by name; not part of what templates read as data.
    #[serde(skip)]
    pub figures: BTreeMap<String, Figure>,
    /// Pictures by file name: photographs (JPEG) and thumbnails (PNG).
    #[serde(skip)]
    pub pictures: BTreeMap<String, Vec<u8>>,
}

impl Book {
    /// Writes the record's content.
    #[must_use]
    pub fn write(material: &Material) -> Self {
        let register = material.register;
        let names = names::Names::of(register);
        let mut book = Self {
            title: register.survey.title.clone(),
            plant: register.survey.plant.clone(),
            date: register.survey.date.clone(),
            inspector: register.survey.inspector.clone(),
            made_by: format!("coldjacket {}", env!("CARGO_PKG_VERSION")),
            units: material.units,
            paper: match material.units {
                Units::Si => "a4",
                Units::Us => "us-letter",
            },
            cautions: CAUTIONS,
            summary: summary::of(material),
            assets: Vec::new(),
            zones: zones::all(material, &names),
            method: method::words(material),
            warnings: register.warnings.clone(),
            provenance: material.provenance.clone(),
            figures: BTreeMap::new(),
            pictures: BTreeMap::new(),
        };
        book.take_pictures(material, &names);
        for asset in 0..register.assets.len() {
            let page = asset::write(material, &names, asset, &mut book);
            book.assets.push(page);
        }
        book
    }

    fn take_pictures(&mut self, material: &Material, names: &names::Names) {
        for (path, photo) in material.photos.shown() {
            self.pictures.insert(names::photo(path), photo.to_vec());
        }
        for shot in &material.survey.shots {
            for (id, png) in &shot.thumbnails {
                self.pictures.insert(names.thumbnail(id), png.0.clone());
            }
        }
    }

    /// Zones on the list, in rank order.
    pub fn listed(&self) -> impl Iterator<Item = &ZoneView> {
        self.zones.iter().filter(|zone| zone.standing == "listed")
    }

    /// Keeps a figure and gives its name.
    fn keep(&mut self, figure: Figure) -> FigureView {
        let view = FigureView {
            name: figure.name.clone(),
            words: figure.words.clone(),
        };
        self.figures.insert(figure.name.clone(), figure);
        view
    }
}

/// A figure by its name.
#[derive(Debug, Clone, Serialize)]
pub struct FigureView {
    /// Name among the figures.
    pub name: String,
    /// What it shows, in words.
    pub words: String,
}

/// A count and its noun.
pub(super) fn counted(count: usize, noun: &str) -> String {
    format!("{count} {noun}{}", if count == 1 { "" } else { "s" })
}

/// A word of the findings as people write it: `open-and-inspect` → `open and inspect`.
pub(super) fn plain(key: &str) -> String {
    key.replace('-', " ")
}
