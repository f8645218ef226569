//! A camera four diameters off sees the face of a vessel larger than its limb: where the field of view is stated, places and
//! areas are those of the jacket. The simulated pictures follow each line of sight to the vessel by bisection.

use coldjacket_simulator::scene::{Patch, Scene};
use coldjacket_simulator::survey::{Given, SheetErrors, SurveyPlan, write_survey};
use serde_json::Value;

use super::command::{coldjacket, findings, said};
use super::sample::{list, number};

/// Where the middle of the patch lies and how large it is: m, degrees, m².
struct Place {
    axial_m: f64,
    angle_deg: f64,
    area_m2: f64,
}

const PATCH: (f64, f64, (f64, f64)) = (0.7, 25.0, (0.25, 0.2));

fn scene() -> Scene {
    let mut scene = Scene::plain_horizontal();
    let (axial_m, angle_deg, half_widths_m) = PATCH;
    scene.patches = vec![Patch::ellipse(axial_m, angle_deg, half_widths_m, 4.0)];
    scene.camera.aim_m = (0.5 * scene.vessel.length_m, 0.1);
    scene.camera.perspective_m = Some(4.0 * scene.vessel.diameter_m);
    scene
}

/// The one zone of the scene, and the truth of its patch and its asset's area in view.
fn surveyed(field_of_view: Given) -> (Place, Place, Value) {
    let room = tempfile::tempdir().unwrap();
    let (folder, results) = (room.path().join("survey"), room.path().join("results"));
    let mut plan = SurveyPlan::of_scenes(vec![scene()], SheetErrors::Exact, 5);
    plan.entries[0].sheet.field_of_view = field_of_view;
    write_survey(&folder, &plan).unwrap();
    let told = said(coldjacket().arg("survey").arg(&folder).arg("--out").arg(&results));
    assert_eq!(told.status, 0, "{}", told.err);
    let found = findings(&results);
    let zones: Vec<&Value> = list(&found["zones"]).iter().collect();
    assert_eq!(zones.len(), 1, "{zones:?}");
    let truth: Value = serde_json::from_slice(&std::fs::read(folder.join("truth.json")).unwrap()).unwrap();
    let patch = &truth["frames"][0]["patches"][0];
    let place = |of: &Value| Place {
        axial_m: number(&of["axial_m"]),
        angle_deg: number(&of["angle_deg"]),
        area_m2: number(&of["area_m2"]),
    };
    (place(zones[0]), place(patch), found["assets"][0].clone())
}

#[test]
fn places_and_areas_are_those_of_the_jacket_where_the_field_of_view_is_stated() {
    let (found, truth, _) = surveyed(Given::Stated);
    assert!(
        (found.axial_m - truth.axial_m).abs() < 0.04,
        "{} for {}",
        found.axial_m,
        truth.axial_m
    );
    assert!(
        (found.angle_deg - truth.angle_deg).abs() < 3.0,
        "{} for {}",
        found.angle_deg,
        truth.angle_deg
    );
    let share = found.area_m2 / truth.area_m2;
    assert!((0.85..1.15).contains(&share), "area {share} of the true one");
}

#[test]
fn without_it_they_reach_too_far_from_the_middle_of_the_picture() {
    let (found, truth, _) = surveyed(Given::Tabulated);
    assert!(
        found.axial_m < truth.axial_m - 0.05,
        "{} for {}",
        found.axial_m,
        truth.axial_m
    );
    assert!(
        found.area_m2 > 1.1 * truth.area_m2,
        "{} for {}",
        found.area_m2,
        truth.area_m2
    );
}

#[test]
fn a_field_of_view_that_cannot_be_is_told() {
    let room = tempfile::tempdir().unwrap();
    let (folder, results) = (room.path().join("survey"), room.path().join("results"));
    write_survey(&folder, &SurveyPlan::of_scenes(vec![scene()], SheetErrors::Exact, 5)).unwrap();
    let toml = folder.join("survey.toml");
    let stated = std::fs::read_to_string(&toml).unwrap();
    let (before, _) = stated.split_once("field_of_view_deg").unwrap();
    std::fs::write(&toml, format!("{before}field_of_view_deg = 150\n")).unwrap();
    let told = said(coldjacket().arg("survey").arg(&folder).arg("--out").arg(&results));
    assert_eq!(told.status, 0, "{}", told.err);
    let assumed = findings(&results)["frames"][0]["assumed"].to_string();
    assert!(assumed.contains("within 1.5 radii"), "{assumed}");
    assert!(assumed.contains("check field_of_view_deg"), "{assumed}");
}

#[test]
fn less_of_the_jacket_is_seen_than_from_far_away() {
    let seen_m2 = |given| {
        let (_, _, asset) = surveyed(given);
        number(&asset["usable_m2"])
    };
    let (near_m2, far_m2) = (seen_m2(Given::Stated), seen_m2(Given::Tabulated));
    assert!(near_m2 < far_m2, "{near_m2} and {far_m2} m²");
}
