//! `make-scenes FOLDER COUNT [SEED] [plain|clutter]`: a survey folder of simulated scenes with their truth, sheets erring as
//! the contract's uncertainties say.

use std::path::PathBuf;
use std::process::ExitCode;

use coldjacket_simulator::draw::{Difficulty, Wish, random_scene};
use coldjacket_simulator::random::Prng;
use coldjacket_simulator::survey::{SheetErrors, SurveyPlan, write_survey};

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let (Some(folder), Some(Ok(count))) = (words.first(), words.get(1).map(|n| n.parse::<usize>())) else {
        eprintln!("usage: make-scenes FOLDER COUNT [SEED] [plain|clutter]");
        return ExitCode::from(2);
    };
    let seed = words.get(2).and_then(|n| n.parse::<u64>().ok()).unwrap_or(1);
    let difficulty = match words.get(3).map(String::as_str) {
        Some("clutter") => Difficulty::Clutter,
        _ => Difficulty::Plain,
    };
    let mut prng = Prng::new(seed);
    let wish = Wish {
        difficulty,
        ..Wish::default()
    };
    let scenes = (0..count).map(|_| random_scene(&mut prng, &wish)).collect();
    let plan = SurveyPlan::of_scenes(scenes, SheetErrors::Drawn(seed + 1), seed.wrapping_mul(1000));
    match write_survey(&PathBuf::from(folder), &plan) {
        Ok(()) => {
            println!("{count} simulated scenes, seed {seed}, in {folder}");
            ExitCode::SUCCESS
        }
        Err(problem) => {
            eprintln!("error: {problem}");
            ExitCode::FAILURE
        }
    }
}
