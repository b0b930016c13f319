//! A rebuilt week in a coach's words.

use super::rebuild::RebuildRequest;
use crate::text::{and, many, sentence_case, short};
use answer::{Audit, Entry, Rebuild, RebuiltDay, RebuiltLine, Status};
use planner::{Built, Line, Task, Wish};
use programme::rules::Aim;
use programme::screening::{Gate, objections};
use programme::{HeadFacts, Rules};

/// "3 × 8–12, 2 in reserve".
pub(super) fn row_text(e: &Entry) -> String {
    let span = |low: Option<f64>, high: Option<f64>| match (low, high) {
        (Some(a), Some(b)) if a != b => format!("{}–{}", short(a, 1), short(b, 1)),
        (Some(a), _) | (None, Some(a)) => short(a, 1),
        _ => "?".into(),
    };
    let unit = match e.reps_unit.as_str() {
        "" | "reps" => String::new(),
        unit => format!(" {unit}"),
    };
    let rir = e.rir.map_or(String::new(), |r| format!(", {} in reserve", short(r, 1)));
    let sets = short(e.sets_low, 0);
    format!("{} {sets} × {}{unit}{rir}", e.name, span(e.reps_low, e.reps_high))
}

/// The week day by day, in the order the exercises are done.
pub(super) fn days(built: &Built, week: &[Line], after: &Audit, gate: &Gate, rules: &Rules) -> Vec<RebuiltDay> {
    let line = |l: &Line| -> RebuiltLine {
        let (row, credit) = (&built.rows[l.choice], &built.credits[l.choice]);
        let was = built.task.present.iter().find(|p| p.day == l.day && p.choice == l.choice).map_or(0, |p| p.sets);
        let new = built.task.choices[l.choice].new;
        let mut cautions = objections(credit, gate, rules).cautions;
        cautions.extend(credit.cautions.iter().filter(|c| !c.is_empty() && *c != "none").cloned());
        if !credit.stop_signs.is_empty() {
            cautions.push(format!("stop with: {}", credit.stop_signs.join(", ")));
        }
        RebuiltLine {
            movement: credit.movement.clone(),
            name: row.name.clone(),
            settings: row.settings.clone(),
            sets: l.sets,
            was,
            new,
            reps_low: row.reps_low,
            reps_high: row.reps_high,
            reps_unit: row.reps_unit.clone(),
            rir: row.rir,
            rest_s: row.extra.rest_s,
            each_side: row.extra.each_side,
            cautions,
        }
    };
    let days = built.task.days.iter().enumerate();
    days.map(|(d, day)| {
        let mut minutes = after.minutes.get(&day.name).copied().unwrap_or_default();
        minutes.available = day.available_s.map(|s| s / 60.0);
        let lines = week.iter().filter(|l| l.day == d).map(line).collect();
        RebuiltDay { day: day.name.clone(), minutes, lines }
    })
    .collect()
}

/// What differs from the present week, the rows taken out first; a row that changes its day is one line.
pub(super) fn changes(built: &Built, present: &[Entry], week: &[Line]) -> Vec<String> {
    let task = &built.task;
    let name = |choice: usize| built.rows[choice].name.as_str();
    let day = |d: usize| task.days[d].name.as_str();
    let sets = |n: u32| many(n as usize, "set", "sets");
    let mut all = planner::changes(&task.present, week);
    let mut out: Vec<String> = Vec::new();
    for (row, why) in &built.barred {
        out.push(format!("{}: {} goes: {why}", row.day, row.name));
    }
    // Rows on days that are left.
    let gone = |e: &&Entry| {
        let counted = matches!(e.status, Status::Certain | Status::Assumed) && e.movement.is_some();
        counted && !task.days.iter().any(|d| d.name.trim().eq_ignore_ascii_case(e.day.trim()))
    };
    let barred = |e: &Entry| built.barred.iter().any(|(b, _)| b == e);
    for e in present.iter().filter(gone).filter(|e| !barred(e)) {
        out.push(format!("{}: {} goes with its day", e.day, e.name));
    }
    let mut moved = Vec::new();
    while let Some(from) = all.iter().position(|c| c.to == 0 && all.iter().any(|o| o.choice == c.choice && o.from == 0))
    {
        let left = all.remove(from);
        let Some(to) = all.iter().position(|o| o.choice == left.choice && o.from == 0) else { break };
        let come = all.remove(to);
        let now =
            if come.to == left.from { String::new() } else { format!(", {} instead of {}", sets(come.to), left.from) };
        moved.push(format!("{} moves from {} to {}{now}", name(left.choice), day(left.day), day(come.day)));
    }
    let (dropped, rest): (Vec<_>, Vec<_>) = all.into_iter().partition(|c| c.to == 0);
    let (added, changed): (Vec<_>, Vec<_>) = rest.into_iter().partition(|c| c.from == 0);
    out.extend(dropped.iter().map(|c| format!("{}: {} goes ({})", day(c.day), name(c.choice), sets(c.from))));
    out.extend(moved);
    out.extend(
        changed.iter().map(|c| format!("{}: {} {} instead of {}", day(c.day), name(c.choice), sets(c.to), c.from)),
    );
    out.extend(added.iter().map(|c| {
        let new = if task.choices[c.choice].new { " (new)" } else { "" };
        format!("{}: {} comes in{new}, {}", day(c.day), name(c.choice), sets(c.to))
    }));
    out
}

/// What stays below its band, by reason.
pub(super) fn open(built: &Built, after: &Audit, aims: &[Aim], week: &[Line], rules: &Rules) -> Vec<String> {
    let task = &built.task;
    let sums = task.sums(week);
    let smallest = task.choices.iter().map(|c| c.set_s * f64::from(c.least) + c.once_s).fold(f64::INFINITY, f64::min);
    let full =
        task.days.iter().enumerate().all(|(d, day)| day.available_s.is_some_and(|t| t - sums.seconds[d] < smallest));
    let useful = rules.constants.useful_credit;
    let mut by: Vec<(String, Vec<String>)> = Vec::new();
    for (h, row) in after.ledger.iter().enumerate().filter(|(h, r)| aims[*h] > Aim::Leave && r.verdict == "below") {
        let of = |c: &planner::Choice| c.credits.iter().find(|x| x.0 == h).map_or(0.0, |x| x.1);
        let here = task.choices.iter().filter(|c| of(c) >= useful).count();
        let at_most = task.heads[h].week_most.filter(|most| sums.credited[h] > most - 0.5);
        let why = if here == 0 {
            format!("no movement offered gives {useful} or more a set (kit, pain or wishes bar the rest)")
        } else if let Some(most) = at_most {
            format!("a head's dose may not jump: this week up to {}", short(most, 1))
        } else if task.most_sets.is_some() {
            "no sets may be added for now".into()
        } else if full {
            "the days have no minutes left".into()
        } else {
            "what is missing is worth less than another exercise, or would take another head out of its band".into()
        };
        let name =
            format!("{} {} of {}", row.plain, short(row.credited_sets.pooled.mid, 1), programme::show_band(row.band));
        match by.iter_mut().find(|(w, _)| *w == why) {
            Some((_, names)) => names.push(name),
            None => by.push((why, vec![name])),
        }
    }
    by.into_iter().map(|(why, names)| sentence_case(&format!("{why}: {}.", names.join("; ")))).collect()
}

pub(super) fn notes(
    built: &Built,
    present: &[Entry],
    request: &RebuildRequest,
    has_plan: bool,
    gate: &Gate,
) -> Vec<String> {
    let mut out = Vec::new();
    let unread = present.iter().filter(|e| e.status == Status::Unknown).count();
    if unread > 0 {
        let rows = many(unread, "row was", "rows were");
        out.push(format!("{rows} not understood and not part of the rebuilt week: see what lengthwise audit asks."));
    }
    let beside = present.iter().filter(|e| e.status == Status::Ignored).count();
    if beside > 0 {
        out.push(format!(
            "{} that count no hard set (warm-up, endurance work) stay as they are; their minutes are not reckoned.",
            many(beside, "row", "rows")
        ));
    }
    if has_plan {
        let rise =
            "A head's dose rises to 1.5 times the present week at most, or by 4 credited sets where that is more.";
        out.push(rise.into());
    } else {
        out.push("Without a plan every movement counts as new: few sets, three in reserve, for two weeks.".into());
    }
    if !has_plan && request.most_new.is_some() {
        out.push("The number of new movements has no meaning without a plan and is not used.".into());
    }
    if gate.hold_volume {
        out.push(format!("No sets are added: {}.", gate.holds.join("; ")));
    }
    if built.left_out > 0 {
        let movements = many(built.left_out, "movement is", "movements are");
        out.push(format!("{movements} kept out by a pain, a condition or the rule on new work."));
    }
    out.push(
        "Minutes are reckoned at their longest (most repetitions, longest rest), so that a day that fits does fit."
            .into(),
    );
    out.push("Doses are middle estimates; the ledger of the rebuilt week shows their ranges.".into());
    out
}

/// The answer in one sentence.
pub(super) fn finding(r: &Rebuild, aims: &[Aim]) -> String {
    if let Some(clash) = &r.clash {
        let n = clash.give_way.len();
        let least = if clash.proven { "at least " } else { "" };
        return format!("No week fulfils every wish; {least}{} must give way", many(n, "wish", "wishes"));
    }
    let Some(after) = &r.after else { return String::new() };
    let short = |a: &Audit| {
        let wanted = |i: &usize| aims[*i] > Aim::Leave && a.ledger[*i].verdict == "below";
        (0..a.ledger.len()).filter(wanted).count()
    };
    let gap = match r.proof.gap {
        g if g < 5e-4 => "no week inside these limits is worth more".to_string(),
        g => format!(
            "no week inside these limits can be worth more than {:.1} % beyond it",
            100.0 * g / (1.0 - g).max(1e-9)
        ),
    };
    let heads = match &r.before {
        Some(before) => {
            format!("{} below their band instead of {}", many(short(after), "head is", "heads are"), short(before))
        }
        None => format!("{} below their band", many(short(after), "head is", "heads are")),
    };
    let changes = if r.before.is_some() {
        format!(" after {}", many(r.changes.len(), "change", "changes"))
    } else {
        String::new()
    };
    format!("{heads}{changes}; {gap}")
}

/// "biceps-femoris-long-head" in a sentence as the coach's name.
pub(super) fn in_coachs_words(text: &str, heads: &[HeadFacts]) -> String {
    let named = heads.iter().filter(|h| text.starts_with(h.head.as_str()));
    named.max_by_key(|h| h.head.len()).map_or(text.to_string(), |h| text.replacen(h.head.as_str(), &h.plain, 1))
}

/// Every wish that was made.
pub(super) fn wishes(task: &Task, request: &RebuildRequest) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for l in &task.kept {
        let (name, day) = (&task.choices[l.choice].name, &task.days[l.day].name);
        out.push(format!("{name} stays on {day} with {}", many(l.sets as usize, "set", "sets")));
    }
    out.extend(task.musts.iter().map(|m| format!("{} reaches {} credited sets", m.name, short(m.at_least, 1))));
    if let Some(n) = task.most_new {
        out.push(format!("at most {}", many(n as usize, "new movement", "new movements")));
    }
    if !request.avoid.is_empty() {
        out.push(format!("without {}", and(&request.avoid)));
    }
    let timed = task.days.iter().filter_map(|d| d.available_s.map(|s| format!("{} {:.0} min", d.name, s / 60.0)));
    let timed: Vec<String> = timed.collect();
    if !timed.is_empty() {
        out.push(format!("time: {}", timed.join(", ")));
    }
    out
}

/// What one wish must yield, with its amount.
pub(super) fn give_way(task: &Task, wish: &Wish, amount: f64) -> String {
    match wish {
        Wish::Kept(i) => {
            let l = &task.kept[*i];
            let (name, day) = (&task.choices[l.choice].name, &task.days[l.day].name);
            let fewer = (amount.ceil() as u32).min(l.sets);
            if fewer == l.sets {
                format!("let go of {name} on {day}")
            } else {
                format!("{name} on {day} with {} instead of {}", many((l.sets - fewer) as usize, "set", "sets"), l.sets)
            }
        }
        Wish::Must(i) => {
            let m = &task.musts[*i];
            format!(
                "{}: be content with {} credited sets instead of {}",
                m.name,
                short((m.at_least - amount).max(0.0), 1),
                short(m.at_least, 1)
            )
        }
        Wish::Minutes(d) => {
            let day = &task.days[*d];
            let now = day.available_s.unwrap_or(0.0) / 60.0;
            format!("{}: {:.0} min instead of {now:.0}", day.name, (now + amount / 60.0).ceil())
        }
        Wish::New => {
            let most = task.most_new.unwrap_or(0);
            format!(
                "allow {} instead of {most}",
                many((f64::from(most) + amount).ceil() as usize, "new movement", "new movements")
            )
        }
        Wish::Avoided(o) => format!("allow {}", task.choices[*o].name),
    }
}
