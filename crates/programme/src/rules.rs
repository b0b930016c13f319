//! Rules as data: constants, bands, safety rows, words. In: the texts of `data/programme/*.csv`; out: [`Rules`].

use crate::{Problem, nearest};
use answer::Band;

/// The texts of the files in `data/programme`, handed in by the loader at the edge.
#[derive(Clone, Copy, Debug)]
pub struct RuleTexts<'a> {
    /// `constants.csv`
    pub constants: &'a str,
    /// `bands.csv`
    pub bands: &'a str,
    /// `load_reps.csv`
    pub load_reps: &'a str,
    /// `groups.csv`
    pub groups: &'a str,
    /// `safety.csv`
    pub safety: &'a str,
    /// `restrictions.csv`
    pub restrictions: &'a str,
    /// `pain_places.csv`
    pub pain_places: &'a str,
    /// `head_actions.csv`
    pub head_actions: &'a str,
    /// `axis_words.csv`
    pub axis_words: &'a str,
}

macro_rules! constants {
    ($($name:ident),* $(,)?) => {
        /// Numbers of `constants.csv`; unit, meaning and source of each stand in the file.
        #[derive(Clone, Debug, Default, PartialEq)]
        pub struct Constants { $(#[allow(missing_docs)] pub $name: f64,)* }
        impl Constants {
            const NAMES: &[&str] = &[$(stringify!($name)),*];
            fn slot(&mut self, name: &str) -> Option<&mut f64> {
                match name { $(stringify!($name) => Some(&mut self.$name),)* _ => None }
            }
        }
    };
}

constants!(
    full_to_rir,
    rir_4_value,
    rir_5_value,
    light_pct,
    light_reps,
    light_value,
    few_reps,
    session_cap,
    beyond_cap_value,
    session_floor,
    rest_multi_low_s,
    rest_multi_high_s,
    rest_single_low_s,
    rest_single_high_s,
    further_set_s,
    carry_speed_m_s,
    reps_low_default,
    reps_high_default,
    long_share_wanted,
    order_note_sets,
    strong_credit,
    beginner_years,
    older_years,
    past_factor,
    past_half_width,
    past_floor,
    deficit_low,
    deficit_high,
    pain_watch_from,
    pain_change_above,
    new_sets,
    most_sets_row,
    new_rir,
    clearance_months,
    weight_focus,
    weight_grow,
    weight_keep,
    excess_cost,
    cost_setting,
    cost_swap,
    cost_move,
    cost_add,
    cost_minute,
    cost_fewer,
    cost_shift,
    cost_pair,
    cost_over_minute,
    watched_set,
    youth_sets,
    cost_new,
    long_cost,
    useful_credit,
    main_share,
    replaces_share,
    long_hold_s,
    near_failure_rir,
);

/// What a client wants of a coach group or head.
#[derive(
    Clone,
    Copy,
    Debug,
    Default,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    serde::Serialize,
    serde::Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Aim {
    /// Counted and shown, never a gap.
    Leave,
    /// Keep the size.
    Keep,
    /// Grow at the most efficient dose.
    #[default]
    Grow,
    /// Grow with priority.
    Focus,
}

impl Aim {
    pub const WORDS: [&str; 4] = ["leave", "keep", "grow", "focus"];
    pub fn word(self) -> &'static str {
        Aim::WORDS[self as usize]
    }
    pub fn parse(word: &str) -> Option<Aim> {
        match word.trim().to_lowercase().as_str() {
            "leave" => Some(Aim::Leave),
            "keep" => Some(Aim::Keep),
            "grow" => Some(Aim::Grow),
            "focus" => Some(Aim::Focus),
            _ => None,
        }
    }
}

/// A row of `safety.csv`.
#[derive(Clone, Debug, PartialEq)]
pub struct SafetyRow {
    pub id: String,
    /// `gate`, `condition`, `medicine`, `state`, `word`.
    pub kind: String,
    pub words: Vec<String>,
    /// `stop`, `clearance`, `refer`, `caution`; empty = go.
    pub level: String,
    pub text: String,
    pub who_lifts: String,
    pub stop_signs: Vec<String>,
    /// Tags of `restrictions.csv`, or `hold-all`, `hold-volume`, `no-more-sets`, `no-failure`.
    pub restrict: Vec<String>,
    pub source: String,
    pub how: String,
}

/// What a restriction looks at in a movement.
#[derive(Clone, Debug, PartialEq)]
pub enum Match {
    /// The movement loads this axis.
    Axis(String),
    /// A caution of the movement has this word.
    Word(String),
    /// Name or id has this word.
    Name(String),
    /// A setting is below a number.
    Below(String, f64),
    /// A head whose id starts so is credited.
    Head(String),
    /// Some head works at long length.
    Long,
}

/// What a restriction does to a movement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effect {
    /// Not proposed; in a plan, swapped where another does its work.
    LeaveOut,
    /// Not proposed where it is not yet in the plan.
    NotNew,
    Caution,
}

/// A row of `restrictions.csv`.
#[derive(Clone, Debug, PartialEq)]
pub struct Restriction {
    pub tag: String,
    pub effect: Effect,
    pub matches: Vec<Match>,
    pub text: String,
}

/// A coach group with its aim unless the client says otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct GroupRule {
    pub group: String,
    pub aim: Aim,
    /// Other words a coach writes for it.
    pub words: Vec<String>,
}

/// Words of a dotted axis.
#[derive(Clone, Debug, PartialEq)]
pub struct AxisWords {
    pub axis: String,
    pub words: String,
    pub opposite: String,
}

/// A row of `bands.csv`.
#[derive(Clone, Debug, PartialEq)]
pub struct BandRow {
    pub aim: Aim,
    pub who: String,
    pub band: Band,
    pub source: String,
    /// How the numbers are known.
    pub how: String,
}

/// All rules of a week.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rules {
    pub constants: Constants,
    pub bands: Vec<BandRow>,
    /// (% of 1RM, repetitions to failure), falling in load.
    pub load_reps: Vec<(f64, f64)>,
    pub groups: Vec<GroupRule>,
    pub safety: Vec<SafetyRow>,
    pub restrictions: Vec<Restriction>,
    /// (joint id, word), longest word first.
    pub pain_places: Vec<(String, String)>,
    /// (head, dotted actions).
    pub head_actions: Vec<(String, Vec<String>)>,
    pub axis_words: Vec<AxisWords>,
}

impl Rules {
    /// All files, all problems at once.
    pub fn parse(texts: &RuleTexts) -> Result<Rules, Vec<Problem>> {
        let mut bad = Vec::new();
        let mut rules = Rules::default();
        rules.read_constants(texts.constants, &mut bad);
        rules.read_numbers(texts, &mut bad);
        rules.read_safety(texts, &mut bad);
        rules.check_tags(&mut bad);
        for row in rows("groups.csv", texts.groups, &["group", "aim_unless_said", "words"], &mut bad) {
            match Aim::parse(&row.cells[1]) {
                Some(aim) => {
                    rules.groups.push(GroupRule { group: row.cells[0].clone(), aim, words: list(&row.cells[2]) })
                }
                None => {
                    bad.push(row.problem(format!("no aim called \"{}\"", row.cells[1]), "leave, keep, grow, focus"))
                }
            }
        }
        for row in rows("pain_places.csv", texts.pain_places, &["joint", "words"], &mut bad) {
            rules.pain_places.extend(list(&row.cells[1]).into_iter().map(|w| (row.cells[0].clone(), w)));
        }
        rules.pain_places.sort_by_key(|(_, word)| std::cmp::Reverse(word.len()));
        for row in rows("axis_words.csv", texts.axis_words, &["axis", "words", "opposite"], &mut bad) {
            let [axis, words, opposite] = [0, 1, 2].map(|i| row.cells[i].clone());
            rules.axis_words.push(AxisWords { axis, words, opposite });
        }
        for row in rows("head_actions.csv", texts.head_actions, &["head", "actions"], &mut bad) {
            let actions = list(&row.cells[1]);
            for action in actions.iter().filter(|a| !rules.axis_words.iter().any(|w| &w.axis == *a)) {
                bad.push(row.problem(format!("no words for the axis \"{action}\""), "an axis of axis_words.csv"));
            }
            rules.head_actions.push((row.cells[0].clone(), actions));
        }
        if bad.is_empty() { Ok(rules) } else { Err(bad) }
    }

    fn read_constants(&mut self, text: &str, bad: &mut Vec<Problem>) {
        let mut seen = Vec::new();
        for row in rows("constants.csv", text, &["key", "value", "source", "how"], bad) {
            let Some(value) = row.number(1, bad) else { continue };
            if row.cells[3].is_empty() || row.cells[2].is_empty() {
                bad.push(row.problem("a constant without source or how-known".into(), "both columns filled"));
            }
            match self.constants.slot(&row.cells[0]) {
                Some(slot) => *slot = value,
                None => {
                    let mut p = row.problem(format!("no constant called \"{}\"", row.cells[0]), "");
                    p.nearest = nearest(&row.cells[0], Constants::NAMES);
                    bad.push(p);
                }
            }
            seen.push(row.cells[0].clone());
        }
        for name in Constants::NAMES.iter().filter(|n| !seen.iter().any(|s| s == *n)) {
            bad.push(whole("constants.csv", format!("\"{name}\" is missing")));
        }
    }

    fn read_numbers(&mut self, texts: &RuleTexts, bad: &mut Vec<Problem>) {
        for row in rows("bands.csv", texts.bands, &["aim", "who", "low", "high", "source", "how"], bad) {
            let (Some(low), Some(high)) = (row.number(2, bad), row.number(3, bad)) else { continue };
            match Aim::parse(&row.cells[0]) {
                Some(aim) if low <= high => {
                    let [who, source, how] = [1, 4, 5].map(|i| row.cells[i].clone());
                    self.bands.push(BandRow { aim, who, band: Band { low, high }, source, how });
                }
                Some(_) => bad.push(row.problem(format!("{low} is above {high}"), "low at most high")),
                None => bad.push(row.problem(format!("no aim called \"{}\"", row.cells[0]), "keep, grow, focus")),
            }
        }
        for aim in [Aim::Keep, Aim::Grow, Aim::Focus] {
            if !self.bands.iter().any(|b| b.aim == aim && b.who == "adult") {
                bad.push(whole("bands.csv", format!("no band for {} and adult", aim.word())));
            }
        }
        for row in rows("load_reps.csv", texts.load_reps, &["load_pct_1rm", "reps"], bad) {
            if let (Some(pct), Some(reps)) = (row.number(0, bad), row.number(1, bad)) {
                if self.load_reps.last().is_some_and(|&(p, r)| pct >= p || reps <= r) {
                    bad.push(row.problem("load must fall and repetitions rise from row to row".into(), ""));
                }
                self.load_reps.push((pct, reps));
            }
        }
        if self.load_reps.len() < 2 {
            bad.push(whole("load_reps.csv", "fewer than two rows".into()));
        }
    }

    fn read_safety(&mut self, texts: &RuleTexts, bad: &mut Vec<Problem>) {
        let columns = ["id", "kind", "words", "level", "text", "who_lifts", "stop_signs", "restrict", "source", "how"];
        for row in rows("safety.csv", texts.safety, &columns, bad) {
            let cell = |i: usize| row.cells[i].clone();
            if !["", "stop", "clearance", "refer", "caution"].contains(&row.cells[3].as_str()) {
                bad.push(
                    row.problem(format!("no level called \"{}\"", row.cells[3]), "stop, clearance, refer, caution"),
                );
            }
            if !row.cells[3].is_empty() && row.cells[5].is_empty() {
                bad.push(row.problem("nobody is named who can lift it".into(), "who_lifts filled"));
            }
            self.safety.push(SafetyRow {
                id: cell(0),
                kind: cell(1),
                words: list(&row.cells[2]),
                level: cell(3),
                text: cell(4),
                who_lifts: cell(5),
                stop_signs: list(&row.cells[6]),
                restrict: list(&row.cells[7]),
                source: cell(8),
                how: cell(9),
            });
        }
        for id in SAFETY_IDS.iter().filter(|id| self.row(id).is_none()) {
            bad.push(whole("safety.csv", format!("the row \"{id}\" is missing")));
        }
        for row in rows("restrictions.csv", texts.restrictions, &["tag", "effect", "match", "text"], bad) {
            let mut matches = Vec::new();
            for part in list(&row.cells[2]) {
                match read_match(&part) {
                    Some(m) => matches.push(m),
                    None => bad.push(
                        row.problem(format!("cannot match \"{part}\""), "axis:, word:, name:, head:, setting:, long:"),
                    ),
                }
            }
            let effect = match row.cells[1].as_str() {
                "leave-out" => Effect::LeaveOut,
                "not-new" => Effect::NotNew,
                "caution" => Effect::Caution,
                other => {
                    bad.push(row.problem(format!("no effect called \"{other}\""), "leave-out, not-new, caution"));
                    continue;
                }
            };
            self.restrictions.push(Restriction {
                tag: row.cells[0].clone(),
                effect,
                matches,
                text: row.cells[3].clone(),
            });
        }
    }

    fn check_tags(&self, bad: &mut Vec<Problem>) {
        let known = |tag: &str| SAFETY_TAGS.contains(&tag) || self.restrictions.iter().any(|r| r.tag == tag);
        for row in &self.safety {
            for tag in row.restrict.iter().filter(|t| !known(t)) {
                let what = format!("row \"{}\" restricts \"{tag}\", which restrictions.csv does not know", row.id);
                bad.push(whole("safety.csv", what));
            }
        }
    }

    /// The row of a word of pain or alarm.
    pub fn row_of_word(&self, word: &str) -> Option<&SafetyRow> {
        let word = word.to_lowercase();
        self.safety.iter().filter(|r| r.kind == "word").find(|r| r.words.contains(&word))
    }
    /// A safety row by id.
    pub fn row(&self, id: &str) -> Option<&SafetyRow> {
        self.safety.iter().find(|r| r.id == id)
    }
    /// Joint id of a pain place in plain words ("left knee", "front shoulder").
    pub fn joint_of_pain(&self, place: &str) -> Option<&str> {
        let place = place.to_lowercase();
        self.pain_places.iter().find(|(_, word)| place.contains(word.as_str())).map(|(joint, _)| joint.as_str())
    }
    /// Coach group of a word: "hams" → "Hamstrings".
    pub fn group_of(&self, word: &str) -> Option<&str> {
        let word = word.trim().to_lowercase();
        self.groups.iter().find(|g| g.group.to_lowercase() == word || g.words.contains(&word)).map(|g| g.group.as_str())
    }
}

/// Tags that hold back proposals instead of movements.
const SAFETY_TAGS: [&str; 4] = ["hold-all", "hold-volume", "no-more-sets", "no-failure"];

/// Rows the code asks for by name.
const SAFETY_IDS: [&str; 20] = [
    "gate-nnn",
    "gate-nyn",
    "gate-nny",
    "gate-nyy",
    "gate-ynn",
    "gate-yyn",
    "gate-yny",
    "gate-yyy",
    "gate-open",
    "youth",
    "pregnancy",
    "postpartum",
    "over60",
    "over65",
    "deficit",
    "new-work",
    "pain-high",
    "pain-mid",
    "pain-low",
    "pain-unrated",
];

fn read_match(text: &str) -> Option<Match> {
    let (kind, what) = text.split_once(':')?;
    Some(match kind {
        "axis" => Match::Axis(what.into()),
        "word" => Match::Word(what.to_lowercase()),
        "name" => Match::Name(what.to_lowercase()),
        "head" => Match::Head(what.into()),
        "long" => Match::Long,
        "setting" => {
            let (key, limit) = what.split_once('<')?;
            Match::Below(key.into(), limit.parse().ok()?)
        }
        _ => return None,
    })
}

/// A row of one of our csv files with the wanted columns in the wanted order.
pub(crate) struct Row {
    file: &'static str,
    line: usize,
    pub(crate) cells: Vec<String>,
}

impl Row {
    pub(crate) fn problem(&self, what: String, expected: &str) -> Problem {
        Problem { line: self.line, expected: expected.into(), ..whole(self.file, what) }
    }
    pub(crate) fn number(&self, i: usize, bad: &mut Vec<Problem>) -> Option<f64> {
        let value = self.cells[i].parse::<f64>().ok().filter(|v| v.is_finite());
        if value.is_none() {
            bad.push(self.problem(format!("\"{}\" is no number", self.cells[i]), "a number"));
        }
        value
    }
}

pub(crate) fn whole(file: &str, what: String) -> Problem {
    Problem {
        file: file.into(),
        line: 0,
        column: 0,
        what,
        expected: String::new(),
        nearest: Vec::new(),
        warning: false,
    }
}

pub(crate) fn rows(file: &'static str, text: &str, columns: &[&str], bad: &mut Vec<Problem>) -> Vec<Row> {
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(text.as_bytes());
    let header = match reader.headers() {
        Ok(h) => h.clone(),
        Err(e) => {
            bad.push(whole(file, format!("cannot be read: {e}")));
            return Vec::new();
        }
    };
    let places: Vec<Option<usize>> = columns.iter().map(|c| header.iter().position(|h| h == *c)).collect();
    for (column, _) in columns.iter().zip(&places).filter(|(_, p)| p.is_none()) {
        bad.push(whole(file, format!("the column \"{column}\" is missing")));
    }
    let Some(places) = places.into_iter().collect::<Option<Vec<usize>>>() else { return Vec::new() };
    let mut out = Vec::new();
    for record in reader.records() {
        match record {
            Ok(r) => {
                let line = r.position().map_or(0, |p| p.line() as usize);
                let cells = places.iter().map(|&p| r.get(p).unwrap_or_default().to_string()).collect();
                out.push(Row { file, line, cells });
            }
            Err(e) => bad.push(whole(file, format!("cannot be read: {e}"))),
        }
    }
    out
}

fn list(cell: &str) -> Vec<String> {
    cell.split(';').map(str::trim).filter(|t| !t.is_empty()).map(String::from).collect()
}
