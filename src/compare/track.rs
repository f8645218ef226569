//! One asset's zones through the surveys: each zone is followed from survey to survey until its place is seen without it.

use super::change::State;
use super::findings::{Asset, Findings, Zone, day};
use super::pairing::{self, Candidate, Kind};
use super::place::{Body, Spot};
use super::{Row, Settings};

mod groups;
mod rows;
mod sight;

/// An asset through the surveys.
pub(super) struct History<'a> {
    /// The asset now.
    asset: &'a Asset,
    settings: &'a Settings,
    /// Surveys that have the asset, oldest first, this one last.
    looks: Vec<Look<'a>>,
    tracks: Vec<Track<'a>>,
    /// Earlier surveys that do not have it.
    without: usize,
    doubts: Vec<String>,
}

/// An asset in one survey.
struct Look<'a> {
    findings: &'a Findings,
    /// The asset as that survey has it.
    asset: &'a Asset,
    body: Body,
    end: End,
    smallest_zone_m: f64,
}

/// From which end a survey counts, seen from this one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum End {
    Same,
    Other,
}

/// A zone through the surveys.
struct Track<'a> {
    sightings: Vec<Sighting<'a>>,
    fate: Fate,
    /// The survey in which its place was seen without it, after which it came back.
    gap: Option<usize>,
}

/// A zone in one survey.
struct Sighting<'a> {
    look: usize,
    /// The zone, and what came apart from it or went into it.
    zones: Vec<&'a Zone>,
    standing: Standing,
    /// Its place in this survey's terms.
    spot: Spot,
}

/// On the list of its survey, or set aside there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Standing {
    Called,
    Aside,
}

/// What became of a zone so far.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fate {
    Open,
    Gone { look: usize },
    Merged { look: usize, into: usize },
    Renewed { look: usize },
}

/// A zone of one survey, placed in this survey's terms.
#[derive(Clone, Copy)]
struct Placed<'a> {
    zone: &'a Zone,
    standing: Standing,
    spot: Spot,
}

impl<'a> History<'a> {
    /// Follows the zones of an asset, known by what it was in each earlier survey.
    pub(super) fn of(
        present: &'a Findings,
        earlier: &[&'a Findings],
        (asset, former): (&'a Asset, &[Option<&'a Asset>]),
        settings: &'a Settings,
    ) -> Self {
        let mut history = Self {
            asset,
            settings,
            looks: Vec::new(),
            tracks: Vec::new(),
            without: former.iter().filter(|one| one.is_none()).count(),
            doubts: Vec::new(),
        };
        let then = earlier
            .iter()
            .zip(former)
            .filter_map(|(survey, asset)| Some((*survey, (*asset)?)));
        for (findings, own) in then.chain(std::iter::once((present, asset))) {
            let look = history.look(findings, own, present);
            history.looks.push(look);
        }
        for look in 0..history.looks.len() {
            history.follow(look);
        }
        history
    }

    fn look(&mut self, findings: &'a Findings, own: &'a Asset, present: &Findings) -> Look<'a> {
        let told = Body::of(own).or_else(|| Body::of(self.asset));
        let body = told.unwrap_or_else(|| {
            self.doubts.push(format!(
                "{}: the findings of {} do not tell its shape and size, which are taken from its zones: places round it are \
                 rough",
                own.asset, findings.survey.date
            ));
            guess(findings, own)
        });
        if let Some(now) = Body::of(self.asset).filter(|now| is_other_size(now, &body)) {
            self.doubts.push(format!(
                "{}: was {:.2} m long and {:.2} m round (or high) in the survey of {}, and is {:.2} m by {:.2} m in this \
                 register: places are compared as they are written",
                self.asset.asset,
                body.length_m(),
                body.girth_m(),
                findings.survey.date,
                now.length_m(),
                now.girth_m()
            ));
        }
        let swapped = self.asset.datum_swapped_on.as_deref().and_then(day);
        let is_swapped_since = swapped.is_some_and(|swap| findings.day() < swap && swap <= present.day());
        Look {
            findings,
            asset: own,
            body,
            end: if is_swapped_since { End::Other } else { End::Same },
            smallest_zone_m: findings
                .smallest_zone_m(&own.asset)
                .unwrap_or(self.settings.usual_smallest_zone_m),
        }
    }

    /// Zones of a survey on this asset, in an order that rests on their places alone.
    fn placed(&self, look: usize) -> Vec<Placed<'a>> {
        let Look {
            findings,
            asset,
            body,
            end,
            ..
        } = &self.looks[look];
        let called = findings.zones.iter().map(|zone| (zone, Standing::Called));
        let aside = findings.set_aside.iter().map(|zone| (zone, Standing::Aside));
        let mut placed: Vec<Placed> = called
            .chain(aside)
            .filter(|(zone, _)| zone.asset == asset.asset)
            .map(|(zone, standing)| {
                let spot = Spot::of(zone, body);
                Placed {
                    zone,
                    standing,
                    spot: if *end == End::Other {
                        spot.from_other_end(body)
                    } else {
                        spot
                    },
                }
            })
            .collect();
        placed.sort_by(|a, b| {
            a.zone
                .axial_m
                .total_cmp(&b.zone.axial_m)
                .then(a.zone.area_m2.total_cmp(&b.zone.area_m2))
                .then_with(|| a.zone.id.cmp(&b.zone.id))
        });
        placed
    }

    fn follow(&mut self, look: usize) {
        self.renew(look);
        let placed = self.placed(look);
        let body = self.looks[look].body;
        let open: Vec<usize> = (0..self.tracks.len())
            .filter(|&track| matches!(self.tracks[track].fate, Fate::Open | Fate::Gone { .. }))
            .collect();
        let before: Vec<Candidate> = open.iter().map(|&track| self.candidate(track)).collect();
        let after: Vec<Candidate> = placed
            .iter()
            .map(|one| candidate(one.zone, one.spot, self.looks[look].smallest_zone_m, one.standing))
            .collect();
        let pairs = pairing::pairs(&before, &after, &body, self.settings);
        let mut is_placed = vec![false; placed.len()];
        for &(i, j) in &pairs {
            is_placed[j] = true;
            self.sight(open[i], look, &placed[j]);
        }
        for (one, _) in placed.iter().zip(&is_placed).filter(|(_, is_placed)| !**is_placed) {
            self.split_or_begin(look, one, &body);
        }
        for track in 0..self.tracks.len() {
            let is_left = self.tracks[track].fate == Fate::Open && self.tracks[track].last().look != look;
            if is_left {
                self.merge_or_end(track, look, &body);
            }
        }
    }

    /// New insulation: what the old one held is over.
    fn renew(&mut self, look: usize) {
        let year = |look: &Look| i32::from(look.findings.day().year());
        let (Some(renewed), Some(now)) = (self.asset.insulated_year, self.looks.get(look)) else {
            return;
        };
        let now = year(now);
        for track in &mut self.tracks {
            let then = year(&self.looks[track.last().look]);
            if then < renewed && renewed <= now && track.fate == Fate::Open {
                track.fate = Fate::Renewed { look };
            }
        }
    }

    fn candidate(&self, track: usize) -> Candidate {
        let track = &self.tracks[track];
        let last = track.last();
        let smallest_zone_m = self.looks[last.look].smallest_zone_m;
        let mut candidate = candidate(last.zones[0], last.spot, smallest_zone_m, last.standing);
        // What had gone comes back only where nothing that stayed fits.
        if track.fate != Fate::Open {
            candidate.weight *= 0.5;
        }
        candidate
    }

    fn sight(&mut self, track: usize, look: usize, one: &Placed<'a>) {
        let track = &mut self.tracks[track];
        if let Fate::Gone { look } = track.fate {
            track.gap = Some(look);
        }
        track.fate = Fate::Open;
        track.sightings.push(Sighting {
            look,
            zones: vec![one.zone],
            standing: one.standing,
            spot: one.spot,
        });
    }

    fn uncertain_m(&self, one: usize, other: usize, body: &Body) -> (f64, f64) {
        let smallest_m = [self.looks[one].smallest_zone_m, self.looks[other].smallest_zone_m];
        pairing::uncertain_m(smallest_m, body, self.settings)
    }

    fn state(&self, sighting: &Sighting) -> Option<State> {
        let look = &self.looks[sighting.look];
        State::of(
            &sighting.zones,
            &look.findings.survey.date,
            look.smallest_zone_m,
            self.settings,
        )
    }

    /// The rows of the result, and what is in doubt.
    pub(super) fn rows(mut self, warnings: &mut Vec<String>) -> Vec<Row> {
        warnings.append(&mut self.doubts);
        (0..self.tracks.len()).flat_map(|track| self.rows_of(track)).collect()
    }
}

impl<'a> Track<'a> {
    /// The last sighting: a track begins with one.
    fn last(&self) -> &Sighting<'a> {
        &self.sightings[self.sightings.len() - 1]
    }
}

fn candidate(zone: &Zone, spot: Spot, smallest_zone_m: f64, standing: Standing) -> Candidate {
    Candidate {
        spot,
        kind: Kind {
            is_colder: zone.departure == "colder",
            is_general: zone.is_general(),
        },
        smallest_zone_m,
        // What was set aside once and called once may be one thing, but less readily than what was called twice.
        weight: if standing == Standing::Called { 1.0 } else { 0.5 },
    }
}

/// A body that holds the zones of an asset whose size nobody tells: 1 m across, as long as they reach.
fn guess(findings: &Findings, asset: &Asset) -> Body {
    let zones = || {
        let all = findings.zones.iter().chain(&findings.set_aside);
        all.filter(|zone| zone.asset == asset.asset)
    };
    let length_m = zones()
        .map(|zone| zone.axial_m + zone.length_m / 2.0)
        .fold(1.0, f64::max);
    if let Some(height_m) = zones().filter_map(|zone| zone.height_m).reduce(f64::max) {
        return Body::Wall {
            width_m: length_m,
            height_m: height_m + 1.0,
        };
    }
    if zones().any(|zone| zone.bearing_deg.is_some()) {
        return Body::Upright {
            diameter_m: 1.0,
            length_m,
        };
    }
    Body::Level {
        diameter_m: 1.0,
        length_m,
    }
}

/// Whether two bodies differ beyond what drawings and tapes differ by.
fn is_other_size(one: &Body, other: &Body) -> bool {
    let off = |a: f64, b: f64| (a - b).abs() > 0.05 * a.max(b);
    std::mem::discriminant(one) != std::mem::discriminant(other)
        || off(one.length_m(), other.length_m())
        || off(one.girth_m(), other.girth_m())
}
