//! What supports do to the jacket about and over them.

use super::{Extent, SUPPORT_WIDTH, Supports, are_alike};
use crate::detect::front::attached::{Beside, beside_px};
use crate::detect::front::profile::Profile;
use crate::detect::front::{OUT_PX, Scene};
use crate::detect::grow;
use crate::detect::jacket::Jacket;
use crate::locate::figure::Part;

/// Contrast in K that the jacket on a support departs by at most; as simulated scenes show it, no source.
const HALO_K: f64 = 1.0;
/// The same of a rim, a thin arch over the support: so thin is no wet patch of that contrast, which spreads.
const RIM_K: f64 = 2.0;
/// What an arch fills of its box at most, and its thickness over the vessel's radius.
const ARCH_FILL: f64 = 0.6;
const ARCH_THICK: f64 = 0.15;
/// How far from its middle the support stands that it goes over, as a share of its width.
const ARCH_MIDDLE: f64 = 1.0 / 6.0;
/// Contrast in K that jacket over a support departs by at most where heat flows through the support, by how many times that over
/// another under the same vessel, what such a place shares with the support's width at least, and how many times as wide it may
/// be. Set by the repository's simulated scenes and those of `scripts/outside`, no source.
const BRIDGED_K: f64 = 3.0;
const BRIDGED_RATIO: f64 = 2.0;
const OVER_SHARE: f64 = 0.6;
const WIDER: f64 = 1.3;

impl Supports {
    /// The same with what shows of supports below the outline, by which [`Supports::lies_over_one`] knows them.
    #[must_use]
    pub fn with_footprints(self, jacket: &Jacket, scene: &Scene) -> Self {
        Self {
            footprints: footprints(jacket, scene),
            ..self
        }
    }

    /// The support of which a region is the halo: jacket that the support cools or warms, on which it stands.
    #[must_use]
    pub fn under(&self, jacket: &Jacket, region: &grow::Region, beside: &Beside) -> Option<usize> {
        let (index, _) = beside.touched(region)?;
        let own = self.extent(jacket, &region.pixels)?;
        let hugs = self.hugs(&own);
        let halo = self.is_halo(region, &own);
        // A rim goes round its support; what stands on one side of a leg is a place of its own.
        let round = self.spans.get(index).and_then(Option::as_ref).is_none_or(|thing| {
            let middle = |extent: &Extent| extent.left_px + extent.width_px / 2.0;
            (middle(thing) - middle(&own)).abs() < ARCH_MIDDLE * own.width_px
        });
        let low = region.peak_k.abs() < RIM_K && self.is_low(&own);
        let rim = low && round && self.arches(jacket, region, &own);
        let thing = self.spans.get(index).and_then(Option::as_ref);
        let top = thing.is_some_and(|thing| self.is_top(region, &own, thing));
        (hugs && (halo || rim || top)).then_some(index)
    }

    /// Whether a region is jacket over a support that does not itself show on it.
    #[must_use]
    pub fn lies_over_one(&self, jacket: &Jacket, index: usize, regions: &[grow::Region]) -> bool {
        self.crowned(jacket, index, regions) || self.cools(jacket, index, regions)
    }

    /// Whether a region is jacket that a support cools: where supports stand, small, and right over what stands out below the
    /// outline, or with another such region as wide and as far up.
    pub(super) fn cools(&self, jacket: &Jacket, index: usize, regions: &[grow::Region]) -> bool {
        let Some((region, own)) = regions
            .get(index)
            .and_then(|region| Some((region, self.extent(jacket, &region.pixels)?)))
        else {
            return false;
        };
        let (from, to) = (own.left_px, own.left_px + own.width_px);
        let over = |&(left, right): &(f64, f64)| {
            let shared = to.min(right) - from.max(left);
            shared > OVER_SHARE * own.width_px.max(0.5 * (right - left))
                && own.width_px < WIDER * (right - left) + 2.0 * beside_px(jacket) as f64
        };
        let faint = |region: &grow::Region| region.peak_k.abs() < BRIDGED_K;
        let twin = |other: &grow::Region| {
            let both = faint(other) && are_alike(region, other, BRIDGED_RATIO);
            both && self
                .extent(jacket, &other.pixels)
                .is_some_and(|other| self.is_where_supports_stand(&other) && own.is_twin(&other))
        };
        let mut others = regions.iter().enumerate().filter(|&(i, _)| i != index);
        let on_side = matches!(self.lower, Part::NearSide | Part::FarSide);
        let mut known = || self.footprints.iter().any(over) || on_side && others.any(|(_, other)| twin(other));
        faint(region) && self.is_where_supports_stand(&own) && known()
    }

    /// Whether a region departs no more than the jacket about a support does, and reaches no further up.
    fn is_halo(&self, region: &grow::Region, own: &Extent) -> bool {
        let flat = own.top_px - own.foot_px < 0.35 * self.radius_px + self.tolerance_px();
        region.peak_k.abs() < HALO_K && flat
    }

    /// Whether a region is the halo over a support of a vessel on its side that does not itself show on the jacket, being as
    /// warm as it: low, faint, and as far up as a support that does, or as another such region.
    pub(super) fn crowned(&self, jacket: &Jacket, index: usize, regions: &[grow::Region]) -> bool {
        let halo = |region: &grow::Region| {
            let own = self.extent(jacket, &region.pixels)?;
            (self.hugs(&own) && self.is_halo(region, &own)).then_some(own)
        };
        let Some(own) = regions.get(index).and_then(halo) else {
            return false;
        };
        if !matches!(self.lower, Part::NearSide | Part::FarSide) {
            return false;
        }
        let level = |other: &Extent| (other.top_px - own.top_px).abs() <= self.tolerance_px();
        let supports = self.known.iter().filter_map(|&known| self.spans.get(known)?.as_ref());
        let alike = |other: &Extent| {
            let (narrow, wide) = (own.width_px.min(other.width_px), own.width_px.max(other.width_px));
            level(other) && narrow > 0.5 * wide
        };
        let mut others = regions.iter().enumerate().filter(|&(i, _)| i != index);
        supports.into_iter().any(level) || others.any(|(_, other)| halo(other).is_some_and(|other| alike(&other)))
    }

    /// Whether a region is a thin arch that stands over something: under its top, the middle is bare of it.
    fn arches(&self, jacket: &Jacket, region: &grow::Region, own: &Extent) -> bool {
        let box_px = own.width_px * (own.top_px - own.foot_px + 1.0);
        let thick_px = region.pixels.len() as f64 / (own.width_px + 2.0 * (own.top_px - own.foot_px));
        let half_way = (own.foot_px + own.top_px) / 2.0;
        let middle = own.left_px + own.width_px / 2.0;
        let bare = region.pixels.iter().all(|&at| {
            let (across, up) = (self.across_px(jacket, at), self.up_px(jacket, at));
            (across - middle).abs() > ARCH_MIDDLE * own.width_px || up > half_way
        });
        bare && region.pixels.len() as f64 <= ARCH_FILL * box_px && thick_px <= ARCH_THICK * self.radius_px
    }
}

/// What stands out just below the outline of a vessel on its side: from and to, in columns of the jacket's part.
fn footprints(jacket: &Jacket, scene: &Scene) -> Vec<(f64, f64)> {
    if !matches!(scene.lower, Part::NearSide | Part::FarSide) {
        return Vec::new();
    }
    let side = scene.figure.side(1.0, scene.lower);
    let values = side
        .iter()
        .map(|p| scene.near(p.u + OUT_PX * p.normal_u, p.v + OUT_PX * p.normal_v));
    let profile = Profile::new(values.collect(), scene.radius_px().max(12.0) as usize);
    let column = |index: usize| side[index % side.len()].u - jacket.origin.0 as f64;
    let runs = profile.bumps(scene.least_bump_k()).into_iter();
    let spans = runs.map(|(from, to)| (column(from), column(to.saturating_sub(1))));
    spans
        .map(|(a, b)| (a.min(b), a.max(b)))
        .filter(|(a, b)| b - a >= 2.0 && b - a < SUPPORT_WIDTH * scene.radius_px())
        .collect()
}
