//! File names and page anchors: safe on every system, and each its own.

use std::collections::HashSet;

use crate::register::Register;

/// Names of the record's parts.
#[derive(Debug)]
pub struct Names {
    /// Safe stem of each asset's tag.
    assets: Vec<String>,
    /// Tags, to find the asset of a zone's name.
    tags: Vec<String>,
}

/// Characters of a name's stem.
const LONGEST: usize = 80;

impl Names {
    /// The names of a register.
    #[must_use]
    pub fn of(register: &Register) -> Self {
        let mut taken = HashSet::new();
        let assets = register
            .assets
            .iter()
            .map(|asset| unique(safe(&asset.tag), &mut taken))
            .collect();
        let tags = register.assets.iter().map(|asset| asset.tag.clone()).collect();
        Self { assets, tags }
    }

    /// The stem of an asset: its tag, made safe.
    #[must_use]
    pub fn asset(&self, index: usize) -> &str {
        self.assets.get(index).map_or("asset", String::as_str)
    }

    /// The stem of a zone: its asset's and its number.
    #[must_use]
    pub fn zone(&self, id: &str) -> String {
        let number = id.rsplit('-').next().unwrap_or(id);
        let tag = id.strip_suffix(number).and_then(|head| head.strip_suffix('-'));
        let asset = self.tags.iter().position(|known| Some(known.as_str()) == tag);
        match asset {
            Some(index) => format!("{}-{}", self.asset(index), safe(number)),
            None => safe(id),
        }
    }

    /// File name of a zone's thumbnail.
    #[must_use]
    pub fn thumbnail(&self, id: &str) -> String {
        format!("zone-{}.png", self.zone(id))
    }

    /// File name of an asset's PDF: tag and date.
    #[must_use]
    pub fn asset_pdf(&self, index: usize, date: &str) -> String {
        format!("{}_{}.pdf", self.asset(index), day(date))
    }
}

/// File name of the survey's PDF. No asset's can be the same: theirs have no space.
#[must_use]
pub fn survey_pdf(date: &str) -> String {
    format!("insulation survey {}.pdf", day(date))
}

/// File name of a photograph as the pages hold it, by its path in the survey folder.
#[must_use]
pub fn photo(path: &str) -> String {
    // Paths differ, so hexadecimal of their bytes does too, where made safe they might not.
    let hex: String = path.bytes().map(|byte| format!("{byte:02x}")).collect();
    format!("photo-{hex}.jpg")
}

/// The day of an ISO 8601 date or time.
fn day(date: &str) -> String {
    safe(date.get(..10).unwrap_or(date))
}

/// Letters, digits, `-`, `_` and `.` of any script; all else becomes `_`. Never empty, hidden, or a device's name.
#[must_use]
pub fn safe(text: &str) -> String {
    let kept: String = text
        .trim()
        .chars()
        .take(LONGEST)
        .map(|c| {
            if c.is_alphanumeric() || matches!(c, '-' | '_' | '.') {
                c
            } else {
                '_'
            }
        })
        .collect();
    let kept = kept.trim_matches('.');
    let is_device = ["con", "prn", "aux", "nul"].contains(&kept.to_lowercase().as_str());
    if kept.is_empty() || is_device {
        format!("_{kept}")
    } else {
        kept.to_owned()
    }
}

/// A name that no other has, whatever its capitals.
fn unique(name: String, taken: &mut HashSet<String>) -> String {
    let mut candidate = name.clone();
    let mut number = 2;
    while !taken.insert(candidate.to_lowercase()) {
        candidate = format!("{name}_{number}");
        number += 1;
    }
    candidate
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tags_become_file_names() {
        assert_eq!(safe("V-101/A"), "V-101_A");
        assert_eq!(safe("../x"), "_x");
        assert_eq!(safe(".."), "_");
        assert_eq!(safe("Кожух 7"), "Кожух_7");
        assert_eq!(safe("CON"), "_CON");
        assert_eq!(safe(&"x".repeat(500)).len(), LONGEST);
    }

    #[test]
    fn names_that_would_meet_are_told_apart() {
        let mut taken = HashSet::new();
        assert_eq!(unique(safe("A/1"), &mut taken), "A_1");
        assert_eq!(unique(safe("a:1"), &mut taken), "a_1_2");
        assert_eq!(unique(safe("A 1"), &mut taken), "A_1_3");
    }
}
