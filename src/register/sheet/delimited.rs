//! Text sheets: commas, semicolons or tabs; UTF-8 with or without a byte order mark, UTF-16 with one.

use super::{Grid, MOST_CELLS, MOST_ROWS, too_large};
use crate::register::faults::Fault;
use crate::register::row::Decimal;

/// The grid of a text sheet; the separator is the one that the heading uses most.
pub(super) fn read(name: &str, bytes: &[u8]) -> Result<Grid, Box<Fault>> {
    let text = decode(name, bytes)?;
    let delimiter = sniff(&text);
    let decimal = if delimiter == b',' {
        Decimal::Point
    } else {
        Decimal::PointOrComma
    };
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .from_reader(text.as_bytes());
    let mut grid = Grid::new(decimal);
    let mut record = csv::StringRecord::new();
    let (mut lines_within_cells, mut cells) = (0_usize, 0_usize);
    let mut last_cell = String::new();
    while reader
        .read_record(&mut record)
        .map_err(|error| Box::new(Fault::new(name, format!("is not a sheet: {error}"))))?
    {
        lines_within_cells += record.iter().map(|cell| cell.matches('\n').count()).sum::<usize>();
        // Counted from the record's end, because its start may lie before blank lines; a cell of several lines is still
        // one row to a spreadsheet.
        let end_line = usize::try_from(reader.position().line()).unwrap_or(usize::MAX);
        let row = end_line.saturating_sub(1 + lines_within_cells);
        cells += record.len();
        if grid.rows.len() > MOST_ROWS || cells > MOST_CELLS {
            let (most, what) = if cells > MOST_CELLS {
                (MOST_CELLS, "cells")
            } else {
                (MOST_ROWS, "rows")
            };
            return Err(Box::new(too_large(name, most, what)));
        }
        record.iter().next_back().unwrap_or_default().clone_into(&mut last_cell);
        if !(grid.rows.is_empty() && is_separator(&record)) {
            grid.push(row, record.iter().map(str::trim));
        }
    }
    refuse_open_quote(name, &text, &last_cell, &grid)?;
    Ok(grid)
}

/// `sep=;` in its own line, split by that very separator.
fn is_separator(record: &csv::StringRecord) -> bool {
    record.len() == 2 && record.get(0) == Some("sep=") && record.get(1) == Some("")
}

/// A quotation mark that is never closed swallows the rest of the sheet, silently.
fn refuse_open_quote(name: &str, text: &str, last_cell: &str, grid: &Grid) -> Result<(), Box<Fault>> {
    let is_open = last_cell.contains('\n') && !text.trim_end().ends_with('"');
    if !is_open {
        return Ok(());
    }
    // One more than counted, as the cell swallowed the end of its own row too.
    let row = grid.rows.last().map(|row| row.number + 1);
    let first_line = last_cell.lines().next().unwrap_or_default();
    let fault = Fault::new(name, "opens with a quotation mark that is never closed")
        .row(row)
        .found(first_line);
    Err(Box::new(
        fault.hint("close the quotation mark, or take it away".to_owned()),
    ))
}

/// Text with `\n` line ends, the last line ended.
fn decode(name: &str, bytes: &[u8]) -> Result<String, Box<Fault>> {
    let refuse = |problem: String, hint: &str| Box::new(Fault::new(name, problem).hint(hint.to_owned()));
    let save = "save it as CSV in UTF-8";
    if bytes.starts_with(b"PK\x03\x04") {
        return Err(refuse(
            "is a workbook, not a text sheet".to_owned(),
            "give it the ending .xlsx",
        ));
    }
    let text = match bytes {
        [0xFF, 0xFE, rest @ ..] => from_utf16(rest, u16::from_le_bytes),
        [0xFE, 0xFF, rest @ ..] => from_utf16(rest, u16::from_be_bytes),
        [0xEF, 0xBB, 0xBF, rest @ ..] => std::str::from_utf8(rest).ok().map(str::to_owned),
        _ => std::str::from_utf8(bytes).ok().map(str::to_owned),
    };
    let Some(mut text) = text else {
        return Err(refuse(format!("is not text in UTF-8{}", first_bad_line(bytes)), save));
    };
    let odd = text
        .chars()
        .find(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t' | '\u{85}'));
    if let Some(odd) = odd {
        let line = text.split(odd).next().unwrap_or_default().matches('\n').count() + 1;
        return Err(refuse(
            format!("is not a text sheet: it holds the control character {odd:?} in line {line}"),
            save,
        ));
    }
    if text.contains('\r') {
        text = text.replace("\r\n", "\n").replace('\r', "\n");
    }
    if !text.ends_with('\n') {
        text.push('\n');
    }
    Ok(text)
}

fn from_utf16(bytes: &[u8], unit: fn([u8; 2]) -> u16) -> Option<String> {
    let units: Vec<u16> = bytes
        .chunks_exact(2)
        .filter_map(|pair| pair.try_into().ok().map(unit))
        .collect();
    let is_whole = bytes.len().is_multiple_of(2);
    is_whole.then(|| String::from_utf16(&units).ok()).flatten()
}

fn first_bad_line(bytes: &[u8]) -> String {
    match std::str::from_utf8(bytes) {
        Err(error) if !matches!(bytes, [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..]) => {
            let before = bytes.get(..error.valid_up_to()).unwrap_or_default();
            format!(" (line {})", before.iter().filter(|byte| **byte == b'\n').count() + 1)
        }
        _ => " or UTF-16".to_owned(),
    }
}

/// The separator of the first line that is neither blank nor a remark.
fn sniff(text: &str) -> u8 {
    let mut lines = text
        .lines()
        .filter(|line| !line.trim_matches([' ', ',', ';', '\t', '"']).is_empty());
    let Some(heading) = lines.find(|line| !line.trim_start_matches(['"', ' ']).starts_with('#')) else {
        return b',';
    };
    if let Some(separator) = heading.strip_prefix("sep=").and_then(|rest| rest.bytes().next()) {
        return separator;
    }
    let mut is_quoted = false;
    let mut counts = [(b',', 0_usize), (b';', 0), (b'\t', 0)];
    for byte in heading.bytes() {
        is_quoted ^= byte == b'"';
        if let Some((_, count)) = counts
            .iter_mut()
            .find(|(delimiter, _)| *delimiter == byte && !is_quoted)
        {
            *count += 1;
        }
    }
    // `max_by_key` keeps the last of equals; the comma is to win those.
    counts
        .iter()
        .rev()
        .max_by_key(|(_, count)| *count)
        .map_or(b',', |(delimiter, _)| *delimiter)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(text: &str) -> Vec<(usize, Vec<String>)> {
        told(&read("assets.csv", text.as_bytes()).unwrap())
    }

    fn told(grid: &Grid) -> Vec<(usize, Vec<String>)> {
        let rows = grid.rows();
        rows.map(|(row, cells)| (row, cells.iter().map(str::to_owned).collect()))
            .collect()
    }

    fn fault(bytes: &[u8]) -> String {
        read("assets.csv", bytes).unwrap_err().to_string()
    }

    #[test]
    fn the_heading_tells_the_separator() {
        for (text, delimiter) in [
            ("a,b\n", b','),
            ("a;b\n1,5;2\n", b';'),
            ("a\tb\n", b'\t'),
            ("# one, two, three\na;b\n", b';'),
            (",,,\n\na;b\n", b';'),
            ("\"a,b,c\";d\n", b';'),
            ("a\n", b','),
            ("", b','),
        ] {
            assert_eq!(sniff(text), delimiter, "{text:?}");
        }
    }

    #[test]
    fn rows_are_counted_as_a_spreadsheet_counts_them() {
        let read = rows("a,b\r\n\r\n1,\"two\r\nlines\"\r\n# remark\r\n3,4");
        let numbers: Vec<usize> = read.iter().map(|(row, _)| *row).collect();
        assert_eq!(numbers, [1, 3, 4, 5]);
        assert_eq!(read[1].1, ["1", "two\nlines"]);
        assert_eq!(read[3].1, ["3", "4"]);
    }

    #[test]
    fn encodings_read_the_same() {
        let text = "asset,note\nV-1,kühl\n";
        let plain = rows(text);
        let mut marked = vec![0xEF, 0xBB, 0xBF];
        marked.extend(text.bytes());
        let little: Vec<u8> = [0xFF, 0xFE]
            .into_iter()
            .chain(text.encode_utf16().flat_map(u16::to_le_bytes))
            .collect();
        let big: Vec<u8> = [0xFE, 0xFF]
            .into_iter()
            .chain(text.encode_utf16().flat_map(u16::to_be_bytes))
            .collect();
        for bytes in [marked, little, big] {
            assert_eq!(told(&read("assets.csv", &bytes).unwrap()), plain);
        }
    }

    #[test]
    fn a_separator_line_is_obeyed() {
        assert_eq!(rows("sep=;\na;b,c\n"), [(2, vec!["a".to_owned(), "b,c".to_owned()])]);
    }

    #[test]
    fn what_is_not_text_is_one_fault() {
        assert_eq!(
            fault(b"PK\x03\x04zzz"),
            "error: assets.csv: is a workbook, not a text sheet\n  hint: give it the ending .xlsx"
        );
        assert_eq!(
            fault(b"a,b\nk\xFChl,1\n"),
            "error: assets.csv: is not text in UTF-8 (line 2)\n  hint: save it as CSV in UTF-8"
        );
        assert!(fault(b"a,b\n\0\0").contains("holds the control character '\\0' in line 2"));
        assert!(fault(&[0xFF, 0xFE, 0x00]).contains("is not text in UTF-8 or UTF-16"));
    }

    #[test]
    fn a_quotation_mark_that_is_never_closed_is_found() {
        let text = fault(b"asset,note\nV-1,\"wet\nV-2,dry\n");
        assert!(
            text.starts_with("error: assets.csv row 2: \"wet\" opens with a quotation mark that is never closed"),
            "{text}"
        );
        assert_eq!(rows("a,b\n1,\"x\ny\"\n").len(), 2);
    }
}
