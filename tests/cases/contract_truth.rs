//! The sample survey against the truth stored beside its images: what is refused, found, placed and left alone.

use std::collections::BTreeMap;

use serde_json::Value;

use super::sample::{list, number, sample, text, truth};

/// A patch of at least this contrast must be found, K.
const LEAST_CONTRAST_K: f64 = 1.0;
/// How far from the truth a zone may stand along the axis, m, and round it, degrees.
const PLACE: (f64, f64) = (0.15, 10.0);

#[test]
fn a_bright_jacket_is_refused() {
    let frame = sample()
        .list("frames")
        .iter()
        .find(|frame| frame["asset"] == "AC-701")
        .unwrap();
    assert_eq!(frame["usability"], "unusable");
    assert!(text(&frame["reasons"][0]).contains("bright"), "{}", frame["reasons"]);
    for zone in sample().list("zones").iter().chain(sample().list("set_aside")) {
        assert_ne!(zone["asset"], "AC-701", "a zone is called on a mirror");
    }
}

#[test]
fn what_sun_and_wind_spoil_is_refused() {
    let frame = sample()
        .list("frames")
        .iter()
        .find(|frame| frame["file"] == "images/oa-801_gale.tif")
        .unwrap();
    assert_eq!(frame["usability"], "unusable");
    let reasons = frame["reasons"].to_string();
    assert!(reasons.contains("sun") && reasons.contains("wind"), "{reasons}");
}

/// Frames that are meant to be refused.
const REFUSED: [&str; 3] = [
    "images/va-102_broken.tif",
    "images/ac-701.tif",
    "images/oa-801_gale.tif",
];

/// Frames of the truth that are meant to be used.
fn answerable() -> impl Iterator<Item = &'static Value> {
    truth().iter().filter(|frame| !REFUSED.contains(&text(&frame["file"])))
}

#[test]
fn every_frame_that_can_answer_is_used() {
    let unused: Vec<String> = answerable()
        .filter_map(|known| {
            sample()
                .list("frames")
                .iter()
                .find(|frame| frame["file"] == known["file"])
        })
        .filter(|frame| frame["usability"] == "unusable")
        .map(|frame| format!("{}: {}", frame["file"], frame["reasons"]))
        .collect();
    assert_eq!(unused, [""; 0]);
}

/// Assets by whether their insulation is wet all over.
fn wet_all_over() -> BTreeMap<&'static str, bool> {
    answerable()
        .map(|frame| {
            (
                text(&frame["asset"]),
                number(&frame["overall_conductivity_ratio"]) > 1.5,
            )
        })
        .collect()
}

#[test]
fn an_asset_wet_all_over_is_one_general_zone_and_no_other_is() {
    for (asset, wet) in wet_all_over() {
        let general: Vec<&Value> = sample()
            .list("zones")
            .iter()
            .filter(|zone| zone["asset"] == asset && zone["extent"] == "general")
            .collect();
        assert_eq!(general.len(), usize::from(wet), "{asset}: {general:?}");
    }
    let general = sample()
        .list("zones")
        .iter()
        .find(|zone| zone["asset"] == "SD-401" && zone["extent"] == "general");
    let interval = &general.unwrap()["conductivity_ratio_interval"];
    let known = number(&truth().iter().find(|frame| frame["asset"] == "SD-401").unwrap()["overall_conductivity_ratio"]);
    assert!(
        number(&interval[0]) <= known && known <= number(&interval[1]),
        "{known} is not in {interval}"
    );
}

/// A patch that a frame shows with enough contrast.
struct Known {
    asset: &'static str,
    file: &'static str,
    axial_m: f64,
    angle_deg: f64,
    height_m: f64,
}

impl Known {
    /// Whether a zone stands where the patch is, told from the same frame's facing line.
    fn is(&self, zone: &Value) -> bool {
        let seen = list(&zone["sightings"])
            .first()
            .is_some_and(|sighting| sighting["file"] == self.file);
        let along = (number(&zone["axial_m"]) - self.axial_m).abs() <= PLACE.0;
        let round = match zone.get("height_m").and_then(Value::as_f64) {
            Some(height_m) => (height_m - self.height_m).abs() <= PLACE.0,
            None => (number(&zone["angle_deg"]) - self.angle_deg).abs() <= PLACE.1,
        };
        zone["asset"] == self.asset && zone["extent"] == "local" && seen && along && round
    }
}

/// Every sight of a patch of at least 1 K, one group a patch.
fn known_patches() -> Vec<Vec<Known>> {
    let mut groups: BTreeMap<(&str, i64), Vec<Known>> = BTreeMap::new();
    for frame in answerable() {
        for patch in list(&frame["patches"]) {
            if number(&patch["contrast_mean_k"]).abs() < LEAST_CONTRAST_K || number(&patch["visible_area_m2"]) < 0.01 {
                continue;
            }
            let [axial_m, angle_deg, height_m] = ["axial_m", "angle_deg", "height_m"].map(|key| number(&patch[key]));
            let asset = text(&frame["asset"]);
            let known = Known {
                asset,
                file: text(&frame["file"]),
                axial_m,
                angle_deg,
                height_m,
            };
            groups
                .entry((asset, (axial_m * 1000.0) as i64))
                .or_default()
                .push(known);
        }
    }
    groups.into_values().collect()
}

#[test]
fn every_patch_of_one_kelvin_is_found_once_in_its_place() {
    let patches = known_patches();
    assert!(patches.len() >= 9, "{}", patches.len());
    let mut missed = Vec::new();
    for sights in &patches {
        let zones: Vec<&Value> = sample()
            .list("zones")
            .iter()
            .filter(|zone| sights.iter().any(|sight| sight.is(zone)))
            .collect();
        if zones.len() != 1 {
            let first = &sights[0];
            missed.push(format!(
                "{} at {} m, {}°: {} zones",
                first.asset,
                first.axial_m,
                first.angle_deg,
                zones.len()
            ));
        }
    }
    assert_eq!(missed, [""; 0], "of {} patches", patches.len());
}

#[test]
fn nothing_else_is_called() {
    let patches = known_patches();
    let wet = wet_all_over();
    let called: Vec<String> = sample()
        .list("zones")
        .iter()
        .filter(|zone| match text(&zone["extent"]) {
            "general" => !wet.get(text(&zone["asset"])).is_some_and(|wet| *wet),
            _ => !patches.iter().flatten().any(|sight| sight.is(zone)),
        })
        .map(|zone| {
            format!(
                "{} {} {} m {}° {} K",
                zone["id"], zone["extent"], zone["axial_m"], zone["angle_deg"], zone["contrast_k"]
            )
        })
        .collect();
    assert_eq!(called, [""; 0], "called where the insulation is sound");
}

#[test]
fn sound_assets_have_no_zone() {
    let sound: Vec<&str> = wet_all_over()
        .into_iter()
        .filter(|(asset, wet)| {
            let patches = truth()
                .iter()
                .filter(|frame| frame["asset"] == *asset)
                .map(|frame| list(&frame["patches"]).len());
            !wet && patches.sum::<usize>() == 0
        })
        .map(|(asset, _)| asset)
        .collect();
    assert_eq!(sound, ["IC-301", "SL-502"]);
    for asset in sound {
        let called: Vec<&Value> = sample()
            .list("zones")
            .iter()
            .filter(|zone| zone["asset"] == asset)
            .collect();
        assert!(called.is_empty(), "{asset}: {called:?}");
    }
}
