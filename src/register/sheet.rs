//! One sheet of the folder as a grid of trimmed text, whichever file holds it.
//!
//! What comes in: `NAME.csv` or `NAME.xlsx`. What is guaranteed out: a heading with no name twice, and rows that are not
//! blank, each as wide as the heading. What the cells mean is the room `row`'s.

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use super::faults::{Fault, Log};
use super::row::{Cells, Column, Decimal, Layout, Row};
use super::section::Section;
use super::texts::{Line, Texts};

mod delimited;
mod heading;
mod workbook;

/// Bytes of the largest sheet that is read.
const LARGEST_BYTES: u64 = 64 * 1024 * 1024;
/// Rows of the longest sheet.
const MOST_ROWS: usize = 200_000;
/// Columns of the widest sheet.
const MOST_COLUMNS: usize = 500;
/// Cells of the fullest sheet, so that a wide and long one does not fill the memory.
const MOST_CELLS: usize = 5_000_000;
/// Characters of the longest cell.
const LONGEST_CELL: usize = 10_000;

/// Whether the survey folder must hold a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Presence {
    /// Its absence is a fault.
    Required,
    /// Its absence is nothing.
    Optional,
    /// Its absence is nothing, and neither is a heading without rows.
    MayBeEmpty,
}

/// A grid as its file holds it: every row with its number, nothing interpreted.
#[derive(Debug, Default)]
struct Grid {
    texts: Texts,
    rows: Vec<GridRow>,
    decimal: Decimal,
}

/// Where a row's texts lie among the grid's.
#[derive(Debug, Clone, Copy)]
struct GridRow {
    number: usize,
    first: usize,
    cells: usize,
}

impl Grid {
    fn new(decimal: Decimal) -> Self {
        Self {
            decimal,
            ..Self::default()
        }
    }

    fn push<'a>(&mut self, number: usize, cells: impl Iterator<Item = &'a str>) {
        let first = self.texts.len();
        cells.for_each(|cell| self.texts.push(cell));
        let cells = self.texts.len() - first;
        self.rows.push(GridRow { number, first, cells });
    }

    /// Every row with its number.
    fn rows(&self) -> impl Iterator<Item = (usize, Line<'_>)> {
        self.rows.iter().map(|row| self.line(row))
    }

    fn line(&self, row: &GridRow) -> (usize, Line<'_>) {
        (row.number, self.texts.line(row.first, row.cells))
    }
}

/// A sheet whose headings are known.
#[derive(Debug)]
pub(crate) struct Sheet {
    /// File name.
    pub(crate) name: String,
    columns: Vec<Column>,
    /// The rows below the heading that hold something.
    grid: Grid,
    reported: &'static [&'static str],
}

impl Sheet {
    /// Reads `STEM.csv` or `STEM.xlsx` of the folder; columns that `defaults` fills need not be there.
    ///
    /// None where the sheet is absent or cannot be read at all; the log then says why (an absent optional sheet is nothing).
    pub(crate) fn read(folder: &Path, layout: &Layout, defaults: Option<&Section>, log: &mut Log) -> Option<Self> {
        let path = find(folder, layout, log)?;
        let name = file_name(&path);
        match read_grid(&path, &name, log) {
            Ok(grid) => heading::match_up(name, grid, layout, defaults, log),
            Err(fault) => {
                log.refuse(*fault);
                None
            }
        }
    }

    /// How many rows hold something.
    pub(crate) fn len(&self) -> usize {
        self.grid.rows.len()
    }

    /// A row to be read; blank cells take what `defaults` says. None past the end, or where the log is full.
    pub(crate) fn row<'a>(&'a self, index: usize, defaults: Option<&'a Section>, log: &'a mut Log) -> Option<Row<'a>> {
        let row = self.grid.rows.get(index).filter(|_| !log.is_full())?;
        let (number, texts) = self.grid.line(row);
        let Self {
            name,
            columns,
            grid,
            reported,
        } = self;
        let own = Cells {
            sheet: name,
            prefix: "",
            columns,
            texts,
            decimal: grid.decimal,
            reported,
        };
        Some(Row::new(own, Some(number), defaults, log))
    }
}

fn file_name(path: &Path) -> String {
    path.file_name()
        .unwrap_or(path.as_os_str())
        .to_string_lossy()
        .into_owned()
}

/// The one file that holds the sheet.
fn find(folder: &Path, layout: &Layout, log: &mut Log) -> Option<PathBuf> {
    let stem = layout.stem;
    let (csv, xlsx) = (folder.join(format!("{stem}.csv")), folder.join(format!("{stem}.xlsx")));
    match (csv.exists(), xlsx.exists()) {
        (true, false) => Some(csv),
        (false, true) => Some(xlsx),
        (true, true) => {
            let fault = Fault::new(
                format!("{stem}.csv"),
                format!("stands beside {stem}.xlsx, and only one can be read"),
            );
            log.refuse(fault.hint(format!("keep the newer of {stem}.csv and {stem}.xlsx in the folder")));
            None
        }
        (false, false) if layout.presence == Presence::Required => {
            let fault = Fault::new(format!("{stem}.csv"), "is missing").accepted(format!("{stem}.csv or {stem}.xlsx"));
            log.refuse(fault.hint(near_file(folder, stem)));
            None
        }
        (false, false) => None,
    }
}

/// What to do about a file that nearly has the right name.
fn near_file(folder: &Path, stem: &str) -> Option<String> {
    let names = std::fs::read_dir(folder)
        .ok()?
        .filter_map(Result::ok)
        .map(|entry| file_name(&entry.path()));
    let mut near: Vec<String> = names
        .filter(|name| name.to_lowercase().split('.').next() == Some(stem) && !name.starts_with("~$"))
        .collect();
    near.sort();
    let name = near.first()?;
    let lower = name.to_lowercase();
    if lower == format!("{stem}.csv") || lower == format!("{stem}.xlsx") {
        return Some(format!("rename {name} to {lower}"));
    }
    Some(format!("save {name} as {stem}.csv or {stem}.xlsx"))
}

fn read_grid(path: &Path, name: &str, log: &mut Log) -> Result<Grid, Box<Fault>> {
    let bytes = read_bytes(path, name, LARGEST_BYTES)?;
    let is_workbook = path.extension().is_some_and(|end| end == "xlsx");
    let grid = if is_workbook {
        workbook::read(name, bytes, log)?
    } else {
        delimited::read(name, &bytes)?
    };
    check_size(name, &grid)?;
    let too_long = grid
        .rows()
        .flat_map(|(row, cells)| cells.iter().map(move |cell| (row, cell)))
        .find(|(_, cell)| cell.len() > LONGEST_CELL && cell.chars().count() > LONGEST_CELL);
    if let Some((row, cell)) = too_long {
        let problem = format!("is a cell of {} characters", cell.chars().count());
        let fault = Fault::new(name, problem)
            .row(row)
            .found(cell)
            .accepted(format!("up to {LONGEST_CELL}"));
        return Err(Box::new(
            fault.hint("look for a quotation mark that is not closed".to_owned()),
        ));
    }
    Ok(grid)
}

fn check_size(name: &str, grid: &Grid) -> Result<(), Box<Fault>> {
    let columns = grid.rows.iter().map(|row| row.cells).max().unwrap_or(0);
    let cells: usize = grid.rows.iter().map(|row| row.cells).sum();
    // The heading is a row too.
    let counts = [
        (grid.rows.len(), MOST_ROWS + 1, "rows"),
        (columns, MOST_COLUMNS, "columns"),
        (cells, MOST_CELLS, "cells"),
    ];
    match counts.into_iter().find(|(count, most, _)| count > most) {
        None => Ok(()),
        Some((_, most, what)) => Err(Box::new(too_large(name, most, what))),
    }
}

fn too_large(name: &str, most: usize, what: &str) -> Fault {
    Fault::new(name, format!("has too many {what}")).accepted(format!("up to {most} {what}"))
}

/// The bytes of a plain file of at most `most` bytes.
pub(super) fn read_bytes(path: &Path, name: &str, most: u64) -> Result<Vec<u8>, Box<Fault>> {
    let refuse = |problem: String| Box::new(Fault::new(name, problem));
    let metadata = std::fs::metadata(path).map_err(|error| refuse(format!("cannot be read: {error}")))?;
    if !metadata.is_file() {
        // A pipe or a device would block or never end.
        return Err(refuse("is not a file".to_owned()));
    }
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(|error| refuse(format!("cannot be read: {error}")))?;
    file.take(most + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| refuse(format!("cannot be read: {error}")))?;
    if bytes.len() as u64 > most {
        let fault = refuse(format!("is larger than {} MiB", most / (1024 * 1024)));
        return Err(Box::new(fault.accepted(format!("up to {most} bytes"))));
    }
    Ok(bytes)
}

/// A row that holds nothing.
fn is_blank(cells: Line<'_>) -> bool {
    cells.iter().all(str::is_empty)
}

/// A row that is a remark: its first cell starts with `#` and is not a spreadsheet's formula error.
fn is_comment(cells: Line<'_>) -> bool {
    const FORMULA_ERRORS: [&str; 7] = ["#N/A", "#REF!", "#NAME?", "#VALUE!", "#DIV/0!", "#NUM!", "#NULL!"];
    cells
        .get(0)
        .is_some_and(|first| first.starts_with('#') && !FORMULA_ERRORS.contains(&first))
}
