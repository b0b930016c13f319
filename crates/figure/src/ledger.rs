//! The figure for `audit`: gaps on top, coach groups against their bands, heads beneath, minutes a day.

use crate::finding::audit_finding;
use crate::font::{self, Weight};
use crate::marks::{Card, Format, Scale};
use crate::ribbon::nice_step;
use crate::svg::{Anchor, Board, Drawing, Paint, Type};
use crate::words::{between, capital, load, num, range};
use answer::{Audit, Band, LedgerRow, Range};

/// How much of the ledger is opened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Opened {
    Groups,
    /// Each group's heads beneath it.
    Heads,
}

struct Row<'a> {
    name: &'a str,
    indent: f64,
    sets: Range,
    band: Band,
    verdict: &'a str,
    /// Reason of a gap, or marks.
    note: String,
    strong: bool,
}

/// The ledger as one figure.
pub fn ledger(a: &Audit, opened: Opened, card: &Card) -> Drawing {
    let t = card.theme;
    let mut b = Board::new(card.width(), card.height().unwrap_or(0.0));
    let title = audit_finding(a);
    let mut who: Vec<String> =
        [&a.client.name, &a.client.summary, &a.week].into_iter().filter(|s| !s.is_empty()).cloned().collect();
    if a.client.demo {
        who.insert(1.min(who.len()), "invented client".into());
    }
    let totals = &a.totals;
    let sure = if (totals.sets_with_assumed - totals.sets_certain).abs() > 1e-9 {
        format!(
            "{} sets read as certain, {} with assumptions",
            load(totals.sets_certain),
            load(totals.sets_with_assumed)
        )
    } else {
        format!("{} sets read", load(totals.sets_certain))
    };
    let unread = if totals.entries_unknown > 0 {
        let n = totals.entries_unknown;
        format!("; {n} {} not understood and not counted", if n == 1 { "row" } else { "rows" })
    } else {
        String::new()
    };
    let under = [
        who.join(" · "),
        format!("Credited sets a week: dot = best estimate, bar = range, sand field = target band. {sure}{unread}."),
    ];
    let under: Vec<String> = under.into_iter().filter(|s| !s.is_empty()).collect();
    let y = card.head(&mut b, &title, &under);
    let mut y = flags(&mut b, a, y, card);
    let (m, w) = (card.margin(), card.inner());

    let head = |id: &str| a.ledger.iter().find(|r| r.head == id);
    let gap_rows: Vec<Row> = a
        .gaps
        .iter()
        .map(|g| {
            let row = head(&g.head);
            Row {
                name: &g.plain,
                indent: 0.0,
                sets: row.map_or(Range::default(), |r| r.credited_sets.pooled),
                band: row.map_or(Band::default(), |r| r.band),
                verdict: "gap",
                note: g.reason.clone(),
                strong: true,
            }
        })
        .collect();
    let mut group_rows: Vec<Row> = Vec::new();
    for g in &a.groups {
        group_rows.push(Row {
            name: &g.group,
            indent: 0.0,
            sets: g.credited_sets.pooled,
            band: g.band,
            verdict: word(&g.verdict),
            note: if card.wide() { g.aim.clone() } else { String::new() },
            strong: g.verdict == "below",
        });
        if opened == Opened::Heads {
            let heads = a.ledger.iter().filter(|r| g.heads.contains(&r.head));
            group_rows.extend(heads.map(|r: &LedgerRow| Row {
                name: &r.plain,
                indent: card.base(),
                sets: r.credited_sets.pooled,
                band: r.band,
                verdict: word(&r.verdict),
                note: r.marks.join(", "),
                strong: r.verdict == "below",
            }));
        }
    }
    let top = gap_rows
        .iter()
        .chain(&group_rows)
        .flat_map(|r| [r.sets.high, r.band.high])
        .filter(|v| v.is_finite())
        .fold(8.0, f64::max);
    let step = nice_step(top, 5.0).max(1.0);
    let max = (top / step).ceil() * step;
    let cols = Columns::of(card, max);
    let minutes_h = if a.minutes.is_empty() { 0.0 } else { card.row() * (a.minutes.len() as f64 + 1.2) };
    let stop: [String; 0] = [];
    let mut notes: Vec<String> = a.notes.iter().map(|n| format!("{}.", n.trim_end_matches('.'))).collect();
    // On a fixed page rows come before minutes: where both do not fit, the minutes become a line of the notes.
    let rows_h: f64 =
        gap_rows.iter().chain(&group_rows).map(|r| cols.row_height(r, card)).sum::<f64>() + card.base() * 5.0;
    let crowded = card
        .height()
        .is_some_and(|h| y + rows_h + minutes_h + card.notes_height(&stop, &notes) + m + card.base() * 1.6 > h);
    let minutes_h = if crowded { 0.0 } else { minutes_h };
    if crowded && !a.minutes.is_empty() {
        let days: Vec<String> =
            days(a).into_iter().map(|(day, v)| format!("{day} {}", between(v.low, v.high, 0))).collect();
        notes.insert(0, format!("Minutes: {}.", days.join(", ")));
    }
    let bottom = card.height().map(|h| h - m * 0.8 - card.notes_height(&stop, &notes) - minutes_h);

    if gap_rows.is_empty() && group_rows.is_empty() {
        let words = "No entry of this week was counted. Check the list of what was read.";
        let lines = font::wrap(words, card.small(), Weight::Regular, w);
        y = b.lines(m, y + card.base(), &lines, card.small() * 1.35, card.grey());
        y += card.base();
    }
    let top_y = y;
    let groups_h = group_rows.iter().map(|r| cols.row_height(r, card)).sum::<f64>() + card.base() * 2.5;
    for (title, rows) in [("Gaps", &gap_rows), ("Coach groups", &group_rows)] {
        if rows.is_empty() {
            continue;
        }
        y += card.base() * 0.6;
        b.text(m, y + card.base(), title, card.text().bold());
        if card.format != Format::Phone {
            cols.bar.ticks(&mut b, y + card.base(), step, 0, card.grey());
        }
        y += card.base() * 1.55;
        let mut left = rows.len();
        for r in rows.iter() {
            let h = cols.row_height(r, card);
            // On a fixed page gaps leave the groups the room they need, up to half.
            let end = bottom.map(|e| if title == "Gaps" { e - groups_h.min((e - top_y) * 0.5) } else { e });
            let enough = title == "Gaps" && rows.len() - left >= GAPS_DRAWN;
            if enough || end.is_some_and(|e| y + h + card.row() > e) {
                break;
            }
            y = cols.draw(&mut b, r, y, card);
            left -= 1;
        }
        b.line([m, y], [m + w, y], Paint::line(t.grid, 1.0));
        if left > 0 {
            b.text(
                m,
                y + card.small() * 1.3,
                &format!("{left} more {}", if left == 1 { "row" } else { "rows" }),
                card.grey(),
            );
            y += card.small() * 1.9;
        }
    }
    if minutes_h > 0.0 {
        y = minutes(&mut b, a, y + card.base() * 0.8, card);
    }
    let end = card.notes(&mut b, y + card.base() * 0.8, &stop, &notes);
    if card.height().is_none() {
        b.height = (end + m * 0.8).ceil();
    }
    b.finish(&title, &under.join(" "), t.paper)
}

/// Gaps drawn at most; the others are counted.
const GAPS_DRAWN: usize = 12;
/// Lines of cautions on a page of fixed height; what is left over is counted.
const FLAG_LINES: usize = 6;

/// Stop signs and cautions above the ledger, in full where the page may grow; returns the y below.
fn flags(b: &mut Board, a: &Audit, y: f64, card: &Card) -> f64 {
    if a.flags.is_empty() {
        return y;
    }
    let t = card.theme;
    let (x, w, size) = (card.margin(), card.inner(), card.base());
    let pad = size * 0.7;
    let mut left = if card.height().is_some() { FLAG_LINES } else { usize::MAX };
    let mut blocks: Vec<Vec<String>> = Vec::new();
    for f in &a.flags {
        let who = if f.who_lifts.is_empty() { String::new() } else { format!("; lifted by: {}", f.who_lifts) };
        let text = format!("{}: {}{who}.", capital(&f.level), f.text.trim_end_matches('.'));
        let lines = font::wrap(&text, size, Weight::Regular, w - pad * 2.0);
        if lines.len() + 1 > left {
            break;
        }
        left -= lines.len();
        blocks.push(lines);
    }
    let unseen = a.flags.len() - blocks.len();
    if unseen > 0 {
        let words =
            format!("{unseen} more {} in the audit", if unseen == 1 { "caution stands" } else { "cautions stand" });
        blocks.push(vec![words]);
    }
    let lead = size * 1.35;
    let count: usize = blocks.iter().map(Vec::len).sum();
    let h = count as f64 * lead + (blocks.len() - 1) as f64 * size * 0.3 + pad;
    b.rect(x, y, w, h, 0.0, Paint::fill(t.brick_ground));
    b.rect(x, y, 3.0, h, 0.0, Paint::fill(t.brick));
    let mut line = y + pad * 0.5 + size;
    for lines in &blocks {
        line = b.lines(x + pad, line, lines, lead, Type::new(size, t.ink)) + size * 0.3;
    }
    y + h + size * 0.8
}

fn word(verdict: &str) -> &str {
    match verdict {
        "below" => "short",
        "above" => "over",
        "within" => "in band",
        other => other,
    }
}

struct Columns {
    bar: Scale,
    name_w: f64,
    numbers_x: f64,
    verdict_x: f64,
    note_x: f64,
    note_w: f64,
}

impl Columns {
    fn of(card: &Card, max: f64) -> Columns {
        let (m, w, base) = (card.margin(), card.inner(), card.base());
        let numbers_w = card.text().width("00.0") + card.grey().width(" (00.0–00.0) of 00–00");
        match card.format {
            Format::Phone => Columns {
                bar: Scale { x: m, w: w - base, max },
                name_w: w - card.text().bold().width("in band") - base,
                numbers_x: m + w,
                verdict_x: m + w,
                note_x: m,
                note_w: w,
            },
            _ => {
                let name_w = w * if card.wide() { 0.20 } else { 0.33 };
                let bar_w = w * if card.wide() { 0.21 } else { 0.20 };
                let bar = Scale { x: m + name_w + base, w: bar_w, max };
                let numbers_x = bar.x + bar_w + base * 0.9 + numbers_w;
                let verdict_x = numbers_x + base;
                let note_x = verdict_x + card.text().bold().width("in band") + base;
                // A narrow card writes the reason under its row.
                let note_w = if card.wide() { m + w - note_x } else { w };
                Columns { bar, name_w, numbers_x, verdict_x, note_x: if card.wide() { note_x } else { m }, note_w }
            }
        }
    }

    fn note_lines(&self, r: &Row, card: &Card) -> Vec<String> {
        // A reason that is cut is no reason: where the page may grow it stands in full.
        let most = match card.format {
            Format::Page | Format::Phone => usize::MAX,
            Format::Slide => 2,
            Format::Post => 3,
        };
        font::wrap_at_most(&r.note, card.small(), Weight::Regular, self.note_w, most)
    }

    fn row_height(&self, r: &Row, card: &Card) -> f64 {
        let notes = self.note_lines(r, card).len() as f64 * card.small() * 1.3;
        match card.format {
            Format::Phone => card.row() * 2.5 + notes,
            Format::Post => card.row() + if notes > 0.0 { notes + card.small() * 0.45 } else { 0.0 },
            _ => card.row().max(notes + card.small() * 0.8),
        }
    }

    fn draw(&self, b: &mut Board, r: &Row, y: f64, card: &Card) -> f64 {
        let t = card.theme;
        let (m, w, row, base) = (card.margin(), card.inner(), card.row(), card.base());
        let h = self.row_height(r, card);
        b.line([m, y], [m + w, y], Paint::line(t.grid, 1.0));
        let phone = card.format == Format::Phone;
        let first = if card.wide() { y + h / 2.0 + base * 0.35 } else { y + row * 0.5 + base * 0.35 };
        let name_kind = if r.indent > 0.0 { card.grey() } else { card.text() };
        b.text(
            m + r.indent,
            first,
            &font::fit(&capital(r.name), name_kind.size, Weight::Regular, self.name_w - r.indent),
            name_kind,
        );
        let line = if phone { first + row * 1.6 } else { first };
        let bar_y = if phone { first + row * 0.75 } else { line - base * 0.35 };
        self.bar.mark(b, bar_y, r.sets, Some(r.band), card);
        let full = range(r.sets, 1);
        let (mid, rest) = full.split_once(' ').unwrap_or((&full, ""));
        let rest = format!("{rest} of {}", between(r.band.low, r.band.high, 0));
        let grey = card.grey();
        b.text(self.numbers_x, line, &rest, grey.at(Anchor::End));
        b.text(self.numbers_x - grey.width(&rest) - base * 0.3, line, mid, card.text().at(Anchor::End));
        let verdict = if r.strong { card.text().bold() } else { Type { size: base, ..card.grey() } };
        if phone {
            b.text(self.verdict_x, first, r.verdict, verdict.at(Anchor::End));
        } else {
            b.text(self.verdict_x, line, r.verdict, verdict);
        }
        let lines = self.note_lines(r, card);
        let s = card.small();
        let note_y = match card.format {
            Format::Phone => line + s * 1.45,
            Format::Post => y + row + s * 0.7,
            _ => y + h / 2.0 - (lines.len() as f64 - 1.0) * s * 0.65 + s * 0.35,
        };
        b.lines(self.note_x, note_y, &lines, s * 1.3, grey);
        y + h
    }
}

/// Days in the order they were written; those without an entry last.
fn days(a: &Audit) -> Vec<(&String, &answer::Minutes)> {
    let mut days: Vec<_> = a.minutes.iter().collect();
    days.sort_by_key(|(day, _)| a.entries.iter().position(|e| e.day == **day).unwrap_or(usize::MAX));
    days
}

/// Minutes a day: soft bar from low to high, a tick where the client's time ends.
fn minutes(b: &mut Board, a: &Audit, y: f64, card: &Card) -> f64 {
    let t = card.theme;
    let (m, w, base) = (card.margin(), card.inner(), card.base());
    b.text(m, y + base, "Minutes a day", card.text().bold());
    let top = a
        .minutes
        .values()
        .flat_map(|v| [v.high, v.available.unwrap_or(0.0)])
        .filter(|v| v.is_finite())
        .fold(30.0, f64::max);
    let name_w = w * 0.22;
    let text_w = card.grey().width("000–000 min of 000, too long");
    let scale = Scale { x: m + name_w + base, w: w - name_w - text_w - base * 3.0, max: top };
    let mut y = y + base * 1.6;
    for (day, v) in days(a) {
        let line = y + card.row() * 0.5 + base * 0.35;
        let mid = line - base * 0.35;
        b.line([m, y], [m + w, y], Paint::line(t.grid, 1.0));
        b.text(m, line, &font::fit(day, base, Weight::Regular, name_w), card.text());
        if let Some(limit) = v.available {
            let x = scale.at(limit);
            b.rect(scale.x, mid - base * 0.5, x - scale.x, base, 3.0, Paint::fill(t.sand));
        }
        b.line([scale.at(v.low), mid], [scale.at(v.high), mid], Paint::line(t.soft, base * 0.42));
        let mut words = format!("{} min", between(v.low, v.high, 0));
        if let Some(limit) = v.available {
            words += &format!(" of {}{}", num(limit, 0), if v.low > limit { ", too long" } else { "" });
        }
        b.text(m + w, line, &words, card.grey().at(Anchor::End));
        y += card.row();
    }
    b.line([m, y], [m + w, y], Paint::line(t.grid, 1.0));
    y
}
