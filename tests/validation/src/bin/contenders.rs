//! `contenders SURVEY`: the figures that each frame's outline is chosen from, one JSON line each, of any survey folder: its
//! frame, the values of the terms, and its outline in image pixels. For scenes whose truth this crate does not know.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use coldjacket::locate::choice::TERMS;
use coldjacket::register;
use coldjacket_validation::run::Problem;
use coldjacket_validation::study::choice;
use rayon::prelude::*;

fn main() -> ExitCode {
    let Some(folder) = std::env::args_os().nth(1).map(PathBuf::from) else {
        eprintln!("usage: contenders SURVEY");
        return ExitCode::from(2);
    };
    match tell(&folder) {
        Ok(()) => ExitCode::SUCCESS,
        Err(problem) => {
            eprintln!("error: {problem}");
            ExitCode::FAILURE
        }
    }
}

fn tell(folder: &Path) -> Result<(), Problem> {
    let register = register::open(folder).map_err(|faults| faults.to_string())?;
    let names: Vec<&str> = TERMS.iter().map(|(name, _)| *name).collect();
    let lines = |index: usize| -> Result<Vec<String>, Problem> {
        let contenders = choice::contenders(folder, &register, index)?;
        let line = |contender: &coldjacket::locate::Contender| {
            serde_json::json!({
                "frame": register.frames[index].file,
                "terms": contender.terms,
                "names": names,
                "outline_px": contender.outline_px,
            })
            .to_string()
        };
        Ok(contenders.iter().map(line).collect())
    };
    let all: Vec<Vec<String>> = (0..register.frames.len())
        .into_par_iter()
        .map(lines)
        .collect::<Result<_, _>>()?;
    let mut out = std::io::stdout().lock();
    for line in all.iter().flatten() {
        writeln!(out, "{line}")?;
    }
    Ok(())
}
