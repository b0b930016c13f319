//! `cargo run --release -p xtask -- check | reference [--check] | docs [--check]`

use std::process::ExitCode;
use xtask::tree::Tree;
use xtask::{Failed, Problem, arrows, code, licences, pages, reference, tables};

const USAGE: &str = "\
usage: cargo run --release -p xtask -- TASK

  check              data rows, code rules, arrows between crates, licences
  reference          write data/reference/reference_values.csv
  reference --check  compare it with what this build computes
  docs               write the generated pages under docs/
  docs --check       compare them with what this build would write
";

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = args.iter().map(String::as_str).collect();
    let result = match words.as_slice() {
        ["check"] => check(),
        ["reference"] => reference::write(&Tree::here()),
        ["reference", "--check"] => reference::check(&Tree::here()),
        ["docs"] => pages::write(&Tree::here()),
        ["docs", "--check"] => pages::check(&Tree::here()),
        _ => {
            eprint!("{USAGE}");
            return ExitCode::from(2);
        }
    };
    match result {
        Ok(problems) if problems.is_empty() => {
            println!("{}: no problem", words.join(" "));
            ExitCode::SUCCESS
        }
        Ok(problems) => {
            problems.iter().for_each(|p| eprintln!("{p}"));
            eprintln!("{}: {} problems", words.join(" "), problems.len());
            ExitCode::FAILURE
        }
        Err(e) => {
            eprintln!("{}: {e}", words.join(" "));
            ExitCode::FAILURE
        }
    }
}

fn check() -> Result<Vec<Problem>, Failed> {
    let tree = Tree::here();
    let mut problems = tables::check(&tree)?;
    problems.extend(code::check(&tree)?);
    problems.extend(arrows::check(&tree)?);
    problems.extend(licences::check(&tree)?);
    Ok(problems)
}
