//! What belongs to things that cross the outline: the scraps beside them.

use crate::detect::grow;
use crate::detect::jacket::Jacket;

/// The surroundings of what crosses the outline, in which a scrap of a region belongs to it and not to the jacket.
pub struct Beside {
    /// For each pixel within reach of an attached thing, that thing; a number that no thing has elsewhere.
    thing: Vec<u32>,
    sizes: Vec<usize>,
    pub(super) departures_k: Vec<f64>,
}

/// Area in m² in the picture from which a region may be a patch of its own: moisture spreads to some 0.2 m
/// (as simulated scenes show it, no source).
const PATCH_M2: f64 = 0.04;
/// Reach within which a scrap belongs to an attached thing: px, and what is no more than that in m where pixels are large.
const BESIDE_PX: usize = 4;
const BESIDE_M: f64 = 0.05;
/// The blur of a frame reaches so many px at least.
const LEAST_BESIDE_PX: usize = 2;

/// How much more than twice what a thing departs its scraps may depart in K, and a part of a support or another support:
/// metal that is colder where it touches the vessel. What departs more is a wet place beside it. Set by the repository's
/// simulated scenes, no source: of 668 patches in plain scenes the latter set six more found (`scripts/validate --only plain
/// --draw 1` to 5).
const SCRAP_K: f64 = 0.5;
pub(super) const SUPPORT_K: f64 = 2.0;

/// Whether a region of a peak in K departs no more than a thing's own may that departs by so much on the mean.
pub(super) fn is_like(peak_k: f64, thing_k: f64, more_k: f64) -> bool {
    peak_k.abs() < 2.0 * thing_k.abs() + more_k
}

/// The reach in px on this jacket.
pub(super) fn beside_px(jacket: &Jacket) -> usize {
    ((BESIDE_M * jacket.scale_px_m).round() as usize).clamp(LEAST_BESIDE_PX, BESIDE_PX)
}

impl Beside {
    /// Marks what lies beside attached things.
    #[must_use]
    pub fn new(jacket: &Jacket, attached: &[Vec<usize>], departure_k: impl Fn(&[usize]) -> f64) -> Self {
        let cells = if attached.is_empty() { 0 } else { jacket.cover.len() };
        let (mut thing, mut scratch) = (vec![u32::MAX; cells], vec![false; cells]);
        for (index, pixels) in (0..).zip(attached) {
            for at in grow::with_fringe(jacket, pixels, beside_px(jacket), &mut scratch) {
                thing[at] = index;
            }
        }
        Self {
            thing,
            sizes: attached.iter().map(Vec::len).collect(),
            departures_k: attached.iter().map(|pixels| departure_k(pixels)).collect(),
        }
    }

    /// The thing that a region is a scrap of: the region small against it, and a good part of it within reach; most of one
    /// that is large enough for a patch.
    #[must_use]
    pub fn owner(&self, jacket: &Jacket, region: &grow::Region) -> Option<usize> {
        let (index, count) = self.touched(region)?;
        // What departs far more than the thing itself is a zone that happens to lie beside it.
        let alike = is_like(region.peak_k, self.departures_k[index], SCRAP_K);
        let area_m2 = region.pixels.len() as f64 / (jacket.scale_px_m * jacket.scale_px_m);
        let share = if area_m2 < PATCH_M2 { 0.25 } else { 0.5 };
        let within = count as f64 >= share * region.pixels.len() as f64;
        let scrap = 2 * region.pixels.len() < self.sizes[index] && within;
        (alike && scrap).then_some(index)
    }

    /// Whether a pixel lies within reach of a thing.
    pub(super) fn is_about(&self, at: usize, thing: usize) -> bool {
        self.thing.get(at).is_some_and(|&one| one as usize == thing)
    }

    /// The thing that most of a region within reach of any is near to, with the number of its pixels that are.
    pub(super) fn touched(&self, region: &grow::Region) -> Option<(usize, usize)> {
        let mut near = vec![0usize; self.sizes.len()];
        for &at in &region.pixels {
            let thing = self.thing.get(at).copied().unwrap_or(u32::MAX);
            if let Some(count) = near.get_mut(thing as usize) {
                *count += 1;
            }
        }
        let (index, &count) = near.iter().enumerate().max_by_key(|(_, count)| **count)?;
        (count > 0).then_some((index, count))
    }
}

/// Joins sets of pixels that lie within reach of each other: one thing met twice.
#[must_use]
pub fn joined(jacket: &Jacket, things: Vec<Vec<usize>>) -> Vec<Vec<usize>> {
    let mut joined: Vec<Vec<usize>> = Vec::with_capacity(things.len());
    let mut scratch = vec![false; jacket.cover.len()];
    for mut pixels in things {
        let near = grow::with_fringe(jacket, &pixels, beside_px(jacket), &mut scratch);
        near.iter().for_each(|&at| scratch[at] = true);
        let (touching, apart): (Vec<_>, Vec<_>) = joined
            .into_iter()
            .partition(|other: &Vec<usize>| other.iter().any(|&at| scratch[at]));
        near.iter().for_each(|&at| scratch[at] = false);
        joined = apart;
        for other in touching {
            pixels.extend(other);
        }
        grow::in_order(&mut pixels, &mut scratch);
        joined.push(pixels);
    }
    joined
}
