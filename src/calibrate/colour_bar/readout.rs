//! From places on the curve to temperatures, bounds and what they are worth.

use ndarray::Array2;

use super::curve::{Curve, POINTS};
use super::find::Strip;
use super::matching::Matched;
use super::{Bar, End, Error, MOST_AMBIGUOUS, Screen, Stated, fit, overlay};
use crate::calibrate::noise_k;
use crate::read::{Packing, Picture};
use crate::statistic;

/// A picture and where its colours lie.
pub(super) struct Seen<'a> {
    pub picture: &'a Picture,
    pub matched: &'a Matched,
    /// Edges smeared by compression.
    pub smeared: &'a Array2<bool>,
    pub scatter: f32,
    /// How its file was packed, as far as can be told.
    pub packing: Packing,
}

/// How far things reach in colour and px in one picture.
pub(super) struct Reach {
    /// Distance from the curve beyond which a colour is no temperature.
    pub too_far: f32,
    /// Share of the bar within which a reading stands at its end.
    pub end_share: [f32; 2],
    /// Rim about overlays, px.
    pub rim_px: usize,
    /// Whether the low and the high end are black or white, as text is.
    pub plain_ends: [bool; 2],
}

/// Error of a reading in a compressed picture, in steps of the bar: what is seen of it across the curve, within these
/// bounds. The lower one was found on pictures of known temperatures at quality 90.
const COMPRESSED_STEPS: (f64, f64) = (0.65, 2.0);
/// Slope over three pixels, as a share of the bar and in the picture's noise, with which a rim goes with what it belongs to.
const RIM_SHARE: f64 = 0.006;
const RIM_NOISE: f64 = 4.0;
/// Share of the bar beyond which a reading is never at its end.
const MOST_END_SHARE: f32 = 0.02;

/// Reads the temperatures of a picture whose bar is known.
///
/// # Errors
/// [`Error::Ambiguous`].
pub(super) fn screen(seen: &Seen, (curve, strip): (&Curve, &Strip), stated: &Stated) -> Result<Screen, Error> {
    let reach = Reach::new(seen.scatter, curve, seen.packing);
    let off = overlay::mask(seen.picture, (seen.matched, seen.smeared), strip.box_px, &reach);
    let mut values = Values::read(seen, curve, (&off, &reach), stated);
    let ambiguous_share = values.ambiguous as f64 / values.readings.max(1) as f64;
    if ambiguous_share > MOST_AMBIGUOUS {
        return Err(Error::Ambiguous {
            box_px: strip.box_px,
            share: ambiguous_share,
        });
    }
    let span_k = stated.high_c - stated.low_c;
    let rim_k = (RIM_SHARE * span_k).max(RIM_NOISE * noise_k(&values.celsius));
    overlay::absorb_rims(&mut values.celsius, seen.smeared, rim_k as f32);
    values.ended.zip_mut_with(&values.celsius, |ended, t| {
        if t.is_nan() {
            *ended = None;
        }
    });
    let step_k = span_k / (curve.steps.max(2) - 1) as f64;
    let compressed_k = if seen.packing == Packing::Lossy {
        let across_k = statistic::median(&mut values.gains_k).unwrap_or(0.0) * f64::from(seen.scatter);
        across_k.clamp(COMPRESSED_STEPS.0 * step_k, COMPRESSED_STEPS.1 * step_k)
    } else {
        0.0
    };
    Ok(Screen {
        celsius: values.celsius,
        ended: values.ended,
        bar: Bar {
            box_px: strip.box_px,
            lie: strip.lie,
            step_k,
            ends_c: [stated.low_c, stated.high_c],
        },
        // u² = step²/12 + u²(compression)
        reading_u_k: (step_k * step_k / 12.0 + compressed_k * compressed_k).sqrt(),
        ambiguous_share,
    })
}

impl Reach {
    fn new(scatter: f32, curve: &Curve, packing: Packing) -> Self {
        let pace = curve.pace();
        let step = 1.0 / curve.steps.max(2) as f32;
        let ends = [0, POINTS - 1];
        // As near as a step, or as compression scatters.
        let near = |end: usize| step.min(0.012).max(1.5 * scatter / pace[end]).min(MOST_END_SHARE);
        let plain = |end: usize| curve.points[end].chroma() < 0.05 && !(0.2..0.93).contains(&curve.points[end].l);
        Self {
            too_far: fit::too_far(scatter),
            end_share: ends.map(near),
            rim_px: match packing {
                Packing::Lossless => 1,
                Packing::Lossy => 2,
            },
            plain_ends: ends.map(plain),
        }
    }
}

/// Temperatures with what was counted on the way.
struct Values {
    celsius: Array2<f32>,
    ended: Array2<Option<End>>,
    readings: usize,
    ambiguous: usize,
    /// Kelvin a distance in colour, of some readings.
    gains_k: Vec<f64>,
}

impl Values {
    fn read(seen: &Seen, curve: &Curve, (off, reach): (&Array2<bool>, &Reach), stated: &Stated) -> Self {
        const GAIN_EVERY: usize = 29;
        let span_k = stated.high_c - stated.low_c;
        let pace = curve.pace();
        let repeated = curve.repeated((3.0 * seen.scatter).clamp(0.012, 0.03));
        let place = |share: f32| ((share * (POINTS - 1) as f32) as usize).min(POINTS - 1);
        let mut values = Self {
            celsius: Array2::from_elem(off.dim(), f32::NAN),
            ended: Array2::from_elem(off.dim(), None),
            readings: 0,
            ambiguous: 0,
            gains_k: Vec::new(),
        };
        for (at, _) in off.indexed_iter().filter(|(_, off)| !**off) {
            let share = seen.matched.share[at];
            values.readings += 1;
            if repeated[place(share)] {
                values.ambiguous += 1;
                continue;
            }
            let (reading_c, ended) = if share <= reach.end_share[0] {
                (stated.low_c, Some(End::Low))
            } else if share >= 1.0 - reach.end_share[1] {
                (stated.high_c, Some(End::High))
            } else {
                if values.readings.is_multiple_of(GAIN_EVERY) {
                    values.gains_k.push(span_k / f64::from(pace[place(share)]));
                }
                (stated.low_c + f64::from(share) * span_k, None)
            };
            (values.celsius[at], values.ended[at]) = (reading_c as f32, ended);
        }
        values
    }
}
