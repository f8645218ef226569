//! `coldjacket frames` and `survey --frames-from`: partitions give the findings of one run, to the byte.

use std::fs;
use std::io::Write;
use std::process::Stdio;

use serde_json::Value;
use tempfile::TempDir;

use super::command::{Said, Trial, coldjacket, said, samples};
use super::sample::sample;

/// Runs `frames` with these lines on standard input.
#[track_caller]
fn frames(list: &str, further: &[&str]) -> Said {
    let mut child = coldjacket()
        .arg("frames")
        .args(further)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut stdin = child.stdin.take().unwrap();
    let text = list.to_owned();
    let writer = std::thread::spawn(move || stdin.write_all(text.as_bytes()));
    let output = child.wait_with_output().unwrap();
    writer.join().unwrap().unwrap();
    let said = Said {
        status: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    };
    assert!(!said.err.contains("panicked"), "{}", said.err);
    said
}

#[track_caller]
fn list(folder: &std::path::Path) -> String {
    let told = said(coldjacket().arg("frames").arg("--list").arg(folder));
    assert_eq!((told.status, told.err.as_str()), (0, ""));
    told.out
}

#[test]
fn partitions_in_any_order_give_the_same_bytes() {
    let all = list(&samples());
    assert_eq!(all.lines().count(), 18);
    // Three partitions, one of them backwards, one twice as an engine may run it, and an empty one.
    let lines: Vec<&str> = all.lines().collect();
    let part = |lines: &mut dyn Iterator<Item = &&str>| lines.copied().collect::<Vec<_>>().join("\n");
    let parts = [
        part(&mut lines[..7].iter().rev()),
        part(&mut lines[7..12].iter()),
        part(&mut lines[12..].iter()),
        part(&mut lines[7..12].iter()),
        String::new(),
    ];
    let mut answers = String::new();
    for part in &parts {
        let told = frames(part, &["--threads", "1"]);
        assert_eq!((told.status, told.err.as_str()), (0, ""));
        assert_eq!(told.out.lines().count(), part.lines().count());
        answers.push_str(&told.out);
    }
    let room = TempDir::new().unwrap();
    let file = room.path().join("lines.jsonl");
    fs::write(&file, answers).unwrap();
    let out = room.path().join("out");
    let told = said(
        coldjacket()
            .arg("survey")
            .arg(samples())
            .arg("--frames-from")
            .arg(&file)
            .arg("--out")
            .arg(&out),
    );
    assert_eq!(told.status, sample().said.status, "{told:?}");
    for name in ["findings.json", "findings.csv"] {
        let (merged, single) = (
            fs::read(out.join(name)).unwrap(),
            fs::read(sample().out().join(name)).unwrap(),
        );
        assert!(merged == single, "{name} differs");
    }
    assert!(!out.join("annotated").exists());
}

#[test]
fn a_line_says_what_the_findings_say_of_the_frame() {
    let all = list(&samples());
    let told = frames(all.lines().next().unwrap(), &[]);
    let line: Value = serde_json::from_str(told.out.trim()).unwrap();
    assert_eq!(line["schema"], "coldjacket.frame/1");
    let found = &sample().list("frames")[0];
    for (key, value) in found.as_object().unwrap() {
        assert_eq!(&line[key], value, "{key}");
    }
}

#[test]
fn lists_that_cannot_be_answered() {
    let trial = Trial::new();
    let survey = trial.survey().display().to_string();
    let line =
        |survey: &str, file: &str| serde_json::json!({"survey": survey, "file": file, "asset": "SA-101"}).to_string();
    let text = [
        "images/a.tif".to_owned(),
        line("/nowhere", "images/a.tif"),
        line(&survey, "images/b.tif"),
        String::new(),
        line(&survey, "images/a.tif"),
        "x".repeat(70_000),
    ]
    .join("\n");
    let told = frames(&text, &[]);
    assert_eq!(told.status, 1);
    let lines: Vec<Value> = told
        .out
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    let error = |at: usize| lines[at]["error"].as_str().unwrap_or_default().to_owned();
    assert!(error(0).starts_with("is no frame of a list"), "{}", error(0));
    assert_eq!(error(1), "/nowhere: error: /nowhere: does not exist");
    assert!(
        error(2).ends_with("its sheet frames has no row of images/b.tif and SA-101"),
        "{}",
        error(2)
    );
    assert_eq!(
        (&lines[2]["line"], &lines[3]["usability"]),
        (&Value::from(3), &Value::from("good"))
    );
    assert!(error(4).starts_with("is no frame of a list"));
    assert!(
        told.err.contains("error: line 1: is no frame of a list"),
        "{}",
        told.err
    );
    let told = said(coldjacket().args(["frames", "--list", "/nowhere"]));
    assert_eq!((told.status, told.out.as_str()), (2, ""));
    assert!(told.err.contains("/nowhere: does not exist"), "{}", told.err);
}

#[test]
fn lines_that_do_not_fit_are_refused_by_name() {
    let trial = Trial::new();
    let good = frames(&list(&trial.survey()), &[]).out;
    let refused = |lines: &str| {
        let file = trial.root().join("lines");
        fs::write(&file, lines).unwrap();
        let told = said(&mut trial.command(&["--frames-from", &file.display().to_string()]));
        assert_eq!(told.status, 2, "{told:?}");
        assert!(!trial.out().exists());
        told.err
    };
    assert!(refused("").contains("has no line for images/a.tif (SA-101)"));
    assert!(refused("nonsense\n").contains("line 1: is no line of coldjacket frames"));
    let other_version = good.replace("\"version\":\"", "\"version\":\"9");
    assert!(refused(&other_version).contains("(accepted: coldjacket.frame/1 of version"));
    let inputs = good.find("\"inputs\":\"").unwrap() + 10;
    let mut other = good.clone();
    other.replace_range(inputs..inputs + 4, "zzzz");
    assert!(refused(&other).contains("line 1 of images/a.tif (SA-101) is of other sheets, settings or options"));
    let damaged = good.replacen("\"state\":\"", "\"state\":\"AAAA", 1);
    assert!(refused(&damaged).contains("its state cannot be read"));
    assert!(
        refused("{\"line\":3,\"error\":\"gone\"}\n").contains("stands for a frame that could not be answered: gone")
    );
    // The image changed between two runs over it.
    fs::copy(
        samples().join("images/sa-101_left.tif"),
        trial.survey().join("images/a.tif"),
    )
    .unwrap();
    let changed = frames(&list(&trial.survey()), &[]).out;
    assert!(
        refused(&format!("{good}{changed}")).contains("line 2: says otherwise than line 1 of images/a.tif (SA-101)")
    );
    // Sheets changed after the lines were made.
    fs::write(trial.root().join("lines"), &good).unwrap();
    trial.frames(&["images/a.tif,SA-101,centikelvin,22.23,51.2,0.0,21.18,3,3"]);
    assert!(refused(&good).contains("is of other sheets"));
}

#[test]
fn rows_in_another_order_keep_their_lines() {
    let trial = Trial::new();
    fs::copy(
        samples().join("images/sa-101_left.tif"),
        trial.survey().join("images/b.tif"),
    )
    .unwrap();
    let rows = [
        "images/a.tif,SA-101,centikelvin,21.23,51.2,0.0,21.18,3,3",
        "images/b.tif,SA-101,centikelvin,20.33,45.6,0.06,20.81,3,3",
    ];
    trial.frames(&rows);
    let lines = frames(&list(&trial.survey()), &[]).out;
    let file = trial.root().join("lines");
    fs::write(&file, lines).unwrap();
    trial.frames(&[rows[1], rows[0]]);
    let merged = said(&mut trial.command(&["--frames-from", &file.display().to_string()]));
    // The second frame shows a part of the vessel, and no row says so.
    assert_eq!(merged.status, 1, "{merged:?}");
    let merged = fs::read(trial.out().join("findings.json")).unwrap();
    assert_eq!(trial.run(&["--no-pictures"]).status, 1);
    assert!(merged == fs::read(trial.out().join("findings.json")).unwrap());
}

/// What a command tells as JSON, line by line.
#[track_caller]
fn events(command: &mut std::process::Command) -> Vec<Value> {
    let told = said(command.args(["--outcome", "json"]));
    assert_eq!(told.err, "");
    let events: Vec<Value> = told
        .out
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    assert_eq!(events.last().unwrap()["status"], told.status, "{events:?}");
    events
}

#[test]
fn every_command_tells_its_outcome_as_json() {
    let trial = Trial::new();
    let plan = events(
        coldjacket()
            .arg("plan")
            .arg(trial.survey())
            .arg("--out")
            .arg(trial.root().join("plan")),
    );
    assert_eq!(
        (&plan[0]["event"], &plan[0]["verdict"]),
        (&Value::from("asset"), &Value::from("go"))
    );
    assert_eq!(
        (&plan[1]["event"], &plan[1]["go"]),
        (&Value::from("plan"), &Value::from(1))
    );
    let (folder, images) = (trial.root().join("new"), trial.survey().join("images"));
    let new = events(coldjacket().arg("new").arg(folder).arg("--images").arg(images));
    assert_eq!(
        (&new[0]["event"], &new[0]["proposed_scale"]),
        (&Value::from("image"), &Value::from("centikelvin"))
    );
    let record = trial.root().join("record");
    let made = said(
        coldjacket()
            .arg("record")
            .arg(trial.survey())
            .arg("--out")
            .arg(&record)
            .args(["--no-pdf", "--outcome", "json"]),
    );
    assert!(
        made.out.lines().any(|line| line.contains("\"event\":\"record\"")),
        "{}",
        made.out
    );
    let whole = events(coldjacket().arg("record").arg("--verify").arg(&record));
    assert_eq!((whole.len(), &whole[0]["event"]), (1, &Value::from("verification")));
    std::fs::write(record.join("findings.csv"), "other").unwrap();
    let broken = events(coldjacket().arg("record").arg("--verify").arg(&record));
    assert_eq!(
        (&broken[0]["event"], &broken[0]["file"]),
        (&Value::from("change"), &Value::from("findings.csv"))
    );
}

#[test]
fn how_much_is_told_and_in_which_form() {
    let trial = Trial::new();
    let told = trial.run(&["--no-pictures", "--log", "debug", "--timing"]);
    for words in [
        "info: images/a.tif (SA-101): good",
        "debug: images/a.tif: size_px=",
        "locate",
        "by the clock, 1 frames",
    ] {
        assert!(told.err.contains(words), "{words}: {}", told.err);
    }
    let quiet = trial.run(&["--no-pictures"]);
    assert_eq!((quiet.err.as_str(), &quiet.out), ("", &told.out));
    let told = trial.run(&["--no-pictures", "--outcome", "json"]);
    let events: Vec<Value> = told
        .out
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    assert_eq!(
        (&events[0]["event"], &events[0]["usability"]),
        (&Value::from("frame"), &Value::from("good"))
    );
    let last = events.last().unwrap();
    assert_eq!(
        (&last["event"], &last["good"], &last["status"]),
        (&Value::from("survey"), &Value::from(1), &Value::from(0))
    );
    // A warning is told from warn on, and a run that stops says so in the same form.
    trial
        .write("extra.csv", "")
        .assets(&["SA-101,horizontal-cylinder,1500,3400,pir,99.4,,pvc,0.904,-33.5,indoor"]);
    trial.write(
        "survey.toml",
        "title = \"T\"\nplant = \"P\"\ndate = \"2026-03-03\"\nodd = 1\n",
    );
    assert!(trial.run(&["--no-pictures"]).err.contains("warning: survey.toml"));
    assert_eq!(trial.run(&["--no-pictures", "--log", "error"]).err, "");
    trial.frames(&["images/a.tif,XX,centikelvin,21.23,51.2,0.0,21.18,3,3"]);
    let told = trial.run(&["--outcome", "json"]);
    let event: Value = serde_json::from_str(told.out.trim()).unwrap();
    assert_eq!(
        (told.status, &event["event"], &event["status"]),
        (2, &Value::from("error"), &Value::from(2))
    );
    assert!(event["message"].as_str().unwrap().contains("is not a tag"));
}
