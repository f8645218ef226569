//! What came before and after: earlier surveys, openings, wall readings, and how far a call may be believed here.

use super::{Entry, Material};
use crate::compare::change::Change;
use crate::compare::{Row, SeenBefore};
use crate::record::place::{Round, phrase};

/// What became of a zone, in one phrase.
pub(super) fn change(material: &Material, id: &str) -> String {
    let Some(row) = material.compared.and_then(|compared| compared.of_zone(id)) else {
        return String::new();
    };
    let units = material.units;
    let then = row.earlier_date.as_deref().unwrap_or("the survey before");
    let states = match (&row.before, &row.now) {
        (Some(before), Some(now)) => format!(
            ": conducted {:.1} times dry over {} then, {:.1} over {} now",
            before.conductivity_ratio,
            units.area(before.area_m2),
            now.conductivity_ratio,
            units.area(now.area_m2)
        ),
        _ => String::new(),
    };
    let trend = row
        .trend
        .filter(|_| row.history.len() > 2)
        .map_or_else(String::new, |trend| {
            format!(
                "; over {} surveys the ratio went {:+.2} ±{:.2} a year",
                row.history.len(),
                trend.ratio_per_year,
                trend.ratio_per_year_uncertainty
            )
        });
    match row.change {
        Change::Grown => format!("Grown since {then}{states}{trend}"),
        Change::Steady => format!("Steady since {then}, within the uncertainty{states}{trend}"),
        Change::Shrunk => format!("Shrunk since {then}{states}{trend}"),
        Change::New => match row.seen_before {
            Some(SeenBefore::Yes) => format!("New: its place was seen on {then} without it"),
            Some(SeenBefore::No) | None => "Not seen before: it may be older than it looks".to_owned(),
            Some(SeenBefore::Unknown) => "New, or not seen before: the earlier findings do not tell".to_owned(),
        },
        Change::Gone | Change::NotSeen => String::new(),
    }
}

/// What was found where a zone was opened.
pub(super) fn opened(material: &Material, id: &str) -> String {
    let openings = material.followed.iter().flat_map(|followed| &followed.openings);
    let words: Vec<String> = openings
        .filter(|opening| opening.zone.as_deref() == Some(id))
        .map(|opening| {
            format!(
                "Opened on {}: {}{}, {}",
                opening.opened_on,
                opening.moisture,
                opening
                    .corrosion
                    .map_or_else(String::new, |found| format!(", corrosion {found}")),
                if opening.is_resealed {
                    "closed again"
                } else {
                    "not said to be closed again"
                }
            )
        })
        .collect();
    words.join(". ")
}

/// Zones of earlier surveys on an asset that are not on this list.
pub(super) fn since(material: &Material, tag: &str) -> Vec<Entry> {
    let rows = material.compared.iter().flat_map(|compared| &compared.zones);
    let mut entries: Vec<Entry> = rows
        .filter(|row| row.asset == tag && row.zone.is_none())
        .map(|row| {
            Entry::new(
                &format!("{} {}", row.earlier_zone.as_deref().unwrap_or("zone"), row.change.key()),
                told(material, row),
            )
        })
        .collect();
    let missing = material.compared.iter().flat_map(|compared| &compared.missing_assets);
    let perhaps = missing.filter(|missing| missing.perhaps.as_deref() == Some(tag));
    entries.extend(perhaps.map(|missing| Entry::new("Perhaps renamed", missing.told.clone())));
    entries
}

fn told(material: &Material, row: &Row) -> String {
    let at = &row.place;
    let place = phrase(
        at.axial_m,
        Round::of(at.clock, at.bearing_deg, at.height_m),
        material.units,
    );
    format!(
        "on the list of {}, {place}: {}",
        row.earlier_date.as_deref().unwrap_or("an earlier survey"),
        material.units.sentence(&row.because.join("; "))
    )
}

/// Openings that stand on no zone of the list, and wall points, of an asset.
pub(super) fn openings_and_walls(material: &Material, tag: &str) -> Vec<Entry> {
    let Some(followed) = material.followed else {
        return Vec::new();
    };
    let units = material.units;
    let mut entries: Vec<Entry> = followed
        .openings
        .iter()
        .filter(|opening| opening.asset == tag)
        .map(|opening| {
            let at = opening
                .zone
                .clone()
                .or_else(|| opening.axial_m.map(|m| phrase(m, Round::NotSaid, units)));
            Entry::new(
                &format!("Opened {}", opening.opened_on),
                format!(
                    "{}: found {}{}; {}{}",
                    at.unwrap_or_default(),
                    opening.moisture,
                    opening
                        .corrosion
                        .map_or_else(String::new, |found| format!(", corrosion {found}")),
                    opening.told,
                    opening
                        .note
                        .as_ref()
                        .map_or_else(String::new, |note| format!(". {note}"))
                ),
            )
        })
        .collect();
    for point in followed.wall.iter().filter(|point| point.asset == tag) {
        let mut text = format!("{} on {}", units.wall(point.actual_mm / 1000.0), point.measured_on);
        if let Some(required_mm) = point.required_mm {
            text.push_str(&format!(", required {}", units.wall(required_mm / 1000.0)));
        }
        if let Some(life) = point.remaining_life_years {
            text.push_str(&format!(", remaining life {life:.1} years"));
        }
        if let Some(next) = &point.next_on {
            text.push_str(&format!(", next reading by {next}"));
        }
        for told in &point.told {
            text.push_str(&format!("; {}", units.sentence(told)));
        }
        entries.push(Entry::new(&format!("Wall, point {}", point.point), text));
    }
    entries
}

/// Walls below their required thickness.
pub(super) fn refer(material: &Material) -> Vec<Entry> {
    let walls = material.followed.iter().flat_map(|followed| &followed.wall);
    let words = walls.filter_map(|point| point.refers(material.units));
    words
        .map(|words| {
            let rest = words.split_once(": ").map_or(words.as_str(), |(_, rest)| rest);
            Entry::new("Refer to the responsible engineer now", rest)
        })
        .collect()
}

/// What the summary says of it.
pub(super) fn summary(material: &Material) -> Vec<Entry> {
    let mut entries = Vec::new();
    if let Some(followed) = material.followed {
        // What cannot wait is the first thing that is read.
        entries.push(Entry::new(
            "How far a call may be believed here",
            followed.belief.join(" "),
        ));
    }
    if let Some(compared) = material.compared {
        let counts: Vec<String> = Change::ALL
            .iter()
            .filter(|change| compared.count(**change) > 0)
            .map(|change| format!("{} {}", compared.count(*change), change.key().replace('-', " ")))
            .collect();
        let counts = if counts.is_empty() {
            "no zone in any".to_owned()
        } else {
            counts.join(", ")
        };
        entries.push(Entry::new(
            "Against earlier surveys",
            format!("{}: {counts}", compared.earlier_dates.join(", ")),
        ));
    }
    entries
}
