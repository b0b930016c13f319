//! Comparisons with the outside world. In: the `Library` and tables of published numbers; out: one [`ProofRow`] per
//! comparison. Must never know: terminals, pages, colours, files.
//!
//! One group is one module of [`groups`] and one case table of `data/proof/`: the module turns rows of its table into
//! [`ProofRow`]s. Extra tables with the same name and columns are judged by the same code.

use answer::ProofRow;
use library::Library;
use rayon::prelude::*;

pub mod cases;
pub mod compare;
pub mod curves;
mod facts;
pub mod groups;
pub mod model;
pub mod posture;
pub mod postures;
pub mod reasons;
pub mod report;
pub mod solved;
pub mod sure;
pub mod technique;
pub mod touched;

pub use cases::{CaseError, Table};
pub use report::{Share, Summary, summaries};

/// A kind of comparison.
#[derive(Clone, Copy)]
pub struct Group {
    /// Name, also of the case table `data/proof/NAME.csv`.
    pub name: &'static str,
    /// The question in one line.
    pub title: &'static str,
    /// Shipped cases as CSV.
    pub cases: &'static str,
    /// Judges every row of a case table.
    pub judge: fn(&Library, &Table) -> Result<Vec<ProofRow>, CaseError>,
}

/// Judges the shipped cases of every group, then `extra` ones: (file name, text). Rows stand in the order of groups
/// and cases, whatever the number of threads. Misses carry their reason, see [`reasons`].
///
/// # Errors
/// A case table that cannot be read, with line and column.
pub fn prove(library: &Library, groups: &[Group], extra: &[(String, String)]) -> Result<Vec<ProofRow>, CaseError> {
    let mut tables: Vec<(&Group, Table)> = Vec::new();
    for g in groups {
        tables.push((g, Table::parse(&format!("data/proof/{}.csv", g.name), g.cases)?));
    }
    for (file, text) in extra {
        let Some(g) = groups.iter().find(|g| g.name == named(file)) else {
            let known = groups.iter().map(|g| format!("{}.csv", g.name)).collect::<Vec<_>>().join(", ");
            return Err(CaseError { file: file.clone(), line: 0, text: format!("no such table; known: {known}") });
        };
        tables.push((g, Table::parse(file, text)?));
    }
    let parts: Vec<Result<Vec<ProofRow>, CaseError>> = tables.par_iter().map(|(g, t)| (g.judge)(library, t)).collect();
    let mut out = Vec::new();
    for part in parts {
        out.extend(part?);
    }
    reasons::attach(&mut out, &reasons::shipped()?);
    Ok(out)
}

/// Group that a case file belongs to: its name without folder and ending.
pub fn named(file: &str) -> &str {
    file.rsplit(['/', '\\']).next().unwrap_or(file).trim_end_matches(".csv")
}
