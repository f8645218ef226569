//! The PDFs: one an asset and one for the survey, set by a layout engine from templates that can be read.
//!
//! PDF/A-2a and PDF/UA-1: typefaces embedded, tagged, text as text. The templates are filled from the [`Book`], the figures
//! are the page's own. Without the feature `pdf` there are none.

use std::path::PathBuf;

use super::book::Book;

#[cfg(feature = "pdf")]
mod legible;
#[cfg(feature = "pdf")]
mod sheets;
#[cfg(feature = "pdf")]
mod world;

/// A PDF could not be made.
#[derive(Debug, thiserror::Error)]
#[error("{}: could not be set: {problem}\n  hint: make the record without PDFs: --no-pdf", file.display())]
pub struct Error {
    /// The file.
    pub file: PathBuf,
    /// What the engine said.
    pub problem: String,
}

/// Every PDF by its path within the record.
///
/// # Errors
/// [`Error`] where the engine refuses; no text of a survey is known to make it.
#[cfg(feature = "pdf")]
pub fn write(book: &Book) -> Result<Vec<(PathBuf, Vec<u8>)>, Error> {
    sheets::write(book)
}

/// No PDF: this build has no engine for them.
///
/// # Errors
/// None.
#[cfg(not(feature = "pdf"))]
pub fn write(_book: &Book) -> Result<Vec<(PathBuf, Vec<u8>)>, Error> {
    Ok(Vec::new())
}

/// Whether this build makes PDFs.
#[must_use]
pub fn is_built_in() -> bool {
    cfg!(feature = "pdf")
}
