//! Rank agreement of predicted and measured growth: Kendall's tau over pairs within one study.

use crate::study::Study;
use answer::{EvidenceOrder, EvidenceResult, EvidenceStudy};
use std::collections::BTreeSet;

/// Predictions nearer than this part of the larger one are tied.
const TIED: f64 = 0.03;

/// Pairs of conditions in the same muscle and region, and pairs of muscles in one condition, measured in one way.
/// Disputed studies, single sessions and second reports on the same people are left out.
pub fn order(studies: &[Study], shown: &[EvidenceStudy]) -> EvidenceOrder {
    let mut out = EvidenceOrder::default();
    let mut used = BTreeSet::new();
    let (mut by_condition, mut by_muscle) = ((0i64, 0usize), (0i64, 0usize));
    for (s, e) in studies.iter().zip(shown) {
        if !s.head.do_not_use.is_empty() || !s.head.same_people_as.is_empty() || s.weeks <= 0.0 {
            continue;
        }
        for (i, a) in e.results.iter().enumerate() {
            for b in &e.results[..i] {
                let alike = a.region == b.region && a.measure == b.measure;
                let Some(sign) = concordance(a, b).filter(|_| alike) else { continue };
                let tally = match (a.muscle == b.muscle, a.condition == b.condition) {
                    (true, false) => &mut by_condition,
                    (false, true) => &mut by_muscle,
                    _ => continue,
                };
                tally.0 += sign;
                tally.1 += 1;
                used.insert(e.id.as_str());
            }
        }
    }
    let tau = |t: (i64, usize)| if t.1 == 0 { 0.0 } else { t.0 as f64 / t.1 as f64 };
    out.pairs_of_conditions = by_condition.1;
    out.tau_conditions = tau(by_condition);
    out.pairs_of_muscles = by_muscle.1;
    out.tau_muscles = tau(by_muscle);
    out.studies = used.len();
    out
}

/// 1 where both order the pair alike, −1 where they do not; `None` for a tie or a missing number.
fn concordance(a: &EvidenceResult, b: &EvidenceResult) -> Option<i64> {
    let (ma, mb) = (a.change_percent?, b.change_percent?);
    let (pa, pb) = (a.predicted?, b.predicted?);
    let tied = (pa - pb).abs() <= TIED * pa.max(pb);
    if tied || ma == mb {
        return None;
    }
    Some(if (ma > mb) == (pa > pb) { 1 } else { -1 })
}
