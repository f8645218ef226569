//! What is wrong with the sheets, said so that it can be mended without asking.

use std::fmt;

/// Faults kept in memory; beyond that one more says that the list is not whole.
const KEPT: usize = 10_000;

/// Faults that [`Faults`] shows.
const SHOWN: usize = 200;

/// Characters of a found value that are shown.
const SHOWN_CHARS: usize = 60;

/// One thing that is wrong with one cell, key, row or sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// File name of the sheet, or the folder where that is at fault.
    pub sheet: String,
    /// Row as a spreadsheet counts it (heading = 1 where it stands first); line of a `.toml` file.
    pub row: Option<usize>,
    /// Column as the sheet spells it; dotted key of a `.toml` file.
    pub column: Option<String>,
    /// The value found.
    pub found: Option<String>,
    /// What is wrong with it, lower case, to be read after the value.
    pub problem: String,
    /// What would be accepted.
    pub accepted: Option<String>,
    /// One thing to do.
    pub hint: Option<String>,
}

impl Fault {
    /// A fault of a whole sheet; the other methods narrow it down.
    pub(crate) fn new(sheet: impl Into<String>, problem: impl Into<String>) -> Self {
        Self {
            sheet: sheet.into(),
            row: None,
            column: None,
            found: None,
            problem: problem.into(),
            accepted: None,
            hint: None,
        }
    }

    /// The row (or line) at fault.
    pub(crate) fn row(mut self, row: impl Into<Option<usize>>) -> Self {
        self.row = row.into();
        self
    }

    /// The column (or key) at fault.
    pub(crate) fn column(mut self, column: impl Into<String>) -> Self {
        self.column = Some(column.into());
        self
    }

    /// The value found.
    pub(crate) fn found(mut self, found: impl Into<String>) -> Self {
        self.found = Some(found.into());
        self
    }

    /// What would be accepted.
    pub(crate) fn accepted(mut self, accepted: impl Into<String>) -> Self {
        self.accepted = Some(accepted.into());
        self
    }

    /// One thing to do.
    pub(crate) fn hint(mut self, hint: impl Into<Option<String>>) -> Self {
        self.hint = hint.into();
        self
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "error: {}", self.sheet)?;
        let is_toml = self.sheet.ends_with(".toml");
        if let Some(row) = self.row {
            write!(f, " {} {row}", if is_toml { "line" } else { "row" })?;
        }
        if let Some(column) = &self.column {
            write!(f, ", {} {column}", if is_toml { "key" } else { "column" })?;
        }
        f.write_str(": ")?;
        if let Some(found) = &self.found {
            write!(f, "{} ", quoted(found))?;
        }
        f.write_str(&self.problem)?;
        if let Some(accepted) = &self.accepted {
            write!(f, " (accepted: {accepted})")?;
        }
        if let Some(hint) = &self.hint {
            write!(f, "\n  hint: {hint}")?;
        }
        Ok(())
    }
}

/// A found value in quotes: control characters escaped, cut where it is long.
pub(crate) fn quoted(found: &str) -> String {
    if found.chars().count() <= SHOWN_CHARS {
        return format!("{found:?}");
    }
    let start: String = found.chars().take(SHOWN_CHARS).collect();
    format!("{start:?}…")
}

/// Every fault of every sheet, sorted by sheet and row.
///
/// Shown one a line (with its hint below), at most 200 of them. A list made by [`super::open`] is never empty.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub struct Faults(Vec<Fault>);

impl Faults {
    /// The faults in the order in which they are shown.
    #[must_use]
    pub fn list(&self) -> &[Fault] {
        &self.0
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, fault) in self.0.iter().take(SHOWN).enumerate() {
            if index > 0 {
                f.write_str("\n")?;
            }
            write!(f, "{fault}")?;
        }
        match self.0.len().saturating_sub(SHOWN) {
            0 => Ok(()),
            more => write!(f, "\nand {more} more"),
        }
    }
}

/// Faults and warnings while the sheets are being read.
#[derive(Debug, Default)]
pub(crate) struct Log {
    faults: Vec<Fault>,
    warnings: Vec<String>,
}

impl Log {
    /// Notes a fault; reading goes on, the survey is refused at the end.
    pub(crate) fn refuse(&mut self, fault: Fault) {
        if !self.is_full() {
            self.faults.push(fault);
        }
    }

    /// How many faults are noted so far.
    pub(crate) fn count(&self) -> usize {
        self.faults.len()
    }

    /// Whether further faults would not be kept, so that reading on says nothing new.
    pub(crate) fn is_full(&self) -> bool {
        self.faults.len() >= KEPT
    }

    /// Notes a doubt that does not stop the run: a whole sentence that starts with the sheet.
    pub(crate) fn warn(&mut self, warning: String) {
        if self.warnings.len() < KEPT && !self.warnings.contains(&warning) {
            self.warnings.push(warning);
        }
    }

    /// Keeps only the faults for which `keep` holds, and no warnings.
    pub(crate) fn only_faults(mut self, keep: impl Fn(&Fault) -> bool) -> Vec<Fault> {
        self.faults.retain(keep);
        self.faults
    }

    /// What was read with the warnings, or every fault where there is one.
    pub(crate) fn settle<T>(mut self, read: Option<T>) -> Result<(T, Vec<String>), Faults> {
        match read {
            Some(read) if self.faults.is_empty() => return Ok((read, self.warnings)),
            None if self.faults.is_empty() => {
                self.faults.push(Fault::new(
                    "survey folder",
                    "could not be read, and no reason was noted",
                ));
            }
            _ => {}
        }
        let is_cut = self.faults.len() >= KEPT;
        let mut seen = std::collections::HashSet::new();
        self.faults.retain(|fault| seen.insert(fault.to_string()));
        self.faults.sort_by(|a, b| (&a.sheet, a.row).cmp(&(&b.sheet, b.row)));
        if is_cut {
            let last = self.faults.last().map(|fault| fault.sheet.clone()).unwrap_or_default();
            self.faults.push(Fault::new(
                last,
                format!("more than {KEPT} faults were found; the rest are not listed"),
            ));
        }
        Err(Faults(self.faults))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_is_one_line_and_a_hint() {
        let fault = Fault::new("assets.csv", "is not an insulation material")
            .row(4)
            .column("insulation")
            .found("pirr")
            .accepted("pir, pur")
            .hint("did you mean \"pir\"?".to_owned());
        assert_eq!(
            fault.to_string(),
            "error: assets.csv row 4, column insulation: \"pirr\" is not an insulation material (accepted: pir, pur)\n  \
             hint: did you mean \"pir\"?"
        );
    }

    #[test]
    fn faults_are_sorted_once_each_and_capped() {
        let mut log = Log::default();
        for row in (1..=250).rev() {
            log.refuse(Fault::new("frames.csv", "is wrong").row(row));
            log.refuse(Fault::new("assets.csv", "is empty"));
        }
        let faults = log.settle(Some(())).unwrap_err();
        assert_eq!(faults.list().len(), 251);
        let shown = faults.to_string();
        let lines: Vec<&str> = shown.lines().collect();
        assert_eq!(lines[0], "error: assets.csv: is empty");
        assert_eq!(lines[1], "error: frames.csv row 1: is wrong");
        assert_eq!(lines[200], "and 51 more");
        assert_eq!(lines.len(), 201);
    }

    #[test]
    fn a_list_that_is_cut_says_so() {
        let mut log = Log::default();
        for row in 0..KEPT + 5 {
            log.refuse(Fault::new("frames.csv", "is wrong").row(row));
        }
        let faults = log.settle(Some(())).unwrap_err();
        let last = faults.list().last().unwrap();
        assert_eq!(
            last.problem,
            "more than 10000 faults were found; the rest are not listed"
        );
    }

    #[test]
    fn a_long_value_is_cut_and_control_characters_are_escaped() {
        assert_eq!(quoted("a\u{7}b"), "\"a\\u{7}b\"");
        assert_eq!(quoted(&"x".repeat(100)), format!("\"{}\"…", "x".repeat(60)));
    }
}
