//! The conditions that a plan reckons through: what the sheets state, what the command line states instead, what is assumed.

use std::collections::BTreeSet;

use super::Material;
use crate::register::before::Expected;
use crate::register::{Conditions, Setting};

/// A quantity's expected value, or the two ends of its range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Low end.
    pub low: f64,
    /// High end; the low one where a single value is expected.
    pub high: f64,
}

impl Span {
    fn ends(self) -> Vec<f64> {
        if self.low == self.high {
            vec![self.low]
        } else {
            vec![self.low, self.high]
        }
    }
}

/// What the command line states instead of the sheets.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Asked {
    /// Air temperature in °C.
    pub air_c: Option<Span>,
    /// Relative humidity in per cent.
    pub relative_humidity_pct: Option<Span>,
    /// Wind in m/s.
    pub wind_m_s: Option<Span>,
    /// Reflected apparent temperature in °C.
    pub reflected_c: Option<Span>,
    /// Distance in m.
    pub distance_m: Option<Span>,
    /// Field of view across the picture in degrees.
    pub field_of_view_deg: Option<f64>,
    /// Pixels across and up the picture.
    pub pixels: Option<[u32; 2]>,
    /// Only the assets of this setting.
    pub setting: Option<Setting>,
}

/// What a camera shows of a scene.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Optics {
    /// Field of view across the picture in degrees.
    pub field_of_view_deg: f64,
    /// Pixels across and up the picture.
    pub pixels: [u32; 2],
    /// Noise of one reading in K.
    pub noise_k: f64,
}

impl Optics {
    /// Width in m that the picture shows at `distance_m`: `2 d tan(FOV/2)`, of a flat scene square on.
    #[must_use]
    pub fn covers_m(&self, distance_m: f64) -> f64 {
        2.0 * distance_m * (self.field_of_view_deg.to_radians() / 2.0).tan()
    }

    /// Pixels a metre at `distance_m`.
    #[must_use]
    pub fn scale_px_m(&self, distance_m: f64) -> f64 {
        f64::from(self.pixels[0]) / self.covers_m(distance_m)
    }
}

/// One set of conditions.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// Conditions; the distance is always there.
    pub conditions: Conditions,
    /// Distance in m.
    pub distance_m: f64,
    /// The camera.
    pub optics: Optics,
    /// What of it was assumed.
    pub assumed: Vec<String>,
}

/// A condition in which cases can differ.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Differing {
    /// Air temperature.
    Air,
    /// Humidity.
    Humidity,
    /// Wind.
    Wind,
    /// Reflected temperature.
    Reflected,
    /// Distance.
    Distance,
    /// Sun.
    Sun,
}

impl Differing {
    /// All of them, in the order in which they are told.
    pub const ALL: [Self; 6] = [
        Self::Air,
        Self::Humidity,
        Self::Wind,
        Self::Reflected,
        Self::Distance,
        Self::Sun,
    ];
}

impl Case {
    /// In what two cases differ.
    #[must_use]
    pub fn differing(&self, other: &Self) -> Vec<Differing> {
        let (a, b) = (&self.conditions, &other.conditions);
        let all = [
            (Differing::Air, a.air_c != b.air_c),
            (Differing::Humidity, a.relative_humidity_pct != b.relative_humidity_pct),
            (Differing::Wind, a.wind_m_s != b.wind_m_s),
            (Differing::Reflected, a.reflected_c != b.reflected_c),
            (Differing::Distance, self.distance_m != other.distance_m),
            (Differing::Sun, a.sun != b.sun),
        ];
        all.into_iter()
            .filter(|(_, differs)| *differs)
            .map(|(what, _)| what)
            .collect()
    }

    /// Those conditions in words.
    #[must_use]
    pub fn words(&self, which: &[Differing]) -> String {
        let stated = |value: Option<f64>, unit: &str| match value {
            Some(value) => format!("{value:.1} {unit}"),
            None => "not stated".to_owned(),
        };
        let words = which.iter().map(|what| match what {
            Differing::Air => format!("air {:.1} °C", self.conditions.air_c),
            Differing::Humidity => format!("humidity {}", stated(self.conditions.relative_humidity_pct, "%")),
            Differing::Wind => format!("wind {}", stated(self.conditions.wind_m_s, "m/s")),
            Differing::Reflected => format!("reflected {}", stated(self.conditions.reflected_c, "°C")),
            Differing::Distance => format!("{:.1} m away", self.distance_m),
            Differing::Sun => format!(
                "sun {}",
                self.conditions.sun.map_or("not stated", crate::register::Sun::key)
            ),
        });
        words.collect::<Vec<_>>().join(", ")
    }
}

/// Every case of an asset, at least one, and where they come from.
pub(super) fn of_asset(material: &Material, index: usize) -> (Vec<Case>, String) {
    let (rows, footing) = base(material, index);
    let asked = material.asked;
    let mut rows = unlike(rows);
    vary(&mut rows, asked.air_c, |row, value| {
        // What surrounds an asset is so much warmer or colder than the air, whatever that is.
        if let (Some(air_c), Some(reflected_c)) = (row.air_c, row.reflected_c) {
            row.reflected_c = Some(reflected_c + value - air_c);
        }
        row.air_c = Some(value);
    });
    vary(&mut rows, asked.relative_humidity_pct, |row, value| {
        row.relative_humidity_pct = Some(value);
    });
    vary(&mut rows, asked.wind_m_s, |row, value| row.wind_m_s = Some(value));
    vary(&mut rows, asked.reflected_c, |row, value| row.reflected_c = Some(value));
    vary(&mut rows, asked.distance_m, |row, value| row.distance_m = Some(value));
    let cases = unlike(rows)
        .into_iter()
        .filter_map(|row| case(material, &row))
        .collect();
    (cases, footing)
}

/// The rows to start from: the asset's own, else the defaults, else what other rows of the same setting expect.
fn base(material: &Material, index: usize) -> (Vec<Expected>, String) {
    let (before, asked) = (material.before, material.asked);
    let setting = before.assets[index].setting;
    let is_known = |row: &Expected| asked.air_c.is_some() || row.air_c.is_some();
    let mine: Vec<Expected> = before
        .rows
        .iter()
        .filter(|row| row.asset == Some(index) && is_known(row))
        .cloned()
        .collect();
    if !mine.is_empty() {
        return (mine, "the asset's own rows of the sheet frames".to_owned());
    }
    if is_known(&before.defaults) {
        let from = if before.defaults.air_c.is_some() && asked.air_c.is_none() {
            "[defaults] of survey.toml"
        } else {
            "the command line"
        };
        return (vec![before.defaults.clone()], from.to_owned());
    }
    let same = |row: &&Expected| {
        let other = row.asset.and_then(|other| before.assets.get(other));
        row.air_c.is_some() && other.is_none_or(|other| other.setting == setting)
    };
    let others: Vec<Expected> = before.rows.iter().filter(same).cloned().collect();
    if !others.is_empty() {
        let from = "rows of the sheet frames that name other assets of the same setting, or none";
        return (others, from.to_owned());
    }
    let (where_, [low_c, high_c]) = match setting {
        Setting::Indoor => ("indoors", material.settings.assumed_air_indoors_c),
        Setting::Outdoor => ("outdoors", material.settings.assumed_air_outdoors_c),
    };
    let at = |air_c| Expected {
        air_c: Some(air_c),
        ..before.defaults.clone()
    };
    let from = format!("an air temperature assumed {where_}, {low_c:.0} to {high_c:.0} °C, as nobody states one");
    (vec![at(low_c), at(high_c)], from)
}

/// Every row at both ends of the span. Rows that differed in this alone are one then.
fn vary(rows: &mut Vec<Expected>, span: Option<Span>, set: impl Fn(&mut Expected, f64)) {
    let Some(span) = span else { return };
    let at = |value: f64| {
        let changed = rows.iter().cloned().map(|mut row| {
            set(&mut row, value);
            row
        });
        changed.collect::<Vec<_>>()
    };
    let varied = span.ends().into_iter().flat_map(at).collect();
    *rows = unlike(varied);
}

/// The rows without those that state the same conditions as one before.
fn unlike(rows: Vec<Expected>) -> Vec<Expected> {
    let mut seen = BTreeSet::new();
    let is_new = |row: &Expected| {
        let numbers = [
            row.air_c,
            row.relative_humidity_pct,
            row.wind_m_s,
            row.reflected_c,
            row.distance_m,
            row.transmittance,
        ];
        seen.insert((
            numbers.map(|number| number.map(f64::to_bits)),
            row.sun.map(crate::register::Sun::key),
            row.camera.clone(),
        ))
    };
    let mut is_new = is_new;
    rows.into_iter().filter(|row| is_new(row)).collect()
}

fn case(material: &Material, row: &Expected) -> Option<Case> {
    let (asked, settings) = (material.asked, material.settings);
    let cameras = &material.before.cameras;
    let named = row.camera.as_ref().and_then(|name| cameras.get(name));
    // Where a plant has one camera, it is that one, named or not.
    let camera = named.or_else(|| (cameras.len() == 1).then(|| cameras.values().next()).flatten());
    let mut assumed = Vec::new();
    let field_of_view_deg = asked
        .field_of_view_deg
        .or(camera.and_then(|camera| camera.field_of_view_deg));
    let stated =
        camera.and_then(|camera| Some([camera.width_px?, camera.height_px.unwrap_or(camera.width_px? * 3 / 4)]));
    let pixels = asked.pixels.or(stated);
    if field_of_view_deg.is_none() {
        assumed.push(format!(
            "field of view not stated: {:.0}° across the picture (common practice, no source)",
            settings.assumed_field_of_view_deg
        ));
    }
    if pixels.is_none() {
        let [columns, rows] = settings.assumed_pixels;
        assumed.push(format!(
            "size of the picture not stated: {columns} × {rows} px (common practice, no source)"
        ));
    }
    if row.distance_m.is_none() {
        assumed.push(format!(
            "distance not stated: {:.0} m (common practice, no source)",
            settings.assumed_distance_m
        ));
    }
    let noise_k = camera.and_then(|camera| camera.noise_k);
    if noise_k.is_none() {
        assumed.push(format!(
            "noise of the camera not stated: {} K",
            settings.assumed_noise_k
        ));
    }
    let distance_m = row.distance_m.unwrap_or(settings.assumed_distance_m);
    Some(Case {
        conditions: Conditions {
            air_c: row.air_c?,
            relative_humidity_pct: row.relative_humidity_pct,
            wind_m_s: row.wind_m_s,
            reflected_c: row.reflected_c,
            distance_m: Some(distance_m),
            transmittance: row.transmittance,
            sun: row.sun,
        },
        distance_m,
        optics: Optics {
            field_of_view_deg: field_of_view_deg.unwrap_or(settings.assumed_field_of_view_deg),
            pixels: pixels.unwrap_or(settings.assumed_pixels),
            noise_k: noise_k.unwrap_or(settings.assumed_noise_k),
        },
        assumed,
    })
}
