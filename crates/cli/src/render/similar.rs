//! Text of `similar`.

use super::look::body_line;
use super::table::{Row, numbers, table, words};
use super::text::{Page, WIDTH, many, number, sentence_case, wrap};
use crate::terminal::Ink;
use answer::{Similar, joint_word};

/// From here on two movements have less than half of their work in common.
const FAR: f64 = 0.5;

/// Nearest first, each with its one sentence.
pub fn similar(s: &Similar, ink: Ink) -> String {
    let mut page = Page::default();
    let title = match (s.rows.first(), &s.spare) {
        (None, _) => format!("Nothing found that does what {} does.", s.name),
        (Some(r), _) if r.distance > FAR => {
            let spare = s.spare.as_ref().map_or(String::new(), |q| format!(" and spares the {}", joint_word(&q.joint)));
            format!("Nothing near {}{spare}; the least far is {}.", s.name, r.name)
        }
        (Some(r), None) => format!("Nearest to {}: {}.", s.name, r.name),
        (Some(r), Some(q)) => format!("Nearest to {} that spares the {}: {}.", s.name, joint_word(&q.joint), r.name),
    };
    wrap(&title, WIDTH, "", "").iter().for_each(|l| page.line(&ink.bold(l)));
    if !s.read_as.is_empty() {
        page.prose(&format!("{}.", s.read_as.trim_end_matches('.')));
    }
    wrap(&format!("For {}.", body_line(&s.body)), WIDTH, "", "").iter().for_each(|l| page.line(&ink.dim(l)));
    if let Some(q) = &s.spare {
        let joint = joint_word(&q.joint);
        let carries = match q.moment_nm {
            m if m > 0.0 => format!("carries {}\u{a0}N·m at most and turns", number(m, 0)),
            _ => "is held or supported and turns".to_string(),
        };
        page.prose(&format!("In {} itself the {joint} {carries} {} degrees.", s.name, number(q.turn_deg, 0)));
    }
    page.gap();
    let rows: Vec<Row> = s
        .rows
        .iter()
        .map(|r| {
            let mut below = vec![format!("{}.", sentence_case(&r.difference))];
            if !r.avoids.is_empty() {
                below.push(format!("{}.", sentence_case(&r.avoids)));
            }
            let needs = if r.equipment.is_empty() { "nothing".into() } else { r.equipment.join(", ") };
            below.push(format!("Needs {needs}."));
            if !r.cautions.is_empty() {
                below.push(format!("Look out for: {}.", r.cautions.join("; ")));
            }
            Row { cells: vec![number(r.distance, 2), r.name.clone()], below }
        })
        .collect();
    if !rows.is_empty() {
        page.lines(&table(&[numbers("Distance"), words("Movement")], &rows));
        page.gap();
    }
    let mut counted = format!("{} compared", many(s.compared, "movement", "movements"));
    if let Some(kit) = &s.kit {
        counted.push_str(&format!("; {} cannot be done with {kit}", s.not_in_kit));
    }
    if s.spare.is_some() {
        counted.push_str(&format!("; {} do not spare the place, or it is not known", s.not_sparing));
    }
    page.prose(&format!("{counted}. Distance 0 is the same for every head, 1 no head in common."));
    page.list("Left out", &s.left_out);
    page.text
}
