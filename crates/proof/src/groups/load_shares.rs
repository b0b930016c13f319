//! Which muscle carries how much of a moment.

use crate::Group;
use crate::cases::{CaseError, Table};
use answer::ProofRow;
use library::Library;

pub const GROUP: Group = Group {
    name: "load-shares",
    title: "Which muscle carries how much of a moment",
    cases: include_str!("../../../../data/proof/load-shares.csv"),
    judge,
};

fn judge(library: &Library, table: &Table) -> Result<Vec<ProofRow>, CaseError> {
    let postures = crate::postures::library().map_err(|e| CaseError { file: table.file.clone(), line: 0, text: e })?;
    crate::compare::judge(GROUP.name, library, Some(postures), table)
}
