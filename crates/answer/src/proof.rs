//! Comparisons of the program with the outside world.

use serde::{Deserialize, Serialize};

/// One comparison: what the program computes beside what was published.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ProofRow {
    /// Kind of comparison: the name of the case file without its ending.
    pub group: String,
    /// Unique within the group.
    pub id: String,
    /// Where the published number stands: authors, year, journal, table.
    pub source: String,
    /// How the published number is known: looked-up, from-memory, own-estimate, common practice.
    pub how: String,
    /// Ours; `None` when the case could not be computed, with the reason in `note`.
    pub value: Option<f64>,
    /// The published number; for a sign or an order the wanted sign, 1 or -1.
    pub published: f64,
    /// How far ours may be off and still pass, in `unit`.
    pub tolerance: f64,
    pub unit: String,
    pub pass: bool,
    /// Whether the program's tables were fitted to this very row.
    pub fitted: bool,
    /// Which part of the group this belongs to, for shares (`fitted`, `held out`, a motion, a lift); may be empty.
    pub part: String,
    /// What a reader should know: what was compared with what, in which way.
    pub note: String,
    /// The mechanical cause we believe a miss to have; empty when the row passes, and for a miss without a known
    /// reason.
    pub reason: String,
}

/// A published point of a lever arm.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ArmPoint {
    pub angle_deg: f64,
    pub arm_mm: f64,
    /// Half of the bar drawn about the point.
    pub tolerance_mm: f64,
    pub inside: bool,
    pub fitted: bool,
}

/// Our lever arm over one moving angle, with the published points in the same postures.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ArmCurve {
    /// Heads that pull as one, ids joined by +.
    pub heads: String,
    /// Dotted axis; arms are positive in its direction.
    pub axis: String,
    /// The joint whose angle runs along the picture, and the rest of the posture.
    pub moving: String,
    /// (angle in degrees, arm in mm).
    pub ours: Vec<[f64; 2]>,
    pub published: Vec<ArmPoint>,
}
