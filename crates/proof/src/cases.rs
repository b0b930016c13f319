//! Case tables: CSV with named columns, errors with file, line and column.
//!
//! Every table has `id`, `source` and `how`; it may have `part` (for shares), `fitted` (`yes`: the program's tables
//! were fitted to this very row), `note`, and `left_out`: the stated rule by which a row is not compared. Rows that are
//! left out are counted and told.

use crate::posture::{Axis, Stance, stances};
use answer::ProofRow;
use std::collections::BTreeMap;

/// Something wrong with a case table.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{file}:{line}: {text}")]
pub struct CaseError {
    pub file: String,
    /// 1 is the line of the column names; 0 the whole file.
    pub line: usize,
    pub text: String,
}

/// A parsed case table.
#[derive(Clone, Debug)]
pub struct Table {
    pub file: String,
    columns: BTreeMap<String, usize>,
    rows: Vec<(usize, csv::StringRecord)>,
}

/// One row with its place.
#[derive(Clone, Copy)]
pub struct Row<'a> {
    table: &'a Table,
    pub line: usize,
    record: &'a csv::StringRecord,
}

impl Table {
    /// # Errors
    /// Text that is not CSV, with its line.
    pub fn parse(file: &str, text: &str) -> Result<Table, CaseError> {
        let error = |line: usize, text: String| CaseError { file: file.into(), line, text };
        let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
        let columns: BTreeMap<String, usize> = reader
            .headers()
            .map_err(|e| error(1, e.to_string()))?
            .iter()
            .enumerate()
            .map(|(i, n)| (n.trim().to_string(), i))
            .collect();
        let mut rows = Vec::new();
        for record in reader.records() {
            let record = record.map_err(|e| error(e.position().map_or(0, |p| p.line() as usize), e.to_string()))?;
            let line = record.position().map_or(0, |p| p.line() as usize);
            rows.push((line, record));
        }
        Ok(Table { file: file.into(), columns, rows })
    }

    pub fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|(line, record)| Row { table: self, line: *line, record })
    }

    /// Rows to be compared: all but those with a reason under `left_out`.
    pub fn cases(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows().filter(|r| r.left_out().is_empty())
    }

    /// How many rows each rule leaves out.
    pub fn left_out(&self) -> BTreeMap<String, usize> {
        let mut out = BTreeMap::new();
        for r in self.rows().filter(|r| !r.left_out().is_empty()) {
            *out.entry(r.left_out().to_string()).or_default() += 1;
        }
        out
    }

    pub fn has(&self, column: &str) -> bool {
        self.columns.contains_key(column)
    }
}

impl<'a> Row<'a> {
    pub fn error(&self, text: impl Into<String>) -> CaseError {
        CaseError { file: self.table.file.clone(), line: self.line, text: text.into() }
    }

    pub fn has(&self, column: &str) -> bool {
        self.table.has(column)
    }

    /// Text of a column.
    ///
    /// # Errors
    /// The table has no such column.
    pub fn text(&self, column: &str) -> Result<&'a str, CaseError> {
        let i =
            self.table.columns.get(column).ok_or_else(|| self.error(format!("the column `{column}` is missing")))?;
        Ok(self.record.get(*i).unwrap_or("").trim())
    }

    /// A text that must not be empty.
    ///
    /// # Errors
    /// The table has no such column, or the cell is empty.
    pub fn filled(&self, column: &str) -> Result<String, CaseError> {
        match self.text(column)? {
            "" => Err(self.wrong(column, "the cell is empty, expected a text")),
            text => Ok(text.to_string()),
        }
    }

    /// A number, `None` when the cell is empty or the table has no such column.
    ///
    /// # Errors
    /// Something else than a number.
    pub fn maybe(&self, column: &str) -> Result<Option<f64>, CaseError> {
        if !self.table.has(column) {
            return Ok(None);
        }
        let t = self.text(column)?;
        if t.is_empty() {
            return Ok(None);
        }
        match t.parse::<f64>() {
            Ok(v) if v.is_finite() => Ok(Some(v)),
            _ => Err(self.error(format!("`{column}` is \"{t}\", expected a number"))),
        }
    }

    /// A number.
    ///
    /// # Errors
    /// An empty cell or something else than a number.
    pub fn number(&self, column: &str) -> Result<f64, CaseError> {
        self.maybe(column)?.ok_or_else(|| self.error(format!("`{column}` is empty, expected a number")))
    }

    /// Text of a column that a table need not have.
    pub fn optional(&self, column: &str) -> &'a str {
        if self.table.has(column) { self.text(column).unwrap_or("") } else { "" }
    }

    /// Why the row is not compared; empty for the others.
    pub fn left_out(&self) -> &'a str {
        self.optional("left_out")
    }

    /// `yes` or `no`; an empty cell or a missing column is no.
    ///
    /// # Errors
    /// Another word.
    pub fn yes(&self, column: &str) -> Result<bool, CaseError> {
        match self.optional(column) {
            "yes" => Ok(true),
            "no" | "" => Ok(false),
            other => Err(self.wrong(column, format!("\"{other}\", expected yes or no"))),
        }
    }

    /// An error about one column.
    pub fn wrong(&self, column: &str, text: impl std::fmt::Display) -> CaseError {
        self.error(format!("`{column}`: {text}"))
    }

    /// Postures, see [`crate::posture`].
    ///
    /// # Errors
    /// What cannot be read.
    pub fn stances(&self, column: &str) -> Result<Vec<Stance>, CaseError> {
        stances(self.text(column)?).map_err(|e| self.wrong(column, e))
    }

    /// A joint axis by its dotted name.
    ///
    /// # Errors
    /// An unknown name.
    pub fn axis(&self, column: &str) -> Result<Axis, CaseError> {
        Axis::parse(self.text(column)?).map_err(|e| self.wrong(column, e))
    }

    /// The comparison so far: what every table says of a row. `group` is the name of the group.
    ///
    /// # Errors
    /// A missing id or source.
    pub fn comparison(&self, group: &str) -> Result<ProofRow, CaseError> {
        let filled = |column: &str| match self.text(column)? {
            "" => Err(self.wrong(column, "the cell is empty, expected a text")),
            text => Ok(text.to_string()),
        };
        Ok(ProofRow {
            group: group.into(),
            id: filled("id")?,
            source: filled("source")?,
            how: filled("how")?,
            fitted: self.yes("fitted")?,
            part: self.optional("part").into(),
            note: self.optional("note").into(),
            ..ProofRow::default()
        })
    }
}

/// Begins the note of a comparison with what the columns say was compared.
pub fn described(mut row: ProofRow, case: &Row, columns: &[&str]) -> ProofRow {
    let cells: Vec<&str> = columns.iter().map(|c| case.optional(c)).filter(|t| !t.is_empty()).collect();
    let what = cells.join(", ");
    row.note = match (what.is_empty(), row.note.is_empty()) {
        (true, _) => row.note,
        (false, true) => what,
        (false, false) => format!("{what}: {}", row.note),
    };
    row
}

/// Completes a comparison of two numbers: passes when they differ by the tolerance at most.
pub fn judged(mut row: ProofRow, unit: &str, value: f64, published: f64, tolerance: f64) -> ProofRow {
    row.unit = unit.into();
    row.value = value.is_finite().then_some(value);
    row.published = published;
    row.tolerance = tolerance;
    row.pass = (value - published).abs() <= tolerance;
    row
}
