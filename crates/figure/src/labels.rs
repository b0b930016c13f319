//! Finding a free place for a word beside a line.

use crate::geom::{P2, bounds};
use crate::svg::{Anchor, Label, Type};

/// What is already there, px.
pub struct Room {
    /// x0, y0, x1, y1 of the space a label may use.
    pub cell: [f64; 4],
    pub taken: Vec<Label>,
    /// Skin outlines (convex): a label reads better beside the body than on it.
    pub skins: Vec<Vec<P2>>,
    /// Lines a label should not cover.
    pub lines: Vec<[P2; 2]>,
}

fn inside(hull: &[P2], p: P2) -> bool {
    let mut sign = 0.0f64;
    hull.len() > 2
        && (0..hull.len()).all(|i| {
            let (a, b) = (hull[i], hull[(i + 1) % hull.len()]);
            let c = (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]);
            if sign == 0.0 {
                sign = c;
            }
            c * sign >= 0.0
        })
}

/// Base-line middle for `text` near the line from `a` to `b`: free of other labels, inside the cell, off the body where
/// that is near enough. `None` where every place is taken.
pub fn place(room: &Room, a: P2, b: P2, text: &str, kind: Type) -> Option<(f64, f64)> {
    let mid = [(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0];
    let mut best: Option<(f64, (f64, f64))> = None;
    let half_w = kind.width(text) / 2.0;
    let boxes: Vec<[f64; 4]> =
        room.skins.iter().map(|h| bounds(h.iter().copied()).unwrap_or([f64::INFINITY; 4])).collect();
    let in_box = |b: &[f64; 4], p: P2| p[0] >= b[0] && p[0] <= b[2] && p[1] >= b[1] && p[1] <= b[3];
    let on_skin = |p: P2| room.skins.iter().zip(&boxes).any(|(h, b)| in_box(b, p) && inside(h, p));
    for from in [mid, a] {
        for ring in 1..=12 {
            for turn in 0..16 {
                let (s, c) = (turn as f64 / 16.0 * std::f64::consts::TAU).sin_cos();
                let away = kind.size * 0.55 * ring as f64;
                let (x, y) = (from[0] + c * (away + half_w * c.abs()), from[1] + s * away + kind.size * 0.3);
                let l = kind.at(Anchor::Middle).label(x, y, text);
                let grown = Label { x0: l.x0 - 3.0, y0: l.y0 - 2.0, x1: l.x1 + 3.0, y1: l.y1 + 2.0, ..l.clone() };
                let out = l.x0 < room.cell[0] || l.y0 < room.cell[1] || l.x1 > room.cell[2] || l.y1 > room.cell[3];
                if out || room.taken.iter().any(|t| t.overlaps(&grown)) {
                    continue;
                }
                // No place farther off than the best one can cost less.
                if best.is_some_and(|(c, _)| away >= c) {
                    continue;
                }
                let probes = [0.0, 0.25, 0.5, 0.75, 1.0].map(|f| l.x0 + f * (l.x1 - l.x0));
                let on_body = probes.iter().flat_map(|x| [[*x, l.y0], [*x, l.y1]]).filter(|p| on_skin(*p)).count();
                let on_line = room.lines.iter().filter(|[p, q]| covers(&grown, *p, *q)).count();
                let cost = away + 0.35 * kind.size * on_body as f64 + 6.0 * kind.size * on_line as f64;
                if best.is_none_or(|(c, _)| cost < c - 1e-9) {
                    best = Some((cost, (x, y)));
                }
            }
        }
    }
    best.map(|(_, p)| p)
}

fn covers(l: &Label, p: P2, q: P2) -> bool {
    (0..=12).any(|i| {
        let t = i as f64 / 12.0;
        let (x, y) = (p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1]));
        x > l.x0 && x < l.x1 && y > l.y0 && y < l.y1
    })
}

/// Moves label heights so that neighbours are at least `gap` apart and all stay within `low..=high`; order is kept.
pub fn spread(y: &mut [f64], gap: f64, low: f64, high: f64) {
    let mut order: Vec<usize> = (0..y.len()).collect();
    order.sort_by(|a, b| y[*a].total_cmp(&y[*b]).then(a.cmp(b)));
    let mut floor = low;
    for &i in &order {
        y[i] = y[i].max(floor);
        floor = y[i] + gap;
    }
    let mut ceiling = high;
    for &i in order.iter().rev() {
        y[i] = y[i].min(ceiling);
        ceiling = y[i] - gap;
    }
}
