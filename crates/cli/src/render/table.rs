//! Tables that fit: text columns wrap, number columns never; where even that is too wide, rows become small blocks.

use super::text::{WIDTH, columns, wrap};

/// Side on which a column is flush.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flush {
    Left,
    Right,
}

/// A column.
#[derive(Clone, Debug)]
pub struct Column {
    pub title: String,
    pub flush: Flush,
    /// May be wrapped to a smaller width.
    pub wraps: bool,
}

/// A text column.
pub fn words(title: &str) -> Column {
    Column { title: title.into(), flush: Flush::Left, wraps: true }
}

/// A column whose cells are never broken.
pub fn whole(title: &str) -> Column {
    Column { title: title.into(), flush: Flush::Left, wraps: false }
}

/// A column of numbers, flush right and never broken.
pub fn numbers(title: &str) -> Column {
    Column { title: title.into(), flush: Flush::Right, wraps: false }
}

/// A row, with remarks written beneath it over the whole width.
#[derive(Clone, Debug, Default)]
pub struct Row {
    pub cells: Vec<String>,
    pub below: Vec<String>,
}

impl Row {
    pub fn new(cells: Vec<String>) -> Row {
        Row { cells, below: Vec::new() }
    }
}

/// Columns between two cells.
const GAP: usize = 2;
/// A wrapping column is not made narrower than this.
const NARROWEST: usize = 12;
/// Indent of remarks.
const INDENT: &str = "     ";

/// Lines of a table, titles first.
pub fn table(cols: &[Column], rows: &[Row]) -> Vec<String> {
    match widths(cols, rows) {
        Some(w) => {
            let titles = cols.iter().map(|c| c.title.clone()).collect();
            let mut lines = row_lines(cols, &w, &Row::new(titles));
            lines.extend(rows.iter().flat_map(|r| row_lines(cols, &w, r)));
            lines
        }
        None => rows.iter().flat_map(|r| block_lines(cols, r)).collect(),
    }
}

/// As [`table`], with a line of words before row `at`; the columns stay those of the whole.
pub fn parted(cols: &[Column], rows: &[Row], at: usize, words: &str) -> Vec<String> {
    let at = at.min(rows.len());
    match widths(cols, rows) {
        Some(w) => {
            let titles = cols.iter().map(|c| c.title.clone()).collect();
            let part = |rows: &[Row]| rows.iter().flat_map(|r| row_lines(cols, &w, r)).collect::<Vec<String>>();
            let mut lines = row_lines(cols, &w, &Row::new(titles));
            lines.extend(part(&rows[..at]));
            lines.push(words.to_string());
            lines.extend(part(&rows[at..]));
            lines
        }
        None => {
            let part = |rows: &[Row]| rows.iter().flat_map(|r| block_lines(cols, r)).collect::<Vec<String>>();
            [part(&rows[..at]), vec![words.to_string()], part(&rows[at..])].concat()
        }
    }
}

/// Width of each column, or `None` when the table cannot fit.
fn widths(cols: &[Column], rows: &[Row]) -> Option<Vec<usize>> {
    let cell = |r: &Row, i: usize| r.cells.get(i).map_or(0, |c| columns(c));
    let mut w: Vec<usize> = (0..cols.len())
        .map(|i| rows.iter().map(|r| cell(r, i)).max().unwrap_or(0).max(columns(&cols[i].title)))
        .collect();
    let gaps = GAP * cols.len().saturating_sub(1);
    loop {
        let total: usize = w.iter().sum::<usize>() + gaps;
        if total <= WIDTH {
            return Some(w);
        }
        // The widest wrapping column gives way first.
        let widest = (0..w.len()).filter(|&i| cols[i].wraps && w[i] > NARROWEST).max_by_key(|&i| (w[i], i))?;
        w[widest] -= 1;
    }
}

fn row_lines(cols: &[Column], w: &[usize], row: &Row) -> Vec<String> {
    let cells: Vec<Vec<String>> =
        (0..cols.len()).map(|i| wrap(row.cells.get(i).map_or("", String::as_str), w[i], "", "")).collect();
    let height = cells.iter().map(Vec::len).max().unwrap_or(0);
    let mut lines: Vec<String> = (0..height)
        .map(|k| {
            let mut line = String::new();
            for (i, col) in cols.iter().enumerate() {
                let text = cells[i].get(k).map_or("", String::as_str);
                let pad = " ".repeat(w[i].saturating_sub(columns(text)));
                line.push_str(&if col.flush == Flush::Right { format!("{pad}{text}") } else { format!("{text}{pad}") });
                line.push_str(&" ".repeat(GAP));
            }
            line.trim_end().to_string()
        })
        .collect();
    lines.extend(row.below.iter().flat_map(|b| wrap(b, WIDTH, INDENT, INDENT)));
    lines
}

/// "title: value" lines under the first cell.
fn block_lines(cols: &[Column], row: &Row) -> Vec<String> {
    let mut lines = Vec::new();
    for (i, cell) in row.cells.iter().enumerate().filter(|(_, c)| !c.is_empty()) {
        let title = cols.get(i).map_or("", |c| c.title.as_str());
        let text = if i == 0 || title.is_empty() { cell.clone() } else { format!("{title}: {cell}") };
        lines.extend(wrap(&text, WIDTH, if i == 0 { "" } else { "  " }, "    "));
    }
    lines.extend(row.below.iter().flat_map(|b| wrap(b, WIDTH, "  ", "    ")));
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_columns_wrap_and_numbers_stay_whole() {
        let cols = [words("Head"), numbers("Stimulus"), words("Reason")];
        let row = Row {
            cells: vec![
                "gluteus maximus, uppermost part of all its parts".into(),
                "0.52\u{a0}(0.41–0.63)".into(),
                "the hip bends far under load while the knee stays still".into(),
            ],
            below: vec!["−12 mm".into()],
        };
        insta::assert_snapshot!(table(&cols, &[row]).join("\n"), @r"
        Head                                    Stimulus  Reason
        gluteus maximus, uppermost      0.52 (0.41–0.63)  the hip bends far under load
        part of all its parts                             while the knee stays still
             −12 mm
        ");
    }

    #[test]
    fn a_table_that_cannot_fit_becomes_blocks() {
        let cols: Vec<Column> = (0..8).map(|i| numbers(&format!("Movement {i}"))).collect();
        let row = Row::new((0..8).map(|i| format!("{i}.11 (0.05–0.20)")).collect());
        let lines = table(&cols, &[row]);
        assert_eq!(lines.len(), 8);
        assert!(lines.iter().all(|l| columns(l) <= WIDTH));
        assert!(lines[3].contains("Movement 3: 3.11 (0.05–0.20)"));
    }
}
