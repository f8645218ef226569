//! The outline of the asset, the zones and what was set aside.

use super::canvas::{Area, Canvas, INK, PAPER};
use super::layout::{Layout, Zoom};
use super::rings;
use super::stroke::{self, Dash, Stroke};
use super::tags::{Ground, bounds, from_area};
use super::text::{Face, Style};
use super::{Mark, MarkKind};

type Ring = Vec<[f32; 2]>;

/// Places of an outline on the sheet; points that are no numbers are left out.
pub(super) fn ring(layout: &Layout, outline_px: &[[f64; 2]]) -> Ring {
    outline_px.iter().filter_map(|point| layout.place(*point)).collect()
}

/// The line drawn round a mark: just outside its outermost readings, so that even the smallest zone stays in view.
fn round(layout: &Layout, mark: &Mark) -> Ring {
    let traced = ring(layout, &mark.outline_px);
    let reading_px = match layout.zoom {
        Zoom::Enlarged(factor) => factor as f32,
        Zoom::Thinned(_) => 1.0,
    };
    if !rings::is_traced(&traced, reading_px) {
        return traced;
    }
    let casing_px = mark_stroke(layout, mark.kind).casing_px;
    rings::widened(&rings::smoothed(&traced), reading_px / 2.0 + casing_px / 2.0)
}

/// The thin line round the asset.
pub(super) fn outline_stroke(layout: &Layout) -> Stroke {
    Stroke {
        core_px: layout.exact_px(0.9),
        casing_px: layout.exact_px(2.3),
        dash: Dash::Unbroken,
    }
}

/// Heavy and unbroken for a finding, lighter and dashed for what was set aside.
pub(super) fn mark_stroke(layout: &Layout, kind: MarkKind) -> Stroke {
    match kind {
        MarkKind::Finding => Stroke {
            core_px: layout.exact_px(2.0),
            casing_px: layout.exact_px(4.4),
            dash: Dash::Unbroken,
        },
        MarkKind::SetAside => Stroke {
            core_px: layout.exact_px(1.3),
            casing_px: layout.exact_px(2.8),
            dash: Dash::Dashed {
                on_px: layout.exact_px(11.0),
                off_px: layout.exact_px(8.0),
            },
        },
    }
}

/// Draws all marks, then all tags, so that no line crosses a tag.
pub(super) fn draw(canvas: &mut Canvas, face: &mut Face, marks: &[Mark], ground: &mut Ground) {
    let layout = ground.layout;
    let rings: Vec<(&Mark, Ring)> = marks.iter().map(|mark| (mark, round(layout, mark))).collect();
    // What was set aside lies beneath, findings above.
    for kind in [MarkKind::SetAside, MarkKind::Finding] {
        for (_, ring) in rings.iter().filter(|(mark, _)| mark.kind == kind) {
            stroke::closed(canvas, ring, &mark_stroke(layout, kind), layout.frame);
            ground.keep_off_mark(ring);
        }
    }
    let mut tags = Vec::with_capacity(rings.len());
    for kind in [MarkKind::Finding, MarkKind::SetAside] {
        for (mark, ring) in rings.iter().filter(|(mark, _)| mark.kind == kind) {
            let in_view = bounds(ring).within(layout.frame);
            if ring.is_empty() || in_view.width() <= 0 || in_view.height() <= 0 {
                continue;
            }
            let area = ground.place(ring, tag_size(face, layout, &mark.label, kind));
            tags.push((*mark, ring, area));
        }
    }
    tags.iter()
        .for_each(|(_, ring, area)| lead(canvas, layout, ring, *area));
    tags.iter()
        .for_each(|(mark, _, area)| draw_tag(canvas, face, layout, (&mark.label, mark.kind), *area));
}

/// A line from a tag to its mark, where the tag had to move away.
fn lead(canvas: &mut Canvas, layout: &Layout, ring: &Ring, tag: Area) {
    let nearest = ring
        .iter()
        .map(|point| (point, from_area(tag, *point)))
        .min_by(|a, b| a.1.1.total_cmp(&b.1.1));
    if let Some((to, (start, length))) = nearest
        && length > layout.exact_px(20.0)
    {
        stroke::open(canvas, &[start, *to], &outline_stroke(layout), layout.frame);
    }
}

fn tag_style(layout: &Layout, kind: MarkKind) -> Style {
    match kind {
        MarkKind::Finding => Style::bold(layout.px(26.0)),
        MarkKind::SetAside => Style::regular(layout.px(20.0)),
    }
}

/// Width and height of a tag with this label.
pub(super) fn tag_size(face: &mut Face, layout: &Layout, label: &str, kind: MarkKind) -> (i32, i32) {
    let style = tag_style(layout, kind);
    let (label, padding) = (short(label), layout.px(7.0));
    let height = style.capital_px() + 2 * padding;
    ((face.width_px(&label, style) + 2 * padding).max(height), height)
}

/// Draws a tag: a heavy box for a finding, a thin one with cut corners for what was set aside.
pub(super) fn draw_tag(
    canvas: &mut Canvas,
    face: &mut Face,
    layout: &Layout,
    (label, kind): (&str, MarkKind),
    area: Area,
) {
    let style = tag_style(layout, kind);
    let label = short(label);
    match kind {
        MarkKind::Finding => {
            canvas.fill(area.grown(layout.px(1.5)), PAPER);
            canvas.fill(area, INK);
            canvas.fill(area.grown(-layout.px(3.0)), PAPER);
        }
        MarkKind::SetAside => {
            let cut = layout.px(6.0);
            cut_box(canvas, area, cut, INK);
            cut_box(canvas, area.grown(-layout.px(1.5)), cut, PAPER);
        }
    }
    let left = (area.left + area.right - face.width_px(&label, style) + 1) / 2;
    face.write(
        canvas,
        &label,
        style,
        (left, (area.top + area.bottom + style.capital_px()) / 2),
    );
}

/// A filled box whose corners are cut off.
fn cut_box(canvas: &mut Canvas, area: Area, cut: i32, index: u8) {
    for y in area.top..area.bottom {
        let edge = (y - area.top).min(area.bottom - 1 - y);
        let by = (cut - edge).max(0);
        canvas.span(y, area.left + by, area.right - by).fill(index);
    }
}

/// A label holds a number or a letter; anything longer is cut so that a tag cannot cover the frame.
fn short(label: &str) -> String {
    let mut kept: String = label.chars().take(8).collect();
    if label.chars().nth(8).is_some() {
        kept.pop();
        kept.push('…');
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_label_is_cut() {
        assert_eq!(short("12"), "12");
        assert_eq!(short("12345678"), "12345678");
        assert_eq!(short("123456789"), "1234567…");
    }

    #[test]
    fn marks_wholly_out_of_view_get_no_tag() {
        let layout = Layout::of(320, 240);
        let mut canvas = Canvas::blank(1124, 720, 720);
        let before = canvas.indices().to_vec();
        let mark = |outline_px| Mark {
            label: "1".to_owned(),
            kind: MarkKind::Finding,
            outline_px,
        };
        let marks = [
            mark(vec![[-90.0, -90.0], [-80.0, -90.0], [-80.0, -70.0]]),
            mark(vec![[f64::NAN, 3.0]]),
            mark(vec![]),
        ];
        draw(
            &mut canvas,
            &mut Face::read().unwrap(),
            &marks,
            &mut Ground::clear(&layout),
        );
        assert_eq!(canvas.indices(), before);
    }
}
