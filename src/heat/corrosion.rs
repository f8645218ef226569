//! Corrosion under insulation: temperature ranges and the published screening rates for ferritic steel.

use super::{HeatError, Quantity};

/// Coldest metal temperature at which corrosion under insulation generally occurs on carbon steel, °C (10 °F).
pub const CORRODING_FROM_C: f64 = -12.0;
/// Warmest metal temperature at which it generally occurs, °C (350 °F).
pub const CORRODING_TO_C: f64 = 175.0;

/// Thousandth of an inch in mm.
const MIL_MM: f64 = 0.0254;

/// How aggressively the surroundings wet the insulation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Exposure {
    /// Very dry or cold, or indoors above the dew point.
    Dry,
    /// Wet less than 30 % of the time.
    Mild,
    /// Wet 30 to 60 % of the time.
    Moderate,
    /// Wet more than 60 % of the time, salt-laden air, deluge tests.
    Severe,
}

/// Base rates in thousandths of an inch a year: (°F, severe, moderate, mild, dry).
///
/// Source: API RP 581, 3rd edition Addendum 2, Part 2 Table 16.2, read there; linear interpolation permitted.
const BASE_RATES_MPY: [(f64, [f64; 4]); 9] = [
    (10.0, [0.0, 0.0, 0.0, 0.0]),
    (18.0, [3.0, 1.0, 0.0, 0.0]),
    (43.0, [10.0, 5.0, 3.0, 1.0]),
    (90.0, [10.0, 5.0, 3.0, 1.0]),
    (160.0, [20.0, 10.0, 5.0, 2.0]),
    (225.0, [10.0, 5.0, 1.0, 1.0]),
    (275.0, [10.0, 2.0, 1.0, 0.0]),
    (325.0, [5.0, 1.0, 0.0, 0.0]),
    (350.0, [0.0, 0.0, 0.0, 0.0]),
];

const METAL_TEMPERATURE: Quantity = Quantity {
    what: "metal temperature",
    unit: "°C",
};

impl Exposure {
    /// Rate of this exposure in one row of the table.
    fn of(self, row: &[f64; 4]) -> f64 {
        let [severe, moderate, mild, dry] = *row;
        match self {
            Self::Severe => severe,
            Self::Moderate => moderate,
            Self::Mild => mild,
            Self::Dry => dry,
        }
    }
}

/// Screening rate of corrosion under insulation of bare ferritic steel at `metal_c`, mm a year.
///
/// Linear in °F between the published points, 0 outside them. A screening figure: factors for coating, insulation
/// type and condition are not applied. Errors: metal outside −100 to 400 °C.
pub fn screening_rate_mm_per_year(metal_c: f64, exposure: Exposure) -> Result<f64, HeatError> {
    METAL_TEMPERATURE.within(metal_c, -100.0..=400.0)?;
    let metal_f = metal_c * 1.8 + 32.0;
    for (&(cold_f, ref cold), &(warm_f, ref warm)) in BASE_RATES_MPY.iter().zip(BASE_RATES_MPY.iter().skip(1)) {
        if (cold_f..=warm_f).contains(&metal_f) {
            let share = (metal_f - cold_f) / (warm_f - cold_f);
            let (from_mpy, to_mpy) = (exposure.of(cold), exposure.of(warm));
            return Ok((from_mpy + share * (to_mpy - from_mpy)) * MIL_MM);
        }
    }
    Ok(0.0)
}

/// Greatest screening rate the metal meets while it passes from `coldest_c` to `warmest_c`, mm a year.
///
/// Errors: as [`screening_rate_mm_per_year`]. The two ends may come in either order.
pub fn worst_screening_rate_mm_per_year(coldest_c: f64, warmest_c: f64, exposure: Exposure) -> Result<f64, HeatError> {
    let ends = screening_rate_mm_per_year(coldest_c, exposure)?.max(screening_rate_mm_per_year(warmest_c, exposure)?);
    let (low_f, high_f) = (
        coldest_c.min(warmest_c) * 1.8 + 32.0,
        coldest_c.max(warmest_c) * 1.8 + 32.0,
    );
    // Linear pieces have their maxima at the table's points or at the ends of the span.
    Ok(BASE_RATES_MPY
        .iter()
        .filter(|(at_f, _)| (low_f..=high_f).contains(at_f))
        .map(|(_, row)| exposure.of(row) * MIL_MM)
        .fold(ends, f64::max))
}

/// Whether carbon steel that spans `coldest_c` to `warmest_c` passes through the corroding range of −12 to 175 °C.
pub fn passes_corroding_range(coldest_c: f64, warmest_c: f64) -> bool {
    coldest_c.min(warmest_c) <= CORRODING_TO_C && coldest_c.max(warmest_c) >= CORRODING_FROM_C
}

/// Whether the metal thaws and freezes in its cycle; an engineering rule of this project, no standard's number.
pub fn cycles_through_freezing(coldest_c: f64, warmest_c: f64) -> bool {
    coldest_c.min(warmest_c) < 0.0 && coldest_c.max(warmest_c) > 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_span_across_the_peak_meets_the_peak() {
        let worst = worst_screening_rate_mm_per_year(-30.0, 120.0, Exposure::Severe).unwrap();
        assert!((worst - 20.0 * MIL_MM).abs() < 1.0e-12);
        let frozen = worst_screening_rate_mm_per_year(-40.0, -20.0, Exposure::Severe).unwrap();
        assert_eq!(frozen, 0.0);
    }

    #[test]
    fn ranges_look_at_the_whole_cycle() {
        assert!(!passes_corroding_range(-40.0, -30.0));
        assert!(passes_corroding_range(-40.0, 15.0));
        assert!(passes_corroding_range(-40.0, 200.0));
        assert!(cycles_through_freezing(10.0, -33.0));
        assert!(!cycles_through_freezing(2.0, 10.0));
    }

    #[test]
    fn nonsense_metal_is_refused() {
        assert!(screening_rate_mm_per_year(f64::NAN, Exposure::Dry).is_err());
        assert!(screening_rate_mm_per_year(900.0, Exposure::Dry).is_err());
    }
}
