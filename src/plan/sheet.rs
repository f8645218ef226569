//! The plan in words: the table on the terminal, and the field sheet that is carried on the walk.

use std::collections::BTreeMap;

use minijinja::value::Serde;
use minijinja::{Value, context};
use serde::Serialize;

use super::cases::Differing;
use super::{AssetPlan, Material, Plan, Verdict, rules};
use crate::record::findings::CAUTIONS;
use crate::record::pages;
use crate::register::{Asset, Shape};
use crate::units::Units;

const PAGE: &str = include_str!("templates/field-sheet.html");

/// One asset in words.
#[derive(Debug, Clone, Serialize)]
pub struct Line {
    /// Its tag.
    pub asset: String,
    /// What it is.
    pub what: String,
    /// The verdict's word.
    pub verdict: &'static str,
    /// Expected sound jacket.
    pub sound: String,
    /// Contrast at twice the conductivity.
    pub twice: String,
    /// Contrast at four times.
    pub four_times: String,
    /// Dew point.
    pub dew_point: String,
    /// Whether the sound jacket sweats.
    pub sweats: &'static str,
    /// Smallest zone.
    pub smallest_zone: String,
    /// Distance.
    pub distance: String,
    /// Pictures along the asset from each side.
    pub pictures: usize,
    /// Contrast at twice the conductivity against wind.
    pub wind: String,
    /// The conditions reckoned with.
    pub conditions: String,
    /// Where they come from.
    pub conditions_from: String,
    /// Why.
    pub reasons: Vec<String>,
    /// What would help.
    pub help: Vec<String>,
    /// What was assumed.
    pub assumed: Vec<String>,
}

/// The lines of an area.
#[derive(Debug, Clone, Serialize)]
pub struct Area {
    /// Its name; for assets that name none, where they stand.
    pub name: String,
    /// Its assets in the order of the register.
    pub lines: Vec<Line>,
}

/// The plan by area, in the order in which the register first names each.
#[must_use]
pub fn areas(material: &Material, plan: &Plan, units: Units) -> Vec<Area> {
    let mut places: BTreeMap<String, usize> = BTreeMap::new();
    let mut areas: Vec<Area> = Vec::new();
    for planned in &plan.assets {
        let asset = &material.before.assets[planned.asset];
        let unnamed = || {
            format!(
                "{}, area not stated",
                if asset.setting.key() == "indoor" {
                    "indoors"
                } else {
                    "outdoors"
                }
            )
        };
        let name = asset.area.clone().unwrap_or_else(unnamed);
        let place = *places.entry(name.clone()).or_insert_with(|| {
            areas.push(Area {
                name,
                lines: Vec::new(),
            });
            areas.len() - 1
        });
        if let Some(area) = areas.get_mut(place) {
            area.lines.push(line(asset, planned, units));
        }
    }
    areas
}

fn line(asset: &Asset, planned: &AssetPlan, units: Units) -> Line {
    let (worst, best) = (&planned.worst, &planned.best);
    let turned = |texts: &[String]| texts.iter().map(|text| units.sentence(text)).collect();
    let temperature = |c: f64| units.temperature(c);
    let difference = |k: f64| units.difference(k);
    let distances = (worst.case.distance_m, best.case.distance_m);
    Line {
        asset: asset.tag.clone(),
        what: what(asset, units),
        verdict: planned.verdict.key(),
        sound: range((worst.sound_c, best.sound_c), temperature),
        twice: range((worst.contrasts_k[0], best.contrasts_k[0]), difference),
        four_times: range((worst.contrasts_k[1], best.contrasts_k[1]), difference),
        dew_point: match (worst.dew_point_c, best.dew_point_c) {
            (Some(worst_c), Some(best_c)) => range((worst_c, best_c), temperature),
            (Some(one_c), None) | (None, Some(one_c)) => temperature(one_c),
            (None, None) => "unknown".to_owned(),
        },
        sweats: match (worst.sweats, best.sweats) {
            (None, None) => "unknown",
            (Some(false) | None, Some(false) | None) => "no",
            (Some(true), Some(true)) => "yes",
            _ => "at times",
        },
        smallest_zone: range((worst.smallest_zone_m, best.smallest_zone_m), |m| units.thickness(m)),
        distance: range(distances, |m| units.length(m)),
        pictures: worst.pictures.max(best.pictures),
        wind: wind(planned, units),
        conditions: units.sentence(&conditions(planned)),
        conditions_from: units.sentence(&planned.footing),
        reasons: turned(&planned.reasons),
        help: turned(&planned.help),
        assumed: turned(&planned.assumed),
    }
}

/// One value, or two as a range, the lower first.
fn range((a, b): (f64, f64), told: impl Fn(f64) -> String) -> String {
    if a.is_nan() && b.is_nan() {
        return "no answer".to_owned();
    }
    let (low, high) = (told(a.min(b)), told(a.max(b)));
    if low == high {
        return low;
    }
    // The unit once: "18.1 to 19.0 °C".
    let number = low.split(' ').next().unwrap_or(&low);
    format!("{number} to {high}")
}

/// The contrast at twice the conductivity against wind: "0.0, 2.0, 6.7 m/s: -1.4, -1.0, -0.6 K".
fn wind(planned: &AssetPlan, units: Units) -> String {
    let told = |each: &[String]| {
        // The unit once, after the last.
        let numbers = each.iter().enumerate().map(|(at, text)| {
            let is_last = at + 1 == each.len();
            if is_last {
                text.as_str()
            } else {
                text.split(' ').next().unwrap_or(text)
            }
        });
        numbers.collect::<Vec<_>>().join(", ")
    };
    let winds: Vec<String> = planned.wind.iter().map(|effect| units.speed(effect.wind_m_s)).collect();
    let contrasts: Vec<String> = planned
        .wind
        .iter()
        .map(|effect| units.difference(effect.contrast_2x_k))
        .collect();
    format!("{}: {}", told(&winds), told(&contrasts))
}

fn conditions(planned: &AssetPlan) -> String {
    let worst = planned.worst.case.words(&Differing::ALL);
    match planned.cases {
        1 => worst,
        many => format!("{many} conditions, at worst {worst}"),
    }
}

fn what(asset: &Asset, units: Units) -> String {
    let shape = match asset.shape {
        Shape::HorizontalCylinder { diameter_m, length_m } => {
            format!("level, ⌀ {} × {}", units.length(diameter_m), units.length(length_m))
        }
        Shape::VerticalCylinder { diameter_m, length_m } => {
            format!("upright, ⌀ {} × {}", units.length(diameter_m), units.length(length_m))
        }
        Shape::Flat { width_m, height_m } => {
            format!("wall, {} × {}", units.length(width_m), units.length(height_m))
        }
    };
    format!(
        "{shape}; {} of {}, {}; {}",
        units.thickness(asset.insulation_thickness_m),
        asset.insulation.key(),
        asset.jacket.key(),
        units.temperature(asset.service.temperature_c())
    )
}

/// `field-sheet.html`: the plan by area with room for what is measured, to be printed.
///
/// # Errors
/// A mistake in the template; none that a register could cause.
pub fn html(material: &Material, plan: &Plan, units: Units) -> Result<String, minijinja::Error> {
    let mut environment = pages::environment()?;
    environment.add_template("field-sheet.html", PAGE)?;
    let before = material.before;
    let turned = |texts: Vec<String>| -> Vec<String> { texts.iter().map(|text| units.sentence(text)).collect() };
    let areas = areas(material, plan, units);
    environment.get_template("field-sheet.html")?.render(context! {
        title => &before.survey.title,
        plant => &before.survey.plant,
        date => &before.survey.date,
        inspector => &before.survey.inspector,
        made_by => concat!("coldjacket ", env!("CARGO_PKG_VERSION")),
        paper => match units { Units::Si => "A4", Units::Us => "letter" },
        assumed => assumed(&areas),
        areas => Value::from(Serde(&areas)),
        rules => turned(rules(material)),
        cautions => CAUTIONS,
        counts => counts(plan),
        temperature_sign => units.temperature_sign(),
        length_sign => units.length_parts(1.0).1,
        speed_sign => match units { Units::Si => "m/s", Units::Us => "mph" },
    })
}

/// How many of each verdict, in words.
#[must_use]
pub fn counts(plan: &Plan) -> String {
    [Verdict::Go, Verdict::Marginal, Verdict::NoGo]
        .map(|verdict| format!("{} {}", plan.count(verdict), verdict.key()))
        .join(", ")
}

/// The table and the reasons, as the terminal shows them.
#[must_use]
pub fn text(material: &Material, plan: &Plan, units: Units) -> String {
    let heading = [
        "asset",
        "verdict",
        "sound jacket",
        "at 2x",
        "at 4x",
        "dew point",
        "sweats",
        "smallest zone",
    ];
    let mut rows = vec![heading.map(str::to_owned).to_vec()];
    let areas = areas(material, plan, units);
    for line in areas.iter().flat_map(|area| &area.lines) {
        rows.push(vec![
            line.asset.clone(),
            line.verdict.to_owned(),
            line.sound.clone(),
            line.twice.clone(),
            line.four_times.clone(),
            line.dew_point.clone(),
            line.sweats.to_owned(),
            line.smallest_zone.clone(),
        ]);
    }
    let mut text = table(&rows);
    text.push('\n');
    for area in &areas {
        text.push_str(&format!("{}\n", area.name));
        for line in &area.lines {
            text.push_str(&format!("  {} {}: {}\n", line.asset, line.verdict, because(line)));
            for help in &line.help {
                text.push_str(&format!("    would help: {help}\n"));
            }
            text.push_str(&format!(
                "    with {}, from {}\n",
                line.conditions, line.conditions_from
            ));
        }
    }
    text.push('\n');
    for (of, what) in assumed(&areas) {
        text.push_str(&format!("assumed of {of}: {what}\n"));
    }
    for rule in rules(material) {
        text.push_str(&units.sentence(&rule));
        text.push('\n');
    }
    text
}

/// What was assumed, each once, after the assets that it concerns.
fn assumed(areas: &[Area]) -> Vec<(String, String)> {
    let mut concerns: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    let lines = || areas.iter().flat_map(|area| &area.lines);
    for line in lines() {
        for what in &line.assumed {
            concerns.entry(what).or_default().push(&line.asset);
        }
    }
    let all = lines().count();
    let told = |(what, of): (&str, Vec<&str>)| {
        let of = if of.len() == all {
            "all".to_owned()
        } else {
            of.join(", ")
        };
        (of, what.to_owned())
    };
    concerns.into_iter().map(told).collect()
}

fn because(line: &Line) -> String {
    if line.reasons.is_empty() {
        "nothing stands against it".to_owned()
    } else {
        line.reasons.join("; ")
    }
}

/// Columns set one beside the other, two blanks between them.
fn table(rows: &[Vec<String>]) -> String {
    let columns = rows.first().map_or(0, Vec::len);
    let width = |column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column));
        cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..columns).map(width).collect();
    let mut text = String::new();
    for row in rows {
        let cells = row.iter().zip(&widths).map(|(cell, width)| format!("{cell:<width$}"));
        text.push_str(cells.collect::<Vec<_>>().join("  ").trim_end());
        text.push('\n');
    }
    text
}
