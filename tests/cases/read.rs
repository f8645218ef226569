//! Reading files: every layout that is claimed, and every way a file can be wrong.

#![allow(clippy::unwrap_used)]

mod grids;
mod pictures;
pub mod tiff_writer;
mod tiffs;

use std::path::{Path, PathBuf};

use coldjacket::read::{Limits, Problem, RawFrame, Stored, decode, read};
use ndarray::Array2;

/// Decodes within the usual limits.
pub(crate) fn decoded(bytes: &[u8]) -> Result<RawFrame, Problem> {
    decode(bytes, &Limits::default())
}

/// Values in reading order, NaN where there is no reading.
pub(crate) fn values(frame: &RawFrame) -> Vec<f32> {
    frame.values().unwrap().into_iter().collect()
}

/// A colour picture of one row.
pub(crate) fn picture_row(pixels: &[[u8; 3]]) -> Stored {
    Stored::Rgb(Array2::from_shape_vec((1, pixels.len()), pixels.to_vec()).unwrap())
}

/// The message of a file that must be refused.
pub(crate) fn refusal(bytes: &[u8]) -> String {
    decoded(bytes).map(|frame| frame.kind()).unwrap_err().to_string()
}

/// Decodes every prefix and some hundred damaged copies: any answer will do, but a panic or a hang.
pub(crate) fn survives_damage(bytes: &[u8], step: usize) {
    for end in (0..bytes.len()).step_by(step) {
        let _ = decoded(&bytes[..end]);
    }
    let mut state = 0x2545_F491_4F6C_DD1D_u64;
    let mut next = || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        state
    };
    for _ in 0..600 {
        let mut damaged = bytes.to_vec();
        for _ in 0..=next() % 4 {
            let at = next() as usize % damaged.len();
            damaged[at] = next() as u8;
        }
        let _ = decoded(&damaged);
    }
}

fn corrupt_files() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corrupt");
    let mut files: Vec<PathBuf> = std::fs::read_dir(root)
        .unwrap()
        .flat_map(|kind| std::fs::read_dir(kind.unwrap().path()).unwrap())
        .map(|file| file.unwrap().path())
        .collect();
    files.sort();
    files
}

#[test]
fn every_corrupt_file_is_refused_in_its_own_words() {
    let expected = [
        ("grid/comma-of-two-meanings.csv", "separate values and to mark decimals"),
        ("grid/no-numbers.csv", "text without a grid of numbers"),
        ("grid/short-row.csv", "line 4: 3 values where the other rows have 4"),
        ("grid/word-in-cell.csv", "line 3, column 2: 'overflow' is not a number"),
        ("jpeg/cut-short.jpg", "cut short: the JPEG"),
        ("other/document.tif", "a PDF document, not a TIFF"),
        ("other/empty.tif", "empty (0 bytes)"),
        ("other/noise.bin", "binary data of no known kind"),
        ("png/bad-checksum.png", "damaged PNG"),
        ("png/cut-short.png", "damaged PNG: it ends before its end chunk"),
        (
            "png/thirty-megapixels.png",
            "6000 × 5000 pixels, more than the limit of 20000000",
        ),
        ("tiff/cut-short.tif", "cut short: the image data"),
        ("tiff/directory-outside.tif", "cut short: the TIFF directory"),
        ("tiff/giant-header.tif", "a side longer than the limit of 32768"),
        ("tiff/giant-strip-table.tif", "cut short: tag 273"),
        ("tiff/giant-tile.tif", "more than the limit of 20000000"),
        ("tiff/two-samples.tif", "2 samples a pixel is not read"),
    ];
    let files = corrupt_files();
    assert_eq!(files.len(), expected.len(), "{files:?}");
    for (file, (name, words)) in files.iter().zip(expected) {
        assert!(file.ends_with(name), "{} is not {name}", file.display());
        let error = read(file, &Limits::default()).unwrap_err();
        let text = error.to_string();
        assert!(text.contains(words), "{name}: {text}");
        assert!(text.contains("hint: "), "{name}: {text}");
        assert!(text.starts_with(&file.display().to_string()), "{text}");
    }
}

#[test]
fn what_is_no_file_is_said_so() {
    let folder = tempfile::tempdir().unwrap();
    let limits = Limits::default();
    let missing = read(&folder.path().join("none.tif"), &limits).unwrap_err();
    assert!(matches!(missing.problem, Problem::Missing));
    let directory = read(folder.path(), &limits).unwrap_err();
    assert!(matches!(directory.problem, Problem::Folder));
    assert!(directory.to_string().contains("hint: "));
}

#[test]
fn a_file_beyond_the_size_limit_is_refused_before_it_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("large.csv");
    std::fs::write(&path, "1,2\n3,4\n").unwrap();
    let limits = Limits {
        max_file_bytes: 7,
        ..Limits::default()
    };
    let text = read(&path, &limits).unwrap_err().to_string();
    assert!(text.contains("8 bytes, more than the limit of 7 bytes"), "{text}");
}

#[test]
fn content_decides_not_the_extension() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("frame.png");
    std::fs::write(&path, "1.5;2.5\n3.5;4.5\n").unwrap();
    let frame = read(&path, &Limits::default()).unwrap();
    assert_eq!(values(&frame), [1.5, 2.5, 3.5, 4.5]);
}
