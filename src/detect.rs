//! Zones: places where the jacket departs from what a sound jacket would show, and what stands in the way of seeing it.
//!
//! What comes in: a map, a [`View`] and the way from apparent to surface temperature. What is guaranteed out: a
//! [`Detection`] whose zones are disjoint, lie on usefully seen jacket, and have at least 3 × 3 pixels; with the noise, the
//! least contrast and the smallest zone that the frame could show. What is not handled: why a zone departs (that is
//! `assess`).

pub mod baseline;
pub mod clipping;
pub mod coverage;
#[cfg(test)]
mod fixtures;
pub mod front;
pub mod grow;
pub mod jacket;
mod measure;
pub mod outline;
mod pass;
mod rings;
pub mod sharpness;

use ndarray::Array2;

use crate::calibrate::Correct;
use crate::locate::View;
use crate::locate::figure::Part;
use crate::locate::orientation::Orientation;
use crate::register::Setting;
use baseline::Baseline;
use front::{Inset, Outside, Scene};
use jacket::{Cover, Jacket};
use pass::Pass;

/// Thresholds of the room.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Settings {
    /// Least contrast in K that starts a zone.
    pub least_contrast_k: f64,
    /// The same where temperatures were read off a colour bar, which errs alike over many pixels.
    pub least_contrast_of_bar_k: f64,
    /// Least contrast as a multiple of the spread of the sound jacket.
    pub least_contrast_to_spread: f64,
    /// Least pixels of a zone (3 × 3: common practice).
    pub least_pixels: usize,
    /// Side in m of the jacket that a pixel should show: finer ones are taken together, see [`taken_together`].
    pub pixel_m: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            least_contrast_k: 0.35,
            least_contrast_of_bar_k: 0.6,
            least_contrast_to_spread: 5.0,
            least_pixels: 9,
            pixel_m: 0.015,
        }
    }
}

impl Settings {
    /// The thresholds for temperatures that were read off a colour bar.
    #[must_use]
    pub fn of_bar(&self) -> Self {
        Self {
            least_contrast_k: self.least_contrast_k.max(self.least_contrast_of_bar_k),
            ..*self
        }
    }

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

/// Pixels a side that are taken together before zones are looked for, at so many pixels a metre: moisture under a jacket shows
/// nothing as fine as [`Settings::pixel_m`], and fewer pixels take less time. That side is set by the repository's simulated
/// scenes and those of `scripts/outside`, where as many zones were found as at full size; no source.
#[must_use]
pub fn taken_together(scale_px_m: f64, settings: &Settings) -> usize {
    const MOST: f64 = 4.0;
    (scale_px_m * settings.pixel_m).floor().clamp(1.0, MOST) as usize
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

impl Departure {
    /// The word the record uses.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Colder => "colder",
            Self::Warmer => "warmer",
        }
    }
}

/// What a region's shape and place say of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Footing {
    /// On the jacket.
    OnJacket,
    /// It goes on beyond the outline: a nozzle, leg, support or something in front.
    CrossesOutline,
    /// On the jacket low over a support that does not itself show, or beside one that does: what the support cools or warms.
    OverSupport,
    /// On the jacket, as low as what the asset stands on comes up, and no wider.
    WhereSupportsStand,
}

impl Footing {
    /// Whether the zone is on the jacket and no support is known to make it.
    #[must_use]
    pub fn is_own(self) -> bool {
        matches!(self, Self::OnJacket | Self::WhereSupportsStand)
    }
}

/// A zone of the jacket in one frame.
#[derive(Debug, Clone, serde::Serialize, serde::Deserialize)]
pub struct Zone {
    /// Which way it departs.
    pub departure: Departure,
    /// What its shape and place say.
    pub footing: Footing,
    /// Number of pixels that it was found in, oriented.
    pub pixels: usize,
    /// Number of image pixels.
    pub image_px: usize,
    /// Centroid on the jacket, axial in m.
    pub axial_m: f64,
    /// Centroid round the axis from the facing line in degrees, + towards larger v (0 on a plane wall).
    pub angle_deg: f64,
    /// Centroid's distance from the axis in the picture in m, + towards larger v.
    pub across_m: f64,
    /// Height over the axis that it reaches on a lying vessel or run, as a share of the half width, −1..1; None on one that
    /// stands and on a plane wall.
    pub top_share: Option<f64>,
    /// Length along the axis in m.
    pub length_m: f64,
    /// Length round the girth (or up the wall) in m.
    pub arc_m: f64,
    /// Area on the jacket in m².
    pub area_m2: f64,
    /// Area in m² between its parts that something in front hides.
    pub behind_m2: f64,
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
    /// How sharply its edge steps, where that was measured.
    pub edge: Option<Edge>,
    /// The same as all of the border shows it together, where that was measured: of small ones on the jacket.
    pub whole_edge: Option<Edge>,
    /// Share of its border that lies against what hides the jacket, 0..1: how far its shape is not its own.
    pub cut_share: f64,
    /// Centroid in image pixels.
    pub centroid_px: [f64; 2],
    /// Box in image pixels, x y w h.
    pub box_px: [f64; 4],
    /// Outline in image pixels.
    pub outline_px: Vec<[f64; 2]>,
}

impl Zone {
    /// Greater of its length and girth, m.
    #[must_use]
    pub fn side_m(&self) -> f64 {
        self.length_m.max(self.arc_m)
    }

    /// Its mean width across that, m, with what is hidden of it.
    #[must_use]
    pub fn width_m(&self) -> f64 {
        (self.area_m2 + self.behind_m2) / self.side_m()
    }

    /// Side in m of the jacket that one of its pixels shows on average.
    #[must_use]
    pub fn pixel_m(&self) -> f64 {
        (self.area_m2 / self.pixels.max(1) as f64).sqrt()
    }
}

/// How sharply the temperature steps at a zone's edge.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Edge {
    /// Width of the step in m: contrast over steepest slope.
    pub width_m: f64,
    /// Side of a pixel in m.
    pub pixel_m: f64,
}

/// What a frame shows of one asset.
#[derive(Debug, Clone, serde::Serialize, serde::Deserialize)]
pub struct Detection {
    /// Zones, strongest first.
    pub zones: Vec<Zone>,
    /// Median surface temperature of the sound jacket in °C, as read.
    pub sound_c: f64,
    /// Between which temperatures in °C, as read, the middle eight tenths of it lie.
    pub sound_reach_c: [f64; 2],
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

/// Side in m up to which a zone's whole edge is measured: what its sharpness tells from moisture is smaller, and to measure a
/// large one takes time.
pub const WIDEST_TOLD_BY_EDGE_M: f64 = 0.5;

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
    let usable_px = jacket.usable_px();
    let too_little = Error::TooLittle {
        usable_px,
        least_px: LEAST_USABLE_PX,
    };
    if usable_px < LEAST_USABLE_PX {
        return Err(too_little);
    }
    let baseline = Baseline::fit(&jacket, look.setting, look.view.figure.size.stance).ok_or(too_little)?;
    let pass = Pass::new(&jacket, &baseline, settings, look);
    let zones = pass.zones(&jacket, &scene, &attached, look);
    Ok((pass.into_detection(&jacket, zones, viewed_m2, look), jacket))
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
    let mut seen = vec![false; jacket.cover.len()];
    for crossing in alone.iter().filter(|c| !scene.is_met_nearer(c, &alone)) {
        let straight = match crossing.outside {
            // On the deeper profile a wet patch is commoner than a support: there the sides must tell.
            Outside::GoesOn => crossing.profile == Inset::Deep,
            // What the asset stands on may fade into jacket and floor; elsewhere it is a zone until shown otherwise.
            Outside::SameTemperature if crossing.point.part == scene.lower => true,
            _ if scene.has_fellow(crossing, &alone) => true,
            Outside::SameTemperature | Outside::GoesOnAslant | Outside::Nothing => continue,
        };
        let mut pixels = Vec::new();
        scene.follow(crossing, straight, |u, v| {
            let free = |&at: &usize| !seen[at] && !matches!(jacket.cover[at], Cover::Off | Cover::Hidden);
            if let Some(at) = jacket.index_at(u, v).filter(free) {
                seen[at] = true;
                pixels.push(at);
            }
        });
        pixels.sort_unstable();
        for &at in &pixels {
            jacket.cover[at] = Cover::Hidden;
            seen[at] = false;
        }
        if !pixels.is_empty() {
            attached.push(pixels);
        }
    }
    attached
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pixels_are_taken_together_up_to_the_side_that_is_wanted_and_no_further() {
        let settings = Settings::default();
        for (scale_px_m, times) in [
            (0.0, 1),
            (40.0, 1),
            (130.0, 1),
            (135.0, 2),
            (199.0, 2),
            (201.0, 3),
            (2000.0, 4),
        ] {
            assert_eq!(taken_together(scale_px_m, &settings), times, "{scale_px_m}");
        }
        for scale_px_m in [67.0, 100.0, 150.0, 260.0] {
            let side_m = taken_together(scale_px_m, &settings) as f64 / scale_px_m;
            assert!(side_m <= settings.pixel_m, "{scale_px_m}: {side_m}");
        }
    }
}
