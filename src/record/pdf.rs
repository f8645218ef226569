//! The PDFs: one an asset and one for the survey, set by a layout engine from templates that can be read.
//!
//! PDF/A-2a and PDF/UA-1: typefaces embedded, tagged, text as text. The templates are filled from the [`Book`], the figures
//! are the page's own. Without the feature `pdf` there are none.

use std::path::{Path, PathBuf};

use super::book::Book;
use super::staging;

#[cfg(feature = "pdf")]
mod legible;
#[cfg(feature = "pdf")]
mod sheets;
#[cfg(feature = "pdf")]
mod world;

/// Why there is a PDF that there is not.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// It could not be made.
    #[error("{}: could not be set: {problem}\n  hint: make the record without PDFs: --no-pdf", file.display())]
    Unset {
        /// The file.
        file: PathBuf,
        /// What the engine said.
        problem: String,
    },
    /// The system gave no threads to make it.
    #[error("no threads to set PDFs: {0}\n  hint: try --threads 1, or make the record without PDFs: --no-pdf")]
    Threads(String),
    /// It could not be written.
    #[error(transparent)]
    Output(#[from] staging::Error),
}

/// Takes each PDF as it is done, in no certain order, with its path within the record.
pub type Taken<'a> = &'a (dyn Fn(&Path, &[u8]) -> Result<(), staging::Error> + Sync);

/// How many PDFs a record has.
#[must_use]
pub fn count(book: &Book) -> usize {
    if is_built_in() { book.assets.len() + 1 } else { 0 }
}

/// Makes every PDF, on all cores; none where this build has no engine for them.
///
/// # Errors
/// [`Error`] where the engine refuses, which no text of a survey is known to make it do, or a PDF cannot be written.
pub fn write(book: &Book, taken: Taken) -> Result<(), Error> {
    #[cfg(feature = "pdf")]
    return sheets::write(book, taken);
    #[cfg(not(feature = "pdf"))]
    {
        let _ = (book, taken);
        Ok(())
    }
}

/// Whether this build makes PDFs.
#[must_use]
pub fn is_built_in() -> bool {
    cfg!(feature = "pdf")
}
