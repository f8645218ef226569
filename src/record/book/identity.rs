//! What an asset is, in words.

use super::{Entry, Material, plain};
use crate::register::{Asset, Coating, Cycling, Service, Setting, Shape, ShellMaterial, Source};
use crate::units::Units;

/// What an asset is, as the register states it.
pub(super) fn identification(material: &Material, asset: &Asset) -> Vec<Entry> {
    let units = material.units;
    let told = |source: Source| {
        if source == Source::Assumed {
            " (taken from the jacket)"
        } else {
            ""
        }
    };
    let mut entries = vec![
        Entry::new("Tag", &asset.tag),
        Entry::new("Shape and size", shape(units, &asset.shape)),
        Entry::new("Service", service(units, &asset.service)),
        Entry::new(
            "Insulation",
            format!(
                "{}, {}",
                plain(asset.insulation.key()),
                units.thickness(asset.insulation_thickness_m)
            ),
        ),
        Entry::new(
            "Jacket",
            format!(
                "{}, emissivity {:.2}{}",
                plain(asset.jacket.key()),
                asset.emissivity.value,
                told(asset.emissivity.source)
            ),
        ),
        Entry::new(
            "Setting",
            match asset.setting {
                Setting::Indoor => "indoors",
                Setting::Outdoor => "outdoors",
            },
        ),
        Entry::new(
            "Metal over the year",
            format!(
                "{} to {}",
                units.temperature(asset.coldest_metal_c),
                units.temperature(asset.warmest_metal_c)
            ),
        ),
    ];
    entries.extend(optional(asset));
    entries
}

fn shape(units: Units, shape: &Shape) -> String {
    match *shape {
        Shape::HorizontalCylinder { diameter_m, length_m } => format!(
            "horizontal cylinder, {} over the jacket, {} between tangent lines",
            units.length(diameter_m),
            units.length(length_m)
        ),
        Shape::VerticalCylinder { diameter_m, length_m } => format!(
            "vertical cylinder, {} over the jacket, {} between tangent lines",
            units.length(diameter_m),
            units.length(length_m)
        ),
        Shape::Flat { width_m, height_m } => {
            format!("wall, {} wide, {} high", units.length(width_m), units.length(height_m))
        }
    }
}

fn service(units: Units, service: &Service) -> String {
    match *service {
        Service::Stated { temperature_c } => units.temperature(temperature_c),
        Service::SaturatedAmmonia {
            absolute_kpa,
            temperature_c,
        } => format!(
            "{}, saturated ammonia at {}",
            units.temperature(temperature_c),
            units.sentence(&format!("{absolute_kpa:.1} kPa absolute"))
        ),
    }
}

fn optional(asset: &Asset) -> Vec<Entry> {
    let shell = asset.shell_material.map(|shell| match shell {
        ShellMaterial::CarbonSteel => "carbon steel",
        ShellMaterial::StainlessSteel => "stainless steel",
    });
    let coating = asset.coating.map(|coating| match coating {
        Coating::None => "none",
        Coating::Unknown => "unknown",
        Coating::Sound => "sound when last seen",
        Coating::Failed => "failed when last seen",
    });
    let cycling = asset.cycling.map(|cycling| match cycling {
        Cycling::Cycles => "yes",
        Cycling::Steady => "no",
    });
    let or = |text: Option<String>| text.unwrap_or_else(|| "not stated".to_owned());
    vec![
        Entry::new("Insulated in", or(asset.insulated_year.map(|year| year.to_string()))),
        Entry::new("Shell", or(shell.map(ToOwned::to_owned))),
        Entry::new("Coating under insulation", or(coating.map(ToOwned::to_owned))),
        Entry::new("Cycles in service", or(cycling.map(ToOwned::to_owned))),
        Entry::new(
            "Consequence of a leak",
            or(asset.consequence.map(|c| format!("{c} of 5"))),
        ),
    ]
}
