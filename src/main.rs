//! The command line: parse, run, say what happened.

use std::process::ExitCode;

use clap::Parser;
use coldjacket::cli::{Cli, Command};
use coldjacket::commands::{compare, followup, frames, new, plan, record, survey};
use coldjacket::told;

fn main() -> ExitCode {
    let cli = Cli::parse();
    told::set(cli.log, cli.outcome);
    let outcome = match cli.command {
        Command::Frames(args) => frames::run(&args),
        Command::New(args) => new::run(&args),
        Command::Plan(args) => plan::run(&args),
        Command::Survey(args) => survey::run(&args),
        Command::Record(args) => record::run(&args),
        Command::Compare(args) => compare::run(&args),
        Command::Followup(args) => followup::run(&args),
    };
    outcome.unwrap_or_else(|problem| {
        coldjacket::tell::problem(&problem);
        ExitCode::from(2)
    })
}
