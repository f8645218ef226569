//! What reading temperatures off a colour bar means for a frame: what is assumed, what is lost, which zones are bounds.

use crate::assess::cause::{Action, Cause};
use crate::assess::usability::{Settings, Usability, Verdict};
use crate::assess::{self, Finding};
use crate::calibrate::FromBar;
use crate::calibrate::colour_bar::{End, Lie};
use crate::detect::jacket::{self, Cover, Jacket};
use crate::detect::{Departure, Detection, Zone};
use crate::locate::View;

/// How much of a zone stands at an end of the bar.
#[derive(Debug, Clone, Copy, serde::Serialize, serde::Deserialize)]
pub(super) struct Bounded {
    end: End,
    share: f64,
    end_c: f64,
}

/// What the record says was taken as given.
pub(super) fn assumed(from_bar: &FromBar) -> String {
    let bar = &from_bar.bar;
    let [x, y, w, h] = bar.box_px;
    let habit = match bar.lie {
        Lie::Upright => "upright: its top taken as high",
        Lie::Level => "level: its right end taken as high",
    };
    let [low_c, high_c] = bar.ends_c;
    let [low, high] = from_bar.ended_shares;
    format!(
        "temperatures read off the picture's colour bar at {x} {y} {w} {h} ({habit}; {low_c:.1} °C to {high_c:.1} °C as stated): one of its steps is {:.2} K, a reading uncertain by ±{:.2} K; {:.1} % of the picture stands at its low end and {:.1} % at its high end, bounds and not values",
        bar.step_k,
        2.0 * from_bar.reading_u_k,
        100.0 * low,
        100.0 * high
    )
}

/// What the bar itself says of the frame's use.
pub(super) fn judge(from_bar: &FromBar, settings: &Settings, verdict: &mut Verdict) {
    if from_bar.ambiguous_share > settings.most_ambiguous_share {
        verdict.note(
            Usability::Limited,
            format!(
                "{:.1} % of the picture has colours that its bar shows at two temperatures: not read; use a palette without repeats",
                100.0 * from_bar.ambiguous_share
            ),
        );
    }
    if from_bar.reading_u_k > settings.sure_reading_u_k {
        verdict.note(
            Usability::Limited,
            format!(
                "the colours of the bar tell temperatures apart to ±{:.1} K only: small contrasts are missed; set the span to the jacket's, and keep the picture uncompressed",
                2.0 * from_bar.reading_u_k
            ),
        );
    }
}

/// What stands of the jacket at an end of the bar.
pub(super) fn judge_jacket(
    from_bar: Option<&FromBar>,
    seen: (&Jacket, &View),
    settings: &Settings,
    verdict: &mut Verdict,
) {
    let Some(from_bar) = from_bar else { return };
    for (end, share) in [End::Low, End::High].into_iter().zip(jacket_shares(from_bar, seen)) {
        let (name, beyond, end_c) = match end {
            End::Low => ("low", "colder", from_bar.bar.ends_c[0]),
            End::High => ("high", "warmer", from_bar.bar.ends_c[1]),
        };
        let words = |advice: &str| {
            format!(
                "{:.1} % of the jacket usefully seen stands at the {name} end of the bar, {end_c:.1} °C or {beyond}: {advice}",
                100.0 * share
            )
        };
        if share > settings.most_ended_share {
            verdict.note(
                Usability::Unusable,
                words("what sound jacket shows cannot be read; image again with a wider span"),
            );
        } else if share > settings.most_clipped_share {
            verdict.note(
                Usability::Limited,
                words("contrasts there are at least what is told; image again with a wider span"),
            );
        }
    }
}

fn jacket_shares(from_bar: &FromBar, (jacket, view): (&Jacket, &View)) -> [f64; 2] {
    let (mut usable, mut counts) = (0usize, [0usize; 2]);
    for (at, cover) in jacket.cover.iter().enumerate() {
        if *cover != Cover::Usable {
            continue;
        }
        usable += 1;
        let (column, row) = (
            at % jacket.size.0 + jacket.origin.0,
            at / jacket.size.0 + jacket.origin.1,
        );
        let [x, y] = view.orientation.to_image(column as f64, row as f64);
        match from_bar.ended.get([y as usize, x as usize]) {
            Some(Some(End::Low)) => counts[0] += 1,
            Some(Some(End::High)) => counts[1] += 1,
            _ => {}
        }
    }
    counts.map(|count| count as f64 / usable.max(1) as f64)
}

/// For each zone of a frame, in order, how much of it stands at the end of the bar that it departs towards.
pub(super) fn bounded(detection: &Detection, from_bar: Option<&FromBar>) -> Vec<Option<Bounded>> {
    detection
        .zones
        .iter()
        .map(|zone| from_bar.and_then(|bar| bounded_zone(zone, bar)))
        .collect()
}

fn bounded_zone(zone: &Zone, from_bar: &FromBar) -> Option<Bounded> {
    let [low_c, high_c] = from_bar.bar.ends_c;
    let (end, end_c) = match zone.departure {
        Departure::Colder => (End::Low, low_c),
        Departure::Warmer => (End::High, high_c),
    };
    let [x, y, w, h] = zone.box_px.map(|v| v.max(0.0));
    let (mut inside, mut ended) = (0usize, 0usize);
    for row in y as usize..=(y + h) as usize {
        for column in x as usize..=(x + w) as usize {
            if jacket::inside(&zone.outline_px, column as f64, row as f64)
                && let Some(at_end) = from_bar.ended.get([row, column])
            {
                inside += 1;
                ended += usize::from(*at_end == Some(end));
            }
        }
    }
    (ended > 0).then(|| Bounded {
        end,
        share: ended as f64 / inside.max(1) as f64,
        end_c,
    })
}

/// Conductivity of ice at −20 °C in W/(m K) (textbook value, from memory, not confirmed): what no water in the insulation
/// can exceed.
const ICE_W_MK: f64 = 2.4;
/// Share of a zone at the end of the bar from which its own temperature is not known.
const MOSTLY: f64 = 0.5;
/// The same, and the least conductivity ratio, from which a small zone is taken for metal through the insulation (set by the
/// repository's simulated screens, no source).
const LARGELY: f64 = 0.4;
const STRONG_RATIO: f64 = 2.0;

/// Says of a finding that it is a bound.
pub(super) fn say_at_least(finding: &mut Finding, bounded: &Bounded, settings: &assess::Settings) {
    finding.at_least = true;
    // The bar says nothing of how far beyond its end the zone lies: up to solid ice in place of dry insulation.
    let dry_w_mk = finding.conductivity_w_mk / finding.ratio;
    let [_, high] = &mut finding.ratio_interval;
    *high = high.max(ICE_W_MK / dry_w_mk);
    let (name, beyond) = match bounded.end {
        End::Low => ("low", "colder"),
        End::High => ("high", "warmer"),
    };
    finding.because.push(format!(
        "at least: {:.0} % of the zone stands at the {name} end of the colour bar, {:.1} °C or {beyond}; its contrast and ratio are at least what is told",
        (100.0 * bounded.share).max(1.0),
        bounded.end_c
    ));
    let side_m = finding.zone.side_m();
    if side_m >= settings.penetration_side_m || finding.cause != Cause::WetInsulation {
        return;
    }
    if bounded.share >= LARGELY && finding.ratio >= STRONG_RATIO {
        finding.cause = Cause::Penetration;
        finding.action = Action::None;
        finding.because.push(format!(
            "{side_m:.2} m across and {beyond} than the bar shows: metal through the insulation is likelier than a wet spot so small and so strong; image again with a wider span to be sure"
        ));
    } else if bounded.share >= MOSTLY {
        finding.cause = Cause::Undetermined;
        finding.action = Action::SurveyAgain;
        finding.because.push(format!(
            "{side_m:.2} m across and beyond the bar: a nozzle or port cannot be told from wet insulation; image again with a wider span"
        ));
    }
}
