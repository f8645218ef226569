//! Zones: places where the jacket departs from what a sound jacket would show, and what stands in the way of seeing it.
//!
//! What comes in: a map, a [`View`] and the way from apparent to surface temperature. What is guaranteed out: a
//! [`Detection`] whose zones are disjoint, lie on usefully seen jacket, and have at least 3 × 3 pixels; with the noise, the
//! least contrast and the smallest zone that the frame could show. What is not handled: why a zone departs (that is
//! `assess`).

pub mod baseline;
pub mod clipping;
pub mod coverage;
pub mod front;
pub mod grow;
pub mod jacket;
pub mod outline;
pub mod sharpness;

use ndarray::Array2;

use crate::calibrate::Correct;
use crate::locate::View;
use crate::locate::figure::{Part, Surface};
use crate::locate::orientation::Orientation;
use crate::register::Setting;
use baseline::Baseline;
use front::{Beside, Inset, Outside, Scene, Supports};
use grow::{Growth, Region};
use jacket::{Cover, Jacket};

/// Thresholds of the room.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Settings {
    /// Least contrast in K that starts a zone.
    pub least_contrast_k: f64,
    /// Least contrast as a multiple of the spread of the sound jacket.
    pub least_contrast_to_spread: f64,
    /// Least pixels of a zone (3 × 3: common practice).
    pub least_pixels: usize,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            least_contrast_k: 0.35,
            least_contrast_to_spread: 5.0,
            least_pixels: 9,
        }
    }
}

impl Settings {
    /// Contrast in K that starts a zone where the sound jacket, smoothed over 3 × 3 pixels, spreads by `spread_k`.
    #[must_use]
    pub fn contrast_called_k(&self, spread_k: f64) -> f64 {
        self.least_contrast_k.max(self.least_contrast_to_spread * spread_k)
    }
}

/// Side in m of a zone of so many pixels, at so many pixels a metre.
#[must_use]
pub fn smallest_zone_m(least_pixels: usize, scale_px_m: f64) -> f64 {
    (least_pixels as f64).sqrt() / scale_px_m
}

/// Spread in K that the noise of one reading leaves after 3 × 3 pixels were averaged, never less than what a jacket's own
/// unevenness leaves.
#[must_use]
pub fn least_spread_k(noise_k: f64) -> f64 {
    (noise_k / 3.0).max(0.01)
}

/// Which way a zone departs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Departure {
    /// Colder than the sound jacket.
    Colder,
    /// Warmer than the sound jacket.
    Warmer,
}

/// What a region's shape and place say of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Footing {
    /// On the jacket.
    OnJacket,
    /// It goes on beyond the outline: a nozzle, leg, support or something in front.
    CrossesOutline,
}

/// A zone of the jacket in one frame.
#[derive(Debug, Clone, serde::Serialize, serde::Deserialize)]
pub struct Zone {
    /// Which way it departs.
    pub departure: Departure,
    /// What its shape and place say.
    pub footing: Footing,
    /// Number of pixels.
    pub pixels: usize,
    /// Centroid on the jacket, axial in m.
    pub axial_m: f64,
    /// Centroid round the axis from the facing line in degrees, + towards larger v (0 on a plane wall).
    pub angle_deg: f64,
    /// Centroid's distance from the axis in the picture in m, + towards larger v.
    pub across_m: f64,
    /// Length along the axis in m.
    pub length_m: f64,
    /// Length round the girth (or up the wall) in m.
    pub arc_m: f64,
    /// Area on the jacket in m².
    pub area_m2: f64,
    /// Mean surface temperature in °C, as read.
    pub surface_c: f64,
    /// Most extreme surface temperature (3 × 3 mean) in °C, as read.
    pub extreme_c: f64,
    /// Mean surface temperature of the sound jacket there in °C, as read.
    pub sound_c: f64,
    /// Mean contrast in K, negative where colder.
    pub contrast_k: f64,
    /// Contrast of the strongest part in K, negative where colder.
    pub peak_contrast_k: f64,
    /// Contrast over the spread of the sound jacket.
    pub contrast_to_noise: f64,
    /// Standard uncertainty of the contrast from noise and baseline in K.
    pub contrast_u_k: f64,
    /// Centroid in image pixels.
    pub centroid_px: [f64; 2],
    /// Box in image pixels, x y w h.
    pub box_px: [f64; 4],
    /// Outline in image pixels.
    pub outline_px: Vec<[f64; 2]>,
}

/// What a frame shows of one asset.
#[derive(Debug, Clone, serde::Serialize, serde::Deserialize)]
pub struct Detection {
    /// Zones, strongest first.
    pub zones: Vec<Zone>,
    /// Median surface temperature of the sound jacket in °C, as read.
    pub sound_c: f64,
    /// Spread of the sound jacket about its own surface in K (noise and unevenness, 3 × 3 pixels).
    pub spread_k: f64,
    /// Jacket in the picture seen at less than 60°, in m².
    pub viewed_m2: f64,
    /// Jacket usefully seen in m².
    pub usable_m2: f64,
    /// Least contrast in K that would have been called.
    pub least_contrast_k: f64,
    /// Side of the smallest zone in m that would have been called.
    pub smallest_zone_m: f64,
    /// The usefully seen face as one zone, for what concerns the whole jacket; its contrast is 0.
    pub face: Zone,
}

/// Why nothing could be judged.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum Error {
    /// Too little of the jacket is usefully seen.
    #[error(
        "only {usable_px} px of the jacket are usefully seen (accepted: at least {least_px} px); hint: go nearer, or take the picture from where nothing stands in front"
    )]
    TooLittle {
        /// Usable pixels.
        usable_px: usize,
        /// Least pixels.
        least_px: usize,
    },
}

/// Spread along the jacket in m beyond which the contrast of a zone is gathered from its surroundings.
const SPREADING_M: f64 = 0.02;
/// Standard uncertainty of that gathering as a share of what it adds.
const SPREAD_DOUBT: f64 = 0.35;
/// Distance from the axis over the half width within which the sound jacket is read (30° from the facing line).
const SOUND_SHARE: f32 = 0.5;
/// Least usable pixels for a baseline.
const LEAST_USABLE_PX: usize = 400;

/// What one frame gives to look at.
pub struct Look<'a> {
    /// Oriented map of apparent temperature in °C.
    pub map: &'a Array2<f32>,
    /// Noise of one reading in K.
    pub noise_k: f64,
    /// Where the asset lies.
    pub view: &'a View,
    /// From apparent to surface temperature.
    pub correct: &'a Correct<'a>,
    /// Indoors, or under the sky.
    pub setting: Setting,
    /// Length in m over which a sharp edge of the insulation's conductivity is blurred on the jacket.
    pub fringe_m: f64,
}

/// Finds the zones of a frame; the jacket says what each pixel is good for.
///
/// # Errors
/// [`Error`] where too little is usefully seen.
pub fn detect(look: &Look, settings: &Settings) -> Result<(Detection, Jacket), Error> {
    let mut jacket = Jacket::lay_out(look.map, look.view, look.correct);
    let viewed_m2 = jacket.covered_m2(|c| matches!(c, Cover::Usable | Cover::Blank));
    let scene = Scene {
        map: look.map,
        figure: &look.view.figure,
        noise_k: look.noise_k,
        lower: lower_part(&look.view.orientation),
    };
    let attached = in_front(&mut jacket, &scene);
    let usable_px = jacket.cover.iter().filter(|&&c| c == Cover::Usable).count();
    let too_little = Error::TooLittle {
        usable_px,
        least_px: LEAST_USABLE_PX,
    };
    if usable_px < LEAST_USABLE_PX {
        return Err(too_little);
    }
    let baseline = Baseline::fit(&jacket, look.setting).ok_or(too_little)?;
    let pass = Pass::new(&jacket, &baseline, settings, look);
    let zones = pass.zones(&jacket, &scene, &attached, look);
    Ok((pass.into_detection(&jacket, zones, viewed_m2, look), jacket))
}

/// What each pixel that is judged departs from the sound jacket in K; NaN elsewhere.
fn residuals(jacket: &Jacket, baseline: &Baseline) -> Vec<f32> {
    // Computed for every pixel and without branches, which runs many pixels at a time.
    baseline
        .residuals(&jacket.surface_c, &jacket.axial_m, &jacket.share)
        .zip(jacket.cover.iter().zip(&jacket.share))
        .map(|(residual_k, (&cover, share))| {
            let aside = (cover == Cover::Steep) | (cover == Cover::Head);
            let judged = (cover == Cover::Usable) | (aside & (share.abs() < 0.95));
            if judged { residual_k } else { f32::NAN }
        })
        .collect()
}

/// The part of the outline that lies lowest in the image.
fn lower_part(orientation: &Orientation) -> Part {
    let down = |u: f64, v: f64| orientation.to_image(u, v)[1] - orientation.to_image(0.0, 0.0)[1];
    if down(0.0, 1.0) > 0.0 {
        Part::FarSide
    } else if down(1.0, 0.0) > 0.0 {
        Part::OtherEnd
    } else {
        Part::DatumEnd
    }
}

/// Hides what stands in front of the jacket or goes through its outline; the latter's pixels, one set a thing.
fn in_front(jacket: &mut Jacket, scene: &Scene) -> Vec<Vec<usize>> {
    let crossings = scene.crossings();
    let (bands, alone) = scene.bands(&crossings);
    for band in &bands {
        front::hide(jacket, band);
    }
    let mut attached = Vec::new();
    for crossing in &alone {
        let places = match crossing.outside {
            // On the deeper profile a wet patch is commoner than a support: there the sides must tell.
            Outside::GoesOn => scene.follow(crossing, crossing.profile == Inset::Deep),
            // What the asset stands on may fade into jacket and floor; elsewhere it is a zone until shown otherwise.
            Outside::SameTemperature if crossing.point.part == scene.lower => scene.follow(crossing, true),
            _ if scene.has_fellow(crossing, &alone) => scene.follow(crossing, true),
            Outside::SameTemperature | Outside::GoesOnAslant | Outside::Nothing => continue,
        };
        let mut pixels: Vec<usize> = places.into_iter().filter_map(|(u, v)| jacket.index_at(u, v)).collect();
        pixels.sort_unstable();
        pixels.dedup();
        pixels.retain(|&at| !matches!(jacket.cover[at], Cover::Off | Cover::Hidden));
        for &at in &pixels {
            jacket.cover[at] = Cover::Hidden;
        }
        if !pixels.is_empty() {
            attached.push(pixels);
        }
    }
    attached
}

/// Residuals against one baseline.
struct Pass<'a> {
    baseline: &'a Baseline,
    smooth_k: Vec<f32>,
    spread_k: f64,
    growth: Growth,
}

impl<'a> Pass<'a> {
    fn new(jacket: &Jacket, baseline: &'a Baseline, settings: &Settings, look: &Look) -> Self {
        let residual_k = residuals(jacket, baseline);
        let smooth_k = grow::smoothed(jacket, &residual_k);
        let mut sizes: Vec<f32> = (0..smooth_k.len())
            .step_by(5)
            .filter(|&at| jacket.cover[at] == Cover::Usable && smooth_k[at].is_finite())
            .map(|at| smooth_k[at].abs())
            .collect();
        let spread_k = (crate::statistic::MAD_TO_SD * crate::statistic::median_of_readings(&mut sizes).unwrap_or(0.0))
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

    fn zones(&self, jacket: &Jacket, scene: &Scene, attached: &[Vec<usize>], look: &Look) -> Vec<Zone> {
        let mut attached = attached.to_vec();
        let beside = Beside::new(jacket, &attached, |pixels| self.departure(jacket, pixels));
        let supports = Supports::new(jacket, scene, &attached);
        let mut left = Vec::new();
        for sign in [-1.0f32, 1.0] {
            let regions = grow::regions(jacket, &self.smooth_k, self.growth, sign);
            let mut regions = grow::bridged(jacket, regions);
            if look.fringe_m > SPREADING_M {
                self.gather_spread(jacket, &mut regions, look.fringe_m);
            }
            let held: Vec<bool> = (0..regions.len())
                .map(|index| supports.holds(jacket, index, &regions))
                .collect();
            for (region, held) in regions.into_iter().zip(held) {
                match beside.owner(&region).and_then(|owner| attached.get_mut(owner)) {
                    Some(thing) => thing.extend(&region.pixels),
                    None if held => attached.push(region.pixels),
                    None => left.push(region),
                }
            }
        }
        // Only now are all supports known, the warm ones too.
        let beside = Beside::new(jacket, &attached, |pixels| self.departure(jacket, pixels));
        let mut zones = Vec::new();
        for region in left {
            let support = supports.under(jacket, &region, &beside);
            match support.and_then(|support| attached.get_mut(support)) {
                Some(thing) => thing.extend(&region.pixels),
                None => zones.extend(self.zone(jacket, &region, Footing::OnJacket, look)),
            }
        }
        for pixels in &front::joined(jacket, attached) {
            let region = Region {
                peak_k: self.departure(jacket, pixels),
                spread_k: 0.0,
                pixels: pixels.clone(),
            };
            zones.extend(self.zone(jacket, &region, Footing::CrossesOutline, look));
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
                .map(|at| f64::from(self.smooth_k[at]) * jacket.area_m2(at))
                .sum();
            let area: f64 = region
                .pixels
                .iter()
                .filter(|at| counts(at))
                .map(|&at| jacket.area_m2(at))
                .sum();
            if area > 0.0 && (sum / area).abs() > region.peak_k.abs() && sum * region.peak_k > 0.0 {
                region.spread_k = (sum / area - region.peak_k).abs();
                region.peak_k = sum / area;
            }
        }
    }

    /// Mean departure in K of pixels that are not jacket from what the jacket would show there.
    fn departure(&self, jacket: &Jacket, pixels: &[usize]) -> f64 {
        let departures: Vec<f64> = pixels
            .iter()
            .filter(|&&at| jacket.surface_c[at].is_finite())
            .map(|&at| f64::from(jacket.surface_c[at]) - self.baseline.at(jacket.axial_m[at], jacket.share[at]))
            .collect();
        crate::statistic::mean(&departures).unwrap_or(0.0)
    }

    /// Measures a region on the jacket.
    fn zone(&self, jacket: &Jacket, region: &Region, footing: Footing, look: &Look) -> Option<Zone> {
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
        let shape = outline::trace(jacket, &pixels, &look.view.orientation);
        let extreme_c = measure.extreme(jacket, &pixels, departure);
        Some(Zone {
            departure,
            footing,
            pixels: pixels.len(),
            axial_m: measure.axial_m,
            angle_deg: measure.angle_deg,
            across_m: measure.across_m,
            length_m: measure.length_m,
            arc_m: measure.arc_m,
            area_m2: measure.area_m2,
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
            centroid_px: shape.centroid_px,
            box_px: shape.box_px,
            outline_px: shape.outline_px,
        })
    }

    /// The usefully seen face as one zone.
    fn face(&self, jacket: &Jacket, sound_c: f64, look: &Look) -> Zone {
        let usable = (0..jacket.cover.len()).filter(|&at| jacket.cover[at] == Cover::Usable);
        let (mut pixels, mut area_m2) = (0, 0.0);
        let (mut along, mut across) = ((f32::MAX, f32::MIN), (f32::MAX, f32::MIN));
        for at in usable {
            pixels += 1;
            area_m2 += jacket.area_m2(at);
            along = (along.0.min(jacket.axial_m[at]), along.1.max(jacket.axial_m[at]));
            across = (across.0.min(jacket.share[at]), across.1.max(jacket.share[at]));
        }
        let arc = |share: f32| match jacket.surface {
            Surface::Round => f64::from(share.clamp(-1.0, 1.0)).asin() * jacket.half_width_m,
            Surface::Plane => f64::from(share) * jacket.half_width_m,
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
            pixels,
            axial_m: f64::from(along.0 + along.1) / 2.0,
            angle_deg: 0.0,
            across_m: 0.0,
            length_m: f64::from(along.1 - along.0),
            arc_m: arc(across.1) - arc(across.0),
            area_m2,
            surface_c: sound_c,
            extreme_c: sound_c,
            sound_c,
            contrast_k: 0.0,
            peak_contrast_k: 0.0,
            contrast_to_noise: 0.0,
            contrast_u_k: self.baseline.spread_k,
            centroid_px: [(left + right) / 2.0, (top + bottom) / 2.0],
            box_px: [left, top, right - left, bottom - top],
            outline_px,
        }
    }

    fn into_detection(self, jacket: &Jacket, zones: Vec<Zone>, viewed_m2: f64, look: &Look) -> Detection {
        let usable = |at: &usize| jacket.cover[*at] == Cover::Usable;
        // The sound jacket is read near the line that faces the camera: sky, floor and angle have least say there.
        let mut sound: Vec<f64> = (0..jacket.cover.len())
            .step_by(7)
            .filter(usable)
            .filter(|&at| jacket.share[at].abs() < SOUND_SHARE)
            .map(|at| self.baseline.at(jacket.axial_m[at], jacket.share[at]))
            .collect();
        let sound_c = crate::statistic::median(&mut sound).unwrap_or(f64::NAN);
        let face = self.face(jacket, sound_c, look);
        Detection {
            zones,
            sound_c,
            spread_k: self.spread_k,
            viewed_m2,
            usable_m2: face.area_m2,
            least_contrast_k: f64::from(self.growth.core_k),
            smallest_zone_m: smallest_zone_m(self.growth.least_pixels, jacket.scale_px_m),
            face,
        }
    }
}

/// Sums over the pixels of a region, weighted by their area on the jacket.
struct Measure {
    axial_m: f64,
    angle_deg: f64,
    across_m: f64,
    length_m: f64,
    arc_m: f64,
    area_m2: f64,
    surface_c: f64,
    sound_c: f64,
}

impl Measure {
    fn of(jacket: &Jacket, baseline: &Baseline, pixels: &[usize]) -> Self {
        let round = jacket.surface == Surface::Round;
        let (mut area, mut axial, mut arc, mut across, mut surface, mut sound, mut read) =
            (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
        let mut along = (f64::MAX, f64::MIN);
        let mut about = (f64::MAX, f64::MIN);
        for &at in pixels {
            let weight = jacket.area_m2(at);
            let share = f64::from(jacket.share[at]).clamp(-1.0, 1.0);
            // arc = R·asin(y/R)
            let round_m = if round {
                jacket.half_width_m * share.asin()
            } else {
                jacket.half_width_m * share
            };
            let place = f64::from(jacket.axial_m[at]);
            area += weight;
            axial += weight * place;
            arc += weight * round_m;
            across += weight * share * jacket.half_width_m;
            if jacket.surface_c[at].is_finite() {
                read += weight;
                surface += weight * f64::from(jacket.surface_c[at]);
                sound += weight * baseline.at(jacket.axial_m[at], jacket.share[at]);
            }
            along = (along.0.min(place), along.1.max(place));
            about = (about.0.min(round_m), about.1.max(round_m));
        }
        let pixel_m = 1.0 / jacket.scale_px_m;
        let arc_m = arc / area;
        Self {
            axial_m: axial / area,
            angle_deg: if round {
                (arc_m / jacket.half_width_m).to_degrees()
            } else {
                0.0
            },
            across_m: across / area,
            length_m: along.1 - along.0 + pixel_m,
            arc_m: about.1 - about.0 + pixel_m,
            area_m2: area,
            surface_c: surface / read,
            sound_c: sound / read,
        }
    }

    /// Most extreme 3 × 3 mean of the region in °C.
    fn extreme(&self, jacket: &Jacket, pixels: &[usize], departure: Departure) -> f64 {
        let columns = jacket.size.0;
        let means = pixels.iter().filter_map(|&at| {
            let (mut sum, mut count) = (0.0f64, 0.0f64);
            for middle in [at.checked_sub(columns), Some(at), Some(at + columns)]
                .into_iter()
                .flatten()
            {
                let last = (middle + 2).min(jacket.surface_c.len());
                for value in jacket.surface_c.get(middle.saturating_sub(1)..last).unwrap_or(&[]) {
                    if value.is_finite() {
                        sum += f64::from(*value);
                        count += 1.0;
                    }
                }
            }
            (count > 0.0).then(|| sum / count)
        });
        match departure {
            Departure::Colder => means.fold(f64::INFINITY, f64::min),
            Departure::Warmer => means.fold(f64::NEG_INFINITY, f64::max),
        }
    }
}
