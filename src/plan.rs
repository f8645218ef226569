//! Before the walk: what each asset would show under the conditions that are expected, and whether it is worth going.
//!
//! What comes in: the register, the conditions that the sheets or the command line state, and the thresholds that the
//! survey will judge frames by. What is guaranteed out: a [`Plan`] with one entry an asset; expected sound jacket, dew point,
//! contrasts and smallest zone come from the functions that the survey itself uses. What is not handled: what a picture
//! turns out like (blur, things in front, an uneven jacket); the survey says that of each frame.

pub mod cases;
pub mod document;
mod help;
pub mod outlook;
pub mod sheet;

use crate::assess::usability::Usability;
use crate::register::Setting;
use crate::register::before::Before;
use cases::{Asked, Case};
use outlook::{Outlook, WindEffect};

/// Conductivity ratios whose contrast is told: insulation that is wet, and soaked.
pub const RATIOS: [f64; 2] = [2.0, 4.0];

/// What is assumed where neither sheets nor command line say it.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Settings {
    /// Air temperature indoors in °C where nobody states one, low and high (engineering judgement, no source).
    pub assumed_air_indoors_c: [f64; 2],
    /// The same outdoors.
    pub assumed_air_outdoors_c: [f64; 2],
    /// Distance in m (common practice, no source).
    pub assumed_distance_m: f64,
    /// Field of view across the picture in degrees (common practice, no source).
    pub assumed_field_of_view_deg: f64,
    /// Pixels across and up the picture (common practice, no source).
    pub assumed_pixels: [u32; 2],
    /// Noise of one reading in K (design range of uncooled cameras 0.03 to 0.1 K, no source).
    pub assumed_noise_k: f64,
    /// Share of a picture that the next one shows again (common practice, no source).
    pub overlap_share: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            assumed_air_indoors_c: [10.0, 25.0],
            assumed_air_outdoors_c: [5.0, 25.0],
            assumed_distance_m: 3.0,
            assumed_field_of_view_deg: 25.0,
            assumed_pixels: [320, 240],
            assumed_noise_k: 0.05,
            overlap_share: 0.2,
        }
    }
}

/// All that a plan is made from.
#[derive(Debug, Clone, Copy)]
pub struct Material<'a> {
    /// The sheets.
    pub before: &'a Before,
    /// What the command line states instead of them.
    pub asked: &'a Asked,
    /// What is assumed.
    pub settings: &'a Settings,
    /// What the survey will judge frames by.
    pub survey: &'a crate::settings::Settings,
}

/// Whether it is worth going.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Under every condition expected the survey can answer in full.
    Go,
    /// It can answer in part, or under some of the conditions only.
    Marginal,
    /// Under no condition expected can it answer.
    NoGo,
}

impl Verdict {
    /// The word.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Go => "go",
            Self::Marginal => "marginal",
            Self::NoGo => "no-go",
        }
    }

    /// The verdict under one condition.
    #[must_use]
    pub fn of(usability: Usability) -> Self {
        match usability {
            Usability::Good => Self::Go,
            Usability::Limited => Self::Marginal,
            Usability::Unusable => Self::NoGo,
        }
    }

    /// The verdict over several conditions: what they agree in, else marginal.
    fn over(each: &[Self]) -> Self {
        match each {
            [first, rest @ ..] if rest.iter().all(|other| other == first) => *first,
            _ => Self::Marginal,
        }
    }
}

/// The plan of one asset.
#[derive(Debug, Clone)]
pub struct AssetPlan {
    /// Index into [`Before::assets`].
    pub asset: usize,
    /// Whether it is worth going.
    pub verdict: Verdict,
    /// Where the conditions come from, in words.
    pub footing: String,
    /// How many conditions were reckoned through.
    pub cases: usize,
    /// Under the worst of them.
    pub worst: Outlook,
    /// Under the best of them.
    pub best: Outlook,
    /// What speaks against it, or for care.
    pub reasons: Vec<String>,
    /// What would help.
    pub help: Vec<String>,
    /// What was assumed.
    pub assumed: Vec<String>,
    /// Contrast against wind, the other conditions as at worst.
    pub wind: Vec<WindEffect>,
}

/// A plan.
#[derive(Debug, Clone)]
pub struct Plan {
    /// One an asset, in the order of the register.
    pub assets: Vec<AssetPlan>,
}

impl Plan {
    /// How many assets have this verdict.
    #[must_use]
    pub fn count(&self, verdict: Verdict) -> usize {
        self.assets.iter().filter(|plan| plan.verdict == verdict).count()
    }
}

/// Plans every asset of the register that is asked for.
#[must_use]
pub fn make(material: &Material) -> Plan {
    let wanted = |setting: Setting| material.asked.setting.is_none_or(|asked| asked == setting);
    let assets = (0..material.before.assets.len()).filter(|index| wanted(material.before.assets[*index].setting));
    Plan {
        assets: assets.filter_map(|index| of_asset(material, index)).collect(),
    }
}

fn of_asset(material: &Material, index: usize) -> Option<AssetPlan> {
    let (cases, footing) = cases::of_asset(material, index);
    let mut outlooks: Vec<Outlook> = cases
        .into_iter()
        .map(|case| outlook::of(material, index, case))
        .collect();
    // Stable, so that of cases equally bad the first of the sheet is told.
    outlooks.sort_by(|a, b| a.badness().total_cmp(&b.badness()));
    let verdicts: Vec<Verdict> = outlooks.iter().map(Outlook::verdict).collect();
    let (best, worst) = (outlooks.first()?.clone(), outlooks.last()?.clone());
    Some(AssetPlan {
        asset: index,
        verdict: Verdict::over(&verdicts),
        footing,
        cases: outlooks.len(),
        reasons: reasons(&worst, &best),
        help: help::of(material, index, &worst),
        assumed: assumed(material, index, &worst.case),
        wind: outlook::against_wind(material, index, &worst.case),
        worst,
        best,
    })
}

/// Reasons at worst; where conditions vary, those at best too.
fn reasons(worst: &Outlook, best: &Outlook) -> Vec<String> {
    let differing = worst.case.differing(&best.case);
    if differing.is_empty() || worst.reasons.is_empty() && best.reasons.is_empty() {
        return worst.reasons.clone();
    }
    let at = |which: &str, outlook: &Outlook| {
        let verdict = outlook.verdict().key();
        let why = if outlook.reasons.is_empty() {
            String::new()
        } else {
            format!(": {}", outlook.reasons.join("; "))
        };
        format!("at {which}, {}, {verdict}{why}", outlook.case.words(&differing))
    };
    vec![at("worst", worst), at("best", best)]
}

fn assumed(material: &Material, index: usize, case: &Case) -> Vec<String> {
    let before = material.before;
    let mut list = case.assumed.clone();
    list.extend(crate::inspect::assumed_of(
        &before.site,
        &case.conditions,
        &before.assets[index],
    ));
    list
}

/// The rules by which the verdict is given, each a sentence with the thresholds in force.
#[must_use]
pub fn rules(material: &Material) -> Vec<String> {
    let (usability, detect) = (&material.survey.usability, &material.survey.detect);
    vec![
        format!(
            "no-go: emissivity below {}; air and service less than {} K apart; wind above {} m/s; direct sun; a smallest zone above {} m; or four times the conductivity standing out by less than would be called.",
            crate::heat::jacket::BRIGHT_BELOW_EMISSIVITY,
            usability.least_difference_k,
            usability.most_wind_m_s,
            usability.coarsest_zone_m
        ),
        format!(
            "marginal: less than {} K apart; wind above {} m/s; a smallest zone above {} m; more than {} m away without a stated transmittance; the sound jacket below the dew point; or twice the conductivity standing out by less than would be called.",
            usability.full_difference_k, usability.calm_wind_m_s, usability.fine_zone_m, usability.far_m
        ),
        format!(
            "A contrast is called from {} K, or {} times what the camera's noise leaves after 3 × 3 pixels. The smallest zone is 3 pixels across. These are the thresholds of the survey itself.",
            detect.least_contrast_k, detect.least_contrast_to_spread
        ),
        "Where conditions are a range, the verdict is what all of them agree in, else marginal; the reasons tell the worst and the best.".to_owned(),
    ]
}
