//! One frame's whole way: read → calibrate → locate → detect → expect, and then, once all frames of the asset are in,
//! → assess. The file to read first.

mod bar;
mod picture;
mod report;

use std::borrow::Cow;
use std::path::Path;
use std::sync::Arc;

use crate::assess::cause::Action;
use crate::assess::usability::{self, Usability};
use crate::assess::{self, Circumstances, Extent, Finding, Shortfall, WetAllOver};
use crate::calibrate::{self, Correct, Reading, SurfaceMap};
use crate::clock::{Clock, Stage};
use crate::detect::coverage::{Coverage, Facing};
use crate::detect::jacket::Jacket;
use crate::detect::{self, Detection, Look, clipping, sharpness};
use crate::digest;
use crate::locate::eye::Pinhole;
use crate::locate::figure::Surface;
use crate::locate::{self, Trust, View};
use crate::radiation::fresnel::AngularLaw;
use crate::radiation::measurement::Scene;
use crate::radiation::planck::BandRadiance;
use crate::rank::join::Seen;
use crate::rank::place::{self, Place};
use crate::read;
use crate::register::{Asset, Correction, FrameRow, Register};
use crate::settings::Settings;
pub use picture::Picture;
pub use report::{FrameReport, SeenJacket, assumed_of};

/// What one frame gave.
#[derive(Debug)]
pub struct Inspection {
    /// What the record says of the frame.
    pub report: FrameReport,
    /// What was detected, where the frame is usable.
    pub detected: Option<Detected>,
    /// What the frame shows of the asset.
    pub coverage: Option<Coverage>,
    /// What is drawn, where the frame could be read.
    pub picture: Option<Picture>,
}

/// What one frame gave without its picture: all that ranking and lists need, so that it may travel.
#[derive(Debug, serde::Serialize, serde::Deserialize)]
pub struct Outcome {
    /// What the record says of the frame.
    pub report: FrameReport,
    /// What was detected, where the frame is usable.
    pub detected: Option<Detected>,
    /// What the frame shows of the asset.
    pub coverage: Option<Coverage>,
}

/// The same, still part of an inspection: written alike.
#[derive(Debug, serde::Serialize)]
pub struct OutcomeOf<'a> {
    report: &'a FrameReport,
    detected: &'a Option<Detected>,
    coverage: &'a Option<Coverage>,
}

impl<'a> From<&'a Inspection> for OutcomeOf<'a> {
    fn from(inspection: &'a Inspection) -> Self {
        Self {
            report: &inspection.report,
            detected: &inspection.detected,
            coverage: &inspection.coverage,
        }
    }
}

impl Outcome {
    /// As the outcome of the frame that stands at `index` of the register; None where its coverage is of another shape.
    #[must_use]
    pub fn placed(mut self, register: &Register, index: usize) -> Option<Self> {
        let shape = &register.assets[register.frames.get(index)?.asset].shape;
        self.report.frame = index;
        let fits = self.coverage.as_ref().is_none_or(|coverage| coverage.is_of(shape));
        fits.then_some(self)
    }
}

impl From<Inspection> for Outcome {
    fn from(inspection: Inspection) -> Self {
        Self {
            report: inspection.report,
            detected: inspection.detected,
            coverage: inspection.coverage,
        }
    }
}

impl From<Outcome> for Inspection {
    fn from(outcome: Outcome) -> Self {
        Self {
            report: outcome.report,
            detected: outcome.detected,
            coverage: outcome.coverage,
            picture: None,
        }
    }
}

/// What a usable frame detected, before it is known whether its asset is wet all over.
#[derive(Debug, serde::Serialize, serde::Deserialize)]
pub struct Detected {
    detection: Detection,
    shortfall: Option<Shortfall>,
    scale_px_m: f64,
    /// For each zone, how much of it is a bound.
    bounded: Vec<Option<bar::Bounded>>,
    bar_u_k: f64,
}

impl Detected {
    /// How far the sound jacket falls short of dry; `None` where it is doubtful that it is the asset's jacket.
    #[must_use]
    pub fn shortfall(&self) -> Option<Shortfall> {
        self.shortfall
    }
}

/// A frame and all that the sheets say of it.
pub struct Task<'a> {
    /// The register.
    pub register: &'a Register,
    /// Index of the frame.
    pub index: usize,
    /// The survey folder.
    pub folder: &'a Path,
    /// Thresholds.
    pub settings: &'a Settings,
    /// The camera's band.
    pub band: &'a Arc<BandRadiance>,
    /// Told what each stage takes.
    pub clock: &'a Clock,
}

impl Task<'_> {
    fn row(&self) -> &FrameRow {
        &self.register.frames[self.index]
    }

    fn asset(&self) -> &Asset {
        &self.register.assets[self.row().asset]
    }
}

/// The bytes of a frame's file.
#[derive(Debug)]
pub struct ImageFile {
    bytes: Vec<u8>,
    /// Their SHA-256, hexadecimal.
    pub sha256: String,
}

/// Reads a frame's file.
///
/// # Errors
/// The inspection of a frame whose file cannot be read.
pub fn read_file(task: &Task) -> Result<ImageFile, Box<Inspection>> {
    let path = task.folder.join(&task.row().file);
    let read = task.clock.time(Stage::Read, || {
        let bytes = read::read_bytes(&path, &task.settings.limits);
        bytes.map(|bytes| ImageFile {
            sha256: digest::sha256(&bytes),
            bytes,
        })
    });
    read.map_err(|problem| Box::new(FrameReport::new(task).refused(problem.to_string())))
}

/// Inspects one frame. A frame that cannot be used is an inspection with its reason, never an error.
#[must_use]
pub fn inspect(task: &Task) -> Inspection {
    match read_file(task) {
        Ok(file) => inspect_file(task, file),
        Err(refused) => *refused,
    }
}

/// Inspects a frame whose file has been read.
#[must_use]
pub fn inspect_file(task: &Task, file: ImageFile) -> Inspection {
    let mut report = FrameReport::new(task);
    let clock = task.clock;
    report.sha256 = Some(file.sha256);
    let raw = match clock.time(Stage::Decode, || read::decode(&file.bytes, &task.settings.limits)) {
        Ok(raw) => raw,
        Err(problem) => return report.refused(problem.to_string()),
    };
    drop(file.bytes);
    report.take_file(&raw);
    match clock.time(Stage::Calibrate, || calibrate::calibrate(&raw, &task.reading())) {
        Ok(map) => task.judge(map, report),
        Err(problem) => report.refused(problem.to_string()),
    }
}

impl Task<'_> {
    fn reading(&self) -> Reading<'_> {
        let row = self.row();
        Reading {
            scale: &row.stored.scale,
            no_data: row.stored.no_data,
            correction: &row.stored.correction,
            band: self.band,
        }
    }

    /// The frame's camera as a pinhole, where its field of view is stated.
    fn pinhole(&self, (rows, columns): (usize, usize)) -> Option<Pinhole> {
        Some(Pinhole {
            focal_px: self.register.camera_of(self.row())?.focal_px(columns, rows)?,
            middle_px: [columns, rows].map(|side| (side as f64 - 1.0) / 2.0),
        })
    }

    /// How apparent temperatures become the jacket's.
    fn correct(&self) -> Correct<'_> {
        let (row, asset) = (self.row(), self.asset());
        let conditions = &row.conditions;
        let as_is = matches!(row.stored.correction, Correction::Corrected { emissivity: None, .. })
            || matches!(row.stored.correction, Correction::Corrected { reflected_c: None, .. });
        let law = if asset.jacket.is_bare_metal() {
            AngularLaw::BareMetal
        } else {
            AngularLaw::Coating
        };
        let scene = Scene {
            emissivity: asset.emissivity.value,
            reflected_c: conditions.reflected_c.unwrap_or(conditions.air_c),
            transmittance: conditions.transmittance.unwrap_or(1.0),
            path_air_c: conditions.air_c,
        };
        Correct {
            band: self.band,
            scene: (!as_is).then_some(scene),
            law,
        }
    }

    fn judge(&self, map: SurfaceMap, mut report: FrameReport) -> Inspection {
        let (row, asset, settings) = (self.row(), self.asset(), self.settings);
        let mut verdict = usability::of_conditions(asset, &row.conditions, &settings.usability);
        report.noise_k = Some(map.noise_k);
        if let Some(from_bar) = &map.from_bar {
            report.assumed.push(bar::assumed(from_bar));
            bar::judge(from_bar, &settings.usability, &mut verdict);
        }
        let outlined = (&asset.shape, row.view.as_ref());
        let (turned, located) = self.clock.time(Stage::Locate, || {
            let orientation = locate::orient((&map.apparent_c, map.grain_px), outlined);
            let turned = orientation.turn(&map.apparent_c);
            let located = locate::locate_turned((&turned, orientation), map.noise_k, outlined, &settings.locate);
            (turned, located)
        });
        let mut view = match located {
            Ok(view) => view,
            Err(problem) => {
                let share = map.clipped_share();
                usability::of_clipping(share, share, &settings.usability, &mut verdict);
                return report.unusable(verdict, problem.to_string()).with_picture(map, None);
            }
        };
        // A screen's picture may be cut or enlarged: there the field of view tells nothing.
        let pinhole = self.pinhole(map.apparent_c.dim());
        if let Some(camera) = pinhole.filter(|_| map.from_bar.is_none()) {
            view.place_camera(&camera, &row.view);
            if view.eye.is_none() && view.figure.size.surface == Surface::Round {
                report.assumed.push(TOO_NEAR.to_owned());
            }
        }
        report.take_view(&view, &mut verdict);
        // What stands at the ends of a bar is told by the bar itself.
        if map.from_bar.is_none() {
            let own_share = clipping::clipped_share(&turned, map.at_an_end, &view);
            usability::of_clipping(map.clipped_share(), own_share, &settings.usability, &mut verdict);
        }
        let width_px = self.clock.time(Stage::Detect, || {
            sharpness::edge_width(&turned, map.noise_k, &view).map(|edge| edge.width_px)
        });
        report.edge_width_px = width_px.map(|px| px * view.orientation.grain() as f64);
        usability::of_sharpness(width_px, view.figure.scale_px_m, &settings.usability, &mut verdict);
        // Readings off a bar err alike over several pixels: to take them together would hide that.
        let times = match map.from_bar {
            Some(_) => 1,
            None => detect::taken_together(view.figure.scale_px_m, &settings.detect),
        };
        let scale_px_m = view.figure.scale_px_m;
        let (view, turned) = match times {
            1 => (view, turned),
            _ => self.clock.time(Stage::Detect, || {
                let coarser = view.coarser(times);
                let turned = Cow::Owned(coarser.orientation.turn(&map.apparent_c).into_owned());
                (coarser, turned)
            }),
        };
        let noise_k = map.noise_k / times as f64;
        let correct = self.correct();
        let bar_u_k = map.from_bar.as_ref().map_or(0.0, |bar| bar.reading_u_k);
        let look = Look {
            map: &turned,
            noise_k: noise_k.max(BAR_NOISE * bar_u_k),
            view: &view,
            correct: &correct,
            setting: asset.setting,
            fringe_m: asset.jacket.spread_m(),
        };
        let thresholds = match map.from_bar {
            Some(_) => settings.detect.of_bar(),
            None => settings.detect,
        };
        let detected = self.clock.time(Stage::Detect, || detect::detect(&look, &thresholds));
        let (detection, jacket) = match detected {
            Ok(found) => found,
            Err(problem) => {
                return report.unusable(verdict, problem.to_string()).with_picture(map, None);
            }
        };
        report.take_detection(&detection, settings, &mut verdict);
        let seen = (&jacket, &view);
        bar::judge_jacket(map.from_bar.as_ref(), seen, &settings.usability, &mut verdict);
        let about = self.circumstances(&correct, bar_u_k);
        let expected = self
            .clock
            .time(Stage::Assess, || assess::expect(&detection, &about, &settings.assess));
        let shortfall = match expected {
            Ok(expectation) => report.take_expectation(&expectation),
            Err(problem) => {
                let report = report.unusable(verdict, problem.to_string());
                return report.with_picture(map, Some((&view, &jacket)));
            }
        };
        let usable = verdict.usability() != Usability::Unusable;
        let bounded = bar::bounded(&detection, map.from_bar.as_ref());
        let mut inspection = report.settled(&verdict).with_picture(map, Some((&view, &jacket)));
        if usable {
            inspection.coverage = Some(self.coverage(&jacket, &view));
            inspection.detected = Some(Detected {
                detection,
                shortfall: (view.trust == Trust::Sure).then_some(shortfall),
                scale_px_m,
                bounded,
                bar_u_k,
            });
        }
        inspection
    }

    /// Assesses what the frame detected, once it is known whether the asset is wet all over.
    ///
    /// # Errors
    /// As [`assess::assess`]; a frame that came this far has none.
    pub fn assess(&self, detected: &Detected, general: Option<&WetAllOver>) -> Result<Vec<Seen>, assess::Error> {
        let (row, asset) = (self.row(), self.asset());
        let correct = self.correct();
        let about = self.circumstances(&correct, detected.bar_u_k);
        let mut findings = self.clock.time(Stage::Assess, || {
            assess::assess(&detected.detection, &about, general, &self.settings.assess)
        })?;
        let local = findings.iter_mut().filter(|finding| finding.extent == Extent::Local);
        for (finding, bounded) in local.zip(&detected.bounded) {
            if let Some(bounded) = bounded {
                bar::say_at_least(finding, bounded, &self.settings.assess);
            }
        }
        if detected.shortfall.is_none() {
            findings.iter_mut().for_each(send_no_crew);
        }
        let seen = |finding: Finding| Seen {
            frame: self.index,
            place: Place::of(&finding.zone, &asset.shape, &row.view),
            finding,
            scale_px_m: detected.scale_px_m,
        };
        Ok(findings.into_iter().map(seen).collect())
    }

    fn circumstances<'a>(&'a self, correct: &'a Correct<'a>, bar_u_k: f64) -> Circumstances<'a> {
        let row = self.row();
        let camera = self.register.camera_of(row);
        Circumstances {
            asset: self.asset(),
            conditions: &row.conditions,
            half_widths: &self.register.uncertainty,
            camera_accuracy_k: camera
                .and_then(|c| c.accuracy_k)
                .unwrap_or(self.register.uncertainty.camera_accuracy_k),
            bar_u_k,
            barometer_kpa: self.register.site.barometer_kpa.value,
            correct,
        }
    }

    fn coverage(&self, jacket: &Jacket, view: &View) -> Coverage {
        let (row, asset) = (self.row(), self.asset());
        let facing = place::facing(&asset.shape, &row.view).unwrap_or(Facing {
            facing_deg: 0.0,
            sense: 1.0,
        });
        let mut coverage = Coverage::nothing(&asset.shape);
        coverage.add(jacket, view, facing);
        coverage
    }
}

/// Where it is doubtful that the outline is the asset's, so is every place on it: nobody opens a jacket by it.
fn send_no_crew(finding: &mut Finding) {
    if matches!(
        finding.action,
        Action::OpenAndInspect | Action::ResealJacket | Action::Watch
    ) {
        finding.action = Action::SurveyAgain;
        finding.because.push(
            "it is doubtful that the outline found is the asset's: mark it with vessel_outline_px, or image again, before anything is opened"
                .to_owned(),
        );
    }
}

/// Said where a stated field of view cannot be.
const TOO_NEAR: &str = "with the field_of_view_deg stated the camera would stand within 1.5 radii of the asset's axis: places and areas taken as seen from far away; check field_of_view_deg";

/// What an error of reading off a colour bar counts as noise: steps and compression err alike over several pixels, and do
/// not average out over three by three as noise does.
const BAR_NOISE: f64 = 3.0;
