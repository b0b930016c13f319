//! Shares of comparisons that pass, beside the goals set before.

use crate::cases::{CaseError, Table};
use crate::{Group, named};
use answer::ProofRow;
use std::collections::BTreeMap;

/// Goals: group, part (`all`, `fitted`, `held out` or a part of the group), least share.
const GOALS: &str = include_str!("../../../data/proof/goals.csv");

/// Rows of one group, or of one part of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Share {
    pub name: String,
    pub rows: usize,
    pub passed: usize,
    /// Least share aimed at; `None` where no goal was set.
    pub goal: Option<f64>,
}

impl Share {
    fn of(name: &str, rows: &[&ProofRow], goal: Option<f64>) -> Share {
        Share { name: name.into(), rows: rows.len(), passed: rows.iter().filter(|r| r.pass).count(), goal }
    }
    /// 0 without rows.
    pub fn share(&self) -> f64 {
        if self.rows == 0 { 0.0 } else { self.passed as f64 / self.rows as f64 }
    }
    /// Whether the goal is met; true without a goal.
    pub fn meets_goal(&self) -> bool {
        self.goal.is_none_or(|g| self.share() >= g - 1e-12)
    }
}

/// What a group came to.
#[derive(Clone, Debug, PartialEq)]
pub struct Summary {
    pub group: String,
    pub title: String,
    pub all: Share,
    /// Rows that steered a fit, and rows that did not; empty when all rows are of one kind.
    pub fits: Vec<Share>,
    /// By the `part` of the rows; empty when there is one part only.
    pub parts: Vec<Share>,
    /// Rows that a stated rule leaves out, by rule.
    pub left_out: BTreeMap<String, usize>,
}

/// Sums up, in the order of the groups. Groups without rows are left out. `extra`: the further tables given to
/// [`crate::prove`].
///
/// # Errors
/// A table that cannot be read.
pub fn summaries(groups: &[Group], rows: &[ProofRow], extra: &[(String, String)]) -> Result<Vec<Summary>, CaseError> {
    let goals = Table::parse("data/proof/goals.csv", GOALS)?;
    let mut goal_of = BTreeMap::new();
    for g in goals.rows() {
        goal_of.insert((g.text("group")?, g.text("part")?), g.number("share")?);
    }
    let mut out = Vec::new();
    for group in groups {
        let own: Vec<&ProofRow> = rows.iter().filter(|r| r.group == group.name).collect();
        if own.is_empty() {
            continue;
        }
        let share = |name: &str, keep: &dyn Fn(&ProofRow) -> bool| {
            let list: Vec<&ProofRow> = own.iter().copied().filter(|r| keep(r)).collect();
            Share::of(name, &list, goal_of.get(&(group.name, name)).copied())
        };
        let fits = vec![share("fitted", &|r| r.fitted), share("held out", &|r| !r.fitted)];
        let fits: Vec<Share> = fits.into_iter().filter(|s| s.rows > 0).collect();
        let mut names: Vec<&str> = Vec::new();
        for r in &own {
            if !names.contains(&r.part.as_str()) {
                names.push(&r.part);
            }
        }
        let parts: Vec<Share> = names.iter().map(|name| share(name, &|r| r.part == *name)).collect();
        let mut left_out = Table::parse(group.name, group.cases)?.left_out();
        for (file, text) in extra.iter().filter(|(file, _)| named(file) == group.name) {
            for (rule, n) in Table::parse(file, text)?.left_out() {
                *left_out.entry(rule).or_default() += n;
            }
        }
        out.push(Summary {
            group: group.name.into(),
            title: group.title.into(),
            all: share("all", &|_| true),
            fits: if fits.len() > 1 || fits.iter().any(|s| s.goal.is_some()) { fits } else { Vec::new() },
            parts: if parts.len() > 1 { parts } else { Vec::new() },
            left_out,
        });
    }
    Ok(out)
}
