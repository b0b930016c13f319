//! Text of `faults`.

use super::look::body_line;
use super::table::{Row, numbers, table, words};
use super::text::{Page, WIDTH, and, many, number, range, sentence_case, short, signed, wrap};
use crate::terminal::Ink;
use answer::{Fault, FaultExpected, FaultHead, FaultMoment, Faults, joint_word};

/// Heads and moments shown with each fault.
const HEADS: usize = 6;
const MOMENTS: usize = 3;

/// One block a fault, those that matter first.
pub fn faults(f: &Faults, ink: Ink) -> String {
    let mut page = Page::default();
    let matter = f.faults.iter().filter(|q| q.matters).count();
    let title = match f.faults.len() {
        0 => format!("{}: no fault of the list can be worked out here.", f.name),
        n => format!("{}: {matter} of {} matter.", f.name, many(n, "common fault", "common faults")),
    };
    wrap(&title, WIDTH, "", "").iter().for_each(|l| page.line(&ink.bold(l)));
    if !f.read_as.is_empty() {
        page.prose(&format!("{}.", f.read_as.trim_end_matches('.')));
    }
    wrap(&format!("For {}.", body_line(&f.body)), WIDTH, "", "").iter().for_each(|l| page.line(&ink.dim(l)));
    let (yes, no): (Vec<&Fault>, Vec<&Fault>) = f.faults.iter().partition(|q| q.matters);
    for fault in yes.into_iter().chain(no) {
        page.gap();
        block(&mut page, fault, ink);
    }
    let left: Vec<String> = f.left_out.iter().map(|l| format!("{}: {}", l.fault, l.why)).collect();
    page.list("Left out", &left);
    if !f.faults.is_empty() {
        page.gap();
        page.prose(
            "Stimulus of a hard set, 1 is the head\u{2019}s own reference movement, each way of lifting at its own hard \
             load; same load: the change when the weight stays as it was. What a fault does to the joints beyond their \
             moments is not worked out here.",
        );
    }
    page.text
}

fn block(page: &mut Page, f: &Fault, ink: Ink) {
    let verdict = if f.matters { "matters" } else { "does not matter" };
    let title = format!("{}: {verdict}", sentence_case(&f.fault));
    wrap(&title, WIDTH, "", "  ").iter().for_each(|l| page.line(&ink.bold(l)));
    let from = figure::setting_said(&f.setting, &f.from);
    let to = figure::setting_said_and_typed(&f.setting, &f.to);
    let usual = f.usual.as_ref().map_or(String::new(), |u| format!("; this movement\u{2019}s own value is {u}"));
    page.lines(&wrap(&format!("{from} becomes {to}{usual}."), WIDTH, "  ", "  "));
    page.lines(&wrap(&format!("{}.", sentence_case(&f.finding)), WIDTH, "  ", "  "));
    if !f.note.is_empty() {
        page.lines(&wrap(&format!("Mind: {}.", f.note), WIDTH, "  ", "  "));
    }
    let unit = &f.load_unit;
    let mut load =
        format!("Hard set {}\u{a0}{unit}, with the fault {}\u{a0}{unit}", range(f.load_from, 1), range(f.load_to, 1));
    if f.limiting_from != f.limiting_to {
        let [a, b] = [&f.limiting_from, &f.limiting_to].map(|j| joint_word(j));
        load.push_str(&format!("; the {b} ends it, not the {a}"));
    }
    page.lines(&wrap(&format!("{load}."), WIDTH, "  ", "  "));
    let rows: Vec<Row> = f.heads.iter().take(HEADS).map(head).collect();
    let cols = [words("Head"), numbers("Without"), numbers("With"), numbers("Same load"), words("")];
    if !rows.is_empty() {
        page.lines(&table(&cols, &rows));
    }
    let rows: Vec<Row> = f.moments.iter().take(MOMENTS).map(moment).collect();
    let cols = [words("Mean moment, N·m"), numbers("Without"), numbers("With"), numbers("Same load"), words("")];
    if !rows.is_empty() {
        page.lines(&table(&cols, &rows));
    }
    let cares = match f.coach_cares.as_str() {
        "yes" => "Coaches care",
        "no" => "Coaches do not care",
        _ => "Some coaches care",
    };
    let effect = if f.effect == "see name" { String::new() } else { format!("; they say: {}", f.effect) };
    page.lines(&wrap(&format!("{cares}: {}{effect}.", f.why_a_coach_cares), WIDTH, "  ", "  "));
    page.lines(&wrap(&agreement(f), WIDTH, "  ", "  "));
}

fn head(h: &FaultHead) -> Row {
    let low = if h.marks.iter().any(|m| m == answer::LOW_CONFIDENCE) { " (low confidence)" } else { "" };
    let same = h.change_at_same_load.map_or(String::new(), |c| format!("{} %", signed(c * 100.0, 0)));
    let verdict = if h.matters { "matters" } else { "" };
    Row::new(vec![format!("{}{low}", h.plain), range(h.from, 2), range(h.to, 2), same, verdict.into()])
}

fn moment(m: &FaultMoment) -> Row {
    let (joint, turn) = m.axis.split_once('.').unwrap_or((&m.axis, ""));
    let name = format!("{} {}", joint_word(joint), turn.replace('-', " "));
    let verdict = if m.matters { "matters" } else { "" };
    Row::new(vec![name, range(m.from, 0), range(m.to, 0), number(m.to_at_same_load_nm, 0), verdict.into()])
}

fn agreement(f: &Fault) -> String {
    if f.expected.is_empty() {
        return "Coaches name no head.".into();
    }
    let of = |word: &str| f.expected.iter().filter(|e| e.agree == word).collect::<Vec<_>>();
    let said = |list: &[&FaultExpected]| {
        let items: Vec<String> =
            list.iter().map(|e| format!("{} ({} expected, ours {})", e.plain, e.expected, e.ours)).collect();
        and(&items)
    };
    let (yes, same, no, mute) = (of("yes"), of("at the same load only"), of("no"), of("cannot say"));
    let all = f.expected.len();
    let mut out =
        format!("We agree with the coaches on {} of {}", short(yes.len() as f64, 0), many(all, "head", "heads"));
    if !same.is_empty() {
        let names: Vec<String> = same.iter().map(|e| format!("{} {}", e.plain, e.expected)).collect();
        out.push_str(&format!("; only while the load stays the same: {}", and(&names)));
    }
    if !no.is_empty() {
        out.push_str(&format!("; not on {}", said(&no)));
    }
    if !mute.is_empty() {
        let names: Vec<String> = mute.iter().map(|e| e.plain.clone()).collect();
        out.push_str(&format!("; nothing can be said of {}, whose joint is held or supported here", and(&names)));
    }
    out + "."
}
