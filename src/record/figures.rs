//! The record's figures, each drawn once as vectors and shown by the pages and the PDFs alike.
//!
//! Lines and letters are in the page's own ink (`currentColor`), so that one drawing serves light and dark. No meaning
//! hangs on colour alone: what is to be followed up has a heavy line and a boxed number, what is set aside a dashed line
//! and a number in brackets, what was rejected a dotted line and a struck number.

pub mod frame;
pub mod sound;
pub mod unrolled;

use super::svg::{Drawing, Lettering, Paint};

/// A figure.
#[derive(Debug, Clone)]
pub struct Figure {
    /// Its name within the record: letters, digits and hyphens.
    pub name: String,
    /// The drawing.
    pub svg: String,
    /// What it shows, in words.
    pub words: String,
}

/// How a zone stands in the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// On the list.
    Listed,
    /// Set aside by the program, with its reason.
    SetAside,
    /// Rejected by the inspector.
    Rejected,
}

/// A zone as a figure names it.
#[derive(Debug, Clone)]
pub struct Mark<'a> {
    /// The zone's name.
    pub id: &'a str,
    /// Its number on the figure.
    pub label: &'a str,
    /// What a pointer at rest tells.
    pub words: &'a str,
    /// How it stands.
    pub standing: Standing,
}

/// Dashes of an outline.
fn dash(standing: Standing) -> &'static str {
    match standing {
        Standing::Listed => "",
        Standing::SetAside => "7 4",
        Standing::Rejected => "2 3",
    }
}

/// Opens the group of a zone: what a page finds by its name, and a keyboard can reach.
fn open_zone(drawing: &mut Drawing, mark: &Mark) {
    let class = match mark.standing {
        Standing::Listed => "zone listed",
        Standing::SetAside => "zone aside",
        Standing::Rejected => "zone rejected",
    };
    drawing.open(&[
        ("class", class),
        ("data-zone", mark.id),
        ("tabindex", "0"),
        ("role", "button"),
        ("aria-label", mark.words),
    ]);
    drawing.title(mark.words);
}

/// Height of a tag.
const TAG: f64 = 18.0;

/// Width of a tag.
fn tag_width(mark: &Mark) -> f64 {
    let letters = mark.label.chars().count() as f64 + if mark.standing == Standing::SetAside { 1.2 } else { 0.0 };
    8.0 * letters + 9.0
}

/// The number of a zone in its box, about a place.
fn tag(drawing: &mut Drawing, [x, y]: [f64; 2], mark: &Mark) {
    let width = tag_width(mark);
    let (line, radius) = match mark.standing {
        Standing::Listed => (1.8, 1.0),
        Standing::SetAside | Standing::Rejected => (0.9, TAG / 2.0),
    };
    let boxed = Paint {
        class: "tag",
        fill: "#ffffff",
        stroke: "#111111",
        width: line,
        ..Paint::default()
    };
    drawing.rect([x - width / 2.0, y - TAG / 2.0, width, TAG], radius, boxed);
    let text = match mark.standing {
        Standing::SetAside => format!("({})", mark.label),
        Standing::Listed | Standing::Rejected => mark.label.to_owned(),
    };
    let lettering = Lettering {
        size: 13.0,
        anchor: "middle",
        fill: "#111111",
        weight: if mark.standing == Standing::Listed {
            "bold"
        } else {
            "normal"
        },
    };
    drawing.text([x, y + 4.6], &text, lettering);
    if mark.standing == Standing::Rejected {
        let strike = Paint {
            stroke: "#111111",
            width: 1.6,
            ..Paint::default()
        };
        drawing.line([x - width / 2.0 + 2.0, y], [x + width / 2.0 - 2.0, y], strike);
    }
}

/// Distance between ticks: 1, 2 or 5 times a power of ten, for at most `most` of them over a span.
fn tick_step(span: f64, most: f64) -> f64 {
    let raw = (span / most).max(1e-9);
    let power = 10f64.powf(raw.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|factor| factor * power)
        .find(|step| *step >= raw * 0.999)
        .unwrap_or(10.0 * power)
}

/// A tick's number with as many decimals as its step needs.
fn tick_words(value: f64, step: f64) -> String {
    let decimals = (-step.log10().floor()).clamp(0.0, 3.0) as usize;
    let text = format!("{value:.decimals$}");
    if text.trim_start_matches('-').chars().all(|c| matches!(c, '0' | '.')) {
        text.trim_start_matches('-').to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round() {
        assert_eq!(tick_step(3.4, 8.0), 0.5);
        assert_eq!(tick_step(200.0, 12.0), 20.0);
        assert_eq!(tick_words(1.5, 0.5), "1.5");
        assert_eq!(tick_words(-0.0, 1.0), "0");
    }
}
