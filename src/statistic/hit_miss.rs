//! Probability of detection from hits and misses: a logistic curve by maximum likelihood, and the size that is found nine
//! times in ten, with its 95 % upper bound (the form of MIL-HDBK-1823A, appendix G, as statistical-engineering notes give it;
//! the handbook itself was not seen).
//!
//! The curve runs from 0 to 1: a detector that now and then misses the largest zones, or calls where there is nothing,
//! does not follow it. Look at the misses among the largest before trusting a bound.

use super::normal_quantile;

/// One target that was looked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trial {
    /// Its size, in any unit, positive.
    pub size: f64,
    /// Whether it was found.
    pub hit: bool,
}

/// What the logit is linear in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SizeScale {
    /// The logarithm of the size: a share of the size counts, and nothing of size 0 is found.
    Logarithm,
    /// The size itself.
    Plain,
}

impl SizeScale {
    fn forward(self, size: f64) -> f64 {
        match self {
            Self::Logarithm => size.ln(),
            Self::Plain => size,
        }
    }

    fn back(self, x: f64) -> f64 {
        match self {
            Self::Logarithm => x.exp(),
            Self::Plain => x,
        }
    }
}

/// Why no curve could be fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum FitError {
    /// A size that is not a positive number.
    #[error("a size is not a positive number; hint: leave such targets out")]
    ImpossibleSize,
    /// Only hits, only misses, or a size above which all are hits and below which none.
    #[error("hits and misses do not overlap in size; hint: try smaller and larger targets")]
    NoOverlap,
    /// Larger targets are not found more often.
    #[error("larger targets are not found more often; hint: the size measured is not what decides")]
    NoRise,
}

/// logit POD = β₀ + β₁ x, x = ln a or a.
#[derive(Debug, Clone, PartialEq)]
pub struct HitMissFit {
    /// β₀.
    pub intercept: f64,
    /// β₁.
    pub slope: f64,
    /// Covariance of (β₀, β₁), the inverse of the information matrix.
    pub covariance: [[f64; 2]; 2],
    /// Logarithm of the likelihood at its maximum.
    pub log_likelihood: f64,
    scale: SizeScale,
    // (x, hit)
    points: Vec<(f64, bool)>,
}

/// Most Newton steps; ten are usual.
const MOST_STEPS: usize = 60;
/// Change of a coefficient at which it counts as found, relative to 1 + its size.
const SETTLED: f64 = 1.0e-12;
/// Slope (per unit of x, in units of its spread) beyond which hits and misses must be parted without overlap.
const STEEPEST: f64 = 1.0e4;

impl HitMissFit {
    /// Fits the curve by maximum likelihood (Newton's method).
    ///
    /// # Errors
    /// [`FitError`] where no curve of finite slope is likeliest, or it falls.
    pub fn new(trials: &[Trial], scale: SizeScale) -> Result<Self, FitError> {
        if trials.iter().any(|t| !t.size.is_finite() || t.size <= 0.0) {
            return Err(FitError::ImpossibleSize);
        }
        let points: Vec<(f64, bool)> = trials.iter().map(|t| (scale.forward(t.size), t.hit)).collect();
        if !overlap(&points) {
            return Err(FitError::NoOverlap);
        }
        let (intercept, slope, covariance) = climb(&points).ok_or(FitError::NoOverlap)?;
        if slope <= 0.0 {
            return Err(FitError::NoRise);
        }
        Ok(Self {
            log_likelihood: log_likelihood(&points, intercept, slope),
            intercept,
            slope,
            covariance,
            scale,
            points,
        })
    }

    /// Probability of detection of a target of this size.
    #[must_use]
    pub fn probability(&self, size: f64) -> f64 {
        sigmoid(self.intercept + self.slope * self.scale.forward(size))
    }

    /// Pointwise lower bound of that probability at one-sided `confidence`: logit − z √(gᵀ Σ g), g = (1, x).
    #[must_use]
    pub fn probability_lower(&self, size: f64, confidence: f64) -> f64 {
        let x = self.scale.forward(size);
        let spread = self.variance(x).sqrt();
        sigmoid(self.intercept + self.slope * x - normal_quantile(confidence) * spread)
    }

    fn variance(&self, x: f64) -> f64 {
        let v = &self.covariance;
        v[0][0] + 2.0 * x * v[0][1] + x * x * v[1][1]
    }

    /// Size that is found with `probability`.
    #[must_use]
    pub fn size_at(&self, probability: f64) -> f64 {
        self.scale.back((logit(probability) - self.intercept) / self.slope)
    }

    /// Upper bound at one-sided `confidence` of [`Self::size_at`]: where the pointwise Wald bound of the curve reaches
    /// `probability`; `None` where it never does.
    #[must_use]
    pub fn size_at_upper_wald(&self, probability: f64, confidence: f64) -> Option<f64> {
        let (z, v) = (normal_quantile(confidence), &self.covariance);
        let below = self.intercept - logit(probability);
        // (β₀ − L + β₁ x)² = z² (Σ₀₀ + 2 x Σ₀₁ + x² Σ₁₁), the root on the far side
        let a = self.slope * self.slope - z * z * v[1][1];
        let half_b = below * self.slope - z * z * v[0][1];
        let c = below * below - z * z * v[0][0];
        let root = half_b * half_b - a * c;
        if a <= 0.0 || root < 0.0 {
            return None;
        }
        let x = (-half_b + root.sqrt()) / a;
        (below + self.slope * x >= 0.0).then(|| self.scale.back(x))
    }

    /// The same bound by the likelihood ratio: the largest size at which a curve through `probability` is not worse than
    /// the best by more than ½ z², the rest of the curve free.
    #[must_use]
    pub fn size_at_upper_likelihood(&self, probability: f64, confidence: f64) -> Option<f64> {
        let level = logit(probability);
        let most = normal_quantile(confidence).powi(2);
        let drop = |x: f64| 2.0 * (self.log_likelihood - profile(&self.points, x, level, self.slope));
        let centre = (level - self.intercept) / self.slope;
        let (mut inside, mut step) = (centre, 0.25 * (1.0 / self.slope).max(1.0e-3));
        let mut outside = loop {
            let next = inside + step;
            if drop(next) >= most {
                break next;
            }
            // A curve so flat that no size is excluded has no bound.
            if step > 1.0e3 * (1.0 / self.slope) {
                return None;
            }
            (inside, step) = (next, 2.0 * step);
        };
        for _ in 0..100 {
            let middle = 0.5 * (inside + outside);
            if drop(middle) < most {
                inside = middle;
            } else {
                outside = middle;
            }
        }
        Some(self.scale.back(0.5 * (inside + outside)))
    }
}

fn logit(p: f64) -> f64 {
    (p / (1.0 - p)).ln()
}

fn sigmoid(z: f64) -> f64 {
    1.0 / (1.0 + (-z).exp())
}

/// Whether some miss is as large as some hit and larger than the smallest of them: then a finite slope is likeliest.
fn overlap(points: &[(f64, bool)]) -> bool {
    let ends = |hit: bool| {
        let sizes = points.iter().filter(move |p| p.1 == hit).map(|p| p.0);
        sizes.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| {
            (low.min(x), high.max(x))
        })
    };
    let (hits, misses) = (ends(true), ends(false));
    misses.1 > hits.0 && hits.1 > misses.0
}

/// ℓ = Σ ln p over hits + Σ ln(1 − p) over misses, without cancellation: −ln(1 + e^∓z).
fn log_likelihood(points: &[(f64, bool)], intercept: f64, slope: f64) -> f64 {
    let one = |&(x, hit): &(f64, bool)| {
        let z = intercept + slope * x;
        let against = if hit { -z } else { z };
        -(against.max(0.0) + (-against.abs()).exp().ln_1p())
    };
    points.iter().map(one).sum()
}

/// Newton's climb with halved steps where one would overshoot; β₀, β₁ and the inverse information.
fn climb(points: &[(f64, bool)]) -> Option<(f64, f64, [[f64; 2]; 2])> {
    let count = points.len() as f64;
    let mean = points.iter().map(|p| p.0).sum::<f64>() / count;
    let spread = (points.iter().map(|p| (p.0 - mean).powi(2)).sum::<f64>() / count).sqrt();
    let (mut b0, mut b1) = (0.0, 0.0);
    for _ in 0..MOST_STEPS {
        let (gradient, information) = slopes(points, b0, b1);
        let inverse = inverse(information)?;
        let step = [
            inverse[0][0] * gradient[0] + inverse[0][1] * gradient[1],
            inverse[1][0] * gradient[0] + inverse[1][1] * gradient[1],
        ];
        let here = log_likelihood(points, b0, b1);
        let mut share = 1.0;
        while log_likelihood(points, b0 + share * step[0], b1 + share * step[1]) < here && share > 1.0e-6 {
            share *= 0.5;
        }
        b0 += share * step[0];
        b1 += share * step[1];
        if (b1 * spread).abs() > STEEPEST {
            return None;
        }
        if step[0].abs() < SETTLED * (1.0 + b0.abs()) && step[1].abs() < SETTLED * (1.0 + b1.abs()) {
            break;
        }
    }
    let (_, information) = slopes(points, b0, b1);
    Some((b0, b1, self::inverse(information)?))
}

/// Gradient of ℓ and the information matrix: Σ (y − p) g, Σ p (1 − p) g gᵀ, g = (1, x).
fn slopes(points: &[(f64, bool)], b0: f64, b1: f64) -> ([f64; 2], [[f64; 2]; 2]) {
    let (mut gradient, mut information) = ([0.0; 2], [[0.0; 2]; 2]);
    for &(x, hit) in points {
        let p = sigmoid(b0 + b1 * x);
        let (rest, weight) = (f64::from(u8::from(hit)) - p, p * (1.0 - p));
        gradient[0] += rest;
        gradient[1] += rest * x;
        information[0][0] += weight;
        information[0][1] += weight * x;
        information[1][1] += weight * x * x;
    }
    information[1][0] = information[0][1];
    (gradient, information)
}

fn inverse(m: [[f64; 2]; 2]) -> Option<[[f64; 2]; 2]> {
    let determinant = m[0][0] * m[1][1] - m[0][1] * m[1][0];
    (determinant > 0.0).then(|| {
        [
            [m[1][1] / determinant, -m[0][1] / determinant],
            [-m[1][0] / determinant, m[0][0] / determinant],
        ]
    })
}

/// Largest ℓ of the curves that pass through (`at`, `level`): one slope to find, and ℓ is concave in it.
fn profile(points: &[(f64, bool)], at: f64, level: f64, start: f64) -> f64 {
    let mut slope = start;
    let value = |slope: f64| log_likelihood(points, level - slope * at, slope);
    for _ in 0..MOST_STEPS {
        let (mut first, mut second) = (0.0, 0.0);
        for &(x, hit) in points {
            let p = sigmoid(level + slope * (x - at));
            first += (f64::from(u8::from(hit)) - p) * (x - at);
            second += p * (1.0 - p) * (x - at).powi(2);
        }
        if second <= 0.0 {
            break;
        }
        let (here, mut step) = (value(slope), first / second);
        while value(slope + step) < here && step.abs() > SETTLED * (1.0 + slope.abs()) {
            step *= 0.5;
        }
        slope += step;
        if step.abs() < SETTLED * (1.0 + slope.abs()) {
            break;
        }
    }
    value(slope)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn trials(hits: &[(f64, bool)]) -> Vec<Trial> {
        hits.iter().map(|&(size, hit)| Trial { size, hit }).collect()
    }

    #[test]
    fn what_has_no_likeliest_curve_is_refused() {
        let parted = trials(&[(1.0, false), (2.0, false), (3.0, true), (4.0, true)]);
        assert_eq!(HitMissFit::new(&parted, SizeScale::Plain), Err(FitError::NoOverlap));
        let all = trials(&[(1.0, true), (2.0, true)]);
        assert_eq!(HitMissFit::new(&all, SizeScale::Plain), Err(FitError::NoOverlap));
        assert_eq!(HitMissFit::new(&[], SizeScale::Plain), Err(FitError::NoOverlap));
        let falling = trials(&[(1.0, true), (2.0, false), (3.0, true), (4.0, false), (5.0, false)]);
        assert_eq!(HitMissFit::new(&falling, SizeScale::Plain), Err(FitError::NoRise));
        let none = trials(&[(0.0, true), (2.0, false)]);
        assert_eq!(
            HitMissFit::new(&none, SizeScale::Logarithm),
            Err(FitError::ImpossibleSize)
        );
    }

    #[test]
    fn a_curve_known_beforehand_is_found_again() {
        // Every size with hits in just the share that logit p = −2 + 3 ln a says, a thousand of each.
        let mut known = Vec::new();
        for k in 1..20 {
            let size = 0.2 * f64::from(k);
            let share = sigmoid(-2.0 + 3.0 * size.ln());
            let hits = (1000.0 * share).round() as usize;
            known.extend((0..1000).map(|n| Trial { size, hit: n < hits }));
        }
        let fit = HitMissFit::new(&known, SizeScale::Logarithm).unwrap();
        assert!((fit.intercept + 2.0).abs() < 0.01, "{}", fit.intercept);
        assert!((fit.slope - 3.0).abs() < 0.01, "{}", fit.slope);
        let a90 = fit.size_at(0.9);
        assert!((fit.probability(a90) - 0.9).abs() < 1e-12);
        assert!(fit.probability_lower(a90, 0.95) < 0.9);
        let wald = fit.size_at_upper_wald(0.9, 0.95).unwrap();
        let ratio = fit.size_at_upper_likelihood(0.9, 0.95).unwrap();
        // With many trials both bounds are the same, and near.
        assert!(wald > a90 && (wald / ratio - 1.0).abs() < 0.002 && wald / a90 < 1.03);
    }
}
