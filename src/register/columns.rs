//! What each column and key means, for whoever fills the sheets in. The words accepted are those that the register reads.

use super::units::{twin_of, unit_of};
use super::words::{Answer, ScaleWord, ShapeWord, Word};
use super::{Coating, Cycling, Setting, ShellMaterial, Side, Sun, assets, frames};
use crate::heat::insulation::Insulation;
use crate::heat::jacket::Jacket;

/// A column of a sheet explained.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its name.
    pub name: &'static str,
    /// Who needs it.
    pub need: &'static str,
    /// What it holds.
    pub meaning: &'static str,
    /// The words accepted; empty where it holds no word.
    pub words: Vec<&'static str>,
    /// Its name in the other unit, where there is one.
    pub twin: Option<String>,
}

impl Column {
    /// The explanation in one cell.
    #[must_use]
    pub fn told(&self) -> String {
        let mut text = format!("{}: {}", self.need, self.meaning);
        if !self.words.is_empty() {
            text.push_str(&format!(" ({})", self.words.join(", ")));
        }
        text
    }
}

/// Columns of assets.csv, the required ones first.
#[must_use]
pub fn of_assets() -> Vec<Column> {
    ASSETS
        .iter()
        .map(|entry| column(entry, assets_words(entry.0)))
        .collect()
}

/// Columns of frames.csv, the usual ones first.
#[must_use]
pub fn of_frames() -> Vec<Column> {
    FRAMES
        .iter()
        .map(|entry| column(entry, frames_words(entry.0)))
        .collect()
}

type Entry = (&'static str, &'static str, &'static str);

fn column(&(name, need, meaning): &Entry, words: Vec<&'static str>) -> Column {
    debug_assert!(assets::COLUMNS.contains(&name) || frames::COLUMNS.contains(&name));
    let is_numeric = unit_of(name).told(0.0) != "0";
    Column {
        name,
        need,
        meaning,
        words,
        twin: twin_of(name).map(|(twin, _)| twin).filter(|_| is_numeric),
    }
}

fn words<W: Word>() -> Vec<&'static str> {
    W::words().into_iter().map(|(word, _)| word).collect()
}

fn assets_words(name: &str) -> Vec<&'static str> {
    match name {
        "shape" => words::<ShapeWord>(),
        "insulation" => words::<Insulation>(),
        "jacket" => words::<Jacket>(),
        "setting" => words::<Setting>(),
        "shell_material" => words::<ShellMaterial>(),
        "coating" => words::<Coating>(),
        "cycling" => words::<Cycling>(),
        _ => Vec::new(),
    }
}

fn frames_words(name: &str) -> Vec<&'static str> {
    match name {
        "temperature_scale" => words::<ScaleWord>(),
        "already_corrected" => words::<Answer>(),
        "sun" => words::<Sun>(),
        "datum_side" => words::<Side>(),
        _ => Vec::new(),
    }
}

const ASSETS: [Entry; 25] = [
    ("asset", "required", "tag, once each"),
    (
        "shape",
        "required",
        "a vessel or pipe by the lie of its axis, or a plane wall",
    ),
    ("outside_diameter_mm", "cylinders", "diameter over the jacket"),
    ("length_mm", "required", "tangent line to tangent line; width of a flat"),
    ("height_mm", "flats", "height"),
    ("insulation", "required", "material"),
    ("insulation_thickness_mm", "required", "thickness"),
    ("jacket", "required", "outer finish"),
    (
        "service_temperature_c",
        "this or a pressure",
        "temperature of the fluid inside",
    ),
    (
        "suction_pressure_kpa_gauge",
        "this or a temperature",
        "then the fluid is saturated ammonia; below atmosphere negative",
    ),
    (
        "suction_pressure_inhg_vacuum",
        "this or a temperature",
        "the same as a vacuum",
    ),
    ("setting", "required", "where it stands"),
    ("area", "optional", "part of the plant, by which the walk is planned"),
    (
        "insulation_conductivity_w_mk",
        "optional",
        "overrides the material's own value",
    ),
    (
        "emissivity",
        "optional",
        "of the jacket, above 0 up to 1; overrides its own value",
    ),
    (
        "coldest_metal_c",
        "optional",
        "coldest metal over the year's cycle; else the service temperature",
    ),
    (
        "warmest_metal_c",
        "optional",
        "warmest metal over the year's cycle (defrost, pump-out, standby)",
    ),
    ("insulated_year", "optional", "year in which the insulation was put on"),
    ("shell_material", "optional", "material of the shell"),
    ("coating", "optional", "coating under the insulation, as last seen"),
    (
        "cycling",
        "optional",
        "whether the metal cycles through freezing in service",
    ),
    (
        "consequence",
        "optional",
        "consequence of a leak here, 1 (least) to 5 (most)",
    ),
    (
        "former_tag",
        "optional",
        "its tag in earlier surveys, where it was another",
    ),
    (
        "datum_swapped_on",
        "optional",
        "date since which the datum is the other end, where it was swapped",
    ),
    ("note", "optional", "free words"),
];

const FRAMES: [Entry; 28] = [
    (
        "file",
        "required",
        "path from the survey folder; one file may stand in several rows, one an asset",
    ),
    ("asset", "required", "a tag of the sheet assets"),
    ("temperature_scale", "required", "how stored values become temperatures"),
    (
        "air_temperature_c",
        "required, here or under [defaults]",
        "air at the asset",
    ),
    (
        "relative_humidity_pct",
        "wanted",
        "of the air, relative to liquid water",
    ),
    ("wind_m_s", "wanted", "wind at the asset"),
    ("reflected_temperature_c", "wanted", "reflected apparent temperature"),
    ("distance_m", "wanted", "from the camera to the jacket"),
    ("sun", "wanted", "sun on the jacket"),
    (
        "facing_clock",
        "horizontal cylinders",
        "clock position that faces the camera, seen from the datum end, such as 3 or 10:30",
    ),
    (
        "facing_bearing_deg",
        "vertical cylinders, flats",
        "compass bearing of the face seen",
    ),
    (
        "datum_side",
        "optional",
        "where the datum end lies in the image; left, or bottom for a vertical cylinder, if blank",
    ),
    (
        "view_start_mm",
        "where the asset is not wholly in view",
        "from the datum tangent line to the image's datum-side edge",
    ),
    ("camera", "optional", "a NAME of [cameras.NAME] in survey.toml"),
    ("captured_at", "optional", "ISO 8601 time of capture"),
    (
        "visible_file",
        "optional",
        "photograph of the same view, path from the survey folder",
    ),
    ("note", "optional", "free words"),
    (
        "bar_low_c",
        "colour-bar",
        "temperature at the low end of the colour bar",
    ),
    ("bar_high_c", "colour-bar", "temperature at its high end"),
    (
        "bar_box_px",
        "optional",
        "x y w h of the bar's colours in pixels, should it not be found",
    ),
    ("scale_gain_k", "linear", "kelvin a count"),
    ("scale_offset_c", "linear", "temperature of count 0"),
    ("no_data", "optional", "a stored value that means no reading"),
    (
        "already_corrected",
        "optional",
        "whether the file holds surface temperatures; no if blank",
    ),
    (
        "file_emissivity",
        "already corrected",
        "emissivity that the file was corrected with",
    ),
    (
        "file_reflected_temperature_c",
        "already corrected",
        "reflected temperature that it was corrected with",
    ),
    (
        "transmittance",
        "optional",
        "of the air path, 0.05 to 1; asked for beyond 10 m",
    ),
    (
        "vessel_outline_px",
        "optional",
        "x1 y1 x2 y2 x3 y3 …: the asset's outline by hand",
    ),
];

#[cfg(test)]
mod tests {
    use super::*;

    fn sorted(names: impl IntoIterator<Item = &'static str>) -> Vec<&'static str> {
        let mut names: Vec<_> = names.into_iter().collect();
        names.sort_unstable();
        names
    }

    #[test]
    fn every_column_that_is_read_is_explained() {
        assert_eq!(sorted(of_assets().iter().map(|c| c.name)), sorted(assets::COLUMNS));
        assert_eq!(sorted(of_frames().iter().map(|c| c.name)), sorted(frames::COLUMNS));
    }

    #[test]
    fn units_have_their_twins_and_words_their_list() {
        let find = |name: &str| of_assets().into_iter().find(|c| c.name == name).unwrap();
        assert_eq!(find("length_mm").twin.as_deref(), Some("length_in"));
        assert_eq!(
            find("suction_pressure_kpa_gauge").twin.as_deref(),
            Some("suction_pressure_psig")
        );
        assert_eq!(find("asset").twin, None);
        assert!(find("jacket").words.contains(&"pvc"));
        assert_eq!(find("setting").told(), "required: where it stands (indoor, outdoor)");
    }
}
