//! Plausible limits of shoulder arms: a fence against gross errors, wider than any measurement.

use crate::cases::{CaseError, Table};
use crate::model::Subject;
use answer::ProofRow;
use library::Library;

pub const NAME: &str = "shoulder-bounds";
pub const CASES: &str = include_str!("../../../../data/proof/shoulder-bounds.csv");

/// Value: the arm farthest from the middle of the limits, over all postures and heads of a row.
pub fn judge(library: &Library, table: &Table) -> Result<Vec<ProofRow>, CaseError> {
    let man = Subject::table_man(library);
    table
        .cases()
        .map(|row| {
            let (low, high) = (row.number("low_mm")?, row.number("high_mm")?);
            if low >= high {
                return Err(row.wrong("high_mm", format!("{high} does not lie above low_mm {low}")));
            }
            let middle = (low + high) / 2.0;
            let axis = row.axis("axis")?;
            let stances = row.stances("posture")?;
            let groups = man.heads(row.text("heads")?).map_err(|e| row.wrong("heads", e))?;
            let arms = groups.iter().flat_map(|g| stances.iter().map(|s| man.arm_m(g, axis, s) * 1e3));
            let worst = arms.max_by(|a, b| (a - middle).abs().total_cmp(&(b - middle).abs())).unwrap_or(f64::NAN);
            Ok(crate::cases::judged(row.comparison(NAME)?, "mm", worst, middle, (high - low) / 2.0))
        })
        .collect()
}
