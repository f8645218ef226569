//! How a frame's stored values become temperatures.

use std::collections::BTreeMap;

use crate::register::row::Row;
use crate::register::units::{Range, unit_of};
use crate::register::words::ScaleWord;
use crate::register::{Camera, SignalLaw, TemperatureScale};

/// Kelvin a count; negative where counts fall with temperature.
const GAIN: Range = Range::between(-1000.0, 1000.0);
/// Temperature of count 0, which may lie far outside what is measured, °C.
const OFFSET: Range = Range::between(-1e6, 1e6);
/// Limits of a colour bar, from absolute zero to beyond any camera, °C.
const BAR: Range = Range::between(-273.15, 2000.0);

const LINEAR_KEYS: [&str; 2] = ["scale_gain_k", "scale_offset_c"];
const BAR_KEYS: [&str; 3] = ["bar_low_c", "bar_high_c", "bar_box_px"];

/// The scale with what it needs.
pub(super) fn read(row: &mut Row<'_>, cameras: Option<&BTreeMap<String, Camera>>) -> Option<TemperatureScale> {
    let word = row.required_word::<ScaleWord>("temperature_scale")?;
    if word != ScaleWord::Linear {
        row.warn_unused(&LINEAR_KEYS, "temperature_scale is not linear");
    }
    if word != ScaleWord::ColourBar {
        row.warn_unused(&BAR_KEYS, "temperature_scale is not colour-bar");
    }
    match word {
        ScaleWord::Centikelvin => Some(TemperatureScale::Centikelvin),
        ScaleWord::Decikelvin => Some(TemperatureScale::Decikelvin),
        ScaleWord::Celsius => Some(TemperatureScale::Celsius),
        ScaleWord::Kelvin => Some(TemperatureScale::Kelvin),
        ScaleWord::Fahrenheit => Some(TemperatureScale::Fahrenheit),
        ScaleWord::Linear => linear(row),
        ScaleWord::Sensor => sensor(row, cameras).map(TemperatureScale::Sensor),
        ScaleWord::ColourBar => colour_bar(row),
    }
}

/// Reads every key that any scale has, for its faults alone.
pub(super) fn every_key(row: &mut Row<'_>) {
    for key in ["scale_gain_k", "scale_offset_c"] {
        let _ = row.number(key, if key == "scale_gain_k" { GAIN } else { OFFSET });
    }
    let _ = (
        row.number("bar_low_c", BAR),
        row.number("bar_high_c", BAR),
        bar_box(row),
    );
}

fn linear(row: &mut Row<'_>) -> Option<TemperatureScale> {
    let gain_k = row.needed_number("scale_gain_k", GAIN, "the linear scale");
    let offset_c = row.needed_number("scale_offset_c", OFFSET, "the linear scale");
    if gain_k == Some(0.0) {
        row.refuse(
            row.fault("scale_gain_k", "makes every count the same temperature")
                .accepted("a number other than 0"),
        );
        return None;
    }
    Some(TemperatureScale::Linear {
        gain_k: gain_k?,
        offset_c: offset_c?,
    })
}

fn sensor(row: &mut Row<'_>, cameras: Option<&BTreeMap<String, Camera>>) -> Option<SignalLaw> {
    let accepted = "a camera of survey.toml with a_um, b_um_k and c";
    if !row.is_filled_for("camera", "the sensor scale", accepted) {
        return None;
    }
    let camera = cameras?.get(&row.text("camera")?)?;
    if camera.signal.is_none() {
        let fault = row
            .fault("camera", "has no signal law, but the sensor scale needs it")
            .accepted(accepted);
        row.refuse(fault.hint("add a_um, b_um_k and c to this camera in survey.toml".to_owned()));
    }
    camera.signal
}

fn colour_bar(row: &mut Row<'_>) -> Option<TemperatureScale> {
    // One picture without limits is that frame's loss, said with its reason: the others can still be used.
    let blank = ["bar_low_c", "bar_high_c"].map(|key| row.is_blank(key));
    let ends = [row.number("bar_low_c", BAR), row.number("bar_high_c", BAR)];
    let box_px = bar_box(row);
    if blank.contains(&true) {
        return Some(TemperatureScale::ColourBar { ends_c: None, box_px });
    }
    let [Some(low_c), Some(high_c)] = ends else { return None };
    if low_c >= high_c {
        let least = unit_of("bar_low_c").told(low_c);
        row.refuse(
            row.fault("bar_high_c", "is not above the bar's low end")
                .accepted(format!("above {least}")),
        );
        return None;
    }
    Some(TemperatureScale::ColourBar {
        ends_c: Some([low_c, high_c]),
        box_px,
    })
}

fn bar_box(row: &mut Row<'_>) -> Option<[u32; 4]> {
    const ACCEPTED: &str = "x y w h in whole pixels, w and h above 0";
    let numbers = row.numbers("bar_box_px", ACCEPTED)?;
    let whole: Option<Vec<u32>> = numbers.iter().map(|number| whole_px(*number)).collect();
    match whole.as_deref() {
        Some([x, y, w, h]) if *w > 0 && *h > 0 => Some([*x, *y, *w, *h]),
        _ => {
            row.refuse(row.fault("bar_box_px", "is not a box").accepted(ACCEPTED));
            None
        }
    }
}

/// A whole number of pixels, up to more than any image has.
fn whole_px(number: f64) -> Option<u32> {
    let is_whole = number.fract() == 0.0 && (0.0..=1_000_000.0).contains(&number);
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "0 to 1e6, checked above"
    )]
    is_whole.then_some(number as u32)
}
