//! What is typed on the command line.

mod after;
mod before;
mod frames;

use std::path::PathBuf;

pub use after::{CompareArgs, FollowupArgs};
pub use before::{ExpectedArgs, NewArgs, PlanArgs};
use clap::{Args, Parser, Subcommand};
pub use frames::FramesArgs;

use crate::read::Limits;
use crate::told::{Form, Level};
use crate::units::Units;

/// Finds wet insulation on cold ammonia vessels and pipes in a thermal survey: where, how sure, and what to open first.
///
/// Thermography screens, it does not prove. Insulation is opened under the owner's permit and mechanical-integrity review.
#[derive(Debug, Parser)]
#[command(name = "coldjacket", version, max_term_width = 100)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
    /// How much is told on standard error while it runs: warn tells doubts, info each frame, debug what each frame showed.
    #[arg(long, global = true, value_enum, value_name = "LEVEL", default_value_t = Level::Warn)]
    pub log: Level,
    /// What is told on standard output: words for people, or one JSON object a line for programs.
    #[arg(long, global = true, value_enum, value_name = "FORM", default_value_t = Form::Text)]
    pub outcome: Form,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Start a survey folder from a folder of images: sheets with their headings, one row an image.
    New(NewArgs),
    /// Before the walk: what each asset would show, and whether it is worth going.
    Plan(PlanArgs),
    /// Assess every frame of a survey folder: ranked findings and annotated pictures.
    Survey(SurveyArgs),
    /// Assess frames by themselves, one JSON line each, so that an engine can spread them over machines.
    Frames(FramesArgs),
    /// Make the record of a survey folder: findings, pages, PDFs, follow-up list, manifest; or verify one.
    Record(RecordArgs),
    /// Compare a survey with earlier ones, by place on the asset: new, grown, steady, shrunk, gone, not seen.
    Compare(CompareArgs),
    /// After the openings and wall readings: how far calls can be believed, remaining life, what is still open.
    Followup(FollowupArgs),
}

/// `coldjacket survey`.
#[derive(Debug, Args)]
#[command(
    after_help = "Exit status: 0 every frame was used; 1 done, but at least one frame could not be used (each is \
named with its reason); 2 nothing was done (usage, sheet or output error)."
)]
pub struct SurveyArgs {
    /// The survey folder: survey.toml, assets.csv, frames.csv (or .xlsx), images. It is never changed.
    pub folder: PathBuf,
    /// Where the results go: findings.json, findings.csv, annotated/. An earlier result there is replaced as a whole.
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Make the record too: record.html, pdf/, followup-list.xlsx and .csv, manifest.json; reads observations and verdicts.
    #[arg(long)]
    pub record: bool,
    /// Take the frames from lines of coldjacket frames instead of the images: every frame must have its line there, of the
    /// same sheets, options and version. Images are not read, and no pictures drawn; the findings are those of one run.
    #[arg(long, value_name = "FILE", conflicts_with = "record")]
    pub frames_from: Option<PathBuf>,
    /// How it is done and shown.
    #[command(flatten)]
    pub run: RunArgs,
}

/// `coldjacket record`.
#[derive(Debug, Args)]
#[command(
    override_usage = "coldjacket record [OPTIONS] FOLDER --out DIR\n       coldjacket record [FOLDER] --verify DIR",
    after_help = "The record is made from the images and sheets of FOLDER, observations and verdicts (.csv or .xlsx) \
among them where they are there. The same inputs give the same bytes. manifest.json lists every file that came out and went \
in with its SHA-256; --verify checks them all.\n\n\
Exit status: 0 every frame was used; 1 done, but at least one frame could not be used (each is named with its reason); 2 \
nothing was done (usage, sheet or output error). With --verify: 0 nothing has changed; 1 something has, and each file is \
named; 2 it cannot be told."
)]
pub struct RecordArgs {
    /// The survey folder. It is never changed. With --verify: where it lies now, if not where it was.
    #[arg(required_unless_present = "verify")]
    pub folder: Option<PathBuf>,
    /// Where the record goes. An earlier result there is replaced as a whole.
    #[arg(long, value_name = "DIR", required_unless_present = "verify")]
    pub out: Option<PathBuf>,
    /// Check the record in DIR: has any of its files, or of the images and sheets it was made from, changed since?
    #[arg(long, value_name = "DIR", conflicts_with = "out")]
    pub verify: Option<PathBuf>,
    /// How it is done and shown.
    #[command(flatten)]
    pub run: RunArgs,
}

/// How images are read.
#[derive(Debug, Clone, Args)]
pub struct ReadingArgs {
    /// Largest image file read, in MiB.
    #[arg(long, value_name = "MIB", default_value_t = Limits::default().max_file_bytes / (1024 * 1024))]
    pub max_file_mib: u64,
    /// Most pixels of a frame, in millions.
    #[arg(long, value_name = "N", default_value_t = Limits::default().max_pixels / 1_000_000)]
    pub max_megapixels: u64,
}

impl ReadingArgs {
    /// The limits asked for.
    #[must_use]
    pub fn limits(&self) -> Limits {
        Limits {
            max_file_bytes: self.max_file_mib.saturating_mul(1024 * 1024),
            max_pixels: self.max_megapixels.saturating_mul(1_000_000),
            ..Limits::default()
        }
    }
}

/// How frames are assessed, and in which units it is told.
#[derive(Debug, Clone, Args)]
pub struct AssessArgs {
    /// Units in everything people read; what is written as JSON stays SI.
    #[arg(long, value_enum, default_value_t = Units::Si)]
    pub units: Units,
    /// Cores to use; 0 means all.
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub threads: usize,
    /// How images are read.
    #[command(flatten)]
    pub reading: ReadingArgs,
}

/// How a survey is run and shown.
#[derive(Debug, Args)]
pub struct RunArgs {
    /// How frames are assessed.
    #[command(flatten)]
    pub assess: AssessArgs,
    /// Colour map of the annotated pictures.
    #[arg(long, value_enum, default_value_t = PaletteName::Cividis)]
    pub palette: PaletteName,
    /// Findings of an earlier survey: its result folder or findings.json. May be given several times. Growth since then
    /// enters the ranking, and comparison.json and .csv are written too.
    #[arg(long, value_name = "DIR")]
    pub earlier: Vec<PathBuf>,
    /// Write findings.parquet too, a row a zone, for tools that ask many plants at once.
    #[arg(long)]
    pub parquet: bool,
    /// Do not draw annotated pictures.
    #[arg(long)]
    pub no_pictures: bool,
    /// Do not set the record's PDFs.
    #[arg(long)]
    pub no_pdf: bool,
    /// Forget what earlier runs into DIR kept, and compute every frame anew. Without it, a frame whose image, rows, options
    /// and program are unchanged is taken as it was, also after an interruption; the results are the same.
    #[arg(long)]
    pub fresh: bool,
    /// Tell where the time went, stage by stage, on standard error.
    #[arg(long)]
    pub timing: bool,
}

/// Open colour maps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum PaletteName {
    /// Dark blue to yellow, the same to every colour vision.
    Cividis,
    /// Violet over green to yellow.
    Viridis,
    /// Grey.
    Grey,
}
