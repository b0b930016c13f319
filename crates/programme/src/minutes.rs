//! Minutes of a day. In: the day's lines in order; out: low and high minutes.
//!
//! Work = repetitions × tempo (holds: seconds; metres: at walking pace), doubled when each side works alone. Rest between
//! sets: 2–3 min multi-joint, 1–2 min single-joint, or as written. Set-up once per exercise, 15 s per further set.
//! Between two exercises the low figure lets the rest happen during the set-up, the high one adds both. Paired exercises
//! share rest when they share neither a station nor a strongly trained head: the rest then counts once per round.

use crate::rules::Constants;
use crate::week::{Line, Plan, Table};
use answer::{Minutes, MovementCredit};

/// Equipment carried to wherever one stands: two exercises with it do not block each other.
const PORTABLE: [&str; 12] = [
    "body-weight",
    "dumb-bell",
    "kettle-bell",
    "plate",
    "band",
    "mini-band",
    "mat",
    "slider",
    "ankle-strap",
    "towel",
    "vest",
    "wedge",
];

/// Seconds of one exercise, low and high ends.
#[derive(Clone, Copy, Debug, Default)]
struct Span {
    low: f64,
    high: f64,
}

impl Span {
    fn plus(self, o: Span) -> Span {
        Span { low: self.low + o.low, high: self.high + o.high }
    }
    fn times(self, low: f64, high: f64) -> Span {
        Span { low: self.low * low, high: self.high * high }
    }
    fn max(self, o: Span) -> Span {
        Span { low: self.low.max(o.low), high: self.high.max(o.high) }
    }
}

struct Exercise<'a> {
    line: &'a Line,
    movement: &'a MovementCredit,
    /// One set, s.
    set: Span,
    rest: Span,
    sets: Span,
    setup_s: f64,
}

/// One set and the rest after it, s.
fn set_and_rest(e: &answer::Entry, movement: &MovementCredit, c: &Constants) -> (Span, Span) {
    let finite = |v: Option<f64>| v.filter(|x| x.is_finite() && *x >= 0.0);
    let (low, high) = match (finite(e.reps_low), finite(e.reps_high)) {
        (Some(a), Some(b)) => (a.min(b), a.max(b)),
        (one, other) => one.or(other).map_or((c.reps_low_default, c.reps_high_default), |v| (v, v)),
    };
    let tempo = e.extra.tempo_s.map(|t| t.iter().filter(|s| s.is_finite()).sum::<f64>()).filter(|t| *t > 0.0);
    let rep_s = tempo.unwrap_or(if movement.rep_s.is_finite() && movement.rep_s > 0.0 { movement.rep_s } else { 4.0 });
    let each = match e.reps_unit.as_str() {
        "s" => 1.0,
        "m" => 1.0 / c.carry_speed_m_s,
        _ => rep_s,
    };
    let sides = if e.extra.each_side { 2.0 } else { 1.0 };
    let rest = match finite(e.extra.rest_s) {
        Some(s) => Span { low: s, high: s },
        None if movement.multi_joint => Span { low: c.rest_multi_low_s, high: c.rest_multi_high_s },
        None => Span { low: c.rest_single_low_s, high: c.rest_single_high_s },
    };
    // "Each side" doubles the time: the second side rests while the first works (low) or takes its own rest (high).
    (Span { low: low * each * sides, high: high * each * sides }, rest.times(1.0, sides))
}

/// Longest work of a set, longest rest after it, and setting up, s.
pub(crate) fn longest_s(entry: &answer::Entry, movement: &MovementCredit, c: &Constants) -> (f64, f64, f64) {
    let (set, rest) = set_and_rest(entry, movement, c);
    (set.high, rest.high, movement.setup_s.max(0.0))
}

fn exercise<'a>(line: &'a Line, table: &'a Table, c: &Constants) -> Exercise<'a> {
    let movement = &table.movements[line.movement];
    let (set, rest) = set_and_rest(&line.entry, movement, c);
    let sets = Span { low: line.effort.sets.low, high: line.effort.sets.high };
    Exercise { line, movement, set, rest, sets, setup_s: movement.setup_s.max(0.0) }
}

impl Exercise<'_> {
    fn work(&self, c: &Constants) -> Span {
        let further = self.between();
        self.set.times(self.sets.low, self.sets.high).plus(further.times(c.further_set_s, c.further_set_s))
    }
    /// Rests between sets.
    fn between(&self) -> Span {
        Span { low: (self.sets.low - 1.0).max(0.0), high: (self.sets.high - 1.0).max(0.0) }
    }
    fn resting(&self) -> Span {
        let n = self.between();
        self.rest.times(n.low, n.high)
    }
}

/// Letter of a pair mark: "A1" and "A2" belong together.
fn pair_key(line: &Line) -> Option<String> {
    let mark = line.entry.extra.pair.as_deref()?.trim();
    let key: String = mark.chars().take_while(|ch| ch.is_alphabetic()).collect();
    Some(if key.is_empty() { mark.to_string() } else { key.to_uppercase() })
}

/// Whether two exercises may share their rest.
fn may_share(a: &Exercise, b: &Exercise, table: &Table, c: &Constants) -> bool {
    let station = |e: &Exercise| -> Vec<String> {
        e.movement.equipment.iter().filter(|q| !PORTABLE.contains(&q.as_str())).cloned().collect()
    };
    let mine = station(a);
    let same_station = station(b).iter().any(|s| mine.contains(s));
    let cells = |e: &Exercise| &table.cells[e.line.movement];
    let same_head = cells(a)
        .iter()
        .zip(cells(b))
        .any(|(x, y)| x.mechanics.mid >= c.strong_credit && y.mechanics.mid >= c.strong_credit);
    !same_station && !same_head
}

/// Whether two rows may share their rest: no common station, no head strongly trained by both.
pub(crate) fn share_rest(a: &Line, b: &Line, table: &Table, c: &Constants) -> bool {
    may_share(&exercise(a, table, c), &exercise(b, table, c), table, c)
}

/// Minutes of one day's lines, in the order written.
pub(crate) fn day_minutes<'a>(lines: impl Iterator<Item = &'a Line>, table: &Table, c: &Constants) -> Minutes {
    let all: Vec<Exercise> = lines.map(|l| exercise(l, table, c)).filter(|e| e.sets.high > 0.0).collect();
    let mut total = Span::default();
    let mut blocks: Vec<Vec<&Exercise>> = Vec::new();
    for e in &all {
        let key = pair_key(e.line);
        match blocks.iter_mut().find(|b| key.is_some() && pair_key(b[0].line) == key) {
            Some(block) => block.push(e),
            None => blocks.push(vec![e]),
        }
    }
    for (i, block) in blocks.iter().enumerate() {
        let sharing = block.iter().enumerate().all(|(n, a)| block[n + 1..].iter().all(|b| may_share(a, b, table, c)));
        let mut rest = Span::default();
        for e in block {
            total = total.plus(e.work(c)).plus(Span { low: e.setup_s, high: e.setup_s });
            rest = if sharing { rest.max(e.resting()) } else { rest.plus(e.resting()) };
        }
        total = total.plus(rest);
        if i > 0 {
            total.high += blocks[i - 1].iter().map(|e| e.rest.high).fold(0.0, f64::max);
        }
    }
    Minutes { low: total.low / 60.0, high: total.high / 60.0, available: None }
}

/// Minutes per day of the plan; days of the same name in several weeks are averaged.
pub(crate) fn minutes(plan: &Plan, table: &Table, c: &Constants) -> std::collections::BTreeMap<String, Minutes> {
    let mut out: std::collections::BTreeMap<String, (Minutes, f64)> = std::collections::BTreeMap::new();
    for (index, (_, day)) in plan.days.iter().enumerate() {
        let m = day_minutes(plan.lines.iter().filter(|l| l.day == index), table, c);
        let (sum, count) = out.entry(day.clone()).or_default();
        sum.low += m.low;
        sum.high += m.high;
        *count += 1.0;
    }
    out.into_iter()
        .map(|(day, (sum, n))| (day, Minutes { low: sum.low / n, high: sum.high / n, available: None }))
        .collect()
}
