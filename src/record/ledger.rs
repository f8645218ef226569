//! A survey assessed, laid on disk as it grows: memory holds where each entry lies and what the lists are ordered and
//! summed by, so that a survey of ten thousand frames needs little more of it than one of a hundred.

mod scratch;

use std::io;
use std::path::Path;
use std::sync::{Mutex, PoisonError};

use scratch::{Scratch, Slot};

use super::Survey;
use super::shot::Shot;
use crate::assess::cause::Action;
use crate::assess::usability::Usability;
use crate::detect::coverage::Coverage;
use crate::inspect::FrameReport;
use crate::rank::history::History;
use crate::rank::{Ranked, Standing};
use crate::register::Register;

/// All that a run says of one asset.
#[derive(Debug)]
pub struct Entry {
    /// Index of the asset in the register.
    pub asset: usize,
    /// One report a frame.
    pub frames: Vec<FrameReport>,
    /// Its zones.
    pub zones: Vec<Ranked>,
    /// What was seen of it; None where no frame was usable.
    pub coverage: Option<Coverage>,
    /// What the record shows of its frames.
    pub shots: Vec<Shot>,
}

/// A ledger that assets are still entered in, from any thread and in any order.
#[derive(Debug)]
pub struct Draft {
    scratch: Scratch,
    index: Mutex<Index>,
}

/// Where all entries lie. Every frame has its report and every asset its sums once a draft is finished.
#[derive(Debug, Default)]
struct Index {
    frames: Vec<Option<FrameMark>>,
    zones: Vec<ZoneMark>,
    assets: Vec<AssetSums>,
}

#[derive(Debug, Clone, Copy)]
struct FrameMark {
    report: Slot,
    shot: Option<Slot>,
    usability: Usability,
    /// Findings that it saw.
    findings: u32,
}

#[derive(Debug, Clone, Copy)]
struct ZoneMark {
    zone: Slot,
    standing: Standing,
    action: Action,
}

/// What the entries of an asset add up to. Areas in m².
#[derive(Debug, Clone, Copy, Default)]
pub struct AssetSums {
    /// Its jacket.
    pub total_m2: f64,
    /// In view of some frame at less than 60°.
    pub viewed_m2: f64,
    /// Usefully seen.
    pub usable_m2: f64,
    /// Its findings.
    pub zone_m2: f64,
    /// Heat gain of its findings beyond that of sound insulation, W.
    pub extra_heat_gain_w: f64,
    /// The highest priority among its findings; 0 without any.
    pub worst_priority: f64,
    /// Its frames.
    pub frames: usize,
    /// Those that could not be used.
    pub frames_unusable: usize,
    coverage: Option<Slot>,
}

impl Draft {
    /// A draft without entries, whose file lies in `folder` without a name: it goes with the run, however that ends.
    ///
    /// # Errors
    /// No file can be made there.
    pub fn begin(folder: &Path, register: &Register) -> io::Result<Self> {
        let sums = register.assets.iter().map(|asset| {
            let nothing = Coverage::nothing(&asset.shape);
            AssetSums {
                total_m2: nothing.total_m2(),
                ..AssetSums::default()
            }
        });
        Ok(Self {
            scratch: Scratch::in_folder(folder)?,
            index: Mutex::new(Index {
                frames: vec![None; register.frames.len()],
                zones: Vec::new(),
                assets: sums.collect(),
            }),
        })
    }

    /// Enters an asset, which then leaves memory.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn enter(&self, entry: Entry) -> io::Result<()> {
        let findings = || entry.zones.iter().filter(|zone| !zone.finding.cause.is_set_aside());
        let mut frames = Vec::with_capacity(entry.frames.len());
        for report in &entry.frames {
            let shot = entry.shots.iter().find(|shot| shot.frame == report.frame);
            let saw = |zone: &&Ranked| zone.sightings.iter().any(|sighting| sighting.frame == report.frame);
            let mark = FrameMark {
                report: self.scratch.put(report)?,
                shot: shot.map(|shot| self.scratch.put(shot)).transpose()?,
                usability: report.usability,
                findings: findings().filter(saw).fold(0, |count, _| count + 1),
            };
            frames.push((report.frame, mark));
        }
        let mut zones = Vec::with_capacity(entry.zones.len());
        for zone in &entry.zones {
            zones.push(ZoneMark {
                zone: self.scratch.put(zone)?,
                standing: zone.standing(),
                action: zone.finding.action,
            });
        }
        let coverage = entry.coverage.as_ref();
        let unusable = |report: &&FrameReport| report.usability == Usability::Unusable;
        let sums = AssetSums {
            total_m2: 0.0,
            viewed_m2: coverage.map_or(0.0, Coverage::viewed_m2),
            usable_m2: coverage.map_or(0.0, Coverage::usable_m2),
            zone_m2: findings().map(|zone| zone.finding.zone.area_m2).sum(),
            extra_heat_gain_w: findings().map(|zone| zone.finding.extra_heat_gain_w).sum(),
            worst_priority: findings().map(|zone| zone.priority).fold(0.0, f64::max),
            frames: entry.frames.len(),
            frames_unusable: entry.frames.iter().filter(unusable).count(),
            coverage: coverage.map(|coverage| self.scratch.put(coverage)).transpose()?,
        };
        // A thread that panicked elsewhere has left the index as it was.
        let mut index = self.index.lock().unwrap_or_else(PoisonError::into_inner);
        for (frame, mark) in frames {
            index.frames[frame] = Some(mark);
        }
        index.zones.extend(zones);
        let own = &mut index.assets[entry.asset];
        *own = AssetSums {
            total_m2: own.total_m2,
            ..sums
        };
        Ok(())
    }

    /// The ledger, once every asset is entered.
    ///
    /// # Errors
    /// A frame was never entered.
    pub fn finish(self) -> io::Result<Ledger> {
        let index = self.index.into_inner().unwrap_or_else(PoisonError::into_inner);
        let frames: Option<Vec<FrameMark>> = index.frames.into_iter().collect();
        let mut zones = index.zones;
        zones.sort_by_key(|mark| mark.standing);
        Ok(Ledger {
            scratch: self.scratch,
            frames: frames.ok_or_else(|| io::Error::other("a frame was never entered"))?,
            zones,
            assets: index.assets,
        })
    }
}

/// A survey assessed. Reports come in the order of the sheet; zones in follow-up order, what is set aside last.
#[derive(Debug)]
pub struct Ledger {
    scratch: Scratch,
    frames: Vec<FrameMark>,
    zones: Vec<ZoneMark>,
    assets: Vec<AssetSums>,
}

impl Ledger {
    /// How many frames.
    #[must_use]
    pub fn frames(&self) -> usize {
        self.frames.len()
    }

    /// How many frames can be used so far.
    #[must_use]
    pub fn frames_that_are(&self, usability: Usability) -> usize {
        self.frames.iter().filter(|mark| mark.usability == usability).count()
    }

    /// How many findings a frame saw.
    #[must_use]
    pub fn findings_in(&self, frame: usize) -> usize {
        self.frames.get(frame).map_or(0, |mark| mark.findings as usize)
    }

    /// How many findings.
    #[must_use]
    pub fn findings(&self) -> usize {
        self.zones.iter().filter(|mark| !mark.standing.is_set_aside()).count()
    }

    /// How many findings ask for an action.
    #[must_use]
    pub fn findings_to(&self, action: Action) -> usize {
        let asks = |mark: &&ZoneMark| !mark.standing.is_set_aside() && mark.action == action;
        self.zones.iter().filter(asks).count()
    }

    /// How many zones are set aside.
    #[must_use]
    pub fn set_aside(&self) -> usize {
        self.zones.len() - self.findings()
    }

    /// What the entries of an asset add up to, in the order of the register.
    #[must_use]
    pub fn assets(&self) -> &[AssetSums] {
        &self.assets
    }

    /// What was seen of an asset; None where no frame was usable.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn coverage(&self, asset: usize) -> io::Result<Option<Coverage>> {
        let slot = self.assets.get(asset).and_then(|sums| sums.coverage);
        slot.map(|slot| self.scratch.get(slot)).transpose()
    }

    /// One report a frame, read as they are asked for; an error is of the file.
    pub fn reports(&self) -> impl Iterator<Item = io::Result<FrameReport>> {
        self.frames.iter().map(|mark| self.scratch.get(mark.report))
    }

    /// The zones with their ranks, read as they are asked for; an error is of the file.
    pub fn zones(&self) -> impl Iterator<Item = io::Result<Ranked>> {
        self.zones.iter().enumerate().map(|(index, mark)| {
            let mut zone: Ranked = self.scratch.get(mark.zone)?;
            zone.rank = (!mark.standing.is_set_aside()).then_some(index + 1);
            Ok(zone)
        })
    }

    /// Weighs the zones anew with what is known of their places beside the frames, and puts them in their order.
    ///
    /// # Errors
    /// The file cannot be read or written.
    pub fn weigh(&mut self, history: impl Fn(&Ranked) -> History) -> io::Result<()> {
        self.assets.iter_mut().for_each(|sums| sums.worst_priority = 0.0);
        for mark in &mut self.zones {
            let mut zone: Ranked = self.scratch.get(mark.zone)?;
            zone.weigh(&history(&zone));
            let worst = &mut self.assets[zone.asset].worst_priority;
            // What is set aside has no priority, and raises none.
            *worst = worst.max(zone.priority);
            mark.zone = self.scratch.put(&zone)?;
            mark.standing = zone.standing();
        }
        self.zones.sort_by_key(|mark| mark.standing);
        Ok(())
    }

    /// All of it in memory, as the pages of a record need it.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn whole(&self) -> io::Result<Survey> {
        let shots = self.frames.iter().filter_map(|mark| mark.shot);
        Ok(Survey {
            frames: self.reports().collect::<io::Result<_>>()?,
            zones: self.zones().collect::<io::Result<_>>()?,
            coverage: (0..self.assets.len())
                .map(|asset| self.coverage(asset))
                .collect::<io::Result<_>>()?,
            shots: shots.map(|slot| self.scratch.get(slot)).collect::<io::Result<_>>()?,
        })
    }
}
