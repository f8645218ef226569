//! Prefix codes to suit how often symbols occur.

use super::SYMBOLS;

/// Longest code in bits; 15 is allowed, 12 keeps two codes and a half-filled word within 64 bits.
const LONGEST_BITS: u32 = 12;

/// A prefix code.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Code {
    /// As it is written, lowest bit first.
    pub(super) bits: u32,
    /// Number of bits.
    pub(super) length: u32,
}

/// The codes of all symbols.
pub(super) struct Codes {
    /// Of each symbol.
    pub(super) single: [Code; SYMBOLS],
    /// Of a nought and each byte after it, drawn together.
    pub(super) after_zero: [Code; 256],
}

impl Codes {
    /// Codes that suit the counts.
    pub(super) fn of(counts: &[u64; SYMBOLS]) -> Self {
        let lengths = code_lengths(counts);
        let mut single = [Code::default(); SYMBOLS];
        // Codes of one length follow each other in the order of their symbols (RFC 1951, 3.2.2), highest bit first.
        let mut next = 0_u32;
        for length in 1..=LONGEST_BITS {
            for (code, _) in single.iter_mut().zip(lengths).filter(|(_, of)| *of == length) {
                *code = Code {
                    bits: next.reverse_bits() >> (32 - length),
                    length,
                };
                next += 1;
            }
            next <<= 1;
        }
        let zero = single[0];
        let after_zero = std::array::from_fn(|byte| Code {
            bits: zero.bits | single[byte].bits << zero.length,
            length: zero.length + single[byte].length,
        });
        Self { single, after_zero }
    }

    /// Whether nought has so short a code that four pairs with it fit what is pushed at once.
    pub(super) fn short_zero(&self) -> bool {
        self.single[0].length <= 2
    }
}

/// Lengths close to −log₂ of each symbol's share, without any code left over.
fn code_lengths(counts: &[u64; SYMBOLS]) -> [u32; SYMBOLS] {
    // Every symbol gets at least a share of 1/3146, so that none needs more than 12 bits, seen in the sample or not.
    let total = counts.iter().sum::<u64>().max(1);
    let weights = counts.map(|count| count * 2860 + total);
    let whole: u64 = weights.iter().sum();
    let mut lengths = weights.map(|weight| {
        (1..LONGEST_BITS)
            .find(|bits| weight << bits >= whole)
            .unwrap_or(LONGEST_BITS)
    });
    let part = |length: u32| 1_u32 << (LONGEST_BITS - length);
    let mut left = (1 << LONGEST_BITS) - lengths.iter().map(|length| part(*length)).sum::<u32>();
    // What rounding up left over goes to the commonest symbols; a decoder refuses a code that does not use it all.
    let mut order: [usize; SYMBOLS] = std::array::from_fn(|symbol| symbol);
    order.sort_by_key(|symbol| std::cmp::Reverse(weights[*symbol]));
    for symbol in order {
        while lengths[symbol] > 1 && part(lengths[symbol]) <= left {
            left -= part(lengths[symbol]);
            lengths[symbol] -= 1;
        }
    }
    lengths
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn code_lengths_fill_the_code_exactly() {
        let mut skewed = [0; SYMBOLS];
        skewed[0] = 1_000_000;
        skewed[255] = 3;
        let mut rising = [0; SYMBOLS];
        rising.iter_mut().zip(0..).for_each(|(count, n)| *count = n * n);
        for counts in [[0; SYMBOLS], [1; SYMBOLS], skewed, rising] {
            let lengths = code_lengths(&counts);
            assert!(lengths.iter().all(|length| (1..=LONGEST_BITS).contains(length)));
            assert_eq!(lengths.iter().map(|length| 4096 >> length).sum::<u32>(), 4096);
        }
        assert_eq!(code_lengths(&skewed)[0], 1);
    }
}
