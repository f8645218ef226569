//! The true outline where the jacket mirrors its surroundings at grazing angles.
//!
//! Towards the limb a coating's emissivity falls and the jacket shows more and more of what it mirrors. Where the wall behind
//! is about as warm as that, the strongest step lies some hundredths of the radius inside the true outline. So each piece of
//! outline is compared with what a limb looks like, over a row of places of the limb x₀ (px outwards of the present outline):
//!
//! ```text
//! inside   T(x) = a + b·x + A·f(x),  f = 1 − ε(γ)/ε(0),  cos γ = √(1 − (1 − x/ρ)²)      x = px inwards of x₀
//! outside  T(x) = c + d·x
//! ```
//!
//! blurred by the camera; a, b, c, d are each piece's own, A (K, what the mirrored surroundings are warmer) is the picture's.

use ndarray::Array2;

use super::figure::{self, Figure, OutlinePoint, Part, Surface};
use super::pull::{self, Piece};
use super::refine::{self, REACH};
use super::search::Along;
use crate::radiation::fresnel::{self, AngularLaw};
use crate::statistic::dot;

/// Length of outline that decides together, px.
const PIECE_PX: f64 = 20.0;
/// Spacing of outline points, px.
const STEP_PX: f64 = 1.6;
/// Places of the limb that are tried, px outwards, in quarters of a pixel.
const FIRST_PLACE: i32 = -8;
const PLACES: usize = 25;
/// Blur of camera and pixel, standard deviation in px.
const BLUR_PX: f64 = 0.95;
/// Pixels that are compared inside and outside.
const INSIDE_PX: i32 = 14;
const OUTSIDE_PX: i32 = 8;
/// Warmer surroundings tried, K.
const MIRRORED_K: [f32; 15] = [
    -8.0, -5.0, -3.5, -2.5, -1.8, -1.2, -0.6, 0.0, 0.6, 1.2, 1.8, 2.5, 3.5, 5.0, 8.0,
];
/// Unevenness of wall and jacket that a piece's mean keeps, K.
const TEXTURE_K: f32 = 0.02;
/// Radii of curvature towards the camera that templates are made for, as multiples of the vessel's radius.
const CURVATURES: [f64; 4] = [1.0, 1.4, 2.0, 3.0];

/// Moves a fitted round figure to the limb that explains its pieces best.
#[must_use]
pub fn settle(map: &Array2<f32>, noise_k: f64, figure: Figure, along: Along) -> Figure {
    if figure.size.surface == Surface::Plane {
        return figure;
    }
    let radius_px = figure.size.half_width_m * figure.scale_px_m;
    let inside = INSIDE_PX.min((0.6 * radius_px) as i32).max(5);
    let templates: Vec<Template> = CURVATURES
        .iter()
        .map(|c| Template::new(c * radius_px, inside))
        .collect();
    let mut figure = figure;
    let mut mirrored = None;
    for pass in 0..2 {
        let pieces = compare(map, noise_k, &figure, (&templates, inside));
        let (chosen, place) = best_of_all(&pieces);
        let mirrored = *mirrored.get_or_insert(chosen);
        let place = if pass == 0 { Some(place) } else { None };
        let found: Vec<Piece> = pieces.iter().filter_map(|p| p.placed(mirrored, place)).collect();
        figure = pull::moved(figure, &pull::solve(&found, &figure, along, 2.0));
    }
    figure
}

/// What a limb looks like at each quarter of a pixel, with its four free lines made orthonormal for each place.
struct Template {
    /// For each place: four orthonormal vectors over the profile.
    lines: Vec<[[f32; REACH]; 4]>,
    /// For each place: f less what the lines explain of it.
    mirror: Vec<[f32; REACH]>,
}

impl Template {
    fn new(curvature_px: f64, inside: i32) -> Self {
        let (mut lines, mut mirror) = (Vec::with_capacity(PLACES), Vec::with_capacity(PLACES));
        let blurred = Blurred::new(curvature_px);
        let used = (inside + OUTSIDE_PX + 1) as usize;
        for place in 0..PLACES as i32 {
            let mut raw = [[0.0f32; REACH]; 5];
            for (i, offset) in (-inside..=OUTSIDE_PX).enumerate().take(used) {
                let row = blurred.at(FIRST_PLACE + place - 4 * offset);
                for (vector, value) in raw.iter_mut().zip(row) {
                    vector[i] = value;
                }
            }
            let mut basis = [[0.0f32; REACH]; 4];
            for k in 0..4 {
                let mut vector = raw[k];
                for earlier in basis.iter().take(k) {
                    remove(&mut vector, earlier);
                }
                let norm = dot(&vector, &vector).sqrt().max(1e-6);
                basis[k] = vector.map(|x| x / norm);
            }
            let mut rest = raw[4];
            for line in &basis {
                remove(&mut rest, line);
            }
            lines.push(basis);
            mirror.push(rest);
        }
        Self { lines, mirror }
    }
}

fn remove(vector: &mut [f32; REACH], unit: &[f32; REACH]) {
    let share = dot(vector, unit);
    for (v, u) in vector.iter_mut().zip(unit) {
        *v -= share * u;
    }
}

/// The five parts of a limb's profile after the camera's blur, at quarters of a pixel inwards of the limb.
struct Blurred {
    rows: Vec<[f32; 5]>,
}

impl Blurred {
    /// Reach of the table in quarters of a pixel to either side.
    const REACH: i32 = 100;

    fn new(curvature_px: f64) -> Self {
        let sharp: Vec<[f64; 5]> = (-Self::REACH..=Self::REACH)
            .map(|q| sharp_limb(f64::from(q) / 4.0, curvature_px))
            .collect();
        let weights: Vec<f64> = (-12..=12)
            .map(|q| (-0.5 * (f64::from(q) / 4.0 / BLUR_PX).powi(2)).exp())
            .collect();
        let total: f64 = weights.iter().sum();
        let last = sharp.len() - 1;
        let rows = (0..sharp.len())
            .map(|i| {
                let mut sum = [0.0; 5];
                for (k, weight) in weights.iter().enumerate() {
                    let row = &sharp[(i + k).saturating_sub(12).min(last)];
                    for (sum, value) in sum.iter_mut().zip(row) {
                        *sum += weight * value / total;
                    }
                }
                sum.map(|x| x as f32)
            })
            .collect();
        Self { rows }
    }

    fn at(&self, quarter: i32) -> [f32; 5] {
        let index = (quarter + Self::REACH).clamp(0, 2 * Self::REACH) as usize;
        self.rows.get(index).copied().unwrap_or([0.0; 5])
    }
}

/// [inside level, inside slope, outside level, outside slope, f] at `x` px inwards of the limb.
fn sharp_limb(x: f64, curvature_px: f64) -> [f64; 5] {
    let inside = if x > 0.0 {
        1.0
    } else if x == 0.0 {
        0.5
    } else {
        0.0
    };
    // cos γ = √(1 − (1 − x/ρ)²)
    let sine = (1.0 - x.max(0.0) / curvature_px).clamp(0.0, 1.0);
    let angle_deg = sine.asin().to_degrees();
    let mirrored = 1.0 - fresnel::emissivity_ratio(AngularLaw::Coating, angle_deg);
    [
        inside,
        inside * x / 10.0,
        1.0 - inside,
        (1.0 - inside) * x / 10.0,
        inside * mirrored,
    ]
}

/// How badly each place of the limb explains a piece of outline.
struct Compared {
    jacobian: nalgebra::SVector<f64, { pull::FREE }>,
    part: Part,
    length_px: f64,
    axial_m: f64,
    /// For each place: (rest², rest·mirror, mirror²) of the profile less its lines.
    sums: [[f32; 3]; PLACES],
    /// Sum of squares that noise and texture leave.
    floor: f32,
}

impl Compared {
    /// Cost of a place: the logarithm keeps a piece with something in front from having the say.
    fn cost(&self, place: usize, mirrored_k: f32) -> f32 {
        self.odds(place, mirrored_k).ln()
    }

    /// What a cost is the logarithm of.
    fn odds(&self, place: usize, mirrored_k: f32) -> f32 {
        let [rest, joint, mirror] = self.sums[place];
        let left = (rest - 2.0 * mirrored_k * joint + mirrored_k * mirrored_k * mirror).max(0.0);
        1.0 + left / self.floor
    }

    /// The best place near `about` (or near the outline), with how clearly it is the best.
    fn placed(&self, mirrored_k: f32, about: Option<usize>) -> Option<Piece> {
        let near = about.unwrap_or((-FIRST_PLACE) as usize);
        let (from, to) = (near.saturating_sub(8), (near + 8).min(PLACES - 1));
        let costs: Vec<f32> = (from..=to).map(|p| self.cost(p, mirrored_k)).collect();
        let (index, least) = costs.iter().copied().enumerate().min_by(|a, b| a.1.total_cmp(&b.1))?;
        let mean = costs.iter().sum::<f32>() / costs.len() as f32;
        let place = (from + index) as f64 + pull::vertex(&costs, index, -1.0);
        Some(Piece {
            jacobian: self.jacobian,
            part: self.part,
            offset_px: (place + f64::from(FIRST_PLACE)) / 4.0,
            strength: f64::from((mean - least).clamp(0.0, 1.5)).sqrt(),
            length_px: self.length_px,
            axial_m: self.axial_m,
        })
    }
}

/// The surroundings' excess and the common place that explain all pieces best.
fn best_of_all(pieces: &[Compared]) -> (f32, usize) {
    let mut best = (f64::INFINITY, 0.0, (-FIRST_PLACE) as usize);
    for &mirrored in &MIRRORED_K {
        for place in 0..PLACES {
            // One logarithm of the product of sixteen, which double precision holds, in place of sixteen logarithms.
            let some = |some: &[Compared]| {
                some.iter()
                    .map(|p| f64::from(p.odds(place, mirrored)))
                    .product::<f64>()
                    .ln()
            };
            let cost: f64 = pieces.chunks(16).map(some).sum();
            if cost < best.0 {
                best = (cost, mirrored, place);
            }
        }
    }
    (best.1, best.2)
}

fn compare(map: &Array2<f32>, noise_k: f64, figure: &Figure, (templates, inside): (&[Template], i32)) -> Vec<Compared> {
    let outline = figure.outline(STEP_PX);
    let per_piece = (PIECE_PX / STEP_PX).round() as usize;
    figure::pieces(&outline, per_piece)
        .flat_map(|points| compare_piece(map, noise_k, figure, (points, templates, inside)))
        .collect()
}

fn compare_piece(
    map: &Array2<f32>,
    noise_k: f64,
    figure: &Figure,
    (points, templates, inside): (&[OutlinePoint], &[Template], i32),
) -> Option<Compared> {
    let mut means = refine::profile(map, points, (inside, OUTSIDE_PX))?;
    let used = (inside + OUTSIDE_PX + 1) as usize;
    let level = means[inside as usize];
    for (i, mean) in means.iter_mut().enumerate() {
        *mean = if i < used { *mean - level } else { 0.0 };
    }
    let centre = points.get(points.len() / 2)?;
    let template = templates.get(curvature(figure, centre))?;
    let mut sums = [[0.0f32; 3]; PLACES];
    for ((sums, lines), mirror) in sums.iter_mut().zip(&template.lines).zip(&template.mirror) {
        let mut rest = dot(&means, &means);
        for line in lines {
            let share = dot(&means, line);
            rest -= share * share;
        }
        // The mirror is orthogonal to the lines already.
        *sums = [rest, dot(&means, mirror), dot(mirror, mirror)];
    }
    let variance = TEXTURE_K * TEXTURE_K + (noise_k * noise_k / points.len() as f64) as f32;
    Some(Compared {
        jacobian: pull::jacobian(figure, centre),
        part: centre.part,
        length_px: points.len() as f64 * STEP_PX,
        axial_m: centre.axial_m,
        sums,
        floor: variance * (used - 4) as f32,
    })
}

/// Index of the template for a point: the radius of curvature towards the camera is R²/p with p the distance of the
/// head's tangent plane from its centre.
fn curvature(figure: &Figure, point: &OutlinePoint) -> usize {
    if matches!(point.part, Part::NearSide | Part::FarSide) {
        return 0;
    }
    let half = figure.size.half_width_m;
    // Share of the normal across the axis.
    let (sin, cos) = figure.tilt_rad.sin_cos();
    let across = point.normal_v * cos - point.normal_u * sin;
    let along = point.normal_u * cos + point.normal_v * sin;
    let support = (half * across).hypot(figure.head_depth_m * along).max(0.2 * half);
    let ratio = half / support;
    CURVATURES
        .iter()
        .enumerate()
        .min_by(|a, b| (a.1 - ratio).abs().total_cmp(&(b.1 - ratio).abs()))
        .map_or(0, |(index, _)| index)
}
