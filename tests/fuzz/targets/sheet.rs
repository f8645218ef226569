//! Any bytes in place of one sheet of a survey folder, as text or as a workbook.
#![no_main]

use coldjacket::register;
use coldjacket_fuzz::folder;

/// Sheets and the sheets around a survey.
const NAMES: [&str; 8] = [
    "survey.toml",
    "assets.csv",
    "frames.csv",
    "observations.csv",
    "verdicts.csv",
    "openings.csv",
    "wall.csv",
    "assets.xlsx",
];

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let Some((first, rest)) = bytes.split_first() else {
        return;
    };
    let name = NAMES[usize::from(*first) % NAMES.len()];
    let room = folder(&[(name, rest)]);
    if name == "assets.xlsx" {
        let _ = std::fs::remove_file(room.path().join("assets.csv"));
    }
    if let Err(faults) = register::open_with_around(room.path()) {
        // What went wrong must be sayable.
        assert!(!faults.to_string().is_empty());
    }
});
