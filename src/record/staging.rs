//! Output put in place at once: everything is written to a folder beside the wanted one, which then takes its name.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use sha2::{Digest, Sha256};
use tempfile::TempDir;

use super::hex;

/// Why output could not be written; found before any image is read where possible.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The output folder is the survey folder, or holds it.
    #[error("{path}: is the survey folder or holds it (accepted: a folder of its own)\n  hint: choose another --out")]
    HoldsSurvey {
        /// The path.
        path: PathBuf,
    },
    /// Something that is not a folder stands there.
    #[error(
        "{path}: is not a folder (accepted: a new folder, or one of earlier results)\n  hint: choose another --out"
    )]
    NotAFolder {
        /// The path.
        path: PathBuf,
    },
    /// A folder that holds other things.
    #[error(
        "{path}: holds files but no findings.json or other result (accepted: a new or empty folder, or one of earlier results)\n  hint: choose another --out"
    )]
    NotOurs {
        /// The path.
        path: PathBuf,
    },
    /// The system refused.
    #[error("{path}: {action}: {problem}\n  hint: check that the folder can be written and the disk is not full")]
    System {
        /// The path.
        path: PathBuf,
        /// What was being done.
        action: &'static str,
        /// What the system said. Not called `source`: the message says it already, and a chain would say it twice.
        problem: io::Error,
    },
}

/// What is put into a folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Product {
    /// A survey's results, the record among them.
    Results,
    /// A plan.
    Plan,
    /// A comparison with earlier surveys.
    Comparison,
    /// What openings and wall readings say.
    Followup,
}

impl Product {
    /// Names that may be replaced where this is written.
    fn ours(self) -> &'static [&'static str] {
        match self {
            Self::Results => &OURS,
            Self::Plan => &PLANS,
            Self::Comparison => &COMPARISONS,
            Self::Followup => &FOLLOWUPS,
        }
    }
}

/// Files by which a folder is known to hold results of this program.
const MARKS: [&str; 4] = ["findings.json", PLANS[0], COMPARISONS[0], FOLLOWUPS[0]];

/// Names of a plan's files.
pub const PLANS: [&str; 2] = ["plan.json", "field-sheet.html"];

/// Names of a comparison's files.
pub const COMPARISONS: [&str; 2] = ["comparison.json", "comparison.csv"];

/// Names of a follow-up's files.
pub const FOLLOWUPS: [&str; 2] = ["followup.json", "followup.csv"];

/// Names that this program writes into a result folder, and so may replace there.
const OURS: [&str; 10] = [
    COMPARISONS[0],
    COMPARISONS[1],
    "findings.json",
    "findings.csv",
    "annotated",
    "record.html",
    "followup-list.xlsx",
    "followup-list.csv",
    "pdf",
    super::manifest::NAME,
];

/// A file of a result folder.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Written {
    /// Path within the folder, with forward slashes.
    pub path: String,
    /// SHA-256 of its bytes, hexadecimal.
    pub sha256: String,
    /// How many bytes.
    pub bytes: u64,
}

/// A result folder in the making.
#[derive(Debug)]
pub struct Staging {
    target: PathBuf,
    product: Product,
    folder: TempDir,
    written: Mutex<Vec<Written>>,
}

impl Staging {
    /// Begins a result folder that will stand at `target`; nothing there is touched yet.
    ///
    /// # Errors
    /// [`Error`] where the target cannot be used.
    pub fn begin(target: &Path, survey: &Path) -> Result<Self, Error> {
        Self::begin_product(Product::Results, target, survey)
    }

    /// Begins a folder that will hold a product of this kind; files of other kinds there will be kept.
    ///
    /// # Errors
    /// [`Error`] where the target cannot be used.
    pub fn begin_product(product: Product, target: &Path, survey: &Path) -> Result<Self, Error> {
        let system = |action, path: &Path| {
            let path = path.to_path_buf();
            move |problem| Error::System { path, action, problem }
        };
        let target = std::path::absolute(target).map_err(system("cannot tell where it is", target))?;
        check(&target, survey)?;
        let parent = target.parent().unwrap_or(&target);
        fs::create_dir_all(parent).map_err(system("cannot make the folder", parent))?;
        let folder = tempfile::Builder::new()
            .prefix(".coldjacket-unfinished-")
            .tempdir_in(parent)
            .map_err(system("cannot make a folder beside it", &target))?;
        Ok(Self {
            target,
            product,
            folder,
            written: Mutex::new(Vec::new()),
        })
    }

    /// Writes one file, named by its path within the result folder.
    ///
    /// # Errors
    /// [`Error::System`].
    pub fn write(&self, name: &Path, bytes: &[u8]) -> Result<(), Error> {
        let path = self.folder.path().join(name);
        let shown = self.target.join(name);
        let wrong = |problem| Error::System {
            path: shown.clone(),
            action: "cannot write",
            problem,
        };
        if let Some(parent) = path.parent() {
            fs::create_dir_all(parent).map_err(wrong)?;
        }
        fs::write(&path, bytes).map_err(wrong)?;
        let parts: Vec<_> = name.iter().map(|part| part.to_string_lossy()).collect();
        let written = Written {
            path: parts.join("/"),
            sha256: hex(&Sha256::digest(bytes)),
            bytes: bytes.len() as u64,
        };
        // A thread that panicked elsewhere has left the list as it was.
        self.written
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .push(written);
        Ok(())
    }

    /// Where the finished folder will stand, absolute.
    #[must_use]
    pub fn target(&self) -> &Path {
        &self.target
    }

    /// What has been written so far, by path.
    #[must_use]
    pub fn written(&self) -> Vec<Written> {
        let mut written = self.written.lock().unwrap_or_else(PoisonError::into_inner).clone();
        written.sort();
        written
    }

    /// Puts the finished folder in place; an earlier result there is replaced, other files in it are kept.
    ///
    /// # Errors
    /// [`Error::System`]; the earlier result then stands as it was.
    pub fn finish(self) -> Result<(), Error> {
        let target = self.target.clone();
        let wrong = |action| {
            let path = target.clone();
            move |problem| Error::System { path, action, problem }
        };
        set_readable(self.folder.path());
        if !self.target.exists() {
            let made = self.folder.keep();
            return fs::rename(made, &self.target).map_err(wrong("cannot put the results in place"));
        }
        let aside = self.folder.path().with_extension("former");
        let made = self.folder.keep();
        fs::rename(&self.target, &aside).map_err(wrong("cannot put the former results aside"))?;
        if let Err(problem) = fs::rename(&made, &self.target) {
            // Back to what was: the former result must not be lost for a failed new one.
            let restored = fs::rename(&aside, &self.target);
            let action = if restored.is_ok() {
                "cannot put the results in place"
            } else {
                "cannot put the former results back"
            };
            return Err(Error::System {
                path: target.clone(),
                action,
                problem,
            });
        }
        keep_foreign(&aside, &self.target, self.product.ours())
            .map_err(wrong("cannot keep the other files of the folder"))?;
        fs::remove_dir_all(&aside).map_err(wrong("cannot remove the former results"))
    }
}

/// Files in the former folder that this program did not write move into the new one.
fn keep_foreign(former: &Path, target: &Path, ours: &[&str]) -> io::Result<()> {
    for entry in fs::read_dir(former)? {
        let entry = entry?;
        if !ours.iter().any(|name| entry.file_name() == *name) {
            fs::rename(entry.path(), target.join(entry.file_name()))?;
        }
    }
    Ok(())
}

/// A temporary folder is private; a result folder has the rights of any new folder.
fn set_readable(path: &Path) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // Failing here only leaves the folder private, which the owner can see and change.
        let _ = fs::set_permissions(path, fs::Permissions::from_mode(0o755));
    }
    #[cfg(not(unix))]
    let _ = path;
}

fn check(target: &Path, survey: &Path) -> Result<(), Error> {
    let real = |path: &Path| fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    if real(survey).starts_with(real(target)) {
        return Err(Error::HoldsSurvey {
            path: target.to_path_buf(),
        });
    }
    match fs::metadata(target) {
        Err(_) => Ok(()),
        Ok(metadata) if !metadata.is_dir() => Err(Error::NotAFolder {
            path: target.to_path_buf(),
        }),
        Ok(_) => {
            let mut entries = fs::read_dir(target).map_err(|problem| Error::System {
                path: target.to_path_buf(),
                action: "cannot be read",
                problem,
            })?;
            let empty = entries.next().is_none();
            if empty || MARKS.iter().any(|mark| target.join(mark).is_file()) {
                Ok(())
            } else {
                Err(Error::NotOurs {
                    path: target.to_path_buf(),
                })
            }
        }
    }
}
