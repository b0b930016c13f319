//! One frame as equations: muscles and cheap bounded unknowns on one side, required moments on the other.
//!
//! Rows are in units of 100 N·m, as the sharing solver likes them. The body is cut into blocks that no muscle joins
//! (leg and trunk, arm, neck); each block has its own columns.

use crate::rows::Geometry;
use crate::stops::Stops;
use crate::wrench::{FrameWrenches, FreeWrench, Own, free_wrenches, letting_go, supported};
use anatomy::body::Body;
use anatomy::heads::{HeadMask, HeadState, MuscleFrame, MuscleModel};
use anatomy::skeleton::{Joint, ROWS, Row, SEGMENTS, Segment, Side, SidePosture};
use movement::rep::{FreeAction, FreeSpan, Rep};

/// Rows of a block are padded to this many.
pub const M: usize = 8;
/// N·m per unit of a row.
pub const ROW_NM: f64 = 100.0;

/// How free the contact components are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ContactFreedom {
    /// At their usual value.
    Fixed,
    /// Within their usual span.
    #[default]
    Usual,
    /// The widest span seen in people: feet push apart 0 to 0.4 of the normal force.
    Wide,
}

/// A part of the body solved on its own.
#[derive(Clone, Debug)]
pub struct Block {
    pub rows: Vec<Row>,
    /// Head of each muscle column; the second field marks a left-side twin (trunk muscles of a one-sided lift).
    pub heads: Vec<(usize, bool)>,
}

/// A cheap bounded unknown of one frame: column and bounds lo0 + P lo1 … hi0 + P hi1.
#[derive(Clone, Debug)]
pub struct Cheap {
    pub tag: &'static str,
    pub column: [f64; M],
    pub lo: (f64, f64),
    pub hi: (f64, f64),
    pub cost: f64,
    /// Index into the frame's free components; `None` for passive stops.
    pub free: Option<usize>,
}

/// Equations of one block in one frame.
#[derive(Clone, Debug, Default)]
pub struct FrameSystem {
    pub muscles: Vec<[f64; M]>,
    pub cheap: Vec<Cheap>,
    pub b0: [f64; M],
    pub b1: [f64; M],
}

/// One frame, evaluated.
pub struct EvaluatedFrame {
    pub side: SidePosture,
    pub geometry: Geometry,
    pub muscles: MuscleFrame,
    pub wrenches: FrameWrenches,
    pub free: Vec<Option<FreeWrench>>,
    /// Carriers that only push and would pull at the set's load: they carry nothing.
    pub released: Vec<bool>,
    /// Load at which supports were judged; `None` where none comes near to pulling.
    pub judged_at: Option<f64>,
}

impl EvaluatedFrame {
    /// Other supports and free components of the same posture, for a load.
    pub fn judge(&mut self, rep: &Rep, index: usize, own: &Own, load: f64) {
        self.released = letting_go(rep, index, own, load);
        self.wrenches = supported(rep, index, own, &self.released);
        self.free = (0..rep.frames[index].free.len()).map(|k| free_wrenches(rep, index, k, &self.released)).collect();
        self.judged_at = Some(load);
    }

    /// What every carrier carries at a load with these sizes of the free components, N.
    pub fn carried_n(&self, load: f64, free: &[f64]) -> Vec<f64> {
        let mut out: Vec<f64> = self.wrenches.carried_n.iter().map(|(c, p)| c + load * p).collect();
        for (f, v) in self.free.iter().zip(free) {
            if let Some(f) = f {
                out.iter_mut().zip(&f.answered).for_each(|(x, a)| *x += a * v);
            }
        }
        out
    }

    /// Sizes of a free component between which no support that only pushes has to pull, N.
    fn without_pull(&self, rep: &Rep, index: usize, free: usize, load: f64) -> (f64, f64) {
        let mut span = (f64::NEG_INFINITY, f64::INFINITY);
        let Some(Some(f)) = self.free.get(free).filter(|f| f.as_ref().is_some_and(|f| !f.answered.is_empty())) else {
            return span;
        };
        let (mut sums, mut answers) = ([0.0; SEGMENTS], [0.0; SEGMENTS]);
        for ((c, a), x) in rep.frames[index].carriers.iter().zip(&f.answered).zip(&self.wrenches.carried_n) {
            if c.push_only && !matches!(c.on, Segment::Hand(_)) {
                sums[c.on.index()] += x.0 + load * x.1;
                answers[c.on.index()] += a;
            }
        }
        for (x, a) in sums.into_iter().zip(answers) {
            // One that pulls already, because the body would tip, is not asked for more.
            let x = f64::max(x, 0.0);
            if a > 1e-9 {
                span.0 = span.0.max(-x / a);
            } else if a < -1e-9 {
                span.1 = span.1.min(-x / a);
            }
        }
        span
    }
}

/// Rows of each block that the balanced joints ask for.
pub fn blocks(rep: &Rep, model: &MuscleModel) -> Vec<Block> {
    let has = |j: Joint| rep.balanced.contains(&j);
    let mut out = Vec::new();
    let mut push = |rows: Vec<Row>| {
        if rows.is_empty() {
            return;
        }
        let joints: Vec<Joint> = rows.iter().map(|r| r.joint()).collect();
        let mut heads: Vec<(usize, bool)> = model.heads_at(&joints).iter().map(|h| (h, false)).collect();
        if !rep.symmetric {
            let midline: Vec<Joint> = [Joint::Lumbar, Joint::Neck].into_iter().filter(|j| joints.contains(j)).collect();
            if !midline.is_empty() {
                heads.extend(model.heads_at(&midline).iter().map(|h| (h, true)));
            }
        }
        out.push(Block { rows, heads });
    };
    let mut leg = Vec::new();
    if has(Joint::Hip) {
        leg.extend([Row::HipX, Row::HipY, Row::HipZ]);
    }
    if has(Joint::Knee) {
        leg.push(Row::KneeFlexion);
    }
    if has(Joint::Ankle) {
        leg.push(Row::AnklePlantarflexion);
    }
    if has(Joint::Lumbar) {
        leg.push(Row::LumbarFlexion);
        if !rep.symmetric {
            leg.extend([Row::LumbarSideBend, Row::LumbarRotation]);
        }
    }
    push(leg);
    // Blade and arm together: then what latissimus and pectoralis major do past the blade counts on both.
    let one_chain = has(Joint::Girdle) && has(Joint::Shoulder);
    let mut arm = if one_chain { girdle_rows(rep) } else { Vec::new() };
    if has(Joint::Shoulder) {
        arm.extend([Row::ShoulderX, Row::ShoulderY, Row::ShoulderZ]);
    }
    for (j, r) in
        [(Joint::Elbow, Row::ElbowFlexion), (Joint::Forearm, Row::ForearmPronation), (Joint::Wrist, Row::WristFlexion)]
    {
        if has(j) {
            arm.push(r);
        }
    }
    push(arm);
    let mut neck = Vec::new();
    if has(Joint::Neck) {
        neck.push(Row::NeckFlexion);
        if !rep.symmetric {
            neck.extend([Row::NeckSideBend, Row::NeckRotation]);
        }
    }
    push(neck);
    if has(Joint::Girdle) && !one_chain {
        // A shrug is judged by the glide upward alone: rib cage and ligaments hold the blade in the other directions.
        out.push(Block { rows: girdle_rows(rep), ..girdle_block(model) });
    }
    out
}

/// Ways in which the blade is moved on purpose: up and down, or round the ribs. A way that moves less than half as far as
/// the other is held by rib cage and ligaments.
fn girdle_rows(rep: &Rep) -> Vec<Row> {
    let span = |angle: fn(&anatomy::skeleton::Girdle) -> f64| {
        let of = || rep.frames.iter().map(|f| angle(&f.posture.right.girdle));
        of().fold(f64::NEG_INFINITY, f64::max) - of().fold(f64::INFINITY, f64::min)
    };
    let (up, round) = (span(|g| g.elevation_rad), span(|g| g.protraction_rad));
    let mut rows = Vec::new();
    if up >= 0.5 * round {
        rows.push(Row::GirdleElevation);
    }
    if round > 0.5 * up {
        rows.push(Row::GirdleProtraction);
    }
    rows
}

/// The gliding girdle: its own muscles only, against the outside load on the arm. Counting what latissimus and pectoralis
/// major do past the blade was tried and made pulls worse (levator and serratus full, lower trapezius idle): their arms
/// of 0.1 m about the sternum turn a tenth of error into 20 N·m. Used as a second stage beside arm
/// work, and as a block of its own where a movement is for the girdle.
pub fn girdle_block(model: &MuscleModel) -> Block {
    let to_the_arm = model.heads_at(&[Joint::Shoulder]);
    let heads =
        model.heads_at(&[Joint::Girdle]).iter().filter(|&h| !to_the_arm.contains(h)).map(|h| (h, false)).collect();
    Block { rows: vec![Row::GirdleElevation, Row::GirdleProtraction, Row::GirdleUpwardRotation], heads }
}

/// Heads of all blocks.
pub fn mask(blocks: &[Block]) -> HeadMask {
    let mut m = HeadMask::none();
    for b in blocks {
        for &(h, _) in &b.heads {
            m.insert(h);
        }
    }
    m
}

/// Sign of a row's arm for the left-side twin of a trunk or neck head.
fn twin_sign(row: Row) -> f64 {
    match row {
        Row::LumbarFlexion | Row::NeckFlexion => 1.0,
        Row::LumbarSideBend | Row::LumbarRotation | Row::NeckSideBend | Row::NeckRotation => -1.0,
        _ => 0.0,
    }
}

/// Half the demand on the mid-line where both sides share it alike.
fn share_of_side(row: Row, symmetric: bool) -> f64 {
    match row.joint() {
        Joint::Lumbar | Joint::Neck if symmetric => 0.5,
        _ => 1.0,
    }
}

/// Posture-dependent parts of a frame.
pub fn evaluate(
    rep: &Rep,
    index: usize,
    body: &Body,
    model: &MuscleModel,
    wanted: HeadMask,
    own: &Own,
) -> EvaluatedFrame {
    let f = &rep.frames[index];
    let side = SidePosture::new(body, &f.posture, Side::Right);
    let geometry = Geometry::new(body, f, &side);
    let mut muscles = model.frame();
    model.evaluate(&side, wanted, &mut muscles);
    let wrenches = supported(rep, index, own, &[]);
    let free = (0..f.free.len()).map(|k| free_wrenches(rep, index, k, &[])).collect();
    EvaluatedFrame { side, geometry, muscles, wrenches, free, released: Vec::new(), judged_at: None }
}

/// Build the equations of a block in a frame.
pub fn system(
    rep: &Rep,
    frame: usize,
    block: &Block,
    e: &EvaluatedFrame,
    freedom: ContactFreedom,
    stops: &Stops,
) -> FrameSystem {
    let f = &rep.frames[frame];
    let mut s = FrameSystem { muscles: Vec::with_capacity(block.heads.len()), ..FrameSystem::default() };
    for (k, &row) in block.rows.iter().enumerate() {
        let part = share_of_side(row, rep.symmetric) / ROW_NM;
        s.b0[k] = e.geometry.required(&e.wrenches.constant, row) * part;
        s.b1[k] = e.geometry.required(&e.wrenches.per_load, row) * part;
    }
    for &(h, twin) in &block.heads {
        let q: &HeadState = &e.muscles.heads[h];
        let mut column = [0.0; M];
        for (k, &row) in block.rows.iter().enumerate() {
            let sign = if twin { twin_sign(row) } else { 1.0 };
            let arm = q.arms_m[row.index()] * sign;
            column[k] = arm * q.max_force_n * q.active / ROW_NM;
            s.b0[k] -= arm * q.max_force_n * q.passive / ROW_NM;
        }
        s.muscles.push(column);
    }
    stops.passive_into(&block.rows, &e.side, rep.symmetric, &mut s);
    for (index, free) in f.free.iter().enumerate() {
        let mut column = [0.0; M];
        match (&free.action, &e.free[index]) {
            (FreeAction::Wrenches(_), Some(w)) => {
                for (k, &row) in block.rows.iter().enumerate() {
                    column[k] = -e.geometry.required(&w.wrenches, row) * share_of_side(row, rep.symmetric) / ROW_NM;
                }
            }
            (FreeAction::JointTorque { joint, axis, .. }, _) => {
                let t = e.geometry.torque(*joint, axis);
                for (k, &row) in block.rows.iter().enumerate() {
                    column[k] = t[row.index()] / ROW_NM;
                }
            }
            _ => {}
        }
        if column.iter().all(|v| v.abs() < 1e-12) {
            continue;
        }
        let (usual, mut half, n0, n1) = match free.span {
            FreeSpan::OfNormal { contact, usual, half } => {
                let (n0, n1) = e.wrenches.normal_n.get(contact).copied().unwrap_or((0.0, 0.0));
                (usual, half, n0, n1)
            }
            FreeSpan::OfLoad { usual, half, constant_n, per_load_n } => (usual, half, constant_n, per_load_n),
            FreeSpan::Absolute { low, high } => {
                s.cheap.push(Cheap {
                    tag: free.tag,
                    column,
                    lo: (low, 0.0),
                    hi: (high, 0.0),
                    cost: free.cost,
                    free: Some(index),
                });
                continue;
            }
        };
        let mut low = usual - half;
        let mut high = usual + half;
        if free.contact_choice {
            match freedom {
                ContactFreedom::Fixed => {
                    half = 0.0;
                    (low, high) = (usual - half, usual + half);
                }
                ContactFreedom::Usual => {}
                ContactFreedom::Wide if free.tag == "feet push apart" && half > 0.0 => {
                    (low, high) = (low.min(0.0), high.max(0.4));
                }
                ContactFreedom::Wide => {}
            }
        }
        // Bounds follow the normal force, which may itself be negative at zero load when balance is impossible.
        let bound = |k: f64| (k * n0.max(0.0), k * n1);
        let (a, b) = (bound(low), bound(high));
        let (mut lo, mut hi) = if n1 >= 0.0 { (a, b) } else { (b, a) };
        if let Some(load) = e.judged_at {
            // Shortened in proportion, so that a bound stays a straight line in the load.
            let (least, most) = e.without_pull(rep, frame, index, load);
            for v in [&mut lo, &mut hi] {
                let at = v.0 + load * v.1;
                let k = if at > most {
                    most / at
                } else if at < least {
                    least / at
                } else {
                    1.0
                };
                *v = (v.0 * k, v.1 * k);
            }
        }
        s.cheap.push(Cheap { tag: free.tag, column, lo, hi, cost: free.cost, free: Some(index) });
    }
    s
}

/// Moments by row of a frame at a load, N·m: what muscles, stops and freedoms together must balance.
pub fn required_rows(rep: &Rep, block: &Block, e: &EvaluatedFrame, load: f64) -> [f64; ROWS] {
    let mut out = [0.0; ROWS];
    for &row in &block.rows {
        let part = share_of_side(row, rep.symmetric);
        let required = |w| e.geometry.required(w, row);
        out[row.index()] = part * (required(&e.wrenches.constant) + load * required(&e.wrenches.per_load));
    }
    out
}
