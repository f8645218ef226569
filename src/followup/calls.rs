//! Openings against the calls: hits, false calls, misses, and how far a call may be believed.

use serde::{Deserialize, Serialize};

use super::{BESIDE_M, Former, Input, body_of, spot_of};
use crate::compare::findings::{Findings, Zone, day};
use crate::compare::place::Spot;
use crate::register::Register;
use crate::register::around::{At, Opening, Resealed};
use crate::statistic::Proportion;

/// What an opening says of the calls.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// A zone on the list, and the insulation held water.
    ConfirmedWet,
    /// A zone on the list, and the insulation was dry.
    FalseCall,
    /// The insulation held water, and no zone on the list is there.
    Missed,
    /// Dry, and no zone on the list is there.
    QuietAndDry,
    /// A zone on the list that was not said to be wet: it tests no call.
    NotACall,
    /// Opened before the survey: it tests no call of this one.
    BeforeTheSurvey,
}

impl Outcome {
    /// The word the result uses.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::ConfirmedWet => "confirmed-wet",
            Self::FalseCall => "false-call",
            Self::Missed => "missed",
            Self::QuietAndDry => "quiet-and-dry",
            Self::NotACall => "not-a-call",
            Self::BeforeTheSurvey => "before-the-survey",
        }
    }
}

/// An opening and what it says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Checked {
    /// The asset's tag.
    pub asset: String,
    /// The zone it stands on, set aside ones too.
    pub zone: Option<String>,
    /// Metres from the datum.
    pub axial_m: Option<f64>,
    /// Clock angle or bearing, degrees.
    pub round_deg: Option<f64>,
    /// Metres up a wall.
    pub height_m: Option<f64>,
    /// When.
    pub opened_on: String,
    /// `dry`, `damp`, `wet`, `frozen`.
    pub moisture: &'static str,
    /// `none`, `light`, `pitting`, `heavy`, where stated.
    pub corrosion: Option<&'static str>,
    /// Whether the jacket was closed again; what nobody states was not.
    pub is_resealed: bool,
    /// What it says.
    pub outcome: Outcome,
    /// In words.
    pub told: String,
    /// Free words of the sheet.
    pub note: Option<String>,
    /// Row of the sheet.
    pub row: usize,
}

/// Counts of one survey's openings.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tally {
    /// Date of the survey.
    pub date: String,
    /// Called zones that were opened and held water.
    pub confirmed_wet: u32,
    /// Called zones that were opened and were dry.
    pub false_calls: u32,
    /// Wet places without a call.
    pub missed: u32,
    /// Dry places without a call.
    pub quiet_and_dry: u32,
}

impl Tally {
    /// Counts of a survey's openings. A zone counts once, by its first opening after the survey.
    #[must_use]
    pub fn of(date: &str, openings: &[Checked]) -> Self {
        let mut sorted: Vec<&Checked> = openings.iter().collect();
        sorted.sort_by(|a, b| (&a.opened_on, a.row).cmp(&(&b.opened_on, b.row)));
        let mut tally = Self {
            date: date.to_owned(),
            ..Self::default()
        };
        let mut counted: Vec<&str> = Vec::new();
        for opening in sorted {
            let is_call = matches!(opening.outcome, Outcome::ConfirmedWet | Outcome::FalseCall);
            if let Some(zone) = opening.zone.as_deref().filter(|_| is_call) {
                if counted.contains(&zone) {
                    continue;
                }
                counted.push(zone);
            }
            match opening.outcome {
                Outcome::ConfirmedWet => tally.confirmed_wet += 1,
                Outcome::FalseCall => tally.false_calls += 1,
                Outcome::Missed => tally.missed += 1,
                Outcome::QuietAndDry => tally.quiet_and_dry += 1,
                Outcome::NotACall | Outcome::BeforeTheSurvey => {}
            }
        }
        tally
    }
}

/// This survey's counts and those before, oldest first; a survey counts once, by the newest count of it.
pub(super) fn all_surveys(own: Tally, former: &[Former]) -> Vec<Tally> {
    let mut former: Vec<&Former> = former.iter().collect();
    former.sort_by(|a, b| a.date.cmp(&b.date));
    let mut all: Vec<Tally> = Vec::new();
    for tally in former
        .iter()
        .flat_map(|one| &one.by_survey)
        .chain(std::iter::once(&own))
    {
        match all.iter_mut().find(|one| one.date == tally.date) {
            Some(one) => one.clone_from(tally),
            None => all.push(tally.clone()),
        }
    }
    all.sort_by(|a, b| a.date.cmp(&b.date));
    all
}

/// A share with its exact bounds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Share {
    /// How many.
    pub count: u32,
    /// Of how many.
    pub of: u32,
    /// The share.
    pub share: f64,
    /// Clopper–Pearson interval, 95 %, two-sided.
    pub interval: [f64; 2],
    /// One-sided lower bound, 95 %.
    pub at_least: f64,
}

impl Share {
    /// None of nothing.
    fn of(count: u32, of: u32) -> Option<Self> {
        let proportion = Proportion::new(count, of)?;
        let interval = proportion.clopper_pearson(0.95);
        Some(Self {
            count,
            of,
            share: proportion.share(),
            interval: [interval.low, interval.high],
            at_least: proportion.lower_bound(0.95),
        })
    }

    fn words(&self) -> String {
        format!(
            "{} of {} ({:.0} %; exact 95 % interval {:.0} to {:.0} %)",
            self.count,
            self.of,
            100.0 * self.share,
            100.0 * self.interval[0],
            100.0 * self.interval[1]
        )
    }
}

/// How often calls were right.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Calls {
    /// Called zones that were opened: how many held water. None where none was opened.
    pub called_and_wet: Option<Share>,
    /// The same: how many were dry.
    pub false_calls: Option<Share>,
    /// Wet places that were opened: how many had been called.
    pub wet_and_called: Option<Share>,
    /// Places without a call that were opened: how many were dry.
    pub quiet_and_dry: Option<Share>,
}

/// Opened calls below which the bounds are too wide to act on by themselves (project rule).
const FEW: u32 = 10;

impl Calls {
    /// Of the counts of all surveys together.
    #[must_use]
    pub fn of(tallies: &[Tally]) -> Self {
        let sum = |count: fn(&Tally) -> u32| tallies.iter().map(count).fold(0u32, u32::saturating_add);
        let wet = sum(|tally| tally.confirmed_wet);
        let dry = sum(|tally| tally.false_calls);
        let missed = sum(|tally| tally.missed);
        let quiet = sum(|tally| tally.quiet_and_dry);
        Self {
            called_and_wet: Share::of(wet, wet.saturating_add(dry)),
            false_calls: Share::of(dry, wet.saturating_add(dry)),
            wet_and_called: Share::of(wet, wet.saturating_add(missed)),
            quiet_and_dry: Share::of(quiet, quiet.saturating_add(missed)),
        }
    }

    /// How far a call may be believed here, in plain words.
    #[must_use]
    pub fn belief(&self) -> Vec<String> {
        let (Some(wet), Some(dry)) = (&self.called_and_wet, &self.false_calls) else {
            let mut words = vec![
                "No called zone has been opened here yet: how often a call is wet at this plant is not known. Every call is a \
                 reason to look, not a finding of water."
                    .to_owned(),
            ];
            words.extend(self.misses());
            return words;
        };
        let mut words = vec![format!(
            "Called zones that were opened here and held water: {}. False calls: {}. With 95 % confidence at least {:.0} % of \
             the calls here are wet.",
            wet.words(),
            dry.words(),
            100.0 * wet.at_least
        )];
        if wet.of < FEW {
            words.push(format!(
                "{} opened so far: too few to rely on. Open more, those of low priority and some sound places among them.",
                if wet.of == 1 { "One call".to_owned() } else { format!("{} calls", wet.of) }
            ));
        }
        words.extend(self.misses());
        words.push(
            "Damp, wet and frozen count as wet. Zones that were opened may differ from those that were not, so that these \
             figures hold for calls like the opened ones."
                .to_owned(),
        );
        words
    }

    fn misses(&self) -> Option<String> {
        let found = self.wet_and_called?;
        let missed = found.of - found.count;
        Some(match missed {
            0 => format!(
                "No wet place was opened that had not been called; of the wet places opened, {} had been.",
                found.words()
            ),
            _ => format!(
                "{missed} wet {} opened for another cause had not been called: of the wet places opened, {} had been. An \
                 unmarked jacket is not proof of dry insulation.",
                if missed == 1 { "place" } else { "places" },
                found.words()
            ),
        })
    }
}

/// Causes that say nothing of water.
const NOT_WET: [&str; 2] = ["thin-or-missing-insulation", "liquid-level"];

/// Every opening with what it says.
pub(super) fn check(input: &Input) -> Vec<Checked> {
    input
        .around
        .openings
        .iter()
        .map(|opening| checked(input, opening))
        .collect()
}

/// Whether a zone stands on the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Standing {
    Listed,
    Aside,
}

fn checked(input: &Input, opening: &Opening) -> Checked {
    let found = zone_of(input.findings, input.register, opening);
    let point = match &opening.at {
        At::Point(point) => Some(*point),
        At::Zone(_) => None,
    };
    let asset = point.and_then(|point| input.register.assets.get(point.asset));
    let zone = found.map(|(zone, _)| zone);
    let is_moist = opening.moisture.is_moist();
    let is_before = day(&opening.opened_on) < day(&input.findings.survey.date);
    let outcome = match found {
        _ if is_before => Outcome::BeforeTheSurvey,
        Some((zone, Standing::Listed)) if NOT_WET.contains(&zone.likely_cause.as_str()) => Outcome::NotACall,
        Some((_, Standing::Listed)) if is_moist => Outcome::ConfirmedWet,
        Some((_, Standing::Listed)) => Outcome::FalseCall,
        Some((_, Standing::Aside)) | None if is_moist => Outcome::Missed,
        Some((_, Standing::Aside)) | None => Outcome::QuietAndDry,
    };
    Checked {
        asset: asset
            .map(|asset| asset.tag.clone())
            .or_else(|| zone.map(|zone| zone.asset.clone()))
            .unwrap_or_default(),
        zone: zone.map(|zone| zone.id.clone()),
        axial_m: point.map_or_else(|| zone.map(|zone| zone.axial_m), |point| point.axial_m),
        round_deg: point.map_or_else(
            || zone.and_then(|zone| zone.clock.map(|hours| 30.0 * hours).or(zone.bearing_deg)),
            |point| point.absolute_deg,
        ),
        height_m: point.map_or_else(|| zone.and_then(|zone| zone.height_m), |point| point.height_m),
        opened_on: opening.opened_on.clone(),
        moisture: opening.moisture.key(),
        corrosion: opening.corrosion.map(crate::register::around::Corrosion::key),
        is_resealed: opening.resealed == Some(Resealed::Yes),
        outcome,
        told: told(outcome, found),
        note: opening.note.clone(),
        row: opening.row,
    }
}

fn told(outcome: Outcome, found: Option<(&Zone, Standing)>) -> String {
    let aside = |what: &str| match found {
        Some((zone, Standing::Aside)) => {
            format!(
                "{what}; {} there is set aside as {}",
                zone.id,
                zone.likely_cause.replace('-', " ")
            )
        }
        _ => what.to_owned(),
    };
    match outcome {
        Outcome::ConfirmedWet => "called, and the insulation held water".to_owned(),
        Outcome::FalseCall => "called, and the insulation was dry".to_owned(),
        Outcome::Missed => aside("the insulation held water, and no zone on the list is there"),
        Outcome::QuietAndDry => aside("not called, and the insulation was dry"),
        Outcome::NotACall => "on the list for another cause than water: it tests no call".to_owned(),
        Outcome::BeforeTheSurvey => "opened before this survey: it tests no call of it".to_owned(),
    }
}

/// The zone an opening stands on: the one it names, else the one whose box holds its place, listed ones first.
fn zone_of<'a>(findings: &'a Findings, register: &Register, opening: &Opening) -> Option<(&'a Zone, Standing)> {
    let listed = findings.zones.iter().map(|zone| (zone, Standing::Listed));
    let mut all = listed.chain(findings.set_aside.iter().map(|zone| (zone, Standing::Aside)));
    match &opening.at {
        At::Zone(name) => all.find(|(zone, _)| zone.id == *name),
        At::Point(point) => {
            let asset = register.assets.get(point.asset)?;
            let (body, spot) = (body_of(asset), spot_of(point)?);
            let distance = |zone: &Zone| {
                let (along_m, round_m) = spot.apart_m(&Spot::of(zone, &body), &body);
                along_m.hypot(round_m.unwrap_or(0.0))
            };
            let holds = |zone: &Zone| {
                zone.asset == asset.tag && spot.share_within(&Spot::of(zone, &body), &body, (BESIDE_M, BESIDE_M)) > 0.0
            };
            let mut near: Vec<(&Zone, Standing)> = all.filter(|(zone, _)| holds(zone)).collect();
            near.sort_by(|a, b| {
                (a.1 == Standing::Aside)
                    .cmp(&(b.1 == Standing::Aside))
                    .then(distance(a.0).total_cmp(&distance(b.0)))
                    .then_with(|| a.0.id.cmp(&b.0.id))
            });
            near.into_iter().next()
        }
    }
}
