//! The whole figure for `look`: finding, posture at the hardest point, ribbons, classes with ranges, notes.

use crate::finding::{finding, pull_mm};
use crate::font::{self, Weight};
use crate::geom::View;
use crate::marks::{Card, Format, Scale, class_mark, class_width};
use crate::posture::{Frames, Options, posture_board};
use crate::ribbon::{RibbonOptions, ribbon_board, ribbon_words};
use crate::settings::setting_words;
use crate::svg::{Anchor, Board, Drawing, Paint, Type};
use crate::words::{between, capital, load_range, num, signed, span};
use answer::{Class, HeadLook, Look, Scene, TWO_CLASSES, joint_word};

/// The heads whose ribbons tell most: cancelling two-joint heads first, then prime and strong ones that move far.
pub fn telling(look: &Look, most: usize) -> Vec<&HeadLook> {
    let mut heads: Vec<&HeadLook> = look.heads.iter().filter(|h| h.ribbon.is_some() && pull_mm(h) >= 1.0).collect();
    heads.retain(|h| h.may_lead());
    let score = |h: &HeadLook| h.opposition.clamp(0.0, 1.0) * 100.0 + pull_mm(h) + 20.0 * f64::from(h.class as u8);
    heads.sort_by(|a, b| score(b).total_cmp(&score(a)).then(a.id.cmp(&b.id)));
    // One cancelling head and one prime say more than two of a kind: at most two cancelling ones.
    let (mut out, mut cancelling) = (Vec::new(), 0);
    for h in heads {
        if h.opposition > 0.5 {
            cancelling += 1;
            if cancelling > most.div_ceil(2) {
                continue;
            }
        }
        out.push(h);
        if out.len() == most {
            break;
        }
    }
    out
}

/// Grey lines below a title: what, how, for whom; what limits it, what load.
pub fn subtitle(look: &Look) -> Vec<String> {
    let mut first = vec![look.name.clone()];
    first.extend(setting_words(&look.settings));
    let b = &look.body;
    let mut who = if b.who.is_empty() { "an average body".to_string() } else { b.who.clone() };
    if b.stature_m > 0.0 {
        who += &format!(", {} m", num(b.stature_m, 2));
    }
    if b.mass_kg > 0.0 {
        who += &format!(", {} kg", num(b.mass_kg, 0));
    }
    let mut second = Vec::new();
    if !look.limiting_joint.is_empty() {
        let up = num(look.sticking_phase.clamp(0.0, 1.0) * 100.0, 0);
        second.push(format!(
            "{} limits the set; hardest {up} % into the lift",
            capital(joint_word(&look.limiting_joint))
        ));
    }
    if look.load_kg > 0.0 {
        second.push(format!("hard set at {} {}", load_range(look.load_range), look.load_unit));
    }
    let mut lines = vec![format!("{} · for {who}", first.join(" · "))];
    if !look.read_as.is_empty() {
        lines.insert(0, format!("{}.", look.read_as.trim_end_matches('.')));
    }
    if !second.is_empty() {
        lines.push(format!(
            "{}. Stimulus 1 = the head's own reference movement. Lengths: middle values, ranges in --json.",
            second.join("; ")
        ));
    }
    lines
}

/// A look as one figure.
pub fn look_card(look: &Look, card: &Card) -> Drawing {
    let t = card.theme;
    let mut b = Board::new(card.width(), card.height().unwrap_or(0.0));
    let title = finding(look);
    let top = card.head(&mut b, &title, &subtitle(look));
    let m = card.margin();
    let gap = card.base() * 1.4;
    let mut notes: Vec<String> = Vec::new();
    for n in [&look.load_note].into_iter().filter(|n| !n.is_empty()).chain(&look.cautions).chain(&look.notes) {
        notes.push(format!("{}.", capital(n.trim_end_matches('.'))));
    }
    let notes_h = card.notes_height(&look.stop_signs, &notes);
    let bottom = card.height().map(|h| h - m * 0.8 - notes_h);

    let ribbons = telling(look, if card.format == Format::Phone { 3 } else { 2 });
    let (from, to) = look.scene.as_ref().map_or(("turning point", "end of lift"), |s| (&s.from_word, &s.to_word));
    let ribbon = |h: &HeadLook, w: f64, height: f64| {
        let title = h.plain.as_str();
        let o =
            RibbonOptions { width: w, height, theme: t, font_px: card.small(), title, from_word: from, to_word: to };
        ribbon_board(h.ribbon.as_ref().unwrap_or(&answer::Ribbon::default()), &o)
    };
    let mut y = top;
    let below = if card.wide() {
        let left_w = card.inner() * 0.29;
        let right_x = m + left_w + gap;
        let right_w = card.inner() - left_w - gap;
        let posture_h = match bottom {
            Some(end) => end - y - gap * 0.5,
            None => left_w * 1.5,
        };
        if let Some(s) = &look.scene {
            posture_column(&mut b, s, [m, y, left_w, posture_h], card);
        }
        let (mut rx, rw) = (right_x, (right_w - gap * (ribbons.len().max(1) - 1) as f64) / ribbons.len().max(1) as f64);
        let rh =
            if ribbons.is_empty() { 0.0 } else { card.base() * if card.format == Format::Slide { 9.5 } else { 15.0 } };
        // A lone ribbon keeps its proportions.
        let rw = rw.min(rh * 1.9);
        for h in &ribbons {
            b.place(rx, y, ribbon(h, rw, rh));
            rx += rw + gap;
        }
        let end = table(&mut b, look, [right_x, y + rh + if rh > 0.0 { gap } else { 0.0 }, right_w], bottom, card);
        end.max(y + posture_h) + gap * 0.5
    } else {
        let w = card.inner();
        if let Some(s) = &look.scene {
            let (pw, ph) = match bottom {
                // Long titles and notes take their room from the picture before they take the table's rows.
                Some(end) => (w * 0.44, (end - y - 7.5 * card.row()).clamp(w * 0.25, w * 0.50)),
                None => (w, w * 0.95),
            };
            let o = Options { width: pw, height: ph, theme: t, font_px: card.small(), ..Options::default() };
            b.place(m, y, posture_board(s, View::Side, Frames::Hardest, &o));
            if card.format == Format::Post {
                if let Some(h) = ribbons.first() {
                    b.place(m + pw + gap, y, ribbon(h, w - pw - gap, ph));
                }
                y += ph + gap * 0.4;
            } else {
                y += ph + gap;
            }
        }
        if card.format == Format::Phone {
            for h in &ribbons {
                b.place(m, y, ribbon(h, w, w * 0.7));
                y += w * 0.7 + gap;
            }
        }
        table(&mut b, look, [m, y, w], bottom, card) + gap * 0.5
    };
    let end = card.notes(&mut b, bottom.map_or(below, |e| e + m * 0.1), &look.stop_signs, &notes);
    if card.height().is_none() {
        b.height = (end + m * 0.8).ceil();
    }
    let told: Vec<String> =
        ribbons.iter().filter_map(|h| Some(format!("{}: {}", h.plain, ribbon_words(h.ribbon.as_ref()?)))).collect();
    b.finish(&title, &format!("{} {}", subtitle(look).join(" "), told.join(". ")), t.paper)
}

/// Large posture at the hardest point, small ones of both ends below.
fn posture_column(b: &mut Board, s: &Scene, [x, y, w, h]: [f64; 4], card: &Card) {
    let small_h = h * 0.30;
    let o = Options {
        width: w,
        height: h - small_h - card.base() * 0.5,
        theme: card.theme,
        font_px: card.small(),
        ..Options::default()
    };
    b.place(x, y, posture_board(s, View::Side, Frames::Hardest, &Options { captions: true, ..o }));
    let small = Options {
        width: w / 2.0,
        height: small_h,
        levers: false,
        loads: false,
        joints: false,
        captions: true,
        detail: 16,
        ..o
    };
    for (i, f) in [Frames::End, Frames::Turn].into_iter().enumerate() {
        b.place(x + i as f64 * w / 2.0, y + h - small_h, posture_board(s, View::Side, f, &small));
    }
}

/// Heads by class and stimulus, as many as fit; returns the y below.
fn table(b: &mut Board, look: &Look, [x, y, w]: [f64; 3], bottom: Option<f64>, card: &Card) -> f64 {
    let t = card.theme;
    let mut heads: Vec<&HeadLook> = look.heads.iter().collect();
    // What the title speaks of is never cut off: little heads that are pulled at both ends come before the rest.
    let rank =
        |h: &HeadLook| if h.class == Class::Little && h.opposition > 0.5 { 0.5 } else { f64::from(h.class as u8) };
    heads.sort_by(|a, b| {
        let sure = a.low_confidence().cmp(&b.low_confidence());
        sure.then(rank(b).total_cmp(&rank(a))).then(b.stimulus.mid.total_cmp(&a.stimulus.mid)).then(a.id.cmp(&b.id))
    });
    let row = card.row();
    let room = match bottom {
        Some(end) => (((end - y) / row) as usize).saturating_sub(2),
        None => {
            if card.format == Format::Phone {
                10
            } else {
                12
            }
        }
    };
    let shown = heads.len().min(room);
    let phone = card.format == Format::Phone;
    let num_t = card.text().at(Anchor::End);
    let grey = card.grey();
    let class_w = class_width(card);
    let stim_w = card.text().width("0.00–0.00");
    let with_length = !phone;
    let with_change = card.format == Format::Page || card.format == Format::Slide;
    let change = |h: &HeadLook| {
        let by_joint = h.length_change_mm.by_joint.iter().filter(|(_, v)| v.abs() >= 0.5);
        let mut parts: Vec<(&str, f64)> = by_joint.map(|(j, v)| (joint_word(j), *v)).collect();
        parts.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()).then(a.0.cmp(b.0)));
        let said: Vec<String> = parts.iter().map(|(j, v)| format!("{j} {}", signed(*v, 0))).collect();
        // The largest parts stand first; what has no room is left out whole.
        let tail = (2..=said.len()).rev().map(|n| format!(" ({})", said[..n].join(", ")));
        let room = w * 0.27 - card.text().width(&signed(h.length_change_mm.total, 0));
        let fits = |t: &String| card.format == Format::Page && grey.width(t) <= room;
        let tail = tail.into_iter().find(fits).unwrap_or_default();
        (signed(h.length_change_mm.total, 0), tail)
    };
    let gap = card.base() * 1.1;
    // Columns from the right; the name takes what is left.
    let change_w = if with_change {
        let wide = heads[..shown].iter().map(|h| {
            let (n, tail) = change(h);
            card.text().width(&n) + grey.width(&tail)
        });
        wide.fold(grey.width("Change, mm"), f64::max).min(w * 0.27) + gap
    } else {
        0.0
    };
    let length_w = if with_length { stim_w.max(grey.width("Length")) + gap } else { 0.0 };
    let change_x = x + w;
    let length_x = change_x - change_w;
    let stim_x = length_x - length_w;
    let bar_w = if phone { 0.0 } else { w * if with_change { 0.11 } else { 0.16 } };
    let bar = Scale { x: stim_x - stim_w - gap - bar_w, w: bar_w, max: 1.2 };
    let class_x = if phone { x } else { bar.x - gap - class_w };
    let name_w = if phone { w } else { class_x - gap - x };
    let row_h = if phone { row * 1.75 } else { row };

    let mut yy = y + card.small();
    if !phone {
        b.text(x, yy, "Head", grey.bold());
        b.text(
            class_x,
            yy,
            &font::fit("One hard set", grey.size, Weight::Semibold, bar.x - class_x - 6.0),
            grey.bold(),
        );
        b.text(stim_x, yy, "Stimulus", grey.bold().at(Anchor::End));
        b.text(length_x, yy, "Length", grey.bold().at(Anchor::End));
        if with_change {
            b.text(change_x, yy, "Change, mm", grey.bold().at(Anchor::End));
        }
    }
    yy += card.small() * 0.6;
    for h in &heads[..shown] {
        b.line([x, yy], [x + w, yy], Paint::line(t.grid, 1.0));
        let base = yy + if phone { row * 0.72 } else { row_h * 0.5 + card.base() * 0.35 };
        let low = if h.low_confidence() { " (low confidence)" } else { "" };
        let name = format!("{}{low}", capital(&h.plain));
        if card.text().width(&name) <= name_w {
            b.text(x, base, &name, card.text());
        } else {
            // Long names stand on two lines, a little smaller.
            let kind = Type::new(card.small(), t.ink);
            let lines = font::wrap_at_most(
                &name,
                kind.size,
                kind.weight,
                name_w,
                if card.format == Format::Page { 2 } else { 1 },
            );
            let lead = kind.size * 1.05;
            b.lines(x, base - lead * 0.5 * (lines.len() as f64 - 1.0), &lines, lead, kind);
        }
        let second = if phone { base + row * 0.78 } else { base };
        class_mark(b, class_x, second, h.class, card);
        if !phone {
            bar.mark(b, second - card.base() * 0.35, h.stimulus, None, card);
        }
        let stim = between(h.stimulus.low, h.stimulus.high, 2);
        b.text(stim_x, second, &stim, num_t);
        if with_length {
            b.text(length_x, second, &span(h.length, 2), num_t);
        }
        if with_change {
            let (n, tail) = change(h);
            let tail = font::fit(&tail, grey.size, grey.weight, change_w - gap - card.text().width(&n));
            b.text(change_x, second, &tail, grey.at(Anchor::End));
            b.text(change_x - grey.width(&tail), second, &n, num_t);
        }
        yy += row_h;
    }
    b.line([x, yy], [x + w, yy], Paint::line(t.grid, 1.0));
    if heads[..shown].iter().any(|h| h.marks.iter().any(|m| m == TWO_CLASSES)) {
        let words = "Rotator cuff heads are only sorted into little and some, whatever their number.";
        let lines = font::wrap(words, grey.size, grey.weight, w);
        b.lines(x, yy + card.small() * 1.4, &lines, card.small() * 1.3, grey);
        yy += card.small() * (0.5 + 1.3 * lines.len() as f64);
    }
    if shown < heads.len() {
        let rest = heads.len() - shown;
        let (low, sure): (Vec<&HeadLook>, Vec<&HeadLook>) = heads[shown..].iter().partition(|h| h.low_confidence());
        let heads = |n: usize| format!("{n} more {}", if n == 1 { "head" } else { "heads" });
        let most = sure.iter().map(|h| h.class).max().unwrap_or(Class::Little);
        let line = match (sure.len(), low.len()) {
            (n, 0) => format!("{}, {} at most", heads(n), most.word()),
            (0, _) => format!("{} of low confidence (shoulder blade, cuff, neck)", heads(rest)),
            (n, k) => {
                format!("{}, {} at most; {k} of low confidence (shoulder blade, cuff, neck)", heads(n), most.word())
            }
        };
        b.text(x, yy + card.small() * 1.4, &line, Type { ..grey });
        yy += card.small() * 1.8;
    } else if heads.is_empty() {
        b.text(x, yy + card.small() * 1.6, "No muscle earns anything here", grey);
        yy += card.small() * 2.0;
    }
    yy
}
