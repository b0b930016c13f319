//! A week written as TOML: `[[day]]` with a `name`, and in it `[[day.exercise]]` with `name`, `sets`, `reps` and, if
//! wanted, `rir` or `rpe`, `load`, `percent`, `tempo`, `rest`, `pair`, `week`, `notes`. Values are numbers or the text
//! a coach would write in a cell ("8-10", "82,5 kg"). Gives the same entries as a workbook.

use super::line::{Place, Written};
use super::notation::Slot;
use super::{PainFlag, PlanOptions, PlanRead, finish};
use movement::names::{NameIndex, nearest_words};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A problem of a TOML plan, at a line.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("line {line}: {problem}")]
pub struct TomlProblem {
    /// 1-based.
    pub line: usize,
    pub problem: Wrong,
}

/// What is wrong there.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Wrong {
    #[error("not TOML: {0}")]
    Syntax(String),
    #[error("no key `{got}` here; nearest: {}", nearest.join(", "))]
    Key { got: String, nearest: Vec<String> },
    #[error("`{key}` wants {wants}")]
    Type { key: String, wants: &'static str },
    #[error("an exercise needs `name`")]
    NoName,
    #[error("no `[[day]]` in the file")]
    NoDay,
}

/// Keys of an exercise and how their text is read.
const KEYS: [(&str, Slot); 9] = [
    ("sets", Slot::Sets),
    ("reps", Slot::Reps),
    ("rir", Slot::Rir),
    ("rpe", Slot::Rpe),
    ("percent", Slot::Percent),
    ("load", Slot::Load(None)),
    ("tempo", Slot::Tempo),
    ("rest", Slot::Rest(None)),
    ("notes", Slot::Notes),
];

/// Reads a TOML plan; every problem at once.
pub fn read_toml(text: &str, index: &NameIndex, options: &PlanOptions) -> Result<PlanRead, Vec<TomlProblem>> {
    let line = |span: Range<usize>| 1 + text.get(..span.start).unwrap_or(text).matches('\n').count();
    let root = DeTable::parse(text).map_err(|e| {
        let at = e.span().unwrap_or(0..0);
        vec![TomlProblem { line: line(at), problem: Wrong::Syntax(e.message().to_string()) }]
    })?;
    let mut t = Reading { plan: PlanRead::default(), problems: Vec::new(), line: &line, index, options };
    t.root(root.get_ref());
    if !t.problems.is_empty() {
        t.problems.sort_by_key(|p| p.line);
        return Err(t.problems);
    }
    finish(&mut t.plan, options);
    Ok(t.plan)
}

struct Reading<'a> {
    plan: PlanRead,
    problems: Vec<TomlProblem>,
    line: &'a dyn Fn(Range<usize>) -> usize,
    index: &'a NameIndex,
    options: &'a PlanOptions<'a>,
}

impl Reading<'_> {
    fn fault(&mut self, span: Range<usize>, problem: Wrong) {
        let line = (self.line)(span);
        self.problems.push(TomlProblem { line, problem });
    }

    fn unknown_key(&mut self, span: Range<usize>, got: &str, known: &[&str]) {
        let nearest = nearest_words(got, known.iter().copied(), 3);
        self.fault(span, Wrong::Key { got: got.to_string(), nearest });
    }

    fn root(&mut self, root: &DeTable) {
        let mut days = 0;
        for (key, value) in root.iter() {
            match key.get_ref().as_ref() {
                "day" => {
                    for (table, span) in self.tables(value, "day") {
                        days += 1;
                        self.day(table, days, span);
                    }
                }
                // A plan may name itself and its client.
                "name" | "client" | "schema" => {}
                other => self.unknown_key(key.span(), other, &["day", "name", "client", "schema"]),
            }
        }
        if days == 0 {
            self.fault(0..0, Wrong::NoDay);
        }
    }

    fn tables<'v>(&mut self, value: &'v Spanned<DeValue<'v>>, key: &str) -> Vec<(&'v DeTable<'v>, Range<usize>)> {
        let mut out = Vec::new();
        let wrong = Wrong::Type { key: key.to_string(), wants: "tables, written as [[…]]" };
        match value.get_ref() {
            DeValue::Array(items) => {
                for item in items.iter() {
                    match item.get_ref() {
                        DeValue::Table(t) => out.push((t, item.span())),
                        _ => self.fault(item.span(), wrong.clone()),
                    }
                }
            }
            _ => self.fault(value.span(), wrong),
        }
        out
    }

    fn day(&mut self, day: &DeTable, number: usize, _span: Range<usize>) {
        let mut name = format!("Day {number}");
        if let Some(value) = day.get("name") {
            match value.get_ref() {
                DeValue::String(s) => name = s.to_string(),
                _ => self.fault(value.span(), Wrong::Type { key: "name".into(), wants: "text" }),
            }
        }
        for (key, value) in day.iter() {
            match key.get_ref().as_ref() {
                "name" => {}
                "exercise" => {
                    for (k, (table, span)) in self.tables(value, "exercise").into_iter().enumerate() {
                        self.exercise(table, &name, k as u32 + 1, span);
                    }
                }
                other => self.unknown_key(key.span(), other, &["name", "exercise"]),
            }
        }
    }

    fn exercise(&mut self, exercise: &DeTable, day: &str, col: u32, span: Range<usize>) {
        let Some(name) = exercise.get("name") else { return self.fault(span, Wrong::NoName) };
        let Some(text) = plain(name.get_ref()) else {
            return self.fault(name.span(), Wrong::Type { key: "name".into(), wants: "text" });
        };
        let line = (self.line)(name.span());
        let at = format!("line {line}");
        let mut w = Written::from_cell(&text);
        let mut week = 1;
        for (key, value) in exercise.iter() {
            let key_text = key.get_ref().as_ref();
            let said = plain(value.get_ref());
            let slot = KEYS.iter().find(|(k, _)| *k == key_text).map(|(_, s)| *s);
            match (key_text, slot, said) {
                ("name", ..) => {}
                ("week", _, Some(t)) if t.parse::<u32>().is_ok_and(|w| (1..=104).contains(&w)) => {
                    week = t.parse().unwrap_or(1);
                }
                ("week", ..) => self.fault(value.span(), Wrong::Type { key: "week".into(), wants: "a number from 1" }),
                ("pair", _, Some(t)) => w.pair = Some(t),
                (k, Some(slot), Some(t)) => {
                    if k == "notes" {
                        let place = format!("line {}", (self.line)(value.span()));
                        self.plan.pain_flags.extend(PainFlag::all(&t, &place));
                    }
                    w.read(&t, slot);
                }
                (k, Some(_), None) | (k @ "pair", ..) => {
                    self.fault(value.span(), Wrong::Type { key: k.to_string(), wants: "a number or text" });
                }
                (other, ..) => {
                    let mut known: Vec<&str> = KEYS.iter().map(|(k, _)| *k).collect();
                    known.extend(["name", "week", "pair"]);
                    self.unknown_key(key.span(), other, &known);
                }
            }
        }
        let place = Place { sheet: "toml".into(), row: line as u32, col, day: day.into(), week, name: at };
        let entry = w.entry(place, self.index, self.options, &mut self.plan.messages);
        self.plan.entries.push(entry);
    }
}

fn plain(value: &DeValue) -> Option<String> {
    match value {
        DeValue::String(s) => Some(s.to_string()),
        DeValue::Integer(n) => Some(n.as_str().to_string()),
        DeValue::Float(n) => Some(n.as_str().to_string()),
        _ => None,
    }
}
