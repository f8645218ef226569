//! Three years of an invented plant, simulated: what is surveyed, opened and measured each spring, and what the program makes
//! of it. The wet patches, and so the right answers, are known.
//!
//! | | 2024 | 2025 | 2026 |
//! |---|---|---|---|
//! | SA-1, patch low near 3 o'clock | there | larger and wetter | as in 2025, in other air |
//! | SA-1, patch above | – | comes | opened, dried, closed: gone |
//! | VR-2, south | there | the same | the same; the asset is called RV-20 now |
//! | VR-2, north | there | not imaged | there |

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use coldjacket_simulator::scene::{Conditions, Patch, Scene};
use coldjacket_simulator::survey::{Entry, Sheet, SheetErrors, SurveyPlan, write_survey};
use serde_json::Value;
use tempfile::TempDir;

use super::command::{Said, coldjacket, contents, findings, said};
use super::sample::{list, number, text};

/// The years' folders, results and what was said.
struct Story {
    room: TempDir,
}

fn level(patches: Vec<Patch>, air_c: f64) -> Scene {
    let mut scene = Scene::plain_horizontal();
    scene.vessel.diameter_m = 1.2;
    scene.vessel.length_m = 3.0;
    scene.camera.aim_m = (1.5, 0.0);
    scene.vessel.unevenness = 0.01;
    scene.conditions = Conditions::indoor(air_c, 45.0);
    scene.background.wall_c = air_c - 1.0;
    scene.patches = patches;
    scene
}

fn upright(patches: Vec<Patch>, air_c: f64) -> Scene {
    let mut scene = Scene::plain_vertical();
    scene.vessel.diameter_m = 1.2;
    scene.vessel.unevenness = 0.01;
    scene.conditions = Conditions::indoor(air_c, 45.0);
    scene.background.wall_c = air_c - 1.0;
    scene.patches = patches;
    scene
}

fn entry(scene: Scene, asset: &str, name: &str, facing: (&str, &str), further: &[(&str, &str)]) -> Entry {
    let mut sheet = Sheet::usual(asset, name);
    sheet.frame_cells.push((facing.0.to_owned(), facing.1.to_owned()));
    sheet.asset_cells.extend(
        further
            .iter()
            .map(|(key, value)| ((*key).to_owned(), (*value).to_owned())),
    );
    let seed = name.bytes().map(u64::from).sum::<u64>() + (10.0 * scene.conditions.air_c) as u64;
    Entry { scene, seed, sheet }
}

fn low(size: (f64, f64), ratio: f64) -> Patch {
    Patch::ellipse(0.8, 25.0, size, ratio)
}

fn above() -> Patch {
    Patch::ellipse(2.2, -20.0, (0.22, 0.18), 3.2)
}

fn face() -> Patch {
    Patch::ellipse(1.3, 10.0, (0.26, 0.2), 3.0)
}

fn year(date: &str) -> SurveyPlan {
    let history: &[(&str, &str)] = &[
        ("insulated_year", "2008"),
        ("shell_material", "carbon-steel"),
        ("consequence", "4"),
    ];
    let south = ("facing_bearing_deg", "180");
    let north = ("facing_bearing_deg", "0");
    let three = ("facing_clock", "3");
    let entries = match date {
        "2024-04-09" => vec![
            entry(level(vec![low((0.22, 0.18), 2.4)], 20.0), "SA-1", "sa", three, history),
            entry(upright(vec![face()], 20.0), "VR-2", "vr-south", south, history),
            entry(upright(vec![face()], 20.0), "VR-2", "vr-north", north, history),
        ],
        "2025-04-15" => vec![
            entry(
                level(vec![low((0.34, 0.28), 4.0), above()], 25.0),
                "SA-1",
                "sa",
                three,
                history,
            ),
            entry(upright(vec![face()], 25.0), "VR-2", "vr-south", south, history),
        ],
        _ => {
            let renamed: Vec<(&str, &str)> = history.iter().copied().chain([("former_tag", "VR-2")]).collect();
            vec![
                entry(level(vec![low((0.34, 0.28), 4.0)], 15.0), "SA-1", "sa", three, history),
                entry(upright(vec![face()], 15.0), "RV-20", "vr-south", south, &renamed),
                entry(upright(vec![face()], 15.0), "RV-20", "vr-north", north, &renamed),
            ]
        }
    };
    SurveyPlan {
        title: "Spring survey (simulated)".into(),
        plant: "Ashmoor Cold Store (invented)".into(),
        date: date.into(),
        inspector: "nobody: simulated data".into(),
        altitude_m: 0.0,
        further_toml: String::new(),
        truth_file: "truth.json".into(),
        entries,
        errors: SheetErrors::Drawn(31),
    }
}

impl Story {
    fn folder(&self, name: &str) -> PathBuf {
        self.room.path().join(name)
    }

    /// Runs a command on a year's folder, which it must leave as it is.
    #[track_caller]
    fn run(&self, command: &str, year: &str, out: &str, further: &[&Path]) -> Said {
        let before = contents(&self.folder(year));
        let mut run = coldjacket();
        run.arg(command)
            .arg(self.folder(year))
            .arg("--out")
            .arg(self.folder(out));
        for path in further {
            run.arg("--earlier").arg(path);
        }
        if command == "record" {
            run.arg("--no-pdf");
        }
        let said = said(&mut run);
        assert!(before == contents(&self.folder(year)), "{year} has changed");
        said
    }

    fn json(&self, path: &str) -> Value {
        serde_json::from_slice(&std::fs::read(self.folder(path)).unwrap()).unwrap()
    }

    fn write(&self, path: &str, text: &str) {
        std::fs::write(self.folder(path), text).unwrap();
    }
}

/// The three surveys, run once.
fn story() -> &'static Story {
    static STORY: OnceLock<Story> = OnceLock::new();
    STORY.get_or_init(|| {
        let story = Story {
            room: TempDir::new().unwrap(),
        };
        for (name, date) in [("2024", "2024-04-09"), ("2025", "2025-04-15"), ("2026", "2026-04-07")] {
            write_survey(&story.folder(name), &year(date)).unwrap();
            let said = story.run("survey", name, &format!("{name}-out"), &[]);
            assert_eq!(said.status, 0, "{said:?}");
        }
        story
    })
}

/// The row of a zone, or of an earlier zone, near a place of an asset.
#[track_caller]
fn row<'a>(compared: &'a Value, asset: &str, axial_m: f64, round: (&str, f64)) -> &'a Value {
    let near = |row: &&Value| {
        text(&row["asset"]) == asset
            && (number(&row["axial_m"]) - axial_m).abs() < 0.25
            && row[round.0]
                .as_f64()
                .is_some_and(|at| (at - round.1).abs() < 0.1 * round.1.max(10.0))
    };
    let mut rows = list(&compared["zones"]).iter().filter(near);
    let row = rows
        .next()
        .unwrap_or_else(|| panic!("no row at {axial_m} m, {round:?}: {compared:#}"));
    assert!(rows.next().is_none(), "two rows there: {compared:#}");
    row
}

#[test]
fn each_spring_tells_what_became_of_the_last() {
    let story = story();
    let out = |year: &str| story.folder(&format!("{year}-out"));

    // 2025 against 2024: the low patch grew, one came, the north was not imaged.
    let told = story.run("compare", "2025", "c25", &[&out("2024")]);
    assert_eq!(told.status, 0, "{told:?}");
    let compared = story.json("c25/comparison.json");
    assert_eq!(row(&compared, "SA-1", 0.8, ("clock", 3.83))["change"], "grown");
    let new = row(&compared, "SA-1", 2.2, ("clock", 2.33));
    assert_eq!(
        (&new["change"], &new["seen_before"]),
        (&"new".into(), &"yes".into()),
        "{new:#}"
    );
    assert_eq!(row(&compared, "VR-2", 1.3, ("bearing_deg", 170.0))["change"], "steady");
    let north = row(&compared, "VR-2", 1.3, ("bearing_deg", 350.0));
    assert_eq!(
        (&north["change"], &north["zone"]),
        (&"not-seen".into(), &Value::Null),
        "{north:#}"
    );

    // 2026 against both: other air, and nothing grew; what was dried is gone; the north is there as in 2024.
    let told = story.run("compare", "2026", "c26", &[&out("2025"), &out("2024")]);
    assert_eq!(told.status, 0, "{told:?}");
    let compared = story.json("c26/comparison.json");
    let low = row(&compared, "SA-1", 0.8, ("clock", 3.83));
    assert_eq!(
        (&low["change"], list(&low["history"]).len()),
        (&"steady".into(), 3),
        "{low:#}"
    );
    assert!(number(&low["trend"]["area_m2_per_year"]) > 0.0, "{low:#}");
    assert_eq!(row(&compared, "SA-1", 2.2, ("clock", 2.33))["change"], "gone");
    assert_eq!(row(&compared, "RV-20", 1.3, ("bearing_deg", 170.0))["change"], "steady");
    let north = row(&compared, "RV-20", 1.3, ("bearing_deg", 350.0));
    assert_eq!(
        (&north["change"], &north["earlier_date"]),
        (&"steady".into(), &"2024-04-09".into()),
        "{north:#}"
    );
    assert_eq!(list(&compared["missing_assets"]).len(), 0);

    // In whatever order the years are given.
    story.run("compare", "2026", "c26b", &[&out("2024"), &out("2025")]);
    assert_eq!(compared, story.json("c26b/comparison.json"));
}

#[test]
fn growth_raises_a_priority_and_stands_in_the_record() {
    let story = story();
    let earlier = story.folder("2024-out");
    let told = story.run("record", "2025", "r25", &[&earlier]);
    assert_eq!(told.status, 0, "{told:?}");
    let (plain, with) = (findings(&story.folder("2025-out")), findings(&story.folder("r25")));
    let of = |found: &Value, id: &Value| {
        list(&found["zones"])
            .iter()
            .find(|zone| zone["id"] == *id)
            .unwrap()
            .clone()
    };
    let mut grown = 0;
    for zone in list(&with["zones"]) {
        let growth = number(&zone["priority_parts"]["growth"]);
        let before = of(&plain, &zone["id"]);
        assert_eq!(before["priority_parts"]["growth"], 0.0);
        assert!(
            (number(&zone["priority"]) - number(&before["priority"]) - growth).abs() < 0.11,
            "{zone}"
        );
        grown += usize::from(growth > 0.0);
    }
    assert_eq!(grown, 2);
    let page = super::record::readable(&story.folder("r25"));
    for words in [
        "Grown since 2024-04-09",
        "New: its place was seen on 2024-04-09 without it",
        "zone of the last survey",
        "not-seen",
        "Against earlier surveys",
    ] {
        assert!(page.contains(words), "{words} does not stand in the record");
    }
    let manifest = story.json("r25/manifest.json");
    let inputs = list(&manifest["inputs"]);
    assert!(
        inputs
            .iter()
            .any(|input| input["kind"] == "earlier findings" && !input["sha256"].is_null())
    );
    let verified = said(coldjacket().arg("record").arg("--verify").arg(story.folder("r25")));
    assert_eq!(verified.status, 0, "{verified:?}");
}

#[test]
fn what_is_open_stays_open_until_it_is_closed() {
    let story = story();
    // A copy: the other tests' folders have no openings.
    let copy = |year: &str| {
        let (from, to) = (story.folder(year), story.folder(&format!("{year}f")));
        std::fs::create_dir_all(to.join("images")).unwrap();
        for (path, bytes) in contents(&from) {
            if let Some(bytes) = bytes {
                std::fs::write(to.join(path), bytes).unwrap();
            }
        }
    };
    ["2024", "2025", "2026"].into_iter().for_each(copy);

    // 2024: the low patch is opened, wet, and left open; a valve change finds dry insulation.
    let header = "zone,asset,axial_m,clock,bearing_deg,opened_on,moisture,corrosion,resealed\n";
    let one = ",SA-1,0.8,4,,2024-05-02,wet,light,no\n,SA-1,2.6,3,,2024-06-01,dry,none,yes\n";
    story.write("2024f/openings.csv", &format!("{header}{one}"));
    let wall =
        "asset,point,axial_m,clock,measured_on,thickness_mm,required_thickness_mm\nSA-1,1,0.8,4,2024-05-02,9.6,8.3\n";
    story.write("2024f/wall.csv", wall);
    let told = story.run("followup", "2024f", "f24", &[]);
    assert_eq!(told.status, 0, "{told:?}");
    let first = story.json("f24/followup.json");
    assert_eq!(list(&first["open"]).len(), 3, "{first:#}");
    assert_eq!(first["calls"]["called_and_wet"]["count"], 1);
    assert_eq!(first["by_survey"][0]["quiet_and_dry"], 1);

    // 2025: the patch above is opened and closed again, and so is the low one; the wall there has lost 0.8 mm in a year.
    let two = ",SA-1,2.2,2:15,,2025-05-05,wet,pitting,yes\n,SA-1,0.8,4,,2025-05-05,frozen,pitting,yes\n";
    story.write("2025f/openings.csv", &format!("{header}{two}"));
    story.write("2025f/wall.csv", &format!("{wall}SA-1,1,0.8,4,2025-05-05,8.8,8.3\n"));
    let told = story.run("followup", "2025f", "f25", &[&story.folder("f24")]);
    assert_eq!(told.status, 0, "{told:?}");
    let second = story.json("f25/followup.json");
    let open: Vec<&str> = list(&second["open"]).iter().map(|item| text(&item["zone"])).collect();
    // Both of VR-2, the north one although nobody imaged it.
    assert_eq!(open.len(), 2, "{second:#}");
    assert!(
        list(&second["open"])
            .iter()
            .all(|item| item["asset"] == "VR-2" && item["since"] == "2024-04-09")
    );
    assert_eq!(list(&second["closed"]).len(), 2, "{second:#}");
    let point = &second["wall"][0];
    assert!((number(&point["rate_mm_per_year"]) - 0.793).abs() < 0.01, "{point:#}");
    assert_eq!(second["calls"]["called_and_wet"]["of"], 3);

    // 2026: the asset has another name; the wall is now too thin, which is said before anything else.
    story.write(
        "2026f/wall.csv",
        "asset,point,axial_m,clock,measured_on,thickness_mm,required_thickness_mm\nSA-1,1,0.8,4,2025-05-05,8.8,8.3\n\
         SA-1,1,0.8,4,2026-05-05,8.2,8.3\n",
    );
    let told = story.run("followup", "2026f", "f26", &[&story.folder("f25")]);
    assert_eq!(told.status, 1, "{told:?}");
    assert!(
        told.out.starts_with(
            "refer to the responsible engineer now: SA-1 point 1, wall 8.20 mm on 2026-05-05, required 8.30 mm\n"
        ),
        "{}",
        told.out
    );
    let third = story.json("f26/followup.json");
    let since: Vec<&str> = list(&third["open"])
        .iter()
        .filter(|item| item["asset"] == "RV-20")
        .map(|item| text(&item["since"]))
        .collect();
    assert_eq!(since, ["2024-04-09", "2024-04-09"], "{third:#}");
    assert_eq!(third["calls"]["called_and_wet"]["of"], 3);
}
