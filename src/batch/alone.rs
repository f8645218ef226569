//! Frames by themselves, of whichever survey folder they are: what `coldjacket frames` works with.

use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::line::{self, Wanted};
use super::{Error, bands};
use crate::clock::Clock;
use crate::inspect::{self, Outcome, Task};
use crate::radiation::planck::BandRadiance;
use crate::register::{self, Faults, Register};
use crate::settings::Settings;

/// A survey folder that is open for frames by themselves.
#[derive(Debug)]
pub struct Alone {
    folder: PathBuf,
    register: Register,
    bands: BTreeMap<String, Arc<BandRadiance>>,
    index: HashMap<(String, String), usize>,
}

/// Why a folder cannot be opened.
#[derive(Debug, thiserror::Error)]
pub enum Closed {
    /// Its sheets are at fault.
    #[error(transparent)]
    Sheets(#[from] Faults),
    /// A camera's band is impossible.
    #[error(transparent)]
    Band(#[from] Error),
}

impl Alone {
    /// Opens a survey folder.
    ///
    /// # Errors
    /// [`Closed`].
    pub fn open(folder: &Path) -> Result<Self, Closed> {
        let register = register::open(folder)?;
        let tag = |asset: usize| register.assets[asset].tag.clone();
        let frames = register.frames.iter().enumerate();
        Ok(Self {
            folder: folder.to_path_buf(),
            bands: bands(&register)?,
            index: frames
                .map(|(at, row)| ((row.file.clone(), tag(row.asset)), at))
                .collect(),
            register,
        })
    }

    /// Doubts about its sheets.
    #[must_use]
    pub fn warnings(&self) -> &[String] {
        &self.register.warnings
    }

    /// Its frames as a list that `coldjacket frames` takes.
    pub fn list(&self) -> impl Iterator<Item = Wanted> {
        self.register.frames.iter().map(|row| Wanted {
            survey: self.folder.to_string_lossy().into_owned(),
            file: row.file.clone(),
            asset: self.register.assets[row.asset].tag.clone(),
        })
    }

    /// Where a frame stands in the register.
    #[must_use]
    pub fn find(&self, wanted: &Wanted) -> Option<usize> {
        self.index.get(&(wanted.file.clone(), wanted.asset.clone())).copied()
    }

    /// The frame's line, without its line end.
    ///
    /// # Errors
    /// None that is known.
    pub fn line(&self, index: usize, settings: &Settings, clock: &Clock) -> Result<String, line::Error> {
        let camera = self.register.frames[index].stored.camera.as_deref().unwrap_or_default();
        let Some(band) = self.bands.get(camera).or_else(|| self.bands.get("")) else {
            unreachable!("the usual band is always there")
        };
        let inspection = inspect::inspect(&Task {
            register: &self.register,
            index,
            folder: &self.folder,
            settings,
            band,
            clock,
        });
        let survey = self.folder.to_string_lossy();
        let inputs = line::inputs(&self.register, index, settings);
        line::write(&survey, &self.register, &Outcome::from(inspection), &inputs)
    }
}
