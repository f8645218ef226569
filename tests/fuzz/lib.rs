//! What the fuzz targets share: small limits, and a survey folder whose parts can be replaced.
//!
//! A target passes when the program answers, with a result or with an error; a panic, a hang or an allocation that a header
//! asked for is a find. `scripts/fuzz` runs them; finds are kept as files under `tests/corrupt`, where a test reads them.

use std::fs;
use std::path::Path;

use coldjacket::read::Limits;
use tempfile::TempDir;

/// Limits under which one input takes milliseconds.
#[must_use]
pub fn limits() -> Limits {
    Limits {
        max_file_bytes: 1 << 20,
        max_pixels: 1 << 18,
        max_side_px: 4096,
    }
}

/// A survey of one upright and one level vessel, both in one picture, simulated by nobody: the values mean nothing.
pub const SURVEY: &str = "title = \"fuzz\"\nplant = \"invented\"\ndate = \"2026-01-02\"\ninspector = \"nobody\"\n";
/// Its assets.
pub const ASSETS: &str = "asset,shape,outside_diameter_mm,length_mm,insulation,insulation_thickness_mm,jacket,service_temperature_c,setting\n\
A,horizontal-cylinder,1200,3000,pir,100,painted-metal,-30,indoor\nB,vertical-cylinder,1200,3000,pir,100,painted-metal,-30,outdoor\n";
/// Its frames.
pub const FRAMES: &str = "file,asset,temperature_scale,scale_gain_k,scale_offset_c,air_temperature_c,relative_humidity_pct,wind_m_s,reflected_temperature_c,distance_m,sun\n\
f.png,A,linear,0.001,-20,20,50,0.2,20,5,none\nf.png,B,linear,0.001,-20,20,50,0.2,20,5,none\n";

/// A survey folder with the parts given; a part that is empty keeps its usual content.
///
/// # Panics
/// If the folder cannot be made: the machine's fault, not the program's.
#[must_use]
pub fn folder(parts: &[(&str, &[u8])]) -> TempDir {
    let room = tempfile::tempdir_in(if Path::new("/dev/shm").is_dir() {
        "/dev/shm"
    } else {
        "."
    })
    .unwrap();
    let usual = [("survey.toml", SURVEY), ("assets.csv", ASSETS), ("frames.csv", FRAMES)];
    for (name, text) in usual {
        fs::write(room.path().join(name), text).unwrap();
    }
    for (name, bytes) in parts {
        fs::write(room.path().join(name), bytes).unwrap();
    }
    room
}
