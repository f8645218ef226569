//! What each command does, from what was typed to what is said at the end.

pub mod frames;
pub mod new;
pub mod plan;
pub mod record;
pub mod survey;
