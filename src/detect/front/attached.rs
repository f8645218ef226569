//! What belongs to things that cross the outline: scraps beside them, and supports like those already known.

use super::Scene;
use crate::detect::grow;
use crate::detect::jacket::Jacket;
use crate::locate::figure::Part;

/// The surroundings of what crosses the outline, in which a scrap of a region belongs to it and not to the jacket.
pub struct Beside {
    /// For each pixel within reach of an attached thing, that thing; a number that no thing has elsewhere.
    thing: Vec<u32>,
    sizes: Vec<usize>,
    departures_k: Vec<f64>,
}

/// Reach in px within which a scrap belongs to an attached thing.
const BESIDE_PX: usize = 4;

impl Beside {
    /// Marks what lies beside attached things.
    #[must_use]
    pub fn new(jacket: &Jacket, attached: &[Vec<usize>], departure_k: impl Fn(&[usize]) -> f64) -> Self {
        let cells = if attached.is_empty() { 0 } else { jacket.cover.len() };
        let (mut thing, mut scratch) = (vec![u32::MAX; cells], vec![false; cells]);
        for (index, pixels) in (0..).zip(attached) {
            for at in grow::with_fringe(jacket, pixels, BESIDE_PX, &mut scratch) {
                thing[at] = index;
            }
        }
        Self {
            thing,
            sizes: attached.iter().map(Vec::len).collect(),
            departures_k: attached.iter().map(|pixels| departure_k(pixels)).collect(),
        }
    }

    /// The thing that a region is a scrap of: the region small against it, and a good part of it within reach.
    #[must_use]
    pub fn owner(&self, region: &grow::Region) -> Option<usize> {
        let mut near = vec![0usize; self.sizes.len()];
        for &at in &region.pixels {
            let thing = self.thing.get(at).copied().unwrap_or(u32::MAX);
            if let Some(count) = near.get_mut(thing as usize) {
                *count += 1;
            }
        }
        let (index, &count) = near.iter().enumerate().max_by_key(|(_, count)| **count)?;
        // What departs far more than the thing itself is a zone that happens to lie beside it.
        let alike = region.peak_k.abs() < 2.0 * self.departures_k[index].abs() + 0.5;
        let scrap = 2 * region.pixels.len() < self.sizes[index] && 4 * count >= region.pixels.len();
        (alike && scrap).then_some(index)
    }
}

/// Joins sets of pixels that lie within reach of each other: one thing met twice.
#[must_use]
pub fn joined(jacket: &Jacket, things: Vec<Vec<usize>>) -> Vec<Vec<usize>> {
    let mut joined: Vec<Vec<usize>> = Vec::with_capacity(things.len());
    let mut scratch = vec![false; jacket.cover.len()];
    for mut pixels in things {
        let near = grow::with_fringe(jacket, &pixels, BESIDE_PX, &mut scratch);
        let (touching, apart): (Vec<_>, Vec<_>) = joined
            .into_iter()
            .partition(|other: &Vec<usize>| other.iter().any(|at| near.binary_search(at).is_ok()));
        joined = apart;
        for other in touching {
            pixels.extend(other);
        }
        pixels.sort_unstable();
        pixels.dedup();
        joined.push(pixels);
    }
    joined
}

/// Supports and legs come in twos and more that reach equally far up: what reaches as far as one of them is one too.
pub struct Supports {
    lower: Part,
    /// Level and width in px of each support known.
    known: Vec<(f64, f64)>,
    tolerance_px: f64,
    zone_px: f64,
}

impl Supports {
    /// The supports among attached things.
    #[must_use]
    pub fn new(jacket: &Jacket, scene: &Scene, attached: &[Vec<usize>]) -> Self {
        let head_px = match scene.lower {
            Part::DatumEnd | Part::OtherEnd => scene.figure.head_depth_m * scene.figure.scale_px_m,
            Part::NearSide | Part::FarSide => 0.0,
        };
        let mut supports = Self {
            lower: scene.lower,
            known: Vec::new(),
            tolerance_px: (0.12 * scene.radius_px()).max(3.0),
            zone_px: 0.9 * scene.radius_px() + head_px,
        };
        supports.known = attached
            .iter()
            .filter_map(|pixels| supports.extent(jacket, pixels))
            .filter(|e| e.2)
            .map(|e| (e.0, e.1))
            .collect();
        supports
    }

    /// How far up a set of pixels reaches (px from the foot's side of the part), its width, and whether it lies low.
    fn extent(&self, jacket: &Jacket, pixels: &[usize]) -> Option<(f64, f64, bool)> {
        let columns = jacket.size.0;
        let bounds = |value: &dyn Fn(usize) -> usize| {
            let low = pixels.iter().map(|&at| value(at)).min()?;
            let high = pixels.iter().map(|&at| value(at)).max()?;
            Some((low as f64, high as f64))
        };
        let along = bounds(&|at| at % columns)?;
        let across = bounds(&|at| at / columns)?;
        let (up, width) = match self.lower {
            Part::FarSide => (jacket.size.1 as f64 - across.0, along.1 - along.0),
            Part::NearSide => (across.1, along.1 - along.0),
            Part::DatumEnd => (along.1, across.1 - across.0),
            Part::OtherEnd => (jacket.size.0 as f64 - along.0, across.1 - across.0),
        };
        Some((up, width + 1.0, up < self.zone_px + self.tolerance_px))
    }

    /// Whether a region is a support: narrow, low, and as far up as a support already known or as another narrow low
    /// region of its width.
    #[must_use]
    pub fn holds(&self, jacket: &Jacket, index: usize, regions: &[grow::Region]) -> bool {
        let Some((up, width, low)) = regions.get(index).and_then(|r| self.extent(jacket, &r.pixels)) else {
            return false;
        };
        if !low {
            return false;
        }
        let level = |other: f64| (other - up).abs() <= self.tolerance_px;
        let known = self
            .known
            .iter()
            .any(|&(other, wide)| level(other) && width <= 1.15 * wide);
        let narrow = |w: f64| w < 0.35 * self.zone_px;
        let fellow = regions
            .iter()
            .enumerate()
            .filter(|&(i, _)| i != index)
            .any(|(_, region)| {
                self.extent(jacket, &region.pixels).is_some_and(|(other, wide, low)| {
                    low && level(other)
                        && narrow(wide)
                        && narrow(width)
                        && width.min(wide) > 0.5 * width.max(wide) - 1.0
                })
            });
        known || fellow
    }
}
