//! The figures that each outline is chosen from, and how like the vessel they are: what the weights of the choice are fitted to.

use std::path::Path;

use coldjacket::batch::USUAL_BAND_UM;
use coldjacket::calibrate::{self, Reading};
use coldjacket::locate::choice::TERMS;
use coldjacket::locate::{self, Contender};
use coldjacket::radiation::planck::BandRadiance;
use coldjacket::read::{self, Limits};
use coldjacket::register::{self, Register};
use coldjacket_simulator::mask::Mask;
use rayon::prelude::*;

use crate::case::Case;
use crate::run::{How, Problem, write_survey};
use crate::table::Table;

/// Every contender of every case: its frame, the values of the terms, and its intersection over union with the vessel.
///
/// # Errors
/// Those of writing and reading the simulated surveys.
pub fn table_contenders(cases: &[Case], how: How) -> Result<Table, Problem> {
    let terms = TERMS.iter().map(|(name, _)| *name);
    let headings: Vec<&str> = ["frame"].into_iter().chain(terms).chain(["likeness"]).collect();
    let mut table = Table::new("contenders", "Figures that outlines are chosen from", &headings);
    let parts: Vec<Vec<Vec<String>>> = cases.par_iter().map(|case| rows(case, how)).collect::<Result<_, _>>()?;
    table.rows = parts.into_iter().flatten().collect();
    Ok(table)
}

fn rows(case: &Case, how: How) -> Result<Vec<Vec<String>>, Problem> {
    let room = tempfile::tempdir()?;
    let truths = write_survey(room.path(), std::slice::from_ref(case), how)?;
    let register = register::open(room.path()).map_err(|faults| faults.to_string())?;
    let truth = truths.first().ok_or("no frame was written")?;
    let vessel = Mask::of(&truth.vessel);
    let row = |contender: &Contender| {
        let likeness = Mask::of_outline(&contender.outline_px, truth.vessel.dim()).likeness(&vessel);
        let numbers = contender
            .terms
            .iter()
            .chain([&likeness])
            .map(|value| format!("{value:.4}"));
        [case.name.clone()].into_iter().chain(numbers).collect()
    };
    Ok(contenders(room.path(), &register, 0)?.iter().map(row).collect())
}

/// The contenders of one frame of a survey.
///
/// # Errors
/// No such frame, or one that cannot be read.
pub fn contenders(folder: &Path, register: &Register, index: usize) -> Result<Vec<Contender>, Problem> {
    let frame = register.frames.get(index).ok_or("the sheet has no such frame")?;
    let raw = read::decode(&std::fs::read(folder.join(&frame.file))?, &Limits::default())?;
    let (low_um, high_um) = register.camera_of(frame).map_or(USUAL_BAND_UM, |camera| camera.band_um);
    let band = BandRadiance::new(low_um, high_um)?;
    let reading = Reading {
        scale: &frame.stored.scale,
        no_data: frame.stored.no_data,
        correction: &frame.stored.correction,
        band: &band,
    };
    let map = calibrate::calibrate(&raw, &reading)?;
    let shape = &register.assets[frame.asset].shape;
    Ok(locate::contenders(&map.apparent_c, map.noise_k, (shape, &frame.view)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::whole;

    #[test]
    fn the_weights_take_a_contender_that_is_the_vessel() {
        let how = How {
            sheet_seed: 71,
            keep: None,
        };
        let cases = whole::plain(3000, 3);
        let table = table_contenders(&cases, how).unwrap();
        assert_eq!(table.headings.len(), TERMS.len() + 2);
        for case in &cases {
            let values =
                |row: &Vec<String>| -> Vec<f64> { row[1..].iter().map(|cell| cell.parse().unwrap()).collect() };
            let contenders: Vec<Vec<f64>> = table
                .rows
                .iter()
                .filter(|row| row[0] == case.name)
                .map(values)
                .collect();
            let score =
                |terms: &[f64]| -> f64 { TERMS.iter().zip(terms).map(|((_, weight), term)| weight * term).sum() };
            let taken = contenders.iter().max_by(|a, b| score(a).total_cmp(&score(b))).unwrap();
            let likest = contenders.iter().map(|values| values[TERMS.len()]).fold(0.0, f64::max);
            assert!(contenders.len() > 3 && likest > 0.95, "{}: {likest}", case.name);
            assert!(taken[TERMS.len()] > 0.9, "{}: {}", case.name, taken[TERMS.len()]);
        }
    }
}
