//! Units as people read them. Inside the program everything is SI; only words and pictures are shown in the chosen unit.

mod sentence;

/// Which units people see.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, clap::ValueEnum, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// °C, K, m, W.
    #[default]
    Si,
    /// °F, ft, ft², Btu/h.
    Us,
}

/// One foot in m (exact, international foot).
const FOOT_M: f64 = 0.3048;
/// One Btu (IT) an hour in W.
const BTU_H_W: f64 = 0.293_071_07;
/// One mile an hour in m/s (exact).
const MPH_M_S: f64 = 0.447_04;
/// One pound-force a square inch in kPa (from exact definitions).
const PSI_KPA: f64 = 6.894_757_293_168;

impl Units {
    /// A temperature given in °C.
    #[must_use]
    pub fn temperature(self, celsius: f64) -> String {
        match self {
            Self::Si => format!("{} °C", rounded(celsius, 1)),
            Self::Us => format!("{} °F", rounded(celsius * 1.8 + 32.0, 1)),
        }
    }

    /// The number of a temperature given in °C.
    #[must_use]
    pub fn temperature_number(self, celsius: f64) -> f64 {
        match self {
            Self::Si => celsius,
            Self::Us => celsius * 1.8 + 32.0,
        }
    }

    /// The unit of temperatures.
    #[must_use]
    pub fn temperature_sign(self) -> &'static str {
        match self {
            Self::Si => "°C",
            Self::Us => "°F",
        }
    }

    /// The number and unit of a temperature difference given in K.
    #[must_use]
    pub fn difference_parts(self, kelvin: f64) -> (f64, &'static str) {
        match self {
            Self::Si => (kelvin, "K"),
            Self::Us => (kelvin * 1.8, "°F"),
        }
    }

    /// The number and unit of a length given in m.
    #[must_use]
    pub fn length_parts(self, metres: f64) -> (f64, &'static str) {
        match self {
            Self::Si => (metres, "m"),
            Self::Us => (metres / FOOT_M, "ft"),
        }
    }

    /// The number and unit of an area given in m².
    #[must_use]
    pub fn area_parts(self, square_metres: f64) -> (f64, &'static str) {
        match self {
            Self::Si => (square_metres, "m²"),
            Self::Us => (square_metres / (FOOT_M * FOOT_M), "ft²"),
        }
    }

    /// The number and unit of a heat flow given in W.
    #[must_use]
    pub fn power_parts(self, watts: f64) -> (f64, &'static str) {
        match self {
            Self::Si => (watts, "W"),
            Self::Us => (watts / BTU_H_W, "Btu/h"),
        }
    }

    /// A thickness given in m, in mm or inches.
    #[must_use]
    pub fn thickness(self, metres: f64) -> String {
        match self {
            Self::Si => format!("{} mm", rounded(1000.0 * metres, 0)),
            Self::Us => format!("{} in", rounded(12.0 * metres / FOOT_M, 1)),
        }
    }

    /// The thickness of a metal wall given in m, as a gauge reads it.
    #[must_use]
    pub fn wall(self, metres: f64) -> String {
        match self {
            Self::Si => format!("{} mm", rounded(1000.0 * metres, 2)),
            Self::Us => format!("{} in", rounded(12.0 * metres / FOOT_M, 3)),
        }
    }

    /// A temperature difference given in K.
    #[must_use]
    pub fn difference(self, kelvin: f64) -> String {
        match self {
            Self::Si => format!("{} K", rounded(kelvin, 1)),
            Self::Us => format!("{} °F", rounded(kelvin * 1.8, 1)),
        }
    }

    /// A length given in m.
    #[must_use]
    pub fn length(self, metres: f64) -> String {
        match self {
            Self::Si => format!("{} m", rounded(metres, 2)),
            Self::Us => format!("{} ft", rounded(metres / FOOT_M, 1)),
        }
    }

    /// A length in whole metres or feet, for ticks.
    #[must_use]
    pub fn short_length(self, metres: f64) -> String {
        match self {
            Self::Si => format!("{} m", rounded(metres, 0)),
            Self::Us => format!("{} ft", rounded(metres / FOOT_M, 0)),
        }
    }

    /// An area given in m².
    #[must_use]
    pub fn area(self, square_metres: f64) -> String {
        match self {
            Self::Si => format!("{} m²", rounded(square_metres, 2)),
            Self::Us => format!("{} ft²", rounded(square_metres / (FOOT_M * FOOT_M), 1)),
        }
    }

    /// A heat flow given in W.
    #[must_use]
    pub fn power(self, watts: f64) -> String {
        match self {
            Self::Si => format!("{} W", rounded(watts, 0)),
            Self::Us => format!("{} Btu/h", rounded(watts / BTU_H_W, 0)),
        }
    }

    /// A wind speed given in m/s.
    #[must_use]
    pub fn speed(self, metres_per_second: f64) -> String {
        match self {
            Self::Si => format!("{} m/s", rounded(metres_per_second, 1)),
            Self::Us => format!("{} mph", rounded(metres_per_second / MPH_M_S, 1)),
        }
    }

    /// A sentence written in SI, its quantities in these units.
    #[must_use]
    pub fn sentence(self, text: &str) -> String {
        match self {
            Self::Si => text.to_owned(),
            Self::Us => sentence::to_us(text),
        }
    }
}

/// A number with so many decimals, never "-0.0".
fn rounded(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
        _ => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_systems_show_the_same_thing() {
        assert_eq!(Units::Si.temperature(-40.0), "-40.0 °C");
        assert_eq!(Units::Us.temperature(-40.0), "-40.0 °F");
        assert_eq!(Units::Us.difference(5.0), "9.0 °F");
        assert_eq!(Units::Us.length(3.048), "10.0 ft");
        assert_eq!(Units::Us.area(9.290_304), "100.0 ft²");
        assert_eq!(Units::Us.power(293.071_07), "1000 Btu/h");
        assert_eq!(Units::Us.speed(4.4704), "10.0 mph");
        assert_eq!(Units::Us.wall(0.0254), "1.000 in");
        assert_eq!(Units::Si.wall(0.0082), "8.20 mm");
        assert_eq!(Units::Si.temperature(-0.04), "0.0 °C");
    }
}
