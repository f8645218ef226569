//! The sheets around the survey that belong on the same record: the walk-round and the inspector's verdicts.
//!
//! Both are optional, and are read only where a record is made: the findings do not depend on them.

use std::path::Path;

use super::assets::Assets;
use super::faults::{Fault, Log};
use super::nearest::did_you_mean;
use super::{Asset, Faults, Shape};

mod observations;
mod openings;
mod spot;
mod verdicts;
mod wall;

pub use observations::{Kind, Observation};
pub use openings::{At, Corrosion, Moisture, Opening, Resealed};
pub use spot::Point;
pub use verdicts::{Verdict, Word};
pub use wall::{Reading, Required, RequiredBy};

/// What stands around the survey.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Around {
    /// The walk-round, in the order of the sheet.
    pub observations: Vec<Observation>,
    /// The inspector's word on zones, in the order of the sheet.
    pub verdicts: Vec<Verdict>,
    /// File name of the sheet that holds the verdicts, for messages about them.
    pub verdicts_sheet: Option<String>,
    /// What was found where insulation was opened, in the order of the sheet.
    pub openings: Vec<Opening>,
    /// File name of that sheet, for messages about it.
    pub openings_sheet: Option<String>,
    /// Readings of the wall, in the order of the sheet.
    pub walls: Vec<Reading>,
    /// Zones of an earlier survey of the same assets, where known: drawn in outline, nothing else.
    pub earlier: Option<Earlier>,
}

/// An earlier survey's zones.
#[derive(Debug, Clone, PartialEq)]
pub struct Earlier {
    /// Its date, ISO 8601.
    pub date: String,
    /// Its zones.
    pub zones: Vec<EarlierZone>,
}

/// A zone of an earlier survey by its place on the asset.
#[derive(Debug, Clone, PartialEq)]
pub struct EarlierZone {
    /// Its name then.
    pub id: String,
    /// Index into [`super::Register::assets`].
    pub asset: usize,
    /// Centroid from the datum in m.
    pub axial_m: f64,
    /// Centroid round the girth: degrees on the asset (cylinders).
    pub absolute_deg: Option<f64>,
    /// Centroid above the bottom edge in m (flat assets).
    pub height_m: Option<f64>,
    /// Length along the axis in m.
    pub length_m: f64,
    /// Length round the girth, or up the wall, in m.
    pub arc_m: f64,
}

/// Reads all of these sheets; rows at fault are left out, and the log says why.
pub(super) fn read(folder: &Path, assets: Option<&Assets>, log: &mut Log) -> Around {
    let observations = observations::read(folder, assets, log);
    let (verdicts, verdicts_sheet) = verdicts::read(folder, log);
    let (openings, openings_sheet) = openings::read(folder, assets, log);
    let walls = wall::read(folder, assets, log);
    Around {
        observations,
        verdicts,
        verdicts_sheet,
        openings,
        openings_sheet,
        walls,
        earlier: None,
    }
}

impl Around {
    /// Whether no sheet says anything that could raise a zone's priority.
    #[must_use]
    pub fn is_silent(&self) -> bool {
        self.observations.is_empty() && self.openings.is_empty() && self.walls.is_empty()
    }

    /// Checks that every verdict is on a zone that there is. Zones are known only once the images have been assessed.
    ///
    /// A verdict on a zone that is not there is a fault, not a doubt: it is signed, and a record that left it out would
    /// say what the inspector did not; one that put it on another zone would be worse.
    ///
    /// # Errors
    /// One fault for each such row, all at once.
    pub fn check_zones(&self, zones: &[ZoneName<'_>], assets: &[Asset]) -> Result<(), Faults> {
        let sheet = self.verdicts_sheet.as_deref().unwrap_or("verdicts.csv");
        let mut log = Log::default();
        for verdict in &self.verdicts {
            if zones.iter().any(|zone| zone.id == verdict.zone) {
                continue;
            }
            log.refuse(unknown_zone((sheet, verdict.row, &verdict.zone), zones, assets));
        }
        log.settle(Some(())).map(drop)
    }

    /// Checks that every opening that names a zone names one of this survey, found after it and under its insulation.
    ///
    /// # Errors
    /// One fault for each row that does not, all at once.
    pub fn check_openings(&self, zones: &[ZoneName<'_>], assets: &[Asset], survey_date: &str) -> Result<(), Faults> {
        let sheet = self.openings_sheet.as_deref().unwrap_or("openings.csv");
        let mut log = Log::default();
        for opening in &self.openings {
            let At::Zone(name) = &opening.at else { continue };
            let Some(zone) = zones.iter().find(|zone| zone.id == *name) else {
                log.refuse(unknown_zone((sheet, opening.row, name), zones, assets));
                continue;
            };
            let day = |date: &str| date.get(..10).map(ToOwned::to_owned);
            if day(&opening.opened_on) < day(survey_date) {
                let problem = format!("was opened on {}, before the survey that named it", opening.opened_on);
                let fault = opening.zone_fault(sheet, name, problem);
                let hint = "correct the date; give an earlier opening by asset, axial_m and clock or bearing_deg";
                log.refuse(fault.accepted(format!("{survey_date} or later")).hint(hint.to_owned()));
                continue;
            }
            let insulated = assets.get(zone.asset).and_then(|asset| asset.insulated_year);
            let year = opening.opened_on.get(..4).and_then(|year| year.parse::<i32>().ok());
            if let (Some(insulated), Some(year)) = (insulated, year)
                && year < insulated
            {
                let problem = format!("was opened in {year}, before its insulation was put on, {insulated}");
                let fault = opening.zone_fault(sheet, name, problem);
                log.refuse(
                    fault
                        .accepted(format!("{insulated} or later"))
                        .hint(openings::HINT_INSULATED.to_owned()),
                );
            }
        }
        log.settle(Some(())).map(drop)
    }
}

fn unknown_zone((sheet, row, name): (&str, usize, &str), zones: &[ZoneName<'_>], assets: &[Asset]) -> Fault {
    let fault = Fault::new(sheet, "is not a zone of this survey")
        .row(row)
        .column("zone")
        .found(name);
    // The asset meant is that with the longest tag the name begins with: SA-1 and SA-10 may both be tags.
    let meant = (0..assets.len())
        .filter(|&index| {
            let rest = assets.get(index).and_then(|asset| name.strip_prefix(&asset.tag));
            rest.is_some_and(|rest| rest.starts_with('-'))
        })
        .max_by_key(|&index| assets.get(index).map_or(0, |asset| asset.tag.len()));
    let beside: Vec<&str> = zones
        .iter()
        .filter(|zone| meant.is_none_or(|asset| zone.asset == asset))
        .map(|zone| zone.id)
        .collect();
    let hint = "zones are named anew when images or sheets change: look the zone up by its place in findings.csv \
                and correct or take out the row";
    fault
        .accepted(told(&beside))
        .hint(did_you_mean(name, beside.iter().copied()).unwrap_or_else(|| hint.to_owned()))
}

/// The name of a zone and the asset it lies on.
#[derive(Debug, Clone, Copy)]
pub struct ZoneName<'a> {
    /// Its name.
    pub id: &'a str,
    /// Index of its asset in the register.
    pub asset: usize,
}

/// Names that are told before the rest is counted.
const TOLD: usize = 12;

fn told(names: &[&str]) -> String {
    match names.len() {
        0 => "none: no zone was called there".to_owned(),
        n if n <= TOLD => names.join(", "),
        n => format!("{} and {} more", names[..TOLD].join(", "), n - TOLD),
    }
}

/// Length along the axis in m.
fn length_m(shape: &Shape) -> f64 {
    match *shape {
        Shape::HorizontalCylinder { length_m, .. } | Shape::VerticalCylinder { length_m, .. } => length_m,
        Shape::Flat { width_m, .. } => width_m,
    }
}
