//! Where the numbered and lettered tags stand: beside their mark, off every mark and off each other where that can be had.

use super::canvas::Area;
use super::layout::Layout;

/// What must be kept clear, weighed, in cells of a few pixels.
pub(super) struct Ground<'a> {
    pub(super) layout: &'a Layout,
    cell_px: i32,
    columns: i32,
    rows: i32,
    weights: Vec<u16>,
}

/// Weight of a cell that another tag holds.
const TAGGED: u16 = 400;
/// Weight of a cell with a label of the axis.
const LABELLED: u16 = 150;
/// Weight of a cell inside a mark.
const MARKED: u16 = 40;
/// Weight of a cell that the asset's outline crosses.
const OUTLINED: u16 = 4;

impl<'a> Ground<'a> {
    /// A clear frame.
    pub(super) fn clear(layout: &'a Layout) -> Self {
        let cell_px = layout.px(6.0).max(2);
        let (columns, rows) = (layout.frame.width() / cell_px + 1, layout.frame.height() / cell_px + 1);
        Self {
            layout,
            cell_px,
            columns,
            rows,
            weights: vec![0; columns as usize * rows as usize],
        }
    }

    fn add(&mut self, column: i32, row: i32, weight: u16) {
        if (0..self.columns).contains(&column) && (0..self.rows).contains(&row) {
            let at = (row * self.columns + column) as usize;
            if let Some(cell) = self.weights.get_mut(at) {
                *cell = (*cell).max(weight);
            }
        }
    }

    fn cells(&self, area: Area) -> (std::ops::Range<i32>, std::ops::Range<i32>) {
        let up = |v: i32| v.div_euclid(self.cell_px) + i32::from(v.rem_euclid(self.cell_px) > 0);
        let columns = area.left.div_euclid(self.cell_px)..up(area.right);
        (columns, area.top.div_euclid(self.cell_px)..up(area.bottom))
    }

    fn put(&mut self, area: Area, weight: u16) {
        let (columns, rows) = self.cells(area.within(self.layout.frame));
        for row in rows {
            for column in columns.clone() {
                self.add(column, row, weight);
            }
        }
    }

    /// Keeps tags off a label of the axis.
    pub(super) fn keep_off(&mut self, area: Area) {
        self.put(area, LABELLED);
    }

    /// Keeps tags off a mark: the cells inside its outline and along it.
    pub(super) fn keep_off_mark(&mut self, ring: &[[f32; 2]]) {
        self.put_along(ring, MARKED);
        let frame = self.layout.frame;
        let bounds = bounds(ring).within(frame);
        let (_, rows) = self.cells(bounds);
        for row in rows {
            let y = (row * self.cell_px + self.cell_px / 2) as f32;
            for pair in crossings(ring, y).chunks_exact(2) {
                let span = Area {
                    left: pair[0] as i32,
                    right: pair[1] as i32,
                    ..frame
                }
                .within(frame);
                for column in span.left / self.cell_px..=span.right / self.cell_px {
                    self.add(column, row, MARKED);
                }
            }
        }
    }

    /// Makes tags rather not stand on the asset's outline.
    pub(super) fn avoid_outline(&mut self, ring: &[[f32; 2]]) {
        self.put_along(ring, OUTLINED);
    }

    fn put_along(&mut self, ring: &[[f32; 2]], weight: u16) {
        let next = ring.iter().cycle().skip(1);
        for (from, to) in ring.iter().zip(next) {
            let steps = ((to[0] - from[0]).hypot(to[1] - from[1]) / self.cell_px as f32)
                .ceil()
                .clamp(1.0, 4096.0) as i32;
            for step in 0..steps {
                let share = step as f32 / steps as f32;
                let at = |axis: usize| (from[axis] + (to[axis] - from[axis]) * share) as i32;
                self.add(at(0).div_euclid(self.cell_px), at(1).div_euclid(self.cell_px), weight);
            }
        }
    }

    fn weight(&self, area: Area) -> u32 {
        let (columns, rows) = self.cells(area);
        let (left, right) = (columns.start.clamp(0, self.columns), columns.end.clamp(0, self.columns));
        rows.filter(|row| (0..self.rows).contains(row))
            .flat_map(|row| {
                let from = row * self.columns;
                self.weights
                    .get((from + left) as usize..(from + right) as usize)
                    .unwrap_or_default()
            })
            .map(|weight| u32::from(*weight))
            .sum()
    }

    /// The best place for a tag of this size beside a mark, which it then holds.
    pub(super) fn place(&mut self, ring: &[[f32; 2]], (width, height): (i32, i32)) -> Area {
        let room = self.layout.frame.grown(-self.layout.px(2.0));
        let mark = bounds(ring).within(self.layout.frame);
        // A few points of the mark tell its distance well enough.
        let sampled: Vec<[f32; 2]> = ring.iter().step_by(ring.len().div_ceil(48).max(1)).copied().collect();
        let cost = |area: Area, turn: u32| {
            let apart = sampled
                .iter()
                .map(|point| squared_from_area(area, *point).1)
                .fold(f32::MAX, f32::min)
                .sqrt();
            let units = (apart / self.layout.exact_px(1.0)).min(1000.0) as u32;
            self.weight(area.grown(self.layout.px(3.0))) * 8 + units * 6 + turn
        };
        let candidates = self
            .candidates(mark, (width, height))
            .map(|(area, turn)| (inside(area, room), turn));
        let best = candidates.min_by_key(|(area, turn)| cost(*area, *turn));
        let area = best.map_or_else(
            || inside(Area::at(mark.left, mark.top, width, height), room),
            |(area, _)| area,
        );
        self.put(area, TAGGED);
        area
    }

    /// Places round a mark at growing distances, with a small preference for the corners; the last resort is its middle.
    fn candidates(&self, mark: Area, (width, height): (i32, i32)) -> impl Iterator<Item = (Area, u32)> + use<> {
        /// Shares in fourths of the mark's box at which a tag stands: corners first, for they leave the sides to see.
        const ROUND: [(i32, i32); 12] = [
            (4, 0),
            (0, 0),
            (4, 4),
            (0, 4),
            (2, 0),
            (2, 4),
            (4, 2),
            (0, 2),
            (3, 0),
            (1, 0),
            (3, 4),
            (1, 4),
        ];
        const AWAY_UNITS: [f32; 10] = [-12.0, 0.0, 10.0, 22.0, 42.0, 66.0, 96.0, 130.0, 170.0, 220.0];
        let layout = *self.layout;
        let beside = AWAY_UNITS.into_iter().flat_map(move |away| {
            let gap = layout.exact_px(away).round() as i32;
            ROUND.into_iter().zip(0..).map(move |((across, down), turn)| {
                let left = mark.left - width - gap + (mark.width() + width + 2 * gap) * across / 4;
                let top = mark.top - height - gap + (mark.height() + height + 2 * gap) * down / 4;
                (Area::at(left, top, width, height), 3 * turn)
            })
        });
        let middle = Area::at(
            (mark.left + mark.right - width) / 2,
            (mark.top + mark.bottom - height) / 2,
            width,
            height,
        );
        beside.chain([(middle, 1500)])
    }
}

/// The place of a rectangle nearest to a point, and how far apart they are.
pub(super) fn from_area(area: Area, point: [f32; 2]) -> ([f32; 2], f32) {
    let (place, squared) = squared_from_area(area, point);
    (place, squared.sqrt())
}

/// The same with the square of the distance.
fn squared_from_area(area: Area, point: [f32; 2]) -> ([f32; 2], f32) {
    let x = point[0].clamp(area.left as f32, area.right as f32);
    let y = point[1].clamp(area.top as f32, area.bottom as f32);
    let (across, down) = (point[0] - x, point[1] - y);
    ([x, y], across * across + down * down)
}

/// The area moved, as little as possible, to lie in the room.
fn inside(area: Area, room: Area) -> Area {
    let left = area.left.min(room.right - area.width()).max(room.left);
    let top = area.top.min(room.bottom - area.height()).max(room.top);
    Area::at(left, top, area.width(), area.height())
}

/// The box round a ring of points.
pub(super) fn bounds(ring: &[[f32; 2]]) -> Area {
    let mut low = [f32::MAX; 2];
    let mut high = [f32::MIN; 2];
    for point in ring {
        for axis in 0..2 {
            low[axis] = low[axis].min(point[axis]);
            high[axis] = high[axis].max(point[axis]);
        }
    }
    Area {
        left: low[0] as i32,
        top: low[1] as i32,
        right: high[0].ceil() as i32,
        bottom: high[1].ceil() as i32,
    }
}

/// Where a row crosses a ring, sorted.
pub(super) fn crossings(ring: &[[f32; 2]], y: f32) -> Vec<f32> {
    let next = ring.iter().cycle().skip(1);
    let sides = ring.iter().zip(next).filter(|(a, b)| (a[1] <= y) != (b[1] <= y));
    let mut found: Vec<f32> = sides
        .map(|(a, b)| a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]))
        .collect();
    found.sort_by(f32::total_cmp);
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(left: f32, top: f32, side: f32) -> Vec<[f32; 2]> {
        vec![
            [left, top],
            [left + side, top],
            [left + side, top + side],
            [left, top + side],
        ]
    }

    fn apart(a: Area, b: Area) -> bool {
        let common = a.within(b);
        common.width() <= 0 || common.height() <= 0
    }

    #[test]
    fn a_tag_stands_beside_its_mark() {
        let layout = Layout::of(320, 240);
        let mut ground = Ground::clear(&layout);
        let ring = square(300.0, 300.0, 120.0);
        ground.keep_off_mark(&ring);
        let tag = ground.place(&ring, (40, 36));
        assert!(apart(tag, bounds(&ring)), "{tag:?}");
        assert!(
            apart(tag.grown(-1), bounds(&ring)) && !apart(tag.grown(20), bounds(&ring)),
            "far away: {tag:?}"
        );
    }

    #[test]
    fn crowded_tags_keep_off_each_other_and_off_the_marks() {
        let layout = Layout::of(320, 240);
        let mut ground = Ground::clear(&layout);
        let rings: Vec<_> = (0..30)
            .map(|n| square(100.0 + 130.0 * (n % 6) as f32, 60.0 + 130.0 * (n / 6) as f32, 60.0))
            .collect();
        rings.iter().for_each(|ring| ground.keep_off_mark(ring));
        let tags: Vec<Area> = rings.iter().map(|ring| ground.place(ring, (44, 36))).collect();
        for (n, tag) in tags.iter().enumerate() {
            assert!(
                tags[n + 1..].iter().all(|other| apart(*tag, *other)),
                "tag {n} covers another"
            );
            assert!(
                rings.iter().all(|ring| apart(*tag, bounds(ring))),
                "tag {n} covers a mark"
            );
            assert_eq!(tag.within(layout.frame), *tag);
        }
    }

    #[test]
    fn a_mark_that_fills_the_frame_still_gets_a_tag_in_the_frame() {
        let layout = Layout::of(320, 240);
        let mut ground = Ground::clear(&layout);
        let ring = square(-50.0, -50.0, 2000.0);
        ground.keep_off_mark(&ring);
        let tag = ground.place(&ring, (44, 36));
        assert_eq!(tag.within(layout.frame), tag);
    }
}
