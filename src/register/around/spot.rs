//! A place that a sheet gives by asset, metres from the datum, and clock, bearing or height.

use super::super::assets::Assets;
use super::super::frames::{BEARING, asset_index};
use super::super::row::Row;
use super::super::units::Range;
use super::super::{Asset, Shape};

/// From the datum tangent line, heads included, m.
pub(super) const AXIAL: Range = Range::between(-20.0, 220.0);
/// Above the bottom edge of a wall, m.
const HEIGHT: Range = Range::between(0.0, 200.0);

/// A place on an asset.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Index into [`super::super::Register::assets`].
    pub asset: usize,
    /// Metres from the datum, where given.
    pub axial_m: Option<f64>,
    /// Clock angle or compass bearing in degrees (cylinders), where given.
    pub absolute_deg: Option<f64>,
    /// Metres above the bottom edge (walls), where given.
    pub height_m: Option<f64>,
}

/// How much of a place a row must give.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Need {
    /// All of it, for this reason.
    Whole(&'static str),
    /// What there is.
    Any,
}

/// Reads a place; None where its asset is not known or a needed part is missing.
pub(super) fn read(row: &mut Row<'_>, assets: Option<&Assets>, need: Need) -> Option<Point> {
    let index = asset_index(row, assets);
    let axial_m = match need {
        Need::Whole(by) => row.needed_number("axial_m", AXIAL, by),
        Need::Any => row.number("axial_m", AXIAL),
    };
    let asset = assets
        .zip(index)
        .and_then(|(assets, index)| assets.rows.get(index)?.as_ref());
    let Some(asset) = asset else {
        // Whatever the asset is, a cell that is none of these is at fault.
        let _ = (
            row.clock("clock"),
            row.number("bearing_deg", BEARING),
            row.number("height_m", HEIGHT),
        );
        return None;
    };
    let (absolute_deg, height_m) = round(row, asset, need);
    if let Need::Whole(_) = need
        && axial_m.is_none()
    {
        return None;
    }
    warn_beyond(row, asset, axial_m);
    Some(Point {
        asset: index?,
        axial_m,
        absolute_deg,
        height_m,
    })
}

/// Clock angle or bearing, and height, as the asset's shape has them.
fn round(row: &mut Row<'_>, asset: &Asset, need: Need) -> (Option<f64>, Option<f64>) {
    let whole = |row: &mut Row<'_>, key: &'static str, accepted: &str| {
        if let Need::Whole(by) = need {
            row.is_filled_for(key, by, accepted);
        }
    };
    match asset.shape {
        Shape::HorizontalCylinder { .. } => {
            row.warn_unused(
                &["bearing_deg", "height_m"],
                "the asset is a horizontal cylinder, on which a place is given by clock",
            );
            whole(row, "clock", "hours on a clock face, 0 to 12, such as 3, 9 or 10:30");
            (row.clock("clock").map(|hours| 30.0 * hours), None)
        }
        Shape::VerticalCylinder { .. } => {
            row.warn_unused(
                &["clock", "height_m"],
                "the asset is a vertical cylinder, on which a place is given by bearing_deg",
            );
            whole(row, "bearing_deg", "0 to 360 °");
            let bearing = row.number("bearing_deg", BEARING).map(|deg| deg % 360.0);
            (bearing, None)
        }
        Shape::Flat { .. } => {
            row.warn_unused(
                &["clock", "bearing_deg"],
                "the asset is a wall, on which a place is given by axial_m and height_m",
            );
            (None, row.number("height_m", HEIGHT))
        }
    }
}

/// Doubt about a place beyond the ends of its asset.
pub(super) fn warn_beyond(row: &mut Row<'_>, asset: &Asset, axial_m: Option<f64>) {
    let length_m = super::length_m(&asset.shape);
    // A head is no deeper than half the diameter of its vessel.
    let head_m = match asset.shape {
        Shape::HorizontalCylinder { diameter_m, .. } | Shape::VerticalCylinder { diameter_m, .. } => diameter_m / 2.0,
        Shape::Flat { .. } => 0.0,
    };
    if axial_m.is_some_and(|axial_m| axial_m < -head_m || axial_m > length_m + head_m) {
        let name = row.name("axial_m");
        row.warn(&format!("{name} lies beyond the end of {}", asset.tag));
    }
}
