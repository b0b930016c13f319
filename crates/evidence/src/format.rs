//! A study as a file: one TOML file a study. What the fields mean stands in `docs/evidence_format.md`, written from
//! the comments here; [`read`] takes whatever is sound and names the rest with line and column.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Something that could not be used, with its place.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Issue {
    pub file: String,
    /// From 1; 0 where the whole file is meant.
    pub line: usize,
    pub column: usize,
    pub study: String,
    /// The condition, result or contrast.
    pub what: String,
    pub text: String,
}

impl Issue {
    /// "file:line:column".
    pub fn place(&self) -> String {
        match (self.line, self.column) {
            (0, _) => self.file.clone(),
            (l, 0) => format!("{}:{l}", self.file),
            (l, c) => format!("{}:{l}:{c}", self.file),
        }
    }
}

impl std::fmt::Display for Issue {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}: {}", self.place(), self.what, self.text)
    }
}

/// A number, or a number in words: `3`, `"3-6"`, `"daily"`, `"~1.8 (15-17 sessions)"`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Amount {
    Number(f64),
    Words(String),
}

impl Default for Amount {
    fn default() -> Amount {
        Amount::Number(0.0)
    }
}

impl Amount {
    /// The number meant: a span counts as its middle, "daily" as 7; `None` where no number is told.
    pub fn number(&self) -> Option<f64> {
        match self {
            Amount::Number(v) => Some(*v).filter(|v| v.is_finite()),
            Amount::Words(w) => number_in(w),
        }
    }
}

/// First number or span of numbers in a text; what stands in brackets is remark.
pub fn number_in(text: &str) -> Option<f64> {
    let text = text.split('(').next().unwrap_or("").trim().trim_start_matches(['~', '>', '<', '=']);
    if text == "daily" {
        return Some(7.0);
    }
    let end = text.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-')).unwrap_or(text.len());
    let mut ends = text[..end].split('-').map(|t| t.parse::<f64>().ok());
    match (ends.next().flatten(), ends.next().flatten()) {
        (Some(a), Some(b)) => Some((a + b) / 2.0),
        (Some(a), None) => Some(a),
        _ => None,
    }
}

/// One training study.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StudyFile {
    /// Short name, unique: first author and year.
    pub id: String,
    /// Authors, year, journal, pages.
    pub citation: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub doi: String,
    /// Between or within people, how many groups.
    pub design: String,
    /// Who was measured, in words.
    pub participants: String,
    /// The same in numbers.
    #[serde(default)]
    pub people: People,
    /// Length of the training; 0 for a single session.
    pub weeks: Amount,
    /// Why the study is shown but never counted; empty for a sound one.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub do_not_use: String,
    /// Id of the study that already reports the same people; its rows are counted apart.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub same_people_as: String,
    /// What was trained: at least one.
    #[serde(default)]
    pub condition: Vec<ConditionFile>,
    /// What was measured.
    #[serde(default)]
    pub result: Vec<ResultFile>,
    /// What is to be predicted.
    #[serde(default)]
    pub contrast: Vec<ContrastFile>,
}

/// People of a study. What is not known is left out.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct People {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub n: Option<f64>,
    /// `men`, `women`, `both`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub sex: String,
    /// `untrained`, `trained`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub training: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub age_years: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stature_m: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_kg: Option<f64>,
}

/// One arm of a study.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ConditionFile {
    /// Unique within the study.
    pub id: String,
    /// Movements of the library: `back-squat`, `leg-extension{start_knee_deg=90}`; `2/3 * back-squat` where only part
    /// of the stated sets are done with it. Names and aliases are found as in a plan.
    pub movements: Vec<String>,
    /// How the movements were found: looked-up, expert reading, matched by name.
    pub how: String,
    /// What people did, in words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub described: String,
    /// Range of motion as told.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub range: String,
    /// Load and repetitions as told.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub load: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub to_failure: String,
    /// `no` where the work has no hard sets (endurance, jumps): the dose is then not computed.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub hard_sets: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sessions_per_week: Option<Amount>,
    /// Sets of every movement in one session.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sets_per_session: Option<Amount>,
}

/// One measured change.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ResultFile {
    /// Id of a condition.
    pub condition: String,
    /// A head, or a group of `data/anatomy/head_groups.csv`.
    pub muscle: String,
    /// Where along the muscle; `whole` for all of it.
    pub region: String,
    /// MRI volume, MRI CSA, US CSA, US thickness, …
    pub measure: String,
    /// Change from before to after; left out where it was not told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub change_percent: Option<f64>,
    /// Spread of the change between people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub change_sd: Option<f64>,
    /// yes, no, unknown.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub significant: String,
    /// p of the comparison between conditions, as told.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub between_p: String,
    /// looked-up, from-memory, own-estimate.
    pub how: String,
    /// high, medium, low.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub confidence: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// One statement of the study that can be predicted.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ContrastFile {
    /// `condition:muscle` or `condition:muscle@region`.
    pub left: String,
    /// The other side; empty where the left did not grow.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub right: String,
    /// `left>right`, `about-equal`, or `left~0` (no growth).
    pub expected: String,
    /// `significant`, `trend`, `null`.
    pub strength: String,
    /// The numbers behind it, as told.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub effect: String,
    pub how: String,
    /// With what other studies it is at odds; the row is then counted apart.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub conflict: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// What was read of a row, with the place of the row.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed<T> {
    pub row: T,
    pub line: usize,
    /// (field, line, column) of every field of the row.
    fields: Vec<(String, usize, usize)>,
}

impl<T> Placed<T> {
    /// Line and column of a field's value; of the row where it has no such field.
    pub fn at(&self, field: &str) -> (usize, usize) {
        self.fields.iter().find(|f| f.0 == field).map_or((self.line, 1), |f| (f.1, f.2))
    }
}

/// A study as read, row by row.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadStudy {
    pub file: String,
    /// Everything but the rows.
    pub head: Placed<StudyFile>,
    pub conditions: Vec<Placed<ConditionFile>>,
    pub results: Vec<Placed<ResultFile>>,
    pub contrasts: Vec<Placed<ContrastFile>>,
}

/// Reads one study. Rows that cannot be read are named and left out; `None` where the head itself cannot be read.
pub fn read(file: &str, text: &str, issues: &mut Vec<Issue>) -> Option<ReadStudy> {
    let places = Lines::new(text);
    let stem = file.rsplit(['/', '\\']).next().unwrap_or(file).trim_end_matches(".toml").to_string();
    let issue = |at: Option<Range<usize>>, study: &str, what: &str, told: String| {
        let (line, column) = at.map_or((0, 0), |r| places.of(r.start));
        Issue { file: file.into(), line, column, study: study.into(), what: what.into(), text: told }
    };
    let mut table = match DeTable::parse(text) {
        Ok(t) => t.into_inner(),
        Err(e) => {
            issues.push(issue(e.span(), &stem, "the file", e.message().to_string()));
            return None;
        }
    };
    let mut take = |name: &str| -> Vec<Spanned<DeValue>> {
        let key = table.keys().find(|k| k.as_ref() == name).cloned();
        match key.and_then(|k| table.remove(&k)).map(Spanned::into_inner) {
            Some(DeValue::Array(rows)) => rows.into_iter().collect(),
            _ => Vec::new(),
        }
    };
    let (conditions, results, contrasts) = (take("condition"), take("result"), take("contrast"));
    let fields = |t: &DeTable| -> Vec<(String, usize, usize)> {
        t.iter()
            .map(|(k, v)| {
                let (line, column) = places.of(v.span().start);
                (k.as_ref().to_string(), line, column)
            })
            .collect()
    };
    let head_fields = fields(&table);
    let head = match StudyFile::deserialize(toml::de::Deserializer::from(Spanned::new(0..text.len(), table))) {
        Ok(h) => Placed { row: h, line: 1, fields: head_fields },
        Err(e) => {
            issues.push(issue(e.span(), &stem, "the study", e.message().to_string()));
            return None;
        }
    };
    let id = head.row.id.clone();
    type Fields<'f> = &'f dyn Fn(&DeTable) -> Vec<(String, usize, usize)>;
    fn rows<'a, T: Deserialize<'a>>(
        list: Vec<Spanned<DeValue<'a>>>,
        name: &str,
        fields: Fields,
        places: &Lines,
        mut bad: impl FnMut(Option<Range<usize>>, &str, String),
    ) -> Vec<Placed<T>> {
        let mut out = Vec::new();
        for (i, value) in list.into_iter().enumerate() {
            let span = value.span();
            let own = value.get_ref().as_table().map(fields).unwrap_or_default();
            let what = format!("{name} {}", i + 1);
            match T::deserialize(toml::de::ValueDeserializer::from(value)) {
                Ok(row) => out.push(Placed { row, line: places.of(span.start).0, fields: own }),
                Err(e) => bad(e.span().or(Some(span)), &what, e.message().to_string()),
            }
        }
        out
    }
    let mut bad = |at, what: &str, told: String| issues.push(issue(at, &id, what, told));
    let conditions = rows(conditions, "condition", &fields, &places, &mut bad);
    let results = rows(results, "result", &fields, &places, &mut bad);
    let contrasts = rows(contrasts, "contrast", &fields, &places, &mut bad);
    Some(ReadStudy { file: file.into(), head, conditions, results, contrasts })
}

/// Text of a study's file.
///
/// # Errors
/// A value that TOML cannot hold.
pub fn write(study: &StudyFile) -> Result<String, String> {
    toml::to_string(study).map_err(|e| e.to_string())
}

/// JSON Schema of a study's file.
pub fn schema() -> schemars::Schema {
    let mut schema = schemars::schema_for!(StudyFile);
    schema.insert("title".into(), SCHEMA.into());
    schema
}

/// Name and version of the file format.
pub const SCHEMA: &str = "lengthwise.study/1";

/// Byte offsets of line starts.
struct Lines(Vec<usize>, String);

impl Lines {
    fn new(text: &str) -> Lines {
        Lines(std::iter::once(0).chain(text.match_indices('\n').map(|(i, _)| i + 1)).collect(), text.into())
    }
    /// Line and column of a byte, both from 1; columns count characters.
    fn of(&self, at: usize) -> (usize, usize) {
        let line = self.0.partition_point(|s| *s <= at).max(1);
        let start = self.0[line - 1];
        let within = self.1.get(start..at).map_or(at - start, |t| t.chars().count());
        (line, within + 1)
    }
}
