//! Movements side by side, and movements ranked for one head.

use crate::finding::{compare_finding, rank_finding};
use crate::font::{self, Weight};
use crate::geom::View;
use crate::look_card::telling;
use crate::marks::{Card, Format, Scale, class_mark, class_width};
use crate::posture::{Frames, Options, posture_board};
use crate::ribbon::{RibbonOptions, ribbon_board};
use crate::settings::{differing_keys, setting_said, settings_ordered, variant_labels};
use crate::svg::{Anchor, Board, Drawing, Paint};
use crate::words::{between, capital, range, span};
use answer::{Class, Compare, HeadDifference, HeadLook, Look, MATTERS_FROM, Rank, RankRow, joint_word};

/// Lines for the settings of a movement.
const SETTING_LINES: usize = 2;
/// Stands beside a head that is known too little.
const LOW: &str = "low conf.";
/// A ranking draws at most this many movements, and none that gives little while others give more.
const RANKED: usize = 15;
/// Movements left out that are named.
const LEFT_OUT_NAMED: usize = 5;

/// At most this many movements stand side by side; more are named below.
fn columns(format: Format) -> usize {
    if format == Format::Post { 2 } else { 4 }
}

/// Postures and one common head's ribbon per movement, then the heads that differ.
pub fn compare_card(c: &Compare, card: &Card) -> Drawing {
    let t = card.theme;
    let mut b = Board::new(card.width(), card.height().unwrap_or(0.0));
    let title = compare_finding(c);
    let who = c
        .looks
        .first()
        .map_or("an average body", |l| if l.body.who.is_empty() { "an average body" } else { &l.body.who });
    let under = [format!(
        "For {who}. Dot = best estimate, bar = range; stimulus of one hard set, 1 = the head's \
             reference movement. “Differs”: neither dot lies on the other's bar, and they are {MATTERS_FROM} or more apart."
    )];
    let mut y = card.head(&mut b, &title, &under);
    let (m, gap) = (card.margin(), card.base() * 1.4);
    let looks: Vec<&Look> = c.looks.iter().take(columns(card.format)).collect();
    let per_row = if card.format == Format::Phone { 1 } else { looks.len().max(1) };
    let w = (card.inner() - gap * (per_row - 1) as f64) / per_row as f64;
    // One head's ribbons side by side: the one that differs most, else the one that tells most of the first look.
    let most = c.leading().map(|d| d.id.clone());
    let told = most.or_else(|| c.looks.first().and_then(|l| Some(telling(l, 1).first()?.id.clone())));
    let (names, keys) = (variant_labels(&c.looks), differing_keys(&c.looks));
    let (posture_h, ribbon_h) = match card.format {
        Format::Page | Format::Phone => (w.min(330.0), 190.0),
        Format::Post => (300.0, 250.0),
        Format::Slide => (330.0, 240.0),
    };
    // On a fixed page the pictures leave room for the table.
    let room = card.height().map_or(f64::INFINITY, |h| h - m - y - card.row() * 5.0 - card.small() * 6.0);
    let shrink = (room / (posture_h + ribbon_h + gap * 1.4)).clamp(0.4, 1.0);
    // A ribbon too low to be read is left out, and the posture gets its room.
    let (posture_h, ribbon_h) = match ribbon_h * shrink {
        low if low < card.small() * 8.0 => (posture_h.min(room - gap * 1.4).max(120.0), 0.0),
        high => (posture_h * shrink, high),
    };
    for (i, look) in looks.iter().enumerate() {
        let x = m + (i % per_row) as f64 * (w + gap);
        let mut yy = y + card.base();
        let bold = card.text().bold();
        b.text(x, yy, &font::fit(&look.name, bold.size, bold.weight, w), bold);
        // What differs stands first: the rest may be cut.
        let settings: Vec<String> =
            settings_ordered(look, &keys).into_iter().map(|(k, v)| setting_said(k, v)).collect();
        let grey = card.grey();
        let lines = font::wrap_at_most(&settings.join(" · "), grey.size, grey.weight, w, SETTING_LINES);
        b.lines(x, yy + card.small() * 1.35, &lines, card.small() * 1.3, grey);
        yy += card.small() * (0.6 + 1.3 * SETTING_LINES as f64);
        if let Some(s) = &look.scene {
            let o = Options { width: w, height: posture_h, theme: t, font_px: card.small(), ..Options::default() };
            b.place(x, yy, posture_board(s, View::Side, Frames::Hardest, &o));
            yy += posture_h + gap * 0.4;
        }
        let same = told.as_ref().and_then(|id| look.heads.iter().find(|h| h.id == *id && h.ribbon.is_some()));
        if ribbon_h > 0.0
            && let Some(h) = same.or_else(|| telling(look, 1).first().copied())
        {
            b.place(x, yy, column_ribbon(look, h, w, ribbon_h, card));
            yy += ribbon_h;
        }
        if i % per_row == per_row - 1 || i + 1 == looks.len() {
            y = yy + gap;
        }
    }
    y = differences(&mut b, c, &names[..looks.len()], y, card);
    if c.looks.len() > looks.len() {
        let names: Vec<String> = names[looks.len()..].to_vec();
        b.text(
            m,
            y + card.small() * 1.4,
            &font::fit(&format!("Not drawn: {}", names.join("; ")), card.small(), Weight::Regular, card.inner()),
            card.grey(),
        );
        y += card.small() * 2.0;
    }
    if card.height().is_none() {
        b.height = (y + m).ceil();
    }
    b.finish(&title, &under[0], t.paper)
}

fn column_ribbon(look: &Look, h: &HeadLook, w: f64, height: f64, card: &Card) -> Board {
    let (from, to) = look.scene.as_ref().map_or(("turning point", "end of lift"), |s| (&s.from_word, &s.to_word));
    let o = RibbonOptions {
        width: w,
        height,
        theme: card.theme,
        font_px: card.small(),
        title: &h.plain,
        from_word: from,
        to_word: to,
    };
    ribbon_board(h.ribbon.as_ref().unwrap_or(&answer::Ribbon::default()), &o)
}

fn differences(b: &mut Board, c: &Compare, looks: &[String], y: f64, card: &Card) -> f64 {
    let t = card.theme;
    let (m, w, row) = (card.margin(), card.inner(), card.row());
    let mut rows: Vec<&HeadDifference> = c.differences.iter().collect();
    rows.sort_by(|a, b| {
        let sure = b.matters.cmp(&a.matters).then(a.low_confidence().cmp(&b.low_confidence()));
        sure.then(b.change.abs().total_cmp(&a.change.abs())).then(a.id.cmp(&b.id))
    });
    let n = looks.len().max(1);
    let room = match card.height() {
        Some(h) => {
            let below = if c.looks.len() > looks.len() { card.small() * 2.0 } else { 0.0 };
            (((h - m - y - row - below) / row).max(0.0) as usize).saturating_sub(1)
        }
        None => 14,
    };
    let phone = card.format == Format::Phone;
    let name_w = if phone { w } else { w * 0.26 };
    let word_w = if phone { 0.0 } else { card.text().width("differs") + card.base() };
    let cell = (w - if phone { 0.0 } else { name_w } - word_w) / n as f64;
    let x0 = if phone { m } else { m + name_w };
    let num_w = card.grey().width("0.00–0.00") + card.base() * 0.8;
    let mut yy = y;
    if !phone {
        for (i, l) in looks.iter().enumerate() {
            let words = font::fit(l, card.small(), Weight::Semibold, cell - card.base());
            b.text(x0 + i as f64 * cell, yy, &words, card.grey().bold());
        }
        yy += card.small() * 0.6;
    }
    for d in rows.iter().take(room) {
        b.line([m, yy], [m + w, yy], Paint::line(t.grid, 1.0));
        let mut base = yy + row * 0.5 + card.base() * 0.35;
        let low_w = if d.low_confidence() { card.grey().width(LOW) + card.base() * 0.5 } else { 0.0 };
        b.text(
            m,
            base,
            &font::fit(&capital(&d.plain), card.base(), Weight::Regular, name_w - card.base() - low_w),
            card.text(),
        );
        if d.low_confidence() {
            let x = m + name_w - card.base();
            b.text(x, base, LOW, card.grey().at(Anchor::End));
        }
        if phone {
            base += row * 0.8;
            yy += row * 0.8;
        }
        for (i, s) in d.stimulus.iter().take(n).enumerate() {
            let x = x0 + i as f64 * cell;
            let bar_w = cell - num_w - card.base() * 0.8;
            if bar_w > 30.0 {
                Scale { x, w: bar_w, max: 1.2 }.mark(b, base - card.base() * 0.35, *s, None, card);
            }
            b.text(x + cell - card.base() * 0.9, base, &between(s.low, s.high, 2), card.grey().at(Anchor::End));
        }
        if d.matters && !phone {
            b.text(m + w, base, "differs", card.text().bold().at(Anchor::End));
        }
        yy += row;
    }
    b.line([m, yy], [m + w, yy], Paint::line(t.grid, 1.0));
    if rows.len() > room {
        b.text(m, yy + card.small() * 1.3, &format!("{} more heads differ less", rows.len() - room), card.grey());
        yy += card.small() * 1.8;
    }
    yy
}

/// Movements for one head, best first.
pub fn rank_card(r: &Rank, card: &Card) -> Drawing {
    let t = card.theme;
    let mut b = Board::new(card.width(), card.height().unwrap_or(0.0));
    let title = rank_finding(r);
    let kit = r.kit.as_deref().map_or("with every kit".to_string(), |k| format!("with {k}"));
    let under = [format!(
        "{}, {kit}. Dot = best estimate, bar = range; 1 = the head's reference \
                          movement.",
        capital(&r.plain)
    )];
    let mut y = card.head(&mut b, &title, &under);
    let (m, w, base, small) = (card.margin(), card.inner(), card.base(), card.small());
    let two_lines = card.row() * 0.6 + small * 2.1;
    let room =
        card.height().map_or(RANKED, |h| (((h - m - y - small * 2.0) / two_lines).max(0.0) as usize).saturating_sub(1));
    let phone = card.format == Format::Phone;
    let numbers_w = card.text().width("0.00 (0.00–0.00)");
    let bar_w = if phone { w - numbers_w - base } else { w * 0.22 };
    let numbers_x = m + w;
    let bar = Scale { x: numbers_x - numbers_w - base - bar_w, w: bar_w, max: 1.2 };
    let class_x = bar.x - base - class_width(card);
    let name_x = m + base * 1.8;
    if !phone && !r.rows.is_empty() {
        bar.ticks(&mut b, y + small, 0.4, 1, card.grey());
        y += small * 1.7;
    }
    let more_than_little: Vec<&RankRow> = r.rows.iter().filter(|q| q.class > Class::Little).collect();
    let worth: Vec<&RankRow> = if more_than_little.is_empty() { r.rows.iter().collect() } else { more_than_little };
    let room = room.min(RANKED).min(worth.len());
    for (i, row) in worth.iter().take(room).enumerate() {
        b.line([m, y], [m + w, y], Paint::line(t.grid, 1.0));
        let mut line = y + base * 1.3;
        b.text(m + base * 1.2, line, &(i + 1).to_string(), card.text().at(Anchor::End));
        let name_w = if phone { w - base * 1.8 } else { class_x - base - name_x };
        b.text(name_x, line, &font::fit(&row.name, base, Weight::Semibold, name_w), card.text().bold());
        if phone {
            line += base * 1.5;
        } else {
            class_mark(&mut b, class_x, line, row.class, card);
        }
        bar.mark(&mut b, line - base * 0.35, row.stimulus, None, card);
        b.text(numbers_x, line, &range(row.stimulus, 2), card.text().at(Anchor::End));
        let mut why = vec![row.reason.clone()];
        why.push(format!("length {}", span(row.length, 2)));
        if !row.limiting_joint.is_empty() {
            why.push(format!("the {} ends the set", joint_word(&row.limiting_joint)));
        }
        if !row.equipment.is_empty() {
            why.push(row.equipment.join(", "));
        }
        why.retain(|s| !s.is_empty());
        let words = font::fit(&why.join(" · "), small, Weight::Regular, w - base * 1.8);
        b.text(name_x, line + small * 1.4, &words, card.grey());
        y = line + small * 2.1;
    }
    b.line([m, y], [m + w, y], Paint::line(t.grid, 1.0));
    let mut tail: Vec<String> = Vec::new();
    if worth.len() > room {
        let more = worth.len() - room;
        tail.push(format!("{more} more {} not drawn.", if more == 1 { "movement is" } else { "movements are" }));
    }
    if r.rows.len() > worth.len() {
        let little = r.rows.len() - worth.len();
        let give = if little == 1 { "movement gives it little and is" } else { "movements give it little and are" };
        tail.push(format!("{little} {give} not drawn."));
    }
    if !r.left_out.is_empty() {
        let rest = r.left_out.len().saturating_sub(LEFT_OUT_NAMED);
        let more = if rest > 0 { format!("; and {rest} more") } else { String::new() };
        let named = &r.left_out[..r.left_out.len() - rest];
        tail.push(format!("Left out: {}{more}.", named.join("; ")));
    }
    let end = card.notes(&mut b, y + base * 0.4, &[], &tail);
    if card.height().is_none() {
        b.height = (end + m * 0.8).ceil();
    }
    b.finish(&title, &under[0], t.paper)
}
