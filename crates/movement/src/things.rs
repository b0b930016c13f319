//! What a scene shows beside the body.

use crate::posture::Curve;
use anatomy::body::Body;
use anatomy::skeleton::{Figure, Segment, Side};
use answer::Thing;
use units::V3;

/// Kinds of things that can be drawn.
pub const KINDS: [&str; 13] = [
    "bar",
    "dumb-bell",
    "kettle-bell",
    "plate",
    "disc",
    "cable",
    "pulley",
    "band",
    "board",
    "pad",
    "rail",
    "block",
    "slab",
];

/// Where a thing's coordinates start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Anchor {
    World,
    /// Coordinates in the axes of a segment.
    Segment(Segment),
    /// World-axis offset from a point of the body.
    Point(Segment, V3),
    /// World-axis offset from the middle between the two grips.
    Hands,
}

/// A thing to draw, resolved for one movement.
#[derive(Clone, Debug)]
pub struct ThingPlan {
    pub kind: String,
    pub anchor: Anchor,
    pub at_m: [Curve; 3],
    pub to_m: [Curve; 3],
    pub size_m: f64,
    pub width_m: f64,
}

/// Grip centre in hand coordinates, m.
pub fn grip_local(body: &Body) -> V3 {
    V3::new(0.0, -body.grip_m, 0.0)
}

impl ThingPlan {
    fn place(&self, c: &[Curve; 3], phase: f64, f: &Figure, body: &Body) -> V3 {
        let v = V3::new(c[0].at(phase), c[1].at(phase), c[2].at(phase));
        match self.anchor {
            Anchor::World => v,
            Anchor::Segment(s) => f.at(s, &v),
            Anchor::Point(s, local) => f.at(s, &local) + v,
            Anchor::Hands => {
                let g = grip_local(body);
                (f.at(Segment::Hand(Side::Right), &g) + f.at(Segment::Hand(Side::Left), &g)) * 0.5 + v
            }
        }
    }

    /// The thing at a phase, world axes.
    pub fn draw(&self, phase: f64, f: &Figure, body: &Body) -> Option<Thing> {
        let at = self.place(&self.at_m, phase, f, body).into();
        let to: [f64; 3] = match self.anchor {
            // Boards and rails on a segment run in its axes; cables run to a fixed pulley.
            _ if matches!(self.kind.as_str(), "cable") => {
                [self.to_m[0].at(phase), self.to_m[1].at(phase), self.to_m[2].at(phase)]
            }
            _ => self.place(&self.to_m, phase, f, body).into(),
        };
        let hand_axis = |s: Segment| -> [f64; 3] { f.pose(s).turn(&V3::x()).into() };
        Some(match self.kind.as_str() {
            "bar" => Thing::Bar { at, half_length_m: self.width_m, plate_radius_m: self.size_m },
            "dumb-bell" => Thing::DumbBell {
                at,
                axis: match self.anchor {
                    Anchor::Segment(s) | Anchor::Point(s, _) => hand_axis(s),
                    _ => [0.0, 0.0, 1.0],
                },
            },
            "kettle-bell" => Thing::KettleBell { at },
            "plate" => Thing::Plate { at, radius_m: self.size_m, axis: [1.0, 0.0, 0.0] },
            "disc" => Thing::Plate { at, radius_m: self.size_m, axis: [0.0, 0.0, 1.0] },
            "cable" => Thing::Cable { from: at, to },
            "band" => {
                let g = grip_local(body);
                let hand = |s: Side| f.at(Segment::Hand(s), &g).into();
                Thing::Cable { from: hand(Side::Right), to: hand(Side::Left) }
            }
            "pulley" => Thing::Pulley { at },
            "board" => Thing::Board { from: at, to, thickness_m: self.size_m, width_m: self.width_m },
            "pad" => Thing::Pad { at, radius_m: self.size_m },
            "rail" => Thing::Rail { from: at, to },
            "block" => Thing::Block {
                at,
                half_length_m: self.width_m,
                height_m: self.size_m,
                half_width_m: self.width_m.max(0.2),
            },
            "slab" => Thing::Slab { from: at, to },
            _ => return None,
        })
    }
}
