//! Proposals. In: the judged week and what may come in; out: the few edits that help most, in order, each with the whole
//! ledger before and after, and one line for what could not be fixed and why.
//!
//! Greedy: the best single edit is taken, the week is evaluated anew, and so on. Proposals therefore build on each other
//! in the order shown: "before" of each is the week with those above it applied. Fewest edits first: settings and swaps
//! are cheaper than added sets, and nothing is proposed whose gain does not pay for its price (`constants.csv`): "change
//! nothing" is an answer.

use crate::edits::{Edit, apply};
use crate::gaps::{is_gap, number};
use crate::ledger::{Tally, tally};
use crate::rules::Aim;
use crate::search::Search;
use crate::week::Plan;
use crate::{head_title, joint_of, joint_word, show, show_band};
use answer::{JointSets, Proposal};
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
        let next = apply(&plan, edit, search.table, search.rules);
        let after = tally(&next, search.table, count, &search.rules.constants);
        proposals.push(proposal(search, start, (&plan, &next), edit, (&before, &after)));
        (plan, before) = (next, after);
    }
    if search.gate.hold_volume {
        notes.push(format!("No sets are added: {}.", search.gate.holds.join("; ")));
    }
    if proposals.len() > 1 {
        notes.push("Proposals build on each other in the order shown.".into());
    }
    if proposals.is_empty() && !search.gate.hold_all {
        notes.push("Change nothing: no edit of this week is worth its price.".into());
    }
    notes.extend(unfixed(search, &plan, &before, proposals.len() == limit));
    Outcome { proposals, notes, plan }
}

fn proposal(
    search: &Search,
    start: &Plan,
    (plan, next): (&Plan, &Plan),
    edit: Edit,
    (before, after): (&[Tally], &[Tally]),
) -> Proposal {
    let mut changes: Vec<(usize, f64, f64)> = (0..search.heads.len())
        .map(|h| (h, before[h].credited.pooled.mid, after[h].credited.pooled.mid))
        .filter(|(_, b, a)| (a - b).abs() >= WORTH_SHOWING)
        .collect();
    changes.sort_by(|x, y| (y.2 - y.1).total_cmp(&(x.2 - x.1)));
    let movement = edit.movement(plan);
    let m = &search.table.movements[movement];
    let stays = !edit.removes(plan) && !matches!(edit, Edit::Fewer { .. });
    let mut cautions = Vec::new();
    let c = &search.rules.constants;
    let learnt = plan.lines.iter().any(|l| search.table.movements[l.movement].movement == m.movement);
    let is_new = stays && !start.lines.iter().any(|l| search.table.movements[l.movement].movement == m.movement);
    if stays {
        cautions.extend(search.objections[movement].cautions.iter().cloned());
        cautions.extend(m.cautions.iter().filter(|c| !c.is_empty() && *c != "none").cloned());
    }
    if is_new {
        let long = m.heads.iter().any(|h| h.long && h.credit.pooled.mid >= c.strong_credit);
        cautions.push(format!(
            "new here: for two weeks at most {:.0} sets a session with {:.0} or more in reserve{}",
            c.new_sets,
            c.new_rir,
            if long { ", never to failure at long length" } else { "" }
        ));
    }
    let mut stop_signs = if stays { m.stop_signs.clone() } else { Vec::new() };
    stop_signs.extend(pain_signs(search, &m.loaded_axes).into_iter().filter(|_| stays));
    let mut seen = std::collections::BTreeSet::new();
    stop_signs.retain(|s| seen.insert(s.clone()));
    if !stop_signs.is_empty() {
        cautions.push(format!("stop with: {}", stop_signs.join(", ")));
    }
    let minutes = search.minutes_added(plan, edit).unwrap_or(0.0);
    // Focus heads that come to work more at long length: a tenth of their sets is worth telling.
    let lengths: Vec<(usize, f64, f64)> = (0..search.heads.len())
        .filter(|&h| search.aims[h] == Aim::Focus && before[h].long_share < c.long_share_wanted)
        .map(|h| (h, before[h].long_share, after[h].long_share))
        .filter(|(_, b, a)| a - b >= 0.1)
        .collect();
    Proposal {
        edit: words(search, plan, edit),
        reason: reason(search, (plan, next), edit, &changes, minutes, &lengths),
        before: named(search, &changes, |c| c.1),
        after: named(search, &changes, |c| c.2),
        kind: edit.kind().into(),
        cautions,
        minutes,
        costs: costs(search, &changes, minutes, is_new && !learnt),
        stop_signs,
        joint_sets: joint_sets(search, plan, next),
        change: edit.change(plan, search.table),
    }
}

/// Stop signs of the pains at joints that a movement loads.
fn pain_signs(search: &Search, axes: &[String]) -> Vec<String> {
    let c = &search.rules.constants;
    let hurts = |(joint, score): &&(String, f64)| {
        *score >= c.pain_watch_from && axes.iter().any(|a| joint_of(a) == joint.as_str())
    };
    let row =
        search.gate.pains.iter().find(hurts).and_then(|(_, score)| {
            search.rules.row(if *score > c.pain_change_above { "pain-high" } else { "pain-mid" })
        });
    row.map_or(Vec::new(), |r| r.stop_signs.clone())
}

/// What an edit costs, one line each.
fn costs(search: &Search, changes: &[(usize, f64, f64)], minutes: f64, is_new: bool) -> Vec<String> {
    let mut out: Vec<String> = changes
        .iter()
        .rev()
        .filter(|(h, b, a)| a < b && search.aims[*h] > Aim::Leave)
        .take(3)
        .map(|&(h, b, a)| format!("{} {} → {}", head_title(&search.heads[h].head), show(b), show(a)))
        .collect();
    if minutes >= 0.5 {
        out.push(format!("{minutes:.0} min more"));
    }
    if is_new {
        out.push("a movement to learn".into());
    }
    out
}

/// Hard sets that load a joint, where an edit changes them.
fn joint_sets(search: &Search, plan: &Plan, next: &Plan) -> Vec<JointSets> {
    let count = |plan: &Plan| {
        let mut sums: BTreeMap<String, (f64, f64)> = BTreeMap::new();
        for line in &plan.lines {
            let m = &search.table.movements[line.movement];
            let mut joints: Vec<&str> = m.loaded_axes.iter().map(|a| joint_of(a)).collect();
            joints.sort_unstable();
            joints.dedup();
            for joint in joints {
                let sum = sums.entry(joint.to_string()).or_default();
                sum.0 += line.sets();
                sum.1 += line.sets() * m.joint_peak_nm.get(joint).copied().unwrap_or(0.0);
            }
        }
        sums
    };
    let (was, is) = (count(plan), count(next));
    let mut joints: Vec<&String> = was.keys().chain(is.keys()).collect();
    joints.sort();
    joints.dedup();
    let of = |sums: &BTreeMap<String, (f64, f64)>, joint: &str| sums.get(joint).copied().unwrap_or_default();
    joints
        .into_iter()
        .map(|j| {
            let ((before, before_nm), (after, after_nm)) = (of(&was, j), of(&is, j));
            JointSets { joint: j.clone(), before, after, before_nm, after_nm }
        })
        .filter(|j| (j.after - j.before).abs() > 1e-9 || (j.after_nm - j.before_nm).abs() > 0.05 * j.before_nm)
        .collect()
}

fn named(
    search: &Search,
    changes: &[(usize, f64, f64)],
    pick: impl Fn(&(usize, f64, f64)) -> f64,
) -> BTreeMap<String, f64> {
    changes.iter().map(|c| (search.heads[c.0].head.clone(), pick(c))).collect()
}

fn words(search: &Search, plan: &Plan, edit: Edit) -> String {
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
            format!("Change {}{on}: {}", old.name, changed.join(", "))
        }
        Edit::Swap { line, movement, sets } => {
            let had = plan.lines[line].sets();
            let fewer =
                if sets < had { format!(", {} sets instead of {}", number(sets), number(had)) } else { String::new() };
            format!("Swap {} for {}{on}{fewer}", name(plan.lines[line].movement), name(movement))
        }
        Edit::Move { line, movement, sets } => format!(
            "Do {} of the {} sets of {} as {}{on}",
            number(sets),
            number(plan.lines[line].sets()),
            name(plan.lines[line].movement),
            name(movement)
        ),
        Edit::Add { movement, sets, .. } => format!(
            "Add {} sets of {}{on}, {:.0}–{:.0} repetitions, {:.0} in reserve",
            number(sets),
            name(movement),
            c.reps_low_default,
            c.reps_high_default,
            c.new_rir
        ),
        Edit::More { line, sets } => {
            format!("Add {} to {}{on}", sets_word(sets), name(plan.lines[line].movement))
        }
        Edit::Fewer { line, .. } if edit.removes(plan) => {
            format!("Take out {} ({}){on}", name(plan.lines[line].movement), sets_word(plan.lines[line].sets()))
        }
        Edit::Fewer { line, sets } => {
            let l = &plan.lines[line];
            format!(
                "Take {} from {}{on}, {} stay",
                sets_word(sets),
                name(l.movement),
                number((l.sets() - sets).max(0.0))
            )
        }
        Edit::Shift { line, .. } => {
            let l = &plan.lines[line];
            let from = &plan.days[l.day].1;
            format!("Do {} on {day} instead of {from}", name(l.movement))
        }
        Edit::Pair { line, with } => format!(
            "Do {} and {}{on} as a pair, a set of each in turn",
            name(plan.lines[line].movement),
            name(plan.lines[with].movement)
        ),
    }
}

fn sets_word(sets: f64) -> String {
    format!("{} {}", number(sets), if (sets - 1.0).abs() < 1e-9 { "set" } else { "sets" })
}

fn reason(
    search: &Search,
    (plan, next): (&Plan, &Plan),
    edit: Edit,
    changes: &[(usize, f64, f64)],
    minutes: f64,
    lengths: &[(usize, f64, f64)],
) -> String {
    let line = |&(h, b, a): &(usize, f64, f64)| {
        format!("{} {} → {} of {}", head_title(&search.heads[h].head), show(b), show(a), show_band(search.bands[h]))
    };
    let wanted = |h: usize| search.aims[h] > Aim::Leave;
    let mut parts = Vec::new();
    if let Edit::Swap { line, .. } | Edit::Setting { line, .. } | Edit::Fewer { line, .. } = edit
        && let Some(why) = &search.objections[plan.lines[line].movement].leave_out
    {
        parts.push(format!("{}: {why}", search.table.movements[plan.lines[line].movement].name));
    }
    if let (Edit::Pair { .. } | Edit::Shift { .. } | Edit::Fewer { .. }, Some(line)) = (edit, edit.line()) {
        let day = plan.lines[line].day;
        let m = search.mid_minutes(plan, day);
        if let Some(limit) = search.available.get(day).copied().flatten().filter(|limit| m > *limit) {
            let after = search.mid_minutes(next, day);
            parts.push(format!("{} takes about {m:.0} min of {limit:.0}; then {after:.0}", plan.days[day].1));
        } else if minutes < -0.5 {
            parts.push(format!("saves {:.0} min", -minutes));
        }
    }
    for j in joint_sets(search, plan, next).iter().filter(|j| j.after < j.before || j.after_nm < j.before_nm) {
        let c = &search.rules.constants;
        if search.gate.pains.iter().any(|(joint, score)| *joint == j.joint && *score >= c.pain_watch_from) {
            let word = joint_word(&j.joint);
            let load = if j.before_nm > 0.0 && j.after_nm < j.before_nm {
                format!(", their moments together {:.0} % less", 100.0 * (1.0 - j.after_nm / j.before_nm))
            } else {
                String::new()
            };
            let (was, is) = (number(j.before), number(j.after));
            parts.push(format!("sets that load the {word}, which hurts: {was} → {is}{load}"));
        }
    }
    let above: Vec<String> = changes
        .iter()
        .rev()
        .filter(|(h, b, a)| a < b && wanted(*h) && *b > search.bands[*h].high && *a >= search.bands[*h].low)
        .take(2)
        .map(line)
        .collect();
    if matches!(edit, Edit::Fewer { .. }) && !above.is_empty() {
        parts.push(format!("more than asked for: {}", above.join(", ")));
    }
    // The heads a client wants most first; what is known least never leads.
    let mut helped: Vec<&(usize, f64, f64)> =
        changes.iter().filter(|(h, b, a)| a > b && is_gap(*b, search.aims[*h], search.bands[*h])).collect();
    helped.sort_by_key(|(h, ..)| (search.heads[*h].low_confidence, std::cmp::Reverse(search.aims[*h])));
    parts.extend(helped.into_iter().take(3).map(line));
    for (h, b, a) in lengths.iter().take(2) {
        let name = head_title(&search.heads[*h].head);
        parts.push(format!("{name} at long length {:.0} → {:.0} % of its sets", 100.0 * b, 100.0 * a));
    }
    let told = |h: usize, b: f64, a: f64| {
        matches!(edit, Edit::Fewer { .. }) && b > search.bands[h].high && a >= search.bands[h].low
    };
    let falls = changes.iter().rev().filter(|(h, b, a)| a < b && wanted(*h) && !told(*h, *b, *a));
    let lost: Vec<String> = falls.take(2).map(line).collect();
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
