//! Runs that go on where earlier ones stopped: the same bytes, and only what has changed computed anew.

use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::time::{Duration, Instant};

use super::command::{KEPT, Said, Trial, coldjacket, contents, said};

/// Frames of a trial, one an asset.
const FRAMES: usize = 24;

/// A survey of so many assets of one frame each.
fn many() -> Trial {
    let trial = Trial::new();
    let row =
        |number: usize| format!("A-{number},horizontal-cylinder,1500,3400,pir,99.4,0.02223,pvc,0.904,-33.5,indoor");
    let rows: Vec<String> = (0..FRAMES).map(row).collect();
    trial.assets(&rows.iter().map(String::as_str).collect::<Vec<_>>());
    set_frames(&trial, "21.23");
    trial
}

/// The frames' rows; the first at that air temperature.
fn set_frames(trial: &Trial, first_air_c: &str) {
    let row = |number: usize| {
        let air_c = if number == 0 { first_air_c } else { "21.23" };
        format!("images/a.tif,A-{number},centikelvin,{air_c},51.2,0.0,21.18,3,3")
    };
    let rows: Vec<String> = (0..FRAMES).map(row).collect();
    trial.frames(&rows.iter().map(String::as_str).collect::<Vec<_>>());
}

/// Frames that a run took as an earlier one left them, by what it says at info.
fn reused(told: &Said) -> usize {
    let line = told
        .err
        .lines()
        .find(|line| line.contains("as an earlier run left them"));
    line.map_or(0, |line| line.split(' ').nth(1).unwrap().parse().unwrap())
}

#[track_caller]
fn run(trial: &Trial, further: &[&str]) -> usize {
    let told = trial.run(&[&["--log", "info"], further].concat());
    assert_eq!(told.status, 0, "{}", told.err);
    reused(&told)
}

/// What the same run gives where nothing is kept.
#[track_caller]
fn afresh(trial: &Trial, command: &str, further: &[&str]) -> std::collections::BTreeMap<PathBuf, Option<Vec<u8>>> {
    let out = trial.root().join("afresh");
    let told = said(
        coldjacket()
            .arg(command)
            .arg(trial.survey())
            .arg("--out")
            .arg(&out)
            .args(further),
    );
    assert_eq!(told.status, 0, "{}", told.err);
    let all = contents(&out);
    std::fs::remove_dir_all(&out).unwrap();
    std::fs::remove_dir_all(kept(trial, "afresh")).unwrap();
    all
}

fn kept(trial: &Trial, out: &str) -> PathBuf {
    trial.root().join(format!("{KEPT}{out}"))
}

#[test]
fn what_is_unchanged_is_not_computed_again_and_gives_the_same_bytes() {
    let trial = many();
    assert_eq!(run(&trial, &[]), 0);
    let first = contents(&trial.out());
    assert_eq!(run(&trial, &[]), FRAMES);
    assert!(first == contents(&trial.out()));
    assert_eq!(run(&trial, &["--fresh"]), 0);
    assert!(first == contents(&trial.out()));

    set_frames(&trial, "24.5");
    assert_eq!(run(&trial, &[]), FRAMES - 1, "one row has changed");
    let changed = contents(&trial.out());
    assert!(first != changed && changed == afresh(&trial, "survey", &[]));

    // Other pictures, the same frames.
    assert_eq!(run(&trial, &["--units", "us", "--palette", "viridis"]), FRAMES);
    let other = contents(&trial.out());
    assert!(other == afresh(&trial, "survey", &["--units", "us", "--palette", "viridis"]));
    assert!(other != changed);

    let mut image = std::fs::read(trial.survey().join("images/a.tif")).unwrap();
    *image.last_mut().unwrap() ^= 1;
    trial.write("images/a.tif", image);
    assert_eq!(run(&trial, &[]), 0, "every frame's image has changed");
    assert!(contents(&trial.out()) == afresh(&trial, "survey", &[]));
}

#[test]
fn a_record_made_again_is_the_same() {
    let trial = Trial::new();
    let record = || {
        let told = trial.run_command("record", &["--no-pdf", "--log", "info"]);
        assert_eq!(told.status, 0, "{}", told.err);
        reused(&told)
    };
    assert_eq!(record(), 0);
    let first = contents(&trial.out());
    assert_eq!(record(), 1);
    assert!(first == contents(&trial.out()));
}

#[test]
fn what_was_kept_and_is_torn_or_altered_is_computed_again() {
    let trial = many();
    assert_eq!(run(&trial, &[]), 0);
    let whole = contents(&trial.out());
    let folder = kept(&trial, "out");
    let files = || std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path());
    assert_eq!(files().count(), 3 * FRAMES, "a frame, a picture and its digest each");
    for (index, path) in files().enumerate() {
        let mut bytes = std::fs::read(&path).unwrap();
        match index % 3 {
            0 => bytes.truncate(bytes.len() / 2),
            1 => *bytes.last_mut().unwrap() ^= 1,
            _ => bytes.clear(),
        }
        // A file of its own: the result folder's picture is no longer touched by it.
        std::fs::remove_file(&path).unwrap();
        std::fs::write(&path, bytes).unwrap();
    }
    assert_eq!(run(&trial, &[]), 0);
    assert!(whole == contents(&trial.out()));
    assert_eq!(run(&trial, &[]), FRAMES);

    // A picture of the results that someone painted over is not taken for the program's.
    let picture = trial
        .out()
        .join("annotated")
        .join(first_name(&trial.out().join("annotated")));
    std::fs::write(&picture, "painted over").unwrap();
    assert_eq!(run(&trial, &[]), FRAMES);
    assert!(whole == contents(&trial.out()));
}

fn first_name(folder: &Path) -> std::ffi::OsString {
    std::fs::read_dir(folder).unwrap().next().unwrap().unwrap().file_name()
}

#[test]
fn a_survey_killed_again_and_again_goes_on_where_it_was() {
    let trial = many();
    let begun = Instant::now();
    let whole = afresh(&trial, "survey", &["--threads", "1"]);
    let whole_run = begun.elapsed();
    let kills = std::env::var("KILLS").map_or(6, |count| count.parse().expect("KILLS is a number"));
    let mut went_on = 0;
    for moment in 0..kills {
        let mut child = trial
            .command(&["--threads", "1"])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(whole_run.mul_f64(0.1 + 0.5 * f64::from(moment % 7) / 7.0));
        let _ = child.kill();
        child.wait().unwrap();
        if moment % 3 == 2 {
            went_on += run(&trial, &[]);
            assert!(whole == contents(&trial.out()), "after {moment} kills");
            std::fs::remove_dir_all(trial.out()).unwrap();
            std::fs::remove_dir_all(kept(&trial, "out")).unwrap();
        }
    }
    assert!(
        went_on > 0 && whole_run > Duration::ZERO,
        "no run found anything of those before it"
    );
}

#[test]
fn that_nothing_can_be_kept_is_a_warning() {
    let trial = Trial::new();
    std::fs::write(kept(&trial, "out"), "").unwrap();
    let told = trial.run(&[]);
    assert_eq!(told.status, 0, "{}", told.err);
    assert!(
        told.err
            .contains("warning: what this run computed could not all be kept"),
        "{}",
        told.err
    );
}
