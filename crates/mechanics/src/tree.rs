//! Inverse dynamics of a tree of hinged links by the recursive Newton–Euler method.
//!
//! Each link turns about one axis through its origin; a ball joint is three links in a row, the first two without
//! mass. In: angles, rates and accelerations, gravity, forces from outside. Out: the torque every hinge must carry,
//! and the whole force and moment every joint passes on.
//!
//! 1. Luh, Walker & Paul 1980, *J. Dyn. Sys. Meas. Control* 102, 69–76: the recursion.
//! 2. Featherstone 2008, *Rigid Body Dynamics Algorithms*, ch. 5: the same in the notation followed here.
//!
//! Signs: a positive torque acts on the link (from its parent) in the positive sense of the axis. Gravity enters as an
//! acceleration of the ground, so links at rest need the torque that holds them up.

pub mod adhoc;
pub mod textbook;

use thiserror::Error;
use units::{M3, V3};

/// One link, its frame at the hinge.
#[derive(Debug, Clone, PartialEq)]
pub struct Link {
    /// The link it hangs on, listed before it; `None` for the ground.
    pub parent: Option<usize>,
    /// Hinge axis, of unit length, the same in both frames; zero for a fixed joint.
    pub axis: V3,
    /// Hinge centre in the parent's frame, m.
    pub offset_m: V3,
    pub mass_kg: f64,
    /// Centre of mass in the link's frame, m.
    pub centre_m: V3,
    /// Inertia about the centre of mass, in the link's frame, kg·m².
    pub inertia_kg_m2: M3,
}

impl Link {
    /// A massless link at the ground's origin turning about Z: a start for plane problems.
    pub const PLANE: Link = Link {
        parent: None,
        axis: V3::new(0.0, 0.0, 1.0),
        offset_m: V3::new(0.0, 0.0, 0.0),
        mass_kg: 0.0,
        centre_m: V3::new(0.0, 0.0, 0.0),
        inertia_kg_m2: M3::new(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0),
    };
}

/// Angle (rad), rate (rad/s) and acceleration (rad/s²) of every link.
#[derive(Debug, Clone, Copy)]
pub struct State<'a> {
    pub angle_rad: &'a [f64],
    pub rate_rad_s: &'a [f64],
    pub acceleration_rad_s2: &'a [f64],
}

/// A force from outside on a point of a link.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointForce {
    pub link: usize,
    /// Where it acts, in the link's frame, m.
    pub point_m: V3,
    /// In ground axes, N.
    pub force_n: V3,
}

#[derive(Debug, Clone, PartialEq, Error)]
pub enum TreeError {
    #[error("link {link} hangs on link {parent}, which is not listed before it")]
    Parent { link: usize, parent: usize },
    #[error("link {link}: axis of length {length}; it must be 1, or 0 for a fixed joint")]
    Axis { link: usize, length: f64 },
    #[error("link {link}: mass {mass_kg} kg")]
    Mass { link: usize, mass_kg: f64 },
    #[error("link {link} holds a number that is not finite")]
    NotFinite { link: usize },
    #[error("{links} links, but {field} has {got} entries")]
    Length { field: &'static str, links: usize, got: usize },
    #[error("a force acts on link {link} of {links}")]
    NoSuchLink { link: usize, links: usize },
}

/// A checked list of links.
#[derive(Debug, Clone, PartialEq)]
pub struct Tree {
    links: Vec<Link>,
}

/// What the recursion leaves behind per link; reused from call to call.
#[derive(Debug, Clone, Default)]
pub struct Workspace {
    bodies: Vec<Body>,
}

#[derive(Debug, Clone, Default)]
struct Body {
    /// Link to parent, link to ground.
    to_parent: M3,
    to_ground: M3,
    origin_m: V3,
    /// All in the link's frame: angular velocity and acceleration, acceleration of the hinge.
    spin: V3,
    spin_rate: V3,
    acceleration: V3,
    /// Force and moment (about the hinge) of the parent on the link.
    force_n: V3,
    moment_nm: V3,
}

impl Tree {
    pub fn new(links: Vec<Link>) -> Result<Self, TreeError> {
        for (link, l) in links.iter().enumerate() {
            if let Some(parent) = l.parent.filter(|p| *p >= link) {
                return Err(TreeError::Parent { link, parent });
            }
            let vectors = [l.axis, l.offset_m, l.centre_m];
            if !vectors.iter().flatten().chain(l.inertia_kg_m2.iter()).all(|v| v.is_finite()) {
                return Err(TreeError::NotFinite { link });
            }
            let length = l.axis.norm();
            if length != 0.0 && (length - 1.0).abs() > 1e-9 {
                return Err(TreeError::Axis { link, length });
            }
            if !(l.mass_kg >= 0.0 && l.mass_kg.is_finite()) {
                return Err(TreeError::Mass { link, mass_kg: l.mass_kg });
            }
        }
        Ok(Tree { links })
    }

    pub fn links(&self) -> &[Link] {
        &self.links
    }

    /// Torque of every hinge, N·m, into `torque_nm`. `gravity_m_s2` is the free-fall acceleration in ground axes.
    /// Allocates only when `ws` is new to a tree of this size.
    pub fn inverse_dynamics(
        &self,
        state: &State,
        gravity_m_s2: &V3,
        forces: &[PointForce],
        ws: &mut Workspace,
        torque_nm: &mut [f64],
    ) -> Result<(), TreeError> {
        let links = self.links.len();
        let fields = [
            ("angle_rad", state.angle_rad.len()),
            ("rate_rad_s", state.rate_rad_s.len()),
            ("acceleration_rad_s2", state.acceleration_rad_s2.len()),
            ("torque_nm", torque_nm.len()),
        ];
        for (field, got) in fields {
            if got != links {
                return Err(TreeError::Length { field, links, got });
            }
        }
        if let Some(f) = forces.iter().find(|f| f.link >= links) {
            return Err(TreeError::NoSuchLink { link: f.link, links });
        }
        if ws.bodies.len() != links {
            ws.bodies.resize(links, Body::default());
        }
        self.outward(state, gravity_m_s2, ws);
        if !forces.is_empty() {
            self.place(ws);
            for f in forces {
                let body = &mut ws.bodies[f.link];
                let force_n = body.to_ground.tr_mul(&f.force_n);
                body.force_n -= force_n;
                body.moment_nm -= f.point_m.cross(&force_n);
            }
        }
        self.inward(ws, torque_nm);
        Ok(())
    }

    /// Motion from the ground outwards, and the force each link's own inertia asks for.
    fn outward(&self, state: &State, gravity_m_s2: &V3, ws: &mut Workspace) {
        for (i, link) in self.links.iter().enumerate() {
            let (spin, spin_rate, acceleration) = match link.parent {
                Some(p) => (ws.bodies[p].spin, ws.bodies[p].spin_rate, ws.bodies[p].acceleration),
                None => (V3::zeros(), V3::zeros(), -gravity_m_s2),
            };
            let hinge = acceleration + spin_rate.cross(&link.offset_m) + spin.cross(&spin.cross(&link.offset_m));
            let body = &mut ws.bodies[i];
            body.to_parent = hinge_rotation(&link.axis, state.angle_rad[i]);
            let carried = body.to_parent.tr_mul(&spin);
            let own = link.axis * state.rate_rad_s[i];
            body.spin = carried + own;
            body.spin_rate =
                body.to_parent.tr_mul(&spin_rate) + link.axis * state.acceleration_rad_s2[i] + carried.cross(&own);
            body.acceleration = body.to_parent.tr_mul(&hinge);
            let (w, alpha, c) = (body.spin, body.spin_rate, link.centre_m);
            body.force_n = (body.acceleration + alpha.cross(&c) + w.cross(&w.cross(&c))) * link.mass_kg;
            let inertia = &link.inertia_kg_m2;
            body.moment_nm = inertia * alpha + w.cross(&(inertia * w)) + c.cross(&body.force_n);
        }
    }

    /// Forces from the tips inwards.
    fn inward(&self, ws: &mut Workspace, torque_nm: &mut [f64]) {
        for (i, link) in self.links.iter().enumerate().rev() {
            let body = &ws.bodies[i];
            torque_nm[i] = body.moment_nm.dot(&link.axis);
            if let Some(p) = link.parent {
                let (force_n, moment_nm) = (body.to_parent * body.force_n, body.to_parent * body.moment_nm);
                ws.bodies[p].force_n += force_n;
                ws.bodies[p].moment_nm += moment_nm + link.offset_m.cross(&force_n);
            }
        }
    }

    fn place(&self, ws: &mut Workspace) {
        for (i, link) in self.links.iter().enumerate() {
            let (rotation, origin_m) = match link.parent {
                Some(p) => (ws.bodies[p].to_ground, ws.bodies[p].origin_m),
                None => (M3::identity(), V3::zeros()),
            };
            ws.bodies[i].to_ground = rotation * ws.bodies[i].to_parent;
            ws.bodies[i].origin_m = origin_m + rotation * link.offset_m;
        }
    }

    /// Rotation (link to ground) and hinge centre (ground axes, m) of every link at these angles.
    pub fn pose(&self, angle_rad: &[f64]) -> Result<Vec<(M3, V3)>, TreeError> {
        let links = self.links.len();
        if angle_rad.len() != links {
            return Err(TreeError::Length { field: "angle_rad", links, got: angle_rad.len() });
        }
        let mut pose: Vec<(M3, V3)> = Vec::with_capacity(links);
        for (link, angle) in self.links.iter().zip(angle_rad) {
            let (rotation, origin_m) = link.parent.map_or((M3::identity(), V3::zeros()), |p| pose[p]);
            pose.push((rotation * hinge_rotation(&link.axis, *angle), origin_m + rotation * link.offset_m));
        }
        Ok(pose)
    }
}

impl Workspace {
    /// Force (N) and moment about the hinge (N·m) of the parent on `link`, in the link's frame, after
    /// [`Tree::inverse_dynamics`]; the hinge torque is the moment's component along the axis.
    pub fn joint_load(&self, link: usize) -> Option<(V3, V3)> {
        self.bodies.get(link).map(|b| (b.force_n, b.moment_nm))
    }
}

/// Rodrigues' formula for an axis of unit length, or the identity for a fixed joint.
fn hinge_rotation(axis: &V3, angle_rad: f64) -> M3 {
    if *axis == V3::zeros() {
        return M3::identity();
    }
    let (s, c) = angle_rad.sin_cos();
    let (x, y, z, k) = (axis.x, axis.y, axis.z, 1.0 - c);
    M3::new(
        c + x * x * k,
        x * y * k - z * s,
        x * z * k + y * s,
        x * y * k + z * s,
        c + y * y * k,
        y * z * k - x * s,
        x * z * k - y * s,
        y * z * k + x * s,
        c + z * z * k,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use units::rot_axis;

    #[test]
    fn hinge_rotation_is_the_general_rotation() {
        let axis = V3::new(1.0, -2.0, 0.5).normalize();
        assert!((hinge_rotation(&axis, 0.7) - rot_axis(&axis, 0.7)).abs().max() < 1e-15);
        assert_eq!(hinge_rotation(&V3::zeros(), 0.7), M3::identity());
    }

    /// A rod of 2 kg, centre 0.5 m out, level: 2 · 9.81 · 0.5 N·m hold it, less 3 N pushing up at 1 m.
    #[test]
    fn a_level_rod_needs_its_weight_times_its_lever() {
        let rod = Link { mass_kg: 2.0, centre_m: V3::new(0.5, 0.0, 0.0), ..Link::PLANE };
        let tree = Tree::new(vec![rod]).unwrap();
        let state = State { angle_rad: &[0.0], rate_rad_s: &[0.0], acceleration_rad_s2: &[0.0] };
        let (mut ws, mut torque) = (Workspace::default(), [0.0]);
        let push = PointForce { link: 0, point_m: V3::x(), force_n: V3::new(0.0, 3.0, 0.0) };
        tree.inverse_dynamics(&state, &V3::new(0.0, -9.81, 0.0), &[push], &mut ws, &mut torque).unwrap();
        assert!((torque[0] - (9.81 - 3.0)).abs() < 1e-12);
        let (force, _) = ws.joint_load(0).unwrap();
        assert!((force - V3::new(0.0, 2.0 * 9.81 - 3.0, 0.0)).norm() < 1e-12);
    }

    #[test]
    fn bad_trees_are_refused_with_their_numbers() {
        let check = |change: fn(&mut Link), expected| {
            let mut link = Link::PLANE;
            change(&mut link);
            assert_eq!(Tree::new(vec![link]), Err(expected));
        };
        check(|l| l.parent = Some(0), TreeError::Parent { link: 0, parent: 0 });
        check(|l| l.axis = V3::x() * 2.0, TreeError::Axis { link: 0, length: 2.0 });
        check(|l| l.mass_kg = -1.0, TreeError::Mass { link: 0, mass_kg: -1.0 });
        check(|l| l.offset_m.x = f64::NAN, TreeError::NotFinite { link: 0 });
        let tree = Tree::new(vec![Link::PLANE]).unwrap();
        assert_eq!(tree.pose(&[]), Err(TreeError::Length { field: "angle_rad", links: 1, got: 0 }));
    }
}
