//! What the common faults of a movement change.

use crate::{BodyNote, Range, SettingValue, Settings};
use serde::{Deserialize, Serialize};

/// Answer to `faults`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Faults {
    /// Name and version of this shape.
    pub schema: String,
    pub movement: String,
    pub name: String,
    /// How the name asked for was read, where it is not the movement's own; empty otherwise.
    pub read_as: String,
    pub settings: Settings,
    pub body: BodyNote,
    /// In the order of the table.
    pub faults: Vec<Fault>,
    /// Faults of the family that this movement cannot have, and why.
    pub left_out: Vec<FaultLeftOut>,
}

/// One fault, solved without and with it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Fault {
    pub fault: String,
    pub setting: String,
    pub from: SettingValue,
    pub to: SettingValue,
    /// What the movement itself is done with here, where it is not `from`.
    pub usual: Option<SettingValue>,
    /// Whether any head or any joint moment changes by more than the shown ranges.
    pub matters: bool,
    /// The finding in one sentence.
    pub finding: String,
    /// Load of a hard set without and with the fault.
    pub load_from: Range,
    pub load_to: Range,
    pub load_unit: String,
    /// Joint whose muscles run out first, without and with the fault.
    pub limiting_from: String,
    pub limiting_to: String,
    /// Heads by the size of the change.
    pub heads: Vec<FaultHead>,
    pub moments: Vec<FaultMoment>,
    /// What the numbers leave out: a range cut short; empty where nothing is.
    pub note: String,
    /// What coaches say it does.
    pub effect: String,
    /// Whether a coach should care, as coaches say: yes, maybe, no.
    pub coach_cares: String,
    pub why_a_coach_cares: String,
    /// What coaches expect of single heads, beside ours.
    pub expected: Vec<FaultExpected>,
    /// How the expectation is known.
    pub how: String,
}

/// A head without and with the fault.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct FaultHead {
    pub id: String,
    pub plain: String,
    /// Stimulus of a hard set, each at its own load.
    pub from: Range,
    pub to: Range,
    pub change: f64,
    /// Relative change of the middle value when the load stays as it was, 0.1 = a tenth more; `None` where the head has
    /// nothing to lose.
    pub change_at_same_load: Option<f64>,
    /// Longest minus shortest over the lift, without and with the fault, mm.
    pub way_from_mm: f64,
    pub way_to_mm: f64,
    /// As in [`HeadDifference::matters`](crate::HeadDifference::matters).
    pub matters: bool,
    /// As in [`HeadLook::marks`](crate::HeadLook::marks), of the head itself.
    pub marks: Vec<String>,
}

/// A joint moment without and with the fault: mean over the lift, N·m. Ranges are those of the load.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct FaultMoment {
    /// Dotted axis in the direction in which the muscles turn without the fault.
    pub axis: String,
    /// Of a hard set, each at its own load.
    pub from: Range,
    pub to: Range,
    /// With the fault at the load without it.
    pub to_at_same_load_nm: f64,
    /// Neither middle value lies in the other's range, and the change is at least a tenth and 3 N·m.
    pub matters: bool,
}

/// What coaches expect of a head, and what we find.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct FaultExpected {
    /// Name as in the table: a head or a group.
    pub head: String,
    pub plain: String,
    /// up, down or same.
    pub expected: String,
    /// up, down, same, or `cannot say`: of the stimulus of a hard set.
    pub ours: String,
    /// The same with the load left as it was.
    pub ours_at_same_load: String,
    /// yes; at the same load only; no; cannot say.
    pub agree: String,
}

/// A fault that is not solved.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct FaultLeftOut {
    pub fault: String,
    pub why: String,
}
