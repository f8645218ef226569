//! One frame as one line of JSON: what an engine that spreads frames over machines takes in and hands back.
//!
//! A line holds what findings.json says of the frame, to be read by anyone, and `state`: all that the ranking needs of it,
//! to the last bit. `inputs` is a digest of everything that the result depends on beside the image, so that lines of other
//! sheets, settings or versions are never mixed in.

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::digest;
use crate::inspect::Outcome;
use crate::record::base64;
use crate::record::findings::{self, FrameEntry};
use crate::register::{Asset, FrameRow, Register};
use crate::settings::Settings;

/// What every line names itself.
pub const SCHEMA: &str = "coldjacket.frame/1";

/// A frame of a list: what goes in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Wanted {
    /// The survey folder.
    pub survey: String,
    /// The frame's file, as the sheet states it.
    pub file: String,
    /// Its asset's tag.
    pub asset: String,
}

/// A line as it is written.
#[derive(Serialize)]
struct Written<'a> {
    schema: &'static str,
    version: &'static str,
    survey: &'a str,
    inputs: &'a str,
    #[serde(flatten)]
    entry: FrameEntry<'a>,
    state: String,
}

/// A line as it is read.
#[derive(Debug, Clone, Deserialize)]
pub struct Line {
    schema: String,
    version: String,
    /// The frame's file.
    pub file: String,
    /// Its asset's tag.
    pub asset: String,
    /// Digest of what the result depends on.
    pub inputs: String,
    state: String,
}

/// Why a line cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Error {
    /// It is none.
    #[error("is no line of coldjacket frames: {0}")]
    NotALine(String),
    /// It stands in place of a frame that could not be answered.
    #[error("stands for a frame that could not be answered: {0}")]
    Refused(String),
    /// Another program version wrote it.
    #[error("is of {found} (accepted: {SCHEMA} of version {})", env!("CARGO_PKG_VERSION"))]
    OtherVersion {
        /// Schema and version found.
        found: String,
    },
    /// Its state is damaged.
    #[error("its state cannot be read: {0}")]
    Damaged(String),
}

/// The line of a frame, without its line end.
///
/// # Errors
/// None that is known: a frame is texts and numbers.
pub fn write(survey: &str, register: &Register, outcome: &Outcome, inputs: &str) -> Result<String, Error> {
    let mut state = Vec::new();
    ciborium::into_writer(outcome, &mut state).map_err(|problem| Error::Damaged(problem.to_string()))?;
    let written = Written {
        schema: SCHEMA,
        version: env!("CARGO_PKG_VERSION"),
        survey,
        inputs,
        entry: findings::frame(register, &outcome.report),
        state: base64::encode(&state),
    };
    serde_json::to_string(&written).map_err(|problem| Error::NotALine(problem.to_string()))
}

impl Line {
    /// Reads a line as far as its state.
    ///
    /// # Errors
    /// [`Error`].
    pub fn read(text: &str) -> Result<Self, Error> {
        let line: Self = serde_json::from_str(text).map_err(|problem| {
            let refusal = serde_json::from_str::<serde_json::Value>(text).unwrap_or_default();
            match refusal.get("error").and_then(serde_json::Value::as_str) {
                Some(error) => Error::Refused(error.to_owned()),
                None => Error::NotALine(problem.to_string()),
            }
        })?;
        if line.schema != SCHEMA || line.version != env!("CARGO_PKG_VERSION") {
            let found = format!("{} of version {}", line.schema, line.version);
            return Err(Error::OtherVersion { found });
        }
        Ok(line)
    }

    /// Its state; `index` is where the frame stands in the register now.
    ///
    /// # Errors
    /// [`Error::Damaged`].
    pub fn outcome(&self, register: &Register, index: usize) -> Result<Outcome, Error> {
        let bytes = base64::decode(&self.state).ok_or_else(|| Error::Damaged("it is no base64".to_owned()))?;
        let outcome: Outcome =
            ciborium::from_reader(bytes.as_slice()).map_err(|problem| Error::Damaged(problem.to_string()))?;
        outcome
            .placed(register, index)
            .ok_or_else(|| Error::Damaged("its coverage is of another shape".to_owned()))
    }

    /// Digest of all that it says, to compare lines by.
    #[must_use]
    pub fn digest(&self) -> [u8; 32] {
        Sha256::digest(self.state.as_bytes()).into()
    }
}

/// Digest of what a frame's result depends on beside its image: version, thresholds, survey, sheet rows.
#[must_use]
pub fn inputs(register: &Register, index: usize, settings: &Settings) -> String {
    // Where a row stands has no say in its result.
    let row = FrameRow {
        asset: 0,
        row: 0,
        ..register.frames[index].clone()
    };
    let asset = Asset {
        row: 0,
        ..register.assets[register.frames[index].asset].clone()
    };
    let camera = register.camera_of(&row);
    // The debug form names every field of every part, floats to the last digit.
    let all = format!(
        "{} {:?} {settings:?} {:?} {:?} {:?} {asset:?} {row:?} {camera:?}",
        env!("CARGO_PKG_VERSION"),
        SCHEMA,
        register.survey,
        register.site,
        register.uncertainty
    );
    digest::sha256(all.as_bytes())
}
