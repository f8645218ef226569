//! One asset under one set of conditions.

use super::cases::Case;
use super::{Material, RATIOS, Verdict};
use crate::assess::inputs::COVERAGE_95;
use crate::assess::usability::{self, Usability};
use crate::assess::{Error, Prospect};
use crate::detect;
use crate::register::{Conditions, Shape};

/// What an asset would show. Temperatures in °C, differences in K, lengths in m; NaN where the heat balance has no answer.
#[derive(Debug, Clone)]
pub struct Outlook {
    /// The conditions.
    pub case: Case,
    /// Surface temperature expected of dry insulation.
    pub sound_c: f64,
    /// Its 95 % half-width.
    pub sound_half_width_k: f64,
    /// Zone minus sound jacket at each of [`RATIOS`]; negative where the zone is colder.
    pub contrasts_k: [f64; 2],
    /// Dew or frost point, where the humidity is known.
    pub dew_point_c: Option<f64>,
    /// Whether the sound jacket lies below it.
    pub sweats: Option<bool>,
    /// Least contrast that would be called.
    pub least_contrast_k: f64,
    /// Side of the smallest zone that would be called.
    pub smallest_zone_m: f64,
    /// Width of the asset that one picture shows.
    pub covers_m: f64,
    /// Pictures that show its whole length from one side.
    pub pictures: usize,
    /// How far such a frame could be used.
    pub usability: Usability,
    /// Why not fully.
    pub reasons: Vec<String>,
}

impl Outlook {
    /// The verdict under these conditions.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        Verdict::of(self.usability)
    }

    /// The more, the worse: first the usability, within it the weaker contrast.
    pub(super) fn badness(&self) -> f64 {
        let step = match self.usability {
            Usability::Good => 0.0,
            Usability::Limited => 1.0,
            Usability::Unusable => 2.0,
        };
        let contrast_k = self.contrasts_k[0].abs();
        // 1/(1 + x) falls from 1 to 0 and so never crosses a step; no contrast at all counts as none.
        step + 1.0 / (1.0 + if contrast_k.is_finite() { contrast_k } else { 0.0 })
    }
}

/// The contrast under one wind.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct WindEffect {
    /// Wind in m/s.
    pub wind_m_s: f64,
    /// Surface temperature expected of dry insulation, °C.
    pub expected_sound_surface_c: f64,
    /// Zone minus sound jacket at twice the conductivity, K.
    pub contrast_2x_k: f64,
    /// The same at four times.
    pub contrast_4x_k: f64,
}

fn prospect(material: &Material, index: usize, conditions: &Conditions) -> Option<Prospect> {
    let before = material.before;
    Prospect::new(
        &before.assets[index],
        conditions,
        &before.uncertainty,
        before.site.barometer_kpa.value,
    )
}

/// The contrasts at [`RATIOS`], NaN where there is none.
pub(super) fn contrasts_k(material: &Material, index: usize, conditions: &Conditions) -> [f64; 2] {
    let prospect = prospect(material, index, conditions);
    RATIOS.map(|ratio| prospect.as_ref().and_then(|p| p.contrast_k(ratio)).unwrap_or(f64::NAN))
}

/// What the asset would show.
pub(super) fn of(material: &Material, index: usize, case: Case) -> Outlook {
    let (asset, survey) = (&material.before.assets[index], material.survey);
    let mut verdict = usability::of_conditions(asset, &case.conditions, &survey.usability);
    let scale_px_m = case.optics.scale_px_m(case.distance_m);
    let times = detect::taken_together(scale_px_m, &survey.detect) as f64;
    let smallest_zone_m = detect::smallest_zone_m(survey.detect.least_pixels, scale_px_m / times);
    usability::of_smallest_zone(smallest_zone_m, &survey.usability, &mut verdict);
    let least_contrast_k = survey
        .detect
        .contrast_called_k(detect::least_spread_k(case.optics.noise_k / times));
    let prospect = prospect(material, index, &case.conditions);
    if prospect.is_none() {
        verdict.note(Usability::Unusable, Error::NoBalance.to_string());
    }
    let sound = prospect.as_ref().map(|p| &p.sound);
    let mut outlook = Outlook {
        sound_c: sound.map_or(f64::NAN, |sound| sound.value),
        sound_half_width_k: sound.map_or(f64::NAN, |sound| COVERAGE_95 * sound.standard_uncertainty),
        contrasts_k: contrasts_k(material, index, &case.conditions),
        dew_point_c: prospect.as_ref().and_then(|p| p.inputs.dew_point_c()),
        sweats: None,
        least_contrast_k,
        smallest_zone_m,
        covers_m: case.optics.covers_m(case.distance_m),
        pictures: pictures(material, length_m(&asset.shape), &case),
        usability: Usability::Good,
        reasons: Vec::new(),
        case,
    };
    outlook.note_contrast(&mut verdict);
    outlook.note_dew(&mut verdict);
    outlook.usability = verdict.usability();
    outlook.reasons = verdict.reasons();
    outlook
}

impl Outlook {
    fn note_contrast(&self, verdict: &mut usability::Verdict) {
        let least_k = self.least_contrast_k;
        let [twice_k, four_k] = self.contrasts_k.map(f64::abs);
        if four_k < least_k {
            verdict.note(
                Usability::Unusable,
                format!("even four times the conductivity stands out by only {four_k:.2} K, and {least_k:.2} K would be called: soaked insulation would go unseen"),
            );
        } else if twice_k < least_k {
            verdict.note(
                Usability::Limited,
                format!("twice the conductivity stands out by only {twice_k:.2} K, and {least_k:.2} K would be called: only wetter places will be found"),
            );
        }
    }

    fn note_dew(&mut self, verdict: &mut usability::Verdict) {
        let Some(dew_c) = self.dew_point_c.filter(|_| self.sound_c.is_finite()) else {
            return;
        };
        let above_k = self.sound_c - dew_c;
        self.sweats = Some(above_k < 0.0);
        if above_k < 0.0 {
            let what = if self.sound_c < 0.0 { "frosts" } else { "sweats" };
            verdict.note(
                Usability::Limited,
                format!(
                    "the sound jacket {what}: at {:.1} °C it lies below the dew point of {dew_c:.1} °C, and what settles on it evens contrasts out",
                    self.sound_c
                ),
            );
        } else if above_k < self.sound_half_width_k {
            verdict.note(
                Usability::Good,
                format!(
                    "the sound jacket may sweat: it lies {above_k:.1} K above the dew point, and is known to ±{:.1} K",
                    self.sound_half_width_k
                ),
            );
        }
    }
}

fn length_m(shape: &Shape) -> f64 {
    match *shape {
        Shape::HorizontalCylinder { length_m, .. } | Shape::VerticalCylinder { length_m, .. } => length_m,
        Shape::Flat { width_m, .. } => width_m,
    }
}

/// Pictures along the asset; a standing vessel is taken with the camera upright.
fn pictures(material: &Material, length_m: f64, case: &Case) -> usize {
    let covers_m = case.optics.covers_m(case.distance_m);
    let step_m = covers_m * (1.0 - material.settings.overlap_share);
    let further = ((length_m - covers_m) / step_m).ceil().max(0.0);
    1 + further as usize
}

/// The contrast in a calm, at the wind to which quantities hold, and at the most wind that is surveyed in.
pub(super) fn against_wind(material: &Material, index: usize, case: &Case) -> Vec<WindEffect> {
    let usability = &material.survey.usability;
    let winds_m_s = [0.0, usability.calm_wind_m_s, usability.most_wind_m_s];
    let under = |wind_m_s: f64| {
        let conditions = Conditions {
            wind_m_s: Some(wind_m_s),
            ..case.conditions.clone()
        };
        let prospect = prospect(material, index, &conditions)?;
        let [contrast_2x_k, contrast_4x_k] = contrasts_k(material, index, &conditions);
        Some(WindEffect {
            wind_m_s,
            expected_sound_surface_c: prospect.sound.value,
            contrast_2x_k,
            contrast_4x_k,
        })
    };
    winds_m_s.into_iter().filter_map(under).collect()
}
