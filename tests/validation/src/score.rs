//! What came out of a frame against what is there.

use coldjacket::assess::Extent;
use coldjacket::assess::usability::Usability;
use coldjacket::inspect::FrameReport;
use coldjacket::rank::Ranked;
use coldjacket::record::Survey;
use coldjacket_simulator::mask::Mask;
use coldjacket_simulator::{PatchTruth, Truth};

use crate::case::Case;

/// Share of their union that a zone and a patch must share to be the same thing.
const SAME_PLACE: f64 = 0.25;
/// Share of a zone on a patch from which it is no false call: a part or a double of it.
const TOUCHES: f64 = 0.1;
/// Share of a zone (or thing) on a thing (or zone) from which the one stands for the other.
const STANDS_FOR: f64 = 0.3;
/// Share of a patch under zones set aside from which it counts as set aside, though they may reach far beyond it.
const UNDER: f64 = 0.5;
/// Reach within which a zone belongs to a thing, px.
const REACH_PX: usize = 3;
/// Reach within which a patch lies beside a thing, m.
const BESIDE_M: f64 = 0.1;
/// Reach beyond which a thing and a patch are told apart at the coarsest pixels of the study, m: side of the smallest patch.
pub const CLEAR_M: f64 = 0.2;
/// Fewest pixels that count as seen.
const LEAST_PIXELS: usize = 9;
/// Cosine of the viewing angle within which jacket counts as seen.
const SQUARE_ON: f32 = 0.5;

/// A wet patch and what was made of it.
#[derive(Debug, Clone)]
pub struct PatchScore {
    /// Mean contrast of its pixels, K, as a size.
    pub contrast_k: f64,
    /// Visible pixels.
    pub pixels: usize,
    /// Square root of the visible area, m.
    pub side_m: f64,
    /// Kinds of clutter beside or on it.
    pub beside: Vec<&'static str>,
    /// Whether nothing that is seen lies within [`CLEAR_M`].
    pub clear: bool,
    /// Whether a zone that was set aside covers it: seen, but taken for something else or merged with it.
    pub set_aside: bool,
    /// The zone that is it, if one is.
    pub found: Option<Found>,
}

/// A patch found.
#[derive(Debug, Clone)]
pub struct Found {
    /// Intersection over union.
    pub likeness: f64,
    /// Error along the axis, m.
    pub axial_error_m: f64,
    /// Error round the axis, degrees (cylinders).
    pub angle_error_deg: Option<f64>,
    /// Area found over the visible area.
    pub area_share: f64,
    /// Ratio found over the true ratio.
    pub ratio_share: f64,
    /// Whether the 95 % interval of the ratio holds the truth.
    pub covered: bool,
}

/// A finding where nothing is wet.
#[derive(Debug, Clone)]
pub struct FalseCall {
    /// The zone's name.
    pub id: String,
    /// Contrast, K.
    pub contrast_k: f64,
    /// Area, m².
    pub area_m2: f64,
    /// The thing that it is.
    pub kind: &'static str,
    /// Where, px.
    pub centroid_px: [f64; 2],
}

/// What was made of a thing that may look like moisture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Outcome {
    /// A finding: wrong.
    Called,
    /// A zone set aside.
    SetAside,
    /// No zone.
    Absorbed,
}

/// A thing that may look like moisture and what was made of it.
#[derive(Debug, Clone)]
pub struct ThingScore {
    /// What it is.
    pub kind: &'static str,
    /// What was made of it; `None` where it is out of view or all over the picture.
    pub outcome: Option<Outcome>,
}

/// What came out of one frame.
#[derive(Debug, Clone)]
pub struct FrameScore {
    /// The frame's name.
    pub name: String,
    /// What the study varied.
    pub row: String,
    /// How far the frame was called usable.
    pub usability: Usability,
    /// Why not fully.
    pub reasons: Vec<String>,
    /// Intersection over union of the vessel's outline; `None` where none was drawn.
    pub outline: Option<f64>,
    /// Width of the outline's edge as measured, px.
    pub edge_width_px: Option<f64>,
    /// Jacket usefully seen, m².
    pub usable_m2: f64,
    /// Whether the asset was called wet all over.
    pub general: bool,
    /// Conductivity of the whole insulation over dry, in truth.
    pub overall_ratio: f64,
    /// Ratio called for the whole, and its 95 % interval.
    pub general_ratio: Option<(f64, [f64; 2])>,
    /// The patches.
    pub patches: Vec<PatchScore>,
    /// Findings where nothing is wet.
    pub false_calls: Vec<FalseCall>,
    /// Things that may look like moisture.
    pub things: Vec<ThingScore>,
}

/// A zone with its pixels.
struct Zone<'a> {
    ranked: &'a Ranked,
    mask: Mask,
    aside: bool,
}

/// A thing with its pixels, and those grown by a little.
struct Thing {
    kind: &'static str,
    mask: Mask,
    near: Mask,
    seen: bool,
}

/// Scores case `index` of a survey whose cases are each an asset and a frame of their own.
pub fn score(case: &Case, truth: &Truth, survey: &Survey, index: usize) -> FrameScore {
    let size = truth.vessel.dim();
    let report = &survey.frames[index];
    let mine: Vec<&Ranked> = survey.zones.iter().filter(|zone| zone.asset == index).collect();
    let zones: Vec<Zone> = mine
        .iter()
        .filter(|zone| zone.finding.extent == Extent::Local)
        .map(|ranked| Zone {
            ranked,
            mask: Mask::of_outline(&ranked.sightings[0].outline_px, size),
            aside: ranked.finding.cause.is_set_aside(),
        })
        .collect();
    let things = things(truth);
    let patches: Vec<Mask> = truth.patches.iter().map(|patch| Mask::of(&patch.pixels)).collect();
    let false_zones: Vec<&Zone> = zones
        .iter()
        .filter(|zone| !zone.aside && !touches_any(zone, &patches))
        .collect();
    let general = mine.iter().find(|zone| zone.finding.extent == Extent::General);
    FrameScore {
        name: case.name.clone(),
        row: case.row.clone(),
        usability: report.usability,
        reasons: report.reasons.clone(),
        outline: outline_likeness(report, truth),
        edge_width_px: report.edge_width_px,
        usable_m2: report.seen.map_or(0.0, |seen| seen.usable_m2),
        general: general.is_some(),
        overall_ratio: case.scene.vessel.overall_ratio,
        general_ratio: general.map(|zone| (zone.finding.ratio, zone.finding.ratio_interval)),
        patches: truth
            .patches
            .iter()
            .zip(&patches)
            .filter(|(_, mask)| mask.count() >= LEAST_PIXELS)
            .map(|(patch, mask)| patch_score(patch, mask, &zones, &things, truth))
            .collect(),
        false_calls: false_zones.iter().map(|zone| false_call(zone, &things)).collect(),
        things: thing_scores(truth, &things, &zones, &false_zones),
    }
}

fn outline_likeness(report: &FrameReport, truth: &Truth) -> Option<f64> {
    let drawn = !report.outline_px.is_empty();
    drawn.then(|| Mask::of_outline(&report.outline_px, truth.vessel.dim()).likeness(&Mask::of(&truth.vessel)))
}

fn touches_any(zone: &Zone, patches: &[Mask]) -> bool {
    let count = zone.mask.count().max(1) as f64;
    patches
        .iter()
        .any(|patch| patch.shared(&zone.mask) as f64 >= TOUCHES * count)
}

fn things(truth: &Truth) -> Vec<Thing> {
    let seen = Mask::of(&truth.cos_view.map(|cos| *cos >= SQUARE_ON));
    let placed = truth
        .clutter
        .iter()
        .filter_map(|thing| Some((thing.kind, Mask::of(thing.pixels.as_ref()?))));
    placed
        .map(|(kind, mask)| Thing {
            kind,
            near: mask.grown(REACH_PX),
            seen: mask.shared(&seen) >= LEAST_PIXELS,
            mask,
        })
        .collect()
}

/// Whether the kind takes in so much jacket that whatever has no other cause lies on it.
fn is_wide(kind: &str) -> bool {
    matches!(kind, "sun-warmed-top" | "cold-sky" | "warm-ceiling")
}

/// The thing that a zone stands for: what holds most of it, wide things last.
fn owner<'a>(zone: &Zone, things: &'a [Thing]) -> Option<&'a Thing> {
    let count = zone.mask.count().max(1) as f64;
    let share = |thing: &Thing| thing.near.shared(&zone.mask) as f64 / count;
    let best = |wide: bool| {
        things
            .iter()
            .filter(|thing| is_wide(thing.kind) == wide)
            .map(|thing| (thing, share(thing)))
            .filter(|(_, share)| *share >= STANDS_FOR)
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(thing, _)| thing)
    };
    best(false).or_else(|| best(true))
}

fn false_call(zone: &Zone, things: &[Thing]) -> FalseCall {
    let seen = &zone.ranked.finding.zone;
    FalseCall {
        id: zone.ranked.id.clone(),
        contrast_k: seen.contrast_k,
        area_m2: seen.area_m2,
        kind: owner(zone, things).map_or("nothing placed", |thing| thing.kind),
        centroid_px: seen.centroid_px,
    }
}

fn patch_score(patch: &PatchTruth, mask: &Mask, zones: &[Zone], things: &[Thing], truth: &Truth) -> PatchScore {
    let likest = zones
        .iter()
        .filter(|zone| !zone.aside)
        .map(|zone| (zone, zone.mask.likeness(mask)))
        .filter(|(_, likeness)| *likeness >= SAME_PLACE)
        .max_by(|a, b| a.1.total_cmp(&b.1));
    let under = |zone: &Zone| zone.aside && zone.mask.shared(mask) as f64 >= UNDER * mask.count() as f64;
    let about = |reach_m: f64| mask.grown((reach_m * truth.pixels_per_metre).round() as usize);
    let (wide, clearing) = (about(BESIDE_M), about(CLEAR_M));
    let mut beside: Vec<&'static str> = things
        .iter()
        .filter(|thing| thing.seen && thing.mask.shared(&wide) > 0)
        .map(|thing| thing.kind)
        .chain(truth.clutter.iter().filter(|c| c.pixels.is_none()).map(|c| c.kind))
        .collect();
    beside.sort_unstable();
    beside.dedup();
    PatchScore {
        contrast_k: patch.contrast_mean_k.abs(),
        pixels: mask.count(),
        side_m: patch.visible_area_m2.sqrt(),
        beside,
        clear: !things
            .iter()
            .any(|thing| thing.seen && thing.mask.shared(&clearing) > 0),
        set_aside: zones.iter().any(under),
        found: likest.map(|(zone, likeness)| found(patch, zone.ranked, likeness)),
    }
}

fn found(patch: &PatchTruth, ranked: &Ranked, likeness: f64) -> Found {
    let finding = &ranked.finding;
    let flat = ranked.place.height_m.is_some();
    let [low, high] = finding.ratio_interval;
    let angle = (finding.zone.angle_deg - patch.angle_deg).abs();
    Found {
        likeness,
        axial_error_m: (ranked.place.axial_m - patch.axial_m).abs(),
        angle_error_deg: (!flat).then_some(angle.min(360.0 - angle)),
        area_share: finding.zone.area_m2 / patch.visible_area_m2,
        ratio_share: finding.ratio / patch.ratio,
        covered: low <= patch.ratio && patch.ratio <= high,
    }
}

fn thing_scores(truth: &Truth, things: &[Thing], zones: &[Zone], false_zones: &[&Zone]) -> Vec<ThingScore> {
    let placed = things.iter().map(|thing| {
        let owned = |zone: &Zone| owner(zone, things).is_some_and(|own| std::ptr::eq(own, thing));
        let covers = |zone: &Zone| {
            let shared = thing.near.shared(&zone.mask) as f64;
            shared >= STANDS_FOR * zone.mask.count() as f64 || shared >= STANDS_FOR * thing.mask.count() as f64
        };
        let outcome = if false_zones.iter().any(|zone| owned(zone)) {
            Outcome::Called
        } else if zones.iter().any(|zone| zone.aside && covers(zone)) {
            Outcome::SetAside
        } else {
            Outcome::Absorbed
        };
        ThingScore {
            kind: thing.kind,
            outcome: thing.seen.then_some(outcome),
        }
    });
    let all_over = truth.clutter.iter().filter(|thing| thing.pixels.is_none());
    placed
        .chain(all_over.map(|thing| ThingScore {
            kind: thing.kind,
            outcome: None,
        }))
        .collect()
}
