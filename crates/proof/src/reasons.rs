//! Why a comparison misses: the mechanical cause we believe, from `data/proof/reasons.csv` or from the row's own note.
//!
//! Columns: `group, id, about, ours, reason, how`. `id`: patterns with `*`, between semicolons; `about`: a pattern that
//! the part and the note of the row must fit ("shoulder abduction; deltoid-spinal-part, shoulder.abduction, …"), empty
//! for any; `ours`: `above` or `below` where the reason explains only misses to that side, compared without sign
//! (a lever arm of −48 mm is above one of −36 mm) unless the two signs differ. The first row that fits tells the
//! reason. A note of a case table may carry its own cause after [`MARK`].

use crate::cases::{CaseError, Row, Table};
use answer::ProofRow;

const FILE: &str = "data/proof/reasons.csv";
const REASONS: &str = include_str!("../../../data/proof/reasons.csv");

/// What stands before a cause in the note of a case table.
pub const MARK: &str = "believed cause:";

/// A reason with the misses it explains.
#[derive(Clone, Debug, PartialEq)]
pub struct Reason {
    /// Line of the table.
    pub line: usize,
    pub group: String,
    ids: Vec<String>,
    about: String,
    /// 1 for above, −1 for below, 0 for either.
    side: f64,
    pub text: String,
}

impl Reason {
    fn read(row: &Row) -> Result<Reason, CaseError> {
        row.filled("how")?;
        Ok(Reason {
            line: row.line,
            group: row.filled("group")?,
            ids: row.filled("id")?.split(';').map(|t| t.trim().to_string()).collect(),
            about: row.text("about")?.to_string(),
            side: match row.text("ours")? {
                "above" => 1.0,
                "below" => -1.0,
                "" => 0.0,
                other => return Err(row.wrong("ours", format!("\"{other}\", expected above, below or nothing"))),
            },
            text: row.filled("reason")?,
        })
    }

    /// Whether the reason speaks of this row, whatever its side.
    pub fn names(&self, row: &ProofRow) -> bool {
        let about = || fits(&self.about, &format!("{}; {}", row.part, row.note));
        self.group == row.group && self.ids.iter().any(|p| fits(p, &row.id)) && (self.about.is_empty() || about())
    }

    fn explains(&self, row: &ProofRow) -> bool {
        self.names(row) && (self.side == 0.0 || side(row) == self.side)
    }
}

/// 1 where ours is the larger one, −1 where it is the smaller one; sizes are compared when both have one sign.
fn side(row: &ProofRow) -> f64 {
    let Some(ours) = row.value else { return 0.0 };
    let flip = if ours < 0.0 && row.published < 0.0 { -1.0 } else { 1.0 };
    (flip * (ours - row.published)).signum()
}

/// Whether a text fits a pattern in which `*` stands for anything.
pub fn fits(pattern: &str, text: &str) -> bool {
    let mut parts = pattern.split('*');
    let first = parts.next().unwrap_or("");
    let Some(mut rest) = text.strip_prefix(first) else { return false };
    let mut last = None;
    for part in parts {
        if let Some(middle) = last.replace(part) {
            match rest.find(middle) {
                Some(at) => rest = &rest[at + middle.len()..],
                None => return false,
            }
        }
    }
    last.map_or(rest.is_empty(), |end: &str| rest.ends_with(end))
}

/// The shipped table.
///
/// # Errors
/// A row that cannot be read.
pub fn shipped() -> Result<Vec<Reason>, CaseError> {
    parse(FILE, REASONS)
}

/// # Errors
/// A row that cannot be read, with its line and column.
pub fn parse(file: &str, text: &str) -> Result<Vec<Reason>, CaseError> {
    Table::parse(file, text)?.rows().map(|row| Reason::read(&row)).collect()
}

/// Moves the cause in a note to `reason` and looks for one in the table where there is none; a row that passes has
/// no reason.
pub fn attach(rows: &mut [ProofRow], reasons: &[Reason]) {
    for row in rows {
        let own = row.note.find(MARK).map(|at| {
            let cause = row.note[at + MARK.len()..].trim().to_string();
            row.note.truncate(at);
            row.note.truncate(row.note.trim_end_matches([' ', ';', ':']).len());
            cause
        });
        if row.pass {
            continue;
        }
        let found = || reasons.iter().find(|r| r.explains(row)).map(|r| r.text.clone());
        row.reason = own.or_else(found).unwrap_or_default();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn patterns_fit_whole_texts() {
        let check = |pattern: &str, text: &str, want: bool| assert_eq!(fits(pattern, text), want, "{pattern} {text}");
        check("lower-1", "lower-1", true);
        check("lower-1", "lower-12", false);
        check("lower-*", "lower-12", true);
        check("*soleus*", "ankle; soleus, ankle", true);
        check("*soleus", "ankle; soleus, ankle", false);
        check("a*b*c", "a1b2c", true);
        check("a*b*c", "a1c2b", false);
        check("a*a", "a", false);
        check("*", "", true);
        check("", "", true);
    }

    #[test]
    fn a_miss_takes_its_own_cause_then_the_first_that_fits_on_its_side() {
        let table = "group,id,about,ours,reason,how\n\
                     arms,x-*,*soleus*,above,too long,h\narms,x-*;y-1,,,something,h\n";
        let reasons = parse("t", table).expect("a table");
        let check = |id: &str, value: f64, published: f64, note: &str, want: (&str, &str)| {
            let mut rows = [ProofRow {
                group: "arms".into(),
                id: id.into(),
                value: Some(value),
                published,
                note: note.into(),
                ..ProofRow::default()
            }];
            attach(&mut rows, &reasons);
            assert_eq!((rows[0].reason.as_str(), rows[0].note.as_str()), want, "{id}");
        };
        check("x-1", 50.0, 40.0, "soleus", ("too long", "soleus"));
        check("x-1", -50.0, -40.0, "soleus", ("too long", "soleus"));
        check("x-1", 30.0, 40.0, "soleus", ("something", "soleus"));
        check("y-1", 1.0, 2.0, "", ("something", ""));
        check("z-1", 1.0, 2.0, "", ("", ""));
        check("x-1", 1.0, 2.0, "20 kg; believed cause: own", ("own", "20 kg"));
        check("x-1", 1.0, 2.0, "believed cause: own", ("own", ""));
        let mut passed = [ProofRow { pass: true, note: "a; believed cause: b".into(), ..ProofRow::default() }];
        attach(&mut passed, &reasons);
        assert_eq!((passed[0].reason.as_str(), passed[0].note.as_str()), ("", "a"));
    }

    #[test]
    fn a_bad_table_is_refused_with_its_place() {
        let check = |rows: &str, part: &str| {
            let text = format!("group,id,about,ours,reason,how\n{rows}\n");
            let e = parse("reasons.csv", &text).expect_err("bad").to_string();
            assert!(e.contains("reasons.csv:2") && e.contains(part), "{e}");
        };
        check("a,b,,up,c,d", "`ours`: \"up\"");
        check("a,b,,,,d", "`reason`");
        check("a,,,,c,d", "`id`");
        check("a,b,,,c,", "`how`");
    }
}
