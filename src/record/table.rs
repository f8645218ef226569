//! `findings.parquet`: a row a zone with the plant and day of its survey, so that a company's own tools can ask all its
//! plants at once (Apache Parquet, an open format). Numbers stay numbers; what is unknown is null.

use std::io::{self, Write};
use std::sync::Arc;

use jiff::Unit;
use jiff::civil::Date;
use parquet::basic::{LogicalType, Repetition, Type as Physical};
use parquet::data_type::{BoolType, ByteArray, ByteArrayType, DoubleType, Int32Type};
use parquet::errors::ParquetError;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedFileWriter, SerializedRowGroupWriter};
use parquet::schema::types::Type;

use crate::rank::Ranked;
use crate::register::Register;
use crate::units::Units;

/// A column's values, one a zone.
enum Values {
    Texts(Vec<String>),
    Numbers(Vec<Option<f64>>),
    /// Numbers that are always there.
    All(Vec<f64>),
    Counts(Vec<Option<i32>>),
    /// Days since 1970-01-01.
    Days(Vec<Option<i32>>),
    Flags(Vec<bool>),
}

struct Column {
    name: &'static str,
    values: Values,
}

/// Zones of a row group: what is held at once.
const GROUP: usize = 4096;

/// Writes the table: the same zones give the same bytes.
///
/// # Errors
/// A zone cannot be read, or the table not be written.
pub fn parquet(
    register: &Register,
    mut zones: impl Iterator<Item = io::Result<Ranked>>,
    to: impl Write + Send,
) -> io::Result<()> {
    // Columns are named and typed by what would be written of no zones at all.
    let fields = columns(register, &[]);
    let fields = fields.iter().map(|column| column.field().map(Arc::new));
    let schema = Type::group_type_builder("zone")
        .with_fields(fields.collect::<Result<_, _>>()?)
        .build()?;
    let properties = WriterProperties::builder()
        .set_created_by(concat!("coldjacket ", env!("CARGO_PKG_VERSION")).to_owned())
        .build();
    let mut writer = SerializedFileWriter::new(to, Arc::new(schema), Arc::new(properties))?;
    loop {
        let some: Vec<Ranked> = zones.by_ref().take(GROUP).collect::<io::Result<_>>()?;
        if some.is_empty() {
            break;
        }
        let mut group = writer.next_row_group()?;
        for column in columns(register, &some) {
            column.write(&mut group)?;
        }
        group.close()?;
    }
    writer.close()?;
    Ok(())
}

/// All columns; those of findings.csv keep their names.
fn columns(register: &Register, zones: &[Ranked]) -> Vec<Column> {
    let survey = &register.survey;
    let column = |name, values| Column { name, values };
    let texts = |name, text: &dyn Fn(&Ranked) -> String| column(name, Values::Texts(zones.iter().map(text).collect()));
    let all = |name, number: &dyn Fn(&Ranked) -> f64| {
        let numbers = zones.iter().map(|zone| rounded(number(zone)));
        column(name, Values::All(numbers.collect()))
    };
    let some = |name, number: &dyn Fn(&Ranked) -> Option<f64>| {
        let numbers = zones.iter().map(|zone| number(zone).map(rounded));
        column(name, Values::Numbers(numbers.collect()))
    };
    let day = days(&survey.date);
    let files = |zone: &Ranked| {
        let files = zone.sightings.iter().map(|s| register.frames[s.frame].file.as_str());
        files.collect::<Vec<_>>().join("; ")
    };
    let rank = |zone: &Ranked| zone.rank.and_then(|rank| i32::try_from(rank).ok());
    vec![
        texts("plant", &|_| survey.plant.clone()),
        texts("survey", &|_| survey.title.clone()),
        column("survey_date", Values::Days(vec![day; zones.len()])),
        texts("id", &|zone| zone.id.clone()),
        texts("asset", &|zone| register.assets[zone.asset].tag.clone()),
        column("rank", Values::Counts(zones.iter().map(rank).collect())),
        texts("place", &|zone| super::place::words(zone, Units::Si)),
        all("axial_m", &|zone| zone.place.axial_m),
        some("height_m", &|zone| zone.place.height_m),
        some("clock_h", &|zone| zone.place.clock_h),
        some("bearing_deg", &|zone| zone.place.bearing_deg),
        all("angle_deg", &|zone| zone.finding.zone.angle_deg),
        all("length_m", &|zone| zone.finding.zone.length_m),
        all("arc_m", &|zone| zone.finding.zone.arc_m),
        all("area_m2", &|zone| zone.finding.zone.area_m2),
        texts("departure", &|zone| zone.finding.zone.departure.key().to_owned()),
        texts("extent", &|zone| zone.finding.extent.key().to_owned()),
        all("contrast_k", &|zone| zone.finding.zone.contrast_k),
        all("uncertainty_k", &|zone| zone.finding.uncertainty_k),
        all("surface_c", &|zone| zone.finding.zone.surface_c),
        all("sound_surface_c", &|zone| zone.finding.zone.sound_c),
        all("conductivity_ratio", &|zone| zone.finding.ratio),
        all("ratio_low", &|zone| zone.finding.ratio_interval[0]),
        all("ratio_high", &|zone| zone.finding.ratio_interval[1]),
        column(
            "at_least",
            Values::Flags(zones.iter().map(|zone| zone.finding.at_least).collect()),
        ),
        some("moisture_volume_fraction", &|zone| zone.finding.moisture),
        all("extra_heat_gain_w", &|zone| zone.finding.extra_heat_gain_w),
        texts("likely_cause", &|zone| zone.finding.cause.key().to_owned()),
        texts("action", &|zone| zone.finding.action.key().to_owned()),
        all("priority", &|zone| zone.priority),
        texts("because", &|zone| zone.finding.because.join("; ")),
        texts("files", &files),
    ]
}

/// To six digits after the point: beyond them the libraries of two machines differ.
fn rounded(number: f64) -> f64 {
    (number * 1e6).round() / 1e6
}

fn days(date: &str) -> Option<i32> {
    let date: Date = date.parse().ok()?;
    let since = date.since((Unit::Day, Date::new(1970, 1, 1).ok()?)).ok()?;
    Some(since.get_days())
}

impl Column {
    fn field(&self) -> Result<Type, ParquetError> {
        let (physical, logical, repetition) = match self.values {
            Values::Texts(_) => (Physical::BYTE_ARRAY, Some(LogicalType::String), Repetition::REQUIRED),
            Values::Numbers(_) => (Physical::DOUBLE, None, Repetition::OPTIONAL),
            Values::All(_) => (Physical::DOUBLE, None, Repetition::REQUIRED),
            Values::Counts(_) => (Physical::INT32, None, Repetition::OPTIONAL),
            Values::Days(_) => (Physical::INT32, Some(LogicalType::Date), Repetition::OPTIONAL),
            Values::Flags(_) => (Physical::BOOLEAN, None, Repetition::REQUIRED),
        };
        Type::primitive_type_builder(self.name, physical)
            .with_logical_type(logical)
            .with_repetition(repetition)
            .build()
    }

    fn write<W: Write + Send>(&self, group: &mut SerializedRowGroupWriter<W>) -> Result<(), ParquetError> {
        let Some(mut writer) = group.next_column()? else {
            return Err(ParquetError::General(format!("no column for {}", self.name)));
        };
        match &self.values {
            Values::Texts(texts) => {
                let bytes: Vec<ByteArray> = texts.iter().map(|text| ByteArray::from(text.as_str())).collect();
                writer.typed::<ByteArrayType>().write_batch(&bytes, None, None)?;
            }
            Values::Numbers(numbers) => {
                let (values, levels) = there(numbers);
                writer.typed::<DoubleType>().write_batch(&values, Some(&levels), None)?;
            }
            Values::All(numbers) => {
                writer.typed::<DoubleType>().write_batch(numbers, None, None)?;
            }
            Values::Counts(numbers) | Values::Days(numbers) => {
                let (values, levels) = there(numbers);
                writer.typed::<Int32Type>().write_batch(&values, Some(&levels), None)?;
            }
            Values::Flags(flags) => {
                writer.typed::<BoolType>().write_batch(flags, None, None)?;
            }
        }
        writer.close()
    }
}

/// The values that are there, and for each row whether one is (1) or not (0), as Parquet wants them.
fn there<T: Copy>(values: &[Option<T>]) -> (Vec<T>, Vec<i16>) {
    let levels = values.iter().map(|value| i16::from(value.is_some())).collect();
    (values.iter().copied().flatten().collect(), levels)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_counted_from_1970() {
        assert_eq!(days("1970-01-01"), Some(0));
        // date -d 2026-03-03 +%s = 1772496000, over 86400.
        assert_eq!(days("2026-03-03"), Some(20_515));
        assert_eq!(days("soon"), None);
    }
}
