//! Rules of the code that the compiler does not know: length of files, purity of the core, words that must not appear.

use crate::tree::Tree;
use crate::{Failed, Problem};

/// Longest source file, lines.
pub const LONGEST: usize = 700;

/// Crates that read no file, clock, network or environment and print nothing.
pub const PURE: [&str; 14] = [
    "units",
    "numerics",
    "answer",
    "anatomy",
    "movement",
    "mechanics",
    "stimulus",
    "programme",
    "figure",
    "sheet",
    "library",
    "proof",
    "planner",
    "evidence",
];

/// Crates inside of which every number is SI.
const INSIDE: [&str; 5] = ["numerics", "anatomy", "movement", "mechanics", "stimulus"];
/// Files of these crates that hold what people write: the shape of a family file, and worked examples as printed.
const EDGES: [&str; 2] = ["crates/movement/src/family.rs", "crates/mechanics/src/tree/textbook.rs"];
/// Endings of names whose numbers are for people.
const EDGE_UNITS: [&str; 5] = ["_deg", "_cm", "_mm", "_lb", "_inch"];

/// What a pure crate must not touch.
const IMPURE: [&str; 12] = [
    "println!",
    "eprintln!",
    "print!(",
    "dbg!",
    "std::fs",
    "std::env",
    "std::net",
    "std::process",
    "std::io::stdout",
    "std::io::stderr",
    "SystemTime",
    "Instant::now",
];

/// Places of a machine; written in halves, so that this file does not hold them.
const PLACES: [&str; 4] = [concat!("/wo", "rk/"), concat!("/tm", "p/"), concat!("/ho", "me/"), concat!("/ro", "ot/")];

/// Endings of files that people write.
const TEXTS: [&str; 10] = [".rs", ".toml", ".md", ".csv", ".py", ".svg", ".txt", ".snap", "run", ".json"];

pub fn check(tree: &Tree) -> Result<Vec<Problem>, Failed> {
    let mut out = Vec::new();
    for path in tree.files("crates", &[".rs"])?.into_iter().filter(|p| p.split('/').nth(2) == Some("src")) {
        let text = tree.text(&path)?;
        out.extend(length(&path, &text));
        if path.split('/').nth(1).is_some_and(|c| PURE.contains(&c)) {
            out.extend(purity(&path, &text));
        }
        if path.split('/').nth(1).is_some_and(|c| INSIDE.contains(&c)) && !EDGES.contains(&path.as_str()) {
            out.extend(edge_units(&path, &text));
        }
    }
    out.extend(guards(tree)?);
    for path in tree.files(".", &TEXTS)? {
        // Files of several megabytes and binary ones are no prose.
        if let Ok(text) = tree.text(&path) {
            out.extend(places(&path, &text));
        }
    }
    Ok(out)
}

pub fn length(path: &str, text: &str) -> Option<Problem> {
    let lines = text.lines().count();
    (lines > LONGEST).then(|| Problem::new(path, format!("{lines} lines, at most {LONGEST}")))
}

/// Lines of a source file outside its tests and comments, with their numbers. By custom of the house the tests of a
/// file stand at its end.
fn working_lines(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.lines()
        .enumerate()
        .take_while(|(_, l)| !l.trim_start().starts_with("#[cfg(test)]"))
        .filter(|(_, l)| !l.trim_start().starts_with("//"))
        .map(|(i, l)| (i + 1, l))
}

pub fn purity(path: &str, text: &str) -> Vec<Problem> {
    let mut out = Vec::new();
    for (line, code) in working_lines(text) {
        // OUT_DIR and the crate's own folder are known at build time.
        for word in IMPURE.iter().filter(|w| code.contains(**w)) {
            out.push(Problem::at(path, line, format!("`{word}` in a crate that touches nothing outside")));
        }
        if code.contains(".unwrap()") {
            out.push(Problem::at(path, line, "`unwrap` outside tests: give the reason with `expect`, or an error"));
        }
    }
    out
}

/// Fields and parameters inside the core that are not in SI.
pub fn edge_units(path: &str, text: &str) -> Vec<Problem> {
    let is_name = |c: char| c.is_ascii_alphanumeric() || c == '_';
    let mut out = Vec::new();
    for (line, code) in working_lines(text) {
        for (at, _) in code.match_indices(": f64").chain(code.match_indices(": V3")) {
            let name = code[..at].rsplit(|c| !is_name(c)).next().unwrap_or("");
            if EDGE_UNITS.iter().any(|u| name.ends_with(u)) {
                out.push(Problem::at(path, line, format!("`{name}`: inside, angles are radians and lengths metres")));
            }
        }
    }
    out
}

/// Guards named in the table of invariants that no test has.
fn guards(tree: &Tree) -> Result<Vec<Problem>, Failed> {
    let mut tests = String::new();
    for path in tree.files(".", &[".rs"])? {
        tests.push_str(&format!("fn {}(\n", path.rsplit('/').next().unwrap_or("").trim_end_matches(".rs")));
        tests.push_str(&tree.text(&path)?);
    }
    Ok(unknown_guards(&tree.text("ARCHITECTURE.md")?, &tests))
}

fn unknown_guards(page: &str, tests: &str) -> Vec<Problem> {
    let table = page.lines().enumerate().skip_while(|(_, l)| !l.starts_with("| invariant |")).skip(2);
    let mut out = Vec::new();
    for (i, row) in table.take_while(|(_, l)| l.starts_with('|')) {
        let guard = row.rsplit('|').nth(1).unwrap_or("");
        for word in guard.split('`').skip(1).step_by(2) {
            let is_test =
                word.contains('_') && word.chars().all(|c| c.is_ascii_lowercase() || "_0123456789".contains(c));
            if is_test && !tests.contains(&format!("fn {word}(")) {
                out.push(Problem::at("ARCHITECTURE.md", i + 1, format!("no test is called `{word}`")));
            }
        }
    }
    out
}

pub fn places(path: &str, text: &str) -> Vec<Problem> {
    let mut out = Vec::new();
    for (i, line) in text.lines().enumerate() {
        for word in PLACES.iter().filter(|w| named(line, w)) {
            out.push(Problem::at(path, i + 1, format!("names a place of one machine: {word}")));
        }
    }
    out
}

/// Whether a path begins at the word: not inside a longer path or an address.
fn named(line: &str, word: &str) -> bool {
    line.match_indices(word).any(|(at, _)| {
        !line[..at].chars().next_back().is_some_and(|c| c.is_alphanumeric() || matches!(c, '.' | '_' | '-' | '}' | '>'))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_files_are_found() {
        assert_eq!(length("a.rs", &"x\n".repeat(700)), None);
        assert_eq!(length("a.rs", &"x\n".repeat(701)).map(|p| p.what), Some("701 lines, at most 700".into()));
    }

    #[test]
    fn degrees_and_centimetres_stay_outside() {
        let found = |text: &str| edge_units("a.rs", text).len();
        assert_eq!(found("pub from_deg: f64,"), 1);
        assert_eq!(found("fn f(width_cm: f64, depth_m: f64) {}"), 1);
        assert_eq!(found("pub from_rad: f64,\n// from_deg: f64"), 0);
    }

    #[test]
    fn a_guard_must_exist() {
        let page = "| invariant | guard |\n|---|---|\n| a | `is_there`, `xtask docs --check` |\n| b | `is_not_there` |\n\ntext";
        let got = unknown_guards(page, "fn is_there() {}");
        assert_eq!(got.iter().map(|p| p.what.as_str()).collect::<Vec<_>>(), ["no test is called `is_not_there`"]);
    }

    #[test]
    fn a_pure_crate_touches_nothing_outside() {
        let found = |text: &str| purity("a.rs", text).len();
        assert_eq!(found("fn f() { println!(\"x\"); }"), 1);
        assert_eq!(found("use std::fs;"), 1);
        assert_eq!(found("let t = std::time::Instant::now();"), 1);
        assert_eq!(found("let x = y.unwrap();"), 1);
        assert_eq!(found("// println! is not for us\nlet x = y.unwrap_or(0.0);"), 0);
        assert_eq!(found("fn f() {}\n#[cfg(test)]\nmod tests { fn g() { println!(\"x\"); } }"), 0);
    }

    #[test]
    fn places_of_a_machine_are_found() {
        let found = |text: &str| places("a.md", text).len();
        assert_eq!(found(concat!("see `/wo", "rk/notes`")), 1);
        assert_eq!(found(concat!("/tm", "p/x")), 1);
        assert_eq!(found(concat!("frame", "/wo", "rk/x and https://a.org", "/ho", "me/x")), 0);
    }
}
