//! Workbooks out: typed cells on warm paper, safe to send on. The same content gives the same bytes.

use crate::grid::Grid;
use crate::read::cell_name;
use answer::Class;
use rust_xlsxwriter::{
    Color, DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder, Workbook, Worksheet, XlsxError,
};
use std::collections::BTreeSet;
use thiserror::Error;

/// Limits of the file format (ECMA-376 as spreadsheet programs apply it).
const MAX_ROWS: usize = 1_048_576;
const MAX_COLS: usize = 16_384;
const MAX_CELL_CHARS: usize = 32_767;
const MAX_NAME_CHARS: usize = 31;

const PAPER: Color = Color::RGB(0xFBFAF6);
const SAND: Color = Color::RGB(0xECE2C8);
const GRID: Color = Color::RGB(0xE3DFD5);
const INK: Color = Color::RGB(0x1D2733);
const GREY: Color = Color::RGB(0x5F6670);
const BRICK: Color = Color::RGB(0xAD2C1F);

/// A workbook to be written.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct WorkbookOut {
    pub title: String,
    pub sheets: Vec<SheetOut>,
}

/// One sheet, rows from the top. Rows may differ in length.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SheetOut {
    /// Characters that sheet names may not have are replaced, long names cut, doubled ones numbered.
    pub name: String,
    /// Column widths in characters, from column A; further columns keep the usual width.
    pub widths_chars: Vec<f64>,
    /// Rows and columns that stay in view and are repeated on every printed page.
    pub frozen_rows: u32,
    pub frozen_cols: u16,
    pub rows: Vec<Vec<CellOut>>,
}

/// What a cell holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Content {
    Empty,
    /// Always text, never a formula or link, whatever it begins with.
    Text(String),
    /// A finite number, shown with so many decimals.
    Number {
        value: f64,
        decimals: u8,
    },
    /// 0.75 is shown as 75%.
    Share {
        value: f64,
        decimals: u8,
    },
    /// Word and four small squares.
    Class(Class),
}

/// The part a cell plays on its sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Look {
    #[default]
    Plain,
    /// The finding, large, on a line of its own; runs on over empty neighbours.
    Title,
    /// Column heads, on sand.
    Header,
    /// A row that sums up those below it.
    Group,
    /// Reasons, sources, assumptions.
    Quiet,
    /// A caution or stop sign.
    Caution,
}

#[derive(Clone, Debug, PartialEq)]
pub struct CellOut {
    pub content: Content,
    pub look: Look,
}

impl CellOut {
    pub fn text(text: impl Into<String>) -> Self {
        CellOut { content: Content::Text(text.into()), look: Look::Plain }
    }

    pub fn number(value: f64, decimals: u8) -> Self {
        CellOut { content: Content::Number { value, decimals }, look: Look::Plain }
    }

    pub fn share(value: f64, decimals: u8) -> Self {
        CellOut { content: Content::Share { value, decimals }, look: Look::Plain }
    }

    pub fn class(class: Class) -> Self {
        CellOut { content: Content::Class(class), look: Look::Plain }
    }

    pub fn empty() -> Self {
        CellOut { content: Content::Empty, look: Look::Plain }
    }

    pub fn looking(self, look: Look) -> Self {
        CellOut { look, ..self }
    }
}

/// A workbook could not be written.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum WriteError {
    #[error("a workbook needs at least one sheet; got none")]
    NoSheets,
    #[error("sheet \"{sheet}\" has {got} {what}; a workbook holds at most {allowed}")]
    TooLarge { sheet: String, what: &'static str, got: usize, allowed: usize },
    #[error("sheet \"{sheet}\", cell {cell}: {got} is not a number that a workbook can hold")]
    NotFinite { sheet: String, cell: String, got: f64 },
    #[error("sheet \"{sheet}\", cell {cell}: the text has {got} characters; a cell holds at most {allowed}")]
    TextTooLong { sheet: String, cell: String, got: usize, allowed: usize },
    #[error("the workbook could not be put together: {0}")]
    Assembly(String),
}

impl From<XlsxError> for WriteError {
    fn from(error: XlsxError) -> Self {
        WriteError::Assembly(error.to_string())
    }
}

/// The bytes of an .xlsx file.
///
/// # Errors
/// [`WriteError`] when something does not fit into a workbook; nothing is shortened silently except sheet names.
pub fn write_book(book: &WorkbookOut) -> Result<Vec<u8>, WriteError> {
    if book.sheets.is_empty() {
        return Err(WriteError::NoSheets);
    }
    let mut workbook = Workbook::new();
    // A fixed date: equal content must give equal bytes.
    let properties =
        DocProperties::new().set_title(&book.title).set_creation_datetime(&ExcelDateTime::from_ymd(2026, 1, 1)?);
    workbook.set_properties(&properties);
    let mut names = BTreeSet::new();
    for sheet in &book.sheets {
        let name = sheet_name(&sheet.name, &mut names);
        write_sheet(workbook.add_worksheet(), &name, sheet)?;
    }
    Ok(workbook.save_to_buffer()?)
}

fn write_sheet(worksheet: &mut Worksheet, name: &str, sheet: &SheetOut) -> Result<(), WriteError> {
    let cols = sheet.rows.iter().map(Vec::len).max().unwrap_or(0).max(sheet.widths_chars.len());
    for (what, got, allowed) in [("rows", sheet.rows.len(), MAX_ROWS), ("columns", cols, MAX_COLS)] {
        if got > allowed {
            return Err(WriteError::TooLarge { sheet: name.to_owned(), what, got, allowed });
        }
    }
    worksheet.set_name(name)?;
    worksheet.set_screen_gridlines(false);
    worksheet.set_column_range_format(0, MAX_COLS as u16 - 1, &Format::new().set_background_color(PAPER))?;
    for (col, &width) in sheet.widths_chars.iter().enumerate() {
        worksheet.set_column_width(col as u16, if width.is_finite() { width.clamp(1.0, 255.0) } else { 10.0 })?;
    }
    worksheet.set_freeze_panes(sheet.frozen_rows, sheet.frozen_cols)?;
    if sheet.frozen_rows > 0 {
        worksheet.set_repeat_rows(0, sheet.frozen_rows - 1)?;
    }
    worksheet.set_landscape().set_print_fit_to_pages(1, 0);
    for (row, cells) in sheet.rows.iter().enumerate() {
        for (col, cell) in cells.iter().enumerate() {
            write_cell(worksheet, name, row, col, cell)?;
        }
    }
    Ok(())
}

fn write_cell(
    worksheet: &mut Worksheet,
    sheet: &str,
    row: usize,
    col: usize,
    cell: &CellOut,
) -> Result<(), WriteError> {
    let format = format_of(cell.look);
    let (at_row, at_col) = (row as u32, col as u16);
    let place = || (sheet.to_owned(), cell_name(row as u64, col as u64));
    let mut number = |value: f64, code: String, format: Format| {
        if !value.is_finite() {
            let (sheet, cell) = place();
            return Err(WriteError::NotFinite { sheet, cell, got: value });
        }
        let format = format.set_num_format(code).set_align(FormatAlign::Right);
        worksheet.write_number_with_format(at_row, at_col, value, &format)?;
        Ok(())
    };
    match &cell.content {
        Content::Empty => {
            worksheet.write_blank(at_row, at_col, &format)?;
        }
        Content::Text(text) => {
            let got = text.chars().count();
            if got > MAX_CELL_CHARS {
                let (sheet, cell) = place();
                return Err(WriteError::TextTooLong { sheet, cell, got, allowed: MAX_CELL_CHARS });
            }
            // Typed as text, such a cell is harmless; the prefix keeps it so when someone edits it.
            let format = if begins_like_formula(text) { format.set_quote_prefix() } else { format };
            worksheet.write_string_with_format(at_row, at_col, text, &format)?;
        }
        Content::Number { value, decimals } => number(*value, decimals_code(*decimals), format)?,
        Content::Share { value, decimals } => number(*value, decimals_code(*decimals) + "%", format)?,
        Content::Class(class) => {
            let filled = match class {
                Class::Little => 1,
                Class::Some => 2,
                Class::Strong => 3,
                Class::Prime => 4,
            };
            let text = format!("{}{} {}", "■".repeat(filled), "□".repeat(4 - filled), class.word());
            worksheet.write_string_with_format(at_row, at_col, text, &format)?;
        }
    }
    Ok(())
}

fn decimals_code(decimals: u8) -> String {
    match decimals {
        0 => "0".to_owned(),
        n => format!("0.{}", "0".repeat(usize::from(n.min(15)))),
    }
}

/// Texts that spreadsheet programs would run as a formula if they were typed in.
fn begins_like_formula(text: &str) -> bool {
    text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n'])
}

fn format_of(look: Look) -> Format {
    let base = Format::new()
        .set_background_color(PAPER)
        .set_font_color(INK)
        .set_align(FormatAlign::Top)
        .set_border_bottom(FormatBorder::Thin)
        .set_border_bottom_color(GRID);
    match look {
        Look::Plain => base.set_text_wrap(),
        Look::Title => Format::new().set_background_color(PAPER).set_font_color(INK).set_bold().set_font_size(14),
        Look::Header => base.set_background_color(SAND).set_bold().set_text_wrap(),
        Look::Group => base.set_bold().set_text_wrap(),
        Look::Quiet => base.set_font_color(GREY).set_text_wrap(),
        Look::Caution => base.set_font_color(BRICK).set_bold().set_text_wrap(),
    }
}

/// A name that spreadsheet programs accept: at most 31 characters, none of `[]:*?/\`, no apostrophe at its ends, and
/// no second time (they compare without case).
fn sheet_name(wanted: &str, taken: &mut BTreeSet<String>) -> String {
    let clean: String =
        wanted.chars().map(|c| if "[]:*?/\\".contains(c) || c.is_control() { '-' } else { c }).collect();
    let clean = clean.trim().trim_matches('\'');
    let clean = if clean.is_empty() { "Sheet" } else { clean };
    // Names are counted in UTF-16 units.
    let cut = |name: &str, units: usize| {
        let mut left = units;
        let fits = |c: &char| left.checked_sub(c.len_utf16()).inspect(|&rest| left = rest).is_some();
        name.chars().take_while(fits).collect::<String>().trim_end_matches('\'').to_owned()
    };
    let mut name = cut(clean, MAX_NAME_CHARS);
    let mut number = 2;
    // "History" is reserved by the most used program.
    while name.eq_ignore_ascii_case("history") || !taken.insert(name.to_lowercase()) {
        let tail = format!(" ({number})");
        name = cut(clean, MAX_NAME_CHARS - tail.len()) + &tail;
        number += 1;
    }
    name
}

/// A sheet with the texts and numbers of a grid, for writing a plan as it was read.
impl From<&Grid> for SheetOut {
    fn from(grid: &Grid) -> Self {
        use crate::grid::Value;
        let cell = |value: &Value| match value {
            Value::Empty => CellOut::empty(),
            Value::Text(t) | Value::Date(t) | Value::Error(t) => CellOut::text(t),
            Value::Number(n) => {
                let decimals = (0..6).find(|&d| (n * 10_f64.powi(d)).fract().abs() < 1e-9).unwrap_or(6);
                CellOut::number(*n, decimals as u8)
            }
            Value::Bool(b) => CellOut::text(if *b { "yes" } else { "no" }),
        };
        let rows = grid.rows.iter().map(|row| row.iter().map(|c| cell(&c.value)).collect()).collect();
        SheetOut { name: grid.name.clone(), rows, ..SheetOut::default() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sheet_names_are_made_acceptable() {
        let mut taken = BTreeSet::new();
        for (wanted, name) in [
            ("Plan as read", "Plan as read"),
            ("plan as READ", "plan as READ (2)"),
            ("Week 1/2 [new]", "Week 1-2 -new-"),
            ("", "Sheet"),
            ("'quoted'", "quoted"),
            ("History", "History (2)"),
            ("A name that is much longer than thirty-one", "A name that is much longer than"),
            ("A name that is much longer than allowed", "A name that is much longer  (2)"),
        ] {
            assert_eq!(sheet_name(wanted, &mut taken), name);
        }
    }
}
