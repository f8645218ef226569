//! Walking along the normals of a piece of outline, quickly: places are kept in 1/65536 px, so that a step is an addition
//! and the pixel a shift.

use super::figure::OutlinePoint;

/// Fraction bits of a place.
const BITS: u32 = 16;
/// Largest place in px that is walked to: beyond, nothing is in the picture in any case. Two of them may be added.
const FAR_PX: f64 = 16_000.0;

/// A place in px, kept as a whole number.
pub(super) fn fixed(px: f64) -> i32 {
    (px.clamp(-FAR_PX, FAR_PX) * f64::from(1 << BITS)) as i32
}

/// Index of the pixel of a place, if that lies in the picture.
#[inline]
pub(super) fn index_of((u, v): (i32, i32), (rows, cols): (i32, i32)) -> Option<usize> {
    let (u, v) = (u >> BITS, v >> BITS);
    // One comparison for both bounds: a negative number is a large unsigned one.
    let inside = (u as u32) < cols as u32 && (v as u32) < rows as u32;
    inside.then_some((v * cols + u) as usize)
}

/// A walk along one normal.
#[derive(Clone, Copy)]
pub(super) struct Walk {
    u: i32,
    v: i32,
    step_u: i32,
    step_v: i32,
}

impl Walk {
    /// From `reach` px inside the point outwards, a pixel a step.
    pub(super) fn across(point: &OutlinePoint, reach: i32) -> Self {
        let reach = f64::from(reach);
        Self {
            u: fixed(point.u - reach * point.normal_u + 0.5),
            v: fixed(point.v - reach * point.normal_v + 0.5),
            step_u: fixed(point.normal_u),
            step_v: fixed(point.normal_v),
        }
    }

    /// Goes on by a step.
    #[inline]
    pub(super) fn go_on(&mut self) {
        self.u += self.step_u;
        self.v += self.step_v;
    }

    /// Column and row after `steps` steps; negative outside the picture.
    pub(super) fn at(&self, steps: i32) -> (i32, i32) {
        (
            (self.u + steps * self.step_u) >> BITS,
            (self.v + steps * self.step_v) >> BITS,
        )
    }

    /// Index of the pixel after `steps` steps, if that lies in the picture.
    pub(super) fn index(&self, steps: i32, size: (i32, i32)) -> Option<usize> {
        index_of((self.u + steps * self.step_u, self.v + steps * self.step_v), size)
    }

    /// Whether all of the first `steps` steps stay in the picture.
    pub(super) fn stays(&self, steps: i32, size: (i32, i32)) -> bool {
        self.index(0, size).is_some() && self.index(steps, size).is_some()
    }
}
