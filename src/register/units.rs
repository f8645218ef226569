//! Units by the suffix of a column's name, their accepted twins, and ranges of what is physically possible.

/// A unit that a column's name ends in: SI value = (written + `shift`) · `factor` / `divisor`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Unit {
    /// End of the column's name, with its underscore.
    suffix: &'static str,
    /// What a person reads.
    label: &'static str,
    shift: f64,
    factor: f64,
    divisor: f64,
}

impl Unit {
    const fn new(suffix: &'static str, label: &'static str, factor: f64, divisor: f64) -> Self {
        Self {
            suffix,
            label,
            shift: 0.0,
            factor,
            divisor,
        }
    }

    /// The written value in SI (m, °C, m/s, kPa, m²).
    pub(crate) fn to_si(self, written: f64) -> f64 {
        (written + self.shift) * self.factor / self.divisor
    }

    /// An SI value as it would be written in this unit.
    pub(crate) fn written(self, si: f64) -> f64 {
        si * self.divisor / self.factor - self.shift
    }

    /// A number with this unit, to six figures.
    pub(crate) fn told(self, si: f64) -> String {
        with_label(&short(self.written(si)), self.label)
    }

    fn is_length(self) -> bool {
        LENGTHS.iter().any(|(_, label, _)| *label == self.label)
    }
}

fn with_label(number: &str, label: &str) -> String {
    if label.is_empty() {
        number.to_owned()
    } else {
        format!("{number} {label}")
    }
}

/// Pure numbers, and units without a twin that are kept as written.
const NO_UNIT: Unit = Unit::new("", "", 1.0, 1.0);

// 1 in = 25.4 mm, 1 ft = 0.3048 m, 1 mile/h = 0.44704 m/s, t/°C = (t/°F − 32) · 5/9: exact by definition.
// 1 psi = 6.894757293168 kPa: from 1 lbf = 4.4482216152605 N and 1 in² = 6.4516 cm², both exact.
const FAHRENHEIT: Unit = Unit {
    suffix: "_f",
    label: "°F",
    shift: -32.0,
    factor: 5.0,
    divisor: 9.0,
};
const TWINS: [(Unit, Unit); 6] = [
    (
        Unit::new("_mm", "mm", 1.0, 1000.0),
        Unit::new("_in", "in", 25.4, 1000.0),
    ),
    (Unit::new("_m", "m", 1.0, 1.0), Unit::new("_ft", "ft", 0.3048, 1.0)),
    (Unit::new("_c", "°C", 1.0, 1.0), FAHRENHEIT),
    (
        Unit::new("_m_s", "m/s", 1.0, 1.0),
        Unit::new("_mph", "mph", 0.44704, 1.0),
    ),
    (
        Unit::new("_kpa_gauge", "kPa gauge", 1.0, 1.0),
        Unit::new("_psig", "psig", 6.894_757_293_168, 1.0),
    ),
    (
        Unit::new("_m2", "m²", 1.0, 1.0),
        Unit::new("_ft2", "ft²", 0.092_903_04, 1.0),
    ),
];

/// Units without a twin. 1 inHg = 3.386389 kPa: conventional inch of mercury at 0 °C (from memory, not confirmed).
const SINGLE: [Unit; 10] = [
    Unit::new("_inhg_vacuum", "inHg vacuum", 3.386_389, 1.0),
    Unit::new("_kpa", "kPa", 1.0, 1.0),
    Unit::new("_mpa", "MPa", 1.0, 1.0),
    Unit::new("_w_mk", "W/(m K)", 1.0, 1.0),
    Unit::new("_um_k", "µm K", 1.0, 1.0),
    Unit::new("_um", "µm", 1.0, 1.0),
    Unit::new("_k", "K", 1.0, 1.0),
    Unit::new("_pct", "%", 1.0, 1.0),
    Unit::new("_deg", "°", 1.0, 1.0),
    Unit::new("_px", "px", 1.0, 1.0),
];

/// The unit of a column's own (first) name.
pub(crate) fn unit_of(key: &str) -> Unit {
    let firsts = TWINS.iter().map(|(first, _)| first);
    firsts
        .chain(&SINGLE)
        .filter(|unit| key.ends_with(unit.suffix))
        .max_by_key(|unit| unit.suffix.len())
        .map_or(NO_UNIT, |u| *u)
}

/// The accepted twin of a column's own name, and its unit.
pub(crate) fn twin_of(key: &str) -> Option<(String, Unit)> {
    let unit = unit_of(key);
    let (_, twin) = TWINS.iter().find(|(first, _)| first.suffix == unit.suffix)?;
    let stem = key.strip_suffix(unit.suffix)?;
    Some((format!("{stem}{}", twin.suffix), *twin))
}

/// Which of `known` a heading means, and in which unit it is written.
pub(crate) fn resolve(heading: &str, known: &[&'static str]) -> Option<(&'static str, Unit)> {
    if let Some(key) = known.iter().find(|key| **key == heading) {
        return Some((key, unit_of(key)));
    }
    known.iter().find_map(|key| {
        let (name, unit) = twin_of(key)?;
        (name == heading).then_some((*key, unit))
    })
}

/// Every heading that `known` accepts, twins among them.
pub(crate) fn spellings(known: &[&'static str]) -> Vec<String> {
    let twins = known.iter().filter_map(|key| twin_of(key).map(|(name, _)| name));
    known.iter().map(|key| (*key).to_owned()).chain(twins).collect()
}

/// What is physically possible, in SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Range {
    low: f64,
    high: f64,
    low_end: End,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum End {
    Included,
    Excluded,
}

impl Range {
    /// Any number.
    pub(crate) const ANY: Self = Self::between(f64::MIN, f64::MAX);

    /// `low` to `high`, both possible.
    pub(crate) const fn between(low: f64, high: f64) -> Self {
        Self {
            low,
            high,
            low_end: End::Included,
        }
    }

    /// More than `low`, up to `high`.
    pub(crate) const fn above(low: f64, high: f64) -> Self {
        Self {
            low,
            high,
            low_end: End::Excluded,
        }
    }

    /// Whether an SI value is possible; NaN is not.
    pub(crate) fn holds(self, si: f64) -> bool {
        let is_low_enough = si <= self.high;
        let is_high_enough = match self.low_end {
            End::Included => si >= self.low,
            End::Excluded => si > self.low,
        };
        is_low_enough && is_high_enough
    }

    /// The range as it would be written in `unit`.
    pub(crate) fn told(self, unit: Unit) -> String {
        if self == Self::ANY {
            return "a number".to_owned();
        }
        let (low, high) = (
            short(unit.written(self.low)),
            with_label(&short(unit.written(self.high)), unit.label),
        );
        match self.low_end {
            End::Included => format!("{low} to {high}"),
            End::Excluded => format!("above {low}, up to {high}"),
        }
    }
}

/// Length units that get mixed up, by the number of metres in one.
const LENGTHS: [(&str, &str, f64); 4] = [
    ("metres", "m", 1.0),
    ("millimetres", "mm", 0.001),
    ("inches", "in", 0.0254),
    ("feet", "ft", 0.3048),
];

/// What an impossible number probably is: a length in another unit, or a fraction in per cent.
pub(crate) fn looks_like(written: f64, unit: Unit, range: Range) -> Option<String> {
    // A position may be zero or negative, so that nothing can be told from its size.
    let is_size = unit.is_length() && range.low > 0.0;
    if is_size {
        let others = LENGTHS.iter().filter(|(_, label, _)| *label != unit.label);
        let (name, label, metres) = others
            .into_iter()
            .find(|(_, _, metres)| range.holds(written * metres))?;
        let would_be = short(unit.written(written * metres));
        return Some(format!(
            "looks like {name}: {} {label} would be {would_be}",
            short(written)
        ));
    }
    let is_fraction = unit == NO_UNIT && range.high == 1.0 && written > 1.0;
    let is_per_cent = is_fraction && range.holds(written / 100.0);
    is_per_cent.then(|| {
        format!(
            "looks like per cent: {} % would be {}",
            short(written),
            short(written / 100.0)
        )
    })
}

/// A number to six figures, without trailing zeros.
pub(crate) fn short(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return if value == 0.0 {
            "0".to_owned()
        } else {
            value.to_string()
        };
    }
    let rounded: f64 = format!("{value:.5e}").parse().unwrap_or(value);
    if rounded.abs() < 1e12 {
        rounded.to_string()
    } else {
        format!("{rounded:e}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_pair_converts_and_returns() {
        let cases = [
            ("outside_diameter_mm", "outside_diameter_in", 10.0, 0.254),
            ("distance_m", "distance_ft", 10.0, 3.048),
            ("air_temperature_c", "air_temperature_f", 50.0, 10.0),
            ("wind_m_s", "wind_mph", 10.0, 4.4704),
            (
                "suction_pressure_kpa_gauge",
                "suction_pressure_psig",
                10.0,
                68.947_572_931_68,
            ),
            ("area_m2", "area_ft2", 10.0, 0.929_030_4),
        ];
        for (first, twin, written, si) in cases {
            let (name, unit) = twin_of(first).unwrap();
            assert_eq!(name, twin);
            assert!(
                (unit.to_si(written) - si).abs() < 1e-12,
                "{twin}: {}",
                unit.to_si(written)
            );
            assert!((unit.written(si) - written).abs() < 1e-12, "{twin}");
            assert_eq!(resolve(twin, &[first]), Some((first, unit)));
        }
        assert_eq!(unit_of("length_mm").to_si(1800.0), 1.8);
        assert_eq!(unit_of("suction_pressure_inhg_vacuum").to_si(10.0), 33.863_89);
    }

    #[test]
    fn half_widths_and_names_without_units_have_no_twin() {
        for key in [
            "air_temperature_k",
            "insulation_conductivity_w_mk",
            "relative_humidity_pct",
            "note",
            "asset",
            "c",
        ] {
            assert_eq!(twin_of(key), None, "{key}");
        }
    }

    #[test]
    fn ranges_are_told_in_the_columns_unit() {
        let range = Range::between(0.02, 30.0);
        assert_eq!(range.told(unit_of("outside_diameter_mm")), "20 to 30000 mm");
        assert_eq!(
            range.told(twin_of("outside_diameter_mm").unwrap().1),
            "0.787402 to 1181.1 in"
        );
        assert_eq!(Range::above(0.0, 1.0).told(NO_UNIT), "above 0, up to 1");
        assert!(!Range::above(0.0, 1.0).holds(0.0) && Range::above(0.0, 1.0).holds(1.0));
        assert!(!Range::between(0.0, 1.0).holds(f64::NAN));
    }

    #[test]
    fn other_units_are_recognised() {
        let (mm, diameter) = (unit_of("outside_diameter_mm"), Range::between(0.02, 30.0));
        assert_eq!(
            looks_like(1.8, mm, diameter).unwrap(),
            "looks like metres: 1.8 m would be 1800"
        );
        let thickness = Range::between(0.005, 1.0);
        assert_eq!(
            looks_like(4.0, mm, thickness).unwrap(),
            "looks like inches: 4 in would be 101.6"
        );
        let inch = twin_of("outside_diameter_mm").unwrap().1;
        assert_eq!(
            looks_like(1800.0, inch, diameter).unwrap(),
            "looks like millimetres: 1800 mm would be 70.8661"
        );
        assert_eq!(
            looks_like(95.0, NO_UNIT, Range::above(0.0, 1.0)).unwrap(),
            "looks like per cent: 95 % would be 0.95"
        );
        assert_eq!(looks_like(-1.0, mm, diameter), None);
        assert_eq!(
            looks_like(300.0, unit_of("air_temperature_c"), Range::between(-80.0, 60.0)),
            None
        );
    }
}
