//! The one report of problems at the edge: where, what was found, what was expected, what to do. All problems of a
//! file come at once; warnings stand beside a result that can still be used.

use crate::text::{WIDTH, wrap};
use std::fmt;

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    Error,
    Warning,
    Note,
}

impl Level {
    pub fn word(self) -> &'static str {
        match self {
            Level::Error => "error",
            Level::Warning => "warning",
            Level::Note => "note",
        }
    }
}

/// One problem. Empty texts and lists are left out when shown.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    pub level: Level,
    /// "mia.toml:7:12", "plan.xlsx, sheet Week 1!B7", "--set".
    pub place: String,
    /// What was found.
    pub what: String,
    /// What would be right.
    pub expected: String,
    /// Nearest known names, best first.
    pub nearest: Vec<String>,
    /// What to do now.
    pub remedy: String,
}

impl Problem {
    pub fn error(place: impl Into<String>, what: impl Into<String>) -> Problem {
        Problem {
            level: Level::Error,
            place: place.into(),
            what: what.into(),
            expected: String::new(),
            nearest: Vec::new(),
            remedy: String::new(),
        }
    }
    pub fn warning(place: impl Into<String>, what: impl Into<String>) -> Problem {
        Problem { level: Level::Warning, ..Problem::error(place, what) }
    }
    pub fn expected(self, expected: impl Into<String>) -> Problem {
        Problem { expected: expected.into(), ..self }
    }
    pub fn nearest(self, nearest: Vec<String>) -> Problem {
        Problem { nearest, ..self }
    }
    pub fn remedy(self, remedy: impl Into<String>) -> Problem {
        Problem { remedy: remedy.into(), ..self }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let head = match self.place.as_str() {
            "" => format!("{}: {}", self.level.word(), self.what),
            place => format!("{}: {place}: {}", self.level.word(), self.what),
        };
        let nearest = self.nearest.join("; ");
        let mut lines = wrap(&head, WIDTH, "", "  ");
        for (word, text) in [("expected", &self.expected), ("nearest", &nearest), ("what to do", &self.remedy)] {
            if !text.is_empty() {
                lines.extend(wrap(&format!("{word}: {text}"), WIDTH, "  ", "    "));
            }
        }
        f.write_str(&lines.join("\n"))
    }
}

/// All problems of a run, worst first, otherwise in the order found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Report {
    pub problems: Vec<Problem>,
    /// The program itself is at fault, not the input.
    pub internal: bool,
}

impl Report {
    pub fn of(problems: Vec<Problem>) -> Report {
        Report { problems, internal: false }
    }
    /// A fault of the shipped data or the program.
    pub fn internal(what: impl Into<String>) -> Report {
        let remedy = "this is a fault of the program, not of your input; please report it with the command";
        Report { problems: vec![Problem::error("", what).remedy(remedy)], internal: true }
    }
    pub fn count(&self, level: Level) -> usize {
        self.problems.iter().filter(|p| p.level == level).count()
    }
    pub fn has_errors(&self) -> bool {
        self.count(Level::Error) > 0
    }
}

impl From<Problem> for Report {
    fn from(p: Problem) -> Report {
        Report::of(vec![p])
    }
}

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut sorted: Vec<&Problem> = self.problems.iter().collect();
        sorted.sort_by_key(|p| p.level);
        for p in &sorted {
            writeln!(f, "{p}")?;
        }
        let (errors, warnings) = (self.count(Level::Error), self.count(Level::Warning));
        if errors + warnings > 1 {
            let many = |n: usize, one: &str| format!("{n} {one}{}", if n == 1 { "" } else { "s" });
            writeln!(f, "{}, {}", many(errors, "error"), many(warnings, "warning"))?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_problems_are_shown_worst_first_with_what_to_do() {
        let report = Report::of(vec![
            Problem::warning("mia.toml:9", "screening has no date").remedy("add date = \"2026-03-01\""),
            Problem::error("mia.toml:3:1", "no field called \"hieght_cm\"").nearest(vec!["stature_cm".into()]),
            Problem::error("mia.toml:4:13", "mass_kg = 640").expected("a number from 25 to 300"),
        ]);
        insta::assert_snapshot!(report.to_string(), @r#"
        error: mia.toml:3:1: no field called "hieght_cm"
          nearest: stature_cm
        error: mia.toml:4:13: mass_kg = 640
          expected: a number from 25 to 300
        warning: mia.toml:9: screening has no date
          what to do: add date = "2026-03-01"
        2 errors, 1 warning
        "#);
    }
}
