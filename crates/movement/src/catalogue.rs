//! The list of named movements, their settings, kits and the words of coaches' sheets, parsed from their tables.
//!
//! Every table is handed in as text; all problems of all tables come back at once, each with table and line.

use crate::names::nearest_words;
use answer::{SettingValue, Settings};
use std::collections::{BTreeMap, BTreeSet};

/// The text of every table the catalogue is made of.
#[derive(Clone, Copy, Debug, Default)]
pub struct CatalogueText<'a> {
    pub movements: &'a str,
    pub family_settings: &'a str,
    pub kits: &'a str,
    pub load_bands: &'a str,
    pub sheet_shorthand: &'a str,
    pub ambiguous_terms: &'a str,
    /// Names of muscles and groups → heads.
    pub head_groups: &'a str,
}

/// A problem of a table, at a line.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{table} line {line}: {problem}")]
pub struct TableProblem {
    pub table: &'static str,
    /// 1-based, as an editor shows it.
    pub line: u64,
    pub problem: RowProblem,
}

/// What is wrong with a row.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum RowProblem {
    #[error("not readable as csv: {0}")]
    Csv(String),
    #[error("no column `{0}`")]
    NoColumn(&'static str),
    #[error("`{got}` in column `{column}` is not a number")]
    NotANumber { column: &'static str, got: String },
    #[error("`{0}` stands twice")]
    Twice(String),
    #[error("no movement `{got}`; nearest: {}", nearest.join(", "))]
    NoMovement { got: String, nearest: Vec<String> },
    #[error("`{got}` is not `key=value`")]
    NotAPair { got: String },
    #[error("`{got}` in column `{column}` is none of {}", options.join(", "))]
    NotAnOption { column: &'static str, got: String, options: Vec<String> },
    #[error("{0}")]
    Setting(#[from] SettingProblem),
}

/// Why a setting is refused.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SettingProblem {
    #[error("no movement `{got}`; nearest: {}", nearest.join(", "))]
    NoMovement { got: String, nearest: Vec<String> },
    #[error("family `{family}` has no setting `{got}`; nearest: {}", nearest.join(", "))]
    NoKey { family: String, got: String, nearest: Vec<String> },
    #[error("`{key}` wants a number ({unit}), got `{got}`")]
    NotANumber { key: String, unit: String, got: String },
    #[error("`{key}` = {got} {unit} is outside {min} to {max} {unit}")]
    OutOfRange { key: String, unit: String, got: f64, min: f64, max: f64 },
    #[error("`{key}` = `{got}` is none of {}", options.join(", "))]
    NotAnOption { key: String, got: String, options: Vec<String> },
    #[error("`{got}` is not written as movement{{key=value,key=value}}")]
    NotOneWord { got: String },
}

/// Number with its range, or a word out of a list.
#[derive(Clone, Debug, PartialEq)]
pub enum SettingKind {
    Number { unit: String, min: f64, max: f64 },
    Choice { options: Vec<String> },
}

/// What a family lets a coach set.
#[derive(Clone, Debug, PartialEq)]
pub struct SettingSpec {
    /// `(any)` for settings every family has.
    pub family: String,
    pub key: String,
    pub kind: SettingKind,
    pub default: Option<SettingValue>,
    pub how: String,
}

impl SettingSpec {
    /// The value written as text, checked against kind and range.
    pub fn check(&self, got: &str) -> Result<SettingValue, SettingProblem> {
        match &self.kind {
            SettingKind::Number { unit, min, max } => {
                let number = got.trim().replace(',', ".").parse::<f64>().ok().filter(|v| v.is_finite());
                let v = number.ok_or_else(|| SettingProblem::NotANumber {
                    key: self.key.clone(),
                    unit: unit.clone(),
                    got: got.to_string(),
                })?;
                if v < *min || v > *max {
                    let (key, unit) = (self.key.clone(), unit.clone());
                    return Err(SettingProblem::OutOfRange { key, unit, got: v, min: *min, max: *max });
                }
                Ok(SettingValue::Number(v))
            }
            SettingKind::Choice { options } => {
                let word = got.trim().to_lowercase();
                if options.contains(&word) {
                    return Ok(SettingValue::Word(word));
                }
                Err(SettingProblem::NotAnOption { key: self.key.clone(), got: word, options: options.clone() })
            }
        }
    }
}

/// Whether the two sides work together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sides {
    Bilateral,
    Unilateral,
    Alternating,
}

/// A movement a coach can name.
#[derive(Clone, Debug, PartialEq)]
pub struct NamedMovement {
    pub id: String,
    pub name: String,
    pub family: String,
    /// Only what differs from the family's defaults.
    pub settings: Settings,
    pub equipment: Vec<String>,
    pub sides: Sides,
    pub aliases: Vec<String>,
    /// Aliases that may mean something else, with the reason in brackets.
    pub ambiguous_aliases: Vec<String>,
    /// 1 easy, 2 needs coaching, 3 needs weeks of practice.
    pub skill: u8,
    /// From walking up to the first repetition of the first set, s.
    pub setup_s: f64,
    pub load_step_rule: String,
    /// Names of muscles as the table writes them; see [`Catalogue::convention`].
    pub direct_heads: Vec<String>,
    pub indirect_heads: Vec<String>,
    pub cautions: Vec<String>,
}

/// One item of a kit.
#[derive(Clone, Debug, PartialEq)]
pub struct KitItem {
    pub item: String,
    /// Equipment words of the movements it serves.
    pub provides: Vec<String>,
    /// Loads that can be set, kg; empty where the table gives none or words.
    pub loads_kg: Vec<f64>,
    pub note: String,
}

/// What stands in a gym.
#[derive(Clone, Debug, PartialEq)]
pub struct Kit {
    pub id: String,
    pub name: String,
    pub items: Vec<KitItem>,
}

impl Kit {
    /// Whether every one of `equipment` is there; the body always is.
    pub fn allows(&self, equipment: &[String]) -> bool {
        equipment.iter().all(|e| e == "body-weight" || self.items.iter().any(|i| i.provides.contains(e)))
    }
}

/// Plausible load of a movement.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadBand {
    pub movement: String,
    /// Settings the band holds for.
    pub settings: Settings,
    pub low: f64,
    pub high: f64,
    pub unit: String,
    pub who: String,
    pub how: String,
}

/// A short form of coaches' sheets.
#[derive(Clone, Debug, PartialEq)]
pub struct Shorthand {
    pub written: Vec<String>,
    pub meaning: String,
    pub effect: String,
}

/// A word that must be asked about.
#[derive(Clone, Debug, PartialEq)]
pub struct AmbiguousTerm {
    pub written: String,
    /// Best guess first.
    pub candidates: Vec<String>,
    pub question: String,
}

/// Everything that can be named.
#[derive(Clone, Debug, Default)]
pub struct Catalogue {
    pub movements: Vec<NamedMovement>,
    pub settings: Vec<SettingSpec>,
    pub kits: Vec<Kit>,
    pub load_bands: Vec<LoadBand>,
    pub shorthand: Vec<Shorthand>,
    pub ambiguous: Vec<AmbiguousTerm>,
    heads_of: BTreeMap<String, Vec<String>>,
    /// Heads some movement lists (through their names or their groups').
    listed_heads: BTreeSet<String>,
    by_id: BTreeMap<String, usize>,
}

/// Heads no textbook list names; they take the convention credit of a neighbour of the same muscle or action.
const INHERITS: [(&str, &[&str]); 2] = [
    ("adductor-magnus-middle-part", &["adductor-magnus-adductor-part", "adductor-magnus-ischiocondylar-part"]),
    ("pronator-quadratus", &["pronator-teres"]),
];

impl Catalogue {
    /// Reads all tables; either a catalogue or every problem found.
    pub fn parse(text: &CatalogueText) -> Result<Catalogue, Vec<TableProblem>> {
        let mut problems = Vec::new();
        let mut c = Catalogue { settings: parse_settings(text.family_settings, &mut problems), ..Default::default() };
        c.parse_movements(text.movements, &mut problems);
        c.parse_head_groups(text.head_groups, &mut problems);
        c.kits = parse_kits(text.kits, &mut problems);
        c.parse_load_bands(text.load_bands, &mut problems);
        for row in rows("sheet_shorthand.csv", text.sheet_shorthand, &mut problems) {
            let (Some(w), Some(m), Some(e)) =
                (row.get("written", &mut problems), row.get("meaning", &mut problems), row.get(EFFECT, &mut problems))
            else {
                continue;
            };
            c.shorthand.push(Shorthand { written: list(w, ','), meaning: m.into(), effect: e.into() });
        }
        c.parse_ambiguous(text.ambiguous_terms, &mut problems);
        if problems.is_empty() { Ok(c) } else { Err(problems) }
    }

    pub fn movement(&self, id: &str) -> Option<&NamedMovement> {
        self.by_id.get(id).map(|&i| &self.movements[i])
    }

    pub fn kit(&self, id: &str) -> Option<&Kit> {
        self.kits.iter().find(|k| k.id == id)
    }

    /// Settings of a family, its own before those every family has; an own row hides the general one of its key.
    pub fn settings_for(&self, family: &str) -> Vec<&SettingSpec> {
        let own: Vec<&SettingSpec> = self.settings.iter().filter(|s| s.family == family).collect();
        let hidden: BTreeSet<&str> = own.iter().map(|s| s.key.as_str()).collect();
        let general = self.settings.iter().filter(|s| s.family == ANY && !hidden.contains(s.key.as_str()));
        own.iter().copied().chain(general).collect()
    }

    pub fn setting(&self, family: &str, key: &str) -> Option<&SettingSpec> {
        let of = |f: &str| self.settings.iter().find(|s| s.family == f && s.key == key);
        of(family).or_else(|| of(ANY))
    }

    /// A setting written as text, checked for a family.
    pub fn check_setting(&self, family: &str, key: &str, value: &str) -> Result<SettingValue, SettingProblem> {
        let spec = self.setting(family, key.trim()).ok_or_else(|| SettingProblem::NoKey {
            family: family.to_string(),
            got: key.trim().to_string(),
            nearest: nearest_words(key.trim(), self.settings_for(family).iter().map(|s| s.key.as_str()), 3),
        })?;
        spec.check(value)
    }

    /// `back-squat{depth_knee_deg=120,stance_x=1.5}` or a bare id; every problem at once.
    pub fn one_word(&self, text: &str) -> Result<(String, Settings), Vec<SettingProblem>> {
        let not_one_word = || vec![SettingProblem::NotOneWord { got: text.trim().to_string() }];
        let (id, inner) = match text.trim().split_once('{') {
            None => (text.trim(), ""),
            Some((id, rest)) => (id.trim(), rest.strip_suffix('}').ok_or_else(not_one_word)?),
        };
        let Some(movement) = self.movement(id) else {
            let nearest = nearest_words(id, self.movements.iter().map(|m| m.id.as_str()), 5);
            return Err(vec![SettingProblem::NoMovement { got: id.to_string(), nearest }]);
        };
        let (mut settings, mut problems) = (Settings::new(), Vec::new());
        for pair in inner.split([',', ';']).filter(|p| !p.trim().is_empty()) {
            let Some((key, value)) = pair.split_once('=') else {
                problems.push(SettingProblem::NotOneWord { got: pair.trim().to_string() });
                continue;
            };
            match self.check_setting(&movement.family, key, value) {
                Ok(v) => drop(settings.insert(key.trim().to_string(), v)),
                Err(e) => problems.push(e),
            }
        }
        if problems.is_empty() { Ok((id.to_string(), settings)) } else { Err(problems) }
    }

    /// Heads and their credit by the counting convention: direct 1, indirect ½; heads not listed are left out.
    /// Lumped names and groups open to their heads; a head no list names takes its neighbour's credit.
    /// In order of first mention. `None` for an unknown movement.
    pub fn convention(&self, id: &str) -> Option<Vec<(String, f64)>> {
        let m = self.movement(id)?;
        let mut credit: Vec<(String, f64)> = Vec::new();
        let raise = |head: &str, value: f64, credit: &mut Vec<(String, f64)>| match credit
            .iter_mut()
            .find(|(h, _)| h == head)
        {
            Some((_, v)) => *v = v.max(value),
            None => credit.push((head.to_string(), value)),
        };
        for (names, value) in [(&m.direct_heads, 1.0), (&m.indirect_heads, 0.5)] {
            for head in names.iter().flat_map(|n| self.heads(n)) {
                raise(&head, value, &mut credit);
            }
        }
        for (head, neighbours) in INHERITS.iter().filter(|(h, _)| !self.listed_heads.contains(*h)) {
            let of = |n: &&str| credit.iter().find(|(h, _)| h == n).map(|(_, v)| *v);
            if let Some(value) = neighbours.iter().filter_map(of).reduce(f64::max) {
                raise(head, value, &mut credit);
            }
        }
        Some(credit)
    }

    /// Heads a muscle's or group's name stands for; the name itself where the table has no row.
    pub fn heads(&self, name: &str) -> Vec<String> {
        self.heads_of.get(name).cloned().unwrap_or_else(|| vec![name.to_string()])
    }

    fn parse_movements(&mut self, text: &str, problems: &mut Vec<TableProblem>) {
        for row in rows("movements.csv", text, problems) {
            let mut g = |column| row.get(column, problems).map(str::to_string);
            let (Some(id), Some(name), Some(family)) = (g("id"), g("name"), g("family")) else { continue };
            let [settings, equipment, sides, aliases, unsure] =
                ["settings", "equipment", "sides", "aliases", "ambiguous_aliases"].map(|c| g(c).unwrap_or_default());
            let [step, direct, indirect, cautions] =
                ["load_step_rule", "direct_heads", "indirect_heads", "cautions"].map(|c| g(c).unwrap_or_default());
            let skill = row.number("skill", problems).unwrap_or(1.0) as u8;
            let setup_s = row.number("setup_s", problems).unwrap_or(0.0);
            let sides = match sides.as_str() {
                "bilateral" => Sides::Bilateral,
                "unilateral" => Sides::Unilateral,
                "alternating" => Sides::Alternating,
                _ => {
                    let options = ["bilateral", "unilateral", "alternating"].map(String::from).to_vec();
                    row.fault(RowProblem::NotAnOption { column: "sides", got: sides, options }, problems);
                    Sides::Bilateral
                }
            };
            let mut own = Settings::new();
            for pair in list(&settings, ';') {
                match pair.split_once('=') {
                    None => row.fault(RowProblem::NotAPair { got: pair }, problems),
                    Some((key, value)) => match self.check_setting(&family, key, value) {
                        Ok(v) => drop(own.insert(key.trim().to_string(), v)),
                        Err(e) => row.fault(e.into(), problems),
                    },
                }
            }
            if self.by_id.insert(id.clone(), self.movements.len()).is_some() {
                row.fault(RowProblem::Twice(id.clone()), problems);
            }
            self.movements.push(NamedMovement {
                id,
                name,
                family,
                settings: own,
                equipment: list(&equipment, '+'),
                sides,
                aliases: list(&aliases, ';'),
                ambiguous_aliases: list(&unsure, ';'),
                skill,
                setup_s,
                load_step_rule: step,
                direct_heads: list(&direct, ';'),
                indirect_heads: list(&indirect, ';'),
                cautions: list(&cautions, ';'),
            });
        }
    }

    fn parse_head_groups(&mut self, text: &str, problems: &mut Vec<TableProblem>) {
        for row in rows("head_groups.csv", text, problems) {
            let (name, kind) = (row.get("name", problems), row.get("kind", problems));
            let (Some(name), Some(kind), Some(heads)) = (name, kind, row.get("heads", problems)) else { continue };
            if kind != "coach group" {
                self.heads_of.insert(name.to_string(), list(heads, ';'));
            }
        }
        let names = self.movements.iter().flat_map(|m| m.direct_heads.iter().chain(&m.indirect_heads));
        self.listed_heads = names.flat_map(|n| self.heads(n)).collect();
    }

    fn parse_load_bands(&mut self, text: &str, problems: &mut Vec<TableProblem>) {
        for row in rows("load_bands.csv", text, problems) {
            let Some(word) = row.get("movement", problems) else { continue };
            let (low, high) = (row.number("low", problems), row.number("high", problems));
            let [unit, who, how] = ["unit", "for", "how"].map(|c| row.get(c, problems).unwrap_or("").to_string());
            match self.one_word(word) {
                Ok((movement, settings)) => self.load_bands.push(LoadBand {
                    movement,
                    settings,
                    low: low.unwrap_or(0.0),
                    high: high.unwrap_or(0.0),
                    unit,
                    who,
                    how,
                }),
                Err(all) => all.into_iter().for_each(|e| row.fault(e.into(), problems)),
            }
        }
    }

    fn parse_ambiguous(&mut self, text: &str, problems: &mut Vec<TableProblem>) {
        for row in rows("ambiguous_terms.csv", text, problems) {
            let mut g = |column| row.get(column, problems).map(str::to_string);
            let (Some(written), Some(ids), Some(question)) =
                (g("written_term"), g("candidate_movements"), g("question_to_ask"))
            else {
                continue;
            };
            let candidates = list(&ids, ' ');
            for id in candidates.iter().filter(|id| !self.by_id.contains_key(*id)) {
                let nearest = nearest_words(id, self.by_id.keys().map(String::as_str), 3);
                row.fault(RowProblem::NoMovement { got: id.clone(), nearest }, problems);
            }
            self.ambiguous.push(AmbiguousTerm { written, candidates, question });
        }
    }
}

const ANY: &str = "(any)";
const EFFECT: &str = "effect_on_movement_or_log";

fn parse_settings(text: &str, problems: &mut Vec<TableProblem>) -> Vec<SettingSpec> {
    let mut specs: Vec<SettingSpec> = Vec::new();
    for row in rows("family_settings.csv", text, problems) {
        let mut g = |column| row.get(column, problems).map(str::to_string);
        let (Some(family), Some(key), Some(kind)) = (g("family"), g("setting"), g("kind")) else { continue };
        let [unit, options, default, how] = ["unit", "options", "default", "how"].map(|c| g(c).unwrap_or_default());
        let kind = match kind.as_str() {
            "number" => SettingKind::Number {
                unit,
                min: row.number("min", problems).unwrap_or(f64::NEG_INFINITY),
                max: row.number("max", problems).unwrap_or(f64::INFINITY),
            },
            "choice" => SettingKind::Choice { options: list(&options, '|') },
            _ => {
                let options = ["number", "choice"].map(String::from).to_vec();
                row.fault(RowProblem::NotAnOption { column: "kind", got: kind, options }, problems);
                continue;
            }
        };
        if specs.iter().any(|s| s.family == family && s.key == key) {
            row.fault(RowProblem::Twice(format!("{family} {key}")), problems);
        }
        let mut spec = SettingSpec { family, key, kind, default: None, how };
        if !default.is_empty() {
            match spec.check(&default) {
                Ok(v) => spec.default = Some(v),
                Err(e) => row.fault(e.into(), problems),
            }
        }
        specs.push(spec);
    }
    specs
}

fn parse_kits(text: &str, problems: &mut Vec<TableProblem>) -> Vec<Kit> {
    let mut kits: Vec<Kit> = Vec::new();
    for row in rows("kits.csv", text, problems) {
        let mut g = |column| row.get(column, problems).map(str::to_string);
        let (Some(id), Some(name), Some(item)) = (g("kit"), g("kit_name"), g("item")) else { continue };
        let [provides, loads, note] = ["provides", "real_loads", "note"].map(|c| g(c).unwrap_or_default());
        // "light medium heavy" and "100 200 N/m" are no loads in kg.
        let numbers: Option<Vec<f64>> = loads.split_whitespace().map(|w| w.parse().ok()).collect();
        let item = KitItem { item, provides: list(&provides, ';'), loads_kg: numbers.unwrap_or_default(), note };
        match kits.iter_mut().find(|k| k.id == id) {
            Some(k) => k.items.push(item),
            None => kits.push(Kit { id, name, items: vec![item] }),
        }
    }
    kits
}

fn list(text: &str, separator: char) -> Vec<String> {
    text.split(separator).map(str::trim).filter(|s| !s.is_empty()).map(String::from).collect()
}

/// A row with its line; cells by column name.
struct Row {
    table: &'static str,
    line: u64,
    cells: BTreeMap<String, String>,
}

impl Row {
    fn fault(&self, problem: RowProblem, problems: &mut Vec<TableProblem>) {
        problems.push(TableProblem { table: self.table, line: self.line, problem });
    }

    fn get(&self, column: &'static str, problems: &mut Vec<TableProblem>) -> Option<&str> {
        let cell = self.cells.get(column).map(String::as_str);
        if cell.is_none() {
            self.fault(RowProblem::NoColumn(column), problems);
        }
        cell
    }

    /// `None` when empty or not a number; the latter is reported.
    fn number(&self, column: &'static str, problems: &mut Vec<TableProblem>) -> Option<f64> {
        let got = self.get(column, problems)?.trim().to_string();
        let number = got.parse().ok().filter(|v: &f64| v.is_finite());
        if number.is_none() && !got.is_empty() {
            self.fault(RowProblem::NotANumber { column, got }, problems);
        }
        number
    }
}

fn rows(table: &'static str, text: &str, problems: &mut Vec<TableProblem>) -> Vec<Row> {
    let mut reader = csv::ReaderBuilder::new().from_reader(text.as_bytes());
    let fault = |line, e: csv::Error| TableProblem { table, line, problem: RowProblem::Csv(e.to_string()) };
    let headers = match reader.headers() {
        Ok(h) => h.clone(),
        Err(e) => {
            problems.push(fault(1, e));
            return Vec::new();
        }
    };
    let mut out = Vec::new();
    for record in reader.records() {
        match record {
            Ok(r) => {
                let line = r.position().map_or(0, csv::Position::line);
                let cells = headers.iter().zip(r.iter()).map(|(h, c)| (h.to_string(), c.to_string())).collect();
                out.push(Row { table, line, cells });
            }
            Err(e) => {
                let line = e.position().map_or(0, csv::Position::line);
                problems.push(fault(line, e));
            }
        }
    }
    out
}
