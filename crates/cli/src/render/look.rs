//! Text of `look`.

use super::table::{Row, numbers, parted, table, whole, words};
use super::text::{
    Page, WIDTH, class_mark, credit_columns, many, number, range, settings_line, short, short_range, signed, span, wrap,
};
use crate::terminal::Ink;
use answer::{BodyNote, Class, HeadLook, Look, Range, TWO_CLASSES, TrialShown, joint_word};

/// Moments the muscles cannot balance are told from here on, N·m: less is the solver's own accuracy.
const UNBALANCED_FROM_NM: f64 = 2.0;
/// Over the heads that must not lead.
const LOW_HEADING: &str = "Low confidence (shoulder blade, cuff, neck):";

/// The finding first, then for whom, the load, the heads, cautions and notes. Heads of class "little" are counted
/// only, unless `all_heads`.
pub fn look(l: &Look, all_heads: bool, ink: Ink) -> String {
    let mut page = Page::default();
    wrap(&format!("{}.", figure::finding(l)), WIDTH, "", "").iter().for_each(|line| page.line(&ink.bold(line)));
    read_as(&mut page, l);
    let mut under = format!("{}, for {}.", l.name, body_line(&l.body));
    if !l.settings.is_empty() {
        under.push_str(&format!(" Settings: {}.", settings_line(&l.settings)));
    }
    wrap(&under, WIDTH, "", "").iter().for_each(|line| page.line(&ink.dim(line)));
    page.gap();
    page.prose(&load_line(l));
    if !l.load_note.is_empty() {
        page.prose(&format!("Note on the load: {}", l.load_note));
    }
    page.gap();
    page.lines(&heads_table(l, all_heads));
    if !l.range_note.is_empty() {
        page.prose(&l.range_note);
    }
    page.list("Look out for", &l.cautions);
    page.list("Stop when", &l.stop_signs);
    trials(&mut page, l);
    if !l.ranges.contact_forces.is_empty() {
        let mut forces: Vec<(&String, Range)> = l.ranges.contact_forces.iter().map(|(j, f)| (j, *f)).collect();
        forces.sort_by(|a, b| b.1.mid.total_cmp(&a.1.mid));
        let words: Vec<String> =
            forces.iter().map(|(j, f)| format!("{}\u{a0}{}", joint_word(j), range(*f, 1))).collect();
        page.gap();
        // Which way they miss: docs/validation.md, hip-one-leg-stance.
        let caveat = if l.one_leg {
            "estimate; for tasks on one leg the comparisons with measured forces come out clearly too high"
        } else {
            "estimate"
        };
        page.prose(&format!("Largest joint contact force, times body weight ({caveat}): {}.", words.join(", ")));
    }
    page.list("How this was reckoned", &l.notes);
    page.text
}

/// Studies told before the rest is counted only.
const STUDIES: usize = 4;

/// Training studies behind the trials column, nearest first.
fn trials(page: &mut Page, l: &Look) {
    let line = |t: &TrialShown| {
        let near = match t.distance {
            d if d < 0.02 => String::new(),
            d => format!(" Done with {}, {} apart (0 the same, 1 nothing in common).", t.movement, number(d, 2)),
        };
        format!("{}{near} {}; known: {}.", t.sentence, t.citation, t.how)
    };
    let mut lines: Vec<String> = l.trials.iter().take(STUDIES).map(line).collect();
    if l.trials.len() > STUDIES {
        lines.push(format!("{} more are in --json.", l.trials.len() - STUDIES));
    }
    page.list("Training studies of the trials column (group means, no promise to one person)", &lines);
}

/// How the name was read, where it is not the movement's own.
pub(crate) fn read_as(page: &mut Page, l: &Look) {
    if !l.read_as.is_empty() {
        page.prose(&format!("{}.", l.read_as.trim_end_matches('.')));
    }
}

pub(crate) fn body_line(b: &BodyNote) -> String {
    let who = if b.who.is_empty() { "an unnamed person" } else { &b.who };
    let sex = if who.contains("man") || b.sex.is_empty() { String::new() } else { format!("{}, ", b.sex) };
    format!("{who} ({sex}{}\u{a0}cm, {}\u{a0}kg)", number(b.stature_m * 100.0, 0), short(b.mass_kg, 1))
}

fn load_line(l: &Look) -> String {
    let unit = if l.load_unit.is_empty() { "kg" } else { &l.load_unit };
    let mut text = format!("A hard set is about {}\u{a0}{unit}.", short_range(l.load_range, 1));
    if l.limiting_joint == "balance" {
        text.push_str(" With more, nobody keeps balance this way.");
    } else if !l.limiting_joint.is_empty() {
        let percent = range(l.ranges.sticking_phase.times(100.0), 0);
        text.push_str(&format!(
            " The muscles of the {} run out first, {percent}\u{a0}% of the way through the lift.",
            joint_word(&l.limiting_joint)
        ));
    }
    if l.residual_nm > UNBALANCED_FROM_NM {
        text.push_str(&format!(
            " At one point a joint would need {}\u{a0}N·m more than the muscles in the model can give it: take the \
             numbers of this lift with more care.",
            range(l.ranges.residual_nm, 0)
        ));
    }
    text
}

fn by_stimulus(l: &Look) -> Vec<&HeadLook> {
    let mut heads: Vec<&HeadLook> = l.heads.iter().collect();
    heads.sort_by(|a, b| b.class.cmp(&a.class).then(b.stimulus.mid.total_cmp(&a.stimulus.mid)).then(a.id.cmp(&b.id)));
    heads
}

fn heads_table(l: &Look, all_heads: bool) -> Vec<String> {
    let ranked = by_stimulus(l);
    let shown: Vec<&&HeadLook> = ranked.iter().filter(|h| all_heads || h.class > Class::Little).collect();
    let row = |h: &&&HeadLook| Row {
        cells: vec![
            class_mark(h.class),
            h.plain.clone(),
            range(h.stimulus, 2),
            span(h.length, 2),
            range(h.credit.pooled, 2),
        ],
        below: vec![beneath(h)],
    };
    // The columns are those of the whole table: the heads of low confidence stand under a line of their own.
    let (low, sure): (Vec<&&HeadLook>, Vec<&&HeadLook>) = shown.iter().partition(|h| h.low_confidence());
    let mut rows: Vec<Row> = sure.iter().map(row).collect();
    let first_low = rows.len();
    rows.extend(low.iter().map(row));
    let cols = [whole("Class"), words("Head"), numbers("Stimulus"), numbers("Length"), numbers("Credit")];
    let mut lines = match (rows.is_empty(), low.is_empty()) {
        (true, _) => Vec::new(),
        (_, true) => table(&cols, &rows),
        _ => parted(&cols, &rows, first_low, LOW_HEADING),
    };
    let hidden = ranked.len() - shown.len();
    if hidden > 0 {
        let text = format!("{} of class little not shown; --all-heads shows them.", many(hidden, "head", "heads"));
        lines.extend(wrap(&text, WIDTH, "", ""));
    }
    if !rows.is_empty() {
        let legend = "Stimulus: 1 is the head's own reference movement. Length: fibre length over the lift, 1 is where \
                      it is strongest. Credit: pooled, per hard set. In brackets: the range; those of lengths and of \
                      millimetres are in --json.";
        lines.extend(wrap(legend, WIDTH, "", ""));
        if shown.iter().any(|h| h.marks.iter().any(|m| m == TWO_CLASSES)) {
            let cuff = "Two classes only: rotator cuff heads are sorted into little and some, whatever their number, \
                        because what holds the joint together is known too little.";
            lines.extend(wrap(cuff, WIDTH, "", ""));
        }
    }
    lines
}

/// Change of length with its joints, opposition, credit columns and marks.
fn beneath(h: &HeadLook) -> String {
    let change = &h.length_change_mm;
    let mut parts: Vec<(&String, f64)> = change.by_joint.iter().map(|(j, mm)| (j, *mm)).collect();
    parts.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()).then(a.0.cmp(b.0)));
    let joints: Vec<String> =
        parts.iter().map(|(j, mm)| format!("{}\u{a0}{}", joint_word(j), signed(*mm, 0))).collect();
    let mut text = format!("{}\u{a0}mm", signed(change.total, 0));
    if joints.len() > 1 {
        text.push_str(&format!(" ({}; opposition\u{a0}{})", joints.join(", "), number(h.opposition, 2)));
    } else if let Some(one) = joints.first() {
        text.push_str(&format!(" ({one})"));
    }
    text.push_str(&format!("; credit: {}", credit_columns(&h.credit, 2)));
    // Low confidence stands in the heading above.
    let marks: Vec<&str> = h.marks.iter().map(String::as_str).filter(|m| *m != answer::LOW_CONFIDENCE).collect();
    if !marks.is_empty() {
        text.push_str(&format!("; {}", marks.join(", ")));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use desk::invented;

    #[test]
    fn the_finding_comes_first_and_every_number_has_its_range() {
        insta::assert_snapshot!(look(&invented::look(), false, Ink::PLAIN));
    }

    #[test]
    fn every_head_is_shown_on_demand() {
        let text = look(&invented::look(), true, Ink::PLAIN);
        assert!(text.contains("soleus") && !text.contains("not shown"), "{text}");
    }
}
