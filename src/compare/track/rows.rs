//! Rows of the result from an asset's tracks.

use super::sight::Sight;
use super::{Fate, History, Sighting, Standing};
use crate::compare::change::{AreaSeen, Change, Extents, State, judge};
use crate::compare::findings::Zone;
use crate::compare::place::{About, Body, Spot};
use crate::compare::trend::Trend;
use crate::compare::{Row, SeenBefore, Where};

impl<'a> History<'a> {
    fn present(&self) -> usize {
        self.looks.len() - 1
    }

    /// The rows of one track: none where it was over before this survey, or was set aside throughout.
    pub(super) fn rows_of(&self, index: usize) -> Vec<Row> {
        let track = &self.tracks[index];
        let last = track.last();
        let is_aside = last.standing == Standing::Aside;
        if last.look == self.present() {
            let was_called = track.sightings.iter().rev().nth(1);
            let was_called = was_called.is_some_and(|one| one.standing == Standing::Called);
            if is_aside && !was_called {
                return Vec::new();
            }
            return self.rows_now(index);
        }
        if is_aside {
            return Vec::new();
        }
        match track.fate {
            Fate::Open => vec![self.row_ended(index, Change::NotSeen, self.why_not_seen(index))],
            Fate::Gone { look } if look == self.present() => {
                let why = "its place was seen, and nothing is called there".to_owned();
                vec![self.row_ended(index, Change::Gone, why)]
            }
            Fate::Renewed { look } if look == self.present() => {
                let year = self.asset.insulated_year.unwrap_or_default();
                let why = format!("the insulation was renewed in {year} (insulated_year of assets.csv)");
                vec![self.row_ended(index, Change::Gone, why)]
            }
            Fate::Merged { look, into } if look == self.present() => vec![self.row_merged(index, into)],
            Fate::Gone { .. } | Fate::Renewed { .. } | Fate::Merged { .. } => Vec::new(),
        }
    }

    fn why_not_seen(&self, index: usize) -> String {
        match self.sight_of(self.present(), index) {
            Sight::Not(why) | Sight::Unknown(why) => why,
            Sight::Seen => "its place was not seen".to_owned(),
        }
    }

    /// The row of a zone of this survey, and one more for each part that came from the same earlier zone.
    fn rows_now(&self, index: usize) -> Vec<Row> {
        let track = &self.tracks[index];
        let now = track.last();
        let before = track.sightings.iter().rev().nth(1);
        let (zone, parts) = (now.zones[0], &now.zones[1..]);
        let mut row = self.blank(&now.spot, Some(zone));
        row.zone = Some(zone.id.clone());
        row.now = self.state(now);
        match before {
            Some(before) if track.gap.is_none_or(|gap| gap <= before.look) => self.compare(&mut row, before, now),
            _ => self.tell_new(&mut row, index),
        }
        row.history = track.sightings.iter().filter_map(|one| self.state(one)).collect();
        row.trend = Trend::of(&row.history);
        let split = parts.iter().map(|part| {
            let spot = Spot::of(part, &self.looks[now.look].body);
            let mut beside = Row {
                zone: Some(part.id.clone()),
                split_from: Some(zone.id.clone()),
                growth_m2: 0.0,
                apart_m: None,
                place: own_place(&spot, Some(part), &self.looks[now.look].body),
                ..row.clone()
            };
            beside.because.insert(
                0,
                format!(
                    "came apart from the zone that is {} now; both are compared together",
                    zone.id
                ),
            );
            beside
        });
        let split: Vec<Row> = split.collect();
        std::iter::once(row).chain(split).collect()
    }

    fn compare(&self, row: &mut Row, before: &Sighting<'a>, now: &Sighting<'a>) {
        let (Some(then), Some(at)) = (self.state(before), row.now.clone()) else {
            return;
        };
        let body = &self.looks[now.look].body;
        let (along_m, round_m) = before.spot.apart_m(&now.spot, body);
        // Only the like are followed, but for what is left of a jacket that was wet all over.
        let extents = match (is_general(before), is_general(now)) {
            (false, _) => Extents::Local,
            (true, true) => Extents::Whole,
            (true, false) => Extents::OnceWhole,
        };
        row.apart_m = (extents != Extents::OnceWhole).then_some([Some(along_m), round_m]);
        let uncertain_m = self.uncertain_m(before.look, now.look, body);
        row.place_uncertainty_m = [uncertain_m.0, uncertain_m.1];
        row.earlier_zone = before.zones.first().map(|zone| zone.id.clone());
        row.earlier_date = Some(then.date.clone());
        row.before_place = Some(place_of(&before.spot, body));
        let sees = |look: usize, spot: &Spot| {
            let at = &self.looks[look];
            let own = if at.end == super::End::Other {
                spot.from_other_end(&at.body)
            } else {
                *spot
            };
            let share = own.share_seen(at.asset, &at.body);
            share.is_none_or(|share| share >= self.settings.seen_share)
        };
        let area = AreaSeen {
            before: sees(before.look, &now.spot),
            now: sees(now.look, &before.spot),
            extents,
        };
        // What one survey takes for metal through the insulation has no ratio that could be held against wet insulation.
        let aside = [(before, "was set aside then as"), (now, "is set aside now as")]
            .into_iter()
            .filter(|(sighting, _)| sighting.standing == Standing::Aside)
            .map(|(sighting, words)| format!("not judged: it {words} {}", plain(&sighting.zones[0].likely_cause)));
        let aside: Vec<String> = aside.collect();
        let (change, because) = if aside.is_empty() {
            judge(&then, &at, area)
        } else {
            (Change::Steady, aside)
        };
        row.change = change;
        row.because = because;
        if matches!(
            (before.spot.about, now.spot.about),
            (About::Facing(_), About::Facing(_))
        ) {
            row.because
                .push("neither survey says what faced the camera: taken as the same side".to_owned());
        } else if round_m.is_none() && extents == Extents::Local {
            row.because
                .push("compared by its place along alone: one survey does not say where round it lies".to_owned());
        }
        if change == Change::Grown {
            row.growth_m2 = (at.excess_m2() - then.excess_m2()).max(0.0);
        }
        row.before = Some(then);
    }

    /// A zone without an earlier self: new, if its place was seen before.
    fn tell_new(&self, row: &mut Row, index: usize) {
        let track = &self.tracks[index];
        let now = track.last();
        row.change = Change::New;
        let excess_m2 = row.now.as_ref().map_or(0.0, State::excess_m2);
        if let Some(gap) = track.gap {
            let first = track.sightings.first().map_or("", |one| self.date(one.look));
            row.because.push(format!(
                "a zone stood here on {first}; on {} its place was seen without it: it has come back",
                self.date(gap)
            ));
            row.earlier_date = Some(self.date(gap).to_owned());
            (row.seen_before, row.growth_m2) = (Some(SeenBefore::Yes), excess_m2);
            return;
        }
        let mut unknown = None;
        for look in (0..now.look).rev() {
            match self.would_show(look, &now.spot, now.zones[0], now.look) {
                Sight::Seen => {
                    row.earlier_date = Some(self.date(look).to_owned());
                    let date = self.date(look);
                    row.because.push(if is_general(now) {
                        format!("the asset was seen on {date}, and was not called wet all over then")
                    } else {
                        format!("its place was seen on {date}, and nothing was called there")
                    });
                    (row.seen_before, row.growth_m2) = (Some(SeenBefore::Yes), excess_m2);
                    return;
                }
                Sight::Not(why) => row.because.push(why),
                Sight::Unknown(why) => {
                    row.because.push(why.clone());
                    unknown = Some(why);
                }
            }
        }
        if self.without > 0 && now.look == 0 {
            row.because.push("the asset is in no earlier survey".to_owned());
        }
        row.seen_before = Some(if unknown.is_some() {
            SeenBefore::Unknown
        } else {
            SeenBefore::No
        });
        row.because.insert(
            0,
            match unknown {
                None => "not seen before: it may be older than it looks",
                Some(_) => "whether it was seen before is not known",
            }
            .to_owned(),
        );
    }

    fn row_ended(&self, index: usize, change: Change, why: String) -> Row {
        let track = &self.tracks[index];
        let last = track.last();
        let mut row = self.blank(&last.spot, None);
        row.change = change;
        row.is_general = is_general(last);
        row.earlier_zone = last.zones.first().map(|zone| zone.id.clone());
        row.earlier_date = Some(self.date(last.look).to_owned());
        row.before = self.state(last);
        row.before_place = Some(place_of(&last.spot, &self.looks[self.present()].body));
        row.because.push(why);
        row.history = track.sightings.iter().filter_map(|one| self.state(one)).collect();
        row.trend = Trend::of(&row.history);
        row
    }

    fn row_merged(&self, index: usize, into: usize) -> Row {
        let host = self.rows_now(into);
        let mut row = self.row_ended(index, Change::Grown, String::new());
        row.because.clear();
        if let Some(host) = host.first() {
            row.merged_into.clone_from(&host.zone);
            // What the zone it went into did, it did; where that is new, this is how it began.
            row.change = if host.change == Change::New {
                Change::Grown
            } else {
                host.change
            };
            row.because.push(format!(
                "has gone into {}, with which it is compared",
                host.zone.as_deref().unwrap_or("another zone")
            ));
        }
        row
    }

    fn date(&self, look: usize) -> &str {
        self.looks.get(look).map_or("", |look| &look.findings.survey.date)
    }

    fn blank(&self, spot: &Spot, zone: Option<&Zone>) -> Row {
        let body = &self.looks[self.present()].body;
        let own = self.uncertain_m(self.present(), self.present(), body);
        Row {
            asset: self.asset.asset.clone(),
            zone: None,
            earlier_zone: None,
            earlier_date: None,
            change: Change::New,
            seen_before: None,
            merged_into: None,
            split_from: None,
            is_general: zone.is_some_and(Zone::is_general),
            place: own_place(spot, zone, body),
            before_place: None,
            apart_m: None,
            place_uncertainty_m: [own.0, own.1],
            before: None,
            now: None,
            growth_m2: 0.0,
            because: Vec::new(),
            history: Vec::new(),
            trend: None,
        }
    }
}

/// The place of a row: a zone's own words, or an earlier zone's place in this survey's terms.
fn own_place(spot: &Spot, zone: Option<&Zone>, body: &Body) -> Where {
    let place = place_of(spot, body);
    zone.map_or(place, |zone| Where {
        axial_m: zone.axial_m,
        clock: zone.clock,
        bearing_deg: zone.bearing_deg,
        height_m: zone.height_m,
        ..place
    })
}

fn place_of(spot: &Spot, body: &Body) -> Where {
    let (clock, bearing_deg, height_m) = match (spot.about, body) {
        (About::Asset(deg), Body::Level { .. }) => (Some(deg / 30.0), None, None),
        (About::Asset(deg), _) => (None, Some(deg), None),
        (About::Height(up_m), _) => (None, None, Some(up_m)),
        (About::Facing(_) | About::Anywhere, _) => (None, None, None),
    };
    Where {
        axial_m: spot.axial_m,
        clock,
        bearing_deg,
        height_m,
        length_m: spot.length_m,
        arc_m: spot.arc_m,
    }
}

fn is_general(sighting: &Sighting) -> bool {
    sighting.zones[0].is_general()
}

fn plain(key: &str) -> String {
    key.replace('-', " ")
}
