//! Openings and wall readings: what they say, and every mistake told so that it can be mended.

use serde_json::Value;

use super::command::{Said, Trial};
use super::sample::{list, number};

const ASSET: &str = "SA-101,horizontal-cylinder,1500,3400,pir,99.4,0.02223,pvc,0.904,-33.5,indoor";
const OPENINGS: &str = "zone,asset,axial_m,clock,opened_on,moisture,corrosion,resealed\n";
const WALL: &str = "asset,point,measured_on,thickness_mm,nominal_thickness_mm,required_thickness_mm\n";

fn insulated_in(trial: &Trial, year: &str) {
    let heading = "asset,shape,outside_diameter_mm,length_mm,insulation,insulation_thickness_mm,\
                   insulation_conductivity_w_mk,jacket,emissivity,service_temperature_c,setting,insulated_year";
    trial.write("assets.csv", format!("{heading}\n{ASSET},{year}\n"));
}

#[track_caller]
fn follow(trial: &Trial, further: &[&str]) -> Said {
    trial.run_command("followup", further)
}

fn result(trial: &Trial) -> Value {
    serde_json::from_slice(&std::fs::read(trial.out().join("followup.json")).unwrap()).unwrap()
}

/// What is said of sheets that must be refused: status 2, nothing on standard output, nothing written.
#[track_caller]
fn refused(trial: &Trial, words: &[&str]) {
    let told = follow(trial, &[]);
    assert_eq!((told.status, told.out.as_str()), (2, ""), "{told:?}");
    assert!(!trial.out().exists(), "something was written");
    for words in words {
        assert!(told.err.contains(words), "{words}\n{}", told.err);
    }
}

#[test]
fn mistakes_in_openings_are_told_all_at_once() {
    let trial = Trial::new();
    insulated_in(&trial, "2019");
    trial.write(
        "openings.csv",
        format!(
            "{OPENINGS}SA-101-1,,,,2026-04-01,wet,,yes\nSA-101-1,,,,2026-05-01,dry,,yes\n,SA-101,1.0,3,2018-04-01,wet,,yes\n\
             ,SA-101,,3,2026-04-01,moist,rust,perhaps\n,,,,2026-04-01,dry,,yes\n,SA-101,1.0,,2026-04-01,dry,,yes\n"
        ),
    );
    refused(
        &trial,
        &[
            "openings.csv row 3, column zone: \"SA-101-1\" is opened already in row 2",
            "give a later opening by asset, axial_m and clock",
            "row 4, column opened_on: \"2018-04-01\" lies before the insulation of SA-101 was put on, 2019",
            "row 5, column axial_m: is blank, but an opening that names no zone needs it",
            "row 5, column moisture: \"moist\" is not a word for moisture (accepted: dry, damp, wet, frozen)",
            "row 5, column corrosion: \"rust\" is not a word for corrosion (accepted: none, light, pitting, heavy)",
            "row 5, column resealed: \"perhaps\" is not an answer",
            "row 6, column zone: is blank, and no asset with a place is given either",
            "row 7, column clock: is blank",
        ],
    );
}

#[test]
fn zones_of_another_survey_and_dates_before_it_are_refused() {
    let trial = Trial::new();
    trial.write(
        "openings.csv",
        format!("{OPENINGS}SA-101-77,,,,2026-04-01,wet,,yes\nVA-9-1,,,,2026-04-01,wet,,yes\nSA-101-1,,,,2026-02-01,wet,,yes\n"),
    );
    let words = [
        "openings.csv row 2, column zone: \"SA-101-77\" is not a zone of this survey (accepted: SA-101-1, ",
        "openings.csv row 3, column zone: \"VA-9-1\" is not a zone of this survey",
        "openings.csv row 4, column zone: \"SA-101-1\" was opened on 2026-02-01, before the survey that named it (accepted: \
         2026-03-03 or later)",
    ];
    refused(&trial, &words);
    // The record refuses them too; findings alone do not hang on them.
    let told = super::record::record(&trial, &["--no-pdf"]);
    assert_eq!(told.status, 2, "{told:?}");
    assert!(words.iter().all(|words| told.err.contains(words)), "{}", told.err);
    assert_eq!(trial.run(&["--no-pictures"]).status, 0);
}

#[test]
fn inches_in_a_column_of_millimetres_are_asked_about() {
    let trial = Trial::new();
    // 0.625 in of a wall of 15.9 mm could be millimetres of a foil; 0.352 could not.
    trial.write(
        "wall.csv",
        format!(
            "{WALL}SA-101,1,2020-04-01,0.625,15.9,12\nSA-101,2,2020-04-01,9.5,,\nSA-101,2,2026-04-01,0.52,,\n\
             SA-101,3,2020-04-01,0.352,9.5,8\nSA-101,4,2020-04-01,9.5,9.5,8\nSA-101,4,2020-04-01,9.4,9.5,8\n"
        ),
    );
    refused(
        &trial,
        &[
            "wall.csv row 2, column thickness_mm: \"0.625\" is 25 times thinner than nominal_thickness_mm, 15.9 mm",
            "is it in inches? It would then be 15.875 mm",
            "wall.csv row 4, column thickness_mm: \"0.52\" is 18 times thinner than the other readings of the point, 9.5 mm",
            "wall.csv row 5, column thickness_mm: \"0.352\" is not possible (accepted: 0.5 to 150 mm)",
            "looks like inches: 0.352 in would be 8.9408",
            "wall.csv row 7, column point: \"4\" has a reading of the same date already in row 6",
        ],
    );
}

#[test]
fn design_columns_must_be_whole_and_thin_walled() {
    let trial = Trial::new();
    trial.write(
        "wall.csv",
        "asset,point,measured_on,thickness_mm,design_pressure_kpa,allowable_stress_mpa,joint_efficiency,inside_diameter_mm,part\n\
         SA-101,1,2026-04-01,9.5,1724,138,,1219,\nSA-101,2,2026-04-01,9.5,1724,138,85,1219,shell\n\
         SA-101,3,2026-04-01,9.5,19000,45,0.85,1219,shell\nSA-101,4,2026-04-01,9.5,1724,138,0.85,1219,cone\n",
    );
    refused(
        &trial,
        &[
            "row 2, column joint_efficiency: is blank, but a required thickness that is to be derived needs it",
            "row 3, column joint_efficiency: \"85\" is not possible (accepted: 0.35 to 1)",
            "looks like per cent: 85 % would be 0.85",
            "row 4, column design_pressure_kpa: \"19000\" is too high for the formula of a thin wall",
            "row 5, column part: \"cone\" is not a part of a vessel (accepted: shell, ellipsoidal-head",
        ],
    );
}

#[test]
fn every_kind_of_wall_is_told_in_the_trades_way() {
    let trial = Trial::new();
    trial.write(
        "wall.csv",
        format!(
            "{WALL}SA-101,thin,2020-04-01,9.0,9.5,8.3\nSA-101,thin,2026-04-01,8.2,9.5,8.3\n\
             SA-101,steady,2020-04-01,9.5,9.5,8.3\nSA-101,steady,2026-04-01,9.5,9.5,8.3\n\
             SA-101,grown,2020-04-01,9.0,9.5,8.3\nSA-101,grown,2026-04-01,9.4,9.5,8.3\n\
             SA-101,above,2020-04-01,10.1,9.5,8.3\nSA-101,above,2026-04-01,10.0,9.5,8.3\n\
             SA-101,double,2026-04-01,19.1,9.5,8.3\nSA-101,single,2026-04-01,9.3,9.5,8.3\n\
             SA-101,nothing,2020-04-01,9.3,,\nSA-101,nothing,2026-04-01,9.2,,\n\
             SA-101,fast,2016-04-01,9.6,,8.3\nSA-101,fast,2025-04-01,9.5,,8.3\nSA-101,fast,2026-04-01,9.3,,8.3\n"
        ),
    );
    let told = follow(&trial, &[]);
    assert_eq!(told.status, 1, "{told:?}");
    assert!(
        told.out
            .starts_with("refer to the responsible engineer now: SA-101 point thin, wall 8.20 mm"),
        "{}",
        told.out
    );
    let found = result(&trial);
    assert_eq!(found["refer"].as_array().unwrap().len(), 1);
    let point = |name: &str| {
        list(&found["wall"])
            .iter()
            .find(|point| point["point"] == name)
            .unwrap()
    };
    assert_eq!(list(&found["wall"])[0]["point"], "thin");
    let says = |name: &str, words: &str| {
        let told: String = list(&point(name)["told"])
            .iter()
            .map(|told| format!("{told} "))
            .collect();
        assert!(told.contains(words), "{name}: {told}");
    };
    assert_eq!(
        (
            &point("thin")["is_below_required"],
            number(&point("thin")["remaining_life_years"])
        ),
        (&true.into(), 0.0)
    );
    assert_eq!(point("thin")["next_on"], "2026-04-01");
    assert_eq!(
        (
            number(&point("steady")["rate_mm_per_year"]),
            &point("steady")["remaining_life_years"]
        ),
        (0.0, &Value::Null)
    );
    assert_eq!(
        (&point("steady")["next_on"], &point("steady")["external_on"]),
        (&"2036-04-01".into(), &"2031-04-01".into())
    );
    says("steady", "the rate is 0 and sets no end to the life");
    assert_eq!(
        (
            number(&point("grown")["actual_mm"]),
            number(&point("grown")["rate_mm_per_year"])
        ),
        (9.0, 0.0)
    );
    assert_eq!(point("grown")["next_on"], "2027-04-01");
    says("grown", "a wall does not grow");
    says("above", "plates come thicker than ordered");
    says("double", "an echo counted twice");
    assert_eq!(point("double")["next_on"], "2027-04-01");
    says("single", "a single reading gives no rate");
    assert_eq!(point("single")["rate_from"], "screening");
    assert!(point("nothing")["next_on"].is_null());
    says("nothing", "no required thickness is stated or can be derived");
    // 0.2 mm in the last year against 0.3 mm in ten: the short-term rate counts; (9.3 − 8.3)/0.2 is 5 years.
    let fast = point("fast");
    assert_eq!(fast["rate_from"], "short-term");
    assert!((number(&fast["rate_mm_per_year"]) - 0.2).abs() < 0.001);
    assert!(
        (number(&fast["remaining_life_years"]) - 5.0).abs() < 0.02
            && (number(&fast["interval_years"]) - 2.5).abs() < 0.01
    );
}

#[test]
fn units_and_the_order_of_rows_change_nothing() {
    let trial = Trial::new();
    trial
        .write(
            "wall.csv",
            "asset,point,axial_m,clock,measured_on,thickness_mm,required_thickness_mm\n\
             SA-101,1,1.0,4,2016-04-01,12.7,8.5\nSA-101,1,1.0,4,2026-04-01,11.938,8.5\nSA-101,2,2.0,4,2026-04-01,12.7,8.5\n",
        )
        .write("openings.csv", format!("{OPENINGS},SA-101,0.9144,4,2026-04-01,wet,,yes\nSA-101-2,,,,2026-04-01,dry,,yes\n"));
    assert_eq!(follow(&trial, &[]).status, 0);
    let first = result(&trial);
    trial
        .write(
            "wall.csv",
            "point,asset,clock,axial_ft,required_thickness_in,measured_on,thickness_in\n\
             2,SA-101,4,6.561679790026247,0.3346456692913386,2026-04-01,0.5\n\
             1,SA-101,4,3.280839895013123,0.3346456692913386,2026-04-01,0.47\n\
             1,SA-101,4,3.280839895013123,0.3346456692913386,2016-04-01,0.5\n",
        )
        .write(
            "openings.csv",
            "resealed,moisture,opened_on,clock,axial_ft,asset,zone\nyes,dry,2026-04-01,,,,SA-101-2\nyes,wet,2026-04-01,4,3,SA-101,\n",
        );
    let told = follow(&trial, &["--units", "us"]);
    assert_eq!(told.status, 0, "{told:?}");
    assert!(
        told.out.contains("0.470 in") && !told.out.contains(" mm"),
        "{}",
        told.out
    );
    let mut second = result(&trial);
    let mut rows = list(&second["openings"]).to_vec();
    rows.reverse();
    second["openings"] = rows.into();
    let strip = |value: &Value| {
        let mut value = value.clone();
        for opening in value["openings"].as_array_mut().unwrap() {
            opening["row"] = Value::Null;
        }
        value
    };
    assert_eq!(strip(&first), strip(&second));
    // 12.7 → 11.938 mm in ten years.
    let one = list(&first["wall"]).iter().find(|point| point["point"] == "1").unwrap();
    assert!((number(&one["rate_mm_per_year"]) - 0.0762).abs() < 1e-4, "{one:#}");
}

#[test]
fn openings_walls_and_the_walk_round_enter_the_ranking_and_the_record() {
    let trial = Trial::new();
    assert_eq!(trial.run(&["--no-pictures"]).status, 0);
    let plain = super::command::findings(&trial.out());
    let zone = list(&plain["zones"])[0].clone();
    let (axial, clock) = (number(&zone["axial_m"]), number(&zone["clock"]));
    trial
        .write("openings.csv", format!("{OPENINGS},SA-101,{axial},{clock},2026-04-01,wet,pitting,no\n"))
        .write(
            "wall.csv",
            format!(
                "asset,point,axial_m,clock,measured_on,thickness_mm,nominal_thickness_mm,required_thickness_mm\n\
                 SA-101,1,{axial},{clock},2026-04-01,8.2,9.5,8.3\n"
            ),
        )
        .write("observations.csv", format!("asset,kind,axial_m,clock,observed_on,observer\nSA-101,jacket-hole,{axial},{clock},2026-03-03,W. Walker\n"));
    let told = super::record::record(&trial, &["--no-pdf"]);
    assert_eq!(told.status, 0, "{told:?}");
    let weighed = super::command::findings(&trial.out());
    let same = list(&weighed["zones"])
        .iter()
        .find(|other| other["id"] == zone["id"])
        .unwrap();
    let part = |zone: &Value, name: &str| number(&zone["priority_parts"][name]);
    for name in ["observed", "openings", "wall"] {
        assert_eq!((part(&zone, name), part(same, name)), (0.0, 6.0), "{name}");
    }
    assert!((number(&same["priority"]) - number(&zone["priority"]) - 18.0).abs() < 0.11);
    let page = super::record::page(&trial);
    for words in [
        "Refer to the responsible engineer now",
        "How far a call may be believed here",
        "1 of 1 (100 %",
        "One call opened so far: too few to rely on",
        "Openings and wall readings",
        "not said to be closed again",
        "found when opened 6 of 6",
    ] {
        assert!(page.contains(words), "{words} does not stand in the record");
    }
    // survey gives the same findings as record.
    assert_eq!(trial.run(&["--no-pictures"]).status, 0);
    assert_eq!(weighed, super::command::findings(&trial.out()));
}

#[test]
fn an_opening_that_was_not_closed_again_stays_open_wherever_it_is() {
    let trial = Trial::new();
    let out = trial.out();
    let named = |found: &Value, key: &str| -> Vec<String> {
        let names = list(&found[key])
            .iter()
            .map(|item| item["zone"].as_str().unwrap().to_owned());
        names.filter(|name| name.contains("opening")).collect()
    };
    trial.write("openings.csv", format!("{OPENINGS},SA-101,0.1,11,2026-04-01,dry,,no\n"));
    assert_eq!(follow(&trial, &[]).status, 0);
    let first = result(&trial);
    assert_eq!(named(&first, "open"), ["SA-101 opening of 2026-04-01"]);
    // The same survey followed up again: once, and its zones have gained no former name.
    assert_eq!(follow(&trial, &["--earlier", out.to_str().unwrap()]).status, 0);
    assert_eq!(first["open"], result(&trial)["open"]);
    // The row is gone from the sheet: it is carried over.
    trial.remove("openings.csv");
    assert_eq!(follow(&trial, &["--earlier", out.to_str().unwrap()]).status, 0);
    assert_eq!(named(&result(&trial), "open"), ["SA-101 opening of 2026-04-01"]);
    // Seen from the other end it lies at 3.3 m and 1 o'clock, and is closed there.
    let heading = "asset,shape,outside_diameter_mm,length_mm,insulation,insulation_thickness_mm,\
                   insulation_conductivity_w_mk,jacket,emissivity,service_temperature_c,setting,datum_swapped_on";
    trial
        .write("assets.csv", format!("{heading}\n{ASSET},2026-05-01\n"))
        .write(
            "survey.toml",
            "title = \"T\"\nplant = \"Simulated\"\ndate = \"2026-06-03\"\n",
        )
        .write("openings.csv", format!("{OPENINGS},SA-101,3.3,1,2026-07-01,dry,,yes\n"));
    assert_eq!(follow(&trial, &["--earlier", out.to_str().unwrap()]).status, 0);
    let last = result(&trial);
    assert_eq!(named(&last, "open"), Vec::<String>::new());
    assert_eq!(named(&last, "closed"), ["SA-101 opening of 2026-04-01"]);
}

#[test]
fn what_is_not_a_follow_up_is_refused() {
    let trial = Trial::new();
    let empty = trial.root().join("empty");
    std::fs::create_dir(&empty).unwrap();
    let told = follow(&trial, &["--earlier", empty.to_str().unwrap()]);
    assert_eq!(told.status, 2);
    assert!(
        told.err.contains("holds neither followup.json nor findings.json"),
        "{}",
        told.err
    );
    std::fs::write(empty.join("followup.json"), "{\"schema\": \"x\"}").unwrap();
    let told = follow(&trial, &["--earlier", empty.to_str().unwrap()]);
    assert!(
        told.status == 2 && told.err.contains("followup.json: is of schema \"x\""),
        "{}",
        told.err
    );
    let told = follow(&trial, &["--findings", empty.to_str().unwrap()]);
    assert!(
        told.status == 2 && told.err.contains("holds no findings.json"),
        "{}",
        told.err
    );
    // With nothing to follow up it says so, and lists what is open.
    let told = follow(&trial, &[]);
    assert_eq!(told.status, 0, "{told:?}");
    assert!(
        told.err.contains("neither openings.csv nor wall.csv is there"),
        "{}",
        told.err
    );
    assert!(
        told.out.contains("No called zone has been opened here yet"),
        "{}",
        told.out
    );
    assert!(!list(&result(&trial)["open"]).is_empty());
}
