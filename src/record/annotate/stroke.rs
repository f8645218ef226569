//! Lines over the readings: a light core in a dark casing, so that they show on every step of every palette.

use super::canvas::{Area, Canvas, PAPER};

/// Longest piece drawn at once; short pieces keep the searched box small on slanting lines.
const PIECE_PX: f32 = 20.0;
/// Most pieces of one line: a bound on the work a damaged outline can ask for.
const MOST_PIECES: usize = 200_000;

/// A kind of line, half-widths in pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stroke {
    pub(super) core_px: f32,
    pub(super) casing_px: f32,
    pub(super) dash: Dash,
}

/// Whether a line has gaps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Dash {
    Unbroken,
    Dashed { on_px: f32, off_px: f32 },
}

type Point = [f32; 2];

/// Draws a closed line through the points, as far as `clip` reaches.
pub(super) fn closed(canvas: &mut Canvas, points: &[Point], stroke: &Stroke, clip: Area) {
    let ring: Vec<Point> = points.iter().chain(points.first()).copied().collect();
    open(canvas, &ring, stroke, clip);
}

/// Draws an open line through the points, as far as `clip` reaches.
pub(super) fn open(canvas: &mut Canvas, points: &[Point], stroke: &Stroke, clip: Area) {
    let points = straightened(points);
    let (mut walked, mut pieces) = (0.0_f32, 0_usize);
    for pair in points.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        let length = distance(from, to);
        if let Some((start, end)) = visible(from, to, clip, stroke.casing_px + 1.0) {
            let mut at = start * length;
            while at < end * length && pieces < MOST_PIECES {
                let (on, until) = next_piece(stroke.dash, walked + at, (end * length - at).min(PIECE_PX));
                if on {
                    let ends = [mix(from, to, at / length), mix(from, to, (at + until) / length)];
                    piece(canvas, ends, stroke, clip);
                }
                at += until;
                pieces += 1;
            }
        }
        walked += length;
    }
    if let [single] = points.as_slice() {
        piece(canvas, [*single, *single], stroke, clip);
    }
}

/// Whether the line is on at `walked`, and how far that holds, `longest` at most.
fn next_piece(dash: Dash, walked: f32, longest: f32) -> (bool, f32) {
    match dash {
        Dash::Unbroken => (true, longest),
        Dash::Dashed { on_px, off_px } => {
            let phase = walked % (on_px + off_px);
            let on = phase < on_px;
            let left = if on { on_px - phase } else { on_px + off_px - phase };
            // At least a hundredth of a pixel, or rounding could stop the walk.
            (on, left.max(0.01).min(longest.max(0.01)))
        }
    }
}

/// Leaves out points that lie on the straight line between their neighbours: contours of pixels are full of them.
fn straightened(points: &[Point]) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::with_capacity(points.len());
    for &point in points {
        if kept.last() == Some(&point) {
            continue;
        }
        if let [.., a, b] = kept[..] {
            let (u, v) = ([b[0] - a[0], b[1] - a[1]], [point[0] - b[0], point[1] - b[1]]);
            let (cross, along) = (u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1]);
            if cross.abs() < 1e-3 && along > 0.0 {
                kept.pop();
            }
        }
        kept.push(point);
    }
    kept
}

/// The shares of the way from `from` to `to` between which it lies within the rectangle grown by `margin`
/// (the clipping of Liang and Barsky).
fn visible(from: Point, to: Point, clip: Area, margin: f32) -> Option<(f32, f32)> {
    let low = [clip.left as f32 - margin, clip.top as f32 - margin];
    let high = [clip.right as f32 + margin, clip.bottom as f32 + margin];
    let (mut start, mut end) = (0.0_f32, 1.0_f32);
    for axis in 0..2 {
        let way = to[axis] - from[axis];
        if way == 0.0 {
            if from[axis] < low[axis] || from[axis] > high[axis] {
                return None;
            }
            continue;
        }
        let (a, b) = ((low[axis] - from[axis]) / way, (high[axis] - from[axis]) / way);
        start = start.max(a.min(b));
        end = end.min(a.max(b));
    }
    (start < end).then_some((start, end))
}

/// One straight piece. Where lines meet, the lighter wins, so that casings never cut through cores.
fn piece(canvas: &mut Canvas, ends: [Point; 2], stroke: &Stroke, clip: Area) {
    let [a, b] = ends;
    let reach = stroke.casing_px + 1.0;
    let bounds = Area {
        left: (a[0].min(b[0]) - reach).floor() as i32,
        top: (a[1].min(b[1]) - reach).floor() as i32,
        right: (a[0].max(b[0]) + reach).ceil() as i32,
        bottom: (a[1].max(b[1]) + reach).ceil() as i32,
    }
    .within(clip);
    let way = [b[0] - a[0], b[1] - a[1]];
    let squared = way[0] * way[0] + way[1] * way[1];
    let inverse = if squared > 0.0 { squared.recip() } else { 0.0 };
    let outer = (stroke.casing_px + 0.25).powi(2);
    for y in bounds.top..bounds.bottom {
        let dy = y as f32 + 0.5 - a[1];
        let (left, right) = reached(a[0], dy, way, reach);
        let (left, right) = (bounds.left.max(left), bounds.right.min(right));
        for (x, index) in (left..).zip(canvas.span(y, left, right)) {
            let dx = x as f32 + 0.5 - a[0];
            let along = ((dx * way[0] + dy * way[1]) * inverse).clamp(0.0, 1.0);
            let (ex, ey) = (dx - along * way[0], dy - along * way[1]);
            let off = ex * ex + ey * ey;
            // Reckoned for every pixel: without branches, many at a time.
            let covered = (stroke.core_px + 0.5 - off.sqrt()).clamp(0.0, 1.0);
            let level = (covered * f32::from(PAPER)) as u8;
            let drawn = if *index <= PAPER { level.max(*index) } else { level };
            *index = if off <= outer { drawn } else { *index };
        }
    }
}

/// Columns that the endless line through a piece comes near to in a row, `dy` from the piece's start, with some to spare.
fn reached(start_x: f32, dy: f32, way: Point, reach: f32) -> (i32, i32) {
    if way[1].abs() < 1e-3 {
        return (i32::MIN, i32::MAX);
    }
    let middle = start_x + dy * way[0] / way[1];
    let half = reach * way[0].hypot(way[1]) / way[1].abs() + 2.0;
    ((middle - half) as i32, (middle + half) as i32)
}

fn distance(a: Point, b: Point) -> f32 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

fn mix(a: Point, b: Point, share: f32) -> Point {
    [a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share]
}

#[cfg(test)]
mod tests {
    use super::super::canvas::{COLDEST, INK};
    use super::*;

    const SOLID: Stroke = Stroke {
        core_px: 1.5,
        casing_px: 3.5,
        dash: Dash::Unbroken,
    };

    fn ground() -> Canvas {
        let mut canvas = Canvas::blank(60, 40, 40);
        canvas.fill(canvas.area(), COLDEST + 50);
        canvas
    }

    #[test]
    fn a_line_has_a_light_core_and_a_dark_casing() {
        let mut canvas = ground();
        let clip = canvas.area();
        open(&mut canvas, &[[0.0, 20.5], [60.0, 20.5]], &SOLID, clip);
        let column: Vec<u8> = canvas.indices().chunks(60).map(|row| row[30]).collect();
        assert_eq!(column[20], PAPER);
        assert_eq!((column[17], column[23]), (INK, INK));
        assert_eq!((column[15], column[25]), (COLDEST + 50, COLDEST + 50));
    }

    #[test]
    fn a_dashed_line_has_gaps_of_ground() {
        let mut canvas = ground();
        let clip = canvas.area();
        let dashed = Stroke {
            dash: Dash::Dashed {
                on_px: 8.0,
                off_px: 10.0,
            },
            ..SOLID
        };
        open(&mut canvas, &[[0.0, 20.5], [60.0, 20.5]], &dashed, clip);
        let row = &canvas.indices()[20 * 60..21 * 60];
        assert_eq!((row[4], row[13], row[22]), (PAPER, COLDEST + 50, PAPER));
    }

    #[test]
    fn a_later_casing_does_not_cut_an_earlier_core() {
        let mut canvas = ground();
        let clip = canvas.area();
        open(&mut canvas, &[[0.0, 20.5], [60.0, 20.5]], &SOLID, clip);
        open(&mut canvas, &[[30.5, 0.0], [30.5, 40.0]], &SOLID, clip);
        assert!(canvas.indices()[20 * 60..21 * 60].iter().all(|&index| index == PAPER));
    }

    #[test]
    fn far_and_damaged_outlines_are_clipped() {
        let mut canvas = ground();
        let before = canvas.indices().to_vec();
        let clip = Area::at(0, 0, 60, 40);
        closed(&mut canvas, &[[1e5, 1e5], [-1e5, 9e4], [1e5, 8e4]], &SOLID, clip);
        closed(&mut canvas, &[], &SOLID, clip);
        assert_eq!(canvas.indices(), before);
        closed(&mut canvas, &[[-1e5, 10.0], [1e5, 10.0], [1e5, 1e5]], &SOLID, clip);
        assert_ne!(canvas.indices(), before);
    }

    #[test]
    fn straight_runs_are_merged_and_corners_kept() {
        let points = [
            [0.0, 0.0],
            [1.0, 0.0],
            [2.0, 0.0],
            [2.0, 0.0],
            [3.0, 1.0],
            [4.0, 2.0],
            [3.0, 1.0],
        ];
        assert_eq!(straightened(&points), [[0.0, 0.0], [2.0, 0.0], [4.0, 2.0], [3.0, 1.0]]);
    }
}
