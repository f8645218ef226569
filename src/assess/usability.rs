//! Whether a frame can answer at all, with the reason and what to do about it next time.

use crate::heat::jacket::BRIGHT_BELOW_EMISSIVITY;
use crate::register::{Asset, Conditions, Sun};

/// How far a frame can be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Usability {
    /// Quantities hold.
    Good,
    /// Zones hold, quantities are indicative; or part of the jacket was not usefully seen.
    Limited,
    /// No verdict.
    Unusable,
}

/// Thresholds of the conditions.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Settings {
    /// Air to service difference in K below which quantities are indicative (project rule).
    pub full_difference_k: f64,
    /// Air to service difference in K below which nothing can be said (project rule).
    pub least_difference_k: f64,
    /// Wind in m/s above which quantities are indicative (project rule).
    pub calm_wind_m_s: f64,
    /// Wind in m/s above which nothing can be said (ASTM C1153 as quoted by two survey pages: 15 mph).
    pub most_wind_m_s: f64,
    /// Share of readings at the end of the camera's range, of the frame or of the asset itself, above which the one is
    /// limited and the other unusable.
    pub most_clipped_share: f64,
    /// Width of the outline's edge (10–90 %) in px above which sizes and ratios are indicative: on simulated scenes outlines
    /// begin to be misplaced there (worst overlap 0.66 instead of 0.91).
    pub sharp_edge_px: f64,
    /// The same above which nothing is said: on simulated scenes half the zones of 1 K that a sharp frame shows are lost.
    pub widest_edge_px: f64,
    /// Share of the jacket usefully seen at an end of a colour bar above which what sound jacket shows cannot be read.
    pub most_ended_share: f64,
    /// Share of a picture whose colours stand for two temperatures above which it is limited.
    pub most_ambiguous_share: f64,
    /// Standard uncertainty in K of a reading off a colour bar above which the frame is limited: twice it is more than the
    /// contrast that starts a zone.
    pub sure_reading_u_k: f64,
    /// Share of the viewed jacket that must be usefully seen for a frame to be good.
    pub full_cover_share: f64,
    /// Least contrast in K that would be called, above which the frame is limited: soaked insulation shows 1 to 5 K.
    pub fine_contrast_k: f64,
    /// The same above which it is unusable: nothing wet would be called.
    pub coarsest_contrast_k: f64,
    /// Side in m of the smallest zone that could be called, beyond which the frame is limited.
    pub fine_zone_m: f64,
    /// The same beyond which it is unusable: the smallest wet zones worth opening would go unseen.
    pub coarsest_zone_m: f64,
    /// Distance in m beyond which the transmittance of the air path is asked for.
    pub far_m: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            full_difference_k: 15.0,
            least_difference_k: 8.0,
            calm_wind_m_s: 2.0,
            most_wind_m_s: 6.7,
            most_clipped_share: 0.01,
            sharp_edge_px: 5.0,
            widest_edge_px: 10.0,
            most_ended_share: 0.4,
            most_ambiguous_share: 0.005,
            sure_reading_u_k: 0.2,
            full_cover_share: 0.5,
            fine_contrast_k: 2.0,
            coarsest_contrast_k: 5.0,
            fine_zone_m: 0.15,
            coarsest_zone_m: 0.2,
            far_m: 10.0,
        }
    }
}

/// A verdict on a frame: the worst usability found and every reason.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Verdict {
    found: Vec<(Usability, String)>,
}

impl Verdict {
    /// Notes a reason.
    pub fn note(&mut self, usability: Usability, reason: String) {
        self.found.push((usability, reason));
    }

    /// The worst usability noted.
    #[must_use]
    pub fn usability(&self) -> Usability {
        self.found
            .iter()
            .map(|(usability, _)| *usability)
            .max()
            .unwrap_or(Usability::Good)
    }

    /// Every reason, worst first.
    #[must_use]
    pub fn reasons(&self) -> Vec<String> {
        let mut found: Vec<&(Usability, String)> = self.found.iter().collect();
        found.sort_by_key(|(usability, _)| std::cmp::Reverse(*usability));
        found.into_iter().map(|(_, reason)| reason.clone()).collect()
    }
}

/// What the sheets alone say of a frame.
#[must_use]
pub fn of_conditions(asset: &Asset, conditions: &Conditions, settings: &Settings) -> Verdict {
    let mut verdict = Verdict::default();
    let emissivity = asset.emissivity.value;
    if emissivity < BRIGHT_BELOW_EMISSIVITY {
        verdict.note(
            Usability::Unusable,
            format!("bright jacket, emissivity {emissivity:.2}: it shows its surroundings, not its own temperature; tape or paint a matt spot and image that"),
        );
    }
    let difference_k = (conditions.air_c - asset.service.temperature_c()).abs();
    if difference_k < settings.least_difference_k {
        verdict.note(
            Usability::Unusable,
            format!("air and service differ by only {difference_k:.1} K (needed: {:.0} K, better {:.0} K); survey on a warmer day or with the vessel at its normal suction temperature", settings.least_difference_k, settings.full_difference_k),
        );
    } else if difference_k < settings.full_difference_k {
        verdict.note(
            Usability::Limited,
            format!("air and service differ by {difference_k:.1} K (better {:.0} K): small contrasts are missed; survey on a warmer day", settings.full_difference_k),
        );
    }
    sun(conditions.sun, &mut verdict);
    wind(conditions.wind_m_s, settings, &mut verdict);
    if let (Some(distance), None) = (conditions.distance_m, conditions.transmittance)
        && distance > settings.far_m
    {
        verdict.note(
            Usability::Limited,
            format!("{distance:.0} m of air in between without a stated transmittance: temperatures are indicative; go nearer or state transmittance"),
        );
    }
    verdict
}

/// What readings at the end of the camera's range say, as shares of the whole frame and of the asset's own readings: a
/// clipped sky behind the asset costs nothing but its edge, a clipped jacket hides how cold it is.
pub fn of_clipping(frame_share: f64, own_share: f64, settings: &Settings, verdict: &mut Verdict) {
    if own_share > settings.most_clipped_share {
        verdict.note(
            Usability::Unusable,
            format!(
                "{:.0} % of the asset's readings stand at the end of the camera's range: set the range to the scene and image again",
                100.0 * own_share
            ),
        );
    } else if frame_share > settings.most_clipped_share {
        verdict.note(
            Usability::Limited,
            format!(
                "{:.0} % of the readings, beside the asset, stand at the end of the camera's range: the outline may be misplaced; set the range to the scene",
                100.0 * frame_share
            ),
        );
    }
}

/// What the width of the outline's edge (px, at a scale in px/m) says: where it is wider than a zone worth opening, that
/// zone's contrast is halved and spread over its neighbours.
pub fn of_sharpness(width_px: Option<f64>, scale_px_m: f64, settings: &Settings, verdict: &mut Verdict) {
    let Some(width_px) = width_px else { return };
    let width_m = width_px / scale_px_m.max(1e-9);
    if width_px > settings.widest_edge_px || width_m > settings.coarsest_zone_m {
        verdict.note(
            Usability::Unusable,
            format!(
                "blurred: the outline's edge is {width_px:.0} px ({width_m:.2} m) wide (at most {:.0} px and {:.2} m): focus, hold still and image again",
                settings.widest_edge_px, settings.coarsest_zone_m
            ),
        );
    } else if width_px > settings.sharp_edge_px || width_m > settings.fine_zone_m {
        verdict.note(
            Usability::Limited,
            format!(
                "soft: the outline's edge is {width_px:.0} px ({width_m:.2} m) wide (better {:.0} px and {:.2} m): sizes and ratios are indicative; focus and hold still",
                settings.sharp_edge_px, settings.fine_zone_m
            ),
        );
    }
}

/// What the side in m of the smallest zone that could be called says.
pub fn of_smallest_zone(zone_m: f64, settings: &Settings, verdict: &mut Verdict) {
    if zone_m > settings.fine_zone_m {
        let worst = zone_m > settings.coarsest_zone_m;
        verdict.note(
            if worst { Usability::Unusable } else { Usability::Limited },
            format!("the smallest zone that could be called is {zone_m:.2} m across: take the picture from nearer"),
        );
    }
}

fn sun(sun: Option<Sun>, verdict: &mut Verdict) {
    match sun {
        Some(Sun::Direct) => verdict.note(
            Usability::Unusable,
            "direct sun on the jacket: what the sun warms hides what is cold; image before dawn or four hours after the sun has left".to_owned(),
        ),
        Some(Sun::Overcast | Sun::None) | None => {}
    }
}

fn wind(wind_m_s: Option<f64>, settings: &Settings, verdict: &mut Verdict) {
    let Some(wind_m_s) = wind_m_s else { return };
    if wind_m_s > settings.most_wind_m_s {
        verdict.note(
            Usability::Unusable,
            format!(
                "wind {wind_m_s:.1} m/s (at most {:.1} m/s): it wipes out the contrast; image in a calm",
                settings.most_wind_m_s
            ),
        );
    } else if wind_m_s > settings.calm_wind_m_s {
        verdict.note(
            Usability::Limited,
            format!("wind {wind_m_s:.1} m/s (quantities hold up to {:.0} m/s): conductivity and heat gain are indicative; image in a calm", settings.calm_wind_m_s),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clipped_sky_limits_and_a_clipped_jacket_refuses() {
        let said = |frame_share, own_share| {
            let mut verdict = Verdict::default();
            of_clipping(frame_share, own_share, &Settings::default(), &mut verdict);
            (verdict.usability(), verdict.reasons().len())
        };
        assert_eq!(said(0.0, 0.0), (Usability::Good, 0));
        assert_eq!(said(0.3, 0.001), (Usability::Limited, 1));
        assert_eq!(said(0.3, 0.3), (Usability::Unusable, 1));
        // A small asset clipped all over may be less than a hundredth of the frame.
        assert_eq!(said(0.005, 0.9), (Usability::Unusable, 1));
    }

    #[test]
    fn an_edge_counts_in_pixels_and_on_the_asset() {
        let said = |width_px, scale_px_m| {
            let mut verdict = Verdict::default();
            of_sharpness(width_px, scale_px_m, &Settings::default(), &mut verdict);
            verdict.usability()
        };
        assert_eq!(said(None, 100.0), Usability::Good);
        assert_eq!(said(Some(2.0), 100.0), Usability::Good);
        assert_eq!(said(Some(6.0), 100.0), Usability::Limited);
        assert_eq!(said(Some(12.0), 100.0), Usability::Unusable);
        // 3 px are 0.17 m from far away, as wide as a zone worth opening.
        assert_eq!(said(Some(3.0), 18.0), Usability::Limited);
        assert_eq!(said(Some(3.0), 14.0), Usability::Unusable);
    }
}
