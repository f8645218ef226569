//! The sample survey, run once for all tests, and the truth stored beside its images.

use std::path::PathBuf;
use std::sync::OnceLock;

use serde_json::Value;
use tempfile::TempDir;

use super::command::{Said, coldjacket, contents, findings, said, samples};

/// A run over the sample images.
pub struct Sample {
    room: TempDir,
    pub said: Said,
    pub found: Value,
}

impl Sample {
    fn run() -> Self {
        let room = TempDir::new().unwrap();
        let before = contents(&samples());
        let said = said(
            coldjacket()
                .arg("survey")
                .arg(samples())
                .arg("--out")
                .arg(room.path().join("findings")),
        );
        assert!(before == contents(&samples()), "the sample images have changed");
        let found = findings(&room.path().join("findings"));
        Self { room, said, found }
    }

    pub fn out(&self) -> PathBuf {
        self.room.path().join("findings")
    }

    pub fn list(&self, name: &str) -> &[Value] {
        list(&self.found[name])
    }
}

/// The one run.
pub fn sample() -> &'static Sample {
    static SAMPLE: OnceLock<Sample> = OnceLock::new();
    SAMPLE.get_or_init(Sample::run)
}

/// What is really there, a frame.
pub fn truth() -> &'static [Value] {
    static TRUTH: OnceLock<Value> = OnceLock::new();
    let text = || std::fs::read(samples().join("TRUTH.json")).unwrap();
    list(&TRUTH.get_or_init(|| serde_json::from_slice(&text()).unwrap())["frames"])
}

pub fn list(value: &Value) -> &[Value] {
    value.as_array().unwrap_or_else(|| panic!("{value} is no list"))
}

#[track_caller]
pub fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

#[track_caller]
pub fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_else(|| panic!("{value} is no text"))
}

/// Points of an outline.
pub fn points(value: &Value) -> Vec<[f64; 2]> {
    list(value)
        .iter()
        .map(|point| [number(&point[0]), number(&point[1])])
        .collect()
}
