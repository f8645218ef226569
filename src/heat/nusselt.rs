//! Nusselt numbers of natural and forced convection.
//!
//! Forms read in a public heat-transfer library that cites the papers, unless a line says otherwise.

/// Prandtl-number factor that both Churchill–Chu forms share.
fn prandtl_factor(constant: f64, prandtl: f64) -> f64 {
    // [1 + (c/Pr)^(9/16)]^(8/27)
    (1.0 + (constant / prandtl).powf(9.0 / 16.0)).powf(8.0 / 27.0)
}

/// Sixth root.
fn sixth_root(value: f64) -> f64 {
    value.cbrt().sqrt()
}

/// Natural convection on a horizontal cylinder, on its diameter; 1e-5 < Ra < 1e12.
///
/// Churchill & Chu, Int. J. Heat Mass Transfer 18, 1049 (1975).
pub fn horizontal_cylinder(rayleigh: f64, prandtl: f64) -> f64 {
    // Nu = {0.60 + 0.387 Ra^(1/6)/[1 + (0.559/Pr)^(9/16)]^(8/27)}²
    let root = 0.60 + 0.387 * sixth_root(rayleigh) / prandtl_factor(0.559, prandtl);
    root * root
}

/// Natural convection on a vertical plate, on its height; Ra to 1e12.
///
/// Churchill & Chu, Int. J. Heat Mass Transfer 18, 1323 (1975).
pub fn vertical_plate(rayleigh: f64, prandtl: f64) -> f64 {
    // Nu = {0.825 + 0.387 Ra^(1/6)/[1 + (0.492/Pr)^(9/16)]^(8/27)}²
    let root = 0.825 + 0.387 * sixth_root(rayleigh) / prandtl_factor(0.492, prandtl);
    root * root
}

/// Natural convection on a slender vertical cylinder, on its height: Popiel, Heat Transfer Eng. 29, 521 (2008),
/// over the vertical plate; 0.01 < Pr < 100. `slenderness` is height over diameter.
pub fn slender_vertical_cylinder(grashof: f64, prandtl: f64, slenderness: f64) -> f64 {
    // Nu/Nu_plate = 1 + B [32^½ Gr^(−¼) L/D]^C,  B = 0.0571322 + 0.20305 Pr^(−0.43),
    // C = 0.9165 − 0.0043 Pr^½ + 0.01333 ln Pr + 0.0004809/Pr
    let plate = vertical_plate(grashof * prandtl, prandtl);
    let factor = 0.057_132_2 + 0.203_05 * prandtl.powf(-0.43);
    let exponent = 0.9165 - 0.0043 * prandtl.sqrt() + 0.013_33 * prandtl.ln() + 0.000_480_9 / prandtl;
    plate * (1.0 + factor * curvature(grashof, slenderness).powf(exponent))
}

/// Natural convection on a vertical cylinder of any slenderness, on its height.
///
/// A plate where D/L ≥ 35/Gr^(1/4), Popiel's form where the cylinder is twice as slender as that; between the two
/// a straight line joins them. The published criterion alone leaves a step of 5 %, over which the heat flux would
/// fall as the temperature difference rises and the balance would have several roots.
pub fn vertical_cylinder(grashof: f64, prandtl: f64, slenderness: f64) -> f64 {
    let plate = vertical_plate(grashof * prandtl, prandtl);
    let threshold = 32.0_f64.sqrt() / 35.0;
    let beyond = curvature(grashof, slenderness) / threshold - 1.0;
    if beyond <= 0.0 {
        return plate;
    }
    if !beyond.is_finite() {
        // No temperature difference, no flow: the plate's conduction limit.
        return plate;
    }
    let slender = slender_vertical_cylinder(grashof, prandtl, slenderness);
    plate + (slender - plate) * beyond.min(1.0)
}

/// 32^½ Gr^(−¼) L/D: boundary-layer thickness against diameter.
fn curvature(grashof: f64, slenderness: f64) -> f64 {
    32.0_f64.sqrt() * slenderness / grashof.sqrt().sqrt()
}

/// Natural convection on a sphere, on its diameter; Ra to 1e13. Churchill, Heat Exchanger Design Handbook.
pub fn sphere(rayleigh: f64, prandtl: f64) -> f64 {
    // Nu = 2 + 0.589 Ra^¼/[1 + (0.469/Pr)^(9/16)]^(4/9) · {1 + 7.44e-8 Ra/[1 + (0.469/Pr)^(9/16)]^(16/9)}^(1/12)
    let base = 1.0 + (0.469 / prandtl).powf(9.0 / 16.0);
    let turbulent = 1.0 + 7.44e-8 * rayleigh / base.powf(16.0 / 9.0);
    2.0 + 0.589 * rayleigh.sqrt().sqrt() / base.powf(4.0 / 9.0) * turbulent.powf(1.0 / 12.0)
}

/// Natural convection on the face of a horizontal plate from which the air flows away freely (cold face down, or
/// warm face up), on area over perimeter; Ra 1e4 to 1e11. McAdams.
pub fn plate_free_face(rayleigh: f64) -> f64 {
    if rayleigh <= 1.0e7 {
        // Nu = 0.54 Ra^(1/4)
        0.54 * rayleigh.sqrt().sqrt()
    } else {
        // Nu = 0.15 Ra^(1/3)
        0.15 * rayleigh.cbrt()
    }
}

/// Natural convection on the face of a horizontal plate that holds the air back (cold face up, or warm face down),
/// on area over perimeter; Ra 1e5 to 1e11. McAdams.
pub fn plate_blocked_face(rayleigh: f64) -> f64 {
    // Nu = 0.27 Ra^(1/4)
    0.27 * rayleigh.sqrt().sqrt()
}

/// Forced convection on a cylinder across the wind, on its diameter; Re Pr > 0.2.
///
/// Churchill & Bernstein, J. Heat Transfer 99, 300 (1977).
pub fn cross_flow(reynolds: f64, prandtl: f64) -> f64 {
    // Nu = 0.3 + 0.62 Re^½ Pr^⅓/[1 + (0.4/Pr)^⅔]^¼ · [1 + (Re/282000)^⅝]^⅘
    let laminar = 0.62 * reynolds.sqrt() * prandtl.cbrt() / (1.0 + (0.4 / prandtl).powf(2.0 / 3.0)).sqrt().sqrt();
    0.3 + laminar * (1.0 + (reynolds / 282_000.0).powf(0.625)).powf(0.8)
}

/// Mean forced convection along a flat wall, on the swept length; laminar to Re = 5e5, then mixed, to 1e8.
///
/// From memory of Incropera ch. 7, not confirmed.
pub fn flat_sweep(reynolds: f64, prandtl: f64) -> f64 {
    if reynolds <= 5.0e5 {
        // Nu = 0.664 Re^½ Pr^⅓
        0.664 * reynolds.sqrt() * prandtl.cbrt()
    } else {
        // Nu = (0.037 Re^⅘ − 871) Pr^⅓
        (0.037 * reynolds.powf(0.8) - 871.0) * prandtl.cbrt()
    }
}

/// Forced convection on a sphere, on its diameter; Re 3.5 to 7.6e4, carried further for want of better.
///
/// Whitaker's form from memory of Incropera ch. 7, viscosity ratio taken as 1; not confirmed.
pub fn sphere_in_wind(reynolds: f64, prandtl: f64) -> f64 {
    // Nu = 2 + (0.4 Re^½ + 0.06 Re^⅔) Pr^0.4
    let two_thirds = reynolds.cbrt() * reynolds.cbrt();
    2.0 + (0.4 * reynolds.sqrt() + 0.06 * two_thirds) * prandtl.powf(0.4)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn laminar_and_mixed_sweep_meet() {
        let (below, above) = (flat_sweep(5.0e5, 0.71), flat_sweep(5.000_01e5, 0.71));
        assert!((above / below - 1.0).abs() < 0.002, "{below} {above}");
    }
}
