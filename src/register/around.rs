//! The sheets around the survey that belong on the same record: the walk-round and the inspector's verdicts.
//!
//! Both are optional, and are read only where a record is made: the findings do not depend on them.

use std::path::Path;

use super::assets::Assets;
use super::faults::{Fault, Log};
use super::nearest::did_you_mean;
use super::{Asset, Faults, Shape};

mod observations;
mod verdicts;

pub use observations::{Kind, Observation};
pub use verdicts::{Verdict, Word};

/// What stands around the survey.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Around {
    /// The walk-round, in the order of the sheet.
    pub observations: Vec<Observation>,
    /// The inspector's word on zones, in the order of the sheet.
    pub verdicts: Vec<Verdict>,
    /// File name of the sheet that holds the verdicts, for messages about them.
    pub verdicts_sheet: Option<String>,
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

/// Reads both sheets; rows at fault are left out, and the log says why.
pub(super) fn read(folder: &Path, assets: Option<&Assets>, log: &mut Log) -> Around {
    let observations = observations::read(folder, assets, log);
    let (verdicts, verdicts_sheet) = verdicts::read(folder, log);
    Around {
        observations,
        verdicts,
        verdicts_sheet,
        earlier: None,
    }
}

impl Around {
    /// Checks that every verdict is on a zone that there is. Zones are known only once the images have been assessed.
    ///
    /// A verdict on a zone that is not there is a fault, not a doubt: it is signed, and a record that left it out would
    /// say what the inspector did not; one that put it on another zone would be worse.
    ///
    /// # Errors
    /// One fault for each such row, all at once.
    pub fn check_zones(&self, zones: &[ZoneName<'_>], assets: &[Asset]) -> Result<(), Faults> {
        let mut log = Log::default();
        for verdict in &self.verdicts {
            if zones.iter().any(|zone| zone.id == verdict.zone) {
                continue;
            }
            log.refuse(self.unknown_zone(verdict, zones, assets));
        }
        log.settle(Some(())).map(drop)
    }

    fn unknown_zone(&self, verdict: &Verdict, zones: &[ZoneName<'_>], assets: &[Asset]) -> Fault {
        let sheet = self.verdicts_sheet.as_deref().unwrap_or("verdicts.csv");
        let fault = Fault::new(sheet, "is not a zone of this survey")
            .row(verdict.row)
            .column("zone")
            .found(&verdict.zone);
        // The asset meant is that with the longest tag the name begins with: SA-1 and SA-10 may both be tags.
        let meant = (0..assets.len())
            .filter(|&index| {
                let rest = assets
                    .get(index)
                    .and_then(|asset| verdict.zone.strip_prefix(&asset.tag));
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
            .hint(did_you_mean(&verdict.zone, beside.iter().copied()).unwrap_or_else(|| hint.to_owned()))
    }
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
