//! What a planner needs to know of the rules of a week, so that it and the proposals judge alike.

use crate::ledger::volume_shares;
use crate::rules::{Aim, Constants};
use crate::week::HeadFacts;
use answer::{Entry, MovementCredit};

/// Weight of a missing credited set of each head: by aim, trust, and its part of its coach group.
pub fn head_weights(heads: &[HeadFacts], aims: &[Aim], c: &Constants) -> Vec<f64> {
    let mut weights = vec![0.0; heads.len()];
    for group in heads.iter().filter_map(|h| h.groups.first()) {
        let members: Vec<usize> = (0..heads.len()).filter(|&i| heads[i].groups.first() == Some(group)).collect();
        let equal = 1.0 / members.len() as f64;
        for (&i, share) in members.iter().zip(volume_shares(heads, &members)) {
            let aim = match aims[i] {
                Aim::Leave => 0.0,
                Aim::Keep => c.weight_keep,
                Aim::Grow => c.weight_grow,
                Aim::Focus => c.weight_focus,
            };
            let trust = if heads[i].low_confidence { 0.5 } else { 1.0 };
            // Half by volume, half by count: a small head that is left out still counts.
            weights[i] = aim * trust * 0.5 * (share + equal);
        }
    }
    weights
}

/// Volume share of each head in a coach group; no rows where none belongs to it.
pub fn group_shares(heads: &[HeadFacts], group: &str) -> Vec<(usize, f64)> {
    let members: Vec<usize> =
        (0..heads.len()).filter(|&i| heads[i].groups.iter().any(|g| g.eq_ignore_ascii_case(group))).collect();
    members.iter().copied().zip(volume_shares(heads, &members)).collect()
}

/// Longest seconds of an exercise that stands alone, as the minutes of a day count them.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LineTime {
    /// Work, rest after it and getting ready of one set, s.
    pub set_s: f64,
    /// Once per exercise, s: setting up, less the getting ready that the first set has no need of. Below zero where
    /// setting up is quicker.
    pub once_s: f64,
    /// Rest after a set, s.
    pub rest_s: f64,
}

/// Time of an entry's sets. The rest after the last set counts as the rest before the next exercise.
pub fn line_time(entry: &Entry, movement: &MovementCredit, c: &Constants) -> LineTime {
    let (work_s, rest_s, setup_s) = crate::minutes::longest_s(entry, movement, c);
    LineTime { set_s: work_s + rest_s + c.further_set_s, once_s: setup_s - c.further_set_s, rest_s }
}
