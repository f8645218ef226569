//! Expected against measured: the sound jacket of every frame beside what dry insulation would show, with 95 % intervals.

use super::{Figure, tick_step, tick_words};
use crate::record::svg::{Drawing, Lettering, Paint};
use crate::units::Units;

/// One frame's two values in °C with their 95 % half-widths in K.
#[derive(Debug, Clone)]
pub struct Row {
    /// What names the frame.
    pub label: String,
    /// Expected of dry insulation.
    pub expected: (f64, f64),
    /// Sound jacket as measured.
    pub measured: (f64, f64),
    /// Dew or frost point.
    pub dew_point_c: Option<f64>,
}

const WIDTH: f64 = 736.0;
const LABELS: f64 = 190.0;
const ROW: f64 = 34.0;
const TOP: f64 = 8.0;

/// Draws it.
#[must_use]
pub fn draw(name: &str, words: &str, rows: &[Row], units: Units) -> Figure {
    let bottom = TOP + ROW * rows.len() as f64;
    let mut plot = Plot {
        drawing: Drawing::new(WIDTH, bottom + 66.0),
        scale: Scale::of(rows, units),
        units,
        bottom,
    };
    plot.axis();
    for (index, row) in rows.iter().enumerate() {
        plot.row(TOP + ROW * (index as f64 + 0.5), row);
    }
    plot.key(rows.iter().any(|row| row.dew_point_c.is_some()));
    Figure {
        name: name.to_owned(),
        svg: plot.drawing.finish(words),
        words: words.to_owned(),
    }
}

/// Shown temperature to place.
struct Scale {
    low: f64,
    high: f64,
}

impl Scale {
    fn of(rows: &[Row], units: Units) -> Self {
        let ends = rows.iter().flat_map(|row| {
            let two = [row.expected, row.measured];
            let ends = two.into_iter().flat_map(|(value, half)| [value - half, value + half]);
            ends.chain(row.dew_point_c)
        });
        let (low, high) = ends.fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(v), high.max(v)));
        let (low, high) = if low <= high { (low, high) } else { (0.0, 1.0) };
        let room = (0.06 * (high - low)).max(0.2);
        Self {
            low: units.temperature_number(low - room),
            high: units.temperature_number(high + room),
        }
    }

    fn x(&self, shown: f64) -> f64 {
        LABELS + (WIDTH - LABELS - 20.0) * (shown - self.low) / (self.high - self.low)
    }
}

struct Plot {
    drawing: Drawing,
    scale: Scale,
    units: Units,
    bottom: f64,
}

const INK: Paint = Paint {
    class: "",
    fill: "",
    stroke: "currentColor",
    width: 1.0,
    dash: "",
    fill_opacity: 0.0,
};

impl Plot {
    fn axis(&mut self) {
        let step = tick_step(self.scale.high - self.scale.low, 9.0);
        let first = (self.scale.low / step).ceil() as i64;
        let last = (self.scale.high / step).floor() as i64;
        for index in first..=last.min(first + 40) {
            let shown = index as f64 * step;
            let x = self.scale.x(shown);
            let faint = Paint {
                width: 0.4,
                dash: "2 3",
                ..INK
            };
            self.drawing.line([x, TOP], [x, self.bottom], faint);
            let text = format!("{} {}", tick_words(shown, step), self.units.temperature_sign());
            let lettering = Lettering {
                size: 11.5,
                anchor: "middle",
                ..Lettering::default()
            };
            self.drawing.text([x, self.bottom + 16.0], &text, lettering);
        }
        self.drawing
            .line([LABELS, self.bottom], [WIDTH - 20.0, self.bottom], INK);
    }

    fn row(&mut self, y: f64, row: &Row) {
        let lettering = Lettering {
            size: 11.5,
            anchor: "end",
            ..Lettering::default()
        };
        self.drawing
            .text([LABELS - 10.0, y + 4.0], &shortened(&row.label), lettering);
        self.bar(y - 6.0, row.expected);
        self.expected(self.at(row.expected.0), y - 6.0);
        self.bar(y + 6.0, row.measured);
        self.measured(self.at(row.measured.0), y + 6.0);
        if let Some(dew_point_c) = row.dew_point_c {
            self.dew(self.at(dew_point_c), y);
        }
    }

    fn at(&self, celsius: f64) -> f64 {
        self.scale.x(self.units.temperature_number(celsius))
    }

    fn bar(&mut self, y: f64, (value, half): (f64, f64)) {
        let (from, to) = (self.at(value - half), self.at(value + half));
        self.drawing.line([from, y], [to, y], Paint { width: 1.4, ..INK });
        for x in [from, to] {
            self.drawing.line([x, y - 4.0], [x, y + 4.0], INK);
        }
    }

    fn expected(&mut self, x: f64, y: f64) {
        let ring = [[x, y - 5.5], [x + 5.5, y], [x, y + 5.5], [x - 5.5, y]];
        let paint = Paint {
            fill: "#ffffff",
            stroke: "#111111",
            width: 1.4,
            ..Paint::default()
        };
        self.drawing.rings([ring.as_slice()], paint);
    }

    fn measured(&mut self, x: f64, y: f64) {
        let paint = Paint {
            fill: "#c8641e",
            stroke: "#111111",
            width: 1.0,
            ..Paint::default()
        };
        self.drawing.circle([x, y], 4.6, paint);
    }

    fn dew(&mut self, x: f64, y: f64) {
        self.drawing.line(
            [x, y - 12.0],
            [x, y + 12.0],
            Paint {
                width: 1.2,
                dash: "3 2",
                ..INK
            },
        );
    }

    fn key(&mut self, has_dew: bool) {
        let y = self.bottom + 42.0;
        let small = Lettering {
            size: 11.5,
            ..Lettering::default()
        };
        self.expected(18.0, y - 4.0);
        self.drawing.text([30.0, y], "expected of dry insulation, 95 %", small);
        self.measured(262.0, y - 4.0);
        self.drawing
            .text([274.0, y], "sound jacket as measured, 95 % of the camera", small);
        if has_dew {
            self.dew(566.0, y - 4.0);
            self.drawing.text([576.0, y], "dew or frost point", small);
        }
    }
}

/// A file's name that fits before the plot: its end is what tells files apart.
fn shortened(label: &str) -> String {
    const MOST: usize = 27;
    let count = label.chars().count();
    if count <= MOST {
        return label.to_owned();
    }
    let end: String = label.chars().skip(count - (MOST - 1)).collect();
    format!("…{end}")
}
