//! Text of `proof`.

use super::table::{Row, numbers, table, whole, words};
use super::text::{Page, many, number};
use crate::terminal::Ink;
use answer::ProofRow;
use desk::Proof;
use proof::{Share, Summary};

/// Groups with their shares; with `rows` every comparison under its group.
pub fn proof(p: &Proof, rows: bool, ink: Ink) -> String {
    let mut page = Page::default();
    let (all, passed) = p.summaries.iter().fold((0, 0), |(a, b), s| (a + s.all.rows, b + s.all.passed));
    page.line(&ink.bold(&format!("{passed} of {} lie inside the spread stated with them.", many(all, "row", "rows"))));
    page.gap();
    let cols = [words("Group"), numbers("Rows"), numbers("Inside"), numbers("Share"), whole("Goal")];
    page.lines(&table(&cols, &p.summaries.iter().flat_map(|s| lines(s, rows)).collect::<Vec<Row>>()));
    if !rows {
        page.gap();
        page.prose("Every row of a group: lengthwise proof --group NAME. Only the misses: --misses.");
        return page.text;
    }
    for s in &p.summaries {
        let own: Vec<&ProofRow> = p.rows.iter().filter(|r| r.group == s.group).collect();
        if own.is_empty() {
            continue;
        }
        page.gap();
        page.line(&ink.bold(&s.title));
        let cols = [whole("Case"), numbers("Ours"), whole("Published"), whole("")];
        page.lines(&table(&cols, &own.iter().map(|r| case(r)).collect::<Vec<Row>>()));
        for (rule, n) in &s.left_out {
            page.item(&format!("left out, {n}: {rule}"));
        }
    }
    page.text
}

/// A group; rows used in fitting and rows that were not, where both stand in it; with `parts` the shares by part.
fn lines(s: &Summary, parts: bool) -> Vec<Row> {
    let left: usize = s.left_out.values().sum();
    let mut first = line(&s.group, &s.all);
    first.below.push(match left {
        0 => s.title.clone(),
        n => format!("{}; {} left out by stated rules", s.title, many(n, "row", "rows")),
    });
    let parts = s.parts.iter().chain(&s.origins).filter(|_| parts);
    std::iter::once(first).chain(s.fits.iter().chain(parts).map(|f| line(word(&f.name), f))).collect()
}

fn word(name: &str) -> &str {
    match name {
        "fitted" => "used in fitting",
        "held out" => "not used in fitting",
        other => other,
    }
}

fn line(name: &str, s: &Share) -> Row {
    let percent = |v: f64| format!("{} %", number(v * 100.0, 0));
    let goal = s
        .goal
        .map_or(String::new(), |g| format!("{}{}", percent(g), if s.meets_goal() { ", met" } else { ", not met" }));
    Row::new(vec![name.into(), s.rows.to_string(), s.passed.to_string(), percent(s.share()), goal])
}

/// One comparison: what, ours, published with the tolerance, whether it lies inside.
fn case(r: &ProofRow) -> Row {
    let digits = digits(r);
    let mut about = vec![r.part.clone(), r.note.clone(), r.source.clone()];
    about.retain(|t| !t.is_empty());
    let mut below = vec![about.join("; ")];
    if !r.reason.is_empty() {
        below.push(format!("believed cause: {}", r.reason));
    }
    let published = match (r.unit.as_str(), r.tolerance) {
        ("sign", _) => "holds".into(),
        (unit, 0.0) => format!("{} {unit}", figure(r.published, digits)),
        (unit, t) => format!("{} ± {} {unit}", figure(r.published, digits), figure(t, digits)),
    };
    let ours = match (r.value, r.unit.as_str()) {
        (None, _) => "cannot say".into(),
        (Some(v), "sign") => if v > 0.0 { "holds" } else { "fails" }.into(),
        (Some(v), _) => figure(v, digits),
    };
    let verdict = match (r.pass, r.fitted) {
        (true, true) => "inside, used in fitting",
        (true, false) => "inside",
        (false, true) => "MISS, used in fitting",
        (false, false) => "MISS",
    };
    Row { cells: vec![r.id.clone(), ours, published, verdict.into()], below }
}

/// Decimals that show a tenth of the tolerance.
fn digits(r: &ProofRow) -> usize {
    let small = if r.tolerance > 0.0 { r.tolerance } else { r.published.abs() };
    (1.0 - small.max(1e-9).log10().floor()).clamp(0.0, 4.0) as usize
}

/// Tiny numbers as powers of ten.
fn figure(v: f64, digits: usize) -> String {
    if v != 0.0 && v.abs() < 1e-3 { format!("{v:.1e}").replace('-', "−") } else { number(v, digits) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::text::{WIDTH, columns};

    fn invented() -> Proof {
        let row = |id: &str, value: f64, pass: bool| ProofRow {
            group: "moment-arms".into(),
            id: id.into(),
            source: "an invented source".into(),
            how: "invented".into(),
            value: Some(value),
            published: 20.0,
            tolerance: 5.0,
            unit: "mm".into(),
            pass,
            part: "knee flexion".into(),
            ..ProofRow::default()
        };
        let share = |name: &str, goal| Share { name: name.into(), rows: 2, passed: 1, goal };
        let summary = Summary {
            group: "moment-arms".into(),
            title: "Lever arms of muscles".into(),
            all: share("all", None),
            fits: vec![share("fitted", Some(0.85)), share("held out", Some(0.5))],
            parts: Vec::new(),
            origins: Vec::new(),
            left_out: [("a rule".to_string(), 3)].into(),
        };
        let sign = ProofRow { unit: "sign".into(), tolerance: 0.0, published: 1.0, ..row("a-sign", -1.0, false) };
        let tiny = ProofRow { unit: "error".into(), tolerance: 1e-9, published: 0.0, ..row("tiny", 3.2e-13, true) };
        let two = ProofRow { reason: "an invented cause".into(), ..row("two", -3.0, false) };
        Proof { summaries: vec![summary], rows: vec![row("one", 18.4, true), two, sign, tiny], extra: Vec::new() }
    }

    #[test]
    fn a_miss_is_a_miss_and_the_goal_stands_beside() {
        let text = proof(&invented(), true, Ink::PLAIN);
        assert!(text.lines().all(|l| columns(l) <= WIDTH), "{text}");
        insta::assert_snapshot!(text);
    }
}
