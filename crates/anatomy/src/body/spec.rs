//! Who the body is for, and why some bodies are refused.

use super::tables::{BodyTables, SexTables};
use super::{Part, Sex};
use crate::heads::table::edit_distance;
use std::collections::BTreeMap;

/// A tape measure, by the name used in client files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Tape {
    Thigh,
    Shank,
    Trunk,
    UpperArm,
    Forearm,
    Hand,
    Foot,
    Biacromial,
    /// Fingertip to fingertip.
    Span,
    /// Seat to vertex.
    SittingHeight,
}

impl Tape {
    pub const ALL: [Tape; 10] = [
        Tape::Thigh,
        Tape::Shank,
        Tape::Trunk,
        Tape::UpperArm,
        Tape::Forearm,
        Tape::Hand,
        Tape::Foot,
        Tape::Biacromial,
        Tape::Span,
        Tape::SittingHeight,
    ];

    /// Name in client files, with unit.
    pub fn id(self) -> &'static str {
        match self {
            Tape::Thigh => "thigh_m",
            Tape::Shank => "shank_m",
            Tape::Trunk => "trunk_m",
            Tape::UpperArm => "upper_arm_m",
            Tape::Forearm => "forearm_m",
            Tape::Hand => "hand_m",
            Tape::Foot => "foot_m",
            Tape::Biacromial => "biacromial_m",
            Tape::Span => "span_m",
            Tape::SittingHeight => "sitting_height_m",
        }
    }

    /// Name in data files.
    pub(super) fn name(self) -> &'static str {
        match self {
            Tape::Span => "span",
            Tape::SittingHeight => "sitting-height",
            _ => self.part().map_or("", Part::id),
        }
    }

    /// Place among what varies together.
    pub(super) fn measure(self) -> usize {
        match self {
            Tape::SittingHeight => Part::COUNT,
            Tape::Span => Part::COUNT + 1,
            _ => self.part().map_or(0, Part::index),
        }
    }

    /// The tape of this name. Errors: [`BodyProblem::UnknownTape`] with the nearest name.
    pub fn from_id(name: &str) -> Result<Tape, BodyProblem> {
        Tape::ALL.into_iter().find(|t| t.id() == name).ok_or_else(|| {
            let nearest = Tape::ALL.into_iter().min_by_key(|t| edit_distance(t.id(), name)).map_or("", Tape::id);
            BodyProblem::UnknownTape { got: name.to_string(), nearest }
        })
    }

    /// The part of the body this tape measures; `None` for span and sitting height, which inform several.
    pub fn part(self) -> Option<Part> {
        Some(match self {
            Tape::Thigh => Part::Thigh,
            Tape::Shank => Part::Shank,
            Tape::Trunk => Part::Trunk,
            Tape::UpperArm => Part::UpperArm,
            Tape::Forearm => Part::Forearm,
            Tape::Hand => Part::Hand,
            Tape::Foot => Part::Foot,
            Tape::Biacromial => Part::ShoulderBreadth,
            Tape::Span | Tape::SittingHeight => return None,
        })
    }

    /// The survey's name of the same length.
    pub fn landmark(self) -> &'static str {
        match self {
            Tape::Span => "arm-span",
            Tape::SittingHeight => "sitting-height",
            _ => self.part().map_or("", Part::landmark),
        }
    }
}

/// Lifting so far: decides how much of the trained strength factors applies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Training {
    /// Taken as trained, with a note.
    Unknown,
    Untrained,
    Trained {
        years: f64,
    },
}

/// What is known of a person.
#[derive(Clone, Debug, PartialEq)]
pub struct BodySpec {
    pub sex: Sex,
    pub stature_m: f64,
    pub mass_kg: f64,
    pub age_years: Option<f64>,
    pub training: Training,
    /// Tape measures between landmarks of the skin, m.
    pub tape_m: BTreeMap<Tape, f64>,
}

/// One reason why a body is impossible, with what is possible.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum BodyProblem {
    #[error(
        "stature {got_m:.2} m is not possible: {low_m:.2} to {high_m:.2} m can be handled; give it in metres (178 cm is 1.78)"
    )]
    Stature { got_m: f64, low_m: f64, high_m: f64 },
    #[error(
        "body mass {got_kg:.1} kg is not possible: {low_kg:.0} to {high_kg:.0} kg can be handled; give it in kilograms"
    )]
    Mass { got_kg: f64, low_kg: f64, high_kg: f64 },
    #[error(
        "{mass_kg:.1} kg at {stature_m:.2} m is not possible: at that stature {low_kg:.0} to {high_kg:.0} kg can be handled; check both"
    )]
    MassForStature { mass_kg: f64, stature_m: f64, low_kg: f64, high_kg: f64 },
    #[error("age {got_years:.0} is outside {low_years:.0} to {high_years:.0} years; correct it or leave it out")]
    Age { got_years: f64, low_years: f64, high_years: f64 },
    #[error("{got_years} years of training is not possible: 0 to {high_years:.0}; correct it or leave it out")]
    Training { got_years: f64, high_years: f64 },
    #[error("no tape measure is called \"{got}\"; nearest: {nearest}")]
    UnknownTape { got: String, nearest: &'static str },
    #[error(
        "{tape} {got_m:.3} m is not possible at {stature_m:.2} m: {low_m:.3} to {high_m:.3} m can be handled, \
         {mean_m:.3} m is usual; measure again ({endpoints}) or leave it out",
        tape = .tape.id()
    )]
    Tape { tape: Tape, got_m: f64, stature_m: f64, mean_m: f64, low_m: f64, high_m: f64, endpoints: String },
    #[error(
        "{parts} add up to {sum_m:.3} m, which contradicts the stature of {stature_m:.2} m: {low_m:.3} to {high_m:.3} m \
         can be handled; measure again or leave one of them out"
    )]
    TapeSum { parts: &'static str, sum_m: f64, stature_m: f64, low_m: f64, high_m: f64 },
    #[error("percentile {got} is outside {low} to {high}")]
    Percentile { got: f64, low: f64, high: f64 },
    #[error("a draw needs {expected} finite numbers, got {got}")]
    Draw { got: usize, expected: usize },
}

/// All reasons why a body is impossible.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{}", .problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
pub struct BodyError {
    pub problems: Vec<BodyProblem>,
}

impl From<BodyProblem> for BodyError {
    fn from(problem: BodyProblem) -> BodyError {
        BodyError { problems: vec![problem] }
    }
}

impl BodySpec {
    /// A person without tape measures, age or known training.
    pub fn new(sex: Sex, stature_m: f64, mass_kg: f64) -> BodySpec {
        BodySpec { sex, stature_m, mass_kg, age_years: None, training: Training::Unknown, tape_m: BTreeMap::new() }
    }

    /// The same person with a tape measure, m.
    pub fn with_tape(mut self, tape: Tape, length_m: f64) -> BodySpec {
        self.tape_m.insert(tape, length_m);
        self
    }

    /// The person whose stature and mass both stand at a percentile (0.1 to 99.9) of the survey's men or women.
    pub fn percentile(sex: Sex, percentile: f64, tables: &BodyTables) -> Result<BodySpec, BodyError> {
        let (low, high) = (0.1, 99.9);
        if !(low..=high).contains(&percentile) {
            return Err(BodyProblem::Percentile { got: percentile, low, high }.into());
        }
        let t = tables.of(sex);
        let at = |what: &str| t.spread(what).quantile(percentile);
        Ok(BodySpec::new(sex, at("stature"), at("body-mass")))
    }

    /// Every reason why this body is impossible.
    pub(super) fn problems(&self, tables: &BodyTables) -> Vec<BodyProblem> {
        let c = &tables.constants;
        let mut out = Vec::new();
        let (stature_m, mass_kg) = (self.stature_m, self.mass_kg);
        let stature_ok = (c.stature_low_m..=c.stature_high_m).contains(&stature_m);
        let mass_ok = (c.mass_low_kg..=c.mass_high_kg).contains(&mass_kg);
        if !stature_ok {
            out.push(BodyProblem::Stature { got_m: stature_m, low_m: c.stature_low_m, high_m: c.stature_high_m });
        }
        if !mass_ok {
            out.push(BodyProblem::Mass { got_kg: mass_kg, low_kg: c.mass_low_kg, high_kg: c.mass_high_kg });
        }
        let at_bmi = |bmi: f64| (bmi * stature_m * stature_m).clamp(c.mass_low_kg, c.mass_high_kg);
        let (low_kg, high_kg) = (at_bmi(c.bmi_low), at_bmi(c.bmi_high));
        if stature_ok && mass_ok && !(low_kg..=high_kg).contains(&mass_kg) {
            out.push(BodyProblem::MassForStature { mass_kg, stature_m, low_kg, high_kg });
        }
        if let Some(got_years) = self.age_years {
            let (low_years, high_years) = (c.age_low_years, c.age_high_years);
            if !(low_years..=high_years).contains(&got_years) {
                out.push(BodyProblem::Age { got_years, low_years, high_years });
            }
        }
        if let Training::Trained { years } = self.training {
            let high_years =
                self.age_years.filter(|a| (0.0..=c.age_high_years).contains(a)).unwrap_or(c.age_high_years);
            if !(0.0..=high_years).contains(&years) {
                out.push(BodyProblem::Training { got_years: years, high_years });
            }
        }
        if stature_ok {
            self.tape_problems(tables, &mut out);
        }
        out
    }

    fn tape_problems(&self, tables: &BodyTables, out: &mut Vec<BodyProblem>) {
        let (t, limit, stature_m) = (tables.of(self.sex), tables.constants.tape_limit_sd, self.stature_m);
        let before = out.len();
        for (&tape, &got_m) in &self.tape_m {
            let length = t.length(tape.landmark());
            let mean_m = length.at_m(stature_m);
            let (low_m, high_m) = (mean_m - limit * length.residual_sd_m, mean_m + limit * length.residual_sd_m);
            if !(low_m..=high_m).contains(&got_m) {
                let endpoints = length.endpoints.clone();
                out.push(BodyProblem::Tape { tape, got_m, stature_m, mean_m, low_m, high_m, endpoints });
            }
        }
        if out.len() > before {
            return;
        }
        // Heights of hip and shoulder vary much less at one stature than thigh and trunk do one by one.
        let leg = ["thigh", "shank"].as_slice();
        let whole = ["thigh", "shank", "trunk"].as_slice();
        for (parts, names, top) in [
            ("thigh_m and shank_m", leg, "trochanterion-height"),
            ("thigh_m, shank_m and trunk_m", whole, "acromial-height"),
        ] {
            if let Some((sum_m, low_m, high_m)) = self.sum(t, names, top, limit)
                && !(low_m..=high_m).contains(&sum_m)
            {
                out.push(BodyProblem::TapeSum { parts, sum_m, stature_m, low_m, high_m });
            }
        }
    }

    /// (sum of tapes, least, most) where all of them are given: the height of `top` less that of the ankle.
    fn sum(&self, t: &SexTables, names: &[&str], top: &str, limit: f64) -> Option<(f64, f64, f64)> {
        let taped = |name: &str| self.tape_m.iter().find(|(tape, _)| tape.landmark() == name).map(|(_, &m)| m);
        let sum_m = names.iter().map(|n| taped(n)).sum::<Option<f64>>()?;
        let (top, ankle) = (t.length(top), t.length("ankle-height"));
        let mean_m = top.at_m(self.stature_m) - ankle.at_m(self.stature_m);
        let sd_m = top.residual_sd_m.hypot(ankle.residual_sd_m);
        Some((sum_m, mean_m - limit * sd_m, mean_m + limit * sd_m))
    }
}
