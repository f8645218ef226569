//! What is said on the terminal: outcome on standard output; progress, warnings and errors on standard error.

mod lines;
mod timing;

use std::io::Write;
use std::path::Path;

pub use lines::event;
pub use timing::{timing, timing_table};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use crate::assess::cause::Action;
use crate::assess::usability::Usability;
use crate::batch::kept::Closed;
use crate::inspect::FrameReport;
use crate::rank::Ranked;
use crate::record::ledger::Ledger;
use crate::record::manifest::Verification;
use crate::record::{Made, place};
use crate::register::Register;
use crate::told::{self, Level};
use crate::units::Units;

pub mod comparison;
pub mod followup;

/// A bar on standard error, where that is a terminal.
pub struct Progress(ProgressBar);

impl Progress {
    /// A bar over so many things of that name.
    #[must_use]
    pub fn new(count: usize, things: &str) -> Self {
        let bar = ProgressBar::with_draw_target(Some(count as u64), ProgressDrawTarget::stderr());
        if let Ok(style) =
            ProgressStyle::with_template(&format!("{{bar:30}} {{pos}} of {{len}} {things}, {{eta}} to go"))
        {
            bar.set_style(style);
        }
        Self(bar)
    }

    /// So many are done.
    pub fn done(&self, count: usize) {
        self.0.set_position(count as u64);
    }

    /// The bar goes.
    pub fn finish(&self) {
        self.0.finish_and_clear();
    }
}

/// An error that stops the run.
pub fn problem(problem: &anyhow::Error) {
    let text = format!("{problem:#}");
    if told::is_json() {
        event(&serde_json::json!({"event": "error", "message": text, "status": 2}));
    }
    let prefix = if text.starts_with("error:") { "" } else { "error: " };
    say_err(&format!("{prefix}{text}"));
}

/// A doubt that does not stop the run.
pub fn warning(text: &str) {
    if !told::tells(Level::Warn) {
        return;
    }
    let prefix = if text.starts_with("warning:") { "" } else { "warning: " };
    say_err(&format!("{prefix}{text}"));
}

/// What a run took from earlier ones, at info; a doubt where this one's frames could not be kept.
pub fn kept(kept: &Closed, frames: usize) {
    if kept.frames_reused > 0 {
        info(&format!(
            "{} of {frames} frames as an earlier run left them (--fresh computes them anew)",
            kept.frames_reused
        ));
    }
    if let Some(trouble) = &kept.trouble {
        warning(&format!(
            "what this run computed could not all be kept for the next, which will compute it again: {trouble}"
        ));
    }
}

/// A frame that is done: how it went at info, what it showed at debug.
pub fn frame(register: &Register, report: &FrameReport) {
    if !told::tells(Level::Info) {
        return;
    }
    let row = &register.frames[report.frame];
    let asset = &register.assets[row.asset].tag;
    let usability = usability_word(report.usability);
    say_err(&format!("info: {} ({asset}): {usability}", row.file));
    if !told::tells(Level::Debug) {
        return;
    }
    let number = |value: Option<f64>| value.map_or("none".to_owned(), |value| format!("{value:.3}"));
    let seen = report.seen.as_ref();
    say_err(&format!(
        "debug: {}: size_px={:?} sha256={} noise_k={} pixels_per_metre={} edge_width_px={} least_contrast_k={} smallest_zone_m={}",
        row.file,
        report.size_px.unwrap_or_default(),
        report.sha256.as_deref().unwrap_or("none"),
        number(report.noise_k),
        number(report.scale_px_m),
        number(report.edge_width_px),
        number(seen.map(|seen| seen.least_contrast_k)),
        number(seen.map(|seen| seen.smallest_zone_m))
    ));
}

/// What the run does now, at info.
pub fn info(text: &str) {
    if told::tells(Level::Info) {
        say_err(&format!("info: {text}"));
    }
}

fn usability_word(usability: Usability) -> &'static str {
    match usability {
        Usability::Good => "good",
        Usability::Limited => "limited",
        Usability::Unusable => "unusable",
    }
}

/// Something that failed without stopping the run.
pub fn failed(text: &str) {
    say_err(&format!("error: {text}"));
}

fn say_err(text: &str) {
    // Nobody can be told that standard error is closed.
    let _ = writeln!(std::io::stderr().lock(), "{text}");
}

/// One line a frame, the list, and the summary.
///
/// # Errors
/// The ledger's file cannot be read.
pub fn outcome(register: &Register, ledger: &Ledger, units: Units, out: &Path) -> std::io::Result<()> {
    if told::is_json() {
        return lines::outcome(register, ledger, out);
    }
    for report in ledger.reports() {
        let mut line = frame_line(register, ledger, &report?, units);
        line.push('\n');
        text(&line);
    }
    text("\n");
    for zone in ledger.zones().take(ledger.findings()) {
        text(&zone_line(register, &zone?, units));
    }
    text(&summary(ledger, units, out));
    Ok(())
}

/// What was made of the record.
pub fn record(made: &Made) {
    if told::is_json() {
        return event(&serde_json::json!({
            "event": "record", "files": made.files, "folder": made.folder, "manifest_sha256": made.manifest_sha256,
        }));
    }
    let text = format!(
        "record of {}: {}\nSHA-256 of its manifest.json, to be written down where the record is signed: {}\n",
        counted(made.files, "file"),
        made.folder.join("record.html").display(),
        made.manifest_sha256
    );
    let _ = std::io::stdout().lock().write_all(text.as_bytes());
}

/// Text on standard output; a closed pipe (a pager that was left) is no error of the run.
pub fn text(text: &str) {
    let _ = std::io::stdout().lock().write_all(text.as_bytes());
}

/// Whether anything changed since a record was made.
pub fn verification(found: &Verification, record: &Path) {
    if told::is_json() {
        return lines::verification(found, record);
    }
    let mut text = String::new();
    for change in &found.changes {
        text.push_str(&format!("{} {}: {}\n", change.kind, change.path, change.what.words()));
    }
    for stranger in &found.strangers {
        text.push_str(&format!("{stranger}: is no part of the record\n"));
    }
    let outcome = if found.changes.is_empty() {
        "nothing has changed".to_owned()
    } else {
        format!("{} changed", counted(found.changes.len(), "file"))
    };
    text.push_str(&format!(
        "{}: {outcome}; {} of the record and {} that it was made from were checked\n",
        record.display(),
        counted(found.outputs, "file"),
        counted(found.inputs, "file")
    ));
    text.push_str(&format!(
        "SHA-256 of its manifest.json, to compare with what was written down: {}\n",
        found.manifest_sha256
    ));
    let _ = std::io::stdout().lock().write_all(text.as_bytes());
}

fn frame_line(register: &Register, ledger: &Ledger, report: &FrameReport, units: Units) -> String {
    let row = &register.frames[report.frame];
    let asset = &register.assets[row.asset].tag;
    let zones = ledger.findings_in(report.frame);
    let state = usability_word(report.usability);
    let shown = match (&report.seen, report.usability) {
        (Some(seen), Usability::Good | Usability::Limited) => format!(
            ": {}, sound jacket {}, least contrast {}",
            counted(zones, "zone"),
            units.temperature(seen.sound_c),
            units.difference(seen.least_contrast_k)
        ),
        _ => String::new(),
    };
    let reasons = if report.reasons.is_empty() {
        String::new()
    } else {
        format!(": {}", units.sentence(&report.reasons.join("; ")))
    };
    format!("{} ({asset}) {state}{shown}{reasons}", row.file)
}

/// A count and its noun.
fn counted(count: usize, noun: &str) -> String {
    format!("{count} {noun}{}", if count == 1 { "" } else { "s" })
}

fn zone_line(register: &Register, zone: &Ranked, units: Units) -> String {
    let finding = &zone.finding;
    format!(
        "{:>3}. {} priority {:.0}: {} {}, {}, {}, conducts {}{:.1} times dry (95 %: {:.1} to {:.1}): {}\n",
        zone.rank.unwrap_or_default(),
        zone.id,
        zone.priority,
        register.assets[zone.asset].tag,
        if finding.extent == crate::assess::Extent::General {
            "all over".to_owned()
        } else {
            place::words(zone, units)
        },
        units.area(finding.zone.area_m2),
        finding.cause.key(),
        if finding.at_least { "at least " } else { "" },
        finding.ratio,
        finding.ratio_interval[0],
        finding.ratio_interval[1],
        finding.action.key()
    )
}

fn summary(ledger: &Ledger, units: Units, out: &Path) -> String {
    let count = |usability| ledger.frames_that_are(usability);
    let findings = ledger.findings();
    let mut text = String::new();
    if count(Usability::Unusable) == ledger.frames() {
        text.push_str("No frame could be used: nothing is known of the insulation.\n");
    } else if findings == 0 {
        text.push_str(
            "No zone called. A frame without zones is only as good as its least contrast and smallest zone.\n",
        );
    }
    text.push_str(&format!(
        "\n{}: {} good, {} limited, {} unusable\n",
        counted(ledger.frames(), "frame"),
        count(Usability::Good),
        count(Usability::Limited),
        count(Usability::Unusable)
    ));
    let actions: Vec<String> = Action::ALL
        .iter()
        .map(|action| (ledger.findings_to(*action), action.key()))
        .filter(|(count, _)| *count > 0)
        .map(|(count, key)| format!("{count} {key}"))
        .collect();
    let by_action = if actions.is_empty() {
        "none".to_owned()
    } else {
        actions.join(", ")
    };
    text.push_str(&format!(
        "{}: {by_action}; {} set aside\n",
        counted(findings, "zone"),
        ledger.set_aside()
    ));
    let total: f64 = ledger.assets().iter().map(|sums| sums.total_m2).sum();
    let usable: f64 = ledger.assets().iter().map(|sums| sums.usable_m2).sum();
    text.push_str(&format!(
        "{} of {} jacket not usefully seen\n",
        units.area(total - usable),
        units.area(total)
    ));
    text.push_str(&format!("written to {}\n", out.display()));
    for caution in crate::record::findings::CAUTIONS {
        text.push_str(caution);
        text.push('\n');
    }
    text
}
