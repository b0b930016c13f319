//! Text of `lay-out`.

use super::audit::flag;
use super::table::{Row, numbers, table, words};
use super::text::{Page, WIDTH, number, short, wrap};
use crate::terminal::Ink;
use answer::{LayOut, LayOutRow, LayOutWeek};

/// Flags, the rule, then each exercise with its weeks, its range of repetitions and why.
pub fn lay_out(out: &LayOut, ink: Ink) -> String {
    let mut page = Page::default();
    out.flags.iter().for_each(|f| flag(&mut page, f, ink));
    page.gap();
    let demo = if out.demo && !out.client.contains("invented") { " (invented)" } else { "" };
    let name = if out.client.is_empty() { "a client" } else { &out.client };
    let title = match out.weeks {
        0 => format!("Nothing is laid out for {name}{demo}."),
        n => format!("{n} weeks for {name}{demo}: {}.", out.rule.name.to_lowercase()),
    };
    wrap(&title, WIDTH, "", "").iter().for_each(|line| page.line(&ink.bold(line)));
    if out.weeks > 0 {
        let rule = &out.rule;
        let known = if rule.source == rule.how { rule.how.clone() } else { format!("{}; {}", rule.source, rule.how) };
        page.prose(&format!("When {}: {} ({known}).", rule.trigger, rule.action));
    }
    let mut day = "";
    for row in &out.rows {
        if row.day != day {
            day = &row.day;
            page.gap();
            page.line(&ink.bold(if day.is_empty() { "The week" } else { day }));
        }
        exercise(&mut page, row);
    }
    let messages: Vec<String> = out.messages.iter().map(|m| format!("{}: {}", m.level, m.text)).collect();
    page.list("About the file", &messages);
    page.list("How this was reckoned", &out.notes);
    page.text
}

fn exercise(page: &mut Page, row: &LayOutRow) {
    page.gap();
    let unit = if row.reps_unit == "reps" { "repetitions" } else { &row.reps_unit };
    page.prose(&format!("{}: {}–{} {unit}", row.name, short(row.reps_low, 0), short(row.reps_high, 0)));
    page.lines(&wrap(&row.range_reason, WIDTH, "  ", "  "));
    if let Some(one) = row.one_rep_kg {
        let range = super::text::range(one, 0);
        page.lines(&wrap(&format!("one repetition about {range} kg, from {}", row.basis), WIDTH, "  ", "  "));
    }
    // Weeks that are alike are told once.
    let mut blocks: Vec<(u32, u32, &LayOutWeek)> = Vec::new();
    for w in &row.weeks {
        match blocks.last_mut() {
            Some((_, to, b))
                if (b.sets, b.reps_low, b.reps_high, b.rir, b.load_kg)
                    == (w.sets, w.reps_low, w.reps_high, w.rir, w.load_kg) =>
            {
                *to = w.week
            }
            _ => blocks.push((w.week, w.week, w)),
        }
    }
    let rows: Vec<Row> = blocks
        .iter()
        .map(|(from, to, w)| {
            let weeks = if from == to { format!("{from}") } else { format!("{from}–{to}") };
            let reps = if w.reps_low == w.reps_high {
                short(w.reps_low, 0)
            } else {
                format!("{}–{}", short(w.reps_low, 0), short(w.reps_high, 0))
            };
            let load = w.load_kg.map_or_else(|| "find it".into(), |kg| format!("{} kg", short(kg, 2)));
            Row::new(vec![format!("  {weeks}"), short(w.sets, 1), reps, load, number(w.rir, 0)])
        })
        .collect();
    let cols = [words("  Week"), numbers("Sets"), numbers("Reps"), numbers("Load"), numbers("In reserve")];
    page.lines(&table(&cols, &rows));
    row.notes.iter().for_each(|n| page.lines(&wrap(n, WIDTH, "  ! ", "    ")));
}
