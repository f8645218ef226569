//! The temperature scale that a file's values are likely to have. A proposal: a file seldom states it.

use crate::calibrate::colour_bar;
use crate::read::{Packing, Picture, RawFrame, Stored, StoredKind};
use crate::statistic;

/// What is proposed for a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// The scale's word; None where none fits.
    pub scale: Option<&'static str>,
    /// Why, and what to do about it.
    pub note: String,
}

/// Median temperature in °C of a scene that a plant shows: a cold yard to a warm hall.
const USUAL_C: std::ops::RangeInclusive<f64> = -40.0..=45.0;

/// How a scale's values become °C, for files of counts and for files of numbers with decimals.
struct Scale {
    word: &'static str,
    celsius: fn(f64) -> f64,
    of_counts: bool,
}

/// Likelier ones first: of two that fit the first is proposed, and the other named.
const SCALES: [Scale; 5] = [
    Scale {
        word: "centikelvin",
        celsius: |value| 0.01 * value - 273.15,
        of_counts: true,
    },
    Scale {
        word: "decikelvin",
        celsius: |value| 0.1 * value - 273.15,
        of_counts: true,
    },
    Scale {
        word: "celsius",
        celsius: |value| value,
        of_counts: false,
    },
    Scale {
        word: "kelvin",
        celsius: |value| value - 273.15,
        of_counts: false,
    },
    Scale {
        word: "fahrenheit",
        celsius: |value| (value - 32.0) * 5.0 / 9.0,
        of_counts: false,
    },
];

/// The proposal for a file.
#[must_use]
pub fn of(raw: &RawFrame) -> Proposal {
    match raw.stored() {
        Stored::Rgb(picture) => of_picture(picture, raw.packing()),
        _ if raw.kind() == StoredKind::Counts8 => Proposal {
            scale: Some("colour-bar"),
            note: format!(
                "proposed: 8 bits a pixel are a picture, not temperatures: {BAR}; PROPOSAL, confirm it and clear this note"
            ),
        },
        _ => of_values(raw),
    }
}

const BAR: &str = "state bar_low_c and bar_high_c";

fn of_picture(picture: &Picture, packing: Packing) -> Proposal {
    // Only where the bar is matters here, so any limits will do.
    let stated = colour_bar::Stated {
        low_c: 0.0,
        high_c: 1.0,
        box_px: None,
    };
    let found = match colour_bar::read((picture, packing), &stated) {
        Ok(screen) => {
            let [x, y, w, h] = screen.bar.box_px;
            format!("a colour bar was found at {x} {y} {w} {h}: {BAR}")
        }
        Err(_) => format!(
            "no colour bar was found: if this is a photograph, take the row away and name the file under visible_file; else {BAR} and bar_box_px"
        ),
    };
    Proposal {
        scale: Some("colour-bar"),
        note: format!("proposed: a picture of colours; {found}; PROPOSAL, confirm it and clear this note"),
    }
}

fn of_values(raw: &RawFrame) -> Proposal {
    let mut sample: Vec<f64> = raw
        .values()
        .iter()
        .flat_map(|values| values.iter().copied())
        .filter(|value| value.is_finite())
        .map(f64::from)
        .collect();
    let (low, high) = sample
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(*value), high.max(*value))
        });
    let Some(median) = statistic::median(&mut sample) else {
        return Proposal {
            scale: None,
            note: "the file holds no readings: no scale is proposed".to_owned(),
        };
    };
    let is_counts = !matches!(
        raw.kind(),
        StoredKind::Float16 | StoredKind::Float32 | StoredKind::Float64 | StoredKind::Grid
    );
    let fits: Vec<&Scale> = SCALES
        .iter()
        .filter(|scale| USUAL_C.contains(&(scale.celsius)(median)))
        // Whole numbers of 16 bits would be whole kelvin, which no instrument writes.
        .filter(|scale| scale.of_counts || !is_counts)
        .collect();
    let seen = format!("values {} to {}, median {}", short(low), short(high), short(median));
    let Some((first, others)) = fits.split_first() else {
        return Proposal {
            scale: None,
            note: format!("{seen}: no scale fits by itself; state linear, or sensor with a camera"),
        };
    };
    let mut note = format!(
        "proposed: {seen}, as {} a median of {:.1} °C",
        first.word,
        (first.celsius)(median)
    );
    for other in others {
        note.push_str(&format!("; or {}, {:.1} °C", other.word, (other.celsius)(median)));
    }
    note.push_str("; PROPOSAL, confirm it and clear this note");
    Proposal {
        scale: Some(first.word),
        note,
    }
}

fn short(value: f64) -> String {
    if value.fract() == 0.0 {
        format!("{value:.0}")
    } else {
        format!("{value:.1}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::Array2;

    fn counts(value: u16) -> RawFrame {
        RawFrame::from_stored(Stored::U16(Array2::from_elem((20, 20), value)), StoredKind::Counts16)
    }

    fn floats(value: f32) -> RawFrame {
        RawFrame::from_stored(Stored::F32(Array2::from_elem((20, 20), value)), StoredKind::Float32)
    }

    #[test]
    fn the_range_of_values_proposes_the_scale() {
        // 20 °C in each scale, and what it may be taken for besides.
        assert_eq!(of(&counts(29_315)).scale, Some("centikelvin"));
        assert_eq!(of(&counts(2931)).scale, Some("decikelvin"));
        assert_eq!(of(&floats(20.0)).scale, Some("celsius"));
        assert_eq!(of(&floats(293.15)).scale, Some("kelvin"));
        assert_eq!(of(&floats(68.0)).scale, Some("fahrenheit"));
        assert!(of(&floats(20.0)).note.contains("or fahrenheit, -6.7 °C"));
        for proposal in [counts(29_315), floats(68.0)].iter().map(of) {
            assert!(proposal.note.contains("PROPOSAL"), "{}", proposal.note);
        }
    }

    #[test]
    fn counts_of_no_scale_get_none() {
        for odd in [counts(0), counts(9000), counts(65_535)] {
            let proposal = of(&odd);
            assert_eq!(proposal.scale, None, "{proposal:?}");
            assert!(proposal.note.contains("linear, or sensor"), "{proposal:?}");
        }
        assert_eq!(of(&floats(f32::NAN)).scale, None);
    }

    #[test]
    fn eight_bits_are_a_picture() {
        let grey = RawFrame::from_stored(Stored::U8(Array2::from_elem((20, 20), 7)), StoredKind::Counts8);
        let photo = RawFrame::from_stored(
            Stored::Rgb(Array2::from_elem((40, 40), [9, 80, 7])),
            StoredKind::Picture,
        );
        assert_eq!(of(&grey).scale, Some("colour-bar"));
        assert_eq!(of(&photo).scale, Some("colour-bar"));
        assert!(of(&photo).note.contains("no colour bar was found"));
    }
}
