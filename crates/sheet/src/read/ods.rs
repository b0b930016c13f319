//! OpenDocument spreadsheets (ODF 1.3 part 3), read as a stream. Repeated rows and columns are counted, not made.

use super::build::{Budget, GridBuilder};
use super::dates::{clock_of_duration, plain_number};
use super::error::{Fault, Problem};
use super::limits::{MAX_CELL_CHARS, MAX_COLS, MAX_ROWS};
use super::package::{Package, part_place};
use super::xml::{Step, Xml};
use crate::grid::{Book, Value};
use quick_xml::events::BytesStart;
use std::collections::BTreeSet;

const PART: &str = "content.xml";

pub(crate) fn read(package: &mut Package<'_>) -> Result<Book, Fault> {
    if package.text("META-INF/manifest.xml")?.is_some_and(|m| m.contains("encryption-data")) {
        return Err(Problem::Encrypted.into());
    }
    let text = package.text(PART)?.ok_or_else(|| {
        Problem::damaged("this part is missing from the archive", "a spreadsheet's content").at(part_place(PART))
    })?;
    Reader { xml: Xml::new(&text, PART), book: Book::default(), hidden_styles: BTreeSet::new(), has_comments: false }
        .read(&mut Budget::default())
}

struct Reader<'a> {
    xml: Xml<'a>,
    book: Book,
    hidden_styles: BTreeSet<String>,
    has_comments: bool,
}

/// A cell of the row being read; `times` columns wide by repetition.
struct RawCell {
    col: u64,
    times: u64,
    value: Value,
    /// False for a date shown without its year or day.
    whole: bool,
    /// Rows and columns of a merged block.
    span: (u64, u64),
    uncalculated: bool,
}

impl Reader<'_> {
    fn read(mut self, budget: &mut Budget) -> Result<Book, Fault> {
        let mut is_spreadsheet = false;
        let mut style = String::new();
        loop {
            match self.xml.next()? {
                Step::Open(open) => match open.name().as_ref() {
                    b"office:spreadsheet" => is_spreadsheet = true,
                    b"style:style" => style = self.xml.attribute(&open, "style:name")?.unwrap_or_default(),
                    b"style:table-properties"
                        if self.xml.attribute(&open, "table:display")?.is_some_and(|d| d == "false") =>
                    {
                        self.hidden_styles.insert(style.clone());
                    }
                    // Deleted content of tracked changes looks like cells but is no longer there.
                    b"table:tracked-changes" => self.xml.skip()?,
                    b"table:table" => self.table(&open, budget)?,
                    _ => {}
                },
                Step::End => break,
                _ => {}
            }
        }
        if !is_spreadsheet {
            let got = "no spreadsheet in the document";
            return Err(Problem::damaged(got, "an OpenDocument spreadsheet").at(part_place(PART)));
        }
        if self.has_comments {
            self.book.notes.push("The workbook has comments on cells; they were not read.".to_owned());
        }
        Ok(self.book)
    }

    fn table(&mut self, open: &BytesStart<'_>, budget: &mut Budget) -> Result<(), Fault> {
        let name = self.xml.attribute(open, "table:name")?.unwrap_or_default();
        if self.xml.attribute(open, "table:style-name")?.is_some_and(|s| self.hidden_styles.contains(&s)) {
            self.book.notes.push(format!("Sheet \"{name}\" is hidden and was not read."));
            return self.xml.skip();
        }
        let mut builder = GridBuilder::new(&name);
        let mut row: u64 = 0;
        loop {
            match self.xml.next()? {
                Step::Open(open) => match open.name().as_ref() {
                    b"table:table-row" => {
                        let times = self.count(&open, "table:number-rows-repeated")?;
                        let hidden = self.xml.attribute(&open, "table:visibility")?.is_some_and(|v| v != "visible");
                        let cells = self.row(&builder, row)?;
                        if hidden && cells.iter().any(|c| !c.value.is_empty()) {
                            builder.note_hidden_row(row);
                        }
                        self.store(&mut builder, row, times, cells, budget)?;
                        row = row.saturating_add(times);
                    }
                    b"table:table-column" => {
                        if self.xml.attribute(&open, "table:visibility")?.is_some_and(|v| v != "visible") {
                            let times = self.count(&open, "table:number-columns-repeated")?;
                            builder.note_hidden_cols(times.min(MAX_COLS as u64));
                        }
                    }
                    b"table:table-header-rows" | b"table:table-rows" | b"table:table-row-group" => {}
                    b"table:table-columns" | b"table:table-header-columns" | b"table:table-column-group" => {}
                    _ => self.xml.skip()?,
                },
                Step::Close(name) if name == b"table:table" => break,
                Step::End => break,
                _ => {}
            }
        }
        self.book.sheets.push(builder.finish(&mut self.book.notes));
        Ok(())
    }

    fn count(&self, open: &BytesStart<'_>, name: &str) -> Result<u64, Fault> {
        Ok(self.xml.attribute(open, name)?.map_or(1, |v| v.trim().parse::<u64>().unwrap_or(u64::MAX)).max(1))
    }

    /// The filled cells of a row, up to its end. Filled cells beyond the last kept column are told to the builder by
    /// `store`, so only their count is carried on.
    fn row(&mut self, builder: &GridBuilder, row: u64) -> Result<Vec<RawCell>, Fault> {
        let mut cells: Vec<RawCell> = Vec::new();
        let mut col: u64 = 0;
        loop {
            match self.xml.next()? {
                Step::Open(open) => match open.name().as_ref() {
                    b"table:table-cell" | b"table:covered-table-cell" => {
                        let cell = self.cell(&open, col).map_err(|fault| Fault {
                            place: format!("{}, {}", builder.place(row, col), fault.place),
                            ..fault
                        })?;
                        col = col.saturating_add(cell.times);
                        let wanted = !cell.value.is_empty() || cell.uncalculated;
                        match cells.last_mut() {
                            // One entry stands for all that lies beyond reach.
                            Some(last) if wanted && last.col >= MAX_COLS as u64 => {
                                last.times = last.times.saturating_add(cell.times);
                            }
                            _ if wanted => cells.push(cell),
                            _ => {}
                        }
                    }
                    b"table:table-cells" | b"table:table-header-cells" => {}
                    _ => self.xml.skip()?,
                },
                Step::Close(name) if name == b"table:table-row" => return Ok(cells),
                Step::End => return Ok(cells),
                _ => {}
            }
        }
    }

    fn store(
        &self,
        builder: &mut GridBuilder,
        row: u64,
        times: u64,
        cells: Vec<RawCell>,
        budget: &mut Budget,
    ) -> Result<(), Fault> {
        let reach = (MAX_ROWS as u64).saturating_sub(row).min(times);
        for cell in cells {
            if cell.uncalculated {
                builder.note_uncalculated(row, cell.col);
                continue;
            }
            for row in row..row + reach {
                match &cell.value {
                    Value::Date(iso) if cell.times == 1 => {
                        builder.put_date(row, cell.col, iso.clone(), cell.whole, budget)?;
                    }
                    value => builder.put_repeated(row, cell.col, cell.times, value.clone(), budget)?,
                }
                if cell.span != (1, 1) {
                    let last = (row.saturating_add(cell.span.0 - 1), cell.col.saturating_add(cell.span.1 - 1));
                    builder.merge((row, cell.col, last.0, last.1));
                }
            }
            let beyond = cell.times.saturating_mul(times - reach);
            builder.put_repeated(
                row.saturating_add(reach).max(MAX_ROWS as u64),
                cell.col,
                beyond,
                cell.value,
                budget,
            )?;
        }
        Ok(())
    }

    /// Reads the cell just opened up to its end.
    fn cell(&mut self, open: &BytesStart<'_>, col: u64) -> Result<RawCell, Fault> {
        let times = self.count(open, "table:number-columns-repeated")?;
        let span = (self.count(open, "table:number-rows-spanned")?, self.count(open, "table:number-columns-spanned")?);
        let covered = open.name().as_ref() == b"table:covered-table-cell";
        let kind = self.xml.attribute(open, "office:value-type")?.unwrap_or_default();
        let is_error = self.xml.attribute(open, "calcext:value-type")?.is_some_and(|t| t == "error");
        let has_formula = self.xml.attribute(open, "table:formula")?.is_some();
        let stored = |name| self.xml.attribute(open, name);
        let number = stored("office:value")?.and_then(|v| v.trim().parse::<f64>().ok()).filter(|v| v.is_finite());
        let date = stored("office:date-value")?;
        let time = stored("office:time-value")?;
        let truth = stored("office:boolean-value")?;
        let plain = stored("office:string-value")?;
        let shown = self.shown_text()?;
        let mut whole = true;
        let value = match (kind.as_str(), number) {
            // The hidden remainder below a merged block.
            _ if covered => Value::Empty,
            _ if is_error => Value::Error(shown),
            ("percentage", Some(number)) => Value::Text(format!("{}%", plain_number(number * 100.0))),
            ("float" | "currency", Some(number)) => {
                // Words beside the number ("80 kg") come from its format and are meant.
                let exponent = shown.contains(['E', 'e']) && shown.replace(',', ".").trim().parse::<f64>().is_ok();
                let words = kind == "float" && shown.chars().any(char::is_alphabetic) && !exponent;
                if words { Value::Text(shown) } else { Value::Number(number) }
            }
            ("date", _) if date.is_some() => {
                let iso = date.unwrap_or_default();
                whole = shows_year_and_day(&shown, &iso);
                Value::Date(iso)
            }
            ("time", _) if time.is_some() => {
                let time = time.unwrap_or_default();
                clock_of_duration(&time).map_or(Value::Text(shown), Value::Date)
            }
            ("boolean", _) => Value::Bool(truth.is_some_and(|t| t == "true")),
            _ => Value::Text(plain.unwrap_or(shown)),
        };
        let uncalculated = has_formula && kind.is_empty() && value.is_empty();
        Ok(RawCell { col, times, value, whole, span, uncalculated })
    }

    /// The paragraphs of a cell, one line each; notes and drawings are passed over.
    fn shown_text(&mut self) -> Result<String, Fault> {
        let mut text = String::new();
        let mut paragraphs = 0;
        let mut inside: u32 = 0;
        // A cell's text is cut further on; here only runaway blanks have to be held.
        let full = |text: &String| text.len() > 4 * MAX_CELL_CHARS;
        loop {
            match self.xml.next()? {
                Step::Open(open) => match open.name().as_ref() {
                    b"text:p" | b"text:h" => {
                        if paragraphs > 0 {
                            text.push('\n');
                        }
                        paragraphs += 1;
                        inside += 1;
                    }
                    b"text:s" => {
                        let blanks = self.count(&open, "text:c")?.min(MAX_CELL_CHARS as u64) as usize;
                        if !full(&text) {
                            text.extend(std::iter::repeat_n(' ', blanks));
                        }
                    }
                    b"text:tab" => text.push('\t'),
                    b"text:line-break" => text.push('\n'),
                    b"text:span" | b"text:a" => {}
                    b"office:annotation" => {
                        self.has_comments = true;
                        self.xml.skip()?;
                    }
                    b"text:ruby-text" => self.xml.skip()?,
                    name if name.starts_with(b"text:") => {}
                    _ => self.xml.skip()?,
                },
                Step::Text(piece) if inside > 0 => text.push_str(&piece),
                Step::Text(_) => {}
                Step::Close(name) => match name.as_slice() {
                    b"text:p" | b"text:h" => inside = inside.saturating_sub(1),
                    b"table:table-cell" | b"table:covered-table-cell" => return Ok(text),
                    _ => {}
                },
                Step::End => return Ok(text),
            }
        }
    }
}

/// Whether a date as shown carries its year and its day. `iso` is the stored date. Some programs store no shown text;
/// then nothing speaks against the date.
fn shows_year_and_day(shown: &str, iso: &str) -> bool {
    if shown.trim().is_empty() {
        return true;
    }
    let mut parts = iso.get(..10).unwrap_or(iso).split('-');
    let (year, _, day) = (parts.next().unwrap_or(""), parts.next(), parts.next().unwrap_or(""));
    let short_year = year.get(year.len().saturating_sub(2)..).unwrap_or(year);
    let mut numbers: Vec<&str> = shown.split(|c: char| !c.is_ascii_digit()).filter(|n| !n.is_empty()).collect();
    let day_at = numbers.iter().position(|n| n.trim_start_matches('0') == day.trim_start_matches('0'));
    match day_at {
        None => false,
        Some(at) => {
            numbers.remove(at);
            numbers.contains(&year) || numbers.contains(&short_year)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::shows_year_and_day;

    #[test]
    fn dates_shown_in_part_are_told_from_whole_ones() {
        for (shown, iso, whole) in [
            ("8. Okt", "2026-10-08", false),
            ("10/08", "2026-10-08", false),
            ("Oct 26", "2026-10-01", false),
            ("08.10.26", "2026-10-08", true),
            ("2026-10-08", "2026-10-08", true),
            ("Thu 8 Oct 2026", "2026-10-08", true),
            ("26.10.", "2026-10-26", false),
            ("", "2026-10-08", true),
        ] {
            assert_eq!(shows_year_and_day(shown, iso), whole, "{shown}");
        }
    }
}
