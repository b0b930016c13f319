//! Text of `rank`.

use super::table::{Row, numbers, table, whole, words};
use super::text::{Page, WIDTH, class_mark, credit_columns, many, range, span, wrap};
use crate::terminal::Ink;
use answer::{Class, Rank, joint_word};

/// Left-out movements shown by name unless all are asked for.
const LEFT_OUT_SHOWN: usize = 5;

/// Movements from best to least; those of class "little" only on demand.
pub fn rank(r: &Rank, all: bool, ink: Ink) -> String {
    let mut page = Page::default();
    wrap(&format!("{}.", figure::rank_finding(r)), WIDTH, "", "").iter().for_each(|line| page.line(&ink.bold(line)));
    if let Some(kit) = &r.kit {
        page.lines(&wrap(&format!("With {kit}."), WIDTH, "", ""));
    }
    if !r.marks.is_empty() {
        page.prose(&format!(
            "Mind: {}. How the load is shared about shoulder blade, cuff and neck is known too little to trust the order \
             of near places.",
            r.marks.join(", ")
        ));
    }
    page.gap();
    let shown = |class: Class| all || class > Class::Little;
    let rows: Vec<Row> = (1..)
        .zip(&r.rows)
        .filter(|(_, row)| shown(row.class))
        .map(|(place, row)| {
            let mut below = row.reason.clone();
            let mut add = |text: String| {
                below.push_str(if below.is_empty() { "" } else { "; " });
                below.push_str(&text);
            };
            if !row.limiting_joint.is_empty() {
                add(format!("the {} ends the set", joint_word(&row.limiting_joint)));
            }
            if !row.equipment.is_empty() {
                add(format!("needs {}", row.equipment.join(", ")));
            }
            add(format!("credit: {}", credit_columns(&row.credit, 2)));
            Row {
                cells: vec![
                    place.to_string(),
                    row.name.clone(),
                    class_mark(row.class),
                    range(row.stimulus, 2),
                    span(row.length, 2),
                ],
                below: vec![below],
            }
        })
        .collect();
    if !rows.is_empty() {
        let cols = [numbers("#"), words("Movement"), whole("Class"), numbers("Stimulus"), numbers("Length")];
        page.lines(&table(&cols, &rows));
        page.prose("Lengths are middle values; look MOVEMENT --json gives their ranges.");
    }
    let hidden = r.rows.len() - rows.len();
    if hidden > 0 {
        let text = many(hidden, "movement that gives it little is", "movements that give it little are");
        page.prose(&format!("{text} not shown; --all shows them."));
    }
    let shown = if all { r.left_out.len() } else { LEFT_OUT_SHOWN.min(r.left_out.len()) };
    page.list("Left out", &r.left_out[..shown]);
    if shown < r.left_out.len() {
        page.item(&format!("and {} more; --all shows them", r.left_out.len() - shown));
    }
    page.text
}

#[cfg(test)]
mod tests {
    use super::*;
    use desk::invented;

    #[test]
    fn the_best_movement_is_the_finding() {
        insta::assert_snapshot!(rank(&invented::rank(), false, Ink::PLAIN));
    }
}
