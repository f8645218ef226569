//! A zone's place in words, for lists and pictures.

use crate::rank::Ranked;
use crate::rank::place::clock_words;
use crate::units::Units;

/// Such as `2.35 m from the datum, 4:30` or `3.1 m up, bearing 140°`.
#[must_use]
pub fn words(zone: &Ranked, units: Units) -> String {
    let place = &zone.place;
    let axial = units.length(place.axial_m);
    if let Some(height_m) = place.height_m {
        return format!("{axial} along, {} up", units.length(height_m));
    }
    if let Some(hours) = place.clock_h {
        return format!("{axial} from datum, {} o'clock", clock_words(hours));
    }
    if let Some(bearing) = place.bearing_deg {
        return format!("{axial} from datum, bearing {bearing:.0}°");
    }
    format!(
        "{axial} from datum, {:+.0}° from the line facing the camera",
        zone.finding.zone.angle_deg
    )
}
