//! Order statistics and distribution helpers used by several rooms.

pub mod count;
pub mod hit_miss;

/// Σ aᵢ·bᵢ of two rows of one length.
#[must_use]
#[inline]
pub fn dot(a: &[f32], b: &[f32]) -> f32 {
    // Four sums side by side, which processors add at once.
    let mut sums = [0.0f32; 4];
    let ((a, a_rest), (b, b_rest)) = (a.as_chunks::<4>(), b.as_chunks::<4>());
    for (a, b) in a.iter().zip(b) {
        for ((sum, a), b) in sums.iter_mut().zip(a).zip(b) {
            *sum += a * b;
        }
    }
    let rest: f32 = a_rest.iter().zip(b_rest).map(|(a, b)| a * b).sum();
    (sums[0] + sums[1]) + (sums[2] + sums[3]) + rest
}

/// Median absolute deviation to standard deviation of a normal distribution: 1/Φ⁻¹(3/4).
pub const MAD_TO_SD: f64 = 1.482_602_218_505_602;

/// Median of `values`, reordering them; `None` if empty. NaNs sort last: filter them out beforehand.
pub fn median(values: &mut [f64]) -> Option<f64> {
    percentile(values, 50.0)
}

/// Percentile `pct` (0 to 100, cut off to it) of `values`, linear between order statistics, reordering them.
///
/// `None` if empty or `pct` is NaN. The rank is pct/100 · (n − 1), the common definition of numerical libraries.
pub fn percentile(values: &mut [f64], pct: f64) -> Option<f64> {
    if pct.is_nan() || values.is_empty() {
        return None;
    }
    let rank = pct.clamp(0.0, 100.0) / 100.0 * (values.len() - 1) as f64;
    // Below the slice's length by the clamp.
    let below = rank.floor() as usize;
    let (_, &mut at, above) = values.select_nth_unstable_by(below, f64::total_cmp);
    let share = rank - rank.floor();
    if share <= 0.0 {
        return Some(at);
    }
    let next = above.iter().copied().min_by(f64::total_cmp)?;
    Some(at + share * (next - at))
}

/// Middle of the shortest interval that holds a `share` (0 to 1) of `values`, sorting them: where they are densest. `None` if
/// empty or `share` is NaN.
pub fn shortest_part(values: &mut [f64], share: f64) -> Option<f64> {
    if share.is_nan() {
        return None;
    }
    values.sort_unstable_by(f64::total_cmp);
    let count = values.len();
    let apart = ((share.clamp(0.0, 1.0) * count as f64) as usize).min(count.checked_sub(1)?);
    let ends = values.iter().zip(values.get(apart..)?);
    let (low, high) = ends.min_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))?;
    Some((low + high) / 2.0)
}

/// As [`median`], for readings kept as `f32`; without NaNs.
pub fn median_of_readings(values: &mut [f32]) -> Option<f64> {
    let last = values.len().checked_sub(1)?;
    // Without NaNs the plain order does, which is quicker than the total one.
    let order = |a: &f32, b: &f32| match (a < b, a > b) {
        (true, _) => std::cmp::Ordering::Less,
        (_, true) => std::cmp::Ordering::Greater,
        _ => std::cmp::Ordering::Equal,
    };
    let (_, &mut at, above) = values.select_nth_unstable_by(last / 2, order);
    if last % 2 == 0 {
        return Some(f64::from(at));
    }
    let next = f64::from(above.iter().copied().fold(f32::INFINITY, f32::min));
    Some(f64::from(at) + 0.5 * (next - f64::from(at)))
}

/// Median absolute deviation from the median, unscaled, overwriting `values`; `None` if empty.
pub fn median_absolute_deviation(values: &mut [f64]) -> Option<f64> {
    let centre = median(values)?;
    for value in values.iter_mut() {
        *value = (*value - centre).abs();
    }
    median(values)
}

/// Robust standard deviation, 1.4826 times the median absolute deviation; overwrites `values`.
pub fn robust_sd(values: &mut [f64]) -> Option<f64> {
    median_absolute_deviation(values).map(|mad| mad * MAD_TO_SD)
}

/// Mean of `values`; `None` if empty.
pub fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// Successes among trials, with intervals for their share.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Proportion {
    successes: u32,
    trials: u32,
}

/// Lower and upper end of an interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Proportion {
    /// `successes` of `trials`; `None` if there were no trials or more successes than trials.
    pub fn new(successes: u32, trials: u32) -> Option<Self> {
        (trials > 0 && successes <= trials).then_some(Self { successes, trials })
    }

    /// Share of successes.
    pub fn share(self) -> f64 {
        f64::from(self.successes) / f64::from(self.trials)
    }

    /// Clopper–Pearson (exact) two-sided interval at `confidence`, say 0.95.
    pub fn clopper_pearson(self, confidence: f64) -> Interval {
        let tail = (1.0 - confidence) / 2.0;
        Interval {
            low: self.exact_low(tail),
            high: self.exact_high(tail),
        }
    }

    /// One-sided Clopper–Pearson lower bound at `confidence`.
    pub fn lower_bound(self, confidence: f64) -> f64 {
        self.exact_low(1.0 - confidence)
    }

    /// Wilson score interval at `confidence` (Wilson 1927), for graphs.
    pub fn wilson(self, confidence: f64) -> Interval {
        let n = f64::from(self.trials);
        let z = normal_quantile(1.0 - (1.0 - confidence) / 2.0);
        let z2 = z * z;
        // (p + z²/2n ± z √(p(1 − p)/n + z²/4n²))/(1 + z²/n)
        let p = self.share();
        let centre = p + z2 / (2.0 * n);
        let half = z * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
        let scale = 1.0 + z2 / n;
        Interval {
            low: if self.successes == 0 {
                0.0
            } else {
                ((centre - half) / scale).max(0.0)
            },
            high: if self.successes == self.trials {
                1.0
            } else {
                ((centre + half) / scale).min(1.0)
            },
        }
    }

    fn exact_low(self, tail: f64) -> f64 {
        if self.successes == 0 {
            return 0.0;
        }
        // p with P(X ≥ k) = tail: the Beta(k, n − k + 1) quantile
        let k = f64::from(self.successes);
        beta_quantile(tail, k, f64::from(self.trials) - k + 1.0)
    }

    fn exact_high(self, tail: f64) -> f64 {
        if self.successes == self.trials {
            return 1.0;
        }
        // p with P(X ≤ k) = tail: the Beta(k + 1, n − k) quantile
        let k = f64::from(self.successes);
        beta_quantile(1.0 - tail, k + 1.0, f64::from(self.trials) - k)
    }
}

/// Quantile of the standard normal distribution; infinite at 0 and 1, NaN outside them.
///
/// A rational start (Hastings, within 4.5e-4) and Halley steps on the tail's series or continued fraction: 1e-10.
pub fn normal_quantile(p: f64) -> f64 {
    if p.is_nan() || !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    if p == 0.0 || p == 1.0 {
        return if p == 0.0 { f64::NEG_INFINITY } else { f64::INFINITY };
    }
    let tail = p.min(1.0 - p);
    let t = (-2.0 * tail.ln()).sqrt();
    // Hastings' start, Abramowitz & Stegun 26.2.23
    let mut z =
        t - (2.515_517 + t * (0.802_853 + t * 0.010_328)) / (1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308)));
    for _ in 0..4 {
        let density = (-z * z / 2.0).exp() / std::f64::consts::TAU.sqrt();
        // Halley's step on the upper tail
        let step = (upper_tail(z) - tail) / density;
        z += step / (1.0 - step * z / 2.0);
    }
    if p < 0.5 { -z } else { z }
}

/// Probability that a standard normal exceeds `z` ≥ 0.
fn upper_tail(z: f64) -> f64 {
    let density = (-z * z / 2.0).exp() / std::f64::consts::TAU.sqrt();
    if z < 2.5 {
        // ½ − φ(z) Σ z^(2k+1)/(1·3·5…(2k+1))
        let (mut term, mut sum, mut odd) = (z, z, 1.0);
        for _ in 0..80 {
            odd += 2.0;
            term *= z * z / odd;
            sum += term;
        }
        return 0.5 - density * sum;
    }
    // φ(z)/(z + 1/(z + 2/(z + 3/…)))
    let fraction = (1..=120).rev().fold(z, |below, k| z + f64::from(k) / below);
    density / fraction
}

/// Quantile of Student's t at probability `p` with `degrees` of freedom; NaN if `p` is not within 0 to 1 or
/// `degrees` not positive.
pub fn t_quantile(p: f64, degrees: f64) -> f64 {
    if p.is_nan() || !(0.0..=1.0).contains(&p) || degrees.is_nan() || degrees <= 0.0 {
        return f64::NAN;
    }
    if degrees.is_infinite() {
        return normal_quantile(p);
    }
    // I_x(ν/2, ½) = 2 (1 − p) with x = ν/(ν + t²)
    let x = beta_quantile(2.0 * p.min(1.0 - p), degrees / 2.0, 0.5);
    let t = (degrees * (1.0 - x) / x).sqrt();
    if p < 0.5 { -t } else { t }
}

/// Quantile of the Beta(a, b) distribution, by bisection: 60 halvings reach the last digits.
fn beta_quantile(p: f64, a: f64, b: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if incomplete_beta(middle, a, b) < p {
            low = middle;
        } else {
            high = middle;
        }
    }
    (low + high) / 2.0
}

/// Regularised incomplete beta function I_x(a, b), by its continued fraction (Lentz).
pub fn incomplete_beta(x: f64, a: f64, b: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    // The fraction converges quickly on this side; the other follows from I_x(a,b) = 1 − I_{1−x}(b,a).
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - incomplete_beta(1.0 - x, b, a);
    }
    let front = (a * x.ln() + b * (-x).ln_1p() + ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b)).exp() / a;
    front * beta_fraction(x, a, b)
}

fn beta_fraction(x: f64, a: f64, b: f64) -> f64 {
    let away_from_zero = |value: f64| {
        if value.abs() < 1.0e-300 { 1.0e-300 } else { value }
    };
    let mut c = 1.0;
    let mut d = 1.0 / away_from_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut fraction = d;
    for m in 1..=500 {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let before = fraction;
        for step in [even, odd] {
            d = 1.0 / away_from_zero(1.0 + step * d);
            c = away_from_zero(1.0 + step / c);
            fraction *= c * d;
        }
        if (fraction / before - 1.0).abs() < 1.0e-15 {
            break;
        }
    }
    fraction
}

/// ln Γ(x) for x > 0: Stirling's series, raised to x ≥ 12 by the recurrence.
fn ln_gamma(x: f64) -> f64 {
    let (mut x, mut product) = (x, 1.0);
    while x < 12.0 {
        product *= x;
        x += 1.0;
    }
    let r = 1.0 / (x * x);
    // ln Γ = (x − ½) ln x − x + ½ ln 2π + 1/(12x) − 1/(360x³) + 1/(1260x⁵) − 1/(1680x⁷) + 1/(1188x⁹)
    let series = (1.0 / 12.0 - r * (1.0 / 360.0 - r * (1.0 / 1260.0 - r * (1.0 / 1680.0 - r / 1188.0)))) / x;
    (x - 0.5) * x.ln() - x + 0.5 * std::f64::consts::TAU.ln() + series - f64::ln(product)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shortest_part_is_where_values_are_densest() {
        let mut values = [0.0, 10.0, 5.0, 5.1, 5.2, 20.0, 30.0, 5.3];
        assert!((shortest_part(&mut values, 0.375).unwrap() - 5.15).abs() < 1e-12);
        assert_eq!(shortest_part(&mut [3.0], 0.5), Some(3.0));
        assert_eq!(shortest_part(&mut [], 0.5), None);
        assert_eq!(shortest_part(&mut [1.0], f64::NAN), None);
    }

    #[test]
    fn order_statistics_of_small_sets() {
        assert_eq!(median(&mut []), None);
        assert_eq!(median(&mut [3.0]), Some(3.0));
        assert_eq!(median(&mut [4.0, 1.0, 3.0, 2.0]), Some(2.5));
        assert_eq!(median_of_readings(&mut []), None);
        assert_eq!(median_of_readings(&mut [4.0, 1.0, 3.0, 2.0]), Some(2.5));
        assert_eq!(median_of_readings(&mut [4.0, -1.0, 3.0]), Some(3.0));
        assert_eq!(percentile(&mut [10.0, 0.0, 5.0], 75.0), Some(7.5));
        assert_eq!(percentile(&mut [10.0, 0.0, 5.0], 100.0), Some(10.0));
        assert_eq!(percentile(&mut [10.0, 0.0, 5.0], f64::NAN), None);
        assert_eq!(
            median_absolute_deviation(&mut [1.0, 1.0, 2.0, 2.0, 4.0, 6.0, 9.0]),
            Some(1.0)
        );
        assert_eq!(mean(&[]), None);
    }

    #[test]
    fn normal_quantiles_from_tables() {
        // Abramowitz & Stegun, and exact symmetry.
        for (p, z) in [
            (0.5, 0.0),
            (0.975, 1.959_963_984_540_054),
            (0.95, 1.644_853_626_951_472_7),
            (0.75, 0.674_489_750_196_081_7),
            (0.999_99, 4.264_890_793_922_825),
            (1.0e-9, -5.997_807_015_007_686),
        ] {
            assert!((normal_quantile(p) - z).abs() < 1.0e-10, "{p}: {}", normal_quantile(p));
        }
        assert!(normal_quantile(1.5).is_nan());
    }

    #[test]
    fn t_quantiles_from_tables() {
        for (p, degrees, t) in [
            (0.975, 1.0, 12.706_204_736_432_1),
            (0.975, 10.0, 2.228_138_851_986),
            (0.95, 30.0, 1.697_260_886_593),
            (0.025, 10.0, -2.228_138_851_986),
        ] {
            assert!(
                (t_quantile(p, degrees) - t).abs() < 1.0e-8,
                "{p} {degrees}: {}",
                t_quantile(p, degrees)
            );
        }
    }

    #[test]
    fn impossible_proportions_are_refused() {
        assert_eq!(Proportion::new(0, 0), None);
        assert_eq!(Proportion::new(5, 4), None);
    }
}
