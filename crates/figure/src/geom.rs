//! Points, frames and outlines in metres. World axes: X forward, Y up, Z to the person's right.

pub type P3 = [f64; 3];
pub type P2 = [f64; 2];

pub fn add(a: P3, b: P3) -> P3 {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}
pub fn sub(a: P3, b: P3) -> P3 {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}
pub fn mul(a: P3, k: f64) -> P3 {
    [a[0] * k, a[1] * k, a[2] * k]
}
pub fn dot(a: P3, b: P3) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}
pub fn cross(a: P3, b: P3) -> P3 {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}
pub fn norm(a: P3) -> f64 {
    dot(a, a).sqrt()
}
pub fn mix(a: P3, b: P3, t: f64) -> P3 {
    add(mul(a, 1.0 - t), mul(b, t))
}
/// Unit vector of `a`, or `or` where `a` has no direction.
pub fn unit(a: P3, or: P3) -> P3 {
    let n = norm(a);
    if n > 1e-9 { mul(a, 1.0 / n) } else { or }
}
/// Part of `a` across the unit vector `axis`.
pub fn across(a: P3, axis: P3) -> P3 {
    sub(a, mul(axis, dot(a, axis)))
}
pub fn usable(p: P3) -> bool {
    p.iter().all(|v| v.is_finite() && v.abs() < 50.0)
}

/// A right-handed frame: x forward, y up, z to the right of the part it belongs to.
#[derive(Clone, Copy, Debug)]
pub struct Axes {
    pub at: P3,
    pub x: P3,
    pub y: P3,
    pub z: P3,
}

impl Axes {
    /// Frame at `at` with `up` kept and `right` made square to it.
    pub fn from_up_right(at: P3, up: P3, right: P3) -> Axes {
        let y = unit(up, [0.0, 1.0, 0.0]);
        let mut z = across(right, y);
        if norm(z) < 1e-6 {
            z = across([0.0, 0.0, 1.0], y);
        }
        if norm(z) < 1e-6 {
            z = across([1.0, 0.0, 0.0], y);
        }
        let z = unit(z, [0.0, 0.0, 1.0]);
        Axes { at, x: cross(y, z), y, z }
    }
    /// World point of local `(x, y, z)`, m.
    pub fn to_world(&self, x_m: f64, y_m: f64, z_m: f64) -> P3 {
        add(self.at, add(mul(self.x, x_m), add(mul(self.y, y_m), mul(self.z, z_m))))
    }
    /// The frame turned by `angle_rad` about its own z (positive leans back).
    pub fn turned_about_z(&self, angle_rad: f64) -> Axes {
        let (s, c) = angle_rad.sin_cos();
        let x = add(mul(self.x, c), mul(self.y, s));
        let y = add(mul(self.y, c), mul(self.x, -s));
        Axes { at: self.at, x, y, z: self.z }
    }
}

/// An ellipsoid: the brick every body part and implement is built of. Half-axes are vectors, m.
#[derive(Clone, Copy, Debug)]
pub struct Ball {
    pub at: P3,
    pub half: [P3; 3],
}

impl Ball {
    pub fn round(at: P3, radius_m: f64) -> Ball {
        Ball { at, half: [[radius_m, 0.0, 0.0], [0.0, radius_m, 0.0], [0.0, 0.0, radius_m]] }
    }
    pub fn oval(at: P3, f: &Axes, x_m: f64, y_m: f64, z_m: f64) -> Ball {
        Ball { at, half: [mul(f.x, x_m), mul(f.y, y_m), mul(f.z, z_m)] }
    }
    /// A flat disc of `radius_m` round `axis`, `half_thick_m` to each side.
    pub fn disc(at: P3, axis: P3, radius_m: f64, half_thick_m: f64) -> Ball {
        let f = Axes::from_up_right(at, axis, [0.31, 0.17, 0.93]);
        Ball::oval(at, &f, radius_m, half_thick_m, radius_m)
    }
}

/// From where the person is seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum View {
    /// From the person's right; forward is to the right of the picture.
    Side,
    /// From in front; the person's right is on the left of the picture.
    Front,
    /// From above; forward is to the right, the person's right at the bottom.
    Top,
}

impl View {
    /// The view of a word, as [`View::word`] writes it.
    pub fn parse(word: &str) -> Option<View> {
        [View::Side, View::Front, View::Top].into_iter().find(|v| v.word() == word)
    }
    pub fn word(self) -> &'static str {
        match self {
            View::Side => "side",
            View::Front => "front",
            View::Top => "top",
        }
    }
    /// Picture plane (right, up), m.
    pub fn flat(self, p: P3) -> P2 {
        match self {
            View::Side => [p[0], p[1]],
            View::Front => [-p[2], p[1]],
            View::Top => [p[0], -p[2]],
        }
    }
    /// Nearness to the eye, m.
    pub fn near(self, p: P3) -> f64 {
        match self {
            View::Side => p[2],
            View::Front => p[0],
            View::Top => p[1],
        }
    }
}

/// Outline of a ball in the picture plane, `n` points, each pushed outwards by `grow_m`.
///
/// The outline point with outward normal u of an ellipsoid with half-axes h_i seen along one axis is M u / √(uᵀMu),
/// M = Σ h_i h_iᵀ of the projected half-axes (support function of an ellipse).
pub fn outline(b: &Ball, view: View, n: usize, grow_m: f64, into: &mut Vec<P2>) {
    let c = view.flat(b.at);
    let (mut xx, mut xy, mut yy) = (1e-10, 0.0, 1e-10);
    for h in b.half {
        let p = view.flat(h);
        xx += p[0] * p[0];
        xy += p[0] * p[1];
        yy += p[1] * p[1];
    }
    for i in 0..n {
        let (s, co) = (i as f64 / n as f64 * std::f64::consts::TAU).sin_cos();
        let m = [xx * co + xy * s, xy * co + yy * s];
        let r = (m[0] * co + m[1] * s).max(1e-12).sqrt();
        into.push([c[0] + m[0] / r + grow_m * co, c[1] + m[1] / r + grow_m * s]);
    }
}

/// Convex hull, anticlockwise (monotone chain, Andrew 1979).
pub fn hull(mut p: Vec<P2>) -> Vec<P2> {
    p.retain(|q| q[0].is_finite() && q[1].is_finite());
    p.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    p.dedup();
    if p.len() < 3 {
        return p;
    }
    let turn = |o: P2, a: P2, b: P2| (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0]);
    let mut h: Vec<P2> = Vec::with_capacity(p.len());
    for pass in 0..2 {
        let base = h.len();
        let mut push = |q: P2| {
            while h.len() >= base + 2 && turn(h[h.len() - 2], h[h.len() - 1], q) <= 1e-12 {
                h.pop();
            }
            h.push(q);
        };
        if pass == 0 {
            p.iter().for_each(|&q| push(q));
        } else {
            p.iter().rev().for_each(|&q| push(q));
        }
        h.pop();
    }
    h
}

/// Outline of the hull of several balls.
pub fn hull_of(balls: &[Ball], view: View, n: usize) -> Vec<P2> {
    let mut p = Vec::with_capacity(balls.len() * n);
    for b in balls {
        outline(b, view, n, 0.0, &mut p);
    }
    hull(p)
}

/// Smallest box round points: (x0, y0, x1, y1); `None` without points.
pub fn bounds(points: impl IntoIterator<Item = P2>) -> Option<[f64; 4]> {
    points.into_iter().fold(None, |acc, p| {
        let b = acc.unwrap_or([p[0], p[1], p[0], p[1]]);
        Some([b[0].min(p[0]), b[1].min(p[1]), b[2].max(p[0]), b[3].max(p[1])])
    })
}
