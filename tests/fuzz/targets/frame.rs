//! Any readings as a frame of two vessels: outline, zones and quantities, to the line that is written of them.
#![no_main]

use std::sync::OnceLock;

use coldjacket::batch::alone::Alone;
use coldjacket::clock::Clock;
use coldjacket::settings::Settings;
use coldjacket_fuzz::folder;
use tempfile::TempDir;

static ROOM: OnceLock<(TempDir, Alone)> = OnceLock::new();

/// The picture's size; the bytes are spread over it in strips and blocks, so that few make edges and patches.
const SIZE: (u32, u32) = (96, 72);

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    if bytes.len() < 4 {
        return;
    }
    let (room, alone) = ROOM.get_or_init(|| {
        let room = folder(&[("f.png", b"")]);
        let alone = Alone::open(room.path()).unwrap();
        (room, alone)
    });
    let mut counts = vec![30_000u16; (SIZE.0 * SIZE.1) as usize];
    // Boxes over one another: place, size and level of each from eight bytes.
    for part in bytes.chunks_exact(8).take(64) {
        let (left, top) = (u32::from(part[0]) % SIZE.0, u32::from(part[1]) % SIZE.1);
        let (wide, high) = (u32::from(part[2]) % SIZE.0, u32::from(part[3]) % SIZE.1);
        let level = u16::from_le_bytes([part[4], part[5]]);
        let noise = u16::from(part[6]);
        for y in top..(top + high).min(SIZE.1) {
            for x in left..(left + wide).min(SIZE.0) {
                let grain = (x.wrapping_mul(7919) ^ y.wrapping_mul(104_729)) as u16 % (noise + 1);
                counts[(y * SIZE.0 + x) as usize] = level.wrapping_add(grain);
            }
        }
    }
    let mut png = Vec::new();
    let mut encoder = png::Encoder::new(&mut png, SIZE.0, SIZE.1);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Sixteen);
    let mut writer = encoder.write_header().unwrap();
    let bytes: Vec<u8> = counts.iter().flat_map(|count| count.to_be_bytes()).collect();
    writer.write_image_data(&bytes).unwrap();
    writer.finish().unwrap();
    std::fs::write(room.path().join("f.png"), &png).unwrap();
    for index in 0..2 {
        let line = alone.line(index, &Settings::default(), &Clock::default()).unwrap();
        assert!(line.contains("\"usability\""));
    }
});
