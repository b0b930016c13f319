//! Rules of the code that the compiler does not know: length of files, purity of the core, words that must not appear.

use crate::tree::Tree;
use crate::{Failed, Problem};

/// Longest source file, lines.
pub const LONGEST: usize = 700;

/// Crates that read no file, clock, network or environment and print nothing.
pub const PURE: [&str; 12] = [
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
];

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
    }
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
