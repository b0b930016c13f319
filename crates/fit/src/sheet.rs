//! A CSV table that can be read by column name, edited cell by cell and written back.

/// A fault in a table, with its place.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{file}, line {line}, {column}: {what}")]
pub struct Problem {
    pub file: String,
    /// 1 is the line of the column names.
    pub line: usize,
    pub column: String,
    pub what: String,
}

/// A table as text cells.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    pub file: String,
    pub header: Vec<String>,
    pub rows: Vec<Vec<String>>,
    /// Line in the file of each row.
    lines: Vec<usize>,
}

impl Sheet {
    /// # Errors
    /// Text that is not CSV, or a row with another number of cells than the header.
    pub fn parse(file: &str, text: &str) -> Result<Sheet, Problem> {
        let problem = |line: usize, what: String| Problem { file: file.into(), line, column: "row".into(), what };
        let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(text.as_bytes());
        let header = reader.headers().map_err(|e| problem(1, e.to_string()))?.iter().map(str::to_string).collect();
        let (mut rows, mut lines) = (Vec::new(), Vec::new());
        for record in reader.records() {
            let r = record.map_err(|e| problem(e.position().map_or(0, |p| p.line() as usize), e.to_string()))?;
            lines.push(r.position().map_or(0, |p| p.line() as usize));
            rows.push(r.iter().map(str::to_string).collect());
        }
        Ok(Sheet { file: file.into(), header, rows, lines })
    }

    /// The table of this name among (label, text) pairs.
    ///
    /// # Errors
    /// A missing table, or one that is not CSV.
    pub fn find(files: &[(String, String)], name: &str) -> Result<Sheet, Problem> {
        let what = || "the table is missing".to_string();
        let problem = || Problem { file: name.into(), line: 1, column: "whole table".into(), what: what() };
        let (label, text) = files.iter().find(|f| f.0 == name).ok_or_else(problem)?;
        Sheet::parse(label, text)
    }

    /// A fault in a row of this table.
    pub fn problem(&self, row: usize, column: &str, what: impl Into<String>) -> Problem {
        let line = self.lines.get(row).copied().unwrap_or(1);
        Problem { file: self.file.clone(), line, column: column.into(), what: what.into() }
    }

    /// # Errors
    /// The table has no such column.
    pub fn column(&self, name: &str) -> Result<usize, Problem> {
        let place = self.header.iter().position(|h| h == name);
        place.ok_or_else(|| Problem { line: 1, ..self.problem(0, name, "the column is missing") })
    }

    /// # Errors
    /// The table has no such column.
    pub fn text(&self, row: usize, column: &str) -> Result<&str, Problem> {
        Ok(&self.rows[row][self.column(column)?])
    }

    /// A number; `None` when the cell is empty.
    ///
    /// # Errors
    /// A missing column, or something else than a number.
    pub fn maybe(&self, row: usize, column: &str) -> Result<Option<f64>, Problem> {
        let t = self.text(row, column)?;
        match t.parse::<f64>() {
            _ if t.is_empty() => Ok(None),
            Ok(v) if v.is_finite() => Ok(Some(v)),
            _ => Err(self.problem(row, column, format!("\"{t}\" is not a number"))),
        }
    }

    /// # Errors
    /// A missing column, an empty cell or something else than a number.
    pub fn number(&self, row: usize, column: &str) -> Result<f64, Problem> {
        self.maybe(row, column)?.ok_or_else(|| self.problem(row, column, "empty cell, expected a number"))
    }

    /// One of a list of names.
    ///
    /// # Errors
    /// A missing column or another word.
    pub fn one_of<T: Copy>(&self, row: usize, column: &str, choices: &[(&str, T)]) -> Result<T, Problem> {
        let t = self.text(row, column)?;
        let names = || choices.iter().map(|c| c.0).collect::<Vec<_>>().join(", ");
        let found = choices.iter().find(|c| c.0 == t).map(|c| c.1);
        found.ok_or_else(|| self.problem(row, column, format!("\"{t}\", expected one of: {}", names())))
    }

    /// # Errors
    /// The table has no such column.
    pub fn set(&mut self, row: usize, column: &str, text: String) -> Result<(), Problem> {
        let place = self.column(column)?;
        self.rows[row][place] = text;
        Ok(())
    }

    /// The table as CSV text, quotes only where needed.
    pub fn to_csv(&self) -> String {
        to_csv(&self.header, &self.rows)
    }
}

/// CSV text of a header and rows.
pub fn to_csv<S: AsRef<str>>(header: &[S], rows: &[Vec<String>]) -> String {
    let line = |cells: &mut dyn Iterator<Item = &str>| {
        let quoted = cells.map(|c| {
            if c.contains(['"', ',', '\n', '\r']) { format!("\"{}\"", c.replace('"', "\"\"")) } else { c.to_string() }
        });
        quoted.collect::<Vec<_>>().join(",") + "\n"
    };
    let mut out = line(&mut header.iter().map(AsRef::as_ref));
    for r in rows {
        out += &line(&mut r.iter().map(String::as_str));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_untouched_table_is_written_back_as_it_was() {
        let text = "a,b\n1,\"x, y\"\n,\"say \"\"no\"\"\"\n";
        assert_eq!(Sheet::parse("t", text).map(|s| s.to_csv()), Ok(text.to_string()));
    }

    #[test]
    fn faults_name_their_place() {
        let sheet = Sheet::parse("t.csv", "a,b\n1,x\n").expect("a table");
        let check =
            |got: Result<f64, Problem>, want: &str| assert_eq!(got.map_err(|p| p.to_string()), Err(want.into()));
        check(sheet.number(0, "b"), "t.csv, line 2, b: \"x\" is not a number");
        check(sheet.number(0, "c"), "t.csv, line 1, c: the column is missing");
    }
}
