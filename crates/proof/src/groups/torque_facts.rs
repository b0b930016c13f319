//! Published facts about where a joint is stronger.

use crate::cases::{CaseError, Table};
use answer::ProofRow;
use library::Library;

pub const NAME: &str = "torque-facts";
pub const CASES: &str = include_str!("../../../../data/proof/torque-facts.csv");

pub fn judge(library: &Library, table: &Table) -> Result<Vec<ProofRow>, CaseError> {
    crate::facts::judge(NAME, library, table)
}
