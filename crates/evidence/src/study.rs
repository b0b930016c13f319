//! Studies checked against the library: conditions as movements with settings, muscles as heads by volume.

use crate::format::{Issue, Placed, ReadStudy, StudyFile};
use answer::Settings;
use library::{Library, Person};
use movement::names::{NameContext, nearest_words};
use std::collections::BTreeMap;

/// A study that can be predicted, row by row.
#[derive(Clone, Debug)]
pub struct Study {
    pub file: String,
    pub head: StudyFile,
    pub weeks: f64,
    pub conditions: Vec<Condition>,
    pub results: Vec<Measured>,
    pub contrasts: Vec<Contrast>,
}

/// One arm.
#[derive(Clone, Debug)]
pub struct Condition {
    pub id: String,
    pub described: String,
    pub how: String,
    pub movements: Vec<Done>,
    /// Sets a week of a movement with share 1; `None` where the study does not tell.
    pub sets_per_week: Option<f64>,
    pub sessions_per_week: Option<f64>,
    pub hard_sets: bool,
}

/// A movement of a condition.
#[derive(Clone, Debug)]
pub struct Done {
    /// Share of the stated sets.
    pub share: f64,
    pub id: String,
    pub settings: Settings,
    /// As `id{key=value}`.
    pub word: String,
}

/// A measured muscle: heads with their part of its volume.
#[derive(Clone, Debug, PartialEq)]
pub struct Muscle {
    pub name: String,
    /// (index of the head, part of the volume); parts add up to 1.
    pub heads: Vec<(usize, f64)>,
}

/// One measured change.
#[derive(Clone, Debug)]
pub struct Measured {
    pub condition: usize,
    pub muscle: Muscle,
    pub region: String,
    pub measure: String,
    pub change_percent: Option<f64>,
    pub change_sd: Option<f64>,
    pub how: String,
    pub confidence: String,
}

/// One side of a contrast.
#[derive(Clone, Debug)]
pub struct Side {
    pub condition: usize,
    pub muscle: Muscle,
    /// Empty for the whole muscle.
    pub region: String,
}

/// How the growth of the left side compares.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    Significant,
    Trend,
    Null,
    NoGrowth,
}

impl Class {
    pub const ALL: [Class; 4] = [Class::Significant, Class::Trend, Class::Null, Class::NoGrowth];
    pub fn word(self) -> &'static str {
        match self {
            Class::Significant => "significant",
            Class::Trend => "trend",
            Class::Null => "null",
            Class::NoGrowth => "no-growth",
        }
    }
}

/// What a contrast says, and what is said of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Call {
    Left,
    Right,
    Equal,
    /// The left side does not grow.
    None,
    /// The left side grows although it should not.
    Some,
}

impl Call {
    pub fn word(self) -> &'static str {
        match self {
            Call::Left => "left>right",
            Call::Right => "right>left",
            Call::Equal => "about-equal",
            Call::None => "left~0",
            Call::Some => "left>0",
        }
    }
}

/// One contrast.
#[derive(Clone, Debug)]
pub struct Contrast {
    pub name: String,
    pub left: Side,
    /// `None` for no growth.
    pub right: Option<Side>,
    pub expected: Call,
    pub class: Class,
    pub effect: String,
    pub how: String,
    /// Why the row stands in the second count only; empty for the others.
    pub apart: String,
}

/// Heads of a name: a head's own id, or a measured or lumped group of the tables, by volume.
pub fn muscle(library: &Library, name: &str) -> Option<Muscle> {
    let heads = &library.tables.heads;
    let ids = match library.tables.head_index(name) {
        Some(h) => vec![h],
        None => library.catalogue.heads(name).iter().filter_map(|id| library.tables.head_index(id)).collect(),
    };
    let all: f64 = ids.iter().map(|&h| heads[h].volume_cm3).sum();
    let parts = ids.iter().map(|&h| (h, heads[h].volume_cm3 / all)).collect();
    (all > 0.0).then(|| Muscle { name: name.into(), heads: parts })
}

/// Checks what was read; whatever is unknown is named and left out.
pub fn check(library: &Library, read: &ReadStudy, issues: &mut Vec<Issue>) -> Study {
    let head = &read.head.row;
    let mut tell = |at: (usize, usize), what: String, text: String| {
        let (line, column) = at;
        issues.push(Issue { file: read.file.clone(), line, column, study: head.id.clone(), what, text });
    };
    let weeks = head.weeks.number();
    if weeks.is_none_or(|w| !(0.0..=520.0).contains(&w)) {
        let told = "expected the length of the training in weeks, 0 to 520".to_string();
        tell(read.head.at("weeks"), "weeks".into(), told);
    }
    let word = |field: &str, value: &str, known: &[&str]| -> Option<String> {
        (!value.is_empty() && !known.contains(&value))
            .then(|| format!("{field} is \"{value}\", expected {} or nothing", known.join(", ")))
    };
    for told in [
        word("people.sex", &head.people.sex, &["men", "women", "both"]),
        word("people.training", &head.people.training, &["untrained", "trained"]),
    ]
    .into_iter()
    .flatten()
    {
        tell(read.head.at("people"), "people".into(), told);
    }
    let mut conditions: Vec<Condition> = Vec::new();
    let mut broken: Vec<&str> = Vec::new();
    for c in &read.conditions {
        let what = format!("condition {}", c.row.id);
        if conditions.iter().any(|k| k.id == c.row.id) {
            tell(c.at("id"), what, "there is a condition of this name already".into());
            continue;
        }
        let mut movements = Vec::new();
        if c.row.movements.is_empty() {
            tell(c.at("movements"), what.clone(), "no movement is named, so nothing can be predicted".into());
        }
        for text in &c.row.movements {
            match done(library, text) {
                Ok(d) => movements.push(d),
                Err(e) => tell(c.at("movements"), what.clone(), e),
            }
        }
        if movements.len() != c.row.movements.len() || movements.is_empty() {
            // Half a programme would be predicted as the whole.
            broken.push(&c.row.id);
            continue;
        }
        let amount = |field: &str, a: &Option<crate::format::Amount>, most: f64| match a.as_ref().map(|a| a.number()) {
            None => Ok(None),
            Some(Some(v)) if v > 0.0 && v <= most => Ok(Some(v)),
            Some(v) if v.is_some() => Err((field.to_string(), most)),
            Some(_) => Ok(None),
        };
        let mut number = |field: &str, a: &Option<crate::format::Amount>, most: f64| {
            amount(field, a, most).unwrap_or_else(|(f, most)| {
                tell(c.at(&f), what.clone(), format!("{f}: expected a number above 0, at most {most}"));
                None
            })
        };
        let sessions = number("sessions_per_week", &c.row.sessions_per_week, 14.0);
        let sets = number("sets_per_session", &c.row.sets_per_session, 100.0);
        conditions.push(Condition {
            id: c.row.id.clone(),
            described: c.row.described.clone(),
            how: c.row.how.clone(),
            movements,
            sets_per_week: sessions.zip(sets).map(|(a, b)| a * b),
            sessions_per_week: sessions,
            hard_sets: c.row.hard_sets != "no",
        });
    }
    let condition = |name: &str| -> Result<usize, String> {
        conditions.iter().position(|c| c.id == name).ok_or_else(|| match broken.contains(&name) {
            true => format!("its condition \"{name}\" could not be used"),
            false => {
                let known = nearest_words(name, conditions.iter().map(|c| c.id.as_str()), 3).join(", ");
                format!("there is no condition \"{name}\"; nearest: {known}")
            }
        })
    };
    let muscle_of = |name: &str| muscle(library, name).ok_or_else(|| no_muscle(library, name));
    let mut results = Vec::new();
    for r in &read.results {
        let what = format!("result {}:{}", r.row.condition, r.row.muscle);
        let sound = condition(&r.row.condition)
            .map_err(|e| ("condition", e))
            .and_then(|c| muscle_of(&r.row.muscle).map(|m| (c, m)).map_err(|e| ("muscle", e)));
        let (condition, muscle) = match sound {
            Ok(found) => found,
            Err((field, e)) => {
                tell(r.at(field), what, e);
                continue;
            }
        };
        if let Some((field, e)) = odd_result(r) {
            tell(r.at(field), what.clone(), e);
        }
        results.push(Measured {
            condition,
            muscle,
            region: r.row.region.clone(),
            measure: r.row.measure.clone(),
            change_percent: r.row.change_percent.filter(|v| (-100.0..=400.0).contains(v)),
            change_sd: r.row.change_sd.filter(|v| *v >= 0.0),
            how: r.row.how.clone(),
            confidence: r.row.confidence.clone(),
        });
    }
    let side = |text: &str| -> Result<Side, String> {
        let (c, m) = text.split_once(':').ok_or_else(|| format!("\"{text}\", expected condition:muscle"))?;
        let (m, region) = m.split_once('@').unwrap_or((m, ""));
        Ok(Side { condition: condition(c.trim())?, muscle: muscle_of(m.trim())?, region: region.trim().into() })
    };
    let mut contrasts = Vec::new();
    for c in &read.contrasts {
        let name =
            if c.row.right.is_empty() { c.row.left.clone() } else { format!("{} against {}", c.row.left, c.row.right) };
        let made = (|| {
            let left = side(&c.row.left).map_err(|e| ("left", e))?;
            let right = match c.row.right.as_str() {
                "" => None,
                text => Some(side(text).map_err(|e| ("right", e))?),
            };
            let expected = match c.row.expected.as_str() {
                "left>right" => Call::Left,
                "right>left" | "left<right" => Call::Right,
                "about-equal" => Call::Equal,
                "left~0" => Call::None,
                o => return Err(("expected", format!("\"{o}\", expected left>right, about-equal or left~0"))),
            };
            if (expected == Call::None) != right.is_none() {
                return Err(("right", "left~0 has no right side, the others need one".to_string()));
            }
            let class = match (expected, c.row.strength.as_str()) {
                (Call::None, _) => Class::NoGrowth,
                (_, "significant") => Class::Significant,
                (_, "trend") => Class::Trend,
                (_, "null") => Class::Null,
                (_, o) => return Err(("strength", format!("\"{o}\", expected significant, trend or null"))),
            };
            let regional = [Some(&left), right.as_ref()].into_iter().flatten().any(|s| !s.region.is_empty());
            let apart = if !head.do_not_use.is_empty() {
                format!("not counted: {}", head.do_not_use)
            } else if !c.row.conflict.is_empty() {
                "conflict with other studies".to_string()
            } else if !head.same_people_as.is_empty() {
                format!("same people as {}", head.same_people_as)
            } else if regional {
                "one region of the muscle".to_string()
            } else {
                String::new()
            };
            let (effect, how) = (c.row.effect.clone(), c.row.how.clone());
            Ok(Contrast { name: name.clone(), left, right, expected, class, effect, how, apart })
        })();
        match made {
            Ok(k) => contrasts.push(k),
            Err((field, e)) => tell(c.at(field), format!("contrast {name}"), e),
        }
    }
    Study { file: read.file.clone(), head: head.clone(), weeks: weeks.unwrap_or(0.0), conditions, results, contrasts }
}

/// A unit nobody measures muscle in, or a spread that is missing or no spread.
fn odd_result(r: &Placed<crate::format::ResultFile>) -> Option<(&'static str, String)> {
    let row = &r.row;
    let m = row.measure.to_lowercase();
    let known = ["volume", "csa", "area", "thickness", "t2", "mass", "girth", "biopsy"];
    if !known.iter().any(|k| m.contains(k)) {
        let told = format!("measure \"{}\" is not known, expected one of: {}", row.measure, known.join(", "));
        return Some(("measure", told));
    }
    if row.change_percent.is_some_and(|v| !(-100.0..=400.0).contains(&v)) {
        return Some(("change_percent", "expected a change in percent, −100 to 400; it is left out".into()));
    }
    if row.change_sd.is_some_and(|v| v < 0.0) {
        return Some(("change_sd", "a spread is not negative; it is left out".into()));
    }
    None
}

fn no_muscle(library: &Library, name: &str) -> String {
    let heads = library.tables.heads.iter().map(|h| h.id.as_str());
    let known = nearest_words(name, heads, 3).join(", ");
    format!("no muscle head or measured group \"{name}\"; nearest heads: {known}")
}

/// "2/3 * leg-press-45{depth_knee_deg=90}".
fn done(library: &Library, text: &str) -> Result<Done, String> {
    let (share, word) = match text.split_once('*') {
        None => (1.0, text.trim()),
        Some((s, word)) => {
            (share(s.trim()).ok_or_else(|| format!("\"{s}\" is no share, expected for instance 1/4"))?, word.trim())
        }
    };
    let (name, inner) = word.split_once('{').map_or((word, ""), |(n, i)| (n.trim(), i));
    // A name that is no id is read as in a plan; its settings stay.
    let id = match library.catalogue.movement(name) {
        Some(m) => m.id.clone(),
        None => {
            let m = library.names().find(name, &NameContext::default());
            let nearest: Vec<String> = m.nearest.iter().take(4).map(|n| n.0.clone()).collect();
            let best = m.best.filter(|b| b.settings.is_empty());
            best.map(|b| b.id)
                .ok_or_else(|| format!("no movement called \"{name}\"; nearest: {}", nearest.join("; ")))?
        }
    };
    let full = if inner.is_empty() { id.clone() } else { format!("{id}{{{inner}") };
    let (id, settings) = library
        .catalogue
        .one_word(&full)
        .map_err(|p| p.iter().map(|q| q.to_string()).collect::<Vec<_>>().join("; "))?;
    Ok(Done { share, id, settings, word: full })
}

fn share(text: &str) -> Option<f64> {
    let v = match text.split_once('/') {
        Some((a, b)) => a.trim().parse::<f64>().ok()? / b.trim().parse::<f64>().ok()?,
        None => text.parse().ok()?,
    };
    (v > 0.0 && v <= 1.0).then_some(v)
}

/// The person a study is computed for: the body it tells, else the average of its sex.
pub fn person(head: &StudyFile, constants: &BTreeMap<String, f64>) -> Person {
    let mut p = Person::average_man();
    p.who = head.participants.clone();
    if head.people.sex == "women" {
        p.female = true;
        p.stature_m = constants.get("woman_stature_m").copied().unwrap_or(p.stature_m);
        p.mass_kg = constants.get("woman_mass_kg").copied().unwrap_or(p.mass_kg);
    }
    p.stature_m = head.people.stature_m.unwrap_or(p.stature_m);
    p.mass_kg = head.people.mass_kg.unwrap_or(p.mass_kg);
    p.age_years = head.people.age_years;
    p.training_years = match head.people.training.as_str() {
        "untrained" => Some(0.0),
        "trained" => constants.get("trained_years").copied(),
        _ => None,
    };
    p
}
