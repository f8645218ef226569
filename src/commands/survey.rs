//! `coldjacket survey FOLDER --out DIR`.

use std::io::Write;
use std::path::Path;
use std::process::ExitCode;

use anyhow::Context;

use super::{history, record};
use crate::assess::usability::Usability;
use crate::batch::given::Given;
use crate::batch::kept::{Kept, Past};
use crate::batch::{self, Run};
use crate::cli::{PaletteName, RunArgs, SurveyArgs};
use crate::clock::{Clock, Stage};
use crate::record::findings::Document;
use crate::record::palette::Palette;
use crate::record::picture::Look;
use crate::record::staging::Staging;
use crate::record::{list, shot, table};
use crate::register;
use crate::settings::Settings;
use crate::tell;

/// Runs the command; Ok holds exit status 0 or 1, an error means nothing was done (exit status 2).
///
/// # Errors
/// Faults of the sheets, an output folder that cannot be used or written.
pub fn run(args: &SurveyArgs) -> anyhow::Result<ExitCode> {
    carry_out(&Job {
        folder: &args.folder,
        out: &args.out,
        makes: if args.record { Makes::Record } else { Makes::Findings },
        frames_from: args.frames_from.as_deref(),
        run: &args.run,
    })
}

/// What is to be done.
pub(super) struct Job<'a> {
    /// The survey folder.
    pub(super) folder: &'a Path,
    /// Where the results go.
    pub(super) out: &'a Path,
    /// What they are.
    pub(super) makes: Makes,
    /// Lines of frames that were assessed elsewhere.
    pub(super) frames_from: Option<&'a Path>,
    /// How it is done and shown.
    pub(super) run: &'a RunArgs,
}

/// What a run makes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Makes {
    /// Findings and annotated pictures.
    Findings,
    /// Those, and the record.
    Record,
}

/// Does it.
///
/// # Errors
/// As [`run`].
pub(super) fn carry_out(job: &Job) -> anyhow::Result<ExitCode> {
    let (register, mut around) = register::open_with_around(job.folder)?;
    register.warnings.iter().for_each(|warning| tell::warning(warning));
    let staging = Staging::begin(job.out, job.folder)?;
    let settings = Settings {
        limits: job.run.assess.reading.limits(),
        ..Settings::default()
    };
    let earlier = history::read(&job.run.earlier, &job.run.assess)?;
    let threads = rayon::ThreadPoolBuilder::new()
        .num_threads(job.run.assess.threads)
        .build()
        .context("cannot start the worker threads; hint: try --threads 1")?;
    let given = job
        .frames_from
        .map(|path| Given::open(path, &register, &settings))
        .transpose()?;
    let past = if job.run.fresh { Past::Forgotten } else { Past::Used };
    let kept = Kept::beside(staging.target(), past)
        .with_context(|| format!("{}: what earlier runs kept cannot be taken away", job.out.display()))?;
    let (clock, began) = (Clock::default(), std::time::Instant::now());
    tell::info(&format!(
        "{} frames of {} assets, {} threads",
        register.frames.len(),
        register.assets.len(),
        threads.current_num_threads()
    ));
    let progress = tell::Progress::new(register.frames.len(), "frames");
    let palette = palette(job.run.palette);
    let run = Run {
        folder: job.folder,
        register: &register,
        settings: &settings,
        look: (!job.run.no_pictures && given.is_none()).then_some(Look {
            units: job.run.assess.units,
            palette,
        }),
        shots: (job.makes == Makes::Record).then_some(shot::Look { palette }),
        staging: &staging,
        progress: &|done| progress.done(done),
        watch: &|report| tell::frame(&register, report),
        given: given.as_ref(),
        kept: given.is_none().then_some(&kept),
        clock: &clock,
    };
    let mut ledger = threads.install(|| batch::run(&run))?;
    progress.finish();
    let compared = history::compare(&register, &ledger, &settings, &earlier)?;
    history::weigh(&register, &around, compared.as_ref(), &mut ledger).map_err(batch::Error::Scratch)?;
    if let Some(compared) = &compared {
        compared.warnings.iter().for_each(|warning| tell::warning(warning));
        around.earlier = history::outlines(&register, compared);
        super::compare::write(&staging, compared)?;
    }
    let document = Document::new(&register, &ledger, &settings);
    write_findings(&staging, &document)?;
    staging.stream(Path::new("findings.csv"), |file| {
        list::csv(&register, ledger.zones(), file)
    })?;
    if job.run.parquet {
        staging.stream(Path::new("findings.parquet"), |file| {
            table::parquet(&register, ledger.zones(), file)
        })?;
    }
    let made = match job.makes {
        Makes::Findings => None,
        Makes::Record => {
            let survey = ledger.whole().map_err(batch::Error::Scratch)?;
            let making = record::Making {
                job,
                register: &register,
                around: &around,
                survey: &survey,
                ledger: &ledger,
                compared: compared.as_ref(),
                settings: document
                    .settings()
                    .context("the thresholds in force could not be told")?,
                thresholds: &settings,
                limits: &settings.limits,
                palette,
            };
            Some(threads.install(|| making.write(&staging))?)
        }
    };
    clock.time(Stage::Write, || staging.finish())?;
    if given.is_none() {
        tell::kept(&kept.close(), register.frames.len());
    }
    tell::outcome(&register, &ledger, job.run.assess.units, job.out).map_err(batch::Error::Scratch)?;
    if let Some(made) = made {
        tell::record(&made);
    }
    if job.run.timing {
        tell::timing(&clock, register.frames.len(), began.elapsed().as_secs_f64());
    }
    Ok(if ledger.frames_that_are(Usability::Unusable) == 0 {
        ExitCode::SUCCESS
    } else {
        ExitCode::from(1)
    })
}

fn write_findings(staging: &Staging, document: &Document) -> anyhow::Result<()> {
    staging.stream(Path::new("findings.json"), |file| {
        // Written piece by piece: of a large survey the text is far longer than what it is made from.
        let mut file = std::io::BufWriter::with_capacity(1 << 16, file);
        serde_json::to_writer_pretty(&mut file, document)?;
        file.write_all(b"\n")?;
        file.flush()
    })?;
    Ok(())
}

fn palette(name: PaletteName) -> Palette {
    match name {
        PaletteName::Cividis => Palette::Cividis,
        PaletteName::Viridis => Palette::Viridis,
        PaletteName::Grey => Palette::Grey,
    }
}
