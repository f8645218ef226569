//! One insulated section: its body, insulation, jacket and service, and how it conducts.

use super::film::Body;
use super::{HeatError, Quantity};

const THICKNESS: Quantity = Quantity {
    what: "insulation thickness",
    unit: "m",
};
const EMISSIVITY: Quantity = Quantity {
    what: "emissivity",
    unit: "(ratio)",
};
const SERVICE: Quantity = Quantity {
    what: "service temperature",
    unit: "°C",
};

/// One insulated section of an asset, checked when built.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    body: Body,
    emissivity: f64,
    service_c: f64,
    conduction_length_m: f64,
}

impl Section {
    /// A section of `body` with `thickness_m` of insulation, jacket `emissivity` and `service_c` inside. The metal's
    /// own resistance and the inner film are neglected: they are some hundredths of the insulation's.
    ///
    /// Errors: a size outside 5 mm to 200 m, thickness outside 1 mm to 2 m or not less than the radius, emissivity
    /// outside 0.01 to 1, service outside −120 to 200 °C.
    pub fn new(body: Body, thickness_m: f64, emissivity: f64, service_c: f64) -> Result<Self, HeatError> {
        let body = body.checked()?;
        THICKNESS.within(thickness_m, 0.001..=2.0)?;
        Ok(Self {
            body,
            emissivity: EMISSIVITY.within(emissivity, 0.01..=1.0)?,
            service_c: SERVICE.within(service_c, -120.0..=200.0)?,
            conduction_length_m: conduction_length_m(body, thickness_m)?,
        })
    }

    /// The body, sizes over the jacket.
    pub fn body(&self) -> Body {
        self.body
    }

    /// Jacket emissivity.
    pub fn emissivity(&self) -> f64 {
        self.emissivity
    }

    /// Fluid temperature inside, °C.
    pub fn service_c(&self) -> f64 {
        self.service_c
    }

    /// Length ℓ such that the flux through the jacket is λ (T_s − T_c)/ℓ, m: the thickness of a wall, more than it
    /// for a round shell.
    pub fn conduction_length_m(&self) -> f64 {
        self.conduction_length_m
    }

    /// Flux that a shell of `conductivity_w_mk` conducts with its jacket at `surface_c`, W/m² of jacket.
    pub fn conduction_w_m2(&self, conductivity_w_mk: f64, surface_c: f64) -> f64 {
        // q = λ (T_s − T_c)/ℓ
        conductivity_w_mk * (surface_c - self.service_c) / self.conduction_length_m
    }
}

/// ℓ of one body and thickness, m.
fn conduction_length_m(body: Body, thickness_m: f64) -> Result<f64, HeatError> {
    let diameter_m = match body {
        Body::Wall { .. } => return Ok(thickness_m),
        Body::HorizontalCylinder { diameter_m }
        | Body::VerticalCylinder { diameter_m, .. }
        | Body::Sphere { diameter_m } => diameter_m,
    };
    let inside_m = diameter_m - 2.0 * thickness_m;
    if inside_m <= 0.0 {
        return Err(HeatError::ThickerThanRadius {
            thickness_m,
            diameter_m,
        });
    }
    let ratio = diameter_m / inside_m;
    Ok(if matches!(body, Body::Sphere { .. }) {
        // Q = 4π λ ΔT/(1/r_i − 1/r_o), over 4π r_o²: ℓ = r_o (r_o/r_i − 1)
        diameter_m / 2.0 * (ratio - 1.0)
    } else {
        // q′ = 2π λ ΔT/ln(r_o/r_i), over 2π r_o: ℓ = r_o ln(r_o/r_i)
        diameter_m / 2.0 * ratio.ln()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_thin_round_shell_conducts_as_a_wall() {
        let wall = Body::Wall {
            height_m: 3.0,
            width_m: 3.0,
        };
        let pipe = Body::HorizontalCylinder { diameter_m: 100.0 };
        let length_m = |body| Section::new(body, 0.1, 0.9, -33.0).unwrap().conduction_length_m();
        assert_eq!(length_m(wall), 0.1);
        assert!((length_m(pipe) / 0.1 - 1.001).abs() < 1.0e-5);
    }

    #[test]
    fn impossible_sections_are_refused() {
        let pipe = Body::HorizontalCylinder { diameter_m: 0.2 };
        assert!(matches!(
            Section::new(pipe, 0.1, 0.9, -33.0),
            Err(HeatError::ThickerThanRadius { .. })
        ));
        assert!(Section::new(pipe, 0.05, 0.0, -33.0).is_err());
        assert!(Section::new(pipe, 0.05, 0.9, f64::NAN).is_err());
    }
}
