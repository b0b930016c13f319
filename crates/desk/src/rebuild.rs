//! From a client, and a plan where there is one, to the best week inside their limits, with what proves it.

use super::{Desk, audit, client, data, kit, rebuild_words as say};
use crate::json;
use crate::problem::{Problem, Report};
use crate::wish::Wish;
use answer::{Audit, Clash, Entry, HeadMove, MovementCredit, Proven, Rebuild, Settings, Status};
use movement::catalogue::{Kit, Sides};
use movement::names::NameContext;
use planner::{Answer, Built, Day, Effort, Given, Line, Must, Present, SolveError};
use programme::rules::Aim;
use programme::screening::{Gate, PainWord, screen};
use programme::{Client, HeadFacts, Inputs, Rules, WeekChoice};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

/// Where the present week comes from.
#[derive(Clone, Debug, Default)]
pub enum PresentWeek<'a> {
    /// No plan: a week from the client alone.
    #[default]
    None,
    /// The bytes of a plan's file, and its name for messages.
    File { bytes: &'a [u8], name: &'a str },
    /// Rows that were read already.
    Entries(Vec<Entry>),
}

/// What a rebuild is asked for.
#[derive(Clone, Debug, Default)]
pub struct RebuildRequest<'a> {
    pub present: PresentWeek<'a>,
    /// Which week of the file, from 1.
    pub week: Option<u32>,
    /// Kit id or file; the client's own without it.
    pub kit: Option<&'a str>,
    /// Names of days, or their number.
    pub days: Option<&'a str>,
    /// Minutes of every day.
    pub minutes: Option<f64>,
    /// Movements of the plan that stay as they are.
    pub keep: Vec<String>,
    /// Movements that the week may not hold.
    pub avoid: Vec<String>,
    /// Coach groups or heads whose band must be reached, or "NAME=SETS".
    pub must: Vec<String>,
    /// Movements that may come in anew.
    pub most_new: Option<u32>,
    /// How much work is spent.
    pub effort: Effort,
}

/// How far a rebuild is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress<'a> {
    /// What is being worked at: "movements", "weekly totals", "search", "days".
    pub at: &'a str,
    /// Value so far and what no week can exceed; 0 before there is one.
    pub value: f64,
    pub bound: f64,
}

/// Nodes spent on wishes that clash.
const CLASH_NODES: u64 = 20_000;
/// Most days of a week.
const MOST_DAYS: usize = 7;
/// Changes of a head worth a line, credited sets.
const WORTH_A_LINE: f64 = 0.5;

/// Numbers of the planner from the shipped table.
fn constants() -> Result<planner::Constants, Report> {
    planner::Constants::parse(data::text("planner/constants.csv")?)
        .map_err(|e| Report::internal(format!("data/planner/{e}")))
}

/// Everything that was read and judged before the programme is written down.
struct Scene<'a> {
    desk: &'a Desk,
    rules: Rules,
    client: Client,
    kit: Option<Kit>,
    heads: Vec<HeadFacts>,
    entries: Vec<Entry>,
    messages: Vec<answer::Message>,
    pain_words: Vec<PainWord>,
    gate: Gate,
    credits: BTreeMap<String, Result<MovementCredit, String>>,
}

fn key(movement: &str, settings: &Settings) -> String {
    format!("{movement} {}", serde_json::to_string(settings).unwrap_or_default())
}

impl Scene<'_> {
    fn ask(&self, movement: &str, settings: &Settings, draws: usize) -> library::Ask {
        let wish = Wish { movement: movement.into(), settings: settings.clone() };
        library::Ask { person: client::person(&self.client), draws, ..self.desk.ask(&wish, false) }
    }

    fn credit(&self, movement: &str, settings: &Settings) -> Result<MovementCredit, String> {
        match self.credits.get(&key(movement, settings)) {
            Some(known) => known.clone(),
            None => (*self.desk.house.credit(&self.ask(movement, settings, self.desk.draws))).clone(),
        }
    }

    /// Highest skill of what may come in (1 easy, 2 needs coaching, 3 needs weeks): beginners, the young and those over 60
    /// meet nothing harder than what they do, and without a plan nothing that needs weeks.
    fn most_skill(&self) -> u8 {
        let c = &self.rules.constants;
        let age = self.client.age(client::today());
        let careful = self.client.training_years.is_some_and(|y| y < c.beginner_years)
            || age.is_some_and(|a| a < 18.0 || a > c.older_years);
        let catalogue = &self.desk.library().catalogue;
        let known = self.entries.iter().filter_map(|e| catalogue.movement(e.movement.as_ref()?).map(|m| m.skill)).max();
        if careful { known.unwrap_or(2) } else { u8::MAX }
    }

    /// Why a row of the plan may not stay, beside what the gate says.
    fn bars(&self, entry: &Entry, credit: &MovementCredit, avoid: &[String]) -> Option<String> {
        if avoid.contains(&credit.movement) || self.client.dislikes(&credit.movement, &entry.name) {
            return Some("the client does not want it".into());
        }
        let kit = self.kit.as_ref().filter(|k| !k.allows(&credit.equipment))?;
        let missing: Vec<&str> =
            credit.equipment.iter().map(String::as_str).filter(|e| !kit.allows(&[e.to_string()])).collect();
        Some(format!("the kit has no {}", missing.join(", ")))
    }

    /// The ledger of some rows, without proposals.
    fn judge(&self, entries: Vec<Entry>, week: WeekChoice) -> Audit {
        let person = client::person(&self.client);
        let audit = programme::audit(Inputs {
            entries,
            messages: self.messages.clone(),
            pain_words: &self.pain_words,
            client: &self.client,
            today: client::today(),
            heads: &self.heads,
            credits: &|m: &str, s: &Settings| self.credit(m, s),
            candidates: &[],
            setting_options: &[],
            kit_lacks: &BTreeSet::new(),
            percentiles: self.desk.library().percentiles(&person).unwrap_or_default(),
            week,
            rules: &self.rules,
        });
        // What could not be fixed is said by the rebuilt week itself.
        let notes = audit.notes.iter().filter(|n| !n.starts_with("Not fixed")).cloned().collect();
        Audit { schema: json::AUDIT.into(), notes, proposals: Vec::new(), ..audit }
    }

    /// Movements that may come in, in the order of the list, with middle credits.
    fn candidates(&self) -> Result<Vec<(MovementCredit, bool)>, Report> {
        let none = Settings::new();
        let rows = self.desk.movements(None)?;
        let usable = rows.par_iter().filter(|r| self.kit.as_ref().is_none_or(|k| k.allows(&r.equipment)));
        let beyond = |r: &answer::MovementRow| {
            let own_body = r.equipment.iter().any(|e| e.contains("body-weight"));
            own_body && self.desk.house.beyond_own_body(&self.ask(&r.id, &none, 0))
        };
        let catalogue = &self.desk.library().catalogue;
        let one_side = |id: &str| catalogue.movement(id).is_some_and(|m| m.sides == Sides::Unilateral);
        let most_skill = self.most_skill();
        let teachable = |r: &&answer::MovementRow| {
            let skill = catalogue.movement(&r.id).map_or(0, |m| m.skill);
            skill <= most_skill && !thrown(r) && !self.client.dislikes(&r.id, &r.name)
        };
        Ok(usable
            .filter(teachable)
            .filter(|r| !beyond(r))
            .filter_map(|r| (*self.desk.house.credit(&self.ask(&r.id, &none, 0))).clone().ok())
            // A week needs mechanics behind it, not the convention alone.
            .filter(|c| !c.loaded_axes.is_empty())
            .map(|c| {
                let each_side = one_side(&c.movement);
                (c, each_side)
            })
            .collect())
    }
}

/// Whether a movement is thrown, jumped or swung: such work is for power and is never brought in for size.
fn thrown(row: &answer::MovementRow) -> bool {
    row.family == "ballistic" || row.id.split('-').any(|w| w == "jump")
}

/// Reads plan, client and kit.
fn scene<'a>(desk: &'a Desk, request: &RebuildRequest) -> Result<Scene<'a>, Report> {
    let rules = audit::rules()?;
    let (mut plan, client) = match &request.present {
        PresentWeek::File { bytes, name } => {
            let week = request.week.map(audit::Week::Number);
            let (plan, client, _) = audit::read(desk, &super::AuditRequest { bytes, name, week, kit: request.kit })?;
            (plan, client)
        }
        PresentWeek::Entries(entries) => {
            let plan =
                super::ReadPlan { entries: entries.clone(), messages: Vec::new(), pain_words: Vec::new(), weeks: 1 };
            (plan, desk.client.clone().unwrap_or_default())
        }
        PresentWeek::None => match &desk.client {
            Some(client) => {
                let plan =
                    super::ReadPlan { entries: Vec::new(), messages: Vec::new(), pain_words: Vec::new(), weeks: 1 };
                (plan, client.clone())
            }
            None => {
                let what = "neither a plan nor a client is given: there is nothing to build a week for";
                let remedy = "name a plan, or a client with --client FILE; lengthwise new client writes one";
                return Err(Problem::error("rebuild", what).remedy(remedy).into());
            }
        },
    };
    let catalogue = &desk.library().catalogue;
    // The reader of sheets knows ids alone; a coach reads names.
    for e in &mut plan.entries {
        if let Some(m) = e.movement.as_deref().and_then(|id| catalogue.movement(id)) {
            e.name.clone_from(&m.name);
        }
    }
    let kit = match (request.kit, &client.kit) {
        (Some(word), _) => Some(kit::read(word, catalogue)?.kit),
        (None, Some(programme::client::Kit::Id(id))) => Some(kit::read(id, catalogue)?.kit),
        (None, Some(programme::client::Kit::Items(items))) => Some(kit::of_items("the client's kit", items)),
        (None, None) => None,
    };
    let week = request.week.unwrap_or_else(|| plan.entries.iter().map(|e| e.week).min().unwrap_or(1));
    plan.entries.retain(|e| e.week == week || plan.weeks <= 1);
    let gate = screen(&client, &plan.entries, &plan.pain_words, client::today(), &rules);
    let mut scene = Scene {
        desk,
        rules,
        heads: audit::heads(desk)?,
        client,
        kit,
        entries: plan.entries,
        messages: plan.messages,
        pain_words: plan.pain_words,
        gate,
        credits: BTreeMap::new(),
    };
    let wanted: BTreeMap<String, (String, Settings)> = scene
        .entries
        .iter()
        .filter_map(|e| Some((key(e.movement.as_ref()?, &e.settings), (e.movement.clone()?, e.settings.clone()))))
        .collect();
    let wanted: Vec<(String, (String, Settings))> = wanted.into_iter().collect();
    let known: Vec<(String, Result<MovementCredit, String>)> = wanted
        .into_par_iter()
        .map(|(k, (m, s))| (k, (*scene.desk.house.credit(&scene.ask(&m, &s, scene.desk.draws))).clone()))
        .collect();
    scene.credits = known.into_iter().collect();
    Ok(scene)
}

/// The days of the week: asked for, else the client's, else the plan's, else as many as the client has.
fn days(scene: &Scene, request: &RebuildRequest) -> Result<Vec<Day>, Report> {
    let mut names: Vec<String> = Vec::new();
    let mut of_plan: Vec<String> = Vec::new();
    for e in scene.entries.iter().filter(|e| e.movement.is_some()) {
        if !of_plan.contains(&e.day) {
            of_plan.push(e.day.clone());
        }
    }
    let client = &scene.client;
    let numbered = |n: f64, place: &str| -> Result<Vec<String>, Report> {
        if n.fract() != 0.0 || !(1.0..=MOST_DAYS as f64).contains(&n) {
            let what = format!("{n} days make no week");
            return Err(Problem::error(place, what).expected("a whole number from 1 to 7, or names of days").into());
        }
        let known: Vec<String> = if of_plan.is_empty() { client.days.clone() } else { of_plan.clone() };
        Ok((0..n as usize).map(|i| known.get(i).cloned().unwrap_or_else(|| format!("Day {}", i + 1))).collect())
    };
    match request.days.map(str::trim) {
        Some(text) => match text.replace(',', ".").parse::<f64>() {
            Ok(n) => names.extend(numbered(n, "--days")?),
            Err(_) => names.extend(text.split(',').map(|d| d.trim().to_string()).filter(|d| !d.is_empty())),
        },
        None if !of_plan.is_empty() => names = of_plan.clone(),
        None if !client.days.is_empty() => names.clone_from(&client.days),
        None => match client.days_per_week {
            Some(n) => names = numbered(n, "days")?,
            None => {
                let problem = Problem::error("days", "neither plan nor client says on which days there is training");
                return Err(problem.remedy("add --days 3, or days = 3 to the client's file").into());
            }
        },
    }
    let mut seen = std::collections::BTreeSet::new();
    names.retain(|d| seen.insert(d.to_lowercase()));
    if names.is_empty() || names.len() > MOST_DAYS {
        let what = format!("{} make no week", crate::text::many(names.len(), "day", "days"));
        return Err(Problem::error("--days", what).expected("1 to 7 names of days, \"Monday,Thursday\"").into());
    }
    names
        .into_iter()
        .map(|name| {
            let minutes = request.minutes.or_else(|| client.minutes_on(&name));
            if let Some(m) = minutes.filter(|m| !m.is_finite() || *m <= 0.0) {
                let what = format!("{name} has {m:.0} minutes: nothing can be trained in no time");
                let remedy = "give the day more minutes, or leave it out of --days";
                return Err(Report::from(Problem::error("--minutes", what).remedy(remedy)));
            }
            Ok(Day { name, available_s: minutes.map(|m| 60.0 * m) })
        })
        .collect()
}

/// Movement ids meant by words of the request.
fn meant(scene: &Scene, words: &[String], flag: &str) -> Result<Vec<String>, Report> {
    let index = scene.desk.library().names();
    let mut out = Vec::new();
    let mut problems = Vec::new();
    for word in words {
        let found = index.find(word, &NameContext { kit: scene.kit.as_ref(), day: "" });
        match found.best.filter(|b| b.confidence >= 0.7) {
            Some(best) => out.push(best.id),
            None => {
                let ids: Vec<&str> = index.catalogue().movements.iter().map(|m| m.name.as_str()).collect();
                let near = super::nearest(word, &ids);
                problems.push(Problem::error(flag, format!("no movement called \"{word}\"")).nearest(near));
            }
        }
    }
    if problems.is_empty() { Ok(out) } else { Err(Report::of(problems)) }
}

/// Doses that must be reached.
fn musts(scene: &Scene, request: &RebuildRequest, before: &Audit) -> Result<Vec<Must>, Report> {
    let mut out = Vec::new();
    let mut problems = Vec::new();
    for wish in &request.must {
        let (word, sets) = match wish.rsplit_once('=') {
            Some((w, s)) => (w.trim(), Some(s.trim().replace(',', "."))),
            None => (wish.trim(), None),
        };
        let sets = match sets.map(|s| s.parse::<f64>().ok().filter(|v| v.is_finite() && *v > 0.0).ok_or(s)) {
            None => None,
            Some(Ok(v)) => Some(v),
            Some(Err(s)) => {
                let what = format!("\"{s}\" is no dose for {word}");
                problems.push(Problem::error("--must", what).expected("credited sets a week above 0: Hamstrings=8"));
                continue;
            }
        };
        let group = scene.rules.group_of(word).map(String::from);
        let row = group.as_ref().and_then(|g| before.groups.iter().find(|r| r.group == *g));
        let named = |h: &&HeadFacts| {
            [&h.head, &h.plain].iter().any(|n| n.eq_ignore_ascii_case(word))
                || programme::head_title(&h.head).eq_ignore_ascii_case(word)
        };
        let head = scene.heads.iter().position(|h| named(&h));
        let (name, heads, band) = match (row, head) {
            (Some(row), _) => {
                (row.group.clone(), programme::planning::group_shares(&scene.heads, &row.group), row.band)
            }
            (None, Some(h)) => (scene.heads[h].plain.clone(), vec![(h, 1.0)], before.ledger[h].band),
            (None, None) => {
                let known: Vec<&str> = scene.rules.groups.iter().map(|g| g.group.as_str()).collect();
                let near = super::nearest(word, &known);
                let near = if near.is_empty() { known.iter().map(|k| k.to_string()).collect() } else { near };
                problems
                    .push(Problem::error("--must", format!("no coach group or head called \"{word}\"")).nearest(near));
                continue;
            }
        };
        let at_least = sets.unwrap_or(band.low);
        if at_least <= 0.0 {
            let what = format!("{name} has no aim, so that no dose of it can be demanded");
            problems.push(Problem::error("--must", what).remedy(format!("say how much: --must \"{name}=6\"")));
            continue;
        }
        out.push(Must { name, heads, at_least });
    }
    if problems.is_empty() { Ok(out) } else { Err(Report::of(problems)) }
}

/// The gate speaks before anything is built.
fn gated(scene: &Scene) -> Result<(), Report> {
    if scene.gate.hold_all {
        let stops: Vec<Problem> = scene
            .gate
            .flags
            .iter()
            .filter(|f| f.level == "stop")
            .map(|f| {
                let remedy = format!("nothing is built until it is lifted by: {}", f.who_lifts);
                Problem::error(f.place.clone(), f.text.clone()).remedy(remedy)
            })
            .collect();
        return Err(Report::of(stops));
    }
    if scene.gate.hold_volume && !scene.entries.iter().any(|e| e.movement.is_some()) {
        let why = scene.gate.holds.join("; ");
        let what = format!("no sets may be added for now ({why}), and without a plan every set would be one");
        let remedy = "rebuild the present plan, or see the flags of lengthwise check for who can lift it";
        return Err(Problem::error("rebuild", what).remedy(remedy).into());
    }
    Ok(())
}

/// Builds the best week. `go_on` is told how far the work is; `false` ends it with the best week so far.
pub fn rebuild(
    desk: &Desk,
    request: &RebuildRequest,
    go_on: &mut dyn FnMut(Progress) -> bool,
) -> Result<Rebuild, Report> {
    go_on(Progress { at: "movements", value: 0.0, bound: 0.0 });
    let scene = scene(desk, request)?;
    gated(&scene)?;
    let constants = constants()?;
    let days = days(&scene, request)?;
    let keep = meant(&scene, &request.keep, "--keep")?;
    let avoid = meant(&scene, &request.avoid, "--avoid")?;
    let has_plan = !matches!(request.present, PresentWeek::None);
    let week = scene.entries.first().map_or(1, |e| e.week);
    let before = scene.judge(scene.entries.clone(), WeekChoice::Week(week));
    kept_and_avoided(&scene, &keep, &avoid)?;
    let aims = programme::bands::Targets::new(&scene.rules, &scene.client, client::today()).aims(&scene.heads);
    let bands: Vec<answer::Band> = before.ledger.iter().map(|r| r.band).collect();
    let counted = |e: &&Entry| matches!(e.status, Status::Certain | Status::Assumed);
    let present: Vec<Present> = scene
        .entries
        .iter()
        .filter(counted)
        .filter_map(|entry| {
            let movement = entry.movement.as_ref()?;
            let credit = scene.credit(movement, &entry.settings).ok()?;
            let keep = keep.contains(movement) || scene.client.keeps(movement, &entry.name);
            let barred = scene.bars(entry, &credit, &avoid);
            Some(Present { entry: entry.clone(), credit, keep, barred })
        })
        .collect();
    let mut candidates = scene.candidates()?;
    candidates.retain(|(c, _)| !avoid.contains(&c.movement));
    let musts = musts(&scene, request, &before)?;
    // In an energy deficit nothing new is chased.
    let most_new = if scene.client.energy_deficit { Some(0) } else { request.most_new }.filter(|_| has_plan);
    let built = planner::task_of(Given {
        heads: &scene.heads,
        aims: &aims,
        bands: &bands,
        gate: &scene.gate,
        rules: &scene.rules,
        constants: &constants,
        client: &scene.client,
        days,
        present,
        candidates,
        musts,
        most_new,
    });
    if let Some((row, why)) = built.refused.first() {
        let what = format!("{} should stay, but {why}", row.name);
        return Err(Problem::error("--keep", what)
            .remedy("leave it out of --keep, or change what speaks against it")
            .into());
    }
    let result =
        planner::solve(&built.task, &request.effort, &mut |(at, value, bound)| go_on(Progress { at, value, bound }));
    match result {
        Ok(found) => Ok(answer_of(&scene, &built, &aims, &found, before, has_plan, request)),
        Err(SolveError::Clash | SolveError::NotFound { .. }) => clash(&scene, &built, before, has_plan, request, go_on),
        Err(SolveError::Stopped) => {
            Err(Problem::error("rebuild", "stopped before a week was found").remedy("let it run on").into())
        }
        Err(SolveError::Task(e)) => Err(Problem::error("rebuild", e.to_string()).into()),
        Err(SolveError::Solver(e)) => Err(Report::internal(format!("the solver failed: {e}"))),
    }
}

/// Wishes that contradict each other before any reckoning.
fn kept_and_avoided(scene: &Scene, keep: &[String], avoid: &[String]) -> Result<(), Report> {
    let mut problems = Vec::new();
    for id in keep {
        let name = scene.desk.movement_row(id).name;
        if avoid.contains(id) {
            let what = format!("{name} is to stay and to be avoided");
            problems.push(Problem::error("--keep, --avoid", what).remedy("leave it out of one of them"));
        } else if !scene.entries.iter().any(|e| e.movement.as_ref() == Some(id)) {
            let what = format!("{name} is to stay, but the plan does not hold it");
            problems
                .push(Problem::error("--keep", what).remedy("keep names movements of the plan; --must demands a dose"));
        }
    }
    if problems.is_empty() { Ok(()) } else { Err(Report::of(problems)) }
}

/// Rows of a week in the order they are done: heavy joint work first, then what the client wants most.
fn ordered(built: &Built, aims: &[Aim], week: &[Line]) -> Vec<Line> {
    let rank = |l: &Line| {
        let c = &built.credits[l.choice];
        let best = built.task.choices[l.choice].credits.iter().filter(|x| x.1 >= 0.5).map(|x| aims[x.0]).max();
        (l.day, !c.multi_joint, std::cmp::Reverse(best), built.rows[l.choice].row, l.choice)
    };
    let mut out = week.to_vec();
    out.sort_by_key(rank);
    out
}

/// The rows of a rebuilt week as a plan holds them.
fn rows(built: &Built, week: &[Line]) -> Vec<Entry> {
    week.iter()
        .zip(1..)
        .map(|(l, row)| {
            let of = &built.rows[l.choice];
            let mut e = Entry {
                sheet: "Plan".into(),
                row,
                col: 1,
                day: built.task.days[l.day].name.clone(),
                week: 1,
                sets_low: f64::from(l.sets),
                sets_high: f64::from(l.sets),
                ..of.clone()
            };
            // A pair of the present week may have lost its partner: rest is no longer shared.
            e.extra.pair = None;
            e.text = say::row_text(&e);
            e
        })
        .collect()
}

fn answer_of(
    scene: &Scene,
    built: &Built,
    aims: &[Aim],
    found: &Answer,
    before: Audit,
    has_plan: bool,
    request: &RebuildRequest,
) -> Rebuild {
    let week = ordered(built, aims, &found.week);
    let after = scene.judge(rows(built, &week), WeekChoice::Week(1));
    let proof = proof(scene, built, found, has_plan);
    let heads = heads_moved(&before, &after, aims, has_plan);
    let mut out = Rebuild {
        schema: json::REBUILD.into(),
        flags: after.flags.clone(),
        days: say::days(built, &week, &after, &scene.gate, &scene.rules),
        changes: if has_plan { say::changes(built, &scene.entries, &found.week) } else { Vec::new() },
        open: say::open(built, &after, aims, &found.week, &scene.rules),
        heads,
        proof,
        notes: say::notes(built, &scene.entries, request, has_plan, &scene.gate),
        before: has_plan.then_some(before),
        after: Some(after),
        ..Rebuild::default()
    };
    out.finding = say::finding(&out, aims);
    out
}

fn proof(scene: &Scene, built: &Built, found: &Answer, has_plan: bool) -> Proven {
    let task = &built.task;
    let barred = built.barred.iter().map(|(e, why)| format!("{}: {why}", e.name));
    let mut breaks: Vec<String> = barred.collect();
    breaks.extend(task.broken(&task.present).into_iter().map(|b| say::in_coachs_words(&b, &scene.heads)));
    Proven {
        value: found.value,
        bound: found.bound,
        gap: found.gap(),
        present: has_plan.then(|| task.value(&task.present)),
        present_breaks: if has_plan { breaks } else { Vec::new() },
        found_by: match found.found {
            planner::Found::Programme => "integer programme".into(),
            planner::Found::Search => "search".into(),
        },
        nodes: found.nodes,
        movements: task.choices.len() as u32,
        stopped: found.stopped,
    }
}

/// Heads with an aim, or with a change worth a line.
fn heads_moved(before: &Audit, after: &Audit, aims: &[Aim], has_plan: bool) -> Vec<HeadMove> {
    let moved = |i: &usize| {
        let (b, a) = (&before.ledger[*i], &after.ledger[*i]);
        aims[*i] > Aim::Leave || (a.credited_sets.pooled.mid - b.credited_sets.pooled.mid).abs() >= WORTH_A_LINE
    };
    (0..after.ledger.len())
        .filter(moved)
        .map(|i| {
            let (b, a) = (&before.ledger[i], &after.ledger[i]);
            HeadMove {
                head: a.head.clone(),
                plain: a.plain.clone(),
                group: a.group.clone(),
                aim: aims[i].word().into(),
                band: a.band,
                before: has_plan.then_some(b.credited_sets.pooled.mid),
                after: a.credited_sets.pooled.mid,
                verdict: a.verdict.clone(),
            }
        })
        .collect()
}

/// No week fulfils every wish: what has to give way.
fn clash(
    scene: &Scene,
    built: &Built,
    before: Audit,
    has_plan: bool,
    request: &RebuildRequest,
    go_on: &mut dyn FnMut(Progress) -> bool,
) -> Result<Rebuild, Report> {
    let mut task = built.task.clone();
    // What the client does not want may come in at the price of that wish.
    let avoid = meant(scene, &request.avoid, "--avoid")?;
    let mut wide = Vec::new();
    for id in &avoid {
        let Ok(credit) = scene.credit(id, &Settings::new()) else { continue };
        let like = task.choices.iter().find(|c| c.new).or(task.choices.first());
        let Some(like) = like.cloned() else { continue };
        let credits = credit.heads.iter().filter_map(|h| {
            let at = scene.heads.iter().position(|f| f.head == h.head)?;
            (h.credit.pooled.mid > 1e-6).then_some((at, h.credit.pooled.mid, h.long))
        });
        let movement = task.choices.iter().map(|c| c.movement + 1).max().unwrap_or(0);
        wide.push(task.choices.len());
        task.choices.push(planner::Choice { name: credit.name.clone(), movement, credits: credits.collect(), ..like });
    }
    let freed = planner::free(&task, &wide, CLASH_NODES, &mut || {
        go_on(Progress { at: "wishes that clash", value: 0.0, bound: 0.0 })
    });
    let freed = freed.map_err(|e| {
        let what = format!("no week fulfils these wishes together; which of them clash was not found ({e})");
        Report::from(Problem::error("rebuild", what).remedy("take wishes away one at a time, or give more minutes"))
    })?;
    let clash = Clash {
        wishes: say::wishes(&task, request),
        give_way: freed.wishes.iter().map(|(w, amount)| say::give_way(&task, w, *amount)).collect(),
        proven: freed.proven,
    };
    let mut out = Rebuild {
        schema: json::REBUILD.into(),
        flags: before.flags.clone(),
        clash: Some(clash),
        before: has_plan.then_some(before),
        ..Rebuild::default()
    };
    out.finding = say::finding(&out, &[]);
    Ok(out)
}

/// The present week judged for the desk's client, and its rows that are barred, with the reason.
pub(super) fn judged(desk: &Desk, request: &RebuildRequest) -> Result<(Audit, Vec<String>), Report> {
    let scene = scene(desk, request)?;
    let week = scene.entries.first().map_or(1, |e| e.week);
    let mut barred = Vec::new();
    for e in scene.entries.iter().filter(|e| matches!(e.status, Status::Certain | Status::Assumed)) {
        let Some(movement) = &e.movement else { continue };
        let Ok(credit) = scene.credit(movement, &e.settings) else { continue };
        let objection = programme::screening::objections(&credit, &scene.gate, &scene.rules).leave_out;
        barred.extend(objection.map(|why| format!("{}: {}: {why}", e.day, e.name)));
        barred.extend(scene.bars(e, &credit, &[]).map(|why| format!("{}: {}: {why}", e.day, e.name)));
    }
    Ok((scene.judge(scene.entries.clone(), WeekChoice::Week(week)), barred))
}
