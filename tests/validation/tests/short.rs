//! A study of a few seconds: every part runs, its scores are of the right kind, and what must never happen does not.
//!
//! So few frames prove no figure; `scripts/validate` does that. What is asserted is either certain (a dry vessel is never
//! called wet all over, a frame that cannot answer gives no finding) or far below what has been measured.

#![allow(clippy::unwrap_used)] // A test that cannot go on must fail there and then.

use coldjacket::assess::usability::Usability;
use coldjacket_validation::FrameScore;
use coldjacket_validation::figures::{self, Figures, by_row};
use coldjacket_validation::run::{How, run};
use coldjacket_validation::study::{clutter, detection, plots, whole};

const HOW: How = How {
    sheet_seed: 71,
    keep: None,
};

#[test]
fn plain_and_crowded_scenes() {
    let plain = run(&whole::plain(3000, 6), HOW).unwrap();
    let crowded = run(&clutter::crowded(2000, 4), HOW).unwrap();
    let figures = Figures::of(&plain);
    println!("{figures:?}");
    assert!(figures.found.all >= 6, "only {} patches to find", figures.found.all);
    assert!(figures.found.yes * 4 >= figures.found.all * 3, "{:?}", figures.found);
    assert!(figures.false_calls <= 3, "{} false calls", figures.false_calls);
    assert!(figures.outline.len() >= 5, "outlines {:?}", figures.outline);
    assert!(figures.usable_m2 > 10.0);
    // In crowded scenes most kinds of things stand somewhere, and each that is seen has an outcome.
    let things = crowded.iter().flat_map(|s| &s.things);
    let kinds: std::collections::BTreeSet<&str> = things.clone().map(|t| t.kind).collect();
    assert!(kinds.len() >= 8, "{kinds:?}");
    assert!(things.clone().any(|t| t.outcome.is_some()));
    let table = figures::table("figures", "t", by_row(&plain).into_iter().chain(by_row(&crowded)));
    assert_eq!(table.rows.len(), 2);
    let room = tempfile::tempdir().unwrap();
    table.write_csv(room.path()).unwrap();
    let path = room.path().join("outlines.png");
    plots::outlines(&[("plain", &plain)]).write(&path).unwrap();
    assert_eq!(image::open(&path).unwrap().width(), 900);
}

#[test]
fn equal_seeds_give_equal_scores() {
    let score = || format!("{:?}", run(&whole::plain(3000, 1), HOW).unwrap());
    assert_eq!(score(), score());
}

#[test]
fn dry_vessels_are_never_called_wet_all_over_and_soaked_ones_sometimes() {
    let scores = run(&whole::all_over(6000, 1), HOW).unwrap();
    let of = |wet: bool| scores.iter().filter(move |s| (s.overall_ratio > 1.0) == wet);
    assert!(of(false).count() >= 3);
    assert!(of(false).all(|s| !s.general), "a dry vessel was called wet all over");
    let soaked: Vec<&FrameScore> = of(true).filter(|s| s.overall_ratio >= 4.0).collect();
    assert!(soaked.iter().any(|s| s.general), "no soaked vessel was called");
}

#[test]
fn frames_that_cannot_answer_give_no_finding() {
    let scores = run(&whole::refusals(7000, 1), HOW).unwrap();
    assert_eq!(scores.len(), 9);
    for score in &scores {
        let what = format!("{}: {:?} {:?}", score.row, score.usability, score.reasons);
        assert_eq!(score.usability, Usability::Unusable, "{what}");
        assert!(!score.reasons.is_empty(), "{what}");
        let found = score.patches.iter().filter(|p| p.found.is_some()).count();
        assert_eq!((score.false_calls.len(), found, score.general), (0, 0, false), "{what}");
    }
}

#[test]
fn detection_study_draws_what_it_says() {
    let groups = detection::Group::all();
    let cases = detection::cases(4000, 2);
    assert_eq!(cases.len(), 2 * groups.len());
    for case in &cases {
        let group = groups.iter().find(|g| g.name() == case.row).unwrap();
        assert_eq!(case.scene.camera.noise_k, group.noise_k);
        for patch in &case.scene.patches {
            let side_px = 2.0 * patch.half_length_m * case.scene.camera.pixels_per_metre;
            assert!((side_px - group.side_px as f64).abs() < 1e-9);
            assert!(side_px / case.scene.camera.pixels_per_metre > 0.17);
        }
    }
}
