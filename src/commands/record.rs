//! `coldjacket record FOLDER --out DIR` and `coldjacket record --verify DIR`.

use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::atomic::{AtomicUsize, Ordering};

use anyhow::Context;
use serde_json::Value;

use super::survey::{Job, Makes, carry_out};
use crate::cli::RecordArgs;
use crate::compare::Comparison;
use crate::read::Limits;
use crate::record::book::{Book, Material};
use crate::record::ledger::Ledger;
use crate::record::manifest::{self, Manifest};
use crate::record::palette::Palette;
use crate::record::photo::Photos;
use crate::record::provenance::Provenance;
use crate::record::staging::Staging;
use crate::record::{Made, Survey, followup, pages, pdf, workbook};
use crate::register::Register;
use crate::register::around::{Around, ZoneName};
use crate::settings::Settings;
use crate::tell;
use crate::units::Units;

/// Runs the command; Ok holds exit status 0 or 1, an error means nothing was done (exit status 2).
///
/// # Errors
/// Faults of the sheets, an output folder that cannot be used or written, a record that cannot be checked.
pub fn run(args: &RecordArgs) -> anyhow::Result<ExitCode> {
    match (&args.verify, &args.folder, &args.out) {
        (Some(record), folder, _) => verify(record, folder.as_deref()),
        (None, Some(folder), Some(out)) => carry_out(&Job {
            folder,
            out,
            makes: Makes::Record,
            frames_from: None,
            run: &args.run,
        }),
        _ => anyhow::bail!("neither a folder with --out, nor --verify, was given; hint: see coldjacket record --help"),
    }
}

fn verify(record: &Path, survey: Option<&Path>) -> anyhow::Result<ExitCode> {
    let found = manifest::verify(record, survey)?;
    tell::verification(&found, record);
    Ok(if found.changes.is_empty() {
        ExitCode::SUCCESS
    } else {
        ExitCode::from(1)
    })
}

/// What a record is made from.
pub(super) struct Making<'a> {
    pub(super) job: &'a Job<'a>,
    pub(super) register: &'a Register,
    pub(super) around: &'a Around,
    pub(super) survey: &'a Survey,
    pub(super) ledger: &'a Ledger,
    /// This survey against earlier ones, where they were given.
    pub(super) compared: Option<&'a Comparison>,
    /// Thresholds in force, as findings.json has them.
    pub(super) settings: Value,
    /// The same as the program has them.
    pub(super) thresholds: &'a Settings,
    pub(super) limits: &'a Limits,
    pub(super) palette: Palette,
}

impl Making<'_> {
    /// Writes the record beside the findings, the manifest last.
    ///
    /// # Errors
    /// A verdict on a zone that is not there; output that cannot be written.
    pub(super) fn write(&self, staging: &Staging) -> anyhow::Result<Made> {
        self.check_zones()?;
        let (folder, units) = (self.job.folder, self.job.run.assess.units);
        let photos = Photos::read(folder, self.register, self.around, self.limits);
        for (path, why) in photos.missing() {
            tell::warning(&format!("photograph {path} is not shown: {why}"));
        }
        let mut provenance = Provenance::gather(folder, self.register, &self.survey.frames, &photos);
        provenance.take_settings(&self.settings);
        for file in super::history::files(&self.job.run.earlier) {
            provenance.take_earlier(way_back(folder, &file), &file);
        }
        let followed = super::history::follow(self)?;
        let book = Book::write(&Material {
            register: self.register,
            around: self.around,
            survey: self.survey,
            photos: &photos,
            provenance: &provenance,
            compared: self.compared,
            followed: followed.as_ref(),
            units,
        });
        let html = pages::html(&book).context("record.html could not be made")?;
        staging.write(Path::new("record.html"), html.as_bytes())?;
        let csv = followup::csv(&book).context("followup-list.csv could not be made")?;
        staging.write(Path::new("followup-list.csv"), &csv)?;
        let xlsx = workbook::xlsx(&book).context("followup-list.xlsx could not be made")?;
        staging.write(Path::new("followup-list.xlsx"), &xlsx)?;
        if !self.job.run.no_pdf {
            let progress = tell::Progress::new(pdf::count(&book), "PDFs");
            let done = AtomicUsize::new(0);
            pdf::write(&book, &|path, bytes| {
                staging.write(path, bytes)?;
                progress.done(1 + done.fetch_add(1, Ordering::Relaxed));
                Ok(())
            })?;
            progress.finish();
        }
        self.write_manifest(staging, &provenance)
    }

    /// Every verdict and opening that names a zone must name one that there is: all that do not are told at once.
    fn check_zones(&self) -> anyhow::Result<()> {
        let zones = self.survey.zones.iter();
        let names: Vec<ZoneName> = zones
            .map(|zone| ZoneName {
                id: &zone.id,
                asset: zone.asset,
            })
            .collect();
        self.around.check_zones(&names, &self.register.assets)?;
        let date = &self.register.survey.date;
        self.around.check_openings(&names, &self.register.assets, date)?;
        Ok(())
    }

    fn write_manifest(&self, staging: &Staging, provenance: &Provenance) -> anyhow::Result<Made> {
        let manifest = Manifest::new(manifest::Material {
            head: &self.register.survey,
            provenance,
            written: staging.written(),
            settings: self.settings.clone(),
            units: match self.job.run.assess.units {
                Units::Si => "si",
                Units::Us => "us",
            },
            palette: self.palette.name(),
            survey_folder: way_back(staging.target(), self.job.folder),
        });
        let mut json = serde_json::to_vec_pretty(&manifest).context("manifest.json could not be made")?;
        json.push(b'\n');
        staging.write(Path::new(manifest::NAME), &json)?;
        Ok(Made::of(staging, self.job.out))
    }
}

/// Where the survey folder lies as seen from the record's.
fn way_back(record: &Path, survey: &Path) -> String {
    let real = |path: &Path| std::fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    // The record's folder may not be there yet; the folder it will stand in is.
    let record: PathBuf = match (record.parent(), record.file_name()) {
        (Some(parent), Some(name)) => real(parent).join(name),
        _ => record.to_path_buf(),
    };
    manifest::from_to(&record, &real(survey))
}
