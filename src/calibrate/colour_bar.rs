//! Temperatures from an ordinary picture through the colour bar that it shows.
//!
//! What comes in: a picture of colours and the temperatures at the ends of its bar. What is guaranteed out: a [`Screen`] of
//! temperatures in which text, cross-hairs, icons, margins and the bar itself are no reading, and every reading at an end of
//! the bar is marked as a bound. What is not handled: numerals are not read, so without stated limits there are no
//! temperatures; and a colour that the bar shows twice is no reading.
//!
//! The bar in the picture is the only palette: none is built in. An upright bar has its high end at the top, a level one at
//! the right, as is the trade's habit.

mod blend;
mod choice;
mod curve;
mod find;
mod fit;
mod grid;
mod matching;
mod overlay;
mod problem;
mod readout;
mod regions;
mod section;
mod space;

use ndarray::Array2;

use crate::read::{Packing, Picture};
use curve::Curve;
pub use grid::Lie;
use matching::Matcher;
pub use problem::Error;
use readout::Seen;
use space::Space;

/// What the sheet says of the bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stated {
    /// Temperature at the low end in °C.
    pub low_c: f64,
    /// Temperature at the high end in °C.
    pub high_c: f64,
    /// Its box x y w h in px, where it is stated.
    pub box_px: Option<[u32; 4]>,
}

/// An end of the bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum End {
    /// At most what is read.
    Low,
    /// At least what is read.
    High,
}

/// The bar as it was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// Its box x y w h in px.
    pub box_px: [usize; 4],
    /// Which way it lies.
    pub lie: Lie,
    /// Temperature of one of its steps in K.
    pub step_k: f64,
    /// Temperatures at its ends in °C, low first.
    pub ends_c: [f64; 2],
}

/// A picture as temperatures.
#[derive(Debug, Clone)]
pub struct Screen {
    /// Temperatures in °C; NaN = no reading.
    pub celsius: Array2<f32>,
    /// Readings that stand at an end of the bar.
    pub ended: Array2<Option<End>>,
    /// The bar.
    pub bar: Bar,
    /// Standard uncertainty of a reading from the bar's steps, the 8-bit colours and the compression, in K.
    pub reading_u_k: f64,
    /// Share of what would be readings whose colour stands for two temperatures; they are no reading.
    pub ambiguous_share: f64,
}

/// Least share of the picture that must lie on the bar's colours.
const LEAST_EXPLAINED: f64 = 0.5;
/// Most of it whose colours may stand for two temperatures.
const MOST_AMBIGUOUS: f64 = 0.5;
/// Distance in colour within which a picture's colour lies on the bar.
const EXPLAINED: f32 = 0.06;
/// The same where compression at low quality mixed the hues.
const EXPLAINED_COMPRESSED: f32 = 0.09;
/// Reads a picture's temperatures through its bar; how it was packed says how far its colours can be trusted.
///
/// # Errors
/// [`Error`], one clear sentence each, never a guess.
pub fn read((picture, packing): (&Picture, Packing), stated: &Stated) -> Result<Screen, Error> {
    let space = Space::new();
    let strip = match stated.box_px {
        Some(box_px) => choice::stated(picture, box_px, &space)?,
        None => choice::found(picture, &space)?,
    };
    let box_px = strip.box_px;
    // A picture once compressed may have been stored again without loss.
    let packing = if fit::is_compressed(picture, &strip) {
        Packing::Lossy
    } else {
        packing
    };
    let curve = Curve::new(&strip.rows, &space, packing).ok_or(Error::NoBar)?;
    let mut matched = Matcher::new(&curve, &space).picture(picture);
    let near = match packing {
        Packing::Lossless => EXPLAINED,
        Packing::Lossy => EXPLAINED_COMPRESSED,
    };
    let share = fit::explained(picture, &matched, box_px, near);
    if share < LEAST_EXPLAINED {
        return Err(Error::DoesNotFit {
            box_px,
            share,
            what: fit::strikes(picture, &curve, &space),
        });
    }
    let scatter = fit::scatter(&matched);
    let smeared = blend::resolve(&mut matched, picture, fit::too_far(scatter));
    let seen = Seen {
        picture,
        matched: &matched,
        smeared: &smeared,
        scatter,
        packing,
    };
    readout::screen(&seen, (&curve, &strip), stated)
}
