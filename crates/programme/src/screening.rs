//! The screening gate and the cautions. In: client, entries, pain words found in the plan, today's date; out: flags, most
//! urgent first, and the restrictions that proposals must respect. Never a diagnosis.
//!
//! Levels: `stop` (no training until lifted), `clearance` (someone must agree first), `refer`, `caution`. Every text is a
//! row of `safety.csv`; each flag names who must lift it and shows its stop signs and its source.

use crate::client::Client;
use crate::rules::{Effect, Match, Rules, SafetyRow};
use crate::week::place_of;
use crate::{Date, joint_of, joint_word};
use answer::{Entry, Flag, MovementCredit, SettingValue, Status};

/// A word of pain or alarm found in a plan by its reader.
#[derive(Clone, Debug, Default, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct PainWord {
    /// "Plan!D9" or "line 12".
    pub place: String,
    pub word: String,
    /// The text around it, as written.
    pub text: String,
}

/// Flags and what follows from them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Gate {
    /// Most urgent first.
    pub flags: Vec<Flag>,
    /// Tags of `restrictions.csv` that hold for this client.
    pub restrict: Vec<String>,
    /// (joint id, score) of each pain; 4 where no number was given.
    pub pains: Vec<(String, f64)>,
    /// An unlifted stop: nothing is proposed.
    pub hold_all: bool,
    /// No proposal may add sets.
    pub hold_volume: bool,
    /// Under 18.
    pub youth: bool,
    /// Why, in one line each, for the notes.
    pub holds: Vec<String>,
}

const LEVELS: [&str; 4] = ["stop", "clearance", "refer", "caution"];

struct Builder<'a> {
    rules: &'a Rules,
    client: &'a Client,
    gate: Gate,
}

/// The gate for a client and a plan.
pub fn screen(client: &Client, entries: &[Entry], pain_words: &[PainWord], today: Date, rules: &Rules) -> Gate {
    let mut b = Builder { rules, client, gate: Gate::default() };
    b.three_questions(today);
    for (field, words, kind) in
        [("conditions", &client.conditions, "condition"), ("medicines", &client.medicines, "medicine")]
    {
        for word in words {
            b.named(field, word, kind);
        }
    }
    b.states(today);
    b.pains();
    b.words(pain_words);
    b.new_work(entries);
    b.gate.order();
    b.gate.restrict.sort();
    b.gate.restrict.dedup();
    b.gate
}

impl Gate {
    /// Most urgent first; the same flag twice says nothing more.
    pub fn order(&mut self) {
        let rank = |f: &Flag| LEVELS.iter().position(|l| *l == f.level).unwrap_or(LEVELS.len());
        self.flags.sort_by_key(rank);
        let mut seen = std::collections::BTreeSet::new();
        self.flags.retain(|f| seen.insert((f.place.clone(), f.text.clone())));
        let mut said = std::collections::BTreeSet::new();
        self.holds.retain(|h| said.insert(h.clone()));
    }

    fn restricts(&self, tag: &str) -> bool {
        self.restrict.iter().any(|t| t == tag)
    }

    /// Work near failure, long holds and carries are to be kept away from.
    pub fn no_failure(&self) -> bool {
        self.restricts("no-failure")
    }
    /// Long breath holds are to be kept away from.
    pub fn no_breath_hold(&self) -> bool {
        self.restricts("breath-hold")
    }
}

impl Builder<'_> {
    /// Adds a flag from a row; `lead` stands before its text. A clearance given in time lowers the level to a caution.
    fn raise(&mut self, row: &SafetyRow, place: String, lead: &str, cleared: Option<Date>) {
        let lifted = row.level == "clearance" && cleared.is_some();
        let level = if lifted { "caution" } else { row.level.as_str() };
        let mut text = format!("{lead}{}", row.text);
        if let (true, Some(date)) = (lifted, cleared) {
            text.push_str(&format!("; cleared on {date}"));
        }
        if !row.source.is_empty() {
            text.push_str(&format!(" [{}; {}]", row.source, row.how));
        }
        // Whatever it is for: while someone must still agree, no sets are added.
        let mut holds = row.level == "clearance" && !lifted;
        for tag in &row.restrict {
            match tag.as_str() {
                "hold-all" => self.gate.hold_all |= !lifted,
                "hold-volume" => holds |= !lifted,
                "no-more-sets" => holds = true,
                _ => self.gate.restrict.push(tag.clone()),
            }
        }
        if holds || self.gate.hold_all {
            self.gate.hold_volume |= holds;
            let why = row.text.split([':', ';']).next().unwrap_or_default();
            self.gate.holds.push(format!("{lead}{why}").trim_end_matches('.').to_string());
        }
        self.gate.flags.push(Flag {
            level: level.into(),
            place,
            text,
            who_lifts: row.who_lifts.clone(),
            stop_signs: row.stop_signs.clone(),
        });
    }

    fn state(&mut self, id: &str, place: &str, lead: &str) {
        if let Some(row) = self.rules.row(id) {
            let row = row.clone();
            let cleared = self.client.cleared(id);
            self.raise(&row, place.into(), lead, cleared);
        }
    }

    fn three_questions(&mut self, today: Date) {
        let s = &self.client.screening;
        let (Some(regular), Some(disease), Some(symptoms)) = (s.exercises_regularly, s.known_disease, s.symptoms)
        else {
            // A known answer that asks for a doctor counts, whatever else is open.
            match (s.exercises_regularly, s.known_disease, s.symptoms) {
                (Some(true), _, Some(true)) => self.state("gate-yny", "screening", ""),
                (_, _, Some(true)) => self.state("gate-nny", "screening", ""),
                (Some(true), Some(true), _) => self.state("gate-yyn", "screening", ""),
                (_, Some(true), _) => self.state("gate-nyn", "screening", ""),
                _ => {}
            }
            return self.state("gate-open", "screening", "");
        };
        let letter = |b: bool| if b { 'y' } else { 'n' };
        let id = format!("gate-{}{}{}", letter(regular), letter(disease), letter(symptoms));
        let Some(row) = self.rules.row(&id).cloned() else { return };
        if !row.level.is_empty() {
            let months = self.rules.constants.clearance_months;
            let recent = |d: &Date| (0..=months as i32).contains(&d.months_until(today)) && *d <= today;
            let cleared = self.client.cleared("screening").filter(recent);
            self.raise(&row, "screening".into(), "", cleared);
        }
        if s.date.is_none() {
            self.state("gate-open", "screening.date", "");
        }
    }

    fn named(&mut self, field: &str, word: &str, kind: &str) {
        let lower = word.to_lowercase();
        // Uncontrolled pressure stands before hypertension in the file: the first row that fits counts.
        let rows: Vec<SafetyRow> = self
            .rules
            .safety
            .iter()
            .filter(|r| r.kind == kind)
            // A medicine's name ends in its kind ("pravastatin"); a condition is a word: a disc herniation is no hernia.
            .filter(|r| {
                r.words.iter().any(|w| if kind == "medicine" { lower.contains(w) } else { has_word(&lower, w) })
            })
            .cloned()
            .collect();
        if rows.is_empty() {
            self.gate.flags.push(Flag {
                level: "caution".into(),
                place: field.into(),
                text: format!(
                    "\"{word}\" is not in the list of {field}: ask what it means for training before hard sets"
                ),
                who_lifts: "coach, by asking; doctor when in doubt".into(),
                stop_signs: Vec::new(),
            });
        }
        if let Some(row) = rows.first() {
            let cleared = self.client.cleared(&row.id).or_else(|| self.client.cleared(word));
            self.raise(row, field.into(), "", cleared);
        }
    }

    fn states(&mut self, today: Date) {
        if let Some(age) = self.client.age(today) {
            if age < 18.0 {
                self.gate.youth = true;
                self.state("youth", "age_years", "");
            }
            if age >= 65.0 {
                self.state("over65", "age_years", "");
            }
            if age > self.rules.constants.older_years {
                self.state("over60", "age_years", "");
            }
        }
        if let Some(weeks) = self.client.pregnancy_weeks {
            self.state("pregnancy", "pregnancy_weeks", &format!("Week {weeks:.0}. "));
        }
        if self.client.postpartum_weeks.is_some_and(|w| w < 52.0) {
            self.state("postpartum", "postpartum_weeks", "");
        }
        if self.client.energy_deficit {
            let lead = self.client.deficit_kcal_day.map_or(String::new(), |k| format!("About {k:.0} kcal a day. "));
            self.state("deficit", "energy_deficit", &lead);
        }
    }

    fn pains(&mut self) {
        let c = &self.rules.constants;
        for pain in &self.client.pains.clone() {
            let id = match pain.score {
                None => "pain-unrated",
                Some(s) if s > c.pain_change_above => "pain-high",
                Some(s) if s >= c.pain_watch_from => "pain-mid",
                Some(_) => "pain-low",
            };
            let score = pain.score.map_or(String::new(), |s| format!(" {s:.0}/10"));
            let since = pain.since.as_ref().map_or(String::new(), |s| format!(" since {s}"));
            self.state(id, "pains", &format!("{}{score}{since}: ", pain.place));
            // Pain of the chest or jaw may be no pain of a joint or muscle.
            if ["chest", "jaw", "breastbone"].iter().any(|w| has_word(&pain.place.to_lowercase(), w)) {
                self.state("w-dizzy", "pains", &format!("{}{score}{since}: ", pain.place));
            }
            match self.rules.joint_of_pain(&pain.place) {
                // Without a number a pain is treated as one to watch.
                Some(joint) => self.gate.pains.push((joint.to_string(), pain.score.unwrap_or(c.pain_watch_from + 1.0))),
                None => self.gate.holds.push(format!(
                    "\"{}\" could not be placed at a joint: no movement is left out because of it",
                    pain.place
                )),
            }
        }
    }

    /// Every word found is a flag of its own; the order of levels puts the worst of a cell first. Only the word counts,
    /// not the text around it, in which a pain may be denied.
    fn words(&mut self, found: &[PainWord]) {
        for hit in found {
            let row = self.rules.row_of_word(&hit.word).or_else(|| self.rules.row("w-pain")).cloned();
            if let Some(row) = row {
                let quote: String = hit.text.chars().take(60).collect();
                self.raise(&row, hit.place.clone(), &format!("\"{}\": ", quote.trim()), None);
            }
        }
    }

    /// First two weeks of a movement: few sets, far from failure.
    fn new_work(&mut self, entries: &[Entry]) {
        let c = &self.rules.constants;
        for e in entries.iter().filter(|e| matches!(e.status, Status::Certain | Status::Assumed)) {
            let Some(movement) = &e.movement else { continue };
            if !self.client.is_new(movement, &e.name) {
                continue;
            }
            let many = e.sets_high > c.new_sets;
            let near = e.rir.is_some_and(|r| r < c.new_rir);
            if many || near {
                let rir = e.rir.map_or(String::new(), |r| format!(", {r:.0} in reserve"));
                let lead = format!("{}, {} sets{rir}: ", e.name, crate::gaps::number(e.sets_high));
                self.state("new-work", &place_of(e), &lead);
            }
        }
    }
}

/// Whether `text` contains `word` at word borders (both in lower case).
pub(crate) fn has_word(text: &str, word: &str) -> bool {
    text.match_indices(word).any(|(at, _)| {
        let edge = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric());
        edge(text[..at].chars().next_back()) && edge(text[at + word.len()..].chars().next())
    })
}

/// What speaks against a movement for this client.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Objections {
    /// Reason to leave it out; `None` when it may be proposed.
    pub leave_out: Option<String>,
    /// It is left out because of pain alone: easier ways to do it come before leaving it out.
    pub by_pain: bool,
    /// Reason not to bring it in anew, though it may stay where it is.
    pub not_new: Option<String>,
    pub cautions: Vec<String>,
}

/// Pains and restrictions against a movement.
pub fn objections(movement: &MovementCredit, gate: &Gate, rules: &Rules) -> Objections {
    let c = &rules.constants;
    let mut out = Objections::default();
    for (joint, score) in &gate.pains {
        if !movement.loaded_axes.iter().any(|a| joint_of(a) == joint) {
            continue;
        }
        if *score > c.pain_change_above {
            let said = out.leave_out.take().map_or(String::new(), |said| format!("{said}; "));
            out.leave_out = Some(format!("{said}it loads the {}, where pain is {score:.0}/10", joint_word(joint)));
            out.by_pain = true;
        } else if *score >= c.pain_watch_from {
            out.cautions.push(format!(
                "loads the {}, where pain is {score:.0}/10: may go on if settled by next morning",
                joint_word(joint)
            ));
        }
    }
    for r in rules.restrictions.iter().filter(|r| gate.restrict.contains(&r.tag)) {
        if !r.matches.iter().any(|m| matches_movement(m, movement)) {
            continue;
        }
        match r.effect {
            Effect::LeaveOut => {
                // Every rule that speaks against it is told; a pain beside a rule is no longer the only reason.
                let said = out.leave_out.take().map_or(String::new(), |said| format!("{said}; "));
                (out.leave_out, out.by_pain) = (Some(format!("{said}{}", r.text)), false);
            }
            Effect::NotNew => out.not_new = Some(r.text.clone()),
            Effect::Caution if !out.cautions.contains(&r.text) => out.cautions.push(r.text.clone()),
            Effect::Caution => {}
        }
    }
    if gate.no_failure() {
        out.cautions.push(format!("stop {:.0} or more repetitions short of failure", c.new_rir));
    }
    out
}

/// Pooled credit from which a movement loads the part a head belongs to, whether or not that part moves (own estimate:
/// below, the head steadies as in any standing work).
const LOADED: f64 = 0.2;

fn matches_movement(m: &Match, movement: &MovementCredit) -> bool {
    match m {
        Match::Axis(axis) => movement.loaded_axes.contains(axis),
        Match::Word(word) => movement.cautions.iter().any(|c| c.to_lowercase().contains(word.as_str())),
        Match::Name(word) => {
            let name = format!("{} | {}", movement.name.to_lowercase(), movement.movement.replace('-', " "));
            name.contains(word.as_str()) && !name.contains("incline")
        }
        Match::Below(key, limit) => match movement.settings.get(key) {
            Some(SettingValue::Number(v)) => v < limit,
            _ => false,
        },
        Match::Head(start) => {
            let loads = |h: &answer::HeadCredit| h.head.starts_with(start.as_str()) && h.credit.pooled.mid >= LOADED;
            movement.heads.iter().any(loads)
        }
        Match::Long => movement.heads.iter().any(|h| h.long && h.credit.pooled.mid >= 0.5),
    }
}
