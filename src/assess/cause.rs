//! The likely cause of a zone and what to do, with the reasons in words.

mod evidence;

pub use evidence::Evidence;

use crate::detect::Footing;
use crate::register::{Setting, Sun};

/// Likely cause of a departure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cause {
    /// Moisture in the insulation.
    WetInsulation,
    /// Insulation too thin, gone, or frozen solid.
    ThinOrMissingInsulation,
    /// Metal through the insulation: nozzle, support, bracket, inspection port, stand-off; or something in front.
    Penetration,
    /// A crack or hole in the jacket.
    JacketOpening,
    /// Something warm or cold mirrored in the jacket.
    Reflection,
    /// Warmed by the sun.
    SunWarmed,
    /// The level of a liquid inside.
    LiquidLevel,
    /// Nothing of these for sure.
    Undetermined,
}

impl Cause {
    /// The word the record uses.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::WetInsulation => "wet-insulation",
            Self::ThinOrMissingInsulation => "thin-or-missing-insulation",
            Self::Penetration => "penetration",
            Self::JacketOpening => "jacket-opening",
            Self::Reflection => "reflection",
            Self::SunWarmed => "sun-warmed",
            Self::LiquidLevel => "liquid-level",
            Self::Undetermined => "undetermined",
        }
    }

    /// Whether such a zone is listed apart and does not count as a finding.
    #[must_use]
    pub fn is_set_aside(self) -> bool {
        matches!(self, Self::Penetration | Self::Reflection | Self::SunWarmed)
    }
}

/// What to do about a zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Action {
    /// Open the insulation there and gauge the wall, under permit.
    OpenAndInspect,
    /// Close the jacket.
    ResealJacket,
    /// Image again under better conditions.
    SurveyAgain,
    /// Look again at the next survey.
    Watch,
    /// Nothing.
    None,
}

impl Action {
    /// Every action, most urgent first.
    pub const ALL: [Self; 5] = [
        Self::OpenAndInspect,
        Self::ResealJacket,
        Self::SurveyAgain,
        Self::Watch,
        Self::None,
    ];

    /// The word the record uses.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::OpenAndInspect => "open-and-inspect",
            Self::ResealJacket => "reseal-jacket",
            Self::SurveyAgain => "survey-again",
            Self::Watch => "watch",
            Self::None => "none",
        }
    }
}

/// A cause with its reasons and what to do.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// Likely cause.
    pub cause: Cause,
    /// What to do.
    pub action: Action,
    /// Why, each a clause.
    pub because: Vec<String>,
}

impl Judged {
    /// No moisture, and nothing to do.
    fn set_aside(cause: Cause, because: Vec<String>) -> Self {
        Self {
            cause,
            action: Action::None,
            because,
        }
    }
}

/// The likely cause of a zone.
#[must_use]
pub fn of_zone(evidence: &Evidence) -> Judged {
    if evidence.zone.footing == Footing::CrossesOutline {
        let because = vec![
            "it goes on beyond the asset's outline: a nozzle, leg, support or something in front, not jacket"
                .to_owned(),
        ];
        return Judged::set_aside(Cause::Penetration, because);
    }
    if evidence.wet_side {
        more_conduction(evidence)
    } else {
        less_conduction(evidence)
    }
}

/// Length over mean width from which a zone is a line rather than a patch.
const LINE_ASPECT: f64 = 3.0;

/// A zone on the side of more conduction.
fn more_conduction(evidence: &Evidence) -> Judged {
    let (zone, settings) = (evidence.zone, evidence.settings);
    let [low, high] = evidence.ratio_interval;
    let (side_m, width_m) = (evidence.side_m(), evidence.width_m());
    let contrast = format!(
        "{:.1} K {} than sound jacket beside it, {:.0} times the jacket's own spread",
        zone.peak_contrast_k.abs(),
        if zone.peak_contrast_k < 0.0 { "colder" } else { "warmer" },
        zone.contrast_to_noise
    );
    let ratio = format!(
        "conducts {:.1} times what dry insulation does (95 %: {low:.1} to {high:.1})",
        evidence.ratio
    );
    let sharp = evidence
        .sharp_edge_m(settings.sharp_share)
        .filter(|_| evidence.is_line(settings.front_aspect));
    if let Some(edge_m) = sharp {
        let because = vec![
            contrast,
            ratio,
            format!(
                "a line {width_m:.2} m wide and {side_m:.2} m long with an edge of {:.0} mm, sharper than moisture shows through {:.0} mm of insulation: a level column, pipe or something else in front",
                1000.0 * edge_m,
                1000.0 * evidence.thickness_m
            ),
        ];
        return Judged::set_aside(Cause::Penetration, because);
    }
    let line = evidence.is_line(LINE_ASPECT)
        && (width_m < settings.least_line_m
            || evidence.ratio > settings.penetration_ratio && width_m < settings.point_side_m);
    if line {
        let because = vec![
            contrast,
            ratio,
            format!(
                "a line {width_m:.2} m wide and {side_m:.2} m long, narrower than moisture spreads: a level column, pipe, band or something in front"
            ),
        ];
        return Judged::set_aside(Cause::Penetration, because);
    }
    let spot = evidence.ratio > settings.penetration_ratio && side_m < settings.penetration_side_m
        || evidence.ratio > settings.frost_ratio && side_m < settings.frost_side_m
        || evidence.ratio > settings.point_ratio && side_m < settings.point_side_m;
    if evidence.is_too_small() && !spot {
        let because = vec![
            contrast,
            ratio,
            format!(
                "only {side_m:.2} m across, less than moisture spreads: an inspection port, fastener, nameplate or stand-off"
            ),
        ];
        return Judged::set_aside(Cause::Penetration, because);
    }
    if spot {
        let because = vec![
            contrast,
            format!(
                "small ({side_m:.2} m) and far colder than wet insulation gets: metal through the insulation, such as a nozzle, port or stand-off (service {:.0} °C)",
                evidence.service_c
            ),
        ];
        return Judged::set_aside(Cause::Penetration, because);
    }
    let mut because = vec![contrast, ratio];
    if evidence.is_mirrored_sky() {
        because.push(
            "a strip along the top that fades gradually, outdoors: most likely the cold sky mirrored in the jacket; hint: image again under an overcast sky before it is ruled out"
                .to_owned(),
        );
        return Judged::set_aside(Cause::Reflection, because);
    }
    if let Some(thing) = evidence.slight_thing() {
        because.push(thing);
        return Judged::set_aside(Cause::Penetration, because);
    }
    if evidence.ratio > settings.missing_ratio {
        because.push("more than water in place explains: insulation thin, missing or frozen solid".to_owned());
        return Judged {
            cause: Cause::ThinOrMissingInsulation,
            action: Action::OpenAndInspect,
            because,
        };
    }
    if low > settings.open_lower_bound {
        return Judged {
            cause: Cause::WetInsulation,
            action: Action::OpenAndInspect,
            because,
        };
    }
    if low > 1.0 {
        because.push("slight: within what uneven insulation can do".to_owned());
        return Judged {
            cause: Cause::WetInsulation,
            action: Action::Watch,
            because,
        };
    }
    because.push("the interval of the ratio includes sound insulation".to_owned());
    Judged {
        cause: Cause::Undetermined,
        action: Action::SurveyAgain,
        because,
    }
}

/// A zone on the side of less conduction: not wet insulation.
fn less_conduction(evidence: &Evidence) -> Judged {
    let sunny =
        evidence.setting == Setting::Outdoor && matches!(evidence.conditions.sun, Some(Sun::Overcast | Sun::Direct));
    if sunny {
        let because = vec!["warmer than sound jacket, outdoors by day: warmed by the sun or left from it".to_owned()];
        return Judged::set_aside(Cause::SunWarmed, because);
    }
    let because = vec![
        "departs away from the service temperature, which wet insulation does not do: something mirrored in the jacket, standing close by or in front".to_owned(),
    ];
    Judged::set_aside(Cause::Reflection, because)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::detect::{Departure, Edge, Zone};
    use crate::register::Conditions;

    /// A zone colder than the jacket, `length_m` along the axis and `width_m` round it on average.
    fn zone(length_m: f64, width_m: f64) -> Zone {
        Zone {
            departure: Departure::Colder,
            footing: Footing::OnJacket,
            pixels: 400,
            axial_m: 1.0,
            angle_deg: 0.0,
            across_m: 0.0,
            top_share: None,
            length_m,
            arc_m: 1.3 * width_m,
            area_m2: length_m * width_m,
            surface_c: 15.0,
            extreme_c: 14.0,
            sound_c: 18.0,
            contrast_k: -3.0,
            peak_contrast_k: -3.5,
            contrast_to_noise: 30.0,
            contrast_u_k: 0.1,
            edge: None,
            whole_edge: None,
            cut_share: 0.0,
            centroid_px: [50.0, 50.0],
            box_px: [40.0, 40.0, 20.0, 20.0],
            outline_px: Vec::new(),
        }
    }

    /// The same with an edge so wide, pixels of 5 mm.
    fn edged(width_m: f64, zone: Zone) -> Zone {
        let edge = Some(Edge {
            width_m,
            pixel_m: 0.005,
        });
        Zone { edge, ..zone }
    }

    /// On insulation of 100 mm.
    fn judged(ratio: f64, zone: &Zone, setting: Setting) -> Judged {
        of_zone(&Evidence {
            zone,
            ratio,
            ratio_interval: [0.8 * ratio, 1.2 * ratio],
            wet_side: true,
            conditions: &Conditions {
                air_c: 22.0,
                relative_humidity_pct: None,
                wind_m_s: None,
                reflected_c: None,
                distance_m: None,
                transmittance: None,
                sun: None,
            },
            setting,
            least_contrast_k: 0.4,
            service_c: -20.0,
            thickness_m: 0.1,
            settings: &super::super::Settings::default(),
        })
    }

    #[test]
    fn a_line_that_something_in_front_cuts_out_of_a_patch_is_not_told_by_its_shape() {
        // Pixels of 5 mm.
        let whole = Zone {
            pixels: 2400,
            ..zone(1.2, 0.05)
        };
        let cut = Zone {
            cut_share: 0.5,
            ..whole.clone()
        };
        assert_eq!(judged(3.0, &whole, Setting::Indoor).cause, Cause::Penetration);
        assert_eq!(judged(3.0, &cut, Setting::Indoor).cause, Cause::WetInsulation);
    }

    #[test]
    fn a_line_too_narrow_for_moisture_is_set_aside_and_a_patch_as_long_is_not() {
        for (ratio, length_m, width_m, cause) in [
            (30.0, 1.2, 0.12, Cause::Penetration),
            (3.0, 1.2, 0.12, Cause::WetInsulation),
            (3.0, 1.2, 0.05, Cause::Penetration),
            (3.0, 1.2, 0.45, Cause::WetInsulation),
            (30.0, 1.2, 0.6, Cause::ThinOrMissingInsulation),
        ] {
            let judged = judged(ratio, &zone(length_m, width_m), Setting::Indoor);
            assert_eq!(judged.cause, cause, "{ratio} {length_m} {width_m} {:?}", judged.because);
        }
    }

    #[test]
    fn a_slight_patch_with_an_edge_sharper_than_moisture_shows_is_set_aside() {
        for (ratio, length_m, edge_m, cause) in [
            (1.6, 0.3, 0.03, Cause::Penetration),
            (1.6, 0.3, 0.05, Cause::WetInsulation),
            (1.6, 0.6, 0.03, Cause::WetInsulation),
            (3.0, 0.3, 0.03, Cause::WetInsulation),
        ] {
            let judged = judged(ratio, &edged(edge_m, zone(length_m, 0.25)), Setting::Indoor);
            assert_eq!(judged.cause, cause, "{ratio} {length_m} {edge_m} {:?}", judged.because);
        }
    }

    #[test]
    fn a_small_slight_patch_is_set_aside_by_the_edge_that_all_of_its_border_shows() {
        for (ratio, length_m, edge_m, cause) in [
            (1.6, 0.3, 0.03, Cause::Penetration),
            (1.6, 0.3, 0.05, Cause::WetInsulation),
            (1.6, 0.45, 0.03, Cause::WetInsulation),
            (3.0, 0.3, 0.03, Cause::WetInsulation),
        ] {
            let soft = edged(0.08, zone(length_m, 0.25));
            // Of larger zones the whole edge is not measured.
            assert!(super::super::Settings::default().small_side_m <= crate::detect::WIDEST_TOLD_BY_EDGE_M);
            let whole_edge = Some(Edge {
                width_m: edge_m,
                pixel_m: 0.005,
            });
            let judged = judged(ratio, &Zone { whole_edge, ..soft }, Setting::Indoor);
            assert_eq!(judged.cause, cause, "{ratio} {length_m} {edge_m} {:?}", judged.because);
        }
    }

    #[test]
    fn what_large_pixels_cannot_tell_is_not_held_against_a_zone() {
        // A zone of a few pixels of 25 mm, and one as large of many.
        let coarse = |length_m: f64| Zone {
            pixels: (length_m * length_m / 0.025_f64.powi(2)) as usize,
            ..zone(length_m, length_m)
        };
        for (length_m, pixels, cause) in [
            (0.18, 400, Cause::Penetration),
            (0.18, coarse(0.18).pixels, Cause::WetInsulation),
            (0.16, coarse(0.16).pixels, Cause::Penetration),
        ] {
            let zone = Zone {
                pixels,
                arc_m: length_m,
                ..zone(length_m, length_m)
            };
            let judged = judged(1.6, &zone, Setting::Indoor);
            assert_eq!(judged.cause, cause, "{length_m} {pixels} {:?}", judged.because);
        }
        // An edge of 30 mm about a zone 0.14 m wide.
        for (pixel_m, cause) in [(0.005, Cause::Penetration), (0.025, Cause::WetInsulation)] {
            let whole_edge = Some(Edge { width_m: 0.03, pixel_m });
            let sharp = Zone {
                whole_edge,
                pixels: (0.3 * 0.14 / (pixel_m * pixel_m)) as usize,
                ..zone(0.3, 0.14)
            };
            let judged = judged(1.6, &sharp, Setting::Indoor);
            assert_eq!(judged.cause, cause, "{pixel_m} {:?}", judged.because);
        }
    }

    #[test]
    fn a_slight_line_is_set_aside_wider_ones_only_where_they_run_aslant() {
        let aslant = Zone {
            arc_m: 1.0,
            ..zone(2.0, 0.2)
        };
        for (ratio, zone, cause) in [
            (1.5, zone(2.0, 0.1), Cause::Penetration),
            (3.0, zone(2.0, 0.1), Cause::WetInsulation),
            (1.5, zone(2.0, 0.2), Cause::WetInsulation),
            (1.5, aslant, Cause::Penetration),
        ] {
            let judged = judged(ratio, &zone, Setting::Indoor);
            assert_eq!(judged.cause, cause, "{ratio} {:?}", judged.because);
        }
    }

    #[test]
    fn a_strip_along_the_top_that_fades_gradually_is_the_sky_outdoors_only() {
        let strip = |top_share, edge_m| {
            edged(
                edge_m,
                Zone {
                    top_share: Some(top_share),
                    ..zone(2.0, 0.3)
                },
            )
        };
        for (setting, zone, cause) in [
            (Setting::Outdoor, strip(0.7, 0.25), Cause::Reflection),
            (Setting::Indoor, strip(0.7, 0.25), Cause::WetInsulation),
            (Setting::Outdoor, strip(-0.2, 0.25), Cause::WetInsulation),
            (Setting::Outdoor, strip(0.7, 0.1), Cause::WetInsulation),
        ] {
            let judged = judged(5.0, &zone, setting);
            assert_eq!(judged.cause, cause, "{setting:?} {:?}", judged.because);
        }
    }
}
