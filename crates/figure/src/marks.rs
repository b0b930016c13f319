//! Marks that every card shares: page sizes, class squares, dot with soft bar, title, notes.

use crate::font::{self, Weight};
use crate::svg::{Anchor, Board, Paint, Type};
use crate::theme::{LIGHT, Theme};
use answer::{Band, Class, Range};

/// Where a card is to be seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// In the app or a document: as high as its content.
    Page,
    /// A phone, 390 px wide, as high as its content.
    Phone,
    /// A post, 1080 × 1350 px.
    Post,
    /// A slide, 1920 × 1080 px.
    Slide,
}

#[derive(Clone, Copy, Debug)]
pub struct Card {
    pub format: Format,
    pub theme: &'static Theme,
}

impl Default for Card {
    fn default() -> Card {
        Card { format: Format::Page, theme: &LIGHT }
    }
}

impl Card {
    pub fn width(&self) -> f64 {
        match self.format {
            Format::Page => 1240.0,
            Format::Phone => 390.0,
            Format::Post => 1080.0,
            Format::Slide => 1920.0,
        }
    }
    /// Fixed height, where the format has one.
    pub fn height(&self) -> Option<f64> {
        match self.format {
            Format::Page | Format::Phone => None,
            Format::Post => Some(1350.0),
            Format::Slide => Some(1080.0),
        }
    }
    /// Body text, px: never under 13, on exports never under 24.
    pub fn base(&self) -> f64 {
        match self.format {
            Format::Page => 16.0,
            Format::Phone => 15.0,
            Format::Post => 24.0,
            Format::Slide => 26.0,
        }
    }
    /// Smallest text, px.
    pub fn small(&self) -> f64 {
        match self.format {
            Format::Page => 14.0,
            Format::Phone => 13.0,
            Format::Post | Format::Slide => 24.0,
        }
    }
    pub fn margin(&self) -> f64 {
        match self.format {
            Format::Page => 36.0,
            Format::Phone => 16.0,
            Format::Post => 52.0,
            Format::Slide => 72.0,
        }
    }
    pub fn inner(&self) -> f64 {
        self.width() - 2.0 * self.margin()
    }
    /// Columns beside each other, or one under another.
    pub fn wide(&self) -> bool {
        matches!(self.format, Format::Page | Format::Slide)
    }
    /// Row height of a table.
    pub fn row(&self) -> f64 {
        self.base() * if self.format == Format::Page { 2.05 } else { 1.85 }
    }
    pub fn text(&self) -> Type<'static> {
        Type::new(self.base(), self.theme.ink)
    }
    pub fn grey(&self) -> Type<'static> {
        Type::new(self.small(), self.theme.grey)
    }

    /// Title and grey lines at the top of a card; returns the y below them.
    pub fn head(&self, b: &mut Board, title: &str, under: &[String]) -> f64 {
        let size = self.base() * if self.format == Format::Phone { 1.35 } else { 1.65 };
        let t = Type::new(size, self.theme.ink).bold();
        let most = match self.format {
            Format::Page => 4,
            Format::Phone => 9,
            Format::Slide => 3,
            Format::Post => 5,
        };
        let lines = font::wrap_at_most(title, size, t.weight, self.inner(), most);
        let mut y = self.margin() + size * 0.8;
        y = b.lines(self.margin(), y, &lines, size * 1.2, t) - size * 1.2 + self.base() * 1.65;
        for line in under {
            let t = Type::new(self.base(), self.theme.grey);
            let most = match self.format {
                Format::Phone => 8,
                Format::Page => 3,
                _ => 2,
            };
            let lines = font::wrap_at_most(line, t.size, t.weight, self.inner(), most);
            y = b.lines(self.margin(), y, &lines, self.base() * 1.35, t);
        }
        y + self.base() * 0.2
    }

    /// Height of [`Card::notes`].
    pub fn notes_height(&self, stop: &[String], notes: &[String]) -> f64 {
        let mut probe = Board::new(self.width(), 0.0);
        self.notes(&mut probe, 0.0, stop, notes)
    }

    /// Stop signs on their ground, then grey notes; returns the y below.
    pub fn notes(&self, b: &mut Board, y: f64, stop: &[String], notes: &[String]) -> f64 {
        let (x, w, s) = (self.margin(), self.inner(), self.small());
        let mut y = y;
        if !stop.is_empty() {
            let text = format!("Stop and ask for help: {}.", stop.join("; ").trim_end_matches('.'));
            let lines =
                font::wrap_at_most(&text, s, Weight::Regular, w - s * 1.6, if self.height().is_some() { 2 } else { 6 });
            let h = lines.len() as f64 * s * 1.35 + s * 0.7;
            b.rect(x, y, w, h, 0.0, Paint::fill(self.theme.brick_ground));
            b.rect(x, y, 3.0, h, 0.0, Paint::fill(self.theme.brick));
            b.lines(x + s * 0.8, y + s * 1.3, &lines, s * 1.35, Type::new(s, self.theme.ink));
            y += h + s * 0.6;
        }
        if !notes.is_empty() {
            let lines = font::wrap_at_most(
                &notes.join(" "),
                s,
                Weight::Regular,
                w,
                if self.height().is_some() { 2 } else { 8 },
            );
            y = b.lines(x, y + s, &lines, s * 1.35, self.grey()) - s * 0.6;
        }
        y
    }
}

/// Four squares, as many filled as the class has, and its word; returns the width used.
pub fn class_mark(b: &mut Board, x: f64, y: f64, class: Class, card: &Card) {
    let s = card.base() * 0.68;
    for i in 0..4 {
        let fill = if i < class.squares() { card.theme.ink } else { card.theme.square_off };
        b.rect(x + i as f64 * s * 1.26, y - s * 0.98, s, s, s * 0.25, Paint::fill(fill));
    }
    b.text(x + s * 5.4, y, class.word(), card.text());
}

/// Width of [`class_mark`].
pub fn class_width(card: &Card) -> f64 {
    card.base() * 0.68 * 5.4 + card.text().width("strong")
}

/// Axis of a range bar.
#[derive(Clone, Copy, Debug)]
pub struct Scale {
    pub x: f64,
    pub w: f64,
    pub max: f64,
}

impl Scale {
    pub fn at(&self, v: f64) -> f64 {
        let v = if v.is_finite() { v } else { 0.0 };
        self.x + (v / self.max.max(1e-9)).clamp(0.0, 1.0) * self.w
    }
    /// Numbers over the column.
    pub fn ticks(&self, b: &mut Board, y: f64, step: f64, digits: usize, t: Type) {
        let n = (self.max / step + 1e-9) as usize;
        for i in 0..=n {
            let v = i as f64 * step;
            b.text(self.at(v), y, &crate::words::num(v, digits), t.at(Anchor::Middle));
        }
    }
    /// Dot with soft bar over an optional sand field, at the middle height `y`.
    pub fn mark(&self, b: &mut Board, y: f64, r: Range, band: Option<Band>, card: &Card) {
        let t = card.theme;
        let h = card.base() * 1.15;
        if let Some(band) = band.filter(|k| k.high > k.low) {
            b.rect(self.at(band.low), y - h / 2.0, self.at(band.high) - self.at(band.low), h, 3.0, Paint::fill(t.sand));
        }
        b.line([self.x, y], [self.x + self.w, y], Paint::line(t.grid, 1.0));
        b.line([self.at(r.low), y], [self.at(r.high), y], Paint::line(t.soft, card.base() * 0.42));
        b.circle(self.at(r.mid), y, card.base() * 0.32, Paint::fill(t.ink));
    }
}
