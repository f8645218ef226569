//! Where the bar lies: a long, narrow strip whose colours are the same across and change evenly along it.
//!
//! Columns of pixels that equal their neighbour over a long way are gathered into strips; each strip's rows are read by
//! their median and cut where the colours jump (frame, margin), and what is left must be as long, as even and as clearly
//! set off to both sides as only a bar is.

use std::ops::Range;

use super::curve::coarse;
use super::grid::{BESIDE_LEVELS, EVEN_LEVELS, Grid, Lie, MOST, apart, median};
use super::section::Read;
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

/// Most 8-bit levels between neighbours across a bar: compression leaves some. The second for low quality.
const FLAT_LEVELS: [u8; 2] = [10, 22];
/// Least length of a bar as a share of the picture's side, and in px.
const LEAST_SHARE: f64 = 0.15;
const LEAST_LENGTH_PX: usize = 32;
/// Least length over width.
const LEAST_ASPECT: usize = 5;
/// Least length of the curve of colours: a seventh of the way from black to white.
pub(super) const LEAST_PATH: f32 = 0.14;
/// Distance beside it at which that is looked at, px: beyond a frame.
const BESIDE_PX: usize = 4;
/// Least share of rows that must stand out to either side.
const BESIDE_SHARE: f64 = 0.7;

/// All strips of a picture that could be bars, longest curve of colours first; none overlap.
#[must_use]
pub fn strips(picture: &Picture, space: &Space) -> Vec<Strip> {
    let mut found: Vec<Strip> = Vec::new();
    let grids = [Lie::Upright, Lie::Level].map(|lie| Grid::new(picture, lie));
    for levels in FLAT_LEVELS {
        for grid in &grids {
            for group in groups(grid, levels) {
                found.extend(group.strip(grid, space));
            }
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

    pub(super) fn width(&self) -> usize {
        self.to + 1 - self.from
    }
}

fn least_length(grid: &Grid) -> usize {
    LEAST_LENGTH_PX.max((LEAST_SHARE * grid.rows as f64) as usize)
}

/// Neighbouring columns with long even runs over much the same rows.
fn groups(grid: &Grid, levels: u8) -> Vec<Group> {
    let mut done = Vec::new();
    let mut open: Vec<Group> = Vec::new();
    for (x, runs) in runs(grid, levels).into_iter().enumerate() {
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
                10 * common >= 6 * g.length().max(joined.length())
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
fn runs(grid: &Grid, levels: u8) -> Vec<Vec<(usize, usize)>> {
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
            if apart(pair[0], pair[1]) > levels {
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

/// A part of a group that goes on evenly.
struct EvenPart {
    /// Length of its way through colour.
    path: f32,
    /// First and last row.
    rows: (usize, usize),
    /// Its colours, row by row.
    colours: Vec<[u8; 3]>,
}

impl Group {
    /// The group's strip, if it looks like a bar.
    fn strip(&self, grid: &Grid, space: &Space) -> Option<Strip> {
        const PASSES: usize = 4;
        let (mut wide, mut part) = (*self, self.read(grid, space)?);
        // Ticks and compression may have left only part of the bar; all of it is read more surely.
        for _ in 0..PASSES {
            let (top, bottom) = part.rows;
            wide = Self { top, bottom, ..wide }.widened(grid, &part.colours, top);
            part = wide.read(grid, space)?;
            if part.rows == (top, bottom) {
                break;
            }
        }
        let EvenPart {
            path,
            rows: (top, bottom),
            colours,
        } = part;
        let wide = wide.widened(grid, &colours, top);
        let [head, tail] = frame_rows(grid, &wide, &colours, top);
        let colours = colours.get(head..colours.len().checked_sub(tail)?)?.to_vec();
        let (top, bottom) = (top + head, bottom - tail);
        let fits = colours.len() >= least_length(grid) && colours.len() >= LEAST_ASPECT * wide.width();
        if !fits || !set_off(grid, &wide, &colours, top) || !is_level(grid, &wide, (top, bottom)) {
            return None;
        }
        Some(strip_of(grid, wide, (top, bottom), (colours, path)))
    }

    /// The part about the middle that goes on evenly.
    fn read(&self, grid: &Grid, space: &Space) -> Option<EvenPart> {
        let reach = self.length() / 2 + 12;
        let (first, last) = (self.top.saturating_sub(reach), (self.bottom + reach).min(grid.rows - 1));
        let mut read = Read::of(grid, self, (first, last), space);
        let (top, bottom) = read.segment((self.top + self.bottom) / 2 - first)?;
        let labs = read.labs.get(top..=bottom)?;
        let colours = read.colours.get(top..=bottom)?.to_vec();
        Some(EvenPart {
            path: even_path(labs)?,
            rows: (first + top, first + bottom),
            colours,
        })
    }

    /// With the columns at its sides that have the same colours: compression blurs them into what lies beside.
    fn widened(&self, grid: &Grid, colours: &[[u8; 3]], top: usize) -> Self {
        let alike = |x: usize| {
            let like = colours
                .iter()
                .enumerate()
                .filter(|(i, colour)| apart(grid.at(x, top + i), **colour) <= EVEN_LEVELS)
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

/// Colours some pixels to the left and right of a row of a strip, by the median of a small window so that noise is not
/// taken for an edge; None beyond the picture.
pub(super) fn beside(grid: &Grid, columns: &Group, y: usize) -> [Option<[u8; 3]>; 2] {
    let left = columns.from.checked_sub(BESIDE_PX).map(|x| x.saturating_sub(2)..x + 1);
    let right = Some(columns.to + BESIDE_PX)
        .filter(|&x| x < grid.columns)
        .map(|x| x..(x + 3).min(grid.columns));
    [left, right].map(|range| window(grid, range?, y))
}

/// Median colour of some columns over the rows about one.
fn window(grid: &Grid, range: Range<usize>, y: usize) -> Option<[u8; 3]> {
    const HALF_ROWS: usize = 2;
    let mut window: Vec<[u8; 3]> = Vec::with_capacity(MOST);
    for y in y.saturating_sub(HALF_ROWS)..(y + HALF_ROWS + 1).min(grid.rows) {
        window.extend(grid.row(y).get(range.clone())?);
    }
    Some(median(&window))
}

/// Whether a strip has the same colours at both its sides: a bar has, a slope of sky or lawn goes on across.
fn is_level(grid: &Grid, columns: &Group, (top, bottom): (usize, usize)) -> bool {
    const INSET_PX: usize = 3;
    const LEVELS: u8 = 20;
    if columns.width() < 4 * INSET_PX {
        return true;
    }
    let (left, right) = (columns.from + INSET_PX, columns.to - INSET_PX);
    let sloping = (top..=bottom).step_by(2).filter(|&y| {
        let sides = window(grid, left..left + 3, y).zip(window(grid, right - 2..right + 1, y));
        sides.is_some_and(|(a, b)| apart(a, b) > LEVELS)
    });
    8 * sloping.count() <= bottom + 1 - top
}

/// Rows of a frame of the end's own colour that were read as the bar's: the frame's columns at both sides tell its colour
/// and its width.
fn frame_rows(grid: &Grid, columns: &Group, colours: &[[u8; 3]], top: usize) -> [usize; 2] {
    const ALIKE_LEVELS: u8 = 24;
    const MOST_PX: usize = 5;
    let side = |x: usize| {
        let line: Vec<[u8; 3]> = (0..colours.len()).map(|i| grid.at(x, top + i)).collect();
        let colour = median(&line.iter().copied().step_by(line.len() / MOST + 1).collect::<Vec<_>>());
        let alike = line.iter().filter(|c| apart(**c, colour) <= ALIKE_LEVELS).count();
        (10 * alike >= 8 * line.len()).then_some(colour)
    };
    let Some(colour) = columns.from.checked_sub(1).and_then(side) else {
        return [0, 0];
    };
    let same = |x: usize| side(x).is_some_and(|c| apart(c, colour) <= ALIKE_LEVELS);
    let width = (1..=MOST_PX + 1)
        .take_while(|&px| columns.from.checked_sub(px).is_some_and(same))
        .count();
    if width > MOST_PX || columns.to + 1 >= grid.columns || !same(columns.to + 1) {
        return [0, 0];
    }
    let at_end = |end: Option<&[u8; 3]>| {
        if end.is_some_and(|c| apart(*c, colour) <= ALIKE_LEVELS / 2) {
            width
        } else {
            0
        }
    };
    [at_end(colours.first()), at_end(colours.last())]
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
