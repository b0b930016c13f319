//! What changes over a rep: the largest load the muscles can balance, and the moments they must make.

use crate::labels::spread;
use crate::ribbon::nice_step;
use crate::svg::{Anchor, Board, Drawing, Paint, Type, polyline};
use crate::theme::Theme;
use crate::words::{capital, num};
use answer::{Look, Scene};

#[derive(Clone, Copy, Debug)]
pub struct CurveOptions {
    pub width: f64,
    pub height: f64,
    pub theme: &'static Theme,
    pub font_px: f64,
}

/// Frame of a chart: phase to the right, values up from nought.
struct Chart<'a> {
    b: Board,
    o: &'a CurveOptions,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    low: f64,
    high: f64,
}

impl<'a> Chart<'a> {
    fn new(o: &'a CurveOptions, label_w: f64, low: f64, high: f64, unit: &str, scene: &Scene) -> Chart<'a> {
        let mut b = Board::new(o.width, o.height);
        let grey = Type::new(o.font_px, o.theme.grey);
        let (top, bottom) = (o.font_px * 2.4, o.height - o.font_px * 1.9);
        let step = nice_step(high - low, 4.0);
        let (low, high) = ((low / step).floor() * step, (high / step).ceil() * step);
        let left = grey.width(&num(high, 0)).max(grey.width(&num(low, 0))) + 10.0;
        b.text(0.0, o.font_px * 1.2, unit, grey);
        let c = Chart { b, o, left, right: o.width - label_w, top, bottom, low, high };
        c.grid(step, scene)
    }
    fn grid(mut self, step: f64, scene: &Scene) -> Chart<'a> {
        let grey = Type::new(self.o.font_px, self.o.theme.grey);
        let mut v = self.low;
        while v <= self.high + 1e-9 {
            let y = self.y(v);
            let ink = if v.abs() < 1e-9 { self.o.theme.grey } else { self.o.theme.grid };
            self.b.line([self.left, y], [self.right, y], Paint::line(ink, 1.0));
            self.b.text(self.left - 6.0, y + self.o.font_px * 0.35, &num(v, 0), grey.at(Anchor::End));
            v += step;
        }
        let y = self.o.height - self.o.font_px * 0.4;
        self.b.text(self.left, y, &capital(&scene.from_word), grey);
        self.b.text(self.right, y, &capital(&scene.to_word), grey.at(Anchor::End));
        self
    }
    fn x(&self, frame: usize, frames: usize) -> f64 {
        self.left + (self.right - self.left) * frame as f64 / (frames.max(2) - 1) as f64
    }
    fn y(&self, v: f64) -> f64 {
        self.bottom - (self.bottom - self.top) * (v - self.low) / (self.high - self.low).max(1e-9)
    }
    fn curve(&mut self, values: &[f64], paint: Paint) {
        let points: Vec<[f64; 2]> = values
            .iter()
            .enumerate()
            .map(|(i, v)| [self.x(i, values.len()), self.y(v.clamp(self.low, self.high))])
            .collect();
        let mut d = String::new();
        polyline(&mut d, &points);
        self.b.path(&d, paint);
    }
}

/// Largest load of every frame, the load of a hard set across it, the sticking point marked. `None` without a solved
/// capacity.
pub fn capacity_svg(look: &Look, o: &CurveOptions) -> Option<Drawing> {
    let scene = look.scene.as_ref()?;
    let capacity: Vec<f64> = scene.capacity.iter().copied().filter(|v| v.is_finite()).collect();
    if capacity.len() < 2 || capacity.len() != scene.capacity.len() {
        return None;
    }
    let t = o.theme;
    let ink = Type::new(o.font_px, t.ink);
    // Far above the hard set the curve says nothing more.
    let most = capacity.iter().copied().fold(look.load_kg * 1.15, f64::max).min(look.load_kg * 2.5);
    let unit = format!("largest load that can be balanced, {}", look.load_unit);
    let mut c = Chart::new(o, ink.width("a hard set") + 14.0, 0.0, most, &unit, scene);
    let at = scene.hardest_frame.min(capacity.len() - 1);
    let x = c.x(at, capacity.len());
    c.b.line([x, c.top], [x, c.bottom], Paint::line(t.grey, 1.2).dashed("3 4"));
    let anchor = if at * 2 < capacity.len() { Anchor::Start } else { Anchor::End };
    let beside = if at * 2 < capacity.len() { x + 6.0 } else { x - 6.0 };
    c.b.text(beside, c.top + o.font_px, "hardest here", Type::new(o.font_px, t.grey).at(anchor));
    let y = c.y(look.load_kg);
    c.b.line([c.left, y], [c.right, y], Paint::line(t.ink, 1.4).dashed("6 4"));
    c.curve(&capacity, Paint::line(t.ink, 3.0));
    c.b.circle(x, c.y(capacity[at].min(c.high)), 5.0, Paint::fill(t.ink));
    let right = c.right + 8.0;
    c.b.text(right, y + o.font_px * 0.35, "a hard set", ink.bold());
    let desc = format!(
        "The largest load is {} at the {} and {} at the {}; a hard set is {}.",
        num(capacity[0], 0),
        scene.from_word,
        num(capacity[capacity.len() - 1], 0),
        scene.to_word,
        num(look.load_kg, 0)
    );
    Some(c.b.finish("Capacity over the lift", &desc, t.paper))
}

/// Moments drawn: more would lie on each other.
const MOST: usize = 5;

/// Joint moments of a hard set over the lift, in the colours of their joints. `None` where nothing is balanced.
pub fn moments_svg(look: &Look, o: &CurveOptions) -> Option<Drawing> {
    let scene = look.scene.as_ref()?;
    let curves: Vec<_> = scene.moments.iter().filter(|m| m.moment_nm.len() > 1).take(MOST).collect();
    if curves.is_empty() {
        return None;
    }
    let said = |axis: &str| axis.replacen('.', " ", 1).replace('-', " ");
    let bold = |joint: &str| Type::new(o.font_px, o.theme.joint(joint)).bold();
    let label_w = curves.iter().map(|m| bold("hip").width(&said(&m.axis))).fold(0.0, f64::max) + 12.0;
    let all = || curves.iter().flat_map(|m| m.moment_nm.iter().copied());
    let (low, high) = (all().fold(0.0, f64::min), all().fold(1.0, f64::max));
    let mut c = Chart::new(o, label_w, low, high, "moment the muscles must make, N·m (one side)", scene);
    let mut ends = Vec::new();
    for m in &curves {
        let joint = m.axis.split('.').next().unwrap_or_default();
        c.curve(&m.moment_nm, Paint::line(o.theme.joint(joint), 2.6));
        ends.push(c.y(m.moment_nm[m.moment_nm.len() - 1]) + o.font_px * 0.35);
    }
    spread(&mut ends, o.font_px * 1.25, c.top, c.bottom + o.font_px * 0.35);
    for (m, y) in curves.iter().zip(ends) {
        let joint = m.axis.split('.').next().unwrap_or_default();
        let right = c.right + 8.0;
        c.b.text(right, y, &said(&m.axis), bold(joint));
    }
    let desc: Vec<String> = curves
        .iter()
        .map(|m| {
            format!("{} up to {} N·m", said(&m.axis), num(m.moment_nm.iter().fold(0.0f64, |a, v| a.max(v.abs())), 0))
        })
        .collect();
    Some(c.b.finish("Moments over the lift", &format!("{}.", desc.join("; ")), o.theme.paper))
}
