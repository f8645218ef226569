//! findings.json key by key: every name that others rely on is there, with its type, unit range and words.

use serde_json::Value;

use super::sample::{list, number, sample, text};

/// What may stand under a key.
#[derive(Debug, Clone, Copy)]
enum Kind {
    /// Text that is not empty.
    Text,
    /// One of these words.
    Word(&'static [&'static str]),
    /// Text, or null where nobody stated it.
    MaybeText,
    /// A number within this range.
    Within(f64, f64),
    /// A number within this range, or null.
    MaybeWithin(f64, f64),
    /// Yes or no.
    Flag,
    /// A list of texts.
    Texts,
    /// A list of at least so many x y pairs.
    Points(usize),
    /// So many numbers.
    Numbers(usize),
    /// An object.
    Object,
}

impl Kind {
    fn fits(self, value: &Value) -> bool {
        let all = |values: &Value, fits: &dyn Fn(&Value) -> bool| values.as_array().is_some_and(|v| v.iter().all(fits));
        match self {
            Self::Text => value.as_str().is_some_and(|text| !text.is_empty()),
            Self::Word(words) => value.as_str().is_some_and(|word| words.contains(&word)),
            Self::MaybeText => value.is_null() || Self::Text.fits(value),
            Self::Within(low, high) => value.as_f64().is_some_and(|number| (low..=high).contains(&number)),
            Self::MaybeWithin(low, high) => value.is_null() || Self::Within(low, high).fits(value),
            Self::Flag => value.is_boolean(),
            Self::Texts => all(value, &|text| Self::Text.fits(text)),
            Self::Numbers(count) => value.as_array().is_some_and(|v| v.len() == count) && all(value, &Value::is_number),
            Self::Points(least) => {
                value.as_array().is_some_and(|v| v.len() >= least) && all(value, &|p| Self::Numbers(2).fits(p))
            }
            Self::Object => value.is_object(),
        }
    }
}

#[track_caller]
fn check(what: &str, value: &Value, keys: &[(&str, Kind)]) {
    let object = value.as_object().unwrap_or_else(|| panic!("{what} is no object"));
    for (key, kind) in keys {
        let found = object.get(*key).unwrap_or_else(|| panic!("{what}: {key} is missing"));
        assert!(kind.fits(found), "{what}: {key} is {found}, not {kind:?}");
    }
}

/// Temperatures, °C, that a jacket or its dew point can have.
const SURFACE_C: Kind = Kind::Within(-80.0, 80.0);
const AREA_M2: Kind = Kind::Within(0.0, 1000.0);

#[test]
fn the_head() {
    let found = &sample().found;
    check(
        "findings.json",
        found,
        &[
            ("schema", Kind::Word(&["coldjacket.findings/1"])),
            ("made_by", Kind::Object),
            ("survey", Kind::Object),
        ],
    );
    check(
        "made_by",
        &found["made_by"],
        &[
            ("program", Kind::Word(&["coldjacket"])),
            ("version", Kind::Word(&[env!("CARGO_PKG_VERSION")])),
            ("settings", Kind::Object),
        ],
    );
    check(
        "survey",
        &found["survey"],
        &[
            ("title", Kind::Text),
            ("plant", Kind::Text),
            ("date", Kind::Word(&["2026-03-03"])),
            ("inspector", Kind::Text),
        ],
    );
    for room in ["locate", "detect", "usability", "assess", "uncertainty"] {
        let settings = found["made_by"]["settings"][room].as_object().unwrap();
        assert!(!settings.is_empty(), "no threshold of {room} is told");
    }
    assert_eq!(found["made_by"]["settings"]["uncertainty"]["camera_accuracy_k"], 2.0);
}

#[test]
fn every_frame() {
    let (mut whole, mut refused) = (0, 0);
    for frame in sample().list("frames") {
        let what = text(&frame["file"]);
        check(
            what,
            frame,
            &[
                ("file", Kind::Text),
                ("asset", Kind::Text),
                ("sha256", Kind::Text),
                ("usability", Kind::Word(&["good", "limited", "unusable"])),
                ("reasons", Kind::Texts),
                ("assumed", Kind::Texts),
                ("vessel_outline_px", Kind::Points(0)),
            ],
        );
        assert_eq!(text(&frame["sha256"]).len(), 64, "{what}");
        let usable = frame["usability"] != "unusable";
        assert!(
            usable || !list(&frame["reasons"]).is_empty(),
            "{what}: no reason is given"
        );
        assert!(
            frame["usability"] != "limited" || !list(&frame["reasons"]).is_empty(),
            "{what}: limited, but not why"
        );
        let measured = [
            ("width", Kind::Within(24.0, 10_000.0)),
            ("height", Kind::Within(24.0, 10_000.0)),
            ("vessel_outline_px", Kind::Points(4)),
            ("pixels_per_metre", Kind::Within(1.0, 10_000.0)),
            ("smallest_zone_mm", Kind::Within(1.0, 2000.0)),
            ("noise_k", Kind::Within(0.001, 1.0)),
            ("edge_width_px", Kind::MaybeWithin(0.5, 24.0)),
            ("sound_surface_c", SURFACE_C),
            ("expected_sound_surface_c", SURFACE_C),
            ("dew_point_c", SURFACE_C),
            ("viewed_m2", AREA_M2),
            ("usable_m2", AREA_M2),
        ];
        if usable {
            check(what, frame, &measured);
            assert!(
                number(&frame["usable_m2"]) <= number(&frame["viewed_m2"]) + 1e-9,
                "{what}"
            );
            whole += 1;
        } else {
            // A value that is not known is null, and its key is there all the same.
            for (key, _) in measured {
                assert!(frame.get(key).is_some(), "{what}: {key} is missing");
            }
            refused += 1;
        }
    }
    assert!(whole >= 10 && refused >= 2, "{whole} used, {refused} refused");
}

fn check_zone(zone: &Value, frames: &[Value]) {
    let what = text(&zone["id"]);
    check(
        what,
        zone,
        &[
            ("asset", Kind::Text),
            ("departure", Kind::Word(&["colder", "warmer"])),
            ("extent", Kind::Word(&["local", "general"])),
            ("axial_m", Kind::Within(-5.0, 100.0)),
            ("angle_deg", Kind::Within(-180.0, 180.0)),
            ("length_m", Kind::Within(0.001, 100.0)),
            ("arc_m", Kind::Within(0.001, 100.0)),
            ("area_m2", Kind::Within(0.0001, 1000.0)),
            ("surface_c", SURFACE_C),
            ("extreme_c", SURFACE_C),
            ("contrast_k", Kind::Within(-80.0, 80.0)),
            ("contrast_to_noise", Kind::Within(0.0, 1e6)),
            ("uncertainty_k", Kind::Within(0.0001, 40.0)),
            ("conductivity_w_mk", Kind::Within(0.0, 100.0)),
            ("conductivity_ratio", Kind::Within(0.0, 1000.0)),
            ("conductivity_ratio_interval", Kind::Numbers(2)),
            ("moisture_volume_fraction", Kind::MaybeWithin(0.0, 1.0)),
            ("heat_gain_w", Kind::Within(-1e6, 1e6)),
            ("extra_heat_gain_w", Kind::Within(-1e6, 1e6)),
            ("below_dew_point", Kind::Flag),
            ("below_freezing", Kind::Flag),
            ("at_least", Kind::Flag),
            (
                "likely_cause",
                Kind::Word(&[
                    "wet-insulation",
                    "thin-or-missing-insulation",
                    "penetration",
                    "jacket-opening",
                    "reflection",
                    "sun-warmed",
                    "liquid-level",
                    "undetermined",
                ]),
            ),
            ("because", Kind::Texts),
            (
                "action",
                Kind::Word(&["open-and-inspect", "reseal-jacket", "survey-again", "watch", "none"]),
            ),
            ("priority", Kind::Within(0.0, 100.0)),
            ("priority_parts", Kind::Object),
        ],
    );
    assert!(!list(&zone["because"]).is_empty(), "{what}: no reason is given");
    check_budget(what, zone);
    let place = match (text(&zone["asset"]), &zone["clock"], &zone["bearing_deg"]) {
        ("CW-601", _, _) => ("height_m", Kind::Within(0.0, 2.6)),
        ("VA-102" | "LR-201" | "IC-301", _, _) => ("bearing_deg", Kind::Within(0.0, 360.0)),
        _ => ("clock", Kind::Within(0.0, 12.0)),
    };
    check(what, zone, &[place]);
    assert!(!list(&zone["sightings"]).is_empty(), "{what}: seen nowhere");
    for sighting in list(&zone["sightings"]) {
        check_sighting(what, sighting, frames);
    }
}

/// The parts of the budget, standard uncertainties of ln ratio, make the interval: ln(high/ratio) = 1.96 √Σ part².
fn check_budget(what: &str, zone: &Value) {
    let parts = list(&zone["ratio_uncertainty_parts"]);
    assert!(parts.len() >= 5, "{what}: {} parts", parts.len());
    let square: f64 = parts
        .iter()
        .map(|part| {
            assert!(!text(&part["quantity"]).is_empty(), "{what}: a part has no name");
            number(&part["contribution"]).powi(2)
        })
        .sum();
    let (ratio, high) = (
        number(&zone["conductivity_ratio"]),
        number(&zone["conductivity_ratio_interval"][1]),
    );
    // Ratios are written to three decimals; at the floor of the ratio the interval is widened beyond its parts.
    if ratio > 0.1 {
        let reach = (high / ratio).ln();
        assert!(
            (reach - 1.96 * square.sqrt()).abs() < 0.01 + 0.01 * reach,
            "{what}: {reach}"
        );
    }
}

fn check_sighting(what: &str, sighting: &Value, frames: &[Value]) {
    check(
        what,
        sighting,
        &[
            ("file", Kind::Text),
            ("centroid_px", Kind::Numbers(2)),
            ("box_px", Kind::Numbers(4)),
            ("outline_px", Kind::Points(3)),
            // Three by three pixels is the least that is called.
            ("pixels", Kind::Within(9.0, 1e8)),
        ],
    );
    let frame = frames
        .iter()
        .find(|frame| frame["file"] == sighting["file"])
        .expect("seen in a frame of the survey");
    assert!(
        frame["usability"] != "unusable",
        "{what}: seen in a frame that cannot be used"
    );
    // Pixel centres are whole numbers, so the picture's own edges lie half a pixel outside the first and last.
    let (right, bottom) = (number(&frame["width"]) - 0.5, number(&frame["height"]) - 0.5);
    let inside = |x: f64, y: f64| (-0.5..=right).contains(&x) && (-0.5..=bottom).contains(&y);
    let [x, y, width, height] = [0, 1, 2, 3].map(|at| number(&sighting["box_px"][at]));
    assert!(
        inside(x, y) && inside(x + width, y + height),
        "{what}: box outside the picture: {}",
        sighting["box_px"]
    );
    for point in list(&sighting["outline_px"]) {
        let (at_x, at_y) = (number(&point[0]), number(&point[1]));
        assert!(inside(at_x, at_y), "{what}: outline outside the picture at {point}");
        assert!(
            at_x >= x - 1.0 && at_x <= x + width + 1.0 && at_y >= y - 1.0 && at_y <= y + height + 1.0,
            "{what}: outline outside its box at {point}"
        );
    }
    let centroid = [number(&sighting["centroid_px"][0]), number(&sighting["centroid_px"][1])];
    assert!(
        (x - 0.5..=x + width + 0.5).contains(&centroid[0]) && (y - 0.5..=y + height + 0.5).contains(&centroid[1]),
        "{what}: centroid {centroid:?} outside its box"
    );
}

#[test]
fn every_zone() {
    let sample = sample();
    let frames = sample.list("frames");
    for zone in sample.list("zones") {
        check_zone(zone, frames);
        check(text(&zone["id"]), zone, &[("rank", Kind::Within(1.0, 1000.0))]);
    }
    for zone in sample.list("set_aside") {
        check_zone(zone, frames);
    }
    assert!(sample.list("zones").len() >= 5 && !sample.list("set_aside").is_empty());
}

/// Cells of a map that were usefully seen, and all of them.
fn cells(map: &Value) -> (usize, usize) {
    let (mut useful, mut all) = (0, 0);
    for row in list(&map["rows"]) {
        let mut count = String::new();
        for letter in text(row).chars() {
            if letter.is_ascii_digit() {
                count.push(letter);
                continue;
            }
            let run: usize = count.parse().unwrap();
            count.clear();
            all += run;
            useful += if letter == 'u' { run } else { 0 };
        }
    }
    assert_eq!(all, number(&map["along"]) as usize * list(&map["rows"]).len());
    (useful, all)
}

#[test]
fn every_asset() {
    let sample = sample();
    for asset in sample.list("assets") {
        let what = text(&asset["asset"]);
        check(
            what,
            asset,
            &[
                ("total_m2", Kind::Within(0.1, 1000.0)),
                ("viewed_m2", AREA_M2),
                ("usable_m2", AREA_M2),
                ("zone_m2", AREA_M2),
                ("extra_heat_gain_w", Kind::Within(-1e6, 1e6)),
                ("worst_priority", Kind::Within(0.0, 100.0)),
                (
                    "shape",
                    Kind::Word(&["horizontal-cylinder", "vertical-cylinder", "flat"]),
                ),
                ("outside_diameter_m", Kind::MaybeWithin(0.02, 30.0)),
                ("length_m", Kind::Within(0.05, 200.0)),
                ("height_m", Kind::MaybeWithin(0.05, 200.0)),
                ("insulated_year", Kind::MaybeWithin(1900.0, 2200.0)),
                ("former_tag", Kind::MaybeText),
                ("datum_swapped_on", Kind::MaybeText),
                ("seen", Kind::Object),
            ],
        );
        let map = &asset["seen"];
        check(
            what,
            map,
            &[
                ("along", Kind::Within(1.0, 4000.0)),
                ("round", Kind::Word(&["asset", "facing", "wall"])),
                ("rows", Kind::Texts),
            ],
        );
        let (useful, all) = cells(map);
        let [total, usable] = ["total_m2", "usable_m2"].map(|key| number(&asset[key]));
        assert!(
            (total * useful as f64 / all as f64 - usable).abs() < 0.01,
            "{what}: the map tells {useful} of {all} cells, and {usable} of {total} m² are usefully seen"
        );
        let [total, viewed, usable] = ["total_m2", "viewed_m2", "usable_m2"].map(|key| number(&asset[key]));
        assert!(
            usable <= viewed + 1e-9 && viewed <= total + 1e-9,
            "{what}: {usable} of {viewed} of {total} m²"
        );
    }
}

#[test]
fn absences_are_told() {
    let trial = super::command::Trial::new();
    trial
        .assets(&["SA-101,horizontal-cylinder,1500,3400,pir,99.4,,pvc,,-33.5,indoor"])
        .frames(&["images/a.tif,SA-101,centikelvin,21.23,,,,,"]);
    assert_eq!(trial.run(&["--no-pictures"]).status, 0);
    let found = super::command::findings(&trial.out());
    check(
        "frame",
        &found["frames"][0],
        &[
            ("dew_point_c", Kind::MaybeWithin(0.0, -1.0)),
            ("captured_at", Kind::MaybeText),
        ],
    );
    let assumed = found["frames"][0]["assumed"].to_string();
    for what in [
        "relative humidity",
        "wind",
        "reflected temperature",
        "distance",
        "emissivity",
        "conductivity",
    ] {
        assert!(
            assumed.contains(&format!("{what} not stated")),
            "{what} is not in {assumed}"
        );
    }
}
