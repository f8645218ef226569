//! Writes the sample survey folder: `make-samples [FOLDER]`, by default `sample-images` at the repository's root.

use std::path::PathBuf;
use std::process::ExitCode;

use coldjacket_simulator::samples::write_samples;

fn main() -> ExitCode {
    let folder = std::env::args_os().nth(1).map_or_else(
        || PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../sample-images"),
        PathBuf::from,
    );
    match write_samples(&folder) {
        Ok(()) => {
            println!("wrote {}", folder.display());
            ExitCode::SUCCESS
        }
        Err(error) => {
            eprintln!("make-samples: {}: {error}", folder.display());
            ExitCode::from(2)
        }
    }
}
