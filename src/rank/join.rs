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
    /// The sighting that the list keeps.
    #[must_use]
    pub fn sighting(&self) -> Sighting {
        let zone = &self.finding.zone;
        Sighting {
            frame: self.frame,
            centroid_px: zone.centroid_px,
            box_px: zone.box_px,
            outline_px: zone.outline_px.clone(),
            pixels: zone.pixels,
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

/// Whether two sightings are of one zone: same kind, and centroids nearer than half their joint size plus what the places
/// are uncertain by.
fn same(asset: &Asset, a: &Seen, b: &Seen) -> bool {
    let kind = |s: &Seen| (s.finding.extent, s.finding.zone.departure, s.finding.cause.is_set_aside());
    if kind(a) != kind(b) {
        return false;
    }
    if a.finding.extent == Extent::General {
        return true;
    }
    let along = (a.finding.zone.length_m + b.finding.zone.length_m) / 4.0 + PLACE_M;
    if (a.place.axial_m - b.place.axial_m).abs() > along {
        return false;
    }
    let about_m = (a.finding.zone.arc_m + b.finding.zone.arc_m) / 4.0;
    match asset.shape {
        Shape::HorizontalCylinder { diameter_m, .. } | Shape::VerticalCylinder { diameter_m, .. } => {
            let reach_deg = (about_m / (diameter_m / 2.0)).to_degrees() + PLACE_DEG;
            let (Some(one), Some(two)) = (a.place.absolute_deg, b.place.absolute_deg) else {
                // Neither frame says what it faces: only frames of one view can be compared.
                return a.place.absolute_deg == b.place.absolute_deg
                    && (a.finding.zone.angle_deg - b.finding.zone.angle_deg).abs() <= reach_deg;
            };
            let apart = (one - two + 180.0).rem_euclid(360.0) - 180.0;
            apart.abs() <= reach_deg
        }
        Shape::Flat { .. } => {
            let (one, two) = (a.finding.zone.across_m, b.finding.zone.across_m);
            (one - two).abs() <= about_m + PLACE_M
        }
    }
}
