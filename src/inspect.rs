//! One frame's whole way: read → calibrate → locate → detect → expect, and then, once all frames of the asset are in,
//! → assess. The file to read first.

mod bar;

use std::path::Path;
use std::sync::Arc;

use ndarray::Array2;
use sha2::{Digest, Sha256};

use crate::assess::usability::{self, Usability, Verdict};
use crate::assess::{self, Circumstances, Expectation, Extent, Finding, Shortfall, WetAllOver};
use crate::calibrate::{self, Correct, Reading, SurfaceMap};
use crate::detect::coverage::{Coverage, Facing};
use crate::detect::jacket::{Cover, Jacket};
use crate::detect::{self, Detection, Look, clipping, sharpness};
use crate::locate::{self, AxialFooting, Trust, View};
use crate::radiation::fresnel::AngularLaw;
use crate::radiation::measurement::Scene;
use crate::radiation::planck::BandRadiance;
use crate::rank::join::Seen;
use crate::rank::place::{self, Place};
use crate::read;
use crate::register::{Asset, Correction, FrameRow, Register, Setting, Source};
use crate::settings::Settings;

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

/// What a usable frame detected, before it is known whether its asset is wet all over.
#[derive(Debug)]
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

/// The material of an annotated picture.
#[derive(Debug)]
pub struct Picture {
    /// Apparent temperature in °C, image orientation.
    pub map_c: Array2<f32>,
    /// Places on the asset that were not usefully seen, image orientation.
    pub unseen: Array2<bool>,
    /// Sound jacket as an apparent temperature in °C, to stand on the picture's scale.
    pub sound_apparent_c: Option<f64>,
    /// Whole metres along the asset's far side: (metres, image pixel).
    pub axis_px: Vec<(f64, [f64; 2])>,
    /// The colour bar that was read, x y w h in image pixels.
    pub bar_px: Option<[f64; 4]>,
}

/// What the record says of a frame. Lengths in m, temperatures in °C, areas in m².
#[derive(Debug, Clone)]
pub struct FrameReport {
    /// Index of the frame in the register.
    pub frame: usize,
    /// SHA-256 of the file's bytes, hexadecimal; None where it could not be read.
    pub sha256: Option<String>,
    /// Columns and rows.
    pub size_px: Option<(usize, usize)>,
    /// How far the frame can be used.
    pub usability: Usability,
    /// Why not fully.
    pub reasons: Vec<String>,
    /// What was assumed because nobody stated it.
    pub assumed: Vec<String>,
    /// Time of capture: stated, or the file's own.
    pub captured_at: Option<String>,
    /// The asset's outline in image pixels.
    pub outline_px: Vec<[f64; 2]>,
    /// Pixels a metre.
    pub scale_px_m: Option<f64>,
    /// Share of the outline that an edge supports.
    pub outline_support: Option<f64>,
    /// Noise of one reading in K.
    pub noise_k: Option<f64>,
    /// Width of the outline's edge from 10 to 90 %, px.
    pub edge_width_px: Option<f64>,
    /// What the frame showed of the asset.
    pub seen: Option<SeenJacket>,
    /// Sound jacket expected of dry insulation in °C, and its 95 % half-width in K.
    pub expected_sound: Option<(f64, f64)>,
    /// Dew or frost point in °C.
    pub dew_point_c: Option<f64>,
    /// How far the sound jacket falls short of what dry insulation would show.
    pub shortfall: Option<Shortfall>,
    /// Where the asset lies in the picture, so that outlines can be laid on the developed jacket.
    pub view: Option<View>,
}

/// What a frame showed of its asset.
#[derive(Debug, Clone, Copy)]
pub struct SeenJacket {
    /// Sound jacket as read, °C.
    pub sound_c: f64,
    /// Its spread in K.
    pub spread_k: f64,
    /// Smallest zone that would have been called, side in m.
    pub smallest_zone_m: f64,
    /// Least contrast that would have been called in K.
    pub least_contrast_k: f64,
    /// Jacket in view at less than 60°, m².
    pub viewed_m2: f64,
    /// Jacket usefully seen, m².
    pub usable_m2: f64,
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
}

impl Task<'_> {
    fn row(&self) -> &FrameRow {
        &self.register.frames[self.index]
    }

    fn asset(&self) -> &Asset {
        &self.register.assets[self.row().asset]
    }
}

/// Inspects one frame. A frame that cannot be used is an inspection with its reason, never an error.
#[must_use]
pub fn inspect(task: &Task) -> Inspection {
    let mut report = FrameReport::new(task);
    let bytes = match read::read_bytes(&task.folder.join(&task.row().file), &task.settings.limits) {
        Ok(bytes) => bytes,
        Err(problem) => return report.refused(problem.to_string()),
    };
    report.sha256 = Some(hex(&Sha256::digest(&bytes)));
    let raw = match read::decode(&bytes, &task.settings.limits) {
        Ok(raw) => raw,
        Err(problem) => return report.refused(problem.to_string()),
    };
    drop(bytes);
    report.take_file(&raw);
    match calibrate::calibrate(&raw, &task.reading()) {
        Ok(map) => task.judge(map, report),
        Err(problem) => report.refused(problem.to_string()),
    }
}

impl Task<'_> {
    fn reading(&self) -> Reading<'_> {
        let row = self.row();
        Reading {
            scale: &row.scale,
            no_data: row.no_data,
            correction: &row.correction,
            band: self.band,
        }
    }

    /// How apparent temperatures become the jacket's.
    fn correct(&self) -> Correct<'_> {
        let (row, asset) = (self.row(), self.asset());
        let conditions = &row.conditions;
        let as_is = matches!(row.correction, Correction::Corrected { emissivity: None, .. })
            || matches!(row.correction, Correction::Corrected { reflected_c: None, .. });
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
        let view = match locate::locate_coarser(
            (&map.apparent_c, map.grain_px),
            map.noise_k,
            (&asset.shape, &row.view),
            &settings.locate,
        ) {
            Ok(view) => view,
            Err(problem) => {
                usability::of_clipping(map.clipped_share, map.clipped_share, &settings.usability, &mut verdict);
                return report.unusable(verdict, problem.to_string()).with_picture(map, None);
            }
        };
        report.take_view(&view, &mut verdict);
        let turned = view.orientation.turn(&map.apparent_c);
        // What stands at the ends of a bar is told by the bar itself.
        if map.from_bar.is_none() {
            let own_share = clipping::clipped_share(&turned, &view);
            usability::of_clipping(map.clipped_share, own_share, &settings.usability, &mut verdict);
        }
        let width_px = sharpness::edge_width(&turned, map.noise_k, &view).map(|edge| edge.width_px);
        report.edge_width_px = width_px.map(|px| px * view.orientation.grain() as f64);
        usability::of_sharpness(width_px, view.figure.scale_px_m, &settings.usability, &mut verdict);
        let correct = self.correct();
        let bar_u_k = map.from_bar.as_ref().map_or(0.0, |bar| bar.reading_u_k);
        let look = Look {
            map: &turned,
            noise_k: map.noise_k.max(BAR_NOISE * bar_u_k),
            view: &view,
            correct: &correct,
            setting: asset.setting,
            fringe_m: asset.jacket.spread_m(),
        };
        let (detection, jacket) = match detect::detect(&look, &settings.detect) {
            Ok(found) => found,
            Err(problem) => {
                return report.unusable(verdict, problem.to_string()).with_picture(map, None);
            }
        };
        report.take_detection(&detection, settings, &mut verdict);
        let seen = (&jacket, &view);
        bar::judge_jacket(map.from_bar.as_ref(), seen, &settings.usability, &mut verdict);
        let about = self.circumstances(&correct, bar_u_k);
        let shortfall = match assess::expect(&detection, &about, &settings.assess) {
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
                scale_px_m: view.figure.scale_px_m,
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
        let mut findings = assess::assess(&detected.detection, &about, general, &self.settings.assess)?;
        let local = findings.iter_mut().filter(|finding| finding.extent == Extent::Local);
        for (finding, bounded) in local.zip(&detected.bounded) {
            if let Some(bounded) = bounded {
                bar::say_at_least(finding, bounded, &self.settings.assess);
            }
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
        let camera = row.camera.as_ref().and_then(|name| self.register.cameras.get(name));
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
        coverage.add(jacket, &view.figure, facing);
        coverage
    }
}

/// What an error of reading off a colour bar counts as noise: steps and compression err alike over several pixels, and do
/// not average out over three by three as noise does.
const BAR_NOISE: f64 = 3.0;

impl FrameReport {
    fn new(task: &Task) -> Self {
        Self {
            frame: task.index,
            sha256: None,
            size_px: None,
            usability: Usability::Unusable,
            reasons: Vec::new(),
            assumed: assumed(task.register, task.row(), task.asset()),
            captured_at: task.row().captured_at.clone(),
            outline_px: Vec::new(),
            scale_px_m: None,
            outline_support: None,
            noise_k: None,
            edge_width_px: None,
            seen: None,
            expected_sound: None,
            dew_point_c: None,
            shortfall: None,
            view: None,
        }
    }

    fn take_file(&mut self, raw: &read::RawFrame) {
        self.size_px = Some((raw.columns(), raw.rows()));
        self.assumed.extend(raw.warnings().iter().map(ToString::to_string));
        if self.captured_at.is_none() {
            self.captured_at = raw.captured_at().map(ToOwned::to_owned);
        }
    }

    fn take_view(&mut self, view: &View, verdict: &mut Verdict) {
        self.outline_px = view.outline_px();
        self.scale_px_m = Some(view.figure.scale_px_m * view.orientation.grain() as f64);
        self.view = Some(view.clone());
        self.outline_support = Some(view.support);
        if view.trust == Trust::Doubtful {
            verdict.note(
                Usability::Limited,
                "it is doubtful that the outline found is the asset's: see it in the annotated picture, or mark the asset with vessel_outline_px".to_owned(),
            );
        }
        if view.axial_footing == AxialFooting::FromPictureEdge {
            verdict.note(
                Usability::Limited,
                "the asset runs beyond the picture and view_start_mm is not stated: metres are counted from the picture's datum-side edge; state view_start_mm".to_owned(),
            );
        }
    }

    fn take_detection(&mut self, detection: &Detection, settings: &Settings, verdict: &mut Verdict) {
        self.seen = Some(SeenJacket {
            sound_c: detection.sound_c,
            spread_k: detection.spread_k,
            smallest_zone_m: self.smallest_zone_m(detection),
            least_contrast_k: detection.least_contrast_k,
            viewed_m2: detection.viewed_m2,
            usable_m2: detection.usable_m2,
        });
        let least_k = detection.least_contrast_k;
        if least_k > settings.usability.fine_contrast_k {
            let worst = least_k > settings.usability.coarsest_contrast_k;
            verdict.note(
                if worst { Usability::Unusable } else { Usability::Limited },
                format!("the jacket in view is so uneven that a zone must stand out by {least_k:.1} K to be called: check that the outline is the asset's, or image again in still air without sun"),
            );
        }
        let zone_m = self.smallest_zone_m(detection);
        if zone_m > settings.usability.fine_zone_m {
            let worst = zone_m > settings.usability.coarsest_zone_m;
            verdict.note(
                if worst { Usability::Unusable } else { Usability::Limited },
                format!("the smallest zone that could be called is {zone_m:.2} m across: take the picture from nearer"),
            );
        }
        let share = detection.usable_m2 / detection.viewed_m2.max(1e-9);
        if share < settings.usability.full_cover_share {
            verdict.note(
                Usability::Limited,
                format!(
                    "only {:.0} % of the jacket in view was usefully seen: image also from where less stands in front",
                    100.0 * share
                ),
            );
        }
    }

    /// Side in m of the smallest zone that could have been called: nine pixels, and no less than what an edge is smeared over.
    fn smallest_zone_m(&self, detection: &Detection) -> f64 {
        let smeared_m = self.edge_width_px.zip(self.scale_px_m).map_or(0.0, |(w, s)| w / s);
        detection.smallest_zone_m.max(smeared_m)
    }

    fn take_expectation(&mut self, expectation: &Expectation) -> Shortfall {
        let sound = &expectation.sound;
        self.expected_sound = Some((
            sound.value,
            crate::assess::inputs::COVERAGE_95 * sound.standard_uncertainty,
        ));
        self.dew_point_c = expectation.dew_point_c;
        self.shortfall = Some(expectation.shortfall);
        expectation.shortfall
    }

    fn refused(mut self, reason: String) -> Inspection {
        self.reasons.push(reason);
        Inspection {
            report: self,
            detected: None,
            coverage: None,
            picture: None,
        }
    }

    fn unusable(self, mut verdict: Verdict, problem: String) -> Inspection {
        verdict.note(Usability::Unusable, problem);
        self.settled(&verdict)
    }

    fn settled(mut self, verdict: &Verdict) -> Inspection {
        self.usability = verdict.usability();
        self.reasons = verdict.reasons();
        Inspection {
            report: self,
            detected: None,
            coverage: None,
            picture: None,
        }
    }
}

impl Inspection {
    fn with_picture(mut self, map: SurfaceMap, placed: Option<(&View, &Jacket)>) -> Self {
        let mut unseen = Array2::from_elem(map.apparent_c.dim(), false);
        if let Some((view, jacket)) = placed {
            for (row, covers) in jacket.cover.chunks(jacket.size.0.max(1)).enumerate() {
                for (column, cover) in covers.iter().enumerate() {
                    if matches!(cover, Cover::Usable | Cover::Off) {
                        continue;
                    }
                    let [x, y] = view
                        .orientation
                        .to_image((column + jacket.origin.0) as f64, (row + jacket.origin.1) as f64);
                    let grain = view.orientation.grain();
                    let first = 0.5 * (grain as f64 - 1.0);
                    let (left, top) = ((x - first) as usize, (y - first) as usize);
                    for place in (0..grain * grain).map(|i| [top + i / grain, left + i % grain]) {
                        if let Some(cell) = unseen.get_mut(place) {
                            *cell = true;
                        }
                    }
                }
            }
        }
        let axis_px = placed.map(|(view, _)| axis(view)).unwrap_or_default();
        let sound_apparent_c = self
            .report
            .seen
            .zip(placed)
            .and_then(|(seen, (view, jacket))| sound_apparent_c(&map, view, (jacket, seen.sound_c)));
        self.picture = Some(Picture {
            map_c: map.apparent_c,
            unseen,
            sound_apparent_c,
            axis_px,
            bar_px: map.from_bar.map(|from_bar| from_bar.bar.box_px.map(|v| v as f64)),
        });
        self
    }
}

/// Whole metres (every second, fifth or tenth on a long asset) on the far side of the asset, within the picture.
fn axis(view: &View) -> Vec<(f64, [f64; 2])> {
    let size = view.figure.size;
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .find(|step| size.length_m / step <= 12.0)
        .unwrap_or(20.0);
    let (columns, rows) = view.orientation.size();
    let count = (size.length_m / step).floor() as usize;
    (0..=count)
        .map(|i| i as f64 * step)
        .filter_map(|metres| {
            let (u, v) = view.figure.pixel(metres, size.half_width_m);
            let inside = u >= 0.0 && v >= 0.0 && u < columns as f64 && v < rows as f64;
            inside.then(|| (metres, view.orientation.to_image(u, v)))
        })
        .collect()
}

/// Median apparent temperature of usable jacket whose surface stands at the sound jacket's temperature within its spread.
fn sound_apparent_c(map: &SurfaceMap, view: &View, (jacket, sound_c): (&Jacket, f64)) -> Option<f64> {
    let mut values: Vec<f64> = (0..jacket.cover.len())
        .step_by(17)
        .filter(|&at| jacket.cover[at] == Cover::Usable)
        .filter(|&at| (f64::from(jacket.surface_c[at]) - sound_c).abs() < 0.3)
        .filter_map(|at| {
            let (column, row) = (
                at % jacket.size.0 + jacket.origin.0,
                at / jacket.size.0 + jacket.origin.1,
            );
            let [x, y] = view.orientation.to_image(column as f64, row as f64);
            map.apparent_c.get([y as usize, x as usize]).map(|&t| f64::from(t))
        })
        .collect();
    crate::statistic::median(&mut values)
}

/// What is assumed because the sheets do not say it, each a clause.
fn assumed(register: &Register, row: &FrameRow, asset: &Asset) -> Vec<String> {
    let conditions = &row.conditions;
    let mut list = Vec::new();
    if conditions.relative_humidity_pct.is_none() {
        list.push(
            "relative humidity not stated: no dew point, and latent heat left out (wet would look drier)".to_owned(),
        );
    }
    if conditions.wind_m_s.is_none() {
        let calm = if asset.setting == Setting::Indoor {
            "0.1 m/s indoors"
        } else {
            "1 m/s outdoors"
        };
        list.push(format!("wind not stated: {calm} assumed, with a wide uncertainty"));
    }
    if conditions.reflected_c.is_none() {
        list.push("reflected temperature not stated: taken as the air's, ±3 K".to_owned());
    }
    if conditions.distance_m.is_none() && conditions.transmittance.is_none() {
        list.push("distance not stated: transmittance of the air path taken as 1".to_owned());
    }
    if asset.emissivity.source == Source::Assumed {
        list.push(format!(
            "emissivity not stated: {:.2} of {} taken",
            asset.emissivity.value,
            asset.jacket.key()
        ));
    }
    if asset.stated_conductivity_w_mk.is_none() {
        list.push(format!(
            "conductivity not stated: tabulated value of dry {} taken",
            asset.insulation.key()
        ));
    }
    if matches!(
        row.correction,
        Correction::Corrected { emissivity: None, .. } | Correction::Corrected { reflected_c: None, .. }
    ) {
        list.push("the file's own correction is not stated in full: its temperatures are taken as they are".to_owned());
    }
    if register.site.barometer_kpa.source == Source::Assumed {
        list.push("barometer not stated: sea level taken".to_owned());
    }
    list
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
