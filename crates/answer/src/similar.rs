//! Movements that do nearly the same to the heads.

use crate::BodyNote;
use serde::{Deserialize, Serialize};

/// Answer to `similar`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Similar {
    /// Name and version of this shape.
    pub schema: String,
    pub movement: String,
    pub name: String,
    /// How the name asked for was read, where it is not the movement's own; empty otherwise.
    pub read_as: String,
    pub body: BodyNote,
    pub kit: Option<String>,
    /// What the asked-for place carries in the movement itself; `None` when no place is to be spared.
    pub spare: Option<Spare>,
    /// Nearest first.
    pub rows: Vec<SimilarRow>,
    /// How many were compared, and how many of them each filter took away.
    pub compared: usize,
    pub not_in_kit: usize,
    pub not_sparing: usize,
    /// Movements that could not be solved in this body, and why.
    pub left_out: Vec<String>,
}

/// A place to be spared.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Spare {
    /// As asked.
    pub place: String,
    pub joint: String,
    /// Largest moment of the muscles about the joint over the lift, N·m; 0 where the joint carries nothing.
    pub moment_nm: f64,
    /// How far the joint turns over the lift, degrees.
    pub turn_deg: f64,
}

/// One near movement.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SimilarRow {
    pub movement: String,
    pub name: String,
    pub equipment: Vec<String>,
    /// 0: the same credit for every head; 1: no head in common.
    pub distance: f64,
    /// The one sentence of difference.
    pub difference: String,
    /// What it spares; empty when nothing is to be spared.
    pub avoids: String,
    pub cautions: Vec<String>,
}
