//! The rows of a strip: what colour each has, and which of them are the bar.

use super::find::{Group, beside};
use super::grid::{BESIDE_LEVELS, EVEN_LEVELS, Grid, MOST, apart, median};
use super::space::{Lab, Space};

/// Rows of some columns, read by their median.
pub(super) struct Read {
    pub colours: Vec<[u8; 3]>,
    pub labs: Vec<Lab>,
    /// Rows that are the same all across.
    even: Vec<bool>,
    /// On how many of the sides in view a row stands out: none, some, all.
    clear: Vec<Clear>,
    /// Rows that are exactly the same all across, which compression leaves few of.
    exact: usize,
    /// The pixel just beside each row: a frame's, where there is one.
    edge: Vec<[u8; 3]>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Clear {
    None,
    Some,
    All,
}

/// A line of one colour just beside the bar, where the bar is interrupted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Frame {
    /// None, or one that cannot be told from the bar.
    None,
    /// It ends there.
    Ends,
    /// It goes on behind.
    GoesOn,
}

/// How a segment ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stop {
    /// With a jump of colour: a frame or another ground.
    Sharp,
    /// With something else.
    Vague,
}

/// Rows in a run that are not the same all across, beyond which a bar does not go on: compression makes some.
const UNEVEN_ROWS: i64 = 4;
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
            exact: 0,
            edge: (first..=last)
                .map(|y| grid.at(columns.from.saturating_sub(1), y))
                .collect(),
        };
        let mut across: Vec<[u8; 3]> = Vec::with_capacity(MOST);
        for y in first..=last {
            across.clear();
            across.extend(grid.row(y).get(from..=to).unwrap_or(&[]).iter().step_by(step));
            let colour = median(&across);
            let like = across.iter().filter(|c| apart(**c, colour) <= EVEN_LEVELS).count();
            let sides = beside(grid, columns, y);
            let (all, out) = sides.iter().flatten().fold((0, 0), |(all, out), &side| {
                (all + 1, out + usize::from(apart(side, colour) > BESIDE_LEVELS))
            });
            read.exact += usize::from(across.iter().all(|c| *c == colour));
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
        // What is read reaches half a length beyond the run to either side: its middle is the run.
        let quarter = self.labs.len() / 4;
        let run = self.labs.get(quarter..self.labs.len() - quarter).unwrap_or(&[]);
        let mut steps: Vec<f64> = run
            .windows(2)
            .map(|w| f64::from(w[0].distance(w[1])))
            .filter(|&d| d > 0.004)
            .collect();
        let usual = crate::statistic::median(&mut steps).unwrap_or(0.0) as f32;
        let jump = JUMP.max(6.0 * usual);
        let middle = self.off_ticks(middle, jump);
        let (top, stop_top) = self.end(middle, -1, jump);
        let (bottom, stop_bottom) = self.end(middle, 1, jump);
        let (top, bottom) = self.trimmed((top, stop_top), (bottom, stop_bottom))?;
        (bottom > top + 8).then_some((top, bottom))
    }

    /// A row at or near the middle that is not a tick's.
    fn off_ticks(&self, middle: usize, jump: f32) -> usize {
        const ABOUT: [i64; 5] = [0, 7, -7, 13, -13];
        let quiet = |row: &usize| {
            let near = |by: i64| usize::try_from(*row as i64 + by).ok().and_then(|y| self.labs.get(y));
            let here = self.labs.get(*row);
            [-4, 4]
                .into_iter()
                .all(|by| near(by).zip(here).is_none_or(|(a, b)| a.distance(*b) <= jump))
        };
        let rows = ABOUT
            .into_iter()
            .filter_map(|by| usize::try_from(middle as i64 + by).ok());
        rows.filter(|&y| y < self.labs.len()).find(quiet).unwrap_or(middle)
    }

    /// The last row one way from the middle, and what ends it.
    fn end(&mut self, middle: usize, way: i64, jump: f32) -> (usize, Stop) {
        let last = self.labs.len() as i64 - 1;
        let mut at = middle as i64;
        while (0..=last).contains(&(at + way)) {
            let (here, next) = (at as usize, (at + way) as usize);
            let levels = apart(self.colours[here], self.colours[next]);
            if self.labs[here].distance(self.labs[next]) > jump && levels >= JUMP_LEVELS {
                match self.beyond_tick(at, way, jump) {
                    Some(beyond) => at = beyond,
                    None => return (here, Stop::Sharp),
                }
                continue;
            }
            let uneven = (1..=UNEVEN_ROWS)
                .filter(|k| {
                    usize::try_from(at + k * way)
                        .ok()
                        .and_then(|y| self.even.get(y))
                        .is_none_or(|even| !even)
                })
                .count();
            if uneven == UNEVEN_ROWS as usize {
                return (here, Stop::Vague);
            }
            at += way;
        }
        (at as usize, Stop::Vague)
    }

    /// The row beyond a tick across the whole bar, which is filled in: behind it the bar goes on, in its
    /// frame or standing out from what lies beside.
    fn beyond_tick(&mut self, at: i64, way: i64, jump: f32) -> Option<i64> {
        let most = 4.max(self.labs.len() as i64 / 80);
        let rows = self.labs.len();
        let row = |at: i64| usize::try_from(at).ok().filter(|&y| y < rows);
        let here = row(at)?;
        let beyond = (2..=most + 1)
            .map(|k| at + k * way)
            .find(|&k| row(k).is_some_and(|y| self.labs[y].distance(self.labs[here]) < 0.4 * jump))?;
        let goes_on = |stands_out: &dyn Fn(usize) -> bool| {
            let count = (0..WINDOW as i64)
                .filter(|k| row(beyond + k * way).is_some_and(|y| self.even[y] && stands_out(y)))
                .count();
            4 * count >= 3 * WINDOW
        };
        let goes_on = match self.frame_at(at, beyond, way) {
            Frame::Ends => false,
            Frame::GoesOn => goes_on(&|_| true),
            Frame::None => goes_on(&|y| self.clear[y] != Clear::None),
        };
        if !goes_on {
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

    /// What becomes, behind a tick, of a frame before it: a frame ends with its bar.
    fn frame_at(&self, at: i64, beyond: i64, way: i64) -> Frame {
        const ALIKE_LEVELS: u8 = 30;
        let window = |from: i64, way: i64| -> Vec<[u8; 3]> {
            let rows = (0..WINDOW as i64).filter_map(|k| usize::try_from(from + k * way).ok());
            rows.filter_map(|y| self.edge.get(y).copied()).collect()
        };
        let (before, behind) = (window(at, -way), window(beyond, way));
        let colour = median(&before);
        let alike = |rows: &[[u8; 3]]| rows.iter().filter(|c| apart(**c, colour) <= ALIKE_LEVELS).count();
        let bar = usize::try_from(at).ok().and_then(|y| self.colours.get(y));
        if alike(&before) + 2 < before.len() {
            Frame::None
        } else if 2 * alike(&behind) < WINDOW {
            Frame::Ends
        } else if bar.is_some_and(|bar| apart(*bar, colour) > ALIKE_LEVELS) {
            Frame::GoesOn
        } else {
            Frame::None
        }
    }

    /// Without rows at a vague end that do not stand out from what lies beside, rows beyond the end of a frame, and rows over
    /// which nothing changes for longer than elsewhere.
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
        let (top, bottom) = self.within_frame(top, bottom);
        let colours = self.colours.get(top..=bottom)?;
        let backwards: Vec<[u8; 3]> = colours.iter().rev().copied().collect();
        let exact = 3 * self.exact >= self.colours.len();
        let still = |rows: &[[u8; 3]], stop: Stop| match (exact, stop) {
            (true, _) => same_rows(rows),
            // What ends with a jump in a compressed picture holds no margin but one of a block's width.
            (false, Stop::Sharp) => 0,
            (false, Stop::Vague) => like_rows(rows),
        };
        Some((
            top + still(colours, stop_top),
            bottom.checked_sub(still(&backwards, stop_bottom))?,
        ))
    }

    /// Without rows at the ends beside which a frame that goes along the rest of the bar is missing.
    fn within_frame(&self, top: usize, bottom: usize) -> (usize, usize) {
        const ALIKE_LEVELS: u8 = 30;
        let edge = self.edge.get(top..=bottom).unwrap_or(&[]);
        let sample: Vec<[u8; 3]> = edge.iter().copied().step_by(edge.len() / MOST + 1).collect();
        let frame = median(&sample);
        let alike = |side: &[u8; 3]| apart(*side, frame) <= ALIKE_LEVELS;
        if 5 * edge.iter().filter(|side| alike(side)).count() < 4 * edge.len() {
            return (top, bottom);
        }
        // Beyond the frame's end the row goes on into what lies beside it.
        let beyond = |y: usize| !alike(&self.edge[y]) && apart(self.edge[y], self.colours[y]) <= BESIDE_LEVELS;
        let head = (top..=bottom).take_while(|&y| beyond(y)).count();
        let tail = (top + head..=bottom).rev().take_while(|&y| beyond(y)).count();
        (top + head, bottom - tail)
    }
}

/// Rows of a block of compressed picture (ITU-T T.81 codes blocks of 8 × 8; from memory).
const BLOCK_ROWS: usize = 8;

/// Rows at the head of exactly one colour, beyond those that a colour of the bar has and those that compression makes alike
/// in one block: a margin of the end's colour.
fn same_rows(colours: &[[u8; 3]]) -> usize {
    let Some(&first) = colours.first() else { return 0 };
    let rows_a_colour = (colours.len() / colours.windows(2).filter(|w| w[0] != w[1]).count().max(1)).max(1);
    let same = colours.iter().take_while(|c| **c == first).count();
    if same > (2 * rows_a_colour + 1).max(BLOCK_ROWS) {
        same - rows_a_colour
    } else {
        0
    }
}

/// The same after compression, which leaves a level or two and makes some rows of a dark end alike.
fn like_rows(colours: &[[u8; 3]]) -> usize {
    let Some(&first) = colours.first() else { return 0 };
    let like = colours.iter().take_while(|c| apart(**c, first) <= 2).count();
    let blocks = colours.chunks(BLOCK_ROWS).zip(colours.chunks(BLOCK_ROWS).skip(1));
    let levels: usize = blocks.map(|(a, b)| usize::from(apart(a[0], b[0]))).sum();
    let own = 3 * colours.len() / levels.max(1);
    if like > (2 * own + 4).max(colours.len() / 20) {
        like - own.max(1)
    } else {
        0
    }
}

/// Distance in colour between neighbouring rows that no usual bar has.
const JUMP: f32 = 0.09;
/// Levels that go with it: near black, compression alone makes such distances.
const JUMP_LEVELS: u8 = 24;
