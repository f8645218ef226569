//! Physics against published and independently computed values, one data file a subject.
//!
//! Every table in `tests/reference/*.json` states its source, how certain it is, the tolerance it is held to and why.
//! Each test prints the greatest error it saw.

#![allow(clippy::unwrap_used)] // A data file that does not parse must fail the test.

#[path = "reference/heat.rs"]
mod heat;
#[path = "reference/humid_air.rs"]
mod humid_air;
#[path = "reference/moisture_and_corrosion.rs"]
mod moisture_and_corrosion;
#[path = "reference/radiation.rs"]
mod radiation;
#[path = "reference/statistic.rs"]
mod statistic;
#[path = "reference/wall.rs"]
mod wall;

use serde::Deserialize;
use serde::de::DeserializeOwned;

/// One table of a data file.
#[derive(Debug, Deserialize)]
struct Table<Row> {
    source: String,
    certainty: String,
    tolerance: f64,
    tolerance_unit: String,
    tolerance_reason: String,
    rows: Vec<Row>,
}

impl<Row: DeserializeOwned> Table<Row> {
    /// Table `name` of a data file's `text`; a table without source, certainty, reason or rows is a fault.
    fn read(text: &str, name: &str) -> Self {
        let file: serde_json::Value = serde_json::from_str(text).unwrap();
        let table: Self = serde_json::from_value(file[name].clone()).unwrap_or_else(|e| panic!("{name}: {e}"));
        for said in [
            &table.source,
            &table.certainty,
            &table.tolerance_unit,
            &table.tolerance_reason,
        ] {
            assert!(!said.is_empty(), "table {name} keeps something to itself");
        }
        assert!(!table.rows.is_empty(), "table {name} is empty");
        table
    }

    /// A gauge for errors held to the table's own tolerance.
    fn gauge(&self, what: &str) -> Gauge {
        Gauge::new(what, self.tolerance, &self.tolerance_unit)
    }
}

/// Greatest error seen, judged when asked.
#[derive(Debug)]
struct Gauge {
    what: String,
    unit: String,
    tolerance: f64,
    worst: f64,
    at: String,
    count: usize,
}

impl Gauge {
    fn new(what: &str, tolerance: f64, unit: &str) -> Self {
        Self {
            what: what.into(),
            unit: unit.into(),
            tolerance,
            worst: 0.0,
            at: String::new(),
            count: 0,
        }
    }

    /// Notes one absolute error; NaN counts as infinitely wrong.
    fn note(&mut self, error: f64, at: impl std::fmt::Debug) {
        let size = if error.is_nan() { f64::INFINITY } else { error.abs() };
        self.count += 1;
        if size > self.worst {
            (self.worst, self.at) = (size, format!("{at:?}"));
        }
    }

    /// Notes found / wanted − 1.
    fn note_ratio(&mut self, found: f64, wanted: f64, at: impl std::fmt::Debug) {
        self.note(found / wanted - 1.0, at);
    }

    /// Prints the greatest error and holds it to the tolerance.
    fn judge(self) {
        let Self {
            what,
            unit,
            tolerance,
            worst,
            at,
            count,
        } = self;
        println!("{what}: {count} values, greatest error {worst:.3e} {unit} (held to {tolerance:.1e}) at {at}");
        assert!(count > 0, "{what}: nothing compared");
        assert!(
            worst <= tolerance,
            "{what}: error {worst} {unit} exceeds {tolerance} at {at}"
        );
    }
}
