//! What a movement, done this way, trains in this body.

use crate::{Class, Credit, Range, Settings, Span, TrialShown};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Answer to `look`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Look {
    /// Name and version of this shape.
    pub schema: String,
    /// Movement id.
    pub movement: String,
    pub name: String,
    /// How the name asked for was read, where it is not the movement's own; empty otherwise.
    #[serde(default)]
    pub read_as: String,
    pub settings: Settings,
    pub body: BodyNote,
    /// Joint whose muscles run out first, `balance` where more cannot be balanced, or `none`.
    pub limiting_joint: String,
    /// Phase of the lift where the rep is hardest: 0 = turning point, 1 = end of the lift.
    pub sticking_phase: f64,
    /// Load of a hard set, in the movement's unit.
    pub load_kg: f64,
    /// The same with its range.
    #[serde(default)]
    pub load_range: Range,
    /// What the load number means ("kg on the bar", "x body weight", …).
    pub load_unit: String,
    /// Largest joint moment left unbalanced over the rep, N·m.
    pub residual_nm: f64,
    /// Warning where the load is outside what coaches see; empty otherwise.
    pub load_note: String,
    /// Largest joint contact force over the rep per joint, × body weight.
    pub contact_forces: BTreeMap<String, f64>,
    /// One leg carries the load: comparisons with measured joint forces come out too high for such tasks.
    #[serde(default)]
    pub one_leg: bool,
    pub heads: Vec<HeadLook>,
    /// Largest moment the muscles must make about each anatomical axis over the rep, N·m.
    pub moments: Vec<MomentLook>,
    pub cautions: Vec<String>,
    pub stop_signs: Vec<String>,
    /// What was assumed, in plain words.
    pub notes: Vec<String>,
    /// The other numbers with their ranges; of no width without draws.
    #[serde(default)]
    pub ranges: LookRanges,
    /// Which source makes the ranges, one line; empty without draws.
    #[serde(default)]
    pub range_note: String,
    /// Training studies of this movement or near ones, nearest first; empty where there are none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub trials: Vec<TrialShown>,
    /// Drawing data; skipped in JSON unless a figure is asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scene: Option<Scene>,
}

/// Ranges of a look's numbers, each under the name and in the unit of the number itself.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LookRanges {
    pub sticking_phase: Range,
    pub residual_nm: Range,
    pub contact_forces: BTreeMap<String, Range>,
}

/// Ranges of a head's numbers, each under the name and in the unit of the number itself.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct HeadRanges {
    /// Shortest normalised fibre length over the lift.
    pub length_min: Range,
    /// Longest normalised fibre length over the lift.
    pub length_max: Range,
    pub length_change_mm: Range,
    pub by_joint_mm: BTreeMap<String, Range>,
    pub opposition: Range,
    pub long_share: Range,
    pub activation: Range,
    pub force_n: Range,
}

/// Ranges of a moment's numbers. A draw in which the moment turns the other way counts as negative.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct MomentRanges {
    pub peak_nm: Range,
    pub mean_nm: Range,
    pub peak_phase: Range,
}

/// For whom.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct BodyNote {
    pub who: String,
    pub sex: String,
    pub stature_m: f64,
    pub mass_kg: f64,
}

/// One head in a movement.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct HeadLook {
    pub id: String,
    /// Coach's name.
    pub plain: String,
    pub group: String,
    pub class: Class,
    pub stimulus: Range,
    /// Normalised fibre length over the lift.
    pub length: Span,
    pub length_change_mm: LengthChange,
    /// 0 joints help each other, 1 they cancel; 0 for one-joint heads.
    pub opposition: f64,
    pub credit: Credit,
    /// Share of the stimulus earned above normalised length 1.
    pub long_share: f64,
    /// Mean activation over the lift at the set's load.
    pub activation: f64,
    /// Largest force over the lift, N.
    pub force_n: f64,
    #[serde(default)]
    pub ranges: HeadRanges,
    /// Why the number may be worth less than it looks ("low confidence", "exceeds its reference").
    pub marks: Vec<String>,
    /// Half-width of the stimulus range when one source alone varies, by source; empty without draws.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub range_sources: BTreeMap<String, f64>,
    /// Length ribbon: change since the start of the lift, mm, per frame, total and per joint.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ribbon: Option<Ribbon>,
}

/// Change of a head's length over the lift, mm; negative is shorter.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct LengthChange {
    pub total: f64,
    pub by_joint: BTreeMap<String, f64>,
}

/// Length ribbon of one head.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Ribbon {
    /// Net change, mm, one number a frame.
    pub total_mm: Vec<f64>,
    /// Each joint's part, mm, keyed by joint id.
    pub by_joint_mm: BTreeMap<String, Vec<f64>>,
}

/// One anatomical moment over the lift.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct MomentLook {
    /// Dotted axis in the direction the muscles must turn, e.g. `hip.extension`.
    pub axis: String,
    pub peak_nm: f64,
    pub mean_nm: f64,
    /// Phase of the peak, 0 = turning point.
    pub peak_phase: f64,
    #[serde(default)]
    pub ranges: MomentRanges,
}

/// Everything a figure of the posture needs, metres in world axes (X forward, Y up, Z right).
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Scene {
    /// Frames of the lift, first = turning point, last = end of the lift.
    pub frames: Vec<SceneFrame>,
    /// Implements and furniture that stand still or move with the body.
    pub floor_y_m: f64,
    /// Words for the two ends of the lift ("bottom", "standing").
    pub from_word: String,
    pub to_word: String,
    /// Index into `frames` of the hardest point.
    pub hardest_frame: usize,
    /// Largest load the muscles can balance in each frame, in the movement's load unit; empty where none was solved.
    #[serde(default)]
    pub capacity: Vec<f64>,
    /// What the muscles must make at the load of a hard set, one line an axis.
    #[serde(default)]
    pub moments: Vec<MomentCurve>,
}

/// A moment over the lift.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct MomentCurve {
    /// Dotted axis in the direction in which the mean is positive, e.g. `hip.extension`.
    pub axis: String,
    /// N·m, one number a frame; negative turns the other way.
    pub moment_nm: Vec<f64>,
}

/// One frame of a scene.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SceneFrame {
    /// Named points: `hip-right`, `knee-right`, `ankle-right`, `heel-right`, `toe-right`, `shoulder-right`, `elbow-right`,
    /// `wrist-right`, `grip-right` (and `-left`), `pelvis`, `lumbar`, `notch`, `neck`, `head-top`, `head-centre`.
    pub points: BTreeMap<String, [f64; 3]>,
    /// Implements: bar, plate, dumb-bell, cable, pulley, bench, pad, rail, box, step.
    pub things: Vec<Thing>,
    /// Force arrows, newtons at a point, drawn to scale.
    pub forces: Vec<ForceArrow>,
    /// Lever arms of the load line about joints, drawn with centimetres.
    pub levers: Vec<Lever>,
    /// Of the body alone.
    #[serde(default)]
    pub centre_of_mass: Option<[f64; 3]>,
}

/// An object in a scene.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Thing {
    /// A bar along Z (or any direction) with round plates.
    Bar { at: [f64; 3], half_length_m: f64, plate_radius_m: f64 },
    /// A dumb-bell at a hand; `axis` is the direction of its handle.
    DumbBell { at: [f64; 3], axis: [f64; 3] },
    /// A kettle-bell hanging below a hand.
    KettleBell { at: [f64; 3] },
    /// A plate held against the body.
    Plate { at: [f64; 3], radius_m: f64, axis: [f64; 3] },
    /// A cable or band from a hand or cuff to its anchor.
    Cable { from: [f64; 3], to: [f64; 3] },
    /// The pulley the cable runs over.
    Pulley { at: [f64; 3] },
    /// A padded board (bench, back rest, seat) as a thick line from `from` to `to`, seen from the side; `width_m` across.
    Board { from: [f64; 3], to: [f64; 3], thickness_m: f64, width_m: f64 },
    /// A round pad across the body.
    Pad { at: [f64; 3], radius_m: f64 },
    /// A straight rail.
    Rail { from: [f64; 3], to: [f64; 3] },
    /// A box or step on the floor: centre of its base, half length (X), height, half width (Z).
    Block { at: [f64; 3], half_length_m: f64, height_m: f64, half_width_m: f64 },
    /// A foot plate or wall seen edge-on.
    Slab { from: [f64; 3], to: [f64; 3] },
}

/// A force drawn as an arrow.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ForceArrow {
    pub at: [f64; 3],
    pub force_n: [f64; 3],
    /// `load` or `contact`.
    pub what: String,
}

/// Lever arm of the load line about a joint.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Lever {
    pub joint: String,
    pub joint_at: [f64; 3],
    /// Foot of the perpendicular on the load line.
    pub line_at: [f64; 3],
    pub length_m: f64,
}

/// Two or more movements side by side.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Compare {
    pub schema: String,
    pub looks: Vec<Look>,
    pub differences: Vec<HeadDifference>,
}

/// A head on which the compared movements differ.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct HeadDifference {
    pub id: String,
    pub plain: String,
    /// Stimulus in each movement.
    pub stimulus: Vec<Range>,
    /// Middle of the last minus middle of the first.
    pub change: f64,
    /// The same with its range: every draw puts one person with one anatomy through both movements.
    #[serde(default)]
    pub change_range: Range,
    /// Neither middle value lies in the other's range, and the change is at least [`MATTERS_FROM`](crate::MATTERS_FROM).
    pub matters: bool,
    /// As in [`HeadLook::marks`].
    #[serde(default)]
    pub marks: Vec<String>,
}

/// Movements ranked for one head.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Rank {
    pub schema: String,
    pub head: String,
    pub plain: String,
    /// As in [`HeadLook::marks`]: what holds for the head in every movement.
    #[serde(default)]
    pub marks: Vec<String>,
    pub kit: Option<String>,
    pub rows: Vec<RankRow>,
    /// Movements left out and why (kit, does not solve in this body).
    pub left_out: Vec<String>,
}

/// One ranked movement.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RankRow {
    pub movement: String,
    pub name: String,
    pub equipment: Vec<String>,
    pub class: Class,
    pub stimulus: Range,
    pub length: Span,
    pub credit: Credit,
    pub limiting_joint: String,
    /// One line: why it stands here.
    pub reason: String,
}

/// One head in the list of `muscles`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct MuscleRow {
    pub id: String,
    pub latin: String,
    pub plain: String,
    pub group: String,
    pub joints: Vec<String>,
    pub two_joint: bool,
    pub volume_cm3: f64,
}

/// One movement in the list of `movements`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct MovementRow {
    pub id: String,
    pub name: String,
    pub family: String,
    pub equipment: Vec<String>,
    pub settings: Settings,
}
