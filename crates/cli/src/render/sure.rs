//! Text of `sure`.

use super::table::{Row, numbers, table, words};
use super::text::{Page, many, wrap};
use crate::terminal::Ink;
use answer::{Agreement, GroupSure, MissClass, Sure};

/// Classes of misses shown per group; the rest is summed.
const CLASSES: usize = 6;

/// One line a group, or with `whole` everything about the groups.
pub fn sure(s: &Sure, whole: bool, ink: Ink) -> String {
    let mut page = Page::default();
    if whole {
        for g in &s.groups {
            page.gap();
            group(&mut page, g, ink);
        }
        return page.text;
    }
    page.line(&ink.bold("How sure are we?"));
    page.prose(
        "Comparisons with published numbers that touch a head of the group. Those that steered the program\u{2019}s own \
         tables stand apart; the words are about the others.",
    );
    page.gap();
    let cols = [words("Group"), numbers("Rows"), numbers("Inside"), words("Not steered by them")];
    let line = |g: &GroupSure| {
        let a = Agreement { kind: g.group.clone(), ..g.all.clone() };
        row(&a)
    };
    page.lines(&table(&cols, &s.groups.iter().map(line).collect::<Vec<Row>>()));
    page.gap();
    page.line("Of no single muscle");
    let cols = [words("Kind"), numbers("Rows"), numbers("Inside"), words("Not steered by them")];
    page.lines(&table(&cols, &s.general.iter().map(row).collect::<Vec<Row>>()));
    page.gap();
    page.prose("One group in full: lengthwise sure GROUP.");
    page.text
}

fn group(page: &mut Page, g: &GroupSure, ink: Ink) {
    page.line(&ink.bold(&g.group));
    page.prose(&g.sentence);
    page.gap();
    let cols = [words("Kind of comparison"), numbers("Rows"), numbers("Inside"), words("Not steered by them")];
    page.lines(&table(&cols, &g.kinds.iter().map(row).collect::<Vec<Row>>()));
    page.list(
        "Where it misses, and the cause we believe",
        &g.misses.iter().take(CLASSES).map(miss).collect::<Vec<_>>(),
    );
    let rest: usize = g.misses.iter().skip(CLASSES).map(|m| m.rows).sum();
    if rest > 0 {
        page.item(&format!("and {} for other reasons: lengthwise proof --misses", many(rest, "miss", "misses")));
    }
    page.gap();
    page.line("What its numbers rest on");
    let b = &g.basis;
    page.item(&format!(
        "{} looked up, {} from memory, {} own estimates, {} fitted to published numbers, {} told in other words",
        b.looked_up, b.from_memory, b.own_estimate, b.fitted, b.other
    ));
    let low: Vec<String> = g.low_confidence.iter().map(|l| format!("{} ({}): {}", l.plain, l.head, l.why)).collect();
    page.list("Low confidence", &low);
    page.gap();
    page.lines(&wrap(&format!("Heads: {}", g.heads.join(", ")), super::text::WIDTH, "", "  "));
}

fn row(a: &Agreement) -> Row {
    let (free, inside) = (a.rows - a.fitted_rows, a.inside - a.fitted_inside);
    let untouched = if free == 0 { a.words.clone() } else { format!("{inside} of {free}: {}", a.words) };
    Row::new(vec![a.kind.clone(), a.rows.to_string(), a.inside.to_string(), untouched])
}

fn miss(m: &MissClass) -> String {
    format!("{} ({}): {}", many(m.rows, "row", "rows"), m.kinds.join(", "), m.reason)
}

#[cfg(test)]
mod tests {
    use super::super::text::{WIDTH, columns};
    use super::*;
    use desk::invented;

    #[test]
    fn the_sentence_stands_first_and_every_share_has_its_rows() {
        for whole in [true, false] {
            let text = sure(&invented::sure(), whole, Ink::PLAIN);
            assert!(text.lines().all(|l| columns(l) <= WIDTH), "{text}");
            insta::assert_snapshot!(text);
        }
    }
}
