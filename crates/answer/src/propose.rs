//! What to change first in a week, and the week after it.

use crate::{ClientNote, Flag, Gap, GroupRow, Message, Minutes, Proposal};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Answer to `propose`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Propose {
    pub schema: String,
    /// Which week of the file was judged, and how many there are.
    pub week: String,
    /// Most urgent first.
    pub flags: Vec<Flag>,
    pub client: ClientNote,
    /// Heads below their band before any change, first what is wanted most.
    pub gaps: Vec<Gap>,
    /// Coach's names of the heads, by id.
    pub names: BTreeMap<String, String>,
    /// In order; each builds on those above it. None: change nothing.
    pub proposals: Vec<Proposal>,
    /// How many of them stand in `after`.
    pub applied: u32,
    pub before: WeekSums,
    pub after: WeekSums,
    pub messages: Vec<Message>,
    pub notes: Vec<String>,
}

/// A week in short.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct WeekSums {
    pub groups: Vec<GroupRow>,
    pub minutes: BTreeMap<String, Minutes>,
    /// Heads below their band.
    pub short_heads: u32,
    /// Hard sets.
    pub sets: f64,
}
