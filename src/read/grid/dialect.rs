//! What separates the values of a grid and what marks their decimals.

use std::borrow::Cow;

use super::text::Line;

/// What stands between two values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Separator {
    Tab,
    Semicolon,
    Comma,
    Spaces,
}

/// What stands between units and tenths.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Decimal {
    Point,
    Comma,
}

/// How one grid is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Dialect {
    pub separator: Separator,
    pub decimal: Decimal,
}

/// What one cell holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Cell {
    Number(f64),
    Blank,
    Text,
}

impl Separator {
    fn character(self) -> Option<char> {
        match self {
            Self::Tab => Some('\t'),
            Self::Semicolon => Some(';'),
            Self::Comma => Some(','),
            Self::Spaces => None,
        }
    }

    /// Cells of a line, trimmed, quotes removed.
    pub fn split(self, line: &str) -> Vec<Cow<'_, str>> {
        let Some(separator) = self.character() else {
            return line.split_whitespace().map(Cow::Borrowed).collect();
        };
        if line.contains('"') {
            return split_quoted(line, separator);
        }
        line.split(separator).map(|cell| Cow::Borrowed(trim(cell))).collect()
    }

    /// Whether the line holds separators and nothing between them.
    pub fn is_bare(self, line: &str) -> bool {
        self.character()
            .is_some_and(|separator| line.chars().all(|c| c == separator || c == ' '))
    }

    /// Whether the line ends in a separator.
    pub fn trails(self, line: &str) -> bool {
        // Blanks behind the last separator do not count, but a tab may be the separator itself.
        self.character()
            .is_some_and(|separator| line.trim_end_matches(' ').ends_with(separator))
    }
}

/// Blanks are no part of a cell; a tab is left, for beside another separator it is a sign of the wrong dialect.
fn trim(cell: &str) -> &str {
    cell.trim_matches([' ', '\u{a0}'])
}

/// Cells where quotes may hide a separator; a doubled quote stands for one.
fn split_quoted(line: &str, separator: char) -> Vec<Cow<'_, str>> {
    let mut cells = Vec::new();
    let mut cell = String::new();
    let mut quoted = false;
    for character in line.chars() {
        match character {
            '"' => quoted = !quoted,
            other if other == separator && !quoted => {
                cells.push(Cow::Owned(trim(&cell).to_owned()));
                cell.clear();
            }
            other => cell.push(other),
        }
    }
    cells.push(Cow::Owned(trim(&cell).to_owned()));
    cells
}

impl Decimal {
    /// The mark's name, for messages.
    pub fn name(self) -> &'static str {
        match self {
            Self::Point => "point",
            Self::Comma => "comma",
        }
    }

    /// Reads a trimmed cell.
    pub fn read(self, cell: &str) -> Cell {
        if let Some(number) = self.number(cell) {
            return if number.is_nan() {
                Cell::Blank
            } else {
                Cell::Number(number)
            };
        }
        if is_blank(cell) { Cell::Blank } else { Cell::Text }
    }

    fn number(self, cell: &str) -> Option<f64> {
        match self {
            Self::Point => parse(cell),
            Self::Comma if cell.contains('.') => None,
            Self::Comma => parse_comma(cell),
        }
    }
}

fn parse(cell: &str) -> Option<f64> {
    cell.parse().ok().or_else(|| {
        // The typographic minus, as spreadsheets write it.
        cell.strip_prefix('\u{2212}')
            .filter(|rest| rest.starts_with(|c: char| c.is_ascii_digit() || c == '.'))
            .and_then(|rest| rest.parse().ok())
            .map(|number: f64| -number)
    })
}

/// Longest number that is read with a decimal comma: beyond it there is nothing but noise in the digits.
const LONGEST_NUMBER: usize = 48;

/// Reads a number whose first comma stands for the decimal point; on the stack, for a grid has many.
fn parse_comma(cell: &str) -> Option<f64> {
    let Some(comma) = cell.find(',') else {
        return parse(cell);
    };
    let mut buffer = [0_u8; LONGEST_NUMBER];
    let copy = buffer.get_mut(..cell.len())?;
    copy.copy_from_slice(cell.as_bytes());
    *copy.get_mut(comma)? = b'.';
    parse(std::str::from_utf8(copy).ok()?)
}

/// The ways people write "no reading".
fn is_blank(cell: &str) -> bool {
    matches!(
        cell,
        "" | "-" | "\u{2013}" | "\u{2014}" | "--" | "---" | "#N/A" | "#NUM!"
    ) || ["n/a", "na", "null", "none", "+nan", "-nan", "nan(ind)", "-nan(ind)"]
        .iter()
        .any(|word| cell.eq_ignore_ascii_case(word))
}

/// Lines looked at to find the dialect: enough to outvote headings and damaged lines.
const LINES_ASKED: usize = 40;

/// Lines from all over the file, at most [`LINES_ASKED`] of them.
pub(super) fn sample<'a>(lines: &'a [Line<'a>]) -> impl Iterator<Item = &'a Line<'a>> {
    let step = lines.len().div_ceil(LINES_ASKED).max(1);
    lines.iter().step_by(step)
}

/// The dialect in which most lines are rows of at least two numbers; `None` where no line is.
pub(super) fn recognise(lines: &[Line]) -> Option<Dialect> {
    let asked: Vec<&str> = sample(lines).map(|line| line.text).collect();
    let mut best: Option<(usize, Dialect)> = None;
    // Where two dialects fit equally well, the earlier one stands: whole numbers read the same in either.
    for separator in [
        Separator::Tab,
        Separator::Semicolon,
        Separator::Comma,
        Separator::Spaces,
    ] {
        for decimal in [Decimal::Point, Decimal::Comma] {
            let dialect = Dialect { separator, decimal };
            let fitting = asked.iter().map(|line| dialect.weight(line)).sum();
            if fitting > best.map_or(0, |(most, _)| most) {
                best = Some((fitting, dialect));
            }
        }
    }
    best.map(|(_, dialect)| dialect)
}

impl Dialect {
    /// How much a line speaks for the dialect: its numbers less its texts, 0 with fewer than two cells.
    ///
    /// A row with a damaged cell still speaks for its dialect. Counting numbers rather than lines keeps a few
    /// headings such as `width;640` from outvoting the rows.
    fn weight(self, line: &str) -> usize {
        let cells = self.read(line);
        let count = |wanted: fn(&Cell) -> bool| cells.iter().filter(|cell| wanted(cell)).count();
        if cells.len() < 2 {
            return 0;
        }
        count(|cell| matches!(cell, Cell::Number(_))).saturating_sub(count(|cell| *cell == Cell::Text))
    }

    /// Whether the text holds a decimal mark or an exponent, as row and column numbers never do.
    pub fn shows_decimals(self, text: &str) -> bool {
        let marks = match (self.decimal, self.separator) {
            (Decimal::Comma, Separator::Comma) => ['"', 'e', 'E'],
            (Decimal::Comma, _) => [',', 'e', 'E'],
            (Decimal::Point, _) => ['.', 'e', 'E'],
        };
        text.contains(marks)
    }

    /// Cells of a line as they read.
    pub fn read(self, line: &str) -> Vec<Cell> {
        self.separator
            .split(line)
            .iter()
            .map(|cell| self.decimal.read(cell))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(text: &str) -> Option<(Separator, Decimal)> {
        recognise(&super::super::text::lines(text)).map(|d| (d.separator, d.decimal))
    }

    #[test]
    fn dialects_are_told_apart() {
        use Decimal as D;
        use Separator as S;
        for (text, separator, decimal) in [
            ("1,5;2,5\n3,5;4,5", S::Semicolon, D::Comma),
            ("1.5;2.5\n3.5;4.5", S::Semicolon, D::Point),
            ("1,5\t2,5\n3,5\t4,5", S::Tab, D::Comma),
            ("1.5,2.5\n3.5,4.5", S::Comma, D::Point),
            ("1.5, 2.5\n3.5, 4.5", S::Comma, D::Point),
            ("\"1,5\",\"2,5\"\n\"3,5\",\"4,5\"", S::Comma, D::Comma),
            ("1.5 2.5\n3.5  4.5", S::Spaces, D::Point),
            ("1;2\n3;4", S::Semicolon, D::Point),
            ("1;2,25\n3;4", S::Semicolon, D::Comma),
        ] {
            assert_eq!(found(text), Some((separator, decimal)), "{text:?}");
        }
        assert_eq!(found("some words\nand more, too"), None);
    }

    #[test]
    fn cells_read_as_numbers_blanks_or_text() {
        assert_eq!(Decimal::Point.read("-1.5e1"), Cell::Number(-15.0));
        assert_eq!(Decimal::Comma.read("-1,5e1"), Cell::Number(-15.0));
        assert_eq!(Decimal::Point.read("\u{2212}3"), Cell::Number(-3.0));
        assert_eq!(Decimal::Comma.read("1.234,5"), Cell::Text);
        assert_eq!(Decimal::Comma.read("1,2,3"), Cell::Text);
        for blank in ["", "NaN", "nan", "\u{2014}", "-", "N/A", "-nan"] {
            assert_eq!(Decimal::Point.read(blank), Cell::Blank, "{blank:?}");
        }
        assert_eq!(Decimal::Point.read("inf"), Cell::Number(f64::INFINITY));
        assert_eq!(Decimal::Point.read("12 °C"), Cell::Text);
    }
}
