//! Where the time goes: seconds of work a stage, added up over all cores. No result depends on it.

use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

/// A stage of a frame's way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Reading the file and its digest.
    Read,
    /// From bytes to stored values.
    Decode,
    /// From stored values to temperatures.
    Calibrate,
    /// Finding the asset.
    Locate,
    /// Sharpness of the outline, and zones.
    Detect,
    /// What zones mean.
    Assess,
    /// Drawing pictures.
    Draw,
    /// Writing files.
    Write,
}

impl Stage {
    /// All stages in their order.
    pub const ALL: [Self; 8] = [
        Self::Read,
        Self::Decode,
        Self::Calibrate,
        Self::Locate,
        Self::Detect,
        Self::Assess,
        Self::Draw,
        Self::Write,
    ];

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Decode => "decode",
            Self::Calibrate => "calibrate",
            Self::Locate => "locate",
            Self::Detect => "detect",
            Self::Assess => "assess",
            Self::Draw => "draw",
            Self::Write => "write",
        }
    }
}

/// Nanoseconds and times of each stage.
#[derive(Debug, Default)]
pub struct Clock {
    spent_ns: [AtomicU64; Stage::ALL.len()],
    times: [AtomicU64; Stage::ALL.len()],
}

impl Clock {
    /// Does some work, and adds what it took to the stage.
    pub fn time<T>(&self, stage: Stage, work: impl FnOnce() -> T) -> T {
        let begun = Instant::now();
        let done = work();
        let ns = u64::try_from(begun.elapsed().as_nanos()).unwrap_or(u64::MAX);
        if let (Some(spent), Some(times)) = (self.spent_ns.get(stage as usize), self.times.get(stage as usize)) {
            spent.fetch_add(ns, Ordering::Relaxed);
            times.fetch_add(1, Ordering::Relaxed);
        }
        done
    }

    /// Seconds spent in a stage over all cores, and how often it was gone through.
    #[must_use]
    pub fn spent(&self, stage: Stage) -> (f64, u64) {
        let load = |of: &[AtomicU64; Stage::ALL.len()]| of.get(stage as usize).map_or(0, |n| n.load(Ordering::Relaxed));
        (load(&self.spent_ns) as f64 / 1e9, load(&self.times))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    #[test]
    fn what_a_stage_takes_is_added_to_it_alone() {
        let clock = Clock::default();
        for _ in 0..2 {
            assert_eq!(
                clock.time(Stage::Locate, || {
                    std::thread::sleep(Duration::from_millis(5));
                    7
                }),
                7
            );
        }
        let (seconds, times) = clock.spent(Stage::Locate);
        assert!(seconds >= 0.010 && times == 2, "{seconds} {times}");
        assert_eq!(clock.spent(Stage::Detect), (0.0, 0));
    }
}
