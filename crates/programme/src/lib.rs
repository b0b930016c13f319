//! The logic of a week. In: a client, the entries of a plan, credits per movement, rules as data; out: the audit with
//! flags, ledger, gaps, minutes and proposals. Must never know: how a credit is computed, files, clocks, screens.
//!
//! Everything here is a pure function of its input: no files, no clock (today's date is handed in), no printing.
//! Numbers from literature stand in `data/programme/*.csv` with their source; [`rules::Rules`] reads them.
//!
//! Ranges **add conservatively**: lows add to lows and highs to highs. The errors of two movements in one head are
//! largely shared (same anatomy, same strength table, same criterion), so treating them as correlated is the honest
//! side; independent errors would give narrower sums.

pub mod audit;
pub mod bands;
pub mod change;
pub mod client;
pub mod client_names;
pub mod client_read;
mod concerns;
mod edits;
pub mod effort;
pub mod gaps;
pub mod lay_out;
pub mod ledger;
pub mod loads;
pub mod minutes;
pub mod planning;
pub mod proposals;
pub mod rules;
pub mod screening;
mod search;
pub mod week;

pub use answer::joint_word;
pub use audit::{Inputs, audit};
pub use change::{Undo, apply_change};
pub use client::{Client, client_template};
pub use client_read::{client_from_rows, parse_client};
pub use lay_out::{LayOutInputs, lay_out};
pub use loads::LoadRules;
pub use rules::{RuleTexts, Rules};
pub use week::{CreditSource, HeadFacts, WeekChoice};

/// A problem of an input, placed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{}: {what}{}{}", self.place(), expected_text(expected), nearest_text(nearest))]
pub struct Problem {
    /// Name of the file or sheet as handed in.
    pub file: String,
    /// 1-based; 0 when the whole file is meant.
    pub line: usize,
    /// 1-based; 0 when the whole line is meant.
    pub column: usize,
    /// What was found: "no field called \"hieght_cm\"".
    pub what: String,
    /// What would be right: "a number from 100 to 230".
    pub expected: String,
    /// Nearest known names, best first.
    pub nearest: Vec<String>,
    /// The rest of the input stands without it.
    pub warning: bool,
}

impl Problem {
    /// "file:line:column", as far as known.
    pub fn place(&self) -> String {
        match (self.line, self.column) {
            (0, _) => self.file.clone(),
            (l, 0) => format!("{}:{l}", self.file),
            (l, c) => format!("{}:{l}:{c}", self.file),
        }
    }
}

fn expected_text(expected: &str) -> String {
    if expected.is_empty() { String::new() } else { format!("; expected {expected}") }
}

fn nearest_text(nearest: &[String]) -> String {
    if nearest.is_empty() { String::new() } else { format!("; nearest: {}", nearest.join(", ")) }
}

/// A calendar day, handed in because nothing here reads a clock.
#[derive(
    Clone,
    Copy,
    Debug,
    Default,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    serde::Serialize,
    serde::Deserialize,
    schemars::JsonSchema,
)]
pub struct Date {
    pub year: i32,
    pub month: u8,
    pub day: u8,
}

impl Date {
    /// "2026-03-01" or "2026-03" (the first of the month).
    pub fn parse(text: &str) -> Option<Date> {
        let mut parts = text.trim().split('-');
        let year = parts.next()?.parse().ok().filter(|y| (1900..=2200).contains(y))?;
        let month = parts.next()?.parse().ok().filter(|m| (1..=12).contains(m))?;
        let day = match parts.next() {
            None => 1,
            Some(d) => d.parse().ok().filter(|d| (1..=31).contains(d))?,
        };
        parts.next().is_none().then_some(Date { year, month, day })
    }
    /// Whole months from `self` to `later`; negative when `later` is earlier.
    pub fn months_until(self, later: Date) -> i32 {
        let months = (later.year - self.year) * 12 + i32::from(later.month) - i32::from(self.month);
        if later.day < self.day { months - 1 } else { months }
    }
}

impl std::fmt::Display for Date {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

/// Joint id of any name used in data files: "glenohumeral" → "shoulder", "knee.flexion" → "knee".
pub fn joint_of(name: &str) -> &str {
    let base = name.split('.').next().unwrap_or(name);
    match base {
        "glenohumeral" => "shoulder",
        "sternoclavicular" | "acromioclavicular" | "scapula-thorax" => "girdle",
        "subtalar" => "ankle",
        "lumbar-flexion" | "lumbar-side-bend" | "lumbar-rotation" => "lumbar",
        "neck-flexion" | "neck-side-bend" | "neck-rotation" => "neck",
        other => other,
    }
}

/// "biceps-femoris-short-head" → "Biceps femoris short head".
pub fn head_title(id: &str) -> String {
    let spaced = id.replace('-', " ");
    let mut letters = spaced.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

/// A number for a coach: one decimal, none for whole numbers of a band, a proper minus sign.
pub fn show(value: f64) -> String {
    let text = format!("{value:.1}");
    if text == "-0.0" { "0.0".into() } else { text.replace('-', "−") }
}

/// "6–10", "4.2–8".
pub fn show_band(band: answer::Band) -> String {
    let short = |v: f64| if (v - v.round()).abs() < 0.05 { format!("{v:.0}") } else { format!("{v:.1}") };
    format!("{}–{}", short(band.low), short(band.high))
}

/// The known names nearest to `name`, by edits relative to length; at most three, none when nothing is near.
pub fn nearest(name: &str, known: &[&str]) -> Vec<String> {
    let plain = |t: &str| t.to_lowercase().replace(['-', '_', ' '], "");
    let want = plain(name);
    let mut scored: Vec<(usize, &str)> = known
        .iter()
        .filter_map(|k| {
            let have = plain(k);
            let distance = if !want.is_empty() && have.starts_with(&want) { 0 } else { edits(&want, &have) };
            (distance * 5 <= want.chars().count().max(have.chars().count()) * 2).then_some((distance, *k))
        })
        .collect();
    scored.sort();
    scored.into_iter().take(3).map(|(_, k)| k.to_string()).collect()
}

/// Insertions, deletions, replacements and swaps of neighbours between two words.
fn edits(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().take(64).collect(), b.chars().take(64).collect());
    let mut rows = vec![vec![0usize; b.len() + 1]; a.len() + 1];
    for i in 0..=a.len() {
        for j in 0..=b.len() {
            rows[i][j] = if i == 0 || j == 0 {
                i + j
            } else {
                let replaced = rows[i - 1][j - 1] + usize::from(a[i - 1] != b[j - 1]);
                let mut best = replaced.min(rows[i - 1][j] + 1).min(rows[i][j - 1] + 1);
                if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                    best = best.min(rows[i - 2][j - 2] + 1);
                }
                best
            };
        }
    }
    rows[a.len()][b.len()]
}
