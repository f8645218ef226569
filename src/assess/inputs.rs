//! The quantities that a heat balance takes, each with its standard uncertainty, and the balance as a function of them.

use crate::heat::air;
use crate::heat::balance::{self, Flux};
use crate::heat::film::{Body, Surroundings};
use crate::heat::insulation::Conductivity;
use crate::heat::section::Section;
use crate::register::{Asset, Conditions, HalfWidths, Setting, Shape};

/// 95 % half-width of a normal distribution over its standard deviation.
pub const COVERAGE_95: f64 = 1.959_964;
/// Wind assumed indoors and outdoors where nobody measured it, m/s (common practice, no source).
const ASSUMED_WIND_M_S: (f64, f64) = (0.1, 1.0);
/// Least 95 % half-width of the wind in m/s.
const LEAST_WIND_HALF_WIDTH_M_S: f64 = 0.2;
/// 95 % half-width of a published film correlation against measurement, as a share (handbooks: 10 to 20 %, from memory).
const FILM_HALF_WIDTH: f64 = 0.12;
/// Half-widths that replace the stated ones where a value was only assumed.
const ASSUMED_REFLECTED_HALF_WIDTH_K: f64 = 3.0;
const ASSUMED_WIND_HALF_WIDTH_M_S: (f64, f64) = (0.25, 1.0);

/// Least difference in K between jacket and service that a conductivity is reckoned with.
const LEAST_DIFFERENCE_K: f64 = 0.5;

/// The quantities, in the order of [`Inputs::NAMES`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inputs {
    values: [f64; Inputs::COUNT],
    body: Body,
    conductivity: Conductivity,
    barometer_kpa: f64,
}

/// A quantity by its place in the budget.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Air temperature, °C.
    Air,
    /// Radiant and reflected temperature, °C.
    Reflected,
    /// Emissivity.
    Emissivity,
    /// Service temperature, °C.
    Service,
    /// Wind, m/s.
    Wind,
    /// Relative humidity, per cent; NaN where unknown.
    Humidity,
    /// Insulation thickness, m.
    Thickness,
    /// Dry conductivity over its tabulated or stated value.
    Dry,
    /// Film coefficient over its correlation's value.
    Film,
}

impl Inputs {
    /// Number of quantities.
    pub const COUNT: usize = 9;
    /// Names as the budget shows them.
    pub const NAMES: [&'static str; Self::COUNT] = [
        "air_temperature",
        "reflected_temperature",
        "emissivity",
        "service_temperature",
        "wind",
        "relative_humidity",
        "insulation_thickness",
        "dry_conductivity",
        "film_correlation",
    ];

    /// The stated (or assumed) values of an asset under the frame's conditions.
    #[must_use]
    pub fn new(asset: &Asset, conditions: &Conditions, barometer_kpa: f64) -> Self {
        let still = if asset.setting == Setting::Indoor {
            ASSUMED_WIND_M_S.0
        } else {
            ASSUMED_WIND_M_S.1
        };
        let conductivity = asset
            .stated_conductivity_w_mk
            .map_or_else(|| asset.insulation.conductivity(), Conductivity::constant);
        Self {
            values: [
                conditions.air_c,
                conditions.reflected_c.unwrap_or(conditions.air_c),
                asset.emissivity.value,
                asset.service.temperature_c(),
                conditions.wind_m_s.unwrap_or(still),
                conditions.relative_humidity_pct.unwrap_or(f64::NAN),
                asset.insulation_thickness_m,
                1.0,
                1.0,
            ],
            body: body(&asset.shape),
            conductivity,
            barometer_kpa,
        }
    }

    /// Standard uncertainties in the same order: 95 % half-width / 1.96.
    #[must_use]
    pub fn standard_uncertainties(
        &self,
        asset: &Asset,
        conditions: &Conditions,
        half: &HalfWidths,
    ) -> [f64; Self::COUNT] {
        let reflected = match conditions.reflected_c {
            Some(_) => half.reflected_temperature_k,
            None => half.reflected_temperature_k.max(ASSUMED_REFLECTED_HALF_WIDTH_K),
        };
        let wind = match (conditions.wind_m_s, asset.setting) {
            (Some(wind), _) => (half.wind_pct / 100.0 * wind).max(LEAST_WIND_HALF_WIDTH_M_S),
            (None, Setting::Indoor) => ASSUMED_WIND_HALF_WIDTH_M_S.0,
            (None, Setting::Outdoor) => ASSUMED_WIND_HALF_WIDTH_M_S.1,
        };
        let dry = if asset.stated_conductivity_w_mk.is_some() {
            0.0
        } else {
            half.conductivity_pct / 100.0
        };
        let humidity = if conditions.relative_humidity_pct.is_some() {
            half.relative_humidity_pct
        } else {
            0.0
        };
        [
            half.air_temperature_k,
            reflected,
            half.emissivity,
            half.service_temperature_k,
            wind,
            humidity,
            half.insulation_thickness_pct / 100.0 * asset.insulation_thickness_m,
            dry,
            FILM_HALF_WIDTH,
        ]
        .map(|half_width| half_width / COVERAGE_95)
    }

    /// Value of a quantity.
    #[must_use]
    pub fn get(&self, quantity: Quantity) -> f64 {
        self.values[quantity as usize]
    }

    /// The same inputs with one value moved; kept physically possible.
    #[must_use]
    pub fn moved(mut self, index: usize, by: f64) -> Self {
        if let Some(value) = self.values.get_mut(index) {
            *value += by;
        }
        self.values[Quantity::Wind as usize] = self.values[Quantity::Wind as usize].max(0.0);
        let emissivity = self.values[Quantity::Emissivity as usize];
        self.values[Quantity::Emissivity as usize] = emissivity.clamp(0.02, 1.0);
        self
    }

    fn section(&self) -> Option<Section> {
        Section::new(
            self.body,
            self.get(Quantity::Thickness),
            self.get(Quantity::Emissivity),
            self.get(Quantity::Service),
        )
        .ok()
    }

    fn surroundings(&self) -> Surroundings {
        let air_c = self.get(Quantity::Air);
        let humidity = self.get(Quantity::Humidity);
        let vapour_pressure_pa = if humidity.is_finite() {
            air::vapour_pressure_pa(air_c, humidity.clamp(0.0, 100.0)).ok()
        } else {
            None
        };
        Surroundings {
            air_c,
            radiant_c: self.get(Quantity::Reflected),
            wind_m_s: self.get(Quantity::Wind),
            barometer_kpa: self.barometer_kpa,
            vapour_pressure_pa,
        }
    }

    /// Vapour's dew (or frost) point in °C, where the humidity is known.
    #[must_use]
    pub fn dew_point_c(&self) -> Option<f64> {
        self.surroundings()
            .vapour_pressure_pa
            .and_then(|e| air::dew_point_c(e).ok())
    }

    /// Flux into a jacket at `surface_c`, the film scaled by its own factor, W/m².
    #[must_use]
    pub fn flux_w_m2(&self, surface_c: f64) -> Option<f64> {
        let Flux {
            convection_w_m2,
            radiation_w_m2,
            latent_w_m2,
        } = balance::jacket_heat_flux(&self.section()?, surface_c, &self.surroundings());
        Some(self.get(Quantity::Film) * (convection_w_m2 + latent_w_m2) + radiation_w_m2)
    }

    /// Conductivity in W/(m K) that explains a jacket at `surface_c`: `λ = q·ℓ/(T_s − T_c)`.
    #[must_use]
    pub fn conductivity_w_mk(&self, surface_c: f64) -> Option<f64> {
        let section = self.section()?;
        // A surface at the service temperature, or beyond it, is bare metal: its conductivity is capped, not negative.
        let side = (self.get(Quantity::Air) - section.service_c()).signum();
        let difference = ((surface_c - section.service_c()) * side).max(LEAST_DIFFERENCE_K) * side;
        Some(self.flux_w_m2(surface_c)? * section.conduction_length_m() / difference)
    }

    /// Dry conductivity in W/(m K) at the mean of jacket and service.
    #[must_use]
    pub fn dry_w_mk(&self, surface_c: f64) -> f64 {
        let mean_c = (surface_c + self.get(Quantity::Service)) / 2.0;
        self.conductivity.at_mean_w_mk(mean_c) * self.get(Quantity::Dry)
    }

    /// Temperature in °C of a jacket whose insulation conducts `ratio` times what it does dry.
    #[must_use]
    pub fn surface_c(&self, ratio: f64) -> Option<f64> {
        let section = self.section()?;
        let conductivity = self.conductivity.times(self.get(Quantity::Dry) * ratio);
        let first = balance::surface_temperature_c(&section, conductivity, &self.surroundings()).ok()?;
        let film = self.get(Quantity::Film);
        if (film - 1.0).abs() < 1e-12 {
            return Some(first);
        }
        // A film factor near 1 moves the balance a little: Newton from the unscaled solution, slope from a difference.
        let excess = |surface_c: f64| {
            let conducted = section.conduction_w_m2(self.dry_w_mk(surface_c) * ratio, surface_c);
            self.flux_w_m2(surface_c).map(|flux| flux - conducted)
        };
        let mut surface_c = first;
        for _ in 0..4 {
            let here = excess(surface_c)?;
            let slope = (excess(surface_c + 0.01)? - here) / 0.01;
            surface_c -= here / slope;
        }
        Some(surface_c)
    }
}

/// The body that the film coefficient takes.
fn body(shape: &Shape) -> Body {
    match *shape {
        Shape::HorizontalCylinder { diameter_m, .. } => Body::HorizontalCylinder { diameter_m },
        Shape::VerticalCylinder { diameter_m, length_m } => Body::VerticalCylinder {
            diameter_m,
            height_m: length_m,
        },
        Shape::Flat { width_m, height_m } => Body::Wall { height_m, width_m },
    }
}
