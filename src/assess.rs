//! What a zone means: heat balance, conductivity against sound insulation, least moisture, cause.
//!
//! What comes in: a [`Detection`] and the sheets. What is guaranteed out: an [`Assessment`] in which every zone is a
//! [`Finding`] with a cause and its reasons, either followed up or set aside, none dropped; every conductivity ratio has its
//! 95 % interval and the parts of it. What is not handled: who comes first (that is `rank`).
//!
//! A local zone is judged by its contrast to sound jacket in the same frame: the sound jacket is put at the temperature that
//! the heat balance expects of dry insulation, the zone at that temperature plus the contrast, and the ratio of the two
//! conductivities follows. The camera's offset has no say in it. Only extent `general`, the sound jacket itself colder than
//! dry insulation explains, rests on absolute temperatures, and is as uncertain as they are.

pub mod budget;
pub mod cause;
pub mod inputs;
pub mod usability;

use crate::calibrate::Correct;
use crate::detect::{Departure, Detection, Zone};
use crate::heat::moisture::{self, LeastMoisture};
use crate::register::{Asset, Conditions, HalfWidths};
use budget::{Estimate, Part, propagate};
use cause::{Action, Cause};
use inputs::{COVERAGE_95, Inputs, Quantity};

/// Thresholds of the room.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Settings {
    /// Standard uncertainties by which the sound jacket must fall short of what dry insulation explains to be called
    /// general (2.2: one dry asset in seventy is called, if its errors are as stated).
    pub general_significance: f64,
    /// Conductivity ratio above which a small spot is metal through the insulation rather than wet insulation.
    pub penetration_ratio: f64,
    /// Largest side in m of such a spot.
    pub penetration_side_m: f64,
    /// The same for a point: wet insulation spreads wider than a bolt or small nozzle.
    pub point_ratio: f64,
    /// Largest side in m of a point.
    pub point_side_m: f64,
    /// Conductivity ratio above which insulation is thin, missing or frozen solid rather than merely wet.
    pub missing_ratio: f64,
    /// Lower bound of the ratio above which a zone is opened.
    pub open_lower_bound: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            general_significance: 2.2,
            penetration_ratio: 9.0,
            penetration_side_m: 0.45,
            point_ratio: 4.0,
            point_side_m: 0.16,
            missing_ratio: 12.0,
            open_lower_bound: 1.15,
        }
    }
}

/// Standard uncertainty of the film at one place of a body against the body's mean, as a share (it thickens from one side
/// of a cylinder to the other by some 10 % either way: engineering judgement, no source).
const LOCAL_FILM: f64 = 0.05;

/// How much of the asset a finding takes in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Extent {
    /// A zone that stands out from sound jacket.
    Local,
    /// The whole jacket in view.
    General,
}

/// A zone with its meaning.
#[derive(Debug, Clone)]
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
}

/// What a frame says of its asset.
#[derive(Debug, Clone)]
pub struct Assessment {
    /// Surface temperature expected of dry insulation, °C.
    pub expected_sound: Estimate,
    /// Dew (or frost) point in °C, where the humidity is known.
    pub dew_point_c: Option<f64>,
    /// Findings and what is set aside, in the order of the zones; extent general first.
    pub findings: Vec<Finding>,
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
    /// Barometer in kPa.
    pub barometer_kpa: f64,
    /// The way from apparent to surface temperature.
    pub correct: &'a Correct<'a>,
}

/// Why no assessment was made.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum Error {
    /// The heat balance has no answer for these sheets.
    #[error("the heat balance has no answer for these conditions; hint: check thickness, diameter, service and air temperature")]
    NoBalance,
}

/// Assesses every zone of a frame.
///
/// # Errors
/// [`Error::NoBalance`] where the sheets describe no possible heat balance.
pub fn assess(detection: &Detection, about: &Circumstances, settings: &Settings) -> Result<Assessment, Error> {
    let inputs = Inputs::new(about.asset, about.conditions, about.barometer_kpa);
    let standard = inputs.standard_uncertainties(about.asset, about.conditions, about.half_widths);
    let expected_sound = propagate(&inputs, &standard, &[], |i| i.surface_c(1.0)).ok_or(Error::NoBalance)?;
    let room = Room { inputs, standard, about, settings, expected_c: expected_sound.value };
    let general = room.general(detection);
    // Where the whole jacket is wet, local zones stand out from wet jacket: they are judged against what was measured.
    let reference_c = if general.is_some() { detection.sound_c } else { expected_sound.value };
    let mut findings: Vec<Finding> = general.into_iter().collect();
    for zone in &detection.zones {
        findings.push(room.local(zone, reference_c, detection).ok_or(Error::NoBalance)?);
    }
    Ok(Assessment { dew_point_c: inputs.dew_point_c(), expected_sound, findings })
}

struct Room<'a> {
    inputs: Inputs,
    standard: [f64; Inputs::COUNT],
    about: &'a Circumstances<'a>,
    settings: &'a Settings,
    expected_c: f64,
}

impl Room<'_> {
    /// Whether wet insulation is colder than sound here (a cold asset in warmer air).
    fn cold_asset(&self) -> bool {
        self.inputs.get(Quantity::Service) < self.inputs.get(Quantity::Air)
    }

    /// +1 where a positive contrast means more conduction, −1 where a negative one does.
    fn wet_sign(&self) -> f64 {
        if self.cold_asset() { -1.0 } else { 1.0 }
    }

    fn local(&self, zone: &Zone, reference_c: f64, detection: &Detection) -> Option<Finding> {
        let peak_k = zone.peak_contrast_k;
        let others = self.contrast_parts(zone);
        let shift = reference_c - self.expected_c;
        // ln ratio: the interval of a quotient is even on that scale, and never below zero.
        let log_ratio = |i: &Inputs, contrast_k: f64| {
            let sound_c = i.surface_c(1.0)?;
            let zone_c = sound_c + shift + contrast_k;
            let ratio = i.conductivity_w_mk(zone_c)? / i.dry_w_mk(zone_c);
            Some(ratio.max(1e-3).ln())
        };
        let slope = (log_ratio(&self.inputs, peak_k * 1.01)? - log_ratio(&self.inputs, peak_k)?) / (peak_k * 0.01);
        let others: Vec<Part> = others
            .into_iter()
            .map(|p| Part { quantity: p.quantity, contribution: (p.contribution * slope).abs() })
            .collect();
        let estimate = propagate(&self.inputs, &self.standard, &others, |i| log_ratio(i, peak_k))?;
        let surface_c = reference_c + zone.contrast_k;
        let balance = self.balance(estimate, surface_c, reference_c, zone.area_m2)?;
        let contrast_u: f64 = self.contrast_parts(zone).iter().map(|p| p.contribution.powi(2)).sum::<f64>().sqrt();
        let judged = cause::of_zone(&cause::Evidence {
            zone,
            ratio: balance.ratio,
            ratio_interval: balance.ratio_interval,
            wet_side: zone.contrast_k * self.wet_sign() > 0.0,
            conditions: self.about.conditions,
            setting: self.about.asset.setting,
            least_contrast_k: detection.least_contrast_k,
            service_c: self.inputs.get(Quantity::Service),
            settings: self.settings,
        });
        Some(self.finding(zone.clone(), Extent::Local, judged, balance, COVERAGE_95 * contrast_u))
    }

    /// Standard uncertainties of a contrast in K: noise and baseline; the emissivity's share, which stretches it.
    fn contrast_parts(&self, zone: &Zone) -> Vec<Part> {
        let emissivity = self.inputs.get(Quantity::Emissivity);
        let stretch = self.standard[Quantity::Emissivity as usize] / emissivity;
        vec![
            Part { quantity: "noise_and_baseline", contribution: zone.contrast_u_k },
            Part { quantity: "contrast_scale", contribution: (zone.peak_contrast_k * stretch).abs() },
            Part { quantity: "local_film", contribution: (zone.peak_contrast_k * LOCAL_FILM).abs() },
        ]
    }

    /// The finding that the whole jacket falls short of what dry insulation explains, if it does.
    fn general(&self, detection: &Detection) -> Option<Finding> {
        let measured_c = detection.sound_c;
        let camera = Part {
            quantity: "camera_accuracy",
            contribution: self.about.camera_accuracy_k / COVERAGE_95,
        };
        let apparent_c = self.apparent(measured_c);
        let shortfall = |i: &Inputs| Some(self.surface(i, apparent_c) - i.surface_c(1.0)?);
        let estimate = propagate(&self.inputs, &self.standard, std::slice::from_ref(&camera), shortfall)?;
        let signed = estimate.value * self.wet_sign();
        if signed < self.settings.general_significance * estimate.standard_uncertainty {
            return None;
        }
        let log_ratio = |i: &Inputs| {
            let surface_c = self.surface(i, apparent_c);
            Some((i.conductivity_w_mk(surface_c)? / i.dry_w_mk(surface_c)).max(1e-3).ln())
        };
        let offset = camera.contribution;
        let slope = {
            let at = |d: f64| Some((self.inputs.conductivity_w_mk(measured_c + d)? / self.inputs.dry_w_mk(measured_c + d)).max(1e-3).ln());
            (at(offset)? - at(-offset)?) / 2.0
        };
        let part = Part { quantity: "camera_accuracy", contribution: slope.abs() };
        let ratio = propagate(&self.inputs, &self.standard, &[part], log_ratio)?;
        let zone = whole_jacket(detection, measured_c - self.expected_c);
        let balance = self.balance(ratio, measured_c, self.expected_c, detection.usable_m2)?;
        let uncertainty_k = COVERAGE_95 * estimate.standard_uncertainty;
        let because = vec![
            format!(
                "sound jacket reads {measured_c:.1} °C, dry insulation would show {:.1} °C: {:.1} K short, 95 % uncertainty ±{uncertainty_k:.1} K",
                self.expected_c,
                signed
            ),
            "absolute temperatures do not cancel here: compare with a contact thermometer on the jacket".to_owned(),
        ];
        let judged = cause::Judged { cause: Cause::WetInsulation, action: Action::OpenAndInspect, because };
        Some(self.finding(zone, Extent::General, judged, balance, uncertainty_k))
    }

    fn apparent(&self, surface_c: f64) -> f64 {
        // The correction is close to linear over a few kelvin: two Newton steps invert it.
        let mut apparent_c = surface_c;
        for _ in 0..3 {
            let here = self.about.correct.surface_c(apparent_c, 1.0);
            let slope = (self.about.correct.surface_c(apparent_c + 0.05, 1.0) - here) / 0.05;
            apparent_c -= (here - surface_c) / slope;
        }
        apparent_c
    }

    /// Surface temperature for an apparent one with the emissivity and reflection of `inputs`.
    fn surface(&self, inputs: &Inputs, apparent_c: f64) -> f64 {
        let scene = self.about.correct.scene.map(|scene| crate::radiation::measurement::Scene {
            emissivity: inputs.get(Quantity::Emissivity),
            reflected_c: inputs.get(Quantity::Reflected),
            ..scene
        });
        Correct { scene, ..*self.about.correct }.surface_c(apparent_c, 1.0)
    }

    fn balance(&self, log_ratio: Estimate, surface_c: f64, sound_c: f64, area_m2: f64) -> Option<Balance> {
        let ratio = log_ratio.value.exp();
        let reach = (COVERAGE_95 * log_ratio.standard_uncertainty).exp();
        let (through, sound) = (self.inputs.flux_w_m2(surface_c)?, self.inputs.flux_w_m2(sound_c)?);
        Some(Balance {
            ratio,
            ratio_interval: [ratio / reach, ratio * reach],
            conductivity_w_mk: ratio * self.inputs.dry_w_mk(surface_c),
            heat_gain_w: through * area_m2,
            extra_heat_gain_w: (through - sound) * area_m2,
            surface_c,
            budget: log_ratio.parts,
        })
    }

    fn finding(&self, zone: Zone, extent: Extent, judged: cause::Judged, balance: Balance, uncertainty_k: f64) -> Finding {
        let mut because = judged.because;
        let wet = matches!(judged.cause, Cause::WetInsulation | Cause::ThinOrMissingInsulation | Cause::Undetermined);
        let moisture = if wet { moisture::least_moisture(self.about.asset.insulation, balance.ratio) } else { LeastMoisture::None };
        if wet {
            because.extend(moisture_words(moisture, self.about.asset.insulation.key()));
        }
        Finding {
            below_dew_point: self.inputs.dew_point_c().is_some_and(|dew| balance.surface_c < dew),
            below_freezing: balance.surface_c < 0.0,
            zone,
            extent,
            cause: judged.cause,
            because,
            action: judged.action,
            conductivity_w_mk: balance.conductivity_w_mk,
            ratio: balance.ratio,
            ratio_interval: balance.ratio_interval,
            uncertainty_k,
            budget: balance.budget,
            moisture: moisture.fraction(),
            heat_gain_w: balance.heat_gain_w,
            extra_heat_gain_w: balance.extra_heat_gain_w,
        }
    }
}

struct Balance {
    ratio: f64,
    ratio_interval: [f64; 2],
    conductivity_w_mk: f64,
    heat_gain_w: f64,
    extra_heat_gain_w: f64,
    surface_c: f64,
    budget: Vec<Part>,
}

fn moisture_words(moisture: LeastMoisture, insulation: &str) -> Option<String> {
    match moisture {
        LeastMoisture::None => None,
        LeastMoisture::Fraction { psi } => Some(format!(
            "at least {:.1} % water by volume would be needed to explain the ratio in {insulation} (hygroscopic law; water that has run together or frozen conducts more)",
            100.0 * psi
        )),
        LeastMoisture::BeyondTheLaw => {
            Some("more than the moisture law covers: soaked, frozen, missing or bridged insulation".to_owned())
        }
    }
}

/// The usable jacket as one zone.
fn whole_jacket(detection: &Detection, contrast_k: f64) -> Zone {
    let jacket = &detection.jacket;
    let usable: Vec<usize> = (0..jacket.cover.len())
        .filter(|&at| jacket.cover[at] == crate::detect::jacket::Cover::Usable)
        .collect();
    let (low, high) = usable
        .iter()
        .map(|&at| f64::from(jacket.axial_m[at]))
        .fold((f64::MAX, f64::MIN), |(low, high), a| (low.min(a), high.max(a)));
    Zone {
        departure: if contrast_k < 0.0 { Departure::Colder } else { Departure::Warmer },
        footing: crate::detect::Footing::OnJacket,
        pixels: usable.len(),
        axial_m: (low + high) / 2.0,
        angle_deg: 0.0,
        across_m: 0.0,
        length_m: high - low,
        // The face seen at less than 60° from the normal is a third of the girth.
        arc_m: match jacket.surface {
            crate::locate::figure::Surface::Round => jacket.half_width_m * std::f64::consts::PI * 2.0 / 3.0,
            crate::locate::figure::Surface::Plane => 2.0 * jacket.half_width_m,
        },
        area_m2: detection.usable_m2,
        surface_c: detection.sound_c,
        extreme_c: detection.sound_c,
        sound_c: detection.sound_c - contrast_k,
        contrast_k,
        peak_contrast_k: contrast_k,
        contrast_to_noise: contrast_k.abs() / detection.spread_k,
        contrast_u_k: detection.spread_k,
        centroid_px: detection.face_centre_px,
        box_px: detection.face_box_px,
        outline_px: detection.face_outline_px.clone(),
    }
}
