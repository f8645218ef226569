//! One frame of a study: what is there, and what the sheets say.

use coldjacket_simulator::Scene;
use coldjacket_simulator::random::Prng;
use coldjacket_simulator::screen::Look;
use coldjacket_simulator::survey::{Entry, Given, Setting, Sheet};

/// Absorbed sunshine from which a sheet says that the sun shines directly, W/m².
const DIRECT_SUN_W_M2: f64 = 100.0;

/// One frame of a study.
#[derive(Debug, Clone)]
pub struct Case {
    /// Name, of the frame and of its asset.
    pub name: String,
    /// What the study varies here, in its own words: a row of a table.
    pub row: String,
    /// What is there.
    pub scene: Scene,
    /// Seed of everything random in the picture.
    pub seed: u64,
    /// How a screen shows the frame, where the survey has its picture and no readings.
    pub screen: Option<Look>,
    /// Whether the sheet says the field of view of a camera that stands near.
    pub field_of_view: Given,
}

impl Case {
    /// The survey's entry: the sheet says outdoors and what the sun does where there is a sky.
    pub fn entry(&self) -> Entry {
        let mut sheet = Sheet::usual(&self.name, &self.name);
        sheet.screen = self.screen;
        sheet.field_of_view = self.field_of_view;
        let conditions = &self.scene.conditions;
        let sun = match conditions.sun_w_m2 {
            w if w >= DIRECT_SUN_W_M2 => "direct",
            w if w > 0.0 => "overcast",
            _ => "none",
        };
        if conditions.sun_w_m2 > 0.0 || conditions.overhead_offset_k < 0.0 {
            sheet.setting = Setting::Outdoor;
            sheet.frame_cells.push(("sun".into(), sun.into()));
        }
        Entry {
            scene: self.scene.clone(),
            seed: self.seed,
            sheet,
        }
    }
}

/// The generator of case number `index` of a part of the study: more cases leave the earlier ones as they were.
pub fn generator(seed: u64, index: usize) -> Prng {
    Prng::new(seed.wrapping_mul(1_000_003).wrapping_add(index as u64))
}
