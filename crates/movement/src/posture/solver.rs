//! Damped Gauss–Newton steps: memory, normal equations, when to stop.

use super::rows::{Pole, wrap};
use super::*;

/// Steps shorter than this (m, rad) end the search.
const CONVERGED_STEP: f64 = 1e-6;
/// And this is as near as coarse derivatives lead.
const COARSE_STEP: f64 = 1e-4;
/// So does a way left to go of less than this, judged by how fast the steps shrink: a thousandth of a degree.
const WAY_LEFT: f64 = 2e-5;
/// Bend that leaves the saddle of a straight elbow, rad.
const SADDLE: f64 = 0.1;
/// Damping up to this hardly shortens a step.
const FREE_DAMPING: f64 = 1e-6;
/// Longest step, m or rad: beyond it nothing that was found by derivatives holds.
const LONGEST_STEP: f64 = 0.5;
/// Most steps of one phase.
const MOST_STEPS: usize = 60;

/// How derivatives are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Way {
    /// The arm turns about a shoulder joint that stays where it is, and an elbow on the wrong side swings over but is not
    /// straightened: simple valleys, for the way from afar.
    Coarse,
    Whole,
}

impl Way {
    fn blind_below(self) -> f64 {
        match self {
            Way::Coarse => COARSE_STEP,
            Way::Whole => CONVERGED_STEP,
        }
    }
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

    /// Find the posture of a phase, starting from a near one; returns the figure and how well it fits.
    pub fn solve(&self, body: &Body, phase: f64, p: &mut Posture, mem: &mut SolverMemory) -> (Figure, Fit) {
        self.search(body, phase, p, mem, &[Way::Whole])
    }

    /// The same from far away, such as from standing to lying on a bench.
    pub fn solve_from_afar(&self, body: &Body, phase: f64, p: &mut Posture, mem: &mut SolverMemory) -> (Figure, Fit) {
        self.search(body, phase, p, mem, &[Way::Coarse, Way::Whole])
    }

    fn search(&self, body: &Body, phase: f64, p: &mut Posture, mem: &mut SolverMemory, ways: &[Way]) -> (Figure, Fit) {
        self.set_given(phase, p);
        self.bend_straight_elbows(p);
        let mut f = figure(body, p);
        let n = self.dofs.len().min(MAX_DOF);
        let mut fit = Fit::default();
        if n > 0 && !self.required.is_empty() {
            for way in ways {
                fit.iterations += self.descend(body, phase, p, &mut f, mem, n, *way);
                if *way == Way::Coarse && self.swing_elbows(body, phase, &f, p) {
                    f = figure(body, p);
                }
            }
        }
        self.measure(body, phase, &f, p, &mut fit);
        (f, fit)
    }

    /// A straight elbow is a saddle: bent a little it neither draws the hand nearer nor pushes it away, so no derivative leads
    /// out of it.
    fn bend_straight_elbows(&self, p: &mut Posture) {
        for d in &self.dofs {
            if let Dof::Elbow(s) = *d {
                let l = p.limbs_mut(s);
                l.elbow_flexion_rad = l.elbow_flexion_rad.max(SADDLE);
            }
        }
        if self.symmetric {
            p.left = p.right;
        }
    }

    /// Turns arms about the line shoulder–hand until elbows lie where they are wanted: a step from the wrong side over the
    /// straight arm is none that derivatives would find.
    fn swing_elbows(&self, body: &Body, phase: f64, f: &Figure, p: &mut Posture) -> bool {
        let mut any = false;
        for q in self.required.iter().filter(|q| q.weight.at(phase) > 0.0) {
            let Held::Pole { side, direction } = &q.held else { continue };
            let turns = |i: usize| self.dofs.contains(&Dof::Shoulder(*side, i));
            let hinge = turning_axis(Dof::Elbow(*side), f, p, body);
            let (swivel, line) = Pole::of(*side, direction, phase, f).swing_to(&hinge);
            if swivel.abs() > rad(15.0) && (0..3).all(turns) {
                turn_shoulder(*side, &(line * -swivel), p, f);
                any = true;
            }
        }
        if any && self.symmetric {
            p.left = p.right;
        }
        any
    }

    /// Steps until little is left to go; the number of steps.
    fn descend(
        &self,
        body: &Body,
        phase: f64,
        p: &mut Posture,
        f: &mut Figure,
        mem: &mut SolverMemory,
        n: usize,
        way: Way,
    ) -> usize {
        let mut damping = 1e-7;
        let mut longest_before = f64::INFINITY;
        let mut cost = self.normal(body, phase, f, p, mem, n, way);
        for steps in 1..=MOST_STEPS {
            let frozen = self.frozen(p, &mem.g, n);
            let free = |i: &usize| frozen >> i & 1 == 0;
            let gradient = (0..n).filter(free).fold(0.0f64, |m, i| m.max(mem.g[i].abs()));
            if gradient < 1e-9 {
                return steps;
            }
            let Some(mut step) = damped_step(&mem.h, &mem.g, n, damping, frozen, &mut mem.factor) else {
                damping *= 10.0;
                continue;
            };
            let longest = step[..n].iter().fold(0.0f64, |m, v| m.max(v.abs()));
            if longest > LONGEST_STEP {
                step[..n].iter_mut().for_each(|v| *v *= LONGEST_STEP / longest);
            }
            let before = *p;
            for i in 0..n {
                apply(self.dofs[i], step[i], p, f);
            }
            for &(d, lo, hi) in &self.bounds {
                clamp(d, lo, hi, p);
            }
            if self.symmetric {
                p.left = p.right;
            }
            let f_new = figure(body, p);
            let c_new = self.normal(body, phase, &f_new, p, mem, n, way);
            let damped = damping > FREE_DAMPING;
            if c_new > cost * (1.0 + 1e-9) + 1e-15 {
                *p = before;
                // No better place within reach of rounding, or of coarse derivatives.
                if damping > 1e4 || longest < way.blind_below() && !damped {
                    return steps;
                }
                damping *= 30.0;
                cost = self.normal(body, phase, f, p, mem, n, way);
                continue;
            }
            *f = f_new;
            cost = c_new;
            damping = (damping * 0.1).max(1e-9);
            // Steps that shrink by the factor q leave q / (1 − q) of the last one to go. In a flat valley they shrink
            // slowly, and a small step is no sign of its floor. A step held short by damping says nothing.
            let q = longest / longest_before;
            let near = longest_before.is_finite() && q < 1.0 && longest * q < WAY_LEFT * (1.0 - q);
            if !damped && (longest < way.blind_below() || near) {
                return steps;
            }
            longest_before = if damped { f64::INFINITY } else { longest };
        }
        MOST_STEPS
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

    fn normal(
        &self,
        body: &Body,
        phase: f64,
        f: &Figure,
        p: &Posture,
        mem: &mut SolverMemory,
        n: usize,
        way: Way,
    ) -> f64 {
        motions(&self.dofs[..n], f, p, body, self.symmetric, way, &mut mem.motions);
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
            self.rows(&q.held, body, phase, f, p, &mem.motions, way, row, &mut |row, r| normal.add(row, r, w));
        }
        for (a, v, w) in &self.comfort {
            self.angle_row(*a, f, p, &mem.motions, row);
            let r = wrap(a.read(p) - v);
            let Angle::TibiaRotation(side) = a else {
                normal.add(row, r, *w);
                continue;
            };
            // A straight knee does not let the shank turn; a bent one gives way easily.
            let bent = (p.limbs(*side).knee_flexion_rad - rad(20.0)) / rad(35.0);
            let straight = 1.0 - bent.clamp(0.0, 1.0);
            let k = 0.7 + 10.0 * straight * straight;
            if straight > 0.0
                && straight < 1.0
                && let Some(i) = self.dofs[..n].iter().position(|d| *d == Dof::Knee(*side))
            {
                row[i] -= r * 20.0 * straight / (k * rad(35.0));
            }
            normal.add(row, r, w * k);
        }
        normal.cost
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
            self.rows(&q.held, body, phase, f, p, &[], Way::Whole, &mut [], &mut |_, r| worst = worst.max(r.abs()));
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
