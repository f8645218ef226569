//! Blackbody radiance within a camera's band, and its inverse, as tables that cost a few multiplications a pixel.

use super::{Quantity, RadiationError, ZERO_C_K};

/// Second radiation constant c₂ = hc/k, µm K, CODATA 2018 (exact since the 2019 SI).
pub const SECOND_CONSTANT_UM_K: f64 = 14_387.768_775_039_337;

/// First radiation constant for radiance c₁L = 2hc², W µm⁴/(m² sr).
const FIRST_CONSTANT_W_UM4_M2SR: f64 = 1.191_042_972_397_188_4e8;

/// Stefan–Boltzmann constant, W/(m² K⁴), CODATA 2018.
const STEFAN_BOLTZMANN_W_M2K4: f64 = 5.670_374_419_184_431e-8;

/// Coldest blackbody in the tables, °C.
pub const COLDEST_C: f64 = -120.0;
/// Warmest blackbody in the tables, °C.
pub const WARMEST_C: f64 = 250.0;

/// Nodes per kelvin of the forward table: cubic pieces of half a kelvin are exact to 1e-8.
const NODES_PER_K: f64 = 2.0;
/// Top mantissa bits in the inverse table's index: 64 pieces an octave of radiance.
const MANTISSA_BITS: u32 = 6;
const SHIFT: u32 = f64::MANTISSA_DIGITS - 1 - MANTISSA_BITS;

const LOWER_WAVELENGTH: Quantity = Quantity {
    what: "lower band limit",
    unit: "µm",
};
const UPPER_WAVELENGTH: Quantity = Quantity {
    what: "upper band limit",
    unit: "µm",
};
const BAND_WIDTH: Quantity = Quantity {
    what: "band width",
    unit: "µm",
};

/// Fraction of a blackbody's radiation at wavelengths below λ, for the product λT in µm K; 0 for λT ≤ 0.
///
/// Series after Chang & Rhee (1984), checked against quadrature: 1e-10 below 20 000 µm K, 1e-7 at 50 000.
pub fn fraction(lambda_t_um_k: f64) -> f64 {
    if lambda_t_um_k.is_nan() || lambda_t_um_k <= 0.0 {
        return 0.0;
    }
    let x = SECOND_CONSTANT_UM_K / lambda_t_um_k;
    let step = (-x).exp();
    let mut power = 1.0;
    let mut sum = 0.0;
    // F = (15/π⁴) Σₙ e^(−nx)/n (x³ + 3x²/n + 6x/n² + 6/n³),  x = c₂/(λT)
    for n in 1..=40 {
        let n = f64::from(n);
        power *= step;
        let term = power / n * (x * x * x + 3.0 * x * x / n + 6.0 * x / (n * n) + 6.0 / (n * n * n));
        sum += term;
        if term < sum * 1.0e-17 {
            break;
        }
    }
    15.0 / std::f64::consts::PI.powi(4) * sum
}

/// A cubic over one piece of a table, in the distance from the piece's start.
#[derive(Debug, Clone, Copy)]
struct Piece {
    start: f64,
    coefficients: [f64; 4],
}

/// Value and slope at one end of a piece.
#[derive(Debug, Clone, Copy)]
struct Node {
    at: f64,
    value: f64,
    slope: f64,
}

impl Piece {
    /// The cubic through both ends with both slopes (Hermite).
    fn between(from: Node, to: Node) -> Self {
        let width = to.at - from.at;
        let rise = (to.value - from.value) / width;
        Self {
            start: from.at,
            coefficients: [
                from.value,
                from.slope,
                (3.0 * rise - 2.0 * from.slope - to.slope) / width,
                (from.slope + to.slope - 2.0 * rise) / (width * width),
            ],
        }
    }

    fn value(&self, at: f64) -> f64 {
        let u = at - self.start;
        let [a, b, c, d] = self.coefficients;
        a + u * (b + u * (c + u * d))
    }

    fn slope(&self, at: f64) -> f64 {
        let u = at - self.start;
        let [_, b, c, d] = self.coefficients;
        b + u * (2.0 * c + u * 3.0 * d)
    }
}

/// Radiance of a blackbody in one band against temperature, both ways, from −120 to +250 °C.
///
/// Flat response within the band. Against the series: radiance within 1e-7 relative, temperature within 1e-5 K.
#[derive(Debug, Clone)]
pub struct BandRadiance {
    low_um: f64,
    high_um: f64,
    forward: Vec<Piece>,
    inverse: Vec<Piece>,
    first_bin: u64,
    lowest_w_m2sr: f64,
    highest_w_m2sr: f64,
}

impl BandRadiance {
    /// Tables for the band from `low_um` to `high_um`.
    ///
    /// Errors: limits outside 2 to 20 µm, or a band narrower than 0.1 µm or reversed.
    pub fn new(low_um: f64, high_um: f64) -> Result<Self, RadiationError> {
        LOWER_WAVELENGTH.within(low_um, 2.0..=20.0)?;
        UPPER_WAVELENGTH.within(high_um, 2.0..=20.0)?;
        BAND_WIDTH.within(high_um - low_um, 0.1..=18.0)?;
        let band = Band { low_um, high_um };
        let (lowest_w_m2sr, highest_w_m2sr) = (band.radiance_w_m2sr(COLDEST_C), band.radiance_w_m2sr(WARMEST_C));
        Ok(Self {
            low_um,
            high_um,
            forward: forward_pieces(band),
            inverse: inverse_pieces(band, lowest_w_m2sr, highest_w_m2sr),
            first_bin: bin_of(lowest_w_m2sr),
            lowest_w_m2sr,
            highest_w_m2sr,
        })
    }

    /// The band's limits, µm.
    pub fn band_um(&self) -> (f64, f64) {
        (self.low_um, self.high_um)
    }

    /// Radiance at `t_c`, W/(m² sr); the nearest end of −120 to +250 °C outside it, NaN for NaN.
    pub fn radiance_w_m2sr(&self, t_c: f64) -> f64 {
        if t_c.is_nan() {
            return f64::NAN;
        }
        let t_c = t_c.clamp(COLDEST_C, WARMEST_C);
        self.forward_piece(t_c).map_or(f64::NAN, |piece| piece.value(t_c))
    }

    /// dL/dT at `t_c`, W/(m² sr K); ends as [`BandRadiance::radiance_w_m2sr`].
    pub fn slope_w_m2srk(&self, t_c: f64) -> f64 {
        if t_c.is_nan() {
            return f64::NAN;
        }
        let t_c = t_c.clamp(COLDEST_C, WARMEST_C);
        self.forward_piece(t_c).map_or(f64::NAN, |piece| piece.slope(t_c))
    }

    /// Temperature of the blackbody that radiates `radiance_w_m2sr`, °C; `None` outside −120 to +250 °C and for NaN.
    pub fn temperature_c(&self, radiance_w_m2sr: f64) -> Option<f64> {
        if !(self.lowest_w_m2sr..=self.highest_w_m2sr).contains(&radiance_w_m2sr) {
            return None;
        }
        let bin = usize::try_from(bin_of(radiance_w_m2sr) - self.first_bin).ok()?;
        Some(self.inverse.get(bin)?.value(radiance_w_m2sr))
    }

    fn forward_piece(&self, t_c: f64) -> Option<&Piece> {
        // In range by the clamp of both callers: 0 to 740.
        let index = ((t_c - COLDEST_C) * NODES_PER_K) as usize;
        self.forward.get(index).or(self.forward.last())
    }
}

/// A band's limits, with the exact (slow) radiance.
#[derive(Debug, Clone, Copy)]
struct Band {
    low_um: f64,
    high_um: f64,
}

impl Band {
    fn radiance_w_m2sr(self, t_c: f64) -> f64 {
        let t_k = t_c + ZERO_C_K;
        // L = σT⁴/π [F(λ₂T) − F(λ₁T)]
        STEFAN_BOLTZMANN_W_M2K4 * t_k.powi(4) / std::f64::consts::PI
            * (fraction(self.high_um * t_k) - fraction(self.low_um * t_k))
    }

    fn slope_w_m2srk(self, t_c: f64) -> f64 {
        let t_k = t_c + ZERO_C_K;
        // T dL/dT = 4L + λ₂ B(λ₂,T) − λ₁ B(λ₁,T), since B = T⁵ g(λT)
        (4.0 * self.radiance_w_m2sr(t_c) + self.high_um * spectral_w_m2srum(self.high_um, t_k)
            - self.low_um * spectral_w_m2srum(self.low_um, t_k))
            / t_k
    }

    fn node(self, t_c: f64) -> Node {
        Node {
            at: t_c,
            value: self.radiance_w_m2sr(t_c),
            slope: self.slope_w_m2srk(t_c),
        }
    }

    /// Temperature of an exact radiance by Newton on ln L against 1/T, from a guess.
    fn temperature_c(self, radiance_w_m2sr: f64, guess_c: f64) -> f64 {
        let mut t_k = guess_c + ZERO_C_K;
        for _ in 0..50 {
            let here_w_m2sr = self.radiance_w_m2sr(t_k - ZERO_C_K);
            let log_slope = self.slope_w_m2srk(t_k - ZERO_C_K) * t_k / here_w_m2sr;
            let next_k = t_k / (1.0 - (radiance_w_m2sr / here_w_m2sr).ln() / log_slope);
            let step_k = next_k - t_k;
            t_k = next_k;
            if step_k.abs() < 1.0e-9 {
                break;
            }
        }
        t_k - ZERO_C_K
    }
}

/// Planck's spectral radiance, W/(m² sr µm).
fn spectral_w_m2srum(lambda_um: f64, t_k: f64) -> f64 {
    // B = c₁L/(λ⁵ [e^(c₂/(λT)) − 1])
    FIRST_CONSTANT_W_UM4_M2SR / (lambda_um.powi(5) * (SECOND_CONSTANT_UM_K / (lambda_um * t_k)).exp_m1())
}

fn forward_pieces(band: Band) -> Vec<Piece> {
    let pieces = ((WARMEST_C - COLDEST_C) * NODES_PER_K) as u32;
    let nodes: Vec<Node> = (0..=pieces)
        .map(|index| band.node(COLDEST_C + f64::from(index) / NODES_PER_K))
        .collect();
    nodes
        .iter()
        .zip(nodes.iter().skip(1))
        .map(|(&from, &to)| Piece::between(from, to))
        .collect()
}

/// Pieces of T(L). Their edges are the floating-point numbers whose lower mantissa bits are zero, so the index of a
/// radiance is its exponent and top mantissa bits: a logarithmic grid without a logarithm.
fn inverse_pieces(band: Band, lowest_w_m2sr: f64, highest_w_m2sr: f64) -> Vec<Piece> {
    let mut guess_c = COLDEST_C;
    let nodes: Vec<Node> = (bin_of(lowest_w_m2sr)..=bin_of(highest_w_m2sr) + 1)
        .map(|bin| {
            let radiance_w_m2sr = f64::from_bits(bin << SHIFT);
            guess_c = band.temperature_c(radiance_w_m2sr, guess_c);
            Node {
                at: radiance_w_m2sr,
                value: guess_c,
                slope: 1.0 / band.slope_w_m2srk(guess_c),
            }
        })
        .collect();
    nodes
        .iter()
        .zip(nodes.iter().skip(1))
        .map(|(&from, &to)| Piece::between(from, to))
        .collect()
}

fn bin_of(radiance_w_m2sr: f64) -> u64 {
    radiance_w_m2sr.to_bits() >> SHIFT
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn long_wave() -> &'static BandRadiance {
        static TABLE: std::sync::LazyLock<BandRadiance> =
            std::sync::LazyLock::new(|| BandRadiance::new(8.0, 14.0).unwrap());
        &TABLE
    }

    proptest! {
        #[test]
        fn temperature_undoes_radiance(t_c in COLDEST_C..WARMEST_C) {
            let back_c = long_wave().temperature_c(long_wave().radiance_w_m2sr(t_c)).unwrap();
            prop_assert!((back_c - t_c).abs() < 1.0e-5, "{} came back as {}", t_c, back_c);
        }

        #[test]
        fn radiance_undoes_temperature(share in 0.0..1.0_f64) {
            let table = long_wave();
            let radiance = table.lowest_w_m2sr + share * (table.highest_w_m2sr - table.lowest_w_m2sr);
            let back = table.radiance_w_m2sr(table.temperature_c(radiance).unwrap());
            prop_assert!((back / radiance - 1.0).abs() < 1.0e-6);
        }
    }

    #[test]
    fn tables_follow_the_series_in_every_usual_band() {
        for (low_um, high_um) in [(8.0, 14.0), (7.5, 13.5), (7.5, 13.0), (3.0, 5.0), (10.0, 10.5)] {
            let table = BandRadiance::new(low_um, high_um).unwrap();
            let band = Band { low_um, high_um };
            for step in 0..3701 {
                let t_c = COLDEST_C + f64::from(step) * 0.1 * 0.9999;
                let exact = band.radiance_w_m2sr(t_c);
                let relative = table.radiance_w_m2sr(t_c) / exact - 1.0;
                assert!(relative.abs() < 1.0e-7, "{low_um}-{high_um} at {t_c}: {relative}");
                let slope = table.slope_w_m2srk(t_c) / band.slope_w_m2srk(t_c) - 1.0;
                assert!(slope.abs() < 1.0e-5, "{low_um}-{high_um} at {t_c}: slope {slope}");
                let error_k = table.temperature_c(exact).unwrap() - t_c;
                assert!(error_k.abs() < 1.0e-5, "{low_um}-{high_um} at {t_c}: {error_k}");
            }
        }
    }

    #[test]
    fn outside_the_table_there_is_no_temperature() {
        for radiance in [-1.0, 0.0, 1.0e-3, 1.0e6, f64::NAN, f64::INFINITY] {
            assert_eq!(long_wave().temperature_c(radiance), None, "{radiance}");
        }
        assert!(long_wave().radiance_w_m2sr(f64::NAN).is_nan());
        let end = long_wave().radiance_w_m2sr(WARMEST_C);
        assert_eq!(long_wave().radiance_w_m2sr(1000.0), end);
        assert!((long_wave().temperature_c(long_wave().highest_w_m2sr).unwrap() - WARMEST_C).abs() < 1.0e-6);
    }

    #[test]
    fn impossible_bands_are_refused() {
        for (low_um, high_um) in [(14.0, 8.0), (8.0, 8.01), (0.4, 0.7), (8.0, f64::NAN), (8.0, 100.0)] {
            assert!(BandRadiance::new(low_um, high_um).is_err(), "{low_um} to {high_um}");
        }
    }
}
