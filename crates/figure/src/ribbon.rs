//! The length ribbon: what each joint adds to or takes from a head's length over the lift.

use crate::font;
use crate::geom::P2;
use crate::labels::spread;
use crate::svg::{Anchor, Board, Drawing, Paint, Type, polyline};
use crate::theme::{Theme, joint_order};
use crate::words::{capital, num, signed};
use answer::Ribbon;

#[derive(Clone, Copy, Debug)]
pub struct RibbonOptions<'a> {
    pub width: f64,
    pub height: f64,
    pub theme: &'static Theme,
    pub font_px: f64,
    /// Head over the ribbon; empty for none.
    pub title: &'a str,
    /// Words for the two ends of the lift.
    pub from_word: &'a str,
    pub to_word: &'a str,
}

/// A ribbon as a figure of its own.
pub fn ribbon_svg(r: &Ribbon, o: &RibbonOptions) -> Drawing {
    let net = r.total_mm.last().copied().unwrap_or(0.0);
    let desc = format!("Change of length over the lift, net {} mm.", signed(net, 0));
    ribbon_board(r, o).finish(&format!("Length ribbon {}", o.title), &desc, o.theme.paper)
}

/// Bands, net line, axis and labels. Joints that lengthen stack above nought, those that shorten below, frame by frame.
pub fn ribbon_board(r: &Ribbon, o: &RibbonOptions) -> Board {
    let t = o.theme;
    let mut b = Board::new(o.width, o.height);
    let grey = Type::new(o.font_px, t.grey);
    let lead = o.font_px * 1.35;
    let mut top = lead;
    if !o.title.is_empty() {
        let bold = Type::new(o.font_px * 1.06, t.ink).bold();
        b.text(0.0, top, &font::fit(&capital(o.title), bold.size, bold.weight, o.width), bold);
        top += lead;
    }
    let axis_words = ["change of length, mm (above: longer, below: shorter)", "change of length, mm", "mm"];
    let axis = axis_words.iter().find(|w| grey.width(w) <= o.width).unwrap_or(&"mm");
    b.text(0.0, top, axis, grey);

    let mut joints: Vec<(&String, Vec<f64>)> = r
        .by_joint_mm
        .iter()
        .map(|(j, v)| (j, v.iter().map(|x| if x.is_finite() { *x } else { 0.0 }).collect()))
        .collect();
    joints.retain(|(_, v)| v.iter().any(|x| x.abs() >= 0.5));
    joints.sort_by_key(|(j, _)| (joint_order(j).unwrap_or(usize::MAX), *j));
    let net: Vec<f64> = r.total_mm.iter().map(|x| if x.is_finite() { *x } else { 0.0 }).collect();
    let n = joints.iter().map(|(_, v)| v.len()).chain([net.len()]).min().unwrap_or(0);
    if n < 2 {
        b.text(0.0, o.height / 2.0, "No change of length to draw", grey);
        return b;
    }
    let end = |v: &[f64]| v[n - 1];
    let mut labels: Vec<(f64, String, &str)> = Vec::new();
    let (mut low, mut high) = (0.0f64, 0.0f64);
    // Stacks: for each joint its inner and outer edge, frame by frame.
    let mut edges: Vec<(Vec<f64>, Vec<f64>)> = Vec::new();
    let (mut up, mut down) = (vec![0.0; n], vec![0.0; n]);
    for (_, v) in &joints {
        let (mut inner, mut outer) = (Vec::with_capacity(n), Vec::with_capacity(n));
        for i in 0..n {
            let stack = if v[i] >= 0.0 { &mut up[i] } else { &mut down[i] };
            inner.push(*stack);
            *stack += v[i];
            outer.push(*stack);
            low = low.min(*stack);
            high = high.max(*stack);
        }
        edges.push((inner, outer));
    }
    for x in &net[..n] {
        low = low.min(*x);
        high = high.max(*x);
    }
    for ((j, v), (inner, outer)) in joints.iter().zip(&edges) {
        labels.push((
            (end(inner) + end(outer)) / 2.0,
            format!("{} {} mm", answer::joint_word(j), signed(end(v), 0)),
            t.joint(j),
        ));
    }
    labels.push((end(&net), format!("net {} mm", signed(end(&net), 0)), t.ink));

    let step = nice_step(high - low, ((o.height - top) / (o.font_px * 2.8)).clamp(2.0, 5.0));
    let (low, high) = ((low / step).floor() * step, (high / step).ceil().max(1.0) * step);
    let bold = Type::new(o.font_px, t.ink).bold();
    let label_w = labels.iter().map(|(_, w, _)| bold.width(w)).fold(0.0, f64::max);
    let ticks: Vec<f64> = (0..=((high - low) / step).round() as usize).map(|i| low + step * i as f64).collect();
    let tick = |v: f64| signed(v, if step < 1.0 { 1 } else { 0 });
    let tick_w = ticks.iter().map(|v| grey.width(&tick(*v))).fold(0.0, f64::max);
    let (x0, x1) = (tick_w + o.font_px * 0.6, (o.width - label_w - o.font_px * 0.8).max(tick_w + 40.0));
    let (y0, y1) = (top + o.font_px * 1.1, o.height - o.font_px * 2.0);
    let y = |mm: f64| y1 - (mm - low) / (high - low) * (y1 - y0);
    let x = |i: usize| x0 + (x1 - x0) * i as f64 / (n - 1) as f64;
    for v in &ticks {
        b.line(
            [x0, y(*v)],
            [x1, y(*v)],
            Paint::line(if *v == 0.0 { t.ink } else { t.grid }, if *v == 0.0 { 1.3 } else { 1.0 }),
        );
        // Low ribbons name nought and the lines far enough from it.
        if *v == 0.0 || (y(*v) - y(0.0)).abs() >= o.font_px && (y(low) - y(low + step)).abs() >= o.font_px {
            b.text(x0 - o.font_px * 0.5, y(*v) + o.font_px * 0.35, &tick(*v), grey.at(Anchor::End));
        }
    }
    for ((j, _), (inner, outer)) in joints.iter().zip(&edges) {
        let edge = |e: &[f64]| (0..n).map(|i| [x(i), y(e[i])]).collect::<Vec<P2>>();
        let mut ring = edge(outer);
        ring.extend(edge(inner).into_iter().rev());
        b.path(&crate::svg::closed(&[ring]), Paint::fill(t.joint(j)).tint(0.27));
        let mut d = String::new();
        polyline(&mut d, &edge(outer));
        b.path(&d, Paint::line(t.joint(j), 1.6));
    }
    let mut d = String::new();
    polyline(&mut d, &(0..n).map(|i| [x(i), y(net[i])]).collect::<Vec<_>>());
    b.path(&d, Paint::line(t.ink, (o.font_px * 0.2).max(2.6)));
    let mut ys: Vec<f64> = labels.iter().map(|(mm, _, _)| y(*mm) + o.font_px * 0.35).collect();
    spread(&mut ys, o.font_px * 1.12, y0 + o.font_px * 0.3, y1 + o.font_px * 0.4);
    for ((_, word, colour), y) in labels.iter().zip(ys) {
        b.text(x1 + o.font_px * 0.6, y, word, Type { fill: colour, ..bold });
    }
    // The words stand at the ends of the axis; where that is too short, they may use the whole width.
    let room = grey.width(o.from_word) + grey.width(o.to_word) + o.font_px <= x1 - x0;
    let right = if room { x1 } else { o.width };
    let half = if room { x1 - x0 } else { (right - x0) / 2.0 - o.font_px * 0.3 };
    b.text(x0, o.height - o.font_px * 0.45, &font::fit(o.from_word, o.font_px, grey.weight, half), grey);
    b.text(
        right,
        o.height - o.font_px * 0.45,
        &font::fit(o.to_word, o.font_px, grey.weight, half),
        grey.at(Anchor::End),
    );
    b
}

/// A round step that cuts `span` into about `parts`.
pub fn nice_step(span: f64, parts: f64) -> f64 {
    let raw = (span / parts).max(0.1);
    let ten = 10f64.powf(raw.log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * ten).find(|s| *s >= raw * 0.999).unwrap_or(10.0 * ten)
}

/// One line that says what the ribbon shows, for a screen reader.
pub fn ribbon_words(r: &Ribbon) -> String {
    let part = |(j, v): (&String, &Vec<f64>)| v.last().map(|x| format!("{j} {}", signed(*x, 0)));
    let joints: Vec<String> = r.by_joint_mm.iter().filter_map(part).collect();
    format!("{} mm; net {} mm", joints.join(", "), num(r.total_mm.last().copied().unwrap_or(0.0), 0))
}
