//! The same survey in other clothes: a workbook, columns and rows in another order, damaged bytes.

use std::path::Path;

use proptest::prelude::*;
use rust_xlsxwriter::{ExcelDateTime, Format, Workbook, Worksheet};

use super::register::{ASSET, Cells, FRAME, Folder, SURVEY, changed};

fn put(sheet: &mut Worksheet, column: u16, heading: &str, value: &str) {
    sheet.write_string(0, column, heading).unwrap();
    match (heading, value.parse::<f64>()) {
        ("captured_at", _) => {
            let format = Format::new().set_num_format("yyyy-mm-dd hh:mm");
            let moment = ExcelDateTime::from_ymd(2026, 3, 4).unwrap().and_hms(9, 15, 0).unwrap();
            sheet.write_datetime_with_format(1, column, &moment, &format).unwrap();
        }
        ("already_corrected", _) => drop(sheet.write_boolean(1, column, value == "yes").unwrap()),
        (_, Ok(number)) => drop(sheet.write_number(1, column, number).unwrap()),
        (_, Err(_)) => drop(sheet.write_string(1, column, value).unwrap()),
    }
}

fn workbook(path: &Path, cells: &[(String, String)]) {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    for (column, (heading, value)) in (0..).zip(cells) {
        put(sheet, column, heading, value);
    }
    book.add_worksheet().set_name("spare").unwrap();
    book.save(path).unwrap();
}

#[test]
fn a_workbook_reads_like_its_text() {
    let changes: Cells = &[
        ("captured_at", "2026-03-04T09:15:00"),
        ("already_corrected", "yes"),
        ("facing_clock", "10.5"),
        ("wind_m_s", "0.1"),
    ];
    let folder = Folder::new();
    let text = folder
        .asset(&[("asset", "101")])
        .frame(&[changes, &[("asset", "101")]].concat())
        .open()
        .unwrap();
    folder.remove("assets.csv").remove("frames.csv");
    workbook(&folder.path().join("assets.xlsx"), &changed(ASSET, &[("asset", "101")]));
    workbook(
        &folder.path().join("frames.xlsx"),
        &changed(FRAME, &[changes, &[("asset", "101")]].concat()),
    );
    let book = folder.open().unwrap();
    assert_eq!((&book.assets, &book.frames), (&text.assets, &text.frames));
    let expected = ["assets.xlsx", "frames.xlsx"]
        .map(|name| format!("{name}: has several worksheets, of which only the first, \"Sheet1\", is read"));
    assert_eq!(book.warnings, expected);
}

/// Three assets as columns of a sheet, to be shuffled.
fn register_columns() -> Vec<Vec<String>> {
    let rows: Vec<Vec<(String, String)>> = ["A", "B", "C"]
        .iter()
        .map(|tag| {
            changed(
                ASSET,
                &[("asset", tag), ("consequence", if *tag == "B" { "" } else { "3" })],
            )
        })
        .collect();
    let headings = rows[0].iter().map(|(heading, _)| heading.clone());
    headings
        .enumerate()
        .map(|(at, heading)| {
            [heading]
                .into_iter()
                .chain(rows.iter().map(|row| row[at].1.clone()))
                .collect()
        })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn the_order_of_columns_and_rows_does_not_matter(
        columns in Just(register_columns()).prop_shuffle(),
        order in Just(vec![1_usize, 2, 3]).prop_shuffle(),
    ) {
        let lines = [0].iter().chain(&order).map(|line| columns.iter().map(|c| c[*line].as_str()).collect::<Vec<_>>().join(","));
        let folder = Folder::new();
        folder.write("assets.csv", lines.collect::<Vec<_>>().join("\n"));
        folder.frame(&[("asset", "A")]);
        let shuffled = folder.open().unwrap();
        prop_assert_eq!(&shuffled.assets[shuffled.frames[0].asset].tag, "A");
        let straight = register_columns();
        let lines = (0..4).map(|line| straight.iter().map(|c| c[line].as_str()).collect::<Vec<_>>().join(","));
        folder.write("assets.csv", lines.collect::<Vec<_>>().join("\n"));
        let expected = folder.open().unwrap().assets;
        let mut found = shuffled.assets;
        found.sort_by(|a, b| a.tag.cmp(&b.tag));
        for (asset, expected) in found.iter_mut().zip(&expected) {
            asset.row = expected.row;
        }
        prop_assert_eq!(found, expected);
    }
}

/// Bytes with some of them overwritten, cut or doubled.
fn damaged(whole: Vec<u8>) -> impl Strategy<Value = Vec<u8>> {
    let most = whole.len();
    let blows = prop::collection::vec((0..most, any::<u8>()), 0..8);
    (blows, 0..=most).prop_map(move |(blows, kept)| {
        let mut bytes = whole.clone();
        for (at, byte) in blows {
            bytes[at] = byte;
        }
        bytes.truncate(kept.max(most / 2));
        bytes
    })
}

/// A small sheet of pieces that readers stumble over.
fn scraps() -> impl Strategy<Value = String> {
    let pieces = [
        "file",
        "asset",
        "air_temperature_c",
        "wind_mph",
        "temperature_scale",
        ",",
        ",",
        ";",
        "\t",
        "\n",
        "\n",
        "\"",
        "#",
        "1e308",
        "-",
        "V-101",
        "celsius",
        "..",
        "C:",
        "é",
        "\u{feff}",
        "[defaults]",
        "=",
        "'",
        "]",
        "[cameras.a]",
        "sep=;",
        "12:00",
        "NaN",
    ];
    prop::collection::vec(prop::sample::select(pieces.to_vec()), 0..60).prop_map(|pieces| pieces.concat())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn damaged_sheets_are_refused_or_read_but_never_fatal(
        name in prop::sample::select(vec!["survey.toml", "assets.csv", "frames.csv"]),
        scrap in scraps(),
        is_after_heading in any::<bool>(),
    ) {
        let folder = Folder::new();
        let head = std::fs::read_to_string(folder.path().join(name)).unwrap();
        folder.write(name, if is_after_heading { head + &scrap } else { scrap });
        match folder.open() {
            Ok(register) => prop_assert!(!register.frames.is_empty()),
            Err(faults) => prop_assert!(!faults.list().is_empty() && faults.to_string().starts_with("error: ")),
        }
    }

    #[test]
    fn damaged_bytes_are_refused_or_read_but_never_fatal(bytes in damaged(format!("{SURVEY}[site]\naltitude_m = 3\n").into_bytes())) {
        let folder = Folder::new();
        match folder.write("survey.toml", bytes).open() {
            Ok(register) => prop_assert!(!register.survey.date.is_empty()),
            Err(faults) => prop_assert!(faults.list().iter().all(|fault| fault.sheet == "survey.toml")),
        }
    }

    #[test]
    fn damaged_workbooks_are_refused_or_read_but_never_fatal(bytes in workbook_bytes().prop_flat_map(damaged)) {
        let folder = Folder::new();
        match folder.remove("assets.csv").write("assets.xlsx", bytes).open() {
            Ok(register) => prop_assert_eq!(register.assets.len(), 1),
            Err(faults) => prop_assert!(faults.list().iter().any(|fault| fault.sheet == "assets.xlsx")),
        }
    }
}

fn workbook_bytes() -> impl Strategy<Value = Vec<u8>> {
    let folder = Folder::new();
    let path = folder.path().join("whole.xlsx");
    workbook(&path, &changed(ASSET, &[]));
    Just(std::fs::read(path).unwrap())
}

#[test]
fn a_workbook_whose_parts_contradict_each_other_is_one_fault() {
    // The cell names the shared text 9, of which there are none; stored without compression, so that it can be written.
    let folder = Folder::new();
    folder
        .remove("assets.csv")
        .write("assets.xlsx", contradictory_workbook());
    assert_eq!(
        folder.faults(),
        "error: assets.xlsx: is not a workbook that can be read: its parts contradict each other\n  hint: open it in a \
         spreadsheet program and save it anew as .xlsx or .csv"
    );
}

/// A workbook with one cell that names a shared text which is not there.
fn contradictory_workbook() -> Vec<u8> {
    const MAIN: &str = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
    const OFFICE: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    const PACKAGE: &str = "http://schemas.openxmlformats.org/package/2006/relationships";
    archive(&[
        (
            "xl/workbook.xml",
            format!(
                "<workbook xmlns=\"{MAIN}\" xmlns:r=\"{OFFICE}\"><sheets><sheet name=\"a\" sheetId=\"1\" r:id=\"r1\"/></sheets></workbook>"
            ),
        ),
        (
            "xl/_rels/workbook.xml.rels",
            format!(
                "<Relationships xmlns=\"{PACKAGE}\"><Relationship Id=\"r1\" Type=\"{OFFICE}/worksheet\" \
                 Target=\"worksheets/sheet1.xml\"/></Relationships>"
            ),
        ),
        (
            "xl/worksheets/sheet1.xml",
            format!(
                "<worksheet xmlns=\"{MAIN}\"><sheetData><row r=\"1\"><c r=\"A1\" t=\"s\"><v>9</v></c></row></sheetData></worksheet>"
            ),
        ),
    ])
}

/// A ZIP archive of parts that are stored as they are.
fn archive(parts: &[(&str, String)]) -> Vec<u8> {
    let (mut bytes, mut directory) = (Vec::new(), Vec::new());
    for (name, text) in parts {
        let size = u32::try_from(text.len()).unwrap().to_le_bytes();
        let name_size = u16::try_from(name.len()).unwrap().to_le_bytes();
        let offset = u32::try_from(bytes.len()).unwrap().to_le_bytes();
        // Version needed, flags, method, time, date; then check sum, sizes, name's length, no extra field.
        let common = [
            [20, 0, 0, 0, 0, 0, 0, 0, 0x21, 0].as_slice(),
            &crc32(text.as_bytes()),
            &size,
            &size,
            &name_size,
            &[0, 0],
        ];
        let common = common.concat();
        bytes.extend([b"PK\x03\x04", common.as_slice(), name.as_bytes(), text.as_bytes()].concat());
        directory.extend(
            [
                b"PK\x01\x02\x14\0",
                common.as_slice(),
                &[0; 10],
                &offset,
                name.as_bytes(),
            ]
            .concat(),
        );
    }
    let count = u16::try_from(parts.len()).unwrap().to_le_bytes();
    let size = u32::try_from(directory.len()).unwrap().to_le_bytes();
    let offset = u32::try_from(bytes.len()).unwrap().to_le_bytes();
    let end = [
        b"PK\x05\x06\0\0\0\0".as_slice(),
        &count,
        &count,
        &size,
        &offset,
        &[0, 0],
    ]
    .concat();
    [bytes, directory, end].concat()
}

/// The check sum of ISO 3309, as ZIP uses it.
fn crc32(bytes: &[u8]) -> [u8; 4] {
    let step = |sum: u32, _| if sum & 1 == 1 { sum >> 1 ^ 0xEDB8_8320 } else { sum >> 1 };
    let sum = bytes
        .iter()
        .fold(u32::MAX, |sum, byte| (0..8).fold(sum ^ u32::from(*byte), step));
    (!sum).to_le_bytes()
}
