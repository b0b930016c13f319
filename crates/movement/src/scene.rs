//! Drawing data of a rep.

use crate::build::{Plan, body_point};
use crate::rep::{Rep, RepFrame};
use anatomy::body::Body;
use anatomy::skeleton::{Segment, Side};
use answer::{Scene, SceneFrame};
use std::collections::BTreeMap;
use units::V3;

/// Named points of a frame, m.
pub fn points(f: &RepFrame, body: &Body) -> BTreeMap<String, [f64; 3]> {
    let mut out = BTreeMap::new();
    let fig = &f.figure;
    for (side, word) in [(Side::Right, "right"), (Side::Left, "left")] {
        for name in ["hip", "knee", "ankle", "heel", "ball", "toe", "shoulder", "elbow", "wrist", "grip"] {
            if let Some((s, v)) = body_point(name, side, body) {
                out.insert(format!("{name}-{word}"), fig.at(s, &v).into());
            }
        }
    }
    let mut put = |n: &str, v: V3| {
        out.insert(n.to_string(), v.into());
    };
    put("pelvis", fig.pose(Segment::Pelvis).origin_m);
    put("lumbar", fig.at(Segment::Pelvis, &body.lumbar_m));
    put("notch", fig.pose(Segment::Thorax).origin_m);
    put("neck", fig.pose(Segment::Head).origin_m);
    put("head-centre", fig.at(Segment::Head, &V3::new(0.025 * body.stature_m / 1.75, 0.6 * body.head_m, 0.0)));
    put("head-top", fig.at(Segment::Head, &V3::new(0.02 * body.stature_m / 1.75, body.head_m, 0.0)));
    out
}

/// Scene of a rep without forces; the mechanics adds arrows and levers.
pub fn scene(plan: &Plan, rep: &Rep, body: &Body) -> Scene {
    Scene {
        capacity: Vec::new(),
        moments: Vec::new(),
        frames: rep
            .frames
            .iter()
            .map(|f| SceneFrame {
                centre_of_mass: None,
                points: points(f, body),
                things: plan.things.iter().filter_map(|t| t.draw(f.phase, &f.figure, body)).collect(),
                forces: Vec::new(),
                levers: Vec::new(),
            })
            .collect(),
        floor_y_m: 0.0,
        from_word: rep.from_word.clone(),
        to_word: rep.to_word.clone(),
        hardest_frame: 0,
    }
}
