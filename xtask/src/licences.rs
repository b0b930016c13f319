//! Licences and sources of every package in `Cargo.lock`, against the lists of `deny.toml`. Works offline once the
//! packages are there, with cargo alone.

use crate::tree::Tree;
use crate::{Failed, Problem};
use std::collections::BTreeSet;
use std::process::Command;

/// The lists of `deny.toml`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Lists {
    /// Licences that need no question.
    pub allowed: Vec<String>,
    /// Package names that must not come in.
    pub banned: Vec<String>,
}

impl Lists {
    pub fn parse(text: &str) -> Result<Lists, Failed> {
        let table: toml::Table = text.parse().map_err(|e| format!("deny.toml: {e}"))?;
        let list = |section: &str, key: &str| -> Vec<toml::Value> {
            table.get(section).and_then(|s| s.get(key)).and_then(|v| v.as_array()).cloned().unwrap_or_default()
        };
        let allowed: Vec<String> =
            list("licenses", "allow").iter().filter_map(|v| v.as_str().map(str::to_string)).collect();
        if allowed.is_empty() {
            return Err("deny.toml: no licence is allowed".into());
        }
        let banned = list("bans", "deny");
        let banned = banned.iter().filter_map(|v| v.get("crate").and_then(|n| n.as_str()).map(str::to_string));
        Ok(Lists { allowed, banned: banned.collect() })
    }
}

pub fn check(tree: &Tree) -> Result<Vec<Problem>, Failed> {
    let lists = Lists::parse(&tree.text("deny.toml")?)?;
    let mut out = sources(&tree.text("Cargo.lock")?, &lists)?;
    out.extend(licences(&metadata(tree)?, &lists)?);
    Ok(out)
}

/// `cargo metadata`; without the network where all packages are there already.
fn metadata(tree: &Tree) -> Result<String, Failed> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let run = |extra: &[&str]| {
        let fixed = ["metadata", "--format-version", "1", "--locked"];
        Command::new(&cargo).args(fixed).args(extra).current_dir(&tree.root).output()
    };
    let mut got = run(&["--offline"])?;
    if !got.status.success() {
        got = run(&[])?;
    }
    if !got.status.success() {
        return Err(format!("cargo metadata: {}", String::from_utf8_lossy(&got.stderr).trim()).into());
    }
    Ok(String::from_utf8(got.stdout)?)
}

/// Every package comes from this tree or from one registry with a checksum; none is banned.
pub fn sources(lock: &str, lists: &Lists) -> Result<Vec<Problem>, Failed> {
    let table: toml::Table = lock.parse().map_err(|e| format!("Cargo.lock: {e}"))?;
    let packages = table.get("package").and_then(|p| p.as_array()).cloned().unwrap_or_default();
    let mut out = Vec::new();
    let mut registries = BTreeSet::new();
    for p in &packages {
        let text = |key: &str| p.get(key).and_then(|v| v.as_str());
        let name = format!("{} {}", text("name").unwrap_or("?"), text("version").unwrap_or("?"));
        if lists.banned.iter().any(|b| text("name") == Some(b)) {
            out.push(Problem::new("Cargo.lock", format!("{name} is banned in deny.toml")));
        }
        match text("source") {
            None => {}
            Some(s) if s.starts_with("registry+") => {
                registries.insert(s.to_string());
                if text("checksum").is_none() {
                    out.push(Problem::new("Cargo.lock", format!("{name} has no checksum")));
                }
            }
            Some(s) => out.push(Problem::new("Cargo.lock", format!("{name} comes from {s}, not from a registry"))),
        }
    }
    if registries.len() > 1 {
        out.push(Problem::new("Cargo.lock", format!("{} registries, one is allowed", registries.len())));
    }
    if packages.is_empty() {
        out.push(Problem::new("Cargo.lock", "no packages"));
    }
    Ok(out)
}

/// Every package outside the house has a licence that the list allows.
pub fn licences(metadata: &str, lists: &Lists) -> Result<Vec<Problem>, Failed> {
    let json: serde_json::Value = serde_json::from_str(metadata)?;
    let packages = json["packages"].as_array().ok_or("cargo metadata: no packages")?;
    let mut out = Vec::new();
    for p in packages {
        let name = format!("{} {}", p["name"].as_str().unwrap_or("?"), p["version"].as_str().unwrap_or("?"));
        match p["license"].as_str() {
            None => out.push(Problem::new(name, "no licence expression")),
            Some(l) if allows(l, &lists.allowed) => {}
            Some(l) => out.push(Problem::new(name, format!("`{l}` is not in the list of deny.toml"))),
        }
    }
    Ok(out)
}

/// Whether a licence expression can be met with allowed licences alone. `A/B` is the old way to write `A OR B`.
pub fn allows(expression: &str, allowed: &[String]) -> bool {
    let spaced = expression.replace('/', " OR ").replace('(', " ( ").replace(')', " ) ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let mut at = 0;
    let met = any(&words, &mut at, allowed);
    met == Some(true) && at == words.len()
}

fn any(words: &[&str], at: &mut usize, allowed: &[String]) -> Option<bool> {
    let mut met = all(words, at, allowed)?;
    while words.get(*at) == Some(&"OR") {
        *at += 1;
        met |= all(words, at, allowed)?;
    }
    Some(met)
}

fn all(words: &[&str], at: &mut usize, allowed: &[String]) -> Option<bool> {
    let mut met = one(words, at, allowed)?;
    while words.get(*at) == Some(&"AND") {
        *at += 1;
        met &= one(words, at, allowed)?;
    }
    Some(met)
}

fn one(words: &[&str], at: &mut usize, allowed: &[String]) -> Option<bool> {
    let word = *words.get(*at)?;
    *at += 1;
    if word == "(" {
        let met = any(words, at, allowed)?;
        (words.get(*at) == Some(&")")).then_some(())?;
        *at += 1;
        return Some(met);
    }
    let mut name = word.to_string();
    if words.get(*at) == Some(&"WITH") {
        name = format!("{name} WITH {}", words.get(*at + 1)?);
        *at += 2;
    }
    Some(allowed.contains(&name))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lists() -> Lists {
        Lists::parse(
            "[licenses]\nallow = [\"MIT\", \"Apache-2.0\", \"Unicode-3.0\", \"Apache-2.0 WITH LLVM-exception\"]\n\
             [bans]\ndeny = [{ crate = \"leftpad\" }]\n",
        )
        .expect("a readable list")
    }

    #[test]
    fn expressions_are_understood() {
        let check = |text: &str, want: bool| assert_eq!(allows(text, &lists().allowed), want, "{text}");
        check("MIT", true);
        check("MIT/Apache-2.0", true);
        check("GPL-3.0", false);
        check("GPL-3.0 OR MIT", true);
        check("GPL-3.0 AND MIT", false);
        check("(MIT OR GPL-3.0) AND Unicode-3.0", true);
        check("(MIT OR Apache-2.0) AND GPL-3.0", false);
        check("Apache-2.0 WITH LLVM-exception OR GPL-3.0", true);
        check("Apache-2.0 WITH Other-exception", false);
        check("MIT OR", false);
        check("(MIT", false);
        check("", false);
    }

    #[test]
    fn foreign_sources_are_found() {
        let check = |body: &str, want: usize| {
            let got = sources(body, &lists()).expect("a readable lock file");
            assert_eq!(got.len(), want, "{got:?}");
        };
        let package = |name: &str, rest: &str| format!("[[package]]\nname = \"{name}\"\nversion = \"1.0.0\"\n{rest}\n");
        let good = "source = \"registry+one\"\nchecksum = \"aa\"";
        check(&package("own", ""), 0);
        check(&package("a", good), 0);
        check(&package("a", "source = \"registry+one\""), 1);
        check(&package("a", "source = \"git+https://host/x\""), 1);
        check(&package("leftpad", good), 1);
        check(&(package("a", good) + &package("b", "source = \"registry+two\"\nchecksum = \"aa\"")), 1);
        check("version = 4\n", 1);
    }

    #[test]
    fn a_missing_licence_is_found() {
        let got = licences(
            r#"{"packages":[{"name":"a","version":"1.0.0","license":"MIT"},{"name":"b","version":"1.0.0","license":null},
            {"name":"c","version":"2.0.0","license":"GPL-3.0"}]}"#,
            &lists(),
        )
        .expect("readable");
        assert_eq!(got.iter().map(|p| p.place.as_str()).collect::<Vec<_>>(), ["b 1.0.0", "c 2.0.0"]);
    }
}
