//! The command line: parse, run, say what happened.

use std::process::ExitCode;

use clap::Parser;
use coldjacket::cli::{Cli, Command};
use coldjacket::commands::{new, plan, record, survey};

fn main() -> ExitCode {
    let cli = Cli::parse();
    let outcome = match cli.command {
        Command::New(args) => new::run(&args),
        Command::Plan(args) => plan::run(&args),
        Command::Survey(args) => survey::run(&args),
        Command::Record(args) => record::run(&args),
    };
    outcome.unwrap_or_else(|problem| {
        coldjacket::tell::problem(&problem);
        ExitCode::from(2)
    })
}
