//! Muscle paths: straight pieces between points fixed to bones, bent round spheres and sided cylinders.
//!
//! A path runs over a chain of bodies numbered from the trunk outward (0, 1, 2 …). A **cut** k separates the bodies
//! 0 … k from the bodies k + 1 …: one cut is one joint. For unit tension [`Path::evaluate`] gives the length and, per
//! cut, the pull on the distal side: force, and moment about the origin of the common axes.
//!
//! Lever arm by the envelope theorem: the contact points on an obstacle count as fixed to the body that carries it,
//! so that the moment of the straight pieces that cross the cut is exactly −∂L/∂q, without differentiation.
//!
//! Formulas (lengths L, obstacle radius r):
//! * sphere with centre C, p = P − C, s = S − C: the path bends when the straight line passes nearer to C than r
//!   between P and S; L = √(p² − r²) + √(s² − r²) + r·(φ − acos(r/p) − acos(r/s)), φ the angle between p and s;
//! * cylinder: the same in the plane across the axis, with the angle counted in one fixed direction from −0.6 π to
//!   1.4 π, so that the path keeps its side; the distance along the axis is shared in proportion to the length.
//!   Same idea as the obstacle sets of Garner & Pandy 2000 (from memory, high).
//!
//! A path point that dips into its obstacle is lifted to the surface, straight away from the centre or axis: length and
//! lever arm stay continuous, and the arm stays the derivative, until the point reaches the centre. The tables keep
//! their points outside in ordinary postures; [`Path::clearance_m`] tells.

use crate::skeleton::Pose;
use std::f64::consts::PI;
use units::V3;

/// A point of a path, fixed to a body of the chain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PathPoint {
    /// Number of the body in the chain, 0 nearest to the trunk.
    pub body: usize,
    /// Position in the axes of that body, m.
    pub local_m: V3,
}

/// What a path bends around.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Obstacle {
    Sphere {
        body: usize,
        centre_m: V3,
        radius_m: f64,
    },
    /// Endless cylinder. `side` +1: the path runs with increasing angle about the axis, −1: with decreasing.
    Cylinder {
        body: usize,
        centre_m: V3,
        /// Unit vector along the axis, body axes.
        axis: V3,
        radius_m: f64,
        side: f64,
    },
}

impl Obstacle {
    fn body(&self) -> usize {
        match *self {
            Obstacle::Sphere { body, .. } | Obstacle::Cylinder { body, .. } => body,
        }
    }
}

/// Pull of a path with unit tension on everything distal to a cut, in the common axes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pull {
    /// Net force; its length is at most 1 for a path that crosses the cut once. No unit (newton per newton).
    pub force: V3,
    /// Moment about the origin of the common axes, m (newton-metre per newton).
    pub moment_m: V3,
}

impl Pull {
    /// Moment about a point, m: the lever-arm vector of the joint with that centre. Component along a unit axis =
    /// lever arm about this axis = −∂L/∂angle.
    pub fn about(&self, centre_m: &V3) -> V3 {
        self.moment_m - centre_m.cross(&self.force)
    }
}

/// Points, and the obstacle between each point and the next.
#[derive(Clone, Debug, PartialEq)]
pub struct Path {
    points: Vec<PathPoint>,
    /// One entry per piece (one fewer than points).
    obstacles: Vec<Option<Obstacle>>,
}

/// Why a path cannot be built.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PathError {
    #[error("a path needs at least 2 points, got {got}")]
    TooFewPoints { got: usize },
    #[error("an obstacle stands after point {after}, but the path has only {points} points")]
    ObstacleOutsidePath { after: usize, points: usize },
    #[error("two obstacles between the same two points (after point {after})")]
    TwoObstacles { after: usize },
}

impl Path {
    /// A path from its points in order and its obstacles, each with the index of the point before it.
    pub fn new(points: Vec<PathPoint>, obstacles: &[(usize, Obstacle)]) -> Result<Path, PathError> {
        if points.len() < 2 {
            return Err(PathError::TooFewPoints { got: points.len() });
        }
        let mut slots = vec![None; points.len() - 1];
        for &(after, obstacle) in obstacles {
            match slots.get_mut(after) {
                None => return Err(PathError::ObstacleOutsidePath { after, points: points.len() }),
                Some(Some(_)) => return Err(PathError::TwoObstacles { after }),
                Some(slot) => *slot = Some(obstacle),
            }
        }
        Ok(Path { points, obstacles: slots })
    }

    /// Points in order.
    pub fn points(&self) -> &[PathPoint] {
        &self.points
    }

    /// The obstacle between each point and the next.
    pub fn obstacles(&self) -> &[Option<Obstacle>] {
        &self.obstacles
    }

    /// Whether the path has points or obstacles on both sides of a cut.
    pub fn crosses(&self, cut: usize) -> bool {
        let mut bodies =
            self.points.iter().map(|p| p.body).chain(self.obstacles.iter().flatten().map(Obstacle::body)).peekable();
        let first = bodies.peek().copied().unwrap_or(0) > cut;
        bodies.any(|b| (b > cut) != first)
    }

    /// Length in m of the path in the posture given by the poses of the chain's bodies (body 0 is the common frame:
    /// its pose is not used). Adds `share` times the pull of unit tension to `pulls`, one entry per cut.
    pub fn evaluate<const CUTS: usize>(&self, poses: &[Pose], share: f64, pulls: &mut [Pull; CUTS]) -> f64 {
        let mut length = 0.0;
        let mut from = place(poses, self.points[0].body, &self.points[0].local_m);
        for (pair, obstacle) in self.points.windows(2).zip(&self.obstacles) {
            let to = place(poses, pair[1].body, &pair[1].local_m);
            let (a, b) = (pair[0].body, pair[1].body);
            match obstacle {
                Some(o) => length += round_obstacle(o, poses, (a, &from), (b, &to), share, pulls),
                None => {
                    let d = to - from;
                    let l = d.norm();
                    length += l;
                    add(pulls, share, a, &from, &(d / l), b);
                }
            }
            from = to;
        }
        length
    }

    /// Smallest distance of the ends of the bent pieces from their obstacle's surface, m; negative = inside.
    pub fn clearance_m(&self, poses: &[Pose]) -> f64 {
        let mut least = f64::INFINITY;
        for (pair, obstacle) in self.points.windows(2).zip(&self.obstacles) {
            let Some(o) = obstacle else { continue };
            for p in pair {
                let x = place(poses, p.body, &p.local_m);
                least = least.min(match *o {
                    Obstacle::Sphere { body, centre_m, radius_m } => {
                        (x - place(poses, body, &centre_m)).norm() - radius_m
                    }
                    Obstacle::Cylinder { body, centre_m, axis, radius_m, .. } => {
                        let k = turn(poses, body, &axis);
                        (x - place(poses, body, &centre_m)).cross(&k).norm() - radius_m
                    }
                });
            }
        }
        least
    }
}

#[inline]
fn place(poses: &[Pose], body: usize, local_m: &V3) -> V3 {
    if body == 0 { *local_m } else { poses[body].at(local_m) }
}

#[inline]
fn turn(poses: &[Pose], body: usize, local: &V3) -> V3 {
    if body == 0 { *local } else { poses[body].turn(local) }
}

/// Adds the pull of a force on body `a` at x, held by the opposite force on body `b`, to the cuts between them.
#[inline]
fn add<const CUTS: usize>(pulls: &mut [Pull; CUTS], share: f64, a: usize, x: &V3, force_on_a: &V3, b: usize) {
    if a == b {
        return;
    }
    let f = force_on_a * if a > b { share } else { -share };
    let m = x.cross(&f);
    let (low, high) = if a < b { (a, b) } else { (b, a) };
    for pull in &mut pulls[low.min(CUTS)..high.min(CUTS)] {
        pull.force += f;
        pull.moment_m += m;
    }
}

/// Length of a piece with an obstacle; adds its pulls.
fn round_obstacle<const CUTS: usize>(
    obstacle: &Obstacle,
    poses: &[Pose],
    (a, from): (usize, &V3),
    (b, to): (usize, &V3),
    share: f64,
    pulls: &mut [Pull; CUTS],
) -> f64 {
    let on = obstacle.body();
    let (centre, axis, radius) = match *obstacle {
        Obstacle::Sphere { centre_m, radius_m, .. } => (place(poses, on, &centre_m), None, radius_m),
        Obstacle::Cylinder { centre_m, axis, radius_m, .. } => {
            (place(poses, on, &centre_m), Some(turn(poses, on, &axis)), radius_m)
        }
    };
    let (start, end) = (Lift::new(from, &centre, axis.as_ref(), radius), Lift::new(to, &centre, axis.as_ref(), radius));
    let bend = match (obstacle, &axis) {
        (Obstacle::Cylinder { side, .. }, Some(k)) => cylinder(&start.at_m, &end.at_m, &centre, k, radius, *side),
        _ => sphere(&start.at_m, &end.at_m, &centre, radius),
    };
    match bend {
        Some(w) => {
            add(pulls, share, a, from, &start.force(&w.leave, axis.as_ref()), on);
            add(pulls, share, b, to, &end.force(&-w.arrive, axis.as_ref()), on);
            w.length_m
        }
        None => {
            let d = end.at_m - start.at_m;
            let l = d.norm();
            let u = d / l;
            if start.inside || end.inside {
                add(pulls, share, a, from, &start.force(&u, axis.as_ref()), on);
                add(pulls, share, b, to, &end.force(&-u, axis.as_ref()), on);
            } else {
                add(pulls, share, a, from, &u, b);
            }
            l
        }
    }
}

/// An end of a piece, lifted to the obstacle's surface if it lies inside.
struct Lift {
    at_m: V3,
    inside: bool,
    /// Outward from the centre or axis, unit length.
    outward: V3,
    /// Radius over the point's own distance.
    grow: f64,
}

impl Lift {
    #[inline]
    fn new(x: &V3, centre: &V3, axis: Option<&V3>, radius: f64) -> Lift {
        let mut p = x - centre;
        if let Some(k) = axis {
            p -= k * p.dot(k);
        }
        let distance2 = p.norm_squared();
        if distance2 >= radius * radius {
            return Lift { at_m: *x, inside: false, outward: p, grow: 1.0 };
        }
        let distance = distance2.sqrt().max(1e-9);
        let outward = p / distance;
        Lift { at_m: x + outward * (radius - distance), inside: true, outward, grow: radius / distance }
    }

    /// Force on the true point that does the same work as the force on the lifted one.
    #[inline]
    fn force(&self, f: &V3, axis: Option<&V3>) -> V3 {
        if !self.inside {
            return *f;
        }
        let along = axis.map_or_else(V3::zeros, |k| k * f.dot(k));
        along + (f - along - self.outward * f.dot(&self.outward)) * self.grow
    }
}

/// A bent piece: length, direction in which it leaves its first end and in which it arrives at its last, unit length.
struct Bend {
    length_m: f64,
    leave: V3,
    arrive: V3,
}

/// cos(0.6 π): how far a sided path may lie on the other side of its obstacle before it counts as gone round.
const COS_FREE: f64 = -0.309_016_994_374_947_4;

fn sphere(from: &V3, to: &V3, centre: &V3, radius: f64) -> Option<Bend> {
    let (p, s) = (from - centre, to - centre);
    let (pp, ss, ps) = (p.norm_squared(), s.norm_squared(), p.dot(&s));
    let r2 = radius * radius;
    // Foot of the perpendicular from the centre on the line: between the ends, and nearer than r?
    let d2 = pp + ss - 2.0 * ps;
    let cross2 = (pp * ss - ps * ps).max(0.0);
    if ps >= pp || ps >= ss || cross2 >= r2 * d2 {
        return None;
    }
    let normal = p.cross(&s);
    let sine = normal.norm();
    // Straight through the centre: any way round is equally short; take one across the longest axis of p.
    let normal = if sine > 1e-12 { normal / sine } else { any_perpendicular(&p) };
    let r = radius;
    let (tp, ts) = ((pp - r2).max(0.0).sqrt(), (ss - r2).max(0.0).sqrt());
    // Contact points: towards the end by cos = r/|p|, sideways by sin = t/|p|.
    let q = (p * r + normal.cross(&p) * tp) * (r / pp);
    let t = (s * r - normal.cross(&s) * ts) * (r / ss);
    let arc = q.cross(&t).norm().atan2(q.dot(&t));
    Some(Bend { length_m: tp + ts + r * arc, leave: normal.cross(&q) / r, arrive: normal.cross(&t) / r })
}

fn any_perpendicular(v: &V3) -> V3 {
    let axis = if v.x.abs() < 0.6 * v.norm() { V3::x() } else { V3::y() };
    v.cross(&axis).normalize()
}

fn cylinder(from: &V3, to: &V3, centre: &V3, axis: &V3, radius: f64, side: f64) -> Option<Bend> {
    let (p, s) = (from - centre, to - centre);
    let (pz, sz) = (p.dot(axis), s.dot(axis));
    let (p, s) = (p - axis * pz, s - axis * sz);
    let (pp, ss, ps) = (p.norm_squared(), s.norm_squared(), p.dot(&s));
    let cross = side * axis.dot(&p.cross(&s));
    let r2 = radius * radius;
    // Angle from p to s in the direction of the side: negative down to −0.6 π = free on the other side; up to π = bent
    // if the straight line comes nearer than r; beyond π (seen as below −0.6 π) always bent.
    let beyond = cross < 0.0;
    if beyond {
        if ps > COS_FREE * (pp * ss).sqrt() {
            return None;
        }
    } else if ps >= pp || ps >= ss || cross * cross >= r2 * (pp + ss - 2.0 * ps) {
        return None;
    }
    let r = radius;
    let (tp, ts) = ((pp - r2).max(0.0).sqrt(), (ss - r2).max(0.0).sqrt());
    let ahead = axis * side;
    let q = (p * r + ahead.cross(&p) * tp) * (r / pp);
    let t = (s * r - ahead.cross(&s) * ts) * (r / ss);
    let arc = (side * axis.dot(&q.cross(&t))).atan2(q.dot(&t));
    // A rounding error below zero is a touch, not a full turn.
    let arc = if beyond && arc < -1e-9 { arc + 2.0 * PI } else { arc.max(0.0) };
    let flat = tp + r * arc + ts;
    let dz = sz - pz;
    let length_m = flat.hypot(dz);
    let (turn, rise) = (flat / (length_m * r), axis * (dz / length_m));
    Some(Bend { length_m, leave: ahead.cross(&q) * turn + rise, arrive: ahead.cross(&t) * turn + rise })
}

#[cfg(test)]
mod tests {
    use super::*;

    const EXACT: f64 = 1e-12;

    fn piece(a: V3, b: V3, obstacle: Obstacle) -> Path {
        Path::new(vec![PathPoint { body: 0, local_m: a }, PathPoint { body: 1, local_m: b }], &[(0, obstacle)])
            .expect("two points, one obstacle")
    }
    fn length(path: &Path) -> f64 {
        path.evaluate(&[Pose::identity(); 2], 1.0, &mut [Pull::default(); 1])
    }

    #[test]
    fn a_quarter_turn_round_a_ball_is_two_tangents_and_an_arc() {
        // Ends at distance √2 on two axes at a right angle: tangents of 1 + 1, and 90° − 2·45° = 0 of arc.
        let ball = Obstacle::Sphere { body: 0, centre_m: V3::zeros(), radius_m: 1.0 };
        let r2 = 2f64.sqrt();
        assert!((length(&piece(V3::x() * r2, V3::y() * r2, ball)) - 2.0).abs() < EXACT);
        // Ends opposite to each other: arc of 180° − 2·45°.
        let w = length(&piece(V3::x() * r2, V3::new(-r2, 1e-9, 0.0), ball));
        assert!((w - (2.0 + PI / 2.0)).abs() < 1e-8, "{w}");
    }

    #[test]
    fn a_sided_cylinder_sends_the_path_the_long_way_round() {
        let rod = |side| Obstacle::Cylinder { body: 0, centre_m: V3::zeros(), axis: V3::z(), radius_m: 1.0, side };
        let r2 = 2f64.sqrt();
        // From +X to −Y: by decreasing angle a quarter turn (just touching), by increasing angle three quarters.
        let (a, b) = (V3::x() * r2, V3::y() * -r2 + V3::z() * 3.0);
        assert!((length(&piece(a, b, rod(-1.0))) - (4.0f64 + 9.0).sqrt()).abs() < EXACT);
        // −90° lies inside the window from −0.6 π: the path runs free rather than three quarters round.
        assert!((length(&piece(a, b, rod(1.0))) - (4.0f64 + 9.0).sqrt()).abs() < EXACT);
        // From +X to 10° short of −X the other way: 190° by increasing angle, arc 190° − 90°.
        let b = V3::new(-(10f64.to_radians().cos()), -(10f64.to_radians().sin()), 0.0) * r2;
        let want = 2.0 + 100f64.to_radians();
        assert!((length(&piece(a, b, rod(1.0))) - want).abs() < EXACT);
    }

    #[test]
    fn wrong_paths_are_refused_with_numbers() {
        let p = PathPoint { body: 0, local_m: V3::zeros() };
        assert_eq!(Path::new(vec![p], &[]), Err(PathError::TooFewPoints { got: 1 }));
        let o = Obstacle::Sphere { body: 0, centre_m: V3::zeros(), radius_m: 1.0 };
        assert_eq!(Path::new(vec![p, p], &[(1, o)]), Err(PathError::ObstacleOutsidePath { after: 1, points: 2 }));
        assert_eq!(Path::new(vec![p, p], &[(0, o), (0, o)]), Err(PathError::TwoObstacles { after: 0 }));
    }
}
