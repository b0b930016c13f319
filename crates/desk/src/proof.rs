//! Comparisons with published numbers.

use crate::files;
use crate::problem::{Problem, Report};
use answer::ProofRow;
use library::Library;
use proof::curves::arm_curves;
use proof::groups::{ALL, moment_arms};
use proof::{CaseError, Group, Summary, Table, named, prove, summaries};
use std::path::Path;

/// Comparisons and what they come to.
pub struct Proof {
    pub summaries: Vec<Summary>,
    pub rows: Vec<ProofRow>,
    /// Further case tables that were judged: (path, text).
    pub extra: Vec<(String, String)>,
}

/// Judges all groups, or one; `from`: a folder with further tables. Tables of the folder that belong to no group are
/// told as warnings.
pub fn proof(group: Option<&str>, from: Option<&Path>) -> Result<(Proof, Report), Report> {
    let library = Library::embedded().map_err(|e| Report::internal(format!("the shipped data: {e}")))?;
    let groups: Vec<Group> = match group {
        None => ALL.to_vec(),
        Some(name) => vec![*find(name)?],
    };
    let mut extra = Vec::new();
    let mut warnings = Report::default();
    for (path, text) in from.map(files::folder).transpose()?.unwrap_or_default() {
        if !path.ends_with(".csv") {
            continue;
        }
        if !ALL.iter().any(|g| g.name == named(&path)) {
            let known = ALL.iter().map(|g| format!("{}.csv", g.name)).collect();
            let odd = Problem::warning(path, "no group has a table of this name; it is not judged");
            warnings.problems.push(odd.nearest(known));
        } else if groups.iter().any(|g| g.name == named(&path)) {
            extra.push((path, text));
        }
    }
    if let (Some(folder), true) = (from, extra.is_empty()) {
        let none = Problem::error(folder.display().to_string(), "the folder holds no case table that could be judged");
        return Err(none.expected("a .csv file named like a group, for instance moment-arms.csv").into());
    }
    let rows = prove(&library, &groups, &extra).map_err(bad)?;
    let summaries = summaries(&groups, &rows, &extra).map_err(bad)?;
    Ok((Proof { summaries, rows, extra }, warnings))
}

fn bad(e: CaseError) -> Report {
    let place = if e.line == 0 { e.file } else { format!("{}:{}", e.file, e.line) };
    Problem::error(place, e.text).remedy("see docs/proof_cases.md for the columns").into()
}

/// Lever arms over their angles, as SVG: of the rows that are left.
pub fn arms_picture(proof: &Proof) -> Result<String, Report> {
    let library = Library::embedded().map_err(|e| Report::internal(format!("the shipped data: {e}")))?;
    let group = find(moment_arms::NAME)?;
    let mut curves = Vec::new();
    let shipped = (format!("data/proof/{}.csv", group.name), group.cases.to_string());
    for (file, text) in std::iter::once(&shipped).chain(&proof.extra).filter(|t| named(&t.0) == group.name) {
        let table = Table::parse(file, text).map_err(bad)?;
        curves.extend(arm_curves(&library, &table, &proof.rows).map_err(bad)?);
    }
    let none = || {
        let what = "no curve: three rows of one muscle and axis at different angles make one";
        Report::from(Problem::error("--figure", what).remedy("use --group moment-arms, or another --part"))
    };
    figure::arms_card(&curves, &figure::Card::default()).map(|d| d.svg).ok_or_else(none)
}

fn find(name: &str) -> Result<&'static Group, Report> {
    ALL.iter().find(|g| g.name == name).ok_or_else(|| {
        let known = ALL.iter().map(|g| g.name.to_string()).collect();
        Problem::error("--group", format!("there is no group \"{name}\"")).nearest(known).into()
    })
}

/// Leaves the rows of one part.
pub fn keep_part(proof: &mut Proof, part: &str) -> Result<(), Report> {
    let mut known: Vec<String> = Vec::new();
    for r in &proof.rows {
        if !known.contains(&r.part) {
            known.push(r.part.clone());
        }
    }
    if !known.iter().any(|p| p == part) {
        return Err(Problem::error("--part", format!("there is no part \"{part}\"")).nearest(known).into());
    }
    proof.rows.retain(|r| r.part == part);
    Ok(())
}
