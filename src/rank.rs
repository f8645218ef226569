//! Who comes first: zones of all frames joined by their place on the asset, named, and put in follow-up order.
//!
//! What is guaranteed out: zones in one total order, each with a priority of 0 to 100 that is the sum of its named parts;
//! ids that depend on nothing but the places of an asset's zones; what is set aside kept apart, with its reason.

pub mod history;
pub mod join;
pub mod place;
pub mod priority;

use std::cmp::Ordering;

use crate::assess::{Extent, Finding};
use crate::register::Asset;
use join::Seen;
use place::Place;
use priority::Parts;

/// One zone of the list.
#[derive(Debug, Clone, serde::Serialize, serde::Deserialize)]
pub struct Ranked {
    /// Name that stays the same over the same images and sheets, such as `SA-101-2`.
    pub id: String,
    /// Its number among the zones of its asset, with which the name ends.
    pub number: u32,
    /// Index of the asset in the register.
    pub asset: usize,
    /// Rank in the list, 1 = first; None where set aside.
    pub rank: Option<usize>,
    /// The finding of the frame that saw it best; its outline stands in the first of the sightings, not in its zone.
    pub finding: Finding,
    /// Its place on the asset.
    pub place: Place,
    /// Priority, 0 to 100.
    pub priority: f64,
    /// Its parts.
    pub parts: Parts,
    /// Every sighting, the best first.
    pub sightings: Vec<Sighting>,
}

/// A zone in one frame.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Sighting {
    /// Index of the frame in the register.
    pub frame: usize,
    /// Centroid in image pixels.
    pub centroid_px: [f64; 2],
    /// Box in image pixels, x y w h.
    pub box_px: [f64; 4],
    /// Outline in image pixels.
    pub outline_px: Vec<[f64; 2]>,
    /// Pixels.
    pub pixels: usize,
}

/// Where a zone stands in follow-up order: findings by falling priority, then what is set aside; ties by asset and number.
#[derive(Debug, Clone, Copy)]
pub struct Standing {
    priority: f64,
    // Half the room of the register's own indices: one stands in memory for every zone of a survey.
    asset: u32,
    number: u32,
    is_set_aside: bool,
}

impl Standing {
    /// Whether the zone is no finding.
    #[must_use]
    pub fn is_set_aside(self) -> bool {
        self.is_set_aside
    }
}

impl Ord for Standing {
    fn cmp(&self, other: &Self) -> Ordering {
        self.is_set_aside
            .cmp(&other.is_set_aside)
            .then(other.priority.total_cmp(&self.priority))
            .then(self.asset.cmp(&other.asset))
            .then(self.number.cmp(&other.number))
    }
}

impl PartialOrd for Standing {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Standing {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Standing {}

impl Ranked {
    /// Where it stands in follow-up order.
    #[must_use]
    pub fn standing(&self) -> Standing {
        Standing {
            is_set_aside: self.finding.cause.is_set_aside(),
            priority: self.priority,
            asset: u32::try_from(self.asset).unwrap_or(u32::MAX),
            number: self.number,
        }
    }

    /// Weighs it anew with what is known of its place beside the frames.
    pub fn weigh(&mut self, known: &history::History) {
        self.parts.take(known);
        if !self.finding.cause.is_set_aside() {
            self.priority = self.parts.total();
        }
    }
}

/// Joins, names and weighs the zones of one asset. Ranks are given once all assets are known, by [`Standing`].
#[must_use]
pub fn of_asset(asset: &Asset, index: usize, survey_year: Option<i32>, seen: Vec<Seen>) -> Vec<Ranked> {
    let mut groups = join::join(asset, seen);
    groups.sort_by(|a, b| {
        place_key(&a[0])
            .partial_cmp(&place_key(&b[0]))
            .unwrap_or(Ordering::Equal)
    });
    let mut zones = Vec::with_capacity(groups.len());
    for (number, mut group) in (1..).zip(groups) {
        let sightings = group.iter_mut().map(Seen::take_sighting).collect();
        let Some(best) = group.into_iter().next() else { continue };
        let parts = Parts::of(asset, &best.finding, survey_year);
        zones.push(Ranked {
            id: format!("{}-{number}", asset.tag),
            number,
            asset: index,
            rank: None,
            priority: if best.finding.cause.is_set_aside() {
                0.0
            } else {
                parts.total()
            },
            place: best.place,
            finding: best.finding,
            parts,
            sightings,
        });
    }
    zones
}

/// Order of names within an asset: general first, then along the axis, then round it; findings before what is set aside.
fn place_key(seen: &Seen) -> (bool, bool, f64, f64) {
    let finding = &seen.finding;
    (
        finding.cause.is_set_aside(),
        finding.extent == Extent::Local,
        finding.zone.axial_m,
        seen.place.absolute_deg.unwrap_or(finding.zone.angle_deg),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn findings_stand_by_priority_and_what_is_set_aside_stands_last_by_asset_and_number() {
        let standing = |is_set_aside, priority, asset, number| Standing {
            priority,
            asset,
            number,
            is_set_aside,
        };
        let ordered = [
            standing(false, 57.0, 8, 1),
            standing(false, 30.0, 1, 2),
            standing(false, 30.0, 1, 10),
            standing(false, 30.0, 2, 1),
            standing(true, 0.0, 0, 9),
            standing(true, 0.0, 0, 11),
        ];
        for (above, below) in ordered.iter().zip(&ordered[1..]) {
            assert!(above < below, "{above:?} {below:?}");
            assert_ne!(above, below);
        }
    }
}
