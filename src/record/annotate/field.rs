//! The readings themselves, one square a reading, and how places without a useful reading are shown.

use std::borrow::Cow;

use ndarray::Array2;

use super::canvas::{Area, COLDEST, Canvas, GROUND_DARK, GROUND_LIGHT, STEPS};
use super::layout::{Layout, Zoom};

/// Turns temperatures into indices.
#[derive(Debug, Clone, Copy)]
pub(super) struct Steps {
    low_c: f32,
    per_k: f32,
}

impl Steps {
    /// Steps that fill the shown range.
    pub(super) fn over(range_c: (f64, f64)) -> Self {
        Self {
            low_c: range_c.0 as f32,
            per_k: (f64::from(STEPS) / (range_c.1 - range_c.0)) as f32,
        }
    }

    /// The index of a reading: the nearest end where beyond the range, paper where there is none.
    fn index(self, reading_c: f32) -> u8 {
        // Saturates at both ends, and NaN gives 0.
        let step = ((reading_c - self.low_c) * self.per_k) as u8;
        if reading_c.is_nan() {
            GROUND_LIGHT
        } else {
            COLDEST + step.min(STEPS - 1)
        }
    }
}

/// Paints the map at the layout's magnification; readings that are missing become dotted paper.
pub(super) fn paint(canvas: &mut Canvas, map_c: &Array2<f32>, steps: Steps, layout: &Layout) {
    let (factor, every) = match layout.zoom {
        Zoom::Enlarged(factor) => (factor, 1),
        Zoom::Thinned(every) => (1, every),
    };
    let columns = layout.frame.width() as usize;
    let mut indices = Vec::with_capacity(map_c.ncols());
    for (place, row) in map_c.rows().into_iter().step_by(every).enumerate() {
        indices.clear();
        match row.to_slice() {
            Some(readings) if every == 1 => indices.extend(readings.iter().map(|&reading| steps.index(reading))),
            _ => indices.extend(row.iter().step_by(every).map(|&reading| steps.index(reading))),
        }
        let top = place * factor;
        widen(canvas.span(top as i32, 0, columns as i32), &indices, factor);
        canvas.repeat_row(top, factor, columns);
        if indices.contains(&GROUND_LIGHT) {
            let missing: Vec<bool> = indices.iter().map(|&index| index == GROUND_LIGHT).collect();
            for_each_run(&missing, |from, to| {
                let (left, width) = (from * factor, (to - from) * factor);
                dot(
                    canvas,
                    layout,
                    Area::at(left as i32, top as i32, width as i32, factor as i32),
                );
            });
        }
    }
}

/// Repeats each index `factor` times. Known small factors compile to plain stores, which is what makes large frames quick.
fn widen(line: &mut [u8], indices: &[u8], factor: usize) {
    match factor {
        1 => widen_by::<1>(line, indices),
        2 => widen_by::<2>(line, indices),
        3 => widen_by::<3>(line, indices),
        4 => widen_by::<4>(line, indices),
        _ => line
            .chunks_mut(factor)
            .zip(indices)
            .for_each(|(square, &index)| square.fill(index)),
    }
}

fn widen_by<const FACTOR: usize>(line: &mut [u8], indices: &[u8]) {
    let (squares, _) = line.as_chunks_mut::<FACTOR>();
    for (square, &index) in squares.iter_mut().zip(indices) {
        *square = [index; FACTOR];
    }
}

/// Calls `found` with every run of true, as a half-open range.
fn for_each_run(flags: &[bool], mut found: impl FnMut(usize, usize)) {
    let mut at = 0;
    while let Some(start) = flags.get(at..).and_then(|rest| rest.iter().position(|&flag| flag)) {
        let from = at + start;
        let length = flags[from..]
            .iter()
            .position(|&flag| !flag)
            .unwrap_or(flags.len() - from);
        found(from, from + length);
        at = from + length;
    }
}

/// Sparse dots, staggered, over an area of the sheet.
pub(super) fn dot(canvas: &mut Canvas, layout: &Layout, area: Area) {
    let (pitch, size) = (layout.px(9.0), layout.px(1.8));
    for y in area.top..area.bottom {
        if y % pitch >= size {
            continue;
        }
        let shift = if (y / pitch) % 2 == 0 { 0 } else { pitch / 2 };
        for (x, index) in (area.left..).zip(canvas.span(y, area.left, area.right)) {
            if (x + shift) % pitch < size {
                *index = GROUND_DARK;
            }
        }
    }
}

/// Hatches the places of the mask with thin diagonals, each a dark and a light line so that it shows on every step.
pub(super) fn hatch(canvas: &mut Canvas, mask: &Array2<bool>, layout: &Layout) {
    let (factor, every) = match layout.zoom {
        Zoom::Enlarged(factor) => (factor, 1),
        Zoom::Thinned(every) => (1, every),
    };
    let mut flags = Vec::with_capacity(mask.ncols());
    for (place, row) in mask.rows().into_iter().step_by(every).enumerate() {
        flags.clear();
        match row.to_slice() {
            Some(row) if every == 1 => flags.extend_from_slice(row),
            _ => flags.extend(row.iter().step_by(every)),
        }
        for_each_run(&flags, |from, to| {
            for y in place * factor..(place + 1) * factor {
                let line = canvas.span(y as i32, (from * factor) as i32, (to * factor) as i32);
                diagonal(line, from * factor + y, layout);
            }
        });
    }
}

/// One row of diagonals; `phase` is the sum of column and row at its start.
pub(super) fn diagonal(line: &mut [u8], phase: usize, layout: &Layout) {
    let (pitch, dark, light) = hatch_size(layout);
    let length = line.len();
    let first = (pitch - phase % pitch) % pitch;
    // One pitch early, for a stroke that began before the row does.
    let mut start = first as isize - pitch as isize;
    while start < length as isize {
        let cut = |at: isize| at.clamp(0, length as isize) as usize;
        let (a, b, c) = (
            cut(start),
            cut(start + dark as isize),
            cut(start + (dark + light) as isize),
        );
        line.get_mut(a..b).unwrap_or_default().fill(GROUND_DARK);
        line.get_mut(b..c).unwrap_or_default().fill(GROUND_LIGHT);
        start += pitch as isize;
    }
}

/// Pitch along a row, and widths of the dark and the light line, in pixels of the sheet.
fn hatch_size(layout: &Layout) -> (usize, usize, usize) {
    (
        layout.px(17.0) as usize,
        layout.px(2.0) as usize,
        layout.px(2.0) as usize,
    )
}

/// Whether any shown reading lies below, above, or is missing.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Beyond {
    pub(super) below: bool,
    pub(super) above: bool,
    pub(super) missing: bool,
}

/// Looks for readings that the range does not hold.
pub(super) fn beyond(map_c: &Array2<f32>, range_c: (f64, f64)) -> Beyond {
    let (low, high) = (range_c.0 as f32, range_c.1 as f32);
    let mut found = Beyond::default();
    for row in map_c.rows() {
        // No early return within a row: without branches it runs many readings at a time.
        let (mut below, mut above, mut missing) = (0_u8, 0_u8, 0_u8);
        let readings = row.to_slice().map_or_else(|| Cow::Owned(row.to_vec()), Cow::Borrowed);
        for &reading in readings.as_ref() {
            below |= u8::from(reading < low);
            above |= u8::from(reading > high);
            missing |= u8::from(reading.is_nan());
        }
        found.below |= below > 0;
        found.above |= above > 0;
        found.missing |= missing > 0;
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_beyond_the_range_take_the_ends_and_none_is_paper() {
        let steps = Steps::over((10.0, 20.0));
        let last = COLDEST + STEPS - 1;
        assert_eq!(steps.index(10.0), COLDEST);
        assert_eq!(steps.index(-1e30), COLDEST);
        assert_eq!(steps.index(f32::NEG_INFINITY), COLDEST);
        assert_eq!(steps.index(15.0), COLDEST + STEPS / 2);
        assert_eq!(steps.index(20.0), last);
        assert_eq!(steps.index(f32::INFINITY), last);
        assert_eq!(steps.index(f32::NAN), GROUND_LIGHT);
    }

    #[test]
    fn runs_are_found_to_the_very_end() {
        let flags = [true, false, true, true, false, false, true];
        let runs = |flags: &[bool]| {
            let mut found = Vec::new();
            for_each_run(flags, |from, to| found.push((from, to)));
            found
        };
        assert_eq!(runs(&flags), [(0, 1), (2, 4), (6, 7)]);
        assert_eq!(runs(&[false; 3]), []);
        assert_eq!(runs(&[true; 3]), [(0, 3)]);
        assert_eq!(runs(&[]), []);
    }

    #[test]
    fn hatching_does_not_depend_on_where_a_run_begins() {
        let layout = Layout::of(320, 240);
        let mut whole = vec![99; 200];
        diagonal(&mut whole, 7, &layout);
        for start in [1, 5, 16, 17, 18, 60] {
            let mut part = vec![99; 200 - start];
            diagonal(&mut part, 7 + start, &layout);
            assert_eq!(part, whole[start..]);
        }
        assert!(whole.contains(&GROUND_DARK) && whole.contains(&GROUND_LIGHT) && whole.contains(&99));
    }

    #[test]
    fn widening_repeats_each_index() {
        for factor in 1..=6 {
            let mut line = vec![0; 3 * factor];
            widen(&mut line, &[7, 8, 9], factor);
            let expected: Vec<u8> = [7, 8, 9].iter().flat_map(|&index| vec![index; factor]).collect();
            assert_eq!(line, expected);
        }
    }

    #[test]
    fn what_the_range_does_not_hold_is_noticed() {
        let map = ndarray::arr2(&[[1.0, 5.0], [f32::NAN, 9.0]]);
        assert_eq!(
            beyond(&map, (2.0, 8.0)),
            Beyond {
                below: true,
                above: true,
                missing: true
            }
        );
        assert_eq!(
            beyond(&map, (1.0, 9.0)),
            Beyond {
                below: false,
                above: false,
                missing: true
            }
        );
    }
}
