//! Pages of the catalogue: what every movement trains, the best movements of every head, and what is the same.

use crate::Failed;
use answer::{HeadLook, Look};
use library::{Ask, Library};
use std::collections::BTreeMap;
use std::fmt::Write;

/// Two movements are the same by mechanics when no head's stimulus differs by more than this.
const NOISE: f64 = 0.01;
/// Movements told per head.
const BEST: usize = 5;

/// Every checked movement in the average man, middle values.
pub fn looks(library: &Library) -> Result<Vec<Look>, Failed> {
    let mut out = Vec::new();
    for m in library.movements() {
        let ask = Ask::middle(&m.id);
        out.push(library.look(&ask)?);
    }
    Ok(out)
}

/// Heads of a movement in falling order of stimulus, those of low confidence after the others.
fn leading(look: &Look) -> Vec<&HeadLook> {
    let mut heads: Vec<&HeadLook> = look.heads.iter().collect();
    let rank = |h: &&HeadLook| h.marks.iter().any(|m| m == answer::LOW_CONFIDENCE);
    heads.sort_by(|a, b| rank(a).cmp(&rank(b)).then(b.stimulus.mid.total_cmp(&a.stimulus.mid)).then(a.id.cmp(&b.id)));
    heads
}

/// One line of a family's table: load, what ends the set, the heads that get most.
pub fn trains(look: &Look) -> String {
    let heads: Vec<String> = (leading(look).into_iter().take(3))
        .filter(|h| h.stimulus.mid >= 0.15)
        .map(|h| format!("{} {:.1}", h.plain, h.stimulus.mid))
        .collect();
    format!(
        "{:.0} {} | {} | {}",
        look.load_kg,
        look.load_unit,
        answer::joint_word(&look.limiting_joint),
        if heads.is_empty() { "little".into() } else { heads.join("; ") }
    )
}

/// The page of heads and their best movements, and of movements that are the same.
pub fn best(library: &Library, looks: &[Look], mark: &str) -> Result<String, Failed> {
    let mut out = String::new();
    writeln!(
        out,
        "# Best movements of every head\n\n{mark}\n\nStimulus of a hard set in an average man, middle values, relative to \
         the head's reference movement; at most {BEST} movements a head, of {} computed. Read it with \
         [how sure we are](how_sure.md): differences below 0.1 mean nothing, heads marked * are of low confidence.\n",
        looks.len()
    )?;
    writeln!(out, "| head | most stimulus |\n|---|---|")?;
    for m in library.muscles() {
        let mut list: Vec<(&str, f64)> = Vec::new();
        for l in looks {
            if let Some(h) = l.heads.iter().find(|h| h.id == m.id) {
                list.push((&l.name, h.stimulus.mid));
            }
        }
        list.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(b.0)));
        let told: Vec<String> = list.iter().take(BEST).map(|(n, v)| format!("{n} {v:.2}")).collect();
        let low = looks.iter().flat_map(|l| &l.heads).find(|h| h.id == m.id);
        let mark = if low.is_some_and(|h| h.marks.iter().any(|k| k == answer::LOW_CONFIDENCE)) { "*" } else { "" };
        writeln!(out, "| {}{mark} ({}) | {} |", m.plain, m.id, told.join("; "))?;
    }
    let groups = alike(looks);
    let same: usize = groups.values().filter(|g| g.len() > 1).map(Vec::len).sum();
    writeln!(
        out,
        "\n## The same by mechanics\n\n{} of {} movements differ from every other by more than {NOISE} in some head. The \
         other {same} stand here with what they equal: equipment, guidance or wording differ, what they do to the heads \
         does not.\n",
        looks.len() - same,
        looks.len()
    )?;
    for g in groups.values().filter(|g| g.len() > 1) {
        writeln!(out, "- {}", g.iter().map(|&i| looks[i].name.as_str()).collect::<Vec<_>>().join(" = "))?;
    }
    Ok(out)
}

/// Movements by the first one they equal.
fn alike(looks: &[Look]) -> BTreeMap<usize, Vec<usize>> {
    let same = |a: &Look, b: &Look| {
        let of = |l: &Look, id: &str| l.heads.iter().find(|h| h.id == id).map_or(0.0, |h| h.stimulus.mid);
        a.heads.iter().chain(&b.heads).all(|h| (of(a, &h.id) - of(b, &h.id)).abs() <= NOISE)
    };
    let mut out: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for i in 0..looks.len() {
        let first = out.keys().copied().find(|&k| same(&looks[k], &looks[i])).unwrap_or(i);
        out.entry(first).or_default().push(i);
    }
    out
}
