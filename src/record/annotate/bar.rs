//! The colour bar that the temperatures were read from.

use super::canvas::{Area, Canvas, PAPER};
use super::layout::Layout;
use super::stroke::{self, Dash, Stroke};
use super::tags::Ground;
use super::text::{Face, Style};

/// What stands at the box.
const WORDS: &str = "bar read";

/// Draws a box round the bar with its word beside it, and keeps tags off both.
pub(super) fn draw(canvas: &mut Canvas, face: &mut Face, [x, y, w, h]: [f64; 4], ground: &mut Ground) {
    let layout = ground.layout;
    let corners = [[x, y], [x + w - 1.0, y], [x + w - 1.0, y + h - 1.0], [x, y + h - 1.0]];
    let outside = layout.exact_px(3.0)
        + layout
            .place([1.0, 0.0])
            .zip(layout.place([0.0, 0.0]))
            .map_or(1.0, |(a, b)| a[0] - b[0]);
    let placed: Vec<[f32; 2]> = corners.iter().filter_map(|&corner| layout.place(corner)).collect();
    let &[[left, top], _, [right, bottom], _] = placed.as_slice() else {
        return;
    };
    let (left, top) = (left - outside, top - outside);
    let (right, bottom) = (right + outside, bottom + outside);
    let line = Stroke {
        core_px: layout.exact_px(1.3),
        casing_px: layout.exact_px(3.0),
        dash: Dash::Unbroken,
    };
    stroke::closed(
        canvas,
        &[[left, top], [right, top], [right, bottom], [left, bottom]],
        &line,
        layout.frame,
    );
    ground.keep_off(Area::at(
        left as i32,
        top as i32,
        (right - left) as i32,
        (bottom - top) as i32,
    ));
    word(canvas, face, [left, top, right, bottom], ground);
}

/// The word on the side of the box that has more room.
fn word(canvas: &mut Canvas, face: &mut Face, [left, top, right, bottom]: [f32; 4], ground: &mut Ground) {
    let layout: &Layout = ground.layout;
    let style = Style::regular(layout.px(18.0));
    let (width, height) = (face.width_px(WORDS, style), style.capital_px());
    let (frame, gap) = (layout.frame, layout.px(8.0));
    let middle = ((left + right) as i32 / 2, (top + bottom) as i32 / 2);
    let at = if bottom - top >= right - left {
        let on_the_right = frame.right - right as i32 >= left as i32 - frame.left;
        let x = if on_the_right {
            right as i32 + gap
        } else {
            left as i32 - gap - width
        };
        (x, middle.1 - height / 2)
    } else {
        let below = frame.bottom - bottom as i32 >= top as i32 - frame.top;
        let y = if below {
            bottom as i32 + gap
        } else {
            top as i32 - gap - height
        };
        (middle.0 - width / 2, y)
    };
    let text = Area::at(at.0, at.1, width, height);
    let plate = text.grown(layout.px(4.0));
    if plate.within(frame) == plate {
        canvas.fill(plate, PAPER);
        face.write(canvas, WORDS, style, (text.left, text.bottom));
        ground.keep_off(plate);
    }
}
