//! Family files: one posture recipe each, as a coach with patience can read, copy and change.
//!
//! A family states what holds in every frame; the posture is found by the solver. The file format is documented in
//! `docs/movement_files.md`; every field of a file is one field here.

use serde::Deserialize;
use std::collections::BTreeMap;
use toml::Spanned;

/// A number or an expression, with its place in the file.
#[derive(Clone, Debug, Deserialize)]
#[serde(untagged)]
pub enum Formula {
    Number(f64),
    Text(String),
}

impl Formula {
    pub fn text(&self) -> String {
        match self {
            Formula::Number(n) => format!("{n:?}"),
            Formula::Text(t) => t.clone(),
        }
    }
}

/// A formula with its place in the file.
pub type Placed = Spanned<Formula>;

/// A value over the rep: constant, from start to turn, key values evenly spaced from start to turn, or an expression of
/// the phase `u` (0 at the start, 1 at the turn).
#[derive(Clone, Debug, Deserialize)]
#[serde(untagged)]
pub enum TrackValue {
    Plain(Formula),
    Ends { start: Formula, turn: Formula },
    Keys { keys: Vec<Formula> },
    Along { along: Formula },
}

/// A value over the rep with its place in the file.
pub type Track = Spanned<TrackValue>;

/// Which way the muscles work: from the turning point back to the start (squat), or from the start to the turn (curl).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Lift {
    FromTurn,
    ToTurn,
}

/// A whole family file.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FamilyFile {
    pub id: String,
    pub name: String,
    pub lift: Lift,
    /// Words for start and turn ("standing", "bottom").
    pub words: [String; 2],
    /// 1 = both sides move alike; 0 = the right side is the working side.
    #[serde(default)]
    pub symmetric: Option<Placed>,
    /// Family whose settings this one takes over (a copied file with a new id).
    #[serde(default)]
    pub like: Option<String>,
    /// Where the solver begins: `start` (default) or `turn`, whichever is nearer to standing at ease.
    #[serde(default)]
    pub begin: Option<Spanned<String>>,
    /// Coordinates the solver may move: `root`, `root.lean`, `hip`, `knee`, `ankle`, `lumbar`, `shoulder`, `elbow`, …
    /// One side alone is `knee left`; one variant of the family alone is `hip when TEST`.
    #[serde(default)]
    pub solve: Vec<Spanned<String>>,
    /// Named helpers.
    #[serde(default, rename = "let")]
    pub helpers: BTreeMap<String, Placed>,
    #[serde(default)]
    pub hold: Vec<Hold>,
    #[serde(default)]
    pub load: Vec<Load>,
    #[serde(default)]
    pub contact: Vec<Contact>,
    #[serde(default)]
    pub free: Vec<FreeComponent>,
    /// Joints whose muscles must balance the load; all others are supported.
    pub balanced: Vec<Spanned<String>>,
    /// Lumbar and hip rows only: conditions under which a joint is supported after all, by joint id.
    #[serde(default)]
    pub supported_when: BTreeMap<String, Placed>,
    #[serde(default)]
    pub thing: Vec<ThingFile>,
    /// Load assumed for balance before the set's load is known, kg.
    #[serde(default)]
    pub nominal_load_kg: Option<Placed>,
    #[serde(default)]
    pub tempo: Tempo,
    /// Seconds of the lift where they follow from something else than the setting `tempo_up_s`.
    #[serde(default)]
    pub lift_s: Option<Placed>,
    /// `'rests'` (default: from rest to rest), `'thrown'` (sped up evenly to the last frame), `'steady'` (one speed).
    #[serde(default)]
    pub pace: Option<Placed>,
    #[serde(default)]
    pub fault: Vec<Fault>,
    #[serde(default)]
    pub safety: Safety,
    /// Typical repetitions of a set.
    #[serde(default)]
    pub reps: Option<[f64; 2]>,
    /// Settings beside the shared table, for families a coach adds.
    #[serde(default)]
    pub settings: BTreeMap<String, OwnSetting>,
    /// Movements that the file itself names, for families a coach adds.
    #[serde(default)]
    pub movement: Vec<OwnMovement>,
}

/// A movement of the file's family: what a row of the shared table says of the others.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OwnMovement {
    pub id: Spanned<String>,
    pub name: String,
    /// What differs from the family's defaults.
    #[serde(default)]
    pub settings: BTreeMap<String, Placed>,
    /// Words of `kits.csv`; `body-weight` where nothing is needed.
    #[serde(default)]
    pub equipment: Vec<String>,
    /// `bilateral` (default), `unilateral`, `alternating`.
    #[serde(default)]
    pub sides: Option<Spanned<String>>,
    /// Further names as they stand in sheets.
    #[serde(default)]
    pub aliases: Vec<String>,
    /// Muscles for the column of the counting convention; the mechanics does not read them.
    #[serde(default)]
    pub direct: Vec<String>,
    #[serde(default)]
    pub indirect: Vec<String>,
    #[serde(default)]
    pub cautions: Vec<String>,
}

impl OwnMovement {
    /// The family with its default settings.
    pub fn named(id: &str, name: &str) -> OwnMovement {
        OwnMovement {
            id: Spanned::new(0..0, id.into()),
            name: name.into(),
            settings: BTreeMap::new(),
            equipment: Vec::new(),
            sides: None,
            aliases: Vec::new(),
            direct: Vec::new(),
            indirect: Vec::new(),
            cautions: Vec::new(),
        }
    }
}

/// A setting defined in the file itself.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OwnSetting {
    pub of: String,
    #[serde(default)]
    pub unit: String,
    #[serde(default)]
    pub range: Option<[f64; 2]>,
    #[serde(default)]
    pub choices: Vec<String>,
    pub default: Formula,
}

/// Something that is true in every frame.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hold {
    /// `angle`, `hip`, `shoulder`, `place`, `lean`, `point`, `foot`, `sole`, `balance`, `pole`.
    pub what: Spanned<String>,
    /// Coordinate, segment or body point it is about.
    #[serde(default)]
    pub of: Option<Spanned<String>>,
    /// `both` (default), `right`, `left`.
    #[serde(default)]
    pub side: Option<Spanned<String>>,
    /// Frame of a point: `world` (default), `thorax`, `pelvis`.
    #[serde(default, rename = "in")]
    pub frame: Option<Spanned<String>>,
    #[serde(default)]
    pub angle_deg: Option<Track>,
    #[serde(default)]
    pub plane_deg: Option<Track>,
    #[serde(default)]
    pub elevation_deg: Option<Track>,
    /// External rotation positive, as coaches' tables write it.
    #[serde(default)]
    pub external_rotation_deg: Option<Track>,
    #[serde(default)]
    pub flexion_deg: Option<Track>,
    #[serde(default)]
    pub abduction_deg: Option<Track>,
    #[serde(default)]
    pub x_m: Option<Track>,
    #[serde(default)]
    pub y_m: Option<Track>,
    #[serde(default)]
    pub z_m: Option<Track>,
    #[serde(default)]
    pub lean_deg: Option<Track>,
    #[serde(default)]
    pub side_lean_deg: Option<Track>,
    #[serde(default)]
    pub turn_deg: Option<Track>,
    #[serde(default)]
    pub toe_out_deg: Option<Track>,
    #[serde(default)]
    pub pitch_deg: Option<Track>,
    /// `sole`: slope of the surface the foot stands on; `point`: the axes x and y are turned by this much.
    #[serde(default)]
    pub slope_deg: Option<Track>,
    /// `balance`: place of the pressure along the foot, % from the heel.
    #[serde(default)]
    pub at_pct: Option<Track>,
    #[serde(default)]
    pub weight: Option<Track>,
    #[serde(default)]
    pub when: Option<Placed>,
}

/// Something that pushes or pulls on the body.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Load {
    /// `weight`, `cable`, `band`, `pad` (machine pad square to a limb), `rail` (fixed direction), `lever` (square to the
    /// line from a pivot), `hinged-weight` (the same, as gravity turns it; without `dir` the
    /// hinge lets it move every way, as a bar in a corner), `body` (own weight).
    pub kind: Spanned<String>,
    /// `hands`, `hand`, `thorax`, `pelvis`, `thigh`, `shank`, `foot`, `head`, `upper-arm`, `forearm`, `feet`.
    #[serde(default)]
    pub on: Option<Spanned<String>>,
    #[serde(default)]
    pub side: Option<Spanned<String>>,
    /// Place on the segment, segment axes.
    #[serde(default)]
    pub x_m: Option<Placed>,
    #[serde(default)]
    pub y_m: Option<Placed>,
    #[serde(default)]
    pub z_m: Option<Placed>,
    /// Part of the load this one carries (default 1).
    #[serde(default)]
    pub share: Option<Placed>,
    /// `other-hand`: a band held between the two hands.
    #[serde(default)]
    pub to: Option<Spanned<String>>,
    /// Pulley, anchor or pivot, world.
    #[serde(default)]
    pub to_x_m: Option<Placed>,
    #[serde(default)]
    pub to_y_m: Option<Placed>,
    #[serde(default)]
    pub to_z_m: Option<Placed>,
    /// `pad`: direction of the push in segment axes; `rail`: direction of the push in world axes; `lever` and
    /// `hinged-weight`: axis about which the load turns the lever, world.
    #[serde(default)]
    pub dir: Option<[Placed; 3]>,
    /// Force profile over the lift: `constant`, `bell`, `rising`, `falling`, `runs-out`, `stroke`.
    #[serde(default)]
    pub cam: Option<Placed>,
    /// Constant part of the force along the same line, N.
    #[serde(default)]
    pub constant_n: Option<Placed>,
    #[serde(default)]
    pub when: Option<Placed>,
}

/// A support that can carry force.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Contact {
    /// `feet`, `foot`, `hands`, `thorax`, `pelvis`, `knees`, `toes`, `heels`, `shank`, `elbows`.
    pub on: Spanned<String>,
    #[serde(default)]
    pub side: Option<Spanned<String>>,
    #[serde(default)]
    pub x_m: Option<Placed>,
    #[serde(default)]
    pub y_m: Option<Placed>,
    #[serde(default)]
    pub z_m: Option<Placed>,
    /// Direction of the support's push, world (default up); over the rep for straps that swing.
    #[serde(default)]
    pub normal: Option<[Track; 3]>,
    /// How readily it carries shear compared with normal force: 0 (default) none, 1 as readily.
    #[serde(default)]
    pub shear: Option<Placed>,
    /// Friction limit (default 0.6: rubber).
    #[serde(default)]
    pub friction: Option<Placed>,
    /// Part of the whole that this contact would carry if it were free to choose; larger = takes more;
    /// 0 = a place only, for a free component such as `seat-push`. Over the rep it may fall to 0: a back that leaves
    /// the floor.
    #[serde(default)]
    pub readiness: Option<Track>,
    #[serde(default)]
    pub when: Option<Placed>,
}

/// A component that equilibrium leaves undetermined.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FreeComponent {
    /// `side-push` (two feet or hands push apart), `fore-push` (shear along the foot), `pressure` (pressure moves
    /// sideways under the foot), `twist` (friction turns the foot on the floor), `bar-push` (hand along a bar), `axial-hip`, `axial-shoulder`, `trunk-stop`,
    /// `seat-push` (a seat under a thigh, a knee under an elbow).
    pub kind: Spanned<String>,
    /// Usual value as a ratio of the normal force or hand load.
    #[serde(default)]
    pub usual: Option<Placed>,
    /// The setting that states the usual value; when a coach sets it, the component is fixed there.
    #[serde(default)]
    pub setting: Option<String>,
    /// Half width of the free range, ratio or m.
    #[serde(default)]
    pub span: Option<Placed>,
    #[serde(default)]
    pub when: Option<Placed>,
}

/// An object to draw.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ThingFile {
    /// `bar`, `dumb-bell`, `kettle-bell`, `plate`, `cable`, `board`, `pad`, `rail`, `block`, `slab`.
    pub kind: Spanned<String>,
    /// Where: `world` (default) or a body point or segment the coordinates are relative to.
    #[serde(default)]
    pub at: Option<Spanned<String>>,
    #[serde(default)]
    pub side: Option<Spanned<String>>,
    #[serde(default)]
    pub x_m: Option<Track>,
    #[serde(default)]
    pub y_m: Option<Track>,
    #[serde(default)]
    pub z_m: Option<Track>,
    #[serde(default)]
    pub to_x_m: Option<Track>,
    #[serde(default)]
    pub to_y_m: Option<Track>,
    #[serde(default)]
    pub to_z_m: Option<Track>,
    /// Radius, half length or thickness, m, by kind.
    #[serde(default)]
    pub size_m: Option<Placed>,
    #[serde(default)]
    pub width_m: Option<Placed>,
    #[serde(default)]
    pub when: Option<Placed>,
}

/// Seconds of the two moving phases.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tempo {
    #[serde(default = "two")]
    pub down_s: f64,
    #[serde(default = "one_point_two")]
    pub up_s: f64,
}

fn two() -> f64 {
    2.0
}
fn one_point_two() -> f64 {
    1.2
}

impl Default for Tempo {
    fn default() -> Self {
        Tempo { down_s: 2.0, up_s: 1.2 }
    }
}

/// A common fault as a change of settings.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fault {
    pub id: String,
    pub name: String,
    /// Setting → value at the fault.
    pub change: BTreeMap<String, Formula>,
    #[serde(default)]
    pub effect: String,
}

/// Cautions and stop signs shown beside the movement.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Safety {
    #[serde(default)]
    pub cautions: Vec<String>,
    #[serde(default)]
    pub stop_signs: Vec<String>,
}

/// A problem in a file, placed.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    pub file: String,
    /// 1-based; 0 where the problem is about the whole file.
    pub line: usize,
    pub column: usize,
    pub text: String,
}

impl std::fmt::Display for Problem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.line == 0 {
            write!(f, "{}: {}", self.file, self.text)
        } else {
            write!(f, "{}, line {}, column {}: {}", self.file, self.line, self.column, self.text)
        }
    }
}

/// Line and column of a byte offset, 1-based.
pub fn line_column(text: &str, offset: usize) -> (usize, usize) {
    let before = &text.as_bytes()[..offset.min(text.len())];
    let line = before.iter().filter(|&&b| b == b'\n').count() + 1;
    let start = before.iter().rposition(|&b| b == b'\n').map_or(0, |i| i + 1);
    let column = String::from_utf8_lossy(&before[start..]).chars().count() + 1;
    (line, column)
}

/// Parse one family file.
///
/// # Errors
/// The first syntax or field error with its line and column; expressions are checked when a movement is built.
pub fn parse_family(text: &str, file: &str) -> Result<FamilyFile, Problem> {
    toml::from_str(text).map_err(|e| {
        let (line, column) = e.span().map_or((0, 0), |s| line_column(text, s.start));
        Problem { file: file.into(), line, column, text: e.message().to_string() }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wrong_field_is_named_with_its_line() {
        let text = "id = \"x\"\nname = \"X\"\nlift = \"from-turn\"\nwords = [\"a\", \"b\"]\nbalanced = []\nholds = 3\n";
        let p = parse_family(text, "x.toml").unwrap_err();
        assert_eq!((p.line, p.file.as_str()), (6, "x.toml"));
        assert!(p.text.contains("unknown field `holds`"), "{}", p.text);
    }
}
