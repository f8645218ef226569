//! `coldjacket survey FOLDER --out DIR`.

use std::path::Path;
use std::process::ExitCode;

use anyhow::Context;

use crate::assess::usability::Usability;
use crate::batch::{self, Run};
use crate::cli::{PaletteName, SurveyArgs};
use crate::record::findings::Document;
use crate::record::list;
use crate::record::palette::Palette;
use crate::record::picture::Look;
use crate::record::staging::Staging;
use crate::register;
use crate::settings::Settings;
use crate::tell;

/// Runs the command; Ok holds exit status 0 or 1, an error means nothing was done (exit status 2).
///
/// # Errors
/// Faults of the sheets, an output folder that cannot be used or written.
pub fn run(args: &SurveyArgs) -> anyhow::Result<ExitCode> {
    let register = register::open(&args.folder)?;
    for warning in &register.warnings {
        tell::warning(warning);
    }
    let staging = Staging::begin(&args.out, &args.folder)?;
    let settings = Settings {
        limits: args.limits(),
        ..Settings::default()
    };
    let threads = rayon::ThreadPoolBuilder::new()
        .num_threads(args.threads)
        .build()
        .context("cannot start the worker threads; hint: try --threads 1")?;
    let progress = tell::Progress::new(register.frames.len());
    let run = Run {
        folder: &args.folder,
        register: &register,
        settings: &settings,
        look: (!args.no_pictures).then_some(Look {
            units: args.units,
            palette: palette(args.palette),
        }),
        staging: &staging,
        progress: &|done| progress.done(done),
    };
    let survey = threads.install(|| batch::run(&run))?;
    progress.finish();
    let document = Document::new(&register, &survey, &settings);
    let mut json = serde_json::to_vec_pretty(&document).context("findings.json could not be made")?;
    json.push(b'\n');
    staging.write(Path::new("findings.json"), &json)?;
    let csv = list::csv(&register, &survey.zones).context("findings.csv could not be made")?;
    staging.write(Path::new("findings.csv"), &csv)?;
    staging.finish()?;
    tell::outcome(&register, &survey, args.units, &args.out);
    let all_used = survey.frames.iter().all(|frame| frame.usability != Usability::Unusable);
    Ok(if all_used { ExitCode::SUCCESS } else { ExitCode::from(1) })
}

fn palette(name: PaletteName) -> Palette {
    match name {
        PaletteName::Cividis => Palette::Cividis,
        PaletteName::Viridis => Palette::Viridis,
        PaletteName::Grey => Palette::Grey,
    }
}
