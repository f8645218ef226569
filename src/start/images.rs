//! The images of a folder: which can be read, when each was taken, what its values are likely to mean.

use std::path::{Path, PathBuf};

use rayon::prelude::*;

use super::proposal::{self, Proposal};
use super::{Error, Order};
use crate::read::{self, Limits};
use crate::register;

/// Folder of the survey that images are copied to.
const FOLDER: &str = "images";
/// Folders within folders that are looked through.
const DEEPEST: usize = 32;

/// An image that gets a row.
#[derive(Debug, Clone)]
pub struct Image {
    /// Path from the survey folder, as the sheet states it.
    pub file: String,
    /// Where it lies now.
    pub source: PathBuf,
    /// When it was taken, ISO 8601, where the file states it.
    pub captured_at: Option<String>,
    /// What its values are likely to mean.
    pub proposal: Proposal,
}

/// A file that gets none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Skipped {
    /// Its path within the images' folder.
    pub path: String,
    /// Why.
    pub reason: String,
}

/// What a folder holds.
pub(super) struct Found {
    pub(super) images: Vec<Image>,
    pub(super) skipped: Vec<Skipped>,
    /// Whether the images have to be copied, as they lie outside the survey folder.
    pub(super) copied: bool,
}

/// Looks through the images' folder.
pub(super) fn find(order: &Order) -> Result<Found, Error> {
    let path = order.images.to_path_buf();
    let problem = match std::fs::metadata(&path) {
        Ok(metadata) if metadata.is_dir() => None,
        Ok(_) => Some("is not a folder"),
        Err(_) => Some("does not exist"),
    };
    if let Some(problem) = problem {
        return Err(Error::NoImageFolder { path, problem });
    }
    let real = |path: &Path| std::fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    let (images, folder) = (real(&path), real(order.folder));
    // Images within the survey folder stay where they are.
    let within = images.strip_prefix(&folder).ok().map(Path::to_path_buf);
    let mut files = Vec::new();
    walk(&images, &folder, 0, &mut files)?;
    files.sort();
    let looked: Vec<Result<Image, Skipped>> = files
        .into_par_iter()
        .map(|file| look(&images, &file, within.as_deref(), &order.limits))
        .collect();
    let mut found = Found {
        images: Vec::new(),
        skipped: Vec::new(),
        copied: within.is_none(),
    };
    for one in looked {
        match one {
            Ok(image) => found.images.push(image),
            Err(skipped) => found.skipped.push(skipped),
        }
    }
    if found.images.is_empty() {
        let skipped = found.skipped;
        return Err(Error::NoImages { path, skipped });
    }
    Ok(found)
}

/// Every file below a folder, hidden ones and the survey folder left out; links to folders are not followed.
fn walk(folder: &Path, survey: &Path, depth: usize, files: &mut Vec<PathBuf>) -> Result<(), Error> {
    let system = |problem| Error::System {
        path: folder.to_path_buf(),
        action: "cannot be looked through",
        problem,
    };
    for entry in std::fs::read_dir(folder).map_err(system)? {
        let entry = entry.map_err(system)?;
        let path = entry.path();
        let is_hidden = entry.file_name().to_string_lossy().starts_with('.');
        // Where the survey stands within its images, what was begun there before is no image.
        if is_hidden || (path == survey && depth < DEEPEST) {
            continue;
        }
        if entry.file_type().map_err(system)?.is_dir() {
            if depth < DEEPEST {
                walk(&path, survey, depth + 1, files)?;
            }
        } else {
            files.push(path);
        }
    }
    Ok(())
}

fn look(images: &Path, file: &Path, within: Option<&Path>, limits: &Limits) -> Result<Image, Skipped> {
    let inner = file.strip_prefix(images).unwrap_or(file);
    let skipped = |reason: String| Skipped {
        path: inner.to_string_lossy().into_owned(),
        reason,
    };
    let at = match within {
        Some(within) => within.join(inner),
        None => Path::new(FOLDER).join(inner),
    };
    let parts: Option<Vec<&str>> = at.iter().map(|part| part.to_str()).collect();
    let name = parts
        .map(|parts| parts.join("/"))
        .filter(|name| register::is_path(name))
        .ok_or_else(|| {
            skipped("its name cannot stand in a sheet; hint: rename it, letters, digits, - and _ will do".to_owned())
        })?;
    let raw = read::read_bytes(file, limits)
        .and_then(|bytes| read::decode(&bytes, limits))
        .map_err(|problem| skipped(problem.to_string()))?;
    Ok(Image {
        file: name,
        source: file.to_path_buf(),
        captured_at: raw
            .captured_at()
            .filter(|moment| register::is_date(moment))
            .map(str::to_owned),
        proposal: proposal::of(&raw),
    })
}
