//! The client. In: parsed fields; out: one [`Client`] whose numbers are inside sane limits.
//!
//! At the edge lengths are centimetres and masses kilograms; [`Client::tape_m`] hands metres on.

use crate::Date;
use crate::rules::Aim;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Sex for segment tables and strength.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Sex {
    Female,
    Male,
}

/// What stands where the client trains.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Kit {
    /// Id of a shipped kit.
    Id(String),
    /// Equipment words.
    Items(Vec<String>),
}

/// A pain the client reports. Never a diagnosis, never ranked against another.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Pain {
    /// In the client's words: "left knee".
    pub place: String,
    /// 0 to 10; `None` when not asked.
    pub score: Option<f64>,
    /// As written: "2026-01", "two weeks".
    pub since: Option<String>,
    /// Movement it comes with.
    pub movement: Option<String>,
    /// Where in the movement, in plain words: "bottom of the bench press", "arm overhead".
    pub posture: Option<String>,
}

/// A set that was done, from which repetitions at other loads are worked out.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct DoneSet {
    /// Movement id or name.
    pub movement: String,
    /// External load, kg; of one dumb-bell where two are held.
    pub load_kg: f64,
    pub reps: f64,
    /// Repetitions in reserve as the client called it; `None` when not asked.
    pub rir: Option<f64>,
    /// Taken to failure: reserve is zero and known.
    pub to_failure: bool,
    pub date: Option<Date>,
}

/// The three screening answers and their date.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Screening {
    /// Planned moderate activity, 30 min, 3 days a week, for the last 3 months.
    pub exercises_regularly: Option<bool>,
    /// Known cardiovascular, metabolic or renal disease.
    pub known_disease: Option<bool>,
    /// Signs or symptoms of the heart list.
    pub symptoms: Option<bool>,
    /// When the answers were given.
    pub date: Option<Date>,
}

/// Who the week is for. Every field but `name` may be missing; what is missing is listed, never invented.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default)]
pub struct Client {
    pub name: String,
    /// Invented person shipped as an example.
    pub demo: bool,
    pub sex: Option<Sex>,
    /// Height, cm.
    pub stature_cm: Option<f64>,
    /// Body mass, kg.
    pub mass_kg: Option<f64>,
    pub birth_year: Option<i32>,
    /// Age, years; goes before `birth_year`.
    pub age_years: Option<f64>,
    pub training_years: Option<f64>,
    /// Tape measures by name (`thigh`, `shank`, `trunk`, `upper_arm`, `forearm`, `span`, `biacromial`, …), cm.
    pub tape_cm: Vec<(String, f64)>,
    pub kit: Option<Kit>,
    /// Loads that can really be set, kg ascending, by equipment word; go before those of the kit.
    pub loads_kg: Vec<(String, Vec<f64>)>,
    /// Lowest and highest place of the pulley, cm above the floor.
    pub pulley_cm: Option<(f64, f64)>,
    /// Day names as the plan writes them.
    pub days: Vec<String>,
    /// Training days a week, when the names are open.
    pub days_per_week: Option<f64>,
    /// Minutes a day has.
    pub minutes: Option<f64>,
    /// Minutes of single days, by day name.
    pub minutes_by_day: Vec<(String, f64)>,
    /// Aim by coach group or head; `rest` for all others.
    pub aims: Vec<(String, Aim)>,
    /// Own average of credited sets a week, by coach group or head.
    pub past_sets: Vec<(String, f64)>,
    /// Bands of credited sets the coach sets, by coach group or head; go before all others.
    pub bands: Vec<(String, answer::Band)>,
    /// Movement ids or names that stay as they are.
    pub keep: Vec<String>,
    /// Movement ids or names that are never brought in.
    pub dislikes: Vec<String>,
    /// Sets done lately, for loads.
    pub done_sets: Vec<DoneSet>,
    /// Eating less than is spent.
    pub energy_deficit: bool,
    /// By how much, kcal a day, where it is known.
    pub deficit_kcal_day: Option<f64>,
    /// Movement ids or names in their first two weeks.
    pub new_movements: Vec<String>,
    /// First two weeks back after a break.
    pub returning: bool,
    pub pains: Vec<Pain>,
    /// In plain words: "osteoporosis", "hypertension".
    pub conditions: Vec<String>,
    pub medicines: Vec<String>,
    pub screening: Screening,
    pub pregnancy_weeks: Option<f64>,
    /// Weeks since a birth, when under a year.
    pub postpartum_weeks: Option<f64>,
    /// Clearances given: what (`screening`, `pregnancy`, `osteoporosis`, …) and when.
    pub clearances: Vec<(String, Date)>,
    pub notes: String,
}

impl Client {
    /// Age in whole or given years.
    pub fn age(&self, today: Date) -> Option<f64> {
        self.age_years.or_else(|| self.birth_year.map(|y| f64::from(today.year - y)))
    }
    /// Tape measures with the unit in the name, m.
    pub fn tape_m(&self) -> Vec<(String, f64)> {
        self.tape_cm.iter().map(|(name, cm)| (format!("{name}_m"), cm / 100.0)).collect()
    }
    /// Minutes available on a day as the plan names it.
    pub fn minutes_on(&self, day: &str) -> Option<f64> {
        let own = self.minutes_by_day.iter().find(|(d, _)| same_day(d, day)).map(|(_, m)| *m);
        own.or(self.minutes)
    }
    /// Whether a movement stays as it is.
    pub fn keeps(&self, movement: &str, name: &str) -> bool {
        named(&self.keep, movement, name)
    }
    /// Whether a movement is never brought in.
    pub fn dislikes(&self, movement: &str, name: &str) -> bool {
        named(&self.dislikes, movement, name)
    }
    /// When a clearance of this name was given.
    pub fn cleared(&self, what: &str) -> Option<Date> {
        self.clearances.iter().find(|(w, _)| w.eq_ignore_ascii_case(what)).map(|(_, d)| *d)
    }
    /// Whether a movement is in its first two weeks for this client.
    pub fn is_new(&self, movement: &str, name: &str) -> bool {
        self.returning || named(&self.new_movements, movement, name)
    }
    /// One line: "woman, 34, 172 cm, 70 kg; trains 4 years; 3 days of 60 min; focus Hamstrings".
    pub fn summary(&self, today: Date) -> String {
        let mut who = Vec::new();
        who.extend(self.sex.map(|s| if s == Sex::Female { "woman".to_string() } else { "man".to_string() }));
        who.extend(self.age(today).map(|a| format!("{a:.0} years")));
        who.extend(self.stature_cm.map(|v| format!("{v:.0} cm")));
        who.extend(self.mass_kg.map(|v| format!("{v:.0} kg")));
        let mut parts: Vec<String> = Vec::new();
        if !who.is_empty() {
            parts.push(who.join(", "));
        }
        parts.extend(self.training_years.map(|v| format!("training for {v} years")));
        let days = if self.days.is_empty() { self.days_per_week } else { Some(self.days.len() as f64) };
        match (days, self.minutes) {
            (Some(d), Some(m)) => parts.push(format!("{d:.0} {} of {m:.0} min", if d == 1.0 { "day" } else { "days" })),
            (Some(d), None) => parts.push(format!("{d:.0} {}", if d == 1.0 { "day" } else { "days" })),
            (None, Some(m)) => parts.push(format!("{m:.0} min a day")),
            (None, None) => {}
        }
        for aim in [Aim::Focus, Aim::Grow, Aim::Keep] {
            let word = |g: &String| if g.eq_ignore_ascii_case("rest") { "all else".to_string() } else { g.clone() };
            let wanted: Vec<String> = self.aims.iter().filter(|(_, a)| *a == aim).map(|(g, _)| word(g)).collect();
            if !wanted.is_empty() {
                parts.push(format!("{} {}", aim.word(), wanted.join(", ")));
            }
        }
        parts.join("; ")
    }
    /// What the file does not say and what is assumed instead.
    pub fn missing(&self) -> Vec<String> {
        let mut out = Vec::new();
        let mut ask = |absent: bool, text: &str| {
            if absent {
                out.push(text.to_string());
            }
        };
        ask(self.sex.is_none(), "sex: the average man is assumed");
        ask(self.stature_cm.is_none(), "height: 175 cm assumed");
        ask(self.mass_kg.is_none(), "body mass: 75 kg assumed");
        ask(self.age_years.is_none() && self.birth_year.is_none(), "age: taken as an adult under 60");
        ask(self.training_years.is_none(), "years of training: bands of trained adults used");
        ask(self.kit.is_none(), "kit: every movement is open to proposals");
        ask(self.minutes.is_none() && self.minutes_by_day.is_empty(), "minutes per day: proposals have no time limit");
        ask(self.aims.is_empty(), "priorities: the usual aims of each group are used");
        ask(self.past_sets.is_empty(), "past sets: bands come from trials, not from the own past");
        let s = &self.screening;
        ask(s.exercises_regularly.is_none(), "screening: exercises regularly?");
        ask(s.known_disease.is_none(), "screening: known heart, metabolic or kidney disease?");
        ask(s.symptoms.is_none(), "screening: signs or symptoms?");
        ask(s.date.is_none(), "screening: date of the answers");
        out
    }
}

/// Whether a movement is among these ids or names.
fn named(list: &[String], movement: &str, name: &str) -> bool {
    list.iter().any(|n| n.eq_ignore_ascii_case(movement) || n.eq_ignore_ascii_case(name))
}

/// "Monday" is "Mon", "monday" and "Monday (legs)".
pub(crate) fn same_day(a: &str, b: &str) -> bool {
    let (a, b) = (a.trim().to_lowercase(), b.trim().to_lowercase());
    if a.is_empty() || b.is_empty() {
        return false;
    }
    const WEEK: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
    let weekday = |t: &str| WEEK.iter().position(|d| t.starts_with(d));
    match (weekday(&a), weekday(&b)) {
        (Some(x), Some(y)) => x == y,
        _ => a == b,
    }
}

/// The commented file of `new client`. Lines that start with `#: ` are fields to uncomment.
pub fn client_template() -> String {
    TEMPLATE.to_string()
}

const TEMPLATE: &str = r##"# A client. Only the name is needed; what is missing is listed in the answer, never invented.
# Lines that start with "#: " are examples: take the "#: " away and put in your own.
name = "New client"

#: sex = "female"              # female or male
#: stature_cm = 168
#: mass_kg = 64.5
#: birth_year = 1990           # or: age_years = 35
#: training_years = 3          # under 1 counts as a beginner

# Where, when, how long.
#: kit = "home-db-24"          # a kit id, or a list: ["dumb-bell", "bench", "cable"]
#: days = ["Monday", "Thursday"]   # or a number: days = 2
#: minutes = 45                # a day; single days under [minutes_by_day]
#: pulley_cm = [15, 205]       # lowest and highest place of an adjustable pulley
#: keep = ["back-squat"]       # movements that stay as they are
#: dislikes = ["Burpee"]       # movements that are never brought in

# What the food does, what is new.
#: energy_deficit = false      # true, or the kcal a day: 500
#: returning = false           # first two weeks back after a break
#: new_movements = ["seated-leg-curl"]   # in their first two weeks

# Health. Words, not diagnoses; a coach asks and refers.
#: conditions = ["hypertension"]
#: medicines = ["statin"]
#: pregnancy_weeks = 20
#: postpartum_weeks = 12
#: notes = "prefers mornings"

# Three questions and the date of the answers.
#: [screening]
#: exercises_regularly = true  # 30 min on 3 days a week for the last 3 months
#: known_disease = false       # heart, metabolic (diabetes) or kidney
#: symptoms = false            # chest pain, fainting, breathless at rest, palpitations, swollen ankles
#: date = "2026-01-15"

# Clearances given: what and when.
#: [clearances]
#: hypertension = "2026-01-20"

# Tape measures, cm, between landmarks.
#: [tape_cm]
#: thigh = 41.0
#: shank = 40.5
#: trunk = 52.0
#: upper_arm = 31.0
#: forearm = 24.5
#: span = 170.0
#: biacromial = 36.5

#: [minutes_by_day]
#: Thursday = 30

# Aims by coach group or head: focus, grow, keep, leave. "rest" is for all others that are usually trained; hip flexors,
# shins, cuff, forearms and neck are left alone unless they are named.
#: [aims]
#: Hamstrings = "focus"
#: Chest = "keep"
#: rest = "grow"

# Own average of credited sets a week, where it is known.
#: [past_sets]
#: Hamstrings = 8

# Bands of credited sets a week that the coach sets; without them they come from trials, age, past and food.
#: [bands]
#: Hamstrings = [8, 12]

# Loads that can really be set, kg: a list, or "FIRST to LAST by STEP". They go before those of the kit.
#: [loads_kg]
#: dumb-bell = "2 to 30 by 2"
#: cable = "2.5 to 70 by 2.5"

# Sets done lately, so that loads and repetitions of other weeks can be worked out; to_failure = true counts most.
#: [[done_sets]]
#: movement = "dumbbell-row"
#: load_kg = 26
#: reps = 10
#: rir = 2
#: date = "2026-01-20"

# One block per pain: place in plain words, 0 to 10, since when.
#: [[pains]]
#: place = "left knee"
#: score = 3
#: since = "2026-01"
#: movement = "back-squat"
#: posture = "bottom, knee well bent"
"##;
