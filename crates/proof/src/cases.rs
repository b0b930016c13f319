//! Case tables: CSV with named columns, errors with file and line.

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
}
