//! Frames that were assessed elsewhere: the lines of a file, one a frame, read as each asset needs them.

use std::collections::HashMap;
use std::fs::File;
use std::io::{BufRead, BufReader, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use super::line::{self, Line};
use crate::inspect::Outcome;
use crate::register::Register;
use crate::settings::Settings;

/// Bytes of the longest line.
const LONGEST: u64 = 64 * 1024 * 1024;
/// Frames that a message names.
const NAMED: usize = 20;

/// Why the lines cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The file cannot be read.
    #[error("{path}: cannot be read: {problem}")]
    Unreadable {
        /// The path.
        path: PathBuf,
        /// Why.
        problem: std::io::Error,
    },
    /// A line is none.
    #[error("{path} line {number}: {problem}\n  hint: write the file anew with coldjacket frames")]
    Line {
        /// The path.
        path: PathBuf,
        /// The line, counted from 1.
        number: usize,
        /// What is wrong.
        problem: line::Error,
    },
    /// A line is too long.
    #[error("{path} line {number}: is longer than {} MiB", LONGEST / 1024 / 1024)]
    TooLong {
        /// The path.
        path: PathBuf,
        /// The line.
        number: usize,
    },
    /// Two lines of one frame differ.
    #[error(
        "{path} line {number}: says otherwise than line {first} of {file} ({asset})\n  hint: the image changed between two runs; run coldjacket frames again"
    )]
    Contradiction {
        /// The path.
        path: PathBuf,
        /// The line.
        number: usize,
        /// The line before.
        first: usize,
        /// The frame's file.
        file: String,
        /// Its asset.
        asset: String,
    },
    /// Frames without a line.
    #[error("{path}: {}\n  hint: run coldjacket frames over these, with the same program and options", .frames.join("\n  "))]
    Missing {
        /// The path.
        path: PathBuf,
        /// Which, in words.
        frames: Vec<String>,
    },
}

/// Where a frame's line lies.
#[derive(Debug, Clone, Copy)]
struct Place {
    start: u64,
    length: u64,
    number: usize,
}

/// A file of lines with one for every frame of the register.
#[derive(Debug)]
pub struct Given<'a> {
    path: PathBuf,
    register: &'a Register,
    file: Mutex<File>,
    places: Vec<Place>,
}

impl<'a> Given<'a> {
    /// Opens the file and finds each frame's line; lines of other surveys may stand among them.
    ///
    /// # Errors
    /// [`Error`]: a line that is none, two that contradict each other, frames that have none.
    pub fn open(path: &Path, register: &'a Register, settings: &Settings) -> Result<Self, Error> {
        let file = File::open(path).map_err(unreadable(path))?;
        let mut search = Search::new(path, register, settings);
        let mut reader = BufReader::new(&file);
        let (mut text, mut start, mut number) = (String::new(), 0, 0);
        loop {
            text.clear();
            let length = (&mut reader)
                .take(LONGEST + 1)
                .read_line(&mut text)
                .map_err(unreadable(path))? as u64;
            if length == 0 {
                break;
            }
            number += 1;
            if length > LONGEST {
                let path = path.to_path_buf();
                return Err(Error::TooLong { path, number });
            }
            if !text.trim().is_empty() {
                let place = Place { start, length, number };
                search.take(&text, place)?;
            }
            start += length;
        }
        let places = search.finish()?;
        Ok(Self {
            path: path.to_path_buf(),
            register,
            file: Mutex::new(file),
            places,
        })
    }

    /// What a frame gave; `index` is its place in the register.
    ///
    /// # Errors
    /// [`Error`] where the file has changed since it was opened.
    pub fn outcome(&self, index: usize) -> Result<Outcome, Error> {
        let place = self.places[index];
        let mut bytes = Vec::new();
        {
            let mut file = self.file.lock().unwrap_or_else(PoisonError::into_inner);
            file.seek(SeekFrom::Start(place.start))
                .map_err(unreadable(&self.path))?;
            (&mut *file)
                .take(place.length)
                .read_to_end(&mut bytes)
                .map_err(unreadable(&self.path))?;
        }
        let text = String::from_utf8_lossy(&bytes);
        Line::read(&text)
            .and_then(|line| line.outcome(self.register, index))
            .map_err(|problem| Error::Line {
                path: self.path.clone(),
                number: place.number,
                problem,
            })
    }
}

fn unreadable(path: &Path) -> impl Fn(std::io::Error) -> Error + use<> {
    let path = path.to_path_buf();
    move |problem| Error::Unreadable {
        path: path.clone(),
        problem,
    }
}

/// Lines being matched with frames.
struct Search<'a> {
    path: &'a Path,
    register: &'a Register,
    index: HashMap<(String, String), usize>,
    wanted: Vec<String>,
    /// Place and digest of each frame's line.
    found: Vec<Option<(Place, [u8; 32])>>,
    others: Vec<Option<usize>>,
}

impl<'a> Search<'a> {
    fn new(path: &'a Path, register: &'a Register, settings: &Settings) -> Self {
        let frames = register.frames.iter().enumerate();
        let count = register.frames.len();
        Self {
            path,
            register,
            index: frames
                .map(|(at, row)| ((row.file.clone(), register.assets[row.asset].tag.clone()), at))
                .collect(),
            wanted: (0..count).map(|at| line::inputs(register, at, settings)).collect(),
            found: vec![None; count],
            others: vec![None; count],
        }
    }

    fn take(&mut self, text: &str, place: Place) -> Result<(), Error> {
        let refuse = |problem| Error::Line {
            path: self.path.to_path_buf(),
            number: place.number,
            problem,
        };
        let line = Line::read(text).map_err(refuse)?;
        let Some(&at) = self.index.get(&(line.file.clone(), line.asset.clone())) else {
            return Ok(());
        };
        if line.inputs != self.wanted[at] {
            // Another plant may have a frame of the same name.
            self.others[at] = Some(place.number);
            return Ok(());
        }
        line.outcome(self.register, at).map_err(refuse)?;
        let digest = line.digest();
        match &self.found[at] {
            // An engine may run a partition twice.
            Some((_, first)) if *first == digest => {}
            Some((first, _)) => {
                return Err(Error::Contradiction {
                    path: self.path.to_path_buf(),
                    number: place.number,
                    first: first.number,
                    file: line.file,
                    asset: line.asset,
                });
            }
            None => self.found[at] = Some((place, digest)),
        }
        Ok(())
    }

    fn finish(self) -> Result<Vec<Place>, Error> {
        let missing = self.found.iter().enumerate().filter(|(_, found)| found.is_none());
        let mut words: Vec<String> = missing
            .map(|(at, _)| {
                let row = &self.register.frames[at];
                let frame = format!("{} ({})", row.file, self.register.assets[row.asset].tag);
                match self.others[at] {
                    None => format!("has no line for {frame}"),
                    Some(number) => {
                        format!(
                            "line {number} of {frame} is of other sheets, settings or options, or of another survey"
                        )
                    }
                }
            })
            .collect();
        if words.is_empty() {
            return Ok(self.found.into_iter().flatten().map(|(place, _)| place).collect());
        }
        let more = words.len().saturating_sub(NAMED);
        if more > 0 {
            words.truncate(NAMED);
            words.push(format!("and {more} more"));
        }
        Err(Error::Missing {
            path: self.path.to_path_buf(),
            frames: words,
        })
    }
}
