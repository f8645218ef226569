//! Plain scenes, vessels wet all over or dry, and frames that cannot answer.

use coldjacket::assess::usability::Usability;
use coldjacket_simulator::draw::{Refusal, Wish, random_scene, refusal_scene};
use coldjacket_simulator::survey::Given;

use crate::case::{Case, generator};
use crate::score::FrameScore;
use crate::table::{Table, figure};

/// Conductivity of the whole insulation over dry; dry ones most, for none of them may be called.
const RATIOS: [f64; 9] = [1.0, 1.0, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0];

/// Plain scenes.
pub fn plain(seed: u64, count: usize) -> Vec<Case> {
    let drawn = |index| {
        let mut prng = generator(seed, index);
        Case {
            name: format!("s{seed}-{index:03}"),
            row: "plain".into(),
            scene: random_scene(&mut prng, &Wish::default()),
            seed: prng.bits() >> 16,
            screen: None,
            field_of_view: Given::Stated,
        }
    };
    (0..count).map(drawn).collect()
}

/// Vessels evenly wet or dry, without patches, wholly in view; `count` of each entry of `RATIOS`.
pub fn all_over(seed: u64, count: usize) -> Vec<Case> {
    (0..count * RATIOS.len())
        .map(|index| {
            let ratio = RATIOS[index % RATIOS.len()];
            let mut prng = generator(seed, index);
            let wish = Wish {
                patches: Some(0),
                overall_ratio: ratio,
                may_be_partial: false,
                ..Wish::default()
            };
            Case {
                name: format!("w{seed}-{index:03}"),
                row: if ratio > 1.0 {
                    format!("{ratio}")
                } else {
                    "1 (dry)".into()
                },
                scene: random_scene(&mut prng, &wish),
                seed: prng.bits() >> 16,
                screen: None,
                field_of_view: Given::Stated,
            }
        })
        .collect()
}

/// Frames that cannot answer, `count` of each reason.
pub fn refusals(seed: u64, count: usize) -> Vec<Case> {
    Refusal::ALL
        .into_iter()
        .enumerate()
        .flat_map(|(number, reason)| {
            (0..count).map(move |index| {
                let mut prng = generator(seed + number as u64, index);
                Case {
                    name: format!("r{}-{index:03}", seed + number as u64),
                    row: reason.name().into(),
                    scene: refusal_scene(&mut prng, reason),
                    seed: prng.bits() >> 16,
                    screen: None,
                    field_of_view: Given::Stated,
                }
            })
        })
        .collect()
}

/// What was made of vessels wet all over, and of dry ones.
pub fn table_all_over(sets: &[(String, Vec<&FrameScore>)]) -> Table {
    let mut table = Table::new(
        "wet_all_over",
        "Vessels evenly wet or dry, one frame each, sheets and camera off within their stated uncertainty",
        &[
            "true ratio",
            "vessels",
            "refused",
            "called wet all over",
            "ratio called, median",
            "interval covers",
            "local findings",
        ],
    );
    for (name, scores) in sets {
        let called: Vec<(f64, [f64; 2])> = scores.iter().filter_map(|s| s.general_ratio).collect();
        let truth = scores.first().map_or(1.0, |s| s.overall_ratio);
        let covers = called.iter().filter(|(_, [low, high])| *low <= truth && truth <= *high);
        let mut ratios: Vec<f64> = called.iter().map(|(ratio, _)| *ratio).collect();
        ratios.sort_by(f64::total_cmp);
        table.push(vec![
            name.clone(),
            scores.len().to_string(),
            refused(scores).to_string(),
            called.len().to_string(),
            figure(ratios.get(ratios.len() / 2).copied(), 2),
            format!("{} of {}", covers.count(), called.len()),
            scores.iter().map(|s| s.false_calls.len()).sum::<usize>().to_string(),
        ]);
    }
    table
}

/// What was made of frames that cannot answer.
pub fn table_refusals(sets: &[(String, Vec<&FrameScore>)]) -> Table {
    let mut table = Table::new(
        "refusals",
        "Frames that cannot answer",
        &[
            "why",
            "frames",
            "refused",
            "limited",
            "findings",
            "first reason given",
            "not refused",
        ],
    );
    for (name, scores) in sets {
        let limited = scores.iter().filter(|s| s.usability == Usability::Limited).count();
        let findings: usize = scores
            .iter()
            .map(|s| {
                let right = s.patches.iter().filter(|p| p.found.is_some()).count();
                s.false_calls.len() + right + usize::from(s.general)
            })
            .sum();
        let reason = scores
            .iter()
            .find_map(|s| s.reasons.first())
            .map_or("–", String::as_str);
        let passed: Vec<&str> = scores
            .iter()
            .filter(|s| s.usability != Usability::Unusable)
            .map(|s| s.name.as_str())
            .collect();
        table.push(vec![
            name.clone(),
            scores.len().to_string(),
            refused(scores).to_string(),
            limited.to_string(),
            findings.to_string(),
            reason.to_owned(),
            passed.join(", "),
        ]);
    }
    table
}

fn refused(scores: &[&FrameScore]) -> usize {
    scores.iter().filter(|s| s.usability == Usability::Unusable).count()
}
