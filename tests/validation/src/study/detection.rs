//! Probability of detection against contrast and size.

use coldjacket::statistic::Proportion;
use coldjacket::statistic::hit_miss::{HitMissFit, SizeScale, Trial};
use coldjacket_simulator::draw::{Geometry, Wish, draw_patches, random_scene};
use coldjacket_simulator::random::Prng;
use coldjacket_simulator::scene::{Fixture, Scene};
use coldjacket_simulator::survey::Given;

use crate::case::{Case, generator};
use crate::score::{CLEAR_M, FrameScore, PatchScore};
use crate::table::{Table, figure};

/// Sides of the patches, px.
const SIDES_PX: [usize; 4] = [5, 8, 16, 32];
/// Noise of a reading at a side of 8 px, K.
const NOISES_K: [f64; 3] = [0.03, 0.05, 0.1];
const USUAL_NOISE_K: f64 = 0.05;
const USUAL_SIDE_PX: usize = 8;
/// Conductivity ratios drawn, evenly in their logarithm of (ratio − 1): contrasts of about 0.05 to 5 K.
const RATIOS: (f64, f64) = (1.03, 5.0);
/// Largest picture, px.
const LARGEST_PX: usize = 384;
/// Least side of a patch, m, that of the smallest wet patch of the other parts of the study: what is smaller is a port or a
/// fastener by the rules. A patch of few pixels is therefore seen from further away, not made smaller.
const LEAST_SIDE_M: f64 = 0.2;
/// Ends of the classes of contrast, K.
const CLASSES_K: [f64; 8] = [0.0, 0.2, 0.35, 0.5, 0.75, 1.0, 2.0, 9.0];

/// Intersection over union from which an outline counts as well placed.
const WELL_PLACED: f64 = 0.9;

/// A group of frames whose patches share side and noise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Group {
    /// Side of the patches, px.
    pub side_px: usize,
    /// Noise, K.
    pub noise_k: f64,
}

impl Group {
    /// Every group of the study.
    pub fn all() -> Vec<Self> {
        let by_size = SIDES_PX.map(|side_px| Self {
            side_px,
            noise_k: USUAL_NOISE_K,
        });
        let by_noise = NOISES_K.map(|noise_k| Self {
            side_px: USUAL_SIDE_PX,
            noise_k,
        });
        let mut all = by_size.to_vec();
        all.extend(by_noise.into_iter().filter(|group| group.noise_k != USUAL_NOISE_K));
        all
    }

    /// Its name in tables.
    pub fn name(self) -> String {
        format!("{0} × {0} px, {1:.0} mK", self.side_px, 1000.0 * self.noise_k)
    }
}

/// `count` frames of every group, two patches each, nothing else on the jacket but what carries the vessel.
pub fn cases(seed: u64, count: usize) -> Vec<Case> {
    Group::all()
        .into_iter()
        .enumerate()
        .flat_map(|(number, group)| (0..count).map(move |index| case(seed + number as u64, index, group)))
        .collect()
}

fn case(seed: u64, index: usize, group: Group) -> Case {
    let mut prng = generator(seed, index);
    let mut scene = small_picture(&mut prng, index);
    scene
        .fixtures
        .retain(|f| matches!(f, Fixture::Saddle { .. } | Fixture::Leg { .. } | Fixture::Skirt { .. }));
    scene.camera.noise_k = group.noise_k;
    let farthest_px_m = group.side_px as f64 / LEAST_SIDE_M;
    scene.camera.pixels_per_metre = scene.camera.pixels_per_metre.min(farthest_px_m);
    draw_patches(&mut scene, &mut prng, 2);
    let half_m = 0.5 * group.side_px as f64 / scene.camera.pixels_per_metre;
    for patch in &mut scene.patches {
        let (low, high) = ((RATIOS.0 - 1.0_f64).ln(), (RATIOS.1 - 1.0_f64).ln());
        patch.ratio = 1.0 + prng.between(low, high).exp();
        (patch.half_length_m, patch.half_arc_m) = (half_m, half_m);
        patch.soft_edge_m = (0.4 * half_m).min(0.03);
    }
    // A net fine enough for the smallest patch.
    let reach_m = scene.vessel.length_m + scene.vessel.diameter_m;
    let cell_m = (half_m / 2.5).clamp(0.012, 0.03);
    scene.grid.along = ((reach_m / cell_m) as usize).clamp(100, 360);
    scene.grid.round = ((3.1 * scene.vessel.diameter_m / cell_m) as usize).clamp(100, 360);
    Case {
        name: format!("p{seed}-{index:03}"),
        row: group.name(),
        scene,
        seed: prng.bits() >> 16,
        screen: None,
        field_of_view: Given::Stated,
    }
}

fn small_picture(prng: &mut Prng, index: usize) -> Scene {
    let wish = Wish {
        patches: Some(0),
        may_be_partial: false,
        geometry: Some([Geometry::Horizontal, Geometry::Vertical][index % 2]),
        ..Wish::default()
    };
    loop {
        let scene = random_scene(prng, &wish);
        if scene.camera.width.max(scene.camera.height) <= LARGEST_PX {
            return scene;
        }
    }
}

/// What a curve is drawn through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Of {
    /// Every patch.
    All,
    /// Those of frames whose outline overlaps the truth well. A patch in a frame whose outline is misplaced is missed at any
    /// contrast: the curve, which must reach 1, then answers for the outline and not for contrast.
    WellPlaced,
    /// Of these, those from which the next support is as far as the smallest of them is wide: what a saddle hides in part is no
    /// zone of that many pixels, and what stands closer is told from it or not by other things than contrast.
    Clear,
}

impl Of {
    const ALL: [Self; 3] = [Self::All, Self::WellPlaced, Self::Clear];

    fn name(self) -> String {
        match self {
            Self::All => String::new(),
            Self::WellPlaced => format!(", outline IoU ≥ {WELL_PLACED}"),
            Self::Clear => format!(", outline IoU ≥ {WELL_PLACED}, {CLEAR_M} m from supports"),
        }
    }

    fn patches<'a>(self, scores: &[&'a FrameScore]) -> Vec<&'a PatchScore> {
        let placed = |score: &&&FrameScore| self == Self::All || score.outline.is_some_and(|iou| iou >= WELL_PLACED);
        let clear = |patch: &&PatchScore| self != Self::Clear || patch.clear;
        let frames = scores.iter().filter(placed);
        frames.flat_map(|score| &score.patches).filter(clear).collect()
    }
}

/// Hits and misses against contrast.
pub fn trials<'a>(patches: impl IntoIterator<Item = &'a PatchScore>) -> Vec<Trial> {
    let trial = |patch: &PatchScore| Trial {
        size: patch.contrast_k.max(1e-3),
        hit: patch.found.is_some(),
    };
    patches.into_iter().map(trial).collect()
}

/// The curves: one group a row.
pub fn table_curves(sets: &[(String, Vec<&FrameScore>)]) -> Table {
    let mut table = Table::new(
        "detection_curves",
        "Contrast (K) that is found nine times in ten: logit POD = β₀ + β₁ ln a by maximum likelihood; a90/95 by the \
         likelihood ratio and by the pointwise Wald bound of the curve",
        &[
            "zones",
            "trials",
            "hits",
            "β₀",
            "β₁",
            "a50",
            "a90",
            "a90/95 likelihood",
            "a90/95 Wald",
            "missed at 1 K or more",
            "of all missed set aside",
        ],
    );
    let rows = sets.iter().flat_map(|set| Of::ALL.map(|of| (set, of)));
    for ((name, scores), of) in rows {
        let patches = of.patches(scores);
        let aside = patches.iter().filter(|p| p.found.is_none() && p.set_aside);
        let mut row = curve(&format!("{name}{}", of.name()), &trials(patches.iter().copied()));
        row.push(aside.count().to_string());
        table.push(row);
    }
    table
}

fn curve(name: &str, trials: &[Trial]) -> Vec<String> {
    let hits = trials.iter().filter(|t| t.hit).count();
    let missed = trials.iter().filter(|t| !t.hit && t.size >= 1.0).count();
    let mut row = vec![name.to_owned(), trials.len().to_string(), hits.to_string()];
    match HitMissFit::new(trials, SizeScale::Logarithm) {
        Ok(fit) => row.extend(
            [
                Some(fit.intercept),
                Some(fit.slope),
                Some(fit.size_at(0.5)),
                Some(fit.size_at(0.9)),
                fit.size_at_upper_likelihood(0.9, 0.95),
                fit.size_at_upper_wald(0.9, 0.95),
            ]
            // Beyond any contrast that a jacket can have the curve says only that it has no bound.
            .map(|value| figure(value.filter(|v| v.abs() < 100.0), 2)),
        ),
        Err(problem) => {
            row.push(problem.to_string());
            row.extend(std::iter::repeat_n("–".to_owned(), 5));
        }
    }
    row.push(missed.to_string());
    row
}

/// Hits among trials by class of contrast, one group a row, without any model.
pub fn table_classes(sets: &[(String, Vec<&FrameScore>)]) -> Table {
    let mut table = Table::new(
        "detection_classes",
        "Found of patches by contrast, K (exact one-sided 95 % lower bound)",
        &[
            "zones",
            "below 0.2",
            "0.2–0.35",
            "0.35–0.5",
            "0.5–0.75",
            "0.75–1",
            "1–2",
            "above 2",
        ],
    );
    for (name, scores) in sets {
        let trials = trials(scores.iter().flat_map(|score| &score.patches));
        let mut row = vec![name.clone()];
        for ends in CLASSES_K.windows(2) {
            let mine: Vec<&Trial> = trials.iter().filter(|t| (ends[0]..ends[1]).contains(&t.size)).collect();
            let hits = mine.iter().filter(|t| t.hit).count() as u32;
            let bound = Proportion::new(hits, mine.len() as u32).map(|p| p.lower_bound(0.95));
            row.push(format!("{hits} of {} ({})", mine.len(), figure(bound, 2)));
        }
        table.push(row);
    }
    table
}
