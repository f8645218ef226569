//! One cell's text as a value: numbers, lists of numbers, dates, clock positions, paths.

use jiff::Timestamp;
use jiff::civil::DateTime;

use super::row::Decimal;

/// Why a cell's text is not the value it should be; `problem` is read after the text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Trouble {
    /// What is wrong.
    pub(crate) problem: String,
    /// One thing to do.
    pub(crate) hint: Option<String>,
}

impl Trouble {
    fn new(problem: &str) -> Self {
        Self {
            problem: problem.to_owned(),
            hint: None,
        }
    }

    fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}

/// What a date column accepts.
pub(crate) const DATE_ACCEPTED: &str = "an ISO 8601 date or date and time, such as 2026-03-04 or 2026-03-04T10:30";

/// What people write where nobody measured.
const PLACEHOLDERS: [&str; 10] = ["-", "–", "—", "?", "n/a", "na", "none", "null", "tbd", "unknown"];

/// A finite number, with a decimal comma where the sheet's separator leaves that free.
pub(crate) fn number(text: &str, decimal: Decimal) -> Result<f64, Trouble> {
    let trouble = Trouble::new("is not a number");
    if PLACEHOLDERS.contains(&text.to_lowercase().as_str()) {
        return Err(trouble.hint("leave the cell blank where nobody measured it"));
    }
    let plain = text.replace('−', "-");
    let (commas, points) = (plain.matches(',').count(), plain.matches('.').count());
    let plain = match (commas, points, decimal) {
        (0, _, _) => plain,
        (1, 0, Decimal::PointOrComma) => plain.replace(',', "."),
        (1, 0, Decimal::Point) => return Err(trouble.hint(format!("write {}", plain.replace(',', ".")))),
        _ => return Err(trouble.hint("write it without a thousands separator")),
    };
    let end = plain
        .find(|c: char| !matches!(c, '0'..='9' | '+' | '-' | '.' | 'e' | 'E'))
        .unwrap_or(plain.len());
    let (head, tail) = plain.split_at(end);
    match head.parse::<f64>() {
        Ok(value) if tail.is_empty() && value.is_finite() => Ok(value),
        Ok(_) if tail.is_empty() => Err(Trouble::new("is too large a number")),
        Ok(_) if !tail.trim().is_empty() => {
            Err(trouble.hint(format!("write {head} alone: the unit stands in the column's name")))
        }
        _ => match head.parse::<f64>().is_err() && tail.trim_start().len() < tail.len() {
            true => Err(trouble.hint("write one number")),
            false => Err(trouble),
        },
    }
}

/// Numbers with blanks between them.
pub(crate) fn numbers(text: &str) -> Result<Vec<f64>, Trouble> {
    let parse = |part: &str| {
        number(part, Decimal::Point).map_err(|_| {
            let trouble = Trouble::new(&format!("is not a list of numbers: {part:?} is none"));
            trouble.hint("write decimals with a point and put blanks between the numbers")
        })
    };
    text.split_whitespace().map(parse).collect()
}

/// Checks that the text is an ISO 8601 date, or date and time; its year.
pub(crate) fn iso_year(text: &str) -> Result<i32, Trouble> {
    let trouble = Trouble::new("is not an ISO 8601 date");
    let is_extended = text.get(4..5) == Some("-") && text.starts_with(|c: char| c.is_ascii_digit());
    if !is_extended || text.contains('[') {
        return Err(trouble);
    }
    let year: i32 = text
        .get(..4)
        .and_then(|digits| digits.parse().ok())
        .ok_or_else(|| trouble.clone())?;
    // A time in UTC (`Z`) has no civil reading of its own, so it is tried as an instant.
    let is_date = text.parse::<DateTime>().is_ok() || text.parse::<Timestamp>().is_ok();
    is_date.then_some(year).ok_or(trouble)
}

/// A clock position in hours, 0 ≤ h < 12: `3`, `10:30`, `10.5`; `12` is 0.
pub(crate) fn clock_hours(text: &str, decimal: Decimal) -> Result<f64, Trouble> {
    let trouble = || Trouble::new("is not a clock position");
    let mut parts = text.split(':');
    let hours = match (parts.next(), parts.next(), parts.next(), parts.next()) {
        (Some(hours), None, None, None) => number(hours, decimal).map_err(|_| trouble())?,
        (Some(hours), Some(minutes), seconds, None) => {
            let whole = |part: &str, below: u8| part.parse::<u8>().ok().filter(|n| *n < below).ok_or_else(trouble);
            let seconds = whole(seconds.unwrap_or("0"), 60)?;
            f64::from(whole(hours, 13)?) + f64::from(whole(minutes, 60)?) / 60.0 + f64::from(seconds) / 3600.0
        }
        _ => return Err(trouble()),
    };
    if !(0.0..13.0).contains(&hours) {
        return Err(trouble());
    }
    Ok(hours % 12.0)
}

/// A path that stays inside the survey folder, with forward slashes and neither `.` nor `..`.
pub(crate) fn inside_folder(text: &str) -> Result<String, Trouble> {
    let hint = "write the path from the survey folder, such as images/north.tif";
    let path = text.replace('\\', "/");
    let mut letters = path.chars();
    let is_drive = letters.next().is_some_and(|c| c.is_ascii_alphabetic()) && letters.next() == Some(':');
    if path.starts_with('/') || is_drive {
        return Err(Trouble::new("is an absolute path").hint(hint));
    }
    let mut kept: Vec<&str> = Vec::new();
    for part in path.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                if kept.pop().is_none() {
                    return Err(Trouble::new("leads out of the survey folder").hint(hint));
                }
            }
            part => kept.push(part),
        }
    }
    if kept.is_empty() || path.ends_with('/') {
        return Err(Trouble::new("names no file").hint(hint));
    }
    Ok(kept.join("/"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_as_people_write_them() {
        for (text, value) in [
            ("12.5", 12.5),
            ("-3", -3.0),
            ("−3", -3.0),
            ("+1e3", 1000.0),
            (".5", 0.5),
            ("007", 7.0),
        ] {
            assert_eq!(number(text, Decimal::Point), Ok(value), "{text}");
        }
        assert_eq!(number("12,5", Decimal::PointOrComma), Ok(12.5));
    }

    #[test]
    fn what_is_no_number_says_what_to_do() {
        let hint = |text: &str, decimal| number(text, decimal).unwrap_err().hint.unwrap_or_default();
        assert_eq!(hint("12,5", Decimal::Point), "write 12.5");
        assert_eq!(
            hint("1,234.5", Decimal::Point),
            "write it without a thousands separator"
        );
        assert_eq!(
            hint("1.234,5", Decimal::PointOrComma),
            "write it without a thousands separator"
        );
        assert_eq!(
            hint("1800 mm", Decimal::Point),
            "write 1800 alone: the unit stands in the column's name"
        );
        assert_eq!(
            hint("N/A", Decimal::Point),
            "leave the cell blank where nobody measured it"
        );
        for text in ["nan", "inf", "infinity", "0x10", "1e", "--1", "e", "1_000", "", "1 2 3"] {
            assert!(number(text, Decimal::Point).is_err(), "{text}");
        }
        assert_eq!(
            number("1e999", Decimal::Point).unwrap_err().problem,
            "is too large a number"
        );
    }

    #[test]
    fn lists_are_parted_by_blanks_alone() {
        assert_eq!(numbers(" 1  2.5 -3 "), Ok(vec![1.0, 2.5, -3.0]));
        assert!(numbers("10,20 30,40").is_err());
    }

    #[test]
    fn dates_are_iso() {
        for text in [
            "2026-03-04",
            "2026-03-04T10:30",
            "2026-03-04T10:30:00Z",
            "2026-03-04 10:30:00+01:00",
        ] {
            assert_eq!(iso_year(text), Ok(2026), "{text}");
        }
        for text in [
            "04.03.2026",
            "2026-02-30",
            "2026",
            "3/4/2026",
            "2026-03-04T25:00",
            "20260304",
            "2026-03",
            "é026-1",
        ] {
            assert!(iso_year(text).is_err(), "{text}");
        }
    }

    #[test]
    fn clock_positions_are_hours() {
        let cases = [
            ("3", 3.0),
            ("12", 0.0),
            ("0", 0.0),
            ("10:30", 10.5),
            ("10:30:00", 10.5),
            ("12:30", 0.5),
            ("10.5", 10.5),
        ];
        for (text, hours) in cases {
            assert_eq!(clock_hours(text, Decimal::Point), Ok(hours), "{text}");
        }
        for text in ["13", "-1", "9:60", "noon", "", "1:2:3:4", "13:00", "NaN", ":"] {
            assert!(clock_hours(text, Decimal::Point).is_err(), "{text}");
        }
    }

    #[test]
    fn paths_stay_inside() {
        assert_eq!(inside_folder("images\\a.tif").unwrap(), "images/a.tif");
        assert_eq!(inside_folder("./images/x/../a.tif").unwrap(), "images/a.tif");
        for text in [
            "/etc/x",
            "C:\\a.tif",
            "c:a.tif",
            "\\\\host\\a",
            "../a.tif",
            "images/../../a",
            "images/",
            ".",
            "a/..",
        ] {
            assert!(inside_folder(text).is_err(), "{text}");
        }
    }
}
