//! The audit. In: everything a week's judgement needs, as values; out: one [`Audit`], the gate above all.

use crate::bands::Targets;
use crate::client::Client;
use crate::concerns;
use crate::gaps::{self, Scene, number};
use crate::ledger::{self, Tally, tally};
use crate::proposals::propose;
use crate::rules::{Aim, Rules};
use crate::screening::{Gate, PainWord, screen};
use crate::search::Search;
use crate::week::{CreditSource, HeadFacts, Plan, Table, WeekChoice, plan_of};
use crate::{Date, minutes};
use answer::{
    Audit, Band, ClientNote, Entry, Message, Minutes, MovementCredit, Percentile, SettingValue, Status, Totals,
};

/// Proposals shown at most.
const MOST_PROPOSALS: usize = 6;
/// Difference between week and block worth a note, credited sets.
const WEEK_DIFFERS: f64 = 1.0;

/// What an audit needs.
pub struct Inputs<'a> {
    /// As read, in the order of the file.
    pub entries: Vec<Entry>,
    /// The reader's messages.
    pub messages: Vec<Message>,
    /// Words of pain or alarm the reader found.
    pub pain_words: &'a [PainWord],
    pub client: &'a Client,
    pub today: Date,
    pub heads: &'a [HeadFacts],
    pub credits: &'a dyn CreditSource,
    /// Movements that may be proposed, already limited to the kit.
    pub candidates: &'a [MovementCredit],
    /// Other settings of movements in the plan.
    pub setting_options: &'a [MovementCredit],
    /// Ids of movements of the plan that need what the kit does not hold.
    pub kit_lacks: &'a std::collections::BTreeSet<String>,
    /// Proportions of the client's body.
    pub percentiles: Vec<Percentile>,
    pub week: WeekChoice,
    pub rules: &'a Rules,
}

/// Judges a week.
pub fn audit(inputs: Inputs) -> Audit {
    let Inputs { mut entries, mut messages, client, rules, heads, .. } = inputs;
    let mut gate = screen(client, &entries, inputs.pain_words, inputs.today, rules);
    let mut table = Table::new(heads);
    let whole = plan_of(&mut entries, inputs.credits, &mut table, rules, &mut messages);
    let wanted = |m: &&MovementCredit| !client.dislikes(&m.movement, &m.name) && reachable(m, client);
    let candidates: Vec<usize> = inputs.candidates.iter().filter(wanted).map(|m| table.add(m.clone())).collect();
    let variants: Vec<usize> =
        inputs.setting_options.iter().filter(|m| reachable(m, client)).map(|m| table.add(m.clone())).collect();
    let (judged, single, week) = choose(&whole, inputs.week, &mut messages);

    let targets = Targets::new(rules, client, inputs.today);
    for word in targets.unknown_names(heads) {
        messages.push(question(&format!(
            "client: no coach group or head called \"{word}\"; what is said of it is not used"
        )));
    }
    for head in &table.strangers {
        messages.push(question(&format!(
            "the head \"{head}\" is credited by a movement and is in no list of heads: not counted"
        )));
    }
    let tallies = tally(&judged, &table, heads.len(), &rules.constants);
    let new = new_shares(&judged, &table, heads.len(), client);
    let aims: Vec<Aim> = targets.aims(heads);
    let band = |i: usize| targets.head_band(&heads[i], aims[i], new[i] > 0.5);
    let based: Vec<(Band, String)> = (0..heads.len()).map(band).collect();
    let bands: Vec<Band> = based.iter().map(|(b, _)| *b).collect();

    let group_names: Vec<String> = rules.groups.iter().map(|g| g.group.clone()).collect();
    let group_new = |group: &str| {
        let members: Vec<usize> = (0..heads.len()).filter(|&i| heads[i].groups.iter().any(|g| g == group)).collect();
        members.iter().map(|&i| new[i]).sum::<f64>() > 0.5 * members.len() as f64
    };
    let band_of = |group: &str| targets.group_band(group, group_new(group));
    let groups = ledger::groups(heads, &tallies, &group_names, &|g| targets.group_aim(g), &band_of);

    let scene = Scene { plan: &judged, table: &table, heads, tallies: &tallies, aims: &aims, bands: &bands, rules };
    let found_gaps = gaps::gaps(&scene);

    let mut search = Search::new(&table, heads, &aims, &bands, rules, &gate);
    search.candidates = candidates;
    search.variants = variants;
    search.familiar = single
        .lines
        .iter()
        .map(|l| &table.movements[l.movement])
        .filter(|m| !client.is_new(&m.movement, &m.name))
        .map(|m| m.movement.clone())
        .collect();
    search.client = Some(client);
    let lacking = search.leave_out_lacking(inputs.kit_lacks);
    messages.extend(lacking.into_iter().map(|text| Message { level: "warning".into(), place: String::new(), text }));
    search.available = single.days.iter().map(|(_, day)| client.minutes_on(day)).collect();
    let outcome = propose(&search, &single, MOST_PROPOSALS);
    if client.energy_deficit {
        messages.push(note("energy deficit: nothing new is chased; the week is kept and made leaner"));
    }
    let concerned = concerns::flags(&judged, &outcome.plan, &table, &gate, rules);
    gate.flags.extend(concerned);
    gate.order();

    let mut notes = notes_on(&judged, &whole, &table, heads, &tallies, &aims, rules, inputs.week);
    notes.extend(targets.notes());
    notes.extend(gate_notes(&gate));
    notes.extend(outcome.notes);
    let mut day_minutes = minutes::minutes(&judged, &table, &rules.constants);
    for (day, m) in &mut day_minutes {
        m.available = client.minutes_on(day);
        notes.extend(over_time(day, m));
    }
    let ledger = ledger::rows(heads, &tallies, &aims, &based, &rules.constants);
    notes.push(format!("Credited sets over all heads, each counted once: {:.1}.", ledger::body_total(&ledger)));
    Audit {
        schema: "lengthwise audit 1".into(),
        week,
        totals: totals(&entries, &judged),
        flags: gate.flags,
        client: ClientNote {
            name: client.name.clone(),
            demo: client.demo,
            summary: client.summary(inputs.today),
            missing: client.missing(),
            percentiles: inputs.percentiles,
        },
        groups,
        ledger,
        gaps: found_gaps,
        minutes: day_minutes,
        proposals: outcome.proposals,
        entries,
        messages,
        notes,
    }
}

/// Whether the client's pulley goes where a movement wants it.
fn reachable(m: &MovementCredit, client: &Client) -> bool {
    let (Some((low, high)), Some(SettingValue::Number(height_m))) = (client.pulley_cm, m.settings.get("pulley_h_m"))
    else {
        return true;
    };
    (low..=high).contains(&(height_m * 100.0))
}

fn note(text: &str) -> Message {
    Message { level: "note".into(), place: String::new(), text: text.into() }
}

fn question(text: &str) -> Message {
    Message { level: "question".into(), place: String::new(), text: text.into() }
}

/// The judged plan, the single week that proposals change, and words for it.
fn choose(whole: &Plan, choice: WeekChoice, messages: &mut Vec<Message>) -> (Plan, Plan, String) {
    let count = whole.weeks.len();
    let first = whole.weeks.first().copied().unwrap_or(1);
    let named = |week: u32| if count <= 1 { "the week".into() } else { format!("week {week} of {count}") };
    match choice {
        WeekChoice::Mean if count > 1 => {
            (whole.clone(), whole.only(first), format!("mean of {count} weeks; proposals change week {first}"))
        }
        WeekChoice::Week(week) if whole.weeks.contains(&week) => (whole.only(week), whole.only(week), named(week)),
        _ => {
            if let WeekChoice::Week(week) = choice {
                let text = format!("the file has no week {week} with counted sets; week {first} is judged");
                messages.push(Message { level: "warning".into(), place: String::new(), text });
            }
            (whole.only(first), whole.only(first), named(first))
        }
    }
}

/// Share of each head's credit that comes from movements in their first two weeks.
fn new_shares(plan: &Plan, table: &Table, heads: usize, client: &Client) -> Vec<f64> {
    let mut all = vec![(0.0, 0.0); heads];
    for line in &plan.lines {
        let m = &table.movements[line.movement];
        let is_new = client.is_new(&m.movement, &m.name) || client.is_new(&m.movement, &line.entry.name);
        let sets = line.effort.counted().mid;
        for (sum, cell) in all.iter_mut().zip(&table.cells[line.movement]) {
            sum.1 += cell.pooled.mid * sets;
            sum.0 += if is_new { cell.pooled.mid * sets } else { 0.0 };
        }
    }
    all.into_iter().map(|(new, total)| if total > 0.0 { new / total } else { 0.0 }).collect()
}

fn totals(entries: &[Entry], judged: &Plan) -> Totals {
    let weeks = judged.week_count();
    let sets = |certain_only: bool| {
        judged.lines.iter().filter(|l| l.certain || !certain_only).map(|l| l.sets()).sum::<f64>() / weeks
    };
    let unknown = entries.iter().filter(|e| e.status == Status::Unknown).count() as u32;
    Totals { sets_certain: sets(true), sets_with_assumed: sets(false), entries_unknown: unknown }
}

fn gate_notes(gate: &Gate) -> Vec<String> {
    let unplaced = gate.holds.iter().filter(|h| h.contains("could not be placed"));
    unplaced.map(|h| format!("{h}.")).collect()
}

fn over_time(day: &str, m: &Minutes) -> Option<String> {
    let limit = m.available?;
    let mid = 0.5 * (m.low + m.high);
    (mid > limit).then(|| format!("{day} takes {:.0}–{:.0} min; {limit:.0} are there.", m.low, m.high))
}

#[allow(clippy::too_many_arguments)]
fn notes_on(
    judged: &Plan,
    whole: &Plan,
    table: &Table,
    heads: &[HeadFacts],
    tallies: &[Tally],
    aims: &[Aim],
    rules: &Rules,
    choice: WeekChoice,
) -> Vec<String> {
    let mut out = Vec::new();
    if whole.weeks.len() > 1 && choice != WeekChoice::Mean {
        let block = tally(whole, table, heads.len(), &rules.constants);
        let mut apart: Vec<(f64, String)> = (0..heads.len())
            .filter(|&i| aims[i] > Aim::Leave)
            .map(|i| (tallies[i].credited.pooled.mid, block[i].credited.pooled.mid, i))
            .filter(|(week, mean, _)| (week - mean).abs() >= WEEK_DIFFERS)
            .map(|(week, mean, i)| {
                let name = crate::head_title(&heads[i].head);
                ((week - mean).abs(), format!("{name} {} v {}", crate::show(week), crate::show(mean)))
            })
            .collect();
        apart.sort_by(|a, b| b.0.total_cmp(&a.0));
        let weeks = whole.weeks.len();
        out.push(if apart.is_empty() {
            format!("This week is within {WEEK_DIFFERS:.0} credited set of the mean of {weeks} weeks at every head.")
        } else {
            let list: Vec<String> = apart.into_iter().take(4).map(|(_, t)| t).collect();
            format!("This week v the mean of {weeks} weeks: {}.", list.join(", "))
        });
    }
    out.extend(order_notes(judged, table, heads, aims, rules));
    out
}

/// Direct work of a wanted head that comes late in its session (strength, not size: ORD-01).
fn order_notes(plan: &Plan, table: &Table, heads: &[HeadFacts], aims: &[Aim], rules: &Rules) -> Vec<String> {
    let limit = rules.constants.order_note_sets;
    let mut late: Vec<(String, String, Vec<String>)> = Vec::new();
    for (day, (_, day_name)) in plan.days.iter().enumerate() {
        for h in (0..heads.len()).filter(|&h| aims[h] == Aim::Focus) {
            let mut done = 0.0;
            for line in plan.lines.iter().filter(|l| l.day == day) {
                let cell = &table.cells[line.movement][h];
                let name = &table.movements[line.movement].name;
                if cell.convention >= 1.0 && done >= limit {
                    let title = crate::head_title(&heads[h].head);
                    match late.iter_mut().find(|(n, d, _)| n == name && d == day_name) {
                        Some((_, _, names)) if !names.contains(&title) => names.push(title),
                        Some(_) => {}
                        None => late.push((name.clone(), day_name.clone(), vec![title])),
                    }
                }
                done += cell.pooled.mid * line.effort.counted().mid;
            }
        }
    }
    late.into_iter()
        .map(|(name, day, names)| {
            format!(
                "{name} on {day} comes after {} or more credited sets for {}: earlier work gains more strength, size hardly cares (ORD-01).",
                number(limit),
                names.join(", ")
            )
        })
        .collect()
}
