//! The least moisture that could explain a raised conductivity.

use super::insulation::Insulation;

/// What a conductivity ratio (found against dry) says at least about moisture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LeastMoisture {
    /// The ratio does not exceed 1: dry insulation explains it.
    None,
    /// This volume fraction of evenly spread water would explain it.
    Fraction {
        /// Volume of water per volume of insulation.
        psi: f64,
    },
    /// No moisture within the law explains it: soaked, frozen, missing or bridged insulation, or a material
    /// without a moisture law.
    BeyondTheLaw,
}

impl LeastMoisture {
    /// The volume fraction where the law gives one; dry insulation is 0, beyond the law nothing is claimed.
    pub fn fraction(self) -> Option<f64> {
        match self {
            Self::None => Some(0.0),
            Self::Fraction { psi } => Some(psi),
            Self::BeyondTheLaw => None,
        }
    }
}

/// Least moisture that explains `conductivity_ratio` in `insulation`.
///
/// Inverts the form of ISO 10456, λ₂ = λ₁ exp(f_ψ ψ), within each material's stated range (ψ ≤ 0.10 or 0.15). The
/// law is one of evenly spread moisture above freezing; in a cold shell water freezes and bridges, so a ratio never
/// yields more than the cap. NaN yields `None`: nothing is claimed.
pub fn least_moisture(insulation: Insulation, conductivity_ratio: f64) -> LeastMoisture {
    if conductivity_ratio.is_nan() || conductivity_ratio <= 1.0 {
        return LeastMoisture::None;
    }
    let Some(law) = insulation.moisture_law() else {
        return LeastMoisture::BeyondTheLaw;
    };
    // ψ = ln(λ₂/λ₁)/f_ψ
    let psi = conductivity_ratio.ln() / law.f_psi;
    if psi > law.valid_to_fraction {
        LeastMoisture::BeyondTheLaw
    } else {
        LeastMoisture::Fraction { psi }
    }
}

/// Conductivity of `insulation` holding the volume fraction `psi` of water against dry; `None` outside the law.
pub fn conductivity_ratio(insulation: Insulation, psi: f64) -> Option<f64> {
    let law = insulation.moisture_law()?;
    (0.0..=law.valid_to_fraction)
        .contains(&psi)
        // λ₂/λ₁ = exp(f_ψ ψ)
        .then(|| (law.f_psi * psi).exp())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ratio_of_three_is_never_turned_into_a_percentage() {
        for insulation in Insulation::ALL {
            assert_eq!(least_moisture(insulation, 3.0), LeastMoisture::BeyondTheLaw);
        }
    }

    #[test]
    fn dry_or_better_needs_no_moisture() {
        assert_eq!(least_moisture(Insulation::CellularGlass, 0.98), LeastMoisture::None);
        assert_eq!(least_moisture(Insulation::Pir, f64::NAN), LeastMoisture::None);
        assert_eq!(
            least_moisture(Insulation::Pir, f64::INFINITY),
            LeastMoisture::BeyondTheLaw
        );
    }
}
