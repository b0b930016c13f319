//! What an item is read off two lifts, and which way it turns.

use crate::solved::{Loaded, Window};
use anatomy::skeleton::{Joint, Segment, Side};
use answer::direction;
use units::V3;

/// Smaller changes than these are none, whatever their ratio: N·m, stimulus of the reference, normalised length, mm, kg.
const LEAST_MOMENT_NM: f64 = 1.0;
const LEAST_LOAD: f64 = 0.02;
const LEAST_LENGTH: f64 = 0.01;
/// A length has no natural nought: it is the same when it differs by less than this share of the way that the head goes
/// over the lift (the share by which the table counts other numbers as the same).
const SAME_OF_EXCURSION: f64 = answer::SAME_WITHIN;
const LEAST_EXCURSION_MM: f64 = 1.0;
const LEAST_CAPACITY_KG: f64 = 0.1;
const LEAST_FORCE_N: f64 = 5.0;
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
    /// Which way the activation of the heads turns.
    pub by_activation: Option<&'static str>,
    /// Compared by difference alone.
    length: bool,
    /// Places of the largest moment, 0 to 1, and the size below which a moment after the change is zero.
    moment: Option<(Option<[f64; 2]>, f64)>,
}

impl Seen {
    /// Our direction, in the words of what is asked: a place for a place, zero or not for zero.
    pub fn turn(&self, asked: &str) -> &'static str {
        match (asked, self.moment) {
            ("peak-earlier" | "peak-later", Some((Some([from, to]), _))) => match to - from {
                d if d > SAME_PLACE - 1e-9 => "peak-later",
                d if d < -(SAME_PLACE - 1e-9) => "peak-earlier",
                _ => "peak-same",
            },
            ("zero", Some((_, zero))) if self.after.abs() <= zero => "zero",
            _ if self.length => match self.after - self.before {
                d if d.abs() <= self.floor => "same",
                d if d > 0.0 => "up",
                _ => "down",
            },
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
/// * `head-length:HEAD`: normalised fibre length, mean over the lift; the same within 5 % of the way it goes;
/// * `head-excursion:HEAD`: longest minus shortest over the lift, mm;
/// * `capacity:load`: load of a hard set, kg in all;
/// * `moment:shoulder.elevation`: flexion and abduction together, N·m;
/// * `other:shin-force`: force of the pad on the shin, mean, N; `other:hand-out-force`: push of the hands apart along what
///   both hold, mean, N; `other:lifting-force`, `other:lowering-force`: force of a sled on the feet, mean, N, where friction
///   works against the lift and with the lowering.
///
/// A joint that the family file names among the balanced ones and finds supported in this variant (a pad carries the
/// thigh) asks nothing of muscles: against a lift that balances it, it counts as 0.
///
/// # Errors
/// Why nothing can be said.
pub fn read(a: &Loaded, b: &Loaded, kind: &str, target: &str) -> Result<Seen, String> {
    let both = |value: &dyn Fn(&Loaded) -> Result<f64, String>| Ok::<_, String>((value(a)?, value(b)?));
    let seen = |(before, after): (f64, f64), unit: &'static str, floor: f64| Seen {
        before,
        after,
        unit,
        floor,
        by_activation: None,
        length: false,
        moment: None,
    };
    match kind {
        "moment" if target == "shoulder.elevation" => {
            both(&|l| l.elevation_nm()).map(|v| seen(v, "N·m", LEAST_MOMENT_NM))
        }
        "moment" => {
            let axis = axis(target);
            let mean = |l: &Loaded| l.measure(&format!("mean-moment {axis}"), Window::ALL);
            let (means, places) = match (carried(a, b, &axis), carried(b, a, &axis)) {
                (true, _) => ((0.0, mean(b)?), None),
                (_, true) => ((mean(a)?, 0.0), None),
                _ => {
                    let place = |l: &Loaded| l.measure(&format!("peak-place {axis}"), Window::ALL);
                    (both(&mean)?, Some([place(a)?, place(b)?]))
                }
            };
            let largest = b.largest_mean_moment_nm();
            let moment = Some((places, (ZERO_SHARE * largest).max(LEAST_MOMENT_NM)));
            Ok(Seen { moment, ..seen(means, "N·m", LEAST_MOMENT_NM) })
        }
        "head-load" => {
            let idle = [idle(a, b, target)?, idle(b, a, target)?];
            let of = |kind: &str| {
                let one =
                    |l: &Loaded, idle: bool| if idle { Ok(0.0) } else { l.asked(target)?.measure_of(kind, target) };
                Ok::<_, String>((one(a, idle[0])?, one(b, idle[1])?))
            };
            let (v, (a, b)) = (of("stimulus")?, of("activation")?);
            Ok(Seen { by_activation: Some(direction(a, b, LEAST_LOAD)), ..seen(v, "of reference", LEAST_LOAD) })
        }
        "head-length" => {
            let v = both(&|l| l.asked(target)?.measure_of("length", target))?;
            let way = both(&|l| l.measure_of("length-excursion", target))?;
            let floor = LEAST_LENGTH.max(SAME_OF_EXCURSION * way.0.max(way.1));
            Ok(Seen { length: true, ..seen(v, "of optimum", floor) })
        }
        "head-excursion" => {
            both(&|l| l.asked(target)?.measure_of("excursion", target)).map(|v| seen(v, "mm", LEAST_EXCURSION_MM))
        }
        "capacity" => {
            let kg = |l: &Loaded| Ok(l.study.solved.load.load * super::loads::in_all(l.study));
            both(&kg).map(|v| seen(v, "kg in all", LEAST_CAPACITY_KG))
        }
        "other" if target == "shin-force" => both(&|l| Ok(l.force_on_shin_n())).map(|v| seen(v, "N", LEAST_FORCE_N)),
        "other" if target == "lifting-force" => both(&|l| Ok(l.force_on_feet_n())).map(|v| seen(v, "N", LEAST_FORCE_N)),
        "other" if target == "lowering-force" => both(&|l| l.lowering_n()).map(|v| seen(v, "N", LEAST_FORCE_N)),
        "other" if target == "hand-out-force" => {
            let forces = both(&|l| Ok(l.hands_apart_n()))?;
            Ok(Seen { moment: Some((None, LEAST_FORCE_N)), ..seen(forces, "N", LEAST_FORCE_N) })
        }
        _ => Err(format!("the program has no measure for \"{target}\"")),
    }
}

/// Whether the family supports in `l` the joint of an axis that the muscles of `other` balance.
fn carried(l: &Loaded, other: &Loaded, axis: &str) -> bool {
    let joint = axis.split('.').next().and_then(Joint::from_name);
    joint.is_some_and(|j| l.supported(j) && other.study.rep.balanced.contains(&j))
}

/// Whether a head has nothing to do in `l` because the family supports there the joint at which `other` asks it.
///
/// # Errors
/// A name that stands for no head.
fn idle(l: &Loaded, other: &Loaded, heads: &str) -> Result<bool, String> {
    let heads = l.heads(heads)?;
    let unasked = |l: &Loaded| heads.iter().all(|&h| l.study.lengths[h].is_none());
    let joints = other.study.rep.balanced.iter().filter(|j| !l.study.rep.balanced.contains(j));
    Ok(unasked(l) && !unasked(other) && joints.clone().count() > 0 && joints.clone().all(|j| l.supported(*j)))
}

/// Axes of the table in the program's words: the trunk's are those of the lumbar spine.
fn axis(target: &str) -> String {
    match target {
        "trunk.rotation" => "lumbar.rotation-left".into(),
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

    fn mean_over(&self, value: impl Fn(usize) -> f64) -> f64 {
        let n = self.study.rep.frames.len();
        (0..n).map(value).sum::<f64>() / n as f64
    }

    /// Moment that lifts the arm, whatever its plane, N·m, mean.
    fn elevation_nm(&self) -> Result<f64, String> {
        let (f, a) = (self.moment("shoulder.flexion", false)?, self.moment("shoulder.abduction", false)?);
        Ok(self.mean_over(|t| f[t].hypot(a[t])))
    }

    /// Force of the load on the right shin, N, mean.
    fn force_on_shin_n(&self) -> f64 {
        self.mean_over(|t| {
            let forces = self.study.rep.frames[t].forces.iter();
            let on = forces.filter(|g| g.on == Segment::Tibia(Side::Right));
            on.map(|g| g.constant_n + g.per_load_n * self.load).fold(V3::zeros(), |s, f| s + f).norm()
        })
    }

    /// Whether the family file names a joint among the balanced ones, but finds it supported in this variant.
    fn supported(&self, joint: Joint) -> bool {
        let of = self.library().catalogue.movement(&self.study.resolved.id);
        let family = of.and_then(|m| self.library().family(&m.family).ok());
        let named =
            family.is_some_and(|f| f.file.balanced.iter().any(|b| Joint::from_name(b.get_ref()) == Some(joint)));
        named && !self.study.rep.balanced.contains(&joint)
    }

    /// Force of a sled on the feet, N, mean.
    fn force_on_feet_n(&self) -> f64 {
        self.mean_over(|t| {
            let forces = self.study.rep.frames[t].forces.iter();
            let on = forces.filter(|g| matches!(g.on, Segment::Foot(_)));
            on.map(|g| g.constant_n + g.per_load_n * self.load).fold(V3::zeros(), |s, f| s + f).norm()
        })
    }

    /// The same while lowering: the friction of the rails turns round.
    fn lowering_n(&self) -> Result<f64, String> {
        match self.study.resolved.settings.get("friction_ratio") {
            Some(answer::SettingValue::Number(f)) => Ok(self.force_on_feet_n() * (1.0 - f) / (1.0 + f)),
            _ => Err(format!("{} has no friction", self.study.resolved.id)),
        }
    }

    /// Push of the hands apart along what both hold, N, mean; inward negative, 0 where they hold nothing rigid.
    fn hands_apart_n(&self) -> f64 {
        self.mean_over(|t| {
            let free = self.study.rep.frames[t].free.iter().zip(&self.shares().free[t]);
            free.filter(|(f, _)| f.tag == "hands push along the bar").map(|(_, n)| *n).sum()
        })
    }

    fn measure_of(&self, kind: &str, heads: &str) -> Result<f64, String> {
        self.measure(&format!("{kind} {heads}"), Window::ALL)
    }
}
