//! The labelled temperature scale beside the picture.

use super::canvas::{Area, COLDEST, Canvas, INK, PAPER, STEPS};
use super::field::Beyond;
use super::layout::Layout;
use super::text::{Face, Style};
use super::{Quantity, Units};

/// What the scale is to say.
pub(super) struct Scale<'a> {
    pub(super) range_c: (f64, f64),
    pub(super) beyond: Beyond,
    pub(super) units: Units,
    pub(super) quantity: Quantity,
    /// Temperatures in °C that are pointed out by name.
    pub(super) pointers: &'a [(&'static str, f64)],
}

/// A text beside the bar: where its middle should be, and its lines.
struct Note {
    middle: i32,
    lines: Vec<(String, Style)>,
    height: i32,
    /// Ends and pointers come before plain numbers where there is no room for both.
    pointed_at: Option<i32>,
}

/// Draws the scale in the column right of the frame.
pub(super) fn draw(canvas: &mut Canvas, face: &mut Face, layout: &Layout, scale: &Scale) {
    let bar = bar_area(layout);
    heading(canvas, face, layout, scale);
    paint_bar(canvas, layout, bar);
    let mut notes = pointers(layout, scale, bar);
    notes.extend(ends(layout, scale, bar));
    spread(&mut notes, bar, layout.px(3.0));
    let tick_from = bar.right;
    let text_from = bar.right + layout.px(14.0);
    for (middle, label) in ticks(layout, scale, bar) {
        canvas.fill(
            Area::at(tick_from, middle - layout.px(1.0), layout.px(7.0), layout.px(2.0)),
            INK,
        );
        let style = Style::regular(layout.px(21.0));
        let height = style.line_px();
        let free = |note: &Note| (note.middle - middle).abs() * 2 >= note.height + height - layout.px(6.0);
        if notes.iter().all(free) {
            face.write(canvas, &label, style, (text_from, middle + style.capital_px() / 2));
        }
    }
    for note in &notes {
        write_note(canvas, face, note, text_from);
        if let Some(level) = note.pointed_at {
            let first = note.lines.first().map_or(0, |(_, style)| style.line_px());
            point_at(canvas, layout, bar, (level, note.middle - (note.height - first) / 2));
        }
    }
}

fn bar_area(layout: &Layout) -> Area {
    let (top, bottom) = (layout.px(62.0), layout.frame.bottom - layout.px(12.0));
    // A frame far wider than high leaves little height: the bar then hangs below it rather than vanish.
    let height = (bottom - top).max(layout.px(150.0));
    Area::at(layout.frame.right + layout.px(20.0), top, layout.px(28.0), height)
}

/// Lowest pixel the scale needs.
pub(super) fn bottom(layout: &Layout) -> i32 {
    bar_area(layout).bottom + layout.px(12.0)
}

fn heading(canvas: &mut Canvas, face: &mut Face, layout: &Layout, scale: &Scale) {
    let left = layout.frame.right + layout.px(20.0);
    let word = match scale.quantity {
        Quantity::Surface => "surface",
        Quantity::Apparent => "apparent",
    };
    face.write(
        canvas,
        scale.units.sign(),
        Style::bold(layout.px(24.0)),
        (left, layout.px(24.0)),
    );
    face.write(canvas, word, Style::regular(layout.px(18.0)), (left, layout.px(46.0)));
}

fn paint_bar(canvas: &mut Canvas, layout: &Layout, bar: Area) {
    let height = bar.height().max(1);
    for y in bar.top..bar.bottom {
        let step = (bar.bottom - 1 - y) * i32::from(STEPS) / height;
        canvas
            .span(y, bar.left, bar.right)
            .fill(COLDEST + step.clamp(0, i32::from(STEPS) - 1) as u8);
    }
    canvas.border(bar.grown(layout.px(1.5)), layout.px(1.5), INK);
}

/// Row of a temperature on the bar.
fn level(scale: &Scale, bar: Area, temperature_c: f64) -> i32 {
    let (low, high) = scale.range_c;
    let share = ((temperature_c - low) / (high - low)).clamp(0.0, 1.0);
    bar.bottom - 1 - (share * f64::from(bar.height() - 1)).round() as i32
}

/// Ticks at round values: row and label.
fn ticks(layout: &Layout, scale: &Scale, bar: Area) -> Vec<(i32, String)> {
    let (low, high) = (scale.units.shown(scale.range_c.0), scale.units.shown(scale.range_c.1));
    let most = (bar.height() / layout.px(64.0)).max(2);
    let (step, decimals) = round_step(high - low, f64::from(most));
    let first = (low / step).ceil() as i64;
    let values = (first..)
        .map(|n| n as f64 * step)
        .take_while(|value| *value <= high + 1e-9 * step)
        .take(100);
    values
        .map(|value| (level(scale, bar, scale.units.celsius(value)), number(value, decimals)))
        .collect()
}

/// The smallest of 1, 2, 5 × 10ⁿ that divides the span into at most `most` parts, and the decimals it needs.
fn round_step(span: f64, most: f64) -> (f64, usize) {
    let least = (span / most).max(1e-6);
    let power = least.log10().floor();
    let unit = 10_f64.powf(power);
    let factor = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .find(|factor| factor * unit >= least * (1.0 - 1e-9))
        .unwrap_or(10.0);
    let power = if factor >= 10.0 { power + 1.0 } else { power };
    (factor * unit, (-power).max(0.0) as usize)
}

/// A number with a true minus sign, and no sign before nought.
fn number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| b == b'0' || b == b'.') => rest.to_owned(),
        Some(rest) => format!("−{rest}"),
        None => text,
    }
}

fn pointers(layout: &Layout, scale: &Scale, bar: Area) -> Vec<Note> {
    let (name_style, value_style) = (Style::regular(layout.px(16.0)), Style::bold(layout.px(20.0)));
    let (low, high) = scale.range_c;
    let on_scale = scale.pointers.iter().filter(|(_, at_c)| (low..=high).contains(at_c));
    let note = |(name, at_c): &(&str, f64)| {
        let middle = level(scale, bar, *at_c);
        let value = (number(scale.units.shown(*at_c), 1), value_style);
        let lines = vec![value, ((*name).to_owned(), name_style)];
        // The value stands level with its place on the bar, the name below it.
        let height = value_style.line_px() + name_style.line_px();
        Note {
            middle: middle + name_style.line_px() / 2,
            height,
            lines,
            pointed_at: Some(middle),
        }
    };
    on_scale.map(note).collect()
}

/// Where readings lie beyond the scale, its ends say so.
fn ends(layout: &Layout, scale: &Scale, bar: Area) -> Vec<Note> {
    let style = Style::regular(layout.px(21.0));
    let note = |sign: &str, at_c: f64, middle: i32| {
        let line = format!("{sign} {}", number(scale.units.shown(at_c), 1));
        Note {
            middle,
            lines: vec![(line, style)],
            height: style.line_px(),
            pointed_at: None,
        }
    };
    let above = scale
        .beyond
        .above
        .then(|| note("≥", scale.range_c.1, bar.top + style.capital_px() / 2));
    let below = scale
        .beyond
        .below
        .then(|| note("≤", scale.range_c.0, bar.bottom - style.capital_px() / 2));
    above.into_iter().chain(below).collect()
}

/// Moves notes apart so that none covers another, and keeps them beside the bar.
fn spread(notes: &mut [Note], bar: Area, gap: i32) {
    notes.sort_by_key(|note| (note.middle, note.pointed_at.is_some()));
    for _ in 0..8 {
        for at in 1..notes.len() {
            let overlap =
                notes[at - 1].middle + notes[at - 1].height / 2 + gap - (notes[at].middle - notes[at].height / 2);
            if overlap > 0 {
                notes[at - 1].middle -= overlap / 2;
                notes[at].middle += overlap - overlap / 2;
            }
        }
        for note in notes.iter_mut() {
            let (low, high) = (bar.top + note.height / 2 - gap, bar.bottom - note.height / 2 + gap);
            note.middle = note.middle.min(high).max(low);
        }
    }
}

fn write_note(canvas: &mut Canvas, face: &mut Face, note: &Note, left: i32) {
    let mut top = note.middle - note.height / 2;
    for (line, style) in &note.lines {
        let baseline = top + (style.line_px() + style.capital_px()) / 2;
        face.write(canvas, line, *style, (left, baseline));
        top += style.line_px();
    }
}

/// A line across the bar that runs on to the note beside it, bent where the note had to give way.
fn point_at(canvas: &mut Canvas, layout: &Layout, bar: Area, (level, beside): (i32, i32)) {
    let thick = layout.px(3.0);
    canvas.fill(
        Area::at(bar.left, level - thick / 2, bar.width(), thick)
            .grown(layout.px(1.5))
            .within(bar),
        PAPER,
    );
    canvas.fill(
        Area::at(bar.left, level - thick / 2, bar.width() + layout.px(3.0), thick),
        INK,
    );
    let (start, length) = (bar.right + layout.px(2.0), layout.px(9.0));
    for along in 0..length {
        let (from, to) = (
            level + (beside - level) * along / length,
            level + (beside - level) * (along + 1) / length,
        );
        let (top, bottom) = (from.min(to) - thick / 2, from.max(to) - thick / 2 + thick);
        canvas.fill(
            Area {
                left: start + along,
                right: start + along + 1,
                top,
                bottom,
            },
            INK,
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_round_and_few_enough() {
        assert_eq!(round_step(10.0, 10.0), (1.0, 0));
        assert_eq!(round_step(7.3, 10.0), (1.0, 0));
        assert_eq!(round_step(13.0, 8.0), (2.0, 0));
        assert_eq!(round_step(90.0, 10.0), (10.0, 0));
        let (step, decimals) = round_step(0.9, 5.0);
        assert!((step - 0.2).abs() < 1e-12 && decimals == 1);
        for span in [0.03, 0.7, 3.0, 47.0, 812.0] {
            let (step, _) = round_step(span, 9.0);
            assert!(span / step <= 9.0 + 1e-6 && span / step > 3.0, "{span} by {step}");
        }
    }

    #[test]
    fn numbers_carry_a_true_minus_and_no_minus_nought() {
        assert_eq!(number(-12.34, 1), "−12.3");
        assert_eq!(number(-0.01, 1), "0.0");
        assert_eq!(number(5.0, 0), "5");
    }

    #[test]
    fn ticks_stand_at_round_values_of_the_shown_unit() {
        let layout = Layout::of(320, 240);
        let of = |units| Scale {
            range_c: (10.0, 20.0),
            beyond: Beyond::default(),
            units,
            quantity: Quantity::Surface,
            pointers: &[],
        };
        let bar = Area::at(0, 0, 20, 641);
        let si = ticks(&layout, &of(Units::Si), bar);
        assert_eq!(si.first(), Some(&(640, "10".to_owned())));
        assert_eq!(si.last(), Some(&(0, "20".to_owned())));
        let us = ticks(&layout, &of(Units::Us), bar);
        // 50 °F is 10 °C; 60 °F is 15.56 °C, 0.556 of the way up.
        assert!(
            us.contains(&(640, "50".to_owned())) && us.contains(&(640 - 356, "60".to_owned())),
            "{us:?}"
        );
    }

    #[test]
    fn notes_do_not_cover_each_other() {
        let note = |middle| Note {
            middle,
            lines: Vec::new(),
            height: 40,
            pointed_at: Some(middle),
        };
        let mut notes = vec![note(100), note(104), note(597)];
        spread(&mut notes, Area::at(0, 0, 20, 600), 4);
        assert!(
            notes.windows(2).all(|pair| pair[1].middle - pair[0].middle >= 43),
            "notes overlap"
        );
        assert!(notes.iter().all(|note| note.middle <= 600 - 16));
    }
}
