//! The colour space in which colours are compared: Oklab, which is even to the eye, so that one distance means about the
//! same along any bar.

/// A colour as lightness, green to red, blue to yellow (Oklab; lightness of black 0, of white 1).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lab {
    /// Lightness.
    pub l: f32,
    /// Green (negative) to red.
    pub a: f32,
    /// Blue (negative) to yellow.
    pub b: f32,
}

impl Lab {
    /// Distance of two colours.
    #[must_use]
    pub fn distance(self, other: Self) -> f32 {
        self.minus(other).length()
    }

    /// Length of a difference of colours.
    #[must_use]
    pub fn length(self) -> f32 {
        self.dot(self).sqrt()
    }

    /// Difference of two colours.
    #[must_use]
    pub fn minus(self, other: Self) -> Self {
        Self {
            l: self.l - other.l,
            a: self.a - other.a,
            b: self.b - other.b,
        }
    }

    /// Scalar product of two differences.
    #[must_use]
    pub fn dot(self, other: Self) -> f32 {
        self.l * other.l + self.a * other.a + self.b * other.b
    }

    /// The colour at a share of the way to another.
    #[must_use]
    pub fn towards(self, other: Self, share: f32) -> Self {
        let step = other.minus(self);
        Self {
            l: self.l + share * step.l,
            a: self.a + share * step.a,
            b: self.b + share * step.b,
        }
    }

    /// Distance from the line of greys.
    #[must_use]
    pub fn chroma(self) -> f32 {
        self.a.hypot(self.b)
    }
}

/// Turns 8-bit sRGB into [`Lab`]; holds the table of linear light.
#[derive(Debug, Clone)]
pub struct Space {
    linear: [f32; 256],
}

/// Linear light below which the cube root gives way to a straight line, (6/29)³, as in CIELAB.
const TOE: f32 = 0.008_856_452;

impl Space {
    /// The space, ready for use.
    #[must_use]
    pub fn new() -> Self {
        let mut linear = [0.0; 256];
        for (level, light) in linear.iter_mut().enumerate() {
            let v = level as f64 / 255.0;
            // IEC 61966-2-1: v/12.92 below 0.04045, ((v + 0.055)/1.055)^2.4 above.
            *light = if v <= 0.040_45 {
                v / 12.92
            } else {
                ((v + 0.055) / 1.055).powf(2.4)
            } as f32;
        }
        Self { linear }
    }

    /// The colour of 8-bit sRGB. Matrices of Oklab (Ottosson 2020) as an open library, `palette` 0.7.7, gives them.
    ///
    /// Near black the cube root would make one 8-bit step as long as a tenth of the way to white, and compression noise
    /// there as long as a bar; it is continued as CIELAB continues its own, by a straight line:
    ///
    /// ```text
    /// f(x) = ∛x for x > (6/29)³, else x·(29/6)²/3 + 4/29,   less 4/29 and stretched so that black is 0 and white 1
    /// ```
    #[must_use]
    pub fn lab(&self, [red, green, blue]: [u8; 3]) -> Lab {
        let (r, g, b) = (
            self.linear[usize::from(red)],
            self.linear[usize::from(green)],
            self.linear[usize::from(blue)],
        );
        let long = bent(0.412_221_46 * r + 0.536_332_55 * g + 0.051_445_995 * b);
        let medium = bent(0.211_903_5 * r + 0.680_699_5 * g + 0.107_396_96 * b);
        let short = bent(0.088_302_46 * r + 0.281_718_85 * g + 0.629_978_7 * b);
        Lab {
            l: 0.210_454_26 * long + 0.793_617_8 * medium - 0.004_072_047 * short,
            a: 1.977_998_5 * long - 2.428_592_2 * medium + 0.450_593_7 * short,
            b: 0.025_904_037 * long + 0.782_771_77 * medium - 0.808_675_77 * short,
        }
    }
}

impl Default for Space {
    fn default() -> Self {
        Self::new()
    }
}

fn bent(x: f32) -> f32 {
    const FLOOR: f32 = 4.0 / 29.0;
    let root = if x > TOE {
        cube_root(x)
    } else {
        x * (29.0 * 29.0 / 108.0) + FLOOR
    };
    (root - FLOOR) / (1.0 - FLOOR)
}

/// ∛x for 0.008 < x < 1.1: a straight first guess and three steps of Newton's, good to 1e-6; the library's cube root takes
/// most of the time a picture takes.
fn cube_root(x: f32) -> f32 {
    let bits = x.to_bits() / 3 + 0x2A51_37A0;
    let mut root = f32::from_bits(bits);
    for _ in 0..3 {
        root -= (root - x / (root * root)) * (1.0 / 3.0);
    }
    root
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn black_white_and_grey_stand_where_they_should() {
        let space = Space::new();
        let (black, white) = (space.lab([0; 3]), space.lab([255; 3]));
        assert!(black.length() < 1e-4, "{black:?}");
        assert!((white.l - 1.0).abs() < 1e-4 && white.chroma() < 1e-4, "{white:?}");
        for level in 0..=254u8 {
            let (dark, light) = (space.lab([level; 3]), space.lab([level + 1; 3]));
            assert!(light.l > dark.l && light.l - dark.l < 0.012 && light.chroma() < 1e-3);
        }
    }

    #[test]
    fn the_quick_cube_root_is_one() {
        for i in 1..=1100 {
            let x = i as f32 / 1000.0;
            assert!((cube_root(x) - x.cbrt()).abs() < 2e-6, "{x}");
        }
    }
}
