//! What a written week really trains.

use crate::{Credit, Range, Settings};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Answer to `audit`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Audit {
    pub schema: String,
    /// Which week of the file was judged, and how many there are.
    pub week: String,
    pub entries: Vec<Entry>,
    pub messages: Vec<Message>,
    /// Pain words and safety flags, most urgent first.
    pub flags: Vec<Flag>,
    pub client: ClientNote,
    /// Coach groups first; each group's heads follow in `heads`.
    pub groups: Vec<GroupRow>,
    pub ledger: Vec<LedgerRow>,
    pub gaps: Vec<Gap>,
    /// Minutes per day, keyed by the day's name as written.
    pub minutes: BTreeMap<String, Minutes>,
    pub proposals: Vec<Proposal>,
    /// Totals with certain rows only and with every row.
    pub totals: Totals,
    pub notes: Vec<String>,
}

/// How sure the reader is of an entry.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Status {
    /// Read as written.
    Certain,
    /// Read with an assumption that is listed.
    Assumed,
    /// Not understood: counted nowhere, shown with the nearest names.
    #[default]
    Unknown,
    /// Understood and not counted: warm-up, cardio, totals, legends, titles.
    Ignored,
}

/// One exercise cell, or one row not understood.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Entry {
    pub sheet: String,
    /// 1-based, as a spreadsheet shows it.
    pub row: u32,
    /// 1-based.
    pub col: u32,
    /// Day as written, or "Day 1".
    pub day: String,
    /// 1-based week of a block; 1 where the file holds one week.
    pub week: u32,
    /// The text as written.
    pub text: String,
    /// Movement id; `None` where no name was matched.
    pub movement: Option<String>,
    pub name: String,
    pub settings: Settings,
    /// Of the name match, 0 to 1.
    pub confidence: f64,
    pub sets_low: f64,
    pub sets_high: f64,
    pub reps_low: Option<f64>,
    pub reps_high: Option<f64>,
    /// `reps`, `s` (timed hold), `m` (distance).
    pub reps_unit: String,
    /// Repetitions in reserve; `None` when not given.
    pub rir: Option<f64>,
    /// Load as a number; percentages of 1RM have unit `%1RM`.
    pub load: Option<f64>,
    /// `kg`, `lb`, `%1RM`, `pin`, `bw` (added to body weight).
    pub unit: Option<String>,
    pub status: Status,
    pub assumptions: Vec<String>,
    /// Further facts the ledger needs.
    #[serde(default)]
    pub extra: EntryExtra,
}

/// Facts of an entry beside the JSON contract.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct EntryExtra {
    /// Lower-pause-lift-pause, s.
    pub tempo_s: Option<[f64; 4]>,
    /// Rest between sets, s.
    pub rest_s: Option<f64>,
    /// Each side separately: same sets, double the time.
    pub each_side: bool,
    /// Superset mark ("A1").
    pub pair: Option<String>,
    /// Nearest names with confidence, best first.
    pub nearest: Vec<(String, f64)>,
    /// Remarks beside the exercise, as written.
    #[serde(default)]
    pub remarks: String,
}

/// A message of the reader, placed at a cell.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Message {
    /// `note`, `question`, `warning`.
    pub level: String,
    /// "sheet!B7" or "line 12"; empty for the whole file.
    pub place: String,
    pub text: String,
}

/// A caution that stands above the ledger.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Flag {
    /// `stop`, `clearance`, `refer`, `caution`.
    pub level: String,
    /// Cell or client field it came from.
    pub place: String,
    pub text: String,
    /// Who must lift it.
    pub who_lifts: String,
    /// Signs on which to stop, shown beside advice.
    pub stop_signs: Vec<String>,
}

/// Who the week is for.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ClientNote {
    pub name: String,
    pub demo: bool,
    pub summary: String,
    /// What the file does not say and was assumed.
    pub missing: Vec<String>,
    /// Proportions with their percentile.
    pub percentiles: Vec<Percentile>,
}

/// A proportion of the client's body.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Percentile {
    pub what: String,
    pub value: f64,
    pub unit: String,
    pub percentile: f64,
    pub source: String,
}

/// Credited sets in every column.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct CreditedSets {
    pub mechanics: Range,
    pub convention: f64,
    pub trials: Option<f64>,
    pub pooled: Range,
}

/// Target band.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Band {
    pub low: f64,
    pub high: f64,
}

/// A head's row of the ledger.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LedgerRow {
    pub head: String,
    pub plain: String,
    pub group: String,
    pub credited_sets: CreditedSets,
    /// Days on which the head earns at least half a credited set.
    pub sessions: u32,
    pub long_length_share: f64,
    pub largest_session: f64,
    pub band: Band,
    /// Where the band comes from, with the class of its source.
    #[serde(default)]
    pub band_basis: String,
    /// `below`, `within`, `above`.
    pub verdict: String,
    pub marks: Vec<String>,
    /// Where the credit comes from: entry movement and credited sets, largest first.
    pub from: Vec<(String, f64)>,
}

/// A coach group's row.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct GroupRow {
    pub group: String,
    pub credited_sets: CreditedSets,
    pub band: Band,
    /// Where the band comes from, with the class of its source.
    #[serde(default)]
    pub band_basis: String,
    pub aim: String,
    pub verdict: String,
    pub heads: Vec<String>,
}

/// A head that the week leaves below its band.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Gap {
    pub head: String,
    pub plain: String,
    pub joint: String,
    /// One line with a number.
    pub reason: String,
    /// Credited sets missing to the lower end of the band.
    pub short_by: f64,
}

/// Length of a day.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Minutes {
    pub low: f64,
    pub high: f64,
    /// What the client has; `None` when not given.
    pub available: Option<f64>,
}

/// A proposed change of the week.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Proposal {
    /// The edit in one line: "Swap lying leg curl for seated leg curl on Monday".
    pub edit: String,
    pub reason: String,
    /// Credited sets (pooled mid) of the heads it changes, before and after.
    pub before: BTreeMap<String, f64>,
    pub after: BTreeMap<String, f64>,
    /// `swap`, `add`, `setting`, `move` (sets to another movement), `fewer`, `shift` (to another day), `pair`.
    pub kind: String,
    pub cautions: Vec<String>,
    /// Minutes added to the week; negative where time is saved.
    pub minutes: f64,
    /// What it costs, one line each: heads that fall, minutes, something new to learn.
    #[serde(default)]
    pub costs: Vec<String>,
    /// Signs on which to stop: those of the movement and, where it loads a joint that hurts, those of the pain.
    #[serde(default)]
    pub stop_signs: Vec<String>,
    /// Hard sets a week that load a joint, where they change.
    #[serde(default)]
    pub joint_sets: Vec<JointSets>,
    /// The same edit for a program; `entry` counts in the plan as changed by the proposals above this one.
    #[serde(default)]
    pub change: Change,
}

/// Hard sets a week that load a joint, before and after an edit.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct JointSets {
    pub joint: String,
    pub before: f64,
    pub after: f64,
    /// Sets times the largest moment of a repetition, N·m, over the week; 0 where no moment is known.
    #[serde(default)]
    pub before_nm: f64,
    #[serde(default)]
    pub after_nm: f64,
}

/// One edit of a plan, to be applied to its entries.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Change {
    /// As [`Proposal::kind`]; empty where nothing can be applied.
    pub kind: String,
    /// 0-based index into the plan's entries; `None` for a new row.
    pub entry: Option<u32>,
    /// Second row of a pair.
    pub with: Option<u32>,
    /// Where a new row comes, or one that goes to another day (counted without it).
    pub at: Option<u32>,
    /// Day and week of a new row or of a row that goes to another day.
    pub day: String,
    pub week: u32,
    /// Movement that comes in; empty where it stays.
    pub movement: String,
    pub name: String,
    pub settings: Settings,
    /// Sets added, taken away, moved, or those of the new row; 0 where they stay.
    pub sets: f64,
}

/// Set totals by certainty.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Totals {
    pub sets_certain: f64,
    pub sets_with_assumed: f64,
    pub entries_unknown: u32,
}

/// What one hard set of a movement gives every head: the currency between mechanics and programme.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct MovementCredit {
    pub movement: String,
    pub name: String,
    pub settings: Settings,
    pub heads: Vec<HeadCredit>,
    /// More than one joint moves against load.
    pub multi_joint: bool,
    pub setup_s: f64,
    /// Seconds a repetition takes at the movement's tempo.
    pub rep_s: f64,
    pub equipment: Vec<String>,
    pub limiting_joint: String,
    pub cautions: Vec<String>,
    pub stop_signs: Vec<String>,
    /// Anatomical axes that move against load in the lift, e.g. `knee.extension`.
    pub loaded_axes: Vec<String>,
    /// Largest moment at each joint over the lift at the load of a hard set, N·m; the largest of its axes.
    #[serde(default)]
    pub joint_peak_nm: BTreeMap<String, f64>,
}

/// One head's credit in a movement.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct HeadCredit {
    pub head: String,
    pub credit: Credit,
    /// Whether its best loaded frames lie above normalised length 1.
    pub long: bool,
    pub opposition: f64,
    /// Change of length by joint, mm.
    pub by_joint_mm: BTreeMap<String, f64>,
}
