//! `coldjacket followup FOLDER`.

use std::path::Path;
use std::process::ExitCode;

use anyhow::Context;
use serde::Deserialize;

use super::source::{self, Frames};
use crate::cli::FollowupArgs;
use crate::compare::findings::{Findings, day};
use crate::followup::{Followup, Former, Input, follow_up};
use crate::record::after;
use crate::record::staging::{FOLLOWUPS, Product, Staging};
use crate::register::around::{Around, ZoneName};
use crate::register::{self, Register, Shape};
use crate::tell;

/// Runs the command; Ok holds exit status 0 or 1, an error means nothing was done (exit status 2).
///
/// # Errors
/// Faults of the sheets, findings that cannot be read, an output folder that cannot be used or written.
pub fn run(args: &FollowupArgs) -> anyhow::Result<ExitCode> {
    let staging = Staging::begin_product(Product::Followup, &args.out, &args.folder)?;
    let mut former = Vec::new();
    for path in &args.earlier {
        former.push(before(path)?);
    }
    let Present {
        findings,
        register,
        around,
        frames,
    } = present(args)?;
    check_earlier(&former, &findings)?;
    check_openings(&around, &register, &findings)?;
    let followed = follow_up(&Input {
        findings: &findings,
        register: &register,
        around: &around,
        former: &former,
    });
    followed.warnings.iter().for_each(|warning| tell::warning(warning));
    if around.openings_sheet.is_none() && around.walls.is_empty() {
        tell::warning("neither openings.csv nor wall.csv is there: only what is open can be told");
    }
    let is_level = |tag: &str| {
        let asset = register.assets.iter().find(|asset| asset.tag == tag);
        asset.is_none_or(|asset| matches!(asset.shape, Shape::HorizontalCylinder { .. }))
    };
    write(&staging, &followed, is_level)?;
    staging.finish()?;
    tell::followup::followup(&followed, args.assess.units, &args.out, is_level);
    Ok(if followed.refer.is_empty() && frames == Frames::AllUsed {
        ExitCode::SUCCESS
    } else {
        ExitCode::from(1)
    })
}

struct Present {
    findings: Findings,
    register: Register,
    around: Around,
    frames: Frames,
}

/// This survey, by findings that are there already or assessed now.
fn present(args: &FollowupArgs) -> anyhow::Result<Present> {
    let Some(given) = &args.findings else {
        let assessed = source::assess(&args.folder, &args.assess)?;
        assessed.tell_unusable()?;
        return Ok(Present {
            findings: assessed.findings()?,
            frames: assessed.frames(),
            register: assessed.register,
            around: assessed.around,
        });
    };
    let (register, around) = register::open_with_around(&args.folder)?;
    register.warnings.iter().for_each(|warning| tell::warning(warning));
    let Some(findings) = source::stored(given)? else {
        anyhow::bail!(
            "{}: holds no findings.json (accepted: a result folder of this survey)\n  hint: leave --findings out, and the \
             survey is assessed now",
            given.display()
        );
    };
    if findings.survey.date != register.survey.date {
        anyhow::bail!(
            "{}: is of the survey of {}, but survey.toml is dated {} (accepted: findings of this survey)\n  hint: make them \
             again with coldjacket survey {} --out DIR",
            given.display(),
            findings.survey.date,
            register.survey.date,
            args.folder.display()
        );
    }
    let is_whole = findings.frames.iter().all(|frame| frame.usability != "unusable");
    Ok(Present {
        findings,
        register,
        around,
        frames: if is_whole { Frames::AllUsed } else { Frames::SomeNot },
    })
}

#[derive(Deserialize)]
struct Stored {
    schema: String,
    #[serde(flatten)]
    former: Former,
}

/// A follow-up before, or findings of which none was followed up.
fn before(path: &Path) -> anyhow::Result<Former> {
    let is_findings = path.file_name().is_some_and(|name| name == source::NAME);
    if !is_findings && let Some((file, bytes)) = source::bytes_of(path, FOLLOWUPS[0])? {
        let shown = file.display();
        let stored: Stored = serde_json::from_slice(&bytes).map_err(|error| {
            anyhow::anyhow!(
                "{shown}: is no followup.json: {error} (accepted: one of {})\n  hint: give the folder that coldjacket followup \
                 wrote with --out",
                after::SCHEMA
            )
        })?;
        anyhow::ensure!(
            stored.schema == after::SCHEMA,
            "{shown}: is of schema {:?} (accepted: {})",
            stored.schema,
            after::SCHEMA
        );
        anyhow::ensure!(
            day(&stored.former.date).is_some(),
            "{shown}: has the date {:?}, which is none\n  hint: give the folder that coldjacket followup wrote with --out",
            stored.former.date
        );
        return Ok(stored.former);
    }
    match source::stored(path)? {
        Some(findings) => Ok(Former::of_findings(&findings)),
        None => anyhow::bail!(
            "{}: holds neither followup.json nor findings.json (accepted: the folder of an earlier follow-up, or results of \
             an earlier survey)\n  hint: give the folder that coldjacket followup wrote with --out",
            path.display()
        ),
    }
}

/// What is carried over must be older than what it is carried to.
fn check_earlier(former: &[Former], findings: &Findings) -> anyhow::Result<()> {
    let later = former.iter().find(|one| day(&one.date) > day(&findings.survey.date));
    if let Some(later) = later {
        anyhow::bail!(
            "--earlier: the follow-up of the survey of {} is not earlier than this one of {} (accepted: follow-ups of earlier \
             surveys)\n  hint: give the newer survey as FOLDER",
            later.date,
            findings.survey.date
        );
    }
    Ok(())
}

/// Every opening that names a zone must name one of this survey: all that do not are told at once.
fn check_openings(around: &Around, register: &Register, findings: &Findings) -> anyhow::Result<()> {
    let index = |tag: &str| register.assets.iter().position(|asset| asset.tag == tag);
    let zones = findings.zones.iter().chain(&findings.set_aside);
    let names: Vec<ZoneName> = zones
        .filter_map(|zone| {
            Some(ZoneName {
                id: &zone.id,
                asset: index(&zone.asset)?,
            })
        })
        .collect();
    around.check_openings(&names, &register.assets, &findings.survey.date)?;
    Ok(())
}

fn write(staging: &Staging, followed: &Followup, is_level: impl Fn(&str) -> bool) -> anyhow::Result<()> {
    let json = after::json(followed).context("followup.json could not be made")?;
    staging.write(Path::new(FOLLOWUPS[0]), &json)?;
    let csv = after::csv(followed, is_level).context("followup.csv could not be made")?;
    staging.write(Path::new(FOLLOWUPS[1]), &csv)?;
    Ok(())
}
