//! Forces on the body in one frame: gravity, inertia, loads and the support that equilibrium fixes.
//!
//! Every quantity is affine in the load P: value = constant + P · per_load.

use anatomy::body::Body;
use anatomy::skeleton::{SEGMENTS, Segment};
use movement::rep::{Carrier, FreeAction, Pace, Rep};
use nalgebra::{Matrix6, Vector6};
use units::{GRAVITY_M_S2, M3, V3, log_rotation};

/// Force and moment about the world origin on one segment.
#[derive(Clone, Copy, Debug, Default)]
pub struct Wrench {
    pub force_n: V3,
    pub moment_nm: V3,
}

impl Wrench {
    pub fn at(point_m: &V3, force_n: &V3) -> Wrench {
        Wrench { force_n: *force_n, moment_nm: point_m.cross(force_n) }
    }
    pub fn add(&mut self, o: &Wrench) {
        self.force_n += o.force_n;
        self.moment_nm += o.moment_nm;
    }
    pub fn times(&self, k: f64) -> Wrench {
        Wrench { force_n: self.force_n * k, moment_nm: self.moment_nm * k }
    }
    /// Moment about a point, N·m.
    pub fn about(&self, centre_m: &V3) -> V3 {
        self.moment_nm - centre_m.cross(&self.force_n)
    }
    fn vector(&self) -> Vector6<f64> {
        let (f, m) = (self.force_n, self.moment_nm);
        Vector6::new(f.x, f.y, f.z, m.x, m.y, m.z)
    }
}

/// Wrenches on all segments.
pub type Wrenches = [Wrench; SEGMENTS];

/// External wrenches of one frame, affine in the load, and the normal force of each contact.
#[derive(Clone, Debug)]
pub struct FrameWrenches {
    pub constant: Wrenches,
    pub per_load: Wrenches,
    /// Normal force of each contact, N: (constant, per unit load).
    pub normal_n: Vec<(f64, f64)>,
    /// What each carrier of the frame carries, N: (constant, per unit load).
    pub carried_n: Vec<(f64, f64)>,
    /// Part of the support's total that no contact could carry, N and N·m, at zero load and per unit load.
    pub unbalanced: (f64, f64),
}

/// Time law of a lift: first two derivatives of position to time, 1/s and 1/s², for phase `u` in 0..1 of a lift of
/// `lift_s` seconds (minimum jerk: Flash & Hogan 1985, J Neurosci 5:1688; from memory, high). A thrown lift is sped up
/// evenly to its end: u = (t / lift_s)².
fn time_law(u: f64, lift_s: f64, pace: Pace) -> (f64, f64) {
    match pace {
        Pace::Thrown => return (2.0 * u.sqrt() / lift_s, 2.0 / (lift_s * lift_s)),
        Pace::Steady => return (1.0 / lift_s, 0.0),
        Pace::Rests => {}
    }
    let (mut lo, mut hi) = (0.0f64, 1.0f64);
    let s = |t: f64| t * t * t * (10.0 - 15.0 * t + 6.0 * t * t);
    for _ in 0..40 {
        let m = 0.5 * (lo + hi);
        if s(m) < u { lo = m } else { hi = m }
    }
    let t = 0.5 * (lo + hi);
    let v = 30.0 * t * t * (1.0 - t) * (1.0 - t);
    let a = 60.0 * t * (1.0 - t) * (1.0 - 2.0 * t);
    (v / lift_s, a / (lift_s * lift_s))
}

/// Linear acceleration of a path sampled at equal phases, at frame `i`. At the ends of a lift that comes to rest it is
/// zero (minimum jerk); where it does not, the path is taken as straight there.
fn acceleration(x: &[V3], i: usize, du: f64, v: f64, a: f64) -> V3 {
    let n = x.len();
    if i == 0 {
        return (x[1] - x[0]) * (a / du);
    }
    if i + 1 == n {
        return (x[i] - x[i - 1]) * (a / du);
    }
    (x[i + 1] - x[i] * 2.0 + x[i - 1]) * (v * v / (du * du)) + (x[i + 1] - x[i - 1]) * (a / (2.0 * du))
}

/// Gravity, inertia and loads of every frame, before supports.
pub fn own_wrenches(rep: &Rep, body: &Body) -> Vec<Own> {
    let n = rep.frames.len();
    let du = 1.0 / (n - 1) as f64;
    let mut out = vec![([Wrench::default(); SEGMENTS], [Wrench::default(); SEGMENTS]); n];
    let at_rest = |i: usize| rep.pace == Pace::Rests && (i == 0 || i + 1 == n);
    let law = |i: usize| if at_rest(i) { (0.0, 0.0) } else { time_law(i as f64 * du, rep.lift_s, rep.pace) };
    let law: Vec<(f64, f64)> = (0..n).map(law).collect();
    let mut path = vec![V3::zeros(); n];
    for s in Segment::ALL {
        let q = &body.inertia[s.index()];
        if q.mass_kg == 0.0 {
            continue;
        }
        for (x, f) in path.iter_mut().zip(&rep.frames) {
            *x = f.figure.at(s, &q.com_m);
        }
        for i in 0..n {
            let (v, a) = law[i];
            let weight = V3::new(0.0, -q.mass_kg * GRAVITY_M_S2, 0.0);
            let inertia = -acceleration(&path, i, du, v, a) * q.mass_kg;
            let mut w = Wrench::at(&path[i], &inertia);
            if i > 0 && i + 1 < n {
                let r = |k: usize| rep.frames[k].figure.pose(s).rotation;
                let before = log_rotation(&(r(i) * r(i - 1).transpose())) / du;
                let after = log_rotation(&(r(i + 1) * r(i).transpose())) / du;
                let spin = (before + after) * 0.5;
                let omega = spin * v;
                let alpha = (after - before) / du * (v * v) + spin * a;
                let world: M3 = r(i) * q.inertia_kg_m2 * r(i).transpose();
                w.moment_nm -= world * alpha + omega.cross(&(world * omega));
            }
            let g = Wrench::at(&path[i], &weight);
            let (constant, per_load) = &mut out[i];
            if rep.load.body_weight {
                // The load multiplies the body's own weight, and its inertia with it.
                per_load[s.index()].add(&g);
                per_load[s.index()].add(&w);
            } else {
                constant[s.index()].add(&g);
                constant[s.index()].add(&w);
            }
        }
    }
    let loads = rep.frames.first().map_or(0, |f| f.forces.len());
    for k in 0..loads {
        for (x, f) in path.iter_mut().zip(&rep.frames) {
            *x = f.forces[k].at_m;
        }
        for i in 0..n {
            let f = &rep.frames[i].forces[k];
            let (v, a) = law[i];
            let inertia = -acceleration(&path, i, du, v, a) * f.mass_per_load_kg;
            let (constant, per_load) = &mut out[i];
            constant[f.on.index()].add(&Wrench::at(&f.at_m, &f.constant_n));
            per_load[f.on.index()].add(&Wrench::at(&f.at_m, &(f.per_load_n + inertia)));
        }
    }
    out
}

fn total(w: &Wrenches) -> Vector6<f64> {
    w.iter().fold(Vector6::zeros(), |s, x| s + x.vector())
}

/// Supports of one frame: how much of each unit component answers a total wrench.
pub struct Supports {
    columns: Vec<Vector6<f64>>,
    inverse: Matrix6<f64>,
    weight: Vec<f64>,
}

impl Supports {
    /// Least-effort supports: f = W Gᵀ (G W Gᵀ)⁻¹ (−w), W = 1 / reluctance; directions nobody carries stay open.
    /// `released` carriers of the frame carry nothing.
    pub fn new(rep: &Rep, frame: usize, released: &[bool]) -> Supports {
        Supports::without(rep, frame, released, &[])
    }

    /// The same, with the supports of some segments left out.
    fn without(rep: &Rep, frame: usize, released: &[bool], out: &[Segment]) -> Supports {
        let f = &rep.frames[frame];
        let columns: Vec<Vector6<f64>> =
            f.carriers.iter().map(|c| Wrench::at(&c.at_m, &c.direction).vector()).collect();
        let off = |k: usize, on: &Segment| released.get(k).is_some_and(|r| *r) || out.contains(on);
        let weight: Vec<f64> = f
            .carriers
            .iter()
            .enumerate()
            .map(|(k, c)| if off(k, &c.on) { 0.0 } else { 1.0 / c.reluctance.max(1e-9) })
            .collect();
        let mut h = Matrix6::zeros();
        let full: f64 = f.carriers.iter().zip(&columns).map(|(c, g)| g.norm_squared() / c.reluctance.max(1e-9)).sum();
        let full = full.max(1e-12);
        for (g, w) in columns.iter().zip(&weight) {
            h += g * g.transpose() * *w;
        }
        // Directions that no support carries have no stiffness: a trace-sized 1e-10 keeps the matrix regular and leaves
        // them open.
        let small = 1e-10 * full;
        let inverse = (h + Matrix6::identity() * small).try_inverse().unwrap_or_else(Matrix6::zeros);
        Supports { columns, inverse, weight }
    }

    pub fn is_empty(&self) -> bool {
        self.columns.is_empty()
    }

    /// Size of each component that answers a total wrench.
    pub fn answer(&self, total: &Vector6<f64>) -> Vec<f64> {
        let y = self.inverse * -total;
        self.columns.iter().zip(&self.weight).map(|(g, w)| w * g.dot(&y)).collect()
    }
}

/// Gravity, inertia and loads of one frame: constant, and per unit load.
pub type Own = (Wrenches, Wrenches);

/// External wrenches of one frame with the supports that equilibrium fixes; `released` carriers carry nothing.
pub fn supported(rep: &Rep, frame: usize, own: &Own, released: &[bool]) -> FrameWrenches {
    let (mut constant, mut per_load) = *own;
    let f = &rep.frames[frame];
    let supports = Supports::new(rep, frame, released);
    let contacts = f.carriers.iter().map(|c| c.contact + 1).max().unwrap_or(0);
    let mut normal_n = vec![(0.0, 0.0); contacts];
    let mut carried_n = Vec::new();
    let mut unbalanced = (0.0, 0.0);
    if !supports.is_empty() {
        let (x0, x1) = (supports.answer(&total(&constant)), supports.answer(&total(&per_load)));
        for (k, c) in f.carriers.iter().enumerate() {
            constant[c.on.index()].add(&Wrench::at(&c.at_m, &(c.direction * x0[k])));
            per_load[c.on.index()].add(&Wrench::at(&c.at_m, &(c.direction * x1[k])));
            if c.push_only {
                normal_n[c.contact].0 += x0[k];
                normal_n[c.contact].1 += x1[k];
            }
        }
        carried_n = x0.into_iter().zip(x1).collect();
        unbalanced = (total(&constant).norm(), total(&per_load).norm());
    }
    FrameWrenches { constant, per_load, normal_n, carried_n, unbalanced }
}

/// Which carriers of a frame let go at a load, because a floor, a bench or a pad only pushes: those of a part of the body
/// whose support would have to pull it as a whole. (Points under one sole may pull against each other: only where the
/// pressure lies is felt.)
///
/// Hands hold on to things and may pull. Where the others cannot balance the body alone nobody lets go: that posture
/// would tip.
pub fn letting_go(rep: &Rep, frame: usize, own: &Own, load: f64) -> Vec<bool> {
    let carriers = &rep.frames[frame].carriers;
    let w = total(&own.0) + total(&own.1) * load;
    let mut released = vec![false; carriers.len()];
    let mut s = Supports::new(rep, frame, &released);
    let mut x = s.answer(&w);
    let left_over = |s: &Supports, x: &[f64]| s.columns.iter().zip(x).fold(w, |sum, (g, x)| sum + g * *x).norm();
    let allowed = left_over(&s, &x) + 1e-3 * w.fixed_rows::<3>(0).norm();
    while let Some((on, _)) = hardest_pull(carriers, &x) {
        let twin = |c: &Carrier| rep.symmetric && twins(c.on, on);
        let next: Vec<bool> = carriers.iter().zip(&released).map(|(c, r)| *r || c.on == on || twin(c)).collect();
        s = Supports::new(rep, frame, &next);
        x = s.answer(&w);
        if left_over(&s, &x) > allowed {
            break;
        }
        released = next;
    }
    released
}

/// The part of the body whose supports together pull hardest, and how hard, N; `None` where all push, or hands hold.
pub fn hardest_pull(carriers: &[Carrier], carried_n: &[f64]) -> Option<(Segment, f64)> {
    let mut sums = [0.0; SEGMENTS];
    for (c, x) in carriers.iter().zip(carried_n).filter(|(c, _)| c.push_only) {
        sums[c.on.index()] += x;
    }
    let pulls = |s: &Segment| !matches!(s, Segment::Hand(_)) && sums[s.index()] < -PULL_N;
    let hardest = Segment::ALL.into_iter().filter(pulls).min_by(|a, b| sums[a.index()].total_cmp(&sums[b.index()]));
    hardest.map(|s| (s, -sums[s.index()]))
}

/// Right and left of the same part.
fn twins(a: Segment, b: Segment) -> bool {
    a.side().is_some() && a.index().abs_diff(b.index()) == 8
}

/// Pulls up to this pass as rounding, N.
pub const PULL_N: f64 = 0.5;

/// A free component's unit wrenches, and what each carrier answers to it, N per unit.
#[derive(Clone, Debug)]
pub struct FreeWrench {
    pub wrenches: Wrenches,
    pub answered: Vec<f64>,
}

/// Unit wrenches of a free component, with the answer of the other supports where it needs one.
pub fn free_wrenches(rep: &Rep, frame: usize, index: usize, released: &[bool]) -> Option<FreeWrench> {
    let free = &rep.frames[frame].free[index];
    let FreeAction::Wrenches(list) = &free.action else { return None };
    let mut out = [Wrench::default(); SEGMENTS];
    for (s, at, force, moment) in list {
        let mut w = Wrench::at(at, force);
        w.moment_nm += moment;
        out[s.index()].add(&w);
    }
    let mut answered = Vec::new();
    if free.rebalance && !rep.frames[frame].carriers.is_empty() {
        // The opposite force is taken elsewhere, not by the part that pushes.
        let pushing: Vec<Segment> = list.iter().map(|l| l.0).collect();
        answered = Supports::without(rep, frame, released, &pushing).answer(&total(&out));
        for (c, x) in rep.frames[frame].carriers.iter().zip(&answered) {
            out[c.on.index()].add(&Wrench::at(&c.at_m, &(c.direction * *x)));
        }
    }
    Some(FreeWrench { wrenches: out, answered })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Even speeding up over a straight metre in half a second: a = 2 s / t² = 8 m/s² in every frame, both ends too.
    #[test]
    fn a_thrown_metre_is_sped_up_evenly() {
        let path: Vec<V3> = (0..11).map(|i| V3::new(0.0, i as f64 / 10.0, 0.0)).collect();
        for i in 0..path.len() {
            let (v, a) = time_law(i as f64 / 10.0, 0.5, Pace::Thrown);
            let got = acceleration(&path, i, 0.1, v, a);
            assert!((got.y - 8.0).abs() < 1e-9 && got.x == 0.0, "frame {i}: {got:?}");
        }
    }
}
