//! Places on the developed jacket, and how far apart two of them are.

use super::findings::{Asset, Zone};
use super::seen;

/// Form and size of an asset over its jacket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Body {
    /// A cylinder with its axis level.
    Level {
        /// Over the jacket, m.
        diameter_m: f64,
        /// Tangent line to tangent line, m.
        length_m: f64,
    },
    /// A cylinder with its axis upright.
    Upright {
        /// Over the jacket, m.
        diameter_m: f64,
        /// Tangent line to tangent line, m.
        length_m: f64,
    },
    /// A plane wall.
    Wall {
        /// Width, m.
        width_m: f64,
        /// Height, m.
        height_m: f64,
    },
}

impl Body {
    /// The body of an asset of findings.json; None where the file does not tell it.
    #[must_use]
    pub fn of(asset: &Asset) -> Option<Self> {
        let length_m = asset.length_m?;
        match asset.shape.as_deref()? {
            "horizontal-cylinder" => Some(Self::Level {
                diameter_m: asset.outside_diameter_m?,
                length_m,
            }),
            "vertical-cylinder" => Some(Self::Upright {
                diameter_m: asset.outside_diameter_m?,
                length_m,
            }),
            "flat" => Some(Self::Wall {
                width_m: length_m,
                height_m: asset.height_m?,
            }),
            _ => None,
        }
    }

    /// Length along, m.
    #[must_use]
    pub fn length_m(&self) -> f64 {
        match *self {
            Self::Level { length_m, .. } | Self::Upright { length_m, .. } => length_m,
            Self::Wall { width_m, .. } => width_m,
        }
    }

    /// Length round, or height of a wall, m.
    #[must_use]
    pub fn girth_m(&self) -> f64 {
        match *self {
            Self::Level { diameter_m, .. } | Self::Upright { diameter_m, .. } => std::f64::consts::PI * diameter_m,
            Self::Wall { height_m, .. } => height_m,
        }
    }

    /// Metres of jacket a degree round; none on a wall.
    #[must_use]
    pub fn per_degree_m(&self) -> f64 {
        match self {
            Self::Wall { .. } => 0.0,
            _ => self.girth_m() / 360.0,
        }
    }
}

/// Where a place lies the second way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum About {
    /// Clock angle or compass bearing, degrees.
    Asset(f64),
    /// Degrees from the line facing the camera, where nobody said what faces it.
    Facing(f64),
    /// Metres above the bottom edge of a wall.
    Height(f64),
    /// Nobody said: anywhere round.
    Anywhere,
}

/// A place with its size on the developed jacket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// Middle from the datum, m.
    pub axial_m: f64,
    /// Middle round, or up.
    pub about: About,
    /// Length along, m.
    pub length_m: f64,
    /// Length round, or up, m.
    pub arc_m: f64,
}

impl Spot {
    /// The place of a zone.
    #[must_use]
    pub fn of(zone: &Zone, body: &Body) -> Self {
        let (length_m, arc_m) = if zone.is_general() {
            return Self {
                axial_m: body.length_m() / 2.0,
                about: About::Anywhere,
                length_m: body.length_m(),
                arc_m: body.girth_m(),
            };
        } else {
            (zone.length_m, zone.arc_m)
        };
        let known = match body {
            Body::Level { .. } => zone.clock.map(|hours| About::Asset(30.0 * hours)),
            Body::Upright { .. } => zone.bearing_deg.map(About::Asset),
            Body::Wall { .. } => Some(zone.height_m.map_or(About::Anywhere, About::Height)),
        };
        let facing = || zone.angle_deg.map_or(About::Anywhere, About::Facing);
        Self {
            axial_m: zone.axial_m,
            about: known.unwrap_or_else(facing),
            length_m,
            arc_m,
        }
    }

    /// The same place counted from the other end. Seen from there the clock runs the other way round.
    #[must_use]
    pub fn from_other_end(self, body: &Body) -> Self {
        let about = match (self.about, body) {
            (About::Asset(deg), Body::Level { .. }) => About::Asset((-deg).rem_euclid(360.0)),
            (about, _) => about,
        };
        Self {
            axial_m: body.length_m() - self.axial_m,
            about,
            ..self
        }
    }

    /// Distance to another place along and round the jacket, m, signed; None round where the two cannot be compared.
    #[must_use]
    pub fn apart_m(&self, other: &Self, body: &Body) -> (f64, Option<f64>) {
        let turned = |deg: f64| ((deg + 180.0).rem_euclid(360.0) - 180.0) * body.per_degree_m();
        let round = match (self.about, other.about) {
            (About::Asset(a), About::Asset(b)) => Some(turned(b - a)),
            // Neither survey says what it faced: views of one side can be compared, which the result says.
            (About::Facing(a), About::Facing(b)) => Some(turned(b - a)),
            (About::Height(a), About::Height(b)) => Some(b - a),
            _ => None,
        };
        (other.axial_m - self.axial_m, round)
    }

    /// Share of this place's area that lies within another, its box against the other's grown by what both places are
    /// uncertain by.
    #[must_use]
    pub fn share_within(&self, other: &Self, body: &Body, uncertain_m: (f64, f64)) -> f64 {
        let (along_m, round_m) = self.apart_m(other, body);
        let along = shared((self.length_m, other.length_m + 2.0 * uncertain_m.0), along_m);
        let round = round_m.map_or(1.0, |m| shared((self.arc_m, other.arc_m + 2.0 * uncertain_m.1), m));
        along * round
    }

    /// Share of this place that a survey usefully saw; None where its map does not tell.
    #[must_use]
    pub fn share_seen(&self, asset: &Asset, body: &Body) -> Option<f64> {
        seen::share(self, asset.seen.as_ref()?, body)
    }
}

/// Share of a stretch that lies within another whose middle is so far off.
fn shared((mine_m, theirs_m): (f64, f64), apart_m: f64) -> f64 {
    let overlap_m = ((mine_m + theirs_m) / 2.0 - apart_m.abs()).min(mine_m).min(theirs_m);
    // A place without length is within or it is not.
    if mine_m <= 1e-9 {
        return f64::from(u8::from(overlap_m >= 0.0));
    }
    (overlap_m / mine_m).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    const LEVEL: Body = Body::Level {
        diameter_m: 1.2,
        length_m: 4.0,
    };

    fn spot(axial_m: f64, deg: f64) -> Spot {
        Spot {
            axial_m,
            about: About::Asset(deg),
            length_m: 0.4,
            arc_m: 0.3,
        }
    }

    #[test]
    fn twelve_is_no_cut() {
        let (along_m, round_m) = spot(1.0, 355.0).apart_m(&spot(1.5, 5.0), &LEVEL);
        assert!((along_m - 0.5).abs() < 1e-12);
        assert!((round_m.unwrap() - 10.0 / 360.0 * std::f64::consts::PI * 1.2).abs() < 1e-12);
    }

    #[test]
    fn from_the_other_end_and_back_is_the_same_place() {
        let there = spot(0.7, 100.0).from_other_end(&LEVEL);
        assert_eq!(there, spot(3.3, 260.0));
        let back = there.from_other_end(&LEVEL);
        assert!((back.axial_m - 0.7).abs() < 1e-12 && back.about == About::Asset(100.0));
    }

    #[test]
    fn shares_of_a_place() {
        assert!((spot(1.0, 90.0).share_within(&spot(1.2, 90.0), &LEVEL, (0.0, 0.0)) - 0.5).abs() < 1e-12);
        assert_eq!(spot(1.0, 90.0).share_within(&spot(1.5, 90.0), &LEVEL, (0.0, 0.0)), 0.0);
        assert!((spot(1.0, 90.0).share_within(&spot(1.1, 90.0), &LEVEL, (0.1, 0.0)) - 1.0).abs() < 1e-12);
    }
}
