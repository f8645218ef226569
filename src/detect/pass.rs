//! Residuals against one baseline, and the zones in them.

use super::baseline::{Baseline, sound_spread_k};
use super::front::{self, Beside, Scene, Supports};
use super::grow::{self, Growth, Region};
use super::jacket::{Cover, Jacket, Reach};
use super::measure::Measure;
use super::rings;
use super::{
    Departure, Detection, Edge, Footing, Look, Settings, WIDEST_TOLD_BY_EDGE_M, Zone, least_spread_k, lower_part,
    outline, smallest_zone_m,
};
use crate::locate::figure::{Part, Surface};

/// Spread along the jacket in m beyond which the contrast of a zone is gathered from its surroundings.
const SPREADING_M: f64 = 0.02;
/// Standard uncertainty of that gathering as a share of what it adds.
const SPREAD_DOUBT: f64 = 0.35;
/// Distance from the axis over the half width within which the sound jacket is read (30° from the facing line).
const SOUND_SHARE: f32 = 0.5;
/// Percentiles between which most of it lies.
const SOUND_REACH_PCT: [f64; 2] = [10.0, 90.0];

/// Residuals against one baseline.
pub(super) struct Pass<'a> {
    baseline: &'a Baseline,
    smooth_k: Vec<f32>,
    spread_k: f64,
    growth: Growth,
}

impl<'a> Pass<'a> {
    pub(super) fn new(jacket: &Jacket, baseline: &'a Baseline, settings: &Settings, look: &Look) -> Self {
        let residual_k = residuals(jacket, baseline);
        let smooth_k = grow::smoothed(jacket, &residual_k);
        let mut sizes: Vec<f64> = (0..smooth_k.len())
            .step_by(5)
            .filter(|&at| jacket.cover[at] == Cover::Usable && smooth_k[at].is_finite())
            .map(|at| f64::from(smooth_k[at].abs()))
            .collect();
        let spread_k = sound_spread_k(&mut sizes)
            .unwrap_or(0.0)
            .max(least_spread_k(look.noise_k));
        let core_k = settings.contrast_called_k(spread_k);
        let fringe_px = (3.0 + look.fringe_m * jacket.scale_px_m) as f32;
        let growth = Growth {
            core_k: core_k as f32,
            least_pixels: settings.least_pixels,
            fringe_px,
        };
        Self {
            baseline,
            smooth_k,
            spread_k,
            growth,
        }
    }

    pub(super) fn zones(&self, jacket: &Jacket, scene: &Scene, attached: &[Vec<usize>], look: &Look) -> Vec<Zone> {
        let mut attached = attached.to_vec();
        let beside = Beside::new(jacket, &attached, |pixels| self.usual_departure(jacket, pixels));
        let supports = Supports::new(jacket, scene, &attached);
        let mut left = Vec::new();
        for sign in [-1.0f32, 1.0] {
            let regions = grow::regions(jacket, &self.smooth_k, self.growth, sign);
            let mut regions = grow::bridged(jacket, regions);
            if look.fringe_m > SPREADING_M {
                self.gather_spread(jacket, &mut regions, look.fringe_m);
            }
            let held: Vec<bool> = (0..regions.len())
                .map(|index| supports.holds(jacket, index, &regions, &beside))
                .collect();
            for (region, held) in regions.into_iter().zip(held) {
                match beside.owner(jacket, &region).and_then(|owner| attached.get_mut(owner)) {
                    Some(thing) => thing.extend(&region.pixels),
                    None if held => attached.push(region.pixels),
                    None => left.push(region),
                }
            }
        }
        // Only now are all supports known, the warm ones too.
        let beside = Beside::new(jacket, &attached, |pixels| self.usual_departure(jacket, pixels));
        let supports = Supports::new(jacket, scene, &attached);
        let mut apart = Vec::with_capacity(left.len());
        for region in left {
            let support = supports.under(jacket, &region, &beside);
            match support.and_then(|support| attached.get_mut(support)) {
                Some(thing) => thing.extend(&region.pixels),
                None => apart.push(region),
            }
        }
        let supports = Supports::new(jacket, scene, &attached).with_footprints(jacket, scene);
        let over_support: Vec<bool> = (0..apart.len())
            .map(|index| supports.lies_over_one(jacket, index, &apart))
            .collect();
        let (mut on_jacket, mut over_supports) = (Vec::with_capacity(apart.len()), Vec::new());
        for (region, over_support) in apart.into_iter().zip(over_support) {
            if over_support {
                over_supports.push(region);
            } else {
                on_jacket.push(region);
            }
        }
        let (on_jacket, things) = grow::joined_behind(jacket, on_jacket);
        let around = Around {
            owner: grow::owners(jacket, &on_jacket),
            things,
        };
        let mut zones = Vec::new();
        for region in &on_jacket {
            let footing = if supports.may_be(jacket, region) {
                Footing::WhereSupportsStand
            } else {
                Footing::OnJacket
            };
            zones.extend(self.zone(jacket, region, (footing, &around), look));
        }
        for region in &over_supports {
            zones.extend(self.zone(jacket, region, (Footing::OverSupport, &around), look));
        }
        for pixels in &front::joined(jacket, attached) {
            let region = Region {
                peak_k: self.departure(jacket, pixels),
                spread_k: 0.0,
                pixels: pixels.clone(),
            };
            zones.extend(self.zone(jacket, &region, (Footing::CrossesOutline, &around), look));
        }
        zones.sort_by(|a, b| b.peak_contrast_k.abs().total_cmp(&a.peak_contrast_k.abs()));
        zones
    }

    /// A metal jacket carries heat sideways: the contrast that a zone loses stands beside it. What it would have been
    /// follows from the whole of it, for the extra heat is the same:
    ///
    /// ```text
    /// ΔT = ∫ ΔT(x) dA over zone and fringe / A of the zone
    /// ```
    fn gather_spread(&self, jacket: &Jacket, regions: &mut [Region], spread_m: f64) {
        let width = (2.5 * spread_m * jacket.scale_px_m).round().max(1.0) as usize;
        let owner = grow::owners(jacket, regions);
        let mut scratch = vec![false; jacket.cover.len()];
        for (index, region) in (0..).zip(regions.iter_mut()) {
            let counts = |at: &usize| {
                jacket.cover[*at] == Cover::Usable
                    && (owner[*at] == index || owner[*at] == grow::NOBODY)
                    && self.smooth_k[*at].is_finite()
            };
            let sum: f64 = grow::with_fringe(jacket, &region.pixels, width, &mut scratch)
                .into_iter()
                .filter(counts)
                .map(|at| f64::from(self.smooth_k[at]) * f64::from(jacket.area_m2[at]))
                .sum();
            let area: f64 = region
                .pixels
                .iter()
                .filter(|at| counts(at))
                .map(|&at| f64::from(jacket.area_m2[at]))
                .sum();
            if area > 0.0 && (sum / area).abs() > region.peak_k.abs() && sum * region.peak_k > 0.0 {
                region.spread_k = (sum / area - region.peak_k).abs();
                region.peak_k = sum / area;
            }
        }
    }

    /// Mean departure in K of pixels that are not jacket from what the jacket would show there.
    fn departure(&self, jacket: &Jacket, pixels: &[usize]) -> f64 {
        crate::statistic::mean(&self.departures(jacket, pixels)).unwrap_or(0.0)
    }

    /// The same in the median: what a thing departs by though a wet place shows along one of its sides.
    fn usual_departure(&self, jacket: &Jacket, pixels: &[usize]) -> f64 {
        crate::statistic::median(&mut self.departures(jacket, pixels)).unwrap_or(0.0)
    }

    fn departures(&self, jacket: &Jacket, pixels: &[usize]) -> Vec<f64> {
        let known = pixels.iter().filter(|&&at| jacket.surface_c[at].is_finite());
        known
            .map(|&at| f64::from(jacket.surface_c[at]) - self.baseline.at(jacket.axial_m[at], jacket.share[at]))
            .collect()
    }

    /// Measures a region on the jacket.
    fn zone(
        &self,
        jacket: &Jacket,
        region: &Region,
        (footing, around): (Footing, &Around),
        look: &Look,
    ) -> Option<Zone> {
        let counts = |at: &usize| jacket.cover[*at] == Cover::Usable || footing == Footing::CrossesOutline;
        let pixels: Vec<usize> = region.pixels.iter().copied().filter(counts).collect();
        if pixels.len() < self.growth.least_pixels || !pixels.iter().any(|&at| jacket.surface_c[at].is_finite()) {
            return None;
        }
        let measure = Measure::of(jacket, self.baseline, &pixels);
        let departure = if region.peak_k < 0.0 {
            Departure::Colder
        } else {
            Departure::Warmer
        };
        let shape = outline::trace((jacket, &around.things), &pixels, &look.view.orientation);
        let border = measure.border(jacket, &pixels);
        // What crosses the outline is told by that, what is large by its shape; the rest by its edge too.
        let small =
            footing == Footing::WhereSupportsStand || measure.length_m.max(measure.arc_m) < WIDEST_TOLD_BY_EDGE_M;
        let whole_edge_px = (footing.is_own() && small)
            .then(|| rings::step_px(jacket, &pixels, departure, |at| around.owner[at] != grow::NOBODY))
            .flatten();
        let edge = |width_px: f64| Edge {
            width_m: width_px / jacket.scale_px_m,
            pixel_m: 1.0 / jacket.scale_px_m,
        };
        let extreme_c = measure.extreme(jacket, &pixels, departure);
        Some(Zone {
            departure,
            footing,
            pixels: pixels.len(),
            image_px: pixels.len() * look.view.orientation.grain().pow(2),
            axial_m: measure.axial_m,
            angle_deg: measure.angle_deg,
            across_m: measure.across_m,
            top_share: match (jacket.surface, lower_part(&look.view.orientation)) {
                (Surface::Round, Part::FarSide) => Some(-measure.shares.0),
                (Surface::Round, Part::NearSide) => Some(measure.shares.1),
                _ => None,
            },
            length_m: measure.length_m,
            arc_m: measure.arc_m,
            area_m2: measure.area_m2,
            behind_m2: measure.area_m2 * shape.behind_px as f64 / pixels.len() as f64,
            surface_c: measure.surface_c,
            extreme_c,
            sound_c: measure.sound_c,
            contrast_k: measure.surface_c - measure.sound_c,
            peak_contrast_k: region.peak_k,
            contrast_to_noise: region.peak_k.abs() / self.spread_k,
            contrast_u_k: (self.spread_k.powi(2) / (pixels.len() as f64 / 9.0).max(1.0)
                + self.baseline.spread_k.powi(2)
                + (SPREAD_DOUBT * region.spread_k).powi(2))
            .sqrt(),
            edge: border.edge_px.map(edge),
            whole_edge: whole_edge_px.map(edge),
            cut_share: border.cut_share,
            centroid_px: shape.centroid_px,
            box_px: shape.box_px,
            outline_px: shape.outline_px,
        })
    }

    /// The usefully seen face as one zone.
    fn face(&self, jacket: &Jacket, sound_c: f64, look: &Look) -> Zone {
        let Reach {
            axial_m: along,
            share: across,
        } = jacket.usable_reach();
        let along = [along.0, along.1].map(|axial_m| jacket.on_jacket(axial_m, 0.0).axial_m);
        let arc = |share: f32| {
            let share = jacket.on_jacket(0.0, share).share;
            jacket.half_width_m
                * match jacket.surface {
                    Surface::Round => share.clamp(-1.0, 1.0).asin(),
                    Surface::Plane => share,
                }
        };
        let outline_px = look.view.outline_px();
        let bound = |axis: usize, worst: f64, better: fn(f64, f64) -> f64| {
            outline_px.iter().map(|p| p[axis]).fold(worst, better)
        };
        let (left, top) = (bound(0, f64::MAX, f64::min), bound(1, f64::MAX, f64::min));
        let (right, bottom) = (bound(0, f64::MIN, f64::max), bound(1, f64::MIN, f64::max));
        Zone {
            departure: Departure::Colder,
            footing: Footing::OnJacket,
            pixels: jacket.usable_px(),
            image_px: jacket.usable_px() * look.view.orientation.grain().pow(2),
            axial_m: (along[0] + along[1]) / 2.0,
            angle_deg: 0.0,
            across_m: 0.0,
            top_share: None,
            length_m: along[1] - along[0],
            arc_m: arc(across.1) - arc(across.0),
            area_m2: jacket.covered_m2(|cover| cover == Cover::Usable),
            behind_m2: 0.0,
            surface_c: sound_c,
            extreme_c: sound_c,
            sound_c,
            contrast_k: 0.0,
            peak_contrast_k: 0.0,
            contrast_to_noise: 0.0,
            contrast_u_k: self.baseline.spread_k,
            edge: None,
            whole_edge: None,
            cut_share: 0.0,
            centroid_px: [(left + right) / 2.0, (top + bottom) / 2.0],
            box_px: [left, top, right - left, bottom - top],
            outline_px,
        }
    }

    pub(super) fn into_detection(self, jacket: &Jacket, zones: Vec<Zone>, viewed_m2: f64, look: &Look) -> Detection {
        let usable = |at: &usize| jacket.cover[*at] == Cover::Usable;
        // The sound jacket is read near the line that faces the camera: sky, floor and angle have least say there.
        let mut sound: Vec<f64> = (0..jacket.cover.len())
            .step_by(7)
            .filter(usable)
            .filter(|&at| jacket.share[at].abs() < SOUND_SHARE)
            .map(|at| self.baseline.at(jacket.axial_m[at], jacket.share[at]))
            .collect();
        let mut part = |percent: f64| crate::statistic::percentile(&mut sound, percent).unwrap_or(f64::NAN);
        let (sound_c, sound_reach_c) = (part(50.0), SOUND_REACH_PCT.map(&mut part));
        let face = self.face(jacket, sound_c, look);
        Detection {
            zones,
            sound_c,
            sound_reach_c,
            spread_k: self.spread_k,
            viewed_m2,
            usable_m2: face.area_m2,
            least_contrast_k: f64::from(self.growth.core_k),
            smallest_zone_m: smallest_zone_m(self.growth.least_pixels, jacket.scale_px_m),
            face,
        }
    }
}

/// What lies about the zones.
struct Around {
    /// Which region each pixel belongs to.
    owner: Vec<u32>,
    /// Whether a pixel is a thing's that may stand in front, or of the blur about one.
    things: Vec<bool>,
}

/// What each pixel that is judged departs from the sound jacket in K; NaN elsewhere.
fn residuals(jacket: &Jacket, baseline: &Baseline) -> Vec<f32> {
    let mut residuals = baseline.residuals(jacket);
    for (residual_k, (&cover, share)) in residuals.iter_mut().zip(jacket.cover.iter().zip(&jacket.share)) {
        let aside = (cover == Cover::Steep) | (cover == Cover::Head);
        let judged = (cover == Cover::Usable) | (aside & (share.abs() < 0.95));
        *residual_k = if judged { *residual_k } else { f32::NAN };
    }
    residuals
}
