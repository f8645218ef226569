//! Where the asset lies in the picture and where each pixel lies on the asset.
//!
//! What comes in: a map of apparent temperature and the register's shape. What is guaranteed out: a [`View`] whose figure is
//! the registered one at a place, scale, tilt and taper, with the share of its outline that the picture supports. What is not
//! handled: an asset seen nearly along its axis (mark the outline by hand), and one hidden for most of its outline.

mod by_hand;
pub mod case;
pub mod choice;
mod clip;
pub mod coarse;
mod ends;
pub mod evidence;
pub mod eye;
pub mod figure;
pub mod limb;
mod lines;
pub mod orientation;
mod pull;
pub mod refine;
pub mod region;
pub mod search;
mod strips;
mod walk;

use ndarray::{Array2, ArrayView1};

use crate::register::{Shape, ViewHint};
use choice::{Chooser, Found};
use evidence::Evidence;
use eye::{Eye, OnJacket, Pinhole, Sure};
use figure::{Figure, Size};
use orientation::Orientation;
use refine::Fit;
use search::Along;

/// Thresholds of the room.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Settings {
    /// Least case for the figure (see [`case`]) for it to be taken at all.
    pub least_case: f64,
    /// Case below which a figure that is taken is called doubtful.
    pub sure_case: f64,
    /// Score below which a figure that is taken is called doubtful: of those taken in the 2496 pictures that [`choice`] names, 128
    /// were below it and 43 of those wrong (intersection over union below 0.9), 14 of the 2368 others (counted once, before what
    /// less effort found was kept; no command here shows it). It was moved by hand with the terms that came since: of 576 scenes of
    /// this repository and 384 of `scripts/outside` 28 wrong ones were above it, and 63 right ones below (counted once likewise).
    pub sure_score: f64,
    /// Least lead of the score over that of the best figure elsewhere in the picture: two that fit alike are two guesses. Of the
    /// same pictures seven had a lead of 1 to 2: five were right, and two wrong, called doubtful by their score (counted likewise).
    pub least_lead: f64,
    /// Least share of the long edges beyond which the picture must be unlike the inside, for a run without ends in view.
    pub least_run_apart: f64,
    /// Least width of the asset across in px.
    pub least_width_px: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            least_case: -2.0,
            sure_case: 0.5,
            sure_score: 18.5,
            least_lead: 1.0,
            least_run_apart: 0.5,
            least_width_px: 12.0,
        }
    }
}

/// How the figure was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Footing {
    /// Fitted to the edges of the picture.
    Fitted,
    /// From the outline marked by hand.
    ByHand,
}

/// Where the axial place was taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum AxialFooting {
    /// Both ends are in view, or the sheet says where the view starts.
    Known,
    /// Neither: measured from the picture's datum-side edge.
    FromPictureEdge,
}

/// How sure it is that the figure is the asset.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Trust {
    /// Marked by hand, or much speaks for it.
    Sure,
    /// Enough speaks for it to show it, not enough to rely on: a person should look.
    Doubtful,
}

/// The asset in the picture.
#[derive(Debug, Clone, serde::Serialize, serde::Deserialize)]
pub struct View {
    /// Turn between image and oriented coordinates.
    pub orientation: Orientation,
    /// The figure in oriented coordinates.
    pub figure: Figure,
    /// Share of the outline in view that an edge supports, 0..1 (1 where marked by hand).
    pub support: f64,
    /// How sure it is that the figure is the asset.
    pub trust: Trust,
    /// How the figure was found.
    pub footing: Footing,
    /// Where the axial place was taken from.
    pub axial_footing: AxialFooting,
    /// The outline marked by hand in image pixels, where there is one.
    pub by_hand_px: Option<Vec<[f64; 2]>>,
    /// Where the camera stands, where that is known: else it is taken to be far away.
    pub eye: Option<Eye>,
}

impl View {
    /// The same view in oriented pixels of which each takes in `times` × `times` of its own.
    #[must_use]
    pub fn coarser(&self, times: usize) -> Self {
        let orientation = self.orientation.coarser(times);
        // By way of the image: pixels left over at its far side are left out of what is counted from there.
        let [x, y] = self.orientation.to_image(self.figure.anchor_u, self.figure.anchor_v);
        let (anchor_u, anchor_v) = orientation.from_image(x, y);
        Self {
            orientation,
            figure: Figure {
                anchor_u,
                anchor_v,
                ..self.figure.reduced(times)
            },
            ..self.clone()
        }
    }

    /// Places the camera before the figure, so that places and areas are those of a jacket seen from there.
    pub fn place_camera(&mut self, camera: &Pinhole, hint: &ViewHint) {
        let sure = match (self.axial_footing, hint.view_start_m) {
            (AxialFooting::FromPictureEdge, _) => Sure::At(0.0),
            (AxialFooting::Known, Some(start_m)) => Sure::At(start_m),
            (AxialFooting::Known, None) => Sure::Ends,
        };
        self.eye = Eye::of(camera, &self.figure, &self.orientation, sure);
    }

    /// The place on a round jacket, or on the plane of a wall, that an oriented pixel shows; the share runs over −1..1 within
    /// the figure.
    #[must_use]
    pub fn on_jacket(&self, u: f64, v: f64) -> OnJacket {
        let (axial_m, across_m) = self.figure.local(u, v);
        OnJacket::seen(self.eye.as_ref(), axial_m, across_m / self.figure.size.half_width_m)
    }

    /// The oriented pixel that shows a place on the jacket that faces the camera (axial m, share of the half width).
    #[must_use]
    pub fn pixel(&self, axial_m: f64, share: f64) -> (f64, f64) {
        let (axial_m, share) = self.eye.map_or((axial_m, share), |eye| eye.in_figure(axial_m, share));
        self.figure.pixel(axial_m, share * self.figure.size.half_width_m)
    }

    /// The asset's outline in image pixels, cut to the picture.
    #[must_use]
    pub fn outline_px(&self) -> Vec<[f64; 2]> {
        let by_hand = self.by_hand_px.clone();
        by_hand.unwrap_or_else(|| outline_px(&self.figure, &self.orientation))
    }
}

/// A figure's outline in image pixels, cut to the picture.
fn outline_px(figure: &Figure, orientation: &Orientation) -> Vec<[f64; 2]> {
    let (columns, rows) = orientation.size();
    let polygon: Vec<[f64; 2]> = figure.whole().outline(3.0).iter().map(|p| [p.u, p.v]).collect();
    clip::to_picture(&polygon, columns as f64, rows as f64)
        .into_iter()
        .map(|[u, v]| orientation.to_image(u, v))
        .collect()
}

/// Why no figure was placed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Error {
    /// Nothing in the picture fits the registered figure.
    #[error("no outline in the picture fits the registered shape well enough (the best has edges along {:.0} % of it, case {case:.1}, accepted from {least_case:.1}); hint: check shape, diameter and length, or mark the asset with vessel_outline_px", 100.0 * support)]
    NotFound {
        /// Best support found.
        support: f64,
        /// The case for it.
        case: f64,
        /// Least case accepted.
        least_case: f64,
    },
    /// Two figures fit.
    #[error(
        "two places in the picture fit the registered shape about equally well; hint: mark the asset with vessel_outline_px"
    )]
    TwoFit,
    /// The outline marked by hand cannot be the asset's.
    #[error(
        "vessel_outline_px {what}; hint: mark the corners of the asset's outline in order, x y from the top left pixel"
    )]
    BadOutline {
        /// What is wrong with it.
        what: String,
    },
    /// The asset is too small in the picture.
    #[error(
        "the asset is {width_px:.0} px across (accepted: at least {least_px:.0} px); hint: take the picture from nearer"
    )]
    TooSmall {
        /// Width across in px.
        width_px: f64,
        /// Least width in px.
        least_px: f64,
    },
}

/// Places the asset in a map of apparent temperature (rows down, columns right; °C, NaN = no reading; noise in K).
///
/// # Errors
/// [`Error`] where nothing fits, or the asset is too small; never a guess.
pub fn locate(map: &Array2<f32>, noise_k: f64, asset: (&Shape, &ViewHint), settings: &Settings) -> Result<View, Error> {
    let orientation = orient((map, 1), asset);
    locate_turned((&orientation.turn(map), orientation), noise_k, asset, settings)
}

/// The way an asset is turned in a map of which one reading fills `grain` × `grain` pixels, as on a screen that enlarges.
#[must_use]
pub fn orient((map, grain): (&Array2<f32>, usize), (shape, hint): (&Shape, &ViewHint)) -> Orientation {
    Orientation::new(shape, hint.datum_side, map.ncols(), map.nrows())
        .within(part_with_readings(map))
        .coarser(grain)
}

/// As [`locate`], in a map that is turned already; noise of a reading of it.
///
/// # Errors
/// As [`locate`].
pub fn locate_turned(
    (turned, orientation): (&Array2<f32>, Orientation),
    noise_k: f64,
    asset: (&Shape, &ViewHint),
    settings: &Settings,
) -> Result<View, Error> {
    let (shape, hint) = asset;
    let size = Size::from(shape);
    if let Some(polygon) = &hint.outline_px {
        let (figure, axial_footing) = by_hand::place(polygon, &orientation, size, hint.view_start_m)?;
        let by_hand_px = Some(polygon.clone());
        wide_enough(&figure, settings)?;
        return Ok(View {
            orientation,
            figure,
            support: 1.0,
            trust: Trust::Sure,
            footing: Footing::ByHand,
            axial_footing,
            by_hand_px,
            eye: None,
        });
    }
    let along = hint.view_start_m.map_or(Along::Whole, Along::StartsAt);
    let cleared = strips::without(turned, noise_k);
    let taken_in = |map: &Array2<f32>, along| {
        let found = fit_figure(map, noise_k, size, along).ok_or_else(|| nothing(settings))?;
        accepted(&found, settings).map(|taken| (taken, found.coarse.wide_apart))
    };
    let fitted = |along| {
        let Some(cleared) = &cleared else {
            return taken_in(turned, along);
        };
        match taken_in(cleared, along) {
            Ok(taken) if taken.0.trust == Trust::Sure => Ok(taken),
            // What was taken away may have been the clearest of its edges.
            doubted => match (doubted, taken_in(turned, along)) {
                (Ok(one), Ok(other)) if one.0.score >= other.0.score => Ok(one),
                (Ok(one), Err(_)) => Ok(one),
                (_, other) => other,
            },
        }
    };
    let (taken, axial_footing) = match fitted(along) {
        Ok((taken, _)) => (taken, AxialFooting::Known),
        // A run longer than the picture: the long edges alone, measured from the picture's edge.
        Err(problem) if along == Along::Whole => {
            // Two lines alone are soon found: what lies beyond them must be unlike what lies between.
            let run = fitted(Along::StartsAt(0.0)).ok().filter(|(taken, apart)| {
                fills(&taken.fit.figure, turned.ncols()) && *apart >= settings.least_run_apart
            });
            (run.ok_or(problem)?.0, AxialFooting::FromPictureEdge)
        }
        Err(problem) => return Err(problem),
    };
    let Taken { fit, trust, .. } = taken;
    wide_enough(&fit.figure, settings)?;
    Ok(View {
        orientation,
        figure: at_its_middle(&fit.figure, turned.ncols()),
        support: fit.support,
        trust,
        footing: Footing::Fitted,
        axial_footing,
        by_hand_px: None,
        eye: None,
    })
}

/// The figure with its anchor in the middle of what is in view, so that its scale is that of the middle.
fn at_its_middle(figure: &Figure, columns: usize) -> Figure {
    let on_axis = |u: f64| figure.local(u, figure.anchor_v).0.clamp(0.0, figure.size.length_m);
    figure.anchored_at(0.5 * (on_axis(0.0) + on_axis(columns as f64 - 1.0)))
}

/// A fit that enough speaks for.
struct Taken {
    fit: Fit,
    trust: Trust,
    /// Against others of the same shape.
    score: f64,
}

/// The part x y w h of an image within margins that hold next to no readings: the caption strip or the ground beside a
/// screen's picture is no place where an asset could be, and its border no edge. A bar that stands in the scene leaves
/// readings beside it, and hides what may be an end of the asset: it stays within.
fn part_with_readings(map: &Array2<f32>) -> [usize; 4] {
    const LEAST_SHARE: f64 = 0.05;
    let (rows, columns) = map.dim();
    let (mut top, mut bottom, mut left, mut right) = (0, rows, 0, columns);
    let filled = |line: ArrayView1<f32>, from: usize, to: usize| {
        let read = line.iter().take(to).skip(from).filter(|t| t.is_finite()).count();
        read as f64 >= LEAST_SHARE * (to - from) as f64
    };
    // What one pair of margins covers thins the lines of the other: twice round.
    for _ in 0..2 {
        top = (top..bottom).find(|&y| filled(map.row(y), left, right)).unwrap_or(top);
        bottom = (top..bottom)
            .rev()
            .find(|&y| filled(map.row(y), left, right))
            .map_or(bottom, |y| y + 1);
        left = (left..right)
            .find(|&x| filled(map.column(x), top, bottom))
            .unwrap_or(left);
        right = (left..right)
            .rev()
            .find(|&x| filled(map.column(x), top, bottom))
            .map_or(right, |x| x + 1);
    }
    [left, top, right - left, bottom - top]
}

/// The fit, if enough speaks for it.
fn accepted(found: &Found, settings: &Settings) -> Result<Taken, Error> {
    let case = case::of(found);
    if case < settings.least_case {
        return Err(Error::NotFound {
            support: found.fit.support,
            case,
            least_case: settings.least_case,
        });
    }
    if found.lead < settings.least_lead {
        return Err(Error::TwoFit);
    }
    let trust = if case < settings.sure_case || found.score < settings.sure_score {
        Trust::Doubtful
    } else {
        Trust::Sure
    };
    Ok(Taken {
        fit: found.fit,
        trust,
        score: found.score,
    })
}

/// Where no line of the picture could be an edge of the figure.
fn nothing(settings: &Settings) -> Error {
    Error::NotFound {
        support: 0.0,
        case: case::NOTHING,
        least_case: settings.least_case,
    }
}

/// Whether a figure that starts at the picture's edge goes on beyond the other.
fn fills(figure: &Figure, columns: usize) -> bool {
    figure.size.length_m * figure.scale_px_m > columns as f64
}

fn wide_enough(figure: &Figure, settings: &Settings) -> Result<(), Error> {
    let width_px = 2.0 * figure.size.half_width_m * figure.scale_px_m;
    if width_px < settings.least_width_px {
        return Err(Error::TooSmall {
            width_px,
            least_px: settings.least_width_px,
        });
    }
    Ok(())
}

/// A figure among those that the outline of an asset is chosen from.
#[derive(Debug, Clone, PartialEq)]
pub struct Contender {
    /// The values of [`choice::TERMS`].
    pub terms: [f64; choice::TERMS.len()],
    /// Its outline in image pixels, cut to the picture.
    pub outline_px: Vec<[f64; 2]>,
}

/// The figures that the outline of an asset is chosen from in a map (as [`locate`] takes it), with much effort whatever they
/// show: for fitting the weights of the choice.
#[must_use]
pub fn contenders(map: &Array2<f32>, noise_k: f64, (shape, hint): (&Shape, &ViewHint)) -> Vec<Contender> {
    let orientation = orient((map, 1), (shape, hint));
    let turned = orientation.turn(map);
    let along = hint.view_start_m.map_or(Along::Whole, Along::StartsAt);
    let found = choosing(&turned, noise_k, along, |chooser| chooser.contenders(Size::from(shape))).into_iter();
    found
        .map(|found| Contender {
            terms: found.terms,
            outline_px: outline_px(&found.fit.figure, &orientation),
        })
        .collect()
}

/// The best fit of the figure in an oriented map, however little speaks for it; `None` where no line of the picture could
/// be an edge of the figure.
#[must_use]
pub fn fit_figure(map: &Array2<f32>, noise_k: f64, size: Size, along: Along) -> Option<Found> {
    choosing(map, noise_k, along, |chooser| chooser.best(size))
}

/// What is asked of the edges of an oriented map.
fn choosing<T>(map: &Array2<f32>, noise_k: f64, along: Along, ask: impl FnOnce(&Chooser) -> T) -> T {
    ask(&Chooser {
        map,
        noise_k,
        evidence: &Evidence::measure(map, noise_k),
        along,
    })
}

#[cfg(test)]
mod tests;
