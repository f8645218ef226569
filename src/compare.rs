//! This survey against earlier ones, by place on the asset.
//!
//! What comes in: findings of this survey and of earlier ones, as `findings.json` holds them. What is guaranteed out: every
//! zone on this survey's list stands once, as new, grown, steady or shrunk; every zone of the earlier surveys that was
//! still open before this one stands once, in such a row, as gone, or as not seen; the order of rows, surveys and assets
//! changes nothing. What is not handled: why a zone changed; places on an asset that was moved, turned or rebuilt.

use serde::Serialize;

pub mod change;
pub mod findings;
mod pairing;
pub mod place;
pub mod renamed;
mod seen;
mod track;
pub mod trend;

use change::{Change, State};
use findings::Findings;
pub use renamed::Missing;
use trend::Trend;

/// Thresholds of a comparison.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Settings {
    /// 95 % half-width of a place along the axis in m, of the outline's fit and the view's start: simulated frames with
    /// every clutter have 90 % within 0.152 m (README, "What was measured"), which is 0.18 m at 95 % of a normal law.
    pub axial_place_m: f64,
    /// The same round the axis in degrees: 90 % within 5.6° there, which is 6.7°.
    pub round_place_deg: f64,
    /// Part of the smallest zone's side (three pixels) by which its middle is uncertain: half of it (project rule).
    pub smallest_zone_share: f64,
    /// Share of a place that must have been usefully seen for it to count as seen (project rule).
    pub seen_share: f64,
    /// 95 % half-width of an area in per cent beside that of its edge: what outlines of one patch vary by between frames
    /// under other conditions (project rule; the simulated story of three years holds it).
    pub area_pct: f64,
    /// Side of the smallest zone in m where findings do not tell it.
    pub usual_smallest_zone_m: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            axial_place_m: 0.18,
            round_place_deg: 6.7,
            smallest_zone_share: 0.5,
            seen_share: 0.75,
            area_pct: 15.0,
            usual_smallest_zone_m: 0.1,
        }
    }
}

/// Why surveys cannot be compared.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// What was given as findings is none.
    #[error(
        "{path}: {problem} (accepted: a findings.json of {})\n  hint: make it again with coldjacket survey FOLDER --out DIR",
        findings::SCHEMA
    )]
    NotFindings {
        /// The file.
        path: String,
        /// What is wrong with it.
        problem: String,
    },
    /// An earlier survey is not earlier.
    #[error(
        "--earlier: the survey of {earlier} is not earlier than this one of {present} (accepted: surveys of an earlier date)\n  hint: give the newer survey as FOLDER and the older one with --earlier"
    )]
    NotEarlier {
        /// Date of the one given as earlier.
        earlier: String,
        /// Date of this one.
        present: String,
    },
}

/// Whether a zone's place was seen in the surveys before.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SeenBefore {
    /// It was, and nothing was called there.
    Yes,
    /// No earlier survey usefully saw it.
    No,
    /// The earlier findings do not tell what they saw.
    Unknown,
}

/// A place in words that a crew uses.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Where {
    /// From the datum, m.
    pub axial_m: f64,
    /// Clock position, hours.
    pub clock: Option<f64>,
    /// Compass bearing, degrees.
    pub bearing_deg: Option<f64>,
    /// Height up a wall, m.
    pub height_m: Option<f64>,
    /// Length along, m.
    pub length_m: f64,
    /// Length round, or up, m.
    pub arc_m: f64,
}

/// A row of the result.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// The asset, by its tag now.
    pub asset: String,
    /// The zone of this survey; None where there is none any more.
    pub zone: Option<String>,
    /// The zone of the earlier survey it is compared with.
    pub earlier_zone: Option<String>,
    /// Date of that survey.
    pub earlier_date: Option<String>,
    /// What became of it.
    pub change: Change,
    /// Of a new zone: whether its place was seen before.
    pub seen_before: Option<SeenBefore>,
    /// Zone of this survey into which an earlier zone has gone.
    pub merged_into: Option<String>,
    /// Zone of this survey beside which this one came from the same earlier zone.
    pub split_from: Option<String>,
    /// Whether the whole jacket departs.
    pub is_general: bool,
    /// Place as it is now.
    #[serde(flatten)]
    pub place: Where,
    /// Place of the zone then, in this survey's terms.
    pub before_place: Option<Where>,
    /// How far the two places lie apart along and round, m.
    pub apart_m: Option<[Option<f64>; 2]>,
    /// What that distance is uncertain by along and round (95 %), m.
    pub place_uncertainty_m: [f64; 2],
    /// The zone then.
    pub before: Option<State>,
    /// The zone now.
    pub now: Option<State>,
    /// Growth of area × (ratio − 1), m², of what has grown or is new; 0 otherwise.
    pub growth_m2: f64,
    /// Why it is said.
    pub because: Vec<String>,
    /// The zone in every survey that has it, oldest first.
    pub history: Vec<State>,
    /// Straight lines through them, where there are two surveys at least.
    pub trend: Option<Trend>,
}

/// The result.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// Date of this survey.
    pub date: String,
    /// Dates of the earlier ones, oldest first.
    pub earlier_dates: Vec<String>,
    /// Thresholds in force.
    pub settings: Settings,
    /// One row a zone.
    pub zones: Vec<Row>,
    /// Assets of earlier surveys that this register does not hold.
    pub missing_assets: Vec<Missing>,
    /// Assets of this register that no earlier survey has.
    pub new_assets: Vec<String>,
    /// Doubts, each a whole sentence.
    pub warnings: Vec<String>,
}

impl Comparison {
    /// How many rows have a change.
    #[must_use]
    pub fn count(&self, change: Change) -> usize {
        self.zones.iter().filter(|row| row.change == change).count()
    }

    /// The row of a zone of this survey.
    #[must_use]
    pub fn of_zone(&self, id: &str) -> Option<&Row> {
        self.zones.iter().find(|row| row.zone.as_deref() == Some(id))
    }
}

/// Compares this survey with earlier ones, in whatever order they are given.
///
/// # Errors
/// [`Error::NotEarlier`].
pub fn compare(present: &Findings, earlier: &[Findings], settings: &Settings) -> Result<Comparison, Error> {
    let mut earlier: Vec<&Findings> = earlier.iter().collect();
    earlier.sort_by(|a, b| (a.day(), &a.survey.date, &a.survey.title).cmp(&(b.day(), &b.survey.date, &b.survey.title)));
    if let Some(later) = earlier.iter().find(|survey| survey.day() > present.day()) {
        return Err(Error::NotEarlier {
            earlier: later.survey.date.clone(),
            present: present.survey.date.clone(),
        });
    }
    let mut warnings = doubts(present, &earlier);
    let mut zones = Vec::new();
    let mut new_assets = Vec::new();
    for asset in &present.assets {
        let former = renamed::former(asset, &earlier);
        if former.iter().all(Option::is_none) {
            new_assets.push(asset.asset.clone());
        }
        let history = track::History::of(present, &earlier, (asset, &former), settings);
        zones.extend(history.rows(&mut warnings));
    }
    let place = |change: Change| Change::ALL.iter().position(|one| *one == change);
    zones.sort_by(|a: &Row, b: &Row| {
        place(a.change)
            .cmp(&place(b.change))
            .then(b.growth_m2.total_cmp(&a.growth_m2))
            .then_with(|| (&a.asset, &a.zone, &a.earlier_zone).cmp(&(&b.asset, &b.zone, &b.earlier_zone)))
    });
    new_assets.sort_unstable();
    warnings.sort_unstable();
    warnings.dedup();
    Ok(Comparison {
        date: present.survey.date.clone(),
        earlier_dates: earlier.iter().map(|survey| survey.survey.date.clone()).collect(),
        settings: *settings,
        zones,
        missing_assets: renamed::missing(present, &earlier),
        new_assets,
        warnings,
    })
}

/// Doubts about the surveys as a whole.
fn doubts(present: &Findings, earlier: &[&Findings]) -> Vec<String> {
    let mut doubts = Vec::new();
    for survey in earlier {
        let date = &survey.survey.date;
        if survey.day() == present.day() {
            doubts.push(format!(
                "the survey of {date} has the date of this one: is it another survey? No trend can be drawn between them"
            ));
        }
        if survey.survey.plant != present.survey.plant {
            doubts.push(format!(
                "the survey of {date} is of the plant {:?}, this one of {:?}: zones are compared where tags are the same",
                survey.survey.plant, present.survey.plant
            ));
        }
        if survey.assets.iter().any(|asset| asset.seen.is_none()) {
            doubts.push(format!(
                "the findings of {date} do not tell which jacket was seen: whether a new zone's place was seen then is not \
                 known; make them again with this version to know"
            ));
        }
    }
    doubts
}
