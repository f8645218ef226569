//! How well a picture's colours lie on a bar's curve.

use super::EXPLAINED;
use super::curve::Curve;
use super::find::Strip;
use super::grid::{Lie, apart};
use super::matching::Matched;
use super::overlay::commonest;
use super::space::Space;
use crate::read::Picture;
use crate::statistic;

/// Chroma below which colours are grey.
const GREY: f32 = 0.03;

/// Share of the picture, bar and one-coloured margins left out, that lies on the curve.
pub(super) fn explained(picture: &Picture, matched: &Matched, [x, y, w, h]: [usize; 4], near: f32) -> f64 {
    let (rows, columns) = picture.dim();
    let edge = (0..columns)
        .flat_map(|x| [[0, x], [rows - 1, x]])
        .chain((0..rows).flat_map(|y| [[y, 0], [y, columns - 1]]));
    let margin = commonest(edge.map(|at| picture[at]));
    let (mut on, mut off, mut plain) = (0usize, 0usize, 0usize);
    for ((row, column), &colour) in picture.indexed_iter().step_by(3) {
        if (x..x + w).contains(&column) && (y..y + h).contains(&row) {
            continue;
        }
        let on_curve = matched.distance[[row, column]] <= near;
        if margin.is_some_and(|m| apart(m, colour) <= 4) && !on_curve {
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
pub(super) fn strikes(picture: &Picture, curve: &Curve, space: &Space) -> &'static str {
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

/// Whether the picture went through lossy compression: then a bar is no longer the same colour all across.
pub(super) fn is_compressed(picture: &Picture, strip: &Strip) -> bool {
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
pub(super) fn scatter(matched: &Matched) -> f32 {
    let mut near: Vec<f64> = matched
        .distance
        .iter()
        .step_by(7)
        .filter(|&&d| d <= 2.0 * EXPLAINED)
        .map(|&d| f64::from(d))
        .collect();
    (statistic::median(&mut near).unwrap_or(0.0) / 1.18) as f32
}

/// Distance from the curve beyond which a colour is no temperature, for colours of that scatter.
pub(super) fn too_far(scatter: f32) -> f32 {
    (4.5 * scatter).clamp(0.022, 0.13)
}
