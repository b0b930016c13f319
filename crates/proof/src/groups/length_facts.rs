//! Published facts about which muscle is longer, longer where, or stronger where.

use crate::cases::{CaseError, Table};
use answer::ProofRow;
use library::Library;

pub const NAME: &str = "length-facts";
pub const CASES: &str = include_str!("../../../../data/proof/length-facts.csv");

pub fn judge(library: &Library, table: &Table) -> Result<Vec<ProofRow>, CaseError> {
    crate::facts::judge(NAME, library, table)
}
