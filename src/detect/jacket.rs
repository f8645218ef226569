//! The jacket as seen: surface temperature and place of every pixel of the figure, and what is not usefully seen.

mod laid;

use crate::locate::eye::{Eye, OnJacket};
use crate::locate::figure::Surface;

/// What a pixel is good for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cover {
    /// Not on the figure.
    Off,
    /// On a head beyond the tangent line: outlined, not judged.
    Head,
    /// Seen at more than the steepest angle that counts.
    Steep,
    /// Something stands in front.
    Hidden,
    /// No reading.
    Blank,
    /// Usefully seen.
    Usable,
}

impl Cover {
    /// Whether the jacket is there but not to be read: behind something, or without a reading.
    #[must_use]
    pub fn is_covered(self) -> bool {
        matches!(self, Self::Hidden | Self::Blank)
    }
}

/// The part of the oriented picture about the figure, row by row.
#[derive(Debug, Clone)]
pub struct Jacket {
    /// Columns and rows of the part.
    pub size: (usize, usize),
    /// Oriented pixel of its first column and row.
    pub origin: (usize, usize),
    /// Surface temperature in °C; NaN off the figure and where there is no reading.
    pub surface_c: Vec<f32>,
    /// Distance from the axis over the half width, −1..1.
    pub share: Vec<f32>,
    /// Axial place in m.
    pub axial_m: Vec<f32>,
    /// Area in m² of the jacket behind each pixel; without meaning off the figure.
    pub area_m2: Vec<f32>,
    /// What each pixel is good for.
    pub cover: Vec<Cover>,
    /// Pixels a metre along the axis.
    pub scale_px_m: f64,
    /// Jacket radius or half height in m.
    pub half_width_m: f64,
    /// Whether the surface is round or plane.
    pub surface: Surface,
    /// Where the camera stands, where that is known.
    pub eye: Option<Eye>,
}

/// Cosine of the steepest viewing angle that counts, 60° from the normal (common practice; beyond it emissivity falls fast).
pub const STEEPEST_COSINE: f32 = 0.5;

impl Jacket {
    /// Index of the pixel at a column and row of the part.
    #[must_use]
    pub fn index(&self, column: usize, row: usize) -> usize {
        row * self.size.0 + column
    }

    /// Index of the pixel nearest to an oriented place; None outside the part.
    #[must_use]
    pub fn index_at(&self, u: f64, v: f64) -> Option<usize> {
        let column = u.round() - self.origin.0 as f64;
        let row = v.round() - self.origin.1 as f64;
        if column < 0.0 || row < 0.0 || column >= self.size.0 as f64 || row >= self.size.1 as f64 {
            return None;
        }
        Some(self.index(column as usize, row as usize))
    }

    /// What the pixel nearest to an oriented place is good for; None outside the part.
    #[must_use]
    pub fn cover_at(&self, u: f64, v: f64) -> Option<Cover> {
        self.index_at(u, v).and_then(|at| self.cover.get(at)).copied()
    }

    /// The place on the jacket that a pixel of the figure shows.
    #[must_use]
    pub fn place(&self, at: usize) -> OnJacket {
        self.on_jacket(self.axial_m[at], self.share[at])
    }

    /// The place on the jacket that the figure shows at an axial place (m) and a share of its half width.
    #[must_use]
    pub fn on_jacket(&self, axial_m: f32, share: f32) -> OnJacket {
        OnJacket::seen(self.eye.as_ref(), f64::from(axial_m), f64::from(share))
    }

    /// Jacket area in m² under the pixels of a cover.
    #[must_use]
    pub fn covered_m2(&self, wanted: impl Fn(Cover) -> bool) -> f64 {
        // Pixels that processors take at once.
        const LANES: usize = 8;
        let columns = self.size.0.max(1);
        // Row by row, in single precision and without branches, so that many pixels are added at a time.
        let rows = self.cover.chunks(columns).zip(self.area_m2.chunks(columns));
        let sums = rows.map(|(covers, areas)| {
            let mut sums = [0.0f32; LANES];
            let counted = |cover: Cover, area: f32| f32::from(u8::from(wanted(cover))) * area;
            let (cover_chunks, cover_rest) = covers.as_chunks::<LANES>();
            let (area_chunks, area_rest) = areas.as_chunks::<LANES>();
            for (covers, areas) in cover_chunks.iter().zip(area_chunks) {
                for (sum, (cover, area)) in sums.iter_mut().zip(covers.iter().zip(areas)) {
                    *sum += counted(*cover, *area);
                }
            }
            for (sum, (cover, area)) in sums.iter_mut().zip(cover_rest.iter().zip(area_rest)) {
                *sum += counted(*cover, *area);
            }
            f64::from(sums.iter().sum::<f32>())
        });
        sums.sum()
    }

    /// What the usable pixels reach to.
    #[must_use]
    pub fn usable_reach(&self) -> Reach {
        let columns = self.size.0.max(1);
        let mut reach = Reach {
            axial_m: (f32::INFINITY, f32::NEG_INFINITY),
            share: (f32::INFINITY, f32::NEG_INFINITY),
        };
        let widen = |(low, high): &mut (f32, f32), value: f32| (*low, *high) = (low.min(value), high.max(value));
        let usable = |cover: &Cover| *cover == Cover::Usable;
        for (row, covers) in self.cover.chunks(columns).enumerate() {
            // Places are linear along a row: they reach furthest at its first or its last usable pixel.
            let ends = [covers.iter().position(usable), covers.iter().rposition(usable)];
            for at in ends.into_iter().flatten().map(|column| self.index(column, row)) {
                widen(&mut reach.axial_m, self.axial_m[at]);
                widen(&mut reach.share, self.share[at]);
            }
        }
        reach
    }

    /// Number of usable pixels.
    #[must_use]
    pub fn usable_px(&self) -> usize {
        let usable = self.cover.iter().map(|&cover| u32::from(cover == Cover::Usable));
        usable.sum::<u32>() as usize
    }
}

/// Least and greatest of the usable pixels' places; +∞ and −∞ if there are none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Axial place in m.
    pub axial_m: (f32, f32),
    /// Distance from the axis over the half width.
    pub share: (f32, f32),
}

/// Whether a point lies in a polygon (even-odd rule).
#[must_use]
pub fn inside(polygon: &[[f64; 2]], x: f64, y: f64) -> bool {
    let mut within = false;
    let mut previous = match polygon.last() {
        Some(last) => last,
        None => return false,
    };
    for point in polygon {
        if (point[1] > y) != (previous[1] > y) {
            let crossing = point[0] + (y - point[1]) / (previous[1] - point[1]) * (previous[0] - point[0]);
            if x < crossing {
                within = !within;
            }
        }
        previous = point;
    }
    within
}
