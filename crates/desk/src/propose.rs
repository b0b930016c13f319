//! What to change first, and the plan with it. In: a plan, how many proposals to take; out: the answer, and the plan as a
//! workbook in the client's own layout.

use super::audit::{self, AuditRequest, ReadPlan, WeekToJudge};
use super::{Desk, client, workbook};
use crate::json;
use crate::problem::{Problem, Report};
use answer::{Audit, Entry, Propose, WeekSums};
use programme::WeekChoice;
use sheet::fill::{Fill, fill};
use sheet::write::{CellOut, Look, SheetOut, WorkbookOut};

/// What is asked of `propose`.
#[derive(Clone, Copy)]
pub struct ProposeRequest<'a> {
    pub plan: AuditRequest<'a>,
    /// How many of the proposals to take, from the first; all of them without it.
    pub apply: Option<u32>,
}

/// The answer with the plan after it.
pub struct Proposed {
    pub answer: Propose,
    /// The week as read and judged.
    pub audit: Audit,
    /// The plan's entries with the proposals taken.
    pub entries: Vec<Entry>,
}

fn sums(a: &Audit) -> WeekSums {
    WeekSums {
        groups: a.groups.clone(),
        minutes: a.minutes.clone(),
        short_heads: a.gaps.len() as u32,
        sets: a.totals.sets_with_assumed,
    }
}

/// Judges a plan, takes proposals and judges what comes of them.
pub(super) fn propose(desk: &Desk, request: &ProposeRequest) -> Result<Proposed, Report> {
    let (plan, client, kit) = audit::read(desk, &request.plan)?;
    let week = audit::choice(request.plan.week);
    if week == WeekChoice::Mean {
        let problem = Problem::error("--week", "proposals change one week, not the mean of several");
        return Err(problem.remedy("name a week: --week 1").into());
    }
    let (pain_words, weeks) = (plan.pain_words.clone(), plan.weeks);
    let first = audit::judge(desk, WeekToJudge { plan, client: &client, kit: kit.as_ref(), week })?;
    let most = first.proposals.len() as u32;
    let applied = match request.apply {
        Some(n) if n > most => {
            let what = format!("there are {most} proposals, not {n}");
            return Err(Problem::error("--apply", what).remedy("lengthwise propose without --apply lists them").into());
        }
        Some(n) => n,
        None => most,
    };
    let rules = audit::rules()?;
    let mut entries = first.entries.clone();
    for p in first.proposals.iter().take(applied as usize) {
        programme::apply_change(&mut entries, &p.change, &rules).map_err(Report::internal)?;
    }
    let changed = ReadPlan { entries: entries.clone(), messages: Vec::new(), pain_words, weeks };
    let after = audit::judge(desk, WeekToJudge { plan: changed, client: &client, kit: kit.as_ref(), week })?;
    let answer = Propose {
        schema: json::PROPOSE.into(),
        week: first.week.clone(),
        flags: first.flags.clone(),
        client: first.client.clone(),
        gaps: first.gaps.clone(),
        names: first.ledger.iter().map(|r| (r.head.clone(), r.plain.clone())).collect(),
        proposals: first.proposals.clone(),
        applied,
        before: sums(&first),
        after: sums(&after),
        messages: first.messages.clone(),
        notes: first.notes.clone(),
    };
    Ok(Proposed { answer, audit: first, entries })
}

/// What became of each entry of a plan, for writing it anew.
pub(super) fn fills(was: &[Entry], is: &[Entry]) -> Vec<Fill> {
    // Several lines may share a cell: the text tells them apart.
    let same = |a: &Entry, b: &Entry| {
        a.row > 0 && (a.row, a.col, a.week) == (b.row, b.col, b.week) && a.sheet == b.sheet && a.text == b.text
    };
    let mut used = vec![false; was.len()];
    let mut out = Vec::new();
    let mut above: Option<usize> = None;
    let mut last_of_day: Vec<(String, usize)> = Vec::new();
    for e in is {
        let source = (0..was.len()).find(|&i| !used[i] && same(&was[i], e) && was[i].day == e.day);
        let mut f = Fill {
            sets: (e.sets_low, e.sets_high),
            reps: e.reps_low.zip(e.reps_high.or(e.reps_low)),
            reps_unit: e.reps_unit.clone(),
            rir: e.rir,
            load_kg: e.load.filter(|_| e.unit.as_deref() == Some("kg")),
            ..Fill::default()
        };
        match source {
            Some(i) => {
                used[i] = true;
                above = Some(i);
                last_of_day.retain(|(d, _)| *d != e.day);
                last_of_day.push((e.day.clone(), i));
                let moved = was[i].movement != e.movement || was[i].settings != e.settings;
                let other = |a: f64, b: f64| (a - b).abs() > 1e-9;
                if !(moved || other(was[i].sets_low, e.sets_low) || other(was[i].sets_high, e.sets_high)) {
                    continue;
                }
                (f.source, f.name) = (Some(i), moved.then(|| title(e)));
            }
            None => {
                let day = last_of_day.iter().find(|(d, _)| *d == e.day).map(|(_, i)| *i);
                (f.after, f.name) = (day.or(above), Some(title(e)));
            }
        }
        out.push(f);
    }
    let gone = (0..was.len()).filter(|&i| !used[i] && was[i].movement.is_some());
    out.extend(gone.map(|i| Fill { source: Some(i), gone: true, ..Fill::default() }));
    out
}

/// A name that the reader of plans takes back: the movement's own, settings in braces.
fn title(e: &Entry) -> String {
    let id = e.movement.clone().unwrap_or_else(|| e.name.clone());
    let plain = if e.settings.is_empty() { e.name.clone() } else { id };
    let pairs: Vec<String> = e.settings.iter().map(|(k, v)| format!("{k}={v}")).collect();
    if pairs.is_empty() { plain } else { format!("{plain}{{{}}}", pairs.join(",")) }
}

/// The plan with its changes in its own layout, then what was changed and why.
pub(super) fn book(desk: &Desk, request: &ProposeRequest, done: &Proposed) -> Result<WorkbookOut, Report> {
    let mut sheets = match audit::read_with_book(desk, &request.plan)? {
        Some((book, read)) => fill(&book, &read, &fills(&read.entries, &done.entries)),
        None => vec![workbook::plain_plan("Plan", &done.entries)],
    };
    let a = &done.answer;
    let mut rows: Vec<Vec<CellOut>> = workbook::flag_rows(&a.flags);
    rows.push(vec![
        CellOut::text(format!("{} of {} proposals taken", a.applied, a.proposals.len())).looking(Look::Title),
    ]);
    let head = ["Change", "Reason", "Costs", "Look out for", "Minutes"];
    rows.push(head.iter().map(|t| CellOut::text(*t).looking(Look::Header)).collect());
    for p in a.proposals.iter().take(a.applied as usize) {
        let cells = [&p.edit, &p.reason, &p.costs.join("; "), &p.cautions.join("; ")];
        let mut row: Vec<CellOut> = cells.iter().map(|t| CellOut::text(t.as_str())).collect();
        row.push(CellOut::number(p.minutes, 0));
        rows.push(row);
    }
    sheets.push(SheetOut {
        name: "Changes".into(),
        widths_chars: vec![44.0, 60.0, 34.0, 50.0, 9.0],
        frozen_rows: 0,
        frozen_cols: 0,
        rows,
    });
    Ok(WorkbookOut { title: format!("Plan of {}", client::name_of(&a.client.name)), sheets })
}
