//! What is wrong with a movement file, drawn: the posture where a rule is broken, the place ringed.

use crate::font::{self, Weight};
use crate::geom::View;
use crate::posture::{Frames, Options, posture_board};
use crate::svg::{Board, Drawing, Paint, Type};
use crate::theme::Theme;
use answer::Scene;

/// One broken rule in its posture.
#[derive(Clone, Copy, Debug)]
pub struct FaultView<'a> {
    pub title: &'a str,
    pub text: &'a str,
    pub scene: &'a Scene,
    /// Index into the scene's frames.
    pub frame: usize,
    /// Named point of the scene that is ringed; empty for none.
    pub point: &'a str,
}

/// Side and front view of each fault, one row a fault.
pub fn fault_card(title: &str, faults: &[FaultView], theme: &'static Theme) -> Drawing {
    let (w, h, gap, size) = (360.0, 330.0, 20.0, 15.0);
    let width = 2.0 * w + 3.0 * gap;
    let row = h + 74.0;
    let mut b = Board::new(width, 58.0 + faults.len() as f64 * row);
    let big = Type::new(20.0, theme.ink).bold();
    b.text(gap, 36.0, &font::fit(title, big.size, big.weight, width - 2.0 * gap), big);
    for (i, f) in faults.iter().enumerate() {
        let y = 58.0 + i as f64 * row;
        let name = Type::new(size, theme.ink).bold();
        b.text(gap, y + 4.0, &font::fit(f.title, size, Weight::Semibold, width - 2.0 * gap), name);
        let words = font::wrap_at_most(f.text, size, Weight::Regular, width - 2.0 * gap, 2);
        b.lines(gap, y + 24.0, &words, 19.0, Type::new(size, theme.brick));
        let ring = f.scene.frames.get(f.frame).and_then(|s| s.points.get(f.point)).copied();
        for (k, view) in [View::Side, View::Front].into_iter().enumerate() {
            let x = gap + k as f64 * (w + gap);
            b.rect(x, y + 52.0, w, h, 8.0, Paint::both(theme.card, theme.grid, 1.0));
            let o = Options {
                width: w,
                height: h,
                theme,
                levers: false,
                captions: true,
                font_px: 13.0,
                ring,
                ..Options::default()
            };
            b.place(x, y + 52.0, posture_board(f.scene, view, Frames::One(f.frame), &o));
        }
    }
    let texts: Vec<&str> = faults.iter().map(|f| f.text).collect();
    b.finish(title, &texts.join("; "), theme.paper)
}
