//! Postures from constraints: damped Gauss–Newton on the joint coordinates that a family lets move.
//!
//! Unknowns are small rotations of ball joints about world axes, hinge angles and the place of the pelvis; ball joints
//! stay matrices, so no anatomical angle can lock. Coordinates that a family states outright are set, not solved.
//! Derivatives are whole: collar bone and blade follow the upper arm, lines of pull turn with their point.

mod angles;
mod motion;
mod rows;
mod solver;

use anatomy::body::Body;
use anatomy::skeleton::{
    Figure, Joint, Posture, SEGMENTS, Segment, Side, figure, hip_angles, hip_matrix, shoulder_angles, shoulder_matrix,
    spine_angles, spine_matrix,
};
pub use angles::{Angle, LeanOf};
use motion::*;
pub use rows::lean_rad;
pub use solver::SolverMemory;
use solver::Way;
use units::{M3, V3, exp_rotation, rad, rot_y, rot_z};

/// A value over the rep, piecewise linear between keys evenly spaced from start (0) to turn (1).
#[derive(Clone, Debug, PartialEq)]
pub struct Curve(pub Vec<f64>);

impl Curve {
    pub fn constant(v: f64) -> Curve {
        Curve(vec![v])
    }
    pub fn at(&self, phase: f64) -> f64 {
        let n = self.0.len();
        if n == 1 {
            return self.0[0];
        }
        let t = phase.clamp(0.0, 1.0) * (n - 1) as f64;
        let i = (t.floor() as usize).min(n - 2);
        self.0[i] + (self.0[i + 1] - self.0[i]) * (t - i as f64)
    }
    pub fn scaled(&self, k: f64) -> Curve {
        Curve(self.0.iter().map(|v| v * k).collect())
    }
    pub fn largest(&self) -> f64 {
        self.0.iter().copied().fold(f64::NEG_INFINITY, f64::max)
    }
    pub fn is_constant(&self) -> bool {
        self.0.iter().all(|v| (v - self.0[0]).abs() < 1e-12)
    }
}

/// One unknown of the solver.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dof {
    Root(usize),
    RootTurn(usize),
    Lumbar(usize),
    Hip(Side, usize),
    Knee(Side),
    TibiaRotation(Side),
    AnklePlantarflexion(Side),
    AnkleInversion(Side),
    Shoulder(Side, usize),
    Elbow(Side),
    Forearm(Side),
    GirdleElevation(Side),
    GirdleProtraction(Side),
}

/// Upper bound on unknowns: both sides of a one-sided movement.
pub const MAX_DOF: usize = 48;

/// A load that does not hang: it pushes or pulls along a line that turns with the posture.
#[derive(Clone, Debug)]
pub struct Pull {
    pub on: Segment,
    pub local_m: V3,
    pub line: PullLine,
    /// Size of the pull, kg.
    pub kg: f64,
}

#[derive(Clone, Debug)]
pub enum PullLine {
    /// Towards a pulley, world, m.
    Towards(V3),
    /// Square to the line from a pivot, in the sense of the axis; a weight on the lever acts with the cosine of its slope.
    Lever { pivot_m: V3, axis: V3, weighs: bool },
    /// A weight at the end of a bar hinged here: its part square to the bar.
    Hinge(V3),
}

impl PullLine {
    /// Force at a place, world, per unit of the load.
    pub fn at(&self, at_m: &V3) -> V3 {
        let unit = |v: V3| v.try_normalize(1e-9).unwrap_or(-V3::y());
        match self {
            PullLine::Towards(to) => unit(to - at_m),
            PullLine::Hinge(pivot_m) => {
                let along = unit(at_m - pivot_m);
                -V3::y() + along * along.y
            }
            PullLine::Lever { pivot_m, axis, weighs } => {
                let lever = unit(at_m - pivot_m);
                unit(axis.cross(&lever)) * if *weighs { lever.x.hypot(lever.z) } else { 1.0 }
            }
        }
    }
}

/// Something set outright in every frame.
#[derive(Clone, Debug)]
pub enum Given {
    Angle(Angle, Curve),
    /// Plane, elevation, internal rotation of a shoulder, radians.
    Shoulder(Side, [Curve; 3]),
    /// Flexion, abduction, internal rotation of a hip, radians.
    Hip(Side, [Curve; 3]),
    /// Pelvis: x, y, z in m, lean forward, lean to the right, turn to the left in rad; `None` = left to the solver.
    Place {
        position: [Option<Curve>; 3],
        turn: Option<[Curve; 3]>,
    },
}

/// A soft requirement.
#[derive(Clone, Debug)]
pub enum Held {
    /// A point of a segment at a place (m), in world axes or in another segment's.
    /// `slope_rad` turns the x and y axes of the place about z.
    Point {
        on: Segment,
        local_m: V3,
        frame: Option<Segment>,
        slope_rad: f64,
        value_m: [Option<Curve>; 3],
    },
    /// Lean from the vertical, forward positive, rad; for the shank in the direction of the toes.
    Lean {
        of: LeanOf,
        value: Curve,
    },
    /// Foot orientation: toes out, heel raised (pitch), rad.
    /// on a surface that rises forward by `slope`.
    Foot {
        side: Side,
        toe_out: Curve,
        pitch: Curve,
        slope: Curve,
    },
    Angle {
        of: Angle,
        value: Curve,
    },
    /// The line of all weights and pulls meets the floor at a world x, m.
    Balance {
        x_m: Curve,
        extra: Vec<(Segment, V3, f64)>,
        pulls: Vec<Pull>,
    },
    /// The elbow lies on this side of the line shoulder–hand; direction in thorax axes.
    Pole {
        side: Side,
        direction: [Curve; 3],
    },
}

/// A soft requirement with its weight (per m for places, per rad for angles) and a name for reports.
#[derive(Clone, Debug)]
pub struct Requirement {
    pub held: Held,
    pub weight: Curve,
    pub name: String,
}

/// All that is needed to find the posture of a phase.
#[derive(Clone, Debug)]
pub struct PostureProblem {
    pub symmetric: bool,
    pub dofs: Vec<Dof>,
    pub given: Vec<Given>,
    pub required: Vec<Requirement>,
    /// Weak pull of an angle towards a comfortable value: (angle, value rad, weight).
    pub comfort: Vec<(Angle, f64, f64)>,
    /// Bounds of hinge unknowns, rad: (dof, low, high).
    pub bounds: Vec<(Dof, f64, f64)>,
}

/// How well a posture meets its requirements.
#[derive(Clone, Copy, Debug, Default)]
pub struct Fit {
    pub iterations: usize,
    /// Largest miss of a place, m, and of an angle, rad, with the index of the requirement.
    pub miss_m: f64,
    pub miss_m_of: usize,
    pub miss_rad: f64,
    pub miss_rad_of: usize,
}

/// A standing start: arms hanging a little off the trunk.
pub fn standing(body: &Body) -> Posture {
    let mut p = Posture::default();
    p.pelvis.origin_m = V3::new(0.0, body.thigh_m + body.shank_m + body.ankle_height_m, 0.0);
    p.right.shoulder = shoulder_matrix(rad(40.0), rad(8.0), 0.0);
    p.right.elbow_flexion_rad = rad(10.0);
    p.right.hip = hip_matrix(rad(5.0), 0.0, 0.0);
    p.right.knee_flexion_rad = rad(8.0);
    p.left = p.right;
    p
}
