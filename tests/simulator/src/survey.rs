//! A whole survey folder from scenes: sheets, images and the truth.

mod known;
mod sheet;

use std::error::Error;
use std::fs;
use std::path::Path;

use serde::Serialize;

use crate::encode::{Format, encode};
use crate::picture::{Rendered, render};
use crate::scene::Scene;
use crate::screen;

/// Indoor or outdoor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Setting {
    /// Under a roof.
    Indoor,
    /// In the open.
    Outdoor,
}

/// Whether the sheet states a property or leaves it to the material's table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Given {
    /// The sheet states it.
    Stated,
    /// The cell stays blank.
    Tabulated,
}

/// How the sheet gives the temperature inside.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Service {
    /// As a temperature.
    Temperature,
    /// As the gauge pressure of saturated ammonia.
    SuctionPressure,
}

/// What the sheets say about one frame and its asset, beside what follows from the scene.
#[derive(Debug, Clone, Serialize)]
pub struct Sheet {
    /// Tag; entries with the same tag are frames of the same asset, whose row comes from the first of them.
    pub asset: String,
    /// Insulation key.
    pub insulation: String,
    /// Jacket key.
    pub jacket: String,
    /// Indoor or outdoor.
    pub setting: Setting,
    /// Conductivity in the sheet.
    pub conductivity: Given,
    /// Emissivity in the sheet.
    pub emissivity: Given,
    /// Service temperature or suction pressure.
    pub service: Service,
    /// File name without folder and ending.
    pub name: String,
    /// File format of the readings.
    pub format: Format,
    /// How a screen shows the frame, if the file is such a picture and no readings.
    pub screen: Option<screen::Look>,
    /// Whether the field of view of a camera that stands near is in the sheet.
    pub field_of_view: Given,
    /// Further cells of the asset's row: column, value.
    pub asset_cells: Vec<(String, String)>,
    /// Further cells of the frame's row: column, value.
    pub frame_cells: Vec<(String, String)>,
}

impl Sheet {
    /// An indoor PIR vessel with a PVC jacket; conductivity and emissivity stated; 16-bit TIFF.
    pub fn usual(asset: &str, name: &str) -> Self {
        Self {
            asset: asset.into(),
            insulation: "pir".into(),
            jacket: "pvc".into(),
            setting: Setting::Indoor,
            conductivity: Given::Stated,
            emissivity: Given::Stated,
            service: Service::Temperature,
            name: name.into(),
            format: Format::TiffCentikelvin,
            screen: None,
            field_of_view: Given::Stated,
            asset_cells: Vec::new(),
            frame_cells: Vec::new(),
        }
    }
}

impl Sheet {
    /// The word for the scale in frames.csv.
    fn scale(&self) -> &'static str {
        if self.screen.is_some() {
            "colour-bar"
        } else {
            self.format.scale()
        }
    }

    /// File name ending.
    fn ending(&self) -> &'static str {
        match self.screen.map(|look| look.form) {
            Some(screen::Form::Png) => "png",
            Some(screen::Form::Jpeg(_)) => "jpg",
            None => self.format.ending(),
        }
    }
}

/// One frame of a survey.
#[derive(Debug, Clone)]
pub struct Entry {
    /// What is there.
    pub scene: Scene,
    /// Seed of everything random in the picture.
    pub seed: u64,
    /// What the sheets say.
    pub sheet: Sheet,
}

/// Whether sheets and camera err as the survey's default `[uncertainty]` allows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SheetErrors {
    /// Sheets tell the truth, the camera's offset is the scene's.
    Exact,
    /// Normal errors whose 95 % half-widths are the default uncertainties, from this seed.
    Drawn(u64),
}

/// A survey to write.
#[derive(Debug, Clone)]
pub struct SurveyPlan {
    /// Title.
    pub title: String,
    /// Plant.
    pub plant: String,
    /// Date, ISO 8601.
    pub date: String,
    /// Inspector.
    pub inspector: String,
    /// Height of the site, m.
    pub altitude_m: f64,
    /// Lines appended to survey.toml as they stand.
    pub further_toml: String,
    /// Name of the truth file.
    pub truth_file: String,
    /// The frames.
    pub entries: Vec<Entry>,
    /// Errors of sheets and camera.
    pub errors: SheetErrors,
}

impl SurveyPlan {
    /// A plan for scenes that are each an asset of their own, tagged `T-001` … in turn; seeds count from `first_seed`.
    pub fn of_scenes(scenes: Vec<Scene>, errors: SheetErrors, first_seed: u64) -> Self {
        let entry = |(k, scene): (usize, Scene)| {
            let tag = format!("T-{:03}", k + 1);
            let name = tag.to_lowercase();
            Entry {
                scene,
                seed: first_seed + k as u64,
                sheet: Sheet::usual(&tag, &name),
            }
        };
        Self {
            title: "Simulated scenes".into(),
            plant: "Simulated".into(),
            date: "2026-03-03".into(),
            inspector: "simulator".into(),
            altitude_m: 0.0,
            further_toml: String::new(),
            truth_file: "truth.json".into(),
            entries: scenes.into_iter().enumerate().map(entry).collect(),
            errors,
        }
    }
}

/// Writes a survey folder (created if missing; files of the same names are replaced).
///
/// # Errors
/// Those of writing files.
pub fn write_survey(folder: &Path, plan: &SurveyPlan) -> Result<(), Box<dyn Error>> {
    write_survey_with(folder, plan, |_, _| {})
}

/// As [`write_survey`], and hands every entry (with the errors drawn for it applied) and its picture to `watch`.
///
/// # Errors
/// Those of writing files.
pub fn write_survey_with(
    folder: &Path,
    plan: &SurveyPlan,
    mut watch: impl FnMut(&Entry, &Rendered),
) -> Result<(), Box<dyn Error>> {
    let images = folder.join("images");
    fs::create_dir_all(&images)?;
    let mut assets = sheet::Table::new();
    let mut frames = sheet::Table::new();
    let mut known = Vec::new();
    let mut tags: Vec<&str> = Vec::new();
    for original in &plan.entries {
        let mut entry = original.clone();
        let stated = sheet::state(&mut entry, plan.errors);
        let mut rendered = render(&entry.scene, entry.seed);
        let file = format!("{}.{}", entry.sheet.name, entry.sheet.ending());
        let shown = entry
            .sheet
            .screen
            .map(|look| (look.form, look.show(&rendered.apparent_c)));
        let bytes = match &shown {
            Some((form, shown)) => shown.file(*form)?,
            None => encode(&rendered.apparent_c, entry.sheet.format)?,
        };
        fs::write(images.join(&file), bytes)?;
        if !tags.contains(&original.sheet.asset.as_str()) {
            tags.push(&original.sheet.asset);
            assets.push(sheet::asset_row(&entry, &stated, plan.altitude_m));
        }
        let path = format!("images/{file}");
        let mut row = sheet::frame_row(&entry, &stated, &rendered.truth, &path);
        if let Some((_, shown)) = shown {
            row.extend(shown.cells());
            rendered = shown.framed(rendered);
        }
        frames.push(row);
        known.push(known::frame(&entry, &stated, &rendered.truth, &path));
        watch(&entry, &rendered);
    }
    fs::write(folder.join("assets.csv"), assets.to_csv()?)?;
    fs::write(folder.join("frames.csv"), frames.to_csv()?)?;
    fs::write(folder.join("survey.toml"), sheet::survey_toml(plan))?;
    let truth = known::file(plan, known);
    fs::write(folder.join(&plan.truth_file), serde_json::to_string(&truth)? + "\n")?;
    Ok(())
}

#[cfg(test)]
mod tests;
