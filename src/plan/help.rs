//! What would help: nearer, calmer, earlier, warmer air or a colder service, drier air.

use super::outlook::{Outlook, contrasts_k};
use super::{Material, RATIOS};
use crate::heat::air;
use crate::heat::jacket::BRIGHT_BELOW_EMISSIVITY;
use crate::register::{Conditions, Setting, Sun};

/// What would help an asset under the conditions of its worst case, the strongest first.
pub(super) fn of(material: &Material, index: usize, worst: &Outlook) -> Vec<String> {
    let look = Look { material, index, worst };
    [
        look.bright(),
        look.sun(),
        look.difference(),
        look.contrast(),
        look.wind(),
        look.nearer(),
        look.drier(),
    ]
    .into_iter()
    .flatten()
    .collect()
}

struct Look<'a> {
    material: &'a Material<'a>,
    index: usize,
    worst: &'a Outlook,
}

impl Look<'_> {
    fn conditions(&self) -> &Conditions {
        &self.worst.case.conditions
    }

    fn service_c(&self) -> f64 {
        self.material.before.assets[self.index].service.temperature_c()
    }

    fn bright(&self) -> Option<String> {
        let emissivity = self.material.before.assets[self.index].emissivity.value;
        (emissivity < BRIGHT_BELOW_EMISSIVITY).then(|| "matt spots of tape or paint, put on the day before".to_owned())
    }

    fn sun(&self) -> Option<String> {
        let outdoors = self.material.before.assets[self.index].setting == Setting::Outdoor;
        let lit = self.conditions().sun == Some(Sun::Direct);
        let unknown = self.conditions().sun.is_none() && outdoors;
        (lit || unknown).then(|| "earlier: before sunrise, or four hours after the sun has left the jacket".to_owned())
    }

    fn difference(&self) -> Option<String> {
        let full_k = self.material.survey.usability.full_difference_k;
        let (air_c, service_c) = (self.conditions().air_c, self.service_c());
        if (air_c - service_c).abs() >= full_k {
            return None;
        }
        let (warmer_c, colder_c) = (service_c + full_k, air_c - full_k);
        Some(if service_c <= air_c {
            format!("warmer air, from {warmer_c:.0} °C, or a colder service, down to {colder_c:.0} °C")
        } else {
            format!(
                "colder air, down to {:.0} °C: this asset is warmer than the air",
                service_c - full_k
            )
        })
    }

    /// The air temperature at which twice the conductivity would just be called.
    fn contrast(&self) -> Option<String> {
        let least_k = self.worst.least_contrast_k;
        let air_c = self.conditions().air_c;
        // A NaN is no contrast to be helped.
        if self.worst.contrasts_k[0].is_nan() || self.worst.contrasts_k[0].abs() >= least_k || self.service_c() > air_c
        {
            return None;
        }
        let twice_k = |air_c: f64| {
            // What surrounds the asset warms with the air.
            let shift_k = air_c - self.conditions().air_c;
            let conditions = Conditions {
                air_c,
                reflected_c: self.conditions().reflected_c.map(|reflected_c| reflected_c + shift_k),
                ..self.conditions().clone()
            };
            contrasts_k(self.material, self.index, &conditions)[0].abs()
        };
        /// Warmer than any air that is surveyed in, °C.
        const HOTTEST_C: f64 = 40.0;
        if air_c >= HOTTEST_C || twice_k(HOTTEST_C) < least_k {
            return None;
        }
        let (mut low_c, mut high_c) = (air_c, HOTTEST_C);
        while high_c - low_c > 0.1 {
            let middle_c = (low_c + high_c) / 2.0;
            if twice_k(middle_c) < least_k {
                low_c = middle_c;
            } else {
                high_c = middle_c;
            }
        }
        let times = RATIOS[0];
        Some(format!(
            "warmer air or a service as much colder: from {:.1} K more between them, {times:.0} times the conductivity stands out by {least_k:.2} K",
            high_c - air_c
        ))
    }

    fn wind(&self) -> Option<String> {
        let calm_m_s = self.material.survey.usability.calm_wind_m_s;
        let wind_m_s = self.conditions().wind_m_s?;
        let now_k = self.worst.contrasts_k[0];
        let short = now_k.abs() < self.worst.least_contrast_k && wind_m_s > 0.5;
        if wind_m_s <= calm_m_s && !short {
            return None;
        }
        let still = Conditions {
            wind_m_s: Some(0.0),
            ..self.conditions().clone()
        };
        let [still_k, _] = contrasts_k(self.material, self.index, &still);
        Some(format!(
            "calmer: in still air twice the conductivity stands out by {:.1} K instead of {:.1} K; wind up to {calm_m_s:.1} m/s will do",
            still_k.abs(),
            now_k.abs()
        ))
    }

    fn nearer(&self) -> Option<String> {
        let (usability, worst) = (&self.material.survey.usability, self.worst);
        let far = worst.case.distance_m > usability.far_m && self.conditions().transmittance.is_none();
        if worst.smallest_zone_m <= usability.fine_zone_m && !far {
            return None;
        }
        // The smallest zone grows in step with the distance.
        let fine_m = worst.case.distance_m * usability.fine_zone_m / worst.smallest_zone_m;
        Some(format!(
            "nearer: within {:.1} m, or a lens of a narrower field of view",
            // Rounded down, so that it holds.
            (fine_m.min(usability.far_m) * 10.0).floor() / 10.0
        ))
    }

    /// The humidity below which the sound jacket, reckoned dry, stays above the dew point.
    fn drier(&self) -> Option<String> {
        if self.worst.sweats != Some(true) {
            return None;
        }
        let conditions = Conditions {
            relative_humidity_pct: None,
            ..self.conditions().clone()
        };
        let before = self.material.before;
        let dry = crate::assess::Prospect::new(
            &before.assets[self.index],
            &conditions,
            &before.uncertainty,
            before.site.barometer_kpa.value,
        )?;
        // RH = e_s(T_jacket)/e_s(T_air), both over liquid water as sensors are scaled
        let at_jacket_pa = air::vapour_pressure_pa(dry.sound.value, 100.0).ok()?;
        let at_air_pa = air::vapour_pressure_pa(conditions.air_c, 100.0).ok()?;
        let most_pct = (100.0 * at_jacket_pa / at_air_pa).floor().clamp(0.0, 100.0);
        Some(format!(
            "drier air: below {most_pct:.0} % at this temperature the sound jacket stays dry; note on the walk where it drips"
        ))
    }
}
