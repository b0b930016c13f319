//! How far the numbers of a coach group can be trusted: what they agree with, where they miss, what they rest on.

use serde::{Deserialize, Serialize};

/// Answer to `sure`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Sure {
    pub schema: String,
    pub groups: Vec<GroupSure>,
    /// Comparisons that no muscle head answers for: bodies, textbook problems, joint forces.
    pub general: Vec<Agreement>,
}

/// One coach group.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct GroupSure {
    /// Name as coaches say it.
    pub group: String,
    /// Ids of its heads.
    pub heads: Vec<String>,
    /// What a coach can say to a client.
    pub sentence: String,
    /// Of all comparisons that touch a head of the group.
    pub all: Agreement,
    /// The same by kind, most rows first.
    pub kinds: Vec<Agreement>,
    /// Misses by their reason, most rows first.
    pub misses: Vec<MissClass>,
    /// How the numbers of its heads are known.
    pub basis: Basis,
    /// Heads that carry the mark "low confidence".
    pub low_confidence: Vec<LowHead>,
}

/// How many comparisons of one kind lie inside the published spread.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Agreement {
    /// "lever arms", "strength at the joint", …
    pub kind: String,
    pub rows: usize,
    pub inside: usize,
    /// Of these rows, those that a table of the program was fitted to or drawn up from.
    pub fitted_rows: usize,
    pub fitted_inside: usize,
    /// The share in words, of the rows that steered no fit; "few comparisons" under five, "none: all steered it".
    pub words: String,
}

/// Misses with one reason.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct MissClass {
    pub reason: String,
    pub rows: usize,
    /// Kinds of comparison in which they stand.
    pub kinds: Vec<String>,
    /// Group and id of each row, `moment-arms lower-139`, as `proof` shows them.
    pub ids: Vec<String>,
}

/// How numbers of heads are known; every number counts once.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Basis {
    pub looked_up: usize,
    pub from_memory: usize,
    pub own_estimate: usize,
    /// Fitted to published numbers, from a start value known in one of the other ways.
    pub fitted: usize,
    /// Told in other words.
    pub other: usize,
}

/// A head that carries the mark "low confidence".
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LowHead {
    pub head: String,
    /// Coach's name.
    pub plain: String,
    pub why: String,
}
