//! What an item is read off two lifts, and which way it turns.

use crate::solved::{Loaded, Window};
use answer::direction;

/// Smaller changes than these are none, whatever their ratio: N·m, stimulus of the reference, normalised length, mm, kg.
const LEAST_MOMENT_NM: f64 = 1.0;
const LEAST_LOAD: f64 = 0.02;
const LEAST_LENGTH: f64 = 0.01;
const LEAST_EXCURSION_MM: f64 = 1.0;
const LEAST_CAPACITY_KG: f64 = 0.1;
/// A moment is zero below this share of the largest moment about any axis of the lift.
const ZERO_SHARE: f64 = 0.05;
/// Two peaks nearer to each other than this part of the lift stand in one place (one frame of 21).
const SAME_PLACE: f64 = 0.05;

/// An item before and after the change.
pub struct Seen {
    pub before: f64,
    pub after: f64,
    pub unit: &'static str,
    floor: f64,
    /// Places of the largest moment, 0 to 1, and the size below which a moment after the change is zero.
    moment: Option<([f64; 2], f64)>,
}

impl Seen {
    /// Our direction, in the words of what is asked: a place for a place, zero or not for zero.
    pub fn turn(&self, asked: &str) -> &'static str {
        match (asked, self.moment) {
            ("peak-earlier" | "peak-later", Some(([from, to], _))) => match to - from {
                d if d > SAME_PLACE - 1e-9 => "peak-later",
                d if d < -(SAME_PLACE - 1e-9) => "peak-earlier",
                _ => "peak-same",
            },
            ("zero", Some((_, zero))) if self.after.abs() <= zero => "zero",
            ("flip", Some(_)) if self.before * self.after < 0.0 => "flip",
            _ => direction(self.before, self.after, self.floor),
        }
    }
}

/// Reads an item off both lifts:
///
/// * `moment:AXIS`: mean over the lift in the named direction, N·m (negative where the muscles turn the other way);
///   for a peak, where in the lift it is largest;
/// * `head-load:HEAD`: mean over the lift of activation × active force × weight of the length, as a part of the head's
///   reference movement: the stimulus of [`answer::HeadLook`], not capped;
/// * `head-length:HEAD`: normalised fibre length, mean over the lift;
/// * `head-excursion:HEAD`: longest minus shortest over the lift, mm;
/// * `capacity:load`: load of a hard set, kg in all, or × body weight.
///
/// # Errors
/// Why nothing can be said.
pub fn read(a: &Loaded, b: &Loaded, kind: &str, target: &str) -> Result<Seen, String> {
    let both = |value: &dyn Fn(&Loaded) -> Result<f64, String>| Ok::<_, String>((value(a)?, value(b)?));
    let seen = |(before, after): (f64, f64), unit: &'static str, floor: f64| Seen { before, after, unit, floor, moment: None };
    match kind {
        "moment" => {
            let axis = axis(target);
            let (means, places) = (both(&|l| l.measure(&format!("mean-moment {axis}"), Window::ALL))?, {
                let place = |l: &Loaded| l.measure(&format!("peak-place {axis}"), Window::ALL);
                [place(a)?, place(b)?]
            });
            let largest = b.largest_mean_moment_nm();
            let moment = Some((places, (ZERO_SHARE * largest).max(LEAST_MOMENT_NM)));
            Ok(Seen { moment, ..seen(means, "N·m", LEAST_MOMENT_NM) })
        }
        "head-load" => {
            both(&|l| l.asked(target)?.measure_of("stimulus", target)).map(|v| seen(v, "of reference", LEAST_LOAD))
        }
        "head-length" => {
            both(&|l| l.asked(target)?.measure_of("length", target)).map(|v| seen(v, "of optimum", LEAST_LENGTH))
        }
        "head-excursion" => {
            both(&|l| l.asked(target)?.measure_of("excursion", target)).map(|v| seen(v, "mm", LEAST_EXCURSION_MM))
        }
        "capacity" => {
            let kg = |l: &Loaded| Ok(l.study.solved.load.load * super::loads::in_all(l.study));
            both(&kg).map(|v| seen(v, "kg in all", LEAST_CAPACITY_KG))
        }
        _ => Err(format!("the program has no measure for \"{target}\"")),
    }
}

/// Axes of the table in the program's words: the trunk's are those of the lumbar spine.
fn axis(target: &str) -> String {
    match target {
        "trunk.rotation" => "lumbar.rotation-left".into(),
        // Raising the arm sideways: at the shoulder the program names flexion and abduction.
        "shoulder.elevation" => "shoulder.abduction".into(),
        t => t.replace("trunk.", "lumbar."),
    }
}

impl Loaded<'_> {
    /// Itself, when the mechanics of the movement ask these heads.
    ///
    /// # Errors
    /// Heads whose joint is supported or held.
    fn asked(&self, heads: &str) -> Result<&Self, String> {
        for h in self.heads(heads)? {
            if self.study.lengths[h].is_none() {
                return Err(format!(
                    "{} holds or supports the joint of {heads}: the mechanics say nothing about it",
                    self.study.resolved.id
                ));
            }
        }
        Ok(self)
    }

    fn measure_of(&self, kind: &str, heads: &str) -> Result<f64, String> {
        self.measure(&format!("{kind} {heads}"), Window::ALL)
    }
}
