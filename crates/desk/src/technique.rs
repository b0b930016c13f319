//! Statements about technique.

use crate::files;
use crate::problem::{Problem, Report};
use answer::TechniqueRow;
use library::Library;
use proof::{CaseError, Table, technique};
use std::path::Path;

/// The shipped statements, or those of a file; a file without any row is told as a warning.
pub fn technique(from: Option<&Path>) -> Result<(Vec<TechniqueRow>, Report), Report> {
    let library = Library::embedded().map_err(|e| Report::internal(format!("the shipped data: {e}")))?;
    let Some(path) = from else {
        let rows = technique::technique(&library).map_err(|e| Report::internal(e.to_string()))?;
        return Ok((rows, Report::default()));
    };
    let text = files::read_text(path)?;
    let place = path.display().to_string();
    let rows = Table::parse(&place, &text).and_then(|t| technique::judge(&library, &t)).map_err(bad)?;
    let mut warnings = Report::default();
    if rows.is_empty() {
        warnings.problems.push(Problem::warning(place, "the table has no statement"));
    }
    Ok((rows, warnings))
}

fn bad(e: CaseError) -> Report {
    let place = if e.line == 0 { e.file } else { format!("{}:{}", e.file, e.line) };
    Problem::error(place, e.text).remedy("see docs/technique.md for the columns").into()
}
