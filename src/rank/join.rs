//! Zones seen in several frames of one asset are one zone with several sightings, by their place on the asset.

use super::Sighting;
use super::place::Place;
use crate::assess::{Extent, Finding};
use crate::register::{Asset, Shape};

/// A finding as one frame saw it.
#[derive(Debug, Clone)]
pub struct Seen {
    /// Index of the frame in the register.
    pub frame: usize,
    /// The finding.
    pub finding: Finding,
    /// Its place on the asset.
    pub place: Place,
    /// Pixels a metre of that frame: a finer frame is the better witness.
    pub scale_px_m: f64,
}

impl Seen {
    /// The sighting that the list keeps; it takes the outline with it, which is most of what a zone weighs.
    #[must_use]
    pub fn take_sighting(&mut self) -> Sighting {
        let zone = &mut self.finding.zone;
        Sighting {
            frame: self.frame,
            centroid_px: zone.centroid_px,
            box_px: zone.box_px,
            outline_px: std::mem::take(&mut zone.outline_px),
            pixels: zone.image_px,
        }
    }

    fn quality(&self) -> f64 {
        // Seen square on and fine is seen best.
        self.scale_px_m * self.finding.zone.angle_deg.to_radians().cos()
    }
}

/// Uncertainty of a place along the axis in m and round it in degrees (95 %, of the fit and of the view's start).
const PLACE_M: f64 = 0.08;
const PLACE_DEG: f64 = 6.0;

/// Groups of sightings, one group a zone, the best sighting first.
#[must_use]
pub fn join(asset: &Asset, mut seen: Vec<Seen>) -> Vec<Vec<Seen>> {
    seen.sort_by(|a, b| b.quality().total_cmp(&a.quality()).then(a.frame.cmp(&b.frame)));
    let mut groups: Vec<Vec<Seen>> = Vec::new();
    for one in seen {
        let home = groups.iter_mut().find(|group| {
            group.iter().all(|other| other.frame != one.frame) && group.iter().any(|other| same(asset, other, &one))
        });
        match home {
            Some(group) => group.push(one),
            None => groups.push(vec![one]),
        }
    }
    groups
}

/// Whether two sightings are of one zone: same kind, and places that overlap by a third of the smaller, both along the axis
/// and round it, given what the places are uncertain by. Overlap rather than distance of the centroids, since the
/// picture's edge may cut a zone.
fn same(asset: &Asset, a: &Seen, b: &Seen) -> bool {
    let kind = |s: &Seen| {
        (
            s.finding.extent,
            s.finding.zone.departure,
            s.finding.cause.is_set_aside(),
        )
    };
    if kind(a) != kind(b) {
        return false;
    }
    if a.finding.extent == Extent::General {
        return true;
    }
    let (one, two) = (&a.finding.zone, &b.finding.zone);
    if !overlap(a.place.axial_m - b.place.axial_m, (one.length_m, two.length_m), PLACE_M) {
        return false;
    }
    let (apart_m, uncertain_m) = match asset.shape {
        Shape::HorizontalCylinder { diameter_m, .. } | Shape::VerticalCylinder { diameter_m, .. } => {
            let apart_deg = match (a.place.absolute_deg, b.place.absolute_deg) {
                (Some(one), Some(two)) => (one - two + 180.0).rem_euclid(360.0) - 180.0,
                // Neither frame says what it faces: frames of one view can be compared.
                (None, None) => one.angle_deg - two.angle_deg,
                _ => return false,
            };
            let per_degree_m = diameter_m / 2.0 * std::f64::consts::PI / 180.0;
            (apart_deg * per_degree_m, PLACE_DEG * per_degree_m)
        }
        Shape::Flat { .. } => (one.across_m - two.across_m, PLACE_M),
    };
    overlap(apart_m, (one.arc_m, two.arc_m), uncertain_m)
}

/// Whether two stretches whose middles are so far apart overlap by a third of the smaller.
fn overlap(apart_m: f64, (one_m, two_m): (f64, f64), uncertain_m: f64) -> bool {
    let shared_m = (one_m + two_m) / 2.0 - (apart_m.abs() - uncertain_m).max(0.0);
    shared_m >= one_m.min(two_m) / 3.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sliver_at_the_edge_is_part_of_the_whole_and_a_neighbour_is_not() {
        // A zone of 0.6 m and the last 0.1 m of it; then two zones of 0.3 m with 0.2 m between.
        assert!(overlap(0.25, (0.6, 0.1), 0.08));
        assert!(!overlap(0.5, (0.3, 0.3), 0.08));
    }
}
