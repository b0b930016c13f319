//! Lever arms over joint angles: our curve, and the published points with their spread.

use crate::font::{fit, wrap};
use crate::geom::P2;
use crate::marks::Card;
use crate::ribbon::nice_step;
use crate::svg::{Anchor, Board, Drawing, Paint, Type, polyline};
use crate::words::{capital, num, signed};
use answer::{ArmCurve, ArmPoint};

/// Title of the picture: how many points lie within their spread of our curve.
pub fn arms_finding(curves: &[ArmCurve]) -> String {
    let points = || curves.iter().flat_map(|c| &c.published);
    let (inside, all) = (points().filter(|p| p.inside).count(), points().count());
    let muscles = match curves.len() {
        1 => "one curve".to_string(),
        n => format!("{n} curves"),
    };
    format!("{inside} of {all} published lever arms lie within their spread of ours, on {muscles}")
}

/// Small pictures, one a curve; the fewest in a row that the format carries. `None` without a curve.
pub fn arms_card(curves: &[ArmCurve], card: &Card) -> Option<Drawing> {
    if curves.is_empty() {
        return None;
    }
    let t = card.theme;
    // A whole table of curves would be too tall for a picture in three columns.
    let across = match (card.wide(), curves.len()) {
        (false, _) => 1,
        (true, 0..=24) => 3,
        (true, _) => 4,
    };
    let gap = card.margin() * 0.8;
    let across = across.min(curves.len());
    let width = (card.inner() - gap * (across - 1) as f64) / across as f64;
    let height = (width * 0.66).clamp(card.small() * 14.0, card.small() * 22.0);
    let title = arms_finding(curves);
    let bold = Type::new(card.base() * 1.5, t.ink).bold();
    let heading = wrap(&title, bold.size, bold.weight, card.inner());
    let grey = Type::new(card.small(), t.grey);
    let how = "Line: ours, mm over degrees, positive in the direction of the axis. Dots with bars: published, with the \
               tolerance; full inside, hollow outside. Squares: the tables were fitted to them.";
    let how = wrap(how, grey.size, grey.weight, card.inner());
    let top = card.margin() + bold.size * 1.3 * heading.len() as f64 + grey.size * 1.4 * how.len() as f64 + gap * 0.6;
    let rows = curves.len().div_ceil(across);
    let mut b = Board::new(card.width(), top + rows as f64 * (height + gap) + card.margin() - gap);
    let y = b.lines(card.margin(), card.margin() + bold.size * 0.8, &heading, bold.size * 1.3, bold);
    b.lines(card.margin(), y - bold.size * 0.3, &how, grey.size * 1.4, grey);
    for (i, c) in curves.iter().enumerate() {
        let x = card.margin() + (i % across) as f64 * (width + gap);
        b.place(x, top + (i / across) as f64 * (height + gap), panel(c, card, width, height));
    }
    Some(b.finish(&title, &description(curves), t.paper))
}

/// Ids of heads as words; several that pull as one by the words they share.
fn heads(c: &ArmCurve) -> String {
    let all: Vec<Vec<&str>> = c.heads.split('+').map(|h| h.split('-').collect()).collect();
    let shared = (0..all[0].len()).take_while(|&i| all.iter().all(|h| h.get(i) == Some(&all[0][i]))).count();
    match (all.len(), shared) {
        (1, _) => capital(&all[0].join(" ")),
        (_, 0) => capital(&all.iter().map(|h| h.join(" ")).collect::<Vec<_>>().join(" and ")),
        (_, n) => capital(&all[0][..n].join(" ")),
    }
}

fn description(curves: &[ArmCurve]) -> String {
    let one = |c: &ArmCurve| {
        let inside = c.published.iter().filter(|p| p.inside).count();
        format!("{}, {}: {inside} of {} inside.", heads(c), c.axis, c.published.len())
    };
    curves.iter().map(one).collect::<Vec<_>>().join(" ")
}

fn panel(c: &ArmCurve, card: &Card, width: f64, height: f64) -> Board {
    let t = card.theme;
    let mut b = Board::new(width, height);
    let grey = Type::new(card.small(), t.grey);
    let bold = Type::new(card.small() * 1.1, t.ink).bold();
    let s = grey.size;
    b.text(0.0, s, &fit(&heads(c), bold.size, bold.weight, width), bold);
    b.text(0.0, s * 2.35, &fit(&format!("{}, {}", c.axis, c.moving), s, grey.weight, width), grey);
    let ends = |p: &ArmPoint| [p.arm_mm - p.tolerance_mm, p.arm_mm + p.tolerance_mm];
    let values = c.published.iter().flat_map(ends).chain(c.ours.iter().map(|p| p[1])).filter(|v| v.is_finite());
    let (low, high) = values.fold((0.0_f64, 0.0_f64), |(a, z), v| (a.min(v), z.max(v)));
    let step = nice_step(high - low, ((height - s * 5.0) / (s * 2.2)).clamp(2.0, 5.0));
    let (low, high) = ((low / step).floor() * step, (high / step).ceil() * step);
    let ticks: Vec<f64> = (0..=((high - low) / step).round() as usize).map(|i| low + step * i as f64).collect();
    let tick_w = ticks.iter().map(|v| grey.width(&signed(*v, 0))).fold(0.0, f64::max);
    let (Some(first), Some(last)) = (c.ours.first(), c.ours.last()) else { return b };
    let (x0, x1, y0, y1) = (tick_w + s, width - s * 0.8, s * 3.6, height - s * 1.9);
    let x = |deg: f64| x0 + (deg - first[0]) / (last[0] - first[0]).max(1e-9) * (x1 - x0);
    let y = |mm: f64| y1 - (mm - low) / (high - low).max(1e-9) * (y1 - y0);
    for v in &ticks {
        let line = if *v == 0.0 { Paint::line(t.ink, 1.2) } else { Paint::line(t.grid, 1.0) };
        b.line([x0 - s * 0.3, y(*v)], [x1 + s * 0.3, y(*v)], line);
        b.text(x0 - s * 0.6, y(*v) + s * 0.35, &signed(*v, 0), grey.at(Anchor::End));
    }
    for (deg, anchor) in [(first[0], Anchor::Start), (last[0], Anchor::End)] {
        b.text(x(deg), height - s * 0.4, &format!("{}°", num(deg, 0)), grey.at(anchor));
    }
    for p in &c.published {
        let [from, to] = ends(p);
        b.line([x(p.angle_deg), y(from)], [x(p.angle_deg), y(to)], Paint::line(t.soft, s * 0.35));
    }
    let ours: Vec<P2> = c.ours.iter().map(|p| [x(p[0]), y(p[1])]).collect();
    let mut d = String::new();
    polyline(&mut d, &ours);
    let joint = c.axis.split('.').next().unwrap_or("");
    b.path(&d, Paint::line(t.joint(joint), s * 0.2));
    for p in &c.published {
        let (px, py, r) = (x(p.angle_deg), y(p.arm_mm), s * 0.3);
        let paint = Paint::both(if p.inside { t.ink } else { t.paper }, t.ink, 1.4);
        if p.fitted {
            b.rect(px - r, py - r, 2.0 * r, 2.0 * r, 0.0, paint);
        } else {
            b.circle(px, py, r, paint);
        }
    }
    b
}
