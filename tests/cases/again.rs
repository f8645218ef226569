//! The same vessels again a year later: what has not changed is steady whatever the day, and what has grown is told.
//!
//! Simulated scenes with supports and nozzles, drawn by seed. In the second year air, humidity, camera, aim and noise are
//! others and the sheets err anew; in the third the patches have grown besides.

use std::path::Path;

use coldjacket::statistic::Proportion;
use coldjacket_simulator::draw::{Wish, random_scene};
use coldjacket_simulator::random::Prng;
use coldjacket_simulator::scene::{Posture, Scene};
use coldjacket_simulator::survey::{SheetErrors, SurveyPlan, write_survey};
use serde_json::Value;

use super::command::{coldjacket, said};
use super::sample::list;

/// Vessels drawn, each with one to three patches.
const SCENES: usize = 16;
const SEED: u64 = 77;
/// By how much patches grow in the third year, each way and in their ratio.
const GROWTH: (f64, f64) = (1.35, 1.5);

fn scenes() -> Vec<Scene> {
    let mut prng = Prng::new(SEED);
    let one = |k: usize| Wish {
        patches: Some(1 + k % 3),
        may_be_partial: false,
        ..Wish::default()
    };
    (0..SCENES).map(|k| random_scene(&mut prng, &one(k))).collect()
}

/// Another day: other air within 5 K, another aim and another scale.
fn another_day(scene: &Scene, prng: &mut Prng) -> Scene {
    let mut scene = scene.clone();
    let warmer_k = prng.between(-5.0, 5.0);
    scene.conditions.air_c += warmer_k;
    scene.conditions.reflected_c += warmer_k;
    scene.background.wall_c += warmer_k;
    scene.conditions.relative_humidity_pct = prng.between(35.0, 55.0);
    scene.camera.aim_m.0 += prng.between(-0.04, 0.04);
    scene.camera.pixels_per_metre *= prng.between(0.94, 1.0);
    scene
}

fn survey(folder: &Path, date: &str, scenes: Vec<Scene>, seed: u64) {
    let level: Vec<bool> = scenes
        .iter()
        .map(|s| s.vessel.posture == Posture::HorizontalCylinder)
        .collect();
    let mut plan = SurveyPlan::of_scenes(scenes, SheetErrors::Drawn(seed), 100 * seed);
    plan.date = date.to_owned();
    for (entry, is_level) in plan.entries.iter_mut().zip(level) {
        let (column, faces) = if is_level {
            ("facing_clock", "3")
        } else {
            ("facing_bearing_deg", "180")
        };
        entry.sheet.frame_cells.push((column.to_owned(), faces.to_owned()));
    }
    write_survey(folder, &plan).unwrap();
}

fn compared(present: &Path, earlier: &Path, out: &Path) -> Value {
    let told = said(
        coldjacket()
            .arg("compare")
            .arg(present)
            .arg("--earlier")
            .arg(earlier)
            .arg("--out")
            .arg(out),
    );
    assert!(told.status <= 1, "{told:?}");
    serde_json::from_slice(&std::fs::read(out.join("comparison.json")).unwrap()).unwrap()
}

/// Rows with a zone on the list of both surveys: how many have each change.
fn counts(found: &Value) -> (u32, u32, u32) {
    let (mut grown, mut steady, mut shrunk) = (0, 0, 0);
    for row in list(&found["zones"]) {
        let is_aside = row["because"].to_string().contains("set aside");
        if row["before"].is_null() || row["now"].is_null() || is_aside {
            continue;
        }
        match row["change"].as_str() {
            Some("grown") => grown += 1,
            Some("steady") => steady += 1,
            Some("shrunk") => shrunk += 1,
            _ => {}
        }
        if row["change"] != "steady" {
            println!("{} {} {}", row["asset"], row["change"], row["because"]);
        }
    }
    println!("grown {grown}, steady {steady}, shrunk {shrunk}; {}", found["counts"]);
    (grown, steady, shrunk)
}

#[test]
fn what_has_not_changed_is_steady_and_what_has_grown_is_told() {
    let room = tempfile::tempdir().unwrap();
    let at = |name: &str| room.path().join(name);
    let first = scenes();
    let mut prng = Prng::new(SEED + 1);
    let second: Vec<Scene> = first.iter().map(|scene| another_day(scene, &mut prng)).collect();
    let mut third: Vec<Scene> = first.iter().map(|scene| another_day(scene, &mut prng)).collect();
    for patch in third.iter_mut().flat_map(|scene| &mut scene.patches) {
        patch.half_length_m *= GROWTH.0;
        patch.half_arc_m *= GROWTH.0;
        patch.ratio = 1.0 + GROWTH.1 * (patch.ratio - 1.0);
    }
    survey(&at("first"), "2024-03-03", first, 5);
    survey(&at("second"), "2025-03-03", second, 6);
    survey(&at("third"), "2026-03-03", third, 7);

    let (grown, steady, shrunk) = counts(&compared(&at("second"), &at("first"), &at("c2")));
    let all = grown + steady + shrunk;
    assert!(all >= 20, "only {all} zones were found twice");
    // Ratio and area are each held to 95 %: one call in ten may be wrong, and what was seen must not contradict that.
    let wrong = Proportion::new(grown + shrunk, all).unwrap().clopper_pearson(0.99);
    assert!(
        wrong.low <= 0.10,
        "{grown} grown and {shrunk} shrunk of {all} that are steady"
    );

    let (grown, steady, shrunk) = counts(&compared(&at("third"), &at("first"), &at("c3")));
    let all = grown + steady + shrunk;
    assert!(all >= 20, "only {all} zones were found twice");
    // 1.8 times the area and half as much again beyond dry is beyond what the uncertainty covers nearly always.
    assert!(
        shrunk == 0 && 10 * grown >= 9 * all,
        "{grown} grown, {shrunk} shrunk of {all} that have grown"
    );
}
