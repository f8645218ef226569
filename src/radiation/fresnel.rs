//! Emissivity against viewing angle.

/// Refractive index of paint, mastic and plastic jackets in the long-wave band, taken as real.
const COATING_INDEX: f64 = 1.5;

/// How a surface's emissivity goes with the viewing angle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum AngularLaw {
    /// Smooth coating, plastic or mastic: Fresnel with n = 1.5, unpolarised.
    Coating,
    /// Bare metal: held at its normal value. It rises towards grazing angles, by an amount that depends on the
    /// oxide; such jackets are not read quantitatively in any case.
    BareMetal,
}

/// ε(θ)/ε(0) at `angle_deg` from the normal: 1 square on, 0 at 90° and beyond for coatings.
///
/// A smooth dielectric's Fresnel reflectance; matt surfaces fall off less, so this is the cautious end.
pub fn emissivity_ratio(law: AngularLaw, angle_deg: f64) -> f64 {
    match law {
        AngularLaw::BareMetal => 1.0,
        AngularLaw::Coating => (1.0 - reflectance(COATING_INDEX, angle_deg)) / (1.0 - reflectance(COATING_INDEX, 0.0)),
    }
}

/// Emissivity of a surface seen at `angle_deg` whose normal emissivity is `normal_emissivity`.
pub fn emissivity_at_angle(normal_emissivity: f64, law: AngularLaw, angle_deg: f64) -> f64 {
    normal_emissivity * emissivity_ratio(law, angle_deg)
}

/// Unpolarised Fresnel reflectance of a dielectric of real `index`.
fn reflectance(index: f64, angle_deg: f64) -> f64 {
    let angle_deg = angle_deg.abs();
    if angle_deg >= 90.0 {
        return 1.0;
    }
    let (sine, cosine) = angle_deg.to_radians().sin_cos();
    // Snell: n cos θ_t = √(n² − sin² θ)
    let inside = (index * index - sine * sine).sqrt();
    // r_s = (cos θ − n cos θ_t)/(cos θ + n cos θ_t),  r_p = (n² cos θ − n cos θ_t)/(n² cos θ + n cos θ_t)
    let across = (cosine - inside) / (cosine + inside);
    let along = (index * index * cosine - inside) / (index * index * cosine + inside);
    (across * across + along * along) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coatings_fall_from_one_to_nothing() {
        let mut before = 1.0 + 1.0e-12;
        for angle in 0..=90 {
            let here = emissivity_ratio(AngularLaw::Coating, f64::from(angle));
            assert!(here <= before && here >= 0.0, "{angle}: {here}");
            before = here;
        }
        assert_eq!(before, 0.0);
        let left = emissivity_ratio(AngularLaw::Coating, -40.0);
        assert_eq!(left, emissivity_ratio(AngularLaw::Coating, 40.0));
    }

    #[test]
    fn metal_is_held() {
        assert_eq!(emissivity_at_angle(0.2, AngularLaw::BareMetal, 70.0), 0.2);
    }
}
