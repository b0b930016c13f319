//! From what heads do in a movement to the growth a study should measure, up to a common factor.
//!
//! 1. Stimulus of a set, relative to the head's reference movement (average man):
//!    s = min(mean(a · f_L · w(l)) / the same in the reference, cap), w(l) = clamp(1 + slope · (l − centre), floor, ceiling).
//! 2. Weekly dose of a head: d = Σ over movements of sets a week · s · ((excursion + e₀) / (typical + e₀))^range_power, the
//!    excursion in fibre lengths. Holds have none, and count by e₀.
//! 3. Growth of a head ∝ d^dose_power: concave, the square root of weekly sets (`data/evidence/calibration.csv`).
//! 4. A measured group grows by the mean over its heads, weighted by volume.
//!
//! A difference between two sides is a part of the larger one, −1 to 1. Sets that a study does not tell cancel there.

use crate::seen::{DRAWS, HeadSeen, Solved};
use crate::study::{Condition, Contrast, Muscle, Side};
use library::Person;

/// Which rule predicts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// The mechanics with the dose model.
    Mechanics,
    /// Sets counted 1, ½, 0.
    Convention,
    /// Sets × net shortening × mean length.
    Shortening,
}

/// Numbers that turn traces into growth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weights {
    pub length_slope: f64,
    pub length_centre: f64,
    pub length_floor: f64,
    pub length_ceiling: f64,
    /// Power of the excursion; 0: range of motion does not count.
    pub range_power: f64,
    /// Fibre lengths added to every excursion, so that a hold is not worth nothing.
    pub range_offset: f64,
    /// Excursion of an ordinary movement, fibre lengths.
    pub range_typical: f64,
    /// Largest stimulus of a set.
    pub cap: f64,
    /// Power of weekly sets.
    pub dose_power: f64,
    /// Sets a week where a study does not tell.
    pub usual_sets: f64,
    /// Smallest raw stimulus a reference counts with, and length at which a head without a reference is fully active.
    pub reference_floor: f64,
    pub free_length: f64,
}

impl Weights {
    fn length(&self, l: f64) -> f64 {
        (1.0 + self.length_slope * (l - self.length_centre)).clamp(self.length_floor, self.length_ceiling)
    }

    /// Raw stimulus in one world.
    fn raw(&self, h: &HeadSeen, world: usize) -> f64 {
        let frames = h.worlds.get(world).map_or(&[][..], Vec::as_slice);
        frames.iter().map(|[a, l]| a * self.length(*l)).sum::<f64>() / frames.len().max(1) as f64
    }

    /// What every head's stimulus is measured against, `[world][head]`.
    fn references(&self, solved: &Solved) -> Vec<Vec<f64>> {
        // Active force factor at the free length as everywhere: exp(−((l − 1)/0.45)²).
        let free = (-((self.free_length - 1.0) / 0.45).powi(2)).exp() * self.length(self.free_length);
        let of = |world: usize| {
            let best = |list: &Vec<HeadSeen>| list.iter().map(|h| self.raw(h, world)).reduce(f64::max);
            solved.reference.iter().map(|list| best(list).unwrap_or(free).max(self.reference_floor)).collect()
        };
        (0..WORLDS).map(of).collect()
    }

    fn range(&self, excursion: f64) -> f64 {
        ((excursion + self.range_offset) / (self.range_typical + self.range_offset)).powf(self.range_power)
    }
}

/// The middle and the draws.
const WORLDS: usize = DRAWS + 1;

/// Predicts with one set of weights.
pub struct Predictor<'a> {
    solved: &'a Solved,
    weights: Weights,
    references: Vec<Vec<f64>>,
}

/// Growth of a muscle up to a factor that all sides of a study share.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Growth {
    /// Mean over the draws: the people of a study are no middle people.
    pub mean: f64,
    /// One a draw; empty for the trivial rules, which have none.
    pub draws: Vec<f64>,
}

/// A predicted difference.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Margin {
    /// Of the means, as a part of the larger side.
    pub mid: f64,
    /// 10th and 90th percentile over the draws.
    pub low: f64,
    pub high: f64,
}

impl<'a> Predictor<'a> {
    pub fn new(solved: &'a Solved, weights: Weights) -> Predictor<'a> {
        Predictor { solved, weights, references: weights.references(solved) }
    }

    /// Weekly dose of a head by a rule, in one world.
    fn dose(
        &self,
        rule: Rule,
        condition: &Condition,
        person: &Person,
        head: usize,
        world: usize,
    ) -> Result<f64, String> {
        let sets = condition.sets_per_week.unwrap_or(self.weights.usual_sets);
        let mut dose = 0.0;
        for m in &condition.movements {
            let seen = self.solved.get(person, m).map_err(|e| format!("{}: {e}", m.word))?;
            let h = &seen[head];
            let one = match rule {
                Rule::Mechanics => self.stimulus(h, head, world) * self.weights.range(h.excursion),
                Rule::Convention => h.convention,
                Rule::Shortening => h.shortening,
            };
            dose += sets * m.share * one;
        }
        Ok(dose)
    }

    /// Stimulus of one set relative to the head's reference.
    fn stimulus(&self, h: &HeadSeen, head: usize, world: usize) -> f64 {
        (self.weights.raw(h, world) / self.references[world][head]).min(self.weights.cap)
    }

    /// Growth of a muscle.
    ///
    /// # Errors
    /// A movement that does not solve, in plain words.
    pub fn growth(
        &self,
        rule: Rule,
        condition: &Condition,
        person: &Person,
        muscle: &Muscle,
    ) -> Result<Growth, String> {
        let power = if rule == Rule::Mechanics { self.weights.dose_power } else { 1.0 };
        let of = |world: usize| {
            muscle.heads.iter().try_fold(0.0, |sum, &(head, part)| {
                Ok::<f64, String>(sum + part * self.dose(rule, condition, person, head, world)?.powf(power))
            })
        };
        if rule != Rule::Mechanics || DRAWS == 0 {
            return Ok(Growth { mean: of(0)?, draws: Vec::new() });
        }
        let draws: Vec<f64> = (1..WORLDS).map(of).collect::<Result<_, _>>()?;
        Ok(Growth { mean: draws.iter().sum::<f64>() / draws.len() as f64, draws })
    }

    /// Difference of a contrast, and the growth of its left side. Draw by draw the same anatomy is on both sides.
    ///
    /// # Errors
    /// As [`Predictor::growth`].
    pub fn margin(
        &self,
        rule: Rule,
        conditions: &[Condition],
        person: &Person,
        contrast: &Contrast,
    ) -> Result<(Margin, Growth), String> {
        let side = |s: &Side| self.growth(rule, &conditions[s.condition], person, &s.muscle);
        let left = side(&contrast.left)?;
        let (mid, mut draws) = match &contrast.right {
            None => (left.mean, left.draws.clone()),
            Some(right) => {
                let right = side(right)?;
                let each = left.draws.iter().zip(&right.draws).map(|(a, b)| part(*a, *b)).collect();
                (part(left.mean, right.mean), each)
            }
        };
        draws.sort_by(f64::total_cmp);
        let at =
            |q: f64| draws.get((q * draws.len().saturating_sub(1) as f64).round() as usize).copied().unwrap_or(mid);
        Ok((Margin { mid, low: at(0.1).min(mid), high: at(0.9).max(mid) }, left))
    }
}

/// Difference as a part of the larger side.
fn part(left: f64, right: f64) -> f64 {
    let larger = left.max(right);
    if larger > 0.0 { (left - right) / larger } else { 0.0 }
}
