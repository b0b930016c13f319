//! Statements of experts about technique beside what the program computes.

use serde::{Deserialize, Serialize};

/// One statement.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct TechniqueRow {
    pub id: String,
    pub movement: String,
    /// The other movement; empty where a setting changes.
    pub compare_to: String,
    /// `key from>to`; empty where two movements are compared.
    pub setting_change: String,
    /// What is kept equal, as the table says it.
    pub held_equal: String,
    /// At which loads the two were compared, in plain words.
    pub loads: String,
    pub statement: String,
    /// Items `kind:target:direction`, between semicolons.
    pub expected: String,
    /// The same items with our direction; `cannot-say` where the program has no answer.
    pub ours: String,
    /// Whether every item is right.
    pub right: bool,
    /// yes, partly, no: whether a rule that sees joint angles alone must fail.
    pub angle_rule_fails: String,
    /// `test`, or `discuss` where experts themselves disagree or the measure is soft.
    #[serde(rename = "use")]
    pub purpose: String,
    pub items: Vec<TechniqueItem>,
    pub confidence: String,
    pub source: String,
    pub how: String,
    /// What a reader should know of the two solved lifts; may be empty.
    pub note: String,
}

/// One expected item.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct TechniqueItem {
    /// `kind:target`.
    pub item: String,
    pub expected: String,
    pub ours: String,
    /// Value before and after the change, in `unit`; `None` where it cannot be said.
    pub before: Option<f64>,
    pub after: Option<f64>,
    pub unit: String,
    /// For the load of a head: which way its mean activation alone turns, as electrodes would see it; else empty.
    pub by_activation: String,
    pub right: bool,
    /// Class of the cause of a miss; empty when right.
    pub class: String,
    /// The mechanical cause we believe, or why nothing can be said; empty when right.
    pub reason: String,
}
