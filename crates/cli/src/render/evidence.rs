//! Text of `evidence`.

use super::table::{Row, numbers, table, whole, words};
use super::text::{Page, many, number, signed};
use crate::terminal::Ink;
use answer::{Evidence, EvidenceClass, EvidenceRow, EvidenceStudy, RuleCall};
use desk::ImportDone;

/// What is asked for beside the summary.
#[derive(Clone, Copy, Debug, Default)]
pub struct Shown {
    pub rows: bool,
    pub study: bool,
}

/// Agreement by class, then rows or one study.
pub fn evidence(e: &Evidence, shown: Shown, ink: Ink) -> String {
    let mut page = Page::default();
    if shown.study {
        for s in &e.studies {
            study(&mut page, s, ink);
        }
    } else {
        summary(&mut page, e, ink);
    }
    if shown.rows || shown.study {
        page.gap();
        page.line(&ink.bold("Contrasts"));
        let cols = [words("Contrast"), whole("Measured"), whole("Predicted"), numbers("By"), whole("")];
        page.lines(&table(&cols, &e.rows.iter().map(row).collect::<Vec<Row>>()));
        page.prose(
            "By: the difference as a part of the larger side; for no growth the predicted growth. In brackets: the range over \
             draws of muscles. Rules: what counting sets and shortening × length say.",
        );
    }
    if !shown.study {
        unmapped(&mut page, e, ink);
        if !shown.rows {
            page.gap();
            page.prose("Every contrast: --rows. Only the missed ones, with causes: --misses. One study: --study ID.");
        }
    }
    page.text
}

fn percent(v: f64) -> String {
    format!("{}\u{a0}%", number(v * 100.0, 0))
}

fn summary(page: &mut Page, e: &Evidence, ink: Ink) {
    let significant = e.classes.iter().find(|c| c.class == "significant");
    let finding = match significant.map(|c| (c, c.unseen)) {
        Some((_, Some(u))) => format!(
            "On studies not looked at, {} of significant differences point the way we predict.",
            percent(u.right)
        ),
        Some((c, None)) => {
            format!("{} of {} significant differences point the way we predict.", percent(c.right), c.n)
        }
        None => format!("{} can be predicted.", many(e.rows.len(), "contrast", "contrasts")),
    };
    page.line(&ink.bold(&finding));
    page.line(&format!(
        "{}, {}.",
        many(e.studies.len(), "study", "studies"),
        many(e.rows.len(), "contrast", "contrasts")
    ));
    page.gap();
    let unseen = e.classes.iter().any(|c| c.unseen.is_some());
    if unseen {
        page.line(&ink.bold("On halves of the studies that were not looked at"));
        let cols = [words("Class"), numbers("Rows"), numbers("Ours"), numbers("Sets counted"), numbers("Shortening")];
        let rows: Vec<Row> = e.classes.iter().filter_map(unseen_row).collect();
        page.lines(&table(&cols, &rows));
        page.gap();
    }
    page.line(&ink.bold(if unseen {
        "On all rows, with the shipped calibration"
    } else {
        "With the shipped calibration"
    }));
    let cols = [words("Class"), numbers("Rows"), numbers("Ours"), numbers("Sets counted"), numbers("Shortening")];
    page.lines(&table(&cols, &e.classes.iter().map(class_row).collect::<Vec<Row>>()));
    page.prose("In brackets: where 80 % of draws of studies lie.");
    let apart: Vec<&EvidenceRow> = e.rows.iter().filter(|r| !r.apart.is_empty()).collect();
    if !apart.is_empty() {
        let right = apart.iter().filter(|r| r.right).count();
        page.prose(&format!(
            "{} stand apart (in conflict with other studies, the same people again, or one region): {right} are right.",
            many(apart.len(), "row", "rows")
        ));
    }
    page.gap();
    let o = &e.order;
    page.prose(&format!(
        "Order within a study: of {} in the same muscle that differ, predicted and measured growth go the same way \
         with Kendall's tau {}; of {} in one condition with tau {}.",
        many(o.pairs_of_conditions, "pair of conditions", "pairs of conditions"),
        signed(o.tau_conditions, 2),
        many(o.pairs_of_muscles, "pair of muscles", "pairs of muscles"),
        signed(o.tau_muscles, 2)
    ));
    page.gap();
    page.line(&ink.bold("What was calibrated"));
    for c in &e.calibration {
        let interval = format!("{} ({}–{})", number(c.value, 2), number(c.low, 2), number(c.high, 2));
        page.item(&format!("{} {interval}: {}", c.key, c.meaning));
    }
    page.gap();
    for n in &e.notes {
        page.prose(n);
    }
}

fn class_row(c: &EvidenceClass) -> Row {
    let beyond = format!(
        "with the difference beyond the range: {} against {} and {}",
        percent(c.right_beyond),
        percent(c.rule_convention_beyond),
        percent(c.rule_shortening_beyond)
    );
    let directed = c.class == "significant" || c.class == "trend";
    Row {
        cells: vec![
            c.class.clone(),
            c.n.to_string(),
            format!("{} ({}–{})", percent(c.right), number(c.low * 100.0, 0), number(c.high * 100.0, 0)),
            percent(c.rule_convention_right),
            percent(c.rule_shortening_right),
        ],
        below: if directed { vec![beyond] } else { Vec::new() },
    }
}

fn unseen_row(c: &EvidenceClass) -> Option<Row> {
    let u = c.unseen?;
    let beyond = format!(
        "with the difference beyond the range: {} against {} and {}",
        percent(u.right_beyond),
        percent(u.rule_convention_beyond),
        percent(u.rule_shortening_beyond)
    );
    let directed = c.class == "significant" || c.class == "trend";
    Some(Row {
        cells: vec![
            c.class.clone(),
            c.n.to_string(),
            format!("{} ({}–{})", percent(u.right), number(u.low * 100.0, 0), number(u.high * 100.0, 0)),
            percent(u.rule_convention_right),
            percent(u.rule_shortening_right),
        ],
        below: if directed { vec![beyond] } else { Vec::new() },
    })
}

fn word(call: &str, inside: bool) -> String {
    let text = match call {
        "left>right" => "left more",
        "right>left" => "right more",
        "about-equal" => "about equal",
        "left~0" => "no growth",
        "left>0" => "growth",
        other => other,
    };
    if inside && call.contains("right") { format!("{text}, inside the range") } else { text.into() }
}

fn row(r: &EvidenceRow) -> Row {
    let verdict = if r.right { "right" } else { "MISS" };
    let verdict = if r.apart.is_empty() { verdict.to_string() } else { format!("{verdict}, apart") };
    let rule = |name: &str, c: &RuleCall| {
        format!("{name} {} ({})", signed(c.margin, 2), if c.right { "right" } else { "wrong" })
    };
    let mut below = vec![format!(
        "{}, {}; {}{}; rules: {}, {}",
        r.study,
        r.class,
        if r.effect.is_empty() { "no numbers told".into() } else { r.effect.clone() },
        if r.apart.is_empty() { String::new() } else { format!("; {}", r.apart) },
        rule("sets counted", &r.rule_convention),
        rule("shortening", &r.rule_shortening)
    )];
    if !r.right {
        below.push(format!("believed cause: {}", r.reason));
    }
    Row {
        cells: vec![
            r.contrast.replace(" against ", " | "),
            word(&r.expected, false),
            word(&r.predicted, r.inside_range),
            format!("{} ({} to {})", signed(r.margin, 2), signed(r.low, 2), signed(r.high, 2)),
            verdict,
        ],
        below,
    }
}

fn study(page: &mut Page, s: &EvidenceStudy, ink: Ink) {
    page.line(&ink.bold(&s.sentence));
    page.prose(&format!("{}. {}; {}.", s.citation.trim_end_matches('.'), s.design, s.participants));
    for n in &s.notes {
        page.prose(n);
    }
    page.gap();
    page.line(&ink.bold("What was trained"));
    for c in &s.conditions {
        let sets = c.sets_per_week.map_or("sets not told".to_string(), |v| format!("{} sets a week", number(v, 0)));
        page.item(&format!("{}: {} ({sets}; {})", c.id, c.movements.join(" + "), c.how));
    }
    page.gap();
    page.line(&ink.bold("What was measured"));
    let cols = [words("Muscle"), words("Condition"), words("How"), numbers("Change"), numbers("Predicted")];
    let rows: Vec<Row> = s
        .results
        .iter()
        .map(|r| {
            let region = if r.region == "whole" { String::new() } else { format!(" ({})", r.region) };
            let sd = r.change_sd.map_or(String::new(), |v| format!(" ± {}", number(v, 1)));
            Row::new(vec![
                format!("{}{region}", r.muscle),
                r.condition.clone(),
                format!("{}, {}", r.measure, r.how),
                r.change_percent.map_or("not told".into(), |v| format!("{}{sd}\u{a0}%", signed(v, 1))),
                r.predicted.map_or("—".into(), |v| number(v, 2)),
            ])
        })
        .collect();
    page.lines(&table(&cols, &rows));
    page.prose("Predicted: up to one factor for the whole study, the root of weekly reference sets.");
}

fn unmapped(page: &mut Page, e: &Evidence, ink: Ink) {
    if e.unmapped.is_empty() {
        return;
    }
    page.gap();
    page.line(&ink.bold(&format!("Not used: {}", many(e.unmapped.len(), "row", "rows"))));
    for u in &e.unmapped {
        page.item(&format!("{}: {}: {}", u.place, u.what, u.reason));
    }
}

/// What came of an import.
pub fn imported(done: &ImportDone) -> String {
    let mut page = Page::default();
    page.line(&format!(
        "{} written: {}, {}, {}.",
        many(done.files.len(), "study", "studies"),
        many(done.conditions.len(), "condition", "conditions"),
        many(done.results, "result", "results"),
        many(done.contrasts, "contrast", "contrasts")
    ));
    let (agree, of) = done.agree;
    if of > 0 {
        page.prose(&format!(
            "Movements by name agree with the readings in {agree} of {}; the readings are used where they stand.",
            many(of, "condition", "conditions")
        ));
        for c in done.conditions.iter().filter(|c| c.agree() == Some(false)) {
            let by_name = if c.matched.is_empty() { "nothing".to_string() } else { c.matched.join(" + ") };
            page.item(&format!("{}, {}: read as {}; by name {by_name}", c.study, c.condition, c.read.join(" + ")));
        }
    }
    for c in done.conditions.iter().filter(|c| c.read.is_empty() && !c.matched.is_empty()) {
        let sure = number(c.confidence * 100.0, 0);
        page.item(&format!("{}, {}: by name {} ({sure} % sure)", c.study, c.condition, c.matched.join(" + ")));
    }
    page.prose("Look through the movements, then: lengthwise evidence --from DIR");
    page.text
}
