//! The first worksheet of a workbook: numbers as numbers, dates as ISO 8601 text, truth values as `yes` and `no`.

use std::collections::BTreeMap;
use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};

use calamine::{DataRef, ExcelDateTime, ExcelDateTimeType, Reader, SheetType, Xlsx, XlsxError};
use jiff::ToSpan;
use jiff::civil::{DateTime, date};

use super::{Grid, MOST_CELLS, MOST_COLUMNS, MOST_ROWS, too_large};
use crate::register::faults::{Fault, Log};
use crate::register::row::Decimal;

/// Bytes to which a workbook's parts may unfold, as its directory states them.
const MOST_UNFOLDED: u64 = 512 * 1024 * 1024;

/// Days from the workbook's epoch of 1900 to that of 1904.
const DAYS_1900_TO_1904: f64 = 1462.0;

/// The grid of the first worksheet.
pub(super) fn read(name: &str, bytes: Vec<u8>, log: &mut Log) -> Result<Grid, Box<Fault>> {
    if unfolded_size(&bytes).is_some_and(|size| size > MOST_UNFOLDED) {
        let fault = Fault::new(name, "unfolds to a workbook that is too large");
        return Err(Box::new(
            fault.accepted(format!("up to {} MiB", MOST_UNFOLDED / (1024 * 1024))),
        ));
    }
    // The workbook crate indexes by numbers that the file states, so a damaged file can make it panic.
    let read = catch_unwind(AssertUnwindSafe(|| read_first_worksheet(name, bytes)));
    let (grid, others) = match read {
        Ok(Ok(read)) => read,
        Ok(Err(refusal)) => return Err(refusal.into_fault(name)),
        Err(_) => return Err(Refusal::Damaged("its parts contradict each other".to_owned()).into_fault(name)),
    };
    if let Some(first) = others {
        log.warn(format!(
            "{name}: has several worksheets, of which only the first, {first:?}, is read"
        ));
    }
    Ok(grid)
}

/// Why a workbook was not read.
enum Refusal {
    Damaged(String),
    Fault(Box<Fault>),
}

impl Refusal {
    fn into_fault(self, name: &str) -> Box<Fault> {
        match self {
            Self::Fault(fault) => fault,
            Self::Damaged(why) => {
                let fault = Fault::new(name, format!("is not a workbook that can be read: {why}"));
                Box::new(fault.hint("open it in a spreadsheet program and save it anew as .xlsx or .csv".to_owned()))
            }
        }
    }
}

impl From<XlsxError> for Refusal {
    fn from(error: XlsxError) -> Self {
        Self::Damaged(error.to_string())
    }
}

/// The grid, and the first worksheet's name where there are others.
fn read_first_worksheet(name: &str, bytes: Vec<u8>) -> Result<(Grid, Option<String>), Refusal> {
    let mut workbook: Xlsx<_> = Xlsx::new(Cursor::new(bytes))?;
    let worksheets = workbook
        .sheets_metadata()
        .iter()
        .filter(|sheet| sheet.typ == SheetType::WorkSheet);
    let names: Vec<String> = worksheets.map(|sheet| sheet.name.clone()).collect();
    let first = names
        .first()
        .ok_or_else(|| Refusal::Damaged("it has no worksheet".to_owned()))?;
    let mut cells = workbook.worksheet_cells_reader(first)?;
    let mut rows: BTreeMap<usize, Vec<String>> = BTreeMap::new();
    let mut held = 0;
    // Cell by cell: a sheet as a whole is as large as its furthest cell says, which a file can set at will.
    while let Some(cell) = cells.next_cell()? {
        let text = text_of(cell.get_value());
        if text.is_empty() {
            continue;
        }
        let (row, column) = cell.get_position();
        let (row, column) = (index(row) + 1, index(column));
        let cells = rows.entry(row).or_default();
        if column >= MOST_COLUMNS {
            return Err(Refusal::Fault(Box::new(too_large(name, MOST_COLUMNS, "columns"))));
        }
        held += (column + 1).saturating_sub(cells.len());
        if cells.len() <= column {
            cells.resize(column + 1, String::new());
        }
        if let Some(slot) = cells.get_mut(column) {
            *slot = text;
        }
        if rows.len() > MOST_ROWS + 1 || held > MOST_CELLS {
            let (most, what) = if held > MOST_CELLS {
                (MOST_CELLS, "cells")
            } else {
                (MOST_ROWS, "rows")
            };
            return Err(Refusal::Fault(Box::new(too_large(name, most, what))));
        }
    }
    let mut grid = Grid::new(Decimal::PointOrComma);
    for (row, cells) in &rows {
        grid.push(*row, cells.iter().map(String::as_str));
    }
    Ok((grid, (names.len() > 1).then(|| first.clone())))
}

fn index(of: u32) -> usize {
    usize::try_from(of).unwrap_or(usize::MAX - 1)
}

/// A cell as the text sheet would hold it.
fn text_of(value: &DataRef<'_>) -> String {
    match value {
        DataRef::Empty => String::new(),
        DataRef::Int(number) => number.to_string(),
        DataRef::Float(number) => number.to_string(),
        DataRef::String(text) | DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => text.trim().to_owned(),
        DataRef::SharedString(text) => text.trim().to_owned(),
        DataRef::Bool(true) => "yes".to_owned(),
        DataRef::Bool(false) => "no".to_owned(),
        DataRef::DateTime(moment) => iso(*moment).unwrap_or_else(|| moment.as_f64().to_string()),
        DataRef::Error(error) => error.to_string(),
    }
}

/// A date, time or both in ISO 8601; None outside the years 1900 to 9999.
fn iso(moment: ExcelDateTime) -> Option<String> {
    let days = moment.as_f64();
    if !(0.0..3_000_000.0).contains(&days) {
        return None;
    }
    // The epoch is not told by the crate, but takes part in equality.
    let kinds = [ExcelDateTimeType::DateTime, ExcelDateTimeType::TimeDelta];
    let is_1904 = kinds.iter().any(|kind| ExcelDateTime::new(days, *kind, true) == moment);
    let since_1900 = if is_1904 && days >= 1.0 {
        days + DAYS_1900_TO_1904
    } else {
        days
    };
    // 1900 counts a 29 February that never was, so serial numbers before 60 lie a day later.
    let leap = if (1.0..60.0).contains(&since_1900) { 1.0 } else { 0.0 };
    let seconds = ((since_1900 + leap) * 86_400.0).round();
    #[allow(clippy::cast_possible_truncation, reason = "0 to 2.6e11, checked above")]
    let seconds = seconds as i64;
    let epoch: DateTime = date(1899, 12, 30).at(0, 0, 0, 0);
    let moment = epoch.checked_add(seconds.seconds()).ok()?;
    let (day, time) = (moment.date(), moment.time());
    if days < 1.0 {
        return Some(time.to_string());
    }
    let is_midnight = seconds % 86_400 == 0;
    Some(if is_midnight {
        day.to_string()
    } else {
        format!("{day}T{time}")
    })
}

/// What the parts of a ZIP archive unfold to, as its central directory states; None where there is none.
fn unfolded_size(bytes: &[u8]) -> Option<u64> {
    const END_OF_DIRECTORY: &[u8; 4] = b"PK\x05\x06";
    const ENTRY: &[u8; 4] = b"PK\x01\x02";
    let end = bytes.windows(4).rposition(|four| four == END_OF_DIRECTORY)?;
    let mut at = number_at(bytes, end.checked_add(16)?, 4)?;
    let mut size = 0_u64;
    while bytes.get(at..)?.starts_with(ENTRY) {
        size = size.saturating_add(number_at(bytes, at + 24, 4)? as u64);
        let tail: usize = [28, 30, 32]
            .into_iter()
            .filter_map(|offset| number_at(bytes, at + offset, 2))
            .sum();
        at = at.checked_add(46)?.checked_add(tail)?;
    }
    Some(size)
}

/// A little-endian number of up to four bytes.
fn number_at(bytes: &[u8], at: usize, width: usize) -> Option<usize> {
    let field = bytes.get(at..at.checked_add(width)?)?;
    Some(
        field
            .iter()
            .rev()
            .fold(0, |number, byte| number << 8 | usize::from(*byte)),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(value: f64, is_1904: bool) -> Option<String> {
        iso(ExcelDateTime::new(value, ExcelDateTimeType::DateTime, is_1904))
    }

    #[test]
    fn serial_dates_become_iso_dates() {
        // 2026-03-04 is 46 085 days after 1899-12-30.
        assert_eq!(at(46_085.0, false).unwrap(), "2026-03-04");
        assert_eq!(at(46_085.437_5, false).unwrap(), "2026-03-04T10:30:00");
        assert_eq!(at(46_085.0 - 1462.0, true).unwrap(), "2026-03-04");
        assert_eq!(at(0.4375, false).unwrap(), "10:30:00");
        assert_eq!(at(1.0, false).unwrap(), "1900-01-01");
        assert_eq!(at(61.0, false).unwrap(), "1900-03-01");
        assert_eq!(at(-1.0, false), None);
        assert_eq!(at(f64::NAN, false), None);
    }

    #[test]
    fn garbage_is_one_fault() {
        let mut log = Log::default();
        let fault = read("assets.xlsx", b"not a workbook".to_vec(), &mut log).unwrap_err();
        assert!(
            fault.problem.starts_with("is not a workbook that can be read: "),
            "{fault}"
        );
    }

    #[test]
    fn a_stated_size_is_summed() {
        let mut bytes = vec![0; 46 + 3];
        bytes[..4].copy_from_slice(b"PK\x01\x02");
        bytes[24..28].copy_from_slice(&700_000_000_u32.to_le_bytes());
        bytes[28] = 3;
        bytes.extend(b"PK\x05\x06");
        bytes.extend([0; 18]);
        assert_eq!(unfolded_size(&bytes), Some(700_000_000));
        let fault = read("assets.xlsx", bytes, &mut Log::default()).unwrap_err();
        assert_eq!(
            fault.to_string(),
            "error: assets.xlsx: unfolds to a workbook that is too large (accepted: up to 512 MiB)"
        );
    }
}
