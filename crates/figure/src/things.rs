//! Implements and furniture, drawn as simply as the person.

use crate::geom::*;
use crate::theme::{Colour, Theme};
use answer::Thing;

/// What an object is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stuff {
    Iron,
    /// The pale face of a plate or a pulley.
    Face,
    Pad,
}

impl Stuff {
    pub fn fill(self, t: &Theme) -> Colour {
        match self {
            Stuff::Iron => t.iron,
            Stuff::Face => t.iron_fill,
            Stuff::Pad => t.pad,
        }
    }
    pub fn line(self, t: &Theme) -> Colour {
        if self == Stuff::Pad { t.pad_line } else { t.iron }
    }
}

/// One piece of a thing, metres in the picture plane.
#[derive(Clone, Debug)]
pub struct Piece {
    pub near: f64,
    pub shape: Shape,
    pub stuff: Stuff,
}

#[derive(Clone, Debug)]
pub enum Shape {
    /// Outlined areas.
    Area(Vec<Vec<P2>>),
    /// A line of so many metres' width, never thinner on paper than a hair.
    Line(Vec<P2>, f64),
    /// A filled dot of so many metres' radius.
    Dot(P2, f64),
}

impl Piece {
    pub fn moved(mut self, by: P2) -> Piece {
        let shift = |p: &mut P2| *p = [p[0] + by[0], p[1] + by[1]];
        match &mut self.shape {
            Shape::Area(a) => a.iter_mut().flatten().for_each(shift),
            Shape::Line(l, _) => l.iter_mut().for_each(shift),
            Shape::Dot(c, _) => shift(c),
        }
        self
    }
    pub fn points(&self) -> Vec<P2> {
        match &self.shape {
            Shape::Area(a) => a.concat(),
            Shape::Line(l, _) => l.clone(),
            Shape::Dot(c, r) => vec![[c[0] - r, c[1] - r], [c[0] + r, c[1] + r]],
        }
    }
}

const BEHIND: f64 = -100.0;
const BEFORE: f64 = 100.0;
const Z: P3 = [0.0, 0.0, 1.0];

/// Pieces of a thing. `grips`: hands with the nearness of their arm; what a hand holds is drawn behind that hand.
pub fn pieces(thing: &Thing, view: View, n: usize, k: f64, grips: &[(P3, f64)]) -> Vec<Piece> {
    let side = view == View::Side;
    let held = |at: P3, reach: f64| {
        grips.iter().filter(|(g, _)| norm(sub(*g, at)) < reach).map(|(_, near)| near - 1e-3).reduce(f64::min)
    };
    let area = |near: f64, stuff: Stuff, balls: &[Ball]| Piece {
        near,
        stuff,
        // Discs are larger than joints and show their corners earlier.
        shape: Shape::Area(vec![hull_of(balls, view, 2 * n)]),
    };
    let line = |near: f64, a: P3, b: P3, width: f64| Piece {
        near,
        stuff: Stuff::Iron,
        shape: Shape::Line(vec![view.flat(a), view.flat(b)], width),
    };
    match *thing {
        Thing::Bar { at, half_length_m, plate_radius_m } if usable(at) => {
            let half = half_length_m.clamp(0.0, 2.0);
            let plate = plate_radius_m.clamp(0.0, 0.4);
            let end = |s: f64, inset: f64| add(at, mul(Z, s * (half - inset)));
            let mut out = Vec::new();
            if side {
                if plate > 0.0 {
                    out.push(area(BEHIND, Stuff::Face, &[Ball::disc(at, Z, plate, 0.01)]));
                    out.push(area(BEHIND + 0.1, Stuff::Face, &[Ball::disc(at, Z, plate * 0.36, 0.01)]));
                }
                out.push(Piece { near: BEFORE, stuff: Stuff::Iron, shape: Shape::Dot(view.flat(at), 0.021) });
                return out;
            }
            // A bar lies behind the hands that hold it, and in front of a body it is nearer than.
            let near = grips
                .iter()
                .filter(|(g, _)| norm(across(sub(*g, at), Z)) < 0.12)
                .map(|(_, near)| near - 1e-3)
                .chain([view.near(at)])
                .fold(f64::INFINITY, f64::min);
            out.push(line(near, end(1.0, 0.0), end(-1.0, 0.0), 0.026));
            if plate > 0.0 {
                for s in [1.0, -1.0] {
                    let discs =
                        [0.30, 0.24].map(|inset: f64| Ball::disc(end(s, inset.min(half * 0.4)), Z, plate, 0.008));
                    out.push(area(near + 1e-4, Stuff::Face, &discs));
                }
            }
            out
        }
        Thing::DumbBell { at, axis } if usable(at) && usable(axis) => {
            let axis = unit(axis, Z);
            let near = held(at, 0.15).unwrap_or(view.near(at));
            let e = |d: f64| add(at, mul(axis, d));
            let mut out = vec![line(near - 2e-4, e(-0.08), e(0.08), 0.03)];
            let mut ends = [-1.0, 1.0];
            ends.sort_by(|a, b| view.near(e(*a)).total_cmp(&view.near(e(*b))));
            for (i, s) in ends.into_iter().enumerate() {
                let discs = [0.075, 0.135].map(|d| Ball::disc(e(s * d), axis, 0.068, 0.006));
                out.push(area(near - 2e-4 + i as f64 * 1e-4, Stuff::Face, &discs));
            }
            out
        }
        Thing::KettleBell { at } if usable(at) => {
            let near = held(at, 0.15).unwrap_or(view.near(at));
            let bell = add(at, [0.0, -0.15, 0.0]);
            let f = Axes { at, x: [1.0, 0.0, 0.0], y: [0.0, 1.0, 0.0], z: Z };
            let ring: Vec<P2> = (0..=12)
                .map(|i| {
                    let a = std::f64::consts::PI * (i as f64 / 12.0);
                    let c = if view == View::Front { [0.0, 0.0, 0.055 * a.cos()] } else { [0.055 * a.cos(), 0.0, 0.0] };
                    view.flat(add(at, add(c, [0.0, -0.08 + 0.08 * a.sin(), 0.0])))
                })
                .collect();
            vec![
                Piece { near: near - 1e-4, stuff: Stuff::Iron, shape: Shape::Line(ring, 0.03) },
                area(near, Stuff::Face, &[Ball::oval(bell, &f, 0.095, 0.09, 0.095)]),
            ]
        }
        Thing::Plate { at, radius_m, axis } if usable(at) && usable(axis) => {
            let near = held(at, 0.4).unwrap_or(view.near(at));
            let axis = unit(axis, Z);
            let r = radius_m.clamp(0.02, 0.4);
            let mut out = vec![area(near - 1e-4, Stuff::Face, &[Ball::disc(at, axis, r, 0.02)])];
            if view.near(axis).abs() > 0.5 {
                out.push(area(near, Stuff::Face, &[Ball::disc(at, axis, r * 0.2, 0.01)]));
            }
            out
        }
        Thing::Cable { from, to } if usable(from) && usable(to) => {
            let near = held(from, 0.2).unwrap_or(view.near(from) - 0.02);
            vec![line(near, from, to, 0.008)]
        }
        Thing::Pulley { at } if usable(at) => {
            let near = if side { BEHIND + 1.0 } else { view.near(at) };
            vec![
                area(near, Stuff::Face, &[Ball::disc(at, Z, 0.055 * k, 0.014)]),
                Piece { near: near + 0.1, stuff: Stuff::Iron, shape: Shape::Dot(view.flat(at), 0.014) },
            ]
        }
        Thing::Board { from, to, thickness_m, width_m } if usable(from) && usable(to) => {
            let r = (thickness_m / 2.0).clamp(0.005, 0.2);
            let d = unit(sub(to, from), [1.0, 0.0, 0.0]);
            let w = mul(unit(across(Z, d), [1.0, 0.0, 0.0]), (width_m.clamp(0.0, 2.0) / 2.0 - r).max(0.0));
            let balls = [add(from, w), sub(from, w), add(to, w), sub(to, w)].map(|c| Ball::round(c, r));
            let near = match view {
                View::Side => BEHIND + 2.0,
                View::Front => view.near(mix(from, to, 0.5)) - 0.3,
                View::Top => view.near(mix(from, to, 0.5)),
            };
            vec![area(near, Stuff::Pad, &balls)]
        }
        Thing::Pad { at, radius_m } if usable(at) => {
            let r = radius_m.clamp(0.01, 0.3);
            let ends = [add(at, mul(Z, 0.2)), add(at, mul(Z, -0.2))].map(|c| Ball::disc(c, Z, r, 0.01));
            let near = if side { BEFORE - 1.0 } else { view.near(at) + 0.05 };
            let mut out = vec![area(near, Stuff::Pad, &ends)];
            if side {
                out.push(Piece { near: near + 0.1, stuff: Stuff::Iron, shape: Shape::Dot(view.flat(at), 0.012) });
            }
            out
        }
        Thing::Rail { from, to } if usable(from) && usable(to) => {
            // A frame in front of the person would hide what matters.
            vec![line(if view == View::Top { view.near(mix(from, to, 0.5)) } else { BEHIND + 0.5 }, from, to, 0.03)]
        }
        Thing::Block { at, half_length_m, height_m, half_width_m } if usable(at) => {
            let (l, h, w) = (half_length_m.clamp(0.0, 2.0), height_m.clamp(0.0, 2.0), half_width_m.clamp(0.0, 2.0));
            let corners: Vec<Ball> = (0..8)
                .map(|i| {
                    let s = |bit: usize, v: f64| if i >> bit & 1 == 1 { v } else { -v };
                    let up = if i >> 2 & 1 == 1 { h } else { 0.0 };
                    Ball::round(add(at, [s(0, l), up, s(1, w)]), 0.002)
                })
                .collect();
            vec![area(if side { BEHIND + 2.0 } else { view.near(at) - 0.3 }, Stuff::Pad, &corners)]
        }
        Thing::Slab { from, to } if usable(from) && usable(to) => {
            let w = mul(unit(across(Z, unit(sub(to, from), [1.0, 0.0, 0.0])), Z), 0.28);
            let balls = [add(from, w), sub(from, w), add(to, w), sub(to, w)].map(|c| Ball::round(c, 0.014));
            vec![area(if side { BEHIND + 2.0 } else { view.near(mix(from, to, 0.5)) - 0.2 }, Stuff::Face, &balls)]
        }
        _ => Vec::new(),
    }
}
