//! How the offsets of pieces of outline move the figure: robust least squares in eight free parameters.
//!
//! The offsets δᵢ, weighted by step size and by Tukey's biweight, give the change of the free parameters p by
//! `Σ wᵢ (δᵢ − Jᵢ·Δp)² + Δpᵀ·Λ·Δp → min`, Jᵢ being the outward motion of the piece for a unit change of each parameter.

use nalgebra::{SMatrix, SVector};

use super::figure::{Figure, OutlinePoint, Part, Surface};
use super::search::Along;

/// Free parameters: anchor u, anchor v, tilt, log scale, head depth (m), log stretch, how far below the tangent line a skirt
/// begins (m), taper (1/m).
pub(super) const FREE: usize = 8;
/// Spread of that, in half widths: jackets end at the tangent line, or a little lower where the head has drawn in to the skirt
/// (engineering judgement, no source).
const SKIRT_SPREAD: f64 = 0.1;
/// How far below it at most, in half widths and in depths of the head.
const LOWEST_SKIRT: f64 = 0.45;
pub(super) const LOWEST_IN_HEAD: f64 = 0.8;
/// Spread of the stretch of the width about 1 (a camera four radii away sees 3 %, eight radii away 1 %).
const STRETCH_SPREAD: f64 = 0.01;

/// Spread of the taper over a half width about none: an axis seen 10° from square on from six radii away.
const TAPER_SPREAD: f64 = 0.03;
/// What the distance from the camera may change by over the whole length, at most, as a share of that of the middle.
const MOST_TAPER: f64 = 0.5;

/// What a piece of outline found.
#[derive(Debug, Clone, Copy)]
pub(super) struct Piece {
    pub(super) jacobian: SVector<f64, FREE>,
    pub(super) part: Part,
    pub(super) offset_px: f64,
    /// −1..1, positive where the outside is warmer.
    pub(super) strength: f64,
    pub(super) length_px: f64,
    /// Axial place in m.
    pub(super) axial_m: f64,
}

/// What pieces ask for.
pub(super) struct Change {
    /// Of the free parameters.
    free: SVector<f64, FREE>,
    /// Middle along the axis of what is in view, m.
    middle_m: f64,
}

impl Piece {
    /// Size of the step, if it lies at the outline.
    pub(super) fn held(&self, within_px: f64) -> f64 {
        if self.offset_px.abs() <= within_px {
            self.strength.abs()
        } else {
            0.0
        }
    }
}

/// Outward motion of a point for a unit change of (anchor u, anchor v, tilt, ln scale, head depth, ln stretch, skirt,
/// taper).
pub(super) fn jacobian(figure: &Figure, point: &OutlinePoint) -> SVector<f64, FREE> {
    let (du, dv) = (point.u - figure.anchor_u, point.v - figure.anchor_v);
    let end = matches!(point.part, Part::DatumEnd | Part::OtherEnd);
    SVector::from([
        point.normal_u,
        point.normal_v,
        point.normal_v * du - point.normal_u * dv,
        point.normal_u * du + point.normal_v * dv,
        if end { point.head_lever } else { 0.0 },
        point.stretch_lever,
        point.skirt_lever,
        point.taper_lever,
    ])
}

/// The change of the free parameters that the pieces ask for; pieces further off than 1.5 `clip_px` have no say.
pub(super) fn solve(pieces: &[Piece], figure: &Figure, along: Along, clip_px: f64) -> Change {
    let mut normal = SMatrix::<f64, FREE, FREE>::zeros();
    let mut right = SVector::<f64, FREE>::zeros();
    let mut total = 0.0;
    for piece in pieces {
        let ratio = piece.offset_px / (clip_px * 1.5);
        // Tukey's biweight: pieces that found another edge far away lose their say.
        let tukey = if ratio.abs() < 1.0 {
            (1.0 - ratio * ratio).powi(2)
        } else {
            0.0
        };
        let weight = piece.strength * piece.strength * tukey * piece.length_px;
        let weighted = piece.jacobian * weight;
        total += weight;
        normal += weighted * piece.jacobian.transpose();
        right += weighted * piece.offset_px;
    }
    let size_px = figure.size.half_width_m * figure.scale_px_m;
    // Weak ties, so that a parameter without evidence stays where the register and the search put it.
    let ties = [
        0.5,
        0.5,
        0.5 * size_px * size_px,
        0.5 * size_px * size_px,
        4.0 * figure.scale_px_m.powi(2),
    ];
    for (i, tie) in ties.into_iter().enumerate() {
        normal[(i, i)] += tie;
    }
    // The stretch is tied to 1 by what a distance of a few radii can do, against edges that lie 0.7 px off together; that of the
    // middle of the picture, where the line of sight is square to it: ln(w·n), n the distance there over that of the anchor.
    let middle_m = pieces.iter().map(|piece| piece.axial_m).sum::<f64>() / pieces.len().max(1) as f64;
    let distance = figure.distance(middle_m);
    let tie = (0.7 / STRETCH_SPREAD).powi(2) * total;
    let per_taper = (middle_m - figure.anchor_axial_m) / distance;
    let off = (figure.stretch * distance).ln();
    normal[(5, 5)] += tie;
    normal[(5, 7)] += tie * per_taper;
    normal[(7, 5)] += tie * per_taper;
    normal[(7, 7)] += tie * per_taper * per_taper;
    right[5] -= tie * off;
    right[7] -= tie * off * per_taper;
    let spread_px = SKIRT_SPREAD * size_px;
    let tie = (0.7 * figure.scale_px_m / spread_px).powi(2) * total;
    normal[(6, 6)] += tie;
    right[6] -= tie * figure.skirt_m;
    let tie = (0.7 * figure.size.half_width_m / TAPER_SPREAD).powi(2) * total;
    normal[(7, 7)] += tie;
    right[7] -= tie * figure.taper_per_m;
    let hold = |index: usize, normal: &mut SMatrix<f64, FREE, FREE>| normal[(index, index)] += 1e12;
    if matches!(along, Along::StartsAt(_)) {
        hold(0, &mut normal);
    }
    if figure.size.surface == Surface::Plane {
        hold(4, &mut normal);
    }
    Change {
        free: normal.cholesky().map_or_else(SVector::zeros, |c| c.solve(&right)),
        middle_m,
    }
}

/// The figure changed by `change`, each step cut to what one pass may do.
pub(super) fn moved(mut figure: Figure, Change { free: change, middle_m }: &Change) -> Figure {
    let half = figure.size.half_width_m;
    figure.anchor_u += change[0].clamp(-12.0, 12.0);
    figure.anchor_v += change[1].clamp(-12.0, 12.0);
    figure.tilt_rad = (figure.tilt_rad + change[2].clamp(-0.05, 0.05)).clamp(-0.25, 0.25);
    figure.scale_px_m *= change[3].clamp(-0.1, 0.1).exp();
    figure.head_depth_m = (figure.head_depth_m + change[4].clamp(-0.3 * half, 0.3 * half)).clamp(0.0, 1.05 * half);
    let lowest = (LOWEST_SKIRT * half).min(LOWEST_IN_HEAD * figure.head_depth_m);
    let most = MOST_TAPER / figure.size.length_m;
    figure.taper_per_m = (figure.taper_per_m + change[7].clamp(-0.4 * most, 0.4 * most)).clamp(-most, most);
    let distance = figure.distance(*middle_m);
    let stretch = figure.stretch * change[5].clamp(-0.1, 0.1).exp();
    figure.stretch = (stretch * distance).clamp(0.98, 1.08) / distance;
    figure.skirt_m = (figure.skirt_m + change[6].clamp(-0.15 * half, 0.15 * half)).clamp(0.0, lowest);
    figure
}

/// Support of the least supported of the sides in view, 0..1.
///
/// `missing` is what a side counts that is not in view at all.
pub(super) fn weakest_side(pieces: &[Piece], within_px: f64, missing: f64) -> f64 {
    let sides = [Part::NearSide, Part::FarSide, Part::DatumEnd, Part::OtherEnd];
    weakest_of(&sides, pieces, within_px, missing)
}

/// Support of the less supported of the ends in view, 0..1; 1 where neither is.
pub(super) fn weakest_end(pieces: &[Piece], within_px: f64) -> f64 {
    weakest_of(&[Part::DatumEnd, Part::OtherEnd], pieces, within_px, 1.0)
}

fn weakest_of(parts: &[Part], pieces: &[Piece], within_px: f64, missing: f64) -> f64 {
    let support = parts.iter().map(|&part| {
        let (mut held, mut count) = (0.0, 0.0);
        for piece in pieces.iter().filter(|p| p.part == part) {
            held += piece.held(within_px);
            count += 1.0;
        }
        if count > 0.0 { held / count } else { missing }
    });
    support.fold(1.0, f64::min)
}

/// Support with the sign kept within each side, as a share of the outline in view: edges that change sign cancel, 0..1.
pub(super) fn signed_support(pieces: &[Piece], within_px: f64) -> f64 {
    let (mut sums, mut in_view) = ([0.0; 4], 0.0);
    for piece in pieces {
        in_view += piece.length_px;
        sums[piece.part as usize] += piece.length_px * piece.held(within_px) * piece.strength.signum();
    }
    sums.iter().map(|s: &f64| s.abs()).sum::<f64>() / in_view.max(1.0)
}

/// Share of neighbouring pieces whose steps have the same sign at the same place, 0..1.
pub(super) fn coherence(pieces: &[Piece], within_px: f64) -> f64 {
    let (mut same, mut all) = (0.0, 0.0);
    for pair in pieces.windows(2) {
        let [a, b] = pair else { continue };
        if a.part != b.part {
            continue;
        }
        let weight = a.strength.abs().min(b.strength.abs());
        all += weight;
        if a.strength * b.strength > 0.0 && (a.offset_px - b.offset_px).abs() <= within_px {
            same += weight;
        }
    }
    if all > 0.0 { same / all } else { 0.0 }
}

/// Sub-pixel shift of a peak's place from the values beside it (vertex of a parabola), −0.5..0.5 px.
pub(super) fn vertex(values: &[f32], index: usize, peak: f32) -> f64 {
    let value = |i: usize| values.get(i).map(|s| s * peak.signum());
    let (Some(before), Some(here), Some(after)) =
        (index.checked_sub(1).and_then(value), value(index), value(index + 1))
    else {
        return 0.0;
    };
    let curve = before - 2.0 * here + after;
    if curve < 0.0 {
        f64::from((0.5 * (before - after) / curve).clamp(-0.5, 0.5))
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn piece(part: Part, strength: f64, offset_px: f64) -> Piece {
        Piece {
            jacobian: SVector::zeros(),
            part,
            offset_px,
            strength,
            length_px: 10.0,
            axial_m: 0.0,
        }
    }

    #[test]
    fn the_weakest_end_is_that_of_two_in_view_and_none_where_none_is() {
        let sides = [piece(Part::NearSide, 0.1, 0.0), piece(Part::FarSide, 0.9, 0.0)];
        assert!((weakest_end(&sides, 1.0) - 1.0).abs() < 1e-12);
        let mut pieces = sides.to_vec();
        pieces.push(piece(Part::DatumEnd, 0.8, 0.5));
        assert!((weakest_end(&pieces, 1.0) - 0.8).abs() < 1e-12);
        // An edge further off than is allowed is not the end's own; steps count alike whichever way they go.
        pieces.extend([piece(Part::OtherEnd, -0.6, 0.0), piece(Part::OtherEnd, 0.9, 3.0)]);
        assert!((weakest_end(&pieces, 1.0) - 0.3).abs() < 1e-12);
        assert!((weakest_side(&pieces, 1.0, 1.0) - 0.1).abs() < 1e-12);
    }
}
