//! Where the asset lies in the picture and where each pixel lies on the asset.
//!
//! What comes in: a map of apparent temperature and the register's shape. What is guaranteed out: a [`View`] whose figure is
//! the registered one at a place, scale and tilt, with the share of its outline that the picture supports. What is not
//! handled: a camera that does not look square on (mark the outline by hand), and an asset hidden for most of its outline.

mod clip;
pub mod evidence;
pub mod figure;
pub mod orientation;
pub mod refine;
pub mod region;
pub mod search;

use ndarray::Array2;

use crate::register::{Shape, ViewHint};
use evidence::Evidence;
use figure::{Figure, Size, Surface};
use orientation::Orientation;
use refine::Fit;
use search::{Along, Candidate};

/// Thresholds of the room.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Settings {
    /// Least share of the outline that must be supported by an edge.
    pub least_support: f64,
    /// Least width of the asset across in px.
    pub least_width_px: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self { least_support: 0.45, least_width_px: 12.0 }
    }
}

/// How the figure was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Footing {
    /// Fitted to the edges of the picture.
    Fitted,
    /// From the outline marked by hand.
    ByHand,
}

/// Where the axial place was taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AxialFooting {
    /// Both ends are in view, or the sheet says where the view starts.
    Known,
    /// Neither: measured from the picture's datum-side edge.
    FromPictureEdge,
}

/// The asset in the picture.
#[derive(Debug, Clone)]
pub struct View {
    /// Turn between image and oriented coordinates.
    pub orientation: Orientation,
    /// The figure in oriented coordinates.
    pub figure: Figure,
    /// Share of the outline in view that an edge supports, 0..1 (1 where marked by hand).
    pub support: f64,
    /// How the figure was found.
    pub footing: Footing,
    /// Where the axial place was taken from.
    pub axial_footing: AxialFooting,
    /// The outline marked by hand in image pixels, where there is one.
    pub by_hand_px: Option<Vec<[f64; 2]>>,
}

impl View {
    /// The asset's outline in image pixels, cut to the picture.
    #[must_use]
    pub fn outline_px(&self) -> Vec<[f64; 2]> {
        if let Some(by_hand) = &self.by_hand_px {
            return by_hand.clone();
        }
        let (columns, rows) = self.orientation.size();
        let polygon: Vec<[f64; 2]> = self.figure.outline(3.0).iter().map(|p| [p.u, p.v]).collect();
        clip::to_picture(&polygon, columns as f64, rows as f64)
            .into_iter()
            .map(|[u, v]| self.orientation.to_image(u, v))
            .collect()
    }
}

/// Why no figure was placed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Error {
    /// Nothing in the picture fits the registered figure.
    #[error("no outline in the picture fits the registered shape (support {support:.2}, accepted: at least {least:.2}); hint: mark the asset with vessel_outline_px")]
    NotFound {
        /// Best support found.
        support: f64,
        /// Least support accepted.
        least: f64,
    },
    /// The asset is too small in the picture.
    #[error("the asset is {width_px:.0} px across (accepted: at least {least_px:.0} px); hint: take the picture from nearer")]
    TooSmall {
        /// Width across in px.
        width_px: f64,
        /// Least width in px.
        least_px: f64,
    },
}

/// Candidates that are refined.
const REFINED: usize = 24;
/// Refined candidates that try other head depths.
const HEADS_TRIED: usize = 5;
/// Head depths tried besides the usual one, as shares of the diameter: flat, shallow, hemispherical.
const OTHER_HEADS: [f64; 3] = [0.0, 0.15, 0.5];
/// Weight of the region's word (see [`region`]) against the edges'.
const REGION_WEIGHT: f64 = 0.5;

/// Places the asset in a map of apparent temperature (rows down, columns right; °C, NaN = no reading; noise in K).
///
/// # Errors
/// [`Error`] where nothing fits, or the asset is too small; never a guess.
pub fn locate(
    map: &Array2<f32>,
    noise_k: f64,
    asset: (&Shape, &ViewHint),
    settings: &Settings,
) -> Result<View, Error> {
    let (shape, hint) = asset;
    let orientation = Orientation::new(shape, hint.datum_side, map.ncols(), map.nrows());
    let turned = orientation.turn(map);
    let size = Size::from(shape);
    let fit = fit_figure(&turned, noise_k, size, hint.view_start_m);
    let (fit, axial_footing) = fit.ok_or(Error::NotFound { support: 0.0, least: settings.least_support })?;
    if fit.support < settings.least_support {
        return Err(Error::NotFound { support: fit.support, least: settings.least_support });
    }
    let width_px = 2.0 * size.half_width_m * fit.figure.scale_px_m;
    if width_px < settings.least_width_px {
        return Err(Error::TooSmall { width_px, least_px: settings.least_width_px });
    }
    Ok(View {
        orientation,
        figure: fit.figure,
        support: fit.support,
        footing: Footing::Fitted,
        axial_footing,
        by_hand_px: None,
    })
}

/// The best fit of the figure in an oriented map.
#[must_use]
pub fn fit_figure(
    map: &Array2<f32>,
    noise_k: f64,
    size: Size,
    view_start_m: Option<f64>,
) -> Option<(Fit, AxialFooting)> {
    let evidence = Evidence::measure(map, noise_k);
    let along = view_start_m.map_or(Along::Whole, Along::StartsAt);
    let mut candidates = search::search(&evidence, size, along, REFINED);
    let mut footing = AxialFooting::Known;
    let mut along = along;
    if candidates.is_empty() && view_start_m.is_none() {
        // A run longer than the picture: the long edges alone, measured from the picture's edge.
        along = Along::StartsAt(0.0);
        footing = AxialFooting::FromPictureEdge;
        candidates = search::search(&evidence, size, along, REFINED);
    }
    let judge = Judge { map, noise_k, evidence: &evidence, along };
    judge.best(&candidates).map(|fit| (fit, footing))
}

/// What every candidate is judged against.
struct Judge<'a> {
    map: &'a Array2<f32>,
    noise_k: f64,
    evidence: &'a Evidence,
    along: Along,
}

impl Judge<'_> {
    fn best(&self, candidates: &[Candidate]) -> Option<Fit> {
        let mut fits: Vec<(f64, Fit)> = candidates.iter().map(|c| self.scored(c.figure)).collect();
        fits.sort_by(|a, b| b.0.total_cmp(&a.0));
        if fits.first()?.1.figure.size.surface == Surface::Round {
            let others: Vec<(f64, Fit)> =
                fits.iter().take(HEADS_TRIED).flat_map(|(_, fit)| self.other_heads(fit.figure)).collect();
            fits.extend(others);
        }
        if std::env::var("DUMP").is_ok() { DUMPED.with(|d| *d.borrow_mut() = fits.iter().map(|(s,f)| (*s,*f, region::separation(&self.evidence.reduced, self.evidence.factor, &f.figure))).collect()); }
        fits.into_iter().max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, fit)| fit)
    }

    fn other_heads(&self, figure: Figure) -> Vec<(f64, Fit)> {
        let diameter_m = 2.0 * figure.size.half_width_m;
        let deep = OTHER_HEADS.map(|share| Figure { head_depth_m: share * diameter_m, ..figure });
        deep.into_iter().map(|figure| self.scored(figure)).collect()
    }

    /// Refines a figure; its score joins the word of the edges and of the region.
    fn scored(&self, figure: Figure) -> (f64, Fit) {
        let fit = refine::refine(self.map, self.noise_k, figure, self.along);
        let separation = region::separation(&self.evidence.reduced, self.evidence.factor, &fit.figure);
        let (apart, far_apart) = separation.map_or((0.0, 0.0), |s| (s.apart, s.far_apart));
        let size = (self.map.ncols() + self.map.nrows()) as f64;
        // Weights: conditional logit on simulated scenes (the right figure among all refined candidates of a picture).
        let outline = 0.6 * fit.support + 3.3 * apart + 4.7 * far_apart + 14.8 * fit.coherence - 11.2;
        let stretch = fit.figure.stretch.ln() / 0.02;
        let score = outline * fit.in_view_px / size + 4.0 * fit.weakest_side - 4.3 * fit.beyond - 0.08 * stretch * stretch;
        (score, fit)
    }
}

thread_local! { pub static DUMPED: std::cell::RefCell<Vec<(f64, Fit, Option<region::Separation>)>> = const { std::cell::RefCell::new(Vec::new()) }; }
