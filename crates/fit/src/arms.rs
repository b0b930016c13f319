//! The fit of paths to lever arms, lines of action and one-sided facts, and its hold-out.
//!
//! Per unit the sum of squares of
//! * (arm − published)/scatter, under the loss c²·ln(1 + e²/c²) (Cauchy loss, e.g. Huber & Ronchetti 2009):
//!   published rows contradict each other by more than their scatter, and a far one shall not win;
//! * (direction of pull − published)/0.3 per component;
//! * violations of one-sided facts over their scale;
//! * points inside obstacles, over a grid of postures;
//! * √λ times the unknown: the pull back to the landmark.
//!
//! Before that, one shift and turn per bone is fitted to all units at once ([`crate::skeleton_shift`]).
//!
//! **Hold-out.** The pairs (unit, axis) stand in alphabetical order and are dealt into [`FOLDS`] folds, every fourth
//! into the same. For each fold bones and units are fitted without its pairs, and without the one-sided facts of the
//! same pairs: every published row is predicted once by a fit that saw nothing of its motion.

use crate::sheet::{Problem, Sheet};
use crate::skeleton_shift::{Shift, UNKNOWNS};
use crate::solve;
use crate::targets::{Arm, Asked, Line, OneSided, Targets};
use crate::unit::{Fitted, Unit, everything, only, shares};
use anatomy::body::Body;
use anatomy::heads::{AnatomyTables, Head, HeadMask, MuscleFrame, MuscleModel, Variation, range_postures};
use anatomy::skeleton::{Limbs, Posture, Side, SidePosture, hip_matrix};
use std::collections::BTreeSet;
use units::{V3, rad};

pub const FOLDS: usize = 4;
/// Pull back to the start, per unknown at its bound. Smaller values bring more rows inside their scatter and fewer of
/// the motions left out. Twelve settings of these four numbers were tried: 1 gave 79 and 58 %, 0.1 gave 82 and 53 %
/// (486 rows). Motions that were measured are what lifts use, so the shipped paths follow the rows; what is not measured
/// keeps the share of the motions left out.
const LAMBDA: f64 = 0.1;
/// The same for the shared movement of the bones.
const BONE_LAMBDA: f64 = 3.0;
/// Scatter beyond which a published row loses its force, in standard deviations.
const ROBUST: f64 = 1.5;
/// Standard deviation of a component of a line of action (own estimate: 0.3 is 17°).
const LINE_SD: f64 = 0.3;
/// Least distance of a point from the obstacle beside it, mm.
const CLEARANCE_MM: f64 = 1.0;
/// Further starting places of the search.
const STARTS: u32 = 3;

/// Lever arms of the targets under some tables: what the model says.
#[derive(Clone, Debug)]
pub struct Said {
    /// Per arm target, mm. NaN where the tables have no such head.
    pub arms_mm: Vec<f64>,
    /// Angle to the published line of action, degrees.
    pub line_errors_deg: Vec<f64>,
    /// Worst violation of one-sided targets, mm.
    pub violations_mm: Vec<f64>,
}

/// Heads of a model with their names, and room for their states.
struct Speaker<'a> {
    heads: &'a [Head],
    model: &'a MuscleModel,
    frame: MuscleFrame,
}

impl<'a> Speaker<'a> {
    fn new(heads: &'a [Head], model: &'a MuscleModel) -> Speaker<'a> {
        Speaker { heads, model, frame: model.frame() }
    }

    /// Arms of heads that pull as one, mm, in each posture.
    fn arms_mm(&mut self, asked: &Asked, shares: &[(usize, f64)]) -> Vec<f64> {
        let mut wanted = HeadMask::none();
        shares.iter().for_each(|s| wanted.insert(s.0));
        let mut arms = Vec::with_capacity(asked.places.len());
        for place in &asked.places {
            self.model.evaluate(&place.side, wanted, &mut self.frame);
            arms.push(shares.iter().map(|&(i, w)| w * asked.arm_mm(place, &self.frame.heads[i])).sum());
        }
        arms
    }

    fn arm_mm(&mut self, arm: &Arm, shares: &[(usize, f64)]) -> f64 {
        let arms = self.arms_mm(&arm.asked, shares);
        arm.statistic.of(&arms)
    }

    fn line(&mut self, line: &Line, head: usize) -> V3 {
        let mut wanted = HeadMask::none();
        wanted.insert(head);
        self.model.evaluate(&line.asked.places[0].side, wanted, &mut self.frame);
        line.direction_of(&self.frame.heads[head])
    }

    fn shares(&self, asked: &Asked) -> Option<Vec<(usize, f64)>> {
        shares(self.heads, &asked.heads)
    }
}

/// What tables say about the targets.
pub fn said(tables: &AnatomyTables, body: &Body, targets: &Targets) -> Said {
    let heads = everything(tables);
    let model = MuscleModel::new(&only(tables, heads.clone()), body, &Variation::none());
    let mut speaker = Speaker::new(&heads, &model);
    let mut out = Said { arms_mm: Vec::new(), line_errors_deg: Vec::new(), violations_mm: Vec::new() };
    for a in &targets.arms {
        out.arms_mm.push(speaker.shares(&a.asked).map_or(f64::NAN, |s| speaker.arm_mm(a, &s)));
    }
    for l in &targets.lines {
        out.line_errors_deg.push(speaker.shares(&l.asked).map_or(f64::NAN, |s| {
            let got = speaker.line(l, s[0].0);
            let want = l.published(&got);
            (got.dot(&want) / want.norm()).clamp(-1.0, 1.0).acos().to_degrees()
        }));
    }
    for o in &targets.one_sided {
        out.violations_mm.push(speaker.shares(&o.asked).map_or(f64::NAN, |s| {
            speaker.arms_mm(&o.asked, &s).into_iter().map(|a| o.violation_mm(a)).fold(0.0, f64::max)
        }));
    }
    out
}

/// A target with the places of its heads in the unit.
type Seen<'t, T> = (&'t T, Vec<(usize, f64)>);

/// Targets of one unit.
struct Own<'t> {
    arms: Vec<Seen<'t, Arm>>,
    lines: Vec<Seen<'t, Line>>,
    one_sided: Vec<Seen<'t, OneSided>>,
}

impl<'t> Own<'t> {
    /// What a unit may see: nothing about the axes left out.
    fn new(targets: &'t Targets, unit: &Unit, out: &BTreeSet<Pair>) -> Own<'t> {
        let name = unit.name();
        let seen = |asked: &Asked| {
            let kept = !out.contains(&(name.clone(), asked.axis_name.clone()));
            if kept && (asked.by_path() || asked.axis_name == "line") { unit.shares(&asked.heads) } else { None }
        };
        let arms = targets.arms.iter().filter(|a| a.superseded.is_none());
        Own {
            arms: arms.filter_map(|a| seen(&a.asked).map(|s| (a, s))).collect(),
            lines: targets.lines.iter().filter(|l| l.used).filter_map(|l| seen(&l.asked).map(|s| (l, s))).collect(),
            one_sided: targets.one_sided.iter().filter_map(|o| seen(&o.asked).map(|s| (o, s))).collect(),
        }
    }

    fn is_empty(&self) -> bool {
        self.arms.is_empty() && self.lines.is_empty() && self.one_sided.is_empty()
    }
}

/// Postures in which path points must stay outside their obstacles.
fn clearance_grid(body: &Body) -> [Vec<SidePosture>; 2] {
    let shoulder = range_postures(body).into_iter().step_by(2).collect();
    let mut hip = Vec::new();
    for flexion in [-20.0, 0.0, 45.0, 90.0, 120.0] {
        for abduction in [-15.0, 0.0, 40.0] {
            for rotation in [-30.0, 30.0] {
                let hip_m = hip_matrix(rad(flexion), rad(abduction), rad(rotation));
                let right = Limbs { hip: hip_m, ..Limbs::default() };
                hip.push(SidePosture::new(body, &Posture { right, ..Posture::default() }, Side::Right));
            }
        }
    }
    [hip, shoulder]
}

/// Residuals of one unit; the pull back to the start is not among them.
fn push_residuals(r: &mut Vec<f64>, heads: &[Head], model: &MuscleModel, own: &Own, grid: &[SidePosture]) {
    let mut speaker = Speaker::new(heads, model);
    for (a, shares) in &own.arms {
        r.push(solve::robust((speaker.arm_mm(a, shares) - a.value_mm) / a.sd_mm, ROBUST));
    }
    for (l, shares) in &own.lines {
        let got = speaker.line(l, shares[0].0);
        r.extend((got - l.published(&got)).iter().map(|e| e / LINE_SD));
    }
    for (o, shares) in &own.one_sided {
        r.extend(speaker.arms_mm(&o.asked, shares).into_iter().map(|arm| o.violation_mm(arm) / o.scale_mm));
    }
    for p in grid {
        for i in 0..heads.len() {
            r.push((1e3 * model.clearance_m(p, i) - CLEARANCE_MM).min(0.0));
        }
    }
}

fn fit_unit(unit: &mut Unit, own: &Own, body: &Body, grid: &[SidePosture]) -> Vec<f64> {
    let n = unit.unknowns.len();
    if own.is_empty() {
        return vec![0.0; n];
    }
    let mut residuals = |x: &[f64], r: &mut Vec<f64>| {
        r.clear();
        let model = unit.model(body, x);
        push_residuals(r, unit.heads(), &model, own, grid);
        r.extend(x.iter().map(|v| LAMBDA.sqrt() * v));
    };
    solve::minimise_from_many(n, STARTS, &mut residuals).at
}

/// The shared movement of the bones that serves all units best while each stands at its landmarks.
fn fit_bones(units: &[Unit], owns: &[Own], body: &Body) -> Shift {
    let mut residuals = |x: &[f64], r: &mut Vec<f64>| {
        r.clear();
        let shift = Shift(x.to_vec());
        for (unit, own) in units.iter().zip(owns).filter(|(_, own)| !own.is_empty()) {
            let mut moved = unit.moved(&shift);
            let zero = vec![0.0; moved.unknowns.len()];
            let model = moved.model(body, &zero);
            push_residuals(r, moved.heads(), &model, own, &[]);
        }
        r.extend(x.iter().map(|v| BONE_LAMBDA.sqrt() * v));
    };
    Shift(solve::minimise(&[0.0; UNKNOWNS], &mut residuals).at)
}

/// A whole motion: unit and axis.
pub type Pair = (String, String);

/// The motion to which a published row belongs, if a path makes it.
pub fn pair(units: &[Unit], asked: &Asked) -> Option<Pair> {
    let unit = units.iter().find(|u| asked.by_path() && u.shares(&asked.heads).is_some())?;
    Some((unit.name(), asked.axis_name.clone()))
}

/// Motions that rows tell about, in alphabetical order of unit and axis.
pub fn pairs(units: &[Unit], targets: &Targets) -> Vec<Pair> {
    let used = targets.arms.iter().filter(|a| a.superseded.is_none());
    used.filter_map(|a| pair(units, &a.asked)).collect::<BTreeSet<_>>().into_iter().collect()
}

/// The result of a fit.
#[derive(Clone, Debug)]
pub struct Fit {
    /// The units about the starts that the shared movement of the bones has moved.
    pub units: Vec<Unit>,
    /// The shared movement, all targets seen.
    pub shift: Shift,
    /// Values of the unknowns per unit, all targets seen.
    pub values: Vec<Vec<f64>>,
    /// Per arm target, mm: predicted without its motion. NaN for rows whose motion is never fitted.
    pub held_out_mm: Vec<f64>,
    /// The same after the shared movement alone.
    pub bones_held_out_mm: Vec<f64>,
}

/// Fits bones, then every unit, without the pairs of `out`.
fn fit_without(
    units: &[Unit],
    body: &Body,
    targets: &Targets,
    out: &BTreeSet<Pair>,
) -> (Shift, Vec<Unit>, Vec<Vec<f64>>) {
    let grids = clearance_grid(body);
    let owns: Vec<Own> = units.iter().map(|u| Own::new(targets, u, out)).collect();
    let shift = fit_bones(units, &owns, body);
    let mut moved: Vec<Unit> = units.iter().map(|u| u.moved(&shift)).collect();
    let fit = |(u, own): (&mut Unit, &Own)| {
        let grid = &grids[usize::from(u.on_the_arm())];
        fit_unit(u, own, body, grid)
    };
    let values = moved.iter_mut().zip(&owns).map(fit).collect();
    (shift, moved, values)
}

/// Fits every unit, with everything and fold by fold.
pub fn fit(units: &[Unit], body: &Body, targets: &Targets) -> Fit {
    let pairs = pairs(units, targets);
    let mut held_out_mm = vec![f64::NAN; targets.arms.len()];
    let mut bones_held_out_mm = held_out_mm.clone();
    for fold in 0..FOLDS {
        let out: BTreeSet<Pair> = pairs.iter().skip(fold).step_by(FOLDS).cloned().collect();
        let (_, mut moved, values) = fit_without(units, body, targets, &out);
        for (unit, at) in moved.iter_mut().zip(&values) {
            let zero = vec![0.0; at.len()];
            for (to, at) in [(&mut held_out_mm, at), (&mut bones_held_out_mm, &zero)] {
                let model = unit.model(body, at);
                let mut speaker = Speaker::new(unit.heads(), &model);
                for (i, a) in targets.arms.iter().enumerate() {
                    let left_out = out.contains(&(unit.name(), a.asked.axis_name.clone()));
                    if let Some(shares) = unit.shares(&a.asked.heads).filter(|_| left_out) {
                        to[i] = speaker.arm_mm(a, &shares);
                    }
                }
            }
        }
    }
    let (shift, units, values) = fit_without(units, body, targets, &BTreeSet::new());
    Fit { units, shift, values, held_out_mm, bones_held_out_mm }
}

/// Writes a fit into the tables; the log tells every fitted cell.
///
/// # Errors
/// A missing column.
pub fn write(fit: &Fit, paths: &mut Sheet, obstacles: &mut Sheet) -> Result<Vec<(String, Fitted)>, Problem> {
    let mut log = Vec::new();
    for (unit, values) in fit.units.iter().zip(&fit.values) {
        let cells = unit.write(values, paths, obstacles)?;
        log.extend(cells.into_iter().map(|c| (unit.name(), c)));
    }
    Ok(log)
}
