//! What is really there, pixel by pixel and patch by patch.

use ndarray::Array2;

/// The truth about one wet patch.
#[derive(Debug, Clone)]
pub struct PatchTruth {
    /// Pixels of visible jacket within the patch's outline (wetness above one half).
    pub pixels: Array2<bool>,
    /// Area within the outline on the jacket, seen or not, m².
    pub area_m2: f64,
    /// Area of the visible part, foreshortening undone, m².
    pub visible_area_m2: f64,
    /// Centre along the axis from the datum tangent line, m.
    pub axial_m: f64,
    /// Centre from the facing line, degrees (cylinders).
    pub angle_deg: f64,
    /// Centre above the bottom edge, m (flats).
    pub height_m: f64,
    /// Conductivity of the whole thickness over dry in its middle.
    pub ratio: f64,
    /// Mean over its visible pixels of surface temperature minus that of the same pixel on a scene without patches, K
    /// (negative: colder; 0 when nothing is visible).
    pub contrast_mean_k: f64,
    /// The largest such departure, K, with its sign.
    pub contrast_peak_k: f64,
}

/// Something in a scene that may look like moisture and is none.
#[derive(Debug, Clone)]
pub struct ClutterTruth {
    /// What it is.
    pub kind: &'static str,
    /// Pixels of the asset that it hides or whose look it changes; `None` where it does so all over the picture.
    pub pixels: Option<Array2<bool>>,
}

/// The truth about a picture. Arrays are rows × columns; NaN where no asset is in the line of sight.
#[derive(Debug, Clone)]
pub struct Truth {
    /// The asset's silhouette, hidden parts included.
    pub vessel: Array2<bool>,
    /// Jacket that nothing hides.
    pub visible: Array2<bool>,
    /// Place along the axis from the datum tangent line, m.
    pub axial_m: Array2<f32>,
    /// Angle from the facing line, degrees; height above the bottom edge on a flat, m.
    pub round: Array2<f32>,
    /// Cosine of the viewing angle.
    pub cos_view: Array2<f32>,
    /// Area of jacket seen through each pixel, m²: foreshortening and, in perspective, nearness undone.
    pub area_m2: Array2<f32>,
    /// Surface temperature of the jacket, °C.
    pub surface_c: Array2<f32>,
    /// Surface temperature without any patch, °C.
    pub baseline_c: Array2<f32>,
    /// The silhouette's outline, x right and y down from the first pixel's centre (it may leave the picture).
    pub outline_px: Vec<(f64, f64)>,
    /// Scale in the axis plane, px/m.
    pub pixels_per_metre: f64,
    /// The patches, in the scene's order.
    pub patches: Vec<PatchTruth>,
    /// What may look like moisture and is none: the fixtures in the scene's order, then surroundings and camera.
    pub clutter: Vec<ClutterTruth>,
    /// Median over visible jacket seen within 60° of the normal of the temperature without patches, °C.
    pub sound_surface_c: f64,
    /// Heat into the whole asset with its patches, W.
    pub heat_gain_w: f64,
    /// Heat into the whole asset without them, W.
    pub sound_heat_gain_w: f64,
}

impl Truth {
    /// Median temperature without patches of visible jacket within 60° of the normal, °C (NaN if there is none).
    pub(crate) fn measure_sound_c(&self) -> f64 {
        let mut values: Vec<f32> = self
            .baseline_c
            .iter()
            .zip(&self.visible)
            .zip(&self.cos_view)
            .filter(|((_, visible), cos)| **visible && **cos >= 0.5)
            .map(|((value, _), _)| *value)
            .collect();
        values.sort_by(f32::total_cmp);
        values.get(values.len() / 2).map_or(f64::NAN, |v| f64::from(*v))
    }

    /// Completes a patch's figures from its pixels.
    pub(crate) fn measure_patch(&self, mut patch: PatchTruth) -> PatchTruth {
        let (mut sum_k, mut count, mut area_m2) = (0.0, 0_u32, 0.0);
        let mut peak_k = 0.0_f64;
        for (index, inside) in patch.pixels.indexed_iter() {
            if !*inside {
                continue;
            }
            let departure_k = f64::from(self.surface_c[index] - self.baseline_c[index]);
            sum_k += departure_k;
            count += 1;
            area_m2 += f64::from(self.area_m2[index]);
            if departure_k.abs() > peak_k.abs() {
                peak_k = departure_k;
            }
        }
        patch.contrast_mean_k = if count > 0 { sum_k / f64::from(count) } else { 0.0 };
        patch.contrast_peak_k = peak_k;
        patch.visible_area_m2 = area_m2;
        patch
    }
}

/// Runs of true pixels in row-major order: start, length, start, length …
pub fn runs(mask: &Array2<bool>) -> Vec<usize> {
    let mut runs = Vec::new();
    let mut start = None;
    for (index, inside) in mask.iter().chain(std::iter::once(&false)).enumerate() {
        match (start, *inside) {
            (None, true) => start = Some(index),
            (Some(first), false) => {
                runs.extend([first, index - first]);
                start = None;
            }
            _ => {}
        }
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_name_every_true_pixel_once() {
        let mask = Array2::from_shape_vec((2, 3), vec![true, true, false, false, true, true]).unwrap();
        assert_eq!(runs(&mask), vec![0, 2, 4, 2]);
    }
}
