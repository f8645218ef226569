//! What is open: every zone on the list until it is opened and closed again, or rejected; from survey to survey.

use serde::{Deserialize, Serialize};

use super::calls::Checked;
use super::{BESIDE_M, Former, Input, body_of};
use crate::compare::findings::{Findings, Zone, day};
use crate::compare::place::{About, Body, Spot};
use crate::register::Asset;
use crate::register::around::{Verdict, Word};

/// How an item stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// Nobody has opened it.
    NotOpened,
    /// It was opened and is not said to be closed again.
    NotResealed,
    /// Opened and closed again.
    Resealed,
    /// Rejected by the inspector, signed.
    Rejected,
    /// The insulation was put on anew.
    Renewed,
}

impl State {
    /// The word the result uses.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::NotOpened => "not-opened",
            Self::NotResealed => "not-resealed",
            Self::Resealed => "resealed",
            Self::Rejected => "rejected",
            Self::Renewed => "renewed",
        }
    }

    /// Whether something is still to be done.
    #[must_use]
    pub fn is_open(self) -> bool {
        matches!(self, Self::NotOpened | Self::NotResealed)
    }
}

/// Something to follow up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Item {
    /// The asset's tag.
    pub asset: String,
    /// Its name in the newest survey that has it.
    pub zone: String,
    /// Date of that survey.
    pub last_called: String,
    /// Date of the first survey that called it.
    pub since: String,
    /// Names it had before, oldest first, with the survey's date.
    #[serde(default)]
    pub former: Vec<String>,
    /// How it stands.
    pub state: State,
    /// Metres from the datum.
    pub axial_m: f64,
    /// Clock angle or bearing, degrees.
    #[serde(default)]
    pub round_deg: Option<f64>,
    /// Metres up a wall.
    #[serde(default)]
    pub height_m: Option<f64>,
    /// Length along, m.
    pub length_m: f64,
    /// Length round, or up, m.
    pub arc_m: f64,
    /// Whether it is the whole jacket.
    #[serde(default)]
    pub is_general: bool,
    /// When it was opened.
    #[serde(default)]
    pub opened_on: Option<String>,
    /// What was found.
    #[serde(default)]
    pub moisture: Option<String>,
    /// Priority in the newest survey that has it.
    #[serde(default)]
    pub priority: f64,
    /// In words.
    #[serde(default)]
    pub told: String,
}

impl Item {
    /// A zone on a survey's list, of which nothing more is known.
    #[must_use]
    pub fn of(zone: &Zone, date: &str) -> Self {
        Self {
            asset: zone.asset.clone(),
            zone: zone.id.clone(),
            last_called: date.to_owned(),
            since: date.to_owned(),
            former: Vec::new(),
            state: State::NotOpened,
            axial_m: zone.axial_m,
            round_deg: zone.clock.map(|hours| 30.0 * hours).or(zone.bearing_deg),
            height_m: zone.height_m,
            length_m: zone.length_m,
            arc_m: zone.arc_m,
            is_general: zone.extent == "general",
            opened_on: None,
            moisture: None,
            priority: zone.priority,
            told: String::new(),
        }
    }

    fn spot(&self, body: &Body) -> Spot {
        let about = match (self.is_general, self.round_deg, self.height_m) {
            (true, ..) => About::Anywhere,
            (false, Some(deg), _) => About::Asset(deg),
            (false, None, Some(up_m)) => About::Height(up_m),
            (false, None, None) => About::Anywhere,
        };
        Spot {
            axial_m: self.axial_m,
            about,
            length_m: if self.is_general {
                body.length_m()
            } else {
                self.length_m
            },
            arc_m: if self.is_general { body.girth_m() } else { self.arc_m },
        }
    }
}

impl Former {
    /// What an earlier survey leaves that nobody followed up: every zone on its list.
    #[must_use]
    pub fn of_findings(findings: &Findings) -> Self {
        let date = &findings.survey.date;
        Self {
            date: date.clone(),
            open: findings.zones.iter().map(|zone| Item::of(zone, date)).collect(),
            ..Self::default()
        }
    }
}

/// What is open and what has been closed, oldest first.
pub(super) fn items(input: &Input, openings: &[Checked]) -> (Vec<Item>, Vec<Item>) {
    let date = &input.findings.survey.date;
    let mut all: Vec<Item> = input.findings.zones.iter().map(|zone| Item::of(zone, date)).collect();
    for item in &mut all {
        settle_own(item, input, openings);
    }
    all.extend(openings.iter().filter_map(|opening| stands_open(opening, input)));
    for mut old in carried(input) {
        let asset = input
            .register
            .assets
            .iter()
            .find(|asset| asset.tag == old.asset || asset.former_tag.as_ref() == Some(&old.asset));
        let Some(asset) = asset else {
            old.told = format!(
                "carried over from {}: the asset {} is not in this register; write it as former_tag if it was renamed",
                old.last_called, old.asset
            );
            all.push(old);
            continue;
        };
        old.asset.clone_from(&asset.tag);
        turn(&mut old, asset, date);
        // Zones are numbered anew each year: the same number of another survey is another place.
        let is_one = |item: &Item| item.zone == old.zone && item.last_called == old.last_called;
        let now = all
            .iter_mut()
            .find(|item| is_one(item) || is_same(item, &old, asset) && item.last_called == *date);
        match now {
            Some(item) => take_over(item, old),
            None => {
                settle_old(&mut old, asset, openings);
                all.push(old);
            }
        }
    }
    all.sort_by(|a, b| {
        (&a.since, &a.asset)
            .cmp(&(&b.since, &b.asset))
            .then(b.priority.total_cmp(&a.priority))
            .then_with(|| a.zone.cmp(&b.zone))
    });
    all.into_iter().partition(|item| item.state.is_open())
}

/// An opening beside the zones on the list that nobody says was closed again: it lets water in, whatever was found.
fn stands_open(opening: &Checked, input: &Input) -> Option<Item> {
    let is_listed = |name: &String| input.findings.zones.iter().any(|zone| zone.id == *name);
    if opening.is_resealed || opening.zone.as_ref().is_some_and(is_listed) {
        return None;
    }
    let mut item = Item {
        asset: opening.asset.clone(),
        zone: format!("{} opening of {}", opening.asset, opening.opened_on),
        last_called: opening.opened_on.clone(),
        since: opening.opened_on.clone(),
        former: Vec::new(),
        state: State::NotResealed,
        axial_m: opening.axial_m.unwrap_or_default(),
        round_deg: opening.round_deg,
        height_m: opening.height_m,
        length_m: 0.0,
        arc_m: 0.0,
        is_general: false,
        opened_on: None,
        moisture: None,
        priority: 0.0,
        told: String::new(),
    };
    take_opening(&mut item, opening);
    Some(item)
}

/// What was open before: of each zone the newest word.
fn carried(input: &Input) -> Vec<Item> {
    let mut former: Vec<&Former> = input.former.iter().collect();
    former.sort_by(|a, b| b.date.cmp(&a.date));
    let mut carried: Vec<Item> = Vec::new();
    for item in former.iter().flat_map(|one| &one.open) {
        let is_known = carried.iter().any(|known| {
            let names = || known.former.iter().cloned().chain(std::iter::once(named(known)));
            known.asset == item.asset && names().any(|name| name == named(item))
        });
        if !is_known {
            carried.push(item.clone());
        }
    }
    carried
}

fn named(item: &Item) -> String {
    format!("{} of {}", item.zone, item.last_called)
}

/// How a zone of this survey stands, by its own openings and verdicts.
fn settle_own(item: &mut Item, input: &Input, openings: &[Checked]) {
    let mine = openings.iter().filter(|opening| {
        opening.zone.as_ref() == Some(&item.zone) && day(&opening.opened_on) >= day(&item.last_called)
    });
    let mut mine: Vec<&Checked> = mine.collect();
    mine.sort_by(|a, b| (&a.opened_on, a.row).cmp(&(&b.opened_on, b.row)));
    let mut words: Vec<&Verdict> = input
        .around
        .verdicts
        .iter()
        .filter(|verdict| verdict.zone == item.zone)
        .collect();
    words.sort_by(|a, b| a.on.cmp(&b.on));
    if let Some(last) = mine.last() {
        take_opening(item, last);
    }
    if let Some(verdict) = words.last().filter(|verdict| verdict.word == Word::Rejected) {
        item.state = State::Rejected;
        item.told = format!("rejected by {} on {}", verdict.by, verdict.on);
    }
    if item.told.is_empty() {
        item.told = "called, and not opened yet".to_owned();
    }
}

fn take_opening(item: &mut Item, opening: &Checked) {
    item.opened_on = Some(opening.opened_on.clone());
    item.moisture = Some(opening.moisture.to_owned());
    item.state = if opening.is_resealed {
        State::Resealed
    } else {
        State::NotResealed
    };
    item.told = format!(
        "opened on {}, found {}, {}",
        opening.opened_on,
        opening.moisture,
        if opening.is_resealed {
            "closed again"
        } else {
            "not said to be closed again: inspection ports that were opened are sealed again"
        }
    );
}

/// What was open before and is not called now: only an opening that was closed again, or new insulation, closes it.
fn settle_old(old: &mut Item, asset: &Asset, openings: &[Checked]) {
    let first_year = old.since.get(..4).and_then(|year| year.parse::<i32>().ok());
    let renewed = asset
        .insulated_year
        .filter(|year| first_year.is_some_and(|first| first < *year));
    if let Some(year) = renewed {
        old.state = State::Renewed;
        old.told = format!("the insulation was put on anew in {year} (insulated_year)");
        return;
    }
    let body = body_of(asset);
    let spot = old.spot(&body);
    let mut here: Vec<&Checked> = openings
        .iter()
        .filter(|opening| opening.asset == asset.tag && day(&opening.opened_on) >= day(&old.last_called))
        .filter(|opening| {
            let about = match (opening.round_deg, opening.height_m) {
                (Some(deg), _) => About::Asset(deg),
                (None, Some(up_m)) => About::Height(up_m),
                (None, None) => About::Anywhere,
            };
            let at = opening.axial_m.map(|axial_m| Spot {
                axial_m,
                about,
                length_m: 0.0,
                arc_m: 0.0,
            });
            at.is_some_and(|at| at.share_within(&spot, &body, (BESIDE_M, BESIDE_M)) > 0.0)
        })
        .collect();
    here.sort_by(|a, b| (&a.opened_on, a.row).cmp(&(&b.opened_on, b.row)));
    match here.last() {
        Some(opening) => take_opening(old, opening),
        None => {
            old.told = format!(
                "called on {}, not called in this survey, and nobody has closed it: carried over",
                old.last_called
            );
        }
    }
}

/// Whether what was open before is a zone of this survey: half of the smaller lies within the other.
fn is_same(now: &Item, old: &Item, asset: &Asset) -> bool {
    if now.asset != asset.tag {
        return false;
    }
    let body = body_of(asset);
    let (a, b) = (now.spot(&body), old.spot(&body));
    let beside = (BESIDE_M, BESIDE_M);
    a.share_within(&b, &body, beside).max(b.share_within(&a, &body, beside)) >= 0.5
}

/// A place that counts from the end that was the datum then, counted from the one that is now.
fn turn(old: &mut Item, asset: &Asset, date: &str) {
    let swapped = asset.datum_swapped_on.as_deref().and_then(day);
    let is_since = swapped.is_some_and(|swap| day(&old.last_called) < Some(swap) && Some(swap) <= day(date));
    if !is_since {
        return;
    }
    let body = body_of(asset);
    let spot = old.spot(&body).from_other_end(&body);
    old.axial_m = spot.axial_m;
    if let About::Asset(deg) = spot.about {
        old.round_deg = Some(deg);
    }
}

/// This survey's zone takes over what was open before.
fn take_over(item: &mut Item, old: Item) {
    let mut names = old.former.clone();
    // A follow-up of this same survey brings nothing that has another name.
    if named(&old) != named(item) {
        names.push(named(&old));
    }
    for name in names {
        if !item.former.contains(&name) {
            item.former.push(name);
        }
    }
    if old.since < item.since {
        item.since.clone_from(&old.since);
        item.told = format!("{}; open since {}", item.told, old.since);
    }
    // What was opened before and not closed again still is not.
    if item.state == State::NotOpened && old.state == State::NotResealed {
        (item.state, item.opened_on, item.moisture) = (old.state, old.opened_on, old.moisture);
        item.told = format!("{}; {}", item.told, old.told);
    }
}
