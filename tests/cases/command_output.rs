//! The output folder, an interruption, and what must not change the result.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use coldjacket::batch::{self, Run};
use coldjacket::clock::Clock;
use coldjacket::record::palette::Palette;
use coldjacket::record::picture::Look;
use coldjacket::record::staging::Staging;
use coldjacket::register;
use coldjacket::settings::Settings;
use coldjacket::units::Units;
use serde_json::Value;
use tempfile::TempDir;

use super::command::{Said, Trial, coldjacket, contents, findings, names, said, samples};

/// Runs the sample survey, or a copy of it, with further arguments.
#[track_caller]
fn survey(folder: &Path, out: &Path, further: &[&str]) -> Said {
    said(
        coldjacket()
            .arg("survey")
            .arg(folder)
            .arg("--out")
            .arg(out)
            .args(further),
    )
}

#[track_caller]
fn refused(trial: &Trial, out: &Path) -> String {
    let before = contents(trial.root());
    let told = survey(&trial.survey(), out, &[]);
    assert_eq!((told.status, told.out.as_str()), (2, ""), "{told:?}");
    assert!(before == contents(trial.root()), "something was written");
    told.err.trim_end().to_owned()
}

#[test]
fn an_output_folder_that_cannot_be_written() {
    let trial = Trial::new();
    // Below a regular file nothing can be written, whoever runs the test.
    std::fs::write(trial.root().join("file"), "kept").unwrap();
    let out = trial.root().join("file/out");
    let told = refused(&trial, &out);
    assert!(
        told.starts_with(&format!(
            "error: {}: cannot make the folder: ",
            out.parent().unwrap().display()
        )),
        "{told}"
    );
    assert!(
        told.ends_with("\n  hint: check that the folder can be written and the disk is not full"),
        "{told}"
    );
    assert_eq!(
        told.matches("os error").count(),
        1,
        "the reason is said more than once: {told}"
    );

    let told = refused(&trial, &trial.root().join("file"));
    assert!(
        told.contains("file: is not a folder (accepted: a new folder, or one of earlier results)"),
        "{told}"
    );
    #[cfg(target_os = "linux")]
    assert!(refused(&trial, Path::new("/proc/coldjacket-out")).starts_with("error: /proc/coldjacket-out: "));
}

#[test]
fn the_survey_folder_is_no_output_folder() {
    let trial = Trial::new();
    for out in [
        trial.survey(),
        trial.root().to_path_buf(),
        trial.survey().join("images/../../survey"),
    ] {
        let told = refused(&trial, &out);
        assert!(
            told.contains("is the survey folder or holds it (accepted: a folder of its own)"),
            "{told}"
        );
    }
}

#[test]
fn a_folder_of_other_things_is_left_alone() {
    let trial = Trial::new();
    std::fs::create_dir(trial.out()).unwrap();
    std::fs::write(trial.out().join("letters.txt"), "kept").unwrap();
    let told = refused(&trial, &trial.out());
    assert!(
        told.contains("holds files but no findings.json or other result (accepted: a new or empty folder"),
        "{told}"
    );
}

#[test]
fn a_new_an_empty_and_a_nested_folder_are_taken() {
    let trial = Trial::new();
    std::fs::create_dir(trial.root().join("empty")).unwrap();
    for out in ["new", "empty", "a/b/c"] {
        let out = trial.root().join(out);
        assert_eq!(survey(&trial.survey(), &out, &["--no-pictures"]).status, 0);
        assert_eq!(names(&out), ["findings.csv", "findings.json"]);
        let beside = names(out.parent().unwrap());
        assert!(!beside.iter().any(|name| name.contains("unfinished")), "{beside:?}");
    }
}

#[test]
fn an_earlier_result_is_replaced_whole_and_what_is_not_ours_is_kept() {
    let trial = Trial::new();
    assert_eq!(trial.run(&[]).status, 0);
    assert_eq!(names(&trial.out()), ["annotated", "findings.csv", "findings.json"]);
    assert_eq!(names(&trial.out().join("annotated")), ["a.png"]);
    let former = std::fs::read(trial.out().join("findings.json")).unwrap();
    std::fs::write(trial.out().join("letter.txt"), "kept").unwrap();
    std::fs::create_dir(trial.out().join("photos")).unwrap();
    std::fs::write(trial.out().join("photos/1.jpg"), "kept too").unwrap();

    std::fs::rename(trial.survey().join("images/a.tif"), trial.survey().join("images/b.tif")).unwrap();
    trial.frames(&["images/b.tif,SA-101,centikelvin,20.5,51.2,0.0,21.18,3,3"]);
    assert_eq!(trial.run(&[]).status, 0);
    assert_eq!(
        names(&trial.out()),
        ["annotated", "findings.csv", "findings.json", "letter.txt", "photos"]
    );
    assert_eq!(
        names(&trial.out().join("annotated")),
        ["b.png"],
        "a picture of the former result is left"
    );
    assert!(
        former != std::fs::read(trial.out().join("findings.json")).unwrap(),
        "the former result stands"
    );
    assert_eq!(std::fs::read_to_string(trial.out().join("letter.txt")).unwrap(), "kept");
    assert_eq!(
        std::fs::read_to_string(trial.out().join("photos/1.jpg")).unwrap(),
        "kept too"
    );
    assert_eq!(names(trial.root()), ["out", "survey"]);
}

/// How many runs are killed: 16, or as many as the environment's KILLS says.
fn kills() -> u32 {
    std::env::var("KILLS").map_or(16, |count| count.parse().expect("KILLS is a number"))
}

/// Waits until a run that was begun has finished its first picture, and so is half way.
fn wait_until_half_way(root: &Path) {
    let begun = Instant::now();
    while begun.elapsed() < Duration::from_secs(120) {
        let unfinished = names(root).into_iter().find(|name| name.contains("unfinished"));
        if let Some(folder) = unfinished
            && root
                .join(folder)
                .join("annotated")
                .read_dir()
                .is_ok_and(|mut pictures| pictures.next().is_some())
        {
            return;
        }
        std::thread::sleep(Duration::from_millis(2));
    }
    panic!("the run did not come half way: {:?}", names(root));
}

#[test]
fn an_interruption_half_way_leaves_the_former_result() {
    let trial = Trial::new();
    assert_eq!(trial.run(&[]).status, 0);
    let former = contents(&trial.out());
    // Many assets, each with one frame: pictures are written as soon as their asset is done.
    let many = 60;
    let (mut assets, mut frames) = (Vec::new(), Vec::new());
    for number in 0..many {
        assets.push(format!(
            "A-{number},horizontal-cylinder,1500,3400,pir,99.4,0.02223,pvc,0.904,-33.5,indoor"
        ));
        frames.push(format!("images/a.tif,A-{number},centikelvin,21.23,51.2,0.0,21.18,3,3"));
    }
    trial.assets(&assets.iter().map(String::as_str).collect::<Vec<_>>());
    trial.frames(&frames.iter().map(String::as_str).collect::<Vec<_>>());
    let sheets = contents(&trial.survey());

    for out in [trial.out(), trial.root().join("fresh")] {
        let mut command = coldjacket();
        command
            .arg("survey")
            .arg(trial.survey())
            .arg("--out")
            .arg(&out)
            .args(["--threads", "1"]);
        command
            .stdout(std::process::Stdio::null())
            .stderr(std::process::Stdio::null());
        let mut child = command.spawn().unwrap();
        wait_until_half_way(trial.root());
        assert!(
            child.try_wait().unwrap().is_none(),
            "the run was over before it could be interrupted"
        );
        child.kill().unwrap();
        child.wait().unwrap();
        assert!(names(trial.root()).iter().any(|name| name.contains("unfinished")));
    }
    assert!(former == contents(&trial.out()), "the former result has changed");
    assert!(
        !trial.root().join("fresh").exists(),
        "a result that is not whole stands"
    );
    assert!(sheets == contents(&trial.survey()), "the survey folder has changed");

    trial.assets(&[assets[0].as_str()]).frames(&[frames[0].as_str()]);
    assert_eq!(
        trial.run(&[]).status,
        0,
        "an interruption stands in the way of the next run"
    );
    assert!(former != contents(&trial.out()));
    let fresh = survey(&trial.survey(), &trial.root().join("fresh"), &["--no-pictures"]);
    assert_eq!(fresh.status, 0, "{fresh:?}");
    assert_eq!(
        names(trial.root()),
        ["fresh", "out", "survey"],
        "what the interrupted runs left is not cleared away"
    );
}

#[test]
fn a_run_killed_at_any_moment_leaves_one_result_or_the_other() {
    let trial = Trial::new();
    let frame = "images/a.tif,SA-101,centikelvin,21.23,51.2,0.0,21.18,3,3";
    let warmer = "images/a.tif,SA-101,centikelvin,24.5,51.2,0.0,21.18,3,3";
    let result = |row: &str, out: &Path| {
        trial.frames(&[row]);
        assert_eq!(survey(&trial.survey(), out, &["--no-pictures", "--fresh"]).status, 0);
        contents(out)
    };
    let begun = Instant::now();
    let known = [frame, warmer].map(|row| result(row, &trial.root().join("other")));
    let whole_run = begun.elapsed() / 2;
    std::fs::remove_dir_all(trial.root().join("other")).unwrap();
    assert_eq!(result(frame, &trial.out()), known[0]);
    std::fs::write(trial.out().join("letter.txt"), "kept").unwrap();

    let letter = (PathBuf::from("letter.txt"), Some(b"kept".to_vec()));
    let mut seen = [0; 2];
    let kills = kills();
    for moment in 0..kills {
        trial.frames(&[[warmer, frame][moment as usize % 2]]);
        let mut child = coldjacket()
            .arg("survey")
            .arg(trial.survey())
            .arg("--out")
            .arg(trial.out())
            .args(["--no-pictures", "--fresh"])
            .stdout(std::process::Stdio::null())
            .stderr(std::process::Stdio::null())
            .spawn()
            .unwrap();
        // Most moments near the end, where results are put in place.
        std::thread::sleep(whole_run.mul_f64(0.75 + 0.5 * f64::from(moment) / f64::from(kills)));
        let _ = child.kill();
        child.wait().unwrap();
        let mut stands = contents(&trial.out());
        let is_marked = stands.remove(Path::new(".coldjacket-unfinished")).is_some();
        // What is not ours may still wait beside, where the next run finds it.
        let lacks_letter = stands.remove(&letter.0).is_none();
        assert!(is_marked || !lacks_letter, "the letter is gone, and nothing says so");
        let which = known.iter().position(|one| *one == stands);
        seen[which.expect("the result is neither the former nor the new one")] += 1;
    }
    assert_eq!(result(frame, &trial.out()).get(&letter.0), Some(&letter.1));
    eprintln!(
        "killed {kills} runs: each time one whole result stood, the first {} times, the second {}",
        seen[0], seen[1]
    );
    assert_eq!(names(trial.root()), ["out", "survey"], "{seen:?}");
}

#[test]
fn two_runs_on_one_folder_do_not_mix() {
    let trial = Trial::new();
    let rows: Vec<&str> = vec!["images/a.tif,SA-101,centikelvin,21.23,51.2,0.0,21.18,3,3"];
    trial.frames(&rows);
    let lock = std::fs::File::create(trial.root().join(".coldjacket-busy-out")).unwrap();
    lock.lock().unwrap();
    let told = refused(&trial, &trial.out());
    assert!(told.contains("another run is writing results there"), "{told}");
    assert!(!trial.out().exists());
    drop(lock);
    assert_eq!(trial.run(&["--no-pictures"]).status, 0);
    assert_eq!(names(trial.root()), ["out", "survey"]);
}

#[test]
fn an_image_that_changes_while_the_survey_runs_is_told_and_nothing_is_left() {
    let trial = Trial::new();
    // More frames of one asset than are held, so that pictures are read once more to be drawn.
    let image = std::fs::read(trial.survey().join("images/a.tif")).unwrap();
    let rows: Vec<String> = (0..8)
        .map(|number| {
            trial.write(&format!("images/{number}.tif"), &image);
            format!("images/{number}.tif,SA-101,centikelvin,21.23,51.2,0.0,21.18,3,3")
        })
        .collect();
    trial.frames(&rows.iter().map(String::as_str).collect::<Vec<_>>());
    let register = register::open(&trial.survey()).unwrap();
    let staging = Staging::begin(&trial.out(), &trial.survey()).unwrap();
    let changed = trial.survey().join("images/3.tif");
    let outcome = batch::run(&Run {
        folder: &trial.survey(),
        register: &register,
        settings: &Settings::default(),
        look: Some(Look {
            units: Units::Si,
            palette: Palette::Cividis,
        }),
        shots: None,
        staging: &staging,
        progress: &|_| {},
        // Another bit in its last byte, once all frames have been read.
        watch: &|report| {
            if report.frame == 7 {
                let mut other = image.clone();
                *other.last_mut().unwrap() ^= 1;
                std::fs::write(&changed, other).unwrap();
            }
        },
        given: None,
        kept: None,
        clock: &Clock::default(),
    });
    let told = match outcome {
        Ok(_) => panic!("a changed image goes unnoticed"),
        Err(problem) => problem.to_string(),
    };
    assert!(told.starts_with("images/3.tif: changed while the survey ran"), "{told}");
    drop(staging);
    assert_eq!(names(trial.root()), ["survey"]);
}

#[test]
fn the_number_of_threads_changes_nothing() {
    let room = TempDir::new().unwrap();
    let [one, four] = ["1", "4"].map(|threads| {
        let out = room.path().join(threads);
        assert_eq!(survey(&samples(), &out, &["--threads", threads]).status, 1);
        contents(&out)
    });
    assert_eq!(one.keys().collect::<Vec<_>>(), four.keys().collect::<Vec<_>>());
    for (name, bytes) in &one {
        assert!(four[name] == *bytes, "{} differs", name.display());
    }
}

#[test]
fn units_change_what_people_read_and_nothing_else() {
    let room = TempDir::new().unwrap();
    let [si, us] = ["si", "us"].map(|units| {
        let out = room.path().join(units);
        let told = survey(&samples(), &out, &["--units", units, "--no-pictures"]);
        (told.out, contents(&out))
    });
    for name in ["findings.json", "findings.csv"] {
        assert!(si.1[Path::new(name)] == us.1[Path::new(name)], "{name} differs");
    }
    for unit in [" °C", " K", " m²", " m from datum"] {
        assert!(si.0.contains(unit), "{unit} is not in\n{}", si.0);
    }
    for unit in [" °F", " ft²", " ft from datum", " mph"] {
        assert!(us.0.contains(unit), "{unit} is not in\n{}", us.0);
    }
    for unit in [" °C", " K,", " K)", " m²", " m ", " m/s"] {
        assert!(!us.0.contains(unit), "{unit} is in\n{}", us.0);
    }
    let temperature = |text: &str, unit: &str| -> f64 {
        let line = text.lines().find(|line| line.starts_with("images/sa-101.tif")).unwrap();
        let after = line.split("sound jacket ").nth(1).unwrap();
        after.split(unit).next().unwrap().trim().parse().unwrap()
    };
    let (celsius, fahrenheit) = (temperature(&si.0, "°C"), temperature(&us.0, "°F"));
    // Each is rounded to 0.1 of its degree.
    assert!(
        (celsius * 1.8 + 32.0 - fahrenheit).abs() <= 0.05 * 1.8 + 0.05 + 1e-9,
        "{celsius} °C, {fahrenheit} °F"
    );
}

/// The sample survey with the rows of a sheet in reverse order.
fn with_rows_reversed(room: &Path, sheets: &[&str]) -> PathBuf {
    let folder = room.join("reversed");
    std::fs::create_dir_all(folder.join("images")).unwrap();
    for name in names(&samples().join("images")) {
        std::fs::copy(samples().join("images").join(&name), folder.join("images").join(&name)).unwrap();
    }
    for name in ["survey.toml", "assets.csv", "frames.csv"] {
        let text = std::fs::read_to_string(samples().join(name)).unwrap();
        let mut lines: Vec<&str> = text.lines().collect();
        if sheets.contains(&name) {
            lines[1..].reverse();
        }
        std::fs::write(folder.join(name), lines.join("\n") + "\n").unwrap();
    }
    folder
}

/// Entries of a list by a name of theirs, which must be unique.
fn by_name(list: &Value, name: impl Fn(&Value) -> String) -> BTreeMap<String, Value> {
    let list = list.as_array().unwrap();
    let map: BTreeMap<String, Value> = list.iter().map(|entry| (name(entry), entry.clone())).collect();
    assert_eq!(map.len(), list.len());
    map
}

#[test]
fn the_order_of_rows_changes_the_order_only() {
    let room = TempDir::new().unwrap();
    let (plain, turned) = (room.path().join("plain"), room.path().join("turned"));
    survey(&samples(), &plain, &["--no-pictures"]);
    survey(
        &with_rows_reversed(room.path(), &["assets.csv", "frames.csv"]),
        &turned,
        &["--no-pictures"],
    );
    let (plain, turned) = (findings(&plain), findings(&turned));
    for list in ["frames", "assets", "zones", "set_aside"] {
        let name = |entry: &Value| match list {
            "frames" => entry["file"].to_string(),
            "assets" => entry["asset"].to_string(),
            _ => entry["id"].to_string(),
        };
        let (before, after) = (by_name(&plain[list], name), by_name(&turned[list], name));
        assert_eq!(
            before.keys().collect::<Vec<_>>(),
            after.keys().collect::<Vec<_>>(),
            "{list}"
        );
        for (key, entry) in &before {
            assert_eq!(entry, &after[key], "{list}: {key}");
        }
    }
    let order = |found: &Value| -> Vec<String> {
        found["zones"]
            .as_array()
            .unwrap()
            .iter()
            .map(|zone| zone["id"].to_string())
            .collect()
    };
    assert!(!order(&plain).is_empty());
    assert_eq!(order(&plain), order(&turned), "the ranking follows the sheets' order");
}
