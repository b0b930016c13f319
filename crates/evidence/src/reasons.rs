//! Why a contrast is missed: what we believe, from `data/evidence/reasons.csv`.
//!
//! Columns: `study, contrast, cause, reason, how`. `contrast` may hold `*` for anything. `cause` is one of mechanics,
//! dose, measurement, chance, no cause found.

/// A reason with the rows it explains.
#[derive(Clone, Debug, PartialEq)]
pub struct Reason {
    /// Line of the table.
    pub line: usize,
    pub study: String,
    pub contrast: String,
    pub cause: String,
    pub reason: String,
}

/// Known causes.
pub const CAUSES: [&str; 5] = ["mechanics", "dose", "measurement", "chance", "no cause found"];

impl Reason {
    pub fn explains(&self, study: &str, contrast: &str) -> bool {
        self.study == study && fits(&self.contrast, contrast)
    }

    /// "mechanics: …".
    pub fn text(&self) -> String {
        if self.reason.is_empty() { self.cause.clone() } else { format!("{}: {}", self.cause, self.reason) }
    }
}

/// Rows of the table.
pub fn parse(text: &str) -> Vec<Reason> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let row = |r: csv::StringRecord| {
        let cell = |i: usize| r.get(i).unwrap_or("").trim().to_string();
        let line = r.position().map_or(0, |p| p.line() as usize);
        Reason { line, study: cell(0), contrast: cell(1), cause: cell(2), reason: cell(3) }
    };
    reader.records().flatten().map(row).collect()
}

/// Whether a text fits a pattern in which `*` stands for anything.
fn fits(pattern: &str, text: &str) -> bool {
    let parts: Vec<&str> = pattern.split('*').collect();
    let [first, middle @ .., last] = parts.as_slice() else { return pattern == text };
    let Some(mut rest) = text.strip_prefix(first) else { return false };
    for part in middle {
        match rest.find(part) {
            Some(at) => rest = &rest[at + part.len()..],
            None => return false,
        }
    }
    rest.ends_with(last)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn patterns_fit_whole_texts() {
        let check = |pattern: &str, text: &str, want: bool| assert_eq!(fits(pattern, text), want, "{pattern} {text}");
        check("a:b against c:d", "a:b against c:d", true);
        check("a:b", "a:bc", false);
        check("*:rectus-femoris against *", "leg:rectus-femoris against leg:vastus", true);
        check("*:rectus-femoris against *", "leg:vastus against leg:rectus-femoris", false);
        check("*", "", true);
    }
}
