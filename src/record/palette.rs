//! The colour maps pictures are drawn in: open, perceptually even, readable with any colour vision and in grey print.

use std::str::FromStr;

/// An open colour map whose lightness rises steadily from the coldest to the warmest reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
pub enum Palette {
    /// Cividis: dark blue to yellow (Nuñez, Anderton and Renslow 2018, PLOS ONE 13(7) e0199239), made to look nearly the
    /// same with and without colour-vision deficiency. Colours as published with the paper (CC BY 4.0).
    #[default]
    Cividis,
    /// Viridis: violet over green to yellow (Smith and van der Walt 2015, released into the public domain, CC0).
    Viridis,
    /// Plain grey, even in CIE lightness, short of black and white so that lines stay apart from it.
    Grey,
}

impl Palette {
    /// Every palette, in the order help texts list them.
    pub const ALL: [Self; 3] = [Self::Cividis, Self::Viridis, Self::Grey];

    /// The word for it on the command line and in records.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Cividis => "cividis",
            Self::Viridis => "viridis",
            Self::Grey => "grey",
        }
    }

    /// Red, green and blue (sRGB, 0..=255) at a share 0 (coldest) to 1 (warmest); shares beyond, and NaN, are taken as
    /// the nearest end, and the cold end.
    #[must_use]
    pub fn colour(self, share: f64) -> [u8; 3] {
        let share = if share.is_nan() { 0.0 } else { share.clamp(0.0, 1.0) };
        match self {
            Self::Cividis => cividis(share),
            Self::Viridis => colorous::VIRIDIS.eval_continuous(share).into_array(),
            Self::Grey => grey(share),
        }
    }

    /// `count` colours from cold to warm, both ends included.
    pub(crate) fn steps(self, count: u8) -> impl Iterator<Item = [u8; 3]> {
        let last = f64::from(count.max(2) - 1);
        (0..count).map(move |step| self.colour(f64::from(step) / last))
    }
}

/// A word that names no palette.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("palette `{found}` is not known (cividis, viridis or grey); hint: leave it out for cividis")]
pub struct UnknownPalette {
    /// The word found.
    pub found: String,
}

impl FromStr for Palette {
    type Err = UnknownPalette;

    fn from_str(word: &str) -> Result<Self, UnknownPalette> {
        let known = Self::ALL.into_iter().find(|palette| palette.name() == word);
        known.ok_or_else(|| UnknownPalette { found: word.to_owned() })
    }
}

/// Every fifth of the 256 published colours, first and last included; straight lines between them stay within 4 of 255.
const CIVIDIS: [[u8; 3]; 52] = [
    [0, 34, 78],
    [0, 38, 86],
    [0, 42, 95],
    [0, 45, 104],
    [0, 48, 112],
    [8, 51, 112],
    [22, 55, 112],
    [32, 58, 111],
    [39, 62, 110],
    [46, 65, 109],
    [52, 69, 108],
    [58, 72, 108],
    [63, 76, 108],
    [68, 79, 108],
    [73, 83, 108],
    [78, 86, 108],
    [83, 90, 109],
    [87, 93, 109],
    [92, 97, 110],
    [96, 100, 111],
    [101, 104, 112],
    [105, 107, 113],
    [109, 111, 114],
    [114, 114, 116],
    [118, 118, 118],
    [122, 122, 120],
    [126, 125, 120],
    [131, 129, 121],
    [136, 133, 120],
    [141, 136, 120],
    [146, 140, 120],
    [150, 144, 119],
    [155, 148, 118],
    [160, 152, 117],
    [165, 156, 116],
    [170, 160, 115],
    [175, 164, 113],
    [181, 168, 111],
    [186, 172, 109],
    [191, 176, 107],
    [196, 180, 104],
    [201, 185, 101],
    [207, 189, 98],
    [212, 193, 95],
    [218, 198, 91],
    [223, 202, 87],
    [229, 207, 82],
    [234, 211, 76],
    [240, 216, 70],
    [246, 221, 63],
    [252, 226, 54],
    [254, 232, 56],
];

/// Straight line between the two nearest published colours.
fn cividis(share: f64) -> [u8; 3] {
    let place = share * (CIVIDIS.len() - 1) as f64;
    let below = (place.floor() as usize).min(CIVIDIS.len() - 2);
    let part = place - below as f64;
    let (from, to) = (CIVIDIS[below], CIVIDIS[below + 1]);
    std::array::from_fn(|channel| {
        let (a, b) = (f64::from(from[channel]), f64::from(to[channel]));
        (a + (b - a) * part).round() as u8
    })
}

/// Lightness from 14 to 94 of 100, evenly.
fn grey(share: f64) -> [u8; 3] {
    let lightness = 14.0 + 80.0 * share;
    // Y = ((L* + 16) / 116)³ for L* > 8, then v = 1.055 Y^(1/2.4) − 0.055 (CIE 15, IEC 61966-2-1)
    let luminance = ((lightness + 16.0) / 116.0).powi(3);
    let value = 1.055 * luminance.powf(1.0 / 2.4) - 0.055;
    [(255.0 * value).round() as u8; 3]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// CIE lightness of an sRGB colour (IEC 61966-2-1, CIE 15).
    fn lightness(colour: [u8; 3]) -> f64 {
        let linear = colour.map(|v| {
            let v = f64::from(v) / 255.0;
            if v <= 0.04045 {
                v / 12.92
            } else {
                ((v + 0.055) / 1.055).powf(2.4)
            }
        });
        let luminance = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2];
        if luminance > 0.008856 {
            116.0 * luminance.cbrt() - 16.0
        } else {
            903.3 * luminance
        }
    }

    #[test]
    fn lightness_rises_from_cold_to_warm_in_every_palette() {
        for palette in Palette::ALL {
            let steps: Vec<f64> = palette.steps(224).map(lightness).collect();
            // Rounding to 8 bits may hold a step back by a fraction of one lightness unit, never more.
            assert!(steps.windows(2).all(|pair| pair[1] > pair[0] - 0.25), "{palette:?}");
            assert!(steps.windows(9).all(|nine| nine[8] > nine[0]), "{palette:?}");
            assert!(
                steps[223] - steps[0] > 70.0,
                "{palette:?} spans too little lightness for grey print"
            );
        }
    }

    #[test]
    fn cividis_is_the_published_map() {
        // Published entries that are no knots of ours, and both ends, of 256 (as listed in matplotlib 3.11).
        let published = [
            (0.0, [0, 34, 78]),
            (32.0, [26, 56, 111]),
            (96.0, [97, 101, 111]),
            (127.0, [124, 123, 120]),
            (192.0, [188, 174, 108]),
            (222.0, [220, 200, 89]),
            (255.0, [254, 232, 56]),
        ];
        for (place, expected) in published {
            let got = Palette::Cividis.colour(place / 255.0);
            for (g, e) in got.into_iter().zip(expected) {
                assert!(g.abs_diff(e) <= 4, "at {place}: {got:?}, published {expected:?}");
            }
        }
    }

    #[test]
    fn words_are_read_back_and_others_refused() {
        for palette in Palette::ALL {
            assert_eq!(palette.name().parse(), Ok(palette));
        }
        let message = "rainbow".parse::<Palette>().unwrap_err().to_string();
        assert!(message.contains("rainbow") && message.contains("cividis"), "{message}");
    }

    #[test]
    fn shares_beyond_the_ends_are_the_ends() {
        for palette in Palette::ALL {
            assert_eq!(palette.colour(-3.0), palette.colour(0.0));
            assert_eq!(palette.colour(7.0), palette.colour(1.0));
            assert_eq!(palette.colour(f64::NAN), palette.colour(0.0));
        }
    }
}
