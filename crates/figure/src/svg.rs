//! A small SVG writer: presentation attributes only, two decimals, escaped text, the same bytes for the same input.
//! It also remembers where every label stands, so that tests can see overlaps.

use crate::font::{CAP_EM, DESCENT_EM, FAMILIES, Weight, text_width};
use crate::geom::P2;
use std::fmt::Write;

/// A box of a label, px.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    pub x0: f64,
    pub y0: f64,
    pub x1: f64,
    pub y1: f64,
    pub text: String,
}

impl Label {
    pub fn overlaps(&self, o: &Label) -> bool {
        self.x0 < o.x1 && o.x0 < self.x1 && self.y0 < o.y1 && o.y0 < self.y1
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    Start,
    Middle,
    End,
}

/// How a text looks.
#[derive(Clone, Copy, Debug)]
pub struct Type<'a> {
    pub size: f64,
    pub weight: Weight,
    pub fill: &'a str,
    pub anchor: Anchor,
    /// Colour of a rim that keeps the text readable over lines.
    pub halo: Option<&'a str>,
}

impl<'a> Type<'a> {
    pub fn new(size: f64, fill: &'a str) -> Type<'a> {
        Type { size, weight: Weight::Regular, fill, anchor: Anchor::Start, halo: None }
    }
    pub fn bold(self) -> Type<'a> {
        Type { weight: Weight::Semibold, ..self }
    }
    pub fn at(self, anchor: Anchor) -> Type<'a> {
        Type { anchor, ..self }
    }
    pub fn halo(self, paper: &'a str) -> Type<'a> {
        Type { halo: Some(paper), ..self }
    }
    pub fn width(&self, text: &str) -> f64 {
        text_width(text, self.size, self.weight)
    }
    /// Where a text would stand.
    pub fn label(&self, x: f64, y: f64, text: &str) -> Label {
        let w = self.width(text);
        let x0 = match self.anchor {
            Anchor::Start => x,
            Anchor::Middle => x - w / 2.0,
            Anchor::End => x - w,
        };
        Label { x0, y0: y - CAP_EM * self.size, x1: x0 + w, y1: y + DESCENT_EM * self.size, text: text.to_string() }
    }
}

/// Fill and stroke of a shape.
#[derive(Clone, Copy, Debug)]
pub struct Paint<'a> {
    pub fill: &'a str,
    pub stroke: &'a str,
    pub width: f64,
    pub fill_opacity: f64,
    pub dash: Option<&'a str>,
    /// Fill over stroke: overlapping parts of one path melt into one outline.
    pub melt: bool,
}

impl<'a> Paint<'a> {
    pub fn fill(fill: &'a str) -> Paint<'a> {
        Paint { fill, stroke: "none", width: 0.0, fill_opacity: 1.0, dash: None, melt: false }
    }
    pub fn line(stroke: &'a str, width: f64) -> Paint<'a> {
        Paint { fill: "none", stroke, width, fill_opacity: 1.0, dash: None, melt: false }
    }
    pub fn both(fill: &'a str, stroke: &'a str, width: f64) -> Paint<'a> {
        Paint { fill, stroke, width, fill_opacity: 1.0, dash: None, melt: false }
    }
    pub fn tint(self, fill_opacity: f64) -> Paint<'a> {
        Paint { fill_opacity, ..self }
    }
    pub fn dashed(self, dash: &'a str) -> Paint<'a> {
        Paint { dash: Some(dash), ..self }
    }
    pub fn melted(self) -> Paint<'a> {
        Paint { melt: true, ..self }
    }
}

/// A finished figure.
#[derive(Clone, Debug)]
pub struct Drawing {
    pub width: f64,
    pub height: f64,
    pub svg: String,
    /// Every label in picture coordinates.
    pub labels: Vec<Label>,
}

/// A drawing board, px, y down.
#[derive(Clone, Debug, Default)]
pub struct Board {
    pub width: f64,
    pub height: f64,
    body: String,
    pub labels: Vec<Label>,
}

/// At most two decimals, no trailing noughts, never NaN, never "-0".
pub fn write_number(into: &mut String, v: f64) {
    let v = if v.is_finite() { (v.clamp(-1e6, 1e6) * 100.0).round() as i64 } else { 0 };
    if v < 0 {
        into.push('-');
    }
    let a = v.unsigned_abs();
    let _ = match (a % 100, a % 10) {
        (0, _) => write!(into, "{}", a / 100),
        (_, 0) => write!(into, "{}.{}", a / 100, a % 100 / 10),
        _ => write!(into, "{}.{:02}", a / 100, a % 100),
    };
}

pub fn number(v: f64) -> String {
    let mut s = String::new();
    write_number(&mut s, v);
    s
}

/// Text safe inside elements and attributes; control characters are dropped, as XML forbids them.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => {}
            c => out.push(c),
        }
    }
    out
}

/// Path data of closed outlines, relative and to a tenth of a pixel: skins have many points.
pub fn closed(outlines: &[Vec<P2>]) -> String {
    let tenth = |v: f64| if v.is_finite() { (v.clamp(-1e5, 1e5) * 10.0).round() as i64 } else { 0 };
    let put = |d: &mut String, v: i64, first: bool| {
        if !first && v >= 0 {
            d.push(' ');
        }
        let (sign, a) = (if v < 0 { "-" } else { "" }, v.unsigned_abs());
        let _ = match (a / 10, a % 10) {
            (i, 0) => write!(d, "{sign}{i}"),
            (0, f) => write!(d, "{sign}.{f}"),
            (i, f) => write!(d, "{sign}{i}.{f}"),
        };
    };
    let mut d = String::new();
    for o in outlines.iter().filter(|o| o.len() > 1) {
        let (mut at, mut written) = ([0, 0], 0);
        for p in o {
            let q = [tenth(p[0]), tenth(p[1])];
            if written > 0 && q == at {
                continue;
            }
            if written < 2 {
                d.push(if written == 0 { 'M' } else { 'l' });
            }
            put(&mut d, q[0] - at[0], written < 2);
            put(&mut d, q[1] - at[1], false);
            at = q;
            written += 1;
        }
        d.push('Z');
    }
    d
}

/// Path data of an open line, appended.
pub fn polyline(d: &mut String, points: &[P2]) {
    for (i, p) in points.iter().enumerate() {
        d.push(match i {
            0 => 'M',
            1 => 'L',
            _ => ' ',
        });
        write_number(d, p[0]);
        d.push(' ');
        write_number(d, p[1]);
    }
}

/// Path data of a smooth open line through the points (uniform Catmull–Rom as Béziers).
pub fn smooth(points: &[P2]) -> String {
    let mut d = String::new();
    let n = points.len();
    for i in 0..n {
        let p = points[i];
        if i == 0 {
            d.push('M');
        } else {
            let (a, b) = (points[i - 1], p);
            let before = points[i.saturating_sub(2)];
            let after = points[(i + 1).min(n - 1)];
            d.push('C');
            for k in 0..2 {
                write_number(&mut d, a[k] + (b[k] - before[k]) / 6.0);
                d.push(' ');
            }
            for k in 0..2 {
                write_number(&mut d, b[k] - (after[k] - a[k]) / 6.0);
                d.push(' ');
            }
        }
        write_number(&mut d, p[0]);
        d.push(' ');
        write_number(&mut d, p[1]);
    }
    d
}

impl Board {
    pub fn new(width: f64, height: f64) -> Board {
        Board { width, height, ..Board::default() }
    }

    fn attribute(&mut self, name: &str, v: f64) {
        let _ = write!(self.body, " {name}=\"");
        write_number(&mut self.body, v);
        self.body.push('"');
    }

    fn paint(&mut self, p: &Paint) {
        let _ = write!(self.body, " fill=\"{}\"", p.fill);
        if p.fill_opacity < 1.0 && p.fill != "none" {
            self.attribute("fill-opacity", p.fill_opacity);
        }
        if p.stroke != "none" && p.width > 0.0 {
            let _ = write!(self.body, " stroke=\"{}\"", p.stroke);
            self.attribute("stroke-width", p.width);
            self.body.push_str(" stroke-linecap=\"round\" stroke-linejoin=\"round\"");
            if let Some(d) = p.dash {
                let _ = write!(self.body, " stroke-dasharray=\"{d}\"");
            }
            if p.melt {
                self.body.push_str(" paint-order=\"stroke\"");
            }
        }
        self.body.push_str("/>");
    }

    pub fn rect(&mut self, x: f64, y: f64, w: f64, h: f64, round: f64, p: Paint) {
        self.body.push_str("<rect");
        for (k, v) in [("x", x), ("y", y), ("width", w.max(0.0)), ("height", h.max(0.0))] {
            self.attribute(k, v);
        }
        if round > 0.0 {
            self.attribute("rx", round);
        }
        self.paint(&p);
    }

    pub fn circle(&mut self, x: f64, y: f64, r: f64, p: Paint) {
        self.body.push_str("<circle");
        for (k, v) in [("cx", x), ("cy", y), ("r", r)] {
            self.attribute(k, v);
        }
        self.paint(&p);
    }

    pub fn path(&mut self, d: &str, p: Paint) {
        if d.is_empty() {
            return;
        }
        let _ = write!(self.body, "<path d=\"{d}\"");
        self.paint(&p);
    }

    pub fn line(&mut self, a: P2, b: P2, p: Paint) {
        let mut d = String::new();
        polyline(&mut d, &[a, b]);
        self.path(&d, p);
    }

    pub fn text(&mut self, x: f64, y: f64, text: &str, t: Type) {
        if text.trim().is_empty() {
            return;
        }
        self.labels.push(t.label(x, y, text));
        self.body.push_str("<text");
        self.attribute("x", x);
        self.attribute("y", y);
        self.attribute("font-size", t.size);
        let _ = write!(self.body, " fill=\"{}\"", t.fill);
        if t.weight == Weight::Semibold {
            self.body.push_str(" font-weight=\"600\"");
        }
        match t.anchor {
            Anchor::Start => {}
            Anchor::Middle => self.body.push_str(" text-anchor=\"middle\""),
            Anchor::End => self.body.push_str(" text-anchor=\"end\""),
        }
        if let Some(h) = t.halo {
            let _ = write!(self.body, " stroke=\"{h}\"");
            self.attribute("stroke-width", t.size * 0.28);
            self.body.push_str(" stroke-linejoin=\"round\" paint-order=\"stroke\"");
        }
        let _ = write!(self.body, ">{}</text>", escape(text));
    }

    /// Lines of text one under another; returns the y of the base line after the last.
    pub fn lines(&mut self, x: f64, y: f64, lines: &[String], leading: f64, t: Type) -> f64 {
        let mut y = y;
        for l in lines {
            self.text(x, y, l, t);
            y += leading;
        }
        y
    }

    /// Another board's content moved to (x, y).
    pub fn place(&mut self, x: f64, y: f64, other: Board) {
        self.body.push_str("<g transform=\"translate(");
        write_number(&mut self.body, x);
        self.body.push(' ');
        write_number(&mut self.body, y);
        let _ = write!(self.body, ")\">{}</g>", other.body);
        self.labels.extend(other.labels.into_iter().map(|l| Label {
            x0: l.x0 + x,
            y0: l.y0 + y,
            x1: l.x1 + x,
            y1: l.y1 + y,
            text: l.text,
        }));
    }

    /// The whole document on a ground of colour `ground`; title and description are read by screen readers.
    pub fn finish(self, title: &str, desc: &str, ground: &str) -> Drawing {
        let (w, h) = (number(self.width), number(self.height));
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}\" height=\"{h}\" viewBox=\"0 0 {w} {h}\" role=\"img\" \
             font-family=\"{FAMILIES}\"><title>{}</title><desc>{}</desc><rect width=\"{w}\" height=\"{h}\" \
             fill=\"{ground}\"/>{}</svg>\n",
            escape(title),
            escape(desc),
            self.body
        );
        Drawing { width: self.width, height: self.height, svg, labels: self.labels }
    }
}

impl Drawing {
    /// Labels that stand outside the picture or on one another: an empty list is what a figure owes its reader.
    pub fn clashes(&self) -> Vec<String> {
        let mut out = Vec::new();
        for (i, a) in self.labels.iter().enumerate() {
            if a.x0 < -0.5 || a.y0 < -0.5 || a.x1 > self.width + 0.5 || a.y1 > self.height + 0.5 {
                out.push(format!("outside: {:?} [{:.0} {:.0} {:.0} {:.0}]", a.text, a.x0, a.y0, a.x1, a.y1));
            }
            out.extend(
                self.labels[..i].iter().filter(|b| a.overlaps(b)).map(|b| format!("{:?} on {:?}", a.text, b.text)),
            );
        }
        out
    }
}
