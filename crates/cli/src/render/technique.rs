//! Text of `technique`.

use super::text::{Page, WIDTH, number, short, wrap};
use crate::terminal::Ink;
use answer::{TechniqueItem, TechniqueRow};
use proof::technique::share;

/// Shares of all rows first, then the rows shown.
pub fn technique(all: &[TechniqueRow], shown: &[TechniqueRow], ink: Ink) -> String {
    let mut page = Page::default();
    let test = |r: &TechniqueRow| r.purpose == "test";
    let blind = |r: &TechniqueRow| r.angle_rule_fails == "yes";
    page.line(&ink.bold(&counted("Rows to test", share(all, test))));
    page.prose(&counted("of them where joint angles alone must fail", share(all, |r| test(r) && blind(r))));
    page.prose(&counted("Rows to discuss", share(all, |r| !test(r))));
    page.prose(&counted("Rows to test of which every lift could be worked out", share(all, |r| test(r) && said(r))));
    for r in shown {
        page.gap();
        row(&mut page, r, ink);
    }
    page.text
}

/// Whether the program has an answer for every item.
fn said(r: &TechniqueRow) -> bool {
    r.items.iter().all(|i| i.before.is_some())
}

fn counted(what: &str, (right, rows): (usize, usize)) -> String {
    let percent = if rows == 0 { 0.0 } else { 100.0 * right as f64 / rows as f64 };
    format!("{what}: {right} of {rows} right ({}\u{a0}%).", number(percent, 0))
}

fn row(page: &mut Page, r: &TechniqueRow, ink: Ink) {
    let verdict = if r.right { "right" } else { "WRONG" };
    let title = format!("{} {verdict}: {}", r.id, r.statement);
    wrap(&title, WIDTH, "", "  ").iter().for_each(|l| page.line(&ink.bold(l)));
    let what = match r.compare_to.as_str() {
        "" => format!("{}, {}", r.movement, r.setting_change),
        other => format!("from {} to {other}", r.movement),
    };
    let held = if r.held_equal.is_empty() { String::new() } else { format!("; kept equal: {}", r.held_equal) };
    let loads = if r.loads.is_empty() { String::new() } else { format!("; {}", r.loads) };
    page.lines(&wrap(&format!("{what}{held}{loads}."), WIDTH, "  ", "  "));
    for i in &r.items {
        page.lines(&wrap(&item(i), WIDTH, "  - ", "    "));
        if !i.right {
            let cause =
                if i.reason.is_empty() { "no cause is known".into() } else { format!("{}: {}", i.class, i.reason) };
            page.lines(&wrap(&cause, WIDTH, "    ", "    "));
        }
    }
    if !r.note.is_empty() {
        page.lines(&wrap(&r.note, WIDTH, "  ", "  "));
    }
    let blind = match r.angle_rule_fails.as_str() {
        "yes" => "joint angles alone must fail",
        "partly" => "joint angles alone see a part",
        _ => "joint angles alone may see it",
    };
    let about = format!("to {}; {blind}; {} ({}, confidence {})", r.purpose, r.source, r.how, r.confidence);
    wrap(&about, WIDTH, "  ", "  ").iter().for_each(|l| page.line(&ink.dim(l)));
}

fn item(i: &TechniqueItem) -> String {
    let numbers = match (i.before, i.after) {
        (Some(a), Some(b)) => {
            let digits = if a.abs().max(b.abs()) < 10.0 { 2 } else { 0 };
            format!(" ({} to {} {})", short(a, digits), short(b, digits), i.unit)
        }
        _ => String::new(),
    };
    let mark = match i.right {
        true => String::new(),
        false if !i.by_activation.is_empty() && i.by_activation != i.ours => {
            format!("; by activation alone {}, WRONG", i.by_activation)
        }
        false => ", WRONG".into(),
    };
    format!("{}: expected {}, ours {}{numbers}{mark}", i.item.replacen(':', " ", 1), i.expected, i.ours)
}
