//! Text grids in every dialect.

use coldjacket::read::{Problem, Warning};
use proptest::prelude::*;

use super::{decoded, refusal, survives_damage, values};

fn reads(text: &str, expected: &[f32]) -> Vec<Warning> {
    let frame = decoded(text.as_bytes()).unwrap_or_else(|e| panic!("{text:?}: {e}"));
    let read = values(&frame);
    let same = read.len() == expected.len()
        && read
            .iter()
            .zip(expected)
            .all(|(a, b)| a == b || (a.is_nan() && b.is_nan()));
    assert!(same, "{text:?}: {read:?}");
    frame.warnings().to_vec()
}

const NONE: f32 = f32::NAN;

#[test]
fn every_dialect_reads() {
    let four = [1.5, 2.5, -3.5, 40.0];
    for text in [
        "1.5,2.5\n-3.5,40\n",
        "1,5;2,5\r\n-3,5;40\r\n",
        "1.5;2.5;\n-3.5;40;\n",
        "1.5;2.5;\n-3.5;40",
        "1,5\t2,5\t\n-3,5\t40\t\n",
        "1.5\t2.5\r-3.5\t40\r",
        "\"1,5\",\"2,5\"\n\"-3,5\",\"40\"\n",
        " 1.5 , 2.5\n\n \u{2212}3.5 , 4e1\n\n",
        "1.5 2.5\n-3.5 40.0\n",
        "\u{feff}1.5;2.5\n-3.5;+40\n",
    ] {
        assert_eq!(reads(text, &four), [], "{text:?}");
    }
}

#[test]
fn blanks_and_infinities_are_no_reading() {
    assert_eq!(
        reads("1.5;;3\nNaN;\u{2014};6.5\n", &[1.5, NONE, 3.0, NONE, NONE, 6.5]),
        []
    );
    assert_eq!(reads("1,2,\n4,5,6\n", &[1.0, 2.0, NONE, 4.0, 5.0, 6.0]), []);
    assert_eq!(
        reads(";;;\n1;2;3;4,5\n", &[NONE, NONE, NONE, NONE, 1.0, 2.0, 3.0, 4.5]),
        []
    );
    assert_eq!(
        reads("1.5,inf\n2.5,1e99\n", &[1.5, NONE, 2.5, NONE]),
        [Warning::NotFinite { pixels: 2 }]
    );
}

#[test]
fn what_stands_above_the_rows_is_skipped_and_counted() {
    let six = [1.5, 2.5, 3.5, 4.5, 5.5, 6.5];
    let header = |lines| vec![Warning::HeaderLines { lines }];
    assert_eq!(
        reads("Frame 12\nEmissivity: 0.95\n\n1.5,2.5,3.5\n4.5,5.5,6.5\n", &six),
        header(2)
    );
    assert_eq!(reads("a;b;c\n1,5;2,5;3,5\n4,5;5,5;6,5\n", &six), header(1));
    assert_eq!(
        reads("Emissivity;0,95;\n;;\n1,5;2,5;3,5\n4,5;5,5;6,5\n", &six),
        header(2)
    );
    assert_eq!(reads("3;2\n1,5;2,5;3,5\n4,5;5,5;6,5\n", &six), header(1));
    let columns = reads("0,1,2\n1.5,2.5,3.5\n4.5,5.5,6.5\n", &six);
    assert_eq!(columns, [Warning::ColumnNumbersSkipped { line: 1 }]);
}

#[test]
fn row_and_column_numbers_are_told_from_a_ramp() {
    let text = ",0,1,2\n0,1.5,2.5,3.5\n1,4.5,5.5,6.5\n2,7.5,8.5,9.5\n";
    let told = reads(text, &[1.5, 2.5, 3.5, 4.5, 5.5, 6.5, 7.5, 8.5, 9.5]);
    assert_eq!(
        told,
        [Warning::ColumnNumbersSkipped { line: 1 }, Warning::RowNumbersSkipped]
    );
    let counts = "0,1,2,3,4,5,6,7\n29515,29514,29513,29519,29512,29511,29510,29515\n29515,29514,29513,29519,29512,29511,29510,29515\n";
    assert_eq!(decoded(counts.as_bytes()).unwrap().rows(), 2);
    // Too short to be told apart by anything but their look: these are values.
    assert_eq!(reads("1;2;3\n4;5;7\n", &[1.0, 2.0, 3.0, 4.0, 5.0, 7.0]), []);
    assert_eq!(reads("0;2\n1;5\n2;3\n", &[0.0, 2.0, 1.0, 5.0, 2.0, 3.0]), []);
    assert_eq!(reads("0.0;1.0;2.0\n4.5;5.5;7.0\n", &[0.0, 1.0, 2.0, 4.5, 5.5, 7.0]), []);
    // Every row and column rises by one: these are values.
    assert_eq!(
        reads("0,1,2\n1,2,3\n2,3,4\n", &[0.0, 1.0, 2.0, 1.0, 2.0, 3.0, 2.0, 3.0, 4.0]),
        []
    );
}

#[test]
fn encodings_read_alike() {
    let text = "Temperatur °C\n1,5;2,5\n3,5;4,5\n";
    let expected = [1.5, 2.5, 3.5, 4.5];
    let utf16 = |unit: fn(u16) -> [u8; 2]| text.encode_utf16().flat_map(unit).collect::<Vec<u8>>();
    let latin: Vec<u8> = text.chars().map(|c| c as u32 as u8).collect();
    for bytes in [
        [b"\xff\xfe".to_vec(), utf16(u16::to_le_bytes)].concat(),
        [b"\xfe\xff".to_vec(), utf16(u16::to_be_bytes)].concat(),
        latin,
        text.as_bytes().to_vec(),
    ] {
        let frame = decoded(&bytes).unwrap();
        assert_eq!(values(&frame), expected);
        assert_eq!(frame.warnings(), [Warning::HeaderLines { lines: 1 }]);
    }
}

#[test]
fn faults_are_named_by_line_and_column() {
    for (text, words) in [
        ("h\n1,2,3\n4,5\n7,8,9\n", "line 3: 2 values where the other rows have 3"),
        ("1;2;4;\n4;5;\n7;8;9;\n", "line 2: 2 values where the other rows have 3"),
        (
            "1;2;3\n4;5;6;7\n7;8;9\n",
            "line 2: 4 values where the other rows have 3",
        ),
        ("1;2\n\n3;4 °C\n5;6\n", "line 3, column 2: '4 °C' is not a number"),
        (
            "1,5;2,5\n3,5;1.234,5\n6,5;7,5\n",
            "line 2, column 2: '1.234,5' is not a number (accepted: a number with decimal comma",
        ),
        ("1;2;3\n4;x;6\n", "line 2, column 2: 'x'"),
        ("4;x;6\n1;2;3\n", "line 1, column 2: 'x'"),
        (
            "21,5,21,6,21,7\n21,4,21,6,21,8\n",
            "line 1: the comma seems to separate values",
        ),
        ("-3,5,-3,6\n-3,4,-3,8\n", "line 1: the comma seems to separate values"),
        ("1\n2\n3\n", "no line holds two numbers"),
        ("1,2\n", "2 × 1 numbers are no image"),
        (
            "a letter, in two lines\nand some words\n",
            "text without a grid of numbers",
        ),
    ] {
        let told = refusal(text.as_bytes());
        assert!(told.contains(words) && told.contains("hint: "), "{text:?}: {told}");
    }
}

#[test]
fn whole_counts_separated_by_commas_are_no_mixed_commas() {
    reads(
        "295,296,297,295\n295,296,296,294\n",
        &[295.0, 296.0, 297.0, 295.0, 295.0, 296.0, 296.0, 294.0],
    );
    reads("3,5,4,6\n5,4,3,4\n", &[3.0, 5.0, 4.0, 6.0, 5.0, 4.0, 3.0, 4.0]);
}

#[test]
fn more_cells_than_the_limit_are_refused() {
    let limits = coldjacket::read::Limits {
        max_pixels: 5,
        ..Default::default()
    };
    let error = coldjacket::read::decode(b"1,2,3\n4,5,6\n", &limits).unwrap_err();
    assert!(
        matches!(
            error,
            Problem::TooManyPixels {
                columns: 3,
                rows: 2,
                ..
            }
        ),
        "{error}"
    );
}

#[test]
fn damage_never_panics() {
    survives_damage("Kopf;°C\n1,5;2,5;\n-3,5;;\n\"7,1\";8;\n".as_bytes(), 1);
    let wide: Vec<u8> = "1\t2\r\n3\t4\r\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    survives_damage(&[b"\xff\xfe".to_vec(), wide].concat(), 1);
}

proptest! {
    /// What is written in any dialect reads back bit for bit.
    #[test]
    fn grids_survive_the_round_trip(
        columns in 2_usize..12,
        cells in prop::collection::vec(prop::option::weighted(0.9, -90_000_i32..190_000), 24..140),
        separator in prop::sample::select(vec![',', ';', '\t']),
        decimal_comma in any::<bool>(),
        trailing in any::<bool>(),
        ending in prop::sample::select(vec!["\n", "\r\n"]),
        header in any::<bool>(),
    ) {
        let decimal = if decimal_comma && separator != ',' { "," } else { "." };
        let rows = cells.len() / columns;
        let cells = &cells[..rows * columns];
        // A last column without any reading looks like a trailing separator, a bare row like a gap below headings:
        // the first row and column are always read.
        let written = |index: usize| match cells[index] {
            Some(milli) => Some(f64::from(milli) / 1000.0),
            None if index < columns || index.is_multiple_of(columns) => Some(20.125),
            None => None,
        };
        let mut text = if header { format!("heading{ending}") } else { String::new() };
        for row in 0..rows {
            let line: Vec<String> = (0..columns)
                .map(|column| written(row * columns + column)
                    .map_or(String::new(), |v| format!("{v:.3}").replace('.', decimal)))
                .collect();
            text += &line.join(&separator.to_string());
            if trailing {
                text.push(separator);
            }
            text += ending;
        }
        let frame = decoded(text.as_bytes()).map_err(|e| TestCaseError::fail(format!("{e}: {text}")))?;
        prop_assert_eq!((frame.rows(), frame.columns()), (rows, columns), "{}", text);
        for (index, read) in values(&frame).into_iter().enumerate() {
            match written(index) {
                Some(value) => prop_assert_eq!(read, value as f32, "{}", text),
                None => prop_assert!(read.is_nan()),
            }
        }
    }
}
