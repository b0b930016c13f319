//! Text of `look --why`.

use super::look::body_line;
use super::table::{Row, numbers, table, words};
use super::text::{Page, WIDTH, number, range, settings_line, short, signed, span, wrap};
use crate::terminal::Ink;
use answer::{SettingValue, Why, WhyFlip, WhyJoint};

/// Flips shown.
const FLIPS: usize = 6;

/// The verdict with its reason, then the pulls, the lengths, the partners and what would change the verdict.
pub fn why(w: &Why, ink: Ink) -> String {
    let mut page = Page::default();
    wrap(&super::text::sentence_case(&w.finding), WIDTH, "", "").iter().for_each(|line| page.line(&ink.bold(line)));
    let mut under = format!("{}, for {}.", w.name, body_line(&w.body));
    if !w.settings.is_empty() {
        under.push_str(&format!(" Settings: {}.", settings_line(&w.settings)));
    }
    wrap(&under, WIDTH, "", "").iter().for_each(|line| page.line(&ink.dim(line)));
    if !w.marks.is_empty() {
        page.prose(&format!("Mind: {}.", w.marks.join(", ")));
    }
    page.gap();
    page.prose(&format!(
        "Stimulus {}, mean activation {} %; it earns most at {} % of the way through the lift.",
        range(w.stimulus, 2),
        number(w.activation * 100.0, 0),
        number(w.phase * 100.0, 0)
    ));
    page.gap();
    let rows: Vec<Row> = w.joints.iter().map(joint_row).collect();
    if !rows.is_empty() {
        let columns = [
            words("Joint"),
            words("What it asks"),
            numbers("Pull"),
            numbers("Moment there"),
            numbers("Lever arm"),
            numbers("Length"),
        ];
        page.lines(&table(&columns, &rows));
        page.prose(
            "Pull: each joint's part in calling the head (+) or holding it back (−), where it works. Moment and lever \
             arm: where it earns most; a negative arm works against what the joint needs. Length: what the joint \
             does to it over the lift.",
        );
    }
    page.gap();
    page.prose(&format!(
        "Length: it works from {}, where it has {} % of its force; the weight for length is {}.",
        span(w.length.span, 2),
        number(w.length.force_share * 100.0, 0),
        number(w.length.weight, 2)
    ));
    if let Some(joint) = w.joints.first().filter(|_| !w.partners.is_empty()) {
        let parts: Vec<String> =
            w.partners.iter().map(|p| format!("{}\u{a0}{}\u{a0}%", p.plain, number(p.share * 100.0, 0))).collect();
        page.prose(&format!("Who does the work at the {}: {}.", joint.joint, parts.join(", ")));
    }
    if let Some(fixed) = w.fixed_contact {
        page.prose(&format!(
            "With feet and hands pushing exactly as usual, not as the muscles like it best: {}.",
            number(fixed, 2)
        ));
    }
    if w.flips.is_empty() {
        page.gap();
        page.prose("No single setting makes it another class.");
    } else {
        let lines: Vec<String> = w.flips.iter().take(FLIPS).map(flip_line).collect();
        page.list("What would change the verdict, one setting at a time", &lines);
    }
    if !w.steady.is_empty() {
        let parts: Vec<String> = w.steady.iter().map(|s| format!("{}\u{a0}({})", s.setting, span(s.span, 2))).collect();
        page.gap();
        page.prose(&format!("Without another class over their whole range: {}.", parts.join(", ")));
    }
    page.text
}

fn joint_row(j: &WhyJoint) -> Row {
    let percent = format!("{}\u{a0}%", signed(j.pull * 100.0, 0));
    Row::new(vec![
        j.joint.clone(),
        j.axis.split_once('.').map_or_else(|| j.axis.clone(), |(_, what)| what.replace('-', " ")),
        percent,
        format!("{}\u{a0}N·m", number(j.moment_nm, 0)),
        format!("{}\u{a0}mm", signed(j.arm_m * 1e3, 0)),
        format!("{}\u{a0}mm", signed(j.change_mm, 0)),
    ])
}

fn flip_line(f: &WhyFlip) -> String {
    let value = |v: &SettingValue| match v {
        SettingValue::Number(v) => short(*v, 3),
        SettingValue::Word(w) => w.clone(),
    };
    let unit = if f.unit.is_empty() || f.unit == "x" { String::new() } else { format!("\u{a0}{}", f.unit) };
    format!(
        "{} from {} to {}{unit}: {} ({})",
        f.setting,
        value(&f.from),
        value(&f.to),
        f.class.word(),
        number(f.stimulus, 2)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use desk::invented;

    #[test]
    fn the_reason_stands_first() {
        insta::assert_snapshot!(why(&invented::why(), Ink::PLAIN));
    }
}
