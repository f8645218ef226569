//! Exact bounds of the rate behind a count of rare events.

use super::Interval;

/// Events counted over an exposure: frames, square metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Count {
    events: u32,
    exposure: f64,
}

impl Count {
    /// `events` over `exposure`; `None` if the exposure is not a positive number.
    #[must_use]
    pub fn new(events: u32, exposure: f64) -> Option<Self> {
        (exposure.is_finite() && exposure > 0.0).then_some(Self { events, exposure })
    }

    /// Events a unit of exposure.
    #[must_use]
    pub fn rate(self) -> f64 {
        f64::from(self.events) / self.exposure
    }

    /// Exact two-sided interval of the rate at `confidence` (Garwood 1936): means μ with P(X ≥ k) and P(X ≤ k) half the
    /// rest each.
    #[must_use]
    pub fn interval(self, confidence: f64) -> Interval {
        let tail = (1.0 - confidence) / 2.0;
        Interval {
            low: self.low(tail) / self.exposure,
            high: self.high(tail) / self.exposure,
        }
    }

    /// One-sided upper bound of the rate at `confidence`.
    #[must_use]
    pub fn upper_bound(self, confidence: f64) -> f64 {
        self.high(1.0 - confidence) / self.exposure
    }

    fn low(self, tail: f64) -> f64 {
        match self.events.checked_sub(1) {
            // P(X ≥ k) = 1 − P(X ≤ k − 1)
            Some(fewer) => mean_with(fewer, 1.0 - tail),
            None => 0.0,
        }
    }

    fn high(self, tail: f64) -> f64 {
        mean_with(self.events, tail)
    }
}

/// Mean of the Poisson distribution with P(X ≤ k) = `probability`, by bisection: P falls with the mean.
fn mean_with(k: u32, probability: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    while at_most(k, high) > probability {
        (low, high) = (high, 2.0 * high);
    }
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if at_most(k, middle) > probability {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// P(X ≤ k) = e^−μ Σ μʲ/j!, each term from its logarithm so that large means do not underflow.
fn at_most(k: u32, mean: f64) -> f64 {
    if mean <= 0.0 {
        return 1.0;
    }
    let (mut log_term, mut sum) = (-mean, (-mean).exp());
    for j in 1..=k {
        log_term += (mean / f64::from(j)).ln();
        sum += log_term.exp();
    }
    sum.min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bounds_from_the_usual_table() {
        // 95 % limits of a Poisson mean as printed in many tables after Garwood (from memory; the first row is −ln 0.025).
        for (events, low, high) in [
            (0, 0.0, 3.6889),
            (1, 0.0253, 5.5716),
            (5, 1.6235, 11.6683),
            (10, 4.7954, 18.3904),
        ] {
            let found = Count::new(events, 1.0).unwrap().interval(0.95);
            assert!((found.low - low).abs() < 6e-5, "{events}: {found:?}");
            assert!((found.high - high).abs() < 6e-5, "{events}: {found:?}");
        }
    }

    #[test]
    fn exposure_scales_and_must_be_positive() {
        assert_eq!(Count::new(3, 0.0), None);
        let (one, ten) = (Count::new(3, 1.0).unwrap(), Count::new(3, 10.0).unwrap());
        assert!((one.interval(0.9).high / ten.interval(0.9).high - 10.0).abs() < 1e-9);
        assert!((ten.rate() - 0.3).abs() < 1e-12);
        // −ln 0.05 for none at all.
        assert!((Count::new(0, 1.0).unwrap().upper_bound(0.95) - 2.995_732).abs() < 1e-5);
        assert!(Count::new(2_000, 1.0).unwrap().interval(0.95).low > 1_900.0);
    }
}
