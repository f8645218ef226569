//! `followup-list.xlsx`: the follow-up list as a sheet to sort, filter, print and fill in.

use rust_xlsxwriter::{
    Color, DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder, Image, Workbook, Worksheet, XlsxError,
};

use super::book::{Book, ZoneView};
use super::followup::signed;
use crate::units::Units;

/// Rows above the list: title, cautions, heading. All three are repeated on every printed page.
const TITLE: u32 = 0;
const CAUTIONS: u32 = 1;
const HEADING: u32 = 2;
/// Height of a zone's row in points, and width of its picture's column in characters.
const ROW_POINTS: f64 = 88.0;
const PICTURE: u16 = 15;
/// Characters from which a text is set small, so that it stays within its row.
const LONG: usize = 60;
/// Characters of a cell; the format allows 32767.
const LONGEST_CELL: usize = 32_000;

/// The list as a workbook.
///
/// # Errors
/// What the writer refuses: nothing that a survey can hold is known to it.
pub fn xlsx(book: &Book) -> Result<Vec<u8>, XlsxError> {
    let mut workbook = Workbook::new();
    workbook.set_properties(&properties(book)?);
    let sheet = workbook.add_worksheet();
    sheet.set_name("Follow-up")?;
    let columns = columns(book.units);
    set_up(sheet, book, &columns)?;
    let zones: Vec<&ZoneView> = book.listed().collect();
    for (index, zone) in zones.iter().enumerate() {
        let row = HEADING + 1 + u32::try_from(index).unwrap_or(u32::MAX - HEADING - 1);
        write_row(sheet, book, (row, zone), &columns)?;
    }
    let last_row = HEADING + u32::try_from(zones.len()).unwrap_or(0).max(1);
    let last_column = u16::try_from(columns.len()).unwrap_or(1) - 1;
    sheet.autofilter(HEADING, 0, last_row, last_column)?;
    sheet.set_print_area(TITLE, 0, last_row, last_column)?;
    if zones.is_empty() {
        let words = book.summary.empty.unwrap_or("No zone is on the list.");
        sheet.write_string_with_format(HEADING + 1, 0, words, &Format::new())?;
    }
    workbook.save_to_buffer()
}

/// Title and date of the document; the date is the survey's, so that the same survey gives the same bytes.
fn properties(book: &Book) -> Result<DocProperties, XlsxError> {
    let number = |range: std::ops::Range<usize>| book.date.get(range).and_then(|digits| digits.parse::<u16>().ok());
    let (year, month, day) = (
        number(0..4).unwrap_or(2000).clamp(1900, 9999),
        number(5..7).unwrap_or(1),
        number(8..10).unwrap_or(1),
    );
    let small = |value: u16| u8::try_from(value).unwrap_or(1);
    let date = ExcelDateTime::from_ymd(year, small(month), small(day))?;
    Ok(DocProperties::new()
        .set_title(limited(&format!("Follow-up list: {}", book.title)))
        .set_author(limited(book.inspector.as_deref().unwrap_or("")))
        .set_company("")
        .set_comment(&book.made_by)
        .set_creation_datetime(&date))
}

/// A document property holds 255 characters.
fn limited(text: &str) -> String {
    text.chars().take(250).collect()
}

/// What a column holds.
enum Cell {
    Text(fn(&ZoneView) -> String),
    Number(fn(&ZoneView) -> Option<f64>, &'static str),
    Picture,
    Blank,
}

struct Column {
    heading: String,
    width: f64,
    cell: Cell,
}

fn columns(units: Units) -> Vec<Column> {
    let (_, length) = units.length_parts(1.0);
    let (_, area) = units.area_parts(1.0);
    let (_, difference) = units.difference_parts(1.0);
    let column = |heading: &str, width: f64, cell: Cell| Column {
        heading: heading.to_owned(),
        width,
        cell,
    };
    let text = |heading: &str, width: f64, of: fn(&ZoneView) -> String| column(heading, width, Cell::Text(of));
    let number = |heading: String, width: f64, format, of: fn(&ZoneView) -> Option<f64>| Column {
        heading,
        width,
        cell: Cell::Number(of, format),
    };
    vec![
        number("Rank".to_owned(), 6.0, "0", |z| z.rank.map(|rank| rank as f64)),
        text("Zone", 13.0, |z| z.id.clone()),
        text("Asset", 11.0, |z| z.asset.clone()),
        number(format!("From datum, {length}"), 8.5, "0.00", |z| Some(z.along)),
        text("Clock or bearing", 11.0, |z| z.round.clone()),
        number(format!("Height, {length}"), 8.0, "0.00", |z| z.height),
        text("Size, along × round", 10.5, |z| z.size.clone()),
        number(format!("Area, {area}"), 7.0, "0.00", |z| Some(z.area)),
        number(format!("Contrast, {difference}"), 9.0, "0.0", |z| Some(z.contrast)),
        number("Conducts times dry".to_owned(), 9.5, "0.0", |z| Some(z.ratio)),
        text("95 % interval", 10.0, |z| {
            format!("{:.1} to {:.1}", z.ratio_low, z.ratio_high)
        }),
        text("Least moisture", 10.0, |z| z.moisture.clone()),
        text("Likely cause", 12.0, |z| z.cause.clone()),
        text("Action", 10.5, |z| z.action.clone()),
        number("Priority, 0 to 100".to_owned(), 8.5, "0", |z| {
            z.rank.map(|_| z.priority)
        }),
        text("Why that priority", 27.0, |z| z.parts_words.clone()),
        text("Inspector", 13.0, signed),
        column("Picture", f64::from(PICTURE), Cell::Picture),
        column("Who", 10.0, Cell::Blank),
        column("Due", 9.0, Cell::Blank),
        column("Done", 9.0, Cell::Blank),
        column("Found", 20.0, Cell::Blank),
    ]
}

fn bordered() -> Format {
    Format::new()
        .set_border(FormatBorder::Thin)
        .set_align(FormatAlign::VerticalCenter)
        .set_font_size(13)
}

/// Heading, cautions, what is frozen and how it prints.
fn set_up(sheet: &mut Worksheet, book: &Book, columns: &[Column]) -> Result<(), XlsxError> {
    let last = u16::try_from(columns.len()).unwrap_or(1) - 1;
    let title = Format::new().set_bold().set_font_size(15);
    let words = format!("Follow-up list · {} · {} · {}", book.title, book.plant, book.date);
    sheet.merge_range(TITLE, 0, TITLE, last, &words, &title)?;
    sheet.set_row_height(TITLE, 24)?;
    let caution = Format::new()
        .set_text_wrap()
        .set_align(FormatAlign::Top)
        .set_font_size(12)
        .set_bold();
    sheet.merge_range(CAUTIONS, 0, CAUTIONS, last, &book.cautions.join(" "), &caution)?;
    sheet.set_row_height(CAUTIONS, 48)?;
    let heading = bordered()
        .set_bold()
        .set_text_wrap()
        .set_background_color(Color::RGB(0xE6_E6_E6));
    for (index, column) in columns.iter().enumerate() {
        let index = u16::try_from(index).unwrap_or(0);
        sheet.write_string_with_format(HEADING, index, &column.heading, &heading)?;
        sheet.set_column_width(index, column.width)?;
    }
    sheet.set_row_height(HEADING, 48)?;
    // Rank and zone stay in view when one scrolls to the right.
    sheet.set_freeze_panes(HEADING + 1, 2)?;
    sheet.set_repeat_rows(TITLE, HEADING)?;
    sheet.set_landscape();
    // Paper: 9 is A4, 1 is US letter (the numbers of the file format).
    sheet.set_paper_size(match book.units {
        Units::Si => 9,
        Units::Us => 1,
    });
    sheet.set_print_fit_to_pages(1, 0);
    sheet.set_margins(0.3, 0.3, 0.4, 0.5, 0.2, 0.2);
    sheet.set_footer("&L&8Thermography screens, it does not prove. Open only under permit.&C&8&A&R&8Page &P of &N");
    Ok(())
}

fn write_row(
    sheet: &mut Worksheet,
    book: &Book,
    (row, zone): (u32, &ZoneView),
    columns: &[Column],
) -> Result<(), XlsxError> {
    sheet.set_row_height(row, ROW_POINTS)?;
    // Off the line to its left, where a number may end.
    let plain = bordered().set_text_wrap().set_indent(1);
    // The longest text of a row, and the one least read on the job.
    let small = bordered().set_text_wrap().set_font_size(10);
    for (index, column) in columns.iter().enumerate() {
        let index = u16::try_from(index).unwrap_or(0);
        match &column.cell {
            Cell::Text(of) => {
                let text: String = of(zone).chars().take(LONGEST_CELL).collect();
                let format = if text.chars().count() > LONG { &small } else { &plain };
                sheet.write_string_with_format(row, index, text, format)?;
            }
            Cell::Number(of, format) => match of(zone) {
                Some(value) => {
                    let format = bordered().set_num_format(*format);
                    sheet.write_number_with_format(row, index, value, &format)?;
                }
                None => {
                    sheet.write_blank(row, index, &plain)?;
                }
            },
            Cell::Blank => {
                sheet.write_blank(row, index, &plain)?;
            }
            Cell::Picture => {
                sheet.write_blank(row, index, &plain)?;
                picture(sheet, book, (row, index), zone)?;
            }
        }
    }
    Ok(())
}

fn picture(sheet: &mut Worksheet, book: &Book, (row, column): (u32, u16), zone: &ZoneView) -> Result<(), XlsxError> {
    let bytes = zone.thumbnail.as_ref().and_then(|name| book.pictures.get(name));
    let Some(bytes) = bytes else { return Ok(()) };
    let words = format!("{}: cut-out of the thermal image, zone outlined", zone.id);
    let image = Image::new_from_buffer(bytes)?
        .set_alt_text(limited(&words))
        .set_object_movement(rust_xlsxwriter::ObjectMovement::MoveAndSizeWithCells);
    sheet.insert_image_fit_to_cell(row, column, &image, true)?;
    Ok(())
}
