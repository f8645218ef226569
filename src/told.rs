//! How much is told while a command runs, and in which form: set once at the start, for the whole process.

use std::sync::atomic::{AtomicU8, Ordering};

/// How much is told on standard error. What stops a run is always told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, clap::ValueEnum)]
pub enum Level {
    /// Only what stops the run.
    Error,
    /// Doubts too.
    Warn,
    /// Each frame as it is done.
    Info,
    /// What each frame showed.
    Debug,
}

/// What is told on standard output.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Form {
    /// Words.
    Text,
    /// One JSON object a line.
    Json,
}

static LEVEL: AtomicU8 = AtomicU8::new(Level::Warn as u8);
static FORM: AtomicU8 = AtomicU8::new(Form::Text as u8);

/// Sets both.
pub fn set(level: Level, form: Form) {
    LEVEL.store(level as u8, Ordering::Relaxed);
    FORM.store(form as u8, Ordering::Relaxed);
}

/// Whether what belongs to a level is told.
#[must_use]
pub fn tells(level: Level) -> bool {
    level as u8 <= LEVEL.load(Ordering::Relaxed)
}

/// Whether the outcome is told as JSON.
#[must_use]
pub fn is_json() -> bool {
    FORM.load(Ordering::Relaxed) == Form::Json as u8
}
