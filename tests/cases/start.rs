//! `coldjacket new`: from a folder of images to sheets that the survey reads once they are filled in.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use calamine::{Data, Reader, Xlsx};
use tempfile::TempDir;

use super::command::{Said, coldjacket, contents, findings, names, said, samples};
use super::read::tiff_writer::{Held, Page};

/// A room with images in it.
struct Room(TempDir);

impl Room {
    fn new() -> Self {
        let room = Self(TempDir::new().unwrap());
        fs::create_dir_all(room.images().join("hall")).unwrap();
        fs::copy(
            samples().join("images/sa-101.tif"),
            room.images().join("hall/sa-101.tif"),
        )
        .unwrap();
        fs::write(room.images().join("dated.tif"), dated("2026:03:04 09:15:00\0")).unwrap();
        fs::write(room.images().join("notes.txt"), "two vessels, one pipe\n").unwrap();
        fs::write(room.images().join(".hidden"), "x").unwrap();
        room
    }

    fn images(&self) -> PathBuf {
        self.0.path().join("shots")
    }

    fn survey(&self) -> PathBuf {
        self.0.path().join("survey")
    }

    fn command(&self, further: &[&str]) -> Command {
        let mut command = coldjacket();
        command
            .arg("new")
            .arg(self.survey())
            .arg("--images")
            .arg(self.images())
            .args(further);
        command
    }

    /// Runs it; the images stay as they are.
    #[track_caller]
    fn run(&self, further: &[&str]) -> Said {
        let before = contents(&self.images());
        let said = said(&mut self.command(further));
        assert!(before == contents(&self.images()), "the images have changed");
        said
    }
}

/// A TIFF of kelvin as floats, taken at a stated time.
fn dated(moment: &'static str) -> Vec<u8> {
    let samples: Vec<u8> = (0..16 * 16)
        .flat_map(|at| (290.0 + at as f32 * 0.01).to_be_bytes())
        .collect();
    let mut page = Page::plain(16, 32, 3, samples);
    page.tags.push((36867, Held::Text(moment)));
    page.write()
}

/// The sheet's rows, heading first.
fn rows(path: &Path) -> Vec<Vec<String>> {
    if path.extension().is_some_and(|end| end == "xlsx") {
        let mut book: Xlsx<_> = calamine::open_workbook(path).unwrap();
        let range = book.worksheet_range_at(0).unwrap().unwrap();
        let text = |cell: &Data| {
            if *cell == Data::Empty {
                String::new()
            } else {
                cell.to_string()
            }
        };
        return range.rows().map(|row| row.iter().map(text).collect()).collect();
    }
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_path(path).unwrap();
    let row = |record: csv::StringRecord| record.iter().map(str::to_owned).collect();
    reader.records().map(|record| row(record.unwrap())).collect()
}

/// Fills cells in, by column, in the given rows (all below the explanations where there are none).
fn fill(path: &Path, cells: &[(&str, &str)], added: &[&[(&str, &str)]]) {
    let mut all = rows(path);
    let heading = all[0].clone();
    let at = |name: &str| {
        heading
            .iter()
            .position(|head| head == name)
            .unwrap_or_else(|| panic!("no column {name}"))
    };
    for row in all.iter_mut().skip(2) {
        row.resize(heading.len(), String::new());
        for (name, value) in cells {
            row[at(name)] = (*value).to_owned();
        }
    }
    for cells in added {
        let mut row = vec![String::new(); heading.len()];
        for (name, value) in *cells {
            row[at(name)] = (*value).to_owned();
        }
        all.push(row);
    }
    if path.extension().is_some_and(|end| end == "xlsx") {
        let mut book = rust_xlsxwriter::Workbook::new();
        let sheet = book.add_worksheet();
        for (row, cells) in (0..).zip(&all) {
            for (column, cell) in (0..).zip(cells) {
                match cell.parse::<f64>() {
                    Ok(number) => drop(sheet.write_number(row, column, number).unwrap()),
                    Err(_) if cell.is_empty() => {}
                    Err(_) => drop(sheet.write_string(row, column, cell).unwrap()),
                }
            }
        }
        book.save(path).unwrap();
        return;
    }
    let mut writer = csv::Writer::from_path(path).unwrap();
    all.iter().for_each(|row| writer.write_record(row).unwrap());
    writer.flush().unwrap();
}

const ASSET: &[(&str, &str)] = &[
    ("asset", "SA-101"),
    ("shape", "horizontal-cylinder"),
    ("outside_diameter_mm", "1500"),
    ("length_mm", "3400"),
    ("insulation", "pir"),
    ("insulation_thickness_mm", "99.4"),
    ("jacket", "pvc"),
    ("service_temperature_c", "-33.5"),
    ("setting", "indoor"),
    ("area", "Hall"),
];

#[test]
fn one_row_an_image_with_its_time_and_a_proposed_scale() {
    let room = Room::new();
    let told = room.run(&[]);
    assert_eq!((told.status, told.err.as_str()), (1, ""), "notes.txt has no row");
    assert!(told.out.contains("notes.txt: no row: "), "{}", told.out);
    assert!(told.out.contains("proposals: confirm each"), "{}", told.out);
    assert_eq!(
        names(&room.survey()),
        ["COLUMNS.md", "assets.csv", "frames.csv", "images", "survey.toml"]
    );
    let frames = rows(&room.survey().join("frames.csv"));
    let column = |name: &str| frames[0].iter().position(|head| head == name).unwrap();
    let shown: Vec<[&str; 4]> = frames[2..]
        .iter()
        .map(|row| ["file", "asset", "temperature_scale", "captured_at"].map(|name| row[column(name)].as_str()))
        .collect();
    assert_eq!(
        shown,
        [
            ["images/dated.tif", "", "kelvin", "2026-03-04T09:15:00"],
            ["images/hall/sa-101.tif", "", "centikelvin", ""],
        ]
    );
    assert!(
        frames[2][column("note")].contains("PROPOSAL, confirm it"),
        "{:?}",
        frames[2]
    );
    assert!(frames[1][0].starts_with("# ") && frames[1][column("sun")].contains("none, overcast, direct"));
    let copied = fs::read(room.survey().join("images/hall/sa-101.tif")).unwrap();
    assert_eq!(copied, fs::read(room.images().join("hall/sa-101.tif")).unwrap());
    // The day of the earliest image.
    let survey = fs::read_to_string(room.survey().join("survey.toml")).unwrap();
    assert!(survey.contains("date = \"2026-03-04\""), "{survey}");
}

#[test]
fn filled_in_the_sheets_are_read_without_a_warning() {
    for form in [&[][..], &["--xlsx"]] {
        let room = Room::new();
        fs::remove_file(room.images().join("dated.tif")).unwrap();
        fs::remove_file(room.images().join("notes.txt")).unwrap();
        assert_eq!(room.run(form).status, 0);
        let end = if form.is_empty() { "csv" } else { "xlsx" };
        let survey = room.survey();
        let conditions = [
            ("asset", "SA-101"),
            ("air_temperature_c", "21.23"),
            ("relative_humidity_pct", "51.2"),
            ("facing_clock", "3"),
        ];
        fill(&survey.join(format!("frames.{end}")), &conditions, &[]);
        fill(&survey.join(format!("assets.{end}")), &[], &[ASSET]);
        let toml = fs::read_to_string(survey.join("survey.toml")).unwrap();
        let toml = toml
            .replace("title = \"\"", "title = \"T\"")
            .replace("plant = \"\"", "plant = \"P\"")
            .replace("date = \"\"", "date = \"2026-03-04\"");
        fs::write(survey.join("survey.toml"), toml).unwrap();
        let out = room.0.path().join("out");
        let told = said(
            coldjacket()
                .arg("survey")
                .arg(&survey)
                .arg("--out")
                .arg(&out)
                .arg("--no-pictures"),
        );
        assert_eq!((told.status, told.err.as_str()), (0, ""), "{end}");
        assert_eq!(findings(&out)["frames"][0]["file"], "images/hall/sa-101.tif");
        let told = said(
            coldjacket()
                .arg("plan")
                .arg(&survey)
                .arg("--out")
                .arg(room.0.path().join("plan")),
        );
        assert_eq!((told.status, told.err.as_str()), (0, ""), "{end}");
        assert!(told.out.contains("\nHall\n  SA-101 go"), "{}", told.out);
    }
}

#[test]
fn every_key_that_survey_toml_offers_is_one() {
    let room = Room::new();
    room.run(&[]);
    let toml = fs::read_to_string(room.survey().join("survey.toml")).unwrap();
    // Every remark that is a key or a table becomes one; altitude and barometer exclude each other.
    let is_key = |line: &str| {
        let name = line.split([' ', '=']).next().unwrap_or_default();
        line.starts_with('[')
            || line.contains(" = ") && !name.is_empty() && name.chars().all(|c| c.is_ascii_lowercase() || c == '_')
    };
    let opened: Vec<String> = toml
        .lines()
        .map(|line| match line.strip_prefix("# ") {
            Some(rest) if is_key(rest) => rest.to_owned(),
            _ => line.to_owned(),
        })
        .filter(|line| !line.starts_with("barometer_kpa"))
        .map(|line| line.replace("= \"\" ", "= \"X\" "))
        .collect();
    assert!(opened.iter().filter(|line| is_key(line)).count() > 35, "{opened:#?}");
    fs::write(room.survey().join("survey.toml"), opened.join("\n")).unwrap();
    fill(&room.survey().join("assets.csv"), &[], &[ASSET]);
    let told = said(
        coldjacket()
            .arg("plan")
            .arg(room.survey())
            .arg("--out")
            .arg(room.0.path().join("plan")),
    );
    assert_eq!((told.status, told.err.as_str()), (0, ""));
}

#[test]
fn nothing_is_ever_overwritten() {
    let room = Room::new();
    room.run(&[]);
    let before = contents(&room.survey());
    let told = room.run(&["--xlsx"]);
    assert_eq!(told.status, 2);
    assert!(
        told.err
            .contains("holds survey.toml, assets.csv, frames.csv, COLUMNS.md already"),
        "{}",
        told.err
    );
    assert!(before == contents(&room.survey()));
    // A folder without sheets, in which an image of that name stands.
    let room = Room::new();
    fs::create_dir_all(room.survey().join("images/hall")).unwrap();
    fs::write(room.survey().join("images/hall/sa-101.tif"), "mine").unwrap();
    let before = contents(&room.survey());
    let told = room.run(&[]);
    assert_eq!(told.status, 2);
    assert!(
        told.err
            .contains("sa-101.tif: is there already, and nothing is overwritten"),
        "{}",
        told.err
    );
    assert!(before == contents(&room.survey()), "something was left behind");
}

#[test]
fn images_in_the_survey_folder_stay_where_they_are() {
    let room = Room::new();
    fs::write(room.images().join("#odd.tif"), dated("2026:03:04 09:15:00\0")).unwrap();
    fs::write(room.images().join("=odd.tif"), dated("2026:13:44 09:15:00\0")).unwrap();
    fs::write(room.images().join("two\nlines.tif"), dated("2026:03:04 09:15:00\0")).unwrap();
    let told = said(
        coldjacket()
            .arg("new")
            .arg(room.images())
            .arg("--images")
            .arg(room.images()),
    );
    assert_eq!(told.status, 1, "{told:?}");
    assert!(
        told.out.contains("lines.tif: no row: its name cannot stand in a sheet"),
        "{}",
        told.out
    );
    let frames = rows(&room.images().join("frames.csv"));
    let files: Vec<&str> = frames[2..].iter().map(|row| row[0].as_str()).collect();
    assert_eq!(files, ["./#odd.tif", "./=odd.tif", "dated.tif", "hall/sa-101.tif"]);
    assert!(!room.images().join("images").exists());
    // A day that no calendar has is left out.
    let at = frames[0].iter().position(|head| head == "captured_at").unwrap();
    assert_eq!(
        (frames[2][at].as_str(), frames[3][at].as_str()),
        ("2026-03-04T09:15:00", "")
    );
}

#[test]
fn folders_that_cannot_be_used() {
    let room = Room::new();
    let nowhere = room.0.path().join("nowhere");
    let empty = room.0.path().join("empty");
    fs::create_dir(&empty).unwrap();
    let texts = room.0.path().join("texts");
    fs::create_dir(&texts).unwrap();
    fs::write(texts.join("a.pdf"), "%PDF-1.7\n").unwrap();
    let file = room.images().join("dated.tif");
    for (folder, images, words) in [
        (
            room.survey(),
            &nowhere,
            "nowhere: does not exist (accepted: a folder of images)",
        ),
        (
            room.survey(),
            &file,
            "dated.tif: is not a folder (accepted: a folder of images)",
        ),
        (room.survey(), &empty, "empty: holds no image that can be read"),
        (room.survey(), &texts, "a.pdf: a PDF document"),
        (
            file.clone(),
            &room.images(),
            "dated.tif: is not a folder (accepted: a new folder",
        ),
        (file.join("below"), &room.images(), "cannot make the folder"),
    ] {
        let before = contents(room.0.path());
        let told = said(coldjacket().arg("new").arg(&folder).arg("--images").arg(images));
        assert_eq!((told.status, told.out.as_str()), (2, ""), "{words}");
        assert!(told.err.contains(words), "{words}: {}", told.err);
        assert!(before == contents(room.0.path()), "{words}: something was written");
    }
    let told = said(coldjacket().arg("new").arg(room.survey()));
    assert_eq!(told.status, 2);
    assert!(told.err.contains("--images <DIR>"), "{}", told.err);
}

#[test]
fn the_same_images_give_the_same_bytes() {
    for form in [&[][..], &["--xlsx"]] {
        let (a, b) = (Room::new(), Room::new());
        a.run(form);
        b.run(form);
        assert!(contents(&a.survey()) == contents(&b.survey()), "{form:?}");
    }
}
