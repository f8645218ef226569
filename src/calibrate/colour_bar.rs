//! Temperatures from an ordinary picture through the colour bar that it shows.
//!
//! What comes in: a picture of colours and the temperatures at the ends of its bar. What is guaranteed out: a [`Screen`] of
//! temperatures in which text, cross-hairs, icons, margins and the bar itself are no reading, and every reading at an end of
//! the bar is marked as a bound. What is not handled: numerals are not read, so without stated limits there are no
//! temperatures; and a colour that the bar shows twice is no reading.
//!
//! The bar in the picture is the only palette: none is built in. An upright bar has its high end at the top, a level one at
//! the right, as is the trade's habit.

mod blend;
mod curve;
mod find;
mod grid;
mod matching;
mod overlay;
mod space;

use ndarray::Array2;

use crate::read::Picture;
use crate::statistic;
use curve::{Curve, POINTS};
use find::{Group, Strip};
use grid::Grid;
pub use grid::Lie;
use matching::{Matched, Matcher};
use space::Space;

/// What the sheet says of the bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stated {
    /// Temperature at the low end in °C.
    pub low_c: f64,
    /// Temperature at the high end in °C.
    pub high_c: f64,
    /// Its box x y w h in px, where it is stated.
    pub box_px: Option<[u32; 4]>,
}

/// An end of the bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// At most what is read.
    Low,
    /// At least what is read.
    High,
}

/// The bar as it was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// Its box x y w h in px.
    pub box_px: [usize; 4],
    /// Which way it lies.
    pub lie: Lie,
    /// Temperature of one of its steps in K.
    pub step_k: f64,
    /// Temperatures at its ends in °C, low first.
    pub ends_c: [f64; 2],
}

/// A picture as temperatures.
#[derive(Debug, Clone)]
pub struct Screen {
    /// Temperatures in °C; NaN = no reading.
    pub celsius: Array2<f32>,
    /// Readings that stand at an end of the bar.
    pub ended: Array2<Option<End>>,
    /// The bar.
    pub bar: Bar,
    /// Standard uncertainty of a reading from the bar's steps, the 8-bit colours and the compression, in K.
    pub reading_u_k: f64,
    /// Share of what would be readings whose colour stands for two temperatures; they are no reading.
    pub ambiguous_share: f64,
}

/// How far things reach in colour and px in one picture.
struct Reach {
    /// Distance from the curve beyond which a colour is no temperature.
    too_far: f32,
    /// Share of the bar within which a reading stands at its end.
    end_share: [f32; 2],
    /// Rim about overlays, px.
    rim_px: usize,
    /// Whether the low and the high end are black or white, as text is.
    plain_ends: [bool; 2],
}

/// Why a picture gave no temperatures. Boxes are x y w h in px.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Error {
    /// Nothing in the picture looks like a bar.
    #[error(
        "no colour bar was found in the picture (accepted: one upright or level bar, not cut off); hint: state bar_box_px = x y w h, or use the radiometric file"
    )]
    NoBar,
    /// Several.
    #[error(
        "two colour bars were found, at {} and at {} (accepted: one); hint: state bar_box_px = x y w h of the bar that the limits belong to", told(*first_px), told(*second_px)
    )]
    TwoBars {
        /// The one that explains more of the picture.
        first_px: [usize; 4],
        /// Another.
        second_px: [usize; 4],
    },
    /// One that runs out of the picture.
    #[error(
        "the colour bar at {} runs to the picture's edge: its {end} may be cut off; hint: use the whole picture, or state bar_box_px if the bar is whole", told(*box_px)
    )]
    CutOff {
        /// Where it is.
        box_px: [usize; 4],
        /// Which end.
        end: &'static str,
    },
    /// A stated box beyond the picture.
    #[error(
        "bar_box_px {} reaches beyond the picture of {columns} × {rows} px (accepted: a box inside it); hint: x y w h in px of the upright picture, from its top left", told(*box_px)
    )]
    BoxOutside {
        /// The box.
        box_px: [usize; 4],
        /// Columns of the picture.
        columns: usize,
        /// Rows of the picture.
        rows: usize,
    },
    /// A stated box that holds no bar.
    #[error("bar_box_px {} holds no colour bar: {what}; hint: state the box of the colours alone, without numerals", told(*box_px))]
    BoxIsNoBar {
        /// The box.
        box_px: [usize; 4],
        /// Why.
        what: &'static str,
    },
    /// A stated box that holds only part of a bar.
    #[error(
        "bar_box_px {} holds only part of the bar: its colours go on beyond the box, to {}; hint: state the whole bar, to which the limits belong", told(*box_px), told(*whole_px)
    )]
    BoxCutsBar {
        /// The box.
        box_px: [usize; 4],
        /// How far the bar reaches.
        whole_px: [usize; 4],
    },
    /// A bar of other colours than the picture's.
    #[error(
        "the colours of the bar at {} are not the picture's: only {:.0} % of it lies on them{what} (accepted: at least {:.0} %); hint: state bar_box_px, or use the picture that the bar belongs to", told(*box_px), 100.0 * share, 100.0 * LEAST_EXPLAINED
    )]
    DoesNotFit {
        /// Where the bar is.
        box_px: [usize; 4],
        /// Share of the picture that lies on the bar's colours.
        share: f64,
        /// What strikes.
        what: &'static str,
    },
    /// A bar most of whose colours stand for two temperatures.
    #[error(
        "{:.0} % of the picture has colours that the bar at {} shows at two temperatures (accepted: at most {:.0} %); hint: use a palette without repeats, or the radiometric file", 100.0 * share, told(*box_px), 100.0 * MOST_AMBIGUOUS
    )]
    Ambiguous {
        /// Where the bar is.
        box_px: [usize; 4],
        /// Share of the picture.
        share: f64,
    },
}

fn told([x, y, w, h]: [usize; 4]) -> String {
    format!("{x} {y} {w} {h}")
}

/// Least share of the picture that must lie on the bar's colours.
const LEAST_EXPLAINED: f64 = 0.5;
/// Most of it whose colours may stand for two temperatures.
const MOST_AMBIGUOUS: f64 = 0.5;
/// Distance in colour within which a picture's colour lies on the bar, compression and all.
const EXPLAINED: f32 = 0.06;
/// Error of a reading in a compressed picture, in steps of the bar: what is seen of it across the curve, within these
/// bounds. The lower one was found on pictures of known temperatures at quality 90.
const COMPRESSED_STEPS: (f64, f64) = (0.65, 2.0);
/// Slope over three pixels, as a share of the bar and in the picture's noise, with which a rim goes with what it belongs to.
const RIM_SHARE: f64 = 0.006;
const RIM_NOISE: f64 = 4.0;
/// Chroma below which colours are grey.
const GREY: f32 = 0.03;

/// Reads a picture's temperatures through its bar.
///
/// # Errors
/// [`Error`], one clear sentence each, never a guess.
pub fn read(picture: &Picture, stated: &Stated) -> Result<Screen, Error> {
    let space = Space::new();
    let strip = match stated.box_px {
        Some(box_px) => stated_strip(picture, box_px, &space)?,
        None => found_strip(picture, &space)?,
    };
    let box_px = strip.box_px;
    let curve = Curve::new(&strip.rows, &space).ok_or(Error::NoBar)?;
    let mut matcher = Matcher::new(&curve, &space);
    let mut matched = matcher.picture(picture);
    let share = explained(picture, &matched, box_px);
    if share < LEAST_EXPLAINED {
        return Err(Error::DoesNotFit {
            box_px,
            share,
            what: strikes(picture, &curve, &space),
        });
    }
    let scatter = scatter(&matched);
    let smeared = blend::resolve(&mut matched, picture, &matcher, too_far(scatter));
    let seen = Seen {
        picture,
        matched: &matched,
        smeared: &smeared,
        scatter,
    };
    screen(&seen, (&curve, &strip), stated)
}

/// A picture and where its colours lie.
struct Seen<'a> {
    picture: &'a Picture,
    matched: &'a Matched,
    /// Edges smeared by compression.
    smeared: &'a Array2<bool>,
    scatter: f32,
}

/// Distance from the curve beyond which a colour is no temperature, for colours of that scatter.
fn too_far(scatter: f32) -> f32 {
    (4.5 * scatter).clamp(0.022, 0.13)
}

/// The only bar of a picture that has one.
fn found_strip(picture: &Picture, space: &Space) -> Result<Strip, Error> {
    let mut strips = find::strips(picture, space);
    if strips.len() > 1 {
        // A strip whose colours are not the picture's is a bar all the same, if it is nearly as long as the best.
        let share = |strip: &Strip| {
            let curve = Curve::new(&strip.rows, space)?;
            let matched = Matcher::new(&curve, space).picture(&thinned(picture));
            Some(explained(&thinned(picture), &matched, [0; 4]))
        };
        let fits: Vec<bool> = strips
            .iter()
            .map(|s| share(s).unwrap_or(0.0) >= LEAST_EXPLAINED)
            .collect();
        // The longest of those whose colours are the picture's; where none is, the longest.
        let best = fits.iter().position(|&fits| fits).unwrap_or(0);
        strips.swap(0, best);
        let first = &strips[0];
        let rival = |s: &&Strip| 2 * s.rows.len() >= first.rows.len() && s.path >= 0.6 * first.path;
        if let Some(second) = strips.get(1..).unwrap_or(&[]).iter().find(rival) {
            return Err(Error::TwoBars {
                first_px: first.box_px,
                second_px: second.box_px,
            });
        }
    }
    let strip = strips.into_iter().next().ok_or(Error::NoBar)?;
    let cut = match (strip.at_edge, strip.lie) {
        ([false, false], _) => return Ok(strip),
        ([true, false], Lie::Upright) => "lower end",
        ([false, true], Lie::Upright) => "upper end",
        ([true, false], Lie::Level) => "left end",
        ([false, true], Lie::Level) => "right end",
        ([true, true], _) => "ends",
    };
    Err(Error::CutOff {
        box_px: strip.box_px,
        end: cut,
    })
}

/// Every fourth pixel along and across.
fn thinned(picture: &Picture) -> Picture {
    let (rows, columns) = picture.dim();
    Array2::from_shape_fn((rows / 4, columns / 4), |(y, x)| picture[[4 * y, 4 * x]])
}

/// The bar in a stated box: frames at its ends are cut off, and it must not go on beyond.
fn stated_strip(picture: &Picture, box_px: [u32; 4], space: &Space) -> Result<Strip, Error> {
    let [x, y, w, h] = box_px.map(|v| v as usize);
    let box_px = [x, y, w, h];
    let (rows, columns) = picture.dim();
    if x.saturating_add(w) > columns || y.saturating_add(h) > rows {
        return Err(Error::BoxOutside { box_px, columns, rows });
    }
    let no_bar = |what| Error::BoxIsNoBar { box_px, what };
    if 2 * w.min(h) > w.max(h) {
        return Err(no_bar("it is not at least twice as long as wide"));
    }
    let grid = Grid::new(picture, if h > w { Lie::Upright } else { Lie::Level });
    let [from, top, wide, long] = grid.swapped(box_px);
    let columns = Group {
        from,
        to: from + wide - 1,
        top,
        bottom: top + long - 1,
    };
    if long < 16 {
        return Err(no_bar("it is shorter than 16 px"));
    }
    let reach = long / 5 + 8;
    let (first, last) = (top.saturating_sub(reach), (columns.bottom + reach).min(grid.rows - 1));
    let mut read = find::Read::of(&grid, &columns, (first, last), space);
    let segment = read.segment((top + columns.bottom) / 2 - first);
    let (low, high) = segment.map_or((0, 0), |(low, high)| (first + low, first + high));
    let slack = 4.max(long / 25);
    let goes_on = low + slack < top || high > columns.bottom + slack;
    // Steps of a coarse bar jump like a frame does: then the box alone counts.
    let whole = low <= top + slack.max(long / 8) && high + slack.max(long / 8) >= columns.bottom;
    let (low, high) = if whole { (low, high) } else { (top, columns.bottom) };
    let labs = read.labs.get(low - first..=high - first).unwrap_or(&[]);
    if labs.len() < 12 {
        return Err(no_bar("its colours jump"));
    }
    let path = find::even_path(labs).ok_or(no_bar("its colours do not change evenly along it"))?;
    let colours = read.colours.get(low - first..=high - first).unwrap_or(&[]).to_vec();
    let strip = find::strip_of(&grid, columns, (low, high), (colours, path));
    if whole && goes_on {
        return Err(Error::BoxCutsBar {
            box_px,
            whole_px: strip.box_px,
        });
    }
    Ok(strip)
}

/// Share of the picture, bar and one-coloured margins left out, that lies on the curve.
fn explained(picture: &Picture, matched: &Matched, [x, y, w, h]: [usize; 4]) -> f64 {
    let (rows, columns) = picture.dim();
    let edge = (0..columns)
        .flat_map(|x| [[0, x], [rows - 1, x]])
        .chain((0..rows).flat_map(|y| [[y, 0], [y, columns - 1]]));
    let margin = overlay::commonest(edge.map(|at| picture[at]));
    let (mut on, mut off, mut plain) = (0usize, 0usize, 0usize);
    for ((row, column), &colour) in picture.indexed_iter().step_by(3) {
        if (x..x + w).contains(&column) && (y..y + h).contains(&row) {
            continue;
        }
        let on_curve = matched.distance[[row, column]] <= EXPLAINED;
        if margin.is_some_and(|m| grid::apart(m, colour) <= 4) && !on_curve {
            plain += 1;
        } else if on_curve {
            on += 1;
        } else {
            off += 1;
        }
    }
    // A picture that is nothing but margin is not explained by it.
    let all = if 10 * plain > 9 * (on + off + plain) {
        on + off + plain
    } else {
        on + off
    };
    on as f64 / all.max(1) as f64
}

/// What strikes about a bar and a picture that do not fit.
fn strikes(picture: &Picture, curve: &Curve, space: &Space) -> &'static str {
    let mut chroma: Vec<f64> = picture
        .iter()
        .step_by(37)
        .map(|&c| f64::from(space.lab(c).chroma()))
        .collect();
    let picture_grey = statistic::percentile(&mut chroma, 75.0).is_some_and(|c| c < f64::from(GREY));
    match (curve.chroma() < GREY, picture_grey) {
        (true, false) => ", the bar is grey and the picture is in colour",
        (false, true) => ", the bar is in colour and the picture is grey",
        _ => "",
    }
}

fn screen(
    &Seen {
        picture,
        matched,
        smeared,
        scatter,
    }: &Seen,
    (curve, strip): (&Curve, &Strip),
    stated: &Stated,
) -> Result<Screen, Error> {
    let span_k = stated.high_c - stated.low_c;
    let steps = curve.steps.max(2);
    let pace = curve.pace();
    let place = |share: f32| ((share * (POINTS - 1) as f32) as usize).min(POINTS - 1);
    let near_end = |pace: f32| (1.0f32 / steps as f32).min(0.012).max(1.5 * scatter / pace).min(0.02);
    let reach = Reach {
        too_far: too_far(scatter),
        end_share: [near_end(pace[0]), near_end(pace[POINTS - 1])],
        rim_px: if is_compressed(picture, strip) { 2 } else { 1 },
        plain_ends: [curve.points[0], curve.points[POINTS - 1]]
            .map(|end| end.chroma() < 0.05 && !(0.2..0.93).contains(&end.l)),
    };
    let off = overlay::mask(picture, (matched, smeared), strip.box_px, &reach);
    let repeated = curve.repeated((3.0 * scatter).clamp(0.012, 0.03));
    let mut celsius = Array2::from_elem(picture.dim(), f32::NAN);
    let mut ended = Array2::from_elem(picture.dim(), None);
    let (mut readings, mut ambiguous) = (0usize, 0usize);
    let mut gains: Vec<f64> = Vec::new();
    for (at, &off) in off.indexed_iter() {
        if off {
            continue;
        }
        let share = matched.share[at];
        readings += 1;
        if repeated[place(share)] {
            ambiguous += 1;
            continue;
        }
        celsius[at] = (stated.low_c + f64::from(share) * span_k) as f32;
        if share <= reach.end_share[0] {
            (celsius[at], ended[at]) = (stated.low_c as f32, Some(End::Low));
        } else if share >= 1.0 - reach.end_share[1] {
            (celsius[at], ended[at]) = (stated.high_c as f32, Some(End::High));
        } else if readings % 29 == 0 {
            gains.push(span_k / f64::from(pace[place(share)]));
        }
    }
    let rim_k = (RIM_SHARE * span_k).max(RIM_NOISE * super::noise_k(&celsius));
    overlay::absorb_rims(&mut celsius, smeared, rim_k as f32);
    ended.zip_mut_with(&celsius, |ended, t| {
        if t.is_nan() {
            *ended = None;
        }
    });
    let ambiguous_share = ambiguous as f64 / readings.max(1) as f64;
    if ambiguous_share > MOST_AMBIGUOUS {
        return Err(Error::Ambiguous {
            box_px: strip.box_px,
            share: ambiguous_share,
        });
    }
    let step_k = span_k / (steps - 1) as f64;
    let compressed_k = if is_compressed(picture, strip) {
        let across_k = statistic::median(&mut gains).unwrap_or(0.0) * f64::from(scatter);
        across_k.clamp(COMPRESSED_STEPS.0 * step_k, COMPRESSED_STEPS.1 * step_k)
    } else {
        0.0
    };
    // u² = step²/12 + u²(compression)
    let reading_u_k = (step_k * step_k / 12.0 + compressed_k * compressed_k).sqrt();
    Ok(Screen {
        celsius,
        ended,
        bar: Bar {
            box_px: strip.box_px,
            lie: strip.lie,
            step_k,
            ends_c: [stated.low_c, stated.high_c],
        },
        reading_u_k,
        ambiguous_share,
    })
}

/// Whether the picture went through lossy compression: then a bar is no longer the same colour all across.
fn is_compressed(picture: &Picture, strip: &Strip) -> bool {
    let [x, y, w, h] = strip.box_px;
    let count = strip.rows.len();
    let unlike = strip.rows.iter().enumerate().filter(|&(i, colour)| {
        let at = match strip.lie {
            Lie::Upright => [[y + count - 1 - i, x + w / 3], [y + count - 1 - i, x + 2 * w / 3]],
            Lie::Level => [[y + h / 3, x + i], [y + 2 * h / 3, x + i]],
        };
        at.iter().all(|&at| picture.get(at).is_some_and(|c| c != colour))
    });
    8 * unlike.count() > count
}

/// Scatter of the picture's colours about the curve (one direction, standard deviation), from compression and 8-bit steps:
/// of two directions across the curve the median distance is 1.18 σ.
fn scatter(matched: &Matched) -> f32 {
    let mut near: Vec<f64> = matched
        .distance
        .iter()
        .step_by(7)
        .filter(|&&d| d <= 2.0 * EXPLAINED)
        .map(|&d| f64::from(d))
        .collect();
    (statistic::median(&mut near).unwrap_or(0.0) / 1.18) as f32
}
