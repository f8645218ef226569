//! An asset as its row states it, in SI units.

use super::Known;
use crate::heat::insulation::Insulation;
use crate::heat::jacket::Jacket;

/// One row of the asset register.
#[derive(Debug, Clone, PartialEq)]
pub struct Asset {
    /// Unique tag.
    pub tag: String,
    /// Shape and size over the jacket.
    pub shape: Shape,
    /// Insulation material.
    pub insulation: Insulation,
    /// Insulation thickness in m.
    pub insulation_thickness_m: f64,
    /// Dry conductivity stated by the sheet in W/(m K).
    pub stated_conductivity_w_mk: Option<f64>,
    /// Jacket material.
    pub jacket: Jacket,
    /// Emissivity at normal incidence: stated, or the jacket's own.
    pub emissivity: Known<f64>,
    /// What is inside.
    pub service: Service,
    /// Coldest metal temperature over the year's cycle in °C.
    pub coldest_metal_c: f64,
    /// Warmest metal temperature over the year's cycle in °C.
    pub warmest_metal_c: f64,
    /// Indoors or outdoors.
    pub setting: Setting,
    /// Year in which the insulation was put on.
    pub insulated_year: Option<i32>,
    /// Material of the shell.
    pub shell_material: Option<ShellMaterial>,
    /// State of the coating under the insulation.
    pub coating: Option<Coating>,
    /// Whether the metal cycles through freezing in service.
    pub cycling: Option<Cycling>,
    /// Consequence of a leak here, 1 (least) to 5 (most).
    pub consequence: Option<u8>,
    /// Part of the plant where it stands, by which the walk is ordered.
    pub area: Option<String>,
    /// Its tag in earlier surveys, where it was another.
    pub former_tag: Option<String>,
    /// ISO 8601 date since which the datum is the other end, where it was swapped: places of surveys before count from the
    /// other end.
    pub datum_swapped_on: Option<String>,
    /// Row of the sheet, counted as a spreadsheet counts (heading = 1).
    pub row: usize,
}

/// Shape and size of an asset, over the jacket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// Axis level.
    HorizontalCylinder {
        /// Outside diameter over the jacket in m.
        diameter_m: f64,
        /// Tangent line to tangent line in m.
        length_m: f64,
    },
    /// Axis upright.
    VerticalCylinder {
        /// Outside diameter over the jacket in m.
        diameter_m: f64,
        /// Tangent line to tangent line in m.
        length_m: f64,
    },
    /// A plane wall.
    Flat {
        /// Width along the wall in m.
        width_m: f64,
        /// Height in m.
        height_m: f64,
    },
}

/// What the asset holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Service {
    /// Fluid temperature stated, in °C.
    Stated {
        /// Fluid temperature in °C.
        temperature_c: f64,
    },
    /// Saturated ammonia at a stated suction pressure.
    SaturatedAmmonia {
        /// Absolute pressure in kPa.
        absolute_kpa: f64,
        /// Saturation temperature in °C.
        temperature_c: f64,
    },
}

impl Service {
    /// Fluid temperature in °C.
    #[must_use]
    pub fn temperature_c(&self) -> f64 {
        match *self {
            Self::Stated { temperature_c } | Self::SaturatedAmmonia { temperature_c, .. } => temperature_c,
        }
    }
}

/// Indoors or outdoors.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Setting {
    /// Under a roof, between walls.
    Indoor,
    /// Under the sky.
    Outdoor,
}

/// Material of the shell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShellMaterial {
    /// Carbon or low-alloy steel.
    CarbonSteel,
    /// Austenitic stainless steel.
    StainlessSteel,
}

/// State of the coating under the insulation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Coating {
    /// Bare steel.
    None,
    /// Nobody knows.
    Unknown,
    /// Sound when last seen.
    Sound,
    /// Failed when last seen.
    Failed,
}

/// Whether the metal cycles in service (defrost, pump-out).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cycling {
    /// It does.
    Cycles,
    /// It holds steady.
    Steady,
}

impl Setting {
    /// The word the sheet uses.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Indoor => "indoor",
            Self::Outdoor => "outdoor",
        }
    }
}
