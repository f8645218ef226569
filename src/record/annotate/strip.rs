//! Below the picture: the key, the strip with asset, conditions and zones, and the caution.

use super::canvas::{Area, COLDEST, Canvas, GROUND_LIGHT, INK, STEPS};
use super::field;
use super::layout::{Layout, Zoom};
use super::marks::{draw_tag, mark_stroke, outline_stroke, tag_size};
use super::stroke;
use super::text::{Face, Style};
use super::{MarkKind, Strip, ZoneLine};

/// Most lines about the frame, before wrapping.
const MOST_LINES: usize = 16;
/// Most zones listed below one picture.
const MOST_ZONES: usize = 60;
/// Zones up to which each has the whole width.
const ZONES_ABREAST: usize = 6;
/// Zones up to which each may take two lines.
const ZONES_WRAPPED: usize = 16;

/// What of the key's signs occurs in the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sign {
    Outline,
    Finding,
    SetAside,
    Unseen,
    Missing,
    Thinned,
}

/// Writes downwards from `top`, and grows the sheet as it goes.
pub(super) struct Writer<'a> {
    pub(super) canvas: &'a mut Canvas,
    pub(super) face: &'a mut Face,
    pub(super) layout: &'a Layout,
    pub(super) top: i32,
}

impl Writer<'_> {
    fn left(&self) -> i32 {
        self.layout.px(14.0)
    }

    fn right(&self) -> i32 {
        self.layout.width - self.layout.px(14.0)
    }

    fn space(&mut self, units: f32) {
        self.top += self.layout.px(units);
        self.canvas.reach(self.top);
    }

    /// One line of text; the pen's baseline is centred in the line.
    fn line(&mut self, text: &str, style: Style, left: i32) {
        self.canvas.reach(self.top + style.line_px());
        let baseline = self.top + (style.line_px() + style.capital_px()) / 2;
        self.face.write(self.canvas, text, style, (left, baseline));
        self.top += style.line_px();
    }

    fn paragraph(&mut self, text: &str, style: Style, most: usize) {
        let width = self.right() - self.left();
        for line in self.face.wrap(text, style, width, most) {
            self.line(&line, style, self.left());
        }
    }

    /// The key: one sample and its meaning for every sign that occurs.
    pub(super) fn key(&mut self, signs: &[Sign]) {
        let style = Style::regular(self.layout.px(18.0));
        let (sample, gap) = (self.layout.px(46.0), self.layout.px(8.0));
        let height = self.layout.px(26.0);
        self.space(10.0);
        let mut left = self.left();
        for sign in signs {
            let meaning = meaning(*sign, self.layout);
            let width = sample + gap + self.face.width_px(&meaning, style);
            if left + width > self.right() && left > self.left() {
                self.top += height + self.layout.px(6.0);
                left = self.left();
            }
            self.canvas.reach(self.top + height);
            self.sample(*sign, Area::at(left, self.top, sample, height));
            let baseline = self.top + (height + style.capital_px()) / 2;
            self.face
                .write(self.canvas, &meaning, style, (left + sample + gap, baseline));
            left += width + self.layout.px(24.0);
        }
        if !signs.is_empty() {
            self.top += height;
        }
        self.canvas.reach(self.top);
    }

    fn sample(&mut self, sign: Sign, area: Area) {
        self.canvas.fill(
            area,
            if sign == Sign::Missing {
                GROUND_LIGHT
            } else {
                COLDEST + STEPS / 2
            },
        );
        let middle = (area.top + area.bottom) as f32 / 2.0;
        let across = [[area.left as f32, middle], [area.right as f32, middle]];
        match sign {
            Sign::Outline => stroke::open(self.canvas, &across, &outline_stroke(self.layout), area),
            Sign::Finding => stroke::open(self.canvas, &across, &mark_stroke(self.layout, MarkKind::Finding), area),
            Sign::SetAside => stroke::open(
                self.canvas,
                &across,
                &mark_stroke(self.layout, MarkKind::SetAside),
                area,
            ),
            Sign::Unseen => {
                for y in area.top..area.bottom {
                    field::diagonal(
                        self.canvas.span(y, area.left, area.right),
                        (area.left + y) as usize,
                        self.layout,
                    );
                }
            }
            Sign::Missing => {
                field::dot(self.canvas, self.layout, area);
                self.canvas.border(area, 1, INK);
            }
            Sign::Thinned => {}
        }
    }

    /// Title, lines, zones and the caution in its box.
    pub(super) fn strip(&mut self, strip: &Strip) {
        self.space(10.0);
        let rule = Area::at(self.left(), self.top, self.right() - self.left(), self.layout.px(2.0));
        self.canvas.reach(rule.bottom);
        self.canvas.fill(rule, INK);
        self.space(10.0);
        self.paragraph(&strip.title, Style::bold(self.layout.px(29.0)), 2);
        self.space(4.0);
        let body = Style::regular(self.layout.px(21.0));
        for line in strip.lines.iter().take(MOST_LINES) {
            self.paragraph(line, body, 4);
        }
        if !strip.zone_lines.is_empty() {
            self.space(8.0);
            self.zones(&strip.zone_lines);
        }
        self.space(12.0);
        self.caution(&strip.caution);
        self.space(14.0);
    }

    /// The list: one below the other while few, then in two columns.
    fn zones(&mut self, zones: &[ZoneLine]) {
        let shown = zones.get(..MOST_ZONES.min(zones.len())).unwrap_or_default();
        let columns = if shown.len() <= ZONES_ABREAST { 1 } else { 2 };
        let style = Style::regular(self.layout.px(if columns == 1 { 21.0 } else { 18.0 }));
        let most = if shown.len() <= ZONES_WRAPPED { 2 } else { 1 };
        let tag_px = shown
            .iter()
            .map(|zone| tag_size(self.face, self.layout, &zone.label, zone.kind).0)
            .max()
            .unwrap_or(0);
        let width = (self.right() - self.left() - (columns - 1) * self.layout.px(20.0)) / columns;
        let rows = shown.len().div_ceil(columns as usize).max(1);
        let start = self.top;
        let mut lowest = start;
        for (column, list) in (0..).zip(shown.chunks(rows)) {
            self.top = start;
            let left = self.left() + column * (width + self.layout.px(20.0));
            for zone in list {
                self.zone(zone, (style, most), (left, width), tag_px);
            }
            lowest = lowest.max(self.top);
        }
        self.top = lowest;
        if zones.len() > shown.len() {
            let more = format!("… and {} more in the list", zones.len() - shown.len());
            self.line(&more, style, self.left());
        }
    }

    fn zone(&mut self, zone: &ZoneLine, (style, most): (Style, usize), (left, width): (i32, i32), tag_px: i32) {
        let (tag_width, tag_height) = tag_size(self.face, self.layout, &zone.label, zone.kind);
        let text_left = left + tag_px + self.layout.px(11.0);
        let lines = self.face.wrap(&zone.text, style, width - (text_left - left), most);
        let height = (style.line_px() * lines.len() as i32).max(tag_height) + self.layout.px(7.0);
        let top = self.top;
        self.canvas.reach(top + height);
        // One line is centred on its tag, more begin level with it.
        let tag = Area::at(
            left + tag_px - tag_width,
            top + self.layout.px(2.0),
            tag_width,
            tag_height,
        );
        draw_tag(self.canvas, self.face, self.layout, (&zone.label, zone.kind), tag);
        self.top = (tag.top + tag.bottom) / 2 - style.line_px() / 2;
        for line in &lines {
            self.line(line, style, text_left);
        }
        self.top = self.top.max(top + height);
    }

    fn caution(&mut self, caution: &str) {
        let style = Style::regular(self.layout.px(20.0));
        let (padding, heavy) = (self.layout.px(11.0), self.layout.px(9.0));
        let (left, top) = (self.left(), self.top);
        let text_left = left + heavy + padding;
        let lines = self.face.wrap(caution, style, self.right() - padding - text_left, 8);
        let height = style.line_px() * lines.len() as i32 + 2 * padding;
        if lines.is_empty() {
            return;
        }
        self.canvas.reach(top + height);
        let area = Area {
            left,
            top,
            right: self.right(),
            bottom: top + height,
        };
        self.canvas.border(area, self.layout.px(2.0), INK);
        self.canvas.fill(
            Area {
                right: left + heavy,
                ..area
            },
            INK,
        );
        self.top += padding;
        for line in &lines {
            self.line(line, style, text_left);
        }
        self.top = top + height;
    }
}

fn meaning(sign: Sign, layout: &Layout) -> String {
    match sign {
        Sign::Outline => "outline of the asset".to_owned(),
        Sign::Finding => "zone to follow up, numbered as in the list".to_owned(),
        Sign::SetAside => "set aside, lettered".to_owned(),
        Sign::Unseen => "not usefully seen".to_owned(),
        Sign::Missing => "no reading".to_owned(),
        Sign::Thinned => match layout.zoom {
            Zoom::Thinned(every) => format!("1 reading in {every} shown, along and across"),
            Zoom::Enlarged(_) => "every reading shown".to_owned(),
        },
    }
}
