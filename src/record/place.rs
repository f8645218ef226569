//! Places in words, for lists and pictures.

use crate::rank::Ranked;
use crate::rank::place::{bearing_words, clock_words};
use crate::units::Units;

/// Where a place lies round its asset, or up a wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Round {
    /// Clock position in hours.
    Clock(f64),
    /// Compass bearing in degrees.
    Bearing(f64),
    /// Height above the bottom edge of a wall in m.
    Up(f64),
    /// Degrees from the line that faces the camera, which is not said to face anywhere.
    FromFacing(f64),
    /// It is not said.
    NotSaid,
}

impl Round {
    /// Of a place that is given by one of these at most.
    #[must_use]
    pub fn of(clock_h: Option<f64>, bearing_deg: Option<f64>, height_m: Option<f64>) -> Self {
        match (height_m, clock_h, bearing_deg) {
            (Some(up_m), ..) => Self::Up(up_m),
            (None, Some(hours), _) => Self::Clock(hours),
            (None, None, Some(bearing)) => Self::Bearing(bearing),
            (None, None, None) => Self::NotSaid,
        }
    }
}

/// A place in one phrase, such as `2.35 m from datum, 4:30 o'clock` or `1.20 m along, 0.55 m up`.
#[must_use]
pub fn phrase(axial_m: f64, round: Round, units: Units) -> String {
    let axial = units.length(axial_m);
    match round {
        Round::Up(up_m) => format!("{axial} along, {} up", units.length(up_m)),
        Round::Clock(hours) => format!("{axial} from datum, {} o'clock", clock_words(hours)),
        Round::Bearing(bearing) => format!("{axial} from datum, bearing {}", bearing_words(bearing)),
        Round::FromFacing(deg) => format!("{axial} from datum, {deg:+.0}° from the line facing the camera"),
        Round::NotSaid => format!("{axial} from datum"),
    }
}

/// A zone's place in one phrase.
#[must_use]
pub fn words(zone: &Ranked, units: Units) -> String {
    let place = &zone.place;
    let round = match Round::of(place.clock_h, place.bearing_deg, place.height_m) {
        Round::NotSaid => Round::FromFacing(zone.finding.zone.angle_deg),
        said => said,
    };
    phrase(place.axial_m, round, units)
}
