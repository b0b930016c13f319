//! Text of `compare`.

use super::look::body_line;
use super::table::{Column, Row, numbers, table, words};
use super::text::{Page, WIDTH, range, settings_line, short, signed, wrap};
use crate::terminal::Ink;
use answer::{Class, Compare, HeadDifference, Look};

/// Which heads differ by more than their ranges, then which do not.
pub fn compare(c: &Compare, all_heads: bool, ink: Ink) -> String {
    let mut page = Page::default();
    wrap(&format!("{}.", figure::compare_finding(c)), WIDTH, "", "").iter().for_each(|line| page.line(&ink.bold(line)));
    if let Some(first) = c.looks.first() {
        wrap(&format!("For {}.", body_line(&first.body)), WIDTH, "", "").iter().for_each(|l| page.line(&ink.dim(l)));
    }
    page.gap();
    for (i, l) in c.looks.iter().enumerate() {
        let settings = if l.settings.is_empty() { String::new() } else { format!("; {}", settings_line(&l.settings)) };
        let unit = if l.load_unit.is_empty() { "kg" } else { &l.load_unit };
        let limit =
            if l.limiting_joint.is_empty() { String::new() } else { format!(", the {} limits", l.limiting_joint) };
        let text = format!("{} {}: {}\u{a0}{unit}{limit}{settings}", letter(i), l.name, short(l.load_kg, 1));
        page.lines(&wrap(&text, WIDTH, "", "  "));
    }
    let counts = |d: &HeadDifference, l: &Look| l.heads.iter().any(|h| h.id == d.id && h.class > Class::Little);
    let shown = |d: &&HeadDifference| all_heads || c.looks.iter().any(|l| counts(d, l));
    let (matters, rest): (Vec<&HeadDifference>, Vec<&HeadDifference>) =
        c.differences.iter().filter(shown).partition(|d| d.matters);
    for (title, heads) in [("Matters: the difference is larger than the ranges", matters), ("Does not matter", rest)] {
        page.gap();
        page.line(title);
        if heads.is_empty() {
            page.line("  no head");
        } else {
            page.lines(&heads_table(heads, c.looks.len()));
        }
    }
    if !all_heads && c.differences.iter().any(|d| !shown(&d)) {
        page.prose("Heads that get little from all of them are not shown; --all-heads shows them.");
    }
    page.gap();
    page.prose("Stimulus per hard set, 1 is the head's own reference movement; change is last minus first.");
    for l in &c.looks {
        page.list(&format!("Look out for: {}", l.name), &l.cautions);
    }
    page.text
}

/// A, B, C … for the compared movements.
fn letter(i: usize) -> char {
    u8::try_from(i).ok().filter(|i| *i < 26).map_or('?', |i| char::from(b'A' + i))
}

fn heads_table(mut heads: Vec<&HeadDifference>, movements: usize) -> Vec<String> {
    heads.sort_by(|a, b| b.change.abs().total_cmp(&a.change.abs()).then(a.id.cmp(&b.id)));
    let mut cols = vec![words("Head")];
    cols.extend((0..movements).map(|i| numbers(&letter(i).to_string())).collect::<Vec<Column>>());
    cols.push(numbers("Change"));
    let rows: Vec<Row> = heads
        .iter()
        .map(|d| {
            let mut cells = vec![d.plain.clone()];
            cells.extend(d.stimulus.iter().map(|s| range(*s, 2)));
            cells.push(signed(d.change, 2));
            Row::new(cells)
        })
        .collect();
    table(&cols, &rows)
}

#[cfg(test)]
mod tests {
    use super::super::invented;
    use super::*;

    #[test]
    fn what_matters_stands_apart_from_what_does_not() {
        insta::assert_snapshot!(compare(&invented::compare(), false, Ink::PLAIN));
    }
}
