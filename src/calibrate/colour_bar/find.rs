//! Where the bar lies: a long, narrow strip whose colours are the same across and change evenly along it.
//!
//! Columns of pixels that equal their neighbour over a long way are gathered into strips; each strip's rows are read by
//! their median and cut where the colours jump (frame, margin), and what is left must be as long, as even and as clearly
//! set off to both sides as only a bar is.

use super::curve::coarse;
use super::grid::{Grid, Lie, MOST, apart, median};
use super::space::{Lab, Space};
use crate::read::Picture;

/// A strip that could be a bar.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// Its box x y w h in px of the picture, without frame.
    pub box_px: [usize; 4],
    /// Which way it lies.
    pub lie: Lie,
    /// Colours along it, low end first.
    pub rows: Vec<[u8; 3]>,
    /// Whether its low and its high end stand at the picture's edge.
    pub at_edge: [bool; 2],
    /// Length of its curve of colours.
    pub path: f32,
}

/// Most 8-bit levels between neighbours across a bar: compression leaves some.
const FLAT_LEVELS: u8 = 10;
/// Least length of a bar as a share of the picture's side, and in px.
const LEAST_SHARE: f64 = 0.15;
const LEAST_LENGTH_PX: usize = 32;
/// Least length over width.
const LEAST_ASPECT: usize = 5;
/// Least length of the curve of colours: a seventh of the way from black to white.
pub(super) const LEAST_PATH: f32 = 0.14;
/// Levels by which a bar stands out from what lies beside it.
const BESIDE_LEVELS: u8 = 9;
/// Distance beside it at which that is looked at, px: beyond a frame.
const BESIDE_PX: usize = 4;
/// Least share of rows that must stand out to either side.
const BESIDE_SHARE: f64 = 0.7;

/// All strips of a picture that could be bars, longest curve of colours first; none overlap.
#[must_use]
pub fn strips(picture: &Picture, space: &Space) -> Vec<Strip> {
    let mut found: Vec<Strip> = Vec::new();
    for lie in [Lie::Upright, Lie::Level] {
        let grid = Grid::new(picture, lie);
        for group in groups(&grid) {
            found.extend(group.strip(&grid, space));
        }
    }
    let worth = |s: &Strip| s.path * s.rows.len() as f32;
    found.sort_by(|a, b| worth(b).total_cmp(&worth(a)));
    let mut kept: Vec<Strip> = Vec::new();
    for strip in found {
        if !kept.iter().any(|other| overlap(other.box_px, strip.box_px)) {
            kept.push(strip);
        }
    }
    kept
}

fn overlap([ax, ay, aw, ah]: [usize; 4], [bx, by, bw, bh]: [usize; 4]) -> bool {
    ax < bx + bw + BESIDE_PX && bx < ax + aw + BESIDE_PX && ay < by + bh && by < ay + ah
}

/// Columns `from..=to` whose pixels equal their neighbours' over rows `top..=bottom`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Group {
    pub from: usize,
    pub to: usize,
    pub top: usize,
    pub bottom: usize,
}

impl Group {
    fn length(&self) -> usize {
        self.bottom + 1 - self.top
    }

    fn width(&self) -> usize {
        self.to + 1 - self.from
    }
}

fn least_length(grid: &Grid) -> usize {
    LEAST_LENGTH_PX.max((LEAST_SHARE * grid.rows as f64) as usize)
}

/// Neighbouring columns with long even runs over much the same rows.
fn groups(grid: &Grid) -> Vec<Group> {
    let mut done = Vec::new();
    let mut open: Vec<Group> = Vec::new();
    for (x, runs) in runs(grid).into_iter().enumerate() {
        let mut next: Vec<Group> = Vec::new();
        for (top, bottom) in runs {
            let mut joined = Group {
                from: x,
                to: x + 1,
                top,
                bottom,
            };
            let fellow = open.iter().find(|g| {
                let common = (g.bottom.min(bottom) + 1).saturating_sub(g.top.max(top));
                10 * common >= 8 * g.length().max(joined.length())
            });
            if let Some(g) = fellow {
                joined = Group {
                    from: g.from,
                    to: x + 1,
                    top: g.top.max(top),
                    bottom: g.bottom.min(bottom),
                };
            }
            next.push(joined);
        }
        let goes_on = |g: &Group| {
            next.iter()
                .any(|n| n.from == g.from && n.top >= g.top && n.bottom <= g.bottom)
        };
        done.extend(open.iter().copied().filter(|g| !goes_on(g)));
        open = next;
    }
    done.extend(open);
    done.retain(|g| g.width() >= 3 && g.length() >= LEAST_ASPECT * g.width());
    done
}

/// For each column, the runs of rows over which it equals the next one; a few rows of ticks do not end a run.
fn runs(grid: &Grid) -> Vec<Vec<(usize, usize)>> {
    let most_gap = 3.max(grid.rows / 100);
    let least = least_length(grid) / 2;
    // First row of the run and one past its last even row.
    let mut open = vec![(0usize, 0usize); grid.columns];
    let mut all = vec![Vec::new(); grid.columns];
    let close = |all: &mut Vec<Vec<(usize, usize)>>, x: usize, (start, end): (usize, usize)| {
        if end > start + least && changes(grid, x, (start, end)) {
            all[x].push((start, end - 1));
        }
    };
    for y in 0..grid.rows {
        for (x, pair) in grid.row(y).windows(2).enumerate() {
            if apart(pair[0], pair[1]) > FLAT_LEVELS {
                continue;
            }
            let (start, end) = open[x];
            if y <= end + most_gap && end > start {
                open[x].1 = y + 1;
            } else {
                close(&mut all, x, (start, end));
                open[x] = (y, y + 1);
            }
        }
    }
    for (x, run) in open.into_iter().enumerate() {
        close(&mut all, x, run);
    }
    all
}

/// Whether the colours of a column go on one way over some part of a run, as they do along a bar: most lines through a
/// scene come and go, and need not be read further.
fn changes(grid: &Grid, x: usize, (start, end): (usize, usize)) -> bool {
    const LOOKS: usize = 18;
    const ON_THE_WAY: usize = 5;
    let colour = |i: usize| grid.at(x, start + i * (end - 1 - start) / LOOKS);
    let (mut before, mut on_the_way) = ([0i32; 3], 0);
    for i in 0..LOOKS {
        let (a, b) = (colour(i), colour(i + 1));
        let step = [0, 1, 2].map(|c| i32::from(b[c]) - i32::from(a[c]));
        let along: i32 = step.iter().zip(&before).map(|(a, b)| a * b).sum();
        let moves = apart(a, b) >= 2;
        on_the_way = if moves && (along > 0 || on_the_way == 0) {
            on_the_way + 1
        } else {
            usize::from(moves)
        };
        if on_the_way >= ON_THE_WAY {
            return true;
        }
        before = step;
    }
    false
}

impl Group {
    /// The group's strip, if it looks like a bar.
    fn strip(&self, grid: &Grid, space: &Space) -> Option<Strip> {
        let (_, colours, top) = self.read(grid, space)?;
        // Ticks may have left only part of the width; all of it is read more surely.
        let wide = self.widened(grid, &colours, top);
        let ((path, bottom), colours, top) = wide.read(grid, space)?;
        let wide = wide.widened(grid, &colours, top);
        let fits = colours.len() >= least_length(grid) && colours.len() >= LEAST_ASPECT * wide.width();
        if !fits || !set_off(grid, &wide, &colours, top) {
            return None;
        }
        Some(strip_of(grid, wide, (top, bottom), (colours, path)))
    }

    /// Path and last row, colours and first row of the part about the middle that goes on evenly.
    fn read(&self, grid: &Grid, space: &Space) -> Option<((f32, usize), Vec<[u8; 3]>, usize)> {
        let reach = self.length() / 2 + 12;
        let (first, last) = (self.top.saturating_sub(reach), (self.bottom + reach).min(grid.rows - 1));
        let mut read = Read::of(grid, self, (first, last), space);
        let (top, bottom) = read.segment((self.top + self.bottom) / 2 - first)?;
        let labs = read.labs.get(top..=bottom)?;
        let colours = read.colours.get(top..=bottom)?.to_vec();
        Some(((even_path(labs)?, first + bottom), colours, first + top))
    }

    /// With the columns at its sides that have the same colours: compression blurs them into what lies beside.
    fn widened(&self, grid: &Grid, colours: &[[u8; 3]], top: usize) -> Self {
        let alike = |x: usize| {
            let like = colours
                .iter()
                .enumerate()
                .filter(|(i, colour)| apart(grid.at(x, top + i), **colour) <= 2 * FLAT_LEVELS)
                .count();
            10 * like >= 6 * colours.len()
        };
        let most = colours.len() / LEAST_ASPECT;
        let mut wide = *self;
        while wide.from > 0 && wide.width() < most && alike(wide.from - 1) {
            wide.from -= 1;
        }
        while wide.to + 1 < grid.columns && wide.width() < most && alike(wide.to + 1) {
            wide.to += 1;
        }
        wide
    }
}

/// The strip of columns and rows of a grid in the picture's coordinates, low end first.
pub(super) fn strip_of(
    grid: &Grid,
    columns: Group,
    (top, bottom): (usize, usize),
    (mut colours, path): (Vec<[u8; 3]>, f32),
) -> Strip {
    let edges = [top == 0, bottom + 1 == grid.rows];
    let at_edge = match grid.lie {
        Lie::Upright => {
            colours.reverse();
            [edges[1], edges[0]]
        }
        Lie::Level => edges,
    };
    Strip {
        box_px: grid.swapped([columns.from, top, columns.width(), bottom + 1 - top]),
        lie: grid.lie,
        rows: colours,
        at_edge,
        path,
    }
}

/// Colours some pixels to the left and right of a row of a strip; None beyond the picture.
fn beside(grid: &Grid, columns: &Group, y: usize) -> [Option<[u8; 3]>; 2] {
    let left = columns.from.checked_sub(BESIDE_PX);
    let right = Some(columns.to + BESIDE_PX).filter(|&x| x < grid.columns);
    [left, right].map(|x| x.map(|x| grid.at(x, y)))
}

/// Whether a strip stands out to both sides over most of its length.
fn set_off(grid: &Grid, columns: &Group, colours: &[[u8; 3]], top: usize) -> bool {
    let mut counts = [(0usize, 0usize); 2];
    for (i, colour) in colours.iter().enumerate() {
        for (count, side) in counts.iter_mut().zip(beside(grid, columns, top + i)) {
            if let Some(side) = side {
                count.0 += usize::from(apart(side, *colour) > BESIDE_LEVELS);
                count.1 += 1;
            }
        }
    }
    let known = counts.iter().any(|c| c.1 > 0);
    known && counts.iter().all(|c| c.0 as f64 >= BESIDE_SHARE * c.1 as f64)
}

/// Rows of some columns, read by their median.
pub(super) struct Read {
    pub colours: Vec<[u8; 3]>,
    pub labs: Vec<Lab>,
    /// Rows that are the same all across.
    even: Vec<bool>,
    /// On how many of the sides in view a row stands out: none, some, all.
    clear: Vec<Clear>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Clear {
    None,
    Some,
    All,
}

/// How a segment ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stop {
    /// With a jump of colour: a frame or another ground.
    Sharp,
    /// With something else.
    Vague,
}

/// Rows that are looked at together where one may mislead.
const WINDOW: usize = 8;

impl Read {
    pub(super) fn of(grid: &Grid, columns: &Group, (first, last): (usize, usize), space: &Space) -> Self {
        let width = columns.width();
        // Compression blurs a bar's sides into what lies beside it.
        let inset = if width >= 10 { 3 } else { usize::from(width >= 5) };
        let (from, to) = (columns.from + inset, columns.to - inset);
        let step = (to + 1 - from).div_ceil(MOST).max(1);
        let mut read = Self {
            colours: Vec::with_capacity(last + 1 - first),
            labs: Vec::new(),
            even: Vec::with_capacity(last + 1 - first),
            clear: Vec::with_capacity(last + 1 - first),
        };
        let mut across: Vec<[u8; 3]> = Vec::with_capacity(MOST);
        for y in first..=last {
            across.clear();
            across.extend(grid.row(y).get(from..=to).unwrap_or(&[]).iter().step_by(step));
            let colour = median(&across);
            let like = across.iter().filter(|c| apart(**c, colour) <= 2 * FLAT_LEVELS).count();
            let sides = beside(grid, columns, y);
            let (all, out) = sides.iter().flatten().fold((0, 0), |(all, out), &side| {
                (all + 1, out + usize::from(apart(side, colour) > BESIDE_LEVELS))
            });
            read.even.push(5 * like >= 3 * across.len());
            read.colours.push(colour);
            read.clear.push(if out == 0 {
                Clear::None
            } else if out < all {
                Clear::Some
            } else {
                Clear::All
            });
        }
        read.labs = read.colours.iter().map(|&c| space.lab(c)).collect();
        read
    }

    /// The rows about `middle` that go on without a jump, ticks over the whole width filled in.
    pub(super) fn segment(&mut self, middle: usize) -> Option<(usize, usize)> {
        let mut steps: Vec<f64> = self
            .labs
            .windows(2)
            .map(|w| f64::from(w[0].distance(w[1])))
            .filter(|&d| d > 0.004)
            .collect();
        let usual = crate::statistic::median(&mut steps).unwrap_or(0.0) as f32;
        let jump = JUMP.max(6.0 * usual);
        let (top, stop_top) = self.end(middle, -1, jump);
        let (bottom, stop_bottom) = self.end(middle, 1, jump);
        let (top, bottom) = self.trimmed((top, stop_top), (bottom, stop_bottom))?;
        (bottom > top + 8).then_some((top, bottom))
    }

    /// The last row one way from the middle, and what ends it.
    fn end(&mut self, middle: usize, way: i64, jump: f32) -> (usize, Stop) {
        let last = self.labs.len() as i64 - 1;
        let mut at = middle as i64;
        while (0..=last).contains(&(at + way)) {
            let (here, next) = (at as usize, (at + way) as usize);
            if self.labs[here].distance(self.labs[next]) > jump {
                match self.beyond_tick(at, way, jump) {
                    Some(beyond) => at = beyond,
                    None => return (here, Stop::Sharp),
                }
                continue;
            }
            if !self.even[here] && !self.even[next] {
                return (here, Stop::Vague);
            }
            at += way;
        }
        (at as usize, Stop::Vague)
    }

    /// The row beyond a tick across the whole bar, which is filled in: behind it the bar goes on and stands out.
    fn beyond_tick(&mut self, at: i64, way: i64, jump: f32) -> Option<i64> {
        let most = 4.max(self.labs.len() as i64 / 80);
        let rows = self.labs.len();
        let row = |at: i64| usize::try_from(at).ok().filter(|&y| y < rows);
        let here = row(at)?;
        let beyond = (2..=most + 1)
            .map(|k| at + k * way)
            .find(|&k| row(k).is_some_and(|y| self.labs[y].distance(self.labs[here]) < 0.4 * jump))?;
        let clear = (0..WINDOW as i64)
            .filter(|k| row(beyond + k * way).is_some_and(|y| self.clear[y] != Clear::None && self.even[y]))
            .count();
        if 4 * clear < 3 * WINDOW {
            return None;
        }
        let there = row(beyond)?;
        let count = (beyond - at).abs();
        for k in 1..count {
            let Some(y) = row(at + k * way) else { continue };
            self.labs[y] = self.labs[here].towards(self.labs[there], k as f32 / count as f32);
            self.colours[y] = if 2 * k < count {
                self.colours[here]
            } else {
                self.colours[there]
            };
            self.even[y] = true;
        }
        Some(beyond)
    }

    /// Without rows at a vague end that do not stand out from what lies beside, or over which nothing changes for longer
    /// than elsewhere: a margin of the end's colour.
    fn trimmed(&self, (top, stop_top): (usize, Stop), (bottom, stop_bottom): (usize, Stop)) -> Option<(usize, usize)> {
        let stands_out = |rows: &[Clear]| {
            let clear = rows.iter().filter(|c| **c == Clear::All).count();
            2 * clear >= rows.len() && rows.first().is_some_and(|c| *c != Clear::None)
        };
        let (mut top, mut bottom) = (top, bottom);
        if stop_top == Stop::Vague {
            while top < bottom && !stands_out(self.clear.get(top..(top + WINDOW).min(bottom + 1))?) {
                top += 1;
            }
        }
        if stop_bottom == Stop::Vague {
            let back = |y: usize| self.clear.get((y + 1).saturating_sub(WINDOW).max(top)..=y);
            while top < bottom && !stands_out(&back(bottom)?.iter().rev().copied().collect::<Vec<_>>()) {
                bottom -= 1;
            }
        }
        let colours = self.colours.get(top..=bottom)?;
        let backwards: Vec<[u8; 3]> = colours.iter().rev().copied().collect();
        Some((top + still_rows(colours), bottom.checked_sub(still_rows(&backwards))?))
    }
}

/// Rows at the head over which nothing changes for longer than elsewhere: a margin of the end's colour.
fn still_rows(colours: &[[u8; 3]]) -> usize {
    let Some(&first) = colours.first() else { return 0 };
    let still = |levels: u8| colours.iter().take_while(|c| apart(**c, first) <= levels).count();
    let rows_a_colour = colours.len() / colours.windows(2).filter(|w| w[0] != w[1]).count().max(1);
    let same = still(0);
    if same > 2 * rows_a_colour.max(1) + 1 {
        return same - rows_a_colour.max(1);
    }
    // Compression leaves a level or two: then more rows are let pass as the bar's own.
    let levels: usize = colours
        .chunks(8)
        .zip(colours.chunks(8).skip(1))
        .map(|(a, b)| usize::from(apart(a[0], b[0])))
        .sum();
    let own = 3 * colours.len() / levels.max(1);
    let like = still(2);
    if like > 2 * own + 4 { like - own.max(1) } else { 0 }
}

/// Distance in colour between neighbouring rows that no usual bar has.
const JUMP: f32 = 0.09;

/// Length of the curve of colours, if it goes on evenly, as a bar does and a line through a scene does not.
pub(super) fn even_path(labs: &[Lab]) -> Option<f32> {
    let points = coarse(labs);
    let steps: Vec<Lab> = points.windows(2).map(|w| w[1].minus(w[0])).collect();
    let path: f32 = steps.iter().map(|s| s.length()).sum();
    let mean = path / steps.len().max(1) as f32;
    let slow = steps.iter().filter(|s| s.length() < 0.12 * mean).count();
    let turns = steps
        .windows(2)
        .filter(|w| {
            let (a, b) = (w[0].length(), w[1].length());
            a.min(b) > 0.25 * mean && w[0].dot(w[1]) < -0.5 * a * b
        })
        .count();
    // Between the points the rows keep to the way.
    let last = (labs.len() - 1) as f32;
    let off: f32 = labs
        .iter()
        .enumerate()
        .map(|(i, lab)| {
            let at = i as f32 / last * steps.len() as f32;
            let low = (at as usize).min(steps.len() - 1);
            lab.distance(points[low].towards(points[low + 1], at - low as f32))
        })
        .sum::<f32>()
        / labs.len() as f32;
    (path >= LEAST_PATH && slow <= 8 && turns <= 1 && off <= 0.4 * mean + 0.008).then_some(path)
}
