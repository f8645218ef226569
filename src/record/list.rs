//! `findings.csv`: one row a zone in rank order, what is set aside after it.

use std::io::{self, Write};

use crate::rank::Ranked;
use crate::rank::place::clock_words;
use crate::register::Register;

const HEADING: [&str; 27] = [
    "rank",
    "id",
    "asset",
    "place",
    "axial_m",
    "height_m",
    "clock",
    "bearing_deg",
    "angle_deg",
    "length_m",
    "arc_m",
    "area_m2",
    "departure",
    "extent",
    "contrast_k",
    "uncertainty_k",
    "surface_c",
    "conductivity_ratio",
    "ratio_low",
    "ratio_high",
    "moisture_volume_fraction",
    "extra_heat_gain_w",
    "likely_cause",
    "action",
    "priority",
    "because",
    "files",
];

/// Writes the list as CSV text.
///
/// # Errors
/// A zone cannot be read, or the text not be written.
pub fn csv(register: &Register, zones: impl Iterator<Item = io::Result<Ranked>>, to: impl Write) -> io::Result<()> {
    let mut writer = csv::Writer::from_writer(to);
    writer.write_record(HEADING)?;
    for zone in zones {
        writer.write_record(row(register, &zone?))?;
    }
    writer.flush()
}

fn row(register: &Register, zone: &Ranked) -> [String; 27] {
    let (finding, seen, place) = (&zone.finding, &zone.finding.zone, &zone.place);
    let number = |value: f64, decimals: usize| format!("{value:.decimals$}");
    let maybe = |value: Option<f64>, decimals: usize| value.map(|v| number(v, decimals)).unwrap_or_default();
    let files: Vec<&str> = zone
        .sightings
        .iter()
        .map(|s| register.frames[s.frame].file.as_str())
        .collect();
    [
        zone.rank
            .map_or_else(|| "set aside".to_owned(), |rank| rank.to_string()),
        plain(&zone.id),
        plain(&register.assets[zone.asset].tag),
        super::place::words(zone, crate::units::Units::Si),
        number(place.axial_m, 2),
        maybe(place.height_m, 2),
        place.clock_h.map(clock_words).unwrap_or_default(),
        maybe(place.bearing_deg, 0),
        number(seen.angle_deg, 1),
        number(seen.length_m, 2),
        number(seen.arc_m, 2),
        number(seen.area_m2, 3),
        seen.departure.key().to_owned(),
        finding.extent.key().to_owned(),
        number(seen.contrast_k, 2),
        number(finding.uncertainty_k, 2),
        number(seen.surface_c, 1),
        number(finding.ratio, 2),
        number(finding.ratio_interval[0], 2),
        number(finding.ratio_interval[1], 2),
        maybe(finding.moisture, 3),
        number(finding.extra_heat_gain_w, 1),
        finding.cause.key().to_owned(),
        finding.action.key().to_owned(),
        number(zone.priority, 1),
        finding.because.join("; "),
        plain(&files.join("; ")),
    ]
}

/// Text that no spreadsheet takes for a formula: a leading `=`, `+`, `-`, `@` or control character gets an apostrophe.
pub(super) fn plain(text: &str) -> String {
    match text.chars().next() {
        Some('=' | '+' | '-' | '@' | '\t' | '\r') => format!("'{text}"),
        _ => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tag_cannot_become_a_formula() {
        assert_eq!(plain("=1+1"), "'=1+1");
        assert_eq!(plain("SA-101"), "SA-101");
        assert_eq!(plain("@sum"), "'@sum");
    }
}
