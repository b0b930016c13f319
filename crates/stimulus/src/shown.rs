//! The other numbers of an answer beside the stimulus, gathered so that each gets its range from the same draws.

use crate::contact::peak_contact_bw;
use crate::lengths::HeadLengths;
use crate::moments::net_axis_moments;
use crate::range::ranges;
use crate::rules::Rules;
use anatomy::body::Body;
use anatomy::heads::MuscleModel;
use anatomy::skeleton::Joint;
use answer::Range;
use mechanics::solve::{Prepared, SetLoad, Shares};
use movement::rep::Rep;

/// Numbers of a look: `f64` for one solve, [`Range`] over many.
#[derive(Clone, Debug)]
pub struct Shown<T> {
    /// Of a hard set, in the movement's unit.
    pub load: T,
    /// 0 = start of the lift, 1 = its end.
    pub sticking_phase: T,
    /// Largest moment left over, N·m.
    pub residual_nm: T,
    /// Largest contact force of every balanced joint, × body weight.
    pub contact_bw: Vec<(Joint, T)>,
    pub moments: Vec<ShownMoment<T>>,
    /// `None` for heads that the movement does not ask for.
    pub heads: Vec<Option<ShownHead<T>>>,
}

/// One anatomical axis over the lift.
#[derive(Clone, Debug)]
pub struct ShownMoment<T> {
    /// Direction in which the middle solve is positive on average.
    pub axis: &'static str,
    pub peak_nm: T,
    pub mean_nm: T,
    /// 0 = start of the lift, 1 = its end.
    pub peak_phase: T,
}

/// One head over the lift.
#[derive(Clone, Debug)]
pub struct ShownHead<T> {
    /// Normalised fibre length: shortest and longest.
    pub length_min: T,
    pub length_max: T,
    /// Negative is shorter.
    pub change_m: T,
    pub change_by_joint_m: Vec<(Joint, T)>,
    pub opposition: T,
    /// Part of the stimulus earned above normalised length 1.
    pub long_share: T,
    /// Mean over the lift, 0 to 1.
    pub activation: T,
    /// Largest over the lift.
    pub force_n: T,
}

/// A rep with its load, before it is shared among muscles.
#[derive(Clone, Copy)]
pub struct Lifted<'a> {
    pub rep: &'a Rep,
    pub body: &'a Body,
    pub model: &'a MuscleModel,
    pub prepared: &'a Prepared,
    pub load: &'a SetLoad,
    pub lengths: &'a [Option<HeadLengths>],
}

impl Shown<f64> {
    /// Numbers of one solve. Moments count in the directions of `like`, so that a moment that turns round in a draw is
    /// negative there and no other axis. `raw` and `raw_long` as in [`crate::measure::Solved`].
    pub fn of(l: &Lifted, shares: &Shares, raw: &[f64], raw_long: &[f64], like: Option<&Shown<f64>>) -> Shown<f64> {
        let n = l.prepared.frames.len();
        let phase = |frame: usize| frame as f64 / (n.max(2) - 1) as f64;
        let moments = net_axis_moments(l.rep, l.prepared, shares, l.load.load)
            .into_iter()
            .enumerate()
            .map(|(k, mut m)| {
                if let Some(axis) = like.and_then(|s| s.moments.get(k)).map(|s| s.axis).filter(|a| *a != m.axis) {
                    m.axis = axis;
                    m.values_nm.iter_mut().for_each(|v| *v = -*v);
                }
                let (peak_nm, at) = m.peak();
                ShownMoment { axis: m.axis, peak_nm, mean_nm: m.mean(), peak_phase: phase(at) }
            })
            .collect();
        let head = |h: usize, lengths: &HeadLengths| {
            let frames = || l.prepared.frames.iter().zip(&shares.activation).map(|(f, a)| (&f.muscles.heads[h], a[h]));
            ShownHead {
                length_min: lengths.fibre.iter().copied().fold(f64::INFINITY, f64::min),
                length_max: lengths.fibre.iter().copied().fold(0.0, f64::max),
                change_m: lengths.change_m(),
                change_by_joint_m: Joint::ALL
                    .into_iter()
                    .filter(|j| !lengths.by_joint_m[*j as usize].is_empty())
                    .map(|j| (j, lengths.change_at_m(j)))
                    .collect(),
                opposition: lengths.opposition(),
                long_share: if raw[h] > 1e-9 { raw_long[h] / raw[h] } else { 0.0 },
                activation: frames().map(|f| f.1).sum::<f64>() / n as f64,
                force_n: frames().map(|(s, a)| s.force_n(a)).fold(0.0, f64::max),
            }
        };
        Shown {
            load: l.load.load,
            sticking_phase: phase(l.load.sticking),
            residual_nm: shares.residual_nm,
            contact_bw: peak_contact_bw(l.rep, l.prepared, shares, l.load.load, l.body, l.model),
            moments,
            heads: l.lengths.iter().enumerate().map(|(h, q)| q.as_ref().map(|q| head(h, q))).collect(),
        }
    }

    fn numbers(&self) -> Vec<f64> {
        let mut out = Vec::new();
        self.map(&mut |v| out.push(*v));
        out
    }

    /// Every number with its range: as for stimuli, quantiles of the draws widened to the values under other methods.
    pub fn with_ranges(&self, draws: &[Shown<f64>], methods: &[Shown<f64>], rules: &Rules) -> Shown<Range> {
        let numbers = |list: &[Shown<f64>]| -> Vec<Vec<f64>> { list.iter().map(Shown::numbers).collect() };
        let mut all = ranges(&self.numbers(), &numbers(draws), &numbers(methods), rules).into_iter();
        self.map(&mut |v| all.next().unwrap_or(Range::point(*v)))
    }

    /// Every number with a range of no width.
    pub fn points(&self) -> Shown<Range> {
        self.map(&mut |v| Range::point(*v))
    }
}

impl<T> Shown<T> {
    /// The same with every number replaced, always in the same order.
    fn map<U>(&self, f: &mut impl FnMut(&T) -> U) -> Shown<U> {
        Shown {
            load: f(&self.load),
            sticking_phase: f(&self.sticking_phase),
            residual_nm: f(&self.residual_nm),
            contact_bw: self.contact_bw.iter().map(|(j, v)| (*j, f(v))).collect(),
            moments: self
                .moments
                .iter()
                .map(|m| ShownMoment {
                    axis: m.axis,
                    peak_nm: f(&m.peak_nm),
                    mean_nm: f(&m.mean_nm),
                    peak_phase: f(&m.peak_phase),
                })
                .collect(),
            heads: self
                .heads
                .iter()
                .map(|h| {
                    h.as_ref().map(|h| ShownHead {
                        length_min: f(&h.length_min),
                        length_max: f(&h.length_max),
                        change_m: f(&h.change_m),
                        change_by_joint_m: h.change_by_joint_m.iter().map(|(j, v)| (*j, f(v))).collect(),
                        opposition: f(&h.opposition),
                        long_share: f(&h.long_share),
                        activation: f(&h.activation),
                        force_n: f(&h.force_n),
                    })
                })
                .collect(),
        }
    }
}
