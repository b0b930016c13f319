//! Ranges: the same movement in many bodies and anatomies, under other criteria and contacts.

use crate::lengths::{HeadLengths, all_lengths};
use crate::measure::{Solved, share_by, solve};
use crate::rules::Rules;
use crate::shown::{Lifted, Shown};
use anatomy::body::Body;
use anatomy::heads::{AnatomyTables, MuscleModel, Spread, Variation};
use answer::Range;
use mechanics::solve::{Criterion, Memory};
use mechanics::stops::Stops;
use mechanics::system::ContactFreedom;
use movement::posture::SolverMemory;
use movement::rep::Rep;
use numerics::quantile::quantile;
use numerics::sample::Draws;
use units::V3;

/// How wide each source of uncertainty is, relative to its documented spread; 0 switches it off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Widths {
    pub strength: f64,
    pub arms: f64,
    pub anchors: f64,
    pub body: f64,
    /// How exactly the settings are performed.
    pub posture: f64,
    pub criterion: bool,
    pub contact: bool,
}

/// Where a range comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Source {
    Strength,
    Arms,
    Anchors,
    Body,
    Posture,
    Criterion,
    Contact,
}

impl Source {
    /// Sources that are drawn; the other two are a choice among a few methods.
    pub const DRAWN: [Source; 5] = [Source::Strength, Source::Arms, Source::Anchors, Source::Body, Source::Posture];

    pub fn id(self) -> &'static str {
        match self {
            Source::Strength => "strength",
            Source::Arms => "arms",
            Source::Anchors => "anchors",
            Source::Body => "body",
            Source::Posture => "posture",
            Source::Criterion => "criterion",
            Source::Contact => "contact",
        }
    }

    /// In a coach's words.
    pub fn words(self) -> &'static str {
        match self {
            Source::Strength => "how strong each head is",
            Source::Arms => "its lever arms",
            Source::Anchors => "the length at which it is strongest",
            Source::Body => "the body's proportions",
            Source::Posture => "how exactly the lift is performed",
            Source::Criterion => "how muscles share a load",
            Source::Contact => "what feet and hands do against the floor and the bar",
        }
    }
}

impl Default for Widths {
    fn default() -> Self {
        Widths { strength: 1.0, arms: 1.0, anchors: 1.0, body: 1.0, posture: 1.0, criterion: true, contact: true }
    }
}

impl Widths {
    /// Nothing is uncertain: every range collapses to the mid.
    pub const NONE: Widths =
        Widths { strength: 0.0, arms: 0.0, anchors: 0.0, body: 0.0, posture: 0.0, criterion: false, contact: false };

    /// One source at its full width, the others off.
    pub fn only(source: Source) -> Widths {
        let mut w = Widths::NONE;
        match source {
            Source::Strength => w.strength = 1.0,
            Source::Arms => w.arms = 1.0,
            Source::Anchors => w.anchors = 1.0,
            Source::Body => w.body = 1.0,
            Source::Posture => w.posture = 1.0,
            Source::Criterion => w.criterion = true,
            Source::Contact => w.contact = true,
        }
        w
    }
}

/// First dimension of the draws that describes the body; those before it describe the muscles.
const PER_HEAD: u32 = 9;

/// Variation of the muscle tables in one draw. Dimensions: blend, then per head strength, arm x, y, z, hinge,
/// anchor, girdle x, y, z.
pub fn variation(spreads: &[Spread], draws: &Draws, draw: u32, w: &Widths) -> Variation {
    let mut v = Variation::none();
    let uniform = |d: u32| 2.0 * draws.uniform(draw, d) - 1.0;
    // Strength A to B evenly; at zero width the mid, B.
    v.trained_blend = 1.0 - w.strength.min(1.0) * draws.uniform(draw, 0);
    for (h, s) in spreads.iter().enumerate() {
        let d = 1 + h as u32 * PER_HEAD;
        v.strength_factor.push((draws.normal(draw, d) * s.strength_sd * w.strength).exp());
        let box_of =
            |k: u32, half: f64| V3::new(uniform(d + k), uniform(d + k + 1), uniform(d + k + 2)) * (half * w.arms);
        v.arm_offset_m.push(box_of(1, s.arm_half_width_m));
        v.hinge_arm_factor.push((1.0 + draws.normal(draw, d + 4) * s.hinge_arm_sd * w.arms).max(0.4));
        v.anchor_offset.push(draws.normal(draw, d + 5) * s.anchor_sd * w.anchors);
        v.girdle_arm_offset_m.push(box_of(6, s.girdle_arm_half_width_m));
    }
    v
}

/// First dimension of a draw that is free for the body.
pub fn body_dimension(heads: usize) -> u32 {
    1 + heads as u32 * PER_HEAD
}

/// Everything a solve needs beside the movement.
pub struct Bench<'a> {
    pub tables: &'a AnatomyTables,
    pub spreads: &'a [Spread],
    pub stops: &'a Stops,
    pub rules: &'a Rules,
}

/// Memory of one thread.
#[derive(Default)]
pub struct Scratch {
    pub posture: SolverMemory,
    pub mechanics: Memory,
}

/// One draw, solved.
pub struct Drawn {
    pub solved: Solved,
    pub model: MuscleModel,
}

/// Solve one draw: posture, paths, capacity and sharing anew.
pub fn draw(bench: &Bench, rep: &Rep, body: &Body, variation: &Variation, scratch: &mut Scratch) -> Drawn {
    let model = MuscleModel::new(bench.tables, body, variation);
    let solved = solve(
        rep,
        body,
        &model,
        bench.stops,
        bench.rules,
        Criterion::Cubic,
        ContactFreedom::Usual,
        &mut scratch.mechanics,
    );
    Drawn { solved, model }
}

impl Drawn {
    /// The other numbers of the answer in this draw, moments in the directions of `like`.
    pub fn shown(&self, bench: &Bench, rep: &Rep, body: &Body, like: &Shown<f64>) -> Shown<f64> {
        let s = &self.solved;
        let lengths = all_lengths(&bench.tables.heads, &s.prepared.frames);
        shown(rep, body, &self.model, s, &lengths, Some(like))
    }
}

/// The other numbers of a solved rep.
pub fn shown(
    rep: &Rep,
    body: &Body,
    model: &MuscleModel,
    s: &Solved,
    lengths: &[Option<HeadLengths>],
    like: Option<&Shown<f64>>,
) -> Shown<f64> {
    let lifted = Lifted { rep, body, model, prepared: &s.prepared, load: &s.load, lengths };
    Shown::of(&lifted, &s.shares, &s.raw, &s.raw_long, like)
}

/// The mid under another method.
pub struct Otherwise {
    pub source: Source,
    /// Raw stimulus per head.
    pub raw: Vec<f64>,
    pub shown: Shown<f64>,
}

/// The mid under the other criteria and contact freedoms; `like` holds its numbers under the main ones.
pub fn method_spread(
    bench: &Bench,
    rep: &Rep,
    body: &Body,
    model: &MuscleModel,
    mid: &Solved,
    lengths: &[Option<HeadLengths>],
    like: &Shown<f64>,
    widths: &Widths,
    memory: &mut Memory,
) -> Vec<Otherwise> {
    let mut out = Vec::new();
    if widths.criterion {
        let lifted = Lifted { rep, body, model, prepared: &mid.prepared, load: &mid.load, lengths };
        for c in [Criterion::Quadratic, Criterion::VolumeQuadratic, Criterion::MinMax] {
            let s = share_by(&mid.prepared, &mid.load, c, model, bench.rules, memory);
            let shown = Shown::of(&lifted, &s.shares, &s.raw, &s.raw_long, Some(like));
            out.push(Otherwise { source: Source::Criterion, raw: s.raw, shown });
        }
    }
    if widths.contact && rep.frames.iter().any(|f| f.free.iter().any(|c| c.contact_choice)) {
        for freedom in [ContactFreedom::Fixed, ContactFreedom::Wide] {
            let s = solve(rep, body, model, bench.stops, bench.rules, Criterion::Cubic, freedom, memory);
            let shown = shown(rep, body, model, &s, lengths, Some(like));
            out.push(Otherwise { source: Source::Contact, raw: s.raw, shown });
        }
    }
    out
}

/// Range of each number, such as the heads' stimuli: quantiles of the draws, widened to the values under other methods.
///
/// `draws[i][h]` and `methods[k][h]` of stimuli are already relative to the head's reference and capped.
pub fn ranges(mid: &[f64], draws: &[Vec<f64>], methods: &[Vec<f64>], rules: &Rules) -> Vec<Range> {
    let mut scratch = Vec::new();
    let mut values = Vec::new();
    mid.iter()
        .enumerate()
        .map(|(h, &m)| {
            values.clear();
            // In a draw in which a joint is supported after all a number may be missing.
            values.extend(draws.iter().filter_map(|d| d.get(h)));
            let q = |q: f64, s: &mut Vec<f64>| quantile(&values, s, q).unwrap_or(m);
            let (mut low, mut high) = (q(rules.range_low, &mut scratch), q(rules.range_high, &mut scratch));
            for v in methods.iter().filter_map(|k| k.get(h)) {
                low = low.min(*v);
                high = high.max(*v);
            }
            Range { low: low.min(m), mid: m, high: high.max(m) }
        })
        .collect()
}
