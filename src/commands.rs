//! What each command does, from what was typed to what is said at the end.

pub mod record;
pub mod survey;
