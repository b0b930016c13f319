//! Published lever arms against the model's arms in the same posture.

use crate::cases::{CaseError, Table, described, judged};
use crate::model::Subject;
use answer::ProofRow;
use library::Library;
use rayon::prelude::*;

pub const NAME: &str = "moment-arms";
pub const CASES: &str = include_str!("../../../../data/proof/moment-arms.csv");

pub fn judge(library: &Library, table: &Table) -> Result<Vec<ProofRow>, CaseError> {
    let man = Subject::table_man(library);
    let rows: Vec<_> = table.cases().collect();
    rows.par_iter()
        .map(|row| {
            let mut own = None;
            let subject = Subject::of_case(row, &man, &mut own)?;
            let heads = subject.heads(row.text("heads")?).map_err(|e| row.wrong("heads", e))?.concat();
            let axis = row.axis("axis")?;
            let arms: Vec<f64> = row.stances("posture")?.iter().map(|s| subject.arm_m(&heads, axis, s) * 1e3).collect();
            let value = match row.text("statistic")? {
                "" | "mean" => arms.iter().sum::<f64>() / arms.len() as f64,
                "peak" => arms.iter().copied().max_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or(f64::NAN),
                other => return Err(row.wrong("statistic", format!("\"{other}\", expected mean or peak"))),
            };
            let tolerance = row.number("tolerance_mm")?;
            if tolerance <= 0.0 {
                return Err(row.wrong("tolerance_mm", format!("{tolerance}, expected a number above 0")));
            }
            Ok(judged(
                described(row.comparison(NAME)?, row, &["heads", "axis", "posture", "statistic"]),
                "mm",
                value,
                row.number("arm_mm")?,
                tolerance,
            ))
        })
        .collect()
}
