//! The unrolled jacket: the developed surface to scale, as seen from outside, metres along and clock or degrees round.
//!
//! Shown on it: zones by their outlines in the frames, penetrations and what else was set aside, what was rejected, jacket
//! that no frame usefully saw (hatched), walk-round observations with a place, and an earlier survey's zones in outline.
//! A long run is drawn in strips, so that it stays to scale and readable.

use super::{Figure, Mark, Standing, TAG, dash, open_zone, tag, tag_width, tick_step, tick_words};
use crate::detect::coverage::{Coverage, Seen};
use crate::inspect::FrameReport;
use crate::rank::place;
use crate::record::svg::{Drawing, Lettering, Paint};
use crate::register::around::EarlierZone;
use crate::register::{Register, Shape};
use crate::units::Units;

mod key;
mod sheet;
mod ticks;

use sheet::Sheet;

/// What the map shows.
pub struct Input<'a> {
    /// Name of the figure.
    pub name: String,
    /// What it shows, in words.
    pub words: String,
    /// The register.
    pub register: &'a Register,
    /// Index of the asset.
    pub asset: usize,
    /// What was seen of it; None where no frame was usable.
    pub coverage: Option<&'a Coverage>,
    /// Reports of the asset's frames.
    pub frames: Vec<&'a FrameReport>,
    /// Zones with their outlines: (frame's report, outline in image pixels).
    pub zones: Vec<(Mark<'a>, Vec<Outline<'a>>)>,
    /// Observations with a place: letter, metres along, clock hours or bearing, words.
    pub observations: Vec<Pin>,
    /// An earlier survey's zones on this asset.
    pub earlier: Vec<&'a EarlierZone>,
    /// Units of the ticks.
    pub units: Units,
}

/// A zone's outline in one frame: the frame's report, image pixels.
pub type Outline<'a> = (&'a FrameReport, &'a [[f64; 2]]);

/// An observation on the map.
#[derive(Debug, Clone)]
pub struct Pin {
    /// Its letter in the table.
    pub label: String,
    /// Metres from the datum.
    pub axial_m: f64,
    /// Degrees on the asset, as clock angle or bearing; None on a wall, or where nobody said.
    pub absolute_deg: Option<f64>,
    /// What was seen.
    pub words: String,
}

/// Draws it.
#[must_use]
pub fn draw(input: &Input) -> Figure {
    let sheet = Sheet::of(input);
    let mut map = Map {
        drawing: Drawing::new(sheet.width(), sheet.height()),
        sheet: &sheet,
        input,
    };
    map.clips();
    map.unseen();
    map.frame_and_ticks();
    map.earlier();
    map.zones();
    map.pins();
    let bottom = key::draw(&mut map.drawing, input, &sheet);
    map.drawing.reach(bottom);
    Figure {
        name: input.name.clone(),
        svg: map.drawing.finish(&input.words),
        words: input.words.clone(),
    }
}

struct Map<'a> {
    input: &'a Input<'a>,
    sheet: &'a Sheet,
    drawing: Drawing,
}

impl Map<'_> {
    fn clip_name(&self, strip: usize) -> String {
        format!("{}-strip{strip}", self.input.name)
    }

    fn clips(&mut self) {
        for index in 0..self.sheet.strips.len() {
            let name = self.clip_name(index);
            self.drawing.clip(&name, self.sheet.area(index));
        }
        for (name, spacing, width) in [("not", 11.0, 0.9), ("hidden", 4.5, 0.9)] {
            self.drawing
                .hatch(&format!("{}-{name}", self.input.name), spacing, width);
        }
    }

    /// Jacket that no frame usefully saw, hatched: closely where something stood in front, widely where it was not in view.
    fn unseen(&mut self) {
        for (seen, name) in [(Seen::Not, "not"), (Seen::Hidden, "hidden")] {
            let mut rects = Vec::new();
            for [from_m, to_m, top_m, bottom_m] in runs(self.input, seen) {
                for strip in 0..self.sheet.strips.len() {
                    rects.extend(self.sheet.rect(strip, [from_m, to_m], [top_m, bottom_m]));
                }
            }
            let fill = format!("url(#{}-{name})", self.input.name);
            self.drawing.open(&[("opacity", "0.55")]);
            let paint = Paint {
                class: "unseen",
                fill: &fill,
                ..Paint::default()
            };
            self.drawing.rects(rects, paint);
            self.drawing.close();
        }
    }

    fn frame_and_ticks(&mut self) {
        let ink = Paint {
            stroke: "currentColor",
            width: 1.0,
            ..Paint::default()
        };
        for strip in 0..self.sheet.strips.len() {
            self.drawing.rect(self.sheet.area(strip), 0.0, ink);
            self.ticks_along(strip);
            self.ticks_about(strip);
        }
    }

    fn ticks_along(&mut self, strip: usize) {
        let units = self.input.units;
        let strip_m = self.sheet.strips[strip];
        let (unit, sign) = units.length_parts(1.0);
        let span = (strip_m.to_m - strip_m.from_m) * unit;
        let step = tick_step(span, (self.sheet.along_length(strip) / 58.0).max(2.0));
        let first = (strip_m.from_m * unit / step - 1e-6).ceil() as i64;
        let last = (strip_m.to_m * unit / step + 1e-6).floor() as i64;
        for index in first..=last.min(first + 60) {
            let shown = index as f64 * step;
            let [x, y] = self.sheet.at(strip, shown / unit, self.sheet.tick_side_m());
            let (dx, dy) = self.sheet.outward();
            let ink = Paint {
                stroke: "currentColor",
                width: 0.9,
                ..Paint::default()
            };
            self.drawing.line([x, y], [x + 4.0 * dx, y + 4.0 * dy], ink);
            let text = format!("{} {sign}", tick_words(shown, step));
            let (place, anchor) = if dx == 0.0 {
                ([x, y - 7.0], "middle")
            } else {
                ([x - 7.0, y + 4.0], "end")
            };
            let lettering = Lettering {
                size: 11.5,
                anchor,
                ..Lettering::default()
            };
            self.drawing.text(place, &text, lettering);
        }
    }

    fn ticks_about(&mut self, strip: usize) {
        for (about_m, text) in self.sheet.about_ticks(self.input) {
            let from_m = self.sheet.strips[strip].from_m;
            let [x, y] = self.sheet.at(strip, from_m, about_m);
            let ink = Paint {
                stroke: "currentColor",
                width: 0.9,
                ..Paint::default()
            };
            let (end, place, anchor) = self.sheet.about_tick([x, y]);
            self.drawing.line([x, y], end, ink);
            let lettering = Lettering {
                size: 11.5,
                anchor,
                ..Lettering::default()
            };
            self.drawing.text(place, &text, lettering);
        }
    }

    fn earlier(&mut self) {
        for zone in &self.input.earlier {
            let Some(about_m) = self.sheet.about_of(zone.absolute_deg, zone.height_m) else {
                continue;
            };
            let (a, b) = (zone.length_m / 2.0, zone.arc_m / 2.0);
            let ring = [
                [zone.axial_m - a, about_m - b],
                [zone.axial_m + a, about_m - b],
                [zone.axial_m + a, about_m + b],
                [zone.axial_m - a, about_m + b],
            ];
            let paint = Paint {
                class: "earlier",
                stroke: "currentColor",
                width: 1.4,
                dash: "1 2.5",
                ..Paint::default()
            };
            self.drawing.open(&[("class", "earlier")]);
            self.drawing.title(&format!("{} of the last survey", zone.id));
            self.rings(&[ring.to_vec()], paint);
            self.drawing.close();
        }
    }

    fn zones(&mut self) {
        let input = self.input;
        for (mark, outlines) in &input.zones {
            let rings: Vec<Vec<[f64; 2]>> = outlines
                .iter()
                .filter_map(|(report, outline_px)| self.sheet.ring(input, report, outline_px))
                .collect();
            let Some((first, middle)) = rings.first().and_then(|ring| Some((ring, centroid(ring)?))) else {
                continue;
            };
            open_zone(&mut self.drawing, mark);
            let listed = mark.standing == Standing::Listed;
            let paint = Paint {
                class: "line",
                stroke: "currentColor",
                width: if listed { 2.2 } else { 1.2 },
                dash: dash(mark.standing),
                fill: if listed { "#c8641e" } else { "#808080" },
                fill_opacity: if listed { 0.35 } else { 0.12 },
            };
            self.rings(&rings, paint);
            if let Some([x, y]) = self.sheet.place(middle) {
                // A tag must not hide a zone that is smaller than itself.
                let [half_width, half_height] = self.sheet.half_size(first);
                let tag_half = tag_width(mark) / 2.0;
                let is_hidden = half_width < tag_half + 3.0 || half_height < TAG / 2.0 + 3.0;
                let beside = if is_hidden { half_width + tag_half + 4.0 } else { 0.0 };
                tag(&mut self.drawing, [x + beside, y], mark);
            }
            self.drawing.close();
        }
    }

    /// Rings in metres, drawn in every strip they touch and once more where they cross the cut of the developed surface.
    fn rings(&mut self, rings: &[Vec<[f64; 2]>], paint: Paint) {
        for strip in 0..self.sheet.strips.len() {
            let mut shown: Vec<Vec<[f64; 2]>> = Vec::new();
            for ring in rings {
                for turn in self.sheet.turns() {
                    let moved: Vec<[f64; 2]> = ring.iter().map(|[a, b]| [*a, b + turn]).collect();
                    if self.sheet.touches(strip, &moved) {
                        shown.push(moved.iter().map(|[a, b]| self.sheet.at(strip, *a, *b)).collect());
                    }
                }
            }
            if shown.is_empty() {
                continue;
            }
            let clip = format!("url(#{})", self.clip_name(strip));
            self.drawing.open(&[("clip-path", &clip)]);
            self.drawing.rings(shown.iter().map(Vec::as_slice), paint);
            self.drawing.close();
        }
    }

    fn pins(&mut self) {
        let input = self.input;
        for pin in &input.observations {
            let about_m = self
                .sheet
                .about_of(pin.absolute_deg, None)
                .unwrap_or(self.sheet.girth_m / 2.0);
            let Some([x, y]) = self.sheet.place([pin.axial_m, about_m]) else {
                continue;
            };
            self.drawing.open(&[("class", "pin")]);
            self.drawing.title(&pin.words);
            key::pin(&mut self.drawing, [x, y], &pin.label);
            self.drawing.close();
        }
    }
}

/// Runs of cells so seen: from, to along in m, and from, to about in m, as the coverage counts it.
fn runs(input: &Input, wanted: Seen) -> Vec<[f64; 4]> {
    let nothing = Coverage::nothing(&input.register.assets[input.asset].shape);
    let coverage = input.coverage.unwrap_or(&nothing);
    let (along, about) = coverage.cells();
    let sheet = Sheet::size(&input.register.assets[input.asset].shape);
    let (cell_m, cell_about_m) = (sheet.0 / along as f64, sheet.1 / about as f64);
    let mut runs = Vec::new();
    for j in 0..about {
        let mut from = None;
        for i in 0..=along {
            let is = i < along && coverage.seen(i, j) == wanted;
            match (is, from) {
                (true, None) => from = Some(i),
                (false, Some(first)) => {
                    runs.push([
                        first as f64 * cell_m,
                        i as f64 * cell_m,
                        j as f64 * cell_about_m,
                        (j + 1) as f64 * cell_about_m,
                    ]);
                    from = None;
                }
                _ => {}
            }
        }
    }
    runs
}

/// Mean of a ring's points.
fn centroid(ring: &[[f64; 2]]) -> Option<[f64; 2]> {
    let count = ring.len() as f64;
    let sum = ring.iter().fold([0.0; 2], |sum, p| [sum[0] + p[0], sum[1] + p[1]]);
    (!ring.is_empty()).then(|| sum.map(|s| s / count))
}

/// Whether angles on the asset are known, from at least one frame.
fn is_facing_known(input: &Input) -> bool {
    let shape: &Shape = &input.register.assets[input.asset].shape;
    input
        .frames
        .iter()
        .filter_map(|report| input.register.frames.get(report.frame))
        .any(|row| place::facing(shape, &row.view).is_some())
}
