//! What the room's unit tests look at: a jacket and a figure, a hundred pixels a metre.

use super::jacket::{Cover, Jacket};
use crate::locate::figure::{DatumEnd, Figure, Size, Stance, Surface};

/// A plane jacket of so many columns and rows, all of it usable and of 10 °C.
pub(super) fn even_jacket(size: (usize, usize)) -> Jacket {
    let cells = size.0 * size.1;
    Jacket {
        size,
        origin: (0, 0),
        surface_c: vec![10.0; cells],
        share: vec![0.0; cells],
        axial_m: (0..cells).map(|at| (at % size.0) as f32 / 100.0).collect(),
        area_m2: vec![1e-4; cells],
        cover: vec![Cover::Usable; cells],
        scale_px_m: 100.0,
        half_width_m: 0.45,
        surface: Surface::Plane,
        eye: None,
    }
}

/// A lying vessel of 0.8 m radius and 3 m, its datum tangent line on the axis at a pixel (u, v).
pub(super) fn lying([anchor_u, anchor_v]: [f64; 2]) -> Figure {
    Figure {
        size: Size {
            half_width_m: 0.8,
            length_m: 3.0,
            surface: Surface::Round,
            stance: Stance::OnSide,
        },
        head_depth_m: 0.4,
        datum_end: DatumEnd::Head,
        skirt_m: 0.0,
        stretch: 1.0,
        anchor_u,
        anchor_v,
        anchor_axial_m: 0.0,
        tilt_rad: 0.0,
        scale_px_m: 100.0,
        taper_per_m: 0.0,
    }
}
