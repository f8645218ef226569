//! The key below the unrolled jacket: every sign that stands on it, and no other.

use super::{Input, Mark, Sheet, Standing, dash, tag};
use crate::detect::coverage::Seen;
use crate::record::svg::{Drawing, Lettering, Paint};

/// Height of a line of the key.
const LINE: f64 = 21.0;
/// Width of a sample.
const SAMPLE: f64 = 30.0;

enum Sample {
    Zone(Standing),
    Hatch(&'static str),
    Earlier,
    Pin,
}

/// Draws the key below the sheet; where it ends.
pub(super) fn draw(drawing: &mut Drawing, input: &Input, sheet: &Sheet) -> f64 {
    let (mut x, mut y) = (10.0, sheet.height() + 12.0);
    let small = Lettering {
        size: 11.5,
        ..Lettering::default()
    };
    drawing.text([x, y], sheet.directions(), small);
    y += LINE;
    for (sample, words) in entries(input) {
        let width = SAMPLE + 8.0 + 6.4 * words.chars().count() as f64 + 18.0;
        if x + width > sheet.width() && x > 10.0 {
            x = 10.0;
            y += LINE;
        }
        draw_sample(drawing, &sample, [x, y], &input.name);
        drawing.text([x + SAMPLE + 8.0, y + 4.0], words, small);
        x += width;
    }
    y + LINE
}

fn entries(input: &Input) -> Vec<(Sample, &'static str)> {
    let has = |standing: Standing| input.zones.iter().any(|(mark, _)| mark.standing == standing);
    let seen = |wanted: Seen| !super::runs(input, wanted).is_empty();
    let all = [
        (
            has(Standing::Listed),
            Sample::Zone(Standing::Listed),
            "zone to follow up",
        ),
        (
            has(Standing::SetAside),
            Sample::Zone(Standing::SetAside),
            "set aside: penetration, reflection, sun",
        ),
        (
            has(Standing::Rejected),
            Sample::Zone(Standing::Rejected),
            "rejected by the inspector",
        ),
        (
            seen(Seen::Hidden),
            Sample::Hatch("hidden"),
            "in view, not usefully seen",
        ),
        (seen(Seen::Not), Sample::Hatch("not"), "not in view"),
        (!input.earlier.is_empty(), Sample::Earlier, "zone of the last survey"),
        (!input.observations.is_empty(), Sample::Pin, "seen on the walk round"),
    ];
    all.into_iter()
        .filter_map(|(is, sample, words)| is.then_some((sample, words)))
        .collect()
}

fn draw_sample(drawing: &mut Drawing, sample: &Sample, [x, y]: [f64; 2], name: &str) {
    let area = [x, y - 7.0, SAMPLE, 14.0];
    let ink = Paint {
        stroke: "currentColor",
        width: 0.8,
        ..Paint::default()
    };
    match sample {
        Sample::Zone(standing) => {
            let listed = *standing == Standing::Listed;
            let paint = Paint {
                stroke: "currentColor",
                width: if listed { 2.2 } else { 1.2 },
                dash: dash(*standing),
                fill: if listed { "#c8641e" } else { "#808080" },
                fill_opacity: if listed { 0.35 } else { 0.12 },
                ..Paint::default()
            };
            drawing.rect([x, y - 9.0, SAMPLE, 18.0], 0.0, paint);
            let mark = Mark {
                id: "",
                label: "n",
                words: "",
                standing: *standing,
            };
            drawing.open(&[(
                "transform",
                &format!("translate({} {}) scale(0.72)", x + SAMPLE / 2.0, y),
            )]);
            tag(drawing, [0.0, 0.0], &mark);
            drawing.close();
        }
        Sample::Hatch(which) => {
            let fill = format!("url(#{name}-{which})");
            drawing.open(&[("opacity", "0.55")]);
            let paint = Paint {
                fill: &fill,
                ..Paint::default()
            };
            drawing.rects([area], paint);
            drawing.close();
            drawing.rect(area, 0.0, ink);
        }
        Sample::Earlier => {
            let paint = Paint {
                stroke: "currentColor",
                width: 1.4,
                dash: "1 2.5",
                ..Paint::default()
            };
            drawing.rect(area, 0.0, paint);
        }
        Sample::Pin => pin(drawing, [x + SAMPLE / 2.0, y], "A"),
    }
}

/// An observation: its letter in a lozenge.
pub(super) fn pin(drawing: &mut Drawing, [x, y]: [f64; 2], label: &str) {
    let half = 9.0 + 3.5 * (label.chars().count().saturating_sub(1)) as f64;
    let ring = [[x, y - 10.5], [x + half + 2.0, y], [x, y + 10.5], [x - half - 2.0, y]];
    let paint = Paint {
        fill: "#ffffff",
        stroke: "#111111",
        width: 1.2,
        ..Paint::default()
    };
    drawing.rings([ring.as_slice()], paint);
    let lettering = Lettering {
        size: 11.0,
        anchor: "middle",
        fill: "#111111",
        weight: "bold",
    };
    drawing.text([x, y + 4.0], label, lettering);
}
