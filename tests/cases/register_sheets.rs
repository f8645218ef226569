//! Sheets that are missing, unreadable, too large or another sheet; every fault in one go.

use coldjacket::register::open;
use rust_xlsxwriter::Workbook;

use super::register::{Folder, SURVEY};

/// The only fault of a frames.csv with this text.
#[track_caller]
fn sheet_fault(text: impl AsRef<[u8]>, expected: &str) {
    assert_eq!(
        Folder::new().write("frames.csv", text).faults(),
        format!("error: frames.csv{expected}")
    );
}

const HEADING: &str = "file,asset,temperature_scale,air_temperature_c";
const ROW: &str = "a.tif,V-101,celsius,1";

#[test]
fn a_folder_that_is_not_there() {
    let folder = Folder::new();
    let missing = folder.path().join("nowhere");
    let told = open(&missing).unwrap_err().to_string();
    assert_eq!(told, format!("error: {}: does not exist", missing.display()));
    let file = folder.path().join("survey.toml");
    let told = open(&file).unwrap_err().to_string();
    assert_eq!(told, format!("error: {}: is not a folder", file.display()));
}

#[test]
fn sheets_that_are_not_there() {
    let folder = Folder::new();
    assert_eq!(
        folder.remove("survey.toml").faults(),
        "error: survey.toml: is missing\n  hint: write it with title, plant and date"
    );
    folder.write("survey.toml", SURVEY).remove("frames.csv");
    assert_eq!(
        folder.faults(),
        "error: frames.csv: is missing (accepted: frames.csv or frames.xlsx)"
    );
    folder.write("Frames.CSV", "").write("frames.ods", "");
    assert_eq!(
        folder.faults(),
        "error: frames.csv: is missing (accepted: frames.csv or frames.xlsx)\n  hint: rename Frames.CSV to frames.csv"
    );
    folder.remove("Frames.CSV");
    assert!(
        folder
            .faults()
            .ends_with("hint: save frames.ods as frames.csv or frames.xlsx")
    );
    folder.frame(&[]).write("frames.xlsx", "");
    assert_eq!(
        folder.faults(),
        "error: frames.csv: stands beside frames.xlsx, and only one can be read\n  hint: keep the newer of frames.csv and \
         frames.xlsx in the folder"
    );
}

#[test]
fn a_missing_survey_is_one_fault_though_defaults_are_unknown() {
    let folder = Folder::new();
    folder
        .remove("survey.toml")
        .write("frames.csv", "file,camera\na.tif,long\n");
    assert_eq!(
        folder.faults().lines().filter(|line| line.starts_with("error")).count(),
        1,
        "{}",
        folder.faults()
    );
}

#[test]
fn sheets_with_nothing_in_them() {
    let accepted = "(accepted: a list of frames with the headings file, asset, temperature_scale, air_temperature_c)";
    for text in ["", "\n\n", ",,,\n", "# only a remark\n"] {
        sheet_fault(text, &format!(": is empty {accepted}"));
    }
    sheet_fault(HEADING, " row 1: has a heading but no rows");
    sheet_fault(format!("\n{HEADING}\n# {ROW}\n"), " row 2: has a heading but no rows");
    sheet_fault(
        "name,price\nx,3\n",
        &format!(" row 1: is not a list of frames: it lacks most of the headings {accepted}"),
    );
    sheet_fault(
        [0x89, b'P', b'N', b'G', 0, 0, 0xFF],
        ": is not text in UTF-8 (line 1)\n  hint: save it as CSV in UTF-8",
    );
}

#[test]
fn rows_that_do_not_fit_the_heading() {
    sheet_fault(
        format!("{HEADING}\na.tif,V-101,celsius,18,5\n"),
        " row 2: has 5 cells, but the heading has 4\n  hint: put cells that hold a separator in quotation marks",
    );
    sheet_fault(
        format!("{HEADING}\n#REF!,V-101,celsius,hot\n"),
        " row 2, column air_temperature_c: \"hot\" is not a number (accepted: -80 to 60 °C)",
    );
    let folder = Folder::new();
    let register = folder
        .write("frames.csv", format!("{HEADING},\n{ROW},stray\n"))
        .open()
        .unwrap();
    assert_eq!(
        register.warnings,
        ["frames.csv: column 5 has no heading and is not read"]
    );
}

#[test]
fn sheets_that_are_too_large() {
    let rows = vec![ROW; 200_001].join("\n");
    sheet_fault(
        format!("{HEADING}\n{rows}\n"),
        ": has too many rows (accepted: up to 200000 rows)",
    );
    let wide = vec!["x"; 501].join(",");
    sheet_fault(
        format!("{wide}\n"),
        ": has too many columns (accepted: up to 500 columns)",
    );
    let long = "x".repeat(10_001);
    sheet_fault(
        format!("{HEADING},note\n{ROW},{long}\n"),
        &format!(
            " row 2: \"{}\"… is a cell of 10001 characters (accepted: up to 10000)\n  hint: look for a quotation mark that \
             is not closed",
            "x".repeat(60)
        ),
    );
    let bytes = vec![b'\n'; 64 * 1024 * 1024 + 1];
    sheet_fault(bytes, ": is larger than 64 MiB (accepted: up to 67108864 bytes)");
}

#[test]
fn workbooks_that_cannot_be_read() {
    let folder = Folder::new();
    folder.remove("assets.csv").write("assets.xlsx", "asset,shape\n");
    let told = folder.faults();
    assert!(
        told.starts_with("error: assets.xlsx: is not a workbook that can be read: "),
        "{told}"
    );
    assert_eq!(
        told.lines().filter(|line| line.starts_with("error")).count(),
        1,
        "{told}"
    );
    // One cell at the far end of the sheet must not make the grid between it and the first.
    let mut book = Workbook::new();
    book.add_worksheet().write_string(1_048_575, 16_383, "far").unwrap();
    book.save(folder.path().join("assets.xlsx")).unwrap();
    assert_eq!(
        folder.faults(),
        "error: assets.xlsx: has too many columns (accepted: up to 500 columns)"
    );
}

#[test]
fn a_fault_in_the_defaults_is_told_once() {
    let folder = Folder::new();
    folder.write("survey.toml", format!("{SURVEY}[defaults]\nwind_mph = \"calm\"\n"));
    folder.write("frames.csv", format!("{HEADING}\n{ROW}\nb.tif,V-101,celsius,1\n"));
    assert_eq!(
        folder.faults(),
        "error: survey.toml line 5, key defaults.wind_mph: \"calm\" is not a number (accepted: 0 to 134.216 mph)"
    );
}

#[test]
fn every_fault_of_every_sheet_comes_in_one_go() {
    let folder = Folder::new();
    folder.write(
        "survey.toml",
        "title = \"x\"\nplant = \"y\"\n[site]\nbarometer_kpa = 1013\n",
    );
    folder.asset(&[("insulation", "straw"), ("jacket", ""), ("length_mm", "0")]);
    folder.write(
        "frames.csv",
        format!("{HEADING}\n../a.tif,V-9,warm,hot\n{ROW}\n,V-101,celsius,\n"),
    );
    let faults = folder.open().unwrap_err();
    let places: Vec<(&str, Option<usize>, &str)> = faults
        .list()
        .iter()
        .map(|fault| {
            (
                fault.sheet.as_str(),
                fault.row,
                fault.column.as_deref().unwrap_or_default(),
            )
        })
        .collect();
    assert_eq!(
        places,
        [
            ("assets.csv", Some(2), "length_mm"),
            ("assets.csv", Some(2), "insulation"),
            ("assets.csv", Some(2), "jacket"),
            ("frames.csv", Some(2), "file"),
            ("frames.csv", Some(2), "asset"),
            ("frames.csv", Some(2), "temperature_scale"),
            ("frames.csv", Some(2), "air_temperature_c"),
            ("frames.csv", Some(4), "file"),
            ("frames.csv", Some(4), "air_temperature_c"),
            ("survey.toml", None, "date"),
            ("survey.toml", Some(4), "site.barometer_kpa"),
        ]
    );
    let found: Vec<Option<&str>> = faults.list().iter().map(|fault| fault.found.as_deref()).collect();
    assert_eq!(found[..3], [Some("0"), Some("straw"), None]);
}
