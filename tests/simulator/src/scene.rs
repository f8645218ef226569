//! What stands before the camera: the vessel, its faults, its surroundings and the camera itself.

mod fixture;
mod surroundings;

pub use fixture::{Fixture, Layer, NozzleState};
pub use surroundings::{Background, Camera, Conditions, DatumSide};

use serde::Serialize;

/// How the insulated asset stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Posture {
    /// Axis level.
    HorizontalCylinder,
    /// Axis upright; axial places count from the bottom tangent line.
    VerticalCylinder,
    /// A wall; axial places count from its datum edge, heights from its bottom edge.
    Flat,
}

/// Form of both ends of a cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Head {
    /// Half an ellipsoid, depth a quarter of the diameter.
    Elliptical,
    /// Half a sphere.
    Hemispherical,
    /// As shallow as a torispherical head: depth 0.194 of the diameter, drawn as an ellipsoid.
    Torispherical,
    /// A flat end.
    Flat,
}

impl Head {
    /// Depth of the head over its radius.
    pub fn depth_to_radius(self) -> f64 {
        match self {
            Self::Elliptical => 0.5,
            Self::Hemispherical => 1.0,
            Self::Torispherical => 0.388,
            Self::Flat => 0.0,
        }
    }
}

/// Thermal conductivity of the dry insulation, linear in temperature.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct Conductivity {
    /// Value at 24 °C, W/(m K).
    pub at_24c_w_mk: f64,
    /// Relative rise per kelvin, 1/K.
    pub slope_per_k: f64,
}

impl Conductivity {
    /// λ(T) = λ₂₄ [1 + b (T − 24 °C)], W/(m K).
    pub fn at_c(&self, temperature_c: f64) -> f64 {
        self.at_24c_w_mk * (1.0 + self.slope_per_k * (temperature_c - 24.0))
    }
}

/// The thin outer skin.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct Jacket {
    /// Emissivity along the normal.
    pub emissivity: f64,
    /// Conductivity times thickness of the sheet, W/K: about 1e-4 (plastic) to 0.1 (aluminium).
    pub in_plane_w_k: f64,
}

/// The insulated asset.
#[derive(Debug, Clone, Serialize)]
pub struct Vessel {
    /// How it stands.
    pub posture: Posture,
    /// Diameter over the jacket, m (cylinders).
    pub diameter_m: f64,
    /// Tangent line to tangent line, or width of a flat, m.
    pub length_m: f64,
    /// Height of a flat, m (ignored for cylinders).
    pub height_m: f64,
    /// Form of the ends (ignored for flats).
    pub head: Head,
    /// Insulation thickness, m.
    pub insulation_thickness_m: f64,
    /// Dry insulation.
    pub conductivity: Conductivity,
    /// Outer skin.
    pub jacket: Jacket,
    /// Conductivity of the whole insulation over dry (1 = dry): wet all over.
    pub overall_ratio: f64,
    /// Relative amplitude of a slow unevenness of the dry insulation (0.02 is good workmanship).
    pub unevenness: f64,
}

/// Outline of a wet patch on the unrolled jacket.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PatchShape {
    /// An ellipse with the two half-widths.
    Ellipse,
    /// A rectangle with corners rounded to 0.35 of the smaller half-width.
    RoundedRectangle,
    /// An ellipse with an irregular edge; the phases turn its bulges.
    Blob {
        /// Phase of the three-lobed part, rad.
        phase_three: f64,
        /// Phase of the five-lobed part, rad.
        phase_five: f64,
    },
}

/// Where in the thickness the water sits.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Depth {
    /// Through the whole thickness.
    Through,
    /// Only the given share next to the jacket is wet.
    OuterShare(f64),
    /// Only the given share next to the metal is wet.
    InnerShare(f64),
}

/// A place where the insulation conducts better than dry.
#[derive(Debug, Clone, Serialize)]
pub struct Patch {
    /// Centre along the axis from the datum tangent line, m.
    pub axial_m: f64,
    /// Centre round the axis from the facing line, degrees (cylinders).
    pub angle_deg: f64,
    /// Centre above the bottom edge, m (flats only).
    pub height_m: f64,
    /// Half-width along the axis, m.
    pub half_length_m: f64,
    /// Half-width round the jacket, m of arc.
    pub half_arc_m: f64,
    /// Outline.
    pub shape: PatchShape,
    /// Local conductivity over dry where it is wet.
    pub ratio: f64,
    /// Width over which the wetness fades at the outline, m.
    pub soft_edge_m: f64,
    /// Where in the thickness it is wet.
    pub depth: Depth,
}

impl Patch {
    /// A patch through the whole thickness with an elliptical outline and a 40 mm edge.
    pub fn ellipse(axial_m: f64, angle_deg: f64, half_widths_m: (f64, f64), ratio: f64) -> Self {
        Self {
            axial_m,
            angle_deg,
            height_m: 0.0,
            half_length_m: half_widths_m.0,
            half_arc_m: half_widths_m.1,
            shape: PatchShape::Ellipse,
            ratio,
            soft_edge_m: 0.04,
            depth: Depth::Through,
        }
    }
}

/// A level of boiling liquid inside a vertical vessel: the metal above it is warmer.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct LiquidLevel {
    /// Level above the bottom tangent line, m.
    pub axial_m: f64,
    /// Metal above the level minus metal below, K.
    pub vapour_warmer_k: f64,
}

/// Cells of the conduction grid.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct Grid {
    /// Through the thickness.
    pub radial: usize,
    /// Round the whole circumference (cylinders) or over the height (flats).
    pub round: usize,
    /// Along the meridian from pole to pole, or over the width.
    pub along: usize,
}

impl Default for Grid {
    fn default() -> Self {
        Self {
            radial: 10,
            round: 120,
            along: 160,
        }
    }
}

/// Everything a picture depends on but the noise, which comes from the seed.
#[derive(Debug, Clone, Serialize)]
pub struct Scene {
    /// The insulated asset.
    pub vessel: Vessel,
    /// Temperature of the metal under the insulation, °C.
    pub service_c: f64,
    /// A liquid level inside, if it shows.
    pub liquid_level: Option<LiquidLevel>,
    /// Air, radiant surroundings, wind.
    pub conditions: Conditions,
    /// Wet places.
    pub patches: Vec<Patch>,
    /// Supports, nozzles, pipes, plates and bands.
    pub fixtures: Vec<Fixture>,
    /// What is seen beside the asset.
    pub background: Background,
    /// The camera.
    pub camera: Camera,
    /// The conduction grid.
    pub grid: Grid,
}

impl Scene {
    /// A plain horizontal vessel: 1.6 m × 3.6 m, 100 mm of insulation, −33 °C inside, 20 °C air.
    pub fn plain_horizontal() -> Self {
        Self {
            vessel: Vessel {
                posture: Posture::HorizontalCylinder,
                diameter_m: 1.6,
                length_m: 3.6,
                height_m: 0.0,
                head: Head::Elliptical,
                insulation_thickness_m: 0.1,
                conductivity: Conductivity {
                    at_24c_w_mk: 0.0235,
                    slope_per_k: 0.0018,
                },
                jacket: Jacket {
                    emissivity: 0.9,
                    in_plane_w_k: 1e-4,
                },
                overall_ratio: 1.0,
                unevenness: 0.0,
            },
            service_c: -33.0,
            liquid_level: None,
            conditions: Conditions::indoor(20.0, 50.0),
            patches: Vec::new(),
            fixtures: Vec::new(),
            background: Background::plain(19.0),
            camera: Camera::facing(320, 240, 60.0, (1.8, 0.0)),
            grid: Grid::default(),
        }
    }

    /// A plain vertical vessel of the same make, seen upright.
    pub fn plain_vertical() -> Self {
        let mut scene = Self::plain_horizontal();
        scene.vessel.posture = Posture::VerticalCylinder;
        scene.vessel.length_m = 2.6;
        scene.camera = Camera::facing(240, 320, 70.0, (1.3, 0.0));
        scene.camera.datum_side = DatumSide::Bottom;
        scene
    }

    /// A plain cold wall, 4 m wide and 3 m high.
    pub fn plain_flat() -> Self {
        let mut scene = Self::plain_horizontal();
        scene.vessel.posture = Posture::Flat;
        scene.vessel.length_m = 4.0;
        scene.vessel.height_m = 3.0;
        scene.camera = Camera::facing(320, 240, 70.0, (2.0, 1.5));
        scene
    }

    /// The same scene with no wet patch: what the truth measures contrast against.
    pub fn without_patches(&self) -> Self {
        let mut scene = self.clone();
        scene.patches.clear();
        scene
    }
}
