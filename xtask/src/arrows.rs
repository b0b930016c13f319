//! Arrows between the crates: who may know whom. The table here is the map of `ARCHITECTURE.md`.

use crate::tree::Tree;
use crate::{Failed, Problem};
use std::collections::BTreeMap;

/// Crate → crates of the house it may use. What is not listed is forbidden; what is listed need not be used.
pub const ALLOWED: [(&str, &[&str]); 20] = [
    ("units", &[]),
    ("numerics", &[]),
    ("answer", &[]),
    ("anatomy", &["units", "numerics"]),
    ("movement", &["units", "numerics", "answer", "anatomy"]),
    ("mechanics", &["units", "numerics", "anatomy", "movement"]),
    ("stimulus", &["units", "numerics", "answer", "anatomy", "movement", "mechanics"]),
    ("programme", &["units", "answer"]),
    ("figure", &["answer"]),
    ("sheet", &["answer", "movement"]),
    ("library", &["units", "numerics", "answer", "anatomy", "movement", "mechanics", "stimulus", "programme"]),
    ("proof", &["units", "numerics", "answer", "anatomy", "movement", "mechanics", "stimulus", "library"]),
    ("fit", &["units", "numerics", "anatomy", "proof"]),
    ("planner", &["answer", "programme"]),
    ("evidence", &["numerics", "answer", "movement", "library"]),
    ("store", &["answer", "programme"]),
    ("desk", &["answer", "movement", "library", "proof", "programme", "sheet", "figure", "planner", "evidence"]),
    ("app", &["answer", "movement", "library", "programme", "sheet", "figure", "desk", "store"]),
    ("lengthwise", &["answer", "movement", "library", "proof", "programme", "sheet", "figure", "desk", "store", "app"]),
    ("xtask", &["units", "numerics", "answer", "anatomy", "evidence", "fit", "library", "proof"]),
];

pub fn check(tree: &Tree) -> Result<Vec<Problem>, Failed> {
    let mut manifests = Vec::new();
    for path in tree.files("crates", &["Cargo.toml"])?.into_iter().chain(["xtask/Cargo.toml".to_string()]) {
        let text = tree.text(&path)?;
        manifests.push((path, text));
    }
    arrows(&manifests.iter().map(|(p, t)| (p.as_str(), t.as_str())).collect::<Vec<_>>())
}

/// Arrows that the map does not allow. Tests and benchmarks may look wherever they want (`dev-dependencies`).
pub fn arrows(manifests: &[(&str, &str)]) -> Result<Vec<Problem>, Failed> {
    let mut uses: BTreeMap<String, (&str, Vec<String>)> = BTreeMap::new();
    for (path, text) in manifests {
        let table: toml::Table = text.parse().map_err(|e| format!("{path}: {e}"))?;
        let name = table.get("package").and_then(|p| p.get("name")).and_then(|n| n.as_str());
        let name = name.ok_or_else(|| format!("{path}: no package name"))?.to_string();
        let mut list = Vec::new();
        for section in ["dependencies", "build-dependencies"] {
            let part = table.get(section).and_then(|d| d.as_table());
            list.extend(part.into_iter().flat_map(|d| d.keys().cloned()));
        }
        uses.insert(name, (path, list));
    }
    let mut out = Vec::new();
    for (name, (path, list)) in &uses {
        let Some((_, allowed)) = ALLOWED.iter().find(|(n, _)| n == name) else {
            out.push(Problem::new(*path, format!("the crate `{name}` is not on the map of crates")));
            continue;
        };
        for other in list.iter().filter(|o| uses.contains_key(*o) && !allowed.contains(&o.as_str())) {
            out.push(Problem::new(*path, format!("`{name}` must not know `{other}`")));
        }
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wrong_arrow_and_an_unknown_crate_are_found() {
        let units = "[package]\nname = \"units\"\n[dependencies]\nanatomy.workspace = true\n";
        let anatomy = "[package]\nname = \"anatomy\"\n[dependencies]\nunits.workspace = true\n";
        let novel = "[package]\nname = \"novel\"\n";
        let got = arrows(&[("u", units), ("a", anatomy), ("n", novel)]).expect("readable manifests");
        let got: Vec<String> = got.iter().map(Problem::to_string).collect();
        assert_eq!(got, ["n: the crate `novel` is not on the map of crates", "u: `units` must not know `anatomy`"]);
    }

    #[test]
    fn the_allowed_arrows_have_no_ring() {
        // Each crate stands after everything it may use.
        for (i, (name, list)) in ALLOWED.iter().enumerate() {
            for other in *list {
                let at = ALLOWED.iter().position(|(n, _)| n == other);
                assert!(at.is_some_and(|at| at < i), "{name} uses {other}, which does not stand before it");
            }
        }
    }
}
