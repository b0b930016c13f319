//! A coach's question as a file: client, plan, and the commands that answer it. In: the file and what it names; out: the
//! answers of those commands. It knows nothing of its own.

use super::audit::AuditRequest;
use super::lay_out::LayOutRequest;
use super::propose::ProposeRequest;
use super::{Desk, House, client};
use crate::problem::{Problem, Report};
use crate::wish::{Wish, parse_wish};
use answer::{Audit, Compare, LayOut, Look, Propose, Rank, Similar, Why};
use serde::Deserialize;
use std::sync::Arc;

/// A coach's question.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scenario {
    pub title: String,
    /// As the coach asks it.
    pub question: String,
    /// Client's file beside this one.
    pub client: Option<String>,
    /// Plan beside this one.
    pub plan: Option<String>,
    /// Commands in order.
    #[serde(default)]
    pub ask: Vec<AskFile>,
    /// Name of the file, for messages.
    #[serde(skip)]
    place: String,
}

/// One command of a question.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct AskFile {
    pub command: String,
    /// Movements or a head.
    pub words: Vec<String>,
    pub kit: Option<String>,
    /// Head that `look` explains.
    pub why: Option<String>,
    /// Place that `similar` spares.
    pub spare: Option<String>,
    pub weeks: Option<u32>,
    pub easy: Vec<u32>,
    pub rule: Option<String>,
    pub apply: Option<u32>,
    /// How many neighbours `similar` shows.
    pub count: Option<usize>,
}

/// A command's answer.
pub enum Asked {
    Audit(Box<Audit>),
    Propose(Box<Propose>),
    LayOut(Box<LayOut>),
    Look(Box<Look>),
    Compare(Box<Compare>),
    Rank(Box<Rank>),
    Similar(Box<Similar>),
    Why(Box<Why>),
}

/// A command as typed, with its answer.
pub struct ScenarioAnswer {
    /// "propose plan.csv --client client.toml".
    pub command: String,
    pub asked: Asked,
}

impl ScenarioAnswer {
    /// The answer as its command prints it with `--json`.
    ///
    /// # Errors
    /// A fault of the program: the answer cannot be written.
    pub fn json(&self) -> Result<serde_json::Value, Report> {
        let value = match &self.asked {
            Asked::Audit(a) => serde_json::to_value(a),
            Asked::Propose(a) => serde_json::to_value(a),
            Asked::LayOut(a) => serde_json::to_value(a),
            Asked::Look(a) => serde_json::to_value(a),
            Asked::Compare(a) => serde_json::to_value(a),
            Asked::Rank(a) => serde_json::to_value(a),
            Asked::Similar(a) => serde_json::to_value(a),
            Asked::Why(a) => serde_json::to_value(a),
        };
        value.map_err(|e| Report::internal(format!("the answer could not be written as JSON: {e}")))
    }
}

/// Commands a question may use.
const COMMANDS: [&str; 7] = ["audit", "propose", "lay-out", "look", "compare", "rank", "similar"];

impl Scenario {
    /// Reads a question's file.
    ///
    /// # Errors
    /// What is wrong, with its line.
    pub fn read(text: &str, place: &str) -> Result<Scenario, Report> {
        let mut scenario: Scenario = toml::from_str(text).map_err(|e| {
            let line = e.span().map_or(1, |s| 1 + text[..s.start.min(text.len())].matches('\n').count());
            let expected = "title, question, client, plan, and blocks of [[ask]] with a command";
            Report::from(Problem::error(format!("{place}:{line}"), e.message()).expected(expected))
        })?;
        scenario.place = place.to_string();
        let wrong: Vec<Problem> = scenario.ask.iter().filter_map(|a| scenario.wrong(a)).collect();
        if wrong.is_empty() { Ok(scenario) } else { Err(Report::of(wrong)) }
    }

    fn wrong(&self, ask: &AskFile) -> Option<Problem> {
        let problem = |what: String| Some(Problem::error(&self.place, what));
        if !COMMANDS.contains(&ask.command.as_str()) {
            let what = format!("no command called \"{}\" can be asked here", ask.command);
            return Some(Problem::error(&self.place, what).nearest(super::nearest(&ask.command, &COMMANDS)));
        }
        let on_plan = matches!(ask.command.as_str(), "audit" | "propose" | "lay-out");
        match (on_plan, self.plan.is_some(), ask.words.len()) {
            (true, false, _) => problem(format!("{} needs a plan: plan = \"plan.csv\"", ask.command)),
            (false, _, 0) => problem(format!("{} needs words: words = [\"back-squat\"]", ask.command)),
            (false, _, 1) if ask.command == "compare" => problem("compare needs two movements or more".into()),
            _ => None,
        }
    }

    /// Asks every command in order. `read` hands in the bytes of a file that stands beside the question's.
    ///
    /// # Errors
    /// The first command that cannot be answered, with its own message.
    pub fn answer(
        &self,
        house: Arc<House>,
        read: &dyn Fn(&str) -> Result<Vec<u8>, Report>,
        draws: usize,
    ) -> Result<Vec<ScenarioAnswer>, Report> {
        let who = match &self.client {
            None => None,
            Some(name) => Some(client::read(&super::files::text(name, read(name)?)?, name)?.0),
        };
        let desk = Desk::of(house, who, draws, super::SEED);
        let bytes = self.plan.as_ref().map(|name| read(name)).transpose()?.unwrap_or_default();
        self.ask.iter().map(|ask| self.one(&desk, &bytes, ask)).collect()
    }

    fn one(&self, desk: &Desk, bytes: &[u8], ask: &AskFile) -> Result<ScenarioAnswer, Report> {
        let name = self.plan.as_deref().unwrap_or_default();
        let kit = ask.kit.as_deref();
        let plan = AuditRequest { bytes, name, week: None, kit };
        let wishes = || -> Result<Vec<Wish>, Report> {
            let one = |w: &String| parse_wish(w).map_err(|e| Report::from(Problem::error(&self.place, e.to_string())));
            ask.words.iter().map(one).collect()
        };
        let first = ask.words.first().map_or("", String::as_str);
        let asked = match ask.command.as_str() {
            "audit" => Asked::Audit(Box::new(desk.audit(&plan)?)),
            "propose" => {
                let request = ProposeRequest { plan, apply: ask.apply };
                Asked::Propose(Box::new(desk.propose(&request)?.answer))
            }
            "lay-out" => {
                let (weeks, rule) = (ask.weeks.unwrap_or(6), ask.rule.as_deref().unwrap_or("double"));
                Asked::LayOut(Box::new(desk.lay_out(&LayOutRequest { plan, weeks, easy: &ask.easy, rule })?))
            }
            "compare" => Asked::Compare(Box::new(desk.compare(&wishes()?, false)?)),
            "rank" => Asked::Rank(Box::new(desk.rank(first, kit)?)),
            "similar" => {
                let wish = wishes()?.remove(0);
                Asked::Similar(Box::new(desk.similar(&wish, kit, ask.spare.as_deref(), ask.count.unwrap_or(8))?))
            }
            _ => match &ask.why {
                Some(head) => Asked::Why(Box::new(desk.why(&wishes()?.remove(0), head)?)),
                None => Asked::Look(Box::new(desk.looks(&wishes()?, false)?.remove(0))),
            },
        };
        Ok(ScenarioAnswer { command: self.typed(ask), asked })
    }

    /// The command as a coach types it.
    fn typed(&self, ask: &AskFile) -> String {
        let mut out = vec![ask.command.clone()];
        if matches!(ask.command.as_str(), "audit" | "propose" | "lay-out") {
            out.extend(self.plan.clone());
        }
        out.extend(ask.words.iter().map(|w| if w.contains([' ', '{']) { format!("\"{w}\"") } else { w.clone() }));
        let mut flag = |name: &str, value: Option<String>| out.extend(value.map(|v| format!("--{name} {v}")));
        flag("client", self.client.clone());
        flag("kit", ask.kit.clone());
        flag("why", ask.why.clone());
        flag("spare", ask.spare.clone().map(|s| if s.contains(' ') { format!("\"{s}\"") } else { s }));
        flag("weeks", ask.weeks.map(|w| w.to_string()));
        ask.easy.iter().for_each(|w| flag("easy", Some(w.to_string())));
        flag("rule", ask.rule.clone());
        flag("apply", ask.apply.map(|n| n.to_string()));
        out.join(" ")
    }
}
