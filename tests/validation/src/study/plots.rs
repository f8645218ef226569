//! The study's plots.

use coldjacket::statistic::hit_miss::{HitMissFit, SizeScale};

use super::detection::trials;
use crate::figures::Figures;
use crate::plot::{Axis, Chart, Mark, Series};
use crate::score::FrameScore;

fn axis(label: &str, (low, high): (f64, f64), marks: &[f64], logarithmic: bool) -> Axis {
    Axis {
        label: label.into(),
        low,
        high,
        marks: marks.to_vec(),
        logarithmic,
    }
}

/// Probability of detection against contrast: the fitted curves, and the shares of hits in classes of contrast as dots.
pub fn detection(sets: &[(String, Vec<&FrameScore>)]) -> Chart {
    let mut series = Vec::new();
    for (name, scores) in sets {
        let trials = trials(scores.iter().flat_map(|score| &score.patches));
        let Ok(fit) = HitMissFit::new(&trials, SizeScale::Logarithm) else {
            continue;
        };
        let steps = (0..=120).map(|k| 0.05 * (100.0_f64).powf(f64::from(k) / 120.0));
        series.push(Series {
            name: name.clone(),
            mark: Mark::Line,
            points: steps.map(|a| (a, fit.probability(a))).collect(),
        });
        let dots = (0..10).filter_map(|k| {
            let from = 0.05 * (100.0_f64).powf(f64::from(k) / 10.0);
            let to = from * (100.0_f64).powf(0.1);
            let mine: Vec<bool> = trials
                .iter()
                .filter(|t| (from..to).contains(&t.size))
                .map(|t| t.hit)
                .collect();
            let hits = mine.iter().filter(|hit| **hit).count();
            (!mine.is_empty()).then(|| ((from * to).sqrt(), hits as f64 / mine.len() as f64))
        });
        series.push(Series {
            name: name.clone(),
            mark: Mark::Dots,
            points: dots.collect(),
        });
    }
    Chart {
        title: "Probability of detection (simulated): logistic curves; dots: shares of hits".into(),
        x: axis(
            "mean contrast of the zone, K",
            (0.05, 5.0),
            &[0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0],
            true,
        ),
        y: axis("probability", (0.0, 1.0), &[0.0, 0.25, 0.5, 0.75, 0.9, 1.0], false),
        series,
    }
}

/// Share of frames whose outline overlaps the truth by at least so much.
pub fn outlines(sets: &[(&str, &[FrameScore])]) -> Chart {
    let series = sets.iter().map(|(name, scores)| {
        let outlines = Figures::of(*scores).outline;
        let count = scores.len().max(1) as f64;
        let share = |least: f64| outlines.iter().filter(|iou| **iou >= least).count() as f64 / count;
        Series {
            name: (*name).to_owned(),
            mark: Mark::Line,
            points: (0..=200)
                .map(|k| 0.6 + 0.002 * f64::from(k))
                .map(|iou| (iou, share(iou)))
                .collect(),
        }
    });
    Chart {
        title: "Outline of the vessel (simulated): share of frames at least so good; frames without an outline count"
            .into(),
        x: axis(
            "intersection over union",
            (0.6, 1.0),
            &[0.6, 0.7, 0.8, 0.9, 0.93, 0.96, 1.0],
            false,
        ),
        y: axis("share of frames", (0.0, 1.0), &[0.0, 0.25, 0.5, 0.75, 0.9, 1.0], false),
        series: series.collect(),
    }
}

/// Ratio and area found against the truth, as sorted shares.
pub fn errors(scores: &[FrameScore]) -> Chart {
    let figures = Figures::of(scores);
    let sorted = |name: &str, values: &[f64]| {
        let mut values = values.to_vec();
        values.sort_by(f64::total_cmp);
        let count = values.len().max(2) as f64 - 1.0;
        Series {
            name: name.into(),
            mark: Mark::Line,
            points: values.iter().enumerate().map(|(k, v)| (*v, k as f64 / count)).collect(),
        }
    };
    Chart {
        title: "Found over true, patches of 1 K or more (simulated)".into(),
        x: axis(
            "found over true",
            (0.4, 2.5),
            &[0.4, 0.6, 0.85, 1.0, 1.15, 1.5, 2.0, 2.5],
            true,
        ),
        y: axis("share of zones below", (0.0, 1.0), &[0.0, 0.25, 0.5, 0.75, 1.0], false),
        series: vec![
            sorted("conductivity ratio", &figures.ratio_share),
            sorted("area", &figures.area_share),
        ],
    }
}
