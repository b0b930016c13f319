//! Reading a client. In: TOML text, or key and value cells of a workbook; out: the client, or every problem at once
//! with its place, what was expected and the nearest field name.

use crate::client::{Client, DoneSet, Kit, Pain, Sex};
use crate::rules::Aim;
use crate::{Date, Problem, nearest};
use serde_spanned::Spanned;
use toml::de::{DeTable, DeValue};

/// A place in a file, 1-based.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Place {
    pub line: usize,
    pub column: usize,
}

impl Place {
    /// What is wrong here in a file.
    pub(crate) fn problem(self, file: &str, what: String, expected: &str, nearest: Vec<String>) -> Problem {
        Problem {
            file: file.into(),
            line: self.line,
            column: self.column,
            what,
            expected: expected.into(),
            nearest,
            warning: false,
        }
    }
}

/// A value with its place, whatever file it came from.
#[derive(Clone, Debug)]
pub(crate) struct Field {
    pub value: Value,
    pub at: Place,
}

#[derive(Clone, Debug)]
pub(crate) enum Value {
    Text(String),
    Number(f64),
    Flag(bool),
    List(Vec<Field>),
    Table(Vec<(String, Place, Field)>),
}

impl Value {
    fn show(&self) -> String {
        match self {
            Value::Text(t) => format!("\"{}\"", t.chars().take(40).collect::<String>()),
            Value::Number(n) => format!("{n}"),
            Value::Flag(b) => format!("{b}"),
            Value::List(_) => "a list".into(),
            Value::Table(_) => "a table".into(),
        }
    }
}

/// Every field a client file may have.
const FIELDS: [&str; 32] = [
    "name",
    "demo",
    "sex",
    "stature_cm",
    "mass_kg",
    "birth_year",
    "age_years",
    "training_years",
    "tape_cm",
    "kit",
    "loads_kg",
    "pulley_cm",
    "days",
    "minutes",
    "minutes_by_day",
    "aims",
    "past_sets",
    "bands",
    "keep",
    "dislikes",
    "done_sets",
    "energy_deficit",
    "new_movements",
    "returning",
    "pains",
    "conditions",
    "medicines",
    "screening",
    "pregnancy_weeks",
    "postpartum_weeks",
    "clearances",
    "notes",
];

/// Labels coaches write, and the field each means.
const LABELS: [(&str, &str); 58] = [
    ("client", "name"),
    ("client_name", "name"),
    ("gender", "sex"),
    ("height", "stature_cm"),
    ("stature", "stature_cm"),
    ("height_cm", "stature_cm"),
    ("weight", "mass_kg"),
    ("mass", "mass_kg"),
    ("body_mass", "mass_kg"),
    ("bodyweight", "mass_kg"),
    ("body_weight", "mass_kg"),
    ("weight_kg", "mass_kg"),
    ("age", "age_years"),
    ("born", "birth_year"),
    ("year_of_birth", "birth_year"),
    ("training_age", "training_years"),
    ("years_of_training", "training_years"),
    ("experience", "training_years"),
    ("equipment", "kit"),
    ("gym", "kit"),
    ("training_days", "days"),
    ("days_per_week", "days"),
    ("time", "minutes"),
    ("minutes_per_session", "minutes"),
    ("minutes_per_day", "minutes"),
    ("session_length", "minutes"),
    ("deficit", "energy_deficit"),
    ("diet", "energy_deficit"),
    ("cutting", "energy_deficit"),
    ("injuries", "pains"),
    ("injury", "pains"),
    ("pain", "pains"),
    ("condition", "conditions"),
    ("medical", "conditions"),
    ("health", "conditions"),
    ("medicine", "medicines"),
    ("medication", "medicines"),
    ("medications", "medicines"),
    ("pregnant", "pregnancy_weeks"),
    ("weeks_pregnant", "pregnancy_weeks"),
    ("comment", "notes"),
    ("comments", "notes"),
    ("note", "notes"),
    ("new", "new_movements"),
    ("new_exercises", "new_movements"),
    ("priorities", "aims.*focus"),
    ("priority", "aims.*focus"),
    ("focus", "aims.*focus"),
    ("goal", "aims.*focus"),
    ("grow", "aims.*grow"),
    ("keep", "aims.*keep"),
    ("maintain", "aims.*keep"),
    ("keep_exercises", "keep"),
    ("favourites", "keep"),
    ("dislike", "dislikes"),
    ("disliked", "dislikes"),
    ("avoid", "dislikes"),
    ("leave", "aims.*leave"),
];

/// Tape measures understood; landmark lengths as in the anthropometric tables.
const TAPES: [&str; 12] = [
    "thigh",
    "shank",
    "trunk",
    "upper_arm",
    "forearm",
    "hand",
    "foot",
    "span",
    "biacromial",
    "bi_iliac",
    "sitting_height",
    "leg_length",
];

const SCREENING: [&str; 4] = ["exercises_regularly", "known_disease", "symptoms", "date"];
const PAIN: [&str; 5] = ["place", "score", "since", "movement", "posture"];
const DONE: [&str; 6] = ["movement", "load_kg", "reps", "rir", "to_failure", "date"];
/// Most loads one piece of equipment may list; a gym's longest rack has well under a hundred.
const MOST_LOADS: usize = 400;

/// Reads a client file. `file` is the name shown in problems; nothing is opened.
///
/// # Errors
/// All problems of the text: syntax, unknown fields with the nearest names, wrong kinds, numbers outside their limits.
pub fn parse_client(text: &str, file: &str) -> Result<Client, Vec<Problem>> {
    let mut reader = Reader { file: file.into(), problems: Vec::new(), client: Client::default() };
    // A byte-order mark from an editor is no syntax error.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let (table, errors) = DeTable::parse_recoverable(text);
    for error in &errors {
        let at = error.span().map_or(Place::default(), |s| place_of(text, s.start));
        reader.problem(at, error.message().to_string(), "TOML: key = value", Vec::new());
    }
    let fields = fields_of(text, table.get_ref());
    for (key, at, field) in &fields {
        reader.top(key, *at, field);
    }
    if reader.client.name.is_empty() && errors.is_empty() && !fields.iter().any(|(k, _, _)| k == "name") {
        reader.problem(Place::default(), "the client has no name".into(), "name = \"…\"", Vec::new());
    }
    if reader.problems.is_empty() { Ok(reader.client) } else { Err(reader.problems) }
}

/// Reads a client from key and value cells (`place` = (row, column), 1-based). What is not understood is listed as a
/// warning beside the usable client; nothing is dropped silently.
pub fn client_from_rows(rows: &[((u32, u32), String, String)], sheet: &str) -> (Client, Vec<Problem>) {
    let mut reader = Reader { file: sheet.into(), problems: Vec::new(), client: Client::default() };
    for ((row, column), key, value) in rows {
        if value.trim().is_empty() {
            continue;
        }
        let at = Place { line: *row as usize, column: *column as usize };
        let Some(name) = field_of_label(key) else {
            let near = nearest(&plain_label(key), &FIELDS);
            reader.problem(at, format!("no field called \"{}\"", key.trim()), "a field of the client file", near);
            continue;
        };
        let field = cell_field(&name, value, at);
        match name.split_once('.') {
            Some((table, inner)) => {
                let inner = Value::Table(vec![(inner.to_string(), at, field)]);
                reader.top(table, at, &Field { value: inner, at });
            }
            None => reader.top(&name, at, &field),
        }
    }
    for p in &mut reader.problems {
        p.warning = true;
    }
    (reader.client, reader.problems)
}

/// The fields of a client text; none where it cannot be read.
pub(crate) fn lines_of(text: &str) -> Vec<(String, Place, Field)> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let (table, _) = DeTable::parse_recoverable(text);
    fields_of(text, table.get_ref())
}

fn fields_of(text: &str, table: &DeTable<'_>) -> Vec<(String, Place, Field)> {
    let mut fields: Vec<(usize, String, Field)> =
        table.iter().map(|(key, value)| (key.span().start, key.get_ref().to_string(), field_of(text, value))).collect();
    fields.sort_by_key(|(start, _, _)| *start);
    fields.into_iter().map(|(start, key, field)| (key, place_of(text, start), field)).collect()
}

fn field_of(text: &str, value: &Spanned<DeValue<'_>>) -> Field {
    let at = place_of(text, value.span().start);
    let value = match value.get_ref() {
        DeValue::String(s) => Value::Text(s.to_string()),
        DeValue::Integer(i) => i64::from_str_radix(i.as_str(), i.radix())
            .map_or_else(|_| Value::Text(i.as_str().to_string()), |v| Value::Number(v as f64)),
        DeValue::Float(f) => {
            f.as_str().parse::<f64>().map_or_else(|_| Value::Text(f.as_str().to_string()), Value::Number)
        }
        DeValue::Boolean(b) => Value::Flag(*b),
        DeValue::Datetime(d) => Value::Text(d.to_string()),
        DeValue::Array(items) => Value::List(items.iter().map(|v| field_of(text, v)).collect()),
        DeValue::Table(t) => Value::Table(fields_of(text, t)),
    };
    Field { value, at }
}

fn place_of(text: &str, offset: usize) -> Place {
    let before = text.get(..offset).unwrap_or(text);
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
    Place { line, column }
}

/// "Height (cm)" → "height".
fn plain_label(label: &str) -> String {
    let label = label.split(['(', '[', ':']).next().unwrap_or_default().trim().to_lowercase();
    label.replace([' ', '-'], "_")
}

/// Field (or `table.field`) a coach's label means.
fn field_of_label(label: &str) -> Option<String> {
    let plain = plain_label(label);
    let found = LABELS.iter().find(|(label, _)| *label == plain).map(|(_, field)| *field);
    let alias = found.unwrap_or(plain.as_str());
    if FIELDS.contains(&alias) || alias.starts_with("aims.") {
        return Some(alias.to_string());
    }
    let bare = plain.trim_end_matches("_cm").trim_end_matches("_length");
    if TAPES.contains(&plain.as_str()) || TAPES.contains(&bare) {
        return Some(format!("tape_cm.{}", if TAPES.contains(&plain.as_str()) { &plain } else { bare }));
    }
    SCREENING[..3]
        .contains(&plain.as_str())
        .then(|| format!("screening.{plain}"))
        .or_else(|| (plain == "screening_date").then(|| "screening.date".to_string()))
}

/// A cell's text as the kind of value its field wants.
fn cell_field(name: &str, text: &str, at: Place) -> Field {
    let text = text.trim();
    let listed = |t: &str| -> Vec<String> {
        let separator = if t.contains(';') || t.contains('\n') { &[';', '\n'][..] } else { &[','][..] };
        t.split(separator).map(str::trim).filter(|p| !p.is_empty()).map(String::from).collect()
    };
    let texts = |t: &str| Value::List(listed(t).into_iter().map(|p| Field { value: Value::Text(p), at }).collect());
    let value = match name {
        "conditions" | "medicines" | "new_movements" | "keep" | "dislikes" | "days" if text.parse::<f64>().is_err() => {
            texts(text)
        }
        "kit" if text.contains([',', ';']) => texts(text),
        "pains" => Value::List(listed(text).iter().map(|p| Field { value: pain_value(p, at), at }).collect()),
        _ if name.starts_with("aims.") => texts(text),
        "name" | "notes" | "kit" | "sex" => Value::Text(text.into()),
        _ => match text.to_lowercase().as_str() {
            "yes" | "y" | "true" | "x" => Value::Flag(true),
            "no" | "n" | "false" | "none" => Value::Flag(false),
            _ => leading_number(text).map_or_else(|| Value::Text(text.into()), Value::Number),
        },
    };
    Field { value, at }
}

/// "172 cm", "72,5 kg", "60 min" → the number; "3 to 4" and "5'11" stay text and become a question.
fn leading_number(text: &str) -> Option<f64> {
    let text = text.trim();
    let end = text.find(|c: char| !c.is_ascii_digit() && c != '.' && c != ',').unwrap_or(text.len());
    let unit = text[end..].trim().to_lowercase();
    if !["", "cm", "kg", "min", "mins", "minutes", "years", "year", "y", "weeks", "wk"].contains(&unit.as_str()) {
        return None;
    }
    text[..end].replace(',', ".").parse().ok()
}

/// "left knee 4/10 since March" → place and score.
fn pain_value(text: &str, at: Place) -> Value {
    let mut place = text.to_string();
    let mut fields = Vec::new();
    let score = text.split_whitespace().find_map(|w| {
        let number = w.strip_suffix("/10").unwrap_or(w);
        number.replace(',', ".").parse::<f64>().ok().map(|v| (w.to_string(), v))
    });
    if let Some((word, value)) = score {
        place = place.replacen(&word, "", 1);
        fields.push(("score".to_string(), at, Field { value: Value::Number(value), at }));
    }
    if let Some((before, since)) = place.clone().split_once(" since ") {
        place = before.to_string();
        fields.push(("since".to_string(), at, Field { value: Value::Text(since.trim().into()), at }));
    }
    fields.push(("place".to_string(), at, Field { value: Value::Text(place.trim().into()), at }));
    Value::Table(fields)
}

/// "2 to 30 by 2" → 2, 4, … 30.
fn steps_of(text: &str) -> Option<Vec<f64>> {
    let number = |t: &str| t.trim().trim_end_matches("kg").trim().replace(',', ".").parse::<f64>().ok();
    let (first, rest) = text.split_once(" to ")?;
    let (last, step) = rest.split_once(" by ")?;
    let (first, last, step) = (number(first)?, number(last)?, number(step)?);
    let count = (last - first) / step;
    if !(step > 0.0 && (0.0..=MOST_LOADS as f64).contains(&count)) {
        return None;
    }
    Some((0..=(count + 1e-9).floor() as usize).map(|n| first + step * n as f64).collect())
}

struct Reader {
    file: String,
    problems: Vec<Problem>,
    client: Client,
}

impl Reader {
    fn problem(&mut self, at: Place, what: String, expected: &str, nearest: Vec<String>) {
        self.problems.push(at.problem(&self.file, what, expected, nearest));
    }

    fn wrong(&mut self, key: &str, field: &Field, expected: &str) {
        self.problem(field.at, format!("{key} is {}", field.value.show()), expected, Vec::new());
    }

    fn unknown(&mut self, key: &str, at: Place, known: &[&str]) {
        // A coach's word for a field ("height") leads to the field as well as a slip of the pen does.
        let labels: Vec<&str> = LABELS.iter().filter(|(_, f)| known.contains(f)).map(|(label, _)| *label).collect();
        let mut near = nearest(key, &[known, &labels].concat());
        for name in &mut near {
            if let Some((_, field)) = LABELS.iter().find(|(label, _)| label == name) {
                *name = (*field).to_string();
            }
        }
        near.dedup();
        let expected = if near.is_empty() { format!("one of: {}", known.join(", ")) } else { String::new() };
        self.problem(at, format!("no field called \"{key}\""), &expected, near);
    }

    fn top(&mut self, key: &str, at: Place, f: &Field) {
        match key {
            "name" => self.client.name = self.text(key, f).unwrap_or_default(),
            "demo" => self.client.demo = self.flag(key, f).unwrap_or_default(),
            "sex" => self.client.sex = self.sex(f),
            "stature_cm" => self.client.stature_cm = self.number(key, f, 100.0, 230.0),
            "mass_kg" => self.client.mass_kg = self.number(key, f, 25.0, 300.0),
            "birth_year" => self.client.birth_year = self.number(key, f, 1900.0, 2200.0).map(|y| y as i32),
            "age_years" => self.client.age_years = self.number(key, f, 5.0, 110.0),
            "training_years" => self.client.training_years = self.number(key, f, 0.0, 90.0),
            "kit" => self.client.kit = self.kit(f),
            "days" => match &f.value {
                Value::Number(_) => self.client.days_per_week = self.number(key, f, 1.0, 7.0),
                _ => self.client.days = self.texts(key, f),
            },
            "minutes" => self.client.minutes = self.number(key, f, 5.0, 600.0),
            "energy_deficit" => match f.value {
                Value::Number(_) => {
                    self.client.deficit_kcal_day = self.number(key, f, 0.0, 3000.0).filter(|k| *k > 0.0);
                    self.client.energy_deficit = self.client.deficit_kcal_day.is_some();
                }
                _ => self.client.energy_deficit = self.flag(key, f).unwrap_or_default(),
            },
            "returning" => self.client.returning = self.flag(key, f).unwrap_or_default(),
            "new_movements" => self.client.new_movements = self.texts(key, f),
            "keep" => self.client.keep = self.texts(key, f),
            "dislikes" => self.client.dislikes = self.texts(key, f),
            "pulley_cm" => self.client.pulley_cm = self.pair(key, f, 0.0, 300.0),
            "loads_kg" => {
                for (equipment, _, inner) in self.table(key, f) {
                    if let Some(loads) = self.loads(&equipment, &inner) {
                        self.client.loads_kg.push((equipment, loads));
                    }
                }
            }
            "bands" => {
                for (group, _, inner) in self.table(key, f) {
                    if let Some((low, high)) = self.pair(&group, &inner, 0.0, 60.0) {
                        self.client.bands.push((group, answer::Band { low, high }));
                    }
                }
            }
            "done_sets" => self.done_sets(key, f),
            "conditions" => self.client.conditions = self.texts(key, f),
            "medicines" => self.client.medicines = self.texts(key, f),
            "pregnancy_weeks" => match f.value {
                Value::Flag(false) => self.client.pregnancy_weeks = None,
                _ => self.client.pregnancy_weeks = self.number(key, f, 0.0, 45.0),
            },
            "postpartum_weeks" => self.client.postpartum_weeks = self.number(key, f, 0.0, 104.0),
            "notes" => self.client.notes = self.text(key, f).unwrap_or_default(),
            "tape_cm" => {
                for (name, at, inner) in self.table(key, f) {
                    if !TAPES.contains(&name.as_str()) {
                        self.unknown(&name, at, &TAPES);
                    } else if let Some(cm) = self.number(&name, &inner, 5.0, 260.0) {
                        self.client.tape_cm.push((name, cm));
                    }
                }
            }
            "minutes_by_day" => {
                for (day, _, inner) in self.table(key, f) {
                    if let Some(m) = self.number(&day, &inner, 5.0, 600.0) {
                        self.client.minutes_by_day.push((day, m));
                    }
                }
            }
            "past_sets" => {
                for (group, _, inner) in self.table(key, f) {
                    if let Some(sets) = self.number(&group, &inner, 0.0, 100.0) {
                        self.client.past_sets.push((group, sets));
                    }
                }
            }
            "aims" => self.aims(key, f),
            "clearances" => {
                for (what, _, inner) in self.table(key, f) {
                    if let Some(date) = self.date(&what, &inner) {
                        self.client.clearances.push((what, date));
                    }
                }
            }
            "screening" => self.screening(key, f),
            "pains" => self.pains(key, f),
            _ => self.unknown(key, at, &FIELDS),
        }
    }

    fn text(&mut self, key: &str, f: &Field) -> Option<String> {
        match &f.value {
            Value::Text(t) if !t.trim().is_empty() => Some(t.trim().to_string()),
            Value::Number(n) if key == "since" => Some(format!("{n}")),
            _ => {
                self.wrong(key, f, "words in quotes");
                None
            }
        }
    }

    fn flag(&mut self, key: &str, f: &Field) -> Option<bool> {
        if let Value::Flag(b) = f.value {
            return Some(b);
        }
        self.wrong(key, f, "true or false");
        None
    }

    fn number(&mut self, key: &str, f: &Field, low: f64, high: f64) -> Option<f64> {
        match f.value {
            Value::Number(n) if (low..=high).contains(&n) => Some(n),
            _ => {
                self.wrong(key, f, &format!("a number from {low} to {high}"));
                None
            }
        }
    }

    /// Two numbers, the smaller first: [8, 12].
    fn pair(&mut self, key: &str, f: &Field, low: f64, high: f64) -> Option<(f64, f64)> {
        let numbers: Vec<f64> = match &f.value {
            Value::List(items) => items.iter().filter_map(|i| self.number(key, i, low, high)).collect(),
            Value::Text(t) => t.split(['-', '–']).filter_map(|p| p.trim().replace(',', ".").parse().ok()).collect(),
            _ => Vec::new(),
        };
        match numbers[..] {
            [a, b] if a <= b && (low..=high).contains(&a) && (low..=high).contains(&b) => Some((a, b)),
            _ => {
                self.wrong(key, f, &format!("two numbers from {low} to {high}, the smaller first, as in [8, 12]"));
                None
            }
        }
    }

    /// Loads of one piece of equipment: a list of kg, or "2 to 30 by 2".
    fn loads(&mut self, key: &str, f: &Field) -> Option<Vec<f64>> {
        let (loads, whole) = match &f.value {
            Value::List(items) => {
                let numbers: Vec<f64> = items.iter().filter_map(|i| self.number(key, i, 0.0, 1000.0)).collect();
                (numbers.clone(), numbers.len() == items.len())
            }
            Value::Text(t) => (steps_of(t).unwrap_or_default(), true),
            Value::Number(n) => (vec![*n], true),
            _ => (Vec::new(), true),
        };
        // A list with a wrong number is told at that number.
        if !whole {
            return None;
        }
        // A load below zero is told, not dropped: the row would be another than the one meant.
        let mut loads = if loads.iter().all(|kg| (0.0..=1000.0).contains(kg)) { loads } else { Vec::new() };
        loads.sort_by(f64::total_cmp);
        loads.dedup();
        if loads.is_empty() || loads.len() > MOST_LOADS {
            self.wrong(key, f, "loads in kg from 0 to 1000: a list, or \"2 to 30 by 2\"");
            return None;
        }
        Some(loads)
    }

    fn done_sets(&mut self, key: &str, f: &Field) {
        let Value::List(items) = &f.value else {
            return self.wrong(key, f, "blocks of [[done_sets]]");
        };
        for item in items.clone() {
            let mut done = DoneSet::default();
            let (mut load, mut reps) = (None, None);
            for (name, at, inner) in self.table("a set", &item) {
                match name.as_str() {
                    "movement" => done.movement = self.text(&name, &inner).unwrap_or_default(),
                    "load_kg" => load = self.number(&name, &inner, 0.0, 1000.0),
                    "reps" => reps = self.number(&name, &inner, 1.0, 200.0),
                    "rir" => done.rir = self.number(&name, &inner, 0.0, 20.0),
                    "to_failure" => done.to_failure = self.flag(&name, &inner).unwrap_or_default(),
                    "date" => done.date = self.date(&name, &inner),
                    _ => self.unknown(&name, at, &DONE),
                }
            }
            let whole = !done.movement.is_empty();
            match (load, reps) {
                (Some(load_kg), Some(reps)) if whole => self.client.done_sets.push(DoneSet { load_kg, reps, ..done }),
                _ => self.problem(
                    item.at,
                    "a set without movement, load or repetitions".into(),
                    "movement = \"dumbbell-row\", load_kg = 26, reps = 10",
                    Vec::new(),
                ),
            }
        }
    }

    fn date(&mut self, key: &str, f: &Field) -> Option<Date> {
        let date = match &f.value {
            Value::Text(t) => Date::parse(t),
            _ => None,
        };
        if date.is_none() {
            self.wrong(key, f, "a date such as \"2026-01-15\"");
        }
        date
    }

    fn texts(&mut self, key: &str, f: &Field) -> Vec<String> {
        match &f.value {
            Value::List(items) => items.clone().iter().filter_map(|i| self.text(key, i)).collect(),
            Value::Text(t) => vec![t.trim().to_string()],
            Value::Flag(false) => Vec::new(),
            _ => {
                self.wrong(key, f, "a list of words");
                Vec::new()
            }
        }
    }

    fn table(&mut self, key: &str, f: &Field) -> Vec<(String, Place, Field)> {
        if let Value::Table(fields) = &f.value {
            return fields.clone();
        }
        self.wrong(key, f, "a table of fields");
        Vec::new()
    }

    fn sex(&mut self, f: &Field) -> Option<Sex> {
        let word = match &f.value {
            Value::Text(t) => t.trim().to_lowercase(),
            _ => String::new(),
        };
        match word.as_str() {
            "female" | "f" | "woman" | "w" => Some(Sex::Female),
            "male" | "m" | "man" => Some(Sex::Male),
            _ => {
                self.wrong("sex", f, "\"female\" or \"male\" (which body tables to use)");
                None
            }
        }
    }

    fn kit(&mut self, f: &Field) -> Option<Kit> {
        match &f.value {
            Value::List(_) => Some(Kit::Items(self.texts("kit", f))),
            _ => self.text("kit", f).map(Kit::Id),
        }
    }

    fn aims(&mut self, key: &str, f: &Field) {
        for (group, _, inner) in self.table(key, f) {
            // A workbook names the groups of one aim: "focus: hamstrings; chest".
            if let Some(aim) = group.strip_prefix('*').and_then(Aim::parse) {
                let groups = self.texts(key, &inner);
                self.client.aims.extend(groups.into_iter().map(|g| (g, aim)));
                continue;
            }
            let Some(word) = self.text(&group, &inner) else { continue };
            match Aim::parse(&word) {
                Some(aim) => self.client.aims.push((group, aim)),
                None => {
                    let near = nearest(&word, &Aim::WORDS);
                    self.problem(inner.at, format!("no aim called \"{word}\""), "focus, grow, keep or leave", near);
                }
            }
        }
    }

    fn screening(&mut self, key: &str, f: &Field) {
        for (name, at, inner) in self.table(key, f) {
            match name.as_str() {
                "exercises_regularly" => self.client.screening.exercises_regularly = self.flag(&name, &inner),
                "known_disease" => self.client.screening.known_disease = self.flag(&name, &inner),
                "symptoms" => self.client.screening.symptoms = self.flag(&name, &inner),
                "date" => self.client.screening.date = self.date(&name, &inner),
                _ => self.unknown(&name, at, &SCREENING),
            }
        }
    }

    fn pains(&mut self, key: &str, f: &Field) {
        let Value::List(items) = &f.value else {
            return self.wrong(key, f, "blocks of [[pains]]");
        };
        for item in items.clone() {
            let mut pain = Pain::default();
            for (name, at, inner) in self.table("a pain", &item) {
                match name.as_str() {
                    "place" => pain.place = self.text(&name, &inner).unwrap_or_default(),
                    "score" => pain.score = self.number(&name, &inner, 0.0, 10.0),
                    "since" => pain.since = self.text(&name, &inner),
                    "movement" => pain.movement = self.text(&name, &inner),
                    "posture" => pain.posture = self.text(&name, &inner),
                    _ => self.unknown(&name, at, &PAIN),
                }
            }
            if pain.place.is_empty() {
                self.problem(item.at, "a pain without a place".into(), "place = \"left knee\"", Vec::new());
            } else {
                self.client.pains.push(pain);
            }
        }
    }
}
