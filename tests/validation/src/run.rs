//! Cases through the program's own way, and what came out beside what is there.

use std::error::Error;
use std::path::Path;

use coldjacket::batch::{self, Run};
use coldjacket::clock::Clock;
use coldjacket::record::Survey;
use coldjacket::record::staging::Staging;
use coldjacket::register::{self, Register};
use coldjacket::settings::Settings;
use coldjacket_simulator::Truth;
use coldjacket_simulator::survey::{SheetErrors, SurveyPlan, write_survey_with};
use rayon::prelude::*;

use crate::case::Case;
use crate::score::{FrameScore, score};

/// Cases put through together: few, for the truth of each stays in memory until it is scored.
const TOGETHER: usize = 6;

/// Anything that can go wrong in a study.
pub type Problem = Box<dyn Error + Send + Sync>;

/// How a study is run.
#[derive(Debug, Clone, Copy)]
pub struct How<'a> {
    /// Seed of the sheets' errors.
    pub sheet_seed: u64,
    /// Where the simulated surveys are kept; `None`: nowhere.
    pub keep: Option<&'a Path>,
}

/// Scores of all cases, in their order.
///
/// # Errors
/// Those of writing and reading the simulated surveys.
pub fn run(cases: &[Case], how: How) -> Result<Vec<FrameScore>, Problem> {
    let parts: Vec<Vec<FrameScore>> = cases
        .par_chunks(TOGETHER)
        .map(|some| run_together(some, how))
        .collect::<Result<_, _>>()?;
    Ok(parts.into_iter().flatten().collect())
}

fn run_together(cases: &[Case], how: How) -> Result<Vec<FrameScore>, Problem> {
    let room = tempfile::tempdir()?;
    let folder = match (how.keep, cases.first()) {
        // The same scenes may come as readings too, under the same names.
        (Some(kept), Some(first)) if first.screen.is_some() => kept.join(format!("{}-screen", first.name)),
        (Some(kept), Some(first)) => kept.join(&first.name),
        _ => room.path().join("survey"),
    };
    let truths = write_survey(&folder, cases, how)?;
    let register = register::open(&folder).map_err(|faults| faults.to_string())?;
    let survey = inspect(&folder, &register, &room.path().join("out"))?;
    Ok(cases
        .iter()
        .zip(&truths)
        .enumerate()
        .map(|(index, (case, truth))| score(case, truth, &survey, index))
        .collect())
}

/// Writes cases as a survey folder; their truths, in their order.
///
/// # Errors
/// Those of writing.
pub fn write_survey(folder: &Path, cases: &[Case], how: How) -> Result<Vec<Truth>, Problem> {
    let mut plan = SurveyPlan::of_scenes(Vec::new(), SheetErrors::Drawn(how.sheet_seed), 0);
    plan.entries = cases.iter().map(Case::entry).collect();
    let mut truths: Vec<Truth> = Vec::new();
    write_survey_with(folder, &plan, |_, rendered| truths.push(rendered.truth.clone())).map_err(|e| e.to_string())?;
    Ok(truths)
}

fn inspect(folder: &Path, register: &Register, out: &Path) -> Result<Survey, Problem> {
    let staging = Staging::begin(out, folder)?;
    let ledger = batch::run(&Run {
        folder,
        register,
        settings: &Settings::default(),
        look: None,
        shots: None,
        staging: &staging,
        progress: &|_| {},
        watch: &|_| {},
        given: None,
        kept: None,
        clock: &Clock::default(),
    })?;
    Ok(ledger.whole()?)
}
