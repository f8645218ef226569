//! A comparison on the terminal.

use std::path::Path;

use serde_json::json;

use super::counted;
use crate::compare::change::{Change, State};
use crate::compare::{Comparison, Row, SeenBefore};
use crate::record::findings::CAUTIONS;
use crate::record::place::{Round, phrase};
use crate::told;
use crate::units::Units;

/// The rows, what is left over, and where it was written.
pub fn comparison(comparison: &Comparison, units: Units, out: &Path) {
    if told::is_json() {
        return events(comparison, out);
    }
    let mut text = format!(
        "{} against {}\n\n",
        comparison.date,
        comparison.earlier_dates.join(", ")
    );
    for row in &comparison.zones {
        text.push_str(&line(row, units));
    }
    if comparison.zones.is_empty() {
        text.push_str("No zone in any of the surveys.\n");
    }
    text.push('\n');
    for missing in &comparison.missing_assets {
        text.push_str(&format!("{}\n", missing.told));
    }
    if !comparison.new_assets.is_empty() {
        let names = comparison.new_assets.join(", ");
        text.push_str(&format!("In no earlier survey: {names}\n"));
    }
    let counts: Vec<String> = Change::ALL
        .iter()
        .map(|change| format!("{} {}", comparison.count(*change), change.key()))
        .collect();
    text.push_str(&format!(
        "{}: {}\n",
        counted(comparison.zones.len(), "row"),
        counts.join(", ")
    ));
    text.push_str(&format!("written to {}\n", out.display()));
    for caution in CAUTIONS {
        text.push_str(caution);
        text.push('\n');
    }
    super::text(&text);
}

/// One object a row, and one for the whole.
fn events(comparison: &Comparison, out: &Path) {
    for row in &comparison.zones {
        super::event(&json!({
            "event": "zone", "asset": row.asset, "zone": row.zone, "earlier_zone": row.earlier_zone, "change": row.change,
            "because": row.because,
        }));
    }
    for missing in &comparison.missing_assets {
        super::event(&json!({"event": "missing-asset", "asset": missing.asset, "perhaps": missing.perhaps}));
    }
    super::event(&json!({"event": "comparison", "rows": comparison.zones.len(), "written_to": out}));
}

fn line(row: &Row, units: Units) -> String {
    let names = match (&row.zone, &row.earlier_zone) {
        (Some(now), Some(then)) if now != then => format!("{now} (was {then})"),
        (Some(now), _) => now.clone(),
        (None, Some(then)) => format!("{then} of {}", row.earlier_date.as_deref().unwrap_or("then")),
        (None, None) => String::new(),
    };
    let mut text = format!("{:<8} {names}, {}", row.change.key(), place(row, units));
    match (&row.before, &row.now) {
        (Some(then), Some(now)) => text.push_str(&format!(
            ": conducts {} then, {} now; {} then, {} now",
            ratio(then),
            ratio(now),
            units.area(then.area_m2),
            units.area(now.area_m2)
        )),
        (Some(one), None) | (None, Some(one)) => {
            text.push_str(&format!(": conducts {}, {}", ratio(one), units.area(one.area_m2)));
        }
        (None, None) => {}
    }
    if let Some(trend) = row.trend.filter(|_| row.history.len() > 2) {
        text.push_str(&format!(
            "; {:+.2} ±{:.2} a year over {:.1} years",
            trend.ratio_per_year, trend.ratio_per_year_uncertainty, trend.years
        ));
    }
    let is_told = matches!(row.change, Change::NotSeen | Change::Gone | Change::New)
        || row.merged_into.is_some()
        || row.split_from.is_some();
    if let Some(why) = row.because.first().filter(|_| is_told) {
        text.push_str(&format!("; {}", units.sentence(why)));
    }
    if row.seen_before == Some(SeenBefore::No)
        && let Some(why) = row.because.get(1)
    {
        text.push_str(&format!(" ({})", units.sentence(why)));
    }
    text.push('\n');
    text
}

fn ratio(state: &State) -> String {
    let [low, high] = state.conductivity_ratio_interval;
    let least = if state.at_least { "at least " } else { "" };
    format!(
        "{least}{:.1} times dry ({low:.1} to {high:.1})",
        state.conductivity_ratio
    )
}

/// Where a row lies, in one phrase.
pub(super) fn place(row: &Row, units: Units) -> String {
    if row.is_general {
        return "all over".to_owned();
    }
    let at = &row.place;
    phrase(at.axial_m, Round::of(at.clock, at.bearing_deg, at.height_m), units)
}
