//! One solve of one movement in one body: what every head gets, before any range.

use crate::rules::Rules;
use anatomy::body::Body;
use anatomy::heads::MuscleModel;
use anatomy::skeleton::JOINTS;
use mechanics::solve::{Criterion, Memory, Prepared, SetLoad, Shares, prepare};
use mechanics::stops::Stops;
use mechanics::system::ContactFreedom;
use movement::rep::Rep;

/// A solved rep.
pub struct Solved {
    pub prepared: Prepared,
    pub load: SetLoad,
    pub shares: Shares,
    /// Raw stimulus per head: mean over the lift of a · f_L · w(l).
    pub raw: Vec<f64>,
    /// The part of it earned above normalised length 1.
    pub raw_long: Vec<f64>,
}

/// Solve a rep for one criterion and one freedom of the contacts.
pub fn solve(
    rep: &Rep,
    body: &Body,
    model: &MuscleModel,
    stops: &Stops,
    rules: &Rules,
    criterion: Criterion,
    freedom: ContactFreedom,
    memory: &mut Memory,
) -> Solved {
    let prepared = prepare(rep, body, model, freedom, stops);
    let load = prepared.set_load(&rules.load_rule(), memory);
    share(prepared, load, criterion, model, rules, memory)
}

/// The first half of [`solve`] at usual contacts: the equations and the load of a hard set.
pub fn hard_set(
    rep: &Rep,
    body: &Body,
    model: &MuscleModel,
    stops: &Stops,
    rules: &Rules,
    memory: &mut Memory,
) -> (Prepared, SetLoad) {
    let prepared = prepare(rep, body, model, ContactFreedom::Usual, stops);
    let load = prepared.set_load(&rules.load_rule(), memory);
    (prepared, load)
}

/// Times a load is lowered until the weakest place of the range can hold it.
const LOCK_OUTS: usize = 3;

/// The second half: share that load.
pub fn share(
    prepared: Prepared,
    load: SetLoad,
    criterion: Criterion,
    model: &MuscleModel,
    rules: &Rules,
    memory: &mut Memory,
) -> Solved {
    let mut load = load;
    let mut shares = prepared.share(load.load, &load.capacity, criterion, model, memory);
    // What is weakest at one end of the range does not decide the load, but it must be locked out: where more stays unbalanced
    // than a hand's help or a swing gives, the load comes down until it does not.
    let weakest = load.capacity.iter().copied().fold(f64::INFINITY, f64::min);
    for _ in 0..LOCK_OUTS {
        let beyond = load.load - weakest;
        if shares.residual_nm <= prepared.unbalanced_limit_nm || beyond <= 0.0 || !load.impossible.is_empty() {
            break;
        }
        load.load = weakest + 0.98 * beyond * prepared.unbalanced_limit_nm / shares.residual_nm;
        shares = prepared.share(load.load, &load.capacity, criterion, model, memory);
    }
    let (raw, raw_long) = stimulus(&prepared, &shares, rules, model.len());
    Solved { prepared, load, shares, raw, raw_long }
}

/// What a load gives every head once it is shared.
pub struct Shared {
    pub shares: Shares,
    /// As in [`Solved`].
    pub raw: Vec<f64>,
    pub raw_long: Vec<f64>,
}

/// The same rep and load under another criterion.
pub fn share_by(
    prepared: &Prepared,
    load: &SetLoad,
    criterion: Criterion,
    model: &MuscleModel,
    rules: &Rules,
    memory: &mut Memory,
) -> Shared {
    let shares = prepared.share(load.load, &load.capacity, criterion, model, memory);
    let (raw, raw_long) = stimulus(prepared, &shares, rules, model.len());
    Shared { shares, raw, raw_long }
}

fn stimulus(prepared: &Prepared, shares: &Shares, rules: &Rules, heads: usize) -> (Vec<f64>, Vec<f64>) {
    let n = prepared.frames.len() as f64;
    let mut raw = vec![0.0; heads];
    let mut long = vec![0.0; heads];
    for (f, a) in prepared.frames.iter().zip(&shares.activation) {
        for h in 0..heads {
            if a[h] > 0.0 {
                let s = &f.muscles.heads[h];
                let part = a[h] * s.active * rules.length_weight(s.fibre_norm) / n;
                raw[h] += part;
                if s.fibre_norm > 1.0 {
                    long[h] += part;
                }
            }
        }
    }
    (raw, long)
}

/// Share of the load's limit by joint, as words for notes.
pub fn main_limits(limits: &[f64; JOINTS]) -> Vec<(anatomy::skeleton::Joint, f64)> {
    let mut out: Vec<_> =
        anatomy::skeleton::Joint::ALL.into_iter().map(|j| (j, limits[j as usize])).filter(|(_, v)| *v > 0.05).collect();
    out.sort_by(|a, b| b.1.total_cmp(&a.1));
    out
}
