//! The loads at which two lifts are compared.

use anatomy::skeleton::{Segment, Side};
use library::Study;
use stimulus::moments::axis_moments;

/// Words of `held_equal` by which each lift has its own hard load.
const OWN: [&str; 6] = ["relative load", "own hard load", "hard set", "near failure", "effort", "8-12RM training"];

/// Loads of both lifts, each in its movement's unit.
pub struct Loads {
    pub a: f64,
    pub b: f64,
    pub words: String,
}

impl Loads {
    /// The same external load, unless the row says otherwise:
    ///
    /// * the two loads of a row that changes `load_kg`;
    /// * each its own hard load where `held_equal` names a relative load, a number of repetitions or effort;
    /// * body weight where it names that; the same moment where it names the moment of a joint;
    /// * otherwise the same external load: the smaller of the two hard loads, which both can carry. Kilograms in each hand
    ///   count twice, a multiple of body weight counts that many kilograms, and the same stack is the same moment
    ///   about the machine's axis. A sled pressed with the feet is as heavy as bar and body on the feet of the other lift.
    pub fn of(a: &Study, b: &Study, held: &str, given_kg: Option<(f64, f64)>) -> Loads {
        let own = (a.solved.load.load, b.solved.load.load);
        let (x, y, how) = if let Some((x, y)) = given_kg {
            (x / in_all(a), y / in_all(b), "at the two loads")
        } else if OWN.iter().any(|w| held.contains(w)) || held.contains("RM") {
            (own.0, own.1, "each at its own hard load")
        } else if held.contains("body weight") {
            (a.body.mass_kg / in_all(a), b.body.mass_kg / in_all(b), "both at body weight")
        } else if let Some((x, y)) = same_moment(a, b, held) {
            (x, y, "at the same moment")
        } else {
            let stack = held.contains("stack");
            let (unit_a, unit_b) = (unit(a, b, stack, held), unit(b, a, stack, held));
            let (rest_a, rest_b) = (stands(a, b), stands(b, a));
            let each = (own.0 * unit_a + rest_a).min(own.1 * unit_b + rest_b);
            (((each - rest_a) / unit_a).max(0.0), ((each - rest_b) / unit_b).max(0.0), "at the same load")
        };
        let words = format!("{how}: {x:.1} {} and {y:.1} {}", a.rep.load.unit, b.rep.load.unit);
        Loads { a: x, b: y, words }
    }
}

/// Kilograms that one unit of a movement's load amounts to.
pub(super) fn in_all(s: &Study) -> f64 {
    match &s.rep.load {
        l if l.body_weight => s.body.mass_kg,
        _ if hand_held(s) => 2.0,
        _ => 1.0,
    }
}

fn unit(s: &Study, other: &Study, stack: bool, held: &str) -> f64 {
    let legs = if held.contains("per leg") && s.rep.symmetric { 0.5 } else { 1.0 };
    // A stack turns the machine's lever: the further the pad, the smaller its force.
    let lever_m = match s.resolved.settings.get("pad_dist_m") {
        Some(answer::SettingValue::Number(m)) if stack => *m,
        _ => 1.0,
    };
    // Against an arm that works alone, one hand counts.
    let hands = if hand_held(s) && alone(other) { 0.5 } else { 1.0 };
    in_all(s) * hands * legs * lever_m
}

fn hand_held(s: &Study) -> bool {
    s.rep.load.unit.contains("each hand")
}

/// A load that hangs on the right hand alone.
fn alone(s: &Study) -> bool {
    let on = |side: Side| {
        let loads = |f: &movement::rep::RepFrame| {
            f.forces.iter().any(|g| g.on == Segment::Hand(side) && g.per_load_n.norm() > 0.0)
        };
        s.rep.frames.iter().any(loads)
    };
    on(Side::Right) && !on(Side::Left) && !hand_held(s)
}

/// The body of a lift that stands on its feet, kg, where the other lift presses a sled with the feet.
fn stands(s: &Study, other: &Study) -> f64 {
    let presses = |s: &Study| {
        let on_feet = |f: &movement::rep::RepFrame| {
            f.forces.iter().any(|g| matches!(g.on, Segment::Foot(_)) && g.per_load_n.norm() > 0.0)
        };
        s.rep.frames.first().is_some_and(on_feet)
    };
    if !presses(s) && presses(other) { s.body.mass_kg } else { 0.0 }
}

/// Loads at which the largest moment of the joint that `held_equal` names is the same: the smaller one of the hard sets.
fn same_moment(a: &Study, b: &Study, held: &str) -> Option<(f64, f64)> {
    let joint = held.strip_suffix(" moment")?;
    let line = |s: &Study| {
        let own = s.solved.load.load;
        let full = axis_moments(&s.rep, &s.solved.prepared, own);
        let of_joint = full.iter().filter(|m| m.axis.split('.').next() == Some(joint));
        let largest = of_joint.max_by(|p, q| p.mean().total_cmp(&q.mean()))?;
        // The axis may turn round without the load: signs follow the direction at the full load.
        let empty = axis_moments(&s.rep, &s.solved.prepared, 0.0);
        let still = empty.iter().find(|m| m.axis == largest.axis).map(|m| m.mean()).unwrap_or_else(|| {
            let other = stimulus::moments::opposite_axis(largest.axis);
            -empty.iter().find(|m| Some(m.axis) == other.as_deref()).map_or(0.0, |m| m.mean())
        });
        Some((still, largest.mean(), own))
    };
    let ((a0, a1, la), (b0, b1, lb)) = (line(a)?, line(b)?);
    let wanted = a1.min(b1);
    let load = |m0: f64, m1: f64, own: f64| (wanted - m0) / (m1 - m0).max(1e-9) * own;
    Some((load(a0, a1, la), load(b0, b1, lb)))
}
