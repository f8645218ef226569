//! Which strip is the bar: the only one found, or the one in the box that the sheet states.

use ndarray::Array2;

use super::curve::Curve;
use super::find::{self, Group, Strip};
use super::fit;
use super::grid::{Grid, Lie};
use super::matching::Matcher;
use super::section::Read;
use super::space::{Lab, Space};
use super::{EXPLAINED, EXPLAINED_COMPRESSED, Error, LEAST_EXPLAINED};
use crate::read::{Packing, Picture};

/// Least length of a stated bar in px.
const LEAST_LENGTH_PX: usize = 16;

/// The only bar of a picture that has one.
pub(super) fn found(picture: &Picture, space: &Space) -> Result<Strip, Error> {
    let mut strips = find::strips(picture, space);
    if strips.len() > 1 {
        // A strip whose colours are not the picture's is a bar all the same, if it is nearly as long as the best.
        let share = |strip: &Strip| {
            let curve = Curve::new(&strip.rows, space, Packing::Lossless)?;
            let matched = Matcher::new(&curve, space).picture(&thinned(picture));
            Some(fit::explained(
                &thinned(picture),
                &matched,
                [0; 4],
                EXPLAINED_COMPRESSED,
            ))
        };
        let fits: Vec<bool> = strips
            .iter()
            .map(|s| share(s).unwrap_or(0.0) >= LEAST_EXPLAINED)
            .collect();
        // The longest of those whose colours are the picture's; where none is, the longest.
        let best = fits.iter().position(|&fits| fits).unwrap_or(0);
        strips.swap(0, best);
        let first = &strips[0];
        let curve = Curve::new(&first.rows, space, Packing::Lossless);
        let of_scene = |s: &Strip| curve.as_ref().is_some_and(|curve| is_of_scene(s, curve, space));
        let rival = |s: &&Strip| 2 * s.rows.len() >= first.rows.len() && s.path >= 0.6 * first.path && !of_scene(s);
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

/// Whether a strip is but a line through the scene that a bar colours: all its colours are the bar's, and it does not go
/// from one end of them to the other, as a second bar does.
fn is_of_scene(strip: &Strip, curve: &Curve, space: &Space) -> bool {
    let labs: Vec<Lab> = strip.rows.iter().map(|colour| space.lab(*colour)).collect();
    let nearest = |to: &Lab, of: &[Lab]| of.iter().map(|lab| lab.distance(*to)).fold(f32::INFINITY, f32::min);
    let on_curve = labs
        .iter()
        .filter(|lab| nearest(lab, &curve.points) <= EXPLAINED)
        .count();
    let reached = |end: Option<&Lab>| end.is_some_and(|end| nearest(end, &labs) <= EXPLAINED);
    10 * on_curve >= 9 * labs.len() && !(reached(curve.points.first()) && reached(curve.points.last()))
}

/// Every fourth pixel along and across.
fn thinned(picture: &Picture) -> Picture {
    let (rows, columns) = picture.dim();
    Array2::from_shape_fn((rows / 4, columns / 4), |(y, x)| picture[[4 * y, 4 * x]])
}

/// The bar in a stated box: frames at its ends are cut off, and it must not go on beyond.
pub(super) fn stated(picture: &Picture, box_px: [u32; 4], space: &Space) -> Result<Strip, Error> {
    let [x, y, w, h] = box_px.map(|v| v as usize);
    let box_px = [x, y, w, h];
    let (rows, columns) = picture.dim();
    if x.saturating_add(w) > columns || y.saturating_add(h) > rows {
        return Err(Error::BoxOutside { box_px, columns, rows });
    }
    let no_bar = |what| Error::BoxIsNoBar { box_px, what };
    if 2 * w.min(h) > w.max(h) || w.min(h) == 0 {
        return Err(no_bar("it is not at least twice as long as wide"));
    }
    if w.max(h) < LEAST_LENGTH_PX {
        return Err(no_bar("it is shorter than 16 px"));
    }
    let grid = Grid::new(picture, if h > w { Lie::Upright } else { Lie::Level });
    let [from, top, wide, long] = grid.swapped(box_px);
    let columns = Group {
        from,
        to: from + wide - 1,
        top,
        bottom: top + long - 1,
    };
    within(&grid, columns, space).map_err(|fault| match fault {
        Fault::NoBar(what) => no_bar(what),
        Fault::CutsBar(whole_px) => Error::BoxCutsBar { box_px, whole_px },
    })
}

/// What is wrong with a box that lies in the picture.
enum Fault {
    NoBar(&'static str),
    CutsBar([usize; 4]),
}

/// The bar in a box of the grid.
fn within(grid: &Grid, columns: Group, space: &Space) -> Result<Strip, Fault> {
    let (top, long) = (columns.top, columns.bottom + 1 - columns.top);
    let reach = long / 5 + 8;
    let (first, last) = (top.saturating_sub(reach), (columns.bottom + reach).min(grid.rows - 1));
    let mut read = Read::of(grid, &columns, (first, last), space);
    let segment = read.segment((top + columns.bottom) / 2 - first);
    let (low, high) = segment.map_or((0, 0), |(low, high)| (first + low, first + high));
    let slack = 4.max(long / 25);
    let goes_on = low + slack < top || high > columns.bottom + slack;
    // Steps of a coarse bar jump like a frame does: then the box alone counts.
    let whole = low <= top + slack.max(long / 8) && high + slack.max(long / 8) >= columns.bottom;
    let (low, high) = if whole { (low, high) } else { (top, columns.bottom) };
    let labs = read.labs.get(low - first..=high - first).unwrap_or(&[]);
    if labs.len() < 12 {
        return Err(Fault::NoBar("its colours jump"));
    }
    let path = find::even_path(labs).ok_or(Fault::NoBar("its colours do not change evenly along it"))?;
    let colours = read.colours.get(low - first..=high - first).unwrap_or(&[]).to_vec();
    let strip = find::strip_of(grid, columns, (low, high), (colours, path));
    if whole && goes_on {
        return Err(Fault::CutsBar(strip.box_px));
    }
    Ok(strip)
}
