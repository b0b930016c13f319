//! `cargo run --release -p xtask -- check | reference [--check] | docs [--check] | evidence [--check] | fit [PART] [--check]`

use std::process::ExitCode;
use xtask::tree::Tree;
use xtask::{Failed, Problem, arrows, code, evidence_page, fit, licences, pages, reference, tables};

const USAGE: &str = "\
usage: cargo run --release -p xtask -- TASK

  check              data rows, code rules, arrows between crates, licences
  reference          write data/reference/reference_values.csv
  reference --check  compare it with what this build computes
  evidence           choose and compute the tables of data/evidence
  evidence --check   compare them with what this build computes
  docs               write the generated pages under docs/
  docs --check       compare them with what this build would write
  fit [arms|strength] fit the muscle tables to published numbers; write them and docs/fit.md
  fit page           write docs/fit.md from the tables as they stand
  fit --check        compare docs/fit.md with the tables as they stand; fits nothing
";

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = args.iter().map(String::as_str).collect();
    let result = match words.as_slice() {
        ["check"] => check(),
        ["reference"] => reference::write(&Tree::here()),
        ["reference", "--check"] => reference::check(&Tree::here()),
        ["evidence"] => evidence_page::write(&Tree::here()),
        ["evidence", "--check"] => evidence_page::check(&Tree::here()),
        ["docs"] => pages::write(&Tree::here()),
        ["docs", "--check"] => pages::check(&Tree::here()),
        ["fit"] => fit::write(&Tree::here(), None),
        ["fit", "page"] => fit::page(&Tree::here()),
        ["fit", "--check"] | ["fit", _, "--check"] => fit::check(&Tree::here()),
        ["fit", part @ ("arms" | "strength")] => fit::write(&Tree::here(), Some(part)),
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
