//! What moves when something about the client changes: a length, the kit, the days, a pain.

// A problem is built once a request; boxing it would only make its making harder to read.
#![allow(clippy::result_large_err)]

use super::rebuild::{Progress, RebuildRequest, judged, rebuild};
use super::{Desk, audit};
use crate::json;
use crate::problem::{Problem, Report};
use crate::text::{many, short};
use answer::{Audit, HeadMove, RebuiltPair, WhatIf};
use programme::Client;
use programme::client::Pain;

/// Change of a head worth telling, credited sets.
const WORTH_TELLING: f64 = 0.05;
/// Heads whose movements are named.
const EXPLAINED: usize = 6;

/// The request and the client as they might be.
struct Other {
    client: Client,
    kit: Option<String>,
    days: Option<String>,
    minutes: Option<f64>,
    changed: Vec<String>,
}

/// Keys a question may change, with what they take.
const KEYS: [(&str, &str); 6] = [
    ("stature", "height, cm: stature=182"),
    ("mass", "body mass, kg: mass=80"),
    ("kit", "a kit: kit=home-db-24"),
    ("days", "days: days=3 or days=Monday+Thursday"),
    ("minutes", "minutes a day: minutes=45"),
    ("pain", "a pain: pain=\"left knee 6\""),
];
/// Tape measures by name, as the client's file has them.
const TAPES: [&str; 11] =
    ["thigh", "shank", "trunk", "upper_arm", "forearm", "span", "biacromial", "sitting_height", "foot", "hand", "head"];

fn other(desk: &Desk, request: &RebuildRequest, changes: &[String]) -> Result<Other, Report> {
    let mut o = Other {
        client: desk.client.clone().unwrap_or_default(),
        kit: request.kit.map(String::from),
        days: request.days.map(String::from),
        minutes: request.minutes,
        changed: Vec::new(),
    };
    let mut problems = Vec::new();
    for change in changes {
        if let Err(p) = apply(&mut o, change) {
            problems.push(p);
        }
    }
    if problems.is_empty() { Ok(o) } else { Err(Report::of(problems)) }
}

fn apply(o: &mut Other, change: &str) -> Result<(), Problem> {
    let place = format!("--what-if {change}");
    let Some((key, value)) = change.split_once('=') else {
        return Err(Problem::error(place, "no = in it").expected("KEY=VALUE, for instance thigh=46"));
    };
    let (key, value) = (key.trim().to_lowercase().replace('-', "_"), value.trim());
    let key = key.strip_suffix("_cm").or(key.strip_suffix("_kg")).unwrap_or(&key).to_string();
    let number = |low: f64, high: f64, unit: &str| {
        let v = value.replace(',', ".").parse::<f64>().ok().filter(|v| (low..=high).contains(v));
        let expected = format!("a number from {low} to {high} {unit}");
        v.ok_or_else(|| Problem::error(&place, format!("\"{value}\" will not do")).expected(expected))
    };
    let was = |v: Option<f64>, unit: &str| v.map_or("not said".to_string(), |v| format!("{} {unit}", short(v, 1)));
    match key.as_str() {
        "stature" => {
            let v = number(100.0, 230.0, "cm")?;
            o.changed.push(format!("stature {} to {} cm", was(o.client.stature_cm, "cm"), short(v, 1)));
            o.client.stature_cm = Some(v);
        }
        "mass" => {
            let v = number(25.0, 300.0, "kg")?;
            o.changed.push(format!("body mass {} to {} kg", was(o.client.mass_kg, "kg"), short(v, 1)));
            o.client.mass_kg = Some(v);
        }
        "kit" => {
            o.changed.push(format!("kit {value}"));
            o.kit = Some(value.into());
        }
        "days" => {
            o.changed.push(format!("days {}", value.replace('+', ", ")));
            o.days = Some(value.replace('+', ","));
        }
        "minutes" => {
            let v = number(1.0, 600.0, "min")?;
            o.changed.push(format!("{} min a day", short(v, 0)));
            o.minutes = Some(v);
        }
        "pain" => {
            let (words, score) = value.rsplit_once(' ').unwrap_or((value, ""));
            let score = score.replace(',', ".").trim_end_matches("/10").parse::<f64>().ok();
            let Some(score) = score.filter(|s| (0.0..=10.0).contains(s)) else {
                let problem = Problem::error(&place, format!("\"{value}\" has no number of the pain"));
                return Err(problem.expected("place and 0 to 10: pain=\"left knee 6\""));
            };
            let rules = audit::rules().map_err(|r| Problem::error(&place, r.to_string()))?;
            if rules.joint_of_pain(words).is_none() {
                let known: Vec<&str> = rules.pain_places.iter().map(|(_, w)| w.as_str()).collect();
                return Err(super::unknown_place(&place, words, &known));
            }
            o.changed.push(format!("{words} hurts {}/10", short(score, 0)));
            o.client.pains.push(Pain { place: words.into(), score: Some(score), ..Pain::default() });
        }
        tape if TAPES.contains(&tape) => {
            let v = number(5.0, 260.0, "cm")?;
            let old = o.client.tape_cm.iter().find(|(n, _)| n == tape).map(|(_, v)| *v);
            o.changed.push(format!("{} {} to {} cm", tape.replace('_', " "), was(old, "cm"), short(v, 1)));
            o.client.tape_cm.retain(|(n, _)| n != tape);
            o.client.tape_cm.push((tape.into(), v));
        }
        _ => {
            let known: Vec<&str> = KEYS.iter().map(|k| k.0).chain(TAPES).collect();
            let near = super::nearest(&key, &known);
            let expected: Vec<&str> = KEYS.iter().map(|k| k.1).chain(["a tape measure, cm: thigh=46"]).collect();
            return Err(Problem::error(place, format!("nothing called \"{key}\" can be changed"))
                .nearest(near)
                .expected(expected.join("; ")));
        }
    }
    Ok(())
}

/// What moves in the present week, and with `build` in the rebuilt one, when something about the client changes. `changes`
/// are "KEY=VALUE" as a coach types them.
pub fn what_if(
    desk: &Desk,
    request: &RebuildRequest,
    changes: &[String],
    build: bool,
    go_on: &mut dyn FnMut(Progress) -> bool,
) -> Result<WhatIf, Report> {
    let o = other(desk, request, changes)?;
    let changed_desk = Desk::of(desk.house.clone(), Some(o.client.clone()), desk.draws, desk.seed);
    let changed_request =
        RebuildRequest { kit: o.kit.as_deref(), days: o.days.as_deref(), minutes: o.minutes, ..request.clone() };
    let (before, _) = judged(desk, request)?;
    let (after, barred) = judged(&changed_desk, &changed_request)?;
    let moved = moved(&before, &after);
    let rebuilt = if build {
        let first = rebuild(desk, request, go_on)?;
        let second = rebuild(&changed_desk, &changed_request, go_on)?;
        Some(Box::new(RebuiltPair { before: first, after: second }))
    } else {
        None
    };
    let has_plan = before.entries.iter().any(|e| e.movement.is_some());
    let finding = match (has_plan, moved.first()) {
        (false, _) => "Without a plan only the rebuilt weeks can be compared".into(),
        (true, None) => "No head of the present week moves by 0.1 credited sets".into(),
        (true, Some(m)) => format!(
            "{} of the present week {}; {} most, {} to {}",
            many(moved.len(), "head", "heads"),
            if moved.len() == 1 { "moves" } else { "move" },
            m.plain,
            programme::show(m.before.unwrap_or(0.0)),
            programme::show(m.after)
        ),
    };
    let because = moved.iter().take(EXPLAINED).filter_map(|m| because(m, &before, &after)).collect();
    let known = |f: &answer::Flag| before.flags.iter().any(|b| b.text == f.text);
    Ok(WhatIf {
        schema: json::WHAT_IF.into(),
        finding,
        changed: o.changed,
        new_flags: after.flags.iter().filter(|f| !known(f)).cloned().collect(),
        because,
        barred,
        rebuilt,
        notes: vec![
            "A tape measure changes the length of its segment; all else stays in the proportion of the body.".into(),
            "Kit, days and minutes change no credit of the present week: they move the rebuilt one.".into(),
        ],
        moved,
    })
}

fn moved(before: &Audit, after: &Audit) -> Vec<HeadMove> {
    let aim = |group: &str| after.groups.iter().find(|g| g.group == group).map_or(String::new(), |g| g.aim.clone());
    let pairs = before.ledger.iter().zip(&after.ledger);
    let mut out: Vec<HeadMove> = pairs
        .filter(|(b, a)| (a.credited_sets.pooled.mid - b.credited_sets.pooled.mid).abs() >= WORTH_TELLING)
        .map(|(b, a)| HeadMove {
            head: a.head.clone(),
            plain: a.plain.clone(),
            group: a.group.clone(),
            aim: aim(&a.group),
            band: a.band,
            before: Some(b.credited_sets.pooled.mid),
            after: a.credited_sets.pooled.mid,
            verdict: a.verdict.clone(),
        })
        .collect();
    let size = |m: &HeadMove| (m.after - m.before.unwrap_or(0.0)).abs();
    out.sort_by(|a, b| size(b).total_cmp(&size(a)).then(a.head.cmp(&b.head)));
    out
}

/// "Hamstring, long head: Romanian deadlift 2.1 to 2.6".
fn because(m: &HeadMove, before: &Audit, after: &Audit) -> Option<String> {
    let from = |a: &Audit| a.ledger.iter().find(|r| r.head == m.head).map(|r| r.from.clone()).unwrap_or_default();
    let (old, new) = (from(before), from(after));
    let value = |list: &[(String, f64)], name: &str| list.iter().find(|x| x.0 == name).map_or(0.0, |x| x.1);
    let mut names: Vec<&String> = old.iter().chain(&new).map(|x| &x.0).collect();
    names.sort();
    names.dedup();
    let mut all: Vec<(f64, &String)> = names.into_iter().map(|n| (value(&new, n) - value(&old, n), n)).collect();
    all.sort_by(|a, b| b.0.abs().total_cmp(&a.0.abs()).then(a.1.cmp(b.1)));
    let show = |(_, n): &(f64, &String)| {
        format!("{n} {} to {}", programme::show(value(&old, n)), programme::show(value(&new, n)))
    };
    let parts: Vec<String> = all.iter().filter(|x| x.0.abs() >= WORTH_TELLING).take(3).map(show).collect();
    (!parts.is_empty()).then(|| format!("{}: {}", crate::text::sentence_case(&m.plain), parts.join("; ")))
}
