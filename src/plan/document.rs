//! `plan.json`, schema `coldjacket.plan/1`: SI units. Where conditions are a range, an asset's values are those at worst.

use serde::Serialize;

use super::outlook::{Outlook, WindEffect};
use super::{AssetPlan, Material, Plan, Settings, Verdict, rules};
use crate::record::findings::CAUTIONS;

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    made_by: MadeBy<'a>,
    survey: Head<'a>,
    cautions: [&'static str; 4],
    warnings: &'a [String],
    verdict_rules: Vec<String>,
    assets: Vec<Asset<'a>>,
}

#[derive(Serialize)]
struct MadeBy<'a> {
    program: &'static str,
    version: &'static str,
    settings: Thresholds<'a>,
}

#[derive(Serialize)]
struct Thresholds<'a> {
    plan: &'a Settings,
    usability: &'a crate::assess::usability::Settings,
    detect: &'a crate::detect::Settings,
}

#[derive(Serialize)]
struct Head<'a> {
    title: &'a str,
    plant: &'a str,
    date: &'a str,
    inspector: Option<&'a str>,
}

#[derive(Serialize)]
struct Asset<'a> {
    asset: &'a str,
    area: Option<&'a str>,
    setting: &'static str,
    service_temperature_c: f64,
    verdict: Verdict,
    reasons: &'a [String],
    would_help: &'a [String],
    assumed: &'a [String],
    conditions_from: &'a str,
    conditions_reckoned: usize,
    #[serde(flatten)]
    at_worst: At,
    wind_effect: &'a [WindEffect],
    worst: Range,
    best: Range,
}

/// A case's verdict and values once more, by themselves.
#[derive(Serialize)]
struct Range {
    verdict: Verdict,
    conditions: Shown,
    #[serde(flatten)]
    at: At,
}

#[derive(Serialize)]
struct At {
    expected_sound_surface_c: f64,
    expected_sound_half_width_k: f64,
    contrast_2x_k: f64,
    contrast_4x_k: f64,
    least_contrast_k: f64,
    dew_point_c: Option<f64>,
    sound_jacket_sweats: Option<bool>,
    smallest_zone_mm: f64,
    picture_width_m: f64,
    pictures_along: usize,
}

#[derive(Serialize)]
struct Shown {
    air_temperature_c: f64,
    relative_humidity_pct: Option<f64>,
    wind_m_s: Option<f64>,
    reflected_temperature_c: Option<f64>,
    sun: Option<&'static str>,
    distance_m: f64,
    field_of_view_deg: f64,
    width_px: u32,
    height_px: u32,
}

impl At {
    fn of(outlook: &Outlook) -> Self {
        Self {
            expected_sound_surface_c: outlook.sound_c,
            expected_sound_half_width_k: outlook.sound_half_width_k,
            contrast_2x_k: outlook.contrasts_k[0],
            contrast_4x_k: outlook.contrasts_k[1],
            least_contrast_k: outlook.least_contrast_k,
            dew_point_c: outlook.dew_point_c,
            sound_jacket_sweats: outlook.sweats,
            smallest_zone_mm: 1000.0 * outlook.smallest_zone_m,
            picture_width_m: outlook.covers_m,
            pictures_along: outlook.pictures,
        }
    }
}

impl Range {
    fn of(outlook: &Outlook) -> Self {
        let (case, conditions) = (&outlook.case, &outlook.case.conditions);
        Self {
            verdict: outlook.verdict(),
            conditions: Shown {
                air_temperature_c: conditions.air_c,
                relative_humidity_pct: conditions.relative_humidity_pct,
                wind_m_s: conditions.wind_m_s,
                reflected_temperature_c: conditions.reflected_c,
                sun: conditions.sun.map(crate::register::Sun::key),
                distance_m: case.distance_m,
                field_of_view_deg: case.optics.field_of_view_deg,
                width_px: case.optics.pixels[0],
                height_px: case.optics.pixels[1],
            },
            at: At::of(outlook),
        }
    }
}

/// The document's bytes, ended by a line end.
///
/// # Errors
/// None that is known: the document holds texts and numbers.
pub fn json(material: &Material, plan: &Plan) -> Result<Vec<u8>, serde_json::Error> {
    let before = material.before;
    let document = Document {
        schema: "coldjacket.plan/1",
        made_by: MadeBy {
            program: env!("CARGO_PKG_NAME"),
            version: env!("CARGO_PKG_VERSION"),
            settings: Thresholds {
                plan: material.settings,
                usability: &material.survey.usability,
                detect: &material.survey.detect,
            },
        },
        survey: Head {
            title: &before.survey.title,
            plant: &before.survey.plant,
            date: &before.survey.date,
            inspector: before.survey.inspector.as_deref(),
        },
        cautions: CAUTIONS,
        warnings: &before.warnings,
        verdict_rules: rules(material),
        assets: plan.assets.iter().map(|planned| asset(material, planned)).collect(),
    };
    let mut json = serde_json::to_vec_pretty(&document)?;
    json.push(b'\n');
    Ok(json)
}

fn asset<'a>(material: &Material<'a>, planned: &'a AssetPlan) -> Asset<'a> {
    let asset = &material.before.assets[planned.asset];
    Asset {
        asset: &asset.tag,
        area: asset.area.as_deref(),
        setting: asset.setting.key(),
        service_temperature_c: asset.service.temperature_c(),
        verdict: planned.verdict,
        reasons: &planned.reasons,
        would_help: &planned.help,
        assumed: &planned.assumed,
        conditions_from: &planned.footing,
        conditions_reckoned: planned.cases,
        at_worst: At::of(&planned.worst),
        wind_effect: &planned.wind,
        worst: Range::of(&planned.worst),
        best: Range::of(&planned.best),
    }
}
