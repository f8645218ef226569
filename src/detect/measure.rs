//! What the pixels of a region say together: place, size, temperatures.

use super::Departure;
use super::baseline::Baseline;
use super::grow;
use super::jacket::Jacket;
use crate::locate::figure::Surface;

/// Sums over the pixels of a region, weighted by their area on the jacket.
pub(super) struct Measure {
    pub(super) axial_m: f64,
    pub(super) angle_deg: f64,
    pub(super) across_m: f64,
    /// Least and greatest distance from the axis over the half width.
    pub(super) shares: (f64, f64),
    pub(super) length_m: f64,
    pub(super) arc_m: f64,
    pub(super) area_m2: f64,
    pub(super) surface_c: f64,
    pub(super) sound_c: f64,
}

/// What a region's border shows.
pub(super) struct Border {
    /// Width of the step in px; None where too little of the border is its own.
    pub(super) edge_px: Option<f64>,
    /// Share of the border that lies against what hides the jacket, or the picture's edge, 0..1.
    pub(super) cut_share: f64,
}

impl Measure {
    pub(super) fn of(jacket: &Jacket, baseline: &Baseline, pixels: &[usize]) -> Self {
        let round = jacket.surface == Surface::Round;
        let (mut area, mut axial, mut arc, mut across, mut surface, mut sound, mut read) =
            (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
        let mut along = (f64::MAX, f64::MIN);
        let mut about = (f64::MAX, f64::MIN);
        let mut shares = (f64::MAX, f64::MIN);
        for &at in pixels {
            let on_jacket = jacket.place(at);
            let weight = f64::from(jacket.area_m2[at]);
            let share = on_jacket.share.clamp(-1.0, 1.0);
            // arc = R·asin(y/R)
            let round_m = if round {
                jacket.half_width_m * share.asin()
            } else {
                jacket.half_width_m * share
            };
            let place = on_jacket.axial_m;
            area += weight;
            axial += weight * place;
            arc += weight * round_m;
            across += weight * share * jacket.half_width_m;
            if jacket.surface_c[at].is_finite() {
                read += weight;
                surface += weight * f64::from(jacket.surface_c[at]);
                sound += weight * baseline.at(jacket.axial_m[at], jacket.share[at]);
            }
            along = (along.0.min(place), along.1.max(place));
            about = (about.0.min(round_m), about.1.max(round_m));
            shares = (shares.0.min(share), shares.1.max(share));
        }
        let pixel_m = 1.0 / jacket.scale_px_m;
        let arc_m = arc / area;
        Self {
            axial_m: axial / area,
            angle_deg: if round {
                (arc_m / jacket.half_width_m).to_degrees()
            } else {
                0.0
            },
            across_m: across / area,
            shares,
            length_m: along.1 - along.0 + pixel_m,
            arc_m: about.1 - about.0 + pixel_m,
            area_m2: area,
            surface_c: surface / read,
            sound_c: sound / read,
        }
    }

    /// What the region's border shows: the width of the step there in px, contrast over the slope of the temperature, at three
    /// places in five narrower or as wide; and how much of it lies against what hides the jacket, where no step is its own.
    pub(super) fn border(&self, jacket: &Jacket, pixels: &[usize]) -> Border {
        const LEAST_PLACES: usize = 12;
        const SHARE: f64 = 0.4;
        let columns = jacket.size.0;
        let none = Border {
            edge_px: None,
            cut_share: 0.0,
        };
        let (Some(&first), Some(&last)) = (pixels.iter().min(), pixels.iter().max()) else {
            return none;
        };
        // Marked with a row to spare on either side, so that every pixel has four beside it.
        let place = |at: usize| at - first + columns + 1;
        let mut inside = vec![false; place(last) + columns + 2];
        pixels.iter().for_each(|&at| inside[place(at)] = true);
        let edge = |at: &usize| {
            let here = place(*at);
            let beside = [here - 1, here + 1, here - columns, here + columns];
            beside.iter().any(|&other| !inside[other])
        };
        let rows = jacket.size.1;
        let is_cut = |at: usize| {
            // The part that is looked at ends where the picture does, or well off the jacket.
            let (column, row) = (at % columns, at / columns);
            let mut cut = column == 0 || row == 0 || column + 1 == columns || row + 1 == rows;
            grow::neighbours(jacket, at, |near| cut |= jacket.cover[near].is_covered());
            cut
        };
        let (mut cut, mut slopes) = (0usize, Vec::new());
        for at in pixels.iter().copied().filter(edge) {
            if is_cut(at) {
                cut += 1;
            } else {
                slopes.extend(slope(&jacket.surface_c, columns, at));
            }
        }
        let count = slopes.len();
        let edge_px = (count >= LEAST_PLACES).then(|| {
            let place = (SHARE * count as f64) as usize;
            let (_, slope, _) = slopes.select_nth_unstable_by(place, f64::total_cmp);
            (self.surface_c - self.sound_c).abs() / slope.max(1e-6)
        });
        Border {
            edge_px,
            cut_share: cut as f64 / (cut + count).max(1) as f64,
        }
    }

    /// Most extreme 3 × 3 mean of the region in °C.
    pub(super) fn extreme(&self, jacket: &Jacket, pixels: &[usize], departure: Departure) -> f64 {
        let columns = jacket.size.0;
        let means = pixels.iter().filter_map(|&at| {
            let (mut sum, mut count) = (0.0f64, 0.0f64);
            for middle in [at.checked_sub(columns), Some(at), Some(at + columns)]
                .into_iter()
                .flatten()
            {
                let last = (middle + 2).min(jacket.surface_c.len());
                for value in jacket.surface_c.get(middle.saturating_sub(1)..last).unwrap_or(&[]) {
                    if value.is_finite() {
                        sum += f64::from(*value);
                        count += 1.0;
                    }
                }
            }
            (count > 0.0).then(|| sum / count)
        });
        match departure {
            Departure::Colder => means.fold(f64::INFINITY, f64::min),
            Departure::Warmer => means.fold(f64::NEG_INFINITY, f64::max),
        }
    }
}

/// Slope of the temperature at a pixel in K/px (Sobel); None beside missing readings or the border of the memory.
fn slope(surface_c: &[f32], columns: usize, at: usize) -> Option<f64> {
    let row = |middle: Option<usize>| {
        let middle = middle?;
        let row = surface_c.get(middle.checked_sub(1)?..middle + 2)?;
        Some([0, 1, 2].map(|i| f64::from(row[i])))
    };
    let (above, here, below) = (
        row(at.checked_sub(columns))?,
        row(Some(at))?,
        row(at.checked_add(columns))?,
    );
    let along = above[2] - above[0] + 2.0 * (here[2] - here[0]) + below[2] - below[0];
    let across = below[0] - above[0] + 2.0 * (below[1] - above[1]) + below[2] - above[2];
    let slope = along.hypot(across) / 8.0;
    slope.is_finite().then_some(slope)
}
