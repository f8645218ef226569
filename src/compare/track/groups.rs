//! Zones that come apart, or go into one another.

use super::{Fate, History, Placed, Sighting, Standing, Track};
use crate::compare::place::Body;

impl<'a> History<'a> {
    /// A zone that no track leads to: part of one that came apart, or the beginning of another.
    pub(super) fn split_or_begin(&mut self, look: usize, one: &Placed<'a>, body: &Body) {
        if one.standing == Standing::Called
            && let Some(host) = self.host_of(look, one, body)
            && let Some(sighting) = self.tracks[host].sightings.last_mut()
        {
            sighting.zones.push(one.zone);
            return;
        }
        if one.standing == Standing::Called
            && let Some(whole) = self.once_whole(look, one)
        {
            self.sight(whole, look, one);
            return;
        }
        self.tracks.push(Track {
            sightings: vec![Sighting {
                look,
                zones: vec![one.zone],
                standing: one.standing,
                spot: one.spot,
            }],
            fate: Fate::Open,
            gap: None,
        });
    }

    /// The track seen in this survey whose place before holds most of a zone.
    fn host_of(&self, look: usize, one: &Placed, body: &Body) -> Option<usize> {
        let share = |track: &Track| {
            let [.., before, now] = track.sightings.as_slice() else {
                return 0.0;
            };
            let is_like = now.look == look
                && now.standing == Standing::Called
                && before.standing == Standing::Called
                && track.gap.is_none_or(|gap| gap < before.look)
                && before.zones[0].departure == one.zone.departure;
            if is_like {
                one.spot
                    .share_within(&before.spot, body, self.uncertain_m(before.look, look, body))
            } else {
                0.0
            }
        };
        self.fullest(share)
    }

    /// The track of an asset wet all over, which is so no more in this survey: a zone of its is what is left of it.
    fn once_whole(&self, look: usize, one: &Placed) -> Option<usize> {
        self.tracks.iter().position(|track| {
            let last = track.last();
            track.fate == Fate::Open
                && last.look < look
                && last.standing == Standing::Called
                && last.zones[0].is_general()
                && last.zones[0].departure == one.zone.departure
        })
    }

    /// A track that this survey does not continue: gone into another zone, gone, or not seen.
    pub(super) fn merge_or_end(&mut self, track: usize, look: usize, body: &Body) {
        let last = self.tracks[track].last();
        let (then, spot, departure) = (last.look, last.spot, last.zones[0].departure.clone());
        if last.standing == Standing::Called {
            let into = self.fullest(|other| {
                let now = other.last();
                let is_like =
                    now.look == look && now.standing == Standing::Called && now.zones[0].departure == departure;
                if is_like {
                    spot.share_within(&now.spot, body, self.uncertain_m(then, look, body))
                } else {
                    0.0
                }
            });
            if let Some(into) = into.filter(|into| *into != track) {
                self.merge(track, look, into);
                return;
            }
        }
        if self.sight_of(look, track).is_seen() {
            self.tracks[track].fate = Fate::Gone { look };
        }
    }

    fn merge(&mut self, track: usize, look: usize, into: usize) {
        self.tracks[track].fate = Fate::Merged { look, into };
        let (then, zones) = (self.tracks[track].last().look, self.tracks[track].last().zones.clone());
        // The parts count together in the survey that had them apart.
        let same = self.tracks[into].sightings.iter_mut().find(|one| one.look == then);
        if let Some(sighting) = same {
            sighting.zones.extend(zones);
        }
    }

    /// The track of which `share` holds most, at least half.
    fn fullest(&self, share: impl Fn(&Track) -> f64) -> Option<usize> {
        let mut best: Option<(usize, f64)> = None;
        for (index, track) in self.tracks.iter().enumerate() {
            let held = share(track);
            if held >= 0.5 && best.is_none_or(|(_, most)| held > most) {
                best = Some((index, held));
            }
        }
        best.map(|(index, _)| index)
    }
}
