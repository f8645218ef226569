//! `manifest.json`: every file of the record and every file that it was made from, each with its SHA-256; and the check
//! whether any of them has changed since.

use std::collections::BTreeSet;
use std::path::{Component, Path, PathBuf};

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::provenance::{EARLIER, Provenance, sha256_of, sheets};
use super::staging::Written;
use crate::register::SurveyHead;

/// Name of the file.
pub const NAME: &str = "manifest.json";
/// What it calls itself.
const SCHEMA: &str = "coldjacket.manifest/1";
/// Bytes of the largest manifest that is read.
const LARGEST_BYTES: u64 = 64 * 1024 * 1024;

/// The manifest.
#[derive(Debug, Serialize, Deserialize)]
pub struct Manifest {
    schema: String,
    made_by: MadeBy,
    survey: Head,
    /// Where the survey folder lies, from the record's folder, with forward slashes.
    survey_folder: String,
    outputs: Vec<Output>,
    inputs: Vec<Input>,
}

#[derive(Debug, Serialize, Deserialize)]
struct MadeBy {
    program: String,
    version: String,
    units: String,
    palette: String,
    settings: Value,
}

#[derive(Debug, Serialize, Deserialize)]
struct Head {
    title: String,
    plant: String,
    date: String,
}

#[derive(Debug, Serialize, Deserialize)]
struct Output {
    path: String,
    bytes: u64,
    sha256: String,
}

#[derive(Debug, Serialize, Deserialize)]
struct Input {
    path: String,
    kind: String,
    /// None where the file was not there, or could not be read.
    sha256: Option<String>,
}

/// What a manifest is made from.
pub struct Material<'a> {
    /// Title, plant and date.
    pub head: &'a SurveyHead,
    /// What went in.
    pub provenance: &'a Provenance,
    /// What came out.
    pub written: Vec<Written>,
    /// Thresholds in force, as findings.json has them.
    pub settings: Value,
    /// Units of what people read.
    pub units: &'a str,
    /// Colour map.
    pub palette: &'a str,
    /// The survey folder, seen from the record's.
    pub survey_folder: String,
}

impl Manifest {
    /// The manifest of a record.
    #[must_use]
    pub fn new(material: Material) -> Self {
        let Material {
            head,
            provenance,
            written,
            settings,
            units,
            palette,
            survey_folder,
        } = material;
        Self {
            schema: SCHEMA.to_owned(),
            made_by: MadeBy {
                program: "coldjacket".to_owned(),
                version: env!("CARGO_PKG_VERSION").to_owned(),
                units: units.to_owned(),
                palette: palette.to_owned(),
                settings,
            },
            survey: Head {
                title: head.title.clone(),
                plant: head.plant.clone(),
                date: head.date.clone(),
            },
            survey_folder,
            outputs: written
                .into_iter()
                .map(|file| Output {
                    path: file.path,
                    bytes: file.bytes,
                    sha256: file.sha256,
                })
                .collect(),
            inputs: provenance
                .inputs
                .iter()
                .map(|input| Input {
                    path: input.path.clone(),
                    kind: input.kind.to_owned(),
                    sha256: input.sha256.clone(),
                })
                .collect(),
        }
    }
}

/// Why a record cannot be checked.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// There is no manifest.
    #[error("{path}: is missing\n  hint: give the folder that coldjacket record wrote with --out")]
    Missing {
        /// Where it should be.
        path: PathBuf,
    },
    /// It cannot be read, or is none.
    #[error(
        "{path}: {problem} (accepted: a manifest.json of {SCHEMA})\n  hint: take the record anew from where it is kept, or make it again"
    )]
    Unreadable {
        /// The path.
        path: PathBuf,
        /// What is wrong.
        problem: String,
    },
    /// The survey folder is not where it was.
    #[error(
        "{path}: is not there, so images and sheets cannot be checked\n  hint: say where it is: coldjacket record FOLDER --verify DIR"
    )]
    NoSurvey {
        /// Where it should be.
        path: PathBuf,
    },
}

/// What a check found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verification {
    /// Files of the record that were checked.
    pub outputs: usize,
    /// Files it was made from that were checked.
    pub inputs: usize,
    /// What differs, in the order of the manifest.
    pub changes: Vec<Change>,
    /// Files in the record's folder that are no part of it.
    pub strangers: Vec<String>,
    /// SHA-256 of the manifest itself.
    pub manifest_sha256: String,
}

/// A file that differs from the manifest.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Its path, within the record's or the survey's folder.
    pub path: String,
    /// `record`, `sheet`, `image` or `photograph`.
    pub kind: String,
    /// What happened to it.
    pub what: What,
}

/// What happened to a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// Other bytes.
    Changed,
    /// It is gone, or cannot be read.
    Gone,
    /// It was not there when the record was made.
    New,
}

impl What {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Changed => "has changed",
            Self::Gone => "is gone or cannot be read",
            Self::New => "was not there when the record was made",
        }
    }
}

/// Checks a record's folder against its manifest, and the survey folder it was made from.
///
/// # Errors
/// [`Error`] where there is nothing to check against.
pub fn verify(record: &Path, survey: Option<&Path>) -> Result<Verification, Error> {
    let path = record.join(NAME);
    let manifest = read(&path)?;
    let survey = survey.map_or_else(|| record.join(&manifest.survey_folder), Path::to_path_buf);
    let mut changes = Vec::new();
    for output in &manifest.outputs {
        let found = sha256_of(&record.join(&output.path));
        changes.extend(change(&output.path, "record", (Some(&output.sha256), found)));
    }
    if !survey.is_dir() {
        // What is known to differ is told even so.
        if changes.is_empty() {
            return Err(Error::NoSurvey { path: survey });
        }
    } else {
        for input in &manifest.inputs {
            let found = sha256_of(&survey.join(&input.path));
            changes.extend(change(&input.path, &input.kind, (input.sha256.as_ref(), found)));
        }
        for name in sheets(&survey) {
            if !manifest.inputs.iter().any(|input| input.path == name) {
                changes.push(Change {
                    path: name,
                    kind: "sheet".to_owned(),
                    what: What::New,
                });
            }
        }
    }
    Ok(Verification {
        outputs: manifest.outputs.len(),
        inputs: manifest.inputs.len(),
        changes,
        strangers: strangers(record, &manifest),
        manifest_sha256: sha256_of(&path).unwrap_or_default(),
    })
}

fn change(path: &str, kind: &str, (then, now): (Option<&String>, Option<String>)) -> Option<Change> {
    let what = match (then, &now) {
        (Some(then), Some(now)) if then == now => return None,
        (None, None) => return None,
        (Some(_), Some(_)) => What::Changed,
        (Some(_), None) => What::Gone,
        (None, Some(_)) => What::New,
    };
    Some(Change {
        path: path.to_owned(),
        kind: kind.to_owned(),
        what,
    })
}

fn read(path: &Path) -> Result<Manifest, Error> {
    let unreadable = |problem: String| Error::Unreadable {
        path: path.to_path_buf(),
        problem,
    };
    let Ok(metadata) = std::fs::metadata(path) else {
        return Err(Error::Missing {
            path: path.to_path_buf(),
        });
    };
    if metadata.len() > LARGEST_BYTES {
        return Err(unreadable(format!(
            "is larger than {} MiB",
            LARGEST_BYTES / (1024 * 1024)
        )));
    }
    let bytes = std::fs::read(path).map_err(|error| unreadable(format!("cannot be read: {error}")))?;
    let manifest: Manifest =
        serde_json::from_slice(&bytes).map_err(|error| unreadable(format!("is no manifest: {error}")))?;
    if manifest.schema != SCHEMA {
        return Err(unreadable(format!("is of schema {:?}", manifest.schema)));
    }
    let paths = manifest.outputs.iter().map(|output| &output.path);
    // Earlier findings lie wherever they were kept: nothing of them is shown, only whether they are the same.
    let inputs = manifest.inputs.iter().filter(|input| input.kind != EARLIER);
    let paths = paths.chain(inputs.map(|input| &input.path));
    // A manifest that leads elsewhere was not written by this program.
    match paths.into_iter().find(|path| !is_within(path)) {
        Some(path) => Err(unreadable(format!("names {path:?}, which leads out of its folder"))),
        None => Ok(manifest),
    }
}

fn is_within(path: &str) -> bool {
    let mut parts = Path::new(path).components();
    !path.is_empty() && parts.all(|part| matches!(part, Component::Normal(_)))
}

/// Files in the record's folder that the manifest does not list, two folders deep: the record goes no deeper.
fn strangers(record: &Path, manifest: &Manifest) -> Vec<String> {
    let known: BTreeSet<&str> = manifest.outputs.iter().map(|output| output.path.as_str()).collect();
    let mut found = BTreeSet::new();
    for (name, path) in entries(record) {
        if path.is_dir() {
            for (inner, _) in entries(&path) {
                found.insert(format!("{name}/{inner}"));
            }
        } else {
            found.insert(name);
        }
    }
    let is_stranger = |name: &String| name != NAME && !known.contains(name.as_str());
    found.into_iter().filter(is_stranger).collect()
}

fn entries(folder: &Path) -> Vec<(String, PathBuf)> {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return Vec::new();
    };
    entries
        .filter_map(Result::ok)
        .map(|entry| (entry.file_name().to_string_lossy().into_owned(), entry.path()))
        .collect()
}

/// Where `to` lies as seen from `from`, both absolute, with forward slashes; `to` itself where they share no root.
#[must_use]
pub fn from_to(from: &Path, to: &Path) -> String {
    let (from_parts, to_parts): (Vec<_>, Vec<_>) = (from.components().collect(), to.components().collect());
    let shared = from_parts.iter().zip(&to_parts).take_while(|(a, b)| a == b).count();
    if shared == 0 {
        return to.to_string_lossy().into_owned();
    }
    let up = std::iter::repeat_n("..".to_owned(), from_parts.len() - shared);
    let down = to_parts
        .iter()
        .skip(shared)
        .map(|part| part.as_os_str().to_string_lossy().into_owned());
    let parts: Vec<String> = up.chain(down).collect();
    if parts.is_empty() {
        ".".to_owned()
    } else {
        parts.join("/")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_way_from_one_folder_to_another() {
        let way = |from: &str, to: &str| from_to(Path::new(from), Path::new(to));
        assert_eq!(way("/a/b/out", "/a/b/survey"), "../survey");
        assert_eq!(way("/a/out", "/a/x/y"), "../x/y");
        assert_eq!(way("/a/s/out", "/a/s"), "..");
        assert_eq!(way("/a", "/a"), ".");
    }

    #[test]
    fn a_manifest_may_not_lead_elsewhere() {
        assert!(is_within("annotated/a.png"));
        for path in ["../x", "/etc/passwd", "a/../../b", "", "."] {
            assert!(!is_within(path), "{path}");
        }
    }
}
