//! The two tables in which studies are often collected, turned into one file a study.
//!
//! Results: `study_id, citation, doi, design, participants, weeks, sessions_per_week, sets_per_session, condition,
//! exercise_description, rom, load, to_failure, muscle, region, measure, change_percent, change_sd, significant_within,
//! between_condition_p, how, confidence, notes`, one row a measured change. Contrasts: `study_id, kind, left, right,
//! expected, effect, strength, how, notes`. A condition's movements are found by name as in a plan, unless a table of
//! readings (`study_id, condition, movements, note`) has it.

use crate::format::{Amount, ConditionFile, ContrastFile, Issue, People, ResultFile, StudyFile, number_in};
use crate::matching::{Matched, matched};
use library::Library;
use std::collections::BTreeMap;

/// What came of an import.
#[derive(Clone, Debug, Default)]
pub struct Imported {
    pub studies: Vec<StudyFile>,
    /// What could not be mapped or read, and why.
    pub issues: Vec<Issue>,
    /// Every condition with its movements.
    pub conditions: Vec<ConditionFound>,
}

/// How a condition's movements were found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ConditionFound {
    pub study: String,
    pub condition: String,
    /// By the table of readings; empty where it has none.
    pub read: Vec<String>,
    /// By name.
    pub matched: Vec<String>,
    pub confidence: f64,
}

impl ConditionFound {
    /// Both name the same movements, whatever the settings. `None` where one of the two is silent.
    pub fn agree(&self) -> Option<bool> {
        let bare = |list: &[String]| {
            let mut out: Vec<String> = list.iter().map(|m| bare(m).to_string()).collect();
            out.sort();
            out
        };
        (!self.read.is_empty()).then(|| bare(&self.read) == bare(&self.matched))
    }
}

/// Id of a movement without share and settings.
fn bare(movement: &str) -> &str {
    let id = movement.split_once('*').map_or(movement, |(_, m)| m);
    id.split('{').next().unwrap_or(id).trim()
}

/// A table with its file name.
#[derive(Clone, Copy)]
pub struct Source<'a> {
    pub file: &'a str,
    pub text: &'a str,
}

/// A table by column names.
struct Csv<'a> {
    file: &'a str,
    columns: BTreeMap<String, usize>,
    rows: Vec<(usize, csv::StringRecord)>,
}

impl<'a> Csv<'a> {
    /// Missing columns end the reading: without them nothing can be trusted.
    fn read(source: Source<'a>, wanted: &[&str], issues: &mut Vec<Issue>) -> Option<Csv<'a>> {
        let whole = |line: usize, text: String| Issue {
            file: source.file.into(),
            line,
            what: "the table".into(),
            text,
            ..Issue::default()
        };
        let text = source.text.trim_start_matches('\u{feff}');
        let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
        let columns: BTreeMap<String, usize> = match reader.headers() {
            Ok(h) => h.iter().enumerate().map(|(i, n)| (n.trim().to_string(), i)).collect(),
            Err(e) => {
                issues.push(whole(1, e.to_string()));
                return None;
            }
        };
        let missing: Vec<&str> = wanted.iter().copied().filter(|w| !columns.contains_key(*w)).collect();
        if !missing.is_empty() {
            issues.push(whole(1, format!("these columns are missing: {}", missing.join(", "))));
            return None;
        }
        let mut rows = Vec::new();
        for record in reader.records() {
            match record {
                Ok(r) => rows.push((r.position().map_or(0, |p| p.line() as usize), r)),
                Err(e) => issues.push(whole(e.position().map_or(0, |p| p.line() as usize), e.to_string())),
            }
        }
        Some(Csv { file: source.file, columns, rows })
    }

    fn cell<'r>(&self, record: &'r csv::StringRecord, column: &str) -> &'r str {
        self.columns.get(column).and_then(|i| record.get(*i)).unwrap_or("").trim()
    }

    fn issue(&self, line: usize, column: &str, study: &str, what: &str, text: String) -> Issue {
        let column = self.columns.get(column).map_or(0, |i| i + 1);
        Issue { file: self.file.into(), line, column, study: study.into(), what: what.into(), text }
    }
}

const RESULTS: [&str; 11] = [
    "study_id",
    "citation",
    "design",
    "participants",
    "weeks",
    "condition",
    "exercise_description",
    "muscle",
    "region",
    "measure",
    "how",
];
const CONTRASTS: [&str; 7] = ["study_id", "kind", "left", "right", "expected", "strength", "how"];

/// Turns the tables into studies.
pub fn import(library: &Library, results: Source, contrasts: Source, readings: Option<Source>) -> Imported {
    let mut out = Imported::default();
    let read = readings.map(|r| readings_of(r, &mut out.issues)).unwrap_or_default();
    let Some(table) = Csv::read(results, &RESULTS, &mut out.issues) else { return out };
    // "The same exercise in another range" speaks of the condition before.
    let mut before = Matched::default();
    for (line, r) in &table.rows {
        let cell = |c: &str| table.cell(r, c).to_string();
        let id = cell("study_id");
        if id.is_empty() {
            out.issues.push(table.issue(*line, "study_id", "", "a result", "study_id is empty".into()));
            continue;
        }
        let at = out.studies.iter().position(|s| s.id == id).unwrap_or_else(|| {
            out.studies.push(study(&cell));
            before = Matched::default();
            out.studies.len() - 1
        });
        let condition = cell("condition");
        if !out.studies[at].condition.iter().any(|c| c.id == condition) {
            let by_name = matched(library, &condition, &cell("exercise_description"), &cell("rom"), &before);
            let own = read.get(&(id.clone(), condition.clone()));
            let found = found(&id, &condition, own, &by_name);
            if own.is_none() && by_name.movements.is_empty() {
                let why = format!("no movement of this name; nearest: {}", by_name.nearest.join("; "));
                out.issues.push(table.issue(
                    *line,
                    "exercise_description",
                    &id,
                    &format!("condition {condition}"),
                    why,
                ));
            }
            out.conditions.push(found);
            before = by_name.clone();
            out.studies[at].condition.push(condition_of(&cell, own, by_name));
        }
        let what = format!("result {condition}:{}", cell("muscle"));
        let number = |column: &str, issues: &mut Vec<Issue>| -> Option<f64> {
            let text = cell(column);
            if text.is_empty() {
                return None;
            }
            let v = text.replace(',', ".").trim_end_matches('%').trim().parse::<f64>().ok().filter(|v| v.is_finite());
            if v.is_none() {
                let told = format!("`{column}` is \"{text}\", expected a number");
                issues.push(table.issue(*line, column, &id, &what, told));
            }
            v
        };
        let change_percent = number("change_percent", &mut out.issues);
        let change_sd = number("change_sd", &mut out.issues);
        out.studies[at].result.push(ResultFile {
            condition,
            muscle: cell("muscle"),
            region: cell("region"),
            measure: cell("measure"),
            change_percent,
            change_sd,
            significant: cell("significant_within"),
            between_p: cell("between_condition_p"),
            how: cell("how"),
            confidence: cell("confidence"),
            note: cell("notes"),
        });
    }
    let Some(table) = Csv::read(contrasts, &CONTRASTS, &mut out.issues) else { return out };
    for (line, r) in &table.rows {
        let cell = |c: &str| table.cell(r, c).to_string();
        let id = cell("study_id");
        let note = cell("notes");
        let Some(study) = out.studies.iter_mut().find(|s| s.id == id) else {
            let told = format!("no study \"{id}\" in {}", results.file);
            out.issues.push(table.issue(*line, "study_id", &id, &format!("contrast {}", cell("left")), told));
            continue;
        };
        if let Some(same) = same_people(&note) {
            study.same_people_as = same;
        }
        study.contrast.push(ContrastFile {
            left: cell("left"),
            right: cell("right"),
            expected: cell("expected"),
            strength: cell("strength"),
            effect: cell("effect"),
            how: cell("how"),
            conflict: if note.contains("CONFLICT") { note.clone() } else { String::new() },
            note: if note.contains("CONFLICT") { String::new() } else { note },
        });
    }
    for s in &mut out.studies {
        // Told in a result rather than in a contrast.
        let note = s.result.iter().find_map(|r| same_people(&r.note)).or_else(|| same_people(&s.participants));
        if let (true, Some(same)) = (s.same_people_as.is_empty(), note) {
            s.same_people_as = same;
        }
    }
    let ids: Vec<String> = out.studies.iter().map(|s| s.id.clone()).collect();
    for s in &mut out.studies {
        s.same_people_as = match std::mem::take(&mut s.same_people_as) {
            name if name.is_empty() => name,
            // "Ema 2013" stands for the study whose id begins so.
            name => {
                let key = name.to_lowercase().replace(' ', "-");
                ids.iter().find(|i| i.starts_with(&key) && **i != s.id).cloned().unwrap_or_default()
            }
        };
    }
    out
}

/// In how many of the shipped conditions the movements found by name are those an expert reads, and of how many.
pub fn agreement(library: &Library) -> (usize, usize) {
    let mut issues = Vec::new();
    let (mut agree, mut of) = (0, 0);
    let source = Source { file: "condition_map.csv", text: crate::data::READINGS };
    let readings = readings_of(source, &mut issues);
    for (path, text) in crate::data::STUDIES {
        let Some(read) = crate::format::read(path, text, &mut issues) else { continue };
        let mut before = Matched::default();
        for c in &read.conditions {
            let by_name = matched(library, &c.row.id, &c.row.described, &c.row.range, &before);
            let own = readings.get(&(read.head.row.id.clone(), c.row.id.clone()));
            if let Some(same) = found(&read.head.row.id, &c.row.id, own, &by_name).agree() {
                of += 1;
                agree += usize::from(same);
            }
            before = by_name;
        }
    }
    (agree, of)
}

/// Study files of a folder; tables of results and contrasts in it are imported, told apart by their columns.
pub fn as_studies(library: &Library, files: &[(String, String)]) -> (Vec<(String, String)>, Vec<Issue>) {
    let mut out: Vec<(String, String)> = files.iter().filter(|f| f.0.ends_with(".toml")).cloned().collect();
    let mut issues = Vec::new();
    let head = |f: &&(String, String), column: &str| {
        f.1.lines().next().is_some_and(|l| l.split(',').any(|c| c.trim().trim_matches(['"', '\u{feff}']) == column))
    };
    let table = |column: &str, not: &str| {
        let csv = files.iter().filter(|f| f.0.ends_with(".csv"));
        csv.into_iter().find(|f| head(f, "study_id") && head(f, column) && !head(f, not))
    };
    let Some(results) = table("exercise_description", "movements") else { return (out, issues) };
    let empty = ("contrasts".to_string(), CONTRASTS.join(","));
    let contrasts = table("expected", "movements").unwrap_or(&empty);
    let own = table("movements", "exercise_description");
    let source = |f: &'_ (String, String)| -> (String, String) { f.clone() };
    let (r, c) = (source(results), source(contrasts));
    let readings =
        own.map_or_else(|| (String::from("the shipped readings"), crate::data::READINGS.to_string()), source);
    let made = import(
        library,
        Source { file: &r.0, text: &r.1 },
        Source { file: &c.0, text: &c.1 },
        Some(Source { file: &readings.0, text: &readings.1 }),
    );
    issues.extend(made.issues);
    for s in &made.studies {
        match crate::format::write(s) {
            Ok(text) => out.push((format!("{} → {}.toml", r.0, s.id), text)),
            Err(e) => issues.push(Issue {
                file: r.0.clone(),
                study: s.id.clone(),
                what: "the study".into(),
                text: e,
                ..Issue::default()
            }),
        }
    }
    (out, issues)
}

/// Head of a study from one of its rows.
fn study(cell: &dyn Fn(&str) -> String) -> StudyFile {
    let participants = cell("participants");
    let weeks = cell("weeks");
    let notes = cell("notes");
    StudyFile {
        id: cell("study_id"),
        citation: cell("citation"),
        doi: cell("doi"),
        design: cell("design"),
        people: people(&participants),
        participants,
        weeks: weeks.parse().map_or_else(|_| Amount::Words(weeks.clone()), Amount::Number),
        do_not_use: if notes.contains("do not use") { notes } else { String::new() },
        ..StudyFile::default()
    }
}

/// What the words about the people tell in numbers.
fn people(words: &str) -> People {
    let lower = words.to_lowercase();
    let has = |list: &[&str]| list.iter().any(|w| lower.split(|c: char| !c.is_alphabetic()).any(|t| t == *w));
    let (women, men) = (has(&["women", "women's", "f", "female", "girls"]), has(&["men", "m", "male", "boys"]));
    let sex = match (women, men) {
        _ if lower.contains("both sexes") => "both",
        (true, true) => "both",
        (true, false) if lower.contains("(9 women)") || lower.contains("(11 women)") => "both",
        (true, false) => "women",
        (false, true) => "men",
        (false, false) => "",
    };
    let untrained =
        ["untrained", "novice", "sedentary", "non-strength-trained", "little leg training", "recreationally active"];
    let trained = ["trained", "bodybuilder", "cyclists"];
    let training = if untrained.iter().any(|w| lower.contains(w)) {
        "untrained"
    } else if trained.iter().any(|w| lower.contains(w)) {
        "trained"
    } else {
        ""
    };
    let n = number_in(words.trim_start_matches(|c: char| !c.is_ascii_digit() && !c.is_whitespace()));
    People { n, sex: sex.into(), training: training.into(), age_years: None, stature_m: None, mass_kg: None }
}

/// The study named after "same participants as" or "same cohort as".
fn same_people(note: &str) -> Option<String> {
    let at = ["same participants as ", "same cohort as ", "same people as "]
        .iter()
        .find_map(|m| note.find(m).map(|at| at + m.len()))?;
    let words: Vec<&str> = note[at..].split([' ', ':', ';', ',', ')']).filter(|w| !w.is_empty()).take(2).collect();
    Some(words.join(" "))
}

fn condition_of(
    cell: &dyn Fn(&str) -> String,
    read: Option<&(Vec<String>, String)>,
    by_name: Matched,
) -> ConditionFile {
    let amount = |c: &str| {
        let text = cell(c);
        let words = || Amount::Words(text.clone());
        (!text.is_empty()).then(|| text.parse().map_or_else(|_| words(), Amount::Number))
    };
    let (movements, how) = match read {
        Some((m, note)) if note.is_empty() => (m.clone(), "expert reading of the description".to_string()),
        Some((m, note)) => (m.clone(), format!("expert reading of the description: {note}")),
        None => (by_name.movements, format!("matched by name, confidence {:.2}", by_name.confidence)),
    };
    ConditionFile {
        id: cell("condition"),
        movements,
        how,
        described: cell("exercise_description"),
        range: cell("rom"),
        load: cell("load"),
        to_failure: cell("to_failure"),
        hard_sets: without_hard_sets(&cell("exercise_description")).into(),
        sessions_per_week: amount("sessions_per_week"),
        sets_per_session: amount("sets_per_session"),
    }
}

/// Endurance and jumps have no sets near failure.
fn without_hard_sets(described: &str) -> &'static str {
    let lower = described.to_lowercase();
    let soft = ["cycling", "running", "jump", "explosive", "not resistance training"];
    if soft.iter().any(|w| lower.contains(w)) { "no" } else { "" }
}

fn found(study: &str, condition: &str, read: Option<&(Vec<String>, String)>, by_name: &Matched) -> ConditionFound {
    ConditionFound {
        study: study.into(),
        condition: condition.into(),
        read: read.map(|r| r.0.clone()).unwrap_or_default(),
        matched: by_name.movements.clone(),
        confidence: by_name.confidence,
    }
}

type Readings = BTreeMap<(String, String), (Vec<String>, String)>;

fn readings_of(source: Source, issues: &mut Vec<Issue>) -> Readings {
    let Some(table) = Csv::read(source, &["study_id", "condition", "movements"], issues) else {
        return Readings::new();
    };
    let row = |r: &csv::StringRecord| {
        let movements = table.cell(r, "movements").split(" + ").map(|m| m.trim().to_string()).collect();
        let key = (table.cell(r, "study_id").to_string(), table.cell(r, "condition").to_string());
        (key, (movements, table.cell(r, "note").to_string()))
    };
    table.rows.iter().map(|(_, r)| row(r)).collect()
}
