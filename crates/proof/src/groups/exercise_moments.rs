//! Joint moments and lever arms measured in whole movements.

use crate::Group;
use crate::cases::{CaseError, Table};
use answer::ProofRow;
use library::Library;

pub const GROUP: Group = Group {
    name: "exercise-moments",
    title: "Joint moments and lever arms measured in whole movements",
    cases: include_str!("../../../../data/proof/exercise-moments.csv"),
    judge,
};

fn judge(library: &Library, table: &Table) -> Result<Vec<ProofRow>, CaseError> {
    crate::compare::judge(GROUP.name, library, None, table)
}
