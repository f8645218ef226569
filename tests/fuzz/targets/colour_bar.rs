//! Any picture with a colour bar somewhere, or none: found by itself, or in a box that the sheet states.
#![no_main]

use coldjacket::calibrate::colour_bar::{Stated, read};
use coldjacket::read::{Stored, decode};
use coldjacket_fuzz::limits;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let Some((head, rest)) = bytes.split_at_checked(8) else {
        return;
    };
    let Ok(frame) = decode(rest, &limits()) else { return };
    let Stored::Rgb(picture) = frame.stored() else { return };
    let box_px = [head[1], head[2], head[3], head[4]].map(u32::from);
    let stated = Stated {
        low_c: f64::from(head[5]) - 60.0,
        high_c: f64::from(head[6]),
        box_px: (head[0] & 1 == 1).then_some(box_px),
    };
    if let Ok(screen) = read((picture, frame.packing()), &stated) {
        assert_eq!(screen.celsius.dim(), screen.ended.dim());
    }
});
