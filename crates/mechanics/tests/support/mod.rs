//! Reads `golden/tree20.json` and `golden/tree20_tau.json`: a 20-axis tree in 200 states of motion, with the torques that
//! two general rigid-body libraries find.

use mechanics::tree::{Link, State, Tree};
use serde::Deserialize;
use units::{M3, V3};

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
    let file: File = serde_json::from_str(include_str!("../golden/tree20.json")).expect("the golden file parses");
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

/// Torques of every state, N·m.
pub fn torques() -> Vec<Vec<f64>> {
    serde_json::from_str(include_str!("../golden/tree20_tau.json")).expect("torques parse")
}
