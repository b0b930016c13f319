//! Training studies: what was measured beside what is predicted, and beside two trivial rules.

use serde::{Deserialize, Serialize};

/// All studies judged.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Evidence {
    /// Name and version of this shape.
    pub schema: String,
    /// Agreement per class over the rows that count, in the order significant, trend, null, no-growth.
    pub classes: Vec<EvidenceClass>,
    /// The same over all rows: conflicting rows, second reports on the same people and single regions too.
    pub classes_of_all: Vec<EvidenceClass>,
    /// Every contrast that could be predicted.
    pub rows: Vec<EvidenceRow>,
    /// Conditions, results and contrasts that could not be used, and why.
    pub unmapped: Vec<EvidenceUnmapped>,
    pub studies: Vec<EvidenceStudy>,
    /// Order of predicted and measured growth.
    pub order: EvidenceOrder,
    /// The few calibrated numbers, with an interval each.
    pub calibration: Vec<CalibratedNumber>,
    /// How the figures came about, one plain sentence each.
    pub notes: Vec<String>,
}

/// Agreement in one class of contrasts. Shares are 0 to 1.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct EvidenceClass {
    /// significant, trend, null or no-growth.
    pub class: String,
    /// Rows.
    pub n: usize,
    /// Share of rows predicted right with the shipped calibration.
    pub right: f64,
    /// Bootstrap interval of `right` over studies, 10th and 90th percentile.
    pub low: f64,
    pub high: f64,
    /// Share right by counting sets 1, ½, 0 on the same rows, with its own best limits.
    pub rule_convention_right: f64,
    /// Share right by net shortening × mean length on the same rows, with its own best limits.
    pub rule_shortening_right: f64,
    /// The same three, where a claimed difference must also lie beyond the range: stricter for significant and trend
    /// rows, the same for the others.
    pub right_beyond: f64,
    pub rule_convention_beyond: f64,
    pub rule_shortening_beyond: f64,
    /// Mean over splits of the studies into halves: limits and weights chosen on one half, judged on the other. `None`
    /// where the rows were judged with the shipped calibration only.
    pub unseen: Option<UnseenHalves>,
}

/// Means over unseen halves, 0 to 1.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct UnseenHalves {
    pub right: f64,
    /// 10th and 90th percentile over the splits.
    pub low: f64,
    pub high: f64,
    pub rule_convention_right: f64,
    pub rule_shortening_right: f64,
    /// The same three, where a claimed difference must also lie beyond the range.
    pub right_beyond: f64,
    pub rule_convention_beyond: f64,
    pub rule_shortening_beyond: f64,
    /// Splits whose unseen half holds a row of the class.
    pub splits: usize,
}

/// One contrast.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct EvidenceRow {
    pub study: String,
    /// `LEFT against RIGHT`, each `condition:muscle`; the left alone for `no-growth`.
    pub contrast: String,
    /// The muscle of the left side.
    pub muscle: String,
    /// `left>right`, `about-equal`, `left~0`.
    pub expected: String,
    /// The direction of the difference: `left>right`, `right>left`, `about-equal` below 3 % of the larger side; `left~0`
    /// or `left>0` where no growth was measured.
    pub predicted: String,
    /// Predicted difference as a part of the larger side, −1 to 1; for `no-growth` the predicted growth as a part of a
    /// direct movement's.
    pub margin: f64,
    /// 10th and 90th percentile of `margin` over draws of muscles, the same anatomy on both sides.
    pub low: f64,
    pub high: f64,
    /// The difference is no larger than `half_width`: a study of usual size would hardly see it.
    pub inside_range: bool,
    /// Significant and trend rows: the direction is right. Null rows: the difference lies inside the range. No-growth
    /// rows: the growth lies below its limit.
    pub right: bool,
    /// significant, trend, null or no-growth.
    pub class: String,
    /// Half-width of the range about `margin`; for `no-growth` the growth below which none is called.
    pub half_width: f64,
    pub rule_convention: RuleCall,
    pub rule_shortening: RuleCall,
    /// Empty for rows that count; else why the row stands in the second count only: conflict, same people, region.
    pub apart: String,
    /// What was measured, as the study tells it.
    pub effect: String,
    pub how: String,
    pub citation: String,
    /// Cause of a miss; empty when right.
    pub reason: String,
}

/// What a trivial rule says of a row.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RuleCall {
    pub predicted: String,
    pub margin: f64,
    pub inside_range: bool,
    pub right: bool,
}

/// What could not be used.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct EvidenceUnmapped {
    pub study: String,
    /// The condition, result or contrast.
    pub what: String,
    pub reason: String,
    /// File, line and column.
    pub place: String,
}

/// A study with its conditions and results.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct EvidenceStudy {
    pub id: String,
    pub citation: String,
    pub design: String,
    pub participants: String,
    /// People measured; `None` where not known.
    pub n: Option<f64>,
    pub weeks: f64,
    /// One sentence a client understands.
    pub sentence: String,
    pub conditions: Vec<EvidenceCondition>,
    pub results: Vec<EvidenceResult>,
    /// What the reader should know (disputed data, a short study, the same people as another).
    pub notes: Vec<String>,
}

/// One arm of a study.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct EvidenceCondition {
    pub id: String,
    pub described: String,
    /// Movements of the library, `id{key=value}`.
    pub movements: Vec<String>,
    pub sets_per_week: Option<f64>,
    /// How the movements were found.
    pub how: String,
}

/// One measured change beside the predicted one.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct EvidenceResult {
    pub condition: String,
    pub muscle: String,
    pub region: String,
    pub measure: String,
    pub change_percent: Option<f64>,
    pub change_sd: Option<f64>,
    /// Predicted growth as a part of what a hard set of a direct movement gives, after the dose; `None` where the
    /// condition could not be computed.
    pub predicted: Option<f64>,
    pub how: String,
    pub confidence: String,
}

/// Rank correlation of predicted and measured growth.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct EvidenceOrder {
    /// Pairs of conditions of one study, measured in the same muscle and region, that differ in measurement and
    /// prediction.
    pub pairs_of_conditions: usize,
    /// Kendall's tau over those pairs, −1 to 1.
    pub tau_conditions: f64,
    /// Pairs of muscles within one condition of a study, measured in the same way.
    pub pairs_of_muscles: usize,
    pub tau_muscles: f64,
    /// Studies behind both.
    pub studies: usize,
}

/// A number that mechanics cannot give.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct CalibratedNumber {
    pub key: String,
    pub value: f64,
    /// 10th and 90th percentile over refits on halves of the studies.
    pub low: f64,
    pub high: f64,
    pub meaning: String,
    pub source: String,
    pub how: String,
}

/// Trials behind the trials column of a movement.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct MovementTrials {
    pub schema: String,
    pub movement: String,
    pub trials: Vec<TrialShown>,
}

/// One study that bears on a movement.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct TrialShown {
    pub study: String,
    pub citation: String,
    pub participants: String,
    pub n: Option<f64>,
    pub weeks: f64,
    /// The study's movement as the library has it.
    pub movement: String,
    /// 0 this movement, 1 nothing in common (see `similar`).
    pub distance: f64,
    /// One sentence a client understands.
    pub sentence: String,
    pub how: String,
}
