//! Worked examples of physics books, solved as trees by the real recursion, sharing and joint forces.

use crate::cases::{CaseError, Table, judged};
use answer::ProofRow;
use library::Library;
use mechanics::tree::textbook::worked_examples;

pub const NAME: &str = "textbook-statics";
pub const CASES: &str = include_str!("../../../../data/proof/textbook-statics.csv");

/// Relative, to the number recomputed by hand from the book's set-up.
const AGREE: f64 = 0.005;

pub fn judge(_: &Library, table: &Table) -> Result<Vec<ProofRow>, CaseError> {
    let answers = worked_examples();
    table
        .cases()
        .map(|row| {
            let answers = answers.as_ref().map_err(|e| row.error(e.to_string()))?;
            let (id, quantity) = (row.text("id")?, row.text("quantity")?);
            let value = answers.iter().find(|a| a.0 == id && a.1 == quantity).map(|a| a.2).ok_or_else(|| {
                row.wrong("quantity", format!("the program solves no \"{quantity}\" of the example \"{id}\""))
            })?;
            let expected = row.number("expected")?;
            let mut out = judged(row.comparison(NAME)?, row.text("unit")?, value, expected, AGREE * expected.abs());
            out.id = format!("{id}-{}", quantity.replace(' ', "-"));
            out.part = row.optional("topic").into();
            if let (Some(book), Some(off)) = (row.maybe("book")?, row.maybe("book_tolerance")?) {
                // Half of the last printed digit, and the rounding of the decimal itself.
                let agrees = (value - book).abs() <= off * 1.001;
                out.pass &= agrees;
                out.note = format!("the book prints {book} ± {off}");
            }
            Ok(out)
        })
        .collect()
}
