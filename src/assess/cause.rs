//! The likely cause of a zone and what to do, with the reasons in words.

mod evidence;

pub use evidence::Evidence;

use crate::detect::Footing;
use crate::register::{Setting, Sun};

/// Likely cause of a departure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
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
    let not_jacket = match evidence.zone.footing {
        Footing::OnJacket | Footing::WhereSupportsStand => None,
        Footing::CrossesOutline => {
            Some("it goes on beyond the asset's outline: a nozzle, leg, support or something in front, not jacket")
        }
        Footing::OverSupport => Some(
            "faint and low, right over a support or level with one or with another like it: jacket over a support, not moisture",
        ),
    };
    if let Some(why) = not_jacket {
        return Judged::set_aside(Cause::Penetration, vec![why.to_owned()]);
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
    let (side_m, width_m) = (zone.side_m(), zone.width_m());
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
        .filter(|_| evidence.is_line(settings.front_aspect) && !evidence.is_band_of_moisture());
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
    let spot = evidence.ratio > settings.bare_metal_ratio && side_m < settings.bare_metal_side_m
        || evidence.ratio > settings.penetration_ratio && side_m < settings.penetration_side_m
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
    let thing = evidence
        .support()
        .or_else(|| evidence.mild_thing())
        .or_else(|| evidence.slight_thing());
    if let Some(thing) = thing {
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
mod tests;
