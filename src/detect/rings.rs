//! How sharply a region steps out of the jacket about it, as all of its border shows together.
//!
//! Pixels are gathered in rings by their distance from the border, up to eight inside and eight outside; T(d) is the median
//! of ring d. What the slopes at single places of a faint border say is mostly noise; medians of rings hardly have any.
//! Rings grow by sides and by corners in turn, so that they lie 1.0 to 1.25 px apart, and a width comes out up to a quarter
//! too small; noise takes some more off wide ones, since the steepest step is looked for.
//!
//! ```text
//! width = (T_out − T_in) / max over −5..5 of |T(d + 1) − T(d)|     T_out: median of rings 5 to 7, T_in: extreme ring inside
//! ```

use super::Departure;
use super::jacket::{Cover, Jacket};
use crate::statistic;

/// Rings on either side of the border.
const RINGS: usize = 8;
/// Least pixels of a ring whose median counts.
const LEAST_PX: usize = 5;
/// Rings outside that stand for the jacket about the region: 5 to 7.
const ABOUT: std::ops::Range<usize> = RINGS + 4..RINGS + 7;
/// Rings between which the steepest step is looked for.
const NEAR: std::ops::Range<usize> = RINGS - 6..RINGS + 5;

/// Width in px of the step across a region's border; None where the region is but a pixel or two wide, too little of the
/// jacket about it is seen, or it does not step its own way. Pixels for which `is_others` belong to something else.
pub(super) fn step_px(
    jacket: &Jacket,
    pixels: &[usize],
    departure: Departure,
    is_others: impl Fn(usize) -> bool,
) -> Option<f64> {
    let medians = Part::about(jacket, pixels)?.medians(jacket, is_others);
    let mut about: Vec<f64> = medians[ABOUT].iter().copied().flatten().collect();
    let out_c = statistic::median(&mut about)?;
    let inside = medians[..RINGS - 1].iter().copied().flatten();
    let sign = match departure {
        Departure::Colder => 1.0,
        Departure::Warmer => -1.0,
    };
    let rise_k = inside.map(|in_c| sign * (out_c - in_c)).fold(0.0, f64::max);
    let steepest = medians[NEAR]
        .windows(2)
        .filter_map(|pair| Some(sign * (pair[1]? - pair[0]?)))
        .fold(0.0, f64::max);
    (rise_k > 0.0 && steepest > 0.0).then(|| rise_k / steepest)
}

/// What a pixel of the part is, before its ring is known.
#[derive(Clone, Copy, PartialEq)]
enum Side {
    Inside,
    Outside,
    Beyond,
}

/// The part of the picture that takes in a region and its rings.
struct Part {
    left: usize,
    top: usize,
    width: usize,
    height: usize,
    /// For each pixel: its side, until a ring has taken it.
    sides: Vec<Side>,
    /// Pixels next to the border, inside and outside.
    border: [Vec<usize>; 2],
}

impl Part {
    fn about(jacket: &Jacket, pixels: &[usize]) -> Option<Self> {
        let (columns, rows) = jacket.size;
        let place = |at: usize| (at % columns, at / columns);
        let (first, last) = (pixels.iter().min()?, pixels.iter().max()?);
        let across = pixels.iter().map(|&at| place(at).0);
        let (from, to) = (across.clone().min()?, across.max()?);
        let (left, top) = (
            from.saturating_sub(RINGS + 1),
            place(*first).1.saturating_sub(RINGS + 1),
        );
        let (right, bottom) = ((to + RINGS + 2).min(columns), (place(*last).1 + RINGS + 2).min(rows));
        let (width, height) = (right - left, bottom - top);
        let mut sides = vec![Side::Outside; width * height];
        for &at in pixels {
            let (column, row) = place(at);
            sides[(row - top) * width + column - left] = Side::Inside;
        }
        let mut part = Self {
            left,
            top,
            width,
            height,
            sides,
            border: [Vec::new(), Vec::new()],
        };
        // Only the region's own pixels are gone through: the part about a long one may be large.
        let [mut inner, mut outer] = [Vec::new(), Vec::new()];
        for &at in pixels {
            let (column, row) = place(at);
            let at = (row - top) * width + column - left;
            let beside = outer.len();
            part.visit(at, false, |near| {
                if part.sides[near] == Side::Outside {
                    outer.push(near);
                }
            });
            if outer.len() > beside {
                inner.push(at);
            }
        }
        outer.sort_unstable();
        outer.dedup();
        part.border = [inner, outer];
        Some(part)
    }

    /// The pixels beside one, those at its corners too where asked for.
    fn visit(&self, at: usize, corners: bool, mut visit: impl FnMut(usize)) {
        let (column, row) = (at % self.width, at / self.width);
        for (dx, dy) in [(0, -1), (-1, 0), (1, 0), (0, 1), (-1, -1), (1, -1), (-1, 1), (1, 1)]
            .into_iter()
            .take(if corners { 8 } else { 4 })
        {
            let (x, y) = (column.wrapping_add_signed(dx), row.wrapping_add_signed(dy));
            if x < self.width && y < self.height {
                visit(y * self.width + x);
            }
        }
    }

    /// Median temperature of each ring in °C, from the innermost to the outermost.
    fn medians(mut self, jacket: &Jacket, is_others: impl Fn(usize) -> bool) -> [Option<f64>; 2 * RINGS] {
        let mut medians = [None; 2 * RINGS];
        let border = std::mem::take(&mut self.border);
        for (own, mut ring) in [Side::Inside, Side::Outside].into_iter().zip(border) {
            for step in 0..RINGS {
                let whole = |at: usize| (self.top + at / self.width) * jacket.size.0 + self.left + at % self.width;
                let counts = |at: usize| own == Side::Inside || jacket.cover[at] == Cover::Usable && !is_others(at);
                let mut readings: Vec<f64> = ring
                    .iter()
                    .map(|&at| whole(at))
                    .filter(|&at| counts(at) && jacket.surface_c[at].is_finite())
                    .map(|at| f64::from(jacket.surface_c[at]))
                    .collect();
                let index = if own == Side::Inside {
                    RINGS - 1 - step
                } else {
                    RINGS + step
                };
                if readings.len() >= LEAST_PX {
                    medians[index] = statistic::median(&mut readings);
                }
                ring.iter().for_each(|&at| self.sides[at] = Side::Beyond);
                let mut next = Vec::new();
                for &at in &ring {
                    // By sides and by corners in turn: rings then lie about as far apart aslant as straight.
                    self.visit(at, step % 2 == 1, |near| {
                        if self.sides[near] == own {
                            next.push(near);
                        }
                    });
                }
                next.sort_unstable();
                next.dedup();
                ring = next;
            }
        }
        medians
    }
}

#[cfg(test)]
mod tests {
    use super::super::fixtures::even_jacket;
    use super::*;

    const SIZE: usize = 64;

    /// Distance in px from the edge of a disc of 14 px radius, negative inside.
    fn off_disc(at: usize) -> f64 {
        let (column, row) = ((at % SIZE) as f64 - 31.5, (at / SIZE) as f64 - 31.5);
        column.hypot(row) - 14.0
    }

    /// A jacket with a disc 2 K colder whose edge is a ramp so many px wide, and the disc's pixels to half of that.
    fn disc(ramp_px: f64) -> (Jacket, Vec<usize>) {
        let mut jacket = even_jacket((SIZE, SIZE));
        for (at, surface_c) in jacket.surface_c.iter_mut().enumerate() {
            let colder = (0.5 - off_disc(at) / ramp_px).clamp(0.0, 1.0);
            *surface_c -= 2.0 * colder as f32;
        }
        let pixels = (0..SIZE * SIZE).filter(|&at| off_disc(at) < 0.0).collect();
        (jacket, pixels)
    }

    /// Noise of about 0.1 K, a twentieth of the disc's contrast, the same each time.
    fn noisy(mut jacket: Jacket) -> Jacket {
        let mut state = 1_u32;
        for surface_c in &mut jacket.surface_c {
            let mut sum = 0.0;
            for _ in 0..12 {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                sum += f64::from(state >> 8) / f64::from(1 << 24);
            }
            *surface_c += (0.1 * (sum - 6.0)) as f32;
        }
        jacket
    }

    fn width(jacket: &Jacket, pixels: &[usize]) -> f64 {
        step_px(jacket, pixels, Departure::Colder, |_| false).unwrap()
    }

    #[test]
    fn the_width_of_a_ramp_is_found_with_and_without_noise() {
        for ramp_px in [3.0, 6.0, 9.0] {
            let (jacket, pixels) = disc(ramp_px);
            let (clean, noisy) = (width(&jacket, &pixels), width(&noisy(jacket), &pixels));
            // Up to a quarter too small, as rings lie.
            assert!((0.75..1.1).contains(&(clean / ramp_px)), "{ramp_px} {clean}");
            assert!((0.85..1.15).contains(&(noisy / clean)), "{ramp_px} {clean} {noisy}");
        }
        let (jacket, pixels) = disc(0.1);
        assert!(width(&jacket, &pixels) < 1.5);
    }

    #[test]
    fn what_belongs_to_something_else_is_left_out() {
        let (mut jacket, pixels) = disc(4.0);
        let beside = |at: usize| at % SIZE > 47;
        for (at, surface_c) in jacket.surface_c.iter_mut().enumerate() {
            if beside(at) || at / SIZE > 47 {
                *surface_c = -10.0;
            }
        }
        let hidden = (0..SIZE * SIZE).filter(|at| at / SIZE > 47);
        hidden.for_each(|at| jacket.cover[at] = Cover::Hidden);
        let found = step_px(&jacket, &pixels, Departure::Colder, beside).unwrap();
        assert!((found / 4.0 - 1.0).abs() < 0.15, "{found}");
    }

    #[test]
    fn a_warm_disc_steps_the_other_way_and_a_line_has_no_inside() {
        let (mut jacket, pixels) = disc(4.0);
        jacket
            .surface_c
            .iter_mut()
            .for_each(|surface_c| *surface_c = -*surface_c);
        assert!(step_px(&jacket, &pixels, Departure::Colder, |_| false).is_none());
        assert!(step_px(&jacket, &pixels, Departure::Warmer, |_| false).is_some());
        let line: Vec<usize> = (20..40).map(|column| 30 * SIZE + column).collect();
        assert!(step_px(&even_jacket((SIZE, SIZE)), &line, Departure::Colder, |_| false).is_none());
    }

    #[test]
    fn a_region_at_the_corner_of_the_picture_has_no_rings_beyond_it() {
        let jacket = even_jacket((SIZE, SIZE));
        let corner: Vec<usize> = (0..12)
            .flat_map(|row| (0..12).map(move |column| row * SIZE + column))
            .collect();
        assert!(step_px(&jacket, &corner, Departure::Colder, |_| false).is_none());
    }
}
