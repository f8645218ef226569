//! `coldjacket plan`: the same physics as the survey, verdicts by its thresholds, ranges, and folders that lack a sheet.

use std::path::Path;

use serde_json::Value;

use super::command::{Said, Trial, coldjacket, said, samples};
use super::sample::{list, sample};

/// A plan of the trial's survey folder.
#[track_caller]
pub fn plan(trial: &Trial, further: &[&str]) -> Said {
    trial.run_command("plan", further)
}

/// The plan's only asset.
#[track_caller]
fn planned(trial: &Trial, further: &[&str]) -> Value {
    let said = plan(trial, further);
    assert_eq!(said.status, 0, "{said:?}");
    let assets = read(&trial.out());
    let [asset] = list(&assets["assets"]) else {
        panic!("not one asset: {assets}")
    };
    asset.clone()
}

pub fn read(out: &Path) -> Value {
    serde_json::from_slice(&std::fs::read(out.join("plan.json")).unwrap()).unwrap()
}

#[track_caller]
fn close(value: &Value, wanted: f64, tolerance: f64) {
    let value = value.as_f64().unwrap_or_else(|| panic!("{value} is no number"));
    assert!(
        (value - wanted).abs() <= tolerance,
        "{value} instead of {wanted} ± {tolerance}"
    );
}

/// findings.json rounds temperatures to 0.01 °C.
const ROUNDED_C: f64 = 0.005_001;

/// The pipe of the independent solver: 0.4191 m over 0.1 m of 0.024 W/(m K), -40 °C in 20 °C, emissivity 0.9.
const PIPE: &str = "P-1,horizontal-cylinder,419.1,6000,pir,100,0.024,pvc,0.9,-40,outdoor";

#[test]
fn contrasts_are_those_of_the_independent_solver() {
    // tests/reference/heat_balance.json, "examples": dry, four times as conductive, and dry in wind; each held to 0.01 K there.
    let (dry_c, four_c, dry_2_m_s_c) = (18.506_687_782_9, 14.921_544_283_2, 19.262_417_759_1);
    let trial = Trial::new();
    trial.assets(&[PIPE]).remove("frames.csv");
    let asset = planned(&trial, &["--air-c", "20", "--wind", "0", "--reflected-c", "20"]);
    close(&asset["expected_sound_surface_c"], dry_c, 0.01);
    close(&asset["contrast_4x_k"], four_c - dry_c, 0.02);
    let twice_k = asset["contrast_2x_k"].as_f64().unwrap();
    assert!(twice_k < 0.0 && twice_k > four_c - dry_c, "{twice_k}");
    let winds = list(&asset["wind_effect"]);
    assert_eq!(winds[0]["wind_m_s"], 0.0);
    close(&winds[0]["contrast_4x_k"], four_c - dry_c, 0.02);
    assert_eq!(winds[1]["wind_m_s"], 2.0);
    close(&winds[1]["expected_sound_surface_c"], dry_2_m_s_c, 0.01);
    let contrast = |at: usize| winds[at]["contrast_2x_k"].as_f64().unwrap().abs();
    assert!(contrast(0) > contrast(1) && contrast(1) > contrast(2));
}

#[test]
fn the_plan_expects_what_the_survey_expects() {
    let trial = Trial::new();
    let mut command = coldjacket();
    let told = said(command.arg("plan").arg(samples()).arg("--out").arg(trial.out()));
    assert_eq!((told.status, told.err.as_str()), (0, ""));
    let plan = read(&trial.out());
    let mut compared = 0;
    for asset in list(&plan["assets"]) {
        let frames: Vec<&Value> = sample()
            .list("frames")
            .iter()
            .filter(|f| f["asset"] == asset["asset"])
            .collect();
        let [frame] = frames.as_slice() else { continue };
        if frame["expected_sound_surface_c"].is_null() {
            continue;
        }
        compared += 1;
        close(
            &asset["expected_sound_surface_c"],
            frame["expected_sound_surface_c"].as_f64().unwrap(),
            ROUNDED_C,
        );
        close(&asset["dew_point_c"], frame["dew_point_c"].as_f64().unwrap(), ROUNDED_C);
    }
    assert!(compared >= 4, "only {compared} compared");
    let verdict = |tag: &str| {
        let asset = list(&plan["assets"]).iter().find(|a| a["asset"] == tag);
        asset.unwrap()["verdict"].as_str().unwrap().to_owned()
    };
    // Bright aluminium; two good frames and a gale in the sun; a frame without fault.
    assert_eq!(
        [verdict("AC-701"), verdict("OA-801"), verdict("LR-201")],
        ["no-go", "marginal", "go"]
    );
}

#[test]
fn each_condition_has_its_verdict_its_reason_and_its_help() {
    let trial = Trial::new();
    for (options, verdict, reason, help) in [
        (vec!["--air-c", "20", "--humidity", "40"], "go", "", ""),
        (
            vec!["--air-c", "-20"],
            "marginal",
            "air and service differ by 13.5 K",
            "warmer air, from -18 °C",
        ),
        (
            vec!["--air-c", "-30"],
            "no-go",
            "air and service differ by only 3.5 K",
            "colder service, down to -45 °C",
        ),
        (
            vec!["--air-c", "20", "--wind", "4"],
            "marginal",
            "wind 4.0 m/s",
            "calmer: in still air",
        ),
        (
            vec!["--air-c", "20", "--wind", "9"],
            "no-go",
            "wind 9.0 m/s (at most 6.7 m/s)",
            "calmer: in still air",
        ),
        (
            vec!["--air-c", "20", "--humidity", "95"],
            "marginal",
            "the sound jacket sweats",
            "drier air: below",
        ),
        (
            vec!["--air-c", "20", "--distance-m", "60"],
            "no-go",
            "smallest zone",
            "nearer: within",
        ),
        (
            vec!["--air-c", "20", "--distance-m", "9", "--field-of-view-deg", "90"],
            "marginal",
            "smallest zone that could be called is 0.17 m",
            "nearer: within 8.0 m",
        ),
    ] {
        let asset = planned(&trial, &options);
        assert_eq!(asset["verdict"], verdict, "{options:?}: {asset}");
        let told = |key: &str| {
            list(&asset[key])
                .iter()
                .map(|t| t.as_str().unwrap().to_owned())
                .collect::<Vec<_>>()
                .join("\n")
        };
        assert!(told("reasons").contains(reason), "{options:?}: {}", told("reasons"));
        assert!(told("would_help").contains(help), "{options:?}: {}", told("would_help"));
    }
}

#[test]
fn what_is_told_to_help_does_help() {
    let trial = Trial::new();
    let zone = |options: &[&str]| planned(&trial, options);
    let far = ["--air-c", "20", "--field-of-view-deg", "90", "--distance-m"];
    assert_eq!(zone(&[&far[..], &["8.0"]].concat())["verdict"], "go");
    let asset = zone(&["--air-c", "20", "--wind", "0", "--humidity", "95"]);
    let help = list(&asset["would_help"])
        .iter()
        .find_map(|t| t.as_str()?.strip_prefix("drier air: below "));
    let most: f64 = help.unwrap().split(' ').next().unwrap().parse().unwrap();
    let sweats = |pct: f64| {
        zone(&["--air-c", "20", "--wind", "0", "--humidity", &pct.to_string()])["sound_jacket_sweats"].clone()
    };
    assert_eq!(
        (sweats(most), sweats(most + 2.0)),
        (Value::Bool(false), Value::Bool(true))
    );
    // Well insulated in cold air: twice the conductivity is not called, and so many kelvin more would do.
    trial.assets(&["SA-101,horizontal-cylinder,1500,3400,pir,200,0.02223,pvc,0.904,-33.5,indoor"]);
    let asset = zone(&["--air-c", "-5", "--wind", "1"]);
    assert_eq!(asset["verdict"], "marginal", "{asset}");
    let words = list(&asset["would_help"])
        .iter()
        .filter_map(Value::as_str)
        .find(|t| t.contains("as much colder"));
    let more: f64 = words
        .unwrap()
        .split("from ")
        .nth(1)
        .unwrap()
        .split(' ')
        .next()
        .unwrap()
        .parse()
        .unwrap();
    let twice = |air: f64| {
        zone(&["--air-c", &air.to_string(), "--wind", "1"])["contrast_2x_k"]
            .as_f64()
            .unwrap()
            .abs()
    };
    assert!(
        twice(-5.0 + more + 0.1) >= 0.35 && twice(-5.0 + more - 0.3) < 0.35,
        "{more}"
    );
}

#[test]
fn a_range_is_its_two_ends() {
    let trial = Trial::new();
    let at = |air: &str| planned(&trial, &["--air-c", air]);
    let (cold, warm, both) = (at("-30"), at("20"), at("-30..20"));
    assert_eq!(
        (both["verdict"].as_str(), both["conditions_reckoned"].as_u64()),
        (Some("marginal"), Some(2))
    );
    assert_eq!(
        (&both["worst"]["verdict"], &both["best"]["verdict"]),
        (&cold["verdict"], &warm["verdict"])
    );
    for key in [
        "expected_sound_surface_c",
        "contrast_2x_k",
        "contrast_4x_k",
        "dew_point_c",
    ] {
        assert_eq!(both["worst"][key], cold[key], "{key}");
        assert_eq!(both["best"][key], warm[key], "{key}");
        assert_eq!(both[key], cold[key], "{key}: at worst");
    }
    let reasons = both["reasons"].to_string();
    assert!(
        // The sheet's reflected temperature, 0.05 K below its air, moves with it.
        reasons.contains("at worst, air -30.0 °C, reflected -30.1 °C, no-go")
            && reasons.contains("at best, air 20.0 °C, reflected 19.9 °C, go"),
        "{reasons}"
    );
    let told = plan(
        &trial,
        &["--air-c", "-30..20", "--wind", "0..3", "--distance-m", "2..4"],
    );
    assert!(told.out.contains("8 conditions, at worst air -30.0 °C"), "{}", told.out);
}

#[test]
fn folders_that_are_not_filled_in_yet() {
    let trial = Trial::new();
    // Rows without an asset or a scale: their conditions count for every asset.
    trial.frames(&["images/a.tif,,,18,51.2,0.0,,3,"]);
    let asset = planned(&trial, &[]);
    close(&asset["worst"]["conditions"]["air_temperature_c"], 18.0, 0.0);
    assert!(
        asset["conditions_from"].as_str().unwrap().contains("name other assets"),
        "{asset}"
    );
    // A heading alone, and no sheet at all: the defaults; nobody at all: a range is assumed and said.
    trial.frames(&[]);
    assert_eq!(
        planned(&trial, &["--air-c", "20"])["conditions_from"],
        "the command line"
    );
    trial.remove("frames.csv");
    let head = "title = \"Trial\"\nplant = \"Simulated\"\ndate = \"2026-03-03\"\n";
    trial.write("survey.toml", format!("{head}[defaults]\nair_temperature_c = 20.0\n"));
    assert_eq!(planned(&trial, &[])["conditions_from"], "[defaults] of survey.toml");
    trial.write("survey.toml", head);
    let asset = planned(&trial, &[]);
    assert!(
        asset["conditions_from"]
            .as_str()
            .unwrap()
            .contains("an air temperature assumed indoors, 10 to 25 °C"),
        "{asset}"
    );
    close(&asset["worst"]["conditions"]["air_temperature_c"], 10.0, 0.0);
    let assumed = asset["assumed"].to_string();
    for what in [
        "humidity not stated",
        "wind not stated",
        "field of view not stated",
        "distance not stated",
    ] {
        assert!(assumed.contains(what), "{assumed}");
    }
    assert!(asset["dew_point_c"].is_null() && asset["sound_jacket_sweats"].is_null());
}

#[test]
fn the_camera_of_the_sheets_gives_the_smallest_zone() {
    let trial = Trial::new();
    let head = "title = \"Trial\"\nplant = \"Simulated\"\ndate = \"2026-03-03\"\n";
    let camera = "[cameras.a]\nfield_of_view_deg = 90\nwidth_px = 300\n";
    trial.write("survey.toml", format!("{head}{camera}"));
    // 2 · 3 m · tan 45° = 6 m across 300 px: 3 px are 60 mm.
    close(&planned(&trial, &[])["smallest_zone_mm"], 60.0, 1e-9);
    close(
        &planned(&trial, &["--pixels", "600x480"])["smallest_zone_mm"],
        30.0,
        1e-9,
    );
    // 6 m across, a vessel of 3.4 m: one picture.
    assert_eq!(planned(&trial, &[])["pictures_along"], 1);
    // 1.5 m across, each next one 1.2 m further: 1 + ceil(1.9/1.2) = 3.
    assert_eq!(planned(&trial, &["--distance-m", "0.75"])["pictures_along"], 3);
    trial.write(
        "survey.toml",
        format!("{head}[cameras.a]\nfield_of_view_deg = 200\nwidth_px = 3.5\n"),
    );
    let told = plan(&trial, &[]);
    assert_eq!(told.status, 2);
    assert!(
        told.err
            .contains("key cameras.a.field_of_view_deg: \"200\" is not possible (accepted: 0.5 to 150 °)"),
        "{}",
        told.err
    );
    assert!(
        told.err
            .contains("key cameras.a.width_px: \"3.5\" is not possible (accepted: 16 to 32768, whole)"),
        "{}",
        told.err
    );
}

#[test]
fn bad_input_is_told_and_nothing_is_written() {
    let trial = Trial::new();
    for (options, words) in [
        (vec!["--air-c", "20..10"], "the range's first end is above its second"),
        (vec!["--air-c", "warm"], "\"warm\" is not a number"),
        (vec!["--humidity", "101"], "101 is not possible (accepted: 0 to 100 %)"),
        (vec!["--pixels", "320"], "is not a size (accepted: WIDTHxHEIGHT"),
        (vec!["--air-c", "20", "--air-f", "68"], "cannot be used with"),
        (
            vec!["--setting", "outdoor"],
            "no asset of the register stands there (--setting)",
        ),
    ] {
        let told = plan(&trial, &options);
        assert_eq!(told.status, 2, "{options:?}");
        assert!(told.err.contains(words), "{options:?}: {}", told.err);
        assert!(!trial.out().exists(), "{options:?}");
    }
    trial.frames(&["images/a.tif,SA-102,centikelvin,warm,51.2,0.0,,3,"]);
    let told = plan(&trial, &[]);
    assert_eq!(told.status, 2);
    assert!(
        told.err.contains("row 2, column asset: \"SA-102\" is not a tag"),
        "{}",
        told.err
    );
    assert!(
        told.err
            .contains("row 2, column air_temperature_c: \"warm\" is not a number"),
        "{}",
        told.err
    );
    assert!(!trial.out().exists());
    let trial = Trial::new();
    let told = said(
        coldjacket()
            .arg("plan")
            .arg(trial.survey())
            .arg("--out")
            .arg(trial.survey()),
    );
    assert_eq!(told.status, 2);
    assert!(told.err.contains("is the survey folder or holds it"), "{}", told.err);
}
