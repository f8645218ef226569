//! From residuals to connected regions, each outlined at half its own contrast.

mod bars;
mod bridge;
mod fringe;

use bars::{Bar, Barred};
pub use bridge::{bridge_px, bridged, joined_behind, line_px};
use fringe::take_fringe;
pub use fringe::with_fringe;

use super::jacket::Jacket;

/// A connected set of pixels that departs from the sound jacket, by indices into the jacket's part of the picture.
#[derive(Debug, Clone)]
pub struct Region {
    /// Pixels at half contrast or more.
    pub pixels: Vec<usize>,
    /// Contrast of the strongest part in K, negative where colder.
    pub peak_k: f64,
    /// How much of it in K was gathered from beside the region.
    pub spread_k: f64,
}

/// Residuals smoothed over 3 × 3 pixels (NaN off the wanted pixels).
#[must_use]
pub fn smoothed(jacket: &Jacket, residual_k: &[f32]) -> Vec<f32> {
    let (columns, rows) = jacket.size;
    let mut out = Vec::with_capacity(residual_k.len());
    // A blank column at either end, so that every pixel has three columns.
    let mut sums = vec![0.0f32; columns + 2];
    let mut counts = vec![0.0f32; columns + 2];
    for row in 0..rows {
        sums.fill(0.0);
        counts.fill(0.0);
        for near in row.saturating_sub(1)..(row + 2).min(rows) {
            let line = &residual_k[near * columns..(near + 1) * columns];
            let cells = sums.iter_mut().skip(1).zip(counts.iter_mut().skip(1));
            for ((sum, count), &value) in cells.zip(line) {
                let known = value.is_finite();
                *sum += if known { value } else { 0.0 };
                *count += if known { 1.0 } else { 0.0 };
            }
        }
        let threes = sums.windows(3).zip(counts.windows(3));
        let values = residual_k[row * columns..(row + 1) * columns].iter();
        out.extend(values.zip(threes).map(|(value, (sum, count))| {
            let mean = (sum[0] + sum[1] + sum[2]) / (count[0] + count[1] + count[2]);
            if value.is_finite() { mean } else { f32::NAN }
        }));
    }
    out
}

/// How regions are grown.
#[derive(Debug, Clone, Copy)]
pub struct Growth {
    /// Contrast that starts a region in K.
    pub core_k: f32,
    /// Least pixels of a region.
    pub least_pixels: usize,
    /// Decay length in px of the blurred fringe of a region, which starts no region of its own.
    pub fringe_px: f32,
}

/// Regions colder (`sign` −1) or warmer (+1) than the sound jacket, strongest first.
#[must_use]
pub fn regions(jacket: &Jacket, smooth_k: &[f32], growth: Growth, sign: f32) -> Vec<Region> {
    let mut seeds = Seeds::of(smooth_k, growth.core_k, sign);
    if seeds.rest.is_empty() {
        return Vec::new();
    }
    let mut taken = vec![false; smooth_k.len()];
    let mut barred = Barred::nowhere(smooth_k.len());
    let mut fringed = vec![false; smooth_k.len()];
    let mut about_metal = vec![false; smooth_k.len()];
    let mut own = vec![false; smooth_k.len()];
    let mut found = Vec::new();
    while let Some(seed) = seeds.next(|at| !barred.is_free(at)) {
        let peak = local_peak(jacket, smooth_k, seed);
        let level = (peak.abs() / 2.0).max(growth.core_k / 2.0);
        // The seed is the strongest place left: what is stronger still belongs to another's fringe. So does all about metal,
        // which would put a ring round it into a patch beside it.
        let most = peak.abs() * (1.0 + SEED_SHARE) + SEED_K;
        let may = |at: usize| (level..=most).contains(&(smooth_k[at] * sign)) && !barred.by(at).is_metal();
        let pixels = flood(jacket, seed, may, &mut taken);
        let peak_k = plateau(smooth_k, &pixels, sign);
        let rim = only_a_rim(jacket, &pixels, &barred, &mut own).is_some_and(|stronger| {
            // A rim is what is left of a decaying fringe. About a frosted nozzle, which departs by tens of kelvin, it
            // reaches further, but what reaches further still is a zone of its own.
            let within = pixels.iter().filter(|&&at| about_metal[at]).count();
            let fades = || {
                !holds_up(
                    jacket,
                    smooth_k,
                    (&pixels, peak.abs() * sign),
                    (&barred, growth.fringe_px),
                )
            };
            let only_fringe = if stronger.is_metal() {
                5 * within > 4 * pixels.len() && fades()
            } else {
                pixels.len() <= OUTGROWN * stronger.pixels || fades()
            };
            peak_k.abs() < f64::from(0.6 * stronger.contrast_k) && only_fringe
        });
        // The fringe falls off exponentially: the stronger the region, the further until it is below the core contrast.
        let width = growth.fringe_px * (1.0 + 0.7 * (peak.abs() / growth.core_k).max(1.0).ln());
        pixels.iter().for_each(|&at| fringed[at] = true);
        let mut fringe = take_fringe(jacket, &pixels, width.round() as usize, &mut fringed);
        if peak.abs() > METAL_K {
            let fades = |at: usize, away_px: usize| {
                let most = FADING * peak.abs() * (-(away_px as f32) / growth.fringe_px).exp();
                smooth_k[at].is_nan() || smooth_k[at] * sign <= most
            };
            fringe.leave(fades, &mut fringed);
        }
        let fringe = fringe.pixels;
        let bar = Bar {
            contrast_k: peak.abs(),
            pixels: pixels.len(),
        };
        barred.bar(fringe.iter().chain(&pixels).copied(), bar);
        if peak.abs() > METAL_K {
            take_fringe(jacket, &pixels, (1.8 * width).round() as usize, &mut about_metal);
        }
        if pixels.len() >= growth.least_pixels && !rim {
            found.push(Region {
                peak_k,
                spread_k: 0.0,
                pixels,
            });
        }
    }
    found
}

/// Pixels that may start a region, strongest first.
struct Seeds {
    /// The strongest of those left, sorted, the next one last.
    near: Vec<(i32, usize)>,
    /// The others, in no order.
    rest: Vec<(i32, usize)>,
}

impl Seeds {
    /// Sorted at once.
    const BATCH: usize = 512;

    fn of(smooth_k: &[f32], core_k: f32, sign: f32) -> Self {
        let above = smooth_k.iter().enumerate().filter(|(_, k)| **k * sign >= core_k);
        // The bits of positive numbers have the order of the numbers; the first of equals comes first.
        let rest = above.map(|(at, k)| (!(k * sign).to_bits().cast_signed(), at)).collect();
        let near = Vec::new();
        Self { near, rest }
    }

    /// The strongest that is not barred. Most are barred soon, so that sorting them all would be in vain.
    fn next(&mut self, barred: impl Fn(usize) -> bool) -> Option<usize> {
        loop {
            while let Some((_, at)) = self.near.pop() {
                if !barred(at) {
                    return Some(at);
                }
            }
            self.rest.retain(|&(_, at)| !barred(at));
            let batch = Self::BATCH.min(self.rest.len());
            let last = batch.checked_sub(1)?;
            self.rest.select_nth_unstable(last);
            self.near = self.rest.split_off(batch);
            std::mem::swap(&mut self.near, &mut self.rest);
            self.near.sort_unstable_by(|a, b| b.cmp(a));
        }
    }
}

/// Mean of the 3 × 3 neighbourhood: what a single noisy pixel cannot set.
fn local_peak(jacket: &Jacket, smooth_k: &[f32], at: usize) -> f32 {
    let (columns, rows) = jacket.size;
    let (row, column) = (at / columns, at % columns);
    let (mut sum, mut count) = (0.0, 0.0);
    for r in row.saturating_sub(1)..(row + 2).min(rows) {
        for c in column.saturating_sub(1)..(column + 2).min(columns) {
            let value = smooth_k[r * columns + c];
            if value.is_finite() {
                sum += value;
                count += 1.0;
            }
        }
    }
    sum / count
}

/// Contrast of the strongest fifth of a region in K: its plateau, if it has one.
fn plateau(smooth_k: &[f32], pixels: &[usize], sign: f32) -> f64 {
    let mut values: Vec<f32> = pixels.iter().map(|&at| smooth_k[at] * sign).collect();
    let count = values.len().div_ceil(5).max(1);
    if count < values.len() {
        values.select_nth_unstable_by(count, |a, b| b.total_cmp(a));
    }
    let strongest = &mut values[..count];
    strongest.sort_unstable_by(|a, b| b.total_cmp(a));
    f64::from(sign) * strongest.iter().map(|&v| f64::from(v)).sum::<f64>() / strongest.len() as f64
}

/// How much stronger than its seed a region may get: noise, and as much again.
const SEED_SHARE: f32 = 0.15;
const SEED_K: f32 = 0.1;

/// Pixels connected to the seed that may belong to its region and that no other region has taken, sorted; they are taken.
fn flood(jacket: &Jacket, seed: usize, may: impl Fn(usize) -> bool, taken: &mut [bool]) -> Vec<usize> {
    let columns = jacket.size.0;
    let (mut stack, mut runs) = (vec![seed], Vec::new());
    while let Some(at) = stack.pop() {
        if taken[at] {
            continue;
        }
        let fits = |at: usize| !taken[at] && may(at);
        let line = at - at % columns;
        // The whole run along the row, then what touches it in the rows beside.
        let from = (line..at).rev().take_while(|&at| fits(at)).last().unwrap_or(at);
        let to = (at + 1..line + columns).find(|&at| !fits(at)).unwrap_or(line + columns);
        for beside in [from.checked_sub(columns), Some(from + columns)].into_iter().flatten() {
            let mut before = false;
            for at in beside..(beside + to - from).min(taken.len()) {
                let fits = fits(at);
                if fits && !before {
                    stack.push(at);
                }
                before = fits;
            }
        }
        taken[from..to].fill(true);
        runs.push((from, to));
    }
    runs.sort_unstable();
    runs.into_iter().flat_map(|(from, to)| from..to).collect()
}

/// Share of a region's border that lies against stronger regions' fringes beyond which it is but their rim. Two zones side
/// by side share a quarter at most.
const RIM_SHARE: f64 = 0.35;
/// With so many pixels for each of a stronger region's a weaker one about it, which keeps its contrast away from it, is more
/// than its rim. Set by the repository's simulated scenes, no source.
const OUTGROWN: usize = 3;
/// Contrast in K that wet insulation does not reach: bare or frosted metal.
const METAL_K: f32 = 10.0;
/// How far over an exponential decay the fringe of metal may lie; what departs by more there is a zone of its own. Set by the
/// repository's simulated scenes, no source: from 1 to 1.3 as many patches were found when it came.
const FADING: f32 = 1.2;

/// The stronger region that a region may be but the rim of, its border lying against that one's fringe for the most part; None
/// where it does not. `own` is false for every pixel, before and after.
fn only_a_rim<'a>(jacket: &Jacket, pixels: &[usize], barred: &'a Barred, own: &mut [bool]) -> Option<&'a Bar> {
    for &at in pixels {
        own[at] = true;
    }
    let (mut against, mut against_zones, mut border) = (0usize, 0usize, 0usize);
    let nobody = barred.nobody();
    let (mut strongest, mut strongest_zone) = (nobody, nobody);
    for &at in pixels {
        let (mut touched, mut outer) = (nobody, false);
        neighbours(jacket, at, |near| {
            if !own[near] {
                outer = true;
                touched = touched.stronger(barred.by(near));
            }
        });
        let touches = usize::from(touched.contrast_k > 0.0);
        border += usize::from(outer);
        against += touches;
        strongest = strongest.stronger(touched);
        if !touched.is_metal() {
            against_zones += touches;
            strongest_zone = strongest_zone.stronger(touched);
        }
    }
    for &at in pixels {
        own[at] = false;
    }
    let mostly = |count: usize| count as f64 > RIM_SHARE * border as f64;
    // What rims a zone is judged as that, though the zone may have metal beside it.
    if mostly(against_zones) {
        Some(strongest_zone)
    } else {
        mostly(against).then_some(strongest)
    }
}

/// Whether a region beside a stronger one keeps its contrast away from it, which a decaying fringe does not: over some
/// 0.6 of the decay length that has fallen to 0.55.
fn holds_up(
    jacket: &Jacket,
    smooth_k: &[f32],
    (pixels, seed_k): (&[usize], f32),
    (barred, fringe_px): (&Barred, f32),
) -> bool {
    const HELD: f32 = 0.8;
    const LEAST_PX: usize = 9;
    let (columns, rows) = jacket.size;
    let away = (0.6 * fringe_px).ceil().max(3.0) as usize;
    let clear = |at: usize| {
        let (row, column) = (at / columns, at % columns);
        (row.saturating_sub(away)..(row + away + 1).min(rows)).all(|row| {
            let from = row * columns + column.saturating_sub(away);
            let to = row * columns + (column + away + 1).min(columns);
            (from..to).all(|at| barred.is_free(at))
        })
    };
    let strong = pixels.iter().filter(|&&at| smooth_k[at] / seed_k > HELD);
    strong.filter(|&&at| clear(at)).take(LEAST_PX).count() == LEAST_PX
}

/// The four neighbours of a pixel within the part.
pub(super) fn neighbours(jacket: &Jacket, at: usize, mut visit: impl FnMut(usize)) {
    let (columns, rows) = jacket.size;
    // No picture has 2³² pixels, and dividing short numbers is quicker.
    let column = (at as u32 % columns as u32) as usize;
    if column > 0 {
        visit(at - 1);
    }
    if column + 1 < columns {
        visit(at + 1);
    }
    if at >= columns {
        visit(at - columns);
    }
    if at + columns < columns * rows {
        visit(at + columns);
    }
}

/// Sorts indices and leaves each once; `scratch` is false for every other pixel before, and for every pixel after.
pub fn in_order(indices: &mut Vec<usize>, scratch: &mut [bool]) {
    let (Some(&first), Some(&last)) = (indices.iter().min(), indices.iter().max()) else {
        return;
    };
    // To mark them and look through the marks is quicker than to sort.
    for &at in &*indices {
        scratch[at] = true;
    }
    indices.clear();
    let marks = &mut scratch[first..=last];
    indices.extend((first..).zip(marks.iter()).filter_map(|(at, &is)| is.then_some(at)));
    marks.fill(false);
}

/// No region's.
pub const NOBODY: u32 = u32::MAX;

/// The index of the region that each pixel belongs to; [`NOBODY`] where to none.
#[must_use]
pub fn owners(jacket: &Jacket, regions: &[Region]) -> Vec<u32> {
    let mut owners = vec![NOBODY; jacket.cover.len()];
    for (index, region) in (0..).zip(regions) {
        for &at in &region.pixels {
            owners[at] = index;
        }
    }
    owners
}

#[cfg(test)]
mod tests;
