//! How a zone went over several surveys: a straight line through its ratios and its areas.

use jiff::civil::Date;
use serde::Serialize;

use super::change::State;
use super::findings::{day, years_between};

/// Slopes of the straight lines; each with its 95 % half-width.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Trend {
    /// Years from the first sighting to the last.
    pub years: f64,
    /// Change of the conductivity ratio a year.
    pub ratio_per_year: f64,
    /// Its half-width.
    pub ratio_per_year_uncertainty: f64,
    /// Change of the area a year, m².
    pub area_m2_per_year: f64,
    /// Its half-width, m².
    pub area_m2_per_year_uncertainty: f64,
}

impl Trend {
    /// The trend of a zone's states; None where they do not lie on two days at least.
    #[must_use]
    pub fn of(states: &[State]) -> Option<Self> {
        let days: Vec<Date> = states.iter().map(|state| day(&state.date)).collect::<Option<_>>()?;
        let first = *days.iter().min()?;
        let years: Vec<f64> = days.iter().map(|at| years_between(first, *at)).collect();
        let points = |value: fn(&State) -> (f64, f64)| -> Vec<[f64; 3]> {
            let rows = years.iter().zip(states.iter().map(value));
            rows.map(|(year, (at, half))| [*year, at, half]).collect()
        };
        let (ratio, ratio_u) = slope(&points(|state| {
            let [low, high] = state.conductivity_ratio_interval;
            (state.conductivity_ratio, (high - low) / 2.0)
        }))?;
        let (area, area_u) = slope(&points(|state| (state.area_m2, state.area_uncertainty_m2)))?;
        Some(Self {
            years: years.iter().copied().fold(0.0, f64::max),
            ratio_per_year: ratio,
            ratio_per_year_uncertainty: ratio_u,
            area_m2_per_year: area,
            area_m2_per_year_uncertainty: area_u,
        })
    }
}

/// Weighted least squares through (x, y, half-width): b = Σ w (x − x̄) y / Σ w (x − x̄)², its half-width √(1/Σ w (x − x̄)²),
/// w = 1/half-width². None where all x are one.
fn slope(points: &[[f64; 3]]) -> Option<(f64, f64)> {
    let weight = |half: f64| 1.0 / half.max(1e-9).powi(2);
    let sum: f64 = points.iter().map(|[_, _, half]| weight(*half)).sum();
    let mean = points.iter().map(|[x, _, half]| weight(*half) * x).sum::<f64>() / sum;
    let spread: f64 = points
        .iter()
        .map(|[x, _, half]| weight(*half) * (x - mean).powi(2))
        .sum();
    let apart = points.iter().map(|[x, ..]| (x - mean).abs()).fold(0.0, f64::max);
    if apart < 1e-6 {
        return None;
    }
    let rise: f64 = points.iter().map(|[x, y, half]| weight(*half) * (x - mean) * y).sum();
    Some((rise / spread, (1.0 / spread).sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_found_as_it_was_drawn() {
        let points = [[0.0, 1.0, 0.1], [1.0, 1.5, 0.1], [2.0, 2.0, 0.1]];
        let (b, half) = slope(&points).unwrap();
        assert!((b - 0.5).abs() < 1e-12);
        // √(1/(100·(1 + 0 + 1)))
        assert!((half - (1.0f64 / 200.0).sqrt()).abs() < 1e-12);
        assert_eq!(slope(&[[1.0, 2.0, 0.1], [1.0, 3.0, 0.1]]), None);
    }
}
