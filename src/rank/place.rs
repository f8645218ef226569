//! A zone's place on the asset in the crew's terms: metres from the datum, clock position or compass bearing.

use crate::detect::Zone;
use crate::detect::coverage::Facing;
use crate::register::{Shape, Side, ViewHint};

/// A place on the asset.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Place {
    /// Metres from the datum tangent line (along the wall for a flat asset).
    pub axial_m: f64,
    /// Height above the bottom edge in m, flat assets only.
    pub height_m: Option<f64>,
    /// Clock position in hours (0 ≤ h < 12) seen from the datum end, horizontal cylinders whose facing is known.
    pub clock_h: Option<f64>,
    /// Compass bearing in degrees, vertical cylinders and walls whose facing is known.
    pub bearing_deg: Option<f64>,
    /// Angle on the asset in degrees in which sightings of several frames are compared; None where the facing is unknown.
    pub absolute_deg: Option<f64>,
}

/// How angles in a frame become angles on the asset, where the sheet says what faces the camera.
///
/// Horizontal cylinders count in clock angle (30° an hour, clockwise seen from the datum end). Standing at 3 o'clock the
/// picture's bottom lies towards 6, one way round; standing at 9 it lies towards 6 the other way round.
/// Vertical cylinders count in compass bearing: what lies to the right of one who faces it has the smaller bearing.
#[must_use]
pub fn facing(shape: &Shape, hint: &ViewHint) -> Option<Facing> {
    match shape {
        Shape::HorizontalCylinder { .. } => {
            let clock = hint.facing_clock?.rem_euclid(12.0);
            let straight_up_or_down = clock.abs() < 1e-9 || (clock - 6.0).abs() < 1e-9;
            let sense = if straight_up_or_down {
                if hint.datum_side == Some(Side::Right) {
                    -1.0
                } else {
                    1.0
                }
            } else if clock < 6.0 {
                1.0
            } else {
                -1.0
            };
            Some(Facing {
                facing_deg: clock * 30.0,
                sense,
            })
        }
        Shape::VerticalCylinder { .. } => {
            let upside_down = hint.datum_side == Some(Side::Top);
            let sense = if upside_down { 1.0 } else { -1.0 };
            hint.facing_bearing_deg.map(|facing_deg| Facing { facing_deg, sense })
        }
        Shape::Flat { .. } => hint
            .facing_bearing_deg
            .map(|facing_deg| Facing { facing_deg, sense: 0.0 }),
    }
}

impl Place {
    /// The place of a zone seen in a frame.
    #[must_use]
    pub fn of(zone: &Zone, shape: &Shape, hint: &ViewHint) -> Self {
        let facing = facing(shape, hint);
        let turned = facing.map(|f| (f.facing_deg + f.sense * zone.angle_deg).rem_euclid(360.0));
        let mut place = Self {
            axial_m: zone.axial_m,
            height_m: None,
            clock_h: None,
            bearing_deg: None,
            absolute_deg: turned,
        };
        match *shape {
            Shape::HorizontalCylinder { .. } => place.clock_h = turned.map(|deg| deg / 30.0),
            Shape::VerticalCylinder { .. } => place.bearing_deg = turned,
            Shape::Flat { height_m, .. } => {
                place.bearing_deg = turned;
                place.height_m = Some(height_m / 2.0 - zone.across_m);
            }
        }
        place
    }
}

/// A bearing as people read it off a compass, such as 68°: of the tenths that the findings hold, so that a list made from
/// them says the same.
#[must_use]
pub fn bearing_words(bearing_deg: f64) -> String {
    let tenths = (10.0 * bearing_deg).round() / 10.0;
    format!("{:.0}°", tenths.round().rem_euclid(360.0))
}

/// A clock position as people write it, such as 4:30, to the nearest quarter of an hour.
#[must_use]
pub fn clock_words(hours: f64) -> String {
    let quarters = (hours * 4.0).round() as i64;
    let (hour, quarter) = (quarters.div_euclid(4).rem_euclid(12), quarters.rem_euclid(4));
    format!("{}:{:02}", if hour == 0 { 12 } else { hour }, 15 * quarter)
}

#[cfg(test)]
mod tests {
    use super::*;

    const LEVEL: Shape = Shape::HorizontalCylinder {
        diameter_m: 1.0,
        length_m: 4.0,
    };
    const UPRIGHT: Shape = Shape::VerticalCylinder {
        diameter_m: 1.0,
        length_m: 4.0,
    };

    fn hint(clock: Option<f64>, bearing: Option<f64>) -> ViewHint {
        ViewHint {
            facing_clock: clock,
            facing_bearing_deg: bearing,
            ..ViewHint::default()
        }
    }

    fn absolute(shape: &Shape, hint: &ViewHint, angle_deg: f64) -> f64 {
        let facing = facing(shape, hint).unwrap();
        (facing.facing_deg + facing.sense * angle_deg).rem_euclid(360.0)
    }

    #[test]
    fn towards_the_bottom_is_towards_six_from_either_side() {
        // 30° below the facing line: 4 o'clock from the 3 o'clock side, 8 o'clock from the 9 o'clock side.
        assert!((absolute(&LEVEL, &hint(Some(3.0), None), 30.0) / 30.0 - 4.0).abs() < 1e-9);
        assert!((absolute(&LEVEL, &hint(Some(9.0), None), 30.0) / 30.0 - 8.0).abs() < 1e-9);
    }

    #[test]
    fn to_the_right_of_the_south_face_lies_east() {
        // One who faces the south face looks north and has east to the right: bearing 180 − 40 = 140.
        assert!((absolute(&UPRIGHT, &hint(None, Some(180.0)), 40.0) - 140.0).abs() < 1e-9);
        assert!(facing(&UPRIGHT, &hint(None, None)).is_none());
    }

    #[test]
    fn bearings_are_told_alike_before_and_after_they_were_written_down() {
        assert_eq!(bearing_words(67.46), bearing_words(67.5));
        assert_eq!(bearing_words(68.5), "69°");
        assert_eq!(bearing_words(359.7), "0°");
    }

    #[test]
    fn clock_words_round_to_a_quarter() {
        assert_eq!(clock_words(4.5), "4:30");
        assert_eq!(clock_words(0.05), "12:00");
        assert_eq!(clock_words(11.95), "12:00");
        assert_eq!(clock_words(9.13), "9:15");
    }
}
