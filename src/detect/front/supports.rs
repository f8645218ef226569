//! Supports and legs, and what they do to the jacket about them.

use super::attached::{Beside, SUPPORT_K, beside_px, is_like};
use super::profile::Profile;
use super::{OUT_PX, Scene};
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
/// How alike two low regions are that are a pair of supports: their contrasts' ratio, and how far up they reach, px.
const TWIN_RATIO: f64 = 1.3;
const TWIN_LEVEL_PX: f64 = 3.0;
/// How far up a saddle comes at most, over the radius of the vessel (one that embraces 150°: 0.74; 120° is usual: 0.5; common
/// practice, no source); how far up what shows of a saddle or a leg begins, and how wide either is. Set by simulated scenes.
const SADDLE_TOP: f64 = 0.75;
const SADDLE_FOOT: f64 = 0.35;
const LEG_FOOT: f64 = 0.5;
const SUPPORT_WIDTH: f64 = 0.45;
/// Contrast in K that jacket over a support departs by at most where heat flows through the support, by how many times the other's
/// under the same vessel, what such a place shares with the support's width at least, and how much wider it may be. Set by simulated scenes.
const BRIDGED_K: f64 = 3.0;
const BRIDGED_RATIO: f64 = 2.0;
const OVER_SHARE: f64 = 0.6;
const WIDER: f64 = 1.3;
/// Contrast in K of the top of a support, at most. Set by simulated scenes.
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

    /// The same with what shows of supports below the outline, by which [`Supports::cools`] knows them.
    #[must_use]
    pub fn with_footprints(self, jacket: &Jacket, scene: &Scene) -> Self {
        Self {
            footprints: footprints(jacket, scene),
            ..self
        }
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

    /// Whether a region is jacket that a support cools: where supports stand, small, and right over what stands out below the
    /// outline, or with another such region as wide and as far up.
    #[must_use]
    pub fn cools(&self, jacket: &Jacket, index: usize, regions: &[grow::Region]) -> bool {
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
            let alike = region.peak_k / other.peak_k;
            let both = faint(other) && (1.0 / BRIDGED_RATIO..=BRIDGED_RATIO).contains(&alike);
            both && self
                .extent(jacket, &other.pixels)
                .is_some_and(|other| self.is_where_supports_stand(&other) && own.is_twin(&other))
        };
        let mut others = regions.iter().enumerate().filter(|&(i, _)| i != index);
        let on_side = matches!(self.lower, Part::NearSide | Part::FarSide);
        let mut known = || self.footprints.iter().any(over) || on_side && others.any(|(_, other)| twin(other));
        faint(region) && self.is_where_supports_stand(&own) && known()
    }

    /// Whether a region lies near the side on which the asset stands, and takes in little of it.
    fn hugs(&self, own: &Extent) -> bool {
        own.foot_px < 0.5 * self.radius_px + self.head_px && own.width_px < 0.9 * self.radius_px
    }

    /// Whether a region departs no more than the jacket about a support does, and reaches no further up.
    fn is_halo(&self, region: &grow::Region, own: &Extent) -> bool {
        let flat = own.top_px - own.foot_px < 0.35 * self.radius_px + self.tolerance_px();
        region.peak_k.abs() < HALO_K && flat
    }

    /// Whether a region is the halo over a support of a vessel on its side that does not itself show on the jacket, being as
    /// warm as it: low, faint, and as far up as a support that does, or as another such region.
    #[must_use]
    pub fn crowned(&self, jacket: &Jacket, index: usize, regions: &[grow::Region]) -> bool {
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
                .filter(|(_, other)| {
                    (region.peak_k / other.peak_k).clamp(1.0 / TWIN_RATIO, TWIN_RATIO) == region.peak_k / other.peak_k
                })
                .filter_map(|(_, other)| self.extent(jacket, &other.pixels))
                .any(|other| own.is_twin(&other) && self.hugs(&other))
        };
        known || self.stands(&own) && self.comes_down(&own) && fellow() || self.hugs(&own) && twin()
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

#[cfg(test)]
mod tests {
    use ndarray::Array2;

    use super::*;
    use crate::detect::fixtures;
    use crate::detect::grow::Region;
    use crate::locate::figure::{Figure, Size, Surface};

    /// An upright vessel of 1 m radius and 6 m, its lower end towards smaller columns; the part from `start_m` on in view.
    struct Upright {
        jacket: Jacket,
        map: Array2<f32>,
        figure: Figure,
    }

    fn upright(start_m: f32) -> Upright {
        let (columns, rows) = (300, 200);
        let cells = columns * rows;
        let figure = fixtures::lying([0.0, 99.5]);
        let size = Size {
            half_width_m: 1.0,
            length_m: 6.0,
            ..figure.size
        };
        Upright {
            jacket: Jacket {
                share: (0..cells).map(|at| ((at / columns) as f32 - 99.5) / 100.0).collect(),
                axial_m: (0..cells).map(|at| start_m + (at % columns) as f32 / 100.0).collect(),
                half_width_m: 1.0,
                surface: Surface::Round,
                ..fixtures::even_jacket((columns, rows))
            },
            map: Array2::from_elem((rows, columns), 10.0),
            figure: Figure {
                size,
                head_depth_m: 0.5,
                anchor_axial_m: f64::from(start_m),
                ..figure
            },
        }
    }

    /// Two regions 20 px wide across and of one level, from `foot_px` to 60 px further.
    fn two_regions(foot_px: usize) -> Vec<Region> {
        let region = |middle: usize| Region {
            pixels: (middle - 10..middle + 10)
                .flat_map(|row| (foot_px..foot_px + 60).map(move |column| row * 300 + column))
                .collect(),
            peak_k: -3.0,
            spread_k: 0.0,
        };
        vec![region(60), region(140)]
    }

    fn held(upright: &Upright, regions: &[Region]) -> bool {
        let scene = Scene {
            map: &upright.map,
            figure: &upright.figure,
            noise_k: 0.05,
            lower: Part::DatumEnd,
        };
        let beside = Beside::new(&upright.jacket, &[], |_| 0.0);
        Supports::new(&upright.jacket, &scene, &[]).holds(&upright.jacket, 0, regions, &beside)
    }

    #[test]
    fn two_legs_of_one_level_are_supports() {
        assert!(held(&upright(0.0), &two_regions(5)));
    }

    #[test]
    fn a_patch_far_colder_than_a_leg_of_its_level_is_none() {
        let mut regions = two_regions(5);
        regions[0].peak_k = -8.5;
        assert!(!held(&upright(0.0), &regions));
        regions[1].peak_k = -4.0;
        assert!(held(&upright(0.0), &regions));
    }

    #[test]
    fn two_patches_at_the_edge_of_a_picture_that_shows_no_lower_end_are_none() {
        assert!(!held(&upright(2.5), &two_regions(5)));
    }

    #[test]
    fn two_patches_that_do_not_come_down_to_the_lower_end_are_none() {
        assert!(!held(&upright(0.0), &two_regions(50)));
    }

    /// A vessel of 1 m radius on its side, lower towards larger rows, in a picture of 300 × 200 px.
    fn crowned(regions: &[Region]) -> bool {
        let upright = upright(0.0);
        let scene = Scene {
            map: &upright.map,
            figure: &upright.figure,
            noise_k: 0.05,
            lower: Part::FarSide,
        };
        Supports::new(&upright.jacket, &scene, &[]).crowned(&upright.jacket, 0, regions)
    }

    /// A region 40 px long and 20 px high whose top lies so far above the lower side.
    fn low_region(middle: usize, top_px: usize, peak_k: f64) -> Region {
        let top = 199 - top_px;
        Region {
            pixels: (top..top + 20)
                .flat_map(|row| (middle - 20..middle + 20).map(move |column| row * 300 + column))
                .collect(),
            peak_k,
            spread_k: 0.0,
        }
    }

    #[test]
    fn two_faint_places_of_one_level_crown_supports_that_do_not_show() {
        assert!(crowned(&[low_region(80, 50, -0.5), low_region(220, 52, -0.4)]));
    }

    #[test]
    fn a_faint_place_alone_or_beside_one_that_is_higher_or_stronger_crowns_nothing() {
        let place = || low_region(80, 50, -0.5);
        assert!(!crowned(&[place()]));
        assert!(!crowned(&[place(), low_region(220, 65, -0.5)]));
        assert!(!crowned(&[place(), low_region(220, 50, -2.0)]));
        assert!(!crowned(&[low_region(80, 50, -2.0), low_region(220, 50, -2.0)]));
    }

    /// Whether the first region is taken for jacket that a support cools, the picture below the vessel as given.
    fn cooled(regions: &[Region], below: impl Fn(usize) -> f32) -> bool {
        let upright = upright(0.0);
        // The lower side lies at row 199.5.
        let map = Array2::from_shape_fn((240, 300), |(row, column)| if row < 200 { 10.0 } else { below(column) });
        let scene = Scene {
            map: &map,
            figure: &upright.figure,
            noise_k: 0.05,
            lower: Part::FarSide,
        };
        Supports::new(&upright.jacket, &scene, &[])
            .with_footprints(&upright.jacket, &scene)
            .cools(&upright.jacket, 0, regions)
    }

    #[test]
    fn jacket_over_what_stands_below_is_cooled_by_it() {
        let saddle = |column: usize| if (60..100).contains(&column) { 16.0 } else { 14.0 };
        let place = |peak_k: f64| [low_region(80, 50, peak_k)];
        assert!(cooled(&place(-2.0), saddle));
        assert!(!cooled(&place(-2.0), |_| 14.0));
        // Colder than a support makes it, beside what stands there, and higher up than one comes.
        assert!(!cooled(&place(-4.0), saddle));
        assert!(!cooled(&[low_region(130, 50, -2.0)], saddle));
        assert!(!cooled(&[low_region(80, 90, -2.0)], saddle));
    }

    #[test]
    fn two_places_as_wide_and_as_far_up_are_cooled_by_a_pair_of_supports() {
        let pair = |top_px: usize, peak_k: f64| [low_region(80, 50, -2.0), low_region(220, top_px, peak_k)];
        assert!(cooled(&pair(51, -1.3), |_| 14.0));
        assert!(!cooled(&pair(56, -1.3), |_| 14.0));
        assert!(!cooled(&pair(51, -0.8), |_| 14.0));
    }
}
