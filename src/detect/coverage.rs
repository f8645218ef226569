//! Which parts of the asset a frame shows, on a grid of the developed jacket that all frames of the asset share, so that
//! each square metre counts once however often it was seen.

mod flags;

use flags::Flags;

use crate::detect::jacket::{Cover, Jacket};
use crate::locate::View;
use crate::locate::figure::{Figure, Surface};
use crate::register::Shape;

/// Cell along the axis or wall in m, and round the girth in degrees.
const CELL_M: f64 = 0.05;
const CELL_DEG: f64 = 5.0;

/// The developed jacket in cells, each seen or not.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Coverage {
    along: usize,
    about: usize,
    cell_m2: f64,
    total_m2: f64,
    viewed: Flags,
    usable: Flags,
}

/// What was seen of a part of the jacket.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seen {
    /// Well enough to be judged.
    Usefully,
    /// In view, but something stands in front or there is no reading.
    Hidden,
    /// In no frame at less than 60°.
    Not,
}

/// How an angle in the picture becomes an angle on the asset: `absolute = facing + sense · angle`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Facing {
    /// Angle on the asset that faces the camera in degrees.
    pub facing_deg: f64,
    /// +1 or −1.
    pub sense: f64,
}

impl Coverage {
    /// Nothing seen yet of an asset.
    #[must_use]
    pub fn nothing(shape: &Shape) -> Self {
        let (length_m, girth_m, about) = match *shape {
            Shape::HorizontalCylinder { diameter_m, length_m } | Shape::VerticalCylinder { diameter_m, length_m } => {
                (length_m, std::f64::consts::PI * diameter_m, (360.0 / CELL_DEG) as usize)
            }
            Shape::Flat { width_m, height_m } => (
                width_m,
                height_m,
                (height_m / CELL_M).ceil().clamp(1.0, 4000.0) as usize,
            ),
        };
        let along = (length_m / CELL_M).ceil().clamp(1.0, 4000.0) as usize;
        let total_m2 = length_m * girth_m;
        let cells = along * about;
        Self {
            along,
            about,
            cell_m2: total_m2 / cells as f64,
            total_m2,
            viewed: Flags::none(cells),
            usable: Flags::none(cells),
        }
    }

    /// Whether this is the grid of an asset of such a shape.
    #[must_use]
    pub fn is_of(&self, shape: &Shape) -> bool {
        let own = Self::nothing(shape);
        let sizes = |of: &Self| (of.along, of.about, of.viewed.len(), of.usable.len());
        sizes(self) == sizes(&own)
    }

    /// Marks what a frame shows.
    pub fn add(&mut self, jacket: &Jacket, view: &View, facing: Facing) {
        let figure = &view.figure;
        for i in 0..self.along {
            let axial_m = (i as f64 + 0.5) / self.along as f64 * figure.size.length_m;
            for j in 0..self.about {
                let Some(across_m) = self.across_m(j, figure, facing) else {
                    continue;
                };
                let (u, v) = view.pixel(axial_m, across_m / figure.size.half_width_m);
                let cell = i * self.about + j;
                match jacket.cover_at(u, v) {
                    Some(Cover::Usable) => {
                        self.viewed.set(cell);
                        self.usable.set(cell);
                    }
                    Some(cover) if cover.is_covered() => self.viewed.set(cell),
                    _ => {}
                }
            }
        }
    }

    /// Distance from the axis in the picture of a column of cells, where it is seen at less than 60°.
    fn across_m(&self, j: usize, figure: &Figure, facing: Facing) -> Option<f64> {
        let half = figure.size.half_width_m;
        match figure.size.surface {
            Surface::Plane => Some(((j as f64 + 0.5) / self.about as f64 * 2.0 - 1.0) * half),
            Surface::Round => {
                let absolute = (j as f64 + 0.5) * CELL_DEG;
                let turned = (absolute - facing.facing_deg) * facing.sense;
                let angle = (turned + 180.0).rem_euclid(360.0) - 180.0;
                (angle.abs() < 60.0).then(|| half * angle.to_radians().sin())
            }
        }
    }

    /// Joins what another set of frames shows of the same asset.
    pub fn join(&mut self, other: &Self) {
        self.viewed.join(&other.viewed);
        self.usable.join(&other.usable);
    }

    /// Cells along the axis or wall, and round the girth or down the wall: both from 0, evenly over the developed jacket.
    #[must_use]
    pub fn cells(&self) -> (usize, usize) {
        (self.along, self.about)
    }

    /// What was seen of a cell.
    #[must_use]
    pub fn seen(&self, along: usize, about: usize) -> Seen {
        let cell = along * self.about + about;
        let is = |flags: &Flags| about < self.about && flags.is_set(cell);
        match (is(&self.usable), is(&self.viewed)) {
            (true, _) => Seen::Usefully,
            (false, true) => Seen::Hidden,
            (false, false) => Seen::Not,
        }
    }

    /// Jacket between the tangent lines in m².
    #[must_use]
    pub fn total_m2(&self) -> f64 {
        self.total_m2
    }

    /// Part in view at less than 60° in any frame, in m².
    #[must_use]
    pub fn viewed_m2(&self) -> f64 {
        self.viewed.set_count() as f64 * self.cell_m2
    }

    /// Part usefully seen in any frame, in m².
    #[must_use]
    pub fn usable_m2(&self) -> f64 {
        self.usable.set_count() as f64 * self.cell_m2
    }
}
