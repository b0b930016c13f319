//! Length of every head over the lift, and each joint's part of its change.

use anatomy::heads::{Head, MuscleFrame};
use anatomy::skeleton::{JOINTS, Joint};
use mechanics::system::EvaluatedFrame;
use units::log_rotation;

/// Lengths of one head over the lift.
#[derive(Clone, Debug, Default)]
pub struct HeadLengths {
    /// Normalised fibre length per frame.
    pub fibre: Vec<f64>,
    /// Change since the first frame, m, per frame.
    pub total_m: Vec<f64>,
    /// `[joint][frame]`, m; empty for joints the head does not cross.
    pub by_joint_m: [Vec<f64>; JOINTS],
}

impl HeadLengths {
    /// Change over the whole lift, m.
    pub fn change_m(&self) -> f64 {
        self.total_m.last().copied().unwrap_or(0.0)
    }
    /// A joint's part of the change over the whole lift, m.
    pub fn change_at_m(&self, j: Joint) -> f64 {
        self.by_joint_m[j as usize].last().copied().unwrap_or(0.0)
    }
    /// Opposition index: 0 joints help each other, 1 they cancel.
    pub fn opposition(&self) -> f64 {
        let parts: Vec<f64> =
            self.by_joint_m.iter().filter_map(|v| v.last().copied()).filter(|v| v.abs() > 1e-6).collect();
        let sum: f64 = parts.iter().sum();
        let size: f64 = parts.iter().map(|v| v.abs()).sum();
        if parts.len() < 2 || size < 1e-4 { 0.0 } else { (1.0 - sum.abs() / size).clamp(0.0, 1.0) }
    }
}

/// Lengths of every head that the frames hold; `None` for the others.
pub fn all_lengths(heads: &[Head], frames: &[EvaluatedFrame]) -> Vec<Option<HeadLengths>> {
    let seen = |h: usize| frames.first().is_some_and(|f| f.muscles.evaluated.contains(h));
    heads.iter().enumerate().map(|(h, head)| seen(h).then(|| head_lengths(head, h, frames))).collect()
}

/// Lengths of a head over evaluated frames.
///
/// Hinge joints have exact parts (integrals of their arms). The path's change belongs to the hip, or is split between
/// shoulder and girdle by integrating the shoulder's lever arms with the scapula held; the rest is the girdle's.
pub fn head_lengths(head: &Head, index: usize, frames: &[EvaluatedFrame]) -> HeadLengths {
    let at = |m: &MuscleFrame| m.heads[index];
    let n = frames.len();
    let mut out = HeadLengths { fibre: Vec::with_capacity(n), total_m: Vec::with_capacity(n), ..Default::default() };
    let first = at(&frames[0].muscles);
    let path_joint = head.path_joint();
    let split = path_joint == Some(Joint::Shoulder) && head.crosses(Joint::Girdle);
    let mut shoulder = 0.0;
    for (t, f) in frames.iter().enumerate() {
        let s = &f.muscles.heads[index];
        out.fibre.push(s.fibre_norm);
        out.total_m.push(s.length_m - first.length_m);
        for &j in &head.joints {
            let hinge = s.hinge_length_m[j as usize] - first.hinge_length_m[j as usize];
            out.by_joint_m[j as usize].push(hinge);
        }
        let path = s.path_length_m - first.path_length_m;
        if split {
            if t > 0 {
                let before = &frames[t - 1];
                let turn = log_rotation(&(f.side.limbs.shoulder * before.side.limbs.shoulder.transpose()))
                    - log_rotation(
                        &(f.side.girdle_pose.scapula.rotation * before.side.girdle_pose.scapula.rotation.transpose()),
                    );
                let q = &before.muscles.heads[index];
                use anatomy::skeleton::Row;
                for (k, r) in [Row::ShoulderX, Row::ShoulderY, Row::ShoulderZ].into_iter().enumerate() {
                    shoulder -= 0.5 * (q.arms_m[r.index()] + s.arms_m[r.index()]) * turn[k];
                }
            }
            add(&mut out.by_joint_m[Joint::Shoulder as usize], t, shoulder);
            add(&mut out.by_joint_m[Joint::Girdle as usize], t, path - shoulder);
        } else if let Some(j) = path_joint {
            add(&mut out.by_joint_m[j as usize], t, path);
        }
    }
    out
}

fn add(v: &mut Vec<f64>, t: usize, x: f64) {
    if v.len() <= t {
        v.resize(t + 1, 0.0);
    }
    v[t] += x;
}
