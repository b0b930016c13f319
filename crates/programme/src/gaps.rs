//! Gaps. In: heads with their sums and bands, the movements of the week; out: one line per head below its band, with the
//! joint, the reason and a number.
//!
//! Reasons, the most telling first: no set loads a joint in a direction that would shorten the head; its joints cancel;
//! it only helps; it is trained short; too few sets. Directions come from `head_actions.csv` (textbook, words only); that
//! a direction is loaded or not comes from the mechanics of the movements.

use crate::ledger::{Tally, volume_shares};
use crate::rules::{Aim, Rules};
use crate::week::{HeadFacts, Plan, Table};
use crate::{head_title, joint_of, joint_word, show, show_band};
use answer::{Band, Gap, HeadCredit};

/// Opposition from which the joints' cancelling is named.
const CANCELS: f64 = 0.5;
/// Shortest change of length worth naming, mm.
const WORTH_NAMING_MM: f64 = 3.0;

/// Everything a reason may draw on.
pub(crate) struct Scene<'a> {
    pub plan: &'a Plan,
    pub table: &'a Table,
    pub heads: &'a [HeadFacts],
    pub tallies: &'a [Tally],
    pub aims: &'a [Aim],
    pub bands: &'a [Band],
    pub rules: &'a Rules,
}

/// Heads below their band: by aim, focus first; then by how much their coach group lacks; then by credited sets missing.
/// Heads whose estimates carry low confidence come after all others.
pub(crate) fn gaps(scene: &Scene) -> Vec<Gap> {
    let mut found: Vec<(usize, f64, Gap)> = (0..scene.heads.len())
        .filter(|&i| is_gap(scene.tallies[i].credited.pooled.mid, scene.aims[i], scene.bands[i]))
        .map(|i| (i, group_lacks(scene, i), gap_of(scene, i)))
        .collect();
    found.sort_by(|(a, group_a, x), (b, group_b, y)| {
        let rank = |i: usize| (scene.heads[i].low_confidence, std::cmp::Reverse(scene.aims[i]));
        let group = |i: usize| scene.heads[i].groups.first();
        rank(*a)
            .cmp(&rank(*b))
            .then(group_b.total_cmp(group_a))
            .then(group(*a).cmp(&group(*b)))
            .then(y.short_by.total_cmp(&x.short_by))
            .then(a.cmp(b))
    });
    found.into_iter().map(|(_, _, gap)| gap).collect()
}

/// Credited sets a head's coach group lacks: volume-weighted mean over its heads of the same aim.
fn group_lacks(scene: &Scene, i: usize) -> f64 {
    let group = scene.heads[i].groups.first();
    let alike = |k: usize| scene.heads[k].groups.first() == group && scene.aims[k] == scene.aims[i];
    let members: Vec<usize> = (0..scene.heads.len()).filter(|&k| alike(k)).collect();
    let lacks = |k: usize| (scene.bands[k].low - scene.tallies[k].credited.pooled.mid).max(0.0);
    members.iter().zip(volume_shares(scene.heads, &members)).map(|(&k, share)| lacks(k) * share).sum()
}

/// Whether a head counts as a gap.
pub(crate) fn is_gap(credited: f64, aim: Aim, band: Band) -> bool {
    aim > Aim::Leave && crate::bands::verdict(credited, band) == "below"
}

fn gap_of(scene: &Scene, i: usize) -> Gap {
    let head = &scene.heads[i];
    let credited = scene.tallies[i].credited.pooled.mid;
    let (joint, why) = reason(scene, i);
    let low = if head.low_confidence { " (low confidence)" } else { "" };
    Gap {
        head: head.head.clone(),
        plain: head.plain.clone(),
        joint,
        reason: format!("{} {} of {}{low}: {why}.", head_title(&head.head), show(credited), show_band(scene.bands[i])),
        short_by: scene.bands[i].low - credited,
    }
}

/// Whether some direction is loaded by the week.
#[derive(Clone, Copy, PartialEq)]
enum Loaded {
    Yes,
    No,
    /// The joint is loaded along an axis without words: no claim is made.
    Unclear,
}

fn loaded(scene: &Scene, action: &str) -> Loaded {
    let joint = joint_of(action);
    let mut state = Loaded::No;
    for line in &scene.plan.lines {
        for axis in &scene.table.movements[line.movement].loaded_axes {
            if axis == action {
                return Loaded::Yes;
            }
            if joint_of(axis) == joint && !scene.rules.axis_words.iter().any(|w| w.axis == *axis) {
                state = Loaded::Unclear;
            }
        }
    }
    state
}

fn reason(scene: &Scene, i: usize) -> (String, String) {
    let head = &scene.heads[i];
    let mut joints: Vec<&str> = Vec::new();
    for joint in head.joints.iter().map(|j| joint_of(j)) {
        if !joints.contains(&joint) {
            joints.push(joint);
        }
    }
    let first = joints.first().copied().unwrap_or_default().to_string();
    let crosses =
        if joints.len() == 1 { format!("it crosses only the {}, and ", joint_word(&first)) } else { String::new() };
    let t = &scene.tallies[i];
    let c = &scene.rules.constants;
    let best = scene
        .plan
        .lines
        .iter()
        .map(|l| (scene.table.cells[l.movement][i].pooled.mid, l.movement))
        .max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
    // What earns a useful credit is trained, whatever the textbook says of its directions.
    let trained = best.is_some_and(|(credit, _)| credit >= c.useful_credit);
    if !trained && let Some(found) = unloaded(scene, head, &joints, &crosses) {
        return found;
    }
    if let Some(found) = opposed(scene, i) {
        return found;
    }
    // The joint a coach thinks of first: that of the head's first textbook action.
    let actions = scene.rules.head_actions.iter().find(|(h, _)| *h == head.head).map(|(_, a)| a.as_slice());
    let first = actions.and_then(|a| a.first()).map_or(first, |a| joint_of(a).to_string());
    match best {
        Some((credit, _)) if credit <= 0.0 => (first, format!("{crosses}no set of this week trains it")),
        Some((credit, m)) if credit < c.useful_credit => {
            let name = &scene.table.movements[m].name;
            (
                first,
                format!(
                    "{crosses}it only helps: the best of its {} sets, {name}, gives {} a set",
                    number(t.sets_touched),
                    show(credit)
                ),
            )
        }
        Some((credit, m)) => {
            let name = &scene.table.movements[m].name;
            let short =
                t.credited.pooled.mid >= 1.0 && t.long_share < c.long_share_wanted && scene.aims[i] >= Aim::Grow;
            let length = if short {
                format!(", and {:.0} % of that at long length", 100.0 * t.long_share)
            } else {
                String::new()
            };
            (
                first,
                format!(
                    "too few sets: {} touch it, the best of them, {name}, gives {} a set{length}",
                    number(t.sets_touched),
                    show(credit)
                ),
            )
        }
        None => (first, "the week has no counted set".into()),
    }
}

/// No set of the week loads any direction that would shorten the head.
fn unloaded(scene: &Scene, head: &HeadFacts, joints: &[&str], crosses: &str) -> Option<(String, String)> {
    let actions = scene.rules.head_actions.iter().find(|(h, _)| *h == head.head).map(|(_, a)| a.as_slice());
    match actions {
        Some(actions) if actions.iter().all(|a| loaded(scene, a) == Loaded::No) => {
            let words: Vec<&str> = actions
                .iter()
                .filter_map(|a| scene.rules.axis_words.iter().find(|w| w.axis == *a))
                .map(|w| w.words.as_str())
                .collect();
            let joint = joint_of(actions.first()?).to_string();
            Some((joint, format!("{crosses}no set of this week {} against load", either(&words))))
        }
        Some(_) => None,
        None => {
            let untouched = joints.iter().all(|j| {
                let touches = |m: usize| scene.table.movements[m].loaded_axes.iter().any(|a| joint_of(a) == *j);
                !scene.plan.lines.iter().any(|l| touches(l.movement))
            });
            let joint = joints.first()?;
            untouched
                .then(|| (joint.to_string(), format!("{crosses}no set of this week loads the {}", joint_word(joint))))
        }
    }
}

/// The movement with most sets in which the head's joints cancel, if most of its credit comes from such movements.
fn opposed(scene: &Scene, i: usize) -> Option<(String, String)> {
    let head = &scene.heads[i].head;
    let mut worst: Option<(f64, &str, &HeadCredit)> = None;
    let (mut helping, mut opposing) = (0.0, 0.0);
    for line in &scene.plan.lines {
        let movement = &scene.table.movements[line.movement];
        let Some(own) = movement.heads.iter().find(|h| h.head == *head) else { continue };
        let credited = own.credit.pooled.mid * line.sets();
        if own.opposition >= CANCELS {
            opposing += credited;
            if worst.is_none_or(|(sets, _, _)| line.sets() > sets) {
                worst = Some((line.sets(), &movement.name, own));
            }
        } else {
            helping += credited;
        }
    }
    let (sets, name, own) = worst.filter(|_| opposing >= helping)?;
    let pick = |sign: f64| {
        own.by_joint_mm
            .iter()
            .filter(|(_, mm)| **mm * sign >= WORTH_NAMING_MM)
            .max_by(|a, b| (a.1 * sign).total_cmp(&(b.1 * sign)))
    };
    let ((shorter, down), (longer, up)) = (pick(-1.0)?, pick(1.0)?);
    Some((
        joint_of(shorter).to_string(),
        format!(
            "in {name} ({} sets) it shortens {:.0} mm at the {} while it lengthens {:.0} mm at the {}",
            number(sets),
            -down,
            joint_word(joint_of(shorter)),
            up,
            joint_word(joint_of(longer))
        ),
    ))
}

fn either(words: &[&str]) -> String {
    match words {
        [] => "loads it".into(),
        [one] => (*one).into(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

/// Whole numbers without a decimal.
pub(crate) fn number(value: f64) -> String {
    if (value - value.round()).abs() < 0.05 { format!("{value:.0}") } else { format!("{value:.1}") }
}
