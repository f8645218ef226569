//! Intervals for a share of successes; the curve of hits and misses.

use super::Table;
use coldjacket::statistic::Proportion;
use coldjacket::statistic::hit_miss::{HitMissFit, SizeScale, Trial};
use serde::Deserialize;

#[test]
fn binomial() {
    #[derive(Debug, Deserialize)]
    struct Row {
        successes: u32,
        trials: u32,
        wilson: [f64; 2],
        clopper_pearson: [f64; 2],
        lower_bound: f64,
    }
    #[derive(Debug, Deserialize)]
    struct Demonstration {
        misses: u32,
        trials: u32,
    }
    const FILE: &str = include_str!("../../reference/binomial.json");
    let table = Table::<Row>::read(FILE, "intervals");
    let mut wilson = table.gauge("Wilson interval");
    let mut exact = table.gauge("Clopper-Pearson interval");
    let mut bound = table.gauge("one-sided Clopper-Pearson bound");
    for row in &table.rows {
        let share = Proportion::new(row.successes, row.trials).unwrap();
        let (score, two_sided) = (share.wilson(0.95), share.clopper_pearson(0.95));
        wilson.note(score.low - row.wilson[0], row);
        wilson.note(score.high - row.wilson[1], row);
        exact.note(two_sided.low - row.clopper_pearson[0], row);
        exact.note(two_sided.high - row.clopper_pearson[1], row);
        bound.note(share.lower_bound(0.95) - row.lower_bound, row);
    }
    wilson.judge();
    exact.judge();
    bound.judge();
    for row in Table::<Demonstration>::read(FILE, "demonstration").rows {
        let shows = |trials: u32| Proportion::new(trials - row.misses, trials).unwrap().lower_bound(0.95) >= 0.90;
        assert!(shows(row.trials), "{row:?} does not show it");
        assert!(!shows(row.trials - 1), "{row:?}: one trial less shows it too");
    }
}

#[test]
fn hit_miss() {
    #[derive(Debug, Deserialize)]
    struct Target {
        size: f64,
        hit: u8,
    }
    #[derive(Debug, Deserialize)]
    #[serde(rename_all = "kebab-case")]
    enum Scale {
        Logarithm,
        Plain,
    }
    #[derive(Debug, Deserialize)]
    struct Row {
        scale: Scale,
        intercept: f64,
        slope: f64,
        covariance: [[f64; 2]; 2],
        log_likelihood: f64,
        a50: f64,
        a90: f64,
        a9095_wald: f64,
        a9095_likelihood: f64,
    }
    const FILE: &str = include_str!("../../reference/hit_miss.json");
    let targets = Table::<Target>::read(FILE, "targets").rows;
    let trials: Vec<Trial> = targets
        .iter()
        .map(|target| Trial {
            size: target.size,
            hit: target.hit == 1,
        })
        .collect();
    let table = Table::<Row>::read(FILE, "fits");
    let mut curve = table.gauge("logistic curve");
    let mut bounds = table.gauge("a90/95");
    for row in &table.rows {
        let scale = match row.scale {
            Scale::Logarithm => SizeScale::Logarithm,
            Scale::Plain => SizeScale::Plain,
        };
        let fit = HitMissFit::new(&trials, scale).unwrap();
        for (found, known) in [
            (fit.intercept, row.intercept),
            (fit.slope, row.slope),
            (fit.log_likelihood, row.log_likelihood),
            (fit.covariance[0][0], row.covariance[0][0]),
            (fit.covariance[0][1], row.covariance[0][1]),
            (fit.covariance[1][1], row.covariance[1][1]),
            (fit.size_at(0.5), row.a50),
            (fit.size_at(0.9), row.a90),
        ] {
            curve.note(found / known - 1.0, row);
        }
        let wald = fit.size_at_upper_wald(0.9, 0.95).unwrap();
        let likelihood = fit.size_at_upper_likelihood(0.9, 0.95).unwrap();
        bounds.note(wald / row.a9095_wald - 1.0, row);
        bounds.note(likelihood / row.a9095_likelihood - 1.0, row);
    }
    curve.judge();
    bounds.judge();
}
