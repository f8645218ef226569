//! Where findings come from: a result folder, a findings.json, or a survey folder that is assessed now.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::Context;

use crate::assess::usability::Usability;
use crate::batch::{self, Run};
use crate::cli::AssessArgs;
use crate::clock::Clock;
use crate::compare::findings::{Findings, parse};
use crate::record::findings::Document;
use crate::record::ledger::Ledger;
use crate::record::staging::Staging;
use crate::register::around::Around;
use crate::register::{self, Register};
use crate::settings::Settings;
use crate::tell;

/// Bytes of the largest findings.json that is read.
const LARGEST_BYTES: u64 = 256 * 1024 * 1024;
/// The file's name.
pub(super) const NAME: &str = "findings.json";

/// Whether every frame was used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Frames {
    AllUsed,
    SomeNot,
}

/// Findings of a result folder or file; None where the path is a folder without them.
///
/// # Errors
/// A file that cannot be read or is no findings.json.
pub(super) fn stored(path: &Path) -> anyhow::Result<Option<Findings>> {
    let Some((file, bytes)) = bytes_of(path, NAME)? else {
        return Ok(None);
    };
    Ok(Some(parse(&bytes, &file.display().to_string())?))
}

/// Bytes of `path`, or of the file `name` in it where it is a folder; None where the folder has no such file.
///
/// # Errors
/// A path that is not there, a file that is too large or cannot be read.
pub(super) fn bytes_of(path: &Path, name: &str) -> anyhow::Result<Option<(PathBuf, Vec<u8>)>> {
    let file = if path.is_dir() {
        path.join(name)
    } else {
        path.to_path_buf()
    };
    if path.is_dir() && !file.is_file() {
        return Ok(None);
    }
    let shown = file.display();
    let metadata = fs::metadata(&file)
        .map_err(|_| anyhow::anyhow!("{shown}: does not exist\n  hint: give the folder that was written with --out"))?;
    anyhow::ensure!(metadata.is_file(), "{shown}: is not a file (accepted: a {name})");
    anyhow::ensure!(
        metadata.len() <= LARGEST_BYTES,
        "{shown}: is larger than {} MiB",
        LARGEST_BYTES / (1024 * 1024)
    );
    let bytes = fs::read(&file).with_context(|| format!("{shown}: cannot be read"))?;
    Ok(Some((file, bytes)))
}

/// Whether a folder is a survey's.
pub(super) fn is_survey(folder: &Path) -> bool {
    folder.join("survey.toml").exists()
}

/// Findings of an earlier survey.
///
/// # Errors
/// What is neither a result folder, a findings.json nor a survey folder; faults of its sheets.
pub(super) fn earlier(path: &Path, run: &AssessArgs) -> anyhow::Result<Findings> {
    if let Some(found) = stored(path)? {
        return Ok(found);
    }
    if is_survey(path) {
        let assessed = assess(path, run)?;
        return assessed.findings();
    }
    anyhow::bail!(
        "{}: holds no findings.json (accepted: the result folder of an earlier survey, its findings.json, or its survey \
         folder)\n  hint: give the folder that coldjacket survey wrote with --out",
        path.display()
    )
}

/// A survey folder assessed in memory.
pub(super) struct Assessed {
    pub(super) register: Register,
    pub(super) around: Around,
    pub(super) ledger: Ledger,
    settings: Settings,
}

impl Assessed {
    /// Its findings, as findings.json would hold them.
    ///
    /// # Errors
    /// None that a survey can cause.
    pub(super) fn findings(&self) -> anyhow::Result<Findings> {
        findings_of(&Document::new(&self.register, &self.ledger, &self.settings))
    }

    /// Whether every frame was used.
    pub(super) fn frames(&self) -> Frames {
        if self.ledger.frames_that_are(Usability::Unusable) == 0 {
            Frames::AllUsed
        } else {
            Frames::SomeNot
        }
    }

    /// Names the frames that could not be used.
    ///
    /// # Errors
    /// The ledger's file cannot be read.
    pub(super) fn tell_unusable(&self) -> Result<(), batch::Error> {
        for report in self.ledger.reports() {
            let report = report.map_err(batch::Error::Scratch)?;
            let row = self.register.frames.get(report.frame);
            if let Some(row) = row.filter(|_| report.usability == Usability::Unusable) {
                tell::warning(&format!("{}: unusable: {}", row.file, report.reasons.join("; ")));
            }
        }
        Ok(())
    }
}

/// A document as findings.json would hold it: what is compared is what is written.
///
/// # Errors
/// None that a survey can cause.
pub(super) fn findings_of(document: &Document) -> anyhow::Result<Findings> {
    let bytes = serde_json::to_vec(document).context("findings.json could not be made")?;
    Ok(parse(&bytes, NAME)?)
}

/// Assesses a survey folder without writing anything that stays.
///
/// # Errors
/// Faults of its sheets; no room for temporary files.
pub(super) fn assess(folder: &Path, args: &AssessArgs) -> anyhow::Result<Assessed> {
    let (register, around) = register::open_with_around(folder)?;
    register.warnings.iter().for_each(|warning| tell::warning(warning));
    let settings = Settings {
        limits: args.reading.limits(),
        ..Settings::default()
    };
    let room = tempfile::tempdir().context("no folder for temporary files could be made")?;
    let staging = Staging::begin(&room.path().join("none"), folder)?;
    let threads = rayon::ThreadPoolBuilder::new()
        .num_threads(args.threads)
        .build()
        .context("cannot start the worker threads; hint: try --threads 1")?;
    let progress = tell::Progress::new(register.frames.len(), "frames");
    let ledger = threads.install(|| {
        batch::run(&Run {
            folder,
            register: &register,
            settings: &settings,
            look: None,
            shots: None,
            staging: &staging,
            progress: &|done| progress.done(done),
            watch: &|report| tell::frame(&register, report),
            given: None,
            kept: None,
            clock: &Clock::default(),
        })
    })?;
    progress.finish();
    Ok(Assessed {
        register,
        around,
        ledger,
        settings,
    })
}
