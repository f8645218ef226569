//! A follow-up on the terminal: what cannot wait comes first.

use std::path::Path;

use serde_json::json;

use super::counted;
use crate::followup::Followup;
use crate::followup::items::Item;
use crate::followup::wall::WallPoint;
use crate::record::findings::CAUTIONS;
use crate::record::place::{Round, phrase};
use crate::told;
use crate::units::Units;

/// All of it; `is_level` tells of a tag whether places round it are clock positions.
pub fn followup(followup: &Followup, units: Units, out: &Path, is_level: impl Fn(&str) -> bool) {
    if told::is_json() {
        return events(followup, out);
    }
    let mut text = String::new();
    for words in followup.wall.iter().filter_map(|point| point.refers(units)) {
        text.push_str(&format!("{words}\n"));
    }
    if !followup.refer.is_empty() {
        text.push('\n');
    }
    for words in &followup.belief {
        text.push_str(&format!("{words}\n"));
    }
    text.push('\n');
    for opening in &followup.openings {
        let name = opening.zone.as_ref().unwrap_or(&opening.asset);
        text.push_str(&format!(
            "{:<17} {name}, opened {}, found {}{}: {}\n",
            opening.outcome.key(),
            opening.opened_on,
            opening.moisture,
            opening
                .corrosion
                .map_or_else(String::new, |found| format!(", corrosion {found}")),
            opening.told
        ));
    }
    if !followup.openings.is_empty() {
        text.push('\n');
    }
    for point in &followup.wall {
        text.push_str(&wall(point, units));
    }
    if !followup.wall.is_empty() {
        text.push_str(&format!("{}\n\n", followup.rule));
    }
    for item in &followup.open {
        text.push_str(&open(item, units, is_level(&item.asset)));
    }
    text.push_str(&format!(
        "{} open, {} closed; {}, {}\nwritten to {}\n",
        followup.open.len(),
        followup.closed.len(),
        counted(followup.openings.len(), "opening"),
        counted(followup.wall.len(), "wall point"),
        out.display()
    ));
    for caution in CAUTIONS {
        text.push_str(caution);
        text.push('\n');
    }
    super::text(&text);
}

/// What cannot wait, then one object an opening, wall point and open item, and one for the whole.
fn events(followup: &Followup, out: &Path) {
    for words in &followup.refer {
        super::event(&json!({"event": "refer", "told": words}));
    }
    for opening in &followup.openings {
        super::event(&json!({
            "event": "opening", "asset": opening.asset, "zone": opening.zone, "opened_on": opening.opened_on,
            "outcome": opening.outcome,
        }));
    }
    for point in &followup.wall {
        super::event(&json!({
            "event": "wall", "asset": point.asset, "point": point.point, "remaining_life_years": point.remaining_life_years,
            "next_on": point.next_on, "is_below_required": point.is_below_required,
        }));
    }
    for item in &followup.open {
        super::event(&json!({
            "event": "open", "asset": item.asset, "zone": item.zone, "since": item.since, "state": item.state,
        }));
    }
    super::event(&json!({
        "event": "followup", "open": followup.open.len(), "closed": followup.closed.len(), "written_to": out,
    }));
}

fn rate(units: Units, mm: f64) -> String {
    match units {
        Units::Si => format!("{mm:.3} mm a year"),
        Units::Us => format!("{:.4} in a year", mm / 25.4),
    }
}

fn wall(point: &WallPoint, units: Units) -> String {
    let mut text = format!(
        "wall {} point {}: {} on {}",
        point.asset,
        point.point,
        units.wall(point.actual_mm / 1000.0),
        point.measured_on
    );
    if let (Some(required_mm), Some(by)) = (point.required_mm, &point.required_by) {
        text.push_str(&format!(", required {} ({by})", units.wall(required_mm / 1000.0)));
    }
    if let (Some(rate_mm), Some(from)) = (point.rate_mm_per_year, &point.rate_from) {
        text.push_str(&format!(", rate {} ({from})", rate(units, rate_mm)));
    }
    match (point.remaining_life_years, &point.next_on) {
        (Some(life), Some(next)) => text.push_str(&format!(", remaining life {life:.1} years, next reading by {next}")),
        (None, Some(next)) => text.push_str(&format!(", no end to its life from this rate, next reading by {next}")),
        _ => {}
    }
    if let Some(external) = &point.external_on {
        text.push_str(&format!(", external inspection by {external}"));
    }
    text.push('\n');
    for told in &point.told {
        text.push_str(&format!("  {}\n", units.sentence(told)));
    }
    text
}

fn open(item: &Item, units: Units, is_level: bool) -> String {
    let at = if item.is_general {
        "all over".to_owned()
    } else {
        let round = match (item.height_m, item.round_deg) {
            (Some(up_m), _) => Round::Up(up_m),
            (None, Some(deg)) if is_level => Round::Clock(deg / 30.0),
            (None, Some(deg)) => Round::Bearing(deg),
            (None, None) => Round::NotSaid,
        };
        phrase(item.axial_m, round, units)
    };
    format!(
        "open {} {} ({at}), since {}: {}\n",
        item.state.key(),
        item.zone,
        item.since,
        item.told
    )
}
