//! Several weeks of a plan: loads and repetitions by a rule. In: entries, the client, the loads that can be set, the gate;
//! out: sets, repetitions, reserve and load of every exercise in every week. A forecast, not a promise: each week's step
//! waits for its trigger, and what the log says goes before it.

use crate::client::{Client, DoneSet};
use crate::loads::{Curve, LoadRules, Reading, next_load, range_for, reading};
use crate::rules::Rules;
use crate::screening::{Gate, PainWord, objections, screen};
use crate::week::{CreditSource, place_of};
use crate::{Date, gaps::number};
use answer::{Entry, LayOut, LayOutRow, LayOutWeek, Message, MovementCredit, ProgressRule, Status};

/// Most weeks laid out: longer than any block that a forecast could carry.
pub const MOST_WEEKS: u32 = 16;
/// Pounds in a kilogram (international pound, 0.45359237 kg).
const LB_KG: f64 = 0.453_592_37;
/// Rules whose steps can be forecast; the others need an all-out set or a log of every session.
const FORECAST: [&str; 3] = ["double", "two-for-two", "repetitions"];

/// What a lay-out needs.
pub struct LayOutInputs<'a> {
    /// As read; the first week of a block is laid out.
    pub entries: &'a [Entry],
    pub messages: Vec<Message>,
    pub pain_words: &'a [PainWord],
    pub client: &'a Client,
    pub today: Date,
    pub credits: &'a dyn CreditSource,
    /// Loads that can be set for a movement, kg ascending; empty where they are not known.
    pub steps_kg: &'a dyn Fn(&MovementCredit) -> Vec<f64>,
    pub rules: &'a Rules,
    pub loads: &'a LoadRules,
    pub weeks: u32,
    /// Weeks that the coach wants easy.
    pub easy: Vec<u32>,
    /// Id of a rule of `progression.csv`.
    pub rule: &'a str,
}

/// Lays a plan out over weeks.
///
/// # Errors
/// A rule that is not known or cannot be forecast, no weeks or too many: one sentence that says what to change.
pub fn lay_out(inputs: LayOutInputs) -> Result<LayOut, String> {
    let LayOutInputs { entries, client, rules, loads, weeks, rule, .. } = inputs;
    if !(1..=MOST_WEEKS).contains(&weeks) {
        return Err(format!("{weeks} weeks cannot be laid out: 1 to {MOST_WEEKS}"));
    }
    let chosen = loads.progression.iter().find(|r| r.id == rule && FORECAST.contains(&rule)).ok_or_else(|| {
        let why = if loads.progression.iter().any(|r| r.id == rule) {
            "needs what each session gave, so that no weeks can be laid out by it"
        } else {
            "is not in the table"
        };
        format!("the rule \"{rule}\" {why}; take one of {}", FORECAST.join(", "))
    })?;
    if let Some(week) = inputs.easy.iter().find(|w| **w < 1 || **w > weeks) {
        return Err(format!("easy week {week} lies outside the {weeks} weeks"));
    }
    let gate = screen(client, entries, inputs.pain_words, inputs.today, rules);
    let mut out = LayOut {
        client: client.name.clone(),
        demo: client.demo,
        flags: gate.flags.clone(),
        weeks,
        easy: inputs.easy.clone(),
        rule: chosen.clone(),
        others: loads.progression.iter().filter(|r| r.id != chosen.id).cloned().collect(),
        messages: inputs.messages.clone(),
        ..LayOut::default()
    };
    if gate.hold_all {
        out.weeks = 0;
        out.notes.push("Nothing is laid out while a stop flag stands: it must be lifted first.".into());
        return Ok(out);
    }
    let first = entries.iter().filter(|e| counts(e)).map(|e| e.week).min().unwrap_or(1);
    for (at, entry) in entries.iter().enumerate().filter(|(_, e)| counts(e) && e.week == first) {
        let Some(movement) = &entry.movement else { continue };
        match inputs.credits.credit(movement, &entry.settings) {
            Ok(credit) => out.rows.push(row(&inputs, &gate, chosen, at, entry, &credit)),
            Err(why) => out.messages.push(Message {
                level: "question".into(),
                place: place_of(entry),
                text: format!("{} is not laid out: {why}", entry.name),
            }),
        }
    }
    out.notes = notes(&inputs, &gate, &out);
    Ok(out)
}

fn counts(e: &Entry) -> bool {
    matches!(e.status, Status::Certain | Status::Assumed)
}

fn notes(inputs: &LayOutInputs, gate: &Gate, out: &LayOut) -> Vec<String> {
    let (n, c) = (&inputs.loads.numbers, &inputs.rules.constants);
    let (gain, who) = gain(inputs.client, inputs.loads);
    let mut notes = vec![format!(
        "A forecast: strength is taken to rise by {} (±{}) % a week ({who}); each step waits for its trigger, and what the log \
         says goes before it.",
        number(gain.0),
        number(gain.1)
    )];
    if gate.hold_volume {
        notes.push(format!("Loads do not rise while this stands: {}.", gate.holds.join("; ")));
    }
    if inputs.client.energy_deficit {
        notes.push("Energy deficit: the load is kept, nothing rises; judge by strength (NUT-01, NUT-02).".into());
    }
    if inputs.client.returning || out.rows.iter().any(|r| r.notes.iter().any(|t| t.starts_with("first two weeks"))) {
        notes.push(format!(
            "New work and the first two weeks back: at most {:.0} sets and {:.0} or more in reserve; stop with dark urine, or \
             pain and swelling out of proportion.",
            c.new_sets, c.new_rir
        ));
    }
    let easy = inputs.loads.progression.iter().find(|r| r.id == "easy-week");
    if let Some(easy) = easy {
        notes.push(format!(
            "Easy weeks come by need, not by the calendar: {}. Then {} ({}).",
            easy.trigger, easy.action, easy.source
        ));
    }
    if out.rows.iter().any(|r| r.one_rep_kg.is_some()) {
        notes.push(format!(
            "A called reserve is a noisy reading: people have about {} (±{}) more left than they call, scatter {} repetition \
             near failure (Halperin 2022; Refalo 2024).",
            format_args!("{:.2}", n.rir_bias.0),
            number(n.rir_bias.1),
            number(n.rir_sd_near.0)
        ));
    }
    notes
}

/// Rise of strength, % a week: mean and spread, with words.
fn gain(client: &Client, loads: &LoadRules) -> ((f64, f64), &'static str) {
    let n = &loads.numbers;
    match client.training_years {
        Some(y) if y < 1.0 => (n.gain_beginner, "first year of training"),
        Some(y) if y <= 3.0 => (n.gain_some, "one to three years of training"),
        Some(_) => (n.gain_trained, "more than three years of training"),
        None => (n.gain_trained, "training years not said: the slowest is taken"),
    }
}

/// Load of an entry in kg, of what is held; `None` for percent, pins and the body.
fn load_kg(e: &Entry) -> Option<f64> {
    let load = e.load.filter(|l| l.is_finite() && *l > 0.0)?;
    match e.unit.as_deref() {
        Some("kg") | None => Some(load),
        Some("lb") => Some(load * LB_KG),
        _ => None,
    }
}

/// Readings of a lift: done sets first; the plan's own load where there are none.
fn readings(client: &Client, e: &Entry, m: &MovementCredit, loads: &LoadRules) -> (Vec<Reading>, String) {
    let n = &loads.numbers;
    let is = |d: &&DoneSet| d.movement.eq_ignore_ascii_case(&m.movement) || d.movement.eq_ignore_ascii_case(&m.name);
    let done: Vec<&DoneSet> = client.done_sets.iter().filter(is).collect();
    if !done.is_empty() {
        let many = if done.len() == 1 { "1 set done".into() } else { format!("{} sets done", done.len()) };
        return (done.into_iter().map(|d| reading(d, n)).collect(), many);
    }
    match (load_kg(e), e.reps_low.zip(e.reps_high)) {
        (Some(load_kg), Some((low, high))) if e.reps_unit == "reps" || e.reps_unit.is_empty() => {
            let reps = 0.5 * (low + high);
            let set = DoneSet { load_kg, reps, rir: e.rir, ..DoneSet::default() };
            (vec![reading(&set, n)], "the plan's own load and repetitions, not a set that was done".into())
        }
        _ => (Vec::new(), "no set done and no load in the plan".into()),
    }
}

/// Called reserve beside the one an all-out set at the same load shows.
fn called_and_shown(client: &Client, m: &MovementCredit) -> Option<(f64, f64, f64, f64)> {
    let is = |d: &&DoneSet| d.movement.eq_ignore_ascii_case(&m.movement) || d.movement.eq_ignore_ascii_case(&m.name);
    let all_out = client.done_sets.iter().filter(is).rfind(|d| d.to_failure)?;
    let called =
        client.done_sets.iter().filter(is).rfind(|d| {
            !d.to_failure && d.rir.is_some() && (d.load_kg - all_out.load_kg).abs() < 0.01 * all_out.load_kg
        })?;
    Some((called.rir?, all_out.reps - called.reps, called.reps, called.load_kg))
}

fn row(inputs: &LayOutInputs, gate: &Gate, rule: &ProgressRule, at: usize, e: &Entry, m: &MovementCredit) -> LayOutRow {
    let (client, c, n) = (inputs.client, &inputs.rules.constants, &inputs.loads.numbers);
    let counted = e.reps_unit.is_empty() || e.reps_unit == "reps";
    let wanted = match (e.reps_low, e.reps_high) {
        (Some(a), Some(b)) => (a.min(b), a.max(b)),
        (one, other) => one.or(other).map_or((c.reps_low_default, c.reps_high_default), |v| (v, v)),
    };
    let new = client.is_new(&m.movement, &m.name) || client.is_new(&m.movement, &e.name);
    let careful = gate.no_failure() || gate.youth;
    let rir_said = e.rir.unwrap_or(n.unknown_rir.0);
    let rir = if careful { rir_said.max(c.new_rir) } else { rir_said };
    let mut out = LayOutRow {
        entry: at as u32,
        place: place_of(e),
        day: e.day.clone(),
        movement: m.movement.clone(),
        name: m.name.clone(),
        reps_unit: if counted { "reps".into() } else { e.reps_unit.clone() },
        ..LayOutRow::default()
    };
    let found = objections(m, gate, inputs.rules);
    out.notes.extend(found.leave_out.iter().map(|why| format!("left out for now: {why}")));
    if rir > rir_said {
        out.notes.push(format!(
            "{} in reserve instead of {}: failure is kept away from",
            number(rir),
            number(rir_said)
        ));
    }
    let (read, basis) = readings(client, e, m, inputs.loads);
    out.basis = basis;
    let legs = m.equipment.iter().any(|q| q.contains("leg-press"));
    let k = if legs { n.k_leg_press } else { n.k_other };
    let curve = if counted { Curve::fit(&read, k) } else { None };
    out.one_rep_kg = curve.map(|c| c.one_rep_range());
    if let Some((called, shown, reps, kg)) = called_and_shown(client, m) {
        out.called_and_shown_rir = Some((called, shown));
        if (shown - called).abs() >= 2.0 {
            let (was, is) =
                (crate::loads::epley_one_rep_kg(kg, reps + called), crate::loads::epley_one_rep_kg(kg, reps + shown));
            out.notes.push(format!(
                "called {} in reserve, an all-out set shows {}: by Epley {was:.1} v {is:.1} kg for one repetition ({:+.1} %); \
                 settle the effort before calling a stall",
                number(called),
                number(shown),
                100.0 * (is / was - 1.0)
            ));
        }
    }
    // A single number of repetitions is a range once a rule moves it.
    let span = if wanted.1 - wanted.0 < 1.0 { (wanted.0, wanted.0 + 4.0) } else { wanted };
    let steps = (inputs.steps_kg)(m);
    let k_own = curve.map_or(k.0, |c| c.k.0);
    let start = curve.and_then(|curve| start_load(&curve, load_kg(e), &steps, span, rir));
    let up = start.and_then(|kg| next_load(kg, &steps).map(|up| up / kg - 1.0));
    out.step_pct = up.map(|s| 100.0 * s);
    let range = match (counted, up) {
        (false, _) => plain(wanted, "measured in seconds or metres: no load–repetition curve"),
        (true, Some(step)) => range_for(span, rir, step, k_own, n.most_reps.0),
        (true, None) if start.is_some() && !steps.is_empty() => plain(
            (span.0, n.most_reps.0.max(span.1)),
            "the heaviest load there is: repetitions first, then a harder lever (one side, longer arm, slower lowering)",
        ),
        (true, None) if steps.is_empty() => {
            plain(span, "load steps not known: [loads_kg] in the client's file names them")
        }
        (true, None) => plain(span, "the load must be found first"),
    };
    (out.reps_low, out.reps_high) = (range.low, range.high);
    if start.is_none() && counted {
        out.notes.push(format!(
            "find the load: a set of {} with {} in reserve, then write it under [[done_sets]]",
            number(range.high),
            number(rir)
        ));
    }
    if let (Some(step), true) = (up, gate.youth) {
        let limit = 0.10;
        if step > limit {
            out.notes.push(format!(
                "under 18 steps are 5–10 %: the next load is +{:.0} %, so repetitions first",
                100.0 * step
            ));
        }
    }
    if new {
        out.notes.push(format!("first two weeks: at most {:.0} sets, {:.0} or more in reserve", c.new_sets, c.new_rir));
    }
    out.range_reason.clone_from(&range.why);
    out.weeks = forecast(
        inputs,
        gate,
        rule,
        e,
        Lift { curve, start, steps, range: (range.low, range.high), rir, new, counted },
    );
    out
}

fn plain((low, high): (f64, f64), why: &str) -> crate::loads::RepRange {
    crate::loads::RepRange { low, high, spans: true, why: why.into() }
}

/// The load to begin with: the plan's where it can be set, else the heaviest that still gives the low end with the
/// reserve asked for when the lift is a little weaker than it looks.
fn start_load(curve: &Curve, said: Option<f64>, steps: &[f64], range: (f64, f64), rir: f64) -> Option<f64> {
    let near = |kg: f64| steps.iter().copied().min_by(|a, b| (a - kg).abs().total_cmp(&(b - kg).abs()));
    if let Some(kg) = said {
        return if steps.is_empty() { Some(kg) } else { near(kg) };
    }
    let careful = Curve { one_rep_kg: (curve.one_rep_kg.0 - curve.one_rep_kg.1, 0.0), ..*curve };
    let fits = |kg: &f64| careful.reps_at(*kg) - rir >= range.0;
    steps.iter().copied().rfind(fits).or(steps.first().copied())
}

/// A lift on its way through the weeks.
struct Lift {
    curve: Option<Curve>,
    start: Option<f64>,
    steps: Vec<f64>,
    range: (f64, f64),
    rir: f64,
    new: bool,
    counted: bool,
}

fn forecast(inputs: &LayOutInputs, gate: &Gate, rule: &ProgressRule, e: &Entry, lift: Lift) -> Vec<LayOutWeek> {
    let (c, n) = (&inputs.rules.constants, &inputs.loads.numbers);
    let ((gain_pct, _), _) = gain(inputs.client, inputs.loads);
    let held = gate.hold_volume || inputs.client.energy_deficit;
    let sets = 0.5 * (e.sets_low + e.sets_high);
    let mut load = lift.start;
    let mut reps: Option<f64> = None;
    // Sessions that went two over the top in a row (two for two).
    let mut over = 0;
    let mut grown = 1.0;
    (1..=inputs.weeks)
        .map(|week| {
            let easy = inputs.easy.contains(&week);
            let careful = (lift.new || inputs.client.returning) && week <= 2;
            let rir = lift.rir.max(if careful { c.new_rir } else { 0.0 }) + if easy { n.easy_rir.0 } else { 0.0 };
            let here = match (easy, careful) {
                (true, _) => (sets * n.easy_sets.0).ceil().max(1.0),
                (false, true) => sets.min(c.new_sets),
                (false, false) => sets,
            };
            let mut cell =
                LayOutWeek { week, sets: here, reps_low: lift.range.0, reps_high: lift.range.1, rir, load_kg: load };
            let (Some(curve), Some(kg), true) = (lift.curve, load, lift.counted) else { return cell };
            let able = |kg: f64, grown: f64| {
                let now = Curve { one_rep_kg: (curve.one_rep_kg.0 * grown, curve.one_rep_kg.1), ..curve };
                (now.reps_at(kg) - lift.rir).floor()
            };
            // What the lift gives at this load now, never above what the range asks for.
            let now = able(kg, grown).max(1.0);
            let target = now.min(lift.range.1).max(reps.map_or(1.0, |r: f64| r.min(lift.range.1)).min(now));
            if easy {
                // Same load, easier: repetitions fall with the higher reserve.
                let low = (target - n.easy_rir.0).max(1.0);
                (cell.reps_low, cell.reps_high) = (low, low);
                return cell;
            }
            let shown = (target - if careful { (rir - lift.rir).max(0.0) } else { 0.0 }).max(1.0);
            (cell.reps_low, cell.reps_high, cell.load_kg) = (shown, shown, Some(kg));
            reps = Some(target);
            if held {
                return cell;
            }
            grown *= 1.0 + gain_pct / 100.0;
            let up = next_load(kg, &lift.steps).filter(|up| !gate.youth || up / kg <= 1.10 + 1e-9);
            over = if able(kg, grown) >= lift.range.1 + 2.0 { over + 1 } else { 0 };
            let step = match rule.id.as_str() {
                "repetitions" => false,
                "two-for-two" => over >= 2,
                _ => target >= lift.range.1 && up.is_some_and(|up| able(up, grown) >= lift.range.0),
            };
            if let Some(up) = up.filter(|_| step) {
                (load, reps, over) = (Some(up), None, 0);
            }
            cell
        })
        .collect()
}
