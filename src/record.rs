//! The files that people and programs read: `findings.json`, `findings.csv`, annotated pictures, all put in place at once.

pub mod findings;
pub mod list;
pub mod palette;
pub mod picture;
pub mod place;
pub mod staging;
