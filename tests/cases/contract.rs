//! What the findings of the sample survey mean: numbers that must agree with each other, with the sheets and the files.

use std::collections::BTreeSet;

use serde_json::Value;
use sha2::{Digest, Sha256};

use super::command::{coldjacket, said, samples};
use super::sample::{number, sample, text};

#[test]
fn a_file_that_cannot_be_used_is_listed_and_told_by_the_exit_status() {
    let sample = sample();
    assert_eq!(sample.said.status, 1, "{}", sample.said.err);
    let frame = sample
        .list("frames")
        .iter()
        .find(|frame| frame["file"] == "images/va-102_broken.tif")
        .unwrap();
    assert_eq!(frame["usability"], "unusable");
    assert!(
        text(&frame["reasons"][0]).starts_with("cut short: "),
        "{}",
        frame["reasons"]
    );
    assert!(
        sample
            .said
            .out
            .contains("images/va-102_broken.tif (VA-102) unusable: cut short: ")
    );
}

#[test]
fn frames_stand_in_the_sheets_order_with_the_hash_of_their_bytes() {
    let sheet = std::fs::read_to_string(samples().join("frames.csv")).unwrap();
    let files: Vec<&str> = sheet
        .lines()
        .skip(1)
        .filter_map(|line| line.split(',').next())
        .collect();
    let found: Vec<&str> = sample()
        .list("frames")
        .iter()
        .map(|frame| text(&frame["file"]))
        .collect();
    assert_eq!(found, files);
    for frame in sample().list("frames") {
        let digest = Sha256::digest(std::fs::read(samples().join(text(&frame["file"]))).unwrap());
        let digits: String = digest.iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(frame["sha256"], digits.as_str());
    }
}

#[test]
fn every_frame_that_could_be_read_has_its_picture() {
    let sample = sample();
    for frame in sample.list("frames") {
        let name = text(&frame["file"])
            .rsplit('/')
            .next()
            .unwrap()
            .rsplit_once('.')
            .unwrap()
            .0;
        let path = sample.out().join(format!("annotated/{name}.png"));
        if frame["width"].is_null() {
            assert!(!path.exists(), "{name} could not be read, yet has a picture");
            continue;
        }
        let picture = image::load_from_memory(&std::fs::read(&path).unwrap()).expect("a picture that can be read");
        assert!(
            picture.width() >= 320 && picture.height() >= 240,
            "{name}: {} × {}",
            picture.width(),
            picture.height()
        );
    }
}

#[test]
fn zones_are_ranked_from_one_by_falling_priority() {
    let zones = sample().list("zones");
    let ranks: Vec<f64> = zones.iter().map(|zone| number(&zone["rank"])).collect();
    let expected: Vec<f64> = (1..=zones.len()).map(|rank| rank as f64).collect();
    assert_eq!(ranks, expected);
    let priorities: Vec<f64> = zones.iter().map(|zone| number(&zone["priority"])).collect();
    assert!(priorities.is_sorted_by(|first, next| first >= next), "{priorities:?}");
}

#[test]
fn a_priority_is_the_sum_of_its_parts() {
    for zone in sample().list("zones").iter().chain(sample().list("set_aside")) {
        let parts = zone["priority_parts"].as_object().unwrap();
        assert!(parts.len() >= 6, "{parts:?}");
        let sum: f64 = parts.values().map(number).sum();
        // Parts are rounded to 0.01, the sum to 0.1.
        let rounding = 0.005 * parts.len() as f64 + 0.05;
        let priority = number(&zone["priority"]);
        if zone["rank"].is_null() {
            assert_eq!(priority, 0.0, "{}: set aside, and yet to be followed up", zone["id"]);
        } else {
            assert!(
                (sum - priority).abs() <= rounding + 1e-9,
                "{}: {priority} is not {sum}",
                zone["id"]
            );
        }
        assert!(parts.values().all(|part| number(part) >= 0.0), "{parts:?}");
    }
}

#[test]
fn what_is_set_aside_is_no_finding() {
    let aside = ["penetration", "reflection", "sun-warmed"];
    for zone in sample().list("zones") {
        assert!(!aside.contains(&text(&zone["likely_cause"])), "{}", zone["id"]);
    }
    for zone in sample().list("set_aside") {
        assert!(aside.contains(&text(&zone["likely_cause"])), "{}", zone["id"]);
        assert!(zone["rank"].is_null());
    }
    let ids: BTreeSet<&str> = sample()
        .list("zones")
        .iter()
        .chain(sample().list("set_aside"))
        .map(|zone| text(&zone["id"]))
        .collect();
    assert_eq!(
        ids.len(),
        sample().list("zones").len() + sample().list("set_aside").len(),
        "an id stands twice"
    );
}

#[test]
fn the_interval_holds_the_ratio() {
    for zone in sample().list("zones").iter().chain(sample().list("set_aside")) {
        let ratio = number(&zone["conductivity_ratio"]);
        let [low, high] = [0, 1].map(|end| number(&zone["conductivity_ratio_interval"][end]));
        assert!(
            0.0 < low && low <= ratio && ratio <= high && low < high,
            "{}: {low} {ratio} {high}",
            zone["id"]
        );
    }
}

#[test]
fn a_zone_that_is_colder_says_so_in_its_sign() {
    for zone in sample().list("zones").iter().chain(sample().list("set_aside")) {
        let colder = zone["departure"] == "colder";
        assert_eq!(
            number(&zone["contrast_k"]) < 0.0,
            colder,
            "{}: {}",
            zone["id"],
            zone["contrast_k"]
        );
        let [mean, extreme] = ["surface_c", "extreme_c"].map(|key| number(&zone[key]));
        assert!(
            if colder {
                extreme <= mean + 0.01
            } else {
                extreme >= mean - 0.01
            },
            "{}: {mean} {extreme}",
            zone["id"]
        );
        let below_freezing = zone["below_freezing"].as_bool().unwrap();
        assert_eq!(below_freezing, mean < 0.0, "{}: {mean} °C", zone["id"]);
    }
}

#[test]
fn assets_sum_up_their_zones() {
    let sheet = std::fs::read_to_string(samples().join("assets.csv")).unwrap();
    let tags: Vec<&str> = sheet
        .lines()
        .skip(1)
        .filter_map(|line| line.split(',').next())
        .collect();
    let found: Vec<&str> = sample()
        .list("assets")
        .iter()
        .map(|asset| text(&asset["asset"]))
        .collect();
    assert_eq!(found, tags);
    for asset in sample().list("assets") {
        let zones: Vec<&Value> = sample()
            .list("zones")
            .iter()
            .filter(|zone| zone["asset"] == asset["asset"])
            .collect();
        let sum = |key: &str| zones.iter().map(|zone| number(&zone[key])).sum::<f64>();
        let rounding = 0.006 * (zones.len() + 1) as f64;
        assert!(
            (sum("extra_heat_gain_w") - number(&asset["extra_heat_gain_w"])).abs() <= rounding,
            "{asset}"
        );
        let worst = zones.iter().map(|zone| number(&zone["priority"])).fold(0.0, f64::max);
        assert_eq!(number(&asset["worst_priority"]), worst, "{asset}");
        // Local zones lie within a general one, so that areas may overlap but never exceed their sum.
        assert!(number(&asset["zone_m2"]) <= sum("area_m2") + 0.001, "{asset}");
    }
}

#[test]
fn the_list_has_one_row_a_zone() {
    let text_of_list = std::fs::read(sample().out().join("findings.csv")).unwrap();
    let mut reader = csv::Reader::from_reader(text_of_list.as_slice());
    let heading = reader.headers().unwrap().clone();
    let column = |name: &str| {
        heading
            .iter()
            .position(|found| found == name)
            .unwrap_or_else(|| panic!("no {name}"))
    };
    let (rank, id, priority) = (column("rank"), column("id"), column("priority"));
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let zones: Vec<&Value> = sample()
        .list("zones")
        .iter()
        .chain(sample().list("set_aside"))
        .collect();
    assert_eq!(rows.len(), zones.len());
    for (row, zone) in rows.iter().zip(zones) {
        assert_eq!(&row[id], text(&zone["id"]));
        assert_eq!(row[priority].parse::<f64>().unwrap(), number(&zone["priority"]));
        let expected = zone["rank"]
            .as_u64()
            .map_or("set aside".to_owned(), |rank| rank.to_string());
        assert_eq!(row[rank], expected);
    }
}

#[test]
fn a_second_run_gives_the_same_bytes() {
    let room = tempfile::tempdir().unwrap();
    said(
        coldjacket()
            .arg("survey")
            .arg(samples())
            .arg("--out")
            .arg(room.path().join("again")),
    );
    for name in ["findings.json", "findings.csv"] {
        let [first, second] =
            [sample().out(), room.path().join("again")].map(|out| std::fs::read(out.join(name)).unwrap());
        assert!(first == second, "{name} differs from run to run");
    }
}
