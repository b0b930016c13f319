//! Proposals. In: the judged week and what may come in; out: the few edits that help most, in order, each with the whole
//! ledger before and after, and one line for what could not be fixed and why.
//!
//! Greedy: the best single edit is taken, the week is evaluated anew, and so on. Proposals therefore build on each other
//! in the order shown: "before" of each is the week with those above it applied. Fewest edits first: settings and swaps
//! are cheaper than added sets, and nothing is proposed whose gain does not pay for its price (`constants.csv`).

use crate::gaps::{is_gap, number};
use crate::ledger::{Tally, tally};
use crate::rules::Aim;
use crate::search::{Edit, Search};
use crate::week::Plan;
use crate::{head_title, show, show_band};
use answer::Proposal;
use std::collections::BTreeMap;

/// Changes of a head worth showing, credited sets.
const WORTH_SHOWING: f64 = 0.3;

pub(crate) struct Outcome {
    pub proposals: Vec<Proposal>,
    pub notes: Vec<String>,
    /// The week with every proposal applied.
    pub plan: Plan,
}

/// Up to `limit` proposals for a plan of one week.
pub(crate) fn propose(search: &Search, start: &Plan, limit: usize) -> Outcome {
    let mut plan = start.clone();
    let mut proposals = Vec::new();
    let mut notes = Vec::new();
    if search.gate.hold_all {
        notes.push("No proposals while a stop flag stands: it must be lifted first.".to_string());
        return Outcome { proposals, notes, plan };
    }
    let count = search.heads.len();
    let mut before = tally(&plan, search.table, count, &search.rules.constants);
    for _ in 0..limit {
        let Some(edit) = search.best(&plan) else { break };
        let next = search.apply(&plan, edit);
        let after = tally(&next, search.table, count, &search.rules.constants);
        proposals.push(proposal(search, start, &plan, edit, &before, &after));
        (plan, before) = (next, after);
    }
    if search.gate.hold_volume {
        notes.push(format!("No sets are added: {}.", search.gate.holds.join("; ")));
    }
    if proposals.len() > 1 {
        notes.push("Proposals build on each other in the order shown.".into());
    }
    notes.extend(unfixed(search, &plan, &before, proposals.len() == limit));
    Outcome { proposals, notes, plan }
}

fn proposal(search: &Search, start: &Plan, plan: &Plan, edit: Edit, before: &[Tally], after: &[Tally]) -> Proposal {
    let mut changes: Vec<(usize, f64, f64)> = (0..search.heads.len())
        .map(|h| (h, before[h].credited.pooled.mid, after[h].credited.pooled.mid))
        .filter(|(_, b, a)| (a - b).abs() >= WORTH_SHOWING)
        .collect();
    changes.sort_by(|x, y| (y.2 - y.1).total_cmp(&(x.2 - x.1)));
    let (kind, text) = words(search, plan, edit);
    let movement = edit.movement(plan);
    let m = &search.table.movements[movement];
    let mut cautions = search.objections[movement].cautions.clone();
    cautions.extend(m.cautions.iter().filter(|c| !c.is_empty() && *c != "none").cloned());
    let c = &search.rules.constants;
    if !start.lines.iter().any(|l| search.table.movements[l.movement].movement == m.movement) {
        let long = m.heads.iter().any(|h| h.long && h.credit.pooled.mid >= c.strong_credit);
        cautions.push(format!(
            "new here: for two weeks at most {:.0} sets a session with {:.0} or more in reserve{}",
            c.new_sets,
            c.new_rir,
            if long { ", never to failure at long length" } else { "" }
        ));
    }
    if !m.stop_signs.is_empty() {
        cautions.push(format!("stop with: {}", m.stop_signs.join(", ")));
    }
    Proposal {
        edit: text,
        reason: reason(search, plan, edit, &changes),
        before: named(search, &changes, |c| c.1),
        after: named(search, &changes, |c| c.2),
        kind: kind.into(),
        cautions,
        minutes: search.minutes_added(plan, edit).unwrap_or(0.0),
    }
}

fn named(
    search: &Search,
    changes: &[(usize, f64, f64)],
    pick: impl Fn(&(usize, f64, f64)) -> f64,
) -> BTreeMap<String, f64> {
    changes.iter().map(|c| (search.heads[c.0].head.clone(), pick(c))).collect()
}

fn words(search: &Search, plan: &Plan, edit: Edit) -> (&'static str, String) {
    let name = |m: usize| search.table.movements[m].name.as_str();
    let day = &plan.days[edit.day(plan)].1;
    let on = if day.is_empty() { String::new() } else { format!(" on {day}") };
    let c = &search.rules.constants;
    match edit {
        Edit::Setting { line, movement } => {
            let (old, new) = (&search.table.movements[plan.lines[line].movement], &search.table.movements[movement]);
            let changed: Vec<String> = new
                .settings
                .iter()
                .filter(|(key, value)| old.settings.get(*key) != Some(*value))
                .map(|(key, value)| match old.settings.get(key) {
                    Some(was) => format!("{key} from {was} to {value}"),
                    None => format!("{key} to {value}"),
                })
                .collect();
            ("setting", format!("Change {}{on}: {}", old.name, changed.join(", ")))
        }
        Edit::Swap { line, movement, sets } => {
            let had = plan.lines[line].sets();
            let fewer =
                if sets < had { format!(", {} sets instead of {}", number(sets), number(had)) } else { String::new() };
            ("swap", format!("Swap {} for {}{on}{fewer}", name(plan.lines[line].movement), name(movement)))
        }
        Edit::Move { line, movement, sets } => (
            "move",
            format!(
                "Do {} of the {} sets of {} as {}{on}",
                number(sets),
                number(plan.lines[line].sets()),
                name(plan.lines[line].movement),
                name(movement)
            ),
        ),
        Edit::Add { movement, sets, .. } => (
            "add",
            format!(
                "Add {} sets of {}{on}, {:.0}–{:.0} repetitions, {:.0} in reserve",
                number(sets),
                name(movement),
                c.reps_low_default,
                c.reps_high_default,
                c.new_rir
            ),
        ),
        Edit::More { line, sets } => {
            let plural = if sets > 1.0 { "sets" } else { "set" };
            ("add", format!("Add {} {plural} to {}{on}", number(sets), name(plan.lines[line].movement)))
        }
    }
}

fn reason(search: &Search, plan: &Plan, edit: Edit, changes: &[(usize, f64, f64)]) -> String {
    let line = |&(h, b, a): &(usize, f64, f64)| {
        format!("{} {} → {} of {}", head_title(&search.heads[h].head), show(b), show(a), show_band(search.bands[h]))
    };
    let wanted = |h: usize| search.aims[h] > Aim::Leave;
    let mut parts = Vec::new();
    if let Edit::Swap { line, .. } | Edit::Setting { line, .. } = edit
        && let Some(why) = &search.objections[plan.lines[line].movement].leave_out
    {
        parts.push(format!("{}: {why}", search.table.movements[plan.lines[line].movement].name));
    }
    // The heads a client wants most first; what is known least never leads.
    let mut helped: Vec<&(usize, f64, f64)> =
        changes.iter().filter(|(h, b, a)| a > b && is_gap(*b, search.aims[*h], search.bands[*h])).collect();
    helped.sort_by_key(|(h, ..)| (search.heads[*h].low_confidence, std::cmp::Reverse(search.aims[*h])));
    parts.extend(helped.into_iter().take(3).map(line));
    let lost: Vec<String> = changes.iter().rev().filter(|(h, b, a)| a < b && wanted(*h)).take(2).map(line).collect();
    if !lost.is_empty() {
        parts.push(format!("costs {}", lost.join(", ")));
    }
    parts.join("; ")
}

/// What is still below its band after the proposals, by reason.
fn unfixed(search: &Search, plan: &Plan, tallies: &[Tally], stopped_at_limit: bool) -> Vec<String> {
    let useful = search.rules.constants.useful_credit;
    let mut by_reason: Vec<(String, Vec<String>)> = Vec::new();
    for (h, head) in search.heads.iter().enumerate() {
        let credited = tallies[h].credited.pooled.mid;
        if !is_gap(credited, search.aims[h], search.bands[h]) {
            continue;
        }
        let here: Vec<usize> = search
            .candidates
            .iter()
            .copied()
            .chain(plan.lines.iter().map(|l| l.movement))
            .filter(|&m| search.table.cells[m][h].pooled.mid >= useful)
            .collect();
        let free = here.iter().any(|&m| search.objections[m].leave_out.is_none());
        let why = match here.first() {
            None => format!("no movement offered with this kit gives {useful} or more a set"),
            Some(&m) if !free => format!(
                "everything offered for it is left out: {}",
                search.objections[m].leave_out.clone().unwrap_or_default()
            ),
            Some(_) if search.gate.hold_volume => "it needs more sets, and sets are not added for now".into(),
            Some(_) if here.iter().all(|&m| search.is_new(m)) => {
                "what would cover it is new, and new movements stay at few sets for two weeks".into()
            }
            Some(_) if search.would_fit_without_clock(plan, h) => "the days have no minutes left for it".into(),
            Some(_) if stopped_at_limit => "it needs more edits than are shown".into(),
            Some(_) => "what is missing is too little to pay for another edit, or another head would fall below".into(),
        };
        let name = format!("{} {} of {}", head_title(&head.head), show(credited), show_band(search.bands[h]));
        match by_reason.iter_mut().find(|(r, _)| *r == why) {
            Some((_, names)) => names.push(name),
            None => by_reason.push((why, vec![name])),
        }
    }
    by_reason
        .into_iter()
        .map(|(why, names)| {
            let more = names.len().saturating_sub(6);
            let tail = if more > 0 { format!(" and {more} more") } else { String::new() };
            format!("Not fixed, {why}: {}{tail}.", names[..names.len() - more].join(", "))
        })
        .collect()
}
