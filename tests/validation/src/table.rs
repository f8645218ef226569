//! Tables as Markdown and CSV.

use std::fs;
use std::path::Path;

use crate::run::Problem;

/// A table of a study.
#[derive(Debug, Clone)]
pub struct Table {
    /// File name without ending.
    pub name: &'static str,
    /// What it shows, in a sentence.
    pub title: String,
    /// Column headings.
    pub headings: Vec<&'static str>,
    /// Rows, each as long as the headings.
    pub rows: Vec<Vec<String>>,
}

impl Table {
    /// An empty table.
    pub fn new(name: &'static str, title: impl Into<String>, headings: &[&'static str]) -> Self {
        Self {
            name,
            title: title.into(),
            headings: headings.to_vec(),
            rows: Vec::new(),
        }
    }

    /// Adds a row.
    pub fn push(&mut self, row: Vec<String>) {
        self.rows.push(row);
    }

    /// As Markdown, with its title above.
    pub fn to_markdown(&self) -> String {
        let line = |cells: &[String]| format!("| {} |\n", cells.join(" | "));
        let headings: Vec<String> = self.headings.iter().map(|h| (*h).to_owned()).collect();
        let rule = format!("|{}\n", "---|".repeat(self.headings.len()));
        let rows: String = self.rows.iter().map(|row| line(row)).collect();
        format!("### {}\n\n{}{rule}{rows}\n", self.title, line(&headings))
    }

    /// Writes it as CSV into a folder.
    ///
    /// # Errors
    /// Those of writing.
    pub fn write_csv(&self, folder: &Path) -> Result<(), Problem> {
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(&self.headings)?;
        for row in &self.rows {
            writer.write_record(row)?;
        }
        fs::write(folder.join(format!("{}.csv", self.name)), writer.into_inner()?)?;
        Ok(())
    }
}

/// A figure with a number of decimals; a dash where there is none.
pub fn figure(value: Option<f64>, decimals: usize) -> String {
    value
        .filter(|v| v.is_finite())
        .map_or_else(|| "–".into(), |v| format!("{v:.decimals$}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_reads_the_same_in_both_forms() {
        let mut table = Table::new("t", "What it shows", &["kind", "n"]);
        table.push(vec!["leg".into(), "3".into()]);
        assert_eq!(
            table.to_markdown(),
            "### What it shows\n\n| kind | n |\n|---|---|\n| leg | 3 |\n\n"
        );
        let room = tempfile::tempdir().unwrap();
        table.write_csv(room.path()).unwrap();
        assert_eq!(
            std::fs::read_to_string(room.path().join("t.csv")).unwrap(),
            "kind,n\nleg,3\n"
        );
        assert_eq!((figure(Some(1.25), 1), figure(None, 1)), ("1.2".into(), "–".into()));
    }
}
