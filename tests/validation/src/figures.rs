//! The figures of a set of frames.

use coldjacket::assess::usability::Usability;
use coldjacket::statistic::count::Count;
use coldjacket::statistic::{self, Interval, Proportion};

use crate::score::{Found, FrameScore, PatchScore};
use crate::table::{Table, figure};

/// Contrast from which a patch must be found, K.
pub const LEAST_CONTRAST_K: f64 = 1.0;

/// Something counted among trials.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Share {
    /// How often it was so.
    pub yes: u32,
    /// Of how many.
    pub all: u32,
}

impl Share {
    fn of(trials: impl Iterator<Item = bool>) -> Self {
        trials.fold(Self::default(), |sum, yes| Self {
            yes: sum.yes + u32::from(yes),
            all: sum.all + 1,
        })
    }

    /// The share; `None` of no trials.
    pub fn value(self) -> Option<f64> {
        Proportion::new(self.yes, self.all).map(Proportion::share)
    }

    /// Exact one-sided 95 % lower bound.
    pub fn lower_bound(self) -> Option<f64> {
        Proportion::new(self.yes, self.all).map(|p| p.lower_bound(0.95))
    }

    /// Exact two-sided 95 % interval.
    pub fn interval(self) -> Option<Interval> {
        Proportion::new(self.yes, self.all).map(|p| p.clopper_pearson(0.95))
    }
}

/// The figures of a set of frames.
#[derive(Debug, Clone)]
pub struct Figures {
    /// Frames.
    pub frames: usize,
    /// Frames that were refused.
    pub refused: usize,
    /// Patches of at least [`LEAST_CONTRAST_K`] found; those of refused frames are missed.
    pub found: Share,
    /// Findings where nothing is wet, assets called wet all over that are dry among them.
    pub false_calls: u32,
    /// Jacket usefully seen, m².
    pub usable_m2: f64,
    /// 2 TP / (2 TP + FN + FP).
    pub f1: Option<f64>,
    /// Intersection over union of patches found, of any contrast.
    pub likeness: Vec<f64>,
    /// Intersection over union of the vessel's outline.
    pub outline: Vec<f64>,
    /// Errors along the axis, m.
    pub axial_error_m: Vec<f64>,
    /// Errors round the axis, degrees.
    pub angle_error_deg: Vec<f64>,
    /// Area found over the visible area.
    pub area_share: Vec<f64>,
    /// Ratio found over the true ratio.
    pub ratio_share: Vec<f64>,
    /// How often the 95 % interval of the ratio holds the truth.
    pub covered: Share,
}

impl Figures {
    /// The figures of frames.
    pub fn of<'a>(scores: impl IntoIterator<Item = &'a FrameScore>) -> Self {
        let scores: Vec<&FrameScore> = scores.into_iter().collect();
        let wanted = scores.iter().flat_map(|s| &s.patches).filter(|p| is_wanted(p));
        let share = Share::of(wanted.map(|p| p.found.is_some()));
        let all: Vec<&Found> = scores
            .iter()
            .flat_map(|s| &s.patches)
            .filter(|p| is_wanted(p))
            .filter_map(|p| p.found.as_ref())
            .collect();
        let false_calls = scores
            .iter()
            .map(|s| s.false_calls.len() as u32 + u32::from(s.general && s.overall_ratio <= 1.0))
            .sum();
        let each = |value: fn(&Found) -> f64| all.iter().map(|f| value(f)).collect();
        let counted = f64::from(share.yes + share.all + false_calls);
        Self {
            frames: scores.len(),
            refused: scores.iter().filter(|s| s.usability == Usability::Unusable).count(),
            found: share,
            false_calls,
            usable_m2: scores.iter().map(|s| s.usable_m2).sum(),
            // TP + FN is what was to be found: 2 TP + FN + FP = TP + (TP + FN) + FP.
            f1: (counted > 0.0).then(|| 2.0 * f64::from(share.yes) / counted),
            likeness: each(|f| f.likeness),
            outline: scores.iter().filter_map(|s| s.outline).collect(),
            axial_error_m: each(|f| f.axial_error_m),
            angle_error_deg: all.iter().filter_map(|f| f.angle_error_deg).collect(),
            area_share: each(|f| f.area_share),
            ratio_share: each(|f| f.ratio_share),
            covered: Share::of(all.iter().map(|f| f.covered)),
        }
    }

    /// False calls a frame, with the exact 95 % interval.
    pub fn calls_a_frame(&self) -> Option<(f64, Interval)> {
        let count = Count::new(self.false_calls, self.frames as f64)?;
        Some((count.rate(), count.interval(0.95)))
    }

    /// False calls a square metre usefully seen, with the exact 95 % interval.
    pub fn calls_a_m2(&self) -> Option<(f64, Interval)> {
        let count = Count::new(self.false_calls, self.usable_m2)?;
        Some((count.rate(), count.interval(0.95)))
    }
}

fn is_wanted(patch: &PatchScore) -> bool {
    patch.contrast_k >= LEAST_CONTRAST_K
}

/// A percentile of values; `None` of none.
pub fn percentile(values: &[f64], pct: f64) -> Option<f64> {
    statistic::percentile(&mut values.to_vec(), pct)
}

fn mean(values: &[f64]) -> Option<f64> {
    statistic::mean(values)
}

fn range(value: Option<(f64, Interval)>, decimals: usize) -> String {
    value.map_or_else(
        || "–".into(),
        |(rate, i)| format!("{rate:.decimals$} [{:.decimals$}, {:.decimals$}]", i.low, i.high),
    )
}

/// One set of frames a row.
pub fn table<'a>(
    name: &'static str,
    title: &str,
    sets: impl IntoIterator<Item = (String, Vec<&'a FrameScore>)>,
) -> Table {
    let headings = [
        "set",
        "frames",
        "refused",
        "found of patches ≥ 1 K",
        "lower bound 95 %",
        "false calls a frame [95 %]",
        "a m² [95 %]",
        "F1",
        "zone IoU mean",
        "outline IoU median",
        "worst",
        "axial error, 90 %, mm",
        "angle error, 90 %, °",
        "area found/true, median",
        "ratio found/true, median",
        "interval covers [95 %]",
    ];
    let mut table = Table::new(name, title, &headings);
    for (label, scores) in sets {
        table.push(row(label, &Figures::of(scores)));
    }
    table
}

fn row(label: String, of: &Figures) -> Vec<String> {
    let covers = of.covered.value().zip(of.covered.interval());
    vec![
        label,
        of.frames.to_string(),
        of.refused.to_string(),
        format!("{} of {}", of.found.yes, of.found.all),
        figure(of.found.lower_bound(), 3),
        range(of.calls_a_frame(), 3),
        range(of.calls_a_m2(), 4),
        figure(of.f1, 3),
        figure(mean(&of.likeness), 3),
        figure(percentile(&of.outline, 50.0), 3),
        figure(percentile(&of.outline, 0.0), 3),
        figure(percentile(&of.axial_error_m, 90.0).map(|m| 1000.0 * m), 0),
        figure(percentile(&of.angle_error_deg, 90.0), 1),
        figure(percentile(&of.area_share, 50.0), 2),
        figure(percentile(&of.ratio_share, 50.0), 2),
        range(covers, 3),
    ]
}

/// Frames by row of the study, rows in order of first use.
pub fn by_row(scores: &[FrameScore]) -> Vec<(String, Vec<&FrameScore>)> {
    let mut rows: Vec<(String, Vec<&FrameScore>)> = Vec::new();
    for score in scores {
        match rows.iter_mut().find(|(row, _)| *row == score.row) {
            Some((_, mine)) => mine.push(score),
            None => rows.push((score.row.clone(), vec![score])),
        }
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::score::FalseCall;

    fn frame(found: bool, contrast_k: f64, calls: usize) -> FrameScore {
        let one = Found {
            likeness: 0.8,
            axial_error_m: 0.03,
            angle_error_deg: Some(2.0),
            area_share: 1.1,
            ratio_share: 0.9,
            covered: true,
        };
        let call = FalseCall {
            id: "T-1".into(),
            contrast_k: -1.0,
            area_m2: 0.1,
            kind: "leg",
            centroid_px: [1.0, 2.0],
        };
        FrameScore {
            name: "t".into(),
            row: "plain".into(),
            usability: Usability::Good,
            reasons: Vec::new(),
            outline: Some(0.98),
            edge_width_px: None,
            usable_m2: 4.0,
            general: false,
            overall_ratio: 1.0,
            general_ratio: None,
            patches: vec![PatchScore {
                contrast_k,
                pixels: 100,
                side_m: 0.3,
                beside: Vec::new(),
                clear: true,
                set_aside: false,
                found: found.then_some(one),
            }],
            false_calls: vec![call; calls],
            things: Vec::new(),
        }
    }

    #[test]
    fn hits_misses_and_false_calls_are_counted_once() {
        let scores = [frame(true, 1.5, 0), frame(false, 2.0, 1), frame(false, 0.5, 0)];
        let figures = Figures::of(&scores);
        assert_eq!(figures.found, Share { yes: 1, all: 2 });
        // Precision ½, recall ½.
        assert!((figures.f1.unwrap() - 0.5).abs() < 1e-12);
        assert!((figures.calls_a_frame().unwrap().0 - 1.0 / 3.0).abs() < 1e-12);
        assert!((figures.calls_a_m2().unwrap().0 - 1.0 / 12.0).abs() < 1e-12);
        assert_eq!(figures.covered, Share { yes: 1, all: 1 });
        // One of one: the exact two-sided interval starts at 0.025.
        assert!((figures.covered.interval().unwrap().low - 0.025).abs() < 1e-9);
    }

    #[test]
    fn a_dry_asset_called_wet_all_over_is_a_false_call_and_a_wet_one_is_none() {
        let mut dry = frame(true, 1.5, 0);
        dry.general = true;
        let mut wet = dry.clone();
        wet.overall_ratio = 4.0;
        assert_eq!(Figures::of([&dry]).false_calls, 1);
        assert_eq!(Figures::of([&wet]).false_calls, 0);
    }
}
