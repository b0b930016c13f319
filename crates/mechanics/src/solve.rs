//! From a rep to capacity, set load and shared activations.

use crate::stops::Stops;
use crate::system::{
    Block, ContactFreedom, EvaluatedFrame, FrameSystem, M, ROW_NM, blocks, evaluate, girdle_block, mask, system,
};
use crate::wrench::{hardest_pull, own_wrenches};
use anatomy::body::Body;
use anatomy::heads::MuscleModel;
use anatomy::skeleton::{JOINTS, Joint, ROWS};
use movement::rep::Rep;
use numerics::capacity::{Bounds, Capacity};
use numerics::quantile::quantile;
use numerics::sharing::{Options, Power, Problem, Workspace};

/// Imbalance at which sharing stops, in rows of 100 N·m.
const BALANCED: f64 = 1e-7;

/// How the load is shared among muscles.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Criterion {
    /// min Σ a³ (Crowninshield & Brand 1981: endurance), the main one.
    Cubic,
    /// min Σ a².
    Quadratic,
    /// min Σ V a², V relative volume.
    VolumeQuadratic,
    /// Smallest peak activation, the rest by a³ under 1.01 × that peak.
    MinMax,
}

impl Criterion {
    pub const ALL: [Criterion; 4] =
        [Criterion::Cubic, Criterion::Quadratic, Criterion::VolumeQuadratic, Criterion::MinMax];
}

/// How the set's load follows from the capacities of the frames.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoadRule {
    /// Quantile over frames: one frame at the end of the range must not set the load.
    pub quantile: f64,
    /// Part of that capacity a hard set uses.
    pub effort: f64,
}

impl Default for LoadRule {
    /// 0.9 × the 9 % quantile.
    fn default() -> Self {
        LoadRule { quantile: 0.09, effort: 0.9 }
    }
}

/// A rep with its equations, ready for capacity and sharing.
pub struct Prepared {
    pub blocks: Vec<Block>,
    pub frames: Vec<EvaluatedFrame>,
    /// `[block][frame]`.
    pub systems: Vec<Vec<FrameSystem>>,
    /// The girdle's second stage beside arm work.
    pub second: Option<(Block, Vec<FrameSystem>)>,
    cap: f64,
    /// More than this is not left unbalanced at the ends of the range by a load that is chosen, N·m; infinite where the body
    /// is the load.
    pub unbalanced_limit_nm: f64,
}

/// Moment that may stay unbalanced at the ends of the range, where the load is not decided, N·m in a man of 75 kg and
/// 1.75 m; larger bodies have moments larger by mass and length. Own choice: 25 N·m, set when the tables had a knee tension
/// of 29.5 N/cm², carried along to the 34 of the refitted ones, because loads grow with strength. Between 25 and 29 lie
/// the overhead squat (27) and the one-arm dumb-bell row (26).
const UNBALANCED_NM: f64 = 25.0 * 34.0 / 29.5;

/// The same in a body.
pub fn unbalanced_limit_nm(body: &Body) -> f64 {
    UNBALANCED_NM * (body.mass_kg / 75.0 * body.stature_m / 1.75).max(1.0)
}

/// Capacity of every frame and the load of a hard set.
#[derive(Clone, Debug)]
pub struct SetLoad {
    /// Largest load of each frame, in the movement's unit; the cap where muscles do not limit.
    pub capacity: Vec<f64>,
    /// Load of a hard set.
    pub load: f64,
    /// Index of the hardest frame.
    pub sticking: usize,
    /// Joint whose muscles run out first; `None` where nothing limits.
    pub limiting: Option<Joint>,
    /// Share of the limit by joint.
    pub limits: [f64; JOINTS],
    /// No frame is limited by muscle: the load is the cap and says nothing.
    pub unlimited: bool,
    /// Frames in which the body alone is too much.
    pub impossible: Vec<usize>,
    /// Nobody keeps balance with more, whatever the muscles could do.
    pub balance_ends: bool,
}

impl SetLoad {
    /// The set ends at a load beyond which balance is lost.
    pub fn end_by_balance(&mut self, load: f64) {
        if load < self.load {
            (self.load, self.balance_ends, self.limiting) = (load, true, None);
        }
    }

    /// What ends the set: a joint, `balance` or `none`.
    pub fn ended_by(&self) -> &'static str {
        match self.limiting {
            _ if self.balance_ends => "balance",
            Some(joint) => joint.id(),
            None => "none",
        }
    }
}

/// Activations of one criterion.
#[derive(Clone, Debug)]
pub struct Shares {
    /// `[frame][head]`: right side, and for trunk heads of a one-sided lift the busier side.
    pub activation: Vec<Vec<f64>>,
    /// Largest moment left over in any row and frame, N·m.
    pub residual_nm: f64,
    /// Value of every free component, [frame][free index].
    pub free: Vec<Vec<f64>>,
    /// What one more N·m would cost, by frame and row; a head is called upon by Σ price × moment it could make.
    pub prices: Vec<[f64; ROWS]>,
}

/// Memory of the solvers, kept from frame to frame and movement to movement.
pub struct Memory {
    capacity: Capacity,
    workspace: Workspace<M>,
    problem: Problem<M>,
    scratch: Vec<f64>,
}

impl Default for Memory {
    fn default() -> Self {
        Memory {
            capacity: Capacity::new(),
            workspace: Workspace::new(160),
            problem: Problem::with_capacity(160),
            scratch: Vec::with_capacity(64),
        }
    }
}

/// Evaluate muscles and equations of every frame.
pub fn prepare(rep: &Rep, body: &Body, model: &MuscleModel, freedom: ContactFreedom, stops: &Stops) -> Prepared {
    let blocks = blocks(rep, model);
    let second = (rep.balanced.contains(&Joint::Shoulder) && !rep.balanced.contains(&Joint::Girdle))
        .then(|| girdle_block(model));
    let mut wanted = mask(&blocks);
    if let Some(b) = &second {
        wanted = wanted.union(mask(std::slice::from_ref(b)));
    }
    let own = own_wrenches(rep, body);
    let mut frames: Vec<EvaluatedFrame> =
        (0..rep.frames.len()).map(|i| evaluate(rep, i, body, model, wanted, &own[i])).collect();
    let equations = |blocks: &[Block], frames: &[EvaluatedFrame]| -> Vec<Vec<FrameSystem>> {
        let of = |b: &Block| frames.iter().enumerate().map(|(i, e)| system(rep, i, b, e, freedom, stops)).collect();
        blocks.iter().map(of).collect()
    };
    let mut systems = equations(&blocks, &frames);
    // Floors, benches and pads push only. Which of them let go depends on the load, and the load on them.
    if frames.iter().enumerate().any(|(i, e)| may_pull(rep, i, e)) {
        let mut capacity = Capacity::new();
        for _ in 0..SETTLINGS {
            let load =
                capacities(&blocks, &systems, frames.len(), rep.load.cap, &mut capacity).load(&LoadRule::default());
            let before: Vec<Vec<bool>> = frames.iter().map(|e| e.released.clone()).collect();
            let again = frames[0].judged_at.is_none_or(|l| (load - l).abs() > 0.01 * l);
            for (i, e) in frames.iter_mut().enumerate() {
                e.judge(rep, i, &own[i], load);
            }
            let same = frames.iter().zip(&before).all(|(e, b)| e.released == *b);
            systems = equations(&blocks, &frames);
            if same && !again {
                break;
            }
        }
    }
    let second = second.map(|b| {
        let s = equations(std::slice::from_ref(&b), &frames).swap_remove(0);
        (b, s)
    });
    let unbalanced_limit_nm = if rep.load.body_weight { f64::INFINITY } else { unbalanced_limit_nm(body) };
    Prepared { blocks, frames, systems, second, cap: rep.load.cap, unbalanced_limit_nm }
}

/// Rounds in which load and supports are settled together.
const SETTLINGS: usize = 4;

/// Is there a load up to the cap, or a size of a free component, at which a support that only pushes would pull?
fn may_pull(rep: &Rep, frame: usize, e: &EvaluatedFrame) -> bool {
    let f = &rep.frames[frame];
    let at = |load: f64| hardest_pull(&f.carriers, &e.carried_n(load, &[])).is_some();
    f.free.iter().any(|f| f.rebalance) && !f.carriers.is_empty() || at(0.0) || at(rep.load.cap)
}

/// Largest load of every frame, what limits it, and the frames in which the body alone is too much.
struct Capacities {
    of_frame: Vec<f64>,
    limits: Vec<[f64; JOINTS]>,
    impossible: Vec<usize>,
}

impl Capacities {
    /// The load of a hard set.
    fn load(&self, rule: &LoadRule) -> f64 {
        rule.effort * quantile(&self.of_frame, &mut Vec::new(), rule.quantile).unwrap_or(0.0)
    }
}

impl Prepared {
    /// Capacity per frame and the load of a hard set.
    pub fn set_load(&self, rule: &LoadRule, memory: &mut Memory) -> SetLoad {
        let Capacities { of_frame: capacity, limits: limits_of, impossible } =
            capacities(&self.blocks, &self.systems, self.frames.len(), self.cap, &mut memory.capacity);
        let n = self.frames.len();
        let q = quantile(&capacity, &mut memory.scratch, rule.quantile).unwrap_or(0.0);
        let sticking = (0..n).min_by(|&a, &b| (capacity[a] - q).abs().total_cmp(&(capacity[b] - q).abs())).unwrap_or(0);
        let hardest = (0..n).min_by(|&a, &b| capacity[a].total_cmp(&capacity[b])).unwrap_or(0);
        let mut limits = limits_of[sticking];
        let sum: f64 = limits.iter().sum();
        if sum > 0.0 {
            limits.iter_mut().for_each(|v| *v /= sum);
        }
        let limiting = Joint::ALL
            .into_iter()
            .filter(|j| limits[*j as usize] > 0.0)
            .max_by(|a, b| limits[*a as usize].total_cmp(&limits[*b as usize]));
        SetLoad {
            load: rule.effort * q,
            unlimited: q >= 0.999 * self.cap,
            capacity,
            sticking: hardest,
            limiting,
            limits,
            impossible,
            balance_ends: false,
        }
    }

    /// Share a load among the muscles of every frame.
    pub fn share(
        &self,
        load: f64,
        capacity: &[f64],
        criterion: Criterion,
        model: &MuscleModel,
        memory: &mut Memory,
    ) -> Shares {
        let n = self.frames.len();
        let mut out = Shares {
            activation: vec![vec![0.0; model.len()]; n],
            residual_nm: 0.0,
            free: self.frames.iter().map(|f| vec![0.0; f.free.len()]).collect(),
            prices: vec![[0.0; ROWS]; n],
        };
        for (block, systems) in self.blocks.iter().zip(&self.systems) {
            self.share_block(block, systems, load, capacity, criterion, model, memory, 1e6, &mut out, true);
        }
        if let Some((block, systems)) = &self.second {
            self.share_block(block, systems, load, &[], criterion, model, memory, 3e4, &mut out, false);
        }
        out
    }

    fn share_block(
        &self,
        block: &Block,
        systems: &[FrameSystem],
        load: f64,
        capacity: &[f64],
        criterion: Criterion,
        model: &MuscleModel,
        memory: &mut Memory,
        stiffness: f64,
        out: &mut Shares,
        report: bool,
    ) {
        memory.workspace.lambda = [0.0; M];
        memory.capacity = Capacity::new();
        let mean_volume =
            block.heads.iter().map(|&(h, _)| model.volume_cm3(h)).sum::<f64>() / block.heads.len().max(1) as f64;
        let p = &mut memory.problem;
        let mut scales: Vec<f64> = Vec::new();
        // Prices of the last frames, to begin where the next are likely to be.
        let mut last: Option<[f64; M]> = None;
        for (t, s) in systems.iter().enumerate() {
            p.muscles = s.muscles.len();
            p.columns.clear();
            p.weight.clear();
            p.lo.clear();
            p.hi.clear();
            scales.clear();
            for (&(h, _), c) in block.heads.iter().zip(&s.muscles) {
                p.columns.push(*c);
                p.weight.push(match criterion {
                    Criterion::VolumeQuadratic => model.volume_cm3(h) / mean_volume,
                    _ => 1.0,
                });
                p.lo.push(0.0);
                p.hi.push(1.0);
            }
            for c in &s.cheap {
                // The second stage takes over what the hands chose in the first.
                let chosen = c.free.filter(|_| !report).map(|k| out.free[t][k]);
                let (lo, hi) = chosen.map_or((c.lo.0 + load * c.lo.1, c.hi.0 + load * c.hi.1), |v| (v, v));
                let k = lo.abs().max(hi.abs()).max(1e-6);
                scales.push(k);
                p.columns.push(c.column.map(|v| v * k));
                p.weight.push(c.cost.max(1e-3));
                p.lo.push(lo / k);
                p.hi.push((hi / k).max(lo / k));
            }
            for k in 0..M {
                p.b[k] = s.b0[k] + load * s.b1[k];
            }
            p.stiffness = stiffness;
            p.power = match criterion {
                Criterion::Cubic | Criterion::MinMax => Power::Three,
                Criterion::Quadratic | Criterion::VolumeQuadratic => Power::Two,
            };
            p.over_capacity = capacity.get(t).is_some_and(|c| load > c * 1.0001);
            if criterion == Criterion::MinMax {
                let m = p.muscles;
                let peak = memory
                    .capacity
                    .min_max(block.rows.len(), &p.columns[..m], &p.columns[m..], &p.lo[m..], &p.hi[m..], &p.b, t > 0)
                    .ok()
                    .flatten()
                    .unwrap_or(1.0);
                let top = (peak * 1.01).min(1.0);
                p.hi[..m].iter_mut().for_each(|v| *v = top);
            }
            let now = memory.workspace.lambda;
            if let Some(before) = last {
                memory.workspace.lambda = std::array::from_fn(|k| 2.0 * now[k] - before[k]);
            }
            last = (t > 0).then_some(now);
            let options = Options { tolerance: BALANCED, ..Options::default() };
            let outcome = p.solve(&mut memory.workspace, &options);
            for (j, &(h, _)) in block.heads.iter().enumerate() {
                let a = memory.workspace.x[j];
                let slot = &mut out.activation[t][h];
                // A trunk head of a one-sided lift has two columns: the busier side counts.
                *slot = slot.max(a);
            }
            for (k, row) in block.rows.iter().enumerate() {
                out.prices[t][row.index()] = memory.workspace.lambda[k] / ROW_NM;
            }
            for (j, c) in s.cheap.iter().enumerate() {
                if let Some(k) = c.free {
                    out.free[t][k] = memory.workspace.x[p.muscles + j] * scales[j];
                }
            }
            if report {
                let (_, _, r) = p.values(&memory.workspace.x[..p.columns.len()], &memory.workspace.lambda);
                let worst = r.iter().fold(0.0f64, |m, v| m.max(v.abs())) * ROW_NM;
                out.residual_nm = out.residual_nm.max(worst);
            }
            if !outcome.converged {
                memory.workspace.lambda = [0.0; M];
            }
            // Beyond capacity prices follow the stiffness of the solver and say nothing about the next frame.
            if p.over_capacity || !outcome.converged {
                last = None;
            }
        }
    }
}

/// Capacity of every frame: the least of its blocks.
fn capacities(blocks: &[Block], systems: &[Vec<FrameSystem>], n: usize, cap: f64, solver: &mut Capacity) -> Capacities {
    let mut capacity = vec![cap; n];
    let mut limits_of = vec![[0.0; JOINTS]; n];
    let mut impossible = Vec::new();
    let (mut cheap, mut lo0, mut lo1, mut hi0, mut hi1) = (vec![], vec![], vec![], vec![], vec![]);
    for (block, systems) in blocks.iter().zip(systems) {
        *solver = Capacity::new();
        for (t, s) in systems.iter().enumerate() {
            cheap.clear();
            (lo0, lo1, hi0, hi1) = {
                lo0.clear();
                lo1.clear();
                hi0.clear();
                hi1.clear();
                (lo0, lo1, hi0, hi1)
            };
            for c in &s.cheap {
                // Scaled so that the bound is of order one.
                let k = scale(c.lo, c.hi, 0.2 * cap);
                cheap.push(c.column.map(|v| v * k));
                lo0.push(c.lo.0 / k);
                lo1.push(c.lo.1 / k);
                hi0.push(c.hi.0 / k);
                hi1.push(c.hi.1 / k);
            }
            let bounds = Bounds { lo0: &lo0, lo1: &lo1, hi0: &hi0, hi1: &hi1 };
            let rows = block.rows.len();
            let got = solver.solve(rows, &s.muscles, &cheap, &bounds, &s.b0, &s.b1, cap, t > 0);
            let load = match got {
                Ok(Some(l)) => l,
                Ok(None) | Err(_) => {
                    if !impossible.contains(&t) {
                        impossible.push(t);
                    }
                    0.0
                }
            };
            if load < capacity[t] {
                capacity[t] = load;
                limits_of[t] = [0.0; JOINTS];
                for (k, &row) in block.rows.iter().enumerate() {
                    let y = solver.row_multipliers().get(k).copied().unwrap_or(0.0);
                    limits_of[t][row.joint() as usize] += (y * s.b1[k]).abs();
                }
            }
        }
    }
    Capacities { of_frame: capacity, limits: limits_of, impossible }
}

/// Size of a cheap column's bounds at a typical load.
fn scale(lo: (f64, f64), hi: (f64, f64), load: f64) -> f64 {
    (lo.0 + load * lo.1).abs().max((hi.0 + load * hi.1).abs()).max(lo.0.abs()).max(hi.0.abs()).max(1e-6)
}
