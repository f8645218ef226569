//! Plain scenes of which only a screen's picture is there: colour maps in turn, half PNG and half JPEG, the bar at any side.

use coldjacket_simulator::draw::{Wish, random_scene};
use coldjacket_simulator::screen::{ColourMap, Form, Look, PLACES};
use coldjacket_simulator::survey::Given;

use crate::case::{Case, generator};

/// Quality of the JPEG pictures.
const QUALITY: u8 = 90;
/// Thousandths of the readings that stand beyond each end of a bar, from and to: a camera's automatic span cuts the hottest
/// and coldest pixels; and most that the bar is wider at each, 0.01 K.
const BEYOND_PERMILLE: (u64, u64) = (2, 15);
const MOST_MARGIN_CK: u64 = 150;

/// The same scenes as radiometric frames: what the picture costs.
pub fn as_readings(cases: &[Case]) -> Vec<Case> {
    let plain = |case: &Case| Case {
        screen: None,
        ..case.clone()
    };
    cases.iter().map(plain).collect()
}

/// Pictures of plain scenes; the row names the colour map.
pub fn cases(seed: u64, count: usize) -> Vec<Case> {
    let drawn = |index: usize| {
        let mut prng = generator(seed, index);
        let scene = random_scene(&mut prng, &Wish::default());
        let map = ColourMap::ALL[index % ColourMap::ALL.len()];
        let screen = Look {
            map,
            place: PLACES[(index / 2) % PLACES.len()],
            form: if index.is_multiple_of(2) {
                Form::Png
            } else {
                Form::Jpeg(QUALITY)
            },
            beyond_permille: (BEYOND_PERMILLE.0 + prng.bits() % (BEYOND_PERMILLE.1 - BEYOND_PERMILLE.0 + 1)) as u16,
            margin_ck: (prng.bits() % (MOST_MARGIN_CK + 1)) as u16,
        };
        Case {
            name: format!("p{seed}-{index:03}"),
            row: format!("{map:?}").to_lowercase(),
            scene,
            seed: prng.bits() >> 16,
            screen: Some(screen),
            field_of_view: Given::Stated,
        }
    };
    (0..count).map(drawn).collect()
}
