//! findings.parquet, read back and held against findings.csv.

use std::collections::BTreeMap;
use std::fs::File;

use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::Field;
use tempfile::TempDir;

use super::command::{coldjacket, said, samples};

#[test]
fn the_table_has_the_rows_of_the_list_as_numbers() {
    let room = TempDir::new().unwrap();
    let out = room.path().join("out");
    let told = said(
        coldjacket()
            .arg("survey")
            .arg(samples())
            .arg("--out")
            .arg(&out)
            .args(["--no-pictures", "--parquet"]),
    );
    assert_eq!(told.status, 1, "{}", told.err);
    let mut list = csv::Reader::from_path(out.join("findings.csv")).unwrap();
    let listed: Vec<BTreeMap<String, String>> = list.deserialize().map(Result::unwrap).collect();
    let reader = SerializedFileReader::new(File::open(out.join("findings.parquet")).unwrap()).unwrap();
    let rows: Vec<BTreeMap<String, Field>> = reader
        .get_row_iter(None)
        .unwrap()
        .map(|row| {
            let row = row.unwrap();
            row.get_column_iter()
                .map(|(name, field)| (name.clone(), field.clone()))
                .collect()
        })
        .collect();
    assert!(rows.len() > 10 && rows.len() == listed.len(), "{} rows", rows.len());
    let (mut numbers, mut nulls) = (0, 0);
    for (row, listed) in rows.iter().zip(&listed) {
        assert_eq!(row["survey_date"], Field::Date(20_515), "2026-03-03");
        for (name, text) in listed {
            match &row.get(name) {
                Some(Field::Str(found)) => assert_eq!(found, text, "{name}"),
                Some(Field::Double(found)) => {
                    // The list rounds to hundredths at the coarsest but for bearings, tenths and whole ones.
                    let listed: f64 = text.parse().unwrap();
                    assert!((found - listed).abs() <= 0.5, "{name}: {found}, listed {text}");
                    numbers += 1;
                }
                Some(Field::Int(rank)) => assert_eq!(rank.to_string(), *text, "{name}"),
                Some(Field::Null) => {
                    assert!(text.is_empty() || text == "set aside", "{name}: null, listed {text}");
                    nulls += 1;
                }
                // The clock is a time of day there and hours here.
                None => assert_eq!(name, "clock"),
                other => panic!("{name}: {other:?}"),
            }
        }
    }
    assert!(numbers > 100 && nulls > 10, "{numbers} numbers, {nulls} nulls");
}
