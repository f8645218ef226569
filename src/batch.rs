//! All frames of a survey, asset by asset on all cores: inspect, join, draw, and keep only what the lists need.
//!
//! An asset leaves memory when it is done: its pictures and what is said of it are on disk then, in the results and in the
//! ledger; what stays is where they lie.

pub mod alone;
pub mod given;
pub mod kept;
pub mod line;

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use given::Given;
use kept::{Drawing, FrameKey, Kept};
use rayon::prelude::*;

use crate::assess::{self, Shortfall};
use crate::clock::{Clock, Stage};
use crate::inspect::{self, Detected, FrameReport, Inspection, Task};
use crate::radiation::RadiationError;
use crate::radiation::planck::BandRadiance;
use crate::rank::join::Seen;
use crate::rank::{self, Ranked};
use crate::record::ledger::{Draft, Entry, Ledger};
use crate::record::picture;
use crate::record::shot::{self, Shot};
use crate::record::staging::{self, Staging, Written};
use crate::register::Register;
use crate::settings::Settings;

/// The band of a long-wave camera whose band nobody stated, in µm.
pub const USUAL_BAND_UM: (f64, f64) = (8.0, 14.0);
/// Most frames of one asset whose pictures are held while it is being assessed; beyond, pictures are read once more.
const HELD: usize = 6;

/// What a run works with.
pub struct Run<'a> {
    /// The survey folder.
    pub folder: &'a Path,
    /// Its sheets.
    pub register: &'a Register,
    /// Thresholds.
    pub settings: &'a Settings,
    /// How pictures are drawn; None: no pictures.
    pub look: Option<picture::Look>,
    /// How the record's frames are drawn; None: no record is made, and nothing of the frames is kept for it.
    pub shots: Option<shot::Look>,
    /// Where results go.
    pub staging: &'a Staging,
    /// Told after each frame how many are done.
    pub progress: &'a (dyn Fn(usize) + Sync),
    /// Told of each frame as it is done, in no certain order.
    pub watch: &'a (dyn Fn(&FrameReport) + Sync),
    /// Frames that were assessed elsewhere; None: each is read here.
    pub given: Option<&'a Given<'a>>,
    /// What earlier runs kept, and this one keeps; None: nothing is.
    pub kept: Option<&'a Kept>,
    /// Told what each stage takes.
    pub clock: &'a Clock,
}

/// Why a run stopped.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// A picture could not be written.
    #[error(transparent)]
    Output(#[from] staging::Error),
    /// Lines of frames that were assessed elsewhere cannot be used.
    #[error(transparent)]
    Given(#[from] given::Error),
    /// What is said of the frames cannot be laid on disk.
    #[error(
        "a file for what is said of the frames, beside the result folder, could not be written or read: {0}\n  hint: check that the folder can be written and the disk is not full"
    )]
    Scratch(std::io::Error),
    /// A camera's band is impossible.
    #[error("survey.toml: band_um of a camera: {0}")]
    Band(#[from] RadiationError),
    /// An image is not what it was when it was assessed.
    #[error(
        "{file}: changed while the survey ran, so that its picture would not be that of its findings\n  hint: run again when nothing writes in the survey folder"
    )]
    Changed {
        /// The frame's file.
        file: String,
    },
    /// A picture could not be drawn.
    #[error("{file}: the annotated picture could not be drawn: {problem}")]
    Picture {
        /// The frame's file.
        file: String,
        /// Why.
        problem: String,
    },
}

/// Runs the survey.
///
/// # Errors
/// Only where output cannot be written; a bad frame is a report with its reason.
pub fn run(run: &Run) -> Result<Ledger, Error> {
    keep_freed_memory();
    let bands = bands(run.register)?;
    let names = picture::Names::new(run.register);
    let asset_of = |frame: &usize| run.register.frames[*frame].asset;
    let mut frames: Vec<usize> = (0..run.register.frames.len()).collect();
    frames.sort_by_key(asset_of);
    let by_asset: Vec<&[usize]> = frames.chunk_by(|a, b| asset_of(a) == asset_of(b)).collect();
    let done = AtomicUsize::new(0);
    let draft = Draft::begin(run.staging.beside(), run.register).map_err(Error::Scratch)?;
    let shared = Shared {
        run,
        bands: &bands,
        names: &names,
        done: &done,
        draft: &draft,
    };
    by_asset
        .into_par_iter()
        .try_for_each(|frames| shared.asset(asset_of(&frames[0]), frames))?;
    draft.finish().map_err(Error::Scratch)
}

/// Frames ask for the same few megabytes over and over. The C library of Linux gives freed memory back to the system beyond
/// twice the largest block that it has seen freed so far (M_MMAP_THRESHOLD in mallopt(3), read in a quotation of that page), and
/// each frame's memory would have to be mapped and cleared anew. A block that is asked for and never touched costs nothing.
fn keep_freed_memory() {
    const BLOCK: usize = 24 << 20;
    drop(std::hint::black_box(Vec::<u8>::with_capacity(BLOCK)));
}

/// The band radiance of every camera, and the usual one under the empty name.
fn bands(register: &Register) -> Result<BTreeMap<String, Arc<BandRadiance>>, Error> {
    let mut bands = BTreeMap::new();
    bands.insert(
        String::new(),
        Arc::new(BandRadiance::new(USUAL_BAND_UM.0, USUAL_BAND_UM.1)?),
    );
    for (name, camera) in &register.cameras {
        bands.insert(
            name.clone(),
            Arc::new(BandRadiance::new(camera.band_um.0, camera.band_um.1)?),
        );
    }
    Ok(bands)
}

struct Shared<'a> {
    run: &'a Run<'a>,
    bands: &'a BTreeMap<String, Arc<BandRadiance>>,
    names: &'a picture::Names<'a>,
    done: &'a AtomicUsize,
    draft: &'a Draft,
}

impl Shared<'_> {
    fn task(&self, index: usize) -> Task<'_> {
        let register = self.run.register;
        let camera = register.frames[index].stored.camera.as_deref().unwrap_or_default();
        let band = self.bands.get(camera).or_else(|| self.bands.get(""));
        let Some(band) = band else {
            unreachable!("the usual band is always there")
        };
        Task {
            register,
            index,
            folder: self.run.folder,
            settings: self.run.settings,
            band,
            clock: self.run.clock,
        }
    }

    /// What a frame gives: given, kept, or made from its image.
    fn inspection(&self, index: usize) -> Result<Inspection, Error> {
        if let Some(given) = self.run.given {
            return Ok(given.outcome(index)?.into());
        }
        let task = self.task(index);
        let Some(kept) = self.run.kept else {
            return Ok(inspect::inspect(&task));
        };
        let file = match inspect::read_file(&task) {
            Ok(file) => file,
            Err(refused) => return Ok(*refused),
        };
        let key = self.key(kept, &file.sha256, index);
        if let Some(outcome) = kept.frame(&key, self.run.register, index) {
            return Ok(outcome.into());
        }
        let inspection = inspect::inspect_file(&task, file);
        kept.keep_frame(&key, &inspection);
        Ok(inspection)
    }

    fn key(&self, kept: &Kept, image_sha256: &str, index: usize) -> FrameKey {
        kept.frame_key(image_sha256, &line::inputs(self.run.register, index, self.run.settings))
    }

    fn asset(&self, asset: usize, frames: &[usize]) -> Result<(), Error> {
        let wanted = self.run.look.is_some() || self.run.shots.is_some();
        let hold = frames.len() <= HELD && wanted;
        let mut part = Entry {
            asset,
            frames: Vec::with_capacity(frames.len()),
            shots: Vec::new(),
            zones: Vec::new(),
            coverage: None,
        };
        let (mut held, mut detected) = (Vec::new(), Vec::new());
        // Frames of one asset run side by side too, a handful at a time, so that memory does not follow their number.
        for some in frames.chunks(HELD) {
            let inspections: Vec<Inspection> = some
                .par_iter()
                .map(|&index| self.inspection(index))
                .collect::<Result<_, Error>>()?;
            for inspection in inspections {
                match (&mut part.coverage, inspection.coverage) {
                    (Some(all), Some(shown)) => all.join(&shown),
                    (none @ None, shown) => *none = shown,
                    (Some(_), None) => {}
                }
                detected.extend(inspection.detected.map(|found| (inspection.report.frame, found)));
                (self.run.watch)(&inspection.report);
                held.push(if hold { inspection.picture } else { None });
                part.frames.push(inspection.report);
            }
            (self.run.progress)(self.done.fetch_add(some.len(), Ordering::Relaxed) + some.len());
        }
        let register = self.run.register;
        let seen = self.assess(&detected);
        part.zones = rank::of_asset(&register.assets[asset], asset, register.survey.year(), seen);
        if wanted {
            let zones = self.run.kept.map(|_| kept::digest(&[&format!("{:?}", part.zones)]));
            for (report, picture) in part.frames.iter().zip(held) {
                if report.size_px.is_none() {
                    continue;
                }
                let drawn = match (self.run.kept, &zones, &report.sha256) {
                    (Some(kept), Some(zones), Some(sha256)) => {
                        let key = self.key(kept, sha256, report.frame);
                        self.draw_once(kept, (&key, zones), (report, picture, &part.zones))?
                    }
                    _ => self.draw(report, picture, &part.zones)?,
                };
                part.shots.extend(drawn.shot);
            }
        }
        self.draft.enter(part).map_err(Error::Scratch)
    }

    /// Assesses the frames of one asset, knowing from all of them whether it is wet all over.
    fn assess(&self, detected: &[(usize, Detected)]) -> Vec<Seen> {
        let shortfalls: Vec<Shortfall> = detected.iter().filter_map(|(_, found)| found.shortfall()).collect();
        let general = assess::wet_all_over(&shortfalls, &self.run.settings.assess);
        detected
            .iter()
            .flat_map(|(index, found)| {
                // The frame's own heat balance was solved before, so it has an answer here too.
                self.task(*index).assess(found, general.as_ref()).unwrap_or_default()
            })
            .collect()
    }

    /// Draws what is not kept from an earlier run, and keeps it.
    fn draw_once(
        &self,
        kept: &Kept,
        (key, zones): (&FrameKey, &str),
        (report, held, ranked): (&FrameReport, Option<inspect::Picture>, &[Ranked]),
    ) -> Result<Drawn, Error> {
        let drawing = Drawing {
            zones,
            look: self.run.look,
            shots: self.run.shots,
        };
        let (picture_key, shot_key) = (drawing.picture_key(key), drawing.shot_key(key));
        let shot = self.run.shots.and_then(|_| kept.shot(&shot_key, report.frame));
        let shot_is_there = shot.is_some() || self.run.shots.is_none();
        let name = &self.names.of(report.frame);
        if shot_is_there && (self.run.look.is_none() || kept.place_picture(&picture_key, self.run.staging, name)) {
            return Ok(Drawn { picture: None, shot });
        }
        let drawn = self.draw(report, held, ranked)?;
        if let Some(written) = &drawn.picture {
            kept.keep_picture(&picture_key, self.run.staging, written);
        }
        if let Some(shot) = &drawn.shot {
            kept.keep_shot(&shot_key, shot);
        }
        Ok(drawn)
    }

    /// Draws the annotated picture of a frame that could be read, and what the record shows of it.
    fn draw(&self, report: &FrameReport, held: Option<inspect::Picture>, zones: &[Ranked]) -> Result<Drawn, Error> {
        let picture = match held {
            Some(picture) => Some(picture),
            None => {
                let again = inspect::inspect(&self.task(report.frame));
                if again.report.sha256 != report.sha256 {
                    let file = self.run.register.frames[report.frame].file.clone();
                    return Err(Error::Changed { file });
                }
                again.picture
            }
        };
        let Some(picture) = picture else {
            return Ok(Drawn::default());
        };
        let page = picture::Page {
            register: self.run.register,
            report,
            zones,
            picture: &picture,
        };
        let failed = |problem: String| Error::Picture {
            file: self.run.register.frames[report.frame].file.clone(),
            problem,
        };
        let clock = self.run.clock;
        let mut drawn = Drawn::default();
        if let Some(look) = &self.run.look {
            let bytes = clock.time(Stage::Draw, || picture::draw(&page, look)).map_err(failed)?;
            let name = &self.names.of(report.frame);
            drawn.picture = Some(clock.time(Stage::Write, || self.run.staging.write(name, &bytes))?);
        }
        if let Some(look) = &self.run.shots {
            drawn.shot = Some(clock.time(Stage::Draw, || shot::take(&page, look)).map_err(failed)?);
        }
        Ok(drawn)
    }
}

/// What was drawn of a frame.
#[derive(Default)]
struct Drawn {
    /// The annotated picture, where it was drawn anew.
    picture: Option<Written>,
    shot: Option<Shot>,
}
