//! A profile along the outline, and where it departs from what is usual about each place.

/// A closed profile along the outline with what is usual about each place.
pub(super) struct Profile {
    pub(super) values: Vec<f32>,
    usual: Vec<f32>,
}

impl Profile {
    pub(super) fn new(values: Vec<f32>, window: usize) -> Self {
        let usual = running_median(&values, window);
        Self { values, usual }
    }

    pub(super) fn departure(&self, index: usize) -> f32 {
        self.values[index] - self.usual[index]
    }

    pub(super) fn bumps(&self, least: f32) -> Vec<(usize, usize)> {
        bumps(&self.values, &self.usual, least)
    }

    pub(super) fn strongest(&self, run: (usize, usize)) -> usize {
        strongest(&self.values, &self.usual, run.0, run.1)
    }

    /// Whether two runs have both their sides at the same places.
    pub(super) fn aligned(&self, a: (usize, usize), b: (usize, usize)) -> bool {
        let count = self.values.len() as f64;
        let width = (a.1 - a.0) as f64;
        let near = |one: usize, two: usize| {
            let apart = (one as f64 - two as f64).rem_euclid(count);
            apart.min(count - apart) <= 2.0 + 0.2 * width
        };
        near(a.0, b.0) && near(a.1, b.1)
    }
}

/// Index of the greatest departure in a bump.
fn strongest(profile: &[f32], usual: &[f32], from: usize, to: usize) -> usize {
    let count = profile.len();
    (from..to)
        .map(|i| i % count)
        .max_by(|&a, &b| (profile[a] - usual[a]).abs().total_cmp(&(profile[b] - usual[b]).abs()))
        .unwrap_or(from % count)
}

/// Places that share a median, which hardly moves over so few; its window lies about their middle.
const BLOCK: usize = 4;

/// Median over ± `half` places of a closed profile, every place; NaN where nothing is known.
fn running_median(profile: &[f32], half: usize) -> Vec<f32> {
    let count = profile.len();
    let stride = (half / 24).clamp(1, count.max(1));
    let mut out = vec![f32::NAN; count];
    let mut window = Vec::new();
    for block in (0..count).step_by(BLOCK) {
        window.clear();
        let mut at = (block + BLOCK / 2 + count - half.min(count)) % count;
        for _ in (0..=2 * half).step_by(stride) {
            window.extend(Some(profile[at]).filter(|value| value.is_finite()));
            at += stride;
            at -= if at >= count { count } else { 0 };
        }
        if let Some(median) = crate::statistic::median_of_readings(&mut window) {
            for value in out.iter_mut().skip(block).take(BLOCK) {
                *value = median as f32;
            }
        }
    }
    out
}

/// Runs (from, to) of a closed profile that depart by more than `least` with one sign; `to` may run past the end once.
fn bumps(profile: &[f32], usual: &[f32], least: f32) -> Vec<(usize, usize)> {
    let count = profile.len();
    let sign = |i: usize| {
        let d = profile[i % count] - usual[i % count];
        if d > least {
            1
        } else if d < -least {
            -1
        } else {
            0
        }
    };
    let Some(start) = (0..count).find(|&i| sign(i) == 0) else {
        return Vec::new();
    };
    let mut runs = Vec::new();
    let mut open: Option<(usize, i32)> = None;
    for i in start..=start + count {
        let here = sign(i);
        match open {
            Some((from, was)) if here != was => {
                runs.push((from, i));
                open = (here != 0).then_some((i, here));
            }
            None if here != 0 => open = Some((i, here)),
            _ => {}
        }
    }
    runs
}
