//! Who comes first: zones of all frames joined by their place on the asset, named, and put in follow-up order.
//!
//! What is guaranteed out: zones in one total order, each with a priority of 0 to 100 that is the sum of its named parts;
//! ids that depend on nothing but the places of an asset's zones; what is set aside kept apart, with its reason.

pub mod history;
pub mod join;
pub mod place;
pub mod priority;

use crate::assess::{Extent, Finding};
use crate::register::Asset;
use join::Seen;
use place::Place;
use priority::Parts;

/// One zone of the list.
#[derive(Debug, Clone)]
pub struct Ranked {
    /// Name that stays the same over the same images and sheets, such as `SA-101-2`.
    pub id: String,
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
#[derive(Debug, Clone, PartialEq)]
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

/// Joins, names and weighs the zones of one asset. Ranks are given by [`order`], once all assets are known.
#[must_use]
pub fn of_asset(asset: &Asset, index: usize, survey_year: Option<i32>, seen: Vec<Seen>) -> Vec<Ranked> {
    let mut groups = join::join(asset, seen);
    groups.sort_by(|a, b| {
        place_key(&a[0])
            .partial_cmp(&place_key(&b[0]))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    let mut zones = Vec::with_capacity(groups.len());
    for (number, mut group) in groups.into_iter().enumerate() {
        let sightings = group.iter_mut().map(Seen::take_sighting).collect();
        let Some(best) = group.into_iter().next() else { continue };
        let parts = Parts::of(asset, &best.finding, survey_year);
        zones.push(Ranked {
            id: format!("{}-{}", asset.tag, number + 1),
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

/// Weighs zones anew with what is known of their places beside the frames. [`order`] puts them in their order then.
pub fn weigh(zones: &mut [Ranked], history: impl Fn(&Ranked) -> history::History) {
    for zone in zones {
        let known = history(zone);
        zone.parts.take(&known);
        if !zone.finding.cause.is_set_aside() {
            zone.priority = zone.parts.total();
        }
    }
}

/// Puts findings in follow-up order and numbers them; what is set aside comes after, unnumbered.
pub fn order(zones: &mut [Ranked]) {
    zones.sort_by(|a, b| {
        let aside = |z: &Ranked| z.finding.cause.is_set_aside();
        aside(a)
            .cmp(&aside(b))
            .then(b.priority.total_cmp(&a.priority))
            .then_with(|| a.asset.cmp(&b.asset))
            .then_with(|| a.id.cmp(&b.id))
    });
    for (index, zone) in zones.iter_mut().enumerate() {
        zone.rank = (!zone.finding.cause.is_set_aside()).then_some(index + 1);
    }
}
