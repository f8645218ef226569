//! Jacket finishes: thermal emissivity, and whether the finish mirrors its surroundings.

/// A jacket finish of the asset register.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Jacket {
    /// PVC sheet.
    Pvc,
    /// Mastic finish.
    Mastic,
    /// Painted metal sheet.
    PaintedMetal,
    /// Aluminium, oxidised by weather.
    WeatheredAluminium,
    /// Aluminium, new and bright.
    BrightAluminium,
    /// Stainless steel sheet.
    Stainless,
    /// Galvanised steel sheet.
    Galvanised,
}

/// Below this emissivity a jacket shows its surroundings rather than itself.
pub const BRIGHT_BELOW_EMISSIVITY: f64 = 0.5;

impl Jacket {
    /// Every finish, in the register's order.
    pub const ALL: [Self; 7] = [
        Self::Pvc,
        Self::Mastic,
        Self::PaintedMetal,
        Self::WeatheredAluminium,
        Self::BrightAluminium,
        Self::Stainless,
        Self::Galvanised,
    ];

    /// The finish of a register key such as `painted-metal`.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|jacket| jacket.key() == key)
    }

    /// The register's key.
    pub fn key(self) -> &'static str {
        match self {
            Self::Pvc => "pvc",
            Self::Mastic => "mastic",
            Self::PaintedMetal => "painted-metal",
            Self::WeatheredAluminium => "weathered-aluminium",
            Self::BrightAluminium => "bright-aluminium",
            Self::Stainless => "stainless",
            Self::Galvanised => "galvanised",
        }
    }

    /// Total hemispherical emissivity, near room temperature.
    ///
    /// Weathered aluminium: oxidised mill finish, 0.20, read in two laboratory lists. All others from memory of
    /// handbook tables, not confirmed (organic coatings 0.90 to 0.95, one table has 0.8 for painted metal).
    pub fn emissivity(self) -> f64 {
        match self {
            Self::Pvc | Self::Mastic | Self::PaintedMetal => 0.90,
            Self::WeatheredAluminium | Self::Stainless => 0.20,
            Self::BrightAluminium => 0.10,
            Self::Galvanised => 0.30,
        }
    }

    /// Whether the finish is too bright to be read without a painted or taped spot (emissivity below 0.5).
    pub fn is_bright(self) -> bool {
        self.emissivity() < BRIGHT_BELOW_EMISSIVITY
    }

    /// Length in m over which heat spreads along the jacket sheet, `√(k·δ/h)` with h ≈ 8 W/(m² K): a sharp edge of wet
    /// insulation shows blurred over about this length. Sheet of 0.5 to 0.7 mm; conductivities of steel 50, stainless 15,
    /// aluminium 200 W/(m K) (textbook, from memory); plastics and mastic spread less than the insulation itself.
    pub fn spread_m(self) -> f64 {
        match self {
            Self::Pvc | Self::Mastic => 0.01,
            Self::PaintedMetal | Self::Galvanised => 0.06,
            Self::Stainless => 0.035,
            Self::WeatheredAluminium | Self::BrightAluminium => 0.12,
        }
    }

    /// Whether bare metal faces the camera; its emissivity rises, not falls, with viewing angle.
    pub fn is_bare_metal(self) -> bool {
        !matches!(self, Self::Pvc | Self::Mastic | Self::PaintedMetal)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_leads_back_to_its_finish() {
        for jacket in Jacket::ALL {
            assert_eq!(Jacket::from_key(jacket.key()), Some(jacket));
        }
        assert_eq!(Jacket::from_key("PVC"), None);
    }

    #[test]
    fn bare_metals_are_the_bright_ones() {
        for jacket in Jacket::ALL {
            assert_eq!(jacket.is_bright(), jacket.is_bare_metal(), "{jacket:?}");
        }
    }
}
