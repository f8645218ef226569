//! Intervals for a share of successes.

use super::Table;
use coldjacket::statistic::Proportion;
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
