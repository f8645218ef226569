//! After the walk: what openings and wall readings say of the calls, of the wall, and what is still open.
//!
//! What comes in: this survey's findings, its register and the sheets around it, what was open before. What is guaranteed
//! out: every opening once, with what it says of the calls; every wall point once, with its rate, life and next date, or
//! why not; every zone on the list and everything that was open before once, as open or closed. Nothing is closed by
//! silence. What is not handled: whether a repair was good; fitness for service of a wall that is too thin.

use serde::{Deserialize, Serialize};

use crate::compare::findings::Findings;
use crate::compare::place::{About, Body, Spot};
use crate::register::around::{Around, Point};
use crate::register::{Asset, Register, Shape};
use crate::units::Units;

pub mod calls;
pub mod items;
pub mod wall;

use calls::{Calls, Checked, Tally};
use items::Item;
use wall::WallPoint;

/// How far beside a zone's edge an opening still tests it, m: openings are paced off from the datum (project rule).
pub const BESIDE_M: f64 = 0.2;

/// What is looked at.
#[derive(Clone, Copy)]
pub struct Input<'a> {
    /// This survey's findings.
    pub findings: &'a Findings,
    /// Its register.
    pub register: &'a Register,
    /// Openings, readings and verdicts.
    pub around: &'a Around,
    /// Follow-ups and findings before, in whatever order.
    pub former: &'a [Former],
}

/// What an earlier follow-up left.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
pub struct Former {
    /// Date of its survey.
    #[serde(default)]
    pub date: String,
    /// What was open.
    #[serde(default)]
    pub open: Vec<Item>,
    /// What openings said of the calls, survey by survey.
    #[serde(default)]
    pub by_survey: Vec<Tally>,
    /// Its wall points.
    #[serde(default)]
    pub wall: Vec<WallPoint>,
}

/// The result.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Followup {
    /// Date of the survey.
    pub date: String,
    /// What the responsible engineer must hear now, each a sentence; empty where nothing is.
    pub refer: Vec<String>,
    /// How often a called zone was wet, this survey and those before together.
    pub calls: Calls,
    /// How far a call may be believed here, in words.
    pub belief: Vec<String>,
    /// The counts survey by survey, oldest first.
    pub by_survey: Vec<Tally>,
    /// Every opening of the sheet.
    pub openings: Vec<Checked>,
    /// What is open, oldest first.
    pub open: Vec<Item>,
    /// What this follow-up has closed.
    pub closed: Vec<Item>,
    /// Wall points, least life first.
    pub wall: Vec<WallPoint>,
    /// Rule by which the next dates are set.
    pub rule: &'static str,
    /// Doubts, each a whole sentence.
    pub warnings: Vec<String>,
}

/// Follows up.
#[must_use]
pub fn follow_up(input: &Input) -> Followup {
    let mut warnings = Vec::new();
    let openings = calls::check(input);
    let own = Tally::of(&input.findings.survey.date, &openings);
    let by_survey = calls::all_surveys(own, input.former);
    let calls = Calls::of(&by_survey);
    let wall = wall::points(input, &mut warnings);
    let refer = wall.iter().filter_map(|point| point.refers(Units::Si)).collect();
    let (open, closed) = items::items(input, &openings);
    Followup {
        date: input.findings.survey.date.clone(),
        refer,
        belief: calls.belief(),
        calls,
        by_survey,
        openings,
        open,
        closed,
        wall,
        rule: wall::RULE,
        warnings,
    }
}

/// The body of an asset of the register.
pub(crate) fn body_of(asset: &Asset) -> Body {
    match asset.shape {
        Shape::HorizontalCylinder { diameter_m, length_m } => Body::Level { diameter_m, length_m },
        Shape::VerticalCylinder { diameter_m, length_m } => Body::Upright { diameter_m, length_m },
        Shape::Flat { width_m, height_m } => Body::Wall { width_m, height_m },
    }
}

/// A place of a sheet as a spot without size; None where it gives no metres from the datum.
pub(crate) fn spot_of(point: &Point) -> Option<Spot> {
    let about = match (point.absolute_deg, point.height_m) {
        (Some(deg), _) => About::Asset(deg),
        (None, Some(up_m)) => About::Height(up_m),
        (None, None) => About::Anywhere,
    };
    Some(Spot {
        axial_m: point.axial_m?,
        about,
        length_m: 0.0,
        arc_m: 0.0,
    })
}
