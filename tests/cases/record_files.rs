//! What the record's files are made of: the workbook, the PDFs, a long list.

use std::io::Cursor;

use calamine::{Data, Reader, Xlsx};

use super::command::{Trial, coldjacket, names, said, samples};
use super::record::{page, readable, record};
use coldjacket::record::pdf;

/// The sample frame once more for each of so many assets.
fn many(assets: usize) -> Trial {
    let trial = Trial::new();
    let rows: Vec<String> = (0..assets)
        .map(|n| format!("T-{n},horizontal-cylinder,1500,3400,pir,99.4,0.02223,pvc,0.904,-33.5,indoor"))
        .collect();
    let frames: Vec<String> = (0..assets)
        .map(|n| format!("images/a.tif,T-{n},centikelvin,21.23,51.2,0.0,21.18,3,3"))
        .collect();
    trial
        .assets(&rows.iter().map(String::as_str).collect::<Vec<_>>())
        .frames(&frames.iter().map(String::as_str).collect::<Vec<_>>());
    trial
}

#[test]
fn the_workbook_holds_the_list_and_blank_columns() {
    let trial = Trial::new();
    assert_eq!(record(&trial, &["--no-pdf"]).status, 0);
    let bytes = std::fs::read(trial.out().join("followup-list.xlsx")).unwrap();
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).unwrap();
    let sheet = book.worksheet_range("Follow-up").unwrap();
    let rows: Vec<&[Data]> = sheet.rows().collect();
    assert!(rows[1][0].to_string().starts_with("Thermography screens"));
    let heading: Vec<String> = rows[2].iter().map(ToString::to_string).collect();
    assert_eq!(heading[0..4], ["Rank", "Zone", "Asset", "From datum, m"]);
    assert_eq!(heading[heading.len() - 4..], ["Who", "Due", "Done", "Found"]);
    assert_eq!(rows[3][0], Data::Float(1.0));
    assert_eq!(rows[3][1], Data::String("SA-101-1".to_owned()));
    assert!(rows[3][heading.len() - 4..].iter().all(|cell| *cell == Data::Empty));
    // One row a zone, none set aside.
    assert_eq!(rows.len() - 3, page(&trial).matches("data-rank=").count());
}

/// Zones of the sample frame times assets: well over five hundred, listed and set aside together.
#[test]
fn five_hundred_zones() {
    let trial = many(100);
    let told = record(&trial, &["--no-pdf", "--no-pictures"]);
    assert_eq!(told.status, 0, "{}", told.err);
    let page = page(&trial);
    let zones = page.matches("<tbody data-zone=").count();
    assert!(zones >= 500, "{zones} zones");
    assert!(page.matches("data-rank=").count() >= 200);
}

/// As many documents as a large plant has, set side by side, and one that lists all their zones.
#[test]
fn a_hundred_assets_have_their_pdfs() {
    if !pdf::is_built_in() {
        return;
    }
    let trial = many(100);
    let told = record(&trial, &["--no-pictures"]);
    assert_eq!(told.status, 0, "{}", told.err);
    let pdfs = names(&trial.out().join("pdf"));
    assert_eq!(pdfs.len(), 101);
    let survey = trial.out().join("pdf/insulation survey 2026-03-03.pdf");
    let bytes = std::fs::read(survey).unwrap();
    assert!(
        bytes.starts_with(b"%PDF-1.") && bytes.len() > 100_000,
        "{} bytes",
        bytes.len()
    );
}

#[test]
fn pdfs_are_archival_tagged_and_text() {
    if !pdf::is_built_in() {
        return;
    }
    let trial = Trial::new();
    assert_eq!(record(&trial, &[]).status, 0);
    for name in ["SA-101_2026-03-03.pdf", "insulation survey 2026-03-03.pdf"] {
        let bytes = std::fs::read(trial.out().join("pdf").join(name)).unwrap();
        let text = String::from_utf8_lossy(&bytes);
        assert!(text.starts_with("%PDF-1."), "{name}");
        // What a PDF/A and PDF/UA file says of itself, in its metadata, which may not be compressed.
        for words in ["pdfaid:part>2<", "pdfaid:conformance>A<", "pdfuaid:part>1<"] {
            assert!(text.contains(words), "{name}: {words}");
        }
        // The only time is the survey's day.
        assert!(text.contains("<xmp:CreateDate>2026-03-03"), "{name}");
    }
}

#[test]
fn the_sample_survey_has_a_record() {
    let room = tempfile::TempDir::new().unwrap();
    let out = room.path().join("out");
    let told = said(
        coldjacket()
            .arg("record")
            .arg(samples())
            .arg("--out")
            .arg(&out)
            .arg("--no-pdf"),
    );
    // Three of its frames are bad on purpose.
    assert_eq!(told.status, 1, "{}", told.err);
    let page = readable(&out);
    for asset in ["SA-101", "VA-102", "CW-601", "SL-502"] {
        assert!(page.contains(&format!("id=\"asset-{asset}\"")), "{asset}");
    }
    assert!(page.contains("images/va-102_broken.tif"));
    // Every page says it.
    assert!(page.matches("it does not prove").count() > 10);
}
