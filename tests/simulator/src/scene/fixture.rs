//! Things fixed to the asset or standing before it.

use serde::Serialize;

/// Whether a thing hides the asset or stands behind it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Layer {
    /// In front: it hides jacket.
    Front,
    /// Behind: the asset hides it.
    Behind,
}

/// What covers a nozzle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum NozzleState {
    /// Bare metal grown white with frost: a few degrees below freezing, or near service when that is warmer.
    Frosted,
    /// Bare metal without frost, half way between the service and the air.
    Bare,
    /// Insulated: near the jacket's temperature.
    Insulated,
}

/// A thing that is not sound jacket. Places: `axial_m` from the datum tangent line, `across_m` from the axis (towards
/// the image's bottom for horizontal, right for vertical vessels) or, on a flat, above its bottom edge.
#[derive(Debug, Clone, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum Fixture {
    /// A saddle under a horizontal vessel.
    Saddle {
        /// Centre, m.
        axial_m: f64,
        /// Width along the axis, m.
        width_m: f64,
    },
    /// A leg of a vertical vessel, lapping 0.3 m over the shell.
    Leg {
        /// Centre across, m.
        across_m: f64,
        /// Width, m.
        width_m: f64,
    },
    /// A skirt under a vertical vessel.
    Skirt {
        /// Height below the bottom tangent line, m.
        height_m: f64,
    },
    /// A nozzle with a flange.
    Nozzle {
        /// Centre, m.
        axial_m: f64,
        /// Angle from the facing line, degrees.
        angle_deg: f64,
        /// Outside diameter, m.
        diameter_m: f64,
        /// Projection from the jacket, m.
        projection_m: f64,
        /// Cover.
        state: NozzleState,
    },
    /// A pipe across the picture, between two points (axial, across).
    Pipe {
        /// One end, m.
        from_m: (f64, f64),
        /// Other end, m.
        to_m: (f64, f64),
        /// Outside diameter, m.
        diameter_m: f64,
        /// Apparent temperature, °C.
        apparent_c: f64,
        /// Before or behind the asset.
        layer: Layer,
    },
    /// A ladder before the asset: two rails and rungs every 0.3 m.
    Ladder {
        /// Middle of the ladder: across (vertical) or axial (horizontal), m.
        middle_m: f64,
        /// Between the rails, m.
        width_m: f64,
        /// Apparent temperature, °C.
        apparent_c: f64,
    },
    /// A bare nameplate on a stand-off bracket through the insulation.
    Nameplate {
        /// Centre, m.
        axial_m: f64,
        /// Angle, degrees.
        angle_deg: f64,
        /// Size along the axis and round it, m.
        size_m: (f64, f64),
    },
    /// A band or seam round the jacket.
    Band {
        /// Centre, m.
        axial_m: f64,
        /// Width, m.
        width_m: f64,
        /// Emissivity along the normal.
        emissivity: f64,
    },
    /// A lap of the jacket sheet along the asset.
    Seam {
        /// Angle, degrees (on a flat: height, m).
        angle_deg: f64,
        /// Width round the jacket, m.
        width_m: f64,
        /// Emissivity along the normal.
        emissivity: f64,
    },
    /// A plugged inspection port.
    InspectionPort {
        /// Centre, m.
        axial_m: f64,
        /// Angle, degrees.
        angle_deg: f64,
        /// Diameter, m.
        diameter_m: f64,
    },
    /// A hanger on a pipe run: strap and rod.
    Hanger {
        /// Centre, m.
        axial_m: f64,
        /// Width of the strap, m.
        width_m: f64,
    },
    /// An upright level column beside or before the vessel.
    LevelColumn {
        /// Lower and upper tapping: axial (vertical vessel) or across (horizontal), m.
        span_m: (f64, f64),
        /// Place across (vertical) or along (horizontal), m.
        at_m: f64,
        /// Outside diameter, m.
        diameter_m: f64,
        /// Cover.
        state: NozzleState,
    },
    /// A sight glass: a small cold disc before the jacket.
    SightGlass {
        /// Centre, m.
        axial_m: f64,
        /// Angle, degrees.
        angle_deg: f64,
        /// Diameter, m.
        diameter_m: f64,
    },
    /// A frost patch on dry jacket round a leak of cold: emissivity 0.98 and a local bridge.
    FrostPatch {
        /// Centre, m.
        axial_m: f64,
        /// Angle, degrees.
        angle_deg: f64,
        /// Radius, m.
        radius_m: f64,
    },
    /// The mirror image of a warm thing (person, lamp) in the jacket.
    WarmReflection {
        /// Middle, (axial, across) m.
        middle_m: (f64, f64),
        /// Half-sizes, (axial, across) m.
        half_m: (f64, f64),
        /// Temperature of the thing, °C.
        temperature_c: f64,
    },
}

impl NozzleState {
    fn word(self, kinds: [&'static str; 3]) -> &'static str {
        match self {
            Self::Frosted => kinds[0],
            Self::Bare => kinds[1],
            Self::Insulated => kinds[2],
        }
    }
}

impl Fixture {
    /// What it is, in the truth file's words.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Saddle { .. } => "saddle",
            Self::Leg { .. } => "leg",
            Self::Skirt { .. } => "skirt",
            Self::Nozzle { state, .. } => state.word(["nozzle-frosted", "nozzle-bare", "nozzle-insulated"]),
            Self::Pipe { layer, .. } => match layer {
                Layer::Front => "pipe-in-front",
                Layer::Behind => "pipe-behind",
            },
            Self::Ladder { .. } => "ladder",
            Self::Nameplate { .. } => "nameplate",
            Self::Band { .. } => "band",
            Self::Seam { .. } => "seam",
            Self::InspectionPort { .. } => "inspection-port",
            Self::Hanger { .. } => "hanger",
            Self::LevelColumn { state, .. } => {
                state.word(["level-column-frosted", "level-column-bare", "level-column-insulated"])
            }
            Self::SightGlass { .. } => "sight-glass",
            Self::FrostPatch { .. } => "frost-patch",
            Self::WarmReflection { .. } => "warm-reflection",
        }
    }
}
