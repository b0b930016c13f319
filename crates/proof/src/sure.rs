//! How sure the program can be of each coach group: the comparisons that touch its heads, the misses with their
//! reasons, and how the numbers of its heads are known. No word here is about one muscle: all are counts put into words.

use crate::cases::{CaseError, Table};
use crate::touched::Touched;
use answer::{Agreement, Basis, GroupSure, LowHead, MissClass, ProofRow, Sure};
use library::Library;

const HEAD_GROUPS: &str = include_str!("../../../data/anatomy/head_groups.csv");

/// Kinds of comparison in a coach's words, with the groups of cases behind them.
const KINDS: &[(&str, &[&str])] = &[
    ("lever arms", &["moment-arms", "shoulder-bounds"]),
    ("directions of pull", &["lines-of-action"]),
    ("which muscle does what at the shoulder", &["shoulder-signs"]),
    ("muscle and fibre lengths", &["operating-lengths", "length-facts"]),
    ("strength at the joint", &["torque-angle", "torque-facts"]),
    ("who carries how much", &["load-shares", "lesion-facts", "tendon-forces"]),
    ("joint moments in whole lifts", &["exercise-moments"]),
    ("loads lifted", &["strength-ratios"]),
    ("same posture, other force", &["joint-angle-proof"]),
    ("activity and growth between lifts", &["training-and-emg-facts"]),
    ("joint forces in living people", &["contact-forces"]),
    ("body lengths and masses", &["anthropometry"]),
    ("textbook problems", &["textbook-statics"]),
    ("other solvers", &["general-libraries"]),
];

/// A share is put into words from this many rows on.
pub const FEW: usize = 5;

/// Shares of agreement in words, from the largest down.
const WORDS: [(f64, &str); 5] = [
    (0.9, "agrees nearly always"),
    (0.75, "agrees mostly"),
    (0.6, "agrees more often than not"),
    (0.4, "agrees about half the time"),
    (0.2, "misses more often than not"),
];
const SELDOM: &str = "misses nearly always";
const FEW_WORDS: &str = "few comparisons";
const ALL_STEERED: &str = "none: all steered it";

/// Stands for misses without a reason.
const NO_REASON: &str = "no reason known";

/// All coach groups, in the order of the table. `rows`: what [`crate::prove`] makes of the shipped cases.
///
/// # Errors
/// A table that cannot be read.
pub fn sure(library: &Library, rows: &[ProofRow]) -> Result<Sure, CaseError> {
    let touched = Touched::new(library)?;
    let table = Table::parse("data/anatomy/head_groups.csv", HEAD_GROUPS)?;
    let mut groups = Vec::new();
    for row in table.rows().filter(|r| r.optional("kind") == "coach group") {
        let name = row.text("name")?;
        let heads: Vec<usize> =
            row.text("heads")?.split(';').filter_map(|id| library.tables.head_index(id.trim())).collect();
        let own: Vec<&ProofRow> =
            rows.iter().filter(|r| touched.heads_of(r).iter().any(|h| heads.contains(h))).collect();
        groups.push(group(library, name, &heads, &own));
    }
    let rest: Vec<&ProofRow> = rows.iter().filter(|r| touched.heads_of(r).is_empty()).collect();
    Ok(Sure { schema: String::new(), groups, general: kinds(&rest) })
}

fn group(library: &Library, name: &str, heads: &[usize], rows: &[&ProofRow]) -> GroupSure {
    let all = agreement("all", rows);
    let kinds = kinds(rows);
    let head = |h: &usize| &library.tables.heads[*h];
    GroupSure {
        group: name.into(),
        heads: heads.iter().map(|h| head(h).id.clone()).collect(),
        sentence: sentence(name, &all, &kinds),
        misses: misses(rows),
        basis: basis(library, heads),
        low_confidence: heads.iter().filter(|h| head(h).confidence_low).map(|h| low(library, *h)).collect(),
        all,
        kinds,
    }
}

/// Kind of a group of cases.
fn kind_of(group: &str) -> &'static str {
    KINDS.iter().find(|(_, groups)| groups.contains(&group)).map_or("other comparisons", |(kind, _)| kind)
}

fn kinds(rows: &[&ProofRow]) -> Vec<Agreement> {
    let mut out: Vec<Agreement> = KINDS
        .iter()
        .map(|(kind, _)| {
            agreement(kind, &rows.iter().copied().filter(|r| kind_of(&r.group) == *kind).collect::<Vec<_>>())
        })
        .filter(|a| a.rows > 0)
        .collect();
    out.sort_by_key(|x| std::cmp::Reverse(x.rows));
    out
}

fn agreement(kind: &str, rows: &[&ProofRow]) -> Agreement {
    let count = |keep: &dyn Fn(&ProofRow) -> bool| rows.iter().filter(|r| keep(r)).count();
    let mut out = Agreement {
        kind: kind.into(),
        rows: rows.len(),
        inside: count(&|r| r.pass),
        fitted_rows: count(&|r| r.fitted),
        fitted_inside: count(&|r| r.fitted && r.pass),
        words: String::new(),
    };
    let none_free = out.rows > 0 && out.rows == out.fitted_rows;
    out.words = if none_free { ALL_STEERED } else { words(share(&out)) }.into();
    out
}

/// Share of the rows that steered no fit; `None` where they are few.
fn share(a: &Agreement) -> Option<f64> {
    let free = a.rows - a.fitted_rows;
    (free >= FEW).then(|| (a.inside - a.fitted_inside) as f64 / free as f64)
}

fn words(share: Option<f64>) -> &'static str {
    let in_words = |s: f64| WORDS.iter().find(|(least, _)| s >= *least).map_or(SELDOM, |w| w.1);
    share.map_or(FEW_WORDS, in_words)
}

/// What a coach can say to a client.
fn sentence(name: &str, all: &Agreement, kinds: &[Agreement]) -> String {
    let judged: Vec<(&Agreement, f64)> = kinds.iter().filter_map(|k| share(k).map(|s| (k, s))).collect();
    let best = judged.iter().copied().reduce(|a, b| if b.1 > a.1 { b } else { a });
    let worst = judged.iter().copied().reduce(|a, b| if b.1 < a.1 { b } else { a });
    let free = all.rows - all.fitted_rows;
    if free == 0 {
        return format!(
            "{name}: every published number it is compared with has steered it, so nothing is tested here."
        );
    }
    let inside = all.inside - all.fitted_inside;
    let count = format!("{inside} of {free} published numbers that did not steer it lie inside their spread");
    let start = match words(share(all)) {
        FEW_WORDS => format!("{name}: few comparisons ({count}), so take what the program says as a guess"),
        words => format!("{name}: set beside what others have measured, the program {words} ({count})"),
    };
    match (best, worst) {
        (Some((b, bs)), Some((w, ws))) if bs > ws => {
            format!("{start}; trust it most on {}, least on {}.", b.kind, w.kind)
        }
        (Some((b, _)), _) => format!("{start}; only {} can be judged.", b.kind),
        _ => format!("{start}."),
    }
}

/// Misses by reason, most rows first; equal ones in the order of the report.
fn misses(rows: &[&ProofRow]) -> Vec<MissClass> {
    let mut out: Vec<MissClass> = Vec::new();
    for r in rows.iter().filter(|r| !r.pass) {
        let reason = if r.reason.is_empty() { NO_REASON } else { r.reason.as_str() };
        let at = out.iter().position(|c| c.reason == reason).unwrap_or_else(|| {
            out.push(MissClass { reason: reason.into(), ..MissClass::default() });
            out.len() - 1
        });
        let class = &mut out[at];
        class.rows += 1;
        class.ids.push(format!("{} {}", r.group, r.id));
        let kind = kind_of(&r.group).to_string();
        if !class.kinds.contains(&kind) {
            class.kinds.push(kind);
        }
    }
    out.sort_by_key(|x| std::cmp::Reverse(x.rows));
    out
}

/// How the numbers of heads are known: volume, fibre length, anchor, divisor and trained strength of each, every knot of
/// a table of lever arms, every point of a path.
fn basis(library: &Library, heads: &[usize]) -> Basis {
    let mut out = Basis::default();
    for &h in heads {
        let head = &library.tables.heads[h];
        let s = &head.sources;
        let single = [s.volume, s.fibre, s.anchor, s.divisor, s.strength].map(|i| (i, 1));
        let arms = head.hinges.iter().map(|t| (t.source, t.knots.len()));
        let paths = head.strands.iter().map(|t| (t.source, t.points.len()));
        for (source, count) in single.into_iter().chain(arms).chain(paths) {
            *bin(&mut out, &library.tables.sources[source].how) += count;
        }
    }
    out
}

/// The count that a "how known" text belongs to: fitted before all, else what it says first.
fn bin<'b>(b: &'b mut Basis, how: &str) -> &'b mut usize {
    let fitted = how.contains("fitted") && !how.contains("not fitted");
    match how {
        _ if fitted => &mut b.fitted,
        h if h.starts_with("looked-up") || h.starts_with("computed from looked-up") => &mut b.looked_up,
        h if h.starts_with("from-memory") => &mut b.from_memory,
        h if h.starts_with("own-estimate") || h.starts_with("start value own-estimate") => &mut b.own_estimate,
        _ => &mut b.other,
    }
}

fn low(library: &Library, h: usize) -> LowHead {
    let head = &library.tables.heads[h];
    let b = basis(library, &[h]);
    let all = b.looked_up + b.from_memory + b.own_estimate + b.fitted + b.other;
    let guess = b.own_estimate + b.from_memory;
    let why = format!(
        "{} region; its lever arms are known to about {:.0} mm either way, and {guess} of its {all} numbers are own \
         estimates or from memory",
        head.region.id(),
        head.arm_uncertainty_m * 1e3
    );
    LowHead { head: head.id.clone(), plain: head.plain.clone(), why }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::groups::ALL;

    #[test]
    fn every_group_of_cases_has_a_kind() {
        for g in ALL {
            assert_eq!(KINDS.iter().filter(|(_, groups)| groups.contains(&g.name)).count(), 1, "{}", g.name);
        }
    }

    #[test]
    fn shares_stand_in_words_and_few_rows_in_none() {
        let check = |rows: usize, inside: usize, fitted: usize, fitted_inside: usize, want: &str| {
            let a = Agreement { rows, inside, fitted_rows: fitted, fitted_inside, ..Agreement::default() };
            assert_eq!(words(share(&a)), want, "{rows} {inside} {fitted}");
        };
        check(4, 4, 0, 0, "few comparisons");
        check(100, 100, 96, 96, "few comparisons");
        check(10, 10, 0, 0, "agrees nearly always");
        check(20, 12, 10, 10, "misses more often than not");
        check(10, 0, 0, 0, "misses nearly always");
    }

    #[test]
    fn how_known_is_binned_by_what_steered_the_number() {
        let check = |how: &str, pick: fn(&Basis) -> usize| {
            let mut b = Basis::default();
            *bin(&mut b, how) += 1;
            assert_eq!(pick(&b), 1, "{how}");
        };
        check("looked-up second-hand fraction", |b| b.looked_up);
        check("from-memory high", |b| b.from_memory);
        check("own-estimate, fitted; about 8 mm", |b| b.fitted);
        check("own-estimate, not fitted: 1", |b| b.own_estimate);
        check("piriformis looked-up", |b| b.other);
    }

    fn row(group: &str, id: &str, pass: bool, fitted: bool, reason: &str) -> ProofRow {
        let (group, id, reason) = (group.into(), id.into(), reason.into());
        ProofRow { group, id, pass, fitted, reason, ..ProofRow::default() }
    }

    #[test]
    fn misses_stand_by_reason_the_largest_class_first() {
        let rows = [
            row("moment-arms", "a", false, false, "one"),
            row("moment-arms", "b", false, false, "two"),
            row("torque-angle", "c", false, true, "two"),
            row("torque-angle", "d", true, false, ""),
            row("torque-angle", "e", false, false, ""),
        ];
        let got = misses(&rows.iter().collect::<Vec<_>>());
        let short: Vec<(&str, usize, usize)> = got.iter().map(|c| (c.reason.as_str(), c.rows, c.kinds.len())).collect();
        assert_eq!(short, [("two", 2, 2), ("one", 1, 1), (NO_REASON, 1, 1)]);
        assert_eq!(got[0].ids, ["moment-arms b", "torque-angle c"]);
    }
}
