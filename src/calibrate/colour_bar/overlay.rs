//! What of the picture is no thermal picture: bar, numerals, text, cross-hairs, icons, margins, an inset photograph.

use std::collections::HashMap;

use ndarray::Array2;

use super::grid::apart;
use super::matching::Matched;
use super::readout::Reach;
use super::regions::{Counts, count, pieces, pixels};
use crate::read::Picture;

/// Frame and ticks beside a bar, px.
const FRAME_PX: usize = 5;
/// The same where compression in blocks of 8 × 8 px rings.
const RINGING_PX: usize = 9;
/// Window in px within which much that is off the curve takes the rest with it (text, an inset photograph).
const CROWD_PX: usize = 13;
/// Share of such a window that must be off.
const CROWD_SHARE: f32 = 0.42;
/// Largest piece, as a share of the picture, that is dropped where it stands alone.
const PIECE_SHARE: f64 = 0.004;
/// Levels by which a margin's colour varies.
const MARGIN_LEVELS: u8 = 1;
/// The same after compression.
const MARGIN_LEVELS_COMPRESSED: u8 = 3;
/// A margin is at most this part of the picture: beyond it a wall of one temperature would be taken for one.
const MOST_MARGIN: usize = 4;
/// Share of a line that a margin's colour must hold.
const MARGIN_SHARE: f64 = 0.7;
/// Share of a margin that is exactly its commonest colour.
const ONE_COLOUR_SHARE: f64 = 0.5;
/// Share of a line just beyond a margin that may still hold its colour.
const BEYOND_SHARE: f64 = 0.4;

/// Marks the pixels that hold no temperature.
pub(super) fn mask(
    picture: &Picture,
    (matched, smeared): (&Matched, &Array2<bool>),
    bar_px: [usize; 4],
    reach: &Reach,
) -> Array2<bool> {
    let mut off = Array2::from_shape_fn(picture.dim(), |at| matched.distance[at] > reach.too_far && !smeared[at]);
    bar(&mut off, bar_px, if reach.rim_px > 1 { RINGING_PX } else { FRAME_PX });
    let levels = if reach.rim_px > 1 {
        MARGIN_LEVELS_COMPRESSED
    } else {
        MARGIN_LEVELS
    };
    margins(&mut off, picture, levels);
    let drawn = off.clone();
    crowded(&mut off);
    strokes(&mut off, matched, reach);
    let off = widened(off, matched, reach) | smeared;
    without_pieces(off, &drawn)
}

fn bar(off: &mut Array2<bool>, [x, y, w, h]: [usize; 4], about_px: usize) {
    let (rows, columns) = off.dim();
    for row in y.saturating_sub(about_px)..(y + h + about_px).min(rows) {
        for column in x.saturating_sub(about_px)..(x + w + about_px).min(columns) {
            off[[row, column]] = true;
        }
    }
}

/// Lines at a side of the picture.
#[derive(Clone, Copy)]
enum Side {
    Left,
    Right,
    Top,
    Bottom,
}

/// Strips of one colour along a side, with a sharp end towards the picture.
fn margins(off: &mut Array2<bool>, picture: &Picture, levels: u8) {
    for side in [Side::Left, Side::Right, Side::Top, Side::Bottom] {
        let (rows, columns) = off.dim();
        let (depth, length) = match side {
            Side::Left | Side::Right => (columns, rows),
            Side::Top | Side::Bottom => (rows, columns),
        };
        let place = |line: usize, i: usize| match side {
            Side::Left => [i, line],
            Side::Right => [i, columns - 1 - line],
            Side::Top => [line, i],
            Side::Bottom => [rows - 1 - line, i],
        };
        let Some(colour) = commonest((0..length).map(|i| picture[place(0, i)])) else {
            continue;
        };
        // Share of a line's pixels, those of bar and text left out, that have the margin's colour.
        let share = |line: usize| {
            let known = (0..length).map(|i| place(line, i)).filter(|&at| !off[at]);
            let (all, like) = known.fold((0usize, 0usize), |(all, like), at| {
                (all + 1, like + usize::from(apart(picture[at], colour) <= levels))
            });
            if 20 * all < length {
                1.0
            } else {
                like as f64 / all as f64
            }
        };
        let wide = (0..depth).take_while(|&line| share(line) >= MARGIN_SHARE).count();
        if wide == 0 || MOST_MARGIN * wide > depth {
            continue;
        }
        let strip = (0..wide).flat_map(|line| (0..length).map(move |i| place(line, i)));
        if one_colour_share(strip.filter(|&at| !off[at]).map(|at| picture[at])) < ONE_COLOUR_SHARE {
            continue;
        }
        let beyond = (wide + 2..wide + 6).filter(|&line| line < depth).map(share);
        if beyond.fold(0.0, f64::max) > BEYOND_SHARE {
            continue;
        }
        for line in 0..wide {
            for i in 0..length {
                off[place(line, i)] = true;
            }
        }
    }
}

/// Share of some colours that are exactly the commonest: compression leaves a margin as it is but near text, while even a
/// flat wall has as many means as blocks.
fn one_colour_share(colours: impl Iterator<Item = [u8; 3]>) -> f64 {
    let mut counts: HashMap<[u8; 3], usize> = HashMap::new();
    let mut all = 0usize;
    for colour in colours {
        *counts.entry(colour).or_default() += 1;
        all += 1;
    }
    let most = counts.into_values().max().unwrap_or(0);
    // Where all is text or bar there is no scene to lose.
    if all == 0 { 1.0 } else { most as f64 / all as f64 }
}

/// Levels within which colours count as one.
const COMMON_LEVELS: u8 = 3;

/// The commonest colour.
pub(super) fn commonest(colours: impl Iterator<Item = [u8; 3]>) -> Option<[u8; 3]> {
    let mut counts: Vec<(usize, [u8; 3])> = Vec::new();
    for colour in colours {
        if let Some(found) = counts.iter_mut().find(|(_, c)| apart(*c, colour) <= COMMON_LEVELS) {
            found.0 += 1;
        } else if counts.len() < 64 {
            counts.push((1, colour));
        }
    }
    counts.into_iter().max_by_key(|c| c.0).map(|c| c.1)
}

/// Marks the middle of every window that is off for a good part.
fn crowded(off: &mut Array2<bool>) {
    let counts = Counts::of(off);
    if counts.all() == 0 {
        return;
    }
    for ((y, x), here) in off.indexed_iter_mut() {
        let (count, area) = counts.about([y, x], CROWD_PX / 2);
        *here |= count as f32 > CROWD_SHARE * area as f32;
    }
}

/// Pixels of a mask near a place where it fills a whole window: a line of compression's making does not.
fn thick(mask: &Array2<bool>) -> Vec<[usize; 2]> {
    const HALF_PX: usize = 3;
    let counts = Counts::of(mask);
    let full = Array2::from_shape_fn(mask.dim(), |(y, x)| {
        mask[[y, x]] && {
            let (count, area) = counts.about([y, x], HALF_PX);
            count as usize == area
        }
    });
    let cores = Counts::of(&full);
    let near = |at: [usize; 2]| cores.about(at, HALF_PX + 1).0 > 0;
    mask.indexed_iter()
        .filter(|&((y, x), &here)| here && near([y, x]))
        .map(|((y, x), _)| [y, x])
        .collect()
}

/// Text in black or white where an end of the bar is black or white: thin strokes and upright boxes of the end's colour
/// that rise out of their surroundings within a pixel. A clipped place of the scene is neither.
fn strokes(off: &mut Array2<bool>, matched: &Matched, reach: &Reach) {
    for (index, end) in [0.0f32, 1.0].into_iter().enumerate() {
        if !reach.plain_ends[index] {
            continue;
        }
        let near = reach.end_share[index].max(0.04);
        let ended = Array2::from_shape_fn(off.dim(), |at| !off[at] && (matched.share[at] - end).abs() <= near);
        for piece in pieces(&ended) {
            let piece: Vec<[usize; 2]> = pixels(&piece).collect();
            if is_drawn(&piece, &ended, matched, off) {
                for at in piece {
                    off[at] = true;
                }
            }
        }
    }
}

/// Whether a piece of an end's colour is a stroke or a box, sharp against what lies about it.
fn is_drawn(piece: &[[usize; 2]], ended: &Array2<bool>, matched: &Matched, off: &Array2<bool>) -> bool {
    const SHARP: f32 = 0.2;
    let (rows, columns) = ended.dim();
    let (mut rim, mut sharp, mut core) = (0usize, 0usize, 0usize);
    let (mut low, mut high) = ([usize::MAX; 2], [0usize; 2]);
    for &[y, x] in piece {
        low = [low[0].min(y), low[1].min(x)];
        high = [high[0].max(y), high[1].max(x)];
        let mut inner = true;
        for (dy, dx) in [(-3i64, 0i64), (3, 0), (0, -3), (0, 3)] {
            let at = [y as i64 + dy, x as i64 + dx];
            let Ok(next) = usize::try_from(at[0]).and_then(|ny| usize::try_from(at[1]).map(|nx| [ny, nx])) else {
                continue;
            };
            inner &= next[0] >= rows || next[1] >= columns || ended[next];
        }
        core += usize::from(inner);
        for (dy, dx) in [(-1i64, 0i64), (1, 0), (0, -1), (0, 1)] {
            let step = |k: i64| {
                let at = [y as i64 + k * dy, x as i64 + k * dx];
                let y = usize::try_from(at[0]).ok().filter(|&y| y < rows)?;
                let x = usize::try_from(at[1]).ok().filter(|&x| x < columns)?;
                Some([y, x])
            };
            if let (Some(next), Some(after)) = (step(1), step(2))
                && !ended[next]
            {
                rim += 1;
                let jump = |at: [usize; 2]| (matched.share[at] - matched.share[[y, x]]).abs();
                sharp += usize::from(off[next] || off[after] || jump(next).max(jump(after)) > SHARP);
            }
        }
    }
    let thin = 5 * core <= piece.len();
    rim > 0 && 10 * sharp >= 8 * rim && (thin || holds_text(piece.len(), (low, high), matched, off))
}

/// Whether the box of a piece is filled by it and by something drawn upon it, as a caption's ground is.
fn holds_text(pixels: usize, (low, high): ([usize; 2], [usize; 2]), matched: &Matched, off: &Array2<bool>) -> bool {
    let own = matched.share[low];
    let mut drawn = 0usize;
    for y in low[0]..=high[0] {
        for x in low[1]..=high[1] {
            drawn += usize::from(off[[y, x]] || (matched.share[[y, x]] - own).abs() > 0.8);
        }
    }
    let area = (high[0] + 1 - low[0]) * (high[1] + 1 - low[1]);
    20 * drawn > area && 10 * (pixels + drawn) > 7 * area
}

/// With a rim about what is drawn; a lone pixel that noise or compression threw off the curve gets none.
fn widened(off: Array2<bool>, matched: &Matched, reach: &Reach) -> Array2<bool> {
    let (rows, columns) = off.dim();
    let about = |y: usize, x: usize, rim: usize| {
        let (top, bottom) = (y.saturating_sub(rim), (y + rim + 1).min(rows));
        let (left, right) = (x.saturating_sub(rim), (x + rim + 1).min(columns));
        (top..bottom).flat_map(move |y| (left..right).map(move |x| [y, x]))
    };
    let mut wide = off.clone();
    for ((y, x), &here) in off.indexed_iter() {
        if !here {
            continue;
        }
        let company = about(y, x, 1).filter(|&at| off[at]).count();
        if company >= 3 && matched.distance[[y, x]] > 1.5 * reach.too_far || company >= 6 {
            for at in about(y, x, reach.rim_px) {
                wide[at] = true;
            }
        }
    }
    wide
}

/// Pixels beside what holds no reading that still slope towards it go with it: blur carries a drawn line, or a pipe whose
/// colours the bar does not have, some pixels further than its mask.
pub(super) fn absorb_rims(celsius: &mut Array2<f32>, smeared: &Array2<bool>, least_k: f32) {
    const ROUNDS: usize = 4;
    const INWARDS: i64 = 3;
    let (rows, columns) = celsius.dim();
    let place = |y: i64, x: i64| {
        let y = usize::try_from(y).ok().filter(|&y| y < rows)?;
        let x = usize::try_from(x).ok().filter(|&x| x < columns)?;
        Some([y, x])
    };
    let mut edge = thick(&Array2::from_shape_fn(celsius.dim(), |at| {
        celsius[at].is_nan() && !smeared[at]
    }));
    for _ in 0..ROUNDS {
        let mut next = Vec::new();
        for &[y, x] in &edge {
            for (dy, dx) in [(-1i64, 0i64), (1, 0), (0, -1), (0, 1)] {
                let at = |k: i64| place(y as i64 + k * dy, x as i64 + k * dx);
                let (Some(beside), Some(inner)) = (at(1), at(1 + INWARDS)) else {
                    continue;
                };
                if (celsius[beside] - celsius[inner]).abs() > least_k {
                    next.push(beside);
                }
            }
        }
        for &at in &next {
            celsius[at] = f32::NAN;
        }
        edge = next;
    }
}

/// Small pieces that stand among what is drawn are no reading either: the inside of letters, chance hits in a photograph. A
/// zone that only the rim of compression sets apart stays.
fn without_pieces(mut off: Array2<bool>, drawn: &Array2<bool>) -> Array2<bool> {
    const ABOUT_PX: usize = 10;
    const TINY_PX: usize = 12;
    let most = (PIECE_SHARE * off.len() as f64) as usize;
    let (rows, columns) = off.dim();
    for piece in pieces(&off.mapv(|o| !o)) {
        let size = count(&piece);
        let (Some(first), Some(last)) = (piece.first(), piece.last()) else {
            continue;
        };
        if size > most {
            continue;
        }
        let (top, bottom) = (first.row.saturating_sub(ABOUT_PX), last.row + ABOUT_PX);
        let left = piece
            .iter()
            .map(|run| run.from)
            .min()
            .unwrap_or(0)
            .saturating_sub(ABOUT_PX);
        let right = piece.iter().map(|run| run.to).max().unwrap_or(0) + ABOUT_PX;
        let (mut about, mut lost) = (0usize, 0usize);
        for y in top..=bottom.min(rows - 1) {
            for x in left..=right.min(columns - 1) {
                about += 1;
                lost += usize::from(drawn[[y, x]]);
            }
        }
        if size <= TINY_PX || 2 * lost > about.saturating_sub(size) {
            for at in pixels(&piece) {
                off[at] = true;
            }
        }
    }
    off
}
