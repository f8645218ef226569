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
    /// general (3: one dry asset in 700 is called, if its errors are as stated).
    pub general_significance: f64,
    /// Conductivity ratio above which a small spot is metal through the insulation rather than wet insulation.
    pub penetration_ratio: f64,
    /// Largest side in m of such a spot.
    pub penetration_side_m: f64,
    /// Conductivity ratio above which a spot up to this size is taken for a small nozzle or bolt.
    pub point_ratio: f64,
    /// Its largest side in m.
    pub point_side_m: f64,
    /// Side in m below which a spot is a port, nameplate, fastener or stand-off whatever its ratio. Heat spreads sideways in
    /// the insulation, so that even a wet place of half a thickness shows wider; the value is set by simulated scenes, no source.
    pub least_side_m: f64,
    /// Mean width in m below which a line is a band, seam or pipe whatever its ratio; a strong one up to `point_side_m`.
    pub least_line_m: f64,
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
            penetration_side_m: 0.45,
            point_ratio: 4.0,
            point_side_m: 0.18,
            least_side_m: 0.185,
            least_line_m: 0.08,
            missing_ratio: 12.0,
            open_lower_bound: 1.15,
        }
    }
}

/// Least conductivity ratio that is told.
const LEAST_RATIO: f64 = 1e-3;
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

struct Room<'a> {
    inputs: Inputs,
    standard: [f64; Inputs::COUNT],
    about: &'a Circumstances<'a>,
    settings: &'a Settings,
    expected: Estimate,
}

impl<'a> Room<'a> {
    fn new(about: &'a Circumstances<'a>, settings: &'a Settings) -> Option<Self> {
        let Prospect {
            inputs,
            standard,
            sound,
        } = Prospect::new(about.asset, about.conditions, about.half_widths, about.barometer_kpa)?;
        Some(Self {
            inputs,
            standard,
            about,
            settings,
            expected: sound,
        })
    }

    /// Whether wet insulation is colder than sound here (a cold asset in warmer air).
    fn cold_asset(&self) -> bool {
        self.inputs.get(Quantity::Service) < self.inputs.get(Quantity::Air)
    }

    /// +1 where a positive contrast means more conduction, −1 where a negative one does.
    fn wet_sign(&self) -> f64 {
        if self.cold_asset() { -1.0 } else { 1.0 }
    }

    fn local(&self, zone: &Zone, detection: &Detection, general: Option<&WetAllOver>) -> Option<Finding> {
        // Where the whole jacket is wet, local zones stand out from wet jacket, which is where all frames together put it.
        let reference_c = self.expected.value + general.map_or(0.0, |g| g.mean_k * self.wet_sign());
        let peak_k = zone.peak_contrast_k;
        let mut others = self.contrast_parts(zone);
        others.extend(general.map(|g| Part {
            quantity: "wet_all_over",
            contribution: g.standard_uncertainty_k,
        }));
        let shift = reference_c - self.expected.value;
        // ln ratio: the interval of a quotient is even on that scale, and never below zero.
        let log_ratio = |i: &Inputs, contrast_k: f64| {
            let sound_c = i.surface_c(1.0)?;
            let zone_c = sound_c + shift + contrast_k;
            let ratio = i.conductivity_w_mk(zone_c)? / i.dry_w_mk(zone_c);
            Some(ratio.max(LEAST_RATIO).ln())
        };
        let slope = (log_ratio(&self.inputs, peak_k + 0.01)? - log_ratio(&self.inputs, peak_k - 0.01)?) / 0.02;
        let others: Vec<Part> = others
            .into_iter()
            .map(|p| Part {
                quantity: p.quantity,
                contribution: (p.contribution * slope).abs(),
            })
            .collect();
        let mut estimate = propagate(&self.inputs, &self.standard, &others, |i| log_ratio(i, peak_k))?;
        if estimate.value <= LEAST_RATIO.ln() {
            // Warmer than the air itself: no conduction explains it, and the floor says nothing of how far off it is.
            estimate.standard_uncertainty = estimate.standard_uncertainty.max(std::f64::consts::LN_10 / COVERAGE_95);
        }
        let surface_c = reference_c + zone.contrast_k;
        let balance = self.balance(estimate, surface_c, reference_c, zone.area_m2)?;
        let contrast_u: f64 = self
            .contrast_parts(zone)
            .iter()
            .map(|p| p.contribution.powi(2))
            .sum::<f64>()
            .sqrt();
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
        let mut parts = vec![
            Part {
                quantity: "noise_and_baseline",
                contribution: zone.contrast_u_k,
            },
            Part {
                quantity: "contrast_scale",
                contribution: (zone.peak_contrast_k * stretch).abs(),
            },
            Part {
                quantity: "local_film",
                contribution: (zone.peak_contrast_k * LOCAL_FILM).abs(),
            },
        ];
        if self.about.bar_u_k > 0.0 {
            parts.push(Part {
                quantity: "colour_bar",
                contribution: self.about.bar_u_k,
            });
        }
        parts
    }

    /// How far the sound jacket falls short. Emissivity and reflection act on what is read and on what is expected, so
    /// both are moved together.
    fn shortfall(&self, detection: &Detection) -> Option<Shortfall> {
        let apparent_c = self.apparent(detection.sound_c);
        let short = |i: &Inputs| Some((self.surface(i, apparent_c) - i.surface_c(1.0)?) * self.wet_sign());
        let estimate = propagate(&self.inputs, &self.standard, &[], short)?;
        Some(Shortfall {
            value_k: estimate.value,
            sheets_u_k: estimate.standard_uncertainty,
            camera_u_k: self.about.camera_accuracy_k / COVERAGE_95,
        })
    }

    /// The finding that the whole jacket is wet.
    fn general(&self, detection: &Detection, general: &WetAllOver) -> Option<Finding> {
        // What all frames say together is surer than what this one reads.
        let surface_c = self.expected.value + general.mean_k * self.wet_sign();
        let apparent_c = self.apparent(surface_c);
        let log_ratio = |i: &Inputs| {
            let surface_c = self.surface(i, apparent_c);
            Some(
                (i.conductivity_w_mk(surface_c)? / i.dry_w_mk(surface_c))
                    .max(LEAST_RATIO)
                    .ln(),
            )
        };
        let offset_k = self.about.camera_accuracy_k / COVERAGE_95 / (general.frames as f64).sqrt();
        let at = |d: f64| {
            let surface_c = surface_c + d;
            Some(
                (self.inputs.conductivity_w_mk(surface_c)? / self.inputs.dry_w_mk(surface_c))
                    .max(1e-3)
                    .ln(),
            )
        };
        let camera = Part {
            quantity: "camera_accuracy",
            contribution: ((at(offset_k)? - at(-offset_k)?) / 2.0).abs(),
        };
        let ratio = propagate(&self.inputs, &self.standard, &[camera], log_ratio)?;
        let contrast_k = general.mean_k * self.wet_sign();
        let zone = Zone {
            departure: if contrast_k < 0.0 {
                Departure::Colder
            } else {
                Departure::Warmer
            },
            sound_c: detection.sound_c - contrast_k,
            contrast_k,
            peak_contrast_k: contrast_k,
            contrast_to_noise: contrast_k.abs() / detection.spread_k,
            ..detection.face.clone()
        };
        let balance = self.balance(ratio, surface_c, self.expected.value, detection.usable_m2)?;
        let uncertainty_k = COVERAGE_95 * general.standard_uncertainty_k;
        let because = vec![
            format!(
                "the whole jacket stands {:.1} K off what dry insulation explains, {:.1} °C (mean of {} frame{}; 95 % uncertainty ±{uncertainty_k:.1} K)",
                general.mean_k,
                self.expected.value,
                general.frames,
                if general.frames == 1 { "" } else { "s" }
            ),
            "absolute temperatures do not cancel here: compare with a contact thermometer on the jacket".to_owned(),
        ];
        let judged = cause::Judged {
            cause: Cause::WetInsulation,
            action: Action::OpenAndInspect,
            because,
        };
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
        let scene = self
            .about
            .correct
            .scene
            .map(|scene| crate::radiation::measurement::Scene {
                emissivity: inputs.get(Quantity::Emissivity),
                reflected_c: inputs.get(Quantity::Reflected),
                ..scene
            });
        Correct {
            scene,
            ..*self.about.correct
        }
        .surface_c(apparent_c, 1.0)
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

    fn finding(
        &self,
        zone: Zone,
        extent: Extent,
        judged: cause::Judged,
        balance: Balance,
        uncertainty_k: f64,
    ) -> Finding {
        let mut because = judged.because;
        let wet = matches!(
            judged.cause,
            Cause::WetInsulation | Cause::ThinOrMissingInsulation | Cause::Undetermined
        );
        let moisture = if wet {
            moisture::least_moisture(self.about.asset.insulation, balance.ratio)
        } else {
            LeastMoisture::None
        };
        if wet {
            because.extend(moisture_words(moisture, self.about.asset.insulation.key()));
        }
        Finding {
            below_dew_point: self.inputs.dew_point_c().is_some_and(|dew| balance.surface_c < dew),
            below_freezing: balance.surface_c < 0.0,
            at_least: false,
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
