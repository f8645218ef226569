//! The figure from an outline marked by hand: width across gives the scale, the ends or `view_start_mm` the place.

use super::figure::{DatumEnd, Figure, Size, Surface};
use super::orientation::Orientation;
use super::{AxialFooting, Error};

/// Largest tilt looked for and the step, in degrees.
const MOST_TILT_DEG: f64 = 15.0;
const TILT_STEP_DEG: f64 = 0.1;
/// A corner this near the picture's border (px) says that the asset goes on beyond it.
const CUT_PX: f64 = 1.5;
/// Head depth where no end tells, as a share of the radius (2:1 ellipsoidal).
const USUAL_HEAD: f64 = 0.5;
/// Most by which length and width may disagree about the scale.
const MOST_STRETCH: f64 = 1.25;

/// The registered figure laid over a polygon in image pixels.
///
/// # Errors
/// [`Error::BadOutline`] where the polygon spans no area or does not have the registered proportions.
pub(super) fn place(
    polygon: &[[f64; 2]],
    orientation: &Orientation,
    size: Size,
    view_start_m: Option<f64>,
) -> Result<(Figure, AxialFooting), Error> {
    let (columns, _) = orientation.size();
    let points: Vec<(f64, f64)> = polygon.iter().map(|p| orientation.from_image(p[0], p[1])).collect();
    if points.len() < 3 || points.iter().any(|(u, v)| !u.is_finite() || !v.is_finite()) {
        return Err(Error::BadOutline {
            what: format!("has {} usable corners (accepted: 3 or more)", points.len()),
        });
    }
    let near = points.iter().any(|p| p.0 < CUT_PX - 0.5);
    let far = points.iter().any(|p| p.0 > columns as f64 - 0.5 - CUT_PX);
    let frame = Frame::least(&points, near || far);
    if frame.width() < 2.0 || frame.length() < 2.0 {
        let what = format!(
            "is {:.1} px by {:.1} px (accepted: at least 2 px)",
            frame.length(),
            frame.width()
        );
        return Err(Error::BadOutline { what });
    }
    match (near, far) {
        (false, false) => frame.whole(size).map(|figure| (figure, AxialFooting::Known)),
        _ => Ok(frame.partial(size, (near, far), view_start_m)),
    }
}

/// A polygon's extent along and across one tilt.
struct Frame {
    tilt_rad: f64,
    along: (f64, f64),
    across: (f64, f64),
}

impl Frame {
    fn at(points: &[(f64, f64)], tilt_rad: f64) -> Self {
        let (sin, cos) = tilt_rad.sin_cos();
        let extent = |values: &mut dyn Iterator<Item = f64>| {
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| {
                (low.min(x), high.max(x))
            })
        };
        Self {
            tilt_rad,
            along: extent(&mut points.iter().map(|(u, v)| u * cos + v * sin)),
            across: extent(&mut points.iter().map(|(u, v)| v * cos - u * sin)),
        }
    }

    /// The tilt of least area; of least width where an end is cut off square to the picture.
    fn least(points: &[(f64, f64)], cut: bool) -> Self {
        let steps = (MOST_TILT_DEG / TILT_STEP_DEG).round() as i32;
        let size = |f: &Self| if cut { f.width() } else { f.width() * f.length() };
        let mut best = Self::at(points, 0.0);
        for step in -steps..=steps {
            let frame = Self::at(points, (f64::from(step) * TILT_STEP_DEG).to_radians());
            if size(&frame) < size(&best) - 1e-9 {
                best = frame;
            }
        }
        best
    }

    fn width(&self) -> f64 {
        self.across.1 - self.across.0
    }

    fn length(&self) -> f64 {
        self.along.1 - self.along.0
    }

    /// Oriented pixel of a place along the middle line.
    fn middle(&self, along: f64) -> (f64, f64) {
        let across = (self.across.0 + self.across.1) / 2.0;
        let (sin, cos) = self.tilt_rad.sin_cos();
        (along * cos - across * sin, along * sin + across * cos)
    }

    /// Both ends in view.
    fn whole(&self, size: Size) -> Result<Figure, Error> {
        let width_scale = self.width() / (2.0 * size.half_width_m);
        let beyond_m = self.length() / width_scale - size.length_m;
        // What is longer than the registered length is heads; what is shorter, or plane, tells the scale along.
        let most_m = if size.surface == Surface::Round {
            2.1 * size.half_width_m
        } else {
            0.0
        };
        let head_depth_m = beyond_m.clamp(0.0, most_m) / 2.0;
        let scale_px_m = self.length() / (size.length_m + 2.0 * head_depth_m);
        let stretch = width_scale / scale_px_m;
        if !(1.0 / MOST_STRETCH..=MOST_STRETCH).contains(&stretch) {
            return Err(Error::BadOutline {
                what: format!(
                    "is {:.1} times as long as wide, the registered shape {:.1} times (accepted: within a quarter, heads aside)",
                    self.length() / self.width(),
                    (size.length_m + 2.0 * head_depth_m) / (2.0 * size.half_width_m)
                ),
            });
        }
        let (anchor_u, anchor_v) = self.middle((self.along.0 + self.along.1) / 2.0);
        let anchor_axial_m = size.length_m / 2.0;
        let tilt_rad = self.tilt_rad;
        Ok(Figure {
            size,
            head_depth_m,
            datum_end: DatumEnd::Head,
            skirt_m: 0.0,
            stretch,
            anchor_u,
            anchor_v,
            anchor_axial_m,
            tilt_rad,
            taper_per_m: 0.0,
            scale_px_m,
        })
    }

    /// An end, or both, beyond the picture.
    fn partial(&self, size: Size, (near, far): (bool, bool), view_start_m: Option<f64>) -> (Figure, AxialFooting) {
        let scale_px_m = self.width() / (2.0 * size.half_width_m);
        let head_depth_m = if size.surface == Surface::Round {
            USUAL_HEAD * size.half_width_m
        } else {
            0.0
        };
        // Where the middle line meets the picture's datum-side edge, u = −0.5.
        let (sin, cos) = self.tilt_rad.sin_cos();
        let at_edge = (-0.5 + (self.across.0 + self.across.1) / 2.0 * sin) / cos;
        let (along, anchor_axial_m, footing) = match (view_start_m, near, far) {
            (Some(start_m), ..) => (at_edge, start_m, AxialFooting::Known),
            (None, false, _) => (self.along.0, -head_depth_m, AxialFooting::Known),
            (None, true, false) => (self.along.1, size.length_m + head_depth_m, AxialFooting::Known),
            (None, true, true) => (at_edge, 0.0, AxialFooting::FromPictureEdge),
        };
        let (anchor_u, anchor_v) = self.middle(along);
        let tilt_rad = self.tilt_rad;
        (
            Figure {
                size,
                head_depth_m,
                datum_end: DatumEnd::Head,
                skirt_m: 0.0,
                stretch: 1.0,
                anchor_u,
                anchor_v,
                anchor_axial_m,
                tilt_rad,
                taper_per_m: 0.0,
                scale_px_m,
            },
            footing,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::locate::clip;
    use crate::register::{Shape, Side};

    const VESSEL: Shape = Shape::HorizontalCylinder {
        diameter_m: 1.2,
        length_m: 3.0,
    };

    fn figure(scale_px_m: f64, anchor_u: f64, tilt_rad: f64) -> Figure {
        Figure {
            size: Size::from(&VESSEL),
            head_depth_m: 0.3,
            datum_end: DatumEnd::Head,
            skirt_m: 0.0,
            stretch: 1.0,
            anchor_u,
            anchor_v: 118.0,
            anchor_axial_m: 1.5,
            tilt_rad,
            taper_per_m: 0.0,
            scale_px_m,
        }
    }

    /// The figure's own outline as someone would mark it in an image of 320 × 240.
    fn marked(figure: &Figure, orientation: &Orientation) -> Vec<[f64; 2]> {
        let oriented: Vec<[f64; 2]> = figure.outline(2.0).iter().map(|p| [p.u, p.v]).collect();
        let (columns, rows) = orientation.size();
        clip::to_picture(&oriented, columns as f64, rows as f64)
            .iter()
            .map(|p| orientation.to_image(p[0], p[1]))
            .collect()
    }

    fn farthest(a: &Figure, b: &Figure, axial_m: &[f64]) -> f64 {
        let places = axial_m.iter().flat_map(|&x| [(x, -0.6), (x, 0.0), (x, 0.6)]);
        places
            .map(|(x, q)| (a.pixel(x, q), b.pixel(x, q)))
            .map(|(p, q)| (p.0 - q.0).hypot(p.1 - q.1))
            .fold(0.0, f64::max)
    }

    #[test]
    fn a_whole_outline_gives_its_figure_back_from_every_side() {
        for side in [Side::Left, Side::Right, Side::Top, Side::Bottom] {
            let orientation = Orientation::new(&VESSEL, Some(side), 320, 240);
            let (columns, _) = orientation.size();
            let truth = figure(50.0, columns as f64 / 2.0, 0.06);
            let (found, footing) = place(&marked(&truth, &orientation), &orientation, truth.size, None).unwrap();
            assert_eq!(footing, AxialFooting::Known);
            assert!(farthest(&truth, &found, &[0.0, 1.5, 3.0]) < 1.0, "{side:?} {found:?}");
            assert!((found.head_depth_m - 0.3).abs() < 0.02, "{}", found.head_depth_m);
        }
    }

    #[test]
    fn a_cut_outline_is_placed_by_view_start_or_by_the_end_in_view() {
        let orientation = Orientation::new(&VESSEL, None, 320, 240);
        let truth = figure(100.0, 250.0, 0.03);
        let polygon = marked(&truth, &orientation);
        let start_m = truth.local(-0.5, truth.pixel(-0.1, 0.0).1).0;
        let (found, footing) = place(&polygon, &orientation, truth.size, Some(start_m)).unwrap();
        assert_eq!(footing, AxialFooting::Known);
        assert!(farthest(&truth, &found, &[0.5, 1.5]) < 2.0, "{found:?}");
        let (found, footing) = place(&polygon, &orientation, truth.size, None).unwrap();
        assert_eq!(footing, AxialFooting::Known);
        assert!(farthest(&truth, &found, &[0.5, 1.5]) < 2.0, "{found:?}");
    }

    #[test]
    fn a_run_over_both_borders_is_measured_from_the_picture() {
        let orientation = Orientation::new(&VESSEL, None, 320, 240);
        let polygon = [[-0.5, 60.0], [319.5, 60.0], [319.5, 180.0], [-0.5, 180.0]];
        let (found, footing) = place(&polygon, &orientation, Size::from(&VESSEL), None).unwrap();
        assert_eq!(footing, AxialFooting::FromPictureEdge);
        assert!((found.scale_px_m - 100.0).abs() < 1e-6, "{}", found.scale_px_m);
        assert!(found.local(-0.5, 120.0).0.abs() < 1e-9);
    }

    #[test]
    fn degenerate_and_foreign_outlines_are_refused() {
        let orientation = Orientation::new(&VESSEL, None, 320, 240);
        let line = [[10.0, 50.0], [100.0, 50.0], [200.0, 50.0]];
        let tall = [[100.0, 10.0], [140.0, 10.0], [140.0, 230.0], [100.0, 230.0]];
        let unknown = [[10.0, 50.0], [f64::NAN, 50.0], [200.0, 90.0]];
        for polygon in [&line[..], &line[..2], &tall[..], &unknown[..]] {
            let refused = place(polygon, &orientation, Size::from(&VESSEL), None);
            assert!(matches!(refused, Err(Error::BadOutline { .. })), "{polygon:?}");
        }
    }
}
