//! What the paths are fitted to: published lever arms, directions of pull, limits, one-sided facts.
//!
//! Postures and axes are written as in `data/proof/` ([`proof::posture`]).

use crate::sheet::{Problem, Sheet};
use anatomy::body::Body;
use anatomy::heads::HeadState;
use anatomy::skeleton::SidePosture;
use proof::posture::{Axis, Stance, stances};
use std::collections::BTreeMap;
use units::{V3, rad};

/// One posture, with what an axis needs of it.
#[derive(Clone, Debug)]
pub struct Place {
    pub stance: Stance,
    pub side: SidePosture,
}

/// An axis in one or more postures.
#[derive(Clone, Debug)]
pub struct Asked {
    /// Heads or strands that pull as one.
    pub heads: Vec<String>,
    /// As written: `hip.flexion`.
    pub axis_name: String,
    pub axis: Axis,
    pub posture: String,
    pub places: Vec<Place>,
}

impl Asked {
    /// Lever arm of a state in one of the postures, mm.
    pub fn arm_mm(&self, place: &Place, state: &HeadState) -> f64 {
        1e3 * self.axis.arm_m(&place.stance, &place.side, state)
    }

    /// Whether paths make this arm (hip and shoulder), not a table.
    pub fn by_path(&self) -> bool {
        self.axis_name.starts_with("hip.") || self.axis_name.starts_with("shoulder.")
    }

    fn parse(s: &Sheet, row: usize, body: &Body) -> Result<Asked, Problem> {
        let axis_name = s.text(row, "axis")?.to_string();
        let posture = s.text(row, "posture")?.to_string();
        let places = stances(&posture).map_err(|e| s.problem(row, "posture", e))?;
        Ok(Asked {
            heads: s.text(row, "heads")?.split('+').map(|h| h.trim().to_string()).collect(),
            axis: Axis::parse(&axis_name).map_err(|e| s.problem(row, "axis", e))?,
            axis_name,
            posture,
            places: places.into_iter().map(|stance| Place { side: stance.side(body), stance }).collect(),
        })
    }
}

/// How the arms of several postures become one number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Statistic {
    Mean,
    /// The one farthest from zero.
    Peak,
}

impl Statistic {
    pub fn of(self, values: &[f64]) -> f64 {
        match self {
            Statistic::Mean => values.iter().sum::<f64>() / values.len() as f64,
            Statistic::Peak => values.iter().copied().max_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or(f64::NAN),
        }
    }
}

/// How a number is known. Only told: how much a row counts is said by its scatter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Trust {
    /// Looked up, well remembered, or weighed from several.
    High,
    Medium,
    Low,
}

impl Trust {
    fn of(how: &str) -> Trust {
        if how.contains("low") {
            Trust::Low
        } else if how.contains("from-memory") && !how.contains("high") {
            Trust::Medium
        } else {
            Trust::High
        }
    }
}

/// A published lever arm.
#[derive(Clone, Debug)]
pub struct Arm {
    pub id: String,
    pub asked: Asked,
    pub statistic: Statistic,
    pub value_mm: f64,
    pub sd_mm: f64,
    /// How the number is known.
    pub trust: Trust,
    /// The better source that replaces it: the row is shown, and steers nothing.
    pub superseded: Option<String>,
}

/// A published direction of pull on the humerus in the axes of the resting blade.
#[derive(Clone, Debug)]
pub struct Line {
    pub asked: Asked,
    /// Sideways, forward, upward.
    pub direction: V3,
    /// Turn of the blade's plane before the frontal one, rad.
    pub blade_rad: f64,
    /// Whether the sign of the upward part was seen (at rest only).
    pub up_signed: bool,
    pub used: bool,
}

impl Line {
    /// The model's direction in the axes of the line.
    pub fn direction_of(&self, state: &HeadState) -> V3 {
        let d = state.pull_on_humerus;
        let rest = self.asked.places[0].side.girdle_pose.scapula.rotation.transpose() * d / d.norm().max(1e-9);
        let (s, c) = self.blade_rad.sin_cos();
        V3::new(s * rest.x + c * rest.z, c * rest.x - s * rest.z, rest.y)
    }

    /// The published direction, with the sign of its upward part taken from `got` where it was not seen.
    pub fn published(&self, got: &V3) -> V3 {
        let mut want = self.direction;
        if !self.up_signed {
            want.z = want.z.abs() * got.z.signum();
        }
        want
    }
}

/// A fact or limit with one side: a lever arm that is at least or at most so large, in every posture.
#[derive(Clone, Debug)]
pub struct OneSided {
    pub asked: Asked,
    /// +1: at least, −1: at most.
    pub side: f64,
    pub limit_mm: f64,
    /// Violation that counts as one standard deviation, mm.
    pub scale_mm: f64,
}

impl OneSided {
    /// How far an arm is on the wrong side, mm; 0 when it holds.
    pub fn violation_mm(&self, arm_mm: f64) -> f64 {
        (self.side * (self.limit_mm - arm_mm)).max(0.0)
    }
}

/// All targets.
#[derive(Clone, Debug, Default)]
pub struct Targets {
    pub arms: Vec<Arm>,
    pub lines: Vec<Line>,
    pub one_sided: Vec<OneSided>,
}

/// Tables of published points, and ours with the same columns beside the anatomy.
const ARMS: [&str; 2] = ["proof/moment-arms.csv", "anatomy/targets/arms.csv"];
const SUPERSEDED: &str = "anatomy/targets/superseded.csv";
const LINES: &str = "proof/lines-of-action.csv";
const BOUNDS: &str = "proof/shoulder-bounds.csv";
const ONE_SIDED: &str = "anatomy/targets/one-sided.csv";
/// A muscle that is a strand of one of our heads is left out of comparisons of heads, not of the fit.
const STRAND_ONLY: &str = "muscle has no head of its own";
/// Weight and scale of the wide fences, which are recalled and meant against gross errors, mm.
const FENCE_SCALE_MM: f64 = 5.0;
/// A sweep of a fence is read at every so many-th posture.
const FENCE_STEP: usize = 4;

impl Targets {
    /// `known`: whether a name is a head or a strand.
    ///
    /// # Errors
    /// The first fault in one of the tables.
    pub fn parse(files: &crate::Files, body: &Body, known: &dyn Fn(&str) -> bool) -> Result<Targets, Problem> {
        let mut out = Targets::default();
        let s = Sheet::find(files, SUPERSEDED)?;
        let mut superseded: BTreeMap<String, (usize, String)> = BTreeMap::new();
        for i in 0..s.rows.len() {
            superseded.insert(s.text(i, "id")?.into(), (i, s.text(i, "reason")?.into()));
        }
        for name in ARMS {
            out.read_arms(&Sheet::find(files, name)?, body, known, &mut superseded)?;
        }
        if let Some((id, (row, _))) = superseded.iter().next() {
            return Err(s.problem(*row, "id", format!("there is no published row {id} that is in use")));
        }
        let s = Sheet::find(files, LINES)?;
        for i in (0..s.rows.len()).filter(|&i| s.text(i, "left_out").is_ok_and(str::is_empty)) {
            let asked = Asked::parse_line(&s, i, body)?;
            let rest = asked.posture.split(['=', '/']).nth(2) == Some("0");
            out.lines.push(Line {
                asked,
                direction: V3::new(s.number(i, "sideways")?, s.number(i, "forward")?, s.number(i, "up")?),
                blade_rad: rad(s.number(i, "blade_deg")?),
                up_signed: rest,
                used: s.one_of(i, "fitted", &[("yes", true), ("no", false)])?,
            });
        }
        let s = Sheet::find(files, BOUNDS)?;
        for i in 0..s.rows.len() {
            if !s.text(i, "left_out")?.is_empty() {
                continue;
            }
            let asked = Asked::parse(&s, i, body)?;
            // `a;b` asks heads one by one.
            for heads in s.text(i, "heads")?.split(';') {
                let mut one = asked.clone();
                one.heads = heads.split('+').map(|h| h.trim().to_string()).collect();
                one.places = one.places.into_iter().step_by(FENCE_STEP).collect();
                for (side, limit) in [(1.0, "low_mm"), (-1.0, "high_mm")] {
                    let limit_mm = s.number(i, limit)?;
                    out.one_sided.push(OneSided { asked: one.clone(), side, limit_mm, scale_mm: FENCE_SCALE_MM });
                }
            }
        }
        let s = Sheet::find(files, ONE_SIDED)?;
        for i in 0..s.rows.len() {
            out.one_sided.push(OneSided {
                asked: Asked::parse(&s, i, body)?,
                side: s.one_of(i, "relation", &[("least", 1.0), ("most", -1.0)])?,
                limit_mm: s.number(i, "limit_mm")?,
                scale_mm: positive(&s, i, "scale_mm")?,
            });
        }
        Ok(out)
    }

    fn read_arms(
        &mut self,
        s: &Sheet,
        body: &Body,
        known: &dyn Fn(&str) -> bool,
        superseded: &mut BTreeMap<String, (usize, String)>,
    ) -> Result<(), Problem> {
        for i in 0..s.rows.len() {
            let left_out = s.text(i, "left_out")?;
            let heads = s.text(i, "heads")?;
            let strand = left_out == STRAND_ONLY && heads.split('+').all(|h| known(h.trim()));
            if !left_out.is_empty() && !strand {
                continue;
            }
            let id = s.text(i, "id")?.to_string();
            let reason = superseded.remove(&id).map(|r| r.1);
            let kinds = [("mean", Statistic::Mean), ("", Statistic::Mean), ("peak", Statistic::Peak)];
            self.arms.push(Arm {
                asked: Asked::parse(s, i, body)?,
                statistic: s.one_of(i, "statistic", &kinds)?,
                value_mm: s.number(i, "arm_mm")?,
                sd_mm: positive(s, i, "tolerance_mm")?,
                trust: Trust::of(s.text(i, "how")?),
                superseded: reason,
                id,
            });
        }
        Ok(())
    }
}

impl Asked {
    /// A line of action has no axis of its own.
    fn parse_line(s: &Sheet, row: usize, body: &Body) -> Result<Asked, Problem> {
        let posture = s.text(row, "posture")?.to_string();
        let places = stances(&posture).map_err(|e| s.problem(row, "posture", e))?;
        Ok(Asked {
            heads: vec![s.text(row, "heads")?.to_string()],
            axis_name: "line".into(),
            axis: Axis::ShoulderElevation,
            posture,
            places: places.into_iter().map(|stance| Place { side: stance.side(body), stance }).collect(),
        })
    }
}

fn positive(s: &Sheet, row: usize, column: &str) -> Result<f64, Problem> {
    let v = s.number(row, column)?;
    if v > 0.0 { Ok(v) } else { Err(s.problem(row, column, format!("{v} is not above 0"))) }
}
