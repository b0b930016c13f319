//! Text of `propose`.

use super::audit::{coach_first, flag, in_coachs_words, proposals};
use super::table::{Row, numbers, table, whole, words};
use super::text::{Page, WIDTH, many, number, range, wrap};
use crate::terminal::Ink;
use answer::{GroupRow, Propose, WeekSums};

/// Gaps shown before the proposals.
const GAPS_SHOWN: usize = 3;

/// Flags above everything; then what is to be changed and why, what the week is after it, what stays open.
pub fn propose(p: &Propose, ink: Ink) -> String {
    let mut page = Page::default();
    p.flags.iter().for_each(|f| flag(&mut page, f, ink));
    page.gap();
    wrap(&finding(p), WIDTH, "", "").iter().for_each(|line| page.line(&ink.bold(line)));
    let name = if p.client.name.is_empty() { "an unnamed client" } else { &p.client.name };
    let demo = if p.client.demo && !name.contains("invented") { " (invented demo client)" } else { "" };
    let who = format!("For {name}{demo}: {}. {}.", p.client.summary, super::text::sentence_case(&p.week));
    wrap(&who, WIDTH, "", "").iter().for_each(|line| page.line(&ink.dim(line)));
    if !p.gaps.is_empty() {
        page.gap();
        page.line("Why");
        p.gaps.iter().take(GAPS_SHOWN).for_each(|g| page.item(&coach_first(&g.reason, &g.head, &g.plain)));
        if p.gaps.len() > GAPS_SHOWN {
            page.item(&format!("and {} more; lengthwise audit shows them", p.gaps.len() - GAPS_SHOWN));
        }
    }
    proposals(&mut page, &p.proposals, &p.names);
    if p.applied > 0 {
        after(&mut page, p);
    }
    let messages: Vec<String> = p.messages.iter().map(|m| format!("{}: {}", m.level, m.text)).collect();
    page.list("About the file", &messages);
    let notes: Vec<String> = p.notes.iter().map(|n| in_coachs_words(n, &p.names)).collect();
    page.list("How this was reckoned", &notes);
    page.text
}

fn finding(p: &Propose) -> String {
    match p.proposals.len() {
        0 if p.flags.iter().any(|f| f.level == "stop") => "Nothing is proposed until the stop is lifted.".into(),
        0 => "Change nothing: no edit of this week is worth its price.".into(),
        n => format!(
            "{} for this week; with {} of them {} below their band instead of {}.",
            super::text::sentence_case(&many(n, "change", "changes")),
            p.applied,
            many(p.after.short_heads as usize, "head is", "heads are"),
            p.before.short_heads
        ),
    }
}

/// Groups and days before and after, where they change.
fn after(page: &mut Page, p: &Propose) {
    let of = |w: &WeekSums, g: &str| w.groups.iter().find(|r| r.group == g).cloned();
    let rows: Vec<Row> = p
        .before
        .groups
        .iter()
        .filter_map(|b| of(&p.after, &b.group).map(|a| (b, a)))
        .filter(|(b, a)| (b.credited_sets.pooled.mid - a.credited_sets.pooled.mid).abs() >= 0.05)
        .map(|(b, a): (&GroupRow, GroupRow)| {
            let sets = |g: &GroupRow| range(g.credited_sets.pooled, 1);
            let aim = format!("{} {}", a.aim, super::audit::band(a.band));
            Row::new(vec![b.group.clone(), sets(b), sets(&a), aim, a.verdict.clone()])
        })
        .collect();
    page.gap();
    page.line(&format!("With the first {} taken", many(p.applied as usize, "proposal", "proposals")));
    if !rows.is_empty() {
        let cols = [words("Group"), numbers("Before"), numbers("After"), whole("Band"), whole("Verdict")];
        page.lines(&table(&cols, &rows));
    }
    let days: Vec<Row> = p
        .after
        .minutes
        .iter()
        .map(|(day, m)| {
            let span = |m: &answer::Minutes| format!("{}–{}", number(m.low, 0), number(m.high, 0));
            let was = p.before.minutes.get(day).map_or_else(|| "–".into(), span);
            let has = m.available.map_or_else(|| "not said".into(), |v| number(v, 0));
            Row::new(vec![day.clone(), was, span(m), has])
        })
        .collect();
    if !days.is_empty() {
        page.lines(&table(&[words("Day"), numbers("Minutes before"), numbers("After"), numbers("Has")], &days));
    }
}
