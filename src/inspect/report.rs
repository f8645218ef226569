//! What a frame's inspection reports, filled in stage by stage.

use super::{Inspection, Task};
use crate::assess::usability::{self, Usability, Verdict};
use crate::assess::{Expectation, Shortfall};
use crate::detect::Detection;
use crate::locate::{AxialFooting, Trust, View};
use crate::read;
use crate::register::{Asset, Conditions, Correction, FrameRow, Register, Setting, Shape, Site, Source};
use crate::settings::Settings;

/// What the record says of a frame. Lengths in m, temperatures in °C, areas in m².
#[derive(Debug, Clone, serde::Serialize, serde::Deserialize)]
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
#[derive(Debug, Clone, Copy, serde::Serialize, serde::Deserialize)]
pub struct SeenJacket {
    /// Sound jacket as read, °C.
    pub sound_c: f64,
    /// Between which temperatures in °C the middle eight tenths of it lie.
    pub sound_reach_c: [f64; 2],
    /// Its spread about its own slow surface in K.
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

impl FrameReport {
    pub(super) fn new(task: &Task) -> Self {
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

    pub(super) fn take_file(&mut self, raw: &read::RawFrame) {
        self.size_px = Some((raw.columns(), raw.rows()));
        self.assumed.extend(raw.warnings().iter().map(ToString::to_string));
        if self.captured_at.is_none() {
            self.captured_at = raw.captured_at().map(ToOwned::to_owned);
        }
    }

    pub(super) fn take_view(&mut self, view: &View, verdict: &mut Verdict) {
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

    pub(super) fn take_detection(&mut self, detection: &Detection, settings: &Settings, verdict: &mut Verdict) {
        self.seen = Some(SeenJacket {
            sound_c: detection.sound_c,
            sound_reach_c: detection.sound_reach_c,
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
        usability::of_smallest_zone(self.smallest_zone_m(detection), &settings.usability, verdict);
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

    pub(super) fn take_expectation(&mut self, expectation: &Expectation) -> Shortfall {
        let sound = &expectation.sound;
        self.expected_sound = Some((
            sound.value,
            crate::assess::inputs::COVERAGE_95 * sound.standard_uncertainty,
        ));
        self.dew_point_c = expectation.dew_point_c;
        self.shortfall = Some(expectation.shortfall);
        expectation.shortfall
    }

    pub(super) fn refused(mut self, reason: String) -> Inspection {
        self.reasons.push(reason);
        Inspection {
            report: self,
            detected: None,
            coverage: None,
            picture: None,
        }
    }

    pub(super) fn unusable(self, mut verdict: Verdict, problem: String) -> Inspection {
        verdict.note(Usability::Unusable, problem);
        self.settled(&verdict)
    }

    pub(super) fn settled(mut self, verdict: &Verdict) -> Inspection {
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

/// What is assumed because the sheets do not say it, each a clause.
fn assumed(register: &Register, row: &FrameRow, asset: &Asset) -> Vec<String> {
    let mut list = assumed_of(&register.site, &row.conditions, asset);
    if matches!(
        row.stored.correction,
        Correction::Corrected { emissivity: None, .. } | Correction::Corrected { reflected_c: None, .. }
    ) {
        list.push("the file's own correction is not stated in full: its temperatures are taken as they are".to_owned());
    }
    let camera = register.camera_of(row);
    let is_known = camera.is_some_and(|camera| camera.field_of_view_deg.is_some());
    if !is_known && !matches!(asset.shape, Shape::Flat { .. }) {
        list.push(
            "field_of_view_deg of the camera not stated: places and areas taken as seen from far away; from four diameters off they reach an eighth too far from the picture's middle"
                .to_owned(),
        );
    }
    list
}

/// What is assumed of the conditions, the asset and the site, each a clause.
#[must_use]
pub fn assumed_of(site: &Site, conditions: &Conditions, asset: &Asset) -> Vec<String> {
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
    if site.barometer_kpa.source == Source::Assumed {
        list.push("barometer not stated: sea level taken".to_owned());
    }
    list
}
