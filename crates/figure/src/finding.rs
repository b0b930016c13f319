//! The finding of an answer as one sentence with the number that matters: the title of its figure.

use crate::words::{between, capital, count, list, num, range};
use answer::{Audit, Class, Compare, HeadLook, Look, Rank, SettingValue, Settings};

/// Part of the sentence about one head whose joints cancel: "shortens 34 mm at the hip and lengthens 31 mm at the knee".
fn tug(h: &HeadLook) -> Option<String> {
    let mut parts: Vec<(&String, f64)> = h.length_change_mm.by_joint.iter().map(|(j, v)| (j, *v)).collect();
    parts.retain(|(_, v)| v.abs() >= 1.0);
    parts.sort_by(|a, b| a.1.total_cmp(&b.1));
    let (down, up) = (parts.first()?, parts.last()?);
    (down.1 < 0.0 && up.1 > 0.0).then(|| {
        format!("shortens {} mm at the {} and lengthens {} mm at the {}", num(-down.1, 0), down.0, num(up.1, 0), up.0)
    })
}

/// How much a head's joints pull on it, mm; tells which cancelling head is worth a title or a ribbon.
pub(crate) fn pull_mm(h: &HeadLook) -> f64 {
    h.length_change_mm.by_joint.values().filter(|v| v.is_finite()).map(|v| v.abs()).sum()
}

/// Title of a look: a two-joint head whose joints cancel and which gets little or some, else who works hardest.
pub fn finding(look: &Look) -> String {
    let name = look.name.to_lowercase();
    let limit = if look.limiting_joint.is_empty() {
        String::new()
    } else {
        format!("; the {} limits the set", look.limiting_joint)
    };
    let cancelled = look
        .heads
        .iter()
        .filter(|h| h.opposition > 0.5 && h.class <= Class::Some && pull_mm(h) >= 10.0)
        .max_by(|a, b| pull_mm(a).total_cmp(&pull_mm(b)).then(b.id.cmp(&a.id)));
    if let Some((h, tug)) = cancelled.and_then(|h| Some((h, tug(h)?))) {
        let left = if h.class == Class::Little { "little" } else { "only some work" };
        return format!("{} {tug}: {name} leaves it {left} to do", capital(&h.plain)).replace("work to do", "work");
    }
    let mut best: Vec<&HeadLook> = look.heads.iter().collect();
    best.sort_by(|a, b| b.stimulus.mid.total_cmp(&a.stimulus.mid).then(a.id.cmp(&b.id)));
    let Some(first) = best.first() else { return format!("No muscle is loaded in {name}") };
    let prime: Vec<&&HeadLook> = best.iter().filter(|h| h.class == Class::Prime).collect();
    let stimulus = between(first.stimulus.low, first.stimulus.high, 2);
    match prime.len() {
        0 => format!(
            "Nothing is prime in {name}: {} gets most, {stimulus} of its best{limit}",
            first.plain.to_lowercase()
        ),
        1 => format!("{} is prime, {stimulus} of its best{limit}", capital(&first.plain)),
        n => {
            let mut names: Vec<String> =
                prime.iter().take(if n <= 3 { n } else { 2 }).map(|h| h.plain.clone()).collect();
            if n > 3 {
                names.push(format!("{} more heads", count(n - 2)));
            }
            // "Vastus, lateral and vastus, medial" would read badly: names with commas are joined by semicolons.
            let all = if names.iter().any(|n| n.contains(',')) { names.join("; ") } else { list(&names) };
            format!("{} are prime, the first at {stimulus} of its best{limit}", capital(&all))
        }
    }
}

/// A setting as a coach says it: "depth knee 120°", "stance 1.8 ×".
pub fn setting_words(settings: &Settings) -> Vec<String> {
    const UNITS: [(&str, &str); 9] = [
        ("_deg", "°"),
        ("_kg", " kg"),
        ("_cm", " cm"),
        ("_mm", " mm"),
        ("_m", " m"),
        ("_n", " N"),
        ("_pct", " %"),
        ("_x", " ×"),
        ("_ratio", ""),
    ];
    let one = |(key, value): (&String, &SettingValue)| {
        let (stem, unit) =
            UNITS.iter().find_map(|(s, u)| key.strip_suffix(s).map(|k| (k, *u))).unwrap_or((key.as_str(), ""));
        let value = match value {
            SettingValue::Number(v) => num(*v, 2).trim_end_matches('0').trim_end_matches('.').to_string(),
            SettingValue::Word(w) => w.clone(),
        };
        let value = if value.is_empty() { "0".into() } else { value };
        format!("{} {value}{unit}", stem.replace('_', " "))
    };
    settings.iter().map(one).collect()
}

/// Title of a comparison.
pub fn compare_finding(c: &Compare) -> String {
    let names: Vec<String> = c.looks.iter().map(|l| l.name.to_lowercase()).collect();
    let most = c.differences.iter().filter(|d| d.matters).max_by(|a, b| a.change.abs().total_cmp(&b.change.abs()));
    match (most, c.looks.first(), c.looks.last()) {
        (Some(d), Some(a), Some(b)) if d.stimulus.len() >= 2 => format!(
            "{}: {} in {}, {} in {}",
            capital(&d.plain),
            range(d.stimulus[0], 2),
            a.name.to_lowercase(),
            range(d.stimulus[d.stimulus.len() - 1], 2),
            b.name.to_lowercase(),
        ),
        _ => format!("No head differs between {} by more than the ranges shown", list(&names)),
    }
}

/// Title of a ranking.
pub fn rank_finding(r: &Rank) -> String {
    match r.rows.first() {
        Some(top) => format!(
            "{} does most for {}: {} of its best",
            capital(&top.name),
            r.plain.to_lowercase(),
            range(top.stimulus, 2)
        ),
        None => format!("No movement of this kit trains {}", r.plain.to_lowercase()),
    }
}

/// Title of an audit.
pub fn audit_finding(a: &Audit) -> String {
    // Gaps come in the order of the client's aims.
    let first = a.gaps.first();
    let above = a.groups.iter().filter(|g| g.verdict == "above").count();
    match (first, a.gaps.len()) {
        (Some(g), 1) => format!(
            "{} is short of its band by {} credited sets; nothing else is",
            capital(&g.plain),
            num(g.short_by, 1)
        ),
        (Some(g), n) => format!(
            "{} heads are short of their band; {} comes first, {} credited sets short",
            capital(&count(n)),
            g.plain.to_lowercase(),
            num(g.short_by, 1)
        ),
        (None, _) if a.groups.is_empty() => "No week to judge yet".into(),
        (None, _) if above > 0 => format!("No head is short of its band; {} groups get more than theirs", count(above)),
        (None, _) => "No head is short of its band".into(),
    }
}
