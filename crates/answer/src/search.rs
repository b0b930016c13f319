//! The best set-up of every movement for one head.

use crate::{BodyNote, Class, Settings};
use serde::{Deserialize, Serialize};

/// Answer to `rank HEAD --search`. Middle values: no ranges are drawn during the search.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Search {
    /// Name and version of this shape.
    pub schema: String,
    pub head: String,
    pub plain: String,
    /// As in [`HeadLook::marks`](crate::HeadLook::marks): what holds for the head in every movement.
    pub marks: Vec<String>,
    pub kit: Option<String>,
    pub body: BodyNote,
    /// Best first.
    pub rows: Vec<SearchRow>,
    pub left_out: Vec<String>,
}

/// One movement with the set-up found for it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SearchRow {
    pub movement: String,
    pub name: String,
    pub equipment: Vec<String>,
    pub class: Class,
    pub stimulus: f64,
    /// With the movement's own settings.
    pub usual_class: Class,
    pub usual_stimulus: f64,
    /// Settings that were changed, with their new values; empty where the usual set-up is the best one.
    pub settings: Settings,
    /// Settings that were tried.
    pub tried: Vec<String>,
    /// Lifts that were solved.
    pub solved: usize,
    /// Set-ups that were refused because a joint leaves its range or carries more than its bound.
    pub refused: usize,
    pub limiting_joint: String,
}
