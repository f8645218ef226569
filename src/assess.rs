//! What a zone means: heat balance, conductivity against sound insulation, least moisture, cause.
//!
//! What comes in: a [`Detection`] and the sheets. What is guaranteed out: every zone as a [`Finding`] with a cause and its reasons, either followed up or set aside, none dropped; every conductivity ratio has its
//! 95 % interval and the parts of it. What is not handled: who comes first (that is `rank`).
//!
//! A local zone is judged by its contrast to sound jacket in the same frame: the sound jacket is put at the temperature that
//! the heat balance expects of dry insulation, the zone at that temperature plus the contrast, and the ratio of the two
//! conductivities follows. The camera's offset has no say in it. Only extent `general`, the sound jacket itself colder than
//! dry insulation explains, rests on absolute temperatures, and is as uncertain as they are.

pub mod budget;
pub mod cause;
pub mod inputs;
mod room;
pub mod usability;

use crate::calibrate::Correct;
use crate::detect::{Detection, Zone};
use crate::register::{Asset, Conditions, HalfWidths};
use budget::{Estimate, Part, propagate};
use cause::{Action, Cause};
use inputs::Inputs;
use room::Room;

/// Thresholds of the room.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Settings {
    /// Standard uncertainties by which the sound jacket must fall short of what dry insulation explains to be called
    /// general (3: one dry asset in 700 is called, if its errors are as stated; at 2.5 three of the 192
    /// plain scenes of draws 1 and 2 were).
    pub general_significance: f64,
    /// Conductivity ratio above which a small spot is metal through the insulation rather than wet insulation.
    pub penetration_ratio: f64,
    /// Largest side in m of such a spot.
    pub penetration_side_m: f64,
    /// Conductivity ratio above which a larger spot is metal too: insulation that is wet, frozen or thin still stands between.
    pub bare_metal_ratio: f64,
    /// Largest side in m of such a spot: a flange with the jacket that it cools.
    pub bare_metal_side_m: f64,
    /// Conductivity ratio above which a spot up to this size is taken for a small nozzle or bolt.
    pub point_ratio: f64,
    /// Its largest side in m.
    pub point_side_m: f64,
    /// Side in m below which a spot is a port, nameplate, fastener or stand-off whatever its ratio. Heat spreads sideways in
    /// the insulation, so that even a wet place of half a thickness shows wider; the value is set by simulated scenes, no source.
    pub least_side_m: f64,
    /// Mean width in m below which a line is a band, seam or pipe whatever its ratio; a strong one up to `point_side_m`.
    pub least_line_m: f64,
    /// Conductivity ratio above which a spot is frost about metal or a gap whatever feeds it, up to the next size.
    pub frost_ratio: f64,
    /// Largest side in m of such a spot.
    pub frost_side_m: f64,
    /// Length over mean width from which a line with sharp edges is something in front.
    pub front_aspect: f64,
    /// Mean width in m beyond which such a line is not bare metal, so that one that conducts more than something slight is none:
    /// level columns and pipes before vessels are of DN 25 to 100, 0.03 to 0.11 m wide (common practice, no source).
    pub widest_bare_m: f64,
    /// Share of the edge width that moisture shows (see [`cause`]) below which an edge is sharp.
    pub sharp_share: f64,
    /// Conductivity ratio below which a zone is slight: something that stands on or before the jacket and is insulated itself
    /// shows no more, so that its shape tells it from moisture. This and the next six are set by simulated scenes, no source.
    pub slight_ratio: f64,
    /// Share of the edge width that moisture shows below which the edge of something slight is sharp.
    pub slight_sharp_share: f64,
    /// Largest side in m of something slight with sharp edges.
    pub slight_side_m: f64,
    /// The same of the edge as all of the border shows it together: when it came, at revision c92121a, it set false calls among
    /// clutter from 0.36 to 0.27 a frame (`scripts/validate --only crowded --draw 11` to 14, from which it was chosen; one zone
    /// in 519 was lost).
    pub small_sharp_share: f64,
    /// Largest side in m of something slight that has such an edge, at most [`crate::detect::WIDEST_TOLD_BY_EDGE_M`].
    pub small_side_m: f64,
    /// Conductivity ratio below which a zone is mild: an insulated nozzle, or what shows of one, may conduct so much. This and the
    /// next five are set by the repository's simulated scenes and those of `scripts/outside`, no source.
    pub mild_ratio: f64,
    /// Side in m below which something mild is such a thing, if its edge is sharp.
    pub mild_side_m: f64,
    /// Share of the edge width that moisture shows below which all of its border together is sharp for that: at 0.75 nine
    /// patches of eighty of 0.2 m were taken for such things, at 0.55 two (counted once, by `scripts/validate --only detection
    /// --rows "16 × 16 px, 50"` with either).
    pub mild_sharp_share: f64,
    /// Mean width in m below which something mild is such a thing whatever its edge, up to `slight_side_m`.
    pub mild_width_m: f64,
    /// Conductivity ratio below which a zone where supports stand may be one.
    pub support_ratio: f64,
    /// Share of the edge width that moisture shows below which all of its border together is sharp for that.
    pub support_sharp_share: f64,
    /// Length over mean width from which something slight is a line.
    pub slight_aspect: f64,
    /// Mean width in m up to which it is one; wider where it runs aslant.
    pub slight_line_m: f64,
    /// Height over the axis, as a share of the half width, that the sky mirrored along the top of a lying vessel outdoors
    /// reaches at least (0.87 is the end of what is judged, at 60°; the baseline takes up what is mirrored above).
    pub sky_top_share: f64,
    /// Length along the axis over mean width from which it is a strip.
    pub sky_aspect: f64,
    /// Share of the edge width that moisture shows above which an edge is gradual, as that of a mirrored sky is.
    pub gradual_share: f64,
    /// Conductivity ratio above which insulation is thin, missing or frozen solid rather than merely wet.
    pub missing_ratio: f64,
    /// Lower bound of the ratio above which a zone is opened.
    pub open_lower_bound: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            general_significance: 3.0,
            penetration_ratio: 9.0,
            penetration_side_m: 0.5,
            bare_metal_ratio: 18.0,
            bare_metal_side_m: 0.65,
            point_ratio: 4.0,
            point_side_m: 0.18,
            least_side_m: 0.19,
            least_line_m: 0.08,
            frost_ratio: 6.0,
            frost_side_m: 0.22,
            front_aspect: 4.0,
            widest_bare_m: 0.13,
            sharp_share: 0.6,
            slight_ratio: 2.0,
            slight_sharp_share: 0.45,
            slight_side_m: 0.5,
            small_sharp_share: 0.5,
            small_side_m: 0.4,
            mild_ratio: 2.6,
            mild_side_m: 0.25,
            mild_sharp_share: 0.55,
            mild_width_m: 0.12,
            support_ratio: 3.0,
            support_sharp_share: 0.57,
            slight_aspect: 4.5,
            slight_line_m: 0.12,
            sky_top_share: 0.6,
            sky_aspect: 4.0,
            gradual_share: 2.0,
            missing_ratio: 12.0,
            open_lower_bound: 1.15,
        }
    }
}

/// How much of the asset a finding takes in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Extent {
    /// A zone that stands out from sound jacket.
    Local,
    /// The whole jacket in view.
    General,
}

impl Extent {
    /// The word the record uses.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Local => "local",
            Self::General => "general",
        }
    }
}

/// A zone with its meaning.
#[derive(Debug, Clone, serde::Serialize, serde::Deserialize)]
pub struct Finding {
    /// The zone (for extent general: the whole usable jacket).
    pub zone: Zone,
    /// Local or general.
    pub extent: Extent,
    /// Likely cause.
    pub cause: Cause,
    /// Why.
    pub because: Vec<String>,
    /// What to do.
    pub action: Action,
    /// Effective conductivity in W/(m K).
    pub conductivity_w_mk: f64,
    /// Effective conductivity over dry.
    pub ratio: f64,
    /// Its 95 % interval.
    pub ratio_interval: [f64; 2],
    /// 95 % half-width of the contrast (general: of the shortfall) in K.
    pub uncertainty_k: f64,
    /// Parts of the ratio's uncertainty, relative.
    pub budget: Vec<Part>,
    /// Least moisture that could explain the ratio, m³/m³.
    pub moisture: Option<f64>,
    /// Heat gain through the zone in W.
    pub heat_gain_w: f64,
    /// Heat gain beyond that of sound insulation in W.
    pub extra_heat_gain_w: f64,
    /// Whether the zone's surface lies below the dew point.
    pub below_dew_point: bool,
    /// Whether it lies below freezing.
    pub below_freezing: bool,
    /// Whether part of it stood at the end of a colour bar: contrast and ratio are then at least what is told.
    pub at_least: bool,
}

/// What the sheets say of one frame.
pub struct Circumstances<'a> {
    /// The asset.
    pub asset: &'a Asset,
    /// Conditions of the frame.
    pub conditions: &'a Conditions,
    /// 95 % half-widths.
    pub half_widths: &'a HalfWidths,
    /// Camera accuracy (95 % half-width) in K.
    pub camera_accuracy_k: f64,
    /// Standard uncertainty in K that reading temperatures off a colour bar adds to a contrast; 0 for radiometric files.
    pub bar_u_k: f64,
    /// Barometer in kPa.
    pub barometer_kpa: f64,
    /// The way from apparent to surface temperature.
    pub correct: &'a Correct<'a>,
}

/// Why no assessment was made.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum Error {
    /// The heat balance has no answer for these sheets.
    #[error(
        "the heat balance has no answer for these conditions; hint: check thickness, diameter, service and air temperature"
    )]
    NoBalance,
}

/// How far a frame's sound jacket falls short of what dry insulation explains, in K; positive on the wet side.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Shortfall {
    /// The shortfall.
    pub value_k: f64,
    /// Standard uncertainty from the sheets, common to all frames of the asset.
    pub sheets_u_k: f64,
    /// Standard uncertainty from the camera, each frame's own.
    pub camera_u_k: f64,
}

/// A whole jacket that falls short.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WetAllOver {
    /// Mean shortfall of the asset's frames in K.
    pub mean_k: f64,
    /// Its standard uncertainty in K.
    pub standard_uncertainty_k: f64,
    /// Frames that it rests on.
    pub frames: usize,
}

/// Whether the frames of an asset together say that the whole jacket is wet: their mean shortfall against
/// `u² = u_sheets² + u_camera²/n`, for the sheets err alike in all frames and the camera in each by itself.
#[must_use]
pub fn wet_all_over(shortfalls: &[Shortfall], settings: &Settings) -> Option<WetAllOver> {
    let count = shortfalls.len() as f64;
    let mean = |value: fn(&Shortfall) -> f64| shortfalls.iter().map(value).sum::<f64>() / count;
    let sheets = mean(|s| s.sheets_u_k);
    let camera_squared = mean(|s| s.camera_u_k * s.camera_u_k) / count;
    let found = WetAllOver {
        mean_k: mean(|s| s.value_k),
        standard_uncertainty_k: (sheets * sheets + camera_squared).sqrt(),
        frames: shortfalls.len(),
    };
    (found.mean_k > settings.general_significance * found.standard_uncertainty_k).then_some(found)
}

/// What a frame says by itself, before it is known whether its asset is wet all over.
#[derive(Debug, Clone)]
pub struct Expectation {
    /// Surface temperature expected of dry insulation, °C.
    pub sound: Estimate,
    /// Dew (or frost) point in °C, where the humidity is known.
    pub dew_point_c: Option<f64>,
    /// How far the sound jacket falls short of it.
    pub shortfall: Shortfall,
}

/// What the sheets lead one to expect, and how far the frame's sound jacket falls short of it.
///
/// # Errors
/// [`Error::NoBalance`] where the sheets describe no possible heat balance.
pub fn expect(detection: &Detection, about: &Circumstances, settings: &Settings) -> Result<Expectation, Error> {
    let room = Room::new(about, settings).ok_or(Error::NoBalance)?;
    Ok(Expectation {
        shortfall: room.shortfall(detection).ok_or(Error::NoBalance)?,
        dew_point_c: room.inputs.dew_point_c(),
        sound: room.expected,
    })
}

/// Findings and what is set aside in a frame, in the order of its zones; extent general first.
///
/// # Errors
/// [`Error::NoBalance`] where the sheets describe no possible heat balance.
pub fn assess(
    detection: &Detection,
    about: &Circumstances,
    general: Option<&WetAllOver>,
    settings: &Settings,
) -> Result<Vec<Finding>, Error> {
    let room = Room::new(about, settings).ok_or(Error::NoBalance)?;
    let mut findings = Vec::with_capacity(detection.zones.len() + 1);
    if let Some(general) = general {
        findings.push(room.general(detection, general).ok_or(Error::NoBalance)?);
    }
    for zone in &detection.zones {
        findings.push(room.local(zone, detection, general).ok_or(Error::NoBalance)?);
    }
    Ok(findings)
}

/// What an asset's jacket is expected to show under some conditions, before anyone has looked.
#[derive(Debug, Clone)]
pub struct Prospect {
    /// The heat balance's quantities.
    pub inputs: Inputs,
    standard: [f64; Inputs::COUNT],
    /// Surface temperature expected of dry insulation, °C.
    pub sound: Estimate,
}

impl Prospect {
    /// The prospect; None where the sheets describe no possible heat balance. `barometer_kpa` is absolute.
    #[must_use]
    pub fn new(asset: &Asset, conditions: &Conditions, half_widths: &HalfWidths, barometer_kpa: f64) -> Option<Self> {
        let inputs = Inputs::new(asset, conditions, barometer_kpa);
        let standard = inputs.standard_uncertainties(asset, conditions, half_widths);
        let sound = propagate(&inputs, &standard, &[], |i| i.surface_c(1.0))?;
        Some(Self {
            inputs,
            standard,
            sound,
        })
    }

    /// Contrast in K of a zone whose insulation conducts `ratio` times what it does dry, against sound jacket; negative
    /// where the zone is colder.
    #[must_use]
    pub fn contrast_k(&self, ratio: f64) -> Option<f64> {
        Some(self.inputs.surface_c(ratio)? - self.sound.value)
    }
}
