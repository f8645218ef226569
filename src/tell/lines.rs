//! The outcome as JSON, one object a line: `event` says what it is of.

use std::io::Write;
use std::path::Path;

use serde_json::{Value, json};

use super::usability_word;
use crate::assess::usability::Usability;
use crate::record::ledger::Ledger;
use crate::record::manifest::Verification;
use crate::register::Register;

/// One line on standard output; a closed pipe is no error of the run.
pub fn event(value: &Value) {
    let _ = writeln!(std::io::stdout().lock(), "{value}");
}

/// One line a file that changed, and one for the whole.
pub(super) fn verification(found: &Verification, record: &Path) {
    for change in &found.changes {
        event(&json!({"event": "change", "kind": change.kind, "file": change.path, "what": change.what.words()}));
    }
    event(&json!({
        "event": "verification", "record": record, "outputs": found.outputs, "inputs": found.inputs,
        "changes": found.changes.len(), "strangers": found.strangers, "manifest_sha256": found.manifest_sha256,
        "status": i32::from(!found.changes.is_empty()),
    }));
}

/// Frames in the order of the sheet, zones in follow-up order, and one line for the run.
///
/// # Errors
/// The ledger's file cannot be read.
pub(super) fn outcome(register: &Register, ledger: &Ledger, out: &Path) -> std::io::Result<()> {
    for report in ledger.reports() {
        let report = report?;
        let row = &register.frames[report.frame];
        event(&json!({
            "event": "frame", "file": row.file, "asset": register.assets[row.asset].tag,
            "usability": usability_word(report.usability), "reasons": report.reasons,
        }));
    }
    for zone in ledger.zones() {
        let zone = zone?;
        event(&json!({
            "event": "zone", "id": zone.id, "rank": zone.rank, "asset": register.assets[zone.asset].tag,
            "priority": (zone.priority * 10.0).round() / 10.0,
            "conductivity_ratio": (zone.finding.ratio * 1000.0).round() / 1000.0,
            "likely_cause": zone.finding.cause.key(), "action": zone.finding.action.key(),
        }));
    }
    let count = |usability| ledger.frames_that_are(usability);
    let unusable = count(Usability::Unusable);
    event(&json!({
        "event": "survey", "frames": ledger.frames(), "good": count(Usability::Good),
        "limited": count(Usability::Limited), "unusable": unusable, "zones": ledger.findings(),
        "set_aside": ledger.set_aside(), "written_to": out, "status": i32::from(unusable > 0),
    }));
    Ok(())
}
