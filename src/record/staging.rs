//! Output put in place at once: everything is written to a folder beside the wanted one, which then takes its name.

mod turn;
mod written;

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use sha2::{Digest, Sha256};
use tempfile::TempDir;

use crate::digest;
use turn::{FORMER, MARK, Refusal, Turn};
use written::List;
pub use written::Written;

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
    /// Another run writes there.
    #[error("{path}: another run is writing results there\n  hint: wait until it is done, or choose another --out")]
    Busy {
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
    /// Its name in the mark of a folder in the making.
    fn name(self) -> &'static str {
        match self {
            Self::Results => "results",
            Self::Plan => "plan",
            Self::Comparison => "comparison",
            Self::Followup => "followup",
        }
    }

    /// The product of that name.
    fn of(name: &str) -> Self {
        let all = [Self::Plan, Self::Comparison, Self::Followup];
        all.into_iter().find(|one| one.name() == name).unwrap_or(Self::Results)
    }

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
const OURS: [&str; 11] = [
    COMPARISONS[0],
    COMPARISONS[1],
    "findings.json",
    "findings.csv",
    "findings.parquet",
    "annotated",
    "record.html",
    "followup-list.xlsx",
    "followup-list.csv",
    "pdf",
    super::manifest::NAME,
];

/// A result folder in the making.
#[derive(Debug)]
pub struct Staging {
    target: PathBuf,
    product: Product,
    folder: TempDir,
    written: Mutex<List>,
    /// Last, so that it is given back when the folder above is gone.
    _turn: Turn,
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
        let turn = Turn::take(&target).map_err(|refusal| match refusal {
            Refusal::Busy => Error::Busy { path: target.clone() },
            Refusal::System(problem) => system("cannot make a file beside it", &target)(problem),
        })?;
        turn::clear(&target, |name| Product::of(name).ours()).map_err(system(
            "cannot clear away what an interrupted run left beside it",
            &target,
        ))?;
        let folder = tempfile::Builder::new()
            .prefix(&turn::prefix(&target))
            .tempdir_in(parent)
            .map_err(system("cannot make a folder beside it", &target))?;
        fs::write(folder.path().join(MARK), product.name())
            .map_err(system("cannot write in the folder beside it", &target))?;
        Ok(Self {
            _turn: turn,
            target,
            product,
            folder,
            written: Mutex::default(),
        })
    }

    /// Writes one file, named by its path within the result folder.
    ///
    /// # Errors
    /// [`Error::System`].
    pub fn write(&self, name: &Path, bytes: &[u8]) -> Result<Written, Error> {
        let (path, wrong) = self.place(name)?;
        fs::write(&path, bytes).map_err(wrong)?;
        Ok(self.list(name, digest::sha256(bytes), bytes.len() as u64))
    }

    /// As [`Staging::write`], of a text that is too long to be held: `fill` writes it.
    ///
    /// # Errors
    /// [`Error::System`], also for what `fill` refuses.
    pub fn stream(
        &self,
        name: &Path,
        fill: impl FnOnce(&mut (dyn io::Write + Send)) -> io::Result<()>,
    ) -> Result<Written, Error> {
        let (path, wrong) = self.place(name)?;
        let made = || {
            let mut file = Digested {
                file: io::BufWriter::new(fs::File::create(&path)?),
                hasher: Sha256::new(),
                bytes: 0,
            };
            fill(&mut file)?;
            file.flush()?;
            Ok((digest::hex(&file.hasher.finalize()), file.bytes))
        };
        let (sha256, bytes) = made().map_err(wrong)?;
        Ok(self.list(name, sha256, bytes))
    }

    /// Takes a file that lies elsewhere, if it still has that digest: shares its bytes where the file system can.
    ///
    /// # Errors
    /// [`Error::System`], also where it cannot be read.
    pub fn take_shared(&self, name: &Path, elsewhere: &Path, sha256: &str) -> Result<Option<Written>, Error> {
        let (path, wrong) = self.place(name)?;
        let bytes = fs::read(elsewhere).map_err(&wrong)?;
        if digest::sha256(&bytes) != sha256 {
            return Ok(None);
        }
        fs::hard_link(elsewhere, &path)
            .or_else(|_| fs::write(&path, &bytes))
            .map_err(&wrong)?;
        Ok(Some(self.list(name, sha256.to_owned(), bytes.len() as u64)))
    }

    /// Gives a file of the folder in the making a second name elsewhere, or copies it there where that cannot be.
    ///
    /// # Errors
    /// What the system says.
    pub fn share(&self, name: &Path, elsewhere: &Path) -> io::Result<()> {
        let path = self.folder.path().join(name);
        fs::hard_link(&path, elsewhere).or_else(|_| fs::copy(&path, elsewhere).map(|_| ()))
    }

    /// Where a file is written, its folder made, and how to tell what goes wrong there.
    fn place(&self, name: &Path) -> Result<(PathBuf, impl Fn(io::Error) -> Error + use<>), Error> {
        let path = self.folder.path().join(name);
        let shown = self.target.join(name);
        let wrong = move |problem| Error::System {
            path: shown.clone(),
            action: "cannot write",
            problem,
        };
        if let Some(parent) = path.parent() {
            fs::create_dir_all(parent).map_err(&wrong)?;
        }
        Ok((path, wrong))
    }

    fn list(&self, name: &Path, sha256: String, bytes: u64) -> Written {
        let parts: Vec<_> = name.iter().map(|part| part.to_string_lossy()).collect();
        let written = Written {
            path: parts.join("/"),
            sha256,
            bytes,
        };
        // A thread that panicked elsewhere has left the list as it was.
        self.written
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .push(&written);
        written
    }

    /// Where the finished folder will stand, absolute.
    #[must_use]
    pub fn target(&self) -> &Path {
        &self.target
    }

    /// A folder on the same disk, for files without names.
    #[must_use]
    pub fn beside(&self) -> &Path {
        self.target.parent().unwrap_or(&self.target)
    }

    /// What has been written so far, by path.
    #[must_use]
    pub fn written(&self) -> Vec<Written> {
        self.written.lock().unwrap_or_else(PoisonError::into_inner).sorted()
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
        let unmark = || fs::remove_file(target.join(MARK));
        let made = self.folder.keep();
        if !target.exists() {
            fs::rename(made, &target).map_err(wrong("cannot put the results in place"))?;
            return unmark().map_err(wrong("cannot finish the results"));
        }
        // At once where the system can: at no moment is there no result.
        let aside = if turn::exchange(&made, &target).is_ok() {
            made
        } else {
            put_aside(&made, &target)?
        };
        keep_foreign(&aside, &target, self.product.ours())
            .map_err(wrong("cannot keep the other files of the folder"))?;
        fs::remove_dir_all(&aside).map_err(wrong("cannot remove the former results"))?;
        unmark().map_err(wrong("cannot finish the results"))
    }
}

/// A file whose digest grows as it is written.
struct Digested {
    file: io::BufWriter<fs::File>,
    hasher: Sha256,
    bytes: u64,
}

impl io::Write for Digested {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let taken = self.file.write(bytes)?;
        self.hasher.update(&bytes[..taken]);
        self.bytes += taken as u64;
        Ok(taken)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

/// Puts the former result aside and the new one in its place, in two steps; where the former stands now.
fn put_aside(made: &Path, target: &Path) -> Result<PathBuf, Error> {
    let wrong = |action, problem| Error::System {
        path: target.to_path_buf(),
        action,
        problem,
    };
    let mut aside = made.as_os_str().to_owned();
    aside.push(FORMER);
    let aside = PathBuf::from(aside);
    fs::rename(target, &aside).map_err(|problem| wrong("cannot put the former results aside", problem))?;
    let Err(problem) = fs::rename(made, target) else {
        return Ok(aside);
    };
    // Back to what was: the former result must not be lost for a failed new one.
    let action = if fs::rename(&aside, target).is_ok() {
        "cannot put the results in place"
    } else {
        "cannot put the former results back"
    };
    Err(wrong(action, problem))
}

/// Files in the former folder that this program did not write move into the new one.
fn keep_foreign(former: &Path, target: &Path, ours: &[&str]) -> io::Result<()> {
    for entry in fs::read_dir(former)? {
        let entry = entry?;
        let there = target.join(entry.file_name());
        let is_ours = ours.iter().any(|name| entry.file_name() == *name) || entry.file_name() == MARK;
        if !is_ours && !there.exists() {
            fs::rename(entry.path(), there)?;
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
