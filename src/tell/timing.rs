//! Where the time went.

use serde_json::json;

use super::{event, say_err};
use crate::clock::{Clock, Stage};
use crate::told;

/// A table of the stages on standard error; as JSON one line a stage on standard output.
pub fn timing(clock: &Clock, frames: usize, whole_s: f64) {
    report(clock, (frames, whole_s), told::is_json());
}

/// The table whatever the form: for a command whose standard output holds nothing but its answers.
pub fn timing_table(clock: &Clock, frames: usize, whole_s: f64) {
    report(clock, (frames, whole_s), false);
}

fn report(clock: &Clock, (frames, whole_s): (usize, f64), is_event: bool) {
    let spent: Vec<(Stage, f64, u64)> = Stage::ALL
        .iter()
        .map(|stage| {
            let (seconds, times) = clock.spent(*stage);
            (*stage, seconds, times)
        })
        .collect();
    let all_s: f64 = spent.iter().map(|(_, seconds, _)| seconds).sum();
    if is_event {
        for (stage, seconds, times) in spent {
            event(&json!({"event": "stage", "stage": stage.name(), "seconds": seconds, "times": times}));
        }
        event(&json!({"event": "timing", "frames": frames, "work_seconds": all_s, "whole_seconds": whole_s}));
        return;
    }
    let each = frames.max(1) as f64;
    say_err("stage      seconds  share  ms a frame");
    for (stage, seconds, _) in spent {
        say_err(&format!(
            "{:<9}  {seconds:>7.3}  {:>4.0} %  {:>10.3}",
            stage.name(),
            100.0 * seconds / all_s.max(1e-9),
            1000.0 * seconds / each
        ));
    }
    say_err(&format!(
        "together   {all_s:>7.3} s of work over all cores, {whole_s:.3} s by the clock, {frames} frames"
    ));
}
