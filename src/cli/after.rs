//! What is typed for the commands that come after the walk: `compare` and `followup`.

use std::path::PathBuf;

use clap::Args;

use super::AssessArgs;

/// `coldjacket compare`.
#[derive(Debug, Args)]
#[command(
    after_help = "Zones are matched by their place on the asset, with what places are uncertain by. Growth counts only beyond \
its uncertainty, and only through conductivity ratio and area: temperatures are never compared. A zone whose place was not \
usefully seen this time is not-seen, which is not the same as gone.\n\n\
Columns of assets.csv that serve here: former_tag, the asset's tag in earlier surveys; datum_swapped_on, the date since which \
the datum is the other end; insulated_year, since what the old insulation held is over with it.\n\n\
Exit status: 0 done; 1 done, but at least one frame of FOLDER could not be used (each is named); 2 nothing was done (usage, sheet, input or output error)."
)]
pub struct CompareArgs {
    /// The survey folder, assessed now; or the result folder of this survey, whose findings.json is then used.
    pub folder: PathBuf,
    /// Findings of an earlier survey: its result folder or findings.json (or its survey folder, which is then assessed too).
    /// Several make a trend.
    #[arg(long, value_name = "DIR", required = true)]
    pub earlier: Vec<PathBuf>,
    /// Findings of this survey, if they are there already and FOLDER need not be assessed again.
    #[arg(long, value_name = "DIR")]
    pub findings: Option<PathBuf>,
    /// Where comparison.json and comparison.csv go; other files there are kept.
    #[arg(long, value_name = "DIR", default_value = "comparison")]
    pub out: PathBuf,
    /// How it is done and shown.
    #[command(flatten)]
    pub assess: AssessArgs,
}

/// `coldjacket followup`.
#[derive(Debug, Args)]
#[command(
    after_help = "Reads openings.csv and wall.csv of FOLDER (.csv or .xlsx; either may be missing). An opening stands on a zone \
(zone) or on a place (asset, axial_m, clock or bearing_deg, height_m up a wall).\n\n\
What is open stays open until its opening is resealed or a signed verdict rejects it; with --earlier, what was open in the \
follow-up before is carried over, so that nothing is lost.\n\n\
Exit status: 0 done; 1 done, but a wall is below its required thickness, or at least one frame of FOLDER could not be used; 2 \
nothing was done (usage, sheet, input or output error)."
)]
pub struct FollowupArgs {
    /// The survey folder, assessed now unless --findings says where its findings are.
    pub folder: PathBuf,
    /// Result folder (or findings.json) of this survey, if it is there already.
    #[arg(long, value_name = "DIR")]
    pub findings: Option<PathBuf>,
    /// The follow-up before (a folder with followup.json), or results of an earlier survey none of whose zones was opened.
    #[arg(long, value_name = "DIR")]
    pub earlier: Vec<PathBuf>,
    /// Where followup.json and followup.csv go; other files there are kept.
    #[arg(long, value_name = "DIR", default_value = "followup")]
    pub out: PathBuf,
    /// How it is done and shown.
    #[command(flatten)]
    pub assess: AssessArgs,
}
