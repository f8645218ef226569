//! Metres along the asset: small ticks and numbers outside its edge.

use super::AxisTick;
use super::canvas::{Area, Canvas, PAPER};
use super::layout::Layout;
use super::stroke::{self, Dash, Stroke};
use super::tags::Ground;
use super::text::{Face, Style};

/// Draws the ticks, each with its label on the side away from `middle` (of the asset), and keeps tags off them.
pub(super) fn draw(canvas: &mut Canvas, face: &mut Face, ticks: &[AxisTick], ground: &mut Ground, middle: [f32; 2]) {
    let layout = ground.layout;
    let placed: Vec<([f32; 2], &str)> = ticks
        .iter()
        .filter_map(|tick| Some((layout.place(tick.px)?, tick.label.as_str())))
        .collect();
    let [Some((first, _)), Some((last, _))] = [placed.first(), placed.last()] else {
        return;
    };
    let out = outwards(*first, *last, middle);
    let style = Style::regular(layout.px(18.0));
    let line = Stroke {
        core_px: layout.exact_px(1.0),
        casing_px: layout.exact_px(2.2),
        dash: Dash::Unbroken,
    };
    for (place, label) in placed {
        let (width, height) = (face.width_px(label, style), style.capital_px());
        let reach = layout.exact_px(11.0);
        let (half_width, half_height) = (width as f32 / 2.0, height as f32 / 2.0);
        let away = reach + layout.exact_px(4.0) + out[0].abs() * half_width + out[1].abs() * half_height;
        let at = [place[0] + out[0] * away, place[1] + out[1] * away];
        let text = Area::at((at[0] - half_width) as i32, (at[1] - half_height) as i32, width, height);
        if !fits(layout, text) {
            continue;
        }
        stroke::open(
            canvas,
            &[place, [place[0] + out[0] * reach, place[1] + out[1] * reach]],
            &line,
            layout.frame,
        );
        let plate = text.grown(layout.px(4.0));
        canvas.fill(plate, PAPER);
        face.write(canvas, label, style, (text.left, text.bottom));
        ground.keep_off(plate);
    }
}

fn fits(layout: &Layout, text: Area) -> bool {
    let text = text.grown(layout.px(4.0));
    text.within(layout.frame) == text
}

/// Unit vector square to the line of ticks, away from the asset's middle; downwards where there is a single tick.
fn outwards(first: [f32; 2], last: [f32; 2], middle: [f32; 2]) -> [f32; 2] {
    let way = [last[0] - first[0], last[1] - first[1]];
    let length = way[0].hypot(way[1]);
    if length < 1.0 {
        return [0.0, 1.0];
    }
    let square = [-way[1] / length, way[0] / length];
    let towards = square[0] * (middle[0] - first[0]) + square[1] * (middle[1] - first[1]);
    if towards > 0.0 { square.map(|v| -v) } else { square }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_stand_away_from_the_asset() {
        assert_eq!(outwards([0.0, 100.0], [200.0, 100.0], [100.0, 50.0]), [0.0, 1.0]);
        assert_eq!(outwards([200.0, 20.0], [0.0, 20.0], [100.0, 50.0]), [0.0, -1.0]);
        assert_eq!(outwards([10.0, 0.0], [10.0, 200.0], [80.0, 100.0]), [-1.0, 0.0]);
        assert_eq!(outwards([10.0, 7.0], [10.0, 7.0], [80.0, 100.0]), [0.0, 1.0]);
    }
}
