//! Insulation materials: dry conductivity against mean temperature, and the moisture law's coefficient.

/// Mean temperature at which insulation conductivities are tabulated, °C (75 °F).
pub const TABULATED_MEAN_C: f64 = 24.0;

/// Warmest mean temperature the linear law is carried to, °C.
const WARMEST_MEAN_C: f64 = 60.0;

/// An insulation material of the asset register.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Insulation {
    /// Polyisocyanurate foam.
    Pir,
    /// Polyurethane foam.
    Pur,
    /// Extruded polystyrene foam.
    Xps,
    /// Expanded polystyrene foam.
    Eps,
    /// Phenolic foam.
    Phenolic,
    /// Cellular glass.
    CellularGlass,
    /// Mineral wool or glass fibre.
    MineralWool,
    /// Flexible elastomeric foam.
    Elastomeric,
    /// Expanded cork.
    Cork,
}

/// Conductivity as a straight line in mean temperature: λ = λ₂₄ [1 + β (t_mean − 24 °C)].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conductivity {
    /// λ₂₄ at 24 °C mean, W/(m K).
    pub tabulated_w_mk: f64,
    /// β, the share of λ₂₄ it changes by per kelvin of mean temperature, 1/K.
    pub slope_per_k: f64,
    /// Mean temperature below which it is held constant, °C.
    pub constant_below_c: f64,
}

impl Conductivity {
    /// The same conductivity at every temperature, W/(m K).
    pub fn constant(conductivity_w_mk: f64) -> Self {
        Self {
            tabulated_w_mk: conductivity_w_mk,
            slope_per_k: 0.0,
            constant_below_c: -100.0,
        }
    }

    /// Conductivity at `mean_c`, W/(m K).
    pub fn at_mean_w_mk(&self, mean_c: f64) -> f64 {
        let mean_c = mean_c.max(self.constant_below_c).min(WARMEST_MEAN_C);
        // λ = λ₂₄ [1 + β (t_mean − 24)]
        self.tabulated_w_mk * (1.0 + self.slope_per_k * (mean_c - TABULATED_MEAN_C))
    }

    /// The same material with its conductivity multiplied by `ratio` (wet against dry, or a drawn error).
    pub fn times(self, ratio: f64) -> Self {
        Self {
            tabulated_w_mk: self.tabulated_w_mk * ratio,
            ..self
        }
    }
}

/// Coefficient of the moisture law λ₂ = λ₁ exp(f_ψ ψ), and how far it holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MoistureLaw {
    /// f_ψ, m³/m³.
    pub f_psi: f64,
    /// Greatest volume fraction of water the law is stated for.
    pub valid_to_fraction: f64,
}

impl Insulation {
    /// Every material, in the register's order.
    pub const ALL: [Self; 9] = [
        Self::Pir,
        Self::Pur,
        Self::Xps,
        Self::Eps,
        Self::Phenolic,
        Self::CellularGlass,
        Self::MineralWool,
        Self::Elastomeric,
        Self::Cork,
    ];

    /// The material of a register key such as `cellular-glass`.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|material| material.key() == key)
    }

    /// The register's key.
    pub fn key(self) -> &'static str {
        match self {
            Self::Pir => "pir",
            Self::Pur => "pur",
            Self::Xps => "xps",
            Self::Eps => "eps",
            Self::Phenolic => "phenolic",
            Self::CellularGlass => "cellular-glass",
            Self::MineralWool => "mineral-wool",
            Self::Elastomeric => "elastomeric",
            Self::Cork => "cork",
        }
    }

    /// Dry, aged conductivity as a function of mean temperature.
    ///
    /// λ₂₄ of PIR, PUR, XPS, EPS, phenolic (aged, faced board), cellular glass and mineral wool (middle of 0.035 to
    /// 0.040): ASHRAE 2013 table as held by a public heat-transfer library. Elastomeric and cork: from memory of
    /// material specifications, not confirmed. Slopes are an assumption of 0.1 % per °F for foams (a printed table of
    /// condensation thicknesses for XPS was reproduced with it), the others from memory. Allow ±10 %.
    pub fn conductivity(self) -> Conductivity {
        let (tabulated_w_mk, slope_per_k, constant_below_c) = match self {
            // Blowing agent condenses below a knee near 0 to 10 °C mean, and λ stops falling (from memory).
            Self::Pir | Self::Pur => (0.0235, 0.0018, 5.0),
            Self::Xps => (0.026, 0.0018, -100.0),
            Self::Eps => (0.0355, 0.0018, -100.0),
            Self::Phenolic => (0.019, 0.0018, -100.0),
            // 0.045 at 24 °C against 0.039 at −18 °C (from memory of ASTM C552) sets the slope.
            Self::CellularGlass => (0.048, 0.0031, -100.0),
            Self::MineralWool => (0.0375, 0.0030, -100.0),
            Self::Elastomeric => (0.040, 0.0025, -100.0),
            Self::Cork => (0.042, 0.0020, -100.0),
        };
        Conductivity {
            tabulated_w_mk,
            slope_per_k,
            constant_below_c,
        }
    }

    /// Dry conductivity at `mean_c`, W/(m K); see [`Insulation::conductivity`] for sources.
    pub fn conductivity_w_mk(self, mean_c: f64) -> f64 {
        self.conductivity().at_mean_w_mk(mean_c)
    }

    /// Coefficient of the moisture law; `None` where no law is known (cellular glass takes up no water in its
    /// cells, elastomeric foam has no coefficient at hand).
    ///
    /// Source: form of ISO 10456; the EPS coefficient was read in a worked example and the mineral-wool one is
    /// supported by a published pair of conductivities. All others are from memory, not confirmed.
    pub fn moisture_law(self) -> Option<MoistureLaw> {
        let (f_psi, valid_to_fraction) = match self {
            Self::Pir | Self::Pur => (6.0, 0.15),
            Self::Xps => (2.5, 0.10),
            Self::Eps => (4.0, 0.10),
            Self::Phenolic => (5.0, 0.15),
            Self::MineralWool => (4.0, 0.15),
            Self::Cork => (6.0, 0.10),
            Self::CellularGlass | Self::Elastomeric => return None,
        };
        Some(MoistureLaw {
            f_psi,
            valid_to_fraction,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_leads_back_to_its_material() {
        for material in Insulation::ALL {
            assert_eq!(Insulation::from_key(material.key()), Some(material));
        }
        assert_eq!(Insulation::from_key("straw"), None);
    }

    #[test]
    fn conductivity_stays_positive_and_never_falls_with_temperature() {
        for material in Insulation::ALL {
            let mut before_w_mk = 0.0;
            for mean_c in -120..120 {
                let here_w_mk = material.conductivity_w_mk(f64::from(mean_c));
                assert!(here_w_mk >= before_w_mk && here_w_mk > 0.01, "{material:?} at {mean_c}");
                before_w_mk = here_w_mk;
            }
        }
    }

    #[test]
    fn polyurethane_stops_falling_below_its_knee() {
        let knee_w_mk = Insulation::Pur.conductivity_w_mk(5.0);
        assert_eq!(Insulation::Pur.conductivity_w_mk(-30.0), knee_w_mk);
        assert!(Insulation::Xps.conductivity_w_mk(-30.0) < Insulation::Xps.conductivity_w_mk(5.0));
    }
}
