//! Loads. In: sets that were done, the loads that can be set; out: the client's own load–repetition curve of a lift, and the
//! range of repetitions that the next load up leaves possible.
//!
//! Curve: `one_rep = load × (1 + repetitions / k)`, the form of Epley (1985, k = 30) with k per lift (Mitter 2022 found
//! individual curves stable). k and one_rep are estimated together on a grid of k, with the published mean as prior and
//! every called reserve as a noisy reading: people have about one repetition more left than they call (Halperin 2022).
//! Numbers: `load_curves.csv`.

use crate::client::DoneSet;
use crate::rules::rows as read_table;
use crate::{Problem, nearest};
use answer::{ProgressRule, Range};

macro_rules! curve_constants {
    ($($name:ident),* $(,)?) => {
        /// Numbers of `load_curves.csv`: value and spread (one standard deviation).
        #[derive(Clone, Debug, Default, PartialEq)]
        pub struct CurveNumbers { $(#[allow(missing_docs)] pub $name: (f64, f64),)* }
        impl CurveNumbers {
            const NAMES: &[&str] = &[$(stringify!($name)),*];
            fn slot(&mut self, name: &str) -> Option<&mut (f64, f64)> {
                match name { $(stringify!($name) => Some(&mut self.$name),)* _ => None }
            }
        }
    };
}

curve_constants!(
    k_leg_press,
    k_other,
    rir_bias,
    rir_sd_near,
    rir_sd_far,
    failure_sd,
    unknown_rir,
    gain_beginner,
    gain_some,
    gain_trained,
    easy_sets,
    easy_rir,
    most_reps,
);

/// Numbers and rules of loads.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LoadRules {
    pub numbers: CurveNumbers,
    pub progression: Vec<ProgressRule>,
}

impl LoadRules {
    /// Reads `load_curves.csv` and `progression.csv`.
    ///
    /// # Errors
    /// Every problem of both at once.
    pub fn parse(curves: &str, progression: &str) -> Result<LoadRules, Vec<Problem>> {
        let mut bad = Vec::new();
        let mut out = LoadRules::default();
        let mut seen = Vec::new();
        for row in read_table("load_curves.csv", curves, &["key", "value", "spread", "source", "how"], &mut bad) {
            let (Some(value), Some(spread)) = (row.number(1, &mut bad), row.number(2, &mut bad)) else { continue };
            match out.numbers.slot(&row.cells[0]) {
                Some(slot) => *slot = (value, spread),
                None => {
                    let mut p = row.problem(format!("no number called \"{}\"", row.cells[0]), "");
                    p.nearest = nearest(&row.cells[0], CurveNumbers::NAMES);
                    bad.push(p);
                }
            }
            seen.push(row.cells[0].clone());
        }
        for name in CurveNumbers::NAMES.iter().filter(|n| !seen.iter().any(|s| s == *n)) {
            bad.push(crate::rules::whole("load_curves.csv", format!("\"{name}\" is missing")));
        }
        let columns = ["rule", "name", "trigger", "action", "needs", "source", "how"];
        for row in read_table("progression.csv", progression, &columns, &mut bad) {
            let [id, name, trigger, action, needs, source, how] = [0, 1, 2, 3, 4, 5, 6].map(|i| row.cells[i].clone());
            out.progression.push(ProgressRule { id, name, trigger, action, needs, source, how });
        }
        if bad.is_empty() { Ok(out) } else { Err(bad) }
    }
}

/// Load of one repetition by Epley (1985): load × (1 + repetitions to failure / 30), kg.
pub fn epley_one_rep_kg(load_kg: f64, reps_to_failure: f64) -> f64 {
    load_kg * (1.0 + reps_to_failure / 30.0)
}

/// A set as a reading: repetitions to failure with its scatter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    pub load_kg: f64,
    /// Repetitions to failure, mean.
    pub reps: f64,
    /// One standard deviation, repetitions.
    pub sd: f64,
}

/// What a done set says about repetitions to failure.
pub fn reading(set: &DoneSet, n: &CurveNumbers) -> Reading {
    let (load_kg, day) = (set.load_kg, n.failure_sd.0);
    if set.to_failure {
        return Reading { load_kg, reps: set.reps, sd: day };
    }
    let (rir, call) = match set.rir {
        Some(rir) => (rir + n.rir_bias.0, if rir < 4.0 { n.rir_sd_near.0 } else { n.rir_sd_far.0 }),
        None => n.unknown_rir,
    };
    // The bias of one person differs from the mean bias.
    let sd = (call * call + day * day + n.rir_bias.1 * n.rir_bias.1).sqrt();
    Reading { load_kg, reps: set.reps + rir, sd }
}

/// Load–repetition curve of one lift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Curve {
    /// Load of one repetition, kg: mean and standard deviation.
    pub one_rep_kg: (f64, f64),
    /// Repetitions: `one_rep = load × (1 + reps / k)`.
    pub k: (f64, f64),
}

impl Curve {
    /// Fits a curve; `None` without a usable reading. `k`: prior mean and standard deviation.
    pub fn fit(readings: &[Reading], k: (f64, f64)) -> Option<Curve> {
        let good = |r: &&Reading| r.load_kg > 0.0 && r.reps >= 1.0 && r.sd > 0.0 && r.reps.is_finite();
        let readings: Vec<Reading> = readings.iter().filter(good).copied().collect();
        if readings.is_empty() {
            return None;
        }
        // k from 10 to 90 in half repetitions; beyond lies no lift of the tables.
        let grid = (20..=180).map(|i| f64::from(i) / 2.0);
        let at = |k_i: f64| {
            let parts = readings.iter().map(|r| {
                let one = r.load_kg * (1.0 + r.reps / k_i);
                let sd = r.load_kg * r.sd / k_i;
                (one, 1.0 / (sd * sd))
            });
            let (sum, weight) = parts.clone().fold((0.0, 0.0), |(s, w), (one, p)| (s + one * p, w + p));
            let mean = sum / weight;
            // In repetitions, so that k does not reward itself with a wider scatter.
            let misfit: f64 = readings.iter().map(|r| ((k_i * (mean / r.load_kg - 1.0) - r.reps) / r.sd).powi(2)).sum();
            let prior = ((k_i - k.0) / k.1).powi(2);
            (mean, 1.0 / weight, misfit + prior)
        };
        let all: Vec<(f64, (f64, f64, f64))> = grid.map(|k_i| (k_i, at(k_i))).collect();
        let least = all.iter().map(|(_, a)| a.2).fold(f64::INFINITY, f64::min);
        let (mut w, mut m, mut mm, mut kk, mut k2) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for (k_i, (mean, var, cost)) in all {
            let p = (-0.5 * (cost - least)).exp();
            w += p;
            m += p * mean;
            mm += p * (var + mean * mean);
            kk += p * k_i;
            k2 += p * k_i * k_i;
        }
        let (mean, k_mean) = (m / w, kk / w);
        let sd = |second: f64, first: f64| (second / w - first * first).max(0.0).sqrt();
        Some(Curve { one_rep_kg: (mean, sd(mm, mean)), k: (k_mean, sd(k2, k_mean)) })
    }

    /// Repetitions to failure at a load.
    pub fn reps_at(&self, load_kg: f64) -> f64 {
        self.k.0 * (self.one_rep_kg.0 / load_kg - 1.0)
    }

    /// Four of five: mean and 1.28 standard deviations to either side.
    pub fn one_rep_range(&self) -> Range {
        let (mid, sd) = self.one_rep_kg;
        Range { low: (mid - 1.28 * sd).max(0.0), mid, high: mid + 1.28 * sd }
    }
}

/// The next load up.
pub fn next_load(load_kg: f64, steps_kg: &[f64]) -> Option<f64> {
    steps_kg.iter().copied().find(|s| *s > load_kg + 1e-9)
}

/// Repetitions left after the load rises by a share, from a set of `reps` with `rir` in reserve.
pub fn reps_after_step(reps: f64, rir: f64, step: f64, k: f64) -> f64 {
    k * ((1.0 + (reps + rir) / k) / (1.0 + step) - 1.0) - rir
}

/// A range of repetitions and why.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RepRange {
    pub low: f64,
    pub high: f64,
    /// The step spans the range: after the next load up the low end is still reached.
    pub spans: bool,
    pub why: String,
}

/// Fewest repetitions a widened range begins with, and the top up to which beginning there is better than a long range
/// from the wanted low end (common practice: 6–14 before 8–18).
const LOW_START: (f64, f64) = (6.0, 14.0);

/// Repetitions a range needs so that the next load up fits in: the wanted range, else a wider one, else none.
pub fn range_for(wanted: (f64, f64), rir: f64, step: f64, k: f64, most_reps: f64) -> RepRange {
    let (low, high) = wanted;
    let percent = 100.0 * step;
    // Top of the range from which the low end is left after the step.
    let top = |low: f64| (k * ((1.0 + (low + rir) / k) * (1.0 + step) - 1.0) - rir - 1e-6).ceil();
    let left = reps_after_step(high, rir, step, k);
    let range = |low: f64, high: f64, spans: bool, why: String| RepRange { low, high, spans, why };
    if top(low) <= high {
        return range(
            low,
            high,
            true,
            format!("next load +{percent:.0} %: about {left:.0} repetitions are left of {high:.0}"),
        );
    }
    let wide = top(LOW_START.0);
    if low > LOW_START.0 && wide <= LOW_START.1 {
        let why = format!(
            "next load +{percent:.0} %: from {high:.0} only about {left:.1} repetitions are left, so {low:.0}–{high:.0} is not \
             possible; {:.0}–{wide:.0} is",
            LOW_START.0
        );
        return range(LOW_START.0, wide, true, why);
    }
    let long = top(low);
    if long <= most_reps {
        let why = format!(
            "next load +{percent:.0} %: from {high:.0} only about {left:.1} repetitions are left, so {low:.0}–{high:.0} is not \
             possible: go to {long:.0} first, or add a small weight"
        );
        return range(low, long, true, why);
    }
    let why = format!(
        "next load +{percent:.0} %: even {most_reps:.0} repetitions would leave only {:.1}: no usual range spans it; add small \
         weights, slow the lowering, or take another lever (one side, longer arm, other bench angle)",
        reps_after_step(most_reps, rir, step, k).max(0.0)
    );
    range(low, most_reps, false, why)
}
