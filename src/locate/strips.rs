//! What runs across the whole picture in front of the asset: pipes, rails and cables, whose straight edges are soon taken for
//! those of the asset.
//!
//! A strip is looked for between thin places of one sign near two sides of the reduced picture. It is one where, along most of
//! the line from one to the other, its middle departs the same way from what lies on either hand. It is narrower than any
//! asset may be, so that no asset is one.

use ndarray::Array2;

use super::evidence;

/// Widest strip, as a share of the picture across the axis: the search takes nothing so narrow for the asset.
const WIDEST: f64 = 0.08;
/// Least departure in K from what lies on either hand, more than the limb of a jacket glows by, and in spreads of the reduced
/// picture's noise. These numbers are set by simulated scenes, no source.
const LEAST_K: f32 = 1.5;
const LEAST_NOISE: f32 = 5.0;
/// Distance in reduced pixels of the lines near the picture's sides on which strips are met.
const INSET: usize = 3;
/// Most places met on one such line: a side with more is texture.
const MOST: usize = 12;
/// Share of the length along which a strip must depart, and the share of the least departure that is asked there.
const HELD: f64 = 0.75;
const DEPARTS: f32 = 0.6;
/// Least length, as a share of the picture's shorter side.
const LEAST_LENGTH: f64 = 0.7;
/// Least width in reduced pixels: a limb glows on a thinner line.
const LEAST_WIDTH: f64 = 1.8;
/// How alike the widths at both ends must be.
const ALIKE: f64 = 1.7;
/// What is taken away beside a strip on either hand, in reduced pixels.
const MARGIN: f64 = 1.5;

/// A strip in reduced pixels (along, across).
#[derive(Debug, Clone, Copy, PartialEq)]
struct Strip {
    from: [f64; 2],
    to: [f64; 2],
    half_px: f64,
}

/// A thin place near a side of the picture.
#[derive(Debug, Clone, Copy)]
struct Met {
    at: [f64; 2],
    /// Its width along that side.
    width_px: f64,
    /// Direction of that side.
    along_u: bool,
    colder: bool,
}

/// The picture (oriented, °C, NaN = no reading; noise in K) with what runs across it taken away, as though it had not been read; None
/// where nothing does.
pub(super) fn without(map: &Array2<f32>, noise_k: f64) -> Option<Array2<f32>> {
    let (reduced, factor) = evidence::reduced(map);
    let least_k = LEAST_K.max(LEAST_NOISE * (noise_k / factor as f64) as f32);
    let strips = strips(&reduced, least_k);
    if strips.is_empty() {
        return None;
    }
    let mut cleared = map.clone();
    for strip in strips {
        strip.clear(&mut cleared, factor as f64);
    }
    Some(cleared)
}

fn strips(reduced: &Array2<f32>, least_k: f32) -> Vec<Strip> {
    let (rows, columns) = reduced.dim();
    if rows.min(columns) < 8 * INSET {
        return Vec::new();
    }
    let widest = (WIDEST * rows as f64).max(2.0);
    let sides: Vec<Vec<Met>> = [
        (true, INSET),
        (true, rows - 1 - INSET),
        (false, INSET),
        (false, columns - 1 - INSET),
    ]
    .into_iter()
    .map(|side| met_on(reduced, side, least_k, widest))
    .collect();
    let mut found: Vec<Strip> = Vec::new();
    for (index, side) in sides.iter().enumerate() {
        for other in sides.get(index + 1..).unwrap_or(&[]) {
            for (a, b) in side.iter().flat_map(|a| other.iter().map(move |b| (a, b))) {
                let strip = between(a, b).filter(|strip| 2.0 * strip.half_px <= widest);
                found.extend(strip.filter(|strip| strip.runs(reduced, a.colder, least_k)));
            }
        }
    }
    found
}

/// The median of the readings about each place, so many to either side; NaN where there are none.
fn usual(values: &[f32], reach: usize) -> Vec<f32> {
    // Kept sorted as it moves along: that is quicker than to look for each median anew.
    let mut about: Vec<f32> = Vec::with_capacity(2 * reach + 2);
    let mut ahead = values.iter();
    let mut take_in = |about: &mut Vec<f32>| {
        if let Some(&new) = ahead.next().filter(|t| t.is_finite()) {
            about.insert(about.partition_point(|&old| old < new), new);
        }
    };
    (0..reach).for_each(|_| take_in(&mut about));
    let mut medians = Vec::with_capacity(values.len());
    for place in 0..values.len() {
        take_in(&mut about);
        let gone = place.checked_sub(reach + 1).and_then(|gone| values.get(gone));
        if let Some(&gone) = gone.filter(|t| t.is_finite()) {
            about.remove(about.partition_point(|&old| old < gone));
        }
        let middle = about.len() / 2;
        medians.push(match about.len() {
            0 => f32::NAN,
            count if count % 2 == 1 => about[middle],
            _ => about[middle - 1] + 0.5 * (about[middle] - about[middle - 1]),
        });
    }
    medians
}

/// Thin places of a line near a side: what departs from the median about it, and is no wider than a strip may be.
fn met_on(reduced: &Array2<f32>, (along_u, at): (bool, usize), least_k: f32, widest: f64) -> Vec<Met> {
    let (rows, columns) = reduced.dim();
    let length = if along_u { columns } else { rows };
    let read = |place: usize, off: usize| {
        let line = at + off - 1;
        let cell = if along_u { [line, place] } else { [place, line] };
        reduced.get(cell).copied().unwrap_or(f32::NAN)
    };
    // The mean over three lines.
    let values: Vec<f32> = (0..length)
        .map(|place| (0..3).map(|off| read(place, off)).sum::<f32>() / 3.0)
        .collect();
    let reach = (2.5 * widest).ceil() as usize + 2;
    let departs: Vec<f32> = values
        .iter()
        .zip(usual(&values, reach))
        .map(|(value, usual)| value - usual)
        .collect();
    let mut met = Vec::new();
    let mut first = None;
    for place in 0..=length {
        let sign = departs.get(place).filter(|d| d.abs() >= least_k).map(|d| *d < 0.0);
        match (first, sign) {
            (None, Some(colder)) => first = Some((place, colder)),
            (Some((_, before)), Some(colder)) if before == colder => {}
            (Some((start, colder)), next) => {
                let width_px = (place - start) as f64;
                // Aslant a strip is met wider than it is.
                let whole = start > 0 && place < length;
                if whole && width_px <= 2.0 * widest {
                    let middle = (start + place - 1) as f64 / 2.0;
                    met.push(Met {
                        at: if along_u {
                            [middle, at as f64]
                        } else {
                            [at as f64, middle]
                        },
                        width_px,
                        along_u,
                        colder,
                    });
                }
                first = next.map(|colder| (place, colder));
            }
            (None, None) => {}
        }
    }
    if met.len() > MOST { Vec::new() } else { met }
}

/// The strip from one thin place to another, if they are of one kind.
fn between(a: &Met, b: &Met) -> Option<Strip> {
    let [du, dv] = [b.at[0] - a.at[0], b.at[1] - a.at[1]];
    let length = du.hypot(dv);
    if a.colder != b.colder || length < 1.0 {
        return None;
    }
    let width = |met: &Met| met.width_px * if met.along_u { dv.abs() } else { du.abs() } / length;
    let (one, other) = (width(a), width(b));
    let alike = one.max(other) <= ALIKE * one.min(other) + 1.0;
    (alike && one.min(other) >= LEAST_WIDTH).then_some(Strip {
        from: a.at,
        to: b.at,
        half_px: 0.25 * (one + other),
    })
}

impl Strip {
    /// Whether it departs the same way from either hand along most of its length.
    fn runs(&self, reduced: &Array2<f32>, colder: bool, least_k: f32) -> bool {
        let (rows, columns) = reduced.dim();
        let [du, dv] = [self.to[0] - self.from[0], self.to[1] - self.from[1]];
        let length = du.hypot(dv);
        if length < LEAST_LENGTH * rows.min(columns) as f64 {
            return false;
        }
        let (along, normal) = ([du / length, dv / length], [-dv / length, du / length]);
        let sign = if colder { -1.0 } else { 1.0 };
        let beside = self.half_px + 2.0;
        let (mut held, mut all) = (0.0, 0.0);
        for step in 0..=length as usize {
            let at = |off: f64| {
                let u = self.from[0] + step as f64 * along[0] + off * normal[0];
                let v = self.from[1] + step as f64 * along[1] + off * normal[1];
                let cell = (u >= -0.5 && v >= -0.5).then_some([(v + 0.5) as usize, (u + 0.5) as usize])?;
                reduced.get(cell).copied().filter(|t| t.is_finite())
            };
            let (Some(middle), Some(left), Some(right)) = (at(0.0), at(beside), at(-beside)) else {
                continue;
            };
            all += 1.0;
            let departs = |other: f32| sign * (middle - other) >= DEPARTS * least_k;
            held += f64::from(u8::from(departs(left) && departs(right)));
        }
        all > 0.0 && held >= HELD * all
    }

    /// Takes the readings away in the picture of which a reduced pixel is `factor` × `factor`, to its borders.
    fn clear(&self, map: &mut Array2<f32>, factor: f64) {
        let full = |reduced: f64| (reduced + 0.5) * factor - 0.5;
        let from = self.from.map(full);
        let [du, dv] = [self.to[0] - self.from[0], self.to[1] - self.from[1]];
        let length = du.hypot(dv);
        let normal = [-dv / length, du / length];
        let half = (self.half_px + MARGIN) * factor;
        let (rows, columns) = map.dim();
        // Where it is steep by rows, else by columns: of each the stretch within the half width.
        let steep = dv.abs() >= du.abs();
        for line in 0..if steep { rows } else { columns } {
            let (across, past) = if steep {
                (normal[0], normal[1])
            } else {
                (normal[1], normal[0])
            };
            let start = if steep { (from[0], from[1]) } else { (from[1], from[0]) };
            let middle = start.0 - (line as f64 - start.1) * past / across;
            let reach = half / across.abs();
            let last = if steep { columns } else { rows } as f64 - 1.0;
            let (first, end) = ((middle - reach).ceil().max(0.0), (middle + reach).floor().min(last));
            let mut place = first;
            while place <= end {
                let cell = if steep {
                    [line, place as usize]
                } else {
                    [place as usize, line]
                };
                if let Some(reading) = map.get_mut(cell) {
                    *reading = f32::NAN;
                }
                place += 1.0;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_about_each_place_is_the_median_there() {
        let mut values: Vec<f32> = (0..50u16).map(|i| f32::from(i * 37 % 23)).collect();
        (values[7], values[20], values[49]) = (f32::NAN, f32::INFINITY, f32::NAN);
        for reach in [1, 4, 60] {
            for (place, told) in usual(&values, reach).into_iter().enumerate() {
                let near = &values[place.saturating_sub(reach)..(place + reach + 1).min(values.len())];
                let mut near: Vec<f32> = near.iter().copied().filter(|t| t.is_finite()).collect();
                let median = crate::statistic::median_of_readings(&mut near);
                assert_eq!(Some(f64::from(told)), median, "place {place}, reach {reach}");
            }
        }
        assert!(usual(&[f32::NAN; 5], 1).iter().all(|median| median.is_nan()));
    }

    /// A wall with a colder rectangle in it, and what `more` adds at (u, v).
    fn picture(more: impl Fn(f64, f64) -> f32) -> Array2<f32> {
        Array2::from_shape_fn((240, 320), |(v, u)| {
            let vessel = (60..260).contains(&u) && (70..170).contains(&v);
            18.0 - if vessel { 1.0 } else { 0.0 } + more(u as f64, v as f64)
        })
    }

    fn cleared(map: &Array2<f32>) -> Option<Array2<f32>> {
        without(map, 0.05)
    }

    #[test]
    fn a_pipe_across_the_picture_is_taken_away_and_little_else() {
        // Upright, aslant and level; warmer and colder.
        let pipes: [(f64, f64, f32); 3] = [(150.0, 0.0, 3.0), (100.0, 0.4, -4.0), (200.0, -0.2, 2.0)];
        for (middle, slope, departs_k) in pipes {
            let off = |u: f64, v: f64| (u - middle - slope * (v - 120.0)) / f64::hypot(1.0, slope);
            let map = picture(|u, v| if off(u, v).abs() < 6.0 { departs_k } else { 0.0 });
            let cleared = cleared(&map).expect("a pipe");
            for ((v, u), reading) in cleared.indexed_iter() {
                let off_px = off(u as f64, v as f64).abs();
                assert!(
                    !(off_px < 6.0 && reading.is_finite()),
                    "{middle} {slope}: {u} {v} is left"
                );
                assert!(
                    !(off_px > 14.0 && reading.is_nan()),
                    "{middle} {slope}: {u} {v} is gone"
                );
            }
        }
    }

    #[test]
    fn what_ends_in_the_picture_or_is_as_wide_as_an_asset_stays() {
        let nothing = picture(|_, _| 0.0);
        let post = picture(|u, v| if (u - 150.0).abs() < 6.0 && v > 120.0 { 3.0 } else { 0.0 });
        let wide = picture(|u, _| if (u - 150.0).abs() < 25.0 { 3.0 } else { 0.0 });
        let step = picture(|u, _| if u > 150.0 { 3.0 } else { 0.0 });
        for (name, map) in [("nothing", nothing), ("a post", post), ("wide", wide), ("a step", step)] {
            assert!(cleared(&map).is_none(), "{name}");
        }
    }
}
