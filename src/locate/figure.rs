//! The known figure of an asset in the picture: a cylinder with dished ends, or a rectangle.
//!
//! Side view of a cylinder of radius R by a camera that need not look square on: it may look up at a tall vessel, or along a
//! long one.
//!
//! ```text
//! axial a (m from the datum tangent line), across q (m from the axis)
//! u = u₀ + s·[(a − a₀)·cos θ − w·q·sin θ]/n    v = v₀ + s·[(a − a₀)·sin θ + w·q·cos θ]/n    n = 1 + κ·(a − a₀)
//! ```
//!
//! with (u₀, v₀) the anchor on the axis, a₀ its axial place, θ the tilt, s the scale in pixels a metre at the anchor, w the
//! stretch of the width (1 from far away) and κ the taper: a pinhole at a distance D of the anchor, along its line of sight,
//! that sees the axis at the angle β to the picture's plane shows it with κ = sin β / D. Follows from the geometry of a
//! pinhole, the silhouette taken as that in the plane of the axis; the axis is shorter by cos β, which the stretch takes up.

mod outline;

pub use outline::OutlinePoint;
pub(super) use outline::{EndForm, pieces};

use crate::register::Shape;

/// Depth of ends that are flat, at most (set by hand), and of dished ones, at least, in half widths: a torispherical head, the
/// flattest of the usual ones, is 0.39 deep (common practice, no source).
const FLAT_SHARE: f64 = 0.16;
pub(super) const DISHED_SHARE: f64 = 0.39;

/// Least distance from the camera over that of the anchor, so that no place lies behind the camera, and the inverse of the
/// greatest; no fitted figure comes near either.
pub const NEAREST: f64 = 0.1;

/// Size of the registered figure in m.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Size {
    /// Tangent line to tangent line (cylinder) or width (wall).
    pub length_m: f64,
    /// Half the diameter (cylinder) or half the height (wall).
    pub half_width_m: f64,
    /// Whether the surface is round or plane.
    pub surface: Surface,
    /// What it stands on.
    pub stance: Stance,
}

/// Whether an asset stands on its datum end, where a skirt may hide that end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Stance {
    /// On its datum end: a vertical vessel.
    OnEnd,
    /// On its side, or on nothing.
    OnSide,
}

/// What the picture shows of the datum end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum DatumEnd {
    /// The head.
    Head,
    /// A skirt that hides it, from a line at the tangent line or a little below it on: [`Figure::skirt_m`].
    Skirt,
}

/// Whether the surface is round or plane.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Surface {
    /// A cylinder with heads at its ends.
    Round,
    /// A plane wall.
    Plane,
}

impl From<&Shape> for Size {
    fn from(shape: &Shape) -> Self {
        match *shape {
            Shape::HorizontalCylinder { diameter_m, length_m } => Self {
                length_m,
                half_width_m: diameter_m / 2.0,
                surface: Surface::Round,
                stance: Stance::OnSide,
            },
            Shape::VerticalCylinder { diameter_m, length_m } => Self {
                length_m,
                half_width_m: diameter_m / 2.0,
                surface: Surface::Round,
                stance: Stance::OnEnd,
            },
            Shape::Flat { width_m, height_m } => Self {
                length_m: width_m,
                half_width_m: height_m / 2.0,
                surface: Surface::Plane,
                stance: Stance::OnSide,
            },
        }
    }
}

/// The figure at a place, scale and tilt, in oriented coordinates.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Figure {
    /// The registered size.
    pub size: Size,
    /// Depth of the heads beyond the tangent lines in m (0: flat ends).
    pub head_depth_m: f64,
    /// What is seen of the datum end.
    pub datum_end: DatumEnd,
    /// How far below the tangent line a skirt begins, in m: where the head has drawn in to its width.
    pub skirt_m: f64,
    /// Width seen over registered width: a near camera sees the silhouette of a cylinder wider by 1/√(1 − (R/d)²).
    pub stretch: f64,
    /// Anchor on the axis, along, in px.
    pub anchor_u: f64,
    /// Anchor on the axis, across, in px.
    pub anchor_v: f64,
    /// Axial place of the anchor in m.
    pub anchor_axial_m: f64,
    /// Tilt of the axis in rad, positive where the far end lies at larger v.
    pub tilt_rad: f64,
    /// Scale at the anchor in px/m.
    pub scale_px_m: f64,
    /// Taper κ in 1/m: by how much the distance from the camera grows, as a share of that of the anchor, per metre along the
    /// axis.
    pub taper_per_m: f64,
}

/// Which part of the outline a point belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// The long edge at negative q.
    NearSide,
    /// The long edge at positive q.
    FarSide,
    /// The end at the datum.
    DatumEnd,
    /// The end away from the datum.
    OtherEnd,
}

impl Figure {
    /// (axial m, across m) of an oriented pixel.
    #[must_use]
    pub fn local(&self, u: f64, v: f64) -> (f64, f64) {
        let (sin, cos) = self.tilt_rad.sin_cos();
        let (du, dv) = (u - self.anchor_u, v - self.anchor_v);
        // X = (a − a₀)/n turns round to a − a₀ = X·n, n = 1/(1 − κ·X)
        let along = (du * cos + dv * sin) / self.scale_px_m;
        let distance = 1.0 / (1.0 - self.taper_per_m * along).max(NEAREST);
        (
            along * distance + self.anchor_axial_m,
            (dv * cos - du * sin) / (self.scale_px_m * self.stretch) * distance,
        )
    }

    /// Distance of a place on the axis from the camera over that of the anchor, n above.
    #[must_use]
    pub fn distance(&self, axial_m: f64) -> f64 {
        (1.0 + self.taper_per_m * (axial_m - self.anchor_axial_m)).max(NEAREST)
    }

    /// The same figure in a picture reduced by blocks of `factor` × `factor` pixels.
    #[must_use]
    pub fn reduced(&self, factor: usize) -> Self {
        let factor = factor as f64;
        let cell = |px: f64| (px + 0.5) / factor - 0.5;
        Self {
            anchor_u: cell(self.anchor_u),
            anchor_v: cell(self.anchor_v),
            scale_px_m: self.scale_px_m / factor,
            ..*self
        }
    }

    /// The inverse of [`Figure::reduced`].
    #[must_use]
    pub fn enlarged(&self, factor: usize) -> Self {
        let factor = factor as f64;
        let full = |px: f64| (px + 0.5) * factor - 0.5;
        Self {
            anchor_u: full(self.anchor_u),
            anchor_v: full(self.anchor_v),
            scale_px_m: self.scale_px_m * factor,
            ..*self
        }
    }

    /// The same figure with its anchor at another place on the axis: scale, stretch and taper are those there.
    ///
    /// ```text
    /// m = a₁ − a₀, n = 1 + κ·m:   s₁ = s/n²   w₁ = w·n   κ₁ = κ/n
    /// ```
    #[must_use]
    pub fn anchored_at(&self, axial_m: f64) -> Self {
        let distance = self.distance(axial_m);
        let (anchor_u, anchor_v) = self.pixel(axial_m, 0.0);
        Self {
            anchor_u,
            anchor_v,
            anchor_axial_m: axial_m,
            scale_px_m: self.scale_px_m / (distance * distance),
            stretch: self.stretch * distance,
            taper_per_m: self.taper_per_m / distance,
            ..*self
        }
    }

    /// Oriented pixel (u, v) of a place on the figure.
    #[must_use]
    pub fn pixel(&self, axial_m: f64, across_m: f64) -> (f64, f64) {
        let (sin, cos) = self.tilt_rad.sin_cos();
        let scale = self.scale_px_m / self.distance(axial_m);
        let (a, q) = ((axial_m - self.anchor_axial_m) * scale, across_m * scale * self.stretch);
        (self.anchor_u + a * cos - q * sin, self.anchor_v + a * sin + q * cos)
    }

    /// Whether a place (axial m, across m) lies inside the outline.
    #[must_use]
    pub fn covers(&self, axial_m: f64, across_m: f64) -> bool {
        let share = across_m / self.size.half_width_m;
        if share.abs() > 1.0 {
            return false;
        }
        // Head as half an ellipse: |a beyond| ≤ depth·√(1 − (q/R)²)
        let reach = self.head_depth_m * (1.0 - share * share).sqrt();
        let before = match self.datum_end {
            DatumEnd::Head => reach,
            DatumEnd::Skirt => reach.min(self.skirt_m),
        };
        axial_m >= -before && axial_m <= self.size.length_m + reach
    }

    /// The depth of the end at the datum or of the other in m, as far as it is seen.
    #[must_use]
    pub fn depth_m(&self, part: Part) -> f64 {
        match (part, self.datum_end) {
            (Part::DatumEnd, DatumEnd::Skirt) => self.skirt_m.min(self.head_depth_m),
            _ => self.head_depth_m,
        }
    }

    /// The form of an end.
    pub(super) fn end_form(&self, part: Part) -> EndForm {
        let depth_m = self.depth_m(part);
        match (part, self.datum_end) {
            (Part::DatumEnd, DatumEnd::Skirt) => EndForm::Skirt {
                half_m: self.size.half_width_m * drawn_in(depth_m, self.head_depth_m),
            },
            _ if depth_m > 0.02 * self.size.half_width_m => EndForm::Dished,
            _ => EndForm::Flat,
        }
    }

    /// How flat the ends of a round figure are: 0 (dished) to 1 (flat); 0 for a plane.
    #[must_use]
    pub(super) fn flatness(&self) -> f64 {
        let share = self.head_depth_m / self.size.half_width_m;
        match self.size.surface {
            Surface::Round => ((DISHED_SHARE - share) / (DISHED_SHARE - FLAT_SHARE)).clamp(0.0, 1.0),
            Surface::Plane => 0.0,
        }
    }

    /// The same with the head that a skirt hides: the asset's own outline.
    #[must_use]
    pub fn whole(&self) -> Self {
        Self {
            datum_end: DatumEnd::Head,
            ..*self
        }
    }
}

/// Half width of a head so far beyond the tangent line, over that of the shell; both lengths in one unit.
///
/// q/R = √(1 − (a/depth)²), the head as half an ellipse
pub(super) fn drawn_in(beyond: f64, depth: f64) -> f64 {
    let share = if depth > 0.0 { beyond / depth } else { 0.0 };
    (1.0 - share * share).max(0.0).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    pub(super) fn figure() -> Figure {
        Figure {
            size: Size {
                length_m: 3.0,
                half_width_m: 0.6,
                surface: Surface::Round,
                stance: Stance::OnEnd,
            },
            head_depth_m: 0.3,
            datum_end: DatumEnd::Head,
            skirt_m: 0.0,
            stretch: 1.02,
            anchor_u: 100.0,
            anchor_v: 80.0,
            anchor_axial_m: 1.5,
            tilt_rad: 0.05,
            scale_px_m: 40.0,
            taper_per_m: 0.03,
        }
    }

    #[test]
    fn another_anchor_leaves_the_figure_where_it_is() {
        let other = figure().anchored_at(0.3);
        for (axial, across) in [(-0.2, 0.0), (0.7, -0.4), (3.1, 0.5)] {
            let ((u, v), (x, y)) = (figure().pixel(axial, across), other.pixel(axial, across));
            assert!((u - x).abs() < 1e-9 && (v - y).abs() < 1e-9, "{u} {v} {x} {y}");
        }
    }

    #[test]
    fn a_pinhole_that_looks_up_shows_the_axis_with_this_taper() {
        // 5 m from the anchor, which stands where it looks; the axis leans away by 10°; 400 px of focal length.
        let (distance_m, lean, focal_px) = (5.0, 10f64.to_radians(), 400.0);
        let seen = |x: f64, q: f64| {
            let depth = distance_m + x * lean.sin();
            (focal_px * x * lean.cos() / depth, focal_px * q / depth)
        };
        let figure = Figure {
            stretch: 1.0 / lean.cos(),
            anchor_u: 0.0,
            anchor_v: 0.0,
            tilt_rad: 0.0,
            scale_px_m: focal_px * lean.cos() / distance_m,
            taper_per_m: lean.sin() / distance_m,
            ..figure()
        };
        for (axial, across) in [(0.0, 0.4), (1.0, -0.6), (3.0, 0.6)] {
            let ((u, v), (x, y)) = (figure.pixel(axial, across), seen(axial - figure.anchor_axial_m, across));
            assert!((u - x).abs() < 1e-9 && (v - y).abs() < 1e-9, "{u} {v} {x} {y}");
        }
    }

    #[test]
    fn pixel_and_local_are_inverse() {
        let (u, v) = figure().pixel(0.7, -0.4);
        let (axial, across) = figure().local(u, v);
        assert!((axial - 0.7).abs() < 1e-12 && (across + 0.4).abs() < 1e-12);
    }
}
