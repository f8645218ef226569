//! How the jacket is laid out: each pixel's place on the figure, its area, its surface temperature.

use ndarray::Array2;

use super::{Cover, Jacket, STEEPEST_COSINE, inside};
use crate::calibrate::{self, AngleRow, Correct, CorrectionTable};
use crate::locate::View;
use crate::locate::eye::{Eye, Nearness};
use crate::locate::figure::{self, Figure, Surface};

impl Jacket {
    /// Lays out the jacket from an oriented map of apparent temperature (°C).
    #[must_use]
    pub fn lay_out(map: &Array2<f32>, view: &View, correct: &Correct) -> Self {
        let figure = &view.figure;
        let (from, to) = bounds(figure, map.ncols(), map.nrows());
        let size = (to.0.saturating_sub(from.0), to.1.saturating_sub(from.1));
        let cells = size.0 * size.1;
        let mut jacket = Self {
            size,
            origin: from,
            surface_c: vec![f32::NAN; cells],
            share: vec![2.0; cells],
            axial_m: vec![f32::NAN; cells],
            area_m2: vec![0.0; cells],
            cover: vec![Cover::Off; cells],
            scale_px_m: figure.scale_px_m,
            half_width_m: figure.size.half_width_m,
            surface: figure.size.surface,
            eye: view.eye,
        };
        if cells > 0 {
            jacket.fill(map, view, correct);
        }
        jacket
    }

    fn fill(&mut self, map: &Array2<f32>, view: &View, correct: &Correct) {
        let (first, columns) = (self.origin.0, self.size.0);
        let rows = map.outer_iter().skip(self.origin.1).take(self.size.1);
        let rows: Vec<&[f32]> = rows
            .filter_map(|row| row.to_slice()?.get(first..first + columns))
            .collect();
        let (low, high) = rows.iter().fold((f32::MAX, f32::MIN), |(low, high), row| {
            let (a, b) = calibrate::extremes(row);
            (low.min(a), high.max(b))
        });
        if low > high {
            return;
        }
        let table = correct.table(f64::from(low), f64::from(high.min(low + 900.0)));
        let angles = Angles::of(&table, self.surface);
        let way = Way::new(self.origin, columns, view);
        let areas = Areas::of(view);
        let cells = self.share.chunks_mut(columns).zip(self.axial_m.chunks_mut(columns));
        let cells = cells.zip(self.area_m2.chunks_mut(columns));
        let cells = cells.zip(self.surface_c.chunks_mut(columns).zip(self.cover.chunks_mut(columns)));
        for ((row, readings), (((shares, axials), row_m2), (surfaces, covers))) in rows.iter().enumerate().zip(cells) {
            way.place_row(row, shares, axials);
            areas.measure_row(shares, axials, row_m2);
            let on = |share: &f32| *share <= 1.0;
            let (Some(first), Some(last)) = (shares.iter().position(on), shares.iter().rposition(on)) else {
                continue;
            };
            let places = shares.iter().zip(axials.iter());
            let cells = places.zip(surfaces.iter_mut().zip(covers)).zip(readings.iter());
            for (((&share, &axial_m), (surface_c, cover)), &apparent_c) in cells.take(last + 1).skip(first) {
                let read_c = table.surface_c(apparent_c, angles.at(share));
                let is = what_for(way.beyond_m(axial_m) > 0.0, angles.is_steep(share), read_c);
                (*surface_c, *cover) = if share > 1.0 {
                    (f32::NAN, Cover::Off)
                } else {
                    (read_c, is)
                };
            }
        }
    }
}

/// How a figure tapers along its axis, in the precision of a pixel's place; see [`crate::locate::figure`].
#[derive(Debug, Clone, Copy)]
struct Taper {
    /// Taper in 1/m.
    per_m: f32,
    /// Axial place of the figure's anchor in m.
    anchor_m: f32,
}

impl Taper {
    fn of(figure: &Figure) -> Self {
        Self {
            per_m: figure.taper_per_m as f32,
            anchor_m: figure.anchor_axial_m as f32,
        }
    }

    /// Distance from the camera over that of the anchor of a place on the figure; 1 off it, where that is NaN.
    #[inline]
    fn distance(self, axial_m: f32) -> f32 {
        let distance = 1.0 + self.per_m * (axial_m - self.anchor_m);
        if distance.is_nan() { 1.0 } else { distance }
    }

    /// The same of a place that a figure without taper would show so far from the anchor, m.
    #[inline]
    fn distance_shown(self, shown_m: f32) -> f32 {
        1.0 / (1.0 - self.per_m * shown_m).max(figure::NEAREST as f32)
    }
}

/// The way from a pixel of the part to its place on the figure: linear but for the taper, so that its coefficients are taken
/// once.
struct Way<'a> {
    view: &'a View,
    from: (usize, usize),
    /// Axial m from the anchor and share of the half width at the first pixel, and what a column and a row add, without taper.
    origin: (f64, f64),
    right: (f64, f64),
    down: (f64, f64),
    taper: Taper,
    length_m: f32,
    depth_m: f32,
    /// The columns as numbers: counting them would keep a row from being placed many pixels at a time.
    columns: Vec<f32>,
}

impl<'a> Way<'a> {
    fn new(from: (usize, usize), columns: usize, view: &'a View) -> Self {
        let figure = &view.figure;
        let straight = Figure {
            taper_per_m: 0.0,
            anchor_axial_m: 0.0,
            ..*figure
        };
        let at = |column: usize, row: usize| {
            let (axial_m, across_m) = straight.local((from.0 + column) as f64, (from.1 + row) as f64);
            (axial_m, across_m / figure.size.half_width_m)
        };
        let (origin, right, down) = (at(0, 0), at(1, 0), at(0, 1));
        Self {
            view,
            from,
            origin,
            right: (right.0 - origin.0, right.1 - origin.1),
            down: (down.0 - origin.0, down.1 - origin.1),
            taper: Taper::of(figure),
            length_m: figure.size.length_m as f32,
            depth_m: figure.head_depth_m as f32,
            columns: (0..columns).map(|column| column as f32).collect(),
        }
    }

    /// How far beyond the tangent lines a place lies, m; negative between them.
    #[inline]
    fn beyond_m(&self, axial_m: f32) -> f32 {
        (-axial_m).max(axial_m - self.length_m)
    }

    /// Shares of the half width and axial places of a row; off the figure 2 and NaN.
    fn place_row(&self, row: usize, shares: &mut [f32], axials: &mut [f32]) {
        let y = row as f64;
        let start = (self.origin.0 + self.down.0 * y, self.origin.1 + self.down.1 * y);
        // Without branches, so that many pixels are placed at a time.
        let (start, right) = (
            (start.0 as f32, start.1 as f32),
            (self.right.0 as f32, self.right.1 as f32),
        );
        for ((x, share), axial_m) in self.columns.iter().zip(shares.iter_mut()).zip(axials.iter_mut()) {
            let (a, q) = (start.0 + right.0 * x, start.1 + right.1 * x);
            let distance = self.taper.distance_shown(a);
            let (a, q) = (a * distance + self.taper.anchor_m, q * distance);
            let square = 1.0 - q * q;
            let beyond = self.beyond_m(a);
            // Head as half an ellipse: |a beyond| ≤ depth·√(1 − (q/R)²)
            let on = (square >= 0.0) & ((beyond <= 0.0) | (beyond * beyond <= self.depth_m * self.depth_m * square));
            *share = if on { q } else { 2.0 };
            *axial_m = if on { a } else { f32::NAN };
        }
        let Some(polygon) = self.view.by_hand_px.as_deref() else {
            return;
        };
        for (column, (share, axial_m)) in shares.iter_mut().zip(axials).enumerate() {
            let (u, v) = (self.from.0 + column, self.from.1 + row);
            let [x, y] = self.view.orientation.to_image(u as f64, v as f64);
            if !inside(polygon, x, y) {
                (*share, *axial_m) = (2.0, f32::NAN);
            }
        }
    }
}

/// The area of the jacket behind a pixel whose distance from the camera is n times that of the anchor, with the nearness t of
/// its jacket (see [`crate::locate::eye`]) and the viewing angle θ:
///
/// ```text
/// a = a₀ n³ t² / cos θ
/// ```
///
/// for a pixel shows s/n² along the axis and s·w/n across it (see [`crate::locate::figure`]).
struct Areas {
    /// Area in m² of a pixel at the figure's anchor, seen square on from far away.
    pixel_m2: f32,
    taper: Taper,
    nearness: Option<Nearness>,
    /// 1 for a round jacket, 0 for a plane one.
    bend: f32,
}

impl Areas {
    /// Least cosine that is reckoned with.
    const LEAST_COSINE: f32 = 0.2;

    fn of(view: &View) -> Self {
        let figure = &view.figure;
        Self {
            // The stretch is the limb's, which an eye accounts for itself with its nearness.
            pixel_m2: (1.0 / (figure.scale_px_m.powi(2) * view.eye.map_or(figure.stretch, |_| 1.0))) as f32,
            taper: Taper::of(figure),
            nearness: view.eye.as_ref().map(Eye::nearness),
            bend: match figure.size.surface {
                Surface::Round => 1.0,
                Surface::Plane => 0.0,
            },
        }
    }

    /// Areas in m² of the pixels of a row; without branches, so that many are measured at a time.
    fn measure_row(&self, shares: &[f32], axials: &[f32], row_m2: &mut [f32]) {
        match self.nearness {
            None => self.measure(shares, axials, row_m2, |_| 1.0),
            Some(nearness) => self.measure(shares, axials, row_m2, |share| nearness.at(share)),
        }
    }

    #[inline]
    fn measure(&self, shares: &[f32], axials: &[f32], row_m2: &mut [f32], nearness: impl Fn(f32) -> f32) {
        for ((area_m2, &share), &axial_m) in row_m2.iter_mut().zip(shares).zip(axials) {
            let square = (1.0 - self.bend * share * share).max(Self::LEAST_COSINE * Self::LEAST_COSINE);
            // What lies off the figure has the area of its edge.
            let (distance, near) = (self.taper.distance(axial_m), nearness(share.clamp(-1.0, 1.0)));
            *area_m2 = self.pixel_m2 * distance * distance * distance * near * near / square.sqrt();
        }
    }
}

/// The angles of a correction table by the share of the half width.
struct Angles {
    rows: [AngleRow; Self::STEPS + 1],
    /// Share beyond which the jacket is seen too steeply.
    steepest: f32,
}

impl Angles {
    /// Steps of the share from 0 to 1: where the angle still counts, one is less than a fifth of a step of the table.
    const STEPS: usize = 512;

    fn of(table: &CorrectionTable, surface: Surface) -> Self {
        let cosine = |step: usize| match surface {
            Surface::Round => (1.0 - (step as f64 / Self::STEPS as f64).powi(2)).sqrt(),
            Surface::Plane => 1.0,
        };
        Self {
            rows: std::array::from_fn(|step| table.row(cosine(step))),
            steepest: match surface {
                Surface::Round => (1.0 - STEEPEST_COSINE * STEEPEST_COSINE).sqrt(),
                Surface::Plane => f32::INFINITY,
            },
        }
    }

    #[inline]
    fn at(&self, share: f32) -> AngleRow {
        let step = (share.abs() * Self::STEPS as f32 + 0.5) as u16;
        self.rows[usize::from(step).min(Self::STEPS)]
    }

    #[inline]
    fn is_steep(&self, share: f32) -> bool {
        share.abs() > self.steepest
    }
}

/// What a pixel on the figure is good for, before anything in front is known.
#[inline]
fn what_for(on_head: bool, steep: bool, surface_c: f32) -> Cover {
    if on_head {
        Cover::Head
    } else if steep {
        Cover::Steep
    } else if surface_c.is_finite() {
        Cover::Usable
    } else {
        Cover::Blank
    }
}

/// First and one-past-last oriented pixel of the figure in the picture.
fn bounds(figure: &Figure, columns: usize, rows: usize) -> ((usize, usize), (usize, usize)) {
    let (mut low, mut high) = ((f64::MAX, f64::MAX), (f64::MIN, f64::MIN));
    for point in figure.outline(4.0) {
        low = (low.0.min(point.u), low.1.min(point.v));
        high = (high.0.max(point.u), high.1.max(point.v));
    }
    let first = |x: f64, n: usize| (x - 3.0).floor().clamp(0.0, n as f64) as usize;
    let last = |x: f64, n: usize| (x + 4.0).ceil().clamp(0.0, n as f64) as usize;
    (
        (first(low.0, columns), first(low.1, rows)),
        (last(high.0, columns), last(high.1, rows)),
    )
}
