//! Text grids: rows of numbers, in the dialects spreadsheets and scripts write.

mod dialect;
mod rows;
mod text;

use self::dialect::{Cell, Decimal, Dialect, Separator};
use self::rows::Body;
use self::text::Line;
use super::frame::{Found, RawFrame, Stored, StoredKind, shape};
use super::limits::Limits;
use super::problem::Problem;

/// Reads a grid of numbers: separated by comma, semicolon, tab or spaces, with decimal point or comma.
///
/// # Errors
/// [`Problem`] naming line and column: a row with more or fewer values than the others, a cell that is no number,
/// a comma that seems to be separator and decimal mark at once; or text that holds no grid at all.
pub fn read_grid(bytes: &[u8], limits: &Limits) -> Result<RawFrame, Problem> {
    let text = text::decode(bytes)?;
    let lines = text::lines(&text);
    let dialect = dialect::recognise(&lines).ok_or_else(|| Problem::NotAGrid {
        detail: "no line holds two numbers or more".to_owned(),
    })?;
    let mut body = rows::find(&lines, dialect)?;
    let columns = body.cells.saturating_sub(body.row_numbers);
    if columns < 2 || body.lines.len() < 2 {
        return Err(Problem::NotAGrid {
            detail: format!("{columns} × {} numbers are no image", body.lines.len()),
        });
    }
    let size = limits.check_size(columns as u64, body.lines.len() as u64)?;
    check_comma(&body, dialect)?;
    let mut values = Vec::with_capacity(size.pixels());
    for line in body.lines {
        read_row(&body, line, dialect, &mut values)?;
    }
    let mut found = Found::new(Stored::F32(shape(size, values)?), StoredKind::Grid);
    found.warnings.append(&mut body.warnings);
    Ok(found.finish())
}

/// Appends a row's values; NaN for a blank cell.
fn read_row(body: &Body, line: &Line, dialect: Dialect, values: &mut Vec<f32>) -> Result<(), Problem> {
    let mut cells = dialect.separator.split(line.text);
    let surplus_is_empty = cells.len() == body.cells + 1 && cells.last().is_some_and(|c| c.is_empty());
    if surplus_is_empty || (body.trailing && dialect.separator.trails(line.text)) {
        cells.pop();
    }
    if cells.len() != body.cells {
        return Err(body.ragged(line, cells.len(), dialect.separator));
    }
    for (index, cell) in cells.iter().enumerate().skip(body.row_numbers) {
        values.push(match dialect.decimal.read(cell) {
            // Narrowing a temperature costs less than 0.02 mK; a value beyond f32 becomes infinite and is reported.
            Cell::Number(number) => number as f32,
            Cell::Blank => f32::NAN,
            Cell::Text => {
                return Err(Problem::Cell {
                    line: line.number,
                    column: index + 1,
                    found: cell.chars().take(40).collect(),
                    decimal: dialect.decimal.name(),
                });
            }
        });
    }
    Ok(())
}

/// Refuses `21,5,21,6`: whole numbers throughout, where every second one is an unsigned digit or two (as decimals
/// are) and a value resembles the next but one far more than its neighbour, as no image does.
fn check_comma(body: &Body, dialect: Dialect) -> Result<(), Problem> {
    let unquoted_comma = dialect.separator == Separator::Comma && dialect.decimal == Decimal::Point;
    if !unquoted_comma || body.row_numbers > 0 || body.cells < 4 || !body.cells.is_multiple_of(2) {
        return Ok(());
    }
    let (mut to_neighbour, mut to_next_but_one, mut compared) = (0.0, 0.0, 0_usize);
    for line in body.lines.iter().take(LINES_COMPARED) {
        let cells = dialect.separator.split(line.text);
        let is_digits = |cell: &str| (1..=3).contains(&cell.len()) && cell.bytes().all(|b| b.is_ascii_digit());
        let decimals = cells.iter().skip(1).step_by(2);
        if cells.iter().any(|cell| cell.contains(['.', 'e', 'E'])) || !decimals.clone().all(|c| is_digits(c)) {
            return Ok(());
        }
        let numbers: Vec<f64> = cells.iter().filter_map(|cell| cell.parse().ok()).collect();
        for triple in numbers.windows(3).step_by(2) {
            if let [units, decimals, next_units] = triple {
                to_neighbour += (decimals - units).abs();
                to_next_but_one += (next_units - units).abs();
                compared += 1;
            }
        }
    }
    let first = body.lines.first().map_or(1, |line| line.number);
    // One count a pair is what a smooth image differs by at the least; below it the ratio means nothing.
    let differs = to_neighbour > 4.0 * to_next_but_one + compared as f64;
    if compared > 0 && differs {
        return Err(Problem::AmbiguousComma { line: first });
    }
    Ok(())
}

/// Rows looked at for a comma of two meanings.
const LINES_COMPARED: usize = 50;
