//! Inverse dynamics of a 20-axis tree in 200 states of motion against two general rigid-body libraries
//! (`golden/make_torques.py`; they agree with each other to 1.3e-13 N·m).

use mechanics::tree::{Link, PointForce, State, Tree, Workspace};
use serde::Deserialize;
use units::{M3, V3};

/// Relative to the state's largest torque.
const AGREE: f64 = 1e-9;

#[derive(Deserialize)]
struct File {
    gravity: [f64; 3],
    links: Vec<FileLink>,
    samples: Vec<Sample>,
}

#[derive(Deserialize)]
struct FileLink {
    parent: i32,
    axis: [f64; 3],
    offset: [f64; 3],
    mass: f64,
    com: [f64; 3],
    inertia: [f64; 3],
}

#[derive(Deserialize)]
pub struct Sample {
    q: Vec<f64>,
    v: Vec<f64>,
    a: Vec<f64>,
}

impl Sample {
    pub fn state(&self) -> State<'_> {
        State { angle_rad: &self.q, rate_rad_s: &self.v, acceleration_rad_s2: &self.a }
    }
}

pub fn file() -> (Tree, V3, Vec<Sample>) {
    let file: File = serde_json::from_str(include_str!("golden/tree20.json")).expect("the golden file parses");
    let link = |l: &FileLink| Link {
        parent: usize::try_from(l.parent).ok(),
        axis: V3::from(l.axis),
        offset_m: V3::from(l.offset),
        mass_kg: l.mass,
        centre_m: V3::from(l.com),
        inertia_kg_m2: M3::from_diagonal(&V3::from(l.inertia)),
    };
    let tree = Tree::new(file.links.iter().map(link).collect()).expect("a good tree");
    (tree, V3::from(file.gravity), file.samples)
}

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
    let want: Vec<Vec<f64>> = serde_json::from_str(include_str!("golden/tree20_tau.json")).expect("torques parse");
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
