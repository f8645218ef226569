//! Parts of one zone on either side of something in front, or of lines drawn over the picture.

use super::{NOBODY, Region, neighbours, owners};
use crate::detect::jacket::Jacket;

/// Most steps in px through what is not seen from one part of a zone to the next.
pub const BRIDGE_PX: usize = 30;
/// Greatest ratio of the contrasts of two parts of one zone.
const BRIDGE_RATIO: f64 = 1.7;
/// The same where one part is a sliver, of which the blur leaves little.
const SLIVER_RATIO: f64 = 4.0;

/// Regions with the parts joined that something in front cuts a zone into: alike in contrast, and no way between them
/// but through hidden jacket or places without a reading.
#[must_use]
pub fn bridged(jacket: &Jacket, regions: Vec<Region>) -> Vec<Region> {
    if regions.len() < 2 {
        return regions;
    }
    let owner = owners(jacket, &regions);
    let mut seen = vec![false; jacket.cover.len()];
    let mut joined: Vec<Option<Region>> = Vec::with_capacity(regions.len());
    let mut home: Vec<usize> = (0..regions.len()).collect();
    for (index, region) in regions.into_iter().enumerate() {
        let across = reached_through_hidden(jacket, &region.pixels, (&owner, index as u32), &mut seen);
        let partner = across
            .into_iter()
            .filter(|&other| other < index)
            .map(|other| home[other])
            .find(|&other| {
                let peak = joined
                    .get(other)
                    .and_then(Option::as_ref)
                    .map_or(0.0, |r| r.peak_k.abs());
                let (low, high) = (peak.min(region.peak_k.abs()), peak.max(region.peak_k.abs()));
                let sliver = joined
                    .get(other)
                    .and_then(Option::as_ref)
                    .is_some_and(|r| 4 * region.pixels.len() < r.pixels.len());
                low > 0.0 && high < if sliver { SLIVER_RATIO } else { BRIDGE_RATIO } * low
            });
        match partner.and_then(|other| joined.get_mut(other).and_then(Option::as_mut).map(|r| (other, r))) {
            Some((other, into)) => {
                into.pixels.extend(region.pixels);
                into.pixels.sort_unstable();
                home[index] = other;
                joined.push(None);
            }
            None => joined.push(Some(region)),
        }
    }
    joined.into_iter().flatten().collect()
}

/// Regions that hidden jacket alone, or places without a reading such as a screen's cross-hair, part from this one; `seen` is false for every pixel, before and after.
fn reached_through_hidden(
    jacket: &Jacket,
    pixels: &[usize],
    (owner, own): (&[u32], u32),
    seen: &mut [bool],
) -> Vec<usize> {
    let mut edge: Vec<usize> = pixels.to_vec();
    let (mut met, mut visited) = (Vec::new(), Vec::new());
    for step in 0..BRIDGE_PX {
        let mut next = Vec::new();
        for &at in &edge {
            neighbours(jacket, at, |near| {
                if owner[near] == own || seen[near] {
                    return;
                }
                seen[near] = true;
                visited.push(near);
                if jacket.cover[near].is_covered() {
                    next.push(near);
                } else if step > 0 && owner[near] != NOBODY && !met.contains(&(owner[near] as usize)) {
                    met.push(owner[near] as usize);
                }
            });
        }
        if next.is_empty() {
            break;
        }
        edge = next;
    }
    for at in visited {
        seen[at] = false;
    }
    met
}
