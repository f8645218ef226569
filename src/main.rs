//! The command line: parse, run, say what happened.

use std::process::ExitCode;

use clap::Parser;
use coldjacket::cli::{Cli, Command};
use coldjacket::commands::survey;

fn main() -> ExitCode {
    let cli = Cli::parse();
    let outcome = match cli.command {
        Command::Survey(args) => survey::run(&args),
    };
    outcome.unwrap_or_else(|problem| {
        coldjacket::tell::problem(&problem);
        ExitCode::from(2)
    })
}
