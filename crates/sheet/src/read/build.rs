//! Puts cells into grids within fixed budgets and remembers what was left out.

use super::error::{Fault, Problem};
use super::limits::{MAX_CELL_CHARS, MAX_CELLS, MAX_COLS, MAX_MERGES, MAX_ROWS, MAX_TEXT_BYTES};
use crate::grid::{Cell, Grid, Value};

/// "C5" for row 4, column 2 (0-based).
pub fn cell_name(row: u64, col: u64) -> String {
    let mut letters = Vec::new();
    let mut n = col.saturating_add(1);
    while n > 0 {
        letters.push(char::from(b'A' + ((n - 1) % 26) as u8));
        n = (n - 1) / 26;
    }
    letters.iter().rev().collect::<String>() + &row.saturating_add(1).to_string()
}

/// What may still be allocated for this book.
pub(crate) struct Budget {
    cells_left: usize,
    text_left: usize,
}

impl Default for Budget {
    fn default() -> Self {
        Budget { cells_left: MAX_CELLS, text_left: MAX_TEXT_BYTES }
    }
}

/// A count with the place where it began.
#[derive(Default)]
struct Tally {
    count: u64,
    first: String,
}

impl Tally {
    fn add(&mut self, count: u64, first: impl FnOnce() -> String) {
        if self.count == 0 && count > 0 {
            self.first = first();
        }
        self.count = self.count.saturating_add(count);
    }
}

/// A merged block: first and last row and column, inclusive, 0-based.
pub(crate) type Block = (u64, u64, u64, u64);

/// One sheet under construction.
pub(crate) struct GridBuilder {
    grid: Grid,
    blocks: Vec<Block>,
    blocks_ignored: u64,
    beyond: Tally,
    cut: Tally,
    unsure_dates: Tally,
    uncalculated: Tally,
    hidden_rows: Tally,
    hidden_cols: u64,
}

impl GridBuilder {
    pub fn new(name: &str) -> Self {
        GridBuilder {
            grid: Grid { name: name.to_owned(), rows: Vec::new() },
            blocks: Vec::new(),
            blocks_ignored: 0,
            beyond: Tally::default(),
            cut: Tally::default(),
            unsure_dates: Tally::default(),
            uncalculated: Tally::default(),
            hidden_rows: Tally::default(),
            hidden_cols: 0,
        }
    }

    pub fn place(&self, row: u64, col: u64) -> String {
        format!("{}, cell {}", self.sheet(), cell_name(row, col))
    }

    pub fn sheet(&self) -> String {
        format!("sheet \"{}\"", self.grid.name)
    }

    /// Stores a value; empty ones cost nothing, those out of reach are only counted.
    pub fn put(&mut self, row: u64, col: u64, value: Value, budget: &mut Budget) -> Result<(), Fault> {
        self.put_repeated(row, col, 1, value, budget)
    }

    /// The same value in `times` neighbouring columns.
    pub fn put_repeated(
        &mut self,
        row: u64,
        col: u64,
        times: u64,
        value: Value,
        budget: &mut Budget,
    ) -> Result<(), Fault> {
        if value.is_empty() || times == 0 {
            return Ok(());
        }
        let reach = if row < MAX_ROWS as u64 { (MAX_COLS as u64).saturating_sub(col).min(times) } else { 0 };
        self.beyond.add(times - reach, || cell_name(row, col.saturating_add(reach)));
        if reach == 0 {
            return Ok(());
        }
        let value = self.shorten(row, col, value);
        let (row, col, end) = (row as usize, col as usize, (col + reach) as usize);
        let text_bytes = match &value {
            Value::Text(t) | Value::Date(t) | Value::Error(t) => t.len(),
            _ => 0,
        };
        let text_needed = text_bytes.saturating_mul(end - col);
        let new_rows = (row + 1).saturating_sub(self.grid.rows.len());
        let row_len = self.grid.rows.get(row).map_or(0, Vec::len);
        let cells_needed = new_rows + end.saturating_sub(row_len);
        if cells_needed > budget.cells_left {
            return Err(Problem::TooManyCells { allowed: MAX_CELLS }.at(self.place(row as u64, col as u64)));
        }
        if text_needed > budget.text_left {
            return Err(Problem::TooMuchText { allowed_bytes: MAX_TEXT_BYTES }.at(self.place(row as u64, col as u64)));
        }
        budget.cells_left -= cells_needed;
        budget.text_left -= text_needed;
        if new_rows > 0 {
            self.grid.rows.resize_with(row + 1, Vec::new);
        }
        let cells = &mut self.grid.rows[row];
        if cells.len() < end {
            cells.resize(end, EMPTY);
        }
        for cell in &mut cells[col..end - 1] {
            cell.value = value.clone();
        }
        cells[end - 1].value = value;
        Ok(())
    }

    /// A date. `whole` says whether the sheet shows year, month and day: a date shown without one of them may be a
    /// rewritten repetition range ("8-10" → 8 Oct).
    pub fn put_date(&mut self, row: u64, col: u64, iso: String, whole: bool, budget: &mut Budget) -> Result<(), Fault> {
        if !whole {
            self.unsure_dates.add(1, || format!("{}, read as {iso}", cell_name(row, col)));
        }
        self.put(row, col, Value::Date(iso), budget)
    }

    pub fn note_uncalculated(&mut self, row: u64, col: u64) {
        self.uncalculated.add(1, || cell_name(row, col));
    }

    pub fn note_hidden_row(&mut self, row: u64) {
        self.hidden_rows.add(1, || (row.saturating_add(1)).to_string());
    }

    pub fn note_hidden_cols(&mut self, count: u64) {
        self.hidden_cols = self.hidden_cols.saturating_add(count);
    }

    pub fn merge(&mut self, block: Block) {
        if self.blocks.len() < MAX_MERGES {
            self.blocks.push(block);
        } else {
            self.blocks_ignored += 1;
        }
    }

    fn shorten(&mut self, row: u64, col: u64, value: Value) -> Value {
        // A character has at least one byte, so short texts need no counting.
        if let Value::Text(text) = &value
            && text.len() > MAX_CELL_CHARS
            && let Some((end, _)) = text.char_indices().nth(MAX_CELL_CHARS)
        {
            self.cut.add(1, || cell_name(row, col));
            return Value::Text(text[..end].to_owned());
        }
        value
    }

    /// Sets the spans and says what the reader should know about this sheet.
    pub fn finish(mut self, notes: &mut Vec<String>) -> Grid {
        self.apply_blocks();
        let sheet = self.sheet();
        let some = |tally: &Tally, noun: &str| format!("{sheet}: {}", counted(tally.count, noun));
        if self.beyond.count > 0 {
            notes.push(format!(
                "{} beyond row {MAX_ROWS} or column {} not read (first: {}).",
                some(&self.beyond, "filled cell"),
                cell_name(0, MAX_COLS as u64 - 1).trim_end_matches('1'),
                self.beyond.first,
            ));
        }
        if self.cut.count > 0 {
            let cells = some(&self.cut, "cell");
            notes.push(format!("{cells} cut off after {MAX_CELL_CHARS} characters (first: {}).", self.cut.first));
        }
        if self.unsure_dates.count > 0 {
            notes.push(format!(
                "{} shown without year or day (first: {}). Spreadsheets make such dates out of typed repetitions \
                 like 8-10.",
                some(&self.unsure_dates, "date"),
                self.unsure_dates.first
            ));
        }
        if self.uncalculated.count > 0 {
            notes.push(format!(
                "{} without a stored result read as empty (first: {}). Open the file in a spreadsheet program and \
                 save it to fill them in.",
                some(&self.uncalculated, "formula"),
                self.uncalculated.first
            ));
        }
        if self.hidden_rows.count > 0 {
            let rows = some(&self.hidden_rows, "hidden row");
            notes.push(format!("{rows} read like the others (first: row {}).", self.hidden_rows.first));
        }
        if self.hidden_cols > 0 {
            notes.push(format!("{sheet}: {} read like the others.", counted(self.hidden_cols, "hidden column")));
        }
        if self.blocks_ignored > 0 {
            let blocks = counted(self.blocks_ignored, "merged block");
            notes.push(format!("{sheet}: {blocks} overlapping others or too many; read as unmerged."));
        }
        self.grid
    }

    fn apply_blocks(&mut self) {
        // Merged blocks never overlap in a sound sheet, so together they cannot cover more than the sheet. Holding
        // to that keeps anyone who walks over the spans from being sent in circles.
        let mut area_left = (MAX_ROWS * MAX_COLS) as u64;
        for &(row, col, last_row, last_col) in &self.blocks {
            if row >= MAX_ROWS as u64 || col >= MAX_COLS as u64 || last_row < row || last_col < col {
                continue;
            }
            let span = (last_row.min(MAX_ROWS as u64 - 1) - row + 1, last_col.min(MAX_COLS as u64 - 1) - col + 1);
            if span.0 * span.1 > area_left {
                self.blocks_ignored += 1;
                continue;
            }
            area_left -= span.0 * span.1;
            if let Some(cell) = self.grid.rows.get_mut(row as usize).and_then(|r| r.get_mut(col as usize)) {
                cell.span = (span.0 as u32, span.1 as u32);
            }
        }
    }
}

/// "1 cell", "3 cells".
fn counted(count: u64, noun: &str) -> String {
    format!("{count} {noun}{}", if count == 1 { "" } else { "s" })
}

const EMPTY: Cell = Cell { value: Value::Empty, span: (1, 1) };

#[cfg(test)]
mod tests {
    use super::cell_name;

    #[test]
    fn cell_names_follow_spreadsheet_letters() {
        for (row, col, name) in [
            (0, 0, "A1"),
            (4, 2, "C5"),
            (9, 25, "Z10"),
            (0, 26, "AA1"),
            (0, 701, "ZZ1"),
            (1_048_575, 16_383, "XFD1048576"),
        ] {
            assert_eq!(cell_name(row, col), name);
        }
    }
}
