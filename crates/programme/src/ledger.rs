//! The ledger. In: lines of a plan; out: credited sets per head in every column, by coach group, with sessions, share at
//! long length and the largest session.
//!
//! One head in one session: credited sets beyond the cap (11) are worth half, in every column alike. Weeks are summed
//! session by session and divided by their number. Ranges add lows to lows and highs to highs (see the crate's head).

use crate::bands::{NO_AIM, verdict};
use crate::rules::{Aim, Constants};
use crate::week::{HeadFacts, Plan, Table};
use answer::{Band, CreditedSets, GroupRow, LedgerRow, Range};

/// Raw sums of one head.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tally {
    pub credited: CreditedSets,
    pub sessions: u32,
    /// Share of credited sets at long length, 0 to 1.
    pub long_share: f64,
    /// Largest session before the cap, credited sets.
    pub largest_session: f64,
    /// (movement name, credited sets), largest first.
    pub from: Vec<(String, f64)>,
    /// Pooled mid from certain entries only.
    pub certain: f64,
    /// Written sets in which the head earns anything.
    pub sets_touched: f64,
}

/// Value of a session's credited sets.
pub fn capped(credited: f64, c: &Constants) -> f64 {
    credited.min(c.session_cap) + (credited - c.session_cap).max(0.0) * c.beyond_cap_value
}

/// One head's sums over one session.
#[derive(Clone, Copy, Default)]
struct Session {
    mechanics: Range,
    convention: f64,
    trials: f64,
    pooled: Range,
    certain: f64,
}

/// Sums of every head over the plan's weeks, per week.
pub(crate) fn tally(plan: &Plan, table: &Table, head_count: usize, c: &Constants) -> Vec<Tally> {
    let weeks = plan.week_count();
    (0..head_count)
        .map(|head| {
            let mut sessions = vec![Session::default(); plan.days.len()];
            let mut out = Tally::default();
            let (mut long, mut any, mut all_trials, mut some_trials) = (0.0, 0.0, true, false);
            for line in &plan.lines {
                let cell = &table.cells[line.movement][head];
                let sets = line.effort.counted();
                let s = &mut sessions[line.day];
                s.mechanics = s.mechanics.plus(times(cell.mechanics, sets));
                s.convention += cell.convention * sets.mid;
                s.pooled = s.pooled.plus(times(cell.pooled, sets));
                let credited = cell.pooled.mid * sets.mid;
                if line.certain {
                    s.certain += credited;
                }
                match cell.trials {
                    Some(t) => {
                        s.trials += t * sets.mid;
                        some_trials = true;
                    }
                    None => all_trials &= credited <= 0.0 && cell.convention <= 0.0,
                }
                if credited > 0.0 {
                    any += credited;
                    long += if cell.long { credited } else { 0.0 };
                    out.sets_touched += line.sets() / weeks;
                    let name = &table.movements[line.movement].name;
                    match out.from.iter_mut().find(|(n, _)| n == name) {
                        Some((_, sum)) => *sum += credited / weeks,
                        None => out.from.push((name.clone(), credited / weeks)),
                    }
                }
            }
            let cap = |r: Range| Range { low: capped(r.low, c), mid: capped(r.mid, c), high: capped(r.high, c) };
            let mut trials = 0.0;
            for s in &sessions {
                out.credited.mechanics = out.credited.mechanics.plus(cap(s.mechanics));
                out.credited.convention += capped(s.convention, c);
                out.credited.pooled = out.credited.pooled.plus(cap(s.pooled));
                trials += capped(s.trials, c);
                out.certain += capped(s.certain, c) / weeks;
                out.largest_session = out.largest_session.max(s.pooled.mid);
            }
            let trained = sessions.iter().filter(|s| s.pooled.mid >= c.session_floor).count();
            out.sessions = (trained as f64 / weeks).round() as u32;
            out.credited.mechanics = out.credited.mechanics.times(1.0 / weeks);
            out.credited.pooled = out.credited.pooled.times(1.0 / weeks);
            out.credited.convention /= weeks;
            out.credited.trials = (all_trials && some_trials).then_some(trials / weeks);
            out.long_share = if any > 0.0 { long / any } else { 0.0 };
            out.from.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
            out
        })
        .collect()
}

fn times(credit: Range, sets: Range) -> Range {
    Range { low: credit.low * sets.low, mid: credit.mid * sets.mid, high: credit.high * sets.high }
}

/// Ledger rows in the order of the heads.
pub(crate) fn rows(
    heads: &[HeadFacts],
    tallies: &[Tally],
    aims: &[Aim],
    bands: &[(Band, String)],
    c: &Constants,
) -> Vec<LedgerRow> {
    heads
        .iter()
        .zip(tallies)
        .enumerate()
        .map(|(i, (head, t))| {
            let pooled = t.credited.pooled.mid;
            let mut marks = Vec::new();
            if head.low_confidence {
                marks.push("low confidence".to_string());
            }
            if aims[i] == Aim::Focus && pooled >= 1.0 && t.long_share < c.long_share_wanted {
                marks.push(format!("only {:.0} % at long length", 100.0 * t.long_share));
            }
            if t.largest_session > c.session_cap {
                marks.push(format!("{:.1} in one session: beyond {:.0} worth half", t.largest_session, c.session_cap));
            }
            if pooled - t.certain >= 0.05 {
                marks.push(format!("{:.1} without assumed rows", t.certain));
            }
            LedgerRow {
                head: head.head.clone(),
                plain: head.plain.clone(),
                group: head.groups.first().cloned().unwrap_or_default(),
                credited_sets: t.credited.clone(),
                sessions: t.sessions,
                long_length_share: t.long_share,
                largest_session: t.largest_session,
                band: bands[i].0,
                band_basis: bands[i].1.clone(),
                verdict: if aims[i] == Aim::Leave { NO_AIM.into() } else { verdict(pooled, bands[i].0).into() },
                marks,
                from: t.from.clone(),
            }
        })
        .collect()
}

/// Coach groups in the order of the rules: volume-weighted means of their heads. A head listed under two groups shows in
/// both; totals over the body are taken over heads, so it counts once there.
pub(crate) fn groups(
    heads: &[HeadFacts],
    tallies: &[Tally],
    order: &[String],
    aim_of: &dyn Fn(&str) -> Aim,
    band_of: &dyn Fn(&str) -> (Band, String),
) -> Vec<GroupRow> {
    order
        .iter()
        .filter_map(|group| {
            let members: Vec<usize> = (0..heads.len()).filter(|&i| heads[i].groups.contains(group)).collect();
            if members.is_empty() {
                return None;
            }
            let shares = volume_shares(heads, &members);
            let mut sums = CreditedSets::default();
            let mut trials = Some(0.0);
            for (&i, share) in members.iter().zip(shares) {
                let own = &tallies[i].credited;
                sums.mechanics = sums.mechanics.plus(own.mechanics.times(share));
                sums.pooled = sums.pooled.plus(own.pooled.times(share));
                sums.convention += own.convention * share;
                trials = trials.zip(own.trials).map(|(sum, t)| sum + t * share);
            }
            sums.trials = trials;
            let ((band, band_basis), aim) = (band_of(group), aim_of(group));
            Some(GroupRow {
                group: group.clone(),
                verdict: if aim == Aim::Leave { NO_AIM.into() } else { verdict(sums.pooled.mid, band).into() },
                credited_sets: sums,
                band,
                band_basis,
                aim: aim.word().into(),
                heads: members.iter().map(|&i| heads[i].head.clone()).collect(),
            })
        })
        .collect()
}

/// Volume shares of some heads, adding to 1; equal when volumes are missing.
pub(crate) fn volume_shares(heads: &[HeadFacts], members: &[usize]) -> Vec<f64> {
    let volume = |i: &usize| crate::effort::tame(heads[*i].volume_cm3, 1e6);
    let total: f64 = members.iter().map(volume).sum();
    members.iter().map(|i| if total > 0.0 { volume(i) / total } else { 1.0 / members.len() as f64 }).collect()
}

/// Credited sets over the whole body, each head once, however many groups list it.
pub fn body_total(rows: &[LedgerRow]) -> f64 {
    let mut seen = std::collections::BTreeSet::new();
    rows.iter().filter(|r| seen.insert(r.head.as_str())).map(|r| r.credited_sets.pooled.mid).sum()
}
