//! Text of `rebuild` and of its `--what-if`.

use super::audit::{band, flag};
use super::table::{Row, numbers, table, whole, words};
use super::text::{Page, WIDTH, and, many, number, sentence_case, short, wrap};
use crate::terminal::Ink;
use answer::{HeadMove, Proven, Rebuild, RebuiltDay, RebuiltLine, WhatIf};

/// Moves of heads shown.
const MOVES_SHOWN: usize = 20;

/// Flags above everything; the finding, the week, what changes, the heads, what stays open, the proof.
pub fn rebuild(r: &Rebuild, ink: Ink) -> String {
    let mut page = Page::default();
    r.flags.iter().for_each(|f| flag(&mut page, f, ink));
    page.gap();
    let finding = format!("{}.", sentence_case(&r.finding));
    wrap(&finding, WIDTH, "", "").iter().for_each(|line| page.line(&ink.bold(line)));
    if let Some(after) = &r.after {
        let demo = if after.client.demo && !after.client.name.contains("invented") { " (invented)" } else { "" };
        let who = format!("For {}{demo}: {}.", after.client.name, after.client.summary);
        wrap(&who, WIDTH, "", "").iter().for_each(|line| page.line(&ink.dim(line)));
    }
    if let Some(clash) = &r.clash {
        page.list("The wishes", &clash.wishes);
        page.list("What frees them, the fewest wishes and the least of each", &clash.give_way);
        let proven = if clash.proven {
            "Fewer wishes would not do: proven by the solver."
        } else {
            "That fewer would not do is not proven: the solver was stopped at its limit of work."
        };
        page.gap();
        page.prose(proven);
        return page.text;
    }
    r.days.iter().for_each(|d| day(&mut page, d));
    page.list("Changes", &r.changes);
    heads(&mut page, r);
    page.list("Below its band, and why", &r.open);
    page.gap();
    page.prose(&proof(&r.proof));
    page.list("How this was reckoned", &r.notes);
    page.text
}

fn day(page: &mut Page, d: &RebuiltDay) {
    page.gap();
    let has = d.minutes.available.map_or(String::new(), |m| format!(" of {}", number(m, 0)));
    let time = if d.lines.is_empty() {
        "rest".to_string()
    } else {
        format!("{}–{}{has} min", number(d.minutes.low, 0), number(d.minutes.high, 0))
    };
    page.line(&format!("{}, {time}", d.day));
    let rows: Vec<Row> = d.lines.iter().map(line).collect();
    if !rows.is_empty() {
        page.lines(&table(&[words("Movement"), numbers("Sets"), whole("Reps"), whole("RIR"), whole("Rest")], &rows));
    }
}

fn line(l: &RebuiltLine) -> Row {
    let span = match (l.reps_low, l.reps_high) {
        (Some(a), Some(b)) if a != b => format!("{}–{}", short(a, 0), short(b, 0)),
        (Some(a), _) | (None, Some(a)) => short(a, 0),
        _ => "–".into(),
    };
    let unit =
        if l.reps_unit == "reps" || l.reps_unit.is_empty() { String::new() } else { format!(" {}", l.reps_unit) };
    let side = if l.each_side { " each side" } else { "" };
    let set: Vec<String> = l.settings.iter().map(|(k, v)| format!("{k}={v}")).collect();
    let set = if set.is_empty() { String::new() } else { format!(" ({})", set.join(", ")) };
    let mark = if l.new { " · new" } else { "" };
    let cells = vec![
        format!("{}{set}{mark}", l.name),
        l.sets.to_string(),
        format!("{span}{unit}{side}"),
        l.rir.map_or("–".into(), |r| short(r, 1)),
        l.rest_s.map_or("–".into(), |s| format!("{} s", short(s, 0))),
    ];
    let below =
        if l.cautions.is_empty() { Vec::new() } else { vec![format!("look out for: {}", l.cautions.join("; "))] };
    Row { cells, below }
}

fn heads(page: &mut Page, r: &Rebuild) {
    if r.heads.is_empty() {
        return;
    }
    page.gap();
    page.line("Credited sets a week by head");
    let rows = r.heads.iter().map(head_row).collect::<Vec<Row>>();
    let cols = [words("Head"), numbers("Before"), numbers("After"), whole("Band"), whole("Verdict")];
    page.lines(&table(&cols, &rows));
}

fn head_row(h: &HeadMove) -> Row {
    let plain = if h.plain.is_empty() { &h.head } else { &h.plain };
    let before = h.before.map_or("–".into(), |v| number(v, 1));
    let aim = format!("{} {}", h.aim, band(h.band));
    Row::new(vec![plain.clone(), before, number(h.after, 1), aim, h.verdict.clone()])
}

/// What is proven, in two sentences.
fn proof(p: &Proven) -> String {
    let present = match (p.present, p.present_breaks.is_empty()) {
        (None, _) => String::new(),
        (Some(v), true) => format!(" The present week is worth {}.", number(v, 1)),
        (Some(v), false) => {
            let list = p.present_breaks.join("; ");
            format!(" The present week would be worth {} and breaks limits: {list}.", number(v, 1))
        }
    };
    let stopped = if p.stopped { " The work was stopped early." } else { "" };
    format!(
        "Proof: the week is worth {} weighted credited sets (0 is no training); no week of the {} movements that may stand \
         in it, inside these limits, is worth more than {} (bound of the integer programme, {}). The gap is {}\u{a0}%. \
         Found by the {}.{present}{stopped}",
        number(p.value, 2),
        p.movements,
        number(p.bound, 2),
        many(p.nodes as usize, "node", "nodes"),
        number(100.0 * p.gap, 2),
        p.found_by,
    )
}

/// What moves for another body, kit or pain.
pub fn what_if(w: &WhatIf, ink: Ink) -> String {
    let mut page = Page::default();
    w.new_flags.iter().for_each(|f| flag(&mut page, f, ink));
    page.gap();
    let finding = format!("{}.", sentence_case(&w.finding));
    wrap(&finding, WIDTH, "", "").iter().for_each(|line| page.line(&ink.bold(line)));
    page.prose(&format!("Changed: {}.", and(&w.changed)));
    if !w.moved.is_empty() {
        page.gap();
        page.line("Credited sets a week of the present plan");
        let rows: Vec<Row> = w.moved.iter().take(MOVES_SHOWN).map(head_row).collect();
        let cols = [words("Head"), numbers("Before"), numbers("After"), whole("Band"), whole("Verdict")];
        page.lines(&table(&cols, &rows));
        if w.moved.len() > MOVES_SHOWN {
            page.prose(&format!("And {} more; --json has all.", w.moved.len() - MOVES_SHOWN));
        }
    }
    page.list("Because", &w.because);
    page.list("Barred by the change", &w.barred);
    if let Some(pair) = &w.rebuilt {
        page.gap();
        page.line(&ink.bold("The rebuilt week as things are"));
        page.prose(&format!("{}.", sentence_case(&pair.before.finding)));
        page.gap();
        page.line(&ink.bold("The rebuilt week with the change"));
        page.prose(&format!("{}.", sentence_case(&pair.after.finding)));
        pair.after.days.iter().for_each(|d| day(&mut page, d));
        heads(&mut page, &pair.after);
        if pair.after.clash.is_none() {
            page.gap();
            page.prose(&proof(&pair.after.proof));
        }
    }
    page.list("How this was reckoned", &w.notes);
    page.text
}
