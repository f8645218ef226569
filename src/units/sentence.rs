//! Quantities inside a sentence, from SI to what people in the US read.
//!
//! Reasons are written once, in SI, where they arise; whoever shows them to a person turns them here.

/// How a unit of a sentence is turned: written = SI · factor + shift.
struct Turn {
    si: &'static str,
    us: &'static str,
    factor: f64,
    shift: f64,
}

/// Longer names before those they begin with.
const TURNS: [Turn; 8] = [
    Turn {
        si: "°C",
        us: "°F",
        factor: 1.8,
        shift: 32.0,
    },
    Turn {
        si: "kPa",
        us: "psi",
        factor: 1.0 / super::PSI_KPA,
        shift: 0.0,
    },
    Turn {
        si: "K",
        us: "°F",
        factor: 1.8,
        shift: 0.0,
    },
    Turn {
        si: "m/s",
        us: "mph",
        factor: 1.0 / super::MPH_M_S,
        shift: 0.0,
    },
    Turn {
        si: "mm",
        us: "in",
        factor: 1.0 / (1000.0 / 12.0 * super::FOOT_M),
        shift: 0.0,
    },
    Turn {
        si: "m²",
        us: "ft²",
        factor: 1.0 / (super::FOOT_M * super::FOOT_M),
        shift: 0.0,
    },
    Turn {
        si: "m",
        us: "ft",
        factor: 1.0 / super::FOOT_M,
        shift: 0.0,
    },
    Turn {
        si: "W",
        us: "Btu/h",
        factor: 1.0 / super::BTU_H_W,
        shift: 0.0,
    },
];

/// The sentence with every `NUMBER UNIT` and `NUMBER to NUMBER UNIT` turned; decimals stay as many as they were.
pub(super) fn to_us(text: &str) -> String {
    let mut told = String::with_capacity(text.len());
    let mut rest = text;
    let mut before = ' ';
    while let Some(first) = rest.chars().next() {
        // A digit within a word (`v12`) begins no quantity.
        let quantity = if before.is_alphanumeric() || before == '.' {
            None
        } else {
            Quantity::read(rest)
        };
        let length = match quantity {
            Some(quantity) => {
                told.push_str(&quantity.told());
                quantity.length
            }
            None => {
                told.push(first);
                first.len_utf8()
            }
        };
        let (done, left) = rest.split_at(length);
        before = done.chars().next_back().unwrap_or(' ');
        rest = left;
    }
    told
}

/// A quantity at the start of a text.
struct Quantity<'a> {
    numbers: Vec<&'a str>,
    turn: &'static Turn,
    length: usize,
}

impl<'a> Quantity<'a> {
    fn read(text: &'a str) -> Option<Self> {
        let first = number(text)?;
        let mut numbers = vec![first];
        let mut rest = text.strip_prefix(first)?;
        if let Some(after) = rest.strip_prefix(" to ")
            && let Some(second) = number(after)
        {
            numbers.push(second);
            rest = after.strip_prefix(second)?;
        }
        rest = rest.strip_prefix(' ')?;
        let turn = TURNS.iter().find(|turn| {
            rest.strip_prefix(turn.si)
                .is_some_and(|after| !after.starts_with(|c: char| c.is_alphanumeric() || c == '/' || c == '²'))
        })?;
        Some(Self {
            numbers,
            turn,
            length: text.len() - rest.len() + turn.si.len(),
        })
    }

    fn told(&self) -> String {
        let numbers: Vec<String> = self.numbers.iter().map(|number| turned(number, self.turn)).collect();
        format!("{} {}", numbers.join(" to "), self.turn.us)
    }
}

/// The number that a text starts with, sign included.
fn number(text: &str) -> Option<&str> {
    let digits = text.trim_start_matches(['-', '−', '+', '±']);
    let sign = text.len() - digits.len();
    let length = digits
        .find(|c: char| !c.is_ascii_digit() && c != '.')
        .unwrap_or(digits.len());
    let found = text.get(..sign + length)?.trim_end_matches('.');
    (found.len() > sign).then_some(found)
}

fn turned(number: &str, turn: &Turn) -> String {
    let plain = number.replace('−', "-").replace(['+', '±'], "");
    let Ok(si) = plain.parse::<f64>() else {
        return number.to_owned();
    };
    let decimals = plain.split_once('.').map_or(0, |(_, after)| after.len());
    let sign = if number.starts_with('±') { "±" } else { "" };
    format!("{sign}{}", super::rounded(si * turn.factor + turn.shift, decimals))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_are_turned_and_nothing_else() {
        for (si, us) in [
            (
                "wind 9.8 m/s (at most 6.7 m/s): image in a calm",
                "wind 21.9 mph (at most 15.0 mph): image in a calm",
            ),
            (
                "reads 9.0 °C, 2.8 K short, uncertainty ±2.1 K",
                "reads 48.2 °F, 5.0 °F short, uncertainty ±3.8 °F",
            ),
            ("(accepted: −100 to +200 °C)", "(accepted: -148 to 392 °F)"),
            (
                "30.48 m of air, 254 mm, 9.290304 m²",
                "100.00 ft of air, 10 in, 100.000000 ft²",
            ),
            ("101.3 kPa.", "14.7 psi."),
            (
                "the file has 226 bytes, 16 × 16 px, 3 months, 2 mK",
                "the file has 226 bytes, 16 × 16 px, 3 months, 2 mK",
            ),
            ("v12 K, row 7: 40 %", "v12 K, row 7: 40 %"),
            ("", ""),
        ] {
            assert_eq!(to_us(si), us);
        }
    }
}
