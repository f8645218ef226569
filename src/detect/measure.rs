//! What the pixels of a region say together: place, size, temperatures.

use super::Departure;
use super::baseline::Baseline;
use super::jacket::Jacket;
use crate::locate::figure::Surface;

/// Sums over the pixels of a region, weighted by their area on the jacket.
pub(super) struct Measure {
    pub(super) axial_m: f64,
    pub(super) angle_deg: f64,
    pub(super) across_m: f64,
    pub(super) length_m: f64,
    pub(super) arc_m: f64,
    pub(super) area_m2: f64,
    pub(super) surface_c: f64,
    pub(super) sound_c: f64,
}

impl Measure {
    pub(super) fn of(jacket: &Jacket, baseline: &Baseline, pixels: &[usize]) -> Self {
        let round = jacket.surface == Surface::Round;
        let (mut area, mut axial, mut arc, mut across, mut surface, mut sound, mut read) =
            (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
        let mut along = (f64::MAX, f64::MIN);
        let mut about = (f64::MAX, f64::MIN);
        for &at in pixels {
            let weight = jacket.area_m2(at);
            let share = f64::from(jacket.share[at]).clamp(-1.0, 1.0);
            // arc = R·asin(y/R)
            let round_m = if round {
                jacket.half_width_m * share.asin()
            } else {
                jacket.half_width_m * share
            };
            let place = f64::from(jacket.axial_m[at]);
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
            length_m: along.1 - along.0 + pixel_m,
            arc_m: about.1 - about.0 + pixel_m,
            area_m2: area,
            surface_c: surface / read,
            sound_c: sound / read,
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
