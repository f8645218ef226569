//! What stands at the edges of the developed surface: clock, bearing or degrees, heights of a wall, and words for both ways.

use super::Input;
use super::sheet::{Lie, Round, Sheet};
use crate::record::figures::{tick_step, tick_words};

impl Sheet {
    /// Ticks about: place in m and text.
    pub(super) fn about_ticks(&self, input: &Input) -> Vec<(f64, String)> {
        let few = self.girth_m * self.scale < 150.0;
        let at = |share: f64| share * self.girth_m;
        match self.round {
            Round::Clock => {
                let hours: &[u32] = if few {
                    &[0, 3, 6, 9, 12]
                } else {
                    &[0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12]
                };
                let words = |&h: &u32| {
                    let hour = if h == 0 { 12 } else { h };
                    (at(f64::from(h) / 12.0), format!("{hour} o'clock"))
                };
                hours.iter().map(words).collect()
            }
            Round::Bearing => {
                let words = |&(deg, name): &(u32, &str)| {
                    let about = self.girth_m - at(f64::from(deg) / 360.0);
                    (
                        about,
                        if few {
                            name.to_owned()
                        } else {
                            format!("{name} {deg}°")
                        },
                    )
                };
                [(360, "N"), (270, "W"), (180, "S"), (90, "E"), (0, "N")]
                    .iter()
                    .map(words)
                    .collect()
            }
            Round::Facing => [-120, -60, 0, 60, 120]
                .iter()
                .map(|&deg| {
                    let text = if deg == 0 {
                        "facing".to_owned()
                    } else {
                        format!("{deg:+}°")
                    };
                    (at(f64::from(deg + 180) / 360.0), text)
                })
                .collect(),
            Round::Wall => self.wall_ticks(input),
        }
    }

    fn wall_ticks(&self, input: &Input) -> Vec<(f64, String)> {
        let (unit, sign) = input.units.length_parts(1.0);
        let height = self.girth_m * unit;
        let step = tick_step(height, (self.girth_m * self.scale / 40.0).max(2.0));
        let count = (height / step + 1e-6).floor() as usize;
        (0..=count.min(60))
            .map(|index| {
                let shown = index as f64 * step;
                let text = format!("{} {sign} up", tick_words(shown, step));
                (self.girth_m - shown / unit, text)
            })
            .collect()
    }

    /// What the two directions are, in words.
    pub(super) fn directions(&self) -> &'static str {
        match (self.round, self.lie) {
            (Round::Clock, _) => {
                "Metres from the datum tangent line; clock as seen from the datum end, cut at 12; seen from outside, to scale."
            }
            (Round::Bearing, _) => {
                "Metres up from the datum tangent line; compass bearing round, cut at north; seen from outside, to scale."
            }
            (Round::Facing, _) => {
                "Metres from the datum tangent line; degrees from the line that faces the camera (the sheet does not say what it \
                 faces); seen from outside, to scale."
            }
            (Round::Wall, Lie::Mirrored) => {
                "Metres along the wall from the datum at the right; seen from the front, to scale."
            }
            (Round::Wall, _) => "Metres along the wall from the datum at the left; seen from the front, to scale.",
        }
    }
}
