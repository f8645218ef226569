//! The parts of the study: which scenes are drawn, and which tables come of them.

pub mod choice;
pub mod clutter;
pub mod colour;
pub mod detection;
pub mod factors;
pub mod plots;
pub mod whole;
