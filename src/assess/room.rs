//! Each zone's meaning from its contrast, or from the whole jacket's shortfall.

use super::budget::{Estimate, Part, propagate};
use super::cause::{self, Action, Cause};
use super::inputs::{COVERAGE_95, Inputs, Quantity};
use super::{Circumstances, Extent, Finding, Prospect, Settings, Shortfall, WetAllOver};
use crate::calibrate::Correct;
use crate::detect::{Departure, Detection, Zone};
use crate::heat::moisture::{self, LeastMoisture};

/// Least conductivity ratio that is told.
const LEAST_RATIO: f64 = 1e-3;
/// Heat flows sideways to what is wet through the insulation beside it, so that a small wet place does not reach the contrast
/// of a wide one. Standard uncertainty of the contrast from that, as a share, times width over thickness; and the most it is.
/// As the simulator's numerical solution of conduction shows it, no source: on plain scenes the 95 % interval holds the truth
/// for 0.96 of the zones found with it (`scripts/validate --only plain --draw 1` to 5) and held it for 0.89 before, for 0.80 of
/// those less than three thicknesses wide (counted by a script that is not kept). What errs, errs low.
const SIDEWAYS: f64 = 0.15;
const MOST_SIDEWAYS: f64 = 0.18;
/// Where the sound jacket about a zone departs from the rest, the air is layered, a cold sky draws heat from it, the metal
/// behind it is not wetted by the liquid, or something is mirrored there; each acts otherwise on the heat that sound jacket
/// takes in, and the picture does not tell which. Standard uncertainty of the contrast from that, as a share, times departure
/// over departure and sound jacket's own distance from the air. Set by simulated scenes, no source: with it the 95 % interval
/// holds the truth for 0.92 and 0.89 of the zones found among clutter, for 0.84 and 0.82 before (`scripts/validate --only crowded
/// --draw 24` and 25, not looked at).
const UNEVEN: f64 = 0.6;
/// Standard uncertainty of the film at one place of a body against the body's mean, as a share (it thickens from one side
/// of a cylinder to the other by some 10 % either way: engineering judgement, no source).
const LOCAL_FILM: f64 = 0.05;

/// A zone's surroundings: what the sheets say and what dry insulation would show.
pub(super) struct Room<'a> {
    pub(super) inputs: Inputs,
    standard: [f64; Inputs::COUNT],
    about: &'a Circumstances<'a>,
    settings: &'a Settings,
    pub(super) expected: Estimate,
}

impl<'a> Room<'a> {
    pub(super) fn new(about: &'a Circumstances<'a>, settings: &'a Settings) -> Option<Self> {
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
    pub(super) fn cold_asset(&self) -> bool {
        self.inputs.get(Quantity::Service) < self.inputs.get(Quantity::Air)
    }

    /// +1 where a positive contrast means more conduction, −1 where a negative one does.
    fn wet_sign(&self) -> f64 {
        if self.cold_asset() { -1.0 } else { 1.0 }
    }

    pub(super) fn local(&self, zone: &Zone, detection: &Detection, general: Option<&WetAllOver>) -> Option<Finding> {
        // Where the whole jacket is wet, local zones stand out from wet jacket, which is where all frames together put it.
        let reference_c = self.expected.value + general.map_or(0.0, |g| g.mean_k * self.wet_sign());
        let peak_k = zone.peak_contrast_k;
        let mut others = self.contrast_parts(zone);
        others.push(self.sideways(zone));
        others.push(self.uneven(zone, detection));
        others.extend(general.map(|g| Part {
            quantity: "wet_all_over".into(),
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
                quantity: p.quantity.clone(),
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
            thickness_m: self.inputs.get(Quantity::Thickness),
            settings: self.settings,
        });
        Some(self.finding(zone.clone(), Extent::Local, judged, balance, COVERAGE_95 * contrast_u))
    }

    /// Standard uncertainty in K by which a zone's contrast falls short of that of a wide one with its conductivity.
    fn sideways(&self, zone: &Zone) -> Part {
        let share = (SIDEWAYS * self.inputs.get(Quantity::Thickness) / zone.width_m()).min(MOST_SIDEWAYS);
        Part {
            quantity: "sideways_conduction".into(),
            contribution: (zone.peak_contrast_k * share).abs(),
        }
    }

    /// Standard uncertainty in K of the contrast for what the sound jacket about the zone departs from the rest by.
    fn uneven(&self, zone: &Zone, detection: &Detection) -> Part {
        // Metal that no liquid wets is nearer to the air's temperature than the sheet says: seen against the other end.
        let [coldest_c, warmest_c] = detection.sound_reach_c;
        let unwetted_k = if self.cold_asset() {
            zone.sound_c - coldest_c
        } else {
            warmest_c - zone.sound_c
        };
        let off_k = (zone.sound_c - detection.sound_c).abs().max(unwetted_k);
        let sound_k = (self.inputs.get(Quantity::Air) - self.expected.value).abs();
        Part {
            quantity: "uneven_jacket".into(),
            contribution: (zone.peak_contrast_k * UNEVEN * off_k / (off_k + sound_k).max(f64::MIN_POSITIVE)).abs(),
        }
    }

    /// Standard uncertainties of a contrast in K: noise and baseline; the emissivity's share, which stretches it.
    fn contrast_parts(&self, zone: &Zone) -> Vec<Part> {
        let emissivity = self.inputs.get(Quantity::Emissivity);
        let stretch = self.standard[Quantity::Emissivity as usize] / emissivity;
        let mut parts = vec![
            Part {
                quantity: "noise_and_baseline".into(),
                contribution: zone.contrast_u_k,
            },
            Part {
                quantity: "contrast_scale".into(),
                contribution: (zone.peak_contrast_k * stretch).abs(),
            },
            Part {
                quantity: "local_film".into(),
                contribution: (zone.peak_contrast_k * LOCAL_FILM).abs(),
            },
        ];
        if self.about.bar_u_k > 0.0 {
            parts.push(Part {
                quantity: "colour_bar".into(),
                contribution: self.about.bar_u_k,
            });
        }
        parts
    }

    /// How far the sound jacket falls short. Emissivity and reflection act on what is read and on what is expected, so
    /// both are moved together.
    pub(super) fn shortfall(&self, detection: &Detection) -> Option<Shortfall> {
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
    pub(super) fn general(&self, detection: &Detection, general: &WetAllOver) -> Option<Finding> {
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
            quantity: "camera_accuracy".into(),
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
