//! Postures from constraints: damped Gauss–Newton on the joint coordinates that a family lets move.
//!
//! Unknowns are small rotations of ball joints about world axes, hinge angles and the place of the pelvis; ball joints
//! stay matrices, so no anatomical angle can lock. Coordinates that a family states outright are set, not solved.
//! The dependence of the shoulder girdle on the humerus (a few per cent of the arm's motion) is left out of the
//! derivatives and caught by iteration.

mod angles;
mod motion;

use anatomy::body::Body;
use anatomy::skeleton::{
    Figure, Joint, Posture, SEGMENTS, Segment, Side, figure, hip_angles, hip_matrix, shoulder_angles, shoulder_matrix,
    spine_angles, spine_matrix,
};
pub use angles::{Angle, LeanOf};
use motion::*;
use units::{M3, V3, exp_rotation, rad, rot_y, rot_z};

/// A value over the rep, piecewise linear between keys evenly spaced from start (0) to turn (1).
#[derive(Clone, Debug, PartialEq)]
pub struct Curve(pub Vec<f64>);

impl Curve {
    pub fn constant(v: f64) -> Curve {
        Curve(vec![v])
    }
    pub fn at(&self, phase: f64) -> f64 {
        let n = self.0.len();
        if n == 1 {
            return self.0[0];
        }
        let t = phase.clamp(0.0, 1.0) * (n - 1) as f64;
        let i = (t.floor() as usize).min(n - 2);
        self.0[i] + (self.0[i + 1] - self.0[i]) * (t - i as f64)
    }
    pub fn scaled(&self, k: f64) -> Curve {
        Curve(self.0.iter().map(|v| v * k).collect())
    }
    pub fn largest(&self) -> f64 {
        self.0.iter().copied().fold(f64::NEG_INFINITY, f64::max)
    }
    pub fn is_constant(&self) -> bool {
        self.0.iter().all(|v| (v - self.0[0]).abs() < 1e-12)
    }
}

/// One unknown of the solver.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dof {
    Root(usize),
    RootTurn(usize),
    Lumbar(usize),
    Hip(Side, usize),
    Knee(Side),
    TibiaRotation(Side),
    AnklePlantarflexion(Side),
    AnkleInversion(Side),
    Shoulder(Side, usize),
    Elbow(Side),
    Forearm(Side),
    GirdleElevation(Side),
    GirdleProtraction(Side),
}

/// Steps shorter than this (m, rad) end the search.
const CONVERGED_STEP: f64 = 1e-6;

/// Upper bound on unknowns: both sides of a one-sided movement.
pub const MAX_DOF: usize = 48;

/// A load that does not hang: it pushes or pulls along a line that turns with the posture.
#[derive(Clone, Debug)]
pub struct Pull {
    pub on: Segment,
    pub local_m: V3,
    pub line: PullLine,
    /// Size of the pull, kg.
    pub kg: f64,
}

#[derive(Clone, Debug)]
pub enum PullLine {
    /// Towards a pulley, world, m.
    Towards(V3),
    /// Square to the line from a pivot, in the sense of the axis; a weight on the lever acts with the cosine of its slope.
    Lever { pivot_m: V3, axis: V3, weighs: bool },
}

impl PullLine {
    /// Force at a place, world, per unit of the load.
    pub fn at(&self, at_m: &V3) -> V3 {
        let unit = |v: V3| v.try_normalize(1e-9).unwrap_or(-V3::y());
        match self {
            PullLine::Towards(to) => unit(to - at_m),
            PullLine::Lever { pivot_m, axis, weighs } => {
                let lever = unit(at_m - pivot_m);
                unit(axis.cross(&lever)) * if *weighs { lever.x.hypot(lever.z) } else { 1.0 }
            }
        }
    }
}

/// Something set outright in every frame.
#[derive(Clone, Debug)]
pub enum Given {
    Angle(Angle, Curve),
    /// Plane, elevation, internal rotation of a shoulder, radians.
    Shoulder(Side, [Curve; 3]),
    /// Flexion, abduction, internal rotation of a hip, radians.
    Hip(Side, [Curve; 3]),
    /// Pelvis: x, y, z in m, lean forward, lean to the right, turn to the left in rad; `None` = left to the solver.
    Place {
        position: [Option<Curve>; 3],
        turn: Option<[Curve; 3]>,
    },
}

/// A soft requirement.
#[derive(Clone, Debug)]
pub enum Held {
    /// A point of a segment at a place (m), in world axes or in another segment's.
    /// `slope_rad` turns the x and y axes of the place about z.
    Point {
        on: Segment,
        local_m: V3,
        frame: Option<Segment>,
        slope_rad: f64,
        value_m: [Option<Curve>; 3],
    },
    /// Lean from the vertical, forward positive, rad; for the shank in the direction of the toes.
    Lean {
        of: LeanOf,
        value: Curve,
    },
    /// Foot orientation: toes out, heel raised (pitch), rad.
    /// on a surface that rises forward by `slope`.
    Foot {
        side: Side,
        toe_out: Curve,
        pitch: Curve,
        slope: Curve,
    },
    Angle {
        of: Angle,
        value: Curve,
    },
    /// The line of all weights and pulls meets the floor at a world x, m.
    Balance {
        x_m: Curve,
        extra: Vec<(Segment, V3, f64)>,
        pulls: Vec<Pull>,
    },
    /// The elbow lies on this side of the line shoulder–hand; direction in thorax axes.
    Pole {
        side: Side,
        direction: [Curve; 3],
    },
}

/// A soft requirement with its weight (per m for places, per rad for angles) and a name for reports.
#[derive(Clone, Debug)]
pub struct Requirement {
    pub held: Held,
    pub weight: Curve,
    pub name: String,
}

/// All that is needed to find the posture of a phase.
#[derive(Clone, Debug)]
pub struct PostureProblem {
    pub symmetric: bool,
    pub dofs: Vec<Dof>,
    pub given: Vec<Given>,
    pub required: Vec<Requirement>,
    /// Weak pull of an angle towards a comfortable value: (angle, value rad, weight).
    pub comfort: Vec<(Angle, f64, f64)>,
    /// Bounds of hinge unknowns, rad: (dof, low, high).
    pub bounds: Vec<(Dof, f64, f64)>,
}

/// How well a posture meets its requirements.
#[derive(Clone, Copy, Debug, Default)]
pub struct Fit {
    pub iterations: usize,
    /// Largest miss of a place, m, and of an angle, rad, with the index of the requirement.
    pub miss_m: f64,
    pub miss_m_of: usize,
    pub miss_rad: f64,
    pub miss_rad_of: usize,
}

/// Reusable memory of the solver.
pub struct SolverMemory {
    h: Vec<f64>,
    g: Vec<f64>,
    row: Vec<f64>,
    motions: Vec<Motion>,
    /// Factor of `h`, lower triangle.
    factor: Vec<f64>,
}

impl Default for SolverMemory {
    fn default() -> Self {
        SolverMemory {
            h: vec![0.0; MAX_DOF * MAX_DOF],
            g: vec![0.0; MAX_DOF],
            row: vec![0.0; MAX_DOF],
            motions: Vec::with_capacity(MAX_DOF),
            factor: vec![0.0; MAX_DOF * MAX_DOF],
        }
    }
}

/// Normal equations under construction.
struct Normal<'a> {
    n: usize,
    h: &'a mut [f64],
    g: &'a mut [f64],
    cost: f64,
}

impl Normal<'_> {
    fn add(&mut self, row: &[f64], r: f64, w: f64) {
        let w2 = w * w;
        self.cost += 0.5 * w2 * r * r;
        for i in 0..self.n {
            if row[i] != 0.0 {
                let q = w2 * row[i];
                self.g[i] += q * r;
                for j in 0..=i {
                    self.h[i * MAX_DOF + j] += q * row[j];
                }
            }
        }
    }
}

/// Direction whose lean is held, and the horizontal direction it is measured in.
fn lean_axes(of: LeanOf, f: &Figure) -> (Segment, V3, V3) {
    let (seg, sign) = match of {
        LeanOf::Trunk => (Segment::Thorax, 1.0),
        LeanOf::Pelvis => (Segment::Pelvis, 1.0),
        LeanOf::Shank(s) => (Segment::Tibia(s), 1.0),
        LeanOf::Thigh(s) => (Segment::Femur(s), 1.0),
        LeanOf::UpperArm(s) => (Segment::Humerus(s), -1.0),
        LeanOf::Forearm(s) => (Segment::Forearm(s), -1.0),
    };
    let u = f.pose(seg).rotation * V3::new(0.0, sign, 0.0);
    let h = match of {
        LeanOf::Shank(s) => {
            let t = f.pose(Segment::Foot(s)).rotation * V3::x();
            let t = V3::new(t.x, 0.0, t.z);
            if t.norm() > 1e-6 { t.normalize() } else { V3::x() }
        }
        _ => V3::x(),
    };
    (seg, u, h)
}

/// Lean of a segment from the vertical, forward positive, rad (upper arm and forearm: from hanging).
pub fn lean_rad(of: LeanOf, f: &Figure) -> f64 {
    let (_, u, h) = lean_axes(of, f);
    let v = if matches!(of, LeanOf::UpperArm(_) | LeanOf::Forearm(_)) { -V3::y() } else { V3::y() };
    u.dot(&h).atan2(u.dot(&v))
}

/// Target orientation of a right (or mirrored left) foot.
fn foot_target(toe_out: f64, pitch: f64, slope: f64) -> M3 {
    rot_z(slope) * rot_y(-toe_out) * rot_z(-pitch)
}

impl PostureProblem {
    /// Set what is given outright.
    pub fn set_given(&self, phase: f64, p: &mut Posture) {
        for g in &self.given {
            match g {
                Given::Angle(a, c) => a.write(p, c.at(phase)),
                Given::Shoulder(s, c) => {
                    p.limbs_mut(*s).shoulder = shoulder_matrix(c[0].at(phase), c[1].at(phase), c[2].at(phase));
                }
                Given::Hip(s, c) => p.limbs_mut(*s).hip = hip_matrix(c[0].at(phase), c[1].at(phase), c[2].at(phase)),
                Given::Place { position, turn } => {
                    for (i, c) in position.iter().enumerate() {
                        if let Some(c) = c {
                            p.pelvis.origin_m[i] = c.at(phase);
                        }
                    }
                    if let Some(c) = turn {
                        p.pelvis.rotation = spine_matrix(c[0].at(phase), c[1].at(phase), c[2].at(phase));
                    }
                }
            }
        }
        if self.symmetric {
            p.left = p.right;
        }
    }

    /// Find the posture of a phase, starting from `p`; returns the figure and how well it fits.
    pub fn solve(&self, body: &Body, phase: f64, p: &mut Posture, mem: &mut SolverMemory) -> (Figure, Fit) {
        self.set_given(phase, p);
        let mut f = figure(body, p);
        let n = self.dofs.len().min(MAX_DOF);
        let mut fit = Fit::default();
        if n == 0 || self.required.is_empty() {
            self.measure(body, phase, &f, p, &mut fit);
            return (f, fit);
        }
        let mut damping = 1e-7;
        let mut longest_before = f64::INFINITY;
        let mut cost = self.normal(body, phase, &f, p, mem, n);
        for _ in 0..60 {
            fit.iterations += 1;
            let frozen = self.frozen(p, &mem.g, n);
            let free = |i: &usize| frozen >> i & 1 == 0;
            let gradient = (0..n).filter(free).fold(0.0f64, |m, i| m.max(mem.g[i].abs()));
            if gradient < 1e-9 {
                break;
            }
            let Some(mut step) = damped_step(&mem.h, &mem.g, n, damping, frozen, &mut mem.factor) else {
                damping *= 10.0;
                continue;
            };
            let longest = step[..n].iter().fold(0.0f64, |m, v| m.max(v.abs()));
            if longest > 0.5 {
                step[..n].iter_mut().for_each(|v| *v *= 0.5 / longest);
            }
            let before = *p;
            for i in 0..n {
                apply(self.dofs[i], step[i], p, &f);
            }
            for &(d, lo, hi) in &self.bounds {
                clamp(d, lo, hi, p);
            }
            if self.symmetric {
                p.left = p.right;
            }
            let f_new = figure(body, p);
            let c_new = self.normal(body, phase, &f_new, p, mem, n);
            if c_new > cost * (1.0 + 1e-9) + 1e-15 {
                *p = before;
                damping *= 30.0;
                // No better place within a tenth of a milliradian: what is left is the girdle's part of the derivative.
                if damping > 1e4 || longest < 1e-4 {
                    break;
                }
                cost = self.normal(body, phase, &f, p, mem, n);
                continue;
            }
            let gain = cost - c_new;
            f = f_new;
            cost = c_new;
            damping = (damping * 0.1).max(1e-9);
            // A micrometre and a microradian, far below what any muscle notices; also where the steps shrink so fast that
            // the next one would be a hundredth of a milliradian.
            let shrinking = longest < 1e-4 && longest < 0.1 * longest_before;
            if longest < CONVERGED_STEP || shrinking || gain <= 1e-6 * cost && longest < 3e-4 {
                break;
            }
            longest_before = longest;
        }
        self.measure(body, phase, &f, p, &mut fit);
        (f, fit)
    }

    /// Bit set of unknowns that sit at a bound and would be pushed beyond it.
    fn frozen(&self, p: &Posture, g: &[f64], n: usize) -> u64 {
        let mut out = 0u64;
        for &(d, lo, hi) in &self.bounds {
            let (Some(a), Some(i)) = (hinge_angle(d), self.dofs[..n].iter().position(|x| *x == d)) else { continue };
            let v = a.read(p);
            if v <= lo + 1e-9 && g[i] > 0.0 || v >= hi - 1e-9 && g[i] < 0.0 {
                out |= 1 << i;
            }
        }
        out
    }

    fn normal(&self, body: &Body, phase: f64, f: &Figure, p: &Posture, mem: &mut SolverMemory, n: usize) -> f64 {
        mem.motions.clear();
        for d in &self.dofs[..n] {
            mem.motions.push(motion(*d, f, p, body, self.symmetric));
        }
        for i in 0..n {
            mem.g[i] = 0.0;
            mem.h[i * MAX_DOF..i * MAX_DOF + n].fill(0.0);
        }
        let mut normal = Normal { n, h: &mut mem.h, g: &mut mem.g, cost: 0.0 };
        let row = &mut mem.row[..n];
        for q in &self.required {
            let w = q.weight.at(phase);
            if w == 0.0 {
                continue;
            }
            self.rows(&q.held, body, phase, f, p, &mem.motions, row, &mut |row, r| normal.add(row, r, w));
        }
        for (a, v, w) in &self.comfort {
            self.angle_row(*a, f, p, &mem.motions, row);
            // A straight knee does not let the shank turn; a bent one gives way easily.
            let w = match a {
                Angle::TibiaRotation(s) => {
                    let bent = ((p.limbs(*s).knee_flexion_rad - rad(20.0)) / rad(35.0)).clamp(0.0, 1.0);
                    w * (0.7 + 10.0 * (1.0 - bent) * (1.0 - bent))
                }
                _ => *w,
            };
            normal.add(row, wrap(a.read(p) - v), w);
        }
        normal.cost
    }

    fn angle_row(&self, a: Angle, f: &Figure, p: &Posture, motions: &[Motion], row: &mut [f64]) {
        row.fill(0.0);
        for (i, d) in self.dofs[..motions.len()].iter().enumerate() {
            row[i] = match (a, *d) {
                (Angle::Knee(s), Dof::Knee(t)) if s == t => 1.0,
                (Angle::TibiaRotation(s), Dof::TibiaRotation(t)) if s == t => 1.0,
                (Angle::AnklePlantarflexion(s), Dof::AnklePlantarflexion(t)) if s == t => 1.0,
                (Angle::AnkleInversion(s), Dof::AnkleInversion(t)) if s == t => 1.0,
                (Angle::Elbow(s), Dof::Elbow(t)) if s == t => 1.0,
                (Angle::Forearm(s), Dof::Forearm(t)) if s == t => 1.0,
                (Angle::GirdleElevation(s), Dof::GirdleElevation(t)) if s == t => 1.0,
                (Angle::GirdleProtraction(s), Dof::GirdleProtraction(t)) if s == t => 1.0,
                (Angle::HipFlexion(s) | Angle::HipAbduction(s) | Angle::HipInternalRotation(s), Dof::Hip(t, _))
                    if s == t =>
                {
                    ball_derivative(a, *d, f, p)
                }
                (Angle::HipFlexion(_) | Angle::HipAbduction(_) | Angle::HipInternalRotation(_), Dof::RootTurn(_)) => {
                    0.0
                }
                (
                    Angle::ShoulderPlane(s) | Angle::ShoulderElevation(s) | Angle::ShoulderInternalRotation(s),
                    Dof::Shoulder(t, _),
                ) if s == t => ball_derivative(a, *d, f, p),
                (Angle::LumbarFlexion | Angle::LumbarSideBend | Angle::LumbarRotation, Dof::Lumbar(_)) => {
                    ball_derivative(a, *d, f, p)
                }
                _ => 0.0,
            };
        }
    }

    fn rows(
        &self,
        held: &Held,
        body: &Body,
        phase: f64,
        f: &Figure,
        p: &Posture,
        motions: &[Motion],
        row: &mut [f64],
        emit: &mut dyn FnMut(&[f64], f64),
    ) {
        match held {
            Held::Point { on, local_m, frame, slope_rad, value_m } => {
                let x = f.at(*on, local_m);
                let (rt, o) = match frame {
                    None => (M3::identity(), V3::zeros()),
                    Some(s) => (f.pose(*s).rotation.transpose(), f.pose(*s).origin_m),
                };
                let rt = rot_z(-slope_rad) * rt;
                let y = rt * (x - o);
                for k in 0..3 {
                    let Some(c) = &value_m[k] else { continue };
                    for (i, m) in motions.iter().enumerate() {
                        let sign = f64::from(i8::from(m.moves(*on)) - i8::from(frame.is_some_and(|s| m.moves(s))));
                        row[i] = if sign == 0.0 { 0.0 } else { sign * (rt * m.at(&x))[k] };
                    }
                    emit(row, y[k] - c.at(phase));
                }
            }
            Held::Lean { of, value } => {
                let (seg, u, h) = lean_axes(*of, f);
                let arm = matches!(of, LeanOf::UpperArm(_) | LeanOf::Forearm(_));
                let v = if arm { -V3::y() } else { V3::y() };
                let (a, b) = (u.dot(&h), u.dot(&v));
                let s2 = (a * a + b * b).max(1e-9);
                for (i, m) in motions.iter().enumerate() {
                    row[i] = if m.moves(seg) {
                        let du = m.turn(&u);
                        (du.dot(&h) * b - du.dot(&v) * a) / s2
                    } else {
                        0.0
                    };
                }
                emit(row, wrap(a.atan2(b) - value.at(phase)));
            }
            Held::Foot { side, toe_out, pitch, slope } => {
                let seg = Segment::Foot(*side);
                let t = foot_target(toe_out.at(phase), pitch.at(phase), slope.at(phase));
                let t = if *side == Side::Left { units::mirror_rotation(&t) } else { t };
                let e = units::log_rotation(&(f.pose(seg).rotation * t.transpose()));
                for k in 0..3 {
                    for (i, m) in motions.iter().enumerate() {
                        row[i] = if m.moves(seg) && !m.translation { m.axis[k] } else { 0.0 };
                    }
                    emit(row, e[k]);
                }
            }
            Held::Angle { of, value } => {
                self.angle_row(*of, f, p, motions, row);
                emit(row, wrap(of.read(p) - value.at(phase)));
            }
            Held::Balance { x_m, extra, pulls } => {
                let mut mass = 0.0;
                let mut moment = 0.0;
                for s in Segment::ALL {
                    let i = &body.inertia[s.index()];
                    mass += i.mass_kg;
                    moment += i.mass_kg * f.at(s, &i.com_m).x;
                }
                for (s, x, kg) in extra {
                    mass += kg;
                    moment += kg * f.at(*s, x).x;
                }
                // A force (fx, fy) at (x, y) tips about the floor like fx y − fy x; the turning of its line is left to
                // iteration.
                let at_pull = |q: &Pull| f.at(q.on, &q.local_m);
                let forces: Vec<(V3, V3)> = pulls.iter().map(|q| (at_pull(q), q.line.at(&at_pull(q)) * q.kg)).collect();
                for (x, force) in &forces {
                    mass -= force.y;
                    moment += force.x * x.y - force.y * x.x;
                }
                for (i, m) in motions.iter().enumerate() {
                    let mut d = 0.0;
                    for (q, (x, force)) in pulls.iter().zip(&forces) {
                        if m.moves(q.on) {
                            let moved = m.at(x);
                            d += force.x * moved.y - force.y * moved.x;
                        }
                    }
                    for s in Segment::ALL {
                        if m.moves(s) {
                            let q = &body.inertia[s.index()];
                            d += q.mass_kg * m.at(&f.at(s, &q.com_m)).x;
                        }
                    }
                    for (s, x, kg) in extra {
                        // Loads on both hands are listed once a side.
                        if m.moves(*s) {
                            d += kg * m.at(&f.at(*s, x)).x;
                        }
                    }
                    row[i] = if m.twin { 2.0 * d } else { d } / mass;
                }
                emit(row, moment / mass - x_m.at(phase));
            }
            Held::Pole { side, direction } => {
                let g = f.pose(Segment::Humerus(*side)).origin_m;
                let e = f.pose(Segment::Forearm(*side)).origin_m;
                let w = f.pose(Segment::Hand(*side)).origin_m;
                let d = V3::new(direction[0].at(phase), direction[1].at(phase), direction[2].at(phase));
                let d = V3::new(d.x, d.y, d.z * side.sign());
                let d = f.pose(Segment::Thorax).rotation * d;
                let k = (w - g).try_normalize(1e-9).unwrap_or(V3::x());
                let q = (d - k * d.dot(&k)).try_normalize(1e-9).unwrap_or(V3::y());
                let b = k.cross(&q);
                // Swivel of the elbow about the line shoulder–hand, times its distance from the line: nothing to
                // hold where the arm is straight, no false zero on the wrong side.
                let (eb, eq) = ((e - g).dot(&b), (e - g).dot(&q));
                let radius2 = (eb * eb + eq * eq).max(1e-8);
                let radius = radius2.sqrt();
                let seg = Segment::Humerus(*side);
                for (i, m) in motions.iter().enumerate() {
                    row[i] = if m.moves(seg) && !m.moves(Segment::Thorax) {
                        let de = m.at(&e);
                        (de.dot(&b) * eq - de.dot(&q) * eb) / radius2 * radius
                    } else {
                        0.0
                    };
                }
                emit(row, eb.atan2(eq) * radius);
            }
        }
    }

    fn measure(&self, body: &Body, phase: f64, f: &Figure, p: &Posture, fit: &mut Fit) {
        for (index, q) in self.required.iter().enumerate() {
            // Where it weighs less than half of its most it only steers.
            let weight = q.weight.at(phase);
            if weight <= 0.0 || weight < 0.5 * q.weight.largest() || matches!(q.held, Held::Pole { .. }) {
                continue;
            }
            let place = matches!(q.held, Held::Point { .. } | Held::Balance { .. });
            let mut worst = 0.0f64;
            self.rows(&q.held, body, phase, f, p, &[], &mut [], &mut |_, r| worst = worst.max(r.abs()));
            if place && worst > fit.miss_m {
                fit.miss_m = worst;
                fit.miss_m_of = index;
            } else if !place && worst > fit.miss_rad {
                fit.miss_rad = worst;
                fit.miss_rad_of = index;
            }
        }
    }
}

fn wrap(a: f64) -> f64 {
    let t = std::f64::consts::TAU;
    a - t * (a / t).round()
}

fn hinge_angle(d: Dof) -> Option<Angle> {
    Some(match d {
        Dof::Knee(s) => Angle::Knee(s),
        Dof::Elbow(s) => Angle::Elbow(s),
        Dof::AnklePlantarflexion(s) => Angle::AnklePlantarflexion(s),
        Dof::AnkleInversion(s) => Angle::AnkleInversion(s),
        Dof::TibiaRotation(s) => Angle::TibiaRotation(s),
        Dof::Forearm(s) => Angle::Forearm(s),
        Dof::GirdleElevation(s) => Angle::GirdleElevation(s),
        Dof::GirdleProtraction(s) => Angle::GirdleProtraction(s),
        _ => return None,
    })
}

fn clamp(d: Dof, lo: f64, hi: f64, p: &mut Posture) {
    let Some(a) = hinge_angle(d) else { return };
    let v = a.read(p);
    if v < lo || v > hi {
        a.write(p, v.clamp(lo, hi));
    }
}

/// Derivative of one anatomical angle of a ball joint to a small world rotation, by a central difference.
fn ball_derivative(a: Angle, d: Dof, f: &Figure, p: &Posture) -> f64 {
    const H: f64 = 1e-6;
    let mut q = *p;
    apply(d, H, &mut q, f);
    let plus = a.read(&q);
    let mut q = *p;
    apply(d, -H, &mut q, f);
    wrap(plus - a.read(&q)) / (2.0 * H)
}

/// −(H + damping) ⁻¹ g by Cholesky on the leading n × n block; frozen unknowns stay.
fn damped_step(h: &[f64], g: &[f64], n: usize, damping: f64, frozen: u64, l: &mut [f64]) -> Option<[f64; MAX_DOF]> {
    let held = |i: usize| frozen >> i & 1 == 1;
    for i in 0..n {
        for j in 0..=i {
            let mut s = match (i == j, held(i) || held(j)) {
                (true, true) => 1.0,
                (false, true) => 0.0,
                _ => h[i * MAX_DOF + j],
            };
            if i == j {
                s += damping * (1.0 + s);
            }
            for k in 0..j {
                s -= l[i * MAX_DOF + k] * l[j * MAX_DOF + k];
            }
            if i == j {
                if s <= 0.0 {
                    return None;
                }
                l[i * MAX_DOF + i] = s.sqrt();
            } else {
                l[i * MAX_DOF + j] = s / l[j * MAX_DOF + j];
            }
        }
    }
    let mut x = [0.0; MAX_DOF];
    for i in 0..n {
        let mut s = if held(i) { 0.0 } else { -g[i] };
        for k in 0..i {
            s -= l[i * MAX_DOF + k] * x[k];
        }
        x[i] = s / l[i * MAX_DOF + i];
    }
    for i in (0..n).rev() {
        let mut s = x[i];
        for k in i + 1..n {
            s -= l[k * MAX_DOF + i] * x[k];
        }
        x[i] = s / l[i * MAX_DOF + i];
    }
    Some(x)
}

/// A standing start: arms hanging a little off the trunk.
pub fn standing(body: &Body) -> Posture {
    let mut p = Posture::default();
    p.pelvis.origin_m = V3::new(0.0, body.thigh_m + body.shank_m + body.ankle_height_m, 0.0);
    p.right.shoulder = shoulder_matrix(rad(40.0), rad(8.0), 0.0);
    p.right.elbow_flexion_rad = rad(10.0);
    p.right.hip = hip_matrix(rad(5.0), 0.0, 0.0);
    p.right.knee_flexion_rad = rad(8.0);
    p.left = p.right;
    p
}
