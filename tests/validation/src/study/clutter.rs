//! Each kind of clutter by itself, and all of them together.

use std::collections::{BTreeMap, BTreeSet};

use coldjacket::assess::usability::Usability;
use coldjacket_simulator::draw::{ClutterKind, Geometry, Wish, add_kind, random_scene};
use coldjacket_simulator::random::Prng;
use coldjacket_simulator::scene::{Fixture, Posture, Scene};
use coldjacket_simulator::survey::Given;

use crate::case::{Case, generator};
use crate::figures::{LEAST_CONTRAST_K, by_row};
use crate::score::{FrameScore, Outcome};
use crate::table::{Table, figure};

/// Chance of each kind that suits in a crowded scene: half of them stand in any one picture.
const CROWDED_CHANCE: f64 = 0.5;

/// Scenes of one kind each, `count` of every kind, and as many with none; supports stand everywhere, as they must.
pub fn alone(seed: u64, count: usize) -> Vec<Case> {
    let kinds = std::iter::once(None).chain(ClutterKind::ALL.into_iter().map(Some));
    kinds
        .enumerate()
        .flat_map(|(number, kind)| (0..count).map(move |index| one_of_kind(seed + number as u64, index, kind)))
        .collect()
}

fn one_of_kind(seed: u64, index: usize, kind: Option<ClutterKind>) -> Case {
    let mut prng = generator(seed, index);
    let mut scene = random_scene(&mut prng, &wish(kind, index));
    scene.fixtures.retain(is_support);
    if let Some(kind) = kind {
        add_kind(&mut scene, &mut prng, kind);
    }
    Case {
        name: format!("k{seed}-{index:03}"),
        row: kind.map_or("none", ClutterKind::name).to_owned(),
        scene,
        seed: prng.bits() >> 16,
        screen: None,
        field_of_view: Given::Stated,
    }
}

/// A scene that the kind suits, with one or two wet patches; vessels lie and stand in turn where both are possible.
fn wish(kind: Option<ClutterKind>, index: usize) -> Wish {
    let suits = |posture| kind.is_none_or(|kind| kind.suits(posture));
    let geometry = if kind == Some(ClutterKind::Hangers) {
        Geometry::PipeRun
    } else if suits(Posture::HorizontalCylinder) && (index.is_multiple_of(2) || !suits(Posture::VerticalCylinder)) {
        Geometry::Horizontal
    } else {
        Geometry::Vertical
    };
    Wish {
        patches: Some(1 + index % 2),
        may_be_partial: false,
        geometry: Some(geometry),
        ..Wish::default()
    }
}

fn is_support(fixture: &Fixture) -> bool {
    matches!(
        fixture,
        Fixture::Saddle { .. } | Fixture::Leg { .. } | Fixture::Skirt { .. } | Fixture::Hanger { .. }
    )
}

/// Scenes with every kind of clutter switched on: each that suits stands in half of them.
pub fn crowded(seed: u64, count: usize) -> Vec<Case> {
    (0..count)
        .map(|index| {
            let mut prng = generator(seed, index);
            let mut scene = random_scene(&mut prng, &Wish::default());
            crowd(&mut scene, &mut prng);
            Case {
                name: format!("c{seed}-{index:03}"),
                row: "every clutter on".into(),
                scene,
                seed: prng.bits() >> 16,
                screen: None,
                field_of_view: Given::Stated,
            }
        })
        .collect()
}

/// Adds every kind that suits, each with its chance; of sun and clear sky at most one.
pub fn crowd(scene: &mut Scene, prng: &mut Prng) {
    let posture = scene.vessel.posture;
    let mut under_sky = false;
    for kind in ClutterKind::ALL {
        let wanted = prng.chance(CROWDED_CHANCE);
        let fits = kind.suits(posture) && kind != ClutterKind::Hangers && !(kind.is_outdoor() && under_sky);
        if wanted && fits {
            add_kind(scene, prng, kind);
            under_sky |= kind.is_outdoor();
        }
    }
}

/// What each kind did by itself: one row a kind.
pub fn table_alone(scores: &[FrameScore]) -> Table {
    let mut table = Table::new(
        "clutter_alone",
        format!(
            "Each kind of clutter by itself, with one or two wet patches (detection of patches of {LEAST_CONTRAST_K} K or more)"
        ),
        &[
            "kind",
            "frames",
            "refused",
            "outline IoU median",
            "worst",
            "below 0.93",
            "patches",
            "found",
            "of them set aside",
            "false calls",
            "on the kind",
            "worst frames",
        ],
    );
    for (row, mine) in by_row(scores) {
        table.push(row_alone(&row, &mine));
    }
    table
}

fn row_alone(row: &str, scores: &[&FrameScore]) -> Vec<String> {
    let mut outlines: Vec<f64> = scores.iter().filter_map(|s| s.outline).collect();
    outlines.sort_by(f64::total_cmp);
    let wanted = || {
        scores
            .iter()
            .flat_map(|s| &s.patches)
            .filter(|p| p.contrast_k >= LEAST_CONTRAST_K)
    };
    let calls: usize = scores
        .iter()
        .map(|s| s.false_calls.len() + usize::from(s.general))
        .sum();
    let on_kind: usize = scores
        .iter()
        .flat_map(|s| &s.false_calls)
        .filter(|call| call.kind != "nothing placed" && !matches!(call.kind, "saddle" | "leg" | "skirt"))
        .count();
    let mut worst: Vec<&&FrameScore> = scores.iter().filter(|s| badness(s) > 0).collect();
    worst.sort_by_key(|s| std::cmp::Reverse(badness(s)));
    let names: Vec<String> = worst.iter().take(3).map(|s| said(s)).collect();
    vec![
        row.to_owned(),
        scores.len().to_string(),
        refused(scores).to_string(),
        figure(outlines.get(outlines.len() / 2).copied(), 3),
        figure(outlines.first().copied(), 3),
        outlines.iter().filter(|iou| **iou < 0.93).count().to_string(),
        wanted().count().to_string(),
        wanted().filter(|p| p.found.is_some()).count().to_string(),
        wanted()
            .filter(|p| p.found.is_none() && p.set_aside)
            .count()
            .to_string(),
        calls.to_string(),
        on_kind.to_string(),
        names.join(", "),
    ]
}

fn refused(scores: &[&FrameScore]) -> usize {
    scores.iter().filter(|s| s.usability == Usability::Unusable).count()
}

/// False calls, misses and a poor outline of a frame, counted together.
pub fn badness(score: &FrameScore) -> usize {
    let missed = score
        .patches
        .iter()
        .filter(|p| p.contrast_k >= LEAST_CONTRAST_K && p.found.is_none())
        .count();
    let outline = usize::from(score.outline.is_some_and(|iou| iou < 0.93));
    2 * (score.false_calls.len() + usize::from(score.general)) + 2 * missed + outline
}

/// A frame's name with what is wrong in it.
pub fn said(score: &FrameScore) -> String {
    let missed = score
        .patches
        .iter()
        .filter(|p| p.contrast_k >= LEAST_CONTRAST_K && p.found.is_none())
        .count();
    let mut faults = Vec::new();
    if score.usability == Usability::Unusable {
        faults.push("refused".to_owned());
    }
    if let Some(iou) = score.outline.filter(|iou| *iou < 0.93) {
        faults.push(format!("outline {iou:.2}"));
    }
    if !score.false_calls.is_empty() {
        let kinds: Vec<String> = score
            .false_calls
            .iter()
            .map(|c| {
                format!(
                    "{} {:+.1} K at {:.0},{:.0}",
                    c.kind, c.contrast_k, c.centroid_px[0], c.centroid_px[1]
                )
            })
            .collect();
        faults.push(format!("false: {}", kinds.join("; ")));
    }
    if score.general {
        faults.push("general".into());
    }
    if missed > 0 {
        faults.push(format!("missed {missed}"));
    }
    format!("{} ({})", score.name, faults.join(", "))
}

/// What was made of each thing that stands in a set of frames: called, set aside or absorbed, and patches beside it.
pub fn table_things(name: &'static str, title: &str, scores: &[FrameScore]) -> Table {
    let mut table = Table::new(
        name,
        title,
        &[
            "kind",
            "seen",
            "called",
            "set aside",
            "absorbed",
            "patches of 1 K beside it",
            "found",
            "set aside as other",
            "worst frames",
        ],
    );
    let kinds: BTreeSet<&'static str> = scores.iter().flat_map(|s| &s.things).map(|t| t.kind).collect();
    for kind in kinds {
        table.push(row_thing(kind, scores));
    }
    let stray: Vec<&FrameScore> = scores
        .iter()
        .filter(|s| s.false_calls.iter().any(|c| c.kind == "nothing placed"))
        .collect();
    let count: usize = stray
        .iter()
        .flat_map(|s| &s.false_calls)
        .filter(|c| c.kind == "nothing placed")
        .count();
    let names: Vec<String> = stray.iter().take(4).map(|s| s.name.clone()).collect();
    let mut row = vec!["nothing placed".into(), "–".into(), count.to_string()];
    row.extend(std::iter::repeat_n("–".to_owned(), 5));
    row.push(names.join(", "));
    table.push(row);
    table
}

fn row_thing(kind: &'static str, scores: &[FrameScore]) -> Vec<String> {
    let mut outcomes: BTreeMap<Outcome, usize> = BTreeMap::new();
    for thing in scores.iter().flat_map(|s| &s.things).filter(|t| t.kind == kind) {
        if let Some(outcome) = thing.outcome {
            *outcomes.entry(outcome).or_default() += 1;
        }
    }
    let beside = || {
        scores
            .iter()
            .flat_map(|s| &s.patches)
            .filter(|p| p.contrast_k >= LEAST_CONTRAST_K && p.beside.contains(&kind))
    };
    let count = |outcome| outcomes.get(&outcome).copied().unwrap_or(0);
    let seen: usize = outcomes.values().sum();
    let called: Vec<String> = scores
        .iter()
        .filter(|s| s.false_calls.iter().any(|c| c.kind == kind))
        .take(4)
        .map(|s| s.name.clone())
        .collect();
    vec![
        kind.to_owned(),
        if seen > 0 { seen.to_string() } else { "all over".into() },
        count(Outcome::Called).to_string(),
        count(Outcome::SetAside).to_string(),
        count(Outcome::Absorbed).to_string(),
        beside().count().to_string(),
        beside().filter(|p| p.found.is_some()).count().to_string(),
        beside()
            .filter(|p| p.found.is_none() && p.set_aside)
            .count()
            .to_string(),
        called.join(", "),
    ]
}
