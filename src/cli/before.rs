//! What is typed for the commands that come before the walk: `new` and `plan`.

use std::path::PathBuf;

use clap::Args;

use super::ReadingArgs;
use crate::plan::cases::{Asked, Span};
use crate::register::Setting;
use crate::register::before::{SIDE_PX, Stated};
use crate::units::Units;

/// `coldjacket new`.
#[derive(Debug, Args)]
#[command(
    after_help = "Writes survey.toml, assets.csv, frames.csv and COLUMNS.md, which explains every key and column with \
its accepted words. frames.csv has one row an image, in the order of their paths, with the time of capture where the file \
states it and a temperature scale proposed from its content: a proposal, to be confirmed. The asset is left blank. Images \
are copied to FOLDER/images, and the originals are not touched; images that lie in FOLDER already stay where they are. \
Nothing that is there is ever overwritten.\n\n\
Exit status: 0 every file in DIR is an image and has its row; 1 done, but at least one file has no row (each is named with \
its reason); 2 nothing was done (usage, no images, or a folder that holds sheets already)."
)]
pub struct NewArgs {
    /// The survey folder to start: a new one, or one without sheets.
    pub folder: PathBuf,
    /// Where the images are; folders in it are looked through too.
    #[arg(long, value_name = "DIR")]
    pub images: PathBuf,
    /// Write the sheets as workbooks, assets.xlsx and frames.xlsx, with the accepted words to choose from.
    #[arg(long)]
    pub xlsx: bool,
    /// How images are read.
    #[command(flatten)]
    pub reading: ReadingArgs,
}

/// `coldjacket plan`.
#[derive(Debug, Args)]
#[command(
    after_help = "Expected conditions are those of the asset's own rows in frames.csv, else [defaults] of survey.toml, else \
those of other rows of the same setting; an option takes the place of what the sheets say, for every asset. A range LOW..HIGH \
is reckoned at both ends, and the worst and the best case are told. frames.csv may be missing or have no assets yet. The \
camera's field_of_view_deg, width_px and height_px may stand under [cameras.NAME] of survey.toml.\n\n\
Writes plan.json and field-sheet.html, to print for the walk, by the column area of assets.csv.\n\n\
Exit status: 0 planned, whatever the verdicts; 2 nothing was done (usage, sheet or output error)."
)]
pub struct PlanArgs {
    /// The survey folder: survey.toml, assets.csv, and frames.csv where there is one (or .xlsx). It is never changed.
    pub folder: PathBuf,
    /// Where plan.json and field-sheet.html go. An earlier plan there is replaced, other files are kept.
    #[arg(long, value_name = "DIR", default_value = "plan")]
    pub out: PathBuf,
    /// Units in everything people read; plan.json stays SI.
    #[arg(long, value_enum, default_value_t = Units::Si)]
    pub units: Units,
    /// What is expected.
    #[command(flatten)]
    pub expected: ExpectedArgs,
}

/// Conditions that are expected on the walk.
#[derive(Debug, Args)]
pub struct ExpectedArgs {
    /// Air temperature in °C, or a range such as 10..20; a reflected temperature of the sheets moves with it.
    #[arg(long, value_name = "C", value_parser = air_c, allow_hyphen_values = true)]
    pub air_c: Option<Span>,
    /// The same in °F.
    #[arg(long, value_name = "F", value_parser = air_f, allow_hyphen_values = true, conflicts_with = "air_c")]
    pub air_f: Option<Span>,
    /// Relative humidity in per cent, or a range.
    #[arg(long, value_name = "PCT", value_parser = humidity)]
    pub humidity: Option<Span>,
    /// Wind at the asset in m/s, or a range.
    #[arg(long, value_name = "M_S", value_parser = wind)]
    pub wind: Option<Span>,
    /// The same in mph.
    #[arg(long, value_name = "MPH", value_parser = wind_mph, conflicts_with = "wind")]
    pub wind_mph: Option<Span>,
    /// Reflected temperature in °C, or a range; the air's where nothing is said.
    #[arg(long, value_name = "C", value_parser = reflected_c, allow_hyphen_values = true)]
    pub reflected_c: Option<Span>,
    /// The same in °F.
    #[arg(long, value_name = "F", value_parser = reflected_f, allow_hyphen_values = true, conflicts_with = "reflected_c")]
    pub reflected_f: Option<Span>,
    /// Distance from the asset in m, or a range.
    #[arg(long, value_name = "M", value_parser = distance_m)]
    pub distance_m: Option<Span>,
    /// The same in ft.
    #[arg(long, value_name = "FT", value_parser = distance_ft, conflicts_with = "distance_m")]
    pub distance_ft: Option<Span>,
    /// Field of view across the picture in degrees.
    #[arg(long, value_name = "DEG", value_parser = field_of_view)]
    pub field_of_view_deg: Option<f64>,
    /// Pixels across and up the picture, such as 320x240.
    #[arg(long, value_name = "WxH", value_parser = pixels)]
    pub pixels: Option<[u32; 2]>,
    /// Only the assets that stand indoors, or outdoors: so that each may have its own conditions.
    #[arg(long, value_enum)]
    pub setting: Option<Where>,
}

/// Where an asset stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Where {
    /// Under a roof.
    Indoor,
    /// Under the sky.
    Outdoor,
}

impl ExpectedArgs {
    /// What is asked for, in SI.
    #[must_use]
    pub fn asked(&self) -> Asked {
        Asked {
            air_c: self.air_c.or(self.air_f),
            relative_humidity_pct: self.humidity,
            wind_m_s: self.wind.or(self.wind_mph),
            reflected_c: self.reflected_c.or(self.reflected_f),
            distance_m: self.distance_m.or(self.distance_ft),
            field_of_view_deg: self.field_of_view_deg,
            pixels: self.pixels,
            setting: self.setting.map(|setting| match setting {
                Where::Indoor => Setting::Indoor,
                Where::Outdoor => Setting::Outdoor,
            }),
        }
    }
}

// t/°C = (t/°F − 32)·5/9, 1 mile/h = 0.44704 m/s, 1 ft = 0.3048 m: exact by definition.
fn air_c(text: &str) -> Result<Span, String> {
    span(text, Stated::Air, |celsius| celsius)
}

fn air_f(text: &str) -> Result<Span, String> {
    span(text, Stated::Air, celsius)
}

fn humidity(text: &str) -> Result<Span, String> {
    span(text, Stated::Humidity, |pct| pct)
}

fn wind(text: &str) -> Result<Span, String> {
    span(text, Stated::Wind, |m_s| m_s)
}

fn wind_mph(text: &str) -> Result<Span, String> {
    span(text, Stated::Wind, |mph| mph * 0.447_04)
}

fn reflected_c(text: &str) -> Result<Span, String> {
    span(text, Stated::Reflected, |celsius| celsius)
}

fn reflected_f(text: &str) -> Result<Span, String> {
    span(text, Stated::Reflected, celsius)
}

fn distance_m(text: &str) -> Result<Span, String> {
    span(text, Stated::Distance, |m| m)
}

fn distance_ft(text: &str) -> Result<Span, String> {
    span(text, Stated::Distance, |ft| ft * 0.304_8)
}

fn field_of_view(text: &str) -> Result<f64, String> {
    number(text, Stated::FieldOfView, |deg| deg)
}

fn celsius(fahrenheit: f64) -> f64 {
    (fahrenheit - 32.0) * 5.0 / 9.0
}

/// `10` or `10..20`.
fn span(text: &str, what: Stated, to_si: fn(f64) -> f64) -> Result<Span, String> {
    let (low, high) = match text.split_once("..") {
        Some((low, high)) => (number(low, what, to_si)?, number(high, what, to_si)?),
        None => {
            let one = number(text, what, to_si)?;
            (one, one)
        }
    };
    if low > high {
        return Err("the range's first end is above its second (accepted: LOW..HIGH, such as 10..20)".to_owned());
    }
    Ok(Span { low, high })
}

fn number(text: &str, what: Stated, to_si: fn(f64) -> f64) -> Result<f64, String> {
    let written: f64 = text
        .trim()
        .replace('−', "-")
        .parse()
        .map_err(|_| format!("{text:?} is not a number (accepted: a number, or LOW..HIGH, such as 10..20)"))?;
    what.check(to_si(written))
        .map_err(|accepted| format!("{} is not possible (accepted: {accepted})", text.trim()))
}

fn pixels(text: &str) -> Result<[u32; 2], String> {
    let (least, most) = SIDE_PX;
    let side = |text: &str| {
        let side: u32 = text.trim().parse().ok()?;
        (i64::from(least)..=i64::from(most))
            .contains(&i64::from(side))
            .then_some(side)
    };
    let sides = text
        .split_once(['x', 'X', '×'])
        .and_then(|(w, h)| Some([side(w)?, side(h)?]));
    sides.ok_or_else(|| format!("is not a size (accepted: WIDTHxHEIGHT, {least} to {most} px each, such as 320x240)"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_or_a_range_in_either_unit() {
        assert_eq!(air_c("-5..20"), Ok(Span { low: -5.0, high: 20.0 }));
        assert_eq!(air_f("50"), Ok(Span { low: 10.0, high: 10.0 }));
        assert_eq!(
            distance_ft("10"),
            Ok(Span {
                low: 3.048,
                high: 3.048
            })
        );
        assert_eq!(wind_mph("0..10"), Ok(Span { low: 0.0, high: 4.4704 }));
        assert_eq!(pixels("640x480"), Ok([640, 480]));
    }

    #[test]
    fn what_is_no_value_is_refused_with_what_would_be() {
        assert!(air_c("20..10").unwrap_err().contains("above its second"));
        assert!(air_c("warm").unwrap_err().contains("is not a number"));
        assert!(air_c("nan").unwrap_err().contains("is not possible"));
        assert!(air_c("1..2..3").unwrap_err().contains("is not a number"));
        assert_eq!(
            humidity("120").unwrap_err(),
            "120 is not possible (accepted: 0 to 100 %)"
        );
        assert!(distance_m("0").unwrap_err().contains("accepted: 0.05 to 500 m"));
        assert!(field_of_view("180").unwrap_err().contains("accepted: 0.5 to 150"));
        for odd in ["320", "0x240", "320x", "320x240x3", "-1x5", "99999x5"] {
            assert!(pixels(odd).is_err(), "{odd}");
        }
    }
}
