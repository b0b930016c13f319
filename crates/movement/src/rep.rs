//! The rep: the one type that joins planned and recorded movement. Everything after it asks no more where it came from.

use anatomy::skeleton::{Figure, Joint, Posture, Segment, Side};
use units::V3;

/// A force on a segment: constant part, and part per unit of the movement's load.
#[derive(Clone, Debug)]
pub struct AppliedForce {
    pub on: Segment,
    pub at_m: V3,
    /// N.
    pub constant_n: V3,
    /// N per unit of load.
    pub per_load_n: V3,
    /// Moving mass per unit of load, kg: free weights have inertia, cables and pads do not here.
    pub mass_per_load_kg: f64,
}

/// One component that a support can carry: a unit force at a point. `contact` groups the components of one support.
#[derive(Clone, Debug)]
pub struct Carrier {
    pub contact: usize,
    pub on: Segment,
    pub at_m: V3,
    pub direction: V3,
    /// Push only (normal force of a floor, bench or pad).
    pub push_only: bool,
    /// Cost of using it when equilibrium leaves a choice; larger is used less.
    pub reluctance: f64,
}

/// Bounds of a free component.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FreeSpan {
    /// Usual value and half width as ratios of the contact's normal force.
    OfNormal { contact: usize, usual: f64, half: f64 },
    /// Usual value and half width as ratios of the force of the load on the hand, N per unit load and constant.
    OfLoad { usual: f64, half: f64, constant_n: f64, per_load_n: f64 },
    /// Fixed bounds, N or N·m.
    Absolute { low: f64, high: f64 },
}

/// What a free component does.
#[derive(Clone, Debug)]
pub enum FreeAction {
    /// Unit forces and unit moments on segments.
    Wrenches(Vec<(Segment, V3, V3, V3)>),
    /// A unit moment about a world axis acting on everything beyond a joint (passive stop, axial slack).
    JointTorque { joint: Joint, side: Side, axis: V3 },
}

/// A component that equilibrium leaves undetermined: an unknown of the load sharing.
#[derive(Clone, Debug)]
pub struct Free {
    /// Short name shown to the coach ("feet push apart").
    pub tag: &'static str,
    pub action: FreeAction,
    pub span: FreeSpan,
    /// Cost of its square, small.
    pub cost: f64,
    /// Other supports take the opposite force.
    pub rebalance: bool,
    /// Part of the contact uncertainty (fixed to free) rather than of the joint's own passive parts.
    pub contact_choice: bool,
}

/// One frame of the lifting phase.
#[derive(Clone, Debug)]
pub struct RepFrame {
    /// 0 = start, 1 = turn, as in the family file.
    pub phase: f64,
    pub posture: Posture,
    pub figure: Figure,
    pub forces: Vec<AppliedForce>,
    pub carriers: Vec<Carrier>,
    pub free: Vec<Free>,
    /// Largest miss of a required place, m, and angle, rad, each with the index of the requirement in the plan.
    pub miss_m: f64,
    pub miss_m_of: usize,
    pub miss_rad: f64,
    pub miss_rad_of: usize,
}

/// Meaning of the load number.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadMeaning {
    /// "kg on the bar", "kg in each hand", "x body weight" …
    pub unit: String,
    /// True: the load multiplies the body's own weight; false: it is kilograms.
    pub body_weight: bool,
    /// Largest load tried.
    pub cap: f64,
}

/// How a lift goes through its time.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Pace {
    /// From rest to rest.
    #[default]
    Rests,
    /// From rest, sped up evenly to its last frame: a jump, a throw.
    Thrown,
    /// At one speed: pedalling.
    Steady,
}

/// A rep of one movement in one body.
#[derive(Clone, Debug)]
pub struct Rep {
    pub movement: String,
    /// Frames along the lift: first = where the muscles start to shorten the load's way up.
    pub frames: Vec<RepFrame>,
    pub symmetric: bool,
    /// Seconds of the lift.
    pub lift_s: f64,
    pub pace: Pace,
    /// Joints whose muscles balance the load; the others are supported.
    pub balanced: Vec<Joint>,
    pub load: LoadMeaning,
    /// Words for the first and last frame of the lift.
    pub from_word: String,
    pub to_word: String,
    pub notes: Vec<String>,
}
