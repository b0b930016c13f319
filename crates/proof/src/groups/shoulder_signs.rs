//! Thirty published facts about signs and orders at shoulder, elbow and wrist.

use crate::cases::{CaseError, Table};
use answer::ProofRow;
use library::Library;

pub const NAME: &str = "shoulder-signs";
pub const CASES: &str = include_str!("../../../../data/proof/shoulder-signs.csv");

pub fn judge(library: &Library, table: &Table) -> Result<Vec<ProofRow>, CaseError> {
    crate::facts::judge(NAME, library, table)
}
