//! What is known of a zone when its cause is asked for, and what its shape and its edge say.

use crate::assess::Settings;
use crate::detect::{Edge, Footing, Zone};
use crate::register::{Conditions, Setting};

/// What speaks for and against each cause.
pub struct Evidence<'a> {
    /// The zone.
    pub zone: &'a Zone,
    /// Conductivity ratio.
    pub ratio: f64,
    /// Its 95 % interval.
    pub ratio_interval: [f64; 2],
    /// Whether the zone departs the way wet insulation does on this asset.
    pub wet_side: bool,
    /// Conditions of the frame.
    pub conditions: &'a Conditions,
    /// Indoors or outdoors.
    pub setting: Setting,
    /// Least contrast in K that the frame could call.
    pub least_contrast_k: f64,
    /// Service temperature in °C.
    pub service_c: f64,
    /// Thickness of the insulation in m.
    pub thickness_m: f64,
    /// Thresholds.
    pub settings: &'a Settings,
}

/// Width of a sharp edge in pixels: camera and sampling.
const BLUR_PX: f64 = 2.4;
/// Width of moisture's edge in thicknesses of the insulation, through which heat spreads sideways. Set by the repository's
/// simulated scenes, no source.
const SPREAD_THICKNESSES: f64 = 0.8;

/// Share of its box that a line at most fills which runs aslant, as pipes do and moisture does not. Set by the
/// repository's simulated scenes, no source.
const ASLANT_FILL: f64 = 0.4;

/// Share of a zone's border against what hides the jacket from which its shape is not its own, and width in px beside it
/// that its blur may fill. Set by the repository's simulated scenes, no source.
const CUT_SHARE: f64 = 0.3;
const BLURRED_PX: f64 = 5.0;
/// Width of a zone in px from which its whole edge tells what it is: that of two and a half edges as sharp as the frame shows.
const TOLD_PX: f64 = 2.5 * BLUR_PX;

impl Evidence<'_> {
    /// Width of the zone's edge, where that is much less than moisture under the insulation could show:
    /// less than `share` of √((2.4 px)² + (0.8 · thickness)²).
    pub(super) fn sharp_edge_m(&self, share: f64) -> Option<f64> {
        self.sharper(self.zone.edge?, share)
    }

    /// The same of the edge as all of the border shows it together; None where a zone is but a few pixels wide, so that
    /// nothing of it lies as far from its border as the edge is wide.
    fn sharp_whole_edge_m(&self, share: f64) -> Option<f64> {
        let told = self.zone.width_m() > TOLD_PX * self.zone.pixel_m();
        self.sharper(self.zone.whole_edge.filter(|_| told)?, share)
    }

    fn sharper(&self, edge: Edge, share: f64) -> Option<f64> {
        (self.share_of_moist(edge) < share).then_some(edge.width_m)
    }

    /// Width of an edge over that which moisture under the insulation shows.
    fn share_of_moist(&self, edge: Edge) -> f64 {
        edge.width_m / (BLUR_PX * edge.pixel_m).hypot(SPREAD_THICKNESSES * self.thickness_m)
    }

    /// Whether so much of the border is that of something in front that the shape does not say what the zone is. What is but a
    /// few pixels wide is the blur beside it.
    fn is_cut(&self) -> bool {
        self.zone.cut_share > CUT_SHARE && self.zone.width_m() > BLURRED_PX * self.zone.pixel_m()
    }

    /// Whether a zone is smaller than moisture spreads, as far as its pixels can tell: a side is known to half a pixel.
    pub(super) fn is_too_small(&self) -> bool {
        self.zone.side_m() + 0.5 * self.zone.pixel_m() < self.settings.least_side_m
    }

    /// Whether a zone whose shape is its own is so many times as long as wide.
    pub(super) fn is_line(&self, aspect: f64) -> bool {
        self.zone.side_m() > aspect * self.zone.width_m() && !self.is_cut()
    }

    /// Whether a line is too wide for bare metal in front and conducts too much for something in front that is insulated
    /// itself: moisture that has spread along a seam.
    pub(super) fn is_band_of_moisture(&self) -> bool {
        self.zone.width_m() > self.settings.widest_bare_m && self.ratio > self.settings.slight_ratio
    }

    /// Why a zone as low as supports come up is one, if its edge says so.
    pub(super) fn support(&self) -> Option<String> {
        let settings = self.settings;
        let may_be = self.zone.footing == Footing::WhereSupportsStand && self.ratio < settings.support_ratio;
        let edge_m = self
            .sharp_whole_edge_m(settings.support_sharp_share)
            .filter(|_| may_be)?;
        Some(format!(
            "low on the asset, with an edge of {:.0} mm, sharper than moisture shows through {:.0} mm of insulation: a saddle, leg or other support",
            1000.0 * edge_m,
            1000.0 * self.thickness_m
        ))
    }

    /// Whether a zone is a strip along the top of a lying vessel outdoors that fades gradually: the clear sky, tens of kelvin
    /// colder than the air (common practice, no source), mirrored where the jacket is seen aslant.
    pub(super) fn is_mirrored_sky(&self) -> bool {
        let (zone, settings) = (self.zone, self.settings);
        let on_top = zone.top_share.is_some_and(|share| share > settings.sky_top_share);
        let strip = zone.length_m * zone.length_m > settings.sky_aspect * zone.area_m2;
        let gradual = zone
            .edge
            .is_some_and(|edge| self.share_of_moist(edge) > settings.gradual_share);
        self.setting == Setting::Outdoor && on_top && strip && gradual
    }

    /// Why a zone that conducts mildly more than sound insulation is something on or before the jacket, if its size says so.
    pub(super) fn mild_thing(&self) -> Option<String> {
        let settings = self.settings;
        let (side_m, width_m) = (self.zone.side_m(), self.zone.width_m());
        let small = || side_m < settings.mild_side_m && self.sharp_whole_edge_m(settings.mild_sharp_share).is_some();
        let slender =
            width_m < settings.mild_width_m && side_m < settings.slight_side_m && self.zone.cut_share < CUT_SHARE;
        (self.ratio < settings.mild_ratio && (slender || small())).then(|| {
            format!(
                "mild, and only {side_m:.2} m by {width_m:.2} m, less than moisture spreads: an insulated nozzle or column, or something else in front"
            )
        })
    }

    /// Why a zone that conducts but little more than sound insulation is something on or before the jacket, if its shape says
    /// so.
    pub(super) fn slight_thing(&self) -> Option<String> {
        let (zone, settings) = (self.zone, self.settings);
        if self.ratio >= settings.slight_ratio {
            return None;
        }
        let (side_m, width_m) = (self.zone.side_m(), self.zone.width_m());
        let sharp = self.sharp_edge_m(settings.slight_sharp_share);
        let sharp = sharp.filter(|_| side_m < settings.slight_side_m).or_else(|| {
            let small = side_m < settings.small_side_m;
            self.sharp_whole_edge_m(settings.small_sharp_share).filter(|_| small)
        });
        if let Some(edge_m) = sharp {
            return Some(format!(
                "slight, {side_m:.2} m across, with an edge of {:.0} mm, sharper than moisture shows through {:.0} mm of insulation: an insulated nozzle, leg or column, or something else in front",
                1000.0 * edge_m,
                1000.0 * self.thickness_m
            ));
        }
        let aslant = zone.area_m2 < ASLANT_FILL * zone.length_m * zone.arc_m;
        let line = self.is_line(settings.slight_aspect) && (width_m < settings.slight_line_m || aslant);
        line.then(|| {
            format!(
                "slight, a line {width_m:.2} m wide and {side_m:.2} m long: an insulated column, a pipe, band or something else in front"
            )
        })
    }
}
