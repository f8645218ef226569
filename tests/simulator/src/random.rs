//! A small seeded generator, kept here so that a seed means the same scene for ever.

/// Xoshiro256++ (Blackman and Vigna, public domain reference), seeded through SplitMix64.
#[derive(Debug, Clone)]
pub struct Prng {
    state: [u64; 4],
    spare_normal: Option<f64>,
}

impl Prng {
    /// Starts a generator; equal seeds give equal streams on every machine.
    pub fn new(seed: u64) -> Self {
        let mut mixer = seed;
        let mut state = [0_u64; 4];
        for word in &mut state {
            mixer = mixer.wrapping_add(0x9E37_79B9_7F4A_7C15);
            let mut mixed = mixer;
            mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
            *word = mixed ^ (mixed >> 31);
        }
        Self {
            state,
            spare_normal: None,
        }
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        let state = &mut self.state;
        let result = state[0].wrapping_add(state[3]).rotate_left(23).wrapping_add(state[0]);
        let shifted = state[1] << 17;
        state[2] ^= state[0];
        state[3] ^= state[1];
        state[1] ^= state[2];
        state[0] ^= state[3];
        state[2] ^= shifted;
        state[3] = state[3].rotate_left(45);
        result
    }

    /// A number in 0 ≤ x < 1.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A number in `low` ≤ x < `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A standard normal deviate (polar method of Marsaglia).
    pub fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare_normal.take() {
            return spare;
        }
        loop {
            let first = self.between(-1.0, 1.0);
            let second = self.between(-1.0, 1.0);
            let square = first * first + second * second;
            if square > 0.0 && square < 1.0 {
                let scale = (-2.0 * square.ln() / square).sqrt();
                self.spare_normal = Some(second * scale);
                return first * scale;
            }
        }
    }

    /// An index in 0..`count` (0 when `count` is 0).
    pub fn index(&mut self, count: usize) -> usize {
        ((self.unit() * count as f64) as usize).min(count.saturating_sub(1))
    }

    /// True with the given probability.
    pub fn chance(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normal_has_unit_spread_and_seeds_repeat() {
        let mut prng = Prng::new(11);
        let draws: Vec<f64> = (0..20_000).map(|_| prng.normal()).collect();
        let mean = draws.iter().sum::<f64>() / 20_000.0;
        let variance = draws.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / 20_000.0;
        assert!(mean.abs() < 0.03, "mean {mean}");
        assert!((variance - 1.0).abs() < 0.05, "variance {variance}");
        assert_eq!(Prng::new(5).bits(), Prng::new(5).bits());
        assert_ne!(Prng::new(5).bits(), Prng::new(6).bits());
    }
}
