//! The fit of the muscle tables to published numbers: runs it, writes the tables, and the page about it.

use crate::pages::stale;
use crate::tree::Tree;
use crate::{Failed, Problem};

pub const PAGE: &str = "docs/fit.md";
const FOLDER: &str = "data/";

/// All tables of anatomy and of published comparisons, by their name below `data/`.
fn files(tree: &Tree) -> Result<fit::Files, Failed> {
    let mut out = Vec::new();
    let lists = [tree.files("data/anatomy", &[".csv"])?, tree.files("data/proof", &[".csv"])?];
    for path in lists.concat() {
        let name = path.trim_start_matches(FOLDER).to_string();
        out.push((name, tree.text(&path)?));
    }
    Ok(out)
}

fn problems(list: Vec<fit::Problem>) -> Vec<Problem> {
    let problem =
        |p: fit::Problem| Problem::at(&format!("{FOLDER}{}", p.file), p.line, format!("{}: {}", p.column, p.what));
    list.into_iter().map(problem).collect()
}

/// Fits a part (`arms`, `strength`) or everything, writes the tables that changed and the page.
pub fn write(tree: &Tree, part: Option<&str>) -> Result<Vec<Problem>, Failed> {
    let mut all = files(tree)?;
    type Part = fn(&fit::Files) -> Result<fit::Files, Vec<fit::Problem>>;
    let parts: [(&str, Part); 2] = [("arms", fit::fit_arms), ("strength", fit::fit_strength)];
    for (_, run) in parts.iter().filter(|p| part.is_none_or(|name| name == p.0)) {
        match run(&all) {
            Ok(changed) => {
                for (name, text) in changed {
                    tree.write(&format!("{FOLDER}{name}"), &text)?;
                    fit::replace(&mut all, &name, text);
                }
            }
            Err(list) => return Ok(problems(list)),
        }
    }
    page(tree)
}

/// Writes the page from the tables as they stand, without fitting.
pub fn page(tree: &Tree) -> Result<Vec<Problem>, Failed> {
    match fit::report::page(&files(tree)?) {
        Ok(text) => tree.write(PAGE, &text)?,
        Err(list) => return Ok(problems(list)),
    }
    Ok(Vec::new())
}

/// Compares the page with what the tables as they stand would give. Fits nothing.
pub fn check(tree: &Tree) -> Result<Vec<Problem>, Failed> {
    match fit::report::page(&files(tree)?) {
        Ok(text) => Ok(stale(PAGE, &tree.text(PAGE).unwrap_or_default(), &text).into_iter().collect()),
        Err(list) => Ok(problems(list)),
    }
}
