//! The sample survey: an invented cold store, simulated throughout.

mod indoor;
mod outdoor;

use std::error::Error;
use std::fs;
use std::path::Path;

use crate::encode::Format;
use crate::scene::{Background, Camera, Conditions, Scene};
use crate::survey::{Entry, Given, Setting, Sheet, SheetErrors, SurveyPlan, write_survey};

/// Seed the sheets' and the camera's errors are drawn from.
const ERROR_SEED: u64 = 20_260_305;

const FURTHER_TOML: &str = "
[defaults]
distance_m = 3.0
sun = \"none\"
camera = \"hand-held\"

[uncertainty]
air_temperature_k = 0.5
reflected_temperature_k = 1.0
emissivity = 0.02
service_temperature_k = 1.0
wind_pct = 25
relative_humidity_pct = 3
insulation_thickness_pct = 5
camera_accuracy_k = 2.0
conductivity_pct = 10

[energy]
price_per_kwh = 0.21
currency = \"EUR\"
cop = 2.1

[cameras.hand-held]
band_um = [8.0, 14.0]
noise_k = 0.05
accuracy_k = 2.0
";

const ORIGIN: &str = "# Origin of these sample images

Every image here is simulated. Quillmere Cold Store is invented: there is no such plant, and no person, vessel or camera
stands behind these files. Nothing was measured.

They are written by the project's own simulator, `tests/simulator`, by

    cargo run --release -p coldjacket-simulator --bin make-samples

which gives the same bytes every time. The simulator solves conduction in the insulation by finite volumes, with film
coefficients and radiation worked out apart from the program that reads the images, and adds camera blur, noise, dead
pixels, an offset of the whole frame, emissivity that falls with angle, and reflection. The sheets err against the truth as
far as `[uncertainty]` in survey.toml says (seed 20260305).

`TRUTH.json` holds what is really there: for every frame the scene it was made from, the asset's outline and pixels, and for
every wet patch its pixels, area, place, conductivity over dry and surface contrast.

`images/va-102_broken.tif` is cut short on purpose.

Licence: as the project itself.
";

/// What makes a frame of the sample survey, before it is numbered.
pub(crate) struct Shot {
    scene: Scene,
    sheet: Sheet,
}

impl Shot {
    fn new(scene: Scene, asset: &str, name: &str) -> Self {
        let mut sheet = Sheet::usual(asset, name);
        // Every frame is said to be of the one hand-held camera, whose field of view nobody knows.
        sheet.field_of_view = Given::Tabulated;
        Self { scene, sheet }
    }

    fn format(mut self, format: Format) -> Self {
        self.sheet.format = format;
        self
    }

    fn outdoor(mut self) -> Self {
        self.sheet.setting = Setting::Outdoor;
        self
    }

    fn frame_cell(mut self, column: &str, value: &str) -> Self {
        self.sheet.frame_cells.push((column.into(), value.into()));
        self
    }

    fn asset_cell(mut self, column: &str, value: &str) -> Self {
        self.sheet.asset_cells.push((column.into(), value.into()));
        self
    }

    /// Year of insulation, coating, cycling, consequence.
    fn history(self, year: &str, coating: &str, cycling: &str, consequence: &str) -> Self {
        self.asset_cell("insulated_year", year)
            .asset_cell("shell_material", "carbon-steel")
            .asset_cell("coating", coating)
            .asset_cell("cycling", cycling)
            .asset_cell("consequence", consequence)
    }
}

/// A room: air, humidity, and a wall a little off the jacket's temperature.
fn furnish(scene: &mut Scene, air_c: f64, humidity_pct: f64, wall_c: f64) {
    scene.conditions = Conditions::indoor(air_c, humidity_pct);
    scene.conditions.reflected_c = air_c - 0.3;
    scene.conditions.stratification_k_m = 0.15;
    scene.background = Background::plain(wall_c);
    scene.background.slope_k_m = (0.04, 0.15);
    scene.background.texture_k = 0.08;
    scene.background.clutter = 4;
    scene.background.clutter_k = 0.9;
    scene.vessel.unevenness = 0.015;
}

/// A level camera of 320×240 pixels.
fn level_camera(scale_px_m: f64, aim_m: (f64, f64)) -> Camera {
    let mut camera = Camera::facing(320, 240, scale_px_m, aim_m);
    camera.rotation_deg = 0.4;
    camera
}

/// The sample survey as a plan.
pub fn sample_plan() -> SurveyPlan {
    let shots = indoor::shots().into_iter().chain(outdoor::shots());
    let entries = shots.enumerate().map(|(k, shot)| Entry {
        scene: shot.scene,
        seed: 7_000 + k as u64,
        sheet: shot.sheet,
    });
    SurveyPlan {
        title: "Insulation survey, machinery hall and yard (simulated)".into(),
        plant: "Quillmere Cold Store (invented)".into(),
        date: "2026-03-03".into(),
        inspector: "nobody: simulated data".into(),
        altitude_m: 310.0,
        further_toml: FURTHER_TOML.into(),
        truth_file: "TRUTH.json".into(),
        entries: entries.collect(),
        errors: SheetErrors::Drawn(ERROR_SEED),
    }
}

/// Writes the sample survey folder.
///
/// # Errors
/// Those of writing files.
pub fn write_samples(folder: &Path) -> Result<(), Box<dyn Error>> {
    write_survey(folder, &sample_plan())?;
    fs::write(folder.join("ORIGIN.md"), ORIGIN)?;
    Ok(())
}
