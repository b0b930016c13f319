//! Text of `rank --search`.

use super::look::body_line;
use super::table::{Row, numbers, table, whole, words};
use super::text::{Page, WIDTH, class_mark, many, number, signed, wrap};
use crate::terminal::Ink;
use answer::{Class, Search, joint_word};

/// Left-out movements shown by name unless all are asked for.
const LEFT_OUT_SHOWN: usize = 5;

/// Movements by their best set-up; those of class "little" only on demand.
pub fn search(s: &Search, all: bool, ink: Ink) -> String {
    let mut page = Page::default();
    let gain = |r: &answer::SearchRow| r.stimulus - r.usual_stimulus;
    let title = match s.rows.first() {
        None => format!("No movement here works the {}.", s.plain),
        Some(r) => format!(
            "Best set-up for the {}: {}{}, {} of its reference movement.",
            s.plain,
            r.name,
            if r.settings.is_empty() { " as usually done" } else { " set up anew" },
            number(r.stimulus, 2)
        ),
    };
    wrap(&title, WIDTH, "", "").iter().for_each(|l| page.line(&ink.bold(l)));
    wrap(&format!("For {}.", body_line(&s.body)), WIDTH, "", "").iter().for_each(|l| page.line(&ink.dim(l)));
    if let Some(kit) = &s.kit {
        page.prose(&format!("With {kit}."));
    }
    if !s.marks.is_empty() {
        page.prose(&format!("Mind: {}.", s.marks.join(", ")));
    }
    page.gap();
    let shown = |class: Class| all || class > Class::Little;
    let rows: Vec<Row> = (1..)
        .zip(&s.rows)
        .filter(|(_, r)| shown(r.class))
        .map(|(place, r)| {
            let how = if r.settings.is_empty() {
                format!("as usual; {} other set-ups are no better", r.solved - r.refused)
            } else {
                let said: Vec<String> = r.settings.iter().map(|(k, v)| figure::setting_said_and_typed(k, v)).collect();
                format!("{}; as usual {} ({})", said.join(", "), number(r.usual_stimulus, 2), r.usual_class.word())
            };
            let ends = match r.limiting_joint.as_str() {
                "" | "none" => String::new(),
                j => format!("; the {} ends the set", joint_word(j)),
            };
            Row {
                cells: vec![
                    place.to_string(),
                    r.name.clone(),
                    class_mark(r.class),
                    number(r.stimulus, 2),
                    if r.settings.is_empty() { String::new() } else { signed(gain(r), 2) },
                ],
                below: vec![format!("{how}{ends}; needs {}", r.equipment.join(", "))],
            }
        })
        .collect();
    if !rows.is_empty() {
        let cols = [numbers("#"), words("Movement"), whole("Class"), numbers("Stimulus"), numbers("Gain")];
        page.lines(&table(&cols, &rows));
    }
    let hidden = s.rows.len() - rows.len();
    if hidden > 0 {
        let text = many(hidden, "movement that gives it little is", "movements that give it little are");
        page.prose(&format!("{text} not shown; --all shows them."));
    }
    let count = if all { s.left_out.len() } else { LEFT_OUT_SHOWN.min(s.left_out.len()) };
    page.list("Left out", &s.left_out[..count]);
    if count < s.left_out.len() {
        page.item(&format!("and {} more; --all shows them", s.left_out.len() - count));
    }
    page.gap();
    page.prose(
        "Middle values without ranges. A set-up is refused when a joint leaves its range, a place is not reached, or a \
         joint carries a quarter more force than as usually done. The model\u{2019}s best is a suggestion: look at it \
         first (lengthwise draw), and begin light.",
    );
    page.text
}
