//! The files that people and programs read: `findings.json`, `findings.csv`, annotated pictures, all put in place at once.

pub mod after;
pub mod annotate;
pub mod base64;
pub mod book;
pub mod comparison;
pub mod figures;
pub mod findings;
pub mod followup;
pub mod ledger;
pub mod list;
pub mod manifest;
pub mod pages;
pub mod palette;
pub mod pdf;
pub mod photo;
pub mod picture;
pub mod place;
pub mod provenance;
pub mod shot;
pub mod staging;
pub mod svg;
pub mod table;
pub mod workbook;

use crate::detect::coverage::Coverage;
use crate::inspect::FrameReport;
use crate::rank::Ranked;

/// A survey assessed, all of it in memory: what the pages of a record are made from.
#[derive(Debug)]
pub struct Survey {
    /// One report a frame, in the order of the sheet.
    pub frames: Vec<FrameReport>,
    /// Zones in follow-up order, what is set aside last.
    pub zones: Vec<Ranked>,
    /// What was seen of each asset, in the order of the register; None where no frame was usable.
    pub coverage: Vec<Option<Coverage>>,
    /// What the record shows of each frame that could be read, in the order of the sheet; empty where none is made.
    pub shots: Vec<shot::Shot>,
}

/// What is told of a record that was made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Made {
    /// Its folder, as it was typed.
    pub folder: std::path::PathBuf,
    /// How many files.
    pub files: usize,
    /// SHA-256 of the manifest.
    pub manifest_sha256: String,
}

impl Made {
    /// What was made, once the manifest is written.
    #[must_use]
    pub fn of(staging: &staging::Staging, folder: &std::path::Path) -> Self {
        let written = staging.written();
        let manifest = written.iter().find(|file| file.path == manifest::NAME);
        Self {
            folder: folder.to_path_buf(),
            files: written.len(),
            manifest_sha256: manifest.map(|file| file.sha256.clone()).unwrap_or_default(),
        }
    }
}
