//! Training studies: measured growth beside what is predicted, study by study.

use crate::font::{fit, wrap};
use crate::marks::Card;
use crate::ribbon::nice_step;
use crate::svg::{Anchor, Board, Drawing, Paint, Type};
use crate::words::{capital, count, num, signed};
use answer::{EvidenceResult, EvidenceStudy};

/// A result that can be drawn: the measured change, and the prediction in the study's own percent.
struct Point<'a> {
    result: &'a EvidenceResult,
    measured: f64,
    predicted: f64,
}

/// Predictions have no percent of their own: they are scaled to the study, so that both add up to the same.
fn points(s: &EvidenceStudy) -> Vec<Point<'_>> {
    let known = s.results.iter().filter_map(|r| Some((r, r.change_percent?, r.predicted?)));
    let all: Vec<(&EvidenceResult, f64, f64)> = known.collect();
    let (measured, predicted) = all.iter().fold((0.0, 0.0), |(a, b), p| (a + p.1, b + p.2));
    let scale = if predicted > 0.0 && measured > 0.0 { measured / predicted } else { 0.0 };
    all.into_iter().map(|(result, measured, p)| Point { result, measured, predicted: p * scale }).collect()
}

/// A card: one study with its rows named, several as small pictures of predicted against measured. `None` where no
/// study has two results with both numbers.
pub fn study_card(studies: &[&EvidenceStudy], card: &Card) -> Option<Drawing> {
    let drawn: Vec<&EvidenceStudy> = studies.iter().copied().filter(|s| points(s).len() > 1).collect();
    match drawn.as_slice() {
        [] => None,
        [one] => Some(named(one, card)),
        many => Some(small(many, card)),
    }
}

/// "Kubo 2019" of kubo-2019-squat.
fn short(id: &str) -> String {
    capital(&id.replace('-', " "))
}

fn row_name(r: &EvidenceResult) -> String {
    let muscle = capital(&r.muscle.replace('-', " "));
    let region = if r.region.is_empty() || r.region == "whole" { String::new() } else { format!(" ({})", r.region) };
    format!("{muscle}{region}, {}", r.condition.replace('-', " "))
}

const HOW: &str = "Full dots: measured change, with its spread between people where the study tells it. Open dots: \
                   predicted, scaled to the study as a whole, so that only the pattern counts.";

fn heading(b: &mut Board, card: &Card, title: &str, how: &str) -> f64 {
    let bold = Type::new(card.base() * 1.5, card.theme.ink).bold();
    let grey = Type::new(card.small(), card.theme.grey);
    let lines = wrap(title, bold.size, bold.weight, card.inner());
    let y = b.lines(card.margin(), card.margin() + bold.size * 0.8, &lines, bold.size * 1.3, bold);
    let lines = wrap(how, grey.size, grey.weight, card.inner());
    b.lines(card.margin(), y - bold.size * 0.3, &lines, grey.size * 1.4, grey)
}

fn height_of(card: &Card, title: &str, how: &str) -> f64 {
    let (bold, grey) = (Type::new(card.base() * 1.5, "").bold(), Type::new(card.small(), ""));
    let lines = |text: &str, t: &Type| wrap(text, t.size, t.weight, card.inner()).len() as f64;
    card.margin() + lines(title, &bold) * bold.size * 1.3 + lines(how, &grey) * grey.size * 1.4 + grey.size
}

fn named(s: &EvidenceStudy, card: &Card) -> Drawing {
    let t = card.theme;
    let mut list = points(s);
    // The same muscle stands together, so that conditions are compared at a glance.
    list.sort_by_key(|p| {
        let at = |f: &dyn Fn(&EvidenceResult) -> bool| s.results.iter().position(f).unwrap_or(0);
        let r = p.result;
        (
            at(&|q| q.muscle == r.muscle),
            at(&|q| q.muscle == r.muscle && q.region == r.region),
            at(&|q| std::ptr::eq(q, r)),
        )
    });
    let title = s.sentence.clone();
    let how = format!("{HOW} {}", s.citation);
    let (bold, grey) = (Type::new(card.small(), t.ink), Type::new(card.small(), t.grey));
    let step_y = grey.size * 1.9;
    let top = height_of(card, &title, &how);
    let names = list.iter().map(|p| bold.width(&row_name(p.result))).fold(0.0, f64::max).min(card.inner() * 0.5);
    let bottom = top + step_y * list.len() as f64;
    let mut b = Board::new(card.width(), bottom + grey.size * 3.4 + card.margin());
    heading(&mut b, card, &title, &how);
    let ends = |p: &Point| {
        let sd = p.result.change_sd.unwrap_or(0.0);
        [p.measured - sd, p.measured + sd, p.predicted]
    };
    let (low, high) = list.iter().flat_map(ends).fold((0.0_f64, 0.0_f64), |(a, z), v| (a.min(v), z.max(v)));
    let step = nice_step(high - low, 6.0);
    let (low, high) = ((low / step).floor() * step, (high / step).ceil() * step);
    let (x0, x1) = (card.margin() + names + grey.size * 1.5, card.width() - card.margin() - grey.size);
    let x = |v: f64| x0 + (v - low) / (high - low).max(1e-9) * (x1 - x0);
    let ticks = ((high - low) / step).round() as usize;
    for v in (0..=ticks).map(|i| low + step * i as f64) {
        let zero = v.abs() < step * 1e-6;
        b.line([x(v), top], [x(v), bottom], if zero { Paint::line(t.ink, 1.2) } else { Paint::line(t.grid, 1.0) });
        let text = if zero { "0 %".to_string() } else { signed(v, usize::from(step < 1.0)) };
        b.text(x(v), bottom + grey.size * 1.3, &text, grey.at(Anchor::Middle));
    }
    for (i, p) in list.iter().enumerate() {
        let y = top + step_y * (i as f64 + 0.5);
        let name = fit(&row_name(p.result), bold.size, bold.weight, names);
        b.text(card.margin(), y + bold.size * 0.35, &name, bold);
        let r = grey.size * 0.36;
        if let Some(sd) = p.result.change_sd {
            b.line([x(p.measured - sd), y], [x(p.measured + sd), y], Paint::line(t.soft, grey.size * 0.4));
        }
        b.circle(x(p.measured), y, r, Paint::fill(t.ink));
        b.circle(x(p.predicted), y, r, Paint::both("none", t.brick, 2.0));
    }
    let notes = s.notes.join(" ");
    let note = fit(&notes, grey.size, grey.weight, card.inner());
    if !note.is_empty() {
        b.text(card.margin(), bottom + grey.size * 2.9, &note, grey);
    }
    let told = |p: &Point| {
        format!("{}: measured {} %, predicted {} %.", row_name(p.result), num(p.measured, 1), num(p.predicted, 1))
    };
    b.finish(&title, &list.iter().map(told).collect::<Vec<_>>().join(" "), t.paper)
}

fn small(studies: &[&EvidenceStudy], card: &Card) -> Drawing {
    let t = card.theme;
    let across = if card.wide() { 4 } else { 2 };
    let gap = card.margin() * 0.7;
    let width = (card.inner() - gap * (across - 1) as f64) / across as f64;
    let height = width * 1.05;
    let title = format!("Measured growth against predicted growth, {} studies", count(studies.len()));
    let how = "One dot a muscle, region and condition. Across: predicted, scaled to the study; up: measured, percent. On the line \
               both are the same. A study whose dots rise with the line has its pattern predicted.";
    let top = height_of(card, &title, how);
    let rows = studies.len().div_ceil(across);
    let mut b = Board::new(card.width(), top + rows as f64 * (height + gap) + card.margin() - gap);
    heading(&mut b, card, &title, how);
    for (i, s) in studies.iter().enumerate() {
        let x = card.margin() + (i % across) as f64 * (width + gap);
        b.place(x, top + (i / across) as f64 * (height + gap), panel(s, card, width, height));
    }
    let told = |s: &&EvidenceStudy| format!("{}: {} results. {}", short(&s.id), points(s).len(), s.sentence);
    b.finish(&title, &studies.iter().map(told).collect::<Vec<_>>().join(" "), t.paper)
}

fn panel(s: &EvidenceStudy, card: &Card, width: f64, height: f64) -> Board {
    let t = card.theme;
    let mut b = Board::new(width, height);
    let grey = Type::new(card.small(), t.grey);
    let bold = Type::new(card.small() * 1.05, t.ink).bold();
    let e = grey.size;
    b.text(0.0, e, &fit(&short(&s.id), bold.size, bold.weight, width), bold);
    b.text(0.0, e * 2.3, &fit(&s.participants, e, grey.weight, width), grey);
    let list = points(s);
    let (low, high) =
        list.iter().flat_map(|p| [p.measured, p.predicted]).fold((0.0_f64, 0.0_f64), |(a, z), v| (a.min(v), z.max(v)));
    let step = nice_step(high - low, 4.0);
    let (low, high) = ((low / step).floor() * step, (high / step).ceil() * step);
    let digits = usize::from(step < 1.0);
    let tick_w = [low, high].iter().map(|v| grey.width(&signed(*v, digits))).fold(0.0, f64::max);
    let (x0, x1, y0, y1) = (tick_w + e * 0.8, width - e * 0.8, e * 3.3, height - e * 1.9);
    let at = |v: f64| (v - low) / (high - low).max(1e-9);
    let (x, y) = (|v: f64| x0 + at(v) * (x1 - x0), |v: f64| y1 - at(v) * (y1 - y0));
    for v in (0..=((high - low) / step).round() as usize).map(|i| low + step * i as f64) {
        let zero = v.abs() < step * 1e-6;
        b.line([x0, y(v)], [x1, y(v)], if zero { Paint::line(t.ink, 1.2) } else { Paint::line(t.grid, 1.0) });
        b.text(x0 - e * 0.4, y(v) + e * 0.35, &signed(v, digits), grey.at(Anchor::End));
    }
    b.line([x(low), y(low)], [x(high), y(high)], Paint::line(t.soft, 1.6).dashed("5 4"));
    for p in &list {
        b.circle(x(p.predicted), y(p.measured), e * 0.32, Paint::both(t.ink, t.paper, 1.2));
    }
    b.text(x1, height - e * 0.4, "predicted", grey.at(Anchor::End));
    b
}
