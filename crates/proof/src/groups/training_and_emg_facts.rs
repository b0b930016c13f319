//! Orders and ratios between movements in muscle activity and growth.
//!
//! Beside every row stand two rules that compute no force: joint angles alone, and the 1–½–0 convention.

use crate::Group;
use crate::cases::{CaseError, Table};
use answer::ProofRow;
use library::Library;

pub const GROUP: Group = Group {
    name: "training-and-emg-facts",
    title: "Orders and ratios between movements in muscle activity and growth",
    cases: include_str!("../../../../data/proof/training-and-emg-facts.csv"),
    judge,
};

fn judge(library: &Library, table: &Table) -> Result<Vec<ProofRow>, CaseError> {
    crate::compare::judge(GROUP.name, library, None, table)
}
