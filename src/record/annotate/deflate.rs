//! The compressed rows of a PNG, for sheets such as these: whole rows repeat, pixels repeat along a row, paper is blank.
//!
//! A general compressor looks for repeats everywhere; here it is known where they are. A row equal to the one above is
//! stored as no change; any other as differences along the row, in which repeated pixels are runs of nought. One block of
//! RFC 1951 with its own Huffman codes, in the wrapping of RFC 1950.

mod adler;
mod codes;

use adler::Adler;
use codes::{Code, Codes};

/// Literals, the end of the block, and lengths (RFC 1951, 3.2.5).
const SYMBOLS: usize = 286;
const END: usize = 256;
/// Row filters of PNG.
const FROM_LEFT: u8 = 1;
const FROM_ABOVE: u8 = 2;
/// Every so-manyth row that differs from the one above is looked at to choose the codes.
const SAMPLED: usize = 16;

/// The zlib stream of the filtered rows; `width` is at least 1.
pub(super) fn compress(indices: &[u8], width: usize) -> Vec<u8> {
    let mut filtered = vec![0; width + 1];
    let mut counts = Counts([0; SYMBOLS]);
    let mut rows = Rows { indices, width };
    for row in rows.differing().step_by(SAMPLED) {
        filter(row, &mut filtered);
        walk(&filtered, &mut counts);
    }
    let mut bits = Bits::default();
    bits.make_room(indices.len() / 16 + 512);
    // Deflate with a window of 32 KiB, fastest level.
    bits.push(0x0178, 16);
    let mut block = Block {
        codes: Codes::of(&counts.0),
        bits,
    };
    block.begin();
    let mut sum = Adler::new();
    let mut above: &[u8] = &[];
    for row in rows.all() {
        block.bits.make_room(filtered.len());
        if row == above {
            block.literals(&[FROM_ABOVE]);
            block.zeros(width);
            sum.add(&[FROM_ABOVE]);
            sum.add_zeros(width);
        } else {
            filter(row, &mut filtered);
            walk(&filtered, &mut block);
            sum.add(&filtered);
        }
        above = row;
    }
    let mut bytes = block.end();
    bytes.extend(sum.value().to_be_bytes());
    bytes
}

struct Rows<'a> {
    indices: &'a [u8],
    width: usize,
}

impl<'a> Rows<'a> {
    fn all(&mut self) -> impl Iterator<Item = &'a [u8]> + use<'a> {
        self.indices.chunks_exact(self.width)
    }

    fn differing(&mut self) -> impl Iterator<Item = &'a [u8]> + use<'a> {
        let above = [None].into_iter().chain(self.all().map(Some));
        self.all()
            .zip(above)
            .filter(|(row, above)| Some(*row) != *above)
            .map(|(row, _)| row)
    }
}

/// Each pixel less the one to its left.
fn filter(row: &[u8], filtered: &mut [u8]) {
    let [kind, first, rest @ ..] = filtered else { return };
    *kind = FROM_LEFT;
    *first = row.first().copied().unwrap_or(0);
    for (out, pair) in rest.iter_mut().zip(row.windows(2)) {
        *out = pair[1].wrapping_sub(pair[0]);
    }
}

/// What the parts of a row are handed to.
trait Sink {
    /// Plain bytes.
    fn literals(&mut self, bytes: &[u8]);
    /// A run of nought.
    fn zeros(&mut self, count: usize);
}

/// Splits a row into plain bytes and long runs of nought. Only runs of sixteen and more count: shorter
/// ones cost as little as literals of one bit each, and looking at sixteen bytes at once is quicker.
fn walk(mut bytes: &[u8], sink: &mut impl Sink) {
    while bytes.len() >= 16 {
        let plain = until(bytes, |block| *block == [0; 16]);
        let (before, rest) = bytes.split_at(plain);
        sink.literals(before);
        let blank = until(rest, |block| *block != [0; 16]);
        if blank > 0 {
            sink.zeros(blank);
        }
        bytes = rest.get(blank..).unwrap_or_default();
    }
    sink.literals(bytes);
}

/// Bytes before the first sixteen of which `ends` holds; a multiple of sixteen.
fn until(bytes: &[u8], ends: impl Fn(&[u8; 16]) -> bool) -> usize {
    let (blocks, _) = bytes.as_chunks::<16>();
    16 * blocks.iter().position(ends).unwrap_or(blocks.len())
}

/// How a run of nought is told: one literal, then copies of it, then what is too short for a copy.
fn run_parts(count: usize) -> (usize, usize, usize) {
    let copied = count.saturating_sub(1);
    let (full, rest) = (copied / 258, copied % 258);
    if rest >= 3 {
        (full, rest, 1)
    } else {
        (full, 0, 1 + rest)
    }
}

/// Symbol, extra bits and their number for a length of 3..=258.
fn length_symbol(length: usize) -> (usize, u64, u32) {
    if length >= 258 {
        return (285, 0, 0);
    }
    let over = length.saturating_sub(3);
    if over < 8 {
        return (257 + over, 0, 0);
    }
    let extra = over.ilog2() - 2;
    (
        257 + 4 * extra as usize + (over >> extra),
        (over & ((1 << extra) - 1)) as u64,
        extra,
    )
}

/// How often each symbol occurs.
struct Counts([u64; SYMBOLS]);

impl Sink for Counts {
    fn literals(&mut self, bytes: &[u8]) {
        bytes.iter().for_each(|&byte| self.0[usize::from(byte)] += 1);
    }

    fn zeros(&mut self, count: usize) {
        let (full, rest, single) = run_parts(count);
        self.0[0] += single as u64;
        self.0[285] += full as u64;
        if rest > 0 {
            self.0[length_symbol(rest).0] += 1;
        }
    }
}

/// Bits, lowest first.
#[derive(Default)]
struct Bits {
    /// Written up to `at`; what follows is room.
    bytes: Vec<u8>,
    at: usize,
    /// Fewer than eight bits between two pushes.
    held: u64,
    count: u32,
}

impl Bits {
    /// Makes room for what a row of so many bytes can take, so that pushing its codes need not look again.
    fn make_room(&mut self, row_bytes: usize) {
        let needed = self.at + 2 * row_bytes + 64;
        if needed > self.bytes.len() {
            self.bytes
                .resize(needed.max(self.bytes.len() + self.bytes.len() / 2), 0);
        }
    }

    /// Adds up to 56 bits.
    #[inline]
    fn push(&mut self, bits: u64, count: u32) {
        self.held |= bits << self.count;
        self.count += count;
        if let Some(room) = self.bytes.get_mut(self.at..self.at + 8) {
            room.copy_from_slice(&self.held.to_le_bytes());
        }
        let whole = self.count / 8;
        self.at += whole as usize;
        // 56 bits and 7 held make at most 7 whole bytes, so the shift stays below 64.
        self.held >>= 8 * whole;
        self.count %= 8;
    }

    /// Adds four codes of 14 bits at most.
    #[inline]
    fn push_four(&mut self, codes: [Code; 4]) {
        let (mut bits, mut length) = (0_u64, 0_u32);
        for code in codes {
            bits |= u64::from(code.bits) << length;
            length += code.length;
        }
        self.push(bits, length);
    }

    fn finish(mut self) -> Vec<u8> {
        self.make_room(0);
        self.push(0, (8 - self.count) % 8);
        self.bytes.truncate(self.at);
        self.bytes
    }
}

/// The one block that holds all rows.
struct Block {
    codes: Codes,
    bits: Bits,
}

impl Block {
    /// Head of a last block with its own codes (RFC 1951, 3.2.7): lengths told in plain 4-bit codes, one distance.
    fn begin(&mut self) {
        self.bits.push(0b101, 3);
        self.bits.push(SYMBOLS as u64 - 257, 5);
        self.bits.push(0, 5);
        self.bits.push(15, 4);
        // Three kinds of repeats, unused; then 4 bits for each of the lengths 0 to 15.
        (0..19).for_each(|place| self.bits.push(if place < 3 { 0 } else { 4 }, 3));
        for length in self.codes.single.map(|code| code.length).into_iter().chain([1]) {
            self.bits.push(u64::from(length.reverse_bits() >> 28), 4);
        }
    }

    fn symbol(&mut self, symbol: usize) {
        let code = self.codes.single[symbol];
        self.bits.push(u64::from(code.bits), code.length);
    }

    /// A copy of `length` bytes from one byte before.
    fn copy(&mut self, length: usize) {
        let (symbol, extra, count) = length_symbol(length);
        self.symbol(symbol);
        // The single distance has a code of one bit, nought.
        self.bits.push(extra, count + 1);
    }

    fn end(mut self) -> Vec<u8> {
        self.symbol(END);
        self.bits.finish()
    }
}

impl Sink for Block {
    fn literals(&mut self, bytes: &[u8]) {
        let (eights, rest) = bytes.as_chunks::<8>();
        // Held apart from the rest of the block, the bits stay in registers.
        let mut out = std::mem::take(&mut self.bits);
        for eight in eights {
            let [a, b, c, d, e, f, g, h] = *eight;
            if a | c | e | g == 0 && self.codes.short_zero() {
                // Readings are drawn as squares, often of two pixels: then every second difference is nought.
                out.push_four([b, d, f, h].map(|byte| self.codes.after_zero[usize::from(byte)]));
            } else {
                out.push_four([a, b, c, d].map(|byte| self.codes.single[usize::from(byte)]));
                out.push_four([e, f, g, h].map(|byte| self.codes.single[usize::from(byte)]));
            }
        }
        self.bits = out;
        rest.iter().for_each(|byte| self.symbol(usize::from(*byte)));
    }

    fn zeros(&mut self, count: usize) {
        let (full, rest, single) = run_parts(count);
        self.symbol(0);
        (0..full).for_each(|_| self.copy(258));
        if rest > 0 {
            self.copy(rest);
        }
        (1..single).for_each(|_| self.symbol(0));
    }
}

#[cfg(test)]
mod tests {
    use super::super::canvas::Canvas;
    use super::super::encode::encode;
    use super::*;
    use crate::record::palette::Palette;

    /// Read back by the png crate's own decoder, checksums included.
    fn read_back(width: usize, indices: &[u8]) -> Vec<u8> {
        let mut canvas = Canvas::blank(width, indices.len() / width, 0);
        for (y, row) in (0..).zip(indices.chunks(width)) {
            canvas.span(y, 0, width as i32).copy_from_slice(row);
        }
        let bytes = encode(&canvas, Palette::Cividis).unwrap();
        let mut decoder = png::Decoder::new(std::io::Cursor::new(bytes));
        decoder.set_transformations(png::Transformations::IDENTITY);
        decoder.ignore_checksums(false);
        let mut reader = decoder.read_info().unwrap();
        let mut back = vec![0; indices.len()];
        reader.next_frame(&mut back).unwrap();
        back
    }

    fn noise(count: usize, of: u32) -> Vec<u8> {
        let mut state = 7_u32;
        let mut next = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            ((state >> 16) % of) as u8
        };
        (0..count).map(|_| next()).collect()
    }

    #[test]
    fn what_is_written_is_read_back() {
        for width in [1, 2, 3, 5, 63, 257, 258, 259, 260, 261, 1130, 5000] {
            for of in [1, 2, 9, 242] {
                let indices = noise(width * 7, of);
                assert_eq!(read_back(width, &indices), indices, "width {width}, {of} values");
            }
        }
    }

    #[test]
    fn runs_of_every_length_are_read_back() {
        let width = 800;
        let row = |run: usize| {
            (0..width).map(move |x| {
                if (17..17 + run).contains(&x) {
                    9
                } else {
                    (x * 37 % 101) as u8
                }
            })
        };
        let indices: Vec<u8> = (0..780).flat_map(row).collect();
        assert_eq!(read_back(width, &indices), indices);
    }

    #[test]
    fn repeated_rows_cost_next_to_nothing() {
        let row = noise(1000, 200);
        let once = compress(&row, 1000).len();
        let often = compress(&row.repeat(100), 1000).len();
        assert!(often < once + 99 * 12, "{often} after {once}");
    }

    #[test]
    fn the_longest_codes_fit_the_room_made() {
        // Values that the sampled rows do not hold get the longest codes, in every row that is not sampled.
        let width = 4000;
        let rare = noise(width * 12, 242);
        let indices: Vec<u8> = (0..12)
            .flat_map(|y| {
                if y == 0 {
                    vec![y as u8; width]
                } else {
                    rare[y * width..][..width].to_vec()
                }
            })
            .collect();
        assert_eq!(read_back(width, &indices), indices);
    }
}
