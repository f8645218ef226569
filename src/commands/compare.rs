//! `coldjacket compare FOLDER --earlier DIR`.

use std::path::Path;
use std::process::ExitCode;

use anyhow::Context;

use super::source::{self, Frames};
use crate::cli::CompareArgs;
use crate::compare::findings::Findings;
use crate::compare::{Comparison, Settings, compare};
use crate::record::comparison;
use crate::record::staging::{COMPARISONS, Product, Staging};
use crate::tell;

/// Runs the command; Ok holds exit status 0 or 1, an error means nothing was done (exit status 2).
///
/// # Errors
/// Faults of the sheets, findings that cannot be read, an output folder that cannot be used or written.
pub fn run(args: &CompareArgs) -> anyhow::Result<ExitCode> {
    let staging = Staging::begin_product(Product::Comparison, &args.out, &args.folder)?;
    let mut earlier = Vec::new();
    for path in &args.earlier {
        earlier.push(source::earlier(path, &args.assess)?);
    }
    let (present, frames) = present(args)?;
    let compared = compare(&present, &earlier, &Settings::default())?;
    compared.warnings.iter().for_each(|warning| tell::warning(warning));
    write(&staging, &compared)?;
    staging.finish()?;
    tell::comparison::comparison(&compared, args.assess.units, &args.out);
    Ok(if frames == Frames::AllUsed {
        ExitCode::SUCCESS
    } else {
        ExitCode::from(1)
    })
}

/// This survey's findings, and whether all its frames were used.
fn present(args: &CompareArgs) -> anyhow::Result<(Findings, Frames)> {
    let given = args.findings.as_deref().unwrap_or(&args.folder);
    if let Some(found) = source::stored(given)? {
        let is_whole = found.frames.iter().all(|frame| frame.usability != "unusable");
        return Ok((found, if is_whole { Frames::AllUsed } else { Frames::SomeNot }));
    }
    if let Some(findings) = &args.findings {
        anyhow::bail!(
            "{}: holds no findings.json (accepted: a result folder of this survey)\n  hint: leave --findings out, and the \
             survey is assessed now",
            findings.display()
        );
    }
    let assessed = source::assess(&args.folder, &args.assess)?;
    assessed.tell_unusable()?;
    Ok((assessed.findings()?, assessed.frames()))
}

/// Writes both files of a comparison.
///
/// # Errors
/// Output that cannot be written.
pub(super) fn write(staging: &Staging, compared: &Comparison) -> anyhow::Result<()> {
    let json = comparison::json(compared).context("comparison.json could not be made")?;
    staging.write(Path::new(COMPARISONS[0]), &json)?;
    let csv = comparison::csv(compared).context("comparison.csv could not be made")?;
    staging.write(Path::new(COMPARISONS[1]), &csv)?;
    Ok(())
}
