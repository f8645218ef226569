//! What earlier surveys and the sheets around this one add to it: growth, what was found and measured, outlines of then.

use std::path::PathBuf;

use super::record::Making;
use super::source;
use crate::cli::AssessArgs;
use crate::compare::findings::Findings;
use crate::compare::{self, Comparison, Row};
use crate::followup::{Followup, Input, follow_up};
use crate::rank::Ranked;
use crate::rank::history::History;
use crate::record::findings::Document;
use crate::record::ledger::Ledger;
use crate::register::Register;
use crate::register::around::{Around, Earlier, EarlierZone};
use crate::settings::Settings;

/// Findings of the earlier surveys that were given.
///
/// # Errors
/// What cannot be read or is none.
pub(super) fn read(paths: &[PathBuf], args: &AssessArgs) -> anyhow::Result<Vec<Findings>> {
    paths.iter().map(|path| source::earlier(path, args)).collect()
}

/// The findings.json files among what was given as earlier.
pub(super) fn files(paths: &[PathBuf]) -> Vec<PathBuf> {
    let file = |path: &PathBuf| {
        if path.is_dir() {
            path.join(source::NAME)
        } else {
            path.clone()
        }
    };
    paths.iter().map(file).filter(|file| file.is_file()).collect()
}

/// This survey against the earlier ones; None where none was given.
///
/// # Errors
/// An earlier survey that is not earlier.
pub(super) fn compare(
    register: &Register,
    ledger: &Ledger,
    settings: &Settings,
    earlier: &[Findings],
) -> anyhow::Result<Option<Comparison>> {
    if earlier.is_empty() {
        return Ok(None);
    }
    let present = source::findings_of(&Document::new(register, ledger, settings))?;
    let compared = compare::compare(&present, earlier, &compare::Settings::default())?;
    Ok(Some(compared))
}

/// Weighs the zones with all of it and puts them in their order.
///
/// # Errors
/// The ledger's file cannot be read or written.
pub(super) fn weigh(
    register: &Register,
    around: &Around,
    compared: Option<&Comparison>,
    ledger: &mut Ledger,
) -> std::io::Result<()> {
    if compared.is_none() && around.is_silent() {
        return Ok(());
    }
    let growth = |zone: &Ranked| {
        let row = compared.and_then(|compared| compared.of_zone(&zone.id));
        row.map_or(0.0, |row: &Row| row.growth_m2)
    };
    ledger.weigh(|zone| History::of(zone, &register.assets, around, growth(zone)))
}

/// Outlines of the zones of the newest survey before this one, for the unrolled jacket.
pub(super) fn outlines(register: &Register, compared: &Comparison) -> Option<Earlier> {
    let date = compared.earlier_dates.last()?.clone();
    let zone = |row: &Row| {
        let place = row.before_place.filter(|_| row.earlier_date.as_ref() == Some(&date))?;
        Some(EarlierZone {
            id: row.earlier_zone.clone()?,
            asset: register.assets.iter().position(|asset| asset.tag == row.asset)?,
            axial_m: place.axial_m,
            absolute_deg: place.clock.map(|hours| 30.0 * hours).or(place.bearing_deg),
            height_m: place.height_m,
            length_m: place.length_m,
            arc_m: place.arc_m,
        })
    };
    let mut zones: Vec<EarlierZone> = compared.zones.iter().filter_map(zone).collect();
    // A zone that came apart stands in several rows.
    zones.sort_by(|a, b| a.id.cmp(&b.id));
    zones.dedup_by(|a, b| a.id == b.id);
    Some(Earlier { date, zones })
}

/// What openings and wall readings say, for the record; None where there are none.
///
/// # Errors
/// None that a survey can cause.
pub(super) fn follow(making: &Making) -> anyhow::Result<Option<Followup>> {
    if making.around.openings.is_empty() && making.around.walls.is_empty() {
        return Ok(None);
    }
    let document = Document::new(making.register, making.ledger, making.thresholds);
    let findings = source::findings_of(&document)?;
    Ok(Some(follow_up(&Input {
        findings: &findings,
        register: making.register,
        around: making.around,
        former: &[],
    })))
}
