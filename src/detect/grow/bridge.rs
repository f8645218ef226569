//! Parts of one zone on either side of something in front, or of lines drawn over the picture.

use super::{NOBODY, Region, neighbours, owners};
use crate::detect::jacket::Jacket;

/// Most steps in px through what is not seen from one part of a zone to the next.
pub const BRIDGE_PX: usize = 30;
/// Width in m of a rung or a band that parts a zone, how far its blur widens that, px, and the most of both.
const LINE_M: f64 = 0.05;
const BLUR_PX: usize = 2;
const MOST_LINE_PX: usize = 12;
/// Pixels of the other part that must be met across a line, over the side of a square of the smaller one. Set with the width by
/// the repository's simulated scenes, no source.
const FACING_SHARE: f64 = 0.8;
/// Greatest ratio of the contrasts of two parts of one zone.
const BRIDGE_RATIO: f64 = 1.7;
/// The same where one part is a sliver, of which the blur leaves little.
const SLIVER_RATIO: f64 = 4.0;

/// Regions with the parts joined that something in front cuts a zone into: alike in contrast, and either no way between them
/// but through hidden jacket or places without a reading, or along most of a side no more between them than a line.
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
        let own = (owner.as_slice(), index as u32);
        let whole = |other: usize| joined.get(home[other]).and_then(Option::as_ref);
        let is_cut_off = |&(other, _): &(usize, usize)| {
            whole(other).is_some_and(|one| {
                let is_sliver = 4 * region.pixels.len() < one.pixels.len();
                contrast_ratio(one, &region) < if is_sliver { SLIVER_RATIO } else { BRIDGE_RATIO }
            })
        };
        let faces = |&(other, contacts): &(usize, usize)| {
            whole(other).is_some_and(|one| {
                let smaller = one.pixels.len().min(region.pixels.len()) as f64;
                contrast_ratio(one, &region) < BRIDGE_RATIO && contacts as f64 >= FACING_SHARE * smaller.sqrt()
            })
        };
        let mut across = |between| met_across(between, jacket, &region.pixels, own, &mut seen);
        let partner = across(Between::Hidden).into_iter().find(is_cut_off).or_else(|| {
            let mut met = across(Between::Line);
            // The strongest first.
            met.sort_unstable();
            met.into_iter().find(faces)
        });
        let partner = partner.map(|(other, _)| home[other]);
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

/// Most steps in px across a line from one part of a zone to the next.
#[must_use]
pub fn line_px(jacket: &Jacket) -> usize {
    ((LINE_M * jacket.scale_px_m).round() as usize + BLUR_PX).min(MOST_LINE_PX)
}

/// The greater contrast of two parts over the lesser.
fn contrast_ratio(one: &Region, other: &Region) -> f64 {
    let (one_k, other_k) = (one.peak_k.abs(), other.peak_k.abs());
    one_k.max(other_k) / one_k.min(other_k)
}

/// What may lie between two parts of one zone.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Between {
    /// Hidden jacket alone, or places without a reading such as a screen's cross-hair.
    Hidden,
    /// A line no wider than a rung, whatever it shows.
    Line,
}

impl Between {
    /// Rounds of neighbours that are looked at.
    fn rounds(self, jacket: &Jacket) -> usize {
        match self {
            Self::Hidden => BRIDGE_PX,
            Self::Line => line_px(jacket) + 1,
        }
    }

    fn passes(self, jacket: &Jacket, at: usize, owner: u32) -> bool {
        match self {
            Self::Hidden => jacket.cover[at].is_covered(),
            Self::Line => owner == NOBODY,
        }
    }
}

/// Earlier regions that no more than this parts from region `own`, in the order in which they are met, with how many of their
/// pixels are; `seen` is false for every pixel, before and after.
fn met_across(
    between: Between,
    jacket: &Jacket,
    pixels: &[usize],
    (owner, own): (&[u32], u32),
    seen: &mut [bool],
) -> Vec<(usize, usize)> {
    let mut edge: Vec<usize> = pixels.to_vec();
    let mut met: Vec<(usize, usize)> = Vec::new();
    let mut visited = Vec::new();
    for round in 0..between.rounds(jacket) {
        let mut next = Vec::new();
        for &at in &edge {
            neighbours(jacket, at, |near| {
                let owner = owner[near];
                if owner == own || seen[near] {
                    return;
                }
                seen[near] = true;
                visited.push(near);
                if between.passes(jacket, near, owner) {
                    next.push(near);
                    return;
                }
                // What adjoins has nothing hidden between.
                let counts = round > 0 || between == Between::Line;
                // Those that come later will find this one.
                if counts && owner < own {
                    let other = owner as usize;
                    match met.iter_mut().find(|(one, _)| *one == other) {
                        Some((_, count)) => *count += 1,
                        None => met.push((other, 1)),
                    }
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
