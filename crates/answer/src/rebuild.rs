//! The best week inside a client's limits, with what proves it; and what moves when something about the client changes.

use crate::{Audit, Band, Flag, Minutes, Settings};
use serde::{Deserialize, Serialize};

/// Answer to `rebuild`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Rebuild {
    pub schema: String,
    /// The answer in one sentence.
    pub finding: String,
    /// Cautions of the client, most urgent first.
    pub flags: Vec<Flag>,
    /// The rebuilt week; empty where wishes clash.
    pub days: Vec<RebuiltDay>,
    /// What differs from the present week, one line each.
    pub changes: Vec<String>,
    /// Heads with a band or a change of half a credited set, as the ledger orders them.
    pub heads: Vec<HeadMove>,
    /// What stays below its band and why.
    pub open: Vec<String>,
    pub proof: Proven,
    /// Wishes that no week fulfils together.
    pub clash: Option<Clash>,
    /// The whole audit of the present week; `None` without a plan.
    pub before: Option<Audit>,
    /// The whole audit of the rebuilt week; `None` where wishes clash.
    pub after: Option<Audit>,
    pub notes: Vec<String>,
}

/// A day of a rebuilt week.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RebuiltDay {
    pub day: String,
    pub minutes: Minutes,
    pub lines: Vec<RebuiltLine>,
}

/// An exercise of a rebuilt day.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RebuiltLine {
    pub movement: String,
    pub name: String,
    pub settings: Settings,
    pub sets: u32,
    /// Sets it had on this day; 0 where it was not there.
    pub was: u32,
    /// The present week has no such movement.
    pub new: bool,
    pub reps_low: Option<f64>,
    pub reps_high: Option<f64>,
    /// `reps`, `s`, `m`.
    pub reps_unit: String,
    pub rir: Option<f64>,
    pub rest_s: Option<f64>,
    pub each_side: bool,
    /// What to look out for; signs on which to stop.
    pub cautions: Vec<String>,
}

/// A head before and after.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct HeadMove {
    pub head: String,
    pub plain: String,
    pub group: String,
    pub aim: String,
    pub band: Band,
    /// Credited sets a week; `None` without a present week.
    pub before: Option<f64>,
    pub after: f64,
    /// `below`, `within`, `above`, `no aim`.
    pub verdict: String,
}

/// What is proven of a week.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Proven {
    /// Value of the week, weighted credited sets; 0 is a week without training.
    pub value: f64,
    /// No week inside the limits has more: the solver's own bound.
    pub bound: f64,
    /// (bound − value) / bound.
    pub gap: f64,
    /// Value of the present week on the same scale; `None` without one or where it breaks a limit.
    pub present: Option<f64>,
    /// Limits the present week breaks.
    pub present_breaks: Vec<String>,
    /// `integer programme` or `search`.
    pub found_by: String,
    /// Nodes the solver looked at.
    pub nodes: u64,
    /// Movements that could have come in.
    pub movements: u32,
    /// The work was ended before it was done.
    pub stopped: bool,
}

/// Wishes that clash, and the fewest that must give way.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Clash {
    /// Every wish that was made.
    pub wishes: Vec<String>,
    /// What frees them: each with its amount.
    pub give_way: Vec<String>,
    /// No smaller number of wishes would do.
    pub proven: bool,
}

/// Answer to `what-if`: a week judged for the client as they are and as they might be.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct WhatIf {
    pub schema: String,
    pub finding: String,
    /// What was changed: "stature 168 cm to 180 cm".
    pub changed: Vec<String>,
    /// Cautions that stand with the change and did not without it.
    pub new_flags: Vec<Flag>,
    /// Heads whose credited sets move, the largest change first.
    pub moved: Vec<HeadMove>,
    /// Which movements of the week move them: one line a head.
    pub because: Vec<String>,
    /// Movements of the week that the change bars.
    pub barred: Vec<String>,
    /// The rebuilt weeks, where rebuilding was asked for.
    pub rebuilt: Option<Box<RebuiltPair>>,
    pub notes: Vec<String>,
}

/// Two rebuilt weeks: for the client as they are and as they might be.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RebuiltPair {
    pub before: Rebuild,
    pub after: Rebuild,
}
