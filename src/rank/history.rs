//! What the sheets around the survey and earlier surveys say of a zone's place: it enters the priority, each as a part of
//! its own. All of it only raises a priority: silence of a sheet is no evidence of soundness.

use super::Ranked;
use crate::assess::Extent;
use crate::register::around::{Around, At, Corrosion, Kind, Moisture, Observation, Opening, Point, Reading};
use crate::register::{Asset, Shape};

/// How far from a zone's edge something still stands at its place, m: water runs along a jacket before it shows, and places
/// are paced off (project rule).
pub const NEAR_M: f64 = 0.3;

/// What is known of a zone's place beside the frames. Each but the first is a share, 0 to 1.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct History {
    /// Growth of area × (ratio − 1) since the survey before, m².
    pub growth_m2: f64,
    /// What the walk round saw there.
    pub observed: f64,
    /// What openings found there.
    pub opened: f64,
    /// Wall that is gone of what there was to lose.
    pub wall: f64,
}

impl History {
    /// What the sheets say of a zone; its growth is known to whoever has compared surveys.
    #[must_use]
    pub fn of(zone: &Ranked, assets: &[Asset], around: &Around, growth_m2: f64) -> Self {
        let Some(asset) = assets.get(zone.asset) else {
            return Self::default();
        };
        let most = |shares: Vec<f64>| shares.into_iter().fold(0.0, f64::max);
        let observed = around.observations.iter().filter(|seen| seen.asset == zone.asset);
        let opened = around.openings.iter().filter(|opening| {
            // What was found under former insulation says nothing of this one.
            let year = opening.opened_on.get(..4).and_then(|year| year.parse::<i32>().ok());
            asset
                .insulated_year
                .is_none_or(|put_on| year.is_none_or(|year| year >= put_on))
        });
        Self {
            growth_m2,
            observed: most(observed.map(|seen| observed_share(zone, asset, seen)).collect()),
            opened: most(opened.map(|opening| opened_share(zone, asset, opening)).collect()),
            wall: most(wall_shares(zone, asset, &around.walls)),
        }
    }
}

/// How much an observation says, 1 for jacket that stands open; half of it where nobody wrote where it was.
fn observed_share(zone: &Ranked, asset: &Asset, seen: &Observation) -> f64 {
    let weight = match seen.kind {
        Kind::JacketHole | Kind::VapourRetarderBreach | Kind::InspectionPortUnsealed => 1.0,
        Kind::JacketCrack | Kind::SealantFailure => 0.7,
        Kind::Ice | Kind::Frost => 0.5,
        Kind::Dampness | Kind::Condensation | Kind::CoatingDamage => 0.35,
        Kind::NameplateMissing | Kind::NameplateIllegible | Kind::Anchorage | Kind::Support => 0.0,
    };
    let point = Point {
        asset: seen.asset,
        axial_m: seen.axial_m,
        absolute_deg: match asset.shape {
            Shape::HorizontalCylinder { .. } => seen.clock_h.map(|hours| 30.0 * hours),
            Shape::VerticalCylinder { .. } => seen.bearing_deg,
            Shape::Flat { .. } => None,
        },
        height_m: None,
    };
    match point.axial_m {
        None => weight / 2.0,
        Some(_) if is_near(zone, asset, &point) => weight,
        Some(_) => 0.0,
    }
}

/// What an opening found, 1 for wet insulation over pitted metal.
fn opened_share(zone: &Ranked, asset: &Asset, opening: &Opening) -> f64 {
    let is_here = match &opening.at {
        At::Zone(name) => *name == zone.id,
        At::Point(point) => is_near(zone, asset, point),
    };
    if !is_here {
        return 0.0;
    }
    let moisture = match opening.moisture {
        Moisture::Dry => 0.0,
        Moisture::Damp => 0.35,
        Moisture::Wet | Moisture::Frozen => 0.65,
    };
    let corrosion = match opening.corrosion {
        None | Some(Corrosion::None) => 0.0,
        Some(Corrosion::Light) => 0.15,
        Some(Corrosion::Pitting | Corrosion::Heavy) => 0.35,
    };
    moisture + corrosion
}

/// Loss at each point near a zone: (most ever − last)/(most ever − required), the most being the nominal wall or the
/// thickest reading; half of it where the sheet does not say where on the asset a point lies.
fn wall_shares(zone: &Ranked, asset: &Asset, walls: &[Reading]) -> Vec<f64> {
    let mine: Vec<&Reading> = walls.iter().filter(|reading| reading.at.asset == zone.asset).collect();
    let last_of = |point: &str| {
        let readings = mine.iter().filter(|reading| reading.point == point);
        readings.max_by(|a, b| a.measured_on.cmp(&b.measured_on))
    };
    let mut names: Vec<&str> = mine.iter().map(|reading| reading.point.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    let share = |name: &str| {
        let last = last_of(name)?;
        let readings = mine.iter().filter(|reading| reading.point == name);
        let known = readings.flat_map(|reading| [Some(reading.thickness_m), reading.nominal_m]);
        let most_m = known.flatten().fold(0.0, f64::max);
        // Without a required thickness, half the wall stands for what can be lost (project rule).
        let required_m = last.required.map_or(most_m / 2.0, |required| required.thickness_m);
        let lost = (most_m - last.thickness_m) / (most_m - required_m).max(1e-4);
        let weight = match last.at.axial_m {
            None => 0.5,
            Some(_) if is_near(zone, asset, &last.at) => 1.0,
            Some(_) => 0.0,
        };
        let share = if last.thickness_m < required_m {
            1.0
        } else {
            lost.clamp(0.0, 1.0)
        };
        Some(weight * share)
    };
    names.into_iter().filter_map(share).collect()
}

/// Whether a place lies on a zone, or within [`NEAR_M`] of its edge; a place without a girth position by its metres alone.
#[must_use]
pub fn is_near(zone: &Ranked, asset: &Asset, point: &Point) -> bool {
    if point.asset != zone.asset {
        return false;
    }
    if zone.finding.extent == Extent::General {
        return true;
    }
    let seen = &zone.finding.zone;
    let Some(axial_m) = point.axial_m else { return false };
    if (axial_m - zone.place.axial_m).abs() > seen.length_m / 2.0 + NEAR_M {
        return false;
    }
    let apart_m = match asset.shape {
        Shape::HorizontalCylinder { diameter_m, .. } | Shape::VerticalCylinder { diameter_m, .. } => {
            let degrees = zone.place.absolute_deg.zip(point.absolute_deg);
            degrees.map(|(a, b)| {
                ((a - b + 180.0).rem_euclid(360.0) - 180.0).abs() * diameter_m / 2.0 * std::f64::consts::PI / 180.0
            })
        }
        Shape::Flat { .. } => zone.place.height_m.zip(point.height_m).map(|(a, b)| (a - b).abs()),
    };
    apart_m.is_none_or(|apart_m| apart_m <= seen.arc_m / 2.0 + NEAR_M)
}
