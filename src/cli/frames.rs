//! What is typed for `frames`.

use std::path::PathBuf;

use clap::Args;

use super::ReadingArgs;

/// `coldjacket frames`.
#[derive(Debug, Args)]
#[command(
    override_usage = "coldjacket frames --list FOLDER...\n       coldjacket frames [OPTIONS] < LIST > LINES",
    after_help = "--list writes one JSON line a frame of survey folders: survey, file, asset. Without it, such lines are read \
from standard input, in any part and order, and each is answered at once by one line on standard output: what findings.json \
says of the frame, and a state from which\n\n    coldjacket survey FOLDER --frames-from LINES --out DIR\n\nmakes the same \
findings.json and findings.csv, to the byte, as one run over the images. Lines of several plants may stand in one file. An \
empty list gives no lines.\n\n\
Exit status: 0 every line has its answer, a frame that cannot be used among them; 1 at least one line could not be answered \
(an error line stands in its place); 2 nothing was done (usage, or sheets at fault with --list)."
)]
pub struct FramesArgs {
    /// Write the list of frames of these survey folders, and assess nothing.
    #[arg(long, value_name = "FOLDER", num_args = 1..)]
    pub list: Vec<PathBuf>,
    /// Tell where the time went, stage by stage, on standard error.
    #[arg(long)]
    pub timing: bool,
    /// Cores to use; 0 means all. An engine that runs one process a core gives 1.
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub threads: usize,
    /// How images are read.
    #[command(flatten)]
    pub reading: ReadingArgs,
}
