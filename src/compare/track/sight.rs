//! Whether a survey would have shown a zone of another: its place seen, large enough, and strong enough a sign.

use super::{End, History, Look};
use crate::compare::findings::Zone;
use crate::compare::place::Spot;

/// Whether it would have.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Sight {
    /// Yes.
    Seen,
    /// No, because.
    Not(String),
    /// Nobody can tell, because.
    Unknown(String),
}

impl Sight {
    pub(super) fn is_seen(&self) -> bool {
        *self == Self::Seen
    }
}

impl History<'_> {
    /// Whether a survey would have shown a track's last sighting.
    pub(super) fn sight_of(&self, look: usize, track: usize) -> Sight {
        let last = self.tracks[track].last();
        let zone = last.zones[0];
        self.would_show(look, &last.spot, zone, last.look)
    }

    /// Whether a survey would have shown a zone of another at a place, in this survey's terms.
    pub(super) fn would_show(&self, look: usize, spot: &Spot, zone: &Zone, of: usize) -> Sight {
        let (at, from) = (&self.looks[look], &self.looks[of]);
        let own = if at.end == End::Other {
            spot.from_other_end(&at.body)
        } else {
            *spot
        };
        match self.was_seen(at, &own) {
            Sight::Seen => {}
            other => return other,
        }
        let side_m = zone.length_m.min(zone.arc_m);
        if !zone.is_general() && side_m < at.smallest_zone_m {
            return Sight::Not(format!(
                "it was {side_m:.2} m across, and the frames of {} show no zone under {:.2} m",
                at.findings.survey.date, at.smallest_zone_m
            ));
        }
        self.is_strong_enough(at, from, zone)
    }

    fn was_seen(&self, at: &Look, own: &Spot) -> Sight {
        let date = &at.findings.survey.date;
        if let Some(share) = own.share_seen(at.asset, &at.body) {
            if share >= self.settings.seen_share {
                return Sight::Seen;
            }
            return Sight::Not(format!(
                "{:.0} % of its place was usefully seen in the survey of {date} (needed: {:.0} %)",
                100.0 * share,
                100.0 * self.settings.seen_share
            ));
        }
        // Without a map the areas decide where they can.
        let (total_m2, usable_m2) = (at.asset.total_m2, at.asset.usable_m2);
        if usable_m2 <= 0.0 {
            return Sight::Not(format!(
                "nothing of the asset was usefully seen in the survey of {date}"
            ));
        }
        if usable_m2 >= 0.99 * total_m2 {
            return Sight::Seen;
        }
        Sight::Unknown(format!("the findings of {date} do not tell whether its place was seen"))
    }

    /// A sign fades with the difference of air and sound jacket: expected now = contrast then · (air − sound) now over then.
    /// Kelvin serve here to tell what could be seen, never to compare zones.
    fn is_strong_enough(&self, at: &Look, from: &Look, zone: &Zone) -> Sight {
        let least_k = at
            .findings
            .used(&at.asset.asset)
            .filter_map(|frame| frame.least_contrast_k)
            .reduce(f64::max);
        let (Some(least_k), Some(now_k), Some(then_k)) = (least_k, drive_k(at), drive_k(from)) else {
            return Sight::Seen;
        };
        let expected_k = zone.contrast_k.abs() * now_k / then_k;
        if zone.is_general() || expected_k >= least_k {
            return Sight::Seen;
        }
        Sight::Not(format!(
            "under the conditions of {} it would have stood {expected_k:.1} K off, and the frames show nothing under \
             {least_k:.1} K",
            at.findings.survey.date
        ))
    }
}

/// Mean difference of air and sound jacket over the frames of an asset, K; None where it is not told or next to nothing.
fn drive_k(look: &Look) -> Option<f64> {
    let drives: Vec<f64> = look
        .findings
        .used(&look.asset.asset)
        .filter_map(|frame| Some((frame.air_temperature_c? - frame.sound_surface_c?).abs()))
        .collect();
    crate::statistic::mean(&drives).filter(|mean_k| *mean_k > 0.1)
}
