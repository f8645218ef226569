//! A validation study of coldjacket on simulated scenes with a known truth.
//!
//! Scenes are drawn by stated seeds, written as a survey folder with sheets that err as their stated uncertainties allow,
//! put through the program's own way, and scored against the truth. Everything here is simulated: what it proves holds
//! for scenes like these and no others.
#![warn(missing_docs, clippy::unwrap_used, clippy::expect_used)]
#![cfg_attr(test, allow(clippy::unwrap_used, clippy::expect_used))]

pub mod case;
pub mod figures;
pub mod plot;
pub mod run;
pub mod score;
pub mod study;
pub mod table;

pub use case::Case;
pub use score::FrameScore;
