//! Comma-separated tables with positions: every problem is kept with file, line and column.

use super::{Head, Source, SourceIndex};
use crate::path::PathError;
use std::cell::RefCell;
use units::V3;

/// One thing wrong in one cell of one table.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{file}, line {line}, {column}: {error}")]
pub struct Problem {
    pub file: String,
    /// Line in the file, 1 = header.
    pub line: u64,
    pub column: String,
    pub error: TableError,
}

/// What is wrong.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TableError {
    #[error("the table is missing")]
    MissingFile,
    #[error("the column is missing")]
    MissingColumn,
    #[error("not readable as comma-separated text: {0}")]
    Csv(String),
    #[error("empty cell")]
    Empty,
    #[error("\"{got}\" is not a number")]
    NotANumber { got: String },
    #[error("{got} is outside {low} to {high}")]
    OutOfRange { got: f64, low: f64, high: f64 },
    #[error("\"{got}\" is not {kind}{}", .nearest.as_ref().map(|n| format!("; nearest: {n}")).unwrap_or_default())]
    UnknownName { kind: &'static str, got: String, nearest: Option<String> },
    #[error("\"{got}\" stands here a second time")]
    Duplicate { got: String },
    #[error("{got} does not come after {previous}")]
    NotIncreasing { previous: f64, got: f64 },
    #[error("shares add up to {sum}, expected 1")]
    SharesNotOne { sum: f64 },
    #[error("{name} has no {what}")]
    Missing { what: &'static str, name: String },
    #[error("points of one path lie on both the leg and the arm chain, or run back towards the trunk")]
    BrokenChain,
    #[error(transparent)]
    Path(#[from] PathError),
    #[error("{got} heads, at most {limit} can be handled")]
    TooManyHeads { got: usize, limit: usize },
}

/// Collects problems from many places.
#[derive(Default)]
pub(crate) struct Problems(pub(crate) RefCell<Vec<Problem>>);

impl Problems {
    pub fn add(&self, file: &str, line: u64, column: &str, error: TableError) {
        self.0.borrow_mut().push(Problem { file: file.to_string(), line, column: column.to_string(), error });
    }
}

/// A table with the columns asked for, in the order asked for.
pub(crate) struct Table<'a> {
    pub file: &'a str,
    columns: &'static [&'static str],
    rows: Vec<(u64, Vec<String>)>,
}

/// One row; cells by column name.
#[derive(Clone, Copy)]
pub(crate) struct Line<'a> {
    table: &'a Table<'a>,
    line: u64,
    cells: &'a [String],
    problems: &'a Problems,
}

impl<'a> Table<'a> {
    pub fn read(
        files: &[(&'a str, &str)],
        name: &'a str,
        columns: &'static [&'static str],
        problems: &Problems,
    ) -> Self {
        let found = files.iter().find(|(label, _)| label.rsplit(['/', '\\']).next() == Some(name));
        let mut table = Table { file: found.map_or(name, |f| f.0), columns, rows: Vec::new() };
        let Some(&(_, text)) = found else {
            problems.add(name, 1, "whole table", TableError::MissingFile);
            return table;
        };
        let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(text.as_bytes());
        let header = match reader.headers() {
            Ok(h) => h.clone(),
            Err(e) => {
                problems.add(table.file, 1, "header", TableError::Csv(e.to_string()));
                return table;
            }
        };
        let places: Vec<_> = columns.iter().map(|c| header.iter().position(|h| h == *c)).collect();
        for (column, place) in columns.iter().zip(&places) {
            if place.is_none() {
                problems.add(table.file, 1, column, TableError::MissingColumn);
            }
        }
        if places.iter().any(Option::is_none) {
            return table;
        }
        for record in reader.records() {
            match record {
                Ok(r) => {
                    let cell = |p: &Option<usize>| p.and_then(|p| r.get(p)).unwrap_or("").to_string();
                    let line = r.position().map_or(0, |p| p.line());
                    table.rows.push((line, places.iter().map(cell).collect()));
                }
                Err(e) => {
                    let line = e.position().map_or(0, |p| p.line());
                    problems.add(table.file, line, "row", TableError::Csv(e.to_string()));
                }
            }
        }
        table
    }

    pub fn lines(&'a self, problems: &'a Problems) -> impl Iterator<Item = Line<'a>> {
        self.rows.iter().map(move |(line, cells)| Line { table: self, line: *line, cells, problems })
    }
}

impl<'a> Line<'a> {
    pub fn problem(&self, column: &str, error: TableError) {
        self.problems.add(self.table.file, self.line, column, error);
    }
    /// Text of a cell, may be empty.
    pub fn raw(&self, column: &'static str) -> &'a str {
        self.table.columns.iter().position(|c| *c == column).map_or("", |i| self.cells[i].as_str())
    }
    pub fn text(&self, column: &'static str) -> &'a str {
        let t = self.raw(column);
        if t.is_empty() {
            self.problem(column, TableError::Empty);
        }
        t
    }
    /// A number inside [low, high]; NaN when there is a problem (the tables are then refused as a whole).
    pub fn number(&self, column: &'static str, low: f64, high: f64) -> f64 {
        let t = self.text(column);
        match t.parse::<f64>() {
            Ok(v) if v.is_finite() && (low..=high).contains(&v) => v,
            Ok(got) => {
                self.problem(column, TableError::OutOfRange { got, low, high });
                f64::NAN
            }
            Err(_) if t.is_empty() => f64::NAN,
            Err(_) => {
                self.problem(column, TableError::NotANumber { got: t.to_string() });
                f64::NAN
            }
        }
    }
    pub fn count(&self, column: &'static str) -> usize {
        self.number(column, 0.0, 99.0) as usize
    }
    /// x, y, z from millimetres, m.
    pub fn point(&self, x: &'static str, y: &'static str, z: &'static str) -> V3 {
        V3::new(self.number(x, -600.0, 600.0), self.number(y, -600.0, 600.0), self.number(z, -600.0, 600.0)) * 1e-3
    }
    pub fn yes(&self, column: &'static str) -> bool {
        self.one_of(column, "yes or no", &[("yes", true), ("no", false)]).unwrap_or(false)
    }
    pub fn one_of<T: Copy>(&self, column: &'static str, kind: &'static str, choices: &[(&str, T)]) -> Option<T> {
        let t = self.text(column);
        let found = choices.iter().find(|(name, _)| *name == t).map(|c| c.1);
        if found.is_none() && !t.is_empty() {
            self.unknown(column, kind, t, choices.iter().map(|c| c.0));
        }
        found
    }
    pub fn unknown<'n>(&self, column: &str, kind: &'static str, got: &str, names: impl Iterator<Item = &'n str>) {
        let nearest = names.min_by_key(|n| edit_distance(n, got)).map(str::to_string);
        self.problem(column, TableError::UnknownName { kind, got: got.to_string(), nearest });
    }
    /// Index of the source with this id.
    pub fn source(&self, column: &'static str, sources: &[Source]) -> SourceIndex {
        let t = self.text(column);
        sources.iter().position(|s| s.id == t).unwrap_or_else(|| {
            if !t.is_empty() {
                self.unknown(column, "a source id", t, sources.iter().map(|s| s.id.as_str()));
            }
            0
        })
    }
    pub fn head(&self, heads: &[Head]) -> Option<usize> {
        let t = self.text("head");
        let found = heads.iter().position(|h| h.id == t);
        if found.is_none() && !t.is_empty() {
            self.unknown("head", "a muscle head", t, heads.iter().map(|h| h.id.as_str()));
        }
        found
    }
}

/// Levenshtein distance between two short names.
pub(crate) fn edit_distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let next = (diagonal + usize::from(ca != *cb)).min(row[j] + 1).min(row[j + 1] + 1);
            diagonal = std::mem::replace(&mut row[j + 1], next);
        }
    }
    row[b.len()]
}
