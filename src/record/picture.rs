//! From a frame's report to its annotated picture.

use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::path::PathBuf;

use super::annotate::{self, Annotation, AxisTick, Mark, MarkKind, Quantity, Strip, ZoneLine};
use super::findings::CAUTIONS;
use super::palette::Palette;
use crate::assess::Extent;
use crate::assess::usability::Usability;
use crate::inspect::{FrameReport, Picture};
use crate::rank::Ranked;
use crate::register::{Register, Shape};
use crate::units::Units;

/// How pictures are drawn.
#[derive(Debug, Clone, Copy)]
pub struct Look {
    /// Units on the picture.
    pub units: Units,
    /// Colour map.
    pub palette: Palette,
}

/// All that a picture shows.
pub struct Page<'a> {
    /// The register.
    pub register: &'a Register,
    /// The frame's report.
    pub report: &'a FrameReport,
    /// Zones of the asset, named.
    pub zones: &'a [Ranked],
    /// The frame's temperatures and what was not seen.
    pub picture: &'a Picture,
}

/// Path of each frame's picture within the result folder: `annotated/NAME.png`, the name that of the image without its
/// ending; where two rows would share a name, the asset's tag is added, then the row.
#[derive(Debug)]
pub struct Names<'a> {
    register: &'a Register,
    /// Those that cannot be told by the image alone.
    longer: HashMap<usize, String>,
}

impl<'a> Names<'a> {
    /// The names of all frames.
    #[must_use]
    pub fn new(register: &'a Register) -> Self {
        let all = 0..register.frames.len();
        let mut longer = HashMap::new();
        for index in repeated(all.map(|index| (index, stem(register, index)))) {
            let row = &register.frames[index];
            let tag = safe(&register.assets[row.asset].tag);
            longer.insert(index, format!("{}_{tag}", stem(register, index)));
        }
        let named = |index: usize| longer.get(&index).cloned().unwrap_or_else(|| stem(register, index));
        let again = repeated((0..register.frames.len()).map(|index| (index, named(index))));
        for index in again {
            let name = longer.entry(index).or_insert_with(|| stem(register, index));
            *name = format!("{name}_row{}", register.frames[index].row);
        }
        Self { register, longer }
    }

    /// The path of a frame's picture.
    #[must_use]
    pub fn of(&self, frame: usize) -> PathBuf {
        let longer = self.longer.get(&frame).cloned();
        let name = longer.unwrap_or_else(|| stem(self.register, frame));
        PathBuf::from("annotated").join(format!("{name}.png"))
    }
}

fn stem(register: &Register, index: usize) -> String {
    let file = &register.frames[index].file;
    let name = file.rsplit('/').next().unwrap_or(file);
    safe(name.rsplit_once('.').map_or(name, |(stem, _)| stem))
}

/// The text as it may stand in a file's name everywhere.
fn safe(text: &str) -> String {
    let kept = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.');
    text.chars().map(|c| if kept(c) { c } else { '_' }).collect()
}

/// Frames whose name another has too, whatever the case.
fn repeated(names: impl Iterator<Item = (usize, String)>) -> Vec<usize> {
    let mut first: HashMap<String, usize> = HashMap::new();
    let mut repeated = Vec::new();
    for (index, name) in names {
        match first.entry(name.to_lowercase()) {
            Entry::Vacant(place) => drop(place.insert(index)),
            Entry::Occupied(place) => repeated.extend([*place.get(), index]),
        }
    }
    repeated.sort_unstable();
    repeated.dedup();
    repeated
}

/// The picture as PNG bytes.
///
/// # Errors
/// Why it could not be drawn.
pub fn draw(page: &Page, look: &Look) -> Result<Vec<u8>, String> {
    let report = page.report;
    let marks = page.marks();
    let annotation = Annotation {
        map_c: &page.picture.map_c,
        quantity: Quantity::Apparent,
        range_c: annotate::fitting_range(&page.picture.map_c, &report.outline_px),
        palette: look.palette,
        units: match look.units {
            Units::Si => annotate::Units::Si,
            Units::Us => annotate::Units::Us,
        },
        sound_c: page.picture.sound_apparent_c,
        dew_point_c: report.dew_point_c,
        outline_px: &report.outline_px,
        unseen: Some(&page.picture.unseen),
        axis: page.axis(look.units),
        bar_px: page.picture.bar_px,
        strip: page.strip(look.units, &marks),
        marks: marks.into_iter().map(|(mark, _)| mark).collect(),
    };
    annotate::draw(&annotation).map_err(|error| error.to_string())
}

impl Page<'_> {
    /// Zones of this frame with the list's numbers; what is set aside gets letters.
    fn marks(&self) -> Vec<(Mark, &Ranked)> {
        let mut letters = (b'a'..=b'z').map(|letter| char::from(letter).to_string()).cycle();
        let mut marks = Vec::new();
        for zone in self.zones {
            let aside = zone.finding.cause.is_set_aside();
            let label = if aside {
                letters.next().unwrap_or_default()
            } else {
                number(zone)
            };
            let kind = if aside { MarkKind::SetAside } else { MarkKind::Finding };
            for sighting in zone.sightings.iter().filter(|s| s.frame == self.report.frame) {
                // Extent general is the whole jacket: its outline is the asset's own.
                let outline_px = if zone.finding.extent == Extent::General {
                    self.report.outline_px.clone()
                } else {
                    sighting.outline_px.clone()
                };
                marks.push((
                    Mark {
                        label: label.clone(),
                        kind,
                        outline_px,
                    },
                    zone,
                ));
            }
        }
        marks
    }

    /// Whole metres along the axis, where the asset was placed.
    fn axis(&self, units: Units) -> Vec<AxisTick> {
        let ticks = &self.picture.axis_px;
        ticks
            .iter()
            .map(|&(metres, px)| AxisTick {
                px,
                label: units.short_length(metres),
            })
            .collect()
    }

    fn strip(&self, units: Units, marks: &[(Mark, &Ranked)]) -> Strip {
        let row = &self.register.frames[self.report.frame];
        let asset = &self.register.assets[row.asset];
        let shape = match asset.shape {
            Shape::HorizontalCylinder { .. } => "horizontal cylinder",
            Shape::VerticalCylinder { .. } => "vertical cylinder",
            Shape::Flat { .. } => "flat wall",
        };
        let zone_lines = marks
            .iter()
            .map(|(mark, zone)| ZoneLine {
                label: mark.label.clone(),
                kind: mark.kind,
                text: zone_words(zone, units),
            })
            .collect();
        Strip {
            title: format!("{} · {shape} · {}", asset.tag, row.file),
            lines: self.lines(units),
            zone_lines,
            caution: CAUTIONS[..2].join(" "),
        }
    }

    fn lines(&self, units: Units) -> Vec<String> {
        let report = self.report;
        let row = &self.register.frames[report.frame];
        let conditions = &row.conditions;
        let taken = report.captured_at.as_deref().unwrap_or(&self.register.survey.date);
        let mut lines = vec![format!("{} · {taken}", self.register.survey.plant)];
        let mut weather = vec![format!("air {}", units.temperature(conditions.air_c))];
        weather.extend(
            conditions
                .relative_humidity_pct
                .map(|rh| format!("{rh:.0} % relative humidity")),
        );
        weather.extend(conditions.wind_m_s.map(|wind| format!("wind {}", units.speed(wind))));
        weather.extend(
            conditions
                .reflected_c
                .map(|t| format!("reflected {}", units.temperature(t))),
        );
        let service = self.register.assets[row.asset].service.temperature_c();
        weather.push(format!("service {}", units.temperature(service)));
        lines.push(weather.join(" · "));
        if let Some(seen) = &report.seen {
            let mut jacket = vec![format!("sound jacket {}", units.temperature(seen.sound_c))];
            jacket.extend(report.expected_sound.map(|(expected, half)| {
                format!(
                    "dry insulation would show {} ±{}",
                    units.temperature(expected),
                    units.difference(half)
                )
            }));
            jacket.extend(
                report
                    .dew_point_c
                    .map(|dew| format!("dew point {}", units.temperature(dew))),
            );
            lines.push(jacket.join(" · "));
            lines.push(format!(
                "least contrast that would have been called {}, smallest zone {} · {} of {} in view usefully seen",
                units.difference(seen.least_contrast_k),
                units.length(seen.smallest_zone_m),
                units.area(seen.usable_m2),
                units.area(seen.viewed_m2)
            ));
        }
        lines.push(match report.usability {
            Usability::Good => "usability: good".to_owned(),
            Usability::Limited => format!("usability: limited: {}", units.sentence(&report.reasons.join("; "))),
            Usability::Unusable => format!("usability: unusable: {}", units.sentence(&report.reasons.join("; "))),
        });
        lines.into_iter().map(|line| hold_units(&line)).collect()
    }
}

/// The zone's number within its asset: the end of its id.
fn number(zone: &Ranked) -> String {
    zone.id.rsplit('-').next().unwrap_or(&zone.id).to_owned()
}

/// What is said of a zone below the picture. Not its priority: pictures are drawn as frames are done, and what is known of
/// the same place from the walk round, openings and earlier surveys is weighed when all of them are.
fn zone_words(zone: &Ranked, units: Units) -> String {
    let finding = &zone.finding;
    let cause = finding.cause.key().replace('-', " ");
    let where_ = super::place::words(zone, units);
    if finding.cause.is_set_aside() {
        return hold_units(&format!("{}: set aside, {cause} · {where_}", zone.id));
    }
    let bound = if finding.at_least { "at least " } else { "" };
    hold_units(&format!(
        "{}: {cause} · {} · {where_} · {} · {bound}{} to sound jacket · conducts {bound}{:.1}× dry ({:.1} to {:.1})",
        zone.id,
        finding.action.key().replace('-', " "),
        units.area(finding.zone.area_m2),
        units.difference(finding.zone.contrast_k),
        finding.ratio,
        finding.ratio_interval[0],
        finding.ratio_interval[1],
    ))
}

/// No-break spaces between a number and its unit, so that no line ends between them.
fn hold_units(text: &str) -> String {
    const UNITS: [&str; 12] = ["°C", "°F", "K", "m", "m²", "ft", "ft²", "m/s", "mph", "W", "Btu/h", "%"];
    let mut held = String::with_capacity(text.len());
    for (index, word) in text.split(' ').enumerate() {
        let bare = word.trim_end_matches([',', ';', ':', ')', '.']);
        let before_is_number = held.chars().next_back().is_some_and(|c| c.is_ascii_digit());
        if index > 0 {
            held.push(if before_is_number && UNITS.contains(&bare) {
                '\u{a0}'
            } else {
                ' '
            });
        }
        held.push_str(word);
    }
    held
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_keeps_its_unit() {
        assert_eq!(
            hold_units("air 12.0 °C, wind 1 m/s now"),
            "air 12.0\u{a0}°C, wind 1\u{a0}m/s now"
        );
    }
}
