//! What people hold of a plan: the field sheet, units, and the folder it is put into.

use super::command::{Trial, contents, names};
use super::plan::{plan, read};

/// Two areas, one of them with a name that would be markup.
fn areas() -> Trial {
    let trial = Trial::new();
    let heading = "asset,area,shape,outside_diameter_mm,length_mm,insulation,insulation_thickness_mm,jacket,service_temperature_c,setting";
    let rows = [
        "A-1,<script>alert(1)</script>,horizontal-cylinder,1500,3400,pir,100,pvc,-33,indoor",
        "B-1,Yard & roof,horizontal-cylinder,1500,3400,pir,100,bright-aluminium,-33,outdoor",
        "A-2,<script>alert(1)</script>,horizontal-cylinder,1500,3400,pir,100,pvc,-33,indoor",
    ];
    trial
        .write("assets.csv", format!("{heading}\n{}\n", rows.join("\n")))
        .remove("frames.csv");
    trial
}

#[test]
fn the_field_sheet_goes_by_area_and_loads_nothing() {
    let trial = areas();
    assert_eq!(plan(&trial, &["--air-c", "20"]).status, 0);
    let html = std::fs::read_to_string(trial.out().join("field-sheet.html")).unwrap();
    assert!(!html.contains("<script"), "a name became markup");
    assert!(html.contains("&lt;script&gt;alert(1)"), "the area is not named");
    assert_eq!(html.matches("<tbody>").count(), 2);
    let (first, second) = (html.find("A-2").unwrap(), html.find("B-1").unwrap());
    assert!(first < second, "assets of one area do not stand together");
    for loads in ["http:", "https:", "src=", "<link", "@import", "url("] {
        assert!(!html.contains(loads), "{loads}");
    }
    for words in [
        "Yard &amp; roof",
        "no-go",
        "bright jacket",
        "RH %",
        "the owner's permit".replace('\'', "&#x27;").as_str(),
    ] {
        assert!(html.contains(words), "{words} is missing");
    }
}

#[test]
fn us_units_are_for_people_and_the_bytes_are_the_same_twice() {
    let trial = areas();
    let said = plan(&trial, &["--air-c", "20", "--wind", "3", "--units", "us"]);
    for words in ["°F", "wind 6.7 mph"] {
        assert!(said.out.contains(words), "{words}: {}", said.out);
    }
    assert!(!said.out.contains("°C") && !said.out.contains(" m/s"), "{}", said.out);
    let html = std::fs::read_to_string(trial.out().join("field-sheet.html")).unwrap();
    assert!(!html.contains("°C") && !html.contains(" m/s"));
    let us = std::fs::read(trial.out().join("plan.json")).unwrap();
    assert_eq!(plan(&trial, &["--air-c", "20", "--wind", "3"]).status, 0);
    let first = contents(&trial.out());
    assert_eq!(Some(us), first[std::path::Path::new("plan.json")].clone());
    assert_eq!(plan(&trial, &["--air-c", "20", "--wind", "3"]).status, 0);
    assert!(first == contents(&trial.out()), "the same plan has other bytes");
}

#[test]
fn a_plan_beside_findings_leaves_them() {
    let trial = Trial::new();
    assert_eq!(trial.run(&["--no-pictures"]).status, 0);
    let findings = std::fs::read(trial.out().join("findings.json")).unwrap();
    assert_eq!(plan(&trial, &[]).status, 0);
    assert_eq!(std::fs::read(trial.out().join("findings.json")).unwrap(), findings);
    assert_eq!(
        names(&trial.out()),
        ["field-sheet.html", "findings.csv", "findings.json", "plan.json"]
    );
    // And findings beside a plan leave that.
    assert_eq!(trial.run(&["--no-pictures"]).status, 0);
    assert!(trial.out().join("plan.json").is_file());
    assert_eq!(read(&trial.out())["schema"], "coldjacket.plan/1");
}

#[test]
fn the_rules_are_printed_and_stored() {
    let trial = Trial::new();
    let said = plan(&trial, &[]);
    for rule in super::sample::list(&read(&trial.out())["verdict_rules"]) {
        assert!(said.out.contains(rule.as_str().unwrap()), "{rule}");
    }
    let settings = &read(&trial.out())["made_by"]["settings"];
    assert_eq!(settings["usability"]["least_difference_k"], 8.0);
    assert_eq!(settings["plan"]["assumed_distance_m"], 3.0);
}
