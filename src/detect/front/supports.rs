//! Supports and legs: which of the things met at the outline, and which regions of the jacket, are some.

mod halo;

use super::Scene;
use super::attached::{Beside, SUPPORT_K, beside_px, is_like};
use crate::detect::grow;
use crate::detect::jacket::Jacket;
use crate::locate::figure::Part;

/// How alike two low regions are that are a pair of supports: their contrasts' ratio, and how far up they reach, px. Set, as all
/// below that names no source, by the repository's simulated scenes and those of `scripts/outside`.
const TWIN_RATIO: f64 = 1.3;
const TWIN_LEVEL_PX: f64 = 3.0;
/// How far up a saddle comes at most, over the radius of the vessel (one that embraces 150°: 0.74; 120° is usual: 0.5; common
/// practice, no source); how far up what shows of a saddle or a leg begins, and how wide either is.
const SADDLE_TOP: f64 = 0.75;
const SADDLE_FOOT: f64 = 0.35;
const LEG_FOOT: f64 = 0.5;
const SUPPORT_WIDTH: f64 = 0.45;
/// Contrast in K of the top of a support, at most.
const TOP_K: f64 = 8.0;
/// Height over width from which a narrow thing is upright, and the share of its width on which it may stand.
const UPRIGHT: f64 = 1.3;
const CORNER_SHARE: f64 = 0.6;
/// Beyond this share of the half width from the axis nothing is judged; a support comes down to there but for so many px.
const FOOT_SHARE: f64 = 0.05;
const FOOT_PX: f64 = 2.0;

/// Supports and legs come in twos and more that reach equally far up: what reaches as far as one of them is one too.
pub struct Supports {
    lower: Part,
    radius_px: f64,
    /// Depth of a head in px, where the asset stands on one of its ends.
    head_px: f64,
    length_m: f64,
    /// Which attached things are supports.
    known: Vec<usize>,
    /// What every attached thing spans.
    spans: Vec<Option<Extent>>,
    /// Under a vessel on its side, what stands out just below the outline: from and to, px along it; see
    /// [`Supports::with_footprints`].
    footprints: Vec<(f64, f64)>,
}

/// What a region spans, seen from the side of the outline on which the asset stands.
#[derive(Clone, Copy)]
struct Extent {
    /// How far from that side it begins and ends, px.
    foot_px: f64,
    top_px: f64,
    /// Across that direction, px: where it begins, and its width.
    left_px: f64,
    width_px: f64,
}

impl Extent {
    /// Whether two reach up equally far and are equally wide, as far as pixels tell.
    fn is_twin(&self, other: &Self) -> bool {
        let level = (self.top_px - other.top_px).abs() <= TWIN_LEVEL_PX;
        level && (self.width_px - other.width_px).abs() <= 1.0 + 0.1 * self.width_px.max(other.width_px)
    }
}

impl Supports {
    /// The supports among attached things.
    #[must_use]
    pub fn new(jacket: &Jacket, scene: &Scene, attached: &[Vec<usize>]) -> Self {
        let head_px = match scene.lower {
            Part::DatumEnd | Part::OtherEnd => scene.figure.depth_m(scene.lower) * scene.figure.scale_px_m,
            Part::NearSide | Part::FarSide => 0.0,
        };
        let mut supports = Self {
            lower: scene.lower,
            radius_px: scene.radius_px(),
            head_px,
            length_m: scene.figure.size.length_m,
            known: Vec::new(),
            spans: Vec::new(),
            footprints: Vec::new(),
        };
        supports.spans = attached.iter().map(|pixels| supports.extent(jacket, pixels)).collect();
        let low = |span: &Option<Extent>| span.as_ref().is_some_and(|extent| supports.is_low(extent));
        let spans = supports.spans.iter().enumerate();
        supports.known = spans.filter(|(_, span)| low(span)).map(|(index, _)| index).collect();
        supports
    }

    fn tolerance_px(&self) -> f64 {
        (0.12 * self.radius_px).max(3.0)
    }

    fn zone_px(&self) -> f64 {
        0.9 * self.radius_px + self.head_px
    }

    /// Distance in px of a pixel from the side on which the asset stands, in view or not.
    fn up_px(&self, jacket: &Jacket, at: usize) -> f64 {
        let (axial_m, share) = (f64::from(jacket.axial_m[at]), f64::from(jacket.share[at]));
        match self.lower {
            Part::FarSide => (1.0 - share) * self.radius_px,
            Part::NearSide => (1.0 + share) * self.radius_px,
            Part::DatumEnd => axial_m * jacket.scale_px_m + self.head_px,
            Part::OtherEnd => (self.length_m - axial_m) * jacket.scale_px_m + self.head_px,
        }
    }

    /// Place in px of a pixel along the side on which the asset stands.
    fn across_px(&self, jacket: &Jacket, at: usize) -> f64 {
        let columns = jacket.size.0;
        match self.lower {
            Part::FarSide | Part::NearSide => (at % columns) as f64,
            Part::DatumEnd | Part::OtherEnd => (at / columns) as f64,
        }
    }

    fn extent(&self, jacket: &Jacket, pixels: &[usize]) -> Option<Extent> {
        let across = |at: usize| self.across_px(jacket, at);
        let bounds = |value: &dyn Fn(usize) -> f64| {
            pixels
                .iter()
                .map(|&at| value(at))
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| {
                    (low.min(x), high.max(x))
                })
        };
        let (foot_px, top_px) = bounds(&|at| self.up_px(jacket, at));
        let (left, right) = bounds(&across);
        (!pixels.is_empty()).then_some(Extent {
            foot_px,
            top_px,
            left_px: left,
            width_px: right - left + 1.0,
        })
    }

    /// Whether a region ends where a support may, and takes in no more than one.
    #[must_use]
    pub fn may_be(&self, jacket: &Jacket, region: &grow::Region) -> bool {
        self.extent(jacket, &region.pixels)
            .is_some_and(|own| self.is_where_supports_stand(&own))
    }

    fn is_where_supports_stand(&self, own: &Extent) -> bool {
        let (is_low, most_foot) = match self.lower {
            Part::FarSide | Part::NearSide => (own.top_px < SADDLE_TOP * self.radius_px, SADDLE_FOOT),
            Part::DatumEnd | Part::OtherEnd => (self.is_low(own), LEG_FOOT),
        };
        is_low && own.foot_px < most_foot * self.radius_px && own.width_px < SUPPORT_WIDTH * self.radius_px
    }

    /// Whether a region lies near the side on which the asset stands, and takes in little of it.
    fn hugs(&self, own: &Extent) -> bool {
        own.foot_px < 0.5 * self.radius_px + self.head_px && own.width_px < 0.9 * self.radius_px
    }

    /// Whether a thing ends where a support may.
    fn is_low(&self, extent: &Extent) -> bool {
        extent.top_px < self.zone_px() + self.tolerance_px()
    }

    /// Whether a region comes down to the side on which the asset stands, as far as the jacket is judged there.
    fn comes_down(&self, extent: &Extent) -> bool {
        match self.lower {
            Part::FarSide | Part::NearSide => extent.foot_px < FOOT_SHARE * self.radius_px + FOOT_PX,
            // Legs start anywhere on a head.
            Part::DatumEnd | Part::OtherEnd => true,
        }
    }

    /// Whether a thing is narrow and begins near the side on which the asset stands.
    fn stands(&self, extent: &Extent) -> bool {
        extent.width_px < 0.35 * self.zone_px() && extent.foot_px < 0.3 * self.radius_px + self.head_px
    }

    /// Whether a region is no wider than the thing below it and stands where supports do: the top of one, however cold the vessel
    /// makes that.
    fn is_top(&self, region: &grow::Region, own: &Extent, thing: &Extent) -> bool {
        let within = own.left_px >= thing.left_px && own.left_px + own.width_px <= thing.left_px + thing.width_px;
        let cold = region.peak_k < 0.0 && region.peak_k > -TOP_K;
        within && cold && own.top_px > thing.top_px && self.is_where_supports_stand(own)
    }

    /// Whether a region stands on a thing that it carries on upwards: between the same sides, and on its whole width.
    fn continues(&self, jacket: &Jacket, region: &grow::Region, own: &Extent, beside: &Beside) -> bool {
        let Some((index, _)) = beside.touched(region) else {
            return false;
        };
        let Some(Some(thing)) = self.spans.get(index) else {
            return false;
        };
        if !self.is_top(region, own, thing) && !is_like(region.peak_k, beside.departures_k[index], SUPPORT_K) {
            return false;
        }
        let reach_px = beside_px(jacket) as f64;
        let low = own.foot_px + reach_px;
        let lowest = region.pixels.iter().filter(|&&at| self.up_px(jacket, at) <= low);
        let shared = lowest.filter(|&&at| beside.is_about(at, index)).count() as f64;
        let slack = 2.0 * reach_px;
        let between =
            own.left_px > thing.left_px - slack && own.left_px + own.width_px < thing.left_px + thing.width_px + slack;
        let whole = between && shared >= 2.0 * own.width_px;
        // What was met at the outline may be a corner of it only, where the outline runs aslant.
        let upright = self.stands(own) && own.top_px - own.foot_px >= UPRIGHT * own.width_px;
        own.top_px > thing.top_px && (whole || upright && shared >= CORNER_SHARE * own.width_px)
    }

    /// Whether a region is a support: low, and as far up as a support already known; or narrow, from near the side on which
    /// the asset stands, and as far up as another such region of its width.
    #[must_use]
    pub fn holds(&self, jacket: &Jacket, index: usize, regions: &[grow::Region], beside: &Beside) -> bool {
        let Some(region) = regions.get(index) else { return false };
        let Some(own) = self.extent(jacket, &region.pixels) else {
            return false;
        };
        if !self.is_low(&own) {
            return false;
        }
        if self.continues(jacket, region, &own, beside) {
            return true;
        }
        let level = |other: f64| (other - own.top_px).abs() <= self.tolerance_px();
        let like_known = |&index: &usize| {
            let span = self.spans.get(index).and_then(Option::as_ref);
            let one = span.is_some_and(|known| level(known.top_px) && own.width_px <= 1.15 * known.width_px);
            let departure_k = beside.departures_k.get(index);
            one && self.comes_down(&own) && departure_k.is_some_and(|&k| is_like(region.peak_k, k, SUPPORT_K))
        };
        let known = self.known.iter().any(like_known);
        let like = |other: &Extent| {
            let (narrow, wide) = (own.width_px.min(other.width_px), own.width_px.max(other.width_px));
            level(other.top_px) && self.stands(other) && narrow > 0.5 * wide - 1.0
        };
        let fellow = || {
            let others = regions.iter().enumerate().filter(|&(i, _)| i != index);
            others
                .filter(|(_, other)| is_like(region.peak_k, other.peak_k, SUPPORT_K))
                .filter_map(|(_, other)| self.extent(jacket, &other.pixels))
                .any(|other| like(&other))
        };
        // Something in front may hide their feet: two so much alike are a pair of saddles whatever they stand on.
        let twin = || {
            let others = regions.iter().enumerate().filter(|&(i, _)| i != index);
            others
                .filter(|(_, other)| are_alike(region, other, TWIN_RATIO))
                .filter_map(|(_, other)| self.extent(jacket, &other.pixels))
                .any(|other| own.is_twin(&other) && self.hugs(&other))
        };
        known || self.stands(&own) && self.comes_down(&own) && fellow() || self.hugs(&own) && twin()
    }
}

/// Whether two regions depart to the same side, and neither so many times as far as the other.
fn are_alike(one: &grow::Region, other: &grow::Region, most_ratio: f64) -> bool {
    (1.0 / most_ratio..=most_ratio).contains(&(one.peak_k / other.peak_k))
}

#[cfg(test)]
mod tests;
