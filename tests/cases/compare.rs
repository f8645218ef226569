//! Comparison by place: what each change means, that order, end of counting and temperatures change nothing, and what is
//! refused. The findings here are written by hand; whole surveys are compared in `years`.

use coldjacket::compare::change::Change;
use coldjacket::compare::findings::{Findings, parse};
use coldjacket::compare::{Comparison, Row, SeenBefore, Settings, compare};
use proptest::prelude::*;
use serde_json::{Value, json};

use super::command::{Trial, coldjacket, said};

/// A zone on SA-1 as a survey may have it.
#[derive(Debug, Clone, PartialEq)]
struct Patch {
    axial_m: f64,
    clock: f64,
    size_m: (f64, f64),
    ratio: f64,
}

fn patch(axial_m: f64, clock: f64) -> Patch {
    Patch {
        axial_m,
        clock,
        size_m: (0.4, 0.3),
        ratio: 2.5,
    }
}

impl Patch {
    fn zone(&self, id: &str) -> Value {
        json!({
            "id": id, "asset": "SA-1", "departure": "colder", "extent": "local", "axial_m": self.axial_m, "clock": self.clock,
            "length_m": self.size_m.0, "arc_m": self.size_m.1, "area_m2": 0.785 * self.size_m.0 * self.size_m.1,
            "contrast_k": -2.0, "conductivity_ratio": self.ratio,
            "conductivity_ratio_interval": [0.9 * self.ratio, 1.12 * self.ratio],
            "likely_cause": "wet-insulation", "action": "open-and-inspect", "priority": 50.0,
        })
    }
}

/// All of the jacket usefully seen, or only from `from` to `to` of 72 rows of 5°.
fn map(from: usize, to: usize) -> Value {
    let rows: Vec<&str> = (0..72)
        .map(|j| if (from..to).contains(&j) { "80u" } else { "80n" })
        .collect();
    json!({"along": 80, "round": "asset", "rows": rows})
}

/// A vessel of 4 m and 1.2 m across; `further` goes into its asset.
fn survey(date: &str, zones: &[Value], further: Value) -> Value {
    let mut asset = json!({
        "asset": "SA-1", "shape": "horizontal-cylinder", "outside_diameter_m": 1.2, "length_m": 4.0, "total_m2": 15.1,
        "usable_m2": 15.1, "seen": map(0, 72),
    });
    for (key, value) in further.as_object().unwrap() {
        asset[key] = value.clone();
    }
    json!({
        "schema": "coldjacket.findings/1", "survey": {"title": "t", "plant": "p", "date": date},
        "frames": [{"asset": "SA-1", "usability": "good", "smallest_zone_mm": 60.0}],
        "zones": zones, "set_aside": [], "assets": [asset],
    })
}

fn read(value: &Value) -> Findings {
    parse(value.to_string().as_bytes(), "findings.json").unwrap()
}

fn compared(present: &Value, earlier: &[&Value]) -> Comparison {
    let earlier: Vec<Findings> = earlier.iter().map(|survey| read(survey)).collect();
    compare(&read(present), &earlier, &Settings::default()).unwrap()
}

/// The only row.
#[track_caller]
fn only(comparison: &Comparison) -> &Row {
    assert_eq!(comparison.zones.len(), 1, "{comparison:#?}");
    &comparison.zones[0]
}

fn changes(comparison: &Comparison) -> Vec<(Change, Option<&str>, Option<&str>)> {
    let rows = comparison.zones.iter();
    rows.map(|row| (row.change, row.zone.as_deref(), row.earlier_zone.as_deref()))
        .collect()
}

const OLD: &str = "2025-03-01";
const NOW: &str = "2026-03-01";

#[test]
fn gone_and_not_seen_are_two_things() {
    let old = survey(OLD, &[patch(1.0, 3.0).zone("SA-1-1")], json!({}));
    assert_eq!(
        only(&compared(&survey(NOW, &[], json!({})), &[&old])).change,
        Change::Gone
    );
    // Rows 36 to 71 are 6 to 12 o'clock: the place at 3 is not among them.
    let row = compared(&survey(NOW, &[], json!({"seen": map(36, 72)})), &[&old]);
    assert_eq!(only(&row).change, Change::NotSeen);
    assert!(
        only(&row).because[0].contains("0 % of its place was usefully seen"),
        "{row:#?}"
    );
    // Without a map nothing is gone that might not have been looked at.
    let blind = survey(NOW, &[], json!({"seen": null, "usable_m2": 7.0}));
    assert_eq!(only(&compared(&blind, &[&old])).change, Change::NotSeen);
    // Frames too coarse, or air too near the jacket, for such a zone.
    let mut coarse = survey(NOW, &[], json!({}));
    coarse["frames"][0]["smallest_zone_mm"] = json!(400.0);
    assert_eq!(only(&compared(&coarse, &[&old])).change, Change::NotSeen);
    let (mut faint, mut clear) = (survey(NOW, &[], json!({})), old);
    for (year, air_c) in [(&mut faint, 10.0), (&mut clear, 20.0)] {
        year["frames"][0]["air_temperature_c"] = json!(air_c);
        year["frames"][0]["sound_surface_c"] = json!(8.0);
        year["frames"][0]["least_contrast_k"] = json!(0.5);
    }
    let row = compared(&faint, &[&clear]);
    assert_eq!(
        only(&row).change,
        Change::NotSeen,
        "2 K at 12 K of difference are 0.33 K at 2 K: {row:#?}"
    );
}

#[test]
fn new_and_not_seen_before_are_two_things() {
    let now = survey(NOW, &[patch(1.0, 3.0).zone("SA-1-1")], json!({}));
    for (map, seen) in [
        (map(0, 72), SeenBefore::Yes),
        (map(36, 72), SeenBefore::No),
        (Value::Null, SeenBefore::Unknown),
    ] {
        let old = survey(OLD, &[], json!({"seen": map, "usable_m2": 7.0}));
        let result = compared(&now, &[&old]);
        let row = only(&result);
        assert_eq!((row.change, row.seen_before), (Change::New, Some(seen)));
        // What may have been there all along is no growth.
        assert_eq!(row.growth_m2 > 0.0, seen == SeenBefore::Yes, "{row:#?}");
    }
}

#[test]
fn growth_is_by_ratio_or_area_beyond_the_uncertainty_and_never_by_kelvin() {
    let before = patch(1.0, 3.0);
    let old = survey(OLD, &[before.zone("SA-1-1")], json!({}));
    let after = |patch: Patch| {
        let mut zone = patch.zone("SA-1-1");
        // Another day: four times the contrast.
        zone["contrast_k"] = json!(-8.0);
        only(&compared(&survey(NOW, &[zone], json!({})), &[&old])).change
    };
    assert_eq!(after(before.clone()), Change::Steady);
    assert_eq!(
        after(Patch {
            ratio: 3.5,
            ..before.clone()
        }),
        Change::Grown
    );
    assert_eq!(
        after(Patch {
            ratio: 1.6,
            ..before.clone()
        }),
        Change::Shrunk
    );
    assert_eq!(
        after(Patch {
            ratio: 2.7,
            ..before.clone()
        }),
        Change::Steady
    );
    assert_eq!(
        after(Patch {
            size_m: (0.8, 0.6),
            ..before.clone()
        }),
        Change::Grown
    );
    assert_eq!(
        after(Patch {
            size_m: (0.42, 0.31),
            ..before.clone()
        }),
        Change::Steady
    );
    assert_eq!(
        after(Patch {
            size_m: (0.2, 0.16),
            ..before
        }),
        Change::Shrunk
    );
}

#[test]
fn the_best_assignment_is_the_best_of_all_together() {
    // Each zone has moved by 0.28 m: taken one by one the second old zone would steal the first new one's place.
    let old = survey(
        OLD,
        &[
            patch(1.0, 3.0).zone("SA-1-1"),
            patch(1.5, 3.0).zone("SA-1-2"),
            patch(2.0, 3.0).zone("SA-1-3"),
        ],
        json!({}),
    );
    let now = survey(
        NOW,
        &[
            patch(1.28, 3.0).zone("SA-1-1"),
            patch(1.78, 3.0).zone("SA-1-2"),
            patch(2.28, 3.0).zone("SA-1-3"),
        ],
        json!({}),
    );
    let result = compared(&now, &[&old]);
    for row in &result.zones {
        assert_eq!(
            (row.change, &row.zone),
            (Change::Steady, &row.earlier_zone),
            "{result:#?}"
        );
    }
    assert_eq!(result.zones.len(), 3);
}

#[test]
fn two_that_meet_and_one_that_parts_are_not_new_or_gone() {
    let (left, right) = (patch(1.0, 3.0), patch(1.6, 3.0));
    let whole = Patch {
        size_m: (1.1, 0.35),
        ..patch(1.3, 3.0)
    };
    let two = [left.zone("SA-1-1"), right.zone("SA-1-2")];
    let one = [whole.zone("SA-1-1")];
    let met = compared(&survey(NOW, &one, json!({})), &[&survey(OLD, &two, json!({}))]);
    assert_eq!(met.zones.len(), 2, "{met:#?}");
    let into = met.zones.iter().find(|row| row.zone.is_none()).unwrap();
    assert_eq!(into.merged_into.as_deref(), Some("SA-1-1"));
    // Two of 0.094 m² have become one of 0.302 m².
    assert!(met.zones.iter().all(|row| row.change == Change::Grown), "{met:#?}");
    let parted = compared(&survey(NOW, &two, json!({})), &[&survey(OLD, &one, json!({}))]);
    assert_eq!(parted.zones.len(), 2, "{parted:#?}");
    assert!(
        parted.zones.iter().all(|row| row.change == Change::Shrunk),
        "{parted:#?}"
    );
    assert_eq!(parted.zones.iter().filter(|row| row.split_from.is_some()).count(), 1);
}

#[test]
fn what_is_left_of_a_jacket_wet_all_over_is_neither_new_nor_gone() {
    let mut all_over = patch(2.0, 3.0).zone("SA-1-1");
    all_over["extent"] = json!("general");
    let parts = [patch(1.0, 3.0).zone("SA-1-1"), patch(3.0, 4.0).zone("SA-1-2")];
    let (whole, local) = (survey(OLD, &[all_over], json!({})), survey(NOW, &parts, json!({})));
    let less = compared(&local, &[&whole]);
    assert_eq!(
        changes(&less),
        [
            (Change::Shrunk, Some("SA-1-1"), Some("SA-1-1")),
            (Change::Shrunk, Some("SA-1-2"), Some("SA-1-1")),
        ]
    );
    let told = less.zones[0].because.join("; ");
    assert!(told.contains("the whole jacket departed then"), "{told}");
    // Of an asset of which one side was seen, nobody can tell.
    let mut one_side = local.clone();
    one_side["assets"][0]["seen"] = map(0, 36);
    for row in &compared(&one_side, &[&whole]).zones {
        let told = row.because.join("; ");
        assert!(
            row.change == Change::Steady && told.contains("not all of it was seen now"),
            "{told}"
        );
    }
    // And the other way: the zones are not gone, the whole jacket has joined them.
    let mut earlier = local;
    earlier["survey"]["date"] = json!("2024-03-01");
    let more = compared(&whole, &[&earlier]);
    let told = changes(&more);
    assert!(told.iter().all(|(change, ..)| *change != Change::Gone), "{told:?}");
    let whole = more.zones.iter().find(|row| row.zone.is_some()).unwrap();
    assert_eq!(whole.change, Change::New);
    let why = whole.because.join("; ");
    assert!(why.contains("was not called wet all over then"), "{why}");
}

#[test]
fn what_one_survey_set_aside_is_found_again_and_not_judged() {
    let called = survey(OLD, &[patch(1.0, 3.0).zone("SA-1-1")], json!({}));
    let mut aside = survey(NOW, &[], json!({}));
    let mut zone = Patch {
        ratio: 9.0,
        ..patch(1.0, 3.0)
    }
    .zone("SA-1-2");
    zone["likely_cause"] = json!("penetration");
    aside["set_aside"] = json!([zone]);
    let result = compared(&aside, &[&called]);
    assert_eq!((only(&result).change, only(&result).growth_m2), (Change::Steady, 0.0));
    assert_eq!(
        only(&result).because,
        ["not judged: it is set aside now as penetration"]
    );
    // Set aside in both, it is no zone of either list.
    let mut before = aside.clone();
    before["survey"]["date"] = json!(OLD);
    assert!(compared(&aside, &[&before]).zones.is_empty());
}

#[test]
fn several_surveys_make_a_trend_and_skip_what_they_did_not_see() {
    let years: Vec<Value> = [("2023-03-01", 2.0), ("2024-03-01", 2.5), ("2025-03-01", 3.0)]
        .iter()
        .map(|(date, ratio)| {
            survey(
                date,
                &[Patch {
                    ratio: *ratio,
                    ..patch(1.0, 3.0)
                }
                .zone("SA-1-1")],
                json!({}),
            )
        })
        .collect();
    let now = survey(
        NOW,
        &[Patch {
            ratio: 3.5,
            ..patch(1.05, 3.1)
        }
        .zone("SA-1-7")],
        json!({}),
    );
    let result = compared(&now, &years.iter().collect::<Vec<_>>());
    let trend = only(&result).trend.unwrap();
    assert!((trend.ratio_per_year - 0.5).abs() < 0.01, "{trend:?}");
    assert!(trend.ratio_per_year_uncertainty > 0.0);
    assert_eq!(only(&result).history.len(), 4);
    // 2025 did not look there: compared with 2024.
    let blind = survey("2025-03-01", &[], json!({"seen": map(36, 72)}));
    let result = compared(&now, &[&years[0], &years[1], &blind]);
    assert_eq!(only(&result).earlier_date.as_deref(), Some("2024-03-01"));
    // 2025 looked and saw nothing: it has come back, and is new.
    let dry = survey("2025-03-01", &[], json!({}));
    let result = compared(&now, &[&years[1], &dry]);
    assert_eq!(only(&result).change, Change::New);
    assert!(only(&result).because[0].contains("it has come back"), "{result:#?}");
    // What was gone before is not told again.
    assert!(
        compared(&survey(NOW, &[], json!({})), &[&years[1], &dry])
            .zones
            .is_empty()
    );
}

#[test]
fn new_insulation_ends_what_the_old_one_held() {
    let old = survey(OLD, &[patch(1.0, 3.0).zone("SA-1-1")], json!({}));
    let now = survey(NOW, &[patch(1.0, 3.0).zone("SA-1-1")], json!({"insulated_year": 2026}));
    let result = compared(&now, &[&old]);
    let found = changes(&result);
    assert_eq!(
        found,
        [
            (Change::New, Some("SA-1-1"), None),
            (Change::Gone, None, Some("SA-1-1"))
        ]
    );
}

#[test]
fn a_renamed_asset_is_asked_about_and_then_known() {
    let old = survey(OLD, &[patch(1.0, 3.0).zone("SA-1-1")], json!({}));
    let renamed = |further: Value| {
        let mut now = survey(NOW, &[patch(1.0, 3.0).zone("V-7-1")], further);
        now["zones"][0]["asset"] = json!("V-7");
        now["assets"][0]["asset"] = json!("V-7");
        now["frames"][0]["asset"] = json!("V-7");
        compared(&now, &[&old])
    };
    let unknown = renamed(json!({}));
    assert_eq!(unknown.missing_assets[0].perhaps.as_deref(), Some("V-7"));
    assert!(
        unknown.missing_assets[0]
            .told
            .contains("write SA-1 under former_tag in the row of V-7")
    );
    assert_eq!(
        (only(&unknown).change, only(&unknown).seen_before),
        (Change::New, Some(SeenBefore::No))
    );
    assert_eq!(unknown.new_assets, ["V-7"]);
    let known = renamed(json!({"former_tag": "SA-1"}));
    assert_eq!((only(&known).change, known.missing_assets.len()), (Change::Steady, 0));
    // Another size is another asset.
    let other = renamed(json!({"length_m": 6.0}));
    assert_eq!(other.missing_assets[0].perhaps, None);
}

#[test]
fn what_is_no_earlier_survey_is_refused() {
    let now = survey(NOW, &[], json!({}));
    let later = read(&survey("2027-01-01", &[], json!({})));
    let problem = compare(&read(&now), &[later], &Settings::default())
        .unwrap_err()
        .to_string();
    assert!(
        problem.contains("2027-01-01 is not earlier than this one of 2026-03-01"),
        "{problem}"
    );
    for (bytes, words) in [
        (&b"{}"[..], "is no findings.json"),
        (b"[", "is no findings.json"),
        (
            br#"{"schema":"x","survey":{"date":"2026-01-01"},"zones":[]}"#,
            "is of schema \"x\"",
        ),
        (
            br#"{"schema":"coldjacket.findings/1","survey":{"date":"soon"},"zones":[]}"#,
            "has the date \"soon\"",
        ),
    ] {
        let problem = parse(bytes, "old/findings.json").unwrap_err().to_string();
        assert!(
            problem.starts_with("old/findings.json: ") && problem.contains(words),
            "{problem}"
        );
        assert!(problem.contains("hint:"), "{problem}");
    }
}

#[test]
fn the_command_says_what_it_was_not_given() {
    let trial = Trial::new();
    let run = |earlier: &std::path::Path, out: &str| {
        said(
            coldjacket()
                .arg("compare")
                .arg(trial.survey())
                .arg("--earlier")
                .arg(earlier)
                .arg("--out")
                .arg(trial.root().join(out)),
        )
    };
    let empty = trial.root().join("empty");
    std::fs::create_dir(&empty).unwrap();
    let told = run(&empty, "c");
    assert_eq!((told.status, told.out.as_str()), (2, ""));
    assert!(
        told.err
            .contains("empty: holds no findings.json (accepted: the result folder"),
        "{}",
        told.err
    );
    assert!(!trial.root().join("c").exists());
    let told = run(&trial.root().join("nowhere"), "c");
    assert_eq!(told.status, 2);
    assert!(told.err.contains("nowhere: does not exist"), "{}", told.err);
    // A former tag leads to one asset.
    let heading = "asset,shape,outside_diameter_mm,length_mm,insulation,insulation_thickness_mm,jacket,service_temperature_c,\
                   setting,former_tag,datum_swapped_on";
    let row = |tag: &str, former: &str| format!("{tag},horizontal-cylinder,1500,3400,pir,100,pvc,-33,indoor,{former}");
    let rows = [
        row("SA-101", ","),
        row("B", "SA-101,"),
        row("C", "X,soon"),
        row("D", "X,2025-01-01"),
    ];
    let sheet = std::fs::read(trial.survey().join("assets.csv")).unwrap();
    trial.write("assets.csv", format!("{heading}\n{}\n", rows.join("\n")));
    let told = run(&trial.survey(), "c");
    assert_eq!((told.status, told.out.as_str()), (2, ""));
    for words in [
        "assets.csv row 3, column former_tag: \"SA-101\" is still the tag of row 2, which states no former one",
        "row 4, column datum_swapped_on: \"soon\" is not an ISO 8601 date",
        "row 5, column former_tag: \"X\" is the former tag of row 4 too",
    ] {
        assert!(told.err.contains(words), "{words}\n{}", told.err);
    }
    trial.write("assets.csv", sheet);
    // A survey folder as the earlier one is assessed; results that stand in the output folder stay.
    assert_eq!(trial.run(&["--no-pictures"]).status, 0);
    let told = run(&trial.survey(), "out");
    assert_eq!(told.status, 0, "{told:?}");
    assert!(told.err.contains("has the date of this one"), "{}", told.err);
    for name in ["findings.json", "findings.csv", "comparison.json", "comparison.csv"] {
        assert!(trial.out().join(name).is_file(), "{name}");
    }
    let result: Value = serde_json::from_slice(&std::fs::read(trial.out().join("comparison.json")).unwrap()).unwrap();
    assert_eq!(result["schema"], "coldjacket.comparison/1");
    assert_eq!(result["counts"]["steady"], result["zones"].as_array().unwrap().len());
}

fn patches() -> impl Strategy<Value = Vec<Patch>> {
    let one =
        (0.3..3.7, 0.0..12.0, 0.15..0.7, 0.15..0.6, 1.3..6.0).prop_map(|(axial_m, clock, length, arc, ratio)| Patch {
            axial_m,
            clock,
            size_m: (length, arc),
            ratio,
        });
    prop::collection::vec(one, 0..6)
}

fn named(patches: &[Patch], from_other_end: bool) -> Vec<Value> {
    let zone = |(index, patch): (usize, &Patch)| {
        let turned = Patch {
            axial_m: 4.0 - patch.axial_m,
            clock: (12.0 - patch.clock) % 12.0,
            ..patch.clone()
        };
        let patch = if from_other_end { &turned } else { patch };
        patch.zone(&format!("SA-1-{}", index + 1))
    };
    patches.iter().enumerate().map(zone).collect()
}

proptest! {
    #[test]
    fn the_order_of_rows_changes_nothing(old in patches(), now in patches(), turn in 0usize..6) {
        let rotated = |zones: Vec<Value>| {
            let mut zones = zones;
            let by = turn % zones.len().max(1);
            zones.rotate_left(by);
            zones.reverse();
            zones
        };
        let straight = compared(&survey(NOW, &named(&now, false), json!({})), &[&survey(OLD, &named(&old, false), json!({}))]);
        let mixed = compared(
            &survey(NOW, &rotated(named(&now, false)), json!({})),
            &[&survey(OLD, &rotated(named(&old, false)), json!({}))],
        );
        prop_assert_eq!(changes(&straight), changes(&mixed));
    }

    #[test]
    fn counting_from_the_other_end_changes_nothing_if_it_is_said(old in patches(), now in patches()) {
        let straight = compared(&survey(NOW, &named(&now, false), json!({})), &[&survey(OLD, &named(&old, false), json!({}))]);
        let swapped = compared(
            &survey(NOW, &named(&now, false), json!({"datum_swapped_on": "2025-10-01"})),
            &[&survey(OLD, &named(&old, true), json!({}))],
        );
        prop_assert_eq!(changes(&straight), changes(&swapped));
    }

    #[test]
    fn every_zone_stands_once(old in patches(), now in patches()) {
        let result = compared(&survey(NOW, &named(&now, false), json!({})), &[&survey(OLD, &named(&old, false), json!({}))]);
        let mut zones: Vec<&str> = result.zones.iter().filter_map(|row| row.zone.as_deref()).collect();
        zones.sort_unstable();
        let mut wanted: Vec<String> = (1..=now.len()).map(|n| format!("SA-1-{n}")).collect();
        wanted.sort_unstable();
        prop_assert_eq!(zones, wanted);
        for index in 1..=old.len() {
            let name = format!("SA-1-{index}");
            let is_named = |row: &Row| {
                row.earlier_zone.as_ref() == Some(&name)
                    || row.before.as_ref().is_some_and(|state| state.zones.contains(&name))
            };
            prop_assert!(result.zones.iter().any(is_named), "{} is lost: {:#?}", name, result);
        }
        // A survey against itself: everything is as it was.
        let same = compared(&survey(NOW, &named(&old, false), json!({})), &[&survey(OLD, &named(&old, false), json!({}))]);
        prop_assert!(same.zones.iter().all(|row| row.change == Change::Steady), "{:#?}", same);
    }
}
