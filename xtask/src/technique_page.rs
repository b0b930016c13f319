//! `docs/technique.md`: statements of experts beside ours.

use crate::Failed;
use crate::pages::MARK;
use answer::{TechniqueItem, TechniqueRow};
use library::Library;
use proof::technique::{share, technique};
use std::collections::BTreeMap;
use std::fmt::Write;

const INTRODUCTION: &str = "\
What experts say about technique, each statement run and set beside ours: \
`data/movements/technique_facts.csv`, printed by `lengthwise technique`. A row is right only when all its items are; an \
item that cannot be said is wrong. Rows to *test* are meant to be asserted, rows to *discuss* rest on soft or disputed \
ground and are counted apart. *Angles fail* marks rows that a rule which sees joint angles alone cannot get.

How an item is read off the two lifts (average man, middle values, 21 frames):

| item | is | the same when |
|---|---|---|
| `moment:AXIS` | mean over the lift in the named direction; `trunk` is the lumbar spine, `shoulder.elevation` flexion and \
abduction together | within 5 % of the larger, or 1 N·m |
| `moment:AXIS:peak-earlier`, `peak-later` | place of the largest moment in the lift | within a frame |
| `moment:AXIS:zero` | the moment after the change | 5 % of the largest moment of the lift, or 1 N·m |
| `head-load:HEAD` | stimulus as a part of the head's reference movement, not capped | within 5 %, or 0.02 |
| `head-length:HEAD` | mean normalised fibre length | within 5 % of the way it goes over the lift, or 0.01 |
| `head-excursion:HEAD` | longest minus shortest | within 5 %, or 1 mm |
| `capacity:load` | load of a hard set, kilograms in all | within 5 % |
| `other:shin-force`, `other:hand-out-force` | force of the pad on the shin; push of the hands apart | within 5 %, or 5 N |
| `other:lifting-force`, `other:lowering-force` | force of a sled on the feet, against and with the \
friction of its rails | within 5 %, or 5 N |

A joint that the family balances in one of the two lifts and supports in the other (a pad carries the thigh) asks \
nothing of muscles there: its moment and the load on heads that only it would ask count as 0.

Loads: the same external load unless `held_equal` names a relative load, repetitions, effort, body weight or the moment of a \
joint. The same load is the smaller of the two hard loads; kilograms in each hand count twice (once against an arm that \
works alone), a multiple of body weight is that many kilograms, the same stack is the same moment about the machine's \
axis, and a sled pressed with the feet is as heavy as bar and body on the feet of the other lift. Where a row keeps all \
joint angles, equilibrium may still move them: up to 10 degrees the lifts are compared and the difference is told, beyond that nothing is said. A movement that is not written or not checked yet, and \
a setting its mechanics do not use, count as wrong and are named.

Columns of a table of your own (`--from FILE`): `id, movement, compare_to, setting_change, held_equal, statement, expected, \
confidence, source, angle_rule_fails, use, how`. `setting_change` is `key from>to`, or `-` with `compare_to`; `expected` \
is `kind:target:direction` between semicolons. Causes of misses stand in `data/movements/technique_reasons.csv`.
";

/// Text of the page.
pub fn text(library: &Library) -> Result<String, Failed> {
    let rows = technique(library)?;
    let mut out = format!("# Technique: experts and we\n\n{MARK}\n\n{INTRODUCTION}");
    writeln!(out, "\n| rows | right | of | share |\n|---|--:|--:|--:|")?;
    let test = |r: &TechniqueRow| r.purpose == "test";
    let said = |r: &TechniqueRow| r.items.iter().all(|i| i.before.is_some());
    let mut line = |name: &str, (right, all): (usize, usize)| {
        let percent = if all == 0 { 0.0 } else { 100.0 * right as f64 / all as f64 };
        writeln!(out, "| {name} | {right} | {all} | {percent:.0} % |")
    };
    line("to test", share(&rows, test))?;
    line("to test, angles fail", share(&rows, |r| test(r) && r.angle_rule_fails == "yes"))?;
    line("to test, of which everything can be worked out", share(&rows, |r| test(r) && said(r)))?;
    line("to discuss", share(&rows, |r| !test(r)))?;
    let mut classes: BTreeMap<&str, (usize, Vec<&str>)> = BTreeMap::new();
    for r in rows.iter().filter(|r| !r.right) {
        let own: std::collections::BTreeSet<&str> =
            r.items.iter().filter(|i| !i.right).map(|i| i.class.as_str()).collect();
        for class in own {
            let entry = classes.entry(class).or_default();
            entry.0 += 1;
            entry.1.push(&r.id);
        }
    }
    writeln!(out, "\n| class of cause | rows | which |\n|---|--:|---|")?;
    for (class, (n, ids)) in classes {
        writeln!(out, "| {class} | {n} | {} |", ids.join(", "))?;
    }
    for (title, purpose) in [("To test", "test"), ("To discuss", "discuss")] {
        writeln!(out, "\n## {title}\n\n| id | | statement | experts and ours | cause of a miss | source |")?;
        writeln!(out, "|---|---|---|---|---|---|")?;
        for r in rows.iter().filter(|r| r.purpose == purpose) {
            let verdict = if r.right { "right" } else { "**wrong**" };
            let items: Vec<String> = r.items.iter().map(item).collect();
            let mut causes: Vec<String> = Vec::new();
            for i in r.items.iter().filter(|i| !i.right) {
                let cause = format!("{}: {}", i.class, i.reason);
                if !causes.contains(&cause) {
                    causes.push(cause);
                }
            }
            let cells = [items.join("; "), causes.join("; "), format!("{} ({})", r.source, r.how)];
            let cells = cells.map(|c| c.replace('|', "\\|"));
            writeln!(out, "| {} | {verdict} | {} | {} |", r.id, r.statement.replace('|', "\\|"), cells.join(" | "))?;
        }
    }
    Ok(out)
}

fn item(i: &TechniqueItem) -> String {
    match i.right {
        true => format!("`{}` {}", i.item, i.expected),
        false if !i.by_activation.is_empty() && i.by_activation != i.ours => {
            format!("`{}` {}, ours {} (by activation alone {})", i.item, i.expected, i.ours, i.by_activation)
        }
        false => format!("`{}` {}, ours {}", i.item, i.expected, i.ours),
    }
}
