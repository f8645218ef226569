//! A frame with its zones: the temperatures as a picture, everything else as vectors over it.

use super::{Figure, Mark, TAG, dash, open_zone, tag, tag_width, tick_step, tick_words};
use crate::inspect::FrameReport;
use crate::record::base64::data_url;
use crate::record::shot::Shot;
use crate::record::svg::{Drawing, Lettering, Paint};
use crate::units::Units;

/// Width of the picture in the figure.
const PICTURE: f64 = 640.0;
/// Room for the colour scale.
const SCALE: f64 = 96.0;
/// Rim above and below.
const RIM: f64 = 14.0;

/// What a frame's figure shows.
pub struct Input<'a> {
    /// Name of the figure.
    pub name: String,
    /// What it shows, in words.
    pub words: String,
    /// The picture.
    pub shot: &'a Shot,
    /// The report.
    pub report: &'a FrameReport,
    /// Zones of the frame with their outlines in image pixels.
    pub zones: Vec<(Mark<'a>, &'a [[f64; 2]])>,
    /// Units of the scale.
    pub units: Units,
}

/// Draws it.
#[must_use]
pub fn draw(input: &Input) -> Figure {
    let (columns, rows) = input.shot.size_px;
    let scale = PICTURE / columns.max(1) as f64;
    let height = rows as f64 * scale;
    let mut figure = Page {
        input,
        scale,
        height,
        drawing: Drawing::new(PICTURE + SCALE, height + 2.0 * RIM),
    };
    figure.ground();
    figure.outline();
    figure.zones();
    figure.axis();
    figure.scale_bar();
    Figure {
        name: input.name.clone(),
        svg: figure.drawing.finish(&input.words),
        words: input.words.clone(),
    }
}

struct Page<'a> {
    input: &'a Input<'a>,
    scale: f64,
    height: f64,
    drawing: Drawing,
}

impl Page<'_> {
    /// Figure place of an image pixel's centre.
    fn at(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [(x + 0.5) * self.scale, RIM + (y + 0.5) * self.scale]
    }

    fn ring(&self, outline_px: &[[f64; 2]]) -> Vec<[f64; 2]> {
        outline_px.iter().map(|&p| self.at(p)).collect()
    }

    fn ground(&mut self) {
        let shot = self.input.shot;
        // The group tells the page where the readings lie.
        self.drawing.open(&[("class", "readings")]);
        self.drawing
            .image([0.0, RIM, PICTURE, self.height], &data_url("image/png", &shot.png));
        self.drawing.close();
        if shot.unseen_px.is_empty() {
            return;
        }
        let name = format!("{}-unseen", self.input.name);
        self.drawing.open(&[("color", "#ffffff"), ("opacity", "0.75")]);
        self.drawing.hatch(&name, 9.0, 1.6);
        let fill = format!("url(#{name})");
        let rects: Vec<[f64; 4]> = shot
            .unseen_px
            .iter()
            .map(|&[x, y, w, h]| {
                let [left, top] = self.at([x, y]);
                [left, top, w * self.scale, h * self.scale]
            })
            .collect();
        let paint = Paint {
            class: "unseen",
            fill: &fill,
            ..Paint::default()
        };
        self.drawing.rects(rects, paint);
        self.drawing.close();
    }

    /// A line that shows on any ground: white casing, dark core.
    fn cased(&mut self, ring: &[[f64; 2]], width: f64, dash: &str) {
        let casing = Paint {
            stroke: "#ffffff",
            width: width + 2.4,
            class: "casing",
            ..Paint::default()
        };
        self.drawing.rings([ring], casing);
        let core = Paint {
            stroke: "#111111",
            width,
            dash,
            class: "line",
            ..Paint::default()
        };
        self.drawing.rings([ring], core);
    }

    fn outline(&mut self) {
        let ring = self.ring(&self.input.report.outline_px);
        if ring.len() < 3 {
            return;
        }
        self.drawing.open(&[("opacity", "0.8")]);
        self.cased(&ring, 1.0, "");
        self.drawing.close();
    }

    fn zones(&mut self) {
        let input = self.input;
        let mut taken: Vec<[f64; 4]> = Vec::new();
        for (mark, outline_px) in &input.zones {
            let ring = self.ring(outline_px);
            if ring.is_empty() {
                continue;
            }
            open_zone(&mut self.drawing, mark);
            let width = match mark.standing {
                super::Standing::Listed => 2.4,
                super::Standing::SetAside | super::Standing::Rejected => 1.4,
            };
            self.cased(&ring, width, dash(mark.standing));
            let hit = Paint {
                class: "hit",
                fill: "#ffffff",
                fill_opacity: 0.01,
                ..Paint::default()
            };
            self.drawing.rings([ring.as_slice()], hit);
            let place = self.free_place(&ring, tag_width(mark), &mut taken);
            tag(&mut self.drawing, place, mark);
            self.drawing.close();
        }
    }

    /// A place for a tag beside a ring, off the other tags and within the picture.
    fn free_place(&self, ring: &[[f64; 2]], width: f64, taken: &mut Vec<[f64; 4]>) -> [f64; 2] {
        let (mut low, mut high) = ([f64::MAX; 2], [f64::MIN; 2]);
        for point in ring {
            low = [low[0].min(point[0]), low[1].min(point[1])];
            high = [high[0].max(point[0]), high[1].max(point[1])];
        }
        let (w, h) = (width / 2.0 + 3.0, TAG / 2.0 + 3.0);
        let middle = [(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0];
        let candidates = [
            [high[0] + w, low[1]],
            [low[0] - w, low[1]],
            [middle[0], low[1] - h],
            [middle[0], high[1] + h],
            [high[0] + w, high[1]],
            [low[0] - w, high[1]],
            middle,
        ];
        let inside = |[x, y]: [f64; 2]| {
            [
                x.clamp(w, (PICTURE - w).max(w)),
                y.clamp(RIM + h, (RIM + self.height - h).max(RIM + h)),
            ]
        };
        let is_free = |[x, y]: [f64; 2], taken: &[[f64; 4]]| {
            taken
                .iter()
                .all(|[tx, ty, tw, th]| (x - tx).abs() > w + tw || (y - ty).abs() > h + th)
        };
        let places = candidates.map(inside);
        let place = places
            .into_iter()
            .find(|&place| is_free(place, taken))
            .unwrap_or(places[0]);
        taken.push([place[0], place[1], w, h]);
        place
    }

    fn axis(&mut self) {
        for &(metres, px) in &self.input.shot.axis_px {
            let [x, y] = self.at(px);
            let paint = Paint {
                fill: "#ffffff",
                stroke: "#111111",
                width: 0.8,
                ..Paint::default()
            };
            self.drawing.circle([x, y], 3.0, paint);
            let text = self.input.units.short_length(metres);
            let width = 7.0 * text.chars().count() as f64 + 4.0;
            let (x, y) = (
                (x + 6.0 + width / 2.0).min(PICTURE - width / 2.0),
                (y + 1.0).clamp(RIM + 8.0, RIM + self.height - 8.0),
            );
            let ground = Paint {
                fill: "#ffffff",
                fill_opacity: 0.75,
                ..Paint::default()
            };
            self.drawing.rect([x - width / 2.0, y - 7.5, width, 15.0], 2.0, ground);
            let lettering = Lettering {
                size: 11.5,
                anchor: "middle",
                fill: "#111111",
                ..Lettering::default()
            };
            self.drawing.text([x, y + 4.0], &text, lettering);
        }
    }

    fn scale_bar(&mut self) {
        let shot = self.input.shot;
        let name = format!("{}-scale", self.input.name);
        let colours: Vec<[u8; 3]> = shot.palette.steps(12).collect();
        self.drawing.gradient_up(&name, &colours);
        let (left, width) = (PICTURE + 14.0, 16.0);
        let fill = format!("url(#{name})");
        let paint = Paint {
            fill: &fill,
            stroke: "currentColor",
            width: 0.7,
            ..Paint::default()
        };
        self.drawing.rect([left, RIM, width, self.height], 0.0, paint);
        let shown = |celsius: f64| self.input.units.temperature_number(celsius);
        let (low, high) = (shown(shot.range_c.0), shown(shot.range_c.1));
        let place = |value: f64| RIM + self.height * (1.0 - (value - low) / (high - low).max(1e-6));
        let step = tick_step(high - low, (self.height / 42.0).max(2.0));
        let first = (low / step).ceil() as i64;
        let last = (high / step).floor() as i64;
        let ink = Paint {
            stroke: "currentColor",
            width: 0.8,
            ..Paint::default()
        };
        for index in first..=last.min(first + 40) {
            let value = index as f64 * step;
            let y = place(value);
            self.drawing.line([left + width, y], [left + width + 4.0, y], ink);
            self.drawing.text(
                [left + width + 7.0, y + 4.0],
                &format!("{} {}", tick_words(value, step), self.input.units.temperature_sign()),
                Lettering::default(),
            );
        }
        if let Some(sound_c) = shot.sound_apparent_c {
            let y = place(shown(sound_c)).clamp(RIM, RIM + self.height);
            let arrow = [[left - 1.0, y], [left - 9.0, y - 5.0], [left - 9.0, y + 5.0]];
            let paint = Paint {
                fill: "currentColor",
                ..Paint::default()
            };
            self.drawing.open(&[("class", "sound")]);
            self.drawing.title("sound jacket, apparent temperature");
            self.drawing.rings([arrow.as_slice()], paint);
            self.drawing.close();
        }
    }
}
