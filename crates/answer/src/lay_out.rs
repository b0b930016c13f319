//! Several weeks of loads and repetitions for a plan.

use crate::{Flag, Message, Range};
use serde::{Deserialize, Serialize};

/// Answer to `lay-out`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LayOut {
    pub schema: String,
    /// Client's name.
    pub client: String,
    pub demo: bool,
    /// Most urgent first; a stop leaves no weeks.
    pub flags: Vec<Flag>,
    pub weeks: u32,
    /// Weeks that are easy, 1-based.
    pub easy: Vec<u32>,
    pub rule: ProgressRule,
    /// The other rules of the table, with what each needs.
    pub others: Vec<ProgressRule>,
    pub rows: Vec<LayOutRow>,
    pub messages: Vec<Message>,
    pub notes: Vec<String>,
}

/// A rule by which loads and repetitions move.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ProgressRule {
    pub id: String,
    pub name: String,
    pub trigger: String,
    pub action: String,
    pub needs: String,
    pub source: String,
    pub how: String,
}

/// One exercise of the plan over the weeks.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LayOutRow {
    /// Row among the plan's entries, 0-based.
    pub entry: u32,
    /// "Plan!B7".
    pub place: String,
    pub day: String,
    pub movement: String,
    pub name: String,
    /// Repetitions from and to.
    pub reps_low: f64,
    pub reps_high: f64,
    pub reps_unit: String,
    /// Where the range comes from; which ranges the load steps make impossible.
    pub range_reason: String,
    /// Next load up over this one, percent; `None` where the steps are not known.
    pub step_pct: Option<f64>,
    /// Load of one repetition, kg, as far as known.
    pub one_rep_kg: Option<Range>,
    /// What that is taken from.
    pub basis: String,
    /// Repetitions in reserve that were called and that an all-out set showed, where both are known.
    pub called_and_shown_rir: Option<(f64, f64)>,
    pub weeks: Vec<LayOutWeek>,
    pub notes: Vec<String>,
}

/// One week of an exercise.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LayOutWeek {
    /// 1-based.
    pub week: u32,
    pub sets: f64,
    /// Repetitions aimed at; the range where no load is known.
    pub reps_low: f64,
    pub reps_high: f64,
    pub rir: f64,
    /// External load, kg; `None` where it must be found first.
    pub load_kg: Option<f64>,
}
