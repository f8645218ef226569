//! `validate [FOLDER] [FRAMES_A_ROW]`: runs the study and writes its tables and plots.

use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Instant;

use coldjacket_validation::run::{How, Problem, run};
use coldjacket_validation::study::clutter;

fn main() -> ExitCode {
    match validate() {
        Ok(()) => ExitCode::SUCCESS,
        Err(problem) => {
            eprintln!("error: {problem}");
            ExitCode::FAILURE
        }
    }
}

fn validate() -> Result<(), Problem> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let folder = PathBuf::from(words.first().map_or("target/validation", String::as_str));
    let count: usize = words.get(1).and_then(|n| n.parse().ok()).unwrap_or(12);
    std::fs::create_dir_all(&folder)?;
    let kept = folder.join("surveys");
    let how = How {
        sheet_seed: 71,
        keep: Some(&kept),
    };
    let start = Instant::now();
    let alone = run(&clutter::alone(1000, count), how)?;
    eprintln!("alone: {} frames, {:.0} s", alone.len(), start.elapsed().as_secs_f64());
    let crowded = run(&clutter::crowded(2000, 4 * count), how)?;
    eprintln!(
        "crowded: {} frames, {:.0} s",
        crowded.len(),
        start.elapsed().as_secs_f64()
    );
    for table in [
        clutter::table_alone(&alone),
        clutter::table_things("things_alone", "Things in the scenes of one kind each", &alone),
        clutter::table_things("things_crowded", "Things in crowded scenes", &crowded),
    ] {
        table.write_csv(&folder)?;
        println!("{}", table.to_markdown());
    }
    for score in &crowded {
        println!("{}", clutter::said(score));
    }
    Ok(())
}
