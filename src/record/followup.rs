//! `followup-list.csv`: one row a zone in rank order, for the crew: where, how large, how sure, what to do, and blank
//! columns to be filled in on the job.

use super::book::{Book, ZoneView};
use super::list::plain;
use crate::units::Units;

/// The list as CSV text.
///
/// # Errors
/// Only if the CSV writer cannot write to memory.
pub fn csv(book: &Book) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(heading(book.units))?;
    for zone in book.listed() {
        writer.write_record(row(zone))?;
    }
    writer
        .into_inner()
        .map_err(|error| csv::Error::from(error.into_error()))
}

fn heading(units: Units) -> [String; 26] {
    let (length, area, difference, heat) = match units {
        Units::Si => ("m", "m2", "k", "w"),
        Units::Us => ("ft", "ft2", "f", "btu_h"),
    };
    [
        "rank".to_owned(),
        "zone".to_owned(),
        "asset".to_owned(),
        format!("from_datum_{length}"),
        "clock_or_bearing".to_owned(),
        format!("height_{length}"),
        format!("length_{length}"),
        format!("round_{length}"),
        format!("area_{area}"),
        format!("contrast_{difference}"),
        "conductivity_ratio".to_owned(),
        "ratio_low".to_owned(),
        "ratio_high".to_owned(),
        "least_moisture_pct".to_owned(),
        format!("extra_heat_gain_{heat}"),
        "likely_cause".to_owned(),
        "action".to_owned(),
        "priority".to_owned(),
        "priority_parts".to_owned(),
        "because".to_owned(),
        "inspector".to_owned(),
        "image".to_owned(),
        "who".to_owned(),
        "due".to_owned(),
        "done".to_owned(),
        "found".to_owned(),
    ]
}

fn row(zone: &ZoneView) -> [String; 26] {
    let maybe = |value: Option<f64>, decimals: usize| value.map(|v| format!("{v:.decimals$}")).unwrap_or_default();
    [
        zone.rank.map(|rank| rank.to_string()).unwrap_or_default(),
        plain(&zone.id),
        plain(&zone.asset),
        format!("{:.2}", zone.along),
        plain(&zone.round),
        maybe(zone.height, 2),
        format!("{:.2}", zone.length),
        format!("{:.2}", zone.arc),
        format!("{:.2}", zone.area),
        format!("{:.2}", zone.contrast),
        format!("{:.2}", zone.ratio),
        format!("{:.2}", zone.ratio_low),
        format!("{:.2}", zone.ratio_high),
        maybe(zone.moisture_pct, 1),
        format!("{:.0}", zone.extra_heat_number),
        zone.cause.clone(),
        zone.action.clone(),
        zone.rank.map_or_else(String::new, |_| format!("{:.0}", zone.priority)),
        zone.parts_words.clone(),
        plain(&zone.because.join("; ")),
        plain(&signed(zone)),
        plain(zone.frames.first().map_or("", String::as_str)),
        String::new(),
        String::new(),
        String::new(),
        String::new(),
    ]
}

/// The inspector's word with name and date; blank where there is none.
pub(super) fn signed(zone: &ZoneView) -> String {
    let Some(verdict) = &zone.verdict else {
        return String::new();
    };
    let note = verdict
        .note
        .as_deref()
        .map_or_else(String::new, |note| format!(": {note}"));
    format!("{}, {}, {}{note}", verdict.word, verdict.by, verdict.on)
}
