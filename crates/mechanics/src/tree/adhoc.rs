//! Small problems stated by hand: a jaw, a knee-cap, one forearm. A few links, a few muscles given by their line or
//! lever, a few loads; solved through the same recursion, the same sharing and the same capacity programme as a whole
//! body.
//!
//! ```
//! use mechanics::tree::{Link, adhoc::{Effort, Line, Load, Muscle, Problem}};
//! use units::V3;
//! // A level forearm with 5 kg at 0.3 m, held by one muscle 0.05 m from the elbow pulling straight up.
//! let problem = Problem {
//!     links: vec![Link::PLANE], angle_rad: vec![0.0], gravity_m_s2: V3::new(0.0, -9.8, 0.0), balanced: vec![0],
//!     loads: vec![Load::Mass { link: 0, point_m: V3::new(0.3, 0.0, 0.0), mass_kg: 5.0 }],
//!     muscles: vec![Muscle { name: "biceps".into(), link: 0, origin_link: None, effort: Effort::UNKNOWN,
//!         line: Line::Along { insertion_m: V3::new(0.05, 0.0, 0.0), direction: V3::y() } }],
//! };
//! let solution = problem.forces().unwrap();
//! assert!((solution.muscle_force_n[0] - 294.0).abs() < 1e-9);
//! assert!((solution.joints[0].force_on_link_n.y + 245.0).abs() < 1e-9); // the upper arm pushes down
//! ```

use super::{Link, PointForce, State, Tree, TreeError, Workspace};
use nalgebra::{DMatrix, DVector};
use numerics::capacity::{Bounds, Capacity};
use numerics::sharing;
use thiserror::Error;
use units::{M3, V3};

/// A load on a link.
#[derive(Debug, Clone, PartialEq)]
pub enum Load {
    /// A point mass fixed to the link: weight, and inertia where the link moves.
    Mass { link: usize, point_m: V3, mass_kg: f64 },
    /// A force in ground axes.
    Force { link: usize, point_m: V3, force_n: V3 },
}

/// The straight line along which a muscle pulls its link.
#[derive(Debug, Clone, PartialEq)]
pub enum Line {
    /// From the insertion (in the link's frame) to the origin (in the frame of the origin's link), m.
    ToPoint { insertion_m: V3, origin_m: V3 },
    /// Through the insertion (in the link's frame, m) along a direction in ground axes, of any length.
    Along { insertion_m: V3, direction: V3 },
    /// At a perpendicular distance from the link's hinge; a positive lever pulls in the positive sense of the axis.
    Lever { lever_m: f64, direction: V3 },
}

/// How hard a muscle pulls.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Effort {
    Known {
        force_n: f64,
    },
    /// To be found. The strength matters where there are more muscles than hinges to balance, and for capacity.
    Unknown {
        strength_n: f64,
    },
}

impl Effort {
    /// To be found, strength immaterial.
    pub const UNKNOWN: Effort = Effort::Unknown { strength_n: 1e4 };
}

/// A muscle, or any other pull along a known line: a bite, a hand pressing the floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Muscle {
    pub name: String,
    /// The link it pulls.
    pub link: usize,
    /// The link that is pulled the other way; `None` for the ground.
    pub origin_link: Option<usize>,
    pub line: Line,
    pub effort: Effort,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    pub links: Vec<Link>,
    pub angle_rad: Vec<f64>,
    pub gravity_m_s2: V3,
    /// Links whose hinge the muscles balance; what the other hinges carry is only reported.
    pub balanced: Vec<usize>,
    pub loads: Vec<Load>,
    pub muscles: Vec<Muscle>,
}

/// What a joint passes on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Joint {
    /// Contact force of the parent (or ground) on the link, in ground axes, muscles taken off.
    pub force_on_link_n: V3,
    /// Torque about the hinge that no muscle carries.
    pub torque_nm: f64,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// Per muscle, known ones included.
    pub muscle_force_n: Vec<f64>,
    /// Per link.
    pub joints: Vec<Joint>,
}

#[derive(Debug, Clone, PartialEq, Error)]
pub enum AdhocError {
    #[error(transparent)]
    Tree(#[from] TreeError),
    #[error("{what} names link {link}, but there are {links}")]
    NoSuchLink { what: String, link: usize, links: usize },
    #[error("{what}: not a usable number")]
    BadNumber { what: String },
    #[error("muscle {muscle} has no direction, or none across its hinge")]
    NoDirection { muscle: String },
    #[error("{unknown} unknown muscles cannot balance {hinges} hinges")]
    TooFewMuscles { unknown: usize, hinges: usize },
    #[error("{got} hinges to balance at once, at most {allowed}")]
    TooManyHinges { got: usize, allowed: usize },
    #[error("the unknown muscles have no lever that balances the hinges")]
    NoLever,
    #[error("{muscle} would have to push with {force_n:.1} N")]
    Pushes { muscle: String, force_n: f64 },
    #[error("the muscles fall short by {short_nm:.3} N·m about the hinge of link {link}")]
    TooWeak { link: usize, short_nm: f64 },
    #[error("no solution found: {why}")]
    Unsolved { why: String },
}

/// Hinges balanced at once.
const MAX_HINGES: usize = 8;

impl Problem {
    /// Muscle forces at rest, then joint forces with those muscles pulling.
    ///
    /// As many unknown muscles as balanced hinges: a linear system. More: the least Σ (force / strength)³. Joint
    /// forces come out of the same recursion, run once more with every muscle's force applied.
    pub fn forces(&self) -> Result<Solution, AdhocError> {
        let setup = self.set_up()?;
        let demand = self.demand(&setup)?;
        let columns = self.unknown_columns(&setup)?;
        let (unknown, hinges) = (columns.len(), self.balanced.len());
        if unknown < hinges {
            return Err(AdhocError::TooFewMuscles { unknown, hinges });
        }
        let found = if unknown == hinges { self.linear(&columns, &demand)? } else { self.shared(&columns, &demand)? };
        let mut muscle_force_n: Vec<f64> = self.muscles.iter().map(|m| m.known_force_n()).collect();
        for ((muscle, _), force_n) in columns.iter().zip(found) {
            muscle_force_n[*muscle] = force_n;
        }
        let mut forces = self.outer_forces();
        for (pull, force_n) in setup.pulls.iter().zip(&muscle_force_n) {
            pull.apply(*force_n, &mut forces);
        }
        let (torque_nm, ws) = setup.run(&vec![0.0; self.links.len()], &self.gravity_m_s2, &forces)?;
        let joint = |link: usize| {
            let (force, _) = ws.joint_load(link).expect("the recursion visited every link");
            Joint { force_on_link_n: setup.pose[link].0 * force, torque_nm: torque_nm[link] }
        };
        Ok(Solution { muscle_force_n, joints: (0..self.links.len()).map(joint).collect() })
    }

    /// Angular acceleration of the balanced hinges, rad/s², from rest, with every muscle's force known (unknown ones
    /// pull with 0); the other hinges are held.
    pub fn accelerations(&self) -> Result<Vec<f64>, AdhocError> {
        let setup = self.set_up()?;
        let demand = self.demand(&setup)?;
        let n = self.balanced.len();
        if n == 0 {
            return Ok(Vec::new());
        }
        let mut inertia = DMatrix::zeros(n, n);
        for (column, link) in self.balanced.iter().enumerate() {
            let mut unit = vec![0.0; self.links.len()];
            unit[*link] = 1.0;
            let (torque_nm, _) = setup.run(&unit, &V3::zeros(), &[])?;
            for (row, link) in self.balanced.iter().enumerate() {
                inertia[(row, column)] = torque_nm[*link];
            }
        }
        // At rest the torque asked of the hinges is `demand`; nobody supplies it, so they accelerate against it.
        let solved = inertia.lu().solve(&-DVector::from_vec(demand));
        let solved = solved.ok_or_else(|| AdhocError::Unsolved { why: "a hinge moves no inertia".into() })?;
        Ok(solved.as_slice().to_vec())
    }

    /// How many times load `load` the unknown muscles can hold at most, each up to its strength, up to `cap`.
    /// `None` where they cannot even hold the rest.
    pub fn largest_factor(&self, load: usize, cap: f64) -> Result<Option<f64>, AdhocError> {
        if load >= self.loads.len() {
            return Err(AdhocError::BadNumber { what: format!("load {load} of {}", self.loads.len()) });
        }
        let setup = self.set_up()?;
        let with = self.demand(&setup)?;
        let mut rest = self.clone();
        rest.loads.remove(load);
        let without = rest.demand(&rest.set_up()?)?;
        let columns = self.unknown_columns(&setup)?;
        let scale = scale_of(&with).max(scale_of(&without));
        let row = |v: &[f64]| padded(v, scale);
        let muscles: Vec<[f64; MAX_HINGES]> =
            columns.iter().map(|(m, per_newton)| row(per_newton).map(|v| v * self.muscles[*m].strength_n())).collect();
        let added: Vec<f64> = with.iter().zip(&without).map(|(w, o)| w - o).collect();
        Capacity::new()
            .solve(self.balanced.len(), &muscles, &[], &Bounds::NONE, &row(&without), &row(&added), cap, false)
            .map_err(|e| AdhocError::Unsolved { why: e.to_string() })
    }

    fn linear(&self, columns: &[(usize, Vec<f64>)], demand: &[f64]) -> Result<Vec<f64>, AdhocError> {
        let n = demand.len();
        if n == 0 {
            return Ok(Vec::new());
        }
        let matrix = DMatrix::from_fn(n, n, |row, column| columns[column].1[row]);
        let solved = matrix.lu().solve(&DVector::from_column_slice(demand)).ok_or(AdhocError::NoLever)?;
        for ((muscle, _), force_n) in columns.iter().zip(solved.iter()) {
            if !force_n.is_finite() {
                return Err(AdhocError::NoLever);
            }
            if *force_n < 0.0 {
                return Err(AdhocError::Pushes { muscle: self.muscles[*muscle].name.clone(), force_n: *force_n });
            }
        }
        Ok(solved.as_slice().to_vec())
    }

    fn shared(&self, columns: &[(usize, Vec<f64>)], demand: &[f64]) -> Result<Vec<f64>, AdhocError> {
        let scale = scale_of(demand);
        let n = columns.len();
        let strength: Vec<f64> = columns.iter().map(|(m, _)| self.muscles[*m].strength_n()).collect();
        let problem = sharing::Problem::<MAX_HINGES> {
            muscles: n,
            columns: columns.iter().zip(&strength).map(|((_, c), s)| padded(c, scale).map(|v| v * s)).collect(),
            weight: vec![1.0; n],
            lo: vec![0.0; n],
            hi: vec![1.0; n],
            b: padded(demand, scale),
            stiffness: 1e6,
            over_capacity: false,
            power: sharing::Power::Three,
        };
        let mut ws = sharing::Workspace::new(n);
        let outcome = problem.solve(&mut ws, &sharing::Options::default());
        if !outcome.converged {
            return Err(AdhocError::Unsolved { why: format!("sharing stopped at {outcome:?}") });
        }
        let (_, _, left_over) = problem.values(&ws.x, &ws.lambda);
        for (row, short) in left_over[..demand.len()].iter().enumerate() {
            if short.abs() > 1e-4 {
                return Err(AdhocError::TooWeak { link: self.balanced[row], short_nm: short * scale });
            }
        }
        Ok(ws.x[..n].iter().zip(&strength).map(|(a, s)| a * s).collect())
    }

    /// Torque that the unknown muscles must supply about the balanced hinges at rest.
    fn demand(&self, setup: &SetUp) -> Result<Vec<f64>, AdhocError> {
        let mut forces = self.outer_forces();
        for (pull, muscle) in setup.pulls.iter().zip(&self.muscles) {
            pull.apply(muscle.known_force_n(), &mut forces);
        }
        let (torque_nm, _) = setup.run(&vec![0.0; self.links.len()], &self.gravity_m_s2, &forces)?;
        Ok(self.balanced.iter().map(|link| torque_nm[*link]).collect())
    }

    /// Per unknown muscle its index and the torque of one newton about the balanced hinges.
    fn unknown_columns(&self, setup: &SetUp) -> Result<Vec<(usize, Vec<f64>)>, AdhocError> {
        let rest = vec![0.0; self.links.len()];
        let unknown = |(_, m): &(usize, &Muscle)| matches!(m.effort, Effort::Unknown { .. });
        self.muscles
            .iter()
            .enumerate()
            .filter(unknown)
            .map(|(index, _)| {
                let mut forces = Vec::new();
                setup.pulls[index].apply(1.0, &mut forces);
                let (needed_nm, _) = setup.run(&rest, &V3::zeros(), &forces)?;
                // What is needed against the pull is minus what the pull supplies.
                Ok((index, self.balanced.iter().map(|link| -needed_nm[*link]).collect()))
            })
            .collect()
    }

    fn outer_forces(&self) -> Vec<PointForce> {
        let force = |load: &Load| match *load {
            Load::Force { link, point_m, force_n } => Some(PointForce { link, point_m, force_n }),
            Load::Mass { .. } => None, // part of its link
        };
        self.loads.iter().filter_map(force).collect()
    }

    fn set_up(&self) -> Result<SetUp, AdhocError> {
        let links = self.links.len();
        let known = |what: String, link: usize| {
            if link < links { Ok(()) } else { Err(AdhocError::NoSuchLink { what, link, links }) }
        };
        if self.balanced.len() > MAX_HINGES {
            return Err(AdhocError::TooManyHinges { got: self.balanced.len(), allowed: MAX_HINGES });
        }
        for link in &self.balanced {
            known("the list of balanced hinges".into(), *link)?;
        }
        if !self.angle_rad.iter().chain(self.gravity_m_s2.iter()).all(|v| v.is_finite()) {
            return Err(AdhocError::BadNumber { what: "an angle or gravity".into() });
        }
        let mut bodies = self.links.clone();
        for (index, load) in self.loads.iter().enumerate() {
            let what = format!("load {index}");
            let (link, good) = match load {
                Load::Mass { link, point_m, mass_kg } => {
                    (*link, *mass_kg >= 0.0 && mass_kg.is_finite() && point_m.iter().all(|v| v.is_finite()))
                }
                Load::Force { link, point_m, force_n } => {
                    (*link, point_m.iter().chain(force_n.iter()).all(|v| v.is_finite()))
                }
            };
            known(what.clone(), link)?;
            if !good {
                return Err(AdhocError::BadNumber { what });
            }
            if let Load::Mass { point_m, mass_kg, .. } = load {
                attach(&mut bodies[link], *point_m, *mass_kg);
            }
        }
        let tree = Tree::new(bodies)?;
        let pose = tree.pose(&self.angle_rad)?;
        let mut pulls = Vec::with_capacity(self.muscles.len());
        for muscle in &self.muscles {
            for link in std::iter::once(muscle.link).chain(muscle.origin_link) {
                known(muscle.name.clone(), link)?;
            }
            pulls.push(muscle.pull(&tree, &pose)?);
        }
        Ok(SetUp { tree, pose, pulls, angle_rad: self.angle_rad.clone() })
    }
}

impl Muscle {
    fn known_force_n(&self) -> f64 {
        if let Effort::Known { force_n } = self.effort { force_n } else { 0.0 }
    }

    fn strength_n(&self) -> f64 {
        match self.effort {
            Effort::Known { force_n } => force_n,
            Effort::Unknown { strength_n } => strength_n,
        }
    }

    fn pull(&self, tree: &Tree, pose: &[(M3, V3)]) -> Result<Pull, AdhocError> {
        let effort = match self.effort {
            Effort::Known { force_n } => force_n,
            Effort::Unknown { strength_n } => strength_n,
        };
        if !(effort >= 0.0 && effort.is_finite()) {
            return Err(AdhocError::BadNumber { what: format!("force or strength of {}", self.name) });
        }
        let none = || AdhocError::NoDirection { muscle: self.name.clone() };
        let (rotation, hinge_m) = pose[self.link];
        let (origin_rotation, origin_hinge_m) = self.origin_link.map_or((M3::identity(), V3::zeros()), |l| pose[l]);
        // Where the line passes the link, and where it leads; both in ground axes.
        let (through_m, along) = match &self.line {
            Line::ToPoint { insertion_m, origin_m } => {
                let through_m = hinge_m + rotation * insertion_m;
                (through_m, origin_hinge_m + origin_rotation * origin_m - through_m)
            }
            Line::Along { insertion_m, direction } => (hinge_m + rotation * insertion_m, *direction),
            Line::Lever { lever_m, direction } => {
                let across = direction.cross(&(rotation * tree.links()[self.link].axis));
                let away = across.try_normalize(1e-9 * direction.norm()).ok_or_else(none)?;
                (hinge_m + away * *lever_m, *direction)
            }
        };
        let direction = along.try_normalize(1e-12).ok_or_else(none)?;
        if !through_m.iter().chain(direction.iter()).all(|v| v.is_finite()) {
            return Err(AdhocError::BadNumber { what: format!("line of {}", self.name) });
        }
        // The opposite pull acts along the same line, so the same point serves.
        let end = |link: usize, sign: f64| {
            let (rotation, hinge_m) = pose[link];
            PointForce { link, point_m: rotation.tr_mul(&(through_m - hinge_m)), force_n: direction * sign }
        };
        Ok(Pull { near: end(self.link, 1.0), far: self.origin_link.map(|l| end(l, -1.0)) })
    }
}

/// A muscle's two unit forces.
struct Pull {
    near: PointForce,
    far: Option<PointForce>,
}

impl Pull {
    fn apply(&self, force_n: f64, forces: &mut Vec<PointForce>) {
        let scaled = |end: &PointForce| PointForce { force_n: end.force_n * force_n, ..*end };
        forces.extend(std::iter::once(&self.near).chain(&self.far).map(scaled));
    }
}

struct SetUp {
    tree: Tree,
    pose: Vec<(M3, V3)>,
    pulls: Vec<Pull>,
    angle_rad: Vec<f64>,
}

impl SetUp {
    /// The recursion from rest with these accelerations.
    fn run(
        &self,
        acceleration: &[f64],
        gravity: &V3,
        forces: &[PointForce],
    ) -> Result<(Vec<f64>, Workspace), TreeError> {
        let still = vec![0.0; self.angle_rad.len()];
        let state = State { angle_rad: &self.angle_rad, rate_rad_s: &still, acceleration_rad_s2: acceleration };
        let (mut ws, mut torque_nm) = (Workspace::default(), still.clone());
        self.tree.inverse_dynamics(&state, gravity, forces, &mut ws, &mut torque_nm)?;
        Ok((torque_nm, ws))
    }
}

/// Adds a point mass to a link: common centre of mass, inertia by the parallel-axis theorem.
fn attach(link: &mut Link, point_m: V3, mass_kg: f64) {
    let total_kg = link.mass_kg + mass_kg;
    if total_kg <= 0.0 {
        return;
    }
    let apart = point_m - link.centre_m;
    let reduced_kg = link.mass_kg * mass_kg / total_kg;
    link.inertia_kg_m2 += (M3::identity() * apart.norm_squared() - apart * apart.transpose()) * reduced_kg;
    link.centre_m += apart * (mass_kg / total_kg);
    link.mass_kg = total_kg;
}

/// Largest torque, or 1 where all are nil: rows divided by it are of order one.
fn scale_of(torque_nm: &[f64]) -> f64 {
    let largest = torque_nm.iter().fold(0.0, |m: f64, t| m.max(t.abs()));
    if largest > 0.0 { largest } else { 1.0 }
}

fn padded(values: &[f64], scale: f64) -> [f64; MAX_HINGES] {
    std::array::from_fn(|i| values.get(i).map_or(0.0, |v| v / scale))
}
