//! What the program says about a head or a joint in a posture, for whoever a case was measured on.

use crate::cases::{CaseError, Row};
use crate::posture::{Axis, Stance, midline};
use anatomy::body::{Body, BodySpec, BodyTables, Sex, Training};
use anatomy::heads::{HeadMask, HeadState, MuscleFrame, MuscleModel, Variation};
use library::Library;
use numerics::capacity::{Bounds, Capacity};

/// A body with its heads.
pub struct Subject<'l> {
    pub library: &'l Library,
    pub body: Body,
    pub model: MuscleModel,
}

impl<'l> Subject<'l> {
    /// The untrained man of the muscle tables, 1.75 m and 75 kg: people in a laboratory are seldom lifters.
    pub fn table_man(library: &'l Library) -> Subject<'l> {
        Subject::of(library, Body { trained_share: 0.0, ..Body::average_man() })
    }

    /// The person a case names, made into `own`; the man of the tables where it names none.
    ///
    /// # Errors
    /// As [`Subject::parse`], with the case's place.
    pub fn of_case<'a>(
        row: &Row,
        man: &'a Subject<'l>,
        own: &'a mut Option<Subject<'l>>,
    ) -> Result<&'a Subject<'l>, CaseError> {
        match row.optional("person") {
            "" => Ok(man),
            text => Ok(own.insert(Subject::parse(man.library, text).map_err(|e| row.wrong("person", e))?)),
        }
    }

    fn of(library: &'l Library, body: Body) -> Subject<'l> {
        let model = MuscleModel::new(&library.tables, &body, &Variation::none());
        Subject { library, body, model }
    }

    /// Reads a person: empty for the table's man, else `M 1.78 75` or `F 1.65 62` (sex, stature in m, mass in kg).
    ///
    /// # Errors
    /// What was expected, or why there is no such body.
    pub fn parse(library: &'l Library, text: &str) -> Result<Subject<'l>, String> {
        if text.is_empty() {
            return Ok(Subject::table_man(library));
        }
        let wrong = || format!("person \"{text}\", expected sex, stature in m and mass in kg, for instance F 1.65 62");
        let mut words = text.split_whitespace();
        let sex = match words.next() {
            Some("M") => Sex::Male,
            Some("F") => Sex::Female,
            _ => return Err(wrong()),
        };
        let mut number = || words.next().and_then(|w| w.parse::<f64>().ok()).ok_or_else(wrong);
        let spec = BodySpec { training: Training::Untrained, ..BodySpec::new(sex, number()?, number()?) };
        let report = Body::new(&spec, BodyTables::shipped()).map_err(|e| format!("person \"{text}\": {e}"))?;
        Ok(Subject::of(library, Body { trained_share: 0.0, ..report.body }))
    }

    /// All heads in a posture.
    pub fn frame(&self, stance: &Stance) -> MuscleFrame {
        let mut frame = self.model.frame();
        self.model.evaluate(&stance.side(&self.body), HeadMask::all(self.model.len()), &mut frame);
        frame
    }

    /// Lever arm of heads that pull as one, m: Σ F₀ r / Σ F₀, F₀ their forces at full activation and optimal length.
    pub fn arm_m(&self, heads: &[usize], axis: Axis, stance: &Stance) -> f64 {
        let frame = self.frame(stance);
        let side = stance.side(&self.body);
        let (mut moment, mut force) = (0.0, 0.0);
        for &i in heads {
            moment += frame.heads[i].max_force_n * axis.arm_m(stance, &side, &frame.heads[i]);
            force += frame.heads[i].max_force_n;
        }
        moment / force
    }

    /// Largest torque about an axis, N·m, by muscles alone: the capacity solver finds the load that fully active
    /// muscles can just carry about this one axis, antagonists free to stay slack, every other axis held (straps and
    /// seat of a dynamometer). `sign` 1 or −1 along the axis. With `passive`, stretched muscles help or hinder.
    ///
    /// # Errors
    /// The solver's.
    pub fn torque_nm(&self, axis: Axis, sign: f64, stance: &Stance, passive: bool) -> Result<f64, String> {
        const CAP_NM: f64 = 5000.0;
        /// Rows of order one for the solver.
        const UNIT_NM: f64 = 100.0;
        let frame = self.frame(stance);
        let side = stance.side(&self.body);
        let sides = if midline(axis) { 2.0 } else { 1.0 };
        let arm = |s: &HeadState| sign * axis.arm_m(stance, &side, s) * sides / UNIT_NM;
        // Turning the spine needs the muscles of the other side, whose arms are the mirror image.
        let mirrored = matches!(axis, Axis::Hinge(r) if r.joint() == anatomy::skeleton::Joint::Neck
            || r.joint() == anatomy::skeleton::Joint::Lumbar)
            && !midline(axis)
            && is_turn(axis);
        let mut columns: Vec<[f64; 1]> = Vec::new();
        let mut stretched = 0.0;
        for s in &frame.heads {
            let r = arm(s);
            columns.push([r * s.max_force_n * s.active]);
            stretched += r * s.max_force_n * s.passive;
            if mirrored {
                columns.push([-r * s.max_force_n * s.active]);
            }
        }
        let b0 = if passive && !mirrored { -stretched } else { 0.0 };
        let load = Capacity::new()
            .solve(1, &columns, &[], &Bounds::NONE, &[b0], &[1.0], CAP_NM / UNIT_NM, false)
            .map_err(|e| e.to_string())?;
        Ok(load.unwrap_or(0.0) * UNIT_NM)
    }

    /// Part of the torque of [`Subject::torque_nm`] that these heads give at full activation.
    pub fn torque_share(&self, heads: &[usize], axis: Axis, sign: f64, stance: &Stance) -> f64 {
        let frame = self.frame(stance);
        let side = stance.side(&self.body);
        let part = |s: &HeadState| (sign * axis.arm_m(stance, &side, s) * s.max_force_n * s.active).max(0.0);
        let all: f64 = frame.heads.iter().map(part).sum();
        heads.iter().map(|&i| part(&frame.heads[i])).sum::<f64>() / all.max(1e-9)
    }

    /// Heads of a cell: `a+b` pull as one, `a;b` are asked one by one.
    ///
    /// # Errors
    /// A head that is not in the table.
    pub fn heads(&self, text: &str) -> Result<Vec<Vec<usize>>, String> {
        let one = |id: &str| {
            self.library
                .tables
                .head_index(id.trim())
                .ok_or_else(|| format!("\"{}\" is no muscle head, expected an id of `lengthwise muscles`", id.trim()))
        };
        text.split(';').map(|group| group.split('+').map(one).collect()).collect()
    }
}

fn is_turn(axis: Axis) -> bool {
    use anatomy::skeleton::Row;
    matches!(axis, Axis::Hinge(Row::LumbarRotation | Row::NeckRotation))
}
