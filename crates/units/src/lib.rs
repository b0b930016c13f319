//! Units and vectors. In: numbers with a unit in their name; out: SI numbers and 3-vectors.
//! Must never know: bodies, muscles, movements.
//!
//! Everything inside the program is SI (metre, kilogram, second, newton, radian). Degrees, centimetres,
//! millimetres and kilogram-force exist only where text is read or written; the conversions stand here.
//!
//! World axes (ISB): X forward, Y up, Z to the right.

use nalgebra::{Matrix3, Vector3};

/// A 3-vector in SI units.
pub type V3 = Vector3<f64>;
/// A 3 × 3 matrix, usually a rotation.
pub type M3 = Matrix3<f64>;

/// Standard acceleration of gravity, m/s² (3rd CGPM 1901, rounded to the 9.81 used by the reference problems).
pub const GRAVITY_M_S2: f64 = 9.81;
/// Kilograms per international pound (exact by the 1959 agreement).
pub const KG_PER_LB: f64 = 0.453_592_37;

/// Radians from degrees.
#[inline]
pub fn rad(degrees: f64) -> f64 {
    degrees.to_radians()
}

/// Degrees from radians.
#[inline]
pub fn deg(radians: f64) -> f64 {
    radians.to_degrees()
}

/// Rotation about the X axis (right-handed), radians.
pub fn rot_x(angle_rad: f64) -> M3 {
    let (s, c) = angle_rad.sin_cos();
    M3::new(1.0, 0.0, 0.0, 0.0, c, -s, 0.0, s, c)
}

/// Rotation about the Y axis (right-handed), radians.
pub fn rot_y(angle_rad: f64) -> M3 {
    let (s, c) = angle_rad.sin_cos();
    M3::new(c, 0.0, s, 0.0, 1.0, 0.0, -s, 0.0, c)
}

/// Rotation about the Z axis (right-handed), radians.
pub fn rot_z(angle_rad: f64) -> M3 {
    let (s, c) = angle_rad.sin_cos();
    M3::new(c, -s, 0.0, s, c, 0.0, 0.0, 0.0, 1.0)
}

/// Rotation about any axis by `angle_rad` (Rodrigues' formula). The axis need not have unit length.
pub fn rot_axis(axis: &V3, angle_rad: f64) -> M3 {
    let n = axis.norm();
    if n < 1e-15 {
        return M3::identity();
    }
    exp_rotation(&(axis * (angle_rad / n)))
}

/// Rotation matrix of a rotation vector (axis × angle in radians).
pub fn exp_rotation(w: &V3) -> M3 {
    let t2 = w.norm_squared();
    let k = w.cross_matrix();
    if t2 < 1e-16 {
        return M3::identity() + k + k * k * 0.5;
    }
    let t = t2.sqrt();
    M3::identity() + k * (t.sin() / t) + k * k * ((1.0 - t.cos()) / t2)
}

/// Rotation vector (axis × angle in radians, angle at most π) of a rotation matrix.
pub fn log_rotation(r: &M3) -> V3 {
    let v = V3::new(r.m32 - r.m23, r.m13 - r.m31, r.m21 - r.m12);
    let s = 0.5 * v.norm();
    let c = 0.5 * (r.trace() - 1.0);
    if s < 1e-9 {
        if c > 0.0 {
            return v * 0.5;
        }
        // Half a turn: the axis is the column of (R + I) with the largest length.
        let b = (r + M3::identity()) * 0.5;
        let i = (0..3).max_by(|&i, &j| b[(i, i)].total_cmp(&b[(j, j)])).unwrap_or(0);
        let axis = b.column(i).into_owned();
        return axis.normalize() * std::f64::consts::PI;
    }
    v * (s.atan2(c) / (2.0 * s))
}

/// Mirror image of a rotation in the mid-sagittal plane (z → −z).
pub fn mirror_rotation(r: &M3) -> M3 {
    let s = M3::from_diagonal(&V3::new(1.0, 1.0, -1.0));
    s * r * s
}

/// Mirror image of a point in the mid-sagittal plane (z → −z).
pub fn mirror_point(p: &V3) -> V3 {
    V3::new(p.x, p.y, -p.z)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rotation_vector_and_matrix_are_inverse_of_each_other() {
        for w in [V3::new(0.3, -1.2, 0.7), V3::new(1e-9, 0.0, 2e-9), V3::new(0.0, 3.0, 0.0)] {
            assert!((log_rotation(&exp_rotation(&w)) - w).norm() < 1e-9);
        }
    }

    #[test]
    fn elementary_rotations_turn_right_handed() {
        let e = V3::x();
        assert!((rot_z(rad(90.0)) * e - V3::y()).norm() < 1e-12);
        assert!((rot_y(rad(90.0)) * V3::z() - V3::x()).norm() < 1e-12);
        assert!((rot_x(rad(90.0)) * V3::y() - V3::z()).norm() < 1e-12);
        assert!((rot_axis(&V3::new(0.0, 0.0, 2.0), 0.4) - rot_z(0.4)).norm() < 1e-12);
    }
}
