//! Calls, agreement by class, limits, and the halves of the studies that were not looked at.
//!
//! A row is called from its margin m alone: `left>right` or `right>left` where |m| is above [`EQUAL`] (less is the same
//! number), and it lies *inside the range* where |m| ≤ τ. Significant and trend rows are right when the direction is;
//! null rows when the difference lies inside the range; no-growth rows when the growth lies below its own limit τ₀. τ is
//! chosen so that it parts significant from null rows best, τ₀ so that it parts muscles that grew from those that did
//! not: a wide range alone wins nothing.

use crate::study::{Call, Class};
use numerics::sample::Draws;

/// Differences below this part of the larger side are none.
pub const EQUAL: f64 = 0.03;

/// Row as the judge sees it.
#[derive(Clone, Copy, Debug)]
pub struct Seen {
    pub class: Class,
    pub expected: Call,
    /// Index of the study.
    pub study: usize,
    /// Whether the row counts.
    pub counts: bool,
}

/// What one rule says of a row.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Said {
    pub margin: f64,
    /// Growth of the left side, for the limit of no growth.
    pub left: f64,
    /// Range of the margin over draws of muscles.
    pub low: f64,
    pub high: f64,
}

/// Limits of a rule.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Half-width of the range about a margin.
    pub about_equal: f64,
    /// Growth below this is none.
    pub no_growth: f64,
}

/// Whether a difference is there, and which way.
pub fn call(seen: &Seen, said: &Said, limits: &Limits) -> Call {
    if seen.expected == Call::None {
        return if said.margin < limits.no_growth { Call::None } else { Call::Some };
    }
    match said.margin {
        m if m > EQUAL => Call::Left,
        m if m < -EQUAL => Call::Right,
        _ => Call::Equal,
    }
}

pub fn inside(said: &Said, limits: &Limits) -> bool {
    said.margin.abs() <= limits.about_equal
}

pub fn right(seen: &Seen, said: &Said, limits: &Limits) -> bool {
    match seen.expected {
        Call::Equal => inside(said, limits),
        expected => call(seen, said, limits) == expected,
    }
}

/// As [`right`], and a claimed difference lies beyond the range.
pub fn beyond(seen: &Seen, said: &Said, limits: &Limits) -> bool {
    let directed = matches!(seen.expected, Call::Left | Call::Right);
    right(seen, said, limits) && !(directed && inside(said, limits))
}

/// Share of rows for which `test` holds; `None` without rows.
fn share<'a>(rows: impl Iterator<Item = &'a (Seen, Said)>, test: impl Fn(&Seen, &Said) -> bool) -> Option<f64> {
    let (mut n, mut yes) = (0usize, 0usize);
    for (seen, said) in rows {
        n += 1;
        yes += usize::from(test(seen, said));
    }
    (n > 0).then(|| yes as f64 / n as f64)
}

/// How well limits part what they should: rows of `of` only.
fn worth_equal(rows: &[(Seen, Said)], limits: &Limits) -> f64 {
    let of = |class: Class| rows.iter().filter(move |r| r.0.class == class);
    let strict = share(of(Class::Significant), |a, b| beyond(a, b, limits)).unwrap_or(0.0);
    let null = share(of(Class::Null), |a, b| right(a, b, limits)).unwrap_or(0.0);
    (strict + null) / 2.0
}

fn worth_none(rows: &[(Seen, Said)], limits: &Limits) -> f64 {
    let none = share(rows.iter().filter(|r| r.0.class == Class::NoGrowth), |a, b| right(a, b, limits)).unwrap_or(0.0);
    // The left side of a significant difference did grow.
    let grown = rows.iter().filter(|r| r.0.class == Class::Significant && r.0.expected == Call::Left);
    let some = share(grown, |_, b| b.left >= limits.no_growth).unwrap_or(0.0);
    (none + some) / 2.0
}

/// Best limits of a rule on some rows, and what they are worth.
pub fn fit(rows: &[(Seen, Said)]) -> (Limits, f64) {
    let mut best = Limits { about_equal: EQUAL, no_growth: 0.0 };
    let mut top = f64::NEG_INFINITY;
    for i in 2..=25 {
        let limits = Limits { about_equal: 0.02 * i as f64, ..best };
        let worth = worth_equal(rows, &limits);
        if worth > top + 1e-12 {
            (top, best.about_equal) = (worth, limits.about_equal);
        }
    }
    let mut top_none = f64::NEG_INFINITY;
    let most = rows.iter().map(|r| r.1.left).fold(0.0, f64::max);
    for i in 0..=60 {
        let limits = Limits { no_growth: most * i as f64 / 60.0, ..best };
        let worth = worth_none(rows, &limits);
        if worth > top_none + 1e-12 {
            (top_none, best.no_growth) = (worth, limits.no_growth);
        }
    }
    let direction = share(rows.iter().filter(|r| r.0.class == Class::Significant), |a, b| right(a, b, &best));
    (best, top + top_none + direction.unwrap_or(0.0) / 2.0)
}

/// Share right in a class.
pub fn agreement(rows: &[(Seen, Said)], class: Class, limits: &Limits, strict: bool) -> Option<f64> {
    let test = |a: &Seen, b: &Said| if strict { beyond(a, b, limits) } else { right(a, b, limits) };
    share(rows.iter().filter(|r| r.0.class == class), test)
}

/// 10th and 90th percentile.
pub fn tenths(mut values: Vec<f64>) -> (f64, f64) {
    values.sort_by(f64::total_cmp);
    let at = |q: f64| values.get(((values.len().max(1) - 1) as f64 * q).round() as usize).copied().unwrap_or(0.0);
    (at(0.1), at(0.9))
}

/// Bootstrap interval over studies of the share right in a class.
pub fn interval(rows: &[(Seen, Said)], class: Class, limits: &Limits, draws: &Draws) -> (f64, f64) {
    let mut studies: Vec<usize> = rows.iter().filter(|r| r.0.class == class).map(|r| r.0.study).collect();
    studies.sort_unstable();
    studies.dedup();
    if studies.is_empty() {
        return (0.0, 0.0);
    }
    let tally: Vec<(f64, f64)> = studies
        .iter()
        .map(|&s| {
            let own = || rows.iter().filter(|r| r.0.class == class && r.0.study == s);
            (own().filter(|r| right(&r.0, &r.1, limits)).count() as f64, own().count() as f64)
        })
        .collect();
    let one = |i: u32| {
        let picked = (0..studies.len() as u32).map(|k| tally[pick(draws, i, k, studies.len())]);
        let (yes, n) = picked.fold((0.0, 0.0), |(a, b), t| (a + t.0, b + t.1));
        yes / n
    };
    tenths((0..1000).map(one).collect())
}

/// One of `n`.
fn pick(draws: &Draws, draw: u32, dimension: u32, n: usize) -> usize {
    ((draws.uniform(draw, dimension) * n as f64) as usize).min(n - 1)
}

/// Which of `n` studies belong to the first half of split `i`: exactly half of them, by a shuffle.
pub fn half(draws: &Draws, i: u32, n: usize) -> Vec<bool> {
    let mut order: Vec<usize> = (0..n).collect();
    for k in (1..n).rev() {
        order.swap(k, pick(draws, i, k as u32, k + 1));
    }
    let mut first = vec![false; n];
    order.iter().take(n / 2).for_each(|&s| first[s] = true);
    first
}
