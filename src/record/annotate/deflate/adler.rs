//! The checksum at the end of a zlib stream.

/// The checksum of RFC 1950.
pub(super) struct Adler {
    a: u64,
    b: u64,
}

impl Adler {
    /// Of nothing yet.
    pub(super) const fn new() -> Self {
        Self { a: 1, b: 0 }
    }

    const MODULUS: u64 = 65_521;
    /// Sums kept side by side, so that processors add them at once.
    const LANES: usize = 16;

    pub(super) fn add(&mut self, bytes: &[u8]) {
        // 4096 bytes at most keep every sum within 32 bits.
        bytes.chunks(4096).for_each(|part| self.add_part(part));
    }

    /// b grows by Σ (n − i) xᵢ: with lanes, byte l of chunk c of N weighs L (N − c) − l.
    fn add_part(&mut self, bytes: &[u8]) {
        let (chunks, rest) = bytes.as_chunks::<{ Self::LANES }>();
        let (mut sums, mut sums_of_sums) = ([0_u32; Self::LANES], [0_u32; Self::LANES]);
        for chunk in chunks {
            for lane in 0..Self::LANES {
                sums[lane] += u32::from(chunk[lane]);
                sums_of_sums[lane] += sums[lane];
            }
        }
        let sum: u64 = sums.iter().map(|&sum| u64::from(sum)).sum();
        let weighted: u64 = sums_of_sums
            .iter()
            .map(|&sum| Self::LANES as u64 * u64::from(sum))
            .sum();
        let lagging: u64 = sums.iter().zip(0..).map(|(&sum, lane)| lane * u64::from(sum)).sum();
        self.b += (chunks.len() * Self::LANES) as u64 * self.a + weighted - lagging;
        self.a += sum;
        for &byte in rest {
            self.a += u64::from(byte);
            self.b += self.a;
        }
        self.a %= Self::MODULUS;
        self.b %= Self::MODULUS;
    }

    pub(super) fn add_zeros(&mut self, count: usize) {
        self.b = (self.b + count as u64 % Self::MODULUS * self.a) % Self::MODULUS;
    }

    pub(super) fn value(&self) -> u32 {
        (self.b << 16 | self.a) as u32
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_checksum_is_that_of_the_standard() {
        let mut sum = Adler { a: 1, b: 0 };
        sum.add(b"Wikipedia");
        assert_eq!(sum.value(), 0x11E6_0398);
        let (mut plain, mut quick) = (Adler { a: 77, b: 5 }, Adler { a: 77, b: 5 });
        plain.add(&[0; 9000]);
        quick.add_zeros(9000);
        assert_eq!(plain.value(), quick.value());
    }
}
