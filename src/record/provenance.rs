//! Where the record comes from: every file that went in with its SHA-256, the program, the thresholds in force.

use std::path::Path;

use serde::Serialize;
use serde_json::Value;
use sha2::{Digest, Sha256};

use super::photo::Photos;
use crate::digest::hex;
use crate::inspect::FrameReport;
use crate::register::Register;

/// Stems of the sheets that a record is made from, and their endings.
const SHEETS: [&str; 7] = [
    "survey",
    "assets",
    "frames",
    "observations",
    "verdicts",
    "openings",
    "wall",
];
const ENDINGS: [&str; 3] = ["toml", "csv", "xlsx"];

/// What findings of an earlier survey are called among the inputs.
pub(super) const EARLIER: &str = "earlier findings";

/// Where everything comes from.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Provenance {
    /// Files that went in: sheets, images, photographs, each once.
    pub inputs: Vec<InputFile>,
    /// Thresholds and half-widths in force, by dotted name.
    pub settings: Vec<(String, String)>,
}

/// A file that went in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct InputFile {
    /// Path from the survey folder, with forward slashes.
    pub path: String,
    /// What it is: `sheet`, `image`, `photograph`, `earlier findings`.
    pub kind: &'static str,
    /// SHA-256, hexadecimal; None where the file could not be read.
    pub sha256: Option<String>,
}

impl Provenance {
    /// Gathers it. Images and photographs keep the hash of the bytes that were used; sheets are read once more.
    #[must_use]
    pub fn gather(folder: &Path, register: &Register, frames: &[FrameReport], photos: &Photos) -> Self {
        let mut inputs: Vec<InputFile> = sheets(folder)
            .map(|name| InputFile {
                sha256: sha256_of(&folder.join(&name)),
                path: name,
                kind: "sheet",
            })
            .collect();
        for report in frames {
            let Some(row) = register.frames.get(report.frame) else {
                continue;
            };
            // One image may stand in several rows.
            if !inputs.iter().any(|input| input.path == row.file) {
                inputs.push(InputFile {
                    path: row.file.clone(),
                    kind: "image",
                    sha256: report.sha256.clone(),
                });
            }
        }
        for (path, hash) in photos.hashes() {
            if !inputs.iter().any(|input| input.path == path) {
                inputs.push(InputFile {
                    path: path.to_owned(),
                    kind: "photograph",
                    sha256: hash.map(ToOwned::to_owned),
                });
            }
        }
        Self {
            inputs,
            settings: Vec::new(),
        }
    }

    /// Takes an earlier survey's findings in, by the way to them from the survey folder.
    pub fn take_earlier(&mut self, way: String, file: &Path) {
        self.inputs.push(InputFile {
            sha256: sha256_of(file),
            path: way,
            kind: EARLIER,
        });
    }

    /// Takes the settings of findings.json, flattened.
    pub fn take_settings(&mut self, settings: &Value) {
        flatten("", settings, &mut self.settings);
    }
}

/// Names of the sheets that the folder holds.
pub(super) fn sheets(folder: &Path) -> impl Iterator<Item = String> {
    SHEETS
        .into_iter()
        .flat_map(|stem| ENDINGS.into_iter().map(move |ending| format!("{stem}.{ending}")))
        .filter(move |name| folder.join(name).is_file())
}

/// SHA-256 of a file's bytes, read piece by piece; None where it cannot be read.
pub(super) fn sha256_of(path: &Path) -> Option<String> {
    let mut file = std::fs::File::open(path).ok()?;
    let mut digest = Sha256::new();
    std::io::copy(&mut file, &mut digest).ok()?;
    Some(hex(&digest.finalize()))
}

fn flatten(prefix: &str, value: &Value, list: &mut Vec<(String, String)>) {
    match value {
        Value::Object(map) => {
            for (key, value) in map {
                let name = if prefix.is_empty() {
                    key.clone()
                } else {
                    format!("{prefix}.{key}")
                };
                flatten(&name, value, list);
            }
        }
        other => list.push((prefix.to_owned(), other.to_string())),
    }
}
