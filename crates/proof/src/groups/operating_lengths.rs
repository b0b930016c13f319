//! Published lengths of muscles, fascicles and sarcomeres, and their changes, against the model's.

use crate::cases::{CaseError, Table, described, judged};
use crate::model::Subject;
use crate::posture::Stance;
use anatomy::heads::HeadState;
use answer::ProofRow;
use library::Library;

pub const NAME: &str = "operating-lengths";
pub const CASES: &str = include_str!("../../../../data/proof/operating-lengths.csv");

pub fn judge(library: &Library, table: &Table) -> Result<Vec<ProofRow>, CaseError> {
    let man = Subject::table_man(library);
    table
        .cases()
        .map(|row| {
            let mut own = None;
            let subject = Subject::of_case(&row, &man, &mut own)?;
            let heads = subject.heads(row.text("heads")?).map_err(|e| row.wrong("heads", e))?.concat();
            let mean = |s: &Stance, of: &dyn Fn(usize, &HeadState) -> f64| {
                let frame = subject.frame(s);
                heads.iter().map(|&i| of(i, &frame.heads[i])).sum::<f64>() / heads.len() as f64
            };
            // Change from the second posture to the first; without a second posture the value itself.
            let from_to = |of: &dyn Fn(usize, &HeadState) -> f64| -> Result<f64, CaseError> {
                let to = mean(&row.stances("posture")?[0], of);
                Ok(match row.text("posture_b")? {
                    "" => to,
                    _ => to - mean(&row.stances("posture_b")?[0], of),
                })
            };
            let (value, unit) = match row.text("kind")? {
                "length-mm" => (from_to(&|_, s| s.length_m * 1e3)?, "mm"),
                "fibre-mm" => (from_to(&|i, s| s.fibre_norm * subject.model.fibre_length_m(i) * 1e3)?, "mm"),
                "fibre" => (from_to(&|_, s| s.fibre_norm)?, "of optimal"),
                other => {
                    return Err(row.wrong("kind", format!("\"{other}\", expected length-mm, fibre-mm or fibre")));
                }
            };
            Ok(judged(
                described(row.comparison(NAME)?, &row, &["kind", "heads", "posture", "posture_b"]),
                unit,
                value,
                row.number("value")?,
                row.number("tolerance")?,
            ))
        })
        .collect()
}
