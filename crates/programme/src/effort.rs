//! What one written set counts as a hard set. In: an entry; out: a factor from 0 to 1 with its range, sets with their
//! range, and the assumptions made.
//!
//! Rules: 0–3 repetitions in reserve count fully, 4 counts 0.8, 5 or more 0.5, between them linearly; not given counts
//! fully with the assumption shown. At or under 30 % of 1RM, or above 30 repetitions, a set counts fully only at
//! failure. Under 5 repetitions counts and is noted. Warm-up sets never count. Numbers and sources: `constants.csv`.

use crate::rules::{Constants, Rules};
use answer::{Entry, Range, Status};

/// Value of an entry's sets.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Effort {
    /// Hard sets written (no effort factor), low to high.
    pub sets: Range,
    /// Factor of each set, 0 to 1.
    pub value: Range,
    pub assumptions: Vec<String>,
}

impl Effort {
    /// Hard sets counted: sets × value, lows with lows.
    pub fn counted(&self) -> Range {
        Range {
            low: self.sets.low * self.value.low,
            mid: self.sets.mid * self.value.mid,
            high: self.sets.high * self.value.high,
        }
    }
}

/// Finite and from 0 to `limit`; a broken number counts as nothing rather than poisoning a sum.
pub(crate) fn tame(value: f64, limit: f64) -> f64 {
    if value.is_finite() { value.clamp(0.0, limit) } else { 0.0 }
}

/// Most sets one entry may claim; far above any plan, so that sums stay finite.
const MOST_SETS: f64 = 1000.0;

/// Value of one set with `rir` repetitions in reserve, above the light loads.
pub fn value_of_rir(rir: f64, c: &Constants) -> f64 {
    let rir = if rir.is_nan() { 0.0 } else { rir };
    if rir <= c.full_to_rir {
        return 1.0;
    }
    let (four, five) = (c.full_to_rir + 1.0, c.full_to_rir + 2.0);
    if rir >= five {
        c.rir_5_value
    } else if rir >= four {
        c.rir_4_value + (rir - four) * (c.rir_5_value - c.rir_4_value)
    } else {
        1.0 + (rir - c.full_to_rir) * (c.rir_4_value - 1.0)
    }
}

/// Repetitions to failure at a load, from the load–repetition table, linear between rows, flat outside it.
pub fn reps_to_failure(load_pct_1rm: f64, rules: &Rules) -> f64 {
    let rows = &rules.load_reps;
    let (Some(first), Some(last)) = (rows.first(), rows.last()) else { return 1.0 };
    if !load_pct_1rm.is_finite() || load_pct_1rm >= first.0 {
        return first.1;
    }
    rows.windows(2)
        .find(|w| load_pct_1rm >= w[1].0)
        .map_or(last.1, |w| w[0].1 + (load_pct_1rm - w[0].0) * (w[1].1 - w[0].1) / (w[1].0 - w[0].0))
}

/// Sets and effort of an entry.
pub fn effort_of(entry: &Entry, rules: &Rules) -> Effort {
    if matches!(entry.status, Status::Unknown | Status::Ignored) {
        return Effort::default();
    }
    let c = &rules.constants;
    let mut notes = Vec::new();
    let (a, b) = (tame(entry.sets_low, MOST_SETS), tame(entry.sets_high, MOST_SETS));
    let sets = Range { low: a.min(b), mid: 0.5 * (a + b), high: a.max(b) };
    let counted_reps = entry.reps_unit.is_empty() || entry.reps_unit == "reps";
    let finite = |v: Option<f64>| v.filter(|x| x.is_finite() && *x >= 0.0);
    let reps = match (finite(entry.reps_low), finite(entry.reps_high)) {
        (Some(l), Some(h)) => Some((l.min(h), l.max(h))),
        (one, other) => one.or(other).map(|v| (v, v)),
    };
    let pct = finite(entry.load).filter(|_| entry.unit.as_deref() == Some("%1RM"));
    if !counted_reps {
        notes.push(match entry.reps_unit.as_str() {
            "s" => "a timed hold counts as a set for the heads that hold".to_string(),
            unit => format!("a set measured in {unit} counts as a set for the heads that hold"),
        });
    }
    let value = match finite(entry.rir) {
        Some(rir) => set_value((rir, rir), reps, pct, counted_reps, c, &mut notes),
        None => match (pct, reps.filter(|_| counted_reps)) {
            (Some(load), Some((low, high))) => {
                let most = reps_to_failure(load, rules);
                let (near, far) = ((most - high).max(0.0), (most - low).max(0.0));
                notes.push(format!(
                    "effort from the load–repetition table: about {most:.0} repetitions at {load:.0} % of 1RM, so {} in reserve",
                    span(near, far)
                ));
                set_value((near, far), reps, pct, counted_reps, c, &mut notes)
            }
            _ => unknown_effort(reps, pct, counted_reps, c, &mut notes),
        },
    };
    if counted_reps && reps.is_some_and(|(_, high)| high < c.few_reps) {
        notes.push(format!("fewer than {:.0} repetitions: counted, though few trials went so low", c.few_reps));
    }
    Effort { sets, value, assumptions: notes }
}

fn is_light(reps: Option<f64>, pct: Option<f64>, counted_reps: bool, c: &Constants) -> bool {
    pct.is_some_and(|p| p <= c.light_pct) || (counted_reps && reps.is_some_and(|r| r > c.light_reps))
}

/// Value for reserves from `near` to `far`; the high repetition count belongs to the near one.
fn set_value(
    (near, far): (f64, f64),
    reps: Option<(f64, f64)>,
    pct: Option<f64>,
    counted_reps: bool,
    c: &Constants,
    notes: &mut Vec<String>,
) -> Range {
    let one = |rir: f64, r: Option<f64>| {
        if !is_light(r, pct, counted_reps, c) {
            value_of_rir(rir, c)
        } else if rir < 1.0 {
            1.0
        } else {
            c.light_value
        }
    };
    let mid_reps = reps.map(|(l, h)| 0.5 * (l + h));
    let ends = [one(near, reps.map(|r| r.1)), one(far, reps.map(|r| r.0))];
    let mid = one(0.5 * (near + far), mid_reps);
    if is_light(mid_reps, pct, counted_reps, c) {
        notes.push("very light or very many repetitions: full only at failure".into());
    }
    Range { low: ends[0].min(ends[1]).min(mid), mid, high: ends[0].max(ends[1]).max(mid) }
}

/// What is assumed of a row without a word on effort.
pub(crate) const EFFORT_NOT_SAID: &str = "effort not said: counted fully, as 0–3 in reserve";

fn unknown_effort(
    reps: Option<(f64, f64)>,
    pct: Option<f64>,
    counted_reps: bool,
    c: &Constants,
    notes: &mut Vec<String>,
) -> Range {
    if is_light(reps.map(|(l, h)| 0.5 * (l + h)), pct, counted_reps, c) {
        notes.push(format!(
            "very light or more than {:.0} repetitions and effort not said: counted at {} until it is said to go to failure",
            c.light_reps, c.light_value
        ));
        return Range { low: c.light_value, mid: c.light_value, high: 1.0 };
    }
    notes.push(EFFORT_NOT_SAID.into());
    Range::point(1.0)
}

fn span(low: f64, high: f64) -> String {
    if (high - low).abs() < 0.5 { format!("{low:.0}") } else { format!("{low:.0}–{high:.0}") }
}
