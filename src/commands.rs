//! What each command does, from what was typed to what is said at the end.

pub mod compare;
pub mod followup;
pub mod frames;
mod history;
pub mod new;
pub mod plan;
pub mod record;
mod source;
pub mod survey;
