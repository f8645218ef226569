//! Which lines are rows of values, and which count rows and columns or only stand above them.

use super::super::problem::Problem;
use super::super::warning::Warning;
use super::dialect::{self, Cell, Dialect, Separator};
use super::text::Line;

/// The rows of a grid: which lines they are and how many cells each should have.
#[derive(Debug)]
pub(super) struct Body<'a> {
    pub lines: &'a [Line<'a>],
    /// Cells of each row, a trailing separator's empty one not counted.
    pub cells: usize,
    /// Rows end in a separator, which adds an empty cell that is no value.
    pub trailing: bool,
    /// Cells at the start of each row that number it.
    pub row_numbers: usize,
    pub warnings: Vec<Warning>,
}

const SHORT_ROW_HINT: &str = "restore the missing values, or leave their cells blank between separators";
const COMMA_HINT: &str = "where the comma marks decimals too, export with semicolons between values";
const NUMBERS_ABOVE_HINT: &str = "delete lines above the grid that are not rows of it";

/// Finds where the rows begin and what they look like.
pub(super) fn find<'a>(lines: &'a [Line<'a>], dialect: Dialect) -> Result<Body<'a>, Problem> {
    let cells = usual_cells(lines, dialect).ok_or_else(|| Problem::NotAGrid {
        detail: "no two lines hold the same number of numbers".to_owned(),
    })?;
    let mut start = 0;
    let mut warnings = Vec::new();
    let mut counted_columns = None;
    for line in lines {
        // Spreadsheets write an empty row as separators alone: between headings and rows it is a gap, not a row.
        if start > 0 && dialect.separator.is_bare(line.text) {
            start += 1;
            continue;
        }
        match above_the_rows(line, dialect, cells)? {
            Above::Heading => {}
            Above::ColumnNumbers if stands_apart(lines, start, dialect) => {
                counted_columns = Some(line.number);
            }
            Above::ColumnNumbers | Above::Row => break,
        }
        start += 1;
    }
    let headings = start - usize::from(counted_columns.is_some());
    if headings > 0 {
        warnings.push(Warning::HeaderLines { lines: headings });
    }
    if let Some(line) = counted_columns {
        warnings.push(Warning::ColumnNumbersSkipped { line });
    }
    let rows = lines.get(start..).unwrap_or_default();
    let trailing = all_trail(rows, dialect, cells);
    let row_numbers = usize::from(counts_rows(rows, dialect));
    if row_numbers > 0 {
        warnings.push(Warning::RowNumbersSkipped);
    }
    Ok(Body {
        lines: rows,
        cells: cells - usize::from(trailing),
        trailing,
        row_numbers,
        warnings,
    })
}

/// Whether every row of the usual length ends in a separator, which then adds an empty cell to each.
fn all_trail(rows: &[Line], dialect: Dialect, usual: usize) -> bool {
    let trails = |row: &Line| dialect.separator.trails(row.text);
    let ends_in_a_value = |row: &Line| !trails(row) && dialect.separator.split(row.text).len() == usual;
    // Asked in this order, a grid without trailing separators is never split for it.
    rows.iter().any(trails) && !rows.iter().any(ends_in_a_value)
}

/// The number of cells most rows of a sample have; the larger where two are as frequent.
fn usual_cells(lines: &[Line], dialect: Dialect) -> Option<usize> {
    let mut tally = std::collections::BTreeMap::<usize, usize>::new();
    for line in dialect::sample(lines) {
        let cells = dialect.read(line.text);
        if cells.len() >= 2 && mostly_numbers(&cells) {
            *tally.entry(cells.len()).or_default() += 1;
        }
    }
    tally
        .into_iter()
        .max_by_key(|(_, lines)| *lines)
        .map(|(cells, _)| cells)
}

fn mostly_numbers(cells: &[Cell]) -> bool {
    let count = |wanted: fn(&Cell) -> bool| cells.iter().filter(|cell| wanted(cell)).count();
    let texts = count(|cell| matches!(cell, Cell::Text));
    let numbers = count(|cell| matches!(cell, Cell::Number(_)));
    // A row without a single reading is a row all the same; it just must not be text.
    numbers > texts || (texts == 0 && cells.len() > 2)
}

/// What a line before the first row is.
enum Above {
    Heading,
    ColumnNumbers,
    Row,
}

fn above_the_rows(line: &Line, dialect: Dialect, usual: usize) -> Result<Above, Problem> {
    let cells = dialect.read(line.text);
    if is_column_count(&cells, usual) {
        return Ok(Above::ColumnNumbers);
    }
    if !mostly_numbers(&cells) || is_size(&cells, usual) {
        return Ok(Above::Heading);
    }
    if cells.len() == usual || cells.len() == usual + 1 {
        return Ok(Above::Row);
    }
    // A short line with a word in it is a heading; one of numbers alone may be a row that lost values.
    let has_text = cells.iter().any(|cell| matches!(cell, Cell::Text));
    if has_text && cells.len() * 2 < usual {
        return Ok(Above::Heading);
    }
    Err(Problem::Ragged {
        line: line.number,
        found: cells.len(),
        expected: usual,
        hint: NUMBERS_ABOVE_HINT,
    })
}

/// Two whole numbers above wider rows, one of them the number of columns.
fn is_size(cells: &[Cell], usual: usize) -> bool {
    let columns = [usual as f64, usual as f64 - 1.0];
    match cells {
        [Cell::Number(a), Cell::Number(b)] => {
            usual > 2 && a.fract() == 0.0 && b.fract() == 0.0 && (columns.contains(a) || columns.contains(b))
        }
        _ => false,
    }
}

/// 0, 1, 2, … or 1, 2, 3, … over every column, perhaps with a name or nothing over the row numbers.
fn is_column_count(cells: &[Cell], usual: usize) -> bool {
    let named = !matches!(cells.first(), Some(Cell::Number(_)));
    let numbers = cells.get(usize::from(named)..).unwrap_or_default();
    // A trailing separator leaves one empty cell at the end.
    let numbers = match numbers {
        [front @ .., Cell::Blank] => front,
        all => all,
    };
    numbers.len() >= 3 && numbers.len() + 2 >= usual && counts_up(numbers.iter().copied())
}

/// Whole numbers from 0 or 1, each one more than the last.
fn counts_up(mut cells: impl Iterator<Item = Cell>) -> bool {
    let Some(Cell::Number(first)) = cells.next() else {
        return false;
    };
    let mut due = first;
    (first == 0.0 || first == 1.0)
        && cells.all(|cell| {
            due += 1.0;
            cell == Cell::Number(due)
        })
}

/// Fewer whole numbers in a row may be values that happen to rise by one.
const FEWEST_TO_BE_NUMBERS: usize = 8;

/// Whether a line that counts is unlike the row below: that one does not count, and is written with decimals or
/// the count is too long for chance. A ramp of values is alike throughout.
fn stands_apart(lines: &[Line], index: usize, dialect: Dialect) -> bool {
    let (Some(line), Some(next)) = (lines.get(index), lines.get(index + 1)) else {
        return false;
    };
    let cells = dialect.read(next.text);
    let rises = |pair: &[Cell]| match pair {
        [Cell::Number(a), Cell::Number(b)] => *b == *a + 1.0 && a.fract() == 0.0,
        _ => false,
    };
    !dialect.shows_decimals(line.text)
        && !cells.windows(2).all(rises)
        && (dialect.shows_decimals(next.text) || cells.len() >= FEWEST_TO_BE_NUMBERS)
}

/// Whether the first cells count the rows from 0 or 1 while the second ones do not, and are unlike them.
fn counts_rows(rows: &[Line], dialect: Dialect) -> bool {
    let column = |at: usize| {
        rows.iter().map(move |row| {
            let cells = dialect.separator.split(row.text);
            cells.get(at).map_or(Cell::Text, |cell| dialect.decimal.read(cell))
        })
    };
    let unlike = || {
        let written = |at: usize| {
            rows.iter().any(|row| {
                let cells = dialect.separator.split(row.text);
                cells.get(at).is_some_and(|cell| dialect.shows_decimals(cell))
            })
        };
        !written(0) && (written(1) || rows.len() >= FEWEST_TO_BE_NUMBERS)
    };
    // Most grids fail at the first or second row, so only numbered ones are looked at further.
    rows.len() >= 3 && counts_up(column(0)) && !counts_up(column(1)) && unlike()
}

impl Body<'_> {
    /// The hint for a row with another number of cells.
    pub fn ragged(&self, line: &Line, found: usize, separator: Separator) -> Problem {
        Problem::Ragged {
            line: line.number,
            found,
            expected: self.cells,
            hint: if separator == Separator::Comma {
                COMMA_HINT
            } else {
                SHORT_ROW_HINT
            },
        }
    }
}
