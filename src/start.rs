//! A survey folder to begin with: from a folder of images to sheets that only want what no file can say.
//!
//! What comes in: a folder of images and the place of a new survey. What is guaranteed out: `survey.toml`, the register and
//! the list of frames with every column and its explanation, one row an image that could be read, and nothing that stood
//! there before changed. What is not handled: which asset an image shows, and under which conditions.

pub mod images;
mod place;
mod proposal;
mod sheets;

use std::path::{Path, PathBuf};

use crate::read::Limits;
use crate::register::SHEETS;
use images::{Image, Skipped};
use place::{Content, Item};
pub use sheets::Form;

/// What is to be begun.
#[derive(Debug, Clone, Copy)]
pub struct Order<'a> {
    /// The survey folder.
    pub folder: &'a Path,
    /// Where the images are.
    pub images: &'a Path,
    /// How the sheets are written.
    pub form: Form,
    /// Limits on image files.
    pub limits: Limits,
}

/// What was begun.
#[derive(Debug, Clone)]
pub struct Started {
    /// The images, in the order of the sheet.
    pub images: Vec<Image>,
    /// Files that got no row.
    pub skipped: Vec<Skipped>,
    /// Names of the sheets and texts written.
    pub written: Vec<String>,
    /// Whether the images were copied into the survey folder.
    pub copied: bool,
}

/// Why nothing was begun.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The images' folder is not there.
    #[error("{path}: {problem} (accepted: a folder of images)\n  hint: check --images")]
    NoImageFolder {
        /// The path.
        path: PathBuf,
        /// What it is.
        problem: &'static str,
    },
    /// It holds nothing that could be read.
    #[error(
        "{path}: holds no image that can be read{} (accepted: TIFF, PNG, JPEG, or text grids of temperatures)\n  hint: check --images", told(.skipped)
    )]
    NoImages {
        /// The path.
        path: PathBuf,
        /// What it does hold.
        skipped: Vec<Skipped>,
    },
    /// The survey folder holds sheets.
    #[error(
        "{path}: holds {} already, and nothing is overwritten (accepted: a new folder, or one without sheets)\n  hint: choose another folder, or add rows to the sheets that are there", .sheets.join(", ")
    )]
    HasSheets {
        /// The path.
        path: PathBuf,
        /// Which.
        sheets: Vec<String>,
    },
    /// A file stands where one would be written.
    #[error("{path}: is there already, and nothing is overwritten\n  hint: choose another folder for the survey")]
    Stands {
        /// The path.
        path: PathBuf,
    },
    /// The survey folder is a file.
    #[error("{path}: is not a folder (accepted: a new folder, or one without sheets)")]
    NotAFolder {
        /// The path.
        path: PathBuf,
    },
    /// The system refused.
    #[error("{path}: {action}: {problem}\n  hint: check that the folder can be written and the disk is not full")]
    System {
        /// The path.
        path: PathBuf,
        /// What was being done.
        action: &'static str,
        /// What the system said.
        problem: std::io::Error,
    },
    /// A workbook could not be made.
    #[error("the workbook could not be made: {0}")]
    Workbook(String),
}

fn told(skipped: &[Skipped]) -> String {
    /// More would hide the message.
    const SHOWN: usize = 20;
    let mut text = String::new();
    for file in skipped.iter().take(SHOWN) {
        text.push_str(&format!("\n  {}: {}", file.path, file.reason));
    }
    if skipped.len() > SHOWN {
        text.push_str(&format!("\n  and {} more", skipped.len() - SHOWN));
    }
    if !skipped.is_empty() {
        text.push('\n');
    }
    text
}

/// Begins a survey folder.
///
/// # Errors
/// [`Error`]; nothing has been written then, or what was is taken away again.
pub fn begin(order: &Order) -> Result<Started, Error> {
    check(order.folder)?;
    let found = images::find(order)?;
    let mut items: Vec<Item> = Vec::new();
    if found.copied {
        let copies = found.images.iter().map(|image| Item {
            path: PathBuf::from(&image.file),
            content: Content::CopyOf(image.source.clone()),
        });
        items.extend(copies);
    }
    let sheets = sheets::write(&found.images, order.form)?;
    let written = sheets.iter().map(|(name, _)| (*name).to_owned()).collect();
    items.extend(sheets.into_iter().map(|(name, bytes)| Item {
        path: PathBuf::from(name),
        content: Content::Bytes(bytes),
    }));
    place::put(order.folder, &items)?;
    Ok(Started {
        images: found.images,
        skipped: found.skipped,
        written,
        copied: found.copied,
    })
}

/// The survey folder must be new, or one without sheets.
fn check(folder: &Path) -> Result<(), Error> {
    if !folder.exists() {
        return Ok(());
    }
    let path = folder.to_path_buf();
    if !folder.is_dir() {
        return Err(Error::NotAFolder { path });
    }
    let names = SHEETS.into_iter().chain([sheets::COMPANION]);
    let sheets: Vec<String> = names
        .filter(|name| folder.join(name).symlink_metadata().is_ok())
        .map(str::to_owned)
        .collect();
    if sheets.is_empty() {
        Ok(())
    } else {
        Err(Error::HasSheets { path, sheets })
    }
}
