//! The sheets' bytes: headings, a row of explanations under them, one row an image; and the companion text.

use rust_xlsxwriter::{
    DataValidation, DocProperties, ExcelDateTime, Format, FormatAlign, Workbook, Worksheet, XlsxError,
};

use super::Error;
use super::images::Image;
use crate::register::columns::{self, Column};

/// How the sheets are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// Text, commas.
    Csv,
    /// Workbooks.
    Xlsx,
}

/// Name of the text that explains every column.
pub(super) const COMPANION: &str = "COLUMNS.md";

const SURVEY: &str = include_str!("templates/survey.toml");
/// Rows below the heading for which accepted words can be chosen.
const CHOICES: u32 = 5000;

/// Every sheet and text by its name.
pub(super) fn write(images: &[Image], form: Form) -> Result<Vec<(&'static str, Vec<u8>)>, Error> {
    let (assets, frames) = (columns::of_assets(), columns::of_frames());
    let rows: Vec<Vec<String>> = images.iter().map(|image| row(image, &frames)).collect();
    let mut all = vec![
        ("survey.toml", survey(images).into_bytes()),
        (COMPANION, companion(&assets, &frames).into_bytes()),
    ];
    match form {
        Form::Csv => {
            all.push(("assets.csv", csv(&assets, &[])?));
            all.push(("frames.csv", csv(&frames, &rows)?));
        }
        Form::Xlsx => {
            let wrong = |problem: XlsxError| Error::Workbook(problem.to_string());
            all.push(("assets.xlsx", xlsx("assets", &assets, &[]).map_err(wrong)?));
            all.push(("frames.xlsx", xlsx("frames", &frames, &rows).map_err(wrong)?));
        }
    }
    Ok(all)
}

fn row(image: &Image, columns: &[Column]) -> Vec<String> {
    let cell = |column: &Column| match column.name {
        "file" => safe(&image.file),
        "temperature_scale" => image.proposal.scale.unwrap_or_default().to_owned(),
        "captured_at" => image.captured_at.clone().unwrap_or_default(),
        "note" => image.proposal.note.clone(),
        _ => String::new(),
    };
    columns.iter().map(cell).collect()
}

/// A path that no spreadsheet takes for a formula, and no reader for a remark; `./` says nothing more.
fn safe(path: &str) -> String {
    if path.starts_with(['=', '+', '-', '@', '#']) {
        format!("./{path}")
    } else {
        path.to_owned()
    }
}

/// The explanations as a row: its first cell makes a remark of it.
fn explanations(columns: &[Column]) -> Vec<String> {
    let told = |(index, column): (usize, &Column)| {
        let text = column.told();
        if index == 0 { format!("# {text}") } else { text }
    };
    columns.iter().enumerate().map(told).collect()
}

fn csv(columns: &[Column], rows: &[Vec<String>]) -> Result<Vec<u8>, Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let heading = columns.iter().map(|column| column.name.to_owned()).collect();
    let head = [heading, explanations(columns)];
    for row in head.iter().chain(rows) {
        writer
            .write_record(row)
            .map_err(|problem| Error::Workbook(problem.to_string()))?;
    }
    writer
        .into_inner()
        .map_err(|problem| Error::Workbook(problem.to_string()))
}

fn xlsx(name: &str, columns: &[Column], rows: &[Vec<String>]) -> Result<Vec<u8>, XlsxError> {
    let mut workbook = Workbook::new();
    // The writer would put the clock's time in; the same images give the same bytes.
    let date = ExcelDateTime::from_ymd(2000, 1, 1)?;
    workbook.set_properties(&DocProperties::new().set_creation_datetime(&date));
    let sheet = workbook.add_worksheet();
    sheet.set_name(name)?;
    let heading = Format::new().set_bold();
    let remark = Format::new()
        .set_italic()
        .set_text_wrap()
        .set_align(FormatAlign::Top)
        .set_font_size(9);
    for (column, (explained, remark_text)) in (0u16..).zip(columns.iter().zip(explanations(columns))) {
        sheet.write_string_with_format(0, column, explained.name, &heading)?;
        sheet.write_string_with_format(1, column, remark_text, &remark)?;
        sheet.set_column_width(
            column,
            if matches!(explained.name, "file" | "note") {
                40.0
            } else {
                20.0
            },
        )?;
        offer_words(sheet, column, explained)?;
    }
    for (row, cells) in (2u32..).zip(rows) {
        for (column, cell) in (0u16..).zip(cells) {
            if !cell.is_empty() {
                sheet.write_string(row, column, cell)?;
            }
        }
    }
    sheet.set_row_height(1, 96.0)?;
    sheet.set_freeze_panes(2, 1)?;
    workbook.save_to_buffer()
}

/// The accepted words to choose from.
fn offer_words(sheet: &mut Worksheet, column: u16, explained: &Column) -> Result<(), XlsxError> {
    if explained.words.is_empty() {
        return Ok(());
    }
    let choice = DataValidation::new().allow_list_strings(&explained.words)?;
    sheet.add_data_validation(2, column, 1 + CHOICES, column, &choice)?;
    Ok(())
}

/// survey.toml, dated by the earliest image.
fn survey(images: &[Image]) -> String {
    let day = |moment: &String| moment.get(..10).map(str::to_owned);
    let earliest = images
        .iter()
        .filter_map(|image| image.captured_at.as_ref().and_then(day))
        .min();
    let note = if earliest.is_some() {
        "; proposed: the day of the earliest image"
    } else {
        ""
    };
    let date = earliest.unwrap_or_default();
    SURVEY
        .replace("{date}", &date)
        .replace("{pad}", &" ".repeat(11_usize.saturating_sub(date.len())))
        .replace("{date_note}", note)
}

fn companion(assets: &[Column], frames: &[Column]) -> String {
    let mut text = "# Columns of this survey's sheets\n\n\
        Columns may come in any order, and those that stay blank may be taken away. A unit is the end of a column's name; its\n\
        twin may stand in its place, not beside it. Words are written as shown. A row whose first cell starts with # is a\n\
        remark. Fill in: `title`, `plant` and `date` in survey.toml; one row an asset in assets; in frames the `asset` and the\n\
        conditions of each image (or once for all under `[defaults]` of survey.toml), and the scale, which is only proposed.\n\n"
        .to_owned();
    for (name, columns) in [
        ("assets, one row an insulated asset", assets),
        ("frames, one row an image", frames),
    ] {
        text.push_str(&format!(
            "## {name}\n\n| column | twin | need | meaning | accepted words |\n|---|---|---|---|---|\n"
        ));
        for column in columns {
            let words: Vec<String> = column.words.iter().map(|word| format!("`{word}`")).collect();
            text.push_str(&format!(
                "| `{}` | {} | {} | {} | {} |\n",
                column.name,
                column.twin.as_ref().map_or(String::new(), |twin| format!("`{twin}`")),
                column.need,
                column.meaning,
                words.join(", ")
            ));
        }
        text.push('\n');
    }
    text.push_str("survey.toml explains its own keys, each in a remark.\n");
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_is_neither_formula_nor_remark() {
        for odd in ["=1.tif", "+1.tif", "-1.tif", "@1.tif", "#1.tif"] {
            assert_eq!(safe(odd), format!("./{odd}"));
        }
        assert_eq!(safe("images/a.tif"), "images/a.tif");
    }
}
