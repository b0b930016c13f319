//! Text of `compare`.

use super::look::{body_line, read_as};
use super::table::{Column, Row, numbers, table, words};
use super::text::{Page, WIDTH, range, range_by, settings_list, short, short_range, signed, wrap};
use crate::terminal::Ink;
use answer::{Class, Compare, HeadDifference, Look, MATTERS_FROM, Range, joint_word};

/// Which heads differ in a way that matters, then which do not.
pub fn compare(c: &Compare, all_heads: bool, ink: Ink) -> String {
    let mut page = Page::default();
    wrap(&format!("{}.", figure::compare_finding(c)), WIDTH, "", "").iter().for_each(|line| page.line(&ink.bold(line)));
    if let Some(first) = c.looks.first() {
        wrap(&format!("For {}.", body_line(&first.body)), WIDTH, "", "").iter().for_each(|l| page.line(&ink.dim(l)));
    }
    c.looks.iter().for_each(|l| read_as(&mut page, l));
    page.gap();
    let (names, keys) = (figure::variant_labels(&c.looks), figure::differing_keys(&c.looks));
    for (i, l) in c.looks.iter().enumerate() {
        let own = settings_list(l.settings.iter().filter(|(k, _)| keys.contains(k)));
        let settings = if own.is_empty() { own } else { format!("; {own}") };
        let unit = if l.load_unit.is_empty() { "kg" } else { &l.load_unit };
        let limit = if l.limiting_joint.is_empty() {
            String::new()
        } else {
            format!(", the {} limits", joint_word(&l.limiting_joint))
        };
        let text = format!("{} {}: {}\u{a0}{unit}{limit}{settings}", letter(i), names[i], short_range(l.load_range, 1));
        page.lines(&wrap(&text, WIDTH, "", "  "));
    }
    let alike =
        c.looks.first().map_or(String::new(), |l| settings_list(l.settings.iter().filter(|(k, _)| !keys.contains(k))));
    if !alike.is_empty() {
        page.lines(&wrap(&format!("Alike: {alike}"), WIDTH, "", "  "));
    }
    let counts = |d: &HeadDifference, l: &Look| l.heads.iter().any(|h| h.id == d.id && h.class > Class::Little);
    let shown = |d: &&HeadDifference| all_heads || c.looks.iter().any(|l| counts(d, l));
    let (matters, rest): (Vec<&HeadDifference>, Vec<&HeadDifference>) =
        c.differences.iter().filter(shown).partition(|d| d.matters);
    let rule = format!(
        "Matters: neither middle value lies in the other's range, and the change is at least {}",
        short(MATTERS_FROM, 2)
    );
    for (title, heads) in [(rule.as_str(), matters), ("Does not matter", rest)] {
        page.gap();
        page.prose(title);
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
    let more = if c.looks.len() == 2 { "" } else { "; its range is in --json" };
    page.prose(&format!(
        "Stimulus per hard set, 1 is the head's own reference movement; change is last minus first, the same person doing \
         both{more}."
    ));
    let alike = c.looks.windows(2).all(|w| w[0].cautions == w[1].cautions);
    for (i, l) in c.looks.iter().enumerate().take(if alike { 1 } else { usize::MAX }) {
        let of = if alike { "all of them" } else { &names[i] };
        page.list(&format!("Look out for: {of}"), &l.cautions);
    }
    page.text
}

/// A, B, C … for the compared movements.
fn letter(i: usize) -> char {
    u8::try_from(i).ok().filter(|i| *i < 26).map_or('?', |i| char::from(b'A' + i))
}

/// "−0.36 (−0.51 to −0.20)".
fn change(r: Range) -> String {
    range_by(r, |v| signed(v, 2))
}

fn heads_table(mut heads: Vec<&HeadDifference>, movements: usize) -> Vec<String> {
    let low = |d: &HeadDifference| d.low_confidence();
    heads.sort_by(|a, b| low(a).cmp(&low(b)).then(b.change.abs().total_cmp(&a.change.abs())).then(a.id.cmp(&b.id)));
    let mut cols = vec![words("Head")];
    cols.extend((0..movements).map(|i| numbers(&letter(i).to_string())).collect::<Vec<Column>>());
    cols.push(numbers("Change"));
    let rows: Vec<Row> = heads
        .iter()
        .map(|d| {
            let low = if d.low_confidence() { " (low confidence)" } else { "" };
            let mut cells = vec![format!("{}{low}", d.plain)];
            cells.extend(d.stimulus.iter().map(|s| range(*s, 2)));
            // Two movements leave room for the range of the change.
            cells.push(if movements == 2 { change(d.change_range) } else { signed(d.change, 2) });
            Row::new(cells)
        })
        .collect();
    table(&cols, &rows)
}

#[cfg(test)]
mod tests {
    use super::*;
    use desk::invented;

    #[test]
    fn what_matters_stands_apart_from_what_does_not() {
        insta::assert_snapshot!(compare(&invented::compare(), false, Ink::PLAIN));
    }
}
