//! Length anchors of the shoulder heads by the centre of their range.
//!
//! Nobody has measured sarcomeres of the shoulder muscles over the range. So the middle between the shortest and the
//! longest path over a fixed grid of postures is given a stated normalised length (`range_centre` in
//! `data/anatomy/shoulder_anchors.csv`), and the anchor in the zero posture follows. The grid stands for the postures
//! of training: raising to 150° in six planes with three rotations, and reaching back to 45°.

use super::{AnatomyTables, HeadMask, MuscleModel, Variation};
use crate::body::Body;
use crate::skeleton::{Girdle, Limbs, Posture, Side, SidePosture, shoulder_matrix};
use units::rad;

/// Anchor of one shoulder head.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShoulderAnchor {
    /// Index of the head.
    pub head: usize,
    /// Normalised length in the zero posture.
    pub anchor_length: f64,
    /// Shortest and longest path over the grid, m.
    pub shortest_m: f64,
    pub longest_m: f64,
}

const PLANES_DEG: [f64; 6] = [-20.0, 0.0, 30.0, 60.0, 85.0, 110.0];
const ELEVATIONS_DEG: [f64; 6] = [0.0, 30.0, 60.0, 90.0, 120.0, 150.0];
const ROTATIONS_DEG: [f64; 3] = [-60.0, 0.0, 60.0];
/// Reaching straight back, elbow unturned.
const BACK_PLANE_DEG: f64 = -88.0;
const BACK_ELEVATIONS_DEG: [f64; 3] = [15.0, 30.0, 45.0];

/// The grid: humerus against thorax, girdle by the rhythm alone.
pub fn range_postures(body: &Body) -> Vec<SidePosture> {
    let grid = PLANES_DEG
        .iter()
        .flat_map(|&p| ELEVATIONS_DEG.iter().flat_map(move |&h| ROTATIONS_DEG.iter().map(move |&i| (p, h, i))));
    let back = BACK_ELEVATIONS_DEG.iter().map(|&h| (BACK_PLANE_DEG, h, 0.0));
    grid.chain(back)
        .map(|(p, h, i)| {
            let right = Limbs {
                shoulder: shoulder_matrix(rad(p), rad(h), rad(i)),
                girdle: Girdle::default(),
                ..Limbs::default()
            };
            SidePosture::new(body, &Posture { right, ..Posture::default() }, Side::Right)
        })
        .collect()
}

/// Anchors of all heads that have a `range_centre`, for the person of the tables. The table's own anchors of these
/// heads are not used.
pub fn shoulder_anchors(tables: &AnatomyTables, body: &Body) -> Vec<ShoulderAnchor> {
    let model = MuscleModel::new(tables, body, &Variation::none());
    let mut wanted = HeadMask::none();
    for (i, _) in tables.heads.iter().enumerate().filter(|(_, h)| h.range_centre.is_some()) {
        wanted.insert(i);
    }
    let mut frame = model.frame();
    let zero = SidePosture::new(body, &Posture::default(), Side::Right);
    model.evaluate(&zero, wanted, &mut frame);
    let rest: Vec<f64> = frame.heads.iter().map(|h| h.length_m).collect();
    let mut range = vec![(f64::INFINITY, f64::NEG_INFINITY); tables.heads.len()];
    for posture in range_postures(body) {
        model.evaluate(&posture, wanted, &mut frame);
        for i in wanted.iter() {
            let l = frame.heads[i].length_m;
            range[i] = (range[i].0.min(l), range[i].1.max(l));
        }
    }
    wanted
        .iter()
        .map(|i| {
            let h = &tables.heads[i];
            let middle = 0.5 * (range[i].0 + range[i].1);
            let stretch = (middle - rest[i]) / (model.fibre_length_m(i) * h.excursion_divisor);
            ShoulderAnchor {
                head: i,
                anchor_length: h.range_centre.unwrap_or(1.0) - stretch,
                shortest_m: range[i].0,
                longest_m: range[i].1,
            }
        })
        .collect()
}
