//! The command line and the sheets: what is refused, in which words, with nothing written.

use clap::CommandFactory;
use coldjacket::cli::Cli;

use super::command::{Trial, coldjacket, said, samples};

#[test]
fn every_command_explains_itself() {
    let told = said(coldjacket().arg("--help"));
    assert_eq!(told.status, 0);
    assert!(
        told.out.contains("Thermography screens, it does not prove"),
        "{}",
        told.out
    );
    for command in Cli::command().get_subcommands() {
        let name = command.get_name();
        let told = said(coldjacket().args([name, "--help"]));
        assert_eq!((told.status, told.err.as_str()), (0, ""), "{name}");
        assert!(told.out.contains(&format!("Usage: coldjacket {name}")), "{}", told.out);
        assert!(
            told.out.contains("Exit status: "),
            "{name} does not say what its exit status means"
        );
        for argument in command.get_arguments().filter(|argument| !argument.is_hide_set()) {
            assert!(
                argument.get_help().is_some(),
                "{name}: {} is not explained",
                argument.get_id()
            );
        }
    }
}

#[test]
fn the_version_is_the_packages() {
    let told = said(coldjacket().arg("--version"));
    assert_eq!(
        (told.status, told.out.trim()),
        (0, concat!("coldjacket ", env!("CARGO_PKG_VERSION")))
    );
}

#[test]
fn what_cannot_be_understood_is_refused() {
    let trial = Trial::new();
    let survey = trial.survey().display().to_string();
    for (arguments, words) in [
        (vec!["servey"], "unrecognized subcommand 'servey'"),
        (vec!["survey", survey.as_str()], "--out <DIR>"),
        (
            vec!["survey", survey.as_str(), "--out", "x", "--units", "imperial"],
            "[possible values: si, us]",
        ),
        (
            vec!["survey", survey.as_str(), "--out", "x", "--threads", "many"],
            "invalid value 'many'",
        ),
    ] {
        let told = said(coldjacket().current_dir(trial.root()).args(&arguments));
        assert_eq!(told.status, 2, "{arguments:?}");
        assert!(
            told.err.starts_with("error: ") && told.err.contains(words),
            "{}",
            told.err
        );
    }
    assert!(!trial.root().join("x").exists());
}

#[test]
fn a_survey_folder_that_is_none() {
    let trial = Trial::new();
    let nowhere = trial.root().join("nowhere");
    let told = said(coldjacket().arg("survey").arg(&nowhere).arg("--out").arg(trial.out()));
    assert_eq!(told.status, 2);
    assert_eq!(
        told.err.trim_end(),
        format!("error: {}: does not exist", nowhere.display())
    );
    assert!(!trial.out().exists());
}

#[test]
fn missing_sheets_are_named_all_at_once() {
    let trial = Trial::new();
    trial.remove("survey.toml").remove("assets.csv").remove("frames.csv");
    assert_eq!(
        trial.refusal(),
        "error: assets.csv: is missing (accepted: assets.csv or assets.xlsx)\n\
         error: frames.csv: is missing (accepted: frames.csv or frames.xlsx)\n\
         error: survey.toml: is missing\n  hint: write it with title, plant and date"
    );
}

#[test]
fn empty_sheets() {
    let trial = Trial::new();
    trial
        .write("survey.toml", "")
        .write("assets.csv", "")
        .write("frames.csv", "");
    let told = trial.refusal();
    assert!(told.contains("error: assets.csv: is empty (accepted: an asset register with the headings asset, shape"));
    assert!(told.contains("error: frames.csv: is empty (accepted: a list of frames with the headings file, asset"));
    for key in ["title", "plant", "date"] {
        assert!(
            told.contains(&format!("error: survey.toml, key {key}: is missing")),
            "{told}"
        );
    }
    let trial = Trial::new();
    trial.frames(&[]);
    assert_eq!(trial.refusal(), "error: frames.csv row 1: has a heading but no rows");
}

#[test]
fn wrong_sheets() {
    let trial = Trial::new();
    let [assets, frames] = ["assets.csv", "frames.csv"].map(|name| std::fs::read(trial.survey().join(name)).unwrap());
    trial.write("assets.csv", frames).write("frames.csv", assets);
    let told = trial.refusal();
    assert!(
        told.contains("error: assets.csv row 1: is not an asset register: it lacks most of the headings"),
        "{told}"
    );
    assert!(
        told.contains("error: frames.csv row 1: is not a list of frames: it lacks most of the headings"),
        "{told}"
    );

    let trial = Trial::new();
    trial.write(
        "assets.csv",
        std::fs::read(samples().join("images/sa-101.tif")).unwrap(),
    );
    assert_eq!(
        trial.refusal(),
        "error: assets.csv: is not text in UTF-8 (line 1)\n  hint: save it as CSV in UTF-8"
    );

    let trial = Trial::new();
    std::fs::create_dir(trial.remove("frames.csv").survey().join("frames.csv")).unwrap();
    assert_eq!(trial.refusal(), "error: frames.csv: is not a file");

    let trial = Trial::new();
    trial.write(
        "survey.toml",
        "title = \"Trial\"\nplant = \"Simulated\ndate = \"2026-03-03\"\n",
    );
    assert!(
        trial
            .refusal()
            .starts_with("error: survey.toml line 2: is not TOML at column ")
    );
}

const ASSET: &str = "SA-101,horizontal-cylinder,1500,3400,pir,99.4,0.02223,pvc,0.904,-33.5,indoor";

#[test]
fn a_tag_that_stands_twice() {
    let trial = Trial::new();
    trial.assets(&[ASSET, ASSET]);
    assert_eq!(
        trial.refusal(),
        "error: assets.csv row 3, column asset: \"SA-101\" stands already in row 2 (accepted: a tag that stands once)"
    );
}

#[test]
fn a_frame_of_an_unknown_asset() {
    let trial = Trial::new();
    trial.frames(&["images/a.tif,SA-102,centikelvin,21.23,51.2,0.0,21.18,3,3"]);
    assert_eq!(
        trial.refusal(),
        "error: frames.csv row 2, column asset: \"SA-102\" is not a tag of the asset register (accepted: a tag of the \
         sheet assets)\n  hint: did you mean \"SA-101\"?"
    );
}

/// Adds a column with one value to a sheet of one row.
fn with_column(trial: &Trial, sheet: &str, heading: &str, value: &str) {
    let text = std::fs::read_to_string(trial.survey().join(sheet)).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    trial.write(sheet, format!("{},{heading}\n{},{value}\n", lines[0], lines[1]));
}

#[test]
fn unit_twins_in_one_sheet() {
    for (sheet, first, second) in [
        ("assets.csv", "outside_diameter_mm", "outside_diameter_in"),
        ("assets.csv", "service_temperature_c", "service_temperature_f"),
        ("frames.csv", "air_temperature_c", "air_temperature_f"),
        ("frames.csv", "wind_m_s", "wind_mph"),
        ("frames.csv", "distance_m", "distance_ft"),
    ] {
        let trial = Trial::new();
        with_column(&trial, sheet, second, "50");
        assert_eq!(
            trial.refusal(),
            format!(
                "error: {sheet} row 1, column {second}: stands beside {first}, which says the same in another unit\n  \
                 hint: keep one of {first} and {second}"
            )
        );
    }
}

#[test]
fn impossible_values() {
    let frame = |air: &str, humidity: &str, wind: &str| {
        let row = format!("images/a.tif,SA-101,centikelvin,{air},{humidity},{wind},21.18,3,3");
        let trial = Trial::new();
        trial.frames(&[row.as_str()]);
        trial.refusal()
    };
    let wrong = |column: &str, value: &str, accepted: &str| {
        format!("error: frames.csv row 2, column {column}: \"{value}\" is not possible (accepted: {accepted})")
    };
    assert_eq!(
        frame("21", "140", "0"),
        wrong("relative_humidity_pct", "140", "0 to 100 %")
    );
    assert_eq!(
        frame("-81", "50", "0"),
        wrong("air_temperature_c", "-81", "-80 to 60 °C")
    );
    assert!(frame("21", "50", "-1").starts_with("error: frames.csv row 2, column wind_m_s: \"-1\" is not possible"));

    let asset = |thickness: &str, emissivity: &str| {
        let row = format!("SA-101,horizontal-cylinder,1500,3400,pir,{thickness},0.02223,pvc,{emissivity},-33.5,indoor");
        let trial = Trial::new();
        trial.assets(&[row.as_str()]);
        trial.refusal()
    };
    assert_eq!(
        asset("99.4", "0"),
        "error: assets.csv row 2, column emissivity: \"0\" is not possible (accepted: above 0, up to 1)"
    );
    assert_eq!(
        asset("750", "0.9"),
        "error: assets.csv row 2, column insulation_thickness_mm: \"750\" leaves no room for the vessel inside the \
         outside diameter (accepted: less than the radius, 750 mm)\n  hint: state the diameter over the jacket, not over \
         the bare metal"
    );
}

#[test]
fn all_faults_of_all_sheets_in_one_go() {
    let trial = Trial::new();
    trial
        .assets(&["SA-101,horizontal-cylinder,1500,3400,pir,99.4,0.02223,pvc,0.904,-33.5,indoors"])
        .frames(&["images/a.tif,SA-101,centikelvins,,140,0.0,21.18,3,13"])
        .write(
            "survey.toml",
            "title = \"Trial\"\nplant = \"Simulated\"\ndate = \"last week\"\n",
        );
    let told = trial.refusal();
    for place in [
        "assets.csv row 2, column setting: \"indoors\"",
        "frames.csv row 2, column temperature_scale: \"centikelvins\"",
        "frames.csv row 2, column air_temperature_c: ",
        "frames.csv row 2, column relative_humidity_pct: \"140\"",
        "frames.csv row 2, column facing_clock: \"13\"",
        "survey.toml line 3, key date: \"last week\"",
    ] {
        assert!(told.contains(&format!("error: {place}")), "{place} is not in\n{told}");
    }
    assert_eq!(
        told.lines().filter(|line| line.starts_with("error: ")).count(),
        6,
        "{told}"
    );
}

#[test]
fn an_unknown_column_is_a_warning_only() {
    let trial = Trial::new();
    with_column(&trial, "assets.csv", "colour", "white");
    let told = trial.run(&["--no-pictures"]);
    assert_eq!(told.status, 0, "{told:?}");
    assert_eq!(
        told.err.trim_end(),
        "warning: assets.csv: column \"colour\" is not known and is not read"
    );
}
