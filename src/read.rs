//! From bytes to stored values: what a file holds, before anyone says what it means.
//!
//! A radiometric file seldom states its scale, so nothing here converts to a temperature. Counts stay the
//! integers they were stored as, so that the next room may look a count up in a table instead of computing it.

pub mod exif;
pub mod frame;
pub mod grid;
pub mod jpeg;
pub mod kind;
pub mod limits;
pub mod orientation;
pub mod png;
pub mod problem;
pub mod tiff;
pub mod warning;

use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::Path;

pub use frame::{Packing, Picture, RawFrame, Stored, StoredKind};
pub use kind::FileKind;
pub use limits::Limits;
pub use problem::{Problem, ReadError};
pub use warning::Warning;

/// Reads one frame from a file. What kind of file it is, its content decides; the extension is not looked at.
///
/// # Errors
/// [`ReadError`], which names the path, what was found and one thing to do about it. A file that is missing,
/// a folder, empty, cut short, beyond the limits or none of the supported kinds is an error, never a partial frame.
pub fn read(path: &Path, limits: &Limits) -> Result<RawFrame, ReadError> {
    read_bytes(path, limits)
        .and_then(|bytes| decode(&bytes, limits))
        .map_err(|problem| ReadError {
            path: path.to_path_buf(),
            problem,
        })
}

/// Reads one frame from bytes already in memory.
///
/// # Errors
/// [`Problem`], as for [`read`] but without a path.
pub fn decode(bytes: &[u8], limits: &Limits) -> Result<RawFrame, Problem> {
    check_file_size(bytes.len() as u64, limits)?;
    match FileKind::of(bytes)? {
        FileKind::Tiff => tiff::read_tiff(bytes, limits),
        FileKind::Png => png::read_png(bytes, limits),
        FileKind::Jpeg => jpeg::read_jpeg(bytes, limits),
        FileKind::Grid => grid::read_grid(bytes, limits),
    }
}

/// The file's bytes, within the size limit. For a caller that also wants a digest of what was read:
/// read the bytes once, digest them, then [`decode`] them.
///
/// # Errors
/// [`Problem`] for a path that is missing, not a plain file, unreadable, empty or too large.
pub fn read_bytes(path: &Path, limits: &Limits) -> Result<Vec<u8>, Problem> {
    let metadata = std::fs::metadata(path).map_err(|error| match error.kind() {
        ErrorKind::NotFound => Problem::Missing,
        _ => Problem::Unreadable(error),
    })?;
    if metadata.is_dir() {
        return Err(Problem::Folder);
    }
    // A pipe or a device may never end, or never begin.
    if !metadata.is_file() {
        return Err(Problem::NotAPlainFile);
    }
    check_file_size(metadata.len(), limits)?;
    let mut bytes = Vec::with_capacity(usize::try_from(metadata.len()).unwrap_or(0).saturating_add(1));
    // The file may have grown since it was measured; one byte beyond the limit is enough to know.
    File::open(path)
        .and_then(|file| {
            file.take(limits.max_file_bytes.saturating_add(1))
                .read_to_end(&mut bytes)
        })
        .map_err(Problem::Unreadable)?;
    check_file_size(bytes.len() as u64, limits)?;
    Ok(bytes)
}

fn check_file_size(bytes: u64, limits: &Limits) -> Result<(), Problem> {
    if bytes == 0 {
        return Err(Problem::Empty);
    }
    if bytes > limits.max_file_bytes {
        return Err(Problem::FileTooLarge {
            bytes,
            limit_bytes: limits.max_file_bytes,
        });
    }
    Ok(())
}
