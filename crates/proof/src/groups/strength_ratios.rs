//! How much more is lifted in one movement than in another.

use crate::Group;
use crate::cases::{CaseError, Table};
use answer::ProofRow;
use library::Library;

pub const GROUP: Group = Group {
    name: "strength-ratios",
    title: "How much more is lifted in one movement than in another",
    cases: include_str!("../../../../data/proof/strength-ratios.csv"),
    judge,
};

fn judge(library: &Library, table: &Table) -> Result<Vec<ProofRow>, CaseError> {
    crate::compare::judge(GROUP.name, library, None, table)
}
