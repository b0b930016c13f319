//! Names in a client file that nothing answers to. In: the file's text and what is known; out: a problem for each, with
//! its line and the nearest names. The reader cannot tell: groups, heads, kits and places of pain are known elsewhere.

use crate::bands::names_head;
use crate::client_read::{Field, Place, Value, lines_of};
use crate::rules::Rules;
use crate::week::HeadFacts;
use crate::{Problem, nearest};

/// What a name may mean.
pub struct KnownNames<'a> {
    pub rules: &'a Rules,
    pub heads: &'a [HeadFacts],
    /// Ids of the shipped kits.
    pub kits: &'a [&'a str],
    /// Equipment words.
    pub equipment: &'a [&'a str],
    /// Ids and names of movements.
    pub movements: &'a [&'a str],
}

const WEEKDAYS: [&str; 7] = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];

/// Every name of a readable client file that is not known. `file` is the name shown; nothing is opened.
pub fn unknown_names(text: &str, file: &str, known: &KnownNames) -> Vec<Problem> {
    let mut out = Finder { file, known, problems: Vec::new() };
    for (key, _, field) in lines_of(text) {
        match (key.as_str(), &field.value) {
            ("days", _) => each_text(&field).for_each(|(t, at)| out.day(t, at)),
            ("minutes_by_day", Value::Table(days)) => days.iter().for_each(|(day, at, _)| out.day(day, *at)),
            ("aims" | "past_sets" | "bands", Value::Table(groups)) => {
                groups.iter().for_each(|(g, at, _)| out.group(g, *at))
            }
            ("pains", Value::List(blocks)) => blocks.iter().for_each(|b| out.pain(b)),
            ("kit", Value::Text(id)) => out.name(id, field.at, "kit", known.kits),
            ("kit", _) => each_text(&field).for_each(|(t, at)| out.name(t, at, "equipment", known.equipment)),
            ("loads_kg", Value::Table(items)) => {
                items.iter().for_each(|(item, at, _)| out.name(item, *at, "equipment", known.equipment))
            }
            ("done_sets", Value::List(blocks)) => blocks.iter().for_each(|b| out.done(b)),
            ("new_movements" | "keep" | "dislikes", _) => {
                each_text(&field).for_each(|(t, at)| out.name(t, at, "movement", known.movements))
            }
            _ => {}
        }
    }
    out.problems
}

fn each_text(field: &Field) -> impl Iterator<Item = (&str, Place)> {
    let items: Vec<&Field> = match &field.value {
        Value::List(items) => items.iter().collect(),
        _ => vec![field],
    };
    items.into_iter().filter_map(|f| match &f.value {
        Value::Text(t) => Some((t.as_str(), f.at)),
        _ => None,
    })
}

struct Finder<'a> {
    file: &'a str,
    known: &'a KnownNames<'a>,
    problems: Vec<Problem>,
}

impl Finder<'_> {
    fn problem(&mut self, at: Place, what: String, expected: &str, nearest: Vec<String>) {
        self.problems.push(at.problem(self.file, what, expected, nearest));
    }

    /// A plan may name its days as it likes ("Push"); a slip in a weekday is one all the same.
    fn day(&mut self, day: &str, at: Place) {
        let first = day.split(|c: char| !c.is_alphanumeric()).next().unwrap_or_default().to_lowercase();
        let is = |full: &&str| {
            full.to_lowercase() == first
                || first.len() >= 2 && first.len() <= 5 && full.to_lowercase().starts_with(&first)
        };
        let near = nearest(day, &WEEKDAYS);
        if !WEEKDAYS.iter().any(is) && !near.is_empty() {
            self.problem(at, format!("no day called \"{day}\""), "a weekday, or the day's name in the plan", near);
        }
    }

    fn group(&mut self, word: &str, at: Place) {
        let (rules, heads) = (self.known.rules, self.known.heads);
        if word.eq_ignore_ascii_case("rest")
            || rules.group_of(word).is_some()
            || heads.iter().any(|h| names_head(word, h))
        {
            return;
        }
        let groups = rules.groups.iter().flat_map(|g| std::iter::once(&g.group).chain(&g.words)).map(String::as_str);
        let names: Vec<&str> = groups.chain(heads.iter().map(|h| h.head.as_str())).collect();
        let near = nearest(word, &names);
        let all: Vec<&str> = rules.groups.iter().map(|g| g.group.as_str()).collect();
        let expected = format!("one of: {}; a head, or rest", all.join(", "));
        let expected = if near.is_empty() { expected } else { "a coach group, a head, or rest".into() };
        self.problem(at, format!("no coach group or head called \"{word}\""), &expected, near);
    }

    fn pain(&mut self, block: &Field) {
        let Value::Table(fields) = &block.value else { return };
        for (key, _, field) in fields {
            match (key.as_str(), &field.value) {
                ("place", Value::Text(place)) if self.known.rules.joint_of_pain(place).is_none() => {
                    let words: Vec<&str> = self.known.rules.pain_places.iter().map(|(_, w)| w.as_str()).collect();
                    let near = place.split_whitespace().flat_map(|w| nearest(w, &words)).take(3).collect();
                    let what =
                        format!("no place of pain called \"{place}\": no movement would be left out because of it");
                    self.problem(field.at, what, "a joint or region, as in \"left knee\"", near);
                }
                ("movement", Value::Text(name)) => self.name(name, field.at, "movement", self.known.movements),
                _ => {}
            }
        }
    }

    fn done(&mut self, block: &Field) {
        let Value::Table(fields) = &block.value else { return };
        for (_, _, field) in fields.iter().filter(|(key, ..)| key == "movement") {
            if let Value::Text(name) = &field.value {
                self.name(name, field.at, "movement", self.known.movements);
            }
        }
    }

    fn name(&mut self, word: &str, at: Place, kind: &str, known: &[&str]) {
        // A kit may also be a file of the coach's own.
        let file = kind == "kit" && word.to_lowercase().ends_with(".toml");
        if file || known.iter().any(|k| k.eq_ignore_ascii_case(word)) {
            return;
        }
        let near = nearest(word, known);
        let expected = match kind {
            "kit" if near.is_empty() => format!("one of: {}; or a list of equipment", known.join(", ")),
            _ => String::new(),
        };
        self.problem(at, format!("no {kind} called \"{word}\""), &expected, near);
    }
}
