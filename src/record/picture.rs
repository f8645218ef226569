//! From a frame's report to its annotated picture.

use std::collections::HashMap;
use std::path::PathBuf;

use super::palette::Palette;
use crate::inspect::{FrameReport, Picture};
use crate::rank::Ranked;
use crate::register::Register;
use crate::units::Units;

/// How pictures are drawn.
#[derive(Debug, Clone, Copy)]
pub struct Look {
    /// Units on the picture.
    pub units: Units,
    /// Colour map.
    pub palette: Palette,
}

/// All that a picture shows.
pub struct Page<'a> {
    /// The register.
    pub register: &'a Register,
    /// The frame's report.
    pub report: &'a FrameReport,
    /// Zones of the asset, named.
    pub zones: &'a [Ranked],
    /// The frame's temperatures and what was not seen.
    pub picture: &'a Picture,
}

/// Path of each frame's picture within the result folder: `annotated/NAME.png`, the name that of the image without its
/// ending; where two rows would share a name, the asset's tag is added, then the row.
#[must_use]
pub fn names(register: &Register) -> Vec<PathBuf> {
    let stem = |index: usize| {
        let file = &register.frames[index].file;
        let name = file.rsplit('/').next().unwrap_or(file);
        name.rsplit_once('.').map_or(name, |(stem, _)| stem).to_owned()
    };
    let safe = |text: &str| -> String {
        text.chars().map(|c| if c.is_alphanumeric() || matches!(c, '-' | '_' | '.') { c } else { '_' }).collect()
    };
    let count = |names: &[String]| {
        let mut counts: HashMap<String, usize> = HashMap::new();
        for name in names {
            *counts.entry(name.to_lowercase()).or_default() += 1;
        }
        counts
    };
    let mut all: Vec<String> = (0..register.frames.len()).map(|index| safe(&stem(index))).collect();
    let counts = count(&all);
    for (index, name) in all.iter_mut().enumerate() {
        if counts.get(&name.to_lowercase()).is_some_and(|&n| n > 1) {
            let row = &register.frames[index];
            *name = format!("{name}_{}", safe(&register.assets[row.asset].tag));
        }
    }
    let counts = count(&all);
    for (index, name) in all.iter_mut().enumerate() {
        if counts.get(&name.to_lowercase()).is_some_and(|&n| n > 1) {
            *name = format!("{name}_row{}", register.frames[index].row);
        }
    }
    all.into_iter().map(|name| PathBuf::from("annotated").join(format!("{name}.png"))).collect()
}

/// The picture as PNG bytes.
///
/// # Errors
/// Why it could not be drawn.
pub fn draw(_page: &Page, _look: &Look) -> Result<Vec<u8>, String> {
    Ok(Vec::new())
}
