//! How far the numbers of a coach group can be trusted.

use crate::json;
use crate::problem::{Problem, Report};
use answer::Sure;
use library::Library;
use proof::CaseError;
use proof::groups::ALL;

/// All coach groups, or the one asked for (capitals do not matter).
pub fn sure(group: Option<&str>) -> Result<Sure, Report> {
    let library = Library::embedded().map_err(|e| Report::internal(format!("the shipped data: {e}")))?;
    if let Some(name) = group {
        known(&library, name)?;
    }
    let bad = |e: CaseError| Report::internal(e.to_string());
    let rows = proof::prove(&library, ALL, &[]).map_err(bad)?;
    let mut sure = Sure { schema: json::SURE.into(), ..proof::sure::sure(&library, &rows).map_err(bad)? };
    if let Some(name) = group {
        sure.groups.retain(|g| same(&g.group, name));
    }
    Ok(sure)
}

fn same(a: &str, b: &str) -> bool {
    a.to_lowercase() == b.trim().to_lowercase()
}

/// Before anything is computed: whether there is such a group.
fn known(library: &Library, name: &str) -> Result<(), Report> {
    let mut groups: Vec<&str> = library.groups_of.iter().flatten().map(String::as_str).collect();
    groups.sort_unstable();
    groups.dedup();
    if groups.iter().any(|g| same(g, name)) {
        return Ok(());
    }
    let nearest = super::nearest(name, &groups);
    let nearest = if nearest.is_empty() { groups.iter().map(|g| g.to_string()).collect() } else { nearest };
    Err(Problem::error("GROUP", format!("there is no coach group \"{name}\"")).nearest(nearest).into())
}
