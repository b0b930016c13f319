//! Text of `audit`.

use super::table::{Row, numbers, table, whole, words};
use super::text::{
    Page, WIDTH, credit_columns, many, minutes_in_plan_order, number, range, sentence_case, short, signed, wrap,
};
use crate::terminal::Ink;
use answer::{Audit, Band, Credit, CreditedSets, Entry, Flag, LedgerRow, Proposal, Status};

/// Coach groups whose gaps are shown unless all heads are asked for.
const GAPS_SHOWN: usize = 8;
/// Heads shown of a proposal's changes.
const CHANGES_SHOWN: usize = 6;

/// How much of a week is shown.
#[derive(Clone, Copy, Debug, Default)]
pub struct Detail {
    /// Every head with its credit columns, not only the coach groups with a head outside its band.
    pub all_heads: bool,
    /// Every entry as read.
    pub entries: bool,
}

/// Flags above everything; then the finding, gaps, groups and heads, minutes, proposals, what was assumed, what was
/// not understood, totals.
pub fn audit(a: &Audit, detail: Detail, ink: Ink) -> String {
    let mut page = Page::default();
    for f in &a.flags {
        flag(&mut page, f, ink);
    }
    page.gap();
    wrap(&format!("{}.", figure::audit_finding(a)), WIDTH, "", "").iter().for_each(|line| page.line(&ink.bold(line)));
    wrap(&client_line(a), WIDTH, "", "").iter().for_each(|line| page.line(&ink.dim(line)));
    if !a.gaps.is_empty() {
        page.gap();
        page.line("Gaps");
        if detail.all_heads {
            a.gaps.iter().for_each(|g| page.item(&coach_first(&g.reason, &g.head, &g.plain)));
        } else {
            gaps_by_group(&mut page, a);
        }
    }
    page.gap();
    ledger(&mut page, a, detail);
    minutes(&mut page, a);
    let names = names_of(a);
    proposals(&mut page, &a.proposals, &names);
    page.list("Assumed", &assumptions(a));
    page.list("Not understood, counted nowhere", &unknown(a));
    let messages: Vec<String> =
        a.messages.iter().map(|m| placed(&format!("{}: {}", m.level, m.text), &m.place)).collect();
    page.list("About the file", &messages);
    if detail.entries {
        page.list("The plan as read", &a.entries.iter().map(entry_line).collect::<Vec<String>>());
    }
    page.list("Body", &percentiles(a));
    page.list("Not said in the client's file", &a.client.missing);
    page.gap();
    let t = &a.totals;
    let unread = match t.entries_unknown {
        0 => String::new(),
        n => format!("; {} not understood", many(n as usize, "row", "rows")),
    };
    page.prose(&format!(
        "Hard sets: {} from certain rows alone, {} with the assumed ones{unread}.",
        short(t.sets_certain, 1),
        short(t.sets_with_assumed, 1)
    ));
    let notes: Vec<String> = a.notes.iter().map(|n| in_coachs_words(n, &names)).collect();
    page.list("How this was reckoned", &notes);
    page.text
}

/// The first gap of each coach group with its reason, the others of the group by name and number.
fn gaps_by_group(page: &mut Page, a: &Audit) {
    let row = |head: &str| a.ledger.iter().find(|r| r.head == head);
    let group = |g: &answer::Gap| row(&g.head).map(|r| r.group.clone()).filter(|g| !g.is_empty());
    let mut groups: Vec<(Option<String>, Vec<&answer::Gap>)> = Vec::new();
    for g in &a.gaps {
        let of = group(g);
        match groups.iter_mut().find(|(name, _)| of.is_some() && *name == of) {
            Some((_, gaps)) => gaps.push(g),
            None => groups.push((of, vec![g])),
        }
    }
    for (_, gaps) in groups.iter().take(GAPS_SHOWN) {
        let first = gaps[0];
        let others: Vec<String> = gaps[1..]
            .iter()
            .map(|g| {
                let plain = if g.plain.is_empty() { title_of(&g.head) } else { g.plain.clone() };
                row(&g.head).map_or(plain.clone(), |r| {
                    format!("{plain}\u{a0}{} of {}", number(r.credited_sets.pooled.mid, 1), band(r.band))
                })
            })
            .collect();
        let also = if others.is_empty() { String::new() } else { format!(" Also short: {}.", others.join("; ")) };
        page.item(&format!("{}{also}", coach_first(&first.reason, &first.head, &first.plain)));
    }
    if groups.len() > GAPS_SHOWN {
        let left: usize = groups[GAPS_SHOWN..].iter().map(|(_, gaps)| gaps.len()).sum();
        page.item(&format!("and {left} more; --all-heads shows them"));
    }
}

/// "biceps-femoris-short-head" as a sentence begins with it: "Biceps femoris short head".
fn title_of(head: &str) -> String {
    sentence_case(&head.replace('-', " "))
}

/// A reason that begins with the anatomist's name begins with the coach's, the other behind it in brackets.
pub(crate) fn coach_first(reason: &str, head: &str, plain: &str) -> String {
    let title = title_of(head);
    match reason.strip_prefix(&title) {
        Some(rest) if !plain.is_empty() && !plain.eq_ignore_ascii_case(&title) => {
            format!("{} ({}){rest}", sentence_case(plain), head.replace('-', " "))
        }
        _ => sentence_case(reason),
    }
}

/// Coach's names of heads, by id.
pub(crate) type Names = std::collections::BTreeMap<String, String>;

fn names_of(a: &Audit) -> Names {
    a.ledger.iter().map(|r| (r.head.clone(), r.plain.clone())).collect()
}

/// Anatomists' names in a sentence replaced by coaches'.
pub(crate) fn in_coachs_words(text: &str, names: &Names) -> String {
    sentence_case(&plain_words(text, names))
}

/// The same inside a sentence; the longest names first, since some begin like others.
fn plain_words(text: &str, names: &Names) -> String {
    let mut names: Vec<(String, &str)> =
        names.iter().filter(|(_, p)| !p.is_empty()).map(|(h, p)| (title_of(h), p.as_str())).collect();
    names.sort_by_key(|(title, _)| std::cmp::Reverse(title.len()));
    let mut text = text.to_string();
    for (title, plain) in names.iter().filter(|(t, p)| !p.eq_ignore_ascii_case(t)) {
        text = text.replace(title.as_str(), plain);
    }
    text
}

pub(crate) fn flag(page: &mut Page, f: &Flag, ink: Ink) {
    let head = placed(&format!("{}: {}", f.level.to_uppercase(), f.text), &f.place);
    wrap(&head, WIDTH, "! ", "  ").iter().for_each(|line| page.line(&ink.bold(line)));
    if !f.who_lifts.is_empty() {
        page.lines(&wrap(&format!("lifted by: {}", f.who_lifts), WIDTH, "  ", "    "));
    }
    if !f.stop_signs.is_empty() {
        page.lines(&wrap(&format!("stop when: {}", f.stop_signs.join("; ")), WIDTH, "  ", "    "));
    }
}

/// "text (at place)".
fn placed(text: &str, place: &str) -> String {
    if place.is_empty() { text.to_string() } else { format!("{text} ({place})") }
}

fn client_line(a: &Audit) -> String {
    let c = &a.client;
    let name = if c.name.is_empty() { "an unnamed client" } else { &c.name };
    let demo = if c.demo && !name.contains("invented") { " (invented demo client)" } else { "" };
    let summary = if c.summary.is_empty() { String::new() } else { format!(": {}", c.summary) };
    let week = if a.week.is_empty() { String::new() } else { format!(" {}.", sentence_case(&a.week)) };
    format!("For {name}{demo}{summary}.{week}")
}

/// "6–10".
pub(crate) fn band(b: Band) -> String {
    if b.low == 0.0 && b.high == 0.0 { "no band".into() } else { format!("{}–{}", short(b.low, 1), short(b.high, 1)) }
}

fn columns_of(c: &CreditedSets) -> String {
    credit_columns(&Credit { mechanics: c.mechanics, convention: c.convention, trials: c.trials, pooled: c.pooled }, 1)
}

fn ledger(page: &mut Page, a: &Audit, detail: Detail) {
    let outside = |r: &&LedgerRow| detail.all_heads || matches!(r.verdict.as_str(), "below" | "above");
    let mut rows = Vec::new();
    let mut hidden = 0;
    let mut shown: Vec<&str> = Vec::new();
    for g in &a.groups {
        let aim = if g.aim.is_empty() { band(g.band) } else { format!("{} {}", g.aim, band(g.band)) };
        rows.push(Row::new(vec![g.group.clone(), range(g.credited_sets.pooled, 1), aim, g.verdict.clone()]));
        let heads: Vec<&LedgerRow> = g.heads.iter().filter_map(|h| a.ledger.iter().find(|r| r.head == *h)).collect();
        shown.extend(heads.iter().map(|h| h.head.as_str()));
        let (open, closed): (Vec<&LedgerRow>, Vec<&LedgerRow>) = heads.into_iter().partition(outside);
        hidden += closed.len();
        rows.extend(open.iter().map(|r| head_row(r, detail)));
    }
    let homeless: Vec<&LedgerRow> = a.ledger.iter().filter(|r| !shown.contains(&r.head.as_str())).collect();
    rows.extend(homeless.iter().map(|r| head_row(r, detail)));
    if rows.is_empty() {
        return;
    }
    page.line("Ledger: credited sets a week");
    let cols = [words("Group and head"), numbers("Sets"), whole("Band"), whole("Verdict")];
    page.lines(&table(&cols, &rows));
    if hidden > 0 {
        let text = many(hidden, "head within its band is", "heads within their band are");
        page.prose(&format!("{} not opened; --all-heads opens every head.", sentence_case(&text)));
    }
    page.prose("In brackets: the range. Sets are pooled credit; --all-heads shows each column.");
}

fn head_row(r: &LedgerRow, detail: Detail) -> Row {
    let plain = if r.plain.is_empty() { &r.head } else { &r.plain };
    let name = format!("·\u{a0}{plain}");
    let cells = vec![name, range(r.credited_sets.pooled, 1), band(r.band), r.verdict.clone()];
    let mut below = Vec::new();
    if detail.all_heads {
        let from: Vec<String> = r.from.iter().map(|(m, sets)| format!("{m}\u{a0}{}", number(*sets, 1))).collect();
        let from = if from.is_empty() { "no movement".into() } else { from.join(", ") };
        below.push(format!("{}; from {from}", columns_of(&r.credited_sets)));
        let mut more = format!(
            "{}; {}\u{a0}% of it at long length",
            many(r.sessions as usize, "session", "sessions"),
            number(r.long_length_share * 100.0, 0)
        );
        if !r.marks.is_empty() {
            more.push_str(&format!("; {}", r.marks.join(", ")));
        }
        below.push(more);
    }
    Row { cells, below }
}

fn minutes(page: &mut Page, a: &Audit) {
    let rows: Vec<Row> = minutes_in_plan_order(a)
        .into_iter()
        .map(|(day, m)| {
            let time = format!("{}–{}", number(m.low, 0), number(m.high, 0));
            let has = m.available.map_or_else(|| "not said".into(), |v| number(v, 0));
            let verdict = match m.available {
                Some(v) if m.low > v => "too long",
                Some(v) if m.high > v => "may be too long",
                Some(_) => "fits",
                None => "",
            };
            Row::new(vec![day.clone(), time, has, verdict.into()])
        })
        .collect();
    if rows.is_empty() {
        return;
    }
    page.gap();
    page.lines(&table(&[words("Day"), numbers("Minutes"), numbers("Has"), whole("")], &rows));
}

pub(crate) fn proposals(page: &mut Page, all: &[Proposal], names: &Names) {
    if all.is_empty() {
        return;
    }
    page.gap();
    page.line("Proposals");
    for (n, p) in (1..).zip(all) {
        let minutes = if p.minutes == 0.0 { String::new() } else { format!(" ({}\u{a0}min)", signed(p.minutes, 0)) };
        page.lines(&wrap(&format!("{n}. {}{minutes}", p.edit), WIDTH, "", "   "));
        let below = [in_coachs_words(&p.reason, names), changes(p, names), joints(p), costs(p, names)];
        below.iter().filter(|t| !t.is_empty()).for_each(|t| page.lines(&wrap(t, WIDTH, "   ", "   ")));
        if !p.cautions.is_empty() {
            page.lines(&wrap(&format!("look out for: {}", p.cautions.join("; ")), WIDTH, "   ", "     "));
        }
    }
}

/// "Before → after: biceps femoris short head 0.1 → 4.2, …", largest change first.
fn changes(p: &Proposal, names: &Names) -> String {
    let plain = |head: &str| names.get(head).filter(|p| !p.is_empty()).map_or_else(|| head.to_string(), String::clone);
    let keys: std::collections::BTreeSet<&String> = p.before.keys().chain(p.after.keys()).collect();
    let value = |map: &std::collections::BTreeMap<String, f64>, key: &String| map.get(key).copied();
    let mut heads: Vec<(&String, Option<f64>, Option<f64>)> =
        keys.into_iter().map(|k| (k, value(&p.before, k), value(&p.after, k))).collect();
    let size = |h: &(&String, Option<f64>, Option<f64>)| (h.2.unwrap_or(0.0) - h.1.unwrap_or(0.0)).abs();
    heads.sort_by(|a, b| size(b).total_cmp(&size(a)));
    let show = |v: Option<f64>| v.map_or_else(|| "–".into(), |v| number(v, 1));
    let mut words: Vec<String> = heads
        .iter()
        .take(CHANGES_SHOWN)
        .map(|(k, b, f)| format!("{} {}\u{a0}→\u{a0}{}", plain(k), show(*b), show(*f)))
        .collect();
    if heads.len() > CHANGES_SHOWN {
        words.push(format!("and {} more", heads.len() - CHANGES_SHOWN));
    }
    if words.is_empty() {
        String::new()
    } else {
        // Names of heads contain commas.
        format!("Credited sets: {}", words.join("; "))
    }
}

/// "Sets that load a joint: knee 12 → 9".
fn joints(p: &Proposal) -> String {
    let one = |j: &answer::JointSets| {
        format!("{} {}\u{a0}→\u{a0}{}", answer::joint_word(&j.joint), short(j.before, 1), short(j.after, 1))
    };
    if p.joint_sets.is_empty() {
        return String::new();
    }
    format!("Sets that load a joint: {}", p.joint_sets.iter().map(one).collect::<Vec<_>>().join("; "))
}

fn costs(p: &Proposal, names: &Names) -> String {
    if p.costs.is_empty() {
        return String::new();
    }
    let all: Vec<String> = p.costs.iter().map(|c| plain_words(c, names)).collect();
    format!("Costs: {}", all.join("; "))
}

/// "sheet!B7", spreadsheet style.
fn cell(e: &Entry) -> String {
    let mut letters = String::new();
    let mut col = e.col;
    while col > 0 {
        col -= 1;
        letters.insert(0, char::from(b'A' + (col % 26) as u8));
        col /= 26;
    }
    let sheet = if e.sheet.is_empty() { String::new() } else { format!("{}!", e.sheet) };
    if letters.is_empty() { format!("{sheet}row {}", e.row) } else { format!("{sheet}{letters}{}", e.row) }
}

fn assumptions(a: &Audit) -> Vec<String> {
    let of = |e: &Entry| {
        let name = if e.name.is_empty() { e.text.clone() } else { format!("\"{}\" as {}", e.text, e.name) };
        format!("{}: {name}: {}", cell(e), e.assumptions.join("; "))
    };
    let shown = a.entries.iter().filter(|e| !e.assumptions.is_empty() && e.status != Status::Unknown);
    shown.filter(|e| e.status != Status::Ignored).map(of).collect()
}

fn unknown(a: &Audit) -> Vec<String> {
    let of = |e: &Entry| {
        let near: Vec<String> =
            e.extra.nearest.iter().map(|(n, c)| format!("{n} ({}\u{a0}%)", number(c * 100.0, 0))).collect();
        let near =
            if near.is_empty() { "nothing near it is known".into() } else { format!("nearest: {}", near.join("; ")) };
        let why = if e.assumptions.is_empty() { String::new() } else { format!("; {}", e.assumptions.join("; ")) };
        format!("{}: \"{}\"; {near}{why}", cell(e), e.text)
    };
    a.entries.iter().filter(|e| e.status == Status::Unknown).map(of).collect()
}

fn entry_line(e: &Entry) -> String {
    let status = match e.status {
        Status::Certain => "certain",
        Status::Assumed => "assumed",
        Status::Unknown => "not understood",
        Status::Ignored => "not counted",
    };
    let between = |low: f64, high: f64| {
        if low == high { short(low, 1) } else { format!("{}–{}", short(low, 1), short(high, 1)) }
    };
    let mut text = format!("{} {}: \"{}\"", cell(e), e.day, e.text);
    if let Some(m) = &e.movement {
        text.push_str(&format!(" = {m}, {} sets", between(e.sets_low, e.sets_high)));
        if let Some(low) = e.reps_low {
            text.push_str(&format!(" of {} {}", between(low, e.reps_high.unwrap_or(low)), e.reps_unit));
        }
        if let Some(rir) = e.rir {
            text.push_str(&format!(", RIR {}", short(rir, 1)));
        }
        if let Some(load) = e.load {
            text.push_str(&format!(", {} {}", short(load, 2), e.unit.as_deref().unwrap_or("kg")));
        }
    }
    format!("{text}; {status}")
}

fn percentiles(a: &Audit) -> Vec<String> {
    let measure = |p: &answer::Percentile| match p.unit.as_str() {
        // Ratios have the unit 1.
        "1" => short(p.value, 3),
        "m" => format!("{}\u{a0}cm", short(p.value * 100.0, 1)),
        unit => format!("{}\u{a0}{unit}", short(p.value, 1)),
    };
    let line = |p: &answer::Percentile| {
        format!("{} {}: percentile {} ({})", p.what, measure(p), number(p.percentile, 0), p.source)
    };
    a.client.percentiles.iter().map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use desk::invented;

    #[test]
    fn flags_stand_above_everything_and_nothing_vanishes() {
        let text = audit(&invented::audit(), Detail::default(), Ink::PLAIN);
        insta::assert_snapshot!(text);
        assert!(text.starts_with("! CLEARANCE"));
    }

    #[test]
    fn heads_open_with_every_column() {
        insta::assert_snapshot!(audit(&invented::audit(), Detail { all_heads: true, entries: true }, Ink::PLAIN));
    }

    #[test]
    fn coachs_names_come_first() {
        let check = |got: String, want: &str| assert_eq!(got, want);
        let gap = coach_first("Soleus 0.1 of 6–10: it crosses", "soleus", "deep calf");
        check(gap, "Deep calf (soleus) 0.1 of 6–10: it crosses");
        check(coach_first("Deep calf 0.1", "soleus", "deep calf"), "Deep calf 0.1");
        let mut a = invented::audit();
        a.ledger[0].plain = "outer hamstring, short head".into();
        let text = in_coachs_words("Biceps femoris short head 0.1 → 4.0; Vastus lateralis 2", &names_of(&a));
        check(text, "Outer hamstring, short head 0.1 → 4.0; Vastus lateralis 2");
    }

    #[test]
    fn measures_have_their_units() {
        let mut a = invented::audit();
        let row = |value: f64, unit: &str| answer::Percentile {
            what: "x".into(),
            value,
            unit: unit.into(),
            percentile: 50.0,
            source: "invented".into(),
        };
        a.client.percentiles = vec![row(1.683, "m"), row(0.2451, "1"), row(64.5, "kg")];
        let lines = percentiles(&a).join("|").replace('\u{a0}', " ");
        let want = ["x 168.3 cm", "x 0.245", "x 64.5 kg"].map(|t| format!("{t}: percentile 50 (invented)")).join("|");
        assert_eq!(lines, want);
    }

    #[test]
    fn cells_are_named_as_a_spreadsheet_names_them() {
        let at = |col| cell(&Entry { row: 7, col, sheet: "W1".into(), ..Entry::default() });
        assert_eq!([at(1), at(26), at(27), at(703), at(0)], ["W1!A7", "W1!Z7", "W1!AA7", "W1!AAA7", "W1!row 7"]);
    }
}
