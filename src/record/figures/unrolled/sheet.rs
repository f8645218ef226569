//! How places on the asset become places on the developed surface.
//!
//! Along: metres from the datum. About: metres round the girth from the cut, as the drawing counts them. The cut of a
//! horizontal cylinder lies on top (12 o'clock), that of a vertical one at north; where no frame says what it faces, the
//! middle is the line that faces the camera and the cut lies opposite. A wall is shown from the front.

use super::{Input, is_facing_known};
use crate::inspect::FrameReport;
use crate::locate::eye::OnJacket;
use crate::rank::place;
use crate::register::{Shape, Side};

/// Largest width and height of the drawn surface.
const WIDTH: f64 = 660.0;
const HEIGHT: f64 = 430.0;
/// Height of a vertical vessel's surface.
const TALL: f64 = 560.0;
/// Room for the ticks: left, top, right.
const LEFT: f64 = 78.0;
const TOP: f64 = 26.0;
const RIGHT: f64 = 30.0;
/// Room between strips.
const GAP: f64 = 34.0;
/// Most strips; a longer run gets longer ones.
const MOST_STRIPS: f64 = 12.0;
/// Length of a strip over its girth, at most.
const LONGEST: f64 = 9.0;

/// A strip of the surface: its stretch along the asset and its corner in the drawing.
#[derive(Debug, Clone, Copy)]
pub(super) struct Strip {
    pub(super) from_m: f64,
    pub(super) to_m: f64,
    corner: [f64; 2],
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Lie {
    /// Along runs to the right.
    Level,
    /// Along runs to the left: a wall whose datum lies at the right.
    Mirrored,
    /// Along runs up.
    Upright,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Round {
    /// Clock angle from the top.
    Clock,
    /// Bearing from north, falling to the right.
    Bearing,
    /// Degrees from the line facing the camera.
    Facing,
    /// No girth: a wall.
    Wall,
}

/// The developed surface.
#[derive(Debug)]
pub(super) struct Sheet {
    pub(super) strips: Vec<Strip>,
    pub(super) girth_m: f64,
    length_m: f64,
    pub(super) scale: f64,
    pub(super) lie: Lie,
    pub(super) round: Round,
}

impl Sheet {
    /// Length along and girth (or height) of a shape in m.
    pub(super) fn size(shape: &Shape) -> (f64, f64) {
        match *shape {
            Shape::HorizontalCylinder { diameter_m, length_m } | Shape::VerticalCylinder { diameter_m, length_m } => {
                (length_m, std::f64::consts::PI * diameter_m)
            }
            Shape::Flat { width_m, height_m } => (width_m, height_m),
        }
    }

    pub(super) fn of(input: &Input) -> Self {
        let shape = &input.register.assets[input.asset].shape;
        let (length_m, girth_m) = Self::size(shape);
        let known = is_facing_known(input);
        let (lie, round) = match shape {
            Shape::HorizontalCylinder { .. } if known => (Lie::Level, Round::Clock),
            Shape::HorizontalCylinder { .. } => (Lie::Level, Round::Facing),
            Shape::VerticalCylinder { .. } if known => (Lie::Upright, Round::Bearing),
            Shape::VerticalCylinder { .. } => (Lie::Upright, Round::Facing),
            Shape::Flat { .. } if is_datum_right(input) => (Lie::Mirrored, Round::Wall),
            Shape::Flat { .. } => (Lie::Level, Round::Wall),
        };
        let mut sheet = Self {
            strips: Vec::new(),
            girth_m,
            length_m,
            scale: 1.0,
            lie,
            round,
        };
        sheet.lay_strips();
        sheet
    }

    fn lay_strips(&mut self) {
        let count = (self.length_m / (LONGEST * self.girth_m))
            .ceil()
            .clamp(1.0, MOST_STRIPS);
        let strip_m = self.length_m / count;
        let gap = if self.lie == Lie::Upright { GAP + LEFT } else { GAP };
        self.scale = match self.lie {
            Lie::Level | Lie::Mirrored => {
                let by_height = (2.0 * HEIGHT - (count - 1.0) * gap).max(HEIGHT) / count / self.girth_m;
                (WIDTH / strip_m).min(if count > 1.0 { by_height } else { HEIGHT / self.girth_m })
            }
            Lie::Upright => {
                let by_width = ((WIDTH - (count - 1.0) * gap).max(WIDTH / 2.0) / count) / self.girth_m;
                (TALL / strip_m).min(by_width)
            }
        };
        for index in 0..count as usize {
            let from_m = index as f64 * strip_m;
            let to_m = from_m + strip_m;
            let offset = index as f64 * (self.girth_m * self.scale + gap);
            let corner = match self.lie {
                Lie::Level | Lie::Mirrored => [LEFT, TOP + offset],
                Lie::Upright => [LEFT + offset, TOP],
            };
            self.strips.push(Strip { from_m, to_m, corner });
        }
    }

    fn strip_m(&self) -> f64 {
        self.strips.first().map_or(self.length_m, |s| s.to_m - s.from_m)
    }

    pub(super) fn width(&self) -> f64 {
        let right = (0..self.strips.len()).map(|strip| {
            let [x, _, w, _] = self.area(strip);
            x + w
        });
        (right.fold(0.0, f64::max) + RIGHT).max(LEFT + WIDTH + RIGHT)
    }

    pub(super) fn height(&self) -> f64 {
        let bottom = (0..self.strips.len()).map(|strip| {
            let [_, y, _, h] = self.area(strip);
            y + h
        });
        let below = match self.lie {
            Lie::Upright => 22.0,
            Lie::Level | Lie::Mirrored => 6.0,
        };
        bottom.fold(0.0, f64::max) + below
    }

    /// Rectangle of a strip in the drawing.
    pub(super) fn area(&self, strip: usize) -> [f64; 4] {
        let Some(one) = self.strips.get(strip) else {
            return [0.0; 4];
        };
        let (along, about) = ((one.to_m - one.from_m) * self.scale, self.girth_m * self.scale);
        match self.lie {
            Lie::Level | Lie::Mirrored => [one.corner[0], one.corner[1], along, about],
            Lie::Upright => [one.corner[0], one.corner[1], about, along],
        }
    }

    /// Drawn length of a strip.
    pub(super) fn along_length(&self, _strip: usize) -> f64 {
        self.strip_m() * self.scale
    }

    /// Drawing place of a place in a strip.
    pub(super) fn at(&self, strip: usize, axial_m: f64, about_m: f64) -> [f64; 2] {
        let Some(one) = self.strips.get(strip) else {
            return [0.0; 2];
        };
        let [x, y] = one.corner;
        match self.lie {
            Lie::Level => [x + (axial_m - one.from_m) * self.scale, y + about_m * self.scale],
            Lie::Mirrored => [x + (one.to_m - axial_m) * self.scale, y + about_m * self.scale],
            Lie::Upright => [x + about_m * self.scale, y + (one.to_m - axial_m) * self.scale],
        }
    }

    /// Half the drawn width and height of a ring in m.
    pub(super) fn half_size(&self, ring: &[[f64; 2]]) -> [f64; 2] {
        let drawn = |axis: usize| {
            let values = ring.iter().map(|p| p[axis]);
            let (low, high) = values.fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(v), high.max(v)));
            (high - low).max(0.0) / 2.0 * self.scale
        };
        match self.lie {
            Lie::Level | Lie::Mirrored => [drawn(0), drawn(1)],
            Lie::Upright => [drawn(1), drawn(0)],
        }
    }

    /// Drawing place of a place, in the strip that holds it; None beyond the tangent lines by more than a tenth.
    pub(super) fn place(&self, [axial_m, about_m]: [f64; 2]) -> Option<[f64; 2]> {
        let room = 0.1 * self.length_m;
        if !(-room..=self.length_m + room).contains(&axial_m) {
            return None;
        }
        let strip = self
            .strips
            .iter()
            .position(|s| axial_m <= s.to_m)
            .unwrap_or(self.strips.len().saturating_sub(1));
        let about_m = match self.round {
            Round::Wall => about_m.clamp(0.0, self.girth_m),
            _ => about_m.rem_euclid(self.girth_m),
        };
        Some(self.at(strip, axial_m.clamp(0.0, self.length_m), about_m))
    }

    /// Rectangle of a stretch along and about (as coverage counts it, from 0° or from the top) in a strip.
    pub(super) fn rect(&self, strip: usize, [from_m, to_m]: [f64; 2], [low_m, high_m]: [f64; 2]) -> Option<[f64; 4]> {
        let one = self.strips.get(strip)?;
        let (from_m, to_m) = (from_m.max(one.from_m), to_m.min(one.to_m));
        if to_m <= from_m {
            return None;
        }
        let middle = self.about_of_turn((low_m + high_m) / 2.0);
        let half = (high_m - low_m) / 2.0;
        let (a, b) = (
            self.at(strip, from_m, middle - half),
            self.at(strip, to_m, middle + half),
        );
        Some([a[0].min(b[0]), a[1].min(b[1]), (a[0] - b[0]).abs(), (a[1] - b[1]).abs()])
    }

    /// Place about of a distance round the girth from 0°.
    fn about_of_turn(&self, turn_m: f64) -> f64 {
        match self.round {
            Round::Clock | Round::Wall => turn_m,
            Round::Bearing => (self.girth_m - turn_m).rem_euclid(self.girth_m),
            Round::Facing => (turn_m + self.girth_m / 2.0).rem_euclid(self.girth_m),
        }
    }

    /// Place about of degrees on the asset, or of a height on a wall.
    pub(super) fn about_of(&self, absolute_deg: Option<f64>, height_m: Option<f64>) -> Option<f64> {
        match self.round {
            Round::Wall => height_m.map(|height_m| self.girth_m - height_m),
            _ => absolute_deg.map(|deg| self.about_of_turn(deg.rem_euclid(360.0) / 360.0 * self.girth_m)),
        }
    }

    /// A frame's outline on the developed surface: (along m, about m), not folded at the cut.
    pub(super) fn ring(&self, input: &Input, report: &FrameReport, outline_px: &[[f64; 2]]) -> Option<Vec<[f64; 2]>> {
        let view = report.view.as_ref()?;
        let row = input.register.frames.get(report.frame)?;
        let shape = &input.register.assets[input.asset].shape;
        let half_m = view.figure.size.half_width_m;
        let facing = place::facing(shape, &row.view);
        let mut ring: Vec<[f64; 2]> = Vec::with_capacity(outline_px.len());
        for &[x, y] in outline_px {
            let (u, v) = view.orientation.from_image(x, y);
            let OnJacket { axial_m, share, .. } = view.on_jacket(u, v);
            let about_m = if self.round == Round::Wall {
                share * half_m + half_m
            } else {
                let angle_deg = share.clamp(-1.0, 1.0).asin().to_degrees();
                let absolute = facing.map_or(angle_deg, |f| f.facing_deg + f.sense * angle_deg);
                self.about_of(Some(absolute), None)?
            };
            // Neighbours on an outline are near: a leap of half the girth is the cut.
            let before = ring.last().map_or(about_m, |last| last[1]);
            let turns = if self.round == Round::Wall {
                0.0
            } else {
                ((before - about_m) / self.girth_m).round()
            };
            ring.push([axial_m, about_m + turns * self.girth_m]);
        }
        Some(thinned(ring, 0.4 / self.scale))
    }

    /// Turns about the girth at which a ring may show.
    pub(super) fn turns(&self) -> Vec<f64> {
        match self.round {
            Round::Wall => vec![0.0],
            _ => vec![-self.girth_m, 0.0, self.girth_m],
        }
    }

    /// Whether a ring (in m) reaches into a strip.
    pub(super) fn touches(&self, strip: usize, ring: &[[f64; 2]]) -> bool {
        let Some(one) = self.strips.get(strip) else {
            return false;
        };
        let range = |axis: usize| {
            ring.iter()
                .map(|p| p[axis])
                .fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(v), high.max(v)))
        };
        let ((from, to), (top, bottom)) = (range(0), range(1));
        to >= one.from_m && from <= one.to_m && bottom >= 0.0 && top <= self.girth_m
    }

    /// Place about of the side at which metres are ticked.
    pub(super) fn tick_side_m(&self) -> f64 {
        0.0
    }

    /// Direction away from the surface at that side.
    pub(super) fn outward(&self) -> (f64, f64) {
        match self.lie {
            Lie::Level | Lie::Mirrored => (0.0, -1.0),
            Lie::Upright => (-1.0, 0.0),
        }
    }

    /// End of a tick about, and place and anchor of its text.
    pub(super) fn about_tick(&self, [x, y]: [f64; 2]) -> ([f64; 2], [f64; 2], &'static str) {
        match self.lie {
            Lie::Level => ([x - 4.0, y], [x - 7.0, y + 4.0], "end"),
            Lie::Mirrored => ([x + 4.0, y], [x + 7.0, y + 4.0], "start"),
            Lie::Upright => ([x, y + 4.0], [x, y + 16.0], "middle"),
        }
    }
}

/// Whether the frames of a wall have the datum at their right.
fn is_datum_right(input: &Input) -> bool {
    let rows = input
        .frames
        .iter()
        .filter_map(|report| input.register.frames.get(report.frame));
    let mut sides = rows.map(|row| row.view.datum_side);
    sides.next().flatten() == Some(Side::Right)
}

/// A ring without points that lie nearer than `least_m` to the one before.
fn thinned(ring: Vec<[f64; 2]>, least_m: f64) -> Vec<[f64; 2]> {
    let mut kept: Vec<[f64; 2]> = Vec::with_capacity(ring.len());
    for point in ring {
        let near = kept
            .last()
            .is_some_and(|last| (last[0] - point[0]).hypot(last[1] - point[1]) < least_m);
        if !near {
            kept.push(point);
        }
    }
    kept
}
