//! Is a solved movement one that a person can do? Joint ranges, balance, required places, feet that stay, nothing
//! through the floor or a bench. The mechanics would put numbers on an impossible posture without complaint.

use crate::build::Plan;
use crate::posture::Angle;
use crate::ranges::Ranges;
use crate::rep::{Pace, Rep, RepFrame};
use crate::scene::points;
use crate::things::Anchor;
use anatomy::body::Body;
use anatomy::skeleton::{Segment, Side};
use answer::Thing;
use std::collections::BTreeMap;
use units::{GRAVITY_M_S2, V3, deg};

/// Required places are met within this, m.
pub const PLACE_LIMIT_M: f64 = 0.010;
/// Required angles are met within this, rad (5 degrees).
pub const ANGLE_LIMIT_RAD: f64 = 5.0 * std::f64::consts::PI / 180.0;
/// Allowance beyond the training range, rad (4 degrees): the ranges are round figures.
pub const RANGE_SLACK_RAD: f64 = 4.0 * std::f64::consts::PI / 180.0;
/// No point of the body lies deeper than this below the floor, m.
pub const FLOOR_LIMIT_M: f64 = 0.005;
/// A foot that carries does not slide further than this over the rep, m.
pub const SLIDE_LIMIT_M: f64 = 0.015;
/// A free weight above two standing feet stays in a band this wide, m (vertical within ± 5 cm).
pub const PATH_LIMIT_M: f64 = 0.10;

/// A sole that carries is no further than this above what it stands on, m (heels raised on their balls excepted by the
/// place of the pressure).
pub const FLOAT_LIMIT_M: f64 = 0.06;
/// The middle line of a thigh or shank is no nearer to the middle of a bar than this, m: half a bar and a little bone (own
/// estimate; a bar drawn up along the shins comes to 25 mm).
pub const BAR_LIMIT_M: f64 = 0.02;

/// What kind of rule a finding breaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum What {
    JointRange,
    RequiredPlace,
    RequiredAngle,
    Balance,
    LoadPath,
    FootSlides,
    ThroughFloor,
    ThroughBench,
    FootFloats,
    BarThroughBody,
    NotFinite,
}

/// One broken rule at its worst phase.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    pub what: What,
    /// How far beyond what is allowed, m or rad.
    pub size: f64,
    /// 0 = start, 1 = turn.
    pub phase: f64,
    /// Axis, requirement or named point it is about; empty where it is about the whole.
    pub name: String,
    pub text: String,
}

/// Keeps the worst finding of each rule and name.
#[derive(Default)]
struct Worst(Vec<(String, Finding)>);

impl Worst {
    fn add(&mut self, what: What, name: &str, size: f64, phase: f64, text: impl FnOnce() -> String) {
        match self.0.iter_mut().find(|(n, f)| n == name && f.what == what) {
            Some((_, f)) if f.size >= size => {}
            Some((_, f)) => *f = Finding { what, size, phase, name: name.into(), text: text() },
            None => self.0.push((name.into(), Finding { what, size, phase, name: name.into(), text: text() })),
        }
    }
}

/// Every rule that a rep breaks, each at its worst phase; empty when the movement is sound.
pub fn check(plan: &Plan, rep: &Rep, body: &Body, ranges: &Ranges) -> Vec<Finding> {
    let mut out = Worst::default();
    for f in &rep.frames {
        angles(rep, f, ranges, &mut out);
        if !(f.miss_m.is_finite() && f.miss_rad.is_finite()) {
            out.add(What::NotFinite, "miss", f64::INFINITY, f.phase, || "the posture is not a number".into());
            continue;
        }
        let named = |i: usize| plan.problem.required.get(i).map_or("", |q| q.name.as_str());
        if f.miss_m > PLACE_LIMIT_M {
            let name = named(f.miss_m_of);
            out.add(What::RequiredPlace, name, f.miss_m - PLACE_LIMIT_M, f.phase, || {
                format!("out of reach: {name} is missed by {:.0} mm", f.miss_m * 1e3)
            });
        }
        if f.miss_rad > ANGLE_LIMIT_RAD {
            let name = named(f.miss_rad_of);
            out.add(What::RequiredAngle, name, f.miss_rad - ANGLE_LIMIT_RAD, f.phase, || {
                format!("{name} cannot be had together with the rest: missed by {:.0} degrees", deg(f.miss_rad))
            });
        }
        places(plan, f, body, &mut out);
        let sides: &[Side] = if rep.symmetric { &[Side::Right] } else { &Side::BOTH };
        feet_on_ground(plan, f, body, sides, &mut out);
        bar_clear_of_body(plan, f, body, sides, &mut out);
        balance(plan, f, body, &mut out);
    }
    feet_stay(rep, &mut out);
    load_path(rep, &mut out);
    out.0.into_iter().map(|(_, f)| f).collect()
}

fn angles(rep: &Rep, f: &RepFrame, ranges: &Ranges, out: &mut Worst) {
    let sides: &[Side] = if rep.symmetric { &[Side::Right] } else { &Side::BOTH };
    for (axis, range) in &ranges.0 {
        for &side in sides {
            let Some(angle) = Angle::from_axis(axis, side) else { continue };
            let v = angle.read(&f.posture);
            let beyond = (range.training_low_rad - v).max(v - range.training_high_rad) - RANGE_SLACK_RAD;
            if beyond > 0.0 || !v.is_finite() {
                let (low, high) = (deg(range.training_low_rad), deg(range.training_high_rad));
                out.add(What::JointRange, axis, beyond, f.phase, || {
                    format!("{axis} is {:.0} degrees, a trained person reaches {low:.0} to {high:.0}", deg(v))
                });
            }
        }
    }
}

/// Floor and benches that stand still.
fn places(plan: &Plan, f: &RepFrame, body: &Body, out: &mut Worst) {
    let all = points(f, body);
    for (name, p) in &all {
        let below = -p[1] - FLOOR_LIMIT_M;
        // The toes bend: a foot on its ball is drawn with a stiff toe that dips below the floor.
        let toe_bends = name.starts_with("toe-") && {
            let at = |part: &str| all.get(&name.replace("toe", part)).map_or(0.0, |q| q[1]);
            at("heel") > p[1] + 0.02 && at("ball") > -FLOOR_LIMIT_M
        };
        if below > 0.0 && !toe_bends {
            out.add(What::ThroughFloor, name, below, f.phase, || {
                format!("{name} is {:.0} mm below the floor", -p[1] * 1e3)
            });
        }
    }
    for t in plan.things.iter().filter(|t| t.anchor == Anchor::World) {
        let Some(Thing::Board { from, to, thickness_m, width_m }) = t.draw(f.phase, &f.figure, body) else { continue };
        let (a, b) = (V3::from(from), V3::from(to));
        let along = b - a;
        let length2 = along.norm_squared().max(1e-9);
        for (name, p) in &all {
            let p = V3::from(*p);
            let u = (p - a).dot(&along) / length2;
            let mut off = p - a - along * u;
            let across = off.z.abs();
            off.z = 0.0;
            let inside = 0.5 * thickness_m - off.norm();
            if (0.0..=1.0).contains(&u) && across < 0.5 * width_m && inside > 0.0 {
                out.add(What::ThroughBench, name, inside, f.phase, || format!("{name} is inside a bench"));
            }
        }
    }
}

/// Standing on the feet alone: the common centre of mass lies over them.
fn balance(plan: &Plan, f: &RepFrame, body: &Body, out: &mut Worst) {
    // What pulls sideways tips the body by its size, which only a lift balanced for a load knows.
    let known = plan.balance_load_kg();
    if !stands_on_feet(f) || (known.is_none() && !free_weights(f)) {
        return;
    }
    let load = known.unwrap_or(0.0);
    let (mut mass, mut moment) = (0.0, V3::zeros());
    for s in Segment::ALL {
        let i = &body.inertia[s.index()];
        mass += i.mass_kg;
        moment += f.figure.at(s, &i.com_m) * i.mass_kg;
    }
    // A pull (fx, fy, fz) at (x, y, z) tips the body over the floor as a weight would at the place where it counts.
    for l in &f.forces {
        let pull = (l.constant_n + l.per_load_n * load) / GRAVITY_M_S2;
        mass -= pull.y;
        moment += V3::new(pull.x * l.at_m.y - pull.y * l.at_m.x, 0.0, pull.z * l.at_m.y - pull.y * l.at_m.z);
    }
    let com = moment / mass;
    for (k, name) in [(0, "forward or back"), (2, "to the side")] {
        let low = f.carriers.iter().fold(f64::INFINITY, |m, c| m.min(c.at_m[k]));
        let high = f.carriers.iter().fold(f64::NEG_INFINITY, |m, c| m.max(c.at_m[k]));
        let beyond = (low - com[k]).max(com[k] - high) - 0.01;
        if beyond > 0.0 {
            out.add(What::Balance, name, beyond, f.phase, || {
                format!("the centre of mass is {:.0} mm beyond the feet, {name}", (beyond + 0.01) * 1e3)
            });
        }
    }
}

fn free_weights(f: &RepFrame) -> bool {
    f.forces.iter().all(|l| l.mass_per_load_kg > 0.0)
}

fn stands_on_feet(f: &RepFrame) -> bool {
    !f.carriers.is_empty()
        && f.carriers.iter().all(|c| matches!(c.on, Segment::Foot(_)))
        && f.carriers.iter().any(|c| c.push_only && c.direction.y > 0.95)
}

fn feet_stay(rep: &Rep, out: &mut Worst) {
    // Place of each component where it first carries: a support may begin or end during the rep.
    let mut first: BTreeMap<(usize, usize), V3> = BTreeMap::new();
    for f in &rep.frames {
        let mut seen: BTreeMap<usize, usize> = BTreeMap::new();
        for c in &f.carriers {
            let nth = seen.entry(c.contact).and_modify(|n| *n += 1).or_insert(0);
            let moved = (*first.entry((c.contact, *nth)).or_insert(c.at_m) - c.at_m).norm();
            if matches!(c.on, Segment::Foot(_)) && moved > SLIDE_LIMIT_M {
                out.add(What::FootSlides, "", moved - SLIDE_LIMIT_M, f.phase, || {
                    format!("a foot that carries moves {:.0} mm", moved * 1e3)
                });
            }
        }
    }
}

/// A bar over standing feet goes straight up and down.
fn load_path(rep: &Rep, out: &mut Worst) {
    let both_feet = |s: Side| rep.frames.iter().all(|f| f.carriers.iter().any(|c| c.on == Segment::Foot(s)));
    // A thrown weight flies where it is thrown.
    if rep.pace == Pace::Thrown
        || !rep.symmetric
        || !both_feet(Side::Right)
        || !rep.frames.iter().all(stands_on_feet)
        || !rep.frames.iter().all(free_weights)
    {
        return;
    }
    let mean_x = |f: &RepFrame| {
        let n = f.forces.len().max(1) as f64;
        f.forces.iter().map(|l| l.at_m.x).sum::<f64>() / n
    };
    // A weight hung at the hips or held still on the trunk by balance is judged by balance.
    let on_bar = |f: &RepFrame| !f.forces.is_empty() && f.forces.iter().all(|l| matches!(l.on, Segment::Hand(_)));
    if !rep.frames.iter().all(on_bar) {
        return;
    }
    let low = rep.frames.iter().map(mean_x).fold(f64::INFINITY, f64::min);
    let high = rep.frames.iter().map(mean_x).fold(f64::NEG_INFINITY, f64::max);
    if high - low > PATH_LIMIT_M {
        out.add(What::LoadPath, "", high - low - PATH_LIMIT_M, 0.0, || {
            format!("the load wanders {:.0} mm forward and back", (high - low) * 1e3)
        });
    }
}

/// A standing foot that carries stands on something: the floor, a block, a board.
fn feet_on_ground(plan: &Plan, f: &RepFrame, body: &Body, sides: &[Side], out: &mut Worst) {
    let all = points(f, body);
    for c in &f.carriers {
        let Segment::Foot(side) = c.on else { continue };
        let word = if side == Side::Right { "right" } else { "left" };
        let sole = |part: &str| all.get(&format!("{part}-{word}")).map_or(f64::INFINITY, |p| p[1]);
        let lowest_m = sole("heel").min(sole("ball")).min(sole("toe"));
        if !sides.contains(&side) || !c.push_only || c.direction.y < 0.95 || lowest_m < FLOAT_LIMIT_M {
            continue;
        }
        let under = |t: &crate::things::ThingPlan| {
            let (x, y) = (c.at_m.x, c.at_m.y);
            match t.draw(f.phase, &f.figure, body) {
                Some(Thing::Block { at, half_length_m, height_m, .. }) => {
                    (x - at[0]).abs() < half_length_m + 0.15 && (y - at[1] - height_m).abs() < FLOAT_LIMIT_M
                }
                Some(Thing::Board { from, to, thickness_m, .. }) => near_line(from, to, x, y) < thickness_m + 0.05,
                Some(Thing::Slab { from, to }) => near_line(from, to, x, y) < 0.08,
                Some(Thing::Pad { at, radius_m }) => (x - at[0]).hypot(y - at[1]) < radius_m + 0.08,
                _ => false,
            }
        };
        if !plan.things.iter().any(under) {
            out.add(What::FootFloats, &format!("ball-{word}"), lowest_m, f.phase, || {
                format!("a foot that carries floats {:.0} mm above the floor with nothing under it", lowest_m * 1e3)
            });
        }
    }
}

/// Distance in the picture from the side of (x, y) from a line piece, m.
fn near_line(from: [f64; 3], to: [f64; 3], x: f64, y: f64) -> f64 {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let u = (((x - from[0]) * dx + (y - from[1]) * dy) / (dx * dx + dy * dy).max(1e-9)).clamp(0.0, 1.0);
    (x - from[0] - u * dx).hypot(y - from[1] - u * dy)
}

/// A long bar across the body passes outside thighs, shanks and trunk.
fn bar_clear_of_body(plan: &Plan, f: &RepFrame, body: &Body, sides: &[Side], out: &mut Worst) {
    let all = points(f, body);
    for t in &plan.things {
        let Some(Thing::Bar { at, half_length_m, .. }) = t.draw(f.phase, &f.figure, body) else { continue };
        for (a, b, words) in [("hip", "knee", "thigh"), ("knee", "ankle", "shank")] {
            for side in sides.iter().map(|s| if *s == Side::Right { "right" } else { "left" }) {
                let (Some(p), Some(q)) = (all.get(&format!("{a}-{side}")), all.get(&format!("{b}-{side}"))) else {
                    continue;
                };
                if (p[2] - at[2]).abs() > half_length_m || (q[2] - at[2]).abs() > half_length_m {
                    continue;
                }
                let off = near_line(*p, *q, at[0], at[1]);
                if off < BAR_LIMIT_M {
                    out.add(What::BarThroughBody, &format!("{b}-{side}"), BAR_LIMIT_M - off, f.phase, || {
                        format!("the bar passes through the {words}: {:.0} mm from its middle", off * 1e3)
                    });
                }
            }
        }
    }
}
