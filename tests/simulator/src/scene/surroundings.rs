//! Air, radiant surroundings, background and camera.

use serde::Serialize;

/// What surrounds the asset.
#[derive(Debug, Clone, Serialize)]
pub struct Conditions {
    /// Air temperature at mid-height of the asset, °C.
    pub air_c: f64,
    /// Temperature of the radiant surroundings, °C: what the jacket exchanges with and reflects.
    pub reflected_c: f64,
    /// Radiant surroundings above minus those level with the asset, K (cold sky: −30; warm ceiling: +2).
    pub overhead_offset_k: f64,
    /// Wind, m/s.
    pub wind_m_s: f64,
    /// Relative humidity over water, %.
    pub relative_humidity_pct: f64,
    /// Rise of the air temperature with height, K/m.
    pub stratification_k_m: f64,
    /// Condensation on jacket below the dew point releases heat.
    pub condensing: bool,
    /// Absorbed sunshine on a surface facing straight up, W/m².
    pub sun_w_m2: f64,
    /// Relative rise of natural convection at the top of a level cylinder over its mean, fall at the bottom.
    pub film_unevenness: f64,
}

impl Conditions {
    /// Still indoor air with the radiant surroundings at air temperature.
    pub fn indoor(air_c: f64, relative_humidity_pct: f64) -> Self {
        Self {
            air_c,
            reflected_c: air_c,
            overhead_offset_k: 0.0,
            wind_m_s: 0.0,
            relative_humidity_pct,
            stratification_k_m: 0.0,
            condensing: false,
            sun_w_m2: 0.0,
            film_unevenness: 0.08,
        }
    }
}

/// What is seen where no asset is.
#[derive(Debug, Clone, Serialize)]
pub struct Background {
    /// Apparent temperature of the wall at the picture's middle, °C.
    pub wall_c: f64,
    /// Slope to the right and upwards, K/m.
    pub slope_k_m: (f64, f64),
    /// Floor: metres below the asset's axis (or a flat's bottom edge) where it starts, and its apparent temperature, °C.
    pub floor: Option<(f64, f64)>,
    /// Standard deviation of a smooth random texture, K.
    pub texture_k: f64,
    /// Number of random boxes and pipes on the wall.
    pub clutter: usize,
    /// Largest departure of those from the wall, K.
    pub clutter_k: f64,
}

impl Background {
    /// An even wall.
    pub fn plain(wall_c: f64) -> Self {
        Self {
            wall_c,
            slope_k_m: (0.0, 0.0),
            floor: None,
            texture_k: 0.05,
            clutter: 0,
            clutter_k: 0.0,
        }
    }
}

/// Side of the picture towards which the datum end lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum DatumSide {
    /// Left edge.
    Left,
    /// Right edge.
    Right,
    /// Bottom edge.
    Bottom,
    /// Top edge.
    Top,
}

/// The camera and its faults.
#[derive(Debug, Clone, Serialize)]
pub struct Camera {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Scale in the plane through the axis, px/m.
    pub pixels_per_metre: f64,
    /// Point of that plane at the picture's middle, (axial, across) m; on a flat (along, height).
    pub aim_m: (f64, f64),
    /// Turn of the asset in the picture, degrees, clockwise.
    pub rotation_deg: f64,
    /// Where the datum end lies.
    pub datum_side: DatumSide,
    /// Distance from the axis plane, m; `None` is a parallel projection.
    pub perspective_m: Option<f64>,
    /// Standard deviation of the optical blur, px.
    pub blur_px: f64,
    /// Noise of a pixel (standard deviation), K.
    pub noise_k: f64,
    /// Error of the whole frame, K.
    pub offset_k: f64,
    /// Share of dead pixels.
    pub dead_share: f64,
    /// Standard deviation of fixed column noise, K.
    pub column_noise_k: f64,
    /// Fall of the reading from the middle to the corners, K.
    pub vignetting_k: f64,
    /// Lowest and highest reading the camera can give, °C.
    pub range_c: (f64, f64),
}

impl Camera {
    /// A usual camera: 50 mK noise, 0.7 px blur, three dead pixels in ten thousand.
    pub fn facing(width: usize, height: usize, pixels_per_metre: f64, aim_m: (f64, f64)) -> Self {
        Self {
            width,
            height,
            pixels_per_metre,
            aim_m,
            rotation_deg: 0.0,
            datum_side: DatumSide::Left,
            perspective_m: None,
            blur_px: 0.7,
            noise_k: 0.05,
            offset_k: 0.0,
            dead_share: 0.0003,
            column_noise_k: 0.0,
            vignetting_k: 0.0,
            range_c: (-60.0, 150.0),
        }
    }
}
