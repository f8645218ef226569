//! Parts of one zone on either side of something in front, or of lines drawn over the picture.

use super::{METAL_K, NOBODY, Region, neighbours, owners, with_fringe};
use crate::detect::jacket::Jacket;

/// Most steps in px through what is not seen from one part of a zone to the next.
const BRIDGE_PX: usize = 30;
/// Width in m of a rung or a band that parts a zone, how far its blur widens that, px, and the most of both.
const LINE_M: f64 = 0.05;
const BLUR_PX: usize = 2;
const MOST_LINE_PX: usize = 12;
/// Width in m of what may stand in front of one zone and is not hidden, and the most of it in px.
const THING_M: f64 = 0.25;
const MOST_THING_PX: usize = 60;
/// Pixels of the other part that must be met across a line or a thing, over the side of a square of the smaller one. Set with
/// the widths by the repository's simulated scenes, no source.
const FACING_SHARE: f64 = 0.8;
/// Greatest ratio of the contrasts of two parts of one zone.
const BRIDGE_RATIO: f64 = 1.7;
/// The same where one part is a sliver, of which the blur leaves little.
const SLIVER_RATIO: f64 = 4.0;
/// The same across a thing; set as the share above.
const THING_RATIO: f64 = 1.3;
/// How far the blurred side of what stands in front reaches, px; set as the share above.
const THING_BLUR_PX: usize = 5;
/// A region so many times as long as it is wide is a line, and no part of a zone behind a thing; set as the share above.
const LINE_ASPECT: usize = 14;

/// Regions with the parts joined that something in front cuts a zone into: alike in contrast, and either no way between them
/// but through hidden jacket or places without a reading, or along most of a side no more between them than a line.
#[must_use]
pub fn bridged(jacket: &Jacket, regions: Vec<Region>) -> Vec<Region> {
    join(jacket, regions, |part| {
        let hidden = part.met_across(&Between::Hidden);
        let cut_off = hidden.into_iter().map(|(other, _)| other).find(|&other| {
            part.whole(other).is_some_and(|one| {
                let is_sliver = 4 * part.region.pixels.len() < one.pixels.len();
                contrast_ratio(one, part.region) < if is_sliver { SLIVER_RATIO } else { BRIDGE_RATIO }
            })
        });
        cut_off.or_else(|| {
            let met = part.met_across(&Between::Line);
            part.facing(met, BRIDGE_RATIO)
        })
    })
}

/// Regions with the colder ones joined that face each other across what may stand in front: hidden jacket, what is warmer, and
/// bare or frosted metal. With it whether each pixel is such a thing's, or of the blur about one where regions were joined.
#[must_use]
pub fn joined_behind(jacket: &Jacket, regions: Vec<Region>) -> (Vec<Region>, Vec<bool>) {
    let mut is_thing: Vec<bool> = jacket.cover.iter().map(|cover| cover.is_covered()).collect();
    let may_be_wet = |region: &Region| region.peak_k < 0.0 && region.peak_k > -f64::from(METAL_K);
    let (colder, others): (Vec<Region>, Vec<Region>) = regions.into_iter().partition(may_be_wet);
    if colder.len() > 1 {
        let mut things: Vec<usize> = (0..is_thing.len()).filter(|&at| is_thing[at]).collect();
        things.extend(others.iter().flat_map(|region| &region.pixels));
        for at in with_fringe(jacket, &things, THING_BLUR_PX, &mut vec![false; is_thing.len()]) {
            is_thing[at] = true;
        }
    }
    let mut all = joined_across(jacket, colder, &is_thing);
    all.extend(others);
    (all, is_thing)
}

/// Regions with the parts joined that face each other across `things`, which count the blur about what stands in front.
#[must_use]
pub(super) fn joined_across(jacket: &Jacket, regions: Vec<Region>, things: &[bool]) -> Vec<Region> {
    let boxes: Vec<Bounds> = regions.iter().map(|region| Bounds::of(jacket, region)).collect();
    join(jacket, regions, |part| {
        let met = part.met_across(&Between::Things(things));
        let other = part.facing(met, THING_RATIO)?;
        let (one, two) = (&boxes[part.own as usize], &boxes[other]);
        (!one.is_line() && !two.is_line() && one.is_level_with(two)).then_some(other)
    })
}

/// Most steps in px across a line from one part of a zone to the next.
#[must_use]
pub fn line_px(jacket: &Jacket) -> usize {
    ((LINE_M * jacket.scale_px_m).round() as usize + BLUR_PX).min(MOST_LINE_PX)
}

/// Most steps in px from one part of a zone to the next, whatever stands in front.
#[must_use]
pub fn bridge_px(jacket: &Jacket) -> usize {
    thing_px(jacket).max(BRIDGE_PX)
}

/// Most steps in px across a thing that is not hidden.
fn thing_px(jacket: &Jacket) -> usize {
    ((THING_M * jacket.scale_px_m).round() as usize + BLUR_PX).min(MOST_THING_PX)
}

/// Regions, each joined to the earlier one that `partner` names.
fn join(jacket: &Jacket, regions: Vec<Region>, partner: impl Fn(&mut Part) -> Option<usize>) -> Vec<Region> {
    if regions.len() < 2 {
        return regions;
    }
    let owner = owners(jacket, &regions);
    let mut seen = vec![false; jacket.cover.len()];
    let mut joined: Vec<Option<Region>> = Vec::with_capacity(regions.len());
    let mut home: Vec<usize> = (0..regions.len()).collect();
    for (index, region) in regions.into_iter().enumerate() {
        let other = partner(&mut Part {
            jacket,
            region: &region,
            border: border(jacket, &region, &owner),
            own: index as u32,
            owner: &owner,
            joined: &joined,
            home: &home,
            seen: &mut seen,
        });
        let other = other.map(|other| home[other]);
        match other.and_then(|other| joined.get_mut(other).and_then(Option::as_mut).map(|r| (other, r))) {
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

/// The pixels of a region that have others beside them.
fn border(jacket: &Jacket, region: &Region, owner: &[u32]) -> Vec<usize> {
    let columns = jacket.size.0;
    let own = region.pixels.first().map_or(NOBODY, |&at| owner[at]);
    let is_own = |at: Option<usize>| at.and_then(|at| owner.get(at)).is_some_and(|&one| one == own);
    // The index after a row's last is of the row below: taken for a neighbour, it makes one border pixel too many at worst.
    let inner = |at: usize| {
        is_own(at.checked_sub(1))
            && is_own(Some(at + 1))
            && is_own(at.checked_sub(columns))
            && is_own(Some(at + columns))
    };
    region.pixels.iter().copied().filter(|&at| !inner(at)).collect()
}

/// The greater contrast of two parts over the lesser.
fn contrast_ratio(one: &Region, other: &Region) -> f64 {
    let (one_k, other_k) = (one.peak_k.abs(), other.peak_k.abs());
    one_k.max(other_k) / one_k.min(other_k)
}

/// First and last column and row of a region, and its pixels.
struct Bounds {
    pixels: usize,
    columns: (usize, usize),
    rows: (usize, usize),
}

impl Bounds {
    fn of(jacket: &Jacket, region: &Region) -> Self {
        let start = (usize::MAX, 0);
        let wider = |(low, high): (usize, usize), at: usize| (low.min(at), high.max(at));
        let from = Self {
            pixels: region.pixels.len(),
            columns: start,
            rows: start,
        };
        region.pixels.iter().fold(from, |bounds, &at| Self {
            columns: wider(bounds.columns, at % jacket.size.0),
            rows: wider(bounds.rows, at / jacket.size.0),
            ..bounds
        })
    }

    /// Whether the region is many times as long as wide: length² over area says how many.
    fn is_line(&self) -> bool {
        let (width, height) = (length(self.columns), length(self.rows));
        width * width + height * height > LINE_ASPECT * self.pixels
    }

    /// Whether half of the shorter of both lies beside the other, in rows or in columns.
    fn is_level_with(&self, other: &Self) -> bool {
        let beside = |one: (usize, usize), other: (usize, usize)| {
            let shared = (one.1.min(other.1) + 1).saturating_sub(one.0.max(other.0));
            2 * shared >= length(one).min(length(other))
        };
        beside(self.columns, other.columns) || beside(self.rows, other.rows)
    }
}

fn length((first, last): (usize, usize)) -> usize {
    last + 1 - first
}

/// What may lie between two parts of one zone.
enum Between<'a> {
    /// Hidden jacket alone, or places without a reading such as a screen's cross-hair.
    Hidden,
    /// A line no wider than a rung, whatever it shows.
    Line,
    /// What may stand in front: its pixels.
    Things(&'a [bool]),
}

impl Between<'_> {
    /// Rounds of neighbours that are looked at.
    fn rounds(&self, jacket: &Jacket) -> usize {
        match self {
            Self::Hidden => BRIDGE_PX,
            Self::Line => line_px(jacket) + 1,
            Self::Things(_) => thing_px(jacket),
        }
    }

    fn passes(&self, jacket: &Jacket, at: usize, owner: u32) -> bool {
        match self {
            Self::Hidden => jacket.cover[at].is_covered(),
            Self::Line => owner == NOBODY,
            Self::Things(things) => owner == NOBODY && things[at],
        }
    }
}

/// A region whose earlier parts are looked for.
struct Part<'a> {
    jacket: &'a Jacket,
    region: &'a Region,
    /// Its pixels that have others beside them.
    border: Vec<usize>,
    own: u32,
    /// Which region each pixel belongs to.
    owner: &'a [u32],
    /// Earlier regions with what was joined to them; None for those that were.
    joined: &'a [Option<Region>],
    /// Where each region's pixels are.
    home: &'a [usize],
    /// False for every pixel, before and after.
    seen: &'a mut [bool],
}

impl<'a> Part<'a> {
    /// All of the zone that an earlier region is a part of.
    fn whole(&self, other: usize) -> Option<&'a Region> {
        self.joined.get(self.home[other]).and_then(Option::as_ref)
    }

    /// The strongest of the earlier regions `met` that is of a like contrast and meets this one along most of a side.
    fn facing(&self, mut met: Vec<(usize, usize)>, most_ratio: f64) -> Option<usize> {
        // The strongest first.
        met.sort_unstable();
        let faces = |&(other, contacts): &(usize, usize)| {
            self.whole(other).is_some_and(|one| {
                let smaller = one.pixels.len().min(self.region.pixels.len()) as f64;
                contrast_ratio(one, self.region) < most_ratio && contacts as f64 >= FACING_SHARE * smaller.sqrt()
            })
        };
        met.into_iter().find(faces).map(|(other, _)| other)
    }

    /// Earlier regions that no more than this parts from the region, in the order in which they are met, with how many of
    /// their pixels are.
    fn met_across(&mut self, between: &Between) -> Vec<(usize, usize)> {
        let (jacket, own) = (self.jacket, self.own);
        let mut edge = self.border.clone();
        let mut met: Vec<(usize, usize)> = Vec::new();
        let mut visited = Vec::new();
        for round in 0..between.rounds(jacket) {
            let mut next = Vec::new();
            for &at in &edge {
                neighbours(jacket, at, |near| {
                    let owner = self.owner[near];
                    if owner == own || self.seen[near] {
                        return;
                    }
                    self.seen[near] = true;
                    visited.push(near);
                    if between.passes(jacket, near, owner) {
                        next.push(near);
                        return;
                    }
                    // What adjoins has nothing hidden between.
                    let counts = round > 0 || matches!(between, Between::Line);
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
            self.seen[at] = false;
        }
        met
    }
}
