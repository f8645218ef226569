//! The record: what comes out, what it says, that it is the same twice, and that a change is found out.

use std::collections::BTreeSet;
use std::path::Path;

use serde_json::Value;

use super::command::{Said, Trial, coldjacket, contents, said};
use coldjacket::record::pdf;

/// `coldjacket record SURVEY --out OUT`; PDFs take time and are asked for where they matter.
#[track_caller]
pub fn record(trial: &Trial, further: &[&str]) -> Said {
    trial.run_command("record", further)
}

#[track_caller]
fn verify(trial: &Trial) -> Said {
    said(coldjacket().arg("record").arg("--verify").arg(trial.out()))
}

pub fn page(trial: &Trial) -> String {
    readable(&trial.out())
}

/// record.html of a folder; the template engine escapes slashes too, which is undone to look for paths.
pub fn readable(out: &Path) -> String {
    let text = std::fs::read_to_string(out.join("record.html")).unwrap();
    text.replace("&#x2f;", "/")
}

/// A picture of one colour, as a photograph.
fn photo(red: u8) -> Vec<u8> {
    let mut bytes = Vec::new();
    image::RgbImage::from_pixel(64, 48, image::Rgb([red, 90, 60]))
        .write_to(&mut std::io::Cursor::new(&mut bytes), image::ImageFormat::Png)
        .unwrap();
    bytes
}

#[test]
fn everything_is_there_and_in_the_manifest() {
    let trial = Trial::new();
    let told = record(&trial, &[]);
    assert_eq!(told.status, 0, "{}", told.err);
    let manifest: Value = serde_json::from_slice(&std::fs::read(trial.out().join("manifest.json")).unwrap()).unwrap();
    let listed: BTreeSet<String> = manifest["outputs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|output| output["path"].as_str().unwrap().to_owned())
        .collect();
    let found: BTreeSet<String> = contents(&trial.out())
        .into_iter()
        .filter(|(path, bytes)| bytes.is_some() && path != Path::new("manifest.json"))
        .map(|(path, _)| path.to_str().unwrap().to_owned())
        .collect();
    assert_eq!(listed, found);
    let mut wanted = vec![
        "annotated/a.png",
        "findings.csv",
        "findings.json",
        "followup-list.csv",
        "followup-list.xlsx",
        "record.html",
    ];
    if pdf::is_built_in() {
        wanted.extend(["pdf/SA-101_2026-03-03.pdf", "pdf/insulation survey 2026-03-03.pdf"]);
    }
    for name in wanted {
        assert!(found.contains(name), "{name} is missing: {found:?}");
    }
    let inputs: Vec<&str> = manifest["inputs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|input| input["path"].as_str().unwrap())
        .collect();
    assert_eq!(inputs, ["survey.toml", "assets.csv", "frames.csv", "images/a.tif"]);
}

#[test]
fn the_same_inputs_give_the_same_bytes() {
    let trial = Trial::new();
    record(&trial, &[]);
    let first = contents(&trial.out());
    std::thread::sleep(std::time::Duration::from_millis(1100));
    record(&trial, &["--threads", "1"]);
    let second = contents(&trial.out());
    assert_eq!(first.keys().collect::<Vec<_>>(), second.keys().collect::<Vec<_>>());
    for (path, bytes) in &first {
        assert!(second[path] == *bytes, "{} differs", path.display());
    }
}

#[test]
fn survey_with_record_makes_the_same_record() {
    let trial = Trial::new();
    record(&trial, &["--no-pdf"]);
    let first = contents(&trial.out());
    assert_eq!(trial.run(&["--record", "--no-pdf"]).status, 0);
    assert!(first == contents(&trial.out()));
    // A survey without a record leaves none of an earlier one behind, which would not belong to its findings.
    assert_eq!(trial.run(&[]).status, 0);
    assert!(!trial.out().join("record.html").exists() && !trial.out().join("manifest.json").exists());
}

#[test]
fn a_change_is_found_out_by_file() {
    let trial = Trial::new();
    record(&trial, &["--no-pdf"]);
    let told = verify(&trial);
    assert_eq!(told.status, 0, "{told:?}");
    assert!(told.out.contains("nothing has changed"), "{}", told.out);

    let picture = trial.out().join("annotated/a.png");
    let mut bytes = std::fs::read(&picture).unwrap();
    *bytes.last_mut().unwrap() ^= 1;
    std::fs::write(&picture, bytes).unwrap();
    let told = verify(&trial);
    assert_eq!(told.status, 1, "{told:?}");
    assert!(
        told.out.contains("record annotated/a.png: has changed\n"),
        "{}",
        told.out
    );

    std::fs::remove_file(&picture).unwrap();
    assert!(verify(&trial).out.contains("record annotated/a.png: is gone"));
}

#[test]
fn a_changed_image_or_sheet_is_found_out() {
    let trial = Trial::new();
    record(&trial, &["--no-pdf"]);
    let image = trial.survey().join("images/a.tif");
    let mut bytes = std::fs::read(&image).unwrap();
    *bytes.last_mut().unwrap() ^= 1;
    std::fs::write(&image, bytes).unwrap();
    trial.write("verdicts.csv", "zone,verdict,by,on\n");
    let told = verify(&trial);
    assert_eq!(told.status, 1, "{told:?}");
    assert!(told.out.contains("image images/a.tif: has changed\n"), "{}", told.out);
    let new = "sheet verdicts.csv: was not there when the record was made\n";
    assert!(told.out.contains(new), "{}", told.out);
}

#[test]
fn what_cannot_be_checked_says_so() {
    let trial = Trial::new();
    let told = verify(&trial);
    assert_eq!(told.status, 2);
    assert!(told.err.contains("manifest.json: is missing\n  hint: "), "{}", told.err);

    record(&trial, &["--no-pdf"]);
    let moved = trial.root().join("moved");
    std::fs::rename(trial.survey(), &moved).unwrap();
    let told = verify(&trial);
    assert_eq!(told.status, 2, "{told:?}");
    assert!(told.err.contains("images and sheets cannot be checked"), "{}", told.err);
    let told = said(coldjacket().arg("record").arg(&moved).arg("--verify").arg(trial.out()));
    assert_eq!(told.status, 0, "{told:?}");

    for (text, words) in [
        ("{", "is no manifest"),
        (
            r#"{"schema":"coldjacket.manifest/1","made_by":{"program":"","version":"","units":"","palette":"","settings":null},
               "survey":{"title":"","plant":"","date":""},"survey_folder":"..","inputs":[],
               "outputs":[{"path":"../../etc/passwd","bytes":1,"sha256":""}]}"#,
            "leads out of its folder",
        ),
    ] {
        std::fs::write(trial.out().join("manifest.json"), text).unwrap();
        let told = verify(&trial);
        assert_eq!(told.status, 2, "{told:?}");
        assert!(told.err.contains(words), "{}", told.err);
    }
}

#[test]
fn a_rejected_zone_leaves_the_list_and_stays_in_the_record() {
    let trial = Trial::new();
    trial.write(
        "verdicts.csv",
        "zone,verdict,by,on,note\nSA-101-1,rejected,P. Inspector,2026-03-04,nameplate\nSA-101-2,watch,P. Inspector,2026-03-05,\n",
    );
    let told = record(&trial, &["--no-pdf"]);
    assert_eq!(told.status, 0, "{}", told.err);
    let list = std::fs::read_to_string(trial.out().join("followup-list.csv")).unwrap();
    assert!(!list.contains("SA-101-1"), "{list}");
    assert!(list.contains("\"watch, P. Inspector, 2026-03-05\""), "{list}");
    let page = page(&trial);
    assert!(page.contains("<tbody data-zone=\"SA-101-1\" class=\"rejected\">"));
    assert!(page.contains("<b>rejected</b>, P. Inspector, 2026-03-04: nameplate"));
    assert!(page.contains("<b>watch</b>, P. Inspector, 2026-03-05"));
}

#[test]
fn the_last_verdict_holds() {
    let trial = Trial::new();
    trial.write(
        "verdicts.csv",
        "zone,verdict,by,on\nSA-101-1,confirmed,P. Inspector,2026-04-04\nSA-101-1,rejected,P. Inspector,2026-03-04\n",
    );
    assert_eq!(record(&trial, &["--no-pdf"]).status, 0);
    let list = std::fs::read_to_string(trial.out().join("followup-list.csv")).unwrap();
    assert!(list.contains("SA-101-1"), "{list}");
    assert!(page(&trial).contains("rejected, P. Inspector, 2026-03-04"));
}

#[test]
fn a_verdict_on_an_unknown_zone_is_refused_with_the_zones_there_are() {
    let trial = Trial::new();
    trial.write(
        "verdicts.csv",
        "zone,verdict,by,on\nSA-101-77,rejected,P. Inspector,2026-03-04\nXX-1-1,watch,P. Inspector,2026-03-04\n",
    );
    let told = record(&trial, &["--no-pdf"]);
    assert_eq!((told.status, told.out.as_str()), (2, ""), "{told:?}");
    assert!(!trial.out().exists());
    assert!(
        told.err.contains(
            "error: verdicts.csv row 2, column zone: \"SA-101-77\" is not a zone of this survey (accepted: SA-101-1, "
        ),
        "{}",
        told.err
    );
    assert!(
        told.err.contains("verdicts.csv row 3, column zone: \"XX-1-1\""),
        "{}",
        told.err
    );
    // The findings do not depend on verdicts.
    assert_eq!(trial.run(&[]).status, 0);
}

#[test]
fn all_faults_of_the_sheets_around_are_told_at_once() {
    let trial = Trial::new();
    trial.write(
        "observations.csv",
        "asset,kind,axial_m,photo_file\nSA-102,rust,a,../x.jpg\n",
    );
    trial.write(
        "verdicts.csv",
        "zone,verdict,by,on\nSA-101-1,maybe,,yesterday\nSA-101-1,watch,A,2026-03-04\nSA-101-1,rejected,B,2026-03-04\n",
    );
    trial.write("survey.toml", "title = \"Trial\"\nplant = \"Simulated\"\n");
    let told = record(&trial, &["--no-pdf"]);
    assert_eq!((told.status, told.out.as_str()), (2, ""), "{told:?}");
    for words in [
        "observations.csv row 2, column asset: \"SA-102\" is not a tag of the asset register",
        "observations.csv row 2, column kind: \"rust\" is not a kind of observation (accepted: dampness, ",
        "observations.csv row 2, column axial_m: \"a\" is not a number",
        "observations.csv row 2, column photo_file: \"../x.jpg\" leads out of the survey folder",
        "verdicts.csv row 2, column verdict: \"maybe\" is not a verdict (accepted: confirmed, rejected, watch)",
        "verdicts.csv row 2, column by: is blank",
        "verdicts.csv row 2, column on: \"yesterday\" is not an ISO 8601 date",
        "verdicts.csv row 4, column zone: \"SA-101-1\" has a verdict of the same date already in row 3",
        "survey.toml",
    ] {
        assert!(told.err.contains(words), "{words}\n{}", told.err);
    }
}

#[test]
fn a_photograph_is_shown_and_a_missing_one_is_told() {
    let trial = Trial::new();
    trial.write("p.png", photo(200)).write(
        "observations.csv",
        "asset,kind,observed_on,observer,axial_m,clock,photo_file\n\
         SA-101,frost,2026-03-03,W. Walker,1.2,4,p.png\nSA-101,ice,2026-03-03,W. Walker,,,gone.jpg\n",
    );
    let told = record(&trial, &["--no-pdf"]);
    assert_eq!(told.status, 0, "{}", told.err);
    assert!(
        told.err
            .contains("warning: photograph gone.jpg is not shown: no such file"),
        "{}",
        told.err
    );
    let page = page(&trial);
    assert!(page.contains("data:image/jpeg;base64,"));
    assert!(page.contains("Photograph gone.jpg is not shown: no such file"));
    // A photograph that turns up, or changes, is a change too.
    trial.write("gone.jpg", photo(1)).write("p.png", photo(7));
    let told = verify(&trial);
    assert_eq!(told.status, 1);
    assert!(told.out.contains("photograph p.png: has changed"), "{}", told.out);
    let new = "photograph gone.jpg: was not there when the record was made";
    assert!(told.out.contains(new), "{}", told.out);
}

#[test]
fn no_findings_and_no_usable_frame_are_told_apart() {
    let trial = Trial::new();
    trial.write("images/a.tif", "not an image");
    let told = record(&trial, &[]);
    assert_eq!(told.status, 1, "{}", told.err);
    let page = page(&trial);
    assert!(page.contains("No frame could be used: nothing is known of the insulation."));
    assert!(page.contains("The image could not be read, so there is no picture."));
    let list = std::fs::read_to_string(trial.out().join("followup-list.csv")).unwrap();
    assert_eq!(list.lines().count(), 1);
    assert_eq!(verify(&trial).status, 0);
}

#[test]
fn hostile_and_foreign_texts_stay_texts() {
    let trial = Trial::new();
    let note = format!(
        "</script><script>alert(1)</script> & \u{202e}خزان 液体 ёлка {}",
        "слово ".repeat(1500)
    );
    let note = note.replace('"', "'");
    trial
        .write(
            "survey.toml",
            "title = \"<img src=x onerror=alert(1)> #panic() $x$ *a* @b\"\nplant = \"Завод 冷库\"\ndate = \"2026-03-03\"\n",
        )
        .assets(&["V-1/A <b>,horizontal-cylinder,1500,3400,pir,99.4,0.02223,pvc,0.904,-33.5,indoor"])
        .frames(&["images/a.tif,V-1/A <b>,centikelvin,21.23,51.2,0.0,21.18,3,3"])
        .write(
            "observations.csv",
            format!("asset,kind,observed_on,observer,note\nV-1/A <b>,ice,2026-03-03,Ø. Ångström,\"{note}\"\n"),
        );
    let told = record(&trial, &[]);
    assert_eq!(told.status, 0, "{}", told.err);
    let page = page(&trial);
    assert_eq!(page.matches("<script").count(), 1);
    assert!(!page.contains("<img src=x") && !page.contains("A <b>"));
    assert!(page.contains("&lt;img src=x onerror=alert(1)&gt;"));
    assert!(page.contains("液体 ёлка"));
    if pdf::is_built_in() {
        assert!(trial.out().join("pdf/V-1_A__b__2026-03-03.pdf").is_file());
    }
}

#[test]
fn us_units_are_in_all_that_people_read() {
    let trial = Trial::new();
    assert_eq!(record(&trial, &["--units", "us", "--no-pdf"]).status, 0);
    let list = std::fs::read_to_string(trial.out().join("followup-list.csv")).unwrap();
    assert!(
        list.starts_with("rank,zone,asset,from_datum_ft,clock_or_bearing,height_ft,"),
        "{list}"
    );
    let page = page(&trial);
    let body = page.split_once("<body>").unwrap().1;
    assert!(body.contains(" °F") && body.contains(" ft²"));
    for si in [" °C", " m²", " m/s"] {
        // The page's own script names both units.
        let text = body.split("<script>").next().unwrap();
        assert!(
            !text.contains(si),
            "{si}: {:?}",
            text.find(si).map(|at| &text[at - 60..at + 10])
        );
    }
}
