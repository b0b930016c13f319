//! A worksheet as plain cells, whatever file it came from.

/// What stands in a cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    Empty,
    Text(String),
    Number(f64),
    /// Date or time as the file shows it, ISO text.
    Date(String),
    Bool(bool),
    /// A formula's error value ("#REF!").
    Error(String),
}

/// One cell with what a coach's layout may mean by it.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    pub value: Value,
    /// The cell covers others: (rows, columns) of the merged block whose top-left cell this is; (1, 1) otherwise.
    pub span: (u32, u32),
}

/// One sheet. Row and column numbers are 0-based here and 1-based in every message.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Grid {
    pub name: String,
    pub rows: Vec<Vec<Cell>>,
}

/// A whole file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Book {
    pub sheets: Vec<Grid>,
    /// Things worth telling about the file itself (encoding guessed, hidden sheets skipped, …).
    pub notes: Vec<String>,
}

impl Value {
    pub fn is_empty(&self) -> bool {
        match self {
            Value::Empty => true,
            Value::Text(t) => t.trim().is_empty(),
            _ => false,
        }
    }
}

impl Grid {
    pub fn cell(&self, row: usize, col: usize) -> Option<&Cell> {
        self.rows.get(row).and_then(|r| r.get(col))
    }
}
