//! The parts of the study: which scenes are drawn, and which tables come of them.

pub mod clutter;
