//! Any bytes as an image: each reader by the file's own kind, and each reader whatever the kind.
#![no_main]

use coldjacket::read::{decode, grid, jpeg, png, tiff};
use coldjacket_fuzz::limits;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let limits = limits();
    let _ = decode(bytes, &limits);
    let Some((first, rest)) = bytes.split_first() else {
        return;
    };
    let _ = match first % 4 {
        0 => tiff::read_tiff(rest, &limits),
        1 => png::read_png(rest, &limits),
        2 => jpeg::read_jpeg(rest, &limits),
        _ => grid::read_grid(rest, &limits),
    };
});
