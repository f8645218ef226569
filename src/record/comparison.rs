//! `comparison.json` and `comparison.csv`: this survey against earlier ones, SI units.

use std::io;

use serde::Serialize;
use serde_json::ser::{Formatter, PrettyFormatter};

use super::findings::CAUTIONS;
use super::list::plain;
use crate::compare::change::{Change, State};
use crate::compare::{Comparison, Row};
use crate::rank::place::clock_words;

/// What the file calls itself.
const SCHEMA: &str = "coldjacket.comparison/1";

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    made_by: MadeBy,
    cautions: [&'static str; 4],
    counts: Counts,
    #[serde(flatten)]
    comparison: &'a Comparison,
}

#[derive(Serialize)]
struct MadeBy {
    program: &'static str,
    version: &'static str,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct Counts {
    grown: usize,
    new: usize,
    steady: usize,
    shrunk: usize,
    not_seen: usize,
    gone: usize,
}

/// The document's bytes.
///
/// # Errors
/// None that a comparison can cause.
pub fn json(comparison: &Comparison) -> Result<Vec<u8>, serde_json::Error> {
    let document = Document {
        schema: SCHEMA,
        made_by: MadeBy {
            program: "coldjacket",
            version: env!("CARGO_PKG_VERSION"),
        },
        cautions: CAUTIONS,
        counts: Counts {
            grown: comparison.count(Change::Grown),
            new: comparison.count(Change::New),
            steady: comparison.count(Change::Steady),
            shrunk: comparison.count(Change::Shrunk),
            not_seen: comparison.count(Change::NotSeen),
            gone: comparison.count(Change::Gone),
        },
        comparison,
    };
    exact(&document)
}

/// A document as indented JSON in its own order of keys, numbers to four decimals: finer than anything that is compared or
/// measured here.
///
/// # Errors
/// None that what is written here can cause.
pub(super) fn exact(document: &impl Serialize) -> Result<Vec<u8>, serde_json::Error> {
    let mut bytes = Vec::new();
    let formatter = Rounded(PrettyFormatter::new());
    document.serialize(&mut serde_json::Serializer::with_formatter(&mut bytes, formatter))?;
    bytes.push(b'\n');
    Ok(bytes)
}

/// Indented JSON whose numbers have four decimals at most.
struct Rounded(PrettyFormatter<'static>);

impl Formatter for Rounded {
    fn write_f64<W: ?Sized + io::Write>(&mut self, writer: &mut W, value: f64) -> io::Result<()> {
        // + 0.0 turns −0 into 0.
        let rounded = (value * 1e4).round() / 1e4 + 0.0;
        self.0
            .write_f64(writer, if rounded.is_finite() { rounded } else { value })
    }

    fn begin_array<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_array(writer)
    }

    fn end_array<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_array(writer)
    }

    fn begin_array_value<W: ?Sized + io::Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_array_value(writer, first)
    }

    fn end_array_value<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_array_value(writer)
    }

    fn begin_object<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_object(writer)
    }

    fn end_object<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_object(writer)
    }

    fn begin_object_key<W: ?Sized + io::Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_object_key(writer, first)
    }

    fn begin_object_value<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_object_value(writer)
    }

    fn end_object_value<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_object_value(writer)
    }
}

const HEADING: [&str; 23] = [
    "change",
    "asset",
    "zone",
    "earlier_zone",
    "earlier_date",
    "seen_before",
    "axial_m",
    "clock",
    "bearing_deg",
    "height_m",
    "ratio_before",
    "ratio_before_low",
    "ratio_before_high",
    "ratio_now",
    "ratio_now_low",
    "ratio_now_high",
    "area_before_m2",
    "area_now_m2",
    "ratio_per_year",
    "area_m2_per_year",
    "merged_into",
    "split_from",
    "because",
];

/// The rows as CSV text.
///
/// # Errors
/// Only if the CSV writer cannot write to memory.
pub fn csv(comparison: &Comparison) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(HEADING)?;
    for row in &comparison.zones {
        writer.write_record(cells(row))?;
    }
    writer
        .into_inner()
        .map_err(|error| csv::Error::from(error.into_error()))
}

fn cells(row: &Row) -> [String; 23] {
    let name = |text: &Option<String>| text.as_deref().map(plain).unwrap_or_default();
    let maybe = |value: Option<f64>, decimals: usize| value.map(|v| format!("{v:.decimals$}")).unwrap_or_default();
    let of =
        |state: &Option<State>, value: fn(&State) -> f64, decimals: usize| maybe(state.as_ref().map(value), decimals);
    let seen_before = row.seen_before.and_then(|seen| serde_json::to_value(seen).ok());
    [
        row.change.key().to_owned(),
        plain(&row.asset),
        name(&row.zone),
        name(&row.earlier_zone),
        row.earlier_date.clone().unwrap_or_default(),
        seen_before
            .and_then(|word| word.as_str().map(ToOwned::to_owned))
            .unwrap_or_default(),
        format!("{:.2}", row.place.axial_m),
        row.place.clock.map(clock_words).unwrap_or_default(),
        maybe(row.place.bearing_deg, 0),
        maybe(row.place.height_m, 2),
        of(&row.before, |state| state.conductivity_ratio, 2),
        of(&row.before, |state| state.conductivity_ratio_interval[0], 2),
        of(&row.before, |state| state.conductivity_ratio_interval[1], 2),
        of(&row.now, |state| state.conductivity_ratio, 2),
        of(&row.now, |state| state.conductivity_ratio_interval[0], 2),
        of(&row.now, |state| state.conductivity_ratio_interval[1], 2),
        of(&row.before, |state| state.area_m2, 3),
        of(&row.now, |state| state.area_m2, 3),
        maybe(row.trend.map(|trend| trend.ratio_per_year), 3),
        maybe(row.trend.map(|trend| trend.area_m2_per_year), 4),
        name(&row.merged_into),
        name(&row.split_from),
        plain(&row.because.join("; ")),
    ]
}
