//! The finding of an answer as one sentence with the number that matters: the title of its figure.

use crate::settings::variant_labels;
use crate::words::{between, capital, count, items, list, lower_first, num, range, stem};
use answer::{Audit, Class, Compare, Gap, HeadLook, KNOWN_FROM, LOW_CONFIDENCE, Look, Rank, joint_word};

/// Part of the sentence about one head whose joints cancel: "shortens 34 mm at the hip and lengthens 31 mm at the knee".
fn tug(h: &HeadLook) -> Option<String> {
    let mut parts: Vec<(&String, f64)> = h.length_change_mm.by_joint.iter().map(|(j, v)| (j, *v)).collect();
    parts.retain(|(_, v)| v.abs() >= 1.0);
    parts.sort_by(|a, b| a.1.total_cmp(&b.1));
    let (down, up) = (parts.first()?, parts.last()?);
    (down.1 < 0.0 && up.1 > 0.0).then(|| {
        format!(
            "shortens {} mm at the {} and lengthens {} mm at the {}",
            num(-down.1, 0),
            joint_word(down.0),
            num(up.1, 0),
            joint_word(up.0)
        )
    })
}

/// How much a head's joints pull on it, mm; tells which cancelling head is worth a title or a ribbon.
pub(crate) fn pull_mm(h: &HeadLook) -> f64 {
    h.length_change_mm.by_joint.values().filter(|v| v.is_finite()).map(|v| v.abs()).sum()
}

/// At most this many groups of heads stand in a title.
const GROUPS_NAMED: usize = 3;

/// A coach group with those of its heads that a title speaks of.
struct Told<'a> {
    heads: Vec<&'a HeadLook>,
}

impl Told<'_> {
    fn best(&self) -> f64 {
        self.heads.iter().map(|h| h.stimulus.mid).fold(0.0, f64::max)
    }
    /// "quadriceps 0.71–0.98 (3 heads)".
    fn words(&self) -> String {
        let low = self.heads.iter().map(|h| h.stimulus.low).fold(f64::INFINITY, f64::min);
        let high = self.heads.iter().map(|h| h.stimulus.high).fold(0.0, f64::max);
        let spread = between(low, high, 2);
        match self.heads.as_slice() {
            [one] => format!("{} {spread}", lower_first(stem(&one.plain))),
            more => format!("{} {spread} ({} heads)", more[0].group.to_lowercase(), count(more.len())),
        }
    }
}

/// Heads by coach group, the group with the best head first.
fn by_group<'a>(heads: &[&'a HeadLook]) -> Vec<Told<'a>> {
    let mut out: Vec<Told> = Vec::new();
    for h in heads {
        match out.iter_mut().find(|t| t.heads[0].group == h.group && !h.group.is_empty()) {
            Some(t) => t.heads.push(h),
            None => out.push(Told { heads: vec![h] }),
        }
    }
    let sure = |t: &Told| t.heads.iter().any(|h| !h.low_confidence());
    out.sort_by(|a, b| {
        sure(b).cmp(&sure(a)).then(b.best().total_cmp(&a.best())).then(a.heads[0].id.cmp(&b.heads[0].id))
    });
    out
}

/// Title of a look: what the heads the movement is known for really get; then the surprise, a head it is known for that
/// gets little or one whose joints cancel; then what limits it. A head of low confidence never leads it, unless the
/// movement is known for it.
pub fn finding(look: &Look) -> String {
    let limit = match look.limiting_joint.as_str() {
        "" | "none" => String::new(),
        joint => format!("; the {} limits the set", joint_word(joint)),
    };
    let seen: Vec<&HeadLook> = look.heads.iter().filter(|h| h.worked_out()).collect();
    let most = seen.iter().filter(|h| h.known()).map(|h| h.credit.convention).fold(0.0, f64::max);
    // What coaches count wholly stands for the movement; only where there is no such head, what they count by half.
    let (got, missed): (Vec<&HeadLook>, Vec<&HeadLook>) =
        seen.iter().filter(|h| h.known() && h.credit.convention >= most).partition(|h| h.class > Class::Little);
    let known = most > 0.0;
    let told = if got.is_empty() {
        let mut best: Vec<&HeadLook> = seen.iter().filter(|h| h.may_lead() && h.stimulus.mid > 0.0).copied().collect();
        best.sort_by(|a, b| b.stimulus.mid.total_cmp(&a.stimulus.mid).then(a.id.cmp(&b.id)));
        match best.first() {
            None => return format!("No muscle is loaded in {}", lower_first(&look.name)),
            Some(first) => {
                let name = lower_first(stem(&first.plain));
                let spread = between(first.stimulus.low, first.stimulus.high, 2);
                let but = if known { "the heads it is known for get little; " } else { "" };
                format!("{but}most goes to {name}, {spread} of its reference movement")
            }
        }
    } else {
        let groups = by_group(&got);
        let mut parts: Vec<String> = groups.iter().take(GROUPS_NAMED).map(Told::words).collect();
        parts[0] +=
            if groups[0].heads.len() > 1 { " of their reference movements" } else { " of its reference movement" };
        let rest = groups.len().saturating_sub(GROUPS_NAMED);
        if rest > 0 {
            parts.push(format!("{} more {}", count(rest), if rest == 1 { "group" } else { "groups" }));
        }
        items(&parts)
    };
    let surprise = surprise(&seen, &missed, got.is_empty()).map_or(String::new(), |s| format!("; {s}"));
    format!("{}: {told}{surprise}{limit}", look.name)
}

/// A head the movement is known for that gets little, told with its cancelling joints; else any head that two joints
/// pull apart and that gets little or some.
fn surprise(seen: &[&HeadLook], missed: &[&HeadLook], said: bool) -> Option<String> {
    let order = |h: &HeadLook| (h.credit.convention * 10.0) as i64 * 10 + i64::from(!h.low_confidence());
    let better = |a: &&&HeadLook, b: &&&HeadLook| {
        order(a).cmp(&order(b)).then(pull_mm(a).total_cmp(&pull_mm(b))).then(b.id.cmp(&a.id))
    };
    let why = |h: &HeadLook| tug(h).filter(|_| h.opposition > 0.5).map_or(String::new(), |t| format!(": {t}"));
    let gets = |h: &HeadLook| {
        let much = if h.class == Class::Little { "little" } else { "only some" };
        let spread = between(h.stimulus.low, h.stimulus.high, 2);
        format!("{} gets {much} ({spread}){}", lower_first(stem(&h.plain)), why(h))
    };
    if let Some(h) = missed.iter().max_by(better).filter(|_| !said) {
        return Some(format!("but {}", gets(h)));
    }
    let half = seen.iter().filter(|h| h.known() && !h.low_confidence() && h.class == Class::Little);
    let pulled = |h: &&&HeadLook| h.opposition > 0.5 && h.class <= Class::Some && pull_mm(h) >= 10.0;
    // What nobody counts on is no surprise; without a convention every head is looked at.
    let counted = |h: &&&HeadLook| h.known() || !seen.iter().any(|o| o.known());
    let pulled = seen.iter().filter(|h| !h.low_confidence()).filter(counted).filter(pulled);
    let strongest = |a: &&&HeadLook, b: &&&HeadLook| {
        a.known().cmp(&b.known()).then(pull_mm(a).total_cmp(&pull_mm(b))).then(b.id.cmp(&a.id))
    };
    pulled.max_by(strongest).or(half.max_by(better)).map(|h| gets(h))
}

/// Title of a comparison.
pub fn compare_finding(c: &Compare) -> String {
    let names = variant_labels(&c.looks);
    let same = names.windows(2).all(|w| w[0] == w[1]);
    match (c.leading(), names.first(), names.last()) {
        _ if same && names.len() > 1 => format!("{} is asked for twice, with the same settings", names[0]),
        (Some(d), Some(a), Some(b)) if d.stimulus.len() >= 2 => format!(
            "{}: {} in {}, {} in {}",
            capital(&d.plain),
            range(d.stimulus[0], 2),
            lower_first(a),
            range(d.stimulus[d.stimulus.len() - 1], 2),
            lower_first(b),
        ),
        _ => {
            let sure = if c.differences.iter().any(|d| d.matters) { "No head known well enough" } else { "No head" };
            let names: Vec<String> = names.iter().map(|n| lower_first(n)).collect();
            let all = if names.len() > 2 { items(&names) } else { list(&names) };
            format!("{sure} differs between {all} in a way that matters")
        }
    }
}

/// Title of a ranking.
pub fn rank_finding(r: &Rank) -> String {
    let mark = if r.marks.is_empty() { String::new() } else { format!(" ({})", r.marks.join(", ")) };
    // How a head of low confidence shares its load is known too little to send a coach to a movement nobody does for it.
    let known = r.rows.iter().find(|row| !r.marks.is_empty() && row.credit.convention >= KNOWN_FROM);
    if let Some(top) = known {
        return format!(
            "Of the movements known for {}{mark}, {} does most: {} of its reference movement",
            lower_first(&r.plain),
            lower_first(&top.name),
            range(top.stimulus, 2)
        );
    }
    match r.rows.first() {
        Some(top) => format!(
            "{} does most for {}{mark}: {} of its reference movement",
            capital(&top.name),
            lower_first(&r.plain),
            range(top.stimulus, 2)
        ),
        None => format!("No movement of this kit trains {}", lower_first(&r.plain)),
    }
}

/// Title of an audit.
pub fn audit_finding(a: &Audit) -> String {
    // Gaps come in the order of the client's aims; heads of low confidence lead only where nothing else is short.
    let low = |g: &Gap| a.ledger.iter().any(|r| r.head == g.head && r.marks.iter().any(|m| m == LOW_CONFIDENCE));
    let first = a.gaps.iter().find(|g| !low(g)).or(a.gaps.first());
    let above = a.groups.iter().filter(|g| g.verdict == "above").count();
    match (first, a.gaps.len()) {
        (Some(g), 1) => format!(
            "{} is short of its band by {} credited sets; nothing else is",
            capital(&g.plain),
            num(g.short_by, 1)
        ),
        (Some(g), n) => {
            // Heads of one coach group are one thing to a coach.
            let group_of = |g: &Gap| a.ledger.iter().find(|r| r.head == g.head).map(|r| r.group.as_str());
            let groups: std::collections::BTreeSet<&str> =
                a.gaps.iter().filter_map(group_of).filter(|g| !g.is_empty()).collect();
            let within = match groups.len() {
                0 => String::new(),
                1 => " of one group".into(),
                n => format!(" in {} groups", count(n)),
            };
            format!(
                "{} heads{within} are short of their band; {} comes first, {} credited sets short",
                capital(&count(n)),
                lower_first(&g.plain),
                num(g.short_by, 1)
            )
        }
        (None, _) if a.groups.is_empty() => "No week to judge yet".into(),
        (None, _) if above > 0 => format!("No head is short of its band; {} groups get more than theirs", count(above)),
        (None, _) => "No head is short of its band".into(),
    }
}
