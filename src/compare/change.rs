//! What became of a zone between two surveys: only beyond what both are uncertain by, and only through the conductivity
//! ratio and the area. Temperatures are never compared: other air, wind and load would change them by themselves.

use serde::Serialize;

use super::Settings;
use super::findings::Zone;

/// What became of a zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Change {
    /// Conducts more, or is larger, beyond the uncertainty.
    Grown,
    /// Was not called before.
    New,
    /// Nothing beyond the uncertainty.
    Steady,
    /// Conducts less, or is smaller, beyond the uncertainty.
    Shrunk,
    /// Was called before; its place was seen this time, and nothing is called there.
    Gone,
    /// Was called before; its place was not usefully seen this time.
    NotSeen,
}

impl Change {
    /// Every word, in the order in which they are told.
    pub const ALL: [Self; 6] = [
        Self::Grown,
        Self::New,
        Self::Steady,
        Self::Shrunk,
        Self::NotSeen,
        Self::Gone,
    ];

    /// The word the result uses.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Grown => "grown",
            Self::New => "new",
            Self::Steady => "steady",
            Self::Shrunk => "shrunk",
            Self::Gone => "gone",
            Self::NotSeen => "not-seen",
        }
    }
}

/// A zone in one survey, or the parts of one that came apart, as far as comparison needs it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct State {
    /// The survey's date.
    pub date: String,
    /// Names of the zone, or of its parts, there.
    pub zones: Vec<String>,
    /// Conductivity over dry, by area where there are parts.
    pub conductivity_ratio: f64,
    /// Its 95 % interval.
    pub conductivity_ratio_interval: [f64; 2],
    /// Whether the ratio is a least one.
    pub at_least: bool,
    /// Area, m².
    pub area_m2: f64,
    /// Its 95 % half-width, m².
    pub area_uncertainty_m2: f64,
    /// Likely cause, of the largest part.
    pub likely_cause: String,
}

impl State {
    /// The state of a zone's parts in a survey whose smallest zone has that side. None without parts.
    ///
    /// Area: u² = (perimeter · edge)² + (share · area)², the edge being one pixel, a third of the smallest zone's side.
    #[must_use]
    pub fn of(parts: &[&Zone], date: &str, smallest_zone_m: f64, settings: &Settings) -> Option<Self> {
        let largest = parts.iter().max_by(|a, b| a.area_m2.total_cmp(&b.area_m2))?;
        let area_m2: f64 = parts.iter().map(|zone| zone.area_m2).sum();
        let by_area = |value: fn(&Zone) -> f64| {
            let sum: f64 = parts.iter().map(|zone| value(zone) * zone.area_m2.max(1e-9)).sum();
            sum / parts.iter().map(|zone| zone.area_m2.max(1e-9)).sum::<f64>()
        };
        let edge_m = smallest_zone_m / 3.0;
        let perimeter_m: f64 = parts.iter().map(|zone| 2.0 * (zone.length_m + zone.arc_m)).sum();
        Some(Self {
            date: date.to_owned(),
            zones: parts.iter().map(|zone| zone.id.clone()).collect(),
            conductivity_ratio: by_area(|zone| zone.conductivity_ratio),
            conductivity_ratio_interval: [
                by_area(|zone| zone.conductivity_ratio_interval[0]),
                by_area(|zone| zone.conductivity_ratio_interval[1]),
            ],
            at_least: parts.iter().any(|zone| zone.at_least),
            area_m2,
            area_uncertainty_m2: (perimeter_m * edge_m).hypot(settings.area_pct / 100.0 * area_m2),
            likely_cause: largest.likely_cause.clone(),
        })
    }

    /// Conductance beyond dry as area of dry insulation, m²: A (ratio − 1).
    #[must_use]
    pub fn excess_m2(&self) -> f64 {
        self.area_m2 * (self.conductivity_ratio - 1.0).max(0.0)
    }
}

/// Which way something went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Up,
    Same,
    Down,
}

/// What of the two areas can be compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct AreaSeen {
    /// The survey before saw all of the place that the zone takes now.
    pub(super) before: bool,
    /// This survey saw all of the place that the zone took before.
    pub(super) now: bool,
    /// Which of the two was the whole jacket.
    pub(super) extents: Extents,
}

/// The extents of a zone before and now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Extents {
    /// Local both times.
    Local,
    /// All over both times: the area is the asset's.
    Whole,
    /// All over then, and only in places now.
    OnceWhole,
}

/// What became of a zone, and why it is said.
pub(super) fn judge(before: &State, now: &State, area: AreaSeen) -> (Change, Vec<String>) {
    let mut because = Vec::new();
    let ratio = ratio_way(before, now, &mut because);
    let area = area_way(before, now, area, &mut because);
    let change = match (ratio, area) {
        (Way::Same, Way::Same) => Change::Steady,
        (Way::Up, Way::Up | Way::Same) | (Way::Same, Way::Up) => Change::Grown,
        (Way::Down, Way::Down | Way::Same) | (Way::Same, Way::Down) => Change::Shrunk,
        (Way::Up, Way::Down) | (Way::Down, Way::Up) => by_excess(before, now, &mut because),
    };
    (change, because)
}

/// d = r₁ − r₀ is beyond its uncertainty where it exceeds the root of the squares of the arms that face each other.
fn ratio_way(before: &State, now: &State, because: &mut Vec<String>) -> Way {
    let (r0, [low0, high0]) = (before.conductivity_ratio, before.conductivity_ratio_interval);
    let (r1, [low1, high1]) = (now.conductivity_ratio, now.conductivity_ratio_interval);
    let difference = r1 - r0;
    let uncertain = if difference > 0.0 {
        (r1 - low1).hypot(high0 - r0)
    } else {
        (high1 - r1).hypot(r0 - low0)
    };
    let told = format!("conductivity ratio {r0:.2} then, {r1:.2} now, difference uncertain by {uncertain:.2}");
    // A least ratio says nothing of how much more it may have been.
    let is_open = if difference > 0.0 {
        before.at_least
    } else {
        now.at_least
    };
    let way = match difference.abs() > uncertain {
        true if is_open => {
            because.push(format!("{told}, but one of them is a least value: not judged"));
            return Way::Same;
        }
        true if difference > 0.0 => Way::Up,
        true => Way::Down,
        false => Way::Same,
    };
    because.push(match way {
        Way::Same => format!("{told}: the uncertainty explains it"),
        Way::Up => format!("{told}: it conducts more"),
        Way::Down => format!("{told}: it conducts less"),
    });
    way
}

fn area_way(before: &State, now: &State, seen: AreaSeen, because: &mut Vec<String>) -> Way {
    match seen.extents {
        Extents::Local => {}
        Extents::Whole => {
            because.push("the whole jacket departs, so that areas are not compared".to_owned());
            return Way::Same;
        }
        Extents::OnceWhole if !seen.now => {
            because.push(
                "the whole jacket departed then, and not all of it was seen now: areas are not compared".to_owned(),
            );
            return Way::Same;
        }
        Extents::OnceWhole => {
            because.push("the whole jacket departed then, and only this is called now: it is smaller".to_owned());
            return Way::Down;
        }
    }
    let difference_m2 = now.area_m2 - before.area_m2;
    let uncertain_m2 = before.area_uncertainty_m2.hypot(now.area_uncertainty_m2);
    let told = format!(
        "area {:.3} m² then, {:.3} m² now, difference uncertain by {uncertain_m2:.3} m²",
        before.area_m2, now.area_m2
    );
    let way = match difference_m2.abs() > uncertain_m2 {
        true if difference_m2 > 0.0 && !seen.before => {
            because.push(format!("{told}, but not all of its place was seen then: not judged"));
            return Way::Same;
        }
        true if difference_m2 < 0.0 && !seen.now => {
            because.push(format!("{told}, but not all of its place was seen now: not judged"));
            return Way::Same;
        }
        true if difference_m2 > 0.0 => Way::Up,
        true => Way::Down,
        false => Way::Same,
    };
    because.push(match way {
        Way::Same => format!("{told}: the uncertainty explains it"),
        Way::Up => format!("{told}: it is larger"),
        Way::Down => format!("{told}: it is smaller"),
    });
    way
}

/// Where ratio and area went opposite ways, the conductance beyond dry decides, if it went beyond its own uncertainty:
/// e = A (r − 1), u² = ((r − 1) u_A)² + (A u_r)².
fn by_excess(before: &State, now: &State, because: &mut Vec<String>) -> Change {
    let uncertain = |state: &State| {
        let [low, high] = state.conductivity_ratio_interval;
        ((state.conductivity_ratio - 1.0) * state.area_uncertainty_m2).hypot(state.area_m2 * (high - low) / 2.0)
    };
    let (e0, e1) = (before.excess_m2(), now.excess_m2());
    let both = uncertain(before).hypot(uncertain(now));
    because.push(format!(
        "ratio and area went opposite ways: area × (ratio − 1) was {e0:.2} m² then, {e1:.2} m² now, difference uncertain \
         by {both:.2} m²"
    ));
    if (e1 - e0).abs() <= both {
        Change::Steady
    } else if e1 > e0 {
        Change::Grown
    } else {
        Change::Shrunk
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn state(ratio: f64, half: f64, area_m2: f64, area_uncertainty_m2: f64) -> State {
        State {
            date: String::new(),
            zones: Vec::new(),
            conductivity_ratio: ratio,
            conductivity_ratio_interval: [ratio - half, ratio + half],
            at_least: false,
            area_m2,
            area_uncertainty_m2,
            likely_cause: String::new(),
        }
    }

    const WHOLE: AreaSeen = AreaSeen {
        before: true,
        now: true,
        extents: Extents::Local,
    };

    #[test]
    fn only_beyond_the_uncertainty() {
        let before = state(2.0, 0.5, 0.20, 0.04);
        // √(0.5² + 0.5²) = 0.707
        for (ratio, change) in [
            (2.70, Change::Steady),
            (2.72, Change::Grown),
            (1.30, Change::Steady),
            (1.28, Change::Shrunk),
        ] {
            assert_eq!(
                judge(&before, &state(ratio, 0.5, 0.20, 0.04), WHOLE).0,
                change,
                "{ratio}"
            );
        }
        // √(0.04² + 0.04²) = 0.0566
        for (area, change) in [
            (0.25, Change::Steady),
            (0.26, Change::Grown),
            (0.15, Change::Steady),
            (0.14, Change::Shrunk),
        ] {
            assert_eq!(judge(&before, &state(2.0, 0.5, area, 0.04), WHOLE).0, change, "{area}");
        }
    }

    #[test]
    fn what_was_not_seen_or_is_a_least_value_is_not_growth() {
        let (before, now) = (state(2.0, 0.2, 0.2, 0.02), state(2.0, 0.2, 0.4, 0.02));
        let half = AreaSeen { before: false, ..WHOLE };
        assert_eq!(judge(&before, &now, half).0, Change::Steady);
        let least = State {
            at_least: true,
            ..before.clone()
        };
        let more = state(3.0, 0.2, 0.2, 0.02);
        assert_eq!(judge(&least, &more, WHOLE).0, Change::Steady);
        assert_eq!(judge(&more, &least, WHOLE).0, Change::Steady);
        assert_eq!(judge(&before, &more, WHOLE).0, Change::Grown);
    }

    #[test]
    fn what_is_left_of_a_whole_jacket_is_less() {
        let seen = |extents| AreaSeen { extents, ..WHOLE };
        let (before, now) = (state(3.0, 0.5, 2.0, 0.04), state(3.2, 0.5, 0.2, 0.04));
        assert_eq!(judge(&before, &now, seen(Extents::OnceWhole)).0, Change::Shrunk);
        let half = AreaSeen {
            now: false,
            ..seen(Extents::OnceWhole)
        };
        assert_eq!(judge(&before, &now, half).0, Change::Steady);
        // The face that a camera saw of a jacket that is wet all over is no size of anything.
        assert_eq!(judge(&before, &now, seen(Extents::Whole)).0, Change::Steady);
    }

    #[test]
    fn opposite_ways_are_weighed_together() {
        // Half the area at four times the excess: 0.2 · 1 = 0.2 m² then, 0.1 · 4 = 0.4 m² now.
        let (before, now) = (state(2.0, 0.1, 0.2, 0.01), state(5.0, 0.2, 0.1, 0.01));
        assert_eq!(judge(&before, &now, WHOLE).0, Change::Grown);
        assert_eq!(judge(&now, &before, WHOLE).0, Change::Shrunk);
    }
}
