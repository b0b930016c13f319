//! Inverse dynamics of a 20-axis tree in 200 states of motion against two general rigid-body libraries
//! (`golden/make_torques.py`; they agree with each other to 1.3e-13 N·m).

mod support;

use mechanics::tree::{PointForce, Tree, Workspace};
use support::{Sample, file};
use units::V3;

/// Relative to the state's largest torque.
const AGREE: f64 = 1e-9;

fn torques(tree: &Tree, gravity: &V3, sample: &Sample, forces: &[PointForce], ws: &mut Workspace) -> Vec<f64> {
    let mut torque_nm = vec![0.0; tree.links().len()];
    tree.inverse_dynamics(&sample.state(), gravity, forces, ws, &mut torque_nm).expect("a good state");
    torque_nm
}

fn largest(values: &[f64]) -> f64 {
    values.iter().fold(0.0, |m, v| m.max(v.abs()))
}

#[test]
fn torques_of_200_states_agree_with_general_libraries() {
    let (tree, gravity, samples) = file();
    let want = support::torques();
    assert_eq!((samples.len(), want.len()), (200, 200));
    let mut ws = Workspace::default();
    let mut worst = 0.0f64;
    for (sample, want) in samples.iter().zip(&want) {
        let got = torques(&tree, &gravity, sample, &[], &mut ws);
        for (got, torque) in got.iter().zip(want) {
            worst = worst.max((got - torque).abs() / largest(want));
        }
    }
    println!("largest relative difference {worst:.1e}");
    assert!(worst <= AGREE, "torques differ by {worst:.1e} of the state's largest");
}

/// Virtual work: a force on a point asks each hinge for minus the work it does when that hinge turns. The point's
/// motion is taken by differences of its position, not from the recursion.
#[test]
fn outside_forces_do_the_work_of_their_points() {
    const STEP: f64 = 1e-6;
    let (tree, gravity, samples) = file();
    let mut ws = Workspace::default();
    for (k, sample) in samples.iter().take(20).enumerate() {
        let link = 4 + k % 16;
        let push = PointForce { link, point_m: V3::new(0.1, -0.2, 0.3), force_n: V3::new(30.0, -50.0, 70.0) };
        let without = torques(&tree, &gravity, sample, &[], &mut ws);
        let with = torques(&tree, &gravity, sample, &[push], &mut ws);
        let place = |hinge: usize, change: f64| {
            let mut q = sample.q.clone();
            q[hinge] += change;
            let (rotation, origin_m) = tree.pose(&q).expect("a good state")[link];
            origin_m + rotation * push.point_m
        };
        for hinge in 0..with.len() {
            let motion = (place(hinge, STEP) - place(hinge, -STEP)) / (2.0 * STEP);
            let off = with[hinge] - without[hinge] + motion.dot(&push.force_n);
            assert!(off.abs() < 1e-6, "state {k}, hinge {hinge}: off by {off:.1e} N m");
        }
    }
}
